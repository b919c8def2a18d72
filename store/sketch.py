"""A drawing on a page of a PDF: each shape by the strokes and fills that a PDF knows (ISO 32000-1, 8.5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import pydyf

from logic.shapes import Arc, Band, Circle, Drawing, Polygon, Polyline, Shape, Text

from .svg import Look

__all__ = ["Sketch", "rgb"]

#: Control points of a quarter circle drawn as a cubic curve.
_KAPPA = 4 / 3 * (math.sqrt(2) - 1)


def rgb(colour: str) -> tuple[float, float, float]:
    """The parts of a colour, each from 0 to 1. ``colour`` is written like "#14181c"."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return red, green, blue


class Sketch:
    """Draws on ``page``, whose origin is at the bottom left, what has its origin at the top left.

    The drawing's corner lies at (``left``, ``bottom``): x grows to the right, y downward from
    ``bottom``, both times ``scale``. ``write`` puts text on the page (x, baseline, words,
    size, colour), ``measure`` gives its width; all lengths are in points.
    """

    def __init__(
        self,
        page: pydyf.Stream,
        *,
        left: float = 0.0,
        bottom: float = 0.0,
        scale: float = 1.0,
        write: Callable[[float, float, str, float, str], None],
        measure: Callable[[str, float], float],
    ) -> None:
        self.page, self.left, self.bottom, self.scale = page, left, bottom, scale
        self._write, self._measure = write, measure

    def draw(self, d: Drawing, theme: Mapping[str, Look]) -> None:
        """Every shape of a drawing, and nothing outside its frame."""
        page, k = self.page, self.scale
        page.push_state()
        page.rectangle(self.left, self.bottom - d.height * k, d.width * k, d.height * k)
        page.clip()
        page.end()
        page.set_line_cap(1)
        page.set_line_join(1)
        for shape in d.shapes:
            self._shape(shape, theme[shape.role])
        page.pop_state()

    def _shape(self, shape: Shape, look: Look) -> None:
        match shape:
            case Polyline():
                self._polyline(shape, look)
            case Polygon():
                self._polygon(shape, look)
            case Circle():
                self._circle(shape, look)
            case Arc():
                self._stroke(look, shape.width)
                self.arc(shape.x, shape.y, shape.r, shape.start_deg, shape.sweep_deg)
                self.page.stroke()
            case Band():
                self._band(shape, look)
            case Text():
                self._text(shape, look)

    # -- strokes -------------------------------------------------------------------------------
    def _at(self, x: float, y: float) -> tuple[float, float]:
        return self.left + x * self.scale, self.bottom - y * self.scale

    def _stroke(self, look: Look, width: float, *, dashed: bool = False) -> None:
        k = self.scale
        self.page.set_color_rgb(*rgb(look.line), stroke=True)
        self.page.set_line_width(max(0.3, width * k))
        self.page.set_dash([(width * 3 + 2) * k, (width * 2 + 2) * k] if dashed else [], 0)

    def _path(self, points: Sequence[tuple[float, float]]) -> None:
        self.page.move_to(*self._at(*points[0]))
        for p in points[1:]:
            self.page.line_to(*self._at(*p))

    # -- shapes --------------------------------------------------------------------------------
    def _polyline(self, shape: Polyline, look: Look) -> None:
        if len(shape.points) > 1:
            self._stroke(look, shape.width, dashed=shape.dashed)
            self._path(shape.points)
            self.page.stroke()

    def _polygon(self, shape: Polygon, look: Look) -> None:
        if len(shape.points) < 2:
            return
        self._path(shape.points)
        if shape.outline is None:
            self.page.set_color_rgb(*rgb(look.area))
            self.page.close()
            self.page.fill()
        else:
            self._stroke(look, shape.outline, dashed=shape.dashed)
            self.page.stroke_and_close()

    def _circle(self, shape: Circle, look: Look) -> None:
        self.arc(shape.x, shape.y, shape.r, 0.0, 360.0)
        if shape.outline is None:
            self.page.set_color_rgb(*rgb(look.area))
            self.page.fill()
        else:
            self._stroke(look, shape.outline)
            self.page.stroke_and_close()

    def _band(self, shape: Band, look: Look) -> None:
        x, y = self._at(shape.x, shape.y + shape.h)
        self.page.set_color_rgb(*rgb(look.area))
        self.page.rectangle(x, y, max(0.0, shape.w) * self.scale, max(0.0, shape.h) * self.scale)
        self.page.fill()

    def _text(self, shape: Text, look: Look) -> None:
        size = shape.size * self.scale
        x, y = self._at(shape.x, shape.y + 0.35 * shape.size)
        x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[shape.anchor] * self._measure(shape.text, size)
        self._write(x, y, shape.text, size, look.line)

    def arc(self, x: float, y: float, r: float, start_deg: float, sweep_deg: float) -> None:
        """An arc as cubic curves of at most a quarter turn each; it begins a path."""
        sweep = max(-360.0, min(360.0, sweep_deg))
        parts = max(1, math.ceil(abs(sweep) / 90 - 1e-9))
        step = math.radians(sweep / parts)
        pull = _KAPPA if abs(step) == math.pi / 2 else 4 / 3 * math.tan(step / 4)
        pull = math.copysign(abs(pull), step)
        a = math.radians(start_deg)
        self.page.move_to(*self._at(x + r * math.cos(a), y + r * math.sin(a)))
        for _ in range(parts):
            b = a + step
            c1 = self._at(x + r * (math.cos(a) - pull * math.sin(a)), y + r * (math.sin(a) + pull * math.cos(a)))
            c2 = self._at(x + r * (math.cos(b) + pull * math.sin(b)), y + r * (math.sin(b) - pull * math.cos(b)))
            self.page.curve_to(*c1, *c2, *self._at(x + r * math.cos(b), y + r * math.sin(b)))
            a = b
