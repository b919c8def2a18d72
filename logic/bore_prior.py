"""What boring and honing make: the prior of a finished bore, and what readings add to it. Numbers only.

A reading says what a bore is only together with what bores made this way are like
(JCGM 106:2012, 6): a hone leaves a bore nearly round and straight, so that two readings far
apart are more likely to be errors of a coarse gauge than a shape. The true diameter at a place is

    d = level + taper x depth + barrel x (1/2 - depth²) + oval (axis) + local

with depth from -1 (uppermost place) to 1; each part is normal about zero, and how good the
work is as a whole (one factor on every part of the shape) is not known beforehand either.
The level is known least: usually close to the size wanted, now and then far from it. The
figures are common practice, no source; a machine's own history may replace them
(:func:`learned`).

Given the readings each combination of factor and level is a normal distribution again (the
linear-Gaussian posterior), weighted by how well it explains the readings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import mul
from typing import NamedTuple

from .constants import constant
from .uncertainty import chance_between

__all__ = [
    "FINISHING",
    "Part",
    "Place",
    "Process",
    "Shape",
    "drawn_between",
    "kinds",
    "learned",
    "learned_from",
    "posterior",
]

_QUALITIES = ((0.5, 0.25), (1.0, 0.4), (2.0, 0.25), (4.0, 0.1))
#: Explanations with less than this share of the weight are left out.
_LEAST_WEIGHT = 2e-3
#: No reading is better than this, mm: what keeps the algebra from dividing by nothing.
_FLOOR_MM = 1e-5
#: For how many bores the stated prior counts when a history is learned from.
_PRIOR_BORES = 6.0
#: The same for how often a bore goes far astray, and how often spread and share are reckoned in turn.
_PRIOR_WILD, _ROUNDS = 20.0, 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """Standard deviations of what a process makes, mm on diameter: the level about the size wanted
    (``wild_mm`` in a share ``wild_share`` of the bores) and the parts of the shape.

    ``taper_mm`` is top less bottom, ``barrel_mm`` the middle against the ends, ``oval_mm`` one
    axis against another, ``local_mm`` one place against the rest, each times one of the ``qualities``.
    """

    level_mm: float = constant("finish.level").value
    wild_mm: float = constant("finish.wild").value
    wild_share: float = constant("finish.wild_share").value
    taper_mm: float = constant("finish.taper").value
    barrel_mm: float = constant("finish.barrel").value
    oval_mm: float = constant("finish.oval").value
    local_mm: float = constant("finish.local").value
    source: str = "common practice"
    #: How good the work may be as a whole, against the stated parts of the shape, and how likely each is.
    qualities: tuple[tuple[float, float], ...] = _QUALITIES


#: Boring and honing until a machine's own history says better.
FINISHING = Process()


def drawn_between(off_mm: float, u_mm: float, low_mm: float, high_mm: float, made: Process = FINISHING) -> float:
    """The chance that a size that is meant to be nought, and was read as ``off_mm``, lies between two limits.

    The reading is weighed against where such sizes come out, the level about the size wanted and now
    and then a bore honed too little or too much (JCGM 106:2012, 7.2.2).
    """
    if u_mm == 0.0:
        return 1.0 if low_mm <= off_mm <= high_mm else 0.0
    total = found = 0.0
    for share, usual in ((1.0 - made.wild_share, made.level_mm), (made.wild_share, made.wild_mm)):
        variance = usual**2 + u_mm**2
        weight = share / math.sqrt(variance) * math.exp(-0.5 * off_mm**2 / variance)
        part = usual**2 / variance
        total += weight
        found += weight * chance_between(part * off_mm, math.sqrt(part) * u_mm, low_mm, high_mm)
    return found / total if total > 0.0 else 0.0


class Shape(NamedTuple):
    """One finished bore of a machine's history, mm: mean less the size wanted, taper, barrel, oval."""

    level_mm: float
    taper_mm: float
    barrel_mm: float
    oval_mm: float


def learned(history: Sequence[Shape], base: Process = FINISHING) -> Process:
    """The process as a machine's own finished bores show it.

    Each standard deviation is estimated about zero, with ``base`` counting for a few bores (the
    conjugate estimate of a variance), so that one or two lucky bores promise nothing.
    """
    parts = {name: [getattr(s, f"{name}_mm") for s in history] for name in ("taper", "barrel", "oval")}
    squares = {name: (len(v), math.fsum(x * x for x in v)) for name, v in parts.items()}
    return learned_from([(1, s.level_mm**2) for s in history], squares, base)


