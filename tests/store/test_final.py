"""The final check as a step: what it asks for, what it hands to the verdicts, and what it repeats.

Sizes are hand calculations in the handbook's terms; verdicts themselves are checked in
tests/logic/test_verify.py.
"""

import pytest

from logic.result import Verdict
from logic.say import Style, say
from logic.units import parse
from store.sheets import bores, final, sizes

from .making import Making

DEVIATIONS = {
    (1, "thrust"): 0.001,
    (1, "crank"): -0.001,
    (2, "thrust"): 0.0,
    (2, "crank"): 0.001,
    (3, "thrust"): 0.001,
    (3, "crank"): 0.0,
}


def job(shifts, **put):
    """An invented job bored to a decided step and measured; ``shifts`` moves each cylinder's readings."""
    made = Making(nominal=76.2, cylinders=len(shifts))
    for c in range(1, len(shifts) + 1):
        for d in (1, 2, 3):
            made.put(bores.READING, 0.30 / d, cylinder=c, depth=d, axis="thrust")
            made.put(bores.READING, 0.20 / d, cylinder=c, depth=d, axis="crank")
    made.put(bores.DIVISION, 0.0025)
    made.put(bores.REPEAT, 0.0015)
    made.put(bores.MASTER_U, 0.001)
    target = sizes.finished_mm(made.view(), 1)
    assert target == pytest.approx(76.962)  # 3.000 in + 0.030 in
    made.put(final.ZERO, target)
    for name, value in put.items():
        made.put(getattr(final, name), value)
    for c, shift in enumerate(shifts, 1):
        if shift is not None:
            for (d, a), x in DEVIATIONS.items():
                made.put(final.READING, x + shift, cylinder=c, depth=d, axis=a)
    return made


def text(line):
    return say(line, Style("mm")).replace("\u202f", " ")


def test_nothing_to_check_before_the_size_is_known():
    work = final.work(Making(nominal=76.2, cylinders=2).view())
    assert work.blocked is not None and not work.done


def test_what_must_be_entered():
    made = job([None])
    made.entries = [e for e in made.entries if e.what != final.ZERO.key]
    missing = final.work(made.view()).missing
    assert missing[0] == ("final.zero", {})
    assert len(missing) == 7 and missing[1] == ("final.reading", {"cylinder": 1, "depth": 1, "axis": "thrust"})


def test_good_short_and_doubtful_bores_doubt_first():
    view = job([0.0, -0.040, 0.012]).view()
    work = final.work(view)
    bores = [r for r in work.results if r.key != "final.capability"]
    assert [(r.cylinder, r.verdict) for r in bores] == [(2, Verdict.STOP), (3, Verdict.MAYBE), (1, Verdict.GO)]
    assert not work.done and not work.missing
    assert "still" in text(work.results[0].why[3])


def test_done_when_all_are_in():
    work = final.work(job([0.0, 0.0005]).view())
    assert work.done and all(r.verdict == Verdict.GO for r in work.results)
    r = work.results[0]
    assert r.value.value == pytest.approx(76.962 + 0.002 / 6, abs=1e-6)
    assert r.figure("lower").value == pytest.approx(76.962 - 0.0127) and r.figure("upper").value == pytest.approx(
        76.962 + 0.0127
    )
    assert r.assumptions[2].source == "common practice"
    assert sum(i.share for i in r.influences) == pytest.approx(1)
    assert {i.name.template for i in r.influences} >= {"repeatability", "master", "block temperature"}


def test_limits_that_were_entered_say_so():
    r = final.checked(job([0.0], OVER=0.02, UNDER=0.005, ROUND=0.01, TAPER=0.015).view())[1]
    assert r.assumptions[2].source == "entered"
    assert r.figure("upper").value == pytest.approx(76.982) and r.figure("round_limit").value == 0.01


