"""The finished bores as measured, each with its verdict."""

from __future__ import annotations

import math
from dataclasses import replace

from logic import capability as capable
from logic import verify
from logic.conformance import BoreLimits
from logic.constants import constant
from logic.fields import DefaultNumber, Number
from logic.machine_record import basis
from logic.pictures import BoreSection
from logic.record_told import from_record
from logic.temperature import bore_at_20
from logic.uncertainty import Budget, from_resolution, reading_budget

from ..assumed import with_assumed
from ..fields import bores as worn_fields
from ..fields.final import (
    AGAIN,
    BLOCK_U,
    DIVISION,
    MASTER_U,
    OVER,
    READING,
    REPEAT,
    ROUND,
    SURE,
    TAPER,
    UNDER,
    WARMED,
    ZERO,
)
from ..folded import named, numbered
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, block_expansion_u_per_k, bore_length_mm
from .gauging import axes, depth_mm, depths
from .instruments import instrument
from .pistons import piston_mm, piston_u_mm
from .record import finished_before, made_like
from .sizes import finished_mm, finished_sizes_mm
from .visit import block_c, master_c, with_temperatures

__all__ = [
    "after",
    "allowed_mm",
    "base_mm",
    "budget",
    "capability",
    "checked",
    "depth_means_mm",
    "final_spots",
    "usual_limit_mm",
]


@fact
def base_mm(view: View) -> float | None:
    """The size the final readings count from; None until it is entered."""
    return view.number(ZERO)


def _or(view: View, own: Number, else_: DefaultNumber) -> float:
    stated = view.number(own)
    return view.number(else_) if stated is None else stated


def _budget(view: View, size_mm: float) -> Budget:
    gauge = instrument(view, "gauge")
    return reading_budget(
        size_mm=size_mm,
        division_mm=_or(view, DIVISION, worn_fields.DIVISION),
        repeatability_mm=max(_or(view, REPEAT, worn_fields.REPEAT), gauge.spread_mm),
        master_u_mm=math.hypot(_or(view, MASTER_U, worn_fields.MASTER_U), gauge.error_mm),
        block_c=block_c(view, "final"),
        block_u_c=view.number(BLOCK_U),
        gauge_c=master_c(view, "final"),
        alpha_block_per_k=block_expansion_per_k(view),
        alpha_u_per_k=block_expansion_u_per_k(view),
        alpha_gauge_per_k=constant("expansion.steel").value,
    )


@fact
def budget(view: View) -> Budget:
    """How sure one final reading is, and from what. Raises ValueError while the gauge has no zero."""
    size = base_mm(view)
    if size is None:
        raise ValueError("the final readings count from nothing")
    return _budget(view, size)


@fact
def usual_limit_mm(view: View) -> float:
    """What is allowed where nobody stated a limit: :func:`logic.capability.usual_limit_mm` for the gauge at hand."""
    sizes = list(finished_sizes_mm(view).values())
    size = sizes[0] if sizes else view.nominal_mm
    return capable.USUAL_LIMIT_MM if size is None else capable.usual_limit_mm(_budget(view, size).u)


@fact
def allowed_mm(view: View, limit: Number) -> float:
    """A limit of the final check: as entered, else the usual one for the gauge at hand."""
    stated = view.number(limit)
    return usual_limit_mm(view) if stated is None else stated


