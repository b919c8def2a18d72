"""Capacity and compression as a step of the job, with the bore step and the skim of other steps."""

import math

import pytest

from logic.result import Verdict
from logic.say import Style, say
from store.flow import work_of
from store.sheets import compression, sheet, sizes
from store.sheets.bores import READING

from .making import Making

IN = 25.4


def job(step_in=0.020):
    made = Making(nominal=3.0 * IN, cylinders=4)
    for c in range(1, 5):
        made.put(READING, 0.1, cylinder=c, depth=1, axis="thrust")
    made.decide("oversize", "step", number=step_in * IN)
    return made


def whole():
    made = job()
    for field, value in (
        (compression.STROKE, 3.5 * IN),
        (compression.CHAMBER, 38.0),
        (compression.GASKET_BORE, 78.5),
        (compression.DECK, 0.4),
        (compression.CROWN, 4.0),
    ):
        made.put(field, value)
    return made


def keyed(view):
    return {r.key: r for r in compression.work(view).results}


def by_hand(bore, deck, gasket=1.2, crown=4.0, chamber=38.0):
    swept = math.pi / 4 * bore**2 * 88.9 / 1000
    left = chamber + math.pi / 4 * 78.5**2 * gasket / 1000 + math.pi / 4 * bore**2 * deck / 1000 + crown
    return (swept + left) / left


def test_what_is_missing_is_named():
    assert compression.work(Making(cylinders=4).view()).blocked is not None
    assert "finished bore size" in say(compression.work(Making(nominal=76.2, cylinders=4).view()).blocked)
    work = compression.work(job().view())
    assert [k for k, _ in work.missing] == [
        "compression.stroke",
        "compression.chamber",
        "compression.gasket_bore",
        "compression.deck",
    ]


def test_capacity_of_the_bored_engine():
    # 4 x 3.000 x 3.500 in = 1621.7 cm³; bored +0.020 in, 1643.4
    made = job()
    made.put(compression.STROKE, 3.5 * IN)
    found = keyed(made.view())["compression.capacity"]
    assert found.figure("before").value == pytest.approx(1621.7, abs=0.05)
    assert found.figure("after").value == pytest.approx(1643.4, abs=0.05)
    assert "1643.4" in say(found.line, Style("mm"))


def test_the_ratio_before_and_after():
    made = whole()
    view = made.view()
    finished = sizes.finished_mm(view, 1)
    assert finished == pytest.approx(3.02 * IN)
    found = keyed(view)["compression.ratio"]
    assert found.before == pytest.approx(by_hand(76.2, 0.4), rel=1e-9)
    assert found.after == pytest.approx(by_hand(finished, 0.4), rel=1e-9)
    made.put(compression.TALLER, 0.2)
    made.put(compression.NEW_CROWN, 2.0)
    made.put(compression.NEW_GASKET, 1.0)
    made.put(compression.NEW_CHAMBER, 37.0)
    changed = keyed(made.view())["compression.ratio"]
    assert changed.after == pytest.approx(by_hand(finished, 0.2, gasket=1.0, crown=2.0, chamber=37.0), rel=1e-9)
    assert compression.work(made.view()).done


def test_piston_gap_and_gasket_hold_the_step_back():
    made = whole()
    made.put(compression.TALLER, 1.0)
    found = keyed(made.view())
    assert found["compression.gap"].value.value == pytest.approx(1.2 + 0.4 - 1.0)
    assert found["compression.gap"].verdict == Verdict.STOP
    assert not compression.work(made.view()).done
    made.put(compression.TALLER, 0.0)
    made.put(compression.NEW_GASKET_BORE, 76.0)
    assert keyed(made.view())["compression.gasket"].verdict == Verdict.STOP


def test_a_highest_ratio_gives_a_verdict():
    made = whole()
    after = keyed(made.view())["compression.ratio"].after
    made.put(compression.HIGHEST, after + 1.0)
    assert keyed(made.view())["compression.ratio"].verdict == Verdict.GO
    made.put(compression.HIGHEST, after - 1.0)
    assert keyed(made.view())["compression.ratio"].verdict == Verdict.STOP
    assert not compression.work(made.view()).done


def test_the_distance_to_the_head_is_held_until_sign_and_figure_are_confirmed():
    made = whole()
    view = made.view()
    held = work_of(view, sheet("compression"))
    assert {d.key for d in held.doubts} == {"deck.side", "deck.once"}
    assert not held.done
    made.put(compression.STANDS, "above")  # 0.4 below the deck was entered
    assert {d.key for d in work_of(made.view(), sheet("compression")).doubts} == {"deck.side", "deck.once"}
    made.put(compression.STANDS, "below")  # the gasket alone keeps the piston off the head
    assert work_of(made.view(), sheet("compression")).doubts == ()


def test_the_smaller_deck_clearance_counts():
    made = whole()
    made.put(compression.STANDS, "below")
    before = keyed(made.view())["compression.gap"].value.value
    made.put(compression.DECK_AGAIN, 0.25)
    assert keyed(made.view())["compression.gap"].value.value == pytest.approx(before - 0.15)
    made.put(compression.DECK_AGAIN, 0.9)
    assert {d.key for d in work_of(made.view(), sheet("compression")).doubts} == {"deck.again"}


def test_a_ratio_that_the_papers_do_not_give():
    made = whole()
    made.put(compression.STANDS, "below")
    made.put(compression.BOOK, by_hand(76.2, 0.4))
    assert work_of(made.view(), sheet("compression")).doubts == ()
    made.put(compression.CROWN, -4.0)
    assert {d.key for d in work_of(made.view(), sheet("compression")).doubts} == {"ratio.book"}
