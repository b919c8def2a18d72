"""What the bar adds to its setting, from this job's passes and the bar's earlier jobs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from logic import setting
from logic.job_record import JobRecord
from logic.machine_record import USUAL_CUT_MM, BarModel, bar_model, standing_out
from logic.pooling import Sums, sums
from logic.record_told import from_record
from logic.result import Result
from logic.temperature import as_shown_mm

from ..fields.bores import MATERIAL
from ..fields.cut import BAR, MEASURED, METER, RESOLUTION, SETTING, USE, WARM
from ..graph import fact
from ..places import place_name
from ..view import View
from .block import block_expansion_per_k
from .passes import pass_mm, passes_in_order, passes_logged, size_now_mm, start_mm
from .record import HISTORY_MEASURED, HISTORY_SET, bar_fit, bar_record, earlier, told
from .sizes import bar_mm
from .visit import block_c, block_now_c, master_c, master_now_c

__all__ = [
    "HISTORY_MEASURED",
    "HISTORY_SET",
    "as_the_block_stands",
    "bar_bias",
    "bias",
    "cuts",
    "edge_ages",
    "history",
    "logged_pairs",
    "missets",
    "odd_settings",
    "own_sums",
    "pairs",
    "record_used",
    "slipped",
    "stands_out",
]


@fact
def odd_settings(view: View) -> dict[tuple[int, int], Result]:
    """Logged settings that cannot belong to their measured size, by (cylinder, pass)."""
    meter, bar = view.choice(METER), view.number(BAR)
    out = {}
    for c in view.cylinders:
        for n in passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            read = view.number(SETTING, **at)
            if read is not None and (meter == setting.BORE or bar is not None):
                found = setting.impossible(meter, read, view.number(MEASURED, **at), place_name(at), bar)
                if found is not None:
                    out[c, n] = replace(found, key=f"{found.key}.{c}.{n}")
    return out


def as_the_block_stands(view: View, step: str = "cut") -> dict[str, float]:
    """The temperatures and the expansion by which a size at 20 °C is given as the gauge shows it in the block now, by the
    temperatures of the visit or the step's own."""
    return {
        "block_c": block_now_c(view, step),
        "alpha_block_per_k": block_expansion_per_k(view),
        "master_c": master_now_c(view, step),
    }


def _pair(view: View, cylinder: int, number: int, before_mm: float | None) -> setting.Pair | None:
    """A pass as a pair of setting and size; None while it lacks one of them.

    A fresh cut is warm and reads large: its size counts as it will be shown once the bore is as warm as the block,
    which is how the next size is asked for.
    """
    at = {"cylinder": cylinder, "pass": number}
    read, shown, cold = view.number(SETTING, **at), view.number(MEASURED, **at), pass_mm(view, cylinder, number)
    if read is None or shown is None or cold is None:
        return None
    return setting.Pair(
        set_mm=setting.diameter_mm(view.choice(METER), read, view.number(BAR)),
        measured_mm=shown if _stands_as_measured(view, at) else as_shown_mm(cold, **as_the_block_stands(view)),
        cut_mm=None if before_mm is None or cold <= before_mm else cold - before_mm,
        name=place_name(at),
        kept=view.choice(USE, **at) == "keep",
        settled=_settled(view, at),
    )


def _stands_as_measured(view: View, at: Mapping[str, int]) -> bool:
    """Whether block and gauge are now as warm as when a pass was measured, so that it would read the same."""
    then = block_c(view, "cut", **at), master_c(view, "cut", **at)
    now = block_now_c(view, "cut"), master_now_c(view, "cut")
    return view.number(WARM, **at) is None and then == now


def _settled(view: View, at: Mapping[str, int]) -> bool:
    """Whether somebody said that a pair counts after it was measured."""
    use, measured = view.get(USE, **at), view.get(MEASURED, **at)
    return use is not None and measured is not None and use.entered and use.stamp > measured.stamp


@fact
def missets(view: View) -> tuple[Result, ...]:
    """Settings logged for a cut that is not measured yet and that would cut too large, or nothing."""
    out = []
    for c in view.cylinders:
        for n in passes_logged(view, c):
            found = _misset(view, c, n)
            if found is not None:
                out.append(replace(found, key=f"{found.key}.{c}.{n}"))
    return tuple(out)


def _misset(view: View, cylinder: int, number: int) -> Result | None:
    at = {"cylinder": cylinder, "pass": number}
    read, bored = view.number(SETTING, **at), bar_mm(view, cylinder)
    if read is None or bored is None or view.number(MEASURED, **at) is not None:
        return None
    try:
        set_mm = setting.diameter_mm(view.choice(METER), read, view.number(BAR))
    except ValueError:  # the tip inside the bar, or no bar: said elsewhere
        return None
    stands, now = as_the_block_stands(view), size_now_mm(view, cylinder)
    return setting.misset(
        set_mm,
        bias(view),
        bored_mm=as_shown_mm(bored, **stands),
        present_mm=None if now is None else as_shown_mm(now, **stands),
        name=place_name(at),
    )


