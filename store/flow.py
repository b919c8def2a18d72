"""The flow of a job over its steps: states, what is next, what a correction changed, and the timeline.

Works from the log alone. Each step's work is done when it is first asked for and kept
until the view takes in another entry (see :mod:`store.memo`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from logic.flow import Change, Status, Step, changes, next_step, statuses, upstream
from logic.pictures import JobTimeline
from logic.say import LN, L, Line

from .documents import CautionSeen, Document, Skipped, Stamped, Withdrawn
from .memo import remembered
from .sheets import Sheet, Work, all_sheets
from .view import View

__all__ = [
    "Flow",
    "effect_of",
    "flow",
    "ripple",
    "skip_key",
    "stands_key",
    "timeline",
    "without",
    "work_of",
]

#: Entries that belong to no step are counted in the timeline under this name.
_JOB = L("Job")


def skip_key(name: str) -> str:
    """``what`` of the Skipped entry that leaves the step ``name`` out; withdraw the entry to take it up again."""
    return f"sheet.{name}"


def stands_key(name: str) -> str:
    """``what`` of the Decision by which somebody looked again at a step and found that it stands."""
    return f"sheet.{name}.stands"


@remembered
def _work(view: View, worker: Any) -> Work:
    return worker(view)


def work_of(view: View, sheet: Sheet) -> Work:
    """What a step has to say about ``view``, worked out once per state of the view."""
    return _work(view, sheet.work)


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

    def of(self, entry: Any) -> str | None:
        what = getattr(entry, "what", None)
        if what is None or isinstance(entry, CautionSeen):
            return None
        if what in self._field:
            return self._field[what]
        first, _, rest = what.partition(".")
        if first == "sheet":
            return rest.split(".")[0]
        return self._word.get(first)


# -- the view as it would be -------------------------------------------------------------------
def _with(view: View, entries: Iterable[Any], header: dict[str, Stamped] | None = None) -> View:
    document = view.document
    return View(
        Document(
            id=document.id,
            type=document.type,
            header=document.header if header is None else header,
            entries=tuple(entries),
        ),
        view.cards,
    )


def without(view: View, ids: Iterable[str], nominal_before: str = "") -> View:
    """The view as it would be if the entries ``ids`` had never been made.

    With ``nominal_before``, a stamp, the nominal bore is also the one that held then.
    """
    gone = set(ids)
    header = view.document.header
    if nominal_before:
        older = [v for v in view.document.earlier.get("nominal", ()) if v.stamp <= nominal_before]
        header = {k: v for k, v in header.items() if k != "nominal"}
        if older:
            header["nominal"] = max(older, key=lambda v: v.stamp)
    return _with(view, (e for e in view.entries.values() if e.id not in gone), header)


#: Kept like any other answer, so that steps with the same corrections above them share one view and its answers.
_without = remembered(without)


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


@remembered
def _flow(view: View, sheets: tuple[Sheet, ...]) -> Flow:
    owners = _Owners(sheets)
    needs = {s.key: s.needs for s in sheets}
    titles = {s.key: s.title for s in sheets}
    last: dict[str, str] = {}
    corrected: dict[str, list[Any]] = {}
    for entry in view.entries.values():
        target = view.entries.get(entry.replaces) if entry.replaces else None
        owner = owners.of(entry if target is None or not isinstance(entry, Withdrawn) else target)
        if owner is None:
            continue
        if not isinstance(entry, Skipped):
            last[owner] = max(last.get(owner, ""), entry.stamp)
        if target is not None and not isinstance(target, Skipped):
            corrected.setdefault(owner, []).append(entry)
    nominal = view.document.header.get("nominal")
    renamed = nominal.stamp if nominal is not None and view.document.earlier.get("nominal") else ""
    steps: list[Step] = []
    for sheet in sheets:
        skipped = view.skipped.get(skip_key(sheet.key))
        if skipped is not None:
            steps.append(Step(key=sheet.key, title=sheet.title, skipped=skipped.reason))
            continue
        work = work_of(view, sheet)
        doubts: tuple[Line, ...] = ()
        if work.done:
            above = [(name, entry) for name in upstream(needs, sheet.key) for entry in corrected.get(name, ())]
            doubts = _doubts(view, sheet, work, last.get(sheet.key), above, renamed, titles)
        steps.append(
            Step(
                key=sheet.key,
                title=sheet.title,
                done=work.done,
                missing=len(work.missing),
                blocked=work.blocked,
                doubts=doubts,
            )
        )
    found = statuses(steps)
    return Flow(statuses=found, next=next_step(found))


def _doubts(
    view: View,
    sheet: Sheet,
    work: Work,
    own: str | None,
    corrected: list[tuple[str, Any]],
    renamed: str,
    titles: dict[str, Line],
) -> tuple[Line, ...]:
    """Why a finished step wants another look, the weightiest reason first."""
    out: list[Line] = []
    if any(len(view.rivals(key, **dict(place))) > 1 for key in sheet.fields for place in view.all(key)):
        out.append(L("Two entries were made for the same thing: settle which one stands."))
    if own is None:
        return tuple(out)
    later = [(name, entry) for name, entry in corrected if entry.stamp > own]
    if later or renamed > own:
        before = _without(view, frozenset(entry.id for _, entry in later), own if renamed > own else "")
        was = changes(sheet.key, sheet.title, _work(before, sheet.work).results, work.results)
        if was:
            shown = was[0].after or was[0].before
            if later:
                source = max(later, key=lambda pair: pair[1].stamp)[0]
                out.append(L("{step} was corrected after this was done: {line}", step=titles[source], line=shown))
            else:
                out.append(L("The nominal bore was changed after this was done: {line}", line=shown))
    return tuple(out)


def flow(view: View, sheets: Iterable[Sheet] | None = None) -> Flow:
    """Where the job stands. ``sheets`` are all the steps unless given."""
    return _flow(view, tuple(all_sheets() if sheets is None else sheets))


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
        out.extend(changes(sheet.key, sheet.title, work_of(before, sheet).results, work_of(after, sheet).results))
    return sorted(out, key=lambda change: not change.flipped)


def effect_of(view: View, entry: Any, sheets: Iterable[Sheet] | None = None) -> list[Change]:
    """What ``entry`` would change if it were taken in (or, already taken in, what it changed). ``view`` stays as it is."""
    if entry.id in view.entries:
        return ripple(without(view, [entry.id]), view, sheets)
    return ripple(view, _with(view, (*view.entries.values(), entry)), sheets)


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
        target = view.entries.get(entry.replaces) if entry.replaces else None
        owner = owners.of(target if isinstance(entry, Withdrawn) and target is not None else entry)
        if owner not in titles:
            owner = ""
        at = datetime.fromtimestamp(int(entry.stamp[:13]) / 1000, zone)
        minute = at.hour * 60 + at.minute
        row = rows.setdefault((at.date().isoformat(), owner), [0, 0, minute, minute])
        row[0] += 1
        row[1] += entry.replaces is not None
        row[3] = minute
    listed = tuple((day, titles.get(owner, _JOB), *row) for (day, owner), row in rows.items())
    days = tuple(dict.fromkeys(day for day, *_ in listed))
    return JobTimeline(
        title=L("What was done when"),
        text=L("Nothing has been entered yet.")
        if not days
        else LN("{n} entry on one day, {first}.", "{n} entries on one day, {first}.", len(view.entries), first=days[0])
        if len(days) == 1
        else LN(
            "{n} entry on {days} days, {first} to {last}.",
            "{n} entries on {days} days, {first} to {last}.",
            len(view.entries),
            days=len(days),
            first=days[0],
            last=days[-1],
        ),
        days=days,
        rows=listed,
    )
