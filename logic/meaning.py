"""What a typed number was meant as: every way to read it, and how likely each is here.

A bare number takes the unit on show; once in a while the person meant another unit, a whole
size where a deviation is asked, or a deviation where a size is. By Bayes' rule the chance of a
meaning is in proportion to

    (how often people mean that) × (how likely so many decimals are in that unit)
      × (density of the value it gives) × (what the last decimal is worth)

The first factor starts at :data:`SLIP` for all other meanings together (common practice, no
source: two or three entries in a hundred) and follows what was typed in the job so far: each
entry that was taken in a meaning counts as one more for it. The density comes from whoever
knows the job (:mod:`logic.likely` has the shapes). Where the meaning on show is not clearly
the likeliest, :class:`UnclearError` is raised with the choices; nothing is guessed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypedDict, Unpack

from .fields import Field
from .numerals import NUMBER, clean, decimal
from .say import KINDS, AsTyped, L, Line, Qty, Style
from .unit_table import EXTRA, NO_THOUSANDS
from .units import LONGEST, Asked, Entered, EntryError, accepted, choices_for, convert, label, parse, spelt, unit_shown

__all__ = ["ASK", "SLIP", "Choice", "Hand", "Sense", "UnclearError", "Way", "senses", "style_of", "understand"]

#: How often something else is meant than the unit on show says, before anything is known of the person.
SLIP = 0.025
#: How many entries' worth that prior counts.
PRIOR_WEIGHT = 4.0
#: From this chance of another meaning on, it is asked.
ASK = 0.15
#: A meaning that the person chose before is taken without a question from this chance on.
LEARNT = 0.95
#: Choices less likely than this are not offered, and never more than :data:`MOST`.
LEAST, MOST = 0.02, 4
#: Decimals that are usual in a unit: from, to (common practice, no source).
_DECIMALS: Mapping[str, tuple[int, int]] = {
    "in": (3, 4),
    "thou": (0, 1),
    "tenth": (0, 0),
    "mm": (2, 3),
    "hundredth": (0, 1),
    "um": (0, 1),
    "cm": (1, 3),
    "m": (2, 3),
    "degC": (0, 1),
    "degF": (0, 1),
}
#: The weight of each decimal fewer and each decimal more than usual.
_FEWER, _MORE = 0.6, 0.12
#: The same for each decimal that a whole size lacks where a deviation is asked.
_SHORT_SIZE = 0.1
#: Nobody writes a number under one without its nought but in inches.
_NO_NOUGHT = 0.4
#: Lengths that are read off a rule or a gauge's dial, never typed as whole sizes of a bore.
_SIZE_UNITS = ("in", "mm")


class Way(StrEnum):
    """How a number counts: as the field's own, over a base size, or as a whole size where a deviation is asked."""

    PLAIN = "plain"
    OVER = "over"
    SIZE = "size"


class Hand(TypedDict, total=False):
    """How a text is typed: the person's units, "in" or "mm" and "C" or "F"; the size a signed entry counts from, and one
    division of the gauge, mm."""

    base_mm: float | None
    divisions_mm: float | None
    length_unit: str
    temperature_unit: str


def style_of(how: Hand) -> Style:
    """The units a person types in: inches and °C where nothing else is said."""
    return Style(length=how.get("length_unit", "in"), temperature=how.get("temperature_unit", "C"))


#: A meaning as a habit: its way and unit.
Manner = tuple[Way, str]


@dataclass(frozen=True, slots=True)
class Sense:
    """One way a text can be read: ``value`` in the field's logic unit; ``step`` what its last decimal is worth there.

    ``form`` is how likely so many decimals are in that unit, ``size_mm`` the whole size it
    stands for where it counts from a base.
    """

    way: Way
    unit: str
    value: float
    step: float
    form: float
    size_mm: float | None = None

    @property
    def manner(self) -> Manner:
        return self.way, self.unit


@dataclass(frozen=True, slots=True)
class Choice:
    """One meaning to choose: what it is taken as, in words, and what choosing it enters."""

    line: Line
    entered: Entered
    chance: float


class UnclearError(EntryError):
    """A text that can be meant in more than one way, or hardly in the way it was typed."""

    def __init__(self, question: Line, choices: tuple[Choice, ...]) -> None:
        said = L("{question} {choices}.", question=question, choices=tuple(c.line for c in choices))
        super().__init__("unclear", said)
        self.question, self.choices = question, choices


@dataclass(frozen=True, slots=True)
class _Text:
    """A number as it stands in the text: the ways to read its digits, its decimals, its sign, its unit's text."""

    ways: tuple[float, ...]
    decimals: int
    fraction: bool
    bare_point: bool
    signed: bool
    rest: str


def _taken_apart(text: str) -> _Text | None:
    match = NUMBER.fullmatch(clean(text))
    if match is None or match["power"]:
        return None
    by = -1.0 if match["sign"] == "-" else 1.0
    if match["digits"] is None:
        bottom = int(match["bottom"] or match["only_bottom"])
        if bottom == 0:
            return None
        number = int(match["whole"] or 0) + int(match["top"] or match["only_top"]) / bottom
        return _Text((by * number,), 0, True, False, bool(match["sign"]), match["rest"])
    digits = match["digits"]
    ways = tuple(by * way for way in decimal(digits, grouping=True))
    after = digits.replace(",", ".").partition(".")[2]
    return _Text(ways, len(after), False, digits[0] in ".,", bool(match["sign"]), match["rest"])


