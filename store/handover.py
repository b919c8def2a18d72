"""The day of the handover, and the dates that follow from it and from what the engine does, until somebody writes others."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta, timezone

from logic.afterwards import NEXT_DAY, Due, after
from logic.say import Day, L, Style, say

from .clock import ms_of
from .facts.pistons import duty
from .fields.clean import CHECKS, HANDED_ON, OIL_ON, RETORQUE, RETORQUE_ON, RUN_IN_UNTIL
from .view import View

__all__ = ["dates", "handed_on", "suggested"]


def _written(text: str) -> date | None:
    """A day as somebody wrote it, the year first or the day first with points; None where it is neither."""
    for form in ("%Y-%m-%d", "%d.%m.%Y"):
        try:
            return datetime.strptime(text.strip(), form).replace(tzinfo=UTC).date()
        except ValueError:
            continue
    return None


def handed_on(view: View, offset_minutes: int = 0) -> date | None:
    """The day of the handover: as written, else the day on which the last check was answered. None before the first."""
    stated = view.text(HANDED_ON)
    if stated:
        return _written(stated)
    stamps = [got.stamp for f in CHECKS if (got := view.get(f)) is not None and got.entered]
    if not stamps:
        return None
    zone = timezone(timedelta(minutes=offset_minutes))
    return datetime.fromtimestamp(ms_of(max(stamps)) / 1000, zone).date()


def _said(day: date | None, when: Due, style: Style) -> str:
    """A day and what may come before it: "2026-03-01, or after 800 km"; without the day, what may."""
    use = when.said(metric=style.length == "mm") if when.hours or when.km else None
    if day is None:
        return "" if use is None else say(L("After {use}", use=use), style)
    then = Day((day + timedelta(days=when.days)).isoformat()).said(style)
    return then if use is None else say(L("{day}, or after {use} if that is sooner", day=then, use=use), style)


def suggested(view: View, style: Style, offset_minutes: int = 0) -> Mapping[str, str]:
    """What stands in the fields of the handover while nobody wrote anything there, by the field's key."""
    day, falls = handed_on(view, offset_minutes), after(duty(view))
    out = {HANDED_ON.key: "" if day is None else Day(day.isoformat()).said(style)}
    again = {"cold": NEXT_DAY, "later": falls.run_in}.get(view.choice(RETORQUE) or "")
    when = {OIL_ON.key: falls.first_oil, RUN_IN_UNTIL.key: falls.run_in, RETORQUE_ON.key: again}
    out |= {key: _said(day, then, style) for key, then in when.items() if then is not None}
    return {key: text for key, text in out.items() if text}


def dates(view: View, style: Style, offset_minutes: int = 0) -> Mapping[str, str]:
    """The same, with what somebody wrote in the place of what is suggested."""
    written = {f.key: text for f in (HANDED_ON, OIL_ON, RUN_IN_UNTIL, RETORQUE_ON) if (text := view.text(f))}
    return {**suggested(view, style, offset_minutes), **written}
