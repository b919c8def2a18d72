// Starts the drawing engine: one renderer, local files only.
"use strict";
_flutter.buildConfig = { engineRevision: "{{engine}}", builds: [{ compileTarget: "dart2js", renderer: "canvaskit", mainJsPath: "main.dart.js" }] };
(() => {
  const config = {
    renderer: "canvaskit", entrypointBaseUrl: flet.entrypointBaseUrl, assetBase: flet.assetBase,
    canvasKitBaseUrl: flet.canvasKitBaseUrl, fontFallbackBaseUrl: flet.fontFallbackBaseUrl,
  };
  _flutter.loader.load({
    config,
    onEntrypointLoaded: async (initializer) => {
      boreside.mark("drawing code");
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
