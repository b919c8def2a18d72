"""Centring and clean-up from an indicator swept round the bore on the spindle.

At each depth and angle the indicator tells how far the wall stands from the spindle's
axis, against a zero whose diameter is known. That makes wall points p_i. The spindle
stands square to the top face and so does the cut, so the readings of all depths are
seen along the axis on top of each other: the smallest circle round all of them
(:func:`logic.circles.minimum_circumscribed`) is the smallest cut that cleans the bore,
and its centre is the best place for the spindle: D_clean = 2 max |p_i − c|.

Frame: from the spindle's axis, first coordinate to the front of the engine, second to
the left; angles from the front, anticlockwise seen from above (:mod:`logic.directions`).

Lean. Readings from a spindle that stands on a leaning face hold the lean already,
between the highest and the lowest depth swept. Beyond them, to both ends of the bore,
the nearest ring is carried on, shifted by the face's lean (a bore that was square to
the crank departs from the cut by as much). It is taken as worn as the ring it was
copied from, unless the unworn size is known.

Between the readings the wall is taken as smooth: a curve with as many waves as the
largest gap allows (fewer than half a turn divided by the gap) is laid through each
ring, and where it stands out beyond every reading the excess is an allowance,
rectangular from nothing to the whole of it. What the curve does not follow and the
readings' own uncertainty does not explain is counted as form. Fewer than five readings
cannot show that a bore is oval; a fixed allowance stands in.

Centring. A spindle that misses the best centre by e makes the cut larger by twice the
most that e points away from one of the readings that hold it, h(e) = max(−e·e_k). With
e normal, standard deviation u each way, the mean of h is u √(π/2) times its mean over
all directions (for two readings across a diameter 0.80 u, for three at 120 degrees
1.04 u), and the mean of its square 2 u² times the mean of the square.

Uncertainty: first order by JCGM 100:2008 for readings and zero, the two-sided change
of D_clean for the lean. The tests repeat it by Monte Carlo (JCGM 101:2008).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Any, NamedTuple

from .circles import Circle, Profile, least_squares, minimum_circumscribed, minimum_zone
from .constants import constant
from .directions import NOTHING_MM, compass, toward
from .pictures import SweepRing
from .plane import fit
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import normal_cdf
from .walls import WallPlace

__all__ = [
    "Reading",
    "Ring",
    "SweepLean",
    "Swept",
    "WallLeft",
    "Zero",
    "displacement",
    "goes_round",
    "picture",
    "sweep",
    "zero_from_diameters",
    "zero_from_gap",
]

#: Most waves round the bore that are laid through one ring's readings.
WAVES = 6
#: Points this close to a circle lie on it, mm: far below any indicator, far above rounding.
SAME_MM = 1e-6
#: Radius that four readings or fewer may miss because the bore is oval.
UNSEEN_OVAL_MM = constant("sweep.unseen_oval").value

Pair = tuple[float, float]


class Reading(NamedTuple):
    """One indicator reading: depth below the top face, direction, deviation from the zero."""

    depth_mm: float
    angle_deg: float
    deviation_mm: float


class SweepLean(NamedTuple):
    """How a bore cut here would lean over its length: lower end to the rear, to the left, and the doubt of each."""

    along_mm: float
    across_mm: float
    u_along_mm: float
    u_across_mm: float


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


@dataclass(frozen=True, kw_only=True)
class WallLeft:
    """One measured wall against the best cut.

    ``left`` is what the cut leaves, ``chance`` the probability that this is at least
    ``minimum``. ``most_mm`` is the largest cut about the best centre that leaves the
    minimum; ``offset_mm`` how far the clean-up cut may still move straight toward it
    (negative: it must come away by so much).
    """

    name: Line | str
    angle_deg: float
    left: Qty
    minimum: Qty
    chance: float
    most_mm: float
    offset_mm: float


@dataclass(frozen=True, kw_only=True)
class Swept(Result):
    """What the sweep of one cylinder says.

    ``clean_mm`` is the diameter that cleans up with the spindle moved to the best centre
    as well as it can be, its standard uncertainty ``u_mm``, of which ``u_zero_mm`` comes
    from the zero (which may be common to all cylinders). ``centre_mm`` is that centre from the spindle's present axis, to
    the front and to the left. ``read_mm`` is the diameter from the readings alone,
    ``allowance_mm`` what may stand out between them. ``here_mm`` is the clean-up diameter
    with the spindle left where it stands, ``unworn_mm`` with it moved to the unworn
    ring's centre, allowances included. ``safe_centre_mm`` and ``safe_mm`` are given where walls force
    another centre (None: none found that spares them all).
    """

    cylinder: int
    clean_mm: float
    u_mm: float
    u_zero_mm: float
    read_mm: float
    allowance_mm: float
    centre_mm: Pair
    u_centre_mm: float
    here_mm: float
    unworn_mm: float
    unworn_centre_mm: Pair
    rings: tuple[Ring, ...]
    governing: Reading
    touching: tuple[Reading, ...]
    walls: tuple[WallLeft, ...] = ()
    safe_centre_mm: Pair | None = None
    safe_mm: float | None = None

    @property
    def u_own_mm(self) -> float:
        """Standard uncertainty of ``clean_mm`` without what the zero brings."""
        return math.sqrt(max(0.0, self.u_mm**2 - self.u_zero_mm**2))

    @property
    def moved_mm(self) -> Pair:
        """How far the advised centre lies from the unworn ring's, to the front and to the left."""
        x, y = self.centre_mm if self.safe_centre_mm is None else self.safe_centre_mm
        return x - self.unworn_centre_mm[0], y - self.unworn_centre_mm[1]


