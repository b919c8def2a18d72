"""Ring gaps as a step of the job: from entries to verdicts, figures worked out again by hand."""

import math

import pytest

from logic.result import Verdict
from logic.say import Style, say
from store.sheets import final, rings, sizes
from store.sheets.bores import READING

from .making import Making

IN = 25.4
THOU = 0.0254


def job(cylinders=1, step_in=0.030):
    """A job whose oversize is decided: 3.000 in plus ``step_in``, table clearance."""
    made = Making(nominal=3.0 * IN, cylinders=cylinders)
    for c in range(1, cylinders + 1):
        made.put(READING, 10 * THOU, cylinder=c, depth=1, axis="thrust")
    made.decide("oversize", "step", number=step_in * IN)
    return made


def keyed(work):
    return {r.key: r for r in work.results}


def test_nothing_is_said_before_the_finished_size_is_known():
    work = rings.work(Making(nominal=76.2, cylinders=4).view())
    assert work.blocked is not None and not work.results and not work.done


def test_the_gaps_wanted_follow_the_duty_said_for_the_sizes():
    made = job()
    found = keyed(rings.work(made.view()))
    # common practice, no source: 0.0040 and 0.0045 of a 3.030 in bore
    assert found["ring.wanted"].figure("least.1").value == pytest.approx(0.0040 * 3.030 * IN)
    assert found["ring.wanted"].figure("least.2").value == pytest.approx(0.0045 * 3.030 * IN)
    assert found["ring.wanted"].figure("least.3").value == pytest.approx(0.015 * IN)
    assert any("Ordinary road use" in say(a.text) for a in found["ring.wanted"].assumptions)
    # +0.030 in opens a standard ring by 94.2 thou (pi times the step)
    assert found["ring.opened"].value.value / THOU == pytest.approx(30 * math.pi)
    made.put(sizes.DUTY, "boosted")
    made.put(sizes.COOLING, "air")
    assert keyed(rings.work(made.view()))["ring.wanted"].value.value == pytest.approx(
        (0.0055 + 0.0005) * sizes.finished_mm(made.view(), 1)
    )
    made.put(rings.TOP_SHARE, 0.005)
    assert keyed(rings.work(made.view()))["ring.wanted"].value.value == pytest.approx(
        0.005 * sizes.finished_mm(made.view(), 1)
    )
    made.put(rings.LEAST, 0.33, ring=1)
    limited = keyed(rings.work(made.view()))["ring.wanted"]
    assert limited.value.value == 0.33 and limited.figures[0].source == "entered"


def test_compression_rings_are_asked_for_and_rails_may_be_left():
    made = job()
    missing = rings.work(made.view()).missing
    assert missing == (("rings.gap", {"cylinder": 1, "ring": 1}), ("rings.gap", {"cylinder": 1, "ring": 2}))
    made.put(rings.OIL_RING, "cast")
    made.put(rings.COMPRESSION_RINGS, 3)
    assert [at["ring"] for _, at in rings.work(made.view()).missing] == [1, 2, 3, 4]


def test_every_gap_gets_a_verdict_and_the_step_is_done_when_all_are_right():
    made = job()
    made.put(rings.GAP, 16 * THOU, cylinder=1, ring=1)
    made.put(rings.GAP, 9 * THOU, cylinder=1, ring=2)
    work = rings.work(made.view())
    found = keyed(work)
    assert found["ring.1.1"].verdict == Verdict.GO and found["ring.1.2"].verdict == Verdict.STOP
    assert found["rings"].verdict == Verdict.STOP and work.results[0].key == "rings" and not work.done
    # filing by what is said makes it right: u from one thou of feeler, JCGM 100, F.2.2.1, and 0.01 mm of feel
    u = math.hypot(THOU / math.sqrt(12), 0.01)
    least = 0.0045 * 3.030 * IN
    assert found["ring.1.2"].file_mm == pytest.approx(least + 1.6448536 * u - 9 * THOU, abs=1e-6)
    made.put(rings.GAP, 9 * THOU + found["ring.1.2"].file_mm + 0.001, cylinder=1, ring=2)
    assert rings.work(made.view()).done


def test_a_gap_tried_before_the_last_honing_is_carried_over():
    made = job()
    finished = sizes.finished_mm(made.view(), 1)
    made.put(rings.READ_IN, finished - 2 * THOU, cylinder=1)
    made.put(rings.GAP, 8 * THOU, cylinder=1, ring=1)
    found = keyed(rings.work(made.view()))["ring.1.1"]
    assert found.gap_mm / THOU == pytest.approx(8 + 2 * math.pi)
    assert found.u_mm == pytest.approx(math.sqrt(THOU**2 / 12 + 0.01**2 + (math.pi * 0.005) ** 2))


def test_taper_found_in_the_final_check_tightens_the_gap():
    made = job()
    made.put(final.ZERO, 3.030 * IN)
    for depth, off in ((1, 0.4), (2, 0.0), (3, -0.6)):
        for axis in ("thrust", "crank"):
            made.put(final.READING, off * THOU, cylinder=1, depth=depth, axis=axis)
    made.put(rings.GAP, 15 * THOU, cylinder=1, ring=1)
    found = keyed(rings.work(made.view()))["ring.1.1"]
    # read at the top, one thou wider than the bottom: 3.14 thou less there
    assert found.gap_mm / THOU == pytest.approx(15 - math.pi, abs=0.001)
    assert any("3.1" in say(w, Style("in")) for w in found.why)
