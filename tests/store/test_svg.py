"""Drawings as SVG: well-formed, escaped, words readable on every ground they stand on."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from logic.drawing import draw
from logic.pictures import HoneProgress, TiltedFace
from logic.say import L, Style
from logic.shapes import ROLES, Arc, Band, Circle, Drawing, Polygon, Polyline, Text
from store.svg import DARK, PAPER, svg

NS = "{http://www.w3.org/2000/svg}"
HONE = HoneProgress(
    title=L("Hone, cylinder {c}", c="<2 & 3>"),
    text=L("Words."),
    checks=((0, 76.90), (20, 76.925)),
    target_mm=76.974,
    band_mm=(76.968, 76.980),
    forecast=(10, 16, 28),
)


def test_every_shape_becomes_an_element() -> None:
    shapes = (
        Polyline(((0, 0), (10, 10)), "axis", 1.0, True),
        Polygon(((0, 0), (10, 0), (10, 10)), "metal"),
        Polygon(((0, 0), (10, 0), (10, 10)), "cut", 2.0),
        Circle(5, 5, 2, "point"),
        Circle(5, 5, 2, "governing", 1.5),
        Arc(20, 20, 10, 0, 90, "fit"),
        Band(1, 2, 3, 4, "band"),
        Text(3, 20, 'a <b> & "c"', anchor="middle"),
    )
    root = ET.fromstring(svg(Drawing(100, 50, shapes, "Title <1>", "Said & done")))
    assert root.get("viewBox") == "0 0 100 50"
    assert root.find(f"{NS}title").text == "Title <1>"
    assert root.find(f"{NS}desc").text == "Said & done"
    assert root.get("aria-label") == "Title <1>. Said & done"
    tags = [e.tag.removeprefix(NS) for e in root][2:]
    assert tags == ["rect", "polyline", "polygon", "polygon", "circle", "circle", "path", "rect", "text"]
    line, area, outline, dot, loop, arc, band, words = list(root)[3:]
    assert line.get("points") == "0,0 10,10" and line.get("stroke-dasharray") and line.get("fill") == "none"
    assert area.get("fill") == PAPER["metal"].area and area.get("stroke") is None
    assert outline.get("stroke") == PAPER["cut"].line and outline.get("fill") == "none"
    assert (dot.get("fill"), loop.get("fill")) == (PAPER["point"].area, "none")
    assert arc.get("d") == "M 30 20 A 10 10 0 0 1 20 30"
    assert [band.get(k) for k in ("x", "y", "width", "height")] == ["1", "2", "3", "4"]
    assert words.text == 'a <b> & "c"' and words.get("text-anchor") == "middle"


def test_whole_turn_and_back() -> None:
    turn = ET.fromstring(svg(Drawing(10, 10, (Arc(5, 5, 4, 0, 360, "fit"), Arc(5, 5, 4, 90, -200, "fit")), "t", "")))
    one, two = turn.findall(f"{NS}path")
    assert one.get("d") == "M 9 5 A 4 4 0 0 1 1 5 A 4 4 0 0 1 9 5"
    assert two.get("d").count("A ") == 2 and " 0 0 0 " in two.get("d")


def test_nothing_is_fetched_and_typed_names_stay_text() -> None:
    text = svg(draw(HONE, 328, 240, Style("mm")))
    assert "&lt;2 &amp; 3&gt;" in text and "<2" not in text
    assert text.count("http") == 1  # the name of the SVG language itself
    assert "href" not in text and "<script" not in text and "<style" not in text
    ET.fromstring(text)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", [PAPER, DARK], ids=["paper", "dark"])
def test_contrast(theme) -> None:
    """WCAG 2.2: words 7:1 (1.4.6) on ground, plate and iron; lines that mean something 3:1 (1.4.11)."""
    assert set(theme) == {*ROLES, "ground"}
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    for role in ("label", "note"):
        for ground in ("ground", "plate", "metal", "band"):
            assert contrast(theme[role].line, theme[ground].area) >= 7, (role, ground)
    for role in ("wear", "cut", "fit", "axis", "point", "governing", "limit", "wall"):
        for ground in ("ground", "metal"):
            assert contrast(theme[role].line, theme[ground].area) >= 3, (role, ground)


def test_level_face_draws_no_odd_numbers() -> None:
    level = TiltedFace(title=L("Face"), text=L("Words."), points=((0, 0.0), (400, 0.0)), ends=((0, 0.0), (400, 0.0)))
    text = svg(draw(level, 328, 240))
    numbers = re.findall(r'(?<=[ "])(?:x|y|cx|cy|r|points|width|height)="([^"]*)"', text)
    assert len(numbers) > 10
    for value in " ".join(numbers).replace(",", " ").split():
        assert re.fullmatch(r"-?\d+(\.\d{1,2})?", value), value
