"""Boring force, passes, finish and edge life. Sources beside each check; jobs are invented.

Kienzle's law and its constants for grey iron are from memory of the usual cutting
tables; the worked figures are those that follow from k_c1.1 = 1160 N/mm², m = 0.26.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize

from logic import cutting
from logic.result import Verdict


def light(**change):
    args = {"cut_mm": 0.762, "diameter_mm": 76.2, "spin_rpm": 300, "feed_mm": 0.1, "motor_w": 500}
    return cutting.load(**{**args, **change})


def test_worked_example_of_force_and_power():
    # f 0.1 mm, depth 0.381 mm, edge square to the feed, 76.2 mm at 300 rev/min
    got = light()
    assert got.specific_n_mm2 == pytest.approx(2111, abs=0.5)
    assert got.force_n == pytest.approx(80.4, abs=0.05)
    assert got.speed_m_min == pytest.approx(71.8, abs=0.05)
    assert got.tool_w == pytest.approx(96, abs=0.5)
    assert got.motor_w == pytest.approx(96.26 / 0.7, abs=0.1)


def test_kienzle_by_logarithms():
    # log k_c = log k_c1.1 − m log h, so doubling the chip lowers k_c by 2^m
    assert cutting.specific_force(1.0) == pytest.approx(cutting.KC11_GREY_IRON)
    assert cutting.specific_force(0.1) / cutting.specific_force(0.2) == pytest.approx(2**0.26)


def test_thirty_thou_on_diameter_is_workable_with_five_hundred_watts():
    # common practice, no source: 0.030 in on diameter in one pass, about 500 W drives it
    assert light().verdict == Verdict.GO
    assert light(motor_w=200).verdict == Verdict.MAYBE
    assert light(motor_w=150).verdict == Verdict.STOP


def test_straight_edge_is_kienzle_with_the_edge_angle():
    kappa = math.radians(60)
    h, b = 0.1 * math.sin(kappa), 0.4 / math.sin(kappa)
    want = 1160 * h**-0.26 * b * h
    assert cutting.force_n(0.4, 0.1, edge_angle_deg=60) == pytest.approx(want, rel=1e-12)


@pytest.mark.parametrize(("depth", "lead", "nose"), [(0.3, 90, 0.4), (0.9, 75, 0.8), (0.05, 60, 0.8), (1.2, 90, 0.4)])
def test_length_of_edge_in_the_cut_by_integration(depth, lead, nose):
    """The engaged edge: an arc tangent to the wall, then a straight edge at the edge angle, integrated by SciPy."""
    kappa = math.radians(lead)
    top_of_arc = nose * (1 - math.cos(kappa))

    def slope(y):  # dx/dy of the edge at height y above the finished wall
        if y < top_of_arc:
            return (nose - y) / math.sqrt(nose**2 - (nose - y) ** 2)
        return 1 / math.tan(kappa)

    # y = s² takes the infinite slope at the wall out of the integrand
    want, _ = integrate.quad(
        lambda s: math.hypot(1, slope(s * s)) * 2 * s,
        1e-12,
        math.sqrt(depth),
        points=[math.sqrt(min(top_of_arc, depth))],
    )
    assert cutting.edge_length_mm(depth, lead, nose) == pytest.approx(want, rel=1e-6)


def test_a_nose_thins_the_chip_and_raises_the_force():
    assert cutting.force_n(0.1, 0.1, nose_mm=0.4) > cutting.force_n(0.1, 0.1)
    assert cutting.edge_length_mm(0.4, 90, 0.4) == pytest.approx(0.4 * math.pi / 2)


def test_an_offset_bar_cuts_one_side_deeper():
    assert light(offset_mm=0.2).depth_mm == pytest.approx(0.581)
    assert light(offset_mm=0.2).force_n > light().force_n


def test_largest_depth_undoes_force_times_speed():
    depth = cutting.largest_depth_mm(96.2626, 76.2, 300, 0.1)
    assert depth == pytest.approx(0.381, abs=1e-5)
    want = optimize.brentq(
        lambda d: cutting.force_n(d, 0.08, nose_mm=0.8, wear=1.4) * cutting.speed_m_min(90, 250) / 60 - 300, 1e-6, 50
    )
    assert cutting.largest_depth_mm(300, 90, 250, 0.08, nose_mm=0.8, wear=1.4) == pytest.approx(want, rel=1e-8)


def test_speed_is_judged_by_the_edge():
    assert any("suits" in str(w) for w in light(edge="carbide").why)
    assert any("fast" in str(w) for w in light(edge="hss").why)
    assert any("slow" in str(w) for w in light(edge="cbn").why)


def test_a_motor_that_cannot_be_ends_the_search_all_the_same():
    assert cutting.largest_depth_mm(1e300, 76.2, 1e-9, 0.1) > 1e5


def test_the_largest_cut_keeps_the_motor_in_hand():
    cut = cutting.largest_cut_mm(300, 76.2, 300, 0.1, nose_mm=0.4)
    assert light(cut_mm=cut * 0.999, motor_w=300, nose_mm=0.4).verdict == Verdict.GO
    assert light(cut_mm=cut * 1.001, motor_w=300, nose_mm=0.4).verdict == Verdict.MAYBE
    assert cutting.largest_cut_mm(300, 76.2, 300, 0.1, nose_mm=0.4, offset_mm=0.2) == pytest.approx(cut - 0.4)
    assert cutting.largest_cut_mm(300, 76.2, 300, 0.1, offset_mm=9) == 0.001


def test_a_cut_too_light_to_cut_is_refused():
    got = cutting.passes(76.2, 76.9, largest={"tool": 0.76, "set-up": 0.05})
    assert got.verdict == Verdict.STOP and got.passes == () and "rub" in str(got.line)


# -- finish --------------------------------------------------------------------------


def test_worked_example_of_roughness():
    got = cutting.finish(0.1, 0.4)
    assert got.figure("rt").value == pytest.approx(3.13, abs=0.006)
    assert got.figure("ra").value == pytest.approx(0.80, abs=0.003)


@given(st.floats(0.03, 0.25), st.floats(0.4, 1.6))
@settings(max_examples=25, deadline=None)
def test_roughness_of_the_true_arc_by_integration(feed, nose):
    """ISO 21920-2 Ra (mean of |z| about the mean line) of true circular grooves, integrated with SciPy."""

    def arc(x):
        return nose - math.sqrt(nose**2 - x * x)

    mean = integrate.quad(arc, 0, feed / 2, epsabs=1e-13)[0] / (feed / 2)
    cross = math.sqrt(nose**2 - (nose - mean) ** 2)
    ra = integrate.quad(lambda x: abs(arc(x) - mean), 0, feed / 2, points=[cross], epsabs=1e-13)[0] / (feed / 2)
    got = cutting.finish(feed, nose)
    assert got.figure("rt").value == pytest.approx(1000 * arc(feed / 2), rel=0.03)
    assert got.figure("ra").value == pytest.approx(1000 * ra, rel=0.03)


# -- passes ----------------------------------------------------------------------------


def cuts(stock, **largest):
    return [p.cut_mm for p in cutting.passes(76.2, 76.2 + stock, largest=largest or {"tool": 0.762}).passes]


def test_passes_for_an_ordinary_rebore():
    got = cutting.passes(76.2, 76.90, largest={"tool": 0.762, "power": 1.9, "set-up": 0.5})
    assert [p.to_mm for p in got.passes] == pytest.approx([76.65, 76.90])
    assert got.limit == "set-up" and got.largest_mm == 0.5
    assert got.figure("pass1").value == pytest.approx(76.65)


def test_a_stock_of_exactly_whole_cuts_is_not_split_further():
    assert cuts(0.25 + 2 * 0.5, tool=0.5) == pytest.approx([0.5, 0.5, 0.25])


def test_light_work_takes_one_pass():
    assert cuts(0.1) == pytest.approx([0.1])
    assert cuts(0.36) == pytest.approx([0.36])


@given(st.floats(0.011, 4.0), st.floats(0.1, 1.5))
@settings(max_examples=80, deadline=None)
def test_passes_add_up_and_keep_the_limit(stock, top):
    got = cuts(stock, tool=top)
    assert sum(got) == pytest.approx(stock, abs=1e-9)
    assert max(got) <= top + 1e-6
    assert got[-1] <= min(got) + 1e-9  # the last is the lightest
    assert len(got) <= math.ceil(stock / top) + 2


def test_nothing_left_and_too_large():
    def left(present, **more):
        return cutting.passes(present, 76.9, largest={"tool": 0.7}, **more)

    assert left(76.9).verdict == Verdict.GO
    assert left(76.893).verdict == Verdict.GO and left(76.893).passes == ()
    over = left(76.95)
    assert over.verdict == Verdict.STOP and over.passes == ()
    assert left(76.93, finished_mm=76.97).verdict == Verdict.MAYBE
    assert left(76.95, finished_mm=76.97).verdict == Verdict.STOP
    assert left(76.86).verdict == Verdict.MAYBE  # 0.04 mm is more rubbing than cutting


# -- time and edge ------------------------------------------------------------------------


def test_time_is_travel_over_feed():
    # 150 mm + 10 mm at 0.1 mm/rev and 300 rev/min: 1600 / 300 min
    assert cutting.bore_time_s(150, 0.1, 300) == pytest.approx(320)
    got = cutting.time([2, 2, 1, 0], 150, 0.1, 300, setting_s=200)
    assert got.value.value == pytest.approx(5 * 520)
    assert got.figure("bore").value == pytest.approx(2 * 520)


def test_length_of_cut_is_the_helix():
    z = np.linspace(0, 150, 2_000_001)
    angle = 2 * math.pi * z / 0.25
    xyz = np.stack([38.1 * np.cos(angle), 38.1 * np.sin(angle), z])
    want = np.sqrt((np.diff(xyz, axis=1) ** 2).sum(axis=0)).sum() / 1000
    assert cutting.cutting_length_m(76.2, 150, 0.25) == pytest.approx(want, rel=1e-5)


def test_the_edge_counter_starts_again_when_indexed():
    got = cutting.edge_use([(359, False), (359, False), (359, True)], 359, life_m=1500)
    assert got.used_m == 359 and got.passes == 1 and got.verdict == Verdict.INFO
    due = cutting.edge_use([(359, False)] * 4, 359, life_m=1500)
    assert due.verdict == Verdict.MAYBE and "Index" in str(due.line)
    assert cutting.edge_use([], 359, life_m=100).passes == 0


def test_centre_height_by_geometry():
    got = cutting.centre_height(38.1, 0.5)
    assert got.figure("larger").value == pytest.approx(2 * (math.sqrt(38.1**2 + 0.25) - 38.1), rel=1e-12)
    assert got.value.value == pytest.approx(0.752, abs=0.001)
    assert cutting.centre_height(38.1, 2.0).verdict == Verdict.MAYBE


@pytest.mark.parametrize(
    "call",
    [
        lambda: cutting.speed_m_min(0, 300),
        lambda: cutting.edge_length_mm(0.3, 100),
        lambda: light(efficiency=1.2),
        lambda: light(offset_mm=-0.1),
        lambda: cutting.finish(0.9, 0.4),
        lambda: cutting.passes(76, 77, largest={"tool": -0.5}),
        lambda: cutting.edge_use([], 0, life_m=0),
        lambda: cutting.centre_height(30, 30),
        lambda: cutting.force_n(float("nan"), 0.1),
    ],
)
def test_impossible_input_is_refused(call):
    with pytest.raises(ValueError):
        call()
