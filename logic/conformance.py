"""Is it in? The probabilities behind a verdict on a measured bore: numbers only, no sentence.

A verdict is about the true diameters, not about the readings: the largest of noisy
readings less the smallest is too large on average. So what bores are like that were bored
and honed (:mod:`logic.bore_prior`) is combined with the readings, and the share of the
possible true bores that keep every limit is the conformance probability (JCGM 106:2012, 6
and 7). Guard bands are those of ISO 14253-1:2017, the sizes two-point sizes (ISO 14405-1).
Sizes in mm at 20 °C; :mod:`logic.verify` puts the figures into words.

The integral over the true bores is done with a fixed set of evenly spread points
(R. D. Richtmyer's sequence of the square roots of primes), the level of the bore, which
decides size, in closed form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import compress
from operator import and_, mul, sub
from typing import NamedTuple

from . import bore_prior
from .bore_prior import FINISHING, Part, Process
from .result import Verdict
from .student import quantile
from .uncertainty import normal_cdf, normal_quantile

__all__ = [
    "CONFIDENCE",
    "SUREST",
    "BoreJudged",
    "BoreLimits",
    "Errors",
    "Judged",
    "Spot",
    "bore_judged",
    "chance_in",
    "decide",
    "depth_means_mm",
    "guard_band",
]

#: Conformance probability asked for, ISO 14253-1:2017.
CONFIDENCE = 0.95
#: No measurement is called surer than this: nobody knows the bell curve's shape so far out.
SUREST = 0.999
#: Readings in all at one place that are tried when it is looked for how many would settle it.
_REPEATS = (2, 3, 4, 6, 8, 12)
#: Points of the integral, and of the one that only looks ahead.
_POINTS, _FEW_POINTS = 1024, 192
#: So many answers are kept: the report, another state of the job and a job opened again ask for the same ones.
_KEPT = 256


def guard_band(u: float, confidence: float = CONFIDENCE, dof: float = math.inf) -> float:
    """How far inside a limit a value must read to be called in (ISO 14253-1:2017): one-sided quantile × u."""
    _check(confidence)
    return (normal_quantile(confidence) if math.isinf(dof) else quantile(confidence, dof)) * u


def decide(chance: float, confidence: float = CONFIDENCE) -> str:
    """The verdict on something that is in with probability ``chance``."""
    _check(confidence)
    if chance >= confidence:
        return Verdict.GO
    if chance <= 1.0 - confidence:
        return Verdict.STOP
    return Verdict.MAYBE


def _check(confidence: float) -> None:
    if not 0.5 < confidence < 1.0:
        raise ValueError("confidence lies between 0.5 and 1")


def _sure(p: float, u: float) -> float:
    """The confidence that is claimed for a probability ``p``."""
    return min(p, SUREST) if u > 0 else p


# -- places and their probabilities --------------------------------------------------------
class Spot(NamedTuple):
    """One place measured: ``d_mm`` is the mean of ``n`` readings there, a diameter at 20 °C."""

    depth: int
    axis: str
    depth_mm: float
    d_mm: float
    n: int = 1

    @classmethod
    def of(cls, depth: int, axis: str, depth_mm: float, sizes_mm: Sequence[float]) -> Spot:
        """A place with all the readings taken there."""
        return cls(depth, axis, depth_mm, math.fsum(sizes_mm) / len(sizes_mm), len(sizes_mm))


def depth_means_mm(spots: Sequence[Spot]) -> tuple[float, ...]:
    """The mean diameter at each depth, uppermost first: what a ring, which follows the girth, meets on its way."""
    by_depth: dict[float, list[float]] = {}
    for s in spots:
        by_depth.setdefault(s.depth_mm, []).append(s.d_mm)
    return tuple(math.fsum(by_depth[z]) / len(by_depth[z]) for z in sorted(by_depth))


# -- the integral over the true bores ------------------------------------------------------
@lru_cache(maxsize=1)
def _primes() -> tuple[int, ...]:
    return tuple(n for n in range(2, 700) if all(n % d for d in range(2, math.isqrt(n) + 1)))


@lru_cache(maxsize=8)
def _points(dims: int) -> tuple[tuple[float, ...], ...]:
    """Standard normal points that fill ``dims`` dimensions evenly; so do the first so many of them."""
    steps = [math.sqrt(p) % 1.0 for p in _primes()[:dims]]
    return tuple(
        tuple(normal_quantile(min(max((0.5 + i * step) % 1.0, 1e-9), 1.0 - 1e-9)) for step in steps)
        for i in range(1, _POINTS + 1)
    )


@dataclass(frozen=True, slots=True)
class _Bounds:
    """The limits as offsets from the size wanted, and which places each spread is taken over."""

    lower: float
    upper: float
    round_mm: float
    taper_mm: float
    depths: tuple[tuple[int, ...], ...]
    axes: tuple[tuple[int, ...], ...]


@dataclass(slots=True)
class _Chances:
    """Sums over weighted possible bores: what keeps the limits, and each line's mean spread."""

    size: float
    round: float
    taper: float
    together: float
    depths: list[float]
    axes: list[float]
    depth_mm: list[float]
    axis_mm: list[float]


