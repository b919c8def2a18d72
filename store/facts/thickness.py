"""The thickness gauge against its known places, and the walls as it read them."""

from __future__ import annotations

from logic import walls
from logic.directions import compass
from logic.say import L, Line

from ..fields.walls import KNOWN, MINIMUM, MINIMUM_THRUST, READING, REPEAT, SET_SPEED, SHOWN, THRUST
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
        smallest_wall_mm=min(read, default=None),
        largest_wall_mm=max(read, default=None),
    )


@fact
def walls_read(view: View, cylinder: int) -> tuple[walls.WallPlace, ...]:
    """The measured walls of a cylinder, corrected, with the bore they were measured from."""
    read = {dict(where)["angle"]: v.value for where, v in view.all(READING, cylinder=cylinder).items()}
    if not read:
        return ()
    correct = gauge(view).correct
    worn = worn_bore(view, cylinder)
    measured = worn is not None and worn.measured
    if not measured and view.nominal_mm is None:
        return ()
    repeat, usual = view.number(REPEAT), view.number(MINIMUM)
    at_thrust, thrust = view.number(MINIMUM_THRUST), thrust_side_deg(view)
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
