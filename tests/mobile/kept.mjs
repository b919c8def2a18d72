// Runs mobile/web/boot.js and mobile/web/sw.js against each other on a made-up browser, by a clock of its own that
// stands still while anything is to be done: the page asks whether everything is kept. Prints what came of it as JSON.
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import vm from "node:vm";

const [page, worker] = process.argv.slice(2).map((path) => readFileSync(path, "utf-8"));
const HOME = "http://localhost/app/";
const sha256 = (text) => createHash("sha256").update(text).digest("hex");
const names = Array.from({ length: 34 }, (_, n) => `file${n}`);
const files = Object.fromEntries(names.map((name) => [name, { hash: sha256(name), size: name.length, type: "text/plain" }]));

class Clock {
  now = 1e12;
  due = [];
  later = (act, ms = 0) => { const id = {}; this.due.push([this.now + ms, id, act]); return id; };
  drop = (id) => { this.due = this.due.filter((entry) => entry[1] !== id); };
  wait = (ms) => new Promise((done) => this.later(done, ms));
  // Lets time pass until the answer is there, or so many seconds are over.
  async until(answer, seconds) {
    let got;
    answer.then((value) => { got = [value]; }, (error) => { got = [{ failed: error.message }]; });
    const begun = this.now;
    for (;;) {
      await new Promise(setImmediate);
      this.due.sort((a, b) => a[0] - b[0]);
      if (got || !this.due.length || this.due[0][0] > begun + seconds * 1000) return { got: got ? got[0] : "nothing", seconds: Math.round((this.now - begun) / 1000) };
      const [at, , act] = this.due.shift();
      this.now = at;
      act();
    }
  }
}

// ``slow``: seconds that a device takes to read a file. ``deaf``: how many questions meet a worker that is being ended.
// ``gone``: a file that the browser dropped. ``installs``: what comes of each registration. ``unclaimed``: nobody took charge.
// ``dead``: the worker in charge is shown to the page as redundant, and hears nothing that is said to it.
function world({ slow = 0, deaf = 0, gone = "", installs = ["activated"], unclaimed = false, mute = false, dead = false } = {}) {
  const clock = new Clock();
  class Time extends Date { static now() { return clock.now; } }
  class Channel {
    constructor() {
      this.port1 = { onmessage: null };
      this.port2 = { postMessage: (data) => clock.later(() => this.port1.onmessage?.({ data: structuredClone(data) })) };
    }
  }
  const timers = { setTimeout: clock.later, clearTimeout: clock.drop, setInterval: () => 1, Date: Time };
  const held = (name) => ({
    headers: { get: () => sha256(name) },
    arrayBuffer: async () => { await clock.wait(slow * 1000); return name; },
  });
  const cache = { match: async (address) => (address === HOME + gone ? undefined : held(address.slice(HOME.length))) };
  const warned = [];

  const container = { controller: null, addEventListener() {} };
  const state = { registered: 0, reading: 0 };
  const registration = { active: null, waiting: null, installing: null, addEventListener() {} };
  const handlers = {};
  const sw = {
    ...timers, URL, Response, console, location: new URL(HOME + "sw.js"),
    caches: { open: async () => cache, has: async () => true, keys: async () => [], delete: async () => true },
    crypto: { subtle: { digest: async (_, buffer) => Buffer.from(sha256(buffer), "hex") } },
    addEventListener: (type, act) => { handlers[type] = act; },
    registration: { get active() { return registration.active && { scriptURL: HOME + "sw.js" }; }, installing: null, waiting: null },
    clients: { claim: async () => { container.controller = {}; }, matchAll: async () => [] },
    fetch: async () => { throw new Error("no network"); },
  };
  sw.self = sw;
  const gaps = { version: "1", built: "2026-01-01", files: JSON.stringify(files), headers: "{}", start: "0" };
  vm.runInNewContext(worker.replace(/\{\{(\w+)\}\}/g, (_, gap) => gaps[gap]), sw);
  const active = {
    state: dead ? "redundant" : "activated",
    addEventListener() {},
    postMessage(data, ports) {
      if (dead || deaf-- > 0) return;
      clock.later(() => handlers.message({ data, ports, waitUntil() {} }));
    },
  };

  container.getRegistration = () => (mute ? new Promise(() => {}) : Promise.resolve(registration.active ? registration : undefined));
  container.register = async () => {
    const outcome = installs[Math.min(state.registered++, installs.length - 1)];
    if (outcome.endsWith("Error")) throw Object.assign(new Error("not now"), { name: outcome });
    const heard = [];
    const installing = { state: "installing", addEventListener: (_, act) => heard.push(act) };
    registration.installing = installing;
    clock.later(() => {
      installing.state = outcome;
      registration.installing = null;
      if (outcome === "activated") { registration.active = active; if (!unclaimed) container.controller = {}; }
      for (const act of heard) act();
    }, 3000);
    return registration;
  };

  const listeners = {};
  const fetched = (address) => new Promise((respondWith) => handlers.fetch({ request: { url: address, method: "GET" }, respondWith }));
  const context = {
    ...timers, fetch: fetched, URL, URLSearchParams, Intl, performance, MessageChannel: Channel, console: { ...console, warn: (words) => warned.push(words) },
    navigator: { language: "en", languages: ["en"], onLine: true, userAgent: "", serviceWorker: container },
    document: {
      baseURI: HOME, URL: HOME, visibilityState: "visible", addEventListener() {}, getElementById: () => null, querySelector: () => null,
      createElement: () => ({}), documentElement: { dataset: {}, append() {} },
    },
    location: { search: "" }, localStorage: {}, isSecureContext: true, matchMedia: () => ({ matches: false }),
    addEventListener: (type, act) => { listeners[type] = act; },
    Worker: class { postMessage() {} terminate() {} }, requestAnimationFrame() {}, cancelAnimationFrame() {},
  };
  context.window = context;
  vm.runInNewContext(page, context);
  const { boreside } = context;
  return { clock, state, container, listeners, warned, boreside, offline: () => boreside.answers.offline(true), open: () => boreside.ready() };
}

