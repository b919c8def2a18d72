// Keeps the whole app on the device. The list below is written by the build: every
// file with its SHA-256 and size. A new version is fetched beside the old one, checked
// file by file, and takes over only when the app says so (message "apply"). An install
// deletes nothing but what it made itself; what is old goes only when the new one is in
// charge, holds every file, and no other worker is on its way in.
"use strict";
const VERSION = "{{version}}";
const BUILT = "{{built}}";
const FILES = {{files}};
const HEADERS = {{headers}};

const HOME = new URL("./", self.location.href);
// The folder is part of the name: other apps, or another copy of this one, may live on the same origin.
const PREFIX = `boreside ${HOME.pathname} `;
// Started memories that the worker keeps for a faster start; only this build's is of use.
const START_PREFIX = `boreside-start ${HOME.pathname} `;
const START = START_PREFIX + "{{start}}";
// One drawing engine per browser: the page says which one this browser takes. The same version
// with another one is another set of files, hence another cache.
const CANVAS = new URL(self.location.href).searchParams.get("canvas") === "chromium" ? "chromium" : "full";
const NAME = `${PREFIX}${VERSION} ${CANVAS}`;
const wanted = Object.entries(FILES).filter(([, file]) => !file.canvas || file.canvas === CANVAS);
const paths = new Map(wanted.map(([path, file]) => [new URL(path, HOME).pathname, { path, ...file }]));

const hex = (buffer) => Array.from(new Uint8Array(buffer), (b) => b.toString(16).padStart(2, "0")).join("");
const digest = async (buffer) => hex(await crypto.subtle.digest("SHA-256", buffer));
const key = (path) => new URL(path, HOME).href;
// Some hosts answer index.html with a redirection to the folder, so the folder is asked.
const source = (path) => path === "index.html" ? HOME.href : key(path);

async function told(fetched) {
  for (const client of await self.clients.matchAll({ includeUncontrolled: true, type: "window" })) client.postMessage({ fetched });
}

// A file as it is kept: checked, with the security headers on it.
function made(buffer, { type, hash }) {
  return new Response(buffer, { status: 200, headers: { ...HEADERS, "Content-Type": type, "Content-Length": String(buffer.byteLength), "X-Content-SHA256": hash } });
}

// A browser that keeps a script compiled does so only where the answer is kept just as it came from the network. So the
// page's scripts are, where the host sends them as what they are. None but checked ones come in here: they need no mark.
const asItCame = (response, file) => file.script && response.status === 200 && !response.redirected && response.headers.get("Vary") !== "*"
  && /^(text|application)\/javascript\b/.test(response.headers.get("Content-Type"));

// What is to be kept of an answer; null where it is not the file this version was built with.
async function checked(response, file) {
  const whole = asItCame(response, file) ? response.clone() : null;
  const buffer = await response.arrayBuffer();
  return await digest(buffer) === file.hash ? whole || made(buffer, file) : null;
}

// Whether what is held says that it is the right one.
const fits = (held, file) => !!held && (held.headers.get("X-Content-SHA256") ?? (file.script ? file.hash : "")) === file.hash;

async function older(path, file) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX) || name === NAME) continue;
    const found = await (await caches.open(name)).match(key(path));
    const kept = fits(found, file) && await checked(found, file);
    if (kept) return kept;
  }
  return null;
}

async function install() {
  const there = await caches.has(NAME); // then an active worker may live on it
  const cache = await caches.open(NAME);
  const total = wanted.reduce((sum, [, file]) => sum + file.size, 0);
  let done = 0;
  const queue = [...wanted];
  async function next() {
    for (let item = queue.shift(); item; item = queue.shift()) {
      const [path, file] = item;
      if (!fits(await cache.match(key(path)), file)) {
        let kept = await older(path, file);
        if (!kept) {
          const response = await fetch(source(path), { cache: "no-cache", credentials: "same-origin", redirect: "error" });
          if (!response.ok) throw new Error(`${path}: ${response.status}`);
          kept = await checked(response, file);
          if (!kept) throw new Error(`${path} is not the file this version was built with`);
        }
        await cache.put(key(path), kept);
      }
      done += file.size;
      told({ version: VERSION, done, total });
    }
  }
  try {
    await Promise.all([next(), next(), next(), next()]);
    if (!(await status()).ready) throw new Error("not every file was kept");
  } catch (error) {
    queue.length = 0;
    if (!there) await caches.delete(NAME); // all or nothing
    throw error;
  }
}

