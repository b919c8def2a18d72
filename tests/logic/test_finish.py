"""Finish targets and their acceptance. Probabilities against SciPy; limits in the tests are invented."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from logic import finish
from logic.finish import Limits, implied_ra_um
from logic.hone_plan import ra_of_um
from logic.result import Verdict

PLATEAU = {"ra": Limits(0.25, 0.55), "rpk": Limits(0.0, 0.35), "rk": Limits(0.5, 1.2), "rvk": Limits(0.7, 2.0)}


def test_a_good_plateau_passes():
    got = finish.accept({"ra": 0.40, "rpk": 0.25, "rk": 0.8, "rvk": 1.2}, PLATEAU)
    assert got.verdict == Verdict.GO and got.confidence > 0.95


def test_chance_is_the_normal_probability_between_the_limits():
    got = finish.accept({"ra": 0.53}, PLATEAU, u_relative=0.05)
    true = stats.lognorm(0.05, scale=0.53)  # a share of the value is what is uncertain
    assert got.chances["ra"] == pytest.approx(true.cdf(0.55) - true.cdf(0.25), rel=1e-9)
    assert got.verdict == Verdict.MAYBE


@pytest.mark.parametrize(
    ("measured", "word"),
    [
        ({"ra": 0.90}, "Too rough"),
        ({"ra": 0.10}, "Too smooth"),
        ({"rpk": 0.70}, "plateau brush"),
        ({"rvk": 0.40}, "hold oil"),
        ({"rk": 2.0, "ra": 0.4}, "Core too rough"),
    ],
)
def test_what_is_wrong_is_said(measured, word):
    got = finish.accept(measured, PLATEAU)
    assert got.verdict == Verdict.STOP and word in str(got.line)


def test_the_worst_parameter_decides():
    got = finish.accept({"ra": 0.4, "rpk": 0.34, "rk": 0.8, "rvk": 1.2}, PLATEAU)
    assert got.worst == "rpk" and got.verdict == Verdict.MAYBE
    assert "Rpk" in str(got.line)


def test_nothing_measured():
    assert finish.accept({}, PLATEAU) is None
    assert finish.accept({"rk": 0.5}, {"ra": Limits(0.2, 0.6)}) is None


@given(st.floats(0.05, 1.5), st.floats(0.01, 0.2), st.floats(0.01, 0.2))
@settings(max_examples=60, deadline=None)
def test_a_surer_instrument_never_accepts_less_of_what_is_inside(value, a, b):
    small, large = sorted((a, b))
    sure, unsure = (finish.accept({"ra": value}, PLATEAU, u_relative=u).chances["ra"] for u in (small, large))
    if 0.25 <= value <= 0.55:
        assert sure >= unsure - 1e-12
    else:
        assert sure <= 0.5


@pytest.mark.parametrize("face", list(finish.RINGS))
def test_every_ring_face_has_a_whole_table(face):
    ring = finish.RINGS[face]
    assert set(ring.limits) == set(finish.PARAMETERS)
    assert list(ring.grits) == sorted(ring.grits)
    assert finish.target(face).figure("ra_high").value == ring.limits["ra"].high_um
    # the grit that ends the row leaves a roughness the table accepts

    assert ring.limits["ra"].low_um <= ra_of_um(ring.grits[-1]) <= ring.limits["ra"].high_um


def test_impossible_input_is_refused():
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(ValueError):
            finish.accept({"ra": bad}, PLATEAU)
    with pytest.raises(ValueError):
        Limits(0.5, 0.2)
    with pytest.raises(KeyError):
        finish.target("gold")


def test_the_ring_makers_limits_win():
    usual = finish.RINGS["moly"].limits
    got = finish.limits_for("moly", {"ra": (0.3, None), "rpk": (None, 0.2), "rvk": (5.0, 1.0), "rk": (2.0, None)})
    assert got["ra"] == Limits(0.3, usual["ra"].high_um)
    assert got["rpk"] == Limits(0.0, 0.2)
    assert got["rvk"] == usual["rvk"]
    assert got["rk"] == Limits(2.0, math.inf)
    assert finish.limits_for("moly", {"ra": (None, 0.2)})["ra"] == Limits(0.0, 0.2)
    assert finish.limits_for("iron", {}) == dict(finish.RINGS["iron"].limits)


# -- the mean roughness that peaks, core and valleys make ------------------------------------
@pytest.mark.parametrize(
    ("rpk", "rk", "rvk", "mr1", "mr2"),
    [(0.25, 0.8, 1.2, 0.08, 0.8), (0.5, 0.6, 3.0, 0.15, 0.7), (0.1, 2.0, 0.3, 0.05, 0.92)],
)
def test_the_mean_roughness_of_straight_lines_is_the_integral_over_them(rpk, rk, rvk, mr1, mr2):
    """Ra is the mean distance from the mean line (ISO 21920-2:2021): integrated by SciPy over the heights by material ratio."""

    def height(m):
        if m < mr1:
            return rk / 2 + rpk * (1 - m / mr1)
        if m > mr2:
            return -rk / 2 - rvk * (m - mr2) / (1 - mr2)
        return rk / 2 - rk * (m - mr1) / (mr2 - mr1)

    mean, _ = integrate.quad(height, 0, 1, points=[mr1, mr2], limit=200)
    ra, _ = integrate.quad(lambda m: abs(height(m) - mean), 0, 1, points=[mr1, (mr1 + mr2) / 2, mr2], limit=500)
    assert implied_ra_um(rpk, rk, rvk, mr1=mr1, mr2=mr2) == pytest.approx(ra, rel=1e-5)


def test_the_mean_roughness_of_a_gaussian_profile():
    """The construction of ISO 13565-2 on a normal distribution by SciPy: its Ra is the root of 2/π (a textbook figure)."""
    law = stats.norm()
    rk = (
        law.isf(0.3) - law.isf(0.7)
    ) / 0.4  # the secant of the middle 40 %, where the curve is flattest, to 0 and 100 %
    mr1 = law.sf(rk / 2)
    area, _ = integrate.quad(lambda z: (z - rk / 2) * law.pdf(z), rk / 2, 12)
    peak = 2 * area / mr1  # a triangle of the same area over the share of the peaks
    assert implied_ra_um(peak, rk, peak, mr1=mr1, mr2=1 - mr1) == pytest.approx(math.sqrt(2 / math.pi), rel=0.1)
