"""Export and import: jobs and cards as one JSON text file.

The file is laid out to be read in a text editor, one line for each header field and
each entry, always in the same order. ``export.schema.json`` beside this module
describes every field; it is generated from the models here and in
:mod:`store.documents`. Each document has a checksum, and so has the whole, so a file
that breaks off, or was changed, says where.

A file from elsewhere is checked completely before anything is stored, in bounded
memory and time: it is first scanned for its brackets (:mod:`store.brackets`), so that size, nesting and the
number of things are known before anything is built from it, then its documents are
read one at a time.
"""

from __future__ import annotations

import base64
import codecs
import json
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, ValidationError

from logic.fields import Field as Asked
from logic.say import L, Line

from .brackets import Scan, scan
from .checking import COMPUTER, PHONE, Bad, Checker, Limits, loads, row_at, title_in, where_of
from .documents import Document, Id, Model, PhotoRef, value_of
from .errors import Refused
from .fields import declared
from .form import canonical, checksum, data_of, document_of
from .merge import normal
from .migrations import upgrade
from .pieces import AsyncSource, Held, Pictures, Source, Thin, thinned, thinned_slowly

__all__ = [
    "FORMAT",
    "Coming",
    "ExportFile",
    "Incoming",
    "Limits",
    "Writer",
    "examine",
    "examine_slowly",
    "json_schema",
    "photo_digests",
    "write",
]

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


