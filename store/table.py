"""The readings of a job as CSV for a spreadsheet.

One row for each entry that stands, units in the column headings, times in UTC. Text
that a spreadsheet would take for a formula is written with an apostrophe in front,
which spreadsheets show as text (the way OWASP's page on CSV injection gives).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from logic.fields import Field
from logic.say import L, Line, Style, say

from .clock import ms_of
from .documents import Chosen, Decision, Document, Reading, Typed, value_of
from .view import View

__all__ = ["safe", "table"]

_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
#: What has a row in the table.
_Told = Reading | Chosen | Decision
#: Places in the order of the columns; any others follow in order of their names.
_PLACES: Mapping[str, Line] = {
    "cylinder": L("Cylinder"),
    "depth": L("Depth"),
    "axis": L("Axis"),
    "pass": L("Pass"),
    "check": L("Check"),
    "point": L("Point"),
}


def safe(text: str) -> str:
    """Text that no spreadsheet takes for a formula; a plain signed number stays as it is."""
    if text[:1] in (
        "=",
        "+",
        "-",
        "@",
        "\t",
        "\r",
        "\n",
        "\uff1d",
        "\uff0b",
        "\uff0d",
        "\uff20",
    ) and not _NUMBER.fullmatch(text):
        return "'" + text
    return text


def _told(document: Document) -> list[_Told]:
    return [entry for entry in View(document).live() if isinstance(entry, (Reading, Chosen, Decision))]


def _in_order(used: set[str]) -> list[str]:
    """The parts of places in the order of their columns."""
    return [*(k for k in _PLACES if k in used), *sorted(used - set(_PLACES))]


def _heading(places: Iterable[str], units: Iterable[str], style: Style) -> list[str]:
    return [
        *(say(h, style) for h in (L("Job"), L("Time (UTC)"), L("Who"), L("What"))),
        *(say(_PLACES.get(k, k), style) for k in places),
        *(say(h, style) for h in (L("Choice"), L("As typed"), L("Unit typed"))),
        *(say(L("Value ({unit})", unit=u), style) for u in units),
    ]


def table(
    documents: Iterable[Document],
    fields: Mapping[str, Field] | None = None,
    style: Style = Style(),
    *,
    delimiter: str = ",",
) -> bytes:
    """The standing readings, choices and decisions of some documents as CSV (UTF-8 with a byte order mark).

    ``fields`` names what was asked (key: Field); an unknown key is written as it is.
    The value columns are in the unit of their heading; beside them is what was typed.
    """
    fields = fields or {}
    rows = [(document, entry) for document in documents for entry in _told(document)]
    places = _in_order({k for _, e in rows for k in e.at})
    units = sorted({typed.unit for _, e in rows if (typed := _typed(e)) is not None})
    heading = _heading(places, units, style)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow([safe(h) for h in heading])
    for document, entry in rows:
        writer.writerow(_row(document, entry, places, units, fields, style))
    return out.getvalue().encode("utf-8-sig")


def _typed(entry: _Told) -> Typed | None:
    """The number of an entry, if it says one."""
    return None if isinstance(entry, Chosen) else entry.typed


def _number(typed: Typed | None, units: Iterable[str]) -> list[str]:
    """What was typed, the unit it was typed in, and the number under its unit."""
    if typed is None:
        return ["", "", *("" for _ in units)]
    return [safe(typed.text), safe(typed.typed_unit), *(repr(typed.value) if typed.unit == u else "" for u in units)]


def _row(
    document: Document, entry: _Told, places: list[str], units: list[str], fields: Mapping[str, Field], style: Style
) -> list[str | int]:
    asked = fields.get(entry.what)
    when = datetime.fromtimestamp(ms_of(entry.stamp) / 1000, UTC)
    where = [entry.at.get(k, "") for k in places]
    return [
        safe(str(value_of(document, "title", "") or document.id)),
        when.strftime("%Y-%m-%d %H:%M:%S"),
        safe(entry.by),
        safe(say(asked.label, style) if asked else entry.what),
        *(safe(w) if isinstance(w, str) else w for w in where),
        "" if isinstance(entry, Reading) else safe(entry.value),
        *_number(_typed(entry), units),
    ]