class Zero(NamedTuple):
    """The diameter at which the indicator reads zero, its standard uncertainty, and how many diameters gave it."""

    diameter_mm: float
    u_mm: float
    n: int


def _finite(*values: float) -> bool:
    return all(math.isfinite(v) for v in values)


def displacement(distance_mm: float, angle_deg: float) -> Pair:
    """A distance in a direction as (to the front, to the left)."""
    c, s = _unit(angle_deg)
    return distance_mm * c, distance_mm * s


def _unit(angle_deg: float) -> Pair:
    a = math.radians(angle_deg % 360.0)
    return math.cos(a), math.sin(a)


# -- rings ------------------------------------------------------------------------------
def _grouped(readings: Iterable[Reading], outward: bool) -> dict[float, dict[float, float]]:
    """Deviations by depth and by angle; repeats of one place are averaged."""
    found: dict[float, dict[float, list[float]]] = {}
    for depth, angle, deviation in readings:
        if not _finite(depth, angle, deviation):
            raise ValueError("depths, angles and readings must be finite numbers")
        found.setdefault(depth, {}).setdefault(angle % 360.0, []).append(deviation if outward else -deviation)
    return {
        depth: {angle: math.fsum(v) / len(v) for angle, v in sorted(ring.items())}
        for depth, ring in sorted(found.items())
    }


def _widest_gap(angles: Sequence[float]) -> float:
    ordered = sorted(angles)
    return max((b - a for a, b in zip(ordered, [*ordered[1:], ordered[0] + 360.0])), default=360.0)


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


