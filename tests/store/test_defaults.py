"""What is taken where nobody said: it suits the engine, the pistons and the gauge at hand."""

from __future__ import annotations

import pytest

from logic import compression as head
from logic import rings as ring_rules
from logic import sizing
from logic.capability import usual_limit_mm
from logic.hone_plan import grit_steps, with_coarser
from logic.oversize import quick
from logic.piston_fit import Piston, paired, sized
from logic.result import Verdict
from logic.say import Style, say
from store import flow
from store.facts import final, gates, pistons
from store.facts.compression import least_gap_mm
from store.facts.honing import grits
from store.fields import bores, compression, hone, sizes
from store.fields.final import DIVISION, OVER, TAPER
from store.sheets import sheet
from tests.store.making import Making

IN, THOU = 25.4, 0.0254


# -- the quick check -----------------------------------------------------------------------
@pytest.mark.parametrize("thou", [0.5, 1.0, 1.2, 1.5, 2.0])
def test_a_thou_or_two_of_wear_never_says_bore(thou: float) -> None:
    # two thou over unworn is what worn pistons may run with (common practice, no source)
    found = quick(3 * IN, 3 * IN + thou * THOU)
    said = say(found.line, Style(length="in"))
    assert "bore at" not in said.lower() and "rings" in said
    assert found.verdict != Verdict.STOP
    if thou > 1.1:
        assert found.verdict == Verdict.MAYBE and "Measure better before you bore" in said


def test_plain_wear_still_says_the_step() -> None:
    # +0.010 bores at 3.007: three thou all on one side need 3.006, and the lean of a face nobody measured takes the rest
    assert say(quick(3 * IN, 3 * IN + 3 * THOU).line, Style(length="in")).startswith("A bore at +0.020")


# -- clearance -----------------------------------------------------------------------------
def _decided(making: Making) -> Making:
    for axis in ("thrust", "crank"):
        for depth in (1, 2, 3):
            making.put(bores.READING, 0.05, cylinder=1, depth=depth, axis=axis)
    making.decide("oversize", "+0.50", 0.5)
    return making


def _job(alloy: str | None = None) -> Making:
    making = _decided(Making(nominal=80.0, cylinders=1))
    if alloy:
        making.put(sizes.ALLOY, alloy)
    making.decide(gates.CLEARANCE_RISK, "taken")
    return making


def test_only_a_plain_cast_piston_has_a_usual_clearance() -> None:
    assert gates.clearance_settled(_job().view()) and gates.clearance_settled(_job("cast").view())
    for alloy in ("controlled", "hyper", "forged", "forged_silicon", "iron"):
        view = _job(alloy).view()
        assert not gates.clearance_settled(view)
        work = flow.work_of(view, sheet("sizes"))
        assert (sizes.CLEARANCE.key, {}) in work.missing
        assert gates.CLEARANCE_RISK not in {risk.what for risk in work.risks}
        assert not any(r.verdict == Verdict.GO for r in work.results)


def test_a_makers_clearance_is_never_called_thin() -> None:
    given = {
        "bore_mm": 80.0,
        "piston_mm": 79.96,
        "wall_c": 90.0,
        "skirt_c": 130.0,
        "alpha_block_per_k": 11e-6,
        "alpha_piston_per_k": 20e-6,
    }
    # 80 × 11e-6 × 70 − 79.96 × 20e-6 × 110 = 0.0616 − 0.1759 mm: far less than the 0.04 mm there are
    table, maker = sizing.running(**given), sizing.running(**given, maker=True)
    assert table.verdict == Verdict.STOP and "tight" in say(table.line)
    assert maker.verdict == Verdict.INFO and maker.confidence is None and "stands" in say(maker.line)
    assert maker.value is not None and table.value is not None and maker.value.value == table.value.value


# -- what the engine does ------------------------------------------------------------------
def test_a_diesel_is_not_taken_for_ordinary_road_use() -> None:
    plain = Making(nominal=80.0)
    assert pistons.duty(plain.view()) == "road"
    by_fuel = Making(nominal=80.0)
    by_fuel.put(sizes.FUEL, "diesel")
    assert pistons.duty(by_fuel.view()) == "diesel"
    by_name = Making(nominal=80.0, engine="Invented two-cylinder diesel, 1961")
    assert pistons.duty(by_name.view()) == "diesel"
    by_name.put(sizes.FUEL, "spark")
    assert pistons.duty(by_name.view()) == "road"
    by_name.put(sizes.DUTY, "gentle")
    assert pistons.duty(by_name.view()) == "gentle"
    # clearance, ring gaps and piston to head follow
    bigger = pistons.clearance_mm(by_fuel.view()), pistons.clearance_mm(plain.view())
    assert bigger[0] == pytest.approx(bigger[1] + 0.0003 * 80.0)
    assert least_gap_mm(by_fuel.view()) == 0.762 < least_gap_mm(plain.view()) == 1.016
    assert ring_rules.duty("diesel", "water") != ring_rules.duty("road", "water")


