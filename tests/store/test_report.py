"""The customer's report: everything is in it, nothing hostile gets through, and both forms say the same."""

import io
import re
import unicodedata
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.drawing import draw
from logic.result import Verdict
from logic.say import Style, say
from logic.shapes import Text
from store.customer import not_done, parts_fitted
from store.documents import CautionSeen, Decision, Document, Note, PhotoRef, Skipped, Stamped, Typed, Withdrawn
from store.fields import parts
from store.flow import skip_key, work_of
from store.report import Grid, Pictures, Points, Words, gather, html_report, pdf_report, text_report
from store.sheets import all_sheets, bores, sheet, sizes
from store.telling import Teller
from store.view import View
from tests import sample

from .making import Making, filled

pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")

INCH, METRIC = Style("in"), Style("mm")
HOSTILE = "\"'><script>alert(1)</script><img src=x onerror=alert(2)>&amp;{x}"
TAGS = {
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "h1",
    "h2",
    "h3",
    "p",
    "ul",
    "li",
    "dl",
    "dt",
    "dd",
    "table",
    "colgroup",
    "col",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "div",
    "figure",
    "figcaption",
    "footer",
    "header",
    "img",
    "svg",
    "desc",
    "rect",
    "circle",
    "line",
    "path",
    "polygon",
    "polyline",
    "text",
    "g",
}


class Reader(HTMLParser):
    """Collects what a browser would make of the file."""

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.words, self._inside = set(), [], [], None
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes += [(tag, k, v or "") for k, v in attrs]
        self._inside = tag

    def handle_data(self, data):
        if self._inside != "style":
            self.words.append(data)

    def handle_endtag(self, tag):
        self._inside = None

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def job():
    documents = {d.id: d for d in sample.documents()}
    cards = {d.id: View(d) for d in documents.values() if d.type == "card"}
    (document,) = (d for d in documents.values() if d.type == "job")
    return View(document, cards)


def pdf_words(data):
    return " ".join(
        " ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(data), strict=True).pages
    )


def whole(view, style=Style(), **options):
    """The report with its annex."""
    return gather(view, style, annex=True, **options)


def every_word(report):
    out = [report.title, report.footer, *(x for pair in report.facts for x in pair)]
    for part in report.parts:
        out.append(part.title)
        for block in part.blocks:
            match block:
                case Words():
                    out.append(block.text)
                case Points():
                    out += block.entries
                case Grid():
                    out += [*block.head, *(c for row in block.rows for c in row)]
    return out


# -- what is in it ---------------------------------------------------------------------------------
def test_the_customer_reads_two_pages_and_the_annex_is_made_on_request(job):
    titles = [p.title for p in gather(job, INCH).parts]
    assert titles == ["In short", "Before and after", "Parts fitted", "Not done, and why", "Running-in", "Signed"]
    for style, paper in ((INCH, "Letter"), (Style("mm", language="de"), "A4")):
        pages = pypdf.PdfReader(io.BytesIO(pdf_report(job, style, paper=paper, shop=("Shop", "Street", "Town")))).pages
        assert len(pages) == 2
    more = [p.title for p in whole(job, INCH).parts]
    assert more[: len(titles)] == titles
    for wanted in (
        "What was chosen, and why",
        "The work, step by step",
        "Who did it",
        "Instruments and machines",
        "Every reading",
    ):
        assert wanted in more, more


def part_of(report, title):
    (found,) = (p for p in report.parts if p.title == title)
    return found


