"""What is asked about honing and the finish."""

from __future__ import annotations

from logic import finish, hone_plan
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number, Select
from logic.say import L

from .bores import zero_temperature

__all__ = [
    "ACROSS",
    "ANGLE",
    "BAND",
    "BELOW_STONES",
    "BLOCK_C",
    "CLEAR",
    "FACE",
    "FINISH_U",
    "FLUID",
    "GRIT",
    "GRITS",
    "LIMITS",
    "MEASURED",
    "OVERRUN",
    "PLATE",
    "RATE",
    "REPEAT",
    "SET",
    "SHARED",
    "SIZE",
    "SPIN",
    "STONE",
    "STRAIGHT",
    "STROKES",
    "WARM",
    "ZERO_C",
]

FACE = DefaultSelect(
    key="hone.face",
    label=L("Face of the top ring"),
    help=L("What the ring runs on the wall with. The ring maker's figures win."),
    default="iron",
    choices=tuple(Choice(key, ring.name) for key, ring in finish.RINGS.items()),
)
GRITS = tuple(
    Number(
        key=f"hone.grit{n}",
        label=(L("First grit"), L("Second grit"), L("Third grit"))[n - 1],
        kind="count",
        help=L("The number on the stones, the coarsest first. Empty: goes by the face of the ring."),
        low=60,
        high=1200,
        optional=True,
        source="from memory",
    )
    for n in (1, 2, 3)
)
BAND = DefaultNumber(
    key="hone.band",
    label=L("Finished size may be off by"),
    kind="fine",
    help=L("Either way from the finished size. The piston's clearance allows about this much."),
    low=0.002,
    high=0.05,
    default=0.0065,
)
STRAIGHT = DefaultNumber(
    key="hone.straight",
    label=L("Straight means within"),
    kind="fine",
    help=L("Most taper, waist or barrel, on diameter. A quarter thou is good work."),
    low=0.001,
    high=0.05,
    default=0.0065,
)
SPIN = DefaultNumber(
    key="hone.spin",
    label=L("Spindle speed"),
    kind="spin",
    help=L("As the hone turns under load. With the strokes it sets the crosshatch."),
    low=20.0,
    high=1500.0,
    default=200.0,
    card="hone",
)
RATE = DefaultNumber(
    key="hone.rate",
    label=L("Double strokes per minute"),
    kind="rate",
    help=L("Down and up counts as one. Count them for half a minute and double it."),
    low=2.0,
    high=200.0,
    default=60.0,
    card="hone",
)
STONE = DefaultNumber(
    key="hone.stone",
    label=L("Length of the stones"),
    kind="place",
    help=L("The abrasive alone, without its holder. Best between half and three quarters of the bore."),
    low=15.0,
    high=300.0,
    default=75.0,
    card="hone",
)
BELOW_STONES = DefaultNumber(
    key="hone.below_stones",
    label=L("Hone below its stones"),
    kind="place",
    help=L("How far body or holders reach below the stones."),
    low=0.0,
    high=100.0,
    default=5.0,
    card="hone",
)
CLEAR = Number(
    key="hone.clear",
    label=L("Room under the bore to the web"),
    kind="place",
    help=L("From the bore's lower end to the nearest web, cap or crank. The least of all."),
    low=0.0,
    high=500.0,
    optional=True,
)
OVERRUN = DefaultNumber(
    key="hone.overrun",
    label=L("Share of the stone that runs out"),
    kind="percent",
    help=L("At each end of the stroke. More makes the ends wide, less leaves them tight."),
    low=0.1,
    high=0.5,
    default=hone_plan.OVERRUN,
)
ANGLE = DefaultNumber(
    key="hone.angle",
    label=L("Crosshatch wanted"),
    kind="angle",
    help=L("The included angle between the two sets of marks. Flat holds oil, steep lets it drain."),
    low=22.5,
    high=44.5,
    default=hone_plan.CROSSHATCH.value,
)
PLATE = Select(
    key="hone.plate",
    label=L("Torque plate"),
    help=L("A thick plate tightened like the head, so that the bore is honed in the shape it runs in."),
    optional=True,
    choices=(Choice("yes", L("On while honing")), Choice("no", L("None")), Choice("none", L("Not needed here"))),
)
FLUID = Select(
    key="hone.fluid",
    label=L("What the stones run in"),
    help=L("Honing oil keeps the stones open. The maker of the stones comes first."),
    optional=True,
    choices=(Choice("oil", L("Honing oil")), Choice("paraffin", L("Paraffin")), Choice("dry", L("Dry"))),
)
ACROSS = Number(
    key="hone.across",
    label=L("Same depth, along the crank"),
    kind="size",
    help=L("A second reading at right angles. The mean counts, and the two show whether it is round."),
    low=20.0,
    high=500.0,
    at=("cylinder", "check", "depth"),
    over=True,
    optional=True,
    beside=(("hone.size", ""),),
)
REPEAT = DefaultNumber(
    key="hone.repeat",
    label=L("Gauge repeats within"),
    kind="fine",
    help=L("Read one place ten times to find out."),
    low=0.0002,
    high=0.02,
    default=0.0015,
)
SHARED = DefaultNumber(
    key="hone.shared",
    label=L("Gauge zero error ±, honing"),
    kind="fine",
    help=L("Master, zero and temperatures together, in every reading. Two times in three."),
    low=0.0,
    high=0.02,
    default=0.001,
)
BLOCK_C = DefaultNumber(
    key="hone.block",
    label=L("Block temperature before honing"),
    kind="temperature",
    help=L("The block at rest, before the stones warm it. The bore is compared with it."),
    low=-20.0,
    high=60.0,
    default=20.0,
    source="ISO 1",
)
ZERO_C = zero_temperature("hone.zero_temperature")
STROKES = DefaultNumber(
    key="hone.strokes",
    label=L("Double strokes since the last check"),
    kind="count",
    help=L("Zero at the first check, before any stroke. Count down and up as one."),
    low=0,
    high=500,
    default=0,
    at=("cylinder", "check"),
)
GRIT = Number(
    key="hone.grit",
    label=L("Grit of these strokes"),
    kind="count",
    help=L("The number on the stones you used since the last check. Empty: goes on as before."),
    low=60,
    high=1200,
    optional=True,
    at=("cylinder", "check"),
)
SET = DefaultSelect(
    key="hone.set",
    label=L("Stones for these strokes"),
    help=L("Say so when you put in a fresh set before these strokes. Its life is counted from here."),
    default="same",
    at=("cylinder", "check"),
    choices=(Choice("same", L("Same stones as before")), Choice("fresh", L("Fresh set"))),
)
WARM = Number(
    key="hone.temperature",
    label=L("Bore temperature"),
    kind="temperature",
    help=L("Of the wall at this check. Empty: as the block before honing."),
    low=-20.0,
    high=120.0,
    optional=True,
    at=("cylinder", "check"),
)
SIZE = Number(
    key="hone.size",
    label=L("Size"),
    kind="size",
    help=L("Top, middle and bottom, mean of two axes each, warm or cold."),
    low=25.0,
    high=400.0,
    over=True,
    at=("cylinder", "check", "depth"),
)
MEASURED = {
    key: Number(
        key=f"hone.{key}",
        label=label,
        kind="rough",
        help=L("From a roughness instrument, in the middle of the bore along its axis."),
        low=0.02,
        high=20.0,
        optional=True,
        at=("cylinder",),
    )
    for key, label in finish.PARAMETERS.items()
}
FINISH_U = DefaultNumber(
    key="hone.finish_doubt",
    label=L("Measured finish ±"),
    kind="percent",
    help=L("Of the instrument, and from place to place. Two times in three."),
    low=0.01,
    high=0.5,
    default=0.06,
)
LIMITS = {
    (key, side): Number(
        key=f"hone.{key}_{side}",
        label=L("{what}, at least", what=label) if side == "low" else L("{what}, at most", what=label),
        kind="rough",
        help=L("The ring maker's, against what you measured. Empty: by the ring's face."),
        low=0.0,
        high=20.0,
        optional=True,
        source="from memory",
        below=f"hone.{key}_high" if side == "low" else "",
    )
    for key, label in finish.PARAMETERS.items()
    for side in ("low", "high")
}
