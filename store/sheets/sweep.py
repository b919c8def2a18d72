"""Sweeping the bore with an indicator on the spindle: where the bore is, and what cleans it up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import sweep
from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Verdict
from logic.say import L

from ..facts.gauging import depths
from ..facts.sweep import swept, swept_readings, zero
from ..fields.sweep import GAP, READING, READING_U, ROUND, SET_OVER, SET_TOWARD, SIGN, SPINDLE, ZERO, ZERO_U
from ..folded import numbered
from ..kit import needs
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "CAUTIONS",
    "GAP",
    "READING",
    "ROUND",
    "SET_OVER",
    "SET_TOWARD",
    "SHEET",
    "SIGN",
    "SPINDLE",
    "ZERO",
    "swept",
    "zero",
]

CAUTIONS = for_sheet("sweep")


def _angles(view: View) -> range:
    return range(0, 360, 360 // int(view.choice(ROUND)))


def _places(view: View) -> list[dict[str, Any]]:
    return [
        {"cylinder": c, "depth": d, "angle": a} for c in view.cylinders for d in depths(view) for a in _angles(view)
    ]


def _missing(view: View) -> list[tuple[str, Mapping[str, Any]]]:
    """Every place while nothing was swept; then what is left of the rings begun, and zeros that are not known."""
    begun = {(numbered(w, "cylinder"), numbered(w, "depth")) for w in view.all(READING)}
    if not begun:
        return [(READING.key, p) for p in _places(view)]
    swept_in = {c for c, _ in begun}
    unset = [c for c in view.cylinders if c in swept_in and _lacks_zero(view, c)]
    return [
        *((READING.key, p) for p in _left_in(view, begun)),
        *((ZERO.key, {"cylinder": c}) for c in unset),
    ]


def _left_in(view: View, begun: set[tuple[int, int]]) -> list[dict[str, Any]]:
    """The places not read yet of the rings (cylinder, depth) begun."""
    return [p for p in _places(view) if (p["cylinder"], p["depth"]) in begun and not view.rivals(READING, **p)]


def _lacks_zero(view: View, cylinder: int) -> bool:
    """Whether a cylinder was swept all round, and the diameter at the indicator's zero is not known."""
    return sweep.goes_round(swept_readings(view, cylinder)) and zero(view, cylinder) is None


def work(view: View) -> Work:
    """For each cylinder swept: where the spindle should go and what cleans it up, with its ring."""
    found = [s for c in view.cylinders if (s := swept(view, c)) is not None]
    missing = _missing(view)
    first = {Verdict.STOP: 0, Verdict.MAYBE: 1}
    worst_first = sorted(found, key=lambda s: (first.get(s.verdict, 2), s.cylinder))
    return Work(
        results=tuple(worst_first),
        missing=tuple(missing),
        done=bool(found) and not missing and all(s.verdict in (Verdict.GO, Verdict.INFO) for s in found),
        pictures=tuple(sweep.picture(s) for s in found),
        cautions=CAUTIONS,
    )


def _per_cylinder(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in view.cylinders]


SHEET = Sheet(
    key="sweep",
    order=3,
    title=L("Sweep"),
    purpose=L("Learn where each bore stands from the spindle, and what cut about which centre cleans it up."),
    groups=(
        Group(
            key="readings",
            title=L("Readings round the bore"),
            fields=(READING,),
            places=_places,
            name=place_name,
            help=L(
                "At the depths of the bore gauge. Angles run from the front of the engine to the left, as seen from above."
            ),
        ),
        Group(
            key="zero",
            title=L("Zero and spindle"),
            fields=(ZERO, GAP, SET_OVER, SET_TOWARD),
            places=_per_cylinder,
            name=place_name,
        ),
        Group(key="indicator", title=L("The indicator"), fields=(ROUND, SIGN, SPINDLE, READING_U, ZERO_U)),
    ),
    work=work,
    minutes=(5, 8),
    idle=lambda view: needs(view, "indicator", L("Needs an indicator on the spindle")),
    cautions=CAUTIONS,
)
