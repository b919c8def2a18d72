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
from itertools import pairwise
from typing import NamedTuple

from .bore import WornBore
from .cleanup_chance import BoreLean, CleanUp, Piece, WearSide, needed_together, together
from .uncertainty import normal_cdf
from .unread import UnreadPlace, unread

__all__ = [
    "BoreLean",
    "CleanUp",
    "Piece",
    "WearSide",
    "clean_up",
    "from_sweep",
    "needed_together",
    "together",
]

#: How many pieces a share between two limits is cut into.
PIECES = 8
_ROOT_2PI = math.sqrt(2 * math.pi)
_SIDE_UNKNOWN = WearSide()


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


#: Where the wear is known or expected: every reading, and the start of travel.
Places = tuple[UnreadPlace, ...]


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
    worn: WornBore,
    places: Places,
    side: WearSide,
    lean: BoreLean | None,
    limits: dict[str, tuple[float, float]],
    v: float,
    sign: int,
) -> Iterator[_Wall]:
    """Every reading's need for one state of what is not known: share position v (0..1), lean sign.

    Of the two sides of one reading only the worse counts: they share one error.
    """
    d0 = worn.unworn.mm
    for c in places:
        low, high = limits[c.axis]
        s = low + v * (high - low)
        t = _toward(c.axis, _moved(side, lean, c.depth_mm, sign))
        w = max(0.0, c.d_mm - d0)
        share, t = (s, -t) if s * w - t >= (1 - s) * w + t else (1 - s, t)
        yield _Wall(d0 + 2 * (share * w + t), 2 * abs(share) * c.u_mm, share, (c.depth_mm, c.axis))
    for depth in {0.0, lean.length_mm} if lean is not None else {0.0}:
        yield _Wall(d0 + 2 * math.hypot(*_moved(side, lean, depth, sign)), 0.0, 0.0, None)


def _places(worn: WornBore) -> Iterator[UnreadPlace]:
    """Every reading with its own uncertainty, and the start of travel where no reading covers it."""
    for c in worn.cells:
        yield UnreadPlace(c.depth_mm, c.axis, c.d_mm, worn.u_mm)
    yield from unread(worn)


def _positions(
    worn: WornBore,
    places: Places,
    side: WearSide,
    lean: BoreLean | None,
    limits: dict[str, tuple[float, float]],
    sign: int,
) -> list[float]:
    """Share positions to work out: evenly spaced, and where a reading's other side takes over."""
    if all(low == high for low, high in limits.values()):
        return [0.0]
    out = {i / PIECES for i in range(PIECES + 1)}
    for c in places:
        low, high = limits[c.axis]
        w = c.d_mm - worn.unworn.mm
        t = _toward(c.axis, _moved(side, lean, c.depth_mm, sign))
        if high > low and 0 < t < w / 2:
            out.add((0.5 + t / w - low) / (high - low))
    return sorted(v for v in out if 0 <= v <= 1)


def clean_up(worn: WornBore, side: WearSide = _SIDE_UNKNOWN, lean: BoreLean | None = None) -> CleanUp:
    """The clean-up diameter from two-point readings. Raises ValueError where nothing was measured."""
    worst = worn.worst
    stated = worn.unworn.source in ("stated", "nominal")  # not read with this gauge, so its shared error is not in it
    placing = _placing_variance_mm2(side, lean, worst.depth_mm)
    places = tuple(_places(worn))
    spans = [_Span.of(worn, places, side, lean, sign, placing, stated=stated) for sign in _signs(lean)]
    tops = [top for span in spans for top in span.tops]
    highest = max(tops, key=lambda w: w.d_mm)  # the first of equals
    return CleanUp(
        cylinder=worn.cylinder,
        low_mm=min(w.d_mm for w in tops),
        high_mm=highest.d_mm,
        pieces=tuple(piece for span in spans for piece in span.pieces(1.0 / len(spans))),
        worst_mm=worst.d_mm,
        unworn_mm=worn.unworn.mm,
        u_wear_mm=math.hypot(worn.u_mm, worn.unworn.u_mm, worn.u_common_mm if stated else 0.0),
        cell=highest.cell or (worst.depth_mm, worst.axis),
        source="largest reading" if len(worn.cells) == 1 else "two-point",
        side=side,
        lean=lean,
    )


def _signs(lean: BoreLean | None) -> tuple[int, ...]:
    """Both signs of a lean, since nothing says which side of it wore; one where there is no lean."""
    return (1, -1) if lean is not None and (lean.across_mm != 0.0 or lean.along_mm != 0.0) else (1,)


def _placing_variance_mm2(side: WearSide, lean: BoreLean | None, depth_mm: float) -> float:
    """Variance on diameter from not knowing exactly where the bar stands in the bore."""
    lean_u = 0.0 if lean is None else lean.lever(depth_mm) * lean.u_mm
    swept_u = side.u_offset_mm if side.known == "swept" else 0.0
    return 4 * (side.u_centring_mm**2 + lean_u**2 + swept_u**2)


class _Node(NamedTuple):
    """The clean-up diameter for one share: its mean, its own and its shared standard uncertainty."""

    mean_mm: float
    u_mm: float
    common_mm: float


class _Span(NamedTuple):
    """All shares of the wear for one sign of the lean: the deciding wall and the figures at each."""

    positions: list[float]
    tops: list[_Wall]
    nodes: list[_Node]

    @classmethod
    def of(
        cls,
        worn: WornBore,
        places: Places,
        side: WearSide,
        lean: BoreLean | None,
        sign: int,
        placing_mm2: float,
        *,
        stated: bool,
    ) -> _Span:
        limits = _share_limits(worn, side)
        positions = _positions(worn, places, side, lean, limits, sign)
        tops, nodes = [], []
        for v in positions:
            walls = list(_walls(worn, places, side, lean, limits, v, sign))
            top = max(walls, key=lambda w: w.d_mm)
            mean, sd = _greatest([(w.d_mm, w.u_mm) for w in walls])
            u = math.sqrt(sd**2 + ((1 - 2 * top.share) * worn.unworn.u_mm) ** 2 + placing_mm2)
            tops.append(top)
            nodes.append(_Node(mean, u, (2 * top.share if stated else 1.0) * worn.u_common_mm))
        return cls(positions, tops, nodes)

    def pieces(self, weight: float) -> Iterator[Piece]:
        """The distribution between the shares, this sign's ``weight`` of it."""
        if len(self.nodes) == 1:
            mean, u, common = self.nodes[0]
            yield Piece(weight, mean, mean, u, common)
        for (v0, v1), (one, two) in zip(pairwise(self.positions), pairwise(self.nodes), strict=True):
            yield Piece(
                (v1 - v0) * weight,
                min(one.mean_mm, two.mean_mm),
                max(one.mean_mm, two.mean_mm),
                (one.u_mm + two.u_mm) / 2,
                (one.common_mm + two.common_mm) / 2,
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
