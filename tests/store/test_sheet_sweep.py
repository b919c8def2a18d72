"""The step for the sweep: from indicator readings in the log to centre and clean-up diameter. Invented figures."""

from __future__ import annotations

import math

import pytest

from logic.pictures import SweepRing
from logic.result import Verdict
from logic.say import Style, say
from store.facts.evidence_sweep import sweep_doubts
from store.sheets import bores, face, oversize, sweep, walls
from store.sheets.sweep import READING, ZERO

from .making import Making

MM = Style(length="mm")
ANGLES = range(0, 360, 45)
WEAR = {1: 0.12, 2: 0.06, 3: 0.0}  # at the left, by depth


def reading(depth, angle, front=0.03, left=-0.02):
    """A bore off the spindle, worn at the left toward the top."""
    a = math.radians(angle)
    return front * math.cos(a) + left * math.sin(a) + WEAR[depth] * max(0.0, math.sin(a)) ** 2


def job(cylinders=(1,), depths=(1, 2, 3), zero=86.0, sign=1):
    made = Making(nominal=86.0, cylinders=2)
    made.put(bores.LENGTH, 150.0)
    for c in cylinders:
        if zero is not None:
            made.put(ZERO, zero, cylinder=c)
        for d in depths:
            for a in ANGLES:
                made.put(READING, sign * reading(d, a), cylinder=c, depth=d, angle=a)
    return made


def test_a_swept_cylinder():
    view = job().view()
    found = sweep.swept(view, 1)
    assert found.unworn_centre_mm == pytest.approx((0.03, -0.02), abs=1e-4)
    # worn 0.12 at the left, unworn opposite, so 0.12 more than the bore, cut half-way over
    assert found.read_mm == pytest.approx(86.12, abs=2e-3)
    assert found.centre_mm[1] == pytest.approx(-0.02 + 0.06, abs=2e-3)
    assert found.clean_mm > found.read_mm and 0.008 < found.u_mm < 0.03
    assert sweep.swept(view, 2) is None
    work = sweep.SHEET.work(view)
    assert work.done and not work.missing and work.results == (found,)
    assert isinstance(work.pictures[0], SweepRing)
    assert "once the spindle moves" in say(work.results[0].line, MM)


def test_the_sweep_decides_the_oversize():
    made = job(cylinders=(1, 2))
    for c in (1, 2):
        for d in (1, 2, 3):
            made.put(bores.READING, WEAR[d], cylinder=c, depth=d, axis="thrust")
            made.put(bores.READING, 0.0, cylinder=c, depth=d, axis="crank")
    view = made.view()
    cleanups = oversize.cleanups(view)
    assert cleanups[1].source == "swept"
    assert cleanups[1].mean_mm == pytest.approx(sweep.swept(view, 1).clean_mm)
    assert oversize.choice(view).line.template


def test_an_indicator_that_counts_down():
    made = job(sign=-1)
    made.put(sweep.SIGN, "down")
    assert sweep.swept(made.view(), 1).read_mm == pytest.approx(sweep.swept(job().view(), 1).read_mm)


def test_zero_from_the_gap():
    made = job(zero=None)
    made.put(sweep.GAP, 24.0, cylinder=1)
    assert sweep.zero(made.view(), 1) is None  # no spindle yet
    made.put(sweep.SPINDLE, 38.0)
    assert sweep.zero(made.view(), 1).diameter_mm == pytest.approx(86.0)
    assert sweep.swept(made.view(), 1).read_mm == pytest.approx(86.12, abs=2e-3)


def test_zero_from_the_bore_gauge():
    made = job(zero=None)
    work = sweep.SHEET.work(made.view())
    assert work.missing == (("sweep.zero", {"cylinder": 1}),) and not work.results
    for d in (1, 2, 3):
        made.put(bores.READING, WEAR[d], cylinder=1, depth=d, axis="thrust")
        made.put(bores.READING, 0.0, cylinder=1, depth=d, axis="crank")
    view = made.view()
    assert sweep.zero(view, 1).n == 6
    assert sweep.zero(view, 1).diameter_mm == pytest.approx(86.0, abs=1e-4)
    assert sweep.SHEET.work(view).done


