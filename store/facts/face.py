"""The top face, how each bore will lean from it, and by how much it is lowered."""

from __future__ import annotations

import math

from logic import cleanup, face
from logic.constants import constant

from ..fields.bores import CENTRED
from ..fields.face import FIRST, HEIGHT, HEIGHT_U, LIMIT, REMEDY, SKIM, TAKEN, X, Y
from ..graph import fact
from ..view import View
from .block import bore_length_mm, spacing_mm

__all__ = ["bore_lean", "bore_places_mm", "fitted", "lean", "lean_as_found", "skim_mm", "skim_plan", "taken_u_mm"]


@fact
def bore_lean(view: View, cylinder: int) -> cleanup.BoreLean:
    """How a cylinder leans from square to the top face: as measured, else as faces may lean that nobody measured."""
    found, length = lean(view, cylinder), bore_length_mm(view)
    centred = length if view.choice(CENTRED) == "bottom" else 0.0
    if found is None:
        return cleanup.BoreLean.unmeasured(length, centred)
    return cleanup.BoreLean(found.across_mm, found.along_mm, found.u_mm, length, centred)


@fact
def _spots(view: View) -> tuple[face.Spot, ...]:
    """The points whose position along the block and height are both there."""
    xs, heights = view.events(X, "point"), view.events(HEIGHT, "point")
    return tuple(
        face.Spot(xs[n].value, view.number(Y, point=n), heights[n].value) for n in sorted(xs.keys() & heights.keys())
    )


@fact
def fitted(view: View) -> face.Face | None:
    """The fitted face; None with heights at fewer than two places."""
    spots = _spots(view)
    if len({s[:2] for s in spots}) < 2:
        return None
    return face.survey(spots, u_mm=math.hypot(view.number(HEIGHT_U), taken_u_mm(view)))


@fact
def taken_u_mm(view: View) -> float:
    """The standard uncertainty that comes with what the heights were taken from, beside their own."""
    where = view.choice(TAKEN)
    return 0.0 if where in (None, "bar") else constant(f"face.{where}_u").value


@fact
def bore_places_mm(view: View) -> dict[int, float]:
    """Where each bore lies along the face; empty while there is no face to lie on."""
    found = fitted(view)
    return {} if found is None else face.bore_places_mm(found, view.cylinders, spacing_mm(view), view.number(FIRST))


def _lean(view: View, cylinder: int, *, remedied: bool) -> face.Lean | None:
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


@fact
def lean(view: View, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore will lean, with the skim or the shims if they were chosen; None where nothing was measured."""
    return _lean(view, cylinder, remedied=view.choice(REMEDY) != "none")


@fact
def lean_as_found(view: View, cylinder: int) -> face.Lean | None:
    """How a cylinder's bore would lean on the face as it is; None where nothing was measured."""
    return _lean(view, cylinder, remedied=False)


@fact
def skim_plan(view: View) -> face.SkimPlan | None:
    """What a skim would take to make the face square; None where nothing was measured."""
    found = fitted(view)
    return None if found is None else face.skim(found, bore_places_mm(view), bore_mm=view.nominal_mm)


@fact
def skim_mm(view: View) -> float:
    """By how much the face is lowered at the bores: as entered, else as planned if a skim was chosen, else nothing."""
    taken = view.number(SKIM)
    if taken is not None:
        return taken
    plan = skim_plan(view) if view.choice(REMEDY) == "skim" else None
    # bores that lie beyond the points measured could come out raised: a skim only takes off
    return 0.0 if plan is None else max(plan.mean_mm, 0.0)
