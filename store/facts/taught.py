"""What this job teaches about its machines: the sums that are kept of it for later jobs (see :mod:`logic.job_record`).

Series: "bored.taper", "bored.barrel", "bored.oval", "bored.taper.thrust", "bored.taper.crank" what the bar left; "made.level", "made.taper", "made.barrel",
"made.oval" what the finished bores are, and under the same names with ".noise" the variance the gauge
puts in; "rate.GRIT" logarithm of mm taken off by one double stroke, "strokes.GRIT" the strokes; "honed.taper"
how the hone changed the taper; "passes.over" logarithm of the passes cut in a bore against those planned;
"minutes.STEP" logarithm of minutes for one bore.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, takewhile

from logic.bore_prior import Place
from logic.hone_removal import shape_of
from logic.job_record import Edges, Form, JobRecord, edges_of, form_of, minutes_of
from logic.pooling import Sums, sums

from ..clock import ms_of
from ..fields import bores, cut, final, hone
from ..graph import fact
from ..view import View
from .bias import own_sums
from .final import base_mm, budget, final_spots
from .honing import DEPTHS, checks, checks_logged, depth_mm
from .load import at_bored_size, passes_from_start
from .passes import passes_in_order, passes_logged
from .record import bar_fit, hone_fit
from .sizes import finished_mm
from .stones import stones_used

__all__ = ["bored_axes", "bored_forms", "own_rates", "stretches", "taught"]

_DAY_MS = 86_400_000
#: The fields whose times tell how long a step took at one bore; longest gap and least time, min (common practice).
_TIMED = {
    "bores": ((bores.READING,), 15.0, 0.3),
    "cut": ((cut.SETTING, cut.MEASURED), 60.0, 3.0),
    "hone": ((hone.STROKES, hone.SIZE), 45.0, 2.0),
    "final": ((final.READING,), 15.0, 0.3),
}
#: A stretch of honing counts where it took off this many times the gauge's repeatability.
_CLEAR = 4.0


@fact
def bored_forms(view: View) -> tuple[tuple[float, float | None], ...]:
    """Taper and barrel of each bore as the bar left it: by the hone's first check, made before any stroke."""
    out = []
    for c in view.cylinders:
        before = takewhile(lambda k: not k.strokes, checks(view, c))
        first = next((k for k in before if len(k.sizes) > 1), None)
        found = None if first is None else shape_of(first, view.number(hone.REPEAT))
        if first is not None and found is not None:
            out.append((found.taper_mm, found.bulge_mm if len(first.sizes) > 2 else None))
    return tuple(out)


@fact
def bored_axes(view: View) -> tuple[tuple[float | None, float | None, float | None], ...]:
    """Out-of-round (thrust less crank), taper across and taper along the crank of each bore as the bar left it: by the first
    check where both axes were read before any stroke; None where that was at too few depths."""
    out = []
    for c in view.cylinders:
        first = next((n for n in checks_logged(view, c) if not view.number(hone.STROKES, cylinder=c, check=n)), None)
        places = [] if first is None else _two_axes(view, c, first)
        if places:
            by_axis = {axis: form_of([p for p in places if p.axis == axis]) for axis in ("thrust", "crank")}
            out.append((form_of(places).oval_mm, by_axis["thrust"].taper_mm, by_axis["crank"].taper_mm))
    return tuple(out)


def _two_axes(view: View, cylinder: int, check: int) -> list[Place]:
    """What a check read on both axes, as differences from the first of them."""
    out: list[Place] = []
    base: float | None = None
    for d in range(1, DEPTHS + 1):
        at = {"cylinder": cylinder, "check": check, "depth": d}
        thrust, crank = view.number(hone.SIZE, **at), view.number(hone.ACROSS, **at)
        if thrust is not None and crank is not None:
            base = thrust if base is None else base
            deep = depth_mm(view, d)
            out += [Place(deep, "thrust", thrust - base, 0.0), Place(deep, "crank", crank - base, 0.0)]
    return out


@fact
def made_forms(view: View) -> tuple[Form, ...]:
    """The shape of each finished bore, from its final readings."""
    if base_mm(view) is None:
        return ()
    sure = budget(view)
    own = math.hypot(sure.u_repeat, sure.u_fixed)
    out = []
    for c in view.cylinders:
        target, read = finished_mm(view, c), final_spots(view, c)
        if target is not None and len(read) > 1:
            places = [Place(s.depth_mm, s.axis, s.d_mm - target, own / math.sqrt(s.n)) for s in read]
            out.append(form_of(places, sure.u_shared))
    return tuple(out)


def _some(values: Sequence[float | None]) -> Sums | None:
    there = [v for v in values if v is not None]
    return sums(there) if there else None


