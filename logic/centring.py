"""The best centre for the spindle and the smallest cut that cleans the bore, from swept readings.

The readings of one depth and angle make wall points p_i. The spindle stands square to
the top face and so does the cut, so the readings of all depths are seen along the axis
on top of each other: the smallest circle round all of them
(:func:`logic.circles.minimum_circumscribed`) is the smallest cut that cleans the bore,
and its centre is the best place for the spindle: D_clean = 2 max |p_i − c|.

Frame: from the spindle's axis, first coordinate to the front of the engine, second to
the left.

Lean. Readings from a spindle that stands on a leaning face hold the lean already,
between the highest and the lowest depth swept. Beyond them, to both ends of the bore,
the nearest ring is carried on, shifted by the face's lean (a bore that was square to
the crank departs from the cut by as much). It is taken as worn as the ring it was
copied from, unless the unworn size is known.

Where the curve laid through a ring (:mod:`logic.sweep_readings`) stands out beyond
every reading the excess is an allowance, rectangular from nothing to the whole of it.
Fewer than five readings cannot show that a bore is oval; a fixed allowance stands in.

Centring. What a spindle that misses the best centre adds, and how surely the readings hold
the cut: :mod:`logic.sweep_held`.

Uncertainty: first order by JCGM 100:2008 for readings and zero, the two-sided change
of D_clean for the lean. The tests repeat it by Monte Carlo (JCGM 101:2008).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from .circles import Circle, Profile, minimum_circumscribed
from .placing import Part
from .sweep_held import held_by, missed_mm
from .sweep_readings import (
    UNSEEN_OVAL_MM,
    Reading,
    Ring,
    between_mm,
    finite,
    grouped_mm,
    ring_of,
    round_table,
    unit_vector,
)
from .walls import WallPlace, chance_kept

__all__ = ["Centring", "SweepLean", "WallRoom", "centring"]

Pair = tuple[float, float]


class SweepLean(NamedTuple):
    """How a bore cut here would lean over its length: lower end to the rear, to the left, and the doubt of each."""

    along_mm: float
    across_mm: float
    u_along_mm: float
    u_across_mm: float


@dataclass(frozen=True, slots=True)
class WallRoom:
    """One measured wall against a cut: ``left_mm`` of it is left, ``room_mm`` of that over its minimum.

    ``chance`` is the probability that at least the minimum is left.
    """

    place: WallPlace
    left_mm: float
    u_mm: float
    room_mm: float
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Centring:
    """The figures of one swept cylinder; :class:`logic.sweep.Swept` says what they mean.

    ``u_parts_mm`` are the standard uncertainties of ``clean_mm`` by cause.
    ``missed_mm`` is what a missed centre may make of ``clean_mm``, about it.
    ``unworn_ring`` is the ring taken as unworn, about whose centre ``on_unworn_mm`` is
    the clean-up diameter.
    """

    clean_mm: float
    u_mm: float
    u_parts_mm: Mapping[str, float]
    read_mm: float
    allowance_mm: float
    centre_mm: Pair
    u_centre_mm: float
    missed_mm: tuple[Part, ...]
    here_mm: float
    unworn_ring: Ring
    unworn_centre_mm: Pair
    on_unworn_mm: float
    rings: tuple[Ring, ...]
    governing: Reading
    touching: tuple[Reading, ...]
    walls: tuple[WallRoom, ...]
    safe_centre_mm: Pair | None
    safe_mm: float | None


# -- wall points ------------------------------------------------------------------------
class _Point(NamedTuple):
    """A wall point: where it is from the spindle, the reading it comes from, and its lever on the lean."""

    x: float
    y: float
    reading: Reading
    lever: float


@dataclass(frozen=True, slots=True)
class _Wall:
    """The wall as read about the spindle, and what is known of the bore beyond the depths swept."""

    read_mm: Mapping[float, Mapping[float, float]]  # deviation by depth and angle
    rings: Sequence[Ring]
    radius_mm: float
    length_mm: float | None
    unworn_mm: float | None

    def points(self, lean: SweepLean | None) -> list[_Point]:
        """Every wall point read, and the nearest rings carried on to the ends of the bore."""
        out = []
        for depth, ring in self.read_mm.items():
            for angle, d in ring.items():
                c, s = unit_vector(angle)
                r = self.radius_mm + d
                out.append(_Point(r * c, r * s, Reading(depth, angle, d), 0.0))
        if lean is not None and self.length_mm is not None:
            for end, nearest in ((0.0, self.rings[0]), (self.length_mm, self.rings[-1])):
                out += self._carried(nearest, end, lean, self.length_mm)
        return out

    def _carried(self, ring: Ring, end_mm: float, lean: SweepLean, length_mm: float) -> Iterable[_Point]:
        """A ring carried on to one end of the bore; nothing where it lies beyond that end already."""
        lever = (end_mm - ring.depth_mm) / length_mm
        if end_mm * (end_mm - ring.depth_mm) < 0 or lever == 0:
            return
        shift = (lean.along_mm * lever, -lean.across_mm * lever)
        if self.unworn_mm is None and shift == (0.0, 0.0):
            return  # the same points once more say nothing more
        if self.unworn_mm is None:
            carried = [(a, self.radius_mm + d) for a, d in zip(ring.angles_deg, ring.deviations_mm, strict=True)]
            middle = (0.0, 0.0)
        else:
            carried = [(15.0 * k, self.unworn_mm / 2) for k in range(24)]
            middle = (ring.circle.x_mm, ring.circle.y_mm)
        for angle, r in carried:
            c, s = unit_vector(angle)
            place = Reading(end_mm, angle, r - self.radius_mm)
            yield _Point(middle[0] + r * c + shift[0], middle[1] + r * s + shift[1], place, lever)

    def circumscribed(self, lean: SweepLean | None) -> Circle:
        """The smallest circle round the points if the face leans so."""
        return _circumscribed(self.points(lean), self.radius_mm)


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


def _excess(rings: Sequence[Ring], radius: float, centre: Pair, reach: float) -> float:
    """How far any ring's curve stands out beyond ``reach``, seen from ``centre``."""
    worst = 0.0
    x, y = centre
    for ring in rings:
        mean, waves = ring.curve[0], ring.curve[1:]
        for c, s, basis in round_table():
            r = (
                radius + mean + sum(a * b for a, b in zip(waves, basis, strict=False))
            )  # the table holds more waves than most rings
            worst = max(worst, math.hypot(r * c - x, r * s - y) - radius - reach)
        if ring.waves < 2:
            worst = max(worst, UNSEEN_OVAL_MM)
    return worst


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


