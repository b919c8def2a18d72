"""What decides which piston goes in which bore."""

from __future__ import annotations

from logic import fitting

from ..fields.fitting import GRADE, GRADE_HIGH, GRADE_LOW
from ..fields.sizes import FITTED
from ..graph import fact
from ..view import View
from .honing import checks
from .passes import bored_now_mm
from .pistons import measured_piston, piston_number

__all__ = ["bore_now_mm", "listed_grades", "measured_pistons", "stated_pairs"]


@fact
def bore_now_mm(view: View, cylinder: int) -> float | None:
    """The bore's size now, once the bar has been through it: the last hone check, else the last pass measured."""
    honed = checks(view, cylinder)
    if honed:
        return honed[-1].mean_mm
    return bored_now_mm(view, cylinder)


@fact
def measured_pistons(view: View) -> list[fitting.Piston]:
    found = {c: measured_piston(view, c) for c in view.cylinders}
    return [fitting.Piston(number=c, size_mm=f[0], u_mm=f[1].u) for c, f in found.items() if f is not None]


@fact
def listed_grades(view: View) -> list[fitting.Grade]:
    """The grades whose rows are whole and make sense, each name once."""
    found: dict[str, fitting.Grade] = {}
    for n, name in view.events(GRADE, "grade").items():
        low, high = view.number(GRADE_LOW, grade=n), view.number(GRADE_HIGH, grade=n)
        if low is not None and high is not None and low <= high:
            found.setdefault(name.value, fitting.Grade(name=name.value, low_mm=low, high_mm=high))
    return list(found.values())


@fact
def stated_pairs(view: View) -> dict[int, int] | None:
    """The pairs as the person stated them, where any was; None where they are the best ones' to choose."""
    if not view.all(FITTED):
        return None
    return {c: piston_number(view, c) for c in view.cylinders}
