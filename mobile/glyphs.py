"""The two fonts the drawing engine needs, made complete and small at build time.

The text font that comes with the client lacks signs the trade uses (arrows, a tick,
the diameter sign, a narrow no-break space). Without them the engine would ask for a
further font. So the missing signs are drawn here, by us, into a copy of it. The icon
font is cut down to the icons that the app's source names.
"""

from __future__ import annotations

import inspect
import io
import math
import re
import sys
from typing import Any

__all__ = ["icon_font", "recipe", "text_font"]

Outline = list[list[tuple[float, float]]]


def _line(x0: float, y0: float, x1: float, y1: float, w: float) -> list[tuple[float, float]]:
    """A straight stroke ``w`` wide as a closed outline."""
    length = math.hypot(x1 - x0, y1 - y0)
    dx, dy = (y0 - y1) / length * w / 2, (x1 - x0) / length * w / 2
    return [(x0 + dx, y0 + dy), (x1 + dx, y1 + dy), (x1 - dx, y1 - dy), (x0 - dx, y0 - dy)]


def _disc(x: float, y: float, r: float, *, hole: bool = False) -> list[tuple[float, float]]:
    points = [(x + r * math.cos(a), y + r * math.sin(a)) for a in (-2 * math.pi * k / 48 for k in range(48))]
    return points[::-1] if hole else points


def _arrow(turn: int) -> Outline:
    """An arrow to the right in a 1000 unit square, turned by ``turn`` quarter turns anticlockwise."""
    shapes = [_line(100, 360, 880, 360, 90), _line(620, 640, 895, 360, 90), _line(620, 80, 895, 360, 90)]

    def spin(p: tuple[float, float]) -> tuple[float, float]:
        x, y = p[0] - 500, p[1] - 360
        for _ in range(turn):
            x, y = -y, x
        return x + 500, y + 360

    return [[spin(p) for p in shape] for shape in shapes]


#: Sign, advance width, outlines; 1000 units to the em, baseline at 0, capitals 715 high.
SIGNS: dict[str, tuple[int, Outline]] = {
    "\u202f": (200, []),
    "\u0304": (0, [[(-470, 800), (-470, 860), (-90, 860), (-90, 800)]]),
    "⁻": (400, [[(60, 530), (60, 595), (340, 595), (340, 530)]]),
    "⌀": (780, [_disc(390, 357, 330), _disc(390, 357, 255, hole=True), _line(60, 20, 720, 694, 75)]),
    "→": (1000, _arrow(0)),
    "↑": (1000, _arrow(1)),
    "←": (1000, _arrow(2)),
    "↓": (1000, _arrow(3)),
    "↔": (1000, [*_arrow(0), *_arrow(2)[1:]]),
    "↕": (1000, [*_arrow(1), *_arrow(3)[1:]]),
    "✓": (800, [_line(90, 330, 310, 90, 95), _line(285, 75, 720, 640, 95)]),
    "✗": (760, [_line(110, 90, 650, 630, 95), _line(110, 630, 650, 90, 95)]),
    "●": (760, [_disc(380, 357, 270)]),
    "○": (760, [_disc(380, 357, 270), _disc(380, 357, 200, hole=True)]),
    "■": (760, [[(120, 90), (120, 630), (640, 630), (640, 90)]]),
    "▲": (800, [[(90, 80), (400, 660), (710, 80)]]),
    "▼": (800, [[(90, 640), (710, 640), (400, 60)]]),
    "◆": (760, [[(380, 30), (80, 357), (380, 684), (680, 357)]]),
    "⚠": (
        1000,
        [
            [(40, 40), (500, 800), (960, 40)],
            [(170, 110), (830, 110), (500, 665)],
            [(455, 260), (455, 520), (545, 520), (545, 260)],
            [(455, 140), (455, 220), (545, 220), (545, 140)],
        ],
    ),
}

