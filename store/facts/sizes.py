"""The size each cylinder is to be bored and finished to, whatever the route, and the wall it leaves."""

from __future__ import annotations

from logic import sizing, walls
from logic.oversize import Outcome
from logic.say import Qty

from ..fields.sizes import CLEARANCE
from ..graph import fact
from ..view import View
from .oversize import choice, chosen_step_mm, hone_stock_mm, step_of_mm
from .pistons import clearance_mm, own_piston, piston_mm
from .walls import wall_at

__all__ = ["bored_mm", "finished", "finished_mm", "least_wall", "wall_after_mm"]


@fact
def least_wall(view: View, cylinder: int) -> walls.WallCheck | None:
    """The cylinder's walls at its finished size; None while no size is settled or no wall was measured."""
    finished = finished_mm(view, cylinder)
    return None if finished is None else wall_at(view, cylinder, finished)


@fact
def wall_after_mm(view: View, cylinder: int) -> Qty | None:
    """The least wall left at the finished size, with its uncertainty; None as for :func:`least_wall`."""
    found = least_wall(view, cylinder)
    return None if found is None else found.least.after


@fact
def finished(view: View, cylinder: int) -> sizing.Finished | None:
    """A cylinder's sizes with their reasons; None while no step is known or only honing is needed."""
    piston, clearance = piston_mm(view, cylinder), clearance_mm(view)
    if piston is None or clearance is None:
        return None
    measured = own_piston(view, cylinder)
    return sizing.finished(
        cylinder,
        piston_mm=piston,
        clearance_mm=clearance,
        hone_stock_mm=hone_stock_mm(view),
        piston=measured[1] if measured else None,
        maker=view.number(CLEARANCE) is not None,
        measured=measured is not None,
        chance=_chance(view, cylinder, piston + clearance - hone_stock_mm(view)),
        wanted=choice(view).wanted if choice(view) is not None else 0.95,
        step_finished_mm=_by_step(view, cylinder),
    )


def _by_step(view: View, cylinder: int) -> float | None:
    step = step_of_mm(view, cylinder)
    return None if not step or view.nominal_mm is None else view.nominal_mm + step


def _chance(view: View, cylinder: int, bored: float) -> float | None:
    advised = choice(view)
    if advised is None or cylinder in advised.sleeve:
        return None
    mine = next((c for c in advised.cleanups if c.cylinder == cylinder), None)
    return None if mine is None else mine.probability(bored, advised.u_bored_mm)


@fact
def finished_mm(view: View, cylinder: int) -> float | None:
    """A cylinder's finished size at 20 °C; None while it is not known."""
    found = finished(view, cylinder)
    if found is not None:
        return found.finished_mm
    advised = choice(view)
    hone_only = advised is not None and advised.outcome == Outcome.HONE and chosen_step_mm(view) == 0.0
    return advised.finished_mm if hone_only else None


@fact
def bored_mm(view: View, cylinder: int) -> float | None:
    """The size the bar is to leave at 20 °C; None while it is not known or nothing is bored."""
    found = finished(view, cylinder)
    return None if found is None else found.bored_mm
