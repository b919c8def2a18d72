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
    measured = [_measured(view, c) for c in deciding(view)]
    bored_mm, u_mm, wanted = [s.bored_mm for s in advised.steps], advised.u_bored_mm, advised.wanted
    return measure_next.told(
        measure_next.advise(measured, bored_mm, u_bored_mm=u_mm, wanted=wanted),
        top_mm=first_depth_mm(view.number(RING_TOP)),
        square=measure_next.if_square(measured, bored_mm, u_bored_mm=u_mm, wanted=wanted),
        steps_mm=[s.step_mm for s in advised.steps],
    )
