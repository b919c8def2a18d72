"""Chamfers and ring gaps against what makes them: see :mod:`logic.chamfer_check` and :mod:`logic.gap_check`."""

from __future__ import annotations

from logic import chamfer, chamfer_check, gap_check
from logic.doubt import Doubt
from logic.readings_check import spot

from ..fields.chamfer import ANGLE, MEASURED, STOPPED, TOUCH, TOUCH_U
from ..fields.rings import LEAST, WIDEST
from ..graph import fact
from ..view import View
from .passes import size_now_mm
from .rings import rings_of
from .sizes import bar_mm, finished_sizes_mm

__all__ = ["gap_doubts", "rim_doubts"]


@fact
def rim_doubts(view: View) -> tuple[Doubt, ...]:
    """The chamfers: where the tool touches, and their widths by the dial and measured across."""
    touch = {c: v for c in view.cylinders if (v := view.number(TOUCH, cylinder=c)) is not None}
    stopped = {c: v for c in view.cylinders if (v := view.number(STOPPED, cylinder=c)) is not None}
    across = {c: v for c in view.cylinders if (v := view.number(MEASURED, cylinder=c)) is not None}
    if not (touch or stopped):
        return ()
    sizes = {c: s for c in view.cylinders if (s := size_now_mm(view, c) or bar_mm(view, c)) is not None}
    angle, u = view.number(ANGLE), view.number(TOUCH_U)
    places = {c: spot(TOUCH.key, cylinder=c) for c in touch}
    out = list(chamfer_check.check_touches(touch, sizes, angle_deg=angle, u_mm=u, about=places))
    cut = {c: spot(STOPPED.key, cylinder=c) for c in stopped}
    out += chamfer_check.check_none_across(cut, measured=bool(across), angle=spot(ANGLE.key))
    for c in across.keys() & touch.keys() & stopped.keys():
        dial = chamfer.width_mm(max(0.0, stopped[c] - touch[c]), angle)
        here = tuple(spot(f.key, cylinder=c) for f in (MEASURED, TOUCH, STOPPED))
        out += chamfer_check.check_across(
            c, across[c], dial, u_mm=chamfer.width_mm(u, angle), about=(*here, spot(ANGLE.key))
        )
    return tuple(out)


@fact
def gap_doubts(view: View) -> tuple[Doubt, ...]:
    """The ring maker's gaps against the smallest finished bore, else the nominal one."""
    bore = min(finished_sizes_mm(view).values(), default=view.nominal_mm)
    if bore is None:
        return ()
    out: list[Doubt] = []
    for n, name, role in rings_of(view):
        least, widest = view.number(LEAST, ring=n), view.number(WIDEST, ring=n)
        if least is not None:
            out += gap_check.check_least(n, name, least, bore, role=role, about=spot(LEAST.key, ring=n))
        if widest is not None:
            out += gap_check.check_widest(n, name, widest, bore, role=role, about=spot(WIDEST.key, ring=n))
    return tuple(out)
