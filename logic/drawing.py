"""Pictures laid out: from what a picture shows to shapes in a box, once for phone and paper.

:func:`draw` takes any picture of :mod:`logic.pictures`. Deviations are thousands of
times smaller than the parts they are on, so they are drawn larger than life, by a
round factor that the drawing states. Words that find no room are left out; the
picture's own text says everything.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from .bore import AXES
from .pictures import BoreSection, ControlChart, HoneProgress, JobTimeline, SweepRing, TiltedFace
from .record_drawn import control_chart
from .say import LN, Day, L, Line, Qty, Style, say
from .shapes import TEXT_PX, Band, Circle, Drawing, Page, Polygon, Polyline, text_width

__all__ = ["draw", "timeline_lines"]

Pair = tuple[float, float]
#: Smaller deviations than this are not drawn larger still: they are noise.
LEAST_MM = 0.005


_PLAIN = Style()


def draw(picture: Any, width: float, height: float, style: Style = _PLAIN, text_scale: float = 1.0) -> Drawing:
    """Lay a picture out in ``width`` × ``height`` pixels for one person's ``style``.

    ``text_scale`` is the reader's text size (1 = normal); words are never smaller than
    13 pixels times it. Raises ValueError for a size that is not above zero and
    TypeError for what is no picture.
    """
    for kind, layout in _LAYOUTS.items():
        if isinstance(picture, kind):
            page = Page(width, height, text_scale)
            layout(page, picture, lambda line: say(line, style))
            return page.drawing(say(picture.title, style), say(picture.text, style))
    raise TypeError(f"not a picture: {type(picture).__name__}")


Say = Callable[[Line], str]


def _round_down(x: float) -> float:
    """The largest number with at most two figures, the second of them 0 or 5, that is no larger than ``x``."""
    if x <= 0 or not math.isfinite(x):
        return 1.0
    power = 10.0 ** math.floor(math.log10(x))
    return math.floor(x / power * 2 + 1e-9) / 2 * power


def _times(factor: float) -> Qty:
    return Qty(factor, "count" if factor >= 10 or factor == int(factor) else "plain")


def _many(factor: float) -> int:
    """What chooses between "drawn to scale" and "enlarged {n} times": 2.5 counts as several."""
    return 1 if factor == 1 else max(2, int(factor))


def _wear(factor: float) -> Line:
    return LN("Wear drawn to scale", "Wear enlarged {n} times", _many(factor), n=_times(factor))


def _errors(factor: float) -> Line:
    return LN("Errors drawn to scale", "Errors enlarged {n} times", _many(factor), n=_times(factor))


def _deviations(factor: float) -> Line:
    return LN("Deviations drawn to scale", "Deviations enlarged {n} times", _many(factor), n=_times(factor))


def _heights(factor: float) -> Line:
    return LN(
        "Heights and leans drawn to scale", "Heights and leans enlarged {n} times", _many(factor), n=_times(factor)
    )


# -- bore section ---------------------------------------------------------------------------
class _Section:
    """Two half sections side by side, left along one axis, right along another: where everything goes."""

    def __init__(self, page: Page, p: BoreSection, words: Say) -> None:
        self.page, self.p, self.words = page, p, words
        self.columns: dict[str, list[Pair]] = {}
        for depth, axis, wear in sorted(p.rows):
            self.columns.setdefault(axis, []).append((depth, wear))
        governing = p.governing[1] if p.governing and p.governing[1] in self.columns else None
        wanted = (p.left, governing, "thrust", *self.columns)
        self.first = next((axis for axis in wanted if axis in self.columns), None)
        others = (a for a in ("crank", "thrust", *self.columns) if a in self.columns and a != self.first)
        self.second = next(others, self.first)
        self.depths = {d: words(L("{depth}", depth=Qty(d, "place"))) for d in sorted({d for d, _, _ in p.rows})}
        margin = max((text_width(t, page.size) for t in self.depths.values()), default=0.0) + 10
        if margin > page.width * 0.22:  # large letters: the picture comes first
            self.depths, margin = {}, 8.0
        told = _errors if p.finished else _wear
        # the two names beside each other where there is room, else one above the other
        self.names = [
            words(AXES.get(axis, L("other axis"))) for axis in dict.fromkeys((self.first, self.second)) if axis
        ]
        # a name too long for the page is told by its first word, which says which axis it is
        self.names = [n if text_width(n, page.size) <= page.width - 2 else n.split(" ")[0] for n in self.names]
        half = (margin + page.width - 8) / 2  # the middle of the bore
        beside = all(text_width(n, page.size) < min(half, page.width - half) - 8 for n in self.names)
        self.lines = 1 if beside else len(self.names)
        self.top = self.lines * page.line + 4
        self.bottom = page.height - page.foot_height(words(told(1000))) - 6
        self.tall = max(10.0, self.bottom - self.top)
        self.middle, self.wall = (margin + page.width - 8) / 2, (page.width - 8 - margin) / 2
        self.half = self.wall * 0.56
        self.per_depth = self.tall / max([p.length_mm, *(d for d, _, _ in p.rows)])
        most = max([*(abs(w) for _, _, w in p.rows), abs(p.cut_mm or 0.0), p.at_least_mm, LEAST_MM])
        factor = _round_down(self.wall * 0.32 / most / self.per_depth)
        self.scale = factor * self.per_depth
        page.foot(words(told(factor)))

    def wall_at(self, side: int, deviation_mm: float) -> float:
        """Where a wall that deviates by so much from the unworn bore stands, across the page."""
        return self.middle + side * (self.half + deviation_mm * self.scale)

    def level(self, depth_mm: float) -> float:
        return self.top + depth_mm * self.per_depth

    def half_section(self, side: int, axis: str | None) -> None:
        """The iron on one side, the wear on it, and the cut."""
        page, top, bottom = self.page, self.top, self.bottom
        read = [(self.wall_at(side, w), self.level(d)) for d, w in self.columns.get(axis or "", [])]
        face = self.middle + side * self.half
        line = [(read[0][0], top), *read, (read[-1][0], bottom)] if read else [(face, y) for y in (top, bottom)]
        unworn = [(face, bottom), (face, top)]
        outside = self.middle + side * self.wall
        page.add(Polygon((*line, (outside, bottom), (outside, top)), "metal"))
        page.add(Polygon((*line, *unworn), "wear"))
        page.add(Polyline(tuple(line), "wear", 2.5))
        page.add(Polyline(tuple(unworn), "axis", 1.0, True))
        page.add(*(Circle(x, y, 3.0, "point") for x, y in line[1:-1]))
        if self.p.cut_mm is not None:
            x = self.wall_at(side, self.p.cut_mm)
            page.add(Polyline(((x, top), (x, bottom)), "cut", 3.0))
        page.add(Polyline(((self.middle + side * (self.wall + 4), top), (face, top)), "axis", 2.0))

    def heading(self, side: int, axis: str | None) -> None:
        """The axis of a half section, above it; once where both are along the same."""
        if axis is None or (side > 0 and axis == self.first):
            return
        page, half_line = self.page, self.page.line / 2
        outward = "end" if side < 0 else "start"
        places = [
            (self.middle + side * self.wall * 0.6, half_line, "middle"),
            (self.middle + side * 4, half_line, outward),
            (2.0, half_line, "start") if side < 0 else (page.width - 2, half_line, "end"),
        ]
        if self.lines > 1:
            places = [(2.0, half_line, "start") if side < 0 else (page.width - 2, 3 * half_line, "end")]
        page.put(self.names[0 if side < 0 else -1], places)

    def governing(self) -> None:
        """The reading that decides, ringed, with its size."""
        place = self.p.governing
        wear = next((w for d, a, w in self.p.rows if (d, a) == place), None)
        if place is None or wear is None:
            return
        side = -1 if place[1] == self.first else 1
        x, y, line = self.wall_at(side, wear), self.level(place[0]), self.page.line
        self.page.add(Circle(x, y, 6.0, "governing", 2.5))
        said = self.words(L("{size}", size=Qty(self.p.unworn_mm + 2 * wear, "size")))
        levels = (y, y + line, y - line, y + 2 * line)
        inside = (self.middle + side * (self.half - 8), "start" if side < 0 else "end")
        self.page.put(said, [(inside[0], v, inside[1]) for v in levels], plate=True)

    def sizes(self) -> None:
        """The cut and the unworn or wanted size, inside the bore."""
        p = self.p
        if p.cut_mm is not None:
            self._inside(L("cut {size}", size=Qty(p.unworn_mm + 2 * p.cut_mm, "size")), (0.55, 0.7, 0.4, 0.85, 0.25))
        size = Qty(p.unworn_mm, "size")
        line = L("wanted {size}", size=size) if p.finished else L("unworn {size}", size=size)
        # a wall that stands in, with its points, stays whole
        inward = self.scale * min([0.0, *(w for _, _, w in p.rows)])
        if text_width(self.words(line), self.page.size) < 2 * (self.half + inward) - 8:
            self._inside(line, (0.9, 0.75, 0.35))

    def _inside(self, line: Line, parts: tuple[float, ...]) -> None:
        places = [(self.middle, self.top + f * self.tall, "middle") for f in parts]
        self.page.put(self.words(line), places, plate=True)

    def scale_of_depths(self) -> None:
        edge = self.middle - self.wall
        for depth, said in self.depths.items():
            y = self.level(depth)
            self.page.add(Polyline(((edge - 3, y), (edge + 4, y)), "axis", 1.5))
            self.page.put(said, [(edge - 5, y + shift * self.page.line, "end") for shift in (0, 0.4, -0.4)])


def _bore(page: Page, p: BoreSection, words: Say) -> None:
    """Two half sections side by side, left along one axis, right along another."""
    section = _Section(page, p, words)
    sides = ((-1, section.first), (1, section.second))
    for side, axis in sides:
        section.half_section(side, axis)
    page.add(Polyline(((section.middle, section.top - 4), (section.middle, section.bottom + 4)), "axis", 1.0, True))
    for side, axis in sides:
        section.heading(side, axis)
    # what decides first, then the rest as room allows
    section.governing()
    section.sizes()
    section.scale_of_depths()


# -- ring of sweep readings -------------------------------------------------------------------
class _Round:
    """The bore from above, front of the engine at the top; deviations from the mean radius enlarged."""

    def __init__(self, page: Page, p: SweepRing, words: Say) -> None:
        self.page, self.p, self.words = page, p, words
        self.legend = self._legend()
        self.foot = page.foot_height(words(_deviations(1000)))
        key_width = 34 + max(text_width(said, page.size) for _, said in self.legend)
        self.beside = page.width - key_width >= page.height - self.foot
        if not self.beside:  # below the ring, as many as leave it a fair size
            while self.legend and (page.height - self.foot - len(self.legend) * page.line) / 2 - page.line < 60:
                self.legend.pop()
        self.wide = page.width - (key_width if self.beside else 0)
        self.tall = page.height - self.foot - (0.0 if self.beside else len(self.legend) * page.line)
        self.cx, self.cy = self.wide / 2, self.tall / 2
        beside_walls = max((text_width(self._wall_said(w), page.size) for _, w in p.walls), default=0.0)
        # large letters beside the ring may not take more than two fifths of it: they then stand in the corners
        least = 0.6 * min(self.cx - 8, self.cy - page.line - 4)
        self.edge = max(24.0, least, min(self.cx - beside_walls - 8, self.cy - page.line - 4))
        self.base = self.edge * 0.66
        self.turns = [3.0 * k for k in range(120)]
        self.curves = self._curves()
        deviations = [abs(d) for _, d in p.points] + [abs(d) for _, c in self.curves for d in c]
        self.factor = _round_down(
            (self.edge * 0.94 - self.base) / max([*deviations, LEAST_MM]) * p.mean_radius_mm / self.base
        )
        self.scale = self.factor * self.base / p.mean_radius_mm

    def _legend(self) -> list[tuple[str, str]]:
        p, out = self.p, []
        if p.cut_radius_mm is not None:
            size = Qty(2 * (p.mean_radius_mm + p.cut_radius_mm), "size")
            out.append(("cut", self.words(L("cut {size}", size=size))))
        return [*out, ("wear", self.words(L("as swept"))), ("fit", self.words(L("fitted circle")))]

    def _wall_said(self, wall_mm: float) -> str:
        return self.words(L("{wall}", wall=Qty(wall_mm, "wall")))

    def _curves(self) -> list[tuple[str, list[float]]]:
        p = self.p
        out = [("fit", [self._reach(p.fit_centre_mm, p.fit_radius_mm, a) for a in self.turns])]
        if p.cut_radius_mm is not None and p.cut_centre_mm is not None:
            out.append(("cut", [self._reach(p.cut_centre_mm, p.cut_radius_mm, a) for a in self.turns]))
        return out

    def _reach(self, centre: Pair, radius: float, angle: float) -> float:
        """Deviation of a circle from the mean radius, seen from the spindle."""
        a = math.radians(angle)
        along = centre[0] * math.cos(a) + centre[1] * math.sin(a)
        across = centre[1] * math.cos(a) - centre[0] * math.sin(a)
        r = self.p.mean_radius_mm + radius
        return along + math.sqrt(max(0.0, r * r - across * across)) - self.p.mean_radius_mm

    def spot(self, angle: float, deviation: float) -> Pair:
        a = math.radians(angle)
        r = self.base + deviation * self.scale
        return self.cx - r * math.sin(a), self.cy - r * math.cos(a)

    def outlines(self) -> None:
        """The iron, what was swept, the circles and the spindle."""
        page, cx, cy, edge = self.page, self.cx, self.cy, self.edge
        swept = tuple(self.spot(a, d) for a, d in sorted(self.p.points))
        page.add(Circle(cx, cy, edge, "metal"), Polygon(swept, "plate"))
        for dx, dy in ((1, 0), (0, 1)):
            page.add(Polyline(((cx - dx * edge, cy - dy * edge), (cx + dx * edge, cy + dy * edge)), "axis", 1.0, True))
        page.add(Polygon(swept, "wear", 2.5))
        for role, deviations in self.curves:
            curve = tuple(self.spot(a, d) for a, d in zip(self.turns, deviations, strict=True))
            page.add(Polygon(curve, role, 3.0 if role == "cut" else 2.0, role == "fit"))
        page.add(*(Circle(x, y, 3.0, "point") for x, y in swept))
        page.add(Polyline(((cx - 5, cy), (cx + 5, cy)), "axis", 2.0))
        page.add(Polyline(((cx, cy - 5), (cx, cy + 5)), "axis", 2.0))

    def centre(self) -> None:
        """Where the spindle should go, held inside the bore."""
        if self.p.cut_centre_mm is None:
            return
        front, left = self.p.cut_centre_mm
        far = math.hypot(front, left) * self.scale
        if far > 2:
            shrink = min(1.0, 0.7 * self.base / far)
            end = (self.cx - left * self.scale * shrink, self.cy - front * self.scale * shrink)
            self.page.add(Polyline(((self.cx, self.cy), end), "cut", 2.5), Circle(*end, 4.5, "cut"))

    def directions(self) -> None:
        """Front, rear, left and right, and the walls between them."""
        page, words, line = self.page, self.words, self.page.line
        page.put(words(L("front")), [(self.cx, self.cy - self.edge - 3 - line / 2, "middle")])
        for angle, wall in self.p.walls:
            self._wall(angle, wall)
        page.put(words(L("rear")), [(self.cx, self.cy + self.edge + 3 + line / 2, "middle")])
        page.put(words(L("left")), [(self.cx - self.edge - 4, self.cy, "end")])
        page.put(words(L("right")), [(self.cx + self.edge + 4, self.cy, "start")])

    def _wall(self, angle: float, wall: float) -> None:
        s, c = math.sin(math.radians(angle)), math.cos(math.radians(angle))
        x, y = self.cx - self.edge * s, self.cy - self.edge * c
        self.page.add(Polyline(((x + 9 * s, y + 9 * c), (x, y)), "wall", 5.0))
        if abs(s) < 0.4:
            beyond = text_width(self.words(L("front")), self.page.size) / 2 + 6
            level = y - c * (self.page.line / 2 + 3)
            places = [(x, level, "middle"), (self.cx + beyond, level, "start"), (self.cx - beyond, level, "end")]
        else:
            corner = (2.0, "start") if s > 0 else (self.wide - 2.0, "end")
            places = [
                (x - s * 4, y - c * self.page.line * 0.4, "end" if s > 0 else "start"),
                (corner[0], self.cy - 0.95 * self.edge, corner[1]),
            ]
        self.page.put(self._wall_said(wall), places)

    def key(self) -> None:
        """What the lines are, beside the ring or below it."""
        page, rows = self.page, len(self.legend) * self.page.line
        x0 = self.wide if self.beside else 4.0
        y0 = (page.height - self.foot - rows) / 2 if self.beside else self.tall
        if self.beside and len(page.taken) > 1:  # clear of what is written at the ring's right
            y0 = page.line * 0.5
        for i, (role, said) in enumerate(self.legend):
            y = y0 + (i + 0.5) * page.line
            if page.put(said, [(x0 + 28, y, "start")]):
                page.add(Polyline(((x0 + 2, y), (x0 + 21, y)), role, 3.0 if role == "cut" else 2.5, role == "fit"))


def _ring(page: Page, p: SweepRing, words: Say) -> None:
    """The bore from above, front of the engine at the top; deviations from the mean radius enlarged."""
    ring = _Round(page, p, words)
    ring.outlines()
    ring.centre()
    ring.directions()
    ring.key()
    page.foot(words(_deviations(ring.factor)))


# -- tilted top face ----------------------------------------------------------------------------
def _face(page: Page, p: TiltedFace, words: Say) -> None:
    """The block from the left side: front of the engine on the left, tilt enlarged."""
    foot = page.foot_height(words(_heights(1000)))
    left, right = 10.0, page.width - 10.0
    xs = [x for x, _ in p.points] + [x for x, _ in p.ends] + [x for _, x, _ in p.bores]
    x0, x1 = min(xs), max(xs)
    span = max(x1 - x0, 1.0)
    along = (right - left) / (span * 1.12)
    start = (left + right) / 2 - along * (x0 + x1) / 2
    top = page.line + 4
    bottom = page.height - foot - page.line * (2.1 if p.bores else 0.1)
    tall = max(20.0, bottom - top)
    rise = tall * 0.17
    level = top + rise
    heights = [h for _, h in p.points] + [h for _, h in p.ends]
    leans = [abs(lean) for _, _, lean in p.bores]
    most = max([abs(h) for h in heights] + [LEAST_MM])
    gap = (
        min(
            [
                b - a
                for a, b in zip(sorted(x for _, x, _ in p.bores), sorted(x for _, x, _ in p.bores)[1:], strict=False)
            ]
            + [span]
        )
        * along
    )
    widest = max([*leans, LEAST_MM])
    factor = _round_down(min(rise / most / along, 0.4 * gap / widest / along))
    scale = factor * along

    def at(x: float, h: float) -> Pair:
        return start + along * x, level - scale * h

    (ax, ah), (bx, bh) = p.ends
    slope = (bh - ah) / (bx - ax) if bx != ax else 0.0
    lip = 0.05 * span
    head, tail = at(ax - lip, ah - slope * lip), at(bx + lip, bh + slope * lip)
    floor = bottom
    page.add(Polygon((head, tail, (tail[0], floor), (head[0], floor)), "metal"))
    deep = floor - (level + rise)
    for _label, x, lean in p.bores:
        px, py = at(x, ah + slope * (x - ax))
        half = max(3.0, min(0.28 * gap, 0.25 * deep))
        foot_y = py + 0.8 * (floor - py)
        shift = lean * scale
        page.add(Polygon(((px - half, py), (px + half, py), (px + half, foot_y), (px - half, foot_y)), "plate"))
        page.add(Polyline(((px, py - 8), (px, foot_y + 4)), "axis", 1.0, True))
        page.add(Polyline(((px, py - 8), (px + shift, foot_y)), "cut", 3.0))
    page.add(Polyline((at(ax - lip, 0.0), at(bx + lip, 0.0)), "axis", 1.0, True))
    page.add(Polyline((head, tail), "fit", 3.0))
    page.add(*(Circle(*at(x, h), 4.0, "point") for x, h in p.points))

    page.put(words(L("front")), [(left, page.line * 0.5, "start")])
    page.put(words(L("rear")), [(right, page.line * 0.5, "end")])
    up = bh - ah
    said = (
        words(L("rises {rise}", rise=Qty(up, "diff"))) if up >= 0 else words(L("falls {rise}", rise=Qty(-up, "diff")))
    )
    page.put(said, [(page.width / 2, page.line * 0.5, "middle")])
    for label, x, _ in p.bores:
        page.put(label, [(at(x, 0.0)[0], bottom + page.line * 0.5, "middle")])
    worst = max(p.bores, key=lambda b: abs(b[2]), default=None)
    if worst is not None:
        said = words(L("cylinder {n} leans {lean} along the block", n=worst[0], lean=Qty(abs(worst[2]), "diff")))
        page.put(
            said, [(page.width / 2, bottom + page.line * 1.5, "middle"), (page.width / 2, page.line * 1.5, "middle")]
        )
    page.foot(words(_heights(factor)))


# -- honing ---------------------------------------------------------------------------------------
def _nice_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides ``span`` into no more than ``most``."""
    if span <= 0 or most < 1:
        return 1.0
    raw = span / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(m * power for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))


