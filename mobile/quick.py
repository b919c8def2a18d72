"""The two numbers of the quick check, as the first screen and the command ask for them."""

from __future__ import annotations

from logic.fields import Number
from logic.say import L

__all__ = ["NOMINAL", "WORST"]

NOMINAL = Number(
    key="quick.nominal",
    label=L("Nominal bore"),
    kind="size",
    low=20,
    high=500,
    help=L("The bore size the engine was made with. The oversize steps are counted from here."),
)
WORST = Number(
    key="quick.worst",
    label=L("Worst reading"),
    kind="size",
    low=20,
    high=500,
    over=True,
    help=L("The largest diameter found anywhere in the bore. A signed number is taken as over nominal."),
)
