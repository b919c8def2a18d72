"""Other languages: one gettext catalogue for each, ``de.po`` for German, beside this file.

The English sentence is the key. Its gaps keep their English names and may change their
order. A sentence that a catalogue lacks is shown in English. ``python -m tests.bench.words``
enters new sentences and drops dead ones; ``tests/logic/test_words.py`` finds what is
missing or wrong.

To add a language: add its code (ISO 639-1) with the language's own name to
:data:`LANGUAGES`, write a ``.po`` with its ``Plural-Forms``, and run that command.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pkgutil import get_data

__all__ = ["LANGUAGES", "UNIT", "catalogue"]

#: Code and own name of every language, English first.
LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
#: The context (``msgctxt``) in which a catalogue holds the labels of units.
UNIT = "unit"


class _Held:
    """The bytes of a ``.mo`` as the file that gettext reads."""

    def __init__(self, body: bytes) -> None:
        self._body = body

    def read(self) -> bytes:
        return self._body


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
    return GNUTranslations(_Held(_mo(language)))
