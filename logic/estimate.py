"""How long a job takes and what it costs, as a range.

Each step's time is given as about so many minutes; a step seldom takes much less and often
takes more. Taken as triangular from 0.7 to 1.8 times what is stated (common practice, no
source), with 15 % besides that all steps of a job share: the vehicle, the place, the
weather (common practice, no source). Means add, and squares of spreads (JCGM 100:2008,
5.1.2); the shared part adds in full.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .result import Assumption, Figure, Result
from .say import L, Line, Qty

__all__ = ["LEVEL", "Price", "Span", "Time", "estimate", "stated", "total"]

LOW, HIGH = 0.7, 1.8
SHARED = 0.15
#: The level of every range here, and its factor on a normal spread.
LEVEL, FACTOR = 0.9, 1.6449
#: What parts may cost more or less than was asked (common practice, no source).
PARTS_SPREAD = 0.1


@dataclass(frozen=True, slots=True)
class Time:
    """One step's time in minutes: mean and standard deviation. ``known`` is True where it comes from jobs done."""

    title: Line
    mean_min: float
    sd_min: float
    known: bool = False


def stated(title: Line, minutes: float) -> Time:
    """A step of which only about how long it takes is known. Raises ValueError below zero."""
    if not (math.isfinite(minutes) and minutes >= 0):
        raise ValueError("a time is not below zero")
    a, c = LOW, HIGH
    sd = math.sqrt((a * a + 1 + c * c - a - a * c - c) / 18)
    return Time(title, minutes * (a + 1 + c) / 3, minutes * sd)


@dataclass(frozen=True, slots=True)
class Span:
    """A range that holds in nine of ten cases, with its middle."""

    low: float
    mean: float
    high: float


def total(times: Sequence[Time]) -> Span:
    """All steps together, minutes."""
    mean = math.fsum(t.mean_min for t in times)
    sd = math.hypot(math.sqrt(math.fsum(t.sd_min**2 for t in times)), SHARED * mean)
    return Span(max(0.0, mean - FACTOR * sd), mean, mean + FACTOR * sd)


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What is asked, in the person's own money: by the hour, by the bore, and for the parts; None where not said."""

    per_hour: float | None = None
    per_bore: float | None = None
    parts: float | None = None


def _money(span: Span, price: Price, bores: int) -> Span | None:
    if price.per_hour is None and price.per_bore is None and price.parts is None:
        return None
    fixed = (price.per_bore or 0.0) * bores
    hour, parts = price.per_hour or 0.0, price.parts or 0.0
    mean = hour * span.mean / 60 + fixed + parts
    spread = math.hypot(hour * (span.high - span.mean) / 60, FACTOR * PARTS_SPREAD * parts)
    return Span(max(0.0, mean - spread), mean, mean + spread)


def estimate(times: Sequence[Time], price: Price, bores: int) -> Result:
    """Time and, where rates are known, price of a job of ``bores`` bores.

    Raises ValueError for no step or fewer bores than one.
    """
    if not times or bores < 1:
        raise ValueError("an estimate needs a step and a bore")
    span = total(times)
    money = _money(span, price, bores)
    said: dict[str, Qty] = {"low": Qty(60 * span.low, "duration"), "high": Qty(60 * span.high, "duration")}
    if money is None:
        line = L("{low} to {high} of work.", **said)
    else:
        said |= {"least": Qty(money.low, "plain"), "most": Qty(money.high, "plain")}
        line = L("{low} to {high} of work, {least} to {most} in all.", **said)
    figures = [
        Figure("time_low", L("Time, least"), said["low"]),
        Figure("time", L("Time, middle"), Qty(60 * span.mean, "duration")),
        Figure("time_high", L("Time, most"), said["high"]),
    ]
    if money is not None:
        figures += [
            Figure("price_low", L("Price, least"), said["least"]),
            Figure("price", L("Price, middle"), Qty(money.mean, "plain")),
            Figure("price_high", L("Price, most"), said["most"]),
        ]
    known = sum(t.known for t in times)
    return Result(
        key="estimate",
        line=line,
        value=Qty(60 * span.mean, "duration"),
        why=tuple(
            L("{step}: about {time}", step=t.title, time=Qty(60 * t.mean_min, "duration")) for t in times if t.mean_min
        ),
        figures=tuple(figures),
        assumptions=(
            Assumption(L("The range holds in {level} of jobs.", level=Qty(LEVEL, "percent"))),
            Assumption(L("Times of this shop's own jobs."), "measured")
            if known == len(times)
            else Assumption(L("About so long by common practice; your own times are better.")),
            *(() if money is None else (Assumption(L("Your own rates, tax as you put it in."), "entered"),)),
        ),
    )
