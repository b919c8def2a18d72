"""Drawings as SVG text, for the report. Nothing in it is fetched from anywhere."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple
from xml.sax.saxutils import escape, quoteattr

from logic.shapes import Arc, Band, Circle, Drawing, Polygon, Polyline, Shape, Text

__all__ = ["DARK", "PAPER", "Look", "svg"]


class Look(NamedTuple):
    """How a role is painted: as a line or letters, and as an area."""

    line: str
    area: str


#: Black on white paper. Words keep a contrast of 7:1 (WCAG 2.2, 1.4.6) on every ground they stand on.
PAPER: Mapping[str, Look] = {
    "ground": Look("#ffffff", "#ffffff"),
    "metal": Look("#5c6670", "#d5dae0"),
    "wear": Look("#8a3d00", "#f3c9a4"),
    "cut": Look("#00488a", "#00488a"),
    "fit": Look("#4a2a78", "#e4dcf2"),
    "axis": Look("#5c6670", "#5c6670"),
    "point": Look("#1c2126", "#1c2126"),
    "governing": Look("#a30c0c", "#a30c0c"),
    "limit": Look("#0b5a2b", "#0b5a2b"),
    "band": Look("#0b5a2b", "#d3ecd9"),
    "wall": Look("#1c2126", "#1c2126"),
    "plate": Look("#ffffff", "#ffffff"),
    "label": Look("#14181c", "#14181c"),
    "note": Look("#343c44", "#343c44"),
}

#: Light on dark, for screens.
DARK: Mapping[str, Look] = {
    "ground": Look("#101418", "#101418"),
    "metal": Look("#9aa6b2", "#333b43"),
    "wear": Look("#ffb27a", "#6b3c17"),
    "cut": Look("#8cc4ff", "#8cc4ff"),
    "fit": Look("#cdb6f5", "#3b2f55"),
    "axis": Look("#a3adb8", "#a3adb8"),
    "point": Look("#f2f5f8", "#f2f5f8"),
    "governing": Look("#ff9a94", "#ff9a94"),
    "limit": Look("#8fdca6", "#8fdca6"),
    "band": Look("#8fdca6", "#1d3f2a"),
    "wall": Look("#f2f5f8", "#f2f5f8"),
    "plate": Look("#101418", "#101418"),
    "label": Look("#f2f5f8", "#f2f5f8"),
    "note": Look("#d6dde4", "#d6dde4"),
}


def _n(x: float) -> str:
    """A coordinate, to a hundredth of a pixel."""
    text = f"{x:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _points(points: tuple[tuple[float, float], ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _stroke(look: Look, width: float, *, dashed: bool = False) -> str:
    dash = f' stroke-dasharray="{_n(width * 3 + 2)} {_n(width * 2 + 2)}"' if dashed else ""
    return f'fill="none" stroke="{look.line}" stroke-width="{_n(width)}" stroke-linejoin="round" stroke-linecap="round"{dash}'


def _shape(shape: Shape, theme: Mapping[str, Look]) -> str:
    look = theme[shape.role]
    match shape:
        case Polyline():
            return f'<polyline points="{_points(shape.points)}" {_stroke(look, shape.width, dashed=shape.dashed)}/>'
        case Polygon():
            paint = (
                f'fill="{look.area}"' if shape.outline is None else _stroke(look, shape.outline, dashed=shape.dashed)
            )
            return f'<polygon points="{_points(shape.points)}" {paint}/>'
        case Circle():
            paint = f'fill="{look.area}"' if shape.outline is None else _stroke(look, shape.outline)
            return f'<circle cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.r)}" {paint}/>'
        case Arc():
            return f'<path d="{_arc(shape)}" {_stroke(look, shape.width)}/>'
        case Band():
            return (
                f'<rect x="{_n(shape.x)}" y="{_n(shape.y)}" width="{_n(max(0.0, shape.w))}" height="{_n(max(0.0, shape.h))}" '
                f'fill="{look.area}"/>'
            )
        case Text():
            # The middle of the letters, not of the line: about a third of the size below the baseline's rise.
            return (
                f'<text x="{_n(shape.x)}" y="{_n(shape.y + 0.35 * shape.size)}" font-size="{_n(shape.size)}" '
                f'text-anchor="{shape.anchor}" fill="{look.line}">{escape(shape.text)}</text>'
            )
    raise TypeError(f"not a shape: {type(shape).__name__}")


def _arc(arc: Arc) -> str:
    """An arc as a path; a whole turn is cut in two, since a path cannot close on itself in one."""
    sweep = max(-360.0, min(360.0, arc.sweep_deg))
    halves = 2 if abs(sweep) > 180 else 1

    def at(deg: float) -> str:
        a = math.radians(deg)
        return f"{_n(arc.x + arc.r * math.cos(a))} {_n(arc.y + arc.r * math.sin(a))}"

    how = f"A {_n(arc.r)} {_n(arc.r)} 0 0 {1 if sweep >= 0 else 0}"
    ends = (at(arc.start_deg + sweep * k / halves) for k in range(1, halves + 1))
    return " ".join((f"M {at(arc.start_deg)}", *(f"{how} {end}" for end in ends)))


def svg(drawing: Drawing, theme: Mapping[str, Look] = PAPER) -> str:
    """The drawing as one SVG element, with its title and its content in words for those who cannot see it.

    ``theme`` maps every role, and "ground", to its :class:`Look`. All text is escaped.
    """
    w, h = _n(drawing.width), _n(drawing.height)
    body = "\n".join(_shape(s, theme) for s in drawing.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="img" '
        f'aria-label={quoteattr(drawing.title + ". " + drawing.text)} font-family="system-ui, sans-serif">\n'
        f"<title>{escape(drawing.title)}</title>\n"
        f"<desc>{escape(drawing.text)}</desc>\n"
        f'<rect width="{w}" height="{h}" fill="{theme["ground"].area}"/>\n'
        f"{body}\n</svg>"
    )
