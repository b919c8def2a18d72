"""Entries and units.

Outside checks: NIST SP 811 (2008), appendix B.8, and pint's own unit file.
"""

import math
import subprocess
import sys
from dataclasses import replace

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from logic.fields import Field, Select
from logic.say import KINDS, Bound, L, Qty, Style, figure, say, shown
from logic.unit_table import UNITS  # the list, to test each one
from logic.units import (
    EntryError,
    accepted,
    choices_for,
    convert,
    label,
    parse,
    unit_shown,
)

STYLES = [Style("in", "C"), Style("in", "F"), Style("mm", "C"), Style("mm", "F")]


def field(kind, low=None, high=None, over=False):
    return Field(key="test.it", label=L("It"), kind=kind, help=L("A test field."), low=low, high=high, over=over)


BORE = field("size", 20.0, 200.0, over=True)
WEAR = field("deviation", -1.0, 3.0)
ROOM = field("temperature", -30.0, 60.0)
IRON = field("expansion", 5e-6, 30e-6)
CLAMP = field("torque", 1.0, 300.0)


def value(text, f=BORE, **how):
    return parse(text, f, **how).value


def refused(text, f=BORE, **how):
    with pytest.raises(EntryError) as caught:
        parse(text, f, **how)
    style = Style(how.get("length_unit", "in"), how.get("temperature_unit", "C"))
    return caught.value.code, say(caught.value.line, style).replace("\u202f", " ")


# -- what is written on a tag or said aloud -------------------------------------------------
@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3.0312", 3.0312),
        ("3,0312", 3.0312),
        (" 3.0312 in ", 3.0312),
        ('3.0312"', 3.0312),
        ("3 1/32", 3.03125),
        ("3-1/32", 3.03125),
        ("3½", 3.5),
        ("97/32 in", 3.03125),
        ("3030 thou", 3.030),
        ("30300 tenths", 3.030),
        ("+12", 3.012),
        ("−3", 2.997),
        ("-3 thou", 2.997),
        ("+2.5 tenths", 3.00025),
        ("12 thou over", 3.012),
        ("2.5 tenths under", 2.99975),
        ("\u20093.03\u202fin\u00a0", 3.03),
        ("３.０３", 3.03),
    ],
)
def test_inch_person(text, inches):
    assert value(text, base_mm=76.2) == pytest.approx(inches * 25.4, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("77.02", 77.02), ("77,02", 77.02), ("76,200", 76.2), ("7.702 cm", 77.02), ("+0.50", 76.7), ("+0,50", 76.7), ("+12 thou", 76.5048),
     ("\u22120.25", 75.95), ("+50 µm", 76.25), ("+50 um", 76.25), ("+50 \u03bcm", 76.25), ("3 1/32 in", 76.99375), ("77020 microns", 77.02)],
)  # fmt: skip
def test_metric_person(text, mm):
    assert value(text, length_unit="mm", base_mm=76.2) == pytest.approx(mm, abs=1e-9)


def test_text_and_unit_are_kept():
    got = parse(" +12 ", BORE, base_mm=76.2)
    assert (got.text, got.typed_unit, got.unit) == (" +12 ", "thou", "mm")
    assert parse("12,5 Nm", CLAMP).typed_unit == "N*m"


def test_gauge_divisions():
    assert value("5 div", WEAR, divisions_mm=0.01) == pytest.approx(0.05)
    assert value("-2.5 div", WEAR, divisions_mm=0.0127) == pytest.approx(-0.03175)
    assert refused("5 div", WEAR)[0] == "letters"


def test_sign_counts_from_the_base_only_where_the_field_says_so():
    plain = field("size", -400.0, 400.0)
    assert value("+3", plain, base_mm=76.2) == pytest.approx(76.2)
    assert value("+3", BORE) == pytest.approx(76.2)  # no base known: three inches
    reading = field("deviation", -1.0, 3.0, over=True)
    assert value("+3", reading, base_mm=76.2) == pytest.approx(0.0762)  # the deviation itself


