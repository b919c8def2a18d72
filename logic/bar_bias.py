"""What a bar cuts beyond its setting, learned from logged cuts: numbers only, no sentence.

The bias is the measured size less the set one, both diameters in mm. Also what the two
kinds of setting micrometer read; :mod:`logic.setting` puts the figures into words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from . import student
from .constants import constant
from .say import Line

__all__ = [
    "ASSUMED_BETWEEN_MM",
    "ASSUMED_DOF",
    "ASSUMED_DRIFT",
    "ASSUMED_SPREAD_MM",
    "BAR_TIP",
    "BORE",
    "CONFIDENCE",
    "SLIP_CONFIDENCE",
    "Estimate",
    "Pair",
    "Slip",
    "bar_fits",
    "diameter_mm",
    "estimate",
    "half_interval_mm",
    "reading_mm",
    "slip",
]

BORE = "bore"
BAR_TIP = "bar_tip"

#: Standard deviation from cut to cut of one bar in one job, until pairs say better.
ASSUMED_SPREAD_MM = constant("setting.spread").value
#: The same from job to job (bar cleaned, cutter taken out and put back), until history says better.
ASSUMED_BETWEEN_MM = constant("setting.between").value
#: By how much the level drifts from cut to cut, one standard deviation, as a share of the spread: edges wear, tips chip.
ASSUMED_DRIFT = constant("setting.drift").value
#: How many degrees of freedom each assumed spread counts for beside what the cuts themselves show, so that two
#: cuts that agree by luck promise nothing (the conjugate prior of a variance; common practice, no source).
ASSUMED_DOF = 4
#: The confidence of every interval given.
CONFIDENCE = 0.95
#: The confidence above which a cut is called out of the ordinary.
SLIP_CONFIDENCE = 0.99


def _positive(name: str, value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be a size above zero")
    return value


def diameter_mm(meter: str, reading_mm: float, bar_mm: float | None = None) -> float:
    """The bore diameter a micrometer reading stands for.

    ``meter`` is BORE (reads the diameter) or BAR_TIP (reads bar plus tip; ``bar_mm`` is
    then the bar's diameter where the micrometer sits). Raises ValueError for a reading
    that puts the tip inside the bar.
    """
    _positive("the reading", reading_mm)
    if meter == BORE:
        return reading_mm
    if meter != BAR_TIP:
        raise ValueError(f"no such setting micrometer: {meter!r}")
    if bar_mm is None:
        raise ValueError("a micrometer that reads bar plus tip needs the bar's diameter")
    size = 2.0 * reading_mm - _positive("the bar", bar_mm)
    if size <= bar_mm:
        raise ValueError("that reading puts the tip inside the bar")
    return size


def reading_mm(meter: str, size_mm: float, bar_mm: float | None = None) -> float:
    """The micrometer reading that stands for the bore diameter ``size_mm`` (undoes :func:`diameter_mm`)."""
    _positive("the size", size_mm)
    if meter == BORE:
        return size_mm
    if meter != BAR_TIP:
        raise ValueError(f"no such setting micrometer: {meter!r}")
    if bar_mm is None:
        raise ValueError("a micrometer that reads bar plus tip needs the bar's diameter")
    if size_mm <= _positive("the bar", bar_mm):
        raise ValueError("the bore would be no larger than the bar")
    return (size_mm + bar_mm) / 2.0


def bar_fits(bar_mm: float, size_mm: float) -> bool:
    """Whether a bar goes into a bore with room for a tip: smaller by two millimetres at least (common practice)."""
    return bar_mm + 2.0 <= size_mm


@dataclass(frozen=True, slots=True)
class Pair:
    """One logged cut: what it was set to (as a diameter) and what the bore then measured, both in mm.

    ``cut_mm`` is what that pass took off the diameter, where known; ``name`` says which
    cut it was ("cylinder 2, pass 1"). ``kept`` is False when the person has struck it out;
    ``settled`` is True when somebody looked at it and said that it counts.
    """

    set_mm: float
    measured_mm: float
    cut_mm: float | None = None
    name: Line | str = ""
    kept: bool = True
    settled: bool = False

    @property
    def bias_mm(self) -> float:
        return self.measured_mm - self.set_mm


# -- the estimate ------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """The bias to expect of the next cut, mm.

    ``mean_mm`` with its standard uncertainty ``u_mean_mm``; ``spread_mm`` the standard
    deviation from cut to cut; ``u_next_mm`` the standard uncertainty of one further cut,
    with ``dof`` degrees of freedom; ``weight`` (0..1) how far the job's own cuts decide.
    ``assumed_spread`` and ``assumed_between`` say that the spread within a job, or from job
    to job, stands in from common practice.
    """

    mean_mm: float
    u_mean_mm: float
    spread_mm: float
    u_next_mm: float
    dof: float
    weight: float
    assumed_spread: bool
    assumed_between: bool


class _Own(NamedTuple):
    """This job's cuts as what they say of the next one: its level, that level's variance over that of one cut, and the
    sum of squares about the line through them with its degrees of freedom."""

    level_mm: float
    share: float
    squares: float
    dof: int


def _own(job: Sequence[float]) -> _Own:
    """The line through this job's cuts in their order, carried on to the next one.

    The slope is normal about nought with :data:`ASSUMED_DRIFT` times the spread: the conjugate
    prior of a regression (A. Gelman et al., Bayesian Data Analysis, 14.8; from memory), which
    is ridge regression with the weight 1 / drift². One cut says nothing of a slope, many decide.
    """
    n, mean = len(job), math.fsum(job) / len(job)
    middle, weight = (n + 1) / 2.0, 1.0 / ASSUMED_DRIFT**2
    sxx = math.fsum((k - middle) ** 2 for k in range(1, n + 1)) + weight
    sxy = math.fsum((k - middle) * (b - mean) for k, b in enumerate(job, 1))
    squares = math.fsum((b - mean) ** 2 for b in job) - sxy**2 / sxx
    return _Own(mean + sxy / sxx * middle, 1.0 / n + middle**2 / sxx, max(0.0, squares), n - 1)


@dataclass(frozen=True, slots=True)
class _Within:
    """The spread from cut to cut inside the jobs, pooled with the assumed one: variance, degrees of freedom, and
    whether nothing but the assumption stands behind it."""

    variance: float
    dof: float
    assumed: bool


def _within(jobs: Sequence[student.Sample], own: _Own | None) -> _Within:
    dof = sum(s.dof for s in jobs) + (0 if own is None else own.dof)
    squares = sum(s.dof * s.spread**2 for s in jobs) + ASSUMED_DOF * ASSUMED_SPREAD_MM**2
    squares += 0.0 if own is None else own.squares
    return _Within(squares / (dof + ASSUMED_DOF), float(dof + ASSUMED_DOF), assumed=dof == 0)


def _between(earlier: Sequence[student.Sample], variance: float) -> float:
    """The variance from job to job: by a one-way analysis of variance, pooled with the assumed one."""
    if len(earlier) < 2:
        return ASSUMED_BETWEEN_MM**2
    n = sum(s.n for s in earlier)
    grand = sum(s.n * s.mean for s in earlier) / n
    mean_square = sum(s.n * (s.mean - grand) ** 2 for s in earlier) / (len(earlier) - 1)
    n0 = (n - sum(s.n**2 for s in earlier) / n) / (len(earlier) - 1)
    seen, free = max(0.0, (mean_square - variance) / n0), len(earlier) - 1
    return (free * seen + ASSUMED_DOF * ASSUMED_BETWEEN_MM**2) / (free + ASSUMED_DOF)


def estimate(job_mm: Sequence[float], past_mm: Sequence[Sequence[float]], *, least_spread_mm: float = 0.0) -> Estimate:
    """Best estimate of the next cut's bias; see :func:`logic.setting.bias` for the method. Needs at least one value.

    ``job_mm`` are this job's biases, ``past_mm`` those of the machine's earlier jobs. The
    spread is not taken below ``least_spread_mm``.
    """
    found = _estimate(job_mm, [p for p in past_mm if p])
    if found.spread_mm >= least_spread_mm:
        return found
    # every figure fell on the same gauge division: the division itself is the spread
    u_mean = max(found.u_mean_mm, least_spread_mm * math.sqrt(_own(job_mm).share if job_mm else 1.0))
    return replace(found, spread_mm=least_spread_mm, u_next_mm=math.hypot(least_spread_mm, u_mean))


def _estimate(job: Sequence[float], past: Sequence[Sequence[float]]) -> Estimate:
    earlier = [student.sample(p) for p in past]
    own = _own(job) if job else None
    within = _within(earlier, own)
    variance, spread = within.variance, math.sqrt(within.variance)
    if own is not None and not earlier:
        u_mean = spread * math.sqrt(own.share)
        return Estimate(
            mean_mm=own.level_mm,
            u_mean_mm=u_mean,
            spread_mm=spread,
            u_next_mm=math.hypot(spread, u_mean),
            dof=within.dof,
            weight=1.0,
            assumed_spread=within.assumed,
            assumed_between=False,
        )
    between = _between(earlier, variance)
    weights = [1.0 / max(between + variance / s.n, 1e-18) for s in earlier]
    centre = sum(w * s.mean for w, s in zip(weights, earlier, strict=True)) / sum(weights)
    prior = between + 1.0 / sum(weights)
    mean, u2, weight, dof = centre, prior, 0.0, within.dof
    if own is not None:
        mean, u2, weight = _drawn_in(own, centre, prior, variance)
    else:
        dof = min(dof, float(len(earlier) - 1 + ASSUMED_DOF))
    return Estimate(
        mean_mm=mean,
        u_mean_mm=math.sqrt(u2),
        spread_mm=spread,
        u_next_mm=math.sqrt(variance + u2),
        dof=dof,
        weight=weight,
        assumed_spread=within.assumed,
        assumed_between=len(earlier) < 2,
    )


def _drawn_in(own: _Own, centre: float, prior: float, variance: float) -> tuple[float, float, float]:
    """This job's level drawn toward the machine's: its mean, variance, and the weight of the job's own cuts."""
    sampling = variance * own.share
    total = prior + sampling
    weight = prior / total if total > 0 else 1.0
    return weight * own.level_mm + (1.0 - weight) * centre, weight * sampling, weight


def half_interval_mm(u_next_mm: float, dof: float) -> float:
    """Half the 95 % prediction interval of one further cut."""
    return student.two_sided(CONFIDENCE, dof) * u_next_mm


# -- a slipped tip -----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """How far the last cut lies from what the earlier ones led to expect, and how far would be ordinary, mm."""

    off_mm: float
    limit_mm: float

    @property
    def is_doubtful(self) -> bool:
        return not abs(self.off_mm) <= self.limit_mm


def slip(last_mm: float, earlier_mm: Sequence[float], past_mm: Sequence[Sequence[float]]) -> Slip:
    """Compare the last bias with the 99 % prediction interval from those before it; needs one before it."""
    e = estimate(earlier_mm, past_mm)
    limit = student.two_sided(SLIP_CONFIDENCE, e.dof) * e.u_next_mm
    return Slip(off_mm=last_mm - e.mean_mm, limit_mm=limit)
