"""What has to be settled before metal is cut, and before a finished bore is judged.

A size to bore to is a size for a certain piston: until somebody decided on the oversize and
measured the pistons, or said that they take the risk, there is none. What was only assumed
because nothing was entered settles nothing.
"""

from __future__ import annotations

from logic import oversize
from logic.result import Verdict
from logic.steps import NOTHING_SPARE_MM

from ..fields.final import WASHED
from ..fields.hone import BAND
from ..fields.oversize import MIXED
from ..fields.sizes import ALLOY, CLEARANCE
from ..graph import fact
from ..view import View
from .honing import at_size, progress
from .load import passes_left
from .oversize import choice, decided_step_mm, waiting
from .pistons import measured_piston
from .sizes import Route, finished_mm, target
from .sleeves import Stage, stage

__all__ = [
    "CLEARANCE_RISK",
    "PISTON_RISK",
    "bored",
    "clearance_settled",
    "decided",
    "decided_clean",
    "honed",
    "left_out",
    "pistons_lacking",
    "pistons_settled",
    "risk_taken",
    "shut_cylinders",
    "skip_key",
    "usual_clearance",
    "washed",
]

#: ``what`` of the decisions by which somebody goes on without a measurement.
PISTON_RISK, CLEARANCE_RISK = "sizes.risk.pistons", "sizes.risk.clearance"


def skip_key(name: str) -> str:
    """``what`` of the Skipped entry that leaves the step ``name`` out; withdraw the entry to take it up again."""
    return f"sheet.{name}"


@fact
def left_out(view: View, step: str) -> bool:
    """Whether somebody left the step out."""
    return skip_key(step) in view.skipped


@fact
def bored(view: View, cylinder: int) -> bool:
    """Whether the bar has nothing more to take out of a bore; True too where it is only honed, or boring is left out."""
    if left_out(view, "cut"):
        return True
    one, plan = target(view, cylinder), passes_left(view, cylinder)
    if one.route == Route.HONE:
        return True
    done = plan is not None and not plan.passes and plan.verdict != Verdict.STOP
    return done and stage(view, cylinder) == Stage.FINISH


@fact
def honed(view: View, cylinder: int) -> bool:
    """Whether the hone has nothing more to take out of a bore, whatever grit it was done with, or honing is left out."""
    if left_out(view, "hone"):
        return True
    now, size = progress(view, cylinder), finished_mm(view, cylinder)
    if now is None or size is None or now.size_mm is None:
        return False
    return at_size(view, cylinder) or now.size_mm >= size - view.number(BAND)


@fact
def risk_taken(view: View, what: str) -> bool:
    """Whether somebody decided to go on without what ``what`` names."""
    return view.decision(what) is not None


@fact
def decided(view: View) -> bool:
    """Whether the oversize was decided on: one step for all, or a step for each bore."""
    if decided_step_mm(view) is not None:
        return True
    advised = choice(view)
    return view.choice(MIXED) == "yes" and advised is not None and advised.outcome == oversize.Outcome.MIXED


@fact
def decided_clean(view: View) -> bool:
    """Whether it was decided on, every bore is measured, and the step is at least the one that cleans them all up."""
    if not decided(view) or waiting(view):
        return False
    step, advised = decided_step_mm(view), choice(view)
    if step is None or advised is None:
        return advised is not None
    if advised.step_mm is None or step < advised.step_mm - 1e-6:
        return False
    by_a_hair = advised.outcome == oversize.Outcome.STEP and (advised.spare_mm or 0.0) < NOTHING_SPARE_MM
    return not by_a_hair or step > advised.step_mm + 1e-6


@fact
def pistons_lacking(view: View) -> tuple[int, ...]:
    """The cylinders whose piston is not measured yet."""
    return tuple(c for c in view.cylinders if measured_piston(view, c) is None)


@fact
def pistons_settled(view: View) -> bool:
    """Whether every piston is measured, or somebody takes the risk."""
    return not pistons_lacking(view) or risk_taken(view, PISTON_RISK)


@fact
def clearance_settled(view: View) -> bool:
    """Whether the clearance is the maker's, or somebody took the usual one of a plain cast piston knowingly."""
    return view.number(CLEARANCE) is not None or (usual_clearance(view) and risk_taken(view, CLEARANCE_RISK))


@fact
def usual_clearance(view: View) -> bool:
    """Whether there is a usual clearance to go by: only a plain cast skirt has one that holds from maker to maker."""
    return view.choice(ALLOY) == "cast"


@fact
def shut_cylinders(view: View) -> tuple[int, ...]:
    """The cylinders that have no size to be bored or honed to yet: undecided, or their pistons not measured.

    The bore for a sleeve follows the sleeve, so it may be cut.
    """
    if decided(view) and pistons_settled(view):
        return ()
    return tuple(c for c in view.cylinders if stage(view, c) != Stage.SEAT)


@fact
def washed(view: View) -> bool:
    """Whether somebody said that the bores are washed, dry and as cold as the room."""
    return view.choice(WASHED) == "yes"
