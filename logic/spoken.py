"""A number as it is said at the bench, so that the eyes can stay on the gauge.

An inch size is read figure by figure with no point, as the trade does ("three oh one four
five"); thousandths are counted, with a half or a quarter where they end in one ("plus
fourteen and a half thou"); everything else is read with its point and its unit. Common
practice, no source. English and German; another language is read in English.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .numerals import NUMBER, clean

__all__ = ["number_words", "spoken"]

#: From here on figures are left as they are.
LARGEST = 1_000_000

_EN_SMALL = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_EN_TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_DE_SMALL = [
    "null",
    "eins",
    "zwei",
    "drei",
    "vier",
    "fünf",
    "sechs",
    "sieben",
    "acht",
    "neun",
    "zehn",
    "elf",
    "zwölf",
    "dreizehn",
    "vierzehn",
    "fünfzehn",
    "sechzehn",
    "siebzehn",
    "achtzehn",
    "neunzehn",
]
_DE_TENS = ["-", "-", "zwanzig", "dreißig", "vierzig", "fünfzig", "sechzig", "siebzig", "achtzig", "neunzig"]


def _english(n: int) -> str:
    if n < 20:
        return _EN_SMALL[n]
    if n < 100:
        return _EN_TENS[n // 10] + (f"-{_EN_SMALL[n % 10]}" if n % 10 else "")
    if n < 1000:
        return f"{_EN_SMALL[n // 100]} hundred" + (f" and {_english(n % 100)}" if n % 100 else "")
    rest = n % 1000
    joined = f" and {_english(rest)}" if 0 < rest < 100 else f" {_english(rest)}" if rest else ""
    return f"{_english(n // 1000)} thousand{joined}"


def _german(n: int) -> str:
    """As counted alone: "eins", "hunderteins"."""
    if n < 20:
        return _DE_SMALL[n]
    if n < 100:
        one = n % 10
        return (f"{_german_before(one)}und" if one else "") + _DE_TENS[n // 10]
    if n < 1000:
        return ("" if n < 200 else _DE_SMALL[n // 100]) + "hundert" + (_german(n % 100) if n % 100 else "")
    head = "" if n < 2000 else _german_before(n // 1000)
    return f"{head}tausend" + (_german(n % 1000) if n % 1000 else "")


def _german_before(n: int) -> str:
    """As it stands before another word: "ein", "hundertein"."""
    said = _german(n)
    return said[:-1] if said.endswith("eins") else said


@dataclass(frozen=True)
class _Tongue:
    """How one language says numbers. ``units`` maps a unit's key to its word after one and after several."""

    count: Callable[[int], str]
    before: Callable[[int], str]
    small: tuple[str, ...]
    nought: str  # a nought behind the point
    point: str
    plus: str
    minus: str
    #: what follows whole thousandths, and what stands alone, by the fraction typed behind the point
    parts: Mapping[str, tuple[str, str]]
    bottoms: Mapping[int, tuple[str, str]]
    join: str  # between a whole number and a fraction
    bare_inch: bool  # an inch size is said with neither point nor unit
    units: Mapping[str, tuple[str, str]]


def _same(word: str) -> tuple[str, str]:
    return word, word


_EN = _Tongue(
    count=_english,
    before=_english,
    small=tuple(_EN_SMALL),
    nought="oh",
    point="point",
    plus="plus",
    minus="minus",
    parts={
        "5": (" and a half", "half a"),
        "25": (" and a quarter", "a quarter"),
        "75": (" and three quarters", "three quarters of a"),
    },
    bottoms={
        2: ("half", "halves"),
        4: ("quarter", "quarters"),
        8: ("eighth", "eighths"),
        16: ("sixteenth", "sixteenths"),
        32: ("thirty-second", "thirty-seconds"),
        64: ("sixty-fourth", "sixty-fourths"),
    },
    join=" and ",
    bare_inch=True,
    units={
        "in": ("inch", "inches"),
        "thou": _same("thou"),
        "tenth": ("tenth", "tenths"),
        "div": ("division", "divisions"),
        "mm": ("millimetre", "millimetres"),
        "cm": ("centimetre", "centimetres"),
        "um": ("micron", "microns"),
        "hundredth": ("hundredth", "hundredths"),
        "degC": ("degree", "degrees"),
        "degF": ("degree Fahrenheit", "degrees Fahrenheit"),
        "K": ("degree", "degrees"),
        "delta_degF": ("degree Fahrenheit", "degrees Fahrenheit"),
        "deg": ("degree", "degrees"),
        "N": ("newton", "newtons"),
        "kN": ("kilonewton", "kilonewtons"),
        "lbf": ("pound", "pounds"),
        "N*m": ("newton metre", "newton metres"),
        "ft*lbf": ("foot pound", "foot pounds"),
        "cm3": ("cc", "cc"),
        "in3": ("cubic inch", "cubic inches"),
        "g": ("gram", "grams"),
        "kg": ("kilogram", "kilograms"),
        "oz": ("ounce", "ounces"),
        "%": _same("percent"),
        "s": ("second", "seconds"),
        "min": ("minute", "minutes"),
        "rev/min": ("turn a minute", "turns a minute"),
        "1/min": _same("a minute"),
    },
)

