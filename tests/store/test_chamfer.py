"""The chamfer step: stops from one datum, from the log."""

import pytest

from logic.result import Verdict
from logic.say import say
from store.sheets import chamfer, cut

from .making import Making
from .test_cut import job


def test_blocked_without_a_bore():
    assert chamfer.SHEET.work(Making(nominal=76.2, cylinders=2).view()).blocked is not None


def test_stops_follow_the_bores_present_sizes():
    made = job(cylinders=2, start=None)
    made.put(cut.MEASURED, 76.90, cylinder=1, **{"pass": 1})
    made.put(cut.MEASURED, 77.10, cylinder=2, **{"pass": 1})
    made.put(chamfer.TOUCH, 2.0, cylinder=1)
    answer = chamfer.SHEET.work(made.view())
    assert answer.results[0].figure("stop1").value == pytest.approx(2.75)
    assert answer.results[0].figure("stop2").value == pytest.approx(2.85)
    assert {m[0] for m in answer.missing} == {"chamfer.stopped"} and not answer.done


def test_done_when_all_are_alike_and_not_when_one_differs():
    made = job(cylinders=2)
    for c in (1, 2):
        made.put(chamfer.TOUCH, 2.0, cylinder=c)
        made.put(chamfer.STOPPED, 2.75, cylinder=c)
    assert chamfer.SHEET.work(made.view()).done
    made.put(chamfer.MEASURED, 0.50, cylinder=2)
    answer = chamfer.SHEET.work(made.view())
    assert not answer.done and answer.results[0].verdict == Verdict.MAYBE
    assert "Cylinder 2" in say(answer.results[0].line)
