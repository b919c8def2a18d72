"""A typed number and what it was meant as. Plausible sizes here are made up; conversions are exact products (NIST SP 811)."""

import math

import pytest
from scipy import integrate, stats

from logic.fields import Number
from logic.likely import DOF, Anywhere, Between, Expectation, Near, Ratio, Wear
from logic.meaning import UnclearError, Way, understand
from logic.say import L
from logic.slips import EASE_MM
from logic.units import EntryError


def field(kind, low, high, *, over=False):
    return Number(key="test.it", label=L("It"), kind=kind, help=L("A test field."), low=low, high=high, over=over)


READING = field("deviation", -3.0, 5.0, over=True)
FINE = field("fine", 0.0, 0.6)
WORN = Expectation.of((1.0, Wear(0.0, math.log(0.1), 1.0)), (0.03, Anywhere(0.0005, 5.0)))


def read(text, f=READING, density=WORN.density, **more):
    return understand(text, f, density=density, base_mm=more.pop("base_mm", 76.2), **more)


def offered(text, *args, **more):
    with pytest.raises(UnclearError) as found:
        read(text, *args, **more)
    return {(c.entered.typed_unit, round(c.entered.value, 6)) for c in found.value.choices}


# -- densities --------------------------------------------------------------------------------
def test_densities_are_those_of_scipy():
    t = stats.t(DOF)
    assert Near(3.0, 0.5).density(3.7) == pytest.approx(t.pdf(1.4) / 0.5)
    assert Ratio(2.0, 0.4).density(3.0) == pytest.approx(t.pdf(math.log(1.5) / 0.4) / (0.4 * 3.0))
    eased = 0.08 + EASE_MM
    z = (math.log(eased) - math.log(0.1)) / math.hypot(0.7, 0.004 / eased)
    assert Wear(1.0, math.log(0.1), 0.7).density(1.08) == pytest.approx(t.pdf(z) / (0.7 * eased))


@pytest.mark.parametrize("part", [Near(0.1, 0.02), Ratio(0.1, 0.3), Between(-1.0, 2.0), Anywhere(0.01, 2.5)])
def test_a_density_holds_no_more_than_one(part):
    total = integrate.quad(part.density, -3, 3, points=[-2.5, -1, -0.01, 0, 0.01, 0.1, 2, 2.5], limit=500)[0]
    assert total == pytest.approx(1.0, abs=0.02)


# -- what is taken as it stands -----------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "thou"), [("+14.5", 14.5), ("12", 12), ("0.5", 0.5), ("0", 0), ("-0.3", -0.3), ("1.2", 1.2)]
)
def test_an_ordinary_reading_is_taken_in_the_unit_on_show(text, thou):
    assert read(text).value == pytest.approx(thou * 0.0254, abs=1e-9)


def test_a_number_with_its_unit_is_not_asked_about():
    assert read("0.35 mm").value == pytest.approx(0.35)
    assert read("3.0145 in").value == pytest.approx(0.0145 * 25.4)


def test_a_whole_size_that_can_be_nothing_else_is_taken():
    assert read("76.512", length_unit="mm").value == pytest.approx(0.312)


# -- what is asked ----------------------------------------------------------------------------------
def test_a_whole_size_in_a_deviation_cell_is_asked_about():
    assert offered("3.0145") == {("in", 0.3683), ("thou", 0.076568)}


@pytest.mark.parametrize("text", ["+0.350", "0.350"])
def test_millimetres_in_a_cell_of_thou_are_asked_about(text):
    assert {("mm", 0.35), ("thou", 0.00889)} <= offered(text)


def test_tenths_in_a_cell_of_thou_are_asked_about():
    assert ("tenth", 0.3683) in offered("145")


def test_hundredths_in_a_cell_of_millimetres():
    assert ("hundredth", 0.12) in offered("12", length_unit="mm")


def test_inches_in_a_field_of_thou():
    clearance = Expectation.of((1.0, Ratio(0.05, 0.5)), (0.03, Anywhere(0.00006, 0.6)))
    assert offered(".002", FINE, clearance.density) == {("in", 0.0508), ("thou", 0.000051)}
    assert read("2.0", FINE, clearance.density).value == pytest.approx(0.0508)
    assert ("mm", 0.05) in offered("0.05", FINE, clearance.density, length_unit="mm")


def test_the_other_scale_of_temperature():
    f, air = (
        field("temperature", -30, 70),
        Expectation.of(
            (1.0, Near(18.0, 9.0)),
        ),
    )
    assert offered("68", f, air.density) == {("degC", 68.0), ("degF", 20.0)}
    for fine in ("4", "20", "34"):
        assert read(fine, f, air.density).value == float(fine)
    assert read("68", f, air.density, temperature_unit="F").value == pytest.approx(20.0)


def test_a_comma_that_may_group_thousands_is_offered_both_ways():
    force = field("force", 1.0, 100000.0)
    alike = Expectation.of((1.0, Anywhere(0.5, 100000.0)))
    assert {("lbf", round(1250 * 4.4482216152605, 6)), ("lbf", round(1.25 * 4.4482216152605, 6))} <= offered(
        "1,250", force, alike.density
    )


def test_the_neighbours_decide_and_not_a_range():
    """The same text: taken where thou fit the neighbours, asked about where millimetres do."""
    little = Expectation.of((1.0, Wear(0.0, math.log(0.02), 0.3)))
    much = Expectation.of((1.0, Wear(0.0, math.log(0.35), 0.3)))
    assert read("0.35", density=little.density).typed_unit == "thou"
    assert ("mm", 0.35) in offered("0.35", density=much.density)


def test_the_face_value_is_always_among_the_choices_where_the_field_can_hold_it():
    sure = Expectation.of((1.0, Near(0.3683, 0.001)))
    assert ("thou", 0.076568) in offered("3.0145", density=sure.density)


# -- habit ----------------------------------------------------------------------------------------------
def test_what_was_chosen_before_is_taken_without_a_question():
    assert read("3.0152", habit={(Way.SIZE, "in"): 1}).value == pytest.approx(0.0152 * 25.4)
    assert read("12", habit={(Way.PLAIN, "hundredth"): 2}, length_unit="mm").value == pytest.approx(0.12)


def test_a_habit_does_not_turn_what_fits_the_unit_on_show():
    assert read("14.5", habit={(Way.SIZE, "in"): 3, (Way.PLAIN, "thou"): 2}).typed_unit == "thou"


# -- what cannot be read ------------------------------------------------------------------------------------
@pytest.mark.parametrize("text", ["", "abc", "1.2.3", "9" * 70, "5 kg", "1/0"])
def test_what_cannot_be_read_is_refused_with_a_sentence(text):
    with pytest.raises(EntryError) as found:
        read(text)
    assert not isinstance(found.value, UnclearError)
    assert str(found.value)


def test_the_question_shows_full_sizes():
    with pytest.raises(UnclearError) as found:
        read("0.350")
    said = [str(c.line) for c in found.value.choices]
    assert any("3.0138\u202fin" in s for s in said) and any("3.0003\u202fin" in s for s in said)
