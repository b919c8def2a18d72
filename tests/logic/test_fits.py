"""ISO 286-1: grades against the standard's own formula, letters against a printed table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.constants import tolerance_grade_mm

from .iso_286 import fit, shaft_deviation_mm

# ISO 286-1: i = 0.45 D^(1/3) + 0.001 D (µm), D the geometric mean of the range's ends;
# IT5 = 7i, IT6 = 10i, IT7 = 16i, IT8 = 25i, then rounded to the published values.
RANGES = [(30, 50), (50, 80), (80, 120), (120, 180), (180, 250), (250, 315)]


@pytest.mark.parametrize(("low", "high"), RANGES)
@pytest.mark.parametrize(("grade", "times"), [(5, 7), (6, 10), (7, 16), (8, 25)])
def test_grades_follow_the_formula_within_rounding(low, high, grade, times):
    d = math.sqrt(low * high)
    i = 0.45 * d ** (1 / 3) + 0.001 * d
    assert tolerance_grade_mm(grade, (low + high) / 2) * 1000 == pytest.approx(times * i, abs=1.0)


def test_values_of_the_standard():
    # ISO 286-1:2010, table of standard tolerance grades: 50–80 and 80–120 mm
    assert tolerance_grade_mm(6, 76.2) == 0.019
    assert tolerance_grade_mm(7, 76.2) == 0.030
    assert tolerance_grade_mm(6, 100) == 0.022
    assert tolerance_grade_mm(7, 100) == 0.035
    assert (tolerance_grade_mm(7, 80), tolerance_grade_mm(7, 80.001)) == (0.030, 0.035)  # "up to and including"


@pytest.mark.parametrize(
    # Table 15.2 of a textbook of machine drawing (Narayana, Kannaiah and Venkata Reddy),
    # fundamental deviations of shafts, micrometres.
    ("size", "p", "r", "s"),
    [
        (35, 26, 34, 43),
        (60, 32, 41, 53),
        (70, 32, 43, 59),
        (90, 37, 51, 71),
        (110, 37, 54, 79),
        (130, 43, 63, 92),
        (170, 43, 68, 108),
    ],
)
def test_shaft_letters(size, p, r, s):
    assert [shaft_deviation_mm(x, size) * 1000 for x in "prs"] == pytest.approx([p, r, s])


def test_a_press_fit_by_hand():
    # 80 H7/p6: hole 0/+30, shaft +32/+51: interference 2 to 51 µm
    f = fit(80, "H7", "p6")
    assert f.interference_mm == pytest.approx((0.002, 0.051))
    assert f.hole_mm == pytest.approx((80, 80.030)) and f.shaft_mm == pytest.approx((80.032, 80.051))


def test_a_sliding_fit_has_clearance():
    # 80 H7/h6: clearance 0 to 49 µm
    assert fit(80, "H7", "h6").interference_mm == pytest.approx((-0.049, 0.0), abs=1e-12)


@given(st.floats(30.01, 180))
def test_tighter_letters_grip_harder_and_coarser_grades_spread_wider(size):
    least = [fit(size, "H7", x).interference_mm[0] for x in ("h6", "n6", "p6", "r6", "s6")]
    assert least == sorted(least) and len(set(least)) == 5
    widths = [b - a for a, b in (fit(size, h, "p6").interference_mm for h in ("H6", "H7", "H8"))]
    assert widths == sorted(widths)


@pytest.mark.parametrize("bad", [("H7", "z6"), ("G7", "p6"), ("H9", "p6"), ("H7", "p")])
def test_unknown_fits_are_refused(bad):
    with pytest.raises(ValueError):
        fit(80, *bad)


def test_sizes_outside_the_tables_are_refused():
    for call in (
        lambda: tolerance_grade_mm(7, 0),
        lambda: tolerance_grade_mm(7, 501),
        lambda: shaft_deviation_mm("p", 20),
    ):
        with pytest.raises(ValueError):
            call()