def test_before_and_after_for_each_cylinder_with_pictures(job):
    part = part_of(gather(job, INCH), "Before and after")
    grid = next(b for b in part.blocks if isinstance(b, Grid))
    assert [row[0] for row in grid.rows] == [str(c) for c in job.cylinders]
    worn = bores.worn_bores(job)
    for row, cylinder in zip(grid.rows, job.cylinders, strict=True):
        shown = float(row[1].split()[0]) * 25.4
        assert shown == pytest.approx(worn[cylinder].worst.d_mm, abs=0.0002 * 25.4)
        assert "±" in row[1] and "±" in row[3] and row[-1] == "In order"
        # finished, less the piston at 20 °C, is the clearance
        finished, piston, clearance = (float(row[n].split()[0]) for n in (3, 6, 7))
        assert finished - piston == pytest.approx(clearance / 1000, abs=0.00011)
    pictures = next(b for b in part.blocks if isinstance(b, Pictures)).row
    assert [say(p.title) for p in pictures[:2]] == ["Cylinder 1, before", "Cylinder 1, after"]
    assert len(pictures) == 2 * len(job.cylinders)
    for before, after in zip(pictures[::2], pictures[1::2], strict=True):
        assert before.at_least_mm == after.at_least_mm > 0
        assert before.left == after.left == "thrust"


def test_both_pictures_have_the_same_axis_on_the_left(job):
    pictures = next(b for b in part_of(gather(job, INCH), "Before and after").blocks if isinstance(b, Pictures)).row
    for picture in pictures:
        told = [(s.x, s.text) for s in draw(picture, 300, 340, INCH).shapes if isinstance(s, Text)]
        thrust, crank = (next(x for x, text in told if text == name) for name in ("thrust axis", "crank line"))
        assert thrust < crank


def test_nothing_is_called_in_order_that_is_not(job):
    """One ring's gap of cylinder 1 taken out of the log: the bore is no longer in order, and the report says so."""
    gap = next(e for e in job.entries.values() if getattr(e, "what", "") == "rings.gap" and e.at["cylinder"] == 1)
    left = tuple(e for e in job.entries.values() if e is not gap)
    report = gather(View(job.document.model_copy(update={"entries": left}), job.cards), INCH)
    states = [
        row[-1] for row in next(b for b in part_of(report, "Before and after").blocks if isinstance(b, Grid)).rows
    ]
    assert states[0].startswith("Not finished") and states[1:] == ["In order"] * 3
    assert "Finished bores found in order: 3 of 4." in every_word(report)


def test_what_was_decided_is_told_in_the_readers_units(job):
    said = [b.text for b in part_of(gather(job, METRIC), "In short").blocks if isinstance(b, Words)]
    assert said[1] == "Decided on 2025-09-15: +0.762 mm."
    assert said[3] == "The step below, +0.508 mm, would leave cylinders 2, 3 unclean."
    german = every_word(whole(job, Style("mm", language="de")))
    assert not [w for w in german if re.search(r"[0-9]\.[0-9]+ (mm|in|thou|µm)", w)]


def test_parts_fitted_are_those_of_the_order_once_they_are_here():
    def told(where):
        made = Making(nominal=76.2, cylinders=2)
        made.decide("oversize", "step", number=0.762)
        for c in (1, 2):
            made.put(sizes.PISTON, 76.9, cylinder=c)
        made.put(parts.MAKE, "No. 7 of the list")
        made.put(parts.BEARINGS, "rods")
        if where:
            made.put(parts.ORDERED, where)
        return [e for p in parts_fitted(made.view(), Teller(INCH, 0)) for b in p.blocks for e in b.entries]

    here = told("here")
    assert here[0].startswith("2 pistons, +0.030")
    assert "Make or number of the pistons: No. 7 of the list." in here
    assert here[-1] == "Also: new rings, new head gasket, new gaskets and seals, new big-end bearings, oil and filter."
    assert told("yes")[-1].startswith("Ordered, not yet marked as here: new rings")
    assert len(told(None)) == 1  # nobody said that anything was ordered: only what was measured


@pytest.mark.parametrize("stored", ["Customer declined", "Kunde wollte es nicht"])
def test_a_usual_reason_is_told_in_the_readers_language(stored):
    def why(style):
        made = Making(nominal=76.2, cylinders=1)
        made.entries.append(Skipped(**made._head(), what=skip_key("chamfer"), reason=stored))
        (part,) = not_done(made.view(), Teller(style, 0))
        grid = next(b for b in part.blocks if isinstance(b, Grid))
        return next(row[2] for row in grid.rows if row[0] in ("Chamfers", "Fasen"))

    assert why(INCH) == "Customer declined" and why(Style("mm", language="de")) == "Kunde wollte es nicht"


