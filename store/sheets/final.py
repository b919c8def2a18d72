"""Final verification: each finished bore's size, roundness and taper, with a verdict on each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Verdict
from logic.say import L
from logic.verify import FinishedBore

from ..facts.final import after, base_mm, budget, capability, checked, final_spots
from ..facts.gauging import cells
from ..facts.settling import next_final
from ..facts.sizes import finished_mm
from ..fields.final import (
    AGAIN,
    BLOCK_C,
    BLOCK_U,
    DIVISION,
    MASTER_U,
    OVER,
    READING,
    REPEAT,
    ROUND,
    SURE,
    TAPER,
    UNDER,
    WARMED,
    WASHED,
    ZERO,
    ZERO_C,
)
from ..view import View
from .base import Group, Sheet, Work
from .gates import may_judge, waits_for_hone

__all__ = ["AGAIN", "READING", "SHEET", "ZERO", "after", "budget", "checked", "final_spots"]


def _missing(view: View) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """The gauge's zero, and the places to read in each cylinder whose size is settled."""
    zero: list[tuple[str, Mapping[str, Any]]] = [(ZERO.key, {})] if base_mm(view) is None else []
    wanted = [c for c in view.cylinders if finished_mm(view, c) is not None]
    unread = (at for at in cells(view) if at["cylinder"] in wanted and not view.rivals(READING, **at))
    return (*zero, *((READING.key, at) for at in unread))


def _worst_first(view: View) -> list[FinishedBore]:
    """The finished bores, those that are out and those in doubt first."""
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2}
    return sorted(checked(view).values(), key=lambda r: (order[r.verdict], r.cylinder))


def work(view: View) -> Work:
    """A verdict on each bore measured, the doubtful ones first, and the places still to read."""
    if all(finished_mm(view, c) is None for c in view.cylinders):
        return Work(
            blocked=L("Settle the finished sizes first: the bores are checked against them."),
            cautions=for_sheet("final"),
        )
    missing, results = _missing(view), _worst_first(view)
    all_in = all(r.verdict == Verdict.GO for r in results)
    able = capability(view)
    open_ = bool(missing) or any(r.verdict == Verdict.MAYBE for r in results)
    return Work(
        results=(*results, able) if able is not None and open_ else tuple(results),
        missing=missing,
        done=not missing and len(results) == len(view.cylinders) and all_in,
        pictures=tuple(p for r in results if (p := after(view, r.cylinder)) is not None),
        cautions=for_sheet("final"),
    )


def _again_places(view: View) -> list[dict[str, Any]]:
    """Repeats logged, and one more at each place that is too close to call."""
    logged: list[dict[str, Any]] = [dict(where) for where in view.all(AGAIN)]
    asked = [(r.cylinder, s.depth, s.axis) for r in checked(view).values() for s in r.again]
    places = [*logged]
    for cylinder, depth, axis in asked:
        at = {"cylinder": cylinder, "depth": depth, "axis": axis}
        last = max((p["check"] for p in logged if all(p[k] == v for k, v in at.items())), default=0)
        places.append({**at, "check": last + 1})
    return sorted(places, key=lambda p: (p["cylinder"], p["depth"], p["axis"], p["check"]))


SHEET = Sheet(
    key="final",
    order=13,
    title=L("Final check"),
    purpose=L("Measure every finished bore and say whether its size, roundness and taper are within limits."),
    groups=(
        Group(
            key="gauge",
            title=L("Gauge and temperatures"),
            fields=(WASHED, ZERO, ZERO_C, BLOCK_C, WARMED, BLOCK_U, DIVISION, REPEAT, MASTER_U),
            help=L("Zero the gauge afresh. Bring block, gauge and master to one temperature if you can."),
        ),
        Group(key="readings", title=L("Readings"), fields=(READING,), places=cells, name=place_name),
        Group(
            key="again",
            title=L("Read again"),
            fields=(AGAIN,),
            places=_again_places,
            name=place_name,
            help=L("Places where the answer was too close to call."),
        ),
        Group(key="limits", title=L("What is allowed"), fields=(OVER, UNDER, ROUND, TAPER, SURE)),
    ),
    work=work,
    later=next_final,
    minutes=(10, 4),
    waits=waits_for_hone,
    apart=True,
    gate=may_judge,
    vital=True,
    cautions=for_sheet("final"),
    base_mm=base_mm,
)
