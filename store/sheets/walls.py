"""Cylinder walls: what the thickness gauge read, and what is left after boring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from logic import walls
from logic.cautions import for_sheet
from logic.directions import compass
from logic.fields import Choice, DefaultNumber, Number, Select
from logic.result import Result, Verdict
from logic.say import L, Line, Qty

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import CENTRING

__all__ = [
    "READING",
    "SHEET",
    "gauge",
    "largest_bore_mm",
    "least_wall",
    "offset_limit",
    "remaining",
    "wall_after_mm",
    "wall_at",
    "walls_read",
]

#: Directions in which a wall is offered to be measured: the four main ones first.
MAIN = (0, 90, 180, 270)
BETWEEN = (45, 135, 225, 315)

READING = Number(
    key="wall.reading",
    label=L("Wall, as the gauge shows it"),
    kind="wall",
    help=L(
        "Move the probe up and down and enter the thinnest reading on that side. Wet it well and press it square to the bore."
    ),
    low=0.5,
    high=40.0,
    at=("cylinder", "angle"),
    formula="wall after = wall − (new bore − old bore) / 2 − shift",
)
KNOWN = Number(
    key="wall.known",
    label=L("Known thickness"),
    kind="wall",
    help=L(
        "A place of the same block that calipers or a micrometer reach, such as an edge or a flange. About as thick as the walls is best."
    ),
    low=1.0,
    high=60.0,
    at=("piece",),
    optional=True,
)
SHOWN = Number(
    key="wall.shown",
    label=L("What the gauge shows there"),
    kind="wall",
    help=L(
        "Read it with the same probe, couplant and setting as the walls. One known place sets the scale, two set the zero as well."
    ),
    low=0.5,
    high=80.0,
    at=("piece",),
    optional=True,
)
SET_SPEED = Number(
    key="wall.set_speed",
    label=L("Speed of sound set on the gauge"),
    kind="sound",
    help=L("Only if you want the iron's own speed worked out. It changes nothing else."),
    low=1000.0,
    high=10000.0,
    optional=True,
)
REPEAT = DefaultNumber(
    key="wall.repeat",
    label=L("How well a wall reading repeats"),
    kind="diff",
    help=L(
        "Take the probe off and read one spot five times: about a third of the spread. Pitted or scaled walls repeat worse."
    ),
    low=0.005,
    high=1.0,
    default=0.05,
)
MINIMUM = DefaultNumber(
    key="wall.minimum",
    label=L("Least wall to leave"),
    kind="wall",
    help=L("The maker's figure wins. Hard-worked and supercharged engines need more than the usual figure."),
    low=0.5,
    high=20.0,
    default=3.0,
)
THRUST = Select(
    key="wall.thrust",
    label=L("Side that takes the thrust"),
    help=L(
        "Left and right as you look from the rear toward the front. It is the side the piston leans on as it is driven down."
    ),
    choices=(Choice("left", L("Left")), Choice("right", L("Right"))),
    optional=True,
)
MINIMUM_THRUST = Number(
    key="wall.minimum_thrust",
    label=L("Least wall on the thrust side"),
    kind="wall",
    help=L("Some makers want more there. Left out, the same minimum holds all round."),
    low=0.5,
    high=20.0,
    optional=True,
)


def _thrust_deg(view: Any) -> int | None:
    return {"left": 90, "right": 270}.get(view.number(THRUST))


def _place_name(view: Any, angle: int) -> Line:
    if _thrust_deg(view) == angle:
        return L("the thrust side")
    return compass(angle)


@remembered
def gauge(view: Any) -> walls.Calibration:
    """The correction of the thickness gauge from the known pieces entered."""
    shown = view.events(SHOWN.key, "piece")
    pieces = [
        walls.Piece(known.value, shown[n].value, u_shown_mm=view.number(REPEAT))
        for n, known in view.events(KNOWN.key, "piece").items()
        if n in shown
    ]
    read = [v.value for v in view.all(READING.key).values()]
    return walls.calibration(
        pieces,
        set_speed_m_s=view.number(SET_SPEED),
        smallest_wall_mm=min(read, default=None),
        largest_wall_mm=max(read, default=None),
    )


@remembered
def walls_read(view: Any, cylinder: int) -> tuple[walls.WallPlace, ...]:
    """The measured walls of a cylinder, corrected, with the bore they were measured from."""
    from .bores import worn_bores

    read = {dict(where)["angle"]: v.value for where, v in view.all(READING.key, cylinder=cylinder).items()}
    if not read:
        return ()
    correct = gauge(view).correct
    worn = worn_bores(view).get(cylinder)
    measured = worn is not None and worn.measured
    if not measured and view.nominal_mm is None:
        return ()
    repeat, usual = view.number(REPEAT), view.number(MINIMUM)
    at_thrust, thrust = view.number(MINIMUM_THRUST), _thrust_deg(view)
    out: list[walls.WallPlace] = []
    for angle in sorted(read):
        wall = correct(read[angle], repeat)
        bore_mm, wear_mm = walls.bore_there(worn, angle) if measured else (view.nominal_mm, 0.0)
        out.append(
            walls.WallPlace(
                name=_place_name(view, angle),
                angle_deg=angle,
                wall_mm=max(wall.value, 0.001),
                u_mm=wall.u or 0.0,
                bore_mm=bore_mm,
                wear_mm=wear_mm,
                minimum_mm=at_thrust if angle == thrust and at_thrust is not None else usual,
            )
        )
    return tuple(out)


@remembered
def _stand(view: Any, cylinder: int) -> walls.Boring:
    """How the bar will stand, at no size in particular: where the sweep advises or the person
    sets it over, leaning with the face, centred as well as it is."""
    from .bores import wear_side
    from .face import lean
    from .sweep import swept

    side = wear_side(view, cylinder)
    stand = walls.Boring(new_mm=1.0, u_shift_mm=side.u_centring_mm)
    found = swept(view, cylinder)
    thrust = _thrust_deg(view)
    if found is not None:
        far, toward = walls.polar(*found.moved_mm)
        stand = replace(stand, shift_mm=far, shift_deg=toward)
    elif side.bar_shift_mm and thrust is not None:
        stand = replace(stand, shift_mm=side.bar_shift_mm, shift_deg=float(thrust))
    elif side.bar_shift_mm:
        stand = replace(stand, either_way_mm=side.bar_shift_mm)
    leaning = lean(view, cylinder)
    if leaning is not None:
        far, toward = walls.polar(-leaning.along_mm, leaning.across_mm)
        stand = replace(stand, lean_mm=far, lean_deg=toward, u_lean_mm=leaning.u_mm)
    return stand


def _boring(view: Any, cylinder: int, new_mm: float) -> walls.Boring:
    """A cut to ``new_mm`` with the bar as it will stand."""
    return replace(_stand(view, cylinder), new_mm=new_mm)


# -- what other steps ask ------------------------------------------------------------------------
@remembered
def wall_at(view: Any, cylinder: int, new_mm: float) -> walls.WallCheck | None:
    """The cylinder's walls if it were bored to ``new_mm``; None where none was measured."""
    places = walls_read(view, cylinder)
    return walls.check(cylinder, places, _boring(view, cylinder, new_mm)) if places else None


