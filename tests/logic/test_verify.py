"""Verdicts: JCGM 106:2012 and ISO 14253-1:2017, with SciPy and Monte Carlo (JCGM 101) beside the integrals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from logic import verify as v
from logic.result import Verdict
from logic.say import Style, say

BORE = {
    "cylinder": 2,
    "target_mm": 76.962,
    "lower_mm": 76.952,
    "upper_mm": 76.972,
    "round_limit_mm": 0.013,
    "taper_limit_mm": 0.013,
    "u_own_mm": 0.002,
    "u_shared_mm": 0.001,
}
DEPTHS = (12.0, 45.0, 90.0)


def grid(rows, n=1):
    """Spots from rows of (thrust, crank) diameters, one row per depth."""
    return [
        v.Spot(i + 1, axis, DEPTHS[i], d, n)
        for i, row in enumerate(rows)
        for axis, d in zip(("thrust", "crank"), row, strict=False)
    ]


GOOD = grid([(76.962, 76.961), (76.962, 76.963), (76.963, 76.962)])


def text(line, length="mm"):
    return say(line, Style(length)).replace("\u202f", " ")


# -- one figure --------------------------------------------------------------------------------
def test_the_conformance_probability_of_jcgm_106():
    # JCGM 106:2012, 7.4 (numbers as quoted at metrologyrules.com, 2022): y 13.6, u 1.8, limits 12.5 and 16.3
    chance = v.within_chance([13.6], [1.8], 0.0, 12.5, 16.3)
    assert chance == pytest.approx(stats.norm.cdf(1.5) - stats.norm.cdf(-1.1 / 1.8), abs=1e-12)
    assert chance == pytest.approx(0.66, abs=0.005)
    assert v.decide(chance) == Verdict.MAYBE
    # 7.2.2 (from memory): a breakdown voltage that must not be above −5.40 V, measured −5.47 V, u 0.05 V: 92 %
    assert v.within_chance([-5.47], [0.05], 0.0, -math.inf, -5.40) == pytest.approx(0.919, abs=0.0005)


def test_the_guard_band_of_iso_14253():
    # ISO 14253-1:2017: 95 % conformance probability at one limit, g = 1.65 u
    assert v.guard_band(1.0) == pytest.approx(1.645, abs=0.0005)
    assert v.guard_band(0.002) == pytest.approx(0.00329, abs=5e-6)
    assert v.guard_band(1.0, 0.95, 5) == pytest.approx(stats.t.ppf(0.95, 5), rel=1e-8)
    values = (10.0 - 1.65 * 0.1, 10.0 - 1.64 * 0.1, 10.0 + 1.65 * 0.1)
    chances = [v.within_chance([x], [0.1], 0.0, -math.inf, 10.0) for x in values]
    assert [v.decide(c) for c in chances] == [Verdict.GO, Verdict.MAYBE, Verdict.STOP]


def test_exact_figures_and_a_confidence_out_of_range():
    assert v.within_chance([1.0], [0.0], 0.0, 0.5, math.inf) == 1.0
    assert v.decide(v.within_chance([0.4], [0.0], 0.0, 0.5, math.inf)) == Verdict.STOP
    with pytest.raises(ValueError, match="confidence"):
        v.decide(0.5, 0.4)


# -- the integrals --------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("values", "us", "shared"),
    [
        ([76.960, 76.965, 76.969], [0.002, 0.002, 0.002], 0.003),
        ([76.953, 76.971], [0.001, 0.001], 0.004),
        ([76.953, 76.971, 76.96, 76.96], [0.004, 0.002, 0.001, 0.003], 0.0),
        ([76.970] * 6, [0.002] * 6, 0.002),
        ([76.969, 76.955], [0.0002, 0.0002], 0.004),
    ],
)
def test_all_within_against_monte_carlo(values, us, shared):
    rng = np.random.default_rng(7)
    n = 400_000
    drawn = (
        np.array(values)[:, None]
        + rng.normal(0, 1, (len(values), n)) * np.array(us)[:, None]
        + rng.normal(0, shared, n)
    )
    expected = ((drawn >= 76.952) & (drawn <= 76.972)).all(axis=0).mean()
    assert v.within_chance(values, us, shared, 76.952, 76.972) == pytest.approx(expected, abs=0.003)


@pytest.mark.parametrize(
    ("values", "us", "limit"),
    [
        ([0.0, 0.010], [0.002, 0.002], 0.013),
        ([0.0, 0.004, 0.012, 0.006], [0.002] * 4, 0.013),
        ([0.0, 0.0, 0.0], [0.004] * 3, 0.013),
        ([0.0, 0.013, 0.001], [0.002, 0.0007, 0.003], 0.013),
        ([0.0, 0.02], [0.002, 0.002], 0.013),
        ([0.0, 0.012], [0.0, 0.002], 0.013),
    ],
)
def test_spread_against_monte_carlo(values, us, limit):
    rng = np.random.default_rng(11)
    drawn = np.array(values)[:, None] + rng.normal(0, 1, (len(values), 400_000)) * np.array(us)[:, None]
    expected = (np.ptp(drawn, axis=0) <= limit).mean()
    assert v.spread_chance(values, us, limit) == pytest.approx(expected, abs=0.003)


@settings(max_examples=60, deadline=None)
@given(gap=st.floats(0, 0.03), a=st.floats(0.0005, 0.005), ratio=st.floats(0.3, 1.0))
def test_spread_of_two_is_a_folded_normal(gap, a, ratio):
    # closed form for two readings: their difference is normal with the root sum of squares
    s = math.hypot(a, a * ratio)
    expected = stats.norm.cdf((0.013 - gap) / s) - stats.norm.cdf((-0.013 - gap) / s)
    assert v.spread_chance([0.0, gap], [a, a * ratio], 0.013) == pytest.approx(expected, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(d=st.floats(76.945, 76.98), own=st.floats(0.0002, 0.004), shared=st.floats(0.0, 0.004))
def test_one_reading_is_the_plain_formula(d, own, shared):
    s = math.hypot(own, shared)
    expected = stats.norm.cdf((76.972 - d) / s) - stats.norm.cdf((76.952 - d) / s)
    assert v.within_chance([d], [own], shared, 76.952, 76.972) == pytest.approx(expected, abs=1e-6)


def test_without_doubt():
    assert v.within_chance([76.96, 76.97], [0.0, 0.0], 0.0, 76.952, 76.972) == 1.0
    assert v.within_chance([76.96, 76.98], [0.0, 0.0], 0.0, 76.952, 76.972) == 0.0
    assert v.within_chance([76.955, 76.969], [0.0, 0.0], 0.003, 76.952, 76.972) == pytest.approx(
        stats.norm.cdf(1) - stats.norm.cdf(-1), abs=1e-9
    )
    assert v.within_chance([76.94, 76.99], [0.0, 0.0], 0.003, 76.952, 76.972) == 0.0
    assert v.spread_chance([0.0, 0.01], [0.0, 0.0], 0.013) == 1.0
    assert v.spread_chance([0.0, 0.02], [0.0, 0.0], 0.013) == 0.0
    for call in (lambda: v.within_chance([], [], 0.0, 0.0, 1.0), lambda: v.spread_chance([1.0], [], 1.0)):
        with pytest.raises(ValueError):
            call()


# -- a finished bore --------------------------------------------------------------------------------
def test_a_good_bore():
    r = v.finished_bore(spots=GOOD, **BORE)
    assert r.verdict == Verdict.GO and r.confidence > 0.97
    assert text(r.line).startswith("Cylinder 2 is in, with 9")
    assert r.value.value == pytest.approx(76.96217, abs=1e-4)
    assert r.value.u == pytest.approx(math.hypot(0.002 / math.sqrt(6), 0.001), rel=1e-9)
    assert [a.key for a in r.aspects] == ["size", "round", "taper"]
    assert r.figure("round").value == pytest.approx(0.001, abs=1e-9)
    assert r.figure("round").u == pytest.approx(0.002 * math.sqrt(2))
    assert r.figure("taper").value == pytest.approx(0.002, abs=1e-9)
    assert not r.again and not r.cautions
    assert sum(i.share for i in r.influences) == pytest.approx(1)
    assert r.assumptions[-1].source == "common practice"


def test_a_bore_with_stock_left():
    r = v.finished_bore(spots=grid([(76.940, 76.941), (76.940, 76.941), (76.941, 76.940)]), **BORE)
    assert r.verdict == Verdict.STOP and r.confidence > 0.99
    assert text(r.line) == "Cylinder 2 is out, with 99.9 % confidence: Size."
    assert "There is still 22.0 µm to hone at the tightest place." in [text(w) for w in r.why]


def test_a_bore_too_large():
    r = v.finished_bore(spots=grid([(76.985, 76.984), (76.984, 76.985), (76.985, 76.984)]), **BORE)
    assert r.verdict == Verdict.STOP
    assert any("13.0 µm over the largest size allowed" in text(w) for w in r.why)


def test_out_of_round_and_taper():
    r = v.finished_bore(
        spots=grid([(76.973, 76.948), (76.962, 76.962), (76.962, 76.962)]),
        **{**BORE, "lower_mm": 76.93, "upper_mm": 76.99},
    )
    assert r.verdict == Verdict.STOP and [a.verdict for a in r.aspects][:2] == [Verdict.GO, Verdict.STOP]
    r = v.finished_bore(
        spots=grid([(76.974, 76.974), (76.962, 76.962), (76.950, 76.950)]),
        **{**BORE, "lower_mm": 76.93, "upper_mm": 76.99},
    )
    assert [a.key for a in r.aspects if a.verdict == Verdict.STOP] == ["taper"]
    assert r.figure("taper").value == pytest.approx(0.024)


def test_too_close_names_the_place():
    close = grid([(76.962, 76.961), (76.970, 76.963), (76.963, 76.962)])
    r = v.finished_bore(spots=close, **{**BORE, "taper_limit_mm": 0.02})
    assert r.verdict == Verdict.MAYBE and r.confidence is None
    assert [(s.depth, s.axis) for s in r.again] == [(2, "thrust")]
    assert text(r.line) == "Cylinder 2 is too close to call: measure again 45.0 mm down on the thrust axis."
    # margin 2 µm against 1.645 √(4/n + 1) µm: n = 4 / ((2/1.645)² − 1) = 8.4
    assert r.repeats == 9
    assert any("About 9 readings in all" in text(w) for w in r.why)


def test_measuring_again_settles_it():
    spots = grid([(76.962, 76.961), (76.9685, 76.963), (76.963, 76.962)])
    assert v.finished_bore(spots=spots, **BORE).verdict == Verdict.MAYBE
    better = [s._replace(n=6) if s.d_mm == 76.9685 else s for s in spots]
    assert v.finished_bore(spots=better, **BORE).verdict == Verdict.GO


def test_when_no_repeat_helps():
    spots = grid([(76.971, 76.971), (76.971, 76.971), (76.971, 76.971)])
    r = v.finished_bore(spots=spots, **{**BORE, "u_shared_mm": 0.004})
    assert r.verdict == Verdict.MAYBE and r.repeats is None
    assert any("Repeating will not settle it" in text(w) for w in r.why)
    assert text(r.line).endswith(", and 3 more places.") and len(r.again) == 6


def test_the_clearance_to_its_piston():
    found = v.finished_bore(spots=GOOD, **BORE)
    r = v.with_piston(found, 76.885)
    assert r.figure("clearance").value == pytest.approx(found.value.value - 76.885)
    assert text(r.why[-1]) == "With its piston of 76.885 mm the mean clearance is 77.2 µm."
    assert r.verdict == found.verdict and r.aspects == found.aspects


def test_the_clearance_is_as_doubtful_as_bore_and_piston_together():
    found = v.finished_bore(spots=GOOD, **BORE)
    mean = ufloat(found.value.value, found.figure("mean").u)
    reference = mean - ufloat(76.885, 0.0015)
    got = v.with_piston(found, 76.885, 0.0015).figure("clearance")
    assert (got.value, got.u) == (pytest.approx(reference.n), pytest.approx(reference.s))


def test_a_place_read_more_than_once():
    s = v.Spot.of(2, "crank", 45.0, [76.960, 76.962, 76.964])
    assert s.d_mm == pytest.approx(76.962) and s.n == 3


def test_repeats():
    assert v.repeats_to_settle(0.010, 0.002, 0.001) == 1
    assert v.repeats_to_settle(0.002, 0.002, 0.0) == 3  # (1.645)² = 2.7
    assert v.repeats_to_settle(0.001, 0.002, 0.002) is None
    assert v.repeats_to_settle(0.0005, 0.004, 0.0) is None  # 173 readings


def test_few_readings_are_cautioned():
    r = v.finished_bore(spots=[v.Spot(1, "thrust", 12.0, 76.962)], **BORE)
    assert [a.key for a in r.aspects] == ["size"]
    assert r.cautions[0].key == "final.few.2"


@settings(max_examples=60, deadline=None)
@given(offset=st.floats(-0.015, 0.015), factor=st.floats(0.1, 1.0))
def test_tighter_uncertainty_makes_what_is_in_surer(offset, factor):
    spots = [s._replace(d_mm=s.d_mm + offset) for s in GOOD]
    wide = v.finished_bore(spots=spots, **BORE)
    tight = v.finished_bore(spots=spots, **{**BORE, "u_own_mm": 0.002 * factor, "u_shared_mm": 0.001 * factor})
    inside = all(BORE["lower_mm"] <= s.d_mm <= BORE["upper_mm"] for s in spots)
    if inside:
        assert tight.aspects[0].chance >= wide.aspects[0].chance - 1e-9
    else:
        assert tight.aspects[0].chance <= 0.5 + 1e-9


@settings(max_examples=40, deadline=None)
@given(offset=st.floats(-0.02, 0.02), nudge=st.floats(-1e-6, 1e-6))
def test_a_small_change_of_reading_is_a_small_change_of_chance(offset, nudge):
    one = v.finished_bore(spots=[s._replace(d_mm=s.d_mm + offset) for s in GOOD], **BORE)
    two = v.finished_bore(spots=[s._replace(d_mm=s.d_mm + offset + nudge) for s in GOOD], **BORE)
    for a, b in zip(one.aspects, two.aspects, strict=False):
        assert a.chance == pytest.approx(b.chance, abs=0.002)


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="no reading"):
        v.finished_bore(spots=[], **BORE)
    for change in ({"lower_mm": 77.0}, {"round_limit_mm": 0.0}, {"target_mm": 70.0}, {"confidence": 1.5}):
        with pytest.raises(ValueError):
            v.finished_bore(spots=GOOD, **{**BORE, **change})
    with pytest.raises(ValueError):
        v.finished_bore(spots=[v.Spot(1, "thrust", 1.0, math.nan)], **BORE)


def test_mean_diameter_at_each_depth_from_the_top_down():
    spots = [*grid([(76.964, 76.96), (76.962, 76.963)]), v.Spot(3, "thrust", DEPTHS[2], 76.958)]
    assert v.depth_means_mm(list(reversed(spots))) == pytest.approx((76.962, 76.9625, 76.958))
    assert v.depth_means_mm([]) == ()
