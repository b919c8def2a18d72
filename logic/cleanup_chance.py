"""The clean-up diameter as a distribution: the chance that a bored size cleans up one cylinder, or several.

How it comes about is :mod:`logic.cleanup`. The distribution is kept as short pieces,
each rectangular and blurred by a normal, whose distribution function has a closed form;
no simulation runs on the phone. The tests compare it with a Monte Carlo calculation as
in JCGM 101. The probability that a bored size cleans up is the conformance probability
of JCGM 106:2012, 7.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from .constants import constant
from .uncertainty import normal_cdf

__all__ = [
    "CERTAIN",
    "RANGE",
    "UNMEASURED_SLOPE",
    "BoreLean",
    "CleanUp",
    "Piece",
    "WearSide",
    "needed_together",
    "together",
]

#: What somebody may know about where the metal went.
KNOWN = ("unknown", "even", "one side", "swept")
_ROOT_2, _ROOT_2PI = math.sqrt(2), math.sqrt(2 * math.pi)
#: The probability with which a range holds the clean-up diameter, where one is told.
RANGE = 0.95
#: Beyond this many standard deviations nothing more is worked out; beyond the second the normal's foot is flat.
_FAR, _FLAT = 6.0, 5.0
#: Slope that a face nobody measured may have, in either direction, standard uncertainty, mm per mm (common practice).
UNMEASURED_SLOPE = constant("face.slope").value
#: No probability is given as more than this: there is always some doubt.
CERTAIN = 1 - 1e-9


@dataclass(frozen=True, kw_only=True)
class WearSide:
    """What is known about where the metal went, and where the bar is put.

    ``known``: "unknown"; "even" (both sides alike); "one side" (the thrust axis wore on
    one side; the crank line stays unknown); "swept" (an indicator on the spindle,
    centred on the unworn bore, found the worn bore's centre ``offset_mm`` off toward the
    worn side, at the worst place). ``bar_shift_mm`` is how far the spindle is set over
    toward the worn side on purpose; ``u_centring_mm`` how well it stands where it is
    meant to (standard uncertainty). Raises ValueError for anything else.
    """

    known: str = "unknown"
    offset_mm: float = 0.0
    u_offset_mm: float = 0.005
    bar_shift_mm: float = 0.0
    u_centring_mm: float = 0.005

    def __post_init__(self) -> None:
        if self.known not in KNOWN:
            raise ValueError(f"known must be one of {KNOWN}")
        numbers = (self.offset_mm, self.u_offset_mm, self.bar_shift_mm, self.u_centring_mm)
        if any(not math.isfinite(x) or x < 0 for x in numbers):
            raise ValueError("offsets and uncertainties must be finite and not below zero")


@dataclass(frozen=True, slots=True)
class BoreLean:
    """How far a bore leans from square to the top face over ``length_mm``.

    ``across_mm`` along the thrust axis and ``along_mm`` along the crank line, signed; ``u_mm`` the standard uncertainty
    of the first, and of the second as well where that has no ``u_along_mm`` of its own. The bar is centred at the depth
    ``centred_mm``; the lean is felt at every other depth. ``measured`` is False where
    nobody measured the face, and the lean is what faces have (:func:`unmeasured`).
    """

    across_mm: float
    along_mm: float
    u_mm: float
    length_mm: float
    centred_mm: float = 0.0
    measured: bool = True
    u_along_mm: float | None = None

    @classmethod
    def unmeasured(cls, length_mm: float, centred_mm: float) -> BoreLean:
        """What a face that nobody measured may do to a bore: no lean is likelier than its opposite."""
        return cls(0.0, 0.0, UNMEASURED_SLOPE * length_mm, length_mm, centred_mm, measured=False)

    def lever(self, depth_mm: float) -> float:
        """The part of the lean that is felt at a depth: (depth − centred) / length."""
        return (depth_mm - self.centred_mm) / self.length_mm


@dataclass(frozen=True, slots=True)
class Piece:
    """A share ``weight`` of the distribution: even from ``low_mm`` to ``high_mm``, blurred by ``u_mm``.

    ``common_mm`` is the standard deviation of the error that all cylinders share.
    """

    weight: float
    low_mm: float
    high_mm: float
    u_mm: float
    common_mm: float


class _Blurred(NamedTuple):
    """A piece with all its blur in ``u_mm``: its distribution function is 0 up to ``start_mm`` and 1 from ``end_mm`` on.

    ``common_mm`` is what the error that is held fixed moves it by for each standard deviation.
    """

    start_mm: float
    end_mm: float
    weight: float
    low_mm: float
    high_mm: float
    u_mm: float
    common_mm: float


def _blurred(pieces: Sequence[Piece], extra_u_mm: float, *, fixed: bool) -> tuple[_Blurred, ...]:
    """The pieces with ``extra_u_mm`` laid over them, and the shared error as well unless that is held ``fixed``."""
    out = []
    for p in pieces:
        u = math.sqrt(p.u_mm**2 + extra_u_mm**2 + (0.0 if fixed else p.common_mm**2))
        common = p.common_mm if fixed else 0.0
        out.append(_Blurred(p.low_mm - _FAR * u, p.high_mm + _FAR * u, p.weight, p.low_mm, p.high_mm, u, common))
    return tuple(out)


def _below(pieces: Sequence[_Blurred], x_mm: float, shift: float) -> float:
    """The distribution function of all pieces together at x, the shared error at ``shift`` standard deviations."""
    total = 0.0
    erfc, exp = math.erfc, math.exp
    for start, end, weight, low, high, u, common in pieces:
        x = x_mm - shift * common
        if x >= end:
            total += weight
        elif x > start:
            if u == 0.0:
                total += weight * (x - low) / (high - low)
                continue
            a, b = (x - low) / u, (x - high) / u
            if a - b < 1e-4:
                total += weight * normal_cdf((a + b) / 2)
                continue
            # the integral of the normal distribution function from b up to a; run thousands of times for a verdict
            area = a if a > _FLAT else a * 0.5 * erfc(-a / _ROOT_2) + exp(-0.5 * a * a) / _ROOT_2PI
            if b > -_FLAT:
                area -= b if b > _FLAT else b * 0.5 * erfc(-b / _ROOT_2) + exp(-0.5 * b * b) / _ROOT_2PI
            total += weight * area / (a - b)
    return total


@dataclass(frozen=True, kw_only=True)
class CleanUp:
    """The clean-up diameter of one cylinder, as a distribution.

    ``low_mm`` and ``high_mm`` are the range from what is not known about the wear,
    without the readings' uncertainty; ``u_wear_mm`` is the standard uncertainty of the
    wear ``worst_mm − unworn_mm``. ``cell`` is the (depth_mm, axis) that decides at
    the high end. ``source`` is "two-point", "swept" or "largest reading".
    """

    cylinder: int
    low_mm: float
    high_mm: float
    pieces: tuple[Piece, ...]
    worst_mm: float
    unworn_mm: float
    u_wear_mm: float = 0.0
    cell: tuple[float, str] | None = None
    source: str = "two-point"
    side: WearSide = field(default_factory=WearSide)
    lean: BoreLean | None = None

    @property
    def narrowable(self) -> bool:
        """Whether a sweep would tell more: nothing measured or stated says which side wore."""
        return self.source != "swept" and self.side.known == "unknown"

    @property
    def worth_sweeping(self) -> bool:
        """Whether a sweep would narrow the range by something that counts."""
        return self.narrowable and self.high_mm - self.low_mm > 0.02

    @cached_property
    def mean_mm(self) -> float:
        return sum(p.weight * (p.low_mm + p.high_mm) / 2 for p in self.pieces)

    @cached_property
    def u_mm(self) -> float:
        """Standard uncertainty of the clean-up diameter, everything included."""
        var = 0.0
        for p in self.pieces:
            middle = (p.low_mm + p.high_mm) / 2
            var += p.weight * (
                (middle - self.mean_mm) ** 2 + (p.high_mm - p.low_mm) ** 2 / 12 + p.u_mm**2 + p.common_mm**2
            )
        return math.sqrt(var)

    @cached_property
    def bounds_mm(self) -> tuple[float, float]:
        """Below the first the distribution function is 0, above the second 1 (to nine figures)."""
        low = min(p.low_mm - _FAR * math.hypot(p.u_mm, p.common_mm) for p in self.pieces)
        high = max(p.high_mm + _FAR * math.hypot(p.u_mm, p.common_mm) for p in self.pieces)
        return low, high

    def probability(self, bored_mm: float, u_bored_mm: float = 0.0, shift: float | None = None) -> float:
        """The probability that a bore cut to ``bored_mm`` (with its own uncertainty) is clean."""
        low, high = self.bounds_mm
        if bored_mm > high + _FAR * u_bored_mm:
            return CERTAIN
        if bored_mm < low - _FAR * u_bored_mm:
            return 0.0
        pieces = self._law(u_bored_mm, fixed=shift is not None)
        return min(CERTAIN, max(0.0, _below(pieces, bored_mm, shift or 0.0)))

    def _law(self, u_bored_mm: float, *, fixed: bool) -> tuple[_Blurred, ...]:
        """The pieces blurred for a bored size's own uncertainty, kept: many sizes are asked for with the same."""
        key = (u_bored_mm, fixed)
        found = self._laws.get(key)
        if found is None:
            found = self._laws[key] = _blurred(self.pieces, u_bored_mm, fixed=fixed)
        return found

    @cached_property
    def _laws(self) -> dict[tuple[float, bool], tuple[_Blurred, ...]]:
        return {}

    def needed_mm(self, confidence: float, u_bored_mm: float = 0.0) -> float:
        """The smallest bored size that cleans up with ``confidence`` (0 < confidence < 1), to 0.05 µm."""
        if not 0 < confidence < 1:
            raise ValueError("confidence must lie between 0 and 1")
        found = self._needed.get((confidence, u_bored_mm))
        if found is None:
            low, high = self.bounds_mm
            found = _solve(
                lambda x: self.probability(x, u_bored_mm), confidence, low - _FAR * u_bored_mm, high + _FAR * u_bored_mm
            )
            self._needed[confidence, u_bored_mm] = found
        return found

    def range_mm(self, level: float = RANGE) -> tuple[float, float]:
        """Between which two sizes the clean-up diameter lies with the probability ``level``, as much left out at each end."""
        return self.needed_mm((1 - level) / 2), self.needed_mm((1 + level) / 2)

    @cached_property
    def _needed(self) -> dict[tuple[float, float], float]:
        """What was solved for before: the same question is asked for the verdict and for its words."""
        return {}


