"""Where what was entered contradicts itself, or is likely a slip: the one place that looks at all of it.

Each check asks for the values it compares. What a doubt rests on is named by field and
place, so that every step which reads one of these values is held until it is settled: by a
correction, or by somebody who checked and says so (a decision called "doubt." and its key).
A value entered later than that opens it again.
"""

from __future__ import annotations

from collections.abc import Iterable

from logic import block_check, plan_check, readings_check, sizing
from logic.doubt import Doubt, Place
from logic.readings_check import Typing, spot
from logic.uncertainty import Budget
from logic.units import convert

from ..fields.bores import (
    CROWN,
    DEPTH,
    DIVISION,
    LAST_SIZE,
    LENGTH,
    READING,
    RING_BOTTOM,
    RING_TOP,
    UNWORN,
    ZERO,
)
from ..fields.sizes import ALLOY, CLEARANCE, COOLING, PISTON
from ..graph import fact
from ..view import View, place
from .block import bore_length_mm
from .evidence_after import DIALS, after_doubts
from .evidence_beside import beside_doubts
from .evidence_block import block_doubts
from .evidence_fit import fit_doubts
from .evidence_idle import idle_doubts
from .evidence_once import once_doubts
from .evidence_rims import gap_doubts, rim_doubts
from .evidence_space import space_doubts
from .evidence_sweep import sweep_doubts, swept_copies
from .evidence_usual import usual_doubts
from .gauging import budget, depths
from .oversize import step_of_mm, steps_mm
from .pistons import clearance_mm, duty, measured_piston
from .record_doubts import record_doubts
from .taken import taken_doubts
from .visit import block_c, master_c, rests_on
from .worn import worn_bores

__all__ = ["NOMINAL", "doubts", "raised", "stands_key"]

#: How a doubt names the nominal bore, which is no field but part of the job's header.
NOMINAL: Place = ("nominal", ())


def stands_key(doubt: str) -> str:
    """``what`` of the decision by which somebody checked a doubt and found that what was entered is right."""
    return f"doubt.{doubt}"


@fact
def typed_readings(view: View) -> dict[tuple[int, int, str], Typing]:
    """How the worn-bore readings were typed, by cylinder, depth and axis; those in lengths other than sizes."""
    out = {}
    for where, value in view.all(READING.key).items():
        at, typed = dict(where), getattr(value.entry, "typed", None)
        if typed is not None and typed.typed_unit in DIALS:
            unit = convert(1.0, typed.typed_unit, "mm")
            out[int(at["cylinder"]), int(at["depth"]), str(at["axis"])] = Typing(typed.text, unit)
    return out


@fact
def reference_doubts(view: View) -> tuple[Doubt, ...]:
    """The unworn bores against the nominal size, or the last rebore's."""
    worn, nominal = worn_bores(view), view.nominal_mm
    if not worn or nominal is None:
        return ()
    last, crown = view.number(LAST_SIZE), view.number(CROWN)
    sources = (NOMINAL, spot(LAST_SIZE.key), spot(CROWN.key))
    out = list(readings_check.check_nominal(nominal, last, crown, about=sources))
    if not out:
        out += readings_check.check_reference(
            worn,
            nominal_mm=nominal,
            last_mm=nominal + crown if last is None and crown else last,
            u_common_mm=budget(view).u_shared,
            about=(*sources, spot(ZERO.key), spot(READING.key)),
        )
    return tuple(out)


@fact
def reading_doubts(view: View) -> tuple[Doubt, ...]:
    """Readings that do not fit the others, a page copied, more decimals than the gauge has."""
    worn, typed = worn_bores(view), typed_readings(view)
    if not worn:
        return ()
    out = list(readings_check.check_readings(worn, typed, key=READING.key))
    out += readings_check.check_copies(worn, typed, key=READING.key)
    out += readings_check.check_division(
        typed, division_mm=view.number(DIVISION), key=READING.key, about=spot(DIVISION.key)
    )
    out += block_check.check_still(typed, u_mm=budget(view).u_own, division_mm=view.number(DIVISION), key=READING.key)
    for b in worn.values():
        out += readings_check.check_unworn(b, key=UNWORN.key, reading=READING.key)
    return tuple(out)


@fact
def temperature_doubts(view: View) -> tuple[Doubt, ...]:
    """The block's temperature and the master's."""
    block, master = rests_on(view, "bore")
    return tuple(
        readings_check.check_temperatures(block_c(view, "bore"), master_c(view, "bore"), block=block, master=master)
    )


