"""Worn bores: gauge, temperatures, depths and the readings themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from logic import bore, cleanup
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Field, Number
from logic.say import L, Line
from logic.temperature import bore_at_20
from logic.uncertainty import Budget, reading_budget

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work

__all__ = [
    "READING",
    "SHEET",
    "axes",
    "base_mm",
    "block_expansion_per_k",
    "block_expansion_u_per_k",
    "bore_lean",
    "bore_length_mm",
    "budget",
    "cell_name",
    "cells",
    "depth_mm",
    "depths",
    "division_mm",
    "spacing_mm",
    "wear_side",
    "worn_bores",
    "zero_temperature",
]


def zero_temperature(key: str) -> Field:
    """The field for how warm the master was when a gauge was zeroed; every step that measures bores has one."""
    return DefaultNumber(
        key=key,
        label=L("Temperature where the gauge was zeroed"),
        kind="temperature",
        help=L("Of the setting ring or micrometer at that moment. Let gauge and master lie together first."),
        low=-30.0,
        high=70.0,
        default=20.0,
    )


READING = Number(
    key="bore.reading",
    label=L("Bore reading"),
    kind="deviation",
    help=L(
        "What the gauge shows against its zero: plus is larger. The whole size may be typed instead, with its unit."
    ),
    low=-3.0,
    high=5.0,
    at=("cylinder", "depth", "axis"),
    over=True,
    formula="D20 = (zero + reading) / (1 + α (T − 20))",
)
ZERO = Number(
    key="bore.zero",
    label=L("Size the gauge is zeroed at"),
    kind="size",
    help=L("The setting ring's size, or what the micrometer was set to. Left out, it is the nominal bore."),
    low=20.0,
    high=500.0,
    optional=True,
)
DIVISION = DefaultNumber(
    key="bore.division",
    label=L("Smallest step read on the gauge"),
    kind="fine",
    help=L(
        "One division of the dial, or half of one if you read between the marks. It goes into how sure each reading is."
    ),
    low=0.0005,
    high=0.1,
    default=0.0127,
    card="gauge",
)
REPEAT = DefaultNumber(
    key="bore.repeat",
    label=L("How well a reading repeats"),
    kind="fine",
    help=L("Read one spot five times: about a third of the spread. Rocking the gauge less than fully makes it worse."),
    low=0.0002,
    high=0.1,
    default=0.004,
    card="gauge",
)
MASTER_U = DefaultNumber(
    key="bore.master_u",
    label=L("How well the zero size is known"),
    kind="fine",
    help=L("The standard uncertainty of the setting ring or of the micrometer. All readings share it."),
    low=0.0,
    high=0.1,
    default=0.003,
    card="gauge",
)
BLOCK_C = DefaultNumber(
    key="bore.block_temperature",
    label=L("Block temperature"),
    kind="temperature",
    help=L("Measured on bare iron near the bores. A block in the sun is far from air temperature."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
BLOCK_U = DefaultNumber(
    key="bore.block_temperature_u",
    label=L("How well the block temperature is known"),
    kind="temperature_difference",
    help=L("As a standard uncertainty. Guessing from the air is good to 5 °C at best."),
    low=0.1,
    high=20.0,
    default=2.0,
)
ZERO_C = zero_temperature("bore.zero_temperature")
MATERIAL = DefaultSelect(
    key="bore.material",
    label=L("Block or liner material"),
    help=L("Decides how much the bore grows with warmth. For an iron sleeve in aluminium choose what surrounds it."),
    default="grey_iron",
    source="from memory",
    choices=(
        Choice("grey_iron", L("Grey iron")),
        Choice("aluminium_block", L("Aluminium")),
        Choice("steel", L("Steel")),
    ),
)
EXPANSION = Number(
    key="bore.expansion",
    label=L("Expansion of the block, if known"),
    kind="expansion",
    help=L("Takes the place of the material's usual figure. Most people leave it out."),
    low=5e-6,
    high=30e-6,
    optional=True,
)
LENGTH = DefaultNumber(
    key="bore.length",
    label=L("Bore length"),
    kind="place",
    help=L(
        "From the top face to the lower edge of the bore. Used for the lean, the stroke of the hone and the picture."
    ),
    low=20.0,
    high=600.0,
    default=130.0,
)
SPACING = Number(
    key="bore.spacing",
    label=L("Distance between bore centres"),
    kind="place",
    help=L("Along the block, from one bore to the next. Left out, it is taken as 1.15 times the nominal bore."),
    low=25.0,
    high=800.0,
    optional=True,
)
DEPTHS = DefaultNumber(
    key="bore.depths",
    label=L("Depths measured in each bore"),
    kind="count",
    help=L(
        "Three is usual: near the top of ring travel, the middle, and below ring travel. More shows the shape better."
    ),
    low=1,
    high=8,
    default=3,
)
AXES = DefaultSelect(
    key="bore.axes",
    label=L("Directions measured at each depth"),
    help=L("Across the block (the thrust axis) and along it (the crank line). The two diagonals find odd wear."),
    default="two",
    choices=(
        Choice("two", L("Thrust axis and crank line")),
        Choice("four", L("The two and both diagonals")),
        Choice("one", L("Thrust axis only")),
    ),
)
DEPTH = Number(
    key="bore.depth",
    label=L("Depth"),
    kind="place",
    help=L("From the top face down to where the gauge's feelers touch. Left out, the depths are spread over the bore."),
    low=0.0,
    high=600.0,
    at=("depth",),
    optional=True,
)
RING_TOP = Number(
    key="bore.ring_top",
    label=L("Top of ring travel, from the top face"),
    kind="place",
    help=L("Where the ridge begins. It lets the ridge be told from the wear."),
    low=0.0,
    high=200.0,
    optional=True,
)
RING_BOTTOM = Number(
    key="bore.ring_bottom",
    label=L("Bottom of ring travel, from the top face"),
    kind="place",
    help=L("Readings deeper than this count as unworn. Left out, the smallest reading stands for the unworn bore."),
    low=10.0,
    high=600.0,
    optional=True,
)
SIDE = DefaultSelect(
    key="bore.side",
    label=L("Which side wore"),
    help=L(
        "A gauge does not tell on which side the metal went. Say what you saw, or what an indicator on the spindle showed."
    ),
    default="unknown",
    source="JCGM 101:2008, 6.4.2",
    at=("cylinder",),
    choices=(
        Choice("unknown", L("Not known")),
        Choice("even", L("Both sides alike")),
        Choice("one side", L("One side, on the thrust axis")),
        Choice("swept", L("Swept: centre offset known")),
    ),
)
OFFSET = Number(
    key="bore.offset",
    label=L("Offset of the worn bore's centre"),
    kind="diff",
    help=L(
        "Half the difference an indicator on the spindle shows from side to side at the worst place. Centre on unworn metal first."
    ),
    low=0.0,
    high=2.0,
    at=("cylinder",),
    optional=True,
    formula="D_clean = D_worn + 2 × offset",
)
BAR_SHIFT = Number(
    key="bore.bar_shift",
    label=L("Bar set over toward the worn side"),
    kind="diff",
    help=L(
        "How far the spindle is deliberately moved off the unworn centre. It saves metal and moves the bore's axis."
    ),
    low=0.0,
    high=1.0,
    at=("cylinder",),
    optional=True,
    formula="D_clean = D_unworn + 2 max(wear on that side − shift, wear on the other + shift)",
)
UNWORN = Number(
    key="bore.unworn",
    label=L("Unworn size, if known"),
    kind="size",
    help=L(
        "Measured above or below ring travel, or known from an earlier rebore. It takes the place of the smallest reading."
    ),
    low=20.0,
    high=500.0,
    at=("cylinder",),
    optional=True,
)
CENTRED = DefaultSelect(
    key="bore.centred",
    label=L("Where the bar is centred"),
    help=L("The depth at which the centring device touches. A lean of the face is felt at the other end."),
    default="bottom",
    choices=(Choice("bottom", L("In the unworn lower end")), Choice("top", L("At the top, above ring travel"))),
)
CENTRING = DefaultNumber(
    key="bore.centring",
    label=L("How well the bar is centred"),
    kind="fine",
    help=L(
        "How far the spindle may stand from where it is meant to, as a standard uncertainty. It counts twice on the diameter."
    ),
    low=0.0,
    high=0.2,
    default=0.01,
)
SWEPT_U = DefaultNumber(
    key="bore.offset_u",
    label=L("How well the swept offset is known"),
    kind="fine",
    help=L("As a standard uncertainty. A tenth indicator read with care gives about 0.005 mm."),
    low=0.0005,
    high=0.2,
    default=0.005,
)

_AXES = {"one": ("thrust",), "two": ("thrust", "crank"), "four": ("thrust", "crank", "diag_a", "diag_b")}
#: Depth of the first and the last reading, where none is stated: from the top face, and as a part of the length (common practice).
_FIRST_MM, _LAST_PART = 12.0, 0.92
#: Standard uncertainty of an expansion somebody states, per kelvin (common practice).
_STATED_U = 0.3e-6


# -- what other steps ask --------------------------------------------------------------------
def base_mm(view: Any) -> float | None:
    """The size the readings count from: the gauge's zero, or the nominal bore."""
    return view.number(ZERO) or view.nominal_mm


