"""What can be entered: one :class:`Field` for each thing a person may type or choose.

A field says what is asked, in which kind of unit, what is plausible, what is
assumed when nothing is entered, and where that assumption comes from. The number
pad, the import check, ``boreside work`` and the help texts all read it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from .say import KINDS, Line

__all__ = ["Choice", "DefaultNumber", "DefaultSelect", "Field", "Fields", "Number", "Select", "Text", "by_key"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a choice field: ``value`` is stored, ``label`` is shown."""

    value: str
    label: Line


@dataclass(frozen=True, kw_only=True)
class Field:
    """One thing that is asked: a :class:`Number`, a :class:`Select` or a :class:`Text`.

    ``key`` is stable and dotted, sheet first ("clamp.torque"). ``kind`` is a key of
    :data:`logic.say.KINDS`, or "choice" or "text". ``low`` and ``high`` bound what is
    plausible, in the kind's logic unit. ``default`` (logic unit, or a choice's value)
    is used when nothing is entered; ``source`` says where it comes from: "common
    practice", "from memory", or a standard. A field with no default and not
    ``optional`` must be entered before its sheet can answer.

    ``at`` lists what one value belongs to beyond the job: () for the whole job,
    ("cylinder",) for one per cylinder, ("cylinder", "depth", "axis") for a grid cell,
    ("cylinder", "pass") for a numbered event, and so on. Cylinders, depths, passes,
    checks and points are counted from 1; ``axis`` is a name.

    ``over`` is True where the entry may be given as a deviation ("+12" thou) from a
    base size that the sheet supplies.

    ``card`` is the role of the kit card ("bar", "hone", "gauge", "micrometer") that may
    hold the value under the same key: what is entered in the job wins over the card, and
    the card over the default.

    ``beside`` are (key, choice) of the fields without which a value changes nothing, "" for any
    value of theirs; ``below`` is the key of the upper limit where this is a lower one.
    """

    key: str
    label: Line
    kind: str
    help: Line
    low: float | None = None
    high: float | None = None
    default: float | str | None = None
    source: str = "common practice"
    at: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    optional: bool = False
    over: bool = False
    formula: str = ""
    card: str = ""
    beside: tuple[tuple[str, str], ...] = ()
    below: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS and self.kind not in ("choice", "text"):
            raise ValueError(f"{self.key}: no such kind {self.kind!r}")

    @property
    def unit(self) -> str:
        """The unit of a stored value ('' for choices and text)."""
        return KINDS[self.kind].unit if self.kind in KINDS else ""


@dataclass(frozen=True, kw_only=True)
class Number(Field):
    """A number, in the kind's logic unit. With a default it is a :class:`DefaultNumber`."""

    default: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.kind not in KINDS:
            raise ValueError(f"{self.key}: {self.kind} is no kind of number")
        if self.default is not None and not isinstance(self, DefaultNumber):
            raise ValueError(f"{self.key}: a number with a default is a DefaultNumber")


@dataclass(frozen=True, kw_only=True)
class DefaultNumber(Number):
    """A number that is always known: what is entered, what the kit card says, or the default."""

    default: float = field()


@dataclass(frozen=True, kw_only=True)
class Select(Field):
    """One of ``choices``. With a default it is a :class:`DefaultSelect`."""

    kind: str = "choice"
    default: str | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.kind != "choice":
            raise ValueError(f"{self.key}: {self.kind} is no choice")
        if self.default is not None and not isinstance(self, DefaultSelect):
            raise ValueError(f"{self.key}: a choice with a default is a DefaultSelect")


@dataclass(frozen=True, kw_only=True)
class DefaultSelect(Select):
    """A choice that is always known: what is chosen, what the kit card says, or the default."""

    default: str = field()


@dataclass(frozen=True, kw_only=True)
class Text(Field):
    """A short text. It has no default."""

    kind: str = "text"
    default: None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.kind != "text":
            raise ValueError(f"{self.key}: {self.kind} is no text")


Fields = Mapping[str, Field]


def by_key(*fields: Field) -> dict[str, Field]:
    """Fields as a mapping; two with one key is a mistake and raises ValueError."""
    table: dict[str, Field] = {}
    for f in fields:
        if f.key in table:
            raise ValueError(f"field {f.key} is defined twice")
        table[f.key] = f
    return table
