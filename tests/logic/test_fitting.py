"""Fitting pistons: against SciPy's assignment, every permutation, and arithmetic done again by hand."""

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from scipy.stats import norm

from logic.fitting import Grade, Piston, check_grade, choose_grades, limits_mm, pair_up, size_to_pistons, weigh
from logic.result import Verdict
from logic.say import say

IN = 25.4
TENTH = 0.00254

# Invented set: four pistons for +0.030 in on a 3.000 in bore, and the bores honed for them.
PISTONS = [Piston(number=n, size_mm=(3.0275 + t * 1e-4) * IN) for n, t in ((1, 4), (2, 0), (3, 6), (4, 2))]
BORES = {1: 3.0300 * IN, 2: 3.0306 * IN, 3: 3.0302 * IN, 4: 3.0304 * IN}
CLEARANCE = 0.0025 * IN


def paired_with(result, cylinder):
    """The number of the piston that a cylinder is paired with."""
    return {p.cylinder: p.piston for p in result.pairs}[cylinder]


def fitted(pistons=PISTONS, bores=BORES, **more):
    settings = {"clearance_mm": CLEARANCE, "low_mm": 0.0022 * IN, "high_mm": 0.0028 * IN, "u_bore_mm": 0.0} | more
    return pair_up(pistons, bores, **settings)


# -- pairing --------------------------------------------------------------------------------
def test_the_set_is_paired_large_to_large():
    result = fitted()
    assert {p.cylinder: p.piston for p in result.pairs} == {1: 2, 2: 3, 3: 4, 4: 1}
    assert result.worst_mm == pytest.approx(0, abs=1e-9)
    # numbered as they came, piston 2 in bore 2 has 6 tenths too much
    assert result.as_numbered_mm / TENTH == pytest.approx(6)
    assert result.verdict == Verdict.GO and result.confidence == 1
    assert paired_with(result, 2) == 3
    assert any("6" in say(w) and "numbered" in say(w) for w in result.why)


sizes = st.integers(-20, 20).map(lambda n: 76.9 + n * 0.0005)


@settings(max_examples=60, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=5), st.data())
def test_no_permutation_is_better(pistons, data):
    bores = data.draw(st.lists(sizes, min_size=1, max_size=len(pistons)))
    result = pair_up(
        [Piston(number=n, size_mm=s) for n, s in enumerate(pistons, 1)],
        {n: b + 0.05 for n, b in enumerate(bores, 1)},
        clearance_mm=0.05,
        low_mm=0.0,
        high_mm=0.1,
    )

    def score(order):
        offs = [abs(b - pistons[p]) for b, p in zip(bores, order, strict=False)]
        return round(max(offs), 9), sum(o * o for o in offs)

    best = min(score(o) for o in permutations(range(len(pistons)), len(bores)))
    assert result.worst_mm == pytest.approx(best[0], abs=1e-9)
    assert sum(p.off_mm**2 for p in result.pairs) == pytest.approx(best[1], abs=1e-9)
    assert len({p.piston for p in result.pairs}) == len(bores)
    assert len(result.spare) == len(pistons) - len(bores)


@settings(max_examples=30, deadline=None)
@given(st.integers(2, 16), st.integers(0, 10_000))
def test_a_whole_set_is_paired_in_order_of_size(n, seed):
    # With as many pistons as bores, pairing in order of size is best for the worst
    # deviation and for the squares alike (a rearrangement inequality), and SciPy agrees.
    rng = np.random.default_rng(seed)
    pistons, bores = rng.normal(76.9, 0.005, n), rng.normal(76.95, 0.005, n)
    result = pair_up(
        [Piston(number=i, size_mm=s) for i, s in enumerate(pistons, 1)],
        dict(enumerate(bores, 1)),
        clearance_mm=0.05,
        low_mm=0,
        high_mm=1,
    )
    in_order = np.sort(bores) - np.sort(pistons) - 0.05
    assert result.worst_mm == pytest.approx(np.abs(in_order).max(), abs=1e-12)
    squares = (bores[:, None] - pistons[None, :] - 0.05) ** 2
    assert sum(p.off_mm**2 for p in result.pairs) == pytest.approx(
        squares[linear_sum_assignment(squares)].sum(), abs=1e-12
    )


def test_a_better_spare_is_used():
    result = fitted([*PISTONS, Piston(number=9, size_mm=3.0279 * IN)], {1: 3.0304 * IN})
    assert paired_with(result, 1) in (1, 9) and len(result.spare) == 4


