"""One model for all that a machine repeats from job to job: partial pooling of job, machine and all machines.

A quantity y (the bar's bias, a taper, the logarithm of a removal rate …) of cut k in job j is

    y_jk = level_j + slopes · x_jk + job_j + e_jk,   e ~ N(0, σ²),  job_j ~ N(0, τ²)

and the machine's level walks from job to job, level_j = level_(j-1) + w, w ~ N(0, q): the
drift. The level and the slopes have normal priors, σ² a scaled inverse chi-squared one. For
given ratios τ²/σ² and q/σ² everything is in closed form (the conjugate dynamic linear model:
West and Harrison, *Bayesian Forecasting and Dynamic Models*, 2nd ed., ch. 4; for the split into
deviations within a job and job means see any text on the random-intercept model); what is
predicted is Student's t. The ratios are summed over a small grid by how well each explains
the jobs (Gelman and others, *Bayesian Data Analysis*, 3rd ed., ch. 5). A job is known by its
sums alone (:class:`Sums`).

A job that does not fit (its mean lies where less than one job in several hundred would) is set
aside until somebody has said what it was: it counts, the machine was changed before it, or it
is to be left out for good. While the latest jobs are set aside the level is taken to be that
much less known.

Numbers here have the unit of what they are of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from operator import mul
from statistics import NormalDist

from . import student

__all__ = ["APART_Z", "Learned", "Predicted", "Prior", "Sums", "learn", "pooled_prior", "predict", "sums"]

_NORMAL = NormalDist()
#: A job whose mean lies further out than this many standard deviations does not fit: one in 500 by chance alone.
APART_Z = 3.09
#: How many times the assumed spread between jobs it may be, and how likely each is beforehand.
_BETWEEN = ((0.0, 0.05), (0.3, 0.1), (0.55, 0.18), (0.8, 0.22), (1.05, 0.19), (1.4, 0.14), (2.0, 0.09), (3.0, 0.03))
#: The same for the drift from one job to the next.
_DRIFT = ((0.0, 0.45), (1.0, 0.35), (3.0, 0.2))
#: The same for how far a job's own value wanders with a covariate.
_WANDER = ((0.0, 0.2), (0.6, 0.25), (1.0, 0.3), (1.6, 0.25))
#: In so many jobs of a hundred the wander is as assumed beforehand whatever the others did: an edge that chips.
_WANDERS_ANYWAY = 0.3
_ANYWAY_SIZE = 1.2
_CONFIDENCE = 0.95
#: Ratios with less than this share of the weight are left out when predicting.
_LEAST_SHARE = 1e-3
#: From so many degrees of freedom on Student's t is taken as normal where a job is looked at for fitting.
_NEARLY_NORMAL = 300.0

_Vector = tuple[float, ...]
_Matrix = list[list[float]]


@dataclass(frozen=True, slots=True)
class Sums:
    """One job: how many values, their mean, the sum of squares about it, and the means of the covariates ``x``.

    ``xx`` and ``xy`` are the sums of products about the means, within the job, of covariates with
    each other and with y; () where none varies. ``fit`` is what somebody said of the job where
    it did not fit: "counts", "restart" (the machine was changed before it) or "aside".
    """

    n: int
    mean: float
    squares: float = 0.0
    x: _Vector = ()
    xx: tuple[_Vector, ...] = ()
    xy: _Vector = ()
    fit: str = ""


def _covariates_off(x: Sequence[Sequence[float]]) -> tuple[_Vector, _Matrix]:
    """The means of the covariates, and of each its values' distances from the mean."""
    columns = list(zip(*x, strict=True))
    means = tuple(math.fsum(c) / len(c) for c in columns)
    return means, [[v - m for v in c] for c, m in zip(columns, means, strict=True)]


