"""What came to a document, one line of text for each save.

A line is sixteen hexadecimal digits of the SHA-256 of what follows them, a space, and
one JSON object: the form of the document, its record in the index after this save, and
the rows that are new (``header`` and ``entries``, in the form of :mod:`store.shelf`).
Lines are only ever added, so a save costs the same however long the log is.

Every line stands for itself. One that was cut short or changed is known by its digits and
left out, and those after it still count. Taking a line twice, or one whose rows have since
gone into the document itself, changes nothing: rows are a set.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from .form import canonical, checksum

__all__ = ["Journal", "Saved", "adds", "line_of", "read_journal", "read_line", "rows_of"]

Saved = dict[str, Any]
_DIGITS = 16


def line_of(
    record: Mapping[str, Any], header: Iterable[Mapping[str, Any]], entries: Iterable[Mapping[str, Any]], schema: int
) -> str:
    """The line of one save, without the line feed that ends it."""
    saved: Saved = {"schema_version": schema, "record": dict(record)}
    for name, rows in (("header", list(header)), ("entries", list(entries))):
        if rows:
            saved[name] = rows
    text = json.dumps(saved, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return f"{checksum(text)[:_DIGITS]} {text}"


def read_line(line: str | bytes) -> Saved | None:
    """What a line says, or None if it is not whole."""
    data = line.encode("utf-8", "surrogatepass") if isinstance(line, str) else line
    digits, space, text = data[:_DIGITS], data[_DIGITS : _DIGITS + 1], data[_DIGITS + 1 :]
    if space != b" " or checksum(text)[:_DIGITS].encode() != digits:
        return None
    try:
        saved = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return saved if _is_saved(saved) else None


def _is_saved(saved: Any) -> bool:
    return (
        isinstance(saved, dict)
        and isinstance(saved.get("record"), dict)
        and all(
            isinstance(saved.get(name, []), list) and all(isinstance(row, dict) for row in saved.get(name, ()))
            for name in ("header", "entries")
        )
    )


@dataclass
class Journal:
    """The lines of a log that are whole, in order; how many are ``damaged``; whether the last one was
    cut short before it ended (``torn``), which is what a save that was never called saved leaves."""

    saved: list[Saved] = field(default_factory=list)
    texts: list[bytes] = field(default_factory=list)
    damaged: int = 0
    torn: bool = False

    @property
    def whole(self) -> bool:
        return not self.damaged and not self.torn


def read_journal(data: bytes) -> Journal:
    """Every whole line in a log's bytes."""
    found = Journal()
    *lines, rest = data.split(b"\n")
    for line in (*lines, rest) if rest else lines:
        saved = read_line(line)
        if saved is not None:
            found.saved.append(saved)
            found.texts.append(line)
        elif line is not rest:
            found.damaged += 1
    found.torn = bool(rest)
    return found


def rows_of(tables: Mapping[str, Any]) -> Saved:
    """A database's tables in the form of a journal's line."""
    rows = {name: list(table.values()) if isinstance(table, Mapping) else [] for name, table in tables.items()}
    meta = (rows.get("meta") or [{}])[0]
    version = meta.get("schema_version") if isinstance(meta, Mapping) else None
    return {
        "schema_version": version,
        "record": meta,
        "header": rows.get("header", []),
        "entries": rows.get("entries", []),
    }


def adds(more: list[Saved], pieces: list[Saved]) -> bool:
    """Whether lines hold rows that the other pieces do not."""

    def rows(saved: list[Saved]) -> set[str]:
        return {canonical(row) for line in saved for name in ("header", "entries") for row in line.get(name, ())}

    return bool(rows(more) - rows(pieces)) if more else False
