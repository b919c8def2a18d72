"""Conformance and its risks for one measured quantity (JCGM 106:2012). Numbers only, in the quantity's own unit.

The probability that an item conforms, given what was read of it, is its conformance
probability (7); called in it bears the specific consumer's risk, called out the specific
producer's risk (9.3). Over all items a process makes, the share that is called in and is
out is the global consumer's risk, the share that is called out and is in the global
producer's risk (9.5).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

from .uncertainty import normal_cdf

__all__ = ["Risks", "combined", "global_risks"]

_STEPS = 2000


def combined(value: float, u: float, prior: float, u_prior: float) -> tuple[float, float]:
    """Best estimate and standard uncertainty from a reading and a normal prior (JCGM 106:2012, 6.7 and annex C)."""
    if not (u > 0 and u_prior > 0):
        raise ValueError("uncertainties must be above zero")
    w, w_prior = 1.0 / u**2, 1.0 / u_prior**2
    return (w * value + w_prior * prior) / (w + w_prior), 1.0 / math.sqrt(w + w_prior)


class Risks(NamedTuple):
    """Shares of all items made: ``outside`` the tolerance; called in though out; called out though in."""

    outside: float
    consumer: float
    producer: float


def global_risks(
    density: Callable[[float], float],
    reach: tuple[float, float],
    u: float,
    tolerance: tuple[float, float],
    accept: tuple[float, float],
) -> Risks:
    """The global risks of accepting what reads within ``accept`` (JCGM 106:2012, 9.5.2).

    ``density`` is that of what the process makes, nothing of which lies beyond ``reach``; ``u``
    the standard uncertainty of a reading. Midpoint rule on each side of each limit.
    """
    if not u > 0 or not reach[0] < reach[1]:
        raise ValueError("an uncertainty above zero and a reach are needed")
    edges = sorted({reach[0], reach[1], *(t for t in tolerance if reach[0] < t < reach[1])})
    outside = consumer = producer = 0.0
    for low, high in pairwise(edges):
        h = (high - low) / _STEPS
        inside = tolerance[0] <= 0.5 * (low + high) <= tolerance[1]
        for i in range(_STEPS):
            x = low + (i + 0.5) * h
            mass = density(x) * h
            taken = normal_cdf((accept[1] - x) / u) - normal_cdf((accept[0] - x) / u)
            if inside:
                producer += mass * (1.0 - taken)
            else:
                outside += mass
                consumer += mass * taken
    return Risks(outside, consumer, producer)
