"""What goes with honing besides the strokes: the torque plate, what the stones run in, and whether the bore is round.

Common practice without a source; the makers of engine, rings and stones come first.
"""

from __future__ import annotations

from collections.abc import Mapping

from . import student
from .hone_removal import GAUGE_DOF
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Qty

__all__ = ["fluid", "plate", "roundness"]

_MAKER = Assumption(L("The makers of engine, rings and stones come first."))


def plate(answer: str) -> Result:
    """What a torque plate, or none, means: ``answer`` "yes", "no" or "none" (not needed). ValueError for another."""
    if answer not in ("yes", "no", "none"):
        raise ValueError(f"no such answer: {answer!r}")
    line = {
        "yes": L("Torque plate on, tightened like the head with the gasket it will have: hone and measure so."),
        "no": L("No torque plate: the bore moves when the head is tightened. Expect a less round bore at work."),
        "none": L("No torque plate is needed on this engine."),
    }[answer]
    why = {
        "yes": (L("Take it off only after the last grit. Without it the bore reads out of round: that is right."),),
        "no": (L("Tell the customer, and keep the ring gaps off the tight side."),),
        "none": (),
    }[answer]
    return Result(key="hone.plate", line=line, why=why, assumptions=(_MAKER,))


def fluid(answer: str) -> Result:
    """What the stones run in, with its caution: ``answer`` "oil", "paraffin" or "dry". ValueError for another."""
    lines = {
        "oil": L("Flood the stones with honing oil, and catch it: it carries the grit."),
        "paraffin": L("Paraffin keeps stones open but burns: little of it, and no spark near."),
        "dry": L("Dry honing loads the stones and makes dust: dress them often, and hone cooler."),
    }
    if answer not in lines:
        raise ValueError(f"no such answer: {answer!r}")
    cautions = {
        "oil": (),
        "paraffin": (
            Caution("hone.paraffin", L("Paraffin mist catches fire. Air the place, no sparks, extinguisher at hand.")),
        ),
        "dry": (Caution("hone.dry_dust", L("Dry iron and grit dust harms the lungs: mask on, and draw it off.")),),
    }[answer]
    return Result(key="hone.fluid", line=lines[answer], assumptions=(_MAKER,), cautions=cautions)


def roundness(cylinder: int, pairs_mm: Mapping[int, tuple[float, float]], *, limit_mm: float, u_mm: float) -> Result:
    """Out of round at the last check: ``pairs_mm`` (across, along) the crank by depth, each known to ``u_mm``.

    Too close to call where the worst lies within twice the uncertainty of a difference,
    √2 ``u_mm``, of the limit (ISO 14253-1). Raises ValueError without a pair.
    """
    if not pairs_mm:
        raise ValueError("no two readings to compare")
    depth, (across, along) = max(pairs_mm.items(), key=lambda p: abs(p[1][0] - p[1][1]))
    off = abs(across - along)
    # of several depths the largest difference is large by chance too
    k = student.quantile(1.0 - 0.05 / len(pairs_mm), GAUGE_DOF)
    guard = k * 2**0.5 * u_mm
    said = {"off": Qty(off, "fine", 2**0.5 * u_mm), "limit": Qty(limit_mm, "fine"), "d": depth}
    if off > limit_mm + guard:
        verdict, line = Verdict.STOP, L("Out of round by {off} at depth {d}; {limit} is allowed.", **said)
    elif off >= limit_mm - guard and off > limit_mm / 2:
        verdict, line = Verdict.MAYBE, L("Out of round by {off} at depth {d}, near {limit}: measure again.", **said)
    else:
        verdict, line = Verdict.INFO, L("Round within {off} on two axes.", **said)
    return Result(
        key=f"hone.round.{cylinder}",
        line=L("Cylinder {c}: {answer}", c=cylinder, answer=line),
        value=said["off"] if isinstance(said["off"], Qty) else None,
        verdict=verdict,
        why=(
            *(
                (L("A hone follows an oval bore. Stiffer stones and short strokes help; a light bar cut helps more."),)
                if verdict == Verdict.STOP
                else ()
            ),
        ),
        figures=(Figure("round", L("Out of round, two axes"), Qty(off, "fine", 2**0.5 * u_mm)),),
        assumptions=(Assumption(L("Two axes see an oval, not three lobes.")),),
    )
