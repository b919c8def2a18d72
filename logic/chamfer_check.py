"""Chamfers against each other: the dial where the tool touches, and the width by the dial against that measured across.

How far each may be off is common practice, no source: a top face is flat to far less than a turn of a dial.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Mapping

from .chamfer import U_ACROSS_MM, touch_shift_mm
from .doubt import APART, Doubt, Place, beyond
from .say import L, Qty

__all__ = ["check_across", "check_none_across", "check_touches"]

#: The rims of one face, and the width of a chamfer that is cut by hand, are alike within this, mm.
TOUCH_MM, WIDTH_MM = 0.25, 0.15


def check_touches(
    touch_mm: Mapping[int, float],
    sizes_mm: Mapping[int, float],
    *,
    angle_deg: float,
    u_mm: float,
    about: Mapping[int, Place],
) -> Iterator[Doubt]:
    """The dial at first touch of each bore, as its size moves it, against the others: bores of one face."""
    level = {c: mm - touch_shift_mm(sizes_mm[c], 0.0, angle_deg) for c, mm in touch_mm.items() if c in sizes_mm}
    if len(level) < 2:
        return
    middle = statistics.median(level.values())
    odd = max(level, key=lambda c: abs(level[c] - middle))
    others = sorted(c for c in level if c != odd)
    expected = statistics.median(level[c] for c in others) + touch_shift_mm(sizes_mm[odd], 0.0, angle_deg)
    if not beyond(touch_mm[odd] - expected, TOUCH_MM, u_mm, APART):
        return
    yield Doubt(
        key=f"chamfer.touch.{odd}",
        line=L(
            "Cylinder {n}: the tool touches at {touch} on the dial, but by the other bores it should at {expected}.",
            n=odd,
            touch=Qty(touch_mm[odd], "size"),
            expected=Qty(expected, "size"),
        ),
        settle=L("Read the dial again, its turns with it, and see that the tool did not move in its holder."),
        about=(about[odd], *(about[c] for c in others)),
    )


def check_across(
    cylinder: int, across_mm: float, dial_mm: float, *, u_mm: float, about: tuple[Place, ...]
) -> Iterator[Doubt]:
    """The width measured across a chamfer against that by the dial, of which ``u_mm`` is the standard uncertainty."""
    if not beyond(across_mm - dial_mm, WIDTH_MM, math.hypot(u_mm, U_ACROSS_MM), APART):
        return
    yield Doubt(
        key=f"chamfer.across.{cylinder}",
        line=L(
            "Cylinder {n}: the chamfer is {across} wide measured across, but {dial} by the dial.",
            n=cylinder,
            across=Qty(across_mm, "size"),
            dial=Qty(dial_mm, "size"),
        ),
        settle=L("Measure across it again, and check the dial and the tool's angle."),
        about=about,
    )


def check_none_across(cut: Mapping[int, Place], *, measured: bool, angle: Place) -> Iterator[Doubt]:
    """Chamfers known by the dial alone: it shows the depth, and nothing of the angle that the tool truly has."""
    if measured or not cut:
        return
    yield Doubt(
        key="chamfer.once",
        line=L("No chamfer was measured across: the dial shows its depth, and its width only if the angle is right."),
        settle=L("Measure across one of them, with a glass or scale."),
        about=(angle, *(cut[c] for c in sorted(cut))),
    )
