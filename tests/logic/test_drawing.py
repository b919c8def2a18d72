"""Pictures laid out: words stay apart and on the page, deviations are where their stated scale puts them.

The smallest size asked for is 328 × 240 pixels, the width of a 360-pixel phone less its
margins. Invented data throughout.
"""

from __future__ import annotations

import math
import re
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.bore import AXES
from logic.drawing import draw, timeline_lines
from logic.pictures import BoreSection, HoneProgress, JobTimeline, SweepRing, TiltedFace
from logic.say import L, Style, say
from logic.shapes import ROLES, TEXT_PX, Arc, Band, Circle, Page, Polygon, Polyline, Text, text_width

MM, INCH = Style(length="mm"), Style(length="in")


def bore(rows=None, **more) -> BoreSection:
    rows = rows or tuple(
        (z, a, w)
        for z, t, c in ((12, 0.16, 0.09), (60, 0.08, 0.05), (130, 0.02, 0.01))
        for a, w in (("thrust", t), ("crank", c))
    )
    return BoreSection(
        **{"title": L("Bore"), "text": L("Words."), "length_mm": 150.0, "unworn_mm": 76.2, "rows": rows, **more}
    )


def ring(points=None, **more) -> SweepRing:
    points = points or tuple((45.0 * k, 0.06 * math.cos(math.radians(90 * k))) for k in range(8))
    base = {
        "title": L("Ring"),
        "text": L("Words."),
        "points": points,
        "mean_radius_mm": 43.0,
        "fit_centre_mm": (0.02, 0.05),
        "fit_radius_mm": 0.0,
    }
    return SweepRing(
        **{
            **base,
            "cut_centre_mm": (0.03, 0.06),
            "cut_radius_mm": 0.08,
            "walls": ((0.0, 4.1), (90.0, 5.0), (180.0, 4.4), (270.0, 5.6)),
            **more,
        }
    )


def face(bores=4, slope=0.0003, **more) -> TiltedFace:
    points = tuple((x, slope * (x - 200) + e) for x in (0.0, 200.0, 400.0) for e in (0.01, -0.01))
    base = {
        "title": L("Face"),
        "text": L("Words."),
        "points": points,
        "ends": ((0.0, -200 * slope), (400.0, 200 * slope)),
    }
    return TiltedFace(
        **{
            **base,
            "bores": tuple((str(n + 1), 40.0 + n * 320 / max(1, bores - 1), slope * 150) for n in range(bores)),
            **more,
        }
    )


def hone(**more) -> HoneProgress:
    base = {
        "title": L("Hone"),
        "text": L("Words."),
        "checks": ((0, 76.90), (20, 76.925), (40, 76.945)),
        "target_mm": 76.974,
        "band_mm": (76.968, 76.980),
    }
    return HoneProgress(**{**base, "forecast": (10, 16, 28), **more})


def timeline() -> JobTimeline:
    rows = (
        ("2026-05-01", L("Bores"), 24, 1, 545, 571),
        ("2026-05-01", L("Walls"), 8, 0, 575, 590),
        ("2026-05-02", L("Honing"), 30, 0, 500, 700),
    )
    return JobTimeline(title=L("When"), text=L("Words."), days=("2026-05-01", "2026-05-02"), rows=rows)


PICTURES = {
    "bore": bore(cut_mm=0.19, governing=(12, "thrust")),
    "bore, no cut": bore(),
    "bore, one reading": bore(rows=((20.0, "thrust", 0.1),), governing=(20.0, "thrust")),
    "bore, diagonal governs": bore(rows=((20.0, "thrust", 0.1), (20.0, "crank", 0.05), (20.0, "diag_a", 0.12)), governing=(20.0, "diag_a")),
    "bore, ten depths": bore(rows=tuple((5.0 + 14 * k, a, 0.01 * (10 - k)) for k in range(10) for a in ("thrust", "crank")), cut_mm=0.1),
    "bore, unworn": bore(rows=((20.0, "thrust", 0.0), (90.0, "thrust", -0.002))),
    "ring": ring(),
    "ring, bare": ring(cut_centre_mm=None, cut_radius_mm=None, walls=()),
    "ring, many walls": ring(walls=tuple((45.0 * k, 3.0 + k) for k in range(8))),
    "ring, far off": ring(cut_centre_mm=(0.6, -0.9), fit_centre_mm=(0.6, -0.8)),
    "face": face(),
    "face, six falling": face(6, -0.0004),
    "face, level, no bores": face(0, 0.0),
    "face, eight": face(8, 0.0009),
    "hone": hone(),
    "hone, one check": hone(checks=((0, 76.9),), forecast=None),
    "hone, none": hone(checks=(), forecast=None),
    "hone, over": hone(checks=((0, 76.9), (90, 76.99)), forecast=None),
    "timeline": timeline(),
}  # fmt: skip
SIZES = [(328, 240), (328, 328), (480, 300), (640, 240), (900, 600)]