def least_wall(view: Any, cylinder: int) -> walls.WallCheck | None:
    """The cylinder's walls at its finished size; None while no size is settled or no wall was measured."""
    from .sizes import finished_mm

    finished = finished_mm(view, cylinder)
    return None if finished is None else wall_at(view, cylinder, finished)


def wall_after_mm(view: Any, cylinder: int) -> Qty | None:
    """The least wall left at the finished size, with its uncertainty; None as for :func:`least_wall`."""
    found = least_wall(view, cylinder)
    return None if found is None else found.least.after


@remembered
def largest_bore_mm(view: Any, cylinder: int) -> float | None:
    """The largest finished bore the measured walls allow; None where none was measured."""
    places = walls_read(view, cylinder)
    return walls.largest_bore_mm(places, _boring(view, cylinder, places[0].bore_mm)) if places else None


@remembered
def offset_limit(view: Any, cylinder: int, direction_deg: float, new_mm: float) -> walls.OffsetLimit | None:
    """How far the bar may be set over toward ``direction_deg`` when boring to ``new_mm``; None without walls."""
    places = walls_read(view, cylinder)
    return walls.offset_limit(places, _boring(view, cylinder, new_mm), direction_deg) if places else None


def remaining(view: Any, cylinder: int, new_mm: float) -> tuple[tuple[float, float], ...]:
    """(angle_deg, wall left_mm) at each measured place if bored to ``new_mm``, for the ring picture."""
    found = wall_at(view, cylinder, new_mm)
    return () if found is None else tuple((p.angle_deg, p.after.value) for p in found.places)


