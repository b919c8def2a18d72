"""Verdicts: JCGM 106:2012 and ISO 14253-1:2017, with SciPy and Bayes' rule by Monte Carlo (JCGM 101) beside the integral."""

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from logic import bore_prior
from logic import verify as v
from logic.result import Verdict
from logic.risks import combined
from logic.say import Style, say
from logic.uncertainty import chance_between
from tests.bench.calibration import COARSE, judged

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
def test_the_guard_band_of_iso_14253():
    # ISO 14253-1:2017: 95 % conformance probability at one limit, g = 1.65 u
    assert v.guard_band(1.0) == pytest.approx(1.645, abs=0.0005)
    assert v.guard_band(0.002) == pytest.approx(0.00329, abs=5e-6)
    assert v.guard_band(1.0, 0.95, 5) == pytest.approx(stats.t.ppf(0.95, 5), rel=1e-8)
    values = (10.0 - 1.65 * 0.1, 10.0 - 1.64 * 0.1, 10.0 + 1.65 * 0.1)
    chances = [chance_between(x, 0.1, upper=10.0) for x in values]
    assert [v.decide(c) for c in chances] == [Verdict.GO, Verdict.MAYBE, Verdict.STOP]


def test_a_confidence_out_of_range():
    with pytest.raises(ValueError, match="confidence"):
        v.decide(0.5, 0.4)


# -- the integral over the true bores -------------------------------------------------------------
def by_weighting(spots, limits, own, shared, process=bore_prior.FINISHING, n=1_500_000, seed=5):
    """Bayes' rule by brute force: bores drawn from the prior, weighted by the likelihood of the readings.

    Another way than the code's (which solves for the posterior and integrates over that).
    """
    rng = np.random.default_rng(seed)
    quality = rng.choice([0.5, 1.0, 2.0, 4.0], n, p=[0.25, 0.4, 0.25, 0.1])
    level = rng.normal(0, np.where(rng.random(n) < process.wild_share, process.wild_mm, process.level_mm))
    taper, barrel = (rng.normal(0, s, n) * quality for s in (process.taper_mm, process.barrel_mm))
    depths, axes = sorted({s.depth_mm for s in spots}), sorted({s.axis for s in spots})
    oval = {a: rng.normal(0, process.oval_mm / math.sqrt(2), n) * quality for a in axes}
    true = []
    for s in spots:
        z = 2 * (s.depth_mm - depths[0]) / (depths[-1] - depths[0]) - 1
        local = rng.normal(0, process.local_mm, n) * quality
        true.append(level + 0.5 * taper * z + barrel * (0.5 - z * z) + oval[s.axis] + local)
    true = np.array(true)
    off = np.array([s.d_mm for s in spots])[:, None] - 76.962
    noise = np.diag([own**2 / s.n for s in spots]) + shared**2
    r = off - true
    weight = np.exp(-0.5 * np.einsum("in,in->n", r, np.linalg.solve(noise, r)))
    weight /= weight.sum()
    size = ((true >= limits[0] - 76.962) & (true <= limits[1] - 76.962)).all(axis=0)
    pick = [np.ptp(true[[i for i, s in enumerate(spots) if s.depth_mm == z]], axis=0) for z in depths]
    down = [np.ptp(true[[i for i, s in enumerate(spots) if s.axis == a]], axis=0) for a in axes]
    rounds, tapers = np.max(pick, axis=0) <= limits[2], np.max(down, axis=0) <= limits[3]
    return {k: float(weight @ x) for k, x in (("size", size), ("round", rounds), ("taper", tapers))} | {
        "all": float(weight @ (size & rounds & tapers))
    }


@pytest.mark.parametrize(
    ("rows", "own", "shared"),
    [
        ([(0.001, -0.001), (0.0, 0.001), (0.001, 0.0)], 0.004, 0.004),
        ([(0.011, -0.004), (0.0, 0.003), (0.001, 0.0)], 0.004, 0.003),
        ([(0.0, 0.0), (0.0, 0.0127), (0.0127, 0.0)], 0.005, 0.004),
        ([(0.008, 0.008), (0.004, 0.005), (-0.004, -0.005)], 0.003, 0.001),
    ],
)
def test_the_verdict_against_bayes_by_brute_force(rows, own, shared):
    spots = grid([(76.962 + a, 76.962 + b) for a, b in rows])
    limits = (76.952, 76.972, 0.009, 0.010)
    expected = by_weighting(spots, limits, own, shared)
    got = v.finished_bore(
        spots=spots,
        **BORE | {"round_limit_mm": 0.009, "taper_limit_mm": 0.010, "u_own_mm": own, "u_shared_mm": shared},
    )
    for a in got.aspects:
        assert a.chance == pytest.approx(expected[a.key], abs=0.02), a.key
    assert got.chance == pytest.approx(expected["all"], abs=0.02)


