"""The record of one machine or gauge: charts and sentences from its card and the jobs here, and the same on paper."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from logic.drawing import draw
from logic.job_record import JobRecord
from logic.machine_charts import Charted, bar_charts, gauge_chart, hone_charts
from logic.say import L, Line, Style, say

from .cards import ROLES, checks, health
from .facts.record import NAME, told
from .svg import svg
from .view import View

__all__ = ["charts", "names_carried", "page", "rows_of"]

_PAPER = "body{font:12pt system-ui,sans-serif;max-width:720px;margin:1em auto}h2{margin:1.2em 0 .2em}section{break-inside:avoid}"


def rows_of(card: View, here: Sequence[JobRecord]) -> tuple[JobRecord, ...]:
    """Every job in a machine's record, once each, oldest first: the jobs ``here``, and what the card carries of others."""
    found = {r.job: r for r in (*told(card), *here)}
    return tuple(sorted(found.values(), key=lambda r: (r.day, r.job)))


def charts(card: View, here: Sequence[JobRecord]) -> tuple[Charted, ...]:
    """The charts of a card's machine or gauge, as far as anything is known."""
    role = card.word("card")
    if role == "bar":
        return tuple(bar_charts(rows_of(card, here)))
    if role == "hone":
        return tuple(hone_charts(rows_of(card, here)))
    if role not in ROLES or not ROLES[role].checked:
        return ()
    budget = health(card).budget
    spread = None if budget is None else next(iter(budget.components)).u
    found = gauge_chart(checks(card), spread, card.number(ROLES[role].interval))
    return () if found is None else (found,)


def names_carried(card: View) -> dict[str, str]:
    """The names of jobs of other devices, where somebody sent them along."""
    return {str(dict(where).get("job", "")): str(value.value) for where, value in card.all(NAME).items()}


def page(card: View, found: Sequence[Charted], style: Style, jobs: Sequence[str] = ()) -> str:
    """The record as one web page to print; ``jobs`` are the names of the jobs it rests on, where they were asked for."""

    def t(line: Line | str) -> str:
        return escape(say(line, style))

    title = t(L("{name}: record", name=card.word("title")))
    parts = [f"<h1>{title}</h1>"]
    for one in found:
        why = "".join(f"<p>{t(w)}</p>" for w in one.result.why)
        drawn = svg(draw(one.picture, 680, 300, style)) if one.picture is not None else ""
        parts.append(f"<section><h2>{t(one.result.line)}</h2>{drawn}{why}</section>")
    if jobs:
        listed = "".join(f"<li>{escape(name)}</li>" for name in jobs)
        parts.append(f"<section><h2>{t(L('The jobs it rests on'))}</h2><ul>{listed}</ul></section>")
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(style.language)}">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{title}</title>\n<style>{_PAPER}</style>\n</head>\n<body>\n"
        + "\n".join(parts)
        + "\n</body>\n</html>\n"
    )
