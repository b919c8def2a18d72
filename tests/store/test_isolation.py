"""One step or one part of the report that breaks off says so, and the rest stands; odd headers and cards are not used."""

import warnings
from dataclasses import replace

import pytest

from logic.result import Verdict
from logic.say import Style
from store import annex, customer, report
from store import flow as flows
from store.documents import Document, Stamped, Typed
from store.errors import Broken
from store.fields import cut
from store.flow import flow, work_of
from store.sheets import all_sheets, sheet
from store.view import View
from tests.bench.fuzz_work import piece

from .making import DEVICE, Making, filled


def stamped(value):
    return Stamped(value=value, stamp=f"{1_760_000_000_000:013d}-00000-{DEVICE}")


def failing(_):
    raise ZeroDivisionError("float division by zero")


@pytest.fixture
def isolated():
    """Breaking off is not an error here."""
    with warnings.catch_warnings(record=True) as seen:
        warnings.simplefilter("always", Broken)
        yield seen


def test_a_step_that_breaks_off_says_so_and_the_others_stand(isolated, monkeypatch):
    view = filled(3, 0.9, False).view()
    broken = replace(sheet("clamp"), work=failing)
    steps = tuple(broken if s.key == "clamp" else s for s in all_sheets())
    found = work_of(view, broken)
    assert found.blocked is not None and not found.done and not found.results
    assert "cannot be worked out" in str(found.blocked) and "ZeroDivisionError" in str(found.blocked)
    states = flow(view, steps)
    assert {s.key for s in states.statuses} == {s.key for s in all_sheets()}
    assert any(issubclass(w.category, Broken) for w in isolated)


def test_where_evidence_cannot_be_checked_there_is_no_yes(isolated, monkeypatch):
    view = filled(3, 0.9, False).view()
    monkeypatch.setattr(flows, "doubts", failing)
    works = [work_of(view, s) for s in all_sheets()]
    assert any(w.results for w in works)
    assert not [r for w in works for r in w.results if r.verdict == Verdict.GO] and not any(w.done for w in works)


@pytest.mark.parametrize(
    ("module", "part"),
    [
        (customer, "in_short"),
        (customer, "before_after"),
        (customer, "parts_fitted"),
        (annex, "_chosen"),
        (annex, "_people"),
        (annex, "_changes"),
        (annex, "_notes"),
        (annex, "_entries"),
        (report, "draw"),
    ],
)
def test_a_part_of_the_report_that_breaks_off_says_so_and_the_rest_stands(isolated, monkeypatch, module, part):
    view = filled(3, 0.9, False).view()
    whole = report.html_report(view, annex=True)
    monkeypatch.setattr(module, part, lambda *_: failing(None))
    page = report.html_report(view, annex=True)
    assert ("A picture cannot be drawn" if part == "draw" else "the rest stands") in page
    assert "the rest stands" not in whole and len(page) > 2000
    assert report.pdf_report(view, Style("mm", "C", "de"), annex=True).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("nominal", None),
        ("nominal", Typed(text="0", typed_unit="mm", value=0.0, unit="mm")),
        ("nominal", Typed(text="-80", typed_unit="mm", value=-80.0, unit="mm")),
        ("nominal", Typed(text="3", typed_unit="in", value=3.0, unit="in")),
        ("nominal", Typed(text="1e9", typed_unit="mm", value=1e9, unit="mm")),
        ("nominal", "big"),
        ("cylinders", 0),
        ("cylinders", 10**9),
        ("cylinders", True),
        ("bar", 3),
        ("gauge", "bar00000"),
    ],
)
def test_a_header_that_cannot_be_is_passed_over(key, value):
    job = filled(5, 0.9, False)
    job.header[key] = stamped(value)
    view = View(
        job.document(), {"bar00000": View(Document(id="bar00000", type="card", header={"card": stamped("bar")}))}
    )
    assert view.nominal_mm is None if key == "nominal" else view.nominal_mm is not None
    assert 1 <= len(view.cylinders) <= 32
    assert view.card("gauge") is None
    for step in all_sheets():
        work_of(view, step)
    assert report.html_report(view)


METER = cut.NOSE


@pytest.mark.parametrize(
    ("value", "unit", "used"),
    [(0.4, "mm", True), (0.4, "in", False), (0.4, "degC", False), (1e6, "mm", False), (-1.0, "mm", False)],
)
def test_a_constant_in_a_cards_header_is_checked_in_unit_and_range(value, unit, used):
    """0.4 in on a card must never be used as 0.4 mm."""
    constant = Typed(text=str(value), typed_unit=unit, value=value, unit=unit)
    card = View(Document(id="bar00000", type="card", header={"card": stamped("bar"), METER.key: stamped(constant)}))
    view = Making(nominal=80.0, cylinders=1, bar="bar00000", cards={"bar00000": card}).view()
    found = view.get(METER)
    assert (found is not None and found.source == "kit card") is used
    assert (view.number(METER) == value) is used or view.number(METER) == METER.default


def test_valid_jobs_put_off_at_random_break_nothing():
    """A few of those that ``python -m tests.bench.fuzz_work`` tries by the ten thousand."""
    made = piece(20_260, 0, 12, 2)
    made.add(piece(20_260, 1, 12, 2))
    assert (made.jobs, made.first) == (24, "")
