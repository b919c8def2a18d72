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

Where the bar stands is not known exactly: the spindle misses the place it is meant for by
e, normal with the same standard deviation each way (the lean's doubt and a swept offset's
add to it). A wall in direction n then needs 2 e·n less, the one across from it 2 e·n more.
Where one wall alone decides, that is as likely a help as a harm. Where the wear is even
every miss harms, whichever way it goes: D_clean grows by 2 |e·n| over the walls of one axis,
by 2 |e| where the wear goes all round. So the greatest need is taken at each of a fixed set
of misses (:mod:`logic.placing`), and no normal is laid over it.

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
from .placing import Part, Wall, placed
from .unread import BELOW_TOP_MM, UnreadPlace, unread
from .unswept import SeenBySweep, Unswept, greatest_unswept, unswept

__all__ = [
    "BoreLean",
    "CleanUp",
    "Piece",
    "SeenBySweep",
    "WearSide",
    "clean_up",
    "from_sweep",
    "needed_together",
    "needs_unswept",
    "together",
]

#: How many pieces a share between two limits is cut into.
PIECES = 8
_SIDE_UNKNOWN = WearSide()


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
    """What one reading needs, D0 + 2 (share · W + t) on its worse side, and its uncertainty.

    ``toward`` is the direction of that side; across from it ``across_mm`` is needed. ``moved`` is how far the bar's axis
    stands from the unworn bore's there.
    """

    d_mm: float
    u_mm: float
    share: float
    cell: tuple[float, str] | None
    toward: tuple[float, float]
    across_mm: float
    moved: tuple[float, float]


def _moved(side: WearSide, lean: BoreLean | None, depth_mm: float, sign: int) -> tuple[float, float]:
    """How far the bar's axis stands from the unworn bore's at a depth: (thrust axis, crank line)."""
    if lean is None:
        return side.bar_shift_mm, 0.0
    lever = sign * lean.lever(depth_mm)
    return side.bar_shift_mm + lean.across_mm * lever, lean.along_mm * lever


def _stands_for_mm(worn: WornBore, depth_mm: float) -> float:
    """How far up the wear read at a depth goes: the uppermost reading of ring travel stands for all up to its start."""
    top = worn.ring_top_mm
    return top if top is not None and top < depth_mm < top + BELOW_TOP_MM else depth_mm


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
        moved = _moved(side, lean, _stands_for_mm(worn, c.depth_mm), sign)
        t = _toward(c.axis, moved)
        w = max(0.0, c.d_mm - d0)
        x, y = _ON_AXIS[c.axis]
        share, t, way = (s, -t, 1.0) if s * w - t >= (1 - s) * w + t else (1 - s, t, -1.0)
        need, across = d0 + 2 * (share * w + t), d0 + 2 * ((1 - share) * w - t)
        yield _Wall(need, 2 * abs(share) * c.u_mm, share, (c.depth_mm, c.axis), (way * x, way * y), across, moved)
    for depth in {0.0, lean.length_mm} if lean is not None else {0.0}:
        x, y = _moved(side, lean, depth, sign)
        r = math.hypot(x, y)
        away = (-x / r, -y / r) if r else (0.0, 0.0)
        yield _Wall(d0 + 2 * r, 0.0, 0.0, None, away, d0 - 2 * r, (x, y))


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
    # near even wear the need bends most
    out = {0.5 / PIECES} | {i / PIECES for i in range(PIECES + 1)}
    for c in places:
        low, high = limits[c.axis]
        w = c.d_mm - worn.unworn.mm
        t = _toward(c.axis, _moved(side, lean, _stands_for_mm(worn, c.depth_mm), sign))
        if high > low and 0 < t < w / 2:
            out.add((0.5 + t / w - low) / (high - low))
    return sorted(v for v in out if 0 <= v <= 1)


def clean_up(worn: WornBore, side: WearSide = _SIDE_UNKNOWN, lean: BoreLean | None = None) -> CleanUp:
    """The clean-up diameter from two-point readings. Raises ValueError where nothing was measured."""
    worst = worn.worst
    stated = worn.unworn.source in ("stated", "nominal")  # not read with this gauge, so its shared error is not in it
    placing = _placing_u_mm(side, lean, _stands_for_mm(worn, worst.depth_mm))
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


def _placing_u_mm(side: WearSide, lean: BoreLean | None, depth_mm: float) -> tuple[float, float]:
    """How well it is known where the bar stands in the bore: standard uncertainty on the thrust axis and the crank line."""
    swept_u = side.u_offset_mm if side.known == "swept" else 0.0
    lever = 0.0 if lean is None else lean.lever(depth_mm)
    across = 0.0 if lean is None else lean.u_mm
    along = across if lean is None or lean.u_along_mm is None else lean.u_along_mm
    return math.hypot(side.u_centring_mm, lever * across, swept_u), math.hypot(side.u_centring_mm, lever * along)


