"""Live honing: regression against SciPy, forecasts against simulation (JCGM 101), shape and heat by hand. Data invented."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic import hone_progress, hone_removal
from logic.hone_progress import Check
from logic.result import Verdict

Z = (20.0, 75.0, 130.0)


def check(number, strokes, mean, grit="220", taper=0.0, bulge=0.0):
    sizes = (mean + taper / 2 - bulge / 3, mean + 2 * bulge / 3, mean - taper / 2 - bulge / 3)
    return Check(number, strokes, tuple(zip(Z, sizes, strict=False)), grit)


def log(*rows, grit="220"):
    return [check(i, s, m, grit if i > 1 else "") for i, (s, m) in enumerate(rows, 1)]


RUN = [(0, 76.9240), (10, 76.9342), (15, 76.9489), (15, 76.9660), (8, 76.9735)]


def look(checks, **change):
    return hone_progress.progress(checks, 77.0, **{"band_mm": 0.006, "keep_mm": 0.014, "u_mm": 0.0015, **change})


@pytest.fixture
def steady(monkeypatch):
    """Stones that go on cutting as they did: the interval of the line alone."""
    monkeypatch.setattr(hone_removal, "RATE_KEEPS", 1.0)


def test_removal_agrees_with_linregress():
    got = look(log(*RUN), u_mm=0.0)
    x, y = np.cumsum([r[0] for r in RUN]), [r[1] for r in RUN]
    ref = stats.linregress(x, y)
    assert got.per_stroke_mm == pytest.approx(ref.slope, rel=1e-9)
    assert got.u_per_stroke_mm == pytest.approx(ref.stderr, rel=1e-6)
    assert got.strokes[1] == pytest.approx((76.986 - ref.intercept) / ref.slope - x[-1], rel=1e-6)


def test_the_interval_is_where_the_prediction_band_meets_the_stop(steady):
    got = look(log(*RUN), u_mm=0.0)
    x, y = np.cumsum([r[0] for r in RUN]).astype(float), np.array([r[1] for r in RUN])
    ref = stats.linregress(x, y)
    s = math.sqrt(((y - ref.intercept - ref.slope * x) ** 2).sum() / (len(x) - 2))
    t = stats.t.ppf(0.975, len(x) - 2)
    for left in (got.strokes[0], got.strokes[2]):
        at = x[-1] + left
        band = t * s * math.sqrt(1 + 1 / len(x) + (at - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
        assert abs(76.986 - ref.intercept - ref.slope * at) == pytest.approx(band, rel=1e-6)


@pytest.mark.parametrize(("u", "low", "high"), [(0.0, 0.94, 0.96), (0.0015, 0.95, 0.98)])
def test_strokes_left_hold_nineteen_times_in_twenty(steady, u, low, high):
    """Simulated honing: the true number of strokes lies in the interval, from the line alone in 95 % of runs.

    With the gauge's repeatability known to a quarter only, in somewhat more.
    """
    rng = np.random.default_rng(12)
    inside = runs = 0
    for _ in range(2500):
        rate = 0.0011
        x = np.array([0, 10, 25, 40])
        y = 76.924 + rate * x + rng.normal(0, 0.0015 / math.sqrt(3), 4)
        got = look(
            [check(i + 1, s, m, "220" if i else "") for i, (s, m) in enumerate(zip((0, 10, 15, 15), y, strict=False))],
            u_mm=u,
        )
        true_left = (76.986 + rng.normal(0, 0.0015 / math.sqrt(3)) - 76.924) / rate - 40
        if got.strokes:
            runs += 1
            inside += got.strokes[0] <= true_left <= got.strokes[2]
    assert runs > 2450
    assert low <= inside / runs <= high


def test_interval_against_propagated_distributions(steady):
    """JCGM 101: draw every reading from its distribution (scaled t for the pooled spread), refit, look at 2.5 and 97.5 %."""
    got = look(log(*RUN))
    x, y = np.cumsum([r[0] for r in RUN]).astype(float), np.array([r[1] for r in RUN])
    ref = stats.linregress(x, y)
    own = ((y - ref.intercept - ref.slope * x) ** 2).sum()
    gauge = 0.0015 / math.sqrt(3)
    dof = 3 + hone_progress.GAUGE_DOF
    s = math.sqrt((own + hone_progress.GAUGE_DOF * gauge**2) / dof)
    rng = np.random.default_rng(7)
    m = 200_000
    scale = s * np.sqrt(dof / rng.chisquare(dof, m))
    sxx = ((x - x.mean()) ** 2).sum()
    slope = ref.slope + scale / math.sqrt(sxx) * rng.normal(size=m)
    mean = y.mean() + scale / math.sqrt(len(x)) * rng.normal(size=m)
    left = x.mean() + (76.986 + scale * rng.normal(size=m) - mean) / slope - x[-1]
    low, high = np.percentile(left, [2.5, 97.5])
    assert got.strokes[0] == pytest.approx(low, abs=0.15)
    assert got.strokes[2] == pytest.approx(high, abs=0.15)


def test_stones_that_change_their_bite_are_allowed_for():
    """Simulated honing whose rate rises or falls by up to 40 % (19 in 20) after the last check."""
    rng = np.random.default_rng(13)
    inside = runs = 0
    for _ in range(1500):
        x = np.array([0, 10, 25, 40])
        y = 76.924 + 0.0011 * x + rng.normal(0, 0.0015 / math.sqrt(3), 4)
        got = look(
            [check(i + 1, s, m, "220" if i else "") for i, (s, m) in enumerate(zip((0, 10, 15, 15), y, strict=False))]
        )
        later = 0.0011 * math.exp(rng.normal(0, math.log(1.4) / 1.96))
        true_left = (76.986 - 76.924 - 0.0011 * 40) / later
        if got.strokes:
            runs += 1
            inside += got.strokes[0] <= true_left <= got.strokes[2]
    assert runs > 1450 and 0.94 <= inside / runs <= 0.99


def test_changing_stones_run_over_less_often_by_the_advice(monkeypatch):
    """Bores honed stroke for stroke by the advice with a bite that changes by a fifth from check to check."""

    def over(keeps):
        monkeypatch.setattr(hone_removal, "RATE_KEEPS", keeps)
        rng, above = np.random.default_rng(5), 0
        for _ in range(250):
            rate, true, strokes, checks = rng.uniform(0.0005, 0.0025), 76.924, 0, []
            for n in range(1, 40):
                sizes = tuple((z, true + rng.normal(0, 0.0012)) for z in Z)
                checks.append(Check(n, strokes, sizes, "280" if n > 1 else ""))
                got = look(checks, keep_mm=0.0, u_mm=0.0012)
                if got.verdict in (Verdict.GO, Verdict.STOP) or got.next_strokes == 0:
                    break
                strokes = got.next_strokes
                true += strokes * rate * rng.normal(1, 0.2)
            above += true > 77.006
        return above

    assert over(hone_removal.RATE_KEEPS) <= 0.5 * over(1.0)


def test_honing_by_the_advice_ends_inside_the_band():
    """Follow the advice stroke for stroke in a simulated bore: it ends at size, and never above the band."""
    rng = np.random.default_rng(31)
    above = 0
    for _ in range(150):
        rate, true, strokes, checks = rng.uniform(0.0005, 0.0025), 76.924, 0, []
        for n in range(1, 40):
            checks.append(
                Check(n, strokes, tuple((z, true + rng.normal(0, 0.0012)) for z in Z), "280" if n > 1 else "")
            )
            got = look(checks, keep_mm=0.0, u_mm=0.0012)
            if got.verdict in (Verdict.GO, Verdict.STOP) or got.next_strokes == 0:
                break
            strokes = got.next_strokes
            true += strokes * rate * rng.normal(1, 0.05)
        assert n < 39
        assert true > 77.0 - 0.006 - 0.003
        above += true > 77.006
    assert above == 0


def test_the_last_grits_stock_is_kept_back():
    got = look(log(*RUN, (8, 76.9860)))
    assert got.stop_mm == pytest.approx(76.986)
    assert got.verdict == Verdict.GO and "finer stones" in str(got.line)
    assert got.next_strokes == 0


def test_at_size_close_and_over():
    def done(m, **more):
        return look(log((0, 76.99), (8, m)), keep_mm=0.0, **more)

    assert done(77.000).verdict == Verdict.GO
    assert "At size" in str(done(77.0).line)
    assert done(77.0055).verdict == Verdict.MAYBE
    assert done(77.007).verdict == Verdict.MAYBE and "within the gauge's error" in str(done(77.007).line)
    assert done(77.015).verdict == Verdict.STOP
    assert done(77.0, u_shared_mm=0.004).verdict == Verdict.MAYBE


def test_confidence_at_size_is_the_probability_of_student_t():
    """The gauge's repeatability has eight degrees of freedom, with what is shared those of Welch and Satterthwaite."""
    got = look(log((0, 76.99), (8, 77.003)), keep_mm=0.0, u_shared_mm=0.002)
    u = math.hypot(0.0015 / math.sqrt(3), 0.002)
    law = stats.t(8 * u**4 / (0.0015 / math.sqrt(3)) ** 4)
    assert got.confidence == pytest.approx(law.cdf(3 / 1000 / u) - law.cdf(-9 / 1000 / u), rel=1e-6)


