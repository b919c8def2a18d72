"""Dry sleeves: for the cylinders that get one, the size to bore, the grip, how to fit it, and what is left to finish."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import sleeve
from logic.cautions import for_sheet
from logic.result import Result, Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.block import block_expansion_per_k
from ..facts.oversize import choice
from ..facts.sizes import finished_mm
from ..facts.sleeves import bore_for_sleeve_mm, sleeve_of, sleeved
from ..facts.walls import wall_at
from ..fields.sleeve import (
    BLOCK_LIMIT,
    BLOCK_MODULUS,
    BORED,
    CLEARANCE,
    COLD,
    FRICTION,
    HOTTEST,
    INSIDE,
    LEAST_FIT,
    LEAST_SLEEVE,
    LEAST_STOCK,
    LENGTH,
    MOST_FIT,
    OUTSIDE,
    ROOM,
    SLEEVE_MODULUS,
    WANTED,
)
from ..places import cylinder_places, place_name
from ..view import View
from .base import Group, Sheet, Work

__all__ = ["CAUTIONS", "COLD", "LEAST_FIT", "MOST_FIT", "SHEET", "bore_for_sleeve_mm"]


def _one(view: View, cylinder: int, given: sleeve.Sleeve) -> list[Result]:
    bored = view.number(BORED, cylinder=cylinder)
    size = sleeve.bore_for_sleeve(cylinder, given, bored_mm=bored)
    found = wall_at(view, cylinder, size.aim_mm if size.interference_mm is None else bored)
    wall = None if found is None else found.least.after
    has = size.interference_mm
    grey = sleeve.GREY_IRON
    block = sleeve.Iron(view.number(BLOCK_MODULUS), grey.poisson, block_expansion_per_k(view))
    room = view.number(ROOM)
    cold = view.number(COLD)
    results: list[Result] = [size]
    if found is not None:
        results.append(found)
    fitting = sleeve.fitting(
        cylinder,
        given,
        interference_mm=has,
        drop_clearance_mm=view.number(CLEARANCE),
        room_c=room,
        sleeve_c=None if cold is None else min(cold, room),
        block_limit_c=view.number(HOTTEST),
        block=block,
    )
    finished = finished_mm(view, cylinder)
    if finished is not None:
        grip = sleeve.grip(
            cylinder,
            given,
            wall=wall,
            finished_mm=finished,
            interference_mm=has,
            friction=view.number(FRICTION),
            block=block,
            block_limit_mpa=view.number(BLOCK_LIMIT),
        )
        finishing = sleeve.finishing(
            cylinder,
            given,
            wall=wall,
            finished_mm=finished,
            interference_mm=has,
            least_stock_mm=view.number(LEAST_STOCK),
            least_sleeve_mm=view.number(LEAST_SLEEVE),
            block=block,
        )
        results.append(with_assumed(grip, view, FRICTION, BLOCK_LIMIT))
        results.append(with_assumed(fitting, view, CLEARANCE, ROOM, HOTTEST))
        results.append(with_assumed(finishing, view, LEAST_STOCK, LEAST_SLEEVE))
    else:
        results.append(with_assumed(fitting, view, CLEARANCE, ROOM, HOTTEST))
    return results


def work(view: View) -> Work:
    """The four answers for each sleeved cylinder; done at once where none gets a sleeve."""
    wanted = sleeved(view)
    if not wanted:
        advised = choice(view)
        if advised is None:
            return Work(blocked=L("Measure the worn bores first."))
        return Work(results=(sleeve.none_wanted(tuple(advised.sleeve)),), done=not advised.sleeve)
    results: list[Result] = []
    missing: list[tuple[str, Mapping[str, Any]]] = []
    contradiction = None
    for cylinder in wanted:
        lacking = [f for f in (OUTSIDE, INSIDE) if view.number(f, cylinder=cylinder) is None]
        missing.extend((f.key, {"cylinder": cylinder}) for f in lacking)
        given = sleeve_of(view, cylinder)
        if given is not None:
            results.extend(_one(view, cylinder, given))
            if view.number(BORED, cylinder=cylinder) is None:
                missing.append((BORED.key, {"cylinder": cylinder}))
        elif not lacking:
            contradiction = (
                L(
                    "Cylinder {cylinder}: the sleeve is not larger outside than inside. Measure it again.",
                    cylinder=cylinder,
                )
                if not sleeve.plausible(view.number(OUTSIDE, cylinder=cylinder), view.number(INSIDE, cylinder=cylinder))
                else L("Cylinder {cylinder}: enter the sleeve's length, or the bore's.", cylinder=cylinder)
            )
    judged = [r for r in results if not r.key.startswith("sleeve.fitting")]
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        blocked=contradiction,
        done=not missing and contradiction is None and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in judged),
        cautions=CAUTIONS,
    )


def _sleeved_places(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in sleeved(view)]


CAUTIONS = for_sheet("sleeve")
SHEET = Sheet(
    key="sleeve",
    order=6,
    title=L("Sleeves"),
    purpose=L("Save a cylinder that no oversize cleans up by boring it for a dry sleeve."),
    groups=(
        Group(key="wanted", title=L("Which cylinders"), fields=(WANTED,), places=cylinder_places, name=place_name),
        Group(
            key="sleeve",
            title=L("The sleeve"),
            fields=(OUTSIDE, INSIDE, LENGTH, BORED),
            places=_sleeved_places,
            name=place_name,
        ),
        Group(
            key="fit",
            title=L("The fit"),
            fields=(LEAST_FIT, MOST_FIT, BLOCK_LIMIT, FRICTION, BLOCK_MODULUS, SLEEVE_MODULUS),
        ),
        Group(key="fitting", title=L("Getting it in"), fields=(CLEARANCE, ROOM, COLD, HOTTEST)),
        Group(key="finish", title=L("Finishing it"), fields=(LEAST_STOCK, LEAST_SLEEVE)),
    ),
    work=work,
    cautions=CAUTIONS,
)
