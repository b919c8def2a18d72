"""Where what was measured after boring and honing contradicts itself: a bore only grows, and two gauges agree."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from logic import after_check, hone_progress, readings_check
from logic.after_check import Stage
from logic.doubt import Doubt
from logic.readings_check import spot
from logic.say import L
from logic.units import convert

from ..fields import bores as worn_fields
from ..fields.cut import MEASURED, PRESENT, SETTING
from ..fields.final import DIVISION, READING, ZERO
from ..fields.hone import BAND, REPEAT, SHARED, SIZE, STROKES
from ..fields.rings import READ_IN
from ..fields.sizes import PISTON
from ..graph import fact
from ..view import View
from .bias import history, logged_pairs
from .final import base_mm, budget, depth_means_mm
from .honing import at_size, checks, keep_mm
from .passes import pass_mm, passes_in_hand, start_mm
from .pistons import clearance_mm, own_piston
from .sizes import finished_mm
from .sleeves import sleeved

__all__ = ["DIALS", "after_doubts"]

#: Units in which a dial is read: a text in another one is a whole size.
DIALS = ("thou", "tenth", "mm", "hundredth", "um")
#: A pass is measured to this, mm, one standard deviation with its temperature (common practice).
_PASS_U_MM = 0.004


@fact
def bored_stages(view: View, cylinder: int) -> tuple[Stage, ...]:
    """The bore before boring and after each pass. A cylinder that takes a sleeve becomes smaller on the way: nothing."""
    if cylinder in sleeved(view):
        return ()
    out = []
    start = start_mm(view, cylinder)
    if start is not None:
        out.append(Stage(L("the bore before boring"), start, 0.008, (spot(PRESENT.key, cylinder=cylinder),)))
    for n in passes_in_hand(view, cylinder):
        size = pass_mm(view, cylinder, n)
        if size is not None:
            about = (spot(MEASURED.key, cylinder=cylinder, **{"pass": n}),)
            out.append(Stage(L("pass {p}", p=n), size, _PASS_U_MM, about))
    return tuple(out)


@fact
def honed_stages(view: View, cylinder: int) -> tuple[Stage, ...]:
    """The bore at each of the hone's gauge checks."""
    out = []
    for check in checks(view, cylinder):
        u = math.hypot(view.number(REPEAT) / math.sqrt(len(check.sizes)), view.number(SHARED))
        about = (spot(SIZE.key, cylinder=cylinder, check=check.number),)
        out.append(Stage(L("hone check {k}", k=check.number), check.mean_mm, max(u, 0.002), about))
    return tuple(out)


@fact
def final_stage(view: View, cylinder: int) -> Stage | None:
    """The finished bore as finally read."""
    means = depth_means_mm(view, cylinder)
    if not means or base_mm(view) is None:
        return None
    about = (spot(READING.key, cylinder=cylinder), spot(ZERO.key))
    return Stage(L("the finished bore"), math.fsum(means) / len(means), budget(view).u_shared, about)


def _stamp(view: View, key: str, cylinder: int, *, first: bool = False) -> str:
    stamps = [v.stamp for v in view.all(key, cylinder=cylinder).values()]
    return (min if first else max)(stamps, default="")


