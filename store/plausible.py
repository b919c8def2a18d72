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

from .documents import Chosen, Reading
from .fields import declared

__all__ = ["NOMINAL_MM", "counts", "in_range"]

#: The nominal bores that are reckoned with (common practice: from the smallest to the largest engine bored in place).
NOMINAL_MM = (20.0, 500.0)
_SLACK = 1e-9  # of a limit: a limit typed in another unit comes back a last digit off


def counts(entry: Reading | Chosen) -> bool:
    """Whether an entry's value and place can belong to the field it names. What names no field counts."""
    field = declared().get(entry.what)
    if field is None:
        return True
    return fits(entry.at, field.at) and _value(entry, field)


def _value(entry: Reading | Chosen, field: Field) -> bool:
    if isinstance(entry, Chosen):
        return field.kind == "text" or entry.value in {c.value for c in field.choices}
    return field.kind in KINDS and entry.typed.unit in (field.unit, "") and in_range(entry.typed.value, field)


def in_range(value: float, field: Field) -> bool:
    """Whether a number (in the field's logic unit) lies between the field's limits."""
    low, high = field.low, field.high
    return (low is None or value >= low - _SLACK * abs(low)) and (high is None or value <= high + _SLACK * abs(high))
