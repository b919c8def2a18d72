// Runs Python (Pyodide) off the page's thread. Files come from our own origin only.
//
// Three ways to begin, told by the page:
//   start    – from the started memory kept by an earlier visit, if there is one for this
//              very build; else from the files.
//   plain    – from the files, whatever is kept; spoiled, that what is kept did not serve.
//   prepare  – in a second worker, after the first screen: start from the files, import
//              what the app needs, and keep a copy of the memory for the next start.
const home = new URL("./", import.meta.url).href;
const START = "{{start}}"; // digest of everything the kept memory depends on
const LIBS = {{libs}}; // compiled libraries: where Python looks for them, and their file
const LOCK = {{lock}};
const keptIn = `boreside-start ${new URL(home).pathname} ${START}`;
const say = (name) => self.postMessage({ step: name, at: performance.timeOrigin + performance.now() });
const fail = (words) => self.postMessage({ fail: words });

// ---- fetched side by side, before anything waits for anything -----------------------
const network = self.fetch.bind(self);
const get = async (name) => {
  const response = await network(home + name);
  if (!response.ok) {
    fail(`${name} could not be read (${response.status}).`);
    throw new Error(name);
  }
  return response;
};
const ENGINE = home + "pyodide/pyodide.asm.wasm";
const ahead = new Map(["pyodide/pyodide.asm.wasm", "pyodide/python_stdlib.zip"].map((name) => [home + name, get(name)]));
const archive = get("app.zip").then((response) => response.arrayBuffer());
const machine = WebAssembly.compileStreaming(ahead.get(ENGINE));
const libs = Object.entries(LIBS).map(([path, file]) => [path, WebAssembly.compileStreaming(get(file))]);
const runtime = import("./pyodide/pyodide.mjs");
const factory = import("./pyodide/pyodide.asm.mjs");
const at = { memory: home + "memory", trying: home + "trying", failures: home + "failures" }; // see recall
const looked = (async () => Promise.all([at.memory, at.trying].map((what) => caches.match(what, { cacheName: keptIn }))))();
for (const promise of [looked, ...ahead.values(), archive, machine, ...libs.map(([, lib]) => lib)]) promise.catch(() => {});
// The runtime asks for these by address and gets what is already on its way, compiled.
self.fetch = (what, how) => ahead.get(String(what.url || what)) || network(what, how);
const whole = WebAssembly.instantiateStreaming;
WebAssembly.instantiateStreaming = async (source, imports) => {
  if (source !== ahead.get(ENGINE)) return whole.call(WebAssembly, source, imports);
  const module = await machine;
  return { module, instance: await WebAssembly.instantiate(module, imports) };
};

// ---- the bridge: Python asks, the page answers; the page tells, Python listens ----------
let count = 0;
const waiting = new Map();
const listeners = new Set();
const bridge = {
  ask(name, ...args) {
    return new Promise((resolve, reject) => {
      const id = ++count;
      waiting.set(id, [resolve, reject]);
      self.postMessage({ ask: name, id, with: args });
    });
  },
  listen(callback) { listeners.add(callback); },
  gather() { gathered = []; },
  handOver() {
    const parts = gathered;
    gathered = null;
    if (parts?.length) post(parts);
  },
};

// ---- what the Flet library expects to find as the module flet_js -------------------------
const flet = { args: null, documentUrl: null };
// What Python changes in one go is handed over in one go: else the page would draw between the first part and the last.
let gathered = null;
const post = (parts) => self.postMessage(parts.length > 1 ? parts : parts[0], parts.map((part) => part.buffer));
const send = (message) => {
  const bytes = message.toJs();
  if (gathered) gathered.push(bytes); else post([bytes]);
};

// A zip whose members are stored uncompressed, as files that lie in the zip itself. Where only some are wanted,
// they are copied out and the zip is let go.
function unpack(FS, buffer, root, unwanted) {
  const view = new DataView(buffer);
  const bytes = new Uint8Array(buffer);
  const text = new TextDecoder();
  const made = new Set();
  let end = buffer.byteLength - 22;
  while (end >= 0 && view.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) throw new Error("The app's archive is damaged.");
  let at = view.getUint32(end + 16, true);
  for (let left = view.getUint16(end + 10, true); left > 0; left--) {
    const size = view.getUint32(at + 24, true);
    const nameLength = view.getUint16(at + 28, true);
    const local = view.getUint32(at + 42, true);
    const path = root + "/" + text.decode(bytes.subarray(at + 46, at + 46 + nameLength));
    const start = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
    const folder = path.slice(0, path.lastIndexOf("/"));
    if (!made.has(folder)) { FS.mkdirTree(folder); made.add(folder); }
    if (!unwanted?.has(path)) FS.writeFile(path, unwanted ? bytes.slice(start, start + size) : bytes.subarray(start, start + size), { canOwn: true });
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
  }
  if (unwanted) letGo(buffer);
}

