"""The cut that a swept bore needs at the depths that the indicator never saw.

Along one axis the middle of the bore at depth z stands, seen from the spindle, at

    x(z) = c + β z + q W(z)

with c and β where the unworn bore stands and how it leans against the spindle, W(z) the wear
on diameter and q how much of it lies to the positive side beyond the half (−1/2 to 1/2, one
for all depths of a cylinder, since one cause wore it). Each ring swept gives x and W at its
depth, the bore gauge gives W where it read, and the lean is known as the face was measured or
as faces are. c is free, β normal, q rectangular: what the rings leave of them is a normal in
c and β for each q, and a normal in q cut off at ±1/2 (least squares with the lean as one more
equation). Where the gauge read the diameter D the cut about the place t needs

    D + 2 |x(z) − t|

which no miss of the bar makes smaller: one-sided again, like all that a missed centre does. So
the greatest of all such needs and of the swept one is taken at a fixed set of points that
stand for everything but the errors of the readings themselves (a Kronecker sequence on the
powers of the generalised golden ratio), at each by Clark's moments, and given as a few
rectangular parts (:mod:`logic.placing`). The tests compare it with a Monte Carlo calculation.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from .placing import Part, greatest, parts_of
from .sweep_readings import Ring, between_mm
from .uncertainty import normal_cdf, normal_quantile

__all__ = ["SEEN_WITHIN_MM", "Middle", "RingSeen", "SeenBySweep", "Unswept", "greatest_unswept", "unswept"]

#: A gauge reading this near a swept depth was seen by the indicator as well, mm.
SEEN_WITHIN_MM = 4.0
#: So many points stand for all that is not known; what each is used for (:func:`_points`).
POINTS = 192
_SWEPT, _ALONG, _ACROSS, _FIRST_SHARE = range(4)
#: The axes whose share of the wear is drawn apart from the others'.
_AXES = 4
#: Mean square of a share that is rectangular from −1/2 to 1/2.
_SHARE_SQUARE = 1.0 / 12.0
#: Nothing is known better than this: one reading, mm, and a slope, mm per mm.
_LEAST_U_MM, _LEAST_U_SLOPE = 1e-6, 1e-9
#: A need that lies this many standard deviations below another has no say.
_FAR = 6.0

Pair = tuple[float, float]


class Middle(NamedTuple):
    """One ring on one axis: depth, where its middle stands from the spindle, and its wear on diameter, mm."""

    depth_mm: float
    x_mm: float
    wear_mm: float


class RingSeen(NamedTuple):
    """What the rings of one axis tell: the middle at depth z is ``c + b z + q (w − cq − bq z)``, mm.

    The share ``q`` is normal (``q_mean``, ``q_u``), cut off at ±1/2 (rectangular where ``q_u`` is infinite); the
    variance of c, of both and of b for a given share are ``cc``, ``cb`` and ``bb``.
    """

    c: float
    b: float
    cq: float
    bq: float
    q_mean: float
    q_u: float
    cc: float
    cb: float
    bb: float

    def share(self, level: float) -> float:
        """The share below which it lies with the probability ``level``."""
        if math.isinf(self.q_u):
            return level - 0.5
        low, high = ((v - self.q_mean) / self.q_u for v in (-0.5, 0.5))
        if low > _FAR or high < -_FAR:
            return math.copysign(0.5, self.q_mean)
        # the tail that keeps its digits
        if low > 0:
            p = normal_cdf(-low) + level * (normal_cdf(-high) - normal_cdf(-low))
            z = -normal_quantile(p)
        else:
            z = normal_quantile(normal_cdf(low) + level * (normal_cdf(high) - normal_cdf(low)))
        return min(0.5, max(-0.5, self.q_mean + self.q_u * z))

    def middle_mm(self, depth_mm: float, wear_mm: float, share: float) -> float:
        return self.c + self.b * depth_mm + share * (wear_mm - self.cq - self.bq * depth_mm)

    def u_mm(self, depth_mm: float) -> float:
        """Standard uncertainty of the middle at a depth, for a given share."""
        return math.sqrt(max(0.0, self.cc + 2 * self.cb * depth_mm + self.bb * depth_mm**2))


class _Line(NamedTuple):
    """A straight line through what the rings tell at their depths, with what is known of its slope as one more equation.

    ``levers_mm`` are the depths from their mean ``far_mm``; ``v`` is the variance of one value, mm²; ``stiff`` how firmly
    the slope is held (infinite where it is known).
    """

    levers_mm: tuple[float, ...]
    far_mm: float
    v: float
    u_slope: float
    stiff: float

    @classmethod
    def through(cls, depths_mm: Sequence[float], v: float, u_slope: float) -> _Line:
        u_slope = u_slope if u_slope > _LEAST_U_SLOPE else 0.0
        far = math.fsum(depths_mm) / len(depths_mm)
        levers = tuple(z - far for z in depths_mm)
        stiff = math.fsum(z * z for z in levers) / v + u_slope**-2 if u_slope > 0.0 else math.inf
        return cls(levers, far, v, u_slope, stiff)

    def fitted(self, values: Sequence[float], slope: float) -> tuple[float, float, list[float]]:
        """Mean, slope (``slope`` is what is known of it) and what each equation leaves over, in standard deviations."""
        mean, found = math.fsum(values) / len(values), slope
        if self.u_slope > 0.0:
            lever = math.fsum(z * x for z, x in zip(self.levers_mm, values, strict=True)) / self.v
            found = (lever + slope / self.u_slope**2) / self.stiff
        left = [(x - mean - found * z) / math.sqrt(self.v) for z, x in zip(self.levers_mm, values, strict=True)]
        return mean, found, [*left, (slope - found) / self.u_slope] if self.u_slope > 0.0 else left


def seen_along(rings: Sequence[Middle], u_mm: float, slope: float, u_slope: float) -> RingSeen:
    """What is known along one axis. Raises ValueError without a ring.

    ``u_mm`` is the uncertainty of one indicator reading: a ring's middle is half the difference
    of two, its wear their sum, which with a share of unknown side is one more error of the middle.
    """
    if not rings:
        raise ValueError("no ring was swept")
    v = max(u_mm, _LEAST_U_MM) ** 2 * (0.5 + 2 * _SHARE_SQUARE)
    line = _Line.through([r.depth_mm for r in rings], v, u_slope)
    cx, bx, off = line.fitted([r.x_mm for r in rings], slope)
    cw, bw, worn = line.fitted([r.wear_mm for r in rings], 0.0)
    q_mean, q_u = 0.0, math.inf
    tells = math.fsum(a * a for a in worn)
    if tells > 1e-9:
        q_mean, q_u = math.fsum(a * b for a, b in zip(off, worn, strict=True)) / tells, tells**-0.5
    far, bb = line.far_mm, 1.0 / line.stiff
    return RingSeen(cx - bx * far, bx, cw - bw * far, bw, q_mean, q_u, v / len(rings) + bb * far**2, -bb * far, bb)


class SeenBySweep(NamedTuple):
    """What a sweep saw of a bore, by axis (its direction as a unit vector, to the front and to the left).

    ``u_reading_mm`` is the standard uncertainty of one indicator reading, ``at_mm`` where the cut is meant to stand,
    ``u_centring_mm`` how well the bar can be put there, each way; ``slope`` how the bore's middle moves with depth
    if it is square to the crank, mm per mm, known to ``u_slope``.
    """

    rings: Sequence[Ring]
    u_reading_mm: float
    at_mm: Pair
    u_centring_mm: float
    slope: Pair
    u_slope: Pair

    def middles(self, axis: Pair, unworn_mm: float) -> list[Middle]:
        """The rings along one axis."""
        angle = math.degrees(math.atan2(axis[1], axis[0]))
        return [_middle(r, angle, unworn_mm) for r in self.rings]

    def law(self, axis: Pair, unworn_mm: float) -> RingSeen:
        """What they tell of it."""
        slope, u_slope = (
            self.slope[0] * axis[0] + self.slope[1] * axis[1],
            math.hypot(self.u_slope[0] * axis[0], self.u_slope[1] * axis[1]),
        )
        return seen_along(self.middles(axis, unworn_mm), self.u_reading_mm, slope, u_slope)


def _middle(ring: Ring, angle_deg: float, unworn_mm: float) -> Middle:
    """One ring along the direction ``angle_deg``; what a spindle beside the bore's middle reads is a chord, put right."""
    here, there, left, right = (between_mm(ring, angle_deg + turn) for turn in (0.0, 180.0, 90.0, -90.0))
    zero, beside = 2 * (ring.circle.radius_mm - ring.circle.deviation_mm), (left - right) / 2
    across = zero + here + there + beside * beside / (zero / 2)
    return Middle(ring.depth_mm, (here - there) / 2, max(0.0, across - unworn_mm))