def test_pairs_already_made_are_judged_as_they_are():
    result = fitted(fitted={1: 1, 2: 2, 3: 3, 4: 4})
    assert {p.cylinder: p.piston for p in result.pairs} == {1: 1, 2: 2, 3: 3, 4: 4}
    assert result.worst_mm / TENTH == pytest.approx(6) and result.best_mm == pytest.approx(0, abs=1e-9)
    assert result.verdict == Verdict.STOP and "The best pairing would still be" in say(result.why[-1])
    for wrong in ({1: 1, 2: 1, 3: 3, 4: 4}, {1: 1, 2: 2, 3: 3}, {1: 1, 2: 2, 3: 3, 4: 7}):
        with pytest.raises(ValueError, match="none twice"):
            fitted(fitted=wrong)


def within(off, u, limit):
    """Bayes on a fine grid: a bore comes out within 0.01 mm of the size wanted, one in ten within 0.05 (one deviation)."""
    x = np.linspace(-0.4, 0.4, 160_001)
    p = (0.9 * norm.pdf(x, 0, 0.01) + 0.1 * norm.pdf(x, 0, 0.05)) * norm.pdf(off, x, u)
    return p[np.abs(x) <= limit].sum() / p.sum()


def test_chances_weigh_the_reading_against_what_honing_makes_and_decide():
    u = 2.0 * TENTH
    result = fitted(u_bore_mm=u)
    each = within(0.0, u, 0.3e-3 * IN)
    assert [p.within for p in result.pairs] == pytest.approx([each] * 4, abs=2e-4)
    assert result.verdict == Verdict.MAYBE
    assert fitted(u_bore_mm=0.5 * TENTH).verdict == Verdict.GO
    own = fitted(u_bore_mm=u, fitted={1: 1, 2: 2, 3: 3, 4: 4})
    for pair in own.pairs:
        assert pair.within == pytest.approx(within(pair.off_mm, u, 0.3e-3 * IN), abs=1e-3)
    assert fitted(u_bore_mm=1.4 * TENTH).confidence == pytest.approx(within(0.0, 1.4 * TENTH, 0.3e-3 * IN), abs=2e-4)


def test_too_tight_and_too_loose_stop_and_say_which():
    tight = fitted(bores=BORES | {2: 3.0290 * IN})
    assert tight.verdict == Verdict.STOP and "Hone that bore further" in say(tight.line)
    loose = fitted(bores=BORES | {2: 3.0330 * IN})
    assert loose.verdict == Verdict.STOP and "larger piston" in say(loose.line)
    assert "Cylinder 2" in say(loose.line)


def test_influences_name_the_weaker_measurement():
    result = fitted([Piston(number=p.number, size_mm=p.size_mm, u_mm=0.002) for p in PISTONS], u_bore_mm=0.001)
    assert say(result.influences[0].name) == "Measuring the pistons"
    assert result.influences[0].share == pytest.approx(0.8)


def test_limits_of_clearance_never_go_below_nothing():
    assert limits_mm(0.05, 0.0127) == pytest.approx((0.0373, 0.0627))
    assert limits_mm(0.01, 0.0127) == pytest.approx((0.0, 0.0227))


# -- each bore to its own piston --------------------------------------------------------------
def test_bores_are_sized_to_their_own_pistons_with_even_stock():
    # bored sizes as found; the largest piston belongs in the largest hole
    now = {1: 3.0272 * IN, 2: 3.0268 * IN, 3: 3.0274 * IN, 4: 3.0270 * IN}
    result = size_to_pistons(PISTONS, now, clearance_mm=CLEARANCE, stock_mm=0.003 * IN)
    assert {s.cylinder: s.piston for s in result.sizes} == {1: 1, 2: 2, 3: 3, 4: 4}
    assert result.finished_mm(3) == pytest.approx(3.0306 * IN)
    assert [s.stock_mm / 0.0254 for s in result.sizes] == pytest.approx([3.2] * 4)
    assert result.value.value / TENTH == pytest.approx(6)
    assert result.verdict == Verdict.GO


def test_a_bore_already_too_large_stops():
    now = {1: 3.0272 * IN, 2: 3.0310 * IN}
    result = size_to_pistons(PISTONS, now, clearance_mm=CLEARANCE, stock_mm=0.003 * IN)
    assert result.verdict == Verdict.STOP and "already larger" in say(result.line)
    thin = size_to_pistons(
        PISTONS[:1], {1: 3.0300 * IN}, clearance_mm=CLEARANCE, stock_mm=0.003 * IN, least_stock_mm=0.001 * IN
    )
    assert thin.verdict == Verdict.STOP and "only" in say(thin.line)


# -- grades --------------------------------------------------------------------------------
GRADES = [Grade(name=n, low_mm=76.900 + i * 0.01, high_mm=76.910 + i * 0.01) for i, n in enumerate("ABC")]


