"""Measured pistons and measured bores in numbers: which goes where, to what size, in what grade. No sentence.

Sizes are diameters in mm at 20 °C, weights in g; :mod:`logic.fitting` puts the figures
into words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .assign import even
from .bore_prior import drawn_between
from .uncertainty import normal_cdf

__all__ = [
    "Grade",
    "Graded",
    "Pair",
    "Paired",
    "Piston",
    "Sized",
    "WeightSpread",
    "graded",
    "limits_mm",
    "paired",
    "shaking_force_n",
    "sized",
    "weight_spread",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piston:
    """One measured piston: ``number`` is what is marked on it, ``size_mm`` its gauge-point diameter at 20 °C."""

    number: int
    size_mm: float
    u_mm: float = 0.0

    def __post_init__(self) -> None:
        _check_size(self.size_mm, f"piston {self.number}")
        if not self.u_mm >= 0:
            raise ValueError("an uncertainty cannot be below zero")


def _check_size(value_mm: float, what: str) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0):
        raise ValueError(f"{what} needs a size above zero, not {value_mm}")


def _check_set(pistons: Sequence[Piston], bores_mm: Mapping[int, float]) -> list[int]:
    """The cylinders in order, once the set is known to make sense."""
    if len({p.number for p in pistons}) != len(pistons):
        raise ValueError("two pistons carry the same number")
    if not bores_mm:
        raise ValueError("there is no bore to fit a piston to")
    if len(pistons) < len(bores_mm):
        raise ValueError(f"{len(pistons)} pistons are too few for {len(bores_mm)} bores")
    for cylinder, size in bores_mm.items():
        _check_size(size, f"bore {cylinder}")
    return sorted(bores_mm)


def _check_confidence(wanted: float) -> None:
    if not 0.5 <= wanted < 1:
        raise ValueError(f"confidence must be from 0.5 up to below 1, not {wanted}")


def limits_mm(clearance_mm: float, band_mm: float) -> tuple[float, float]:
    """The least and greatest clearance allowed: ``band_mm`` either way, never below nothing."""
    return max(0.0, clearance_mm - band_mm), clearance_mm + band_mm


# -- pairing finished bores --------------------------------------------------------------
class Pair(NamedTuple):
    """One piston in one bore. ``off_mm`` is clearance less the one wanted; ``within`` the chance that it is in limits."""

    cylinder: int
    piston: int
    clearance_mm: float
    u_mm: float
    off_mm: float
    within: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Paired:
    """A set of pairs: ``worst_mm`` is their largest deviation, ``best_mm`` that of the best ones.

    ``numbered_mm`` is what it would be with piston n in cylinder n (None if there is no
    such set), ``spare`` the pistons left over and ``doubtful`` the pair least likely to be
    in limits.
    """

    pairs: tuple[Pair, ...]
    spare: tuple[int, ...]
    worst_mm: float
    best_mm: float
    numbered_mm: float | None
    doubtful: Pair


def paired(
    pistons: Sequence[Piston],
    bores_mm: Mapping[int, float],
    *,
    clearance_mm: float,
    low_mm: float,
    high_mm: float,
    u_bore_mm: float,
    wanted: float,
    fitted: Mapping[int, int] | None,
) -> Paired:
    """Pair pistons with bores, at best or as ``fitted``; see :func:`logic.fitting.pair_up` for the terms and errors."""
    cylinders = _check_set(pistons, bores_mm)
    _check_confidence(wanted)
    if not low_mm <= clearance_mm <= high_mm:
        raise ValueError("the wanted clearance must lie within its limits")
    off = [[bores_mm[c] - p.size_mm - clearance_mm for p in pistons] for c in cylinders]
    chosen = _own_kept(off, even(off), _own_columns(pistons, cylinders))
    best = max(abs(row[column]) for row, column in zip(off, chosen, strict=True))
    if fitted is not None:
        chosen = _columns(pistons, cylinders, fitted)
    pairs = []
    for row, cylinder, column in zip(off, cylinders, chosen, strict=True):
        piston = pistons[column]
        clearance, u = bores_mm[cylinder] - piston.size_mm, math.hypot(u_bore_mm, piston.u_mm)
        within = drawn_between(clearance - clearance_mm, u, low_mm - clearance_mm, high_mm - clearance_mm)
        pairs.append(Pair(cylinder, piston.number, clearance, u, row[column], within))
    return Paired(
        pairs=tuple(pairs),
        spare=_left_over(pistons, (p.piston for p in pairs)),
        worst_mm=max(abs(p.off_mm) for p in pairs),
        best_mm=best,
        numbered_mm=_as_numbered(pistons, bores_mm, clearance_mm),
        doubtful=min(pairs, key=lambda p: p.within),
    )


#: Pistons that differ by less than this read alike; the last digits of a subtraction make none different.
ALIKE_MM = 1e-6


def _own_columns(pistons: Sequence[Piston], cylinders: Sequence[int]) -> tuple[int | None, ...]:
    """The place in the list of each cylinder's own piston, the one of its number; None where there is none."""
    where = {p.number: k for k, p in enumerate(pistons)}
    return tuple(where.get(c) for c in cylinders)


