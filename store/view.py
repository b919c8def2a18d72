"""A job as the screens and the sheets see it: the log, folded into present values.

A :class:`View` is built from a document (or extended by one entry, which is what a key
press costs) and answers "what is the value of this field here, and who says so". It
knows nothing of screens and does no arithmetic of the trade.

It is the source that facts are asked of (:mod:`store.graph`): every method that answers
records what it was asked, and every change touches the slots it concerns, so a fact is
worked out again only where something it asked for has another answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Generic, TypeVar, overload

from logic.fields import DefaultNumber, DefaultSelect, Field, Number, Select, Text
from logic.job_record import JobRecord
from logic.say import KINDS, Qty

from .documents import (
    CautionSeen,
    Chosen,
    Decision,
    Document,
    Entry,
    Note,
    PhotoRef,
    Reading,
    Skipped,
    Stamped,
    Typed,
    Withdrawn,
    header_fits,
    value_of,
)
from .folded import KEPT_IN, Folded, Place, Spot, order, place
from .graph import Asked, Slot, Source
from .plausible import NOMINAL_MM, header_counts, in_range

__all__ = ["Place", "Plain", "Spot", "Value", "View", "concerns", "place"]

V_co = TypeVar("V_co", covariant=True)

#: What a field or a header field may hold.
Plain = float | int | str | bool


@dataclass(frozen=True, slots=True)
class Value(Generic[V_co]):
    """A field's present value. ``entry`` is None where the kit card or the field's default stands in."""

    value: V_co
    entry: Reading | Chosen | None = None
    source: str = "entered"

    @property
    def entered(self) -> bool:
        return self.entry is not None

    @property
    def stamp(self) -> str:
        """When it was entered; "" where it was not."""
        return "" if self.entry is None else self.entry.stamp


def _latest(entries: Sequence[Reading | Chosen]) -> Reading | Chosen:
    return entries[0] if len(entries) == 1 else max(entries, key=order)


def _told(entry: Reading | Chosen) -> float | str:
    return entry.typed.value if isinstance(entry, Reading) else entry.value


def _fits(value: object, field: Field) -> bool:
    """Whether a value is of the field's type and in its range, or one of its choices: a card may hold anything under a key."""
    if isinstance(field, Number):
        return isinstance(value, (int, float)) and not isinstance(value, bool) and in_range(value, field)
    if isinstance(field, Select):
        return value in {c.value for c in field.choices}
    return isinstance(value, str) or not isinstance(field, Text)


def _in_unit(typed: Typed, unit: str | None) -> bool:
    """Whether a number stands in ``unit``, or in any where none is asked for."""
    return unit is None or typed.unit in (unit, "")


def _key(what: Field | str) -> str:
    return what.key if isinstance(what, Field) else what


def _header_slots(old: Document, new: Document) -> list[Slot]:
    """The slots in which two headers differ."""
    keys = {**old.header, **new.header}
    return [("document",), *(("header", k) for k in keys if old.header.get(k) != new.header.get(k))]