def sums(values: Sequence[float], x: Sequence[Sequence[float]] = (), fit: str = "") -> Sums:
    """The sums of a job's values, each with its covariates. Raises ValueError for no value."""
    if not values:
        raise ValueError("no values")
    n = len(values)
    mean = math.fsum(values) / n
    off = [v - mean for v in values]
    means, gaps = _covariates_off(x)
    return Sums(
        n,
        mean,
        math.fsum(o * o for o in off),
        means,
        tuple(tuple(_dot(a, b) for b in gaps) for a in gaps),
        tuple(_dot(a, off) for a in gaps),
        fit,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is taken for granted of a machine before its first job. Standard deviations unless named otherwise.

    ``level`` with ``u_level``; ``spread`` from value to value within a job, counting for
    ``spread_dof`` degrees of freedom; ``between`` from job to job; ``drift`` of the level in one
    job; ``slopes`` of each covariate about zero. ``wander`` is how far a job's own value drifts with one unit of
    the covariate ``wander_by`` beyond the slope that all jobs have, as a share of the spread: one edge wears faster than
    another. How far it is, the jobs decide as they do of the ratios, by their values within a job.
    """

    level: float = 0.0
    u_level: float
    spread: float
    spread_dof: float = 4.0
    between: float
    drift: float
    slopes: _Vector = ()
    wander: float = 0.0
    wander_by: int = 0


@dataclass(slots=True)
class _Part:
    """One pair of ratios: its weight (log), the state's mean and covariance over σ², and the squares gathered."""

    between: float
    drift: float
    log_weight: float
    mean: list[float]
    cov: _Matrix
    squares: float

    def copy(self) -> _Part:
        return _Part(
            self.between, self.drift, self.log_weight, list(self.mean), [list(r) for r in self.cov], self.squares
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What the jobs have taught. ``z`` is, for each job, how far its mean lay from what those before it led to
    expect, in standard deviations; ``aside`` the jobs that are set aside; ``start`` the job from which the level
    counts (the latest change that somebody has stated); ``jobs`` and ``values`` how many are in it."""

    prior: Prior
    dof: float
    parts: tuple[_Part, ...]
    z: tuple[float, ...] = ()
    aside: tuple[int, ...] = ()
    start: int = 0
    jobs: int = 0
    values: int = 0
    #: How far a job wanders, as a share of the spread, and how likely that is.
    wanders: tuple[tuple[float, float], ...] = ((0.0, 1.0),)
    #: How far out the latest jobs were that nobody has answered for; 0 where the last one fits.
    unsettled: float = 0.0
    groups: tuple[Sums, ...] = field(default=(), repr=False)

    @property
    def weights(self) -> list[float]:
        """How likely each pair of ratios is."""
        return _weights([p.log_weight for p in self.parts])

    @property
    def slopes(self) -> _Vector:
        """The slopes of the covariates, as best known."""
        weights = self.weights
        size = len(self.parts[0].mean)
        return tuple(math.fsum(w * p.mean[i] for w, p in zip(weights, self.parts, strict=True)) for i in range(1, size))

    @property
    def u_slopes(self) -> _Vector:
        """The standard uncertainties of the slopes."""
        weights, best = self.weights, self.slopes
        return tuple(
            math.sqrt(
                math.fsum(
                    w * (p.squares / self.dof * p.cov[i][i] + (p.mean[i] - best[i - 1]) ** 2)
                    for w, p in zip(weights, self.parts, strict=True)
                )
            )
            for i in range(1, len(best) + 1)
        )

    @property
    def level(self) -> float:
        """The level now, with every covariate at zero."""
        return math.fsum(w * p.mean[0] for w, p in zip(self.weights, self.parts, strict=True))

    @property
    def u_level(self) -> float:
        level = self.level
        return math.sqrt(
            math.fsum(
                w * (p.squares / self.dof * p.cov[0][0] + (p.mean[0] - level) ** 2)
                for w, p in zip(self.weights, self.parts, strict=True)
            )
        )

    @property
    def spread(self) -> float:
        """Standard deviation from value to value within a job."""
        return math.sqrt(math.fsum(w * p.squares / self.dof for w, p in zip(self.weights, self.parts, strict=True)))

    @property
    def between(self) -> float:
        """Standard deviation from job to job."""
        return math.sqrt(
            math.fsum(w * p.squares / self.dof * p.between for w, p in zip(self.weights, self.parts, strict=True))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """One further value: ``mean`` with the standard uncertainty of that; ``spread`` from value to value; ``half``
    half its 95 % interval; ``u_next`` times Student's t at ``dof`` is ``half``. ``weight`` (0..1) is how far the
    job's own values decide."""

    mean: float
    u_mean: float
    spread: float
    u_next: float
    half: float
    dof: float
    weight: float


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    total: float = sum(map(mul, a, b))
    return total


def _weights(logs: Sequence[float]) -> list[float]:
    best = max(logs)
    raw = [math.exp(w - best) for w in logs]
    total = math.fsum(raw)
    return [r / total for r in raw]


def _diagonal(values: Sequence[float]) -> _Matrix:
    return [[v if i == j else 0.0 for j in range(len(values))] for i, v in enumerate(values)]


def _inverse(a: _Matrix) -> _Matrix:
    """The inverse of a small positive definite matrix (Gauss and Jordan)."""
    n = len(a)
    rows = [[*row, *unit] for row, unit in zip(a, _diagonal([1.0] * n), strict=True)]
    for i in range(n):
        lead = rows[i][i]
        rows[i] = [v / lead for v in rows[i]]
        for k in range(n):
            if k != i and rows[k][i] != 0.0:
                factor = rows[k][i]
                rows[k] = [v - factor * w for v, w in zip(rows[k], rows[i], strict=True)]
    return [row[n:] for row in rows]


def _log_det(a: _Matrix) -> float:
    """The logarithm of the determinant of a small positive definite matrix."""
    rows, found = [list(row) for row in a], 0.0
    for i, row in enumerate(rows):
        found += math.log(row[i])
        for below in rows[i + 1 :]:
            factor = below[i] / row[i]
            for j in range(i, len(rows)):
                below[j] -= factor * row[j]
    return found


# -- learning ------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class _Begun:
    """The state before the first job mean: the prior, and what the deviations within the jobs say of the slopes.

    Mean and covariance over σ², the squares gathered for σ² and their degrees of freedom, and the
    logarithm of the evidence, but for a constant, that σ² and the slopes are integrated out of.
    """

    mean: list[float]
    cov: _Matrix
    squares: float
    dof: float
    log_evidence: float


def _begun(groups: Sequence[Sums], prior: Prior, wander: float) -> _Begun:
    """The beginning where a job's own value wanders by so much, as a share of the spread.

    A job that wanders by w has within it the covariance σ² (I + w² a a′), a being the covariate about its mean; its
    inverse is I − c a a′ with c = w² / (1 + w² a′a) (Sherman and Morrison), so the sums suffice.
    """
    scale = prior.spread**2
    variances = [prior.u_level**2, *(s * s for s in prior.slopes)]
    precision = _diagonal([scale / v for v in variances])
    right = [precision[0][0] * prior.level, *(0.0 for _ in prior.slopes)]
    squares = prior.spread_dof * scale + precision[0][0] * prior.level**2
    dof, by, wander2, log_evidence = prior.spread_dof, prior.wander_by, wander * wander, 0.0
    for g in groups:
        if g.fit == "aside":
            continue
        dof += g.n - 1
        squares += g.squares
        c = 0.0
        if wander2 > 0.0 and len(g.xx) > by:
            c = wander2 / (1.0 + wander2 * g.xx[by][by])
            squares -= c * g.xy[by] ** 2
            log_evidence -= 0.5 * math.log1p(wander2 * g.xx[by][by])
        for i, row in enumerate(g.xx):
            lean = c * row[by] if c else 0.0
            right[i + 1] += g.xy[i] - (lean * g.xy[by] if c else 0.0)
            for j, v in enumerate(row):
                precision[i + 1][j + 1] += v - (lean * g.xx[by][j] if c else 0.0)
    cov = _inverse(precision)
    mean = [_dot(row, right) for row in cov]
    squares = max(squares - _dot(mean, right), 1e-12 * scale)
    log_evidence += 0.5 * _log_det(cov) - 0.5 * dof * math.log(squares)
    return _Begun(mean, cov, squares, dof, log_evidence)


def _wanders(groups: Sequence[Sums], prior: Prior) -> tuple[tuple[float, float], ...]:
    """How far a job's own value wanders, as a share of the spread, and how likely each is by the jobs."""
    if prior.wander <= 0.0:
        return ((0.0, 1.0),)
    sizes = [w * prior.wander for w, _ in _WANDER]
    logs = [math.log(s) + _begun(groups, prior, w).log_evidence for w, (_, s) in zip(sizes, _WANDER, strict=True)]
    return tuple((w, share) for w, share in zip(sizes, _weights(logs), strict=True) if share > _LEAST_SHARE)


def _parts(groups: Sequence[Sums], prior: Prior, wander: float) -> tuple[list[_Part], float]:
    begun = _begun(groups, prior, wander)
    mean, cov, squares, dof = begun.mean, begun.cov, begun.squares, begun.dof
    between, drift = (prior.between / prior.spread) ** 2, (prior.drift / prior.spread) ** 2
    return [
        _Part(b * b * between, d * d * drift, math.log(cb * cd), list(mean), [list(r) for r in cov], squares)
        for b, cb in _BETWEEN
        for d, cd in _DRIFT
        if drift > 0.0 or d == 0.0
    ], dof


def _row(x: _Vector, size: int) -> list[float]:
    """A job's row: one for the level, then its covariates (zero where the job has none)."""
    return [1.0, *x, *(0.0 for _ in range(size - 1 - len(x)))][:size]


def _looked(part: _Part, h: Sequence[float], noise: float) -> tuple[float, float, list[float]]:
    """Where a value is expected at ``h``, its variance over σ², and the covariance times ``h``."""
    ch = [_dot(row, h) for row in part.cov]
    return _dot(part.mean, h), _dot(ch, h) + noise, ch


def _take(part: _Part, h: Sequence[float], y: float, noise: float) -> None:
    """Take a value in: Kalman's update, and the squares for σ²."""
    expected, q, ch = _looked(part, h, noise)
    off = y - expected
    part.mean = [m + c * off / q for m, c in zip(part.mean, ch, strict=True)]
    for i, row in enumerate(part.cov):
        part.cov[i] = [v - ch[i] * c / q for v, c in zip(row, ch, strict=True)]
    part.squares += off * off / q
    part.log_weight -= 0.5 * math.log(q)


def _log_evidence(parts: Sequence[_Part], dof: float) -> list[float]:
    """The logarithms of the weights: the evidence that σ² is integrated out of."""
    return [p.log_weight - 0.5 * dof * math.log(p.squares) for p in parts]


def _surprise(parts: Sequence[_Part], dof: float, h: Sequence[float], g: Sums) -> float:
    """How far a job's mean lies from what is expected, as standard deviations of a normal distribution."""
    weights = _weights(_log_evidence(parts, dof))
    spots = [(w, *_spot(p, h, 1.0 / g.n + p.between, dof)) for w, p in zip(weights, parts, strict=True)]
    expected = math.fsum(w * m for w, m, _ in spots)
    u = math.sqrt(math.fsum(w * (s * s + (m - expected) ** 2) for w, m, s in spots))
    off = (g.mean - expected) / u  # one Student's t as wide as the mixture
    below = student.cdf(-abs(off), dof) if dof < _NEARLY_NORMAL else _NORMAL.cdf(-abs(off))
    tail = max(below, 1e-15)
    return math.copysign(-_NORMAL.inv_cdf(tail), off) if tail < 0.5 else 0.0


def _spot(part: _Part, h: Sequence[float], noise: float, dof: float) -> tuple[float, float]:
    """Where a value is expected, and the scale of the Student's t about it."""
    expected, q, _ = _looked(part, h, noise)
    return expected, math.sqrt(q * part.squares / dof)


def learn(groups: Sequence[Sums], prior: Prior) -> Learned:
    """What jobs, oldest first, teach about a machine whose ``prior`` is given."""
    size = 1 + len(prior.slopes)
    wanders = _wanders(groups, prior)
    parts, dof = _parts(groups, prior, math.sqrt(math.fsum(share * w * w for w, share in wanders)))
    fresh = (prior.u_level / prior.spread) ** 2
    z: list[float] = []
    aside: list[int] = []
    start = taken = values = 0
    waiting: list[float] = []
    for number, g in enumerate(groups):
        for p in parts:
            p.cov[0][0] += p.drift
        if g.fit == "restart":
            start, waiting = number, []
            for p in parts:
                _begin_again(p, fresh)
        h = _row(g.x, size)
        z.append(_surprise(parts, dof, h, g))
        if g.fit == "aside" or (not g.fit and abs(z[-1]) > APART_Z):
            aside.append(number)
            if g.fit != "aside":
                waiting.append(z[-1])
            continue
        waiting = []
        for p in parts:
            _take(p, h, g.mean, 1.0 / g.n + p.between)
        dof += 1.0
        taken, values = taken + 1, values + g.n
        if taken % 8 == 0:
            parts = _alive(parts, dof)
    made = Learned(
        prior=prior,
        dof=dof,
        parts=_kept(parts, dof),
        z=tuple(z),
        aside=tuple(aside),
        start=start,
        jobs=taken,
        values=values,
        wanders=wanders,
        groups=tuple(groups),
    )
    return _unsettled(made, waiting) if waiting else made


def _begin_again(part: _Part, variance: float) -> None:
    """The level is not known any more; the slopes stay."""
    for i in range(1, len(part.cov)):
        part.cov[0][i] = part.cov[i][0] = 0.0
    part.cov[0][0] = variance


def _unsettled(made: Learned, waiting: Sequence[float]) -> Learned:
    """The level, while the latest jobs did not fit and nobody has said why: it may be where they were."""
    gap = math.fsum(waiting) / len(waiting)
    parts = [p.copy() for p in made.parts]
    for p in parts:
        p.cov[0][0] += gap * gap * (p.cov[0][0] + p.between + 1.0 / made.groups[-1].n)
    return replace(made, parts=tuple(parts), unsettled=gap)


def _alive(parts: list[_Part], dof: float) -> list[_Part]:
    """The parts that could still come to carry weight."""
    shares = _weights(_log_evidence(parts, dof))
    return [p for p, share in zip(parts, shares, strict=True) if share > _LEAST_SHARE**2]


def _kept(parts: Sequence[_Part], dof: float) -> tuple[_Part, ...]:
    """The parts that carry weight, each with the logarithm of its share."""
    shares = _weights(_log_evidence(parts, dof))
    for p, share in zip(parts, shares, strict=True):
        p.log_weight = math.log(max(share, 1e-300))
    return tuple(p for p, share in zip(parts, shares, strict=True) if share > _LEAST_SHARE)


# -- all machines ---------------------------------------------------------------------------
def pooled_prior(prior: Prior, others: Sequence[Learned]) -> Prior:
    """The prior of one machine drawn toward what the person's other machines turned out to be.

    The level's spread from machine to machine counts ``prior.u_level`` for four machines; the
    spread within jobs takes in theirs, for eight degrees of freedom at most: another
    machine is another machine.
    """
    seen = [o for o in others if o.jobs]
    if not seen:
        return prior
    free = 4.0
    middle = math.fsum([prior.level * 1.0, *(o.level for o in seen)]) / (1.0 + len(seen))
    variance = (free * prior.u_level**2 + math.fsum((o.level - middle) ** 2 for o in seen)) / (free + len(seen))
    inside = math.fsum(o.dof * o.spread**2 for o in seen) + prior.spread_dof * prior.spread**2
    dof = math.fsum(o.dof for o in seen) + prior.spread_dof
    between = math.fsum(o.jobs * o.between**2 for o in seen) + free * prior.between**2
    jobs = sum(o.jobs for o in seen) + free
    return replace(
        prior,
        level=middle,
        u_level=math.sqrt(variance * (1.0 + 1.0 / (1.0 + len(seen)))),
        spread=math.sqrt(inside / dof),
        spread_dof=min(8.0, dof),
        between=math.sqrt(between / jobs),
    )


# -- predicting -----------------------------------------------------------------------------
def _with_job(part: _Part, wander: float, share: float) -> _Part:
    """A part with the present job's own offset and its own drift as two more of its states, and the level one job on;
    ``share`` is how likely that drift is."""
    made = part.copy()
    made.log_weight += math.log(share)
    made.cov[0][0] += made.drift
    for variance in (made.between, wander * wander):
        for row in made.cov:
            row.append(0.0)
        made.cov.append([*(0.0 for _ in made.mean), variance])
        made.mean.append(0.0)
    return made


def _may_wander(made: Learned) -> tuple[tuple[float, float], ...]:
    """How far the present job may wander, and how likely that is: as the others did, or as is assumed of any."""
    size = made.prior.wander
    if size <= 0.0:
        return made.wanders
    alike = [(w, (1.0 - _WANDERS_ANYWAY) * share) for w, share in made.wanders]
    return (*alike, (_ANYWAY_SIZE * size, _WANDERS_ANYWAY))


def _job_row(prior: Prior, x: Sequence[float], first: Sequence[float]) -> list[float]:
    """The row of a value of the present job, whose drift counts from its ``first`` value on."""
    by = prior.wander_by
    gone = x[by] - first[by] if prior.wander > 0.0 and len(x) > by and len(first) > by else 0.0
    return [*_row(tuple(x), 1 + len(prior.slopes)), 1.0, gone]


def _spots(
    parts: Sequence[_Part], dof: float, h: Sequence[float], least_variance: float
) -> list[tuple[float, float, float, float]]:
    """What each part of the mixture foretells: its weight, the mean, the scale of Student's t, the variance of a value."""
    spots = []
    for w, p in zip(_weights(_log_evidence(parts, dof)), parts, strict=True):
        expected, q, _ = _looked(p, h, 0.0)
        s2 = p.squares / dof
        spots.append((w, expected, math.sqrt(q * s2 + max(s2, least_variance)), s2))
    return spots


def predict(
    made: Learned,
    x: Sequence[float] = (),
    own: Sequence[tuple[float, Sequence[float]]] = (),
    *,
    least_spread: float = 0.0,
) -> Predicted:
    """One further value of the present job at the covariates ``x``, after the job's ``own`` values (each with its x).

    The spread from value to value is not taken below ``least_spread``.
    """
    prior = made.prior
    # before the job's first value nothing has wandered
    wanders = _may_wander(made) if own else ((0.0, 1.0),)
    parts, dof = [_with_job(p, w, share) for p in made.parts for w, share in wanders], made.dof
    for p in parts:
        p.log_weight += 0.5 * dof * math.log(p.squares)
    first = own[0][1] if own else x
    h = _job_row(prior, x, first)
    before = _level_variance(parts, dof, h)
    for y, at in own:
        place = _job_row(prior, at, first)
        for p in parts:
            _take(p, place, y, 1.0)
        dof += 1.0
    after = _level_variance(parts, dof, h)
    spots = _spots(parts, dof, h, least_spread * least_spread)
    mean = math.fsum(w * m for w, m, _, _ in spots)
    half = _half([(w, m - mean, s) for w, m, s, _ in spots if w > _LEAST_SHARE], dof)
    return Predicted(
        mean=mean,
        u_mean=math.sqrt(after + math.fsum(w * (m - mean) ** 2 for w, m, _, _ in spots)),
        spread=max(least_spread, math.sqrt(math.fsum(w * s2 for w, _, _, s2 in spots))),
        u_next=half / student.two_sided(_CONFIDENCE, dof),
        half=half,
        dof=dof,
        weight=0.0 if not own else max(0.0, min(1.0, 1.0 - after / before)),
    )


def _level_variance(parts: Sequence[_Part], dof: float, h: Sequence[float]) -> float:
    """How sure the expected value is, without the spread from value to value."""
    weights = _weights(_log_evidence(parts, dof))
    return math.fsum(w * _looked(p, h, 0.0)[1] * p.squares / dof for w, p in zip(weights, parts, strict=True))


def _nearly_normal(t: float, dof: float) -> float:
    """The normal deviate that lies where ``t`` lies in Student's t (D. L. Wallace, Annals of Mathematical Statistics 30
    (1959) 1124): off by a few parts in ten thousand, and many times as fast as the distribution itself."""
    return math.copysign((8.0 * dof + 1.0) / (8.0 * dof + 3.0) * math.sqrt(dof * math.log1p(t * t / dof)), t)


def _half(spots: Sequence[tuple[float, float, float]], dof: float) -> float:
    """Half of the interval about zero that holds 95 % of a mixture of Student's t (weight, middle, scale).

    Solved with Wallace's approximation by the secant through a bracket, the value at an end that stays twice being
    halved (the Illinois way); then scaled so that a single Student's t comes out exactly.
    """
    total = math.fsum(w for w, _, _ in spots)

    def lacking(half: float) -> float:
        inside = 0.0
        for w, m, s in spots:
            above, below = _nearly_normal((half - m) / s, dof), _nearly_normal((-half - m) / s, dof)
            inside += w * (_NORMAL.cdf(above) - _NORMAL.cdf(below))
        return inside / total - _CONFIDENCE

    exact = student.two_sided(_CONFIDENCE, dof)
    z = _NORMAL.inv_cdf(0.5 + _CONFIDENCE / 2.0) * (8.0 * dof + 3.0) / (8.0 * dof + 1.0)
    scaled = exact / math.sqrt(dof * math.expm1(z * z / dof))
    low, high = 0.0, max(abs(m) + 1.05 * exact * s for _, m, s in spots)
    below, above, side = -_CONFIDENCE, lacking(high), 0
    for _ in range(60):
        middle = (low * above - high * below) / (above - below)
        found = lacking(middle)
        if abs(found) < 1e-9 or high - low < 1e-9 * high:
            return scaled * middle
        if found < 0.0:
            low, below, above, side = middle, found, above / 2.0 if side < 0 else above, -1
        else:
            high, above, below, side = middle, found, below / 2.0 if side > 0 else below, 1
    return scaled * high
