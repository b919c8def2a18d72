"""Where what was measured after boring and honing contradicts itself: a bore only grows, and two gauges agree."""

from __future__ import annotations

import math

from logic import after_check
from logic.after_check import Stage
from logic.doubt import Doubt
from logic.readings_check import spot
from logic.say import L

from ..fields.cut import MEASURED, PRESENT
from ..fields.final import READING, ZERO
from ..fields.hone import REPEAT, SHARED, SIZE
from ..fields.rings import READ_IN
from ..fields.sizes import PISTON
from ..graph import fact
from ..view import View
from .final import base_mm, budget, depth_means_mm
from .honing import at_size, checks
from .passes import pass_mm, passes_in_hand, start_mm
from .pistons import clearance_mm, own_piston
from .sleeves import sleeved

__all__ = ["after_doubts"]

#: A pass is measured to this, mm, one standard deviation with its temperature (common practice).
_PASS_U_MM = 0.004


@fact
def bored_stages(view: View, cylinder: int) -> tuple[Stage, ...]:
    """The bore before boring and after each pass. A cylinder that takes a sleeve becomes smaller on the way: nothing."""
    if cylinder in sleeved(view):
        return ()
    out = []
    start = start_mm(view, cylinder)
    if start is not None:
        out.append(Stage(L("the bore before boring"), start, 0.008, (spot(PRESENT.key, cylinder=cylinder),)))
    for n in passes_in_hand(view, cylinder):
        size = pass_mm(view, cylinder, n)
        if size is not None:
            about = (spot(MEASURED.key, cylinder=cylinder, **{"pass": n}),)
            out.append(Stage(L("pass {p}", p=n), size, _PASS_U_MM, about))
    return tuple(out)


@fact
def honed_stages(view: View, cylinder: int) -> tuple[Stage, ...]:
    """The bore at each of the hone's gauge checks."""
    out = []
    for check in checks(view, cylinder):
        u = math.hypot(view.number(REPEAT) / math.sqrt(len(check.sizes)), view.number(SHARED))
        about = (spot(SIZE.key, cylinder=cylinder, check=check.number),)
        out.append(Stage(L("hone check {k}", k=check.number), check.mean_mm, max(u, 0.002), about))
    return tuple(out)


@fact
def final_stage(view: View, cylinder: int) -> Stage | None:
    """The finished bore as finally read."""
    means = depth_means_mm(view, cylinder)
    if not means or base_mm(view) is None:
        return None
    about = (spot(READING.key, cylinder=cylinder), spot(ZERO.key))
    return Stage(L("the finished bore"), math.fsum(means) / len(means), budget(view).u_shared, about)


def _stamp(view: View, key: str, cylinder: int, *, first: bool = False) -> str:
    stamps = [v.stamp for v in view.all(key, cylinder=cylinder).values()]
    return (min if first else max)(stamps, default="")


def _stale(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """Final readings from before the last hone check, hone checks from before the last pass."""
    honed, final = _stamp(view, SIZE.key, cylinder), _stamp(view, READING.key, cylinder)
    cut, first = _stamp(view, MEASURED.key, cylinder), _stamp(view, SIZE.key, cylinder, first=True)
    read, grown = L("the final readings"), L("the hone checks")
    return (
        *after_check.check_stale(cylinder, final, honed, read, (spot(READING.key, cylinder=cylinder),)),
        *after_check.check_stale(cylinder, first, cut, grown, (spot(SIZE.key, cylinder=cylinder),)),
    )


@fact
def finished_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """The final readings of a cylinder against the hone, the piston and the rings."""
    final, honed = final_stage(view, cylinder), honed_stages(view, cylinder)
    if final is None:
        return ()
    out: list[Doubt] = []
    if honed and at_size(view, cylinder):
        out += after_check.check_final(cylinder, honed[-1], final)
    piston, clearance = own_piston(view, cylinder), clearance_mm(view)
    if piston is not None and clearance is not None:
        out += after_check.check_clearance(cylinder, final, piston[0], clearance, spot(PISTON.key, cylinder=cylinder))
    tried = view.number(READ_IN, cylinder=cylinder)
    if tried is not None:
        about = (spot(READ_IN.key, cylinder=cylinder), *final.about)
        out += after_check.check_ring_bore(cylinder, tried, final.size_mm, final.u_mm, about)
    return tuple(out)


@fact
def grown_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """Every size of a cylinder in the order it was made, and the order in which they were entered."""
    final = final_stage(view, cylinder)
    stages = [*bored_stages(view, cylinder), *honed_stages(view, cylinder), *((final,) if final else ())]
    return (*after_check.check_grows(cylinder, stages), *_stale(view, cylinder))


@fact
def after_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about what was measured after the cut."""
    return tuple(d for c in view.cylinders for d in (*grown_doubts(view, c), *finished_doubts(view, c)))
