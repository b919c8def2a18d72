"""What the figures of the strip-down, the second axis and the estimate mean."""

from __future__ import annotations

from ..say import L
from . import Meaning

__all__ = ["MEANINGS"]

_TIME = L("Σ stated × (0.7 + 1 + 1.8) / 3 ± 1.645 √(Σ s² + (0.15 Σ)²)")
_PRICE = L("hours × rate + bores × price per bore + parts + edges + stones")
_USED = L("U = what the job asks / what one lasts for")

MEANINGS = {
    "strip.reach/reach": Meaning(
        L(
            "How far below the deck the tip of this machine can cut. It must come out below the bore, or a step is left."
        ),
        source="entered",
    ),
    "strip.reach/bore": Meaning(
        L("How long the bore is from the deck to its lower end. The bar has to reach through all of it."),
        source="entered",
    ),
    "strip.liners/height": Meaning(
        L(
            "How far a wet liner stands above the deck, below it with a minus. The gasket seals on it, so it has limits."
        ),
        L("height as measured + skim of the deck"),
        "entered",
    ),
    "strip.flange/flange": Meaning(
        L(
            "How far the liner's flange stands out of its recess once it is in, by its thickness and the recess's depth. "
            "A shim under the flange lifts it, a deeper recess lets it down."
        ),
        L("flange − recess + skim of the deck"),
    ),
    "strip.liners/lowest": Meaning(
        L("The least a wet liner may stand above the deck. Below it the gasket is not pressed tight on the liner."),
        source="entered",
    ),
    "strip.liners/highest": Meaning(
        L("The most a wet liner may stand above the deck. Above it the gasket is not pressed tight beside the liner."),
        source="entered",
    ),
    "hone.round/round": Meaning(
        L("The difference of the two readings at one depth, where it is largest. It shows an oval, not three lobes."),
        L("| across − along the crank |"),
        "measured",
    ),
    "estimate/time": Meaning(
        L("The time of all steps on the path of this job. Steps seldom take less than stated and often more."),
        _TIME,
        "common practice",
    ),
    "estimate/time_low": Meaning(
        L("One job in twenty takes less than this. It is the lower end of the range."), _TIME, "common practice"
    ),
    "estimate/time_high": Meaning(
        L("One job in twenty takes more than this. It is the upper end of the range."), _TIME, "common practice"
    ),
    "estimate/edges_low": Meaning(
        L(
            "The edges this job wears off in the best case, in whole edges and parts of one. One job in twenty takes fewer."
        ),
        _USED,
        "common practice",
    ),
    "estimate/edges_high": Meaning(
        L("The edges this job wears off in the worst case. One job in twenty takes more."), _USED, "common practice"
    ),
    "estimate/stones_low": Meaning(
        L("The sets of stones this job wears off in the best case, all grits together. One job in twenty takes fewer."),
        _USED,
        "common practice",
    ),
    "estimate/stones_high": Meaning(
        L("The sets of stones this job wears off in the worst case. One job in twenty takes more."),
        _USED,
        "common practice",
    ),
    "estimate/material": Meaning(
        L("What edges and stones cost at your prices. A job pays for the part of each that it uses up."),
        _PRICE,
        "entered",
    ),
    "estimate/material_low": Meaning(
        L("What edges and stones cost where they last long. It is the lower end of the range."), _PRICE, "entered"
    ),
    "estimate/material_high": Meaning(
        L("What edges and stones cost where they wear fast. It is the upper end of the range."), _PRICE, "entered"
    ),
    "estimate/price": Meaning(
        L("Time, bores and parts at the rates you entered. It is the middle of the range, not an offer."),
        _PRICE,
        "entered",
    ),
    "estimate/price_low": Meaning(
        L("The price where the time comes out short and the parts cheap. It is the lower end of the range."),
        _PRICE,
        "entered",
    ),
    "estimate/price_high": Meaning(
        L("The price where the time comes out long and the parts dear. It is the upper end of the range."),
        _PRICE,
        "entered",
    ),
}
