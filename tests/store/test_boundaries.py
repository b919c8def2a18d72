"""The arrows run one way: mobile to store to logic. Read from the source, not from what happens to be loaded."""

import ast
import string
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("logic", "store", "mobile", "demo", "tests")
#: What each package may import of the project.
MAY = {
    "logic": {"logic"},
    "store": {"store", "logic"},
    "demo": {"demo", "store", "logic"},
    "mobile": {"mobile", "store", "logic", "demo"},
}
#: What logic may import from outside the standard library, and where.
LOGIC_OUTSIDE = {"pint": {"logic/units.py"}}
#: What the standard library offers that a pure calculation must not touch.
IMPURE = {
    "os",
    "io",
    "pathlib",
    "socket",
    "subprocess",
    "threading",
    "asyncio",
    "random",
    "time",
    "datetime",
    "tempfile",
    "shutil",
    "urllib",
    "http",
    "sqlite3",
    "logging",
    "locale",
}
STORE_NOT = {"flet", "flet_web", "numpy", "scipy", "playwright"}


def sources(package):
    return sorted(p for p in (ROOT / package).rglob("*.py") if "__pycache__" not in p.parts)


def imports(path):
    """Every module a file imports, at any depth of nesting, as absolute dotted names."""
    tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    here = path.relative_to(ROOT).with_suffix("").parts
    package = here[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                base = package[: len(package) - (node.level - 1)]
                yield ".".join((*base, *(node.module.split(".") if node.module else ())))
            else:
                yield node.module


@pytest.mark.parametrize("package", [p for p in MAY if (ROOT / p).is_dir()])
def test_each_package_imports_only_what_lies_under_it(package):
    wrong = []
    for path in sources(package):
        for name in imports(path):
            top = name.split(".")[0]
            if top in PACKAGES and top not in MAY[package]:
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert not wrong, wrong


def test_logic_uses_the_standard_library_and_pint_where_units_are():
    wrong = []
    for path in sources("logic"):
        where = path.relative_to(ROOT).as_posix()
        for name in imports(path):
            top = name.split(".")[0]
            if top == "logic" or top in sys.stdlib_module_names:
                continue
            if where not in LOGIC_OUTSIDE.get(top, set()):
                wrong.append(f"{where} imports {name}")
    assert not wrong, wrong


def test_logic_is_pure():
    wrong = []
    for path in sources("logic"):
        where = path.relative_to(ROOT).as_posix()
        wrong += [f"{where} imports {name}" for name in imports(path) if name.split(".")[0] in IMPURE]
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("open", "print", "input", "exec", "eval")
            ):
                wrong.append(f"{where}:{node.lineno} calls {node.func.id}")
            if isinstance(node, ast.Global):
                wrong.append(f"{where}:{node.lineno} changes a global")
    assert not wrong, wrong


def test_store_knows_no_screen_and_no_number_library():
    wrong = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in sources("store")
        for name in imports(path)
        if name.split(".")[0] in STORE_NOT
    ]
    assert not wrong, wrong


def test_sheets_do_no_arithmetic_library_work():
    # A sheet takes values out of the log and hands them to logic.
    wrong = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in sources("store/sheets")
        for name in imports(path)
        if name.split(".")[0] in {"math", "statistics", "fractions", "decimal"}
    ]
    assert not wrong, wrong