@pytest.mark.parametrize(
    ("text", "newton_metres"),
    [("40", 29.5 * 1.355818), ("40 N·m", 40), ("40Nm", 40), ("40 N m", 40), ("30 lbf·ft", 40.67454), ("30 ft·lb", 40.67454), ("30 ft-lbs", 40.67454),
     ("30 lb ft", 40.67454), ("4 kgf·m", 39.2266), ("360 in-lb", 40.67454)],
)  # fmt: skip
def test_torque_spellings(text, newton_metres):
    if text == "40":
        assert value(text, CLAMP, length_unit="mm") == pytest.approx(40)
        assert value(text, CLAMP) == pytest.approx(40 * 1.355818, rel=1e-6)  # NIST SP 811
    else:
        assert value(text, CLAMP) == pytest.approx(newton_metres, rel=1e-6)


def test_temperature_follows_the_person():
    assert value("20", ROOM) == 20
    assert value("68", ROOM, temperature_unit="F") == pytest.approx(20, abs=1e-9)
    assert value("68 °F", ROOM) == pytest.approx(20, abs=1e-9)
    assert value("68℉", ROOM) == pytest.approx(20, abs=1e-9)
    assert value("\u221240 f", field("temperature", -60, 60)) == pytest.approx(-40, abs=1e-9)
    assert value("9", field("temperature_difference"), temperature_unit="F") == pytest.approx(5)


def test_expansion_is_typed_in_millionths():
    assert value("11", IRON) == pytest.approx(11e-6)
    assert value("11 millionths/°C", IRON) == pytest.approx(11e-6)
    assert value("11e-6 /K", IRON) == pytest.approx(11e-6)
    assert value("1.1e-5 1/K", IRON) == pytest.approx(11e-6)
    assert value("6.1 ppm/°F", IRON) == pytest.approx(10.98e-6)
    code, line = refused("11e-6", IRON)
    assert code == "unit_slip" and "11e-6 /°C is 11.0 millionths/°C" in line


def test_time_and_percent():
    assert value("3 min 05 s", field("duration")) == 185
    assert value("3:05", field("duration")) == 185
    assert value("1.5 h", field("duration")) == 5400
    assert value("5 h 12 min", field("duration")) == 5 * 3600 + 12 * 60
    assert value("97", field("percent")) == pytest.approx(0.97)
    assert value("97 %", field("percent")) == pytest.approx(0.97)


@pytest.mark.parametrize(
    ("text", "rpm"),
    [
        ("300", 300),
        ("300 rpm", 300),
        ("300 r/min", 300),
        ("300 rev per min", 300),
        ("300 min⁻¹", 300),
        ("5 rev/s", 300),
    ],
)
def test_spin(text, rpm):
    assert value(text, field("spin", 1, 3000)) == pytest.approx(rpm)


# -- unit slips: asked, never guessed ---------------------------------------------------------
def test_millimetres_in_an_inch_field():
    code, line = refused("76.2")
    assert code == "unit_slip"
    assert "76.2 mm is 3.0000 in; type 76.2 mm if that is what you read" in line
    assert "Expected a number from 0.788 in to 7.87 in" in line


def test_inches_in_a_millimetre_field():
    code, line = refused("3.0312", length_unit="mm")
    assert code == "unit_slip" and "3.0312 in is 76.992 mm" in line
    code, line = refused("3 1/32", length_unit="mm")
    assert code == "unit_slip" and "3 1/32 in is 76.994 mm" in line


def test_thou_in_a_millimetre_deviation_and_the_other_way():
    code, line = refused("+12", length_unit="mm", base_mm=76.2)
    assert code == "unit_slip" and "+12 thou is 76.505 mm" in line
    code, line = refused("+0.020", base_mm=76.2)  # twenty thou written in inches
    assert code == "unit_slip" and "+0.020 in is 3.0200 in" in line
    code, line = refused("0.0025", WEAR)
    assert code == "unit_slip" and "0.0025 in is +2.5 thou" in line
    assert refused("3030")[0] == "unit_slip"


def test_fahrenheit_in_a_celsius_field():
    code, line = refused("70", ROOM)
    assert code == "unit_slip" and "70 °F is 21.1 °C" in line


