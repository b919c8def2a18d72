"""What is asked about which piston goes where."""

from __future__ import annotations

from logic import fitting
from logic.fields import DefaultNumber, Number, Text
from logic.say import L

__all__ = ["BAND", "GRADE", "GRADE_HIGH", "GRADE_LOW", "MARK", "SCALE_U", "SPIN", "SPREAD", "TOTAL", "WEIGHT"]

BAND = DefaultNumber(
    key="fitting.band",
    label=L("How far a clearance may be from the one wanted"),
    kind="fine",
    help=L("Either way. The piston maker's own range comes first."),
    low=0.001,
    high=0.1,
    default=0.0127,
)
MARK = Text(
    key="fitting.mark",
    beside=(("fitting.grade", ""),),
    label=L("Grade marked on the piston"),
    help=L("The letter or colour on the crown, where pistons come graded."),
    at=("cylinder",),
    optional=True,
)
GRADE = Text(
    key="fitting.grade",
    beside=(("fitting.grade_low", ""), ("fitting.grade_high", "")),
    label=L("Grade"),
    help=L("As it is marked on the crown and named in the maker's list."),
    at=("grade",),
    optional=True,
)
GRADE_LOW = Number(
    key="fitting.grade_low",
    beside=(("fitting.grade", ""), ("fitting.grade_high", "")),
    below="fitting.grade_high",
    label=L("Smallest piston of this grade"),
    kind="size",
    help=L("From the maker's list, at the gauge point."),
    low=20.0,
    high=500.0,
    at=("grade",),
    optional=True,
)
GRADE_HIGH = Number(
    key="fitting.grade_high",
    beside=(("fitting.grade", ""), ("fitting.grade_low", "")),
    label=L("Largest piston of this grade"),
    kind="size",
    help=L("From the maker's list, at the gauge point."),
    low=20.0,
    high=500.0,
    at=("grade",),
    optional=True,
)
WEIGHT = Number(
    key="fitting.weight",
    label=L("Weight of the piston"),
    kind="mass",
    help=L("All of them the same way: with the pin, or all without. Wipe off the oil first."),
    low=20.0,
    high=10000.0,
    at=("cylinder",),
    optional=True,
)
TOTAL = Number(
    key="fitting.total",
    beside=(("fitting.weight", ""),),
    label=L("All pistons together"),
    kind="mass",
    help=L("On the scale at once, as they were weighed one by one. It finds a misread weight."),
    low=40.0,
    high=100000.0,
    optional=True,
)
SPREAD = DefaultNumber(
    key="fitting.spread",
    label=L("Weight spread allowed"),
    kind="mass",
    help=L("Heaviest less lightest. A fast engine wants less."),
    low=0.0,
    high=100.0,
    default=fitting.SPREAD_G,
)
SCALE_U = DefaultNumber(
    key="fitting.scale_u",
    label=L("Weighing error ±"),
    kind="mass",
    help=L("Of one weighing. Two times in three."),
    low=0.0,
    high=50.0,
    default=0.3,
)
SPIN = Number(
    key="fitting.spin",
    beside=(("fitting.weight", ""),),
    label=L("Fastest the engine turns"),
    kind="spin",
    help=L("Shows what the difference in weight does at that speed. It needs the stroke as well."),
    low=100.0,
    high=20000.0,
    optional=True,
    formula="m × stroke / 2 × ω²",
)