def texts(drawing) -> list[Text]:
    return [s for s in drawing.shapes if isinstance(s, Text)]


def every_point(shape):
    match shape:
        case Polyline() | Polygon():
            yield from shape.points
        case Circle() | Arc():
            yield from ((shape.x - shape.r, shape.y - shape.r), (shape.x + shape.r, shape.y + shape.r))
        case Band():
            yield from ((shape.x, shape.y), (shape.x + shape.w, shape.y + shape.h))
        case Text():
            left, top, right, bottom = shape.box
            yield from ((left, top), (right, bottom))


def check(drawing, scale: float) -> None:
    for shape in drawing.shapes:
        assert shape.role in ROLES
        for x, y in every_point(shape):
            assert math.isfinite(x) and math.isfinite(y)
            assert -0.1 <= x <= drawing.width + 0.1 and -0.1 <= y <= drawing.height + 0.1, shape
    words = texts(drawing)
    assert all(t.size >= TEXT_PX * scale - 1e-9 for t in words)
    for a, b in combinations(words, 2):
        (l1, t1, r1, b1), (l2, t2, r2, b2) = a.box, b.box
        assert r1 <= l2 + 0.02 or r2 <= l1 + 0.02 or b1 <= t2 + 0.02 or b2 <= t1 + 0.02, (a.text, b.text)
    # words come last, so that nothing is painted over them
    kinds = [isinstance(s, Text) for s in drawing.shapes]
    first = kinds.index(True) if True in kinds else len(kinds)
    assert all(isinstance(s, Text) or (isinstance(s, Band) and s.role == "plate") for s in drawing.shapes[first:])


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_words_stay_apart_and_on_the_page(name: str, scale: float) -> None:
    for width, height in SIZES:
        for style in (MM, INCH):
            drawing = draw(PICTURES[name], width, height, style, scale)
            check(drawing, scale)
            assert (drawing.title, drawing.text) != ("", "")


@pytest.mark.parametrize("name", [n for n in PICTURES if n.split(",")[0] in ("bore", "ring", "face")])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_exaggeration_is_stated(name: str, scale: float) -> None:
    drawing = draw(PICTURES[name], 328, 240, MM, scale)
    note = " ".join(t.text for t in texts(drawing) if t.role == "note")
    assert re.search(r"enlarged \d[\d.]* times$", note)


def factor(drawing) -> float:
    note = " ".join(t.text for t in texts(drawing) if t.role == "note")
    return float(re.search(r"enlarged ([\d.]+) times", note).group(1))


def test_bore_wear_is_drawn_at_the_stated_scale() -> None:
    drawing = draw(PICTURES["bore"], 400, 320, MM)
    decks = [s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "axis" and s.width == 2.0]
    top = decks[0].points[0][1]
    surface = [s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "wear"]
    unworn = [s for s in drawing.shapes if isinstance(s, Polyline) and s.dashed and s.points[0][0] == s.points[1][0]]
    bottom = surface[0].points[-1][1]
    per_mm = (bottom - top) / 150
    for line, readings in zip(surface, ((0.16, 0.08, 0.02), (0.09, 0.05, 0.01)), strict=False):
        edge = min((u.points[0][0] for u in unworn), key=lambda x: abs(x - line.points[1][0]))
        for (x, y), wear, depth in zip(line.points[1:-1], readings, (12, 60, 130), strict=False):
            assert abs(x - edge) == pytest.approx(wear * factor(drawing) * per_mm, rel=1e-6)
            assert y == pytest.approx(top + depth * per_mm)
    cuts = [s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "cut"]
    assert abs(cuts[0].points[0][0] - cuts[1].points[0][0]) == pytest.approx(
        abs(unworn[0].points[0][0] - unworn[1].points[0][0]) + 2 * 0.19 * factor(drawing) * per_mm
    )