def test_one_reading_with_a_plain_prior_is_the_formula_of_jcgm_106():
    # annex C of JCGM 106:2012: normal prior, normal reading
    made = bore_prior.Process(wild_share=0.0, level_mm=0.006, taper_mm=0, barrel_mm=0, oval_mm=0, local_mm=0)
    r = v.finished_bore(spots=[v.Spot(1, "thrust", 12.0, 76.969)], **BORE, process=made)
    mean, u = combined(0.007, math.hypot(0.002, 0.001), 0.0, 0.006)
    expected = stats.norm.cdf((0.010 - mean) / u) - stats.norm.cdf((-0.010 - mean) / u)
    assert r.chance == pytest.approx(expected, abs=1e-4)


def test_noise_is_not_taken_for_shape():
    # a half-thou dial: readings fall on marks 12.7 µm apart, so that a good bore may show one of them
    coarse = BORE | {"lower_mm": 76.94, "upper_mm": 76.984, "u_own_mm": 0.003, "u_fixed_mm": 0.0127 / math.sqrt(12)}
    spots = grid([(76.962, 76.9747), (76.962, 76.962), (76.962, 76.962)])
    r = v.finished_bore(spots=spots, **coarse | {"round_limit_mm": 0.0125, "taper_limit_mm": 0.0125})
    assert r.figure("round").value == pytest.approx(0.0127)  # as read: more than is allowed
    by_key = {a.key: a for a in r.aspects}
    assert by_key["round"].likely.value < 0.006 and by_key["round"].chance > 0.9
    assert r.verdict != Verdict.STOP
    # the same readings by a gauge that is good to a micrometre are a shape
    sharp = coarse | {"u_own_mm": 0.001, "u_fixed_mm": 0.0, "round_limit_mm": 0.009, "taper_limit_mm": 0.009}
    assert v.finished_bore(spots=spots, **sharp).verdict == Verdict.STOP


def test_a_division_does_not_shrink_by_repeating():
    fixed = BORE | {"u_own_mm": 0.002, "u_fixed_mm": 0.0037, "u_shared_mm": 0.0}
    spots = [v.Spot(1, "thrust", 12.0, 76.970, n) for n in (1, 4, 10_000)]
    us = [v.finished_bore(spots=[s], **fixed).figure("nearest").u for s in spots]
    assert us == pytest.approx([math.hypot(0.002, 0.0037), math.hypot(0.001, 0.0037), math.hypot(2e-5, 0.0037)])


# -- a finished bore --------------------------------------------------------------------------------
def test_a_good_bore():
    r = v.finished_bore(spots=GOOD, **BORE)
    assert r.verdict == Verdict.GO and r.confidence > 0.97
    assert text(r.line).startswith("Cylinder 2 is within limits, over 99 % sure")
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
    assert text(r.line) == "Cylinder 2 is out of limits, over 99 % sure: Size."
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
    close = grid([(76.962, 76.961), (76.976, 76.963), (76.963, 76.962)])
    loose = BORE | {"taper_limit_mm": 0.02, "round_limit_mm": 0.02}
    r = v.finished_bore(spots=close, **loose)
    assert r.verdict == Verdict.MAYBE and r.confidence is None
    assert [(s.depth, s.axis) for s in r.again] == [(2, "thrust")]
    assert text(r.line) == "Cylinder 2 is too close to call: measure again 45.0 mm down on the thrust axis."
    assert r.repeats is not None and any(f"About {r.repeats} readings in all" in text(w) for w in r.why)
    # and as many readings that average the same do settle it
    again = [s._replace(n=r.repeats) if s.d_mm == 76.976 else s for s in close]
    assert v.finished_bore(spots=again, **loose).verdict == Verdict.STOP


def test_measuring_again_settles_it():
    spots = grid([(76.962, 76.961), (76.973, 76.963), (76.963, 76.962)])
    assert v.finished_bore(spots=spots, **BORE).verdict == Verdict.MAYBE
    better = [s._replace(n=6, d_mm=76.966) if s.d_mm == 76.973 else s for s in spots]
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
    assert text(r.why[-1]) == "With its piston of 76.885 mm, the mean clearance is 77.2 µm."
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


def test_what_a_coarse_gauge_calls_out_is_out():
    """Simulated bores under a half-thou gauge: verdicts are right as often as they say (JCGM 106:2012, 9.3)."""
    rng, out, true_out, called_in, true_in = random.Random(9), 0, 0, 0, 0
    for _ in range(160):
        found, inside = judged(rng, COARSE, 1, 0.0127, 0.0127)
        out += found.verdict == Verdict.STOP
        true_out += found.verdict == Verdict.STOP and not inside
        called_in += found.verdict == Verdict.GO
        true_in += found.verdict == Verdict.GO and inside
    assert out > 8 and true_out >= 0.9 * out
    assert called_in == 0 or true_in >= 0.8 * called_in