class Unswept(NamedTuple):
    """One place that the indicator did not see: its axis, the diameter there with its standard uncertainty, the wear,
    and the axis's law with the standard deviation of the middle and the centring together, mm."""

    axis: Pair
    depth_mm: float
    d_mm: float
    u_mm: float
    wear_mm: float
    law: RingSeen
    at_mm: float
    u_off_mm: float

    @property
    def most_mm(self) -> float:
        """More than this it hardly needs."""
        off = max(abs(self.law.middle_mm(self.depth_mm, self.wear_mm, q) - self.at_mm) for q in (-0.5, 0.5))
        return self.d_mm + 2 * off + _FAR * math.hypot(2 * self.u_mm, 2 * self.u_off_mm)

    def need_mm(self, share: float, miss: float) -> tuple[float, float]:
        """The cut needed and its standard deviation from the diameter's, with ``miss`` standard deviations along the axis."""
        off = self.law.middle_mm(self.depth_mm, self.wear_mm, share) - self.at_mm
        beside = abs(off + miss * self.u_off_mm)
        # the diameter's own error moves the wall on the side that wore more by more
        moved = 1.0 + 2.0 * (share if off >= 0.0 else -share)
        return self.d_mm + 2 * beside, moved * self.u_mm


def unswept(places: Sequence[tuple[float, Pair, float, float]], unworn_mm: float, seen: SeenBySweep) -> list[Unswept]:
    """The places (depth, direction of the axis, diameter and its standard uncertainty, mm) that were not swept."""
    laws: dict[Pair, RingSeen] = {}
    out = []
    for depth, axis, d, u in places:
        if min(abs(depth - r.depth_mm) for r in seen.rings) <= SEEN_WITHIN_MM:
            continue
        law = laws.get(axis)
        if law is None:
            law = laws[axis] = seen.law(axis, unworn_mm)
        at = seen.at_mm[0] * axis[0] + seen.at_mm[1] * axis[1]
        u_off = math.hypot(law.u_mm(depth), seen.u_centring_mm)
        out.append(Unswept(axis, depth, d, u, max(0.0, d - unworn_mm), law, at, u_off))
    return out