@fact
def capability(view: View) -> capable.Capability | None:
    """Whether the gauge at hand can decide the limits, before anything is read; None while no size is settled."""
    sizes = list(finished_sizes_mm(view).values())
    if not sizes:
        return None
    target = sizes[0]
    sure, division = _budget(view, target), _or(view, DIVISION, worn_fields.DIVISION)
    # what all share, without the division at the zero, which another gauge would have smaller
    shared = math.sqrt(max(0.0, sure.u_shared**2 - from_resolution(division) ** 2))
    able = with_assumed(
        capable.capability(
            [verify.Spot(d, a, depth_mm(view, d), target) for d in depths(view) for a in axes(view)],
            BoreLimits(
                lower_mm=target - allowed_mm(view, UNDER),
                upper_mm=target + allowed_mm(view, OVER),
                round_mm=allowed_mm(view, ROUND),
                taper_mm=allowed_mm(view, TAPER),
            ),
            target_mm=target,
            gauging=capable.Gauging(division_mm=division, repeat_mm=sure.u_repeat, shared_mm=shared),
            confidence=view.number(SURE),
            process=made_like(view),
        ),
        view,
        BLOCK_U,
    )
    if finished_before(view):
        able = replace(able, why=(*able.why, from_record(basis(finished_before(view)))))
    return with_temperatures(able, view, "final")


@fact
def final_spots(view: View, cylinder: int) -> list[verify.Spot]:
    """What was read in a cylinder, each place with all its readings, as diameters at 20 °C."""
    zero = base_mm(view)
    if zero is None:
        return []
    out = []
    for where, first in view.all(READING, cylinder=cylinder).items():
        depth, axis = numbered(where, "depth"), named(where, "axis")
        more = view.all(AGAIN, cylinder=cylinder, depth=depth, axis=axis)
        read = [first.value, *(v.value for v in more.values())]
        sizes = [
            bore_at_20(
                zero_mm=zero,
                deviation_mm=r,
                block_c=block_c(view, "final", cylinder),
                alpha_block_per_k=block_expansion_per_k(view),
                master_c=master_c(view, "final", cylinder),
                gauge_warmed_k=view.number(WARMED),
            )
            for r in read
        ]
        out.append(verify.Spot.of(depth, axis, depth_mm(view, depth), sizes))
    return sorted(out, key=lambda s: (s.depth_mm, s.axis))


@fact
def depth_means_mm(view: View, cylinder: int) -> tuple[float, ...]:
    """The measured mean diameter at each depth at 20 °C, uppermost first; empty while nothing was read."""
    return () if base_mm(view) is None else verify.depth_means_mm(final_spots(view, cylinder))


@fact
def checked(view: View) -> dict[int, verify.FinishedBore]:
    """The verdict on each cylinder that has final readings and a size to meet, by cylinder."""
    if base_mm(view) is None:
        return {}
    sure = budget(view)
    stated = all(view.number(f) is not None for f in (OVER, UNDER, ROUND, TAPER))
    out = {}
    for cylinder in view.cylinders:
        target, spots = finished_mm(view, cylinder), final_spots(view, cylinder)
        if target is None or not spots:
            continue
        found = verify.finished_bore(
            cylinder=cylinder,
            spots=spots,
            target_mm=target,
            lower_mm=target - allowed_mm(view, UNDER),
            upper_mm=target + allowed_mm(view, OVER),
            round_limit_mm=allowed_mm(view, ROUND),
            taper_limit_mm=allowed_mm(view, TAPER),
            u_own_mm=sure.u_repeat,
            u_fixed_mm=sure.u_fixed,
            u_shared_mm=sure.u_shared,
            confidence=view.number(SURE),
            limit_source="entered" if stated else "common practice",
            sources=sure.shares,
            process=made_like(view),
        )
        if finished_before(view):
            found = replace(found, why=(*found.why, from_record(basis(finished_before(view)))))
        piston = piston_mm(view, cylinder)
        if piston is not None:
            found = verify.with_piston(found, piston, piston_u_mm(view, cylinder))
        out[cylinder] = with_temperatures(with_assumed(found, view, WARMED, BLOCK_U), view, "final")
    return out


@fact
def after(view: View, cylinder: int, at_least_mm: float = 0.0) -> BoreSection | None:
    """The finished bore cut lengthwise; None while it has no verdict. ``at_least_mm`` as in the picture."""
    found = checked(view).get(cylinder)
    return (
        None
        if found is None
        else verify.section(found, final_spots(view, cylinder), length_mm=bore_length_mm(view), at_least_mm=at_least_mm)
    )
