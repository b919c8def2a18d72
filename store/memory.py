"""Documents in memory: for tests, and for looking into a file without storing it."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Any

from tinydb import TinyDB

from .backend import Backend
from .documents import Document
from .form import checksum
from .journal import read_line
from .shelf import Carried, Change, Record, Shelf

__all__ = ["MemoryBackend"]

_KEPT = 8


class MemoryBackend(Backend):
    """Keeps each document as JSON text, the database and the lines of its journal, as the lasting backends do."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: dict[str, str] = {}
        self.lines: dict[str, list[str]] = {}
        self.index: dict[str, Record] = {}
        self.settings: dict[str, str] = {}
        self.photos: dict[str, tuple[str, bytes]] = {}
        self.aside: dict[str, str] = {}
        self._held: OrderedDict[str, Shelf] = OrderedDict()

    async def open(self) -> None:
        self._held.clear()

    def _shelf(self, id: str) -> Shelf:
        held = self._held.pop(id, None)
        if held is not None and id in self.texts and held.revision == self.index[id].get("revision"):
            return held
        carried = Carried(json.loads(self.texts[id]) if id in self.texts else None)
        return Shelf(TinyDB(storage=lambda: carried), [s for s in map(read_line, self.lines.get(id, ())) if s])

    async def records(self) -> Mapping[str, Record]:
        return self.index

    async def read(self, id: str) -> Document | None:
        return self._shelf(id).whole()

    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        shelf = self._shelf(id)
        turn = shelf.turn(do, mark)
        if turn and turn.whole:
            carried = Carried()
            shelf.fill(TinyDB(storage=lambda: carried))
            self.texts[id], self.lines[id] = json.dumps(carried.tables), []
        elif turn:
            self.lines[id].append(turn.line)
        if turn:
            self.index[id] = shelf.record
        assert shelf.document is not None
        self._held[id] = shelf
        while len(self._held) > _KEPT:
            self._held.popitem(last=False)
        return shelf.document

    async def get(self, key: str) -> Any:
        return json.loads(self.settings[key]) if key in self.settings else None

    async def put(self, key: str, change: Callable[[Any], Any]) -> Any:
        value = change(await self.get(key))
        self.settings[key] = json.dumps(value)
        return value

    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        self.photos[digest] = (media, data)

    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        return self.photos.get(digest)

    async def put_aside(self, text: str) -> None:
        self.aside[checksum(text)] = text
