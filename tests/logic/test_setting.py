"""Setting micrometers and the bar's bias, checked against SciPy and by simulated jobs (all data invented)."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic import setting
from logic.bar_bias import ASSUMED_DOF
from logic.result import Verdict
from logic.setting import BAR_TIP, BORE, Pair


def pairs(*biases, size=76.5, cut=0.5):
    return [Pair(size, size + b, cut, f"cut {i}") for i, b in enumerate(biases, 1)]


# -- the two micrometers ---------------------------------------------------------


def test_bar_and_tip_reading_is_half_the_sum():
    # M = bar/2 + D/2: a 50 mm bar with its tip at 38.1 mm from the axis reads 25 + 38.1
    assert setting.reading_mm(BAR_TIP, 76.2, 50.0) == pytest.approx(63.1, abs=1e-12)
    assert setting.diameter_mm(BAR_TIP, 63.1, 50.0) == pytest.approx(76.2, abs=1e-12)
    # half a thou on that micrometer is a whole thou of bore
    assert setting.diameter_mm(BAR_TIP, 63.1 + 0.0127, 50.0) - 76.2 == pytest.approx(0.0254, abs=1e-9)


@given(st.floats(55, 200), st.floats(20, 54.9), st.sampled_from([BORE, BAR_TIP]))
@settings(max_examples=60, deadline=None)
def test_reading_and_diameter_undo_each_other(size, bar, meter):
    assert setting.diameter_mm(meter, setting.reading_mm(meter, size, bar), bar) == pytest.approx(size, rel=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: setting.diameter_mm("other", 70.0),
        lambda: setting.reading_mm("other", 70.0),
        lambda: setting.diameter_mm(BAR_TIP, 70.0),
        lambda: setting.reading_mm(BAR_TIP, 70.0),
        lambda: setting.diameter_mm(BAR_TIP, 49.0, 50.0),
        lambda: setting.reading_mm(BAR_TIP, 49.0, 50.0),
        lambda: setting.diameter_mm(BORE, float("nan")),
        lambda: setting.reading_mm(BORE, -1.0),
    ],
)
def test_impossible_readings_are_refused(call):
    with pytest.raises(ValueError):
        call()


# -- the bias --------------------------------------------------------------------

BIASES = (0.012, 0.009, 0.010, 0.015)


def pooled(squares, dof, assumed=setting.ASSUMED_SPREAD_MM):
    """Spread and degrees of freedom with the conjugate (scaled inverse chi-squared) prior of a variance.

    A. Gelman et al., Bayesian Data Analysis, 2.6 and 3.3 (from memory): (ν₀ σ₀² + Σ squares) / (ν₀ + ν).
    """
    return math.sqrt((ASSUMED_DOF * assumed**2 + squares) / (ASSUMED_DOF + dof)), ASSUMED_DOF + dof


def carried_on(biases):
    """The line through the cuts carried on to the next: level, its variance over that of one cut, squares.

    Least squares by NumPy on the cuts and one made-up row that holds the slope to ASSUMED_DRIFT spreads, which is
    the conjugate prior of a regression written as data (A. Gelman et al., Bayesian Data Analysis, 14.8; from memory).
    """
    n = len(biases)
    x = np.vstack([np.column_stack([np.ones(n), np.arange(1, n + 1) - (n + 1)]), [0.0, 1 / setting.ASSUMED_DRIFT]])
    y = np.append(biases, 0.0)
    (level, slope), *_ = np.linalg.lstsq(x, y, rcond=None)
    return level, np.linalg.inv(x.T @ x)[0, 0], np.sum((y - x @ [level, slope]) ** 2)


def test_prediction_interval_agrees_with_scipy():
    got = setting.bias(pairs(*BIASES))
    level, share, squares = carried_on(BIASES)
    s, dof = pooled(squares, 3)
    low, high = stats.t.interval(0.95, dof, loc=level, scale=s * math.sqrt(1 + share))
    assert got.mean_mm == pytest.approx(level, rel=1e-9)
    assert got.spread_mm == pytest.approx(s, rel=1e-9)
    assert got.mean_mm - got.half_mm == pytest.approx(low, rel=1e-7)
    assert got.mean_mm + got.half_mm == pytest.approx(high, rel=1e-7)
    assert got.dof == dof == 7 and got.pairs == 4 and got.weight == 1.0


@pytest.mark.parametrize("cuts", [3, 5, 8])
def test_a_wearing_edge_is_within_the_interval(cuts):
    """An edge that cuts 3 µm smaller each time: the next cut is within what is said 95 times in a hundred, or oftener."""
    rng = np.random.default_rng(7)
    inside, runs = 0, 1200
    for _ in range(runs):
        spread = 0.006 * rng.lognormal(0, 0.4)
        made = rng.normal(0.01 - 0.003 * np.arange(cuts + 1), spread)
        got = setting.bias(pairs(*made[:-1]))
        inside += abs(made[-1] - got.mean_mm) <= got.half_mm
    assert 0.93 <= inside / runs <= 0.985


def test_the_interval_holds_nineteen_times_in_twenty():
    """Simulated bars: the next cut falls inside the stated interval in 95 % of runs, with and without history."""
    rng = np.random.default_rng(2)
    alone = with_past = 0
    runs = 3000
    for _ in range(runs):
        levels = rng.normal(0.01, 0.012, 9)
        past = [pairs(*rng.normal(b, 0.005, 4)) for b in levels[:8]]
        own = pairs(*rng.normal(levels[8], 0.005, 2))
        following = rng.normal(levels[8], 0.005)
        a, b = setting.bias(own), setting.bias(own, past)
        alone += abs(following - a.mean_mm) <= a.half_mm
        with_past += abs(following - b.mean_mm) <= b.half_mm
    # spreads of 5 µm where 6 are assumed before anything is known: on the safe side by at most 5 points
    assert alone / runs >= 0.94
    assert 0.94 <= with_past / runs <= 0.99


def test_two_cuts_that_agree_by_luck_promise_nothing():
    """Bars whose spread is itself not known beforehand: the next cut after two cuts within 1 µm of each other."""
    rng = np.random.default_rng(4)
    found = []
    while len(found) < 800:
        spread = setting.ASSUMED_SPREAD_MM * math.sqrt(ASSUMED_DOF / rng.chisquare(ASSUMED_DOF))
        a, b, following = rng.normal(0.01, spread, 3)
        if abs(a - b) < 0.001:
            got = setting.bias(pairs(a, b))
            found.append(abs(following - got.mean_mm) <= got.half_mm)
    assert np.mean(found) == pytest.approx(0.95, abs=0.025)


def test_history_alone_covers_a_new_job():
    rng = np.random.default_rng(3)
    inside, runs = 0, 3000
    for _ in range(runs):
        levels = rng.normal(0.01, 0.012, 7)
        got = setting.bias([], [pairs(*rng.normal(b, 0.004, 3)) for b in levels[:6]])
        inside += abs(rng.normal(levels[6], 0.004) - got.mean_mm) <= got.half_mm
    assert inside / runs == pytest.approx(0.95, abs=0.02)


def test_history_narrows_what_two_pairs_leave_open():
    own = pairs(0.011, 0.016)
    past = [pairs(0.008, 0.012, 0.010), pairs(0.013, 0.009, 0.012), pairs(0.007, 0.011)]
    assert setting.bias(own, past).half_mm < 0.8 * setting.bias(own).half_mm


def test_the_jobs_own_pairs_count_for_more_as_they_grow():
    past = [pairs(0.00, 0.002, 0.001), pairs(0.010, 0.008, 0.009), pairs(-0.004, -0.006)]
    few, many = setting.bias(pairs(0.020), past), setting.bias(pairs(*[0.019, 0.021] * 5), past)
    assert few.weight < many.weight < 1
    assert few.mean_mm < many.mean_mm < 0.020
    assert many.mean_mm == pytest.approx(0.020, abs=0.001)


def test_between_jobs_spread_is_the_one_way_analysis_of_variance():
    """Balanced groups: τ² = (MS_between − MS_within) / n, as in any text on the one-way random effects model."""
    groups = [[0.010, 0.014, 0.012], [0.001, 0.003, 0.002], [0.020, 0.016, 0.018], [0.009, 0.007, 0.011]]
    within = np.mean([np.var(g, ddof=1) for g in groups])
    between = (3 * np.var([np.mean(g) for g in groups], ddof=1) - within) / 3
    got = setting.bias([], [pairs(*g) for g in groups])
    assert got.mean_mm == pytest.approx(np.mean(groups), rel=1e-9)
    # each pooled with what is assumed of it
    spread, _ = pooled(8 * within, 8)
    seen = (3 * np.var([np.mean(g) for g in groups], ddof=1) - spread**2) / 3
    level, dof = pooled(3 * seen, 3, setting.ASSUMED_BETWEEN_MM)
    assert got.u_next_mm**2 == pytest.approx(spread**2 + level**2 + (level**2 + spread**2 / 3) / 4, rel=1e-9)
    assert got.dof == dof == 7
    f = stats.f_oneway(*groups).statistic
    assert (between * 3 + within) / within == pytest.approx(f, rel=1e-9)


def test_one_pair_says_nothing_of_the_spread_and_says_so():
    got = setting.bias(pairs(0.010))
    assert got.mean_mm == pytest.approx(0.010)
    assert got.half_mm == pytest.approx(
        stats.t.ppf(0.975, ASSUMED_DOF) * math.sqrt(2 + setting.ASSUMED_DRIFT**2) * setting.ASSUMED_SPREAD_MM, rel=1e-5
    )
    assert any("Spread from cut to cut taken as" in str(a.text) for a in got.assumptions)


def test_equal_pairs_are_no_surer_than_the_gauge():
    got = setting.bias(pairs(0.010, 0.010, 0.010), resolution_mm=0.03)
    assert got.spread_mm == pytest.approx(0.03 / math.sqrt(12))
    assert got.half_mm == pytest.approx(stats.t.ppf(0.975, 6) * got.u_next_mm)
    assert got.chance_above(0.004) == pytest.approx(stats.t.sf(0.004 / got.u_next_mm, 6), abs=1e-9)
    assert setting.bias(pairs(0.010, 0.010)).half_mm > 0.01


def test_the_setting_takes_the_bias_off():
    learned = setting.bias(pairs(*BIASES))
    got = setting.next_setting(76.93, learned)
    assert got.reading_mm == pytest.approx(76.93 - carried_on(BIASES)[0], abs=1e-9)
    assert got.verdict == Verdict.GO
    tip = setting.next_setting(76.93, learned, meter=BAR_TIP, bar_mm=50.0)
    assert tip.reading_mm == pytest.approx((got.reading_mm + 50) / 2, abs=1e-9)
    assert tip.set_mm == pytest.approx(got.reading_mm, abs=1e-12)


def test_the_chance_of_boring_too_large_is_students():
    learned = setting.bias(pairs(*BIASES))
    got = setting.next_setting(76.93, learned, limit_mm=76.935)
    _, share, squares = carried_on(BIASES)
    s, dof = pooled(squares, 3)
    assert got.chance_over == pytest.approx(stats.t.sf(0.005 / (s * math.sqrt(1 + share)), dof), rel=1e-7)
    assert got.verdict == Verdict.MAYBE
    assert any("Take a pass to" in str(w) for w in got.why)
    assert setting.next_setting(76.93, learned, limit_mm=76.99).verdict == Verdict.GO


def test_an_unknown_bar_is_never_sent_straight_to_size():
    got = setting.next_setting(76.93, setting.bias([]), limit_mm=76.96)
    assert got.verdict == Verdict.MAYBE and got.chance_over > 0.1


def test_a_pass_unlike_the_logged_ones_is_pointed_out():
    learned = setting.bias(pairs(*BIASES))
    heavy = setting.next_setting(76.93, learned, cut_mm=1.5, usual_cut_mm=0.5)
    alike = setting.next_setting(76.93, learned, cut_mm=0.6, usual_cut_mm=0.5)
    assert len(heavy.why) == len(alike.why) + 1


def test_the_trial_cut_stays_small_but_cuts():
    got = setting.trial(76.93, 76.2)
    assert got.figure("reading").value == pytest.approx(76.80)
    near = setting.trial(76.93, 76.75)
    assert near.figure("reading").value == pytest.approx(76.85)
    assert setting.trial(76.93, 76.90).verdict == Verdict.MAYBE


def test_figures_that_cannot_belong_together_are_pointed_out():
    assert setting.impossible(BORE, 76.9, 76.92, "cut 1") is None
    assert setting.impossible(BORE, 76.9, None, "cut 1") is None
    assert "too far apart" in str(setting.impossible(BORE, 63.4, 76.92, "cut 1").line)
    inside = setting.impossible(BAR_TIP, 45.0, 76.92, "cut 1", 50.0)
    assert "inside the bar" in str(inside.line) and inside.verdict == Verdict.MAYBE


def test_a_warm_blocks_size_is_also_given_cold():
    learned = setting.bias(pairs(*BIASES))
    warm = setting.next_setting(76.943, learned, cold_mm=76.93)
    assert any("at 20 °C" in str(w) for w in warm.why)
    assert not any("at 20 °C" in str(w) for w in setting.next_setting(76.93, learned, cold_mm=76.93).why)


def test_the_formula_shown_is_that_of_the_micrometer_in_hand():
    learned = setting.bias(pairs(*BIASES))
    for make in (
        lambda **kind: setting.next_setting(76.93, learned, **kind),
        lambda **kind: setting.trial(76.93, 76.2, **kind),
    ):
        own = {f.key: f for f in make(meter=BAR_TIP, bar_mm=50.0).figures}["reading"]
        usual = {f.key: f for f in make(meter=BORE).figures}["reading"]
        assert own.formula.template.endswith("+ bar) / 2") and not usual.formula
        # M = (size + bar) / 2 of what the other kind shows outright
        assert own.qty.value == pytest.approx((usual.qty.value + 50.0) / 2, abs=1e-12)
