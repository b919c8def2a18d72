"""The worn bores as diameters at 20 °C, and which side wore."""

from __future__ import annotations

from logic import bore, cleanup
from logic.temperature import bore_at_20

from ..fields.bores import (
    BAR_SHIFT,
    CENTRING,
    OFFSET,
    READING,
    RING_BOTTOM,
    RING_TOP,
    SIDE,
    SWEPT_U,
    UNWORN,
)
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .gauging import axes, base_mm, budget, depth_mm, depths
from .visit import block_c, master_c

__all__ = ["axes_read", "depth_lines", "wear_side", "worn_bore", "worn_bores"]


@fact
def depth_lines(view: View) -> dict[float, tuple[int, ...]]:
    """The depths measured (mm from the top face, uppermost first), each with the numbers it goes by.

    They are sorted by where they lie, so that a depth added later takes its place among the others.
    """
    lines: dict[float, tuple[int, ...]] = {}
    for d in depths(view):
        mm = depth_mm(view, d)
        lines[mm] = (*lines.get(mm, ()), d)
    return dict(sorted(lines.items()))


@fact
def axes_read(view: View) -> tuple[str, ...]:
    """The axes to measure along and any other that holds a reading."""
    read = {dict(where)["axis"] for where in view.all(READING)}
    return tuple(a for a in bore.AXES if a in axes(view) or a in read)


def _at_20(view: View, cylinder: int, zero_mm: float, deviation_mm: float | None) -> float | None:
    """A reading as a diameter at 20 °C."""
    if deviation_mm is None:
        return None
    return bore_at_20(
        zero_mm=zero_mm,
        deviation_mm=deviation_mm,
        block_c=block_c(view, "bore", cylinder),
        alpha_block_per_k=block_expansion_per_k(view),
        master_c=master_c(view, "bore", cylinder),
    )


@fact
def worn_bore(view: View, cylinder: int) -> bore.WornBore | None:
    """The readings of a cylinder as diameters at 20 °C; None while it has none, or they count from nothing."""
    zero = base_mm(view)
    got = {
        (at["depth"], at["axis"]): value.value
        for where, value in view.all(READING, cylinder=cylinder).items()
        if (at := dict(where))
    }
    if zero is None or not got:
        return None
    sure, lines, across = budget(view), depth_lines(view), axes_read(view)
    return bore.WornBore(
        cylinder=cylinder,
        depths_mm=tuple(lines),
        axes=across,
        d_mm=tuple(
            tuple(
                _at_20(view, cylinder, zero, next((got[d, a] for d in numbers if (d, a) in got), None)) for a in across
            )
            for numbers in lines.values()
        ),
        u_mm=sure.u_own,
        u_common_mm=sure.u_shared,
        ring_top_mm=view.number(RING_TOP),
        ring_bottom_mm=view.number(RING_BOTTOM),
        stated_unworn_mm=view.number(UNWORN, cylinder=cylinder),
        length_mm=bore_length_mm(view),
        nominal_mm=view.nominal_mm,
    )


@fact
def worn_bores(view: View) -> dict[int, bore.WornBore]:
    """The worn bore of each cylinder that has any reading."""
    return {c: worn for c in view.cylinders if (worn := worn_bore(view, c)) is not None}


@fact
def wear_side(view: View, cylinder: int) -> cleanup.WearSide:
    """What is known about where a cylinder's metal went, and where the bar is put."""
    known, offset = view.choice(SIDE, cylinder=cylinder), view.number(OFFSET, cylinder=cylinder)
    if known == "swept" and offset is None:
        known = "unknown"
    return cleanup.WearSide(
        known=known,
        offset_mm=offset or 0.0,
        u_offset_mm=view.number(SWEPT_U),
        bar_shift_mm=view.number(BAR_SHIFT, cylinder=cylinder) or 0.0,
        u_centring_mm=view.number(CENTRING),
    )
