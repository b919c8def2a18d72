"""A machine's control chart laid out in a box: see :func:`logic.drawing.draw`."""

from __future__ import annotations

from collections.abc import Callable

from .pictures import ControlChart
from .say import L, Line, Qty
from .shapes import Circle, Page, Polygon, Polyline

__all__ = ["control_chart"]


def _span(p: ControlChart) -> tuple[float, float]:
    """The least and the greatest value on the chart, with some room."""
    values = [v for _, *three in p.points for v in three] + [v for three in p.average for v in three] + [p.middle]
    low, high = min(values), max(values)
    room = 0.08 * (high - low) or abs(high) * 0.1 or 1.0
    return low - room, high + room


def control_chart(page: Page, p: ControlChart, words: Callable[[Line], str]) -> None:
    """Points from job to job with their limits; the moving average with its own, and where it began to part."""
    if not p.points:
        return
    low, high = _span(p)
    left, right, top, bottom = 10.0, page.width - 12.0, page.line * 0.8, page.height - page.line * 1.4
    across = (right - left) / max(1, len(p.points) - 1)
    up = max(10.0, bottom - top) / (high - low)

    def at(i: int, value: float) -> tuple[float, float]:
        return left + i * across, bottom - (value - low) * up

    if len(p.points) > 1:
        _limits(page, p, at)
    page.add(Polyline((at(0, p.middle), at(max(1, len(p.points) - 1), p.middle)), "axis", 1.5))
    page.add(Polyline(((left, top), (left, bottom), (right, bottom)), "axis", 1.5))
    if p.since is not None:
        x = at(p.since, p.middle)[0]
        page.add(Polyline(((x, top), (x, bottom)), "governing", 2.0, True))
        said = words(L("since {day}", day=p.points[p.since][0]))
        page.put(said, [(x + 4, top, "start"), (x - 4, top, "end")], plate=True)
    page.add(*(Circle(*at(i, point[1]), 3.0, "point") for i, point in enumerate(p.points)))
    page.add(*(Circle(*at(i, p.points[i][1]), 7.0, "governing", 2.5) for i in p.beyond))
    _labels(page, p, words, at)


def _limits(page: Page, p: ControlChart, at: Callable[[int, float], tuple[float, float]]) -> None:
    """The band of the moving average, the limits of the points, and the moving average."""
    ceiling = [at(i, a[2]) for i, a in enumerate(p.average)]
    page.add(Polygon((*ceiling, *(at(i, a[1]) for i, a in reversed(tuple(enumerate(p.average))))), "band"))
    for k in (2, 3):
        limit = tuple(at(i, (low_i, high_i)[k - 2]) for i, (_, _, low_i, high_i) in enumerate(p.points))
        page.add(Polyline(limit, "limit", 1.5, True))
    page.add(Polyline(tuple(at(i, a[0]) for i, a in enumerate(p.average)), "cut", 2.5))


def _labels(
    page: Page, p: ControlChart, words: Callable[[Line], str], at: Callable[[int, float], tuple[float, float]]
) -> None:
    """The days at both ends, the middle and the latest value."""
    last, foot = len(p.points) - 1, page.height - page.line * 0.6
    page.put(p.points[0][0], [(at(0, p.middle)[0], foot, "start")], "note")
    page.put(p.points[last][0], [(at(last, p.middle)[0], foot, "end")], "note")
    x, y = at(last, p.points[last][1])
    now = words(L("now {size}", size=Qty(p.points[last][1], p.kind)))
    page.put(now, [(x - 8, y - page.line, "end"), (x - 8, y + page.line, "end")], plate=True)
    x, y = at(0, p.middle)
    usual = words(L("usual {size}", size=Qty(p.middle, p.kind)))
    page.put(usual, [(x + 6, y - page.line * 0.7, "start"), (x + 6, y + page.line * 0.7, "start")], plate=True)
