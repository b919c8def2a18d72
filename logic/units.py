"""What somebody typed, read as a number with a unit.

:func:`parse` takes the text of one entry and the :class:`~logic.fields.Field` it was
typed in, and gives the value in the field's logic unit, or raises :class:`EntryError`
with a sentence that says what was expected. A bare number takes the unit the field is
shown in. A bare number that makes no sense in that unit but would in another is asked
about, never guessed.

Conversions are pint's, on a registry built once from the short list below (pint's own
unit file is not read). Factors: NIST SP 811 (2008), appendix B.8, where those marked
exact there are written here as exact products.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, NamedTuple

from .factors import GRAM_PER_POUND, MM_PER_INCH, NEWTON_PER_KGF, NEWTON_PER_LBF
from .fields import Field
from .say import KINDS, L, Line, Qty, Style, figure, shown

__all__ = ["Entered", "EntryError", "accepted", "choices_for", "convert", "label", "parse", "unit_shown"]

#: Longest text that is looked at, and longest that is stored.
LONGEST = 60
#: No figure of the trade is larger than this in its logic unit.
LARGEST = 1e9
#: A size given as "over" the nominal is within this of it: oversize steps and wear are
#: a few millimetres at most (common practice).
FARTHEST_OVER_MM = 5.0

_DEFINITIONS = (
    "millimetre = [length]",
    "micrometre = millimetre / 1000",
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


class _Unit(NamedTuple):
    """A unit: what pint calls it, what a key of the pad says, what people write."""

    pint: str
    label: str
    names: tuple[str, ...]


#: Units by key. ``names`` are given as :func:`_plain` leaves them: lower case, no spaces,
#: no dots or hyphens between units, "u" for micro.
_UNITS: Mapping[str, _Unit] = {
    "mm": _Unit("millimetre", "mm", ("mm", "millimetre", "millimetres", "millimeter", "millimeters")),
    "cm": _Unit("centimetre", "cm", ("cm", "centimetre", "centimetres", "centimeter", "centimeters")),
    "m": _Unit("metre", "m", ("m", "metre", "metres", "meter", "meters")),
    "um": _Unit("micrometre", "µm", ("um", "micron", "microns", "micrometre", "micrometres", "micrometer")),
    "in": _Unit("inch", "in", ("in", "inch", "inches", '"', "''")),
    "thou": _Unit("thou", "thou", ("thou", "thous", "mil", "mils", "thousandth", "thousandths", "th")),
    "tenth": _Unit("tenth", "tenths", ("tenth", "tenths")),
    "uin": _Unit("microinch", "µin", ("uin", "uinch", "microinch", "microinches")),
    "thou/in": _Unit("thou / inch", "thou/in", ("thou/in", "thouperinch", "thou")),
    "um/mm": _Unit("micrometre / millimetre", "µm/mm", ("um/mm", "um", "mm/m")),
    "in/in": _Unit("inch / inch", "in/in", ("in/in", "in", '"')),
    "mm2": _Unit("millimetre ** 2", "mm²", ("mm2", "sqmm")),
    "cm2": _Unit("centimetre ** 2", "cm²", ("cm2", "sqcm")),
    "in2": _Unit("inch ** 2", "in²", ("in2", "sqin")),
    "cm3": _Unit("centimetre ** 3", "cm³", ("cm3", "cc", "ccm", "ml")),
    "in3": _Unit("inch ** 3", "in³", ("in3", "cuin", "ci")),
    "l": _Unit("litre", "L", ("l", "litre", "litres", "liter", "liters")),
    "degC": _Unit("celsius", "°C", ("°c", "c", "degc", "celsius")),
    "degF": _Unit("fahrenheit", "°F", ("°f", "f", "degf", "fahrenheit")),
    "K": _Unit("kelvin", "°C", ("k", "kelvin", "°c", "c", "degc")),
    "delta_degF": _Unit("fahrenheit_step", "°F", ("°f", "f", "degf", "fahrenheit")),
    "ppm/K": _Unit(
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
    "ppm/degF": _Unit(
        "millionth / fahrenheit_step",
        "millionths/°F",
        ("millionths/°f", "millionstel/°f", "millionths/f", "ppm/°f", "ppm/f", "uin/in/°f", "uin/in°f"),
    ),
    "1/K": _Unit("1 / kelvin", "/°C", ("/k", "/°c", "/c", "1/k", "1/°c", "k1", "°c1")),
    "1/degF": _Unit("1 / fahrenheit_step", "/°F", ("/°f", "/f", "1/f", "1/°f", "°f1")),
    "N": _Unit("newton", "N", ("n", "newton", "newtons")),
    "kN": _Unit("kilonewton", "kN", ("kn",)),
    "lbf": _Unit("lbf", "lbf", ("lbf", "lb", "lbs")),
    "kgf": _Unit("kgf", "kgf", ("kgf", "kg", "kp")),
    "N*m": _Unit("newton * metre", "N·m", ("nm", "newtonmetre", "newtonmetres")),
    "ft*lbf": _Unit("foot * lbf", "lbf·ft", ("lbfft", "ftlbf", "lbft", "ftlb", "ftlbs", "lbsft", "footpounds")),
    "in*lbf": _Unit("inch * lbf", "lbf·in", ("lbfin", "inlbf", "lbin", "inlb", "inlbs", "lbsin", "inchpounds")),
    "kgf*m": _Unit("kgf * metre", "kgf·m", ("kgfm", "kgm", "mkg", "mkgf", "kpm", "mkp")),
    "MPa": _Unit("megapascal", "MPa", ("mpa", "n/mm2")),
    "GPa": _Unit("gigapascal", "GPa", ("gpa", "kn/mm2")),
    "kPa": _Unit("kilopascal", "kPa", ("kpa",)),
    "bar": _Unit("bar", "bar", ("bar",)),
    "psi": _Unit("psi", "lbf/in²", ("psi", "lbf/in2", "lb/in2")),
    "Mpsi": _Unit("million_psi", "million lbf/in²", ("mpsi", "millionpsi", "millionlbf/in2", "miolbf/in2")),
    "g": _Unit("gram", "g", ("g", "gram", "grams", "gm")),
    "kg": _Unit("kilogram", "kg", ("kg",)),
    "oz": _Unit("ounce", "oz", ("oz", "ounce", "ounces")),
    "lb": _Unit("pound", "lb", ("lb", "lbs", "pound", "pounds")),
    "m/min": _Unit("metre / minute", "m/min", ("m/min", "mmin1")),
    "m/s": _Unit("metre / second", "m/s", ("m/s",)),
    "ft/s": _Unit("foot / second", "ft/s", ("ft/s", "fps")),
    "ft/min": _Unit("foot / minute", "ft/min", ("ft/min", "fpm", "sfm", "sfpm")),
    "mm/rev": _Unit("millimetre / turn", "mm/rev", ("mm/rev", "mm/r", "mm/turn", "mm/u", "mm")),
    "thou/rev": _Unit("thou / turn", "thou/rev", ("thou/rev", "thou/r", "thou/turn", "thou/u", "thou")),
    "in/rev": _Unit("inch / turn", "in/rev", ("in/rev", "in/r", "ipr", "in/turn", "in", '"')),
    "W": _Unit("watt", "W", ("w", "watt", "watts")),
    "kW": _Unit("kilowatt", "kW", ("kw",)),
    "hp": _Unit("horsepower", "hp", ("hp", "bhp")),
    "1/min": _Unit("1 / minute", "/min", ("/min", "1/min", "min1", "aminute")),
    "1/s": _Unit("1 / second", "/s", ("/s", "1/s", "hz")),
    "rev/min": _Unit(
        "turn / minute", "rev/min", ("rev/min", "r/min", "rpm", "u/min", "/min", "1/min", "min1", "turns/min")
    ),
    "rev/s": _Unit("turn / second", "rev/s", ("rev/s", "r/s", "/s", "1/s")),
    "deg": _Unit("degree", "°", ("°", "deg", "degree", "degrees")),
    "s": _Unit("second", "s", ("s", "sec", "secs", "second", "seconds")),
    "min": _Unit("minute", "min", ("min", "mins", "minute", "minutes")),
    "h": _Unit("hour", "h", ("h", "hr", "hrs", "hour", "hours")),
    "%": _Unit("percent", "%", ("%", "percent", "pc")),
    "1": _Unit("dimensionless", "", ()),
}

_LENGTHS = ("mm", "cm", "um", "in", "thou", "tenth", "uin")
#: Every unit that may be typed in a field of a kind. A kind that is not listed takes any
#: length if it is one, else the two units it is shown in.
_ACCEPTED: Mapping[str, tuple[str, ...]] = {
    "place": _LENGTHS + ("m",),
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
_PAD: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "step": (("in", "thou", "mm"), ("mm", "in", "thou")),
    "deviation": (("thou", "tenth", "mm", "um"), ("mm", "um", "thou", "tenth")),
    "diff": (("thou", "tenth", "mm", "um"), ("mm", "um", "thou", "tenth")),
    "fine": (("thou", "tenth", "um", "mm"), ("um", "mm", "thou", "tenth")),
    "capacity": (("in3", "cm3", "l"), ("cm3", "l", "in3")),
    "power": (("W", "hp"), ("W", "hp")),
    "duration": (("s", "min"), ("s", "min")),
}

#: Units whose figures never run to thousands: a comma followed by three digits is a
#: decimal mark in them. In other units it may group thousands.
_NO_THOUSANDS = frozenset(
    {"in", "mm", "cm", "m", "in2", "in3", "mm/rev", "in/rev", "kN", "GPa", "Mpsi", "degC", "degF", "l", "%"}
)

#: Kinds in which a bare number that would show as zero was surely read in a larger unit.
_NEVER_NOTHING = frozenset({"size", "step", "deviation", "diff"})


class EntryError(ValueError):
    """An entry that cannot be taken as it stands.

    ``code`` is one of "empty", "letters", "not_a_number", "separators", "too_long",
    "wrong_unit", "unit_slip", "too_small", "too_large"; ``line`` says what was
    expected, in the person's own units.
    """

    def __init__(self, code: str, line: Line) -> None:
        super().__init__(code)
        self.code = code
        self.line = line

    def __str__(self) -> str:
        return str(self.line)


@dataclass(frozen=True, slots=True)
class Entered:
    """An entry as typed and as understood: ``value`` is in ``unit``, the field's logic unit.

    ``typed_unit`` is the key of the unit the number was read in ("thou" for "+12" over
    a base size: ``value`` is then the size itself).
    """

    text: str
    typed_unit: str
    value: float
    unit: str


# -- units ------------------------------------------------------------------------------
@lru_cache(maxsize=1)
def _registry() -> Any:
    """pint's registry with our definitions, built at the first conversion."""
    import pint  # here, because importing it costs more than the rest of logic/ together

    registry = pint.UnitRegistry(None)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """``value`` in ``from_unit`` expressed in ``to_unit`` (keys such as "thou", "mm", "degF", "ft*lbf").

    Raises KeyError for a key that is not known here and ValueError where the two
    units measure different things.
    """
    source, target = _UNITS[from_unit].pint, _UNITS[to_unit].pint
    if from_unit == to_unit:
        return float(value)
    registry = _registry()
    from pint import DimensionalityError

    try:
        return float(registry.convert(float(value), source, target))
    except DimensionalityError:
        raise ValueError(f"cannot turn {from_unit} into {to_unit}") from None