// Given back at once, not when the browser next looks for what nobody uses: sent to where nobody listens.
function letGo(buffer) {
  const { port1, port2 } = new MessageChannel();
  port2.close();
  port1.postMessage(null, [buffer]);
  port1.close();
}

// Before Python's own start: the app's files, and the compiled libraries in a fixed order,
// so that their code and data lie at the same places in every start. A kept memory fits
// only then. Python finds each library loaded when it asks for it by its path.
async function furnish(Module, memory) {
  Module.addRunDependency("app");
  // nothing of the kept memory is used before it was found to be what was kept
  const about = await memory?.about;
  unpack(Module.FS, await archive, "/app", about && new Set(about.imported));
  for (const [path, lib] of libs) {
    const place = "/app/" + path;
    Module.FS.mkdirTree(place.slice(0, place.lastIndexOf("/")));
    Module.FS.writeFile(place, new Uint8Array(8));
    const loaded = Module.newDSO(place, undefined, "loading");
    loaded.global = false;
    loaded.exports = await Module.loadWebAssemblyModule(await lib, { loadAsync: true, nodelete: true, global: false, allowUndefined: true }, place, {});
  }
  if (about) Module.growMemory(about.size); // it is larger than a new one
  Module.removeRunDependency("app");
}

async function engine(options, memory) {
  const { loadPyodide } = await runtime;
  const make = (await factory).default;
  say("engine");
  return loadPyodide({
    indexURL: home + "pyodide/",
    packageBaseUrl: home + "pyodide/",
    lockFileContents: LOCK,
    stdout: (line) => console.log(line),
    stderr: (line) => console.warn(line),
    createPyodideModule: async (settings) => {
      settings.preRun.push((Module) => furnish(Module, memory).catch((error) => fail(String(error.message || error))));
      const Module = await make(settings);
      if (memory) {
        const restore = Module.API.restoreSnapshot;
        Module.API.restoreSnapshot = (head) => { const state = restore(head); memory.fill(Module.HEAPU8); return state; };
      }
      return Module;
    },
    ...options,
  });
}

async function fresh(options = {}) {
  const python = await engine(options);
  say("unpack");
  python.registerJsModule("flet_js", flet);
  python.registerJsModule("boreside_js", bridge);
  python.runPython("import sys, os; sys.path[:0] = ['/app', '/app/__pypackages__']; os.chdir('/app')");
  return python;
}

// ---- the kept memory ---------------------------------------------------------------------
const named = (thing) => thing === flet ? "flet" : thing === bridge ? "bridge" : undefined;
const known = (name) => ({ flet, bridge })[name];

// What is kept, under three names (``at``): the memory itself, with its SHA-256 in a header; "trying" while a start from it has not come
// to its first screen; and how often that failed. After three failures this build does without.
const digest = async (bytes) => Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)), (b) => b.toString(16).padStart(2, "0")).join("");
const failures = async (cache) => Number(await (await cache.match(at.failures))?.text() || 0);

async function drop() {
  const cache = await caches.open(keptIn);
  await cache.put(at.failures, new Response(String(await failures(cache) + 1)));
  await cache.delete(at.memory);
  await cache.delete(at.trying);
}

// Kept is what is not empty of the memory: the length of a JSON text, the text, the head that the runtime wrote, and
// the stretches. The text says how long the head is, how large the memory, where each stretch lies, and which files
// need not be unpacked again, for what they hold is in the memory.
const BLOCK = 16384;
function packed(snapshot, imported) {
  const head = new Uint32Array(snapshot.buffer, 0, 2)[1];
  const heap = snapshot.subarray(head);
  const words = new Uint32Array(snapshot.buffer, head);
  const runs = [];
  for (let from = 0; from < heap.length; from += BLOCK) {
    const length = Math.min(BLOCK, heap.length - from);
    if (!words.subarray(from / 4, (from + length) / 4).some((word) => word)) continue;
    const last = runs[runs.length - 1];
    if (last && last[0] + last[1] === from) last[1] += length; else runs.push([from, length]);
  }
  const said = JSON.stringify({ head, size: heap.length, runs, imported });
  const text = new TextEncoder().encode(said + " ".repeat(15 - (said.length + 3) % 16)); // what follows is aligned
  const bytes = new Uint8Array(4 + text.length + head + runs.reduce((sum, [, length]) => sum + length, 0));
  new Uint32Array(bytes.buffer, 0, 1)[0] = text.length;
  let to = 4;
  for (const part of [text, snapshot.subarray(0, head), ...runs.map(([from, length]) => heap.subarray(from, from + length))]) {
    bytes.set(part, to);
    to += part.length;
  }
  return bytes;
}

