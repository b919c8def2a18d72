"""The state of the strip-down, as the steps after it need to know it."""

from __future__ import annotations

from logic.result import Result
from logic.say import L
from logic.teardown import boring_order
from logic.teardown import reach as reach_of

from ..fields.cut import ORDER
from ..fields.hone import CLEAR
from ..fields.strip import BLOCK, CRACKS, CRANK, FLANGE, FLOOR, HEIGHT, REACH, RECESS
from ..graph import fact
from ..view import View
from .banks import banks
from .block import bore_length_mm

__all__ = [
    "CRACKED",
    "crank_in",
    "flanges_mm",
    "liner_heights_mm",
    "order_of_boring",
    "orders_of_boring",
    "reach",
    "sound",
    "stepped",
    "wet",
]


@fact
def crank_in(view: View) -> bool:
    """Whether the crankshaft stays in, as far as somebody said so."""
    return view.choice(CRANK) == "in"


@fact
def stepped(view: View) -> bool:
    """Whether the bores end on a step or a ledge."""
    return view.choice(FLOOR) == "step"


#: What a crack or a pore means.
CRACKED = L("Cracked or porous: no oversize mends that. Sleeve the bore, or find another block.")


@fact
def reach(view: View) -> Result | None:
    """Whether the bar reaches through the bores and clears what is below them; None while nobody entered how far it comes."""
    below = view.number(REACH)
    if below is None:
        return None
    return reach_of(below, bore_length_mm(view), room_mm=view.number(CLEAR), step=stepped(view))


@fact
def wet(view: View) -> bool:
    """Whether the bores are wet liners."""
    return view.choice(BLOCK) == "wet"


@fact
def sound(view: View) -> str | None:
    """What was said of cracks and pores: "tested", "looked", "cracked"; None while nobody said anything."""
    return view.choice(CRACKS)


@fact
def liner_heights_mm(view: View) -> dict[int, float]:
    """How far each wet liner stands above the deck, by cylinder; empty for other bores."""
    if not wet(view):
        return {}
    return {c: h for c in view.cylinders if (h := view.number(HEIGHT, cylinder=c)) is not None}


@fact
def flanges_mm(view: View) -> dict[int, float]:
    """How far each wet liner's flange stands out of its recess, by cylinder, where both are measured."""
    if not wet(view):
        return {}
    pairs = {c: (view.number(FLANGE, cylinder=c), view.number(RECESS, cylinder=c)) for c in view.cylinders}
    return {c: f - r for c, (f, r) in pairs.items() if f is not None and r is not None}


@fact
def order_of_boring(view: View) -> tuple[int, ...]:
    """The order in which the bores are cut: a bank at a time."""
    return tuple(c for bank in orders_of_boring(view) for c in bank)


@fact
def orders_of_boring(view: View) -> tuple[tuple[int, ...], ...]:
    """The order in which the bores of each bank are cut."""
    spread = view.choice(ORDER) == "spread"
    return tuple(boring_order(bank, spread=spread) for bank in banks(view))
