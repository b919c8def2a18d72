"""How warm things are, asked once a visit for all steps."""

from __future__ import annotations

from logic.fields import Number
from logic.say import L

__all__ = ["BLOCK", "GAUGE", "MICROMETER", "PISTONS"]

BLOCK = Number(
    key="visit.block",
    label=L("Block"),
    kind="temperature",
    help=L("On bare iron near the bores, after a minute. In the sun it is far from the air's."),
    low=-30.0,
    high=80.0,
    at=("visit",),
    formula="D20 = D / (1 + α (T − 20))",
)
GAUGE = Number(
    key="visit.gauge",
    label=L("Bore gauge and its master"),
    kind="temperature",
    help=L("Let gauge and master lie together first. Empty: as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
MICROMETER = Number(
    key="visit.micrometer",
    label=L("Micrometer"),
    kind="temperature",
    help=L("The one the pistons are measured with. Empty: as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
PISTONS = Number(
    key="visit.pistons",
    label=L("Pistons"),
    kind="temperature",
    help=L("Leave the pistons by the block until both are alike. Empty: as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
