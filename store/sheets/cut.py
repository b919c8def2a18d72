"""Boring: the machine, the passes, and for each pass what was set and what was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from logic import cutting, setting
from logic.cautions import for_sheet
from logic.pooling import predict
from logic.record_told import from_record, taper_left
from logic.result import Result, Verdict
from logic.say import L, Line
from logic.teardown import order_said
from logic.temperature import as_shown_mm

from ..facts.bias import (
    HISTORY_MEASURED,
    HISTORY_SET,
    as_the_block_stands,
    bar_bias,
    bias,
    history,
    missets,
    odd_settings,
    pairs,
    slipped,
)
from ..facts.block import bore_length_mm
from ..facts.load import cutting_force_n, heaviest, largest_pass_mm, passes_left
from ..facts.material import known_edge_life
from ..facts.passes import bored_now_mm, edge_log, next_entry, passes_in_hand, passes_logged, size_now_mm
from ..facts.record import bored_taper
from ..facts.settling import next_cut
from ..facts.sizes import bar_mm
from ..facts.sleeves import Stage, sleeved, stage
from ..facts.strip import order_of_boring, orders_of_boring
from ..fields.cut import (
    BAR,
    BLOCK_C,
    CENTRE,
    EDGE,
    EDGE_LIFE,
    EFFICIENCY,
    FEED,
    INDEXED,
    LAST,
    LEAD,
    LEAST_HONE,
    MEASURED,
    METER,
    MOTOR,
    NOSE,
    ORDER,
    PRESENT,
    RESOLUTION,
    SETTING,
    SETTING_TIME,
    SETUP_LIMIT,
    SPIN,
    TOOL_LIMIT,
    USE,
    WARM,
    WEAR,
    ZERO_C,
)
from ..fields.record import BAR_FIT
from ..fields.record import USE as USE_RECORD
from ..places import cylinder_places, of_cylinder, place_name
from ..view import View
from .base import Group, Sheet, Work
from .gates import bar_may_cut, only_honed, waits_for_clamps

__all__ = [
    "BAR",
    "BLOCK_C",
    "EDGE_LIFE",
    "FEED",
    "HISTORY_MEASURED",
    "HISTORY_SET",
    "INDEXED",
    "MEASURED",
    "METER",
    "NOSE",
    "PRESENT",
    "SETTING",
    "SETUP_LIMIT",
    "SHEET",
    "SPIN",
    "USE",
    "WARM",
    "ZERO_C",
    "bar_bias",
    "bias",
    "bored_now_mm",
    "cutting_force_n",
    "heaviest",
    "history",
    "pairs",
    "passes_left",
    "setting_for",
    "size_now_mm",
]

R = TypeVar("R", bound=Result)


def _finished(view: View, cylinder: int) -> bool:
    """Whether the bar has nothing left to take out of a bore that the piston runs in."""
    plan = passes_left(view, cylinder)
    return plan is not None and not plan.passes and stage(view, cylinder) == Stage.FINISH


def _pass_places(view: View) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = passes_logged(view, c)
        more = [] if _finished(view, c) else [max(logged, default=0) + 1]
        out += [{"cylinder": c, "pass": n} for n in [*logged, *more]]
    return out


def _said(view: View, result: R, cylinder: int) -> R:
    """An answer with its cylinder, and with its sleeve where the bore is one for a sleeve or in it."""
    if cylinder not in sleeved(view):
        return of_cylinder(result, cylinder)
    line = (
        L("Cylinder {c}, for its sleeve: {answer}", c=cylinder, answer=result.line)
        if stage(view, cylinder) == Stage.SEAT
        else L("Cylinder {c}, in its sleeve: {answer}", c=cylinder, answer=result.line)
    )
    return replace(of_cylinder(result, cylinder), line=line)


def _usual_cut_mm(view: View) -> float | None:
    """The cut of the pairs that count, on diameter: the middle one."""
    cuts = sorted(p.cut_mm for p in pairs(view) if p.cut_mm is not None and p.kept)
    return cuts[len(cuts) // 2] if cuts else None


def _now(view: View, plans: dict[int, cutting.Passes]) -> list[Result]:
    """What to do next at the machine: a trial cut, or the setting for the next pass of the bore in hand."""
    open_bores = [c for c in order_of_boring(view) if c in plans and plans[c].passes]
    if not open_bores:
        return []
    begun = [c for c in open_bores if passes_in_hand(view, c)]
    c = (begun or open_bores)[0]
    return [_said(view, setting_for(view, c, plans[c]), c)]


def setting_for(view: View, cylinder: int, plan: cutting.Passes) -> Result:
    """Where the micrometer is set for the next pass of a bore, or for a trial cut before any bias is known."""
    nxt, learned = plan.passes[0], bias(view)
    meter, bar, at = view.choice(METER), view.number(BAR), as_the_block_stands(view)
    wanted = as_shown_mm(nxt.to_mm, **at)
    if not learned.known:
        return setting.trial(wanted, as_shown_mm(nxt.from_mm, **at), meter=meter, bar_mm=bar)
    largest = largest_pass_mm(view, cylinder)
    return setting.next_setting(
        wanted,
        learned,
        meter=meter,
        bar_mm=bar,
        limit_mm=None if largest is None else as_shown_mm(largest, **at),
        cut_mm=nxt.cut_mm,
        usual_cut_mm=_usual_cut_mm(view),
        cold_mm=nxt.to_mm,
    )


def _goes_in(view: View, bar_diameter_mm: float, cylinder: int) -> bool:
    """Whether the bar is smaller than the bore as it is; True where that is not known."""
    size = size_now_mm(view, cylinder)
    return size is None or setting.bar_fits(bar_diameter_mm, size)


def _no_size(view: View) -> Line:
    """What must be known before there is a size to bore to."""
    if any(stage(view, c) == Stage.SEAT for c in view.cylinders):
        return L("Measure the sleeves first: they decide what to bore to.")
    return L("Choose the oversize and settle the sizes first: they say what to bore to.")


def _blocked(view: View, plans: dict[int, cutting.Passes]) -> Line | None:
    """What must be known before anything can be said of boring."""
    if all(bar_mm(view, c) is None for c in view.cylinders):
        return _no_size(view)
    bar = view.number(BAR) if view.choice(METER) == setting.BAR_TIP else 0.0
    if bar is None:
        return L("Enter the bar's diameter: the micrometer you chose reads bar and tip.")
    if not plans:
        return L("Measure the worn bores, or enter the smallest size before boring.")
    if bar and not all(_goes_in(view, bar, c) for c in plans):
        return L("The bar would be as large as the bore. Check the bar's diameter.")
    return None


def _taper_left(view: View) -> Result | None:
    """The taper the bar leaves by its record."""
    series = bored_taper(view)
    resting = None if series is None else series.basis
    return None if series is None or resting is None else taper_left(predict(series.learned), resting)


def _edge_use(view: View, pass_m: float) -> Result:
    """What the edge in use has cut of its life: as stated for this job, else by the bar's record."""
    known = known_edge_life(view)
    if known is None:
        return cutting.edge_use(edge_log(view), pass_m, life_m=pass_m * view.number(EDGE_LIFE))
    found = cutting.edge_use(edge_log(view), pass_m, life_m=pass_m * max(1.0, known[0]))
    return replace(found, why=(*found.why, from_record(known[1])))


