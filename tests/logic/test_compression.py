"""Capacity and compression: worked figures, the uncertainties package, and volumes summed by SciPy."""

import math
from dataclasses import asdict, replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm
from uncertainties import ufloat
from uncertainties.umath import pow as upow

from logic.compression import (
    Doubt,
    Space,
    capacity,
    capacity_cm3,
    compression,
    gasket_cover,
    left_cm3,
    piston_gap,
    ratio,
    ratio_budget,
    worked,
)
from logic.result import Verdict
from logic.say import Style, say

IN = 25.4

# Invented engine: 3.000 x 3.500 in, chamber 38 cm³, gasket 1.2 mm, crown 0.4 mm down with a 4 cm³ dish.
BEFORE = Space(
    bore_mm=3.0 * IN,
    stroke_mm=3.5 * IN,
    chamber_cm3=38.0,
    gasket_bore_mm=78.5,
    gasket_mm=1.2,
    deck_mm=0.4,
    crown_cm3=4.0,
)
AFTER = replace(BEFORE, bore_mm=3.03 * IN, deck_mm=0.3)


def test_capacity_of_a_known_engine():
    # 4 x 3.000 x 3.500 in = 1621.7 cm³; bored +0.020 in, 1643.4
    assert capacity_cm3(3.000 * IN, 3.500 * IN, 4) == pytest.approx(1621.7, abs=0.05)
    assert capacity_cm3(3.020 * IN, 3.500 * IN, 4) == pytest.approx(1643.4, abs=0.05)
    # and in cubic inches by the textbook: 0.7854 x 9 x 3.5 x 4 = 98.96
    assert capacity_cm3(3.0 * IN, 3.5 * IN, 4) / 16.387064 == pytest.approx(98.96, abs=0.005)
    result = capacity(3.000 * IN, [3.020 * IN] * 4, 3.500 * IN)
    assert say(result.line, Style("mm")) == "Capacity goes from 1621.7\u202fcm³ to 1643.4\u202fcm³."
    assert result.figure("change").value == pytest.approx(1643.4 - 1621.7, abs=0.1)
    mixed = capacity(3.000 * IN, [3.020 * IN] * 3 + [3.030 * IN], 3.500 * IN)
    assert mixed.value.value == pytest.approx(1643.4 * 3 / 4 + 0.785398 * 7.6962**2 * 8.89, abs=0.05)
    assert say(capacity(76.2, [76.2], 88.9).line, Style("mm")).startswith("Capacity is 405.4")


def test_volumes_agree_with_integration():
    # the same volumes as solids of revolution, integrated by SciPy
    disc = lambda d, h: quad(lambda z: math.pi * (d / 2) ** 2, 0, h)[0] / 1000  # noqa: E731
    assert capacity_cm3(76.2, 88.9) == pytest.approx(disc(76.2, 88.9), rel=1e-12)
    assert left_cm3(BEFORE) == pytest.approx(38 + disc(78.5, 1.2) + disc(76.2, 0.4) + 4, rel=1e-12)


def test_ratio_by_hand():
    # swept 405.4, left 38 + 5.808 + 1.824 + 4 = 49.632 -> 9.169
    swept = 0.785398 * 76.2**2 * 88.9 / 1000
    left = 38 + 0.785398 * 78.5**2 * 1.2 / 1000 + 0.785398 * 76.2**2 * 0.4 / 1000 + 4
    assert ratio(BEFORE) == pytest.approx((swept + left) / left, rel=1e-6)
    assert ratio(BEFORE) == pytest.approx(9.169, abs=0.001)
    # a dome and a piston standing proud raise it
    assert ratio(replace(BEFORE, crown_cm3=-4.0)) > ratio(BEFORE)
    assert ratio(replace(BEFORE, deck_mm=-0.2)) > ratio(BEFORE)


@settings(max_examples=50)
@given(
    st.floats(50, 130),
    st.floats(50, 150),
    st.floats(15, 120),
    st.floats(0.2, 2.5),
    st.floats(-0.5, 2),
    st.floats(-5, 25),
)
def test_uncertainty_is_what_the_uncertainties_package_says(bore, stroke, chamber, gasket, deck, crown):
    space = Space(
        bore_mm=bore,
        stroke_mm=stroke,
        chamber_cm3=chamber,
        gasket_bore_mm=bore + 2,
        gasket_mm=gasket,
        deck_mm=deck,
        crown_cm3=crown,
    )
    assume(left_cm3(space) > 5)
    doubt = Doubt()
    u = {k: ufloat(v, getattr(doubt, k)) for k, v in asdict(space).items()}
    disc = lambda d, h: math.pi / 4 * upow(d, 2) * h / 1000  # noqa: E731
    left = (
        u["chamber_cm3"] + disc(u["gasket_bore_mm"], u["gasket_mm"]) + disc(u["bore_mm"], u["deck_mm"]) + u["crown_cm3"]
    )
    expect = (disc(u["bore_mm"], u["stroke_mm"]) + left) / left
    budget = ratio_budget(space, doubt)
    assert ratio(space) == pytest.approx(expect.n, rel=1e-12)
    assert budget.u == pytest.approx(expect.s, rel=1e-9)
    assert sum(i.share for i in budget.shares) == pytest.approx(1)


