"""Readings as CSV: units in the headings, and nothing a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.fields import Number
from logic.say import L
from store import draft
from store.documents import Document
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.table import safe, table

from .strategies import documents
from .support import Time, reading, run

SIZE = Number(key="trial.reading", label=L("Bore size"), kind="size", help=L("A trial."))


async def _job() -> Document:
    jobs = await Jobs.open(MemoryBackend(), now_ms=Time())
    made = await jobs.create(title="=HYPERLINK(1)", by="@Ada")
    (wrong,) = await jobs.append(made.id, reading("3.0999", cylinder=2))
    warm = SimpleNamespace(text="+68", typed_unit="degF", value=20.0, unit="degC")
    await jobs.append(
        made.id,
        reading("3.0145", cylinder=2, replaces=wrong.id),
        draft.reading("trial.warmth", {"pass": 1}, warm),
        draft.chosen("trial.kind", "=1+1", {"cylinder": 1, "zone": "-a"}),
        draft.decision("trial.step", "0.030", reason="stock"),
        draft.note("=not a reading"),
        by="Ada",
    )
    return await jobs.load(made.id)


def rows(data: bytes, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=delimiter))


def test_one_row_for_each_standing_entry_with_units_in_the_headings() -> None:
    document = run(_job())
    heading, *body = rows(table([document], {SIZE.key: SIZE}))
    assert heading == [
        *("Job", "Time (UTC)", "Who", "What", "Cylinder", "Depth", "Axis", "Pass", "zone"),
        *("Choice", "As typed", "Unit typed", "Value (degC)", "Value (mm)"),
    ]
    found = [dict(zip(heading, row, strict=False)) for row in body]
    assert [r["What"] for r in found] == ["Bore size", "trial.warmth", "trial.kind", "trial.step"]
    assert found[0] | {"Time (UTC)": ""} == {
        **dict.fromkeys(heading, ""),
        "Job": "'=HYPERLINK(1)",
        "Who": "Ada",
        "What": "Bore size",
        "Cylinder": "2",
        "Depth": "1",
        "Axis": "thrust",
        "As typed": "3.0145",
        "Unit typed": "in",
        "Value (mm)": "76.5683",
    }
    assert found[0]["Time (UTC)"] == "2023-11-14 22:13:20", "the corrected reading is not there"
    assert found[1]["As typed"] == "+68" and found[1]["Value (degC)"] == "20.0"
    assert found[2]["Choice"] == "'=1+1" and found[2]["zone"] == "'-a"
    assert found[3]["Choice"] == "0.030"


def test_semicolons_for_where_the_comma_is_decimal() -> None:
    assert rows(table([run(_job())], delimiter=";"), ";")[0][0] == "Job"


# beginnings that OWASP's "CSV Injection" page names, and their full-width forms
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_what_begins_like_a_formula_is_made_text(start: str) -> None:
    assert safe(f"{start}cmd|' /C calc'!A0") == f"'{start}cmd|' /C calc'!A0"
    assert safe(f"words {start}") == f"words {start}"


def test_signed_numbers_stay_numbers() -> None:
    assert [safe(x) for x in ("+12", "-0.5", "-0,5", "3.0145", "")] == ["+12", "-0.5", "-0,5", "3.0145", ""]
    assert safe("-1+1") == "'-1+1" and safe("-2\n=1") == "'-2\n=1"


@settings(max_examples=100, deadline=None)
@given(st.lists(documents, max_size=3))
def test_no_cell_ever_begins_like_a_formula(made: list[Document]) -> None:
    heading, *body = rows(table(made))
    assert all(len(row) == len(heading) for row in body)
    for row in [heading, *body]:
        for cell in row:
            if cell[:1] in "=+-@\t\r\n" and cell:
                float(cell.replace(",", "."))  # only a number may
