"""What is asked about clearance and pistons."""

from __future__ import annotations

from logic import sizing
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number, Select
from logic.oversize import HONE_STOCK_MM
from logic.places import MOST_CYLINDERS
from logic.say import L

__all__ = [
    "ALLOY",
    "CLEARANCE",
    "COOLING",
    "DUTY",
    "FITTED",
    "FUEL",
    "HONE_STOCK",
    "LEAST_RUNNING",
    "PISTON",
    "PISTON_C",
    "PISTON_C_U",
    "PISTON_U",
    "SKIRT_C",
    "WALL_C",
]

CLEARANCE = Number(
    key="sizes.clearance",
    label=L("Clearance the piston maker gives"),
    kind="fine",
    help=L("Cold, on diameter, at the piston's gauge point. It comes before any table."),
    low=0.0,
    high=0.6,
    formula="finished = piston + clearance",
)
ALLOY = DefaultSelect(
    key="sizes.alloy",
    label=L("What the pistons are made of"),
    help=L("It decides the usual clearance and how much the skirt grows."),
    default="cast",
    choices=tuple(Choice(a.key, a.label) for a in sizing.ALLOYS.values()),
)
DUTY = DefaultSelect(
    key="sizes.duty",
    label=L("What the engine does"),
    help=L("Hard work makes pistons hot: they need more clearance."),
    default="road",
    choices=tuple(Choice(d.key, d.label) for d in sizing.DUTIES.values()),
)
FUEL = Select(
    key="sizes.fuel",
    label=L("Fuel"),
    help=L("A diesel runs hotter pistons and wants more clearance and wider ring gaps."),
    optional=True,
    choices=(Choice("spark", L("Petrol, paraffin or gas")), Choice("diesel", L("Diesel"))),
)
COOLING = DefaultSelect(
    key="sizes.cooling",
    label=L("Cooling"),
    help=L("Air-cooled barrels run hotter and less evenly. They get more clearance."),
    default="water",
    choices=(Choice("water", L("Water")), Choice("air", L("Air"))),
)
HONE_STOCK = DefaultNumber(
    key="sizes.hone_stock",
    label=L("Left for the hone, on diameter"),
    kind="diff",
    help=L("What the bar leaves for the hone. A rough or dull cut needs more."),
    low=0.0,
    high=0.4,
    default=HONE_STOCK_MM,
    formula="bored = finished − hone stock",
)
PISTON = Number(
    key="sizes.piston",
    label=L("Piston, measured at its gauge point"),
    kind="size",
    help=L("Where its maker says, square to the pin. Measure the piston that will run in this bore."),
    low=20.0,
    high=500.0,
    at=("cylinder",),
)
FITTED = Number(
    key="fitting.piston",
    label=L("Piston that goes in this bore"),
    kind="count",
    help=L("The number of the cylinder it was entered under. Empty: each bore keeps its own."),
    low=1,
    high=MOST_CYLINDERS,
    at=("cylinder",),
    optional=True,
)
PISTON_C = DefaultNumber(
    key="sizes.piston_temperature",
    label=L("Piston temperature when measured"),
    kind="temperature",
    help=L("A cold piston measures small. Leave the pistons next to the block until both are alike."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
PISTON_C_U = DefaultNumber(
    key="sizes.piston_temperature_u",
    label=L("Piston temperature ±"),
    kind="temperature_difference",
    help=L("Pistons warmed in hand or sun are hard to judge. Two times in three."),
    low=0.1,
    high=20.0,
    default=2.0,
)
PISTON_U = DefaultNumber(
    key="sizes.piston_u",
    label=L("Micrometer error ±"),
    kind="fine",
    help=L("A tenth micrometer checked on its standard: 0.003 mm. Two times in three."),
    low=0.0002,
    high=0.1,
    default=0.003,
)
WALL_C = Number(
    key="sizes.wall_temperature",
    label=L("Wall temperature at full work"),
    kind="temperature",
    help=L("Beside the piston's gauge point. Empty: goes by duty and cooling."),
    low=20.0,
    high=300.0,
    optional=True,
    source="from memory",
)
SKIRT_C = Number(
    key="sizes.skirt_temperature",
    label=L("Skirt temperature at full work"),
    kind="temperature",
    help=L("At the piston's gauge point. Empty: by duty and cooling."),
    low=20.0,
    high=400.0,
    optional=True,
    source="from memory",
)
LEAST_RUNNING = DefaultNumber(
    key="sizes.least_running",
    label=L("Least running clearance wanted"),
    kind="fine",
    help=L("What should be left when all is hot. Nothing left means the skirt touches all round."),
    low=0.0,
    high=0.3,
    default=0.0,
)
