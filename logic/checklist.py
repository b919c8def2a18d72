"""A list of things to check off: how many are done, and which one stops the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty

__all__ = ["ANSWERS", "afterwards", "tally"]

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


#: What is said of retightening the head, by the answer.
_RETORQUE = {
    "never": L("The head is not retightened with this gasket."),
    "cold": L("Retighten the head after the first warm run, when it is cold again."),
    "later": L("Retighten the head after the running-in, cold."),
}


def afterwards(
    *,
    retorque: str | None,
    retorque_on: str | None,
    oil_on: str | None,
    run_in: str | None,
    run_in_until: str | None = None,
    handed_on: str | None = None,
) -> Result:
    """What the customer does after the handover: running-in, retightening, first oil change.

    ``retorque`` is "never", "cold", "later" or None; the others are what the person wrote, or
    None. Raises ValueError for another ``retorque``.
    """
    if retorque is not None and retorque not in _RETORQUE:
        raise ValueError(f"no such answer: {retorque!r}")
    usual = L("Running-in: load gently, vary the speed, no long idling, no full throttle for the first hours.")
    why = [
        *((_RETORQUE[retorque],) if retorque else ()),
        *((L("Retighten on or at: {when}", when=retorque_on),) if retorque_on and retorque != "never" else ()),
        *((L("First oil change on or at: {when}", when=oil_on),) if oil_on else ()),
        *((L("Run in by or at: {when}", when=run_in_until),) if run_in_until else ()),
        *((L("Handed over on: {when}", when=handed_on),) if handed_on else ()),
    ]
    return Result(
        key="clean.afterwards",
        line=L("Running-in: {words}", words=run_in) if run_in else usual,
        why=tuple(why),
        assumptions=(
            Assumption(L("As the maker of the rings says."), "entered")
            if run_in
            else Assumption(L("The ring maker's own advice comes first.")),
        ),
    )
