"""Export and import: jobs and cards as one JSON text file.

The file is laid out to be read in a text editor, one line for each header field and
each entry, always in the same order. ``export.schema.json`` beside this module
describes every field; it is generated from the models here and in
:mod:`store.documents`. Each document has a checksum, and so has the whole, so a file
that breaks off, or was changed, says where.

A file from elsewhere is checked completely before anything is stored, in bounded
memory and time: it is first scanned for its brackets, so that size, nesting and the
number of things are known before anything is built from it, then its documents are
read one at a time.
"""

from __future__ import annotations

import base64
import binascii
import codecs
import json
import math
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, ValidationError

from logic.fields import Field as Asked
from logic.places import COUNTED
from logic.say import KINDS, LN, L, Line

from .clock import AHEAD_MS, LATEST_MS, ms_of
from .documents import Chosen, Decision, Document, Id, Model, PhotoRef, Reading, Stamped, header_fits, value_of
from .errors import Refused
from .fields import declared
from .form import canonical, checksum, data_of, document_of
from .merge import normal, stamps
from .migrations import upgrade

__all__ = ["FORMAT", "Coming", "ExportFile", "Incoming", "Limits", "examine", "json_schema", "photo_digests", "write"]

FORMAT = 1
SCHEMA_FILE = Path(__file__).with_name("export.schema.json")

Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class Part(Model):
    """One document of an export, with its checksum."""

    sha256: Digest = Field(
        description="SHA-256 of the document as JSON with sorted keys, no spaces, in UTF-8, non-ASCII characters unescaped"
    )
    document: Document = Field(description="the job or kit card")


class Picture(Model):
    """One photo of an export."""

    digest: Digest = Field(description="SHA-256 of the picture's bytes; photo entries name it")
    media: Literal["image/jpeg", "image/png", "image/webp"] = Field(description="the picture's media type")
    data: str = Field(description="the picture's bytes in base64")


class ExportFile(Model):
    """An export: jobs and kit cards of one device at one moment."""

    boreside: Literal["export"] = Field(description="tells that the file is an export of this project")
    format: Literal[1] = Field(description="version of the layout of this file")
    made: Annotated[str, StringConstraints(max_length=40)] = Field(description="when it was made, UTC, ISO 8601")
    device: Id = Field(description="id of the device that made it")
    count: Annotated[int, Field(ge=0)] = Field(description="number of documents")
    documents: tuple[Part, ...] = Field(description="the documents, in order of id")
    photos: tuple[Picture, ...] = Field(default=(), description="photos, where they were exported too")
    sha256: Digest = Field(
        description="SHA-256 of these, each ended by LF: made, device, the documents' checksums, the photos' digests"
    )


def json_schema() -> str:
    """The JSON Schema (draft 2020-12) of an export file, as text. Checked in as ``export.schema.json``."""
    schema = ExportFile.model_json_schema()
    for definition in schema["$defs"].values():
        if "kind" in definition.get("properties", {}):
            definition["required"] = ["kind", *definition["required"]]
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


# -- writing ---------------------------------------------------------------------------


def _line(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(", ", ": "), allow_nan=False)


def _block(open_: str, lines: list[str], close: str) -> str:
    return f"{open_}\n" + ",\n".join(lines) + f"\n{close}" if lines else open_ + close


def _document_text(data: Mapping[str, Any]) -> str:
    parts = [f'"{k}": {_line(data[k])}' for k in ("schema_version", "id", "type")]
    parts.append('"header": ' + _block("{", [f"  {_line(k)}: {_line(v)}" for k, v in data["header"].items()], " }"))
    if "earlier" in data:
        lines = [
            f"  {_line(k)}: " + _block("[", [f"   {_line(v)}" for v in vs], "  ]") for k, vs in data["earlier"].items()
        ]
        parts.append('"earlier": ' + _block("{", lines, " }"))
    parts.append('"entries": ' + _block("[", [f"  {_line(e)}" for e in data["entries"]], " ]"))
    return "{\n " + ",\n ".join(parts) + "\n}"