def _own_kept(off: Sequence[Sequence[float]], chosen: Sequence[int], own: Sequence[int | None]) -> tuple[int, ...]:
    """The same pairs, with each piston back in its own bore where that changes no fit by more than ``ALIKE_MM``."""
    kept = list(chosen)
    for row, column in enumerate(own):
        if column is None or kept[row] == column:
            continue
        if abs(off[row][column] - off[row][kept[row]]) >= ALIKE_MM:
            continue
        if column in kept:  # the two are alike, so the other bore loses nothing either
            kept[kept.index(column)] = kept[row]
        kept[row] = column
    return tuple(kept)


def _left_over(pistons: Sequence[Piston], used: Iterable[int]) -> tuple[int, ...]:
    return tuple(sorted({p.number for p in pistons} - set(used)))


def _columns(pistons: Sequence[Piston], cylinders: Sequence[int], fitted: Mapping[int, int]) -> tuple[int, ...]:
    """Which piston of the list each cylinder has, as stated."""
    where = {p.number: k for k, p in enumerate(pistons)}
    if any(fitted.get(c) not in where for c in cylinders) or len({fitted[c] for c in cylinders}) != len(cylinders):
        raise ValueError("each bore needs a piston of the set, and none twice")
    return tuple(where[fitted[c]] for c in cylinders)


def _as_numbered(pistons: Sequence[Piston], bores_mm: Mapping[int, float], clearance_mm: float) -> float | None:
    sizes = {p.number: p.size_mm for p in pistons}
    if not set(bores_mm) <= set(sizes):
        return None
    return max(abs(bore - sizes[c] - clearance_mm) for c, bore in bores_mm.items())


# -- sizing bores to pistons ---------------------------------------------------------------
class Sized(NamedTuple):
    """One bore to be finished for its own piston; ``stock_mm`` is what is left to take out, on diameter."""

    cylinder: int
    piston: int
    finished_mm: float
    stock_mm: float


def sized(
    pistons: Sequence[Piston],
    bores_mm: Mapping[int, float],
    *,
    clearance_mm: float,
    stock_mm: float,
    least_stock_mm: float,
) -> tuple[tuple[Sized, ...], tuple[int, ...]]:
    """Each bore with its own piston, and the pistons left over; see :func:`logic.fitting.size_to_pistons`."""
    cylinders = _check_set(pistons, bores_mm)
    if not 0 <= least_stock_mm <= stock_mm:
        raise ValueError("the least stock must lie between zero and the stock wanted")
    off = [[p.size_mm + clearance_mm - bores_mm[c] - stock_mm for p in pistons] for c in cylinders]
    chosen = _own_kept(off, even(off), _own_columns(pistons, cylinders))
    sizes = []
    for c, k in zip(cylinders, chosen, strict=True):
        finished = pistons[k].size_mm + clearance_mm
        sizes.append(Sized(c, pistons[k].number, finished, finished - bores_mm[c]))
    return tuple(sizes), _left_over(pistons, (s.piston for s in sizes))


# -- graded pistons ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One of a maker's size groups: pistons marked ``name`` measure from ``low_mm`` to ``high_mm``."""

    name: str
    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.high_mm) and 0 < self.low_mm <= self.high_mm):
            raise ValueError(f"grade {self.name!r} cannot run from {self.low_mm} to {self.high_mm} mm")

    @property
    def middle_mm(self) -> float:
        return (self.low_mm + self.high_mm) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """The grade for one cylinder and the clearances it may give, mm; ``fits`` is "all", "some" or "none" of it."""

    grade: Grade
    tightest_mm: float
    loosest_mm: float
    fits: str


def graded(
    bores_mm: Mapping[int, float], grades: Sequence[Grade], *, clearance_mm: float, low_mm: float, high_mm: float
) -> dict[int, Graded]:
    """The grade for each cylinder, in order; see :func:`logic.fitting.choose_grades` for the terms and errors."""
    if not bores_mm or not grades:
        raise ValueError("grades are chosen from at least one bore and one grade")
    if len({g.name for g in grades}) != len(grades):
        raise ValueError("two grades carry the same name")
    if not low_mm <= clearance_mm <= high_mm:
        raise ValueError("the wanted clearance must lie within its limits")
    return {c: _graded(bore, grades, clearance_mm, low_mm, high_mm) for c, bore in sorted(bores_mm.items())}


