"""The cut that depths need which a sweep did not see: least squares and cut-off normals by NumPy and SciPy, the whole by
Monte Carlo (JCGM 101)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from logic.placing import Part
from logic.sweep_readings import Reading, grouped_mm, ring_of
from logic.unswept import Middle, SeenBySweep, greatest_unswept, seen_along, unswept

U, SLOPE, U_SLOPE = 0.005, 1e-4, 2e-4
RINGS = [Middle(40.0, 0.021, 0.10), Middle(65.0, 0.012, 0.05), Middle(118.0, 0.001, 0.0)]
LEFT = (0.0, 1.0)


def test_the_middle_down_the_bore_as_least_squares_have_it() -> None:
    """With the lean as one more equation: NumPy's least squares in c, b and q, every equation divided by its own doubt."""
    v = math.sqrt(U**2 * (0.5 + 2 / 12))
    rows = [[1 / v, r.depth_mm / v, r.wear_mm / v] for r in RINGS] + [[0.0, 1 / U_SLOPE, 0.0]]
    values = [r.x_mm / v for r in RINGS] + [SLOPE / U_SLOPE]
    (c, b, q), *_ = np.linalg.lstsq(np.array(rows), np.array(values), rcond=None)
    covariance = np.linalg.inv(np.array(rows).T @ np.array(rows))
    found = seen_along(RINGS, U, SLOPE, U_SLOPE)
    assert (found.q_mean, found.q_u) == pytest.approx((q, math.sqrt(covariance[2, 2])))
    assert found.middle_mm(14.0, 0.2, found.q_mean) == pytest.approx(c + b * 14.0 + q * 0.2)
    known = np.linalg.inv((np.array(rows).T @ np.array(rows))[:2, :2])  # the share being known
    there = np.array([1.0, 14.0])
    assert found.u_mm(14.0) == pytest.approx(math.sqrt(there @ known @ there))


def test_a_single_ring_says_nothing_of_the_share() -> None:
    found = seen_along(RINGS[:1], U, 0.0, U_SLOPE)
    assert [found.share(p) for p in (0.0, 0.25, 1.0)] == [-0.5, -0.25, 0.5]
    assert found.middle_mm(40.0, 0.10, 0.3) == pytest.approx(0.021)  # whatever the share, it stands where it was seen
    with pytest.raises(ValueError):
        seen_along([], U, 0.0, U_SLOPE)


@pytest.mark.parametrize("mean", [-0.9, 0.0, 0.45, 0.7])
def test_the_share_is_a_normal_cut_off_at_all_on_one_side(mean: float) -> None:
    found = seen_along(RINGS, U, SLOPE, U_SLOPE)._replace(q_mean=mean, q_u=0.15)
    cut = stats.truncnorm((-0.5 - mean) / 0.15, (0.5 - mean) / 0.15, mean, 0.15)
    for level in (0.02, 0.3, 0.5, 0.97):
        assert found.share(level) == pytest.approx(cut.ppf(level), abs=1e-9)


def rings(wear_mm: float, share: float) -> list[object]:
    """Rings at two depths of a bore of 76.2 mm, worn along the thrust axis only, most of it to the left."""
    out = []
    for depth, part in ((55.0, 0.4), (118.0, 0.0)):
        read = []
        for k in range(8):
            y = math.sin(math.pi * k / 4)
            read.append(Reading(depth, 45.0 * k, y * y * (share if y > 0 else 1 - share) * wear_mm * part))
        found = ring_of(depth, grouped_mm(read, outward=True)[depth], 38.1, U)
        assert found is not None
        out.append(found)
    return out


@pytest.mark.parametrize("share", [0.5, 0.8, 1.0])
def test_the_cut_needed_above_the_sweep_against_monte_carlo(share: float) -> None:
    """The law as the head of logic/unswept.py says it, drawn 300,000 times: the chance at the levels that are told."""
    d0, wear, u_d, u_bar = 76.2, 0.2, 0.004, 0.01
    seen = SeenBySweep(rings(wear, share), U, (0.0, 0.02), u_bar, (0.0, 0.0), (U_SLOPE, U_SLOPE))
    places = unswept([(12.0, LEFT, d0 + wear, u_d), (56.0, LEFT, d0 + 0.08, u_d)], d0, seen)
    assert [p.depth_mm for p in places] == [12.0]  # the other was swept
    swept_mm, u_swept, missed = d0 + 0.15, 0.006, (Part(0.5, -0.012, 0.0), Part(0.5, 0.0, 0.012))
    found = greatest_unswept(swept_mm, u_swept, missed, places, (0.0, 0.0))
    assert found is not None

    rng, n = np.random.default_rng(3), 300_000
    law = seen.law(LEFT, d0)
    q = stats.truncnorm.rvs(
        (-0.5 - law.q_mean) / law.q_u, (0.5 - law.q_mean) / law.q_u, law.q_mean, law.q_u, size=n, random_state=rng
    )
    off = law.c + law.b * 12.0 + q * (wear - law.cq - law.bq * 12.0) - 0.02
    off = off + rng.normal(0, math.hypot(law.u_mm(12.0), u_bar), n)
    # the wall that wore more moves with the diameter's error by twice its part of the wear
    need = d0 + wear + 2 * np.abs(off) + (1 + 2 * np.where(off >= 0, q, -q)) * rng.normal(0, u_d, n)
    truth = np.maximum(need, swept_mm + rng.uniform(-0.012, 0.012, n) + rng.normal(0, u_swept, n))
    for level in (0.05, 0.35, 0.65, 0.95):
        x = float(np.quantile(truth, level))
        said = math.fsum(
            p.share
            * float(
                np.mean(
                    [stats.norm.cdf((x - p.low_mm - (p.high_mm - p.low_mm) * k / 40) / found.u_mm) for k in range(41)]
                )
            )
            for p in found.parts
        )
        assert said == pytest.approx(level, abs=0.02)


def test_a_place_far_inside_the_swept_cut_has_no_say() -> None:
    seen = SeenBySweep(rings(0.2, 0.8), U, (0.0, 0.02), 0.01, (0.0, 0.0), (U_SLOPE, U_SLOPE))
    places = unswept([(85.0, LEFT, 76.2, 0.004)], 76.2, seen)
    assert greatest_unswept(76.6, 0.006, (), places, (0.0, 0.0)) is None
