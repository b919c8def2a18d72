"""What a place to keep documents must offer. There are three: files, the browser, memory."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from typing import Any

from logic.say import Line

from .documents import Document
from .shelf import Change, Record

__all__ = ["Backend"]


class Backend(ABC):
    """A place to keep documents, settings and photos.

    Every method returns only when its work is done; a change that could not be made
    durable raises :class:`~store.errors.NotSaved` and leaves what was stored before.
    ``troubles`` collects sentences about damage found and mended on the way. ``heard`` is
    called with a document's id when another tab of the same browser has changed it.
    """

    def __init__(self) -> None:
        self.troubles: list[Line] = []
        self.heard: Callable[[str], None] = lambda id: None

    async def open(self) -> None:
        """Make ready for use. Raises Refused with code "newer" where a newer version has been at work."""

    async def close(self) -> None:
        """Let go of whatever is held open."""

    @abstractmethod
    async def records(self) -> Mapping[str, Record]:
        """The index as it is now: a record for each document, by id. Not to be altered."""

    @abstractmethod
    async def read(self, id: str) -> Document | None:
        """A document, or None if there is none. Raises Refused ("newer", "broken")."""

    @abstractmethod
    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        """Replace a document by ``do(document)`` in one step that nothing can get between.

        ``mark`` gives the device's clock, to be stored beside the document.
        """

    @abstractmethod
    async def get(self, key: str) -> Any:
        """A setting of this device (plain JSON data), or None."""

    @abstractmethod
    async def put(self, key: str, change: Callable[[Any], Any]) -> Any:
        """Set a setting to ``change(present value or None)`` in one step; gives the new value."""

    @abstractmethod
    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        """Keep a photo under its digest."""

    @abstractmethod
    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        """A photo's media type and bytes, or None."""

    @abstractmethod
    async def put_aside(self, text: str) -> None:
        """Keep the text of a part that could not be taken in, under its digest."""

    async def second_copies(self) -> Mapping[str, Document]:
        """Copies of documents that something else has put beside them, by name: to be merged into them."""
        return {}

    async def settle_copy(self, name: str) -> None:
        """A second copy has been merged: keep it aside."""
