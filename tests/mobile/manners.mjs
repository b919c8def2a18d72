// Drives mobile/web/manners.js on a page that is made up, and prints what became of it as JSON.
import { readFileSync } from "node:fs";
import vm from "node:vm";

const code = readFileSync(process.argv[2], "utf-8");
const wait = (ms) => new Promise((done) => setTimeout(done, ms));

function page(more = {}) {
  const heard = { window: {}, document: {} };
  const told = [];
  const made = [];
  const element = (tag) => {
    const one = { tag, hidden: false, children: [], on: {}, attributes: {}, setAttribute(k, v) { this.attributes[k] = v; }, append(...c) { this.children.push(...c); },
      addEventListener(what, act) { this.on[what] = act; }, remove() { this.gone = true; }, showModal() { this.shown = true; }, click() { this.clicked = true; } };
    if (tag === "input") one.capture = "";
    made.push(one);
    return one;
  };
  const document = { visibilityState: "visible", createElement: element, body: { append() {} },
    addEventListener(what, act) { (heard.document[what] ||= []).push(act); } };
  const window = { boreside: { answers: { installable: async () => ({ installed: false, hand: "" }), room: async () => ({ used: 1e6, quota: 2e9 }) },
      tell: (what, value) => told.push([what, JSON.parse(JSON.stringify(value))]), glimpse: "key" },
    matchMedia: (asked) => ({ matches: asked.includes("coarse") && more.coarse !== false }),
    addEventListener(what, act) { (heard.window[what] ||= []).push(act); }, ...more.window };
  const context = { window, document, navigator: more.navigator || {}, console, setTimeout, clearTimeout, File, localStorage: more.localStorage, JSON, Promise, Uint8Array,
    SpeechSynthesisUtterance: class { constructor(words) { this.words = words; } } };
  vm.runInNewContext(code, context);
  let clock = 0;
  const press = (key, after = 10, about = {}) => {
    clock += after;
    const event = { key, code: key, timeStamp: clock, ctrlKey: false, composedPath: () => [about.target || { tagName: "BODY" }], passed: true,
      stopImmediatePropagation() { this.passed = false; }, preventDefault() {}, ...about };
    for (const act of heard.window.keydown) act(event);
    return event.passed;
  };
  const release = (code) => {
    const event = { code, passed: 1, stopImmediatePropagation() { this.passed = 0; }, preventDefault() {} };
    for (const act of heard.window.keyup) act(event);
    return event.passed;
  };
  const fire = (what) => { for (const act of heard.document[what] || []) act({}); };
  const type = (text, gap) => [...text].map((key, n) => press(key, n ? gap : 1000)).map(Number).join("");
  return { answers: window.boreside.answers, told, made, press, release, type, fire, document, context };
}

const out = {};
const enter = (p, gap) => Number(p.press("Enter", gap));

{ // gauges
  const run = async (text, gap, last = gap, ends = 1) => {
    const p = page();
    const through = p.type(text, gap);
    const entered = Array.from({ length: ends }, () => enter(p, last));
    await wait(250);
    return { through, entered: entered.join(""), told: p.told };
  };
  out.fast = await run("+3.0145", 8);
  out.unit = await run("-0.0125 in", 16);
  out.twice = await run("12.5mm", 12, 12, 2);
  out.hand = await run("3.0145", 120);
  out.handUnit = await run("0.229mm", 120);
  out.microns = await run("14.5um", 10);
  out.rolled = await run("30", 25, 200);
  out.noEnd = await (async () => { const p = page(); const through = p.type("3.01", 10); await wait(250); return { through, told: p.told }; })();
  out.afterHand = await (async () => { const p = page(); p.press("7", 1000); await wait(5); const through = p.type("3.0145", 10); const entered = enter(p, 10); await wait(100); return { through, entered, told: p.told }; })();
  out.inField = await (async () => { const p = page(); const passed = [..."3.0145"].map((k) => Number(p.press(k, 5, { target: { tagName: "INPUT" } }))).join(""); await wait(100); return { passed, told: p.told }; })();
  out.heldDown = await (async () => { const p = page(); const passed = [..."0000"].map((k) => Number(p.press(k, 30, { repeat: true }))).join(""); const entered = enter(p, 30); await wait(100); return { passed, entered, told: p.told }; })();
  out.padKeys = await (async () => { const p = page(); const passed = ["3", "u", "z"].map((k) => Number(p.press(k, 200))).join(""); return { passed, told: p.told }; })();
  out.releases = (() => {
    const p = page();
    p.press("3", 1000);
    p.press("4", 8);
    return ["3", "4", "4"].map((code) => p.release(code)).join("");
  })();
}