class _Level(NamedTuple):
    """The direction of the points in which all places move alike, and by how much one step of it moves them."""

    along: tuple[float, ...]
    step_mm: float


def _level(root: Sequence[Sequence[float]]) -> _Level:
    """Where all places move by one amount: the unit vector q with L q = s (1, 1, …)."""
    ones: list[float] = []
    for i, row in enumerate(root):
        ones.append((1.0 - math.fsum(row[k] * ones[k] for k in range(i))) / row[i])
    norm = math.sqrt(math.fsum(a * a for a in ones))
    return _Level(tuple(a / norm for a in ones), 1.0 / norm)


def _between(low: float, high: float, sd: float) -> float:
    """Chance that a normal variable about zero lies from ``low`` to ``high``."""
    if high <= low:
        return 0.0
    return normal_cdf(high / sd) - normal_cdf(low / sd)


#: One value for each possible bore. Thousands are gone through for a verdict: by row, not by bore, since that is quicker.
_Row = Sequence[float]


def _places(part: Part, points: Sequence[_Row]) -> list[_Row]:
    """Each place's size in the possible bores of one explanation, wherever their common level may be."""
    rows = zip(part.mean_mm, part.root_mm, strict=True)
    return [[mean + sum(map(mul, row, z)) for z in points] for mean, row in rows]


def _sizes_in(part: Part, places: Sequence[_Row], points: Sequence[_Row], limits: _Bounds) -> _Row:
    """For each possible bore the chance that all its places keep the limits of size, whatever its level is."""
    level = _level(part.root_mm)
    least, most = (places[0], places[0]) if len(places) == 1 else (map(min, *places), map(max, *places))
    # half of the complementary error function of this many standard deviations, less the root of two
    lower, upper, scale = limits.lower, limits.upper, 1.0 / (level.step_mm * math.sqrt(2.0))
    along, step, erfc = level.along, level.step_mm, math.erfc
    found = []
    for low, high, z in zip(least, most, points, strict=True):
        here = step * sum(map(mul, along, z))  # how far the point has moved the level, which is left at its mean
        left, right = lower - low + here, upper - high + here
        found.append(0.5 * (erfc(-scale * right) - erfc(-scale * left)) if left < right else 0.0)
    return found


def _add_spreads(
    share: float,
    places: Sequence[_Row],
    lines: Sequence[Sequence[int]],
    limit: float,
    to: tuple[list[float], list[float]],
) -> list[bool] | None:
    """Count the spread of each line of places; which of the possible bores keep the limit in all. None: there is no line."""
    chances, means = to
    rows = []
    for i, line in enumerate(lines):
        of = [places[k] for k in line]
        spreads = list(map(abs, map(sub, *of)) if len(of) == 2 else map(sub, map(max, *of), map(min, *of)))
        means[i] += share * sum(spreads)
        chances[i] += share * sum(map(limit.__ge__, spreads))
        rows.append(spreads)
    return list(map(limit.__ge__, rows[0] if len(rows) == 1 else map(max, *rows))) if rows else None


