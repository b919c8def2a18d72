"""What to measure next: the expected value of a reading, and whether following it saves readings."""

import math
import random

import numpy as np
import pytest

from logic.bore import WornBore
from logic.cleanup import WearSide, clean_up, from_sweep
from logic.cleanup_chance import BoreLean
from logic.measure_next import (
    MINUTES,
    U_SLOPE,
    U_SWEPT_MM,
    Measured,
    Option,
    _worth,
    advise,
    if_square,
    least_loss,
    options_of,
    told,
)
from logic.say import Style, say

D = 76.2
STEPS = [D + s - 0.0762 for s in (0.254, 0.508, 0.762, 1.016, 1.524)]


def bore(cylinder, wear, first=14.0, ring_top=12.0):
    return WornBore(
        cylinder=cylinder,
        depths_mm=(first, 55.0, 115.0),
        axes=("thrust", "crank"),
        d_mm=((D + wear, D + wear * 0.5), (D + wear * 0.4, D + wear * 0.2), (D, D)),
        u_mm=0.004,
        u_common_mm=0.003,
        nominal_mm=D,
        ring_top_mm=ring_top,
        ring_bottom_mm=110.0,
    )


def measured(cylinder, wear, known="unknown", **more):
    worn, side = bore(cylinder, wear, **more), WearSide(known=known)
    return Measured(clean_up(worn, side), worn, side)


def test_the_least_loss_asks_for_the_wanted_confidence():
    """With S = 1/(1 − 0.95) a step more is taken exactly where the smaller one is surer by less than 95 %."""
    assert least_loss((0.96, 1.0), 0.95)[1] == 0
    assert least_loss((0.94, 1.0), 0.95)[1] == 1
    assert least_loss((0.0, 0.0), 0.95) == (pytest.approx(20.0), 0)


def test_a_perfect_reading_of_two_outcomes_by_hand():
    """Two steps, chances 0.6 and 1. Now: min(20·0.4, 1) = 1. Told the truth: 0 in 6 of 10 cases, 1 in 4. Saved: 0.6."""
    option = Option("sweep", 1, 4.0, ((0.6, (1.0, 1.0)), (0.4, (0.0, 1.0))))
    found = _worth(option, (1.0, 1.0), 1.0, 0.95)
    assert found.saved == pytest.approx(0.6)
    assert found.settles == pytest.approx(1.0)


def test_a_settled_choice_asks_for_nothing_more():
    assert advise([measured(1, 0.05)], STEPS, u_bored_mm=0.005, wanted=0.95) == ()
    swept = Measured(from_sweep(1, D + 0.3, 0.004, worst_mm=D + 0.25, unworn_mm=D))
    assert advise([swept], STEPS, u_bored_mm=0.005, wanted=0.95) == ()


def test_the_bore_whose_side_decides_is_swept_first():
    """0.3 mm of wear: +0.020 if even, +0.030 if one side. Cylinders 1 and 3 need no more than +0.020 either way."""
    jobs = [measured(1, 0.15), measured(2, 0.3), measured(3, 0.12)]
    best = advise(jobs, STEPS, u_bored_mm=0.005, wanted=0.95)[0]
    assert (best.kind, best.cylinder) == ("sweep", 2)
    assert best.settles > 0.6


def test_where_the_top_was_missed_it_is_read_first_by_the_minute():
    jobs = [measured(1, 0.14, known="even", first=34.0)]
    best = advise(jobs, STEPS, u_bored_mm=0.005, wanted=0.95)
    if best:
        assert best[0].kind == "top"
    said = told(advise([measured(1, 0.2, first=34.0)], STEPS, u_bored_mm=0.005, wanted=0.95), top_mm=15.0)
    assert said is not None


def test_the_same_job_gets_the_same_advice():
    jobs = [measured(1, 0.3), measured(2, 0.28)]
    assert advise(jobs, STEPS, u_bored_mm=0.005, wanted=0.95) == advise(jobs, STEPS, u_bored_mm=0.005, wanted=0.95)


