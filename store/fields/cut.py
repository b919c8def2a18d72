"""What is asked about the machine, its passes and the setting micrometer."""

from __future__ import annotations

from logic import cutting, setting
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

from .bores import zero_temperature

__all__ = [
    "BAR",
    "BLOCK_C",
    "CENTRE",
    "EDGE",
    "EDGE_LIFE",
    "EFFICIENCY",
    "FEED",
    "INDEXED",
    "LAST",
    "LEAD",
    "LEAST_HONE",
    "MEASURED",
    "METER",
    "MOTOR",
    "NOSE",
    "ORDER",
    "PRESENT",
    "RESOLUTION",
    "SETTING",
    "SETTING_TIME",
    "SETUP_LIMIT",
    "SPIN",
    "TOOL_LIMIT",
    "USE",
    "WARM",
    "WEAR",
    "ZERO_C",
]

METER = DefaultSelect(
    key="cut.meter",
    label=L("Setting micrometer"),
    help=L("It reads the bore's diameter, or bar and tip together. Choose yours."),
    default=setting.BORE,
    choices=(Choice(setting.BORE, L("Reads the bore's diameter")), Choice(setting.BAR_TIP, L("Reads bar and tip"))),
    card="bar",
)
BAR = Number(
    key="cut.bar",
    label=L("Bar diameter at the micrometer"),
    kind="size",
    help=L("For a micrometer over bar and tip. Measure where its anvil sits."),
    low=15.0,
    high=150.0,
    optional=True,
    formula="D = 2 M − bar",
    card="bar",
)
SPIN = DefaultNumber(
    key="cut.spin",
    label=L("Spindle speed"),
    kind="spin",
    help=L("As the machine runs under load. A plate speed is a little above it."),
    low=20.0,
    high=3000.0,
    default=300.0,
    card="bar",
)
FEED = DefaultNumber(
    key="cut.feed",
    label=L("Feed"),
    kind="feed",
    help=L("How far the bar goes down in one turn. A finer feed leaves finer grooves and takes longer."),
    low=0.02,
    high=0.6,
    default=0.10,
    card="bar",
)
NOSE = DefaultNumber(
    key="cut.nose",
    label=L("Nose radius of the tip"),
    kind="size",
    help=L("On the insert's box. A larger one cuts finer but pushes harder."),
    low=0.1,
    high=2.0,
    default=0.4,
    formula="Rt = f² / 8 r",
    card="bar",
)
LEAD = DefaultNumber(
    key="cut.lead",
    label=L("Angle of the edge to the feed"),
    kind="angle",
    help=L("Ninety degrees is an edge square to the feed."),
    low=30.0,
    high=90.0,
    default=90.0,
    formula="h = f sin κ",
    card="bar",
)
EDGE = DefaultSelect(
    key="cut.material",
    label=L("Edge"),
    help=L("What the tip is made of decides the cutting speed. The maker's figure comes first."),
    default="carbide",
    source="from memory",
    choices=(Choice("hss", L("High-speed steel")), Choice("carbide", L("Carbide")), Choice("cbn", L("Boron nitride"))),
    card="bar",
)
MOTOR = DefaultNumber(
    key="cut.motor",
    label=L("Motor power"),
    kind="power",
    help=L("From the motor's plate. A motor on a long thin lead gives less."),
    low=50.0,
    high=20000.0,
    default=constant("cutting.small_bar_power").value,
    card="bar",
)
EFFICIENCY = DefaultNumber(
    key="cut.efficiency",
    label=L("Share of the power that reaches the spindle"),
    kind="percent",
    help=L("Belts, gears and a cold gearbox take the rest."),
    low=0.2,
    high=1.0,
    default=cutting.EFFICIENCY,
    card="bar",
)
WEAR = DefaultNumber(
    key="cut.wear",
    label=L("Force of a worn edge against a sharp one"),
    kind="ratio",
    help=L("How many times harder a worn edge pushes. The power is checked with it."),
    low=1.0,
    high=3.0,
    default=cutting.WEAR,
)
TOOL_LIMIT = DefaultNumber(
    key="cut.largest",
    label=L("Largest cut on diameter, tool"),
    kind="diff",
    help=L("The most this bar and tip take in one pass. Twice the depth of the cut on one side."),
    low=0.1,
    high=6.0,
    default=constant("cutting.largest_pass").value,
    card="bar",
)
SETUP_LIMIT = Number(
    key="cut.setup",
    label=L("Largest cut on diameter, set-up"),
    kind="diff",
    help=L("Where clamps, a weak stud or a thin block allow less. Empty: tool and motor decide."),
    low=0.05,
    high=6.0,
    optional=True,
)
LAST = DefaultNumber(
    key="cut.last",
    label=L("Last pass, on diameter"),
    kind="diff",
    help=L("A light last pass keeps the size sure. It must still cut and not rub."),
    low=0.05,
    high=1.0,
    default=cutting.LAST_MM,
)
LEAST_HONE = DefaultNumber(
    key="cut.least_hone",
    label=L("Least the hone must still take off"),
    kind="diff",
    help=L("What the hone needs to clear the marks of the bar."),
    low=0.005,
    high=0.2,
    default=0.025,
)
BLOCK_C = DefaultNumber(
    key="cut.block",
    label=L("Block temperature while boring"),
    kind="temperature",
    help=L("Measure it on the wall of a bore. A warm block is bored a little larger."),
    low=-20.0,
    high=80.0,
    default=20.0,
    source="ISO 1",
)
ZERO_C = zero_temperature("cut.zero_temperature")
EDGE_LIFE = DefaultNumber(
    key="cut.life",
    label=L("Passes an edge lasts"),
    kind="count",
    help=L("After so many passes you are reminded to index the insert."),
    low=1,
    high=200,
    default=constant("cutting.edge_life").value,
    card="bar",
)
SETTING_TIME = DefaultNumber(
    key="cut.setting_time",
    label=L("Time to set and measure a pass"),
    kind="duration",
    help=L("Setting the tip, measuring, and lifting the bar. It goes into the time for the job."),
    low=0.0,
    high=3600.0,
    default=240.0,
)
CENTRE = Number(
    key="cut.centre",
    label=L("Tip above or below the bar's centre line"),
    kind="deviation",
    help=L("Measure it once with the tip in the bar. Zero is right; a tip off centre rubs or digs in."),
    low=-5.0,
    high=5.0,
    optional=True,
    card="bar",
)
RESOLUTION = DefaultNumber(
    key="cut.division",
    label=L("Division of the bore gauge"),
    kind="fine",
    help=L("The smallest step you read when you measure a pass."),
    low=0.0005,
    high=0.05,
    default=0.0025,
)
PRESENT = Number(
    key="cut.present",
    label=L("Smallest size before boring"),
    kind="size",
    help=L("Where the bore is least worn, below ring travel. Empty: from the readings."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
    optional=True,
    over=True,
)
SETTING = Number(
    key="cut.setting",
    label=L("Micrometer was set to"),
    kind="size",
    help=L("What the setting micrometer read on the tip for this pass. Log it before you cut."),
    low=15.0,
    high=400.0,
    at=("cylinder", "pass"),
)
MEASURED = Number(
    key="cut.measured",
    label=L("Bore measured"),
    kind="size",
    help=L("As it was, warm or cold. Clean the bore and measure on two axes."),
    low=25.0,
    high=400.0,
    at=("cylinder", "pass"),
    over=True,
)
ORDER = DefaultSelect(
    key="cut.order",
    label=L("Order of the bores"),
    help=L("Every second one first gives each time to cool before its neighbour is cut."),
    default="row",
    choices=(Choice("row", L("As they stand")), Choice("spread", L("Every second one first"))),
)
WARM = Number(
    key="cut.temperature",
    label=L("Bore temperature when measured"),
    kind="temperature",
    help=L("Only where it differs from the block's. A fresh cut is warm."),
    low=-20.0,
    high=120.0,
    at=("cylinder", "pass"),
    optional=True,
)
INDEXED = DefaultSelect(
    key="cut.edge",
    label=L("Edge for this pass"),
    help=L("Say so when you indexed or changed the insert before this pass. The count starts again."),
    default="same",
    at=("cylinder", "pass"),
    choices=(Choice("same", L("Same edge as before")), Choice("fresh", L("Fresh edge"))),
)
USE = DefaultSelect(
    key="cut.use",
    label=L("This pair"),
    help=L("Leave a pair out when the tip slipped or a figure was misread. It stays in the log."),
    default="keep",
    at=("cylinder", "pass"),
    choices=(Choice("keep", L("Counts for the bar's error")), Choice("strike", L("Left out"))),
)
