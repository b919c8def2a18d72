// Runs mobile/web/boot.js on a page that is made up, once for each locale, and prints what came of it as JSON.
import { readFileSync } from "node:fs";
import vm from "node:vm";

const code = readFileSync(process.argv[2], "utf-8");

// As a browser does, a query that is listened to tells of a change only where it was not read in between. What is in
// "later" is asked for once the page has started, and the page is asked for it at that very moment.
class Query {
  constructor(asked, asks) { Object.assign(this, { asked, asks, known: asks.includes(asked), acts: [] }); }
  get matches() { this.known = this.asks.includes(this.asked); return this.known; }
  addEventListener(_, act) { this.acts.push(act); }
  changed() { const before = this.known; if (before !== this.matches) for (const act of this.acts) act({}); }
  told() { for (const act of this.acts) act({}); }
}

function start({ language, languages, asks = [], system = {}, later = null, live = false }) {
  const made = [];
  const presses = [];
  const posted = [];
  const navigator = { language, languages, onLine: true, userAgent: "" };
  const document = {
    baseURI: "http://localhost/app/", URL: "http://localhost/app/", visibilityState: "visible", addEventListener() {},
    getElementById: () => null, createElement: () => ({ style: {}, remove() {} }), documentElement: { dataset: {}, append() {} },
    querySelector: () => null,
  };
  const heard = [];
  const context = {
    navigator, document, URL, URLSearchParams, Intl, MessageChannel, Uint8Array, console, setTimeout() {}, clearTimeout() {},
    performance: live ? { now: () => context.clock, timeOrigin: 0 } : performance, clock: 100,
    location: { search: "" }, addEventListener(what, act) { presses.push([what, act]); }, localStorage: {},
    requestAnimationFrame(act) { context.waiting.push(act); }, cancelAnimationFrame() {}, waiting: [],
    matchMedia: (asked) => { const query = new Query(asked, asks); heard.push(query); return query; },
    getComputedStyle: ({ style }) => ({ color: system[style.color] }),
    Worker: class { constructor() { made.push(this); } postMessage(data) { posted.push(data); } terminate() {} },
  };
  context.window = context;
  vm.runInNewContext(code, context);
  if (live) return { context, worker: made.at(-1), press() { for (const [what, act] of presses) if (what === "pointerdown") act({}); } };
  if (later) {
    asks.push(later);
    context.boreside.answers.contrast();
    for (const query of heard) query.changed();
  } else for (const query of heard) query.told();
  return { languages: [...context.navigator.languages], language: context.navigator.language, posted: JSON.parse(JSON.stringify(posted)) };
}

// What Python sends to a page that is on show: what of it the drawing engine was handed, and which frames were drawn at once.
async function answered() {
  const { context, worker, press } = start({ language: "en", languages: ["en"], live: true });
  const handed = [];
  const drawn = [];
  const tell = (data) => worker.onmessage({ data });
  const rest = () => new Promise((go) => { setTimeout(go, 5); });
  tell({ connected: true });
  await context.jsConnect("app", {}, (data) => {
    handed.push([...data]);
    context.requestAnimationFrame(() => drawn.push(handed.length));
  });
  context.boreside.answers.shown();
  context.waiting.length = 0;
  tell(Uint8Array.of(0)); // nobody pressed anything
  await rest();
  const unasked = { drawn: [...drawn], waiting: context.waiting.length };
  handed.length = 0;
  press();
  tell([Uint8Array.of(1), Uint8Array.of(2)]); // sent in one go: drawn once both are there
  const before = drawn.length;
  await rest();
  const first = { handed: [...handed], before, drawn: [...drawn], waiting: context.waiting.length };
  context.clock += 10;
  tell(Uint8Array.of(3)); // so soon after that the screen has not been renewed: waits for that
  await rest();
  const then = { handed: [...handed], drawn: [...drawn], waiting: context.waiting.length };
  context.clock += 10;
  tell(Uint8Array.of(4));
  await rest();
  return { unasked, first, then, last: drawn };
}

const system = { Canvas: "rgb(0, 0, 0)", CanvasText: "rgb(255, 255, 255)", Highlight: "rgb(26, 235, 255)", HighlightText: "rgb(1, 2, 3)" };
console.log(JSON.stringify({
  c: start({ language: "c", languages: ["c"] }),
  posix: start({ language: "en_US.POSIX", languages: ["en_US.POSIX", "de-DE", ""] }),
  spelt: start({ language: "de_DE.UTF-8@euro", languages: ["de_DE.UTF-8@euro", "C.UTF-8", "de_DE"] }),
  alone: start({ language: "C", languages: [] }),
  odd: start({ language: "x", languages: ["x", "123", "a-b-c", "en--US", "tok-ens-that-are-too-long-to-be-one"] }),
  none: start({ language: undefined, languages: undefined }),
  sound: start({ language: "de-DE", languages: ["de-DE", "en"] }),
  more: start({ language: "en", languages: ["en"], asks: ["(prefers-contrast: more)"] }),
  forced: start({ language: "en", languages: ["en"], asks: ["(forced-colors: active)"], system }),
  answered: await answered(),
  read: start({ language: "en", languages: ["en"], later: "(forced-colors: active)", system }),
}));
process.exit(0); // a channel that is open would keep it
