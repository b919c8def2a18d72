"""Which piston goes in which bore, in what grade, and how much the pistons weigh."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import fitting
from logic.fields import DefaultNumber, Number, Text
from logic.result import Verdict
from logic.say import L, Line

from .base import Group, Sheet, Work
from .compression import STROKE
from .cut import bored_now_mm
from .final import checked
from .hone import checks
from .named import cylinder_places, place_name
from .oversize import step_of_mm
from .sizes import FITTED, clearance_mm, hone_stock_mm, measured_piston, piston_number

__all__ = ["SHEET", "WEIGHT"]

BAND = DefaultNumber(
    key="fitting.band",
    label=L("How far a clearance may be from the one wanted"),
    kind="fine",
    help=L("Either way. The piston maker's own range comes first."),
    low=0.001,
    high=0.1,
    default=0.0127,
)
MARK = Text(
    key="fitting.mark",
    label=L("Grade marked on the piston"),
    help=L("The letter or colour on the crown, where pistons come graded."),
    at=("cylinder",),
    optional=True,
)
GRADE = Text(
    key="fitting.grade",
    label=L("Grade"),
    help=L("As it is marked on the crown and named in the maker's list."),
    at=("grade",),
    optional=True,
)
GRADE_LOW = Number(
    key="fitting.grade_low",
    label=L("Smallest piston of this grade"),
    kind="size",
    help=L("From the maker's list, at the gauge point."),
    low=20.0,
    high=500.0,
    at=("grade",),
    optional=True,
)
GRADE_HIGH = Number(
    key="fitting.grade_high",
    label=L("Largest piston of this grade"),
    kind="size",
    help=L("From the maker's list, at the gauge point."),
    low=20.0,
    high=500.0,
    at=("grade",),
    optional=True,
)
WEIGHT = Number(
    key="fitting.weight",
    label=L("Weight of the piston"),
    kind="mass",
    help=L("All of them the same way: with the pin, or all without. Wipe off the oil first."),
    low=20.0,
    high=10000.0,
    at=("cylinder",),
    optional=True,
)
SPREAD = DefaultNumber(
    key="fitting.spread",
    label=L("Difference in weight left alone"),
    kind="mass",
    help=L("Heaviest less lightest. A fast engine deserves less."),
    low=0.0,
    high=100.0,
    default=fitting.SPREAD_G,
)
SCALE_U = DefaultNumber(
    key="fitting.scale_u",
    label=L("How well the scale weighs"),
    kind="mass",
    help=L("As a standard uncertainty of one weighing."),
    low=0.0,
    high=50.0,
    default=0.3,
)
SPIN = Number(
    key="fitting.spin",
    label=L("Fastest the engine turns"),
    kind="spin",
    help=L("Shows what the difference in weight does at that speed. It needs the stroke as well."),
    low=100.0,
    high=20000.0,
    optional=True,
    formula="m × stroke / 2 × ω²",
)


# -- the step ----------------------------------------------------------------------------------
def _now_mm(view: Any, cylinder: int) -> float | None:
    """The bore's size now, once the bar has been through it: the last hone check, else the last pass measured."""
    honed = checks(view, cylinder)
    if honed:
        return honed[-1].mean_mm
    return bored_now_mm(view, cylinder)


def _pistons(view: Any) -> list[fitting.Piston]:
    found = {c: measured_piston(view, c) for c in view.cylinders}
    return [fitting.Piston(number=c, size_mm=f[0], u_mm=f[1].u) for c, f in found.items() if f is not None]


def _grades(view: Any) -> list[fitting.Grade]:
    """The grades whose rows are whole and make sense, each name once."""
    found: dict[str, fitting.Grade] = {}
    for n, name in view.events(GRADE.key, "grade").items():
        low, high = view.number(GRADE_LOW, grade=n), view.number(GRADE_HIGH, grade=n)
        if low is not None and high is not None and low <= high:
            found.setdefault(name.value, fitting.Grade(name=name.value, low_mm=low, high_mm=high))
    return list(found.values())


def _fitted(view: Any) -> dict[int, int] | None:
    """The pairs as the person stated them, where any was; None where they are the best ones' to choose."""
    if not view.all(FITTED.key):
        return None
    return {c: piston_number(view, c) for c in view.cylinders}


def _twice(pairs: Mapping[int, int]) -> int | None:
    """A piston that is put in two bores, if there is one."""
    numbers = list(pairs.values())
    return next((n for n in numbers if numbers.count(n) > 1), None)


