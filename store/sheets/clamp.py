"""Clamping: whether the studs and the base hold the machine against the cut."""

from __future__ import annotations

from typing import Any

from logic import clamping
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number, Select
from logic.result import Result, Verdict
from logic.say import L

from .assumed import with_assumed
from .base import Group, Sheet, Work

__all__ = ["SHEET", "stud_of"]

THREAD = Select(
    key="clamp.thread",
    label=L("Stud thread"),
    help=L("The thread of the studs that hold the machine down. Take the thinner one where a stud has two."),
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
    help=L("How many studs press the base down at the same time. Count only those that are tightened to the torque."),
    low=1,
    high=8,
    default=2,
)
THREAD_STATE = DefaultSelect(
    key="clamp.state",
    label=L("Thread and washer"),
    help=L(
        "Oil under the nut and on the thread turns the same torque into more preload. The doubt about it is counted in either case."
    ),
    default="dry",
    choices=(Choice("dry", L("Clean and dry")), Choice("oiled", L("Oiled"))),
)
NUT_FACTOR = Number(
    key="clamp.nut_factor",
    label=L("Nut factor, if you have measured it"),
    kind="plain",
    help=L("K in F = T / (K d), from a trial with a load washer. Left out, it goes by the state of the thread."),
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
    label=L("Clamps to the cut, sideways"),
    kind="place",
    help=L(
        "From the middle of the clamps to the middle of the bore being cut. Zero where the clamps straddle the bore."
    ),
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
    label=L("Mean radius at which the base bears"),
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
    help=L("Clean and dry iron on iron. Oil or a gasket left on the face holds far less."),
    low=0.05,
    high=0.4,
    default=constant("friction.iron_on_iron").value,
    source=constant("friction.iron_on_iron").source,
)
SAFETY = DefaultNumber(
    key="clamp.safety",
    label=L("Times over that it should hold"),
    kind="plain",
    help=L("A worn edge, a hard spot or a ridge pushes harder than a clean cut. Two is the least for a steady cut."),
    low=1.0,
    high=10.0,
    default=2.0,
)
FORCE = Number(
    key="clamp.force",
    label=L("Cutting force, if known"),
    kind="force",
    help=L("Left out, it is worked out from the heaviest pass planned. Enter it if you have measured it."),
    low=5.0,
    high=5000.0,
    optional=True,
)


def stud_of(view: Any) -> clamping.Stud | None:
    """The stud as entered; None while its thread or torque is missing, or thread and class do not belong together."""
    key, torque = view.number(THREAD), view.number(TORQUE)
    if key is None or torque is None:
        return None
    thread = clamping.thread(key)
    mark = view.number(GRADE)
    grade = clamping.assumed_grade(thread) if mark == "unmarked" else clamping.grade(mark)
    if grade.inch != thread.inch:
        return None
    row = constant(f"nut_factor.{view.number(THREAD_STATE)}")
    measured = view.number(NUT_FACTOR)
    if measured is not None:
        return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=measured, relative_u=0.1)
    return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=row.value, relative_u=row.relative_u)


def work(view: Any) -> Work:
    """The stud, its thread in the block, and the hold for a centred and an offset cut."""
    from .bores import bore_length_mm
    from .cut import cutting_force_n
    from .sizes import bored_mm

    missing = tuple((f.key, {}) for f in (THREAD, TORQUE) if view.number(f) is None)
    if missing:
        return Work(missing=missing, cautions=CAUTIONS)
    stud = stud_of(view)
    if stud is None:
        return Work(
            blocked=L(
                "The stud's strength does not belong to its thread: choose both in inches or both in millimetres."
            ),
            cautions=CAUTIONS,
        )
    results: list[Result] = [with_assumed(clamping.stud(stud), view, GRADE, THREAD_STATE)]
    engagement = view.number(ENGAGEMENT)
    if engagement is None:
        results.append(clamping.thread_unknown(stud))
    else:
        results.append(clamping.stud_thread(stud, engagement_mm=engagement))
    force, length = view.number(FORCE), bore_length_mm(view)
    if force is None:
        force = cutting_force_n(view)
    bores = [b for b in (bored_mm(view, c) for c in view.cylinders) if b is not None]
    blocked = None
    if force is None:
        blocked = L("Plan the cut first, or enter the cutting force.")
    elif length is None or not bores:
        blocked = L("Measure the bores and settle the finished size first.")
    else:
        offset = view.number(OFFSET)
        for e in (0.0, offset) if offset else (0.0,):
            held = clamping.hold(
                stud,
                force_n=force,
                bore_mm=max(bores),
                depth_mm=length,
                studs=int(view.number(STUDS)),
                offset_mm=e,
                half_base_mm=view.number(HALF_BASE),
                grip_radius_mm=view.number(GRIP_RADIUS),
                friction=view.number(FRICTION),
                safety=view.number(SAFETY),
            )
            results.append(with_assumed(held, view, STUDS, HALF_BASE, GRIP_RADIUS, FRICTION, SAFETY))
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2, Verdict.INFO: 3}
    results.sort(key=lambda r: order[r.verdict])
    return Work(
        results=tuple(results),
        blocked=blocked,
        done=blocked is None and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
        cautions=CAUTIONS,
    )


CAUTIONS = for_sheet("clamp")

SHEET = Sheet(
    key="clamp",
    order=8,
    title=L("Clamping"),
    purpose=L("Make sure the machine cannot slide or tip, and that no stud or thread gives way."),
    groups=(
        Group(
            key="stud",
            title=L("The studs"),
            fields=(THREAD, GRADE, TORQUE, STUDS, THREAD_STATE, ENGAGEMENT, NUT_FACTOR),
        ),
        Group(key="base", title=L("The base"), fields=(OFFSET, HALF_BASE, GRIP_RADIUS, FRICTION, SAFETY, FORCE)),
    ),
    work=work,
    needs=("bores", "sizes", "cut"),
    cautions=CAUTIONS,
)
