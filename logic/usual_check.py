"""Limits and factors of one's own against what is usual: a slip in a limit lets every bore through.

What is usual, and how far from it is asked about, is common practice, no source; each row's
bounds leave room for what a careful hand may want.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from .doubt import DIGITS, Doubt, Place
from .say import L, Line, Qty

__all__ = [
    "ROWS",
    "Row",
    "check_band",
    "check_expansion",
    "check_gasket",
    "check_largest",
    "check_thrust",
    "check_usual",
]


class Row(NamedTuple):
    """What is usual for a field, and the bounds beyond which it is asked about (None: none), in the field's logic unit."""

    usual: float
    low: float | None = None
    high: float | None = None


ROWS: Mapping[str, Row] = {
    "final.over": Row(0.0127, high=0.05),
    "final.under": Row(0.0127, high=0.05),
    "final.round": Row(0.0127, high=0.05),
    "final.taper": Row(0.0127, high=0.05),
    "final.confidence": Row(0.95, low=0.9),
    "hone.band": Row(0.0065, high=0.026),
    "hone.ra_low": Row(0.3, low=0.05),
    "hone.rk_low": Row(0.6, low=0.1),
    "hone.rvk_low": Row(1.0, low=0.2),
    "hone.ra_high": Row(0.7, high=2.0),
    "hone.rpk_high": Row(0.35, high=1.2),
    "hone.rk_high": Row(1.2, high=4.0),
    "hone.rvk_high": Row(2.2, high=7.0),
    "hone.straight": Row(0.0065, high=0.026),
    "fitting.band": Row(0.0127, high=0.045),
    "fitting.spread": Row(5.0, high=20.0),
    "oversize.hone_allow": Row(0.0508, high=0.13),
    "oversize.confidence": Row(0.95, low=0.9),
    "clamp.friction": Row(0.15, high=0.25),
    "clamp.safety": Row(2.0, low=1.5),
    "clamp.nut_factor": Row(0.2, low=0.12, high=0.32),
    "wall.minimum": Row(3.0, low=1.5),
    "wall.minimum_thrust": Row(3.0, low=1.5),
    "sleeve.least_wall": Row(1.5, low=0.75),
    "sleeve.block_limit": Row(60.0, high=90.0),
    "sleeve.clearance": Row(0.05, low=0.025, high=0.2),
    "sleeve.least_stock": Row(0.4, low=0.15),
    "sleeve.room": Row(20.0, low=-5.0, high=38.0),
    "sleeve.hottest": Row(120.0, high=180.0),
    "sizes.hone_stock": Row(0.0762, low=0.03, high=0.14),
    "cut.feed": Row(0.1, low=0.045, high=0.3),
    "cut.wear": Row(1.4, low=1.15, high=2.5),
    "cut.largest": Row(0.762, high=1.6),
    "cut.least_hone": Row(0.025, low=0.0125, high=0.12),
    "face.skim": Row(0.1, low=0.03, high=0.6),
    "face.limit": Row(0.05, high=0.2),
    "chamfer.width": Row(0.75, low=0.3, high=1.2),
    "chamfer.angle": Row(45.0, low=14.0, high=61.0),
    "chamfer.tolerance": Row(0.1, high=0.26),
    "compression.least_gap": Row(1.0, low=0.4),
    "compression.taller": Row(0.0, low=-1.5, high=1.5),
    "compression.gasket": Row(1.2, low=0.25, high=2.0),
    "compression.gasket_new": Row(1.2, low=0.25, high=2.0),
    "rings.top_share": Row(0.004, low=0.002, high=0.01),
    "rings.second_share": Row(0.0045, low=0.002, high=0.012),
    "rings.widest_share": Row(0.008, high=0.016),
}

