"""Parts and lengths against one another: see :mod:`logic.fit_check`."""

from __future__ import annotations

from logic import fit_check
from logic.doubt import Doubt
from logic.readings_check import spot

from ..fields import bores, chamfer, clean, compression, sleeve, strip, walls
from ..graph import fact
from ..view import View
from .block import bore_length_mm
from .sizes import finished_sizes_mm
from .sleeves import sleeved
from .strip import crank_in
from .thickness import gauge

__all__ = ["fit_doubts"]

#: What every block needs after the machining.
_ALWAYS = ("clean.chips", "clean.bores", "clean.oilways", "clean.deck", "clean.rust", "clean.place")


@fact
def gasket_doubts(view: View) -> tuple[Doubt, ...]:
    """The gasket's bore against the chamfers and the distance between the bores."""
    out: list[Doubt] = []
    stated = [f for f in (compression.NEW_GASKET_BORE, compression.GASKET_BORE) if view.number(f) is not None][:1]
    for field in stated:
        gasket, about = float(view.number(field) or 0.0), spot(field.key)
        spacing = view.get(bores.SPACING)
        if spacing is not None and spacing.entered and len(view.cylinders) > 1:
            out += fit_check.check_gasket_land(gasket, spacing.value, about=(about, spot(bores.SPACING.key)))
        width = view.get(chamfer.WIDTH)
        for c, size in finished_sizes_mm(view).items():
            measured = view.number(chamfer.MEASURED, cylinder=c)
            key = spot(chamfer.WIDTH.key) if measured is None else spot(chamfer.MEASURED.key, cylinder=c)
            wide = measured if measured is not None else width.value if width is not None and width.entered else None
            if wide is not None:
                out += fit_check.check_chamfer(size, wide, gasket, about=(about, key))
    return tuple({d.key: d for d in out}.values())


@fact
def travel_doubts(view: View) -> tuple[Doubt, ...]:
    """The stroke against the rings' travel; sleeves against its end and the bore's."""
    out: list[Doubt] = []
    top, bottom, stroke = view.number(bores.RING_TOP), view.number(bores.RING_BOTTOM), view.number(compression.STROKE)
    if top is not None and bottom is not None and stroke is not None:
        about = (spot(compression.STROKE.key), spot(bores.RING_TOP.key), spot(bores.RING_BOTTOM.key))
        out += fit_check.check_stroke(stroke, bottom - top, about=about)
    for c in sleeved(view):
        length = view.number(sleeve.LENGTH, cylinder=c)
        if length is not None:
            about = (spot(sleeve.LENGTH.key, cylinder=c), spot(bores.LENGTH.key), spot(bores.RING_BOTTOM.key))
            out += fit_check.check_sleeve_length(c, length, bore_length_mm(view), bottom, about=about)
    return tuple(out)


@fact
def gauge_doubts(view: View) -> tuple[Doubt, ...]:
    """What the known pieces make of the thickness gauge, against the iron."""
    found = gauge(view)
    if not found.pieces:
        return ()
    pieces = sorted({*view.events(walls.KNOWN, "piece"), *view.events(walls.SHOWN, "piece")})
    about = tuple(spot(f.key, piece=n) for n in pieces for f in (walls.KNOWN, walls.SHOWN))
    untried = found.untried
    return tuple(fit_check.check_gauge(found.scale, found.zero_mm, untried.low, untried.high, about=about))


@fact
def said_doubts(view: View) -> tuple[Doubt, ...]:
    """Sides said to be swept without an offset, and checks said not to apply that always do."""
    out: list[Doubt] = []
    for c in view.cylinders:
        side = view.get(bores.SIDE, cylinder=c)
        if side is not None and side.value == "swept" and view.number(bores.OFFSET, cylinder=c) is None:
            about = (spot(bores.SIDE.key, cylinder=c), spot(bores.OFFSET.key, cylinder=c))
            out += fit_check.check_offset_said(c, about=about)
    covered = [f for f in strip.CHECKS if f.key == "strip.covered"] if crank_in(view) else []
    for field in (*covered, *(f for f in clean.CHECKS if f.key in _ALWAYS)):
        if view.choice(field) == "none":
            out += fit_check.check_settled(field.label, field.key, about=spot(field.key))
    return tuple(out)


@fact
def fit_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about parts and lengths that do not go with one another."""
    doubts = (gasket_doubts(view), travel_doubts(view), gauge_doubts(view), said_doubts(view))
    return tuple(d for some in doubts for d in some)