// As whoever waits for it does: asked until all is well.
async function kept(made, seconds = 100) {
  made.open();
  const all = async () => {
    for (;;) {
      const got = await made.offline().catch((error) => ({ failed: error.message }));
      if (got.ready && got.controlled) return got;
      await made.clock.wait(500);
    }
  };
  const { got, seconds: took } = await made.clock.until(all(), seconds);
  return { ready: got.ready ?? false, kept: got.kept, total: got.total, took, registered: made.state.registered };
}

const opened = async (made) => { made.open(); await made.clock.until(made.clock.wait(10000), 20); return made; };
const asked = async (made) => made.clock.until((await opened(made)).offline(), 200);
const registered = async (made, seconds) => { await made.clock.until(made.clock.wait(seconds * 1000), seconds + 1); return made.state.registered; };

const back = world({ installs: ["TypeError", "activated"] });
back.open();
await registered(back, 1);
back.listeners.online();

const result = {
  quick: await kept(world()),
  slow: await kept(world({ slow: 1 })),
  slower: await kept(world({ slow: 6 }), 300),
  ended: await kept(world({ deaf: 2 })),
  dead: await kept(world({ dead: true, slow: 1 })),
  gone: (await asked(world({ slow: 1, gone: "file20" }))).got,
  never: await asked(world({ deaf: 1000 })),
  mute: await asked(world({ mute: true, installs: ["TypeError"] })),
  unclaimed: await kept(world({ unclaimed: true })),
  broken: await kept(world({ installs: ["redundant", "redundant", "activated"] })),
  noNetwork: await kept(world({ installs: ["TypeError", "activated"] })),
  forbidden: await registered(await opened(world({ installs: ["SecurityError"] })), 50),
  failing: await registered(await opened(world({ installs: ["TypeError"] })), 3600),
  back: await registered(back, 3),
};
console.log(JSON.stringify(result));
