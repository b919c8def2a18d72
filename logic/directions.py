"""Directions on an engine, in plain words.

Seen from above: 0 degrees is the front of the engine, and angles run anticlockwise, so
90 degrees is the left as you look from the rear toward the front, 180 the rear and 270
the right. "Left" never means the left of the person in front of the machine.
"""

from __future__ import annotations

import math

from .say import L, Line, Qty

__all__ = ["compass", "toward"]

#: Less than this (mm) is said as nothing at all: a twentieth of a thou.
NOTHING_MM = 0.00127

_NAMES = (
    L("the front"),
    L("the front left"),
    L("the left"),
    L("the rear left"),
    L("the rear"),
    L("the rear right"),
    L("the right"),
    L("the front right"),
)


def compass(angle_deg: float) -> Line:
    """The nearest of eight directions: "the front", "the front left" and so on."""
    return _NAMES[round((angle_deg % 360) / 45) % 8]


def _side(distance_mm: float) -> int:
    """1 one way, -1 the other, 0 where it is nothing to speak of."""
    if abs(distance_mm) < NOTHING_MM:
        return 0
    return 1 if distance_mm > 0 else -1


def toward(front_mm: float, left_mm: float, kind: str = "diff") -> Line:
    """A displacement as "{a} toward the rear and {b} toward the left".

    ``front_mm`` is positive to the front, ``left_mm`` to the left. Raises ValueError
    if either is not finite.
    """
    if not (math.isfinite(front_mm) and math.isfinite(left_mm)):
        raise ValueError("a displacement must be a finite number")
    a, b = Qty(abs(front_mm), kind), Qty(abs(left_mm), kind)
    along, across = _side(front_mm), _side(left_mm)
    if along and across:
        return _diagonal(along, across, a, b)
    if along:
        return L("{a} toward the front", a=a) if along > 0 else L("{a} toward the rear", a=a)
    if across:
        return L("{b} toward the left", b=b) if across > 0 else L("{b} toward the right", b=b)
    return L("by no measurable amount")


def _diagonal(along: int, across: int, a: Qty, b: Qty) -> Line:
    """A displacement both ways at once."""
    if along > 0 and across > 0:
        return L("{a} toward the front and {b} toward the left", a=a, b=b)
    if along > 0:
        return L("{a} toward the front and {b} toward the right", a=a, b=b)
    if across > 0:
        return L("{a} toward the rear and {b} toward the left", a=a, b=b)
    return L("{a} toward the rear and {b} toward the right", a=a, b=b)
