"""What an indicator swept round the bore has read: rings of readings, and what its zero stands for.

At each depth and angle the indicator tells how far the wall stands from the spindle's
axis, against a zero whose diameter is known. The readings of one depth that go round the
bore make a :class:`Ring`. What they say of the best centre is :mod:`logic.centring`.

Angles run from the front of the engine, anticlockwise seen from above
(:mod:`logic.directions`). Between the readings the wall is taken as smooth: a curve with
as many waves as the largest gap allows (fewer than half a turn divided by the gap) is
laid through each ring, and what that curve does not follow and the readings' own
uncertainty does not explain is counted as form.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from .circles import Circle, Profile, least_squares, minimum_zone
from .constants import constant
from .plane import Fit, fit

__all__ = [
    "Reading",
    "Ring",
    "Zero",
    "between_mm",
    "displacement",
    "finite",
    "goes_round",
    "grouped_mm",
    "ring_of",
    "round_table",
    "unit_vector",
    "zero_from_diameters",
    "zero_from_gap",
]

#: Most waves round the bore that are laid through one ring's readings.
WAVES = 6
#: Radius that four readings or fewer may miss because the bore is oval.
UNSEEN_OVAL_MM = constant("sweep.unseen_oval").value

#: A reading's standard uncertainty is known to about a quarter: eight degrees of freedom (JCGM 100:2008, G.3, table E.1).
U_DOF = 8.0

Pair = tuple[float, float]


class Reading(NamedTuple):
    """One indicator reading: depth below the top face, direction, deviation from the zero."""

    depth_mm: float
    angle_deg: float
    deviation_mm: float


@dataclass(frozen=True, kw_only=True)
class Ring:
    """The readings of one depth, with the circle fitted to them (about the spindle's axis).

    ``zone_mm`` is the roundness deviation from the minimum zone circles; ``waves`` how
    many waves round the bore these readings can show; ``form_mm`` the scatter about
    that curve beyond the readings' uncertainty. ``curve`` holds its mean and then cosine
    and sine of one wave, two waves and so on.
    """

    depth_mm: float
    angles_deg: tuple[float, ...]
    deviations_mm: tuple[float, ...]
    circle: Circle
    zone_mm: float
    waves: int
    curve: tuple[float, ...]
    form_mm: float


class Zero(NamedTuple):
    """The diameter at which the indicator reads zero, its standard uncertainty, and how many diameters gave it."""

    diameter_mm: float
    u_mm: float
    n: int


def finite(*values: float) -> bool:
    """Whether every figure is a number at all."""
    return all(math.isfinite(v) for v in values)


def displacement(distance_mm: float, angle_deg: float) -> Pair:
    """A distance in a direction as (to the front, to the left)."""
    c, s = unit_vector(angle_deg)
    return distance_mm * c, distance_mm * s


def unit_vector(angle_deg: float) -> Pair:
    """A direction as (to the front, to the left), of length 1."""
    a = math.radians(angle_deg % 360.0)
    return math.cos(a), math.sin(a)


# -- rings ------------------------------------------------------------------------------
def grouped_mm(readings: Iterable[Reading], *, outward: bool) -> dict[float, dict[float, float]]:
    """Deviations by depth and by angle; repeats of one place are averaged."""
    found: dict[float, dict[float, list[float]]] = {}
    for depth, angle, deviation in readings:
        if not finite(depth, angle, deviation):
            raise ValueError("depths, angles and readings must be finite numbers")
        found.setdefault(depth, {}).setdefault(angle % 360.0, []).append(deviation if outward else -deviation)
    return {
        depth: {angle: math.fsum(v) / len(v) for angle, v in sorted(ring.items())}
        for depth, ring in sorted(found.items())
    }


def _widest_gap(angles: Sequence[float]) -> float:
    ordered = sorted(angles)
    return max((b - a for a, b in zip(ordered, [*ordered[1:], ordered[0] + 360.0], strict=True)), default=360.0)


def _basis(angle_deg: float, waves: int) -> list[float]:
    a = math.radians(angle_deg)
    return [f(k * a) for k in range(1, waves + 1) for f in (math.cos, math.sin)]


def _circle_round(readings: Mapping[float, float], radius: float) -> tuple[Profile, Circle] | None:
    """One depth's readings and their least-squares circle; None if they do not go round the spindle and that circle's middle."""
    angles, deviations = tuple(readings), tuple(readings.values())
    if len(angles) < 3 or _widest_gap(angles) >= 180.0:
        return None
    profile = Profile.around(angles, deviations, radius)
    circle = least_squares(profile)
    seen = [math.degrees(math.atan2(y - circle.y_mm, x - circle.x_mm)) for x, y in profile.points]
    return None if _widest_gap(seen) >= 180.0 * (1 - 1e-9) else (profile, circle)


def ring_of(depth: float, readings: Mapping[float, float], radius: float, u: float) -> Ring | None:
    """One depth's readings as a ring; None if they do not go round the bore."""
    found = _circle_round(readings, radius)
    if found is None:
        return None
    profile, circle = found
    angles, deviations = tuple(readings), tuple(readings.values())
    gap = _widest_gap(angles)
    waves = max(1, min(WAVES, math.ceil(180.0 / gap - 1e-9) - 1, (len(angles) - 1) // 2))
    table = [_basis(a, waves) for a in angles]
    curve = fit(list(zip(*table, strict=True)), deviations)
    return Ring(
        depth_mm=depth,
        angles_deg=angles,
        deviations_mm=deviations,
        circle=circle,
        zone_mm=minimum_zone(profile).zone_mm,
        waves=waves,
        curve=(curve.intercept, *curve.slopes),
        form_mm=_form_mm(curve, u),
    )


def _form_mm(curve: Fit, u: float) -> float:
    """What the curve leaves over beyond the readings' own uncertainty, which counts for :data:`U_DOF` degrees of freedom:
    a single one left over, as eight readings have it, is mostly noise."""
    if curve.spread is None:
        return 0.0
    return math.sqrt(max(0.0, curve.spread**2 - u * u) * curve.dof / (U_DOF + curve.dof))


@lru_cache(maxsize=1)
def round_table() -> tuple[tuple[float, float, list[float]], ...]:
    """Cosine, sine and all waves every three degrees round the bore."""
    return tuple((*unit_vector(3.0 * k), _basis(3.0 * k, WAVES)) for k in range(120))


def between_mm(ring: Ring, angle_deg: float) -> float:
    """The ring's deviation at an angle, straight between its two neighbours."""
    angle = angle_deg % 360.0
    angles = [*ring.angles_deg, ring.angles_deg[0] + 360.0]
    values = [*ring.deviations_mm, ring.deviations_mm[0]]
    if angle < angles[0]:
        angle += 360.0
    for (a, b), (p, q) in zip(pairwise(angles), pairwise(values), strict=True):
        if a <= angle <= b:
            return p + (q - p) * (angle - a) / (b - a)
    raise AssertionError("an angle lies between two neighbours of a closed ring")


def goes_round(readings: Iterable[Reading], zero_mm: float | None = None, *, outward: bool = True) -> bool:
    """Whether some depth has readings all round the bore: three or more, no gap of half a turn.

    With the diameter at the indicator's zero given, no reading may reach behind the
    spindle either, and they must go round the bore's own middle as well: then
    :func:`sweep` can work with them.
    """
    grouped = grouped_mm(readings, outward=outward)
    if zero_mm is None:
        return any(len(r) >= 3 and _widest_gap(list(r)) < 180.0 for r in grouped.values())
    radius = zero_mm / 2
    return all(d > -radius for r in grouped.values() for d in r.values()) and any(
        _circle_round(r, radius) is not None for r in grouped.values()
    )


# -- zero --------------------------------------------------------------------------------
def zero_from_gap(spindle_mm: float, gap_mm: float, *, u_spindle_mm: float = 0.0, u_gap_mm: float) -> Zero:
    """The zero's diameter from the spindle's own and its distance to the wall where the indicator reads zero.

    Any place round the bore serves, wherever the spindle stands: zero = spindle + 2 gap.
    """
    if not (finite(spindle_mm, gap_mm, u_spindle_mm, u_gap_mm) and spindle_mm > 0 and gap_mm > 0):
        raise ValueError("the spindle and the gap must be above zero")
    return Zero(spindle_mm + 2 * gap_mm, math.hypot(u_spindle_mm, 2 * u_gap_mm), 1)


def zero_from_diameters(
    readings: Sequence[Reading],
    diameters: Sequence[tuple[float, float, float]],
    *,
    u_diameter_mm: float,
    u_reading_mm: float,
    u_common_mm: float = 0.0,
    within_mm: float = 6.0,
    outward: bool = True,
) -> Zero | None:
    """The zero's diameter from two-point diameters (depth, angle, diameter) of the same bore.

    Where a ring within ``within_mm`` of a diameter's depth has readings at that angle
    and opposite, half their sum is how much that diameter exceeds the zero. A spindle
    off the bore's middle reads a chord instead of the diameter, which is put right.
    None if no diameter meets a ring. ``u_diameter_mm`` is each diameter's own standard
    uncertainty, ``u_common_mm`` what all of them share.
    """
    rings = grouped_mm(readings, outward=outward)
    found = []
    for depth, angle, diameter in diameters:
        if not (finite(depth, angle, diameter) and diameter > 0):
            raise ValueError("diameters must be above zero")
        near = min(rings, key=lambda z: abs(z - depth), default=None)
        if near is None or abs(near - depth) > within_mm:
            continue
        zero = _zero_across_mm(rings[near], angle, diameter)
        if zero is not None:
            found.append(zero)
    if not found:
        return None
    n = len(found)
    own = (u_diameter_mm**2 + 2 * u_reading_mm**2) / n
    return Zero(math.fsum(found) / n, math.sqrt(own + u_common_mm**2), n)


def _zero_across_mm(ring: Mapping[float, float], angle_deg: float, diameter_mm: float) -> float | None:
    """The zero's diameter from one diameter and the readings at its two ends; None without both of them."""
    one, other = ring.get(angle_deg % 360.0), ring.get((angle_deg + 180.0) % 360.0)
    if one is None or other is None:
        return None
    zero = diameter_mm - (one + other)
    left, right = ring.get((angle_deg + 90.0) % 360.0), ring.get((angle_deg - 90.0) % 360.0)
    if left is not None and right is not None:
        beside = (left - right) / 2
        zero -= beside * beside / (diameter_mm / 2)
    return zero
