"""What the bar adds to its setting, from this job's passes and the bar's earlier jobs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from logic import setting
from logic.result import Result
from logic.temperature import as_shown_mm

from .. import draft
from ..documents import Reading, Typed
from ..fields.cut import BAR, BLOCK_C, MEASURED, METER, RESOLUTION, SETTING, USE, WARM, ZERO_C
from ..graph import fact
from ..places import place_name
from ..view import Spot, View
from .block import block_expansion_per_k
from .passes import pass_mm, passes_logged, size_now_mm, start_mm
from .sizes import bar_mm

__all__ = [
    "HISTORY_MEASURED",
    "HISTORY_SET",
    "as_the_block_stands",
    "bar_bias",
    "bias",
    "history",
    "history_drafts",
    "logged_pairs",
    "missets",
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


def as_the_block_stands(view: View) -> dict[str, float]:
    """The temperatures and the expansion by which a size at 20 °C is given as the gauge shows it in the block now."""
    return {
        "block_c": view.number(BLOCK_C),
        "alpha_block_per_k": block_expansion_per_k(view),
        "master_c": view.number(ZERO_C),
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
        measured_mm=shown if view.number(WARM, **at) is None else as_shown_mm(cold, **as_the_block_stands(view)),
        cut_mm=None if before_mm is None or cold <= before_mm else cold - before_mm,
        name=place_name(at),
        kept=view.choice(USE, **at) == "keep",
        settled=_settled(view, at),
    )


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


def _jobs_on(card: View, but: str = "") -> tuple[tuple[setting.Pair, ...], ...]:
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
    return () if card is None else _jobs_on(card, view.id)


def bar_bias(card: View) -> setting.Bias:
    """What a bar adds to its setting, by all the jobs on its card. ``card`` is the card's own view."""
    return setting.bias((), _jobs_on(card))


@fact
def history_drafts(view: View) -> tuple[Reading, ...]:
    """Entries to append to the bar's card, so that later jobs know what it cut here. Empty without a card.

    Pairs the card already holds are left out, and so are struck-out ones.
    """
    card = view.card("bar")
    if card is None:
        return ()
    out: list[Reading] = []
    for c, n, pair in logged_pairs(view):
        at: dict[str, Spot] = {"job": view.id, "cylinder": c, "pass": n}
        if pair.kept and not card.rivals(HISTORY_SET, **at):
            for what, mm in ((HISTORY_SET, pair.set_mm), (HISTORY_MEASURED, pair.measured_mm)):
                out.append(draft.reading(what, at, Typed(text=f"{mm:.4f}", typed_unit="mm", value=mm, unit="mm")))
    return tuple(out)


@fact
def bias(view: View) -> setting.Bias:
    """What the bar adds to its setting: this job's pairs first, the machine's history next."""
    return setting.bias(pairs(view), history(view), resolution_mm=view.number(RESOLUTION))
