"""Which readings of a sweep hold the cut, and what a spindle that misses the best centre adds to it.

Centring. A spindle that misses the best centre by e makes the cut larger by twice
h(e) = max(−e·n_i − g_i) over all readings, n_i the direction of one and g_i how far it lies
inside the cut. With e normal, standard deviation u each way, mean and spread of h are taken
over a fixed set of misses (for two readings across a diameter the mean is 0.80 u, for three
at 120 degrees 1.04 u). Every reading has its say by how near to the cut it lies, so none
comes in or falls out at a step.

Which readings hold the cut is not sure either where several lie within the indicator's own
error. So their weights are those of the smoothed circle, the c that makes
Σ exp((|p_i − c| − R)/u) least, u that error: the forces w_i n_i with which the readings
bear on it are in balance there, as they are for the circle itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from .placing import Part, parts_of, standard_misses

__all__ = ["Held", "Missed", "held_by", "missed_mm"]

Pair = tuple[float, float]


class Held(NamedTuple):
    """Which readings hold the circle, and how firmly.

    ``weights`` are the readings' parts in the radius, summing to 1; ``centre`` the standard
    deviation of the centre (root sum of squares of both directions) per standard deviation of
    one reading.
    """

    weights: list[float]
    centre: float

    @property
    def radius(self) -> float:
        """Standard deviation of the radius per standard deviation of one reading."""
        return math.sqrt(math.fsum(w * w for w in self.weights))


def held_by(seen: Sequence[Pair], u_reading_mm: float) -> Held:
    """The readings' weights where the smoothed circle is smallest (Newton's steps from the circle's own centre).

    ``seen`` are the wall points from that centre, mm; ``u_reading_mm`` is above zero.
    """
    radius = max(math.hypot(x, y) for x, y in seen)
    cx = cy = 0.0
    for _ in range(40):
        rows = [_away(x - cx, y - cy) for x, y in seen]
        most = max(r for r, _, _ in rows)
        raw = [math.exp((r - most) / u_reading_mm) for r, _, _ in rows]
        total = math.fsum(raw)
        w = [v / total for v in raw]
        gx = math.fsum(v * nx for v, (_, nx, _) in zip(w, rows, strict=True))
        gy = math.fsum(v * ny for v, (_, _, ny) in zip(w, rows, strict=True))
        stiff = _stiffness(w, rows, (gx, gy), u_reading_mm / radius)
        dx, dy = _solved(stiff, gx, gy)
        step = math.hypot(dx, dy)
        held = min(1.0, 1.0 / step) if step else 1.0  # no further than one standard deviation at once
        cx, cy = cx + u_reading_mm * held * dx, cy + u_reading_mm * held * dy
        if step < 1e-9:
            break
    moves = [_solved(stiff, v * nx, v * ny) for v, (_, nx, ny) in zip(w, rows, strict=True)]
    return Held(w, math.sqrt(math.fsum(x * x + y * y for x, y in moves)))


def _away(x: float, y: float) -> tuple[float, float, float]:
    """How far a point is, and in what direction."""
    r = math.hypot(x, y)
    return r, x / r, y / r


def _stiffness(
    w: Sequence[float], rows: Sequence[tuple[float, float, float]], pull: Pair, bend: float
) -> tuple[float, float, float]:
    """The second derivative (xx, xy, yy) of the smoothed radius, times the smoothing: the spread of the directions, and
    ``bend`` for the curvature of the wall, which holds the centre where all readings lie on one line."""
    xx = math.fsum(v * nx * nx for v, (_, nx, _) in zip(w, rows, strict=True))
    xy = math.fsum(v * nx * ny for v, (_, nx, ny) in zip(w, rows, strict=True))
    return (
        xx - pull[0] ** 2 + bend * (1.0 - xx),
        xy - pull[0] * pull[1] - bend * xy,
        1.0 - xx - pull[1] ** 2 + bend * xx,
    )


def _solved(m: tuple[float, float, float], x: float, y: float) -> Pair:
    """The solution of a symmetric 2 × 2 system."""
    xx, xy, yy = m
    det = xx * yy - xy * xy
    return (yy * x - xy * y) / det, (xx * y - xy * x) / det


class Missed(NamedTuple):
    """What a missed centre adds to the radius, mm: mean, standard deviation, and the whole of it in a few parts.

    It is one-sided, since no miss helps: ``parts`` lie about the mean.
    """

    mean_mm: float
    u_mm: float
    parts: tuple[Part, ...]


def missed_mm(seen: Sequence[Pair], u_mm: float) -> Missed:
    """What a missed centre adds to the radius; ``u_mm`` is the standard deviation of the miss each way.

    ``seen`` are the wall points from the best centre, mm.
    """
    if u_mm == 0.0:
        return Missed(0.0, 0.0, ())
    rows = [_away(x, y) for x, y in seen]
    most = max(r for r, _, _ in rows)
    misses = [(x * u_mm, y * u_mm) for x, y in standard_misses()]
    reach = most - 2 * max(math.hypot(x, y) for x, y in misses)
    near = [(r - most, nx, ny) for r, nx, ny in rows if r > reach]
    more = [max(short - ex * nx - ey * ny for short, nx, ny in near) for ex, ey in misses]
    mean = math.fsum(more) / len(more)
    square = math.fsum(h * h for h in more) / len(more)
    return Missed(mean, math.sqrt(max(0.0, square - mean * mean)), parts_of(sorted(h - mean for h in more)))
