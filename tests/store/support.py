"""Small helpers for the store's tests."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from types import SimpleNamespace
from typing import Any, TypeVar

from store import draft
from store.documents import Document, Reading

T = TypeVar("T")
NOW = 1_700_000_000_000


def run(work: Coroutine[Any, Any, T]) -> T:
    return asyncio.run(work)


def inches(text: str) -> SimpleNamespace:
    """What the number pad hands over for a size typed in inches."""
    return SimpleNamespace(text=text, typed_unit="in", value=round(float(text) * 25.4, 9), unit="mm")


def reading(text: str, cylinder: int = 1, depth: int = 1, axis: str = "thrust", **more: Any) -> Reading:
    """A draft of a reading of a field that no sheet has."""
    return draft.reading("trial.reading", {"cylinder": cylinder, "depth": depth, "axis": axis}, inches(text), **more)


def texts(document: Document) -> list[str]:
    """What was typed in a document's readings, oldest first."""
    return [e.typed.text for e in document.entries if isinstance(e, Reading)]


class Time:
    """A device clock that is set by hand; it goes on one millisecond each time it is read."""

    def __init__(self, ms: int = NOW) -> None:
        self.ms = ms

    def __call__(self) -> int:
        self.ms += 1
        return self.ms