def _add(to: _Chances, part: Part, share: float, points: Sequence[_Row], limits: _Bounds) -> None:
    """Add one explanation's possible bores, ``share`` of the weight each."""
    places = _places(part, points)
    sizes = _sizes_in(part, places, points, limits)
    everywhere = [True] * len(points)
    round_in = _add_spreads(share, places, limits.depths, limits.round_mm, (to.depths, to.depth_mm)) or everywhere
    taper_in = _add_spreads(share, places, limits.axes, limits.taper_mm, (to.axes, to.axis_mm)) or everywhere
    to.size += share * sum(sizes)
    to.round += share * sum(round_in)
    to.taper += share * sum(taper_in)
    to.together += share * sum(compress(sizes, map(and_, round_in, taper_in)))


def _chances(parts: Sequence[Part], limits: _Bounds, points: int) -> _Chances:
    depths, axes = len(limits.depths), len(limits.axes)
    found = _Chances(0.0, 0.0, 0.0, 0.0, [0.0] * depths, [0.0] * axes, [0.0] * depths, [0.0] * axes)
    for part in parts:
        n = max(32, round(points * part.weight))
        _add(found, part, part.weight / n, _points(len(part.mean_mm))[:n], limits)
    return found


# -- one bore -----------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class BoreLimits:
    """What a finished bore must keep, mm: size, largest less smallest at one depth, the same down one axis."""

    lower_mm: float
    upper_mm: float
    round_mm: float
    taper_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Standard uncertainties of a reading, mm: what repeating shrinks, what stays at a place, what all share."""

    repeat_mm: float
    fixed_mm: float = 0.0
    shared_mm: float = 0.0

    def place_mm(self, n: int) -> float:
        """Of the mean of ``n`` readings at one place, without what all share."""
        return math.hypot(self.repeat_mm / math.sqrt(n), self.fixed_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One thing judged about a bore: ``key`` is "size", "round" or "taper".

    ``value_mm`` is as read: for size the reading nearest to a limit, else the spread found, of
    uncertainty ``u_mm``. ``likely_mm`` is what it most likely is, with what such bores are
    like. ``again`` are the places to measure again where it is too close to call.
    """

    key: str
    value_mm: float
    u_mm: float
    likely_mm: float
    lower_mm: float | None
    upper_mm: float
    chance: float
    verdict: str
    again: tuple[Spot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreJudged:
    """A bore judged: mean diameter with its uncertainty, each thing judged, and the verdict on all of them.

    ``chance`` is that everything is in; ``sure`` the confidence claimed, None where it is
    too close to call; ``again`` the places to measure again, most doubtful first, and
    ``repeats`` how many readings in all at each would settle it (None: no number would).
    """

    mean_mm: float
    u_mean_mm: float
    us_mm: tuple[float, ...]
    aspects: tuple[Judged, ...]
    chance: float
    verdict: str
    sure: float | None
    again: tuple[Spot, ...]
    repeats: int | None
    by_depth: Sequence[Sequence[Spot]]
    by_axis: Sequence[Sequence[Spot]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """Everything a verdict on one bore rests on."""

    spots: tuple[Spot, ...]
    limits: BoreLimits
    target_mm: float
    errors: Errors
    confidence: float
    process: Process

    @property
    def us_mm(self) -> tuple[float, ...]:
        return tuple(self.errors.place_mm(s.n) for s in self.spots)

    @property
    def bounds(self) -> _Bounds:
        return _Bounds(
            lower=self.limits.lower_mm - self.target_mm,
            upper=self.limits.upper_mm - self.target_mm,
            round_mm=self.limits.round_mm,
            taper_mm=self.limits.taper_mm,
            depths=_lines([s.depth for s in self.spots]),
            axes=_lines([s.axis for s in self.spots]),
        )

    @property
    def parts(self) -> tuple[Part, ...]:
        places = [
            bore_prior.Place(s.depth_mm, s.axis, s.d_mm - self.target_mm, u)
            for s, u in zip(self.spots, self.us_mm, strict=True)
        ]
        return bore_prior.posterior(places, self.errors.shared_mm, self.process)


def _lines(names: Sequence[int | str]) -> tuple[tuple[int, ...], ...]:
    """The places that carry one name, by name; those with one place have no spread and are left out."""
    lines: dict[int | str, list[int]] = {}
    for i, name in enumerate(names):
        lines.setdefault(name, []).append(i)
    return tuple(tuple(line) for line in lines.values() if len(line) > 1)


def bore_judged(
    spots: Sequence[Spot],
    limits: BoreLimits,
    *,
    target_mm: float,
    errors: Errors,
    confidence: float,
    process: Process = FINISHING,
) -> BoreJudged:
    """Judge the readings of one bore; see :func:`logic.verify.finished_bore` for the terms. Needs a reading."""
    case = _Case(
        spots=tuple(spots),
        limits=limits,
        target_mm=target_mm,
        errors=errors,
        confidence=confidence,
        process=process,
    )
    return _judged(case)


@lru_cache(maxsize=_KEPT)
def _judged(case: _Case) -> BoreJudged:
    parts = case.parts
    chances = _chances(parts, case.bounds, _POINTS)
    aspects = tuple(a for a in (_size(case, parts, chances), _round(case, chances), _taper(case, chances)) if a)
    mean, u_mean = _mean(case)
    verdict, sure = _verdict(aspects, chances.together, u_mean, case.confidence)
    again = tuple(dict.fromkeys(s for a in aspects for s in a.again))
    if verdict == Verdict.MAYBE and not again:  # each is in by itself, only together they are not
        again = _doubt(min(aspects, key=lambda a: a.chance), case)
    return BoreJudged(
        mean_mm=mean,
        u_mean_mm=u_mean,
        us_mm=case.us_mm,
        aspects=aspects,
        chance=chances.together,
        verdict=verdict,
        sure=sure,
        again=again,
        repeats=_repeats(case, again) if verdict == Verdict.MAYBE else None,
        by_depth=_grouped(case.spots, [s.depth for s in case.spots]),
        by_axis=_grouped(case.spots, [s.axis for s in case.spots]),
    )


def chance_in(
    spots: Sequence[Spot],
    limits: BoreLimits,
    *,
    target_mm: float,
    errors: Errors,
    process: Process = FINISHING,
) -> float:
    """The chance that everything about a bore is in, from fewer points: for looking ahead."""
    case = _Case(
        spots=tuple(spots),
        limits=limits,
        target_mm=target_mm,
        errors=errors,
        confidence=CONFIDENCE,
        process=process,
    )
    return _together(case)


@lru_cache(maxsize=_KEPT)
def _together(case: _Case) -> float:
    return _chances(case.parts, case.bounds, _FEW_POINTS).together


def _grouped(spots: Sequence[Spot], names: Sequence[int | str]) -> list[list[Spot]]:
    groups: dict[int | str, list[Spot]] = {}
    for s, name in zip(spots, names, strict=True):
        groups.setdefault(name, []).append(s)
    return list(groups.values())


def _mean(case: _Case) -> tuple[float, float]:
    """The mean diameter as read and its standard uncertainty."""
    us = case.us_mm
    u_own = math.sqrt(math.fsum(x * x for x in us)) / len(us)
    return math.fsum(s.d_mm for s in case.spots) / len(us), math.hypot(u_own, case.errors.shared_mm)


def _verdict(aspects: Sequence[Judged], together: float, u_mean: float, confidence: float) -> tuple[str, float | None]:
    """The verdict on the whole bore and the confidence claimed for it: that of everything at once."""
    verdicts = {a.verdict for a in aspects}
    whole = decide(together, confidence)
    if Verdict.STOP in verdicts or whole == Verdict.STOP:
        return Verdict.STOP, _sure(1.0 - together, u_mean)
    if Verdict.MAYBE in verdicts or whole != Verdict.GO:
        return Verdict.MAYBE, None
    return Verdict.GO, _sure(together, u_mean)


def _room_mm(spot: Spot, limits: BoreLimits) -> float:
    """How far a reading lies inside the nearer limit of size."""
    return min(spot.d_mm - limits.lower_mm, limits.upper_mm - spot.d_mm)


def _size(case: _Case, parts: Sequence[Part], chances: _Chances) -> Judged:
    limits, spots, target = case.limits, case.spots, case.target_mm
    likely = [target + math.fsum(p.weight * p.mean_mm[i] for p in parts) for i in range(len(spots))]
    own = [_place_chance(parts, i, limits.lower_mm - target, limits.upper_mm - target) for i in range(len(spots))]
    worst = min(range(len(spots)), key=lambda i: _room_mm(spots[i], limits))
    verdict = decide(chances.size, case.confidence)
    again: tuple[Spot, ...] = ()
    if verdict == Verdict.MAYBE:
        # every place that on its own could not be called in
        doubtful = [i for i, p in enumerate(own) if p < case.confidence] or [worst]
        again = tuple(spots[i] for i in sorted(doubtful, key=lambda i: own[i]))
    return Judged(
        key="size",
        value_mm=spots[worst].d_mm,
        u_mm=math.hypot(case.us_mm[worst], case.errors.shared_mm),
        likely_mm=likely[worst],
        lower_mm=limits.lower_mm,
        upper_mm=limits.upper_mm,
        chance=chances.size,
        verdict=verdict,
        again=again,
    )


def _place_chance(parts: Sequence[Part], i: int, lower: float, upper: float) -> float:
    """The chance that one place by itself lies within the limits of size (offsets from the size wanted)."""
    total = 0.0
    for p in parts:
        sd = math.sqrt(math.fsum(x * x for x in p.root_mm[i]))
        total += p.weight * _between(lower - p.mean_mm[i], upper - p.mean_mm[i], sd)
    return total


def _round(case: _Case, chances: _Chances) -> Judged | None:
    limit = case.limits.round_mm
    return _spread("round", case, case.bounds.depths, chances.depths, chances.depth_mm, chances.round, limit)


def _taper(case: _Case, chances: _Chances) -> Judged | None:
    limit = case.limits.taper_mm
    return _spread("taper", case, case.bounds.axes, chances.axes, chances.axis_mm, chances.taper, limit)


def _spread(
    key: str,
    case: _Case,
    lines: Sequence[Sequence[int]],
    chances: Sequence[float],
    likely_mm: Sequence[float],
    chance: float,
    limit: float,
) -> Judged | None:
    """Judge the spread of each line of places (a depth, or an axis) against one limit."""
    if not lines:
        return None
    i = max(range(len(lines)), key=lambda k: (-round(chances[k], 6), likely_mm[k]))
    places = sorted(lines[i], key=lambda k: case.spots[k].d_mm)
    low, high = places[0], places[-1]
    verdict = decide(chance, case.confidence)
    return Judged(
        key=key,
        value_mm=case.spots[high].d_mm - case.spots[low].d_mm,
        u_mm=math.hypot(case.us_mm[low], case.us_mm[high]),
        likely_mm=likely_mm[i],
        lower_mm=None,
        upper_mm=limit,
        chance=chance,
        verdict=verdict,
        again=(case.spots[high], case.spots[low]) if verdict == Verdict.MAYBE else (),
    )


def _doubt(aspect: Judged, case: _Case) -> tuple[Spot, ...]:
    """Where to measure again for an aspect that is only just in by itself."""
    spots = case.spots
    if aspect.key == "size":
        return (min(spots, key=lambda s: _room_mm(s, case.limits)),)
    lines = case.bounds.depths if aspect.key == "round" else case.bounds.axes
    line = max(lines, key=lambda line: max(spots[i].d_mm for i in line) - min(spots[i].d_mm for i in line))
    return (max((spots[i] for i in line), key=lambda s: s.d_mm), min((spots[i] for i in line), key=lambda s: s.d_mm))


def _repeats(case: _Case, again: Sequence[Spot]) -> int | None:
    """How many readings in all at each of ``again`` would settle it if they averaged what was read there; None: no number."""
    for n in _REPEATS:
        more = tuple(s._replace(n=max(n, s.n)) if s in again else s for s in case.spots)
        then = replace(case, spots=more)
        if decide(_together(then), case.confidence) != Verdict.MAYBE:
            return n
    return None
