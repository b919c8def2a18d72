"""What is asked about the walls."""

from __future__ import annotations

from logic.fields import Choice, DefaultNumber, Number, Select
from logic.say import L

__all__ = ["KNOWN", "MINIMUM", "MINIMUM_THRUST", "READING", "REPEAT", "SET_SPEED", "SHOWN", "THRUST"]

READING = Number(
    key="wall.reading",
    label=L("Wall, as the gauge shows it"),
    kind="wall",
    help=L("Move the wet probe up and down. Enter the thinnest reading of that side."),
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
    help=L("Where calipers reach the same block: an edge or flange as thick as the walls."),
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
    help=L("Use the same probe, couplant and setting as for the walls."),
    low=0.5,
    high=80.0,
    at=("piece",),
    optional=True,
)
SET_SPEED = Number(
    key="wall.set_speed",
    label=L("Speed of sound set on the gauge"),
    kind="sound",
    help=L("The gauge's own setting. A known piece of this metal corrects it."),
    low=1000.0,
    high=10000.0,
    optional=True,
)
REPEAT = DefaultNumber(
    key="wall.repeat",
    label=L("Wall reading repeats within ±"),
    kind="diff",
    help=L("Lift the probe, read one spot five times, enter a third of the spread."),
    low=0.005,
    high=1.0,
    default=0.05,
)
MINIMUM = DefaultNumber(
    key="wall.minimum",
    label=L("Least wall to leave"),
    kind="wall",
    help=L("The maker's figure wins. A hard-worked engine needs more than the usual."),
    low=0.5,
    high=20.0,
    default=3.0,
)
THRUST = Select(
    key="wall.thrust",
    label=L("Side that takes the thrust"),
    help=L("As you look from the rear to the front. The piston leans on it when driven down."),
    choices=(Choice("left", L("Left")), Choice("right", L("Right"))),
    optional=True,
)
MINIMUM_THRUST = Number(
    key="wall.minimum_thrust",
    beside=(("wall.thrust", ""),),
    label=L("Least wall on the thrust side"),
    kind="wall",
    help=L("Some makers want more there. Empty: the same minimum holds all round."),
    low=0.5,
    high=20.0,
    optional=True,
)
