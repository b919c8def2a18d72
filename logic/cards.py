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
from .say import LN, L, Line, Qty
from .uncertainty import Budget, Component, chance_between, combine, from_resolution
from .verify import SUREST, decide

__all__ = ["Check", "Health", "due", "health"]

#: A trend is believed, and a bias called real, when chance alone would show one as large this seldom.
_BELIEVED = 0.95
#: Before checks say better, an instrument repeats from check to check within so much of its division (one standard
#: deviation), which counts as so many degrees of freedom (the conjugate prior of a variance; common practice, no source).
ASSUMED_SPREAD, ASSUMED_DOF = 0.75, 4.0
#: An instrument in use is within its limit four times in five: its error is normal about nought, with this part of
#: the limit as standard deviation (common practice, no source).
USUAL_PART = 0.78
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """What a set of checks amounts to, lengths in mm.

    ``mean_mm`` is the mean error and ``last_mm`` the last one; ``present_mm`` the error
    counted on now, ``u_mm`` half its 95 % interval halved again (Student's t). ``spread_mm`` is the standard
    deviation between checks, no less than the division allows. ``drift_mm_per_day`` and
    its ``u_drift_mm_per_day`` are None where no drift is believed; ``days_left`` until it
    reaches the limit. ``is_real`` says that the mean error is more than the spread explains.
    ``chance`` that the error is within the limit; ``budget`` is what the instrument adds to
    a reading.
    """

    count: int
    mean_mm: float
    last_mm: float
    u_last_mm: float
    present_mm: float
    u_mm: float
    spread_mm: float
    drift_mm_per_day: float | None
    u_drift_mm_per_day: float | None
    days_left: float | None
    is_real: bool
    chance: float
    budget: Budget


def errors(checks: Sequence[Check], *, division_mm: float, limit_mm: float, master_u_mm: float) -> Errors:
    """Work out the errors of at least one check, given in order of time; see :func:`health` for the terms."""
    got = student.sample([c.error_mm for c in checks])
    n = got.n
    last = checks[-1]
    division = from_resolution(division_mm)
    trend = _drift(checks, division)
    found, left = (got.spread, got.dof) if trend is None else (trend.spread, trend.dof)
    spread = max(found, division)  # rounding hides a smaller one
    dof = float(left) if found > division else math.inf
    if trend is None:
        present, drift, u_drift = got.mean, None, None
        share_of_present = 1.0 / n
    else:
        present, drift, u_drift = trend.at(last.day), trend.slope, student.half_of_95(trend.u_slope(spread), dof)
        share_of_present = 1.0 / n + (last.day - trend.x_mean) ** 2 / trend.sxx
    u_bias, dof_bias, chance = _within(
        present, share_of_present, found, left, division_mm=division_mm, limit_mm=limit_mm, master_u_mm=master_u_mm
    )
    # The instrument is used as it is, so the whole present error stays in each reading.
    budget = combine(
        (
            Component(L("spread between checks"), spread, dof),
            Component(L("master"), master_u_mm, shared=True),
            Component(L("error not corrected"), abs(present), shared=True),
        )
    )
    return Errors(
        count=n,
        mean_mm=got.mean,
        last_mm=last.error_mm,
        u_last_mm=math.hypot(division, master_u_mm),
        present_mm=present,
        u_mm=student.half_of_95(u_bias, dof_bias),
        spread_mm=spread,
        drift_mm_per_day=drift,
        u_drift_mm_per_day=u_drift,
        days_left=_days_left(present, drift, limit_mm),
        is_real=n > 1 and abs(got.mean) > student.two_sided(_BELIEVED, n - 1) * spread / math.sqrt(n) + master_u_mm,
        chance=chance,
        budget=budget,
    )


def _within(
    present: float,
    share: float,
    spread: float,
    left: int,
    *,
    division_mm: float,
    limit_mm: float,
    master_u_mm: float,
) -> tuple[float, float, float]:
    """The uncertainty of the present error, its degrees of freedom, and the chance that the error is within the limit.

    ``spread`` with ``left`` degrees of freedom is pooled with the division, so that one check, or two
    that agree by luck, promise nothing; ``share`` of that variance is left in ``present``. What is read is
    weighed against what instruments in use are like (JCGM 106:2012, 7.2.2).
    """
    dof = left + ASSUMED_DOF
    variance = (left * spread**2 + ASSUMED_DOF * (ASSUMED_SPREAD * division_mm) ** 2) / dof * share
    u2 = variance + master_u_mm**2
    usual = (USUAL_PART * limit_mm) ** 2
    drawn = usual / (usual + u2)
    free = u2**2 / (variance**2 / dof)  # Welch and Satterthwaite: the master's is known
    chance = chance_between(drawn * present, math.sqrt(drawn * u2), -limit_mm, limit_mm, free)
    return math.sqrt(u2), free, chance


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
        Assumption(L("The master is right within {u}, 19 times in 20.", u=Qty(2 * master_u_mm, "fine")), "entered"),
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
    e = errors(ordered, division_mm=division_mm, limit_mm=limit_mm, master_u_mm=master_u_mm)
    verdict = _verdict(e, confidence, interval_days)
    bias = Qty(e.mean_mm, "deviation", e.u_mm)
    return Health(
        key=key,
        line=_line(name, verdict, e, limit_mm, interval_days),
        value=bias,
        verdict=verdict,
        confidence=None if verdict == Verdict.MAYBE else min(SUREST, max(e.chance, 1.0 - e.chance)),
        why=_why(e),
        figures=_figures(e, bias),
        assumptions=limits,
        influences=tuple(i for i in e.budget.shares if i.share > 0),
        cautions=_cautions(key, name, ordered, limit_mm),
        bias_mm=e.mean_mm,
        u_mm=e.budget.u,
        drift_mm_per_day=e.drift_mm_per_day,
        budget=e.budget,
    )


