"""The clean-up diameter: how large a bore must be cut before no worn metal is left.

The model
---------
A cutter turns about the bar's axis. Where the wall stands at radius r from that axis,
it is cleaned by a cut of diameter 2 r or more, so D_clean = 2 max r over the wall.

A two-point reading D at some depth and axis says that the bore has lost W = D − D0
of diameter there (D0: the unworn bore), but not on which side. Let s be the share of
W that came off the side that lost more: 1/2 if the wear is even, 1 if it is all on one
side. The bar stands on the axis of the unworn bore, moved by t toward that side. The
two walls then stand at D0/2 + s W − t and D0/2 + (1 − s) W + t, hence

    D_clean = D0 + 2 max over readings of max(s W − t, (1 − s) W + t)

and never less than what the unworn ends of the bore need, D0 + 2 |t| there. With t = 0
this runs from D_worn,max (even) to D0 + 2 (D_worn,max − D0) (one side). ``t`` has two
parts: what the person set the bar over on purpose, and what the bore leans away from
square to the face the bar stands on (signed either way, since nothing says which side
of the lean the wear is on, so both signs are weighed alike).

What is known about s narrows the range (:class:`WearSide`). Where only the limits of a
share are known it is taken as rectangular between them (JCGM 101:2008, 6.4.2), one
share for all depths of a cylinder, since one cause wore it. What was stated ("even",
"one side") is taken at its word and listed as an assumption.

The distribution of D_clean is that range blurred by the uncertainty of the readings
(the largest of several uncertain readings by C. E. Clark's moments of the greatest of
normal variables, Operations Research 9, 1961), of the unworn size, of the centring and
of the lean. It is kept as short pieces, each rectangular and blurred by a normal, whose
distribution function has a closed form; no simulation runs on the phone. The tests
compare it with a Monte Carlo calculation as in JCGM 101. The probability that a bored
size cleans up is the conformance probability of JCGM 106:2012, 7.

With radial sweep data the clean-up diameter is measured, and :func:`from_sweep` takes
the place of all this.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from .bore import WornBore, axis_name
from .result import Assumption, Caution, Figure, Influence, Result
from .say import L, Line, Qty
from .uncertainty import normal_cdf

__all__ = [
    "BoreLean",
    "CleanUp",
    "CleanUpResult",
    "Piece",
    "WearSide",
    "assumptions_of",
    "cautions_of",
    "clean_up",
    "describe",
    "from_sweep",
    "needed_together",
    "together",
]

#: What somebody may know about where the metal went.
KNOWN = ("unknown", "even", "one side", "swept")
#: How many pieces a share between two limits is cut into.
PIECES = 8
_ROOT_2PI = math.sqrt(2 * math.pi)
#: Beyond this many standard deviations nothing more is worked out.
_FAR = 6.0
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

    ``across_mm`` along the thrust axis and ``along_mm`` along the crank line, signed;
    ``u_mm`` the standard uncertainty of each. The bar is centred at the depth
    ``centred_mm``; the lean is felt at every other depth.
    """

    across_mm: float
    along_mm: float
    u_mm: float
    length_mm: float
    centred_mm: float = 0.0

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

    def cdf(self, x_mm: float, extra_u_mm: float = 0.0, shift: float | None = None) -> float:
        """P(D_clean ≤ x). ``shift`` fixes the shared error at that many standard deviations."""
        if shift is None:
            u = math.sqrt(self.u_mm**2 + extra_u_mm**2 + self.common_mm**2)
        else:
            x_mm -= shift * self.common_mm
            u = math.hypot(self.u_mm, extra_u_mm)
        a, b = x_mm - self.low_mm, x_mm - self.high_mm
        width = a - b
        if u == 0.0:
            return min(1.0, max(0.0, a / width)) if width > 0 else float(a >= 0)
        if b > 7 * u:
            return 1.0
        if a < -7 * u:
            return 0.0
        if width < 1e-4 * u:
            return normal_cdf((a + b) / (2 * u))
        return min(1.0, max(0.0, u * (_ramp(a / u) - _ramp(b / u)) / width))


def _ramp(t: float) -> float:
    """The integral of the normal distribution function up to t."""
    if t > 8:
        return t
    if t < -8:
        return 0.0
    return t * normal_cdf(t) + math.exp(-0.5 * t * t) / _ROOT_2PI


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
        return min(CERTAIN, sum(p.weight * p.cdf(bored_mm, u_bored_mm, shift) for p in self.pieces))

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

    @cached_property
    def _needed(self) -> dict[tuple[float, float], float]:
        """What was solved for before: the same question is asked for the verdict and for its words."""
        return {}


def _solve(rising, target: float, low: float, high: float, tolerance: float = 5e-5) -> float:
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


