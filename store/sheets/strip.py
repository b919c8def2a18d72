"""Strip down and cover: what has to be so before anything is measured or cut."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import teardown
from logic.cautions import for_sheet
from logic.places import place_name
from logic.result import Assumption, Result, Verdict
from logic.say import L, Line

from ..facts.banks import banks
from ..facts.face import skim_mm
from ..facts.strip import CRACKED, crank_in, flanges_mm, liner_heights_mm, reach, sound, wet
from ..fields.bores import READING
from ..fields.strip import BLOCK, CHECKS, CRACKS, CRANK, FLANGE, FLOOR, HEIGHT, HIGHEST, LOWEST, REACH, RECESS
from ..places import cylinder_places
from ..view import View
from .base import Group, Sheet, Work

__all__ = ["CAUTIONS", "SHEET"]

CAUTIONS = for_sheet("strip")


def _cracked(view: View) -> list[Result]:
    """What a cracked bore means; nothing where none is."""
    if sound(view) != "cracked":
        return []
    return [
        Result(
            key="strip.cracked",
            line=CRACKED,
            verdict=Verdict.STOP,
            assumptions=(Assumption(L("As seen or tested on this block."), "entered"),),
        )
    ]


def _crank(view: View) -> list[Result]:
    """What it means that the crankshaft stays in."""
    if not crank_in(view):
        return []
    return [
        Result(
            key="strip.crank",
            line=L("The crank stays in: cover it, and turn each throw to the bottom before its bore is cut."),
            why=(
                L("Heights of the deck: measure down to the main journals, less half their size."),
                L("Measure the room under each bore, and set a stop for bar and hone."),
            ),
            assumptions=(Assumption(L("The crankshaft stays in the block."), "entered"),),
        )
    ]


def _missing(view: View, heights: Mapping[int, float]) -> tuple[tuple[str, dict[str, Any]], ...]:
    """The checks not yet answered, and the heights of wet liners not yet measured."""
    checks: list[tuple[str, dict[str, Any]]] = [(f.key, {}) for f in CHECKS if view.choice(f) is None]
    unread = [c for c in view.cylinders if c not in heights] if wet(view) else []
    return (*checks, *((HEIGHT.key, {"cylinder": c}) for c in unread))


def work(view: View) -> Work:
    """Whether the block is ready, how far the bar reaches, and how the liners stand."""
    results = [*_cracked(view), teardown.ready([(f.label, view.choice(f)) for f in CHECKS]), *_crank(view)]
    below, heights = reach(view), liner_heights_mm(view)
    if below is not None:
        results.append(below)
    if heights:
        limits = {"low_mm": view.number(LOWEST), "high_mm": view.number(HIGHEST)}
        skims = {c: skim_mm(view, c) for c in heights}
        results.append(teardown.liners(heights, **limits, skims_mm=skims, banks=banks(view)))
    missing = _missing(view, heights)
    if out := flanges_mm(view):
        limits = {"low_mm": view.number(LOWEST), "high_mm": view.number(HIGHEST)}
        results.append(teardown.flanges(out, **limits, skims_mm={c: skim_mm(view, c) for c in out}))
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
        cautions=CAUTIONS,
    )


def _idle(view: View) -> Line | None:
    """Off the path once bores are measured: then it was stripped down."""
    return L("The bores are measured already") if view.all(READING) else None


SHEET = Sheet(
    key="strip",
    order=0,
    title=L("Strip down and cover"),
    purpose=L("Make the block safe and clean to measure, and keep swarf out of what stays in."),
    groups=(
        Group(key="checks", title=L("Ready"), fields=CHECKS),
        Group(key="block", title=L("The block"), fields=(CRANK, CRACKS, BLOCK, REACH, FLOOR)),
        Group(
            key="liners",
            title=L("Wet liners"),
            fields=(HEIGHT, RECESS, FLANGE),
            places=lambda view: cylinder_places(view) if wet(view) else [],
            name=place_name,
        ),
        Group(
            key="limits",
            title=L("Limits of the liners"),
            fields=(LOWEST, HIGHEST),
            places=lambda view: [{}] if wet(view) else [],
        ),
    ),
    work=work,
    minutes=(60, 10),
    idle=_idle,
    cautions=CAUTIONS,
)