def test_before_anything_is_known():
    assert look([]).picture is None and "measure the bored size" in str(look([]).line)
    one = look(log((0, 76.924)))
    assert one.per_stroke_mm is None and one.strokes is None and one.next_strokes == 10


def test_a_new_grit_starts_its_own_line():
    checks = log(*RUN)
    checks += [check(6, 10, 76.9765, "400"), check(7, 10, 76.9795, "400")]
    got = look(checks, keep_mm=0.0)
    assert got.per_stroke_mm == pytest.approx(0.0003, rel=1e-6)


def test_glazed_stones_are_noticed():
    got = look(log((0, 76.924), (10, 76.934), (10, 76.944), (10, 76.954), (10, 76.956)))
    assert any("glazed" in str(w) for w in got.why)
    assert got.per_stroke_mm == pytest.approx(0.0002, rel=1e-6)
    steady = look(log((0, 76.924), (10, 76.934), (10, 76.944), (10, 76.9525)))
    assert not any("glazed" in str(w) for w in steady.why)


def test_stones_that_take_nothing():
    got = look(log((0, 76.924), (10, 76.9235)))
    assert got.verdict == Verdict.MAYBE and "nothing" in str(got.line)


def test_a_tight_place_is_honed_alone():
    checks = [
        Check(1, 0, ((20, 76.99), (75, 76.99), (130, 76.98))),
        Check(2, 12, ((20, 77.004), (75, 77.004), (130, 76.993)), "400"),
    ]
    got = look(checks, keep_mm=0.0)
    assert "narrowest place" in str(got.line)
    assert got.next_strokes <= 3


