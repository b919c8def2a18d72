"""Finished size, bored size and clearance.

Outside checks: the ``uncertainties`` package for finished size, bored size and running
clearance; thermal growth worked by hand from ISO 1 and the expansion coefficients in
the handbook's worked lines (a 90 mm aluminium piston at 5 °C reads 1.06 thou small).
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from logic import sizing
from logic.constants import constant
from logic.explain import meaning
from logic.result import Verdict
from logic.say import say

BORE = 76.2 + 0.762


def test_finished_and_bored_size():
    r = sizing.finished(3, piston_mm=76.886, clearance_mm=0.076, hone_stock_mm=0.0762)
    assert r.finished_mm == pytest.approx(76.962, abs=1e-12)
    assert r.bored_mm == pytest.approx(76.8858, abs=1e-12)
    assert say(r.line) == "Cylinder 3: bore to 3.0270\u202fin, hone to 3.0300\u202fin."


def test_uncertainty_of_the_finished_size_against_the_uncertainties_package():
    reading, temp, alpha = ufloat(76.87, 0.002), ufloat(12.0, 1.5), ufloat(20e-6, 1e-6)
    piston = reading / (1 + alpha * (temp - 20))
    expected = piston + ufloat(0.076, 0.004)
    size, budget = sizing.measured_piston(
        76.87, u_reading_mm=0.002, piston_c=12.0, u_piston_c=1.5, alpha_per_k=20e-6, alpha_u_per_k=1e-6
    )
    assert size == pytest.approx(piston.nominal_value, abs=1e-12)
    assert budget.u == pytest.approx(piston.std_dev, rel=1e-6)
    r = sizing.finished(
        1,
        piston_mm=size,
        piston=budget,
        clearance_mm=0.076,
        u_clearance_mm=0.004,
        hone_stock_mm=0.0762,
        u_stock_mm=0.005,
    )
    assert r.finished_mm == pytest.approx(expected.nominal_value, abs=1e-12)
    assert r.u_mm == pytest.approx(expected.std_dev, rel=1e-6)
    assert r.figure("bored").u == pytest.approx((expected - ufloat(0.0762, 0.005)).std_dev, rel=1e-6)


def test_cold_piston_reads_small():
    """90 mm at 5 °C, 20 millionths per kelvin: 1.06 thou small, so it is that much larger at 20 °C."""
    size, _ = sizing.measured_piston(
        90.0 - 0.027, u_reading_mm=0, piston_c=5.0, u_piston_c=0, alpha_per_k=20e-6, alpha_u_per_k=0
    )
    assert (size - (90.0 - 0.027)) / 0.0254 == pytest.approx(1.06, abs=0.005)


def test_running_clearance_against_the_uncertainties_package():
    wall, skirt = ufloat(90, 8.0), ufloat(95, 9.0)
    ab, ap = ufloat(11e-6, 0.6e-6), ufloat(20e-6, 0.9e-6)
    cold = ufloat(0.0, 0.003)
    expected = BORE * (1 + ab * (wall - 20)) - (BORE - 0.09) * (1 + ap * (skirt - 20)) + cold
    r = sizing.running(
        bore_mm=BORE,
        piston_mm=BORE - 0.09,
        wall_c=90,
        skirt_c=95,
        alpha_block_per_k=11e-6,
        alpha_piston_per_k=20e-6,
        u_wall_c=8.0,
        u_skirt_c=9.0,
        alpha_block_u_per_k=0.6e-6,
        alpha_piston_u_per_k=0.9e-6,
    )
    assert r.value.value == pytest.approx(expected.nominal_value, abs=1e-12)
    assert r.value.u == pytest.approx(expected.std_dev, rel=1e-5)
    assert sum(i.share for i in r.influences) == pytest.approx(1.0)
    # by hand: wall grows 76.962 x 11e-6 x 70 = 0.05926, skirt 76.872 x 20e-6 x 75 = 0.11531
    assert r.value.value == pytest.approx(0.09 + 0.05926 - 0.11531, abs=1e-5)


def test_equal_materials_and_temperatures_keep_the_clearance():
    warm = sizing.running_clearance_mm(BORE, BORE - 0.08, 100, 100, 11e-6, 11e-6)
    assert warm == pytest.approx(0.08 * (1 + 11e-6 * 80), abs=1e-12)


def test_verdicts_of_running_clearance():
    kept = {"bore_mm": BORE, "wall_c": 90, "skirt_c": 95, "alpha_block_per_k": 11e-6, "alpha_piston_per_k": 20e-6}
    loose, thin, doubtful, tight = (sizing.running(piston_mm=BORE - c, **kept) for c in (0.12, 0.062, 0.05, 0.02))
    assert (loose.verdict, thin.verdict, doubtful.verdict, tight.verdict) == (
        Verdict.GO,
        Verdict.INFO,
        Verdict.MAYBE,
        Verdict.STOP,
    )
    assert not loose.cautions and thin.cautions and doubtful.cautions and tight.cautions
    assert "tight" in say(tight.line)


def test_default_clearances_are_common_practice_and_stay_clear_when_running():
    """The table's own temperatures never make its own clearances run tight."""
    for alloy in sizing.ALLOYS.values():
        row = constant(f"clearance.{alloy.key}")
        assert row.source == "common practice"
        for duty in sizing.DUTIES:
            for cooling in ("water", "air"):
                c = sizing.default_clearance(BORE, alloy.key, duty, cooling)
                assert c.low_mm < c.mm < c.high_mm
                wall, skirt = sizing.running_temperatures_c(duty, cooling)
                warm = sizing.running_clearance_mm(BORE, BORE - c.mm, wall, skirt, 11e-6, alloy.expansion_per_k)
                assert warm > 0, (alloy.key, duty, cooling, warm)


