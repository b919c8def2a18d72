"""What somebody typed, read as a number with a unit.

:func:`parse` takes the text of one entry and the :class:`~logic.fields.Field` it was
typed in, and gives the value in the field's logic unit, or raises :class:`EntryError`
with a sentence that says what was expected. A bare number takes the unit the field is
shown in. A bare number that makes no sense in that unit but would in another is asked
about, never guessed.

Conversions are pint's, on a registry built once from the short list in
:mod:`logic.unit_table` (pint's own unit file is not read), where the factors' sources stand.
The grammar of a number is in :mod:`logic.numerals`. What else a text can be meant as, and
how likely each meaning is here, is :mod:`logic.meaning`'s.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, NamedTuple

from .factors import MM_PER_INCH
from .fields import Field
from .numerals import CLOCK, NUMBER, clean, decimal, plain
from .say import KINDS, AsTyped, Bound, L, Line, Qty, Style, figure, shown
from .unit_table import ACCEPTED, DEFINITIONS, EXTRA, LENGTHS, NO_THOUSANDS, PAD, UNITS

__all__ = [
    "Asked",
    "Entered",
    "EntryError",
    "accepted",
    "choices_for",
    "convert",
    "label",
    "parse",
    "spelt",
    "unit_shown",
]

#: Longest text that is looked at, and longest that is stored.
LONGEST = 60
#: No figure of the trade is larger than this in its logic unit.
LARGEST = 1e9
#: A size given as "over" the nominal is within this of it: oversize steps and wear are
#: a few millimetres at most (common practice).
FARTHEST_OVER_MM = 5.0

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

    registry: Any = pint.UnitRegistry(None)
    for definition in DEFINITIONS:
        registry.define(definition)
    return registry


@lru_cache(maxsize=4096)
def convert(value: float, from_unit: str, to_unit: str) -> float:
    """``value`` in ``from_unit`` expressed in ``to_unit`` (keys such as "thou", "mm", "degF", "ft*lbf").

    Raises KeyError for a key that is not known here and ValueError where the two
    units measure different things.
    """
    source, target = UNITS[from_unit].pint, UNITS[to_unit].pint
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
    return "div" if unit == "div" else UNITS[unit].label


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
    for row in PAD.get(kind, ()):
        if row[0] == own:
            return row
    return tuple(dict.fromkeys((own, *_both(kind))))


def _both(kind: str) -> tuple[str, str]:
    """The two units a kind is shown in: inch or °F, and metric or °C."""
    return unit_shown(kind, Style("in", "F")), unit_shown(kind, Style("mm", "C"))


def accepted(kind: str) -> tuple[str, ...]:
    """Every unit key that may be typed in a field of a kind. Raises KeyError for an unknown kind."""
    if kind in ACCEPTED:
        return ACCEPTED[kind]
    return LENGTHS if KINDS[kind].unit == "mm" else tuple(dict.fromkeys(_both(kind)))


@cache
def _spellings(kind: str) -> Mapping[str, str]:
    """Accepted spelling -> unit key, for one kind."""
    table: dict[str, str] = {}
    for key in accepted(kind):
        for name in UNITS[key].names:
            table.setdefault(name, key)
    return table


def spelt(written: str, kind: str, divisions: bool = False) -> str | None:
    """The key of the unit that ``written`` stands for in a field of ``kind``; None if it is none of its units.

    ``divisions`` allows the gauge's own.
    """
    word = plain(written)
    if divisions and word in _DIVISIONS and KINDS[kind].unit == "mm":
        return "div"
    return _spellings(kind).get(word)


_DIVISIONS = ("div", "divs", "division", "divisions")


class Asked(NamedTuple):
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

    @property
    def takes_over(self) -> bool:
        """Whether a signed number counts from the base size."""
        return self.field.over and self.base_mm is not None and self.whole

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
            choices_for(kind, self.style) + choices_for(kind, self.style.other()) + EXTRA.get(kind, ())
        )
        likely = [unit for unit in others if unit != own and self.sound(number, unit, over)]
        return [unit for unit in likely if kind not in _NEVER_NOTHING or self.shows(number, unit, kind)]

    def expected(self) -> Line:
        """One sentence: what the field expects, in the person's units."""
        least, most = self.field.low, self.field.high
        low = None if least is None else Bound(least, self.kind, low=True)
        high = None if most is None else Bound(most, self.kind, low=False)
        if low is not None and high is not None:
            return L("Expected a number from {low} to {high}.", low=low, high=high)
        if low is not None:
            return L("Expected a number of at least {low}.", low=low)
        if high is not None:
            return L("Expected a number of at most {high}.", high=high)
        return L("Expected a number in {unit}.", unit=label(self.own)) if label(self.own) else L("Expected a number.")


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
    asked = Asked(field, Style(length=length_unit, temperature=temperature_unit), base_mm, divisions_mm)
    if len(text) > LONGEST:
        raise EntryError("too_long", L("That is too long for one number. {expected}", expected=asked.expected()))
    plain = clean(text)
    if not plain:
        raise EntryError("empty", L("Nothing was entered. {expected}", expected=asked.expected()))
    number, unit, over, bare = _read(plain, text.strip(), asked)
    value = _weigh(number, unit, over, bare, text.strip(), asked)
    return Entered(text, unit, value, KINDS[field.kind].unit)


def _what_else(plain: str) -> str:
    """The code of a text that is no number: letters alone, or something else."""
    return "not_a_number" if any(c.isdigit() for c in plain) or not any(c.isalpha() for c in plain) else "letters"