def _verdict(e: Errors, confidence: float, interval_days: float) -> str:
    """The verdict on an instrument; one that drifts past its limit before the next check wants another look."""
    verdict = decide(e.chance, confidence)
    drifting_out = e.days_left is not None and e.days_left < interval_days
    return Verdict.MAYBE if verdict == Verdict.GO and drifting_out else verdict


def _figures(e: Errors, bias: Qty) -> tuple[Figure, ...]:
    figures = [
        Figure("bias", L("Mean error"), bias),
        Figure("last", L("Error at the last check"), Qty(e.last_mm, "deviation", e.u_last_mm)),
        Figure("spread", L("Spread between checks ±, two times in three"), Qty(e.spread_mm, "fine")),
        Figure("adds", L("What it adds to each reading ±, two times in three"), Qty(e.budget.u, "fine")),
        Figure("checks", L("Checks logged"), Qty(e.count, "count")),
    ]
    if e.drift_mm_per_day is not None and e.u_drift_mm_per_day is not None:
        in_a_year = Qty(
            e.drift_mm_per_day * _YEAR,
            "deviation",
            e.u_drift_mm_per_day * _YEAR,
        )
        figures.append(Figure("drift", L("Drift in a year"), in_a_year))
    return tuple(figures)


def _line(name: Line | str, verdict: str, e: Errors, limit: float, interval: float) -> Line:
    said = {"name": name, "error": Qty(e.present_mm, "deviation", e.u_mm), "limit": Qty(limit, "fine")}
    if verdict == Verdict.STOP:
        return L(
            "{name} is off by {error}, more than the {limit} allowed. Set it or mend it before you use it.", **said
        )
    ends_soon = e.days_left is not None and e.days_left < interval and abs(e.present_mm) <= limit
    if verdict == Verdict.MAYBE and ends_soon:
        return L("{name} is drifting: now {error}, and at this rate past {limit} before the next check is due.", **said)
    if verdict == Verdict.MAYBE:
        return L("{name} is off by {error}, too close to the {limit} allowed to call. Check it again.", **said)
    if e.drift_mm_per_day is not None:
        return L("{name} is within {limit} of its master: now {error}, and drifting slowly.", **said)
    return L("{name} is within {limit} of its master: {error}.", **said)


def _why(e: Errors) -> tuple[Line, ...]:
    lines = [
        LN("{n} check, spread {spread}.", "{n} checks, spread {spread}.", e.count, spread=Qty(e.spread_mm, "fine"))
        if e.count > 1
        else L("One check only: the spread is taken from the division.")
    ]
    if e.drift_mm_per_day is not None and e.days_left is not None:
        lines.append(
            LN(
                "The error moves by {drift} in a year; {n} day until it reaches the limit.",
                "The error moves by {drift} in a year; {n} days until it reaches the limit.",
                round(e.days_left),
                drift=Qty(e.drift_mm_per_day * _YEAR, "deviation"),
            )
        )
    elif e.is_real:
        lines.append(
            L(
                "It shows {bias} wrong each time, which is more than its spread explains: correct readings by it, or set it again.",
                bias=Qty(e.mean_mm, "deviation"),
            )
        )
    elif e.count > 1:
        lines.append(L("No error or drift beyond what the spread explains."))
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
    assumption = Assumption(LN("A check every day.", "A check every {n} days.", round(interval_days)))
    if days_since_check is None:
        line, verdict = L("{name} is due: no check against a master is logged.", name=name), Verdict.MAYBE
    elif days_since_check > interval_days:
        line = LN(
            "{name} is due: last checked {n} day ago, every {days} wanted.",
            "{name} is due: last checked {n} days ago, every {days} wanted.",
            round(days_since_check),
            name=name,
            days=_count(interval_days),
        )
        verdict = Verdict.MAYBE
    else:
        line = LN(
            "{name} was checked {n} day ago; due in {left}.",
            "{name} was checked {n} days ago; due in {left}.",
            round(max(0.0, days_since_check)),
            name=name,
            left=_count(interval_days - max(0.0, days_since_check)),
        )
        verdict = Verdict.GO
    return Result(key=key, line=line, verdict=verdict, assumptions=(assumption,))
