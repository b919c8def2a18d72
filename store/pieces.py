"""A file that is read in pieces, so that its photos never lie in memory all at once."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Protocol

from logic.say import L

from .errors import Refused
from .form import checksum

__all__ = ["FileSource", "Held", "Pictures", "Source", "thinned"]

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


def thinned(source: Source, limit: int) -> tuple[bytes, dict[str, tuple[int, int]]]:
    """The file without the bytes of its photos, and where in it those lie, by digest.

    What is left may have at most ``limit`` bytes; otherwise Refused ("size").
    """
    out = bytearray()
    places: dict[str, tuple[int, int]] = {}
    buffer, at = b"", 0  # what was read and not used yet, and where in the file it ends
    while at < source.size or buffer:
        if at < source.size:
            piece = source.read(at, min(at + _PIECE, source.size))
            if not piece:
                break
            buffer, at = buffer + piece, at + len(piece)
        mark = _PHOTO.search(buffer)
        if mark is None:
            keep = 0 if at >= source.size else min(_LONGEST_MARK, len(buffer))
            out += buffer[: len(buffer) - keep]
            buffer = buffer[len(buffer) - keep :]
            _within(out, limit)
            if not keep:
                break
            continue
        out += buffer[: mark.end()]
        _within(out, limit)
        start = at - len(buffer) + mark.end()
        end = _closing(source, start)
        places.setdefault(mark[1].decode(), (start, end))
        buffer, at = b"", end
    return bytes(out), places


def _within(out: bytearray, limit: int) -> None:
    if len(out) > limit:
        raise Refused(L("The file is too large: at most {count} MB.", count=limit // 1_000_000), "size")


def _closing(source: Source, start: int) -> int:
    """Where the text that starts at ``start`` ends; the end of the file where it does not."""
    at = start
    while at < source.size and at - start <= _LARGEST:
        piece = source.read(at, min(at + _PIECE, source.size))
        found = piece.find(b'"')
        if found >= 0 or not piece:
            return at + max(found, 0)
        at += len(piece)
    return at


class Pictures(Mapping[str, tuple[str, bytes]]):
    """The photos of a file by digest: media type and bytes, read when they are asked for.

    Raises KeyError where a photo is not there, or is not what its digest says.
    """

    def __init__(self, source: Source, places: Mapping[str, tuple[int, int]], pictures: Mapping[str, Any]) -> None:
        self._source, self._places = source, places
        self._pictures = dict(pictures)

    def __getitem__(self, digest: str) -> tuple[str, bytes]:
        picture = self._pictures[digest]
        place = self._places.get(digest)
        text = self._source.read(*place) if place else picture.data
        try:
            data = base64.b64decode(text, validate=True)
        except (binascii.Error, ValueError) as problem:
            raise KeyError(digest) from problem
        if checksum(data) != digest:
            raise KeyError(digest)
        return picture.media, data

    def __iter__(self) -> Iterator[str]:
        return iter(self._pictures)

    def __len__(self) -> int:
        return len(self._pictures)

    def leave_out_damaged(self) -> int:
        """Look at each once and drop those that are damaged; gives how many that were."""
        damaged = [digest for digest in self._pictures if digest not in self]
        for digest in damaged:
            del self._pictures[digest]
        return len(damaged)
