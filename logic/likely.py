"""What value is to be expected, as a density: what a number typed here is weighed by.

Each part is a density over values in the field's logic unit; :class:`Expectation` mixes
them. The tails are those of Student's t with :data:`DOF` degrees of freedom, for nothing in
the trade is as sure as a normal distribution's tails make it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from .slips import EASE_MM

__all__ = ["DOF", "Anywhere", "Between", "Expectation", "Near", "Part", "Ratio", "Wear", "spread_of"]

DOF = 5.0
_NORM = math.gamma((DOF + 1) / 2) / (math.gamma(DOF / 2) * math.sqrt(DOF * math.pi))


def _t(z: float) -> float:
    """Student's density at ``z``."""
    return float(_NORM * (1 + z * z / DOF) ** (-(DOF + 1) / 2))


class Part(Protocol):
    """One density."""

    def density(self, value: float) -> float:
        """Per logic unit; never negative."""
        ...


@dataclass(frozen=True, slots=True)
class Near:
    """About ``mean``, with a standard deviation of about ``spread`` (both in the logic unit)."""

    mean: float
    spread: float

    def density(self, value: float) -> float:
        return _t((value - self.mean) / self.spread) / self.spread


@dataclass(frozen=True, slots=True)
class Ratio:
    """About ``median`` times e to a number of standard deviation ``spread``; positive values only."""

    median: float
    spread: float

    def density(self, value: float) -> float:
        if value <= 0 or self.median <= 0:
            return 0.0
        return _t(math.log(value / self.median) / self.spread) / (self.spread * value)


@dataclass(frozen=True, slots=True)
class Wear:
    """Wear over an unworn bore at ``unworn_mm``, with the logarithm of the eased wear about ``level``.

    The scale is that of :mod:`logic.slips`, ln(w + s); a value below the unworn bore is
    further off by as much as it lies below.
    """

    unworn_mm: float
    level: float
    spread: float

    def density(self, value: float) -> float:
        wear = value - self.unworn_mm
        eased = max(wear, 0.0) + EASE_MM
        z = (math.log(eased) - self.level) / math.hypot(self.spread, 0.004 / eased)
        if wear < 0:
            z = math.hypot(z, wear / 0.01)
        return _t(z) / (self.spread * eased)


@dataclass(frozen=True, slots=True)
class Between:
    """Anything from ``low`` to ``high`` alike."""

    low: float
    high: float

    def density(self, value: float) -> float:
        return 1 / (self.high - self.low) if self.low <= value <= self.high else 0.0


@dataclass(frozen=True, slots=True)
class Anywhere:
    """Any order of magnitude alike, from ``least`` to ``most`` in size, of either sign."""

    least: float
    most: float

    def density(self, value: float) -> float:
        if abs(value) > self.most:
            return 0.0
        return 1 / (2 * (1 + math.log(self.most / self.least)) * max(abs(value), self.least))


@dataclass(frozen=True, slots=True)
class Expectation:
    """Densities mixed by weight; the weights need not sum to one."""

    parts: tuple[tuple[float, Part], ...]

    @classmethod
    def of(cls, *parts: tuple[float, Part]) -> Expectation:
        return cls(parts)

    def density(self, value: float) -> float:
        total = math.fsum(w for w, _ in self.parts)
        return math.fsum(w * p.density(value) for w, p in self.parts) / total if total else 0.0


def spread_of(values: Sequence[float], least: float) -> float:
    """The standard deviation of values about their mean, never below ``least``."""
    if len(values) < 2:
        return least
    mean = math.fsum(values) / len(values)
    return max(least, math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)))
