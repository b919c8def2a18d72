"""The pistons and the clearance they are to have."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TypeVar

from logic import sizing
from logic.constants import constant
from logic.result import Assumption, Result
from logic.say import L
from logic.temperature import size_at
from logic.uncertainty import Budget

from ..fields.sizes import ALLOY, CLEARANCE, COOLING, DUTY, FITTED, FUEL, PISTON, PISTON_C_U, PISTON_U
from ..graph import fact
from ..view import View
from .instruments import instrument
from .oversize import chosen_step_mm, step_of_mm
from .visit import micrometer_c, piston_c

__all__ = [
    "clearance_mm",
    "duty",
    "measured_piston",
    "own_piston",
    "piston_mm",
    "piston_number",
    "piston_u_mm",
    "with_duty",
]


R = TypeVar("R", bound=Result)

#: Whole words by which an engine's name says that it is a diesel.
_DIESEL = re.compile(r"\b(diesel|tdi|idi)\b", re.IGNORECASE)


@fact
def duty(view: View) -> str:
    """What the engine does, a key of :data:`logic.sizing.DUTIES`: as entered; else a diesel where fuel or name say so."""
    stated = view.get(DUTY)
    if stated.entered:
        return stated.value
    fuel = view.choice(FUEL)
    named = fuel is None and _DIESEL.search(str(view.header("engine") or ""))
    return "diesel" if fuel == "diesel" or named else stated.value


@fact
def clearance_mm(view: View) -> float | None:
    """Cold clearance on diameter: the maker's, else by the table; None while no bore size is known."""
    stated = view.number(CLEARANCE)
    if stated is not None:
        return stated
    if view.nominal_mm is None:
        return None
    bore = view.nominal_mm + (chosen_step_mm(view) or 0.0)
    return sizing.default_clearance(bore, view.choice(ALLOY), duty(view), view.choice(COOLING)).mm


@fact
def piston_number(view: View, cylinder: int) -> int:
    """Under which number the piston of this cylinder was entered: its own unless another was put in its place."""
    stated = view.number(FITTED, cylinder=cylinder)
    return cylinder if stated is None else int(stated)


@fact
def measured_piston(view: View, number: int) -> tuple[float, Budget] | None:
    """The size at 20 °C of the piston entered under ``number``, with its budget; None while it is not measured."""
    reading = view.number(PISTON, cylinder=number)
    if reading is None:
        return None
    alloy, micrometer = sizing.ALLOYS[view.choice(ALLOY)], instrument(view, "micrometer")
    return sizing.measured_piston(
        size_at(reading, micrometer_c(view, number), constant("expansion.steel").value),
        u_reading_mm=math.hypot(max(view.number(PISTON_U), micrometer.spread_mm), micrometer.error_mm),
        piston_c=piston_c(view, number),
        u_piston_c=view.number(PISTON_C_U),
        alpha_per_k=alloy.expansion_per_k,
        alpha_u_per_k=alloy.expansion_u_per_k,
    )


@fact
def own_piston(view: View, cylinder: int) -> tuple[float, Budget] | None:
    """The piston that goes in a cylinder: its own, unless another was put in its place."""
    return measured_piston(view, piston_number(view, cylinder))


@fact
def piston_mm(view: View, cylinder: int) -> float | None:
    """The piston's gauge-point size at 20 °C: measured, else what the step implies; None while neither is known."""
    measured = own_piston(view, cylinder)
    if measured is not None:
        return measured[0]
    step, clearance = step_of_mm(view, cylinder), clearance_mm(view)
    return None if not step or view.nominal_mm is None or clearance is None else view.nominal_mm + step - clearance


@fact
def piston_u_mm(view: View, cylinder: int) -> float:
    """The standard uncertainty of that size; 0 where it only follows from the step."""
    measured = own_piston(view, cylinder)
    return 0.0 if measured is None else measured[1].u


def with_duty(result: R, view: View) -> R:
    """``result`` with what the engine is taken to do among its assumptions, where nobody stated it."""
    got, does = view.get(DUTY), duty(view)
    if got.entered:
        return result
    told = L("{what}: {value}", what=DUTY.label, value=sizing.DUTIES[does].label)
    source = got.source if does == got.value else "by its fuel"
    return replace(result, assumptions=(*result.assumptions, Assumption(told, source)))
