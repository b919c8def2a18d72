"""Choosing the oversize.

Outside checks: ``scipy.stats.norm`` for the conformance probabilities of JCGM 106:2012,
clause 7; a Monte Carlo calculation as in JCGM 101:2008 for the probability that all
cylinders clean up. The lists of steps, hone stock and 95 % are common practice, no
source; here they are checked against what the handbook lists.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic import oversize
from logic.bore import WornBore
from logic.cleanup import WearSide, clean_up, from_sweep
from logic.explain import meaning
from logic.oversize import INCH_STEPS_MM, Outcome, choose, cylinder_result, decision_line, quick, series_for, steps_mm
from logic.result import Verdict, as_data
from logic.say import Style, say

from .test_cleanup import monte_carlo

NOMINAL = 76.20


def bore(cylinder, thrust=0.25, crank=0.12, *, unworn=NOMINAL, **more):
    """A bore with this much wear at the top, half of it in the middle and none at the bottom."""
    rows = tuple((unworn + thrust * k, unworn + crank * k) for k in (1.0, 0.5, 0.0))
    kept = {
        "cylinder": cylinder,
        "depths_mm": (15.0, 60.0, 120.0),
        "ring_top_mm": 15.0,
        "axes": ("thrust", "crank"),
        "u_mm": 0.003,
        "u_common_mm": 0.003,
    }
    return WornBore(**{**kept, "d_mm": rows, **more})


def swept(cylinder, clean, worst=None, u=0.004):
    return from_sweep(cylinder, clean, u, worst_mm=worst or clean, unworn_mm=NOMINAL, u_common_mm=0.002)


def four(*cleanups, **how):
    return choose(cleanups, **{"nominal_mm": NOMINAL, "steps": INCH_STEPS_MM, **how})


# -- lists -----------------------------------------------------------------------------
def test_steps_of_the_handbook():
    assert [s / 25.4 for s in steps_mm("inch")] == pytest.approx([0.010, 0.020, 0.030, 0.040, 0.060])
    assert steps_mm("mm") == (0.25, 0.50, 0.75, 1.00, 1.50)
    assert steps_mm("listed", [0.7, 0.3]) == (0.3, 0.7)
    assert steps_mm("inch", [0.2540000001, 2.0]) == (*INCH_STEPS_MM, 2.0)
    assert len(steps_mm("both")) == 10
    for wrong in (("other", ()), ("listed", ()), ("inch", (-0.1,)), ("inch", (math.nan,))):
        with pytest.raises(ValueError):
            steps_mm(*wrong)


def test_series_goes_by_the_size_and_not_by_the_unit_typed():
    assert [series_for(x * 25.4) for x in (3.0, 3.031, 3.125, 3 + 1 / 32, 4.0, 3.5)] == ["inch"] * 6
    assert [series_for(x) for x in (72.6, 77.0, 80.0, 86.5, 92.3)] == ["mm"] * 5
    assert series_for(3.0 * 25.4) == series_for(76.2)


# -- the step ----------------------------------------------------------------------------
def test_smallest_step_with_the_confidence_wanted():
    """By hand: +0.020 in finishes at 76.708 and bores at 76.6318; +0.030 in at 76.8858."""
    bores = [swept(1, 76.45), swept(2, 76.50), swept(3, 76.70), swept(4, 76.48)]
    r = four(*bores)
    assert r.outcome == Outcome.STEP and r.verdict == Verdict.GO
    assert r.step_mm == pytest.approx(0.762) and r.governing == 3
    assert (r.finished_mm, r.bored_mm) == (pytest.approx(76.962), pytest.approx(76.8858))
    u = math.sqrt(0.004**2 + 0.002**2 + 0.005**2)
    assert r.needed_mm == pytest.approx(stats.norm.ppf(0.95, 76.70, u), abs=2e-4)
    assert r.spare_mm == pytest.approx(76.8858 - stats.norm.ppf(0.95, 76.70, u), abs=2e-4)
    assert say(r.line) == "Bores at +0.030\u202fin clean up all four. Cylinder 3 governs, 6.9\u202fthou to spare."
    assert r.without == (3, pytest.approx(0.508))
    assert "Without cylinder 3 a step of +0.020" in say(r.why[0])
    assert r.figure("chance.762").value == r.step(0.762).probability == r.confidence


def test_conformance_probability_of_each_step_against_scipy():
    """JCGM 106:2012, 7.2, for one swept cylinder."""
    r = four(swept(1, 76.63, u=0.006))
    for row in r.steps:
        assert row.bored_mm == pytest.approx(NOMINAL + row.step_mm - 0.0762)
        expected = stats.norm.cdf(row.bored_mm, 76.63, math.sqrt(0.006**2 + 0.002**2 + 0.005**2))
        assert row.probability == pytest.approx(expected, abs=2e-9)
        assert row.chances == ((1, row.probability),)


def test_probability_for_the_job_against_monte_carlo():
    worn = [bore(1, 0.22), bore(2, 0.20, 0.10), bore(3, 0.24, 0.15), bore(4, 0.21)]
    sides = [WearSide(), WearSide(known="one side"), WearSide(), WearSide(known="even")]
    r = four(*(clean_up(w, s) for w, s in zip(worn, sides, strict=False)))
    rng = np.random.default_rng(5)
    n = 200_000
    shared = rng.normal(0, 1, n)
    draws = [
        monte_carlo(w, s, None, n=n, seed=30 + i, common=shared) + rng.normal(0, 0.005, n)
        for i, (w, s) in enumerate(zip(worn, sides, strict=False))
    ]
    for row in r.steps:
        expected = np.mean(np.all([d <= row.bored_mm for d in draws], axis=0))
        assert row.probability == pytest.approx(expected, abs=0.012), row.step_mm
        for (_, chance), d in zip(row.chances, draws, strict=False):
            assert chance == pytest.approx(np.mean(d <= row.bored_mm), abs=0.012)
    everything = np.max(draws, axis=0)
    assert r.needed_mm == pytest.approx(np.quantile(everything, 0.95), abs=0.002)
    advised = next(s for s in r.steps if np.mean(everything <= s.bored_mm) >= 0.95)
    assert r.step_mm == advised.step_mm


def test_largest_diameter_rule_goes_wrong_with_one_sided_wear():
    """0.25 mm worn on one side: the diameter says +0.020 in, the wall stands 0.25 mm out and needs +0.030."""
    r = four(clean_up(bore(1, 0.25), WearSide(known="one side")), clean_up(bore(2, 0.26), WearSide(known="even")))
    assert r.step_mm == pytest.approx(0.762) and r.governing == 1
    assert r.naive.step_mm == pytest.approx(0.508) and r.naive.fails and r.naive.cylinders == (1,)
    assert r.naive.probability < 0.01
    assert any("largest diameter alone would say +0.020" in say(w) for w in r.why)
    even = four(clean_up(bore(1, 0.25), WearSide(known="even")), clean_up(bore(2, 0.26), WearSide(known="even")))
    assert even.step_mm == even.naive.step_mm and not even.naive.fails
    assert not any("largest diameter alone" in say(w) for w in even.why)


# -- other outcomes ------------------------------------------------------------------------
def test_hone_only():
    r = four(
        clean_up(bore(1, 0.01, 0.005, stated_unworn_mm=NOMINAL)),
        clean_up(bore(2, 0.012, 0.004, stated_unworn_mm=NOMINAL)),
    )
    assert r.outcome == Outcome.HONE and r.step_mm == 0.0 and r.bored_mm is None
    assert r.finished_mm == pytest.approx(76.212 + oversize.HONE_RENEW_MM)
    assert say(r.line).startswith("Hone only: 3.0008\u202fin takes out the wear in both")
    assert [c.key for c in r.cautions] == ["oversize.keep_pistons"]
    (size,) = (f for f in r.figures if f.key == "finished")
    assert say(size.formula) == "largest reading + a light honing" != say(meaning(r.key, "finished").formula)


def test_beyond_what_exists():
    r = four(swept(1, 77.80), swept(2, 77.90))
    assert r.outcome == Outcome.BEYOND and r.verdict == Verdict.STOP and r.step_mm is None
    assert "No step in the list cleans up every bore: +0.070" in say(r.line)
    assert four(swept(1, 77.80), steps=(*INCH_STEPS_MM, 2.032)).step_mm == pytest.approx(2.032)


def test_sleeve_the_one_cylinder_that_is_beyond():
    r = four(swept(1, 76.50), swept(2, 77.90), swept(3, 76.45))
    assert r.outcome == Outcome.SLEEVE and r.sleeve == (2,)
    assert r.step_mm == pytest.approx(0.508) and r.without == (2, pytest.approx(0.508))
    assert say(r.line).startswith("Sleeve cylinder 2: it needs +0.07") and say(r.line).endswith(
        "The others clean up at +0.020\u202fin."
    )
    assert r.confidence > 0.99


def test_wall_limits_stop_or_sleeve():
    bores = [swept(1, 76.70), swept(2, 76.72)]
    stop = four(*bores, largest_mm={1: 76.8, 2: 76.8})
    assert stop.outcome == Outcome.STOP and stop.verdict == Verdict.STOP
    assert "too thin" in say(stop.line) and "+0.030" in say(stop.line)
    one = four(*bores, largest_mm={2: 76.8})
    assert one.outcome == Outcome.SLEEVE and one.sleeve == (2,) and one.step_mm == pytest.approx(0.762)
    assert four(*bores, largest_mm={1: 77.0, 2: 77.0}).outcome == Outcome.STEP


def test_too_close_to_call_asks_for_a_sweep():
    r = four(clean_up(bore(1, 0.85)), clean_up(bore(2, 0.3)))
    assert r.outcome == Outcome.MEASURE and r.verdict == Verdict.MAYBE and r.step_mm is None
    assert say(r.line).startswith("Too close to call: +0.060") and say(r.line).endswith(
        "Sweep cylinder 1 before deciding."
    )
    assert 0.05 < r.confidence < 0.95


def test_mixed_oversizes_only_on_request_and_with_the_balance_caution():
    bores = [swept(1, 76.40), swept(2, 76.70)]
    assert four(*bores).outcome == Outcome.STEP
    r = four(*bores, mixed=True)
    assert r.outcome == Outcome.MIXED
    assert r.own_steps == ((1, pytest.approx(0.508)), (2, pytest.approx(0.762)))
    assert "oversize.mixed" in [c.key for c in r.cautions]
    assert "balance" in say(next(c.text for c in r.cautions if c.key == "oversize.mixed"))


def test_cylinders_not_measured_yet_keep_the_verdict_open():
    r = four(swept(1, 76.50), waiting=(2, 3, 4))
    assert r.verdict == Verdict.INFO
    assert say(r.line).startswith("So far: ") and say(r.line).endswith("Still to be measured: cylinder 2, 3, 4.")


def test_each_cylinder_in_its_own_words():
    r = four(swept(1, 76.50), swept(2, 76.70))
    assert cylinder_result(r, 2).verdict == Verdict.GO
    lacking = cylinder_result(r, 2, 0.508)
    assert lacking.verdict == Verdict.STOP and say(lacking.line).startswith("Cylinder 2 does not clean up at +0.020")
    assert lacking.figure("bored").value == pytest.approx(76.6318)
    assert cylinder_result(four(swept(1, 76.50), swept(2, 76.633)), 2, 0.508).verdict == Verdict.MAYBE
    with pytest.raises(KeyError):
        cylinder_result(r, 3)
    assert "the advice is +0.030" in say(decision_line(r, 0.508))


# -- properties ------------------------------------------------------------------------------
wears = st.floats(0.06, 0.6)
sides = st.sampled_from([WearSide(), WearSide(known="even"), WearSide(known="one side")])


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(wears, sides), min_size=1, max_size=4), st.integers(0, 3), st.floats(0.001, 0.2))
def test_more_wear_never_gives_a_smaller_step(bores, which, more):
    def chosen(extra):
        found = [
            clean_up(bore(i + 1, w + extra * (i == which % len(bores)), 0.05), s) for i, (w, s) in enumerate(bores)
        ]
        return four(*found, hone_allow_mm=0.0)

    before, after = chosen(0.0), chosen(more)
    assert after.needed_mm >= before.needed_mm - 3e-4
    if after.outcome == Outcome.STEP:
        assert before.outcome == Outcome.STEP and before.step_mm <= after.step_mm
    for a, b in zip(before.steps, after.steps, strict=False):
        assert b.probability <= a.probability + 2e-3


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(wears, sides), min_size=1, max_size=4), st.floats(0.1, 0.95))
def test_tighter_readings_never_lower_confidence_in_a_true_clean_up(bores, factor):
    def chosen(u):
        return four(*(clean_up(bore(i + 1, w, 0.05, u_mm=u, u_common_mm=u), s) for i, (w, s) in enumerate(bores)))

    wide, tight = chosen(0.005), chosen(0.005 * factor)
    true_need = max(c.high_mm for c in wide.cleanups)
    for a, b in zip(wide.steps, tight.steps, strict=False):
        if a.bored_mm > true_need:
            assert b.probability >= a.probability - 1e-3


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(wears, sides), min_size=1, max_size=3), st.floats(-1e-4, 1e-4))
def test_small_change_of_wear_changes_the_need_a_little(bores, nudge):
    def need(extra):
        return four(*(clean_up(bore(i + 1, w + extra, 0.05), s) for i, (w, s) in enumerate(bores))).needed_mm

    assert abs(need(nudge) - need(0.0)) <= 2 * abs(nudge) + 4e-4


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(wears, sides), min_size=1, max_size=4), st.floats(0.5, 0.999))
def test_the_spare_and_the_confidence_agree(bores, wanted):
    r = four(*(clean_up(bore(i + 1, w, 0.05), s) for i, (w, s) in enumerate(bores)), confidence=wanted)
    if r.outcome == Outcome.STEP:
        assert r.confidence >= wanted and r.spare_mm >= -2e-4
    elif r.outcome in (Outcome.BEYOND, Outcome.MEASURE):
        assert r.spare_mm < 2e-4
    for row in r.steps:
        assert row.probability <= min(p for _, p in row.chances) + 1e-6
        assert row.probability >= math.prod(p for _, p in row.chances) - 3e-3


def test_changing_the_order_of_the_cylinders_changes_nothing():
    found = [clean_up(bore(i, w), WearSide()) for i, w in ((1, 0.2), (2, 0.27), (3, 0.24))]
    a, b = four(*found), four(*reversed(found))
    assert (a.step_mm, a.governing, say(a.line)) == (b.step_mm, b.governing, say(b.line))
    assert a.confidence == pytest.approx(b.confidence, abs=1e-12)


def test_a_yes_with_nothing_to_spare_is_no_yes():
    one = clean_up(bore(1, 0.2), WearSide())
    needed = one.needed_mm(0.95, 0.005)

    def at(spare):
        step = needed + spare - 76.2 + 0.0762
        return choose([one], nominal_mm=76.2, steps=(step,), hone_stock_mm=0.0762, u_bored_mm=0.005)

    for spare, verdict in ((0.0005, Verdict.MAYBE), (0.0012, Verdict.MAYBE), (0.004, Verdict.GO)):
        found = at(spare)
        assert found.verdict == cylinder_result(found, 1).verdict == verdict
        assert found.confidence > 0.95
        assert ("nothing to spare" in say(found.line)) == (verdict == Verdict.MAYBE)


# -- the quick check -------------------------------------------------------------------------
def test_quick_check_from_two_numbers():
    """3.000 in nominal, 3.0145 in worst: from 3.0145 (even) to 3.0290 in (one side)."""
    r = quick(3.0 * 25.4, 3.0145 * 25.4)
    assert r.figure("clean_up_low").value / 25.4 == pytest.approx(3.0145)
    assert r.figure("clean_up_high").value / 25.4 == pytest.approx(3.0290)
    assert r.step_mm / 25.4 == pytest.approx(0.040)
    assert r.figure("finished").value / 25.4 == pytest.approx(3.040)
    assert r.figure("bored").value / 25.4 == pytest.approx(3.037)
    chances = {round(s.step_mm / 25.4, 3): s.probability for s in r.steps}
    # +0.030 bores at 3.0270 in, 12.5 of 14.5 thou into a range taken as rectangular
    assert chances[0.030] == pytest.approx(12.5 / 14.5, abs=0.01)
    assert chances[0.020] == pytest.approx(2.5 / 14.5, abs=0.01)
    assert chances[0.010] == 0.0 and chances[0.040] > 0.999
    keys = [c.key for c in r.cautions]
    assert "quick.one_reading" in keys and "quick.bored_before" in keys
    data = as_data(r, Style("in"))
    assert {"step_mm", "finished_mm", "bored_mm", "steps", "cautions", "figures"} <= set(data)
    assert {"step_mm", "finished_mm", "bored_mm", "probability"} <= set(data["steps"][0])


def test_quick_check_tells_a_chance_once_and_needs_no_cylinder():
    r = quick(88.9, 89.032)  # 0.13 mm worn: the diameter alone would say +0.010 in, which may not clean up
    said = [say(w) for w in r.why]
    assert r.naive.step_mm == pytest.approx(0.254) and r.naive.fails
    assert sum("has a chance of" in line for line in said) == 1
    assert "The largest diameter alone would say +0.010\u202fin." in said
    assert said[-1].startswith("It cleans up somewhere from 3.5053\u202fin to 3.51")
    # of several bores it is named which are not sure
    two = four(clean_up(bore(1, 0.25), WearSide(known="one side")), clean_up(bore(2, 0.26), WearSide(known="even")))
    assert any(say(w).endswith("Not sure: cylinder 1.") for w in two.why)


def test_quick_check_narrowed_by_what_is_known():
    # bored to 76.632; a top face that nobody measured may put the bar 0.02 mm off at the top, either way
    assert quick(76.2, 76.53, side=WearSide(known="even")).step_mm == pytest.approx(0.508)
    assert quick(76.2, 76.5683, side=WearSide(known="even")).step_mm == pytest.approx(0.762)
    assert quick(76.2, 76.5683, unworn_mm=76.5, listed_mm=(0.65,)).step_mm == pytest.approx(0.65)
    assert quick(86.0, 86.15).steps[0].step_mm == 0.25


def test_quick_check_of_sizes_that_cannot_belong_together():
    small, far = quick(76.2, 75.9), quick(76.2, 90.0)
    assert small.verdict == far.verdict == Verdict.MAYBE
    assert "smaller than the unworn bore" in say(small.line) and "too far over" in say(far.line)
    for wrong in ((math.nan, 76.2), (76.2, -1.0), (0.0, 76.2)):
        with pytest.raises(ValueError):
            quick(*wrong)


@settings(max_examples=40, deadline=None)
@given(st.floats(40, 160), st.floats(-0.04, 2.0))
def test_quick_check_answers_any_plausible_pair(nominal, wear):
    r = quick(nominal, nominal + wear)
    assert say(r.line) and 0 <= (r.confidence or 0) <= 1
    assert [s.probability for s in r.steps] == sorted(s.probability for s in r.steps)


@pytest.mark.parametrize(
    "wrong",
    [
        {"steps": ()},
        {"nominal_mm": 0.0},
        {"nominal_mm": math.nan},
        {"hone_stock_mm": -0.1},
        {"confidence": 1.0},
        {"confidence": 0.2},
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError):
        four(swept(1, 76.5), **wrong)
    with pytest.raises(ValueError):
        four()
