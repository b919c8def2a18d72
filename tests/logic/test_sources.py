"""Where a figure comes from, and what was typed, are told in the reader's language."""

from __future__ import annotations

import re

import pytest

from logic.checked import CHECKS
from logic.constants import CONSTANTS
from logic.glossary import TERMS
from logic.result import source_said
from logic.say import AsTyped, L, Style, say

GERMAN = Style("mm", language="de")
ENGLISH = re.compile(
    r"\b(common practice|no source|from memory|entered|history|bore centres|worked example|tables? of)\b"
)
SOURCES = {t.source for t in TERMS} | {c.source for c in CONSTANTS.values()} | {c.against for c in CHECKS}
EVERYDAY = {"entered or common practice", "own history", "nothing done yet", "the line of the bore centres"}


@pytest.mark.parametrize("source", sorted(SOURCES | EVERYDAY))
def test_a_source_is_told_in_german(source: str) -> None:
    assert not ENGLISH.search(say(source_said(source), GERMAN))
    assert say(source_said(source), Style()).replace(" (from memory)", ", from memory") in (
        source,
        source.replace(" (from memory)", ", from memory"),
    )


def test_several_sources_are_told_one_by_one() -> None:
    assert say(source_said("mechanics; DIN 7190 (from memory)"), GERMAN) == "Mechanik; DIN 7190 (nicht nachgeschlagen)"


@pytest.mark.parametrize(
    ("typed", "german"), [("3.5", "3,5"), ("3,5", "3,5"), ("1.234,5", "1.234,5"), ("9999", "9999"), ("7/8", "7/8")]
)
def test_a_number_is_quoted_with_the_readers_decimal_sign(typed: str, german: str) -> None:
    assert say(L("{text} mm", text=AsTyped(typed)), GERMAN) == f"{german} mm"
    assert say(L("{text} mm", text=AsTyped(typed))) == f"{typed} mm"