def test_the_picture_follows_the_checks():
    got = look(log(*RUN), cylinder=3)
    assert got.picture.checks == tuple(
        (float(x), pytest.approx(r[1])) for x, r in zip(np.cumsum([r[0] for r in RUN]), RUN, strict=False)
    )
    assert got.picture.band_mm == (76.994, 77.006)
    assert got.picture.forecast == got.strokes


@given(st.floats(0.0004, 0.003), st.floats(0.01, 0.06), st.floats(-0.3, 0.3))
@settings(max_examples=40, deadline=None)
def test_sizes_shifted_with_the_target_change_nothing(rate, left, shift):
    rows = [(0, 77.0 - left - 20 * rate), (10, 77.0 - left - 10 * rate), (10, 77.0 - left)]
    a = hone_progress.progress(log(*rows), 77.0, band_mm=0.006)
    b = hone_progress.progress(log(*[(s, m + shift) for s, m in rows]), 77.0 + shift, band_mm=0.006)
    assert a.next_strokes == pytest.approx(b.next_strokes, abs=1)  # a whole number may tip over by rounding
    if a.strokes and b.strokes:
        assert a.strokes == pytest.approx(b.strokes, rel=1e-4, abs=1e-4)


# -- shape --------------------------------------------------------------------------------


def test_taper_waist_and_barrel_are_told_apart():
    top_wide = hone_progress.shape(check(1, 0, 77.0, taper=0.012))
    assert (top_wide.shape, top_wide.dwell) == ("taper", "bottom")
    assert top_wide.taper_mm == pytest.approx(0.012)
    assert hone_progress.shape(check(1, 0, 77.0, taper=-0.012)).dwell == "top"
    waist = hone_progress.shape(check(1, 0, 77.0, bulge=-0.012))
    assert (waist.shape, waist.dwell) == ("waist", "middle") and waist.bulge_mm == pytest.approx(-0.012)
    barrel = hone_progress.shape(check(1, 0, 77.0, bulge=0.012))
    assert (barrel.shape, barrel.dwell) == ("barrel", "ends")
    assert hone_progress.shape(check(1, 0, 77.0)).shape == "straight"
    assert hone_progress.shape(Check(1, 0, ((20.0, 77.0),))) is None


