"""At the bore: the few figures that somebody boring or honing needs at arm's length, one bore at a time.

A pure function of the job. It says nothing of its own: each figure follows a fact. Sizes are
as the gauge shows them in the block as it stands, warm or cold, for that is what is read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from logic.hone_progress import Progress
from logic.result import Result, Verdict
from logic.say import LN, L, Line, Qty
from logic.setting import NextSetting
from logic.temperature import as_shown_mm

from .facts.banks import beside
from .facts.bias import as_the_block_stands, missets, odd_settings
from .facts.forbids import cuts_forbidden, size_forbidden
from .facts.gates import bored
from .facts.honing import at_size, check_temperature_c, checks, checks_logged, grits, keep_mm, progress
from .facts.honing import next_entry as next_check
from .facts.load import passes_left
from .facts.passes import next_entry, passes_in_order, passes_logged, size_now_mm
from .facts.sizes import bar_mm, finished_mm
from .fields.cut import MEASURED, SETTING
from .fields.hone import BAND, GRIT, STROKES
from .folded import Place
from .sheets import cut
from .view import View

__all__ = ["AtBore", "Offer", "at_bore", "in_doubt"]


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What one tap logs instead of typing it: ``qty``, as it is shown, for the field ``key`` at a place."""

    key: str
    at: Place
    line: Line
    qty: Qty


@dataclass(frozen=True, kw_only=True)
class AtBore:
    """One bore at work. ``figures`` are (name, figure), the one that counts most first; ``done`` is True at size.

    ``alarm`` is a sentence that comes before every figure. ``offer`` is what one tap logs.
    ``warm`` says that the bore beside this one was cut last, and has warmed it; ``cold`` what "stop at" is at 20 °C, where
    the gauge shows another figure in the block as it is. ``before`` is the step that comes first, where one does.
    """

    cylinder: int
    turn: Line | None
    figures: tuple[tuple[Line, Qty | Line], ...]
    line: Line
    verdict: str
    done: bool = False
    alarm: bool = False
    offer: Offer | None = None
    warm: Line | None = None
    cold: Line | None = None
    before: str | None = None


def at_bore(view: View, step: str, cylinder: int) -> AtBore | None:
    """The figures for ``cylinder`` while boring ("cut") or honing ("hone"); None while there is no size to work to."""
    return {"cut": _boring, "hone": _honing}[step](view, cylinder)


#: What is as true while something is in doubt.
_STOP_AT, _SIZE_NOW = L("Stop at"), L("Size now")


def in_doubt(now: AtBore, doubt: Line) -> AtBore:
    """The same, while what it rests on is in doubt: neither a setting nor strokes to be made. What is no yes stays."""
    if now.done or now.alarm or now.verdict not in (Verdict.GO, Verdict.INFO):
        return now
    line = L("Not yet: {doubt}", doubt=doubt)
    kept = tuple(row for row in now.figures if row[0] in (_STOP_AT, _SIZE_NOW))
    return replace(now, turn=None, figures=kept, line=line, verdict=Verdict.MAYBE, alarm=True, offer=None)


# -- boring ------------------------------------------------------------------------------------------
def _boring(view: View, cylinder: int) -> AtBore | None:
    plan, aim = passes_left(view, cylinder), bar_mm(view, cylinder)
    if plan is None or aim is None:
        return None
    shown = as_the_block_stands(view)
    stop = (_STOP_AT, Qty(as_shown_mm(aim, **shown), "size"))
    alarm = _alarm(view, cylinder)
    if alarm is not None:
        return AtBore(cylinder=cylinder, turn=None, figures=(stop,), line=alarm.line, verdict=alarm.verdict, alarm=True)
    if not plan.passes:
        now = size_now_mm(view, cylinder)
        size = [] if now is None else [(_SIZE_NOW, Qty(as_shown_mm(now, **shown), "size"))]
        return AtBore(
            cylinder=cylinder,
            turn=None,
            figures=(*size, stop),
            line=plan.line,
            verdict=plan.verdict,
            done=plan.verdict != Verdict.STOP,
            cold=_cold(aim, as_shown_mm(aim, **shown)),
        )
    answer = cut.setting_for(view, cylinder, plan)
    n = dict(next_entry(view, cylinder)[1])["pass"]
    nxt = plan.passes[0]
    figures = [
        *([] if answer.value is None else [(L("Set to"), answer.value)]),
        *_expected(answer),
        (L("Take off now"), Qty(nxt.cut_mm, "diff")),
        stop,
    ]
    left = LN("Pass {p}, the last", "Pass {p}, {n} left", len(plan.passes), p=str(n))
    return AtBore(
        cylinder=cylinder,
        turn=left,
        figures=tuple(figures),
        line=answer.line,
        verdict=answer.verdict,
        offer=_setting_offer(view, cylinder, answer),
        warm=_warmed(view, cylinder),
        cold=_cold(aim, as_shown_mm(aim, **shown)),
    )