def test_a_unit_that_was_typed_is_not_questioned():
    assert refused("76.2 in")[0] == "too_large"
    assert refused("3 mm")[0] == "too_small"
    assert value("0.0001 thou", WEAR) == pytest.approx(2.54e-6)


# -- refusals ---------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "code"),
    [("", "empty"), ("  \t\u00a0", "empty"), ("abc", "letters"), ("3.0 blah", "letters"), ("nan", "letters"), ("inf", "letters"), ("-", "not_a_number"),
     (".", "not_a_number"), ("3 1/0", "not_a_number"), ("1e400", "not_a_number"), ("1e-99", "not_a_number"), ("1,234.5", "separators"),
     ("1.234,5", "separators"), ("1.2.3", "separators"), ("1,234,567", "separators"), ("3.0 3.1", "letters"), ("3..0", "separators"),
     ("20 psi", "wrong_unit"), ("3 kg", "wrong_unit"), ("9" * 40 + " in", "too_large"), ("0.1", "too_small"), ("250", "too_large"),
     ("3" + " " * 80, "too_long"), ("+3 over", "not_a_number"), ("3\x00", "letters"), ("\ud800", "not_a_number")],
)  # fmt: skip
def test_refused(text, code):
    got, line = refused(text, base_mm=76.2)
    assert got == code
    assert "xpected" in line or "mean" in line or "within" in line


def test_two_hundred_degrees():
    code, line = refused("200", ROOM)
    assert code == "too_large" and "Expected a number from −30 °C to 60 °C" in line
    code, line = refused("200", ROOM, temperature_unit="F")
    assert code == "too_large" and "from −22 °F to 140 °F" in line


def test_far_from_the_base():
    code, line = refused("+9 mm", base_mm=76.2)
    assert code == "too_large" and "3.0000 in" in line
    assert refused("-9 mm", base_mm=76.2)[0] == "too_small"


def test_comma_that_may_group_thousands():
    force = field("force", 0, 30000)
    code, line = refused("1,234", force, length_unit="mm")
    assert code == "separators" and "1.234 or 1234" in line
    assert value("1,23", force, length_unit="mm") == pytest.approx(1.23)
    assert value("1,234", field("force", 0, 100), length_unit="mm") == pytest.approx(1.234)


def test_bounds_are_met_from_either_unit():
    f = field("size", 25.4, 76.2)
    assert value("3", f) == pytest.approx(76.2) and value("1", f) == pytest.approx(25.4)
    assert value("25.4", f, length_unit="mm") == pytest.approx(25.4)


def test_a_field_without_a_number():
    choice = Select(key="a.b", label=L("x"), help=L("y"))
    with pytest.raises(ValueError, match="does not take a number") as caught:
        parse("3", choice)
    assert not isinstance(caught.value, EntryError)


# -- conversions against published factors ------------------------------------------------------
@pytest.mark.parametrize(
    ("unit", "to", "factor", "rel"),
    [  # NIST SP 811 (2008), appendix B.8; exact factors are checked to rounding
        ("in", "mm", 25.4, 1e-15),
        ("thou", "mm", 0.0254, 1e-15),
        ("tenth", "mm", 0.00254, 1e-15),
        ("uin", "um", 0.0254, 1e-14),
        ("in2", "mm2", 645.16, 1e-14),
        ("in3", "cm3", 16.38706, 5e-7),
        ("lbf", "N", 4.448222, 2e-7),
        ("kgf", "N", 9.80665, 1e-14),
        ("ft*lbf", "N*m", 1.355818, 5e-7),
        ("in*lbf", "N*m", 0.1129848, 5e-7),
        ("kgf*m", "N*m", 9.80665, 1e-14),
        ("psi", "kPa", 6.894757, 1e-7),
        ("bar", "MPa", 0.1, 1e-14),
        ("ft/min", "m/min", 0.3048, 1e-14),
        ("hp", "W", 745.6999, 1e-7),
        ("oz", "g", 28.34952, 2e-7),
        ("lb", "g", 453.59237, 1e-14),
        ("delta_degF", "K", 5 / 9, 1e-14),
        ("ppm/degF", "1/K", 1.8e-6, 1e-14),
    ],
)
def test_nist_factors(unit, to, factor, rel):
    assert convert(1.0, unit, to) == pytest.approx(factor, rel=rel)