def test_the_shop_stands_over_it_and_there_are_lines_to_sign(job):
    shop = ("Invented Engine Works", "1 Example Lane")
    page, text = Reader(html_report(job, INCH, shop=shop)).text, text_report(job, INCH, shop=shop)
    for said in (page, pdf_words(pdf_report(job, INCH, shop=shop)), text):
        assert said.index("Invented Engine Works") < said.index("1 Example Lane") < said.index("In short")
        assert "Work done by, date" in said and "Received by, date" in said


def test_readings_stand_in_tables_by_cylinder_and_depth(job):
    report = whole(job, INCH)
    at = [p.title for p in report.parts].index("Every reading")
    worn = next(p for p in report.parts[at:] if p.title == "Worn bores")
    grids = [b for b in worn.blocks if isinstance(b, Grid)]
    readings = next(g for g in grids if g.head == ("Cylinder", "Depth", "thrust axis", "crank line"))
    assert len(readings.rows) == 4 * 3
    assert readings.rows[7] == ("3", "2", "+8.0 thou", "+3.5 thou")
    widest = max(
        len(cell) for p in report.parts[at:] for b in p.blocks if isinstance(b, Grid) for r in b.rows for cell in r
    )
    assert widest < 90  # no run-on cells


def test_what_was_chosen_and_why(job):
    report = whole(job, INCH)
    (part,) = (p for p in report.parts if p.title == "What was chosen, and why")
    advised = work_of(job, sheet("oversize")).results[0]
    said = " ".join(
        b.text if isinstance(b, Words) else " ".join(b.entries) for b in part.blocks if isinstance(b, (Words, Points))
    )
    assert say(advised.line, INCH) in said
    for reason in advised.why:
        assert say(reason, INCH) in said
    (figures,) = (b for b in part.blocks if isinstance(b, Grid))
    origin = {label: where for label, _, where in figures.rows}
    assert origin["Finished size"] == "nominal + step; by definition"
    assert origin["Largest reading of all"] == "measured on the job"
    assert all(origin.values())


def test_every_answer_of_every_finished_step_is_said(job):
    words = every_word(whole(job, METRIC))
    for step in all_sheets():
        work = work_of(job, step)
        if step.key in ("bores", "oversize", "final") or not work.done:
            continue
        for result in work.results:
            line = say(result.line, METRIC)
            assert any(w.startswith(line) for w in words), (step.key, line)


def test_both_forms_say_the_same(job):
    html, pdf = Reader(html_report(job, INCH, annex=True)).text, pdf_words(pdf_report(job, INCH, annex=True))
    squeeze = str.maketrans("", "", " \u00a0\u202f\u2011-")
    html, pdf = html.translate(squeeze), pdf.translate(squeeze)
    for part in whole(job, INCH).parts:
        assert part.title.translate(squeeze) in html
        assert part.title.translate(squeeze) in pdf
        for block in part.blocks:
            texts = (
                [block.text] if isinstance(block, Words) else list(block.entries) if isinstance(block, Points) else []
            )
            for text in texts:
                assert " ".join(text.split()).translate(squeeze) in html
                # a page may end in the middle of a sentence: its beginning is enough
                assert " ".join(text.split()[:4]).translate(squeeze) in pdf


def test_units_are_the_readers_own_and_the_other_stands_beside(job):
    inch, metric = gather(job, INCH), gather(job, METRIC)
    assert dict(inch.facts)["Nominal bore"].startswith("3.0000\u202fin (76.200\u202fmm)")
    assert dict(metric.facts)["Nominal bore"].startswith("76.200\u202fmm (3.0000\u202fin)")


def test_the_same_job_makes_the_same_report(job):
    assert html_report(job, INCH) == html_report(job, INCH)
    assert pdf_report(job, INCH) == pdf_report(job, INCH)


