"""What adding to a log needs to know of the entries already in it, kept up as they come.

Looking through ten thousand entries for each new one would make a save slower the longer
the log is. A ledger is made once for a log and then follows it: it belongs to one tuple of
entries and to no other, so one that is out of date is never asked.
"""

from __future__ import annotations

from collections import OrderedDict
from typing import Any

from .documents import Document

__all__ = ["Ledger", "added", "grow", "ledger_of"]

_KEPT = 16
_LEDGERS: OrderedDict[str, Ledger] = OrderedDict()


def _slot(entry: Any) -> tuple[Any, ...] | None:
    what = getattr(entry, "what", None)
    if what is None:
        return None
    at = getattr(entry, "at", None)
    return entry.kind, what, None if at is None else tuple(sorted(at.items()))


class Ledger:
    """Entries by id, and the latest stamp in each slot (kind, field and place)."""

    def __init__(self, entries: tuple[Any, ...]) -> None:
        self.entries: tuple[Any, ...] = ()
        self.before: tuple[Any, ...] | None = None
        self.by_id: dict[str, Any] = {}
        self._latest: dict[tuple[Any, ...], str] = {}
        self.follow(entries, entries)

    def follow(self, entries: tuple[Any, ...], new: tuple[Any, ...]) -> None:
        """``entries`` is what the log is now: what it was, and ``new`` at its end."""
        self.before, self.entries = self.entries, entries
        for entry in new:
            self.by_id[entry.id] = entry
            slot = _slot(entry)
            if slot is not None and entry.stamp > self._latest.get(slot, ""):
                self._latest[slot] = entry.stamp

    def superseded(self, draft: Any) -> str:
        """The latest stamp that the draft must come after: of what it replaces, and of what stands in its place."""
        replaced = self.by_id.get(draft.replaces) if draft.replaces else None
        slot = _slot(draft)
        return max("" if replaced is None else replaced.stamp, "" if slot is None else self._latest.get(slot, ""))


def ledger_of(document: Document) -> Ledger:
    """The ledger of a document's entries: the one kept, or a new one."""
    kept = _LEDGERS.get(document.id)
    if kept is None or kept.entries is not document.entries:
        kept = _LEDGERS[document.id] = Ledger(document.entries)
    _LEDGERS.move_to_end(document.id)
    while len(_LEDGERS) > _KEPT:
        _LEDGERS.popitem(last=False)
    return kept


def grow(document: Document, new: tuple[Any, ...]) -> Document:
    """The document with entries at its end, later than all it has and with ids of their own."""
    kept = ledger_of(document)
    after = document.model_copy(update={"entries": document.entries + new})
    kept.follow(after.entries, new)
    return after


def added(before: Document, after: Document) -> tuple[Any, ...] | None:
    """The entries that :func:`grow` has put at the end of ``before``; None where more may have changed."""
    if after.entries is before.entries:
        return ()
    kept = _LEDGERS.get(after.id)
    if kept is None or kept.entries is not after.entries or kept.before is not before.entries:
        return None
    return after.entries[len(before.entries) :]
