"""The passes still to take, and the load of the heaviest."""

from __future__ import annotations

from dataclasses import replace

from logic import cutting
from logic.result import Verdict
from logic.say import L, Qty

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
from .block import Metal, block_metal, metal
from .passes import size_now_mm, start_mm
from .sizes import bar_mm, finished_mm
from .sleeves import Stage, seat, sleeve_of, sleeved, stage
from .walls import bar_stand

__all__ = ["at_bored_size", "cutting_force_n", "heaviest", "largest_pass_mm", "passes_from_start", "passes_left"]


def _offset_mm(view: View, cylinder: int) -> float:
    """How far the bar is set off the unworn centre on purpose: one side is then cut deeper by as much.

    A fitted sleeve was never worn, and is bored where it stands.
    """
    if cylinder in sleeved(view) and stage(view, cylinder) == Stage.FINISH:
        return 0.0
    stand = bar_stand(view, cylinder)
    return abs(stand.shift_mm) or abs(stand.either_way_mm)


def _cut_metal(view: View, cylinder: int) -> Metal:
    """What the bar cuts: the block, or the iron or steel of a fitted sleeve."""
    given = sleeve_of(view, cylinder) if cylinder in sleeved(view) and stage(view, cylinder) == Stage.FINISH else None
    if given is None:
        return block_metal(view)
    return metal("steel" if given.iron.poisson == metal("steel").poisson else "grey_iron")


def _load(view: View, cut_mm: float, size_mm: float, offset_mm: float, cut: Metal) -> cutting.Load:
    return cutting.load(
        cut_mm,
        size_mm,
        view.number(SPIN),
        view.number(FEED),
        motor_w=view.number(MOTOR),
        efficiency=view.number(EFFICIENCY),
        edge_angle_deg=view.number(LEAD),
        nose_mm=view.number(NOSE),
        kc11=cut.cutting_n_mm2,
        m=cut.cutting_exponent,
        wear=view.number(WEAR),
        offset_mm=offset_mm,
        edge=view.choice(EDGE),
    )


def _largest(view: View, cylinder: int, size_mm: float, offset_mm: float) -> dict[str, float]:
    """The largest cut on diameter by each limit; a bar set over cuts one side deeper by as much, whatever limits it."""
    cut = _cut_metal(view, cylinder)

    def left(limit_mm: float) -> float:
        return max(0.001, limit_mm - 2 * offset_mm)

    limits = {
        "tool": left(view.number(TOOL_LIMIT)),
        "power": cutting.largest_cut_mm(
            view.number(MOTOR),
            size_mm,
            view.number(SPIN),
            view.number(FEED),
            efficiency=view.number(EFFICIENCY),
            edge_angle_deg=view.number(LEAD),
            nose_mm=view.number(NOSE),
            kc11=cut.cutting_n_mm2,
            m=cut.cutting_exponent,
            wear=view.number(WEAR),
            offset_mm=offset_mm,
        ),
    }
    setup = view.number(SETUP_LIMIT)
    if setup is not None:
        limits["set-up"] = left(setup)
    return limits


def _seat_passes(view: View, cylinder: int, present_mm: float, largest: dict[str, float]) -> cutting.Passes | None:
    """The passes to the bore a sleeve goes into; within its own limits it is done, and no hone follows."""
    wanted = seat(view, cylinder)
    if wanted is None:
        return None
    band = wanted.most_mm - wanted.aim_mm
    plan = cutting.passes(
        min(present_mm, wanted.aim_mm), wanted.aim_mm, largest=largest, last_mm=view.number(LAST), tolerance_mm=band
    )
    over = present_mm - wanted.aim_mm
    if over <= band:
        return plan
    line = L(
        "{over} over the bore its sleeve wants. Enter what it measures in the step for sleeves.", over=Qty(over, "diff")
    )
    return replace(plan, line=line, verdict=Verdict.STOP)


@fact
def passes_left(view: View, cylinder: int) -> cutting.Passes | None:
    """The passes to what the bar is to leave next. None where that or the present size is not known."""
    aim, present = bar_mm(view, cylinder), size_now_mm(view, cylinder)
    if aim is None or present is None:
        return None
    largest = _largest(view, cylinder, aim, _offset_mm(view, cylinder))
    if stage(view, cylinder) == Stage.SEAT:
        return _seat_passes(view, cylinder, present, largest)
    return cutting.passes(
        present,
        aim,
        largest=largest,
        last_mm=view.number(LAST),
        finished_mm=finished_mm(view, cylinder),
        least_hone_mm=view.number(LEAST_HONE),
    )


@fact
def at_bored_size(view: View, cylinder: int) -> bool:
    """Whether the bar has nothing left to take out of a bore, and has not cut it too large."""
    plan = passes_left(view, cylinder)
    return plan is not None and not plan.passes and plan.verdict != Verdict.STOP


@fact
def passes_from_start(view: View, cylinder: int) -> int | None:
    """How many passes lead from the worn bore to the size the bar is to leave; None where that is not known, or a sleeve
    makes it two stages."""
    aim, start = bar_mm(view, cylinder), start_mm(view, cylinder)
    if aim is None or start is None or cylinder in sleeved(view):
        return None
    largest = _largest(view, cylinder, aim, _offset_mm(view, cylinder))
    return len(cutting.passes(start, aim, largest=largest, last_mm=view.number(LAST)).passes)


@fact
def largest_pass_mm(view: View, cylinder: int) -> float | None:
    """The size that the next pass must not come out above, at 20 °C; None while it is not known."""
    if stage(view, cylinder) == Stage.SEAT:
        wanted = seat(view, cylinder)
        return None if wanted is None else wanted.most_mm
    finished = finished_mm(view, cylinder)
    return None if finished is None else finished - view.number(LEAST_HONE)


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
        return _load(view, heavy.cut_mm, heavy.to_mm, _offset_mm(view, c), _cut_metal(view, c))
    size = next((s for c in view.cylinders if (s := bar_mm(view, c)) is not None), view.nominal_mm)
    return None if size is None else _load(view, view.number(TOOL_LIMIT), size, 0.0, block_metal(view))


@fact
def cutting_force_n(view: View) -> float | None:
    """The cutting force the clamps must hold, N: the heaviest pass to come, cut with a worn edge. None if unknown."""
    load = heaviest(view)
    return None if load is None else load.worn_force_n
