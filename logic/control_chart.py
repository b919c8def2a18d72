"""Control charts: has something that a machine repeats begun to differ, and since when?

Two charts of one series. A point beyond three standard deviations is a jump (Shewhart's chart
for individual values; ISO 7870-2; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2);
the exponentially weighted moving average (EWMA)

    z_i = λ x_i + (1 − λ) z_(i−1),   limits ± k s sqrt(λ / (2 − λ))

shows a slow drift much sooner (NIST/SEMATECH e-Handbook, 6.3.2.4). Where the points are not
equally sure, or the series is young, the limits take the exact variance of z_i.

Values have the unit of the series.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["BASE_POINTS", "WEIGHT", "Chart", "K", "Limits", "chart", "ewma", "ewma_limits", "moving_range_limits"]

#: λ of the moving average, and how many standard deviations are allowed.
WEIGHT, K = 0.2, 3.0
#: Mean of the range of two values of a normal distribution, over its standard deviation (ISO 7870-2, d2 for n = 2).
_D2 = 1.128
#: From how many points on the level is taken to be known well enough for a chart to speak.
BASE_POINTS = 5
#: So many points at most make the level that the others are held against.
_BASE_MOST = 20


@dataclass(frozen=True, slots=True)
class Limits:
    """The middle of a chart and its two limits."""

    middle: float
    low: float
    high: float


def moving_range_limits(values: Sequence[float]) -> Limits:
    """Limits of a chart of single values, from the mean of the ranges of neighbours. Raises ValueError under two values."""
    if len(values) < 2:
        raise ValueError("a moving range needs two values")
    middle = math.fsum(values) / len(values)
    mean_range = math.fsum(abs(b - a) for a, b in pairwise(values)) / (len(values) - 1)
    return Limits(middle, middle - 3.0 * mean_range / _D2, middle + 3.0 * mean_range / _D2)


def ewma(values: Sequence[float], start: float, weight: float = WEIGHT) -> tuple[float, ...]:
    """The moving average after each value, beginning at ``start``. Raises ValueError for a weight not in (0, 1]."""
    if not 0.0 < weight <= 1.0:
        raise ValueError("the weight of the latest value lies between 0 and 1")
    out, z = [], start
    for v in values:
        z = weight * v + (1.0 - weight) * z
        out.append(z)
    return tuple(out)


def ewma_limits(start: float, spread: float, weight: float = WEIGHT, k: float = K) -> Limits:
    """Where the moving average stays once it has run for a while, for single values of standard deviation ``spread``."""
    half = k * spread * math.sqrt(weight / (2.0 - weight))
    return Limits(start, start - half, start + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A series on its charts. ``middle`` is the level that the first ``base`` points give, ``points`` the values with
    how far each may lie from it (``reach``), ``average`` the EWMA with its own reach. ``jumps`` are the numbers of
    the points beyond; ``drift_from`` is the number of the point from which on the series has most likely differed, None
    while the average lies within its limits; ``drift`` is by how much the points since lie apart
    from the middle."""

    middle: float
    base: int
    points: tuple[float, ...]
    reach: tuple[float, ...]
    average: tuple[float, ...]
    average_reach: tuple[float, ...]
    jumps: tuple[int, ...]
    drift_from: int | None
    drift: float
    first_out: int | None


def _base_of(n: int, wanted: int | None) -> int:
    """How many of ``n`` points make the middle."""
    return min(n, max(BASE_POINTS, min(_BASE_MOST, n // 3 if wanted is None else wanted)))


def _beyond(points: Sequence[float], middle: float, reach: Sequence[float]) -> tuple[int, ...]:
    return tuple(i for i, (v, r) in enumerate(zip(points, reach, strict=True)) if abs(v - middle) > r)


def _averaged(
    counted: Sequence[float], spreads: Sequence[float], middle: float, base: int, u_middle2: float, k: float
) -> tuple[list[float], list[float]]:
    """The moving average of the points after the first ``base``, which stays at the middle until then, and its reach."""
    average, reach = [], []
    z, own, drawn = middle, 0.0, 0.0
    for i, (v, s) in enumerate(zip(counted, spreads, strict=True)):
        if i >= base:
            z = WEIGHT * v + (1.0 - WEIGHT) * z
            own = (WEIGHT * s) ** 2 + (1.0 - WEIGHT) ** 2 * own
            drawn = WEIGHT + (1.0 - WEIGHT) * drawn  # how far the average has left the middle it began at
        average.append(z)
        reach.append(k * math.sqrt(own + drawn * drawn * u_middle2))
    return average, reach


def chart(values: Sequence[float], spreads: Sequence[float], *, base: int | None = None, k: float = K) -> Chart | None:
    """The charts of a series of job means, each with its own standard deviation; None with too few points.

    The middle is the mean of the first ``base`` points (a third of the series unless told otherwise, at least five
    and at most twenty) by inverse variance; how well it is known goes into every later limit. The points it is made of
    cannot themselves be judged by the average; into that no point counts further than its own limit, so that one jump is
    not taken for a drift.
    """
    n = len(values)
    if n <= BASE_POINTS:
        return None
    base = _base_of(n, base)
    weights = [1.0 / max(s * s, 1e-30) for s in spreads[:base]]
    total = math.fsum(weights)
    middle = math.fsum(w * v for w, v in zip(weights, values, strict=False)) / total
    u_middle2 = 1.0 / total
    reach = [k * math.sqrt(s * s + (u_middle2 if i >= base else 0.0)) for i, s in enumerate(spreads)]
    counted = [min(max(v, middle - r), middle + r) for v, r in zip(values, reach, strict=True)]
    average, average_reach = _averaged(counted, spreads, middle, base, u_middle2, k)
    jumps = _beyond(values, middle, reach)
    out = [i for i in _beyond(average, middle, average_reach) if i >= base]
    start = _parted(counted, spreads, middle, base) if out and out[-1] == n - 1 else None
    since = values[start:] if start is not None else ()
    return Chart(
        middle=middle,
        base=base,
        points=tuple(values),
        reach=tuple(reach),
        average=tuple(average),
        average_reach=tuple(average_reach),
        jumps=jumps,
        drift_from=start,
        drift=math.fsum(since) / len(since) - middle if since else 0.0,
        first_out=out[0] if out else None,
    )


def _parted(values: Sequence[float], spreads: Sequence[float], middle: float, base: int) -> int:
    """The point from which a step away from the middle explains the series best (maximum likelihood)."""
    best, start, total, weight = -1.0, base, 0.0, 0.0
    for i in range(len(values) - 1, base - 1, -1):
        w = 1.0 / max(spreads[i] ** 2, 1e-30)
        total, weight = total + w * (values[i] - middle), weight + w
        score = total * total / weight
        if score > best:
            best, start = score, i
    return start
