"""The last screen as a few lines of text, kept for the next start: readable before any engine runs.

The page's first script shows it (``web/boot.js``), marked with its age, until the live
screen takes its place. It holds sentences that were said already and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from logic.oversize import quick
from logic.say import L, Line, Qty, Style, say
from store.board import board
from store.documents import value_of
from store.flow import flow, work_of
from store.sheets import headline, sheet

from .quick import NOMINAL, WORST
from .screens.words import WORD

if TYPE_CHECKING:
    from logic.result import Result
    from logic.units import Entered
    from store.view import View

__all__ = ["VERSION", "picture"]

#: The page shows pictures of this form only.
VERSION = 1

#: How far the start is, as the page says it beneath the picture; its keys are those of ``steps`` in ``web/boot.js``.
STEPS = {
    "page": L("Fetching what is needed"),
    "engine": L("Starting the calculating engine"),
    "unpack": L("Unpacking the workshop"),
    "rules": L("Reading the rules of the trade"),
    "screen": L("Drawing the first screen"),
}

#: What the page says where Python does not answer any more, and its keys; see ``stop`` in ``web/boot.js``.
STOPPED = {
    "stopped": L("Boreside does not answer any more. What was shown as saved is kept."),
    "again": L("Start it again"),
    "wait": L("Wait"),
}

#: A line of the picture: how it is shown ("head", "verdict", "line"), and its words.
Row = tuple[str, Line | str]


def picture(view: View | None, entered: Mapping[str, Entered], style: Style, theme: str, now_ms: int) -> dict[str, Any]:
    """The picture as plain data: ``made`` in ms since 1970, the words about its age, and its rows.

    ``view`` is the last job, ``entered`` what stands in the quick check.
    """
    rows = [*_job(view), *_quick(entered)]
    return {
        "version": VERSION,
        "made": now_ms,
        "language": style.language,
        "theme": theme,
        "age": say(L("As it stood {age}. Boreside is starting.", age="{age}"), style),
        "steps": {name: say(line, style) for name, line in STEPS.items()},
        "stopped": {name: say(line, style) for name, line in STOPPED.items()},
        "rows": [[kind, say(line, style)] for kind, line in rows],
    }


def _answer(result: Result) -> Iterator[Row]:
    yield "verdict", L("{verdict}: {line}", verdict=WORD[result.verdict], line=result.line)


def _job(view: View | None) -> Iterator[Row]:
    """The last job: its verdict, what is next and what that says first, and each bore."""
    if view is None or value_of(view.document, "deleted"):
        return
    yield "head", view.word("title") or L("Job without a name")
    for result in work_of(view, headline()).results[:1]:
        yield from _answer(result)
    upcoming = flow(view).next
    if upcoming is not None:
        yield "line", L("Next: {step}", step=upcoming.title)
        if upcoming.key != headline().key:
            yield from (("line", r.line) for r in work_of(view, sheet(upcoming.key)).results[:1])
    for b in board(view):
        now = Qty(b.now.value, "size") if b.now is not None else "–"
        yield "line", L("Cylinder {n}: now {size}. {needs}.", n=str(b.cylinder), size=now, needs=b.needs)


def _quick(entered: Mapping[str, Entered]) -> Iterator[Row]:
    """The quick check, where both its numbers stand and make sense."""
    nominal, worst = entered.get(NOMINAL.key), entered.get(WORST.key)
    if nominal is None or worst is None:
        return
    try:
        result = quick(nominal_mm=nominal.value, worst_mm=worst.value)
    except ValueError:
        return
    yield "head", L("Quick oversize check")
    sizes = {"nominal": Qty(nominal.value, "size"), "worst": Qty(worst.value, "size")}
    yield "line", L("Nominal bore {nominal}, worst reading {worst}.", **sizes)
    yield from _answer(result)