def division_mm(view: Any) -> float:
    """One division of the gauge."""
    return view.number(DIVISION)


def block_expansion_per_k(view: Any) -> float:
    """Expansion of the block, per kelvin."""
    return view.number(EXPANSION) or constant(f"expansion.{view.number(MATERIAL)}").value


def block_expansion_u_per_k(view: Any) -> float:
    """Standard uncertainty of :func:`block_expansion_per_k`: the material's range, or that of a stated figure."""
    return constant(f"expansion.{view.number(MATERIAL)}").u if view.number(EXPANSION) is None else _STATED_U


def bore_length_mm(view: Any) -> float:
    """Length of a bore."""
    return view.number(LENGTH)


def spacing_mm(view: Any) -> float | None:
    """Distance between bore centres; None where neither it nor the nominal bore is known."""
    stated = view.number(SPACING)
    return stated if stated is not None else view.nominal_mm and 1.15 * view.nominal_mm


def axes(view: Any) -> tuple[str, ...]:
    """The axes measured."""
    return _AXES[view.number(AXES)]


def depth_mm(view: Any, depth: int) -> float:
    """Depth number ``depth`` (from 1, the uppermost): as entered, else spread evenly over the bore."""
    stated = view.number(DEPTH, depth=depth)
    if stated is not None:
        return stated
    count = int(view.number(DEPTHS))
    last = _LAST_PART * bore_length_mm(view)
    first = min(_FIRST_MM, last / 2)
    return first if count == 1 else first + (last - first) * (depth - 1) / (count - 1)


