"""The units that may be typed: what pint is told of them, how people write them, which a kind of field takes.

Data only; :mod:`logic.units` converts and reads. Factors: NIST SP 811 (2008), appendix
B.8, where those marked exact there are written here as exact products.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from .factors import GRAM_PER_POUND, MM_PER_INCH, NEWTON_PER_KGF, NEWTON_PER_LBF

__all__ = ["ACCEPTED", "DEFINITIONS", "EXTRA", "LENGTHS", "NO_THOUSANDS", "PAD", "UNITS", "Unit"]

DEFINITIONS = (
    "millimetre = [length]",
    "micrometre = millimetre / 1000",
    "hundredth = millimetre / 100",
    "centimetre = 10 * millimetre",
    "metre = 1000 * millimetre",
    "litre = 1000 * centimetre ** 3",
    f"inch = {MM_PER_INCH} * millimetre",
    "foot = 12 * inch",
    "thou = inch / 1000",
    "tenth = inch / 10000",
    "microinch = inch / 1000000",
    "gram = [mass]",
    "kilogram = 1000 * gram",
    f"pound = {GRAM_PER_POUND} * gram",
    "ounce = pound / 16",
    "second = [time]",
    "minute = 60 * second",
    "hour = 3600 * second",
    "kelvin = [temperature]",
    "celsius = kelvin; offset: 273.15",
    "fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9",
    "fahrenheit_step = 5 / 9 * kelvin",
    "newton = kilogram * metre / second ** 2",
    "kilonewton = 1000 * newton",
    f"lbf = {NEWTON_PER_LBF} * newton",
    f"kgf = {NEWTON_PER_KGF} * newton",
    "megapascal = newton / millimetre ** 2",
    "gigapascal = 1000 * megapascal",
    "kilopascal = megapascal / 1000",
    "bar = 100 * kilopascal",
    "psi = lbf / inch ** 2",
    "million_psi = 1000000 * psi",
    "watt = newton * metre / second",
    "kilowatt = 1000 * watt",
    "horsepower = 550 * foot * lbf / second",
    "turn = [turn]",
    "degree = [angle]",
    "percent = 0.01",
    "millionth = 0.000001",
)


class Unit(NamedTuple):
    """A unit: what pint calls it, what a key of the pad says, what people write."""

    pint: str
    label: str
    names: tuple[str, ...]


#: Units by key. ``names`` are given as :func:`logic.numerals.plain` leaves them: lower case, no spaces,
#: no dots or hyphens between units, "u" for micro.
UNITS: Mapping[str, Unit] = {
    "mm": Unit("millimetre", "mm", ("mm", "millimetre", "millimetres", "millimeter", "millimeters")),
    "cm": Unit("centimetre", "cm", ("cm", "centimetre", "centimetres", "centimeter", "centimeters")),
    "m": Unit("metre", "m", ("m", "metre", "metres", "meter", "meters")),
    "um": Unit("micrometre", "µm", ("um", "micron", "microns", "micrometre", "micrometres", "micrometer")),
    "hundredth": Unit("hundredth", "hundredths", ("hundredth", "hundredths", "hundertstel", "hundredthsmm")),
    "in": Unit("inch", "in", ("in", "inch", "inches", '"', "''")),
    "thou": Unit("thou", "thou", ("thou", "thous", "mil", "mils", "thousandth", "thousandths", "th")),
    "tenth": Unit("tenth", "tenths", ("tenth", "tenths")),
    "uin": Unit("microinch", "µin", ("uin", "uinch", "microinch", "microinches")),
    "thou/in": Unit("thou / inch", "thou/in", ("thou/in", "thouperinch", "thou")),
    "thou/ft": Unit("thou / foot", "thou/ft", ("thou/ft",)),
    "um/mm": Unit("micrometre / millimetre", "µm/mm", ("um/mm", "um", "mm/m")),
    "in/in": Unit("inch / inch", "in/in", ("in/in", "in", '"')),
    "mm2": Unit("millimetre ** 2", "mm²", ("mm2", "sqmm")),
    "cm2": Unit("centimetre ** 2", "cm²", ("cm2", "sqcm")),
    "in2": Unit("inch ** 2", "in²", ("in2", "sqin")),
    "cm3": Unit("centimetre ** 3", "cm³", ("cm3", "cc", "ccm", "ml")),
    "in3": Unit("inch ** 3", "in³", ("in3", "cuin", "ci")),
    "l": Unit("litre", "L", ("l", "litre", "litres", "liter", "liters")),
    "degC": Unit("celsius", "°C", ("°c", "c", "degc", "celsius")),
    "degF": Unit("fahrenheit", "°F", ("°f", "f", "degf", "fahrenheit")),
    "K": Unit("kelvin", "°C", ("k", "kelvin", "°c", "c", "degc")),
    "delta_degF": Unit("fahrenheit_step", "°F", ("°f", "f", "degf", "fahrenheit")),
    "ppm/K": Unit(
        "millionth / kelvin",
        "millionths/°C",
        (
            "millionths/°c",
            "millionstel/°c",
            "millionths/c",
            "millionths/k",
            "ppm/k",
            "ppm/°c",
            "ppm/c",
            "um/m/k",
            "um/mk",
            "um/m/°c",
            "um/m°c",
        ),
    ),
    "ppm/degF": Unit(
        "millionth / fahrenheit_step",
        "millionths/°F",
        ("millionths/°f", "millionstel/°f", "millionths/f", "ppm/°f", "ppm/f", "uin/in/°f", "uin/in°f"),
    ),
    "1/K": Unit("1 / kelvin", "/°C", ("/k", "/°c", "/c", "1/k", "1/°c", "k1", "°c1")),
    "1/degF": Unit("1 / fahrenheit_step", "/°F", ("/°f", "/f", "1/f", "1/°f", "°f1")),
    "N": Unit("newton", "N", ("n", "newton", "newtons")),
    "kN": Unit("kilonewton", "kN", ("kn",)),
    "lbf": Unit("lbf", "lbf", ("lbf", "lb", "lbs")),
    "kgf": Unit("kgf", "kgf", ("kgf", "kg", "kp")),
    "N*m": Unit("newton * metre", "N·m", ("nm", "newtonmetre", "newtonmetres")),
    "ft*lbf": Unit("foot * lbf", "lbf·ft", ("lbfft", "ftlbf", "lbft", "ftlb", "ftlbs", "lbsft", "footpounds")),
    "in*lbf": Unit("inch * lbf", "lbf·in", ("lbfin", "inlbf", "lbin", "inlb", "inlbs", "lbsin", "inchpounds")),
    "kgf*m": Unit("kgf * metre", "kgf·m", ("kgfm", "kgm", "mkg", "mkgf", "kpm", "mkp")),
    "MPa": Unit("megapascal", "MPa", ("mpa", "n/mm2")),
    "GPa": Unit("gigapascal", "GPa", ("gpa", "kn/mm2")),
    "kPa": Unit("kilopascal", "kPa", ("kpa",)),
    "bar": Unit("bar", "bar", ("bar",)),
    "psi": Unit("psi", "lbf/in²", ("psi", "lbf/in2", "lb/in2")),
    "Mpsi": Unit("million_psi", "million lbf/in²", ("mpsi", "millionpsi", "millionlbf/in2", "miolbf/in2")),
    "g": Unit("gram", "g", ("g", "gram", "grams", "gm")),
    "kg": Unit("kilogram", "kg", ("kg",)),
    "oz": Unit("ounce", "oz", ("oz", "ounce", "ounces")),
    "lb": Unit("pound", "lb", ("lb", "lbs", "pound", "pounds")),
    "m/min": Unit("metre / minute", "m/min", ("m/min", "mmin1")),
    "m/s": Unit("metre / second", "m/s", ("m/s",)),
    "ft/s": Unit("foot / second", "ft/s", ("ft/s", "fps")),
    "ft/min": Unit("foot / minute", "ft/min", ("ft/min", "fpm", "sfm", "sfpm")),
    "mm/rev": Unit("millimetre / turn", "mm/rev", ("mm/rev", "mm/r", "mm/turn", "mm/u", "mm")),
    "thou/rev": Unit("thou / turn", "thou/rev", ("thou/rev", "thou/r", "thou/turn", "thou/u", "thou")),
    "in/rev": Unit("inch / turn", "in/rev", ("in/rev", "in/r", "ipr", "in/turn", "in", '"')),
    "W": Unit("watt", "W", ("w", "watt", "watts")),
    "kW": Unit("kilowatt", "kW", ("kw",)),
    "hp": Unit("horsepower", "hp", ("hp", "bhp")),
    "1/min": Unit("1 / minute", "/min", ("/min", "1/min", "min1", "aminute")),
    "1/s": Unit("1 / second", "/s", ("/s", "1/s", "hz")),
    "rev/min": Unit(
        "turn / minute", "rev/min", ("rev/min", "r/min", "rpm", "u/min", "/min", "1/min", "min1", "turns/min")
    ),
    "rev/s": Unit("turn / second", "rev/s", ("rev/s", "r/s", "/s", "1/s")),
    "deg": Unit("degree", "°", ("°", "deg", "degree", "degrees")),
    "s": Unit("second", "s", ("s", "sec", "secs", "second", "seconds")),
    "min": Unit("minute", "min", ("min", "mins", "minute", "minutes")),
    "h": Unit("hour", "h", ("h", "hr", "hrs", "hour", "hours")),
    "%": Unit("percent", "%", ("%", "percent", "pc")),
    "1": Unit("dimensionless", "", ()),
}

LENGTHS = ("mm", "cm", "um", "hundredth", "in", "thou", "tenth", "uin")
#: Every unit that may be typed in a field of a kind. A kind that is not listed takes any
#: length if it is one, else the two units it is shown in.
ACCEPTED: Mapping[str, tuple[str, ...]] = {
    "place": (*LENGTHS, "m"),
    "rough": ("um", "uin"),
    "area": ("mm2", "cm2", "in2"),
    "volume": ("cm3", "in3", "l"),
    "capacity": ("cm3", "in3", "l"),
    "temperature": ("degC", "degF"),
    "temperature_difference": ("K", "delta_degF"),
    "expansion": ("ppm/K", "ppm/degF", "1/K", "1/degF"),
    "force": ("N", "kN", "lbf", "kgf"),
    "heavy_force": ("kN", "N", "lbf", "kgf"),
    "torque": ("N*m", "ft*lbf", "in*lbf", "kgf*m"),
    "pressure": ("MPa", "psi", "bar", "kPa", "GPa", "Mpsi"),
    "modulus": ("GPa", "Mpsi", "MPa", "psi"),
    "mass": ("g", "kg", "oz", "lb"),
    "speed": ("m/min", "ft/min", "m/s"),
    "feed": ("mm/rev", "thou/rev", "in/rev"),
    "power": ("W", "kW", "hp"),
    "rate": ("1/min", "1/s"),
    "spin": ("rev/min", "rev/s"),
    "duration": ("s", "min", "h"),
    "percent": ("%",),
    "per_size": ("thou/in", "um/mm", "in/in"),
}

#: What the pad offers where that is more than the two units a kind is shown in: a row for
#: the inch person, a row for the metric one.
PAD: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "step": (("in", "thou", "mm"), ("mm", "in", "thou")),
    "deviation": (("thou", "tenth", "mm", "um"), ("mm", "hundredth", "um", "thou", "tenth")),
    "diff": (("thou", "tenth", "mm", "um"), ("mm", "hundredth", "um", "thou", "tenth")),
    "fine": (("thou", "tenth", "um", "mm"), ("um", "mm", "hundredth", "thou", "tenth")),
    "capacity": (("in3", "cm3", "l"), ("cm3", "l", "in3")),
    "power": (("W", "hp"), ("W", "hp")),
    "duration": (("s", "min"), ("s", "min")),
}

#: Units whose figures never run to thousands: a comma followed by three digits is a
#: decimal mark in them. In other units it may group thousands.
NO_THOUSANDS = frozenset(
    {"in", "mm", "cm", "m", "in2", "in3", "mm/rev", "in/rev", "kN", "GPa", "Mpsi", "degC", "degF", "l", "%"}
)

#: Units somebody may have had in mind that the pad does not offer for the kind.
EXTRA: Mapping[str, tuple[str, ...]] = {
    "size": ("thou",),
    "wall": ("thou",),
    "deviation": ("in",),
    "diff": ("in",),
    "fine": ("in",),
    "expansion": ("1/K", "1/degF"),
    "pressure": ("bar",),
    "torque": ("kgf*m",),
}
