"""Where in a job a value belongs: every kind of place, what may stand there, and its name in words.

A place is a mapping such as ``{"cylinder": 2, "depth": 1, "axis": "thrust"}``. Fields say
in ``at`` which kinds of place their values have; an entry is checked, named and asked for
by the one table here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .bore import AXES, axis_name
from .directions import compass
from .say import L, Line

__all__ = ["COUNTED", "MOST_CYLINDERS", "PLACES", "Kind", "banks_of", "banks_written", "fits", "place_name", "vees"]

#: More cylinders than any engine that is bored where it stands (common practice, no source).
MOST_CYLINDERS = 32
#: No depth, pass, check or point is numbered higher.
_LAST = 10_000


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of place: a whole number from ``low`` to ``high``, or one of ``names``.

    ``counted`` is True where its numbers count things up from 1.
    """

    low: int = 1
    high: int = _LAST
    names: tuple[str, ...] = ()
    counted: bool = True

    def fits(self, value: object) -> bool:
        """Whether ``value`` can be such a place."""
        if self.names:
            return value in self.names
        return isinstance(value, int) and not isinstance(value, bool) and self.low <= value <= self.high


PLACES: Mapping[str, Kind] = {
    "cylinder": Kind(high=MOST_CYLINDERS),
    "depth": Kind(),
    "axis": Kind(names=tuple(AXES), counted=False),
    "angle": Kind(low=0, high=359, counted=False),
    "pass": Kind(),
    "check": Kind(),
    "point": Kind(),
    "foot": Kind(),
    "piece": Kind(),
    "item": Kind(),
    "ring": Kind(),
    "grade": Kind(),
}

#: The kinds of place that are numbered from 1.
COUNTED = tuple(name for name, kind in PLACES.items() if kind.counted)


def fits(at: Mapping[str, object], kinds: tuple[str, ...]) -> bool:
    """Whether ``at`` is a place of exactly these kinds. A kind that is not in the table is a whole number from 1."""
    return set(at) == set(kinds) and all(PLACES.get(name, Kind()).fits(value) for name, value in at.items())


_NAMES: Mapping[frozenset[str], Callable[[Mapping[str, Any]], Line]] = {
    frozenset({"cylinder"}): lambda p: L("Cylinder {c}", c=p["cylinder"]),
    frozenset({"depth"}): lambda p: L("Depth {depth}", depth=p["depth"]),
    frozenset({"check"}): lambda p: L("Check {n}", n=p["check"]),
    frozenset({"point"}): lambda p: L("Point {point}", point=p["point"]),
    frozenset({"foot"}): lambda p: L("Foot {foot}", foot=p["foot"]),
    frozenset({"piece"}): lambda p: L("Known place {piece}", piece=p["piece"]),
    frozenset({"item"}): lambda p: L("Piston set {item}", item=p["item"]),
    frozenset({"ring"}): lambda p: L("Ring {ring} from the crown", ring=p["ring"]),
    frozenset({"grade"}): lambda p: L("Grade {grade} of the list", grade=p["grade"]),
    frozenset({"cylinder", "pass"}): lambda p: L("Cylinder {c}, pass {n}", c=p["cylinder"], n=p["pass"]),
    frozenset({"cylinder", "check"}): lambda p: L("Cylinder {c}, check {n}", c=p["cylinder"], n=p["check"]),
    frozenset({"cylinder", "check", "depth"}): lambda p: L(
        "Cylinder {c}, check {n}, depth {d}", c=p["cylinder"], n=p["check"], d=p["depth"]
    ),
    frozenset({"cylinder", "ring"}): lambda p: L(
        "Cylinder {cylinder}, ring {ring} from the crown", cylinder=p["cylinder"], ring=p["ring"]
    ),
    frozenset({"cylinder", "angle"}): lambda p: L(
        "Cylinder {cylinder}, {place}", cylinder=p["cylinder"], place=compass(p["angle"])
    ),
    frozenset({"cylinder", "depth", "angle"}): lambda p: L(
        "Cylinder {cylinder}, depth {depth}, toward {direction}, {angle}°",
        cylinder=p["cylinder"],
        depth=p["depth"],
        direction=compass(p["angle"]),
        angle=p["angle"],
    ),
    frozenset({"cylinder", "depth", "axis"}): lambda p: L(
        "Cylinder {cylinder}, depth {depth}, {axis}",
        cylinder=p["cylinder"],
        depth=p["depth"],
        axis=axis_name(p["axis"]),
    ),
    frozenset({"depth", "axis"}): lambda p: L(
        "Depth {depth}, {axis}",
        depth=p["depth"],
        axis=axis_name(p["axis"]),
    ),
    frozenset({"cylinder", "depth", "axis", "check"}): lambda p: L(
        "Cylinder {cylinder}, depth {depth}, {axis}, repeat {n}",
        cylinder=p["cylinder"],
        depth=p["depth"],
        axis=axis_name(p["axis"]),
        n=p["check"],
    ),
}


def place_name(place: Mapping[str, Any]) -> Line:
    """A place in words. Raises KeyError for a combination of kinds that no field has."""
    return _NAMES[frozenset(place)](place)


# -- banks ---------------------------------------------------------------------------------
def banks_of(written: str, cylinders: Sequence[int]) -> tuple[tuple[int, ...], ...] | None:
    """The banks as somebody wrote them, each from the front: "1 2 3 / 4 5 6".

    None unless there are two or more and every cylinder stands in one of them once.
    """
    rows = [tuple(map(int, re.findall(r"[0-9]+", row))) for row in re.split(r"[/|;\n]", written)]
    banks = tuple(row for row in rows if row)
    if len(banks) < 2 or sorted(c for bank in banks for c in bank) != sorted(cylinders):
        return None
    return banks


def banks_written(banks: Sequence[Sequence[int]]) -> str:
    """The banks as :func:`banks_of` reads them."""
    return " / ".join(" ".join(map(str, bank)) for bank in banks)


def vees(count: int) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """The usual ways to number ``count`` cylinders in a vee: one bank through and then the other, and from side to side.

    Both are in use (common practice, no source); an odd number has no usual way.
    """
    if count < 2 or count % 2:
        return ()
    there, half = tuple(range(1, count + 1)), count // 2
    through, across = (there[:half], there[half:]), (there[::2], there[1::2])
    return (through,) if through == across else (through, across)
