"""The hybrid logical clock: later entries have later stamps, whatever the device's clock does."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from store.clock import AHEAD_MS, LATEST_MS, Clock, join, ms_of, new_id
from store.documents import Id, Stamp

NOW = 1_700_000_000_000
STAMP = TypeAdapter(Stamp)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(NOW - 10**9, NOW + 10**9),  # the device's clock, set forward and back at will
            st.none() | st.integers(0, LATEST_MS),  # a stamp from elsewhere to take note of
            st.none() | st.integers(0, LATEST_MS),  # a stamp that must be superseded
        ),
        min_size=1,
        max_size=30,
    )
)
def test_stamps_always_increase(steps: list[tuple[int, int | None, int | None]]) -> None:
    time = NOW
    clock = Clock("devicea0", lambda: time)
    last = ""
    for time, seen, after in steps:
        if seen is not None:
            clock.see(join(seen, 7, "deviceb0"))
        superseded = "" if after is None else join(after, 99_999, "deviceb0")
        stamp = clock.tick(superseded)
        STAMP.validate_python(stamp)
        assert stamp > superseded
        if ms_of(superseded) <= time + AHEAD_MS:
            assert stamp > last
            last = stamp
        assert ms_of(clock.last) <= max(NOW + 10**9 + AHEAD_MS + 1, ms_of(last)), "pulled too far ahead"


def test_the_clock_follows_the_device_while_it_moves_forward() -> None:
    time = NOW
    clock = Clock("devicea0", lambda: time)
    assert clock.tick() == f"{NOW}-00000-devicea0"
    assert clock.tick() == f"{NOW}-00001-devicea0"
    time = NOW + 5
    assert clock.tick() == f"{NOW + 5}-00000-devicea0"


def test_moved_back_the_counter_goes_up() -> None:
    time = NOW
    clock = Clock("devicea0", lambda: time)
    clock.tick()
    time = NOW - 3_600_000
    assert clock.tick() == f"{NOW}-00001-devicea0"
    # and after the program was started again
    assert Clock("devicea0", lambda: time, clock.last).tick() == f"{NOW}-00002-devicea0"


def test_a_full_counter_carries_into_the_milliseconds() -> None:
    clock = Clock("devicea0", lambda: NOW, join(NOW, 99_999, "devicea0"))
    assert clock.tick() == f"{NOW + 1}-00000-devicea0"


def test_a_stamp_from_the_near_future_is_followed_and_an_absurd_one_is_not() -> None:
    clock = Clock("devicea0", lambda: NOW)
    assert clock.see(join(NOW + 60_000, 3, "deviceb0"))
    assert clock.tick() == f"{NOW + 60_000}-00004-devicea0"
    assert not clock.see(join(NOW + AHEAD_MS + 1, 0, "deviceb0"))
    assert ms_of(clock.tick()) == NOW + 60_000
    # a value stamped in the far future can still be superseded, without the clock going there
    far = join(LATEST_MS, 5, "deviceb0")
    assert clock.tick(far) == f"{LATEST_MS}-00006-devicea0"
    assert ms_of(clock.tick()) == NOW + 60_000


@pytest.mark.parametrize("wrong", [-5, 0, 10**16])
def test_a_nonsense_device_clock_still_gives_valid_stamps(wrong: int) -> None:
    STAMP.validate_python(Clock("devicea0", lambda: wrong).tick())


def test_ids_are_valid_and_different() -> None:
    ids = {new_id() for _ in range(1000)}
    assert len(ids) == 1000
    for id in ids:
        TypeAdapter(Id).validate_python(id)
