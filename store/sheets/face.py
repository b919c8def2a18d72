"""The top face: its heights above the main-bearing axis, and what they make of the bores."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import face
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Result, Verdict
from logic.say import L, Line

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import bore_length_mm, spacing_mm

__all__ = ["HEIGHT", "REMEDY", "SHEET", "X", "Y", "bore_places_mm", "fitted", "lean", "skim_mm"]

X = Number(
    key="face.x",
    label=L("Along the block"),
    kind="place",
    help=L("From the front edge of the top face toward the rear. The positions decide the slope, so measure them too."),
    low=0.0,
    high=3000.0,
    at=("point",),
)
Y = DefaultNumber(
    key="face.y",
    label=L("Across the block"),
    kind="place",
    help=L(
        "From the line of the bore centres, plus to the left as you look from the rear to the front. Left out, the point is on that line."
    ),
    low=-500.0,
    high=500.0,
    default=0.0,
    source="the line of the bore centres",
    at=("point",),
)
HEIGHT = Number(
    key="face.height",
    label=L("Height above the main-bearing axis"),
    kind="size",
    help=L("From a bar laid in the mains, or what an indicator shows against one setting. Only the differences count."),
    low=-20.0,
    high=1000.0,
    at=("point",),
    formula="slope = rise / run; lean = slope × bore length",
)
HEIGHT_U = DefaultNumber(
    key="face.height_u",
    label=L("How well a height is known"),
    kind="fine",
    help=L(
        "As a standard uncertainty, with the fit of the bar in the mains. Measure one place five times to find out."
    ),
    low=0.0005,
    high=0.2,
    default=constant("face.height_u").value,
)
LIMIT = DefaultNumber(
    key="face.limit",
    label=L("Most a bore may lean over its length"),
    kind="diff",
    help=L("The maker's figure for squareness wins. More than this loads the piston's side and the big end."),
    low=0.005,
    high=0.5,
    default=constant("face.lean_limit").value,
)
FIRST = Number(
    key="face.first_bore",
    label=L("Centre of the front bore, from the front edge"),
    kind="place",
    help=L(
        "Needed where the face is hollow or humped, since each bore then leans its own way. Left out, the row of bores is centred on the heights."
    ),
    low=0.0,
    high=3000.0,
    optional=True,
)
REMEDY = DefaultSelect(
    key="face.remedy",
    label=L("What is done about the face"),
    help=L(
        "Nothing, a skim parallel to the main bearings, or shims under the machine's base. After a skim, measure again and choose nothing."
    ),
    default="none",
    source="nothing done yet",
    choices=(Choice("none", L("Nothing")), Choice("skim", L("Skim the face")), Choice("shim", L("Shim the base"))),
)
SKIM = Number(
    key="face.skim",
    label=L("Skim taken, at the bores"),
    kind="diff",
    help=L(
        "What the face was lowered by, on average over the bores. It counts toward the compression and the piston's clearance."
    ),
    low=0.0,
    high=5.0,
    optional=True,
)
BASE_LENGTH = DefaultNumber(
    key="face.base_length",
    label=L("Length of the machine's base"),
    kind="place",
    help=L("Along the block, from foot to foot. A short base makes more of a chip under it."),
    low=40.0,
    high=1000.0,
    default=constant("face.base_length").value,
    card="bar",
)
BASE_WIDTH = DefaultNumber(
    key="face.base_width",
    label=L("Width of the machine's base"),
    kind="place",
    help=L("Across the block, from foot to foot. Used for the shims where the feet are not given one by one."),
    low=40.0,
    high=1000.0,
    default=constant("face.base_width").value,
    card="bar",
)
DIRT = DefaultNumber(
    key="face.dirt",
    label=L("Chip or burr to reckon with"),
    kind="diff",
    help=L("The thickness that could be missed under one side of the base. It shows what a clean face is worth."),
    low=0.0,
    high=2.0,
    default=constant("face.dirt").value,
    formula="lean = thickness / base length × bore length",
)
FOOT_X = Number(
    key="face.foot_x",
    label=L("Foot, along the block"),
    kind="place",
    help=L(
        "From the bore's centre, plus to the rear. Give three feet or more, or leave them all out for the base's corners."
    ),
    low=-1000.0,
    high=1000.0,
    at=("foot",),
    optional=True,
)
FOOT_Y = Number(
    key="face.foot_y",
    label=L("Foot, across the block"),
    kind="place",
    help=L("From the bore's centre, plus to the left as you look from the rear to the front."),
    low=-1000.0,
    high=1000.0,
    at=("foot",),
    optional=True,
)

CAUTIONS = for_sheet("face")


@remembered
def _spots(view: Any) -> tuple[face.Spot, ...]:
    """The points whose position along the block and height are both there."""
    xs, heights = view.events(X.key, "point"), view.events(HEIGHT.key, "point")
    return tuple(
        face.Spot(xs[n].value, view.number(Y, point=n), heights[n].value) for n in sorted(xs.keys() & heights.keys())
    )


# -- what other steps ask ------------------------------------------------------------------------
@remembered
def fitted(view: Any) -> face.Face | None:
    """The fitted face; None with heights at fewer than two places."""
    spots = _spots(view)
    if len({s[:2] for s in spots}) < 2:
        return None
    return face.survey(spots, u_mm=view.number(HEIGHT_U))


@remembered
def bore_places_mm(view: Any) -> dict[int, float]:
    """Where each bore lies along the face; empty while there is no face to lie on."""
    found = fitted(view)
    return {} if found is None else face.bore_places_mm(found, view.cylinders, spacing_mm(view), view.number(FIRST))


def _lean(view: Any, cylinder: int, remedied: bool) -> face.Lean | None:
    found = fitted(view)
    if found is None:
        return None
    return face.lean(
        found,
        cylinder=cylinder,
        x_mm=bore_places_mm(view)[cylinder],
        length_mm=bore_length_mm(view),
        limit_mm=view.number(LIMIT),
        remedied=remedied,
    )


@remembered
def lean(view: Any, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore will lean, with the skim or the shims if they were chosen; None where nothing was measured."""
    return _lean(view, cylinder, view.number(REMEDY) != "none")