def _whole(made: str, device: str, sums: Iterable[str]) -> str:
    return checksum("".join(f"{s}\n" for s in (made, device, *sums)))


def write(
    documents: Iterable[Document],
    *,
    device: str,
    made_ms: int,
    photos: Mapping[str, tuple[str, bytes]] | None = None,
) -> bytes:
    """Documents (and photos by digest: media type, bytes) as the bytes of an export file."""
    parts, sums = [], []
    for document in sorted(documents, key=lambda d: d.id):
        data = data_of(document)
        sums.append(checksum(canonical(data)))
        parts.append(f'{{"sha256": "{sums[-1]}", "document": {_document_text(data)}}}')
    pictures = []
    for digest, (media, picture) in sorted((photos or {}).items()):
        sums.append(digest)
        pictures.append(_line({"digest": digest, "media": media, "data": base64.b64encode(picture).decode()}))
    made = datetime.fromtimestamp(made_ms / 1000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    lines = [
        '"boreside": "export"',
        f'"format": {FORMAT}',
        f'"made": "{made}"',
        f'"device": "{device}"',
        f'"count": {len(parts)}',
        '"documents": ' + _block("[", parts, "]"),
        *(['"photos": ' + _block("[", pictures, "]")] if pictures else []),
        f'"sha256": "{_whole(made, device, sums)}"',
    ]
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode()


def photo_digests(documents: Iterable[Document]) -> set[str]:
    """The digests of every photo the documents mention."""
    return {e.digest for d in documents for e in d.entries if isinstance(e, PhotoRef)}


# -- reading ---------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Limits:
    """How much a file may hold. ``file_bytes`` bounds the whole, ``part_chars`` one document."""

    file_bytes: int = 1_000_000_000
    part_chars: int = 24_000_000
    entries: int = 80_000
    nesting: int = 10
    header_fields: int = 200
    earlier: int = 2_000
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
PHONE = Limits(file_bytes=48_000_000, part_chars=8_000_000, entries=30_000)
COMPUTER = Limits()


@dataclass(frozen=True, slots=True)
class Coming:
    """A document in an examined file. ``new`` is True if this device does not have it yet."""

    id: str
    type: str
    title: str
    customer: str
    entries: int
    new: bool


@dataclass(frozen=True)
class Incoming:
    """A file that was examined and found good.

    ``notices`` says what is odd but kept: values that are not plausible, time stamps
    ahead of this device's clock. ``documents()`` gives the documents one at a time.
    """

    coming: tuple[Coming, ...]
    notices: tuple[Line, ...]
    made: str
    device: str
    photos: Mapping[str, tuple[str, bytes]]
    _text: str = field(repr=False)
    _spans: tuple[tuple[int, int], ...] = field(repr=False)

    @property
    def count(self) -> int:
        """Number of documents."""
        return len(self._spans)

    def documents(self) -> Iterator[Document]:
        """The documents in normal form, each built only when it is asked for."""
        for start, end in self._spans:
            yield normal(document_of(upgrade(_loads(self._text[start:end])["document"])))


class _Bad(Exception):
    """Something in JSON that is allowed there and not here."""

    def __init__(self, line: Line, code: str) -> None:
        self.line, self.code = line, code


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise _Bad(L("A name stands twice in one place."), "duplicate")
    return made


def _int(text: str) -> int:
    if len(text) > 20:
        raise _Bad(L("A number is far too large."), "number")
    return int(text)


def _float(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise _Bad(L("A number is far too large."), "number")
    return value


def _constant(text: str) -> Any:
    raise _Bad(L("“{word}” stands where a number should be.", word=text), "number")


def _loads(text: str) -> Any:
    return json.loads(text, object_pairs_hook=_pairs, parse_int=_int, parse_float=_float, parse_constant=_constant)


#: Up to and with the next bracket outside a text; a text that does not end runs to the end.
_BRACKET = re.compile(r'(?:[^"\[\]{}]++|"(?:[^"\\]++|\\.)*+(?:"|\Z))*+([\[\]{}])', re.DOTALL)
_DOCUMENTS = re.compile(r'"documents"\s{0,20}:\s{0,20}\Z')
_TITLE = re.compile(r'"title"\s*:\s*\{\s*"value"\s*:\s*("(?:[^"\\]|\\.){0,400}")')


@dataclass
class _Scan:
    """Where the documents of a file lie. ``broken`` is where an unfinished one starts, if the file breaks off."""

    spans: list[tuple[int, int]] = field(default_factory=list)
    inside: tuple[int, int] | None = None
    complete: bool = False
    broken: int | None = None


def _scan(text: str, limits: Limits) -> _Scan:
    found = _Scan()
    depth, position, start, brackets, opened = 0, 0, 0, 0, -1
    while match := _BRACKET.match(text, position):
        position = match.end()
        if match[1] in "[{":
            depth += 1
            if depth > limits.nesting:
                raise Refused(L("Line {row} is nested too deeply for a log.", row=_row(text, position)), "nesting")
            if (
                depth == 2
                and match[1] == "["
                and opened < 0
                and _DOCUMENTS.search(text, max(0, position - 60), position - 1)
            ):
                opened = position
            if depth == 3 and opened >= 0 and found.inside is None:
                start, brackets = position - 1, 0
        else:
            depth -= 1
            if depth < 0:
                break
            if depth == 2 and opened >= 0 and found.inside is None:
                _check_part(text, start, position, limits)
                found.spans.append((start, position))
            if depth == 1 and opened >= 0 and found.inside is None:
                found.inside = (opened, position - 1)
            if depth == 0:
                found.complete = not text[position:].strip()
                return found
        brackets += 1
        if brackets > limits.brackets:
            raise Refused(L("The part at line {row} holds more than a log can.", row=_row(text, start)), "size")
    if depth >= 3 and opened >= 0 and found.inside is None:
        found.broken = start
    return found


def _check_part(text: str, start: int, end: int, limits: Limits) -> None:
    if end - start > limits.part_chars or text.count(",", start, end) > limits.commas:
        raise Refused(L("The part at line {row} holds more than a log can.", row=_row(text, start)), "size")


def _row(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _title_in(text: str) -> str:
    match = _TITLE.search(text)
    try:
        return str(json.loads(match[1])) if match else ""
    except ValueError:
        return ""


def examine(
    data: bytes,
    *,
    now_ms: int,
    here: Mapping[str, str] | None = None,
    limits: Limits | None = None,
    whole_parts: bool = False,
    fields: Mapping[str, Asked] | None = None,
) -> Incoming:
    """Check an export file completely. Raises Refused, with a sentence that says where and what.

    ``here`` maps the ids on this device to their type. With ``whole_parts`` a file that
    breaks off is accepted for the documents that are whole. ``fields`` are the fields
    readings are checked against (the project's own if None).
    """
    limits = limits or (PHONE if sys.platform == "emscripten" else COMPUTER)
    if len(data) > limits.file_bytes:
        raise Refused(L("The file is too large: at most {count} MB.", count=limits.file_bytes // 1_000_000), "size")
    text = _decode(data)
    scan = _scan(text, limits)
    notices: list[Line] = []
    if scan.complete:
        head = _head(text, scan, limits)
    else:
        problem = _breaks_off(text, scan, limits)
        if not whole_parts or not scan.spans:
            raise problem
        notices.append(problem.line)
        head = None
    checker = _Checker(now_ms, here or {}, limits, declared() if fields is None else fields)
    sums, coming = [], []
    for number, (start, end) in enumerate(scan.spans, start=1):
        total, document = checker.part(text, start, end, number, len(scan.spans))
        sums.append(total)
        title = value_of(document, "title", "")
        customer = value_of(document, "customer", "")
        coming.append(
            Coming(document.id, document.type, title, customer, len(document.entries), document.id not in (here or {}))
        )
    photos: dict[str, tuple[str, bytes]] = {}
    if head is not None:
        whole = _whole(head.made, head.device, [*sums, *(p.digest for p in head.photos)])
        if head.count != len(scan.spans) or head.sha256 != whole:
            raise Refused(L("Parts of the file are missing, or were added after it was written."), "changed")
        photos = {p.digest: (p.media, _picture(p)) for p in head.photos}
    return Incoming(
        coming=tuple(coming),
        notices=(*notices, *checker.notices()),
        made="" if head is None else head.made,
        device="" if head is None else head.device,
        photos=photos,
        _text=text,
        _spans=tuple(scan.spans),
    )


def _decode(data: bytes) -> str:
    decoder = codecs.getincrementaldecoder("utf-8-sig")("strict")
    try:
        text = decoder.decode(data)
    except UnicodeDecodeError as problem:
        raise Refused(L("This is not a file that Boreside wrote: it is not text."), "format") from problem
    if not text.lstrip().startswith("{"):
        raise Refused(L("This is not a file that Boreside wrote."), "format")
    return text


def _head(text: str, scan: _Scan, limits: Limits) -> ExportFile:
    rest = text if scan.inside is None else text[: scan.inside[0]] + text[scan.inside[1] :]
    if rest.count(",") > limits.commas:
        raise Refused(L("The file holds too much besides its documents."), "size")
    try:
        data = _loads(rest)
    except _Bad as bad:
        raise Refused(bad.line, bad.code) from bad
    except (ValueError, RecursionError) as problem:
        if scan.inside is None:
            raise Refused(L("This is not a file that Boreside wrote."), "format") from problem
        raise Refused(L("The file is damaged before or after its documents."), "damaged") from problem
    if not isinstance(data, dict) or data.get("boreside") != "export":
        raise Refused(L("This is not a file that Boreside wrote."), "format")
    version = data.get("format")
    if isinstance(version, int) and version > FORMAT:
        raise Refused(L("This file was made by a newer Boreside. Update this copy first."), "newer")
    for name in ("documents", "photos"):
        if isinstance(data.get(name), list):
            data[name] = tuple(data[name])
    try:
        return ExportFile.model_validate(data)
    except ValidationError as problem:
        raise Refused(
            L("The beginning or the end of the file is not as Boreside writes it ({where}).", where=_where(problem)),
            "format",
        ) from problem


def _where(problem: ValidationError) -> str:
    first = problem.errors(include_url=False, include_input=False, include_context=False)[0]
    names = [str(x) for x in first["loc"]]
    return " ".join((*names[:6], first["msg"]))[:200]


def _breaks_off(text: str, scan: _Scan, limits: Limits) -> Refused:
    if '"boreside"' not in text[:200]:
        return Refused(L("This is not a file that Boreside wrote."), "format")
    position, title = len(text), ""
    if scan.broken is not None:
        part = text[scan.broken : scan.broken + limits.part_chars]
        title = _title_in(part[:100_000])
        try:
            _loads(part)
        except json.JSONDecodeError as problem:
            position = scan.broken + problem.pos
        except (_Bad, ValueError, RecursionError):
            pass
    facts = {"row": _row(text, position), "number": len(scan.spans) + 1, "whole": len(scan.spans)}
    if title:
        line = L(
            "The file breaks off or is damaged at line {row}, in part {number} (“{title}”). Parts before that, which are whole: {whole}.",
            title=title,
            **facts,
        )
    else:
        line = L(
            "The file breaks off or is damaged at line {row}, in part {number}. Parts before that, which are whole: {whole}.",
            **facts,
        )
    return Refused(line, "truncated")


def _picture(picture: Picture) -> bytes:
    try:
        data = base64.b64decode(picture.data, validate=True)
    except (binascii.Error, ValueError) as problem:
        raise Refused(L("A photo in the file is damaged."), "damaged") from problem
    if checksum(data) != picture.digest:
        raise Refused(L("A photo in the file is damaged."), "damaged")
    return data


# -- checking what a document says -------------------------------------------------------


class _Checker:
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
            lines.append(L("Values that are not plausible besides those: {count}.", count=self._more))
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
            data = _loads(text[start:end])
        except _Bad as bad:
            raise Refused(
                L("The part at line {row} is refused. {why}", row=_row(text, start), why=bad.line), bad.code
            ) from bad
        except (ValueError, RecursionError) as problem:
            row = _row(text, start) + getattr(problem, "lineno", 1) - 1
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
                    row=_row(text, start),
                    number=number,
                    count=count,
                ),
                "format",
            )
        total = checksum(canonical(data["document"]))
        if total != data["sha256"]:
            title = _title_in(text[start : min(end, start + 100_000)])
            raise Refused(
                L(
                    "Part {number} of {count} (“{title}”, line {row}) is not as it was written: its checksum differs.",
                    number=number,
                    count=count,
                    title=title,
                    row=_row(text, start),
                ),
                "changed",
            )
        return total, self.document(data["document"], number)

    def document(self, data: dict[str, Any], number: int) -> Document:
        data = upgrade(data)
        entries, header, earlier = data.get("entries", []), data.get("header", {}), data.get("earlier", {})
        if not (isinstance(entries, list) and isinstance(header, dict) and isinstance(earlier, dict)):
            raise Refused(L("Part {number} is not a log.", number=number), "format")
        if (
            len(entries) > self._limits.entries
            or max(len(header), len(earlier)) > self._limits.header_fields
            or any(isinstance(vs, list) and len(vs) > self._limits.earlier for vs in earlier.values())
        ):
            raise Refused(L("Part {number} holds more than a log can.", number=number), "size")
        try:
            document = document_of(data)
        except ValidationError as problem:
            raise Refused(
                L("Part {number} is not a valid log ({where}).", number=number, where=_where(problem)), "entry"
            ) from problem
        except (TypeError, AttributeError, ValueError) as problem:
            raise Refused(L("Part {number} is not a log.", number=number), "format") from problem
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

    def _times(self, document: Document, number: int) -> None:
        latest = max(map(ms_of, stamps(document)), default=0)
        if latest > LATEST_MS:
            raise Refused(L("Part {number} has a time stamp that no clock gives.", number=number), "stamp")
        if latest > self._now_ms + AHEAD_MS:
            self._ahead_ms = max(self._ahead_ms, latest - self._now_ms)

    def _header(self, key: str, stamped: Stamped, number: int) -> None:
        if not header_fits(key, stamped.value):
            raise Refused(
                L("Part {number} has a header field that makes no sense: {key}.", number=number, key=key), "header"
            )

    def _entry(self, entry: Any, title: str) -> None:
        at = getattr(entry, "at", {})
        if len(at) > self._limits.places or any(
            k in at and (isinstance(at[k], str) or not 1 <= at[k] <= 100_000) for k in COUNTED
        ):
            raise Refused(L("An entry of “{title}” has a place that makes no sense.", title=title), "place")
        asked = self._fields.get(getattr(entry, "what", ""))
        if asked is None or not isinstance(entry, (Reading, Chosen, Decision)):
            return
        if not isinstance(entry, Decision) and isinstance(entry, Reading) != (asked.kind in KINDS):
            raise Refused(
                L("An entry of “{title}” is not of the kind asked for: {what}.", title=title, what=asked.label), "kind"
            )
        number = None if isinstance(entry, Chosen) else entry.typed
        if number is not None and asked.kind in KINDS:
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
        elif (
            asked.kind == "choice" and isinstance(entry, Chosen) and entry.value not in {c.value for c in asked.choices}
        ):
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


if __name__ == "__main__":
    SCHEMA_FILE.write_text(json_schema(), encoding="utf-8")
