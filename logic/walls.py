"""What is left of a cylinder wall after boring, and how far a bore may go.

Relation: wall after = wall measured - (new bore - old bore) / 2 - shift of the centre
toward that place. Directions are angles seen from above, 0 degrees to the front of
the engine, anticlockwise, as in :class:`logic.pictures.SweepRing`.

How a wall is read and its reading put right is :mod:`logic.wall_gauge`.

Probabilities treat each wall as normal with its combined standard uncertainty
(JCGM 100:2008), decisions follow JCGM 106:2012. The error of the gauge's correction is one
for all walls (:meth:`logic.wall_gauge.Calibration.states`): for each thing it may be, the
places are apart from each other, and the chance that *every* place keeps its minimum is the
mean over them. Where nothing is said of what the places share, that chance lies between
1 - sum(1 - p) and min(p), and the side that is less favourable to the verdict is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import mul
from typing import Any, NamedTuple

from .bore import WornBore
from .result import Assumption, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import normal_cdf, normal_quantile
from .wall_gauge import Calibration, Piece, calibration

__all__ = [
    "Boring",
    "Calibration",
    "Piece",
    "PlaceAfter",
    "WallCheck",
    "WallPlace",
    "bore_there",
    "calibration",
    "chance_kept",
    "chance_of_all",
    "check",
    "largest_bore_mm",
    "polar",
    "room",
    "wall_after",
]


def _positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


def _not_negative(name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be zero or more, not {value}")


def _chance_at_least(value: float, limit: float, u: float) -> float:
    """Probability that a normal quantity (``value``, ``u``) is at least ``limit``."""
    if u == 0:
        return 1.0 if value >= limit else 0.0
    return normal_cdf((value - limit) / u)


# -- walls after boring ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class WallPlace:
    """A measured wall: its name and direction, thickness, and the bore it was measured from.

    ``wall_mm`` (standard uncertainty ``u_mm``) is the corrected thickness; ``bore_mm``
    the bore's present diameter there. ``wear_mm`` is how much of that diameter is wear
    whose side is not known: it may all be here or all opposite. ``minimum_mm`` is what
    must be left here. ``states`` is what the gauge's correction may make of the thickness,
    as (share, mm), its spread a part of ``u_mm``: () where that is not known by itself.
    """

    name: Line | str
    angle_deg: float
    wall_mm: float
    u_mm: float
    bore_mm: float
    u_bore_mm: float = 0.005
    wear_mm: float = 0.0
    minimum_mm: float = 3.0
    states: tuple[tuple[float, float], ...] = ()

    @property
    def shared(self) -> tuple[tuple[float, float], ...]:
        """What the correction may add to the thickness: (share, mm)."""
        return tuple((share, mm - self.wall_mm) for share, mm in self.states) or ((1.0, 0.0),)

    def __post_init__(self) -> None:
        _positive("wall", self.wall_mm)
        _positive("bore", self.bore_mm)
        _positive("minimum wall", self.minimum_mm)
        for name, value in (("wall", self.u_mm), ("bore", self.u_bore_mm), ("wear", self.wear_mm)):
            _not_negative(f"uncertainty of the {name}", value)
        if not math.isfinite(self.angle_deg):
            raise ValueError("the direction must be a number of degrees")


@dataclass(frozen=True, slots=True, kw_only=True)
class Boring:
    """A proposed cut: finished diameter, and how its centre moves from the unworn bore's.

    ``shift_mm`` toward ``shift_deg`` is deliberate or measured, ``u_shift_mm`` the
    standard uncertainty of centring in any direction. ``either_way_mm`` is a deliberate
    shift along the thrust axis whose side was not recorded: it counts against both. ``lean_mm`` toward ``lean_deg``
    (standard uncertainty ``u_lean_mm`` in any direction) is how far the new axis departs
    from the old at the lower end, if the bar stands on a face that is out of square; the
    height of each wall reading is not known, so the middle is used and the spread counted.
    """

    new_mm: float
    u_new_mm: float = 0.005
    shift_mm: float = 0.0
    shift_deg: float = 0.0
    u_shift_mm: float = 0.025
    either_way_mm: float = 0.0
    lean_mm: float = 0.0
    lean_deg: float = 0.0
    u_lean_mm: float = 0.0

    def __post_init__(self) -> None:
        _positive("new bore", self.new_mm)
        for name, value in (
            ("new bore's uncertainty", self.u_new_mm),
            ("shift", self.shift_mm),
            ("centring uncertainty", self.u_shift_mm),
            ("shift to an unrecorded side", self.either_way_mm),
            ("lean", self.lean_mm),
            ("lean's uncertainty", self.u_lean_mm),
        ):
            _not_negative(name, value)

    def toward(self, angle_deg: float) -> float:
        """How far the centre moves toward a direction, mm (half the lean included)."""
        over = self.either_way_mm * abs(_cos(90.0 - angle_deg))
        return self.shift_mm * _cos(self.shift_deg - angle_deg) + over + self._lean(angle_deg) / 2

    def lean_spread(self, angle_deg: float) -> float:
        """Standard uncertainty from the unknown height of a reading, rectangular over the lean, and the lean's own."""
        return math.hypot(self._lean(angle_deg) / (2 * math.sqrt(3)), self.u_lean_mm / 2)

    def _lean(self, angle_deg: float) -> float:
        return self.lean_mm * _cos(self.lean_deg - angle_deg)