@remembered
def _plan(view: Any) -> face.SkimPlan | None:
    found = fitted(view)
    return None if found is None else face.skim(found, bore_places_mm(view), bore_mm=view.nominal_mm)


def skim_mm(view: Any) -> float:
    """By how much the face is lowered at the bores: as entered, else as planned if a skim was chosen, else nothing."""
    taken = view.number(SKIM)
    if taken is not None:
        return taken
    plan = _plan(view) if view.number(REMEDY) == "skim" else None
    return 0.0 if plan is None else plan.mean_mm


# -- the step --------------------------------------------------------------------------------------
def _feet(view: Any) -> list[tuple[float, float]]:
    xs, ys = view.events(FOOT_X.key, "foot"), view.events(FOOT_Y.key, "foot")
    given = [(xs[n].value, ys[n].value) for n in sorted(xs.keys() & ys.keys())]
    return given if len(given) >= 3 else face.corners_mm(view.number(BASE_LENGTH), view.number(BASE_WIDTH))


def _missing(view: Any) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Halves of points begun; and two points at least."""
    xs, heights = view.events(X.key, "point"), view.events(HEIGHT.key, "point")
    begun = sorted(xs.keys() | heights.keys())
    for n in range(1, 3):
        if len(begun) < 2 and n not in begun:
            begun.append(n)
    return tuple((f.key, {"point": n}) for n in begun for f, have in ((X, xs), (HEIGHT, heights)) if n not in have)


def work(view: Any) -> Work:
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
    leans = [_lean(view, c, False) for c in view.cylinders]
    ready = with_assumed(face.ready(found, leans), view, HEIGHT_U, LIMIT)
    results: list[Result] = [ready]
    remedy = view.number(REMEDY)
    if remedy != "none":
        results.append(face.after_remedy([lean(view, c) for c in view.cylinders], skimmed=remedy == "skim"))
    if remedy == "skim" or ready.verdict != Verdict.GO:
        results.append(_plan(view))
    if remedy == "shim" or ready.verdict != Verdict.GO:
        feet = _feet(view)
        results += [face.shims(found, feet, cylinder=c, x_mm=x) for c, x in bore_places_mm(view).items()]
    return Work(
        results=(*results, dirt),
        missing=missing,
        done=not missing and (ready.verdict == Verdict.GO or remedy != "none"),
        pictures=(face.picture(found, leans, bore_places_mm(view)),),
        cautions=CAUTIONS,
    )


def _grown(view: Any, place: str, keys: tuple[str, ...], least: int) -> list[dict[str, Any]]:
    used = [n for key in keys for n in view.events(key, place)]
    return [{place: n} for n in range(1, max([least - 1, *used]) + 2)]


def _name(place: Mapping[str, Any]) -> Line:
    if "foot" in place:
        return L("Foot {foot}", foot=place["foot"])
    return L("Point {point}", point=place["point"])


SHEET = Sheet(
    key="face",
    order=3,
    title=L("Top face"),
    purpose=L("Find out whether the machine will stand square to the crank on this face, before it is clamped there."),
    groups=(
        Group(
            key="heights",
            title=L("Heights"),
            fields=(X, Y, HEIGHT),
            places=lambda view: _grown(view, "point", (X.key, Y.key, HEIGHT.key), 4),
            name=_name,
            grows=True,
            help=L(
                "Both sides at the front, in the middle and at the rear is best. Two points are the least, and show the least."
            ),
        ),
        Group(key="limits", title=L("What counts"), fields=(LIMIT, HEIGHT_U, FIRST)),
        Group(key="remedy", title=L("What is done about it"), fields=(REMEDY, SKIM)),
        Group(key="base", title=L("The machine's base"), fields=(BASE_LENGTH, BASE_WIDTH, DIRT)),
        Group(
            key="feet",
            title=L("The machine's feet"),
            fields=(FOOT_X, FOOT_Y),
            places=lambda view: _grown(view, "foot", (FOOT_X.key, FOOT_Y.key), 3),
            name=_name,
            grows=True,
            help=L("Only where the feet are not the corners of the base."),
        ),
    ),
    work=work,
    needs=("bores",),
    cautions=CAUTIONS,
)
