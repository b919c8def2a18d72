"""The straightness check of a machine: shapes put in come out, and each points to its part."""

import random

import numpy as np
import pytest

from logic import straightness as s
from logic.result import Verdict
from logic.say import Style, say

DEPTHS, AXES = (10.0, 60.0, 110.0), ("thrust", "crank")


def bore(taper=0.0, barrel=0.0, oval=0.0, noise=0.0, seed=1):
    """A bore of 80 mm with this taper (top less bottom), barrel and out-of-round (thrust less crank)."""
    rng = random.Random(seed)
    out = []
    for depth in DEPTHS:
        z = (depth - 60.0) / 50.0
        for axis in AXES:
            d = 80.0 - taper / 2 * z + barrel * (0.5 - z * z) + (oval / 2 if axis == "thrust" else -oval / 2)
            out.append((depth, axis, d + rng.gauss(0.0, noise)))
    return out


def test_what_was_bored_is_what_is_found():
    found = s.trial_form(bore(taper=0.02, barrel=-0.012, oval=0.015), 0.0015)
    assert (found.taper_mm, found.barrel_mm, found.oval_mm) == pytest.approx((0.02, -0.012, 0.015), abs=1e-9)


def test_how_sure_each_is_against_least_squares_by_numpy():
    z = np.array([(d - 60.0) / 50.0 for d, _, _ in bore()])
    side = np.array([0.5 if a == "thrust" else -0.5 for _, a, _ in bore()])
    design = np.column_stack([np.ones(6), -z / 2, 0.5 - z * z, side])
    cov = 0.0015**2 * np.linalg.inv(design.T @ design)
    found = s.trial_form(bore(), 0.0015)
    assert [found.taper_var_mm2, found.barrel_var_mm2, found.oval_var_mm2] == pytest.approx(list(np.diag(cov)[1:]))
    noisy = s.trial_form(bore(taper=0.01, noise=0.002, seed=4), 0.0015)
    y = np.array([d for _, _, d in bore(taper=0.01, noise=0.002, seed=4)])
    fit = np.linalg.lstsq(design, y, rcond=None)[0]
    assert (noisy.taper_mm, noisy.barrel_mm, noisy.oval_mm) == pytest.approx(tuple(fit[1:]), abs=1e-9)


@pytest.mark.parametrize(
    ("shape", "part", "word"),
    [
        ({"taper": 0.03}, "taper", "wider at the top"),
        ({"taper": -0.03}, "taper", "wider at the bottom"),
        ({"barrel": 0.02}, "feed", "Wider in the middle"),
        ({"barrel": -0.02}, "feed", "Tighter in the middle"),
        ({"oval": 0.02}, "spindle", "Out of round"),
    ],
)
def test_each_shape_points_to_its_part(shape, part, word):
    worst, *rest = s.trial(s.trial_form(bore(**shape), 0.0015), 0.0076)
    assert (worst.key, worst.verdict) == (f"straight.{part}", Verdict.STOP)
    assert word in say(worst.line)
    assert worst.cautions  # before anybody reaches for the spindle
    assert all(r.verdict == Verdict.GO for r in rest)


def test_close_to_the_limit_is_too_close_to_call():
    (taper, *_) = s.trial(s.trial_form(bore(taper=0.008), 0.0015), 0.0076)
    assert (taper.key, taper.verdict) == ("straight.taper", Verdict.MAYBE)
    assert s.trial_form(bore()[:2], 0.0015) is None  # one depth tells nothing


def test_along_a_square_a_lean_is_the_base_and_a_bend_the_slides():
    lean, bend = s.squared(s.square("thrust", [(0.0, 0.0), (50.0, 0.02), (100.0, 0.04)], 0.001), 0.01, 0.001)
    assert (lean.verdict, bend.verdict) == (Verdict.STOP, Verdict.GO)
    assert lean.value.value == pytest.approx(0.04)
    assert "dressed" in say(lean.why[0])
    lean, bend = s.squared(s.square("crank", [(0.0, 0.0), (50.0, 0.03), (100.0, 0.0)], 0.001), 0.01, 0.001)
    assert (lean.verdict, bend.verdict) == (Verdict.GO, Verdict.STOP)
    assert s.square("crank", [(0.0, 0.0)], 0.001) is None


def test_the_base_comes_first():
    assert s.base("clean") is None
    assert "wipe" in say(s.base(None).line)
    assert "Stone the burr off" in say(s.base("burr").line)
    assert "Grat" in say(s.base("burr").line, Style(language="de"))