_DE = _Tongue(
    count=_german,
    before=_german_before,
    small=tuple(_DE_SMALL),
    nought="null",
    point="Komma",
    plus="plus",
    minus="minus",
    parts={"5": ("einhalb", "ein halbes"), "25": ("einviertel", "ein viertel"), "75": ("dreiviertel", "drei viertel")},
    bottoms={
        2: ("halb", "halbe"),
        4: ("Viertel", "Viertel"),
        8: ("Achtel", "Achtel"),
        16: ("Sechzehntel", "Sechzehntel"),
        32: ("Zweiunddreißigstel", "Zweiunddreißigstel"),
        64: ("Vierundsechzigstel", "Vierundsechzigstel"),
    },
    join=" und ",
    bare_inch=False,
    units={
        "in": _same("Zoll"),
        "thou": _same("Tausendstel"),
        "tenth": _same("Zehntausendstel"),
        "div": ("Teilstrich", "Teilstriche"),
        "mm": _same("Millimeter"),
        "cm": _same("Zentimeter"),
        "um": _same("Mikrometer"),
        "hundredth": _same("Hundertstel"),
        "degC": _same("Grad"),
        "degF": _same("Grad Fahrenheit"),
        "K": _same("Grad"),
        "delta_degF": _same("Grad Fahrenheit"),
        "deg": _same("Grad"),
        "N": _same("Newton"),
        "kN": _same("Kilonewton"),
        "lbf": _same("Pfund"),
        "N*m": _same("Newtonmeter"),
        "ft*lbf": _same("Fußpfund"),
        "cm3": _same("Kubikzentimeter"),
        "in3": _same("Kubikzoll"),
        "g": _same("Gramm"),
        "kg": _same("Kilogramm"),
        "oz": ("Unze", "Unzen"),
        "%": _same("Prozent"),
        "s": ("Sekunde", "Sekunden"),
        "min": ("Minute", "Minuten"),
        "rev/min": ("Umdrehung je Minute", "Umdrehungen je Minute"),
        "1/min": _same("je Minute"),
    },
)

_TONGUES = {"en": _EN, "de": _DE}
#: Units that are counted, with halves and quarters, rather than read figure by figure.
_COUNTED = frozenset({"thou", "tenth", "div", "hundredth"})


def number_words(n: int, language: str = "en") -> str:
    """A whole number in words, 0 to 999 999; larger ones in figures."""
    tongue = _TONGUES.get(language, _EN)
    return tongue.count(n) if 0 <= n < LARGEST else str(n)


def spoken(text: str, unit: str, language: str = "en", *, signed: bool = False) -> str:
    """What somebody typed, as it is said aloud.

    ``text`` is the entry as typed (a unit written behind it is passed over), ``unit`` the key of
    the unit it was read in, "div" for divisions of the gauge. ``signed``: a number without a sign
    is a plus. A text that is no number is given back as it is.
    """
    tongue = _TONGUES.get(language, _EN)
    match = NUMBER.fullmatch(clean(text))
    if match is None or match["power"]:
        return text
    sign = match["sign"] or ("+" if signed else "")
    said = _fraction(match, unit, tongue) if match["digits"] is None else _decimal(match["digits"], unit, tongue)
    zero = not re.search("[1-9]", match["digits"] or "1")
    word = {"+": tongue.plus, "-": tongue.minus}.get("" if zero else sign, "")
    return f"{word} {said}".strip()


def _decimal(digits: str, unit: str, tongue: _Tongue) -> str:
    whole, _, behind = digits.replace(",", ".").partition(".")
    if "." in behind:
        return digits
    n, behind = int(whole or 0), behind.rstrip("0") if unit != "in" else behind
    if n >= LARGEST:
        return f"{digits} {_unit(unit, 2, tongue)}".strip()
    if unit in _COUNTED and (not behind or behind in tongue.parts):
        return _counted(n, behind, unit, tongue)
    if not behind.strip("0"):
        return f"{tongue.before(n) if n == 1 else tongue.count(n)} {_unit(unit, n, tongue)}".strip()
    return _with_point(n, behind, unit, tongue)


def _with_point(n: int, behind: str, unit: str, tongue: _Tongue) -> str:
    """A number with figures behind the point, and its unit where the trade says one."""
    if unit == "in" and tongue.bare_inch:
        return _inches(n, behind, tongue)
    lead = tongue.count(n) + " " if n or tongue is _DE else ""
    return f"{lead}{tongue.point} {_each(behind, tongue)} {_unit(unit, 2, tongue)}".strip()


def _inches(n: int, behind: str, tongue: _Tongue) -> str:
    """An inch size figure by figure; below one inch the point has to be said."""
    return f"{tongue.count(n) if n else tongue.point} {_each(behind, tongue)}"


def _each(figures: str, tongue: _Tongue) -> str:
    return " ".join(tongue.nought if f == "0" else tongue.small[int(f)] for f in figures)


def _counted(n: int, behind: str, unit: str, tongue: _Tongue) -> str:
    one = _unit(unit, 1, tongue)
    if behind and not n:
        alone = tongue.parts[behind][1]
        return f"{alone} {one}" if alone.endswith((" a", "halbes")) or tongue is _DE else f"{alone} of a {one}"
    if behind:
        return f"{tongue.before(n)}{tongue.parts[behind][0]} {_unit(unit, 2, tongue)}"
    return f"{tongue.before(n)} {_unit(unit, n, tongue)}"


def _fraction(match: re.Match[str], unit: str, tongue: _Tongue) -> str:
    whole = int(match["whole"] or 0)
    top, bottom = int(match["top"] or match["only_top"]), int(match["bottom"] or match["only_bottom"])
    names = tongue.bottoms.get(bottom)
    if names is None or max(whole, top) >= LARGEST:
        return match.group().strip()
    part = f"{tongue.before(top)} {names[top != 1]}"
    unit_said = "" if unit == "in" and tongue.bare_inch else " " + _unit(unit, 2, tongue)
    return (f"{tongue.count(whole)}{tongue.join}{part}" if whole else part) + unit_said


def _unit(unit: str, n: int, tongue: _Tongue) -> str:
    one, several = tongue.units.get(unit, ("", ""))
    return one if n == 1 else several
