"""Sweeping the bore with an indicator on the spindle: where the bore is, and what cleans it up."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from logic import sweep
from logic.cautions import for_sheet
from logic.constants import constant
from logic.directions import compass
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Result, Verdict
from logic.say import L, Line
from logic.temperature import bore_at_20

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import (
    BLOCK_C,
    ZERO_C,
    block_expansion_per_k,
    bore_length_mm,
    budget,
    depth_mm,
    depths,
    wear_side,
    worn_bores,
)
from .face import lean
from .walls import walls_read

__all__ = ["READING", "ROUND", "SHEET", "ZERO", "swept", "zero"]

READING = Number(
    key="sweep.reading",
    label=L("Indicator reading"),
    kind="deviation",
    help=L(
        "Turn the spindle to each direction and read the indicator, the front of the engine first. Keep one zero for the whole bore."
    ),
    low=-5.0,
    high=5.0,
    at=("cylinder", "depth", "angle"),
    formula="D_clean = 2 max |p − c|, smallest over c",
)
ROUND = DefaultSelect(
    key="sweep.round",
    label=L("Readings round the bore"),
    help=L("Eight show an oval and most lobes. Fewer leave room for low places that nobody read."),
    default="8",
    choices=(
        Choice("4", L("Four")),
        Choice("6", L("Six")),
        Choice("8", L("Eight")),
        Choice("12", L("Twelve")),
        Choice("24", L("Twenty-four")),
    ),
)
SIGN = DefaultSelect(
    key="sweep.sign",
    label=L("When the wall goes away, the indicator"),
    help=L("Push the stylus outward by hand and see which way the hand goes."),
    default="up",
    choices=(Choice("up", L("Counts up")), Choice("down", L("Counts down"))),
)
ZERO = Number(
    key="sweep.zero",
    label=L("Diameter at the indicator's zero"),
    kind="size",
    help=L(
        "Twice the distance from the spindle's axis to the wall where the indicator reads zero. Left out, it comes from the gap, or from the bore gauge's readings at the same depths."
    ),
    low=20.0,
    high=500.0,
    at=("cylinder",),
)
GAP = Number(
    key="sweep.gap",
    label=L("Gap from spindle to wall at the zero"),
    kind="size",
    help=L("Measured with a telescopic gauge or slips where the indicator reads zero. Needs the spindle's diameter."),
    low=0.1,
    high=250.0,
    at=("cylinder",),
    optional=True,
    formula="zero = spindle + 2 × gap",
)
SPINDLE = Number(
    key="sweep.spindle_diameter",
    label=L("Spindle diameter"),
    kind="size",
    help=L("Of the round part that the gap is measured from. Leave it out if no gap is measured."),
    low=10.0,
    high=200.0,
    optional=True,
    card="bar",
)
READING_U = DefaultNumber(
    key="sweep.reading_u",
    label=L("How well a reading is known"),
    kind="fine",
    help=L(
        "As a standard uncertainty: sweep one place five times and take a third of the spread. Play in the spindle counts."
    ),
    low=0.0005,
    high=0.1,
    default=constant("sweep.reading_u").value,
)
ZERO_U = DefaultNumber(
    key="sweep.zero_u",
    label=L("How well the zero's diameter is known"),
    kind="fine",
    help=L("As a standard uncertainty. All readings of a bore share it."),
    low=0.0,
    high=0.2,
    default=constant("sweep.zero_u").value,
)
SET_OVER = Number(
    key="sweep.set_over",
    label=L("Spindle set over on purpose"),
    kind="diff",
    help=L(
        "How far it was moved off the unworn bore's centre before the sweep. The answer then says how well that was met."
    ),
    low=0.0,
    high=3.0,
    at=("cylinder",),
    optional=True,
)
SET_TOWARD = DefaultSelect(
    key="sweep.set_toward",
    label=L("Set over toward"),
    help=L("Left and right as you look from the rear toward the front."),
    default="left",
    at=("cylinder",),
    choices=(
        Choice("front", L("The front")),
        Choice("left", L("The left")),
        Choice("rear", L("The rear")),
        Choice("right", L("The right")),
    ),
)

_TOWARD = {"front": 0.0, "left": 90.0, "rear": 180.0, "right": 270.0}
#: The axes a two-point gauge is put along, as directions.
_ALONG = {"thrust": 90.0, "crank": 0.0}
CAUTIONS = for_sheet("sweep")
#: The same readings have the same answer: an entry elsewhere in the job does not work every bore out again.
_worked_out = lru_cache(maxsize=64)(sweep.sweep)


@remembered
def _readings(view: Any, cylinder: int) -> tuple[sweep.Reading, ...]:
    out = []
    for where, value in view.all(READING.key, cylinder=cylinder).items():
        at = dict(where)
        out.append(sweep.Reading(depth_mm(view, at["depth"]), float(at["angle"]), value.value))
    return tuple(sorted(out))


def _at_20(view: Any, size_mm: float) -> float:
    """A diameter measured in the block as it is, at 20 °C."""
    return bore_at_20(
        zero_mm=size_mm,
        deviation_mm=0.0,
        block_c=view.number(BLOCK_C),
        alpha_block_per_k=block_expansion_per_k(view),
        master_c=view.number(ZERO_C),
    )


@remembered
def zero(view: Any, cylinder: int) -> sweep.Zero | None:
    """The diameter at the indicator's zero: entered, from the gap, or from the bore gauge; None where none of them is there."""
    entered = view.number(ZERO, cylinder=cylinder)
    if entered is not None:
        return sweep.Zero(_at_20(view, entered), view.number(ZERO_U), 1)
    gap, spindle = view.number(GAP, cylinder=cylinder), view.number(SPINDLE)
    if gap is not None and spindle is not None:
        found = sweep.zero_from_gap(spindle, gap, u_gap_mm=view.number(ZERO_U) / 2)
        return found._replace(diameter_mm=_at_20(view, found.diameter_mm))
    worn = worn_bores(view).get(cylinder)
    if worn is None:
        return None
    sure = budget(view)
    return sweep.zero_from_diameters(
        _readings(view, cylinder),
        [(c.depth_mm, _ALONG[c.axis], c.d_mm) for c in worn.cells if c.axis in _ALONG],
        u_diameter_mm=sure.u_own,
        u_reading_mm=view.number(READING_U),
        u_common_mm=sure.u_shared,
        outward=view.number(SIGN) == "up",
    )


