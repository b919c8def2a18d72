"""The customer's report of a job: what was found, what was done and why, and how sure it is.

:func:`gather` takes everything the report says out of a view, as sentences and
pictures; :func:`html_report` and :func:`pdf_report` lay the same content out. The HTML
is one file that fetches nothing and prints on A4 and Letter; whatever people typed is
escaped. There is no clock here: dates are those of the log, in the reader's own time
(``offset_minutes`` ahead of UTC).
"""

from __future__ import annotations

import base64
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone
from functools import partial
from html import escape as _escaped
from typing import TYPE_CHECKING, Any

from logic.bore import section, study
from logic.cautions import CAUTIONS
from logic.drawing import draw
from logic.explain import explained
from logic.fields import Field
from logic.flow import State
from logic.pictures import BoreSection
from logic.places import fits
from logic.result import Figure, Result, Verdict, source_said
from logic.say import KINDS, LN, L, Line, Qty, Style, figure, pair, say

from .cards import ROLES, checks, due_for, health
from .clock import ms_of
from .documents import Chosen, Decision, Entry, Reading, Typed, Withdrawn, value_of
from .errors import broke
from .facts import final
from .facts.worn import worn_bores
from .flow import flow, timeline, work_of
from .roles import CHOSEN
from .roles import ROLES as ROLE_NAMES
from .sheets import Sheet, all_sheets, headline, sheet
from .svg import svg
from .view import View

if TYPE_CHECKING:
    from .paper import Paper

__all__ = ["Grid", "Part", "Pictures", "Points", "Report", "Words", "gather", "html_report", "pdf_report"]

#: The word that goes with a verdict; never colour alone.
VERDICTS = {
    Verdict.GO: L("In order"),
    Verdict.MAYBE: L("Not sure: measure again"),
    Verdict.STOP: L("Not in order"),
}
_HEADER = {
    "title": L("Name of the job"),
    "customer": L("Customer"),
    "engine": L("Engine"),
    "nominal": L("Nominal bore"),
    "cylinders": L("Cylinders"),
    **{role: ROLE_NAMES[role] for role in CHOSEN},
}
#: How a unit is written: "N*m" is "N·m".
_UNITS = {shown.unit: shown.label for kind in KINDS.values() for shown in (kind.inch, kind.metric)}
_PICTURE = (300.0, 340.0)
#: In the place of a picture that the drawing breaks off over.
NOT_DRAWN = L("A picture cannot be drawn from what was entered.")


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
    """Picture data of ``logic`` to be drawn side by side."""

    row: tuple[Any, ...]


Block = Words | Points | Grid | Pictures


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the report under its heading. ``sub`` marks one that belongs to the part before."""

    title: str
    blocks: tuple[Block, ...]
    sub: bool = False


@dataclass(frozen=True, slots=True)
class Report:
    """Everything the report says, in one person's style. ``photos`` are (caption, media, bytes)."""

    title: str
    facts: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    photos: tuple[tuple[str, str, bytes], ...] = ()
    footer: str = ""


class _Teller:
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

    def when(self, stamp: str) -> str:
        return datetime.fromtimestamp(ms_of(stamp) / 1000, self._zone).strftime("%Y-%m-%d %H:%M")

    def verdict(self, result: Result) -> str:
        """The verdict's word with how sure it is; empty where a result only informs."""
        if result.verdict not in VERDICTS:
            return ""
        word = self(VERDICTS[result.verdict])
        if result.confidence is None or result.verdict == Verdict.MAYBE:
            return word
        return self(L("{verdict}, {sure} sure", verdict=word, sure=Qty(result.confidence, "chance")))


def _fields() -> dict[str, tuple[Sheet, Any, Field]]:
    """Every field by key, with the step and the group it is asked in."""
    return {f.key: (s, g, f) for s in reversed(all_sheets()) for g in s.groups for f in g.fields}


