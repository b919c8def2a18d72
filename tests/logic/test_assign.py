"""Pairing, against SciPy's own solver and against trying every permutation."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from logic.assign import MOST, even, least_sum, least_worst

numbers = st.floats(-5, 5, allow_nan=False).map(lambda x: round(x, 4))


@st.composite
def matrices(draw, most=7):
    rows = draw(st.integers(1, most))
    columns = draw(st.integers(rows, most))
    return [[draw(numbers) for _ in range(columns)] for _ in range(rows)]


def total(cost, columns):
    return sum(cost[r][c] for r, c in enumerate(columns))


@settings(max_examples=150, deadline=None)
@given(matrices())
def test_least_sum_is_scipys(cost):
    ours = least_sum(cost)
    assert len(set(ours)) == len(cost)
    assert total(cost, ours) == pytest.approx(np.array(cost)[linear_sum_assignment(np.array(cost))].sum(), abs=1e-9)


@pytest.mark.parametrize("n", [12, 16])
def test_sixteen_cylinders_agree_with_scipy(n):
    rng = np.random.default_rng(n)
    for _ in range(20):
        cost = rng.uniform(0, 1, (n, n))
        ours = least_sum(cost.tolist())
        assert sorted(ours) == list(range(n))
        assert total(cost, ours) == pytest.approx(cost[linear_sum_assignment(cost)].sum(), abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(matrices(most=5))
def test_even_is_the_best_of_all_permutations(deviation):
    rows, columns = len(deviation), len(deviation[0])

    def score(choice):
        ds = [abs(deviation[r][c]) for r, c in enumerate(choice)]
        return max(ds), sum(d * d for d in ds)

    best = min(score(p) for p in permutations(range(columns), rows))
    ours = score(even(deviation))
    assert ours[0] == pytest.approx(best[0], abs=1e-8)
    assert ours[1] == pytest.approx(best[1], abs=1e-9)
    assert least_worst([[abs(d) for d in row] for row in deviation]) == best[0]


def test_micrometre_sized_deviations_keep_their_order():
    # thousandths of a millimetre: squares of 1e-6 must still be told apart from the bar
    deviation = [[0.001, 0.003], [0.003, 0.0031]]
    assert even(deviation) == (1, 0)  # worst 0.003; the straight pairing has 0.0031


def test_the_last_digits_of_a_subtraction_do_not_choose():
    # the worst is 0.0025 either way, once with noise in its last digits: the squares must decide
    noisy = 76.9 - 76.8975
    assert noisy > 0.0025
    assert even([[noisy, 0.0025], [0.0024, 0.0]]) == (0, 1)


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        ([[1, 2], [3]], "same number"),
        ([[1], [2]], "column of their own"),
        ([[float("nan")]], "finite"),
        ([[0.0] * (MOST + 1)], "more than"),
    ],
)
def test_bad_matrices_are_refused(cost, words):
    with pytest.raises(ValueError, match=words):
        least_sum(cost)


def test_nothing_to_pair():
    assert least_sum([]) == () and even([]) == () and least_worst([]) == 0.0
