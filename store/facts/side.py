"""Of which bores it is still to be asked on which side they wore."""

from __future__ import annotations

from logic.steps import Outcome

from ..fields.bores import SIDE
from ..graph import fact
from ..view import View
from .gates import left_out
from .oversize import choice, decided_step_mm, deciding, waiting
from .sweep import swept

__all__ = ["sides_open"]


@fact
def sides_open(view: View) -> tuple[int, ...]:
    """The cylinders whose worn side is asked for now; none before the last reading, nor where the answer decides nothing.

    A sweep or an entry answers for its cylinder, a decision under the field's key ("cannot tell") for
    all. The side decides between oversizes only: with one decided on, or the hone alone, it is not asked.
    """
    settled = view.decision(SIDE.key) is not None or decided_step_mm(view) is not None
    if settled or waiting(view) or left_out(view, "oversize"):
        return ()
    advised = choice(view)
    if advised is None or advised.outcome == Outcome.HONE:
        return ()
    return tuple(c for c in deciding(view) if swept(view, c) is None and not view.get(SIDE, cylinder=c).entered)
