"""What every calculation hands back.

A screen shows a :class:`Result`; it never calculates. Whatever a person should
know about a number travels with it: how sure it is, what was assumed, which
inputs mattered most, and what to be careful about.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

from .say import LEAST_TOLD, MOST_TOLD, L, Line, Qty, Style, figure, say

__all__ = ["Assumption", "Caution", "Figure", "Influence", "Result", "Verdict", "as_data", "source_said"]


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something taken as true. ``source`` is a standard, "common practice", "from memory" or "entered"."""

    text: Line
    source: str = "common practice"


_SOURCES = {
    "common practice": L("common practice"),
    "from memory": L("from memory"),
    "entered": L("entered"),
    "kit card": L("kit card"),
    "by definition": L("by definition"),
    "by its fuel": L("by its fuel"),
    "geometry": L("geometry"),
    "mechanics": L("mechanics"),
    "measured": L("measured on the job"),
    "common practice, no source": L("common practice, no source"),
    "entered or common practice": L("entered or common practice"),
    "own history": L("own history"),
    "nothing done yet": L("nothing done yet"),
    "the line of the bore centres": L("the line of the bore centres"),
    "published worked example": L("published worked example"),
    "published tables of sound velocities, soft to hard cast iron": L(
        "published tables of sound velocities, soft to hard cast iron"
    ),
    "service data of production blocks: deck height within 0.25 mm over the length of the block": L(
        "service data of production blocks: deck height within 0.25 mm over the length of the block"
    ),
}
#: How a source says that nobody looked it up again.
_BY_HEART = (" (from memory)", ", from memory")


def source_said(source: str) -> Line | str:
    """A source as it is shown: the everyday ones in the person's language, a standard by its own name."""
    if source in _SOURCES:
        return _SOURCES[source]
    if "; " in source:
        first, _, rest = source.partition("; ")
        return L("{source}; {more}", source=source_said(first), more=source_said(rest))
    book = next((source.removesuffix(end) for end in _BY_HEART if source.endswith(end)), "")
    return L("{source} (from memory)", source=source_said(book)) if book else source


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning. ``key`` is stable (it is what gets acknowledged and logged)."""

    key: str
    text: Line


@dataclass(frozen=True, slots=True)
class Influence:
    """An input and its share (0..1) of the result's variance, or of the decision."""

    name: Line
    share: float


@dataclass(frozen=True, slots=True)
class Figure:
    """A labelled figure beside the main one.

    ``help``, ``formula`` and ``source`` explain it where this one differs from what
    :mod:`logic.explain` says of all of its kind.
    """

    key: str
    label: Line
    qty: Qty
    help: Line | None = None
    formula: Line | str = ""
    source: str = ""


class Verdict:
    """The words a result may carry; shown as word and icon, never as colour alone."""

    GO = "go"
    MAYBE = "measure again"
    STOP = "stop"
    INFO = "info"


@dataclass(frozen=True, kw_only=True)
class Result:
    """A computed answer.

    ``key`` names the answer; ``value`` is its main figure (None where the answer is
    only words); ``line`` says it in one plain sentence; ``why`` gives the reasons in
    order; ``figures`` are the numbers behind it; ``verdict`` is one of
    :class:`Verdict`; ``confidence`` is the probability (0..1) that the verdict is
    right, where one is claimed. Subclasses add fields specific to the calculation.
    """

    key: str
    line: Line
    value: Qty | None = None
    verdict: str = Verdict.INFO
    confidence: float | None = None
    why: tuple[Line, ...] = ()
    figures: tuple[Figure, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    influences: tuple[Influence, ...] = ()
    cautions: tuple[Caution, ...] = ()

    def figure(self, key: str) -> Qty:
        """The figure called ``key``. Raises KeyError if there is none."""
        for f in self.figures:
            if f.key == key:
                return f.qty
        raise KeyError(key)


_METRIC = Style(length="mm")


def _held_back(chance: float | None) -> float | None:
    return None if chance is None else min(max(chance, LEAST_TOLD), MOST_TOLD)


def as_data(thing: Any, style: Style = _METRIC) -> Any:
    """A result as plain JSON data: every Line said, every Qty as value, unit, u and text.

    A chance is given no closer to sure or to impossible than it is told (:data:`logic.say.MOST_TOLD`).
    """
    if isinstance(thing, Line):
        return say(thing, style)
    if isinstance(thing, Qty):
        value = _held_back(thing.value) if thing.kind == "chance" else thing.value
        return {"value": value, "unit": thing.unit, "u": thing.u, "text": figure(thing, style)}
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return _record(thing, style)
    if isinstance(thing, dict):
        return {str(k): as_data(v, style) for k, v in thing.items()}
    if isinstance(thing, (tuple, list)):
        return [as_data(v, style) for v in thing]
    return thing


def _record(thing: Any, style: Style) -> dict[str, Any]:
    """A dataclass as plain data, by the names of its fields."""
    data = {f.name: as_data(getattr(thing, f.name), style) for f in dataclasses.fields(thing)}
    return {**data, "confidence": _held_back(thing.confidence)} if isinstance(thing, Result) else data
