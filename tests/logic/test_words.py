"""Every sentence exists in every language, with the same gaps."""

import pytest

from logic import words
from logic.result import source_said
from logic.say import KINDS, L, Qty, Style, figure, say
from tests.lines import gaps, templates

OTHERS = [code for code in words.LANGUAGES if code != "en"]


@pytest.fixture(scope="module")
def written():
    return templates()


@pytest.mark.parametrize("code", OTHERS)
def test_every_sentence_is_translated(code, written):
    missing = {where: text for text, where in written.items() if text not in words.catalogue(code)}
    assert not missing, (
        f"{len(missing)} missing, see python -m tests.bench.missing_words {code}: {list(missing.items())[:5]}"
    )


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_has_the_same_gaps(code):
    wrong = {text: said for text, said in words.catalogue(code).items() if gaps(text) != gaps(said)}
    assert not wrong, wrong


@pytest.mark.parametrize("code", OTHERS)
def test_no_translation_outlives_its_sentence(code, written):
    assert not [text for text in words.catalogue(code) if text not in written]


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_is_not_the_english_left_as_it_was(code):
    """A long sentence that is the same in both languages was forgotten."""
    same = [
        text
        for text, said in words.catalogue(code).items()
        if said == text and len(text.split()) > 3 and not text.startswith("{")
    ]
    assert not same, same


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_says_something_and_ends_as_the_english_does(code):
    for text, said in words.catalogue(code).items():
        assert said.strip() == said and said, text
        assert text.endswith((".", "?", "!")) == said.endswith((".", "?", "!")), (text, said)


def test_every_sentence_is_found_where_it_is_written(written):
    """The search itself: sentences of several files, joined literals as one."""
    assert written["Set the micrometer to {reading} to bore {wanted}."].startswith("logic/setting.py:")
    assert any(where.startswith("store/sheets/") for where in written.values())
    assert any(where.startswith("mobile/") for where in written.values())
    assert len(written) > 1500


def test_a_sentence_is_said_in_german_with_a_decimal_comma():
    line = L(
        "Set the micrometer to {reading} to bore {wanted}.", reading=Qty(76.9115, "size"), wanted=Qty(76.9238, "size")
    )
    said = say(line, Style("mm", "C", "de")).replace("\u202f", " ")
    assert said == "Mikrometer auf 76,912 mm stellen, um 76,924 mm zu bohren."


def test_a_line_inside_a_line_is_translated_too():
    line = L(
        "The largest cut is {top} on diameter, set by {limit}.", top=Qty(0.762, "diff"), limit=L("the motor's power")
    )
    assert "begrenzt durch die Motorleistung" in say(line, Style("mm", "C", "de"))


def test_a_language_that_is_not_here_falls_back_to_english():
    assert words.catalogue("xx") == {} and words.catalogue("en") == {}
    assert say(L("Bored size"), Style(language="xx")) == "Bored size"


@pytest.mark.parametrize("code", OTHERS)
def test_unit_labels_are_ones_in_use(code):
    used = {shown.label for kind in KINDS.values() for shown in (kind.inch, kind.metric)}
    assert set(words.unit_labels(code)) <= used
    assert words.unit_labels("en") == {}


def test_a_unit_reads_as_it_does_there():
    assert figure(Qty(300, "spin"), Style("mm", "C", "de")) == "300\u202fU/min"
    assert figure(Qty(300, "spin"), Style("mm")) == "300\u202frev/min"


def test_everyday_sources_are_said_and_standards_keep_their_names():
    german = Style("mm", "C", "de")
    assert say(source_said("common practice"), german) == "allgemein üblich"
    assert say(source_said("ISO 1"), german) == "ISO 1"
