"""Every field that a step asks has a kind of slip in the benches, or a reason why it needs none, or is said to be untried."""

import pytest

from tests.bench.slip_fields import NOT_YET, WHY_NONE, touched, without
from tests.bench.slips import FIELDS, SLIPS, TOUCHES


def test_no_field_is_forgotten():
    assert sorted(without()) == sorted(NOT_YET)


def test_a_field_that_is_tried_gives_no_reason():
    tried = {key for key, kinds in touched().items() if kinds}
    assert tried <= FIELDS.keys()
    assert not tried & WHY_NONE.keys() and not tried & set(NOT_YET)


@pytest.mark.parametrize("start", sorted(WHY_NONE))
def test_a_reason_is_about_something(start):
    assert any(key == start or (start.endswith(".") and key.startswith(start)) for key in FIELDS)


def test_what_a_kind_of_slip_touches_is_named():
    assert TOUCHES.keys() == SLIPS.keys()
    assert touched()["sweep.reading"] > 20 and touched()["bore.reading"] > 10