def bore_there(worn: WornBore, angle_deg: float) -> tuple[float, float]:
    """The bore and its wear (mm on diameter) behind a wall reading taken toward ``angle_deg``.

    A wall is read where it is thinnest, at a height nobody notes, so the largest reading
    of that axis stands for it: the crank line for front and rear, the thrust axis for
    left and right, the worst of all between them. With wear W somewhere between none
    and all of it on this side, the surface stands half of W beyond the unworn radius,
    give or take: the radius of that largest reading. Raises ValueError without readings.
    """
    axis = {0.0: "crank", 90.0: "thrust"}.get(round(angle_deg % 180, 6))
    column = [d for _, d in worn.column(axis)] if axis else []
    largest = max(column) if column else worn.worst.d_mm
    return largest, max(0.0, largest - worn.unworn.mm)


def polar(front_mm: float, left_mm: float) -> tuple[float, float]:
    """A displacement toward the front and the left as (length mm, direction in degrees)."""
    return math.hypot(front_mm, left_mm), math.degrees(math.atan2(left_mm, front_mm)) % 360


def _cos(deg: float) -> float:
    return math.cos(math.radians(deg))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceAfter:
    """One place after boring: wall ``before`` and ``after``, its ``minimum``, and the chance that it keeps it."""

    name: Line | str
    angle_deg: float
    before: Qty
    after: Qty
    minimum: Qty
    chance: float
    toward_mm: float
    parts: tuple[tuple[str, float], ...]  # (cause, standard uncertainty mm)
    shared: tuple[tuple[float, float], ...] = ((1.0, 0.0),)  # (share, mm more), the same errors in every place

    @property
    def spare(self) -> _Spare:
        """What is left over the minimum."""
        left = self.after.value - self.minimum.value
        return _Spare(
            shares=tuple(share for share, _ in self.shared),
            spare_mm=tuple(left + more for _, more in self.shared),
            u_mm=u_apart_mm(self.after.u or 0.0, self.shared),
        )


class _Spare(NamedTuple):
    """What a wall is over its minimum, for each thing that the correction may be: its share and mm, of one standard
    uncertainty of the wall's own."""

    shares: tuple[float, ...]
    spare_mm: tuple[float, ...]
    u_mm: float

    def chances(self, thinner_mm: float) -> list[float]:
        """The chances that the minimum is kept with ``thinner_mm`` less."""
        if self.u_mm == 0:
            return [1.0 if spare >= thinner_mm else 0.0 for spare in self.spare_mm]
        scale, erfc = 1.0 / (self.u_mm * math.sqrt(2.0)), math.erfc  # asked for often: the normal distribution at once
        return [0.5 * erfc(scale * (thinner_mm - spare)) for spare in self.spare_mm]


