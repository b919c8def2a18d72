"""Wear where nothing was read: from the uppermost reading in ring travel up to where travel starts.

Wear is greatest at the top of ring travel and fades down the bore. Where the uppermost
reading lies below the top of travel, the bore is wider above it than any reading shows.
The wear is taken to fall off as exp(−z / λ) from the top of travel down, which gives at
the top

    w_top = w_1 exp((z_1 − z_top) / λ)

with λ from the two uppermost readings where they tell it, drawn to a stated prior
(common practice, no source: wear falls by half every 20 to 60 mm). What is not known of λ
and of where travel starts makes w_top uncertain in proportion; the mean and standard
deviation given are those of the lognormal distribution.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .bore import WornBore

__all__ = ["FADE_MM", "TOP_MM", "UnreadPlace", "first_depth_mm", "unread"]

#: Depth over which wear fades by a factor of e: prior median, and spread as a natural logarithm.
FADE_MM, FADE_SPREAD = 45.0, 0.45
#: Where the top ring's travel starts, from the top face, while nobody said: mean and standard deviation.
TOP_MM, TOP_U_MM = 11.0, 3.5
#: How well a stated start of travel is known, and a depth that was read: the ridge is felt with a fingernail.
STATED_U_MM = 1.0
#: The first reading belongs this far below the start of travel: clear of the ridge, in the most worn part.
BELOW_TOP_MM = 3.0
#: Wear no larger than this at the first reading is carried no further up, mm.
LEAST_WEAR_MM = 0.01
#: Scatter of the wear about its law, as a natural logarithm.
_SCATTER = 0.15
#: How far the law is followed upward: a thousandfold the wear that was read, within a factor of twenty. No bore is worn
#: so; but where readings begin far below the rings' travel the law knows no end.
MOST_MEAN, MOST_SPREAD = math.log(1000.0), 3.0


class UnreadPlace(NamedTuple):
    """The wear expected at the start of travel on one axis: ``d_mm`` its diameter, ``u_mm`` its standard uncertainty."""

    depth_mm: float
    axis: str
    d_mm: float
    u_mm: float


def first_depth_mm(ring_top_mm: float | None) -> float:
    """How far down the first reading should be taken."""
    return (TOP_MM if ring_top_mm is None else ring_top_mm) + BELOW_TOP_MM


def _rate(line: list[tuple[float, float]], u_mm: float) -> tuple[float, float]:
    """1/λ and its standard uncertainty, per mm, from (depth_mm, wear_mm) down one axis."""
    prior, u_prior = 1 / FADE_MM, FADE_SPREAD / FADE_MM
    (z1, w1), *rest = line
    for z2, w2 in rest[:1]:
        if w1 <= 2 * u_mm or w2 <= 2 * u_mm:
            break
        seen = math.log(w1 / w2) / (z2 - z1)
        u_seen = math.hypot(u_mm / w1, u_mm / w2, 2**0.5 * _SCATTER) / (z2 - z1)
        weight_prior, weight_seen = u_prior**-2, u_seen**-2
        mean = (prior * weight_prior + seen * weight_seen) / (weight_prior + weight_seen)
        # the law itself is not so exact as the readings may be
        u = max((weight_prior + weight_seen) ** -0.5, 0.2 * prior)
        return max(mean, 0.2 * prior), u
    return prior, u_prior


def unread(worn: WornBore) -> tuple[UnreadPlace, ...]:
    """For each axis, the wear at the start of travel that no reading shows; empty where the first reading covers it."""
    stated = worn.ring_top_mm is not None
    top = worn.ring_top_mm if worn.ring_top_mm is not None else TOP_MM
    u_top = STATED_U_MM if stated else TOP_U_MM
    out = []
    for axis in worn.axes:
        line = [(z, d - worn.unworn.mm) for z, d in worn.column(axis) if worn.in_travel(z)]
        if not line or line[0][1] <= LEAST_WEAR_MM:
            continue
        z1, w1 = line[0]
        gap, u_gap = _above(z1 - top, u_top)
        if gap < (BELOW_TOP_MM if stated else 0.5):
            continue
        rate, u_rate = _rate(line, worn.u_mm)
        mean = gap * rate
        spread = math.hypot(gap * u_rate, rate * u_gap, _SCATTER * min(1.0, gap / 10.0))
        mean, spread = min(mean, MOST_MEAN), min(spread, MOST_SPREAD)
        factor = math.exp(mean + spread**2 / 2)
        u = w1 * factor * math.sqrt(math.expm1(spread**2))
        out.append(UnreadPlace(max(0.0, z1 - gap), axis, worn.unworn.mm + w1 * factor, math.hypot(u, worn.u_mm)))
    return tuple(out)


def _above(gap_mm: float, u_mm: float) -> tuple[float, float]:
    """Mean and standard deviation of how much travel lies above a reading: a normal quantity, never below zero."""
    z = gap_mm / u_mm
    density = math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)
    share = 0.5 * math.erfc(-z / math.sqrt(2))
    mean = gap_mm * share + u_mm * density
    square = (gap_mm**2 + u_mm**2) * share + gap_mm * u_mm * density
    return mean, math.sqrt(max(0.0, square - mean * mean))
