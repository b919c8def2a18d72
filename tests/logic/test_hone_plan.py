"""Hone planning: crosshatch against drawn grooves and Monte Carlo, stroke by geometry, stock split by its rule."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic import hone_plan
from logic.result import Verdict

D, N, S, R = 76.2, 200.0, 100.0, 60.0


def test_worked_example_of_the_crosshatch():
    # 76.2 mm, 200 rev/min, 100 mm stroke, 60 double strokes/min: 2 atan(12000 / 47878)
    assert hone_plan.crosshatch_deg(D, N, S, R) == pytest.approx(28.1, abs=0.05)


def test_crosshatch_of_drawn_grooves():
    """Roll out the path of one grain going down and coming up, and measure the angle where the lines cross."""
    t = 1e-4
    around = math.pi * D * N / 60 * t
    along = S / (60 / R / 2) * t  # one way takes half a double stroke
    down, up = np.array([around, -along]), np.array([around, along])
    cosine = down @ up / (np.linalg.norm(down) * np.linalg.norm(up))
    assert hone_plan.crosshatch_deg(D, N, S, R) == pytest.approx(math.degrees(math.acos(cosine)), rel=1e-6)


@given(st.floats(50, 150), st.floats(60, 500), st.floats(40, 250), st.floats(5, 80))
@settings(max_examples=60, deadline=None)
def test_inverses_give_the_angle_back(d, angle_speed, s, angle):
    assert hone_plan.crosshatch_deg(d, angle_speed, s, hone_plan.rate_for(angle, d, angle_speed, s)) == pytest.approx(
        angle, rel=1e-9
    )
    assert hone_plan.crosshatch_deg(d, hone_plan.spin_for(angle, d, s, 60), s, 60) == pytest.approx(angle, rel=1e-9)


def test_crosshatch_uncertainty_by_monte_carlo():
    """JCGM 101: draw the ratio of the speeds from a normal distribution of 8 %."""
    rng = np.random.default_rng(8)
    got = hone_plan.crosshatch(D, N, S, R)
    draws = [hone_plan.crosshatch_deg(D, N, S, R * (1 + e)) for e in rng.normal(0, 0.08, 20000)]
    assert got.u_deg == pytest.approx(np.std(draws), rel=0.03)
    assert got.angle_deg == pytest.approx(np.mean(draws), abs=0.1)


def test_too_flat_and_too_steep_say_what_to_do():
    flat, steep, good = (hone_plan.crosshatch(D, n, S, R) for n in (400, 90, 200))
    assert flat.verdict == steep.verdict == Verdict.MAYBE and good.verdict == Verdict.GO
    assert "too flat" in str(flat.line) and "too steep" in str(steep.line)
    assert hone_plan.crosshatch_deg(D, 400, S, flat.rate_wanted) == pytest.approx(30)
    assert hone_plan.crosshatch_deg(D, steep.spin_wanted, S, R) == pytest.approx(30)


# -- stock ---------------------------------------------------------------------------


def test_split_keeps_the_last_grits_stock_back():
    got = hone_plan.split(76.924, 77.0, [400, 220])
    assert [s.grit for s in got.steps] == [220, 400]
    # 2 sides × 2 times × 7 × Ra 0.5 µm = 14 µm on diameter
    assert got.steps[1].take_mm == pytest.approx(0.014)
    assert got.steps[0].until_mm == pytest.approx(76.986)
    assert got.steps[-1].until_mm == pytest.approx(77.0)
    assert got.keep_for_finer_mm(220) == pytest.approx(0.014) and got.keep_for_finer_mm(400) == 0
    assert got.keep_for_finer_mm(150) == pytest.approx(0.076)
    assert got.enough and got.verdict == Verdict.GO


@given(st.floats(0.001, 0.3), st.lists(st.sampled_from(sorted(hone_plan.GRITS)), min_size=1, max_size=4, unique=True))
@settings(max_examples=60, deadline=None)
def test_split_always_adds_up(stock, grits):
    got = hone_plan.split(76.9, 76.9 + stock, grits)
    assert sum(s.take_mm for s in got.steps) == pytest.approx(stock, abs=1e-9)
    assert got.steps[-1].until_mm == pytest.approx(76.9 + stock, abs=1e-9)
    assert all(s.take_mm >= 0 for s in got.steps)
    assert got.enough == all(s.take_mm >= s.least_mm - 1e-12 for s in got.steps)


def test_too_little_stock_is_said():
    got = hone_plan.split(76.985, 77.0, [150, 220, 400])
    assert not got.enough and got.verdict == Verdict.MAYBE
    assert hone_plan.split(77.01, 77.0, [220]).verdict == Verdict.STOP


def test_roughness_between_the_rows_falls_steadily():
    values = [hone_plan.ra_of_um(g) for g in range(60, 700, 10)]
    assert values == sorted(values, reverse=True)
    assert hone_plan.ra_of_um(220) == 0.5
    assert 0.4 < hone_plan.ra_of_um(250) < 0.5


# -- stroke --------------------------------------------------------------------------


def test_stroke_carries_the_stones_from_overrun_to_overrun():
    got = hone_plan.stroke(150, 75)
    # top of the stones at −25 (25 out), bottom of the stones at 150 + 25
    assert got.stroke_mm == pytest.approx((150 + 25) - (-25 + 75))
    assert got.lowest_mm == pytest.approx(175)
    assert got.verdict == Verdict.GO


def test_the_web_limits_the_bottom():
    got = hone_plan.stroke(150, 75, clear_below_mm=20, below_stones_mm=5, gap_mm=3)
    assert got.bottom_mm == pytest.approx(12)
    assert got.stroke_mm == pytest.approx(150 + 25 + 12 - 75)
    assert got.verdict == Verdict.MAYBE and any("tight" in str(w) for w in got.why)


def test_a_web_too_near_stops():
    got = hone_plan.stroke(150, 75, clear_below_mm=6, below_stones_mm=8)
    assert got.verdict == Verdict.STOP and got.bottom_mm == pytest.approx(-5)
    assert hone_plan.stroke(60, 200, clear_below_mm=3).verdict == Verdict.STOP


@given(st.floats(80, 220), st.floats(40, 120), st.floats(0, 80), st.floats(0, 20))
@settings(max_examples=60, deadline=None)
def test_nothing_ever_reaches_the_web(bore, stone, clear, below):
    got = hone_plan.stroke(bore, stone, clear_below_mm=clear, below_stones_mm=below)
    assert got.lowest_mm + below <= bore + clear - 3 + 1e-9


def test_checks_stand_clear_of_the_ends():
    assert [hone_plan.check_depth_mm(d, 3, 140) for d in (1, 2, 3)] == pytest.approx([20, 70, 120])
    assert hone_plan.check_depth_mm(1, 1, 140) == 70


@pytest.mark.parametrize(
    "call",
    [
        lambda: hone_plan.crosshatch_deg(0, 1, 1, 1),
        lambda: hone_plan.rate_for(180, 76, 200, 100),
        lambda: hone_plan.split(76, 77, []),
        lambda: hone_plan.split(76, 77, [220, 220]),
        lambda: hone_plan.split(76, 77, [220], times=0),
        lambda: hone_plan.stroke(150, 0),
        lambda: hone_plan.stroke(150, 75, share=1.0),
        lambda: hone_plan.crosshatch(76, 200, 100, 60, wanted_deg=50),
        lambda: hone_plan.ra_of_um(0),
        lambda: hone_plan.check_depth_mm(4, 3, 150),
    ],
)
def test_impossible_input_is_refused(call):
    with pytest.raises(ValueError):
        call()


def test_stones_longer_than_the_bore_are_no_yes():
    """Common practice: half to three quarters of the bore."""
    assert hone_plan.stroke(bore_mm=130.0, stone_mm=75.0).verdict == Verdict.GO
    assert hone_plan.stroke(bore_mm=130.0, stone_mm=120.0).verdict == Verdict.GO
    assert hone_plan.stroke(bore_mm=130.0, stone_mm=200.0).verdict == Verdict.MAYBE
