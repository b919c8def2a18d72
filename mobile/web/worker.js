// Runs Python (Pyodide) off the page's thread. Files come from our own origin only.
const home = new URL("./", import.meta.url).href;
const say = (name) => self.postMessage({ step: name, at: performance.timeOrigin + performance.now() });

// ---- fetched side by side, before anything waits for anything -----------------------
const fail = (words) => self.postMessage({ fail: words });
const network = self.fetch.bind(self);
const get = async (name) => {
  const response = await network(home + name);
  if (!response.ok) {
    fail(`${name} could not be read (${response.status}).`);
    throw new Error(name);
  }
  return response;
};
const ahead = new Map(["pyodide/pyodide.asm.wasm", "pyodide/python_stdlib.zip"].map((name) => [home + name, get(name)]));
const archive = get("app.zip").then((response) => response.arrayBuffer());
const machine = WebAssembly.compileStreaming(ahead.get(home + "pyodide/pyodide.asm.wasm"));
for (const promise of [...ahead.values(), archive, machine]) promise.catch(() => {});
// The runtime asks for these by address and gets what is already on its way, compiled.
self.fetch = (what, how) => ahead.get(String(what.url || what)) || network(what, how);
const whole = WebAssembly.instantiateStreaming;
WebAssembly.instantiateStreaming = async (source, imports) => {
  if (source !== ahead.get(home + "pyodide/pyodide.asm.wasm")) return whole.call(WebAssembly, source, imports);
  const module = await machine;
  return { module, instance: await WebAssembly.instantiate(module, imports) };
};
const runtime = import("./pyodide/pyodide.mjs");

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
  step(name) { say(name); },
};

// ---- what the Flet library expects to find as the module flet_js -------------------------
const flet = { args: null, documentUrl: null };
const send = (message) => {
  const bytes = message.toJs();
  self.postMessage(bytes, [bytes.buffer]);
};

// A zip whose members are stored uncompressed, written out as files.
function unpack(FS, buffer, root) {
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
    FS.writeFile(path, bytes.subarray(start, start + size));
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
  }
}

async function start(page) {
  const { loadPyodide } = await runtime;
  say("engine");
  const python = await loadPyodide({
    indexURL: home + "pyodide/",
    lockFileContents: {{lock}},
    packageBaseUrl: home + "pyodide/",
    stdout: (line) => console.log(line),
    stderr: (line) => console.warn(line),
  });
  say("unpack");
  unpack(python.FS, await archive, "/app");
  flet.documentUrl = page;
  python.registerJsModule("flet_js", flet);
  python.registerJsModule("boreside_js", bridge);
  say("rules");
  python.runPython("import sys, os; sys.path.insert(0, '/app'); sys.path.insert(1, '/app/__pypackages__'); os.chdir('/app')");
  python.runPython("import runpy; runpy.run_module('main', run_name='__main__')");
  if (typeof flet.start_connection !== "function") throw new Error("The app did not open a connection.");
  say("screen");
  await flet.start_connection(send);
  self.postMessage({ connected: true });
}

self.onmessage = (event) => {
  const data = event.data;
  if (data instanceof Uint8Array) {
    flet.send(data);
  } else if (data.start) {
    start(data.page).catch((error) => {
      const words = String(error && error.message || error).trim().split("\n");
      console.error(String(error && error.message || error));
      fail(words[words.length - 1]);
    });
  } else if (data.answer) {
    const [resolve, reject] = waiting.get(data.answer) || [];
    waiting.delete(data.answer);
    if (resolve) "error" in data ? reject(new Error(data.error)) : resolve(data.value);
  } else if (data.told) {
    for (const callback of listeners) callback(data.told, data.value);
  }
};