// ``about``: what the text says, once the bytes are known to be what was kept and the start from them is noted. ``head``:
// what the runtime is given, to which ``fill`` adds the memory itself. All of it is worked out beside the loading of the engine.
function unpacked(kept, noted) {
  let bytes = null, begin = 0, told = null;
  const about = (async () => {
    bytes = new Uint8Array(await kept.arrayBuffer());
    if (await digest(bytes) !== kept.headers.get("X-Content-SHA256")) throw new Error("The kept memory is not what was kept.");
    await noted;
    const length = new Uint32Array(bytes.buffer, 0, 1)[0];
    begin = 4 + length;
    told = JSON.parse(new TextDecoder().decode(bytes.subarray(4, begin)));
    return told;
  })();
  const head = about.then(({ head: length }) => bytes.slice(begin, begin + length));
  head.catch(() => {});
  return {
    about,
    head,
    fill(heap) {
      const words = new Uint32Array(heap.buffer);
      let from = begin + told.head, end = 0;
      for (const [at, length] of [...told.runs, [told.size, 0]]) {
        for (let i = end / 4; i < at / 4; i++) if (words[i]) words[i] = 0; // a new memory is not empty everywhere
        heap.set(bytes.subarray(from, from + length), at);
        from += length;
        end = at + length;
      }
      letGo(bytes.buffer);
    },
  };
}

async function recall() {
  try {
    const [kept, tried] = await looked;
    if (tried) {
      // Another tab is at it, or a start from this memory never came to an end.
      if (Date.now() - Number(await tried.text()) > 60000) await drop();
      return null;
    }
    if (!kept) return null;
    const noted = caches.open(keptIn).then((cache) => cache.put(at.trying, new Response(String(Date.now()))));
    noted.catch(() => {});
    return unpacked(kept, noted);
  } catch (error) {
    return null; // no storage to be had: start from the files
  }
}

async function awaken(memory) {
  const python = await engine({ _loadSnapshot: memory.head, _snapshotDeserializer: known }, memory);
  say("unpack");
  // not in the memory: the working folder; and chance must not be the same in every start
  python.runPython("import os, random; os.chdir('/app'); random.seed()");
  return python;
}

async function prepare() {
  const cache = await caches.open(keptIn);
  if (await cache.match(at.memory)) return;
  if (await failures(cache) > 2) throw new Error("It did not serve here.");
  // The runtime watches which of the worker's own things Python holds, through a stand-in; those want to be asked as themselves.
  const things = new Proxy(self, { get: (target, name) => Reflect.get(target, name, target) });
  const python = await fresh({ _makeSnapshot: true, jsglobals: things });
  const imported = (await python.runPythonAsync("import main; there = await main.get_ready(); del main; there")).split("\n");
  python.runPython("import gc; del there; gc.collect(); del gc");
  const memory = packed(python.makeMemorySnapshot({ serializer: named }), imported);
  const headers = { "Content-Type": "application/octet-stream", "X-Content-SHA256": await digest(memory) };
  await cache.put(at.memory, new Response(memory, { headers }));
}

async function start({ page, plain, spoiled, contrast }) {
  bridge.contrast = contrast;
  if (spoiled) await drop().catch(() => {});
  const memory = plain || spoiled ? null : await recall();
  // said first, so that the page knows what to do if this fails
  self.postMessage({ from: memory ? "memory" : "files" });
  const python = memory ? await awaken(memory) : await fresh();
  flet.documentUrl = page;
  say("rules");
  python.runPython("import runpy; runpy.run_module('main', run_name='__main__')");
  if (typeof flet.start_connection !== "function") throw new Error("The app did not open a connection.");
  say("screen");
  await flet.start_connection(send);
  self.postMessage({ connected: true });
  if (memory) settle = async () => (await caches.open(keptIn)).delete(at.trying);
}
let settle = async () => {};

self.onmessage = (event) => {
  const data = event.data;
  if (data instanceof Uint8Array) {
    flet.send(data);
  } else if (data.start) {
    start(data).catch((error) => {
      const words = String(error && error.message || error).trim().split("\n");
      console.error(String(error && error.message || error));
      fail(words[words.length - 1]);
    });
  } else if (data.prepare) {
    prepare().then(() => self.postMessage({ prepared: true }), async (error) => {
      self.postMessage({ prepared: false, why: String(error && error.message || error) });
    });
  } else if (data.settled) {
    settle().catch(() => {});
  } else if (data.answer) {
    const [resolve, reject] = waiting.get(data.answer) || [];
    waiting.delete(data.answer);
    if (resolve) "error" in data ? reject(new Error(data.error)) : resolve(data.value);
  } else if (data.told) {
    for (const callback of listeners) callback(data.told, data.value);
  }
};