# -- the step --------------------------------------------------------------------------------------
def _wall_places(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c, "angle": a} for c in view.cylinders for a in (*MAIN, *BETWEEN)]


def _pieces(view: Any) -> list[dict[str, Any]]:
    used = {*view.events(KNOWN.key, "piece"), *view.events(SHOWN.key, "piece")}
    return [{"piece": n} for n in range(1, max(used, default=0) + 2)]


def _name(place: Mapping[str, Any]) -> Line:
    if "piece" in place:
        return L("Known place {piece}", piece=place["piece"])
    return L("Cylinder {cylinder}, {place}", cylinder=place["cylinder"], place=compass(place["angle"]))


def work(view: Any) -> Work:
    """The gauge's correction, and for each cylinder its walls at the finished size or the bore they allow."""
    if not view.all(READING.key):
        return Work(missing=tuple((READING.key, {"cylinder": c, "angle": a}) for c in view.cylinders for a in MAIN))
    results: list[Result] = []
    missing: list[tuple[str, Mapping[str, Any]]] = []
    for cylinder in view.cylinders:
        places = walls_read(view, cylinder)
        if not places:
            if not view.all(READING.key, cylinder=cylinder):
                missing.extend((READING.key, {"cylinder": cylinder, "angle": a}) for a in MAIN)
            continue
        found = least_wall(view, cylinder) or walls.room(cylinder, places, _boring(view, cylinder, places[0].bore_mm))
        results.append(with_assumed(found, view, MINIMUM, REPEAT, CENTRING))
    if not results and not missing:
        return Work(blocked=L("Enter the nominal bore or measure the bores first."), cautions=CAUTIONS)
    worst_first = {Verdict.STOP: 0, Verdict.MAYBE: 1}
    results.sort(key=lambda r: worst_first.get(r.verdict, 2))
    return Work(
        results=(*results, gauge(view)),
        missing=tuple(missing),
        done=not missing and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
        cautions=CAUTIONS,
    )


CAUTIONS = for_sheet("walls")

SHEET = Sheet(
    key="walls",
    order=2,
    title=L("Walls"),
    purpose=L("Learn how much iron stands round each bore, and how far it may be bored."),
    groups=(
        Group(
            key="gauge",
            title=L("Try the gauge on a known place"),
            fields=(KNOWN, SHOWN),
            places=_pieces,
            name=_name,
            grows=True,
            help=L(
                "Iron carries sound at many speeds. Without a known place of the same iron, a reading may be out by a quarter."
            ),
        ),
        Group(key="walls", title=L("Walls"), fields=(READING,), places=_wall_places, name=_name),
        Group(
            key="limits",
            title=L("What must be left"),
            fields=(MINIMUM, THRUST, MINIMUM_THRUST, REPEAT, SET_SPEED),
        ),
    ),
    work=work,
    needs=("bores", "face"),
    cautions=CAUTIONS,
)
