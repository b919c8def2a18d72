"""Which further reading of the worn bores is worth most: worked out between two entries, not with the verdict."""

from __future__ import annotations

from logic import measure_next
from logic.result import Result
from logic.unread import first_depth_mm

from ..fields.bores import RING_TOP
from ..graph import fact
from ..view import View
from .face import bore_lean
from .oversize import choice, deciding
from .sweep import swept
from .worn import wear_side, worn_bore

__all__ = ["next_check"]


def _measured(view: View, cylinder: int) -> measure_next.Measured:
    found = deciding(view)[cylinder]
    if swept(view, cylinder) is not None:
        return measure_next.Measured(found)
    side, lean = wear_side(view, cylinder), bore_lean(view, cylinder)
    return measure_next.Measured(found, worn_bore(view, cylinder), side, lean)


@fact
def next_check(view: View) -> Result | None:
    """The checks worth making before the oversize is decided, best first; None where nothing would change it."""
    advised = choice(view)
    if advised is None:
        return None
    advice = measure_next.advise(
        [_measured(view, c) for c in deciding(view)],
        [s.bored_mm for s in advised.steps],
        u_bored_mm=advised.u_bored_mm,
        wanted=advised.wanted,
    )
    return measure_next.told(advice, top_mm=first_depth_mm(view.number(RING_TOP)))
