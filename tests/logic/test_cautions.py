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
    "never run it outside": "hone",
    "keep oil and rags away": "cut",
    "not with bare hands": "clean",
    "hot coolant": "strip",
    "hearing protection": "hone",
    "dust mask": "hone",
    "Pull the plug": "cut",
    "contain asbestos": "bores",  # also where the steps at the face are left out
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


#: The steps at which a caution may stand, in the order of the work.
WORK = (
    "strip",
    "bores",
    "walls",
    "sleeve",
    "compression",
    "face",
    "clamp",
    "cut",
    "chamfer",
    "hone",
    "final",
    "rings",
    "clean",
)


def test_no_step_is_a_wall_of_text():
    # read once and acknowledged, a caution does not come again: these are the new ones, step by step
    seen: set[str] = set()
    for name in WORK:
        fresh = {c.key for c in for_sheet(name)} - seen
        assert len(fresh) <= 6, (name, fresh)
        seen |= fresh
    assert seen == {row.key for row in CAUTIONS}


#: What can hurt at a step, whatever was done or left out before it (common practice of the trade, no source).
DANGERS = {
    "strip": {"vehicle_supported", "battery_off", "fuel_vapour", "old_gaskets", "drain_hot"},
    "bores": {"vehicle_supported", "battery_off", "fuel_vapour", "old_gaskets", "machine_lifting"},
    "compression": {"old_gaskets"},
    "face": {"old_gaskets", "machine_lifting"},
    "clamp": {"old_gaskets", "machine_lifting", "stud_torque"},
    "cut": {
        *("vehicle_supported", "battery_off", "fuel_vapour", "old_gaskets", "machine_lifting", "stud_torque"),
        *("mains_outdoors", "no_gloves", "chips_out", "tip_and_swarf", "eyes_ears_lungs", "hot_swarf"),
    },
    "chamfer": {"mains_outdoors", "no_gloves", "chips_out", "tip_and_swarf", "eyes_ears_lungs", "hot_swarf"},
    "hone": {
        *("vehicle_supported", "battery_off", "mains_outdoors", "no_gloves", "chips_out", "drill_kick"),
        "eyes_ears_lungs",
    },
    "clean": {"fuel_vapour", "old_gaskets", "swarf_cuts", "eyes", "white_cloth", "solvents"},
}


@pytest.mark.parametrize(("step", "keys"), DANGERS.items())
def test_a_step_warns_of_its_own_dangers_though_all_before_it_was_left_out(step, keys):
    assert keys <= {c.key for c in for_sheet(step)}


@pytest.mark.parametrize("key", ["old_gaskets", "machine_lifting", "vehicle_supported", "battery_off", "fuel_vapour"])
def test_what_begins_early_is_said_again_wherever_somebody_may_begin(key):
    # no single step left out, nor all of them before the boring, takes it away
    assert len([s for s in WORK if s in next(r.sheets for r in CAUTIONS if r.key == key)]) >= 3


def test_looking_up():
    assert caution("eyes").text == next(r.text for r in CAUTIONS if r.key == "eyes")
    assert for_sheet("no such step") == ()
    with pytest.raises(KeyError):
        caution("nothing")