class _Log:
    """Entries of the log in words."""

    def __init__(self, view: View, tell: _Teller) -> None:
        self._fields = _fields()
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
            return entry.value
        return getattr(entry, "reason", getattr(entry, "text", ""))

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

    def placed(self, entry: Any) -> str:
        """An entry's place and value, and what was typed where it reads otherwise."""
        value, typed = self.value(entry), self.typed(entry)
        if not _reads_alike(typed, value):
            value = self._tell(L("{value}, typed {typed}", value=value, typed=typed))
        place = self.place(entry)
        return value if not place else self._tell(L("{place}: {value}", place=place, value=value))

    def instrument(self, id: str | None) -> str:
        card = self._view.cards.get(id) if id else None
        return "" if card is None else str(card.header("title", id))


def _reads_alike(typed: str, shown: str) -> bool:
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


# -- gathering -----------------------------------------------------------------------------------
def gather(
    view: View,
    style: Style = Style(),
    *,
    offset_minutes: int = 0,
    photos: Mapping[str, bytes] | None = None,
    readings: bool = True,
) -> Report:
    """Everything the report says about a job.

    ``photos`` maps a photo's digest to its bytes, for those to be shown; ``readings``
    adds every value as it was typed.
    """
    tell = _Teller(style, offset_minutes)
    log = _Log(view, tell)
    title = str(view.header("title") or view.header("engine") or tell(L("Untitled job")))
    made: tuple[tuple[Line, Callable[[], Iterable[Part]]], ...] = (
        (L("In short"), lambda: _in_short(view, tell)),
        (L("Before and after"), lambda: _before_after(view, tell)),
        (L("What was chosen, and why"), lambda: _chosen(view, tell, log)),
        (L("The work, step by step"), lambda: _steps(view, tell)),
        (L("Who did it"), lambda: _people(view, tell, log)),
        (L("Corrections"), lambda: _changes(view, tell, log)),
        (L("What these figures are"), lambda: _fine_print(view, tell)),
        (L("Everything that was entered"), lambda: _entries(view, tell, log) if readings else ()),
    )
    return Report(
        title=tell(L("Bore report: {title}", title=title)),
        facts=_facts(view, tell),
        parts=tuple(p for name, make in made for p in _stands(tell, name, make) if p.blocks),
        photos=_photos(view, photos or {}),
        footer=tell(L("{title}, as of {when}", title=title, when=tell.when(_last(view)))) if view.entries else title,
    )


def _stands(tell: _Teller, name: Line, make: Callable[[], Iterable[Part]], *, sub: bool = False) -> list[Part]:
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


def _last(view: View) -> str:
    return max((e.stamp for e in view.entries.values()), default="")


def _facts(view: View, tell: _Teller) -> tuple[tuple[str, str], ...]:
    stamps = sorted(e.stamp for e in view.entries.values())
    facts: list[tuple[Line, str]] = [
        (L("Customer"), str(view.header("customer") or "")),
        (L("Engine"), str(view.header("engine") or "")),
        (L("Cylinders"), str(view.header("cylinders") or "")),
    ]
    if view.nominal_mm is not None:
        facts.insert(2, (L("Nominal bore"), tell.figure(Qty(view.nominal_mm, "size"))))
        stored = value_of(view.document, "nominal")
        if isinstance(stored, Typed):
            facts[2] = (facts[2][0], tell(L("{size}, entered as {typed}", size=facts[2][1], typed=stored.text)))
    if stamps:
        facts.append((L("First entry"), tell.when(stamps[0])))
        facts.append((L("Last entry"), tell.when(stamps[-1])))
    return tuple((tell(name), value) for name, value in facts if value)


def _in_short(view: View, tell: _Teller) -> Iterable[Part]:
    blocks: list[Block] = [
        Words(_sentence(tell, result), strong=True) for result in work_of(view, headline()).results[:1]
    ]
    decided = view.decisions.get((headline().key, ()))
    if decided is not None:
        blocks.append(Words(tell(L("Decided: {value}", value=decided.value)), strong=True))
    blocks += _found_in_order(view, tell)
    rows = _incomplete(view, tell)
    if rows:
        blocks.append(Words(tell(L("These steps are not complete. The report says what was known when it was made."))))
        blocks.append(Grid((tell(L("Step")), tell(L("State")), tell(L("Why"))), rows, (2, 2, 5)))
    else:
        blocks.append(Words(tell(L("Every step is complete."))))
    yield Part(tell(L("In short")), tuple(blocks))


