"""What was taken over from an earlier job and not confirmed for this engine yet."""

from __future__ import annotations

from collections.abc import Iterator

from logic.doubt import Doubt, Place
from logic.say import LN, L

from ..fields import declared
from ..graph import fact
from ..view import View

__all__ = ["NOMINAL", "TAKEN", "taken_doubts", "taken_keys"]

#: ``what`` of the decision that takes figures over; its advice lists the fields, its value names the job.
TAKEN = "taken.over"
#: The header field that may be taken over, among the fields' keys.
NOMINAL = "nominal"


def _places(view: View) -> Iterator[Place]:
    """Each value that was taken over and not entered anew since."""
    decision, known = view.decision(TAKEN), declared()
    if decision is None:
        return
    for key in decision.advised.split():
        if key == NOMINAL and (held := view.document.header.get(key)) is not None and held.stamp <= decision.stamp:
            yield key, ()
        if key in known:
            for where, value in view.all(key).items():
                if value.entry is not None and value.stamp <= decision.stamp:
                    yield key, tuple(sorted(where))


@fact
def taken_doubts(view: View) -> tuple[Doubt, ...]:
    """One doubt about all figures taken over, settled by one confirmation or, each for itself, by a new entry."""
    about = tuple(_places(view))
    decision = view.decision(TAKEN)
    if not about or decision is None:
        return ()
    return (
        Doubt(
            key="taken",
            line=LN(
                "{n} figure comes from the job {job}: not confirmed for this engine.",
                "{n} figures come from the job {job}: not confirmed for this engine.",
                len(about),
                job=decision.value,
            ),
            settle=L("Hold them against this engine; correct what differs, then confirm."),
            about=about,
        ),
    )


@fact
def taken_keys(view: View) -> tuple[str, ...]:
    """The fields with a figure taken over that nobody confirmed or entered anew."""
    confirmed, decision = view.decision("doubt.taken"), view.decision(TAKEN)
    if decision is None or (confirmed is not None and confirmed.stamp > decision.stamp):
        return ()
    return tuple(dict.fromkeys(key for key, _ in _places(view)))