# -- the ways to read it ----------------------------------------------------------------------
def senses(text: str, asked: Asked) -> tuple[Sense, ...]:
    """Every way to read ``text`` that the field can hold, the face value first where it is one.

    Empty where the text is no plain number, or can be read in no way at all.
    """
    got = _taken_apart(text)
    if got is None or not got.ways:
        return ()
    found: dict[tuple[Manner, float], Sense] = {}
    for sense in (*_plain(got, asked), *_over(got, asked), *_sizes(got, asked)):
        if not asked.inside(sense.value):
            found.setdefault((sense.manner, sense.value), sense)
    return tuple({s.value: s for s in reversed(found.values())}.values())[::-1]


def _units_meant(got: _Text, kind: str, asked: Asked) -> tuple[str, ...]:
    """The units a number may be in: the one that is written, else the person's own and the others of its kind."""
    if got.rest:
        unit = spelt(got.rest, kind, asked.divisions_mm is not None)
        return () if unit is None else (unit,)
    style = asked.style
    offered = (*choices_for(kind, style), *choices_for(kind, style.other()), *EXTRA.get(kind, ()))
    if kind.startswith("temperature"):
        offered = (*offered, *(u for u in accepted(kind) if u not in offered))
    return tuple(dict.fromkeys((unit_shown(kind, style), *offered)))


def _reading(way: Way, unit: str, number: float, value: float, got: _Text, asked: Asked, at: int) -> Sense:
    """``at`` is which of the ways to read the digits this is: the second groups thousands."""
    decimals = 0 if at else got.decimals
    one = abs(asked.value(1.0, unit) - asked.value(0.0, unit)) if way != Way.SIZE else convert(1.0, unit, "mm")
    form = 0.3 if at else _form(got, decimals, unit, asked)
    if way == Way.SIZE:  # a whole size of a worn bore is read to the last decimal
        form *= _SHORT_SIZE ** max(0, _DECIMALS[unit][0] - decimals)
    step = one * (0.02 * max(1.0, abs(number)) if got.fraction else 10.0**-decimals)
    return Sense(way, unit, value, step, form, _whole_size(way, value, asked))


def _whole_size(way: Way, value: float, asked: Asked) -> float | None:
    """The size a value stands for, where it counts from a base."""
    if asked.base_mm is None:
        return None
    if asked.kind == "deviation":
        return value + asked.base_mm
    return value if way == Way.OVER else None


def _form(got: _Text, decimals: int, unit: str, asked: Asked) -> float:
    if got.fraction:
        return 1.0 if unit == "in" else 0.002
    low, high = _DECIMALS.get(unit, (0, 2))
    if asked.kind in ("place", "wall") and unit in _SIZE_UNITS:
        low, high = (0, 3) if unit == "in" else (0, 2)
    if asked.kind in ("fine", "per_size") and unit in ("thou", "um"):
        high += 1
    form = _FEWER ** max(0, low - decimals) * _MORE ** max(0, decimals - high)
    return form * (_NO_NOUGHT if got.bare_point and unit not in ("in", "div") else 1.0)


def _plain(got: _Text, asked: Asked) -> Iterator[Sense]:
    if asked.takes_over and got.signed:
        return
    for unit in _units_meant(got, asked.kind, asked):
        for at, number in enumerate(got.ways):
            if at and unit in NO_THOUSANDS:
                continue
            yield _reading(Way.PLAIN, unit, number, asked.value(number, unit), got, asked, at)


def _over(got: _Text, asked: Asked) -> Iterator[Sense]:
    """Over the base size, where a whole size is asked; a number without a sign may be meant so too."""
    if not asked.takes_over:
        return
    for unit in _units_meant(got, "deviation", asked):
        yield _reading(Way.OVER, unit, got.ways[0], asked.value(got.ways[0], unit, True), got, asked, 0)


def _sizes(got: _Text, asked: Asked) -> Iterator[Sense]:
    """The whole size, where a deviation from the base is asked."""
    base = asked.base_mm
    if asked.kind != "deviation" or base is None or got.signed or not asked.field.over:
        return
    for unit in _units_meant(got, "size", asked):
        if unit in _SIZE_UNITS:
            size = float(f"{convert(got.ways[0], unit, 'mm'):.13g}")
            yield _reading(Way.SIZE, unit, got.ways[0], float(f"{size - base:.13g}"), got, asked, 0)


# -- how likely each is -------------------------------------------------------------------------
def _prior(sense: Sense, face: Manner, others: int, habit: Mapping[Manner, float]) -> float:
    start = 1 - SLIP if sense.manner == face else SLIP / max(1, others)
    total = PRIOR_WEIGHT + sum(habit.values())
    return (PRIOR_WEIGHT * start + habit.get(sense.manner, 0)) / total