def _found_in_order(view: View, tell: _Teller) -> list[Words]:
    """How many of the finished bores are in order, and what is said of the others."""
    bores = tuple(final.checked(view).values())
    if not bores:
        return []
    good = sum(b.verdict == Verdict.GO for b in bores)
    line = L("Finished bores found in order: {good} of {all}.", good=good, all=len(view.cylinders))
    others = (Words(_sentence(tell, b)) for b in bores if b.verdict != Verdict.GO)
    return [Words(tell(line), strong=True), *others]


def _incomplete(view: View, tell: _Teller) -> tuple[tuple[str, str, str], ...]:
    """The steps that are not done: each with its state and why."""
    names = {
        State.SKIPPED: L("Left out"),
        State.LOOK: L("Wants another look"),
        State.NEXT: L("Not finished"),
        State.OPEN: L("Not finished"),
        State.BLOCKED: L("Not finished"),
    }
    rows = []
    for status in flow(view).statuses:
        if status.state in names:
            begun = any(view.all(key) for key in sheet(status.key).fields)
            word = names[status.state] if begun or status.state in (State.SKIPPED, State.LOOK) else L("Not begun")
            rows.append((tell(status.title), tell(word), tell(status.reason) if status.reason else ""))
    return tuple(rows)


def _sentence(tell: _Teller, result: Result) -> str:
    word = tell.verdict(result)
    return tell(result.line) if not word else tell(L("{line} [{verdict}]", line=result.line, verdict=word))


def _shown(tell: _Teller, result: Result | None, key: str) -> str:
    """A figure of a result, or a dash."""
    if result is None:
        return "–"
    return next((figure(f.qty, tell.style, spread=True) for f in result.figures if f.key == key), "–")


def _before_after(view: View, tell: _Teller) -> Iterable[Part]:
    worn, done = worn_bores(view), final.checked(view)
    if not worn and not done:
        return
    before = {c: study(w) for c, w in worn.items()}
    rows = tuple(_sizes(tell, c, before.get(c), done.get(c)) for c in view.cylinders)
    head = (
        L("Cylinder"),
        L("Unworn"),
        L("Largest, worn"),
        L("Wear"),
        L("Size wanted"),
        L("Size, finished"),
        L("Out of round"),
        L("Taper"),
        L("Verdict"),
    )
    blocks: list[Block] = [
        Grid(tuple(map(tell, head)), rows, (1.7, 2.1, 2.1, 1.8, 1.7, 2.1, 1.8, 1.8, 2.1)),
        Words(tell(L("Sizes are diameters at 20 °C. The figure after ± covers about 95 % (k = 2).")), small=True),
    ]
    yield Part(tell(L("Before and after")), tuple(blocks))
    for c in view.cylinders:
        pictures = _sections(view, c)
        if pictures is None:
            continue
        lines: list[Block] = [pictures]
        if c in before:
            lines.append(Words(_sentence(tell, before[c])))
        if c in done:
            lines.append(Words(_sentence(tell, done[c]), strong=True))
        yield Part(tell(L("Cylinder {n}", n=c)), tuple(lines), sub=True)


def _sizes(tell: _Teller, cylinder: int, before: Result | None, done: Result | None) -> tuple[str, ...]:
    """A cylinder's row: its sizes worn and finished, and the verdict."""
    return (
        str(cylinder),
        *(_shown(tell, before, key) for key in ("unworn", "worst", "wear")),
        *(_shown(tell, done, key) for key in ("target", "mean", "round", "taper")),
        tell(L("Not measured")) if done is None else tell.verdict(done),
    )


def _sections(view: View, cylinder: int) -> Pictures | None:
    """A bore cut lengthwise, worn and finished, to one scale; None where it is measured neither way."""
    row: list[BoreSection] = []
    worn = worn_bores(view).get(cylinder)
    if worn is not None and worn.measured:
        row.append(replace(section(worn), title=L("Before")))
    finished = final.after(view, cylinder)
    if finished is not None:
        row.append(replace(finished, title=L("After, drawn to the same scale") if row else L("After")))
    if not row:
        return None
    most = max(abs(w) for p in row for _, _, w in p.rows)
    left = row[0].governing[1] if row[0].governing is not None else ""
    return Pictures(tuple(replace(p, at_least_mm=most, left=left) for p in row))


