"""Words and figures: what a result says, before anyone decides how to show it.

A calculation never formats a number. It returns a :class:`Line`, a sentence
with named gaps, whose gaps hold :class:`Qty` objects: a value, the unit it is
in, and the *kind* of figure it is. :func:`say` fills the gaps at the last
moment, for one person's :class:`Style` (inch or millimetre, language), so the
unit switch and the language switch never touch a stored value.

The English template is the key of the gettext catalogue: a translation maps it to
another template with the same gaps. A sentence with a count in it is an :func:`LN`,
which gives the sentence for one and for several; each language's own rule chooses.
"""

from __future__ import annotations

import math
import string
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from gettext import NullTranslations

__all__ = ["KINDS", "LEAST_TOLD", "LN", "MOST_TOLD", "Kind", "L", "Line", "Qty", "Style", "figure", "pair", "say"]


class Shown(NamedTuple):
    """One way to show a kind: ``logic value * scale + offset``, to ``digits`` decimals (−1: to tens)."""

    unit: str
    scale: float
    digits: int
    label: str
    offset: float = 0.0


class Kind(NamedTuple):
    """A kind of figure: the unit it has inside ``logic/`` and how each system shows it."""

    unit: str
    inch: Shown
    metric: Shown
    signed: bool = False


#: No chance is told as more than the one, nor as less than the other.
MOST_TOLD, LEAST_TOLD = 0.99, 0.01

_IN = 1 / 25.4
_LBF = 1 / 4.4482216152605  # one pound-force in newtons, exact (NIST SP 811, B.8)
_FT = 1 / 0.3048

#: Every kind of figure the project shows. ``unit`` is the unit used inside logic/.
KINDS: Mapping[str, Kind] = {
    "size": Kind("mm", Shown("in", _IN, 4, "in"), Shown("mm", 1, 3, "mm")),
    "step": Kind("mm", Shown("in", _IN, 3, "in"), Shown("mm", 1, 2, "mm"), True),
    "deviation": Kind("mm", Shown("thou", _IN * 1000, 1, "thou"), Shown("mm", 1, 3, "mm"), True),
    "diff": Kind("mm", Shown("thou", _IN * 1000, 1, "thou"), Shown("mm", 1, 3, "mm")),
    "fine": Kind("mm", Shown("thou", _IN * 1000, 2, "thou"), Shown("um", 1000, 1, "µm")),
    "wall": Kind("mm", Shown("in", _IN, 3, "in"), Shown("mm", 1, 2, "mm")),
    "place": Kind("mm", Shown("in", _IN, 2, "in"), Shown("mm", 1, 1, "mm")),
    "area": Kind("mm2", Shown("in2", _IN**2, 3, "in²"), Shown("mm2", 1, 1, "mm²")),
    "volume": Kind("cm3", Shown("in3", 1 / 16.387064, 2, "in³"), Shown("cm3", 1, 2, "cm³")),
    "capacity": Kind("cm3", Shown("in3", 1 / 16.387064, 1, "in³"), Shown("cm3", 1, 1, "cm³")),
    "temperature": Kind("degC", Shown("degF", 1.8, 0, "°F", 32.0), Shown("degC", 1, 1, "°C")),
    "temperature_difference": Kind("K", Shown("degF", 1.8, 0, "°F"), Shown("K", 1, 0, "°C")),
    "expansion": Kind("1/K", Shown("1/degF", 1e6 / 1.8, 1, "millionths/°F"), Shown("1/K", 1e6, 1, "millionths/°C")),
    "force": Kind("N", Shown("lbf", _LBF, 0, "lbf"), Shown("N", 1, 0, "N")),
    "heavy_force": Kind("N", Shown("lbf", _LBF, -1, "lbf"), Shown("kN", 1e-3, 1, "kN")),
    "torque": Kind("N*m", Shown("ft*lbf", _LBF * _FT, 1, "lbf·ft"), Shown("N*m", 1, 1, "N·m")),
    "pressure": Kind("MPa", Shown("psi", _LBF / _IN**2, 0, "lbf/in²"), Shown("MPa", 1, 1, "MPa")),
    "modulus": Kind("MPa", Shown("Mpsi", _LBF / _IN**2 / 1e6, 1, "million lbf/in²"), Shown("GPa", 1e-3, 0, "GPa")),
    "mass": Kind("g", Shown("oz", 1 / 28.349523125, 2, "oz"), Shown("g", 1, 1, "g")),
    "speed": Kind("m/min", Shown("ft/min", _FT, 0, "ft/min"), Shown("m/min", 1, 1, "m/min")),
    "feed": Kind("mm/rev", Shown("thou/rev", _IN * 1000, 1, "thou/rev"), Shown("mm/rev", 1, 3, "mm/rev")),
    "rough": Kind("um", Shown("uin", _IN * 1000, 0, "µin"), Shown("um", 1, 2, "µm")),
    "power": Kind("W", Shown("W", 1, 0, "W"), Shown("W", 1, 0, "W")),
    "rate": Kind("1/min", Shown("1/min", 1, 0, "/min"), Shown("1/min", 1, 0, "/min")),
    "spin": Kind("rev/min", Shown("rev/min", 1, 0, "rev/min"), Shown("rev/min", 1, 0, "rev/min")),
    "angle": Kind("deg", Shown("deg", 1, 1, "°"), Shown("deg", 1, 1, "°")),
    "duration": Kind("s", Shown("s", 1, 0, "s"), Shown("s", 1, 0, "s")),
    # told, never typed: the time that work is reckoned to take, and what is asked for it
    "work": Kind("s", Shown("s", 1, 0, "s"), Shown("s", 1, 0, "s")),
    "price": Kind("1", Shown("1", 1, 2, ""), Shown("1", 1, 2, "")),
    "percent": Kind("1", Shown("%", 100, 0, "%"), Shown("%", 100, 0, "%")),
    # told, never typed: see _chance
    "chance": Kind("1", Shown("%", 100, 0, "%"), Shown("%", 100, 0, "%")),
    "ratio": Kind("1", Shown("1", 1, 2, ""), Shown("1", 1, 2, "")),
    "factor": Kind("1", Shown("1", 1, 3, ""), Shown("1", 1, 3, "")),
    "slope": Kind("1", Shown("thou/ft", 12000, 1, "thou/ft"), Shown("um/mm", 1000, 2, "mm/m"), True),
    "per_size": Kind("1", Shown("thou/in", 1000, 2, "thou/in"), Shown("um/mm", 1000, 2, "µm/mm")),
    "sound": Kind("m/s", Shown("ft/s", _FT, 0, "ft/s"), Shown("m/s", 1, 0, "m/s")),
    "plain": Kind("1", Shown("1", 1, 2, ""), Shown("1", 1, 2, "")),
    "money": Kind("1", Shown("1", 1, 2, ""), Shown("1", 1, 2, "")),
    "times": Kind("1", Shown("1", 1, 1, ""), Shown("1", 1, 1, "")),
    "count": Kind("1", Shown("1", 1, 0, ""), Shown("1", 1, 0, "")),
}