def _covers(place: tuple[float, float, str], size: Pair, curve: Sequence[Pair]) -> bool:
    """Whether words of some size, put at a place, would lie over a curve."""
    (x, y, anchor), (wide, high) = place, size
    left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    for (x0, y0), (x1, y1) in pairwise(curve):
        first, last = max(x0, left), min(x1, left + wide)
        if first > last:
            continue
        rise = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
        ends = [y0 + rise * (v - x0) for v in (first, last)] if x1 > x0 else [y0, y1]
        if min(ends) < y + high / 2 and max(ends) > y - high / 2:
            return True
    return False


def _hone(page: Page, p: HoneProgress, words: Say) -> None:
    """Size upward against strokes, with target, band, checks and what is still to come."""
    low, high = p.band_mm
    sizes = [s for _, s in p.checks] + [p.target_mm, low, high]
    bottom_mm, top_mm = min(sizes), max(sizes)
    pad = 0.12 * max(top_mm - bottom_mm, 0.01)
    bottom_mm, top_mm = bottom_mm - pad, top_mm + pad
    last = max(p.checks, default=None)
    end = (last[0] if last else 0.0) + (p.forecast[2] if p.forecast else 0.0)
    strokes = max(end, max((n for n, _ in p.checks), default=0.0), 10.0)
    foot = page.line * 2 + 6
    left, right = 8.0, page.width - 12.0
    top, bottom = 6.0, page.height - foot
    across, up = (right - left) / strokes, max(10.0, bottom - top) / (top_mm - bottom_mm)

    def at(n: float, size: float) -> Pair:
        return left + n * across, bottom - (size - bottom_mm) * up

    page.add(Band(left, at(0, high)[1], right - left, (high - low) * up, "band"))
    page.add(Polyline((at(0, p.target_mm), at(strokes, p.target_mm)), "limit", 2.0, True))
    page.add(Polyline(((left, top), (left, bottom), (right, bottom)), "axis", 1.5))
    if last and p.forecast:
        soon, likely, late = p.forecast
        page.add(Polygon((at(*last), at(last[0] + soon, p.target_mm), at(last[0] + late, p.target_mm)), "fit", 1.0))
        page.add(Polyline((at(*last), at(last[0] + likely, p.target_mm)), "fit", 2.5, True))
    done = sorted(p.checks)
    if len(done) > 1:
        page.add(Polyline(tuple(at(*c) for c in done), "cut", 2.5))
    page.add(*(Circle(*at(*c), 4.0, "point") for c in done))

    y = at(0, p.target_mm)[1]
    said = words(L("target {size}", size=Qty(p.target_mm, "size")))
    high_y, low_y = at(0, high)[1], at(0, low)[1]
    page.put(
        said, [(left + 6, v, "start") for v in (high_y - page.line * 0.55, low_y + page.line * 0.55, y)], plate=True
    )
    if last:
        x, y = at(*last)
        page.add(Circle(x, y, 7.0, "governing", 2.5))
        said = words(L("now {size}", size=Qty(last[1], "size")))
        places = [
            (x + 10, y + page.line, "start"),
            (x - 10, y + page.line, "end"),
            (x - 10, y - page.line, "end"),
            (x + 10, y - page.line, "start"),
        ]
        places += [
            (right, y + page.line, "end"),
            (right, y - page.line, "end"),
            (left + 6, bottom - page.line, "start"),
        ]
        size = text_width(said, page.size), page.line
        places = [v for v in places if v[1] < bottom - page.line / 2]
        page.put(said, sorted(places, key=lambda v: _covers(v, size, [at(*c) for c in done])), plate=True)
    step = _nice_step(strokes, max(1, int((right - left) / (text_width("0000", page.size) * 1.5))))
    n = 0.0
    while n <= strokes + 1e-9:
        x = at(n, bottom_mm)[0]
        page.add(Polyline(((x, bottom), (x, bottom + 4)), "axis", 1.5))
        page.put(
            words(L("{n}", n=Qty(n, "count"))),
            [
                (x, bottom + 4 + page.line * 0.5, "middle"),
                (x, bottom + 4 + page.line * 0.5, "start"),
                (x + 6, bottom + 4 + page.line * 0.5, "end"),
            ],
        )
        n += step
    said = (
        words(L("double strokes; {n} to go", n=Qty(p.forecast[1], "count")))
        if last and p.forecast
        else words(L("double strokes"))
    )
    page.put(said, [(2.0, page.height - page.line * 0.5, "start")], "note") or page.put(
        words(L("double strokes")), [(2.0, page.height - page.line * 0.5, "start")], "note"
    )