def test_expected_chances_after_a_sweep_are_those_before_it():
    """A reading moves beliefs but not their mean (law of total probability), within the grid's steps."""
    m = measured(1, 0.3)
    sweep = next(o for o in options_of(m, STEPS, u_bored_mm=0.005) if o.kind == "sweep")
    weights = [w for w, _ in sweep.outcomes]
    for a, bored in enumerate(STEPS[:3]):
        mean = np.average([chances[a] for _, chances in sweep.outcomes], weights=weights)
        assert mean == pytest.approx(m.cleanup.probability(bored, 0.005), abs=0.02)


def test_following_the_advice_takes_fewer_sweeps_than_going_through_the_bores():
    """Hidden truth: the share of the wear on one side, even from 1/2 to 1. A sweep reads the clean-up diameter."""
    rng = random.Random(11)
    fixed, advised = [], []
    for _ in range(12):
        wears = [rng.uniform(0.1, 0.38) for _ in range(4)]
        truth = {c: D + 2 * rng.uniform(0.5, 1.0) * w for c, w in enumerate(wears, 1)}
        fixed.append(_sweeps(wears, truth, rng, follow=False))
        advised.append(_sweeps(wears, truth, rng, follow=True))
    assert sum(advised) < 0.8 * sum(fixed)


def _sweeps(wears, truth, rng, *, follow):
    jobs = {c: measured(c, w) for c, w in enumerate(wears, 1)}
    for done in range(len(jobs)):
        advice = advise(list(jobs.values()), STEPS, u_bored_mm=0.005, wanted=0.95)
        if not advice:
            return done
        left = [c for c, m in jobs.items() if m.cleanup.source != "swept"]
        c = advice[0].cylinder if follow else left[0]
        read = truth[c] + rng.gauss(0, U_SWEPT_MM)
        jobs[c] = Measured(from_sweep(c, read, U_SWEPT_MM, worst_mm=D + wears[c - 1], unworn_mm=D))
    return len(jobs)


def test_words_name_the_bore_the_chance_and_the_minutes():
    jobs = [measured(1, 0.15), measured(2, 0.3)]
    said = told(advise(jobs, STEPS, u_bored_mm=0.005, wanted=0.95), top_mm=15.0)
    assert said is not None
    text = say(said.line, Style("mm"))
    assert text.startswith("Sweep cylinder 2: settles it in ")
    assert "of 10 cases, 4 min" in text
    assert MINUTES["sweep"] == 4.0
    assert math.isclose(sum(MINUTES.values()), 21.5)


def test_what_a_square_deck_would_change_is_told_beside_the_checks():
    """Nobody measured the deck: the chance then, and the one that a deck found square would give."""
    worn, side = bore(1, 0.2), WearSide(known="even")
    open_deck, square = BoreLean.unmeasured(130.0, 130.0), BoreLean(0.0, 0.0, U_SLOPE * 130.0, 130.0, 130.0)
    job = [Measured(clean_up(worn, side, open_deck), worn, side, open_deck)]
    steps = [D + 0.26, D + 0.5]
    found = if_square(job, steps, u_bored_mm=0.005, wanted=0.95)
    assert found is not None
    assert found.now == pytest.approx(clean_up(worn, side, open_deck).probability(steps[found.place], 0.005))
    assert found.square == pytest.approx(clean_up(worn, side, square).probability(steps[found.place], 0.005))
    assert found.square > found.now + 0.05
    advice = advise(job, steps, u_bored_mm=0.005, wanted=0.95)
    said = told(advice, top_mm=14.0, square=found, steps_mm=[0.254, 0.508])
    assert said is not None and "If the deck turns out square" in say(said.why[-1])
    measured_deck = [Measured(clean_up(worn, side, square), worn, side, square)]
    assert if_square(measured_deck, steps, u_bored_mm=0.005, wanted=0.95) is None
