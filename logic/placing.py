"""The cut that cleans a bore, where the bar may stand elsewhere than meant.

Seen from where the bar is meant to stand, the wall in direction n needs a cut of diameter
N(n). A bar that misses the place by e needs 2 e·n less there, so the cut has to be

    max over n of N(n) − 2 e·n,   and at least D0 + 2 |m + e| for an unworn end,

m being how far from it the bar is meant to stand there.

e is normal in two dimensions. Where one wall stands well beyond the others the result is
normal as well. Where walls on several sides need about as much it is one-sided: no miss
helps. It is then taken at a fixed set of misses of equal probability (at each the greatest
of uncertain readings by Clark's moments), and given as a few rectangular parts that have
the set's mean and spread.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from .uncertainty import normal_cdf, normal_quantile

__all__ = ["Part", "Placed", "Wall", "greatest", "parts_of", "placed", "standard_misses"]

#: Misses of equal probability stand for all: so many lengths, each in so many directions.
LENGTHS, DIRECTIONS = 12, 8
MISSES = LENGTHS * DIRECTIONS
#: From one length to the next the directions turn by this part of their spacing.
_STAGGER = (math.sqrt(5) - 1) / 2
#: How the sorted misses are divided, smallest cut first.
SHARES = (1 / 12, 1 / 12, 1 / 6, 1 / 6, 1 / 6, 1 / 6, 1 / 12, 1 / 12)
#: No miss is longer, in standard deviations: a wall that falls short by what two such misses change has no say.
_REACH = 2.8
#: From here on (and wholly one standard deviation further) the greatest need is taken to stand alone.
_ALONE = 2.0
_ROOT_2PI = math.sqrt(2 * math.pi)


#: A place across the bore, mm.
Pair = tuple[float, float]
#: The most that is needed in a direction, and how far the bar is meant to stand off the unworn bore's axis there.
_Need = tuple[float, Pair]
#: A direction (x, y), and what the wall there needs.
_Way = tuple[float, float, float]
#: Between two known walls so many steps are looked at, and beside the one that needs most those so many steps away.
BETWEEN, BESIDE = 24, (-5, -1, 0, 1, 5)
#: It is looked for in steps of so many first.
COARSE = 4


class Wall(NamedTuple):
    """One reading: the cut its wall needs in direction (x, y), ``need_mm``, and across from there, ``across_mm``.

    Both share the one error of the reading, ``u_mm`` on the cut. ``moved_mm`` is how far the bar is meant to stand from the
    unworn bore's axis at that depth, which is in both.
    """

    x: float
    y: float
    need_mm: float
    across_mm: float
    u_mm: float
    moved_mm: Pair = (0.0, 0.0)


class Part(NamedTuple):
    """A share of the misses, for which the cut lies evenly from ``low_mm`` to ``high_mm``."""

    share: float
    low_mm: float
    high_mm: float


class Placed(NamedTuple):
    """The cut needed: ``parts`` blurred by ``u_mm``.

    The part ``plain`` of it (1: all) is normal about ``mean_mm``, with ``plain_u_mm`` for everything.
    """

    plain: float
    mean_mm: float
    plain_u_mm: float
    u_mm: float
    parts: tuple[Part, ...]


def greatest(candidates: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean and standard deviation of the greatest of independent normals (Clark 1961)."""
    ranked = sorted(candidates, reverse=True)
    mean, sd = ranked[0]
    for m, s in ranked[1:]:
        a = math.hypot(sd, s)
        if mean - m > 5 * a or a == 0.0:
            continue
        gap = (mean - m) / a
        up = normal_cdf(gap)
        density = math.exp(-0.5 * gap * gap) / _ROOT_2PI
        # moments counted from m, which keeps the figures small
        first = (mean - m) * up + a * density
        second = ((mean - m) ** 2 + sd**2) * up + s**2 * (1 - up) + (mean - m) * a * density
        mean, sd = m + first, math.sqrt(max(0.0, second - first * first))
    return mean, sd


