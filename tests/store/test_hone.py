"""The honing step on an invented job: checks, grits, heat and finish, from the log."""

import pytest
from scipy import stats

from logic.result import Verdict
from logic.say import say
from store.sheets import hone

from .making import Making
from .test_cut import job


def check(made, cylinder, number, strokes, sizes, grit=None, warm=None):
    at = {"cylinder": cylinder, "check": number}
    if strokes:
        made.put(hone.STROKES, strokes, **at)
    if grit:
        made.put(hone.GRIT, grit, **at)
    if warm is not None:
        made.put(hone.WARM, warm, **at)
    for depth, size in enumerate(sizes, 1):
        made.put(hone.SIZE, size, depth=depth, **at)


def flat(mean):
    return (mean, mean, mean)


def work(made):
    return hone.SHEET.work(made.view())


def named(answer, key):
    return next(r for r in answer.results if r.key == key)


def test_blocked_until_the_finished_size_is_known():
    assert work(Making(nominal=76.2, cylinders=1)).blocked is not None


def test_the_plan_before_any_check():
    answer = work(job(cylinders=1))
    plan = named(answer, "hone.split.1")
    # iron rings: 150 then 220, and with 3 thou to come off 120 in place of 150; the 220 clears 2 × 2 × 7 × 1.2 µm
    assert [(s.grit, round(s.take_mm, 4)) for s in plan.steps] == [(120, 0.0426), (220, 0.0336)]
    assert answer.missing == (("hone.size", {"cylinder": 1, "check": 1, "depth": 1}),)
    assert not answer.done and answer.pictures == ()


def test_removal_and_strokes_left_from_the_log():
    made = job(cylinders=1)
    made.put(hone.REPEAT, 0.0002)
    rows = [(0, 76.924), (10, 76.9341), (12, 76.9459), (8, 76.9542)]
    for n, (strokes, size) in enumerate(rows, 1):
        check(made, 1, n, strokes, flat(size))
    got = hone.progress(made.view(), 1)
    ref = stats.linregress([0, 10, 22, 30], [s for _, s in rows])
    assert got.per_stroke_mm == pytest.approx(ref.slope, rel=1e-9)
    assert got.stop_mm == pytest.approx(77.0 - 0.0336)
    assert got.strokes[1] == pytest.approx((got.stop_mm - ref.intercept) / ref.slope - 30, rel=1e-6)
    answer = work(made)
    assert answer.results[0].key == "hone.progress.1" and say(answer.results[0].line).startswith("Cylinder 1: ")
    assert answer.pictures[0].checks[-1] == (30.0, pytest.approx(76.9542))


def test_the_last_grit_runs_to_size():
    made = job(cylinders=1)
    made.put(hone.SHARED, 0.0005)
    check(made, 1, 1, 0, flat(76.924))
    check(made, 1, 2, 50, flat(76.975))
    assert "finer stones" in say(work(made).results[0].line)
    assert not work(made).done
    check(made, 1, 3, 25, flat(77.0), grit=220)
    answer = work(made)
    assert answer.results[0].verdict == Verdict.GO and answer.done


def test_the_bore_in_hand_comes_first():
    made = job(cylinders=2)
    check(made, 1, 1, 0, flat(76.924))
    check(made, 2, 1, 0, flat(76.925))
    assert work(made).results[0].key == "hone.progress.2"
    check(made, 1, 2, 10, flat(76.934))
    assert work(made).results[0].key == "hone.progress.1"


def test_a_warm_bore_is_taken_to_20_degrees_and_the_advice_is_to_stop_early():
    made = job(cylinders=1)
    check(made, 1, 1, 0, flat(76.924))
    check(made, 1, 2, 20, flat(76.960), warm=38.0)
    assert hone.checks(made.view(), 1)[-1].mean_mm == pytest.approx(76.960 / (1 + 11e-6 * 18), abs=1e-6)
    advice = named(work(made), "hone.heat.1")
    assert advice.verdict == Verdict.MAYBE and "early" in say(advice.line)


def test_taper_is_seen_and_a_dwell_advised():
    made = job(cylinders=1)
    check(made, 1, 1, 0, flat(76.924))
    check(made, 1, 2, 20, (76.952, 76.944, 76.936))
    found = named(work(made), "hone.shape.1")
    assert found.shape == "taper" and found.dwell == "bottom" and found.taper_mm == pytest.approx(0.016)
    assert found.dwell_strokes >= 1


def test_a_check_repeated_without_strokes_keeps_its_grit():
    made = job(cylinders=1)
    check(made, 1, 1, 0, flat(76.924))
    check(made, 1, 2, 10, flat(76.934))
    check(made, 1, 3, 0, flat(76.9342))
    check(made, 1, 4, 10, flat(76.944))
    assert [c.grit for c in hone.checks(made.view(), 1)] == ["", "120", "120", "120"]
    assert hone.progress(made.view(), 1).per_stroke_mm == pytest.approx(0.001, rel=0.02)


def test_the_web_shortens_the_stroke():
    made = job(cylinders=1)
    made.put(hone.CLEAR, 12.0)
    run = hone.stroke(made.view())
    assert run.bottom_mm == pytest.approx(12 - 5 - 3) and run.verdict == Verdict.MAYBE


def test_finish_is_judged_by_the_ring_and_the_makers_figures_win():
    made = job(cylinders=1)
    made.put(hone.FACE, "moly")
    made.put(hone.MEASURED["ra"], 0.40, cylinder=1)
    assert named(work(made), "finish.accept.1").verdict == Verdict.GO
    made.put(hone.LIMITS["ra", "high"], 0.30)
    assert named(work(made), "finish.accept.1").verdict == Verdict.STOP


def test_grits_entered_are_used_in_order():
    made = job(cylinders=1)
    made.put(hone.GRITS[0], 280)
    made.put(hone.GRITS[1], 120)
    assert [s.grit for s in hone.split(made.view(), 1).steps] == [120, 280]


def test_a_gauge_zeroed_in_the_same_cold_needs_next_to_no_correction():
    made = job(cylinders=1)
    check(made, 1, 1, 0, flat(76.95))
    made.put(hone.BLOCK_C, 5.0)
    made.put(hone.ZERO_C, 5.0)
    # iron 11, steel 11.5 × 10⁻⁶: 76.95 × 0.5 × 10⁻⁶ × 15 = 0.6 µm, where the block alone would make 12.7 µm
    (got,) = hone.checks(made.view(), 1)
    assert [size for _, size in got.sizes] == pytest.approx([76.94942] * 3, abs=2e-5)


def test_a_check_read_at_no_known_depth_only_counts_for_nothing():
    made = job(cylinders=1)
    check(made, 1, 1, 0, flat(76.924))
    made.put(hone.SIZE, 76.93, cylinder=1, check=2, depth=9)
    assert [c.number for c in hone.checks(made.view(), 1)] == [1]