def _solve(rising: Callable[[float], float], target: float, low: float, high: float, tolerance: float = 5e-5) -> float:
    """Where a rising function reaches ``target``, from above, to ``tolerance``.

    Inverse quadratic steps where the last three points allow, halving where they do
    not (Chandrupatla, Advances in Engineering Software 28 (1997) 145).
    """
    f_low, f_high = rising(low) - target, rising(high) - target
    if f_low >= 0:
        return low
    if f_high <= 0:
        return high
    # a is the newest point, b the one across the root, c the one before
    a, f_a, b, f_b, part = low, f_low, high, f_high, 0.5
    for _ in range(60):
        x = a + part * (b - a)
        f = rising(x) - target
        if (f < 0) == (f_a < 0):
            c, f_c = a, f_a
        else:
            c, f_c, b, f_b = b, f_b, a, f_a
        a, f_a = x, f
        gap = abs(b - a)
        if gap <= tolerance:
            break
        place, rise = (a - b) / (c - b), (f_a - f_b) / (f_c - f_b)
        if rise * rise < place and (1 - rise) ** 2 < 1 - place:
            part = f_a / (f_b - f_a) * f_c / (f_b - f_c) + (c - a) / (b - a) * f_a / (f_c - f_a) * f_b / (f_c - f_b)
        else:
            part = 0.5
        least = 0.5 * tolerance / gap
        part = min(1 - least, max(least, part))
    return a if f_a >= 0 else b


