// First script of the page. It starts Python at once, beside the drawing engine,
// says in words what is being loaded, and carries messages between the page, the
// Python worker and the service worker. Everything it fetches is on our own origin.
"use strict";
(() => {
  // Milestones of the start, in milliseconds since the page was asked for.
  const marks = [];
  const mark = (name, at = performance.timeOrigin + performance.now()) => marks.push([name, Math.round(at - performance.timeOrigin)]);
  const home = new URL("./", document.baseURI);

  // A browser under a locale such as "C" may name a language that is none, on which the drawing engine stops; or one in
  // the system's spelling ("de_DE.UTF-8"), which is put into that of the web.
  const spelt = (said) => String(said ?? "").split(/[.@]/)[0].replace(/_/g, "-");
  const sound = (tag) => { try { return !!new Intl.Locale(tag); } catch (error) { return false; } };
  const named = navigator.languages?.length ? [...navigator.languages] : [navigator.language];
  if (![navigator.language, ...named].every(sound)) {
    const tags = [...new Set(named.map(spelt).filter(sound))];
    if (!tags.length) tags.push("en");
    Object.defineProperty(navigator, "languages", { get: () => Object.freeze([...tags]), configurable: true });
    Object.defineProperty(navigator, "language", { get: () => tags[0], configurable: true });
  }

  // What the drawing engine reads (see start.js) and what it calls: jsConnect, jsSend, jsDisconnect.
  window.flet = {
    pyodide: true, multiView: false, noCdn: true, webRenderer: "canvaskit", routeUrlStrategy: "hash",
    entrypointBaseUrl: home.pathname, assetBase: home.pathname, canvasKitBaseUrl: home.pathname + "canvaskit/",
    fontFallbackBaseUrl: home.pathname + "assets/fonts/", webSocketEndpoint: "ws",
  };

  // ---- the loading screen ------------------------------------------------------
  const steps = {
    page: ["Fetching what is needed", 0.05],
    engine: ["Starting the calculating engine", 0.1],
    unpack: ["Unpacking the workshop", 0.35],
    rules: ["Reading the rules of the trade", 0.55],
    screen: ["Drawing the first screen", 0.85],
  };
  let shown = false;
  let failed = false;
  let furthest = 0;
  let latest = "page";
  let said = {}; // the same steps in the person's language, once they are known
  const part = (id) => document.getElementById(id);
  function step(name, at) {
    mark(name, at);
    if (shown || failed || !steps[name] || !part("loading")) return;
    const [words, value] = steps[name];
    if (value < furthest) return;
    furthest = value;
    latest = name;
    part("loading-text").textContent = said[name] || words;
    part("loading-bar").value = value;
  }
  // The drawing engine's first frames wait until Python has sent the first screen: each would be an empty one, drawn behind
  // the loading screen, and the screen that comes meanwhile would wait for it.
  const frame = window.requestAnimationFrame.bind(window);
  const unframe = window.cancelAnimationFrame.bind(window);
  let held = new Map();
  let number = 0;
  // What Python answers to a press is drawn at once, and not only when the screen is renewed next: it is then on the screen
  // by that time. Anything else can wait: while the app starts, frames drawn apart would only cost.
  let atOnce = null;
  const drawing = new Map();
  let answered = -1000;
  let drawn = -1000;
  let pressed = -1000;
  for (const what of ["pointerdown", "keydown", "click"]) {
    window.addEventListener(what, () => { pressed = performance.now(); }, { capture: true, passive: true });
  }
  function channel() {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data: id }) => {
      const act = drawing.get(id);
      if (drawing.delete(id)) act(performance.now());
    };
    return port2;
  }
  window.requestAnimationFrame = (act) => {
    const now = performance.now();
    if (held) {
      held.set(--number, act);
    } else if (now - pressed < 300 && now - answered < 4 && now - drawn > 14 && !document.hidden) {
      drawn = now;
      drawing.set(--number, act);
      (atOnce ??= channel()).postMessage(number);
    } else {
      return frame(act);
    }
    return number;
  };
  window.cancelAnimationFrame = (id) => { if (!held?.delete(id) && !drawing.delete(id)) unframe(id); };
  function draw() {
    const waiting = held;
    held = null;
    for (const act of waiting?.values() || []) frame(act);
  }

  function ready() {
    if (shown) return;
    shown = true;
    mark("shown");
    draw();
    frame(() => part("loading")?.remove()); // in the frame that draws the screen, so that nothing empty is between
    frame(() => setTimeout(() => mark("drawn"), 0));
    document.documentElement.dataset.boreside = "shown";
    document.querySelector("flutter-view")?.setAttribute("role", "main"); // a landmark for screen readers
    worker.postMessage({ settled: true });
    window.setTimeout(register, 50);
    window.setTimeout(prepare, 6000);
  }
  // honest: the app itself says why it cannot go on
  function fail(words, honest = false) {
    if (shown || failed || !part("loading")) { console.error(words); return; }
    // once the drawing engine may talk to this worker, another cannot take its place: "Try again" then starts from the files
    if (window.boreside.from === "memory" && !connected && !honest) { console.warn("The kept memory did not serve: " + words); begin(true); return; }
    failed = true;
    draw();
    part("loading-text").textContent = "This could not be started here. Your jobs are untouched.";
    part("loading-note").textContent = words;
    part("loading-bar").hidden = true;
    part("loading-again").hidden = false;
    part("loading-again").onclick = () => location.reload();
    document.documentElement.dataset.boreside = "failed";
    register(); // an update may be what mends it
  }
  // ---- the last screen as text, until the live one is there -------------------------
  // Kept by an earlier start as sentences (see mobile/glimpse.py). Shown as text, never as markup.
  const glimpse = "boreside " + home.pathname;
  function ago(ms, language) {
    const minutes = Math.max(1, Math.round(ms / 60000));
    const [n, unit] = minutes < 60 ? [minutes, "minute"] : minutes < 48 * 60 ? [Math.round(minutes / 60), "hour"] : [Math.round(minutes / 1440), "day"];
    return new Intl.RelativeTimeFormat(language, { numeric: "always" }).format(-n, unit);
  }
  function recall() {
    const place = part("last");
    if (!place || shown || failed || place.firstChild) return;
    try {
      const kept = JSON.parse(localStorage.getItem(glimpse));
      if (kept?.version !== 1 || !kept.rows.length) return;
      const age = kept.age.replace("{age}", ago(Date.now() - kept.made, kept.language));
      const rows = kept.rows.map(([kind, words]) => {
        const row = document.createElement(kind === "head" ? "h2" : "p");
        row.className = kind;
        row.textContent = words;
        return row;
      });
      const old = document.createElement("p");
      old.className = "age";
      old.textContent = age;
      if (kept.theme === "light" || kept.theme === "dark") document.documentElement.dataset.theme = kept.theme;
      said = kept.steps || said;
      part("loading-text").textContent = said[latest] || part("loading-text").textContent;
      part("loading-text").lang = kept.steps ? kept.language : "en";
      place.lang = kept.language;
      place.setAttribute("aria-label", age);
      place.append(old, ...rows);
      place.hidden = false;
      part("loading").className = "recalled";
      frame(() => setTimeout(() => mark("last answer"), 0)); // it is painted by then
    } catch (error) {
      console.warn("The last screen could not be shown: " + error.message);
    }
  }
  document.addEventListener("readystatechange", recall);

  window.boreside = { mark, marks, step, ready, fail, answers: {}, from: "", prepared: false, glimpse };

  // What the person asks of colours. Forced colours do not reach a canvas: they are read off the page for it.
  // Asked anew each time: what is listened to would not tell of a change that was read off it before.
  const MORE = "(prefers-contrast: more)", FORCED = "(forced-colors: active)";
  const looks = [matchMedia(MORE), matchMedia(FORCED)];
  function contrast() {
    const colours = {};
    if (matchMedia(FORCED).matches) {
      const probe = document.createElement("i");
      document.documentElement.append(probe);
      for (const [name, system] of [["ground", "Canvas"], ["ink", "CanvasText"], ["chosen", "Highlight"], ["on_chosen", "HighlightText"]]) {
        probe.style.color = system;
        const [r, g, b] = getComputedStyle(probe).color.match(/[0-9.]+/g).map(Number);
        colours[name] = "#" + [r, g, b].map((part) => Math.round(part).toString(16).padStart(2, "0")).join("");
      }
      probe.remove();
    }
    return { more: matchMedia(MORE).matches, colours };
  }

  // ---- Python, in a worker --------------------------------------------------------
  let toDart = null;
  let sent = 0; // messages of Python that the drawing engine was given
  let early = [];
  let worker = null;
  let patience = 0;
  let connected = false;
  let readyToTalk;
  const talking = new Promise((resolve) => { readyToTalk = resolve; });
  const address = new URL("worker.js", home);

  // The second message is the first screen: where what it shows waits to be drawn before the app says so, it is drawn then.
  function pass(data) {
    answered = performance.now();
    toDart(data);
    if (++sent === 2) setTimeout(draw, 100);
  }

  // ---- a Python that does not answer any more ---------------------------------------
  // After a press it is asked whether it is there, where nothing came from it for a while; and what to do is said where
  // it gives no answer to that either: it cannot say so itself. Milliseconds; a long calculation takes less.
  const patient = window.boreside.patient = { quiet: 8000, stopped: 20000 };
  let owed = 0;
  function alive() {
    clearTimeout(owed);
    owed = 0;
    part("stopped")?.remove();
  }
  function expect() {
    if (shown && !owed) owed = setTimeout(probe, patient.quiet);
  }
  function probe() {
    clearTimeout(owed);
    tell("alive", true);
    owed = setTimeout(stop, patient.stopped);
  }
  function stop() {
    if (document.hidden || part("stopped")) { owed = setTimeout(probe, patient.quiet); return; }
    let words = { stopped: "Boreside does not answer any more. What was shown as saved is kept.", again: "Start it again", wait: "Wait" };
    try { words = JSON.parse(localStorage.getItem(glimpse)).stopped || words; } catch (error) { /* none were kept */ }
    const asked = document.createElement("dialog");
    Object.assign(asked, { id: "stopped", className: "asked" });
    asked.setAttribute("role", "alertdialog");
    asked.setAttribute("aria-labelledby", "stopped-words");
    const wait = () => { asked.remove(); probe(); };
    for (const [tag, name, act] of [["p", "stopped"], ["button", "again", () => location.reload()], ["button", "wait", wait]]) {
      const made = document.createElement(tag);
      made.textContent = words[name];
      if (act) Object.assign(made, { type: "button", onclick: act }); else made.id = "stopped-words";
      asked.append(made);
    }
    asked.addEventListener("cancel", (event) => { event.preventDefault(); wait(); });
    document.body.append(asked);
    asked.showModal();
  }

  async function heard(event) {
    const data = event.data;
    if (this !== worker) return;
    alive();
    if (data instanceof Uint8Array || Array.isArray(data)) {
      for (const part of [data].flat()) {
        if (toDart) pass(part); else early.push(part);
      }
    } else if (data.step) {
      step(data.step, data.at);
    } else if (data.from) {
      window.boreside.from = data.from;
    } else if (data.connected) {
      clearTimeout(patience);
      connected = true;
      readyToTalk();
    } else if (data.fail) {
      fail(data.fail);
    } else if (data.ask) {
      let reply;
      try {
        reply = { answer: data.id, value: await (answers[data.ask] || unknown)(...(data.with || [])) };
      } catch (error) {
        reply = { answer: data.id, error: String(error && error.message || error) };
      }
      worker.postMessage(reply);
    }
  }

  // From the memory kept by an earlier visit where there is one; or, where that one did not serve, from the files.
  function begin(spoiled = false) {
    worker?.terminate();
    clearTimeout(patience);
    early = [];
    window.boreside.from = "";
    worker = new Worker(address, { type: "module" });
    worker.onmessage = heard;
    worker.onerror = (event) => {
      fail(event.message || "The worker stopped.");
      if (shown) probe();
    };
    worker.postMessage({ start: true, spoiled, plain, page: document.URL, contrast: contrast() });
    if (!spoiled) patience = setTimeout(() => { if (window.boreside.from === "memory") fail("It took too long."); }, 30000);
  }
  const plain = new URLSearchParams(location.search).has("plain");
  begin();
  const tell = window.boreside.tell = (what, value) => worker.postMessage({ told: what, value });

  // Once, after the first start of a build and in a second worker: keep a started memory for the next start.
  async function prepare() {
    if (window.boreside.from !== "files" || plain || navigator.deviceMemory < 2) return;
    const room = await answers.room();
    if (room.quota !== null && room.quota - room.used < 300e6) return;
    if (!(await answers.offline().catch(() => ({}))).ready) { window.setTimeout(prepare, 10000); return; }
    const helper = new Worker(address, { type: "module" });
    helper.onmessage = (event) => {
      if (!("prepared" in event.data)) return;
      window.boreside.prepared = event.data.prepared;
      if (event.data.why) console.warn("No memory could be kept: " + event.data.why);
      setTimeout(() => helper.terminate(), 5000); // a browser keeps what it has compiled once it has rested for a while
    };
    helper.postMessage({ prepare: true });
  }

  window.jsConnect = async (app, args, onMessage) => {
    mark("engine ready");
    await talking;
    toDart = onMessage;
    early.splice(0).forEach(pass);
  };
  window.jsSend = async (app, data) => { worker.postMessage(data, [data.buffer]); expect(); };
  window.jsDisconnect = async () => { toDart = null; };

  // ---- what Python may ask of the page ----------------------------------------------
  let registration = null;
  let prompt = null;
  let reloading = false;
  const kept = async () => registration || await navigator.serviceWorker?.getRegistration(home.href);
  const unknown = () => { throw new Error("no such question"); };
  // What the browser itself does not answer is not waited for without end.
  const soon = (answer) => new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("no answer from the browser")), 20000);
    answer.finally(() => clearTimeout(timer)).then(resolve, reject);
  });

  // A browser may end a service worker with a question unanswered, or put another in its place: asked again, of
  // whichever is there then. The first answer counts, to whichever question. Firefox now and then shows a page as
  // redundant the very worker that is in charge, and drops what is said to it: that one is asked by what it fetches for us.
  function askWorker(which, message) {
    return new Promise((resolve, reject) => {
      let left = 3, timer = 0;
      const answered = (value) => { clearTimeout(timer); resolve(value); };
      const put = (found) => {
        const worker = which(found);
        if (worker?.state === "redundant" && worker === found.active && message.type === "status") {
          return fetch(`${home.href}kept?deep=${+message.deep}&from=${message.from}`).then((told) => told.ok && told.json().then(answered));
        }
        const channel = new MessageChannel();
        channel.port1.onmessage = (event) => answered(event.data);
        worker?.postMessage(message, [channel.port2]);
      };
      const ask = () => {
        timer = setTimeout(left-- ? ask : () => reject(new Error("no answer from the service worker")), 8000);
        kept().then(put).catch((error) => console.warn("Not asked: " + error.message));
      };
      ask();
    });
  }

  const answers = window.boreside.answers = {
    // The truth about working offline: asks the active service worker to look at every file it holds.
    async offline(deep) {
      if (!("serviceWorker" in navigator)) return { supported: false, ready: false, why: window.isSecureContext ? "browser" : "insecure" };
      const active = (found) => found?.active;
      if (!active(await soon(kept()))) return { supported: true, ready: false, why: "not yet" };
      const missing = [];
      let part = { next: 0 };
      do { // a part at a time: each is answered soon, however slow the device
        part = await askWorker(active, { type: "status", deep: !!deep, from: part.next, free: !navigator.serviceWorker.controller });
        missing.push(...part.missing);
      } while (part.next > 0);
      const whole = { missing, kept: part.total - missing.length, ready: missing.length === 0 };
      return { supported: true, ...part, ...whole, controlled: !!navigator.serviceWorker.controller };
    },
    async update() {
      const found = await kept();
      const waiting = found?.waiting;
      if (!waiting || !found.active) return { waiting: false };
      return { waiting: true, ...await askWorker((now) => now?.waiting, { type: "version" }) };
    },
    async look() { if (navigator.onLine) await (await kept())?.update().catch(() => {}); return true; },
    // Only ever called because the person said yes.
    async apply() {
      const waiting = (await kept())?.waiting;
      if (!waiting) return false;
      reloading = true;
      // A browser waits for the old service worker to be idle: ask again while it is not.
      const again = () => { if (waiting.state === "installed") { waiting.postMessage({ type: "apply" }); setTimeout(again, 1500); } };
      again();
      return true;
    },
    async installable() {
      const standalone = matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
      // an iPad may call itself a Mac, but no Mac has a touch screen
      const ios = /iPad|iPhone|iPod/.test(navigator.userAgent) || (/Macintosh/.test(navigator.userAgent) && navigator.maxTouchPoints > 1);
      return { prompt: !!prompt, installed: standalone, hand: ios ? "ios" : "" };
    },
    async install() {
      if (!prompt) return "unavailable";
      const asked = prompt;
      prompt = null;
      await asked.prompt();
      return (await asked.userChoice).outcome;
    },
    async persist() {
      if (!navigator.storage || !navigator.storage.persist) return "unknown";
      return (await navigator.storage.persisted()) || (await navigator.storage.persist()) ? "kept" : "may be cleared";
    },
    async room() {
      if (!navigator.storage || !navigator.storage.estimate) return { used: null, quota: null };
      const { usage, quota } = await navigator.storage.estimate();
      return { used: usage ?? null, quota: quota ?? null };
    },
    // A file the person chooses, handed on as it is: nothing of it is read here. Nothing where none is chosen.
    choose() {
      const field = Object.assign(document.createElement("input"), { type: "file", hidden: true });
      document.body.append(field);
      return new Promise((resolve) => {
        field.onchange = () => resolve(field.files[0]);
        field.oncancel = () => resolve(undefined);
        field.click();
      }).finally(() => field.remove());
    },
    save(name, blob) {
      const link = Object.assign(document.createElement("a"), { download: name, href: URL.createObjectURL(blob), hidden: true });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(link.href), 600000); // a large file takes its time
      return true;
    },
    async failed(words) { fail(words, true); worker.postMessage({ settled: true }); return true; },
    async shown() { ready(); return true; },
    async contrast() { return contrast(); },
    async alive() { return true; },
    async marks() { return marks; },
    async reload() { location.reload(); return true; },
  };

  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault(); // offered by our own screen, at a quiet moment
    prompt = event;
    tell("installable", true);
  });
  window.addEventListener("appinstalled", () => { prompt = null; tell("installed", true); });
  for (const look of looks) look.addEventListener?.("change", () => tell("contrast", true));
  window.addEventListener("online", () => { tell("online", true); if (due) register(); });
  window.addEventListener("offline", () => tell("online", false));
  document.addEventListener("visibilitychange", () => tell("visible", document.visibilityState === "visible"));

  // ---- the service worker -------------------------------------------------------------
  navigator.serviceWorker?.addEventListener("controllerchange", () => { if (reloading) location.reload(); });
  navigator.serviceWorker?.addEventListener("message", (event) => { if (event.data?.fetched) tell("fetched", event.data.fetched); });

  // What fails, for the network or the browser broke off, is tried again: soon, then ever more seldom, and when the network is back.
  let pause = 4000;
  let due = 0;
  let hourly = 0;
  function later() {
    registration = null;
    clearTimeout(due);
    due = setTimeout(register, pause *= 2);
  }
  function register() {
    if (!("serviceWorker" in navigator) || registration) return;
    clearTimeout(due);
    const light = typeof ImageDecoder !== "undefined" && typeof Intl.v8BreakIterator !== "undefined" &&
      typeof Intl.Segmenter !== "undefined" && (navigator.vendor === "Google Inc." || navigator.userAgent.includes("Edg/"));
    const watch = (sw) => sw && sw.addEventListener("statechange", () => {
      if (sw.state === "installed" && registration.active) tell("update", true);
      if (sw.state === "activated") tell("offline", true);
      if (sw.state === "redundant") {
        tell("offline", false);
        if (registration && !registration.active && !registration.waiting) later();
      }
    });
    navigator.serviceWorker.register("sw.js?canvas=" + (light ? "chromium" : "full"), { scope: home.pathname, updateViaCache: "none" })
      .then((found) => {
        registration = found;
        watch(found.installing || found.active);
        found.addEventListener("updatefound", () => watch(found.installing));
        if (found.waiting && found.active) tell("update", true);
        hourly ||= setInterval(() => answers.look(), 3600 * 1000);
      })
      .catch((error) => {
        tell("offline", false);
        console.warn("No service worker: " + error.message);
        if (error.name !== "SecurityError") later();
      });
  }
  window.setTimeout(register, 60000);
  document.addEventListener("DOMContentLoaded", () => step("page"));
})();