def test_harder_duty_and_air_cooling_never_ask_for_less():
    for alloy in sizing.ALLOYS:
        road = sizing.default_clearance(BORE, alloy).mm
        assert sizing.default_clearance(BORE, alloy, "race").mm > road
        assert sizing.default_clearance(BORE, alloy, cooling="air").mm > road
    # plain cast skirt, water-cooled road use: a thou for each inch of bore (common practice)
    assert sizing.default_clearance(76.2, "cast").mm / 0.0254 == pytest.approx(3.0)


def test_chance_of_clean_up_shows_in_the_verdict():
    kept = {"piston_mm": 76.886, "clearance_mm": 0.076, "hone_stock_mm": 0.0762}
    assert sizing.finished(1, **kept, chance=0.99).verdict == Verdict.GO
    assert sizing.finished(1, **kept, chance=0.5).verdict == Verdict.MAYBE
    assert sizing.finished(1, **kept, chance=0.01).verdict == Verdict.STOP
    assert sizing.finished(1, **kept).verdict == Verdict.INFO
    assert [c.key for c in sizing.finished(1, **kept, measured=False).cautions] == ["sizes.measure_pistons"]


def test_a_size_nobody_measured_and_a_clearance_nobody_stated_say_so():
    kept = {"piston_mm": 76.886, "clearance_mm": 0.076, "hone_stock_mm": 0.0762}

    def origin(key, **given):
        (f,) = (f for f in sizing.finished(1, **kept, **given).figures if f.key == key)
        return say(f.formula), f.source

    assert origin("piston", measured=False) == ("nominal + step − clearance", "common practice")
    assert origin("clearance", maker=False) == ("share × bore", "common practice")
    # else what is said of every such figure holds
    assert origin("piston", measured=True) == origin("clearance", maker=True) == ("", "")
    assert meaning("sizes.1", "piston").source == "ISO 1" and meaning("sizes.1", "clearance").source == "entered"


@settings(max_examples=50)
@given(st.floats(40, 160), st.floats(0.01, 0.2), st.floats(0, 0.2))
def test_bored_plus_stock_less_clearance_is_the_piston(piston, clearance, stock):
    r = sizing.finished(1, piston_mm=piston, clearance_mm=clearance, hone_stock_mm=stock)
    assert r.bored_mm + stock - clearance == pytest.approx(piston, abs=1e-9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: sizing.finished(1, piston_mm=0, clearance_mm=0.05, hone_stock_mm=0.07),
        lambda: sizing.finished(1, piston_mm=76, clearance_mm=5, hone_stock_mm=0.07),
        lambda: sizing.finished(1, piston_mm=76, clearance_mm=0.05, hone_stock_mm=math.nan),
        lambda: sizing.default_clearance(76, "wood"),
        lambda: sizing.default_clearance(76, "cast", "idle"),
        lambda: sizing.default_clearance(76, "cast", "road", "oil"),
        lambda: sizing.running(
            bore_mm=-1, piston_mm=76, wall_c=90, skirt_c=90, alpha_block_per_k=1e-5, alpha_piston_per_k=2e-5
        ),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError):
        call()
