"""Fits by ISO 286-1, a reference for the tests: shaft letters h, n, p, r and s against a basic hole.

Sizes and deviations in millimetres. The fundamental deviations are those of ISO
286-1:2010, set down from memory and checked in the tests against a printed table; the
tolerance grades are in :func:`logic.constants.tolerance_grade_mm`.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from typing import NamedTuple

from logic.constants import tolerance_grade_mm

__all__ = ["Fit", "fit", "shaft_deviation_mm"]

#: Finer ranges, over 30 mm, in which the shaft letters r and s are given.
_FINE_FROM = 30
_FINE_UP_TO = (40, 50, 65, 80, 100, 120, 140, 160, 180)
#: Lower deviation of a shaft in micrometres over the fine ranges (h is zero everywhere).
_SHAFTS = {
    "h": (0,) * 9,
    "n": (17, 17, 20, 20, 23, 23, 27, 27, 27),
    "p": (26, 26, 32, 32, 37, 37, 43, 43, 43),
    "r": (34, 34, 41, 43, 51, 54, 63, 65, 68),
    "s": (43, 43, 53, 59, 71, 79, 92, 100, 108),
}


def shaft_deviation_mm(letter: str, size_mm: float) -> float:
    """The fundamental deviation (mm) of a shaft: upper for h, lower for n, p, r, s; sizes over 30 up to 180 mm."""
    if letter not in _SHAFTS:
        raise ValueError(f"no such shaft letter here: {letter}")
    if not _FINE_FROM < size_mm <= _FINE_UP_TO[-1]:
        raise ValueError(f"the table covers sizes over 30 up to 180 mm, not {size_mm}")
    return _SHAFTS[letter][bisect_left(_FINE_UP_TO, size_mm)] / 1000


class Fit(NamedTuple):
    """Limit sizes of hole and shaft (mm) and the interference they allow (mm, below zero is clearance)."""

    hole_mm: tuple[float, float]
    shaft_mm: tuple[float, float]
    interference_mm: tuple[float, float]


def fit(size_mm: float, hole: str = "H7", shaft: str = "p6") -> Fit:
    """A basic-hole fit such as H7/p6 at one nominal size.

    ``hole`` is H with a grade; ``shaft`` one of h, n, p, r, s with a grade. Raises
    ValueError for anything else or a size outside the tables.
    """
    h, s = re.fullmatch(r"H([5-8])", hole), re.fullmatch(r"([hnprs])([5-8])", shaft)
    if not h or not s:
        raise ValueError(f"not a fit known here: {hole}/{shaft}")
    low_hole, high_hole = size_mm, size_mm + tolerance_grade_mm(int(h[1]), size_mm)
    width, start = tolerance_grade_mm(int(s[2]), size_mm), shaft_deviation_mm(s[1], size_mm)
    low_shaft = size_mm + (start - width if s[1] == "h" else start)
    high_shaft = low_shaft + width
    return Fit((low_hole, high_hole), (low_shaft, high_shaft), (low_shaft - high_hole, high_shaft - low_hole))
