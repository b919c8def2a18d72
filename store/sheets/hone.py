"""Honing: the plan, the gauge checks as they are made, and the finish."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from logic import finish, hone_care, hone_plan, hone_progress, material, record_told
from logic.cautions import for_sheet
from logic.result import Result, Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.block import block_expansion_per_k
from ..facts.final import allowed_mm
from ..facts.honing import (
    DEPTHS,
    at_size,
    checks,
    checks_logged,
    finish_made,
    grit_in_use,
    next_entry,
    progress,
    ring_face,
    split,
    stroke,
    two_axes_mm,
    whole_check,
)
from ..facts.material import stones_life
from ..facts.record_doubts import expected_rate
from ..facts.sizes import finished_sizes_mm
from ..facts.stones import stones_used
from ..facts.visit import block_now_c, master_now_c
from ..fields.final import ROUND
from ..fields.hone import (
    ACROSS,
    ANGLE,
    BAND,
    BELOW_STONES,
    BLOCK_C,
    CLEAR,
    FACE,
    FINISH_U,
    FLUID,
    GRIT,
    GRITS,
    LIMITS,
    MEASURED,
    OVERRUN,
    PLATE,
    RATE,
    REPEAT,
    SET,
    SHARED,
    SIZE,
    SPIN,
    STONE,
    STRAIGHT,
    STROKES,
    WARM,
    ZERO_C,
)
from ..fields.record import HONE_FIT
from ..places import cylinder_places, of_cylinder, place_name
from ..view import View
from .base import Group, Sheet, Work
from .gates import hone_may_cut, waits_for_bar

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
    forecast = _forecast(view, cylinder, now)
    if forecast is not None:
        out.append(forecast)
    found = None
    if whole_check(view, cylinder, logged[-1].number):
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
    pairs = two_axes_mm(view, cylinder)
    own = view.number(WARM, cylinder=cylinder, check=logged[-1].number)
    if own is not None:
        warm = hone_progress.heat(
            now.stop_mm,
            own,
            block_expansion_per_k(view),
            settled_c=block_now_c(view, "hone"),
            master_c=master_now_c(view, "hone"),
            band_mm=view.number(BAND),
            per_stroke_mm=now.per_stroke_mm,
        )
        # a bore that is cool enough says nothing of its heat, and one at size has no stroke left to stop
        if warm.verdict != Verdict.GO and not at_size(view, cylinder):
            out.append(warm)
    told = [of_cylinder(r, cylinder) for r in out]
    if pairs:
        limit, u = allowed_mm(view, ROUND), view.number(REPEAT)
        told.append(hone_care.roundness(cylinder, pairs, limit_mm=limit, u_mm=u))
    return told


def _forecast(view: View, cylinder: int, now: hone_progress.Progress) -> Result | None:
    """Strokes and time still to go with the grit in use, by the hone's record and this bore's checks."""
    left, grit = now.left_mm, grit_in_use(view, cylinder)
    known = None if grit is None else expected_rate(view, grit)
    if known is None or grit is None or left is None or left <= 0.0 or now.verdict != Verdict.INFO:
        return None
    own = None if now.per_stroke_mm is None or not now.u_per_stroke_mm else (now.per_stroke_mm, now.u_per_stroke_mm)
    found = record_told.strokes_left(left, known[0], own)
    return record_told.strokes(
        left, grit, found, known[1], per_minute=view.number(RATE), checked=own is not None and own[0] > 0.0
    )


def _in_hand_first(view: View, cylinders: Iterable[int]) -> list[int]:
    """The bore checked last comes first; those at size come after all others."""

    def latest(cylinder: int) -> str:
        return max((v.stamp for v in view.all(SIZE, cylinder=cylinder).values()), default="")

    waiting = [c for c in cylinders if not at_size(view, c)]
    return sorted(waiting, key=latest, reverse=True) + [c for c in cylinders if at_size(view, c)]


def _finishes(view: View, cylinders: Iterable[int]) -> list[finish.Finish]:
    """The finish of each bore in which it was measured."""
    return [of_cylinder(made, c) for c in cylinders if (made := finish_made(view, c)) is not None]


def _care(view: View) -> list[Result]:
    """What was said of the torque plate and of what the stones run in."""
    on, wet = view.choice(PLATE), view.choice(FLUID)
    return [*([] if on is None else [hone_care.plate(on)]), *([] if wet is None else [hone_care.fluid(wet)])]


def _sets(view: View) -> list[Result]:
    """What the sets of stones have done, where a fresh one was put in."""
    out = []
    for grit, used in stones_used(view).items():
        if used.fresh or len(used.taken_cm3) > 1:
            life = stones_life(view, grit)
            out.append(material.set_use(grit, used, life.life, life.rests_on))
    return out


def _strokes(view: View, bore_mm: float) -> list[Result]:
    """The stroke, and the crosshatch it makes in a bore of ``bore_mm``."""
    run = stroke(view)
    results: list[Result] = [with_assumed(run, view, STONE, BELOW_STONES)]
    if run.stroke_mm > 0:
        hatch = hone_plan.crosshatch(
            bore_mm, view.number(SPIN), run.stroke_mm, view.number(RATE), wanted_deg=view.number(ANGLE)
        )
        results.append(with_assumed(hatch, view, SPIN, RATE))
    return results


def _plans(view: View, cylinders: Iterable[int]) -> list[Result]:
    """How the stock of each bore is shared between the grits."""
    return [of_cylinder(plan, c) for c in cylinders if (plan := split(view, c)) is not None]


def _missing(view: View, cylinders: Iterable[int]) -> tuple[tuple[str, dict[str, Any]], ...]:
    """What is logged first in each bore that was never checked."""
    asked = (next_entry(view, c) for c in cylinders if not checks_logged(view, c))
    return tuple((key, dict(at)) for key, at in filter(None, asked))


def _pictures(view: View, cylinders: Iterable[int]) -> tuple[Any, ...]:
    """How the honing of each bore went."""
    states = (progress(view, c) for c in cylinders)
    return tuple(now.picture for now in states if now is not None and now.picture is not None)


def _all_done(view: View, targets: Mapping[int, float], finishes: Iterable[Result]) -> bool:
    """Whether every cylinder is at size, and every finish measured is in."""
    at_last = len(targets) == len(view.cylinders) and all(at_size(view, c) for c in targets)
    return at_last and all(f.verdict in (Verdict.GO, Verdict.INFO) for f in finishes)


def work(view: View) -> Work:
    """The bore in hand first, then the others; then the plan: grits, stroke, crosshatch, finish."""
    targets = finished_sizes_mm(view)
    if not targets:
        return Work(blocked=L("Choose the oversize and settle the sizes first: they say what to hone to."))
    order, finishes = _in_hand_first(view, targets), _finishes(view, targets)
    return Work(
        results=(
            *(r for c in order for r in _live(view, c)),
            *finishes,
            *_plans(view, targets),
            *_strokes(view, next(iter(targets.values()))),
            finish.target(ring_face(view)),
            *_care(view),
            *_sets(view),
        ),
        missing=_missing(view, targets),
        done=_all_done(view, targets, finishes),
        pictures=_pictures(view, order),
    )


def _check_places(view: View) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = checks_logged(view, c)
        more = [] if at_size(view, c) else [max(logged, default=0) + 1]
        out += [{"cylinder": c, "check": n} for n in [*logged, *more]]
    return out


def _size_places(view: View) -> list[dict[str, Any]]:
    return [{**at, "depth": d} for at in _check_places(view) for d in range(1, DEPTHS + 1)]


SHEET = Sheet(
    key="hone",
    order=12,
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
            key="across",
            title=L("Second axis"),
            fields=(ACROSS,),
            places=_size_places,
            name=place_name,
            grows=True,
            help=L("Where both are read, the sizes above are those across the crank."),
        ),
        Group(
            key="strokes",
            title=L("Strokes before each check"),
            fields=(STROKES, GRIT, SET, WARM),
            places=_check_places,
            name=place_name,
            grows=True,
        ),
        Group(key="target", title=L("What is wanted"), fields=(FACE, BAND, STRAIGHT, ANGLE, *GRITS, PLATE, FLUID)),
        Group(
            key="record",
            title=L("The machine's record"),
            fields=(HONE_FIT,),
            help=L("What the hone took off in earlier jobs, from its kit card."),
        ),
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
    minutes=(10, 15),
    waits=waits_for_bar,
    gate=hone_may_cut,
    next_at=next_entry,
    finished=at_size,
    vital=True,
    cautions=for_sheet("hone"),
)