class View(Source):
    """The present state of one document.

    Shapes: ``number(field, cylinder=2)`` a number in the field's logic unit, ``choice``
    one of its choices, ``text`` a short text, each None where there is none and the field
    has no default; ``get(field, cylinder=2)`` the same with who says so; ``all(field)`` a
    mapping from place to :class:`Value`; ``events(field, "pass", cylinder=2)`` the values
    numbered by ``pass`` in order. ``odd`` lists entries that stand in the log but cannot be
    reckoned with (see :mod:`store.plausible`); no other method gives them.
    """

    def __init__(
        self, document: Document, cards: Mapping[str, View] | None = None, *, like: View | None = None
    ) -> None:
        super().__init__()
        self._document = document
        self._kit: dict[str, View] = dict(cards or {})
        #: What was made known by :meth:`remember`; facts ask :meth:`record`.
        self.records: Mapping[str, tuple[JobRecord, ...]] = {} if like is None else like.records
        self._entries: dict[str, Entry] = {entry.id: entry for entry in document.entries}
        self.folded = Folded(document.entries)
        if like is not None:
            self.share(like)
            self.touch(("log",), *self.folded.differs(like.folded), *_header_slots(like.document, document))

    def fork(self, entries: Iterable[Entry], header: dict[str, Stamped] | None = None) -> View:
        """The job as it would be with these entries, and with this header if one is given.

        This view stays as it is. Answers that rest on nothing that differs are shared.
        """
        document = self._document.model_copy(
            update={"header": self._document.header if header is None else header, "entries": tuple(entries)}
        )
        return View(document, self._kit, like=self)

    def turn(self, entries: Iterable[Entry], header: dict[str, Stamped], cards: Mapping[str, View]) -> None:
        """Make a forked view another state of its job: these entries, this header and these kit cards."""
        old = self._document
        self._document = old.model_copy(update={"header": header, "entries": tuple(entries)})
        self._entries = {entry.id: entry for entry in self._document.entries}
        self.touch(*_header_slots(old, self._document))
        self._fold()
        self.cards = cards

    def add(self, entry: Entry) -> None:
        """Take in one new entry. Cheap when it replaces nothing and is the latest."""
        held = self._entries.get(entry.id)
        if held is entry or held == entry:
            return  # it came in already, with the stored document or while it was stored
        self._entries[entry.id] = entry
        if held is not None or entry.replaces or isinstance(entry, Withdrawn) or order(entry) < self.folded.last:
            self._fold()
        else:
            self.touch(("log",), *self.folded.put(entry))

    def drop(self, *ids: str) -> None:
        """Forget entries that could not be stored after all."""
        if [self._entries.pop(id) for id in ids if id in self._entries]:
            self._fold()

    def take(self, document: Document) -> bool:
        """Follow the document as it is stored now: what another tab, process or file has put there. False if that is nothing."""
        # an id may stand for another entry than before, where two copies had given one id twice
        held = self._entries
        fresh = {e.id: e for e in document.entries if held.get(e.id) is not e and held.get(e.id) != e}
        old = self._document
        if not fresh and document.header == old.header and document.earlier == old.earlier:
            return False
        self._document = document
        self.touch(*_header_slots(old, document))
        if fresh:
            self._entries.update(fresh)
            self._fold()
        return True

    def _fold(self) -> None:
        before, self.folded = self.folded, Folded(self._entries.values())
        self.touch(("log",), *self.folded.differs(before))

    def state(self) -> int:
        """A number that grows with every change here or in a kit card known here."""
        return max((self.last_touched, *(card.last_touched for card in self._kit.values())))

    # -- the log ---------------------------------------------------------------------
    @property
    def id(self) -> str:
        """The document's own id."""
        return self._document.id

    @property
    def document(self) -> Document:
        """The document as last stored. Its entries may be behind: see ``entries``."""
        self.ask(("document",), Source.touched, ("document",))
        return self._document

    @property
    def entries(self) -> Mapping[str, Entry]:
        """Every entry, also those replaced, by id."""
        self.ask(("log",), Source.touched, ("log",))
        return MappingProxyType(self._entries)

    @property
    def cards(self) -> Mapping[str, View]:
        """The kit cards known here, by id. To have another set known, put it here."""
        return self.ask(("cards",), View._cards)

    @cards.setter
    def cards(self, cards: Mapping[str, View]) -> None:
        old, self._kit = self._kit, dict(cards)
        changed: list[Slot] = [("card", k) for k in {**old, **cards} if old.get(k) is not cards.get(k)]
        if changed:
            self.touch(("cards",), *changed)

    def remember(self, records: Mapping[str, tuple[JobRecord, ...]]) -> None:
        """Make known what earlier jobs taught: their records by the id of a kit card, and all of them under ""."""
        old, self.records = self.records, dict(records)
        self.touch(*(("record", k) for k in {**old, **records} if old.get(k) != records.get(k)))

    def record(self, role: str = "") -> tuple[JobRecord, ...]:
        """What earlier jobs with the card chosen for ``role`` taught, oldest first; without a role, every job's here.

        Jobs of this device alone: what a card itself tells of others is read by the facts. This job may be among them.
        """
        chosen = self.word(role) if role else ""
        return self.ask(("record", chosen), View._record, chosen) if chosen or not role else ()

    @property
    def cautions_seen(self) -> Mapping[str, CautionSeen]:
        """The cautions acknowledged, by key."""
        return self.ask(("seen",), View._cautions_seen)

    @property
    def skipped(self) -> Mapping[str, Skipped]:
        """What was left out, by key."""
        return self.ask(("skipped",), View._skipped)

    @property
    def decisions(self) -> Mapping[tuple[str, Place], Decision]:
        """What was decided, by key and place."""
        return self.ask(("decisions",), View._decisions)

    def decision(self, what: str, /, **at: Spot) -> Decision | None:
        """What was decided about ``what`` at a place, or None."""
        return self.ask(("decisions",), View._decision, what, place(at))

    @property
    def notes(self) -> tuple[Note, ...]:
        """The notes that stand, oldest first."""
        return self.ask(("notes",), View._notes)

    @property
    def photos(self) -> tuple[PhotoRef, ...]:
        """The photos that stand, oldest first."""
        return self.ask(("photos",), View._photos)

    @property
    def odd(self) -> list[Reading | Chosen]:
        """The entries that stand but cannot be reckoned with, oldest first."""
        return list(self.ask(("odd",), View._odd))

    def live(self) -> Iterator[Entry]:
        """Entries that stand, oldest first."""
        self.ask(("log",), Source.touched, ("log",))
        return (e for e in sorted(self._entries.values(), key=order) if e.id not in self.folded.dead)

    def first_stamp(self, entry: Entry) -> str:
        """When an entry was first made, before any correction of it."""
        return self.ask(("log",), View._first_stamp, entry.id)

    def last_read(self) -> str | None:
        """Stamp of the latest reading that stands; None if there is none."""
        return self.ask(("log",), View._last_read)

    # -- the header --------------------------------------------------------------------
    def header(self, key: str, default: Plain | None = None) -> Plain | None:
        """A header field's value: what was typed is given as its number."""
        value = self.ask(("header", key), View._header, key)
        return default if value is None else value

    def word(self, key: str, default: str = "") -> str:
        """A header field's value where it is a word, else ``default``."""
        value = self.header(key)
        return value if isinstance(value, str) else default

    @property
    def nominal_mm(self) -> float | None:
        """The nominal bore; None while it is not entered, or is no size of a bore."""
        nominal = self.header("nominal")
        if isinstance(nominal, (int, float)) and NOMINAL_MM[0] <= nominal <= NOMINAL_MM[1]:
            return nominal
        return None

    @property
    def cylinders(self) -> list[int]:
        """The cylinders, counted from 1."""
        count = self.header("cylinders")
        return list(range(1, int(count) + 1)) if isinstance(count, (int, float)) else [1]

    def card(self, role: str) -> View | None:
        """The kit card chosen for ``role`` ("bar", "hone", "gauge", "micrometer"), if known here and a card for that."""
        chosen = self.word(role)
        card = self.ask(("card", chosen), View._card, chosen) if chosen else None
        return card if card is not None and card.word("card", role) == role else None

    def stated(self, field: Field) -> Plain | None:
        """On a kit card: what it says of ``field``, as an entry or in its header; None where it says nothing that fits."""
        told: Plain | None = self.ask(("at", field.key, ()), View._value, field.key, (), field.unit)
        if told is None or not _fits(told, field):
            told = self.ask(("header", field.key), View._header, field.key, field.unit)
        return told if told is not None and _fits(told, field) else None

    # -- the fields ----------------------------------------------------------------------
    def _found(self, field: Field, where: Place) -> Plain | None:
        """The value of ``field`` at a place: entered, else from its kit card, else its default, else None."""
        told = self.ask(("at", field.key, where), View._value, field.key, where, field.unit)
        if told is not None and _fits(told, field):
            return told
        return self._assumed(field)[0]

    def _assumed(self, field: Field) -> tuple[Plain | None, str]:
        """What stands in where nothing is entered, and where it comes from."""
        card = self.card(field.card) if field.card else None
        held = card.stated(field) if card is not None else None
        if held is not None:
            return held, "kit card"
        return field.default, field.source

    @overload
    def number(self, field: DefaultNumber, /, **at: Spot) -> float: ...
    @overload
    def number(self, field: Number, /, **at: Spot) -> float | None: ...
    def number(self, field: Number, /, **at: Spot) -> float | None:
        """A number, in the field's logic unit: entered, else from its kit card, else its default, else None."""
        value: Any = self._found(field, place(at))
        return value  # type: ignore[no-any-return]  # _fits has seen that it is a number

    @overload
    def count(self, field: DefaultNumber, /, **at: Spot) -> int: ...
    @overload
    def count(self, field: Number, /, **at: Spot) -> int | None: ...
    def count(self, field: Number, /, **at: Spot) -> int | None:
        """Like :meth:`number`, for what is counted."""
        value = self.number(field, **at)
        return None if value is None else int(value)

    @overload
    def choice(self, field: DefaultSelect, /, **at: Spot) -> str: ...
    @overload
    def choice(self, field: Select, /, **at: Spot) -> str | None: ...
    def choice(self, field: Select, /, **at: Spot) -> str | None:
        """The value of the choice made, else what the kit card says, else the default, else None."""
        value = self._found(field, place(at))
        return value if isinstance(value, str) else None

    def text(self, field: Text, /, **at: Spot) -> str | None:
        """A short text, or None."""
        value = self._found(field, place(at))
        return value if isinstance(value, str) else None

    def qty(self, field: Field, /, **at: Spot) -> Qty | None:
        """A number with its kind, ready to be shown; None where there is none."""
        if field.kind not in KINDS:
            return None
        value = self._found(field, place(at))
        return Qty(value, field.kind) if isinstance(value, (int, float)) else None

    @overload
    def get(self, field: DefaultNumber, /, **at: Spot) -> Value[float]: ...
    @overload
    def get(self, field: DefaultSelect, /, **at: Spot) -> Value[str]: ...
    @overload
    def get(self, field: Number, /, **at: Spot) -> Value[float] | None: ...
    @overload
    def get(self, field: Select | Text, /, **at: Spot) -> Value[str] | None: ...
    @overload
    def get(self, field: Field, /, **at: Spot) -> Value[float | str] | None: ...
    def get(self, field: Field, /, **at: Spot) -> Value[Any] | None:
        """The value of ``field`` at a place, and who says so; None where there is none."""
        where = place(at)
        entries = self.ask(("at", field.key, where), View._rivals, field.key, where)
        if entries:
            entry = _latest(entries)
            if _fits(_told(entry), field) and (isinstance(entry, Chosen) or _in_unit(entry.typed, field.unit)):
                return Value(_told(entry), entry)
        value, source = self._assumed(field)
        return None if value is None else Value(value, None, source)

    def rivals(self, what: Field | str, /, **at: Spot) -> tuple[Reading | Chosen, ...]:
        """Every live entry in one slot, oldest first; more than one means two people entered it."""
        key, where = _key(what), place(at)
        return self.ask(("at", key, where), View._rivals, key, where)

    @overload
    def all(self, what: Number, /, **fixed: Spot) -> dict[Place, Value[float]]: ...
    @overload
    def all(self, what: Select | Text, /, **fixed: Spot) -> dict[Place, Value[str]]: ...
    @overload
    def all(self, what: Field | str, /, **fixed: Spot) -> dict[Place, Value[Any]]: ...
    def all(self, what: Field | str, /, **fixed: Spot) -> dict[Place, Value[Any]]:
        """Every entered value of ``what`` whose place agrees with ``fixed``, by place."""
        key = _key(what)
        found = self.ask(("all", key), View._all, key, place(fixed))
        return {w: v for w, v in found if not isinstance(what, Field) or _fits(v.value, what)}

    def numbers(self, field: Number, /, **fixed: Spot) -> dict[Place, float]:
        """Every entered number of ``field`` whose place agrees with ``fixed``, by place, whoever entered it."""
        found = self.ask(("all", field.key), View._told_all, field.key, place(fixed))
        return {w: v for w, v in found if isinstance(v, (int, float))}

    @overload
    def events(self, what: Number, counter: str, /, **fixed: Spot) -> dict[int, Value[float]]: ...
    @overload
    def events(self, what: Select | Text, counter: str, /, **fixed: Spot) -> dict[int, Value[str]]: ...
    @overload
    def events(self, what: Field | str, counter: str, /, **fixed: Spot) -> dict[int, Value[Any]]: ...
    def events(self, what: Field | str, counter: str, /, **fixed: Spot) -> dict[int, Value[Any]]:
        """Values numbered by ``counter`` ("pass", "check"), in order."""
        found = {int(dict(w)[counter]): v for w, v in self.all(what, **fixed).items() if counter in dict(w)}
        return dict(sorted(found.items()))

    # -- the questions: what each is told, unrecorded ---------------------------------------
    def _rivals(self, what: str, where: Place) -> tuple[Reading | Chosen, ...]:
        return tuple(self.folded.slots.get(what, {}).get(where, ()))

    def _value(self, what: str, where: Place, unit: str | None = None) -> float | str | None:
        entries = self.folded.slots.get(what, {}).get(where)
        if not entries:
            return None
        entry = _latest(entries)
        return None if isinstance(entry, Reading) and not _in_unit(entry.typed, unit) else _told(entry)

    def _all(self, what: str, fixed: Place) -> tuple[tuple[Place, Value[float | str]], ...]:
        out = []
        for where, entries in self.folded.slots.get(what, {}).items():
            if entries and all(spot in where for spot in fixed):
                entry = _latest(entries)
                out.append((where, Value(_told(entry), entry)))
        return tuple(out)

    def _told_all(self, what: str, fixed: Place) -> tuple[tuple[Place, float | str], ...]:
        return tuple((where, value.value) for where, value in self._all(what, fixed))

    def _header(self, key: str, unit: str | None = None) -> Plain | None:
        value: Plain | Typed | None = value_of(self._document, key)
        if not header_fits(key, value) or not header_counts(key, value):
            return None
        if isinstance(value, Typed):
            return value.value if _in_unit(value, unit) else None
        return value

    def _card(self, id: str) -> View | None:
        return self._kit.get(id)

    def _record(self, id: str) -> tuple[JobRecord, ...]:
        return self.records.get(id, ())

    def _cards(self) -> dict[str, View]:
        return dict(self._kit)

    def _cautions_seen(self) -> dict[str, CautionSeen]:
        return dict(self.folded.seen)

    def _skipped(self) -> dict[str, Skipped]:
        return dict(self.folded.skipped)

    def _decisions(self) -> dict[tuple[str, Place], Decision]:
        return dict(self.folded.decisions)

    def _decision(self, what: str, where: Place) -> Decision | None:
        return self.folded.decisions.get((what, where))

    def _notes(self) -> tuple[Note, ...]:
        return tuple(self.folded.notes)

    def _photos(self) -> tuple[PhotoRef, ...]:
        return tuple(self.folded.photos)

    def _odd(self) -> tuple[Reading | Chosen, ...]:
        return tuple(self.folded.odd)

    def _first_stamp(self, id: str) -> str:
        entry = self._entries[id]
        while entry.replaces in self._entries and self._entries[entry.replaces].stamp < entry.stamp:
            entry = self._entries[entry.replaces]
        return entry.stamp

    def _last_read(self) -> str | None:
        live = (e.stamp for e in self._entries.values() if isinstance(e, Reading) and e.id not in self.folded.dead)
        return max(live, default=None)


def concerns(line: Asked, entry: Entry) -> bool:
    """Whether an entry can have a part in the answer to a question that was put to its view."""
    slot = line.slot
    if slot is None:
        return False
    if isinstance(entry, (Reading, Chosen)):
        where = place(entry.at)
        if slot[0] == "all" and slot[1] == entry.what:
            fixed: Any = line.question[2]
            return all(spot in where for spot in fixed)
        return slot in (("at", entry.what, where), ("odd",), ("log",))
    if isinstance(entry, Decision) and slot == ("decisions",) and len(line.question) > 1:
        return line.question[1] == entry.what
    return slot == ("log",) or slot[0] == KEPT_IN.get(entry.kind)
