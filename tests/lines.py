"""Every sentence a person may read, found in the source: the literals handed to ``L(...)`` and ``LN(...)``."""

import ast
import string
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("logic", "store", "mobile", "demo")


class Found(NamedTuple):
    """``plural`` is the sentence for several, or None; ``where`` is the first place, "logic/bore.py:12"."""

    plural: str | None
    where: str


def _literals(node):
    return [part.value for part in ast.walk(node) if isinstance(part, ast.Constant) and isinstance(part.value, str)]


def _sentences(call):
    """The sentences of one call, each with its plural or None."""
    name = call.func.id if isinstance(call.func, ast.Name) else ""
    if name == "L" and call.args:
        return [(one, None) for one in _literals(call.args[0])]
    if name == "LN" and len(call.args) == 3:
        return [(one, several) for one in _literals(call.args[0]) for several in _literals(call.args[1])]
    return []


def templates():
    """English sentence -> :class:`Found`. Raises ValueError for a sentence with two plurals."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
                for one, several in _sentences(call) if isinstance(call, ast.Call) else ():
                    here = Found(several, f"{path.relative_to(ROOT).as_posix()}:{call.lineno}")
                    first = found.setdefault(one, here)
                    if first.plural != several:
                        if first.plural and several:
                            raise ValueError(f"{one!r} has two plurals: {first.where} and {here.where}")
                        found[one] = Found(first.plural or several, first.where)
    return found


def gaps(template):
    """The names of a sentence's gaps."""
    return {name for _, name, _, _ in string.Formatter().parse(template) if name is not None}
