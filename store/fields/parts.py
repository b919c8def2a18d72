"""What is asked about the parts to order and the price."""

from __future__ import annotations

from logic.fields import Choice, DefaultSelect, Number, Select, Text
from logic.say import L

__all__ = [
    "BEARINGS",
    "GASKETS",
    "MAKE",
    "MARGIN",
    "ORDERED",
    "PARTS_PRICE",
    "PER_BORE",
    "PER_EDGE",
    "PER_HOUR",
    "PER_SET",
    "TO_BE_HAD",
    "TRAVEL",
]

TO_BE_HAD = Select(
    key="parts.to_be_had",
    label=L("Pistons of this step"),
    help=L("Ask before anything is cut. No: the ways out are listed."),
    optional=True,
    choices=(Choice("yes", L("Can be had")), Choice("no", L("Cannot be had"))),
)
MAKE = Text(
    key="parts.make",
    label=L("Make or number of the pistons"),
    help=L("Goes on the list for the supplier as you write it."),
    optional=True,
)
GASKETS = DefaultSelect(
    key="parts.gaskets",
    label=L("Gaskets"),
    help=L("The head gasket is always new, to suit the new bore."),
    default="set",
    choices=(Choice("set", L("Full set")), Choice("head", L("Head gasket only"))),
)
BEARINGS = DefaultSelect(
    key="parts.bearings",
    label=L("New bearings"),
    help=L("Measure the crank first: they come in its undersizes."),
    default="none",
    choices=(Choice("none", L("None")), Choice("rods", L("Big ends")), Choice("all", L("Mains and big ends"))),
)
ORDERED = Select(
    key="parts.ordered",
    label=L("Parts"),
    help=L("Nothing is cut before the pistons are here and measured."),
    choices=(Choice("yes", L("Ordered")), Choice("here", L("Here"))),
)
PER_HOUR = Number(
    key="parts.per_hour",
    label=L("Your rate per hour"),
    kind="money",
    help=L("Only where this job has another than your settings."),
    low=0.0,
    high=1_000_000.0,
    optional=True,
)
PER_BORE = Number(
    key="parts.per_bore",
    label=L("Your price per bore"),
    kind="money",
    help=L("On top of the time. Only where it differs from your settings."),
    low=0.0,
    high=1_000_000.0,
    optional=True,
)
PER_EDGE = Number(
    key="parts.per_edge",
    label=L("Your price for a cutting edge"),
    kind="money",
    help=L("The insert's price shared over its edges. Only where it differs from your settings."),
    low=0.0,
    high=1_000_000.0,
    optional=True,
)
PER_SET = Number(
    key="parts.per_set",
    label=L("Your price for a set of stones"),
    kind="money",
    help=L("One set for the hone. Only where it differs from your settings."),
    low=0.0,
    high=1_000_000.0,
    optional=True,
)
PARTS_PRICE = Number(
    key="parts.price",
    label=L("Price of the parts"),
    kind="money",
    help=L("What the supplier asks for all of the list."),
    low=0.0,
    high=10_000_000.0,
    optional=True,
)
TRAVEL = Number(
    key="parts.travel",
    label=L("Price of the journey"),
    kind="money",
    help=L("There and back. Only where it differs from your settings."),
    low=0.0,
    high=1_000_000.0,
    optional=True,
)
MARGIN = Number(
    key="parts.margin",
    label=L("Your margin on the parts"),
    kind="percent",
    help=L("On top of what the supplier asks. Only where it differs from your settings."),
    low=0.0,
    high=2.0,
    optional=True,
)
