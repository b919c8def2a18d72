"""The trade's own steps and questions: strip-down, parts, price, plate, oil rings, dates. Each answer changes something."""

from __future__ import annotations

import pytest

from logic.estimate import Time
from logic.result import Verdict
from logic.say import L, Style, say
from store import flow
from store.estimate import estimate, times
from store.facts.face import fitted
from store.facts.honing import stroke, two_axes_mm
from store.facts.parts import parts_to_order
from store.facts.rings import rings_of
from store.facts.strip import order_of_boring
from store.fields import bores, clean, cut, face, hone, parts, rings, sizes, strip
from store.flow import flow as flow_of
from store.flow import off_path, work_of
from store.order import order_text
from store.sheets import sheet
from tests.store.making import Making

IN, MM = Style(length="in"), Style(length="mm")


def keyed(making: Making, step: str) -> dict[str, str]:
    return {r.key: say(r.line, MM) for r in work_of(making.view(), sheet(step)).results}


def measured(cylinders: int = 1, **header: object) -> Making:
    making = Making(nominal=80.0, cylinders=cylinders, **header)
    making.put(bores.DIVISION, 0.001)
    for c in range(1, cylinders + 1):
        for axis in ("thrust", "crank"):
            for depth in (1, 2, 3):
                wear = (0.15, 0.08, 0.005)[depth - 1] + 0.002 * c + (0.003 if axis == "crank" else 0.0)
                making.put(bores.READING, round(wear, 3), cylinder=c, depth=depth, axis=axis)
    return making


def decided(cylinders: int = 1, **header: object) -> Making:
    making = measured(cylinders, **header)
    making.decide("oversize", "+0.50", 0.5)
    return making


# -- strip down -------------------------------------------------------------------------------
def test_the_strip_down_is_first_on_the_path_until_bores_are_read() -> None:
    blank = Making(nominal=80.0, cylinders=2).view()
    assert flow_of(blank).next is not None and flow_of(blank).next.key == "strip"  # type: ignore[union-attr]
    assert off_path(measured().view(), sheet("strip")) is not None
    making = Making(nominal=80.0, cylinders=2)
    for f in strip.CHECKS:
        making.put(f, "yes")
    assert work_of(making.view(), sheet("strip")).done
    making.put(strip.CHECKS[0], "no")
    assert keyed(making, "strip")["strip.ready"] == "Not ready to bore: Coolant is drained"


def test_reach_step_and_room_under_the_bore() -> None:
    making = Making(nominal=80.0)
    making.put(bores.LENGTH, 150)
    making.put(strip.REACH, 152)
    assert "too high" in keyed(making, "strip")["strip.reach"]
    making.put(strip.FLOOR, "step")
    assert "above the step" in keyed(making, "strip")["strip.reach"]
    # the stones have no room under a step either, unless it was measured
    free = Making(nominal=80.0)
    assert stroke(free.view()).bottom_mm > stroke(making.view()).bottom_mm
    making.put(hone.CLEAR, 60)
    assert stroke(making.view()).bottom_mm == stroke(free.view()).bottom_mm


def test_wet_liners_are_asked_for_only_where_there_are_any() -> None:
    making = Making(nominal=80.0, cylinders=2)
    making.put(strip.HEIGHT, 0.02, cylinder=1)
    assert "strip.liners" not in keyed(making, "strip")
    making.put(strip.BLOCK, "wet")
    assert (strip.HEIGHT.key, {"cylinder": 2}) in work_of(making.view(), sheet("strip")).missing
    making.put(strip.HEIGHT, 0.06, cylinder=2)
    making.put(strip.LOWEST, 0.03)
    making.put(strip.HIGHEST, 0.1)
    assert "Liner 1 stands" in keyed(making, "strip")["strip.liners"]
    making.put(face.SKIM, 0.03)
    assert keyed(making, "strip")["strip.liners"] == "Every liner stands within limits."