def _stale(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """Final readings from before the last hone check, hone checks from before the last pass."""
    honed, final = _stamp(view, SIZE.key, cylinder), _stamp(view, READING.key, cylinder)
    cut, first = _stamp(view, MEASURED.key, cylinder), _stamp(view, SIZE.key, cylinder, first=True)
    read, grown = L("the final readings"), L("the hone checks")
    return (
        *after_check.check_stale(cylinder, final, honed, read, (spot(READING.key, cylinder=cylinder),)),
        *after_check.check_stale(cylinder, first, cut, grown, (spot(SIZE.key, cylinder=cylinder),)),
    )


@fact
def finished_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """The final readings of a cylinder against the hone, the piston and the rings."""
    final, honed = final_stage(view, cylinder), honed_stages(view, cylinder)
    if final is None:
        return ()
    out: list[Doubt] = []
    if honed and (at_size(view, cylinder) or final.size_mm > honed[-1].size_mm):
        out += after_check.check_final(cylinder, honed[-1], final)
    piston, clearance = own_piston(view, cylinder), clearance_mm(view)
    if piston is not None and clearance is not None:
        out += after_check.check_clearance(cylinder, final, piston[0], clearance, spot(PISTON.key, cylinder=cylinder))
    tried = view.number(READ_IN, cylinder=cylinder)
    if tried is not None:
        about = (spot(READ_IN.key, cylinder=cylinder), *final.about)
        out += after_check.check_ring_bore(cylinder, tried, final.size_mm, final.u_mm, about)
    return tuple(out)


@fact
def grown_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """Every size of a cylinder in the order it was made, and the order in which they were entered."""
    final = final_stage(view, cylinder)
    stages = [*bored_stages(view, cylinder), *honed_stages(view, cylinder), *((final,) if final else ())]
    return (*after_check.check_grows(cylinder, stages), *_stale(view, cylinder))


@fact
def first_cut_doubts(view: View) -> tuple[Doubt, ...]:
    """The first cut of a bar that nothing is known of yet."""
    kept = [row for row in logged_pairs(view) if row[2].kept]
    if not kept or history(view) or kept[0][2].settled:
        return ()
    c, n, pair = kept[0]
    at = {"cylinder": c, "pass": n}
    return tuple(
        after_check.check_first_cut(
            pair.bias_mm,
            pair.name,
            set_mm=pair.set_mm,
            measured_mm=pair.measured_mm,
            about=(spot(MEASURED.key, **at), spot(SETTING.key, **at)),
        )
    )


def _check_u_mm(view: View) -> float:
    return max(view.number(REPEAT), 0.0005)


def _strokes(view: View, cylinder: int) -> Iterator[Doubt]:
    """The strokes of the latest stretch against those that its bore was to get."""
    logged, target = checks(view, cylinder), finished_mm(view, cylinder)
    if target is None or len(logged) < 2 or (len(logged) > 2 and logged[-1].grit != logged[-2].grit):
        return
    told = hone_progress.progress(
        logged[:-1], target, band_mm=view.number(BAND), keep_mm=keep_mm(view, cylinder), u_mm=_check_u_mm(view)
    ).next_strokes
    about = spot(STROKES.key, cylinder=cylinder, check=logged[-1].number)
    if told:
        yield from after_check.check_strokes(cylinder, logged[-1].number, logged[-1].strokes, told, about)


def _bite(view: View, cylinder: int) -> Iterator[Doubt]:
    """What each stretch of the grit in use took off."""
    stretches = [
        (
            L("check {k}", k=now.number),
            now.strokes,
            now.mean_mm - before.mean_mm,
            spot(SIZE.key, cylinder=cylinder, check=now.number),
        )
        for before, now in pairwise(checks(view, cylinder))
        if now.strokes > 0 and now.grit == checks(view, cylinder)[-1].grit and len(now.sizes) == len(before.sizes)
    ]
    sizes = max((len(c.sizes) for c in checks(view, cylinder)), default=1)
    yield from after_check.check_bite(cylinder, stretches, _check_u_mm(view) / math.sqrt(sizes))


@fact
def honing_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """The hone's checks of a cylinder against the last pass, the strokes told, and each other."""
    logged, honed, bored = checks(view, cylinder), honed_stages(view, cylinder), bored_stages(view, cylinder)
    out: list[Doubt] = []
    if honed and passes_in_hand(view, cylinder) and bored and not logged[0].strokes:
        out += after_check.check_bored(cylinder, bored[-1], honed[0])
    out += _strokes(view, cylinder)
    out += _bite(view, cylinder)
    out += _unstroked(view, cylinder, honed)
    return tuple(out)


def _unstroked(view: View, cylinder: int, honed: Sequence[Stage]) -> Iterator[Doubt]:
    """The checks before which no stroke was made, as entered, against the check before each."""
    for (_, before), (check, now) in pairwise(zip(checks(view, cylinder), honed, strict=True)):
        got = view.get(STROKES, cylinder=cylinder, check=check.number)
        if got.entered and not check.strokes:
            about = spot(STROKES.key, cylinder=cylinder, check=check.number)
            yield from after_check.check_unstroked(cylinder, before, now, about)


@fact
def typed_finals(view: View) -> dict[tuple[int, int, str], readings_check.Typing]:
    """How the final readings were typed, by cylinder, depth and axis."""
    out = {}
    for where, value in view.all(READING.key).items():
        at, typed = dict(where), getattr(value.entry, "typed", None)
        if typed is not None and typed.typed_unit in DIALS:
            key = int(at["cylinder"]), int(at["depth"]), str(at["axis"])
            out[key] = readings_check.Typing(typed.text, convert(1.0, typed.typed_unit, "mm"))
    return out


@fact
def final_reading_doubts(view: View) -> tuple[Doubt, ...]:
    """The final readings as typed: finer than the gauge, or one bore's under another's number."""
    typed = typed_finals(view)
    out = list(readings_check.check_page(typed, key=READING.key))
    for field in (
        DIVISION,
        worn_fields.DIVISION,
    ):  # only one that was entered: the one assumed says nothing of this gauge
        stated = view.get(field)
        if stated is not None and stated.entered:
            about = spot(field.key)
            out += readings_check.check_division(
                typed, division_mm=stated.value, key=READING.key, about=about, name="final.division"
            )
            out += readings_check.check_alike(typed, division_mm=stated.value, key=READING.key, about=about)
            break
    return tuple(out)


@fact
def exchanged_doubts(view: View) -> tuple[Doubt, ...]:
    """The final readings under each other's number, by the hone's last checks."""
    final, honed = dict[int, list[float]](), dict[int, list[float]]()
    for c in view.cylinders:
        means, logged = depth_means_mm(view, c), checks(view, c)
        if means and logged and logged[-1].number:
            final[c], honed[c] = list(means), [size for _, size in logged[-1].sizes]
    about = {c: spot(READING.key, cylinder=c) for c in final}
    return tuple(after_check.check_exchanged(final, honed, about=about))


@fact
def after_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about what was measured after the cut."""
    out = [*first_cut_doubts(view), *final_reading_doubts(view), *exchanged_doubts(view)]
    for c in view.cylinders:
        out += [*grown_doubts(view, c), *honing_doubts(view, c), *finished_doubts(view, c)]
    return tuple(out)