@fact
def logged_pairs(view: View) -> tuple[tuple[int, int, setting.Pair], ...]:
    """This job's pairs as (cylinder, pass, pair), in the order they were measured."""
    if view.choice(METER) == setting.BAR_TIP and view.number(BAR) is None:
        return ()
    odd = odd_settings(view)
    rows = []
    for c in view.cylinders:
        before = start_mm(view, c)
        for n in passes_logged(view, c):
            pair = None if (c, n) in odd else _pair(view, c, n, before)
            measured = view.get(MEASURED, cylinder=c, **{"pass": n})
            if pair is not None and measured is not None:
                rows.append((measured.stamp, c, n, pair))
            cold = pass_mm(view, c, n)
            before = before if cold is None else cold
    return tuple((c, n, pair) for _, c, n, pair in sorted(rows, key=lambda r: r[:3]))


@fact
def pairs(view: View) -> tuple[setting.Pair, ...]:
    """This job's logged pairs of setting and measured size, in the order they were measured."""
    return tuple(pair for _, _, pair in logged_pairs(view))


@fact
def history(view: View) -> tuple[JobRecord, ...]:
    """The earlier jobs of the chosen bar that tell of its bias, oldest first."""
    return tuple(r for r in earlier(view, "bar") if r.bias is not None)


def bar_bias(card: View, records: Sequence[JobRecord] = ()) -> setting.Bias:
    """What a bar adds to its setting, by all the jobs on its card (``card`` is the card's own view) and the ``records`` of
    the jobs here."""
    here = {r.job: r for r in (*told(card), *records) if r.bias is not None}
    if not here:
        return setting.bias(())
    model = bar_model(sorted(here.values(), key=lambda r: (r.day, r.job)))
    resting = model.series.basis
    if resting is None:
        return setting.bias(())
    return setting.bias_by_record((), model.next_mm(model.usual), resting)


@fact
def edge_ages(view: View) -> dict[tuple[int, int], int]:
    """Passes the edge had made before each pass, as far as this job tells, by (cylinder, pass)."""
    out, age = {}, 0
    for c, n, fresh in passes_in_order(view):
        age = 0 if fresh else age
        out[c, n] = age
        age += 1
    return out


@fact
def cuts(view: View) -> tuple[tuple[float, float, float], ...]:
    """This job's pairs that count, in order: bias, cut on diameter (a usual one where unknown), passes of the edge."""
    ages = edge_ages(view)
    return tuple(
        (pair.bias_mm, USUAL_CUT_MM if pair.cut_mm is None else pair.cut_mm, float(ages.get((c, n), 0)))
        for c, n, pair in logged_pairs(view)
        if pair.kept
    )


@fact
def own_sums(view: View) -> Sums | None:
    """This job's biases as sums; None before the first pair."""
    rows = cuts(view)
    return sums([b for b, _, _ in rows], [x for _, *x in rows]) if rows else None


@fact
def stands_out(view: View) -> float:
    """How far this job's biases lie from what the bar's record led to expect, in standard deviations; 0 where they fit."""
    model, own = bar_record(view), own_sums(view)
    if model is None or own is None:
        return 0.0
    here = JobRecord(job=view.id, day=0.0, iron=view.choice(MATERIAL), size_mm=view.nominal_mm or 0.0, bias=own)
    with_all = model.sums(here)
    return 0.0 if with_all is None else standing_out(model.series, with_all)


@fact
def record_used(view: View) -> BarModel | None:
    """The bar's record where this job goes by it: not while the job does not fit and nobody has said that it counts."""
    model = bar_record(view)
    if model is None or not model.series.used:
        return None
    said = bar_fit(view)
    return model if said == "counts" or (not said and stands_out(view) == 0.0) else None


def _x(view: View, model: BarModel, cut_mm: float, age: float) -> tuple[float, ...]:
    return model.x(size_mm=view.nominal_mm or 0.0, cut_mm=cut_mm, age=age, iron=view.choice(MATERIAL))


@fact
def slipped(view: View) -> Result | None:
    """Whether the tip may have slipped, by this job's pairs and the bar's record."""
    model = record_used(view)
    if model is None:
        return setting.slipped(pairs(view))
    own = [(b, _x(view, model, cut, age)) for b, cut, age in cuts(view)]
    found = setting.slipped(pairs(view), expected=lambda i: model.next_mm(own[i][1], own[:i]))
    resting = model.series.basis
    return found if found is None or resting is None else replace(found, why=(*found.why, from_record(resting)))


@fact
def bias(view: View) -> setting.Bias:
    """What the bar adds to its setting: this job's pairs and the bar's record together."""
    model, division = record_used(view), view.number(RESOLUTION)
    resting = None if model is None else model.series.basis
    if model is None or resting is None:
        return setting.bias(pairs(view), resolution_mm=division)
    own = [(b, _x(view, model, cut, age)) for b, cut, age in cuts(view)]
    usual = sorted(cut for _, cut, _ in cuts(view))
    age = max(edge_ages(view).values(), default=-1) + 1
    following = _x(view, model, usual[len(usual) // 2] if usual else USUAL_CUT_MM, float(age))
    found = model.next_mm(following, own, least_spread_mm=max(division / math.sqrt(12.0), 1e-4))
    return setting.bias_by_record(pairs(view), found, resting)
