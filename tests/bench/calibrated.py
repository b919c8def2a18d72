"""What a calibration counts: stated chances that came true or not, and 95 % intervals that held the truth or not."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

__all__ = ["EDGES", "Held", "Trial", "table"]

#: The edges of the bins that stated chances are put into.
EDGES = (0.0, 0.02, 0.1, 0.2, 0.5, 0.8, 0.9, 0.98, 1.0)


class Trial(NamedTuple):
    """One stated chance and whether it came true."""

    stated: float
    true: bool


class Held(NamedTuple):
    """One 95 % interval, and whether it held the truth."""

    held: bool
    half: float


def table(found: Sequence[Trial]) -> list[tuple[int, float, float]]:
    """By bin: how many, the mean stated chance, the share that came true; bins with fewer than 25 are left out."""
    out = []
    for low, high in pairwise(EDGES):
        here = [t for t in found if low <= t.stated < high or (high == 1.0 and t.stated == 1.0)]
        if len(here) >= 25:
            stated = sum(t.stated for t in here) / len(here)
            out.append((len(here), stated, sum(t.true for t in here) / len(here)))
    return out
