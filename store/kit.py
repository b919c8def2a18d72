"""What is at hand at the vehicle, and the time there is: what they leave of the work, and how long it takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logic.lasting import duration
from logic.say import L, Line

from .view import View

__all__ = ["AT_HAND", "TIMES", "USUAL", "Route", "duration", "has", "lacking", "needs"]

#: What may be at hand, by the word kept in the job's header ``kit``.
AT_HAND: Mapping[str, Line] = {
    "bar": L("Boring bar"),
    "hone": L("Hone"),
    "gauge": L("Bore gauge"),
    "micrometer": L("Micrometer"),
    "thickness": L("Thickness gauge"),
    "indicator": L("Indicator on the spindle"),
    "mains": L("Straight bar for the mains"),
    "burette": L("Burette"),
}
#: What somebody who rebores at the vehicle has as a rule.
USUAL = ("bar", "hone", "gauge", "micrometer")
#: The time there is, in hours of work, by the job's header ``hours``; 0 where it does not matter.
TIMES: Mapping[int, Line] = {4: L("Half a day"), 8: L("A day"), 16: L("Two days"), 0: L("No hurry")}


@dataclass(frozen=True, kw_only=True)
class Route:
    """The steps on the path with their minutes, in the order of the work, and those off it with the reason."""

    on: tuple[tuple[Line, int], ...]
    off: tuple[tuple[Line, Line], ...]

    @property
    def minutes(self) -> int:
        return sum(m for _, m in self.on)

    def as_far_as(self, hours: int) -> Line | None:
        """The last step there is time for; None where there is time for all, or for none."""
        spent, last = 0, None
        for title, minutes in self.on:
            spent += minutes
            if spent > 60 * hours:
                return last
            last = title
        return None


def has(view: View, what: str) -> bool:
    """Whether something is at hand: as was said at the intake, else what is usual."""
    said = view.word("kit")
    return what in (said.split(",") if said else USUAL)


def needs(view: View, what: str, why: Line) -> Line | None:
    """``why`` a step is off the path, unless ``what`` it needs is at hand."""
    return None if has(view, what) else why


def lacking(chosen: Sequence[str]) -> Line | None:
    """What the job cannot be finished without and is not at hand."""
    names = tuple(AT_HAND[k] for k in USUAL if k not in chosen)
    return L("Not at hand: {what}. The job stops there.", what=names) if names else None