// Looks at every file, or, where told which to begin with, for some seconds only and says which comes next: on a slow device
// one look at all of them outlasts what a page waits, and what a browser lets a worker take for one question.
const PART = 4000; // ms
async function status(deep, from) {
  const cache = await caches.open(NAME);
  const missing = [];
  const begun = Date.now();
  let at = from || 0;
  while (at < wanted.length && (from === undefined || at === from || Date.now() - begun < PART)) {
    const [path, file] = wanted[at++];
    const held = await cache.match(key(path));
    if (!fits(held, file)) missing.push(path);
    else if (deep && await digest(await held.arrayBuffer()) !== file.hash) missing.push(path);
  }
  const next = at < wanted.length ? at : null;
  return { version: VERSION, built: BUILT, total: wanted.length, kept: wanted.length - missing.length, missing, ready: missing.length === 0 && next === null, next };
}

// Whoever asks while a look goes on is told what it finds: asking again must not make it slower.
const looks = new Map();
function look(deep, from) {
  const name = `${deep} ${from}`;
  if (!looks.has(name)) looks.set(name, status(deep, from).finally(() => looks.delete(name)));
  return looks.get(name);
}

// The same for a page whose messages do not come through.
async function asked(about) {
  const found = await look(about.get("deep") === "1", Number(about.get("from")));
  tidy();
  return new Response(JSON.stringify(found), { headers: { ...HEADERS, "Content-Type": "application/json" } });
}

async function answer(request, url) {
  const home = request.mode === "navigate" && (url.pathname === HOME.pathname || url.pathname === HOME.pathname + "index.html");
  const file = home ? { path: "index.html", ...FILES["index.html"] } : paths.get(url.pathname);
  if (!file) {
    // Not part of the app (a font for a script we do not ship, say): nothing is asked of the network.
    return new Response("not part of this app", { status: 404, headers: { ...HEADERS, "Content-Type": "text/plain" } });
  }
  const cache = await caches.open(NAME);
  const held = await cache.match(key(file.path));
  if (held) return held;
  // The browser dropped one file: fetch that one again and mend the store.
  const response = await fetch(source(file.path), { cache: "no-cache", credentials: "same-origin", redirect: "error" });
  const mended = response.ok && await checked(response, file);
  if (!mended) return new Response("this file belongs to another version", { status: 409, headers: HEADERS });
  await cache.put(key(file.path), mended.clone());
  return mended;
}

self.addEventListener("install", (event) => event.waitUntil(install()));

// Deletes what older versions kept. Only the worker in charge may, when it could do without them,
// and not while another worker is being installed or waits: what that one keeps looks just as foreign.
// One that begins while this goes on is left alone as well: what it keeps was not there at the start.
const alone = () => {
  const { active, installing, waiting } = self.registration;
  return !installing && !waiting && active?.scriptURL === self.location.href && self.serviceWorker?.state !== "redundant";
};

async function tidy() {
  const names = await caches.keys();
  if (!alone() || !(await status()).ready) return;
  for (const name of names) {
    const foreign = (name.startsWith(PREFIX) && name !== NAME) || (name.startsWith(START_PREFIX) && name !== START);
    if (foreign && alone()) await caches.delete(name);
  }
}

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim().then(tidy)));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin) {
    event.respondWith(new Response("other hosts are never asked", { status: 403, headers: { "Content-Type": "text/plain" } }));
  } else if (event.request.method !== "GET") {
    event.respondWith(new Response("nothing is ever sent", { status: 405, headers: { "Content-Type": "text/plain" } }));
  } else if (url.pathname.startsWith(HOME.pathname + "shots/")) {
    return; // pictures for the browser's own question whether to install: not kept
  } else if (url.pathname === HOME.pathname + "kept") {
    event.respondWith(asked(url.searchParams));
  } else if (url.pathname.startsWith(HOME.pathname)) {
    event.respondWith(answer(event.request, url));
  }
});

self.addEventListener("message", (event) => {
  const message = event.data || {};
  const reply = (value) => event.ports[0] && event.ports[0].postMessage(value);
  // a page that nobody took charge of, for this worker was ended before it could, is taken charge of now
  const charge = () => message.free && self.registration.active?.scriptURL === self.location.href && self.clients.claim().catch(() => {});
  if (message.type === "status") event.waitUntil(look(!!message.deep, message.from).then(reply).then(charge).then(tidy));
  else if (message.type === "version") reply({ version: VERSION, built: BUILT });
  else if (message.type === "apply") self.skipWaiting();
});
