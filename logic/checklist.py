"""A list of things to check off: how many are done, and which one stops the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty

__all__ = ["ANSWERS", "tally"]

#: The answers to one check.
ANSWERS = ("yes", "no", "none")


@dataclass(frozen=True, slots=True)
class Tally:
    """How a checklist stands: how many checks are ``settled``, and which ``failed`` or are ``waiting``, by place."""

    settled: int
    failed: tuple[int, ...]
    waiting: tuple[int, ...]


def counted(answers: Sequence[str | None]) -> Tally:
    """Sort the answers. Raises ValueError for an unknown answer or an empty list."""
    if not answers:
        raise ValueError("a checklist needs something to check")
    if any(answer is not None and answer not in ANSWERS for answer in answers):
        raise ValueError(f"an answer is one of {', '.join(ANSWERS)}")
    failed = tuple(n for n, answer in enumerate(answers) if answer == "no")
    waiting = tuple(n for n, answer in enumerate(answers) if answer is None)
    return Tally(settled=len(answers) - len(failed) - len(waiting), failed=failed, waiting=waiting)


def tally(key: str, items: Sequence[tuple[Line, str | None]], *, cautions: tuple[Caution, ...] = ()) -> Result:
    """Sum up a checklist of (what was checked, answer).

    An answer is "yes", "no", "none" (does not apply here) or None (not answered yet).
    Go when every check is "yes" or "none"; stop when one is "no"; else undecided.
    Raises ValueError for an unknown answer or an empty list.
    """
    found = counted([answer for _, answer in items])
    settled = found.settled
    failed, waiting = ([items[n][0] for n in places] for places in (found.failed, found.waiting))
    if failed:
        verdict, line = Verdict.STOP, L("Not fit to hand over: {what}", what=failed[0])
    elif waiting:
        verdict, line = Verdict.INFO, L("Checks settled: {done} of {all}.", done=settled, all=len(items))
    else:
        verdict, line = Verdict.GO, L("Every check is settled: fit to hand over.")
    return Result(
        key=key,
        line=line,
        value=Qty(settled, "count"),
        verdict=verdict,
        why=(
            *(L("To put right: {what}", what=what) for what in failed),
            *((L("Next: {what}", what=waiting[0]),) if waiting else ()),
        ),
        figures=(
            Figure("settled", L("Settled"), Qty(settled, "count")),
            Figure("failed", L("To put right"), Qty(len(failed), "count")),
            Figure("waiting", L("Not answered"), Qty(len(waiting), "count")),
        ),
        assumptions=(Assumption(L("Each answer was given after looking, not from memory."), "entered"),),
        cautions=cautions,
    )