def test_a_warm_block_is_brought_back_to_twenty():
    # 76.962 mm × 11e-6 × 15 K = 12.7 µm: what reads 12.7 µm large at 35 °C is right at 20 °C
    warm = final.checked(job([76.962 * 11e-6 * 15], BLOCK_C=35.0).view())[1]
    assert warm.value.value == pytest.approx(76.962 + 0.002 / 6, abs=2e-6)
    # and a gauge 4 K warmer than at its zero reads 76.962 × 11.5e-6 × 4 = 3.5 µm small
    hand = final.checked(job([-76.962 * 11.5e-6 * 4], WARMED=4.0).view())[1]
    assert hand.value.value == pytest.approx(76.962 + 0.002 / 6, abs=2e-6)


def test_a_better_gauge_for_the_final_readings():
    rough = job([0.0], OVER=0.009, UNDER=0.009)
    rough.put(bores.DIVISION, 0.0127)
    rough.put(bores.REPEAT, 0.004)
    coarse = final.checked(rough.view())[1]
    fine = job([0.0], OVER=0.009, UNDER=0.009, DIVISION=0.001, REPEAT=0.001, MASTER_U=0.0008)
    assert final.budget(fine.view()).u < 0.4 * final.budget(rough.view()).u
    assert coarse.verdict == Verdict.MAYBE and final.checked(fine.view())[1].verdict == Verdict.GO


def test_reading_again_is_asked_for_and_averaged():
    made = job([0.0])
    made.put(final.READING, 0.013, cylinder=1, depth=2, axis="thrust")
    view = made.view()
    assert final.checked(view)[1].verdict == Verdict.MAYBE
    group = next(g for g in final.SHEET.groups if g.key == "again")
    assert {"cylinder": 1, "depth": 2, "axis": "thrust", "check": 1} in group.places(view)
    assert "repeat 1" in say(group.name(group.places(view)[0]))
    for n, x in enumerate((0.0071, 0.0069, 0.0072, 0.0070, 0.0071), 1):
        made.put(final.AGAIN, x, cylinder=1, depth=2, axis="thrust", check=n)
    view = made.view()
    spot = next(s for s in final.final_spots(view, 1) if (s.depth, s.axis) == (2, "thrust"))
    assert spot.n == 6
    assert spot.d_mm == pytest.approx(76.962 + (0.013 + 0.0353) / 6, abs=1e-6)
    assert final.checked(view)[1].verdict == Verdict.GO
    assert [p["check"] for p in group.places(view)] == [1, 2, 3, 4, 5]


def test_entries_count_from_the_final_zero_and_units_do_not_matter():
    made = job([None])
    base = final.SHEET.base_mm(made.view())
    assert base == pytest.approx(76.962)
    sizes_mm = []
    for entry, how in (
        ("+0.2", {}),
        ("+2 tenths", {}),
        ("0.00508", {"length_unit": "mm"}),
        ("5.08 µm", {"length_unit": "mm"}),
    ):
        made = job([None])
        got = parse(entry, final.READING, **how)
        made.typed(final.READING, got, cylinder=1, depth=1, axis="thrust")
        sizes_mm.append(final.final_spots(made.view(), 1)[0].d_mm)
    assert sizes_mm == pytest.approx([76.96708] * 4, abs=1e-9)


def test_the_clearance_to_the_piston_is_shown():
    view = job([0.0]).view()
    r = final.checked(view)[1]
    piston = sizes.piston_mm(view, 1)
    assert r.figure("clearance").value == pytest.approx(r.value.value - piston)


def test_before_measuring_it_is_said_whether_the_gauge_can_decide():
    able = final.work(job([None]).view()).results
    assert [r.key for r in able] == ["final.capability"] and able[0].verdict == Verdict.GO
    rough = job([None], OVER=0.006, UNDER=0.006, DIVISION=0.0127, REPEAT=0.003)
    told = final.work(rough.view()).results[0]
    assert told.readings is None and told.division_mm is not None and told.division_mm < 0.0127
    # and with that gauge it can
    assert final.work(
        job([None], OVER=0.006, UNDER=0.006, DIVISION=told.division_mm, REPEAT=told.division_mm).view()
    ).results[0].readings in (1, 2)
    # once every bore is called in or out there is nothing left to ask
    assert all(r.key != "final.capability" for r in final.work(job([0.0]).view()).results)
