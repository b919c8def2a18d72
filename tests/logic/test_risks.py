"""Conformance and its risks against the worked examples of JCGM 106:2012 and against SciPy."""

import math

import pytest
from scipy import integrate, stats

from logic.result import Result, Verdict, as_data
from logic.risks import combined, global_risks
from logic.say import L, Qty, Style, figure
from logic.uncertainty import chance_between, normal_quantile


def test_conformance_probability():
    # JCGM 106:2012, 7.4 (numbers as quoted at metrologyrules.com, 2022): y 13.6, u 1.8, limits 12.5 and 16.3
    chance = chance_between(13.6, 1.8, 12.5, 16.3)
    assert chance == pytest.approx(stats.norm.cdf(1.5) - stats.norm.cdf(-1.1 / 1.8), abs=1e-12)
    assert chance == pytest.approx(0.66, abs=0.005)
    # 7.2.2 (from memory): a breakdown voltage that must not be above −5.40 V, measured −5.47 V, u 0.05 V: 92 %
    assert chance_between(-5.47, 0.05, upper=-5.40) == pytest.approx(0.919, abs=0.0005)


def test_the_guard_band_of_the_speed_trap():
    # JCGM 106:2012, 8.3.3 (from memory): limit 100 km/h, relative standard uncertainty 2 %, 99.9 % sure: 107 km/h
    factor = normal_quantile(0.999)
    assert math.ceil(100.0 / (1.0 - 0.02 * factor)) == 107


def test_a_prior_and_a_reading_as_one():
    # JCGM 106:2012, annex C: precision-weighted; here against SciPy's integral over prior times likelihood
    mean, u = combined(12.0, 0.5, 10.0, 1.0)

    def weight(x):
        return stats.norm.pdf(x, 10.0, 1.0) * stats.norm.pdf(12.0, x, 0.5)

    total = integrate.quad(weight, 0, 20)[0]
    expected = integrate.quad(lambda x: x * weight(x), 0, 20)[0] / total
    spread = integrate.quad(lambda x: (x - expected) ** 2 * weight(x), 0, 20)[0] / total
    assert (mean, u) == (pytest.approx(expected), pytest.approx(math.sqrt(spread)))
    with pytest.raises(ValueError):
        combined(1.0, 0.0, 1.0, 1.0)


def test_the_ball_bearings():
    # JCGM 106:2012, 9.5.4: radial error motion at most 2 µm; made after a gamma distribution with shape 4 and rate
    # 4 /µm, 4.2 % of them outside; read with u = 0.25 µm and accepted up to the limit, 0.8 % of all are taken wrongly
    # (numbers as in the example notebook of the library suncal)
    made = stats.gamma(4, scale=0.25)
    found = global_risks(made.pdf, (0.0, 8.0), 0.25, (0.0, 2.0), (-math.inf, 2.0))
    assert found.outside == pytest.approx(0.042, abs=0.0005)
    assert found.consumer == pytest.approx(0.008, abs=0.0002)
    assert found.consumer == pytest.approx(0.008019, abs=2e-5)


@pytest.mark.parametrize("guard", [0.0, 0.3, -0.2])
def test_global_risks_against_scipy(guard):
    # limits at two standard deviations of the process, u a quarter of one, accepted up to a guard band inside them
    found = global_risks(stats.norm.pdf, (-9.0, 9.0), 0.25, (-2.0, 2.0), (-2.0 + guard, 2.0 - guard))

    def taken(x):
        return stats.norm.cdf((2 - guard - x) / 0.25) - stats.norm.cdf((-2 + guard - x) / 0.25)

    consumer = 2 * integrate.quad(lambda x: stats.norm.pdf(x) * taken(x), 2, 9)[0]
    producer = integrate.quad(lambda x: stats.norm.pdf(x) * (1 - taken(x)), -2, 2, points=(-1.9, 1.9))[0]
    assert found.outside == pytest.approx(2 * stats.norm.sf(2), rel=1e-5)
    assert found.consumer == pytest.approx(consumer, abs=1e-6)
    assert found.producer == pytest.approx(producer, abs=1e-6)
    if guard == 0.0:  # D. Deaver's figure for a 4:1 ratio (as quoted in the tests of the library suncal)
        assert found.consumer == pytest.approx(0.008, abs=0.0001)


def test_nonsense():
    with pytest.raises(ValueError):
        global_risks(stats.norm.pdf, (1.0, 1.0), 0.1, (0.0, 1.0), (0.0, 1.0))


@pytest.mark.parametrize(
    ("chance", "english", "german"),
    [
        (1.0, "over 99 %", "über 99 %"),
        (0.9999, "over 99 %", "über 99 %"),
        (0.991, "over 99 %", "über 99 %"),
        (0.99, "99 %", "99 %"),
        (0.954, "95 %", "95 %"),
        (0.01, "1 %", "1 %"),
        (0.004, "under 1 %", "unter 1 %"),
        (0.0, "under 1 %", "unter 1 %"),
    ],
)
def test_no_chance_is_told_as_certain(chance, english, german):
    for language, said in (("en", english), ("de", german)):
        assert figure(Qty(chance, "chance"), Style(language=language)).replace("\u202f", " ") == said


def test_nor_is_it_in_what_a_program_reads():
    sure = Result(key="x", verdict=Verdict.GO, line=L("Go"), confidence=0.99999, value=Qty(1.0, "chance"))
    data = as_data(sure)
    assert (data["confidence"], data["value"]["value"]) == (0.99, 0.99)
