"""Other languages: one gettext catalogue for each, ``de.po`` for German, beside this file.

The English sentence is the key. Its gaps keep their English names and may change their
order. A sentence that a catalogue lacks is shown in English. ``python -m tests.bench.words``
enters new sentences and drops dead ones; ``tests/logic/test_words.py`` finds what is
missing or wrong.

To add a language: add its code (ISO 639-1) with the language's own name to
:data:`LANGUAGES`, write a ``.po`` with its ``Plural-Forms``, and run that command.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pkgutil import get_data
from typing import Protocol

__all__ = ["LANGUAGES", "UNIT", "catalogue"]

#: Code and own name of every language, English first.
LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
#: The context (``msgctxt``) in which a catalogue holds the labels of units.
UNIT = "unit"


_HEAD = struct.Struct("<7I")  # magic, version, how many, where the keys' table is, where the forms', no hash table
_PLACE = struct.Struct("<2I")  # how long a string is, and where


class _Held:
    """The bytes of a ``.mo`` as the file that gettext reads."""

    def __init__(self, body: bytes) -> None:
        self._body = body

    def read(self) -> bytes:
        return self._body


class _Readable(Protocol):
    def read(self) -> bytes: ...


class _Rows(Mapping[str | tuple[str, int], str]):
    """The entries of a ``.mo`` by sentence, or by sentence and form; each is read when it is asked for.

    The keys of a ``.mo`` are sorted, so a sentence is found by halving. The NUL between a
    sentence and its plural sorts before every letter: both lie where the sentence alone would.
    """

    def __init__(self, body: bytes) -> None:
        self._body = body
        self._read: dict[str | tuple[str, int], str] = {}
        _, _, self._count, self._keys, self._forms, _, _ = _HEAD.unpack_from(body)

    def _string(self, table: int, row: int) -> bytes:
        length, at = _PLACE.unpack_from(self._body, table + _PLACE.size * row)
        return self._body[at : at + length]

    def __getitem__(self, key: str | tuple[str, int]) -> str:
        if key not in self._read:
            self._read[key] = self._found(key)
        return self._read[key]

    def _found(self, key: str | tuple[str, int]) -> str:
        sentence, form = key if isinstance(key, tuple) else (key, -1)
        wanted = sentence.encode()
        low, high = 0, self._count
        while low < high:
            middle = (low + high) // 2
            if self._string(self._keys, middle) < wanted:
                low = middle + 1
            else:
                high = middle
        if low < self._count:
            found, _, plural = self._string(self._keys, low).partition(b"\0")
            if found == wanted and bool(plural) == (form >= 0):
                forms = self._string(self._forms, low).split(b"\0")
                if form < len(forms):
                    return forms[form if plural else 0].decode()
        raise KeyError(key)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __iter__(self) -> Iterator[str | tuple[str, int]]:
        for row in range(self._count):
            sentence, _, plural = self._string(self._keys, row).decode().partition("\0")
            forms = self._string(self._forms, row).count(b"\0") + 1
            yield from ((sentence, form) for form in range(forms)) if plural else (sentence,)


class _Catalogue(GNUTranslations):
    """A catalogue of which only the head is read at first."""

    def _parse(self, fp: _Readable) -> None:
        body = fp.read()
        rows = _Rows(body)
        head = rows.get("", "").encode()
        at = _HEAD.size + 2 * _PLACE.size
        alone = _HEAD.pack(_HEAD.unpack_from(body)[0], 0, 1, _HEAD.size, _HEAD.size + _PLACE.size, 0, at)
        places = _PLACE.pack(0, at) + _PLACE.pack(len(head), at + 1)
        super()._parse(_Held(alone + places + b"\0" + head + b"\0"))
        self._catalog = rows


def _mo(language: str) -> bytes:
    try:
        body = get_data(__name__, f"{language}.mo")
    except OSError:
        from .po import compiled  # noqa: PLC0415  (run from the source; not in the browser's archive)

        body = compiled((get_data(__name__, f"{language}.po") or b"").decode())
    return body or b""


@cache
def catalogue(language: str) -> NullTranslations:
    """The sentences of ``language``. One that says everything in English for a language not known here."""
    if language == "en" or language not in LANGUAGES:
        return NullTranslations()
    return _Catalogue(_Held(_mo(language)))