def _graded(bore_mm: float, grades: Sequence[Grade], clearance_mm: float, low_mm: float, high_mm: float) -> Graded:
    grade = min(grades, key=lambda g: abs(bore_mm - g.middle_mm - clearance_mm))
    tightest, loosest = bore_mm - grade.high_mm, bore_mm - grade.low_mm
    if loosest < low_mm or tightest > high_mm:
        fits = "none"
    else:
        fits = "some" if tightest < low_mm or loosest > high_mm else "all"
    return Graded(grade=grade, tightest_mm=tightest, loosest_mm=loosest, fits=fits)


# -- weights --------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class WeightSpread:
    """A set's spread of weight, g: from piston ``light`` to piston ``heavy``; ``over`` the chance it is too much."""

    heavy: int
    light: int
    spread_g: float
    u_g: float
    over: float


def weight_spread(weights_g: Mapping[int, float], *, allowed_g: float, u_g: float) -> WeightSpread:
    """Heaviest less lightest, against the spread allowed; see :func:`logic.fitting.weigh` for the terms and errors."""
    if len(weights_g) < 2:
        raise ValueError("a spread needs at least two weights")
    if any(not (math.isfinite(w) and w > 0) for w in weights_g.values()):
        raise ValueError("weights must be above zero")
    if allowed_g < 0 or u_g < 0:
        raise ValueError("an allowed spread and an uncertainty cannot be below zero")
    heavy, light = max(weights_g, key=lambda n: weights_g[n]), min(weights_g, key=lambda n: weights_g[n])
    spread = weights_g[heavy] - weights_g[light]
    over = 1 - _within_spread(list(weights_g.values()), allowed_g, u_g)
    return WeightSpread(heavy=heavy, light=light, spread_g=spread, u_g=u_g * math.sqrt(2), over=over)


#: How far pistons of a set may truly differ, as times the scales' uncertainty: each as likely beforehand.
_SPREADS = tuple(0.35 * 1.6**k for k in range(8))
_PLACES = 40


def _within_spread(weights_g: Sequence[float], allowed_g: float, u_g: float) -> float:
    """The chance that the heaviest is no more than ``allowed_g`` above the lightest.

    The heaviest reading is heavy by chance too, so the readings themselves are not compared: the
    pistons are normal about their mean, with a spread that is weighed by how well it explains the
    readings, and each is what its reading and that spread together say (JCGM 106:2012, 7.2.2).
    """
    if u_g == 0.0:
        return 1.0 if max(weights_g) - min(weights_g) <= allowed_g else 0.0
    mean = math.fsum(weights_g) / len(weights_g)
    squares, free = math.fsum((w - mean) ** 2 for w in weights_g), len(weights_g) - 1
    total = found = 0.0
    for times in _SPREADS:
        variance = u_g**2 * (1 + times**2)
        share = math.exp(-0.5 * squares / variance) * variance ** (-0.5 * free)
        part = times**2 / (1 + times**2)
        drawn = [mean + part * (w - mean) for w in weights_g]
        total += share
        found += share * _range_chance(drawn, math.sqrt(part) * u_g, allowed_g)
    return found / total if total > 0 else 0.0


def _range_chance(means: Sequence[float], u: float, allowed: float) -> float:
    """The chance that independent normals, all of standard deviation ``u``, span no more than ``allowed``.

    Summed over the least of them: the others lie above it, within ``allowed``.
    """
    low, high = min(means) - 6 * u, min(means) + 6 * u
    step = (high - low) / _PLACES
    out = 0.0
    for k in range(_PLACES):
        least = low + (k + 0.5) * step
        up = [(normal_cdf((least + allowed - m) / u) - normal_cdf((least - m) / u)) for m in means]
        out += step * math.fsum(
            _density((least - m) / u) / u * math.prod(p for j, p in enumerate(up) if j != i)
            for i, m in enumerate(means)
        )
    return min(1.0, out)


def _density(z: float) -> float:
    return math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)


def shaking_force_n(spread_g: float, stroke_mm: float | None, spin_rpm: float | None) -> float | None:
    """The first-order shaking force m r ω² of a difference in weight (an endless rod); None while one is not known."""
    if stroke_mm is None or spin_rpm is None:
        return None
    return spread_g / 1000 * stroke_mm / 2000 * (2 * math.pi * spin_rpm / 60) ** 2
