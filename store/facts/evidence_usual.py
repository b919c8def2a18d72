"""Limits and factors as entered against what is usual: see :mod:`logic.usual_check`."""

from __future__ import annotations

from logic import usual_check
from logic.constants import constant
from logic.doubt import Doubt
from logic.readings_check import spot

from ..fields import declared
from ..fields.bores import EXPANSION, MATERIAL
from ..graph import fact
from ..view import View

__all__ = ["usual_doubts"]


@fact
def usual_doubts(view: View) -> tuple[Doubt, ...]:
    """The limits and factors entered that are far from what is usual."""
    out: list[Doubt] = []
    for key in usual_check.ROWS:
        field = declared()[key]
        for where, value in view.all(key).items():
            about = spot(key, **dict(where))
            out += usual_check.check_usual(key, field.label, float(value.value), field.kind, about=about)
    stated, material = view.number(EXPANSION), view.choice(MATERIAL)
    if stated is not None:
        named = next(c.label for c in MATERIAL.choices if c.value == material)
        usual = constant(f"expansion.{material}").value
        both = (spot(EXPANSION.key), spot(MATERIAL.key))
        out += usual_check.check_expansion(stated, usual, named, about=both)
    return tuple(out)