def line_calls(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("L", "LN"):
            yield node


@pytest.mark.parametrize("package", ["logic", "store"])
def test_every_line_is_one_whole_literal_sentence(package):
    # The template is the key of the catalogue: no f-string, no joining, no formatting by hand.
    wrong = []
    for path in sources(package):
        if path.relative_to(ROOT).as_posix() == "logic/say.py":
            continue
        for call in line_calls(path):
            where = f"{path.relative_to(ROOT)}:{call.lineno}"
            sentences = call.args[:2] if len(call.args) == 3 else call.args
            if len(sentences) != (2 if call.func.id == "LN" else 1) or not all(
                isinstance(one, ast.Constant) and isinstance(one.value, str) for one in sentences
            ):
                wrong.append(f"{where}: the sentence is not a literal")
    assert not wrong, wrong


@pytest.mark.parametrize("package", ["logic", "store"])
def test_no_figure_is_formatted_by_hand_in_a_line(package):
    # A gap holds a Qty, a count or a name; never a number already turned into text.
    wrong = []
    for path in sources(package):
        for call in line_calls(path):
            for kw in call.keywords:
                for node in ast.walk(kw.value):
                    spec = isinstance(node, ast.FormattedValue) and node.format_spec is not None
                    made = isinstance(node, ast.Call) and (
                        (isinstance(node.func, ast.Name) and node.func.id in ("round", "format"))
                        or (isinstance(node.func, ast.Attribute) and node.func.attr == "format")
                    )
                    percent = (
                        isinstance(node, ast.BinOp)
                        and isinstance(node.op, ast.Mod)
                        and isinstance(node.left, ast.Constant)
                        and isinstance(node.left.value, str)
                    )
                    if spec or made or percent:
                        wrong.append(f"{path.relative_to(ROOT)}:{node.lineno}: gap {kw.arg} is formatted by hand")
    assert not wrong, wrong


@pytest.mark.parametrize("package", ["logic", "store"])
def test_gaps_and_values_of_a_line_agree(package):
    wrong = []
    for path in sources(package):
        if path.relative_to(ROOT).as_posix() == "logic/say.py":
            continue
        for call in line_calls(path):
            if len(call.args) != 1 or not isinstance(call.args[0], ast.Constant):
                continue
            if any(kw.arg is None for kw in call.keywords):
                continue  # values shared by several sentences (**gaps): checked when said
            gaps = {name for _, name, _, _ in string.Formatter().parse(call.args[0].value) if name}
            given = {kw.arg for kw in call.keywords}
            if gaps != given:
                wrong.append(f"{path.relative_to(ROOT)}:{call.lineno}: gaps {sorted(gaps)}, values {sorted(given)}")
    assert not wrong, wrong


def test_logic_loads_without_the_heavy_libraries():
    files = [p.relative_to(ROOT).with_suffix("") for p in sources("logic") if p.stem not in ("__init__", "units")]
    names = [".".join(p.parts) for p in files]
    code = (
        "import sys\n"
        + "".join(f"import {n}\n" for n in names)
        + "heavy = {'numpy', 'scipy', 'pint', 'pydantic', 'flet', 'tinydb'} & set(sys.modules)\n"
        + "sys.exit(repr(heavy) if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


# -- modules -----------------------------------------------------------------------------------
#: Every import that waits inside a function, by module, with the reason. Nothing else may wait.
_START = "start-up time: the first screen does without it"
_COMMAND = "start-up time: each command loads what it needs"
_BROWSER = "there only in the browser"
_BUILDS = "there only where the web build is made"
_ASKED = "start-up time: loaded when somebody asks for it"
DEFERRED = {
    "demo": {
        "demo.notebook": _ASKED,
        "demo.scenario": _ASKED,
        "store.transfer": _ASKED,
    },
    "logic.say": {"logic.words": "start-up time: English needs no catalogue"},
    "logic.units": {"pint": _START},
    "logic.words": {"logic.words.po": "start-up time: a catalogue that is built is not read from its source"},
    "mobile.app": {
        "logic.units": _START,
        "mobile.glimpse": _START,
        "store.browser": _BROWSER,
        "store.files": "not there in the browser",
        "store.jobs": _START,
        "store.remembered": _START,
        "store.memory": "only where nothing can be stored",
        "store.rates": _START,
        "store.view": _START,
    },
    "mobile.bridge": {"boreside_js": _BROWSER, "js": _BROWSER, "pyodide.ffi": _BROWSER},
    "mobile.build": {"mobile.glyphs": _BUILDS},
    "mobile.bundle": {"brotli": _BUILDS},
    "mobile.command": dict.fromkeys(
        (
            "demo",
            "logic.cleanup",
            "logic.oversize",
            "logic.units",
            "mobile.ratefile",
            "mobile.serving",
            "mobile.watching",
            "store.documents",
            "store.draft",
            "store.errors",
            "store.estimate",
            "store.facts.parts",
            "store.facts.side",
            "store.fields",
            "store.fields.bores",
            "store.files",
            "store.flow",
            "store.jobs",
            "store.memory",
            "store.order",
            "store.pieces",
            "store.rates",
            "store.remembered",
            "store.report",
            "store.sheets",
            "store.view",
        ),
        _COMMAND,
    ),
    "mobile.glyphs": dict.fromkeys(("fontTools", "fontTools.pens.ttGlyphPen", "fontTools.ttLib"), _BUILDS),
    "mobile.photos": {"js": _BROWSER, "pyodide.ffi": _BROWSER},
    "mobile.screens.exchange": {"demo": _ASKED},
    "mobile.screens.report": {"store.report": _ASKED},
    "mobile.server": {"qrcode": "start-up time: only a code to photograph needs it"},
    "store.jobs": {"store.carried": _ASKED, "store.pieces": _ASKED, "store.seal": _ASKED, "store.transfer": _ASKED},
    "store.report": {"store.paper": _ASKED},
    "store.seal": dict.fromkeys(
        (
            "cryptography.exceptions",
            "cryptography.hazmat.primitives.ciphers.aead",
            "cryptography.hazmat.primitives.hashes",
            "cryptography.hazmat.primitives.kdf.pbkdf2",
        ),
        "start-up time: only a sealed file needs it",
    ),
}


@cache
def modules():
    """Every module of the project outside its tests, by dotted name."""
    found = {}
    for package in MAY:
        for path in sources(package):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def imported(name, path):
    """(module imported, whether it waits inside a function), a name taken from a package being its module where it is one."""
    known, found = modules(), []
    package = name.split(".") if path.stem == "__init__" else name.split(".")[:-1]

    def look(node, waits):
        if isinstance(node, ast.Import):
            found.extend((alias.name, waits) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - (node.level - 1)] if node.level else []
            source = ".".join([*base, *([node.module] if node.module else [])])
            for alias in node.names:
                whole = f"{source}.{alias.name}"
                found.append((whole if whole in known else source, waits))
        elif not isinstance(node, ast.expr):  # an expression holds no statement
            inside = waits or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
            for child in ast.iter_child_nodes(node):
                look(child, inside)

    look(ast.parse(path.read_text(encoding="utf-8"), str(path)), waits=False)
    return found


def circles(graph):
    """Every set of modules that reach one another (Tarjan's strongly connected components)."""
    number, low, stack, found = {}, {}, [], []

    def visit(node):
        number[node] = low[node] = len(number)
        stack.append(node)
        for other in graph[node]:
            if other not in number:
                visit(other)
            if other in stack:
                low[node] = min(low[node], low[other])
        if low[node] == number[node]:
            ring = stack[stack.index(node) :]
            del stack[stack.index(node) :]
            if len(ring) > 1:
                found.append(sorted(ring))

    for node in graph:
        if node not in number:
            visit(node)
    return found


def test_circles_are_seen():
    assert circles({"a": ["b"], "b": ["c"], "c": ["b"], "d": ["a"]}) == [["b", "c"]]
    assert circles({"a": ["b"], "b": ["c"], "c": []}) == []


def test_no_modules_import_each_other_in_a_circle():
    known = modules()
    graph = {n: sorted({to for to, _ in imported(n, path) if to in known} - {n}) for n, path in known.items()}
    assert len(graph) > 100
    assert sum(map(len, graph.values())) > 300
    assert circles(graph) == []


def test_no_import_waits_in_a_function_but_those_listed():
    known = modules()
    waiting = {(n, to) for n, path in known.items() for to, waits in imported(n, path) if waits}
    listed = {(n, to) for n, them in DEFERRED.items() for to in them}
    assert waiting - listed == set()
    assert listed - waiting == set(), "no longer deferred: take it off the list"


def test_facts_know_no_step_and_fields_know_nothing_else():
    known = modules()
    wrong = []
    for name, path in known.items():
        for to, _ in imported(name, path):
            if name.startswith("store.fields") and to.startswith("store") and not to.startswith("store.fields"):
                wrong.append(f"{name} imports {to}")
            if name.startswith("store.facts") and to.startswith("store.sheets"):
                wrong.append(f"{name} imports {to}")
    assert wrong == []


#: Files of more than so many lines have a reason, which stands here.
LONG = 500
WHY_LONG = {
    "logic/bore.py": "what is read in a bore and all that follows from the readings alone",
    "logic/conformance.py": "the integrals of JCGM 106 over one prior, which share their terms",
    "logic/constants.py": "one table of constants with their sources",
    "logic/cutting.py": "what is told of a cut, one teller after the other",
    "logic/drawing.py": "every picture by the same few strokes",
    "logic/explain/choosing.py": "sentences and sources of the figures of a choice",
    "logic/glossary.py": "one list of the trade's words",
    "logic/pooling.py": "one model: what it holds, how it learns, what it foretells",
    "logic/setting.py": "setting the cutter: what is told before, at and after a cut",
    "logic/sleeve.py": "a sleeve's fit, told for each way of putting it in",
    "mobile/app.py": "what all screens share, and nothing that one of them needs alone",
    "mobile/command.py": "every verb of the command, one after the other",
    "mobile/pad.py": "the pad: keys, live reading and what is asked back are one control",
    "mobile/screens/grid.py": "the readings: each cell, its way into the store and back, and the verdict beside it",
    "mobile/screens/step.py": "one screen for all steps",
    "store/browser.py": "the browser's store: every transaction and what mends it",
    "store/files.py": "the store in files: every call to the disk and what mends it",
    "store/flow.py": "what is to do next, read off the record of facts",
    "store/jobs.py": "the only way to change anything",
    "store/report.py": "what a report says, part by part",
    "store/view.py": "every question that can be put to a job",
}


def test_a_long_file_has_its_reason():
    long = {
        p.relative_to(ROOT).as_posix()
        for package in ("logic", "store", "mobile", "demo")
        for p in (ROOT / package).rglob("*.py")
        if len(p.read_text(encoding="utf-8").splitlines()) > LONG
    }
    assert long <= set(WHY_LONG), "shorten it, or say why it is long"
    assert all(len(p.read_text(encoding="utf-8").splitlines()) < 2 * LONG for p in (ROOT / name for name in long))