@fact
def depth_doubts(view: View) -> tuple[Doubt, ...]:
    """Depths, ring travel and the bore's length."""
    stated = [(mm, spot(DEPTH.key, depth=d)) for d in depths(view) if (mm := view.number(DEPTH, depth=d)) is not None]
    length_mm, length = bore_length_mm(view), spot(LENGTH.key)
    out = list(plan_check.check_depths(stated, length_mm=length_mm, length=length))
    out += plan_check.check_travel(
        view.number(RING_TOP),
        view.number(RING_BOTTOM),
        length_mm=length_mm,
        about=(spot(RING_TOP.key), spot(RING_BOTTOM.key), length),
    )
    return tuple(out)


def _pistons_of(view: View, cylinders: Iterable[int]) -> dict[int, tuple[float, Budget]]:
    """The measured pistons of some cylinders."""
    return {c: m for c in cylinders if (m := measured_piston(view, c)) is not None}


@fact
def piston_doubts(view: View) -> tuple[Doubt, ...]:
    """The measured pistons against the step decided on, and against each other."""
    sizes = {c: (m[0], spot(PISTON.key, cylinder=c)) for c, m in _pistons_of(view, view.cylinders).items()}
    out = [d for c in sizes for d in _against_step(view, c)]
    steps = {step_of_mm(view, c) for c in sizes}
    if len(steps) < 2:  # mixed oversizes are no set
        out += plan_check.check_pistons_alike(sizes)
    if not out:
        for step in sorted(filter(None, steps)):
            out += _finish_of(view, step)
    return tuple(out)


def _against_step(view: View, cylinder: int) -> tuple[Doubt, ...]:
    measured, step, clearance = measured_piston(view, cylinder), step_of_mm(view, cylinder), clearance_mm(view)
    nominal = view.nominal_mm
    if measured is None or not step or clearance is None or nominal is None:
        return ()
    return tuple(
        plan_check.check_piston(
            cylinder,
            measured[0],
            measured[1].u,
            nominal_mm=nominal,
            step_mm=step,
            clearance_mm=clearance,
            steps_mm=steps_mm(view),
            about=(spot(PISTON.key, cylinder=cylinder),),
            maker=view.number(CLEARANCE) is not None,
        )
    )


def _finish_of(view: View, step: float) -> tuple[Doubt, ...]:
    """The pistons of one step with the clearance entered; without one there is nothing to hold against them."""
    clearance, nominal = view.number(CLEARANCE), view.nominal_mm
    of_step = [c for c in view.cylinders if step_of_mm(view, c) == step]
    measured = _pistons_of(view, of_step)
    if clearance is None or nominal is None or not measured:
        return ()
    return tuple(
        plan_check.check_finished(
            [m[0] for m in measured.values()],
            max(m[1].u for m in measured.values()),
            nominal_mm=nominal,
            step_mm=step,
            clearance_mm=clearance,
            about=(spot(CLEARANCE.key), *(spot(PISTON.key, cylinder=c) for c in measured)),
        )
    )


@fact
def clearance_doubts(view: View) -> tuple[Doubt, ...]:
    """The maker's clearance against the usual one."""
    stated, nominal = view.number(CLEARANCE), view.nominal_mm
    if stated is None or nominal is None:
        return ()
    usual = sizing.default_clearance(nominal, view.choice(ALLOY), duty(view), view.choice(COOLING)).mm
    return tuple(plan_check.check_clearance(stated, usual, about=spot(CLEARANCE.key)))


@fact
def raised(view: View) -> tuple[Doubt, ...]:
    """Every doubt about what was entered, whether somebody has settled it or not."""
    out = [*reference_doubts(view), *reading_doubts(view), *temperature_doubts(view), *depth_doubts(view)]
    for c in view.cylinders:
        out += sweep_doubts(view, c)
    out += swept_copies(view)
    out += piston_doubts(view)
    out += clearance_doubts(view)
    out += block_doubts(view)
    out += once_doubts(view)
    out += space_doubts(view)
    out += rim_doubts(view)
    out += gap_doubts(view)
    out += after_doubts(view)
    out += idle_doubts(view)
    out += usual_doubts(view)
    out += beside_doubts(view)
    out += fit_doubts(view)
    out += record_doubts(view)
    out += taken_doubts(view)
    return tuple(out)


def _latest(view: View, about: Place) -> str:
    """The stamp of the latest entry at a place, or at any place that agrees with it; "" where there is none."""
    key, at = about
    if key == "nominal":
        stamped = view.document.header.get("nominal")
        return "" if stamped is None else stamped.stamp
    stamps = [v.entry.stamp for v in view.all(key, **dict(at)).values() if v.entry is not None]
    return max(stamps, default="")


@fact
def settled(view: View, doubt: Doubt) -> bool:
    """Whether somebody checked it after the last of the values it rests on was entered."""
    decision = view.decisions.get((stands_key(doubt.key), place()))
    return decision is not None and all(_latest(view, about) < decision.stamp for about in doubt.about)


@fact
def doubts(view: View) -> tuple[Doubt, ...]:
    """What stands in the way of a yes."""
    return tuple(d for d in raised(view) if not settled(view, d))