def test_each_bore_takes_the_grade_nearest_to_the_wanted_clearance():
    bores = {1: 76.955, 2: 76.966, 3: 76.957, 4: 76.974}
    result = choose_grades(bores, GRADES, clearance_mm=0.050, low_mm=0.040, high_mm=0.060)
    assert result.grades == {1: "A", 2: "B", 3: "A", 4: "C"}
    assert result.order == {"A": 2, "B": 1, "C": 1}
    assert result.verdict == Verdict.GO
    assert say(result.line) == "Order 2 of grade A, 1 of grade B, 1 of grade C."


def test_a_grade_that_only_partly_fits_is_measured_and_one_that_cannot_stops():
    partly = choose_grades({1: 76.955}, GRADES, clearance_mm=0.050, low_mm=0.048, high_mm=0.060)
    assert partly.verdict == Verdict.MAYBE and "cylinder 1" in say(partly.line)
    never = choose_grades({1: 76.955, 2: 77.2}, GRADES, clearance_mm=0.050, low_mm=0.040, high_mm=0.060)
    assert never.verdict == Verdict.STOP and "cylinder 2" in say(never.line)


def test_a_mark_that_disagrees_with_the_micrometer_is_named():
    assert check_grade(Piston(number=1, size_mm=76.905), GRADES[0]).verdict == Verdict.GO
    assert check_grade(Piston(number=1, size_mm=76.9115, u_mm=0.001), GRADES[0]).verdict == Verdict.GO
    wrong = check_grade(Piston(number=1, size_mm=76.915), GRADES[0], GRADES)
    assert wrong.verdict == Verdict.STOP and "as grade B should" in say(wrong.line)
    lost = check_grade(Piston(number=1, size_mm=77.5), GRADES[0], GRADES)
    assert "gauge point" in say(lost.line)


# -- weights ---------------------------------------------------------------------------------
def test_spread_and_what_to_take_off():
    result = weigh({1: 412.0, 2: 409.5, 3: 418.2, 4: 411.0})
    assert result.spread_g == pytest.approx(8.7)
    assert result.verdict == Verdict.STOP and "Piston 3" in say(result.line)
    assert result.off_g == pytest.approx({1: 2.5, 2: 0.0, 3: 8.7, 4: 1.5})
    assert [c.key for c in result.cautions] == ["fitting_balance"]
    good = weigh({1: 412.0, 2: 409.5, 3: 413.2, 4: 411.0})
    assert good.verdict == Verdict.GO and not good.cautions
    assert weigh({1: 412.0, 2: 409.5}, mixed_sizes=True).cautions
    assert weigh({1: 400, 2: 404.9}, u_g=0.5).verdict == Verdict.MAYBE
    # two pistons: their true difference has a closed form for each spread that a set may have
    times = 0.35 * 1.6 ** np.arange(8)
    shares = norm.pdf(4.9, 0, 0.5 * np.sqrt(2 * (1 + times**2)))
    part = times**2 / (1 + times**2)
    law = norm(part * 4.9, 0.5 * np.sqrt(2 * part))
    expected = (shares * (law.cdf(5) - law.cdf(-5))).sum() / shares.sum()
    assert weigh({1: 400, 2: 404.9}, u_g=0.5).confidence == pytest.approx(expected, abs=1e-3)


def test_shaking_force_is_the_mass_times_the_greatest_acceleration():
    # first-order motion x = r cos(wt): differentiate it twice numerically
    stroke, spin, dm = 88.9, 5000.0, 4.0
    w, r = 2 * math.pi * spin / 60, stroke / 2000
    h = 1e-6
    x = lambda t: r * math.cos(w * t)  # noqa: E731
    acceleration = (x(h) - 2 * x(0) + x(-h)) / h**2
    assert weigh({1: 400, 2: 404.0}, stroke_mm=stroke, spin_rpm=spin).force_n == pytest.approx(
        -acceleration * dm / 1000, rel=1e-4
    )


@pytest.mark.parametrize(
    "call",
    [
        lambda: fitted(PISTONS[:2]),
        lambda: fitted(PISTONS + PISTONS[:1]),
        lambda: fitted(bores={}),
        lambda: fitted(bores={1: -3.0}),
        lambda: fitted(low_mm=0.1, high_mm=0.2),
        lambda: fitted(wanted=0.4),
        lambda: Piston(number=1, size_mm=math.nan),
        lambda: Grade(name="A", low_mm=2, high_mm=1),
        lambda: choose_grades({1: 77.0}, [GRADES[0], GRADES[0]], clearance_mm=0.05, low_mm=0.04, high_mm=0.06),
        lambda: weigh({1: 400.0}),
        lambda: weigh({1: 400.0, 2: 0.0}),
        lambda: size_to_pistons(PISTONS, BORES, clearance_mm=0.05, stock_mm=0.05, least_stock_mm=0.1),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError):
        call()
