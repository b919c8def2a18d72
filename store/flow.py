"""The flow of a job over its steps: states, what is next, what a correction changed, and the timeline.

Works from the log alone. A step's work is a fact (see :mod:`store.graph`), so it is worked
out again only where something it read has changed; and what the step depends on, whether
it wants another look and what a correction changed are read off what it asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from typing import Any
from weakref import WeakKeyDictionary

from logic.doubt import Doubt, Place, held
from logic.flow import Change, Status, Step, changes, next_step, statuses
from logic.pictures import JobTimeline
from logic.result import Result, Verdict
from logic.say import LN, Day, L, Line

from .documents import CautionSeen, Entry, Note, PhotoRef, Skipped, Stamped, Withdrawn
from .errors import broke
from .facts.evidence import doubts
from .facts.gates import skip_key
from .facts.set_aside import RULES, set_aside
from .graph import Asked, fact, running
from .kit import Route
from .reasons import told
from .sheets import Sheet, Work, all_sheets
from .view import View, concerns

__all__ = [
    "Flow",
    "effect_of",
    "flow",
    "known",
    "minutes",
    "needs",
    "off_path",
    "path_key",
    "reads",
    "ripple",
    "route",
    "skip_key",
    "stands_key",
    "step_work",
    "timeline",
    "without",
    "work_of",
]

#: What the temperatures of a visit are called among the steps, of which they are none.
_VISIT = "visit"
#: Entries that belong to no step are counted in the timeline under this name.
_JOB = L("Job")


def path_key(name: str) -> str:
    """``what`` of the Decision by which somebody puts a step on the path that is off it."""
    return f"path.{name}"


def off_path(view: View, sheet: Sheet) -> Line | None:
    """Why a step is off the path: nothing was entered in it, nobody put it on, and the sheet says it can wait."""
    if sheet.idle is None or view.decision(path_key(sheet.key)) is not None:
        return None
    return None if _begun(view, sheet) else sheet.idle(view)


def _begun(view: View, sheet: Sheet) -> bool:
    """Whether anything was entered in a step."""
    return any(view.all(key) for key in sheet.fields)


def waits(view: View, sheet: Sheet) -> Line | None:
    """What comes before a step in the order of the work, where nothing was entered in it yet."""
    return None if sheet.waits is None or _begun(view, sheet) else sheet.waits(view)


def route(view: View, sheets: Iterable[Sheet] | None = None) -> Route:
    """The way through a job, done or not: the steps on the path with their minutes, and those off it."""
    on, off = [], []
    for sheet in all_sheets() if sheets is None else sheets:
        why = off_path(view, sheet)
        if why is not None:
            off.append((sheet.title, why))
        elif skip_key(sheet.key) not in view.skipped:
            on.append((sheet.title, minutes(view, sheet)))
    return Route(on=tuple(on), off=tuple(off))


def minutes(view: View, sheet: Sheet) -> int:
    """About how long a step takes."""
    return sheet.minutes[0] + sheet.minutes[1] * len(view.cylinders)


def stands_key(name: str) -> str:
    """``what`` of the Decision by which somebody looked again at a step and found that it stands."""
    return f"sheet.{name}.stands"


@fact
def step_work(view: View, worker: Callable[[View], Work], gate: Callable[[View, Work], Work] | None = None) -> Work:
    """What a step has to say about a job: all of it that its gate lets through. One that breaks off says so, and the others stand."""
    try:
        work = worker(view)
        return work if gate is None else gate(view, work)
    except Exception as error:  # noqa: BLE001  whatever a log may hold, no step takes the others down with it
        said = broke(worker.__module__, error)
        return Work(
            broken=True,
            blocked=L(
                "This step cannot be worked out from what was entered. Look at its entries, and those before it. ({error})",
                error=said,
            ),
        )


@fact
def told_work(view: View, sheet: Sheet) -> Work:
    """A step's work, with what was entered and does not count beside its first answer."""
    work = step_work(view, sheet.work, sheet.gate)
    aside = _set_aside(view, sheet.key) if work.results else ()
    if not aside:
        return work
    first, *more = work.results
    return replace(work, results=(replace(first, why=(*first.why, *aside)), *more))


