"""What was entered for the plan, against what was measured: depths, sweep, pistons and clearance.

Geometry forbids some of it (a clean-up diameter below the largest diameter read, a depth
beyond the bore's end); the rest is judged by :mod:`logic.doubt`. How much a piston may
miss its oversize and a clearance the usual figure is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from .bore import WornBore
from .doubt import APART, Doubt, Place, Source, apart, beyond, ends
from .say import L, Line, Qty
from .sweep_readings import Zero

__all__ = [
    "check_clearance",
    "check_depths",
    "check_finished",
    "check_piston",
    "check_pistons_alike",
    "check_sleeves_alike",
    "check_sweep",
    "check_travel",
    "check_zero",
]

#: A measured piston lies within this of its oversize less the clearance, mm: the maker's clearance, or the usual one.
PISTON_WITHIN_MM, PISTON_ABOUT_MM = 0.03, 0.06
#: Pistons of one set and the maker's clearance make a bore within this of the oversize, mm.
FINISHED_WITHIN_MM = 0.010
#: Pistons of one set are alike within this, mm.
SET_WITHIN_MM = 0.02
#: Sleeves that differ by so much outside are of two sizes, mm.
OTHER_SLEEVE_MM = 0.3
#: A maker's clearance lies between these parts of the usual one.
CLEARANCE_PARTS = (0.3, 3.5)
#: Depths that all lie in so small a part of the bore were typed in another unit.
_SHALLOW_PART = 0.2
#: A depth may be stated so much beyond the bore's end, mm.
_DEPTH_SLACK_MM = 1.0


def check_sweep(
    worn: WornBore, clean_mm: float, u_clean_mm: float, *, u_shared_mm: float, sweep: Place, reading: Place
) -> Iterator[Doubt]:
    """A swept clean-up diameter against the largest diameter the gauge read: it can never be smaller."""
    swept = Source(L("sweep"), clean_mm, u_clean_mm)
    read = Source(L("bore gauge"), worn.worst.d_mm, math.hypot(worn.u_mm, u_shared_mm))
    if clean_mm >= worn.worst.d_mm or apart(swept, read) <= APART:
        return
    yield Doubt(
        key=f"sweep.{worn.cylinder}",
        line=L(
            "Cylinder {n}: the sweep cleans up at {clean}, but the gauge reads {read}.",
            n=worn.cylinder,
            clean=Qty(clean_mm, "size"),
            read=Qty(worn.worst.d_mm, "size"),
        ),
        settle=L("Sweep at the depth of the largest reading, and check the sweep's zero."),
        about=(sweep, reading),
    )


def check_zero(
    cylinder: int, counts: Zero, other: Zero, by: Line, *, slack_mm: float, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The diameter at the sweep's zero that counts against the same by another source.

    ``slack_mm`` is what the two may differ by because they were not taken at the same depth.
    """
    off = counts.diameter_mm - other.diameter_mm
    if not beyond(off, slack_mm, math.hypot(counts.u_mm, other.u_mm), APART):
        return
    yield Doubt(
        key=f"sweep.zero.{cylinder}",
        line=L(
            "Cylinder {n}: the sweep's zero is {zero}, but by {by} it is {other}.",
            n=cylinder,
            zero=Qty(counts.diameter_mm, "size"),
            by=by,
            other=Qty(other.diameter_mm, "size"),
        ),
        settle=L("Check that these readings are this cylinder's, then measure the zero again."),
        about=tuple(about),
    )


def check_depths(depths_mm: Sequence[tuple[float, Place]], *, length_mm: float, length: Place) -> Iterator[Doubt]:
    """The depths entered (each with its place) against the bore's length."""
    if not depths_mm:
        return
    deepest, place = max(depths_mm)
    said = {"depth": Qty(deepest, "place"), "length": Qty(length_mm, "place")}
    if deepest > length_mm + _DEPTH_SLACK_MM:
        yield Doubt(
            key="depths.length",
            line=L("A depth of {depth} in a bore {length} long.", **said),
            settle=L("Check the depths' unit and the bore's length."),
            about=(place, length),
        )
    elif len(depths_mm) > 1 and deepest < _SHALLOW_PART * length_mm:
        yield Doubt(
            key="depths.shallow",
            line=L("The deepest reading is {depth} down in a bore {length} long.", **said),
            settle=L("Check the depths' unit, and read below ring travel."),
            about=(*(p for _, p in depths_mm), length),
        )


def check_travel(
    ring_top_mm: float | None, ring_bottom_mm: float | None, *, length_mm: float, about: tuple[Place, Place, Place]
) -> Iterator[Doubt]:
    """Ring travel against itself and the bore's length. ``about`` names its top, its bottom and the length."""
    if ring_bottom_mm is None:
        return
    top, bottom, length = about
    said = {"bottom": Qty(ring_bottom_mm, "place"), "length": Qty(length_mm, "place")}
    settle = L("Measure both from the deck again.")
    if ring_top_mm is not None and ring_top_mm >= ring_bottom_mm:
        yield Doubt(
            key="depths.travel",
            line=L(
                "Ring travel from {top} to {bottom} down: the top lies below the bottom.",
                top=Qty(ring_top_mm, "place"),
                bottom=said["bottom"],
            ),
            settle=settle,
            about=(top, bottom),
        )
    if ring_bottom_mm > length_mm + _DEPTH_SLACK_MM:
        line = L("Ring travel ends {bottom} down in a bore {length} long.", **said)
        yield Doubt(key="depths.bottom", line=line, settle=settle, about=(bottom, length))


