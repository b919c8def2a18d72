"""The report in a real Chromium: it fetches nothing, runs nothing, fits a phone, and prints on A4 and Letter."""

import io
import re
import unicodedata

import pytest

from logic.say import Style
from store.documents import Note
from store.report import gather, html_report
from store.view import View
from tests import sample

from .harness import FLAGS, chromium

pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")

HOSTILE = "<script>document.title='taken'</script><img src='http://127.0.0.1:9/x' onerror=\"document.title='taken'\">"


@pytest.fixture(scope="module")
def page(playwright_now, tmp_path_factory):
    documents = {d.id: d for d in sample.documents()}
    cards = {d.id: View(d) for d in documents.values() if d.type == "card"}
    view = View(next(d for d in documents.values() if d.type == "job"), cards)
    view.add(
        Note(
            id="hostile00001",
            stamp=f"{1_790_000_000_000:013d}-00000-testtest",
            device="testtest",
            by=HOSTILE,
            text=HOSTILE,
        )
    )
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(html_report(view, Style("in"), annex=True), encoding="utf-8")
    browser = playwright_now.chromium.launch(executable_path=chromium(), args=FLAGS)
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.asked = []
    page.on("request", lambda request: page.asked.append(request.url))
    page.goto(path.as_uri())
    page.parts = [p.title for p in gather(view, Style("in"), annex=True).parts]
    yield page
    browser.close()


def test_nothing_is_fetched_and_nothing_hostile_runs(page):
    assert [u for u in page.asked if not u.startswith("file:")] == []
    assert page.title().startswith("Bore report")
    assert page.locator("script").count() == 0
    assert HOSTILE in page.locator("body").inner_text()


@pytest.mark.parametrize("width", [360, 390, 820, 1280])
def test_it_fits_the_screen(page, width):
    page.set_viewport_size({"width": width, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_it_prints_whole_on_either_paper(page, paper, size):
    pdf = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False)))
    box = pdf.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=1.5)

    def bare(text):  # letters set as one sign ("fi") taken apart, spaces left out
        return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))

    text = bare("".join(p.extract_text() for p in pdf.pages))
    for title in page.parts:
        assert bare(title) in text
    # no page is empty, and every table keeps within the paper: nothing is cut off at the right
    assert all(p.extract_text().strip() for p in pdf.pages)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": round(size[0] * 96 / 72 - 98), "height": 1000})
    assert page.evaluate(
        "[...document.querySelectorAll('td,th,figure,p,li')].every(e => e.getBoundingClientRect().right <= innerWidth + 1)"
    )
    page.emulate_media(media="screen")