# -- the log in it -----------------------------------------------------------------------------------
def small():
    """A one-cylinder job with a correction, a skipped step, a decision, a caution, a note, and a withdrawal."""
    job = Making(nominal=76.2, cylinders=1, title="Small", customer="Customer of the fourth")
    first = job.put(bores.READING, 0.25, cylinder=1, depth=1, axis="thrust")
    job.put(bores.READING, 0.11, cylinder=1, depth=1, axis="crank")

    def head(**more):
        return dict(job._head(), by="Person of the bench", **more)

    fixed = first.model_copy(
        update=dict(head(replaces=first.id), typed=Typed(text="+8.5", typed_unit="thou", value=0.2159, unit="mm"))
    )
    job.entries += [
        fixed,
        Skipped(**head(), what=skip_key("face"), reason="Face was ground last month"),
        Decision(
            **head(),
            what="oversize",
            value="+0.030 in",
            typed=Typed(text="0.030", typed_unit="in", value=0.762, unit="mm"),
            reason="Pistons in hand",
            advised="Bore to +0.020",
        ),
        CautionSeen(**head(), what="eyes"),
        Note(**head(), text="Warm day, no wind"),
    ]
    withdrawn = Withdrawn(**head(replaces=job.entries[1].id))
    job.entries.append(withdrawn)
    job.entries.append(Withdrawn(**head(replaces=withdrawn.id)))
    return job


def grid(report, title):
    (part,) = (p for p in report.parts if p.title == title)
    return next(b for b in part.blocks if isinstance(b, Grid))


def test_corrections_show_what_was_and_what_became():
    rows = grid(whole(small().view(), METRIC), "Corrections").rows
    assert rows[0][1:4] == ("0.25 mm", "+8.5 thou", "Person of the bench")
    assert "Cylinder 1, depth 1, thrust axis" in rows[0][0]
    assert [r[2] for r in rows[1:]] == ["undone", "put back"]
    assert all("crank line" in r[0] and r[1] == "0.11 mm" for r in rows[1:])


def test_entries_that_take_back_each_other_come_to_an_end():
    """No hand makes such a log, but a file can hold it."""
    made = Making(nominal=76.2, cylinders=1)
    ring = [{"id": f"ring{n:05d}", "stamp": f"{1_760_000_100_000 + n:013d}-00000-testtest"} for n in range(3)]
    for n, about in enumerate(ring):
        made.entries.append(Withdrawn(**about, device="testtest", replaces=ring[n - 1]["id"]))
    own = {"id": "itself001", "stamp": "1760000200000-00000-testtest", "device": "testtest"}
    made.entries.append(Withdrawn(**own, replaces=own["id"]))
    assert "Corrections" in html_report(made.view(), annex=True)


def test_a_changed_header_is_a_correction_too():
    job = small()
    document = job.document().model_copy(
        update={
            "earlier": {"customer": (Stamped(value="Somebody else", stamp=job._stamp(0), by="Person of the desk"),)}
        }
    )
    rows = grid(whole(View(document), METRIC), "Corrections").rows
    assert rows[-1][:4] == ("Customer", "Somebody else", "Customer of the fourth", "Person of the desk")


def test_skipped_steps_decisions_cautions_and_notes():
    report = whole(small().view(), METRIC)
    assert grid(report, "Left out").rows[0][:3] == (
        say(sheet("face").title),
        "Face was ground last month",
        "Person of the bench",
    )
    assert grid(report, "Decisions").rows[0][1:5] == (
        "+0.762\u202fmm",  # in the reader's units
        "Pistons in hand",
        "Bore to +0.020",
        "Person of the bench",
    )
    assert grid(report, "Cautions acknowledged").rows[0][0].startswith("Wear eye protection")
    assert any("Warm day, no wind" in w for w in every_word(report))
    assert any("Person of the bench: 7 entries" in w for w in every_word(report))


def test_a_reading_stands_as_typed_beside_its_value():
    report = whole(small().view(), METRIC)
    titles = [p.title for p in report.parts]
    mine = report.parts[titles.index("Every reading") + 1]
    assert mine.title == say(bores.SHEET.title) and mine.blocks[0].text == say(bores.READING.label)
    assert mine.blocks[1].rows == (("1", "1", "+0.216 mm, typed +8.5 thou", "+0.110 mm"),)
    assert mine.blocks[2].text.startswith("Person of the bench")


