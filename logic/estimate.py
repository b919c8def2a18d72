"""How long a job takes, what it uses up and what it costs, as a range.

Each step's time is given as about so many minutes; a step seldom takes much less and often
takes more. Taken as triangular from 0.7 to 1.8 times what is stated (common practice, no
source), with 15 % besides that all such steps of a job share: the vehicle, the place, the
weather (common practice, no source). In the times of jobs done that is seen already, as what
differs from job to job; there it makes the steps vary together. Means add, and squares of spreads (JCGM 100:2008,
5.1.2); the shared part adds in full. What the tools use up is in :mod:`logic.material`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .lasting import duration
from .machine_record import Basis
from .material import LEVEL, UsedUp, assumption, cost, told
from .record_told import from_jobs
from .result import Assumption, Figure, Result
from .say import L, Line, Qty

__all__ = ["LEVEL", "Price", "Span", "Time", "estimate", "in_money", "stated", "total"]

LOW, HIGH = 0.7, 1.8
SHARED = 0.15
#: How far the times of two steps vary together from job to job where they are known (correlation; common practice, no
#: source).
TOGETHER = 0.3
#: The level of every range here, and its factor on a normal spread.
FACTOR = 1.6449
#: What parts may cost more or less than was asked (common practice, no source).
PARTS_SPREAD = 0.1


@dataclass(frozen=True, slots=True)
class Time:
    """One step's time in minutes: mean and standard deviation. ``known`` is True where it comes from jobs done,
    ``rests_on`` which."""

    title: Line
    mean_min: float
    sd_min: float
    known: bool = False
    rests_on: Basis | None = None


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
    own = [t.sd_min for t in times if t.known]
    together = TOGETHER * (math.fsum(own) ** 2 - math.fsum(sd * sd for sd in own))
    shared = SHARED * math.fsum(t.mean_min for t in times if not t.known)
    sd = math.sqrt(math.fsum(t.sd_min**2 for t in times) + together + shared**2)
    return Span(max(0.0, mean - FACTOR * sd), mean, mean + FACTOR * sd)


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What is asked, in the person's own money: by the hour, by the bore, for the parts, for an edge, and for a set of
    stones; None where not said. ``currency`` is its sign or short name."""

    per_hour: float | None = None
    per_bore: float | None = None
    parts: float | None = None
    per_edge: float | None = None
    per_set: float | None = None
    currency: str = ""


def _spread(mean: float, sd: float) -> Span:
    """The range of a sum: nine in ten of a normal distribution."""
    return Span(max(0.0, mean - FACTOR * sd), mean, mean + FACTOR * sd)


def _money(span: Span, price: Price, bores: int, material: tuple[float, float] | None) -> Span | None:
    if price.per_hour is None and price.per_bore is None and price.parts is None and material is None:
        return None
    fixed = (price.per_bore or 0.0) * bores
    hour, parts = price.per_hour or 0.0, price.parts or 0.0
    tools, u_tools = material or (0.0, 0.0)
    mean = hour * span.mean / 60 + fixed + parts + tools
    sd = math.sqrt((hour * (span.high - span.mean) / 60 / FACTOR) ** 2 + (PARTS_SPREAD * parts) ** 2 + u_tools**2)
    return _spread(mean, sd)


def _used_up(used: Sequence[UsedUp]) -> list[Figure]:
    """How many edges and sets of stones, all grits together."""
    out: list[Figure] = []
    for key, rows, least, most in (
        ("edges", [u for u in used if not u.grit], L("Edges used up, least"), L("Edges used up, most")),
        ("stones", [u for u in used if u.grit], L("Sets of stones used up, least"), L("Sets of stones used up, most")),
    ):
        if rows:
            mean, sd = math.fsum(u.mean for u in rows), math.sqrt(math.fsum(u.sd**2 for u in rows))
            span = Span(rows[0].low, mean, rows[0].high) if len(rows) == 1 else _spread(mean, sd)
            out += [
                Figure(f"{key}_low", least, Qty(span.low, "times")),
                Figure(f"{key}_high", most, Qty(span.high, "times")),
            ]
    return out


def _priced(key: str, named: tuple[Line, Line, Line], span: Span | None) -> list[Figure]:
    """A price as a range of three figures."""
    if span is None:
        return []
    values = ((f"{key}_low", span.low), (key, span.mean), (f"{key}_high", span.high))
    return [Figure(k, name, Qty(v, "price")) for (k, v), name in zip(values, named, strict=True)]


def in_money(amount: float, currency: str) -> Qty | Line:
    """An amount with its currency, where one is known."""
    shown = Qty(amount, "price")
    return L("{amount} {currency}", amount=shown, currency=currency) if currency else shown


def estimate(times: Sequence[Time], price: Price, bores: int, used: Sequence[UsedUp] = ()) -> Result:
    """Time, what the tools use up and, where rates are known, price of a job of ``bores`` bores.

    Raises ValueError for no step or fewer bores than one.
    """
    if not times or bores < 1:
        raise ValueError("an estimate needs a step and a bore")
    span, tools = total(times), cost(used, price.per_edge, price.per_set)
    money = _money(span, price, bores, tools)
    said: dict[str, Qty | Line] = {"low": duration(span.low), "high": duration(span.high)}
    if money is None:
        line = L("{low} to {high} of work.", **said)
    else:
        said |= {end: in_money(x, price.currency) for end, x in (("least", money.low), ("most", money.high))}
        line = L("{low} to {high} of work, {least} to {most} in all.", **said)
    named = (L("Edges and stones, least"), L("Edges and stones, middle"), L("Edges and stones, most"))
    figures = [
        Figure("time_low", L("Time, least"), duration(span.low)),
        Figure("time", L("Time, middle"), duration(span.mean)),
        Figure("time_high", L("Time, most"), duration(span.high)),
        *_used_up(used),
        *_priced("material", named, None if tools is None else _spread(*tools)),
        *_priced("price", (L("Price, least"), L("Price, middle"), L("Price, most")), money),
    ]
    return Result(
        key="estimate",
        line=line,
        value=duration(span.mean),
        why=(*(_step_said(t) for t in times if t.mean_min), *map(told, used)),
        figures=tuple(figures),
        assumptions=(
            Assumption(L("The range holds in {level} of jobs.", level=Qty(LEVEL, "percent"))),
            Assumption(L("Times of this shop's own jobs."), "measured")
            if all(t.known for t in times)
            else Assumption(L("Times are common practice; your own are better.")),
            *((assumption(used),) if used else ()),
            *(() if money is None else (Assumption(L("Your own rates, tax as you put it in."), "entered"),)),
        ),
    )


def _step_said(t: Time) -> Line:
    took = duration(t.mean_min)
    if t.rests_on is None:
        return L("{step}: about {time}", step=t.title, time=took)
    return L("{step}: about {time}. {basis}", step=t.title, time=took, basis=from_jobs(t.rests_on))
