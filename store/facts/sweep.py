"""What the indicator on the spindle says of each bore."""

from __future__ import annotations

from functools import lru_cache

from logic import sweep
from logic.temperature import bore_at_20

from ..assumed import with_assumed
from ..fields.sweep import GAP, READING, READING_U, SET_OVER, SET_TOWARD, SIGN, SPINDLE, ZERO, ZERO_U
from ..folded import numbered
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .face import bore_lean, lean
from .gauging import budget, depth_mm
from .thickness import walls_read
from .visit import block_c, master_c
from .worn import wear_side, worn_bore

__all__ = ["ALONG", "sweep_lean", "swept", "swept_readings", "zero", "zero_by_gap", "zero_by_gauge", "zero_entered"]

_TOWARD = {"front": 0.0, "left": 90.0, "rear": 180.0, "right": 270.0}
#: The axes a two-point gauge is put along, as directions.
ALONG = {"thrust": 90.0, "crank": 0.0}
#: The same readings have the same answer: an entry elsewhere in the job does not work every bore out again.
_worked_out = lru_cache(maxsize=64)(sweep.sweep)


@fact
def swept_readings(view: View, cylinder: int) -> tuple[sweep.Reading, ...]:
    return tuple(
        sorted(
            sweep.Reading(depth_mm(view, numbered(where, "depth")), float(numbered(where, "angle")), value.value)
            for where, value in view.all(READING, cylinder=cylinder).items()
        )
    )


def _at_20(view: View, cylinder: int, size_mm: float) -> float:
    """A diameter measured in the block as it is, at 20 °C."""
    return bore_at_20(
        zero_mm=size_mm,
        deviation_mm=0.0,
        block_c=block_c(view, "sweep", cylinder),
        alpha_block_per_k=block_expansion_per_k(view),
        master_c=master_c(view, "sweep", cylinder),
    )


@fact
def zero_entered(view: View, cylinder: int) -> sweep.Zero | None:
    """The diameter at the indicator's zero as entered."""
    entered = view.number(ZERO, cylinder=cylinder)
    return None if entered is None else sweep.Zero(_at_20(view, cylinder, entered), view.number(ZERO_U), 1)


@fact
def zero_by_gap(view: View, cylinder: int) -> sweep.Zero | None:
    """The same from the gap between spindle and wall."""
    gap, spindle = view.number(GAP, cylinder=cylinder), view.number(SPINDLE)
    if gap is None or spindle is None:
        return None
    found = sweep.zero_from_gap(spindle, gap, u_gap_mm=view.number(ZERO_U) / 2)
    return found._replace(diameter_mm=_at_20(view, cylinder, found.diameter_mm))


@fact
def zero_by_gauge(view: View, cylinder: int) -> sweep.Zero | None:
    """The same from what the bore gauge read at the depths of the sweep."""
    worn = worn_bore(view, cylinder)
    if worn is None:
        return None
    sure = budget(view)
    return sweep.zero_from_diameters(
        swept_readings(view, cylinder),
        [(c.depth_mm, ALONG[c.axis], c.d_mm) for c in worn.cells if c.axis in ALONG],
        u_diameter_mm=sure.u_own,
        u_reading_mm=view.number(READING_U),
        u_common_mm=sure.u_shared,
        outward=view.choice(SIGN) == "up",
    )


@fact
def zero(view: View, cylinder: int) -> sweep.Zero | None:
    """The diameter at the indicator's zero: entered, from the gap, or from the bore gauge; None where none of them is there."""
    for source in (zero_entered, zero_by_gap, zero_by_gauge):
        found = source(view, cylinder)
        if found is not None:
            return found
    return None


def sweep_lean(view: View, cylinder: int) -> sweep.SweepLean:
    """How the bore leans against the spindle: as the face was measured, else as faces may lean that nobody measured."""
    found = lean(view, cylinder)
    if found is None:
        u = bore_lean(view, cylinder).u_mm
        return sweep.SweepLean(0.0, 0.0, u, u)
    return sweep.SweepLean(found.along_mm, found.across_mm, found.u_along_mm, found.u_across_mm)


@fact
def swept(view: View, cylinder: int) -> sweep.Swept | None:
    """What the sweep says of a cylinder; None where it was not swept all round or the zero is not known."""
    readings, set_zero = swept_readings(view, cylinder), zero(view, cylinder)
    if set_zero is None or not sweep.goes_round(readings, set_zero.diameter_mm, outward=view.choice(SIGN) == "up"):
        return None
    worn = worn_bore(view, cylinder)
    over = view.number(SET_OVER, cylinder=cylinder)
    found = _worked_out(
        readings,
        cylinder=cylinder,
        zero_mm=set_zero.diameter_mm,
        u_zero_mm=set_zero.u_mm,
        u_reading_mm=view.number(READING_U),
        u_centring_mm=wear_side(view, cylinder).u_centring_mm,
        outward=view.choice(SIGN) == "up",
        lean=sweep_lean(view, cylinder),
        length_mm=bore_length_mm(view),
        unworn_mm=worn.unworn.mm if worn is not None and worn.measured else None,
        set_over=None
        if over is None
        else sweep.displacement(over, _TOWARD[view.choice(SET_TOWARD, cylinder=cylinder)]),
        walls=walls_read(view, cylinder),
    )
    return with_assumed(found, view, SIGN)
