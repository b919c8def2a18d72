"""Final verification: each finished bore's size, roundness and taper, with a verdict on each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import verify
from logic.bore import axis_name
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import DefaultNumber, Field, Number
from logic.pictures import BoreSection
from logic.result import Verdict
from logic.say import L, Line
from logic.temperature import bore_at_20
from logic.uncertainty import Budget, reading_budget

from ..memo import remembered
from . import bores
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .sizes import finished_mm, piston_mm, piston_u_mm

__all__ = ["AGAIN", "READING", "SHEET", "after", "base_mm", "budget", "checked", "depth_means_mm"]

READING = Number(
    key="final.reading",
    label=L("Final reading"),
    kind="deviation",
    help=L(
        "What the gauge shows in the washed and dried bore against its zero: plus is larger. The whole size may be typed instead, with its unit."
    ),
    low=-0.5,
    high=0.5,
    at=("cylinder", "depth", "axis"),
    over=True,
    formula="D20 = (zero + reading) / (1 + α (T − 20))",
)
AGAIN = Number(
    key="final.again",
    label=L("Read again"),
    kind="deviation",
    help=L(
        "One more reading at a place that was too close to call. It is averaged with the first, never put in its place."
    ),
    low=-0.5,
    high=0.5,
    at=("cylinder", "depth", "axis", "check"),
    over=True,
    optional=True,
)
ZERO = Number(
    key="final.zero",
    label=L("Size the gauge is zeroed at"),
    kind="size",
    help=L(
        "The setting ring's size, or what the micrometer was set to, for these readings. Zero it afresh, at the finished size if you can."
    ),
    low=20.0,
    high=500.0,
)
ZERO_C = bores.zero_temperature("final.zero_temperature")
BLOCK_C = DefaultNumber(
    key="final.block_temperature",
    label=L("Block temperature"),
    kind="temperature",
    help=L("Measured in the bores, not in the air. A bore that was honed minutes ago is warm and reads large."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
BLOCK_U = DefaultNumber(
    key="final.block_temperature_u",
    label=L("How well the block temperature is known"),
    kind="temperature_difference",
    help=L("As a standard uncertainty. A thermometer held on bare iron for a minute is good to about one degree."),
    low=0.1,
    high=20.0,
    default=1.0,
)
WARMED = DefaultNumber(
    key="final.gauge_warmed",
    label=L("Gauge warmer than at its zero by"),
    kind="temperature_difference",
    help=L(
        "A gauge that lay in a warm bore or a hand is longer than when it was zeroed. Nought if it was zeroed just before."
    ),
    low=-20.0,
    high=20.0,
    default=0.0,
)
DIVISION = Number(
    key="final.division",
    label=L("Smallest step read, if another gauge"),
    kind="fine",
    help=L("Only where the final readings are made with a finer gauge than the worn bores. Left out, it is the same."),
    low=0.0001,
    high=0.1,
    optional=True,
)
REPEAT = Number(
    key="final.repeat",
    label=L("How well a reading repeats, if better now"),
    kind="fine",
    help=L(
        "A round, smooth bore is read better than a worn one: read one spot five times, about a third of the spread. Left out, it is as in the worn bores."
    ),
    low=0.0001,
    high=0.1,
    optional=True,
)
MASTER_U = Number(
    key="final.master_u",
    label=L("How well the zero size is known, if another master"),
    kind="fine",
    help=L(
        "The standard uncertainty of the setting ring or micrometer used now. Left out, it is as for the worn bores."
    ),
    low=0.0,
    high=0.1,
    optional=True,
)
OVER = DefaultNumber(
    key="final.over",
    label=L("Allowed above the size wanted"),
    kind="fine",
    help=L("A larger bore than this leaves too much clearance. The engine or piston maker's tolerance comes first."),
    low=0.001,
    high=0.2,
    default=0.0127,
)
UNDER = DefaultNumber(
    key="final.under",
    label=L("Allowed below the size wanted"),
    kind="fine",
    help=L(
        "A smaller bore than this leaves too little clearance and can seize. The engine or piston maker's tolerance comes first."
    ),
    low=0.001,
    high=0.2,
    default=0.0127,
)
ROUND = DefaultNumber(
    key="final.round",
    label=L("Out of round allowed"),
    kind="fine",
    help=L("Largest less smallest diameter at one depth. The maker's figure comes first."),
    low=0.001,
    high=0.2,
    default=0.0127,
    formula="D_max − D_min at one depth",
)
TAPER = DefaultNumber(
    key="final.taper",
    label=L("Taper allowed"),
    kind="fine",
    help=L(
        "Largest less smallest diameter down one axis, so that a barrel or a waist counts too. The maker's figure comes first."
    ),
    low=0.001,
    high=0.2,
    default=0.0127,
    formula="D_max − D_min down one axis",
)
SURE = DefaultNumber(
    key="final.confidence",
    label=L("How sure before it is called in or out"),
    kind="percent",
    help=L("In between, the answer is to measure again. Higher asks for better gauging."),
    low=0.8,
    high=0.999,
    default=verify.CONFIDENCE,
    source="ISO 14253-1:2017",
)


def base_mm(view: Any) -> float | None:
    """The size the final readings count from; None until it is entered."""
    return view.number(ZERO)


def _or(view: Any, own: Field, else_: Field) -> float:
    stated = view.number(own)
    return view.number(else_) if stated is None else stated


@remembered
def budget(view: Any) -> Budget:
    """How sure one final reading is, and from what. Needs the gauge's zero."""
    return reading_budget(
        size_mm=base_mm(view),
        division_mm=_or(view, DIVISION, bores.DIVISION),
        repeatability_mm=_or(view, REPEAT, bores.REPEAT),
        master_u_mm=_or(view, MASTER_U, bores.MASTER_U),
        block_c=view.number(BLOCK_C),
        block_u_c=view.number(BLOCK_U),
        gauge_c=view.number(ZERO_C),
        alpha_block_per_k=bores.block_expansion_per_k(view),
        alpha_u_per_k=bores.block_expansion_u_per_k(view),
        alpha_gauge_per_k=constant("expansion.steel").value,
    )


