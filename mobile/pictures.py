"""Pictures on the phone's canvas: shapes from :mod:`logic.drawing`, painted in the theme's colours."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Protocol

import flet as ft
import flet.canvas as cv

from logic.drawing import draw, timeline_lines
from logic.pictures import JobTimeline
from logic.say import Line
from logic.shapes import Arc, Band, Circle, Polygon, Polyline, Shape, Text

from . import parts
from . import theme as th
from .shell import Shell


class Picture(Protocol):
    """A picture's data, from :mod:`logic.pictures`: what it shows, and its title."""

    @property
    def title(self) -> Line: ...


#: role -> colour role of the theme
INK = {
    "metal": "outlinevariant",
    "wear": "secondary",
    "cut": "primary",
    "fit": "tertiary",
    "axis": "outline",
    "point": "onsurface",
    "governing": "error",
    "limit": "error",
    "band": "tertiarycontainer",
    "wall": "onsurfacevariant",
    "plate": "surfacecontainer",
    "label": "onsurface",
    "note": "onsurfacevariant",
}
_DASH: list[int | float] = [6, 4]


def _line(role: str, width: float, *, dashed: bool = False) -> ft.Paint:
    return ft.Paint(
        color=INK[role],
        style=ft.PaintingStyle.STROKE,
        stroke_width=width,
        stroke_cap=ft.StrokeCap.ROUND,
        stroke_join=ft.StrokeJoin.ROUND,
        stroke_dash_pattern=_DASH if dashed else None,
    )


def _path(points: Sequence[tuple[float, float]], *, closed: bool) -> list[cv.Path.PathElement]:
    first, *rest = points
    out: list[cv.Path.PathElement] = [cv.Path.MoveTo(*first), *(cv.Path.LineTo(x, y) for x, y in rest)]
    return [*out, cv.Path.Close()] if closed else out


_ALIGN = {"start": ft.Alignment.CENTER_LEFT, "middle": ft.Alignment.CENTER, "end": ft.Alignment.CENTER_RIGHT}


def _shape(s: Shape) -> cv.Shape:
    if isinstance(s, Polyline):
        return cv.Path(_path(s.points, closed=False), paint=_line(s.role, s.width, dashed=s.dashed))
    if isinstance(s, Polygon):
        paint = ft.Paint(color=INK[s.role]) if s.outline is None else _line(s.role, s.outline, dashed=s.dashed)
        return cv.Path(_path(s.points, closed=True), paint=paint)
    if isinstance(s, Circle):
        return cv.Circle(
            s.x, s.y, s.r, paint=ft.Paint(color=INK[s.role]) if s.outline is None else _line(s.role, s.outline)
        )
    if isinstance(s, Arc):
        return cv.Arc(
            s.x - s.r,
            s.y - s.r,
            2 * s.r,
            2 * s.r,
            math.radians(s.start_deg),
            math.radians(s.sweep_deg),
            paint=_line(s.role, s.width),
        )
    if isinstance(s, Band):
        return cv.Rect(s.x, s.y, s.w, s.h, paint=ft.Paint(color=INK[s.role]))
    return _text(s)


def _text(s: Text) -> cv.Text:
    style = ft.TextStyle(
        size=s.size, color=INK[s.role], weight=ft.FontWeight.W_600 if s.role == "label" else None, font_family=th.FONT
    )
    return cv.Text(s.x, s.y, s.text, style=style, alignment=_ALIGN[s.anchor])


def _height(picture: Picture, width: float, words: Callable[[Line], str], scale: float) -> float:
    """As high as a picture needs: a timeline grows by the row, the others with their width."""
    if isinstance(picture, JobTimeline):
        return 22 * scale * (timeline_lines(picture, width, words, scale) + 1)
    return max(240.0, min(340.0, width * 0.8)) * min(1.5, scale)


def painted(app: Shell, picture: Picture, *, titled: bool = True) -> ft.Control:
    """A picture as a card: its title, the drawing, and the same in words."""
    width, scale = app.room, app.frame.scale
    if isinstance(picture, JobTimeline):  # a list of names: much larger, they would be cut off
        scale = min(scale, 1.5)
    drawing = draw(picture, width, _height(picture, width, app.t, scale), app.style, scale)
    canvas = cv.Canvas([_shape(s) for s in drawing.shapes], width=drawing.width, height=drawing.height)
    return parts.card(
        *([parts.heading(drawing.title)] if titled else []),
        ft.Semantics(container=True, image=True, label=drawing.text, exclude_semantics=True, content=canvas),
        ft.Semantics(exclude_semantics=True, content=parts.muted(drawing.text)),
    )