class _Node(NamedTuple):
    """The clean-up diameter for one share: its parts blurred by its own and its shared standard uncertainty.

    The part ``plain`` of it is normal about ``mean_mm`` with ``plain_u_mm`` of its own.
    """

    plain: float
    mean_mm: float
    plain_u_mm: float
    u_mm: float
    common_mm: float
    parts: tuple[Part, ...]


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
        placing_mm: tuple[float, float],
        *,
        stated: bool,
    ) -> _Span:
        limits = _share_limits(worn, side)
        positions = _positions(worn, places, side, lean, limits, sign)
        tops, nodes = [], []
        for v in positions:
            walls = list(_walls(worn, places, side, lean, limits, v, sign))
            top = max(walls, key=lambda w: w.d_mm)
            read = [Wall(*w.toward, w.d_mm, w.across_mm, w.u_mm, w.moved) for w in walls if w.cell is not None]
            end = max((w for w in walls if w.cell is None), key=lambda w: w.d_mm)
            found = placed(read, worn.unworn.mm, placing_mm, end.moved)
            unworn = (1 - 2 * top.share) * worn.unworn.u_mm
            common = (2 * top.share if stated else 1.0) * worn.u_common_mm
            u, plain_u = math.hypot(found.u_mm, unworn), math.hypot(found.plain_u_mm, unworn)
            tops.append(top)
            nodes.append(_Node(found.plain, found.mean_mm, plain_u, u, common, found.parts))
        return cls(positions, tops, nodes)

    def pieces(self, weight: float) -> Iterator[Piece]:
        """The distribution between the shares, this sign's ``weight`` of it."""
        if len(self.nodes) == 1:
            yield from _between(self.nodes[0], self.nodes[0], weight)
        for (v0, v1), (one, two) in zip(pairwise(self.positions), pairwise(self.nodes), strict=True):
            yield from _between(one, two, (v1 - v0) * weight)


def _between(one: _Node, two: _Node, weight: float) -> Iterator[Piece]:
    """The distribution between two shares: one piece as far as it is normal at both, else one for each part."""
    common = (one.common_mm + two.common_mm) / 2
    plain = one.plain * two.plain
    if plain > 0.0:
        low, high = sorted((one.mean_mm, two.mean_mm))
        yield Piece(weight * plain, low, high, (one.plain_u_mm + two.plain_u_mm) / 2, common)
    if plain == 1.0:
        return
    for a, b in zip(one.parts, two.parts, strict=True):
        low, high = min(a.low_mm, b.low_mm), max(a.high_mm, b.high_mm)
        yield Piece(weight * (1 - plain) * a.share, low, high, (one.u_mm + two.u_mm) / 2, common)


def needs_unswept(worn: WornBore, seen: SeenBySweep) -> list[Unswept]:
    """The depths that were read with the gauge or not at all, but not swept, and what is known of the cut they need."""
    places = []
    for c in _places(worn):
        thrust, crank = _ON_AXIS[c.axis]
        places.append((c.depth_mm, (crank, thrust), c.d_mm, c.u_mm))
    return unswept(places, worn.unworn.mm, seen)


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
    unswept: Sequence[Unswept] = (),
    u_gauge_mm: float = 0.0,
    missed_mm: Sequence[Part] = (),
) -> CleanUp:
    """The clean-up diameter as measured by sweeping the bore, in place of the two-point range.

    ``u_mm`` is its standard uncertainty without what the cylinders share
    (``u_common_mm``); ``u_wear_mm`` that of ``worst_mm − unworn_mm``. ``unswept`` are the
    depths that the indicator never saw, from :func:`needs_unswept`: the greatest need of all counts;
    ``u_gauge_mm`` is what their diameters share with other cylinders. ``missed_mm`` are the parts that a
    missed centre has in it, about ``d_clean_mm``, within ``u_mm``.
    """
    if not (math.isfinite(d_clean_mm) and d_clean_mm > 0 and math.isfinite(u_mm) and u_mm >= 0):
        raise ValueError("a clean-up diameter must be finite and above zero, with an uncertainty")
    pieces = tuple(_swept_pieces(d_clean_mm, u_mm, (u_common_mm, u_gauge_mm), missed_mm, unswept))
    needed_mm = math.fsum(p.weight * (p.low_mm + p.high_mm) / 2 for p in pieces)
    return CleanUp(
        cylinder=cylinder,
        low_mm=needed_mm,
        high_mm=needed_mm,
        pieces=pieces,
        worst_mm=worst_mm,
        unworn_mm=unworn_mm,
        u_wear_mm=u_wear_mm,
        cell=cell,
        source="swept",
    )


def _swept_pieces(
    d_mm: float, u_mm: float, common_mm: tuple[float, float], missed: Sequence[Part], unseen: Sequence[Unswept]
) -> Iterator[Piece]:
    """A swept cut as a distribution: normal, but for what a missed centre adds, which is one-sided; and for what depths
    need that were not swept. ``common_mm`` are the errors that cylinders share: the sweep's and the gauge's."""
    spread = math.fsum(p.share * (p.low_mm**2 + p.low_mm * p.high_mm + p.high_mm**2) / 3 for p in missed)
    own = math.sqrt(max(0.0, u_mm**2 - spread))
    found = greatest_unswept(d_mm, own, missed, unseen, common_mm)
    if found is not None:
        common = math.sqrt(found.own * common_mm[0] ** 2 + (1.0 - found.own) * common_mm[1] ** 2)
        blur = math.sqrt(max(0.0, found.u_mm**2 - common**2))
        for p in found.parts:
            yield Piece(p.share, p.low_mm, p.high_mm, blur, common)
        return
    for p in missed or (Part(1.0, 0.0, 0.0),):
        yield Piece(p.share, d_mm + p.low_mm, d_mm + p.high_mm, own, common_mm[0])