def depths(view: Any) -> tuple[int, ...]:
    """The depths to measure, by number: those asked for and any that holds a reading."""
    used = {dict(where).get("depth") for where in view.all(READING.key)}
    return tuple(sorted({*range(1, int(view.number(DEPTHS)) + 1), *(d for d in used if isinstance(d, int))}))


def cells(view: Any) -> list[dict[str, Any]]:
    """Every place to measure, in the order of entry: cylinder, depth, axis."""
    down, across = depths(view), axes(view)
    return [{"cylinder": c, "depth": d, "axis": a} for c in view.cylinders for d in down for a in across]


def cell_name(place: Mapping[str, Any]) -> Line:
    """A place in words: which cylinder, depth and axis."""
    return L(
        "Cylinder {cylinder}, depth {depth}, {axis}",
        cylinder=place["cylinder"],
        depth=place["depth"],
        axis=bore.axis_name(place["axis"]),
    )


@remembered
def budget(view: Any) -> Budget:
    """How sure one reading is, and from what. Needs a base size."""
    return reading_budget(
        size_mm=base_mm(view),
        division_mm=view.number(DIVISION),
        repeatability_mm=view.number(REPEAT),
        master_u_mm=view.number(MASTER_U),
        block_c=view.number(BLOCK_C),
        block_u_c=view.number(BLOCK_U),
        gauge_c=view.number(ZERO_C),
        alpha_block_per_k=block_expansion_per_k(view),
        alpha_u_per_k=block_expansion_u_per_k(view),
        alpha_gauge_per_k=constant("expansion.steel").value,
    )


@remembered
def worn_bores(view: Any) -> dict[int, bore.WornBore]:
    """The readings of each cylinder that has any, as diameters at 20 °C."""
    zero = base_mm(view)
    if zero is None:
        return {}
    read: dict[int, dict[tuple[int, str], float]] = {}
    for where, value in view.all(READING.key).items():
        at = dict(where)
        read.setdefault(at["cylinder"], {})[at["depth"], at["axis"]] = value.value
    if not read:
        return {}
    sure = budget(view)
    # depths are sorted by where they lie, so that a depth added later takes its place among the others
    lines: dict[float, list[int]] = {}
    for d in depths(view):
        lines.setdefault(depth_mm(view, d), []).append(d)
    down = sorted(lines)
    across = tuple(a for a in bore.AXES if a in axes(view) or any(a == x for cs in read.values() for _, x in cs))
    block = {
        "block_c": view.number(BLOCK_C),
        "alpha_block_per_k": block_expansion_per_k(view),
        "master_c": view.number(ZERO_C),
    }
    out = {}
    for cylinder in view.cylinders:
        got = read.get(cylinder)
        if not got:
            continue

        def size(mm: float, axis: str) -> float | None:
            deviation = next((got[d, axis] for d in lines[mm] if (d, axis) in got), None)
            return None if deviation is None else bore_at_20(zero_mm=zero, deviation_mm=deviation, **block)

        out[cylinder] = bore.WornBore(
            cylinder=cylinder,
            depths_mm=tuple(down),
            axes=across,
            d_mm=tuple(tuple(size(mm, a) for a in across) for mm in down),
            u_mm=sure.u_own,
            u_common_mm=sure.u_shared,
            ring_top_mm=view.number(RING_TOP),
            ring_bottom_mm=view.number(RING_BOTTOM),
            stated_unworn_mm=view.number(UNWORN, cylinder=cylinder),
            length_mm=bore_length_mm(view),
            nominal_mm=view.nominal_mm,
        )
    return out


