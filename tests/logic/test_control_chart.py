"""Control charts against the worked examples of the NIST/SEMATECH e-Handbook of Statistical Methods."""

import random

import pytest

from logic import control_chart as c

#: 6.3.2.4, "EWMA Control Charts": target 50, s = 2.0539, λ = 0.3. The figures are from memory; each of them
#: follows from the others by the handbook's formulas.
READ = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4]
READ += [53.6, 52.1]
AVERAGE = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38]
AVERAGE += [49.92, 50.73, 51.23, 51.94, 51.99]
#: 6.3.2.2, "Individuals Control Charts": mean 50.81, limits 55.8041 and 45.8159 (from memory).
SINGLE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_the_moving_average_of_the_handbook():
    assert c.ewma(READ, 50.0, 0.3) == pytest.approx(AVERAGE, abs=0.006)


def test_its_limits():
    limits = c.ewma_limits(50.0, 2.0539, 0.3)
    assert (limits.low, limits.high) == pytest.approx((47.4115, 52.5884), abs=2e-4)


def test_single_values_of_the_handbook():
    limits = c.moving_range_limits(SINGLE)
    assert (limits.middle, limits.low, limits.high) == pytest.approx((50.81, 45.8159, 55.8041), abs=2e-4)


def test_impossible_series():
    with pytest.raises(ValueError, match="two values"):
        c.moving_range_limits([1.0])
    with pytest.raises(ValueError, match="between 0 and 1"):
        c.ewma([1.0], 0.0, 0.0)
    assert c.chart([1.0] * 5, [1.0] * 5) is None


def test_a_jump_is_one_point_and_its_place():
    values = [0.0, 0.4, -0.3, 0.2, -0.4, 0.1, 0.0, 9.0, 0.2]
    found = c.chart(values, [1.0] * 9)
    assert found.jumps == (7,)
    assert found.base == 5
    assert found.middle == pytest.approx(-0.02)


def test_a_slow_drift_is_dated_to_where_it_began():
    rng = random.Random(4)
    values = [rng.gauss(0.0, 1.0) for _ in range(40)] + [rng.gauss(1.6, 1.0) for _ in range(12)]
    found = c.chart(values, [1.0] * 52)
    assert found.drift_from is not None
    assert 36 <= found.drift_from <= 44
    assert found.first_out >= 40
    assert found.drift == pytest.approx(1.6, abs=0.6)


def test_the_limits_of_a_young_average_are_its_own_spread():
    """Simulated: the standard deviation of the average at its first and fourth point, the middle being uncertain too."""
    rng = random.Random(8)
    gaps = {5: [], 8: []}
    for _ in range(6000):
        found = c.chart([rng.gauss(0.0, 1.0) for _ in range(9)], [1.0] * 9, base=5)
        for i, seen in gaps.items():
            seen.append((found.average[i] - found.middle) * c.K / found.average_reach[i])
    for seen in gaps.values():
        assert (sum(g * g for g in seen) / len(seen)) ** 0.5 == pytest.approx(1.0, abs=0.03)
