"""The record of a machine: what its jobs, taken together, say of the next one. Numbers only.

Everything rests on one model (:mod:`logic.pooling`): jobs of one machine have each a level of their
own about the machine's, machines about that of all the person's machines. Here are its priors
(rows "record.…" of :mod:`logic.constants`, common practice, no source), what each kind of
series depends on, and the charts.

Lengths in mm; removal rates and times are logarithms inside the model and come out as ranges.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from .bar_bias import ASSUMED_BETWEEN_MM, ASSUMED_DOF, ASSUMED_DRIFT, ASSUMED_SPREAD_MM
from .bore_prior import FINISHING, Process, learned_from
from .constants import constant
from .control_chart import Chart, chart
from .job_record import JobRecord
from .pooling import APART_Z, Learned, Predicted, Prior, Sums, learn, pooled_prior, predict
from .say import Day

__all__ = [
    "USUAL_CUT_MM",
    "BarModel",
    "Basis",
    "Range",
    "Series",
    "bar_model",
    "basis",
    "chart_of",
    "edge_lives",
    "edge_model",
    "hone_model",
    "irons_of",
    "minutes_model",
    "minutes_of_job",
    "of_job",
    "passes_model",
    "process_of",
    "range_of",
    "shape_model",
    "standing_out",
    "stone_lives",
    "stone_model",
]

#: A cut on diameter at which the bias is stated (common practice).
USUAL_CUT_MM = 0.4
#: Which covariate of a cut is the passes that its edge has made.
_AGE = 2
_SIZE_STEP_MM = 10.0
_STROKES_STEP = 1000.0
#: No more jobs than these go into a model: what lies further back has been forgotten by the drift.
_MOST_JOBS = 300
#: How well somebody knows how long an edge lasts who states it, as a logarithm (common practice, no source).
_STATED = 0.3
_STEPS_MIN = {"bores": 4.0, "cut": 45.0, "hone": 15.0, "final": 4.0}


@dataclass(frozen=True, slots=True)
class Basis:
    """What a figure rests on: so many bores in so many jobs since a day (YYYY-MM-DD), ``values`` figures in all."""

    bores: int
    jobs: int
    since: str
    values: int = 0


def basis(records: Sequence[JobRecord]) -> Basis:
    """What a machine's jobs amount to. Raises ValueError for none."""
    if not records:
        raise ValueError("no jobs")
    return Basis(sum(r.cylinders or 1 for r in records), len(records), date_of(min(r.day for r in records)))


