"""Which piston goes in which bore, in what grade, and how much the pistons weigh."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import fitting
from logic.result import Result, Verdict
from logic.say import L, Line, Qty

from ..facts.final import checked
from ..facts.fitting import bore_now_mm, listed_grades, measured_pistons, stated_pairs
from ..facts.oversize import hone_stock_mm, step_of_mm
from ..facts.pistons import clearance_mm
from ..fields.compression import STROKE
from ..fields.fitting import BAND, GRADE, GRADE_HIGH, GRADE_LOW, MARK, SCALE_U, SPIN, SPREAD, TOTAL, WEIGHT
from ..fields.sizes import FITTED
from ..places import cylinder_places, place_name
from ..view import View, place
from .base import Group, Sheet, Work
from .gates import waits_for_final

__all__ = ["GRADE", "GRADE_HIGH", "GRADE_LOW", "MARK", "SHEET", "SPIN", "WEIGHT"]


def _twice(pairs: Mapping[int, int]) -> int | None:
    """A piston that is put in two bores, if there is one."""
    numbers = list(pairs.values())
    return next((n for n in numbers if numbers.count(n) > 1), None)


def _finished(view: View) -> dict[int, Qty]:
    """The finished bores as measured, by cylinder."""
    return {c: b.value for c, b in checked(view).items() if b.value is not None}


def _paired(view: View, pistons: list[fitting.Piston], clearance: float) -> list[Result]:
    """Pairs for finished bores; for bores that are only bored, the sizes to finish them to."""
    fitted = stated_pairs(view)
    done = _finished(view)
    if len(done) == len(view.cylinders):
        low, high = fitting.limits_mm(clearance, view.number(BAND))
        return [
            fitting.pair_up(
                pistons,
                {c: size.value for c, size in done.items()},
                clearance_mm=clearance,
                low_mm=low,
                high_mm=high,
                u_bore_mm=max(size.u or 0.0 for size in done.values()),
                fitted=fitted,
            )
        ]
    bored = {c: b for c in view.cylinders if (b := bore_now_mm(view, c)) is not None}
    if len(bored) == len(view.cylinders) and fitted is None:
        return [fitting.size_to_pistons(pistons, bored, clearance_mm=clearance, stock_mm=hone_stock_mm(view))]
    return []


def _graded(view: View, pistons: list[fitting.Piston], clearance: float | None) -> list[Result]:
    """Whether each piston is of the grade marked on it, and the grade that suits each finished bore."""
    grades = listed_grades(view)
    by_name = {g.name: g for g in reversed(grades)}
    results: list[Result] = []
    for piston in pistons:
        grade = by_name.get(view.text(MARK, cylinder=piston.number) or "")
        if grade is not None:
            results.append(fitting.check_grade(piston, grade, grades))
    bores = {c: size.value for c, size in _finished(view).items()}
    if grades and bores and clearance is not None:
        low, high = fitting.limits_mm(clearance, view.number(BAND))
        results.append(fitting.choose_grades(bores, grades, clearance_mm=clearance, low_mm=low, high_mm=high))
    return results


def _weighed(view: View) -> list[Result]:
    """Whether the pistons weigh alike, once two are weighed."""
    weights = {c: w for c in view.cylinders if (w := view.number(WEIGHT, cylinder=c)) is not None}
    if len(weights) < 2:
        return []
    return [
        fitting.weigh(
            weights,
            allowed_g=view.number(SPREAD),
            u_g=view.number(SCALE_U),
            stroke_mm=view.number(STROKE),
            spin_rpm=view.number(SPIN),
            mixed_sizes=len({step_of_mm(view, c) for c in view.cylinders}) > 1,
        )
    ]


def _unweighed(view: View) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """The weights still to come once one piston was weighed: a few say nothing of the set."""
    weighed = view.all(WEIGHT)
    unknown = [{"cylinder": c} for c in view.cylinders if place({"cylinder": c}) not in weighed]
    return tuple((WEIGHT.key, at) for at in unknown) if weighed else ()


def _unpaired(view: View, measured: set[int], clearance: float | None) -> Line | None:
    """What must be known before pistons and bores can be paired; None where nothing is missing."""
    if len(measured) < len(view.cylinders):
        return L("Measure every piston at its gauge point first, in the step for sizes.")
    if clearance is None:
        return L("Enter the nominal bore first.")
    fitted = stated_pairs(view) or {}
    twice = _twice(fitted)
    if twice is not None:
        return L("Piston {n} is put in two bores. Give each bore a piston of its own.", n=twice)
    if any(n not in measured for n in fitted.values()):
        return L("A bore is given a piston that was not measured.")
    return None


def work(view: View) -> Work:
    """Pairs or sizes as far as the bores have come, then grades and weights."""
    pistons, clearance = measured_pistons(view), clearance_mm(view)
    results = [*_graded(view, pistons, clearance), *_weighed(view)]
    blocked = _unpaired(view, {p.number for p in pistons}, clearance)
    missing = _unweighed(view)
    if clearance is None or blocked is not None:
        return Work(results=tuple(results), missing=missing, blocked=blocked)
    pairs = _paired(view, pistons, clearance)
    if not pairs and not results:
        return Work(blocked=L("Bore the cylinders first: their sizes decide which piston goes where."))
    return Work(
        results=(*pairs, *results),
        missing=missing,
        done=bool(pairs)
        and not missing
        and len(_finished(view)) == len(view.cylinders)
        and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in (*pairs, *results)),
    )


def _idle(view: View) -> Line | None:
    """Why nobody need pair anything: each bore is made to its own piston, and nothing measured says otherwise."""
    if len({p.number for p in measured_pistons(view)}) < len(view.cylinders):
        return L("Needs every piston measured")
    odd = (Verdict.STOP, Verdict.MAYBE)
    if len(_finished(view)) == len(view.cylinders) and any(r.verdict in odd for r in work(view).results):
        return None
    return L("Each bore is made to its own piston")


def _grade_places(view: View) -> list[dict[str, Any]]:
    used = (
        *view.events(GRADE, "grade"),
        *view.events(GRADE_LOW, "grade"),
        *view.events(GRADE_HIGH, "grade"),
    )
    return [{"grade": n} for n in range(1, max(used, default=0) + 2)]


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
        Group(key="together", title=L("All together"), fields=(TOTAL,)),
        Group(key="limits", title=L("What is allowed"), fields=(BAND, SPREAD, SCALE_U, SPIN)),
        Group(
            key="grades",
            title=L("Grades in the maker's list"),
            fields=(GRADE, GRADE_LOW, GRADE_HIGH),
            places=_grade_places,
            name=place_name,
            grows=True,
        ),
    ),
    work=work,
    minutes=(5, 1),
    waits=waits_for_final,
    idle=_idle,
)
