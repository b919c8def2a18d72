"""Merging copies of a document: nothing is lost, and the order of merging does not matter.

``merge`` is commutative, associative and idempotent on documents in normal form,
which is the form everything stored and exported has:

- Entries are a set. An honest copy never has two entries with one id and different
  contents; if a file does, both are kept: the one with the earlier stamp (then the
  lesser canonical text) keeps the id, and the other gets an id derived from its
  contents. The derived id is the same wherever it is made, so the laws hold.
- A header field is the set of every value it was ever given. The latest stamp
  (then the greater canonical text) is the present value, the rest are ``earlier``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter

from .documents import Document, Key, Stamped
from .form import canonical, checksum, entry_data, stamped_data
from .ledger import grow, ledger_of

__all__ = [
    "HeaderConflict",
    "add_entries",
    "conflicts",
    "heads",
    "latest_stamp",
    "merge",
    "normal",
    "set_value",
    "stamps",
]


_KEY: TypeAdapter[str] = TypeAdapter(Key)


@dataclass(frozen=True, slots=True)
class HeaderConflict:
    """A header field that was set apart in two copies. ``values`` has the present value first.

    Each value carries when (``stamp``) and by whom (``by``). Setting the field again,
    to either value or a third, settles it.
    """

    document: str
    key: str
    values: tuple[Stamped, ...]


def _order(entry: Any) -> tuple[str, str]:
    return entry.stamp, entry.id


def _content(entry: Any) -> str:
    data = entry_data(entry)
    del data["id"]
    return canonical(data)


def _gather(entries: Iterable[Any]) -> tuple[Any, ...]:
    kept: dict[str, Any] = {}
    waiting = list(entries)
    while waiting:
        entry = waiting.pop()
        there = kept.get(entry.id)
        if there is None:
            kept[entry.id] = entry
        elif there != entry:
            first, second = sorted((there, entry), key=lambda e: (e.stamp, _content(e)))
            kept[entry.id] = first
            derived = checksum(canonical(entry_data(second)))[:40]
            waiting.append(second.model_copy(update={"id": derived}))
    return tuple(sorted(kept.values(), key=_order))


def _history(document: Document, key: str) -> tuple[Stamped, ...]:
    present = document.header.get(key)
    return (*document.earlier.get(key, ()), *(() if present is None else (present,)))


def _header(documents: Iterable[Document]) -> tuple[dict[str, Stamped], dict[str, tuple[Stamped, ...]]]:
    every: dict[str, dict[str, Stamped]] = {}
    for document in documents:
        for key in {*document.header, *document.earlier}:
            for stamped in _history(document, key):
                every.setdefault(key, {})[canonical(stamped_data(stamped))] = stamped
    header, earlier = {}, {}
    for key, values in sorted(every.items()):
        ordered = [values[text] for text in sorted(values, key=lambda t: (values[t].stamp, t))]
        header[key] = ordered[-1]
        if ordered[:-1]:
            earlier[key] = tuple(ordered[:-1])
    return header, earlier


def normal(document: Document) -> Document:
    """The same document in normal form: entries in order of stamp, each field's latest value on top."""
    header, earlier = _header((document,))
    return document.model_copy(update={"header": header, "earlier": earlier, "entries": _gather(document.entries)})


def merge(a: Document, b: Document) -> Document:
    """One document holding everything in either copy. Raises ValueError if they are not one document."""
    if a.id != b.id:
        raise ValueError("two different documents cannot be merged")
    header, earlier = _header((a, b))
    return a.model_copy(
        update={
            "type": max(a.type, b.type),
            "header": header,
            "earlier": earlier,
            "entries": _gather((*a.entries, *b.entries)),
        }
    )


def add_entries(document: Document, entries: Iterable[Any]) -> Document:
    """The document with more entries. Cheap where they are new and the latest, as a new reading is."""
    entries = tuple(entries)
    ids = ledger_of(document).by_id
    after = not document.entries or all(_order(e) > _order(document.entries[-1]) for e in entries)
    if after and not any(e.id in ids for e in entries) and len({e.id for e in entries}) == len(entries):
        return grow(document, tuple(sorted(entries, key=_order)))
    return document.model_copy(update={"entries": _gather((*document.entries, *entries))})


def heads(document: Document, key: str) -> tuple[Stamped, ...]:
    """The values of a header field that no other value was set over, the present value first."""
    history = _history(document, key)
    # a value can only be set over an earlier one, whatever a file says
    covered = {stamp for value in history for stamp in value.over if stamp < value.stamp}
    return tuple(v for v in reversed(history) if v.stamp not in covered)


def set_value(document: Document, key: str, value: Any, stamp: str, by: str) -> Document:
    """The document with a header field set over every value that stood; ``stamp`` must be later than theirs.

    Raises pydantic's ValidationError if the key or the value cannot be stored.
    """
    _KEY.validate_python(key)
    over = tuple(sorted({v.stamp for v in heads(document, key) if v.stamp < stamp}))
    new = Stamped(value=value, stamp=stamp, by=by, over=over)
    earlier = dict(document.earlier)
    if key in document.header:
        earlier[key] = (*earlier.get(key, ()), document.header[key])
    made = document.model_copy(update={"header": _by_key({**document.header, key: new}), "earlier": _by_key(earlier)})
    # what was in normal form still is, whatever its length, where the new value is the latest of its field
    return made if latest_stamp(document, key) < stamp else normal(made)


def _by_key(values: dict[str, Any]) -> dict[str, Any]:
    return dict(sorted(values.items()))


def conflicts(document: Document) -> tuple[HeaderConflict, ...]:
    """The header fields that were set apart to different values and not set since."""
    found = []
    for key in document.header:
        standing = heads(document, key)
        if len({canonical(stamped_data(v)["value"]) for v in standing}) > 1:
            found.append(HeaderConflict(document.id, key, standing))
    return tuple(found)


def stamps(document: Document) -> Iterable[str]:
    """Every stamp in the document, in no special order."""
    for entry in document.entries:
        yield entry.stamp
    for key in {*document.header, *document.earlier}:
        for value in _history(document, key):
            yield value.stamp


def latest_stamp(document: Document, key: str = "") -> str:
    """The latest stamp in the document, or of one header field's values; empty if there is none."""
    return max((v.stamp for v in _history(document, key)) if key else stamps(document), default="")
