"""Limits and factors of one's own against what is usual: a slip in a limit lets every bore through.

What is usual, and how far from it is asked about, is common practice, no source; each row's
bounds leave room for what a careful hand may want.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = ["ROWS", "Row", "check_expansion", "check_usual"]


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
    "sleeve.block_limit": Row(60.0, high=120.0),
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
        settle=L("Check its unit and its digits, or say that it is right."),
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
