"""Checklists: what counts as settled, and what stops a handover."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.checklist import ANSWERS, tally
from logic.result import Verdict
from logic.say import L, say

A, B, C = L("Oilways are clean"), L("Plugs are in"), L("Covers are off")


def test_all_settled_goes():
    r = tally("clean", [(A, "yes"), (B, "none"), (C, "yes")])
    assert r.verdict == Verdict.GO and r.value.value == 3
    assert say(r.line) == "Every check is settled: fit to hand over."


def test_one_no_stops_and_is_named():
    r = tally("clean", [(A, "yes"), (B, "no"), (C, None)])
    assert r.verdict == Verdict.STOP
    assert say(r.line) == "Not fit to hand over: Plugs are in"
    assert [say(w) for w in r.why] == ["To put right: Plugs are in", "Next: Covers are off"]


def test_open_checks_leave_it_undecided():
    r = tally("clean", [(A, "yes"), (B, None), (C, None)])
    assert r.verdict == Verdict.INFO
    assert say(r.line) == "Checks settled: 1 of 3."


@given(st.lists(st.sampled_from((*ANSWERS, None)), min_size=1, max_size=15))
def test_counts_add_up_and_order_does_not_matter(answers):
    r = tally("x", [(A, a) for a in answers])
    assert r.figure("settled").value + r.figure("failed").value + r.figure("waiting").value == len(answers)
    assert tally("x", [(A, a) for a in reversed(answers)]).verdict == r.verdict
    assert (r.verdict == Verdict.GO) == all(a in ("yes", "none") for a in answers)


def test_bad_lists_are_refused():
    with pytest.raises(ValueError):
        tally("x", [])
    with pytest.raises(ValueError):
        tally("x", [(A, "perhaps")])