#: A difference between the sizes warm and cold that shows in no figure, mm.
_ALIKE_MM = 0.0005


def _cold(size_mm: float, seen_mm: float) -> Line | None:
    """What a size is at 20 °C, where the gauge shows another."""
    if abs(size_mm - seen_mm) < _ALIKE_MM:
        return None
    return L("At 20 °C that is {cold}.", cold=Qty(size_mm, "size"))


def _warmed(view: View, cylinder: int) -> Line | None:
    """That the bore beside this one was cut last, where this one is not begun."""
    made = passes_in_order(view)
    last = made[-1][0] if made else 0
    if last not in beside(view, cylinder) or passes_logged(view, cylinder):
        return None
    return L("Cylinder {c} beside it was cut last: let the block go cold before you measure.", c=last)


def _alarm(view: View, cylinder: int) -> Result | None:
    """What is wrong with what was logged of the bore: no next pass before that is put right."""
    if stops := cuts_forbidden(view, cylinder):
        return Result(key="cut.forbidden", line=L("Do not cut: {why}", why=stops[0]), verdict=Verdict.STOP)
    odd = [r for (c, _), r in odd_settings(view).items() if c == cylinder]
    every = [*odd, *missets(view)]
    return next(iter(sorted(every, key=lambda r: r.verdict != Verdict.STOP)), None)


def _expected(answer: Result) -> list[tuple[Line, Qty | Line]]:
    if not isinstance(answer, NextSetting):
        return []
    low, high = Qty(answer.low_mm, "size"), Qty(answer.high_mm, "size")
    return [(L("Expect"), L("{low} to {high}", low=low, high=high))]


def _setting_offer(view: View, cylinder: int, answer: Result) -> Offer | None:
    """The setting as advised, where it is what is logged next."""
    key, at = next_entry(view, cylinder)
    if key != SETTING.key or answer.value is None or view.number(MEASURED, **dict(at)) is not None:
        return None
    return Offer(key=key, at=at, line=L("It is set to {size}", size=answer.value), qty=answer.value)


# -- honing --------------------------------------------------------------------------------------------
#: From so much on what is to come off is told as sizes are, below it as finely as the hone works, mm.
COARSE_MM = 0.1
#: Strokes with fresh stones before the first check, while nothing is known of their bite (common practice).
FIRST_STROKES = 10


def _honing(view: View, cylinder: int) -> AtBore | None:
    now, size = progress(view, cylinder), finished_mm(view, cylinder)
    if now is None or size is None:
        return None
    if stops := () if at_size(view, cylinder) else size_forbidden(view, cylinder):
        return _no_stroke(view, cylinder, size, L("Do not hone on: {why}", why=stops[0]))
    if not bored(view, cylinder) and not checks_logged(view, cylinder):
        return _no_stroke(view, cylinder, size, L("Not bored to size yet."), Verdict.MAYBE)
    done, fresh, finer = at_size(view, cylinder), _fresh_grit(view, cylinder), _finer(view, cylinder)
    strokes = 0 if done or finer else FIRST_STROKES if fresh else now.next_strokes
    stop = size if done or fresh else now.stop_mm
    figures = _sizes_now(view, cylinder, now, stop, done=done)
    if strokes:
        figures = [(L("Double strokes now"), Qty(strokes, "count")), *figures, *([] if fresh else _strokes_left(now))]
    return AtBore(
        cylinder=cylinder,
        turn=None if done else _grit_said(view, cylinder, fresh),
        figures=tuple(figures),
        line=_line_now(now, finer),
        verdict=now.verdict,
        done=done,
        offer=None if done else _hone_offer(view, cylinder, strokes, finer),
        cold=_cold(stop, _seen(view, cylinder, stop).value),
    )


def _no_stroke(view: View, cylinder: int, size_mm: float, why: Line, verdict: str = Verdict.STOP) -> AtBore:
    """A bore that may not come to its size, or not yet: no stroke more."""
    stop = (_STOP_AT, _seen(view, cylinder, size_mm))
    before = "cut" if verdict == Verdict.MAYBE else None
    return AtBore(cylinder=cylinder, turn=None, figures=(stop,), line=why, verdict=verdict, alarm=True, before=before)


