"""Documents in memory: for tests, and for looking into a file without storing it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from tinydb import TinyDB

from .backend import Backend
from .documents import Document
from .shelf import Carried, Change, Record, Shelf

__all__ = ["MemoryBackend"]


class MemoryBackend(Backend):
    """Keeps each document's database as JSON text, as the lasting backends do."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: dict[str, str] = {}
        self.index: dict[str, Record] = {}
        self.settings: dict[str, str] = {}
        self.photos: dict[str, tuple[str, bytes]] = {}

    def _shelf(self, id: str) -> tuple[Shelf, Carried]:
        carried = Carried(json.loads(self.texts[id]) if id in self.texts else None)
        return Shelf(TinyDB(storage=lambda: carried)), carried

    async def records(self) -> Mapping[str, Record]:
        return self.index

    async def read(self, id: str) -> Document | None:
        return self._shelf(id)[0].whole()

    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        shelf, carried = self._shelf(id)
        if shelf.turn(do, mark):
            self.texts[id] = json.dumps(carried.tables)
            self.index[id] = shelf.record
        assert shelf.document is not None
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
