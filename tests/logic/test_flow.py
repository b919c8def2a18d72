"""States, the next step, and what counts as a change."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.flow import State, Step, changes, next_step, statuses, upstream
from logic.result import Result, Verdict
from logic.say import L, Qty, say


def step(key, **more):
    return Step(key=key, title=L("Step"), **more)


def states(*steps):
    return [s.state for s in statuses(steps)]


def test_each_state():
    assert states(
        step("a", done=True),
        step("b", skipped="no face to measure"),
        step("c", blocked=L("Measure first.")),
        step("d", missing=2),
        step("e"),
        step("f", done=True, doubts=(L("Corrected."),)),
    ) == [State.DONE, State.SKIPPED, State.BLOCKED, State.NEXT, State.OPEN, State.LOOK]


def test_reasons_are_said():
    got = statuses(
        [
            step("a", skipped="customer's wish"),
            step("b", minutes=10),
            step("c", missing=4),
            step("d", blocked=L("Choose first.")),
            step("e", idle=L("Needs a gauge")),
            step("f", stopped=L("Too thin.")),
        ]
    )
    assert [s.reason and say(s.reason) for s in got] == [
        "Left out: customer's wish",
        "About 10 min",  # how long it takes, not how many fields are empty
        None,
        "Choose first.",
        "Needs a gauge",
        "Too thin.",
    ]
    assert [s.state for s in got][-2:] == [State.OFF, State.LOOK]


def test_an_answer_that_is_a_no_holds_nobody_up():
    got = statuses([step("a", stopped=L("Too thin.")), step("b")])
    assert [s.stopped for s in got] == [True, False] and next_step(got).key == "b"
    assert next_step(statuses([step("a", stopped=L("Too thin."))])).key == "a"


def test_next_is_the_first_that_waits_for_the_person():
    got = statuses([step("a", done=True), step("b", done=True, doubts=(L("x"),)), step("c")])
    assert next_step(got).key == "b"
    assert next_step(statuses([step("a", done=True), step("b", blocked=L("x"))])) is None


def test_skipping_wins_over_blocked_and_done():
    assert states(step("a", skipped="no", blocked=L("x"))) == [State.SKIPPED]
    assert states(step("a", skipped="no", done=True)) == [State.SKIPPED]


@given(st.lists(st.tuples(st.booleans(), st.booleans(), st.booleans(), st.booleans()), max_size=12))
def test_at_most_one_step_is_next_and_it_is_the_first_open_one(flags):
    steps = [
        step(
            str(i),
            done=done,
            blocked=L("x") if blocked else None,
            skipped="s" if skipped else None,
            doubts=(L("d"),) if doubt else (),
        )
        for i, (done, blocked, skipped, doubt) in enumerate(flags)
    ]
    got = states(*steps)
    assert got.count(State.NEXT) <= 1
    if State.OPEN in got:
        assert got.index(State.NEXT) < got.index(State.OPEN)


def test_upstream_goes_all_the_way_and_survives_a_loop():
    needs = {"c": ("b",), "b": ("a",), "a": (), "x": ("y",), "y": ("x",)}
    assert upstream(needs, "c") == {"a", "b"}
    assert upstream(needs, "a") == frozenset()
    assert upstream(needs, "x") == {"y"}
    assert upstream(needs, "unknown") == frozenset()


def result(key="r", size=76.2, verdict=Verdict.GO):
    return Result(key=key, line=L("Bore to {size}", size=Qty(size, "size")), verdict=verdict)


def test_a_change_too_small_to_show_is_none():
    assert changes("s", L("S"), [result(size=76.2)], [result(size=76.2 + 1e-6)]) == []
    (change,) = changes("s", L("S"), [result(size=76.2)], [result(size=76.21)])
    assert not change.flipped
    assert (say(change.before), say(change.after)) == ("Bore to 3.0000\u202fin", "Bore to 3.0004\u202fin")


def test_a_change_seen_in_only_one_system_counts():
    assert len(changes("s", L("S"), [result(size=76.2000)], [result(size=76.2012)])) == 1


def test_flips_come_first_and_lost_and_new_answers_are_told():
    before = [result("a"), result("b", verdict=Verdict.GO), result("gone")]
    after = [result("a", 77), result("b", verdict=Verdict.STOP), result("new")]
    got = changes("s", L("S"), before, after)
    assert [c.key for c in got] == ["b", "new", "gone", "a"]
    assert got[1].before is None and got[2].after is None
    assert [c.flipped for c in got] == [True, True, True, False]


def test_results_with_one_key_are_matched_in_order():
    got = changes("s", L("S"), [result("r", 76), result("r", 77)], [result("r", 76), result("r", 78)])
    assert len(got) == 1 and "3.0315" in say(got[0].before)


@given(st.lists(st.floats(50, 120), max_size=6))
def test_nothing_changes_between_equal_answers(sizes):
    rs = [result("r", s) for s in sizes]
    assert changes("s", L("S"), rs, list(rs)) == []


def test_results_without_flip_keep_their_order():
    before = [result(k) for k in "abc"]
    after = [result(k, 80) for k in "abc"]
    assert [c.key for c in changes("s", L("S"), before, after)] == ["a", "b", "c"]


def test_change_needs_named_arguments():
    with pytest.raises(TypeError):
        Step("a", L("x"))
