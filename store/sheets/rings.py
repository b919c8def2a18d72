"""Ring gaps: what is wanted in the finished bore, and each gap as it was measured."""

from __future__ import annotations

from typing import Any

from logic import rings
from logic.places import place_name
from logic.result import Result, Verdict
from logic.say import L, Line

from ..assumed import with_assumed
from ..facts.final import depth_means_mm
from ..facts.oversize import chosen_step_mm
from ..facts.pistons import with_duty
from ..facts.rings import ring_duty, ring_heat, ring_limits, rings_of
from ..facts.sizes import finished_sizes_mm, opened_mm
from ..fields.rings import (
    COMPRESSION_RINGS,
    FEELER,
    GAP,
    LEAST,
    OIL_RING,
    OIL_RINGS,
    READ_IN,
    RING_TEMPERATURE,
    SECOND_SHARE,
    TOP_SHARE,
    WALL_TEMPERATURE,
    WIDEST,
    WIDEST_SHARE,
)
from ..fields.sizes import COOLING
from ..view import View
from .base import Group, Sheet, Work
from .gates import waits_for_final

__all__ = ["COMPRESSION_RINGS", "GAP", "LEAST", "OIL_RING", "READ_IN", "SHEET", "TOP_SHARE"]


def _ring_places(view: View) -> list[dict[str, Any]]:
    return [{"ring": n} for n, _, _ in rings_of(view)]


def _gap_places(view: View) -> list[dict[str, Any]]:
    return [{"cylinder": c, "ring": n} for c in view.cylinders for n, _, _ in rings_of(view)]


def _gap(view: View, cylinder: int, ring: tuple[int, Line, str], bore_mm: float) -> rings.RingGap | None:
    """The verdict on one ring's gap in a bore to be finished to ``bore_mm``; None while it is not measured."""
    n, name, role = ring
    measured = view.number(GAP, cylinder=cylinder, ring=n)
    if measured is None:
        return None
    along = depth_means_mm(view, cylinder) or (bore_mm,)
    return rings.check(
        cylinder,
        n,
        name,
        measured_mm=measured,
        u_mm=rings.feeler_u_mm(view.number(FEELER)),
        limits=ring_limits(view, n, role, bore_mm),
        bore_mm=along[0],
        measured_bore_mm=view.number(READ_IN, cylinder=cylinder),
        narrowest_mm=min(along),
        widest_bore_mm=max(along),
        heat=ring_heat(view, role),
    )


def _missing(view: View) -> tuple[tuple[str, dict[str, Any]], ...]:
    """The gaps not measured yet; a rail's is no must."""
    wanted = [n for n, _, role in rings_of(view) if role != "rail"]
    return tuple(
        (GAP.key, {"cylinder": c, "ring": n})
        for c in view.cylinders
        for n in wanted
        if view.number(GAP, cylinder=c, ring=n) is None
    )


def _wanted(view: View, smallest_mm: float) -> list[Result]:
    """The gaps wanted in the smallest bore, and what the oversize does to a gap."""
    limits = [(name, ring_limits(view, n, role, smallest_mm)) for n, name, role in rings_of(view)]
    wanted = rings.wanted_gaps(smallest_mm, ring_duty(view), limits)
    results: list[Result] = [with_duty(with_assumed(wanted, view, COOLING, WIDEST_SHARE), view)]
    grown = opened_mm(view)
    if chosen_step_mm(view) is not None and grown is not None:
        results.append(rings.opened(grown))
    return results


def work(view: View) -> Work:
    """The gaps wanted, what the oversize does to a gap, and a verdict on each gap measured."""
    known = finished_sizes_mm(view)
    if not known:
        return Work(blocked=L("Settle the finished bore size first."))
    listed, results = rings_of(view), _wanted(view, min(known.values()))
    missing = _missing(view)
    checks = [one for c, bore in known.items() for ring in listed if (one := _gap(view, c, ring, bore)) is not None]
    if checks:
        results = [with_assumed(rings.summary(checks), view, FEELER), *checks, *results]
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and len(known) == len(view.cylinders) and all(c.verdict == Verdict.GO for c in checks),
        cautions=rings.FILE_CAUTIONS,
    )


SHEET = Sheet(
    key="rings",
    order=15,
    title=L("Ring gaps"),
    purpose=L("Check that every ring has room to grow in the bore it will run in."),
    groups=(
        Group(
            key="duty",
            title=L("The rings"),
            fields=(
                COMPRESSION_RINGS,
                OIL_RING,
                OIL_RINGS,
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
    minutes=(5, 6),
    waits=waits_for_final,
    cautions=rings.FILE_CAUTIONS,
)