def _chosen(view: View, tell: _Teller, log: _Log) -> Iterable[Part]:
    blocks: list[Block] = []
    results = work_of(view, headline()).results
    if results:
        first = results[0]
        blocks.append(Words(_sentence(tell, first), strong=True))
        blocks.append(Points(tuple(tell(w) for w in first.why)))
        blocks.append(_figures(tell, first))
        blocks.append(Points(tuple(_sentence(tell, r) for r in results[1:])))
    yield Part(tell(L("What was chosen, and why")), tuple(b for b in blocks if b != Points(())))
    rows = tuple(
        (log.what(d), d.value, d.reason, d.advised, d.by, tell.when(d.stamp))
        for d in sorted(view.decisions.values(), key=lambda d: d.stamp)
    )
    if rows:
        head = (L("About"), L("Decided"), L("Reason"), L("Advice at the time"), L("By"), L("When"))
        yield Part(tell(L("Decisions")), (Grid(tuple(map(tell, head)), rows, (2, 2, 3, 4, 1.5, 1.7)),), sub=True)


def _figures(tell: _Teller, result: Result) -> Grid:
    head = (tell(L("Figure")), tell(L("Value")), tell(L("From")))
    rows = tuple((tell(f.label), tell.figure(f.qty), _origin(tell, result, f)) for f in result.figures)
    return Grid(head, rows, (4, 3, 4))


def _origin(tell: _Teller, result: Result, f: Figure) -> str:
    """How a figure came about: its formula and its source, the usual ones of its kind where it has none of its own."""
    f = explained(result, f)
    return "; ".join(tell(x) for x in (f.formula, source_said(f.source)) if x)


def _steps(view: View, tell: _Teller) -> Iterable[Part]:
    """What each other step says, in the order of the work."""
    inner: list[Part] = []
    for step in all_sheets():
        if not step.apart and f"sheet.{step.key}" not in view.skipped:
            inner.extend(_stands(tell, step.title, partial(_step, view, tell, step), sub=True))
    if inner:
        yield Part(
            tell(L("The work, step by step")), (Words(tell(L("Worked out from what was measured and entered."))),)
        )
        yield from inner


def _step(view: View, tell: _Teller, step: Sheet) -> Iterable[Part]:
    """What one step says."""
    work = work_of(view, step)
    if not work.results or not _touched(view, step, work):
        return
    blocks: list[Block] = []
    for r in work.results:
        blocks.append(Words(_sentence(tell, r)))
        if r.figures:
            said = (tell(L("{label} {value}", label=f.label, value=tell.figure(f.qty))) for f in r.figures)
            blocks.append(Words(" · ".join(said), small=True))
    blocks.extend(Pictures(work.pictures[start : start + 2]) for start in range(0, len(work.pictures), 2))
    yield Part(tell(step.title), tuple(blocks), sub=True)


def _touched(view: View, step: Sheet, work: Any) -> bool:
    """Whether anybody entered something at a step, or it came to an end without."""
    return work.done or any(view.all(key) for key in step.fields)


def _people(view: View, tell: _Teller, log: _Log) -> Iterable[Part]:
    counts = Counter(entry.by for entry in view.entries.values())
    who = tuple(
        tell(LN("{name}: {n} entry", "{name}: {n} entries", n, name=name or tell(L("No name given"))))
        for name, n in sorted(counts.items(), key=lambda kv: -kv[1])
    )
    yield Part(tell(L("Who did it")), (Points(who),) if who else ())
    lines = (*_machines(view, tell), *_instruments(view, tell, log))
    yield Part(tell(L("Instruments and machines")), (Points(lines),) if lines else ())
    seen = _acknowledged(view, tell)
    if seen:
        head = (tell(L("Caution")), tell(L("Read by")), tell(L("When")))
        yield Part(tell(L("Cautions acknowledged")), (Grid(head, seen, (6, 1.6, 1.7)),))