def _machine(view: View, plans: dict[int, cutting.Passes]) -> list[Result]:
    """The load, the bias, the edge, the time, the finish and the height of the tip."""
    results: list[Result] = []
    load, learned = heaviest(view), bias(view)
    orders = orders_of_boring(view)
    if len(orders) > 1 or (view.choice(ORDER) == "spread" and len(view.cylinders) > 1):
        results.append(order_said(orders))
    known = (load, learned if learned.known else None, _taper_left(view))
    results += [r for r in known if r is not None]
    length, feed = bore_length_mm(view), view.number(FEED)
    size = next(s for c in view.cylinders if (s := bar_mm(view, c)) is not None)
    one = cutting.cutting_length_m(size, length, feed)
    results.append(_edge_use(view, one))
    passes = [len(p.passes) for p in plans.values()]
    if any(passes):
        results.append(cutting.time(passes, length, feed, view.number(SPIN), setting_s=view.number(SETTING_TIME)))
    if feed < 2 * view.number(NOSE):
        results.append(cutting.finish(feed, view.number(NOSE)))
    off = view.number(CENTRE)
    if off is not None:
        results.append(cutting.centre_height(size / 2, off))
    return results


def work(view: View) -> Work:
    """The next setting first, then the passes of every cylinder, the load, the edge, the time and the finish."""
    plans = {c: plan for c in view.cylinders if (plan := passes_left(view, c)) is not None}
    blocked = _blocked(view, plans)
    if blocked is not None:
        return Work(blocked=blocked)
    slip, wearing = slipped(view), setting.wearing(pairs(view))
    alarms = [*missets(view), *odd_settings(view).values(), *([slip] if slip else [])]
    alarms.sort(key=lambda a: a.verdict != Verdict.STOP)
    results: list[Result] = [*alarms, *([wearing] if wearing else [])]
    if not alarms:  # while one stands there is no next pass, and so no setting for it
        results += _now(view, plans)
    results += [_said(view, plan, c) for c, plan in plans.items()]
    results += _machine(view, plans)
    return Work(results=tuple(results), done=all(c in plans and _bored(view, c, plans[c]) for c in view.cylinders))


