"""What moves a machine's figures, in words: size, cut, edge and iron for a bar; iron and wear of the stones for a hone.

Only what stands clear of its own uncertainty is said (twice the standard uncertainty).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .job_record import JobRecord
from .machine_record import BarModel, Series, irons_of
from .say import L, Line, Qty

__all__ = ["bar_effects", "hone_effects"]


_IRONS = {"grey_iron": L("Grey iron"), "aluminium_block": L("Aluminium"), "steel": L("Steel")}


def _iron(name: str) -> Line | str:
    return _IRONS.get(name, name.replace("_", " "))


def _clear(series: Series) -> list[float | None]:
    """The slopes that stand clear of their uncertainty; None in place of the others."""
    learned = series.learned
    return [b if abs(b) > 2.0 * u else None for b, u in zip(learned.slopes, learned.u_slopes, strict=True)]


def bar_effects(model: BarModel) -> tuple[Line, ...]:
    """What moves a bar's error: 10 mm of bore, 0.1 mm of cut, five passes of an edge, another iron."""
    size, cut, age, *irons = _clear(model.series)
    out = []
    if size is not None:
        out.append(L("A bore 10 mm larger moves it by {off}.", off=Qty(size, "deviation")))
    if cut is not None:
        out.append(L("A cut 0.1 mm heavier moves it by {off}.", off=Qty(0.1 * cut, "deviation")))
    if age is not None:
        out.append(L("Five passes of an edge move it by {off}.", off=Qty(5.0 * age, "deviation")))
    for name, off in zip(model.irons, irons, strict=True):
        if off is not None:
            out.append(L("{iron}: it differs by {off}.", iron=_iron(name), off=Qty(off, "deviation")))
    return tuple(out)


def hone_effects(series: Series, records: Sequence[JobRecord], grit: str) -> tuple[Line, ...]:
    """What moves a hone's removal: 1,000 strokes of the stones, and another iron."""
    worn, *irons = _clear(series)
    out = []
    if worn is not None:
        out.append(
            L("After 1,000 strokes of the stones it is {times} times as much.", times=Qty(math.exp(worn), "times"))
        )
    for name, by in zip(irons_of(records, f"rate.{grit}"), irons, strict=True):
        if by is not None:
            out.append(L("{iron}: {times} times as much.", iron=_iron(name), times=Qty(math.exp(by), "times")))
    return tuple(out)
