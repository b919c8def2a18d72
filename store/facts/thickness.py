"""The thickness gauge against its known places, and the walls as it read them."""

from __future__ import annotations

from logic import walls
from logic.directions import compass
from logic.say import L, Line

from ..fields.bores import MATERIAL
from ..fields.walls import KNOWN, MINIMUM, MINIMUM_THRUST, READING, REPEAT, SET_SPEED, SHOWN, THRUST
from ..folded import numbered
from ..graph import fact
from ..view import View
from .worn import worn_bore

__all__ = ["gauge", "thrust_side_deg", "walls_read"]


@fact
def thrust_side_deg(view: View) -> int | None:
    return {"left": 90, "right": 270}.get(view.choice(THRUST) or "")


def _place_name(view: View, angle: int) -> Line:
    if thrust_side_deg(view) == angle:
        return L("the thrust side")
    return compass(angle)


@fact
def gauge(view: View) -> walls.Calibration:
    """The correction of the thickness gauge from the known pieces entered."""
    shown = view.events(SHOWN, "piece")
    pieces = [
        walls.Piece(known.value, shown[n].value, u_shown_mm=view.number(REPEAT))
        for n, known in view.events(KNOWN, "piece").items()
        if n in shown
    ]
    read = [v.value for v in view.all(READING).values()]
    return walls.calibration(
        pieces,
        set_speed_m_s=view.number(SET_SPEED),
        material=view.choice(MATERIAL),
        smallest_wall_mm=min(read, default=None),
        largest_wall_mm=max(read, default=None),
    )


@fact
def walls_read(view: View, cylinder: int) -> tuple[walls.WallPlace, ...]:
    """The measured walls of a cylinder, corrected, with the bore they were measured from."""
    read = {numbered(where, "angle"): v.value for where, v in view.all(READING, cylinder=cylinder).items()}
    out: list[walls.WallPlace] = []
    for angle in sorted(read):
        found = _bore_there(view, cylinder, angle)
        if found is None:
            return ()
        wall, (bore_mm, wear_mm) = gauge(view).correct(read[angle], view.number(REPEAT)), found
        out.append(
            walls.WallPlace(
                name=_place_name(view, angle),
                angle_deg=angle,
                wall_mm=max(wall.value, 0.001),
                u_mm=wall.u or 0.0,
                bore_mm=bore_mm,
                wear_mm=wear_mm,
                minimum_mm=_minimum_mm(view, angle),
                states=gauge(view).states(read[angle]),
            )
        )
    return tuple(out)


def _bore_there(view: View, cylinder: int, angle: int) -> tuple[float, float] | None:
    """The bore a wall was measured from and its wear toward it, mm; the nominal bore where it was not gauged."""
    worn = worn_bore(view, cylinder)
    if worn is not None and worn.measured:
        return walls.bore_there(worn, angle)
    return None if view.nominal_mm is None else (view.nominal_mm, 0.0)


def _minimum_mm(view: View, angle: int) -> float:
    """The least wall allowed at an angle: the thrust side may have its own."""
    own = view.number(MINIMUM_THRUST)
    return own if own is not None and angle == thrust_side_deg(view) else view.number(MINIMUM)
