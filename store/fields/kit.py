"""What is asked on kit cards alone: the constants of an instrument, and its checks against a master.

They are not in :data:`store.fields.MODULES`, for no step of a job asks them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from logic.constants import constant
from logic.fields import DefaultNumber, Field, Number
from logic.say import L

from . import straight

__all__ = [
    "CHECK_ERROR",
    "DIVISION",
    "INTERVAL",
    "LIMIT",
    "MASTER_EXPANSION",
    "MASTER_SIZE",
    "MASTER_U",
    "ON_CARDS",
    "THICKNESS_LIMIT",
]

DIVISION = DefaultNumber(
    key="card.division",
    label=L("Smallest division read"),
    kind="fine",
    help=L("The smallest step you read on it. An error smaller than this cannot be seen."),
    low=0.0001,
    high=0.1,
    default=0.0025,
)
LIMIT = DefaultNumber(
    key="card.limit",
    label=L("Largest error allowed"),
    kind="fine",
    help=L("Beyond this, set or mend it before you use it. Its maker's figure comes first."),
    low=0.0005,
    high=0.5,
    default=0.005,
)
INTERVAL = DefaultNumber(
    key="card.interval",
    label=L("Days between checks"),
    kind="count",
    help=L("Check it against a master. Check also after a knock or a surprising result."),
    low=1,
    high=1000,
    default=30,
)
MASTER_U = DefaultNumber(
    key="card.master_u",
    label=L("Error on master ±"),
    kind="fine",
    help=L("Half the ± on its certificate. A ring never measured is less sure."),
    low=0.0,
    high=0.05,
    default=0.001,
)
CHECK_ERROR = Number(
    key="card.error",
    label=L("Shown minus true"),
    kind="deviation",
    help=L("Shown on the master, less the master's size; plus is too large. Both at one temperature."),
    low=-2.0,
    high=2.0,
    at=("check",),
)
MASTER_SIZE = Number(
    key="card.size",
    label=L("Size marked on it"),
    kind="size",
    help=L("At 20 °C, as marked or as its certificate says. The certificate wins."),
    low=1.0,
    high=500.0,
)
MASTER_EXPANSION = DefaultNumber(
    key="card.expansion",
    label=L("Expansion"),
    kind="expansion",
    help=L("How much its material grows per degree. Steel unless it is marked otherwise."),
    low=0.5e-6,
    high=30e-6,
    default=constant("expansion.steel").value,
    source=constant("expansion.steel").source,
)
THICKNESS_LIMIT = replace(LIMIT, default=0.1, high=2.0)

#: By key, the forms in which a field is asked on one card or another: a value may be what any of them allows.
ON_CARDS: Mapping[str, tuple[Field, ...]] = {
    DIVISION.key: (DIVISION,),
    LIMIT.key: (LIMIT, THICKNESS_LIMIT),
    INTERVAL.key: (INTERVAL,),
    MASTER_U.key: (MASTER_U,),
    CHECK_ERROR.key: (CHECK_ERROR,),
    MASTER_SIZE.key: (MASTER_SIZE,),
    MASTER_EXPANSION.key: (MASTER_EXPANSION,),
    **{
        f.key: (f,)
        for f in (straight.BASE, straight.DEPTH, straight.SIZE, straight.SQUARE, straight.REPEAT, straight.LIMIT)
    },
}