def test_what_was_typed_is_told_only_where_it_reads_otherwise():
    job = Making(nominal=76.2, cylinders=1)
    for depth, (text, unit, value) in enumerate([("24", "degC", 24.0), ("75", "degF", 23.89)], 1):
        entry = job.put(bores.BLOCK_C, value)
        job.entries[-1] = entry.model_copy(
            update={
                "typed": Typed(text=text, typed_unit=unit, value=value, unit="degC"),
                "at": {},
                "id": f"entry9{depth:05d}",
            }
        )
        if depth == 1:
            (row,) = [
                r
                for p in whole(job.view(), METRIC).parts
                for b in p.blocks
                if isinstance(b, Grid)
                for r in b.rows
                if r[0] == say(bores.BLOCK_C.label)
            ]
            assert row[1] == "24.0\u202f°C"
    rows = [
        r
        for p in whole(job.view(), METRIC).parts
        for b in p.blocks
        if isinstance(b, Grid)
        for r in b.rows
        if r[0] == say(bores.BLOCK_C.label)
    ]
    assert "23.9\u202f°C, typed 75 °F" in rows[0][1]


def test_dates_are_in_the_readers_own_time():
    view = small().view()
    assert dict(gather(view, METRIC).facts)["Work begun"] == "2025-10-09 08:53"
    assert dict(gather(view, METRIC, offset_minutes=-9 * 60).facts)["Work begun"] == "2025-10-08 23:53"


def test_an_empty_job_still_makes_a_report():
    view = View(Document(id="job00001"))
    assert "Job without a name" in html_report(view)
    assert "Job without a name" in pdf_words(pdf_report(view))


def test_a_verdict_is_a_word_never_a_colour_alone():
    words = " ".join(every_word(whole(small().view(), METRIC)))
    first = work_of(small().view(), sheet("oversize")).results[0]
    if first.verdict != Verdict.INFO:
        assert re.search(r"\[(In order|Not sure: measure again|Not in order)", words)


# -- hostile text --------------------------------------------------------------------------------------
def hostile():
    job = Making(
        nominal=76.2,
        cylinders=1,
        title=HOSTILE,
        customer=HOSTILE,
        engine=HOSTILE,
        gauge="cardgauge1",
        cards={
            "cardgauge1": View(
                Document(
                    id="cardgauge1",
                    type="card",
                    header={
                        k: Stamped(value=v, stamp=Making._stamp(0)) for k, v in (("card", "gauge"), ("title", HOSTILE))
                    },
                )
            )
        },
    )
    entry = job.put(bores.READING, 0.25, cylinder=1, depth=1, axis="thrust")

    def head(**more):
        return dict(job._head(), by=HOSTILE, **more)

    job.entries += [
        entry.model_copy(
            update=dict(
                head(replaces=entry.id),
                typed=Typed(text=HOSTILE[:60], typed_unit="mm", value=0.3, unit="mm"),
                instrument="cardgauge1",
            )
        ),
        Skipped(**head(), what=skip_key("walls"), reason=HOSTILE),
        Decision(**head(), what="oversize", value=HOSTILE, reason=HOSTILE, advised=HOSTILE),
        CautionSeen(**head(), what="no.such.caution"),
        Note(**head(), text=HOSTILE),
        PhotoRef(**head(), digest="a" * 64, media="image/png", size=10, caption=HOSTILE),
    ]
    return job.view()


def test_hostile_text_stays_text():
    page = Reader(html_report(hostile(), INCH, annex=True, photos={"a" * 64: b"\x89PNG...."}))
    assert page.tags <= TAGS, page.tags - TAGS
    assert not [
        a
        for a in page.attributes
        if a[1].startswith("on") or a[1] in ("href", "action", "formaction", "srcdoc", "xlink:href")
    ]
    assert all(v.startswith("data:image/png;base64,") for _, k, v in page.attributes if k == "src")
    assert page.text.count("<script>alert(1)</script>") >= 8
    assert HOSTILE in pdf_words(pdf_report(hostile(), INCH, annex=True)).replace("\u00a0", " ")