def date_of(day: float) -> Day:
    """A day since 1970 as YYYY-MM-DD (UTC, proleptic Gregorian; counted in eras of 400 years from 1 March)."""
    era, of_era = divmod(int(min(max(day, 0.0), 2.9e6)) + 719_468, 146_097)
    year = (of_era - of_era // 1460 + of_era // 36_524 - of_era // 146_096) // 365
    of_year = of_era - (365 * year + year // 4 - year // 100)
    month = (5 * of_year + 2) // 153
    date = of_year - (153 * month + 2) // 5 + 1
    month = month + 3 if month < 10 else month - 9
    return Day(f"{year + 400 * era + (month <= 2):04d}-{month:02d}-{date:02d}")


@dataclass(frozen=True, slots=True)
class Range:
    """From ``low`` by way of ``likely`` to ``high``, 19 times in 20."""

    low: float
    likely: float
    high: float


def range_of(found: Predicted) -> Range:
    """The range of what was predicted as a logarithm."""
    return Range(*(math.exp(v) for v in (found.mean - found.half, found.mean, found.mean + found.half)))


@dataclass(frozen=True, slots=True)
class Series:
    """A kind of figure over the jobs that have it, oldest first, and the model of it."""

    records: tuple[JobRecord, ...]
    learned: Learned

    @property
    def used(self) -> tuple[JobRecord, ...]:
        """The jobs that the figure rests on: since the latest stated change, without those set aside."""
        out, start = self.learned.aside, self.learned.start
        return tuple(r for i, r in enumerate(self.records) if i >= start and i not in out)

    @property
    def basis(self) -> Basis | None:
        """What the figure rests on; None where no job is in it."""
        return replace(basis(self.used), values=self.learned.values) if self.used else None


_Sums = Callable[[JobRecord], Sums | None]


def _series(records: Iterable[JobRecord], of: _Sums, prior: Prior) -> Series:
    there = [(r, g) for r in records if (g := of(r)) is not None][-_MOST_JOBS:]
    return Series(tuple(r for r, _ in there), learn([g for _, g in there], prior))


def _drawn(prior: Prior, others: Sequence[Sequence[JobRecord]], of: _Sums) -> Prior:
    """The prior drawn toward the person's other machines."""
    return pooled_prior(prior, [_series(o, of, prior).learned for o in others]) if others else prior


def standing_out(series: Series, own: Sums) -> float:
    """How far a job stands out from a machine's record: standard deviations of a normal distribution; 0 with fewer
    than three jobs before it, which are no record yet."""
    if series.learned.jobs < 3 or not series.used:
        return 0.0
    groups = [*series.learned.groups, replace(own, fit="")]
    z = learn(groups, series.learned.prior).z[-1]
    return z if abs(z) > APART_Z else 0.0


# -- the bar's bias --------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class BarModel:
    """The bias of one bar: the series, the irons that have a figure of their own, and the size it is stated at."""

    series: Series
    irons: tuple[str, ...]
    size_mm: float

    def x(self, *, size_mm: float, cut_mm: float, age: float, iron: str) -> tuple[float, ...]:
        """The covariates of one cut: bore, cut on diameter, passes of the edge, iron."""
        return (
            (size_mm - self.size_mm) / _SIZE_STEP_MM if size_mm > 0.0 and self.size_mm > 0.0 else 0.0,
            cut_mm - USUAL_CUT_MM,
            age,
            *(1.0 if iron == i else 0.0 for i in self.irons),
        )

    @property
    def usual(self) -> tuple[float, ...]:
        """The covariates of a usual cut with a fresh edge."""
        return self.x(size_mm=self.size_mm, cut_mm=USUAL_CUT_MM, age=0.0, iron="")

    def sums(self, record: JobRecord) -> Sums | None:
        """A job's biases with all the covariates of the model."""
        g = record.bias
        if g is None:
            return None
        cut, age = g.x if len(g.x) == 2 else (USUAL_CUT_MM, 0.0)
        x = self.x(size_mm=record.size_mm, cut_mm=cut, age=age, iron=record.iron)
        if len(g.xx) != 2:
            return replace(g, x=x, xx=(), xy=(), fit=record.bar_fit)
        still = (0.0,) * len(x)
        inside = (still, (0.0, *g.xx[0], *still[3:]), (0.0, *g.xx[1], *still[3:]), *(still for _ in still[3:]))
        return replace(g, x=x, xx=inside, xy=(0.0, *g.xy, *still[3:]), fit=record.bar_fit)

    def next_mm(
        self, x: Sequence[float], own: Sequence[tuple[float, Sequence[float]]] = (), *, least_spread_mm: float = 0.0
    ) -> Predicted:
        """The bias of one further cut, after the present job's own (bias, covariates)."""
        return predict(self.series.learned, x, own, least_spread=least_spread_mm)


def _bias_prior(irons: int) -> Prior:
    return Prior(
        u_level=constant("record.level").value,
        spread=ASSUMED_SPREAD_MM,
        spread_dof=ASSUMED_DOF,
        between=ASSUMED_BETWEEN_MM,
        drift=constant("record.drift").value,
        slopes=(
            constant("record.by_size").value,
            constant("record.by_cut").value,
            constant("record.by_age").value,
            *(constant("record.by_iron").value for _ in range(irons)),
        ),
        wander=ASSUMED_DRIFT,
        wander_by=_AGE,
    )


def bar_model(records: Sequence[JobRecord], others: Sequence[Sequence[JobRecord]] = ()) -> BarModel:
    """The bias of a bar from its jobs, oldest first; ``others`` are the jobs of each of the person's other bars."""
    with_bias = [r for r in records if r.bias is not None]
    counted: dict[str, int] = {}
    for r in with_bias:
        counted[r.iron] = counted.get(r.iron, 0) + 1
    usual = max(counted, key=lambda i: (counted[i], i), default="")
    irons = tuple(sorted(i for i in counted if i not in (usual, "")))
    sizes = sorted(r.size_mm for r in with_bias if r.size_mm > 0.0)
    shape = BarModel(_series((), lambda _: None, _bias_prior(0)), irons, sizes[len(sizes) // 2] if sizes else 0.0)
    prior = _bias_prior(len(irons))
    return replace(shape, series=_series(records, shape.sums, _drawn(prior, others, shape.sums)))


# -- what bar and hone leave -------------------------------------------------------------------
def shape_model(
    records: Sequence[JobRecord], name: str, others: Sequence[Sequence[JobRecord]] = (), *, of_hone: bool = False
) -> Series:
    """Taper, barrel or out-of-round (series ``name``) that a machine leaves, mm."""
    prior = Prior(
        u_level=constant("record.taper_level").value,
        spread=constant("record.taper_spread").value,
        between=constant("record.taper_between").value,
        drift=constant("record.drift").value / 3.0,
    )

    def of(record: JobRecord) -> Sums | None:
        found = record.of(name)
        fit = record.hone_fit if of_hone else record.bar_fit
        return None if found is None else replace(found, fit=fit)

    return _series(records, of, _drawn(prior, others, of))


def process_of(records: Sequence[JobRecord], base: Process = FINISHING) -> Process:
    """What boring and honing make, by the finished bores of a machine's jobs: the prior of the final check."""
    rows = [r for r in records if r.hone_fit != "aside"]
    squares = {}
    for name in ("taper", "barrel", "oval"):
        found = [own for r in rows if (own := _squares(r, name)) is not None]
        squares[name] = sum(n for n, _ in found), math.fsum(s for _, s in found)
    levels = [own for r in rows if (own := _squares(r, "level")) is not None]
    return learned_from(levels, squares, base)


def _squares(record: JobRecord, name: str) -> tuple[int, float] | None:
    """How many finished bores a job has, and the squares about zero of one part of them, mm², less what the gauge put in."""
    found, noise = record.of(f"made.{name}"), record.of(f"made.{name}.noise")
    if found is None:
        return None
    gauge = 0.0 if noise is None else found.n * max(0.0, noise.mean)
    return found.n, found.squares + found.n * found.mean**2 - gauge


# -- honing --------------------------------------------------------------------------------------
def hone_model(
    records: Sequence[JobRecord],
    grit: str,
    others: Sequence[Sequence[JobRecord]] = (),
    iron: str = "",
    *,
    fresh: bool = False,
) -> tuple[Series, tuple[float, ...]]:
    """Logarithm of the removal (mm on diameter) of one double stroke of a grit, and the covariates of the next bore.

    It depends on the strokes the stones have made (counted from the latest fresh set or stated change; ``fresh``: the next
    bore is honed with a fresh set) and on the iron.
    """
    name = f"rate.{grit}"
    usual, irons = _irons(records, name)
    prior = Prior(
        level=math.log(constant("record.rate").value),
        u_level=constant("record.rate_level").value,
        spread=constant("record.rate_spread").value,
        between=constant("record.rate_between").value,
        drift=constant("record.rate_between").value / 6.0,
        slopes=(constant("record.by_wear").value, *(constant("record.rate_by_iron").value for _ in irons)),
    )
    worn, by_now = _worn(records, grit)

    def x(made: float, metal: str) -> tuple[float, ...]:
        return made / _STROKES_STEP, *(1.0 if metal == i else 0.0 for i in irons)

    def of(record: JobRecord) -> Sums | None:
        found = record.of(name)
        metal = record.iron or usual
        return None if found is None else replace(found, x=x(worn.get(record.job, 0.0), metal), fit=record.hone_fit)

    series = _series(records, of, _drawn(prior, others, of))
    return series, x(0.0 if fresh else by_now, iron or usual)


def _irons(records: Sequence[JobRecord], name: str) -> tuple[str, tuple[str, ...]]:
    """The iron met most often, and the others."""
    seen = [r.iron for r in records if r.of(name) is not None and r.iron]
    usual = max(sorted(set(seen)), key=seen.count, default="")
    return usual, tuple(sorted(set(seen) - {usual}))


def irons_of(records: Sequence[JobRecord], name: str) -> tuple[str, ...]:
    """The irons that a series tells apart from the one met most often, in the order of its covariates."""
    return _irons(records, name)[1]


def _worn(records: Sequence[JobRecord], grit: str) -> tuple[dict[str, float], float]:
    """Strokes that the stones of a grit had made by the middle of each job, and by now.

    The count begins anew with a fresh set, and where somebody said that the hone was changed.
    """
    out, total = {}, 0.0
    for r in records:
        found, used = r.of(f"strokes.{grit}"), r.stones.get(grit)
        if r.hone_fit == "restart" or (used is not None and used.fresh):
            total = 0.0
        own = 0.0 if found is None else found.n * found.mean
        if used is None or len(used.strokes) < 2:
            out[r.job] = total + own / 2.0
            total += own
        else:  # changed within the job: what each set had made, by how much of the job it did
            made = [total + used.strokes[0] / 2.0, *(n / 2.0 for n in used.strokes[1:])]
            all_strokes = math.fsum(used.strokes)
            shares = [n / all_strokes if all_strokes > 0.0 else 0.0 for n in used.strokes]
            out[r.job] = math.fsum(share * m for share, m in zip(shares, made, strict=True))
            total = used.strokes[-1]
    return out, total


# -- time and edges --------------------------------------------------------------------------------
def minutes_model(records: Sequence[JobRecord], step: str) -> Series:
    """Logarithm of the minutes that one bore takes in a step ("bores", "cut", "hone", "final")."""
    prior = Prior(
        level=math.log(_STEPS_MIN[step]),
        u_level=constant("record.time_level").value,
        spread=constant("record.time_spread").value,
        between=constant("record.time_between").value,
        drift=constant("record.time_between").value / 8.0,
    )
    return _series(records, lambda r: r.of(f"minutes.{step}"), prior)


def minutes_of_job(records: Sequence[JobRecord], step: str, bores: int) -> tuple[float, float]:
    """Minutes that a job of so many bores takes in a step: mean and standard deviation.

    From the log-normal distribution of one bore's time (mean exp(μ + u²/2)); the part of u² that differs from job to
    job is shared by all its bores, the rest averages out.
    """
    found = predict(minutes_model(records, step).learned)
    inside, shared = found.spread**2, max(0.0, found.u_next**2 - found.spread**2)
    mean = bores * math.exp(found.mean + (inside + shared) / 2.0)
    return mean, mean * math.sqrt(math.expm1(shared) + math.expm1(inside) / bores)


def edge_lives(records: Sequence[JobRecord], tip: str = "") -> tuple[tuple[float, int], ...]:
    """Every edge that was used up: the day it was changed and the passes it cut. The one in use is not among them.

    An edge goes on from job to job; where a job says that it began with a fresh one, the one
    before ended with the job before. With ``tip`` only edges of that material count.
    """
    worked = [
        (r.day, [float(p) for p in r.edges.passes], r.edges.fresh)
        for r in records
        if r.edges.passes and (not tip or r.tip in ("", tip))
    ]
    return tuple((day, round(n)) for day, n in _lives(worked))


def stone_lives(records: Sequence[JobRecord], grit: str) -> tuple[tuple[float, float], ...]:
    """Every set of stones of a grit that was used up: the day it was changed and the iron it took off, cm³."""
    worked = [(r.day, list(s.taken_cm3), s.fresh) for r in records if (s := r.stones.get(grit)) is not None]
    return _lives(worked)


def _lives(worked: Iterable[tuple[float, Sequence[float], bool]]) -> tuple[tuple[float, float], ...]:
    """Every tool used up: its last day and how much it did, from what each did in each job (day, by tool, the first fresh)."""
    out: list[tuple[float, float]] = []
    made: float | None = None  # None: begun before the record was
    for day, amounts, fresh in worked:
        for i, amount in enumerate(amounts):
            if i > 0 or fresh:
                if made is not None and made > 0.0:
                    out.append((day, made))
                made = 0.0
            if made is not None:
                made += amount
    return tuple(out)


def _life_model(lives: Sequence[tuple[float, float]], usual: float, kind: str, u_level: float | None) -> Series:
    """Logarithm of how much a tool lasts for; each tool used up counts as a job of one value."""
    spread = constant(f"record.{kind}_spread").value
    prior = Prior(
        level=math.log(usual),
        u_level=constant(f"record.{kind}_level").value if u_level is None else u_level,
        spread=spread,
        between=spread / 2.0,
        drift=spread / 7.0,
    )
    made = [
        JobRecord(job=str(i), day=day, series={"life": Sums(1, math.log(n), fit="counts")})
        for i, (day, n) in enumerate(lives)
    ]
    return _series(made, lambda r: r.of("life"), prior)


def edge_model(records: Sequence[JobRecord], tip: str = "", stated: float | None = None) -> Series:
    """Logarithm of the passes an edge lasts; ``stated`` is what the person says it does."""
    usual = constant("cutting.edge_life").value if stated is None else stated
    return _life_model(edge_lives(records, tip), usual, "edge", None if stated is None else _STATED)


def stone_model(records: Sequence[JobRecord], grit: str) -> Series:
    """Logarithm of the iron (cm³) that a set of stones of a grit takes off."""
    return _life_model(stone_lives(records, grit), constant("record.stones_life").value, "stones", None)


def passes_model(records: Sequence[JobRecord]) -> Series:
    """Logarithm of the passes cut in a bore against those that were planned. Every job counts: none is asked about."""

    def of(record: JobRecord) -> Sums | None:
        found = record.of("passes.over")
        return None if found is None else replace(found, fit="counts")

    spread = constant("record.passes_spread").value
    prior = Prior(
        level=math.log(constant("record.passes_over").value),
        u_level=constant("record.passes_level").value,
        spread=spread,
        between=spread,
        drift=spread / 8.0,
    )
    return _series(records, of, prior)


def of_job(series: Series, bores: int) -> tuple[float, float]:
    """Of the logarithm of a factor for all the bores of a job together: its mean and standard uncertainty."""
    found = predict(series.learned)
    shared = max(0.0, found.u_next**2 - found.spread**2)
    return found.mean, math.sqrt(shared + found.spread**2 / max(1, bores))


# -- charts ----------------------------------------------------------------------------------------
def chart_of(series: Series) -> Chart | None:
    """The chart of a series since the latest stated change: each job's mean, freed from what the covariates do to it,
    with the spread that a job has about the machine's level. None with too few jobs."""
    learned = series.learned
    groups = learned.groups[learned.start :]
    if not groups:
        return None
    slopes, spread, between = learned.slopes, learned.spread, learned.between
    values = [g.mean - math.fsum(s * v for s, v in zip(slopes, g.x, strict=False)) for g in groups]
    return chart(values, [math.sqrt(between**2 + spread**2 / g.n) for g in groups])


def grits_of(records: Sequence[JobRecord]) -> tuple[str, ...]:
    """The grits a hone's jobs name, coarsest first."""
    found = {name.removeprefix("rate.") for r in records for name in r.series if name.startswith("rate.")}
    return tuple(sorted(found, key=lambda g: (len(g), g)))


def by_machine(records: Iterable[JobRecord], role: str, but: str) -> tuple[tuple[JobRecord, ...], ...]:
    """The jobs of every other machine of a role ("bar" or "hone"), one tuple for each."""
    found: dict[str, list[JobRecord]] = {}
    for r in records:
        card = r.bar if role == "bar" else r.hone
        if card and card != but:
            found.setdefault(card, []).append(r)
    return tuple(tuple(rows) for _, rows in sorted(found.items()))
