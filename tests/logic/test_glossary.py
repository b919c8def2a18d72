"""The glossary: short, whole, in order, and true where a figure is stated."""

import re

import pytest

from logic.glossary import TERMS, term
from logic.say import say


def sentences(text: str) -> int:
    return len(re.findall(r"[.?!](?=\s|$)", text))


def test_there_are_enough_terms_and_no_two_alike():
    assert 40 <= len(TERMS) <= 70
    assert len({t.key for t in TERMS}) == len(TERMS)
    assert len({say(t.name).lower() for t in TERMS}) == len(TERMS)
    assert len({say(t.meaning) for t in TERMS}) == len(TERMS)


@pytest.mark.parametrize("entry", TERMS, ids=lambda t: t.key)
def test_each_meaning_is_one_or_two_whole_sentences(entry):
    text = say(entry.meaning)
    assert 1 <= sentences(text) <= 2
    assert text[0].isupper() and text.endswith(".")
    assert len(text) <= 240  # a phone screen's worth
    assert "{" not in text and "{" not in say(entry.name)
    assert entry.source == "common practice, no source" or re.search(r"\d{3,}", entry.source)


def test_terms_are_in_alphabetical_order():
    names = [say(t.name).lower() for t in TERMS]
    assert names == sorted(names)


def test_a_term_is_found_by_its_key():
    assert say(term("taper").name) == "Taper"
    with pytest.raises(KeyError):
        term("no such thing")


def test_the_inch_figures_are_exact():
    # 1 in = 25.4 mm exactly: NIST SP 811 (2008), B.6 and footnote
    assert f"{25.4 / 1000:.4f} mm" in say(term("thou").meaning)
    assert f"{25400 / 10000:.2f} µm" in say(term("tenth").meaning)
