"""Three reference circles for a measured profile: least squares, circumscribed, zone.

Definitions follow ISO 12181-1:2011 (least-squares, minimum circumscribed and minimum
zone reference circles), applied to the readings as points: nothing is assumed about the
wall between two readings.

A profile is held as positions *and* as ``w = |p|² - R²`` about a nominal radius R, so
the distance of a point from a moved centre, less R, is

    (w - 2 p·c + |c|²) / (√(R² + w - 2 p·c + |c|²) + R)

with no difference of two nearly equal lengths in it. A deviation of 0.1 µm on a 40 mm
radius keeps its full precision.

Methods: Gauss-Newton with damping for least squares; exchange of support points (two
or three readings carry the circle) for the circumscribed one; for the zone circles the
vertices of the nearest- and farthest-reading cells round the least-squares centre are
enumerated. On each cell the zone width is a quasi-concave function of the centre, so the
best centre is a vertex and the enumeration misses nothing. Few hundred readings at most: the work grows
as their number squared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

__all__ = [
    "Circle",
    "Profile",
    "least_squares",
    "minimum_circumscribed",
    "minimum_zone",
]

Pair = tuple[float, float]
_TOUCH = 1e-11  # of the radius: a reading this close to a circle touches it


@dataclass(frozen=True, slots=True)
class Profile:
    """Readings round a bore. Make one with :meth:`around` or :meth:`through`.

    ``points`` are (x, y) in mm from ``origin``, ``w`` their ``|p|² - radius²`` in mm².
    """

    points: tuple[Pair, ...]
    w: tuple[float, ...]
    radius_mm: float
    origin: Pair = (0.0, 0.0)

    @classmethod
    def around(cls, angles_deg: Sequence[float], deviations_mm: Sequence[float], radius_mm: float) -> Profile:
        """Readings taken about a spindle: at each angle, the wall's distance less ``radius_mm``.

        Raises ValueError for fewer than two different readings, unequal lengths, a
        radius that is not positive, or a wall at or behind the spindle.
        """
        if len(angles_deg) != len(deviations_mm):
            raise ValueError("as many angles as deviations are needed")
        if not (math.isfinite(radius_mm) and radius_mm > 0):
            raise ValueError("the nominal radius must be a positive length")
        points, w = [], []
        for angle, d in zip(angles_deg, deviations_mm, strict=False):
            if not (math.isfinite(angle) and math.isfinite(d)):
                raise ValueError("angles and deviations must be finite numbers")
            if radius_mm + d <= 0:
                raise ValueError("a deviation is larger than the radius itself")
            a = math.radians(angle % 360.0)
            points.append(((radius_mm + d) * math.cos(a), (radius_mm + d) * math.sin(a)))
            w.append(d * (2 * radius_mm + d))
        return _checked(cls(tuple(points), tuple(w), radius_mm))

    @classmethod
    def through(cls, points: Iterable[Pair]) -> Profile:
        """Readings as (x, y) points in mm. The nominal radius is their mean distance from their mean.

        Raises ValueError for fewer than two different points or one that is not finite.
        """
        given = _finite(points)
        n = len(given)
        ox, oy = math.fsum(x for x, _ in given) / n, math.fsum(y for _, y in given) / n
        near = tuple((x - ox, y - oy) for x, y in given)
        reach = [math.hypot(x, y) for x, y in near]
        radius = math.fsum(reach) / n
        w = tuple((r - radius) * (r + radius) for r in reach)
        return _checked(cls(near, w, radius, (ox, oy)))

    def __len__(self) -> int:
        return len(self.points)

    def deviation(self, i: int, x: float, y: float) -> float:
        """Distance of reading ``i`` from the centre (x, y) about the origin, less the nominal radius."""
        px, py = self.points[i]
        q = self.w[i] - 2 * (px * x + py * y) + x * x + y * y
        square = self.radius_mm**2
        if q < -0.5 * square:  # close to the centre itself: nothing left to gain
            return math.hypot(px - x, py - y) - self.radius_mm
        return q / (math.sqrt(square + q) + self.radius_mm)

    def deviations(self, x: float, y: float) -> list[float]:
        """:meth:`deviation` of every reading, in their order."""
        return [self.deviation(i, x, y) for i in range(len(self.points))]

    def moved(self, x: float, y: float, deviation: float) -> Profile:
        """The same readings about the centre (x, y) and the radius ``radius_mm + deviation``."""
        r = self.radius_mm
        return Profile(
            tuple((px - x, py - y) for px, py in self.points),
            tuple((d - deviation) * (2 * r + d + deviation) for d in self.deviations(x, y)),
            r + deviation,
            (self.origin[0] + x, self.origin[1] + y),
        )


@dataclass(frozen=True, slots=True)
class Circle:
    """A reference circle. Lengths in mm; the centre is in the readings' own frame.

    ``deviation_mm`` is the radius less the profile's nominal radius (full precision);
    ``local_mm`` are the readings' distances from the circle, positive outside it;
    ``touching`` are the readings that carry the circle (none for least squares).
    ``inner_mm`` and ``outer_mm`` are the deviations of the two circles of a minimum
    zone from the nominal radius, whose middle is ``deviation_mm``.
    """

    x_mm: float
    y_mm: float
    deviation_mm: float
    nominal_mm: float
    local_mm: tuple[float, ...]
    touching: tuple[int, ...] = ()

    @property
    def radius_mm(self) -> float:
        return self.nominal_mm + self.deviation_mm

    @property
    def inner_mm(self) -> float:
        return self.deviation_mm + min(self.local_mm)

    @property
    def outer_mm(self) -> float:
        return self.deviation_mm + max(self.local_mm)

    @property
    def zone_mm(self) -> float:
        """Peak-to-valley roundness deviation from this circle (RONt of ISO 12181-1)."""
        return max(self.local_mm) - min(self.local_mm)


def _circle(p: Profile, x: float, y: float, deviation: float, touching: Iterable[int] = ()) -> Circle:
    local = tuple(d - deviation for d in p.deviations(x, y))
    return Circle(p.origin[0] + x, p.origin[1] + y, deviation, p.radius_mm, local, tuple(sorted(touching)))


# -- least squares ---------------------------------------------------------------------


def _refuse_a_line(p: Profile) -> None:
    n = len(p)
    mx, my = math.fsum(x for x, _ in p.points) / n, math.fsum(y for _, y in p.points) / n
    sxx = math.fsum((x - mx) ** 2 for x, _ in p.points)
    syy = math.fsum((y - my) ** 2 for _, y in p.points)
    sxy = math.fsum((x - mx) * (y - my) for x, y in p.points)
    half, root = (sxx + syy) / 2, math.hypot((sxx - syy) / 2, sxy)
    if len(set(p.points)) < 3 or half - root <= 1e-18 * (half + root) or sxx * syy - sxy * sxy <= 1e-14 * half**2:
        raise ValueError("the readings lie on one line: no circle can be laid through them")


def _damped_step(profile: Profile, centre: Pair, off: Sequence[float], damp: float) -> Pair | None:
    """One step of Gauss and Newton from a centre that leaves each reading ``off`` the mean radius; None where none is to be had."""
    n, (x, y) = len(profile), centre
    e = [_direction(px - x, py - y) for px, py in profile.points]
    mx, my = math.fsum(a for a, _ in e) / n, math.fsum(b for _, b in e) / n
    sxx = math.fsum((a - mx) ** 2 for a, _ in e)
    syy = math.fsum((b - my) ** 2 for _, b in e)
    sxy = math.fsum((a - mx) * (b - my) for a, b in e)
    gx = math.fsum((a - mx) * v for (a, _), v in zip(e, off, strict=True))
    gy = math.fsum((b - my) * v for (_, b), v in zip(e, off, strict=True))
    return _two_by_two(sxx + damp * n, sxy, syy + damp * n, gx, gy)


def _two_by_two(a: float, b: float, c: float, p: float, q: float) -> Pair | None:
    """Solve [[a, b], [b, c]] s = [p, q]; None if it cannot be solved."""
    det = a * c - b * b
    if det <= 1e-18 * (a + c) ** 2:
        return None
    return (p * c - b * q) / det, (a * q - b * p) / det


def _algebraic(p: Profile) -> Pair:
    """Centre by the linear fit of 2 p·c + k = w: a start that is good even for an arc."""
    n = len(p)
    mx, my = math.fsum(x for x, _ in p.points) / n, math.fsum(y for _, y in p.points) / n
    mw = math.fsum(p.w) / n
    rows = [(x - mx, y - my, (w - mw) / 2) for (x, y), w in zip(p.points, p.w, strict=False)]
    return _two_by_two(
        math.fsum(a * a for a, _, _ in rows),
        math.fsum(a * b for a, b, _ in rows),
        math.fsum(b * b for _, b, _ in rows),
        math.fsum(a * c for a, _, c in rows),
        math.fsum(b * c for _, b, c in rows),
    ) or (0.0, 0.0)


def _finite(points: Iterable[Pair]) -> list[Pair]:
    given = [(float(x), float(y)) for x, y in points]
    if not given or not all(math.isfinite(x) and math.isfinite(y) for x, y in given):
        raise ValueError("points must be finite numbers, and there must be some")
    return given


def _checked(profile: Profile) -> Profile:
    if len(set(profile.points)) < 2 or profile.radius_mm <= 0:
        raise ValueError("at least two different readings are needed")
    return profile


def least_squares(profile: Profile) -> Circle:
    """The circle with the least sum of squared distances from the readings (LSCI).

    Raises ValueError if the readings lie on one line or fewer than three differ.
    """
    _refuse_a_line(profile)
    n = len(profile)

    def cost(x: float, y: float) -> tuple[float, float, list[float]]:
        d = profile.deviations(x, y)
        s = math.fsum(d) / n
        return math.fsum((v - s) ** 2 for v in d), s, d

    x, y = _algebraic(profile)
    best, s, d = cost(x, y)
    damp = 0.0
    for _ in range(200):
        step = _damped_step(profile, (x, y), [v - s for v in d], damp)
        if step is None:
            damp = max(1e-6, damp * 10)
            continue
        size = math.hypot(*step)
        new, new_s, new_d = cost(x + step[0], y + step[1])
        if new <= best:
            x, y, best, s, d = x + step[0], y + step[1], new, new_s, new_d
            damp = damp / 10 if damp > 1e-9 else 0.0
        else:
            damp = max(1e-6, damp * 10)
        if size <= 1e-15 * profile.radius_mm:
            break
    return _circle(profile, x, y, s)


def _direction(x: float, y: float) -> Pair:
    r = math.hypot(x, y)
    return (x / r, y / r) if r else (0.0, 0.0)


# -- minimum circumscribed --------------------------------------------------------------


def _smallest(profile: Profile, group: Sequence[int]) -> tuple[float, Pair, tuple[int, ...]] | None:
    """The smallest circle about a few readings: how far it reaches, its centre, and the two or three it rests on."""
    best: tuple[float, Pair, tuple[int, ...]] | None = None
    for subset in (*combinations(group, 2), *combinations(group, 3)):
        c = _midpoint(profile, *subset) if len(subset) == 2 else _circumcentre(profile, *subset)
        if c is None:
            continue
        reach = max(profile.deviation(i, *c) for i in group)
        if best is None or reach < best[0]:
            best = (reach, c, subset)
    return best


def _midpoint(p: Profile, i: int, j: int) -> Pair:
    (ax, ay), (bx, by) = p.points[i], p.points[j]
    return (ax + bx) / 2, (ay + by) / 2


def _circumcentre(p: Profile, i: int, j: int, k: int) -> Pair | None:
    (ax, ay), (bx, by), (cx, cy) = p.points[i], p.points[j], p.points[k]
    ux, uy, vx, vy = bx - ax, by - ay, cx - ax, cy - ay
    det = 2 * (ux * vy - uy * vx)
    if abs(det) <= 1e-14 * (math.hypot(ux, uy) * math.hypot(vx, vy)):
        return None
    f, g = p.w[j] - p.w[i], p.w[k] - p.w[i]
    return (f * vy - g * uy) / det, (g * ux - f * vx) / det


def minimum_circumscribed(profile: Profile) -> Circle:
    """The smallest circle with every reading on or inside it (MCCI).

    Exact: it rests on two readings across a diameter or on three. Readings on one line
    give the circle on the two outermost. ``touching`` are those that carry it.
    """
    base: tuple[int, ...] = (0,)
    x, y = profile.points[0]
    radius = -math.inf  # deviation of the circle so far
    while True:
        far, _worst = max(enumerate(profile.deviations(x, y)), key=lambda iv: iv[1])
        if far in base:
            break
        best = _smallest(profile, (*base, far))
        if best is None or best[0] <= radius:  # no gain left above rounding
            break
        radius, (x, y), base = best
    deviations = profile.deviations(x, y)
    radius = max(deviations)
    return _circle(profile, x, y, radius, base)


# -- zone: cells of nearest and farthest readings -----------------------------

Polygon = list[Pair]


def _clip(polygon: Polygon, nx: float, ny: float, b: float) -> Polygon:
    """The part of a convex polygon with n·c <= b."""
    side = [nx * x + ny * y - b for x, y in polygon]
    if max(side) <= 0:
        return polygon
    out: Polygon = []
    for k, (x, y) in enumerate(polygon):
        here, there = side[k - 1], side[k]
        if (here > 0) != (there > 0):
            px, py = polygon[k - 1]
            t = here / (here - there)
            out.append((px + t * (x - px), py + t * (y - py)))
        if there <= 0:
            out.append((x, y))
    return out


def _shared(cell: Polygon, other: Polygon) -> Polygon:
    """What two convex polygons have in common."""
    shared = cell
    for (ax, ay), (bx, by) in zip(other, other[1:] + other[:1], strict=False):
        if (ax, ay) != (bx, by):
            shared = _clip(shared, by - ay, ax - bx, (by - ay) * ax - (bx - ax) * ay)
            if not shared:
                break
    return shared


def _cells(p: Profile, order: Sequence[int], start: Polygon, sign: int) -> dict[int, Polygon]:
    """For each reading, the centres it is nearest to (sign 1) or farthest from (sign -1)."""
    cells: dict[int, Polygon] = {}
    for i in order:
        (ax, ay), aw = p.points[i], p.w[i]
        cell = start
        for j in order:
            if j == i:
                continue
            bx, by = p.points[j]
            cell = _clip(cell, sign * 2 * (bx - ax), sign * 2 * (by - ay), sign * (p.w[j] - aw))
            if not cell:
                break
        else:
            cells[i] = cell
    return cells


def _half_gap(p: Profile) -> float:
    """Half the largest angle (radians) between neighbouring readings seen from the origin."""
    angles = sorted(math.atan2(y, x) for x, y in p.points)
    gaps = [b - a for a, b in pairwise(angles)] + [angles[0] + 2 * math.pi - angles[-1]]
    return max(gaps) / 2


def _centred(profile: Profile) -> tuple[Profile, float]:
    """The profile about its least-squares centre, duplicates dropped, and the half gap."""
    fit = least_squares(profile)
    p = profile.moved(fit.x_mm - profile.origin[0], fit.y_mm - profile.origin[1], fit.deviation_mm)
    seen: dict[Pair, float] = {}
    for point, w in zip(p.points, p.w, strict=False):
        seen.setdefault(point, w)
    p = Profile(tuple(seen), tuple(seen.values()), p.radius_mm, p.origin)
    gap = _half_gap(p)
    if gap >= math.pi / 2 * (1 - 1e-12):
        raise ValueError("the readings do not go round the bore: half of it or more has none")
    return p, gap


def _box(p: Profile, half: float) -> Polygon:
    """A square of centres of this half width, cut down to the readings' own extent."""
    xs, ys = [x for x, _ in p.points], [y for _, y in p.points]
    x0, x1 = max(min(xs), -half), min(max(xs), half)
    y0, y1 = max(min(ys), -half), min(max(ys), half)
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _reach(excess: Callable[[float], float], top: float) -> float:
    """The t at which an increasing ``excess`` passes zero, a little over; ``top`` if it does not by then."""
    low, high = 0.0, top * 1e-9
    while excess(high) < 0:
        low, high = high, high * 2
        if high >= top:
            return top
    for _ in range(60):
        mid = (low + high) / 2
        low, high = (mid, high) if excess(mid) < 0 else (low, mid)
    return high * (1 + 1e-9) + 1e-12 * top