def test_temperature_points():
    # NIST SP 811 B.8: t/°C = (t/°F − 32)/1.8
    assert convert(212.0, "degF", "degC") == pytest.approx(100.0, abs=1e-10)
    assert convert(20.0, "degC", "degF") == pytest.approx(68.0, abs=1e-10)


def test_against_pints_own_unit_file():
    theirs = pint.UnitRegistry()
    same = {"thou": "thou", "in": "inch", "mm": "mm", "um": "um", "uin": "microinch", "lbf": "lbf", "kgf": "kgf", "psi": "psi", "hp": "horsepower",
            "oz": "ounce", "N*m": "N*m", "ft*lbf": "ft*lbf", "m/min": "m/min", "ft/min": "ft/min", "in3": "in**3", "cm3": "cm**3", "l": "liter",
            "bar": "bar", "MPa": "MPa", "GPa": "GPa", "degC": "degC", "degF": "degF", "deg": None}  # fmt: skip
    checked = 0
    for group in map(accepted, KINDS):
        for a in group:
            for b in group:
                if same.get(a) and same.get(b) and a != b:
                    expected = theirs.Quantity(2.5, same[a]).to(same[b]).magnitude
                    assert convert(2.5, a, b) == pytest.approx(expected, rel=1e-12), (a, b)
                    checked += 1
    assert checked > 100


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_figure_table_agrees_with_pint(kind, style):
    """say.KINDS carries scales of its own; they are the same conversions."""
    row = shown(kind, style)
    logic_unit = KINDS[kind].unit
    for x in (0.7, 5.0, 31.0):
        assert convert(x, logic_unit, unit_shown(kind, style)) == pytest.approx(x * row.scale + row.offset, rel=1e-12)


def test_units_that_do_not_convert():
    with pytest.raises(ValueError, match="cannot turn mm into N"):
        convert(1.0, "mm", "N")
    with pytest.raises(KeyError):
        convert(1.0, "furlong", "mm")


@pytest.mark.parametrize("kind", KINDS)
def test_the_pad_offers_units_that_are_accepted(kind):
    for style in STYLES:
        offered = choices_for(kind, style)
        assert offered[0] == unit_shown(kind, style)
        assert len(set(offered)) == len(offered)
        for unit in offered:
            assert unit in accepted(kind)
            if label(unit):
                assert parse(f"0 {label(unit)}", field(kind)).typed_unit == unit


def test_every_spelling_reads_as_its_unit():
    for kind in KINDS:
        taken = {}
        for unit in accepted(kind):
            for name in UNITS[unit].names:
                assert taken.setdefault(name, unit) == unit, f"{name} means two things in {kind}"
                assert parse(f"1 {name}", field(kind)).typed_unit == unit


# -- properties ----------------------------------------------------------------------------------
bits = st.sampled_from(
    [
        *list("0123456789+-−.,/ eE°\u202f½"),
        "in",
        "mm",
        " thou",
        "µm",
        "over",
        "min",
        "1/32",
        "nan",
        "inf",
        "x10^3",
        "e",
        "--",
        '"',
    ]
)
texts = st.one_of(st.text(max_size=70), st.lists(bits, max_size=12).map("".join))


