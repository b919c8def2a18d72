"""What a calibration counts: stated chances that came true or not, and 95 % intervals that held the truth or not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

__all__ = ["EDGES", "NEAR", "Held", "Near", "Trial", "mark", "near", "table", "u_share"]

#: The edges of the bins that stated chances are put into.
EDGES = (0.0, 0.02, 0.1, 0.2, 0.5, 0.8, 0.9, 0.98, 1.0)


#: What is looked at of stated chances: those about 5, 35, 65 and 95 %.
NEAR = ((0.02, 0.1), (0.25, 0.45), (0.55, 0.75), (0.9, 0.98))
#: How far a chance may be above what came true, and how far below (the safe side).
LEAST, MOST = 0.02, 0.05


class Trial(NamedTuple):
    """One stated chance and whether it came true."""

    stated: float
    true: bool


class Held(NamedTuple):
    """One 95 % interval, and whether it held the truth."""

    held: bool
    half: float


def u_share(p: float, n: int) -> float:
    """Standard uncertainty of a share of ``n`` trials, each true with the probability ``p``."""
    return math.sqrt(max(p * (1 - p), 1e-4) / n)


def mark(stated: float, true: float, n: int) -> str:
    """ "" within the goal, "!" below it and "+" too far on the safe side, by more than two standard uncertainties."""
    off, u = true - stated, u_share(stated, n)
    if off < -LEAST - 2 * u:
        return "!"
    return "+" if off > MOST + 2 * u else ""


def table(found: Sequence[Trial]) -> list[tuple[int, float, float]]:
    """By bin: how many, the mean stated chance, the share that came true; bins with fewer than 25 are left out."""
    out = []
    for low, high in pairwise(EDGES):
        here = [t for t in found if low <= t.stated < high or (high == 1.0 and t.stated == 1.0)]
        if len(here) >= 25:
            stated = sum(t.stated for t in here) / len(here)
            out.append((len(here), stated, sum(t.true for t in here) / len(here)))
    return out


class Near(NamedTuple):
    """Stated chances about one level: how many, their mean, and the share that came true."""

    n: int
    stated: float
    true: float

    @property
    def off(self) -> float:
        """How much more came true than was said."""
        return self.true - self.stated

    @property
    def u(self) -> float:
        """Standard uncertainty of the share that came true."""
        return u_share(self.stated, self.n)

    @property
    def mark(self) -> str:
        """As :func:`mark` has it."""
        return mark(self.stated, self.true, self.n)


def near(found: Sequence[Trial]) -> list[Near | None]:
    """What came of the chances about each of :data:`NEAR`; None with fewer than 20."""
    out: list[Near | None] = []
    for low, high in NEAR:
        here = [t for t in found if low <= t.stated < high]
        many = len(here)
        out.append(
            Near(many, sum(t.stated for t in here) / many, sum(t.true for t in here) / many) if many >= 20 else None
        )
    return out
