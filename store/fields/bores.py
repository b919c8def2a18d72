"""What is asked about the worn bores, the gauge and where the bar stands."""

from __future__ import annotations

from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

__all__ = [
    "AXES",
    "BAR_SHIFT",
    "BLOCK_C",
    "BLOCK_U",
    "CENTRED",
    "CENTRING",
    "CROWN",
    "DEPTH",
    "DEPTHS",
    "DIVISION",
    "EXPANSION",
    "LAST_SIZE",
    "LENGTH",
    "MASTER_U",
    "MATERIAL",
    "OFFSET",
    "READING",
    "REPEAT",
    "RING_BOTTOM",
    "RING_TOP",
    "SIDE",
    "SPACING",
    "SWEPT_U",
    "UNWORN",
    "ZERO",
    "ZERO_C",
    "zero_temperature",
]


def zero_temperature(key: str) -> DefaultNumber:
    """The field for how warm the master was when a gauge was zeroed; every step that measures bores has one."""
    return DefaultNumber(
        key=key,
        label=L("Temperature where the gauge was zeroed"),
        kind="temperature",
        help=L("Of the setting ring or micrometer at that moment. Let gauge and master lie together first."),
        low=-30.0,
        high=70.0,
        default=20.0,
    )


READING = Number(
    key="bore.reading",
    label=L("Bore reading"),
    kind="deviation",
    help=L("What the gauge shows against its zero, or the whole size with its unit."),
    low=-3.0,
    high=5.0,
    at=("cylinder", "depth", "axis"),
    over=True,
    formula="D20 = (zero + reading) / (1 + α (T − 20))",
)
ZERO = Number(
    key="bore.zero",
    label=L("Size the gauge is zeroed at"),
    kind="size",
    help=L("The setting ring's size, or the micrometer's. Empty: the nominal bore."),
    low=20.0,
    high=500.0,
    optional=True,
)
DIVISION = DefaultNumber(
    key="bore.division",
    label=L("Smallest step read on the gauge"),
    kind="fine",
    help=L("One division of the dial, or half of one if you read between the marks."),
    low=0.0005,
    high=0.1,
    default=0.0127,
    card="gauge",
)
REPEAT = DefaultNumber(
    key="bore.repeat",
    label=L("Reading repeats within ±"),
    kind="fine",
    help=L("Read one spot five times and enter about a third of the spread."),
    low=0.0002,
    high=0.1,
    default=0.004,
    card="gauge",
)
MASTER_U = DefaultNumber(
    key="bore.master_u",
    label=L("Gauge zero error ±"),
    kind="fine",
    help=L("Of the setting ring or micrometer, shared by all readings. Two times in three."),
    low=0.0,
    high=0.1,
    default=0.003,
    card="gauge",
)
BLOCK_C = DefaultNumber(
    key="bore.block_temperature",
    label=L("Block temperature"),
    kind="temperature",
    help=L("Measured on bare iron near the bores. A block in the sun is far from air temperature."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
BLOCK_U = DefaultNumber(
    key="bore.block_temperature_u",
    label=L("Block temperature ±"),
    kind="temperature_difference",
    help=L("A guess from the air is good to 5 °C at best. Two times in three."),
    low=0.1,
    high=20.0,
    default=2.0,
)
ZERO_C = zero_temperature("bore.zero_temperature")
MATERIAL = DefaultSelect(
    key="bore.material",
    label=L("Block or liner material"),
    help=L("It decides how much the bore grows with warmth."),
    default="grey_iron",
    source="from memory",
    choices=(
        Choice("grey_iron", L("Grey iron")),
        Choice("aluminium_block", L("Aluminium")),
        Choice("steel", L("Steel")),
    ),
)
EXPANSION = Number(
    key="bore.expansion",
    label=L("Expansion of the block, if known"),
    kind="expansion",
    help=L("Takes the place of the material's usual figure. Most people leave it out."),
    low=5e-6,
    high=30e-6,
    optional=True,
)
LENGTH = DefaultNumber(
    key="bore.length",
    label=L("Bore length"),
    kind="place",
    help=L("From the deck to the lower edge of the bore."),
    low=20.0,
    high=600.0,
    default=130.0,
)
SPACING = Number(
    key="bore.spacing",
    label=L("Distance between bore centres"),
    kind="place",
    help=L("Along the block, bore to bore. Empty: 1.15 times the nominal bore."),
    low=25.0,
    high=800.0,
    optional=True,
)
DEPTHS = DefaultNumber(
    key="bore.depths",
    label=L("Depths measured in each bore"),
    kind="count",
    help=L("Three: near the top of ring travel, the middle, below ring travel."),
    low=1,
    high=8,
    default=3,
)
AXES = DefaultSelect(
    key="bore.axes",
    label=L("Directions measured at each depth"),
    help=L("Across crank is thrust, along crank is the crank line. Diagonals find odd wear."),
    default="two",
    choices=(
        Choice("two", L("Thrust axis and crank line")),
        Choice("four", L("The two and both diagonals")),
        Choice("one", L("Thrust axis only")),
    ),
)
DEPTH = Number(
    key="bore.depth",
    label=L("Depth"),
    kind="place",
    help=L("From the deck to where the feelers touch. Empty: spread over the bore."),
    low=0.0,
    high=600.0,
    at=("depth",),
    optional=True,
)
RING_TOP = Number(
    key="bore.ring_top",
    label=L("Top of ring travel, from the deck"),
    kind="place",
    help=L("Where the ridge begins. It lets the ridge be told from the wear."),
    low=0.0,
    high=200.0,
    optional=True,
)
RING_BOTTOM = Number(
    key="bore.ring_bottom",
    label=L("Bottom of ring travel, from the deck"),
    kind="place",
    help=L("Readings below this count as unworn."),
    low=10.0,
    high=600.0,
    optional=True,
)
SIDE = DefaultSelect(
    key="bore.side",
    label=L("Which side wore"),
    help=L("Say what you saw, or what an indicator on the spindle showed."),
    default="unknown",
    source="JCGM 101:2008, 6.4.2",
    at=("cylinder",),
    choices=(
        Choice("unknown", L("Not known")),
        Choice("even", L("Both sides alike")),
        Choice("one side", L("One side, on the thrust axis")),
        Choice("swept", L("Swept: centre offset known")),
    ),
)
OFFSET = Number(
    key="bore.offset",
    beside=(("bore.side", "swept"),),
    label=L("Offset of the worn bore's centre"),
    kind="diff",
    help=L("Centre on unworn metal. Enter half the difference from side to side."),
    low=0.0,
    high=2.0,
    at=("cylinder",),
    optional=True,
    formula="D_clean = D_worn + 2 × offset",
)
BAR_SHIFT = Number(
    key="bore.bar_shift",
    label=L("Bar set over toward the worn side"),
    kind="diff",
    help=L("How far you set the spindle off centre to save metal. It moves the bore's axis."),
    low=0.0,
    high=1.0,
    at=("cylinder",),
    optional=True,
    formula="D_clean = D_unworn + 2 max(wear on that side − shift, wear on the other + shift)",
)
UNWORN = Number(
    key="bore.unworn",
    label=L("Unworn size, if known"),
    kind="size",
    help=L("Measured above or below ring travel. It replaces the smallest reading."),
    low=20.0,
    high=500.0,
    at=("cylinder",),
    optional=True,
)
LAST_SIZE = Number(
    key="bore.last_size",
    label=L("Last bored to"),
    kind="size",
    help=L("The size of an earlier rebore, from the piston crowns or the papers."),
    low=20.0,
    high=500.0,
    optional=True,
)
CROWN = Number(
    key="bore.crown",
    label=L("Oversize stamped on the old pistons"),
    kind="step",
    help=L("On the crown or in the maker's number. Standard size is 0."),
    low=0.0,
    high=2.6,
    optional=True,
)
CENTRED = DefaultSelect(
    key="bore.centred",
    label=L("Where the bar is centred"),
    help=L("The depth at which the centring device touches."),
    default="bottom",
    choices=(Choice("bottom", L("In the unworn lower end")), Choice("top", L("At the top, above ring travel"))),
)
CENTRING = DefaultNumber(
    key="bore.centring",
    label=L("Spindle centring ±"),
    kind="fine",
    help=L("How far the spindle may stand off its place. Two times in three."),
    low=0.0,
    high=0.2,
    default=0.01,
)
SWEPT_U = DefaultNumber(
    key="bore.offset_u",
    label=L("Swept offset ±"),
    kind="fine",
    help=L("A tenth indicator read with care gives about 0.005 mm. Two times in three."),
    low=0.0005,
    high=0.2,
    default=0.005,
)
