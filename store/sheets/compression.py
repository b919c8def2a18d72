"""Capacity, compression ratio and what is left between piston and head, with the new bore and the skim."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logic import compression, sizing
from logic.result import Assumption, Result, Verdict
from logic.say import L, Qty

from ..facts.compression import NEEDED, least_gap_mm, measuring_doubt, spaces
from ..facts.face import skim_mm
from ..facts.gates import decided
from ..facts.pistons import duty
from ..facts.sizes import finished_sizes_mm
from ..fields.compression import (
    BOOK,
    CHAMBER,
    CHAMBER_U,
    CROWN,
    DECK,
    DECK_AGAIN,
    DECK_U,
    GASKET,
    GASKET_BORE,
    HIGHEST,
    LEAST_GAP,
    NEW_CHAMBER,
    NEW_CROWN,
    NEW_GASKET,
    NEW_GASKET_BORE,
    STANDS,
    STROKE,
    TALLER,
)
from ..kit import needs
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "BOOK",
    "CHAMBER",
    "CROWN",
    "DECK",
    "DECK_AGAIN",
    "GASKET_BORE",
    "HIGHEST",
    "NEW_CHAMBER",
    "NEW_CROWN",
    "NEW_GASKET",
    "NEW_GASKET_BORE",
    "SHEET",
    "STANDS",
    "STROKE",
    "TALLER",
]


def _over_the_piston(view: View) -> list[Result]:
    """Ratio, piston-to-head and gasket cover of the largest finished bore; nothing until enough is entered."""
    both = spaces(view)
    if both is None:
        return []
    before, after = both
    return [
        compression.compression(
            before, after, doubt=measuring_doubt(view), highest=view.number(HIGHEST), skim_mm=skim_mm(view)
        ),
        _to_head(view, after),
        compression.gasket_cover(after.bore_mm, after.gasket_bore_mm),
    ]


def _to_head(view: View, after: compression.Space) -> Result:
    """Piston to head, with what the least wanted rests on where nobody stated it."""
    found = compression.piston_gap(after, least_mm=least_gap_mm(view), doubt=measuring_doubt(view))
    if view.number(LEAST_GAP) is not None:
        return found
    told = Assumption(
        L(
            "At least {least} is wanted for: {duty}. The engine's maker comes first.",
            least=Qty(least_gap_mm(view), "diff"),
            duty=sizing.DUTIES[duty(view)].label,
        )
    )
    return replace(found, assumptions=(*found.assumptions, told))


def work(view: View) -> Work:
    """Capacity, ratio, piston-to-head and gasket cover, for the largest finished bore of the set."""
    if view.nominal_mm is None:
        return Work(blocked=L("Enter the nominal bore first."))
    bores = list(finished_sizes_mm(view).values())
    if len(bores) < len(view.cylinders):
        return Work(blocked=L("Settle the finished bore size first."))
    missing: tuple[tuple[str, dict[str, Any]], ...] = tuple(
        (f.key, {}) for f in (STROKE, *NEEDED) if view.number(f) is None
    )
    results, stroke = _over_the_piston(view), view.number(STROKE)
    if stroke is not None:
        results.append(compression.capacity(view.nominal_mm, bores, stroke))
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and decided(view) and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
    )


SHEET = Sheet(
    key="compression",
    order=6,
    title=L("Capacity and compression"),
    purpose=L("See what the larger bore and the skim do to the ratio, and that no piston can reach the head."),
    groups=(
        Group(
            key="before",
            title=L("As it was"),
            fields=(STROKE, CHAMBER, GASKET_BORE, GASKET, DECK, STANDS, DECK_AGAIN, CROWN, BOOK),
            help=L("One cylinder stands for all: take the one with the least deck clearance."),
        ),
        Group(
            key="after",
            title=L("What changes"),
            fields=(NEW_CROWN, TALLER, NEW_CHAMBER, NEW_GASKET, NEW_GASKET_BORE),
            help=L("The oversize and the skim are known already."),
        ),
        Group(key="limits", title=L("Limits and errors ±"), fields=(LEAST_GAP, HIGHEST, CHAMBER_U, DECK_U)),
    ),
    work=work,
    minutes=(15, 0),
    idle=lambda view: needs(view, "burette", L("Needs a burette, for a changed ratio")),
)
