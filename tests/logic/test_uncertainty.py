"""Uncertainty: JCGM 100:2008 example H.1, the `uncertainties` package, SciPy, and JCGM 101 Monte Carlo."""

import math

import numpy as np
import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic import student
from logic import uncertainty as u
from logic.say import L
from logic.temperature import bore_at_20

# JCGM 100:2008, example H.1, the 50 mm end gauge: (name, u, degrees of freedom, sensitivity in mm per unit)
END_GAUGE = (
    u.Component(L("standard"), 25e-6, 18, 1.0),
    u.Component(L("difference"), 9.7e-6, 25.6, 1.0),
    u.Component(L("expansion of the standard"), 1.2e-6, math.inf, 0.0),
    u.Component(L("temperature"), 0.41, math.inf, 0.0),
    u.Component(L("difference of expansion"), 0.58e-6, 50, -50.000623 * -0.1),
    u.Component(L("difference of temperature"), 0.029, 2, -50.000623 * 11.5e-6),
)

ONE = {
    "size_mm": 76.9,
    "division_mm": 0.01,
    "repeatability_mm": 0.003,
    "master_u_mm": 0.0015,
    "block_c": 31.0,
    "block_u_c": 1.5,
    "gauge_c": 24.0,
    "alpha_block_per_k": 11e-6,
    "alpha_u_per_k": 0.6e-6,
    "alpha_gauge_per_k": 11.5e-6,
    "gauge_u_c": 1.0,
    "alpha_gauge_u_per_k": 0.5e-6,
}


def test_the_end_gauge_of_the_gum():
    got = u.combine(END_GAUGE)
    # H.1: u_c = 32 nm, ν_eff = 16 (rounded down), t99 = 2.92, U99 = 93 nm
    assert got.u * 1e6 == pytest.approx(32, abs=0.5)
    assert math.floor(got.dof) == 16
    assert u.student.two_sided(0.99, 16) == pytest.approx(2.92, abs=0.005)
    assert got.coverage(0.99) * got.u * 1e6 == pytest.approx(93, abs=1.0)
    assert u.normal_quantile(0.995) == pytest.approx(2.5758293, abs=1e-7)


def test_the_inputs_of_the_end_gauge():
    # H.1.3.2: the pooled standard deviation 13 nm of 25 observations, five taken: 5.8 nm; H.1.3.4: ±2e-6 and ±0.05 rectangular
    assert 13 / math.sqrt(5) == pytest.approx(5.8, abs=0.05)
    assert u.from_limits(2e-6) == pytest.approx(1.2e-6, abs=0.05e-6)
    assert u.from_limits(1e-6) == pytest.approx(0.58e-6, abs=0.003e-6)
    assert u.from_limits(0.05) == pytest.approx(0.029, abs=0.0002)
    assert u.from_limits(0.5, "arcsine") == pytest.approx(0.35, abs=0.005)  # H.1.3.4: Δ of the bath, 0.35 °C
    assert u.from_limits(1.0, "triangular") == pytest.approx(1 / math.sqrt(6))
    assert u.from_resolution(1.0) == pytest.approx(0.29, abs=0.002)  # F.2.2.1: 0.29 δx


def test_shares_add_up_largest_first():
    got = u.combine(END_GAUGE)
    assert sum(i.share for i in got.shares) == pytest.approx(1.0)
    assert str(got.shares[0].name) == "standard"
    assert [i.share for i in got.shares] == sorted((i.share for i in got.shares), reverse=True)


