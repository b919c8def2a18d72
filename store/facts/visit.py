"""How warm the block and what measures it were, visit by visit: the one place every step takes it from.

A visit begins when somebody enters its first temperature. A reading was taken in the visit
that had begun by then; readings made before the first belong to the first. A job that was
logged with a temperature in a step of its own keeps that one for that step.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from logic.fields import DefaultNumber, Number
from logic.result import Assumption, Result
from logic.say import L, Qty
from logic.temperature import REFERENCE_C

from ..assumed import assumed
from ..fields import bores, cut, final, hone, sizes, sweep, visit
from ..folded import Place, place
from ..graph import fact
from ..view import Value, View

__all__ = [
    "FIELDS",
    "OLD",
    "begun",
    "block_c",
    "block_now_c",
    "latest",
    "master_c",
    "master_now_c",
    "micrometer_c",
    "piston_c",
    "rests_on",
    "with_temperatures",
]

#: What is asked once a visit.
FIELDS = (visit.BLOCK, visit.GAUGE, visit.MICROMETER, visit.PISTONS)


@dataclass(frozen=True)
class _Step:
    """What a step measures, and the fields in which jobs logged earlier have its own temperatures."""

    measured: Number
    block: DefaultNumber
    master: DefaultNumber


_STEPS = {
    "bore": _Step(bores.READING, bores.BLOCK_C, bores.ZERO_C),
    "sweep": _Step(sweep.READING, bores.BLOCK_C, bores.ZERO_C),
    "present": _Step(cut.PRESENT, cut.BLOCK_C, cut.ZERO_C),
    "cut": _Step(cut.MEASURED, cut.BLOCK_C, cut.ZERO_C),
    "hone": _Step(hone.SIZE, hone.BLOCK_C, hone.ZERO_C),
    "final": _Step(final.READING, final.BLOCK_C, final.ZERO_C),
}
#: Fields that are shown only where a job has them: what they asked is asked once a visit now.
OLD = frozenset(f.key for step in _STEPS.values() for f in (step.block, step.master)) | {sizes.PISTON_C.key}


def _made(view: View, value: Value[float]) -> str:
    """When a value was first entered, whatever became of it since."""
    entry = value.entry
    return value.stamp if entry is None or not entry.replaces else view.first_stamp(entry)


@fact
def begun(view: View) -> tuple[tuple[int, str], ...]:
    """The visits with the stamp of their first temperature, in the order in which they began."""
    first: dict[int, str] = {}
    for field in FIELDS:
        for n, value in view.events(field, "visit").items():
            made = _made(view, value)
            first[n] = min(first.get(n, made), made)
    return tuple(sorted(first.items(), key=lambda one: (one[1], one[0])))


@fact
def latest(view: View) -> int | None:
    """The visit that began last; None before the first."""
    found = begun(view)
    return found[-1][0] if found else None


@fact
def _visit_of(view: View, key: str, where: Place) -> int | None:
    """The visit in which what was measured at a place was first read; the latest where nothing was."""
    found = begun(view)
    if not found:
        return None
    stamps = [_made(view, v) for v in view.all(key, **dict(where)).values()]
    if not stamps:
        return found[-1][0]
    first = min(stamps)
    return next((n for n, stamp in reversed(found) if stamp <= first), found[0][0])


def _in_visit(view: View, field: Number, number: int) -> float:
    """A temperature of a visit; where only the block's was taken, all is as warm as the block."""
    own = view.number(field, visit=number)
    if own is None and field is not visit.BLOCK:
        own = view.number(visit.BLOCK, visit=number)
    return REFERENCE_C if own is None else own


def _temperature(view: View, own: DefaultNumber, field: Number, number: int | None) -> float:
    stated = view.get(own)
    if stated.entered or number is None:
        return stated.value
    return _in_visit(view, field, number)


def _at(cylinder: int | None, more: dict[str, int]) -> Place:
    return place({} if cylinder is None else {"cylinder": cylinder}, **more)


def block_c(view: View, step: str, cylinder: int | None = None, **more: int) -> float:
    """How warm the block was when ``step`` was measured (at a cylinder, a pass, a check), °C."""
    one = _STEPS[step]
    return _temperature(view, one.block, visit.BLOCK, _visit_of(view, one.measured.key, _at(cylinder, more)))


def master_c(view: View, step: str, cylinder: int | None = None, **more: int) -> float:
    """How warm gauge and master were then, °C."""
    one = _STEPS[step]
    return _temperature(view, one.master, visit.GAUGE, _visit_of(view, one.measured.key, _at(cylinder, more)))


def block_now_c(view: View, step: str) -> float:
    """How warm the block is now, for what is to be cut or honed next, °C."""
    return _temperature(view, _STEPS[step].block, visit.BLOCK, latest(view))


def master_now_c(view: View, step: str) -> float:
    """How warm gauge and master are now, °C."""
    return _temperature(view, _STEPS[step].master, visit.GAUGE, latest(view))


def piston_c(view: View, cylinder: int) -> float:
    """How warm a piston was when it was measured, °C."""
    number = _visit_of(view, sizes.PISTON.key, place(cylinder=cylinder))
    return _temperature(view, sizes.PISTON_C, visit.PISTONS, number)


def micrometer_c(view: View, cylinder: int) -> float:
    """How warm the micrometer was then, °C: 20 in a job that says nothing of it."""
    number = _visit_of(view, sizes.PISTON.key, place(cylinder=cylinder))
    if number is None or view.get(sizes.PISTON_C).entered:
        return REFERENCE_C
    return _in_visit(view, visit.MICROMETER, number)


def rests_on(view: View, step: str) -> tuple[tuple[str, Place], tuple[str, Place]]:
    """Where the temperatures of block and master that a step reckons with were entered, or would be."""
    one = _STEPS[step]
    number = _visit_of(view, one.measured.key, ())
    out = []
    for own, field in ((one.block, visit.BLOCK), (one.master, visit.GAUGE)):
        if number is None or view.get(own).entered:
            out.append((own.key, place()))
        else:
            stated = field if view.number(field, visit=number) is not None else visit.BLOCK
            out.append((stated.key, place(visit=number)))
    return out[0], out[1]


R = TypeVar("R", bound=Result)


def with_temperatures(result: R, view: View, step: str) -> R:
    """``result`` with what is only assumed of the temperatures behind it."""
    one = _STEPS[step]
    number = _visit_of(view, one.measured.key, ())
    if number is None or view.get(one.block).entered:
        return replace(result, assumptions=(*result.assumptions, *assumed(view, one.block, one.master)))
    if view.get(one.master).entered or view.number(visit.GAUGE, visit=number) is not None:
        return result
    warm = Qty(_in_visit(view, visit.GAUGE, number), "temperature")
    line = L("The gauge and its master are as warm as the block, {temperature}.", temperature=warm)
    return replace(result, assumptions=(*result.assumptions, Assumption(line)))
