"""Clamping: whether the studs and the base hold the machine against the cut."""

from __future__ import annotations

from typing import Any

from logic import clamping
from logic.cautions import for_sheet
from logic.result import Result, Verdict
from logic.say import L, Line

from ..assumed import with_assumed
from ..facts.block import block_metal, bore_length_mm
from ..facts.clamping import stud_of
from ..facts.load import cutting_force_n
from ..facts.sizes import bar_mm
from ..fields.bores import MATERIAL
from ..fields.clamp import (
    ENGAGEMENT,
    FORCE,
    FRICTION,
    GRADE,
    GRIP_RADIUS,
    HALF_BASE,
    NUT_FACTOR,
    OFFSET,
    SAFETY,
    STUDS,
    THREAD,
    THREAD_STATE,
    TORQUE,
)
from ..view import View
from .base import Group, Sheet, Work
from .gates import only_honed, waits_for_size

__all__ = ["CAUTIONS", "ENGAGEMENT", "FORCE", "GRADE", "SHEET", "THREAD", "TORQUE"]


def _largest_bar_mm(view: View) -> float | None:
    """The largest bore the bar is to leave; None while none is settled."""
    return max((b for c in view.cylinders if (b := bar_mm(view, c)) is not None), default=None)


def _holds(view: View, stud: clamping.Stud) -> list[Result] | Line:
    """The hold for a centred cut, and for one set over where that is asked; what must be known first, while it is not."""
    stated, bore = view.number(FORCE), _largest_bar_mm(view)
    force = cutting_force_n(view) if stated is None else stated
    if force is None:
        return L("Plan the cut first, or enter the cutting force.")
    if bore is None:
        return L("Measure the bores and settle the finished size first.")
    offset = view.number(OFFSET)
    held = [
        clamping.hold(
            stud,
            force_n=force,
            bore_mm=bore,
            depth_mm=bore_length_mm(view),
            studs=int(view.number(STUDS)),
            offset_mm=e,
            half_base_mm=view.number(HALF_BASE),
            grip_radius_mm=view.number(GRIP_RADIUS),
            friction=view.number(FRICTION),
            safety=view.number(SAFETY),
        )
        for e in ((0.0, offset) if offset else (0.0,))
    ]
    return [with_assumed(h, view, STUDS, HALF_BASE, GRIP_RADIUS, FRICTION, SAFETY) for h in held]


def _thread(view: View, stud: clamping.Stud) -> Result:
    """The stud's thread in the block, as deep as was measured and as the block's metal wants it."""
    soft = view.choice(MATERIAL) == "aluminium_block"
    wanted = clamping.WANTED_IN_ALUMINIUM if soft else clamping.WANTED_DIAMETERS
    engagement = view.number(ENGAGEMENT)
    if engagement is None:
        return clamping.thread_unknown(stud, wanted)
    shear_mpa = block_metal(view).shear_mpa
    return clamping.stud_thread(stud, engagement_mm=engagement, block_shear_mpa=shear_mpa, wanted=wanted)


def work(view: View) -> Work:
    """The stud, its thread in the block, and the hold for a centred and an offset cut."""
    missing: tuple[tuple[str, dict[str, Any]], ...] = tuple(
        (f.key, {}) for f in (THREAD, TORQUE) if view.get(f) is None
    )
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
    results.append(_thread(view, stud))
    holds = _holds(view, stud)
    blocked = holds if isinstance(holds, Line) else None
    results += [] if isinstance(holds, Line) else holds
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
    order=9,
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
    minutes=(15, 0),
    waits=waits_for_size,
    idle=only_honed,
    cautions=CAUTIONS,
)