@lru_cache(maxsize=1)
def standard_misses() -> tuple[tuple[float, float], ...]:
    """Misses of equal probability for a standard deviation of one each way.

    The lengths are the means of a Rayleigh distribution over bands of equal probability;
    the directions of one length stand between those of the next.
    """

    def below(r: float) -> float:  # the integral of r² exp(−r²/2)
        tail = 0.0 if math.isinf(r) else r * math.exp(-0.5 * r * r)
        return math.sqrt(math.pi / 2) * math.erf(r / math.sqrt(2)) - tail

    edges = [math.sqrt(-2 * math.log(1 - i / LENGTHS)) for i in range(LENGTHS)] + [math.inf]
    out = []
    for i, (a, b) in enumerate(pairwise(edges)):
        r = (below(b) - below(a)) * LENGTHS
        turned = (i * _STAGGER) % 1.0
        angles = [(k + turned) * 2 * math.pi / DIRECTIONS for k in range(DIRECTIONS)]
        out += [(r * math.cos(a), r * math.sin(a)) for a in angles]
    return tuple(out)


@lru_cache(maxsize=1)
def _normal() -> tuple[Part, ...]:
    """The parts of a standard normal."""
    return parts_of([normal_quantile((i + 0.5) / MISSES) for i in range(MISSES)])


def parts_of(ordered: Sequence[float]) -> tuple[Part, ...]:
    """Sorted values of equal probability as rectangular parts of the same mean and spread."""
    out, done = [], 0
    for share in SHARES:
        own = ordered[done : done + round(share * len(ordered))]
        done += len(own)
        mean = math.fsum(own) / len(own)
        half = math.sqrt(3 * math.fsum((x - mean) ** 2 for x in own) / len(own))
        out.append(Part(share, mean - half, mean + half))
    return tuple(out)


def placed(walls: Sequence[Wall], unworn_mm: float, u_mm: Pair, end_mm: Pair = (0.0, 0.0)) -> Placed:
    """The cut that ``walls`` need, in a bore unworn at ``unworn_mm``; ``u_mm`` is the standard deviation of the miss along x
    and along y, ``end_mm`` how far the bar is meant to stand from the middle of the unworn end where that is most."""
    floor_mm = unworn_mm + 2 * math.hypot(*end_mm)
    mean, sd = greatest([*((w.need_mm, w.u_mm) for w in walls), (floor_mm, 0.0)])
    spread = 2 * max(u_mm)
    near = _near(walls, floor_mm, 2 * _REACH * spread)
    sides, between = _sides(near), _between(_sides(walls))
    mean += max(0.0, max((need for *_, need in between), default=0.0) - max((floor_mm, *(w.need_mm for w in walls))))
    plain = (
        1.0
        if spread == 0.0
        else _plain([*(need for need, _ in sides.values()), *(b[2] for b in between)], floor_mm, 2 * spread)
    )
    if plain == 1.0:
        u = _along_mm(near, between, u_mm)
        parts = tuple(Part(p.share, mean + p.low_mm * u, mean + p.high_mm * u) for p in _normal())
        return Placed(plain, mean, math.hypot(sd, u), sd, parts)
    halfway, lines = [*_halfway(sides), *between], _lines(near)
    if len(lines) == 1 and lines[0].one_error and not halfway:
        at = _at_one(lines[0], unworn_mm, end_mm, u_mm)
    else:
        at = [_at(lines, halfway, unworn_mm, end_mm, x * u_mm[0], y * u_mm[1]) for x, y in standard_misses()]
    own = math.sqrt(math.fsum(s * s for _, s in at) / len(at))
    return Placed(plain, mean, math.hypot(sd, _along_mm(near, between, u_mm)), own, parts_of(sorted(m for m, _ in at)))


class _Line(NamedTuple):
    """All the readings of one axis, (x, y) one of its directions: the greatest need that way and the other way.

    Whichever way the bar misses it is the same for all of them, so that their greatest is
    found once. ``one_error`` says that one reading decides both ways.
    """

    x: float
    y: float
    here_mm: float
    here_u_mm: float
    there_mm: float
    there_u_mm: float
    one_error: bool


