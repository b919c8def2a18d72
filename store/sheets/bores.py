"""Worn bores: gauge, temperatures, depths and the readings themselves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logic import bore
from logic.cautions import for_sheet
from logic.places import place_name
from logic.say import L

from ..assumed import with_assumed
from ..facts.block import block_expansion_per_k
from ..facts.face import bore_lean
from ..facts.gauging import base_mm, budget, cells, depth_mm, depths, division_mm
from ..facts.visit import with_temperatures
from ..facts.worn import wear_side, worn_bores
from ..fields.bores import (
    AXES,
    BAR_SHIFT,
    BLOCK_C,
    BLOCK_U,
    CENTRED,
    CENTRING,
    CROWN,
    DEPTH,
    DEPTHS,
    DIVISION,
    EXPANSION,
    LAST_SIZE,
    LENGTH,
    MASTER_U,
    MATERIAL,
    OFFSET,
    READING,
    REPEAT,
    RING_BOTTOM,
    RING_TOP,
    SIDE,
    SPACING,
    SWEPT_U,
    UNWORN,
    ZERO,
    ZERO_C,
)
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "AXES",
    "BAR_SHIFT",
    "BLOCK_C",
    "BLOCK_U",
    "CAUTIONS",
    "CENTRING",
    "DEPTH",
    "DEPTHS",
    "DIVISION",
    "EXPANSION",
    "LENGTH",
    "MASTER_U",
    "OFFSET",
    "READING",
    "REPEAT",
    "RING_BOTTOM",
    "SHEET",
    "SIDE",
    "SPACING",
    "UNWORN",
    "ZERO",
    "ZERO_C",
    "base_mm",
    "block_expansion_per_k",
    "bore_lean",
    "budget",
    "cells",
    "depth_mm",
    "depths",
    "division_mm",
    "wear_side",
    "worn_bores",
]


def _about(view: View, found: bore.BoreStudy) -> bore.BoreStudy:
    return replace(found, influences=budget(view).shares)


def work(view: View) -> Work:
    """Each measured bore's study, its section, and the cells still empty."""
    if base_mm(view) is None:
        return Work(blocked=L("Enter the nominal bore first: the readings count from it."), cautions=CAUTIONS)
    found = worn_bores(view)
    missing = tuple((READING.key, c) for c in cells(view) if not view.rivals(READING, **c))
    results = []
    for cylinder, worn in found.items():
        study = with_temperatures(bore.study(worn), view, "bore")
        study = with_assumed(_about(view, study), view, MATERIAL, DIVISION, REPEAT)
        results.append(with_assumed(study, view, SIDE, cylinder=cylinder))
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and bool(found),
        pictures=tuple(bore.section(w) for w in found.values()),
        cautions=CAUTIONS,
    )


def _per_cylinder(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in view.cylinders]


def _per_depth(view: View) -> list[dict[str, Any]]:
    return [{"depth": d} for d in depths(view)]


CAUTIONS = for_sheet("bores")
SHEET = Sheet(
    key="bores",
    order=1,
    title=L("Worn bores"),
    purpose=L("Find out how much each bore has worn, where, and on which side."),
    groups=(
        Group(key="readings", title=L("Readings"), fields=(READING,), places=cells, name=place_name),
        Group(
            key="side",
            title=L("Which side wore"),
            fields=(SIDE, OFFSET, BAR_SHIFT, UNWORN),
            places=_per_cylinder,
            name=place_name,
            help=L("A bore worn on one side needs a larger cut than its diameter shows."),
        ),
        Group(
            key="gauge",
            title=L("Gauge and temperatures"),
            fields=(ZERO, BLOCK_C, ZERO_C, MATERIAL, DIVISION, REPEAT, MASTER_U, BLOCK_U, EXPANSION),
        ),
        Group(
            key="grid",
            title=L("Where it is measured"),
            fields=(DEPTHS, AXES, LENGTH, SPACING, RING_TOP, RING_BOTTOM, LAST_SIZE, CROWN),
        ),
        Group(
            key="depths",
            title=L("Depths"),
            fields=(DEPTH,),
            places=_per_depth,
            name=place_name,
            help=L("Read first a little below the top of ring travel: there the wear is greatest."),
        ),
        Group(key="bar", title=L("Where the bar stands"), fields=(CENTRED, CENTRING, SWEPT_U)),
    ),
    work=work,
    minutes=(5, 4),
    apart=True,
    vital=True,
    cautions=CAUTIONS,
)
