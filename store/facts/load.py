"""The passes still to take, and the load of the heaviest."""

from __future__ import annotations

from logic import cutting

from ..fields.cut import (
    EDGE,
    EFFICIENCY,
    FEED,
    LAST,
    LEAD,
    LEAST_HONE,
    MOTOR,
    NOSE,
    SETUP_LIMIT,
    SPIN,
    TOOL_LIMIT,
    WEAR,
)
from ..graph import fact
from ..view import View
from .passes import size_now_mm
from .sizes import bored_mm, finished_mm
from .worn import wear_side

__all__ = ["cutting_force_n", "heaviest", "passes_left"]


def _offset_mm(view: View, cylinder: int) -> float:
    """How far the bar is set off the unworn centre on purpose: one side is then cut deeper by as much."""
    return abs(wear_side(view, cylinder).bar_shift_mm)


def _load(view: View, cut_mm: float, size_mm: float, offset_mm: float) -> cutting.Load:
    return cutting.load(
        cut_mm,
        size_mm,
        view.number(SPIN),
        view.number(FEED),
        motor_w=view.number(MOTOR),
        efficiency=view.number(EFFICIENCY),
        edge_angle_deg=view.number(LEAD),
        nose_mm=view.number(NOSE),
        wear=view.number(WEAR),
        offset_mm=offset_mm,
        edge=view.choice(EDGE),
    )


def _largest(view: View, size_mm: float, offset_mm: float) -> dict[str, float]:
    limits = {
        "tool": view.number(TOOL_LIMIT),
        "power": cutting.largest_cut_mm(
            view.number(MOTOR),
            size_mm,
            view.number(SPIN),
            view.number(FEED),
            efficiency=view.number(EFFICIENCY),
            edge_angle_deg=view.number(LEAD),
            nose_mm=view.number(NOSE),
            wear=view.number(WEAR),
            offset_mm=offset_mm,
        ),
    }
    setup = view.number(SETUP_LIMIT)
    if setup is not None:
        limits["set-up"] = setup
    return limits


@fact
def passes_left(view: View, cylinder: int) -> cutting.Passes | None:
    """The passes still to take in a cylinder. None where its bored size or its present size is not known."""
    target, present = bored_mm(view, cylinder), size_now_mm(view, cylinder)
    if target is None or present is None:
        return None
    return cutting.passes(
        present,
        target,
        largest=_largest(view, target, _offset_mm(view, cylinder)),
        last_mm=view.number(LAST),
        finished_mm=finished_mm(view, cylinder),
        least_hone_mm=view.number(LEAST_HONE),
    )


@fact
def heaviest(view: View) -> cutting.Load | None:
    """The load of the heaviest pass still to take; with none planned yet, of the largest cut the tool allows.

    None only where not even the nominal bore is known.
    """
    planned = [
        (p.cut_mm / 2 + _offset_mm(view, c), p, c)
        for c in view.cylinders
        if (plan := passes_left(view, c)) is not None
        for p in plan.passes
    ]
    if planned:
        # cuts alike to a nanometre are one cut: the larger bore then decides, not the last digit
        _, heavy, c = max(planned, key=lambda row: (round(row[0], 6), row[1].to_mm))
        return _load(view, heavy.cut_mm, heavy.to_mm, _offset_mm(view, c))
    size = next((s for c in view.cylinders if (s := bored_mm(view, c)) is not None), view.nominal_mm)
    return None if size is None else _load(view, view.number(TOOL_LIMIT), size, 0.0)


@fact
def cutting_force_n(view: View) -> float | None:
    """The cutting force the clamps must hold, N: the heaviest pass to come, cut with a worn edge. None if unknown."""
    load = heaviest(view)
    return None if load is None else load.worn_force_n
