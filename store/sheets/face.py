"""The top face: its heights above the main-bearing axis, and what they make of the bores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeVar

from logic import face
from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Assumption, Result, Verdict
from logic.say import L, Qty

from ..assumed import with_assumed
from ..facts.block import bore_length_mm
from ..facts.face import bore_places_mm, fitted, lean, lean_as_found, skim_mm, skim_plan, taken_u_mm
from ..facts.settling import next_height
from ..fields.face import (
    BASE_LENGTH,
    BASE_WIDTH,
    DIRT,
    FIRST,
    FOOT_X,
    FOOT_Y,
    HEIGHT,
    HEIGHT_U,
    LIMIT,
    REMEDY,
    SKIM,
    TAKEN,
    X,
    Y,
)
from ..kit import needs
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "CAUTIONS",
    "FOOT_X",
    "FOOT_Y",
    "HEIGHT",
    "HEIGHT_U",
    "REMEDY",
    "SHEET",
    "SKIM",
    "X",
    "Y",
    "fitted",
    "lean",
    "skim_mm",
]

CAUTIONS = for_sheet("face")


def _feet(view: View) -> list[tuple[float, float]]:
    xs, ys = view.events(FOOT_X, "foot"), view.events(FOOT_Y, "foot")
    given = [(xs[n].value, ys[n].value) for n in sorted(xs.keys() & ys.keys())]
    return given if len(given) >= 3 else face.corners_mm(view.number(BASE_LENGTH), view.number(BASE_WIDTH))


def _missing(view: View) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Halves of points begun; and two points at least."""
    xs, heights = view.events(X, "point"), view.events(HEIGHT, "point")
    begun = sorted(xs.keys() | heights.keys())
    for n in range(1, 3):
        if len(begun) < 2 and n not in begun:
            begun.append(n)
    return tuple((f.key, {"point": n}) for n in begun for f, have in ((X, xs), (HEIGHT, heights)) if n not in have)


def _remedies(view: View, found: face.Face, *, square: bool) -> list[Result]:
    """What the remedy chosen leaves; and what a skim and shims would take where the face is not square, or one is chosen."""
    remedy = view.choice(REMEDY)
    results: list[Result] = []
    if remedy != "none":
        leans = [one for c in view.cylinders if (one := lean(view, c)) is not None]
        results.append(face.after_remedy(leans, skimmed=remedy == "skim"))
    skim = skim_plan(view)
    if skim is not None and (remedy == "skim" or not square):
        results.append(skim)
    if remedy == "shim" or not square:
        feet = _feet(view)
        results += [face.shims(found, feet, cylinder=c, x_mm=x) for c, x in bore_places_mm(view).items()]
    return results


R = TypeVar("R", bound=Result)

#: What makes heights less sure that were not taken from a bar in the mains.
_TAKEN = {
    "journals": L("Heights from the main journals: oil clearance and wear come in"),
    "rail": L("Heights from the sump rail: nobody machined it to the mains"),
}


def _as_taken(ready: R, view: View) -> R:
    """The same with what the heights were taken from, where that makes them less sure."""
    told = _TAKEN.get(view.choice(TAKEN) or "")
    if told is None:
        return ready
    more = Assumption(L("{what} (± {u})", what=told, u=Qty(2 * taken_u_mm(view), "fine")))
    return replace(ready, assumptions=(*ready.assumptions, more))


def work(view: View) -> Work:
    """Go or no go first, then what a skim or shims would take, and what dirt would do."""
    missing = _missing(view)
    dirt = with_assumed(
        face.dirt(
            view.number(DIRT),
            base_mm=view.number(BASE_LENGTH),
            length_mm=bore_length_mm(view),
            limit_mm=view.number(LIMIT),
        ),
        view,
        BASE_LENGTH,
        LIMIT,
    )
    found = fitted(view)
    if found is None:
        blocked = None if missing else L("All heights are at one place: measure at another place as well.")
        return Work(results=(dirt,), missing=missing, blocked=blocked, cautions=CAUTIONS)
    leans = [one for c in view.cylinders if (one := lean_as_found(view, c)) is not None]
    ready = _as_taken(with_assumed(face.ready(found, leans), view, HEIGHT_U, LIMIT), view)
    square = ready.verdict == Verdict.GO
    return Work(
        results=(ready, *_remedies(view, found, square=square), dirt),
        missing=missing,
        done=not missing and (square or view.choice(REMEDY) != "none"),
        pictures=(face.picture(found, leans, bore_places_mm(view)),),
        cautions=CAUTIONS,
    )


def _grown(view: View, place: str, keys: tuple[str, ...], least: int) -> list[dict[str, Any]]:
    used = [n for key in keys for n in view.events(key, place)]
    return [{place: n} for n in range(1, max([least - 1, *used]) + 2)]


SHEET = Sheet(
    key="face",
    order=8,
    title=L("Deck"),
    purpose=L("Find out whether the machine will stand square to the crank on this face, before it is clamped there."),
    groups=(
        Group(
            key="heights",
            title=L("Heights"),
            fields=(X, Y, HEIGHT),
            places=lambda view: _grown(view, "point", (X.key, Y.key, HEIGHT.key), 4),
            name=place_name,
            grows=True,
            help=L(
                "Both sides at the front, in the middle and at the rear is best. Two points are the least, and show the least."
            ),
        ),
        Group(key="limits", title=L("What counts"), fields=(TAKEN, LIMIT, HEIGHT_U, FIRST)),
        Group(key="remedy", title=L("What is done about it"), fields=(REMEDY, SKIM)),
        Group(key="base", title=L("The machine's base"), fields=(BASE_LENGTH, BASE_WIDTH, DIRT)),
        Group(
            key="feet",
            title=L("The machine's feet"),
            fields=(FOOT_X, FOOT_Y),
            places=lambda view: _grown(view, "foot", (FOOT_X.key, FOOT_Y.key), 3),
            name=place_name,
            grows=True,
            help=L("Only where the feet are not the corners of the base."),
        ),
    ),
    work=work,
    later=next_height,
    minutes=(15, 0),
    idle=lambda view: needs(view, "mains", L("Needs a straight bar in the main bearings")),
    cautions=CAUTIONS,
)
