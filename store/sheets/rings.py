"""Ring gaps: what is wanted in the finished bore, and each gap as it was measured."""

from __future__ import annotations

from typing import Any

from logic import rings
from logic.places import place_name
from logic.result import Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.final import depth_means_mm
from ..facts.oversize import chosen_step_mm
from ..facts.rings import ring_duty, ring_heat, ring_limits, rings_of
from ..facts.sizes import finished_mm, opened_mm
from ..fields.rings import (
    COMPRESSION_RINGS,
    FEELER,
    GAP,
    LEAST,
    OIL_RING,
    READ_IN,
    RING_TEMPERATURE,
    SECOND_SHARE,
    TOP_SHARE,
    WALL_TEMPERATURE,
    WIDEST,
    WIDEST_SHARE,
)
from ..fields.sizes import COOLING, DUTY
from ..view import View
from .base import Group, Sheet, Work

__all__ = ["COMPRESSION_RINGS", "GAP", "LEAST", "OIL_RING", "READ_IN", "SHEET", "TOP_SHARE"]


def _ring_places(view: View) -> list[dict[str, Any]]:
    return [{"ring": n} for n, _, _ in rings_of(view)]


def _gap_places(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c, "ring": n} for c in view.cylinders for n, _, _ in rings_of(view)]


def work(view: View) -> Work:
    """The gaps wanted, what the oversize does to a gap, and a verdict on each gap measured."""
    bores = {c: finished_mm(view, c) for c in view.cylinders}
    known = {c: b for c, b in bores.items() if b is not None}
    if not known:
        return Work(blocked=L("Settle the finished bore size first."))
    listed = rings_of(view)
    smallest = min(known.values())
    wanted = rings.wanted_gaps(
        smallest, ring_duty(view), [(name, ring_limits(view, n, role, smallest)) for n, name, role in listed]
    )
    results = [with_assumed(wanted, view, DUTY, COOLING, WIDEST_SHARE)]
    grown = opened_mm(view)
    if chosen_step_mm(view) is not None and grown is not None:
        results.append(rings.opened(grown))
    checks, missing = [], []
    u_mm = rings.feeler_u_mm(view.number(FEELER))
    for cylinder, bore in bores.items():
        for n, name, role in listed:
            measured = view.number(GAP, cylinder=cylinder, ring=n)
            if measured is None:
                if role != "rail":
                    missing.append((GAP.key, {"cylinder": cylinder, "ring": n}))
            elif bore is not None:
                along = depth_means_mm(view, cylinder) or (bore,)
                checks.append(
                    rings.check(
                        cylinder,
                        n,
                        name,
                        measured_mm=measured,
                        u_mm=u_mm,
                        limits=ring_limits(view, n, role, bore),
                        bore_mm=along[0],
                        measured_bore_mm=view.number(READ_IN, cylinder=cylinder),
                        narrowest_mm=min(along),
                        widest_bore_mm=max(along),
                        heat=ring_heat(view, role),
                    )
                )
    if checks:
        results = [with_assumed(rings.summary(checks), view, FEELER), *checks, *results]
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        done=not missing and all(c.verdict == Verdict.GO for c in checks),
        cautions=rings.FILE_CAUTIONS,
    )


SHEET = Sheet(
    key="rings",
    order=13,
    title=L("Ring gaps"),
    purpose=L("Check that every ring has room to grow in the bore it will run in."),
    groups=(
        Group(
            key="duty",
            title=L("The rings"),
            fields=(
                COMPRESSION_RINGS,
                OIL_RING,
                TOP_SHARE,
                SECOND_SHARE,
                WIDEST_SHARE,
                FEELER,
                RING_TEMPERATURE,
                WALL_TEMPERATURE,
            ),
        ),
        Group(
            key="maker",
            title=L("The ring maker's figures"),
            fields=(LEAST, WIDEST),
            places=_ring_places,
            name=place_name,
            help=L("Fill these in where the maker gives them; they win."),
        ),
        Group(
            key="tried_in",
            title=L("Tried in another bore"),
            fields=(READ_IN,),
            places=lambda view: [{"cylinder": c} for c in view.cylinders],
            name=place_name,
        ),
        Group(key="gaps", title=L("Gaps"), fields=(GAP,), places=_gap_places, name=place_name),
    ),
    work=work,
    cautions=rings.FILE_CAUTIONS,
)
