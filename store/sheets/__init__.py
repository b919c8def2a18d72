"""The steps of a job, in the order of the work."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from .. import fields
from .base import Group, Risk, Sheet, Work

__all__ = ["HEADLINE", "NAMES", "Group", "Risk", "Sheet", "Work", "all_sheets", "headline", "register", "sheet"]

#: Module of each step, in the order the work is done. A module defines ``SHEET``. See :func:`register`.
NAMES = [
    "strip",
    "bores",
    "walls",
    "sweep",
    "oversize",
    "sleeve",
    "compression",
    "parts",
    "sizes",
    "face",
    "clamp",
    "cut",
    "chamfer",
    "hone",
    "final",
    "fitting",
    "rings",
    "clean",
]

#: The step whose first answer is the job's: it stands over the list of steps and over the readings.
HEADLINE = "oversize"


_MADE: dict[str, Sheet] = {}


def sheet(name: str) -> Sheet:
    """The sheet called ``name``; its module is imported when first asked for. Raises KeyError for any other name."""
    if name not in NAMES:
        raise KeyError(name)
    if name not in _MADE:
        made: Sheet = import_module(f".{name}", __name__).SHEET
        fields.declare(*made.fields.values())
        _MADE[name] = made
    return _MADE[name]


def register(made: Sheet) -> Callable[[], None]:
    """Put a step that lives elsewhere among the others, by its ``order``; what is given back takes it away again.

    Nothing else needs to be told: the flow, the screens, the report and ``boreside work``
    go by the sheet. Raises ValueError where the name or a field's key is taken.
    """
    if made.key in NAMES:
        raise ValueError(f"there is a step {made.key}")
    forget = fields.declare(*made.fields.values())
    place = next((i for i, name in enumerate(NAMES) if sheet(name).order > made.order), len(NAMES))
    NAMES.insert(place, made.key)
    _MADE[made.key] = made

    def take_away() -> None:
        NAMES.remove(made.key)
        del _MADE[made.key]
        forget()

    return take_away


def all_sheets() -> tuple[Sheet, ...]:
    """Every sheet, in the order of the work."""
    return tuple(sheet(name) for name in NAMES)


def headline() -> Sheet:
    """The sheet whose first answer is the job's."""
    return sheet(HEADLINE)


# A step that declares its fields in its own module is read at once: a log is checked against every field.
for _name in NAMES:
    if _name not in fields.MODULES:
        sheet(_name)