def test_against_the_uncertainties_package():
    ls = uncertainties.ufloat(76.9 * (1 + 11e-6 * 11) / (1 + 11.5e-6 * 4), 0.0015)
    division = ONE["division_mm"] / math.sqrt(12)
    zero = uncertainties.ufloat(0, division)
    r = uncertainties.ufloat(0, division) + uncertainties.ufloat(0, 0.003)
    tb, tg = uncertainties.ufloat(31, 1.5), uncertainties.ufloat(24, 1.0)
    ab, ag = uncertainties.ufloat(11e-6, 0.6e-6), uncertainties.ufloat(11.5e-6, 0.5e-6)
    d20 = (ls * (1 + ag * (tg - 20)) + zero + r) / (1 + ab * (tb - 20))
    got = u.reading_budget(**ONE)
    assert d20.nominal_value == pytest.approx(76.9, abs=1e-9)
    assert got.u == pytest.approx(d20.std_dev, rel=1e-6)
    theirs = sorted((e / d20.std_dev) ** 2 for e in d20.error_components().values())
    assert sorted(i.share for i in got.shares) == pytest.approx(theirs, rel=1e-5)


def test_against_monte_carlo():
    """JCGM 101:2008: draw every input and put it through the model."""
    rng = np.random.default_rng(20240131)
    n = 200_000
    d = ONE["division_mm"]
    zero = 76.9 * (1 + 11e-6 * 11) / (1 + 11.5e-6 * 4)
    rounding = rng.uniform(-d / 2, d / 2, (2, n))
    tb, tg = rng.normal(31, 1.5, n), rng.normal(24, 1.0, n)
    ab, ag = rng.normal(11e-6, 0.6e-6, n), rng.normal(11.5e-6, 0.5e-6, n)
    master = zero + rng.normal(0, 0.0015, n)
    full = (master * (1 + ag * (tg - 20)) + rounding.sum(axis=0) + rng.normal(0, 0.003, n)) / (1 + ab * (tb - 20))
    assert bore_at_20(
        zero_mm=zero, deviation_mm=0.0, block_c=31.0, alpha_block_per_k=11e-6, master_c=24.0, alpha_master_per_k=11.5e-6
    ) == pytest.approx(76.9)
    got = u.reading_budget(**ONE)
    assert np.mean(full) == pytest.approx(76.9, abs=2e-5)
    assert np.std(full) == pytest.approx(got.u, rel=0.01)
    # the 95 % interval of the draws against k = t(0.975, ∞): JCGM 101, 8.1, within a tenth of the last digit that matters
    low, high = np.quantile(full, [0.025, 0.975])
    assert (high - low) / 2 == pytest.approx(got.coverage(0.95) * got.u, rel=0.02)


def test_what_is_shared_does_not_average_out():
    one = u.reading_budget(**ONE)
    assert math.hypot(one.u_own, one.u_shared) == pytest.approx(one.u, rel=1e-12)
    # the division comes back at the same place however often it is read: d/√12 stays
    stretch = 1.0 + ONE["alpha_block_per_k"] * (ONE["block_c"] - 20.0)
    assert one.u_fixed == pytest.approx(ONE["division_mm"] / math.sqrt(12.0) / stretch)
    assert math.hypot(one.u_fixed, one.u_repeat) == pytest.approx(one.u_own, rel=1e-12)
    assert one.u_repeat == pytest.approx(ONE["repeatability_mm"] / stretch)


def test_few_repeats_widen_the_coverage():
    sure = u.reading_budget(**ONE)
    few = u.reading_budget(**{**ONE, "repeatability_dof": 2})
    assert sure.dof == math.inf and few.dof < 200
    assert few.u == sure.u and few.coverage() > sure.coverage()
    assert sure.coverage(0.95) == pytest.approx(1.959964, abs=1e-6)


def test_repeated_readings():
    # JCGM 100:2008, 4.4.3 and table 1: twenty temperatures, mean 100.14 °C (100.145), s 1.49, u 0.33
    values = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72]  # fmt: skip
    got = student.sample(values)
    assert got.n == 20 and got.dof == 19
    assert got.mean == pytest.approx(100.145, abs=0.0005)
    assert got.spread == pytest.approx(1.489, abs=0.001)
    assert got.spread / math.sqrt(got.n) == pytest.approx(0.333, abs=0.0005)


@pytest.mark.parametrize("z", [-37.0, -9.0, -3.0, -0.5, 0.0, 0.1, 2.0, 6.0])
def test_normal_distribution_agrees_with_scipy(z):
    assert u.normal_cdf(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12, abs=1e-320)