class Writer:
    """An export file, piece by piece: the documents, then each photo, then the end.

    ``made_ms`` is when, in milliseconds since 1970. Every document is handed to :meth:`add` first, of
    which only its text is kept; photos come in order of their digests. ``sums`` are the
    checksums of the documents and the digests of the photos written so far.
    """

    def __init__(self, *, device: str, made_ms: int) -> None:
        self._device = device
        self._made = datetime.fromtimestamp(made_ms / 1000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
        self._texts: dict[str, tuple[str, bytes]] = {}
        self.sums: list[str] = []
        self.digests: set[str] = set()
        self._photos = 0

    def add(self, document: Document) -> None:
        """One document."""
        data = data_of(document)
        total = checksum(canonical(data))
        self._texts[document.id] = total, f'{{"sha256": "{total}", "document": {_document_text(data)}}}'.encode()
        self.digests |= photo_digests((document,))

    def begin(self) -> Iterator[bytes]:
        """The beginning and the documents, each let go once it was given."""
        head = ['"boreside": "export"', f'"format": {FORMAT}', f'"made": "{self._made}"', f'"device": "{self._device}"']
        opening = ",\n".join((*head, f'"count": {len(self._texts)}', '"documents": ['))
        yield ("{\n" + opening).encode()
        for id in sorted(self._texts):
            total, text = self._texts.pop(id)
            yield (b",\n" if self.sums else b"\n") + text
            self.sums.append(total)
        yield b"\n]" if self.sums else b"]"

    def photo(self, digest: str, media: str, data: bytes) -> bytes:
        """One photo."""
        opening = ',\n"photos": [\n' if not self._photos else ",\n"
        self._photos += 1
        self.sums.append(digest)
        line = _line({"digest": digest, "media": media, "data": base64.b64encode(data).decode()})
        return (opening + line).encode()

    def end(self) -> bytes:
        """The end, with the checksum of the whole."""
        closing = "\n]" if self._photos else ""
        return f'{closing},\n"sha256": "{_whole(self._made, self._device, self.sums)}"\n}}\n'.encode()


def write(
    documents: Iterable[Document],
    *,
    device: str,
    made_ms: int,
    photos: Mapping[str, tuple[str, bytes]] | None = None,
) -> bytes:
    """Documents (and photos by digest: media type, bytes) as the bytes of an export file."""
    writer = Writer(device=device, made_ms=made_ms)
    for document in documents:
        writer.add(document)
    pictures = (writer.photo(digest, *picture) for digest, picture in sorted((photos or {}).items()))
    return b"".join((*writer.begin(), *pictures, writer.end()))


def photo_digests(documents: Iterable[Document]) -> set[str]:
    """The digests of every photo the documents mention."""
    return {e.digest for d in documents for e in d.entries if isinstance(e, PhotoRef)}


# -- reading ---------------------------------------------------------------------------


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
    ahead of this device's clock. ``documents()`` gives the documents one at a time, ``photos``
    reads each only when it is asked for. ``aside`` are the parts that were refused, each as
    the sentence that says why and its text.
    """

    coming: tuple[Coming, ...]
    notices: tuple[Line, ...]
    made: str
    device: str
    photos: Pictures
    aside: tuple[tuple[Refused, str], ...]
    _text: str = field(repr=False)
    _spans: tuple[tuple[int, int], ...] = field(repr=False)

    @property
    def count(self) -> int:
        """Number of documents."""
        return len(self._spans)

    def documents(self) -> Iterator[Document]:
        """The documents in normal form, each built only when it is asked for."""
        for start, end in self._spans:
            yield normal(document_of(upgrade(loads(self._text[start:end])["document"])))


def examine(
    data: bytes | Source,
    *,
    now_ms: int,
    here: Mapping[str, str] | None = None,
    limits: Limits | None = None,
    whole_parts: bool = False,
    apart: bool = False,
    fields: Mapping[str, Asked] | None = None,
) -> Incoming:
    """Check an export file completely. Raises Refused, with a sentence that says where and what.

    With ``apart`` a part that must be refused does not refuse the others: it is kept aside.

    ``here`` maps the ids on this device to their type. With ``whole_parts`` a file that
    breaks off is accepted for the documents that are whole. ``fields`` are the fields
    readings are checked against (the project's own if None).
    """
    limits = limits or _limits()
    source = Held(data) if isinstance(data, (bytes, bytearray, memoryview)) else data
    thin = thinned(source, limits.file_bytes)
    return _examined(thin, source, now_ms, here or {}, limits, whole_parts, apart, fields)


async def examine_slowly(
    source: AsyncSource, *, now_ms: int, here: Mapping[str, str] | None = None, whole_parts: bool = False
) -> Incoming:
    """The same for a source whose reading has to be waited for, such as a locked file; bad parts are kept aside."""
    limits = _limits()
    thin = await thinned_slowly(source, limits.file_bytes)
    return _examined(thin, source, now_ms, here or {}, limits, whole_parts, True, None)


def _limits() -> Limits:
    return PHONE if sys.platform == "emscripten" else COMPUTER


def _examined(
    thin: Thin,
    source: Source | AsyncSource,
    now_ms: int,
    here: Mapping[str, str],
    limits: Limits,
    whole_parts: bool,
    apart: bool,
    fields: Mapping[str, Asked] | None,
) -> Incoming:
    text = _decode(thin.text)
    lies = scan(text, limits)
    head, notices = _head_or_notice(text, lies, limits, whole_parts)
    checker = Checker(now_ms, here, limits, declared() if fields is None else fields)
    looked = _look(text, lies, checker, here, apart)
    photos = Pictures(source, thin, {} if head is None else {p.digest: p for p in head.photos})
    if head is not None:
        _check_whole(head, lies, looked)
        notices += _damaged_photos(photos, apart)
    notices += [L("Left out and kept aside: {why}", why=refused.line) for refused, _ in looked.aside]
    return Incoming(
        coming=tuple(looked.coming),
        notices=(*notices, *checker.notices()),
        made="" if head is None else head.made,
        device="" if head is None else head.device,
        photos=photos,
        aside=tuple(looked.aside),
        _text=text,
        _spans=tuple(looked.spans),
    )


def _head_or_notice(text: str, lies: Scan, limits: Limits, whole_parts: bool) -> tuple[ExportFile | None, list[Line]]:
    """What stands about the documents; of a file that breaks off only the notice that it does, where its whole parts will do."""
    if lies.complete:
        return _head(text, lies, limits), []
    problem = _breaks_off(text, lies, limits)
    if not whole_parts or not lies.spans:
        raise problem
    return None, [problem.line]


def _check_whole(head: ExportFile, lies: Scan, looked: _Looked) -> None:
    whole = _whole(head.made, head.device, [*looked.sums, *(p.digest for p in head.photos)])
    if not looked.aside and (head.count != len(lies.spans) or head.sha256 != whole):
        raise Refused(L("Parts of the file are missing, or were added after it was written."), "changed")


def _damaged_photos(photos: Pictures, apart: bool) -> list[Line]:
    damaged = photos.leave_out_damaged()
    if damaged and not apart:
        raise Refused(L("A photo in the file is damaged."), "damaged")
    return [L("Photos in the file that are damaged and are left out: {count}.", count=damaged)] if damaged else []


@dataclass
class _Looked:
    """The parts of a file: those that are good, and those kept ``aside``."""

    sums: list[str] = field(default_factory=list)
    coming: list[Coming] = field(default_factory=list)
    spans: list[tuple[int, int]] = field(default_factory=list)
    aside: list[tuple[Refused, str]] = field(default_factory=list)


def _look(text: str, lies: Scan, checker: Checker, here: Mapping[str, str], apart: bool) -> _Looked:
    found = _Looked()
    for number, (start, end) in enumerate(lies.spans, start=1):
        try:
            total, document = checker.part(text, start, end, number, len(lies.spans))
        except Refused as refused:
            if not apart:
                raise
            found.aside.append((refused, text[start:end]))
            continue
        found.sums.append(total)
        found.spans.append((start, end))
        title, customer = (str(value_of(document, key, "")) for key in ("title", "customer"))
        new = document.id not in here
        found.coming.append(Coming(document.id, document.type, title, customer, len(document.entries), new))
    if found.aside and not found.spans:
        raise found.aside[0][0]
    return found


def _decode(data: bytes) -> str:
    decoder = codecs.getincrementaldecoder("utf-8-sig")("strict")
    try:
        text = decoder.decode(data)
    except UnicodeDecodeError as problem:
        raise Refused(L("This is not a file that Boreside wrote: it is not text."), "format") from problem
    if not text.lstrip().startswith("{"):
        raise Refused(L("This is not a file that Boreside wrote."), "format")
    return text


def _about_documents(text: str, lies: Scan, limits: Limits) -> Any:
    """What stands before and after the documents, as data."""
    rest = text if lies.inside is None else text[: lies.inside[0]] + text[lies.inside[1] :]
    if rest.count(",") > limits.commas:
        raise Refused(L("The file holds too much besides its documents."), "size")
    try:
        return loads(rest)
    except Bad as bad:
        raise Refused(bad.line, bad.code) from bad
    except (ValueError, RecursionError) as problem:
        if lies.inside is None:
            raise Refused(L("This is not a file that Boreside wrote."), "format") from problem
        raise Refused(L("The file is damaged before or after its documents."), "damaged") from problem


def _head(text: str, lies: Scan, limits: Limits) -> ExportFile:
    data = _about_documents(text, lies, limits)
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
            L("The beginning or the end of the file is not as Boreside writes it ({where}).", where=where_of(problem)),
            "format",
        ) from problem


def _breaks_off(text: str, lies: Scan, limits: Limits) -> Refused:
    if '"boreside"' not in text[:200]:
        return Refused(L("This is not a file that Boreside wrote."), "format")
    position, title = len(text), ""
    if lies.broken is not None:
        part = text[lies.broken : lies.broken + limits.part_chars]
        title = title_in(part[:100_000])
        try:
            loads(part)
        except json.JSONDecodeError as problem:
            position = lies.broken + problem.pos
        except (Bad, ValueError, RecursionError):
            pass
    facts = {"row": row_at(text, position), "number": len(lies.spans) + 1, "whole": len(lies.spans)}
    if title:
        line = L(
            "The file breaks off or is damaged at line {row}, in part {number} (“{title}”). Undamaged parts before that: {whole}.",
            title=title,
            **facts,
        )
    else:
        line = L(
            "The file breaks off or is damaged at line {row}, in part {number}. Undamaged parts before that: {whole}.",
            **facts,
        )
    return Refused(line, "truncated")


if __name__ == "__main__":
    SCHEMA_FILE.write_text(json_schema(), encoding="utf-8")
