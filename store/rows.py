"""The rows in which the browser keeps a document, and what they add up to when some are damaged."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from tinydb import TinyDB

from .form import canonical, checksum
from .journal import Saved, adds, read_line, rows_of
from .shelf import Carried, Shelf

__all__ = [
    "DAMAGED",
    "Stored",
    "count_of",
    "is_record",
    "key_of",
    "last_lines",
    "object_of",
    "record_in",
    "row_of",
    "sealed_row",
    "sealed_tables",
    "texts",
    "whole_row",
]

#: A journal longer than this goes into the tables at the first change after a start.
LONG = 200
DAMAGED = ".damaged"
WIDTH = 9


def key_of(id: str, number: int) -> str:
    return f"{id}.{number:0{WIDTH}d}"


def _number(key: Any) -> int:
    digits = str(key)[-WIDTH:]
    return int(digits) if digits.isdecimal() else 0


def texts(values: Any) -> list[Any]:
    return list(values.to_py())


def object_of(text: Any) -> dict[str, Any]:
    """A row's JSON object; an empty one where it is none."""
    try:
        found = json.loads(text) if isinstance(text, str) else None
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def sealed_row(data: Mapping[str, Any]) -> str:
    """An object as a row's text, with the digits that tell whether it is still what was written."""
    rest = {k: v for k, v in data.items() if k != "digits"}
    return json.dumps({**rest, "digits": checksum(canonical(rest))[:16]}, ensure_ascii=False, separators=(",", ":"))


def sealed_tables(tables: Mapping[str, Any], record: Mapping[str, Any]) -> str:
    """A document's tables as a row's text. Its record comes last and has digits of its own, for :func:`record_in`."""
    return sealed_row({**tables, "record": {"1": record, "digits": _digits(record)}})


def record_in(text: Any) -> Any:
    """The record in a row of :func:`sealed_tables`, without reading the rest of it; None where it is not whole.

    A row that an earlier version wrote has no such digits, and is read as a whole.
    """
    at = text.rfind('"record":{"1":') if isinstance(text, str) else -1
    noted = object_of("{" + text[at:]).get("record") if at >= 0 else None
    if isinstance(noted, dict) and isinstance(noted.get("1"), dict) and "digits" in noted:
        return noted["1"] if noted["digits"] == _digits(noted["1"]) else None
    return row_of(whole_row(text).get("record"))


def _digits(data: Mapping[str, Any]) -> str:
    return checksum(canonical(data))[:16]


def last_lines(keys: list[Any]) -> dict[str, str]:
    """The key of the last line of each document's journal, by the document's id. ``keys`` are sorted."""
    return {key[: -WIDTH - 1]: key for key in keys if isinstance(key, str) and _number(key)}


def whole_row(text: Any) -> dict[str, Any]:
    """A row's object, without its digits; an empty one where they do not fit. A row of the first form has none."""
    found = object_of(text)
    digits = found.pop("digits", None)
    return {} if digits is not None and digits != checksum(canonical(found))[:16] else found


def row_of(table: Any) -> Any:
    return table.get("1") if isinstance(table, dict) else None


def is_record(id: Any, row: Any) -> bool:
    return isinstance(row, dict) and row.get("id") == id and isinstance(row.get("revision"), str)


def count_of(value: Any) -> int | None:
    """The number of changes; 0 where none was noted, None where the note is damaged."""
    if value is None:
        return 0
    try:
        return int(value)
    except (ValueError, TypeError):
        return None


class Stored:
    """The rows of one document as they came out of the database: the tables, the lines and their keys."""

    def __init__(self, id: str, base: Any, lines: Any, keys: Any, copied: Any) -> None:
        self.id, self.base = id, base
        self._keys, self._copied = texts(keys), texts(copied)
        self._tables = whole_row(base) if base is not None else {}
        self._lines = [read_line(str(line)) for line in texts(lines)]
        self._next = max(map(_number, (*self._keys, *self._copied)), default=0) + 1

    @property
    def calm(self) -> bool:
        """Whether everything is there and whole, or nothing at all is there."""
        if self.base is None and not self._keys and not self._copied:
            return True
        whole = bool(self._tables) and None not in self._lines
        return whole and self._copied == [key_of(self.id, 0), *self._keys]

    def shelf(self) -> Shelf:
        return self._made(self._tables, [line for line in self._lines if line], mend=len(self._lines) > LONG)

    def _made(self, tables: Any, saved: list[Saved], **more: bool) -> Shelf:
        shelf = Shelf(TinyDB(storage=lambda: Carried(tables or None)), saved, **more)
        shelf.next, shelf.aside = self._next, self.base
        return shelf

    def _pieces(self, spare: dict[str, Any]) -> list[Saved]:
        """The tables, or their copy ``spare`` where they are not whole, and the lines that are."""
        tables = self._tables or spare
        return ([rows_of(tables)] if tables else []) + [line for line in self._lines if line]

    def _copies_alone(self, spare: dict[str, Any], more: list[Saved]) -> Shelf | None:
        """What the copies alone add up to; None where that is nothing."""
        if not spare:
            return None
        alone = self._made(None, [rows_of(spare), *more], mend=True)
        alone.damaged = True
        return alone if alone.document is not None else None

    def pieced(self, copies: list[Any]) -> tuple[Shelf, bool]:
        """What rows and copies add up to, and whether the copies had to help."""
        rows = dict(zip(self._copied, copies, strict=False))
        spare = whole_row(rows.pop(key_of(self.id, 0), None))
        more = list(filter(None, (read_line(str(text)) for text in rows.values())))
        pieces = self._pieces(spare)
        helped = (not self._tables and bool(spare)) or adds(more, pieces)
        shelf = self._made(None, pieces + more, broken=not (pieces or more), mend=True)
        alone = self._copies_alone(spare, more) if shelf.broken else None
        if alone is not None:
            return alone, True
        shelf.damaged |= self.base is not None and not self._tables
        return shelf, helped and not shelf.broken