def test_ring_readings_and_cut_are_drawn_at_one_scale() -> None:
    p = PICTURES["ring"]
    drawing = draw(p, 400, 400, MM)
    metal = next(s for s in drawing.shapes if isinstance(s, Circle) and s.role == "metal")
    swept = next(s for s in drawing.shapes if isinstance(s, Polygon) and s.role == "wear")
    radii = [math.hypot(x - metal.x, y - metal.y) for x, y in swept.points]
    base = sum(radii) / len(radii)  # the invented ring's deviations sum to nothing
    for r, (_, d) in zip(radii, sorted(p.points), strict=False):
        assert r - base == pytest.approx(d * factor(drawing) * base / 43.0, abs=1e-6)
    # front (0 degrees) is up, left (90 degrees) is left
    assert swept.points[0] == pytest.approx((metal.x, metal.y - radii[0]))
    assert swept.points[2] == pytest.approx((metal.x - radii[2], metal.y))
    cut = next(s for s in drawing.shapes if isinstance(s, Polygon) and s.role == "cut")
    up = metal.y - cut.points[0][1] - base
    exact = 0.03 + math.sqrt(43.08**2 - 0.06**2) - 43.0
    assert up == pytest.approx(exact * factor(drawing) * base / 43.0, rel=1e-6)


def test_face_heights_and_leans_share_their_scale() -> None:
    drawing = draw(PICTURES["face"], 400, 300, MM)
    line = next(s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "fit")
    (x0, y0), (x1, y1) = line.points
    across = (x1 - x0) / 440  # a twentieth beyond each end
    assert (y0 - y1) / across == pytest.approx(0.0003 * 440 * factor(drawing), rel=1e-6)
    cuts = [s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "cut"]
    assert len(cuts) == 4
    for s in cuts:
        assert (s.points[1][0] - s.points[0][0]) / across == pytest.approx(0.045 * factor(drawing), rel=1e-6)


def test_hone_band_holds_the_target() -> None:
    drawing = draw(PICTURES["hone"], 400, 300, MM)
    band = next(s for s in drawing.shapes if isinstance(s, Band) and s.role == "band")
    target = next(s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "limit")
    y = target.points[0][1]
    assert (y - band.y) / band.h == pytest.approx((76.980 - 76.974) / 0.012)
    said = {t.text for t in texts(drawing)}
    assert {"target 76.974\u202fmm", "now 76.945\u202fmm", "double strokes; 16 to go"} <= said


def test_the_size_now_is_said_clear_of_the_curve() -> None:
    """Where the words for the last check would lie over the line through the checks, another place is taken."""
    for width, height in (*SIZES, (960, 340)):
        for checks in (((0, 76.90), (20, 76.925), (40, 76.945)), ((0, 76.95), (10, 76.951), (90, 76.9512))):
            drawing = draw(hone(checks=checks), width, height, MM)
            (curve,) = (s for s in drawing.shapes if isinstance(s, Polyline) and s.role == "cut")
            now = [t for t in texts(drawing) if t.text.startswith("now")]
            for t in now:
                left, top, right, bottom = t.box
                for (x0, y0), (x1, y1) in pairwise(curve.points):
                    on = [(x0 + k / 50 * (x1 - x0), y0 + k / 50 * (y1 - y0)) for k in range(51)]
                    assert not any(left < x < right and top < y < bottom for x, y in on), (width, height, checks)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("width", [312, 328, 358, 480])
def test_both_axes_of_a_bore_are_named_in_any_letters(width: int, scale: float) -> None:
    for style in (MM, Style(length="mm", language="de")):
        said = [t.text for t in texts(draw(PICTURES["bore"], width, 340 * scale, style, scale))]
        for axis in ("thrust", "crank"):
            assert say(AXES[axis], style) in said, said


