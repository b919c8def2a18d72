"""Which cylinders get a sleeve, and the bore each sleeve wants."""

from __future__ import annotations

from enum import StrEnum

from logic import sleeve
from logic.constants import constant
from logic.result import Verdict

from ..fields.sleeve import BORED, INSIDE, LEAST_FIT, LENGTH, MOST_FIT, OUTSIDE, SLEEVE_MODULUS, WANTED
from ..graph import fact
from ..view import View
from .block import bore_length_mm

__all__ = ["Stage", "block_bore_mm", "bore_for_sleeve_mm", "seat", "sleeve_of", "sleeved", "stage"]


#: A sleeve this stiff is of steel.
_STEEL_MPA = 190_000.0


class Stage(StrEnum):
    """Which bore the bar cuts: the one a sleeve goes into, or the one the piston runs in."""

    SEAT = "seat"
    FINISH = "finish"


@fact
def sleeved(view: View) -> list[int]:
    """The cylinders that get a sleeve."""
    return [c for c in view.cylinders if view.choice(WANTED, cylinder=c) == "yes"]


def _fit_mm(outside_mm: float, least_mm: float | None, most_mm: float | None) -> tuple[float, float] | None:
    """The interference as stated. One limit alone keeps the usual range's width; two the wrong way round are turned."""
    if least_mm is None and most_mm is None:
        return None
    width = (sleeve.MOST_FIT_PER_MM - sleeve.LEAST_FIT_PER_MM) * outside_mm
    low = max(0.0, (most_mm or 0.0) - width) if least_mm is None else least_mm
    high = low + width if most_mm is None else most_mm
    return min(low, high), max(low, high)


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
    fit = _fit_mm(outside, least, most)
    if fit is not None and fit[1] >= outside - inside:
        return None
    modulus = view.number(SLEEVE_MODULUS)
    kind = "steel" if modulus >= _STEEL_MPA else "grey_iron"
    iron = sleeve.Iron(modulus, constant(f"poisson.{kind}").value, constant(f"expansion.{kind}").value)
    return sleeve.Sleeve(outside_mm=outside, inside_mm=inside, length_mm=length, fit_mm=fit, iron=iron)


@fact
def seat(view: View, cylinder: int) -> sleeve.SleeveBore | None:
    """The bore a cylinder's sleeve wants, judged once it is measured; None where it gets none or its sizes are missing."""
    found = sleeve_of(view, cylinder) if cylinder in sleeved(view) else None
    return (
        None
        if found is None
        else sleeve.bore_for_sleeve(cylinder, found, bored_mm=view.number(BORED, cylinder=cylinder))
    )


@fact
def stage(view: View, cylinder: int) -> Stage:
    """What the bar is to cut next in a cylinder: the bore its sleeve goes into, or the bore the piston runs in.

    The sleeve's bore comes first, until it is measured and such that the sleeve can be fitted.
    """
    if cylinder not in sleeved(view):
        return Stage.FINISH
    wanted = seat(view, cylinder)
    if wanted is None or view.number(BORED, cylinder=cylinder) is None:
        return Stage.SEAT
    return Stage.SEAT if wanted.verdict == Verdict.STOP else Stage.FINISH


@fact
def block_bore_mm(view: View, cylinder: int) -> float | None:
    """The bore of the block under a sleeve: as measured once it is bored, else as the sleeve wants it."""
    wanted = seat(view, cylinder)
    if wanted is None:
        return None
    return wanted.aim_mm if wanted.interference_mm is None else view.number(BORED, cylinder=cylinder)


@fact
def bore_for_sleeve_mm(view: View, cylinder: int) -> float | None:
    """The size to bore a cylinder to for its sleeve; None where it gets none or its sizes are missing."""
    found = seat(view, cylinder)
    return None if found is None else found.aim_mm
