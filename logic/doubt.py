"""When two sources of one thing disagree, and how that is said.

Two sources a and b of one quantity, with standard uncertainties u_a and u_b from which
what they share is taken out, stand apart by

    d = |a − b| / sqrt(u_a² + u_b²)

Up to about 2 they agree. From about 3.5 on, one of them is wrong, and nothing that rests on
them may say yes until it is settled. In between, what is taken from both is widened by
the Birge ratio, the larger of 1 and sqrt(chi² / dof) (R. T. Birge, Physical Review 40
(1932) 207): :func:`birge_ratio`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from .result import Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "AGREE",
    "APART",
    "DIGITS",
    "Doubt",
    "Place",
    "Source",
    "apart",
    "beyond",
    "birge_ratio",
    "ends",
    "held",
    "held_by",
    "weighted_mean",
]

#: Up to so many standard uncertainties two sources agree; from the second on, one of them is wrong.
AGREE, APART = 2.0, 3.5
_NOT_YET = L("Not yet: {doubt}", doubt="")
#: What settles that a figure is unusual and nothing else in the job speaks for or against it.
DIGITS = L("Check its unit and its digits, or say that it is right.")

#: A field's key and the place of one value of it, sorted by name.
Place = tuple[str, tuple[tuple[str, int | str], ...]]


@dataclass(frozen=True, slots=True)
class Source:
    """One source of a quantity: its name, value and standard uncertainty in mm."""

    name: Line
    value_mm: float
    u_mm: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.value_mm) or not (math.isfinite(self.u_mm) and self.u_mm >= 0):
            raise ValueError("a source needs a finite value and an uncertainty that is not below zero")


def apart(a: Source, b: Source) -> float:
    """How many of their joint standard uncertainties two sources stand apart (infinite for two exact ones that differ)."""
    gap, u = abs(a.value_mm - b.value_mm), math.hypot(a.u_mm, b.u_mm)
    if u == 0.0:
        return 0.0 if gap == 0.0 else math.inf
    return gap / u


def weighted_mean(sources: Sequence[Source]) -> tuple[float, float]:
    """The mean weighted by 1/u² and its standard uncertainty, both in mm. Raises ValueError for none, or u = 0."""
    if not sources or any(s.u_mm == 0 for s in sources):
        raise ValueError("every source needs an uncertainty above zero")
    weights = [1 / s.u_mm**2 for s in sources]
    total = math.fsum(weights)
    mean = math.fsum(w * s.value_mm for w, s in zip(weights, sources, strict=True)) / total
    return mean, 1 / math.sqrt(total)


def birge_ratio(sources: Sequence[Source]) -> float:
    """By how much the uncertainty of the weighted mean is widened: max(1, sqrt(chi² / (n − 1)))."""
    if len(sources) < 2:
        return 1.0
    mean, _ = weighted_mean(sources)
    chi2 = math.fsum(((s.value_mm - mean) / s.u_mm) ** 2 for s in sources)
    return max(1.0, math.sqrt(chi2 / (len(sources) - 1)))


def ends(sizes_mm: Mapping[int, float]) -> tuple[int, int, float]:
    """Which of some sizes is the smallest, which the largest, and how far they lie apart, mm. Raises ValueError for none."""
    low, high = min(sizes_mm, key=lambda n: sizes_mm[n]), max(sizes_mm, key=lambda n: sizes_mm[n])
    return low, high, sizes_mm[high] - sizes_mm[low]


def beyond(off_mm: float, within_mm: float, u_mm: float, times: float) -> bool:
    """Whether two sizes differ by more than ``within_mm`` and so many standard uncertainties of their difference."""
    return abs(off_mm) > within_mm + times * u_mm


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """Something entered that contradicts something else, or is likely a slip.

    ``key`` is stable for the same contradiction; ``line`` names both sides and by how much
    they differ; ``settle`` says which check would settle it; ``about`` are the values it
    rests on (field and place), so that every answer that uses one of them can be held;
    ``likely`` is what was likely meant, where that can be told.
    """

    key: str
    line: Line
    settle: Line
    about: tuple[Place, ...]
    likely: Qty | None = None

    @property
    def cylinders(self) -> frozenset[int]:
        """The cylinders whose values it rests on."""
        return frozenset(int(spot) for _, at in self.about for what, spot in at if what == "cylinder")


R = TypeVar("R", bound=Result)


def held_by(result: Result) -> Line | None:
    """The doubt that holds ``result`` back from its yes; None where none does."""
    return result.line.values["doubt"] if result.line.template == _NOT_YET.template else None


def held(result: R, doubts: Sequence[Doubt]) -> R:
    """``result``, as far as it may be said while ``doubts`` stand about what it rests on.

    A yes becomes "measure again", its sentence that of the first doubt; a no and a plain
    figure stay, with every doubt among the reasons.
    """
    if not doubts:
        return result
    reasons = tuple(line for d in doubts for line in (d.line, d.settle))
    if result.verdict != Verdict.GO:
        return replace(result, why=(*reasons, *result.why))
    first = doubts[0]
    return replace(
        result,
        verdict=Verdict.MAYBE,
        confidence=None,
        line=replace(_NOT_YET, values={"doubt": first.line}),
        why=(first.settle, *reasons[2:], L("Without that it would be: {line}", line=result.line), *result.why),
    )
