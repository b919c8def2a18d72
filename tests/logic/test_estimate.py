"""The estimate: sums and spreads against a simulation of the same distributions."""

import numpy as np
import pytest

from logic.estimate import HIGH, LEVEL, LOW, SHARED, TOGETHER, Price, Time, estimate, stated, total
from logic.lasting import duration
from logic.say import L, Qty, figure, say

STEPS = [stated(L("Bores"), 40), stated(L("Boring"), 120), stated(L("Honing"), 90), stated(L("Cleaning"), 45)]


def test_a_stated_time_is_triangular():
    # mean and variance of a triangular distribution: NIST/SEMATECH e-Handbook terms, by NumPy's generator
    drawn = np.random.default_rng(1).triangular(40 * LOW, 40, 40 * HIGH, 400_000)
    assert STEPS[0].mean_min == pytest.approx(drawn.mean(), rel=2e-3)
    assert STEPS[0].sd_min == pytest.approx(drawn.std(), rel=5e-3)
    with pytest.raises(ValueError, match="below zero"):
        stated(L("x"), -1)


def test_the_range_holds_as_often_as_it_says():
    rng = np.random.default_rng(2)
    n = 100_000
    sums = sum(rng.triangular(m * LOW, m, m * HIGH, n) for m in (40, 120, 90, 45))
    sums = sums * (1 + SHARED * rng.standard_normal(n))
    span = total(STEPS)
    inside = np.mean((sums >= span.low) & (sums <= span.high))
    assert inside == pytest.approx(LEVEL, abs=0.01)
    assert span.mean == pytest.approx(sums.mean(), rel=0.01)


def test_times_of_jobs_done_vary_together():
    # three steps of 10, 40 and 20 min spread, correlated, and one that is only stated, by NumPy's generator
    spreads = np.array([10.0, 40.0, 20.0])
    covariance = np.outer(spreads, spreads) * (TOGETHER + (1 - TOGETHER) * np.eye(3))
    rng = np.random.default_rng(3)
    n = 200_000
    known = rng.multivariate_normal([60.0, 200.0, 90.0], covariance, n).sum(axis=1)
    drawn = known + rng.triangular(40 * LOW, 40, 40 * HIGH, n) * (1 + SHARED * rng.standard_normal(n))
    times = [Time(L("x"), m, s, known=True) for m, s in zip((60, 200, 90), spreads, strict=True)]
    span = total([*times, STEPS[0]])
    assert span.high - span.mean == pytest.approx(1.6449 * drawn.std(), rel=0.01)
    assert span.mean == pytest.approx(drawn.mean(), rel=0.01)


def test_price_by_hour_bore_and_parts():
    # a time that is known leaves its own spread only: what a job's steps share is in it already
    exact = [Time(L("Boring"), 120, 18.0, known=True)]
    got = estimate(exact, Price(per_hour=60, per_bore=25, parts=0), 4)
    assert got.figure("price").value == pytest.approx(2 * 60 + 4 * 25)
    assert got.figure("price_high").value - got.figure("price").value == pytest.approx(18 * 1.6449, rel=1e-6)
    assert any("own jobs" in say(a.text) for a in got.assumptions)
    parts = estimate(exact, Price(parts=500), 4)
    assert parts.figure("price_high").value == pytest.approx(500 + 1.6449 * 50)
    with pytest.raises(ValueError, match="step"):
        estimate([], Price(), 1)


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(1, "5 min"), (12, "10 min"), (58, "1 h"), (63, "1 h 5 min"), (118, "2 h"), (312, "5 h"), (317, "5 h 30 min")],
)
def test_the_time_of_work_is_told_as_roughly_as_it_is_known(minutes, said):
    assert figure(duration(minutes)) == said


@pytest.mark.parametrize(
    ("amount", "said"), [(412.37, "410"), (688.12, "690"), (88.6, "89"), (27.4, "27.50"), (1234.0, "1230"), (0.0, "0")]
)
def test_a_price_is_told_without_the_cents_that_nobody_knows(amount, said):
    """Never changed by more than a fortieth of itself."""
    assert figure(Qty(amount, "price")) == said
    assert abs(float(said) - amount) <= 0.025 * amount


def test_without_rates_it_says_no_price():
    got = estimate(STEPS, Price(), 4)
    assert {f.key for f in got.figures} == {"time_low", "time", "time_high"}
    assert got.figure("time").value == pytest.approx(60 * total(STEPS).mean)
