"""Boring: the machine, the passes, and for each pass what was set and what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from logic import cutting, setting
from logic.cautions import for_sheet
from logic.result import Result, Verdict
from logic.say import L
from logic.temperature import as_shown_mm

from ..facts.bias import HISTORY_MEASURED, HISTORY_SET, bar_bias, bias, history, history_drafts, odd_settings, pairs
from ..facts.block import block_expansion_per_k, bore_length_mm
from ..facts.load import cutting_force_n, heaviest, passes_left
from ..facts.passes import bored_now_mm, edge_log, passes_logged, size_now_mm
from ..facts.sizes import bored_mm, finished_mm
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
from ..places import cylinder_places, of_cylinder, place_name
from ..view import View
from .base import Group, Lesson, Sheet, Work

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
    "history_drafts",
    "pairs",
    "passes_left",
    "size_now_mm",
]


def _pass_places(view: View) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = passes_logged(view, c)
        out += [{"cylinder": c, "pass": n} for n in [*logged, max(logged, default=0) + 1]]
    return out


def _now(view: View, plans: dict[int, cutting.Passes], learned: setting.Bias) -> list[Result]:
    """What to do next at the machine: a trial cut, or the setting for the next pass of the bore in hand."""
    open_bores = [c for c in plans if plans[c].passes]
    if not open_bores:
        return []
    begun = [c for c in open_bores if passes_logged(view, c)]
    c = (begun or open_bores)[0]
    nxt = plans[c].passes[0]
    meter, bar = view.choice(METER), view.number(BAR)
    at = {
        "block_c": view.number(BLOCK_C),
        "alpha_block_per_k": block_expansion_per_k(view),
        "master_c": view.number(ZERO_C),
    }
    wanted = as_shown_mm(nxt.to_mm, **at)
    if not learned.known:
        return [of_cylinder(setting.trial(wanted, as_shown_mm(nxt.from_mm, **at), meter=meter, bar_mm=bar), c)]
    finished = finished_mm(view, c)
    limit = None if finished is None else as_shown_mm(finished - view.number(LEAST_HONE), **at)
    cuts = [p.cut_mm for p in pairs(view) if p.cut_mm is not None and p.kept]
    return [
        of_cylinder(
            setting.next_setting(
                wanted,
                learned,
                meter=meter,
                bar_mm=bar,
                limit_mm=limit,
                cut_mm=nxt.cut_mm,
                usual_cut_mm=sorted(cuts)[len(cuts) // 2] if cuts else None,
                cold_mm=nxt.to_mm,
            ),
            c,
        )
    ]


def work(view: View) -> Work:
    """The next setting first, then the passes of every cylinder, the load, the edge, the time and the finish."""
    targets = {c: bored_mm(view, c) for c in view.cylinders}
    if all(t is None for t in targets.values()):
        return Work(blocked=L("Choose the oversize and settle the sizes first: then it is known what to bore to."))
    if view.choice(METER) == setting.BAR_TIP and view.number(BAR) is None:
        return Work(blocked=L("Enter the bar's diameter: the micrometer you chose reads bar and tip."))
    plans = {c: plan for c in view.cylinders if (plan := passes_left(view, c)) is not None}
    if not plans:
        return Work(blocked=L("Measure the worn bores, or enter the smallest size before boring."))
    sizes = [size_now_mm(view, c) for c in plans]
    if view.choice(METER) == setting.BAR_TIP and not all(setting.bar_fits(view.number(BAR), s) for s in sizes):
        return Work(blocked=L("The bar would be as large as the bore. Check the bar's diameter."))
    learned = bias(view)
    alarms: Sequence[Result | None] = (
        *odd_settings(view).values(),
        setting.slipped(pairs(view), history(view)),
        setting.wearing(pairs(view)),
    )
    results: list[Result] = [a for a in alarms if a is not None]
    results += _now(view, plans, learned)
    results += [of_cylinder(plan, c) for c, plan in plans.items()]
    load = heaviest(view)
    if load is not None:
        results.append(load)
    if learned.known:
        results.append(learned)
    length = bore_length_mm(view)
    size = next(t for t in targets.values() if t is not None)
    one = cutting.cutting_length_m(size, length, view.number(FEED))
    results.append(cutting.edge_use(edge_log(view), one, life_m=one * view.number(EDGE_LIFE)))
    results.append(
        cutting.time(
            [len(p.passes) for p in plans.values()],
            length,
            view.number(FEED),
            view.number(SPIN),
            setting_s=view.number(SETTING_TIME),
        )
    )
    if view.number(FEED) < 2 * view.number(NOSE):
        results.append(cutting.finish(view.number(FEED), view.number(NOSE)))
    off = view.number(CENTRE)
    if off is not None:
        results.append(cutting.centre_height(size / 2, off))
    done = len(plans) == len(targets) and all(not p.passes and p.verdict != Verdict.STOP for p in plans.values())
    return Work(results=tuple(results), done=done)


SHEET = Sheet(
    key="cut",
    order=9,
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
        Group(key="present", title=L("Before boring"), fields=(PRESENT,), places=cylinder_places, name=place_name),
        Group(key="micrometer", title=L("Setting the cutter"), fields=(METER, BAR, RESOLUTION, CENTRE)),
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
    cautions=for_sheet("cut"),
    teaches=Lesson(role="bar", drafts=history_drafts),
)
