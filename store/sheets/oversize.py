"""Which oversize cleans up every bore."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logic import bore, oversize
from logic.places import place_name
from logic.record_told import from_record
from logic.result import Assumption
from logic.say import L, Qty

from ..assumed import with_assumed
from ..facts.gates import decided_clean
from ..facts.next_check import next_check
from ..facts.oversize import _limits, choice, chosen_step_mm, cleanups, decided_step_mm, step_of_mm, steps_mm
from ..facts.record import bored_u_basis, bored_u_mm
from ..facts.sizes import Route, target
from ..facts.worn import worn_bores
from ..fields.oversize import BORED_U, CONFIDENCE, HONE_ALLOW, LARGEST, LISTED, MIXED, SERIES
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "BORED_U",
    "LARGEST",
    "LISTED",
    "MIXED",
    "SERIES",
    "SHEET",
    "_limits",
    "choice",
    "chosen_step_mm",
    "cleanups",
    "step_of_mm",
    "steps_mm",
]


def _decided_otherwise(view: View, found: oversize.Oversize) -> float | None:
    """The step decided on, where it differs from the advice."""
    decided = decided_step_mm(view)
    if decided is None or (found.step_mm is not None and abs(decided - found.step_mm) < 1e-6):
        return None
    return decided


def _cut_mm(view: View, cylinder: int) -> float | None:
    """What the bar is to cut in the block: for the hone, or for a sleeve."""
    one = target(view, cylinder)
    return one.block_mm if one.route == Route.SLEEVE else one.bored_mm


def _with_bored_u(found: oversize.Oversize, view: View) -> oversize.Oversize:
    """The verdict with where its uncertainty of the bored size comes from: a default, or the bar's record."""
    resting = bored_u_basis(view)
    if resting is None:
        return with_assumed(found, view, BORED_U)
    said = L("{what}: {value}", what=BORED_U.label, value=Qty(bored_u_mm(view), BORED_U.kind))
    return replace(
        found,
        why=(*found.why, from_record(resting)),
        assumptions=(*found.assumptions, Assumption(said, "own history")),
    )


def work(view: View) -> Work:
    """The verdict first, then each cylinder's part in it, with a section of each bore and the proposed cut."""
    found = choice(view)
    if found is None:
        if view.nominal_mm is None:
            return Work(blocked=L("Enter the nominal bore first: every oversize counts from it."))
        return Work(blocked=L("Measure the worn bores first."))
    verdict = _with_bored_u(with_assumed(found, view, HONE_ALLOW), view)
    other = _decided_otherwise(view, found)
    if other is not None:
        verdict = oversize.decided_on(verdict, other)
    step = chosen_step_mm(view)
    results = [oversize.cylinder_result(found, c.cylinder, step) for c in found.cleanups]
    worn = worn_bores(view)
    pictures = tuple(
        bore.section(worn[c.cylinder], cut_diameter_mm=_cut_mm(view, c.cylinder), governing=c.cell)
        for c in found.cleanups
    )
    return Work(results=(verdict, *results), done=decided_clean(view), pictures=pictures)


def _items(view: View) -> list[dict[str, Any]]:
    return [{"item": n} for n in range(1, max(view.events(LISTED, "item"), default=0) + 2)]


SHEET = Sheet(
    key="oversize",
    order=4,
    title=L("Oversize"),
    purpose=L("Choose the smallest oversize at which every bore cleans up."),
    groups=(
        Group(
            key="choice", title=L("How it is chosen"), fields=(SERIES, CONFIDENCE, LARGEST, HONE_ALLOW, BORED_U, MIXED)
        ),
        Group(key="listed", title=L("Pistons available"), fields=(LISTED,), places=_items, name=place_name, grows=True),
    ),
    work=work,
    minutes=(3, 0),
    apart=True,
    decides=True,
    later=next_check,
    vital=True,
)
