"""A file that is read in pieces, so that its photos never lie in memory all at once."""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from logic.say import L

from .errors import Refused
from .form import checksum

__all__ = [
    "AsyncSource",
    "FileSource",
    "Held",
    "Pictures",
    "Source",
    "Thin",
    "Thinner",
    "thinned",
    "thinned_slowly",
]

_PIECE = 1 << 20
_PHOTO = re.compile(rb'\{"digest": "([0-9a-f]{64})", "media": "image/[a-z]{1,20}", "data": "')
_LONGEST_MARK = 160
#: More base64 than the largest photo that is kept comes to.
_LARGEST = 28_000_000


class Source(Protocol):
    """Bytes that can be read from anywhere in them."""

    @property
    def size(self) -> int:
        """How many there are."""

    def read(self, start: int, end: int) -> bytes:
        """Those from ``start`` up to ``end``."""


class Held:
    """Bytes in memory as a source."""

    def __init__(self, data: bytes | bytearray | memoryview) -> None:
        self._data = memoryview(data)
        self.size = len(self._data)

    def read(self, start: int, end: int) -> bytes:
        return bytes(self._data[start:end])


class FileSource:
    """A file on a computer as a source. Raises OSError where it cannot be read."""

    def __init__(self, path: str | Path) -> None:
        self._path = Path(path)
        self.size = self._path.stat().st_size

    def read(self, start: int, end: int) -> bytes:
        with self._path.open("rb") as handle:
            handle.seek(start)
            return handle.read(end - start)


class AsyncSource(Protocol):
    """The same, where reading has to be waited for."""

    @property
    def size(self) -> int:
        """How many there are."""

    async def fetch(self, start: int, end: int) -> bytes:
        """Those from ``start`` up to ``end``."""


@dataclass
class Thin:
    """A file without the bytes of its photos: ``text`` is what is left, ``places`` is where in the file each
    photo's base64 lies, by digest, and ``damaged`` names those that are not what their digest says."""

    text: bytes
    places: dict[str, tuple[int, int]]
    damaged: frozenset[str]