def test_a_warm_block():
    """ISO 1: a diameter of 86.000 set at 20 °C and met in grey iron at 40 °C is 86 / (1 + 11e-6 · 20) at 20 °C."""
    made = job()
    made.put(bores.BLOCK_C, 40.0)
    assert sweep.zero(made.view(), 1).diameter_mm == pytest.approx(86.0 / (1 + 11e-6 * 20), abs=1e-9)


def test_lean_of_the_face_reaches_the_sweep():
    def top_only(slope):
        made = job(depths=(1,))
        for n, (x, y) in enumerate(((0, 70), (0, -70), (300, 70), (300, -70)), 1):
            made.put(face.X, x, point=n)
            made.put(face.Y, y, point=n)
            made.put(face.HEIGHT, 230 + slope * y, point=n)
        made.put(face.HEIGHT_U, 0.001)
        return sweep.swept(made.view(), 1)

    level, leaning = top_only(0.0), top_only(0.0006)
    # 0.09 over the bore: the ring at 12 mm is carried on to both ends
    assert leaning.clean_mm - level.clean_mm > 0.03
    assert leaning.u_mm > 0 and any("Beyond the depths swept" in say(a.text) for a in leaning.assumptions)


def test_measured_walls_are_weighed():
    made = job()
    for a, t in ((0, 5.0), (90, 4.0), (180, 5.0), (270, 5.0)):
        made.put(walls.READING, t, cylinder=1, angle=a)
    found = sweep.swept(made.view(), 1)
    left = {say(w.name): w for w in found.walls}
    assert set(left) == {"the front", "the left", "the rear", "the right"}
    # at the left the surface lies 0.02 inward of the zero and 0.06 out, midway 0.04; the cut stands at 0.1 and more
    # the gauge was not tried on this iron: 4.0 shown counts as midway between all of it and 3500/5920
    true = 4.0 * (1 + 3500 / 5920) / 2
    assert left["the left"].left.value == pytest.approx(
        true + 0.04 - (found.centre_mm[1] + (found.clean_mm - 86.0) / 2), abs=5e-3
    )
    made.put(walls.READING, 1.0, cylinder=1, angle=90)
    assert sweep.swept(made.view(), 1).verdict == Verdict.STOP
    assert not sweep.SHEET.work(made.view()).done


def test_a_spindle_set_over_on_purpose():
    made = job()
    made.put(sweep.SET_OVER, 0.02, cylinder=1)
    made.put(sweep.SET_TOWARD, "rear", cylinder=1)
    said = [say(w, MM) for w in sweep.swept(made.view(), 1).why]
    # the unworn centre lies 0.03 to the front and 0.02 to the right, so the spindle stands 0.03 rear and 0.02 left of it
    assert any(
        "set over 0.030\u202fmm toward the rear and 0.020\u202fmm toward the left, and misses by 0.022" in s
        for s in said
    )


def test_what_is_missing():
    made = Making(nominal=86.0, cylinders=2)
    work = sweep.SHEET.work(made.view())
    assert len(work.missing) == 2 * 3 * 8 and not work.done
    made.put(sweep.ROUND, "12")
    assert len(sweep.SHEET.work(made.view()).missing) == 2 * 3 * 12
    part = job(depths=(1, 3))
    assert sweep.SHEET.work(part.view()).missing == ()  # the middle was left out on purpose
    part.put(READING, 0.0, cylinder=1, depth=2, angle=0)
    work = sweep.SHEET.work(part.view())
    assert [p["angle"] for _, p in work.missing] == [45, 90, 135, 180, 225, 270, 315] and not work.done
    assert len(work.results) == 1


def test_places_are_named():
    place = sweep.SHEET.groups[0].places(job().view())[2]
    assert place == {"cylinder": 1, "depth": 1, "angle": 90}
    assert say(sweep.SHEET.groups[0].name(place)) == "Cylinder 1, depth 1, toward the left, 90°"


def test_a_sweep_in_a_job_with_no_nominal_bore_is_looked_at_all_the_same():
    made = job()
    del made.header["nominal"]
    assert sweep_doubts(made.view(), 1) == ()