# -- what other steps ask ------------------------------------------------------------------------
@remembered
def swept(view: Any, cylinder: int) -> sweep.Swept | None:
    """What the sweep says of a cylinder; None where it was not swept all round or the zero is not known."""
    readings, set_zero = _readings(view, cylinder), zero(view, cylinder)
    if set_zero is None or not sweep.goes_round(readings, set_zero.diameter_mm, outward=view.number(SIGN) == "up"):
        return None
    leaning = lean(view, cylinder)
    worn = worn_bores(view).get(cylinder)
    over = view.number(SET_OVER, cylinder=cylinder)
    found = _worked_out(
        readings,
        cylinder=cylinder,
        zero_mm=set_zero.diameter_mm,
        u_zero_mm=set_zero.u_mm,
        u_reading_mm=view.number(READING_U),
        u_centring_mm=wear_side(view, cylinder).u_centring_mm,
        outward=view.number(SIGN) == "up",
        lean=None
        if leaning is None
        else sweep.SweepLean(leaning.along_mm, leaning.across_mm, leaning.u_along_mm, leaning.u_across_mm),
        length_mm=bore_length_mm(view),
        unworn_mm=worn.unworn.mm if worn is not None and worn.measured else None,
        set_over=None
        if over is None
        else sweep.displacement(over, _TOWARD[view.number(SET_TOWARD, cylinder=cylinder)]),
        walls=walls_read(view, cylinder),
    )
    return with_assumed(found, view, SIGN)


# -- the step --------------------------------------------------------------------------------------
def _angles(view: Any) -> range:
    return range(0, 360, 360 // int(view.number(ROUND)))


def _places(view: Any) -> list[dict[str, Any]]:
    return [
        {"cylinder": c, "depth": d, "angle": a} for c in view.cylinders for d in depths(view) for a in _angles(view)
    ]


def _missing(view: Any) -> list[tuple[str, Mapping[str, Any]]]:
    """Every place while nothing was swept; then what is left of the rings begun, and zeros that are not known."""
    begun = {(dict(w)["cylinder"], dict(w)["depth"]) for w in view.all(READING.key)}
    if not begun:
        return [(READING.key, p) for p in _places(view)]
    out: list[tuple[str, Mapping[str, Any]]] = []
    for p in _places(view):
        if (p["cylinder"], p["depth"]) in begun and not view.rivals(READING.key, **p):
            out.append((READING.key, p))
    for c in view.cylinders:
        if any(c == one for one, _ in begun) and sweep.goes_round(_readings(view, c)) and zero(view, c) is None:
            out.append((ZERO.key, {"cylinder": c}))
    return out


def work(view: Any) -> Work:
    """For each cylinder swept: where the spindle should go and what cleans it up, with its ring."""
    found = [s for c in view.cylinders if (s := swept(view, c)) is not None]
    missing = _missing(view)
    first = {Verdict.STOP: 0, Verdict.MAYBE: 1}
    results: list[Result] = sorted(found, key=lambda s: (first.get(s.verdict, 2), s.cylinder))
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        done=bool(found) and not missing and all(s.verdict != Verdict.STOP for s in found),
        pictures=tuple(sweep.picture(s) for s in found),
        cautions=CAUTIONS,
    )


def _name(place: Mapping[str, Any]) -> Line:
    if "angle" in place:
        return L(
            "Cylinder {cylinder}, depth {depth}, toward {direction}, {angle}°",
            cylinder=place["cylinder"],
            depth=place["depth"],
            direction=compass(place["angle"]),
            angle=place["angle"],
        )
    return L("Cylinder {cylinder}", cylinder=place["cylinder"])


def _per_cylinder(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in view.cylinders]


SHEET = Sheet(
    key="sweep",
    order=4,
    title=L("Sweep"),
    purpose=L("Learn where each bore stands from the spindle, and what cut about which centre cleans it up."),
    groups=(
        Group(
            key="readings",
            title=L("Readings round the bore"),
            fields=(READING,),
            places=_places,
            name=_name,
            help=L(
                "At the depths of the bore gauge. Angles run from the front of the engine to the left, as seen from above."
            ),
        ),
        Group(
            key="zero",
            title=L("Zero and spindle"),
            fields=(ZERO, GAP, SET_OVER, SET_TOWARD),
            places=_per_cylinder,
            name=_name,
        ),
        Group(key="indicator", title=L("The indicator"), fields=(ROUND, SIGN, SPINDLE, READING_U, ZERO_U)),
    ),
    work=work,
    needs=("bores", "walls", "face"),
    cautions=CAUTIONS,
)
