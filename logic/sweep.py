"""Centring and clean-up from an indicator swept round the bore on the spindle: what it says.

:mod:`logic.sweep_readings` holds the readings and their zero, :mod:`logic.centring`
works out the best centre and the smallest cut that cleans the bore, with the model and
its doubt; here that becomes sentences, figures, cautions and a picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .centring import Centring, SweepLean, WallRoom, centring
from .constants import constant
from .directions import NOTHING_MM, compass, toward
from .pictures import SweepRing
from .placing import Part
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty
from .sweep_readings import Reading, Ring, Zero, displacement, goes_round, zero_from_diameters, zero_from_gap
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
Pair = tuple[float, float]


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
    another centre (None: none found that spares them all). ``missed_mm`` is what a spindle that
    misses its centre may make of ``clean_mm``, about it, a part of ``u_mm``.
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
    missed_mm: tuple[Part, ...] = ()

    @property
    def u_own_mm(self) -> float:
        """Standard uncertainty of ``clean_mm`` without what the zero brings."""
        return math.sqrt(max(0.0, self.u_mm**2 - self.u_zero_mm**2))

    @property
    def moved_mm(self) -> Pair:
        """How far the advised centre lies from the unworn ring's, to the front and to the left."""
        x, y = self.centre_mm if self.safe_centre_mm is None else self.safe_centre_mm
        return x - self.unworn_centre_mm[0], y - self.unworn_centre_mm[1]


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
    found = centring(
        readings,
        zero_mm=zero_mm,
        u_zero_mm=u_zero_mm,
        u_reading_mm=u_reading_mm,
        u_centring_mm=u_centring_mm,
        outward=outward,
        unworn_depth_mm=unworn_depth_mm,
        lean=lean,
        length_mm=length_mm,
        unworn_mm=unworn_mm,
        walls=walls,
    )
    verdict, line = _judge(cylinder, found)
    beyond = _beyond(unworn_mm) if lean is not None and length_mm is not None else _NOTHING_BEYOND
    return Swept(
        key=f"sweep.{cylinder}",
        line=line,
        value=Qty(found.clean_mm, "size", found.u_mm),
        verdict=verdict,
        why=tuple(_why(found, set_over)),
        figures=_figures(found),
        assumptions=_assumptions(found, zero_mm, u_zero_mm, u_reading_mm, u_centring_mm, beyond),
        influences=_influences(found.u_parts_mm, found.u_mm),
        cautions=tuple(_cautions(cylinder, found)),
        cylinder=cylinder,
        clean_mm=found.clean_mm,
        u_mm=found.u_mm,
        u_zero_mm=u_zero_mm,
        read_mm=found.read_mm,
        allowance_mm=found.allowance_mm,
        centre_mm=found.centre_mm,
        u_centre_mm=found.u_centre_mm,
        here_mm=found.here_mm,
        unworn_mm=found.on_unworn_mm,
        unworn_centre_mm=found.unworn_centre_mm,
        rings=found.rings,
        governing=found.governing,
        touching=found.touching,
        walls=tuple(_wall_left(w, found.clean_mm) for w in found.walls),
        safe_centre_mm=found.safe_centre_mm,
        safe_mm=found.safe_mm,
        missed_mm=found.missed_mm,
    )


def _wall_left(w: WallRoom, clean_mm: float) -> WallLeft:
    return WallLeft(
        name=w.place.name,
        angle_deg=w.place.angle_deg,
        left=Qty(w.left_mm, "wall", w.u_mm),
        minimum=Qty(w.place.minimum_mm, "wall"),
        chance=w.chance,
        most_mm=clean_mm + 2 * w.room_mm,
        offset_mm=w.room_mm,
    )


