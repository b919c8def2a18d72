"""A figure against the one that stands beside it: two axes of one bore, a warm bore and its block, the grades of one list.

How far two such figures lie apart in careful work is common practice, no source, unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from .doubt import DIGITS, Doubt, Place
from .finish import PEAKS, VALLEYS_FROM, implied_ra_um
from .say import LN, L, Line, Qty

__all__ = [
    "check_axes",
    "check_cold",
    "check_grades",
    "check_offset",
    "check_present",
    "check_skim",
    "check_sleeved",
    "check_stiffness",
    "check_trace",
    "check_warm",
]

#: A bore under the hone is round within this, mm.
AXES_MM = 0.06
#: The size before boring lies within this of the unworn bore by the readings, mm.
PRESENT_MM = 0.05
#: A bore just cut or honed is hardly colder than its block by more than this, nor warmer than by the other, K.
COLDER_K, CUT_K, HONED_K = 4.0, 25.0, 45.0
#: What a sleeve is cooled with, and how cold it then is, °C: coldest and warmest. Dry ice sublimes at −78.5, nitrogen
#: boils at −195.8 (both at one atmosphere, from memory).
COLDS_C = ((-35.0, 40.0), (-79.5, -50.0), (-196.0, -185.0))
#: The stiffness of what blocks and sleeves are made of, MPa: aluminium, grey to ductile iron, steel (from memory).
STIFF_MPA = ((65e3, 78e3), (85e3, 180e3), (190e3, 215e3))
#: The block's stiffness as stated lies within this part of its material's: grey irons differ by a third.
STIFF_PART = 0.4
#: The widths of the grades of one list are alike within this part; their limits meet within so much, mm.
WIDTH_PART, MEET_MM = 0.5, 0.006
#: An offset may be so much over half the wear, mm.
OFFSET_MM = 0.02
#: The mean roughness lies within this factor of what peaks, core and valleys make it: the profile's shape is not known.
TRACE_FACTOR = 1.4
#: A skim as taken lies within this of the one planned, mm.
SKIM_MM = 0.1


def check_axes(
    cylinder: int, depth: int, across_mm: float, along_mm: float, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The two axes of a bore at one depth of a hone check."""
    if abs(across_mm - along_mm) <= AXES_MM:
        return
    yield Doubt(
        key=f"axes.{cylinder}.{depth}",
        line=L(
            "Cylinder {c}, depth {d}: {across} across the crank, but {along} along it.",
            c=cylinder,
            d=depth,
            across=Qty(across_mm, "size"),
            along=Qty(along_mm, "size"),
        ),
        settle=L("Read both axes there again."),
        about=tuple(about),
    )


