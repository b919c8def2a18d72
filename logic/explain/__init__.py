"""What each figure of a result means, for whoever asks: the words, the formula, the source.

A result carries numbers; the words that explain them are the same every time, so they
stand here once and are read only when somebody asks. ``meaning("bore.2", "wear")``
gives the :class:`Meaning` of the figure ``wear`` of any result ``bore.…``: places
counted in the keys (cylinder, ring, depth) are left out of the tables' keys, and where
a table has no row for ``clamp.hold.centred`` the row of ``clamp.hold`` serves.

The tables are grouped as the work is: ``measuring``, ``choosing``, ``cutting``,
``finishing``. Each maps "result/figure" to a Meaning.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import import_module

from ..result import Figure, Result
from ..say import Line

__all__ = ["Meaning", "explained", "meaning"]

_TABLES = ("measuring", "choosing", "cutting", "finishing", "trade")


@dataclass(frozen=True, slots=True)
class Meaning:
    """``help``: two sentences, what the figure is and what it is good for.

    ``formula`` is how it comes about ("" for what is read or typed in); ``source`` a
    standard or book, or one of the everyday sources of ``logic.result.source_said``.
    """

    help: Line
    formula: Line | str = ""
    source: str = "by definition"


def _stem(key: str) -> str:
    """A key without the places counted in it: "wall.3" and "grit2" give "wall" and "grit"."""
    return re.sub(r"(?<=[a-z])\d+(?=\.|$)", "", re.sub(r"\.\d+(?=\.|$)", "", key))


@lru_cache(maxsize=1)
def table() -> dict[str, Meaning]:
    """Every row of every table. Raises ValueError where two tables have the same row."""
    rows: dict[str, Meaning] = {}
    for name in _TABLES:
        for key, row in import_module(f"{__name__}.{name}").MEANINGS.items():
            if key in rows:
                raise ValueError(f"{key} is explained twice")
            rows[key] = row
    return rows


def meaning(result_key: str, figure_key: str) -> Meaning | None:
    """The meaning of a result's figure, or None where no table has it."""
    rows, result, figure = table(), _stem(result_key), _stem(figure_key)
    while True:
        if found := rows.get(f"{result}/{figure}"):
            return found
        if "." not in result:
            return None
        result = result.rpartition(".")[0]


def explained(result: Result, figure: Figure) -> Figure:
    """A result's figure with its help, formula and source: its own where it has them, else those of its kind."""
    usual = meaning(result.key, figure.key)
    if usual is None:
        return figure
    return replace(
        figure,
        help=figure.help or usual.help,
        formula=figure.formula or usual.formula,
        source=figure.source or usual.source,
    )
