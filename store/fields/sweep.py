"""What is asked about the sweep."""

from __future__ import annotations

from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

__all__ = ["GAP", "READING", "READING_U", "ROUND", "SET_OVER", "SET_TOWARD", "SIGN", "SPINDLE", "ZERO", "ZERO_U"]

READING = Number(
    key="sweep.reading",
    label=L("Indicator reading"),
    kind="deviation",
    help=L("Front first, then round. Keep one zero for the whole bore."),
    low=-5.0,
    high=5.0,
    at=("cylinder", "depth", "angle"),
    formula="D_clean = 2 max |p − c|, smallest over c",
)
ROUND = DefaultSelect(
    key="sweep.round",
    label=L("Readings round the bore"),
    help=L("Eight show an oval and most lobes. Fewer leave room for low places that nobody read."),
    default="8",
    choices=(
        Choice("4", L("Four")),
        Choice("6", L("Six")),
        Choice("8", L("Eight")),
        Choice("12", L("Twelve")),
        Choice("24", L("Twenty-four")),
    ),
)
SIGN = DefaultSelect(
    key="sweep.sign",
    label=L("When the wall goes away, the indicator"),
    help=L("Push the stylus outward with a finger and see which way the needle goes."),
    default="up",
    choices=(Choice("up", L("Counts up")), Choice("down", L("Counts down"))),
)
ZERO = Number(
    key="sweep.zero",
    label=L("Diameter at the indicator's zero"),
    kind="size",
    help=L("Twice the distance from spindle axis to wall at zero. Empty: worked out."),
    low=20.0,
    high=500.0,
    at=("cylinder",),
)
GAP = Number(
    key="sweep.gap",
    label=L("Gap from spindle to wall at the zero"),
    kind="size",
    help=L("Measure it where the indicator reads zero. Needs the spindle's diameter."),
    low=0.1,
    high=250.0,
    at=("cylinder",),
    optional=True,
    formula="zero = spindle + 2 × gap",
)
SPINDLE = Number(
    key="sweep.spindle_diameter",
    label=L("Spindle diameter"),
    kind="size",
    help=L("Of the round part that the gap is measured from. Leave it out if no gap is measured."),
    low=10.0,
    high=200.0,
    optional=True,
    card="bar",
)
READING_U = DefaultNumber(
    key="sweep.reading_u",
    label=L("Indicator reading ±"),
    kind="fine",
    help=L("Sweep one place five times and enter a third of the spread."),
    low=0.0005,
    high=0.1,
    default=constant("sweep.reading_u").value,
)
ZERO_U = DefaultNumber(
    key="sweep.zero_u",
    label=L("Zero diameter ±"),
    kind="fine",
    help=L("All readings of a bore share it. Two times in three."),
    low=0.0,
    high=0.2,
    default=constant("sweep.zero_u").value,
)
SET_OVER = Number(
    key="sweep.set_over",
    label=L("Spindle set over on purpose"),
    kind="diff",
    help=L("How far you moved it off the unworn centre before the sweep."),
    low=0.0,
    high=3.0,
    at=("cylinder",),
    optional=True,
)
SET_TOWARD = DefaultSelect(
    key="sweep.set_toward",
    label=L("Set over toward"),
    help=L("Left and right as you look from the rear toward the front."),
    default="left",
    at=("cylinder",),
    choices=(
        Choice("front", L("The front")),
        Choice("left", L("The left")),
        Choice("rear", L("The rear")),
        Choice("right", L("The right")),
    ),
)
