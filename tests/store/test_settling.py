"""What settles an answer that is too close to call: worth by numbers, and what each step then advises."""

import numpy as np
import pytest
from scipy import stats

from logic import settle
from logic.say import L, Style, say
from store.facts.settling import next_cut, next_final, next_height, next_wall
from store.fields import bores, cut, face, final, sizes, walls

from .making import Making

MM = Style("mm")


def said(result):
    return [] if result is None else [say(line, MM).replace("\u202f", " ") for line in (result.line, *result.why)]


@pytest.mark.parametrize(("spare", "u", "after"), [(0.2, 0.5, 0.1), (-0.3, 0.4, 0.25), (0.05, 0.2, 0.19)])
def test_worth_against_a_simulation(spare, u, after):
    """Truth, then a reading of it, then in, out or open, whichever costs least: NumPy and SciPy, 200 000 draws."""
    got = settle.worth(spare, u, settle.Check(L("x"), 1.0, after))
    rng = np.random.default_rng(3)
    u_read = 1 / np.sqrt(1 / after**2 - 1 / u**2)
    true = rng.normal(spare, u, 200_000)
    read = true + rng.normal(0, u_read, true.size)
    mean = (spare / u**2 + read / u_read**2) * after**2
    p = stats.norm.cdf(mean / after)
    now = stats.norm.cdf(spare / u)
    called = np.minimum(p, 1 - p) < 0.05
    wrong = np.where(mean > 0, true < 0, true > 0)
    cost = np.mean(np.where(called, 20 * wrong, 1.0))
    assert min(1.0, 20 * min(now, 1 - now)) - got.saved == pytest.approx(cost, abs=0.02)
    assert got.settles == pytest.approx(np.mean(np.minimum(p, 1 - p) <= 0.05), abs=0.03)


def test_the_best_for_a_minute_comes_first_and_never_more_than_three():
    checks = [settle.Check(L("slow"), 30.0, 0.05), *(settle.Check(L("quick"), 1.0 + k, 0.10) for k in range(4))]
    found = settle.ranked(0.1, 0.3, checks)
    assert len(found) == 3 and [w.check.minutes for w in found] == [1.0, 2.0, 3.0]
    assert settle.ranked(0.1, 0.3, [settle.Check(L("nothing"), 1.0, 0.3)]) == ()
    assert settle.ranked(5.0, 0.3, checks) == ()  # nobody doubts it


def walled(shown, tried):
    made = Making(nominal=76.2, cylinders=1)
    for d, row in {1: (0.2, 0.1), 2: (0.1, 0.05), 3: (0.0, 0.0)}.items():
        for axis, mm in zip(("thrust", "crank"), row, strict=True):
            made.put(bores.READING, mm, cylinder=1, depth=d, axis=axis)
    made.decide("oversize", "+0.762", number=0.762)
    for angle in (0, 90, 180, 270):
        made.put(walls.READING, shown, cylinder=1, angle=angle)
    if tried:
        made.put(walls.KNOWN, 5.0, piece=1)
        made.put(walls.SHOWN, 5.0, piece=1)
    return made.view()


def test_a_wall_gauge_that_was_not_tried_is_tried_first():
    advice = said(next_wall(walled(4.3, tried=False)))
    assert advice and advice[0].startswith("Try the thickness gauge on a known piece of this metal: settles it in")
    # tried, what is left to be gained is the side of the wear: 29 of 71 µm
    assert said(next_wall(walled(3.42, tried=True)))[0].startswith("Sweep cylinder 1, to see which side wore")
    assert next_wall(walled(9.0, tried=True)) is None


def test_heights_too_close_to_call_ask_for_more():
    made = Making(nominal=76.2, cylinders=1)
    made.put(bores.LENGTH, 130.0)
    slope = 0.05 / 130  # right at the limit of 0.05 mm
    for n, (x, y) in enumerate(((0.0, -60.0), (0.0, 60.0), (400.0, -60.0), (400.0, 60.0)), 1):
        made.put(face.X, x, point=n)
        made.put(face.Y, y, point=n)
        made.put(face.HEIGHT, 200.0 + slope * y, point=n)
    advice = said(next_height(made.view()))
    assert advice and all("height" in line and " of 10 cases, " in line for line in advice)


def test_a_cut_too_near_what_the_hone_needs_asks_for_another_pair():
    made = Making(nominal=76.2, cylinders=1)
    for d, row in {1: (0.2, 0.1), 2: (0.1, 0.05), 3: (0.0, 0.0)}.items():
        for axis, mm in zip(("thrust", "crank"), row, strict=True):
            made.put(bores.READING, mm, cylinder=1, depth=d, axis=axis)
    made.decide("oversize", "+0.762", number=0.762)
    made.put(sizes.CLEARANCE, 0.06)
    made.put(sizes.PISTON, 76.902, cylinder=1)
    made.put(sizes.HONE_STOCK, 0.046)
    made.put(cut.SETTING, 76.55, cylinder=1, **{"pass": 1})
    made.put(cut.MEASURED, 76.56, cylinder=1, **{"pass": 1})
    advice = said(next_cut(made.view()))
    assert advice and "short cut" in advice[0]
    made.put(cut.LEAST_HONE, 0.008)
    assert next_cut(made.view()) is None


def test_a_finished_bore_too_close_to_call_says_what_to_do():
    made = Making(nominal=76.2, cylinders=1)
    made.decide("oversize", "+0.762", number=0.762)
    made.put(sizes.CLEARANCE, 0.06)
    made.put(sizes.PISTON, 76.902, cylinder=1)
    made.put(final.ZERO, 76.962)
    made.put(final.DIVISION, 0.001)
    for d in (1, 2, 3):
        for axis in ("thrust", "crank"):
            made.put(final.READING, 0.011, cylinder=1, depth=d, axis=axis)
    advice = said(next_final(made.view()))
    assert advice and len(advice) <= 3 and all(" of 10 cases, " in line for line in advice)
    for d in (1, 2, 3):
        for axis in ("thrust", "crank"):
            made.put(final.READING, 0.001, cylinder=1, depth=d, axis=axis)
    made.put(final.REPEAT, 0.001)
    assert next_final(made.view()) is None
