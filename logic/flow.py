"""The flow of a job: which step is done, which is next, what blocks one, and what a correction changed.

Pure bookkeeping over what the steps say of themselves; no step is known here by name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .result import Result
from .say import LN, L, Line, Style, say

__all__ = ["Change", "State", "Status", "Step", "changes", "next_step", "statuses", "upstream"]


class State:
    """The states of a step, as shown: word and icon, never colour alone."""

    DONE = "done"
    NEXT = "next"
    OPEN = "open"
    BLOCKED = "blocked"
    SKIPPED = "skipped"
    LOOK = "needs another look"


@dataclass(frozen=True, kw_only=True)
class Step:
    """What a step says of itself.

    ``missing`` counts what must still be entered; ``blocked`` says what upstream stops
    it; ``skipped`` is the person's reason for leaving it out; ``doubts`` are the
    reasons why a finished step wants another look.
    """

    key: str
    title: Line
    done: bool = False
    missing: int = 0
    blocked: Line | None = None
    skipped: str | None = None
    doubts: tuple[Line, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Status:
    """A step's state and the sentence that goes with it (None where the state says it all)."""

    key: str
    title: Line
    state: str
    reason: Line | None = None


def statuses(steps: Sequence[Step]) -> tuple[Status, ...]:
    """The state of each step, given in the order of the work.

    Skipping wins over everything; a finished step with doubts needs another look; of
    the steps that could be worked on now, the first is next and the others are open.
    """
    out: list[Status] = []
    found_next = False
    for step in steps:
        reason: Line | None = None
        if step.skipped is not None:
            state = State.SKIPPED
            reason = L("Left out: {reason}", reason=step.skipped)
        elif step.done:
            state = State.LOOK if step.doubts else State.DONE
            reason = step.doubts[0] if step.doubts else None
        elif step.blocked is not None:
            state, reason = State.BLOCKED, step.blocked
        else:
            state = State.OPEN if found_next else State.NEXT
            found_next = True
            if step.missing:
                reason = LN("One thing is still to be entered.", "{n} things are still to be entered.", step.missing)
        out.append(Status(key=step.key, title=step.title, state=state, reason=reason))
    return tuple(out)


def next_step(all_statuses: Iterable[Status]) -> Status | None:
    """The step to go to: the first that is next or needs another look; None when all is done or blocked."""
    return next((s for s in all_statuses if s.state in (State.NEXT, State.LOOK)), None)


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
