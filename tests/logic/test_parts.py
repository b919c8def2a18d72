"""Parts to order: how many of each, and the ways out. Counts follow from the engine; the rest is common practice."""

import pytest

from logic.cleanup import WearSide, clean_up
from logic.oversize import choose
from logic.parts import Wanted, instead, listed, parts
from logic.result import Verdict
from logic.say import Style, say
from logic.steps import INCH_STEPS_MM
from tests.logic.test_oversize import bore

IN = Style(length="in")


def named(found):
    return {p.key.split(".")[0]: (p.count, say(p.line, IN)) for p in found}


def test_one_oversize_for_all():
    found = named(parts(Wanted(steps_mm=dict.fromkeys((1, 2, 3, 4), 0.508), finished_mm=76.708)))
    assert found["pistons"][0] == found["rings"][0] == 4
    assert "+0.020" in found["pistons"][1]
    # 76.708 mm and 0.5 mm all round: 77.708 mm, 3.06 in
    assert "3.06" in found["head_gasket"][1]
    assert "gaskets" in found and "rod_bearings" not in found and "seals" not in found


def test_hone_only_wants_rings_and_no_pistons():
    found = named(parts(Wanted(steps_mm={1: 0.0, 2: 0.0})))
    assert "pistons" not in found and found["rings"][0] == 2 and "present piston" in found["rings"][1]
    assert found["head_gasket"][1] == "head gasket"


def test_mixed_steps_sleeves_bearings_and_liners():
    found = parts(Wanted(steps_mm={1: 0.254, 2: 0.508, 3: 0.508}, sleeves=(3,), bearings="all", liners=True))
    counts = {p.key: p.count for p in found}
    assert counts["pistons.0.254"] == 1 and counts["pistons.0.508"] == 2
    assert counts["sleeves"] == 1 and counts["seals"] == 3
    assert {"rod_bearings", "main_bearings"} <= counts.keys()
    assert "main_bearings" not in {p.key for p in parts(Wanted(steps_mm={1: 0.254}, bearings="rods"))}
    with pytest.raises(ValueError, match="cylinders"):
        parts(Wanted(steps_mm={}))


def test_the_list_says_what_stands_in_the_way_of_cutting():
    found = parts(Wanted(steps_mm={1: 0.508}))
    assert listed(found, make=None, ordered=None).verdict == Verdict.INFO
    got = listed(found, make="Invented 4711", ordered="yes")
    assert got.verdict == Verdict.GO and any("Invented 4711" in say(w) for w in got.why)
    assert len(got.why) == len(found) + 1


def test_ways_out_where_the_step_cannot_be_had():
    chosen = choose(
        (clean_up(bore(1, 0.2), WearSide(known="even")),), nominal_mm=76.2, steps=INCH_STEPS_MM, hone_stock_mm=0.0762
    )
    assert chosen.step_mm is not None
    told = instead(chosen.step_mm, chosen.steps, wear_mm=0.2)
    said = [say(told.line, IN), *(say(w, IN) for w in told.why)]
    larger = next(s.step_mm for s in chosen.steps if s.step_mm > chosen.step_mm and s.probability >= 0.95)
    assert told.verdict == Verdict.MAYBE and f"+{larger / 25.4:.3f}" in said[0]
    assert any("Sleeve" in s for s in said) and not any("Hone only" in s for s in said)
    # within what worn pistons may run with, honing is a way out as well
    assert any("Hone only" in say(w, IN) for w in instead(0.254, (), wear_mm=0.03).why)
