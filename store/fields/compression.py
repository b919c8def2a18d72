"""What is asked about the space over the piston."""

from __future__ import annotations

from logic import compression, once_check
from logic.fields import Choice, DefaultNumber, Number, Select
from logic.say import L

__all__ = [
    "BOOK",
    "CHAMBER",
    "CHAMBER_U",
    "CROWN",
    "DECK",
    "DECK_AGAIN",
    "DECK_U",
    "GASKET",
    "GASKET_BORE",
    "HIGHEST",
    "LEAST_GAP",
    "NEW_CHAMBER",
    "NEW_CROWN",
    "NEW_GASKET",
    "NEW_GASKET_BORE",
    "STANDS",
    "STROKE",
    "TALLER",
]

_DOUBT = compression.Doubt()
STROKE = Number(
    key="compression.stroke",
    label=L("Stroke"),
    kind="size",
    help=L("The piston's travel, from the engine's book or measured."),
    low=20.0,
    high=400.0,
    formula="V = π/4 D² S n",
)
CHAMBER = Number(
    key="compression.chamber",
    label=L("Chamber in the head"),
    kind="volume",
    help=L("What fills one chamber to the head's face, plug and valves in."),
    low=0.0,
    high=1000.0,
)
GASKET_BORE = Number(
    key="compression.gasket_bore",
    label=L("Gasket bore"),
    kind="size",
    help=L("Measured across the gasket itself. It must be larger than the new bore."),
    low=25.0,
    high=400.0,
)
GASKET = DefaultNumber(
    key="compression.gasket",
    label=L("Gasket thickness, clamped"),
    kind="diff",
    help=L("As clamped: from the maker, or an old one between the bolt holes."),
    low=0.0,
    high=5.0,
    default=1.2,
)
DECK = Number(
    key="compression.deck",
    label=L("Deck clearance before the work"),
    kind="deviation",
    help=L("Crown flat below the deck at top dead centre. Minus if it stands proud."),
    low=-5.0,
    high=30.0,
)
DECK_AGAIN = Number(
    key="compression.deck_again",
    beside=(("compression.deck", ""),),
    label=L("Deck clearance at the other end of the deck"),
    kind="deviation",
    help=L("The smaller of both counts. One figure alone may be misread."),
    low=-5.0,
    high=30.0,
    optional=True,
)
STANDS = Select(
    key="compression.stands",
    beside=(("compression.deck", ""),),
    label=L("Crown at top dead centre"),
    help=L("Lay a straight edge across the deck, and look. It guards the sign of the clearance."),
    optional=True,
    choices=(
        Choice(once_check.BELOW, L("Below the deck")),
        Choice(once_check.LEVEL, L("Level with the deck")),
        Choice(once_check.ABOVE, L("Above the deck")),
    ),
)
CROWN = DefaultNumber(
    key="compression.crown",
    label=L("Dish in the old crown"),
    kind="volume",
    help=L("Filled and measured, or from the piston's maker. Minus for a dome, zero for a flat crown."),
    low=-200.0,
    high=500.0,
    default=0.0,
)
BOOK = Number(
    key="compression.book",
    label=L("Compression ratio by the engine's papers"),
    kind="ratio",
    help=L("As the engine was made. It is held against what you measured."),
    low=3.0,
    high=30.0,
    optional=True,
)
NEW_CROWN = Number(
    key="compression.crown_new",
    label=L("Dish in the new crown"),
    kind="volume",
    help=L("Only where the new pistons differ from the old ones. Minus for a dome."),
    low=-200.0,
    high=500.0,
    optional=True,
)
TALLER = DefaultNumber(
    key="compression.taller",
    label=L("Extra compression height of the new pistons"),
    kind="deviation",
    help=L("Pin centre to crown, new less old. Minus where the new ones are lower."),
    low=-10.0,
    high=10.0,
    default=0.0,
    formula="deck clearance − skim − extra height",
)
NEW_CHAMBER = Number(
    key="compression.chamber_new",
    label=L("Chamber after head work"),
    kind="volume",
    help=L("Only where the head was skimmed or cut. Measure it again."),
    low=0.0,
    high=1000.0,
    optional=True,
)
NEW_GASKET = Number(
    key="compression.gasket_new",
    label=L("New gasket's thickness, clamped"),
    kind="diff",
    help=L("Only where it differs from the old one."),
    low=0.0,
    high=5.0,
    optional=True,
)
NEW_GASKET_BORE = Number(
    key="compression.gasket_bore_new",
    label=L("New gasket bore"),
    kind="size",
    help=L("Only where it differs from the old one."),
    low=25.0,
    high=400.0,
    optional=True,
)
LEAST_GAP = Number(
    key="compression.least_gap",
    label=L("Least distance from piston to head"),
    kind="diff",
    help=L("The maker's figure comes first. Empty: goes by what the engine does."),
    low=0.0,
    high=10.0,
    optional=True,
)
HIGHEST = Number(
    key="compression.highest",
    label=L("Highest ratio wanted"),
    kind="ratio",
    help=L("For the fuel that will be used. Empty: no verdict on the ratio."),
    low=3.0,
    high=30.0,
    optional=True,
)
CHAMBER_U = DefaultNumber(
    key="compression.volume_u",
    label=L("Volume error ±"),
    kind="volume",
    help=L("Of chamber and crown: a burette with a clear plate does this. Two times in three."),
    low=0.0,
    high=10.0,
    default=_DOUBT.chamber_cm3,
)
DECK_U = DefaultNumber(
    key="compression.deck_u",
    label=L("Deck clearance ±"),
    kind="diff",
    help=L("The piston rocks, so measure over the pin. Two times in three."),
    low=0.0,
    high=1.0,
    default=_DOUBT.deck_mm,
)