@lru_cache(maxsize=1)
def _points() -> tuple[tuple[float, ...], ...]:
    """Points spread evenly over all that is not known: the level of what the swept cut may be, the miss along two
    directions (in standard deviations), and the levels of the shares."""
    dims = _FIRST_SHARE + _AXES
    golden = 2.0
    for _ in range(60):  # the root of x^(dims + 1) = x + 1
        golden = (1.0 + golden) ** (1.0 / (dims + 1))
    # the first powers spread best: to the share and the miss on the first axis, which decide most often
    order = [_FIRST_SHARE, _ACROSS, _SWEPT, _ALONG, *range(_FIRST_SHARE + 1, dims)]
    power = {dim: golden ** -(k + 1) for k, dim in enumerate(order)}
    out = []
    for i in range(POINTS):
        levels = [(0.5 + (i + 1) * power[d]) % 1.0 for d in range(dims)]
        out.append(tuple(normal_quantile(v) if d in (_ALONG, _ACROSS) else v for d, v in enumerate(levels)))
    return tuple(out)


def _level_of(parts: Sequence[Part], level: float) -> float:
    """What lies at a level of a distribution given in parts."""
    below = 0.0
    for p in parts:
        if level <= below + p.share or p is parts[-1]:
            return p.low_mm + (p.high_mm - p.low_mm) * min(1.0, max(0.0, (level - below) / p.share))
        below += p.share
    return 0.0


class Greatest(NamedTuple):
    """The greatest of the swept cut and of those not swept: ``parts`` blurred by ``u_mm``, of which ``own`` is the
    share in which the swept cut decides."""

    parts: tuple[Part, ...]
    u_mm: float
    own: float


def greatest_unswept(
    swept_mm: float, u_mm: float, missed: Sequence[Part], places: Sequence[Unswept], u_common_mm: Pair
) -> Greatest | None:
    """The greatest of the swept cut (``u_mm`` beside what ``missed`` makes of it, mm) and of ``places``; None where none
    of these can have a say. ``u_common_mm`` are the errors that a swept cut and a gauge reading share with other bores.
    """
    least = swept_mm - _FAR * u_mm + min((p.low_mm for p in missed), default=0.0)
    near = [p for p in places if p.most_mm > least]
    if not near:
        return None
    lines = list(_by_axis(near))
    u_swept = math.hypot(u_mm, u_common_mm[0])
    values, square, own = [], 0.0, 0.0
    for point in _points():
        first = swept_mm + _level_of(missed, point[_SWEPT])
        rows = [(first, u_swept)]
        for n, (axis, here) in enumerate(lines):
            share_level = point[_FIRST_SHARE + n % _AXES]
            miss = axis[0] * point[_ALONG] + axis[1] * point[_ACROSS]
            share = here[0].law.share(share_level)
            needs = [p.need_mm(share, miss) for p in here]
            need, u = greatest(needs) if len(needs) > 1 else needs[0]
            rows.append((need, math.hypot(u, u_common_mm[1])))
        mean, sd = greatest(rows)
        values.append(mean)
        square += sd * sd
        own += first >= max(need for need, _ in rows)
    return Greatest(parts_of(sorted(values)), math.sqrt(square / POINTS), own / POINTS)


def _by_axis(places: Sequence[Unswept]) -> Iterator[tuple[Pair, list[Unswept]]]:
    """The places of each axis, the axis with the greatest wear first."""
    axes = {p.axis: max(q.wear_mm for q in places if q.axis == p.axis) for p in places}
    for axis in sorted(axes, key=lambda a: -axes[a]):
        yield axis, [p for p in places if p.axis == axis]
