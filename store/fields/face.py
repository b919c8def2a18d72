"""What is asked about the top face and the machine's base."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number, Select
from logic.say import L

__all__ = [
    "BASE_LENGTH",
    "BASE_WIDTH",
    "DECKS",
    "DIRT",
    "FIRST",
    "FOOT_X",
    "FOOT_Y",
    "HEIGHT",
    "HEIGHT_U",
    "LIMIT",
    "REMEDY",
    "SKIM",
    "SQUARED",
    "TAKEN",
    "Deck",
    "X",
    "Y",
]

X = Number(
    key="face.x",
    label=L("Along the block"),
    kind="place",
    help=L("From the front edge of the deck to the rear. The slope depends on it."),
    low=0.0,
    high=3000.0,
    at=("point",),
)
Y = DefaultNumber(
    key="face.y",
    label=L("Across the block"),
    kind="place",
    help=L("From the line of the bores, plus to the left seen from the rear. Empty: on it."),
    low=-500.0,
    high=500.0,
    default=0.0,
    source="the line of the bore centres",
    at=("point",),
)
HEIGHT = Number(
    key="face.height",
    label=L("Height above the main-bearing axis"),
    kind="size",
    help=L("From a bar in the mains, or an indicator's reading. Only differences count."),
    low=-20.0,
    high=1000.0,
    at=("point",),
    formula="slope = rise / run; lean = slope × bore length",
)
HEIGHT_U = DefaultNumber(
    key="face.height_u",
    label=L("Height reading ±"),
    kind="fine",
    help=L("Measure one place five times, the bar taken out between."),
    low=0.0005,
    high=0.2,
    default=constant("face.height_u").value,
)
TAKEN = Select(
    key="face.taken",
    label=L("Heights taken from"),
    help=L("Crank in place: measure down to the main journals, front and rear, less half the journal."),
    optional=True,
    choices=(
        Choice("bar", L("A bar in the mains")),
        Choice("journals", L("The main journals, crank in")),
        Choice("rail", L("The sump rail")),
    ),
)
LIMIT = DefaultNumber(
    key="face.limit",
    label=L("Most a bore may lean over its length"),
    kind="diff",
    help=L("The maker's figure wins. More loads the piston's side and the big end."),
    low=0.005,
    high=0.5,
    default=constant("face.lean_limit").value,
)
FIRST = Number(
    key="face.first_bore",
    label=L("Centre of the front bore, from the front edge"),
    kind="place",
    help=L("Needed where the deck is hollow or humped. Empty: bores centred on it."),
    low=0.0,
    high=3000.0,
    optional=True,
)
REMEDY = DefaultSelect(
    key="face.remedy",
    label=L("What is done about the deck"),
    help=L("A skim, shims under the machine's base, or nothing. Measure again after a skim."),
    default="none",
    source="nothing done yet",
    choices=(Choice("none", L("Nothing")), Choice("skim", L("Skim the deck")), Choice("shim", L("Shim the base"))),
)
SKIM = Number(
    key="face.skim",
    label=L("Skim taken, at the bores"),
    kind="diff",
    help=L("How much came off the deck, on average over the bores."),
    low=0.0,
    high=5.0,
    optional=True,
)
SQUARED = Select(
    key="face.squared",
    label=L("Bar square with the shims in"),
    help=L("Tried with a square, or by a sweep of the bore from top to bottom."),
    choices=(Choice("yes", L("Yes, tried")), Choice("no", L("No"))),
    beside=(("face.remedy", "shim"),),
    optional=True,
)
BASE_LENGTH = DefaultNumber(
    key="face.base_length",
    label=L("Length of the machine's base"),
    kind="place",
    help=L("Along the block, from foot to foot. Dirt under a short base tilts it more."),
    low=40.0,
    high=1000.0,
    default=constant("face.base_length").value,
    card="bar",
)
BASE_WIDTH = DefaultNumber(
    key="face.base_width",
    label=L("Width of the machine's base"),
    kind="place",
    help=L("Across the block, from foot to foot. Used for the shims."),
    low=40.0,
    high=1000.0,
    default=constant("face.base_width").value,
    card="bar",
)
DIRT = DefaultNumber(
    key="face.dirt",
    label=L("Dirt allowed for"),
    kind="diff",
    help=L("What could lie unseen under one side of the base."),
    low=0.0,
    high=2.0,
    default=constant("face.dirt").value,
    formula="lean = thickness / base length × bore length",
)
FOOT_X = Number(
    key="face.foot_x",
    beside=(("face.foot_y", ""),),
    label=L("Foot, along the block"),
    kind="place",
    help=L("From the bore's centre, plus to the rear. Three feet or more, or none."),
    low=-1000.0,
    high=1000.0,
    at=("foot",),
    optional=True,
)
FOOT_Y = Number(
    key="face.foot_y",
    beside=(("face.foot_x", ""),),
    label=L("Foot, across the block"),
    kind="place",
    help=L("From the bore's centre, plus to the left as you look from the rear to the front."),
    low=-1000.0,
    high=1000.0,
    at=("foot",),
    optional=True,
)


@dataclass(frozen=True, slots=True)
class Deck:
    """What is asked of the deck of one bank."""

    x: Number
    y: DefaultNumber
    height: Number
    first: Number
    remedy: DefaultSelect
    skim: Number
    squared: Select


#: The deck of a row of cylinders or of the first bank, and that of the second.
DECKS = (
    Deck(X, Y, HEIGHT, FIRST, REMEDY, SKIM, SQUARED),
    Deck(
        replace(X, key="face.x2", label=L("Along the block, bank 2")),
        replace(Y, key="face.y2", label=L("Across the block, bank 2")),
        replace(HEIGHT, key="face.height2", label=L("Height above the main-bearing axis, bank 2")),
        replace(FIRST, key="face.first_bore2", label=L("Centre of the front bore, bank 2, from the front edge")),
        replace(REMEDY, key="face.remedy2", label=L("What is done about the deck of bank 2")),
        replace(SKIM, key="face.skim2", label=L("Skim taken, at the bores of bank 2")),
        replace(
            SQUARED,
            key="face.squared2",
            label=L("Bar square with the shims in, bank 2"),
            beside=(("face.remedy2", "shim"),),
        ),
    ),
)