@dataclass(frozen=True, slots=True)
class Qty:
    """A figure: ``value`` in the logic unit of ``kind`` (see :data:`KINDS`).

    ``u`` is the standard uncertainty in the same unit, or None if none is claimed.
    """

    value: float
    kind: str
    u: float | None = None

    @property
    def unit(self) -> str:
        return KINDS[self.kind].unit


class AsTyped(str):
    """A number as somebody typed it. Its one decimal point is said as the reader's language writes it."""

    __slots__ = ()

    def said(self, style: Style) -> str:
        """The text with its point as a comma where the language writes one; with more than one mark it stays as it is."""
        return str(self) if style.language == "en" or self.count(".") + self.count(",") != 1 else self.replace(".", ",")


class Day(str):
    """A day as ``YYYY-MM-DD`` (ISO 8601), with a time of day after it or without. Said as the reader's language writes it."""

    __slots__ = ()

    def said(self, style: Style) -> str:
        """The day first with points in German, else as it is; as long either way."""
        year, month, day = self[:4], self[5:7], self[8:10]
        return f"{day}.{month}.{year}{self[10:]}" if style.language == "de" else str(self)


@dataclass(frozen=True, slots=True)
class Bound:
    """The end of a range that somebody may type, told no closer than to three figures, and inside the range.

    ``low`` says which end it is: the lower is rounded up, the upper down, so that the figure told is one to be typed.
    """

    value: float
    kind: str
    low: bool

    def said(self, style: Style) -> str:
        """The figure in the reader's unit, without the noughts that say nothing: ``0.79 in``, ``500 mm``."""
        s = shown(self.kind, style)
        value = float(f"{self.value * s.scale + s.offset:.9g}")  # without binary dust
        digits = 0
        if value != round(value):
            digits = max(0, 2 - math.floor(math.log10(abs(value))))
            value = (math.ceil if self.low else math.floor)(value * 10**digits) / 10**digits
        digits = next(n for n in range(digits + 1) if n == digits or value == round(value, n))
        text = _number(value, digits, signed=KINDS[self.kind].signed, comma=style.language != "en")
        return text + (s.label if s.label == "°" else f"\u202f{_label(s.label, style.language)}" if s.label else "")


