"""The steps of a job, in the order of the work."""

from __future__ import annotations

from functools import cache
from importlib import import_module

from .base import Group, Sheet, Work

__all__ = ["HEADLINE", "NAMES", "Group", "Sheet", "Work", "all_sheets", "headline", "sheet"]

#: Module of each step, in the order the work is done. A module defines ``SHEET``.
NAMES = (
    "bores",
    "walls",
    "face",
    "sweep",
    "oversize",
    "sleeve",
    "sizes",
    "clamp",
    "cut",
    "chamfer",
    "hone",
    "final",
    "rings",
    "fitting",
    "compression",
    "clean",
)

#: The step whose first answer is the job's: it stands over the list of steps and over the readings.
HEADLINE = "oversize"


@cache
def sheet(name: str) -> Sheet:
    """The sheet called ``name``; its module is imported when first asked for."""
    if name not in NAMES:
        raise KeyError(name)
    return import_module(f".{name}", __name__).SHEET


def all_sheets() -> tuple[Sheet, ...]:
    """Every sheet, in the order of the work."""
    return tuple(sheet(name) for name in NAMES)


def headline() -> Sheet:
    """The sheet whose first answer is the job's."""
    return sheet(HEADLINE)
