"""What is asked of the strip-down, before anything is measured."""

from __future__ import annotations

from logic.fields import Choice, Number, Select
from logic.say import L, Line

__all__ = ["BLOCK", "CHECKS", "CRACKS", "CRANK", "FLANGE", "FLOOR", "HEIGHT", "HIGHEST", "LOWEST", "REACH", "RECESS"]

_ANSWERS = (
    Choice("yes", L("Yes")),
    Choice("no", L("Not yet")),
    Choice("none", L("Does not apply here")),
)


def _check(name: str, label: Line, told: Line) -> Select:
    return Select(key=f"strip.{name}", label=label, help=told, choices=_ANSWERS)


CHECKS = (
    _check("coolant", L("Coolant is drained"), L("From the block as well: most have a plug low on one side.")),
    _check("oil", L("Oil is drained, filter off"), L("What falls in goes with it. Look at it for metal.")),
    _check(
        "covered",
        L("Crank and oil holes are covered"),
        L("Grease and rags on the journals, plugs in the holes. Count what goes in."),
    ),
    _check("studs", L("Dowels and studs are out of the way"), L("The machine's base must lie flat on the deck.")),
)
CRANK = Select(
    key="strip.crank",
    label=L("Crankshaft"),
    help=L("In place, it must be covered, and limits how far bar and hone may run out below."),
    optional=True,
    choices=(Choice("out", L("Out")), Choice("in", L("Stays in"))),
)
CRACKS = Select(
    key="strip.cracks",
    label=L("Cracks and pores"),
    help=L("A pressure test finds what the eye does not. A cracked bore wants a sleeve."),
    optional=True,
    choices=(
        Choice("tested", L("Pressure-tested, tight")),
        Choice("looked", L("Looked, none seen")),
        Choice("cracked", L("Cracked or porous")),
    ),
)
BLOCK = Select(
    key="strip.block",
    label=L("What the bores are"),
    help=L("A wet liner stands in the coolant and seals at the deck: its height matters."),
    optional=True,
    choices=(
        Choice("parent", L("Bored in the block")),
        Choice("dry", L("Dry liners")),
        Choice("wet", L("Wet liners")),
    ),
)
REACH = Number(
    key="strip.reach",
    label=L("Tip reaches, below the deck"),
    kind="place",
    help=L("How far down the machine can cut, from its base. The bar must also go into the bore."),
    low=20.0,
    high=1000.0,
    optional=True,
)
FLOOR = Select(
    key="strip.floor",
    label=L("Lower end of the bores"),
    help=L("Some end on a step or a ledge that the bar must not touch."),
    optional=True,
    choices=(Choice("open", L("Open")), Choice("step", L("A step or ledge"))),
)
HEIGHT = Number(
    key="strip.height",
    label=L("Liner above the deck"),
    kind="deviation",
    help=L("Minus where it stands below. Clamp the liner down, and measure at four places."),
    low=-2.0,
    high=2.0,
    at=("cylinder",),
    beside=((BLOCK.key, "wet"),),
)
RECESS = Number(
    key="strip.recess",
    label=L("Depth of the flange recess"),
    kind="wall",
    help=L("In the block, below the deck: clean, at four places. The shallowest counts."),
    low=0.5,
    high=60.0,
    at=("cylinder",),
    optional=True,
    beside=((BLOCK.key, "wet"), ("strip.flange", "")),
)
FLANGE = Number(
    key="strip.flange",
    label=L("Thickness of the liner's flange"),
    kind="wall",
    help=L("Of the liner that goes in. With the recess it tells how the liner will stand."),
    low=0.5,
    high=60.0,
    at=("cylinder",),
    optional=True,
    beside=((BLOCK.key, "wet"), ("strip.recess", "")),
)
LOWEST = Number(
    key="strip.lowest",
    label=L("Lowest the maker allows"),
    kind="deviation",
    help=L("Of the liner to the deck; minus where it stands below."),
    low=-2.0,
    high=2.0,
    optional=True,
    beside=((BLOCK.key, "wet"),),
    below="strip.highest",
)
HIGHEST = Number(
    key="strip.highest",
    label=L("Highest the maker allows"),
    kind="deviation",
    help=L("Of the liner to the deck; minus where it stands below."),
    low=-2.0,
    high=2.0,
    optional=True,
    beside=((BLOCK.key, "wet"),),
)
