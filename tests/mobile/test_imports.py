"""The app's modules import each other in one direction; an import inside a function is listed here with its reason.

Read from the source. An import by name (a route's screen) counts as one.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from mobile.routes import ROUTES
from store.sheets import NAMES

ROOT = Path(__file__).resolve().parents[2]
MOBILE = ROOT / "mobile"

START = "not needed for the first paint, and the browser's Python imports slowly"
ASKED = "heavy, and needed only once it is asked for"
TLS = "for a certificate or a code on the terminal, which most starts do not ask for"
VERB = "each verb of the command takes only what it needs, so that it answers at once"
BROWSER = "there only where Python runs in a browser"
EXTRA = "an optional package: only a build needs it"
#: (module, what it imports inside a function) -> why.
DEFERRED = {
    ("mobile.app", "logic"): START,  # units, with their registry
    ("mobile.app", "mobile.glimpse"): START,
    ("mobile.app", "store.browser"): BROWSER,
    ("mobile.app", "store.files"): "there only where Python does not run in a browser",
    ("mobile.app", "store.jobs"): START,
    ("mobile.app", "store.remembered"): START,
    ("mobile.app", "store.memory"): "only where nothing can be stored",
    ("mobile.app", "store"): START,  # the rates
    ("mobile.app", "store.view"): START,
    ("mobile.bridge", "boreside_js"): BROWSER,
    ("mobile.bridge", "js"): BROWSER,
    ("mobile.bridge", "pyodide.ffi"): BROWSER,
    ("mobile.photos", "js"): BROWSER,
    ("mobile.photos", "pyodide.ffi"): BROWSER,
    ("mobile.screens.exchange", "demo"): ASKED,
    ("mobile.screens.report", "store"): ASKED,
    ("mobile.build", "mobile"): EXTRA,  # the fonts
    ("mobile.bundle", "brotli"): EXTRA,
    ("mobile.glyphs", "fontTools"): EXTRA,
    ("mobile.glyphs", "fontTools.pens.ttGlyphPen"): EXTRA,
    ("mobile.glyphs", "fontTools.ttLib"): EXTRA,
    ("mobile.server", "qrcode"): TLS,
    ("mobile.command", "demo"): VERB,
    ("mobile.command", "logic.cleanup"): VERB,
    ("mobile.command", "logic.oversize"): VERB,
    ("mobile.command", "logic.units"): VERB,
    ("mobile.command", "mobile"): VERB,  # serving
    ("mobile.command", "mobile.ratefile"): VERB,
    ("mobile.command", "store"): VERB,  # draft
    ("mobile.command", "store.documents"): VERB,
    ("mobile.command", "store.errors"): VERB,
    ("mobile.command", "store.estimate"): VERB,
    ("mobile.command", "store.facts.parts"): VERB,
    ("mobile.command", "store.facts.side"): VERB,
    ("mobile.command", "store.fields"): VERB,
    ("mobile.command", "store.fields.bores"): VERB,
    ("mobile.command", "store.files"): VERB,
    ("mobile.command", "store.flow"): VERB,
    ("mobile.command", "store.jobs"): VERB,
    ("mobile.command", "store.memory"): VERB,
    ("mobile.command", "store.order"): VERB,
    ("mobile.command", "store.pieces"): VERB,
    ("mobile.command", "store.rates"): VERB,
    ("mobile.command", "store.remembered"): VERB,
    ("mobile.command", "store.report"): VERB,
    ("mobile.command", "store.sheets"): VERB,
    ("mobile.command", "store.view"): VERB,
}


def modules() -> dict[str, Path]:
    found = {}
    for path in MOBILE.rglob("*.py"):
        parts = path.relative_to(ROOT).with_suffix("").parts
        if "web" not in parts:
            found[".".join(parts).removesuffix(".__init__")] = path
    return found


def imports(name: str, path: Path) -> Iterator[tuple[str, list[str], bool]]:
    """(module, names taken from it, inside a function) for every import of a file."""
    tree = ast.parse(path.read_text("utf-8"))
    package = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    inside = {
        id(node)
        for function in ast.walk(tree)
        if isinstance(function, (ast.FunctionDef, ast.AsyncFunctionDef))
        for node in ast.walk(function)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, [], id(node) in inside
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - (node.level - 1)] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            yield module, [alias.name for alias in node.names], id(node) in inside


def arrows() -> dict[str, set[str]]:
    """What each module of the app imports of the app, at the top, in a function or by name."""
    there = modules()
    found: dict[str, set[str]] = {name: set() for name in there}
    for name, path in there.items():
        for module, taken, _ in imports(name, path):
            found[name] |= {m for m in (module, *(f"{module}.{t}" for t in taken)) if m in there and m != name}
    found["mobile.app"] |= {f"mobile.screens.{target.split(':')[0]}" for _, target in ROUTES}
    # a package's own module holds nothing: to import from it is no arrow
    return {name: {m for m in to if there[m].name != "__init__.py"} for name, to in found.items()}


def circle(graph: dict[str, set[str]]) -> list[str]:
    """One circle of imports, or []."""
    done: set[str] = set()

    def look(name: str, way: list[str]) -> list[str]:
        if name in way:
            return [*way[way.index(name) :], name]
        if name in done:
            return []
        for to in sorted(graph[name]):
            if found := look(to, [*way, name]):
                return found
        done.add(name)
        return []

    return next((found for name in sorted(graph) if (found := look(name, []))), [])


def test_no_circle_of_imports_not_even_a_hidden_one() -> None:
    assert circle({"a": {"b"}, "b": {"c"}, "c": {"a"}}) == ["a", "b", "c", "a"]  # the search finds one
    assert circle(arrows()) == []


def test_screens_know_nothing_of_the_app() -> None:
    graph = arrows()
    assert len(graph) > 25
    for name in graph:
        if name.startswith("mobile.screens"):
            assert not graph[name] & {"mobile.app", "mobile.frame", "mobile.routes"}, name


def test_an_import_inside_a_function_is_listed_with_its_reason() -> None:
    found = {(name, module) for name, path in modules().items() for module, _, inner in imports(name, path) if inner}
    assert found == set(DEFERRED)


def test_screens_that_serve_every_step_name_none() -> None:
    for name in ("answers", "asks", "desk", "effect", "job", "kit", "log", "step", "words"):
        tree = ast.parse((MOBILE / "screens" / f"{name}.py").read_text("utf-8"))
        said = {n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)}
        kit = {"bar", "hone", "gauge", "micrometer"}  # "hone" is a machine there
        assert not (said & set(NAMES)) - kit, name
