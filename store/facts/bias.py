"""What the bar adds to its setting, from this job's passes and the bar's earlier jobs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logic import setting
from logic.result import Result

from .. import draft
from ..documents import Typed
from ..fields.cut import BAR, MEASURED, METER, RESOLUTION, SETTING, USE
from ..graph import fact
from ..places import place_name
from ..view import View
from .passes import pass_mm, passes_logged, start_mm

__all__ = [
    "HISTORY_MEASURED",
    "HISTORY_SET",
    "bar_bias",
    "bias",
    "history",
    "history_drafts",
    "logged_pairs",
    "odd_settings",
    "pairs",
]

#: Under these keys, at (job, cylinder, pass), a bar's card keeps what the bar cut in earlier jobs, as diameters.
HISTORY_SET, HISTORY_MEASURED = "bias.set", "bias.measured"


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


@fact
def logged_pairs(view: View) -> tuple[tuple[int, int, setting.Pair], ...]:
    """This job's pairs as (cylinder, pass, pair), in the order they were measured."""
    meter, bar = view.choice(METER), view.number(BAR)
    if meter == setting.BAR_TIP and bar is None:
        return ()
    odd = odd_settings(view)
    rows = []
    for c in view.cylinders:
        before = start_mm(view, c)
        for n in passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            read, measured, cold = view.number(SETTING, **at), view.get(MEASURED, **at), pass_mm(view, c, n)
            if read is not None and measured is not None and (c, n) not in odd:
                cut = None if before is None or cold is None or cold <= before else cold - before
                pair = setting.Pair(
                    set_mm=setting.diameter_mm(meter, read, bar),
                    measured_mm=measured.value,
                    cut_mm=cut,
                    name=place_name(at),
                    kept=view.choice(USE, **at) == "keep",
                )
                rows.append((measured.entry.stamp, c, n, pair))
            if cold is not None:
                before = cold
    return tuple((c, n, pair) for _, c, n, pair in sorted(rows, key=lambda r: r[:3]))


@fact
def pairs(view: View) -> tuple[setting.Pair, ...]:
    """This job's logged pairs of setting and measured size, in the order they were measured."""
    return tuple(pair for _, _, pair in logged_pairs(view))


def _jobs_on(card: Any, but: str = "") -> tuple[tuple[setting.Pair, ...], ...]:
    jobs: dict[str, list[setting.Pair]] = {}
    measured = card.all(HISTORY_MEASURED)
    for where, value in card.all(HISTORY_SET).items():
        job = str(dict(where).get("job", ""))
        if where in measured and job != but:
            jobs.setdefault(job, []).append(setting.Pair(set_mm=value.value, measured_mm=measured[where].value))
    return tuple(tuple(found) for _, found in sorted(jobs.items()))


@fact
def history(view: View) -> tuple[tuple[setting.Pair, ...], ...]:
    """What the chosen bar cut in earlier jobs, from its kit card: one tuple of pairs for each job."""
    card = view.card("bar")
    return () if card is None else _jobs_on(card, view.document.id)


def bar_bias(card: Any) -> setting.Bias:
    """What a bar adds to its setting, by all the jobs on its card. ``card`` is the card's own view."""
    return setting.bias((), _jobs_on(card))


@fact
def history_drafts(view: View) -> tuple[Any, ...]:
    """Entries to append to the bar's card, so that later jobs know what it cut here. Empty without a card.

    Pairs the card already holds are left out, and so are struck-out ones.
    """
    card = view.card("bar")
    if card is None:
        return ()
    out: list[Any] = []
    for c, n, pair in logged_pairs(view):
        at = {"job": view.document.id, "cylinder": c, "pass": n}
        if pair.kept and not card.rivals(HISTORY_SET, **at):
            for what, mm in ((HISTORY_SET, pair.set_mm), (HISTORY_MEASURED, pair.measured_mm)):
                out.append(draft.reading(what, at, Typed(text=f"{mm:.4f}", typed_unit="mm", value=mm, unit="mm")))
    return tuple(out)


@fact
def bias(view: View) -> setting.Bias:
    """What the bar adds to its setting: this job's pairs first, the machine's history next."""
    return setting.bias(pairs(view), history(view), resolution_mm=view.number(RESOLUTION))
