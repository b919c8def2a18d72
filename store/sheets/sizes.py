"""Finished and bored sizes, and the clearance behind them."""

from __future__ import annotations

from logic import rings, sizing
from logic.fields import Field
from logic.places import place_name
from logic.result import Result, Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.block import block_expansion_per_k
from ..facts.gates import decided
from ..facts.oversize import choice, chosen_step_mm
from ..facts.pistons import clearance_mm, duty, piston_mm, with_duty
from ..facts.sizes import bored_mm, finished, finished_mm, opened_mm
from ..facts.visit import latest
from ..fields.sizes import (
    ALLOY,
    CLEARANCE,
    COOLING,
    DUTY,
    FITTED,
    FUEL,
    HONE_STOCK,
    LEAST_RUNNING,
    PISTON,
    PISTON_C,
    PISTON_C_U,
    PISTON_U,
    SKIRT_C,
    WALL_C,
)
from ..places import cylinder_places
from ..view import View
from .base import Group, Sheet, Work
from .gates import risks, size_may_be, waits_for_decision, wanted

__all__ = [
    "CLEARANCE",
    "COOLING",
    "DUTY",
    "FITTED",
    "PISTON",
    "PISTON_C",
    "PISTON_C_U",
    "SHEET",
    "bored_mm",
    "clearance_mm",
    "finished_mm",
    "piston_mm",
]


def _running(view: View, sizes: list[sizing.Finished]) -> Result:
    """Running clearance of the tightest bore."""
    tightest = min(sizes, key=lambda s: s.finished_mm - s.piston_mm)
    does, cooling, alloy = duty(view), view.choice(COOLING), sizing.ALLOYS[view.choice(ALLOY)]
    wall, skirt = sizing.running_temperatures_c(does, cooling)
    stated_wall, stated_skirt = view.number(WALL_C), view.number(SKIRT_C)
    return sizing.running(
        bore_mm=tightest.finished_mm,
        piston_mm=tightest.piston_mm,
        wall_c=wall if stated_wall is None else stated_wall,
        skirt_c=skirt if stated_skirt is None else stated_skirt,
        alpha_block_per_k=block_expansion_per_k(view),
        alpha_piston_per_k=alloy.expansion_per_k,
        alpha_piston_u_per_k=alloy.expansion_u_per_k,
        u_cold_mm=max(tightest.u_mm, 0.003),
        least_mm=view.number(LEAST_RUNNING),
        maker=view.number(CLEARANCE) is not None,
    )


def _piston_temperature(view: View) -> tuple[Field, ...]:
    """The pistons' temperature, where neither the job nor a visit says it."""
    return (PISTON_C,) if latest(view) is None else ()


def _without_pistons(view: View) -> Work | None:
    """What there is to say while no piston is measured and no step is to be bored; None where one is."""
    advised, step = choice(view), chosen_step_mm(view)
    if step is None:
        first = L("Measure the worn bores first.") if advised is None else L("Decide on the oversize first.")
        return Work(blocked=first)
    if step == 0.0:
        return Work(
            results=() if advised is None else (advised,),
            missing=wanted(view),
            done=decided(view) and not wanted(view),
            risks=risks(view),
        )
    return None


def work(view: View) -> Work:
    """Each cylinder's sizes, the running clearance, and what the step does to a ring's gap."""
    if not view.all(PISTON):
        told = _without_pistons(view)
        if told is not None:
            return told
    sizes = [s for c in view.cylinders if (s := finished(view, c)) is not None]
    if not sizes:
        return Work(blocked=L("Decide on the oversize first."))
    results: list[Result] = [with_assumed(s, view, HONE_STOCK, *_piston_temperature(view)) for s in sizes]
    results.append(with_duty(with_assumed(_running(view, sizes), view, ALLOY, COOLING), view))
    grown = opened_mm(view)
    if grown is not None:
        results.append(rings.opened(grown))
    return Work(
        results=tuple(results),
        missing=wanted(view),
        done=decided(view)
        and not wanted(view)
        and len(sizes) == len(view.cylinders)
        and all(r.verdict != Verdict.STOP for r in results),
        risks=risks(view),
    )


SHEET = Sheet(
    key="sizes",
    order=7,
    title=L("Sizes"),
    purpose=L("Settle the finished size of each bore from its piston, and how far the bar may cut."),
    groups=(
        Group(key="clearance", title=L("Clearance"), fields=(CLEARANCE, ALLOY, FUEL, DUTY, COOLING, HONE_STOCK)),
        Group(key="pistons", title=L("Pistons"), fields=(PISTON,), places=cylinder_places, name=place_name),
        Group(key="measuring", title=L("How they were measured"), fields=(PISTON_C, PISTON_C_U, PISTON_U)),
        Group(key="running", title=L("When hot"), fields=(WALL_C, SKIRT_C, LEAST_RUNNING)),
    ),
    work=work,
    minutes=(5, 2),
    waits=waits_for_decision,
    gate=size_may_be,
    vital=True,
)
