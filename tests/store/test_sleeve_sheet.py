"""The sleeve step from the log: who gets one, its sizes, grip, fitting and finishing."""

import math

import pytest

from logic import sleeve as lame
from logic.constants import constant
from logic.result import Verdict
from logic.say import say
from store.flow import work_of
from store.sheets import bores, sheet, sizes, sleeve, walls

from .making import Making


def job(**sleeve_sizes):
    """One cylinder, decided on +0.762, walls of 7.5 mm all round measured with a true gauge."""
    made = Making(nominal=76.2, cylinders=1)
    for depth, row in {1: (0.9, 0.4), 2: (0.5, 0.2), 3: (0.0, 0.0)}.items():
        for axis, value in zip(("thrust", "crank"), row, strict=False):
            made.put(bores.READING, value, cylinder=1, depth=depth, axis=axis)
    for angle in (0, 90, 180, 270):
        made.put(walls.READING, 7.5, cylinder=1, angle=angle)
    made.put(walls.KNOWN, 7.5, piece=1)
    made.put(walls.SHOWN, 7.5, piece=1)
    made.put(bores.LENGTH, 120.0)
    made.decide("oversize", "+0.762", number=0.762)
    for name, value in sleeve_sizes.items():
        made.put(getattr(sleeve, name), value, cylinder=1)
    return made


def work(made):
    return sleeve.SHEET.work(made.view())


def named(answer, key):
    return next(r for r in answer.results if r.key == key)


def test_nobody_wants_a_sleeve():
    made = Making(nominal=76.2, cylinders=1)
    assert "Measure" in say(work(made).blocked)
    for depth in (1, 2, 3):
        for axis in ("thrust", "crank"):
            made.put(bores.READING, 0.1, cylinder=1, depth=depth, axis=axis)
    answer = work(made)
    assert not answer.done and say(answer.results[0].line) == "No cylinder gets a sleeve."
    made.decide("oversize", "+0.030 in", number=0.762)
    assert work(made).done


def test_a_sleeve_asks_for_its_sizes():
    answer = work(job(WANTED="yes"))
    assert {key for key, _ in answer.missing} == {"sleeve.outside", "sleeve.inside"}


def test_sizes_grip_and_fitting_by_hand():
    view = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5).view()
    # common practice 0.0004 to 0.0007 per unit: bore 81 − 0.0567 to 81 − 0.0324
    assert sleeve.bore_for_sleeve_mm(view, 1) == pytest.approx(81.0 - 0.00055 * 81.0)
    answer = sleeve.SHEET.work(view)
    bore = named(answer, "sleeve.bore.1")
    assert (bore.least_mm, bore.most_mm) == pytest.approx((81 - 0.0567, 81 - 0.0324))
    wall = named(answer, "wall.1").least.after.value
    d, grey = 81.0 - 0.00055 * 81.0, constant("modulus.grey_iron").value
    ring, nu = d + 2 * wall, constant("poisson.grey_iron").value
    give = ((ring**2 + d**2) / (ring**2 - d**2) + nu) / grey + ((d**2 + 75.5**2) / (d**2 - 75.5**2) - nu) / grey
    assert named(answer, "sleeve.grip.1").figure("pressure_high").value == pytest.approx(0.0567 / (d * give))
    heat = named(answer, "sleeve.fitting.1").value.value
    assert heat == pytest.approx(20 + (0.0567 + 0.05) / (bores.block_expansion_per_k(view) * (81 - 0.0567)))
    finish = named(answer, "sleeve.finish.1")
    assert finish.figure("left").value == pytest.approx((d - sizes.finished_mm(view, 1)) / 2)
    assert {key for key, _ in answer.missing} == {"sleeve.bored"} and not answer.done


def test_once_bored_the_measured_interference_counts():
    answer = work(job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5, BORED=80.956))
    assert named(answer, "sleeve.bore.1").verdict == Verdict.GO
    grip = named(answer, "sleeve.grip.1")
    # the same interference at both ends, less the 0.008 mm that pressing flattens at the lower
    assert grip.figure("pressure_low").value == pytest.approx(grip.figure("pressure_high").value * (44 - 8) / 44)
    assert answer.done == all(r.verdict in (Verdict.GO, Verdict.INFO) for r in answer.results if "fitting" not in r.key)
    loose = work(job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5, BORED=81.02))
    assert named(loose, "sleeve.bore.1").verdict == Verdict.STOP and not loose.done


