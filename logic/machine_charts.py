"""The record of a machine as charts: bias, taper, edge life, removal, a gauge's checks; each with one sentence.

A value that jumps or creeps is named with the day it began (:mod:`logic.control_chart`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from .bar_bias import ASSUMED_SPREAD_MM
from .cards import Check
from .control_chart import BASE_POINTS, Chart, chart
from .job_record import JobRecord
from .machine_record import (
    Series,
    bar_model,
    chart_of,
    date_of,
    edge_model,
    grits_of,
    hone_model,
    shape_model,
)
from .pictures import ControlChart
from .pooling import predict
from .record_told import from_record
from .result import Result, Verdict
from .say import LN, L, Line, Qty

__all__ = ["Charted", "bar_charts", "gauge_chart", "hone_charts"]

_Value = Callable[[float], float]


class Charted(NamedTuple):
    """One chart: what it says, the picture (None while there are too few points), and the jobs it rests on."""

    result: Result
    picture: ControlChart | None
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
    return Verdict.GO, line, (L("Out of the ordinary on: {days}.", days=", ".join(earlier)),) if earlier else ()


def _charted(key: str, title: Line, kind: str, series: Series, value: _Value = _same) -> Charted:
    """The chart of one series of a machine."""
    found = chart_of(series)
    since = series.records[series.learned.start :]
    jobs = tuple(r.job for r in series.records)
    if found is None:
        return Charted(_few(key, title, kind, series, value), None, jobs)
    days = [date_of(r.day) for r in since]
    verdict, line, why = _said(title, kind, found, days, value)
    resting = series.basis
    told = (from_record(resting),) if resting is not None else ()
    result = Result(key=key, line=line, value=Qty(value(found.middle), kind), verdict=verdict, why=(*why, *told))
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
    """Bias, taper, barrel and edge life of a bar, as far as its jobs tell; oldest first."""
    if any(r.bias is not None for r in records):
        yield _charted("record.bias", L("The bar's error"), "deviation", bar_model(records).series)
    for name, title in (("taper", L("Taper the bar leaves")), ("barrel", L("Barrel the bar leaves"))):
        if any(r.of(f"bored.{name}") for r in records):
            yield _charted(f"record.{name}", title, "deviation", shape_model(records, f"bored.{name}"))
    yield from _finished(records, of_hone=False)
    lives = edge_model(records)
    if lives.records:
        yield _charted("record.edge", L("Passes an edge lasts"), "times", lives, math.exp)


def _finished(records: Sequence[JobRecord], *, of_hone: bool) -> Iterator[Charted]:
    if any(r.of("made.oval") for r in records):
        series = shape_model(records, "made.oval", of_hone=of_hone)
        yield _charted("record.oval", L("Out of round in finished bores, thrust less crank"), "deviation", series)


def hone_charts(records: Sequence[JobRecord]) -> Iterator[Charted]:
    """Removal in ten double strokes by grit, and what the hone does to the taper."""
    for grit in grits_of(records):
        series, _ = hone_model(records, grit)
        title = L("Removal in ten double strokes, {grit} stones", grit=grit)
        yield _charted(f"record.rate.{grit}", title, "fine", series, lambda v: 10.0 * math.exp(v))
    if any(r.of("honed.taper") for r in records):
        series = shape_model(records, "honed.taper", of_hone=True)
        yield _charted("record.honed", L("Taper the hone adds, top less bottom"), "deviation", series)
    yield from _finished(records, of_hone=True)


def gauge_chart(checks: Sequence[Check], spread_mm: float | None) -> Charted | None:
    """The checks of a gauge against its master; None without any. ``spread_mm`` is what its repeats spread."""
    if not checks:
        return None
    title = L("Shown less true")
    values = [c.error_mm for c in checks]
    found = chart(values, [spread_mm or ASSUMED_SPREAD_MM / 3.0] * len(values))
    if found is None:
        line = LN("{what}: one check so far.", "{what}: {n} checks so far.", len(checks), what=title)
        return Charted(Result(key="record.checks", line=line), None, ())
    days = [date_of(c.day) for c in checks]
    verdict, line, why = _said(title, "fine", found, days, _same)
    result = Result(key="record.checks", line=line, value=Qty(found.middle, "fine"), verdict=verdict, why=why)
    return Charted(result, _picture(title, line, "fine", found, days, _same), ())