# -- words -------------------------------------------------------------------------------------
def _judge(cylinder: int, found: Centring) -> tuple[str, Line]:
    gaps: dict[str, Any] = {
        "n": cylinder,
        "clean": Qty(found.clean_mm, "size", found.u_mm),
        "here": Qty(found.here_mm, "size"),
        "where": toward(*found.centre_mm),
    }
    thin = min(found.walls, key=lambda w: w.chance, default=None)
    if thin is not None and thin.left_mm < thin.place.minimum_mm:
        left, minimum = Qty(thin.left_mm, "wall", thin.u_mm), Qty(thin.place.minimum_mm, "wall")
        said = dict(gaps, left=left, place=thin.place.name, minimum=minimum)
        if found.safe_mm is None:
            return Verdict.STOP, L(
                "Cylinder {n}: no centre was found that cleans up and leaves every wall its minimum. "
                "At {clean} only {left} would be left at {place}; the minimum is {minimum}.",
                **said,
            )
        return Verdict.MAYBE, L(
            "Cylinder {n} cleans up at {clean}, but that leaves only {left} at {place}, under the minimum of {minimum}. "
            "Another centre spares the wall and needs {safe}.",
            **said,
            safe=Qty(found.safe_mm, "size"),
        )
    if found.here_mm - found.clean_mm < 2 * NOTHING_MM:
        return Verdict.GO, L("Cylinder {n} cleans up at {clean}, and the spindle stands right for it.", **gaps)
    return Verdict.INFO, L(
        "Cylinder {n} cleans up at {clean} once the spindle moves {where}; sweep it again there. "
        "Where it stands now it would take {here}.",
        **gaps,
    )


def _why(found: Centring, set_over: Pair | None) -> Iterator[Line]:
    places = tuple(
        L("{depth} down at {direction}", depth=Qty(r.depth_mm, "place"), direction=compass(r.angle_deg))
        for r in found.touching
    )
    yield LN(
        "The cut is held by the wall at this place: {places}.",
        "The cut is held by the wall at these places: {places}.",
        len(places),
        places=places,
    )
    yield L(
        "A cut centred on the bore {depth} down would take {size}.",
        depth=Qty(found.unworn_ring.depth_mm, "place"),
        size=Qty(found.on_unworn_mm, "size"),
    )
    yield from _why_there(found.unworn_centre_mm, set_over)
    if found.allowance_mm > 0.0005:
        yield L(
            "Between the readings the wall may stand out by up to {more} more on the diameter.",
            more=Qty(found.allowance_mm, "diff"),
        )
    yield from _why_drift(found.rings)
    if found.safe_mm is not None and found.safe_centre_mm is not None:
        yield L("To spare the walls, move the spindle {where} instead.", where=toward(*found.safe_centre_mm))


def _why_there(unworn_centre: Pair, set_over: Pair | None) -> Iterator[Line]:
    """Where the spindle stands, and whether that is where it was meant to."""
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


def _why_drift(rings: Sequence[Ring]) -> Iterator[Line]:
    """How the middle of the bore drifts from the highest ring to the lowest."""
    if len(rings) < 2:
        return
    high, low = rings[0].circle, rings[-1].circle
    drift = (low.x_mm - high.x_mm, low.y_mm - high.y_mm)
    if math.hypot(*drift) >= 2 * NOTHING_MM:
        yield L(
            "From the highest to the lowest depth swept, the middle of the bore drifts {where}: lean, one-sided wear, or both.",
            where=toward(*drift),
        )


def _figures(found: Centring) -> tuple[Figure, ...]:
    front, to_left = found.centre_mm
    out = [
        Figure("clean", L("Clean-up diameter about the best centre"), Qty(found.clean_mm, "size", found.u_mm)),
        Figure("read", L("The same from the readings alone"), Qty(found.read_mm, "size")),
        Figure(
            "allowance", L("What may stand out between the readings, on the diameter"), Qty(found.allowance_mm, "diff")
        ),
        Figure("here", L("Clean-up diameter where the spindle stands now"), Qty(found.here_mm, "size")),
        Figure("unworn", L("Clean-up diameter centred on the unworn bore"), Qty(found.on_unworn_mm, "size")),
        Figure("front", L("Move the spindle toward the front"), Qty(front, "deviation", found.u_centre_mm)),
        Figure("left", L("Move the spindle toward the left"), Qty(to_left, "deviation", found.u_centre_mm)),
    ]
    for i, r in enumerate(found.rings, 1):
        out.append(
            Figure(
                f"round.{i}",
                L("Out of round {depth} down, on the radius", depth=Qty(r.depth_mm, "place")),
                Qty(r.zone_mm, "diff"),
            )
        )
    for i, w in enumerate(found.walls, 1):
        out.append(Figure(f"wall.{i}", L("Wall left at {place}", place=w.place.name), Qty(w.left_mm, "wall", w.u_mm)))
        out.append(
            Figure(
                f"most.{i}",
                L("Largest cut that leaves the minimum at {place}", place=w.place.name),
                Qty(found.clean_mm + 2 * w.room_mm, "size"),
            )
        )
        out.append(
            Figure(
                f"offset.{i}",
                L("The cut may still move toward {place} by", place=w.place.name),
                Qty(w.room_mm, "deviation"),
            )
        )
    if found.safe_mm is not None:
        out.append(
            Figure("safe", L("Clean-up diameter about the centre that spares the walls"), Qty(found.safe_mm, "size"))
        )
    return tuple(out)


