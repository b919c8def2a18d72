"""What the report is made of, and how entries, figures and verdicts are said in it.

A report is parts under headings; a part is blocks: words, lists, tables, pictures and lines
to sign on. There is no clock here: dates are those of the log, in the reader's own time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from logic.explain import explained
from logic.fields import Field
from logic.places import fits
from logic.result import Figure, Result, Verdict, source_said
from logic.say import KINDS, Day, L, Line, Qty, Style, figure, pair, say

from .clock import ms_of
from .documents import Chosen, Decision, Reading
from .errors import broke
from .sheets import Sheet, all_sheets
from .view import View

__all__ = [
    "VERDICTS",
    "Block",
    "Grid",
    "Log",
    "Part",
    "Pictures",
    "Points",
    "Report",
    "Signs",
    "Teller",
    "Words",
    "figures_of",
    "sentence",
    "shown_figure",
    "stands",
    "touched",
]

#: The word that goes with a verdict; never colour alone.
VERDICTS = {
    Verdict.GO: L("In order"),
    Verdict.MAYBE: L("Not sure: measure again"),
    Verdict.STOP: L("Not in order"),
}

#: How a unit is written: "N*m" is "N·m".
_UNITS = {shown.unit: shown.label for kind in KINDS.values() for shown in (kind.inch, kind.metric)}


# -- content -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph. ``strong`` is a verdict or another sentence that counts; ``small`` is for the fine print."""

    text: str
    strong: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Points:
    """A list."""

    entries: tuple[str, ...]
    small: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A table. ``shares`` divide its width between the columns."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Pictures:
    """Picture data of ``logic`` to be drawn side by side, ``across`` to a row: the more, the smaller."""

    row: tuple[Any, ...]
    across: int = 2


@dataclass(frozen=True, slots=True)
class Signs:
    """Lines to write on, each with what it is for under it."""

    under: tuple[str, ...]


Block = Words | Points | Grid | Pictures | Signs


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the report under its heading.

    ``sub`` marks one that belongs to the part before; ``fresh`` one that begins on a page of its own.
    """

    title: str
    blocks: tuple[Block, ...]
    sub: bool = False
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Report:
    """Everything the report says, in one person's style.

    ``shop`` is who made it, line by line; ``photos`` are (caption, media, bytes).
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    photos: tuple[tuple[str, str, bytes], ...] = ()
    footer: str = ""
    shop: tuple[str, ...] = ()


class Teller:
    """Says lines and figures for one style."""

    def __init__(self, style: Style, offset_minutes: int) -> None:
        self.style, self.offset_minutes = style, offset_minutes
        self._zone = timezone(timedelta(minutes=offset_minutes))

    def __call__(self, line: Line | str) -> str:
        return say(line, self.style)

    def figure(self, qty: Qty) -> str:
        """A figure with its expanded uncertainty, and the same in the other system where that differs."""
        mine = figure(qty, self.style, spread=True)
        theirs = pair(qty, self.style)[1]
        return mine if theirs == figure(qty, self.style) else self(L("{mine} ({theirs})", mine=mine, theirs=theirs))

    def day(self, stamp: str) -> str:
        return self.when(stamp)[:10]

    def when(self, stamp: str) -> str:
        moment = datetime.fromtimestamp(ms_of(stamp) / 1000, self._zone)
        return Day(moment.strftime("%Y-%m-%d %H:%M")).said(self.style)

    def verdict(self, result: Result) -> str:
        """The verdict's word with how sure it is; empty where a result only informs."""
        if result.verdict not in VERDICTS:
            return ""
        word = self(VERDICTS[result.verdict])
        if result.confidence is None or result.verdict == Verdict.MAYBE:
            return word
        return self(L("{verdict}, {sure} sure", verdict=word, sure=Qty(result.confidence, "chance")))


def _asked() -> dict[str, tuple[Sheet, Any, Field]]:
    """Every field by key, with the step and the group it is asked in."""
    return {f.key: (s, g, f) for s in reversed(all_sheets()) for g in s.groups for f in g.fields}


