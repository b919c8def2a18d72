"""The grammar of a typed number: signs, fractions, decimal marks, and the unit's text behind it."""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

__all__ = ["CLOCK", "NUMBER", "Digits", "clean", "decimal", "plain", "typed_number", "unit_text"]

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
NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?P<whole>[0-9]{1,9})[\s-]+(?P<top>[0-9]{1,9})\s*/\s*(?P<bottom>[0-9]{1,9})
      | (?P<only_top>[0-9]{1,9})\s*/\s*(?P<only_bottom>[0-9]{1,9})
      | (?P<digits>[0-9][0-9.,]*|[.,][0-9][0-9.,]*)(?:e(?P<power>[+-]?[0-9]{1,3})(?![0-9]))?
    )
    (?![0-9.,])\s*(?P<rest>.*)""",
    re.VERBOSE | re.DOTALL,
)
CLOCK = re.compile(
    r"(?:([0-9]{1,4})\s*min\s*([0-9]{1,2})\s*s(?:ec)?|([0-9]{1,4}):([0-9]{2})|([0-9]{1,3})\s*h\s*([0-9]{1,2})\s*min)"
)


def clean(text: str) -> str:
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


def unit_text(text: str) -> str:
    """What stands behind the number of an entry; empty where nothing does or there is no number."""
    match = NUMBER.fullmatch(clean(text))
    return match["rest"] if match else ""


def plain(unit: str) -> str:
    """A unit's text without what people vary: spaces, dots, hyphens, "per"."""
    unit = re.sub(r"\bper\b", "/", unit)
    return re.sub(r"[\s·⋅×*.^()-]", "", unit)


def decimal(digits: str, grouping: bool) -> list[float]:
    """The ways ``digits`` can be read: one, or two where a comma may group thousands."""
    if ("," in digits and "." in digits) or digits.count(",") > 1 or digits.count(".") > 1:
        return []
    ways = [float(digits.replace(",", "."))]
    if grouping and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        ways.append(float(digits.replace(",", "")))
    return ways


class Digits(NamedTuple):
    """A decimal number as it was typed: its value, its digits without the sign, and how many of them stand behind the point."""

    value: float
    digits: str
    decimals: int


def typed_number(text: str) -> Digits | None:
    """The decimal number that an entry starts with, whatever unit stands behind it; None for a fraction, a power or none."""
    match = NUMBER.fullmatch(clean(text))
    if match is None or match["digits"] is None or match["power"]:
        return None
    ways = decimal(match["digits"], grouping=False)
    if not ways:
        return None
    digits = match["digits"].replace(",", ".")
    return Digits(-ways[0] if match["sign"] == "-" else ways[0], digits, len(digits.partition(".")[2]))
