"""The person's own kit: what checks against a master say about an instrument.

An instrument is checked by reading something whose size is known. The error found
(what it showed less what it is) has a part that stays, the bias, a part that comes and
goes, the spread, and perhaps a part that grows with time, the drift. From the logged
checks this module says whether the instrument is within what is allowed, whether it is
drifting, when it is due again, and how much doubt it adds to every reading taken with it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import Budget, Component, chance_between, combine, from_resolution
from .verify import SUREST, decide

__all__ = ["Check", "Health", "due", "health"]

#: A trend is believed, and a bias called real, when chance alone would show one as large this seldom.
_BELIEVED = 0.95
_YEAR = 365.25  # days


@dataclass(frozen=True, slots=True)
class Check:
    """One check: ``day`` counts days from any start, ``error_mm`` is shown less true, both at one temperature."""

    day: float
    error_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.day) and math.isfinite(self.error_mm)):
            raise ValueError("a check has a finite day and error")


@dataclass(frozen=True, kw_only=True)
class Health(Result):
    """What the checks say. ``bias_mm`` is the mean error, ``u_mm`` the standard uncertainty the
    instrument adds to a reading (after no correction), ``drift_mm_per_day`` the trend where one is
    believed, else None; ``budget`` is how ``u_mm`` came about."""

    bias_mm: float | None
    u_mm: float | None
    drift_mm_per_day: float | None
    budget: Budget | None


def health(
    key: str,
    name: Line | str,
    checks: Sequence[Check],
    *,
    division_mm: float,
    limit_mm: float,
    master_u_mm: float,
    interval_days: float,
    confidence: float = 0.95,
) -> Health:
    """Judge an instrument from its logged checks against a master.

    ``limit_mm`` is the largest error allowed either way, ``master_u_mm`` the standard
    uncertainty of the master, ``interval_days`` how often it is to be checked. Raises
    ValueError for a limit, division or interval that is not above zero.
    """
    if not (limit_mm > 0 and division_mm > 0 and interval_days > 0 and master_u_mm >= 0):
        raise ValueError("limit, division and interval must be above zero")
    limits = (
        Assumption(L("An error of up to {limit} either way is allowed.", limit=Qty(limit_mm, "fine"))),
        Assumption(L("The master is right within {u} (k = 2).", u=Qty(2 * master_u_mm, "fine")), "entered"),
    )
    if not checks:
        return Health(
            key=key,
            line=L("{name} has never been checked against a master here. Check it before you trust it.", name=name),
            verdict=Verdict.MAYBE,
            assumptions=limits,
            bias_mm=None,
            u_mm=None,
            drift_mm_per_day=None,
            budget=None,
        )
    ordered = sorted(checks, key=lambda c: c.day)
    errors = [c.error_mm for c in ordered]
    got = student.sample(errors)
    n = got.n
    last = ordered[-1]
    division = from_resolution(division_mm)
    trend = _drift(ordered, division)
    drift = None if trend is None else trend.slope
    found, left = (got.spread, got.dof) if trend is None else (trend.spread, trend.dof)
    spread = max(found, division)  # rounding hides a smaller one
    dof = float(left) if found > division else math.inf

    present = got.mean if drift is None else last.error_mm
    u_bias = math.hypot(spread if drift is not None or n == 1 else spread / math.sqrt(n), master_u_mm)
    # The instrument is used as it is, so the whole present error stays in each reading.
    budget = combine(
        (
            Component(L("spread between checks"), spread, dof),
            Component(L("master"), master_u_mm, shared=True),
            Component(L("error not corrected"), abs(present), shared=True),
        )
    )
    chance = chance_between(present, u_bias, -limit_mm, limit_mm)
    verdict = decide(chance, confidence)
    days_left = _days_left(present, drift, limit_mm)
    if verdict == Verdict.GO and days_left is not None and days_left < interval_days:
        verdict = Verdict.MAYBE
    real = n > 1 and abs(got.mean) > student.two_sided(_BELIEVED, n - 1) * spread / math.sqrt(n) + master_u_mm

    figures = [
        Figure("bias", L("Mean error"), Qty(got.mean, "deviation", u_bias)),
        Figure(
            "last", L("Error at the last check"), Qty(last.error_mm, "deviation", math.hypot(division, master_u_mm))
        ),
        Figure("spread", L("Spread between checks, standard deviation"), Qty(spread, "fine")),
        Figure("adds", L("Doubt it adds to each reading, standard uncertainty"), Qty(budget.u, "fine")),
        Figure("checks", L("Checks logged"), Qty(n, "count")),
    ]
    if trend is not None and drift is not None:
        figures.append(
            Figure("drift", L("Drift in a year"), Qty(drift * _YEAR, "deviation", trend.u_slope(spread) * _YEAR))
        )
    return Health(
        key=key,
        line=_line(name, verdict, present, limit_mm, u_bias, drift, days_left, interval_days),
        value=Qty(got.mean, "deviation", u_bias),
        verdict=verdict,
        confidence=None if verdict == Verdict.MAYBE else min(SUREST, max(chance, 1.0 - chance)),
        why=_why(n, real, got.mean, spread, drift, days_left),
        figures=tuple(figures),
        assumptions=limits,
        influences=tuple(i for i in budget.shares if i.share > 0),
        cautions=_cautions(key, name, ordered, limit_mm),
        bias_mm=got.mean,
        u_mm=budget.u,
        drift_mm_per_day=drift,
        budget=budget,
    )


def _drift(checks: Sequence[Check], division: float) -> student.Trend | None:
    """The trend of error over time, where chance alone would hardly make it; else None."""
    if len(checks) < 3 or checks[-1].day - checks[0].day <= 0:
        return None
    line = student.trend([c.day for c in checks], [c.error_mm for c in checks])
    s = max(line.spread, division)  # a perfect line through rounded readings proves nothing
    dof = line.dof if line.spread >= division else math.inf
    return line if abs(line.slope) > student.two_sided(_BELIEVED, dof) * line.u_slope(s) else None


def _days_left(present: float, drift: float | None, limit: float) -> float | None:
    """Days until a drifting error reaches the limit (0 if it is there), None without drift or if it is coming back."""
    if drift is None or drift == 0:
        return None
    ahead = limit - present if drift > 0 else limit + present
    return max(0.0, ahead / abs(drift))


def _line(
    name: Line | str,
    verdict: str,
    present: float,
    limit: float,
    u: float,
    drift: float | None,
    days_left: float | None,
    interval: float,
) -> Line:
    said = {"name": name, "error": Qty(present, "deviation", u), "limit": Qty(limit, "fine")}
    if verdict == Verdict.STOP:
        return L(
            "{name} is off by {error}, more than the {limit} allowed. Set it or mend it before you use it.", **said
        )
    if verdict == Verdict.MAYBE and days_left is not None and days_left < interval and abs(present) <= limit:
        return L("{name} is drifting: now {error}, and at this rate past {limit} before the next check is due.", **said)
    if verdict == Verdict.MAYBE:
        return L("{name} is off by {error}, too close to the {limit} allowed to call. Check it again.", **said)
    if drift is not None:
        return L("{name} is within {limit} of its master: now {error}, and drifting slowly.", **said)
    return L("{name} is within {limit} of its master: {error}.", **said)


def _why(
    n: int, real: bool, mean: float, spread: float, drift: float | None, days_left: float | None
) -> tuple[Line, ...]:
    lines = [
        L("{n} checks, spread {spread}.", n=n, spread=Qty(spread, "fine"))
        if n > 1
        else L("One check only: the spread is taken from the division.")
    ]
    if drift is not None and days_left is not None:
        lines.append(
            L(
                "The error moves by {drift} in a year; {days} days until it reaches the limit.",
                drift=Qty(drift * _YEAR, "deviation"),
                days=_count(days_left),
            )
        )
    elif real:
        lines.append(
            L(
                "It shows {bias} wrong each time, which is more than its spread explains: correct readings by it, or set it again.",
                bias=Qty(mean, "deviation"),
            )
        )
    elif n > 1:
        lines.append(L("No bias or drift beyond what the spread explains."))
    return tuple(lines)


def _cautions(key: str, name: Line | str, checks: Sequence[Check], limit: float) -> tuple[Caution, ...]:
    if len(checks) > 1 and abs(checks[-1].error_mm - checks[-2].error_mm) > limit:
        return (
            Caution(
                f"{key}.jumped",
                L(
                    "{name} changed by {jump} between the last two checks. Was it dropped, or cleaned, or was the master cold? Check it once more.",
                    name=name,
                    jump=Qty(abs(checks[-1].error_mm - checks[-2].error_mm), "fine"),
                ),
            ),
        )
    return ()


def _count(x: float) -> Qty:
    return Qty(round(x), "count")


def due(key: str, name: Line | str, days_since_check: float | None, interval_days: float) -> Result:
    """Whether an instrument is due for a check: ``days_since_check`` None if it never had one."""
    if not interval_days > 0:
        raise ValueError("an interval is above zero")
    assumption = Assumption(L("A check every {days} days.", days=_count(interval_days)))
    if days_since_check is None:
        line, verdict = L("{name} is due: no check against a master is logged.", name=name), Verdict.MAYBE
    elif days_since_check > interval_days:
        line = L(
            "{name} is due: last checked {since} days ago, every {days} wanted.",
            name=name,
            since=_count(days_since_check),
            days=_count(interval_days),
        )
        verdict = Verdict.MAYBE
    else:
        line = L(
            "{name} was checked {since} days ago; due in {left}.",
            name=name,
            since=_count(max(0.0, days_since_check)),
            left=_count(interval_days - max(0.0, days_since_check)),
        )
        verdict = Verdict.GO
    return Result(key=key, line=line, verdict=verdict, assumptions=(assumption,))
