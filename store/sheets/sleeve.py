"""Dry sleeves: for the cylinders that get one, the size to bore, the grip, how to fit it, and what is left to finish."""

from __future__ import annotations

from typing import Any

from logic import sleeve
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Field
from logic.result import Result, Verdict
from logic.say import L, Line

from ..assumed import with_assumed
from ..facts.gates import decided, decided_clean
from ..facts.oversize import choice
from ..facts.sizes import finished_mm, least_wall
from ..facts.sleeve_in import block_iron, finishing
from ..facts.sleeves import bore_for_sleeve_mm, seat, sleeve_of, sleeved
from ..facts.strip import sound
from ..fields.sizes import WALL_C
from ..fields.sleeve import (
    BLOCK_LIMIT,
    BLOCK_MODULUS,
    BORED,
    CLEARANCE,
    COLD,
    FRICTION,
    HOTTEST,
    INSIDE,
    LEAST_FIT,
    LEAST_SLEEVE,
    LEAST_STOCK,
    LENGTH,
    MOST_FIT,
    OUTSIDE,
    OUTSIDE_AGAIN,
    ROOM,
    SLEEVE_MODULUS,
    WANTED,
)
from ..places import cylinder_places, place_name
from ..view import View
from .base import Group, Sheet, Work

__all__ = ["CAUTIONS", "COLD", "LEAST_FIT", "MOST_FIT", "OUTSIDE_AGAIN", "SHEET", "bore_for_sleeve_mm"]


def _fitting(view: View, cylinder: int, given: sleeve.Sleeve, has_mm: float | None) -> Result:
    room, cold = view.number(ROOM), view.number(COLD)
    answer = sleeve.fitting(
        cylinder,
        given,
        interference_mm=has_mm,
        drop_clearance_mm=view.number(CLEARANCE),
        room_c=room,
        sleeve_c=None if cold is None else min(cold, room),
        block_limit_c=view.number(HOTTEST),
        block=block_iron(view),
    )
    return with_assumed(answer, view, CLEARANCE, ROOM, HOTTEST)


def _one(view: View, cylinder: int) -> list[Result]:
    """The answers for one sleeve: its bore, the walls round it, the grip, how it goes in, what is left to finish."""
    given, size = sleeve_of(view, cylinder), seat(view, cylinder)
    if given is None or size is None:
        return []
    found, has = least_wall(view, cylinder), size.interference_mm
    warm = view.number(WALL_C)
    running = constant("temperature.block_running").value if warm is None else warm
    hot = sleeve.hot(cylinder, given, interference_mm=has, running_c=running, block=block_iron(view))
    results: list[Result] = [size, hot] if found is None else [size, found, hot]
    fitting = _fitting(view, cylinder, given, has)
    finished, finish = finished_mm(view, cylinder), finishing(view, cylinder)
    if finished is None or finish is None:
        return [*results, fitting]
    grip = sleeve.grip(
        cylinder,
        given,
        wall=None if found is None else found.least.after,
        finished_mm=finished,
        interference_mm=has,
        friction=view.number(FRICTION),
        block=block_iron(view),
        block_limit_mpa=view.number(BLOCK_LIMIT),
    )
    return [
        *results,
        with_assumed(grip, view, FRICTION, BLOCK_LIMIT),
        fitting,
        with_assumed(finish, view, LEAST_STOCK, LEAST_SLEEVE),
    ]


def _hold(results: list[Result]) -> bool:
    """Whether nothing is against the sleeves. How one goes in is advice."""
    judged = (r for r in results if not r.key.startswith("sleeve.fitting"))
    return all(r.verdict in (Verdict.GO, Verdict.INFO) for r in judged)


def _contradiction(view: View) -> Line | None:
    """Why the sizes of the last such sleeve, though all there, make no sleeve; None where none is such."""
    against = [c for c in sleeved(view) if seat(view, c) is None and not _lacking(view, c)]
    if not against:
        return None
    cylinder = against[-1]
    outside, inside = view.number(OUTSIDE, cylinder=cylinder), view.number(INSIDE, cylinder=cylinder)
    if outside is not None and inside is not None and sleeve.plausible(outside, inside):
        return L("Cylinder {cylinder}: enter the sleeve's length, or the bore's.", cylinder=cylinder)
    return L("Cylinder {cylinder}: the sleeve is not larger outside than inside. Measure it again.", cylinder=cylinder)


def _none_wanted(view: View) -> Work:
    """What there is to say where no cylinder gets a sleeve."""
    advised = choice(view)
    if advised is None:
        return Work(blocked=L("Measure the worn bores first."))
    answer = sleeve.none_wanted(tuple(advised.sleeve), sound=sound(view))
    if not decided(view):
        return Work(results=(answer,), blocked=L("Decide on the oversize first."))
    return Work(results=(answer,), done=decided_clean(view) and not advised.sleeve)


def _lacking(view: View, cylinder: int) -> list[Field]:
    """What is not entered of a sleeve; once its own sizes are known, of the bore it goes into."""
    own: list[Field] = [f for f in (OUTSIDE, INSIDE) if view.number(f, cylinder=cylinder) is None]
    if seat(view, cylinder) is not None and view.number(BORED, cylinder=cylinder) is None:
        own.append(BORED)
    return own


def work(view: View) -> Work:
    """The four answers for each sleeved cylinder; done at once where none gets a sleeve."""
    wanted = sleeved(view)
    if not wanted:
        return _none_wanted(view)
    missing = [(f.key, {"cylinder": c}) for c in wanted for f in _lacking(view, c)]
    results = [r for c in wanted for r in _one(view, c)]
    contradiction = _contradiction(view)
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        blocked=contradiction,
        done=not missing and contradiction is None and _hold(results),
        cautions=CAUTIONS,
    )


def _not_needed(view: View) -> Line | None:
    """A sleeve is off the path until some bore needs one."""
    advised = choice(view)
    return None if advised is not None and advised.sleeve else L("No bore needs one")


def _sleeved_places(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in sleeved(view)]


CAUTIONS = for_sheet("sleeve")
SHEET = Sheet(
    key="sleeve",
    order=5,
    title=L("Sleeves"),
    purpose=L("Save a cylinder that no oversize cleans up by boring it for a dry sleeve."),
    groups=(
        Group(key="wanted", title=L("Which cylinders"), fields=(WANTED,), places=cylinder_places, name=place_name),
        Group(
            key="sleeve",
            title=L("The sleeve"),
            fields=(OUTSIDE, OUTSIDE_AGAIN, INSIDE, LENGTH, BORED),
            places=_sleeved_places,
            name=place_name,
        ),
        Group(
            key="fit",
            title=L("The fit"),
            fields=(LEAST_FIT, MOST_FIT, BLOCK_LIMIT, FRICTION, BLOCK_MODULUS, SLEEVE_MODULUS),
        ),
        Group(key="fitting", title=L("Getting it in"), fields=(CLEARANCE, ROOM, COLD, HOTTEST)),
        Group(key="finish", title=L("Finishing it"), fields=(LEAST_STOCK, LEAST_SLEEVE)),
    ),
    work=work,
    minutes=(10, 0),
    idle=_not_needed,
    cautions=CAUTIONS,
)
