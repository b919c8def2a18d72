"""One document as a TinyDB database and a journal, and the short record of it in the index.

The database has three tables: ``meta`` (one row: schema version, id, type, revision,
clock), ``header`` (one row for each value a header field was ever given) and ``entries``
(one row each). It is written whole, and seldom; each save in between is one line of
the journal (:mod:`store.journal`) with the rows that are new. Rows are a set: the document
is what database and journal add up to. A backend supplies both; everything that depends on
the layout is here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any, NamedTuple, TypedDict

from pydantic import ValidationError
from tinydb import Storage, TinyDB

from logic.say import L

from .clock import new_id
from .documents import SCHEMA, Document, Entry, Stamped, value_of
from .errors import Refused
from .form import canonical, document_of, entry_data, stamped_data
from .journal import Saved, line_of
from .ledger import added
from .merge import merge, normal, stamps
from .migrations import upgrade

__all__ = ["BROKEN", "Carried", "Change", "Record", "Revision", "Shelf", "Tables", "Turn", "fetch", "record_of"]

BROKEN = L("This log is damaged and cannot be read. If there is an exported file with it, import that.")

Tables = dict[str, dict[str, Mapping[str, Any]]]
#: From the document as it is stored now (None: not stored) to what it should be; the same
#: object where nothing is to be written. It runs inside the write, so nothing gets between.
Change = Callable[[Document | None], Document]


class Record(TypedDict, total=False):
    """What the index keeps of a document. ``revision`` changes with every write, ``clock`` is
    the writing device's clock then, ``trouble`` says why the document cannot be opened."""

    id: str
    type: str
    title: str
    customer: str
    engine: str
    card: str
    cylinders: int
    entries: int
    deleted: bool
    first: str
    changed: str
    revision: str
    clock: str
    trouble: str


class Revision(NamedTuple):
    """The index in short: ``mark`` is another after every write, ``changed`` the stamp of the latest entry."""

    mark: str
    deleted: bool
    changed: str
    title: str


def record_of(document: Document, revision: str, clock: str) -> Record:
    """The index record of a document."""

    times = list(stamps(document))
    return Record(
        id=document.id,
        type=document.type,
        **_said(document),
        entries=len(document.entries),
        first=min(times, default=""),
        changed=max(times, default=""),
        revision=revision,
        clock=clock,
    )


def _said(document: Document) -> Record:
    """What of a record stands in the document's header."""

    def word(key: str) -> str:
        value = value_of(document, key, "")
        return value if isinstance(value, str) else ""

    cylinders = value_of(document, "cylinders", 0)
    return Record(
        title=word("title"),
        customer=word("customer"),
        engine=word("engine"),
        card=word("card"),
        cylinders=cylinders if isinstance(cylinders, int) else 0,
        deleted=value_of(document, "deleted", False) is True,
    )


def _rows_of(db: TinyDB) -> list[Saved]:
    """What a database holds, in the form of a journal's line; none where it is empty."""
    if not len(db.table("meta")):
        return []
    return [
        {
            "schema_version": meta.get("schema_version"),
            "record": meta,
            "header": [dict(row) for row in db.table("header")],
            "entries": [dict(row) for row in db.table("entries")],
        }
        for meta in map(dict, db.table("meta").all()[:1])
    ]


def _data(saved: Iterable[Saved]) -> list[dict[str, Any]]:
    """Rows as plain documents: one for each stretch of lines of the same form."""
    made: list[dict[str, Any]] = []
    for line in saved:
        version, record = line["schema_version"], line["record"]
        about = {"schema_version": version, "id": record.get("id"), "type": record.get("type")}
        if not made or any(made[-1][k] != v for k, v in about.items()):
            made.append({**about, "header": {}, "earlier": {}, "entries": []})
        data = made[-1]
        for row in line.get("header", ()):
            value = {k: v for k, v in row.items() if k != "key"}
            if row["key"] in data["header"]:
                data["earlier"].setdefault(row["key"], []).append(value)
            else:
                data["header"][row["key"]] = value
        data["entries"] += line.get("entries", ())
    return made


def fetch(saved: Iterable[Saved]) -> Document:
    """The document in normal form that rows add up to.

    Raises Refused with code "newer" if a newer version wrote some of them, "broken" if they
    cannot be understood.
    """
    try:
        document, *more = (document_of(upgrade(data)) for data in _data(saved))
        if any((other.id, other.type) != (document.id, document.type) for other in more):
            raise ValueError("rows of two documents")
        return normal(document) if not more else reduce(merge, map(normal, more), normal(document))
    except (ValidationError, LookupError, TypeError, AttributeError, ValueError) as problem:
        raise Refused(BROKEN, "broken") from problem


class Carried(Storage):
    """A TinyDB storage that works on a copy in memory; ``dirty`` once that differs from what was loaded."""

    def __init__(self, tables: Tables | None = None) -> None:
        self.tables = tables
        self.dirty = False

    def read(self) -> Tables | None:
        return self.tables

    def write(self, data: Tables) -> None:
        self.tables = data
        self.dirty = True


@dataclass(frozen=True, slots=True)
class Turn:
    """What a change comes to: one ``line`` to add to the journal, or, with ``whole``, everything anew."""

    line: str
    whole: bool