def _forms(view: View) -> Iterator[tuple[str, Sums | None]]:
    bored, made = bored_forms(view), made_forms(view)
    yield "bored.taper", _some([t for t, _ in bored])
    yield "bored.barrel", _some([b for _, b in bored])
    axes = bored_axes(view)
    for i, name in enumerate(("oval", "taper.thrust", "taper.crank")):
        yield f"bored.{name}", _some([row[i] for row in axes])
    yield "made.level", _some([f.level_mm for f in made])
    yield "made.level.noise", _some([f.level_var_mm2 for f in made])
    for name in ("taper", "barrel", "oval"):
        read = [f for f in made if getattr(f, f"{name}_mm") is not None]
        yield f"made.{name}", _some([getattr(f, f"{name}_mm") for f in read])
        yield f"made.{name}.noise", _some([getattr(f, f"{name}_var_mm2") for f in read])


@fact
def stretches(view: View, cylinder: int) -> tuple[tuple[str, float, float], ...]:
    """What each grit took off one bore: its name, strokes, and mm on diameter."""
    out: dict[str, tuple[float, float]] = {}
    logged = checks(view, cylinder)
    for before, now in pairwise(logged):
        if now.strokes > 0 and now.grit:
            strokes, off = out.get(now.grit, (0.0, 0.0))
            out[now.grit] = strokes + now.strokes, off + now.mean_mm - before.mean_mm
    return tuple((grit, strokes, off) for grit, (strokes, off) in out.items())


@fact
def own_rates(view: View) -> dict[str, list[float]]:
    """Logarithm of what one double stroke took off each bore, by grit; only where it took off enough to be told."""
    out: dict[str, list[float]] = {}
    clear = _CLEAR * view.number(hone.REPEAT)
    for c in view.cylinders:
        for grit, count, off in stretches(view, c):
            if off > clear:
                out.setdefault(grit, []).append(math.log(off / count))
    return out


def _honed(view: View) -> Iterator[tuple[str, Sums | None]]:
    for grit, values in own_rates(view).items():
        yield f"rate.{grit}", _some(values)
        made = [count for c in view.cylinders for g, count, _ in stretches(view, c) if g == grit]
        yield f"strokes.{grit}", _some(made)
    yield "honed.taper", _some([t for c in view.cylinders for t in _straightened(view, c)])


def _straightened(view: View, cylinder: int) -> tuple[float, ...]:
    """By how much honing changed the taper of one bore."""
    u = view.number(hone.REPEAT)
    logged = [k for k in checks(view, cylinder) if len(k.sizes) > 1]
    if len(logged) < 2:
        return ()
    first, last = shape_of(logged[0], u), shape_of(logged[-1], u)
    return () if first is None or last is None else (last.taper_mm - first.taper_mm,)


def _passes(view: View) -> Iterator[tuple[str, Sums | None]]:
    """The passes that each bored bore took, against those that were planned."""
    over = []
    for c in view.cylinders:
        planned, made = passes_from_start(view, c), len(passes_logged(view, c))
        if planned and made and at_bored_size(view, c):
            over.append(math.log(made / planned))
    yield "passes.over", _some(over)


def _times(view: View) -> Iterator[tuple[str, Sums | None]]:
    for step, (fields, longest, least) in _TIMED.items():
        minutes = []
        for c in view.cylinders:
            stamps = [ms_of(v.stamp) for f in fields for v in view.all(f, cylinder=c).values() if v.entered]
            spent = minutes_of(stamps, longest_min=longest, least_min=least)
            if spent is not None:
                minutes.append(math.log(spent))
        yield f"minutes.{step}", _some(minutes)


@fact
def _day(view: View) -> float:
    """When the job was done, in days since 1970: its latest pass, else its latest reading."""
    latest = max((v.stamp for v in view.all(cut.MEASURED).values()), default="") or view.last_read() or ""
    return round(ms_of(latest) / _DAY_MS, 3)  # as it is written down


@fact
def taught(view: View) -> JobRecord | None:
    """This job's part in the record of its machines; None while it teaches nothing."""
    series: Mapping[str, Sums] = {
        name: found for part in (_forms, _honed, _passes, _times) for name, found in part(view) if found is not None
    }
    edges = edges_of([fresh for _, _, fresh in passes_in_order(view)])
    learned = own_sums(view)
    if learned is None and not series and edges == Edges():
        return None
    return JobRecord(
        job=view.id,
        day=_day(view),
        iron=view.choice(bores.MATERIAL),
        size_mm=view.nominal_mm or 0.0,
        cylinders=len(view.cylinders),
        bar=view.word("bar"),
        hone=view.word("hone"),
        tip=view.choice(cut.EDGE),
        bar_fit=bar_fit(view),
        hone_fit=hone_fit(view),
        bias=learned,
        edges=edges,
        stones=stones_used(view),
        series=series,
    )
