"""Which entries can be reckoned with.

The number pad takes only what a field allows, but a log may also come out of a file
that somebody else wrote. An entry whose value lies outside its field's range, whose
choice is not one of its field's, or which stands at a place its field does not have, is
kept in the log and shown there; the steps do not work with it.
"""

from __future__ import annotations

from logic.fields import Field
from logic.places import fits
from logic.say import KINDS

from .documents import Chosen, Reading, Typed
from .fields import declared
from .fields.kit import ON_CARDS

__all__ = ["NOMINAL_MM", "counts", "header_counts", "in_range"]

#: The nominal bores that are reckoned with (common practice: from the smallest to the largest engine bored in place).
NOMINAL_MM = (20.0, 500.0)
_SLACK = 1e-9  # of a limit: a limit typed in another unit comes back a last digit off


def counts(entry: Reading | Chosen) -> bool:
    """Whether an entry's value and place can belong to the field it names. What names no field counts."""
    known = _known(entry.what)
    return not known or any(fits(entry.at, field.at) and _value(entry, field) for field in known)


def header_counts(key: str, value: object) -> bool:
    """Whether a header field's value can be reckoned with: in the unit and range of the field it names.

    A bare number says no unit, so it stands only for what is counted.
    """
    if key == "nominal":
        return not isinstance(value, Typed) or value.unit == "mm"
    known = _known(key)
    if not known or value is None:
        return True
    return any(_fits(value, field) for field in known)


def _fits(value: object, field: Field) -> bool:
    if isinstance(value, Typed):
        return _number(value, field)
    if isinstance(value, str):
        return _word(value, field)
    return isinstance(value, (int, float)) and not isinstance(value, bool) and _count(float(value), field)


def _known(key: str) -> tuple[Field, ...]:
    field = declared().get(key)
    return ON_CARDS.get(key, ()) if field is None else (field,)


def _value(entry: Reading | Chosen, field: Field) -> bool:
    return _word(entry.value, field) if isinstance(entry, Chosen) else _number(entry.typed, field)


def _word(value: str, field: Field) -> bool:
    return field.kind == "text" or value in {c.value for c in field.choices}


def _count(value: float, field: Field) -> bool:
    return field.kind in KINDS and not field.unit and in_range(value, field)


def _number(typed: Typed, field: Field) -> bool:
    return field.kind in KINDS and typed.unit in (field.unit, "") and in_range(typed.value, field)


def in_range(value: float, field: Field) -> bool:
    """Whether a number (in the field's logic unit) lies between the field's limits."""
    low, high = field.low, field.high
    return (low is None or value >= low - _SLACK * abs(low)) and (high is None or value <= high + _SLACK * abs(high))
