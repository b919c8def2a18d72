"""What a sweep says against itself and against the bore gauge: geometry, and the smoothness of a wall that rings have worn.

Two readings opposite each other and the zero make a diameter, and the bore gauge has read some of these. Wear takes
metal away, so nowhere does the wall stand further in than where no ring runs. Rings wear a wall smooth: a reading
that stands out from a smooth curve through the others is a slip, or a score that is seen. How far each may be
off is common practice, no source.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

from .directions import compass
from .doubt import APART, Doubt, Place, beyond
from .plane import fit
from .say import L, Qty

__all__ = ["Across", "SweptRing", "check_across", "check_inside", "check_rings_copied", "check_smooth"]

#: Gauge and indicator do not touch quite the same places: their diameters agree within this, mm.
ACROSS_MM = 0.03
#: The wall may stand so much further in than where no ring runs, mm: roundness of the bore as it was made.
MADE_MM = 0.02
#: A wall follows a curve of two waves round the bore within this, mm, and within so much of what it ranges over.
SMOOTH_MM, SMOOTH_PART = 0.04, 0.4
#: So many readings round the bore are needed to tell one that stands out of two waves.
LEAST_ROUND = 8


class SweptRing(NamedTuple):
    """The readings of one depth: its number, where it lies, and how far the wall is out from the zero, mm, by angle."""

    depth: int
    depth_mm: float
    out_mm: Mapping[int, float]


class Across(NamedTuple):
    """One diameter by the bore gauge where the sweep has both ends: the depth, the direction of one end, and the diameter
    at the indicator's zero that follows from the two, mm."""

    depth_mm: float
    angle: int
    zero_mm: float
    about: tuple[Place, ...]


def check_across(cylinder: int, found: Sequence[Across], *, u_mm: float) -> Iterator[Doubt]:
    """Every diameter that gauge and sweep both know gives the same zero; ``u_mm`` is the standard uncertainty of each."""
    if len(found) < 2:
        return
    middle = statistics.median(a.zero_mm for a in found)
    odd = max(found, key=lambda a: abs(a.zero_mm - middle))
    off = odd.zero_mm - middle
    if not beyond(off, ACROSS_MM, math.sqrt(2.0) * u_mm, APART):
        return
    said = {
        "n": cylinder,
        "depth": Qty(odd.depth_mm, "place"),
        "where": compass(odd.angle),
        "off": Qty(abs(off), "diff"),
    }
    yield Doubt(
        key=f"sweep.across.{cylinder}",
        line=L(
            "Cylinder {n}, {depth} down, {where} and opposite: the sweep makes {off} less of the bore than the gauge does.",
            **said,
        )
        if off > 0
        else L(
            "Cylinder {n}, {depth} down, {where} and opposite: the sweep makes {off} more of the bore than the gauge does.",
            **said,
        ),
        settle=L("Sweep that depth again from the front, and see that these are this cylinder's readings."),
        about=(*odd.about, *(place for a in found if a is not odd for place in a.about)),
    )


def check_inside(
    cylinder: int, worn: Sequence[SweptRing], unworn: SweptRing, *, lean_mm_per_mm: float, u_mm: float, key: str
) -> Iterator[Doubt]:
    """The worn depths against one where no ring runs: no wall stands further in there than the bore's lean explains.

    ``lean_mm_per_mm`` is how far the bore may lean against the spindle, ``u_mm`` the standard uncertainty of a reading.
    """
    for ring in worn:
        in_mm = {a: unworn.out_mm[a] - out for a, out in ring.out_mm.items() if a in unworn.out_mm}
        if not in_mm:
            continue
        angle = max(in_mm, key=lambda a: in_mm[a])
        slack = MADE_MM + lean_mm_per_mm * abs(unworn.depth_mm - ring.depth_mm)
        if not beyond(max(0.0, in_mm[angle]), slack, math.sqrt(2.0) * u_mm, APART):
            continue
        yield Doubt(
            key=f"sweep.inside.{cylinder}",
            line=L(
                "Cylinder {n}, {where}: the wall stands {inside} further in at {depth} than at {below}, where no ring runs.",
                n=cylinder,
                where=compass(angle),
                inside=Qty(in_mm[angle], "diff"),
                depth=Qty(ring.depth_mm, "place"),
                below=Qty(unworn.depth_mm, "place"),
            ),
            settle=L("Sweep both depths again, without moving spindle or dial between them."),
            about=tuple((key, _at(cylinder, r.depth)) for r in (ring, unworn)),
        )
        return


def check_smooth(cylinder: int, rings: Sequence[SweptRing], *, u_mm: float, key: str) -> Iterator[Doubt]:
    """Each reading against a curve of two waves through the others of its depth."""
    for ring in rings:
        if len(ring.out_mm) < LEAST_ROUND:
            continue
        angle, off = _odd(ring.out_mm)
        others = [v for a, v in ring.out_mm.items() if a != angle]
        if not beyond(off, SMOOTH_MM + SMOOTH_PART * (max(others) - min(others)), 2.0 * u_mm, APART):
            continue
        yield Doubt(
            key=f"sweep.smooth.{cylinder}",
            line=L(
                "Cylinder {n}, {depth} down, {where}: this reading stands {off} out of the curve of the others.",
                n=cylinder,
                depth=Qty(ring.depth_mm, "place"),
                where=compass(angle),
                off=Qty(abs(off), "diff"),
            ),
            settle=L("Read that place again, sign and turns of the dial with it."),
            about=((key, tuple(sorted({"cylinder": cylinder, "depth": ring.depth, "angle": angle}.items()))),),
        )
        return


def _odd(out_mm: Mapping[int, float]) -> tuple[int, float]:
    """The reading that lies furthest from a curve of two waves through the others, and by how much, mm."""
    found = []
    for angle, value in out_mm.items():
        rest = {a: v for a, v in out_mm.items() if a != angle}
        curve = fit(list(zip(*(_waves(a) for a in rest), strict=True)), list(rest.values()))
        there = curve.middle + math.fsum(
            s * (w - m) for s, w, m in zip(curve.slopes, _waves(angle), curve.means, strict=True)
        )
        found.append((angle, value - there))
    return max(found, key=lambda one: abs(one[1]))


def _waves(angle: float) -> tuple[float, ...]:
    a = math.radians(angle)
    return math.cos(a), math.sin(a), math.cos(2 * a), math.sin(2 * a)


def check_rings_copied(rings: Sequence[tuple[int, SweptRing]], *, key: str) -> Iterator[Doubt]:
    """Depths of one cylinder or another that read the same at every place: one was entered for the other.

    ``rings`` are the readings with their cylinders.
    """
    for (a, one), (b, other) in combinations(rings, 2):
        if len(one.out_mm) < 4 or one.out_mm != other.out_mm or len(set(one.out_mm.values())) < 3:
            continue
        yield Doubt(
            key=f"sweep.copied.{b}",
            line=L(
                "The sweep reads the same all round in cylinder {a} at {one} and in cylinder {b} at {other}.",
                a=a,
                b=b,
                one=Qty(one.depth_mm, "place"),
                other=Qty(other.depth_mm, "place"),
            ),
            settle=L("Sweep one of the two again."),
            about=((key, _at(a, one.depth)), (key, _at(b, other.depth))),
        )
        return


def _at(cylinder: int, depth: int) -> tuple[tuple[str, int | str], ...]:
    return (("cylinder", cylinder), ("depth", depth))