def _set_aside(view: View, step: str) -> Sequence[Line]:
    try:
        return set_aside(view, step)
    except Exception as error:  # noqa: BLE001  a remark that cannot be made takes no step down
        broke("what does not count", error)
        return ()


#: Stands for every contradiction where the look for them breaks off: then no yes may be said.
_UNCHECKED = Doubt(
    key="unchecked",
    line=L("What was entered could not be checked against itself."),
    settle=L("Look through the entries and correct what is odd."),
    about=(),
)


def _doubts(view: View) -> Sequence[Doubt]:
    try:
        return doubts(view)
    except Exception as error:  # noqa: BLE001  what cannot be checked holds every yes, and no step breaks off
        broke("the check of what was entered", error)
        return (_UNCHECKED,)


def work_of(view: View, sheet: Sheet) -> Work:
    """What a step has to say about ``view``, worked out once for what it reads.

    While what it rests on is in doubt (:mod:`store.facts.evidence`), a yes is held and the
    step is not done: the doubts come with it. Which doubts are the step's is read off what
    its work asked for. A step that closes the job waits for all the others.
    """
    work = told_work(view, sheet) if sheet.key in RULES else step_work(view, sheet.work, sheet.gate)
    raised = _doubts(view)
    if sheet.closes:
        work = _closing(view, sheet, work)
    if not raised:
        return work
    kept = _HELD.setdefault(view, {}).get(sheet)
    state = view.state()
    if kept is None or kept[0] != state:
        mine = _rests_on(view, sheet, raised)
        held_back = replace(work, results=tuple(held(r, mine) for r in work.results), done=False, doubts=mine)
        kept = _HELD[view][sheet] = (state, held_back if mine else work)
    return kept[1]


#: What was held back for a view, by step, with the state of the view it was held back in.
_HELD: WeakKeyDictionary[View, dict[Sheet, tuple[int, Work]]] = WeakKeyDictionary()


