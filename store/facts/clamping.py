"""The stud that holds the machine down."""

from __future__ import annotations

from typing import Any

from logic import clamping
from logic.constants import constant

from ..fields.clamp import GRADE, NUT_FACTOR, THREAD, THREAD_STATE, TORQUE
from ..graph import fact

__all__ = ["stud_of"]


@fact
def stud_of(view: Any) -> clamping.Stud | None:
    """The stud as entered; None while its thread or torque is missing, or thread and class do not belong together."""
    key, torque = view.number(THREAD), view.number(TORQUE)
    if key is None or torque is None:
        return None
    thread = clamping.thread(key)
    mark = view.number(GRADE)
    grade = clamping.assumed_grade(thread) if mark == "unmarked" else clamping.grade(mark)
    if grade.inch != thread.inch:
        return None
    row = constant(f"nut_factor.{view.number(THREAD_STATE)}")
    measured = view.number(NUT_FACTOR)
    if measured is not None:
        return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=measured, relative_u=0.1)
    return clamping.Stud(thread=thread, grade=grade, torque_nm=torque, nut_factor=row.value, relative_u=row.relative_u)
