"""Every sentence a person may read, found in the source: the first argument of each ``L(...)``."""

import ast
import string
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("logic", "store", "mobile", "demo")


def templates():
    """English sentence -> where it is written first ("logic/hone_plan.py:12"), for every literal handed to ``L``."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "__pycache__" in path.parts or path.parent.name == "words":
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "L" and node.args:
                    for part in ast.walk(node.args[0]):
                        if isinstance(part, ast.Constant) and isinstance(part.value, str):
                            found.setdefault(part.value, f"{path.relative_to(ROOT).as_posix()}:{node.lineno}")
    return found


def gaps(template):
    """The names of a sentence's gaps."""
    return {name for _, name, _, _ in string.Formatter().parse(template) if name is not None}