def label(unit: str) -> str:
    """What a key of the pad says for a unit key: "thou", "µm", "lbf·ft". Raises KeyError if unknown."""
    return "div" if unit == "div" else _UNITS[unit].label


def unit_shown(kind: str, style: Style) -> str:
    """The unit key a bare number takes in a field of ``kind``, the one :func:`logic.say.figure` shows."""
    unit = shown(kind, style).unit
    return {
        ("expansion", "1/K"): "ppm/K",
        ("expansion", "1/degF"): "ppm/degF",
        ("temperature_difference", "degF"): "delta_degF",
    }.get((kind, unit), unit)


def choices_for(kind: str, style: Style) -> tuple[str, ...]:
    """The unit keys the pad should offer for a kind, the person's own first.

    Raises KeyError for a kind that is not in :data:`logic.say.KINDS`.
    """
    own = unit_shown(kind, style)
    for row in _PAD.get(kind, ()):
        if row[0] == own:
            return row
    return tuple(dict.fromkeys((own, *_both(kind))))


def _both(kind: str) -> tuple[str, str]:
    """The two units a kind is shown in: inch or °F, and metric or °C."""
    return unit_shown(kind, Style("in", "F")), unit_shown(kind, Style("mm", "C"))


def accepted(kind: str) -> tuple[str, ...]:
    """Every unit key that may be typed in a field of a kind. Raises KeyError for an unknown kind."""
    if kind in _ACCEPTED:
        return _ACCEPTED[kind]
    return _LENGTHS if KINDS[kind].unit == "mm" else tuple(dict.fromkeys(_both(kind)))


