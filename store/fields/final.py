"""What is asked at the final check."""

from __future__ import annotations

from logic import verify
from logic.fields import Choice, DefaultNumber, Number, Select
from logic.say import L

from .bores import zero_temperature

__all__ = [
    "AGAIN",
    "BLOCK_C",
    "BLOCK_U",
    "DIVISION",
    "MASTER_U",
    "OVER",
    "READING",
    "REPEAT",
    "ROUND",
    "SURE",
    "TAPER",
    "UNDER",
    "WARMED",
    "WASHED",
    "ZERO",
    "ZERO_C",
]

#: How far from its zero a bore gauge reads, mm: a head that shows whole sizes may be set on any ring of its reach
#: (common practice, no source). What is likely at a place is not asked here.
FARTHEST_MM = 15.0

WASHED = Select(
    key="final.washed",
    label=L("Washed, dry and cold"),
    help=L("A warm bore reads large, and grit reads as iron. Let it cool first."),
    choices=(
        Choice("yes", L("Yes, washed, dry and cold")),
        Choice("no", L("Not yet")),
    ),
)
READING = Number(
    key="final.reading",
    label=L("Final reading"),
    kind="deviation",
    help=L("Washed and dry: what the gauge shows, or the whole size with its unit."),
    low=-FARTHEST_MM,
    high=FARTHEST_MM,
    at=("cylinder", "depth", "axis"),
    over=True,
    formula="D20 = (zero + reading) / (1 + α (T − 20))",
)
AGAIN = Number(
    key="final.again",
    label=L("Read again"),
    kind="deviation",
    help=L("One more reading where it was too close to call. It is averaged in."),
    low=-FARTHEST_MM,
    high=FARTHEST_MM,
    at=("cylinder", "depth", "axis", "check"),
    over=True,
    optional=True,
)
ZERO = Number(
    key="final.zero",
    label=L("Size the gauge is zeroed at"),
    kind="size",
    help=L("The setting ring's size for these readings. Zero at the finished size if you can."),
    low=20.0,
    high=500.0,
)
ZERO_C = zero_temperature("final.zero_temperature")
BLOCK_C = DefaultNumber(
    key="final.block_temperature",
    label=L("Block temperature"),
    kind="temperature",
    help=L("Measured in the bores, not in the air."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
BLOCK_U = DefaultNumber(
    key="final.block_temperature_u",
    label=L("Block temperature ±"),
    kind="temperature_difference",
    help=L("A thermometer held on bare iron for a minute does 1 °C. Two times in three."),
    low=0.1,
    high=20.0,
    default=1.0,
)
WARMED = DefaultNumber(
    key="final.gauge_warmed",
    label=L("Gauge warmer than at its zero by"),
    kind="temperature_difference",
    help=L("Zero if the gauge was zeroed just before."),
    low=-20.0,
    high=20.0,
    default=0.0,
)
DIVISION = Number(
    key="final.division",
    label=L("Smallest step read, if another gauge"),
    kind="fine",
    help=L("Only with a finer gauge than before. Empty: the same."),
    low=0.0001,
    high=0.1,
    optional=True,
)
REPEAT = Number(
    key="final.repeat",
    label=L("Reading repeats within ±, if better now"),
    kind="fine",
    help=L("Read one spot five times and enter a third of the spread. Empty: as before."),
    low=0.0001,
    high=0.1,
    optional=True,
)
MASTER_U = Number(
    key="final.master_u",
    label=L("Gauge zero error ±, another master"),
    kind="fine",
    help=L("Of the master used now; empty: as before. Two times in three."),
    low=0.0,
    high=0.1,
    optional=True,
)
OVER = Number(
    key="final.over",
    label=L("Allowed above the size wanted"),
    kind="fine",
    help=L("Above this the clearance is too large. Empty: suits the gauge."),
    low=0.001,
    high=0.2,
    optional=True,
)
UNDER = Number(
    key="final.under",
    label=L("Allowed below the size wanted"),
    kind="fine",
    help=L("Below this it can seize; the maker's figure wins. Empty: suits the gauge."),
    low=0.001,
    high=0.2,
    optional=True,
)
ROUND = Number(
    key="final.round",
    label=L("Out of round allowed"),
    kind="fine",
    help=L("Largest less smallest at one depth; maker first. Empty: suits the gauge."),
    low=0.001,
    high=0.2,
    optional=True,
    formula="D_max − D_min at one depth",
)
TAPER = Number(
    key="final.taper",
    label=L("Taper allowed"),
    kind="fine",
    help=L("Largest less smallest down one axis, barrel and waist too. Empty: suits the gauge."),
    low=0.001,
    high=0.2,
    optional=True,
    formula="D_max − D_min down one axis",
)
SURE = DefaultNumber(
    key="final.confidence",
    label=L("Pass/fail confidence"),
    kind="percent",
    help=L("Less than this means: measure again. Higher asks for better gauging."),
    low=0.8,
    high=0.999,
    default=verify.CONFIDENCE,
    source="ISO 14253-1:2017",
)
