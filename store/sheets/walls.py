"""Cylinder walls: what the thickness gauge read, and what is left after boring."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from logic import walls
from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Result, Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.settling import next_wall
from ..facts.sizes import least_wall, wall_after_mm
from ..facts.thickness import gauge, walls_read
from ..facts.walls import bar_boring, largest_bore_mm, remaining, wall_at
from ..fields.bores import CENTRING
from ..fields.walls import KNOWN, MINIMUM, MINIMUM_THRUST, READING, REPEAT, SET_SPEED, SHOWN, THRUST
from ..kit import needs
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "CAUTIONS",
    "KNOWN",
    "MINIMUM",
    "MINIMUM_THRUST",
    "READING",
    "SHEET",
    "SHOWN",
    "THRUST",
    "largest_bore_mm",
    "least_wall",
    "remaining",
    "wall_after_mm",
    "wall_at",
    "walls_read",
]

#: Directions in which a wall is offered to be measured: the four main ones first.
MAIN = (0, 90, 180, 270)
BETWEEN = (45, 135, 225, 315)


def _wall_places(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c, "angle": a} for c in view.cylinders for a in (*MAIN, *BETWEEN)]


def _pieces(view: View) -> list[dict[str, Any]]:
    used = {*view.events(KNOWN, "piece"), *view.events(SHOWN, "piece")}
    return [{"piece": n} for n in range(1, max(used, default=0) + 2)]


def _places_of(cylinders: Iterable[int]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Where to measure at least."""
    return ((READING.key, {"cylinder": c, "angle": a}) for c in cylinders for a in MAIN)


def _walls(view: View, cylinder: int) -> Result | None:
    """A cylinder's walls at the size settled, or the largest bore they allow; None where none was measured."""
    places = walls_read(view, cylinder)
    if not places:
        return None
    found = least_wall(view, cylinder) or walls.room(cylinder, places, bar_boring(view, cylinder, places[0].bore_mm))
    return with_assumed(found, view, MINIMUM, REPEAT, CENTRING)


def _not_all_round(found: Result) -> Result:
    """No yes while a wall of the bore was not read: the thinnest one counts."""
    if found.verdict != Verdict.GO:
        return found
    why = L("Not every wall of this bore was read, and the thinnest one counts.")
    return replace(found, verdict=Verdict.MAYBE, confidence=None, why=(why, *found.why))


def work(view: View) -> Work:
    """The gauge's correction, and for each cylinder its walls at the finished size or the bore they allow."""
    if not view.all(READING):
        return Work(missing=tuple(_places_of(view.cylinders)))
    missing = tuple(at for at in _places_of(view.cylinders) if view.get(READING, **at[1]) is None)
    partly = {at["cylinder"] for _, at in missing}
    results = [
        _not_all_round(found) if c in partly else found
        for c in view.cylinders
        if (found := _walls(view, c)) is not None
    ]
    if not results and not missing:
        return Work(blocked=L("Enter the nominal bore or measure the bores first."), cautions=CAUTIONS)
    worst_first = {Verdict.STOP: 0, Verdict.MAYBE: 1}
    results.sort(key=lambda r: worst_first.get(r.verdict, 2))
    return Work(
        results=(*results, gauge(view)),
        missing=missing,
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
            name=place_name,
            grows=True,
            help=L(
                "Iron carries sound at many speeds. Without a known place of the same iron, a reading may be out by a quarter."
            ),
        ),
        Group(key="walls", title=L("Walls"), fields=(READING,), places=_wall_places, name=place_name),
        Group(
            key="limits",
            title=L("What must be left"),
            fields=(MINIMUM, THRUST, MINIMUM_THRUST, REPEAT, SET_SPEED),
        ),
    ),
    work=work,
    later=next_wall,
    minutes=(5, 4),
    idle=lambda view: needs(view, "thickness", L("Needs a thickness gauge")),
    cautions=CAUTIONS,
)