def _paired(view: Any, pistons: list[fitting.Piston], clearance: float) -> list[Any]:
    """Pairs for finished bores; for bores that are only bored, the sizes to finish them to."""
    fitted = _fitted(view)
    done = {c: b.value for c, b in checked(view).items()}
    if len(done) == len(view.cylinders):
        low, high = fitting.limits_mm(clearance, view.number(BAND))
        return [
            fitting.pair_up(
                pistons,
                {c: size.value for c, size in done.items()},
                clearance_mm=clearance,
                low_mm=low,
                high_mm=high,
                u_bore_mm=max(size.u for size in done.values()),
                fitted=fitted,
            )
        ]
    bored = {c: b for c in view.cylinders if (b := _now_mm(view, c)) is not None}
    if len(bored) == len(view.cylinders) and fitted is None:
        return [fitting.size_to_pistons(pistons, bored, clearance_mm=clearance, stock_mm=hone_stock_mm(view))]
    return []


def work(view: Any) -> Work:
    """Pairs or sizes as far as the bores have come, then grades and weights."""
    results: list[Any] = []
    pistons, clearance = _pistons(view), clearance_mm(view)
    fitted, grades = _fitted(view) or {}, _grades(view)
    for piston in pistons:
        mark = view.number(MARK, cylinder=piston.number)
        grade = next((g for g in grades if g.name == mark), None)
        if grade is not None:
            results.append(fitting.check_grade(piston, grade, grades))
    bores = {c: b.value.value for c, b in checked(view).items()}
    if grades and bores and clearance is not None:
        low, high = fitting.limits_mm(clearance, view.number(BAND))
        results.append(fitting.choose_grades(bores, grades, clearance_mm=clearance, low_mm=low, high_mm=high))
    weights = {c: w for c in view.cylinders if (w := view.number(WEIGHT, cylinder=c)) is not None}
    if len(weights) > 1:
        results.append(
            fitting.weigh(
                weights,
                allowed_g=view.number(SPREAD),
                u_g=view.number(SCALE_U),
                stroke_mm=view.number(STROKE),
                spin_rpm=view.number(SPIN),
                mixed_sizes=len({step_of_mm(view, c) for c in view.cylinders}) > 1,
            )
        )
    measured = {p.number for p in pistons}
    if len(measured) < len(view.cylinders):
        return Work(
            results=tuple(results),
            blocked=L("Measure every piston at its gauge point first, in the step for sizes."),
        )
    if clearance is None:
        return Work(results=tuple(results), blocked=L("Enter the nominal bore first."))
    twice = _twice(fitted)
    if twice is not None or any(n not in measured for n in fitted.values()):
        return Work(
            results=tuple(results),
            blocked=L("Piston {n} is put in two bores. Give each bore a piston of its own.", n=twice)
            if twice is not None
            else L("A bore is given a piston that was not measured."),
        )
    pairs = _paired(view, pistons, clearance)
    if not pairs and not results:
        return Work(blocked=L("Bore the cylinders first: their sizes decide which piston goes where."))
    return Work(
        results=(*pairs, *results),
        done=bool(pairs)
        and len(bores) == len(view.cylinders)
        and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in (*pairs, *results)),
    )


def _grade_places(view: Any) -> list[dict[str, Any]]:
    used = (
        *view.events(GRADE.key, "grade"),
        *view.events(GRADE_LOW.key, "grade"),
        *view.events(GRADE_HIGH.key, "grade"),
    )
    return [{"grade": n} for n in range(1, max(used, default=0) + 2)]


def _grade_name(place: Mapping[str, Any]) -> Line:
    return L("Grade {grade} of the list", grade=place["grade"])


SHEET = Sheet(
    key="fitting",
    order=14,
    title=L("Pistons to bores"),
    purpose=L("Give each bore the piston that suits it best, and see that the pistons weigh alike."),
    groups=(
        Group(
            key="pistons",
            title=L("The pistons"),
            fields=(FITTED, WEIGHT, MARK),
            places=cylinder_places,
            name=place_name,
            help=L("Their sizes are entered in the step for sizes, each under the number of its cylinder."),
        ),
        Group(key="limits", title=L("What is allowed"), fields=(BAND, SPREAD, SCALE_U, SPIN)),
        Group(
            key="grades",
            title=L("Grades in the maker's list"),
            fields=(GRADE, GRADE_LOW, GRADE_HIGH),
            places=_grade_places,
            name=_grade_name,
            grows=True,
        ),
    ),
    work=work,
    needs=("sizes", "cut", "final"),
)