def u_apart_mm(u_mm: float, shared: Sequence[tuple[float, float]]) -> float:
    """A standard uncertainty without what is shared, given as (share, mm)."""
    return math.sqrt(max(0.0, u_mm**2 - math.fsum(w * mm * mm for w, mm in shared)))


def chance_kept(left_mm: float, u_mm: float, place: WallPlace) -> float:
    """The chance that ``left_mm`` of a wall, known to ``u_mm`` in all, is its minimum at least."""
    shared, u = place.shared, u_apart_mm(u_mm, place.shared)
    return min(1.0, math.fsum(w * _chance_at_least(left_mm + more, place.minimum_mm, u) for w, more in shared))


def wall_after(place: WallPlace, boring: Boring) -> PlaceAfter:
    """The wall left at one place after ``boring``, with its combined standard uncertainty."""
    toward = boring.toward(place.angle_deg)
    left = place.wall_mm - (boring.new_mm - place.bore_mm) / 2 - toward
    parts = (
        ("wall", place.u_mm),
        ("wear", place.wear_mm / (2 * math.sqrt(3))),
        ("old", place.u_bore_mm / 2),
        ("new", boring.u_new_mm / 2),
        ("centre", boring.u_shift_mm),
        ("lean", boring.lean_spread(place.angle_deg)),
    )
    u = math.sqrt(sum(p * p for _, p in parts))
    return PlaceAfter(
        name=place.name,
        angle_deg=place.angle_deg,
        before=Qty(place.wall_mm, "wall", place.u_mm),
        after=Qty(left, "wall", u),
        minimum=Qty(place.minimum_mm, "wall"),
        chance=chance_kept(left, u, place),
        toward_mm=toward,
        parts=parts,
        shared=place.shared,
    )


def _margin(p: PlaceAfter) -> float:
    """How many standard uncertainties a place has in hand (its plain margin if it has none)."""
    spare = p.after.value - p.minimum.value
    return spare / p.after.u if p.after.u else math.copysign(math.inf, spare) if spare else 0.0


def _chances(walls: Sequence[_Spare], thinner_mm: float = 0.0) -> tuple[float, float]:
    """Bounds on the chance that every wall keeps its minimum, were each left ``thinner_mm`` thinner.

    One chance where it is known what the walls share, else the bounds whatever they share.
    """
    each = [wall.chances(thinner_mm) for wall in walls]
    shares = walls[0].shares
    if len(shares) > 1 and all(len(wall.shares) == len(shares) for wall in walls):
        together = min(1.0, math.fsum(map(mul, shares, map(math.prod, zip(*each, strict=True)))))
        return together, together
    alone = [min(1.0, math.fsum(map(mul, wall.shares, row))) for wall, row in zip(walls, each, strict=True)]
    return max(0.0, 1 - sum(1 - c for c in alone)), min(alone)


def chance_of_all(after: Sequence[PlaceAfter]) -> float:
    """The chance that every place keeps its minimum; the lower bound where nothing is said of what they share."""
    return _chances([p.spare for p in after])[0]


def largest_bore_mm(places: Sequence[WallPlace], boring: Boring, *, confidence: float = 0.95) -> float:
    """The largest finished diameter for which every place keeps its minimum with ``confidence``.

    Centre shift, lean and uncertainties are those of ``boring``; its own diameter does
    not matter. May come out below the present bore, where a wall is already too thin.
    Raises ValueError without places or for a confidence outside 0.5 to 1.
    """
    _confidence(confidence)
    if not places:
        raise ValueError("no wall has been measured")
    return _largest_mm(tuple(places), boring, confidence)