class Thinner:
    """Takes a file piece by piece and leaves out its photos, each looked at as it goes by.

    What is left may have at most ``limit`` bytes; otherwise Refused ("size").
    """

    def __init__(self, limit: int) -> None:
        self._limit = limit
        self._out = bytearray()
        self._buffer = b""  # what came and was not used yet
        self._at = 0  # where in the file that ends
        self._photo: _Passing | None = None
        self._places: dict[str, tuple[int, int]] = {}
        self._damaged: set[str] = set()

    def feed(self, piece: bytes) -> None:
        """The next bytes of the file."""
        self._buffer += piece
        self._at += len(piece)
        while True:
            photo = self._photo = self._photo or self._outside()
            if photo is None or not self._inside(photo):
                return

    def _outside(self) -> _Passing | None:
        """Keep what is no photo; the one that begins, where one does."""
        mark = _PHOTO.search(self._buffer)
        keep = len(self._buffer) - min(_LONGEST_MARK, len(self._buffer)) if mark is None else mark.end()
        self._out += self._buffer[:keep]
        self._buffer = self._buffer[keep:]
        if len(self._out) > self._limit:
            raise Refused(L("The file is too large: at most {count} MB.", count=self._limit // 1_000_000), "size")
        return None if mark is None else _Passing(mark[1].decode(), self._at - len(self._buffer))

    def _inside(self, photo: _Passing) -> bool:
        """Let a photo go by; True where it has come to its end, or to what is too much for one."""
        end = self._buffer.find(b'"')
        passed = len(self._buffer) if end < 0 else end
        photo.take(self._buffer[:passed])
        self._buffer = self._buffer[passed:]
        if end < 0 and self._at - photo.start <= _LARGEST:
            return False
        self._close(photo)
        return True

    def _close(self, photo: _Passing) -> None:
        self._photo = None
        if photo.digest not in self._places:
            self._places[photo.digest] = photo.start, self._at - len(self._buffer)
            if not photo.sound():
                self._damaged.add(photo.digest)

    def end(self) -> Thin:
        """What is left of the file, once all of it came."""
        if self._photo is not None:
            self._close(self._photo)
        self._out += self._buffer
        self._buffer = b""
        if len(self._out) > self._limit:
            raise Refused(L("The file is too large: at most {count} MB.", count=self._limit // 1_000_000), "size")
        return Thin(bytes(self._out), self._places, frozenset(self._damaged))


class _Passing:
    """A photo that goes by: its digest is worked out as it does."""

    def __init__(self, digest: str, start: int) -> None:
        self.digest, self.start = digest, start
        self._sum = hashlib.sha256()
        self._rest = b""
        self._base64 = True

    def take(self, text: bytes) -> None:
        whole = self._rest + text
        cut = len(whole) - len(whole) % 4
        self._rest = whole[cut:]
        try:
            self._sum.update(base64.b64decode(whole[:cut], validate=True))
        except (binascii.Error, ValueError):
            self._base64 = False

    def sound(self) -> bool:
        return self._base64 and not self._rest and self._sum.hexdigest() == self.digest


def thinned(source: Source, limit: int) -> Thin:
    """A file without the bytes of its photos. Raises Refused ("size") where more than ``limit`` bytes are left."""
    thinner = Thinner(limit)
    for at in range(0, source.size, _PIECE):
        thinner.feed(source.read(at, min(at + _PIECE, source.size)))
    return thinner.end()


async def thinned_slowly(source: AsyncSource, limit: int) -> Thin:
    """The same of a source whose reading has to be waited for."""
    thinner = Thinner(limit)
    for at in range(0, source.size, _PIECE):
        thinner.feed(await source.fetch(at, min(at + _PIECE, source.size)))
    return thinner.end()


class Pictures(Mapping[str, tuple[str, bytes]]):
    """The photos of a file by digest: media type and bytes, read when they are asked for.

    Raises KeyError where a photo is not there, or is not what its digest says. Where reading
    has to be waited for, only :meth:`fetch` gives a photo.
    """

    def __init__(self, source: Source | AsyncSource, thin: Thin, pictures: Mapping[str, Any]) -> None:
        self._source, self._thin = source, thin
        self._pictures = dict(pictures)

    def __getitem__(self, digest: str) -> tuple[str, bytes]:
        picture = self._pictures[digest]
        place = self._thin.places.get(digest)
        if place is None:
            return picture.media, _decoded(digest, picture.data)
        if not hasattr(self._source, "read"):
            raise TypeError("this photo has to be waited for")
        return picture.media, _decoded(digest, self._source.read(*place))

    def __contains__(self, digest: object) -> bool:
        return digest in self._pictures

    def __iter__(self) -> Iterator[str]:
        return iter(self._pictures)

    def __len__(self) -> int:
        return len(self._pictures)

    async def fetch(self, digest: str) -> tuple[str, bytes]:
        """A photo, whatever kind of source it comes from."""
        place = self._thin.places.get(digest)
        if place is None or hasattr(self._source, "read"):
            return self[digest]
        return self._pictures[digest].media, _decoded(digest, await self._source.fetch(*place))

    def leave_out_damaged(self) -> int:
        """Drop those that are damaged; gives how many that were."""
        damaged = [digest for digest in self._pictures if not self._sound(digest)]
        for digest in damaged:
            del self._pictures[digest]
        return len(damaged)

    def _sound(self, digest: str) -> bool:
        if digest in self._thin.places:
            return digest not in self._thin.damaged
        try:
            return bool(self[digest])
        except KeyError:
            return False


def _decoded(digest: str, text: str | bytes) -> bytes:
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as problem:
        raise KeyError(digest) from problem
    if checksum(data) != digest:
        raise KeyError(digest)
    return data
