"""What finished bores are like: the posterior against NumPy's algebra, and a history against chi-squared."""

import numpy as np
import pytest
from scipy import stats

from logic import bore_prior as b

from .bores_made import priors

PLACES = [
    b.Place(z, axis, off, 0.003)
    for z, axis, off in (
        (12.0, "thrust", 0.004),
        (12.0, "crank", -0.006),
        (60.0, "thrust", 0.001),
        (60.0, "crank", 0.002),
        (110.0, "thrust", -0.003),
        (110.0, "crank", 0.0),
    )
]


def expected(places, shared, made):
    """Mean and covariance of the mixture, with NumPy and SciPy, from the model in the module's own words."""
    off = np.array([p.off_mm for p in places])
    noise = np.diag([p.u_mm**2 for p in places]) + shared**2
    z = [2 * (p.depth_mm - 12.0) / 98.0 - 1 for p in places]
    weights, means, covariances = [], [], []
    for chance, prior in priors(z, [p.axis for p in places], made):
        gain = prior @ np.linalg.inv(prior + noise)
        weights.append(chance * stats.multivariate_normal.pdf(off, np.zeros(6), prior + noise))
        means.append(gain @ off)
        covariances.append((np.eye(6) - gain) @ prior)
    w = np.array(weights) / np.sum(weights)
    mean = w @ np.array(means)
    cov = sum(wi * (c + np.outer(m - mean, m - mean)) for wi, m, c in zip(w, means, covariances, strict=False))
    return mean, cov


@pytest.mark.parametrize("shared", [0.0, 0.004])
def test_posterior_against_numpy(shared):
    parts = b.posterior(PLACES, shared)
    mean = sum(p.weight * np.array(p.mean_mm) for p in parts)
    cov = sum(
        p.weight
        * (
            (root := np.array([list(r) for r in p.root_mm])) @ root.T
            + np.outer(np.array(p.mean_mm) - mean, np.array(p.mean_mm) - mean)
        )
        for p in parts
    )
    m, c = expected(PLACES, shared, b.FINISHING)
    assert mean == pytest.approx(m, abs=2e-5)
    assert np.sqrt(np.diag(cov)) == pytest.approx(np.sqrt(np.diag(c)), rel=0.02)
    assert sum(p.weight for p in parts) == pytest.approx(1.0)


def test_exact_readings_are_what_they_say():
    parts = b.posterior([p._replace(u_mm=0.0) for p in PLACES], 0.0)
    mean = [sum(p.weight * p.mean_mm[i] for p in parts) for i in range(6)]
    assert mean == pytest.approx([p.off_mm for p in PLACES], abs=1e-5)
    with pytest.raises(ValueError):
        b.posterior([], 0.001)


def test_a_history_takes_over_slowly():
    assert b.learned([]) is b.FINISHING
    lucky = b.learned([b.Shape(0.0, 0.0, 0.0, 0.0)] * 2)
    # two perfect bores against six that count as stated: the root of six eighths
    assert lucky.taper_mm == pytest.approx(b.FINISHING.taper_mm * (6 / 8) ** 0.5)
    rng = np.random.default_rng(3)
    many = [b.Shape(*rng.normal(0, (0.02, 0.01, 0.006, 0.008))) for _ in range(400)]
    got = b.learned(many)
    low, high = np.sqrt(stats.chi2.ppf((0.001, 0.999), 400) / 400)
    assert 0.97 * low * 0.01 < got.taper_mm < high * 0.01 and got.source == "own history"
    assert 0.97 * low * 0.02 < got.level_mm < high * 0.02