class Log:
    """Entries of the log in words."""

    def __init__(self, view: View, tell: Teller) -> None:
        self._fields = _asked()
        self._titles = {s.key: s.title for s in all_sheets()}
        self._view, self._tell = view, tell

    def what(self, entry: Any) -> str:
        """What an entry is about, and where: "Bore reading, cylinder 2, depth 1, thrust axis"."""
        key = getattr(entry, "what", "")
        at = dict(getattr(entry, "at", {}) or {})
        known = self._fields.get(key)
        if known is None:
            first, _, rest = key.partition(".")
            name = rest.split(".")[0] if first == "sheet" else key
            what = self._tell(self._titles.get(name, name))
            return what if not at else self._tell(L("{what}, {place}", what=what, place=self._loose(at)))
        what, place = self._tell(known[2].label), self.place(entry)
        return what if not place else self._tell(L("{what}: {place}", what=what, place=place))

    def place(self, entry: Any) -> str:
        """Where an entry belongs, in the words of its step; empty for the whole job."""
        at = dict(getattr(entry, "at", {}) or {})
        known = self._fields.get(getattr(entry, "what", ""))
        if known is not None and at and known[1].name is not None and fits(at, known[2].at):
            return self._tell(known[1].name(at))
        return self._loose(at)

    def _loose(self, at: Mapping[str, Any]) -> str:
        return ", ".join(f"{k} {v}" for k, v in at.items())

    def value(self, entry: Any) -> str:
        """What an entry says, as a figure in the reader's style, or as chosen."""
        if isinstance(entry, Reading):
            known = self._fields.get(entry.what)
            if known is not None and known[2].kind in KINDS:
                return figure(Qty(entry.typed.value, known[2].kind), self._tell.style)
            return self.typed(entry)
        if isinstance(entry, Chosen):
            known = self._fields.get(entry.what)
            labels = {c.value: c.label for c in known[2].choices} if known else {}
            return self._tell(labels.get(entry.value, entry.value))
        if isinstance(entry, Decision):
            return self._decided(entry)
        return getattr(entry, "reason", getattr(entry, "text", ""))

    def _decided(self, entry: Decision) -> str:
        """A step decided on as a figure, any other decision as it was made."""
        typed = entry.typed
        stepped = typed is not None and typed.unit == "mm"
        return figure(Qty(typed.value, "step"), self._tell.style) if typed and stepped else entry.value

    def typed(self, entry: Any) -> str:
        """What was typed, untouched, with its unit unless it was typed along."""
        if not isinstance(entry, Reading):
            return self.value(entry)
        text, unit = entry.typed.text, entry.typed.typed_unit
        label = _UNITS.get(unit, unit)
        return text if not label or unit == "1" or label in text or unit in text else f"{text} {label}"

    def label(self, key: str) -> str:
        """A field's name (its key, where no step of this version has it)."""
        return self._tell(self._fields[key][2].label) if key in self._fields else key

    def said(self, entry: Any) -> str:
        """An entry's value, and what was typed where it reads otherwise."""
        value, typed = self.value(entry), self.typed(entry)
        return value if reads_alike(typed, value) else self._tell(L("{value}, typed {typed}", value=value, typed=typed))

    def instrument(self, id: str | None) -> str:
        card = self._view.cards.get(id) if id else None
        return "" if card is None else str(card.header("title", id))


def reads_alike(typed: str, shown: str) -> bool:
    """Whether what was typed says the same as the figure shown: "24 °C" and "24.0 °C" do."""

    def parts(text: str) -> list[Any]:
        out: list[Any] = []
        for word in text.replace("\u202f", " ").replace("\u2212", "-").split():
            try:
                out.append(float(word.replace(",", ".")))
            except ValueError:
                out.append(word)
        return out

    return parts(typed) == parts(shown)


def stands(tell: Teller, name: Line, make: Callable[[], Iterable[Part]], *, sub: bool = False) -> list[Part]:
    """The parts that ``make`` gives, up to where it breaks off; then one that says so. The rest of the report stands."""
    parts: list[Part] = []
    try:
        parts.extend(make())
    except Exception as error:  # noqa: BLE001  whatever a log may hold, the customer gets the rest
        parts.append(Part(tell(name), (Words(_broken(tell.style, tell(name), error), strong=True),), sub=sub))
    return parts


def _broken(style: Style, what: str, error: Exception) -> str:
    said = broke(f"the report's part {what}", error)
    return say(L("This part cannot be made from what was entered; the rest stands. ({error})", error=said), style)


def sentence(tell: Teller, result: Result) -> str:
    word = tell.verdict(result)
    return tell(result.line) if not word else tell(L("{line} [{verdict}]", line=result.line, verdict=word))


def shown_figure(tell: Teller, result: Result | None, key: str, *, spread: bool = True) -> str:
    """A figure of a result, or a dash."""
    if result is None:
        return "–"
    return next((figure(f.qty, tell.style, spread=spread) for f in result.figures if f.key == key), "–")


def touched(view: View, step: Sheet, work: Any) -> bool:
    """Whether anybody entered something at a step, or it came to an end without."""
    return work.done or any(view.all(key) for key in step.fields)


def figures_of(tell: Teller, result: Result) -> Grid:
    head = (tell(L("Figure")), tell(L("Value")), tell(L("From")))
    rows = tuple((tell(f.label), tell.figure(f.qty), _origin(tell, result, f)) for f in result.figures)
    return Grid(head, rows, (4, 3, 4))


def _origin(tell: Teller, result: Result, f: Figure) -> str:
    """How a figure came about: its formula and its source, the usual ones of its kind where it has none of its own."""
    f = explained(result, f)
    return "; ".join(tell(x) for x in (f.formula, source_said(f.source)) if x)
