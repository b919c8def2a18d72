"""Writing a log by hand: entries as somebody would have typed them, with fixed ids and times."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any, Literal

from logic import units
from logic.fields import Field
from store.clock import join
from store.documents import CautionSeen, Chosen, Decision, Document, Note, Reading, Skipped, Stamped, Typed
from store.sheets import all_sheets

__all__ = ["DEVICE", "Notebook"]

DEVICE = "demodevice01"


@lru_cache(maxsize=1)
def _job_fields() -> Mapping[str, Field]:
    return {key: f for s in all_sheets() for key, f in s.fields.items()}


class Notebook:
    """One document in the making.

    ``begin`` is the time of the first entry, as "2025-09-15 08:00" UTC; each entry comes
    ``pace_s`` seconds after the one before, and :meth:`later` lets time pass. Ids count
    up from the document's own, so that the same notebook always gives the same document.
    """

    def __init__(
        self,
        id: str,
        begin: str,
        *,
        type: Literal["job", "card"] = "job",
        by: str = "",
        pace_s: float = 9.0,
        fields: Mapping[str, Field] | None = None,
    ) -> None:
        self.id, self.type, self.by, self.pace_s = id, type, by, pace_s
        self._now = datetime.strptime(begin, "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
        self._fields = fields
        self._count = 0
        self._header: dict[str, Stamped] = {}
        self._entries: list[Any] = []

    @property
    def now_ms(self) -> int:
        return round(self._now.timestamp() * 1000)

    def later(self, minutes: float = 0, hours: float = 0, days: float = 0) -> None:
        """Let time pass."""
        self._now += timedelta(minutes=minutes, hours=hours, days=days)

    def _stamp(self) -> str:
        return join(self.now_ms, 0, DEVICE)

    def _head(self) -> dict[str, Any]:
        self._now += timedelta(seconds=self.pace_s)
        self._count += 1
        return {"id": f"{self.id}e{self._count:05d}", "stamp": self._stamp(), "device": DEVICE, "by": self.by}

    def field(self, key: str) -> Field:
        """The field called ``key``. Raises KeyError if no step (or this card) asks it."""
        return (self._fields if self._fields is not None else _job_fields())[key]

    def header(self, **values: Any) -> None:
        """Header fields; ``nominal`` as typed, such as "3.000 in"."""
        for key, value in values.items():
            stored = value
            if key == "nominal":
                number, unit = value.split()
                mm = units.convert(float(number), unit, "mm")
                stored = Typed(text=number, typed_unit=unit, value=round(mm, 9), unit="mm")
            self._header[key] = Stamped(value=stored, stamp=self._stamp(), by=self.by)

    def put(self, key: str, said: str, /, **at: Any) -> None:
        """A value at a place: a number as typed by an inch person, or a choice's value."""
        self._value(key, said, at, None)

    def correct(self, key: str, said: str, /, **at: Any) -> None:
        """Another value in the place of the last one there. Raises StopIteration where there is none."""
        old = next(e for e in reversed(self._entries) if getattr(e, "what", "") == key and e.at == at)
        self._value(key, said, at, old.id)

    def _value(self, key: str, said: str, at: dict[str, Any], replaces: str | None) -> None:
        field = self.field(key)
        if field.kind in ("choice", "text"):
            entry: Any = Chosen(**self._head(), what=key, at=at, value=said, replaces=replaces)
        else:
            got = units.parse(said, field, length_unit="in", temperature_unit="C")
            typed = Typed(text=got.text, typed_unit=got.typed_unit or "1", value=got.value, unit=got.unit or "1")
            entry = Reading(**self._head(), what=key, at=at, typed=typed, replaces=replaces)
        self._entries.append(entry)

    def raw(self, key: str, inches: str, /, **at: Any) -> None:
        """A size under a key that no step asks, such as what a bar cut in earlier jobs."""
        typed = Typed(text=inches, typed_unit="in", value=round(float(inches) * 25.4, 9), unit="mm")
        self._entries.append(Reading(**self._head(), what=key, at=at, typed=typed))

    def decide(
        self, what: str, said: str, *, number_mm: float | None = None, advised: str = "", reason: str = "", **at: Any
    ) -> None:
        """A decision, with the advice it followed or not."""
        typed = None if number_mm is None else Typed(text=said, typed_unit="in", value=number_mm, unit="mm")
        self._entries.append(
            Decision(**self._head(), what=what, at=at, value=said, typed=typed, advised=advised, reason=reason)
        )

    def note(self, text: str, **at: Any) -> None:
        self._entries.append(Note(**self._head(), at=at, text=text))

    def seen(self, *cautions: str) -> None:
        """Cautions that were acknowledged."""
        for key in cautions:
            self._entries.append(CautionSeen(**self._head(), what=key))

    def skip(self, step: str, reason: str) -> None:
        """A step left out, and why."""
        self._entries.append(Skipped(**self._head(), what=f"sheet.{step}", reason=reason))

    def document(self) -> Document:
        return Document(id=self.id, type=self.type, header=self._header, entries=tuple(self._entries))
