"""A log, folded: what stands, sorted by what it says."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from .documents import CautionSeen, Chosen, Decision, Entry, Note, PhotoRef, Reading, Skipped
from .graph import Slot
from .plausible import counts

__all__ = ["KEPT_IN", "Folded", "Place", "Spot", "named", "numbered", "order", "place"]

#: One part of a place: a number counted from 1, or a name (an axis).
Spot = int | str
#: A place as a sorted, hashable key.
Place = tuple[tuple[str, Spot], ...]


#: The slot that holds the entries of a kind; those of readings and choices are by key and place.
KEPT_IN = {"caution": "seen", "skipped": "skipped", "decision": "decisions", "note": "notes", "photo": "photos"}


def place(at: Mapping[str, Spot] | None = None, /, **more: Spot) -> Place:
    """A place as a sorted, hashable key: ``place(cylinder=2, axis="thrust")``."""
    return tuple(sorted({**(at or {}), **more}.items()))


def numbered(where: Place, what: str) -> int:
    """The number of a place's part: of ``cylinder``, ``depth``, ``pass``. Raises KeyError if the place has no such part."""
    return int(dict(where)[what])


def named(where: Place, what: str) -> str:
    """The name of a place's part: of ``axis``. Raises KeyError if the place has no such part."""
    return str(dict(where)[what])


def order(entry: Entry) -> tuple[str, str]:
    """What entries are sorted by: when they were made, then their id."""
    return entry.stamp, entry.id


def _same(old: Sequence[object], new: Sequence[object]) -> bool:
    return len(old) == len(new) and all(a is b for a, b in zip(old, new, strict=True))


class Folded:
    """The entries that stand: readings and choices by key and place, the others by kind.

    ``last`` is the order of the latest entry, whether it stands or not; ``dead`` are the
    ids of those that another replaces or withdraws; ``odd`` cannot be reckoned with (see
    :mod:`store.plausible`) and are nowhere else.
    """

    def __init__(self, entries: Iterable[Entry]) -> None:
        self.dead: set[str] = set()
        self.last = ("", "")
        self.slots: dict[str, dict[Place, list[Reading | Chosen]]] = {}
        self.seen: dict[str, CautionSeen] = {}
        self.skipped: dict[str, Skipped] = {}
        self.decisions: dict[tuple[str, Place], Decision] = {}
        self.notes: list[Note] = []
        self.photos: list[PhotoRef] = []
        self.odd: list[Reading | Chosen] = []
        known = sorted(entries, key=order)
        # An entry is dead while a live entry replaces or withdraws it. Later entries
        # are settled first, so a withdrawn withdrawal brings its target back.
        for entry in reversed(known):
            if entry.id not in self.dead and entry.replaces:
                self.dead.add(entry.replaces)
        for entry in known:
            if entry.id not in self.dead:
                self.put(entry)
        if known:
            self.last = order(known[-1])

    def put(self, entry: Entry) -> tuple[Slot, ...]:
        """Put an entry that stands, the latest of all, where it belongs; the slots it changes."""
        self.last = order(entry)
        if isinstance(entry, (Reading, Chosen)):
            return self._value(entry)
        if isinstance(entry, CautionSeen):
            self.seen[entry.what] = entry
        elif isinstance(entry, Skipped):
            self.skipped[entry.what] = entry
        elif isinstance(entry, Decision):
            self.decisions[entry.what, place(entry.at)] = entry
        elif isinstance(entry, Note):
            self.notes.append(entry)
        elif isinstance(entry, PhotoRef):
            self.photos.append(entry)
        return ((KEPT_IN[entry.kind],),) if entry.kind in KEPT_IN else ()

    def _value(self, entry: Reading | Chosen) -> tuple[Slot, ...]:
        if not counts(entry):
            self.odd.append(entry)
            return (("odd",),)
        where = place(entry.at)
        self.slots.setdefault(entry.what, {}).setdefault(where, []).append(entry)
        return ("at", entry.what, where), ("all", entry.what)

    def lists(self) -> dict[str, Sequence[object]]:
        """What stands beside the readings and choices, by kind."""
        return {
            "seen": tuple(self.seen.values()),
            "skipped": tuple(self.skipped.values()),
            "decisions": tuple(self.decisions.values()),
            "notes": self.notes,
            "photos": self.photos,
            "odd": self.odd,
        }

    def differs(self, other: Folded) -> list[Slot]:
        """The slots in which two folded logs differ."""
        out: list[Slot] = []
        for what in {**other.slots, **self.slots}:
            old, new = other.slots.get(what, {}), self.slots.get(what, {})
            spots = [w for w in {**old, **new} if not _same(old.get(w, ()), new.get(w, ()))]
            out += [("at", what, w) for w in spots]
            if spots or list(old) != list(new):
                out.append(("all", what))
        before = other.lists()
        out += [(name,) for name, now in self.lists().items() if not _same(before[name], now)]
        return out