def test_before_and_after_and_where_the_change_came_from():
    result = compression(BEFORE, AFTER, skim_mm=0.1)
    assert result.before == pytest.approx(ratio(BEFORE)) and result.after == pytest.approx(ratio(AFTER))
    said = [say(w) for w in result.why]
    assert f"{ratio(replace(BEFORE, bore_mm=3.03 * IN)):.2f}" in said[0]
    assert f"{ratio(replace(BEFORE, deck_mm=0.3)):.2f}" in said[1]
    # the volume that restores the old ratio does restore it
    assert ratio(replace(AFTER, crown_cm3=AFTER.crown_cm3 + result.restore_cm3)) == pytest.approx(
        ratio(BEFORE), rel=1e-12
    )
    assert ratio(replace(AFTER, gasket_mm=AFTER.gasket_mm + result.restore_gasket_mm)) == pytest.approx(
        ratio(BEFORE), rel=1e-12
    )
    assert [c.key for c in result.cautions] == ["compression_fuel"]
    same = compression(BEFORE, BEFORE)
    assert say(same.line).startswith("Compression stays at 9.17") and not same.why and not same.cautions


def test_the_work_brings_the_piston_nearer_to_the_head():
    after = worked(BEFORE, bore_mm=3.03 * IN, skim_mm=0.1, taller_mm=0.05)
    assert after.deck_mm == pytest.approx(0.25) and after.bore_mm == 3.03 * IN
    assert (after.chamber_cm3, after.gasket_mm, after.gasket_bore_mm, after.crown_cm3) == (38.0, 1.2, 78.5, 4.0)
    changed = worked(BEFORE, bore_mm=77, chamber_cm3=37, gasket_bore_mm=80, gasket_mm=1.5, crown_cm3=6)
    assert (changed.chamber_cm3, changed.gasket_mm, changed.gasket_bore_mm, changed.crown_cm3) == (37, 1.5, 80, 6)
    assert worked(BEFORE, bore_mm=BEFORE.bore_mm) == BEFORE


def test_a_bigger_gasket_lowers_it_and_says_so():
    result = compression(BEFORE, replace(BEFORE, gasket_mm=2.0))
    assert result.after < result.before
    assert result.restore_cm3 < 0 and "Taking" in say(result.why[-1])


def test_a_stated_highest_ratio_makes_a_verdict():
    u = ratio_budget(AFTER, Doubt()).u
    new = ratio(AFTER)
    ok = compression(BEFORE, AFTER, highest=new + 2 * u)
    assert ok.verdict == Verdict.GO and ok.confidence == pytest.approx(norm.cdf(2), abs=1e-9)
    close = compression(BEFORE, AFTER, highest=new + 0.5 * u)
    assert close.verdict == Verdict.MAYBE and close.confidence == pytest.approx(norm.cdf(0.5), abs=1e-9)
    over = compression(BEFORE, AFTER, highest=new - 2 * u)
    assert over.verdict == Verdict.STOP and over.confidence == pytest.approx(norm.cdf(2), abs=1e-9)


def test_sizes_that_leave_no_room_stop_instead_of_dividing_by_nothing():
    impossible = replace(BEFORE, crown_cm3=-60.0)
    with pytest.raises(ValueError, match="no room"):
        ratio(impossible)
    with pytest.raises(ValueError, match="no room"):
        ratio_budget(impossible, Doubt())
    result = compression(BEFORE, impossible)
    assert result.verdict == Verdict.STOP and result.after is None and result.before == pytest.approx(ratio(BEFORE))


def test_piston_to_head():
    # 0.040 in is common practice, no source; 1.2 + 0.3 = 1.5 mm is clear of it
    clear = piston_gap(AFTER)
    assert clear.value.value == pytest.approx(1.5) and clear.verdict == Verdict.GO
    u = math.hypot(0.03, 0.02)
    assert clear.value.u == pytest.approx(u)
    close = piston_gap(replace(AFTER, deck_mm=-0.18))
    assert close.verdict == Verdict.MAYBE and close.confidence == pytest.approx(norm.cdf((1.02 - 1.016) / u), abs=1e-9)
    short = piston_gap(replace(AFTER, deck_mm=-0.5))
    assert short.verdict == Verdict.STOP and short.confidence == pytest.approx(norm.cdf((1.016 - 0.7) / u), abs=1e-9)
    strikes = piston_gap(replace(AFTER, deck_mm=-1.2))
    assert strikes.verdict == Verdict.STOP and "strike" in say(strikes.line)
    assert all("compression_strike" in [c.key for c in r.cautions] for r in (clear, close, short, strikes))


def test_a_gasket_that_hangs_into_the_bore_is_refused():
    assert gasket_cover(3.03 * IN, 78.5).verdict == Verdict.GO
    assert gasket_cover(3.03 * IN, 77.5).verdict == Verdict.MAYBE
    assert gasket_cover(3.10 * IN, 78.5).verdict == Verdict.STOP
    assert gasket_cover(76.0, 78.0).value.value == pytest.approx(1.0)


@settings(max_examples=50)
@given(st.floats(0.0, 1.0), st.floats(0.0, 0.5))
def test_a_deeper_skim_and_a_larger_bore_never_lower_the_ratio(step, skim):
    # with the crown at or below the face, both shrink what is left against what is swept
    assert ratio(replace(BEFORE, deck_mm=0.5 - skim)) >= ratio(replace(BEFORE, deck_mm=0.5)) - 1e-12
    assert ratio(replace(BEFORE, bore_mm=76.2 + step)) >= ratio(BEFORE) - 1e-12


@pytest.mark.parametrize(
    "call",
    [
        lambda: capacity_cm3(0, 1, 1),
        lambda: capacity(76.2, [], 88.9),
        lambda: replace(BEFORE, bore_mm=-1.0),
        lambda: replace(BEFORE, chamber_cm3=-1.0),
        lambda: replace(BEFORE, deck_mm=math.nan),
        lambda: worked(BEFORE, bore_mm=77, skim_mm=-0.1),
        lambda: piston_gap(BEFORE, least_mm=-1),
        lambda: piston_gap(BEFORE, wanted=0.2),
        lambda: gasket_cover(0, 1),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError):
        call()
