"""Is it in? The probabilities behind a verdict on a measured bore: numbers only, no sentence.

Conformance probability (JCGM 106:2012), guard bands (ISO 14253-1:2017), two-point size
(ISO 14405-1). Sizes in mm at 20 °C; :mod:`logic.verify` puts the figures into words.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .result import Verdict
from .student import quantile
from .uncertainty import chance_between, normal_cdf, normal_quantile

__all__ = [
    "CONFIDENCE",
    "SUREST",
    "BoreJudged",
    "BoreLimits",
    "Judged",
    "Spot",
    "bore_judged",
    "decide",
    "depth_means_mm",
    "guard_band",
    "repeats_to_settle",
    "spread_chance",
    "within_chance",
]

#: Conformance probability asked for, ISO 14253-1:2017.
CONFIDENCE = 0.95
#: No measurement is called surer than this: nobody knows the bell curve's shape so far out.
SUREST = 0.999
#: More repeats than this at one place are not worth asking for (common practice).
_MOST_REPEATS = 12
_FAR = 8.0  # standard uncertainties beyond which nothing more happens


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


def _integrate(f: Callable[[float], float], low: float, high: float, step: float) -> float:
    """Trapezoidal rule with steps of at most ``step``; very good for smooth bell-shaped functions."""
    n = max(2, math.ceil((high - low) / step))
    h = (high - low) / n
    return h * math.fsum([0.5 * (f(low) + f(high)), *(f(low + i * h) for i in range(1, n))])


def _bell(z: float) -> float:
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def _between(mean: float, u: float, low: float, high: float) -> float:
    if u == 0.0:
        return 1.0 if low <= mean <= high else 0.0
    a, b = (low - mean) / u, (high - mean) / u
    return normal_cdf(-a) - normal_cdf(-b) if a > 0 else normal_cdf(b) - normal_cdf(a)


def within_chance(values: Sequence[float], us: Sequence[float], u_shared: float, lower: float, upper: float) -> float:
    """Probability that every value lies from ``lower`` to ``upper``.

    Each value has its own error of standard uncertainty ``us[i]``, independent of the
    others, and one error of ``u_shared`` that all have in common. Normal.
    """
    if len(values) != len(us) or not values:
        raise ValueError("as many uncertainties as values are needed")
    # what is far inside both limits can only be in
    pairs = zip(values, us, strict=True)
    near = [(v, u) for v, u in pairs if min(v - lower, upper - v) < _FAR * (u + u_shared)]
    if not near:
        return 1.0
    if u_shared == 0.0:
        return _all_in(near, 0.0, lower, upper)
    own = min(u for _, u in near)
    if own == 0.0:
        return _sharp([v for v, _ in near], u_shared, lower, upper)
    step = max(0.01, min(0.1, 0.4 * own / u_shared))
    return min(1.0, _integrate(lambda z: _bell(z) * _all_in(near, z * u_shared, lower, upper), -_FAR, _FAR, step))


def _sharp(values: Sequence[float], u_shared: float, lower: float, upper: float) -> float:
    """Probability that exact values lie within the limits: the shared error alone decides."""
    least, most = min(values), max(values)
    return chance_between(0.0, u_shared, lower - least, upper - most) if upper - lower >= most - least else 0.0


def _all_in(values: Sequence[tuple[float, float]], shift: float, lower: float, upper: float) -> float:
    """Probability that every (value, u), all moved by ``shift``, lies within the limits."""
    p = 1.0
    for v, u in values:
        p *= _between(v + shift, u, lower, upper)
        if p == 0.0:
            return 0.0
    return p


def spread_chance(values: Sequence[float], us: Sequence[float], limit: float) -> float:
    """Probability that the true largest less smallest is at most ``limit``.

    Each value has an independent normal error of ``us[i]``; what all share drops out.
    Exact: the sum, over which value is truly smallest, of the chance that all others lie
    within ``limit`` above it.
    """
    if len(values) != len(us) or not values:
        raise ValueError("as many uncertainties as values are needed")
    spread, most = max(values) - min(values), max(us)
    if most == 0.0:
        return 1.0 if spread <= limit else 0.0
    if limit - spread > 2 * _FAR * most:
        return 1.0
    floor = 1e-6 * most  # an exact value among inexact ones
    points = [(v, max(u, floor)) for v, u in zip(values, us, strict=True)]
    total = 0.0
    for i, (v, u) in enumerate(points):
        others = points[:i] + points[i + 1 :]

        def smallest_here(
            z: float, v: float = v, u: float = u, others: Sequence[tuple[float, float]] = others
        ) -> float:
            x = v + z * u
            p = _bell(z)
            for w, uw in others:
                p *= _between(w, uw, x, x + limit)
                if p == 0.0:
                    return 0.0
            return p

        total += _integrate(
            smallest_here, -_FAR, _FAR, 0.15 * max(0.1, min(1.0, min((uw for _, uw in others), default=u) / u))
        )
    return min(1.0, total)


def repeats_to_settle(margin: float, u_own: float, u_shared: float, confidence: float = CONFIDENCE) -> int | None:
    """Readings needed in all at one place so that ``margin`` to the limit exceeds the guard band.

    None where no number does (what all readings share is too large), or where more than a
    dozen would be needed.
    """
    room = (margin / guard_band(1.0, confidence)) ** 2 - u_shared**2
    if room <= 0.0:
        return None
    n = max(1, math.ceil(u_own**2 / room))
    return n if n <= _MOST_REPEATS else None


def _range(line: Sequence[Spot]) -> float:
    return max(s.d_mm for s in line) - min(s.d_mm for s in line)


def _lines(spots: Sequence[Spot]) -> tuple[list[list[Spot]], list[list[Spot]]]:
    """Spots by depth and spots by axis, in the order given."""
    depths: dict[int, list[Spot]] = {}
    axes: dict[str, list[Spot]] = {}
    for s in spots:
        depths.setdefault(s.depth, []).append(s)
        axes.setdefault(s.axis, []).append(s)
    return list(depths.values()), list(axes.values())


def depth_means_mm(spots: Sequence[Spot]) -> tuple[float, ...]:
    """The mean diameter at each depth, uppermost first: what a ring, which follows the girth, meets on its way."""
    by_depth: dict[float, list[float]] = {}
    for s in spots:
        by_depth.setdefault(s.depth_mm, []).append(s.d_mm)
    return tuple(math.fsum(by_depth[z]) / len(by_depth[z]) for z in sorted(by_depth))


# -- one bore -----------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class BoreLimits:
    """What a finished bore must keep, mm: size, largest less smallest at one depth, the same down one axis."""

    lower_mm: float
    upper_mm: float
    round_mm: float
    taper_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One thing judged about a bore: ``key`` is "size", "round" or "taper".

    For size ``value_mm`` is the reading nearest to a limit, else the spread found;
    ``again`` are the places to measure again where it is too close to call.
    """

    key: str
    value_mm: float
    u_mm: float
    lower_mm: float | None
    upper_mm: float
    chance: float
    verdict: str
    again: tuple[Spot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreJudged:
    """A bore judged: mean diameter with its uncertainty, each thing judged, and the verdict on all of them.

    ``sure`` is the confidence claimed, None where it is too close to call; ``again`` the
    places to measure again, most doubtful first, and ``repeats`` how many readings in all
    at each would settle it (None: no number would).
    """

    mean_mm: float
    u_mean_mm: float
    us_mm: tuple[float, ...]
    aspects: tuple[Judged, ...]
    verdict: str
    sure: float | None
    again: tuple[Spot, ...]
    repeats: int | None
    by_depth: Sequence[Sequence[Spot]]
    by_axis: Sequence[Sequence[Spot]]


def bore_judged(
    spots: Sequence[Spot], limits: BoreLimits, *, u_own_mm: float, u_shared_mm: float, confidence: float
) -> BoreJudged:
    """Judge the readings of one bore; see :func:`logic.verify.finished_bore` for the terms. Needs a reading."""
    us = {s: u_own_mm / math.sqrt(s.n) for s in spots}
    own = [us[s] for s in spots]
    by_depth, by_axis = _lines(spots)
    size = _size(spots, own, u_shared_mm, limits, confidence)
    roundness = _spread("round", by_depth, us, limits.round_mm, confidence)
    taper = _spread("taper", by_axis, us, limits.taper_mm, confidence)
    aspects = tuple(a for a in (size, roundness, taper) if a is not None)
    mean, u_mean = _mean(spots, own, u_shared_mm)
    verdict, sure = _verdict(aspects, u_mean, confidence)
    again = tuple(dict.fromkeys(s for a in aspects for s in a.again))
    if verdict == Verdict.MAYBE and not again:
        again = _doubt(min(aspects, key=lambda a: a.chance), spots, limits, by_depth, by_axis)
    return BoreJudged(
        mean_mm=mean,
        u_mean_mm=u_mean,
        us_mm=tuple(own),
        aspects=aspects,
        verdict=verdict,
        sure=sure,
        again=again,
        repeats=_repeats(aspects, u_own_mm, u_shared_mm, confidence) if again else None,
        by_depth=by_depth,
        by_axis=by_axis,
    )


def _mean(spots: Sequence[Spot], us: Sequence[float], u_shared: float) -> tuple[float, float]:
    """The mean diameter and its standard uncertainty."""
    u_own = math.sqrt(math.fsum(x * x for x in us)) / len(us)
    return math.fsum(s.d_mm for s in spots) / len(spots), math.hypot(u_own, u_shared)


def _verdict(aspects: Sequence[Judged], u_mean: float, confidence: float) -> tuple[str, float | None]:
    """The verdict on the whole bore and the confidence claimed for it."""
    verdicts = {a.verdict for a in aspects}
    if Verdict.STOP in verdicts:
        return Verdict.STOP, _sure(1.0 - min(a.chance for a in aspects), u_mean)
    # size, roundness and taper share readings; treating them as independent errs low
    together = math.prod(a.chance for a in aspects)
    if Verdict.MAYBE in verdicts or decide(together, confidence) != Verdict.GO:
        return Verdict.MAYBE, None
    return Verdict.GO, _sure(together, u_mean)


def _room_mm(spot: Spot, limits: BoreLimits) -> float:
    """How far a reading lies inside the nearer limit of size."""
    return min(spot.d_mm - limits.lower_mm, limits.upper_mm - spot.d_mm)


def _size(spots: Sequence[Spot], us: Sequence[float], u_shared: float, limits: BoreLimits, confidence: float) -> Judged:
    lower, upper = limits.lower_mm, limits.upper_mm
    chance = within_chance([s.d_mm for s in spots], us, u_shared, lower, upper)
    worst = min(spots, key=lambda s: _room_mm(s, limits))
    verdict = decide(chance, confidence)
    again: tuple[Spot, ...] = ()
    if verdict == Verdict.MAYBE:
        # every place that on its own could not be called in
        doubtful = [
            s
            for s, u in zip(spots, us, strict=True)
            if _between(s.d_mm, math.hypot(u, u_shared), lower, upper) < confidence
        ]
        again = tuple(sorted(doubtful or [worst], key=lambda s: _room_mm(s, limits)))
    return Judged(
        key="size",
        value_mm=worst.d_mm,
        u_mm=math.hypot(us[spots.index(worst)], u_shared),
        lower_mm=lower,
        upper_mm=upper,
        chance=chance,
        verdict=verdict,
        again=again,
    )


def _spread(
    key: str, lines: Sequence[Sequence[Spot]], us: Mapping[Spot, float], limit: float, confidence: float
) -> Judged | None:
    """Judge the spread of each line of spots (a depth, or an axis) against one limit."""
    lines = [line for line in lines if len(line) > 1]
    if not lines:
        return None
    chances = [spread_chance([s.d_mm for s in line], [us[s] for s in line], limit) for line in lines]
    i = max(range(len(lines)), key=lambda k: (-chances[k], _range(lines[k])))
    low, high = min(lines[i], key=lambda s: s.d_mm), max(lines[i], key=lambda s: s.d_mm)
    chance = math.prod(chances)  # different lines of one kind have no reading in common
    verdict = decide(chance, confidence)
    return Judged(
        key=key,
        value_mm=high.d_mm - low.d_mm,
        u_mm=math.hypot(us[low], us[high]),
        lower_mm=None,
        upper_mm=limit,
        chance=chance,
        verdict=verdict,
        again=(high, low) if verdict == Verdict.MAYBE else (),
    )


def _doubt(
    aspect: Judged,
    spots: Sequence[Spot],
    limits: BoreLimits,
    by_depth: Sequence[Sequence[Spot]],
    by_axis: Sequence[Sequence[Spot]],
) -> tuple[Spot, ...]:
    """Where to measure again for an aspect that is only just in by itself."""
    if aspect.key == "size":
        return (min(spots, key=lambda s: _room_mm(s, limits)),)
    line = max(by_depth if aspect.key == "round" else by_axis, key=_range)
    return (max(line, key=lambda s: s.d_mm), min(line, key=lambda s: s.d_mm))


def _repeats(aspects: Sequence[Judged], u_own: float, u_shared: float, confidence: float) -> int | None:
    """The most readings any doubtful aspect needs at its places, or None if one cannot be settled."""
    needs: list[int] = []
    for a in aspects:
        if a.verdict != Verdict.MAYBE and len(aspects) > 1:
            continue
        margin, own, shared = abs(a.upper_mm - a.value_mm), math.sqrt(2.0) * u_own, 0.0
        if a.lower_mm is not None:
            margin = abs(min(a.value_mm - a.lower_mm, a.upper_mm - a.value_mm))
            own, shared = u_own, u_shared
        needed = repeats_to_settle(margin, own, shared, confidence)
        if needed is None:
            return None
        needs.append(needed)
    return max(needs, default=2)  # each is in by itself, only together they are not