def wear_side(view: Any, cylinder: int) -> cleanup.WearSide:
    """What is known about where a cylinder's metal went, and where the bar is put."""
    known, offset = view.number(SIDE, cylinder=cylinder), view.number(OFFSET, cylinder=cylinder)
    if known == "swept" and offset is None:
        known = "unknown"
    return cleanup.WearSide(
        known=known,
        offset_mm=offset or 0.0,
        u_offset_mm=view.number(SWEPT_U),
        bar_shift_mm=view.number(BAR_SHIFT, cylinder=cylinder) or 0.0,
        u_centring_mm=view.number(CENTRING),
    )


def bore_lean(view: Any, cylinder: int) -> cleanup.BoreLean | None:
    """How a cylinder leans from square to the top face, where the face was measured."""
    from .face import lean

    found = lean(view, cylinder)
    if found is None:
        return None
    length = found.length_mm
    return cleanup.BoreLean(
        across_mm=found.across_mm,
        along_mm=found.along_mm,
        u_mm=found.u_mm,
        length_mm=length,
        centred_mm=length if view.number(CENTRED) == "bottom" else 0.0,
    )


# -- the step ----------------------------------------------------------------------------------
def _about(view: Any, found: bore.BoreStudy) -> bore.BoreStudy:
    return replace(found, influences=budget(view).shares)


def work(view: Any) -> Work:
    """Each measured bore's study, its section, and the cells still empty."""
    if base_mm(view) is None:
        return Work(blocked=L("Enter the nominal bore first: the readings count from it."), cautions=CAUTIONS)
    found = worn_bores(view)
    missing = tuple((READING.key, c) for c in cells(view) if not view.rivals(READING.key, **c))
    results = []
    for cylinder, worn in found.items():
        study = with_assumed(_about(view, bore.study(worn)), view, BLOCK_C, ZERO_C, MATERIAL, DIVISION, REPEAT)
        results.append(with_assumed(study, view, SIDE, cylinder=cylinder))
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and bool(found),
        pictures=tuple(bore.section(w) for w in found.values()),
        cautions=CAUTIONS,
    )


def _per_cylinder(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in view.cylinders]


def _per_depth(view: Any) -> list[dict[str, Any]]:
    return [{"depth": d} for d in depths(view)]


def _place_name(place: Mapping[str, Any]) -> Line:
    if "cylinder" in place:
        return L("Cylinder {cylinder}", cylinder=place["cylinder"])
    return L("Depth {depth}", depth=place["depth"])


CAUTIONS = for_sheet("bores")

SHEET = Sheet(
    key="bores",
    order=1,
    title=L("Worn bores"),
    purpose=L("Find out how much each bore has worn, where, and on which side."),
    groups=(
        Group(key="readings", title=L("Readings"), fields=(READING,), places=cells, name=cell_name),
        Group(
            key="side",
            title=L("Which side wore"),
            fields=(SIDE, OFFSET, BAR_SHIFT, UNWORN),
            places=_per_cylinder,
            name=_place_name,
            help=L("A bore worn on one side needs a larger cut than its diameter shows."),
        ),
        Group(
            key="gauge",
            title=L("Gauge and temperatures"),
            fields=(ZERO, BLOCK_C, ZERO_C, MATERIAL, DIVISION, REPEAT, MASTER_U, BLOCK_U, EXPANSION),
        ),
        Group(
            key="grid", title=L("Where it is measured"), fields=(DEPTHS, AXES, LENGTH, SPACING, RING_TOP, RING_BOTTOM)
        ),
        Group(key="depths", title=L("Depths"), fields=(DEPTH,), places=_per_depth, name=_place_name),
        Group(key="bar", title=L("Where the bar stands"), fields=(CENTRED, CENTRING, SWEPT_U)),
    ),
    work=work,
    cautions=CAUTIONS,
)
