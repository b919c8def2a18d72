"""Two sources of one size: distance, Birge ratio and what may still be said."""

import math

import pytest
from uncertainties import ufloat

from logic.doubt import Doubt, Source, apart, birge_ratio, held, weighted_mean
from logic.result import Result, Verdict
from logic.say import L


def source(value, u):
    return Source(L("a"), value, u)


def test_distance_is_that_of_the_difference_with_its_uncertainty():
    """Against the uncertainties package: |a − b| over the standard deviation of a − b."""
    a, b = ufloat(76.215, 0.004), ufloat(76.2, 0.003)
    gap = a - b
    assert apart(source(76.215, 0.004), source(76.2, 0.003)) == pytest.approx(gap.n / gap.s)
    assert apart(source(76.2, 0.0), source(76.2, 0.0)) == 0.0
    assert apart(source(76.2, 0.0), source(76.3, 0.0)) == math.inf


def test_weighted_mean_and_birge_ratio_of_a_published_example():
    """R. T. Birge, Physical Review 40 (1932) 207: ratio of external to internal error.

    Three values by hand: 10.0 ± 0.1, 10.3 ± 0.1, 10.2 ± 0.2. Weights 100, 100, 25;
    mean 2285/225 = 10.15556; chi² = 100·0.02420 + 100·0.02086 + 25·0.00198 = 4.5556.
    """
    three = [source(10.0, 0.1), source(10.3, 0.1), source(10.2, 0.2)]
    mean, u = weighted_mean(three)
    assert mean == pytest.approx(2285 / 225)
    assert u == pytest.approx(1 / 15)
    assert birge_ratio(three) == pytest.approx(math.sqrt(4.555556 / 2), rel=1e-5)
    assert birge_ratio([source(10.0, 0.1), source(10.01, 0.1)]) == 1.0


@pytest.mark.parametrize("bad", [(math.nan, 0.1), (1.0, -0.1), (1.0, math.inf)])
def test_a_source_needs_real_numbers(bad):
    with pytest.raises(ValueError, match="finite"):
        source(*bad)
    with pytest.raises(ValueError, match="above zero"):
        weighted_mean([source(1.0, 0.0)])


def doubt(key="reference"):
    return Doubt(key=key, line=L("These two disagree."), settle=L("Measure again."), about=(("bore.zero", ()),))


def test_a_yes_is_held_and_a_no_stays_a_no():
    yes = Result(key="x", line=L("All clean up."), verdict=Verdict.GO, confidence=0.99)
    no = Result(key="x", line=L("Stop."), verdict=Verdict.STOP, confidence=0.9)
    assert held(yes, ()) is yes
    found = held(yes, (doubt(),))
    assert found.verdict == Verdict.MAYBE
    assert found.confidence is None
    assert str(found.line) == "Not yet: These two disagree."
    assert str(found.why[0]) == "Measure again."
    assert "All clean up." in str(found.why[1])
    kept = held(no, (doubt(),))
    assert (kept.verdict, kept.line) == (Verdict.STOP, no.line)
    assert str(kept.why[0]) == "These two disagree."
