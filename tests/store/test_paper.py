"""The PDF pages, read back by pypdf, which had no part in writing them."""

import io
import math
import re

import pydyf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.shapes import ROLES, Arc, Band, Circle, Drawing, Polygon, Polyline, Text
from store.paper import MARGIN, PAPERS, Paper
from store.sketch import Sketch
from store.svg import PAPER
from store.typeface import Typeface, typeface

pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")


def read(data):
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def words(data):
    return [" ".join(page.extract_text().split()) for page in read(data).pages]


def test_sizes_of_the_paper():
    # ISO 216: A4 is 210 × 297 mm; Letter is 8.5 × 11 in
    for name, (w, h) in {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}.items():
        box = read(Paper(name).finish()).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((w, h), abs=0.01)
    with pytest.raises(ValueError):
        Paper("A3")


def test_words_can_be_searched_and_copied():
    paper = Paper(title="Bohrung Größe 3")
    paper.title("Größe Ω ж")
    paper.paragraph("3.0300 in ± 0.0002 in (µ) [x] \\ <b>")
    paper.items(["erstens", "zweitens"])
    data = paper.finish()
    (text,) = words(data)
    for part in ("Größe Ω ж", "3.0300 in ± 0.0002 in (µ) [x] \\ <b>", "erstens", "zweitens"):
        assert part in text
    assert read(data).metadata["/Title"] == "Bohrung Größe 3"
    assert not paper.lacks_letters


def test_letters_the_font_lacks_are_shown_as_missing_and_told():
    paper = Paper()
    paper.paragraph("漢字 😀 name")
    assert paper.lacks_letters
    assert "name" in words(paper.finish())[0]


@pytest.mark.parametrize(
    "said",
    [
        "\u0634\u0631\u0643\u0629 \u0627\u0644\u0645\u062d\u0631\u0643\u0627\u062a",  # Arabic
        "\u05de\u05e0\u05d5\u05e2 \u05d9\u05e9\u05df",  # Hebrew
        "\U0001f527\U0001f468\U0001f3fd\u200d\U0001f527 ok",  # a spanner, a mechanic with a skin tone
        "\u6f22\u5b57",
    ],
)
def test_letters_the_font_lacks_can_still_be_searched_and_copied(said):
    paper = Paper()
    paper.paragraph("name: " + said)
    (text,) = words(paper.finish())
    assert text.removesuffix(" 1 / 1") == "name: " + said


def test_signs_that_belong_together_are_not_cut_apart():
    family = "\U0001f468\u200d\U0001f469\u200d\U0001f467"
    lines = Paper().break_lines(family * 200, 100, 9)
    assert "".join(lines) == family * 200 and len(lines) > 10
    assert all(len(line) % len(family) == 0 for line in lines)
    accented = "e\u0301" * 200
    assert not [line for line in Paper().break_lines(accented, 50, 9) if line[0] == "\u0301"]


def test_a_long_word_costs_in_proportion_to_its_length():
    """Counted, not timed: how often a letter is measured grows with the letters, not with their square."""
    measured = 0

    class Counting(Typeface):
        def letter_width(self, letter):
            nonlocal measured
            measured += 1
            return super().letter_width(letter)

    face = Counting(typeface("text").data)
    paper = Paper()
    paper._font = lambda *, bold: ("text", face)
    counts = []
    for length in (1000, 4000):
        measured = 0
        assert "".join(paper.break_lines("x" * length, 400, 9)) == "x" * length
        counts.append(measured)
    assert counts[1] <= 4.1 * counts[0] and counts[1] < 5 * 4000


def test_the_same_words_make_the_same_file():
    def make():
        paper = Paper("Letter", title="t", footer="f")
        paper.heading("Heading")
        paper.table(["a", "b"], [["1", "2"]], [1, 1])
        return paper.finish()

    assert make() == make()


def test_a_long_table_repeats_its_head_and_loses_no_row():
    paper = Paper()
    paper.table(["Number", "What"], [[f"row{i:03d}", "x " * (i % 40)] for i in range(150)], [1, 3])
    pages = words(paper.finish())
    assert len(pages) > 3
    assert all("Number" in page for page in pages)
    assert re.findall(r"row\d{3}", " ".join(pages)) == [f"row{i:03d}" for i in range(150)]


def test_a_row_longer_than_a_page_is_spread_over_pages():
    paper = Paper()
    paper.table(["A", "B"], [["start", " ".join(f"w{i:04d}" for i in range(3000))], ["end", "y"]], [1, 2])
    pages = words(paper.finish())
    assert len(pages) > 2
    assert re.findall(r"w\d{4}", " ".join(pages)) == [f"w{i:04d}" for i in range(3000)]
    assert "end" in pages[-1]


