"""Entries that cannot be: kept in the log, not reckoned with, and nothing breaks or hangs over them."""

import random

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from store.documents import Chosen, Reading, Typed
from store.fields import declared
from store.plausible import NOMINAL_MM, counts
from store.sheets import all_sheets, bores, oversize, rings, sizes
from store.view import View

from .making import Making, filled

WILD = (0.0, -1.0, 1e9, -1e9, 1e-9, 1e6, -273.15, 3.14e5)


def test_what_the_pad_takes_counts_and_its_limits_too():
    made = Making(nominal=76.2, cylinders=2)
    for value in (rings.GAP.low, 0.4, rings.GAP.high, rings.GAP.high * (1 + 1e-12)):
        assert counts(made.put(rings.GAP, value, cylinder=1, ring=1))
    assert counts(made.put(sizes.DUTY, "hard"))
    view = made.view()
    assert not view.odd and view.choice(sizes.DUTY) == "hard"


@pytest.mark.parametrize("value", [-0.001, 1e9, rings.GAP.high * 1.001])
def test_a_number_out_of_range_is_set_aside(value):
    made = Making(nominal=76.2, cylinders=2)
    made.put(rings.GAP, 0.4, cylinder=1, ring=1)
    wrong = made.put(rings.GAP, value, cylinder=1, ring=1)
    view = made.view()
    assert view.odd == [wrong] and wrong in list(view.live())
    assert view.number(rings.GAP, cylinder=1, ring=1) == 0.4  # the earlier one stands


def test_an_unknown_choice_and_a_place_that_is_none_are_set_aside():
    made = Making(nominal=76.2, cylinders=2)
    odd = [
        made.put(sizes.DUTY, "flying"),
        made.put(bores.READING, 0.1, cylinder=1, depth=1, axis="sideways"),
        made.put(bores.READING, 0.1, cylinder=1, depth=1),
        made.put(bores.READING, 0.1, cylinder="1", depth=1, axis="thrust"),
        made.put(bores.READING, 0.1, cylinder=-1, depth=1, axis="thrust"),
    ]
    view = made.view()
    assert view.odd == odd and not view.all(bores.READING)
    assert view.choice(sizes.DUTY) == sizes.DUTY.default


def test_a_number_in_another_unit_than_its_fields_is_set_aside():
    made = Making(nominal=76.2, cylinders=1)
    entry = made.put(rings.GAP, 0.4, cylinder=1, ring=1)
    inch = entry.model_copy(update={"typed": Typed(text="0.4", typed_unit="in", value=0.4, unit="in")})
    assert counts(entry) and not counts(inch)


def test_what_names_no_field_is_let_through():
    head = {"id": "entry00001", "stamp": "1760000000000-00000-testtest", "device": "testtest"}
    assert counts(Chosen(**head, what="later.field", value="anything"))
    assert counts(Reading(**head, what="later.field", typed=Typed(text="1", typed_unit="mm", value=1e9, unit="mm")))


@pytest.mark.parametrize("nominal", [1e9, 0.001, NOMINAL_MM[1] + 1])
def test_a_nominal_bore_that_is_no_bore_is_none(nominal):
    view = Making(nominal=nominal, cylinders=4).view()
    assert view.nominal_mm is None
    assert all(s.work(view).blocked or s.work(view).missing or not s.work(view).done for s in all_sheets())


def test_an_added_entry_is_weighed_like_a_stored_one():
    made = Making(nominal=76.2, cylinders=1)
    view = made.view()
    wrong = made.put(rings.GAP, 1e6, cylinder=1, ring=1)
    view.add(wrong)
    assert view.odd == [wrong] and view.number(rings.GAP, cylinder=1, ring=1) is None


@pytest.mark.parametrize("step", [-0.5, 1e9])
def test_a_decision_that_is_no_oversize_does_not_count(step):
    made = Making(nominal=76.2, cylinders=1)
    made.decide("oversize", "step", number=0.762)
    assert oversize.chosen_step_mm(made.view()) == 0.762
    made.decide("oversize", "step", number=step)
    assert oversize.chosen_step_mm(made.view()) is None


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6))
@example(524289)  # the bores lie so far from the points measured that the planned skim comes out below zero there
def test_a_log_full_of_nonsense_breaks_no_step(seed):
    """A believable job in which a tenth of the entries were overwritten by nonsense."""
    rng = random.Random(seed)
    job = filled(seed, 0.9, True)
    known = declared()
    entries = []
    for e in job.entries:
        spoiled = e
        if e.what in known and rng.random() < 0.1:
            if isinstance(e, Chosen):
                spoiled = e.model_copy(update={"value": "zzz"})
            elif isinstance(e, Reading):
                spoiled = e.model_copy(update={"typed": e.typed.model_copy(update={"value": rng.choice(WILD)})})
        entries.append(spoiled)
    view = View(job.document().model_copy(update={"entries": tuple(entries)}))
    for s in all_sheets():
        s.work(view)
        for g in s.groups:
            g.places(view)