def _machines(view: View, tell: _Teller) -> Iterable[str]:
    """The machines and instruments chosen for the job, each with what its checks say."""
    for role in CHOSEN:
        card = view.card(role)
        if card is not None:
            name = card.header("title")
            yield tell(L("{role}: {name}", role=ROLE_NAMES[role], name=ROLE_NAMES[role] if name is None else str(name)))
            yield from _checked(tell, view, role)


def _instruments(view: View, tell: _Teller, log: _Log) -> Iterable[str]:
    """The instruments read with that are not the job's own, each with how often."""
    named = {view.word(role) for role in CHOSEN if view.card(role) is not None}
    used = Counter(e.instrument for e in view.entries.values() if isinstance(e, Reading) and e.instrument)
    for id, n in used.items():
        if id not in named:
            yield tell(LN("{name}: {n} reading", "{name}: {n} readings", n, name=log.instrument(id) or id))


def _acknowledged(view: View, tell: _Teller) -> tuple[tuple[str, str, str], ...]:
    """The cautions that were seen: what each says, by whom and when."""
    texts = {row.key: row.text for row in CAUTIONS}
    for step in all_sheets():
        for c in (*step.cautions, *work_of(view, step).cautions):
            texts.setdefault(c.key, c.text)
    return tuple(
        (tell(texts[e.what]) if e.what in texts else e.what, e.by, tell.when(e.stamp))
        for e in sorted(view.cautions_seen.values(), key=lambda e: e.stamp)
    )


def _checked(tell: _Teller, view: View, role: str) -> list[str]:
    """What the checks of an instrument say, where it is one that is checked."""
    card = view.card(role)
    if card is None or not ROLES[role].checked or not checks(card):
        return []
    out = [_sentence(tell, health(card))]
    due = due_for(view, role)
    return out if due is None else [*out, _sentence(tell, due)]


def _changes(view: View, tell: _Teller, log: _Log) -> Iterable[Part]:
    skipped = tuple(
        (log.what(e), e.reason, e.by, tell.when(e.stamp)) for e in sorted(view.skipped.values(), key=lambda e: e.stamp)
    )
    if skipped:
        titles = (tell(L("Step")), tell(L("Reason")), tell(L("By")), tell(L("When")))
        yield Part(tell(L("Left out")), (Grid(titles, skipped, (2, 5, 1.5, 1.7)),))
    rows: tuple[tuple[str, ...], ...] = (*_corrected(view, tell, log), *_renamed(view, tell))
    if rows:
        head = tuple(map(tell, (L("About"), L("Was"), L("Became"), L("By"), L("When"))))
        yield Part(
            tell(L("Corrections")),
            (
                Words(tell(L("Nothing is ever erased: what was entered first stays in the log."))),
                Grid(head, rows, (4, 2, 2, 1.5, 1.7)),
            ),
        )


def _corrected(view: View, tell: _Teller, log: _Log) -> Iterable[tuple[str, ...]]:
    """The entries that correct, withdraw or bring back another, oldest first."""
    for entry in sorted(view.entries.values(), key=lambda e: (e.stamp, e.id)):
        old = view.entries.get(entry.replaces or "")
        if old is None:
            continue
        about: Entry = entry
        new = "" if isinstance(entry, Withdrawn) else log.typed(entry)
        if isinstance(entry, Withdrawn):
            new = tell(L("put back")) if isinstance(old, Withdrawn) else tell(L("withdrawn"))
            about = old = _first_of(view, old)
        yield log.what(about), log.typed(old), new, entry.by, tell.when(entry.stamp)


def _first_of(view: View, entry: Entry) -> Entry:
    """What was taken back in the end, where an entry takes back another that takes back."""
    while isinstance(entry, Withdrawn) and (old := view.entries.get(entry.replaces or "")) is not None:
        entry = old
    return entry


def _renamed(view: View, tell: _Teller) -> Iterable[tuple[str, ...]]:
    """What the job's head said before."""
    header = view.document.header
    for key, values in sorted(view.document.earlier.items()):
        now = _plain(header[key].value) if key in header else ""
        for value in values:
            yield tell(_HEADER.get(key, key)), _plain(value.value), now, value.by, tell.when(value.stamp)


