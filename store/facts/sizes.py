"""The size each cylinder is to be bored and finished to, whatever the route, and the wall it leaves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logic import sizing, walls
from logic.oversize import Outcome
from logic.say import Qty

from ..fields.sizes import CLEARANCE
from ..graph import fact
from ..view import View
from .oversize import choice, chosen_step_mm, hone_stock_mm, step_of_mm
from .pistons import clearance_mm, own_piston, piston_mm
from .sleeves import Stage, block_bore_mm, seat, sleeved, stage
from .walls import wall_at
from .worn import worn_bores

__all__ = [
    "Route",
    "Target",
    "bar_mm",
    "bored_mm",
    "finished",
    "finished_mm",
    "finished_sizes_mm",
    "least_wall",
    "opened_mm",
    "target",
    "wall_after_mm",
]


class Route(StrEnum):
    """How a cylinder comes to its size."""

    OVERSIZE = "oversize"
    SLEEVE = "sleeve"
    HONE = "hone"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class Target:
    """What one cylinder is to become; sizes are diameters in mm at 20 °C, None while they are not known.

    ``finished_mm`` is what the piston runs in, ``bored_mm`` what the bar leaves for the
    hone, ``block_mm`` the bore of the block itself in the end (under a sleeve, the
    sleeve's bore), ``bar_mm`` what the bar is to leave next: at ``stage`` SEAT the bore
    the sleeve goes into, else ``bored_mm``.
    """

    route: Route
    stage: Stage
    finished_mm: float | None
    bored_mm: float | None
    block_mm: float | None
    bar_mm: float | None


@fact
def finished(view: View, cylinder: int) -> sizing.Finished | None:
    """A cylinder's sizes with their reasons; None while no step is known or only honing is needed."""
    piston, clearance = piston_mm(view, cylinder), clearance_mm(view)
    if piston is None or clearance is None:
        return None
    measured, advised = own_piston(view, cylinder), choice(view)
    return sizing.finished(
        cylinder,
        piston_mm=piston,
        clearance_mm=clearance,
        hone_stock_mm=hone_stock_mm(view),
        piston=measured[1] if measured else None,
        maker=view.number(CLEARANCE) is not None,
        measured=measured is not None,
        chance=_chance(view, cylinder, piston + clearance - hone_stock_mm(view)),
        wanted=0.95 if advised is None else advised.wanted,
        step_finished_mm=_by_step(view, cylinder),
    )


def _by_step(view: View, cylinder: int) -> float | None:
    step = step_of_mm(view, cylinder)
    return None if not step or view.nominal_mm is None else view.nominal_mm + step


def _chance(view: View, cylinder: int, bored: float) -> float | None:
    advised = choice(view)
    if advised is None or cylinder in advised.sleeve or cylinder in sleeved(view):
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
    if advised is None or advised.outcome != Outcome.HONE or chosen_step_mm(view) != 0.0:
        return None
    return advised.finished_mm


@fact
def bored_mm(view: View, cylinder: int) -> float | None:
    """The size the bar is to leave for the hone at 20 °C; None while it is not known or nothing is bored."""
    found = finished(view, cylinder)
    if found is not None:
        return found.bored_mm
    size = finished_mm(view, cylinder)
    # a sleeve is always bored, also where the other bores are only honed
    return None if size is None or cylinder not in sleeved(view) else size - hone_stock_mm(view)


@fact
def target(view: View, cylinder: int) -> Target:
    """What a cylinder is to become, whatever the route, and what the bar is to leave next."""
    now, finish, bored = stage(view, cylinder), finished_mm(view, cylinder), bored_mm(view, cylinder)
    if cylinder in sleeved(view):
        wanted, route = seat(view, cylinder), Route.SLEEVE
        block = block_bore_mm(view, cylinder)
    else:
        wanted, route = None, Route.UNKNOWN if finish is None else Route.HONE if bored is None else Route.OVERSIZE
        block = finish
    bar = bored if now == Stage.FINISH else None if wanted is None else wanted.aim_mm
    return Target(route=route, stage=now, finished_mm=finish, bored_mm=bored, block_mm=block, bar_mm=bar)


@fact
def bar_mm(view: View, cylinder: int) -> float | None:
    """The size the bar is to leave next at 20 °C: for the sleeve, or for the hone; None while it is not known."""
    return target(view, cylinder).bar_mm


def finished_sizes_mm(view: View) -> dict[int, float]:
    """The size each cylinder is to be finished to, where that is settled."""
    return {c: size for c in view.cylinders if (size := finished_mm(view, c)) is not None}


@fact
def opened_mm(view: View) -> float | None:
    """By how much the bore that grows most grows from unworn to finished, which opens a ring's gap; None while no size is settled."""
    worn, grown = worn_bores(view), []
    for c in view.cylinders:
        size, unworn = finished_mm(view, c), worn[c].unworn.mm if c in worn else view.nominal_mm
        if size is not None and unworn is not None:
            grown.append(size - unworn)
    return max(grown, default=None)


@fact
def least_wall(view: View, cylinder: int) -> walls.WallCheck | None:
    """The block's walls once all is bored: round the finished bore, or round the sleeve.

    None while no size is settled or no wall was measured.
    """
    size = target(view, cylinder).block_mm
    return None if size is None else wall_at(view, cylinder, size)


@fact
def wall_after_mm(view: View, cylinder: int) -> Qty | None:
    """The least wall left then, with its uncertainty; None as for :func:`least_wall`."""
    found = least_wall(view, cylinder)
    return None if found is None else found.least.after