@cache
def _spellings(kind: str) -> Mapping[str, str]:
    """Accepted spelling -> unit key, for one kind."""
    table: dict[str, str] = {}
    for key in accepted(kind):
        for name in _UNITS[key].names:
            table.setdefault(name, key)
    return table


# -- reading the text -------------------------------------------------------------------
_SIGNS = dict.fromkeys(map(ord, "\u2212\u2010\u2011\u2012\u2013\ufe63\uff0d"), "-") | {ord("\uff0b"): "+"}
_LIKE = {
    **_SIGNS,
    **dict.fromkeys(map(ord, "\u00b5\u03bc"), "u"),
    **dict.fromkeys(map(ord, "\u00ba\u02da"), "°"),
    **dict.fromkeys(map(ord, "\u2033\u201d\u201c\u02ba"), '"'),
    **dict.fromkeys(map(ord, "\u2044\u2215"), "/"),
    ord("²"): "2",
    ord("³"): "3",
    ord("¹"): "1",
    ord("\u207b"): "-",
    ord("\u2103"): "°c",
    ord("\u2109"): "°f",
}
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?P<whole>[0-9]{1,9})[\s-]+(?P<top>[0-9]{1,9})\s*/\s*(?P<bottom>[0-9]{1,9})
      | (?P<only_top>[0-9]{1,9})\s*/\s*(?P<only_bottom>[0-9]{1,9})
      | (?P<digits>[0-9][0-9.,]*|[.,][0-9][0-9.,]*)(?:e(?P<power>[+-]?[0-9]{1,3})(?![0-9]))?
    )
    (?![0-9.,])\s*(?P<rest>.*)""",
    re.VERBOSE | re.DOTALL,
)
_CLOCK = re.compile(r"(?:([0-9]{1,4})\s*min\s*([0-9]{1,2})\s*s(?:ec)?|([0-9]{1,4}):([0-9]{2}))")


def _clean(text: str) -> str:
    """Lower case, plain signs, plain digits, vulgar fractions written out, single spaces."""
    out = []
    for char in text.translate(_LIKE):
        if char.isspace() or char in "\u200b\u2060\ufeff":
            out.append(" ")
        elif char.isdecimal():
            out.append(str(unicodedata.decimal(char)))
        elif unicodedata.decomposition(char).startswith("<fraction>"):
            out.append(" " + unicodedata.normalize("NFKC", char).replace("\u2044", "/"))
        else:
            out.append(char.lower())
    return " ".join("".join(out).translate(_LIKE).split())


def _plain(unit: str) -> str:
    """A unit's text without what people vary: spaces, dots, hyphens, "per"."""
    unit = re.sub(r"\bper\b", "/", unit)
    return re.sub(r"[\s·⋅×*.^()-]", "", unit)