@lru_cache(maxsize=256)  # asked by several steps, and again in another state of the job
def _largest_mm(places: tuple[WallPlace, ...], boring: Boring, confidence: float) -> float:
    left = [wall_after(p, boring) for p in places]
    spare = [p.spare for p in left]
    # between these two every place is sure to keep its minimum and some place is sure not to
    far = normal_quantile(confidence) + 6.0
    low, high = (
        boring.new_mm + 2 * min(p.after.value - p.minimum.value + way * far * (p.after.u or 0.0) for p in left)
        for way in (-1.0, 1.0)
    )
    for _ in range(_HALVINGS):
        if high - low <= 1e-6:
            break
        middle = (low + high) / 2
        if _chances(spare, (middle - boring.new_mm) / 2)[0] >= confidence:
            low = middle
        else:
            high = middle
    return low


#: So often a range is halved at most: one of figures that cannot be never gets as narrow as a nanometre.
_HALVINGS = 80


def _confidence(confidence: float) -> None:
    if not 0.5 <= confidence < 1:
        raise ValueError(f"confidence must be from 0.5 up to below 1, not {confidence}")


_BETWEEN = Assumption(
    L("Only the measured places are known; a wall may be thinner between them or higher and lower."), "common practice"
)


@dataclass(frozen=True, kw_only=True)
class WallCheck(Result):
    """One cylinder's walls after boring. ``value`` is the least wall, ``largest`` the largest bore they allow."""

    cylinder: int
    boring: Boring
    places: tuple[PlaceAfter, ...]
    least: PlaceAfter
    largest_mm: float


_CAUSES = {
    "wall": L("The wall reading and the gauge's correction"),
    "wear": L("Not knowing on which side the bore wore"),
    "old": L("The present bore size"),
    "new": L("The new bore size"),
    "centre": L("Centring of the bar"),
    "lean": L("The height of the reading along a leaning bore"),
}


def check(cylinder: int, places: Sequence[WallPlace], boring: Boring, *, confidence: float = 0.95) -> WallCheck:
    """Judge the walls of one cylinder after ``boring``.

    Go when the chance that every place keeps its minimum is at least ``confidence``
    even if their errors hang together in the worst way; stop when some place keeps it
    with no more than 1 - ``confidence``; else measure again. The place with the least
    margin in standard uncertainties governs. Raises ValueError without places.
    """
    _confidence(confidence)
    if not places:
        raise ValueError("no wall has been measured")
    judged = _judge_walls(places, boring, confidence)
    least = judged.least
    verdict, sure, line = _check_said(cylinder, judged, boring.new_mm, confidence)
    spare = least.after.value - least.minimum.value
    return WallCheck(
        key=f"wall.{cylinder}",
        line=line,
        value=least.after,
        verdict=verdict,
        confidence=sure,
        why=tuple(_check_why(cylinder, judged)),
        figures=(
            Figure("least", L("Least wall after boring"), least.after),
            Figure("spare", L("Over the minimum"), Qty(spare, "deviation", least.after.u)),
            Figure("minimum", L("Minimum wall"), least.minimum),
            Figure("largest", L("Largest bore the walls allow"), Qty(judged.largest_mm, "size")),
        ),
        assumptions=(_BETWEEN,),
        influences=_influences(least),
        cylinder=cylinder,
        boring=boring,
        places=judged.after,
        least=least,
        largest_mm=judged.largest_mm,
    )


@dataclass(frozen=True, slots=True)
class _Judged:
    """One cylinder's walls after a cut: the place with least in hand, and bounds on the chance that all keep theirs."""

    after: tuple[PlaceAfter, ...]
    least: PlaceAfter
    chance_low: float
    chance_high: float
    largest_mm: float
    gap_deg: float


def _judge_walls(places: Sequence[WallPlace], boring: Boring, confidence: float) -> _Judged:
    after = tuple(wall_after(p, boring) for p in places)
    low, high = _chances([p.spare for p in after])
    return _Judged(
        after=after,
        least=min(after, key=_margin),
        chance_low=low,
        chance_high=high,
        largest_mm=largest_bore_mm(places, boring, confidence=confidence),
        gap_deg=_widest_gap([p.angle_deg for p in places]),
    )