@pytest.mark.parametrize("p", [1e-12, 1e-4, 0.025, 0.5, 0.8, 0.975, 1 - 1e-9])
def test_normal_quantile_agrees_with_scipy(p):
    assert u.normal_quantile(p) == pytest.approx(stats.norm.ppf(p), rel=1e-11, abs=1e-12)


@settings(max_examples=150, deadline=None)
@given(
    value=st.floats(-5, 5),
    s=st.floats(0.01, 5),
    lower=st.floats(-6, 6),
    width=st.floats(0, 8),
    dof=st.sampled_from([1.0, 3.7, 20.0, math.inf]),
)
def test_chance_between_agrees_with_scipy(value, s, lower, width, dof):
    upper = lower + width
    d = stats.norm if math.isinf(dof) else stats.t(dof)
    expected = d.cdf((upper - value) / s) - d.cdf((lower - value) / s)
    # SciPy itself is off by some 2e-9 for one degree of freedom beside the middle
    assert u.chance_between(value, s, lower, upper, dof) == pytest.approx(expected, abs=1e-8)
    assert u.chance_between(value, s, dof=dof) == 1.0


def test_chance_between_at_its_edges():
    assert u.chance_between(1.0, 0.0, 0.0, 2.0) == 1.0
    assert u.chance_between(3.0, 0.0, 0.0, 2.0) == 0.0
    assert u.chance_between(0.0, 1.0, 8.0, math.inf) == pytest.approx(stats.norm.sf(8.0), rel=1e-10)
    for bad in ((0.0, -1.0, 0.0, 1.0), (0.0, 1.0, 2.0, 1.0), (math.nan, 1.0, 0.0, 1.0)):
        with pytest.raises(ValueError):
            u.chance_between(*bad)


@settings(max_examples=100, deadline=None)
@given(
    us=st.lists(st.tuples(st.floats(1e-9, 10), st.floats(1, 1000)), min_size=1, max_size=8), scale=st.floats(1e-6, 1e6)
)
def test_combining(us, scale):
    got = u.combine(u.Component(L("x"), s, dof) for s, dof in us)
    assert max(s for s, _ in us) * (1 - 1e-12) <= got.u <= sum(s for s, _ in us) * (1 + 1e-12)
    # Welch–Satterthwaite lies between the smallest degrees of freedom and their sum (JCGM 100, G.4.1, note 1)
    assert min(d for _, d in us) * (1 - 1e-9) <= got.dof <= sum(d for _, d in us) * (1 + 1e-9)
    scaled = u.combine(u.Component(L("x"), s, dof, scale) for s, dof in us)
    assert scaled.u == pytest.approx(got.u * scale, rel=1e-9) and scaled.dof == pytest.approx(got.dof, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    which=st.sampled_from(
        ["division_mm", "repeatability_mm", "master_u_mm", "block_u_c", "alpha_u_per_k", "gauge_u_c"]
    ),
    factor=st.floats(0, 1),
)
def test_a_better_input_never_makes_a_reading_worse(which, factor):
    assert u.reading_budget(**{**ONE, which: ONE[which] * factor}).u <= u.reading_budget(**ONE).u * (1 + 1e-12)


def test_nothing_to_doubt():
    empty = u.combine(())
    assert empty.u == 0 and empty.dof == math.inf and empty.shares == ()


def test_nonsense_is_refused():
    for bad in ({"u": -1.0}, {"u": math.nan}, {"u": 1.0, "dof": 0.0}, {"u": 1.0, "sensitivity": math.inf}):
        with pytest.raises(ValueError):
            u.Component(L("x"), **bad)
    for call in (
        lambda: u.from_limits(1.0, "round"),
        lambda: u.from_limits(-1.0),
        lambda: u.from_resolution(-1.0),
        lambda: u.normal_quantile(0.0),
    ):
        with pytest.raises(ValueError):
            call()
    with pytest.raises(ValueError):
        u.reading_budget(**{**ONE, "size_mm": 0.0})
