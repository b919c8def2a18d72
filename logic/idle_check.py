"""What was entered and would change nothing: half of a pair, limits the wrong way round, a value beside the choice it belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = ["check_alone", "check_fuel", "check_limits"]


def check_alone(key: str, what: Line, other: Line, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """A value that counts only together with another, which is not there."""
    yield Doubt(
        key=f"alone.{key}",
        line=L("{what} changes nothing without: {other}.", what=what, other=other),
        settle=L("Enter that as well, or undo this."),
        about=tuple(about),
    )


def check_limits(key: str, low: tuple[Line, Qty], high: tuple[Line, Qty], *, about: Sequence[Place]) -> Iterator[Doubt]:
    """A lower and an upper limit of one thing, (name, value) each."""
    (low_name, least), (high_name, most) = low, high
    if least.value < most.value:
        return
    yield Doubt(
        key=f"limits.{key}",
        line=L(
            "{low}: {least}, but {high}: {most}. No value lies between.",
            low=low_name,
            least=least,
            high=high_name,
            most=most,
        ),
        settle=L("Look whether they were entered the wrong way round."),
        about=tuple(about),
    )


def check_fuel(fuel: str | None, duty: str | None, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The fuel against what the engine is said to do; None where one of them was not entered."""
    if fuel is None or duty is None or (fuel == "diesel") == (duty == "diesel"):
        return
    line = (
        L("The fuel is diesel, yet what the engine does is not that of a diesel.")
        if fuel == "diesel"
        else L("The fuel is not diesel, yet what the engine does is that of a diesel.")
    )
    yield Doubt(
        key="fuel.duty",
        line=line,
        settle=L("Look which of the two is right: it decides the clearance and the ring gaps."),
        about=tuple(about),
    )
