"""Does a machine bore straight, round and square? A trial bore, or an indicator along a square.

A trial bore is measured at three depths on two axes: taper, barrel and out-of-round each point to a
part of the machine. It says nothing of square: a two-point gauge does not see a lean. For that an
indicator on the bar is run along a square that stands on the base's face, on both axes; a lean
is the base, a bend the slides. Before either, the base: dirt or a burr under it is the commonest
cause of all (common practice, no source, like the remedies).

Lengths in mm. The shape is that of :mod:`logic.job_record`; limits are judged at 95 % (Student's t: the gauge's
repeatability is known to about a quarter).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .bore import AXES
from .bore_prior import Place
from .hone_removal import GAUGE_DOF
from .job_record import Form, form_of
from .result import Assumption, Caution, Result, Verdict
from .say import L, Line, Qty

__all__ = ["Square", "base", "square", "squared", "trial", "trial_form"]

_COVERAGE = student.two_sided(0.95, GAUGE_DOF)
_TRADE = "common practice"


def base(state: str | None) -> Result | None:
    """What to do about the base first: ``state`` is "clean", "dirt", "burr" or None (not looked at). None where it is clean."""
    if state == "clean":
        return None
    lines = {
        None: L("First look under the base: wipe it and the deck it stands on, and feel both for burrs."),
        "dirt": L("Clean the base and the deck, clamp again, and bore or indicate again."),
        "burr": L("Stone the burr off, wipe, clamp again, and bore or indicate again."),
    }
    return Result(
        key="straight.base",
        line=lines.get(state, lines[None]),
        verdict=Verdict.MAYBE,
        why=(
            L("Dirt or a burr under the base is the commonest cause of a bore that is not straight or square."),
            L("Readings taken with dirt or a burr there say nothing of the machine."),
        ),
        assumptions=(Assumption(L("A burr is dressed off level with the deck, never below it."), _TRADE),),
    )


def _judged(size_mm: float, u_mm: float, limit_mm: float) -> str:
    if abs(size_mm) + _COVERAGE * u_mm <= limit_mm:
        return Verdict.GO
    return Verdict.STOP if abs(size_mm) - _COVERAGE * u_mm > limit_mm else Verdict.MAYBE


# -- the trial bore ------------------------------------------------------------------------------
def trial_form(sizes: Sequence[tuple[float, str, float]], repeat_mm: float) -> Form | None:
    """The shape of the trial bore from (depth_mm, axis, size_mm); None with readings at fewer than two depths."""
    if len({depth for depth, _, _ in sizes}) < 2:
        return None
    mean = math.fsum(d for _, _, d in sizes) / len(sizes)
    return form_of([Place(depth, axis, d - mean, repeat_mm) for depth, axis, d in sizes])


def trial(found: Form, limit_mm: float) -> tuple[Result, ...]:
    """The verdict on taper, barrel and out-of-round of a trial bore, each with the part it points to; the worst first."""
    out = []
    taper, barrel, oval = found.taper_mm, found.barrel_mm, found.oval_mm
    if taper is not None:
        where = (
            L("Taper {size}, wider at the top.", size=Qty(abs(taper), "fine"))
            if taper > 0
            else L("Taper {size}, wider at the bottom.", size=Qty(abs(taper), "fine"))
        )
        cure = L("Index the edge and bore again. If it stays, take up the spindle's bearing and the slides.")
        out.append(_shape("taper", where, taper, found.taper_var_mm2, limit_mm, cure))
    if barrel is not None:
        where = (
            L("Wider in the middle by {size}.", size=Qty(abs(barrel), "fine"))
            if barrel > 0
            else L("Tighter in the middle by {size}.", size=Qty(abs(barrel), "fine"))
        )
        cure = L("Clean the feed screw and the slides, and adjust the play where they are worn.")
        out.append(_shape("feed", where, barrel, found.barrel_var_mm2, limit_mm, cure))
    if oval is not None:
        where = L("Out of round {size}.", size=Qty(abs(oval), "fine"))
        cure = L("Feel the spindle for play with an indicator, take its bearing up, and see that nothing springs.")
        out.append(_shape("spindle", where, oval, found.oval_var_mm2, limit_mm, cure))
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2}
    return tuple(sorted(out, key=lambda r: order[r.verdict]))


def _shape(part: str, where: Line, size_mm: float, var_mm2: float, limit_mm: float, cure: Line) -> Result:
    u = math.sqrt(var_mm2)
    verdict = _judged(size_mm, u, limit_mm)
    within = L("Up to {limit} is straight enough: the hone takes it out.", limit=Qty(limit_mm, "fine"))
    again = L("Too close to call with this gauge: measure again.")
    why = {Verdict.GO: (within,), Verdict.MAYBE: (again, within, cure), Verdict.STOP: (cure, within)}[verdict]
    return Result(
        key=f"straight.{part}",
        line=where,
        value=Qty(size_mm, "fine", u),
        verdict=verdict,
        why=why,
        assumptions=(
            Assumption(L("The edge was fresh and the trial bored in one pass, as the last pass of a job."), _TRADE),
        ),
        cautions=(Caution("straight_stop", L("Unplug the machine before you reach for spindle, belt or slides.")),)
        if verdict == Verdict.STOP
        else (),
    )


# -- along a square -------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """What the indicator showed on one axis: the lean over the travel and its standard uncertainty, and how far the
    readings bend away from the straight line (largest), mm."""

    axis: str
    travel_mm: float
    lean_mm: float
    u_lean_mm: float
    bend_mm: float


def square(axis: str, readings: Sequence[tuple[float, float]], repeat_mm: float) -> Square | None:
    """Lean and bend from (depth_mm, indicator_mm), at least two depths; None with fewer. Least-squares line."""
    if len({z for z, _ in readings}) < 2:
        return None
    z, d = [r[0] for r in readings], [r[1] for r in readings]
    line = student.trend(z, d)
    travel = max(z) - min(z)
    return Square(
        axis=axis,
        travel_mm=travel,
        lean_mm=line.slope * travel,
        u_lean_mm=line.u_slope(repeat_mm) * travel,
        bend_mm=max(abs(y - line.at(x)) for x, y in readings),
    )


def squared(found: Square, limit_mm: float, repeat_mm: float) -> tuple[Result, ...]:
    """The verdict on base (lean) and slides (bend) of one axis."""
    name = AXES.get(found.axis, L("other axis"))
    lean = Result(
        key=f"straight.square.{found.axis}",
        line=L(
            "The bar leans {lean} over {travel}, {axis}.",
            lean=Qty(abs(found.lean_mm), "fine"),
            travel=Qty(found.travel_mm, "place"),
            axis=name,
        ),
        value=Qty(found.lean_mm, "fine", found.u_lean_mm),
        verdict=_judged(found.lean_mm, found.u_lean_mm, limit_mm),
        why=(
            L("The base is out of square with the bar. Clean it and look again; then have its face dressed."),
            L("Up to {limit} over the travel is square enough.", limit=Qty(limit_mm, "fine")),
        ),
        assumptions=(Assumption(L("The square is true, or was turned round and read again."), _TRADE),),
    )
    bend = Result(
        key=f"straight.bend.{found.axis}",
        line=L("The travel bends {bend} away from straight, {axis}.", bend=Qty(found.bend_mm, "fine"), axis=name),
        value=Qty(found.bend_mm, "fine", repeat_mm),
        verdict=_judged(found.bend_mm, repeat_mm, limit_mm),
        why=(L("Clean the feed screw and the slides, and adjust the play where they are worn."),),
        assumptions=(Assumption(L("The square is true, or was turned round and read again."), _TRADE),),
    )
    return lean, bend
