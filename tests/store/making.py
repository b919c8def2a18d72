"""Jobs for tests: views made from plain values, without a store."""

from itertools import count

from store.documents import Chosen, Decision, Document, Reading, Stamped, Typed
from store.view import View

DEVICE = "testtest"


class Making:
    """Collects entries and gives a :class:`View` of them; each gets the next stamp."""

    def __init__(self, *, nominal=None, cylinders=None, cards=None, **header):
        self._next = count(1)
        self.cards = dict(cards or {})
        self.entries = []
        self.header = {}
        if nominal is not None:
            header["nominal"] = Typed(text=str(nominal), typed_unit="mm", value=float(nominal), unit="mm")
        if cylinders is not None:
            header["cylinders"] = cylinders
        for key, value in header.items():
            self.header[key] = Stamped(value=value, stamp=self._stamp(0))

    @staticmethod
    def _stamp(n):
        return f"{1_760_000_000_000 + n:013d}-00000-{DEVICE}"

    def _head(self):
        n = next(self._next)
        return dict(id=f"entry{n:06d}", stamp=self._stamp(n), device=DEVICE)

    def put(self, field, value, /, **at):
        """A value of ``field`` (in its logic unit, or a choice's value) at a place; gives the entry."""
        if field.kind in ("choice", "text"):
            entry = Chosen(**self._head(), what=field.key, at=at, value=value)
        else:
            typed = Typed(text=repr(value), typed_unit=field.unit or "1", value=float(value), unit=field.unit or "1")
            entry = Reading(**self._head(), what=field.key, at=at, typed=typed)
        self.entries.append(entry)
        return entry

    def typed(self, field, entered, /, **at):
        """An entry as :func:`logic.units.parse` gave it."""
        typed = Typed(text=entered.text, typed_unit=entered.typed_unit, value=entered.value, unit=entered.unit or "1")
        entry = Reading(**self._head(), what=field.key, at=at, typed=typed)
        self.entries.append(entry)
        return entry

    def decide(self, what, value, /, number=None, unit="mm", **at):
        """A decision, with the number decided on if there is one."""
        typed = None if number is None else Typed(text=repr(number), typed_unit=unit, value=float(number), unit=unit)
        entry = Decision(**self._head(), what=what, at=at, value=value, typed=typed)
        self.entries.append(entry)
        return entry

    def document(self, id="job00001", type="job"):
        return Document(id=id, type=type, header=self.header, entries=tuple(self.entries))

    def view(self):
        return View(self.document(), self.cards)