def weighed(
    found: tuple[Sense, ...], face: Manner, habit: Mapping[Manner, float], density: Callable[[float], float]
) -> list[tuple[float, Sense]]:
    """The senses with their chances, the likeliest first."""
    others = sum(1 for s in found if s.manner != face)
    raw = [
        (_prior(s, face, others, habit) * s.form * min(1.0, s.step * max(density(s.value), 1e-300)), s) for s in found
    ]
    total = math.fsum(w for w, _ in raw)
    shares = [(w / total if total > 0 else 1 / len(raw), s) for w, s in raw]
    return sorted(shares, key=lambda share: -share[0])


def understand(
    text: str,
    field: Field,
    *,
    density: Callable[[float], float],
    habit: Mapping[Manner, float] | None = None,
    **how: Unpack[Hand],
) -> Entered:
    """Read one entry as :func:`logic.units.parse` does, but by what is likely here.

    ``density`` gives how likely a value is, per logic unit; ``habit`` counts the meanings
    of this person's entries of the kind so far. ``base_mm`` is the size that a signed entry
    in a field of whole sizes counts from, or that a field of deviations counts from.

    Raises :class:`UnclearError` where it has to be asked, else :class:`EntryError` for what
    cannot be read at all or lies outside what the field holds.
    """
    style = style_of(how)
    asked = Asked(field, style, how.get("base_mm"), how.get("divisions_mm"))
    found = senses(text, asked) if len(text) <= LONGEST else ()
    if not found:
        return _parsed(text, asked)
    face, written = _face(text, asked, found)
    if len(found) == 1 and (written or found[0].manner == face):
        return _entered(text, found[0], asked)
    shares = weighed(found, face, habit or {}, density)
    chance, best = shares[0]
    needed = 1 - ASK if best.manner == face else LEARNT
    if chance >= needed and (best.manner == face or _known(best, found, face, habit or {}, written, style)):
        return _entered(text, best, asked)
    raise UnclearError(_question(text, found, face), _choices(text, shares, face, asked))


def _parsed(text: str, asked: Asked) -> Entered:
    return parse(
        text,
        asked.field,
        length_unit=asked.style.length,
        temperature_unit=asked.style.temperature,
        base_mm=asked.base_mm if asked.whole else None,
        divisions_mm=asked.divisions_mm,
    )


def _face(text: str, asked: Asked, found: tuple[Sense, ...]) -> tuple[Manner, bool]:
    """What the text says at face value, and whether its unit is written."""
    got = _taken_apart(text)
    way = Way.OVER if asked.takes_over and got is not None and got.signed else Way.PLAIN
    if got is not None and got.rest:
        return (way, next((s.unit for s in found if s.way == way), found[0].unit)), True
    return (way, asked.own_over(way == Way.OVER)), False


def _first(found: tuple[Sense, ...], face: Manner) -> float | None:
    return next((s.value for s in found if s.manner == face), None)


def _known(
    best: Sense, found: tuple[Sense, ...], face: Manner, habit: Mapping[Manner, float], written: bool, style: Style
) -> bool:
    """Whether another meaning than that on show may be taken without a question."""
    if habit.get(best.manner, 0) or written:
        return True
    return _first(found, face) is None and best.way == Way.SIZE and best.unit == unit_shown("size", style)


def _entered(text: str, sense: Sense, asked: Asked) -> Entered:
    return Entered(text, sense.unit, sense.value, KINDS[asked.kind].unit)


def _question(text: str, found: tuple[Sense, ...], face: Manner) -> Line:
    if _first(found, face) is None or len(found) == 1:
        return L(
            "{text} {unit} is not likely here. What did you read?", text=AsTyped(text.strip()), unit=label(face[1])
        )
    return L("{text} can be read in more than one way here. What did you read?", text=AsTyped(text.strip()))


def _choices(text: str, shares: list[tuple[float, Sense]], face: Manner, asked: Asked) -> tuple[Choice, ...]:
    kept = [(w, s) for w, s in shares if w >= LEAST][:MOST]
    kept += [(w, s) for w, s in shares if s.manner == face and (w, s) not in kept]
    return tuple(Choice(_line(text, s, asked), _entered(text, s, asked), w) for w, s in kept)


def _line(text: str, sense: Sense, asked: Asked) -> Line:
    """One meaning in words, as the full size wherever it has one."""
    said, unit = AsTyped(plain_number(text)), label(sense.unit)
    if sense.way == Way.SIZE and sense.size_mm is not None:
        return L(
            "{text} {unit}, the whole size: {deviation}",
            text=said,
            unit=unit,
            deviation=Qty(sense.value, "deviation"),
        )
    if sense.size_mm is not None:
        return L("{text} {unit}, which makes {size}", text=said, unit=unit, size=Qty(sense.size_mm, "size"))
    return L("{text} {unit} = {value}", text=said, unit=unit, value=Qty(sense.value, asked.kind))


def plain_number(text: str) -> str:
    """The text without the unit behind its number."""
    match = NUMBER.fullmatch(clean(text))
    rest = match["rest"] if match else ""
    shown = clean(text)
    return shown[: len(shown) - len(rest)].strip() if rest else shown