def _ring(depth: float, readings: Mapping[float, float], radius: float, u: float) -> Ring | None:
    """One depth's readings as a ring; None if they do not go round the bore."""
    found = _circle_round(readings, radius)
    if found is None:
        return None
    profile, circle = found
    angles, deviations = tuple(readings), tuple(readings.values())
    gap = _widest_gap(angles)
    waves = max(1, min(WAVES, math.ceil(180.0 / gap - 1e-9) - 1, (len(angles) - 1) // 2))
    table = [_basis(a, waves) for a in angles]
    curve = fit(list(zip(*table)), deviations)
    form = math.sqrt(max(0.0, curve.spread**2 - u * u)) if curve.spread is not None else 0.0
    return Ring(
        depth_mm=depth,
        angles_deg=angles,
        deviations_mm=deviations,
        circle=circle,
        zone_mm=minimum_zone(profile).zone_mm,
        waves=waves,
        curve=(curve.intercept, *curve.slopes),
        form_mm=form,
    )


@lru_cache(maxsize=1)
def _round_table() -> tuple[tuple[float, float, list[float]], ...]:
    """Cosine, sine and all waves every three degrees round the bore."""
    return tuple((*_unit(3.0 * k), _basis(3.0 * k, WAVES)) for k in range(120))


def _between(ring: Ring, angle_deg: float) -> float:
    """The ring's deviation at an angle, straight between its two neighbours."""
    angle = angle_deg % 360.0
    angles = [*ring.angles_deg, ring.angles_deg[0] + 360.0]
    values = [*ring.deviations_mm, ring.deviations_mm[0]]
    if angle < angles[0]:
        angle += 360.0
    for (a, b), (p, q) in zip(zip(angles, angles[1:]), zip(values, values[1:])):
        if a <= angle <= b:
            return p + (q - p) * (angle - a) / (b - a)
    raise AssertionError("an angle lies between two neighbours of a closed ring")


def _excess(rings: Sequence[Ring], radius: float, centre: Pair, reach: float) -> float:
    """How far any ring's curve stands out beyond ``reach``, seen from ``centre``."""
    worst = 0.0
    x, y = centre
    for ring in rings:
        mean, waves = ring.curve[0], ring.curve[1:]
        for c, s, basis in _round_table():
            r = radius + mean + sum(a * b for a, b in zip(waves, basis))
            worst = max(worst, math.hypot(r * c - x, r * s - y) - radius - reach)
        if ring.waves < 2:
            worst = max(worst, UNSEEN_OVAL_MM)
    return worst


def goes_round(readings: Iterable[Reading], zero_mm: float | None = None, *, outward: bool = True) -> bool:
    """Whether some depth has readings all round the bore: three or more, no gap of half a turn.

    With the diameter at the indicator's zero given, no reading may reach behind the
    spindle either, and they must go round the bore's own middle as well: then
    :func:`sweep` can work with them.
    """
    grouped = _grouped(readings, outward)
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
    if not (_finite(spindle_mm, gap_mm, u_spindle_mm, u_gap_mm) and spindle_mm > 0 and gap_mm > 0):
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
    rings = _grouped(readings, outward)
    found = []
    for depth, angle, diameter in diameters:
        if not (_finite(depth, angle, diameter) and diameter > 0):
            raise ValueError("diameters must be above zero")
        near = min(rings, key=lambda z: abs(z - depth), default=None)
        if near is None or abs(near - depth) > within_mm:
            continue
        ring = rings[near]
        one, other = ring.get(angle % 360.0), ring.get((angle + 180.0) % 360.0)
        if one is None or other is None:
            continue
        zero = diameter - (one + other)
        left, right = ring.get((angle + 90.0) % 360.0), ring.get((angle - 90.0) % 360.0)
        if left is not None and right is not None:
            beside = (left - right) / 2
            zero -= beside * beside / (diameter / 2)
        found.append(zero)
    if not found:
        return None
    n = len(found)
    own = (u_diameter_mm**2 + 2 * u_reading_mm**2) / n
    return Zero(math.fsum(found) / n, math.sqrt(own + u_common_mm**2), n)


# -- the sweep ------------------------------------------------------------------------------
class _Point(NamedTuple):
    """A wall point: where it is from the spindle, the reading it comes from, and its lever on the lean."""

    x: float
    y: float
    reading: Reading
    lever: float


def _points(
    rings: Mapping[float, Mapping[float, float]],
    full: Sequence[Ring],
    radius: float,
    lean: SweepLean | None,
    length: float | None,
    unworn: float | None,
) -> list[_Point]:
    """Every wall point read, and the nearest rings carried on to the ends of the bore."""
    out = []
    for depth, ring in rings.items():
        for angle, d in ring.items():
            c, s = _unit(angle)
            out.append(_Point((radius + d) * c, (radius + d) * s, Reading(depth, angle, d), 0.0))
    if lean is None or length is None:
        return out
    for end, ring in ((0.0, full[0]), (length, full[-1])):
        lever = (end - ring.depth_mm) / length
        if end * (end - ring.depth_mm) < 0 or lever == 0:  # the ring lies beyond the end already
            continue
        shift = (lean.along_mm * lever, -lean.across_mm * lever)
        if unworn is None:
            carried = [(a, radius + d) for a, d in zip(ring.angles_deg, ring.deviations_mm)]
            middle = (0.0, 0.0)
        else:
            carried = [(15.0 * k, unworn / 2) for k in range(24)]
            middle = (ring.circle.x_mm, ring.circle.y_mm)
        for angle, r in carried:
            c, s = _unit(angle)
            place = Reading(end, angle, r - radius)
            out.append(_Point(middle[0] + r * c + shift[0], middle[1] + r * s + shift[1], place, lever))
    return out


def _circumscribed(points: Sequence[_Point], radius: float) -> Circle:
    """The smallest circle round the points, as a deviation from ``radius`` about the spindle."""
    w = []
    for p in points:
        r = math.hypot(p.x, p.y)
        w.append((r - radius) * (r + radius))
    return minimum_circumscribed(Profile(tuple((p.x, p.y) for p in points), tuple(w), radius))


def _reach(points: Iterable[_Point], radius: float, centre: Pair) -> float:
    """Deviation of the cut that cleans every point about a centre."""
    return max(math.hypot(p.x - centre[0], p.y - centre[1]) for p in points) - radius


def _carrying(points: Sequence[_Point], circle: Circle) -> tuple[int, ...]:
    """Every point on the circle: the two or three it rests on, and any that lie on it as well.

    Where a whole ring lies on it (an unworn bore carried on to its end), which three it
    rests on is chance, so nothing that is shown may hang on those alone.
    """
    reach = {i: math.hypot(p.x - circle.x_mm, p.y - circle.y_mm) for i, p in enumerate(points)}
    on_it = max(reach.values()) - SAME_MM
    return tuple(sorted({*circle.touching, *(i for i, r in reach.items() if r >= on_it)}))


def _weights(points: Sequence[_Point], circle: Circle) -> tuple[dict[int, float], float]:
    """How much each carrying point moves the radius, and how surely they place the centre.

    The second figure is the standard deviation of the centre (root sum of squares of
    both directions) per standard deviation of one reading. Three points fix the circle;
    more than three are met by least squares.
    """
    base = _carrying(points, circle)
    e = [_towards(points[i], circle) for i in base]
    if len(base) == 2:
        return {base[0]: 0.5, base[1]: 0.5}, math.sqrt(0.5)
    rows = [(a, b, 1.0) for a, b in e]
    normal = [[math.fsum(r[i] * r[j] for r in rows) for j in range(3)] for i in range(3)]
    inverse = _inverse(normal)
    if inverse is None:
        return {i: 1 / len(base) for i in base}, 1.0
    solve = [[math.fsum(a * b for a, b in zip(line, row)) for row in rows] for line in inverse]
    centre = math.sqrt(math.fsum(v * v for line in solve[:2] for v in line))
    return dict(zip(base, solve[2])), centre


def _missed(points: Sequence[_Point], circle: Circle) -> tuple[float, float]:
    """Mean and standard deviation of what a missed centre adds to the radius, per standard deviation of the miss."""
    away = [_towards(points[i], circle) for i in _carrying(points, circle)]
    reach = [max(c * x + s * y for x, y in away) for c, s, _ in _round_table()]
    mean = math.sqrt(math.pi / 2) * math.fsum(reach) / len(reach)
    square = 2 * math.fsum(h * h for h in reach) / len(reach)
    return mean, math.sqrt(max(0.0, square - mean * mean))


def _towards(p: _Point, circle: Circle) -> Pair:
    x, y = p.x - circle.x_mm, p.y - circle.y_mm
    r = math.hypot(x, y)
    return x / r, y / r


def _inverse(m: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """The inverse of a 3 × 3 matrix, None if it has none."""
    (a, b, c), (d, e, f), (g, h, i) = m
    det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if abs(det) < 1e-12:
        return None
    return [
        [(e * i - f * h) / det, (c * h - b * i) / det, (b * f - c * e) / det],
        [(f * g - d * i) / det, (a * i - c * g) / det, (c * d - a * f) / det],
        [(d * h - e * g) / det, (b * g - a * h) / det, (a * e - b * d) / det],
    ]


def sweep(
    readings: Sequence[Reading],
    *,
    cylinder: int,
    zero_mm: float,
    u_zero_mm: float = constant("sweep.zero_u").value,
    u_reading_mm: float = constant("sweep.reading_u").value,
    u_centring_mm: float = 0.0,
    outward: bool = True,
    unworn_depth_mm: float | None = None,
    lean: SweepLean | None = None,
    length_mm: float | None = None,
    unworn_mm: float | None = None,
    set_over: Pair | None = None,
    walls: Sequence[WallPlace] = (),
) -> Swept:
    """Best centre and clean-up diameter of one cylinder from its sweep readings.

    ``zero_mm`` is the diameter at which the indicator reads zero; ``outward`` is False
    where the indicator counts down as the wall goes away. ``u_centring_mm`` is how well
    the spindle can be moved to where it is meant to stand, each way. ``unworn_depth_mm`` says
    which ring is unworn (the deepest, if not said). ``set_over`` is where the spindle
    was put on purpose, from the unworn bore's centre (to the front, to the left).
    Angles of ``walls`` are directions from the bore. Raises ValueError if no depth has
    readings all round (three or more, no gap of half a turn) or a figure is impossible.
    """
    if not (
        _finite(zero_mm, u_zero_mm, u_reading_mm, u_centring_mm)
        and zero_mm > 0
        and min(u_zero_mm, u_centring_mm) >= 0
        and u_reading_mm > 0
    ):
        raise ValueError("the zero's diameter and the uncertainties must be above zero")
    if length_mm is not None and not (math.isfinite(length_mm) and length_mm > 0):
        raise ValueError("the bore's length must be above zero")
    radius = zero_mm / 2
    grouped = _grouped(readings, outward)
    if any(d <= -radius for ring in grouped.values() for d in ring.values()):
        raise ValueError("a reading is larger than the bore itself")
    full = [r for z, ring in grouped.items() if (r := _ring(z, ring, radius, u_reading_mm))]
    if not full:
        raise ValueError("no depth has readings all round the bore")

    points = _points(grouped, full, radius, lean, length_mm, unworn_mm)
    best = _circumscribed(points, radius)
    centre = (best.x_mm, best.y_mm)
    share, u_centre = _weights(points, best)
    # -- doubt of the diameter, part by part
    excess = _excess(full, radius, centre, best.deviation_mm)
    u_read = 2 * u_reading_mm * math.sqrt(math.fsum(s * s for s in share.values()))
    u_form = 2 * max(r.form_mm for r in full)
    lean_more, u_lean = 0.0, 0.0
    if lean is not None and length_mm is not None:
        base = 2 * best.deviation_mm
        for along, across in ((lean.u_along_mm, 0.0), (0.0, lean.u_across_mm)):
            up, down = (
                2
                * _circumscribed(
                    _points(
                        grouped,
                        full,
                        radius,
                        lean._replace(along_mm=lean.along_mm + sign * along, across_mm=lean.across_mm + sign * across),
                        length_mm,
                        unworn_mm,
                    ),
                    radius,
                ).deviation_mm
                for sign in (1, -1)
            )
            lift = max(0.0, (up + down) / 2 - base)
            lean_more += lift
            u_lean = math.sqrt(u_lean**2 + ((up - down) / 2) ** 2 + lift**2 / 2)
    read = zero_mm + 2 * best.deviation_mm
    allowance = 2 * excess
    missed, u_missed = _missed(points, best)
    still = allowance / 2 + lean_more  # what a spindle that stays where it is must add
    more = still + 2 * u_centring_mm * missed
    clean = read + more
    parts = {
        "readings": u_read,
        "zero": u_zero_mm,
        "between": math.hypot(allowance / math.sqrt(12), u_form),
        "lean": u_lean,
        "centring": 2 * u_centring_mm * u_missed,
    }
    u = math.sqrt(math.fsum(v * v for v in parts.values()))
    # -- other centres
    here = zero_mm + 2 * _reach(points, radius, (0.0, 0.0)) + still
    unworn_ring = full[-1] if unworn_depth_mm is None else min(full, key=lambda r: abs(r.depth_mm - unworn_depth_mm))
    unworn_centre = (unworn_ring.circle.x_mm, unworn_ring.circle.y_mm)
    on_unworn = zero_mm + 2 * _reach(points, radius, unworn_centre) + more
    governing = points[max(share, key=lambda i: share[i])].reading
    touching = tuple(sorted((points[i].reading for i in best.touching), key=lambda r: (r.depth_mm, r.angle_deg)))
    left = tuple(_wall_left(w, full, radius, centre, clean, u) for w in walls)
    safe_centre, safe = (None, None)
    if any(w.left.value < w.minimum.value for w in left):
        found = _spare_the_walls(points, radius, centre, walls, full, more / 2)
        if found is not None:
            safe_centre, safe = found[0], zero_mm + 2 * found[1] + more

    gaps = dict(n=cylinder, clean=Qty(clean, "size", u), here=Qty(here, "size"), where=toward(*centre))
    verdict, line = _judge(left, safe, gaps, here - clean)
    return Swept(
        key=f"sweep.{cylinder}",
        line=line,
        value=Qty(clean, "size", u),
        verdict=verdict,
        why=tuple(
            _why(
                best,
                touching,
                unworn_ring,
                unworn_centre,
                on_unworn,
                clean,
                allowance,
                full,
                set_over,
                lean,
                length_mm,
                safe,
                safe_centre,
            )
        ),
        figures=_figures(clean, u, read, allowance, here, on_unworn, centre, u_centre * u_reading_mm, full, left, safe),
        assumptions=_assumptions(zero_mm, u_zero_mm, u_reading_mm, u_centring_mm, full, lean, length_mm, unworn_mm),
        influences=_influences(parts, u),
        cautions=_cautions(cylinder, full, left, safe, on_unworn, clean),
        cylinder=cylinder,
        clean_mm=clean,
        u_mm=u,
        u_zero_mm=u_zero_mm,
        read_mm=read,
        allowance_mm=allowance,
        centre_mm=centre,
        u_centre_mm=u_centre * u_reading_mm,
        here_mm=here,
        unworn_mm=on_unworn,
        unworn_centre_mm=unworn_centre,
        rings=tuple(full),
        governing=governing,
        touching=touching,
        walls=left,
        safe_centre_mm=safe_centre,
        safe_mm=safe,
    )


# -- walls -----------------------------------------------------------------------------------
def _surface(rings: Sequence[Ring], angle_deg: float) -> tuple[float, float]:
    """The wall's deviation at an angle over all rings, and its doubt (the reading's depth is not known)."""
    values = [_between(r, angle_deg) for r in rings]
    return (max(values) + min(values)) / 2, (max(values) - min(values)) / math.sqrt(12)


def _cut_reach(angle_deg: float, centre: Pair, radius: float) -> float:
    """How far a cut about ``centre`` comes out from the spindle's axis at an angle."""
    c, s = _unit(angle_deg)
    along, beside = centre[0] * c + centre[1] * s, centre[1] * c - centre[0] * s
    return along + math.sqrt(max(0.0, radius**2 - beside**2))


def _wall_left(
    w: WallPlace, rings: Sequence[Ring], radius: float, centre: Pair, clean: float, u_clean: float
) -> WallLeft:
    surface, u_surface = _surface(rings, w.angle_deg)
    outside = radius + surface + w.wall_mm
    left = outside - _cut_reach(w.angle_deg, centre, clean / 2)
    u = math.sqrt(w.u_mm**2 + u_surface**2 + (u_clean / 2) ** 2)
    room = left - w.minimum_mm
    return WallLeft(
        name=w.name,
        angle_deg=w.angle_deg,
        left=Qty(left, "wall", u),
        minimum=Qty(w.minimum_mm, "wall"),
        chance=normal_cdf(room / u) if u else float(room >= 0),
        most_mm=clean + 2 * room,
        offset_mm=room,
    )


def _spare_the_walls(
    points: Sequence[_Point], radius: float, start: Pair, walls: Sequence[WallPlace], rings: Sequence[Ring], more: float
) -> tuple[Pair, float] | None:
    """The smallest cut that cleans every point and leaves every wall its minimum, if there is one.

    Least ρ with |p − c| − R <= ρ for every point and e·c + ρ + more <= room for every
    wall. Both are convex in (c, ρ): points are met by tangent planes, added where the
    present answer fails, until it fails nowhere.
    """
    box = 5.0
    rows: list[tuple[float, float, float, float]] = [(1, 0, 0, box), (-1, 0, 0, box), (0, 1, 0, box), (0, -1, 0, box)]
    for w in walls:  # e·c + ρ <= room
        c, s = _unit(w.angle_deg)
        rows.append((c, s, 1.0, _surface(rings, w.angle_deg)[0] + w.wall_mm - w.minimum_mm - more))
    centre = start
    for _ in range(60):
        p = max(points, key=lambda p: math.hypot(p.x - centre[0], p.y - centre[1]))
        x, y = p.x - centre[0], p.y - centre[1]
        r = math.hypot(x, y)
        e = (x / r, y / r)
        # |p - c'| >= r - e·(c' - c)   so   -e·c' - ρ <= R - r - e·c
        rows.append((-e[0], -e[1], -1.0, radius - r - e[0] * centre[0] - e[1] * centre[1]))
        found = _least(rows)
        if found is None:
            return None
        (centre, rho), reach = found, _reach(points, radius, found[0])
        if reach - rho < 1e-7:
            return centre, reach
    return centre, reach


def _least(rows: Sequence[tuple[float, float, float, float]]) -> tuple[Pair, float] | None:
    """The least third unknown of a small linear programme a·v <= b, by trying its corners."""
    best: tuple[float, Pair] | None = None
    for three in combinations(rows, 3):
        inverse = _inverse([r[:3] for r in three])
        if inverse is None:
            continue
        v = [math.fsum(a * r[3] for a, r in zip(line, three)) for line in inverse]
        if best is not None and v[2] >= best[0]:
            continue
        if all(r[0] * v[0] + r[1] * v[1] + r[2] * v[2] <= r[3] + 1e-9 for r in rows):
            best = v[2], (v[0], v[1])
    return None if best is None else (best[1], best[0])


# -- words -------------------------------------------------------------------------------------
def _judge(left: Sequence[WallLeft], safe: float | None, gaps: Mapping[str, Any], gain: float) -> tuple[str, Line]:
    thin = min(left, key=lambda w: w.chance, default=None)
    if thin is not None and thin.left.value < thin.minimum.value:
        said = dict(gaps, left=thin.left, place=thin.name, minimum=thin.minimum)
        if safe is None:
            return Verdict.STOP, L(
                "Cylinder {n}: no centre was found that cleans up and leaves every wall its minimum. "
                "At {clean} only {left} would be left at {place}; the minimum is {minimum}.",
                **said,
            )
        return Verdict.MAYBE, L(
            "Cylinder {n} cleans up at {clean}, but that leaves only {left} at {place}, under the minimum of {minimum}. "
            "Another centre spares the wall and needs {safe}.",
            **said,
            safe=Qty(safe, "size"),
        )
    if gain < 2 * NOTHING_MM:
        return Verdict.GO, L("Cylinder {n} cleans up at {clean}, and the spindle stands right for it.", **gaps)
    return Verdict.INFO, L(
        "Cylinder {n} cleans up at {clean} once the spindle moves {where}. Where it stands now it would take {here}.",
        **gaps,
    )


def _why(
    best,
    touching,
    unworn_ring,
    unworn_centre,
    on_unworn,
    clean,
    allowance,
    full,
    set_over,
    lean,
    length_mm,
    safe,
    safe_centre,
):
    places = tuple(
        L("{depth} down at {direction}", depth=Qty(r.depth_mm, "place"), direction=compass(r.angle_deg))
        for r in touching
    )
    yield L("The cut is held by the wall at these places: {places}.", places=places)
    yield L(
        "Centred on the bore as it is {depth} down, it would take {size}.",
        depth=Qty(unworn_ring.depth_mm, "place"),
        size=Qty(on_unworn, "size"),
    )
    if math.hypot(*unworn_centre) >= 2 * NOTHING_MM:
        yield L("From the spindle, the centre of the bore at that depth lies {where}.", where=toward(*unworn_centre))
    if set_over is not None:
        off = math.hypot(-unworn_centre[0] - set_over[0], -unworn_centre[1] - set_over[1])
        yield L(
            "You meant to set the spindle over {meant} from the unworn centre; it is set over {found}, and misses by {off}.",
            meant=toward(*set_over),
            found=toward(-unworn_centre[0], -unworn_centre[1]),
            off=Qty(off, "diff"),
        )
    if allowance > 0.0005:
        yield L(
            "Between the readings the wall may stand out by up to {more} more on the diameter.",
            more=Qty(allowance, "diff"),
        )
    if len(full) > 1:
        drift = (full[-1].circle.x_mm - full[0].circle.x_mm, full[-1].circle.y_mm - full[0].circle.y_mm)
        if math.hypot(*drift) >= 2 * NOTHING_MM:
            yield L(
                "From the highest to the lowest depth swept, the middle of the bore drifts {where}: lean, one-sided wear, or both.",
                where=toward(*drift),
            )
    if safe is not None:
        yield L("To spare the walls, move the spindle {where} instead.", where=toward(*safe_centre))


def _figures(clean, u, read, allowance, here, on_unworn, centre, u_centre, full, left, safe) -> tuple[Figure, ...]:
    out = [
        Figure("clean", L("Clean-up diameter about the best centre"), Qty(clean, "size", u)),
        Figure("read", L("The same from the readings alone"), Qty(read, "size")),
        Figure("allowance", L("What may stand out between the readings, on the diameter"), Qty(allowance, "diff")),
        Figure("here", L("Clean-up diameter where the spindle stands now"), Qty(here, "size")),
        Figure("unworn", L("Clean-up diameter centred on the unworn bore"), Qty(on_unworn, "size")),
        Figure("front", L("Move the spindle toward the front"), Qty(centre[0], "deviation", u_centre)),
        Figure("left", L("Move the spindle toward the left"), Qty(centre[1], "deviation", u_centre)),
    ]
    for i, r in enumerate(full, 1):
        out.append(
            Figure(
                f"round.{i}",
                L("Out of round {depth} down, on the radius", depth=Qty(r.depth_mm, "place")),
                Qty(r.zone_mm, "diff"),
            )
        )
    for i, w in enumerate(left, 1):
        out.append(Figure(f"wall.{i}", L("Wall left at {place}", place=w.name), w.left))
        out.append(
            Figure(
                f"most.{i}", L("Largest cut that leaves the minimum at {place}", place=w.name), Qty(w.most_mm, "size")
            )
        )
        out.append(
            Figure(
                f"offset.{i}",
                L("The cut may still move toward {place} by", place=w.name),
                Qty(w.offset_mm, "deviation"),
            )
        )
    if safe is not None:
        out.append(Figure("safe", L("Clean-up diameter about the centre that spares the walls"), Qty(safe, "size")))
    return tuple(out)


def _assumptions(zero, u_zero, u_reading, u_centring, full, lean, length, unworn) -> tuple[Assumption, ...]:
    few = min(full, key=lambda r: r.waves)
    out = [
        Assumption(
            L(
                "The indicator reads zero at a diameter of {zero}, known to {u}.",
                zero=Qty(zero, "size"),
                u=Qty(u_zero, "fine"),
            ),
            "entered or from the bore gauge",
        ),
        Assumption(
            L("One reading is known to {u} (one standard deviation).", u=Qty(u_reading, "fine")),
            "entered or common practice",
        ),
        Assumption(
            L(
                "Between the readings the wall is smooth, with no more than {waves} waves round the bore.",
                waves=few.waves,
            )
        ),
        Assumption(L("The cut stands square to the top face, as the spindle did during the sweep.")),
    ]
    if u_centring:
        out.append(
            Assumption(
                L("The spindle can be moved to within {u} (one standard deviation).", u=Qty(u_centring, "fine")),
                "entered or common practice",
            )
        )
    if lean is not None and length is not None:
        out.append(
            Assumption(L("Beyond the depths swept the bore is as worn as the nearest of them and square to the crank."))
            if unworn is None
            else Assumption(
                L("Beyond the depths swept the bore is {size} and square to the crank.", size=Qty(unworn, "size"))
            )
        )
    else:
        out.append(Assumption(L("Nothing beyond the depths swept needs a larger cut.")))
    return tuple(out)


_PARTS = {
    "readings": L("Sweep readings"),
    "zero": L("Diameter at the indicator's zero"),
    "between": L("The wall between the readings"),
    "lean": L("Lean of the face beyond the depths swept"),
    "centring": L("Moving the spindle to the best centre"),
}


def _influences(parts: Mapping[str, float], u: float) -> tuple[Influence, ...]:
    ranked = sorted(((v * v / (u * u), k) for k, v in parts.items() if v > 0), reverse=True) if u else []
    return tuple(Influence(_PARTS[k], share) for share, k in ranked)


def _cautions(n, full, left, safe, on_unworn, clean) -> tuple[Caution, ...]:
    out = []
    if any(r.waves < 3 for r in full):
        out.append(
            Caution(
                f"sweep.few.{n}",
                L(
                    "Cylinder {n}: with fewer than eight readings round the bore a low place can hide between them. Take eight or twelve.",
                    n=n,
                ),
            )
        )
    if len(full) == 1:
        out.append(
            Caution(
                f"sweep.one_depth.{n}",
                L(
                    "Cylinder {n} was swept at one depth only. Sweep near the top of ring travel, in the middle and below ring travel.",
                    n=n,
                ),
            )
        )
    if any(w.chance < 0.95 for w in left):
        out.append(
            Caution(
                f"sweep.wall.{n}",
                L(
                    "Cylinder {n}: measure the thin wall again, in several places and heights, before you choose this centre.",
                    n=n,
                ),
            )
        )
    if on_unworn - clean > 0.02:
        out.append(
            Caution(
                f"sweep.offset.{n}",
                L(
                    "Cylinder {n}: the best centre lies off the unworn bore. Check the maker's limit for the bore's position before you move it.",
                    n=n,
                ),
            )
        )
    return tuple(out)


# -- picture -------------------------------------------------------------------------------------
def picture(swept: Swept) -> SweepRing:
    """The ring that holds the cut (the nearest one swept), with its fitted circle and the proposed cut."""
    ring = min(swept.rings, key=lambda r: abs(r.depth_mm - swept.governing.depth_mm))
    mean = ring.circle.radius_mm
    deep = Qty(ring.depth_mm, "place")
    radius = ring.circle.nominal_mm
    return SweepRing(
        title=L("Cylinder {n}, {depth} down, seen from above", n=swept.cylinder, depth=deep),
        text=L(
            "Cylinder {n}, {depth} down: mean bore {mean}, out of round {zone} on the radius. Proposed cut {clean}; for it, move the spindle {where}.",
            n=swept.cylinder,
            depth=deep,
            mean=Qty(2 * mean, "size"),
            zone=Qty(ring.zone_mm, "diff"),
            clean=swept.value,
            where=toward(*swept.centre_mm),
        ),
        points=tuple((a, radius + d - mean) for a, d in zip(ring.angles_deg, ring.deviations_mm)),
        mean_radius_mm=mean,
        fit_centre_mm=(ring.circle.x_mm, ring.circle.y_mm),
        fit_radius_mm=0.0,
        cut_centre_mm=swept.centre_mm,
        cut_radius_mm=swept.clean_mm / 2 - mean,
        walls=tuple((w.angle_deg, w.left.value) for w in swept.walls),
    )