def test_nobody_is_said_to_have_looked_for_cracks_who_did_not() -> None:
    def said(making: Making) -> list[tuple[str, str]]:
        work = work_of(making.view(), sheet("sleeve"))
        return [(say(a.text), a.source) for r in work.results for a in r.assumptions]

    making = decided()
    assert ("Nobody has said yet whether a bore is cracked or porous.", "common practice") in said(making)
    assert not any("none is cracked" in text for text, _ in said(making))
    making.put(strip.CRACKS, "tested")
    assert ("The block held its pressure test: none is cracked or porous.", "entered") in said(making)
    making.put(strip.CRACKS, "cracked")
    assert "strip.cracked" in keyed(making, "strip") and not work_of(making.view(), sheet("strip")).done


def test_with_the_crank_in_it_says_how_to_go_about_it() -> None:
    making = Making(nominal=80.0)
    assert "strip.crank" not in keyed(making, "strip")
    making.put(strip.CRANK, "in")
    assert "cover it" in keyed(making, "strip")["strip.crank"]


def test_heights_from_journals_or_rail_are_less_sure() -> None:
    def slope_u(where: str | None) -> float:
        making = Making(nominal=80.0, cylinders=1)
        for n, (x, h) in enumerate([(10, 200.0), (300, 200.02)], 1):
            making.put(face.X, x, point=n)
            making.put(face.HEIGHT, h, point=n)
        if where:
            making.put(face.TAKEN, where)
        found = fitted(making.view())
        assert found is not None
        return found.u_mm

    assert slope_u(None) == slope_u("bar") < slope_u("journals") < slope_u("rail")
    # 0.01 mm of its own and 0.02 mm of the journals': √(0.01² + 0.02²)
    assert slope_u("journals") == pytest.approx((0.01**2 + 0.02**2) ** 0.5)


# -- parts ------------------------------------------------------------------------------------
def test_parts_are_on_the_path_between_the_decision_and_the_pistons() -> None:
    assert off_path(measured().view(), sheet("parts")) is not None
    making = decided(cylinders=2)
    assert off_path(making.view(), sheet("parts")) is None
    assert work_of(making.view(), sheet("parts")).missing == ((parts.ORDERED.key, {}),)
    for c in (1, 2):
        making.put(sizes.PISTON, 80.44, cylinder=c)
    making.put(sizes.CLEARANCE, 0.06)
    assert off_path(making.view(), sheet("parts")) is not None
    making.put(parts.ORDERED, "here")  # once something is entered it stays on
    assert off_path(making.view(), sheet("parts")) is None and work_of(making.view(), sheet("parts")).done


def test_the_list_follows_the_decision_and_what_is_wanted() -> None:
    making = decided(cylinders=3, engine="Invented three-cylinder")
    keys = [p.key.split(".")[0] for p in parts_to_order(making.view())]
    assert keys == ["pistons", "rings", "head_gasket", "gaskets", "oil"]
    making.put(parts.GASKETS, "head")
    making.put(parts.BEARINGS, "all")
    making.put(rings.OIL_RINGS, 2)
    making.put(parts.MAKE, "Invented 4711")
    text = order_text(making.view(), MM)
    assert "Invented three-cylinder" in text and "Invented 4711" in text
    assert "3 × piston +0.50" in text and "main bearings" in text and "2 oil" in text
    assert "strip-down" not in text
    assert order_text(measured().view(), MM) == ""
    german = order_text(making.view(), Style(length="mm", language="de"))
    assert "3 × Kolben mit Übermaß +0,50" in german and "piston" not in german


def test_where_the_step_cannot_be_had_the_ways_out_come_first() -> None:
    making = decided()
    making.put(parts.TO_BE_HAD, "no")
    making.put(parts.ORDERED, "yes")
    work = work_of(making.view(), sheet("parts"))
    assert work.results[0].key == "parts.instead" and work.results[0].verdict == Verdict.MAYBE and not work.done
    assert "+0.75" in say(work.results[0].line, MM)


# -- price ------------------------------------------------------------------------------------
def test_the_estimate_goes_by_the_path_and_the_persons_rates() -> None:
    making = decided(cylinders=4)
    bare = estimate(making.view())
    assert not any(f.key == "price" for f in bare.figures)
    keys = {say(t.title) for t in times(making.view())}
    assert "Boring" in keys and "Strip down and cover" in keys
    making.put(parts.PER_HOUR, 60)
    making.put(parts.PER_BORE, 20)
    making.put(parts.PARTS_PRICE, 500)
    priced = estimate(making.view())
    hours = priced.figure("time").value / 3600
    assert priced.figure("price").value == pytest.approx(60 * hours + 4 * 20 + 500)
    own = {"cut": Time(L("Boring"), 10.0, 1.0, known=True)}
    assert estimate(making.view(), own).figure("time").value < priced.figure("time").value
    # it stands beside the step, and is no part of its verdict
    assert sheet("parts").later is estimate
    assert "estimate" not in {r.key for r in work_of(making.view(), sheet("parts")).results}


