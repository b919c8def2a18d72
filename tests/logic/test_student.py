"""Student's t and straight lines, checked against SciPy (scipy.stats.t, norm, linregress) and NIST StRD.

NIST StRD: National Institute of Standards and Technology, Statistical Reference Datasets,
linear regression, data set "Norris" (certified values as published there; typed from memory
of that table, so the test also compares with SciPy on the same numbers).
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic import student


@pytest.mark.parametrize("dof", [0.5, 1, 2, 3, 4.7, 9, 16, 30, 120, 5000])
@pytest.mark.parametrize("t", [-40.0, -3.2, -1.0, -1e-6, 0.0, 0.3, 1.96, 7.0])
def test_distribution_agrees_with_scipy(t, dof):
    assert student.cdf(t, dof) == pytest.approx(stats.t.cdf(t, dof), rel=1e-10, abs=1e-14)


@pytest.mark.parametrize("dof", [1, 2, 3, 7.5, 16, 60, 1000])
@pytest.mark.parametrize("p", [0.0005, 0.025, 0.3, 0.5, 0.84, 0.975, 0.995, 0.9999])
def test_quantile_agrees_with_scipy(p, dof):
    assert student.quantile(p, dof) == pytest.approx(stats.t.ppf(p, dof), rel=1e-9, abs=1e-12)


def test_quantile_in_the_table_of_the_gum():
    # JCGM 100:2008, table G.2: t for 95 % at 1, 5, 10, 20 degrees of freedom
    for dof, t95 in ((1, 12.71), (5, 2.57), (10, 2.23), (20, 2.09)):
        assert student.two_sided(0.95, dof) == pytest.approx(t95, abs=0.005)
    assert student.two_sided(0.95, math.inf) == pytest.approx(1.95996398, abs=1e-8)


@pytest.mark.parametrize("p", [0.0, 1.0, -0.1])
def test_a_probability_outside_its_range_is_refused(p):
    with pytest.raises(ValueError):
        student.quantile(p, 3)


def test_no_degrees_of_freedom_is_refused():
    with pytest.raises(ValueError):
        student.quantile(0.9, 0)
    with pytest.raises(ValueError):
        student.cdf(0.9, -1)


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=12))
@settings(max_examples=50, deadline=None)
def test_sample_agrees_with_numpy(values):
    got = student.sample(values)
    assert got.mean == pytest.approx(np.mean(values), abs=1e-10)
    assert got.spread == pytest.approx(np.std(values, ddof=1), abs=1e-9)


X = [0, 8, 20, 35, 41, 60]
Y = [76.8210, 76.8251, 76.8302, 76.8391, 76.8405, 76.8502]


def test_line_agrees_with_linregress():
    got, ref = student.trend(X, Y), stats.linregress(X, Y)
    assert got.slope == pytest.approx(ref.slope, rel=1e-9)
    assert got.at_zero == pytest.approx(ref.intercept, rel=1e-12)
    assert got.u_slope() == pytest.approx(ref.stderr, rel=1e-6)


def test_prediction_error_agrees_with_the_textbook_matrix():
    a = np.vstack([np.ones(len(X)), X]).T
    _beta, rss, *_ = np.linalg.lstsq(a, np.array(Y), rcond=None)
    s2 = float(rss[0]) / (len(X) - 2)
    new = np.array([1.0, 75.0])
    want = math.sqrt(s2 * (1 + new @ np.linalg.inv(a.T @ a) @ new))
    assert student.trend(X, Y).u_new(75.0) == pytest.approx(want, rel=1e-6)


def test_reach_is_where_the_prediction_band_meets_the_height():
    line = student.trend(X, Y)
    k = student.two_sided(0.95, line.dof)
    low, high = line.reach(76.870, k)
    for x in (low, high):
        assert abs(76.870 - line.at(x)) == pytest.approx(k * line.u_new(x), rel=1e-6)
    assert low < (76.870 - line.at_zero) / line.slope < high


def test_reach_holds_as_often_as_it_says():
    """Many invented runs: the interval for x holds the true x in 95 % of them (exact for Fieller's interval)."""
    rng = np.random.default_rng(5)
    x = np.array([0.0, 10, 20, 30])
    k = student.two_sided(0.95, 2)
    inside = runs = 0
    for _ in range(4000):
        y = 1.0 + 0.5 * x + rng.normal(0, 0.5, 4)
        got = student.trend(list(x), list(y)).reach(1.0 + 0.5 * 45 + rng.normal(0, 0.5), k)
        if got is not None:
            runs += 1
            inside += got[0] <= 45.0 <= got[1]
    assert runs > 3900
    assert inside / runs == pytest.approx(0.95, abs=0.012)


def test_reach_of_a_flat_cloud_is_unknown():
    assert student.trend([0, 1, 2, 3], [1.0, -1.0, 1.2, -0.9]).reach(5.0, 4.3) is None


def test_norris_line():
    """NIST StRD, Norris: slope 1.00211681802045, intercept −0.262323073774029, residual s 0.884796396144373."""
    y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
         448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
         228.9, 668.4, 449.2, 0.2]  # fmt: skip
    x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
         447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
         229.2, 669.1, 448.9, 0.5]  # fmt: skip
    got, ref = student.trend(x, y), stats.linregress(x, y)
    assert got.slope == pytest.approx(ref.slope, rel=1e-12)
    assert got.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert got.at_zero == pytest.approx(-0.262323073774029, rel=1e-10)
    assert got.spread == pytest.approx(0.884796396144373, rel=1e-10)


def test_lines_that_cannot_be_drawn():
    for x, y in (([1], [2]), ([1, 1], [2, 3]), ([1, 2], [1])):
        with pytest.raises(ValueError):
            student.trend(x, y)
    with pytest.raises(ValueError):
        student.sample([])
