"""The stud that holds the machine down."""

from __future__ import annotations

from logic import clamping
from logic.constants import constant

from ..fields.clamp import GRADE, NUT_FACTOR, THREAD, THREAD_STATE, TORQUE
from ..graph import fact
from ..view import View

__all__ = ["stud_of"]


@fact
def stud_of(view: View) -> clamping.Stud | None:
    """The stud as entered; None while its thread or torque is missing, or thread and class do not belong together."""
    key, torque = view.choice(THREAD), view.number(TORQUE)
    if key is None or torque is None:
        return None
    thread = clamping.thread(key)
    mark = view.choice(GRADE)
    grade = clamping.assumed_grade(thread) if mark == "unmarked" else clamping.grade(mark)
    if grade.inch != thread.inch:
        return None
    row = constant(f"nut_factor.{view.choice(THREAD_STATE)}")
    measured = view.number(NUT_FACTOR)
    if measured is not None:
        return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=measured, relative_u=0.1)
    return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=row.value, relative_u=row.relative_u)
