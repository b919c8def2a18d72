"""The board of cylinders: for each bore its state, its size now, and what it needs next.

A pure function of the job. It says nothing of its own: each line follows a fact or a step's
answer, and a bore is in order only where its final check said so and its rings fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logic.result import Result, Verdict
from logic.say import L, Line, Qty

from .facts import gates
from .facts.evidence import doubts
from .facts.final import checked
from .facts.gauging import unread_cells
from .facts.honing import at_size, checks
from .facts.load import passes_left
from .facts.passes import size_now_mm
from .facts.sizes import Route, target
from .facts.sleeves import Stage, stage
from .flow import skip_key, work_of
from .sheets import sheet
from .view import View

__all__ = ["Bore", "BoreState", "board"]


class BoreState(StrEnum):
    """The states of a bore, as shown: word and icon."""

    MEASURE = "measure"
    DECIDE = "decide"
    BORE = "bore"
    HONE = "hone"
    CHECK = "check"
    FIT = "fit"
    OUT = "out"
    DONE = "done"


@dataclass(frozen=True, kw_only=True)
class Bore:
    """One bore on the board: ``now`` is its size in mm at 20 °C (None: unknown), ``step`` where to go for what it needs."""

    cylinder: int
    state: BoreState
    needs: Line
    step: str
    now: Qty | None


def board(view: View) -> tuple[Bore, ...]:
    """Every cylinder of the job, in order."""
    return tuple(_bore(view, c) for c in view.cylinders)


def _bore(view: View, cylinder: int) -> Bore:
    state, needs, step = next(
        found for look in (_measured, _settled, _bored, _honed, _verified, _fitted) if (found := look(view, cylinder))
    )
    now = _now_mm(view, cylinder)
    return Bore(cylinder=cylinder, state=state, needs=needs, step=step, now=None if now is None else Qty(now, "size"))


_Found = tuple[BoreState, Line, str]


def _left_out(view: View, step: str) -> bool:
    return skip_key(step) in view.skipped


def _measured(view: View, cylinder: int) -> _Found | None:
    if view.nominal_mm is None:
        return BoreState.MEASURE, L("Enter the nominal bore"), "bores"
    if unread_cells(view, cylinder) and not _left_out(view, "bores"):
        return BoreState.MEASURE, L("Measure the wear"), "bores"
    return None


def _settled(view: View, cylinder: int) -> _Found | None:
    if cylinder not in gates.shut_cylinders(view):
        return None
    if not gates.decided(view):
        if any(cylinder in d.cylinders for d in doubts(view)):
            return BoreState.MEASURE, L("Check its readings"), "bores"
        return BoreState.DECIDE, L("Decide on the oversize"), "oversize"
    return BoreState.DECIDE, L("Measure its piston"), "sizes"


def _bored(view: View, cylinder: int) -> _Found | None:
    one, plan = target(view, cylinder), passes_left(view, cylinder)
    if one.route == Route.HONE or (_left_out(view, "cut") and one.route != Route.SLEEVE):
        return None
    if one.bar_mm is None:
        return BoreState.BORE, L("Enter its sleeve"), "sleeve"
    if plan is None:
        return BoreState.BORE, L("Measure it before boring"), "cut"
    if plan.passes or plan.verdict == Verdict.STOP:
        return BoreState.BORE, L("Bore to {size}", size=Qty(one.bar_mm, "size")), "cut"
    return (BoreState.BORE, L("Fit its sleeve"), "sleeve") if stage(view, cylinder) == Stage.SEAT else None


def _honed(view: View, cylinder: int) -> _Found | None:
    one = target(view, cylinder)
    if at_size(view, cylinder) or _left_out(view, "hone"):
        return None
    if one.finished_mm is None:
        return BoreState.HONE, L("Settle its size"), "sizes"
    return BoreState.HONE, L("Hone to {size}", size=Qty(one.finished_mm, "size")), "hone"


def _verified(view: View, cylinder: int) -> _Found | None:
    if _left_out(view, "final"):
        return BoreState.OUT, L("Left out: no final check"), "final"
    if not gates.washed(view):
        return BoreState.CHECK, L("Wash, let it go cold, measure"), "final"
    found = checked(view).get(cylinder)
    if found is None:
        return BoreState.CHECK, L("Measure the finished bore"), "final"
    if found.verdict == Verdict.STOP:
        return BoreState.OUT, L("Out of limits"), "final"
    if found.verdict != Verdict.GO:
        return BoreState.CHECK, L("Too close to call: measure again"), "final"
    return None


def _mine(result: Result, cylinder: int) -> bool:
    return next((int(part) for part in result.key.split(".") if part.isdigit()), None) == cylinder


def _fitted(view: View, cylinder: int) -> _Found:
    done = (BoreState.DONE, L("In order"), "final")
    if _left_out(view, "rings"):
        return done
    work = work_of(view, sheet("rings"))
    if any(_mine(r, cylinder) and r.verdict == Verdict.STOP for r in work.results):
        return BoreState.OUT, L("A ring gap is wrong"), "rings"
    if any(at.get("cylinder") == cylinder for _, at in work.missing):
        return BoreState.FIT, L("Measure its ring gaps"), "rings"
    if any(_mine(r, cylinder) and r.verdict == Verdict.MAYBE for r in work.results):
        return BoreState.FIT, L("Measure its ring gaps again"), "rings"
    return done


def _now_mm(view: View, cylinder: int) -> float | None:
    """The latest size known of a bore: of the final check, the hone, the bar, else as it is worn."""
    found = checked(view).get(cylinder)
    if found is not None and gates.washed(view):
        return None if found.value is None else found.value.value
    logged = checks(view, cylinder)
    return logged[-1].mean_mm if logged else size_now_mm(view, cylinder)
