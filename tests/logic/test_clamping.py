"""Clamping against ISO 898-1 tables, SAE J429, Shigley's relations and a simulation."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic.clamping import (
    GRADES,
    THREADS,
    Stud,
    assumed_grade,
    grade,
    hold,
    preload_n,
    proof_load_n,
    stud,
    stud_thread,
    thread,
    thread_unknown,
)
from logic.explain import meaning
from logic.result import Verdict
from logic.say import say

LBF = 4.4482216152605


# -- published tables ----------------------------------------------------------------------------
@pytest.mark.parametrize(
    # ISO 898-1, proof loads of coarse threads, N (8.8, 10.9, 12.9), rounded by the standard.
    ("key", "e88", "e109", "e129"),
    [
        ("M8", 21_200, 30_400, 35_500),
        ("M10", 33_700, 48_100, 56_300),
        ("M12", 48_900, 70_000, 81_800),
        ("M14", 66_700, 95_500, 112_000),
        ("M16", 91_000, 130_000, 152_000),
        ("M18", 115_000, 159_000, 186_000),
        ("M20", 147_000, 203_000, 238_000),
    ],
)
def test_proof_loads_of_iso_898_1(key, e88, e109, e129):
    got = [proof_load_n(thread(key), grade(g)) for g in ("8.8", "10.9", "12.9")]
    assert got == pytest.approx([e88, e109, e129], rel=0.005)


@pytest.mark.parametrize(
    # Tensile stress areas of unified threads, in² (Shigley, table 8-2).
    ("key", "area"),
    [
        ("5/16-18 UNC", 0.0524),
        ("3/8-16 UNC", 0.0775),
        ("3/8-24 UNF", 0.0878),
        ("7/16-14 UNC", 0.1063),
        ("7/16-20 UNF", 0.1187),
        ("1/2-13 UNC", 0.1419),
        ("1/2-20 UNF", 0.1599),
        ("9/16-12 UNC", 0.182),
        ("5/8-11 UNC", 0.226),
        ("3/4-10 UNC", 0.334),
    ],
)
def test_stress_areas_of_inch_threads(key, area):
    assert thread(key).stress_area_mm2 / 25.4**2 == pytest.approx(area, rel=0.003)


def test_inch_proof_load():
    # SAE J429: grade 5 to 85 ksi, grade 8 to 120 ksi; 1/2-13: 12 060 and 17 030 lbf
    assert proof_load_n(thread("1/2-13 UNC"), grade("grade 5")) / LBF == pytest.approx(85_000 * 0.1419, rel=0.002)
    assert proof_load_n(thread("1/2-13 UNC"), grade("grade 8")) / LBF == pytest.approx(120_000 * 0.1419, rel=0.002)


def test_preload_of_the_textbook_relation():
    # Shigley: T = K F d. 40 N·m on M12 with K = 0.2: 16.7 kN.
    assert preload_n(40, 12, 0.2) == pytest.approx(16_666.7, abs=0.1)
    # and in inches: 50 lbf·ft on 1/2 in, K = 0.2: F = 600/(0.2 × 0.5) = 6000 lbf
    assert preload_n(50 * 12 * LBF * 0.0254, 12.7, 0.2) / LBF == pytest.approx(6000)


def test_thread_and_class_must_belong_together():
    with pytest.raises(ValueError, match="no class"):
        proof_load_n(thread("M12"), grade("grade 5"))
    with pytest.raises(KeyError):
        thread("M13")
    for t in THREADS.values():
        for g in GRADES.values():
            if t.inch == g.inch:
                assert proof_load_n(t, g) > 5_000


def test_an_unmarked_stud_counts_as_a_weak_one():
    for t in THREADS.values():
        weak = proof_load_n(t, assumed_grade(t))
        better = [g for g in GRADES.values() if g.inch == t.inch and proof_load_n(t, g) > weak]
        assert len(better) >= 2


# -- the stud ------------------------------------------------------------------------------------
def m12(torque=40.0, **more):
    return Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=torque, **more)


def test_stud_goes_at_40_and_stops_at_200():
    r = stud(m12(40))
    assert r.verdict == Verdict.GO
    assert r.value.value == pytest.approx(16_666.7, abs=0.1)
    assert r.figure("used").value == pytest.approx(16_666.7 / 48_880, rel=1e-3)
    assert stud(m12(200)).verdict == Verdict.STOP
    assert stud(m12(85)).verdict == Verdict.MAYBE  # 35.4 kN against 36.7 kN allowed


def test_stud_chance_against_scipy_lognormal():
    s = m12(80)
    allowed = 0.75 * proof_load_n(s.thread, s.grade)
    expected = stats.lognorm(s=0.15, scale=s.preload_n).cdf(allowed)
    assert stud(s).confidence == pytest.approx(expected)


def test_advised_torque_is_where_the_verdict_turns():
    most = stud(m12(200)).figure("most_torque").value
    assert stud(m12(most * 0.999)).verdict == Verdict.GO
    assert stud(m12(most * 1.001)).verdict == Verdict.MAYBE


def test_thread_in_iron():
    # 0.875 π × 12 × 18 × 180 N = 106.9 kN against 16.7 kN of preload
    r = stud_thread(m12(), engagement_mm=18)
    assert r.value.value == pytest.approx(0.875 * math.pi * 12 * 18 * 180, rel=1e-4)
    assert r.figure("diameters").value == 1.5
    assert r.verdict == Verdict.GO
    assert stud_thread(m12(), engagement_mm=8).verdict == Verdict.MAYBE  # strong enough, yet under one diameter
    assert stud_thread(m12(120), engagement_mm=6).verdict == Verdict.STOP
    # shear area is less than the outer cylinder of the thread and more than half of it
    assert 0.5 < r.value.value / (math.pi * 12 * 18 * 180) < 1


def test_an_unmeasured_thread_asks_to_be_measured():
    r = thread_unknown(m12())
    assert r.verdict == Verdict.INFO and r.line.values["wanted"].value == 18.0


# -- holding -------------------------------------------------------------------------------------
def test_hold_by_hand():
    # N = 2 × 16.667 kN = 33.33 kN, μN = 5000 N; F = 80 N on 76.2 mm: twist 3.048 N·m;
    # sliding = 1/(80/5000 + 3048/(5000 × 50)) = 35.48; tipping = 33333 × 60/(80 × 130 + 40 × 38.1) = 167.7
    r = hold(m12(), force_n=80, bore_mm=76.2, depth_mm=130)
    assert r.figure("grip").value == pytest.approx(5000, rel=1e-6)
    assert r.figure("twist").value == pytest.approx(3.048)
    assert r.figure("sliding").value == pytest.approx(35.47, abs=0.01)
    assert r.figure("tipping").value == pytest.approx(167.73, abs=0.01)
    assert r.value.value == pytest.approx(35.47, abs=0.01)
    assert r.verdict == Verdict.GO and r.key == "clamp.hold.centred"


def test_hold_offset_by_hand():
    # e = 100 mm: twist 80 × 138.1 = 11.048 N·m; sliding = 1/(0.016 + 11048/250000) = 16.61
    # tipping moment 80 × 130 + 40 × 138.1 = 15.924 N·m → 125.6
    r = hold(m12(), force_n=80, bore_mm=76.2, depth_mm=130, offset_mm=100)
    assert r.figure("sliding").value == pytest.approx(16.61, abs=0.01)
    assert r.figure("overturn").value == pytest.approx(15.924)
    assert r.figure("tipping").value == pytest.approx(125.6, abs=0.05)
    assert r.key == "clamp.hold.offset"


def test_sliding_bound_is_safe_against_the_true_worst_point_of_the_base():
    # Base as a ring of friction spots: at each spot the force needed is the vector sum of its
    # share of the push and of the twist. No spot asks for more than the added uses allow.
    force, r, twist, grip = 80.0, 50.0, 80.0 * 138.1, 5000.0
    a = np.linspace(0, 2 * np.pi, 721)
    push = np.array([force, 0.0])[:, None] * np.ones_like(a)
    turn = twist / r * np.array([-np.sin(a), np.cos(a)])
    worst = np.hypot(*(push + turn)).max() / grip
    got = hold(m12(), force_n=80, bore_mm=76.2, depth_mm=130, offset_mm=100).figure("sliding").value
    assert 1 / got == pytest.approx(worst, rel=1e-4)


def test_hold_says_slide_or_tip():
    weak = m12(0.8)
    assert "slide" in say(hold(weak, force_n=200, bore_mm=90, depth_mm=20).line)
    assert hold(weak, force_n=200, bore_mm=90, depth_mm=20).verdict == Verdict.STOP
    tall = hold(weak, force_n=200, bore_mm=60, depth_mm=400, half_base_mm=10, friction=0.9, grip_radius_mm=400)
    assert "tip" in say(tall.line) and tall.verdict == Verdict.STOP


def test_hold_chance_against_a_simulation():
    s = m12(3.3)
    r = hold(s, force_n=80, bore_mm=76.2, depth_mm=130)
    rng = np.random.default_rng(11)
    n = 200_000
    down = 2 * s.preload_n * np.exp(0.15 * rng.standard_normal(n))
    mu = 0.15 * np.exp(0.2 * rng.standard_normal(n))
    f = 80 * np.exp(0.2 * rng.standard_normal(n))
    held = 1 / (f / (mu * down) + f * 38.1 / (mu * down * 50))
    assert r.confidence == pytest.approx((held >= 2.0).mean(), abs=0.004)
    assert r.verdict == Verdict.MAYBE
    # the torque it asks for does make sure
    surer = hold(m12(r.figure("need").value * 1.0001), force_n=80, bore_mm=76.2, depth_mm=130)
    assert surer.verdict == Verdict.GO


@settings(max_examples=80, deadline=None)
@given(st.floats(5, 120), st.floats(10, 500), st.floats(0, 200), st.floats(40, 150), st.floats(1.01, 3))
def test_more_torque_helps_and_more_force_or_offset_never_does(torque, force, offset, bore, more):
    def factor(torque=torque, force=force, offset=offset):
        r = hold(m12(torque), force_n=force, bore_mm=bore, depth_mm=130, offset_mm=offset)
        return min(r.figure("sliding").value, r.figure("tipping").value)

    base = factor()
    assert factor(torque=torque * more) == pytest.approx(base * more)
    assert factor(force=force * more) == pytest.approx(base / more)
    assert factor(offset=offset + more) <= base


@settings(max_examples=60, deadline=None)
@given(st.floats(5, 150), st.floats(0.1, 0.35), st.floats(0.01, 0.3))
def test_wider_doubt_about_the_factor_lowers_confidence_in_a_true_go(torque, k, doubt):
    sure = stud(Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=torque, nut_factor=k, relative_u=doubt))
    less = stud(Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=torque, nut_factor=k, relative_u=doubt + 0.1))
    if sure.verdict == Verdict.GO:
        assert less.confidence <= sure.confidence or less.verdict != Verdict.GO


def test_bad_numbers_are_refused():
    for bad in (
        lambda: m12(0),
        lambda: m12(40, relative_u=1.0),
        lambda: stud(m12(), share=0),
        lambda: stud_thread(m12(), engagement_mm=0),
        lambda: hold(m12(), force_n=0, bore_mm=76, depth_mm=100),
        lambda: hold(m12(), force_n=80, bore_mm=76, depth_mm=100, studs=0),
        lambda: hold(m12(), force_n=80, bore_mm=76, depth_mm=100, offset_mm=-1),
    ):
        with pytest.raises(ValueError):
            bad()


def test_influences_add_up_and_cautions_are_there():
    r = hold(m12(), force_n=80, bore_mm=76.2, depth_mm=130)
    assert sum(i.share for i in r.influences) == pytest.approx(1)
    assert {"machine_lifting", "stud_torque"} <= {c.key for c in r.cautions}


def test_inch_and_metric_studs_name_their_own_standards():
    metric = {f.key: f for f in stud(Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=40.0)).figures}
    inch = {f.key: f for f in stud(Stud(thread=thread("1/2-13 UNC"), grade=grade("grade 5"), torque_nm=40.0)).figures}
    assert (inch["area"].source, inch["proof"].source) == ("ASME B1.1", "SAE J429, from memory")
    assert "0.9743" in inch["area"].formula
    # the metric ones need no words of their own: they are the usual case
    assert not metric["area"].source and not metric["area"].formula and not metric["proof"].source
    usual = meaning("clamp.stud", "area")
    assert "0.9382" in usual.formula and usual.source == meaning("clamp.stud", "proof").source == "ISO 898-1"