def _lines(walls: Sequence[Wall]) -> list[_Line]:
    """The readings by axis."""
    axes: dict[tuple[float, float], list[tuple[float, float, float]]] = {}
    for x, y, need, across, u, _ in walls:
        key = (round(x, 9), round(y, 9))
        if key >= (0.0, 0.0):
            axes.setdefault(key, []).append((need, across, u))
        else:
            axes.setdefault((-key[0] or 0.0, -key[1] or 0.0), []).append((across, need, u))
    out = []
    for (x, y), rows in axes.items():
        here, there = greatest([(h, u) for h, _, u in rows]), greatest([(t, u) for _, t, u in rows])
        one_error = max(rows, key=lambda r: r[0]) is max(rows, key=lambda r: r[1])
        out.append(_Line(x, y, *here, *there, one_error))
    return out


def _near(walls: Sequence[Wall], floor_mm: float, reach_mm: float) -> list[Wall]:
    """The readings that can have a say, whichever way the bar misses."""
    least = max((floor_mm, *(w.need_mm - 5 * w.u_mm for w in walls))) - reach_mm
    return [w for w in walls if w.need_mm + 5 * w.u_mm > least]


def _along_mm(walls: Sequence[Wall], between: Sequence[_Way], u_mm: Pair) -> float:
    """What a miss makes of the cut, as a standard deviation, where one direction alone decides."""
    if not walls:
        return 0.0
    x, y, _ = max([*((w.x, w.y, w.need_mm) for w in walls), *between], key=lambda way: way[2])
    return 2 * math.hypot(x * u_mm[0], y * u_mm[1])


def _plain(needs: Sequence[float], floor_mm: float, apart_mm: float) -> float:
    """How nearly one direction alone decides: 1 where all else lies far short of it, in standard deviations ``apart_mm``."""
    if not needs:
        return 0.0
    first, *others = sorted((*needs, floor_mm), reverse=True)
    if floor_mm == first:
        return 0.0
    return min(1.0, max(0.0, (first - others[0]) / apart_mm - _ALONE))


def _at(
    lines: Sequence[_Line],
    halfway: Sequence[_Way],
    unworn_mm: float,
    end_mm: Pair,
    ex: float,
    ey: float,
) -> tuple[float, float]:
    """The cut needed if the bar misses its place by (ex, ey), and its standard deviation from the readings."""
    most, own, first = unworn_mm + 2 * math.hypot(end_mm[0] + ex, end_mm[1] + ey), 0.0, 0
    rows = [(most, own)]
    tx, ty = 2 * ex, 2 * ey
    # run a thousand times for a verdict: hence no call where a comparison does
    for x, y, here, u_here, there, u_there, one_error in lines:
        t = tx * x + ty * y
        one, other = here - t, there + t
        if one > other or not one_error:
            if one > most:
                most, own, first = one, u_here, len(rows)
            rows.append((one, u_here))
        if other >= one or not one_error:
            if other > most:
                most, own, first = other, u_there, len(rows)
            rows.append((other, u_there))
    mean, sd = most, own
    for i, (need, u) in enumerate(rows):
        if need > most - 5 * (own + u) and i != first:
            mean, sd = greatest(rows)
            break
    for x, y, need in halfway:
        over = need - tx * x - ty * y - most
        if over > 0.0:
            mean, most = mean + over, most + over
    return mean, sd


def _at_one(line: _Line, unworn_mm: float, end_mm: Pair, u_mm: Pair) -> list[Pair]:
    """What :func:`_at` finds for each miss where all that was read is one reading, as in the quick check."""
    x, y, here, u_here, there, u_there, _ = line
    (ux, uy), out = u_mm, []
    for mx, my in standard_misses():
        ex, ey = mx * ux, my * uy
        t = 2 * (ex * x + ey * y)
        ends = unworn_mm + 2 * math.hypot(end_mm[0] + ex, end_mm[1] + ey)
        need, u = (here - t, u_here) if here - t > there + t else (there + t, u_there)
        if abs(need - ends) < 5 * u:
            out.append(greatest([(ends, 0.0), (need, u)]))
        else:
            out.append((need, u) if need > ends else (ends, 0.0))
    return out


