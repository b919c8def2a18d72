"""Walls after boring: the relation, the gauge's correction, the verdict and the limits."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from uncertainties import ufloat
from uncertainties.umath import cos, radians

from logic.bore import WornBore
from logic.result import Verdict
from logic.say import Style, say
from logic.wall_gauge import Untried
from logic.walls import (
    Boring,
    Piece,
    WallPlace,
    bore_there,
    calibration,
    chance_of_all,
    check,
    largest_bore_mm,
    polar,
    room,
    wall_after,
)

AROUND = (("front", 0), ("thrust side", 90), ("rear", 180), ("other side", 270))


def places(walls, u=0.1, **more):
    return [
        WallPlace(
            name=n, angle_deg=a, wall_mm=w, u_mm=u, bore_mm=more.get("bore_mm", 76.2), wear_mm=more.get("wear_mm", 0.0)
        )
        for (n, a), w in zip(AROUND, walls, strict=False)
    ]


# -- the relation --------------------------------------------------------------------------
def test_half_the_growth_and_the_shift_are_taken_from_the_wall():
    # by hand: 5.000 - (76.962 - 76.300)/2 - 0.200 cos 60° = 4.569
    place = WallPlace(name="x", angle_deg=30, wall_mm=5.0, u_mm=0.0, bore_mm=76.3)
    got = wall_after(place, Boring(new_mm=76.962, shift_mm=0.2, shift_deg=90))
    assert got.after.value == pytest.approx(4.569, abs=1e-12)
    assert got.toward_mm == pytest.approx(0.1, abs=1e-12)


def test_a_shift_whose_side_was_not_recorded_counts_against_both_thrust_sides_and_not_along_the_crank():
    boring = Boring(new_mm=76.962, either_way_mm=0.2)
    toward = [boring.toward(a) for a in (0, 90, 180, 270)]
    assert toward == pytest.approx([0, 0.2, 0, 0.2], abs=1e-12)
    assert boring.toward(45) == pytest.approx(0.2 * math.sqrt(0.5))


def test_geometry_against_distances_worked_out_in_the_plane():
    # Independent of the relation: distance from the new circle to a far wall point.
    # Small shift, so the radial distance and the relation agree to second order.
    wall, old, new, shift, toward, at = 5.0, 38.1, 38.481, 0.15, 70.0, 20.0
    centre = shift * np.array([math.cos(math.radians(toward)), math.sin(math.radians(toward))])
    outer = (old + wall) * np.array([math.cos(math.radians(at)), math.sin(math.radians(at))])
    true = np.hypot(*(outer - centre)) - new
    got = wall_after(
        WallPlace(name="x", angle_deg=at, wall_mm=wall, u_mm=0, bore_mm=2 * old),
        Boring(new_mm=2 * new, shift_mm=shift, shift_deg=toward),
    )
    assert got.after.value == pytest.approx(true, abs=shift**2 / (2 * old))


def test_uncertainty_against_the_uncertainties_package():
    place = WallPlace(name="x", angle_deg=40, wall_mm=4.8, u_mm=0.11, bore_mm=76.35, u_bore_mm=0.006, wear_mm=0.3)
    boring = Boring(
        new_mm=76.962,
        u_new_mm=0.007,
        shift_mm=0.1,
        shift_deg=10,
        u_shift_mm=0.02,
        lean_mm=0.08,
        lean_deg=100,
        u_lean_mm=0.03,
    )
    lean = 0.08 * math.cos(math.radians(60))
    wear = ufloat(0.0, 0.3 / 2 / math.sqrt(3))  # rectangular: anywhere from all there to all opposite
    expected = (
        ufloat(4.8, 0.11)
        - (ufloat(76.962, 0.007) - ufloat(76.35, 0.006)) / 2
        + wear
        - (ufloat(0.1, 0.02) * cos(radians(30)) + ufloat(0, 0.02) * math.sin(math.radians(30)))
        - ufloat(lean / 2, lean / 2 / math.sqrt(3))
        - ufloat(0.0, 0.03) / 2
    )
    got = wall_after(place, boring)
    assert got.after.value == pytest.approx(expected.n, abs=1e-12)
    assert got.after.u == pytest.approx(expected.s, rel=1e-9)


# -- the gauge -------------------------------------------------------------------------------
def test_one_known_piece_scales_and_gives_the_speed_of_sound():
    # A gauge set for steel (5920 m/s) shows 7.80 on 6.00 mm of iron: 5920 × 6.00/7.80 = 4554 m/s.
    c = calibration([Piece(6.0, 7.8)], set_speed_m_s=5920)
    assert c.scale == pytest.approx(6 / 7.8)
    assert c.figure("speed").value == pytest.approx(4553.846, abs=1e-3)
    assert c.correct(6.5).value == pytest.approx(5.0)
    assert c.verdict == Verdict.GO


def test_one_piece_uncertainty_against_the_uncertainties_package():
    c = calibration([Piece(6.0, 7.8, 0.01, 0.04)], u_gauge_zero_mm=0.06)
    known, shown, zero, read = ufloat(6, 0.01), ufloat(7.8, 0.04), ufloat(0, 0.06), ufloat(5.2, 0.07)
    expected = known * (read - zero) / (shown - zero)
    got = c.correct(5.2, 0.07)
    assert got.value == pytest.approx(expected.n)
    assert got.u == pytest.approx(expected.s, rel=1e-9)


def test_two_pieces_against_the_uncertainties_package():
    c = calibration([Piece(4.0, 5.1, 0.01, 0.05), Piece(8.0, 10.3, 0.02, 0.04)])
    # both shown values carry their own error; slope uncertainty from the spread of each
    k1, k2, s1, s2, r = ufloat(4, 0.01), ufloat(8, 0.02), ufloat(5.1, 0.05), ufloat(10.3, 0.04), ufloat(6.4, 0.06)
    expected = k1 + (k2 - k1) / (s2 - s1) * (r - s1)
    got = c.correct(6.4, 0.06)
    assert got.value == pytest.approx(expected.n)
    assert got.u == pytest.approx(expected.s, rel=1e-9)


def test_more_pieces_against_scipy_line():
    data = [(3.0, 3.9), (5.0, 6.35), (7.0, 9.05), (9.0, 11.6)]
    c = calibration([Piece(k, s) for k, s in data])
    fit = stats.linregress([s for _, s in data], [k for k, _ in data])
    assert (c.scale, c.zero_mm) == pytest.approx((fit.slope, fit.intercept))


def test_like_pieces_set_the_scale_alone_and_contradictions_set_nothing():
    alike = calibration([Piece(4.0, 5.1), Piece(4.1, 5.2)])
    assert (alike.scale, alike.zero_mm) == (pytest.approx(4.05 / 5.15), 0.0)
    assert alike.verdict == Verdict.MAYBE
    crossed = calibration([Piece(4.0, 8.0), Piece(8.0, 4.0)])
    assert crossed.scale == Untried().scale and crossed.verdict == Verdict.MAYBE
    assert crossed.correct(5.0, 0.0).u == pytest.approx(5 * Untried().relative_u)


def test_untried_gauge_says_so():
    c = calibration([])
    assert c.verdict == Verdict.MAYBE
    assert "59" in say(c.line) and "100" in say(c.line)  # 3500/5920: soft cast iron on a gauge set for steel
    assert calibration([Piece(5, 5)]).correct(5, 0.05).u < c.correct(5, 0.05).u


def test_a_gauge_not_tried_on_this_iron_never_passes_a_wall_that_a_soft_iron_would_not_have():
    """Sound velocities as published for thickness gauges: cast iron 3500 (soft) to 5600 m/s (hard), steel 5890 to 5930."""
    minimum, shown = 3.0, 4.6
    bore = 76.2
    for speed in (3500.0, 4000.0, 4600.0):  # the truth: half a wall less than shown at worst
        true = shown * speed / 5920
        got = calibration([]).correct(shown, 0.05)
        place = WallPlace(name="left", angle_deg=90, wall_mm=got.value, u_mm=got.u, bore_mm=bore, minimum_mm=minimum)
        found = check(1, [place], Boring(new_mm=bore + 0.5))
        assert true - 0.25 >= minimum or found.verdict != Verdict.GO
        assert (
            got.value <= shown and got.value - 1.75 * got.u <= shown * 3500 / 5920 + 0.05
        )  # rectangular: reaches its end
    told = calibration([], set_speed_m_s=4600)  # set for iron: as likely too thin as too thick
    assert told.scale == pytest.approx((3500 + 5600) / 2 / 4600)
    light = calibration([], material="aluminium_block")
    assert 0.98 < light.scale <= 1.0 and light.correct(5.0, 0.0).u == pytest.approx(0.15)


# -- the verdict -----------------------------------------------------------------------------
def test_go_stop_and_too_close_to_call():
    boring = Boring(new_mm=76.962)  # +0.030 in on 3.000: half is 0.381
    assert check(1, places((5, 4.2, 5, 6)), boring).verdict == Verdict.GO
    assert check(1, places((5, 3.1, 5, 6)), boring).verdict == Verdict.STOP
    close = check(1, places((5, 3.4, 5, 6)), boring)
    assert close.verdict == Verdict.MAYBE
    assert close.least.name == "thrust side"
    assert close.value.value == pytest.approx(3.019)
    # one place: chance by hand, u = sqrt(0.1² + 0.0025² + 0.0025² + 0.025²) = 0.10314
    assert close.least.chance == pytest.approx(stats.norm.cdf(0.019 / 0.103138), abs=1e-5)


def test_least_is_the_place_with_least_in_hand_not_the_thinnest():
    thick_but_wanted = WallPlace(name="thrust side", angle_deg=90, wall_mm=5.0, u_mm=0.1, bore_mm=76.2, minimum_mm=4.5)
    thin = WallPlace(name="front", angle_deg=0, wall_mm=4.4, u_mm=0.1, bore_mm=76.2, minimum_mm=3.0)
    assert check(1, [thin, thick_but_wanted], Boring(new_mm=76.7)).least.name == "thrust side"


def test_breaking_through_is_said_plainly():
    r = check(3, places((5, 0.3, 5, 6)), Boring(new_mm=77.5))
    assert r.verdict == Verdict.STOP and "break through" in say(r.line)


def test_worst_case_dependence_bounds_a_monte_carlo_with_shared_errors():
    # JCGM 101 by simulation: gauge errors fully shared or independent, the chance that all
    # four walls keep the minimum stays inside the bounds the verdict uses.
    boring = Boring(new_mm=76.962, u_shift_mm=0.0, u_new_mm=0.0)
    four = places((3.6, 3.55, 3.7, 3.65))
    after = np.array([wall_after(p, boring).after.value for p in four])
    us = np.array([wall_after(p, boring).after.u for p in four])
    chances = [wall_after(p, boring).chance for p in four]
    rng = np.random.default_rng(7)
    alone = ((after + us * rng.standard_normal((200_000, 4))) >= 3.0).all(axis=1).mean()
    shared = ((after + us * rng.standard_normal((200_000, 1))) >= 3.0).all(axis=1).mean()
    low, high = 1 - sum(1 - c for c in chances), min(chances)
    assert low - 0.003 <= alone <= shared <= high + 0.003
    assert shared == pytest.approx(high, abs=0.003)


def test_largest_bore_against_a_scipy_root():
    four, boring = places((4.6, 4.3, 4.9, 5.2), wear_mm=0.2), Boring(new_mm=76.7, shift_mm=0.05, shift_deg=90)

    def short(d):
        moved = Boring(new_mm=d, shift_mm=0.05, shift_deg=90)
        return sum(1 - wall_after(p, moved).chance for p in four) - 0.05

    assert largest_bore_mm(four, boring) == pytest.approx(optimize.brentq(short, 70, 90, xtol=1e-9), abs=2e-6)


def test_largest_bore_is_where_the_verdict_turns():
    four = places((4.6, 4.3, 4.9, 5.2))
    largest = largest_bore_mm(four, Boring(new_mm=76.7))
    assert check(1, four, Boring(new_mm=largest - 0.001)).verdict == Verdict.GO
    assert check(1, four, Boring(new_mm=largest + 0.001)).verdict != Verdict.GO


@pytest.mark.parametrize("wall", [1e12, 1e20, 1e100])
def test_a_wall_that_cannot_be_ends_the_search_all_the_same(wall):
    assert largest_bore_mm(places((wall,) * 4, u=wall / 50), Boring(new_mm=76.7)) > 1e9


def test_unmeasured_side_is_pointed_out():
    r = check(1, places((5, 5, 5, 5))[:2], Boring(new_mm=76.9))
    assert any("No wall was measured over 270" in say(w) for w in r.why)
    assert not any("No wall was measured" in say(w) for w in check(1, places((5, 5, 5, 5)), Boring(new_mm=76.9)).why)


def test_room_says_the_same_largest_bore_as_the_check():
    four, boring = places((4.6, 4.3, 4.9, 5.2)), Boring(new_mm=76.7)
    r = room(2, four, boring)
    assert r.value.value == check(2, four, boring).largest_mm
    assert r.key == "wall.2" and r.verdict == Verdict.INFO and "thrust side" in say(r.line)


@pytest.mark.parametrize(("front", "left", "deg"), [(1, 0, 0), (0, 1, 90), (-1, 0, 180), (0, -1, 270), (1, 1, 45)])
def test_a_displacement_as_length_and_direction(front, left, deg):
    assert polar(front, left) == pytest.approx((math.hypot(front, left), deg))


def test_the_bore_behind_a_reading_is_that_of_its_axis():
    worn = WornBore(
        cylinder=1, depths_mm=(10.0, 100.0), axes=("thrust", "crank"), d_mm=((76.50, 76.35), (76.22, 76.20)), u_mm=0.003
    )
    assert bore_there(worn, 90) == pytest.approx((76.50, 0.30))
    assert bore_there(worn, 270) == pytest.approx((76.50, 0.30))
    assert bore_there(worn, 180) == pytest.approx((76.35, 0.15))
    assert bore_there(worn, 45) == pytest.approx((76.50, 0.30))
    one_axis = WornBore(cylinder=1, depths_mm=(10.0,), axes=("thrust",), d_mm=((76.4,),), u_mm=0.003)
    assert bore_there(one_axis, 0)[0] == 76.4


def test_influences_add_up():
    r = check(1, places((5, 4.2, 5, 6), wear_mm=0.3), Boring(new_mm=76.962))
    assert sum(i.share for i in r.influences) == pytest.approx(1)
    assert r.influences[0].share == max(i.share for i in r.influences)


def test_bad_numbers_are_refused():
    with pytest.raises(ValueError, match="above zero"):
        WallPlace(name="x", angle_deg=0, wall_mm=0, u_mm=0.1, bore_mm=76)
    with pytest.raises(ValueError, match="zero or more"):
        Boring(new_mm=76, u_shift_mm=-1)
    with pytest.raises(ValueError, match="no wall"):
        check(1, [], Boring(new_mm=76))
    with pytest.raises(ValueError, match="confidence"):
        largest_bore_mm(places((5,)), Boring(new_mm=76), confidence=1.0)
    with pytest.raises(ValueError):
        Piece(float("nan"), 5)


# -- properties ------------------------------------------------------------------------------
walls = st.lists(st.floats(2.5, 9), min_size=1, max_size=4)


@settings(max_examples=60, deadline=None)
@given(walls, st.floats(76.3, 80), st.floats(0.001, 0.3))
def test_a_larger_bore_or_more_doubt_never_helps(ws, new, more):
    base = check(1, places(ws, u=0.1), Boring(new_mm=new))
    bigger = check(1, places(ws, u=0.1), Boring(new_mm=new + more))
    assert all(b.after.value < a.after.value for a, b in zip(base.places, bigger.places, strict=False))
    assert largest_bore_mm(places(ws, u=0.1 + more), Boring(new_mm=new)) <= base.largest_mm + 1e-5


@settings(max_examples=60, deadline=None)
@given(walls, st.floats(76.3, 80), st.floats(0, 0.5), st.floats(0, 360), st.floats(-360, 360))
def test_turning_the_whole_engine_changes_nothing(ws, new, shift, toward, turn):
    def at(t):
        ps = [
            WallPlace(name=n, angle_deg=a + t, wall_mm=w, u_mm=0.1, bore_mm=76.2)
            for (n, a), w in zip(AROUND, ws, strict=False)
        ]
        return check(1, ps, Boring(new_mm=new, shift_mm=shift, shift_deg=toward + t))

    a, b = at(0), at(turn)
    assert a.largest_mm == pytest.approx(b.largest_mm, abs=1e-5)
    assert [p.after.value for p in a.places] == pytest.approx([p.after.value for p in b.places], abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(walls, st.floats(76.3, 80), st.floats(-1e-6, 1e-6))
def test_a_small_change_in_a_wall_makes_a_small_change_in_the_answer(ws, new, eps):
    a = check(1, places(ws), Boring(new_mm=new))
    b = check(1, places([w + eps for w in ws]), Boring(new_mm=new))
    assert abs(a.largest_mm - b.largest_mm) <= 2 * abs(eps) + 3e-6


@settings(max_examples=40, deadline=None)
@given(st.floats(2, 12), st.floats(0.6, 1.4))
def test_a_perfect_gauge_with_a_wrong_speed_is_put_right(true, factor):
    one = calibration([Piece(5.0, 5.0 / factor)])
    two = calibration([Piece(3.0, 3.0 / factor + 0.2), Piece(9.0, 9.0 / factor + 0.2)])
    assert one.correct(true / factor).value == pytest.approx(true)
    assert two.correct(true / factor + 0.2).value == pytest.approx(true)


def test_the_unit_shown_does_not_change_the_answer():
    r = check(2, places((5, 4.2, 5, 6)), Boring(new_mm=76.962))
    assert "3.82\u202fmm" in say(r.line, Style(length="mm"))
    assert "0.150\u202fin" in say(r.line, Style(length="in"))


# -- what the walls share ---------------------------------------------------------------------
@pytest.mark.parametrize("pieces", [0, 1])
def test_the_chance_that_every_wall_is_kept_against_a_monte_carlo_with_one_gauge(pieces):
    """JCGM 101: one speed of sound for all walls, anywhere between its limits, or one piece tried; the rest apart."""
    rng = np.random.default_rng(8)
    n, shown, take = 200_000, np.array([5.2, 5.6, 6.1]), 0.4
    gauge = calibration([Piece(5.0, 6.4)] if pieces else [], set_speed_m_s=4600.0)
    put = []
    for angle, s in zip((0, 90, 180), shown, strict=True):
        read = gauge.correct(s, 0.05)
        put.append(
            WallPlace(name="x", angle_deg=angle, wall_mm=read.value, u_mm=read.u, bore_mm=76.2, states=gauge.states(s))
        )
    if pieces:  # known and shown of the piece, and the gauge's own zero
        zero = rng.normal(0, 0.05, n)
        scale = rng.normal(5.0, 0.01, n) / (rng.normal(6.4, 0.05, n) - zero)
        true = scale[:, None] * (shown - zero[:, None] + rng.normal(0, 0.05, (n, 3)))
    else:
        scale = rng.uniform(3500 / 4600, 5600 / 4600, n)
        true = scale[:, None] * shown + rng.normal(0, 0.05, (n, 3))
    left = true - take - rng.normal(0, 0.025, (n, 3)) - rng.normal(0, 0.005, (n, 3)) / 2
    for minimum in (3.0, 3.4, 3.7):
        walls = [replace(p, minimum_mm=minimum) for p in put]
        found = check(1, walls, Boring(new_mm=76.2 + 2 * take, u_shift_mm=0.025))
        assert chance_of_all(found.places) == pytest.approx((left >= minimum).all(axis=1).mean(), abs=0.02)
    most = largest_bore_mm(put, Boring(new_mm=76.2, u_shift_mm=0.025))
    kept = (true - (most - 76.2) / 2 - rng.normal(0, 0.025, (n, 3)) - rng.normal(0, 0.0025, (n, 3)) >= 3.0).all(axis=1)
    assert kept.mean() == pytest.approx(0.95, abs=0.015)
