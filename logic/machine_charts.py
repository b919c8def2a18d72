"""The record of a machine as charts: bias, taper, edge life, removal, a gauge's checks; each with one sentence.

A value that jumps or creeps is named with the day it began (:mod:`logic.control_chart`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from .bar_bias import ASSUMED_SPREAD_MM
from .cards import Check
from .control_chart import BASE_POINTS, Chart, chart
from .job_record import JobRecord
from .machine_effects import bar_effects, hone_effects
from .machine_record import (
    Series,
    bar_model,
    basis,
    chart_of,
    date_of,
    edge_model,
    grits_of,
    hone_model,
    minutes_model,
    shape_model,
    stone_model,
)
from .pictures import BoreSection, ControlChart
from .pooling import predict
from .record_told import from_record
from .result import Result, Verdict
from .say import LN, L, Line, Qty

__all__ = ["Charted", "bar_charts", "gauge_chart", "hone_charts"]

_Value = Callable[[float], float]


class Charted(NamedTuple):
    """One chart: what it says, the picture (None while there are too few points), and the jobs it rests on."""

    result: Result
    picture: ControlChart | BoreSection | None
    jobs: tuple[str, ...]


def _same(x: float) -> float:
    return x


def _picture(title: Line, text: Line, kind: str, found: Chart, days: Sequence[str], value: _Value) -> ControlChart:
    return ControlChart(
        title=title,
        text=text,
        kind=kind,
        middle=value(found.middle),
        points=tuple(
            (day, value(v), value(found.middle - r), value(found.middle + r))
            for day, v, r in zip(days, found.points, found.reach, strict=True)
        ),
        average=tuple(
            (value(a), value(found.middle - r), value(found.middle + r))
            for a, r in zip(found.average, found.average_reach, strict=True)
        ),
        beyond=found.jumps,
        since=found.drift_from,
    )


def _said(
    title: Line, kind: str, found: Chart, days: Sequence[str], value: _Value
) -> tuple[str, Line, tuple[Line, ...]]:
    """The verdict, the sentence and the reasons of a chart."""
    last = len(found.points) - 1
    look = L(
        "Look for what changed: insert, stones, oil, base, bearing, a knock. Then say so in the job where it began."
    )
    if found.drift_from is not None:
        return (
            Verdict.MAYBE,
            L(
                "{what}: has crept from {usual} to {now} since {day}.",
                what=title,
                usual=Qty(value(found.middle), kind),
                now=Qty(value(found.middle + found.drift), kind),
                day=days[found.drift_from],
            ),
            (look,),
        )
    if last in found.jumps:
        return (
            Verdict.MAYBE,
            L(
                "{what}: {now} on {day} is out of the ordinary; usual is {usual}.",
                what=title,
                now=Qty(value(found.points[last]), kind),
                day=days[last],
                usual=Qty(value(found.middle), kind),
            ),
            (look,),
        )
    line = L(
        "{what}: usual is {usual}; nothing out of the ordinary at present.",
        what=title,
        usual=Qty(value(found.middle), kind),
    )
    earlier = [days[i] for i in found.jumps]
    return Verdict.GO, line, (L("Out of the ordinary on: {days}.", days=tuple(earlier)),) if earlier else ()


def _charted(
    key: str, title: Line, kind: str, series: Series, value: _Value = _same, more: Sequence[Line] = ()
) -> Charted:
    """The chart of one series of a machine; ``more`` is what else there is to say of it."""
    found = chart_of(series)
    since = series.records[series.learned.start :]
    jobs = tuple(r.job for r in series.records)
    if found is None:
        return Charted(replace(_few(key, title, kind, series, value), why=tuple(more)), None, jobs)
    days = [date_of(r.day) for r in since]
    verdict, line, why = _said(title, kind, found, days, value)
    resting = series.basis
    told = (from_record(resting),) if resting is not None else ()
    result = Result(key=key, line=line, value=Qty(value(found.middle), kind), verdict=verdict, why=(*why, *more, *told))
    return Charted(result, _picture(title, line, kind, found, days, value), jobs)


def _few(key: str, title: Line, kind: str, series: Series, value: _Value) -> Result:
    """What is said of a series that is too short for a chart."""
    n = len(series.records) - series.learned.start
    now = predict(series.learned, _at(series))
    return Result(
        key=key,
        line=LN(
            "{what}: {value} so far, from one job. A chart needs {least}.",
            "{what}: {value} so far, from {n} jobs. A chart needs {least}.",
            n,
            what=title,
            value=Qty(value(now.mean), kind),
            least=BASE_POINTS + 1,
        ),
        value=Qty(value(now.mean), kind),
    )


def _at(series: Series) -> tuple[float, ...]:
    groups = series.learned.groups
    return groups[-1].x if groups else ()


def bar_charts(records: Sequence[JobRecord]) -> Iterator[Charted]:
    """Bias, what the bar leaves of taper, barrel and out-of-round, edge life and time, as far as its jobs tell; oldest
    first."""
    if any(r.bias is not None for r in records):
        model = bar_model(records)
        yield _charted("record.bias", L("The bar's error"), "deviation", model.series, more=bar_effects(model))
    yield from _signature(records)
    for name, title in (
        ("taper", L("Taper the bar leaves")),
        ("barrel", L("Barrel the bar leaves")),
        ("oval", L("Out of round the bar leaves, thrust less crank")),
    ):
        if any(r.of(f"bored.{name}") for r in records):
            yield _charted(f"record.{name}", title, "fine", shape_model(records, f"bored.{name}"))
    yield from _finished(records, of_hone=False)
    lives = edge_model(records)
    if lives.records:
        yield _lasting("record.edge", L("Passes an edge lasts"), "times", lives, [r for r in records if r.edges.passes])
    yield from _minutes(records, "cut", L("Time to bore one cylinder"))


def _lasting(key: str, title: Line, kind: str, series: Series, rows: Sequence[JobRecord]) -> Charted:
    """The chart of how long tools last: a point for each that was used up, resting on the jobs ``rows``."""
    found = _charted(key, title, kind, series, math.exp)
    why = tuple(w for w in found.result.why if w != from_record(series.basis)) if series.basis else found.result.why
    line = found.result.line
    if found.picture is None:
        line = LN(
            "{what}: {value} so far, by one used up. A chart needs {least}.",
            "{what}: {value} so far, by {n} used up. A chart needs {least}.",
            len(series.records),
            what=title,
            value=found.result.value,
            least=BASE_POINTS + 1,
        )
    result = replace(found.result, line=line, why=(*why, from_record(basis(rows))))
    return found._replace(result=result, jobs=tuple(r.job for r in rows))


def _minutes(records: Sequence[JobRecord], step: str, title: Line) -> Iterator[Charted]:
    if any(r.of(f"minutes.{step}") for r in records):
        series = minutes_model(records, step)
        yield _charted(f"record.minutes.{step}", title, "work", series, lambda v: 60.0 * math.exp(v))


#: The signature is drawn in a bore so many times as long as wide (common practice).
_LONG = 1.5


def _signature(records: Sequence[JobRecord]) -> Iterator[Charted]:
    """What the bar leaves from top to bottom on either axis: its mean taper, barrel and out-of-round in one drawing."""
    rows = [r for r in records if r.of("bored.taper")]
    size = sorted(r.size_mm for r in rows if r.size_mm > 0.0)
    if not rows or not size:
        return

    def mean(name: str) -> float | None:
        there = any(r.of(name) for r in rows)
        return predict(shape_model(rows, name).learned).mean if there else None

    whole = mean("bored.taper") or 0.0
    thrust, crank = (mean(f"bored.taper.{axis}") for axis in ("thrust", "crank"))
    barrel, oval = mean("bored.barrel") or 0.0, mean("bored.oval") or 0.0
    tapers = {"thrust": whole if thrust is None else thrust, "crank": whole if crank is None else crank}
    bore, sides = size[len(size) // 2], {"thrust": 0.5, "crank": -0.5}
    places = tuple(
        (bore * _LONG * (0.5 + 0.4 * z), axis, 0.5 * (barrel * (0.5 - z * z) - 0.5 * z * tapers[axis] + side * oval))
        for axis, side in sides.items()
        for z in (-1.0, 0.0, 1.0)
    )
    alike = mean("bored.oval") is None
    line = L(
        "Usual shape of a bore by this bar: top less bottom {thrust} across, {crank} along the crank.",
        thrust=Qty(tapers["thrust"], "fine"),
        crank=Qty(tapers["crank"], "fine"),
    )
    if alike:
        line = L("Usual shape of a bore by this bar: top less bottom {whole}.", whole=Qty(whole, "fine"))
    one_axis = (L("Read on one axis so far: both sides are drawn alike."),) if alike else ()
    picture = BoreSection(
        title=L("What the bar leaves, top to bottom"),
        text=L("A bore {long} long, as this bar leaves it.", long=Qty(bore * _LONG, "place")),
        length_mm=bore * _LONG,
        unworn_mm=bore,
        rows=places,
        finished=True,
    )
    result = Result(
        key="record.signature",
        line=line,
        value=Qty(whole, "fine"),
        why=(*one_axis, from_record(basis(rows))),
    )
    yield Charted(result, picture, tuple(r.job for r in rows))


def _finished(records: Sequence[JobRecord], *, of_hone: bool) -> Iterator[Charted]:
    if any(r.of("made.oval") for r in records):
        series = shape_model(records, "made.oval", of_hone=of_hone)
        yield _charted("record.oval", L("Out of round in finished bores, thrust less crank"), "deviation", series)


def hone_charts(records: Sequence[JobRecord]) -> Iterator[Charted]:
    """Removal in ten double strokes and the life of a set by grit, what the hone does to the taper, and the time."""
    for grit in grits_of(records):
        series, _ = hone_model(records, grit)
        title = L("Removal in ten double strokes, {grit} stones", grit=grit)
        more = hone_effects(series, records, grit)
        yield _charted(f"record.rate.{grit}", title, "fine", series, lambda v: 10.0 * math.exp(v), more)
        lives = stone_model(records, grit)
        if lives.records:
            named = L("Iron a set of {grit} stones takes off", grit=grit)
            yield _lasting(f"record.stones.{grit}", named, "volume", lives, [r for r in records if grit in r.stones])
    if any(r.of("honed.taper") for r in records):
        series = shape_model(records, "honed.taper", of_hone=True)
        yield _charted("record.honed", L("Taper the hone adds, top less bottom"), "deviation", series)
    yield from _finished(records, of_hone=True)
    yield from _minutes(records, "hone", L("Time to hone one cylinder"))


def gauge_chart(checks: Sequence[Check], spread_mm: float | None, interval_days: float | None = None) -> Charted | None:
    """The checks of a gauge against its master, and when the next is due; None without any. ``spread_mm`` is what its
    repeats spread."""
    if not checks:
        return None
    last = max(c.day for c in checks)
    due = () if interval_days is None else (L("Next check due on {day}.", day=date_of(last + interval_days)),)
    title = L("Shown minus true")
    values = [c.error_mm for c in checks]
    found = chart(values, [spread_mm or ASSUMED_SPREAD_MM / 3.0] * len(values))
    if found is None:
        middle = Qty(math.fsum(values) / len(values), "deviation")
        line = LN(
            "{what}: {value} so far, from one check. A chart needs {least}.",
            "{what}: {value} so far, from {n} checks. A chart needs {least}.",
            len(checks),
            what=title,
            value=middle,
            least=BASE_POINTS + 1,
        )
        return Charted(Result(key="record.checks", line=line, value=middle, why=due), None, ())
    days = [date_of(c.day) for c in checks]
    verdict, line, why = _said(title, "fine", found, days, _same)
    result = Result(key="record.checks", line=line, value=Qty(found.middle, "fine"), verdict=verdict, why=(*why, *due))
    return Charted(result, _picture(title, line, "fine", found, days, _same), ())
