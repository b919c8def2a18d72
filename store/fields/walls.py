"""What is asked about the walls."""

from __future__ import annotations

from logic.fields import Choice, DefaultNumber, Number, Select
from logic.say import L

__all__ = ["KNOWN", "MINIMUM", "MINIMUM_THRUST", "READING", "REPEAT", "SET_SPEED", "SHOWN", "THRUST"]

READING = Number(
    key="wall.reading",
    label=L("Wall, as the gauge shows it"),
    kind="wall",
    help=L(
        "Move the probe up and down and enter the thinnest reading on that side. Wet it well and press it square to the bore."
    ),
    low=0.5,
    high=40.0,
    at=("cylinder", "angle"),
    formula="wall after = wall − (new bore − old bore) / 2 − shift",
)
KNOWN = Number(
    key="wall.known",
    beside=(("wall.shown", ""),),
    label=L("Known thickness"),
    kind="wall",
    help=L(
        "A place of the same block that calipers or a micrometer reach, such as an edge or a flange. About as thick as the walls is best."
    ),
    low=1.0,
    high=60.0,
    at=("piece",),
    optional=True,
)
SHOWN = Number(
    key="wall.shown",
    beside=(("wall.known", ""),),
    label=L("What the gauge shows there"),
    kind="wall",
    help=L(
        "Read it with the same probe, couplant and setting as the walls. One known place sets the scale, two set the zero as well."
    ),
    low=0.5,
    high=80.0,
    at=("piece",),
    optional=True,
)
SET_SPEED = Number(
    key="wall.set_speed",
    label=L("Speed of sound set on the gauge"),
    kind="sound",
    help=L(
        "Without a known place it decides how thick a wall may truly be. With one, the iron's own speed follows from it."
    ),
    low=1000.0,
    high=10000.0,
    optional=True,
)
REPEAT = DefaultNumber(
    key="wall.repeat",
    label=L("How well a wall reading repeats"),
    kind="diff",
    help=L(
        "Take the probe off and read one spot five times: about a third of the spread. Pitted or scaled walls repeat worse."
    ),
    low=0.005,
    high=1.0,
    default=0.05,
)
MINIMUM = DefaultNumber(
    key="wall.minimum",
    label=L("Least wall to leave"),
    kind="wall",
    help=L("The maker's figure wins. Hard-worked and supercharged engines need more than the usual figure."),
    low=0.5,
    high=20.0,
    default=3.0,
)
THRUST = Select(
    key="wall.thrust",
    label=L("Side that takes the thrust"),
    help=L(
        "Left and right as you look from the rear toward the front. It is the side the piston leans on as it is driven down."
    ),
    choices=(Choice("left", L("Left")), Choice("right", L("Right"))),
    optional=True,
)
MINIMUM_THRUST = Number(
    key="wall.minimum_thrust",
    beside=(("wall.thrust", ""),),
    label=L("Least wall on the thrust side"),
    kind="wall",
    help=L("Some makers want more there. Left out, the same minimum holds all round."),
    low=0.5,
    high=20.0,
    optional=True,
)
