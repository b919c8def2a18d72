"""The annex of the report, made on request: what each step says, who did it, and every reading in tables."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any

from logic.bore import AXES
from logic.cautions import CAUTIONS
from logic.places import place_name
from logic.result import source_said
from logic.say import LN, L, Line, Style, say

from .cards import ROLES, checks, due_for, health
from .documents import Chosen, Decision, Entry, Reading, Typed, Withdrawn
from .flow import timeline, work_of
from .reasons import told
from .roles import CHOSEN
from .roles import ROLES as ROLE_NAMES
from .sheets import Sheet, all_sheets, headline
from .telling import Block, Grid, Log, Part, Pictures, Points, Teller, Words, figures_of, sentence, stands, touched
from .view import View

__all__ = ["made"]

_HEADER = {
    "title": L("Name of the job"),
    "customer": L("Customer"),
    "engine": L("Engine"),
    "number": L("Engine number"),
    "banks": L("Banks"),
    "nominal": L("Nominal bore"),
    "cylinders": L("Cylinders"),
    **{role: ROLE_NAMES[role] for role in CHOSEN},
}


def made(view: View, tell: Teller, log: Log) -> list[tuple[Line, Callable[[], Iterable[Part]]]]:
    """The annex's parts, each by its name, to be made one after another."""
    return [
        (L("What was chosen, and why"), lambda: _chosen(view, tell, log)),
        (L("The work, step by step"), lambda: _steps(view, tell)),
        (L("Who did it"), lambda: _people(view, tell, log)),
        (L("Corrections"), lambda: _changes(view, tell, log)),
        (L("Notes"), lambda: _notes(view, tell)),
        (L("Every reading"), lambda: _entries(view, tell, log)),
    ]


def _chosen(view: View, tell: Teller, log: Log) -> Iterable[Part]:
    blocks: list[Block] = []
    results = work_of(view, headline()).results
    if results:
        first = results[0]
        blocks.append(Words(sentence(tell, first), strong=True))
        blocks.append(Points(tuple(tell(w) for w in first.why)))
        blocks.append(figures_of(tell, first))
        blocks.append(Points(tuple(sentence(tell, r) for r in results[1:])))
    yield Part(tell(L("What was chosen, and why")), tuple(b for b in blocks if b != Points(())), fresh=True)
    rows = tuple(
        (log.what(d), log.value(d), d.reason, _advice(view, tell, d), d.by, tell.when(d.stamp))
        for d in sorted(view.decisions.values(), key=lambda d: d.stamp)
    )
    if rows:
        head = (L("About"), L("Decided"), L("Reason"), L("Advice at the time"), L("By"), L("When"))
        yield Part(tell(L("Decisions")), (Grid(tuple(map(tell, head)), rows, (2, 2, 3, 4, 1.5, 1.7)),), sub=True)


def _advice(view: View, tell: Teller, decision: Decision) -> str:
    """What was advised when somebody decided: in the reader's words and units where it can be made out anew."""
    if decision.what != headline().key:
        return decision.advised
    earlier = tuple(e for e in view.entries.values() if e.stamp < decision.stamp)
    then = View(view.document.model_copy(update={"entries": earlier}), view.cards)
    for result in work_of(then, headline()).results[:1]:
        written = (Style(*how) for how in itertools.product(("in", "mm"), ("C", "F"), ("en", "de")))
        if any(say(result.line, style) == decision.advised for style in written):
            return tell(result.line)
    return decision.advised


def _steps(view: View, tell: Teller) -> Iterable[Part]:
    """What each other step says, in the order of the work."""
    inner: list[Part] = []
    for step in all_sheets():
        if not step.apart and f"sheet.{step.key}" not in view.skipped:
            inner.extend(stands(tell, step.title, partial(_step, view, tell, step), sub=True))
    if inner:
        yield Part(
            tell(L("The work, step by step")), (Words(tell(L("Worked out from what was measured and entered."))),)
        )
        yield from inner


