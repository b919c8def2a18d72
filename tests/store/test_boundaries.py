"""The arrows run one way: mobile to store to logic. Read from the source, not from what happens to be loaded."""

import ast
import string
import subprocess
import sys
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
        for name in imports(path):
            if name.split(".")[0] in IMPURE:
                wrong.append(f"{where} imports {name}")
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
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