class Shelf:
    """What is stored of one document, and the document it adds up to (None while there is nothing).

    ``db`` is the database the document was last written to whole, ``saved`` what came since.
    Raises Refused ("newer") if a newer version wrote it. If it is damaged, ``broken`` is
    True and there is no document; only a whole copy, from a file or from what this
    process still holds, can then take its place. ``mend`` asks that the next change writes
    everything anew, as after damage; ``damaged`` that what is there then is kept aside.
    """

    def __init__(self, db: TinyDB, saved: Sequence[Saved] = (), *, broken: bool = False, mend: bool = False) -> None:
        self.document: Document | None = None
        self.record: Record = Record()
        self.broken = broken
        self.damaged = broken
        #: The number of the next line, where a backend counts them.
        self.next = 1
        #: What is kept aside when a damaged document is written anew, where a backend has it at hand.
        self.aside: Any = None
        self.mend = mend or broken
        lines = [] if broken else [*_rows_of(db), *saved]
        if not lines:
            return
        try:
            self.document = fetch(lines)
        except Refused as refused:
            if refused.code != "broken":
                raise
            self.broken = self.damaged = self.mend = True
            return
        last = lines[-1]["record"]
        clock = max(str(line["record"].get("clock", "")) for line in lines)
        self.record = record_of(self.document, str(last.get("revision", "")), clock)
        self.mend = self.mend or any(line["schema_version"] < SCHEMA for line in lines)

    @property
    def revision(self) -> str:
        return self.record.get("revision", "")

    def whole(self) -> Document | None:
        """The document, if there is one. Raises Refused ("broken") if it is damaged."""
        if self.broken:
            raise Refused(BROKEN, "broken")
        return self.document

    def turn(self, do: Change, mark: Callable[[], str]) -> Turn | None:
        """Put ``do(document)`` in the document's place, in memory. None if that changes nothing.

        ``mark`` gives the writing device's clock, asked after ``do`` has used it. The caller
        makes the change durable, and lets go of this shelf where that fails.
        """
        before = self.document
        try:
            after = do(before)
        except Refused as refused:
            if self.broken and refused.code == "none":
                raise Refused(BROKEN, "broken") from refused
            raise
        if after is before:
            return None
        new = None if before is None or self.mend else added(before, after)
        if before is not None and new is not None:
            header = _new_values(before, after)
            self.record = _longer(self.record, new, header, new_id(12), mark())
            if header:
                self.record.update(_said(after))
            turn = Turn(line_of(self.record, header, map(entry_data, new), SCHEMA), False)
        else:
            self.record = record_of(after, new_id(12), mark())
            turn = _turn(before, after, self.record, self.mend)
        self.document, self.broken, self.mend = after, False, False
        return turn

    def fill(self, db: TinyDB) -> None:
        """Write the whole document into an empty database."""
        assert self.document is not None
        about = {"schema_version": SCHEMA, "id": self.document.id, "type": self.document.type}
        db.table("meta").insert({**about, "revision": self.revision, "clock": self.record.get("clock", "")})
        db.table("header").insert_multiple(_values(self.document).values())
        db.table("entries").insert_multiple(map(entry_data, self.document.entries))

    def line(self) -> str:
        """The whole document as one line of a journal."""
        assert self.document is not None
        return line_of(self.record, _values(self.document).values(), map(entry_data, self.document.entries), SCHEMA)


def _longer(
    record: Record, new: Sequence[Any], header: Sequence[Mapping[str, Any]], revision: str, clock: str
) -> Record:
    """The record of a document that entries, and values of its header, have come to the end of."""
    times = [*(e.stamp for e in new), *(row["stamp"] for row in header)]
    made = Record(**record)
    made["entries"] = record.get("entries", 0) + len(new)
    made["first"] = min(filter(None, (record.get("first", ""), *times)), default="")
    made["changed"] = max((record.get("changed", ""), *times))
    made["revision"], made["clock"] = revision, clock
    return made


def _new_values(before: Document, after: Document) -> list[dict[str, Any]]:
    """The rows of the header that were not there before. What both hold as one object is not looked into."""
    if after.header is before.header and after.earlier is before.earlier:
        return []
    there = {id(v) for _, v in _history(before)}
    fresh = [(key, v) for key, v in _history(after) if id(v) not in there]
    when = {(key, v.stamp) for key, v in fresh}
    known = {canonical({"key": k, **stamped_data(v)}) for k, v in _history(before) if (k, v.stamp) in when}
    rows = {canonical(row): row for row in ({"key": k, **stamped_data(v)} for k, v in fresh)}
    return [row for text, row in rows.items() if text not in known]


def _history(document: Document) -> Iterator[tuple[str, Stamped]]:
    """Every value the fields of the header were ever given, with the field's key."""
    yield from document.header.items()
    for key, values in document.earlier.items():
        for value in values:
            yield key, value


def _turn(before: Document | None, after: Document, record: Record, mend: bool) -> Turn:
    """The rows that are new, or everything anew where the document is new or to be mended.

    It is also written anew where an entry is no longer there as it was, which only
    a doubled id brings about.
    """
    old = {} if before is None else {e.id: e for e in before.entries}
    new = {e.id: e for e in after.entries}
    if before is None or mend or not _kept(old, new):
        return Turn("", True)
    header = _new_values(before, after)
    entries = [entry_data(e) for k, e in new.items() if k not in old]
    return Turn(line_of(record, header, entries, SCHEMA), False)


def _kept(old: dict[str, Entry], new: dict[str, Entry]) -> bool:
    """Whether every old entry is there as it was."""
    return all(k in new and (new[k] is e or new[k] == e) for k, e in old.items())


def _values(document: Document) -> dict[str, dict[str, Any]]:
    rows = ({"key": k, **stamped_data(v)} for k, v in _history(document))
    return {canonical(row): row for row in rows}
