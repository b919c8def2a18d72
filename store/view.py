"""A job as the screens and the sheets see it: the log, folded into present values.

A :class:`View` is rebuilt from a document (or extended by one entry, which is what
a key press costs) and answers "what is the value of this field here, and who says
so". It knows nothing of screens and does no arithmetic of the trade.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from logic.fields import Field
from logic.say import KINDS, Qty

from .documents import (
    CautionSeen,
    Chosen,
    Decision,
    Document,
    Note,
    PhotoRef,
    Reading,
    Skipped,
    Typed,
    Withdrawn,
    value_of,
)
from .plausible import NOMINAL_MM, counts

__all__ = ["Value", "View", "place"]

Place = tuple[tuple[str, Any], ...]


def place(at: Mapping[str, Any] | None = None, /, **more: Any) -> Place:
    """A place as a sorted, hashable key: ``place(cylinder=2, axis="thrust")``."""
    return tuple(sorted({**(at or {}), **more}.items()))


@dataclass(frozen=True, slots=True)
class Value:
    """A field's present value. ``entry`` is None where the field's default stands in."""

    value: Any
    entry: Any = None
    source: str = "entered"

    @property
    def entered(self) -> bool:
        return self.entry is not None


class View:
    """The present state of one document.

    Shapes: ``get(field, cylinder=2)`` one :class:`Value` or None; ``all("bore.reading")``
    a mapping from place to Value; ``events("cut.measured", "pass", cylinder=2)`` the
    values numbered by ``pass`` in order. ``odd`` lists entries that stand in the log but
    cannot be reckoned with (see :mod:`store.plausible`); no other method gives them.
    """

    def __init__(self, document: Document, cards: Mapping[str, View] | None = None) -> None:
        self.document = document
        self.cards: Mapping[str, View] = cards or {}
        self.entries: dict[str, Any] = {}
        self._dead: set[str] = set()
        self._slots: dict[str, dict[Place, list[Any]]] = {}
        self.cautions_seen: dict[str, Any] = {}
        self.skipped: dict[str, Skipped] = {}
        self.decisions: dict[tuple[str, Place], Decision] = {}
        self.notes: list[Note] = []
        self.photos: list[PhotoRef] = []
        self.odd: list[Any] = []
        for entry in document.entries:
            self.entries[entry.id] = entry
        self._fold()

    # -- folding -----------------------------------------------------------------
    def _fold(self) -> None:
        live = sorted(self.entries.values(), key=lambda e: (e.stamp, e.id))
        # An entry is dead while a live entry replaces or withdraws it. Later entries
        # are settled first, so a withdrawn withdrawal brings its target back.
        dead: set[str] = set()
        for entry in reversed(live):
            if entry.id not in dead and entry.replaces:
                dead.add(entry.replaces)
        self._dead = dead
        self._slots = {}
        self.cautions_seen, self.skipped, self.decisions = {}, {}, {}
        self.notes, self.photos, self.odd = [], [], []
        for entry in live:
            if entry.id not in dead:
                self._place(entry)

    def _place(self, entry: Any) -> None:
        if isinstance(entry, (Reading, Chosen)) and not counts(entry):
            self.odd.append(entry)
        elif isinstance(entry, (Reading, Chosen)):
            self._slots.setdefault(entry.what, {}).setdefault(place(entry.at), []).append(entry)
        elif isinstance(entry, CautionSeen):
            self.cautions_seen[entry.what] = entry
        elif isinstance(entry, Skipped):
            self.skipped[entry.what] = entry
        elif isinstance(entry, Decision):
            self.decisions[entry.what, place(entry.at)] = entry
        elif isinstance(entry, Note):
            self.notes.append(entry)
        elif isinstance(entry, PhotoRef):
            self.photos.append(entry)

    def add(self, entry: Any) -> None:
        """Take in one new entry (already stored). Cheap when it replaces nothing and is the latest."""
        if entry.id in self.entries:
            return  # it came in already with the stored document
        self.entries[entry.id] = entry
        if entry.replaces or isinstance(entry, Withdrawn):
            self._fold()
        else:
            self._place(entry)

    def take(self, document: Document) -> bool:
        """Follow the document as it is stored now: what another tab, process or file has put there. False if that is nothing."""
        fresh = {e.id: e for e in document.entries if e.id not in self.entries}
        if not fresh and document.header == self.document.header and document.earlier == self.document.earlier:
            return False
        self.document = document
        self.entries.update(fresh)
        self._fold()
        return True

    # -- asking --------------------------------------------------------------------
    def header(self, key: str, default: Any = None) -> Any:
        """A header field's value: Typed is given as its number."""
        value = value_of(self.document, key, default)
        return value.value if isinstance(value, Typed) else value

    @property
    def nominal_mm(self) -> float | None:
        """The nominal bore; None while it is not entered, or is no size of a bore."""
        nominal = self.header("nominal")
        return nominal if nominal is not None and NOMINAL_MM[0] <= nominal <= NOMINAL_MM[1] else None

    @property
    def cylinders(self) -> list[int]:
        return list(range(1, int(self.header("cylinders", 1)) + 1))

    def rivals(self, what: str, /, **at: Any) -> list[Any]:
        """Every live entry in one slot, oldest first; more than one means two people entered it."""
        return self._slots.get(what, {}).get(place(at), [])

    def get(self, field: Field, /, **at: Any) -> Value | None:
        """The value of ``field`` at a place: entered, else from its kit card, else its default, else None."""
        entries = self.rivals(field.key, **at)
        if entries:
            entry = max(entries, key=lambda e: (e.stamp, e.id))
            return Value(entry.typed.value if isinstance(entry, Reading) else entry.value, entry)
        card = self.card(field.card) if field.card else None
        if card is not None:
            held = card.stated(field.key)
            if held is not None:
                return Value(held, None, "kit card")
        if field.default is not None:
            return Value(field.default, None, field.source)
        return None

    def number(self, field: Field, /, **at: Any) -> float | None:
        """Like :meth:`get`, but just the number (or choice value), or None."""
        got = self.get(field, **at)
        return None if got is None else got.value

    def qty(self, field: Field, /, **at: Any) -> Qty | None:
        got = self.get(field, **at)
        return None if got is None or field.kind not in KINDS else Qty(got.value, field.kind)

    def all(self, what: str, /, **fixed: Any) -> dict[Place, Value]:
        """Every entered value of ``what`` whose place agrees with ``fixed``, by place."""
        out: dict[Place, Value] = {}
        for where, entries in self._slots.get(what, {}).items():
            spot = dict(where)
            if entries and all(spot.get(k) == v for k, v in fixed.items()):
                entry = max(entries, key=lambda e: (e.stamp, e.id))
                out[where] = Value(entry.typed.value if isinstance(entry, Reading) else entry.value, entry)
        return out

    def events(self, what: str, counter: str, /, **fixed: Any) -> dict[int, Value]:
        """Values numbered by ``counter`` ("pass", "check"), in order."""
        found = {int(dict(w)[counter]): v for w, v in self.all(what, **fixed).items() if counter in dict(w)}
        return dict(sorted(found.items()))

    def stated(self, key: str) -> Any:
        """On a kit card: what it says under ``key``, as an entry or in its header, or None."""
        entries = self.rivals(key)
        if entries:
            entry = max(entries, key=lambda e: (e.stamp, e.id))
            return entry.typed.value if isinstance(entry, Reading) else entry.value
        return self.header(key)

    def card(self, role: str) -> View | None:
        """The kit card chosen for ``role`` ("bar", "hone", "gauge", "micrometer"), if known here."""
        chosen = self.header(role)
        return self.cards.get(chosen) if chosen else None

    def live(self) -> Iterator[Any]:
        """Entries that stand, oldest first."""
        for entry in sorted(self.entries.values(), key=lambda e: (e.stamp, e.id)):
            if entry.id not in self._dead:
                yield entry