def test_piston_to_head_goes_by_duty_until_it_is_stated() -> None:
    assert set(head.LEAST_GAPS_MM) == set(sizing.DUTIES)
    making = Making(nominal=80.0)
    making.put(sizes.DUTY, "race")
    assert least_gap_mm(making.view()) == pytest.approx(0.050 * IN)
    making.put(compression.LEAST_GAP, 0.9)
    assert least_gap_mm(making.view()) == 0.9


# -- pistons to bores ------------------------------------------------------------------------
def test_equal_pistons_keep_their_own_bores() -> None:
    alike = [Piston(number=n, size_mm=79.95) for n in (1, 2, 3, 4)]
    bores_mm = {1: 80.004, 2: 80.0, 3: 80.006, 4: 80.002}
    limits = {"clearance_mm": 0.05, "low_mm": 0.03, "high_mm": 0.07, "u_bore_mm": 0.0, "wanted": 0.95, "fitted": None}
    assert [(p.cylinder, p.piston) for p in paired(alike, bores_mm, **limits).pairs] == [(n, n) for n in (1, 2, 3, 4)]
    one_large = [*alike[:2], Piston(number=3, size_mm=79.95), Piston(number=4, size_mm=79.956)]
    pairs = {p.cylinder: p.piston for p in paired(one_large, bores_mm, **limits).pairs}
    assert pairs == {1: 1, 2: 2, 3: 4, 4: 3}  # the large one goes to the large bore, the rest stay
    made, _ = sized(alike, bores_mm, clearance_mm=0.05, stock_mm=0.0, least_stock_mm=0.0)
    assert [(s.cylinder, s.piston) for s in made] == [(n, n) for n in (1, 2, 3, 4)]


# -- the hone --------------------------------------------------------------------------------
def test_three_thou_begin_with_a_coarser_grit() -> None:
    assert with_coarser((150, 220), 3 * THOU) == (120, 220)
    assert with_coarser((220, 280), 3 * THOU) == (150, 220, 280)
    assert with_coarser((150, 220), 2 * THOU) == (150, 220)
    for usual in ((150, 220), (220, 280), (220, 280, 400)):
        for stock in (0.06, 3 * THOU, 0.12, 0.2):
            got = with_coarser(usual, stock)
            assert got[-1] == usual[-1]
            steps = grit_steps(80.0, 80.0 + stock, got, times=2.0, bored_rz_um=6.0)
            assert all(s.take_mm >= s.least_mm - 1e-9 for s in steps), (usual, stock, got)
    assert with_coarser((150, 220), 0.2)[0] == 80


def test_grits_that_were_entered_stand() -> None:
    making = Making(nominal=80.0)
    assert grits(making.view()) == (120, 220)
    making.put(hone.GRITS[0], 180)
    assert grits(making.view()) == (180,)


# -- limits against the gauge ------------------------------------------------------------------
def test_limits_nobody_stated_suit_the_gauge() -> None:
    assert usual_limit_mm(0.001) == usual_limit_mm(0.0) == 0.0127
    assert usual_limit_mm(0.006) == pytest.approx(0.02032)  # 3 × 0.006 up to the next tenth of a thou
    assert usual_limit_mm(0.1) == 0.0254
    with pytest.raises(ValueError, match="below zero"):
        usual_limit_mm(-0.001)


def test_a_coarse_gauge_widens_them_and_a_stated_limit_stands() -> None:
    making = Making(nominal=80.0)
    fine = final.usual_limit_mm(making.view())
    making.put(DIVISION, 0.0254)
    assert fine < final.usual_limit_mm(making.view()) <= 0.0254
    making.put(OVER, 0.008)
    assert final.allowed_mm(making.view(), OVER) == 0.008
    assert final.allowed_mm(making.view(), TAPER) == final.usual_limit_mm(making.view())
