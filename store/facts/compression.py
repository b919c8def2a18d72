"""The space over the piston before and after the work."""

from __future__ import annotations

from logic import compression

from ..fields.compression import (
    CHAMBER,
    CHAMBER_U,
    CROWN,
    DECK,
    DECK_AGAIN,
    DECK_U,
    GASKET,
    GASKET_BORE,
    LEAST_GAP,
    NEW_CHAMBER,
    NEW_CROWN,
    NEW_GASKET,
    NEW_GASKET_BORE,
    STROKE,
    TALLER,
)
from ..graph import fact
from ..view import View
from .face import skim_mm
from .pistons import duty
from .sizes import finished_sizes_mm

__all__ = ["NEEDED", "least_gap_mm", "measuring_doubt", "spaces"]

NEEDED = (CHAMBER, GASKET_BORE, DECK)


@fact
def spaces(view: View) -> tuple[compression.Space, compression.Space] | None:
    """The space over one piston before and after the work, in the largest finished bore; None until enough is entered."""
    bores = finished_sizes_mm(view)
    nominal, stroke = view.nominal_mm, view.number(STROKE)
    chamber, gasket_bore, deck = (view.number(f) for f in NEEDED)
    again = view.number(DECK_AGAIN)
    if not bores or nominal is None or stroke is None or chamber is None or gasket_bore is None or deck is None:
        return None
    before = compression.Space(
        bore_mm=nominal,
        stroke_mm=stroke,
        chamber_cm3=chamber,
        gasket_bore_mm=gasket_bore,
        gasket_mm=view.number(GASKET),
        deck_mm=deck if again is None else min(deck, again),
        crown_cm3=view.number(CROWN),
    )
    after = compression.worked(
        before,
        bore_mm=max(bores.values()),
        skim_mm=skim_mm(view),
        taller_mm=view.number(TALLER),
        chamber_cm3=view.number(NEW_CHAMBER),
        gasket_bore_mm=view.number(NEW_GASKET_BORE),
        gasket_mm=view.number(NEW_GASKET),
        crown_cm3=view.number(NEW_CROWN),
    )
    return before, after


@fact
def least_gap_mm(view: View) -> float:
    """The least distance from piston to head: as entered, else by what the engine does."""
    stated = view.number(LEAST_GAP)
    return compression.LEAST_GAPS_MM[duty(view)] if stated is None else stated


@fact
def measuring_doubt(view: View) -> compression.Doubt:
    volume = view.number(CHAMBER_U)
    return compression.Doubt(chamber_cm3=volume, crown_cm3=volume, deck_mm=view.number(DECK_U))