def _shortened(text: str, page: Page, wide: float) -> str:
    """A text cut to a width, with dots where something was left out."""
    if text_width(text, page.size) <= wide:
        return text
    fits, most = 0, len(text)
    while fits < most:
        half = (fits + most + 1) // 2
        if text_width(text[:half] + "…", page.size) <= wide:
            fits = half
        else:
            most = half - 1
    return text[:fits].rstrip() + "…"


#: From this text scale on, a timeline's names stand above their bars; beside them they may take so much of the width.
NAMES_ABOVE, NAMES_BESIDE = 1.3, 0.45


def _above(p: JobTimeline, width: float, words: Say, text_scale: float) -> bool:
    """Whether a timeline's names stand above their bars: in large letters, and where one would be cut beside them."""
    longest = max((text_width(words(step), TEXT_PX * text_scale) for _, step, *_ in p.rows), default=0.0)
    return text_scale > NAMES_ABOVE or longest > width * NAMES_BESIDE


def timeline_lines(p: JobTimeline, width: float, words: Say, text_scale: float) -> int:
    """How many lines of text a timeline of some width in pixels is high, without its hours."""
    return len(p.rows) * (2 if _above(p, width, words, text_scale) else 1) + len(p.days)


# -- when it was done ---------------------------------------------------------------------------------
def _timeline(page: Page, p: JobTimeline, words: Say) -> None:
    """One bar for each step of each day, along the hours of the day."""
    if not p.rows:
        return
    first, last = min(r[4] for r in p.rows), max(r[5] for r in p.rows)
    start, end = first // 60, last // 60 + 1
    names = [words(step) for _, step, *_ in p.rows]
    wide = min(max(text_width(n, page.size) for n in names), page.width * NAMES_BESIDE)
    above = _above(p, page.width, words, page.text_scale)
    left, right = (8.0 if above else wide + 8), page.width - 8.0
    foot = page.height - page.line
    every = timeline_lines(p, page.width, words, page.text_scale)
    row = min(page.line * 1.4, max(6.0, (foot - 4) / every))
    across = (right - left) / (end - start)
    y = 2.0
    day = None
    for (date, _step, entries, corrections, begin, finish), name in zip(p.rows, names, strict=False):
        if date != day:
            day = date
            page.put(words(L("{day}", day=Day(date))), [(2.0, y + row / 2, "start")], "note", plate=True)
            y += row
        x0 = left + (begin / 60 - start) * across
        x1 = max(left + (finish / 60 - start) * across, x0 + 5)
        page.put(_shortened(name, page, page.width - 4 if above else wide), [(2.0, y + row / 2, "start")], plate=True)
        y += row if above else 0.0
        page.add(Band(x0, y + row * 0.2, x1 - x0, row * 0.6, "cut" if corrections == 0 else "wear"))
        count = words(L("{n}", n=Qty(entries, "count")))
        beside = [(x1 + 4, y + row / 2, "start"), (x0 - 4, y + row / 2, "end")]
        mended = words(L("{n} ({m} corrected)", n=count, m=Qty(corrections, "count")))
        if not (corrections and page.put(mended, beside, plate=True)):
            page.put(count, beside, plate=True)
        y += row
    step_h = max(1, int(_nice_step(end - start, max(1, int((right - left) / (text_width("00:00", page.size) * 1.4))))))
    for hour in range(start, end + 1, step_h):
        x = left + (hour - start) * across
        page.add(Polyline(((x, 2.0), (x, foot)), "axis", 1.0, True))
        page.put(f"{hour:02d}:00", [(x, foot + page.line * 0.5, "middle"), (x, foot + page.line * 0.5, "end")], "note")


_LAYOUTS: dict[type[Any], Callable[[Page, Any, Say], None]] = {
    BoreSection: _bore,
    SweepRing: _ring,
    TiltedFace: _face,
    HoneProgress: _hone,
    JobTimeline: _timeline,
    ControlChart: control_chart,
}
