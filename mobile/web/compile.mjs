// Compiles Python source with the very interpreter the browser will run, at build time.
// node compile.mjs PYODIDE_FOLDER SOURCE_FOLDER TARGET_FOLDER: every .py becomes a .pyc
// in its place (docstrings and asserts left out), every other file is copied by the caller.
import { pathToFileURL } from "node:url";
const [pyodide, source, target] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(pyodide + "/pyodide.mjs").href);
// line numbers are kept for what goes wrong, columns are not: nobody sees them, and they make a quarter of it
const env = { HOME: "/home/pyodide", PYTHONNODEBUGRANGES: "1" };
const python = await loadPyodide({ indexURL: pyodide + "/", env });
for (const [root, at] of [[source, "/source"], [target, "/target"]]) {
  python.FS.mkdirTree(at);
  python.FS.mount(python.FS.filesystems.NODEFS, { root }, at);
}
python.runPython(`
import os, py_compile
for folder, _, names in os.walk("/source"):
    for name in names:
        if name.endswith(".py"):
            path = os.path.join(folder, name)
            inner = os.path.relpath(path, "/source")
            out = os.path.join("/target", inner + "c")
            os.makedirs(os.path.dirname(out), exist_ok=True)
            py_compile.compile(path, cfile=out, dfile=inner, doraise=True, optimize=2,
                               invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH)
`);
