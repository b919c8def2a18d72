"""What is asked about the rings."""

from __future__ import annotations

from logic import rings
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

__all__ = [
    "COMPRESSION_RINGS",
    "FEELER",
    "GAP",
    "LEAST",
    "OIL_RING",
    "OIL_RINGS",
    "READ_IN",
    "RING_TEMPERATURE",
    "SECOND_SHARE",
    "TOP_SHARE",
    "WALL_TEMPERATURE",
    "WIDEST",
    "WIDEST_SHARE",
]

COMPRESSION_RINGS = DefaultNumber(
    key="rings.compression",
    label=L("Compression rings on a piston"),
    kind="count",
    help=L("How many rings lie above the oil ring. They are counted from the crown down."),
    low=1,
    high=5,
    default=2,
)
OIL_RING = DefaultSelect(
    key="rings.oil",
    label=L("Oil ring"),
    help=L("Two steel rails with an expander, or one slotted iron ring."),
    default="rails",
    choices=(Choice("rails", L("Two steel rails")), Choice("cast", L("One iron ring"))),
)
OIL_RINGS = DefaultNumber(
    key="rings.oil_rings",
    label=L("Oil rings on a piston"),
    kind="count",
    help=L("Some have a second one below the pin. Each is measured."),
    low=1,
    high=2,
    default=1,
)
TOP_SHARE = Number(
    key="rings.top_share",
    label=L("Top ring: gap per unit of bore"),
    kind="per_size",
    help=L("The ring maker's share of the bore. Empty: by the engine's duty."),
    low=0.001,
    high=0.02,
    optional=True,
    formula="least gap = share × bore",
)
SECOND_SHARE = Number(
    key="rings.second_share",
    label=L("Other iron rings: gap per unit of bore"),
    kind="per_size",
    help=L("For the second ring and those below. Empty: by the engine's duty."),
    low=0.001,
    high=0.02,
    optional=True,
    formula="least gap = share × bore",
)
WIDEST_SHARE = DefaultNumber(
    key="rings.widest_share",
    label=L("Widest gap per unit of bore"),
    kind="per_size",
    help=L("A wider gap is most likely the wrong ring. Not for oil rails."),
    low=0.002,
    high=0.05,
    default=rings.WIDEST_PER_BORE,
    formula="widest gap = share × bore",
)
FEELER = DefaultNumber(
    key="rings.feeler",
    label=L("Step of the feelers"),
    kind="diff",
    help=L("The difference from one blade, or pair of blades, to the next."),
    low=0.0,
    high=0.2,
    default=0.0254,
    formula="u = step / √12",
)
RING_TEMPERATURE = Number(
    key="rings.ring_temperature",
    label=L("Top ring when hot"),
    kind="temperature",
    help=L("Shows how much gap is left when hot. Empty: by the engine's duty."),
    low=60,
    high=450,
    optional=True,
    source="from memory",
)
WALL_TEMPERATURE = Number(
    key="rings.wall_temperature",
    label=L("Cylinder wall when hot"),
    kind="temperature",
    help=L("The wall at the top of ring travel. Empty: goes by what the engine does."),
    low=40,
    high=300,
    optional=True,
    source="from memory",
)
LEAST = Number(
    key="rings.least",
    below="rings.widest",
    label=L("Least gap the maker gives"),
    kind="diff",
    help=L("For this ring, in this bore. It takes the place of the share of the bore."),
    low=0.02,
    high=5.0,
    at=("ring",),
    optional=True,
)
WIDEST = Number(
    key="rings.widest",
    label=L("Widest gap the maker gives"),
    kind="diff",
    help=L("For this ring, in this bore. It takes the place of the usual widest gap."),
    low=0.02,
    high=8.0,
    at=("ring",),
    optional=True,
)
GAP = Number(
    key="rings.gap",
    label=L("Gap measured"),
    kind="diff",
    help=L("The thickest feeler that just drags, ring square at the top of ring travel."),
    low=0.0,
    high=8.0,
    at=("cylinder", "ring"),
)
READ_IN = Number(
    key="rings.bore",
    label=L("Bore the rings were tried in"),
    kind="size",
    help=L("Only where it was not the finished bore, such as before the last honing."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
    optional=True,
    formula="gap + π (finished bore − this bore)",
)
