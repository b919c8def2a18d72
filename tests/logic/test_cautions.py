"""The table of cautions covers what the trade warns of, with keys the log can hold."""

import re

import pytest

from logic.cautions import CAUTIONS, caution, for_sheet
from logic.say import say

# What must be said somewhere (common practice of the trade, no source).
TOPICS = {
    "battery": "bores",
    "vapour": "bores",
    "stands": "bores",
    "crankcase": "hone",
    "white cloth": "clean",
    "eye protection": "cut",
    "gloves": "cut",
    "residual-current": "cut",
    "two people or a hoist": "clamp",
    "hot wash": "clean",
    "asbestos": "face",
    "lead": "walls",
    "local codes": "bores",
    "liquid nitrogen": "sleeve",
    "heated block": "sleeve",
    "press": "sleeve",
    "drill kicks": "hone",
    "Swarf cuts": "cut",
    "Swarf leaves the tip hot": "cut",
    "hearing protection": "hone",
    "dust mask": "hone",
    "Pull the plug": "cut",
    "hold asbestos": "bores",  # also where the steps at the face are left out
    "Lift the boring machine": "bores",
}


@pytest.mark.parametrize(("words", "sheet"), TOPICS.items())
def test_each_topic_is_shown_at_its_step(words, sheet):
    assert any(words in say(c.text) for c in for_sheet(sheet))


def test_keys_are_unique_and_fit_the_log():
    keys = [row.key for row in CAUTIONS]
    assert len(keys) == len(set(keys))
    assert all(re.fullmatch(r"[a-z][a-z0-9_.]{0,59}", key) for key in keys)


def test_every_caution_is_shown_somewhere_and_texts_have_no_gaps():
    for row in CAUTIONS:
        assert row.sheets, row.key
        assert not row.text.values and "{" not in row.text.template


def test_no_step_is_a_wall_of_text():
    sheets = {s for row in CAUTIONS for s in row.sheets}
    assert max(len(for_sheet(s)) for s in sheets) <= 6


def test_looking_up():
    assert caution("eyes").text == next(r.text for r in CAUTIONS if r.key == "eyes")
    assert for_sheet("no such step") == ()
    with pytest.raises(KeyError):
        caution("nothing")