def test_pages_are_numbered_and_carry_the_footer():
    paper = Paper(footer="Job of the fourth")
    for i in range(90):
        paper.paragraph(f"line {i}")
    pages = words(paper.finish())
    assert len(pages) == 2
    assert all("Job of the fourth" in p and f"{n} / 2" in p for n, p in enumerate(pages, 1))


def test_nothing_is_written_outside_the_margins():
    paper = Paper()
    paper.paragraph("word " * 400 + "W" * 500)
    paper.table(["a", "b"], [["x" * 300, "y " * 300]], [1, 1])
    spots = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            spots.append((tm[4], tm[5]))

    for page in read(paper.finish()).pages:
        page.extract_text(visitor_text=visit)
    assert spots
    assert all(MARGIN - 1 <= x <= paper.width - MARGIN and MARGIN - 13 <= y <= paper.height - MARGIN for x, y in spots)


@settings(max_examples=40, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=200), st.floats(20, 500))
def test_breaking_lines_loses_no_letter_and_keeps_to_the_width(text, width):
    paper = Paper()
    lines = paper.break_lines(text, width, 9)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(paper.measure(line, 9) <= width or len(line) <= 1 for line in lines)


@settings(max_examples=15, deadline=None)
@given(st.text(max_size=120), st.text(max_size=60))
def test_any_text_makes_a_readable_file(text, title):
    title = title.encode("utf-8", "ignore").decode()
    paper = Paper(title=title, footer=title)
    paper.title(title)
    paper.paragraph(text)
    paper.table([title, "b"], [[text, "c"]], [1, 1])
    assert len(read(paper.finish()).pages) >= 1


def test_arcs_are_round():
    # A quarter circle as one cubic is within 0.03 % of the radius (a well-known bound); smaller parts are closer.
    for start, sweep in ((0, 360), (30, -200), (10, 45)):
        page = pydyf.Stream()
        # y grows downward in a drawing and upward on the page: turned over, the arc is as it was
        Sketch(page, write=lambda *_: None, measure=lambda *_: 0.0).arc(0, 0, 100, -start, -sweep)
        numbers = [[float(v) for v in re.findall(rb"-?\d+\.?\d*", bytes(s))] for s in page.stream]
        here = numbers[0]
        assert here == pytest.approx(
            [100 * math.cos(math.radians(start)), 100 * math.sin(math.radians(start))], abs=1e-3
        )
        for x1, y1, x2, y2, x3, y3 in numbers[1:]:
            for t in (k / 20 for k in range(21)):
                a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
                x = a * here[0] + b * x1 + c * x2 + d * x3
                y = a * here[1] + b * y1 + c * y2 + d * y3
                assert math.hypot(x, y) == pytest.approx(100, rel=3e-4)
            here = [x3, y3]
        end = math.radians(start + sweep)
        assert here == pytest.approx([100 * math.cos(end), 100 * math.sin(end)], abs=1e-3)


def drawing(*shapes):
    return Drawing(300, 200, shapes, "Title of it", "In words.")


def test_every_shape_and_role_is_painted():
    shapes = [
        maker(role)
        for role in ROLES
        for maker in (
            lambda r: Polyline(((1, 1), (50, 60)), r, 2, True),
            lambda r: Polygon(((1, 1), (50, 60), (70, 5)), r),
            lambda r: Polygon(((1, 1), (50, 60), (70, 5)), r, 1.5),
            lambda r: Circle(50, 50, 20, r),
            lambda r: Circle(50, 50, 20, r, 1.0),
            lambda r: Arc(50, 50, 20, 0, 90, r),
            lambda r: Band(5, 5, 20, 10, r),
            lambda r: Text(150, 100, f"say {r}", r, 13, "middle"),
        )
    ]
    paper = Paper()
    paper.drawings([drawing(*shapes), drawing()])
    text = words(paper.finish())[0]
    assert "Title of it" in text
    for role in ROLES:
        assert f"say {role}" in text
    assert set(ROLES) <= set(PAPER)


def test_a_drawing_does_not_run_over_the_edge_of_a_page():
    paper = Paper()
    for _ in range(6):
        paper.drawings([drawing(Text(150, 100, "inside", "label"))] * 2)
    assert len(words(paper.finish())) == 2
    paper.drawings([])


def test_papers_have_room_for_two_drawings_side_by_side():
    for name in PAPERS:
        assert Paper(name).inside > 500
