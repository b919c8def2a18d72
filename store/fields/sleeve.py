"""What is asked about dry sleeves."""

from __future__ import annotations

from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.say import L

__all__ = [
    "BLOCK_LIMIT",
    "BLOCK_MODULUS",
    "BORED",
    "CLEARANCE",
    "COLD",
    "FRICTION",
    "HOTTEST",
    "INSIDE",
    "LEAST_FIT",
    "LEAST_SLEEVE",
    "LEAST_STOCK",
    "LENGTH",
    "MOST_FIT",
    "OUTSIDE",
    "OUTSIDE_AGAIN",
    "ROOM",
    "SLEEVE_MODULUS",
    "WANTED",
]

WANTED = DefaultSelect(
    key="sleeve.wanted",
    label=L("This cylinder gets a sleeve"),
    help=L("For a cylinder that is cracked or pitted, or that no oversize cleans up."),
    default="no",
    at=("cylinder",),
    choices=(Choice("no", L("No")), Choice("yes", L("Yes"))),
)
OUTSIDE = Number(
    key="sleeve.outside",
    label=L("Sleeve, outside"),
    kind="size",
    help=L("Mean of top, middle and bottom, two ways, all at one temperature."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
)
OUTSIDE_AGAIN = Number(
    key="sleeve.outside_again",
    beside=(("sleeve.outside", ""),),
    label=L("Sleeve, outside, a second time"),
    kind="size",
    help=L("Measured again where no sleeve like it confirms the size. The bore is cut to it."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
    optional=True,
)
INSIDE = Number(
    key="sleeve.inside",
    label=L("Sleeve, inside"),
    kind="size",
    help=L("As it comes, before it is fitted. It closes in when it is."),
    low=20.0,
    high=390.0,
    at=("cylinder",),
)
LENGTH = Number(
    key="sleeve.length",
    label=L("Sleeve, length in the block"),
    kind="place",
    help=L("The length that touches the block. Empty: the bore's length is taken."),
    low=20.0,
    high=600.0,
    at=("cylinder",),
    optional=True,
)
BORED = Number(
    key="sleeve.bored",
    label=L("Bore for the sleeve, as measured"),
    kind="size",
    help=L("After boring, before fitting. Measure it as carefully as a finished bore."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
)
LEAST_FIT = Number(
    key="sleeve.fit_least",
    below="sleeve.fit_most",
    label=L("Least interference"),
    kind="diff",
    help=L("The least interference; the maker's figure wins. Empty: by diameter."),
    low=0.0,
    high=0.3,
    optional=True,
)
MOST_FIT = Number(
    key="sleeve.fit_most",
    label=L("Most interference"),
    kind="diff",
    help=L("The most interference. Too much cracks the block."),
    low=0.0,
    high=0.4,
    optional=True,
)
FRICTION = DefaultNumber(
    key="sleeve.friction",
    label=L("Friction while pressing in"),
    kind="plain",
    help=L("Lightly oiled iron in iron. It decides the force of the press."),
    low=0.03,
    high=0.4,
    default=constant("friction.press_fit").value,
    source=constant("friction.press_fit").source,
)
BLOCK_LIMIT = DefaultNumber(
    key="sleeve.block_limit",
    label=L("Most tension in the block"),
    kind="pressure",
    help=L("What the iron round the sleeve may bear: about a quarter of its strength."),
    low=5.0,
    high=300.0,
    default=60.0,
)
BLOCK_MODULUS = DefaultNumber(
    key="sleeve.block_modulus",
    label=L("Stiffness of the block's iron"),
    kind="modulus",
    help=L("Grey irons differ by a third. Empty: by the block's material."),
    low=60_000.0,
    high=220_000.0,
    default=constant("modulus.grey_iron").value,
    source=constant("modulus.grey_iron").source,
)
SLEEVE_MODULUS = DefaultNumber(
    key="sleeve.modulus",
    label=L("Stiffness of the sleeve's iron"),
    kind="modulus",
    help=L("Stiffness of the sleeve. From 190 GPa it counts as steel."),
    low=60_000.0,
    high=220_000.0,
    default=constant("modulus.grey_iron").value,
    source=constant("modulus.grey_iron").source,
)
CLEARANCE = DefaultNumber(
    key="sleeve.clearance",
    label=L("Clearance for a free drop"),
    kind="diff",
    help=L("Room on diameter, so that the sleeve falls in before it warms."),
    low=0.005,
    high=0.5,
    default=0.05,
)
ROOM = DefaultNumber(
    key="sleeve.room",
    label=L("Temperature of block and sleeve before"),
    kind="temperature",
    help=L("Where both have lain long enough to be alike. It is the start for heating and cooling."),
    low=-20.0,
    high=50.0,
    default=20.0,
)
COLD = Number(
    key="sleeve.cold",
    label=L("Temperature of the cooled sleeve"),
    kind="temperature",
    help=L("A freezer gives about −18 °C, dry ice about −70 °C. Empty: the sleeve is not cooled."),
    low=-196.0,
    high=40.0,
    optional=True,
)
HOTTEST = DefaultNumber(
    key="sleeve.hottest",
    label=L("Hottest the block may get"),
    kind="temperature",
    help=L("Paint, seals and bearings left in set the limit."),
    low=30.0,
    high=250.0,
    default=120.0,
)
LEAST_STOCK = DefaultNumber(
    key="sleeve.least_stock",
    label=L("Least to bore out of a fitted sleeve"),
    kind="diff",
    help=L("On diameter, so that the whole sleeve cleans up true to the crank."),
    low=0.05,
    high=3.0,
    default=0.4,
)
LEAST_SLEEVE = DefaultNumber(
    key="sleeve.least_wall",
    label=L("Thinnest finished sleeve"),
    kind="wall",
    help=L("After boring and honing. Thinner sleeves crack."),
    low=0.5,
    high=10.0,
    default=1.5,
)
