"""One document as one TinyDB database, and the short record of it in the index.

The database has three tables and rows are only ever added to the last two:
``meta`` (one row: schema version, id, type, revision, clock), ``header`` (one row
for each value a header field was ever given) and ``entries`` (one row each).
A backend supplies the TinyDB storage; everything that depends on the layout is here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypedDict

from pydantic import ValidationError
from tinydb import Storage, TinyDB

from logic.say import L

from .clock import new_id
from .documents import SCHEMA, Document, value_of
from .errors import Refused
from .form import canonical, document_of, entry_data, stamped_data
from .merge import normal, stamps
from .migrations import upgrade

__all__ = ["BROKEN", "Carried", "Change", "Record", "Shelf", "Tables", "fetch", "record_of"]

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


def record_of(document: Document, revision: str, clock: str) -> Record:
    """The index record of a document."""
    words = {k: value_of(document, k, "") for k in ("title", "customer", "engine", "card")}
    cylinders = value_of(document, "cylinders", 0)
    times = list(stamps(document))
    return Record(
        id=document.id,
        type=document.type,
        **{k: v if isinstance(v, str) else "" for k, v in words.items()},
        cylinders=cylinders if isinstance(cylinders, int) else 0,
        entries=len(document.entries),
        deleted=value_of(document, "deleted", False) is True,
        first=min(times, default=""),
        changed=max(times, default=""),
        revision=revision,
        clock=clock,
    )


def _data(db: TinyDB) -> tuple[dict[str, Any], dict[str, Any]]:
    meta = dict(db.table("meta").all()[0])
    header: dict[str, Any] = {}
    earlier: dict[str, list[Any]] = {}
    for row in db.table("header"):
        value = {k: v for k, v in row.items() if k != "key"}
        if row["key"] in header:
            earlier.setdefault(row["key"], []).append(value)
        else:
            header[row["key"]] = value
    data = {
        "schema_version": meta.get("schema_version"),
        "id": meta.get("id"),
        "type": meta.get("type"),
        "header": header,
        "earlier": earlier,
        "entries": [dict(row) for row in db.table("entries")],
    }
    return data, meta


def fetch(db: TinyDB) -> tuple[Document, str, str]:
    """The document in a database, with its revision and clock.

    Raises Refused with code "newer" if a newer version wrote it, "broken" if it
    cannot be understood.
    """
    try:
        data, meta = _data(db)
        document = normal(document_of(upgrade(data)))
        return document, str(meta.get("revision", "")), str(meta.get("clock", ""))
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


class Shelf:
    """An open database and the document in it (None while it is empty).

    Raises Refused ("newer") if a newer version wrote it. If it is damaged, ``broken`` is
    True and there is no document; only a whole copy, from a file or from what this
    process still holds, can then take its place.
    """

    def __init__(self, db: TinyDB, broken: bool = False) -> None:
        self.db = db
        self.document: Document | None = None
        self.revision = self.clock = ""
        self.broken = broken
        self._old_form = False
        if not broken and len(db.table("meta")):
            try:
                self.document, self.revision, self.clock = fetch(db)
            except Refused as refused:
                if refused.code != "broken":
                    raise
                self.broken = True
            else:
                self._old_form = db.table("meta").all()[0]["schema_version"] < SCHEMA
        if self.broken:
            db.drop_tables()

    def whole(self) -> Document | None:
        """The document, if there is one. Raises Refused ("broken") if it is damaged."""
        if self.broken:
            raise Refused(BROKEN, "broken")
        return self.document

    @property
    def record(self) -> Record:
        """The index record of what is in the database now."""
        assert self.document is not None
        return record_of(self.document, self.revision, self.clock)

    def turn(self, do: Change, mark: Callable[[], str]) -> bool:
        """Put ``do(document)`` in the document's place, in memory. False if that changes nothing.

        ``mark`` gives the writing device's clock, asked after ``do`` has used it.
        """
        try:
            after = do(self.document)
        except Refused as refused:
            if self.broken and refused.code == "none":
                raise Refused(BROKEN, "broken") from refused
            raise
        if after is self.document:
            return False
        self.clock = mark()
        self.revision = _store(self.db, self.document, after, self.clock, self._old_form)
        self.document, self._old_form, self.broken = after, False, False
        return True


def _store(db: TinyDB, before: Document | None, after: Document, clock: str, redo: bool) -> str:
    """Add the rows that are new; with ``redo`` write all rows anew.

    They are also written anew where an entry is no longer there as it was, which only
    a doubled id brings about.
    """
    old = {} if before is None else {e.id: e for e in before.entries}
    new = {e.id: e for e in after.entries}
    redo = redo or any(k not in new or not (new[k] is e or new[k] == e) for k, e in old.items())
    if redo:
        db.table("entries").truncate()
        db.table("header").truncate()
        old, before = {}, None
    db.table("entries").insert_multiple([entry_data(e) for k, e in new.items() if k not in old])
    if before is None or before.header is not after.header:
        values = {} if before is None else _values(before)
        db.table("header").insert_multiple([row for key, row in _values(after).items() if key not in values])
    revision = new_id(12)
    meta = db.table("meta")
    meta.truncate()
    meta.insert({"schema_version": SCHEMA, "id": after.id, "type": after.type, "revision": revision, "clock": clock})
    return revision


def _values(document: Document) -> dict[str, dict[str, Any]]:
    pairs = [(k, v) for k, v in document.header.items()]
    pairs += [(k, v) for k, vs in document.earlier.items() for v in vs]
    rows = ({"key": k, **stamped_data(v)} for k, v in pairs)
    return {canonical(row): row for row in rows}