def check_warm(
    cylinder: int, name: Line, warm_c: float, block_c: float, most_k: float, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """How warm a bore was at a pass or a check, ``name``, against its block at rest; at most ``most_k`` warmer."""
    if -COLDER_K <= warm_c - block_c <= most_k:
        return
    yield Doubt(
        key=f"warm.{about[0][0]}.{cylinder}",
        line=L(
            "Cylinder {c}, {name}: the bore at {warm}, the block at {block}.",
            c=cylinder,
            name=name,
            warm=Qty(warm_c, "temperature"),
            block=Qty(block_c, "temperature"),
        ),
        settle=L("Check the thermometer's scale, and both temperatures."),
        about=tuple(about),
    )


def check_present(cylinder: int, present_mm: float, unworn_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The size before boring against the unworn bore by the readings, both at 20 °C."""
    if abs(present_mm - unworn_mm) <= PRESENT_MM:
        return
    yield Doubt(
        key=f"present.{cylinder}",
        line=L(
            "Cylinder {c}: {present} before boring, but {unworn} by the worn bore's readings.",
            c=cylinder,
            present=Qty(present_mm, "size"),
            unworn=Qty(unworn_mm, "size"),
        ),
        settle=L("Measure it again where it is least worn."),
        about=tuple(about),
    )


def check_offset(cylinder: int, offset_mm: float, wear_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """How far a worn bore's centre lies off, or the bar is set over, against its wear on diameter.

    Wear all on one side moves the centre by half of it (geometry), and more it cannot.
    """
    if offset_mm <= wear_mm / 2 + OFFSET_MM:
        return
    yield Doubt(
        key=f"offset.{cylinder}.{about[0][0]}",
        line=L(
            "Cylinder {c}: {offset} off centre, with {wear} of wear. Half the wear is the most.",
            c=cylinder,
            offset=Qty(offset_mm, "diff"),
            wear=Qty(wear_mm, "diff"),
        ),
        settle=L("Enter half the difference from side to side, and check its unit."),
        about=tuple(about),
    )


def check_cold(cold_c: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """How cold a sleeve is made, against what makes it so cold."""
    if any(low <= cold_c <= high for low, high in COLDS_C):
        return
    yield Doubt(
        key="sleeve.cold",
        line=L("A sleeve at {cold}: no freezer, dry ice or nitrogen gives that.", cold=Qty(cold_c, "temperature")),
        settle=L("Check the figure, its minus and its scale."),
        about=tuple(about),
    )


def check_stiffness(
    what: Line, stated_mpa: float, material_mpa: float | None, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """A stated stiffness against the material's; a sleeve's (None) against what sleeves are made of."""
    if material_mpa is None:
        fits = any(low <= stated_mpa <= high for low, high in STIFF_MPA[1:])
    else:
        fits = abs(stated_mpa / material_mpa - 1.0) <= STIFF_PART
    if fits:
        return
    yield Doubt(
        key=f"stiffness.{about[0][0]}",
        line=L("{what}: {stated}, which is unusual.", what=what, stated=Qty(stated_mpa, "modulus")),
        settle=DIGITS,
        about=tuple(about),
    )


def check_trace(
    cylinder: int, ra_um: float, rpk_um: float, rk_um: float, rvk_um: float, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The mean roughness against what the peaks, the core and the valleys of the same trace make it."""
    found = [implied_ra_um(rpk_um, rk_um, rvk_um, mr1=mr1, mr2=mr2) for mr1 in PEAKS for mr2 in VALLEYS_FROM]
    low, high = min(found), max(found)
    if low / TRACE_FACTOR <= ra_um <= high * TRACE_FACTOR:
        return
    yield Doubt(
        key=f"trace.{cylinder}",
        line=L(
            "Cylinder {n}: an Ra of {ra} does not go with these Rpk, Rk and Rvk, which make it {low} to {high}.",
            n=cylinder,
            ra=Qty(ra_um, "rough"),
            low=Qty(low, "rough"),
            high=Qty(high, "rough"),
        ),
        settle=L("Read the four figures off the instrument again."),
        about=tuple(about),
    )


def check_grades(
    grades: Sequence[tuple[int, str, float, float]], *, about: dict[int, tuple[Place, Place]]
) -> Iterator[Doubt]:
    """The grades of one list, each with its row, name, and limits in mm: alike in width, and each begins where one ends."""
    if len(grades) < 2:
        return
    ranked = sorted(grades, key=lambda g: g[2] + g[3])
    widths = sorted(high - low for _, _, low, high in ranked)
    middle = widths[len(widths) // 2]
    for (a, one, _, top), (b, other, bottom, _) in pairwise(ranked):
        if abs(bottom - top) > MEET_MM:
            yield Doubt(
                key=f"grades.{a}.{b}",
                line=L(
                    "Grade {one} ends at {top}, and grade {other} begins at {bottom}.",
                    one=one,
                    top=Qty(top, "size"),
                    other=other,
                    bottom=Qty(bottom, "size"),
                ),
                settle=L("Read both in the maker's list again."),
                about=(*about[a], *about[b]),
            )
            return
    for row, name, low, high in ranked:
        if abs((high - low) - middle) > WIDTH_PART * middle + 0.001:
            yield Doubt(
                key=f"grades.{row}",
                line=L(
                    "Grade {name} is {width} wide, where {middle} is usual in this list.",
                    name=name,
                    width=Qty(high - low, "fine"),
                    middle=Qty(middle, "fine"),
                ),
                settle=L("Read its limits in the maker's list again."),
                about=about[row],
            )
            return


def check_skim(taken_mm: float, planned_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The skim as taken against the one that the deck's heights asked for."""
    if abs(taken_mm - planned_mm) <= SKIM_MM:
        return
    yield Doubt(
        key="skim",
        line=L(
            "A skim of {taken} was entered, but the heights ask for {planned}.",
            taken=Qty(taken_mm, "diff"),
            planned=Qty(planned_mm, "diff"),
        ),
        settle=DIGITS,
        about=tuple(about),
    )


def check_sleeved(marked: Sequence[int], needed: Sequence[int], *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The cylinders marked for a sleeve against those that no oversize cleans up: one of these is left out."""
    rest = tuple(c for c in needed if c not in marked)
    if not marked or not rest:
        return
    yield Doubt(
        key="sleeve.unmarked",
        line=LN(
            "No oversize cleans up cylinder {rest}. Marked for a sleeve: {marked}.",
            "No oversize cleans up cylinders {rest}. Marked for a sleeve: {marked}.",
            len(rest),
            rest=rest,
            marked=tuple(marked),
        ),
        settle=L("Check which cylinders get a sleeve."),
        about=tuple(about),
    )