#: Icons that the client draws by itself (back, close, menus, date and text fields, scroll and selection).
CLIENT_ICONS = [
    "arrow_back",
    "arrow_back_ios",
    "arrow_back_ios_new_rounded",
    "arrow_back_ios_rounded",
    "arrow_drop_down",
    "arrow_drop_up",
    "arrow_downward",
    "arrow_upward",
    "cancel",
    "check",
    "check_box",
    "check_circle",
    "chevron_left",
    "chevron_right",
    "clear",
    "close",
    "content_copy",
    "content_cut",
    "content_paste",
    "delete",
    "done",
    "edit",
    "edit_outlined",
    "error",
    "error_outline",
    "expand_less",
    "expand_more",
    "info",
    "info_outline",
    "keyboard_arrow_down",
    "keyboard_arrow_up",
    "keyboard_arrow_left",
    "keyboard_arrow_right",
    "keyboard_outlined",
    "menu",
    "more_horiz",
    "more_vert",
    "search",
    "select_all",
    "share",
    "star",
    "unfold_more",
    "visibility",
    "visibility_off",
    "warning",
    "warning_amber",
    "access_time",
    "calendar_today",
]


def recipe(code: bytes) -> bytes:
    """What the fonts depend on beside the client's own: this file and the icons named in ``code``."""
    return inspect.getsource(sys.modules[__name__]).encode() + "\n".join(sorted(_named(code))).encode()


def _named(code: bytes) -> set[str]:
    return {name.lower() for name in re.findall(r"\bIcons\.([A-Z][A-Z0-9_]*)", code.decode("utf-8"))}


def text_font(body: bytes) -> bytes:
    """The text font with :data:`SIGNS` drawn in where it has none. WOFF2 in, WOFF2 out."""
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(body), recalcTimestamp=False)
    have = font.getBestCmap()
    order = font.getGlyphOrder()
    for sign, (width, outlines) in SIGNS.items():
        if ord(sign) not in have:
            _draw(font, order, sign, width, outlines)
    for digit, sign in zip("0123456789", "₀₁₂₃₄₅₆₇₈₉", strict=True):
        if ord(sign) not in have:
            _lower(font, order, have[ord(digit)], sign)
    font.setGlyphOrder(order)
    # widths at fixed pixel sizes: the table would have to list the new signs too, and a canvas does not use it
    if "hdmx" in font:
        del font["hdmx"]
    out = io.BytesIO()
    font.flavor = "woff2"
    font.save(out)
    return out.getvalue()


def _draw(font: Any, order: list[str], sign: str, width: int, outlines: Outline) -> None:
    """Draw a sign into the font, scaled from 1000 units to the em."""
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    scale = font["head"].unitsPerEm / 1000
    pen = TTGlyphPen(None)
    for outline in outlines:
        points = [(round(x * scale), round(y * scale)) for x, y in outline]
        pen.moveTo(points[0])
        for point in points[1:]:
            pen.lineTo(point)
        pen.closePath()
    left = round(min(x for o in outlines for x, _ in o) * scale) if outlines else 0
    _put(font, order, sign, pen.glyph(), (round(width * scale), left))


def _lower(font: Any, order: list[str], digit: str, sign: str) -> None:
    """Make a lowered digit of the plain one called ``digit``."""
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    scale = font["head"].unitsPerEm / 1000
    pen = TTGlyphPen(font.getGlyphSet())
    pen.addComponent(digit, (0.6, 0, 0, 0.6, 0, round(-150 * scale)))
    width, left = font["hmtx"][digit]
    _put(font, order, sign, pen.glyph(), (round(width * 0.6), round(left * 0.6)))


def _put(font: Any, order: list[str], sign: str, glyph: Any, metrics: tuple[int, int]) -> None:
    """Take a drawn sign into the font's tables."""
    name = f"uni{ord(sign):04X}"
    order.append(name)
    font["glyf"][name] = glyph
    font["hmtx"][name] = metrics
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[ord(sign)] = name


def icon_font(body: bytes, code: bytes) -> bytes:
    """The icon font with only the icons that ``code`` names (``Icons.NAME``) and the client's own.

    If an icon's drawing is not found under its name, the whole font is kept: an empty
    square on a button is worse than a larger download.
    """
    from fontTools import subset
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(body), recalcTimestamp=False)
    have = set(font.getGlyphOrder())
    wanted = set()
    for name in _named(code) | set(CLIENT_ICONS):
        found = {glyph for glyph in (name, name + "_baseline", "_" + name, "_" + name + "_baseline") if glyph in have}
        if not found and name in _named(code):
            return body
        wanted |= found
    options = subset.Options(layout_features=["*"], notdef_outline=True)
    cutter = subset.Subsetter(options)
    cutter.populate(glyphs=wanted)
    cutter.subset(font)
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()
