"""Lines and planes against NIST StRD certified values and numpy.linalg.lstsq.

Source: NIST/ITL Statistical Reference Datasets (StRD), linear regression, datasets
"Norris" (lower difficulty) and "Pontius" (lower difficulty). The data and certified
values were written down from memory and compared with published copies; a wrong digit
in the data would show, since all certified figures must come out.
"""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.plane import fit, line, plane

NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
    556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
    557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip

PONTIUS_X = [150000.0 * k for k in range(1, 21)] * 2
PONTIUS_Y = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]  # fmt: skip


def test_line_nist_norris() -> None:
    f = line(NORRIS_X, NORRIS_Y)
    assert f.slopes[0] == pytest.approx(1.00211681802045, rel=1e-13)
    assert f.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert f.spread == pytest.approx(0.884796396144373, rel=1e-12)
    assert f.spread * math.sqrt(f.shape[0][0]) == pytest.approx(0.429796848199937e-03, rel=1e-12)
    assert f.spread * math.sqrt(f.lever(0.0)) == pytest.approx(0.232818234301152, rel=1e-12)
    assert f.dof == 34


def test_plane_nist_pontius() -> None:
    """Load and load squared serve as the two directions of a plane: nearly parallel, so a hard case."""
    f = plane(PONTIUS_X, [x * x for x in PONTIUS_X], PONTIUS_Y)
    assert f.intercept == pytest.approx(0.673565789473684e-03, rel=1e-9)
    assert f.slopes[0] == pytest.approx(0.732059160401003e-06, rel=1e-12)
    assert f.slopes[1] == pytest.approx(-0.316081871345029e-14, rel=1e-9)
    assert f.spread == pytest.approx(0.205177424076185e-03, rel=1e-10)
    assert f.spread * math.sqrt(f.lever(0.0, 0.0)) == pytest.approx(0.107938612033077e-03, rel=1e-10)
    assert f.spread * math.sqrt(f.shape[0][0]) == pytest.approx(0.157817399981659e-09, rel=1e-10)
    assert f.spread * math.sqrt(f.shape[1][1]) == pytest.approx(0.486652849992036e-16, rel=1e-10)


def test_three_points_fit_exactly() -> None:
    f = plane([0, 400, 0], [0, 0, 150], [230.0, 230.2, 229.97])
    assert f.slopes == pytest.approx((0.2 / 400, -0.03 / 150), rel=1e-12)
    assert f.at(400, 150) == pytest.approx(230.17)
    assert f.residuals == pytest.approx((0, 0, 0), abs=1e-13)
    assert (f.dof, f.spread) == (0, None)


def test_bad_layouts() -> None:
    with pytest.raises(ValueError, match="one line"):
        plane([0, 100, 200], [0, 50, 100], [1, 2, 3])
    with pytest.raises(ValueError, match="one line"):
        line([5, 5, 5], [1, 2, 3])
    with pytest.raises(ValueError, match="too few"):
        plane([0, 1], [0, 1], [0, 1])
    with pytest.raises(ValueError, match="as long"):
        line([0, 1], [0, 1, 2])
    with pytest.raises(ValueError, match="finite"):
        line([0, math.nan], [0, 1])


@settings(max_examples=60, deadline=None)
@given(st.integers(4, 14), st.integers(0, 10**6), st.floats(-5e-3, 5e-3), st.floats(-5e-3, 5e-3), st.floats(0, 400))
def test_agrees_with_numpy(n, seed, sx, sy, height) -> None:
    rng = Random(seed)
    x = [rng.uniform(0, 500) for _ in range(n)]
    y = [rng.uniform(-100, 100) for _ in range(n)]
    bow = [(a - 250) ** 2 for a in x]
    h = [height + sx * a + sy * b + rng.gauss(0, 0.02) for a, b in zip(x, y, strict=False)]
    for columns in ([x], [x, y]) + (([x, y, bow],) if n > 5 else ()):
        f = fit(columns, h)
        design = np.column_stack([np.ones(n), *(np.array(c) - np.mean(c) for c in columns)])
        scale = np.linalg.norm(design, axis=0)
        solution = np.linalg.lstsq(design / scale, np.array(h) - np.mean(h), rcond=None)[0] / scale
        assert f.slopes == pytest.approx(tuple(solution[1:]), rel=1e-6, abs=1e-12)
        covariance = np.linalg.inv((design / scale).T @ (design / scale)) / np.outer(scale, scale)
        assert np.array(f.shape) == pytest.approx(covariance[1:, 1:], rel=1e-6, abs=1e-16)
        assert sum(f.residuals) == pytest.approx(0, abs=1e-10)