def _spots(view: Any, cylinder: int) -> list[verify.Spot]:
    """What was read in a cylinder, each place with all its readings, as diameters at 20 °C."""
    zero = base_mm(view)
    out = []
    for where, first in view.all(READING.key, cylinder=cylinder).items():
        at = dict(where)
        more = view.all(AGAIN.key, **at)
        read = [first.value, *(v.value for v in more.values())]
        sizes = [
            bore_at_20(
                zero_mm=zero,
                deviation_mm=r,
                block_c=view.number(BLOCK_C),
                alpha_block_per_k=bores.block_expansion_per_k(view),
                master_c=view.number(ZERO_C),
                gauge_warmed_k=view.number(WARMED),
            )
            for r in read
        ]
        out.append(verify.Spot.of(at["depth"], at["axis"], bores.depth_mm(view, at["depth"]), sizes))
    return sorted(out, key=lambda s: (s.depth_mm, s.axis))


@remembered
def depth_means_mm(view: Any, cylinder: int) -> tuple[float, ...]:
    """The measured mean diameter at each depth at 20 °C, uppermost first; empty while nothing was read."""
    return () if base_mm(view) is None else verify.depth_means_mm(_spots(view, cylinder))


@remembered
def checked(view: Any) -> dict[int, verify.FinishedBore]:
    """The verdict on each cylinder that has final readings and a size to meet, by cylinder."""
    if base_mm(view) is None:
        return {}
    sure = budget(view)
    stated = all(view.get(f).entered for f in (OVER, UNDER, ROUND, TAPER))
    out = {}
    for cylinder in view.cylinders:
        target, spots = finished_mm(view, cylinder), _spots(view, cylinder)
        if target is None or not spots:
            continue
        found = verify.finished_bore(
            cylinder=cylinder,
            spots=spots,
            target_mm=target,
            lower_mm=target - view.number(UNDER),
            upper_mm=target + view.number(OVER),
            round_limit_mm=view.number(ROUND),
            taper_limit_mm=view.number(TAPER),
            u_own_mm=sure.u_own,
            u_shared_mm=sure.u_shared,
            confidence=view.number(SURE),
            limit_source="entered" if stated else "common practice",
            sources=sure.shares,
        )
        piston = piston_mm(view, cylinder)
        if piston is not None:
            found = verify.with_piston(found, piston, piston_u_mm(view, cylinder))
        out[cylinder] = with_assumed(found, view, BLOCK_C, ZERO_C, WARMED, BLOCK_U)
    return out