def _plain(value: Any) -> str:
    return value.text if isinstance(value, Typed) else "" if value is None else str(value)


def _fine_print(view: View, tell: _Teller) -> Iterable[Part]:
    taken: dict[str, None] = {}
    for step in all_sheets():
        if f"sheet.{step.key}" in view.skipped:
            continue
        work = work_of(view, step)
        if _touched(view, step, work):
            for r in work.results:
                for a in r.assumptions:
                    taken[tell(L("{text} [{source}]", text=a.text, source=a.source))] = None
    notes = tuple(tell(L("{when}: {text}", when=tell.when(n.stamp), text=n.text)) for n in view.notes)
    if notes:
        yield Part(tell(L("Notes")), (Points(notes),))
    if view.entries:
        when = timeline(view, offset_minutes=tell.offset_minutes)
        yield Part(tell(L("When it was done")), (Pictures((when,)), Words(tell(when.text))))
    if taken:
        yield Part(tell(L("Taken for granted")), (Points(tuple(taken), small=True),))
    yield Part(
        tell(L("What these figures are")),
        (
            Words(
                tell(
                    L(
                        "Measured values are as read by the person named. Calculated values are advice that was checked by measuring; "
                        "the instructions of the makers of engine, pistons and rings come first."
                    )
                ),
                small=True,
            ),
        ),
    )


def _entries(view: View, tell: _Teller, log: _Log) -> Iterable[Part]:
    """Every value that stands, by step and field: where it belongs, what it is, and what was typed if that reads otherwise."""
    found = _standing(view)
    head = tuple(map(tell, (L("What"), L("Values"), L("By"), L("Read with"), L("When"))))
    known = {key: step.title for step in all_sheets() for key in step.fields}
    by_step: dict[str, list[tuple[str, ...]]] = {}
    for key in (*(k for k in known if k in found), *(k for k in found if k not in known)):
        title = tell(known.get(key, L("Of another version")))
        by_step.setdefault(title, []).append(_of_field(tell, log, key, found[key]))
    parts = [
        Part(title, (_without_empty(Grid(head, tuple(rows), (2.6, 6, 1.5, 1.6, 1.9))),), sub=True)
        for title, rows in by_step.items()
    ]
    if parts:
        yield Part(
            tell(L("Everything that was entered")),
            (
                Words(
                    tell(L("As it stands after corrections; what was typed follows where it reads otherwise.")),
                    small=True,
                ),
            ),
        )
        yield from parts


def _standing(view: View) -> dict[str, list[Reading | Chosen]]:
    """The values that stand, by field."""
    found: dict[str, list[Reading | Chosen]] = {}
    for entry in view.live():
        if isinstance(entry, (Reading, Chosen)):
            found.setdefault(entry.what, []).append(entry)
    return found


def _of_field(tell: _Teller, log: _Log, key: str, entries: Sequence[Reading | Chosen]) -> tuple[str, ...]:
    """A field's row: its name, its values, who entered them, what they were read with, and when."""
    instruments = (log.instrument(e.instrument) for e in entries if isinstance(e, Reading))
    first, last = tell.when(entries[0].stamp), tell.when(entries[-1].stamp)
    # the same day is not said twice
    until = last[11:] if last[:10] == first[:10] else last
    return (
        log.label(key),
        " · ".join(log.placed(e) for e in entries),
        ", ".join(dict.fromkeys(e.by for e in entries if e.by)),
        ", ".join(dict.fromkeys(filter(None, instruments))),
        first if first == last else tell(L("{first} to {last}", first=first, last=until)),
    )


def _without_empty(grid: Grid) -> Grid:
    """The table without the columns in which nothing stands."""
    keep = [i for i in range(len(grid.head)) if any(row[i] for row in grid.rows)]
    return Grid(
        tuple(grid.head[i] for i in keep),
        tuple(tuple(r[i] for i in keep) for r in grid.rows),
        tuple(grid.shares[i] for i in keep),
    )


