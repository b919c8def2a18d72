"""Which cylinders get a sleeve, and the bore each sleeve wants."""

from __future__ import annotations

from logic import sleeve

from ..fields.sleeve import INSIDE, LEAST_FIT, LENGTH, MOST_FIT, OUTSIDE, SLEEVE_MODULUS, WANTED
from ..graph import fact
from ..view import View
from .block import bore_length_mm

__all__ = ["bore_for_sleeve_mm", "sleeve_of", "sleeved"]


@fact
def sleeved(view: View) -> list[int]:
    """The cylinders that get a sleeve."""
    return [c for c in view.cylinders if view.choice(WANTED, cylinder=c) == "yes"]


@fact
def sleeve_of(view: View, cylinder: int) -> sleeve.Sleeve | None:
    """The sleeve for a cylinder as entered; None while a size is missing or the sizes contradict each other."""
    outside, inside = view.number(OUTSIDE, cylinder=cylinder), view.number(INSIDE, cylinder=cylinder)
    length = view.number(LENGTH, cylinder=cylinder)
    if length is None:
        length = bore_length_mm(view)
    if outside is None or inside is None or length is None or not sleeve.plausible(outside, inside):
        return None
    least, most = view.number(LEAST_FIT), view.number(MOST_FIT)
    fit = (least, most) if least is not None and most is not None and least <= most else None
    grey = sleeve.GREY_IRON
    iron = sleeve.Iron(view.number(SLEEVE_MODULUS), grey.poisson, grey.expansion_per_k)
    return sleeve.Sleeve(outside_mm=outside, inside_mm=inside, length_mm=length, fit_mm=fit, iron=iron)


@fact
def bore_for_sleeve_mm(view: View, cylinder: int) -> float | None:
    """The size to bore a cylinder to for its sleeve; None where it gets none or its sizes are missing."""
    found = sleeve_of(view, cylinder) if cylinder in sleeved(view) else None
    return None if found is None else sleeve.bore_for_sleeve(cylinder, found).aim_mm