# -- several cylinders at once -----------------------------------------------------------
def _shared_nodes(cleanups: Sequence[CleanUp], u_bored_mm: float) -> tuple[tuple[float, float], ...]:
    """(shared error in standard deviations, weight): the trapezoidal rule on the normal density.

    The spacing follows the least blurred piece, for which the integrand is steepest.
    """
    common = max(p.common_mm for c in cleanups for p in c.pieces)
    if common == 0.0:
        return ((0.0, 1.0),)
    blur = min(
        math.hypot(math.hypot(p.u_mm, u_bored_mm), (p.high_mm - p.low_mm) / 4) for c in cleanups for p in c.pieces
    )
    step = 1.25 * min(1.0, max(0.1, blur / common))
    reach = int(4.5 / step)
    weights = [(i * step, math.exp(-0.5 * (i * step) ** 2)) for i in range(-reach, reach + 1)]
    total = sum(w for _, w in weights)
    return tuple((z, w / total) for z, w in weights)


def together(cleanups: Sequence[CleanUp], bored_mm: float | Sequence[float], u_bored_mm: float = 0.0) -> float:
    """The probability that every cylinder is clean at ``bored_mm`` (one size, or one for each).

    The error that the readings share (master, temperature) is one error, not one for
    each cylinder; the rest is independent from cylinder to cylinder.
    """
    sizes = [bored_mm] * len(cleanups) if isinstance(bored_mm, (int, float)) else list(bored_mm)
    if len(sizes) != len(cleanups):
        raise ValueError("one bored size for each cylinder, or one for all")
    doubtful = []
    for c, size in zip(cleanups, sizes, strict=True):
        low, high = c.bounds_mm
        if size < low - _FAR * u_bored_mm:
            return 0.0
        if size <= high + _FAR * u_bored_mm:
            doubtful.append((c, size))
    if not doubtful:
        return CERTAIN
    if len(doubtful) == 1:
        c, size = doubtful[0]
        return c.probability(size, u_bored_mm)
    return min(CERTAIN, _all_clean(doubtful, u_bored_mm))