def learned_from(
    levels_mm2: Sequence[tuple[int, float]], squares_mm2: Mapping[str, tuple[int, float]], base: Process = FINISHING
) -> Process:
    """The same from sums: for each job how many bores and the sum of squares of their levels (mm²); for "taper",
    "barrel" and "oval" the same over all jobs. What the gauge put in is taken off already.

    A history's squares hold good and bad work alike, so the more bores it has the less is left
    to the qualities: their mean square goes from that of ``base`` to 1.
    """
    bores = max((n for n, _ in squares_mm2.values()), default=0)
    if not bores and not levels_mm2:
        return base
    level, share = _levels(levels_mm2, base)
    stated = math.fsum(q * q * chance for q, chance in base.qualities)

    def left(n: int) -> float:
        return (_PRIOR_BORES * stated + n) / (_PRIOR_BORES + n)

    def spread(own: float, n: int = 0, seen: float = 0.0) -> float:
        total = (_PRIOR_BORES * own**2 + max(0.0, seen)) / (_PRIOR_BORES + n)
        return math.sqrt(total * left(n) / left(bores))

    scale = math.sqrt(left(bores) / stated)
    return replace(
        base,
        level_mm=level,
        wild_share=share,
        taper_mm=spread(base.taper_mm, *squares_mm2.get("taper", (0, 0.0))),
        barrel_mm=spread(base.barrel_mm, *squares_mm2.get("barrel", (0, 0.0))),
        oval_mm=spread(base.oval_mm, *squares_mm2.get("oval", (0, 0.0))),
        local_mm=spread(base.local_mm),
        qualities=tuple((scale * q, chance) for q, chance in base.qualities),
        source="own history",
    )


def _gamma_log(x: float, mean: float, variance: float) -> float:
    """The logarithm of the density at x of a gamma distribution (of a sum of squares: scaled chi-squared)."""
    shape, scale = mean * mean / variance, variance / mean
    return (shape - 1.0) * math.log(x) - x / scale - shape * math.log(scale) - math.lgamma(shape)


def _levels(jobs_mm2: Sequence[tuple[int, float]], base: Process) -> tuple[float, float]:
    """The spread of a machine's levels, mm, and the share of bores that went far astray, by job sums of squares.

    A job had no such bore or one; how likely each is, and the two figures by that, in turn (expectation and
    maximisation: Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39 (1977) 1), ``base``
    counting for a few bores.
    """
    own, wild, share = base.level_mm**2, base.wild_mm**2, base.wild_share
    bores = sum(n for n, _ in jobs_mm2)
    for _ in range(_ROUNDS if share > 0.0 else 0):
        seen = counted = astray = 0.0
        for n, total in jobs_mm2:
            x, none = max(total, 1e-12), (1.0 - share) ** n
            clean = math.log(none) + _gamma_log(x, n * own, 2.0 * n * own**2)
            mean, variance = (n - 1) * own + wild, 2.0 * ((n - 1) * own**2 + wild**2)
            gap = math.log(1.0 - none) + _gamma_log(x, mean, variance) - clean
            likely = 1.0 / (1.0 + math.exp(min(gap, 50.0)))
            seen, counted, astray = seen + likely * max(0.0, total), counted + likely * n, astray + 1.0 - likely
        own = (_PRIOR_BORES * base.level_mm**2 + seen) / (_PRIOR_BORES + counted)
        share = (_PRIOR_WILD * base.wild_share + astray) / (_PRIOR_WILD + bores)
    if share <= 0.0:
        total = math.fsum(s for _, s in jobs_mm2)
        own = (_PRIOR_BORES * own + max(0.0, total)) / (_PRIOR_BORES + bores)
    return math.sqrt(own), share


class Place(NamedTuple):
    """One place read: its depth in mm, its axis, what was read less the size wanted and the uncertainty of that, mm."""

    depth_mm: float
    axis: str
    off_mm: float
    u_mm: float


class Part(NamedTuple):
    """One explanation of the readings: its weight, the mean of every place (mm over the size wanted) and the
    lower triangle whose product with its transpose is their covariance."""

    weight: float
    mean_mm: tuple[float, ...]
    root_mm: tuple[tuple[float, ...], ...]


_Matrix = list[list[float]]


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return float(sum(map(mul, a, b)))


def _root(a: _Matrix) -> _Matrix:
    """The lower triangle that, times its transpose, is a (Cholesky), for a positive definite matrix."""
    n = len(a)
    lower = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rest = a[i][j] - sum(map(mul, lower[i][:j], lower[j]))
            lower[i][j] = math.sqrt(max(rest, 1e-18)) if i == j else rest / lower[j][j]
    return lower


