"""The sweep against the bore gauge, its zero and itself: see :mod:`logic.sweep_check`."""

from __future__ import annotations

import math
from collections.abc import Iterable

from logic import plan_check, sweep_check
from logic.doubt import Doubt, Place
from logic.readings_check import spot
from logic.say import L
from logic.sweep import Reading, zero_from_diameters
from logic.sweep_check import Across, SweptRing

from ..fields.bores import READING as BORE_READING
from ..fields.sweep import GAP, READING, READING_U, SIGN
from ..fields.sweep import ZERO as SWEEP_ZERO
from ..folded import numbered
from ..graph import fact
from ..view import View
from .face import bore_lean
from .gauging import budget, depth_mm
from .sweep import ALONG, swept, swept_readings, zero, zero_by_gap, zero_by_gauge
from .worn import worn_bore

__all__ = ["sweep_doubts", "swept_copies"]


#: A diameter is read at the depth of the sweep within this, mm.
_SAME_DEPTH_MM = 1.0


@fact
def sweep_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """What the sweep says of a cylinder against itself and what the gauge read there, and its zero by every source there is."""
    if not swept_readings(view, cylinder):
        return ()
    worn, found = worn_bore(view, cylinder), swept(view, cylinder)
    sweep, reading = spot(READING.key, cylinder=cylinder), spot(BORE_READING.key, cylinder=cylinder)
    out = list(_zero_doubts(view, cylinder, (sweep, reading)))
    if worn is not None and found is not None:
        out += plan_check.check_sweep(
            worn, found.clean_mm, found.u_own_mm, u_shared_mm=found.u_zero_mm, sweep=sweep, reading=reading
        )
    return (*out, *_round_doubts(view, cylinder))


@fact
def _rings(view: View, cylinder: int) -> tuple[SweptRing, ...]:
    """The readings by depth, from the top down, each as how far the wall is out."""
    outward = view.choice(SIGN) == "up"
    found: dict[int, dict[int, float]] = {}
    for where, value in view.all(READING, cylinder=cylinder).items():
        out = value.value if outward else -value.value
        found.setdefault(numbered(where, "depth"), {})[numbered(where, "angle")] = out
    rings = [SweptRing(n, depth_mm(view, n), dict(sorted(of.items()))) for n, of in found.items()]
    return tuple(sorted(rings, key=lambda r: r.depth_mm))


@fact
def swept_copies(view: View) -> tuple[Doubt, ...]:
    """The readings round one bore against those round every other."""
    rings = [(c, ring) for c in view.cylinders for ring in _rings(view, c)]
    return tuple(sweep_check.check_rings_copied(rings, key=READING.key))


def _round_doubts(view: View, cylinder: int) -> Iterable[Doubt]:
    """The readings round the bore against each other, from the surest sign of a slip to the least."""
    rings, u = _rings(view, cylinder), view.number(READING_U)
    yield from sweep_check.check_smooth(cylinder, rings, u_mm=u, key=READING.key)
    across = tuple(_across(view, cylinder, rings))
    if across:  # then the gauge's readings count from something
        yield from sweep_check.check_across(cylinder, across, u_mm=math.hypot(budget(view).u_own, math.sqrt(2.0) * u))
    worn = worn_bore(view, cylinder)
    bottom = None if worn is None else worn.ring_bottom_mm
    if bottom is not None and len(rings) > 1 and rings[-1].depth_mm >= bottom:
        lean = bore_lean(view, cylinder)
        slope = (math.hypot(lean.across_mm, lean.along_mm) + 3.0 * lean.u_mm) / lean.length_mm
        yield from sweep_check.check_inside(
            cylinder, rings[:-1], rings[-1], lean_mm_per_mm=slope, u_mm=u, key=READING.key
        )


def _across(view: View, cylinder: int, rings: Iterable[SweptRing]) -> Iterable[Across]:
    """The zero's diameter by each diameter that the gauge read where the sweep has both ends."""
    worn = worn_bore(view, cylinder)
    cells = () if worn is None else worn.cells
    for ring in rings:
        readings = [Reading(ring.depth_mm, float(a), out) for a, out in ring.out_mm.items()]
        for c in cells:
            if c.axis not in ALONG or abs(c.depth_mm - ring.depth_mm) > _SAME_DEPTH_MM:
                continue
            one = (c.depth_mm, ALONG[c.axis], c.d_mm)
            found = zero_from_diameters(readings, [one], u_diameter_mm=0.0, u_reading_mm=0.0)
            if found is not None:
                swept_there = spot(READING.key, cylinder=cylinder, depth=ring.depth)
                read_there = spot(BORE_READING.key, cylinder=cylinder, depth=c.depth, axis=c.axis)
                yield Across(ring.depth_mm, int(ALONG[c.axis]), found.diameter_mm, (swept_there, read_there))


def _zero_doubts(view: View, cylinder: int, about: tuple[Place, Place]) -> Iterable[Doubt]:
    """The diameter at the indicator's zero as entered, by the gap and by the bore gauge, each against the one that counts."""
    counts = zero(view, cylinder)
    if counts is None or not swept_readings(view, cylinder):
        return
    gap, gauge = zero_by_gap(view, cylinder), zero_by_gauge(view, cylinder)
    here = (spot(SWEEP_ZERO.key, cylinder=cylinder), spot(GAP.key, cylinder=cylinder), *about)
    if gap is not None:
        yield from plan_check.check_zero(cylinder, counts, gap, L("spindle and gap"), slack_mm=0.0, about=here)
    if gauge is not None:
        yield from plan_check.check_zero(cylinder, counts, gauge, L("the bore gauge"), slack_mm=0.05, about=here)