def _check_said(cylinder: int, judged: _Judged, new_mm: float, confidence: float) -> tuple[str, float, Line]:
    """Verdict, how sure it is, and the sentence."""
    least, low, high = judged.least, judged.chance_low, judged.chance_high
    gaps: dict[str, Any] = {
        "cylinder": cylinder,
        "wall": least.after,
        "place": least.name,
        "minimum": least.minimum,
        "bore": Qty(new_mm, "size"),
        "largest": Qty(judged.largest_mm, "size"),
    }
    if least.after.value <= 0:
        line = L("Cylinder {cylinder}: boring to {bore} would break through the wall at {place}.", **gaps)
        return Verdict.STOP, 1 - high, line
    if low >= confidence:
        line = L(
            "Cylinder {cylinder} keeps {wall} of wall at {place} with a bore of {bore}; the minimum is {minimum}.",
            **gaps,
        )
        return Verdict.GO, low, line
    if high <= 1 - confidence:
        line = L(
            "Cylinder {cylinder} would keep only {wall} of wall at {place} with a bore of {bore}; the minimum is {minimum}.",
            **gaps,
        )
        return Verdict.STOP, 1 - high, line
    line = L(
        "Cylinder {cylinder}: too close to call at {place}. About {wall} would be left with a bore of {bore}; "
        "the minimum is {minimum}. Measure that wall again.",
        **gaps,
    )
    return Verdict.MAYBE, high, line


def _check_why(cylinder: int, judged: _Judged) -> Iterator[Line]:
    least = judged.least
    yield L(
        "From {before} measured at {place}, boring takes half the growth of the bore.",
        before=least.before,
        place=least.name,
    )
    if least.toward_mm >= 0.0005:
        yield L("The new centre lies {shift} toward {place}.", shift=Qty(least.toward_mm, "diff"), place=least.name)
    elif least.toward_mm <= -0.0005:
        yield L("The new centre lies {shift} away from {place}.", shift=Qty(-least.toward_mm, "diff"), place=least.name)
    yield L(
        "By its walls, cylinder {cylinder} could take a bore of up to {largest}.",
        cylinder=cylinder,
        largest=Qty(judged.largest_mm, "size"),
    )
    if judged.gap_deg > 130:
        yield L("No wall was measured over {gap} of the circle; measure there too.", gap=Qty(judged.gap_deg, "angle"))


def _influences(least: PlaceAfter) -> tuple[Influence, ...]:
    variance = sum(u * u for _, u in least.parts)
    found = (Influence(_CAUSES[cause], u * u / variance) for cause, u in least.parts if u)
    return tuple(sorted(found, key=lambda i: -i.share))


def room(cylinder: int, places: Sequence[WallPlace], boring: Boring, *, confidence: float = 0.95) -> Result:
    """How large a bore the walls of a cylinder allow, while no size has been chosen.

    Raises ValueError without places.
    """
    largest = largest_bore_mm(places, boring, confidence=confidence)
    thin = min(places, key=lambda p: p.wall_mm - p.minimum_mm)
    return Result(
        key=f"wall.{cylinder}",
        line=L(
            "By its walls, cylinder {cylinder} could take a bore of up to {largest}. The least wall now is {wall}, at {place}.",
            cylinder=cylinder,
            largest=Qty(largest, "size"),
            wall=Qty(thin.wall_mm, "wall", thin.u_mm),
            place=thin.name,
        ),
        value=Qty(largest, "size"),
        confidence=confidence,
        figures=(
            Figure("largest", L("Largest bore the walls allow"), Qty(largest, "size")),
            Figure("now", L("Least wall now"), Qty(thin.wall_mm, "wall", thin.u_mm)),
            Figure("minimum", L("Minimum wall"), Qty(thin.minimum_mm, "wall")),
        ),
        assumptions=(_BETWEEN,),
    )


def _widest_gap(angles: Sequence[float]) -> float:
    turns = sorted(a % 360 for a in angles)
    return max((b - a for a, b in zip(turns, [*turns[1:], turns[0] + 360], strict=True)), default=360.0)