def after(view: Any, cylinder: int, at_least_mm: float = 0.0) -> BoreSection | None:
    """The finished bore cut lengthwise; None while it has no verdict. ``at_least_mm`` as in the picture."""
    found = checked(view).get(cylinder)
    return (
        None
        if found is None
        else verify.section(
            found, _spots(view, cylinder), length_mm=bores.bore_length_mm(view), at_least_mm=at_least_mm
        )
    )


def work(view: Any) -> Work:
    """A verdict on each bore measured, the doubtful ones first, and the places still to read."""
    targets = {c: finished_mm(view, c) for c in view.cylinders}
    wanted = [c for c, t in targets.items() if t is not None]
    if not wanted:
        return Work(
            blocked=L("Settle the finished sizes first: then it is known what to check the bores against."),
            cautions=for_sheet("final"),
        )
    missing: list[tuple[str, Mapping[str, Any]]] = []
    if base_mm(view) is None:
        missing.append((ZERO.key, {}))
    missing += [
        (READING.key, at) for at in bores.cells(view) if at["cylinder"] in wanted and not view.rivals(READING.key, **at)
    ]
    found = checked(view)
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2}
    results = sorted(found.values(), key=lambda r: (order[r.verdict], r.cylinder))
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        done=not missing and len(found) == len(view.cylinders) and all(r.verdict == Verdict.GO for r in results),
        pictures=tuple(p for r in results if (p := after(view, r.cylinder)) is not None),
        cautions=for_sheet("final"),
    )


# -- places ------------------------------------------------------------------------------------
def _again_places(view: Any) -> list[dict[str, Any]]:
    """Repeats logged, and one more at each place that is too close to call."""
    logged = [dict(where) for where in view.all(AGAIN.key)]
    asked = [
        {"cylinder": r.cylinder, "depth": s.depth, "axis": s.axis} for r in checked(view).values() for s in r.again
    ]
    places = [*logged]
    for at in asked:
        last = max((p["check"] for p in logged if all(p[k] == v for k, v in at.items())), default=0)
        places.append({**at, "check": last + 1})
    return sorted(places, key=lambda p: (p["cylinder"], p["depth"], p["axis"], p["check"]))


def _name(place: Mapping[str, Any]) -> Line:
    if "check" not in place:
        return bores.cell_name(place)
    return L(
        "Cylinder {cylinder}, depth {depth}, {axis}, repeat {n}",
        cylinder=place["cylinder"],
        depth=place["depth"],
        axis=axis_name(place["axis"]),
        n=place["check"],
    )


SHEET = Sheet(
    key="final",
    order=12,
    title=L("Final check"),
    purpose=L("Measure every finished bore and say whether its size, roundness and taper are in."),
    groups=(
        Group(
            key="gauge",
            title=L("Gauge and temperatures"),
            fields=(ZERO, ZERO_C, BLOCK_C, WARMED, BLOCK_U, DIVISION, REPEAT, MASTER_U),
            help=L("Zero the gauge afresh. Bring block, gauge and master to one temperature if you can."),
        ),
        Group(key="readings", title=L("Readings"), fields=(READING,), places=bores.cells, name=_name),
        Group(
            key="again",
            title=L("Read again"),
            fields=(AGAIN,),
            places=_again_places,
            name=_name,
            help=L("Places where the answer was too close to call."),
        ),
        Group(key="limits", title=L("What is allowed"), fields=(OVER, UNDER, ROUND, TAPER, SURE)),
    ),
    work=work,
    needs=("bores", "sizes"),
    cautions=for_sheet("final"),
    base_mm=base_mm,
)