@dataclass(frozen=True)
class Line:
    """A sentence with named gaps, as in ``L("Bore to {size}", size=Qty(76.9, "size"))``.

    A gap may hold a Qty, a number, a plain string (a name somebody typed), a number as
    :class:`AsTyped`, a :class:`Bound` or a :class:`Day`, another Line, or a tuple of any of these (shown as a list).
    """

    template: str
    values: Mapping[str, Any] = field(default_factory=dict)
    #: The sentence for several, where ``template`` is the one for one; empty where nothing is counted.
    plural: str = ""
    #: What is counted: the whole number that chooses between the two.
    count: int = 1

    def __str__(self) -> str:
        return say(self)

    def __hash__(self) -> int:
        return hash((self.template, self.count, repr(sorted(self.values.items(), key=lambda kv: kv[0]))))


def L(template: str, /, **values: Any) -> Line:  # noqa: N802  (short, for it stands before every sentence)
    """Make a :class:`Line`. Every text a person reads starts as one of these or as an :func:`LN`."""
    return Line(template, values)


def LN(one: str, several: str, n: int, /, **values: Any) -> Line:  # noqa: N802  (as L)
    """A :class:`Line` that counts, as in ``LN("{n} entry", "{n} entries", 3)``.

    ``n`` chooses the sentence and fills the gap ``{n}``, unless ``values`` fills that gap otherwise.
    """
    return Line(one, {"n": n, **values}, several, n)


@dataclass(frozen=True, slots=True)
class Style:
    """How one person wants figures: ``length`` 'in' or 'mm', ``temperature`` 'C' or 'F', ``language``."""

    length: str = "in"
    temperature: str = "C"
    language: str = "en"

    def other(self) -> Style:
        """The same person, other length system (the small figure beside the large one)."""
        return replace(self, length="mm" if self.length == "in" else "in")


def shown(kind: str, style: Style) -> Shown:
    """The :class:`Shown` row used for ``kind`` under ``style``."""
    k = KINDS[kind]
    if kind.startswith("temperature") or kind == "expansion":
        return k.inch if style.temperature == "F" else k.metric
    return k.inch if style.length == "in" else k.metric


def _number(x: float, digits: int, *, signed: bool = False, comma: bool = False) -> str:
    if not math.isfinite(x):
        return "–"
    text = f"{x:.{digits}f}" if digits >= 0 else f"{round(x, digits):.0f}"
    if float(text) == 0:
        text = text.lstrip("-")
    if signed and float(text) > 0:
        text = "+" + text
    text = text.replace("-", "\u2212")
    return text.replace(".", ",") if comma else text


def _catalogue(language: str) -> NullTranslations | None:
    if language == "en":
        return None
    from .words import catalogue  # noqa: PLC0415  (loaded only when another language is asked for)

    return catalogue(language)


def _label(label: str, language: str) -> str:
    """A unit's label in another language, where it has one of its own there."""
    catalogue = _catalogue(language)
    return catalogue.pgettext("unit", label) if catalogue else label


#: Seconds are told below this, in seconds: as long as what is timed with a watch lasts.
_TO_THE_SECOND = 3600