def test_a_timeline_cuts_no_name_and_says_what_was_corrected() -> None:
    rows = (
        ("2026-05-01", L("Gasket and compression, with its new size"), 24, 1, 545, 571),
        ("2026-05-01", L("Walls"), 8, 0, 575, 590),
    )
    long = JobTimeline(title=L("When"), text=L("Words."), days=("2026-05-01",), rows=rows)
    high = 22 * (timeline_lines(long, 328, say, 1.0) + 1)
    said = [t.text for t in texts(draw(long, 328, high, MM))]
    assert {"Gasket and compression, with its new size", "Walls", "24 (1 corrected)", "8", "2026-05-01"} <= set(said)
    assert timeline_lines(long, 328, say, 1.0) == 5 and timeline_lines(timeline(), 328, say, 1.0) == 5
    german = Style(length="mm", language="de")
    assert "01.05.2026" in {t.text for t in texts(draw(long, 328, high, german))}


def test_what_matters_is_named() -> None:
    said = {t.text for t in texts(draw(PICTURES["bore"], 328, 240, INCH))}
    assert {"thrust axis", "crank line", "cut 3.0150\u202fin", "unworn 3.0000\u202fin", "3.0126\u202fin"} <= said
    said = {t.text for t in texts(draw(PICTURES["ring"], 328, 240, MM))}
    assert {"front", "cut 86.160\u202fmm", "5.00\u202fmm", "as swept", "fitted circle"} <= said
    said = {t.text for t in texts(draw(PICTURES["face"], 328, 240, MM))}
    assert {
        "front",
        "rear",
        "rises 0.120\u202fmm",
        "1",
        "2",
        "3",
        "4",
        "cylinder 1 leans 0.045\u202fmm along the block",
    } <= said


def test_bad_requests() -> None:
    for size in ((0, 240), (328, -1), (math.nan, 240)):
        with pytest.raises(ValueError):
            draw(PICTURES["bore"], *size)
    with pytest.raises(ValueError):
        draw(PICTURES["bore"], 328, 240, MM, 0.0)
    with pytest.raises(TypeError):
        draw("no picture", 328, 240)


def test_page_leaves_out_what_has_no_room() -> None:
    page = Page(100, 40)
    assert page.put("one", [(2, 10, "start")]) is not None
    assert page.put("two", [(4, 12, "start")]) is None
    assert page.put("two", [(4, 12, "start"), (2, 30, "start")]) is not None
    assert page.put("far too long for this page", [(2, 20, "start")]) is None
    assert Page(120, 40).lines("Wear enlarged 120 times") == ["Wear enlarged", "120 times"]
    assert text_width("", 13) == 0 and text_width("mm", 13) > text_width("ii", 13)


reals = st.floats(-0.5, 0.5)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 180), st.sampled_from(["thrust", "crank", "diag_a"]), reals), min_size=1, max_size=10
    ),
    st.none() | st.floats(0, 1.5),
    st.integers(240, 900),
    st.integers(240, 700),
    st.sampled_from([1.0, 1.3, 2.0]),
)
def test_any_bore_can_be_drawn(rows, cut, width, height, scale) -> None:
    picture = bore(rows=tuple(rows), cut_mm=cut, governing=rows[0][:2])
    drawing = draw(picture, width, height, INCH, scale)
    words = texts(drawing)
    for a, b in combinations(words, 2):
        (l1, t1, r1, b1), (l2, t2, r2, b2) = a.box, b.box
        assert r1 <= l2 + 0.02 or r2 <= l1 + 0.02 or b1 <= t2 + 0.02 or b2 <= t1 + 0.02
    for shape in drawing.shapes:
        assert all(math.isfinite(v) for point in every_point(shape) for v in point)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(reals, min_size=3, max_size=24),
    reals,
    reals,
    reals,
    st.lists(st.floats(0, 360), max_size=8),
    st.integers(328, 900),
    st.integers(240, 700),
)
def test_any_ring_can_be_drawn(deviations, x, y, cut, walls, width, height) -> None:
    n = len(deviations)
    picture = ring(
        points=tuple((360.0 * k / n, d) for k, d in enumerate(deviations)),
        cut_centre_mm=(x, y),
        cut_radius_mm=cut,
        fit_centre_mm=(y, x),
        walls=tuple((a, 4.0) for a in walls),
    )
    check(draw(picture, width, height, INCH), 1.0)