def _decimal(digits: str, grouping: bool) -> list[float]:
    """The ways ``digits`` can be read: one, or two where a comma may group thousands."""
    if ("," in digits and "." in digits) or digits.count(",") > 1 or digits.count(".") > 1:
        return []
    ways = [float(digits.replace(",", "."))]
    if grouping and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        ways.append(float(digits.replace(",", "")))
    return ways


class _Asked(NamedTuple):
    """The question an entry answers: its field, and how this person sees and types figures."""

    field: Field
    style: Style
    base_mm: float | None
    divisions_mm: float | None

    @property
    def kind(self) -> str:
        return self.field.kind

    @property
    def own(self) -> str:
        return unit_shown(self.kind, self.style)

    @property
    def whole(self) -> bool:
        """Whether the field holds whole lengths, and not differences from something."""
        return KINDS[self.kind].unit == "mm" and not KINDS[self.kind].signed

    def own_over(self, over: bool) -> str:
        """The unit a bare number takes: that of the field, or of a deviation where it counts from a base."""
        return unit_shown("deviation", self.style) if over else self.own

    def inside(self, value: float) -> int:
        """-1 below what is plausible, 0 within it, 1 above it."""
        low, high = self.field.low, self.field.high
        if not math.isfinite(value) or abs(value) > LARGEST:
            return -1 if value < 0 else 1
        if low is not None and value < low - 1e-9 * max(1.0, abs(low)):
            return -1
        if high is not None and value > high + 1e-9 * max(1.0, abs(high)):
            return 1
        return 0

    def value(self, number: float, unit: str, over: bool = False) -> float:
        """A number read in ``unit``, in the logic unit."""
        if unit == "div":
            value = number * (self.divisions_mm or 0.0)
        else:
            value = convert(number, unit, "1/K" if self.kind == "expansion" else KINDS[self.kind].unit)
        value = float(f"{value:.13g}")  # what is typed has fewer figures than this; drop binary dust
        return float(f"{value + (self.base_mm or 0.0):.13g}") if over else value

    def sound(self, number: float, unit: str, over: bool) -> bool:
        """Plausible for the field and, if given over a base, near it; not a mere zero."""
        value = self.value(number, unit, over)
        if self.inside(value):
            return False
        return not over or abs(value - (self.base_mm or 0.0)) <= FARTHEST_OVER_MM

    def nothing(self, number: float, over: bool) -> bool:
        """True where a bare number other than 0 would be shown as 0 in the person's unit."""
        kind = "deviation" if over else self.kind
        return number != 0 and kind in _NEVER_NOTHING and not self.shows(number, self.own_over(over), kind)

    def shows(self, number: float, unit: str, kind: str) -> bool:
        """False where a number in ``unit`` would be shown as 0."""
        return figure(Qty(self.value(number, unit), kind), self.style) != figure(Qty(0.0, kind), self.style)

    def slips(self, number: float, own: str, over: bool) -> list[str]:
        """Other units in which the number would make sense."""
        kind = "deviation" if over else self.kind
        others = dict.fromkeys(
            choices_for(kind, self.style) + choices_for(kind, self.style.other()) + _EXTRA.get(kind, ())
        )
        likely = [unit for unit in others if unit != own and self.sound(number, unit, over)]
        return [unit for unit in likely if kind not in _NEVER_NOTHING or self.shows(number, unit, kind)]

    def expected(self) -> Line:
        """One sentence: what the field expects, in the person's units."""
        low, high = self.field.low, self.field.high
        if low is not None and high is not None:
            return L("Expected a number from {low} to {high}.", low=Qty(low, self.kind), high=Qty(high, self.kind))
        if low is not None:
            return L("Expected a number of at least {low}.", low=Qty(low, self.kind))
        if high is not None:
            return L("Expected a number of at most {high}.", high=Qty(high, self.kind))
        return L("Expected a number in {unit}.", unit=label(self.own)) if label(self.own) else L("Expected a number.")