@settings(max_examples=400, deadline=None)
@given(
    text=texts,
    kind=st.sampled_from(sorted(KINDS)),
    bounds=st.sampled_from([(None, None), (20.0, 200.0), (-1.0, 3.0), (0.0, None), (None, 5e-6)]),
    over=st.booleans(),
    base=st.sampled_from([None, 76.2]),
    style=st.sampled_from(STYLES),
)
@example("1e12 in", "size", (None, None), False, None, STYLES[0])
@example("\ud800", "size", (None, None), False, None, STYLES[0])
@example("٣.٠", "size", (None, None), False, None, STYLES[0])
@example("9" * 59, "expansion", (None, None), False, None, STYLES[0])
@example("²", "size", (None, None), False, None, STYLES[0])
def test_only_its_own_error(text, kind, bounds, over, base, style):
    f = field(kind, *bounds, over=over)
    try:
        got = parse(
            text, f, length_unit=style.length, temperature_unit=style.temperature, base_mm=base, divisions_mm=0.01
        )
    except EntryError as error:
        assert error.code
        assert say(error.line, style) and say(error.line, style.other())
    else:
        assert math.isfinite(got.value) and abs(got.value) <= 1e9
        assert got.text == text and got.unit == KINDS[kind].unit and len(got.typed_unit) <= 20
        assert bounds[0] is None or got.value >= bounds[0] - 1e-6
        assert bounds[1] is None or got.value <= bounds[1] + 1e-6


#: How large figures of each kind get, in the logic unit, for the round trip.
_SPAN = {"expansion": 1e-4, "percent": 1.0, "duration": 90000.0, "size": 500.0}


@settings(max_examples=300, deadline=None)
@given(
    kind=st.sampled_from(sorted(KINDS.keys() - {"chance", "work", "price"})),  # these are told, never typed
    part=st.floats(0, 1),
    style=st.sampled_from(STYLES),
    unit=st.booleans(),
    comma=st.booleans(),
)
def test_a_figure_shown_reads_back(kind, part, style, unit, comma):
    x = part * _SPAN.get(kind, 800.0)
    text = figure(Qty(x, kind), replace(style, language="de") if comma else style, unit=unit)
    got = parse(text, field(kind), length_unit=style.length, temperature_unit=style.temperature).value
    row = shown(kind, style)
    step = 10.0**-row.digits / abs(row.scale)
    if kind == "percent":
        step = max(step, 0.001)  # a doubt is never rounded away: 99.96 % is shown as 99.9 %
    if kind == "duration" and x >= 3599.5:
        step = 60.0  # from an hour on, the seconds are left out
    assert abs(got - x) <= 0.51 * step + 1e-9 * abs(x) or (kind == "percent" and abs(got - x) <= step)


@settings(max_examples=150, deadline=None)
@given(mm=st.floats(25, 190), unit=st.sampled_from(["mm", "in", "thou", "tenth", "um", "cm"]))
def test_the_unit_typed_does_not_matter(mm, unit):
    text = f"{convert(mm, 'mm', unit):.9f} {label(unit)}"
    assert value(text) == pytest.approx(mm, abs=1e-5)
    assert value(text) == value(
        text, length_unit="mm"
    )  # with its unit written, the person's style does not matter either


@settings(max_examples=100, deadline=None)
@given(mm=st.floats(-2, 2), unit=st.sampled_from(["mm", "thou", "tenth", "um"]))
def test_over_a_base_is_the_size_itself(mm, unit):
    text = f"{convert(mm, 'mm', unit):+.7f} {label(unit)}"
    assert value(text, base_mm=76.2) == pytest.approx(76.2 + mm, abs=1e-5)


def test_importing_it_does_not_import_pint():
    code = "import sys, logic.units; sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# -- the ends of a range --------------------------------------------------------------------
@pytest.mark.parametrize(
    ("bound", "said"),
    [
        (Bound(20, "size", low=True), ("0.788 in", "20 mm", "0,788 in")),
        (Bound(500, "size", low=False), ("19.6 in", "500 mm", "19,6 in")),
        (Bound(-2.5, "deviation", low=True), ("−98.4 thou", "−2.5 mm", "−98,4 thou")),
        (Bound(1250.4, "speed", low=False), ("4102 ft/min", "1250 m/min", "4102 ft/min")),
        (Bound(0, "wall", low=True), ("0 in", "0 mm", "0 in")),
        (Bound(0.0005, "ratio", low=True), ("0.0005", "0.0005", "0,0005")),
    ],
)
def test_the_end_of_a_range_is_told_by_three_figures_inside_it(bound, said):
    styles = (Style(length="in"), Style(length="mm"), Style(length="in", language="de"))
    assert tuple(say(L("{b}", b=bound), style).replace("\u202f", " ") for style in styles) == said