def _rests_on(view: View, sheet: Sheet, raised: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """The doubts about a value that a step's work rests on."""
    asked = _asked_at(reads(view, sheet))
    return tuple(d for d in raised if not d.about or any(_is_about(asked, about) for about in d.about))


def _asked_at(asked: Iterable[Asked]) -> dict[Hashable, list[dict[str, Any]]]:
    """What was asked for, by its key: the places at which it was. A value of the header stands at every place."""
    found: dict[Hashable, list[dict[str, Any]]] = {}
    for line in asked:
        if line.slot is None or len(line.slot) < 2:
            continue
        kind, key = line.slot[:2]
        if kind == "header":
            found.setdefault(key, []).append({})
        elif kind in ("at", "all"):
            where: Any = line.slot[2] if kind == "at" else line.question[2]
            found.setdefault(key, []).append(dict(where))
    return found


def _is_about(asked: Mapping[Hashable, Iterable[Mapping[str, Any]]], about: Place) -> bool:
    """Whether a question can have been answered by the value at a place, or by any place that agrees with it."""
    key, at = about
    return any(all(place.get(name, value) == value for name, value in at) for place in asked.get(key, ()))


# -- the step that closes the job ------------------------------------------------------------------
def _closing(view: View, sheet: Sheet, work: Work) -> Work:  # noqa: ARG001  # asked like its fellows
    """A closing step's work: a yes only where every other step is done, or left out and not vital."""
    open_ends = [end for other in all_sheets() if not other.closes for end in _open_end(view, other)]
    if not open_ends:
        return work
    stopped = any(stop for stop, _ in open_ends)
    lines = tuple(line for _, line in open_ends)

    def waits(result: Result) -> Result:
        if result.verdict == Verdict.STOP:
            return replace(result, why=(*result.why, *lines))
        if result.verdict != Verdict.GO:
            return replace(result, why=(*result.why, *lines))
        return replace(
            result,
            verdict=Verdict.STOP if stopped else Verdict.MAYBE,
            confidence=None,
            line=L("Not fit to hand over yet. {what}", what=lines[0]),
            why=lines[1:],
        )

    return replace(work, results=tuple(map(waits, work.results)), done=False)


def _open_end(view: View, sheet: Sheet) -> list[tuple[bool, Line]]:
    """What a step leaves open at the end of the job, if anything: whether it is a no, and in words."""
    skipped = view.skipped.get(skip_key(sheet.key))
    if skipped is not None:
        left = L("{step}: left out, {reason}", step=sheet.title, reason=told(skipped.reason))
        return [(False, left)] if sheet.vital else []
    work = work_of(view, sheet)
    if work.done or off_path(view, sheet) is not None:
        return []
    worst = next((r for v in (Verdict.STOP, Verdict.MAYBE) for r in work.results if r.verdict == v), None)
    if worst is not None:
        return [(worst.verdict == Verdict.STOP, L("{step}: {line}", step=sheet.title, line=worst.line))]
    if work.blocked is not None:
        return [(False, L("{step}: {line}", step=sheet.title, line=work.blocked))]
    return [(False, L("{step}: not done, and not left out.", step=sheet.title))]


# -- what a step depends on -------------------------------------------------------------------
def reads(view: View, sheet: Sheet) -> list[Asked]:
    """Every question about this job, not about its kit cards, that a step's work rests on now, near or far."""
    step_work(view, sheet.work, sheet.gate)
    return [line for (source, _), line in view.rests_on(step_work, sheet.work, sheet.gate).items() if source is view]


def needs(view: View, sheets: Iterable[Sheet] | None = None) -> dict[str, frozenset[str]]:
    """For each step, the other steps whose fields its work rests on now."""
    known = tuple(all_sheets() if sheets is None else sheets)
    owner = {key: s.key for s in known for key in s.fields}
    return {
        s.key: frozenset(owner[k] for line in reads(view, s) if (k := asked_field(line)) in owner) - {s.key}
        for s in known
    }


def asked_field(line: Asked) -> str:
    """The key of the field that a question is about; "" where it is about none."""
    return str(line.slot[1]) if line.slot is not None and line.slot[0] in ("at", "all") else ""


# -- whose entry is it -----------------------------------------------------------------------
class _Owners:
    """Tells which step an entry belongs to, by the field it fills or the first word of its key."""

    def __init__(self, sheets: Sequence[Sheet]) -> None:
        self._field: dict[str, str] = {}
        self._word: dict[str, str] = {}
        for sheet in sheets:
            for key in sheet.fields:
                self._field.setdefault(key, sheet.key)
                self._word.setdefault(key.split(".")[0], sheet.key)
        for sheet in sheets:
            self._word[sheet.key] = sheet.key
        self._word[_VISIT] = _VISIT

    def of(self, entry: Entry) -> str | None:
        if isinstance(entry, (CautionSeen, Note, PhotoRef, Withdrawn)):
            return None
        what = entry.what
        if what in self._field:
            return self._field[what]
        first, _, rest = what.partition(".")
        if first == "sheet":
            return rest.split(".")[0]
        return self._word.get(first)


# -- the view as it would be -------------------------------------------------------------------
#: What a view is without some of its entries, and with its header as it was before a stamp.
_Before = tuple[frozenset[str], str, tuple[str, ...]]


@dataclass
class _Kept:
    """What is kept for a view between two entries: its flow, and the states without later corrections."""

    state: int = -1
    flows: dict[tuple[Sheet, ...], Flow] = field(default_factory=dict)
    before: dict[_Before, View] = field(default_factory=dict)


_KEPT: WeakKeyDictionary[View, _Kept] = WeakKeyDictionary()


def without(view: View, ids: Iterable[str], header_before: str = "", keys: Iterable[str] = ("nominal",)) -> View:
    """The view as it would be if the entries ``ids`` had never been made.

    With ``header_before``, a stamp, the header fields ``keys`` are also the ones that held then.
    """
    gone, kept = frozenset(ids), _KEPT.get(view)
    known = None
    if kept is not None and kept.state == view.state():
        known = kept.before.get((gone, "", ()))  # a state that the flow has worked on already
    return (view if known is None else known).fork(*_left(view, gone, header_before, keys))


def _left(
    view: View, ids: frozenset[str], header_before: str, keys: Iterable[str]
) -> tuple[list[Entry], dict[str, Stamped]]:
    """The entries and the header without ``ids``, and as the header fields ``keys`` were at ``header_before``."""
    header = dict(view.document.header)
    for key in keys if header_before else ():
        held = [
            v for v in (*view.document.earlier.get(key, ()), *_one(header.pop(key, None))) if v.stamp <= header_before
        ]
        if held:
            header[key] = max(held, key=lambda v: v.stamp)
    return [e for e in view.entries.values() if e.id not in ids], header


def _one(value: Stamped | None) -> tuple[Stamped, ...]:
    return () if value is None else (value,)


# -- states ------------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Flow:
    """Every step's state in the order of the work, and the one to go to (None: nothing waits)."""

    statuses: tuple[Status, ...]
    next: Status | None

    def state(self, name: str) -> Status:
        """The status of the step ``name``. Raises KeyError if there is none."""
        for status in self.statuses:
            if status.key == name:
                return status
        raise KeyError(name)


#: A correction: the step it belongs to, and the entry.
_Correction = tuple[str, Entry]


class _History:
    """What became of a job's log: when each step was last worked on, and what was corrected in it and in the header."""

    def __init__(self, view: View, sheets: Sequence[Sheet]) -> None:
        owners = _Owners(sheets)
        self.last: dict[str, str] = {}
        self.corrected: list[_Correction] = []
        entries = view.entries
        first = _First(entries)
        for entry in entries.values():
            owner = owners.of(first.of(entry) if isinstance(entry, Withdrawn) else entry)
            if owner is None:
                continue
            if not isinstance(entry, Skipped):
                self.last[owner] = max(self.last.get(owner, ""), entry.stamp)
            old = entries.get(entry.replaces or "")
            if old is not None and old is not entry and not isinstance(old, Skipped):
                self.corrected.append((owner, entry))
        document = view.document
        self.header = {k: v.stamp for k, v in document.header.items() if document.earlier.get(k)}

    def corrections(self, step: str) -> list[_Correction]:
        """What was corrected in other steps after ``step`` was last worked on."""
        own = self.last[step]
        return [c for c in self.corrected if c[0] != step and c[1].stamp > own]

    def renamed(self, step: str) -> tuple[str, ...]:
        """The header fields that were changed after ``step`` was last worked on."""
        return tuple(sorted(k for k, stamp in self.header.items() if stamp > self.last[step]))


def _about(entries: Mapping[str, Entry], entry: Entry, seen: set[str]) -> Iterator[Entry]:
    """An entry and those it replaces or withdraws, the latest first, as far as they are not among ``seen``; then they are."""
    at: Entry | None = entry
    while at is not None and at.id not in seen:
        seen.add(at.id)
        yield at
        at = entries.get(at.replaces or "")


class _First:
    """What entries go back to: the first of all that each replaces or withdraws, found once for a whole chain of them."""

    def __init__(self, entries: Mapping[str, Entry]) -> None:
        self._entries = entries
        self._known: dict[str, Entry] = {}

    def of(self, entry: Entry) -> Entry:
        passed: list[Entry] = []
        for at in _about(self._entries, entry, set()):
            passed.append(at)
            if at.id in self._known:
                break
        found = self._known.get(passed[-1].id, passed[-1])
        self._known.update((e.id, found) for e in passed)
        return found


class _Look:
    """Finds the finished steps that want another look."""

    def __init__(self, view: View, sheets: Sequence[Sheet], kept: _Kept) -> None:
        self.view, self.kept = view, kept
        self.history = _History(view, sheets)
        self.titles = {**{s.key: s.title for s in sheets}, _VISIT: L("The temperature")}
        self.used: dict[_Before, View] = {}

    def doubts(self, sheet: Sheet, work: Work) -> tuple[Line, ...]:
        """Why a finished step wants another look, the weightiest reason first."""
        out: list[Line] = []
        slots = self.view.folded.slots
        if any(len(entries) > 1 for key in sheet.fields for entries in slots.get(key, {}).values()):
            out.append(L("Two entries were made for the same thing: settle which one stands."))
        changed = self._changed(sheet, work) if sheet.key in self.history.last else None
        return (*out, changed) if changed is not None else tuple(out)

    def _changed(self, sheet: Sheet, work: Work) -> Line | None:
        """What became of a step's answer by what was corrected since it was last worked on."""
        later, renamed = self.history.corrections(sheet.key), self.history.renamed(sheet.key)
        if not later and not renamed:
            return None
        own = self.history.last[sheet.key]
        before = self._before((frozenset(e.id for _, e in later), own if renamed else "", renamed))
        then = work_of(before, sheet)
        was = [] if then is work else changes(sheet.key, sheet.title, then.results, work.results)
        return self._because(sheet, later, renamed, was[0].after or was[0].before) if was else None

    def _because(
        self, sheet: Sheet, later: Iterable[_Correction], renamed: tuple[str, ...], shown: Line | None
    ) -> Line:
        """The latest of the corrections that a step reads, and what it says now."""
        asked, entries, seen = reads(self.view, sheet), self.view.entries, set[str]()
        source = next(
            (
                owner
                for owner, made in sorted(later, key=lambda c: c[1].stamp, reverse=True)
                if any(concerns(a, e) for e in _about(entries, made, seen) for a in asked)
            ),
            None,
        )
        if source is not None:
            return L("{step} was corrected after this was done: {line}", step=self.titles[source], line=shown)
        if "nominal" in renamed and ("header", "nominal") in {a.slot for a in asked}:
            return L("The nominal bore was changed after this was done: {line}", line=shown)
        return L("The job's details were changed after this was done: {line}", line=shown)

    def _before(self, key: _Before) -> View:
        """The view before what came later; one state is followed from entry to entry, and shared by the steps."""
        found = self.used.get(key)
        if found is None:
            entries, header = _left(self.view, *key)
            found = self.kept.before.get(key)
            if found is None:
                found = self.view.fork(entries, header)
            else:
                found.turn(entries, header, self.view.cards)
            self.used[key] = found
        return found


def _flow(view: View, sheets: tuple[Sheet, ...], kept: _Kept) -> Flow:
    look = _Look(view, sheets, kept)
    steps: list[Step] = []
    for sheet in sheets:
        skipped = view.skipped.get(skip_key(sheet.key))
        if skipped is not None:
            steps.append(Step(key=sheet.key, title=sheet.title, skipped=told(skipped.reason)))
            continue
        work = work_of(view, sheet)
        done = work.done if sheet.closes else step_work(view, sheet.work, sheet.gate).done
        stop = next((r.line for r in work.results if r.verdict == Verdict.STOP), None)
        steps.append(
            Step(
                key=sheet.key,
                title=sheet.title,
                done=done,
                stopped=stop if not work.missing else None,
                idle=off_path(view, sheet),
                minutes=minutes(view, sheet),
                missing=len(work.missing),
                blocked=work.blocked or waits(view, sheet),
                doubts=(*(d.line for d in work.doubts), *look.doubts(sheet, work)) if done else (),
            )
        )
    kept.before = look.used
    found = statuses(steps)
    return Flow(statuses=found, next=next_step(found))


def flow(view: View, sheets: Iterable[Sheet] | None = None) -> Flow:
    """Where the job stands. ``sheets`` are all the steps unless given. No fact may ask for it."""
    if running():
        raise RuntimeError("a fact asks where the job stands, which rests on every fact")
    known = tuple(all_sheets() if sheets is None else sheets)
    kept = _KEPT.setdefault(view, _Kept())
    state = view.state()
    if kept.state != state:
        kept.state, kept.flows = state, {}
    if known not in kept.flows:
        kept.flows[known] = _flow(view, known, kept)
    return kept.flows[known]


def known(view: View) -> Flow | None:
    """Where the job stands, where nothing has changed since it was last worked out; None where it has to be."""
    kept = _KEPT.get(view)
    return kept.flows.get(all_sheets()) if kept is not None and kept.state == view.state() else None


# -- what a correction changed -------------------------------------------------------------------
def ripple(before: View, after: View, sheets: Iterable[Sheet] | None = None) -> list[Change]:
    """What became different between two states of a job: verdicts that turned first, then in the order of the work.

    Steps that are left out in both states are passed over.
    """
    out: list[Change] = []
    for sheet in all_sheets() if sheets is None else sheets:
        key = skip_key(sheet.key)
        if key in before.skipped and key in after.skipped:
            continue
        was, now = work_of(before, sheet).results, work_of(after, sheet).results
        if was is not now:
            out.extend(changes(sheet.key, sheet.title, was, now))
    return sorted(out, key=lambda change: not change.flipped)


def effect_of(view: View, entry: Entry, sheets: Iterable[Sheet] | None = None) -> list[Change]:
    """What ``entry`` would change if it were taken in (or, already taken in, what it changed). ``view`` stays as it is."""
    if entry.id in view.entries:
        return ripple(without(view, [entry.id]), view, sheets)
    return ripple(view, view.fork((*view.entries.values(), entry)), sheets)


# -- the timeline --------------------------------------------------------------------------------
def timeline(view: View, *, offset_minutes: int = 0, sheets: Iterable[Sheet] | None = None) -> JobTimeline:
    """The job's entries by day and step. ``offset_minutes`` is the reader's clock ahead of UTC.

    Every entry counts, also those later corrected or withdrawn: it is what was done.
    """
    known = tuple(all_sheets() if sheets is None else sheets)
    owners = _Owners(known)
    titles = {s.key: s.title for s in known}
    zone = timezone(timedelta(minutes=offset_minutes))
    rows: dict[tuple[str, str], list[int]] = {}
    for entry in sorted(view.entries.values(), key=lambda e: (e.stamp, e.id)):
        owner = owners.of(_concerned(view, entry)) or ""
        at = datetime.fromtimestamp(int(entry.stamp[:13]) / 1000, zone)
        minute = at.hour * 60 + at.minute
        row = rows.setdefault((at.date().isoformat(), owner if owner in titles else ""), [0, 0, minute, minute])
        row[0] += 1
        row[1] += entry.replaces is not None
        row[3] = minute
    listed = tuple(
        (day, titles.get(owner, _JOB), made, mended, first, last)
        for (day, owner), (made, mended, first, last) in rows.items()
    )
    days = tuple(dict.fromkeys(day for day, _ in rows))
    return JobTimeline(
        title=L("What was done when"),
        text=_entered(len(view.entries), days),
        days=days,
        rows=listed,
    )


def _concerned(view: View, entry: Entry) -> Entry:
    """The entry that a withdrawal takes back; any other entry itself."""
    target = view.entries.get(entry.replaces or "") if isinstance(entry, Withdrawn) else None
    return entry if target is None else target


def _entered(n: int, days: Sequence[str]) -> Line:
    """How many entries were made, and from when to when."""
    if not days:
        return L("Nothing has been entered yet.")
    if len(days) == 1:
        return LN("{n} entry on one day, {first}.", "{n} entries on one day, {first}.", n, first=Day(days[0]))
    return LN(
        "{n} entry on {days} days, {first} to {last}.",
        "{n} entries on {days} days, {first} to {last}.",
        n,
        days=len(days),
        first=Day(days[0]),
        last=Day(days[-1]),
    )
