"""Why nothing may be bored, however sure the size is: what another step says no to."""

from __future__ import annotations

from logic import clamping
from logic.result import Verdict
from logic.say import L, Line, Qty

from ..fields.oversize import LARGEST
from ..graph import fact
from ..view import View
from .clamping import stud_of
from .face import lean
from .gates import left_out
from .sizes import finished_mm, least_wall
from .sleeves import sleeved
from .strip import CRACKED, reach, sound

__all__ = ["cuts_forbidden", "size_forbidden"]


@fact
def size_forbidden(view: View, cylinder: int) -> tuple[Line, ...]:
    """Why a bore may not be taken to the size settled: its wall, or the largest bore allowed."""
    out = []
    wall = least_wall(view, cylinder)
    if wall is not None and wall.verdict == Verdict.STOP:
        out.append(wall.line)
    if cylinder in sleeved(view):
        return tuple(out)
    largest, size = view.number(LARGEST), finished_mm(view, cylinder)
    if largest is not None and size is not None and size > largest + 1e-9:
        gaps = {"n": cylinder, "size": Qty(size, "size"), "largest": Qty(largest, "size")}
        out.append(L("Cylinder {n} would be finished at {size}, and the largest bore allowed is {largest}.", **gaps))
    return tuple(out)


@fact
def cuts_forbidden(view: View, cylinder: int) -> tuple[Line, ...]:
    """Why a bore may not be cut as things are: its size, the block, the deck under the bar, the bar's reach, its clamps."""
    out = list(size_forbidden(view, cylinder))
    if sound(view) == "cracked" and not sleeved(view):
        out.append(CRACKED)
    tilted = None if left_out(view, "face") else lean(view, cylinder)
    if tilted is not None and tilted.verdict == Verdict.STOP:
        out.append(tilted.line)
    below = None if left_out(view, "strip") else reach(view)
    if below is not None and below.verdict == Verdict.STOP:
        out.append(below.line)
    stud = None if left_out(view, "clamp") else stud_of(view)
    if stud is not None:
        held = clamping.stud(stud)
        out += [held.line] if held.verdict == Verdict.STOP else []
    return tuple(out)