#: An upper limit of the finish is hardly ever more than so many times the lower one beside it.
BAND_TIMES = 8.0
#: A maker allows a bore to be rebored by no more than the larger of these: mm, and as a share of the nominal bore.
LARGEST_MM, LARGEST_SHARE = 2.2, 0.02
#: A new gasket is no thicker than the old by more than this, mm, unless that is wanted.
GASKET_MM = 0.15
#: A stated expansion lies within this part of its material's.
EXPANSION_PART = 0.25


def check_usual(key: str, what: Line, stated: float, kind: str, *, about: Place) -> Iterator[Doubt]:
    """A limit or factor as entered against what is usual; nothing for a field that has no row."""
    row = ROWS.get(key)
    if row is None or not ((row.low is not None and stated < row.low) or (row.high is not None and stated > row.high)):
        return
    yield Doubt(
        key=f"usual.{key}",
        line=L(
            "{what}: {stated}, where about {usual} is usual.",
            what=what,
            stated=Qty(stated, kind),
            usual=Qty(row.usual, kind),
        ),
        settle=DIGITS,
        about=(about,),
    )


def check_expansion(
    stated_per_k: float, material_per_k: float, material: Line, *, about: tuple[Place, ...]
) -> Iterator[Doubt]:
    """A stated expansion against that of the material chosen."""
    if abs(stated_per_k / material_per_k - 1.0) <= EXPANSION_PART:
        return
    yield Doubt(
        key="expansion",
        line=L(
            "Expansion {stated}, but {material} expands by {usual}.",
            stated=Qty(stated_per_k, "expansion"),
            material=material,
            usual=Qty(material_per_k, "expansion"),
        ),
        settle=L("Check the figure, and what the block is made of."),
        about=about,
    )


def check_band(what: Line, low: float, high: float, kind: str, *, about: tuple[Place, ...]) -> Iterator[Doubt]:
    """A lower limit that stands unusually far below the upper one: with a digit astray it lets every value through."""
    if low <= 0.0 or high <= BAND_TIMES * low:
        return
    yield Doubt(
        key=f"band.{about[0][0]}",
        line=L(
            "{what}: {low}, with {high} at most. So wide a band is unusual.",
            what=what,
            low=Qty(low, kind),
            high=Qty(high, kind),
        ),
        settle=DIGITS,
        about=about,
    )


def check_largest(largest_mm: float, nominal_mm: float, *, about: tuple[Place, ...]) -> Iterator[Doubt]:
    """The largest bore allowed against the nominal one."""
    if largest_mm - nominal_mm <= max(LARGEST_MM, LARGEST_SHARE * nominal_mm):
        return
    yield Doubt(
        key="largest.over",
        line=L(
            "The largest bore allowed is {largest}: {over} over the nominal bore, which is unusual.",
            largest=Qty(largest_mm, "size"),
            over=Qty(largest_mm - nominal_mm, "diff"),
        ),
        settle=L("Check both in the maker's book, or say that it is right."),
        about=about,
    )


def check_thrust(least_mm: float, thrust_mm: float, *, about: tuple[Place, ...]) -> Iterator[Doubt]:
    """The least wall on the thrust side, which carries more, against the least elsewhere."""
    if thrust_mm >= least_mm:
        return
    yield Doubt(
        key="wall.thrust_less",
        line=L(
            "The thrust side may keep {thrust} of wall, and the others {least}. The thrust side carries more.",
            thrust=Qty(thrust_mm, "wall"),
            least=Qty(least_mm, "wall"),
        ),
        settle=L("Check both, or say that it is right."),
        about=about,
    )


def check_gasket(old_mm: float, new_mm: float, *, about: tuple[Place, ...]) -> Iterator[Doubt]:
    """A new gasket that is thicker than the old one makes room over the piston that may not be there."""
    if new_mm - old_mm <= GASKET_MM:
        return
    yield Doubt(
        key="gasket.thicker",
        line=L(
            "The new gasket is {new} thick, the old one {old}.",
            new=Qty(new_mm, "diff"),
            old=Qty(old_mm, "diff"),
        ),
        settle=L("Check that a thicker gasket is wanted, and its digits."),
        about=about,
    )