#: Units somebody may have had in mind that the pad does not offer for the kind.
_EXTRA: Mapping[str, tuple[str, ...]] = {
    "size": ("thou",),
    "deviation": ("in",),
    "diff": ("in",),
    "expansion": ("1/K", "1/degF"),
    "pressure": ("bar",),
    "torque": ("kgf*m",),
}


def parse(
    text: str,
    field: Field,
    *,
    length_unit: str = "in",
    temperature_unit: str = "C",
    base_mm: float | None = None,
    divisions_mm: float | None = None,
) -> Entered:
    """Read one entry.

    ``length_unit`` "in" or "mm" and ``temperature_unit`` "C" or "F" are the person's,
    and decide what a bare number means. ``base_mm`` is the size that a signed entry
    ("+12") counts from where ``field.over`` is set: thou over it for an inch person,
    millimetres over it for a metric one, or the unit typed. In a field that holds
    deviations a signed entry is the deviation itself. ``divisions_mm`` is one
    division of the gauge, for entries such as "5 div".

    Raises :class:`EntryError`, and nothing else, for any text; ValueError if the
    field does not take a number.
    """
    if field.kind not in KINDS:
        raise ValueError(f"{field.key} does not take a number")
    asked = _Asked(field, Style(length=length_unit, temperature=temperature_unit), base_mm, divisions_mm)
    if len(text) > LONGEST:
        raise EntryError("too_long", L("That is too long for one number. {expected}", expected=asked.expected()))
    plain = _clean(text)
    if not plain:
        raise EntryError("empty", L("Nothing was entered. {expected}", expected=asked.expected()))
    number, unit, over, bare = _read(plain, text.strip(), asked)
    value = _weigh(number, unit, over, bare, text.strip(), asked)
    return Entered(text, unit, value, KINDS[field.kind].unit)