{ // awake
  const locks = [];
  const wakeLock = { request: async () => { const lock = { free: false, on: [], addEventListener(_, act) { this.on.push(act); }, async release() { this.free = true; this.on.forEach((a) => a()); } }; locks.push(lock); return lock; } };
  const p = page({ navigator: { wakeLock } });
  const steps = [];
  const state = () => locks.filter((l) => !l.free).length;
  steps.push(await p.answers.awake(true), state());
  p.document.visibilityState = "hidden"; p.fire("visibilitychange"); await wait(1); steps.push(state());
  p.document.visibilityState = "visible"; p.fire("visibilitychange"); await wait(1); steps.push(state());
  p.fire("visibilitychange"); p.fire("visibilitychange"); await wait(1); steps.push(state());
  steps.push(await p.answers.awake(false), state());
  p.fire("visibilitychange"); await wait(1); steps.push(state());
  out.awake = steps;
  const refused = page({ navigator: { wakeLock: { request: async () => { throw new Error("low battery"); } } } });
  out.awakeRefused = [await refused.answers.awake(true), await page().answers.awake(true)];
}

{ // told: buzz and voice
  const buzzed = [], spoken = [];
  const voices = [{ name: "Far", lang: "en-GB", localService: false }, { name: "Near", lang: "en-GB", localService: true }, { name: "Nah", lang: "de-DE", localService: true }];
  const speechSynthesis = { getVoices: () => voices, cancel: () => spoken.push("cancel"), speak: (u) => spoken.push([u.words, u.voice.name]) };
  const p = page({ navigator: { vibrate: (x) => buzzed.push([...x]) }, window: { speechSynthesis } });
  await p.answers.signal({ kind: "taken", beeps: true, buzzes: true, words: "three oh one four five", language: "en" });
  await p.answers.signal({ kind: "refused", beeps: false, buzzes: true, words: "nein", language: "de" });
  await p.answers.signal({ kind: "taken", beeps: false, buzzes: false, words: "", language: "en" });
  out.told = { buzzed, spoken, voices: [await p.answers.voice("en"), await p.answers.voice("de"), await p.answers.voice("fr")] };
  voices.splice(1); // only a voice that is not on the device is left
  await p.answers.signal({ kind: "taken", beeps: false, buzzes: false, words: "three", language: "en" });
  out.farVoice = [spoken.length, await p.answers.voice("en")];
  const bare = page();
  out.bare = [await bare.answers.signal({ kind: "taken", beeps: true, buzzes: true, words: "x", language: "en" }), await bare.answers.voice("en"), JSON.parse(JSON.stringify(await bare.answers.able()))];
}

{ // files
  const hand = async (share, can, coarse = true, then = null) => {
    const shared = [];
    const p = page({ coarse, navigator: { canShare: ({ files }) => can(files[0]), share: async ({ files }) => { shared.push([files[0].name, files[0].type]); await share(shared.length); } } });
    const waiting = p.answers.hand("a.json", "application/json", new Uint8Array([1]), { ready: "a.json is ready.", share: "Share it", save: "Save", close: "Leave it" });
    await wait(1);
    const dialog = p.made.find((e) => e.tag === "dialog");
    if (then && dialog) await dialog.children.find((c) => c.textContent === then).on.click();
    const done = await Promise.race([waiting, wait(20).then(() => "waits")]);
    return { done, shared, asked: dialog ? dialog.children.map((c) => c.textContent) : null, gone: !!dialog?.gone };
  };
  const no = (name) => { throw Object.assign(new Error("no"), { name }); };
  out.shared = await hand(() => {}, () => true);
  out.asText = await hand(() => {}, (f) => f.type === "text/plain");
  out.noSheet = await hand(() => {}, () => false);
  out.desk = await hand(() => {}, () => true, false);
  out.dismissed = await hand(() => no("AbortError"), () => true, true, "Save");
  out.left = await hand(() => no("AbortError"), () => true, true, "Leave it");
  out.late = await hand((n) => n === 1 && no("NotAllowedError"), () => true, true, "Share it");
  out.none = await (async () => page().answers.hand("a", "b", new Uint8Array(), {}))();
}

{ // camera
  const p = page();
  const waiting = p.answers.shoot();
  const input = p.made.find((e) => e.tag === "input");
  input.files = [{ arrayBuffer: async () => new Uint8Array([255, 216]).buffer }];
  await input.on.change();
  const again = p.answers.shoot();
  p.made.at(-1).on.cancel();
  out.shot = { bytes: [...await waiting], clicked: input.clicked, capture: input.attributes.capture, accept: input.accept, gone: input.gone, none: await again };
}

{ // keeping
  const ask = async (navigator) => JSON.parse(JSON.stringify(await page({ navigator }).answers.keeping()));
  out.keeping = [await ask({ vendor: "Google Inc.", storage: { persisted: async () => true } }), await ask({ vendor: "Apple Computer, Inc." }), await ask({ vendor: "", storage: { persisted: async () => { throw new Error("no"); } } })];
}

{ // the picture of the last screen
  const kept = {};
  const p = page({ localStorage: { setItem: (k, v) => { kept[k] = v; }, removeItem: (k) => { delete kept[k]; } } });
  out.glimpse = [await p.answers.glimpse({ a: 1 }), kept.key, await p.answers.glimpse(null), Object.keys(kept).length];
  out.noRoom = await page({ localStorage: { setItem() { throw new Error("full"); } } }).answers.glimpse({ a: 1 });
}
console.log(JSON.stringify(out));