def _all_clean(cylinders: Sequence[tuple[CleanUp, float]], u_bored_mm: float) -> float:
    """The probability that all (cylinder, bored size) are clean, over the error that they share."""
    total = 0.0
    for z, weight in _shared_nodes([c for c, _ in cylinders], u_bored_mm):
        p = weight
        for c, size in cylinders:
            p *= c.probability(size, u_bored_mm, z)
            if p < 1e-12:
                break
        total += p
    return total


def needed_together(cleanups: Sequence[CleanUp], confidence: float, u_bored_mm: float = 0.0) -> float:
    """The smallest one size at which all cylinders are clean with ``confidence``, to 0.5 µm.

    It lies between the largest single need at ``confidence`` and the largest at
    ``confidence`` to the power 1/n, since errors that are shared can only help.
    """
    if not cleanups:
        raise ValueError("no cylinder")
    low = max(c.needed_mm(confidence, u_bored_mm) for c in cleanups)
    if len(cleanups) == 1:
        return low
    high, apart = low, confidence ** (1 / len(cleanups))
    for c in cleanups:
        if c.probability(high, u_bored_mm) < apart:
            high = c.needed_mm(apart, u_bored_mm)
    return _solve(lambda x: together(cleanups, x, u_bored_mm), confidence, low - 1e-4, high + 1e-3, 5e-4)
