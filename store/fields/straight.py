"""What is asked in a straightness check of a machine. It stands on the bar's card: no step of a job asks it."""

from __future__ import annotations

from logic.constants import constant
from logic.fields import Choice, DefaultNumber, Number, Select
from logic.say import L

__all__ = ["BASE", "DEPTH", "LIMIT", "REPEAT", "SIZE", "SQUARE"]

BASE = Select(
    key="straight.base",
    label=L("Under the base"),
    help=L("First wipe the base and the deck it stands on, and feel both for burrs."),
    choices=(
        Choice("clean", L("Clean, no burr")),
        Choice("dirt", L("There was dirt")),
        Choice("burr", L("There was a burr")),
    ),
)
DEPTH = Number(
    key="straight.depth",
    label=L("Depth below the deck"),
    kind="place",
    help=L("Three depths: near the top, the middle and near the bottom of the travel."),
    low=0.0,
    high=1000.0,
    at=("depth",),
)
SIZE = Number(
    key="straight.size",
    label=L("Trial bore measured"),
    kind="size",
    help=L("Bore a trial in a scrap block in one pass with a fresh edge, let it cool, and measure it."),
    low=25.0,
    high=400.0,
    at=("depth", "axis"),
    optional=True,
)
SQUARE = Number(
    key="straight.square",
    label=L("Indicator along the square"),
    kind="deviation",
    help=L("Indicator on the bar, square on the base's face. Read it at each depth, going down."),
    low=-5.0,
    high=5.0,
    at=("depth", "axis"),
    optional=True,
)
REPEAT = DefaultNumber(
    key="straight.repeat",
    label=L("Spread of one reading"),
    kind="fine",
    help=L("How far readings at one place differ from each other."),
    low=0.0002,
    high=0.05,
    default=0.0015,
)
LIMIT = DefaultNumber(
    key="straight.limit",
    label=L("Straight and square enough"),
    kind="fine",
    help=L("What the hone takes out without trouble."),
    low=0.001,
    high=0.1,
    default=constant("hone.straightness").value,
)