def _step(view: View, tell: Teller, step: Sheet) -> Iterable[Part]:
    """What one step says."""
    work = work_of(view, step)
    if not work.results or not touched(view, step, work):
        return
    blocks: list[Block] = []
    for r in work.results:
        blocks.append(Words(sentence(tell, r)))
        if r.figures:
            said = (tell(L("{label} {value}", label=f.label, value=tell.figure(f.qty))) for f in r.figures)
            blocks.append(Words(" · ".join(said), small=True))
    blocks.extend(Pictures(work.pictures[start : start + 2]) for start in range(0, len(work.pictures), 2))
    yield Part(tell(step.title), tuple(blocks), sub=True)


def _people(view: View, tell: Teller, log: Log) -> Iterable[Part]:
    counts = Counter(entry.by for entry in view.entries.values())
    who = tuple(
        tell(LN("{name}: {n} entry", "{name}: {n} entries", n, name=name or tell(L("no name given"))))
        for name, n in sorted(counts.items(), key=lambda kv: -kv[1])
    )
    yield Part(tell(L("Who did it")), (Points(who),) if who else ())
    lines = (*_machines(view, tell), *_instruments(view, tell, log))
    yield Part(tell(L("Instruments and machines")), (Points(lines),) if lines else ())
    seen = _acknowledged(view, tell)
    if seen:
        head = (tell(L("Caution")), tell(L("Read by")), tell(L("When")))
        yield Part(tell(L("Cautions acknowledged")), (Grid(head, seen, (6, 1.6, 1.7)),))


def _machines(view: View, tell: Teller) -> Iterable[str]:
    """The machines and instruments chosen for the job, each with what its checks say."""
    for role in CHOSEN:
        card = view.card(role)
        if card is not None:
            name = card.header("title")
            yield tell(L("{role}: {name}", role=ROLE_NAMES[role], name=ROLE_NAMES[role] if name is None else str(name)))
            yield from _checked(tell, view, role)


def _instruments(view: View, tell: Teller, log: Log) -> Iterable[str]:
    """The instruments read with that are not the job's own, each with how often."""
    named = {view.word(role) for role in CHOSEN if view.card(role) is not None}
    used = Counter(e.instrument for e in view.entries.values() if isinstance(e, Reading) and e.instrument)
    for id, n in used.items():
        if id not in named:
            yield tell(LN("{name}: {n} reading", "{name}: {n} readings", n, name=log.instrument(id) or id))


def _acknowledged(view: View, tell: Teller) -> tuple[tuple[str, str, str], ...]:
    """The cautions that were seen: what each says, by whom and when."""
    texts = {row.key: row.text for row in CAUTIONS}
    for step in all_sheets():
        for c in (*step.cautions, *work_of(view, step).cautions):
            texts.setdefault(c.key, c.text)
    return tuple(
        (tell(texts[e.what]) if e.what in texts else e.what, e.by, tell.when(e.stamp))
        for e in sorted(view.cautions_seen.values(), key=lambda e: e.stamp)
    )


def _checked(tell: Teller, view: View, role: str) -> list[str]:
    """What the checks of an instrument say, where it is one that is checked."""
    card = view.card(role)
    if card is None or not ROLES[role].checked or not checks(card):
        return []
    out = [sentence(tell, health(card))]
    due = due_for(view, role)
    return out if due is None else [*out, sentence(tell, due)]