def test_own_interference_range_wins():
    made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
    made.put(sleeve.LEAST_FIT, 0.02)
    made.put(sleeve.MOST_FIT, 0.03)
    bore = named(work(made), "sleeve.bore.1")
    assert (bore.least_mm, bore.most_mm) == pytest.approx((80.97, 80.98))


def test_cold_sleeve_brings_its_caution():
    made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
    made.put(sleeve.COLD, -70.0)
    fitting = named(work(made), "sleeve.fitting.1")
    assert "deep_cold" in {c.key for c in fitting.cautions}
    assert (
        fitting.value.value < named(work(job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)), "sleeve.fitting.1").value.value
    )


def test_contradicting_sizes_are_said():
    answer = work(job(WANTED="yes", OUTSIDE=75.5, INSIDE=75.5))
    assert "not larger outside than inside" in say(answer.blocked) and not answer.done


def test_length_is_the_bores_unless_given():
    long = named(work(job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)), "sleeve.grip.1").figure("push_high").value
    short = (
        named(work(job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5, LENGTH=60.0)), "sleeve.grip.1")
        .figure("push_high")
        .value
    )
    assert long == pytest.approx(2 * short)
    d = 81.0 - 0.00055 * 81.0
    stiff = (0.0567 + 2 * 0.003 * 2**0.5) * 105_000 / (d * ((d**2 + 75.5**2) / (d**2 - 75.5**2) - 0.25))
    assert long == pytest.approx(0.20 * stiff * math.pi * d * 120.0)  # a stiff block, the upper friction


def test_one_limit_of_the_fit_alone_counts_and_two_turned_round_are_put_right():
    def bore(**limits):
        made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
        for name, value in limits.items():
            made.put(getattr(sleeve, name), value)
        return named(work(made), "sleeve.bore.1")

    usual = bore()
    assert bore(LEAST_FIT=0.05).most_mm == pytest.approx(80.95) and bore(MOST_FIT=0.04).least_mm == pytest.approx(80.96)
    turned = bore(LEAST_FIT=0.03, MOST_FIT=0.02)
    assert (turned.least_mm, turned.most_mm) == pytest.approx((80.97, 80.98)) != (usual.least_mm, usual.most_mm)


def test_the_blocks_material_counts_round_a_sleeve():
    made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
    iron = work(made)
    made.put(bores.MATERIAL, "aluminium_block")
    light = work(made)
    assert named(iron, "sleeve.hot.1").verdict == Verdict.GO and named(light, "sleeve.hot.1").verdict == Verdict.STOP
    pressure = [named(w, "sleeve.grip.1").figure("pressure_high").value for w in (iron, light)]
    assert pressure[1] < pressure[0]


def test_a_block_of_another_expansion_needs_another_heat():
    made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
    made.put(bores.EXPANSION, 12.0e-6)
    hot = named(work(made), "sleeve.fitting.1").value.value
    assert hot == pytest.approx(20 + (0.0567 + 0.05) / (12e-6 * (81 - 0.0567)))
    assert lame.GREY_IRON.expansion_per_k == constant("expansion.grey_iron").value


def test_a_single_sleeve_measured_once_is_bored_for_only_when_confirmed():
    made = job(WANTED="yes", OUTSIDE=81.0, INSIDE=75.5)
    assert {d.key for d in work_of(made.view(), sheet("sleeve")).doubts} == {"sleeve.once.1"}
    made.put(sleeve.OUTSIDE_AGAIN, 81.08, cylinder=1)
    assert {d.key for d in work_of(made.view(), sheet("sleeve")).doubts} == {"sleeve.again.1"}
    made.put(sleeve.OUTSIDE_AGAIN, 81.006, cylinder=1)
    assert work_of(made.view(), sheet("sleeve")).doubts == ()