def _strokes_left(now: Progress) -> list[tuple[Line, Qty | Line]]:
    return [] if now.strokes is None else [(L("Double strokes left"), Qty(round(now.strokes[1]), "count"))]


def _line_now(now: Progress, finer: int | None) -> Line:
    """What the progress says, or that finer stones are due."""
    if finer and now.next_strokes:
        return L("This grit has done its part: go on with {grit}.", grit=str(finer))
    return now.line


def _sizes_now(
    view: View, cylinder: int, now: Progress, stop_mm: float, *, done: bool
) -> list[tuple[Line, Qty | Line]]:
    """Where to stop, the size now, and what is still to come off until there."""
    figures: list[tuple[Line, Qty | Line]] = [(_STOP_AT, _seen(view, cylinder, stop_mm))]
    if now.size_mm is not None:
        figures.append((_SIZE_NOW, _seen(view, cylinder, now.size_mm)))
        if not done:
            figures.append(
                (
                    L("Take off now"),
                    Qty(max(0.0, stop_mm - now.size_mm), "diff" if stop_mm - now.size_mm >= COARSE_MM else "fine"),
                )
            )
    return figures


def _seen(view: View, cylinder: int, size_mm: float) -> Qty:
    """A size at 20 °C as the gauge shows it in the bore, as warm as at its last check."""
    logged, shown = checks(view, cylinder), as_the_block_stands(view, "hone")
    if logged and logged[-1].number:
        shown = {**shown, "block_c": check_temperature_c(view, cylinder, logged[-1].number)}
    return Qty(as_shown_mm(size_mm, **shown), "size")


def _in_use(view: View, cylinder: int) -> int:
    """The grit of the last strokes; before any, the first."""
    return int(next((c.grit for c in reversed(checks(view, cylinder)) if c.grit), str(grits(view)[0])))


def _fresh_grit(view: View, cylinder: int) -> int | None:
    """The stones changed to since the last check, if they were."""
    logged = checks_logged(view, cylinder)
    stated = view.number(GRIT, cylinder=cylinder, check=(logged[-1] if logged else 0) + 1)
    return None if stated is None or int(stated) == _in_use(view, cylinder) else int(stated)


def _next_finer(view: View, cylinder: int) -> int | None:
    return next((g for g in grits(view) if g > _in_use(view, cylinder)), None)


def _has_cut(view: View, cylinder: int, now: Progress) -> bool:
    """Whether the stones that are in have made their strokes, and nothing is wrong with what they took off."""
    if _fresh_grit(view, cylinder):
        return False
    return any(c.strokes for c in checks(view, cylinder)) and now.verdict != Verdict.STOP


def _finer(view: View, cylinder: int) -> int | None:
    """The stones that are due: this grit has come to its own end, or so near that a stroke more is not worth it."""
    now, kept = progress(view, cylinder), keep_mm(view, cylinder)
    if now is None or now.size_mm is None or kept == 0 or not _has_cut(view, cylinder, now):
        return None
    finer = _next_finer(view, cylinder)
    band, size = view.number(BAND), finished_mm(view, cylinder)
    some_left = size is not None and now.size_mm < size - band
    return finer if some_left and now.left_mm is not None and now.left_mm <= band else None


def _grit_said(view: View, cylinder: int, fresh: int | None) -> Line:
    grit = fresh or _in_use(view, cylinder)
    if any(g > grit for g in grits(view)):
        return L("Grit {grit}, finer stones follow", grit=str(grit))
    return L("Grit {grit}, the last", grit=str(grit))


def _hone_offer(view: View, cylinder: int, strokes: int, finer: int | None) -> Offer | None:
    """The strokes as advised, the finer stones where this grit is done, or no stroke at all where it is nearly at size."""
    found = next_check(view, cylinder)
    if found is None or found[0] != STROKES.key:
        return None
    if strokes:
        line = LN("{n} double stroke made", "{n} double strokes made", strokes)
        return Offer(key=STROKES.key, at=found[1], line=line, qty=Qty(strokes, "count"))
    if finer is None:
        again = Offer(key=STROKES.key, at=found[1], line=L("No stroke: measure again"), qty=Qty(0, "count"))
        return again if checks_logged(view, cylinder) else None
    line = L("Stones of grit {grit} are in", grit=str(finer))
    return Offer(key=GRIT.key, at=found[1], line=line, qty=Qty(finer, "count"))