def minimum_zone(profile: Profile) -> Circle:
    """The middle of the two concentric circles, closest together, that enclose every reading (MZCI).

    ``zone_mm`` is their radial separation. Raises ValueError if the readings lie on one
    line or leave half the bore or more without a reading.
    """
    p, gap = _centred(profile)
    d = p.deviations(0.0, 0.0)
    low, high = min(d), max(d)
    width, r0, r1, k = high - low, p.radius_mm + low, p.radius_mm + high, math.cos(gap)
    tolerance = _TOUCH * p.radius_mm

    def middle(local: list[float]) -> tuple[float, list[int]]:
        a, b = min(local), max(local)
        return (a + b) / 2, [j for j, v in enumerate(local) if v <= a + tolerance or v >= b - tolerance]

    if width <= 1e-14 * p.radius_mm:  # round already, to the last digit
        return _back(profile, p, (0.0, 0.0), middle)

    def excess(t: float) -> float:
        # Moved by t, some reading lies ahead within the half gap and another behind: the
        # zone is at least this much wider than the one about the least-squares centre.
        back = math.sqrt(r0 * r0 + 2 * r0 * t * k + t * t)
        front = max(math.sqrt(r * r - 2 * r * t * k + t * t) for r in (r0, r1))
        return back - front - width

    half = _reach(excess, 4 * r1)
    order = sorted(range(len(p)), key=d.__getitem__)
    start = _box(p, half)
    nearest = _cells(p, order, start, 1)
    farthest = [(j, cell, _bounds(cell)) for j, cell in _cells(p, order[::-1], start, -1).items()]
    best, centre = width, (0.0, 0.0)
    for i, cell in nearest.items():
        cell_bounds = _bounds(cell)
        for j, other, other_bounds in farthest:
            if not _meet(cell_bounds, other_bounds):
                continue
            for x, y in _shared(cell, other):
                zone = p.deviation(j, x, y) - p.deviation(i, x, y)
                if zone < best:
                    best, centre = zone, (x, y)
    return _back(profile, p, centre, middle)


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Whether two boxes, each by its bounds, have a point in common."""
    (x0, y0, x1, y1), (a0, b0, a1, b1) = one, other
    return a0 <= x1 and a1 >= x0 and b0 <= y1 and b1 >= y0


def _bounds(cell: Polygon) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in cell], [y for _, y in cell]
    return min(xs), min(ys), max(xs), max(ys)


def _back(
    profile: Profile, p: Profile, centre: Pair, settle: Callable[[list[float]], tuple[float, list[int]]]
) -> Circle:
    """A centre found about the least-squares centre, as a circle of the profile itself."""
    x = p.origin[0] - profile.origin[0] + centre[0]
    y = p.origin[1] - profile.origin[1] + centre[1]
    local = profile.deviations(x, y)
    deviation, touching = settle(local)
    return _circle(profile, x, y, deviation, touching)