# -- boring, honing, rings, handover ------------------------------------------------------------
def test_every_second_bore_first() -> None:
    making = decided(cylinders=4)
    assert order_of_boring(making.view()) == (1, 2, 3, 4)
    making.put(cut.ORDER, "spread")
    assert order_of_boring(making.view()) == (2, 4, 1, 3)
    for c in range(1, 5):
        making.put(sizes.PISTON, 80.44, cylinder=c)
    making.put(sizes.CLEARANCE, 0.06)
    said = keyed(making, "cut")
    assert said["cut.order"] == "Bore in this order: 2, 4, 1, 3."
    assert next(iter(said.values())).startswith("Cylinder 2")


def test_two_axes_while_honing() -> None:
    making = decided()
    making.put(sizes.PISTON, 80.44, cylinder=1)
    making.put(sizes.CLEARANCE, 0.06)
    for d in (1, 2, 3):
        making.put(hone.SIZE, 80.43, cylinder=1, check=1, depth=d)
    assert two_axes_mm(making.view(), 1) == {} and "hone.round.1" not in keyed(making, "hone")
    making.put(hone.ACROSS, 80.40, cylinder=1, check=1, depth=2)
    assert two_axes_mm(making.view(), 1) == {2: (80.43, 80.40)}
    # 0.03 mm apart, 0.0127 mm allowed
    assert "Out of round" in keyed(making, "hone")["hone.round.1"]
    making.put(hone.ACROSS, 80.43, cylinder=1, check=1, depth=2)
    assert "Round within" in keyed(making, "hone")["hone.round.1"]


@pytest.mark.parametrize(("fluid", "caution"), [("oil", None), ("paraffin", "hone.paraffin"), ("dry", "hone.dry_dust")])
def test_what_the_stones_run_in_brings_its_caution(fluid: str, caution: str | None) -> None:
    making = decided()
    making.put(sizes.PISTON, 80.44, cylinder=1)
    making.put(hone.FLUID, fluid)
    making.put(hone.PLATE, "yes")
    found = {r.key: r for r in work_of(making.view(), sheet("hone")).results}
    assert [c.key for c in found["hone.fluid"].cautions] == ([caution] if caution else [])
    assert "Torque plate on" in say(found["hone.plate"].line)


def test_two_oil_rings_are_both_measured() -> None:
    making = Making(nominal=80.0)
    assert len(rings_of(making.view())) == 4  # two compression rings and two rails
    making.put(rings.OIL_RINGS, 2)
    assert [say(name) for _, name, _ in rings_of(making.view())][2:] == [
        "upper rail of oil ring 1",
        "lower rail of oil ring 1",
        "upper rail of oil ring 2",
        "lower rail of oil ring 2",
    ]
    making.put(rings.OIL_RING, "cast")
    assert [say(name) for _, name, _ in rings_of(making.view())][2:] == ["oil ring 1", "oil ring 2"]


def test_the_customer_is_told_when_to_come_back() -> None:
    making = Making(nominal=80.0)
    usual = keyed(making, "clean")["clean.afterwards"]
    assert usual.startswith("Running-in: load gently")
    making.put(clean.RUN_IN, "no more than half load for 5 h")
    making.put(clean.RETORQUE, "cold")
    making.put(clean.RETORQUE_ON, "3 March")
    making.put(clean.OIL_ON, "500 km")
    work = flow.work_of(making.view(), sheet("clean"))
    told = next(r for r in work.results if r.key == "clean.afterwards")
    said = [say(told.line), *(say(w) for w in told.why)]
    assert said[0] == "Running-in: no more than half load for 5 h"
    assert (
        any("cold again" in s for s in said) and any("3 March" in s for s in said) and any("500 km" in s for s in said)
    )
