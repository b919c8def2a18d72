"""Other languages: one file for each, a table from the English sentence to the same in that language.

The gaps of a sentence keep their English names and may change their order. A sentence
that a table lacks is shown in English. ``tests/logic/test_words.py`` finds sentences
that are missing, and ``python -m tests.bench.missing_words de`` lists them.

To add a language: copy the shape of ``de.py`` to a file named by the language's code
(ISO 639-1), and add the code with the language's own name to :data:`LANGUAGES`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache
from importlib import import_module

__all__ = ["LANGUAGES", "catalogue", "unit_labels"]

#: Code and own name of every language, English first.
LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """English sentence -> sentence in ``language``. Empty for English and for a language not known here."""
    if language == "en" or language not in LANGUAGES:
        return {}
    return import_module(f".{language}", __name__).WORDS


@cache
def unit_labels(language: str) -> Mapping[str, str]:
    """The unit labels that read differently in ``language`` ("rev/min"); empty for a language not known here."""
    if language == "en" or language not in LANGUAGES:
        return {}
    return import_module(f".{language}", __name__).UNITS