# -- doubt ------------------------------------------------------------------------------
def _lean_doubt_mm(wall: _Wall, lean: SweepLean | None, deviation_mm: float) -> tuple[float, float]:
    """What the doubt of the lean adds to the clean-up diameter, and its standard uncertainty."""
    more, u = 0.0, 0.0
    if lean is None or wall.length_mm is None:
        return more, u
    base = 2 * deviation_mm
    for along, across in ((lean.u_along_mm, 0.0), (0.0, lean.u_across_mm)):
        up, down = (
            2
            * wall.circumscribed(
                lean._replace(along_mm=lean.along_mm + sign * along, across_mm=lean.across_mm + sign * across)
            ).deviation_mm
            for sign in (1, -1)
        )
        lift = max(0.0, (up + down) / 2 - base)
        more += lift
        u = math.sqrt(u**2 + ((up - down) / 2) ** 2 + lift**2 / 2)
    return more, u


def _swept_wall(
    readings: Sequence[Reading],
    *,
    zero_mm: float,
    u_reading_mm: float,
    outward: bool,
    length_mm: float | None,
    unworn_mm: float | None,
) -> _Wall:
    """The readings as rings. Raises ValueError where they go nowhere round the bore or are impossible."""
    if length_mm is not None and not (math.isfinite(length_mm) and length_mm > 0):
        raise ValueError("the bore's length must be above zero")
    radius = zero_mm / 2
    grouped = grouped_mm(readings, outward=outward)
    if any(d <= -radius for ring in grouped.values() for d in ring.values()):
        raise ValueError("a reading is larger than the bore itself")
    rings = [r for z, ring in grouped.items() if (r := ring_of(z, ring, radius, u_reading_mm))]
    if not rings:
        raise ValueError("no depth has readings all round the bore")
    return _Wall(grouped, rings, radius, length_mm, unworn_mm)