def _forward(lower: Sequence[Sequence[float]], b: Sequence[float]) -> list[float]:
    """y with ``lower`` y = b."""
    y: list[float] = []
    for i, row in enumerate(lower):
        y.append((b[i] - sum(map(mul, row, y))) / row[i])  # as far as y goes so far
    return y


def _depths(places: Sequence[Place]) -> list[float]:
    """Depths from -1 at the uppermost to 1 at the lowest place (0 for one depth)."""
    low, high = min(p.depth_mm for p in places), max(p.depth_mm for p in places)
    return [0.0 if high == low else 2.0 * (p.depth_mm - low) / (high - low) - 1.0 for p in places]


def _shape_covariance(places: Sequence[Place], made: Process) -> _Matrix:
    """Covariance of the shape at the places, without the level, mm²."""
    z = _depths(places)
    bulge = [0.5 - x * x for x in z]
    taper, barrel, oval, local = (
        made.taper_mm**2 / 4.0,
        made.barrel_mm**2,
        made.oval_mm**2 / 2.0,
        made.local_mm**2,
    )
    return [
        [
            taper * z[i] * z[j]
            + barrel * bulge[i] * bulge[j]
            + (oval if p.axis == q.axis else 0.0)
            + (local if i == j else 0.0)
            for j, q in enumerate(places)
        ]
        for i, p in enumerate(places)
    ]


class _Explained(NamedTuple):
    log_weight: float
    mean: list[float]
    covariance: _Matrix


def _explain(off: Sequence[float], prior: _Matrix, noise: _Matrix, log_chance: float) -> _Explained:
    """The posterior of x where off = x + error, x ~ N(0, prior), error ~ N(0, noise).

    With S = prior + noise: mean = off − noise S⁻¹ off, covariance = noise − noise S⁻¹ noise,
    and the readings' own likelihood N(off; 0, S).
    """
    total = _root([[a + b for a, b in zip(row, more, strict=True)] for row, more in zip(prior, noise, strict=True)])
    white = _forward(total, off)
    columns = [_forward(total, row) for row in noise]  # noise is symmetric: its rows are its columns
    mean = [y - _dot(column, white) for y, column in zip(off, columns, strict=True)]
    covariance = [
        [x - _dot(a, b) for x, b in zip(row, columns, strict=True)] for row, a in zip(noise, columns, strict=True)
    ]
    log_density = -0.5 * _dot(white, white) - math.fsum(math.log(row[i]) for i, row in enumerate(total))
    return _Explained(log_chance + log_density, mean, covariance)


def posterior(places: Sequence[Place], u_shared_mm: float, made: Process = FINISHING) -> tuple[Part, ...]:
    """What is known of the true diameters at ``places``: normal distributions with weights that add to 1.

    ``u_shared_mm`` is the standard uncertainty of the error that all readings have in common.
    Raises ValueError for no place.
    """
    if not places:
        raise ValueError("no place was read")
    n = len(places)
    noise = [[u_shared_mm**2] * n for _ in range(n)]
    for i, p in enumerate(places):
        noise[i][i] += max(p.u_mm, _FLOOR_MM) ** 2
    shape, off = _shape_covariance(places, made), [p.off_mm for p in places]
    found = [
        _explain(off, _plus(level**2, quality**2, shape), noise, math.log(chance))
        for quality, level, chance in kinds(made)
    ]
    return _weighed(found)


def _weighed(found: Sequence[_Explained]) -> tuple[Part, ...]:
    """The explanations that carry weight, their weights made to add to 1."""
    best = max(e.log_weight for e in found)
    weights = [math.exp(e.log_weight - best) for e in found]
    least = _LEAST_WEIGHT * math.fsum(weights)
    kept = [(w, e) for w, e in zip(weights, found, strict=True) if w >= least]
    total = math.fsum(w for w, _ in kept)
    return tuple(Part(w / total, tuple(e.mean), tuple(map(tuple, _root(e.covariance)))) for w, e in kept)


def kinds(made: Process) -> Iterator[tuple[float, float, float]]:
    """Every quality of the shape with every spread of the level, mm, and how likely the two are together."""
    for quality, chance in made.qualities:
        yield quality, made.level_mm, chance * (1.0 - made.wild_share)
        if made.wild_share > 0.0:
            yield quality, made.wild_mm, chance * made.wild_share


def _plus(common: float, factor: float, matrix: _Matrix) -> _Matrix:
    return [[common + factor * x for x in row] for row in matrix]
