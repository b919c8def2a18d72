"""The top face, how each bore will lean from it, and by how much it is lowered."""

from __future__ import annotations

import math

from logic import cleanup, face
from logic.constants import constant

from ..fields.bores import CENTRED
from ..fields.face import DECKS, HEIGHT_U, LIMIT, TAKEN, Deck
from ..graph import fact
from ..view import View
from .banks import bank_of, banks
from .block import bore_length_mm, spacing_mm

__all__ = [
    "bore_lean",
    "bore_places_mm",
    "decks",
    "fitted",
    "lean",
    "lean_as_found",
    "lean_as_planned",
    "remedied",
    "skim_mm",
    "skim_plan",
    "taken_u_mm",
]


@fact
def decks(view: View) -> tuple[int, ...]:
    """The banks whose deck is asked about, counted from 1: each stands on a face of its own."""
    return tuple(range(1, 1 + min(len(DECKS), len(banks(view)))))


def _deck(bank: int) -> Deck | None:
    """What is asked of a bank's deck; None for a third bank, which nothing is asked about."""
    return DECKS[bank - 1] if bank <= len(DECKS) else None


@fact
def bore_lean(view: View, cylinder: int) -> cleanup.BoreLean:
    """How a cylinder leans from square to the top face: as measured, else as faces may lean that nobody measured."""
    found, length = lean(view, cylinder), bore_length_mm(view)
    centred = length if view.choice(CENTRED) == "bottom" else 0.0
    if found is None:
        return cleanup.BoreLean.unmeasured(length, centred)
    b = found.believed
    u_across, u_along = math.sqrt(b.across_mm2), math.sqrt(b.along_mm2)
    return cleanup.BoreLean(b.across_mm, b.along_mm, u_across, length, centred, u_along_mm=u_along)


@fact
def _spots(view: View, bank: int) -> tuple[face.Spot, ...]:
    """The points of a bank's deck whose position along the block and height are both there."""
    deck = _deck(bank)
    if deck is None:
        return ()
    xs, heights = view.events(deck.x, "point"), view.events(deck.height, "point")
    return tuple(
        face.Spot(xs[n].value, view.number(deck.y, point=n), heights[n].value)
        for n in sorted(xs.keys() & heights.keys())
    )


@fact
def fitted(view: View, bank: int = 1) -> face.Face | None:
    """The fitted face of a bank; None with heights at fewer than two places."""
    spots = _spots(view, bank)
    if len({s[:2] for s in spots}) < 2:
        return None
    return face.survey(spots, u_mm=math.hypot(view.number(HEIGHT_U), taken_u_mm(view)))


@fact
def taken_u_mm(view: View) -> float:
    """The standard uncertainty that comes with what the heights were taken from, beside their own."""
    where = view.choice(TAKEN)
    return 0.0 if where in (None, "bar") else constant(f"face.{where}_u").value


@fact
def bore_places_mm(view: View, bank: int = 1) -> dict[int, float]:
    """Where each bore of a bank lies along its face; empty while there is no face to lie on."""
    found, deck = fitted(view, bank), _deck(bank)
    if found is None or deck is None:
        return {}
    return face.bore_places_mm(found, banks(view)[bank - 1], spacing_mm(view), view.number(deck.first))


def _lean(view: View, cylinder: int, *, remedied: bool) -> face.Lean | None:
    bank = bank_of(view, cylinder)
    found = fitted(view, bank)
    if found is None:
        return None
    return face.lean(
        found,
        cylinder=cylinder,
        x_mm=bore_places_mm(view, bank)[cylinder],
        length_mm=bore_length_mm(view),
        limit_mm=view.number(LIMIT),
        remedied=remedied,
    )


@fact
def lean(view: View, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore will lean, the deck skimmed or the base shimmed if that was done; None where nothing was measured."""
    bank = bank_of(view, cylinder)
    return None if _deck(bank) is None else _lean(view, cylinder, remedied=remedied(view, bank))


@fact
def remedied(view: View, bank: int) -> bool:
    """Whether something was done about a bank's deck: the base shimmed and tried, or the deck skimmed by what was entered."""
    deck = _deck(bank)
    if deck is None:
        return False
    done = view.choice(deck.remedy)
    if done == "shim":
        return view.choice(deck.squared) == "yes"
    return done == "skim" and view.number(deck.skim) is not None


@fact
def lean_as_planned(view: View, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore leans once the skim or the shims chosen are done; None where nothing was measured."""
    return _lean(view, cylinder, remedied=True)


@fact
def lean_as_found(view: View, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore would lean on the face as it is; None where nothing was measured."""
    return _lean(view, cylinder, remedied=False)


@fact
def skim_plan(view: View, bank: int = 1) -> face.SkimPlan | None:
    """What a skim would take to make a bank's face square; None where nothing was measured."""
    found = fitted(view, bank)
    return None if found is None else face.skim(found, bore_places_mm(view, bank), bore_mm=view.nominal_mm)


@fact
def _deck_skim_mm(view: View, bank: int) -> float:
    """By how much a bank's face is lowered: as entered, else as planned if a skim was chosen, else nothing."""
    deck = _deck(bank)
    if deck is None:
        return 0.0
    taken = view.number(deck.skim)
    if taken is not None:
        return taken
    plan = skim_plan(view, bank) if view.choice(deck.remedy) == "skim" else None
    # bores that lie beyond the points measured could come out raised: a skim only takes off
    return 0.0 if plan is None else max(plan.mean_mm, 0.0)


@fact
def skim_mm(view: View, cylinder: int | None = None) -> float:
    """By how much the face is lowered at a cylinder; without one, at the bank that is lowered most."""
    if cylinder is not None:
        return _deck_skim_mm(view, bank_of(view, cylinder))
    return max(_deck_skim_mm(view, bank) for bank in decks(view))