def _check_sound(zero_mm: float, u_zero_mm: float, u_reading_mm: float, u_centring_mm: float) -> None:
    sound = finite(zero_mm, u_zero_mm, u_reading_mm, u_centring_mm) and zero_mm > 0 and u_reading_mm > 0
    if not (sound and min(u_zero_mm, u_centring_mm) >= 0):
        raise ValueError("the zero's diameter and the uncertainties must be above zero")


# -- the best centre ----------------------------------------------------------------------
def centring(
    readings: Sequence[Reading],
    *,
    zero_mm: float,
    u_zero_mm: float,
    u_reading_mm: float,
    u_centring_mm: float = 0.0,
    outward: bool = True,
    unworn_depth_mm: float | None = None,
    lean: SweepLean | None = None,
    length_mm: float | None = None,
    unworn_mm: float | None = None,
    walls: Sequence[WallPlace] = (),
) -> Centring:
    """Best centre and clean-up diameter in figures; :func:`logic.sweep.sweep` tells what is asked for and raised."""
    _check_sound(zero_mm, u_zero_mm, u_reading_mm, u_centring_mm)
    wall = _swept_wall(
        readings,
        zero_mm=zero_mm,
        u_reading_mm=u_reading_mm,
        outward=outward,
        length_mm=length_mm,
        unworn_mm=unworn_mm,
    )
    radius, full = wall.radius_mm, wall.rings
    points = wall.points(lean)
    best = _circumscribed(points, radius)
    centre = (best.x_mm, best.y_mm)
    seen = [(p.x - best.x_mm, p.y - best.y_mm) for p in points]
    held = held_by(seen, u_reading_mm)
    # -- doubt of the diameter, part by part
    allowance = 2 * _excess(full, radius, centre, best.deviation_mm)
    lean_more, u_lean = _lean_doubt_mm(wall, lean, best.deviation_mm)
    missed = missed_mm(seen, u_centring_mm)
    parts = {
        "readings": 2 * u_reading_mm * held.radius,
        "zero": u_zero_mm,
        "between": math.hypot(allowance / math.sqrt(12), 2 * max(r.form_mm for r in full)),
        "lean": u_lean,
        "centring": 2 * missed.u_mm,
    }
    u = math.sqrt(math.fsum(v * v for v in parts.values()))
    read = zero_mm + 2 * best.deviation_mm
    still = allowance / 2 + lean_more  # what a spindle that stays where it is must add
    more = still + 2 * missed.mean_mm
    clean = read + more
    # -- other centres
    unworn_ring = _unworn_ring(full, unworn_depth_mm)
    unworn_centre = (unworn_ring.circle.x_mm, unworn_ring.circle.y_mm)
    radial = (v / 2 for part, v in parts.items() if part != "centring")
    u_wall = math.hypot(u_centring_mm, *radial)  # a missed centre moves the whole cut
    left = tuple(_wall_room(w, full, radius, centre, clean, u_wall) for w in walls)
    too_thin = any(w.room_mm < 0 for w in left)
    safe = _spare_the_walls(points, radius, centre, walls, full, more / 2) if too_thin else None
    return Centring(
        clean_mm=clean,
        u_mm=u,
        u_parts_mm=parts,
        read_mm=read,
        allowance_mm=allowance,
        centre_mm=centre,
        u_centre_mm=held.centre * u_reading_mm,
        missed_mm=tuple(Part(p.share, 2 * p.low_mm, 2 * p.high_mm) for p in missed.parts),
        here_mm=zero_mm + 2 * _reach(points, radius, (0.0, 0.0)) + still,
        unworn_ring=unworn_ring,
        unworn_centre_mm=unworn_centre,
        on_unworn_mm=zero_mm + 2 * _reach(points, radius, unworn_centre) + more,
        rings=tuple(full),
        governing=_governing(points, held.weights),
        touching=_touching(points, best),
        walls=left,
        safe_centre_mm=None if safe is None else safe[0],
        safe_mm=None if safe is None else zero_mm + 2 * safe[1] + more,
    )