def _lasting(seconds: float, language: str) -> str:
    """A duration as a person says it: ``45 s``, ``2 min 05 s``, ``48 min``, from an hour on ``5 h 12 min``."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} {_label('s', language)}"
    if whole < _TO_THE_SECOND and whole % 60:
        return f"{whole // 60} {_label('min', language)} {whole % 60:02d} {_label('s', language)}"
    hours, minutes = divmod(round(seconds / 60), 60)
    said = [f"{hours} {_label('h', language)}"] if hours else []
    return " ".join([*said, f"{minutes} {_label('min', language)}"] if minutes or not hours else said)


#: (up to so many minutes, told to so many): nobody plans a day by the minute.
_PLANNED = ((120, 5), (300, 15), (math.inf, 30))


def _planned(seconds: float, language: str) -> str:
    """The time of work to come, as roughly as it is known: to 5 minutes, above two hours to 15, above five to 30."""
    minutes = seconds / 60
    step = next(step for most, step in _PLANNED if minutes <= most)
    return _lasting(60 * max(5, step * round(minutes / step)), language)


#: The digits to which a price is rounded, and by how much of itself that may change it at most.
_ROUND, _ROUNDED_BY = (5, 1), 0.025


def _round_price(amount: float) -> float:
    """A price that is reckoned and not known, to a round figure: 412.37 is about 410, 88.6 about 89."""
    if not amount or not math.isfinite(amount):
        return amount
    ten = 10.0 ** math.floor(math.log10(abs(amount) * _ROUNDED_BY))
    step = next(n * ten for n in _ROUND if n * ten <= abs(amount) * _ROUNDED_BY)
    return step * round(amount / step)


def _price(amount: float, *, comma: bool) -> str:
    """A price without the cents that nobody knows."""
    rounded = _round_price(amount)
    return _number(rounded, 0 if abs(rounded - round(rounded)) < 1e-6 else 2, comma=comma)


def _rounding(q: Qty, s: Shown) -> tuple[float, int]:
    """The value in the unit shown, and how many decimals it gets."""
    value = q.value * s.scale + s.offset
    if q.kind == "percent":
        # never round a doubt away: 99.7 % is not 100 %, 0.3 % is not 0 %
        if 99 < value < 100:
            return min(value, 99.9), 1
        if 0 < value < 1:
            return max(value, 0.1), 1
    if q.kind == "step" and s.unit == "mm":
        return value, 2 if abs(value * 100 - round(value * 100)) < 1e-6 else 3
    return value, s.digits


def _chance(chance: float, style: Style, *, unit: bool) -> str:
    """A chance in whole percent. What is nearly sure or nearly impossible is told as that and no closer.

    No chance is worth more than what was taken for granted to work it out.
    """
    said = "99" if chance > MOST_TOLD else "1" if chance < LEAST_TOLD else f"{100 * chance:.0f}"
    text = f"{said}\u202f%" if unit else said
    if not math.isfinite(chance):
        return "–"
    if chance > MOST_TOLD:
        return say(L("over {p}", p=text), style)
    return say(L("under {p}", p=text), style) if chance < LEAST_TOLD else text


#: How the kinds are told that are more than a number and its unit.
_TOLD: dict[str, Callable[[float, Style], str]] = {
    "duration": lambda seconds, style: _lasting(seconds, style.language),
    "work": lambda seconds, style: _planned(seconds, style.language),
    "price": lambda amount, style: _price(amount, comma=style.language != "en"),
}


def figure(q: Qty, style: Style = Style(), *, unit: bool = True, spread: bool = False) -> str:
    """One figure as text, e.g. ``3.0300 in``. ``spread`` adds the expanded uncertainty (k = 2)."""
    s = shown(q.kind, style)
    comma = style.language != "en"
    if q.kind == "chance":
        return _chance(q.value, style, unit=unit)
    told = _TOLD.get(q.kind)
    if told is not None:
        return told(q.value, style)
    value, digits = _rounding(q, s)
    text = _number(value, digits, signed=KINDS[q.kind].signed, comma=comma)
    if spread and q.u:
        text += " ± " + _number(2 * q.u * s.scale, digits, comma=comma)
    if unit and s.label:
        text += s.label if s.label == "°" else "\u202f" + _label(s.label, style.language)
    return text


def pair(q: Qty, style: Style = Style()) -> tuple[str, str]:
    """The large figure in the person's own system and the small one in the other."""
    return figure(q, style), figure(q, style.other())


def _gap(value: Any, style: Style) -> str:
    if isinstance(value, Qty):
        return figure(value, style)
    if isinstance(value, Line):
        return say(value, style)
    if isinstance(value, (tuple, list)):
        return ", ".join(_gap(v, style) for v in value)
    if isinstance(value, float):
        return _number(value, 2, comma=style.language != "en")
    if isinstance(value, (AsTyped, Bound, Day)):
        return value.said(style)
    return str(value)


class _Filler(string.Formatter):
    def get_field(self, field_name: str, args: Any, kwargs: Any) -> Any:  # noqa: ARG002
        # names only: no attribute or index look-ups from a template
        return kwargs[field_name], field_name

    def format_field(self, value: Any, format_spec: str) -> str:  # noqa: ARG002
        return str(value)


_FILL = _Filler()


def _template(line: Line, language: str) -> str:
    """The sentence with its gaps in ``language``, in the form that the count asks for."""
    catalogue = _catalogue(language) if line.template else None  # gettext keeps its own head under ""
    if line.plural:
        if catalogue:
            return catalogue.ngettext(line.template, line.plural, line.count)
        return line.template if line.count == 1 else line.plural
    return catalogue.gettext(line.template) if catalogue else line.template


def say(line: Line | str, style: Style = Style()) -> str:
    """Fill a line's gaps for one person. A plain string (typed by somebody) passes unchanged."""
    if isinstance(line, str):
        return line
    template = _template(line, style.language)
    if not line.values:
        return template.replace("{{", "{").replace("}}", "}")
    return _FILL.vformat(template, (), {k: _gap(v, style) for k, v in line.values.items()})