def _greatest(candidates: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean and standard deviation of the greatest of independent normals (Clark 1961)."""
    ranked = sorted(candidates, reverse=True)
    mean, sd = ranked[0]
    for m, s in ranked[1:]:
        a = math.hypot(sd, s)
        if a == 0.0 or mean - m > 5 * a:
            continue
        gap = (mean - m) / a
        up = normal_cdf(gap)
        density = math.exp(-0.5 * gap * gap) / _ROOT_2PI
        # moments counted from m, which keeps the figures small
        first = (mean - m) * up + a * density
        second = ((mean - m) ** 2 + sd**2) * up + s**2 * (1 - up) + (mean - m) * a * density
        mean, sd = m + first, math.sqrt(max(0.0, second - first * first))
    return mean, sd


def _share_limits(worn: WornBore, side: WearSide) -> dict[str, tuple[float, float]]:
    """The limits of the side share on each axis, from what is known."""
    if side.known == "even":
        return dict.fromkeys(worn.axes, (0.5, 0.5))
    if side.known == "one side":
        return {a: (0.5, 1.0) if a == "crank" else (1.0, 1.0) for a in worn.axes}
    if side.known == "swept" and worn.wear_mm > 0:
        share = 0.5 + side.offset_mm / worn.wear_mm
        return dict.fromkeys(worn.axes, (share, share))
    return dict.fromkeys(worn.axes, (0.5, 1.0))


_ON_AXIS = {
    "thrust": (1.0, 0.0),
    "crank": (0.0, 1.0),
    "diag_a": (math.sqrt(0.5), math.sqrt(0.5)),
    "diag_b": (math.sqrt(0.5), -math.sqrt(0.5)),
}


class _Wall(NamedTuple):
    """What one reading needs, D0 + 2 (share · W + t) on its worse side, and its uncertainty."""

    d_mm: float
    u_mm: float
    share: float
    cell: tuple[float, str] | None


def _moved(side: WearSide, lean: BoreLean | None, depth_mm: float, sign: int) -> tuple[float, float]:
    """How far the bar's axis stands from the unworn bore's at a depth: (thrust axis, crank line)."""
    if lean is None:
        return side.bar_shift_mm, 0.0
    lever = sign * lean.lever(depth_mm)
    return side.bar_shift_mm + lean.across_mm * lever, lean.along_mm * lever


def _toward(axis: str, moved: tuple[float, float]) -> float:
    x, y = _ON_AXIS[axis]
    return moved[0] * x + moved[1] * y


def _walls(
    worn: WornBore, side: WearSide, lean: BoreLean | None, limits: dict[str, tuple[float, float]], v: float, sign: int
) -> Iterator[_Wall]:
    """Every reading's need for one state of what is not known: share position v (0..1), lean sign.

    Of the two sides of one reading only the worse counts: they share one error.
    """
    d0 = worn.unworn.mm
    for c in worn.cells:
        low, high = limits[c.axis]
        s = low + v * (high - low)
        t = _toward(c.axis, _moved(side, lean, c.depth_mm, sign))
        w = max(0.0, c.d_mm - d0)
        share, t = (s, -t) if s * w - t >= (1 - s) * w + t else (1 - s, t)
        yield _Wall(d0 + 2 * (share * w + t), 2 * abs(share) * worn.u_mm, share, (c.depth_mm, c.axis))
    for depth in {0.0, lean.length_mm} if lean is not None else {0.0}:
        yield _Wall(d0 + 2 * math.hypot(*_moved(side, lean, depth, sign)), 0.0, 0.0, None)


def _positions(
    worn: WornBore, side: WearSide, lean: BoreLean | None, limits: dict[str, tuple[float, float]], sign: int
) -> list[float]:
    """Share positions to work out: evenly spaced, and where a reading's other side takes over."""
    if all(low == high for low, high in limits.values()):
        return [0.0]
    out = {i / PIECES for i in range(PIECES + 1)}
    for c in worn.cells:
        low, high = limits[c.axis]
        w = c.d_mm - worn.unworn.mm
        t = _toward(c.axis, _moved(side, lean, c.depth_mm, sign))
        if high > low and 0 < t < w / 2:
            out.add((0.5 + t / w - low) / (high - low))
    return sorted(v for v in out if 0 <= v <= 1)


def clean_up(worn: WornBore, side: WearSide = WearSide(), lean: BoreLean | None = None) -> CleanUp:
    """The clean-up diameter from two-point readings. Raises ValueError where nothing was measured."""
    worst = worn.worst
    limits = _share_limits(worn, side)
    leans = lean is not None and (lean.across_mm != 0.0 or lean.along_mm != 0.0)
    signs = (1, -1) if leans else (1,)
    stated = worn.unworn.source in ("stated", "nominal")  # not read with this gauge, so its shared error is not in it
    lean_u = 0.0 if lean is None else lean.lever(worst.depth_mm) * lean.u_mm
    swept_u = side.u_offset_mm if side.known == "swept" else 0.0
    placing = 4 * (side.u_centring_mm**2 + lean_u**2 + swept_u**2)
    pieces: list[Piece] = []
    low, high, cell = math.inf, -math.inf, None
    for sign in signs:
        positions = _positions(worn, side, lean, limits, sign)
        nodes = []
        for v in positions:
            walls = list(_walls(worn, side, lean, limits, v, sign))
            top = max(walls, key=lambda w: w.d_mm)
            low = min(low, top.d_mm)
            if top.d_mm > high:
                high, cell = top.d_mm, top.cell
            mean, sd = _greatest([(w.d_mm, w.u_mm) for w in walls])
            u = math.sqrt(sd**2 + ((1 - 2 * top.share) * worn.unworn.u_mm) ** 2 + placing)
            nodes.append((mean, u, (2 * top.share if stated else 1.0) * worn.u_common_mm))
        if len(nodes) == 1:
            mean, u, common = nodes[0]
            pieces.append(Piece(1.0 / len(signs), mean, mean, u, common))
        for v0, v1, (m0, u0, c0), (m1, u1, c1) in zip(positions, positions[1:], nodes, nodes[1:]):
            pieces.append(Piece((v1 - v0) / len(signs), min(m0, m1), max(m0, m1), (u0 + u1) / 2, (c0 + c1) / 2))
    return CleanUp(
        cylinder=worn.cylinder,
        low_mm=low,
        high_mm=high,
        pieces=tuple(pieces),
        worst_mm=worst.d_mm,
        unworn_mm=worn.unworn.mm,
        u_wear_mm=math.hypot(worn.u_mm, worn.unworn.u_mm, worn.u_common_mm if stated else 0.0),
        cell=cell or (worst.depth_mm, worst.axis),
        source="largest reading" if len(worn.cells) == 1 else "two-point",
        side=side,
        lean=lean,
    )


def from_sweep(
    cylinder: int,
    d_clean_mm: float,
    u_mm: float,
    *,
    worst_mm: float,
    unworn_mm: float,
    u_wear_mm: float = 0.005,
    u_common_mm: float = 0.0,
    cell: tuple[float, str] | None = None,
) -> CleanUp:
    """The clean-up diameter as measured by sweeping the bore, in place of the two-point range.

    ``u_mm`` is its standard uncertainty without what the cylinders share
    (``u_common_mm``); ``u_wear_mm`` that of ``worst_mm − unworn_mm``.
    """
    if not (math.isfinite(d_clean_mm) and d_clean_mm > 0 and math.isfinite(u_mm) and u_mm >= 0):
        raise ValueError("a clean-up diameter must be finite and above zero, with an uncertainty")
    return CleanUp(
        cylinder=cylinder,
        low_mm=d_clean_mm,
        high_mm=d_clean_mm,
        pieces=(Piece(1.0, d_clean_mm, d_clean_mm, u_mm, u_common_mm),),
        worst_mm=worst_mm,
        unworn_mm=unworn_mm,
        u_wear_mm=u_wear_mm,
        cell=cell,
        source="swept",
    )


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
    step = min(1.0, max(0.1, blur / common))
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
    for c, size in zip(cleanups, sizes):
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
    total = 0.0
    for z, weight in _shared_nodes([c for c, _ in doubtful], u_bored_mm):
        p = weight
        for c, size in doubtful:
            p *= c.probability(size, u_bored_mm, z)
            if p < 1e-12:
                break
        total += p
    return min(CERTAIN, total)


def needed_together(cleanups: Sequence[CleanUp], confidence: float, u_bored_mm: float = 0.0) -> float:
    """The smallest one size at which all cylinders are clean with ``confidence``, to 0.1 µm.

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
    return _solve(lambda x: together(cleanups, x, u_bored_mm), confidence, low - 1e-4, high + 1e-3, 1e-4)


# -- words ---------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class CleanUpResult(Result):
    """A cylinder's clean-up diameter in words; ``cleanup`` is the distribution behind it."""

    cleanup: CleanUp


def assumptions_of(c: CleanUp) -> Iterator[Assumption]:
    """What one cylinder's clean-up diameter takes as true."""
    if c.source == "swept":
        yield Assumption(
            L(
                "Clean-up diameter of cylinder {n} as swept, with the spindle set to the centre that the sweep gives.",
                n=c.cylinder,
            ),
            "entered",
        )
        return
    side = c.side
    yield Assumption(L("The bar stands on the axis of the unworn bore."), "common practice")
    if side.known == "even":
        yield Assumption(L("Wear of cylinder {n} is the same on both sides, as stated.", n=c.cylinder), "entered")
    elif side.known == "one side":
        yield Assumption(L("Thrust-axis wear of cylinder {n} is all on one side, as stated.", n=c.cylinder), "entered")
    elif side.known == "swept":
        yield Assumption(
            L(
                "The worn bore of cylinder {n} is {offset} off centre, as swept.",
                n=c.cylinder,
                offset=Qty(side.offset_mm, "diff", side.u_offset_mm),
            ),
            "entered",
        )
    else:
        yield Assumption(
            L(
                "Nothing is known about which side of cylinder {n} wore: any share from even to all on one side is as likely.",
                n=c.cylinder,
            ),
            "JCGM 101:2008, 6.4.2",
        )
    if side.bar_shift_mm:
        yield Assumption(
            L(
                "The bar is set over {shift} toward the worn side in cylinder {n}.",
                n=c.cylinder,
                shift=Qty(side.bar_shift_mm, "diff"),
            ),
            "entered",
        )


def cautions_of(c: CleanUp) -> Iterator[Caution]:
    """What to look at again in one cylinder before trusting its clean-up diameter."""
    side, n = c.side, c.cylinder
    wear = c.worst_mm - c.unworn_mm
    if side.known == "swept" and side.offset_mm > wear / 2 + 2 * math.hypot(side.u_offset_mm, c.u_wear_mm / 2):
        yield Caution(
            f"cleanup.offset.{n}",
            L(
                "Cylinder {n}: an offset of {offset} is more than {wear} of wear can give. Check the unworn size and that the indicator was zeroed on unworn metal.",
                n=n,
                offset=Qty(side.offset_mm, "diff"),
                wear=Qty(wear, "diff"),
            ),
        )
    if side.bar_shift_mm:
        yield Caution(
            f"cleanup.shift.{n}",
            L(
                "Cylinder {n}: setting the bar over moves the bore's axis by {shift}. Check the wall on the worn side, and the maker's limit for the bore's position.",
                n=n,
                shift=Qty(side.bar_shift_mm, "diff"),
            ),
        )


def describe(c: CleanUp, confidence: float = 0.95, u_bored_mm: float = 0.0) -> CleanUpResult:
    """One cylinder's clean-up diameter in words and figures."""
    needed = Qty(c.needed_mm(confidence, u_bored_mm), "size")
    low, high = Qty(c.low_mm, "size"), Qty(c.high_mm, "size")
    said = {"n": c.cylinder, "needed": needed, "confidence": Qty(confidence, "percent")}
    if c.high_mm - c.low_mm > 1e-6:
        line = L(
            "Cylinder {n} cleans up somewhere from {low} to {high}; {needed} does it with {confidence} confidence.",
            **said,
            low=low,
            high=high,
        )
    else:
        line = L("Cylinder {n} cleans up at {low}; {needed} does it with {confidence} confidence.", **said, low=low)
    why: list[Line] = []
    if c.cell is not None:
        why.append(
            L(
                "What decides is {depth} down on the {axis}.",
                depth=Qty(c.cell[0], "place"),
                axis=axis_name(c.cell[1]),
            )
        )
    if c.source != "swept" and c.side.known == "unknown" and c.high_mm - c.low_mm > 0.02:
        why.append(
            L("A sweep with an indicator would narrow this by up to {gap}.", gap=Qty(c.high_mm - c.low_mm, "diff"))
        )
    total = c.u_mm**2
    known = sum(p.weight * (p.u_mm**2 + p.common_mm**2) for p in c.pieces)
    shared = sum(p.weight * p.common_mm**2 for p in c.pieces)
    influences = ()
    if total > 0:
        ranked = sorted(
            (
                Influence(L("not knowing which side wore, and the lean"), max(0.0, total - known) / total),
                Influence(L("readings and centring"), (known - shared) / total),
                Influence(L("gauge setting and temperatures"), shared / total),
            ),
            key=lambda i: -i.share,
        )
        influences = tuple(i for i in ranked if i.share > 0)
    return CleanUpResult(
        key=f"cleanup.{c.cylinder}",
        line=line,
        value=Qty(c.mean_mm, "size", c.u_mm),
        confidence=confidence,
        why=tuple(why),
        figures=(
            Figure("low", L("Clean-up diameter, least"), low),
            Figure("high", L("Clean-up diameter, most"), high),
            Figure("needed", L("Bored size that cleans up with the wanted confidence"), needed),
            Figure("worst", L("Largest reading"), Qty(c.worst_mm, "size")),
            Figure("unworn", L("Unworn bore"), Qty(c.unworn_mm, "size")),
        ),
        assumptions=tuple(assumptions_of(c)),
        influences=influences,
        cautions=tuple(cautions_of(c)),
        cleanup=c,
    )
