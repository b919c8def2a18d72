"""A list of things to check off: how many are done, and which one stops the job."""

from __future__ import annotations

from collections.abc import Sequence

from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty

__all__ = ["ANSWERS", "tally"]

#: The answers to one check.
ANSWERS = ("yes", "no", "none")


def tally(key: str, items: Sequence[tuple[Line, str | None]], *, cautions: tuple[Caution, ...] = ()) -> Result:
    """Sum up a checklist of (what was checked, answer).

    An answer is "yes", "no", "none" (does not apply here) or None (not answered yet).
    Go when every check is "yes" or "none"; stop when one is "no"; else undecided.
    Raises ValueError for an unknown answer or an empty list.
    """
    if not items:
        raise ValueError("a checklist needs something to check")
    if any(answer is not None and answer not in ANSWERS for _, answer in items):
        raise ValueError(f"an answer is one of {', '.join(ANSWERS)}")
    settled = sum(answer in ("yes", "none") for _, answer in items)
    failed = [what for what, answer in items if answer == "no"]
    waiting = [what for what, answer in items if answer is None]
    if failed:
        verdict, line = Verdict.STOP, L("Not fit to hand over: {what}", what=failed[0])
    elif waiting:
        verdict, line = Verdict.INFO, L("{done} of {all} checks are settled.", done=settled, all=len(items))
    else:
        verdict, line = Verdict.GO, L("All {all} checks are settled: fit to hand over.", all=len(items))
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
