"""The straightness check of a machine: the base first, then a trial bore or an indicator along a square.

In the same form as a step of a job; its ``work`` takes the view of the bar's card.
"""

from __future__ import annotations

from typing import Any

from logic import straightness
from logic.places import place_name
from logic.result import Result, Verdict
from logic.say import L

from .fields.straight import BASE, DEPTH, LIMIT, REPEAT, SIZE, SQUARE
from .sheets.base import Group, Sheet, Work
from .view import View

__all__ = ["SHEET"]

_DEPTHS, _AXES = (1, 2, 3), ("thrust", "crank")


def _read(view: View, field: Any) -> list[tuple[float, str, float]]:
    """(depth in mm, axis, value) of every reading whose depth is known."""
    out = []
    for d in _DEPTHS:
        depth = view.number(DEPTH, depth=d)
        for axis in _AXES:
            value = view.number(field, depth=d, axis=axis)
            if depth is not None and value is not None:
                out.append((depth, axis, value))
    return out


def _verdicts(view: View) -> list[Result]:
    repeat, limit = view.number(REPEAT), view.number(LIMIT)
    out: list[Result] = []
    form = straightness.trial_form(_read(view, SIZE), repeat)
    if form is not None:
        out += straightness.trial(form, limit)
    along = _read(view, SQUARE)
    for axis in _AXES:
        found = straightness.square(axis, [(z, v) for z, a, v in along if a == axis], repeat)
        if found is not None:
            out += straightness.squared(found, limit, repeat)
    return out


def work(view: View) -> Work:
    """The base before anything else; then what the trial bore and the square say, the worst first."""
    first = straightness.base(view.choice(BASE))
    if first is not None:
        return Work(results=(first,), missing=((BASE.key, {}),) if view.choice(BASE) is None else ())
    found = _verdicts(view)
    lacking = tuple((DEPTH.key, {"depth": d}) for d in _DEPTHS if view.number(DEPTH, depth=d) is None)
    if not found:
        return Work(
            blocked=L("Enter the depths, then measure a trial bore or run the indicator along a square."),
            missing=lacking,
        )
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2}
    found.sort(key=lambda r: order[r.verdict])
    return Work(results=tuple(found), missing=lacking, done=all(r.verdict == Verdict.GO for r in found))


def _depths(_: View) -> list[dict[str, Any]]:
    return [{"depth": d} for d in _DEPTHS]


def _cells(_: View) -> list[dict[str, Any]]:
    return [{"depth": d, "axis": axis} for d in _DEPTHS for axis in _AXES]


SHEET = Sheet(
    key="straight",
    order=0,
    title=L("Straightness check"),
    purpose=L("Find out whether the machine bores straight, round and square, and what to clean or dress."),
    groups=(
        Group(key="base", title=L("The base first"), fields=(BASE,)),
        Group(key="depths", title=L("Where you measure"), fields=(DEPTH,), places=_depths, name=place_name),
        Group(key="trial", title=L("A trial bore"), fields=(SIZE,), places=_cells, name=place_name),
        Group(key="square", title=L("Or along a square"), fields=(SQUARE,), places=_cells, name=place_name),
        Group(key="limits", title=L("What is allowed"), fields=(LIMIT, REPEAT)),
    ),
    work=work,
)