def test_the_page_fetches_nothing():
    html = html_report(hostile(), INCH, annex=True)
    assert set(re.findall(r"https?://[^\s\"'<>]*", html)) == {"http://www.w3.org/2000/svg"}
    assert "default-src 'none'" in html and "<script" not in html.replace("&lt;script", "")
    assert not re.search(r"url\(|@import|<link|<iframe", html)


@settings(max_examples=25, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=60))
def test_any_name_is_carried_whole(name):
    view = Making(nominal=76.2, cylinders=1, title="x", customer=name).view()
    page = Reader(html_report(view))
    assert page.tags <= TAGS
    if name.strip() and not any(unicodedata.category(c) == "Cc" for c in name):  # control characters are made visible
        assert " ".join(name.split()) in page.text
    pypdf.PdfReader(io.BytesIO(pdf_report(view)), strict=True)


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.15, 0.6, 1.0]), st.booleans())
def test_whatever_was_entered_makes_a_report(seed, density, calm):
    view = filled(seed, density, calm).view()
    for style in (INCH, METRIC):
        assert Reader(html_report(view, style)).tags <= TAGS
    assert len(pypdf.PdfReader(io.BytesIO(pdf_report(view)), strict=True).pages) >= 1


# -- paper and photos ------------------------------------------------------------------------------------
@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612, 792)), (None, (612, 792))])
def test_paper_sizes(paper, size):
    for page in pypdf.PdfReader(io.BytesIO(pdf_report(small().view(), INCH, paper=paper)), strict=True).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)
    metric = pypdf.PdfReader(io.BytesIO(pdf_report(small().view(), METRIC)), strict=True)
    assert float(metric.pages[0].mediabox.width) == pytest.approx(595.28, abs=0.01)


#: A grey 2 × 1 JPEG: header, frame and an end; enough for its size to be read.
JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffc0000b080001000201011100ffd9")


def test_a_photo_is_carried_in_both_forms():
    job = small()
    job.entries.append(PhotoRef(**job._head(), digest="b" * 64, media="image/jpeg", size=10, caption="Scored wall"))
    job.entries.append(
        PhotoRef(**job._head(), digest="c" * 64, media="image/jpeg", size=10, caption="Not on this device")
    )
    html = html_report(job.view(), INCH, photos={"b" * 64: JPEG})
    assert html.count("data:image/jpeg;base64,") == 1 and "Scored wall" in html and "Not on this device" not in html
    reader = pypdf.PdfReader(io.BytesIO(pdf_report(job.view(), INCH, photos={"b" * 64: JPEG})), strict=True)
    objects = [o for page in reader.pages for o in page["/Resources"].get("/XObject", {}).values()]
    assert {(int(o.get_object()["/Width"]), int(o.get_object()["/Height"])) for o in objects} == {(2, 1)}


def test_a_broken_photo_is_named_not_carried():
    job = small()
    job.entries.append(PhotoRef(**job._head(), digest="b" * 64, media="image/jpeg", size=10, caption="Torn photo"))
    for data in (
        b"",
        b"\xff\xd8",
        b"\xff\xd8\xff",
        b"\xff\xd8\xff\xe0\x00\x00\x00\x00\x00\x00\x00\x00",
        b"GIF89a..........",
        JPEG[:20],
    ):
        assert "Torn photo" in pdf_words(pdf_report(job.view(), INCH, photos={"b" * 64: data}))


def test_letters_beyond_the_typeface_are_told_in_the_pdf_and_kept_in_the_page():
    view = Making(nominal=76.2, cylinders=1, title="x", customer="漢字").view()
    assert "漢字" in html_report(view)
    assert "not in this file's typeface" in pdf_words(pdf_report(view))
    assert "not in this file's typeface" not in pdf_words(pdf_report(small().view()))