def _read(plain: str, said: str, asked: Asked) -> tuple[float, str, bool, bool]:
    """The number, its unit key, whether it is over a base, and whether the unit was left out."""
    if asked.kind == "duration" and (clock := CLOCK.fullmatch(plain)):
        large, small = (int(g) for g in clock.groups() if g is not None)
        return (60.0 * large + small) * (1.0 if clock[5] is None else 60.0), "s", False, False
    match = NUMBER.fullmatch(plain)
    if match is None:
        raise EntryError(
            _what_else(plain), L("“{text}” is not a number. {expected}", text=said, expected=asked.expected())
        )
    rest, sign = match["rest"], match["sign"]
    if asked.takes_over:
        rest, sign = _over_word(rest, sign, asked)
    over = asked.takes_over and bool(sign)
    bare = not rest
    unit = _unit_of(rest, said, over, asked)
    if match["digits"] is None:
        number = _fraction(match, said, bare, unit, asked)
    else:
        number = _one_way(match, unit, over, said, asked)
    return (-number if sign == "-" else number), unit, over, bare


def _over_word(rest: str, sign: str, asked: Asked) -> tuple[str, str]:
    """The unit's text and the sign, with the words over and under as signs."""
    word = re.search(r"\b(over|under)$", rest)
    if word is None:
        return rest, sign
    if sign:
        raise EntryError(
            "not_a_number",
            L("Give either a sign or the word over or under, not both. {expected}", expected=asked.expected()),
        )
    return rest[: word.start()].strip(), "+" if word.group() == "over" else "-"


def _unit_of(rest: str, said: str, over: bool, asked: Asked) -> str:
    if not rest:
        return asked.own_over(over)
    written = plain(rest)
    found = spelt(rest, asked.kind, asked.divisions_mm is not None)
    if found is not None:
        return found
    offered = tuple(label(u) for u in choices_for(asked.kind, asked.style) if label(u))
    known = any(written in u.names for u in UNITS.values())
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


def _fraction(match: re.Match[str], said: str, bare: bool, unit: str, asked: Asked) -> float:
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


def _one_way(match: re.Match[str], unit: str, over: bool, said: str, asked: Asked) -> float:
    """The decimal number typed, or the question which of two it is."""
    three_decimals = shown(asked.kind, asked.style).digits >= 3 and unit == asked.own
    ways = decimal(match["digits"], grouping=unit not in NO_THOUSANDS and not three_decimals)
    if not ways:
        raise EntryError(
            "separators",
            L(
                "“{text}” has more than one point or comma. Type one decimal point and no thousands marks. {expected}",
                text=said,
                expected=asked.expected(),
            ),
        )
    ways = _raised(ways, int(match["power"] or 0), said, asked)
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


def _raised(ways: list[float], power: int, said: str, asked: Asked) -> list[float]:
    """Numbers times a power of ten."""
    if abs(power) > 12:
        raise EntryError(
            "not_a_number",
            L("“{text}” is too large or too small a number for here. {expected}", text=said, expected=asked.expected()),
        )
    return [w * 10.0**power if power > 0 else w / 10.0**-power for w in ways]


def _weigh(number: float, unit: str, over: bool, bare: bool, said: str, asked: Asked) -> float:
    """The value in the logic unit, if it is plausible; else the right question or refusal."""
    value = asked.value(number, unit, over)
    sound = asked.sound(number, unit, over)
    if bare and (not sound or asked.nothing(number, over)):
        others = asked.slips(number, unit, over)
        if others:
            raise EntryError("unit_slip", _which(others, number, unit, over, said, asked))
    if sound:
        return value
    raise _refused(value, over, said, asked)


def _refused(value: float, over: bool, said: str, asked: Asked) -> EntryError:
    """Why a value cannot be right here."""
    if over and not asked.inside(value):
        far = FARTHEST_OVER_MM if value > (asked.base_mm or 0.0) else -FARTHEST_OVER_MM
        code = "too_large" if far > 0 else "too_small"
        line = L(
            "“{text}” is further from {base} than a bore goes: within {far} was expected.",
            text=said,
            base=Qty(asked.base_mm or 0.0, asked.kind),
            far=Qty(abs(far), "diff"),
        )
        return EntryError(code, line)
    if asked.inside(value) < 0:
        return EntryError(
            "too_small",
            L("“{text}” is smaller than can be right here. {expected}", text=said, expected=asked.expected()),
        )
    return EntryError(
        "too_large", L("“{text}” is larger than can be right here. {expected}", text=said, expected=asked.expected())
    )


def _which(others: list[str], number: float, unit: str, over: bool, said: str, asked: Asked) -> Line:
    """The question which unit was meant, with each reading it could be."""

    def reading(other: str) -> Line:
        value = Qty(asked.value(number, other, over), asked.kind)
        return L("{text} {unit} is {value}", text=AsTyped(said), unit=label(other), value=value)

    if len(others) == 1:
        return L(
            "{text} {unit} is not likely here. {reading}; type {text} {other} if that is what you read. {expected}",
            text=AsTyped(said),
            unit=label(unit),
            reading=reading(others[0]),
            other=label(others[0]),
            expected=asked.expected(),
        )
    return L(
        "{text} {unit} is not likely here. Type the unit with it if it was read in another: {readings}. {expected}",
        text=AsTyped(said),
        unit=label(unit),
        readings=tuple(reading(o) for o in others),
        expected=asked.expected(),
    )
