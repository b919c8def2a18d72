"""How the worn bores are gauged: the zero, the places, and how sure a reading is."""

from __future__ import annotations

import math
from typing import Any

from logic.constants import constant
from logic.uncertainty import Budget, reading_budget
from logic.unread import first_depth_mm

from ..fields import final, sweep
from ..fields.bores import AXES, BLOCK_U, DEPTH, DEPTHS, DIVISION, MASTER_U, READING, REPEAT, RING_TOP, ZERO
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, block_expansion_u_per_k, bore_length_mm
from .instruments import instrument
from .visit import block_c, master_c

__all__ = [
    "advised_first_mm",
    "axes",
    "base_mm",
    "budget",
    "cells",
    "depth_mm",
    "depths",
    "division_mm",
    "likely_zero_mm",
    "unread_cells",
]

_AXES = {"one": ("thrust",), "two": ("thrust", "crank"), "four": ("thrust", "crank", "diag_a", "diag_b")}
#: Depth of the first and the last reading, where none is stated: from the top face, and as a part of the length (common practice).
_FIRST_MM, _LAST_PART = 12.0, 0.92
#: A first depth no further than this from the one advised is left as it is.
_NEAR_MM = 1.0


@fact
def base_mm(view: View) -> float | None:
    """The size the readings count from: the gauge's zero, or the nominal bore."""
    return view.number(ZERO) or view.nominal_mm


@fact
def division_mm(view: View) -> float:
    """One division of the gauge."""
    return view.number(DIVISION)


@fact
def axes(view: View) -> tuple[str, ...]:
    """The axes measured."""
    return _AXES[view.choice(AXES)]


@fact
def depth_mm(view: View, depth: int) -> float:
    """Depth number ``depth`` (from 1, the uppermost): as entered, else spread evenly over the bore."""
    stated = view.number(DEPTH, depth=depth)
    if stated is not None:
        return stated
    count = int(view.number(DEPTHS))
    last = _LAST_PART * bore_length_mm(view)
    first = min(_FIRST_MM, last / 2)
    return first if count == 1 else first + (last - first) * (depth - 1) / (count - 1)


@fact
def likely_zero_mm(view: View) -> float | None:
    """The size the gauge is most likely zeroed at, to be asked before the first reading; None once it is known or counted from."""
    if view.number(ZERO) is not None or view.all(READING):
        return None
    return view.nominal_mm


@fact
def advised_first_mm(view: View) -> float | None:
    """Where to take the first depth: just below the top of ring travel, where that is known.

    None where the depth was entered or lies there, or would be no higher than the second. Nor is there
    one once anything was read at a depth: what was read stays where it was taken, so this is advice to
    be entered as a depth and no default, which would move older readings.
    """
    top = view.number(RING_TOP)
    if top is None or view.number(DEPTH, depth=1) is not None:
        return None
    if any(view.all(reading) for reading in (READING, sweep.READING, final.READING)):
        return None
    first, now = first_depth_mm(top), depth_mm(view, 1)
    below = depth_mm(view, 2) if view.number(DEPTHS) > 1 else bore_length_mm(view)
    return first if first < below and abs(first - now) > _NEAR_MM else None


@fact
def depths(view: View) -> tuple[int, ...]:
    """The depths to measure, by number: those asked for and any that holds a reading."""
    used = {dict(where).get("depth") for where in view.all(READING)}
    return tuple(sorted({*range(1, int(view.number(DEPTHS)) + 1), *(d for d in used if isinstance(d, int))}))


@fact
def cells(view: View) -> list[dict[str, Any]]:
    """Every place to measure, in the order of entry: cylinder, depth, axis."""
    down, across = depths(view), axes(view)
    return [{"cylinder": c, "depth": d, "axis": a} for c in view.cylinders for d in down for a in across]


@fact
def unread_cells(view: View, cylinder: int) -> tuple[tuple[int, str], ...]:
    """The places of a cylinder that are asked for and not read: depth number and axis."""
    read = {(at["depth"], at["axis"]) for where in view.all(READING, cylinder=cylinder) if (at := dict(where))}
    return tuple((d, a) for d in depths(view) for a in axes(view) if (d, a) not in read)


@fact
def budget(view: View) -> Budget:
    """How sure one reading is, and from what. Raises ValueError while the readings count from nothing."""
    size = base_mm(view)
    if size is None:
        raise ValueError("the readings count from nothing")
    gauge = instrument(view, "gauge")
    return reading_budget(
        size_mm=size,
        division_mm=view.number(DIVISION),
        repeatability_mm=max(view.number(REPEAT), gauge.spread_mm),
        master_u_mm=math.hypot(view.number(MASTER_U), gauge.error_mm),
        block_c=block_c(view, "bore"),
        block_u_c=view.number(BLOCK_U),
        gauge_c=master_c(view, "bore"),
        alpha_block_per_k=block_expansion_per_k(view),
        alpha_u_per_k=block_expansion_u_per_k(view),
        alpha_gauge_per_k=constant("expansion.steel").value,
    )