def check_piston(
    cylinder: int,
    piston_mm: float,
    u_mm: float,
    *,
    nominal_mm: float,
    step_mm: float,
    clearance_mm: float,
    steps_mm: Sequence[float],
    about: Sequence[Place],
    maker: bool = True,
) -> Iterator[Doubt]:
    """A measured piston against the oversize it was bought for; ``maker`` where the clearance is the piston maker's."""
    off = piston_mm - (nominal_mm + step_mm - clearance_mm)
    within = PISTON_WITHIN_MM if maker else PISTON_ABOUT_MM
    if not beyond(off, within, u_mm, 3.0):
        return
    said = {"n": cylinder, "piston": Qty(piston_mm, "size"), "step": Qty(step_mm, "step"), "off": Qty(abs(off), "diff")}
    other = [s for s in (0.0, *steps_mm) if abs(piston_mm - (nominal_mm + s - clearance_mm)) <= PISTON_ABOUT_MM]
    if other:
        line = L(
            "Piston {n} measures {piston}: that is a {other} piston, not {step}.", **said, other=Qty(other[0], "step")
        )
    else:
        line = L("Piston {n} measures {piston}: {off} from a {step} piston.", **said)
    yield Doubt(
        key=f"piston.{cylinder}",
        line=line,
        settle=L("Measure it again, and read the size on its crown or box."),
        about=tuple(about),
    )


def check_finished(
    pistons_mm: Sequence[float],
    u_mm: float,
    *,
    nominal_mm: float,
    step_mm: float,
    clearance_mm: float,
    about: Sequence[Place],
) -> Iterator[Doubt]:
    """The pistons of one step with the maker's clearance, against the size that step stands for.

    ``u_mm`` is what the pistons have in common: their temperature and the micrometer.
    """
    made = math.fsum(pistons_mm) / len(pistons_mm) + clearance_mm
    off = made - (nominal_mm + step_mm)
    if not beyond(off, FINISHED_WITHIN_MM, u_mm, 2.0):
        return
    yield Doubt(
        key="pistons.step",
        line=L(
            "Pistons and clearance make {made}: {off} from the {step} oversize.",
            made=Qty(made, "size"),
            off=Qty(off, "deviation"),
            step=Qty(step_mm, "step"),
        ),
        settle=L("Check the clearance on the piston maker's sheet, and the micrometer on its standard."),
        about=tuple(about),
    )


def check_pistons_alike(sizes_mm: Mapping[int, tuple[float, Place]]) -> Iterator[Doubt]:
    """The pistons of one set against each other."""
    if len(sizes_mm) < 2:
        return
    low, high, spread = ends({n: mm for n, (mm, _) in sizes_mm.items()})
    if spread <= SET_WITHIN_MM:
        return
    yield Doubt(
        key="pistons.set",
        line=L(
            "Pistons {low} and {high} differ by {spread}: one set is closer than that.",
            low=low,
            high=high,
            spread=Qty(spread, "diff"),
        ),
        settle=L("Measure both again at their gauge point."),
        about=(sizes_mm[low][1], sizes_mm[high][1]),
    )


def check_sleeves_alike(outside_mm: Mapping[int, tuple[float, Place]]) -> Iterator[Doubt]:
    """The sleeves of one job, each measured outside, against each other: those of one size are alike.

    Sizes further apart than :data:`OTHER_SLEEVE_MM` are sleeves of two sizes.
    """
    if len(outside_mm) < 2:
        return
    ranked = sorted(outside_mm, key=lambda n: outside_mm[n][0])
    for low, high in pairwise(ranked):
        apart_mm = outside_mm[high][0] - outside_mm[low][0]
        if SET_WITHIN_MM < apart_mm < OTHER_SLEEVE_MM:
            yield Doubt(
                key="sleeves.alike",
                line=L(
                    "The sleeves of cylinders {low} and {high} differ by {apart} outside: sleeves of one size are closer.",
                    low=low,
                    high=high,
                    apart=Qty(apart_mm, "diff"),
                ),
                settle=L("Measure both again before you bore for them."),
                about=(outside_mm[low][1], outside_mm[high][1]),
            )
            return


def check_clearance(stated_mm: float, usual_mm: float, *, about: Place) -> Iterator[Doubt]:
    """A stated clearance against the usual one: a slip of unit or of the decimal point."""
    low, high = CLEARANCE_PARTS
    if low * usual_mm <= stated_mm <= high * usual_mm:
        return
    yield Doubt(
        key="clearance",
        line=L(
            "Clearance {stated}: about {usual} is usual here.",
            stated=Qty(stated_mm, "fine"),
            usual=Qty(usual_mm, "fine"),
        ),
        settle=L("Check its unit against the piston maker's sheet."),
        about=(about,),
    )
