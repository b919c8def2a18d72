"""Limits and fits by ISO 286-1: tolerance grades IT5 to IT8 and the shaft letters h to s.

Sizes and deviations in millimetres, nominal sizes up to 500 mm. The tables are those
of ISO 286-1:2010 (standard tolerance grades; fundamental deviations of shafts), set
down from memory; the tests check the grades against the formula that the standard
builds them from and the letters against a printed table.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from typing import NamedTuple

__all__ = ["Fit", "fit", "grade_mm", "shaft_deviation_mm"]

#: Upper ends of the size ranges ("over the one before, up to and including"), mm.
_UP_TO = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)
#: Tolerance in micrometres for each of those ranges.
_GRADES = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
}
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


def grade_mm(grade: int, size_mm: float) -> float:
    """The tolerance (mm) of grade IT5, 6, 7 or 8 for a nominal size up to 500 mm, else ValueError."""
    if grade not in _GRADES:
        raise ValueError(f"no such grade here: IT{grade}")
    if not 0 < size_mm <= 500:
        raise ValueError(f"the table covers sizes up to 500 mm, not {size_mm}")
    return _GRADES[grade][bisect_left(_UP_TO, size_mm)] / 1000


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
    low_hole, high_hole = size_mm, size_mm + grade_mm(int(h[1]), size_mm)
    width, start = grade_mm(int(s[2]), size_mm), shaft_deviation_mm(s[1], size_mm)
    low_shaft = size_mm + (start - width if s[1] == "h" else start)
    high_shaft = low_shaft + width
    return Fit((low_hole, high_hole), (low_shaft, high_shaft), (low_shaft - high_hole, high_shaft - low_hole))