def _bored(view: View, cylinder: int, plan: cutting.Passes) -> bool:
    """Whether the bore the piston runs in has come to its size, and not over it."""
    return stage(view, cylinder) == Stage.FINISH and not plan.passes and plan.verdict != Verdict.STOP


SHEET = Sheet(
    key="cut",
    order=10,
    title=L("Boring"),
    purpose=L("Set the cutter for each pass, log what the bore measured, and learn what the bar really cuts."),
    groups=(
        Group(
            key="passes",
            title=L("Passes"),
            fields=(SETTING, MEASURED, WARM, INDEXED, USE),
            places=_pass_places,
            name=place_name,
            grows=True,
            help=L("Log the setting before the cut and the size after it. Every pair makes the next setting surer."),
        ),
        Group(
            key="record",
            title=L("The machine's record"),
            fields=(USE_RECORD, BAR_FIT),
            help=L("What the bar cut in earlier jobs, from its kit card."),
        ),
        Group(key="present", title=L("Before boring"), fields=(PRESENT,), places=cylinder_places, name=place_name),
        Group(key="micrometer", title=L("Setting the cutter"), fields=(METER, BAR, RESOLUTION, CENTRE, ORDER)),
        Group(
            key="machine",
            title=L("The machine and the cut"),
            fields=(
                SPIN,
                FEED,
                NOSE,
                LEAD,
                EDGE,
                EDGE_LIFE,
                MOTOR,
                EFFICIENCY,
                WEAR,
                TOOL_LIMIT,
                SETUP_LIMIT,
                LAST,
                LEAST_HONE,
                BLOCK_C,
                ZERO_C,
                SETTING_TIME,
            ),
            help=L(
                "Taken from the card of the bar you chose, where it says so. What you enter here holds for this job."
            ),
        ),
    ),
    work=work,
    later=next_cut,
    minutes=(10, 45),
    waits=waits_for_clamps,
    idle=only_honed,
    gate=bar_may_cut,
    next_at=next_entry,
    finished=_finished,
    vital=True,
    cautions=for_sheet("cut"),
)
