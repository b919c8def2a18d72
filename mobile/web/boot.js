// First script of the page. It starts Python at once, beside the drawing engine,
// says in words what is being loaded, and carries messages between the page, the
// Python worker and the service worker. Everything it fetches is on our own origin.
"use strict";
(() => {
  // Milestones of the start, in milliseconds since the page was asked for.
  const marks = [];
  const mark = (name, at = performance.timeOrigin + performance.now()) => marks.push([name, Math.round(at - performance.timeOrigin)]);
  const home = new URL("./", document.baseURI);

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
  const part = (id) => document.getElementById(id);
  function step(name, at) {
    mark(name, at);
    if (shown || failed || !steps[name] || !part("loading")) return;
    const [words, value] = steps[name];
    if (value < furthest) return;
    furthest = value;
    part("loading-text").textContent = words;
    part("loading-bar").value = value;
  }
  function ready() {
    if (shown) return;
    shown = true;
    mark("shown");
    part("loading")?.remove();
    document.documentElement.dataset.boreside = "shown";
    document.querySelector("flutter-view")?.setAttribute("role", "main"); // a landmark for screen readers
    window.setTimeout(register, 50);
  }
  function fail(words) {
    if (shown || failed || !part("loading")) { console.error(words); return; }
    failed = true;
    part("loading-text").textContent = "This could not be started here. Your jobs are untouched.";
    part("loading-note").textContent = words;
    part("loading-bar").hidden = true;
    part("loading-again").hidden = false;
    part("loading-again").onclick = () => location.reload();
    document.documentElement.dataset.boreside = "failed";
    register(); // an update may be what mends it
  }
  window.boreside = { mark, marks, step, ready, fail, answers: {} };

  // ---- Python, in a worker --------------------------------------------------------
  let toDart = null;
  const early = [];
  const worker = new Worker(new URL("worker.js", home), { type: "module" });
  let readyToTalk;
  const talking = new Promise((resolve) => { readyToTalk = resolve; });
  worker.onerror = (event) => fail(event.message || "The worker stopped.");
  worker.onmessage = async (event) => {
    const data = event.data;
    if (data instanceof Uint8Array) {
      if (toDart) toDart(data); else early.push(data);
    } else if (data.step) {
      step(data.step, data.at);
    } else if (data.connected) {
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
  };
  worker.postMessage({ start: true, home: home.href, page: document.URL });
  const tell = (what, value) => worker.postMessage({ told: what, value });

  window.jsConnect = async (app, args, onMessage) => {
    mark("engine ready");
    await talking;
    toDart = onMessage;
    for (const data of early.splice(0)) onMessage(data);
  };
  window.jsSend = async (app, data) => worker.postMessage(data, [data.buffer]);
  window.jsDisconnect = async () => { toDart = null; };

  // ---- what Python may ask of the page ----------------------------------------------
  let registration = null;
  let prompt = null;
  let reloading = false;
  const kept = async () => registration || await navigator.serviceWorker?.getRegistration(home.href);
  const unknown = () => { throw new Error("no such question"); };

  function askWorker(target, message) {
    return new Promise((resolve, reject) => {
      const channel = new MessageChannel();
      const timer = setTimeout(() => reject(new Error("no answer from the service worker")), 20000);
      channel.port1.onmessage = (event) => { clearTimeout(timer); resolve(event.data); };
      target.postMessage(message, [channel.port2]);
    });
  }

  const answers = window.boreside.answers = {
    // The truth about working offline: asks the active service worker to look at every file it holds.
    async offline(deep) {
      if (!("serviceWorker" in navigator)) return { supported: false, ready: false, why: window.isSecureContext ? "browser" : "insecure" };
      const active = (await kept())?.active;
      if (!active) return { supported: true, ready: false, why: "not yet" };
      return { supported: true, ...await askWorker(active, { type: "status", deep: !!deep }), controlled: !!navigator.serviceWorker.controller };
    },
    async update() {
      const found = await kept();
      const waiting = found?.waiting;
      if (!waiting || !found.active) return { waiting: false };
      return { waiting: true, ...await askWorker(waiting, { type: "version" }) };
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
      return { prompt: !!prompt, installed: standalone, hand: /iPad|iPhone|iPod/.test(navigator.userAgent) ? "ios" : "" };
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
    async failed(words) { fail(words); return true; },
    async shown() { ready(); return true; },
    async marks() { return marks; },
    async reload() { location.reload(); return true; },
  };

  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault(); // offered by our own screen, at a quiet moment
    prompt = event;
    tell("installable", true);
  });
  window.addEventListener("appinstalled", () => { prompt = null; tell("installed", true); });
  window.addEventListener("online", () => tell("online", true));
  window.addEventListener("offline", () => tell("online", false));
  document.addEventListener("visibilitychange", () => tell("visible", document.visibilityState === "visible"));

  // ---- the service worker -------------------------------------------------------------
  navigator.serviceWorker?.addEventListener("controllerchange", () => { if (reloading) location.reload(); });
  navigator.serviceWorker?.addEventListener("message", (event) => { if (event.data?.fetched) tell("fetched", event.data.fetched); });

  function register() {
    if (!("serviceWorker" in navigator) || registration) return;
    const light = typeof ImageDecoder !== "undefined" && typeof Intl.v8BreakIterator !== "undefined" &&
      typeof Intl.Segmenter !== "undefined" && (navigator.vendor === "Google Inc." || navigator.userAgent.includes("Edg/"));
    const watch = (sw) => sw && sw.addEventListener("statechange", () => {
      if (sw.state === "installed" && registration.active) tell("update", true);
      if (sw.state === "activated") tell("offline", true);
      if (sw.state === "redundant") tell("offline", false);
    });
    navigator.serviceWorker.register("sw.js?canvas=" + (light ? "chromium" : "full"), { scope: home.pathname, updateViaCache: "none" })
      .then((found) => {
        registration = found;
        watch(found.installing);
        found.addEventListener("updatefound", () => watch(found.installing));
        if (found.waiting && found.active) tell("update", true);
        setInterval(() => answers.look(), 3600 * 1000);
      })
      .catch((error) => { tell("offline", false); console.warn("No service worker: " + error.message); });
  }
  window.setTimeout(register, 60000);
  document.addEventListener("DOMContentLoaded", () => step("page"));
})();
