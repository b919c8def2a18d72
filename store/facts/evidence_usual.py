"""Limits and factors as entered against what is usual: see :mod:`logic.usual_check`."""

from __future__ import annotations

from collections.abc import Iterator

from logic import usual_check
from logic.constants import constant
from logic.doubt import Doubt, Place
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
    out += _pairs(view)
    stated, material = view.number(EXPANSION), view.choice(MATERIAL)
    if stated is not None:
        named = next(c.label for c in MATERIAL.choices if c.value == material)
        usual = constant(f"expansion.{material}").value
        both = (spot(EXPANSION.key), spot(MATERIAL.key))
        out += usual_check.check_expansion(stated, usual, named, about=both)
    return tuple(out)


def _pairs(view: View) -> list[Doubt]:
    """Limits and sizes that are unusual beside each other."""
    fields, out = declared(), list[Doubt]()

    def entered(key: str) -> float | None:
        return next((float(v.value) for v in view.all(key).values()), None)

    def both(one: str, other: str) -> Iterator[tuple[float, float, tuple[Place, ...]]]:
        a, b = entered(one), entered(other)
        if a is not None and b is not None:
            yield a, b, (spot(one), spot(other))

    for roughness in ("ra", "rpk", "rk", "rvk"):
        key = f"hone.{roughness}_low"
        for low, high, about in both(key, f"hone.{roughness}_high"):
            out += usual_check.check_band(fields[key].label, low, high, fields[key].kind, about=about)
    largest, nominal = entered("oversize.largest"), view.nominal_mm
    if largest is not None and nominal is not None:
        out += usual_check.check_largest(largest, nominal, about=(spot("oversize.largest"), spot("nominal")))
    for least, thrust, about in both("wall.minimum", "wall.minimum_thrust"):
        out += usual_check.check_thrust(least, thrust, about=about)
    for old, new, about in both("compression.gasket", "compression.gasket_new"):
        out += usual_check.check_gasket(old, new, about=about)
    return out
