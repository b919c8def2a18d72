"""How warm things are, asked once a visit for all steps."""

from __future__ import annotations

from logic.fields import Number
from logic.say import L

__all__ = ["BLOCK", "GAUGE", "MICROMETER", "PISTONS"]

BLOCK = Number(
    key="visit.block",
    label=L("Block"),
    kind="temperature",
    help=L("On bare iron near the bores, after a minute. A block in the sun is far from air temperature."),
    low=-30.0,
    high=80.0,
    at=("visit",),
    formula="D20 = D / (1 + α (T − 20))",
)
GAUGE = Number(
    key="visit.gauge",
    label=L("Bore gauge and its master"),
    kind="temperature",
    help=L("Let gauge and master lie together first. Left out, they are as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
MICROMETER = Number(
    key="visit.micrometer",
    label=L("Micrometer"),
    kind="temperature",
    help=L("The one the pistons are measured with. Left out, it is as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
PISTONS = Number(
    key="visit.pistons",
    label=L("Pistons"),
    kind="temperature",
    help=L("Leave the pistons next to the block until both are alike. Left out, they are as warm as the block."),
    low=-30.0,
    high=70.0,
    at=("visit",),
    optional=True,
)