def _changes(view: View, tell: Teller, log: Log) -> Iterable[Part]:
    skipped = tuple(
        (log.what(e), tell(told(e.reason)), e.by, tell.when(e.stamp))
        for e in sorted(view.skipped.values(), key=lambda e: e.stamp)
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


def _corrected(view: View, tell: Teller, log: Log) -> Iterable[tuple[str, ...]]:
    """The entries that correct, withdraw or bring back another, oldest first."""
    for entry in sorted(view.entries.values(), key=lambda e: (e.stamp, e.id)):
        old = view.entries.get(entry.replaces or "")
        if old is None:
            continue
        about: Entry = entry
        new = "" if isinstance(entry, Withdrawn) else log.typed(entry)
        if isinstance(entry, Withdrawn):
            new = tell(L("put back")) if isinstance(old, Withdrawn) else tell(L("undone"))
            about = old = _first_of(view, old)
        yield log.what(about), log.typed(old), new, entry.by, tell.when(entry.stamp)


def _first_of(view: View, entry: Entry) -> Entry:
    """What was taken back in the end, where an entry takes back another that takes back."""
    passed: set[str] = set()  # in a file from elsewhere two may take back each other
    while isinstance(entry, Withdrawn) and entry.id not in passed:
        passed.add(entry.id)
        entry = view.entries.get(entry.replaces or "", entry)
    return entry


def _renamed(view: View, tell: Teller) -> Iterable[tuple[str, ...]]:
    """What the job's head said before."""
    header = view.document.header
    for key, values in sorted(view.document.earlier.items()):
        now = _plain(header[key].value) if key in header else ""
        for value in values:
            yield tell(_HEADER.get(key, key)), _plain(value.value), now, value.by, tell.when(value.stamp)


def _plain(value: Any) -> str:
    return value.text if isinstance(value, Typed) else "" if value is None else str(value)


def _notes(view: View, tell: Teller) -> Iterable[Part]:
    taken: dict[str, None] = {}
    for step in all_sheets():
        if f"sheet.{step.key}" in view.skipped:
            continue
        work = work_of(view, step)
        if touched(view, step, work):
            for r in work.results:
                for a in r.assumptions:
                    taken[tell(L("{text} [{source}]", text=a.text, source=source_said(a.source)))] = None
    notes = tuple(tell(L("{when}: {text}", when=tell.when(n.stamp), text=n.text)) for n in view.notes)
    if notes:
        yield Part(tell(L("Notes")), (Points(notes),))
    if view.entries:
        when = timeline(view, offset_minutes=tell.offset_minutes)
        yield Part(tell(L("When it was done")), (Pictures((when,)), Words(tell(when.text))))
    if taken:
        yield Part(tell(L("Assumptions")), (Points(tuple(taken), small=True),))


# -- every reading --------------------------------------------------------------------------------------
#: No table has more columns of values than this; what has more stands in rows.
_MOST_COLUMNS = 8
_COARSE = ("cylinder", "pass", "check", "depth", "ring", "axis", "angle")


def _entries(view: View, tell: Teller, log: Log) -> Iterable[Part]:
    """Every value that stands, by step: single ones in a list, those at places in tables."""
    found: dict[str, list[Reading | Chosen]] = {}
    for entry in view.live():
        if isinstance(entry, (Reading, Chosen)):
            found.setdefault(entry.what, []).append(entry)
    if not found:
        return
    about = L("The value as corrected; what was typed stands after it where it differs.")
    yield Part(tell(L("Every reading")), (Words(tell(about), small=True),))
    for step in all_sheets():
        mine = {key: found.pop(key) for key in step.fields if key in found}
        if mine:
            yield Part(tell(step.title), tuple(_tables(tell, log, mine)), sub=True)
    if found:
        yield Part(tell(L("Of another version")), tuple(_tables(tell, log, found)), sub=True)


def _tables(tell: Teller, log: Log, fields: dict[str, list[Reading | Chosen]]) -> Iterable[Block]:
    """The values of a step: those of the whole job, then a table for each kind of place."""
    by_kind: dict[tuple[str, ...], dict[str, list[Reading | Chosen]]] = {}
    for key, entries in fields.items():
        for entry in entries:
            by_kind.setdefault(tuple(sorted(entry.at, key=_coarse_first)), {}).setdefault(key, []).append(entry)
    for kind, several in sorted(by_kind.items(), key=lambda pair: len(pair[0])):
        if not kind:
            head = (tell(L("What")), tell(L("Value")))
            rows = tuple((log.label(key), log.said(entries[-1])) for key, entries in several.items())
            yield Grid(head, rows, (4, 5))
        elif len(several) > 1 or len(kind) == 1:
            yield from _by_field(tell, log, several)
        else:
            yield from _by_last(tell, log, kind, *several.items())
        yield Words(_by_whom(tell, log, [e for entries in several.values() for e in entries]), small=True)


def _by_field(tell: Teller, log: Log, several: dict[str, list[Reading | Chosen]]) -> Iterable[Grid]:
    """A row to each place, a column to each field."""
    keys = list(several)
    for start in range(0, len(keys), _MOST_COLUMNS):
        part = keys[start : start + _MOST_COLUMNS]
        rows: dict[str, dict[str, str]] = {}
        for entry in _in_order([e for key in part for e in several[key]]):
            rows.setdefault(log.place(entry), {})[entry.what] = log.said(entry)
        head = (tell(L("Place")), *(log.label(key) for key in part))
        cells = tuple((place, *(said.get(key, "–") for key in part)) for place, said in rows.items())
        yield Grid(head, cells, (2.5, *(2.0 for _ in part)))


def _by_last(tell: Teller, log: Log, kind: tuple[str, ...], one: tuple[str, list[Reading | Chosen]]) -> Iterable[Block]:
    """A row to each place but for its last part (the axis, the angle, the ring), which are the columns."""
    key, entries = one
    yield Words(log.label(key))
    across = kind[-1]
    columns = sorted({e.at[across] for e in entries}, key=_axis_first)
    rows: dict[tuple[Any, ...], dict[Any, str]] = {}
    for entry in _in_order(entries):
        where = tuple(entry.at[k] for k in kind[:-1])
        rows.setdefault(where, {})[entry.at[across]] = log.said(entry)
    for start in range(0, len(columns), _MOST_COLUMNS):
        part = columns[start : start + _MOST_COLUMNS]
        head = (*(_part_name(tell, k) for k in kind[:-1]), *(_column(tell, across, c) for c in part))
        cells = tuple((*map(str, where), *(said.get(c, "–") for c in part)) for where, said in rows.items())
        yield Grid(head, cells, (*[1.4] * len(kind[:-1]), *[1.6] * len(part)))


def _in_order(entries: Sequence[Reading | Chosen]) -> list[Reading | Chosen]:
    return sorted(entries, key=lambda e: [(k, _axis_first(e.at[k])) for k in sorted(e.at, key=_coarse_first)])


def _coarse_first(kind: str) -> tuple[int, str]:
    """The kinds of place from the whole bore down to a spot in it."""
    return (_COARSE.index(kind) if kind in _COARSE else len(_COARSE)), kind


def _axis_first(value: Any) -> tuple[int, str]:
    """Numbers by size, axes in the order in which they are asked."""
    if isinstance(value, int):
        return value, ""
    names = list(AXES)
    return (names.index(value) if value in names else len(names)), str(value)


_PARTS = {
    "cylinder": L("Cylinder"),
    "depth": L("Depth"),
    "check": L("Check"),
    "pass": L("Pass"),
    "ring": L("Ring"),
    "axis": L("Axis"),
    "angle": L("Angle"),
}


def _part_name(tell: Teller, kind: str) -> str:
    return tell(_PARTS.get(kind, kind))


def _column(tell: Teller, kind: str, value: Any) -> str:
    if kind == "angle":
        return f"{value}°"
    if kind == "axis" and value in AXES:
        return tell(AXES[value])
    try:
        return tell(place_name({kind: value}))
    except KeyError:
        return f"{_part_name(tell, kind)} {value}"


def _read_with(log: Log, entries: Sequence[Reading | Chosen]) -> str:
    named = (log.instrument(e.instrument) for e in entries if isinstance(e, Reading))
    return ", ".join(dict.fromkeys(filter(None, named)))


def _by_whom(tell: Teller, log: Log, entries: Sequence[Reading | Chosen]) -> str:
    """Who entered a table, what was read with, and when."""
    stamps = sorted(e.stamp for e in entries)
    first, until = tell.when(stamps[0]), tell.when(stamps[-1])
    until = until[11:] if until[:10] == first[:10] else until
    with_ = _read_with(log, entries)
    who = ", ".join(dict.fromkeys(e.by for e in entries if e.by))
    alike = stamps[0] == stamps[-1] or until == first[11:]
    when = first if alike else tell(L("{first} to {last}", first=first, last=until))
    return " · ".join(part for part in (who, with_, when) if part)
