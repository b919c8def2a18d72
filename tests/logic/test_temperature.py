"""Temperature: ISO 1 sizes, checked against handbook figures and JCGM 100:2008, example H.1."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic import temperature as t
from logic.say import Style, say

IRON, STEEL, ALLOY = 11e-6, 11.5e-6, 20e-6


def test_a_warm_iron_bore_reads_large():
    # 90 mm grey iron (11e-6) at 35 °C: 14.9 µm, 0.58 thou (hand calculation: 90 × 11e-6 × 15 = 14.85 µm)
    size = t.size_at(90.0, 35.0, IRON)
    assert (size - 90.0) * 1000 == pytest.approx(14.85, abs=0.001)
    assert (size - 90.0) / 0.0254 == pytest.approx(0.585, abs=0.001)
    assert t.size_at_20(size, 35.0, IRON) == pytest.approx(90.0, abs=1e-12)


def test_a_cold_piston_reads_small():
    # 90 mm aluminium (20e-6) at 5 °C: 27 µm, 1.06 thou
    assert (90.0 - t.size_at(90.0, 5.0, ALLOY)) / 0.0254 == pytest.approx(1.063, abs=0.001)


def test_the_end_gauge_of_the_gum():
    # JCGM 100:2008, H.1: standard 50.000623 mm, difference 215 nm, both 0.1 °C below 20: l = 50.000838 mm
    got = t.bore_at_20(
        zero_mm=50.000623,
        deviation_mm=0.000215,
        block_c=19.9,
        alpha_block_per_k=STEEL,
        master_c=19.9,
        alpha_master_per_k=STEEL,
    )
    assert got == pytest.approx(50.000838, abs=5e-10)


def test_gauge_and_block_both_warm_and_alike_need_no_correction():
    got = t.bore_at_20(
        zero_mm=76.2, deviation_mm=0.05, block_c=35, alpha_block_per_k=STEEL, master_c=35, alpha_master_per_k=STEEL
    )
    assert got == pytest.approx(76.25, abs=1e-5)


def test_a_gauge_that_warms_in_the_hand_reads_small():
    cool = t.bore_at_20(zero_mm=76.2, deviation_mm=0.05, block_c=20, alpha_block_per_k=IRON)
    warm = t.bore_at_20(zero_mm=76.2, deviation_mm=0.05, block_c=20, alpha_block_per_k=IRON, gauge_warmed_k=5)
    assert warm - cool == pytest.approx(76.2 * STEEL * 5, rel=1e-9)  # 4.4 µm


@settings(max_examples=100, deadline=None)
@given(
    size=st.floats(20, 200),
    zero=st.floats(20, 200),
    block=st.floats(-20, 60),
    master=st.floats(-20, 60),
    warmed=st.floats(-10, 10),
    alpha=st.floats(5e-6, 30e-6),
)
def test_reading_and_size_are_each_others_inverse(size, zero, block, master, warmed, alpha):
    how = {"zero_mm": zero, "block_c": block, "alpha_block_per_k": alpha, "master_c": master, "gauge_warmed_k": warmed}
    # what such a gauge shows: the warm bore less the warm master, with the gauge's own warming (steel)
    carried = t.size_at(zero, master, STEEL) * (1.0 + STEEL * warmed)
    read = t.size_at(size, block, alpha) - carried
    assert t.bore_at_20(deviation_mm=read, **how) == pytest.approx(size, abs=1e-9)


def test_a_bore_just_honed():
    r = t.warm_bore(90.01485, 35.0, IRON, block_u_c=2.0, alpha_u_per_k=0.5e-6, size_u_mm=0.002)
    assert r.value.value == pytest.approx(90.0, abs=1e-6)
    assert r.figure("change").value == pytest.approx(0.01485, abs=1e-6)
    # by hand: 90 × 11e-6 × 2 = 1.98 µm; 90 × 15 × 0.5e-6 = 0.675 µm; with 2 µm of reading, 2.895 µm
    assert r.figure("change").u == pytest.approx(0.002092, abs=2e-6)
    assert r.value.u == pytest.approx(0.002894, abs=2e-6)
    assert (
        say(r.line, Style("mm")).replace("\u202f", " ")
        == "At 35.0 °C the bore is warm. It will be 14.8 µm smaller at 20 °C: 90.000 mm."
    )
    assert sum(i.share for i in r.influences) == pytest.approx(1)
    assert r.cautions[0].key == "temperature.warm_bore"


def test_a_cold_bore_and_one_at_twenty():
    cold = t.warm_bore(90.0, 5.0, IRON, block_u_c=1.0, alpha_u_per_k=0.5e-6)
    assert "larger" in say(cold.line) and not cold.cautions
    assert cold.value.value == pytest.approx(90.01485, abs=1e-5)
    assert "near enough" in say(t.warm_bore(90.0, 20.2, IRON, block_u_c=1.0, alpha_u_per_k=0.5e-6).line)


def test_the_size_to_stop_at_while_warm():
    stop = t.warm_target_mm(76.962, 32.0, IRON)
    assert stop == pytest.approx(76.962 + 76.962 * 11e-6 * 12, abs=1e-9)
    assert t.warm_bore(stop, 32.0, IRON, block_u_c=1, alpha_u_per_k=0).value.value == pytest.approx(76.962, abs=1e-9)


@pytest.mark.parametrize(("temp", "alpha"), [(1e6, IRON), (20.0 + 1e9, IRON), (float("nan"), IRON), (35.0, 1.0)])
def test_nonsense_is_refused(temp, alpha):
    with pytest.raises(ValueError, match="out of all reason"):
        t.size_at_20(76.2, temp, alpha)


@settings(max_examples=60, deadline=None)
@given(size=st.floats(20, 200), block=st.floats(-20, 60), master=st.floats(-20, 60), alpha=st.floats(5e-6, 30e-6))
def test_what_a_whole_size_gauge_shows_and_the_size_at_20_are_each_others_inverse(size, block, master, alpha):
    how = {"block_c": block, "alpha_block_per_k": alpha, "master_c": master}
    assert t.read_at_20(t.as_shown_mm(size, **how), **how) == pytest.approx(size, abs=1e-9)


def test_block_and_master_of_one_metal_and_one_temperature_show_the_size_at_20():
    assert t.as_shown_mm(76.95, block_c=5.0, alpha_block_per_k=STEEL, master_c=5.0) == pytest.approx(76.95, abs=1e-12)
    # iron with the master at 20 °C: 76.95 × 11e-6 × 15 = 12.7 µm smaller (hand calculation)
    assert 76.95 - t.as_shown_mm(76.95, block_c=5.0, alpha_block_per_k=IRON) == pytest.approx(0.0127, abs=1e-5)
