"""What was measured once, and nothing else in the job confirms: a second measurement is worth more than any rule.

A sleeve's bore is cut to what was measured of the sleeve; a piston that strikes the head is decided by one
figure and its sign. Another measurement of the same thing finds a misread digit, another unit or a sign;
what usage expects finds none of them. How far two measurements of one thing may lie apart is common
practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = [
    "ABOVE",
    "BELOW",
    "LEVEL",
    "check_deck_once",
    "check_deck_side",
    "check_same_weight",
    "check_sleeves_once",
    "check_total",
]

#: Two measurements of one sleeve, and two sleeves of one size, are alike within this, mm.
SLEEVE_MM = 0.02
#: A deck runs within this of the crank, from the first bore to the last, mm.
DECK_MM = 0.25
#: A crown so near the deck is level with it, mm.
LEVEL_MM = 0.1
#: A scale that carries a whole set shows it within this, g, beside its error of one weighing.
SCALE_G = 1.0
#: A scale that repeats within this, g, hardly ever shows two pistons alike to its last figure.
FINE_SCALE_G = 0.5
#: How the crown stands at top dead centre.
BELOW, LEVEL, ABOVE = "below", "level", "above"


def check_sleeves_once(
    first_mm: Mapping[int, float], again_mm: Mapping[int, float], *, about: Mapping[int, Sequence[Place]]
) -> Iterator[Doubt]:
    """Each sleeve's outside, by cylinder, against its second measurement, else against another sleeve of its size."""
    for n, mm in sorted(first_mm.items()):
        again = again_mm.get(n)
        if again is not None and abs(again - mm) > SLEEVE_MM:
            yield Doubt(
                key=f"sleeve.again.{n}",
                line=L(
                    "Cylinder {n}: the sleeve measures {first} outside, and {again} the second time.",
                    n=n,
                    first=Qty(mm, "size"),
                    again=Qty(again, "size"),
                ),
                settle=L("Measure it once more before you bore for it."),
                about=tuple(about[n]),
            )
        elif again is None and not any(k != n and abs(other - mm) <= SLEEVE_MM for k, other in first_mm.items()):
            yield Doubt(
                key=f"sleeve.once.{n}",
                line=L("Cylinder {n}: the sleeve's outside was measured once, and no other sleeve confirms it.", n=n),
                settle=L("Measure it a second time, and enter that as well."),
                about=tuple(about[n]),
            )


def check_deck_once(
    first_mm: float, again_mm: float | None, *, without_mm: float, side: str | None, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The deck clearance at one end of the deck against that at the other.

    ``without_mm`` is what the piston keeps from the head, over the least wanted, were the crown level with the
    deck: where that is enough, and the crown surely stands below, the figure decides nothing.
    """
    if again_mm is None:
        if without_mm >= 0.0 and side == BELOW:
            return
        yield Doubt(
            key="deck.once",
            line=L("The deck clearance was measured at one bore, and the distance to the head hangs on it."),
            settle=L("Measure it at the other end of the deck as well, or say that it is right."),
            about=tuple(about),
        )
    elif abs(again_mm - first_mm) > DECK_MM:
        yield Doubt(
            key="deck.again",
            line=L(
                "Deck clearance {first} at one end and {again} at the other: a deck runs truer than that.",
                first=Qty(first_mm, "deviation"),
                again=Qty(again_mm, "deviation"),
            ),
            settle=L("Measure both again, each over the piston's pin."),
            about=tuple(about),
        )


def check_deck_side(deck_mm: float, side: str | None, *, flipped_mm: float, about: Sequence[Place]) -> Iterator[Doubt]:
    """The sign of the deck clearance against how the crown is said to stand.

    ``flipped_mm`` is what the piston would keep from the head, over the least wanted, were the sign the other one.
    """
    said = Qty(deck_mm, "deviation")
    look = L("Lay a straight edge across the deck at top dead centre, and look.")
    if side is None:
        if deck_mm > 0.0 and flipped_mm < 0.0:
            yield Doubt(
                key="deck.side",
                line=L("Deck clearance {deck}: is the crown below the deck there, or above it?", deck=said),
                settle=look,
                about=tuple(about),
            )
    elif abs(deck_mm) > LEVEL_MM and side != (BELOW if deck_mm > 0.0 else ABOVE):
        yield Doubt(
            key="deck.side",
            line=_against(side, said),
            settle=look,
            about=tuple(about),
        )


def check_total(
    weights_g: Mapping[int, float], total_g: float, *, u_g: float, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The weights of the pistons, added up, against that of all of them on the scale at once."""
    added = math.fsum(weights_g.values())
    if abs(added - total_g) <= SCALE_G + 3.0 * u_g * math.sqrt(len(weights_g) + 1):
        return
    yield Doubt(
        key="weights.total",
        line=L(
            "The pistons weigh {added} added up, but {total} on the scale together.",
            added=Qty(added, "mass"),
            total=Qty(total_g, "mass"),
        ),
        settle=L("Weigh each of them again, all the same way."),
        about=tuple(about),
    )


def check_same_weight(
    weights_g: Mapping[int, float], *, u_g: float, about: Mapping[int, Place], total: Place
) -> Iterator[Doubt]:
    """A weight that is that of the piston before it to the last figure of a fine scale: left standing, or read off the
    line above. ``total`` is where the weight of all together would tell."""
    if u_g > FINE_SCALE_G:
        return
    for (a, first), (b, second) in pairwise(sorted(weights_g.items())):
        if first == second and round(first) != first:
            yield Doubt(
                key=f"weights.same.{b}",
                line=L(
                    "Pistons {a} and {b} weigh the same to the last figure: {weight}.",
                    a=a,
                    b=b,
                    weight=Qty(second, "mass"),
                ),
                settle=L("Weigh piston {b} again, or all of them on the scale together.", b=b),
                about=(about[a], about[b], total),
            )
            return


def _against(side: str, deck: Qty) -> Line:
    if side == BELOW:
        return L("Deck clearance {deck}, yet the crown is said to stand below the deck.", deck=deck)
    if side == ABOVE:
        return L("Deck clearance {deck}, yet the crown is said to stand above the deck.", deck=deck)
    return L("Deck clearance {deck}, yet the crown is said to be level with the deck.", deck=deck)
