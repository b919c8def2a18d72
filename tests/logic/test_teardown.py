"""The strip-down, the reach of the bar, wet liners, and the order of boring. Limits are common practice, no source."""

from itertools import pairwise

import pytest

from logic.result import Verdict
from logic.say import L, Style, say
from logic.teardown import NEIGHBOURS_MM, OVERRUN_MM, boring_order, liners, order_said, reach, ready

A, B = L("Oil is drained"), L("Studs are out")


def test_ready_only_when_every_check_is_settled():
    assert ready([(A, "yes"), (B, "none")]).verdict == Verdict.GO
    assert ready([(A, "yes"), (B, None)]).verdict == Verdict.INFO
    stopped = ready([(A, "no"), (B, "no")])
    assert stopped.verdict == Verdict.STOP and say(stopped.line) == "Not ready to bore: Oil is drained"
    assert [say(w) for w in stopped.why] == ["To put right: Studs are out"]
    with pytest.raises(ValueError, match="one of"):
        ready([(A, "perhaps")])


def test_the_bar_must_come_out_below():
    # bore 150 mm long: at 152 the tip is 1 mm short of its run-out of 3
    assert reach(150 + OVERRUN_MM, 150).verdict == Verdict.GO
    short = reach(152, 150)
    assert short.verdict == Verdict.STOP and "1.0" in say(short.line, Style(length="mm"))
    # above a step it need not come out, but it must stop
    assert reach(152, 150, step=True).verdict == Verdict.MAYBE
    assert reach(149, 150, step=True).verdict == Verdict.STOP
    # a web close below is no reason to stop the job, but to set a stop
    assert reach(160, 150, room_mm=2).verdict == Verdict.MAYBE
    assert reach(160, 150, room_mm=20).verdict == Verdict.GO
    with pytest.raises(ValueError, match="above zero"):
        reach(0, 150)


def test_liners_against_their_limits_and_their_neighbours():
    within = {"low_mm": 0.03, "high_mm": 0.10}
    assert liners({1: 0.05, 2: 0.06, 3: 0.05}, **within).verdict == Verdict.GO
    low = liners({1: 0.05, 2: 0.02}, **within)
    assert low.verdict == Verdict.STOP and say(low.line).startswith("Liner 2")
    apart = liners({1: 0.03, 2: 0.03 + NEIGHBOURS_MM + 0.01}, **within)
    assert apart.verdict == Verdict.STOP and "side by side" in say(apart.line)
    # 1 and 3 are no neighbours
    assert liners({1: 0.03, 3: 0.09}, **within).verdict == Verdict.GO
    assert liners({1: 0.05}, low_mm=None, high_mm=None).verdict == Verdict.INFO
    # a skim lowers the deck: 0.05 + 0.08 is above 0.10
    assert liners({1: 0.05}, **within, skims_mm={1: 0.08}).verdict == Verdict.STOP
    with pytest.raises(ValueError, match="no height"):
        liners({}, **within)


@pytest.mark.parametrize("n", range(1, 13))
def test_no_bore_follows_its_neighbour_from_four_on(n):
    plain, spread = tuple(range(1, n + 1)), boring_order(range(1, n + 1), spread=True)
    assert boring_order(plain, spread=False) == plain
    assert sorted(spread) == list(plain)
    if n >= 4:
        assert all(abs(a - b) > 1 for a, b in pairwise(spread)), spread
    assert say(order_said((spread,)).line).startswith("Bore in this order: ")
