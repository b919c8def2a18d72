// Starts the drawing engine: one renderer, local files only.
"use strict";
_flutter.buildConfig = { engineRevision: "{{engine}}", builds: [{ compileTarget: "dart2js", renderer: "canvaskit", mainJsPath: "main.dart.js" }] };
(() => {
  // Where there is no graphics processor, or none that the browser trusts, the processor imitates one, and each
  // frame has to be read back from it: the engine's own drawing by the processor then takes half as long.
  const IMITATED = /swiftshader|llvmpipe|softpipe|software|basic render/i;
  const DAYS = 7; // how long an answer stands: a driver may come or go
  function imitated() {
    const gl = document.createElement("canvas").getContext("webgl2");
    if (!gl) return false; // the engine sees to that itself
    const told = gl.getExtension("WEBGL_debug_renderer_info");
    const name = gl.getParameter(told ? told.UNMASKED_RENDERER_WEBGL : gl.RENDERER);
    gl.getExtension("WEBGL_lose_context")?.loseContext();
    return IMITATED.test(name);
  }
  function byProcessor() {
    const place = "boreside drawing " + flet.assetBase;
    try {
      const kept = JSON.parse(localStorage.getItem(place));
      if (kept?.browser === navigator.userAgent && Math.abs(Date.now() - kept.asked) < DAYS * 86400e3) return kept.imitated === true;
    } catch (error) { /* asked anew */ }
    let found = false;
    try {
      found = imitated();
      localStorage.setItem(place, JSON.stringify({ imitated: found, browser: navigator.userAgent, asked: Date.now() }));
    } catch (error) {
      console.warn("Not kept how this browser draws: " + error.message);
    }
    return found;
  }
  const config = {
    renderer: "canvaskit", entrypointBaseUrl: flet.entrypointBaseUrl, assetBase: flet.assetBase,
    canvasKitBaseUrl: flet.canvasKitBaseUrl, fontFallbackBaseUrl: flet.fontFallbackBaseUrl,
    canvasKitForceCpuOnly: byProcessor(),
  };
  _flutter.loader.load({
    config,
    onEntrypointLoaded: async (initializer) => {
      boreside.mark("drawing code");
      await null; // out of the script that calls: what a tool notes of a request made inside has the whole of it parsed again
      try {
        const engine = await initializer.initializeEngine(config);
        boreside.mark("drawing engine");
        flet.flutterApp = await engine.runApp();
      } catch (error) {
        boreside.fail("The screen could not be drawn: " + error);
      }
    },
  });
})();
