"""Checking what a document from elsewhere says, before anything of it is stored."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from logic.fields import Field as Asked
from logic.places import COUNTED
from logic.say import KINDS, LN, L, Line

from .clock import AHEAD_MS, ms_of, reachable
from .documents import Chosen, Decision, Document, Reading, Stamped, Typed, header_fits, value_of
from .errors import Refused
from .form import canonical, checksum, document_of
from .merge import normal, stamps
from .migrations import upgrade

__all__ = ["COMPUTER", "PHONE", "Bad", "Checker", "Limits", "loads", "row_at", "title_in", "where_of"]


@dataclass(frozen=True, kw_only=True)
class Limits:
    """How much a file may hold. ``file_bytes`` bounds the whole but for its photos, which are read one
    at a time; ``part_chars`` bounds one document, and is more than a job here can come to."""

    file_bytes: int = 1_000_000_000
    part_chars: int = 24_000_000
    entries: int = 80_000
    nesting: int = 10
    header_fields: int = 200
    earlier: int = 40_000
    places: int = 12

    @property
    def brackets(self) -> int:
        """Brackets one document may have: an entry has up to three pairs."""
        return 8 * self.entries

    @property
    def commas(self) -> int:
        """Commas one document may have, in prose too."""
        return 25 * self.entries


#: A phone's browser has far less memory than a shop computer.
PHONE = Limits(file_bytes=200_000_000)
COMPUTER = Limits()


class Bad(Exception):
    """Something in JSON that is allowed there and not here."""

    def __init__(self, line: Line, code: str) -> None:
        self.line, self.code = line, code


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise Bad(L("A name stands twice in one place."), "duplicate")
    return made


def _int(text: str) -> int:
    if len(text) > 20:
        raise Bad(L("A number is far too large."), "number")
    return int(text)


def _float(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise Bad(L("A number is far too large."), "number")
    return value


def _constant(text: str) -> Any:
    raise Bad(L("“{word}” stands where a number should be.", word=text), "number")


def loads(text: str) -> Any:
    return json.loads(text, object_pairs_hook=_pairs, parse_int=_int, parse_float=_float, parse_constant=_constant)


_TITLE = re.compile(r'"title"\s*:\s*\{\s*"value"\s*:\s*("(?:[^"\\]|\\.){0,400}")')


def row_at(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def title_in(text: str) -> str:
    match = _TITLE.search(text)
    try:
        return str(json.loads(match[1])) if match else ""
    except ValueError:
        return ""


def where_of(problem: ValidationError) -> str:
    first = problem.errors(include_url=False, include_input=False, include_context=False)[0]
    names = [str(x) for x in first["loc"]]
    return " ".join((*names[:6], first["msg"]))[:200]


class Checker:
    """Checks documents one after the other and collects what is odd but kept."""

    def __init__(self, now_ms: int, here: Mapping[str, str], limits: Limits, fields: Mapping[str, Asked]) -> None:
        self._now_ms = now_ms
        self._types = dict(here)
        self._limits = limits
        self._fields = fields
        self._odd: list[Line] = []
        self._more = 0
        self._ahead_ms = 0
        self._doubled = 0

    def notices(self) -> tuple[Line, ...]:
        lines = list(self._odd)
        if self._more:
            lines.append(L("Other values that are not plausible: {count}.", count=self._more))
        if self._ahead_ms:
            lines.append(
                LN(
                    "Some entries are dated one day ahead of this device. Check the date on both devices; the order of such entries may be wrong.",
                    "Some entries are dated {n} days ahead of this device. Check the date on both devices; the order of such entries may be wrong.",
                    math.ceil(self._ahead_ms / 86_400_000),
                )
            )
        if self._doubled:
            lines.append(L("Entries that shared an id with a different entry, all kept: {count}.", count=self._doubled))
        return tuple(lines)

    def part(self, text: str, start: int, end: int, number: int, count: int) -> tuple[str, Document]:
        """One part of a file: its checksum and the document. Raises Refused."""
        try:
            data = loads(text[start:end])
        except Bad as bad:
            raise Refused(
                L("The part at line {row} is refused. {why}", row=row_at(text, start), why=bad.line), bad.code
            ) from bad
        except (ValueError, RecursionError) as problem:
            row = row_at(text, start) + getattr(problem, "lineno", 1) - 1
            raise Refused(
                L(
                    "The file is damaged at line {row}, in part {number} of {count}.",
                    row=row,
                    number=number,
                    count=count,
                ),
                "damaged",
            ) from problem
        if not isinstance(data, dict) or set(data) != {"sha256", "document"} or not isinstance(data["document"], dict):
            raise Refused(
                L(
                    "Part {number} of {count}, at line {row}, is not a log.",
                    row=row_at(text, start),
                    number=number,
                    count=count,
                ),
                "format",
            )
        total = checksum(canonical(data["document"]))
        if total != data["sha256"]:
            title = title_in(text[start : min(end, start + 100_000)])
            raise Refused(
                L(
                    "Part {number} of {count} (“{title}”, line {row}) is not as it was written: its checksum differs.",
                    number=number,
                    count=count,
                    title=title,
                    row=row_at(text, start),
                ),
                "changed",
            )
        return total, self.document(data["document"], number)

    def document(self, data: dict[str, Any], number: int) -> Document:
        document = self._read(upgrade(data), number)
        if self._types.setdefault(document.id, document.type) != document.type:
            raise Refused(L("Part {number} has the id of something else on this device.", number=number), "type")
        self._times(document, number)
        for key in {*document.header, *document.earlier}:
            for stamped in (*document.earlier.get(key, ()), *filter(None, (document.header.get(key),))):
                self._header(key, stamped, number)
        title = str(value_of(document, "title", "") or document.id)
        for entry in document.entries:
            self._entry(entry, title)
        whole = normal(document)
        self._doubled += len({e.id for e in whole.entries}) - len({e.id for e in document.entries})
        return whole

    def _holds_too_much(self, entries: list[Any], header: dict[str, Any], earlier: dict[str, Any]) -> bool:
        most = max((len(vs) for vs in earlier.values() if isinstance(vs, list)), default=0)
        fields, limits = max(len(header), len(earlier)), self._limits
        return len(entries) > limits.entries or fields > limits.header_fields or most > limits.earlier

    def _read(self, data: dict[str, Any], number: int) -> Document:
        """The document that data are, if they are one and no larger than a document may be."""
        entries, header, earlier = data.get("entries", []), data.get("header", {}), data.get("earlier", {})
        if not (isinstance(entries, list) and isinstance(header, dict) and isinstance(earlier, dict)):
            raise Refused(L("Part {number} is not a log.", number=number), "format")
        if self._holds_too_much(entries, header, earlier):
            raise Refused(L("Part {number} holds more than a log can.", number=number), "size")
        try:
            return document_of(data)
        except ValidationError as problem:
            raise Refused(
                L("Part {number} is not a valid log ({where}).", number=number, where=where_of(problem)), "entry"
            ) from problem
        except (TypeError, AttributeError, ValueError) as problem:
            raise Refused(L("Part {number} is not a log.", number=number), "format") from problem

    def _times(self, document: Document, number: int) -> None:
        latest = max(map(ms_of, stamps(document)), default=0)
        if not reachable(stamps(document)):
            raise Refused(L("Part {number} has a time stamp that no clock gives.", number=number), "stamp")
        if latest > self._now_ms + AHEAD_MS:
            self._ahead_ms = max(self._ahead_ms, latest - self._now_ms)

    def _header(self, key: str, stamped: Stamped, number: int) -> None:
        if not header_fits(key, stamped.value):
            raise Refused(
                L("Part {number} has a header field that makes no sense: {key}.", number=number, key=key), "header"
            )

    def _entry(self, entry: Any, title: str) -> None:
        self._place(getattr(entry, "at", {}), title)
        asked = self._fields.get(getattr(entry, "what", ""))
        if asked is None or not isinstance(entry, (Reading, Chosen, Decision)):
            return
        if not isinstance(entry, Decision) and isinstance(entry, Reading) != (asked.kind in KINDS):
            raise Refused(
                L("An entry of “{title}” is not of the kind asked for: {what}.", title=title, what=asked.label), "kind"
            )
        if isinstance(entry, Chosen):
            self._choice(entry, asked, title)
        elif entry.typed is not None and asked.kind in KINDS:
            self._number(entry.typed, asked, title)

    def _place(self, at: Mapping[str, Any], title: str) -> None:
        if len(at) > self._limits.places or any(
            k in at and (isinstance(at[k], str) or not 1 <= at[k] <= 100_000) for k in COUNTED
        ):
            raise Refused(L("An entry of “{title}” has a place that makes no sense.", title=title), "place")

    def _number(self, number: Typed, asked: Asked, title: str) -> None:
        if number.unit != asked.unit:
            raise Refused(
                L(
                    "An entry of “{title}” is in the wrong unit: {what} in {unit}.",
                    title=title,
                    what=asked.label,
                    unit=number.unit,
                ),
                "unit",
            )
        low, high = asked.low, asked.high
        if (low is not None and number.value < low) or (high is not None and number.value > high):
            self._flag(
                L(
                    "In “{title}” a value is not plausible: {what}, {text} {unit}.",
                    title=title,
                    what=asked.label,
                    text=number.text,
                    unit=number.typed_unit,
                )
            )

    def _choice(self, entry: Chosen, asked: Asked, title: str) -> None:
        if asked.kind == "choice" and entry.value not in {c.value for c in asked.choices}:
            self._flag(
                L(
                    "In “{title}” a choice is not known here: {what}, “{value}”.",
                    title=title,
                    what=asked.label,
                    value=entry.value,
                )
            )

    def _flag(self, line: Line) -> None:
        if len(self._odd) < 20:
            self._odd.append(line)
        else:
            self._more += 1
