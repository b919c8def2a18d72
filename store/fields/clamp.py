"""What is asked about the studs and the base."""

from __future__ import annotations

from logic import clamping
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number, Select
from logic.say import L

__all__ = [
    "ENGAGEMENT",
    "FORCE",
    "FRICTION",
    "GRADE",
    "GRIP_RADIUS",
    "HALF_BASE",
    "NUT_FACTOR",
    "OFFSET",
    "SAFETY",
    "STUDS",
    "THREAD",
    "THREAD_STATE",
    "TORQUE",
]

THREAD = Select(
    key="clamp.thread",
    label=L("Stud thread"),
    help=L("Of the studs that hold the machine. The thinner one where a stud has two."),
    choices=tuple(Choice(t.key, L("{thread}", thread=t.key)) for t in clamping.THREADS.values()),
)
GRADE = DefaultSelect(
    key="clamp.grade",
    label=L("Stud strength"),
    help=L("The mark on the end of the stud. A stud without a mark counts as a weak one."),
    default="unmarked",
    choices=(
        Choice("unmarked", L("No mark")),
        *(Choice(g.key, L("{grade}", grade=g.key)) for g in clamping.GRADES.values()),
    ),
)
TORQUE = Number(
    key="clamp.torque",
    label=L("Torque on each stud"),
    kind="torque",
    help=L("What the wrench is set to. The maker's figure for engine or machine comes first."),
    low=1.0,
    high=400.0,
    formula="F = T / (K d)",
)
STUDS = DefaultNumber(
    key="clamp.studs",
    label=L("Studs that hold the machine"),
    kind="count",
    help=L("Count only those that are tightened to the torque."),
    low=1,
    high=8,
    default=2,
)
THREAD_STATE = DefaultSelect(
    key="clamp.state",
    label=L("Thread and washer"),
    help=L("Oil on the thread turns the same torque into more preload."),
    default="dry",
    choices=(Choice("dry", L("Clean and dry")), Choice("oiled", L("Oiled"))),
)
NUT_FACTOR = Number(
    key="clamp.nut_factor",
    label=L("Nut factor, if you have measured it"),
    kind="plain",
    help=L("From a trial with a load washer. Empty: by the state of the thread."),
    low=0.08,
    high=0.4,
    optional=True,
    source=constant("nut_factor.dry").source,
    formula="K = T / (F d)",
)
ENGAGEMENT = Number(
    key="clamp.engagement",
    label=L("Stud's thread in the block, depth"),
    kind="place",
    help=L("How deep the stud is screwed into sound thread. Iron wants about one and a half diameters."),
    low=2.0,
    high=80.0,
    optional=True,
)
OFFSET = DefaultNumber(
    key="clamp.offset",
    label=L("Clamps to bore centre"),
    kind="place",
    help=L("From the middle of the clamps to the bore being cut."),
    low=0.0,
    high=500.0,
    default=0.0,
)
HALF_BASE = DefaultNumber(
    key="clamp.half_base",
    label=L("Clamps to the nearer edge of the base"),
    kind="place",
    help=L("The base tips over this edge. Measure the shortest way across."),
    low=5.0,
    high=400.0,
    default=60.0,
)
GRIP_RADIUS = DefaultNumber(
    key="clamp.grip_radius",
    label=L("Base contact radius"),
    kind="place",
    help=L("About two thirds of half the base's width. Friction there keeps the machine from turning."),
    low=10.0,
    high=400.0,
    default=50.0,
)
FRICTION = DefaultNumber(
    key="clamp.friction",
    label=L("Friction under the base"),
    kind="plain",
    help=L("Clean and dry iron on iron. Oil or a gasket left on the deck holds far less."),
    low=0.05,
    high=0.4,
    default=constant("friction.iron_on_iron").value,
    source=constant("friction.iron_on_iron").source,
)
SAFETY = DefaultNumber(
    key="clamp.safety",
    label=L("Safety factor wanted"),
    kind="plain",
    help=L("A worn edge, hard spot or ridge pushes harder. Two is the least."),
    low=1.0,
    high=10.0,
    default=2.0,
)
FORCE = Number(
    key="clamp.force",
    label=L("Cutting force, if known"),
    kind="force",
    help=L("Enter it if you measured it. Empty: from the heaviest pass planned."),
    low=5.0,
    high=5000.0,
    optional=True,
)