def _read(plain: str, said: str, asked: _Asked) -> tuple[float, str, bool, bool]:
    """The number, its unit key, whether it is over a base, and whether the unit was left out."""
    if asked.kind == "duration" and (clock := _CLOCK.fullmatch(plain)):
        minutes, seconds = (int(g) for g in clock.groups() if g is not None)
        return 60.0 * minutes + seconds, "s", False, False
    match = _NUMBER.fullmatch(plain)
    if match is None:
        code = "not_a_number" if any(c.isdigit() for c in plain) or not any(c.isalpha() for c in plain) else "letters"
        raise EntryError(code, L("“{text}” is not a number. {expected}", text=said, expected=asked.expected()))
    rest, sign = match["rest"], match["sign"]
    takes_over = asked.field.over and asked.base_mm is not None and asked.whole
    if takes_over and (word := re.search(r"\b(over|under)$", rest)):
        rest = rest[: word.start()].strip()
        if sign:
            raise EntryError(
                "not_a_number",
                L("Give either a sign or the word over or under, not both. {expected}", expected=asked.expected()),
            )
        sign = "+" if word.group() == "over" else "-"
    over = takes_over and bool(sign)
    bare = not rest
    unit = _unit_of(rest, said, over, asked)
    if match["digits"] is None:
        number = _fraction(match, said, bare, unit, asked)
    else:
        number = _one_way(match, unit, over, said, asked)
    return (-number if sign == "-" else number), unit, over, bare


def _unit_of(rest: str, said: str, over: bool, asked: _Asked) -> str:
    if not rest:
        return asked.own_over(over)
    written = _plain(rest)
    if (
        written in ("div", "divs", "division", "divisions")
        and asked.divisions_mm is not None
        and KINDS[asked.kind].unit == "mm"
    ):
        return "div"
    found = _spellings(asked.kind).get(written)
    if found is not None:
        return found
    offered = tuple(label(u) for u in choices_for(asked.kind, asked.style) if label(u))
    known = any(written in u.names for u in _UNITS.values())
    code = "wrong_unit" if known else "letters"
    if offered:
        line = L(
            "“{text}” is not in a unit that fits here. Use {units}. {expected}",
            text=said,
            units=offered,
            expected=asked.expected(),
        )
    else:
        line = L("“{text}” should be a number without a unit. {expected}", text=said, expected=asked.expected())
    raise EntryError(code, line)