def _photos(view: View, found: Mapping[str, bytes]) -> tuple[tuple[str, str, bytes], ...]:
    return tuple((p.caption, p.media, found[p.digest]) for p in view.photos if p.digest in found)


#: No HTML may hold these (HTML Living Standard, 13.2.3.5), and a terminal would obey some of them.
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


def escape(text: str) -> str:
    return _escaped(_CONTROL.sub("\ufffd", text))


# -- HTML ------------------------------------------------------------------------------------------
_CSS = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 62rem; font: 15px/1.45 system-ui, sans-serif; color: #14181c; background: #fff; overflow-wrap: anywhere; }
h1 { font-size: 1.7rem; margin: 0 0 .6rem; }
h2 { font-size: 1.2rem; margin: 1.6rem 0 .5rem; padding-bottom: .15rem; border-bottom: 2px solid #14181c; break-after: avoid; }
h3 { font-size: 1rem; margin: 1rem 0 .3rem; break-after: avoid; }
p, ul { margin: .35rem 0; }
ul { padding-left: 1.2rem; }
.strong { font-weight: 600; }
.small { font-size: .85em; color: #343c44; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; margin: .4rem 0; }
dt { color: #343c44; }
dd { margin: 0; font-weight: 600; }
table { width: 100%; border-collapse: collapse; margin: .5rem 0; table-layout: fixed; font-size: .87em; }
th, td { text-align: left; vertical-align: top; padding: .25rem .35rem; border-bottom: 1px solid #b9c1c9; }
th { background: #eef1f4; }
tr { break-inside: avoid; }
.scroll { overflow-x: auto; }
.scroll table { min-width: 34rem; }
.row { display: flex; flex-wrap: wrap; gap: 1rem; margin: .5rem 0; break-inside: avoid; }
figure { margin: 0; flex: 1 1 16rem; max-width: 24rem; break-inside: avoid; }
figure.wide { max-width: none; flex-basis: 100%; }
figure svg, figure img { width: 100%; height: auto; display: block; }
figcaption { font-weight: 600; font-size: .9em; }
footer { margin-top: 1.5rem; font-size: .85em; color: #343c44; }
@page { margin: 14mm 13mm 15mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 10pt; }
  th { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  svg { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  .scroll { overflow: visible; }
  .scroll table { min-width: 0; }
  thead { display: table-header-group; }
}
"""


def html_report(view: View, style: Style = Style(), **options: Any) -> str:
    """The report as one HTML file; ``options`` as for :func:`gather`.

    It fetches nothing: pictures are drawn in it, photos are carried in it, and its own
    policy forbids scripts and any address.
    """
    report = gather(view, style, **options)
    body = [f"<h1>{escape(report.title)}</h1>"]
    if report.facts:
        rows = "".join(f"<dt>{escape(k)}</dt><dd>{escape(v)}</dd>" for k, v in report.facts)
        body.append(f"<dl>{rows}</dl>")
    for part in report.parts:
        level = "h3" if part.sub else "h2"
        body.append(f"<{level}>{escape(part.title)}</{level}>")
        body.extend(_html(block, style) for block in part.blocks)
    if report.photos:
        body.append(f'<h2>{escape(say(L("Photos"), style))}</h2><div class="row">')
        for caption, media, data in report.photos:
            source = f"data:{media};base64,{base64.b64encode(data).decode('ascii')}"
            body.append(
                f'<figure><img src="{escape(source)}" alt="{escape(caption)}"><figcaption>{escape(caption)}</figcaption></figure>'
            )
        body.append("</div>")
    body.append(f"<footer>{escape(report.footer)}</footer>")
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(style.language)}">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(report.title)}</title>\n<style>{_CSS}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _html(block: Block, style: Style) -> str:
    match block:
        case Words():
            kind = " ".join(k for k, on in (("strong", block.strong), ("small", block.small)) if on)
            return f'<p class="{kind}">{escape(block.text)}</p>' if kind else f"<p>{escape(block.text)}</p>"
        case Points():
            kind = " class=small" if block.small else ""
            return f"<ul{kind}>{_each('li', block.entries)}</ul>"
        case Grid():
            return _html_table(block)
        case Pictures():
            return _html_pictures(block, style)
    raise TypeError(f"not a block: {type(block).__name__}")


def _each(tag: str, texts: Iterable[str], how: str = "") -> str:
    """Each text in an element of its own."""
    return "".join(f"<{tag}{how}>{escape(text)}</{tag}>" for text in texts)


def _html_table(block: Grid) -> str:
    total = sum(block.shares)
    columns = "".join(f'<col style="width:{100 * s / total:.2f}%">' for s in block.shares)
    head = _each("th", block.head, ' scope="col"')
    rows = "".join(f"<tr>{_each('td', row)}</tr>" for row in block.rows)
    table = f"<table><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    return f'<div class="scroll">{table}</div>'


def _html_pictures(block: Pictures, style: Style) -> str:
    figures = []
    drawn = _drawn(block.row, style)
    for d in drawn:
        wide = ' class="wide"' if d.width > 1.5 * _PICTURE[0] else ""
        figures.append(f"<figure{wide}>{svg(d)}<figcaption>{escape(d.title)}</figcaption></figure>")
    lacking = f"<p>{escape(say(NOT_DRAWN, style))}</p>" if len(drawn) < len(block.row) else ""
    return f'<div class="row">{"".join(figures)}</div>{lacking}'


def _drawn(row: Sequence[Any], style: Style) -> list[Any]:
    wide = len(row) == 1 and not isinstance(row[0], BoreSection)
    width, height = (2 * _PICTURE[0], 0.75 * _PICTURE[1]) if wide else _PICTURE
    out = []
    for p in row:
        try:
            out.append(draw(p, width, height, style))
        except Exception as error:  # noqa: BLE001  a picture that cannot be drawn leaves the others and the figures
            broke(f"the picture {type(p).__name__}", error)
    return out


# -- PDF ---------------------------------------------------------------------------------------------
def pdf_report(view: View, style: Style = Style(), *, paper: str | None = None, **options: Any) -> bytes:
    """The report as a PDF; ``options`` as for :func:`gather`.

    ``paper`` is "A4" or "Letter"; left out, Letter for a person who works in inches and
    A4 for one who works in millimetres. Photos other than JPEG are left to the HTML.
    """
    from .paper import Paper

    report = gather(view, style, **options)
    sheet_of_paper = Paper(
        paper or ("Letter" if style.length == "in" else "A4"), title=report.title, footer=report.footer
    )
    sheet_of_paper.title(report.title)
    sheet_of_paper.facts(report.facts)
    for part in report.parts:
        _put_heading(sheet_of_paper, part, style)
        for block in part.blocks:
            _put(sheet_of_paper, block, style)
    jpegs = [(c, data) for c, media, data in report.photos if media == "image/jpeg"]
    if jpegs:
        sheet_of_paper.heading(say(L("Photos"), style))
        for caption, data in jpegs:
            sheet_of_paper.photo(data, caption)
    if sheet_of_paper.lacks_letters:
        sheet_of_paper.paragraph(
            say(
                L(
                    "Some letters are not in this file's typeface and show as a sign; the web page form of this report has them."
                ),
                style,
            ),
            small=True,
        )
    return sheet_of_paper.finish()


def _put_heading(paper: Paper, part: Part, style: Style) -> None:
    """A part's heading, kept together with the table or the pictures under it."""
    first = part.blocks[0]
    keep = 70.0 if isinstance(first, Grid) else 0.0
    if isinstance(first, Pictures):
        keep = paper.height_of_drawings(_drawn(first.row, style))
    (paper.subheading if part.sub else paper.heading)(part.title, keep=keep)


def _put(paper: Paper, block: Block, style: Style) -> None:
    match block:
        case Words():
            paper.paragraph(block.text, bold=block.strong, small=block.small)
        case Points():
            paper.items(block.entries, small=block.small)
        case Grid():
            paper.table(block.head, block.rows, block.shares)
        case Pictures():
            drawn = _drawn(block.row, style)
            paper.drawings(drawn)
            if len(drawn) < len(block.row):
                paper.paragraph(say(NOT_DRAWN, style))