def _touching(points: Sequence[_Point], circle: Circle) -> tuple[Reading, ...]:
    """The readings that the circle rests on, from the top down."""
    return tuple(sorted((points[i].reading for i in circle.touching), key=lambda r: (r.depth_mm, r.angle_deg)))


def _governing(points: Sequence[_Point], weights: Sequence[float]) -> Reading:
    """The reading that moves the circle most; of those that do so alike the highest, then the first round the bore."""
    most = max(weights)
    alike = (p.reading for p, w in zip(points, weights, strict=True) if w >= most - 1e-6)
    return min(alike, key=lambda r: (r.depth_mm, r.angle_deg))


def _unworn_ring(rings: Sequence[Ring], depth_mm: float | None) -> Ring:
    """The ring nearest to where the bore is unworn: the deepest, where nobody says."""
    return rings[-1] if depth_mm is None else min(rings, key=lambda r: abs(r.depth_mm - depth_mm))


# -- walls ----------------------------------------------------------------------------------
def _surface(rings: Sequence[Ring], angle_deg: float) -> tuple[float, float]:
    """The wall's deviation at an angle over all rings, and its doubt (the reading's depth is not known)."""
    values = [between_mm(r, angle_deg) for r in rings]
    return (max(values) + min(values)) / 2, (max(values) - min(values)) / math.sqrt(12)


def _cut_reach(angle_deg: float, centre: Pair, radius: float) -> float:
    """How far a cut about ``centre`` comes out from the spindle's axis at an angle."""
    c, s = unit_vector(angle_deg)
    along, beside = centre[0] * c + centre[1] * s, centre[1] * c - centre[0] * s
    return along + math.sqrt(max(0.0, radius**2 - beside**2))


def _wall_room(
    w: WallPlace, rings: Sequence[Ring], radius: float, centre: Pair, clean: float, u_cut: float
) -> WallRoom:
    """What a cut about ``centre`` leaves of one wall; ``u_cut`` is how well it is known where the cut comes to, from the
    zero, the readings and the setting of the spindle."""
    surface, u_surface = _surface(rings, w.angle_deg)
    outside = radius + surface + w.wall_mm
    left = outside - _cut_reach(w.angle_deg, centre, clean / 2)
    u = math.sqrt(w.u_mm**2 + u_surface**2 + u_cut**2)
    room = left - w.minimum_mm
    return WallRoom(w, left, u, room, chance_kept(left, u, w))


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
        c, s = unit_vector(w.angle_deg)
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
    for v in _corners(rows):
        if (best is None or v[2] < best[0]) and all(
            r[0] * v[0] + r[1] * v[1] + r[2] * v[2] <= r[3] + 1e-9 for r in rows
        ):
            best = v[2], (v[0], v[1])
    return None if best is None else (best[1], best[0])


def _corners(rows: Sequence[tuple[float, float, float, float]]) -> Iterator[list[float]]:
    """Where three of the planes a·v = b meet, for any three that meet in one point."""
    for three in combinations(rows, 3):
        inverse = _inverse([r[:3] for r in three])
        if inverse is not None:
            yield [math.fsum(a * r[3] for a, r in zip(line, three, strict=True)) for line in inverse]