def _fraction(match: re.Match[str], said: str, bare: bool, unit: str, asked: _Asked) -> float:
    bottom = int(match["bottom"] or match["only_bottom"])
    if bottom == 0:
        raise EntryError(
            "not_a_number", L("“{text}” divides by nothing. {expected}", text=said, expected=asked.expected())
        )
    number = int(match["whole"] or 0) + int(match["top"] or match["only_top"]) / bottom
    if bare and unit == "mm":
        raise EntryError(
            "unit_slip",
            L(
                "Fractions are read in inches. {text} in is {value}: type {text} in if that is what you read.",
                text=said,
                value=Qty(number * MM_PER_INCH, asked.kind),
            ),
        )
    return number


def _one_way(match: re.Match[str], unit: str, over: bool, said: str, asked: _Asked) -> float:
    """The decimal number typed, or the question which of two it is."""
    three_decimals = shown(asked.kind, asked.style).digits >= 3 and unit == asked.own
    ways = _decimal(match["digits"], grouping=unit not in _NO_THOUSANDS and not three_decimals)
    power = int(match["power"] or 0)
    if not ways:
        raise EntryError(
            "separators",
            L(
                "“{text}” has more than one point or comma. Type one decimal point and no thousands marks. {expected}",
                text=said,
                expected=asked.expected(),
            ),
        )
    if abs(power) > 12:
        raise EntryError(
            "not_a_number",
            L("“{text}” is not a size of number met here. {expected}", text=said, expected=asked.expected()),
        )
    ways = [w * 10.0**power if power > 0 else w / 10.0**-power for w in ways]
    sound = [w for w in ways if asked.sound(-w if match["sign"] == "-" else w, unit, over)]
    if ways[1:] and ways[1] in sound:
        digits = match["digits"]
        raise EntryError(
            "separators",
            L(
                "Is the comma in “{text}” a decimal mark or a thousands mark? Type {one} or {other}.",
                text=said,
                one=digits.replace(",", "."),
                other=digits.replace(",", ""),
            ),
        )
    return ways[0]


def _weigh(number: float, unit: str, over: bool, bare: bool, said: str, asked: _Asked) -> float:
    """The value in the logic unit, if it is plausible; else the right question or refusal."""
    value = asked.value(number, unit, over)
    sound = asked.sound(number, unit, over)
    if bare and (not sound or asked.nothing(number, over)):
        others = asked.slips(number, unit, over)
        if others:
            raise EntryError("unit_slip", _which(others, number, unit, over, said, asked))
    if sound:
        return value
    if over and not asked.inside(value):
        far = FARTHEST_OVER_MM if value > (asked.base_mm or 0.0) else -FARTHEST_OVER_MM
        code = "too_large" if far > 0 else "too_small"
        line = L(
            "“{text}” is further from {base} than a bore goes: within {far} was expected.",
            text=said,
            base=Qty(asked.base_mm or 0.0, asked.kind),
            far=Qty(abs(far), "diff"),
        )
        raise EntryError(code, line)
    if asked.inside(value) < 0:
        raise EntryError(
            "too_small",
            L("“{text}” is smaller than can be right here. {expected}", text=said, expected=asked.expected()),
        )
    raise EntryError(
        "too_large", L("“{text}” is larger than can be right here. {expected}", text=said, expected=asked.expected())
    )


def _which(others: list[str], number: float, unit: str, over: bool, said: str, asked: _Asked) -> Line:
    """The question which unit was meant, with each reading it could be."""

    def reading(other: str) -> Line:
        value = Qty(asked.value(number, other, over), asked.kind)
        return L("{text} {unit} is {value}", text=said, unit=label(other), value=value)

    if len(others) == 1:
        return L(
            "{text} {unit} is not likely here. {reading}; type {text} {other} if that is what you read. {expected}",
            text=said,
            unit=label(unit),
            reading=reading(others[0]),
            other=label(others[0]),
            expected=asked.expected(),
        )
    return L(
        "{text} {unit} is not likely here. Type the unit with it if it was read in another: {readings}. {expected}",
        text=said,
        unit=label(unit),
        readings=tuple(reading(o) for o in others),
        expected=asked.expected(),
    )
