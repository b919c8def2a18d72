// Runs mobile/web/start.js on a page that is made up, start after start, and prints how each would draw as JSON.
import { readFileSync } from "node:fs";
import vm from "node:vm";

const code = readFileSync(process.argv[2], "utf-8");

function starts(...given) {
  const kept = {};
  return given.map(({ renderer, masked = false, browser = "one", at = 1e12, blocked = false }) => {
    let asked = 0;
    const gl = {
      RENDERER: 1,
      getExtension: (name) => (name === "WEBGL_debug_renderer_info" ? (masked ? null : { UNMASKED_RENDERER_WEBGL: 2 }) : { loseContext() {} }),
      getParameter: (which) => (masked === (which === 1) ? renderer : "WebKit WebGL"),
    };
    let config = null;
    const context = {
      JSON, Math, console: { warn() {} }, Date: { now: () => at }, navigator: { userAgent: browser },
      flet: { assetBase: "/app/" }, _flutter: { loader: { load: (how) => { config = how.config; } } },
      document: { createElement: () => ({ getContext: () => { asked += 1; return renderer === null ? null : gl; } }) },
      localStorage: {
        getItem: (name) => { if (blocked) throw new Error("blocked"); return kept[name] ?? null; },
        setItem: (name, value) => { if (blocked) throw new Error("blocked"); kept[name] = value; },
      },
    };
    vm.runInNewContext(code, context);
    return { byProcessor: config.canvasKitForceCpuOnly, asked };
  });
}

const WEEK = 7 * 86400e3;
console.log(JSON.stringify({
  imitated: starts({ renderer: "ANGLE (Google, Vulkan 1.3.0 (SwiftShader Device (Subzero)), SwiftShader driver)" }, { renderer: "never asked" }),
  masked: starts({ renderer: "llvmpipe, or similar", masked: true }),
  real: starts({ renderer: "Any GPU 5" }, { renderer: "never asked" }),
  none: starts({ renderer: null }),
  later: starts({ renderer: "llvmpipe" }, { renderer: "Any GPU 5", at: 1e12 + WEEK + 1 }),
  other: starts({ renderer: "llvmpipe" }, { renderer: "Any GPU 5", browser: "two" }),
  blocked: starts({ renderer: "llvmpipe", blocked: true }, { renderer: "llvmpipe", blocked: true }),
}));