def test_shape_uncertainty_by_monte_carlo():
    """JCGM 101: five depths, unevenly placed, each reading with 1.5 µm."""
    z = np.array([15.0, 40, 60, 100, 140])
    rng = np.random.default_rng(9)
    tapers, bulges = [], []
    for _ in range(4000):
        got = hone_progress.shape(Check(1, 0, tuple(zip(z, 77 + rng.normal(0, 0.0015, 5), strict=False))))
        tapers.append(got.taper_mm)
        bulges.append(got.bulge_mm)
    got = hone_progress.shape(Check(1, 0, tuple((float(a), 77.0) for a in z)))
    shown = stats.t.ppf(0.975, 8) / 2  # twice what is shown is the 95 % interval at eight degrees of freedom
    assert got.figure("taper").u == pytest.approx(shown * np.std(tapers), rel=0.04)
    assert got.figure("bulge").u == pytest.approx(shown * np.std(bulges), rel=0.04)


def test_dwell_strokes_take_half_of_the_shape():
    # stones 75 mm in a 125 mm stroke: a place feels them 75/200 of the time, so a short stroke takes 200/75 as much
    got = hone_progress.shape(check(1, 0, 77.0, taper=0.032), per_stroke_mm=0.001, sweep_gain=200 / 75)
    assert got.dwell_strokes == 6
    assert any("Only" in str(w) for w in hone_progress.shape(check(1, 0, 77.0, taper=0.032), left_mm=0.01).why)


# -- heat ------------------------------------------------------------------------------------


def test_warm_bore_by_iso_1():
    # 90 mm of grey iron at 35 °C, α 11e-6: 14.85 µm large (0.58 thou)
    got = hone_progress.heat(90.0, 35.0, 11e-6, settled_c=20.0, band_mm=0.006, per_stroke_mm=0.001)
    assert got.shrink_mm == pytest.approx(0.01485, abs=1e-6)
    assert got.shrink_mm / 0.0254 == pytest.approx(0.58, abs=0.005)
    assert got.verdict == Verdict.MAYBE
    assert got.early_strokes == math.ceil(got.stop_early_mm / 0.001)


def test_doubt_about_the_shrink_by_monte_carlo():
    """JCGM 101: temperature 35 ± hypot(1, 15/4) °C and α (11 ± 0.6) millionths, standard uncertainties."""
    rng = np.random.default_rng(1)
    t = rng.normal(35, math.hypot(1.0, 3.75), 200_000)
    a = rng.normal(11e-6, 0.6e-6, 200_000)
    warm = 90 * (1 + 11e-6 * 15)
    got = hone_progress.heat(90.0, 35.0, 11e-6, settled_c=20.0, band_mm=0.006)
    assert got.stop_early_mm == pytest.approx(2 * np.std(warm / (1 + a * (t - 20))), rel=0.02)


def test_a_block_at_rest_is_cool_enough_whatever_the_weather():
    assert hone_progress.heat(90.0, 31.0, 11e-6, settled_c=31.0, band_mm=0.006).verdict == Verdict.GO
    assert hone_progress.heat(90.0, 5.0, 11e-6, settled_c=5.0, band_mm=0.006).verdict == Verdict.GO


@pytest.mark.parametrize(
    "call",
    [
        lambda: Check(1, 0, ()),
        lambda: Check(1, -1, ((1, 77.0),)),
        lambda: Check(1, 0, ((1, 0.0),)),
        lambda: look([], band_mm=0),
        lambda: look([], keep_mm=-1),
        lambda: hone_progress.heat(90, 35, 11e-6, settled_c=20, band_mm=0),
    ],
)
def test_impossible_input_is_refused(call):
    with pytest.raises(ValueError):
        call()
