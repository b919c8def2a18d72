"""Honing: the plan, the gauge checks as they are made, and the finish."""

from __future__ import annotations

from typing import Any

from logic import finish, hone_plan, hone_progress
from logic.cautions import for_sheet
from logic.result import Result, Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.block import block_expansion_per_k
from ..facts.honing import DEPTHS, at_size, checks, checks_logged, finish_made, progress, ring_face, split, stroke
from ..facts.sizes import finished_mm
from ..fields.hone import (
    ANGLE,
    BAND,
    BELOW_STONES,
    BLOCK_C,
    CLEAR,
    FACE,
    FINISH_U,
    GRIT,
    GRITS,
    LIMITS,
    MEASURED,
    OVERRUN,
    RATE,
    REPEAT,
    SHARED,
    SIZE,
    SPIN,
    STONE,
    STRAIGHT,
    STROKES,
    WARM,
    ZERO_C,
)
from ..places import cylinder_places, of_cylinder, place_name
from ..view import View
from .base import Group, Sheet, Work

__all__ = [
    "BLOCK_C",
    "CLEAR",
    "FACE",
    "GRIT",
    "GRITS",
    "LIMITS",
    "MEASURED",
    "REPEAT",
    "SHARED",
    "SHEET",
    "SIZE",
    "STROKES",
    "WARM",
    "ZERO_C",
    "checks",
    "progress",
    "split",
    "stroke",
]


def _live(view: View, cylinder: int) -> list[Result]:
    """Progress, shape and heat of one cylinder, at its latest check."""
    now = progress(view, cylinder)
    logged = checks(view, cylinder)
    if now is None or not logged:
        return []
    out: list[Result] = [now]
    found = hone_progress.shape(
        logged[-1],
        tolerance_mm=view.number(STRAIGHT),
        u_mm=view.number(REPEAT),
        per_stroke_mm=now.per_stroke_mm,
        sweep_gain=stroke(view).sweep_gain,
        left_mm=now.left_mm,
    )
    if found is not None:
        out.append(found)
    own = view.number(WARM, cylinder=cylinder, check=logged[-1].number)
    if own is not None:
        warm = hone_progress.heat(
            now.stop_mm,
            own,
            block_expansion_per_k(view),
            settled_c=view.number(BLOCK_C),
            master_c=view.number(ZERO_C),
            band_mm=view.number(BAND),
            per_stroke_mm=now.per_stroke_mm,
        )
        # a bore that is cool enough says nothing of its heat, and one at size has no stroke left to stop
        if warm.verdict != Verdict.GO and not at_size(view, cylinder):
            out.append(warm)
    return [of_cylinder(r, cylinder) for r in out]


def work(view: View) -> Work:
    """The bore in hand first, then the others; then the plan: grits, stroke, crosshatch, finish."""
    targets = {c: finished_mm(view, c) for c in view.cylinders}
    known = [c for c, t in targets.items() if t is not None]
    if not known:
        return Work(blocked=L("Choose the oversize and settle the sizes first: then it is known what to hone to."))
    live = {c: _live(view, c) for c in known}
    states = {c: progress(view, c) for c in known}
    latest = {c: max((v.stamp for v in view.all(SIZE, cylinder=c).values()), default="") for c in known}
    finished = [c for c in known if at_size(view, c)]
    order = sorted((c for c in known if c not in finished), key=lambda c: latest[c], reverse=True) + finished
    results: list[Result] = [r for c in order for r in live[c]]
    finishes = {c: f for c in known if (f := finish_made(view, c)) is not None}
    results += [of_cylinder(f, c) for c, f in finishes.items()]
    plans = {c: plan for c in known if (plan := split(view, c)) is not None}
    results += [of_cylinder(plan, c) for c, plan in plans.items()]
    run = stroke(view)
    results.append(with_assumed(run, view, STONE, BELOW_STONES))
    if run.stroke_mm > 0:
        results.append(
            with_assumed(
                hone_plan.crosshatch(
                    targets[known[0]],
                    view.number(SPIN),
                    run.stroke_mm,
                    view.number(RATE),
                    wanted_deg=view.number(ANGLE),
                ),
                view,
                SPIN,
                RATE,
            )
        )
    results.append(finish.target(ring_face(view)))
    missing = tuple(
        (SIZE.key, {"cylinder": c, "check": 1, "depth": d})
        for c in known
        for d in range(1, DEPTHS + 1)
        if not checks(view, c)
    )
    done = (
        len(known) == len(targets) and finished == known and all(f.verdict != Verdict.STOP for f in finishes.values())
    )
    return Work(
        results=tuple(results),
        missing=missing,
        done=done,
        pictures=tuple(p.picture for c in order if (p := states[c]) is not None and p.picture is not None),
    )


def _check_places(view: View) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = checks_logged(view, c)
        out += [{"cylinder": c, "check": n} for n in [*logged, max(logged, default=0) + 1]]
    return out


def _size_places(view: View) -> list[dict[str, Any]]:
    return [{**at, "depth": d} for at in _check_places(view) for d in range(1, DEPTHS + 1)]


SHEET = Sheet(
    key="hone",
    order=11,
    title=L("Honing"),
    purpose=L("Bring each bore to size, straight and with the right marks, and stop in time."),
    groups=(
        Group(
            key="sizes",
            title=L("Gauge checks"),
            fields=(SIZE,),
            places=_size_places,
            name=place_name,
            grows=True,
            help=L(
                "Check 1 is the bored size, before any stroke. Depth 1 is near the top, 2 the middle, 3 near the bottom."
            ),
        ),
        Group(
            key="strokes",
            title=L("Strokes before each check"),
            fields=(STROKES, GRIT, WARM),
            places=_check_places,
            name=place_name,
            grows=True,
        ),
        Group(key="target", title=L("What is wanted"), fields=(FACE, BAND, STRAIGHT, ANGLE, *GRITS)),
        Group(key="hone", title=L("The hone and the stroke"), fields=(SPIN, RATE, STONE, BELOW_STONES, CLEAR, OVERRUN)),
        Group(key="doubt", title=L("The gauge and the block"), fields=(REPEAT, SHARED, BLOCK_C, ZERO_C)),
        Group(
            key="finish",
            title=L("Finish measured"),
            fields=tuple(MEASURED.values()),
            places=cylinder_places,
            name=place_name,
        ),
        Group(key="limits", title=L("The ring maker's finish"), fields=(*LIMITS.values(), FINISH_U)),
    ),
    work=work,
    cautions=for_sheet("hone"),
)