def _assumptions(
    found: Centring, zero_mm: float, u_zero_mm: float, u_reading_mm: float, u_centring_mm: float, beyond: Assumption
) -> tuple[Assumption, ...]:
    few = min(found.rings, key=lambda r: r.waves)
    out = [
        Assumption(
            L(
                "The indicator reads zero at a diameter of {zero}, known to {u}.",
                zero=Qty(zero_mm, "size"),
                u=Qty(u_zero_mm, "fine"),
            ),
            "entered or from the bore gauge",
        ),
        Assumption(
            L("One reading is good to ±{u}, two times in three.", u=Qty(u_reading_mm, "fine")),
            "entered or common practice",
        ),
        Assumption(
            LN(
                "Between the readings the wall is smooth, with no more than one wave round the bore.",
                "Between the readings the wall is smooth, with no more than {n} waves round the bore.",
                few.waves,
            )
        ),
        Assumption(L("The cut stands square to the deck, as the spindle did during the sweep.")),
    ]
    if u_centring_mm:
        out.append(
            Assumption(
                L("The spindle can be moved to ±{u}, two times in three.", u=Qty(u_centring_mm, "fine")),
                "entered or common practice",
            )
        )
    return (*out, beyond)


def _beyond(unworn_mm: float | None) -> Assumption:
    """What stands for the bore beyond the depths swept."""
    if unworn_mm is None:
        return Assumption(
            L("Beyond the depths swept the bore is as worn as the nearest of them and square to the crank.")
        )
    return Assumption(
        L("Beyond the depths swept the bore is {size} and square to the crank.", size=Qty(unworn_mm, "size"))
    )


_NOTHING_BEYOND = Assumption(L("Nothing beyond the depths swept needs a larger cut."))


_PARTS = {
    "readings": L("Sweep readings"),
    "zero": L("Diameter at the indicator's zero"),
    "between": L("The wall between the readings"),
    "lean": L("Lean of the deck beyond the depths swept"),
    "centring": L("Moving the spindle to the best centre"),
}


def _influences(parts: Mapping[str, float], u: float) -> tuple[Influence, ...]:
    ranked = sorted(((v * v / (u * u), k) for k, v in parts.items() if v > 0), reverse=True) if u else []
    return tuple(Influence(_PARTS[k], share) for share, k in ranked)


def _cautions(n: int, found: Centring) -> Iterator[Caution]:
    if any(r.waves < 3 for r in found.rings):
        yield (
            Caution(
                f"sweep.few.{n}",
                L(
                    "Cylinder {n}: with fewer than eight readings round the bore a low place can hide between them. Take eight or twelve.",
                    n=n,
                ),
            )
        )
    if len(found.rings) == 1:
        yield (
            Caution(
                f"sweep.one_depth.{n}",
                L(
                    "Cylinder {n} was swept at one depth only. Sweep near the top of ring travel, in the middle and below ring travel.",
                    n=n,
                ),
            )
        )
    if any(w.chance < 0.95 for w in found.walls):
        yield (
            Caution(
                f"sweep.wall.{n}",
                L(
                    "Cylinder {n}: measure the thin wall again, in several places and heights, before you choose this centre.",
                    n=n,
                ),
            )
        )
    if found.on_unworn_mm - found.clean_mm > 0.02:
        yield (
            Caution(
                f"sweep.offset.{n}",
                L(
                    "Cylinder {n}: the best centre lies off the unworn bore. Check the maker's limit for the bore's position before you move it.",
                    n=n,
                ),
            )
        )


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
        points=tuple((a, radius + d - mean) for a, d in zip(ring.angles_deg, ring.deviations_mm, strict=True)),
        mean_radius_mm=mean,
        fit_centre_mm=(ring.circle.x_mm, ring.circle.y_mm),
        fit_radius_mm=0.0,
        cut_centre_mm=swept.centre_mm,
        cut_radius_mm=swept.clean_mm / 2 - mean,
        walls=tuple((w.angle_deg, w.left.value) for w in swept.walls),
    )
