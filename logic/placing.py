"""The cut that cleans a bore, where the bar may stand elsewhere than meant.

Seen from where the bar is meant to stand, the wall in direction n needs a cut of diameter
N(n). A bar that misses the place by e needs 2 e·n less there, so the cut has to be

    max over n of N(n) − 2 e·n,   and at least D0 + 2 |e| for the unworn ends.

e is normal in two dimensions. Where one wall stands well beyond the others the result is
normal as well. Where walls on several sides need about as much it is one-sided: no miss
helps. It is then taken at a fixed set of misses of equal probability (at each the greatest
of uncertain readings by Clark's moments), and given as a few rectangular parts that have
the set's mean and spread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
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


class Wall(NamedTuple):
    """One reading: the cut its wall needs in direction (x, y), ``need_mm``, and across from there, ``across_mm``.

    Both share the one error of the reading, ``u_mm`` on the cut.
    """

    x: float
    y: float
    need_mm: float
    across_mm: float
    u_mm: float


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


def placed(walls: Sequence[Wall], unworn_mm: float, floor_mm: float, u_mm: tuple[float, float]) -> Placed:
    """The cut that ``walls`` need, in a bore unworn at ``unworn_mm`` whose ends need ``floor_mm`` where the bar is meant
    to stand; ``u_mm`` is the standard deviation of the miss along x and along y."""
    mean, sd = greatest([*((w.need_mm, w.u_mm) for w in walls), (floor_mm, 0.0)])
    spread = 2 * max(u_mm)
    near = _near(walls, floor_mm, 2 * _REACH * spread)
    plain = 1.0 if spread == 0.0 else _plain(near, floor_mm, 2 * spread)
    if plain == 1.0:
        u = _along_mm(near, u_mm)
        parts = tuple(Part(p.share, mean + p.low_mm * u, mean + p.high_mm * u) for p in _normal())
        return Placed(plain, mean, math.hypot(sd, u), sd, parts)
    halfway, lines = _halfway(near), _lines(near)
    if len(lines) == 1 and lines[0].one_error and not halfway:
        at = _at_one(lines[0], unworn_mm, floor_mm, u_mm)
    else:
        at = [_at(lines, halfway, unworn_mm, floor_mm, x * u_mm[0], y * u_mm[1]) for x, y in standard_misses()]
    own = math.sqrt(math.fsum(s * s for _, s in at) / len(at))
    return Placed(plain, mean, math.hypot(sd, _along_mm(near, u_mm)), own, parts_of(sorted(m for m, _ in at)))


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
    for x, y, need, across, u in walls:
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


def _along_mm(walls: Sequence[Wall], u_mm: tuple[float, float]) -> float:
    """What a miss makes of the cut, as a standard deviation, where one direction alone decides."""
    if not walls:
        return 0.0
    top = max(walls, key=lambda w: w.need_mm)
    return 2 * math.hypot(top.x * u_mm[0], top.y * u_mm[1])


def _plain(walls: Sequence[Wall], floor_mm: float, apart_mm: float) -> float:
    """How nearly one direction alone decides: 1 where all else lies far short of it, in standard deviations ``apart_mm``."""
    sides = _sides(walls)
    if not sides:
        return 0.0
    first, *others = sorted((*sides.values(), floor_mm), reverse=True)
    if floor_mm == first:
        return 0.0
    return min(1.0, max(0.0, (first - others[0]) / apart_mm - _ALONE))


def _at(
    lines: Sequence[_Line],
    halfway: Sequence[tuple[float, float, float]],
    unworn_mm: float,
    floor_mm: float,
    ex: float,
    ey: float,
) -> tuple[float, float]:
    """The cut needed if the bar misses its place by (ex, ey), and its standard deviation from the readings."""
    ends = unworn_mm + 2 * math.hypot(ex, ey)
    most, own, first = max(ends, floor_mm), 0.0, 0
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


def _at_one(line: _Line, unworn_mm: float, floor_mm: float, u_mm: tuple[float, float]) -> list[tuple[float, float]]:
    """What :func:`_at` finds for each miss where all that was read is one reading, as in the quick check."""
    x, y, here, u_here, there, u_there, _ = line
    (ux, uy), out = u_mm, []
    for mx, my in standard_misses():
        ex, ey = mx * ux, my * uy
        t = 2 * (ex * x + ey * y)
        ends = max(unworn_mm + 2 * math.hypot(ex, ey), floor_mm)
        need, u = (here - t, u_here) if here - t > there + t else (there + t, u_there)
        if abs(need - ends) < 5 * u:
            out.append(greatest([(ends, 0.0), (need, u)]))
        else:
            out.append((need, u) if need > ends else (ends, 0.0))
    return out


def _halfway(walls: Sequence[Wall]) -> list[tuple[float, float, float]]:
    """Direction and need of the walls halfway between known ones, which need the mean of theirs."""
    sides = _sides(walls)
    turn = sorted(sides, key=lambda s: math.atan2(s[1], s[0]))
    out = []
    for one, two in zip(turn, [*turn[1:], *turn[:1]], strict=True):
        x, y = one[0] + two[0], one[1] + two[1]
        r = math.hypot(x, y)
        if r > 0.5:
            out.append((x / r, y / r, (sides[one] + sides[two]) / 2))
    return out


def _sides(walls: Sequence[Wall]) -> dict[tuple[float, float], float]:
    """The most needed in each direction."""
    sides: dict[tuple[float, float], float] = {}
    for w in walls:
        for way, need in (((w.x, w.y), w.need_mm), ((-w.x, -w.y), w.across_mm)):
            key = (round(way[0], 9), round(way[1], 9))
            sides[key] = max(need, sides.get(key, need))
    return sides
