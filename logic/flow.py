"""The flow of a job: which step is done, which is next, what blocks one, and what a correction changed.

Pure bookkeeping over what the steps say of themselves; no step is known here by name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .lasting import duration
from .result import Result
from .say import L, Line, Style, say

__all__ = ["Change", "State", "Status", "Step", "changes", "next_step", "statuses", "upstream"]


class State:
    """The states of a step, as shown: word and icon, never colour alone."""

    DONE = "done"
    NEXT = "next"
    OPEN = "open"
    BLOCKED = "blocked"
    SKIPPED = "skipped"
    LOOK = "needs another look"
    OFF = "off the path"


@dataclass(frozen=True, kw_only=True)
class Step:
    """What a step says of itself.

    ``missing`` counts what must still be entered; ``blocked`` says what upstream stops
    it; ``skipped`` is the person's reason for leaving it out; ``doubts`` are the
    reasons why a finished step wants another look; ``stopped`` is the answer that is a no
    where everything was entered; ``idle`` says why the step is off the path; ``minutes``
    is about how long it takes.
    """

    key: str
    title: Line
    done: bool = False
    missing: int = 0
    blocked: Line | None = None
    skipped: Line | str | None = None
    doubts: tuple[Line, ...] = ()
    stopped: Line | None = None
    idle: Line | None = None
    minutes: int = 0


@dataclass(frozen=True, kw_only=True)
class Status:
    """A step's state and the sentence that goes with it (None where the state says it all).

    ``stopped`` is True where its answer is a no; ``minutes`` is about how long it takes, 0
    where nobody can tell.
    """

    key: str
    title: Line
    state: str
    reason: Line | None = None
    stopped: bool = False
    minutes: int = 0


def statuses(steps: Sequence[Step]) -> tuple[Status, ...]:
    """The state of each step, given in the order of the work.

    Skipping wins over everything, then being off the path; a finished step with doubts
    needs another look, and so does one whose answer is a no; of the steps that could be
    worked on now, the first is next and the others are open.
    """
    out: list[Status] = []
    found_next = False
    for step in steps:
        state, reason = _settled(step)
        if state == State.NEXT:
            state = State.OPEN if found_next else State.NEXT
            found_next = True
        stopped = state == State.LOOK and not step.done
        out.append(
            Status(key=step.key, title=step.title, state=state, reason=reason, stopped=stopped, minutes=step.minutes)
        )
    return tuple(out)


def _settled(step: Step) -> tuple[str, Line | None]:
    """A step's state and why; NEXT where it could be worked on now."""
    if step.skipped is not None:
        return State.SKIPPED, L("Left out: {reason}", reason=step.skipped)
    if step.idle is not None:
        return State.OFF, step.idle
    if step.done:
        return (State.LOOK, step.doubts[0]) if step.doubts else (State.DONE, None)
    if step.blocked is not None:
        return State.BLOCKED, step.blocked
    if step.stopped is not None:
        return State.LOOK, step.stopped
    return State.NEXT, L("About {time}", time=duration(step.minutes)) if step.minutes else None


def next_step(all_statuses: Iterable[Status]) -> Status | None:
    """The step to go to: the first that is next or needs another look; None when all is done or blocked.

    A step whose answer is a no holds nobody up: it comes last.
    """
    waiting = [s for s in all_statuses if s.state in (State.NEXT, State.LOOK)]
    return next((s for s in waiting if not s.stopped), waiting[0] if waiting else None)


def upstream(needs: Mapping[str, Sequence[str]], key: str) -> frozenset[str]:
    """Every step that ``key`` rests on, near or far (not itself, even round a loop)."""
    found: set[str] = set()
    waiting = list(needs.get(key, ()))
    while waiting:
        name = waiting.pop()
        if name not in found and name != key:
            found.add(name)
            waiting.extend(needs.get(name, ()))
    return frozenset(found)


@dataclass(frozen=True, kw_only=True)
class Change:
    """One answer that became another: what it said before and says now (None: it did not exist, or is gone)."""

    sheet: str
    title: Line
    key: str
    before: Line | None
    after: Line | None
    verdict_before: str | None = None
    verdict_after: str | None = None

    @property
    def flipped(self) -> bool:
        """Whether the verdict changed, not only the figures."""
        return self.verdict_before != self.verdict_after


_INCH, _METRIC = Style(length="in"), Style(length="mm")


def _same(a: Line, b: Line) -> bool:
    """Whether two lines read alike in either system: a change too small to show is none."""
    return a == b or (say(a, _INCH) == say(b, _INCH) and say(a, _METRIC) == say(b, _METRIC))


def _by_key(results: Sequence[Result]) -> dict[tuple[str, int], Result]:
    """Results by key; several with one key are told apart by their order."""
    seen: dict[str, int] = {}
    out: dict[tuple[str, int], Result] = {}
    for r in results:
        n = seen.get(r.key, 0)
        seen[r.key] = n + 1
        out[r.key, n] = r
    return out


def changes(sheet: str, title: Line, before: Sequence[Result], after: Sequence[Result]) -> list[Change]:
    """What differs between a step's answers before and after, flipped verdicts first, else in the step's own order."""
    old, new = _by_key(before), _by_key(after)
    keys = (*new, *(k for k in old if k not in new))
    found = [_change(sheet, title, key, old.get((key, n)), new.get((key, n))) for key, n in keys]
    return sorted((c for c in found if c is not None), key=lambda c: not c.flipped)


def _change(sheet: str, title: Line, key: str, before: Result | None, after: Result | None) -> Change | None:
    """One answer before and after, or None where it reads alike and its verdict stands."""
    if before is not None and after is not None and before.verdict == after.verdict and _same(before.line, after.line):
        return None
    line_before, verdict_before = _said(before)
    line_after, verdict_after = _said(after)
    return Change(
        sheet=sheet,
        title=title,
        key=key,
        before=line_before,
        after=line_after,
        verdict_before=verdict_before,
        verdict_after=verdict_after,
    )


def _said(result: Result | None) -> tuple[Line | None, str | None]:
    return (None, None) if result is None else (result.line, result.verdict)