def _neighbours(sides: Mapping[Pair, _Need]) -> Iterator[tuple[Pair, Pair]]:
    """Each known direction with the next, where no more than a quarter of a turn lies between them."""
    turn = sorted(sides, key=lambda s: math.atan2(s[1], s[0]))
    for one, two in zip(turn, [*turn[1:], *turn[:1]], strict=True):
        if one != two and one[0] * two[0] + one[1] * two[1] > -1e-6:
            yield one, two


def _halfway(sides: Mapping[Pair, _Need]) -> list[_Way]:
    """The walls halfway between known ones, and halfway between those and them."""
    out = []
    for one, two in _neighbours(sides):
        law = _Oval.between(sides, one, two)
        out += [law.wall(n) for n in (BETWEEN // 4, BETWEEN // 2, 3 * BETWEEN // 4)]
    return out


def _between(sides: Mapping[Pair, _Need]) -> list[_Way]:
    """The wall between two known ones that needs more than either, and those on both sides of it. There is one only where the
    bar is meant to stand over, away from both."""
    out = []
    for one, two in _neighbours(sides):
        (_, moved), (_, also) = sides[one], sides[two]
        if moved[0] * two[0] + moved[1] * two[1] >= 0.0 or also[0] * one[0] + also[1] * one[1] >= 0.0:
            continue  # the need falls from one of them on, or from both
        law = _Oval.between(sides, one, two)
        most = max(range(0, BETWEEN + 1, COARSE), key=law.need)
        most = max(range(max(0, most - COARSE + 1), min(BETWEEN, most + COARSE - 1) + 1), key=law.need)
        if 0 < most < BETWEEN:
            out += [law.wall(n) for n in (most + step for step in BESIDE) if 0 <= n <= BETWEEN]
    return out


@lru_cache(maxsize=16)
def _steps(apart: float) -> tuple[tuple[float, float, float], ...]:
    """For each step from one direction to another this far away, as an angle: how much of each makes up the direction there,
    and the first wall's share of the oval."""
    whole = math.sin(apart)
    parts = [n / BETWEEN for n in range(BETWEEN + 1)]
    return tuple(
        (math.sin((1.0 - v) * apart) / whole, math.sin(v * apart) / whole, math.cos(v * math.pi / 2) ** 2)
        for v in parts
    )


class _Oval(NamedTuple):
    """The walls from one known direction to the next, by :data:`BETWEEN` steps.

    Seen from the unworn bore's axis they run from one to the other as an oval's do, by the square of the cosine; what the bar
    is meant to stand over counts in the wall's own direction.
    """

    one: Pair
    two: Pair
    steps: tuple[tuple[float, float, float], ...]
    need_mm: float
    other_mm: float
    moved_mm: Pair
    also_mm: Pair

    @classmethod
    def between(cls, sides: Mapping[Pair, _Need], one: Pair, two: Pair) -> _Oval:
        (need, moved), (other, also) = sides[one], sides[two]
        apart = math.acos(min(1.0, max(-1.0, one[0] * two[0] + one[1] * two[1])))
        need += 2 * (moved[0] * one[0] + moved[1] * one[1])
        other += 2 * (also[0] * two[0] + also[1] * two[1])
        return cls(one, two, _steps(round(apart, 9)), need, other, moved, also)

    def wall(self, step: int) -> _Way:
        (ox, oy), (tx, ty), (mx, my), (ax, ay) = self.one, self.two, self.moved_mm, self.also_mm
        a, b, share = self.steps[step]
        x, y, rest = a * ox + b * tx, a * oy + b * ty, 1.0 - share
        over = (share * mx + rest * ax) * x + (share * my + rest * ay) * y
        return x, y, share * self.need_mm + rest * self.other_mm - 2 * over

    def need(self, step: int) -> float:
        return self.wall(step)[2]


def _sides(walls: Sequence[Wall]) -> dict[Pair, _Need]:
    """The most needed in each direction, and how far the bar is meant to stand off the axis where that is."""
    sides: dict[Pair, _Need] = {}
    for w in walls:
        for way, need in (((w.x, w.y), w.need_mm), ((-w.x, -w.y), w.across_mm)):
            key = (round(way[0], 9), round(way[1], 9))
            if key not in sides or need > sides[key][0]:
                sides[key] = need, w.moved_mm
    return sides
