"""What one figure alone decides of clamps, sleeves and pistons: see :mod:`logic.once_check`."""

from __future__ import annotations

from logic import once_check, plan_check
from logic.clamp_check import check_engagement, check_torque
from logic.doubt import Doubt
from logic.readings_check import spot

from ..fields.clamp import ENGAGEMENT, GRADE, THREAD, TORQUE
from ..fields.fitting import SCALE_U, TOTAL, WEIGHT
from ..fields.sleeve import OUTSIDE, OUTSIDE_AGAIN
from ..graph import fact
from ..view import View
from .clamping import stud_of
from .sleeves import sleeved

__all__ = ["once_doubts"]


@fact
def stud_doubts(view: View) -> tuple[Doubt, ...]:
    """The studs of the clamps: their torque against what they bear, and how deep they go."""
    stud, depth = stud_of(view), view.number(ENGAGEMENT)
    if stud is None:
        return ()
    deep = () if depth is None else check_engagement(stud, depth, about=(spot(ENGAGEMENT.key), spot(THREAD.key)))
    return (*check_torque(stud, about=(spot(TORQUE.key), spot(THREAD.key), spot(GRADE.key))), *deep)


@fact
def sleeve_doubts(view: View) -> tuple[Doubt, ...]:
    """The sleeves to be fitted against each other, and each against its second measurement: each bore is cut to its own."""
    read = {c: mm for c in sleeved(view) if (mm := view.number(OUTSIDE, cylinder=c)) is not None}
    again = {c: mm for c in read if (mm := view.number(OUTSIDE_AGAIN, cylinder=c)) is not None}
    known = {c: (mm, spot(OUTSIDE.key, cylinder=c)) for c, mm in read.items()}
    both = {c: (spot(OUTSIDE.key, cylinder=c), spot(OUTSIDE_AGAIN.key, cylinder=c)) for c in read}
    alike = tuple(plan_check.check_sleeves_alike(known))
    return alike or tuple(once_check.check_sleeves_once(read, again, about=both))


@fact
def weight_doubts(view: View) -> tuple[Doubt, ...]:
    """The weights of the pistons against that of all together, or each against the one entered before it."""
    read = {c: g for c in view.cylinders if (g := view.number(WEIGHT, cylinder=c)) is not None}
    total, own = view.number(TOTAL), {c: spot(WEIGHT.key, cylinder=c) for c in read}
    if total is not None and len(read) == len(view.cylinders):
        about = (spot(TOTAL.key), *own.values())
        return tuple(once_check.check_total(read, total, u_g=view.number(SCALE_U), about=about))
    return tuple(once_check.check_same_weight(read, u_g=view.number(SCALE_U), about=own, total=spot(TOTAL.key)))


@fact
def once_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about a figure that nothing else in the job confirms."""
    return (*stud_doubts(view), *sleeve_doubts(view), *weight_doubts(view))
