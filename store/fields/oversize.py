"""What is asked about the oversize."""

from __future__ import annotations

from logic import oversize
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

__all__ = ["BORED_U", "CONFIDENCE", "HONE_ALLOW", "LARGEST", "LISTED", "MIXED", "SERIES"]

SERIES = DefaultSelect(
    key="oversize.series",
    label=L("Steps to choose from"),
    help=L("The oversizes that pistons come in. A metric nominal bore gets the metric list."),
    default="auto",
    choices=(
        Choice("auto", L("By the nominal bore")),
        Choice("inch", L("Inch steps")),
        Choice("mm", L("Millimetre steps")),
        Choice("both", L("Both")),
        Choice("listed", L("Only the ones I list")),
    ),
)
LISTED = Number(
    key="oversize.listed",
    label=L("Piston oversizes you can get"),
    kind="step",
    help=L("Over the nominal bore. List what your supplier really has, to add it to the usual steps."),
    low=0.01,
    high=10.0,
    at=("item",),
    optional=True,
)
CONFIDENCE = DefaultNumber(
    key="oversize.confidence",
    label=L("Confidence wanted"),
    kind="percent",
    help=L("How sure it must be that every bore cleans up."),
    low=0.5,
    high=0.999,
    default=oversize.CONFIDENCE,
)
HONE_ALLOW = DefaultNumber(
    key="oversize.hone_allow",
    label=L("Wear that may be honed out for the present pistons"),
    kind="diff",
    help=L("How much larger than unworn a bore may be with its old piston."),
    low=0.0,
    high=0.3,
    default=oversize.HONE_ALLOW_MM,
)
BORED_U = DefaultNumber(
    key="oversize.bored_u",
    label=L("Bored size ±"),
    kind="fine",
    help=L("How closely the bar hits its size, its setting learned. Two times in three."),
    low=0.0,
    high=0.1,
    default=oversize.U_BORED_MM,
)
MIXED = DefaultSelect(
    key="oversize.mixed",
    label=L("Oversizes may differ from bore to bore"),
    help=L("Usually all bores get the same. Different pistons weigh differently and upset the balance."),
    default="no",
    choices=(Choice("no", L("No, one for all")), Choice("yes", L("Yes, each its own"))),
)
LARGEST = Number(
    key="oversize.largest",
    label=L("Largest finished bore allowed"),
    kind="size",
    help=L("The maker's limit for this block. Measured walls set their own."),
    low=20.0,
    high=500.0,
    optional=True,
)
