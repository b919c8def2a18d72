"""The space over the piston against itself, its sign and the engine's papers: see :mod:`logic.space_check`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from logic import compression, once_check, space_check
from logic.doubt import Doubt, Place
from logic.readings_check import spot

from ..fields.compression import BOOK, CHAMBER, CROWN, DECK, DECK_AGAIN, GASKET_BORE, HIGHEST, NEW_CROWN, STANDS, STROKE
from ..graph import fact
from ..view import View
from .compression import least_gap_mm, measuring_doubt, spaces
from .pistons import duty

__all__ = ["space_doubts"]


@fact
def deck_doubts(view: View) -> tuple[Doubt, ...]:
    """The deck clearance: its sign against how the crown stands, and one end of the deck against the other."""
    deck, again, side = view.number(DECK), view.number(DECK_AGAIN), view.choice(STANDS)
    both = spaces(view)
    if deck is None or both is None:
        return ()
    before, after = both
    doubt = measuring_doubt(view)
    # what is left over the least wanted were the crown level with the deck: by how much the deck moved since, it moves
    level = (
        after.gasket_mm + after.deck_mm - before.deck_mm - least_gap_mm(view) - 2.0 * (doubt.gasket_mm + doubt.deck_mm)
    )
    here: tuple[Place, ...] = (spot(DECK.key), spot(STANDS.key), spot(DECK_AGAIN.key))
    sides = [
        d
        for mm in (deck, again)
        if mm is not None
        for d in once_check.check_deck_side(mm, side, flipped_mm=level - mm, about=here)
    ]
    once = once_check.check_deck_once(deck, again, without_mm=level, side=side, about=here)
    return (*sides[:1], *once)


@fact
def ratio_doubts(view: View) -> tuple[Doubt, ...]:
    """The ratio before the work against engines and the papers, and the crown's sign where it decides."""
    both = spaces(view)
    if both is None:
        return ()
    keys = (STROKE, CHAMBER, GASKET_BORE, CROWN, DECK, BOOK)
    about = tuple(spot(f.key) for f in keys)
    diesel = duty(view) == "diesel"
    out = list(space_check.check_ratio(both[0], diesel=diesel, about=about))
    book = view.number(BOOK)
    if book is not None and not out:
        out += space_check.check_book(both[0], book, about=about)
    highest = view.number(HIGHEST)
    if highest is not None:
        out += space_check.check_highest(highest, book, diesel=diesel, about=(spot(HIGHEST.key), spot(BOOK.key)))
    return (*out, *_crown_doubts(view, both[1], book))


def _crown_doubts(view: View, after: compression.Space, book: float | None) -> Iterator[Doubt]:
    """The sign of the crown that will run, where the ratio would be too high with the other one."""
    highest = view.number(HIGHEST)
    if highest is None or compression.left_cm3(after) <= 0:
        return
    turned = replace(after, crown_cm3=-after.crown_cm3)
    over = compression.left_cm3(turned) <= 0 or compression.ratio(turned) > highest
    new = view.number(NEW_CROWN) is not None
    yield from space_check.check_crown(
        after.crown_cm3,
        None if new else book,
        decides=over and compression.ratio(after) <= highest,
        about=(spot(NEW_CROWN.key if new else CROWN.key), spot(BOOK.key)),
    )


@fact
def space_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about the space over the piston."""
    return (*deck_doubts(view), *ratio_doubts(view))
