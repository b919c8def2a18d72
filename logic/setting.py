"""Setting the cutter: what the setting micrometer reads, and what the bar then cuts.

A bar never cuts exactly what it was set to: the micrometer has its own zero, the tip
springs, the edge has a radius. The difference, measured size minus set size, is the
bar's *bias*. It is learned from logged pairs of setting and measured bore, and tells
where the next setting must stand.

Two kinds of micrometer are in use: one reads the bore's diameter, one is put over bar
and tip and reads M = bar/2 + D/2, so D = 2 M − bar.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .constants import constant
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "ASSUMED_BETWEEN_MM",
    "ASSUMED_SPREAD_MM",
    "BAR_TIP",
    "BORE",
    "Bias",
    "NextSetting",
    "Pair",
    "bar_fits",
    "bias",
    "diameter_mm",
    "impossible",
    "next_setting",
    "reading_mm",
    "slipped",
    "trial",
    "wearing",
]

BORE = "bore"
BAR_TIP = "bar_tip"

#: Standard deviation from cut to cut of one bar in one job, until pairs say better.
ASSUMED_SPREAD_MM = constant("setting.spread").value
#: The same from job to job (bar cleaned, cutter taken out and put back), until history says better.
ASSUMED_BETWEEN_MM = constant("setting.between").value
#: How many pairs' worth of knowledge the assumed spread counts for when a slip is looked for.
_ASSUMED_DOF = 3
_CONFIDENCE = 0.95
_SLIP_CONFIDENCE = 0.99


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


def impossible(
    meter: str,
    reading: float,
    measured_mm: float | None,
    name: Line | str,
    bar_mm: float | None = None,
    *,
    most_mm: float = 0.5,
) -> Result | None:
    """Whether a logged setting cannot belong to what the bore measured; None where it can.

    It cannot where it puts the tip inside the bar, or where the bore came out more than
    ``most_mm`` away from it: then a figure was misread, or the other kind of micrometer
    was used.
    """
    assumptions = (Assumption(L("A bar cuts within {most} of what it is set to.", most=Qty(most_mm, "diff"))),)
    try:
        size = diameter_mm(meter, reading, bar_mm)
    except ValueError:
        return Result(
            key="cut.impossible",
            line=L(
                "{name}: a reading of {reading} puts the tip inside the bar. Was the bore's diameter entered instead?",
                name=name,
                reading=Qty(reading, "size"),
            ),
            verdict=Verdict.MAYBE,
            assumptions=assumptions,
        )
    if measured_mm is None or abs(measured_mm - size) <= most_mm:
        return None
    return Result(
        key="cut.impossible",
        line=L(
            "{name}: set for {size}, measured {measured}. That is too far apart to be the bar's bias; check both figures and the kind of micrometer.",
            name=name,
            size=Qty(size, "size"),
            measured=Qty(measured_mm, "size"),
        ),
        verdict=Verdict.MAYBE,
        assumptions=assumptions,
    )


@dataclass(frozen=True, slots=True)
class Pair:
    """One logged cut: what it was set to (as a diameter) and what the bore then measured, both in mm.

    ``cut_mm`` is what that pass took off the diameter, where known; ``name`` says which
    cut it was ("cylinder 2, pass 1"). ``kept`` is False when the person has struck it out.
    """

    set_mm: float
    measured_mm: float
    cut_mm: float | None = None
    name: Line | str = ""
    kept: bool = True

    @property
    def bias_mm(self) -> float:
        return self.measured_mm - self.set_mm


@dataclass(frozen=True, kw_only=True)
class Bias(Result):
    """What the bar adds to its setting.

    ``mean_mm`` is the best estimate for the next cut and ``u_mean_mm`` its standard
    uncertainty; ``spread_mm`` the standard deviation from cut to cut; ``u_next_mm`` the
    standard uncertainty of one further cut; ``half_mm`` half the 95 % prediction
    interval, from Student's t with ``dof`` degrees of freedom. ``pairs`` of this job,
    ``past_pairs`` from ``past_jobs`` earlier ones. ``weight`` (0..1) is how far the job's
    own pairs decide. ``known`` is False before any pair exists: then a trial cut is due.
    """

    mean_mm: float
    u_mean_mm: float
    spread_mm: float
    u_next_mm: float
    half_mm: float
    dof: float
    pairs: int
    past_pairs: int
    past_jobs: int
    weight: float
    known: bool

    def chance_above(self, excess_mm: float) -> float:
        """Probability that the next cut comes out more than ``excess_mm`` above what was aimed at."""
        return 1.0 - student.cdf(excess_mm / self.u_next_mm, self.dof)


@dataclass(frozen=True, slots=True)
class _Estimate:
    mean: float
    u_mean: float
    spread: float
    u_next: float
    dof: float
    weight: float
    assumed_spread: bool
    assumed_between: bool


def _estimate(job: Sequence[float], past: Sequence[Sequence[float]]) -> _Estimate:
    """Best estimate of the next cut's bias; see :func:`bias` for the method. Needs at least one value."""
    past = [list(p) for p in past if p]
    groups = past + ([list(job)] if job else [])
    stats = [student.sample(g) for g in groups]
    within_dof = sum(s.dof for s in stats)
    assumed_spread = within_dof == 0
    if assumed_spread:
        variance, dof = ASSUMED_SPREAD_MM**2, math.inf
    else:
        variance = sum(s.dof * s.spread**2 for s in stats) / within_dof
        dof = float(within_dof)
    spread = math.sqrt(variance)
    if not past:
        own = stats[0]
        u_mean = spread / math.sqrt(own.n)
        return _Estimate(own.mean, u_mean, spread, math.hypot(spread, u_mean), dof, 1.0, assumed_spread, False)

    earlier = stats[: len(past)]
    n = sum(s.n for s in earlier)
    assumed_between = len(earlier) < 2
    if assumed_between:
        between = ASSUMED_BETWEEN_MM**2
    else:
        grand = sum(s.n * s.mean for s in earlier) / n
        mean_square = sum(s.n * (s.mean - grand) ** 2 for s in earlier) / (len(earlier) - 1)
        n0 = (n - sum(s.n**2 for s in earlier) / n) / (len(earlier) - 1)
        between = max(0.0, (mean_square - variance) / n0)
    weights = [1.0 / max(between + variance / s.n, 1e-18) for s in earlier]
    centre = sum(w * s.mean for w, s in zip(weights, earlier)) / sum(weights)
    prior = between + 1.0 / sum(weights)
    if not job:
        if not assumed_between:
            dof = float(len(earlier) - 1)
        return _Estimate(
            centre, math.sqrt(prior), spread, math.sqrt(variance + prior), dof, 0.0, assumed_spread, assumed_between
        )
    own = stats[-1]
    sampling = variance / own.n
    total = prior + sampling
    weight = prior / total if total > 0 else 1.0
    u2 = weight * sampling
    mean = weight * own.mean + (1.0 - weight) * centre
    return _Estimate(
        mean, math.sqrt(u2), spread, math.sqrt(variance + u2), dof, weight, assumed_spread, assumed_between
    )


def bias(pairs: Sequence[Pair], past: Sequence[Sequence[Pair]] = (), *, resolution_mm: float = 0.0) -> Bias:
    """Learn the bar's bias from this job's ``pairs`` and the machine's ``past`` jobs.

    Method. With this job's pairs alone: mean x̄, sample spread s, and for one further
    cut x̄ ± t(n − 1) · s · √(1 + 1/n). With history: each job is taken to have its own
    level, normal about the machine's level; the spread from cut to cut is pooled over all
    jobs; the spread from job to job comes from a one-way analysis of variance; this job's
    level is the mean of its own pairs drawn toward the machine's level, the more so the
    fewer pairs it has (weights by inverse variance). ``resolution_mm`` is the step of the
    gauge: the spread is never taken to be smaller than that step allows (step / √12),
    nor below a tenth of a micrometre.
    One pair alone, or one earlier job alone, says nothing of a spread: then
    ASSUMED_SPREAD_MM and ASSUMED_BETWEEN_MM stand in, and the result says so.
    """
    kept = [p for p in pairs if p.kept]
    own = [p.bias_mm for p in kept]
    before = [[p.bias_mm for p in job if p.kept] for job in past]
    before = [job for job in before if job]
    past_pairs = sum(len(job) for job in before)
    if not own and not before:
        u_next = math.hypot(ASSUMED_SPREAD_MM, 5 * ASSUMED_BETWEEN_MM)
        return Bias(
            key="cut.bias",
            line=L("No cut has been logged with this bar yet: take a short trial cut first."),
            verdict=Verdict.MAYBE,
            why=(L("A bar may cut larger or smaller than it is set. Only a measured cut tells by how much."),),
            mean_mm=0.0,
            u_mean_mm=5 * ASSUMED_BETWEEN_MM,
            spread_mm=ASSUMED_SPREAD_MM,
            u_next_mm=u_next,
            half_mm=student.two_sided(_CONFIDENCE, math.inf) * u_next,
            dof=math.inf,
            pairs=0,
            past_pairs=0,
            past_jobs=0,
            weight=0.0,
            known=False,
            assumptions=(
                Assumption(
                    L("An unknown bar is taken to cut within about {u} of its setting.", u=Qty(2 * u_next, "diff")),
                ),
            ),
        )
    e = _estimate(own, before)
    floor = max(resolution_mm / math.sqrt(12.0), 1e-4)
    spread, u_next, dof = e.spread, e.u_next, e.dof
    if spread < floor:
        # every figure fell on the same gauge division: the division itself is the spread
        spread, u_next, dof = floor, math.hypot(floor, max(e.u_mean, floor / math.sqrt(max(1, len(own))))), math.inf
    half = student.two_sided(_CONFIDENCE, dof) * u_next
    why: list[Line] = []
    if own:
        why.append(
            L(
                "Measured cuts of this job: {n}; bias on average {bias}.",
                n=len(own),
                bias=Qty(student.sample(own).mean, "deviation"),
            )
        )
    if before:
        why.append(
            L(
                "Measured cuts of this bar before: {n}, in earlier jobs: {jobs}. This job's own cuts decide {weight} of the figure.",
                n=past_pairs,
                jobs=len(before),
                weight=Qty(e.weight, "percent"),
            )
        )
    assumptions = [Assumption(L("The next cut is taken like the logged ones: same feed, like depth, same edge."))]
    if e.assumed_spread:
        assumptions.append(
            Assumption(
                L(
                    "Spread from cut to cut taken as {s}, until two cuts of one job are logged.",
                    s=Qty(ASSUMED_SPREAD_MM, "diff"),
                )
            )
        )
    if before and e.assumed_between:
        assumptions.append(
            Assumption(
                L(
                    "Spread from job to job taken as {s}, until two earlier jobs are logged.",
                    s=Qty(ASSUMED_BETWEEN_MM, "diff"),
                )
            )
        )
    variance = u_next**2
    return Bias(
        key="cut.bias",
        line=L(
            "The bar cuts {bias} against its setting; the next cut falls within {half} of that, 19 times in 20.",
            bias=Qty(e.mean, "deviation"),
            half=Qty(half, "diff"),
        ),
        value=Qty(e.mean, "deviation", u_next),
        confidence=_CONFIDENCE,
        why=tuple(why),
        figures=(
            Figure("mean", L("Bias"), Qty(e.mean, "deviation", e.u_mean)),
            Figure("spread", L("Spread from cut to cut"), Qty(spread, "fine")),
            Figure("half", L("Next cut within, 95 %"), Qty(half, "diff")),
        ),
        assumptions=tuple(assumptions),
        influences=(
            Influence(L("Spread from cut to cut"), spread**2 / variance),
            Influence(L("How well the average is known"), 1.0 - spread**2 / variance),
        ),
        mean_mm=e.mean,
        u_mean_mm=e.u_mean,
        spread_mm=spread,
        u_next_mm=u_next,
        half_mm=half,
        dof=dof,
        pairs=len(own),
        past_pairs=past_pairs,
        past_jobs=len(before),
        weight=e.weight,
        known=True,
    )


def slipped(pairs: Sequence[Pair], past: Sequence[Sequence[Pair]] = ()) -> Result | None:
    """Whether the last kept pair lies so far from the ones before it that the tip may have slipped.

    The last bias is compared with the 99 % prediction interval from the pairs before it
    (and the machine's history). So that two pairs that agree by luck neither cry a slip
    nor hide one, the assumed spread takes part in the spread as three further degrees of
    freedom. None when there is nothing before it, or no reason for doubt.
    """
    kept = [p for p in pairs if p.kept]
    if not kept:
        return None
    earlier = [p.bias_mm for p in kept[:-1]]
    before = [[p.bias_mm for p in job if p.kept] for job in past]
    if not earlier and not any(before):
        return None
    e = _estimate(earlier, before)
    dof = 0.0 if e.assumed_spread else e.dof
    variance = (dof * e.spread**2 + _ASSUMED_DOF * ASSUMED_SPREAD_MM**2) / (dof + _ASSUMED_DOF)
    scale = math.sqrt(variance) / e.spread if e.spread > 0 else 1.0
    u_next = math.sqrt(variance + (e.u_mean * max(1.0, scale)) ** 2)
    limit = student.two_sided(_SLIP_CONFIDENCE, dof + _ASSUMED_DOF) * u_next
    last = kept[-1]
    off = last.bias_mm - e.mean
    if abs(off) <= limit:
        return None
    return Result(
        key="cut.slip",
        line=L(
            "{name} came out {off} away from what the earlier cuts led to expect. The tip may have slipped: "
            "check its clamp, set it again and measure again.",
            name=last.name,
            off=Qty(off, "deviation"),
        ),
        value=Qty(off, "deviation"),
        verdict=Verdict.MAYBE,
        confidence=_SLIP_CONFIDENCE,
        why=(
            L("Up to {limit} either way would have been ordinary.", limit=Qty(limit, "diff")),
            L("A misread gauge, a warm bore, a chip under the micrometer or a chipped edge do the same."),
        ),
        assumptions=(
            Assumption(
                L(
                    "Cuts of one bar spread by {s}; that counts as much as {n} further cuts.",
                    s=Qty(ASSUMED_SPREAD_MM, "diff"),
                    n=_ASSUMED_DOF,
                )
            ),
        ),
        cautions=(
            Caution(
                "cut_slip",
                L("Do not take the next pass until the reason is found. Strike the pair out if the cut was at fault."),
            ),
        ),
    )


def wearing(pairs: Sequence[Pair]) -> Result | None:
    """Whether the bar cuts smaller with each cut, as a wearing edge makes it do.

    Fits a straight line to the kept biases in the order they were cut. None with fewer
    than four, or when the fall is no larger than chance would make it (one-sided
    Student-t, 97.5 %) or smaller than 2 µm per cut.
    """
    kept = [p.bias_mm for p in pairs if p.kept]
    if len(kept) < 4:
        return None
    line = student.trend(range(1, len(kept) + 1), kept)
    sure = line.slope + student.quantile(0.975, line.dof) * line.u_slope() < 0.0
    if not sure or line.slope > -0.002:
        return None
    return Result(
        key="cut.wearing",
        line=L(
            "The bar cuts {fall} smaller with each pass: look at the edge and index it.", fall=Qty(-line.slope, "fine")
        ),
        value=Qty(line.slope, "deviation", line.u_slope()),
        verdict=Verdict.MAYBE,
        why=(L("A worn edge is pushed off the wall and leaves the bore small, tapered and torn."),),
        assumptions=(Assumption(L("The cuts were alike and are taken in the order in which they were measured.")),),
    )


@dataclass(frozen=True, kw_only=True)
class NextSetting(Result):
    """Where the micrometer must stand. ``reading_mm`` is its reading, ``set_mm`` the same as a diameter."""

    wanted_mm: float
    reading_mm: float
    set_mm: float
    low_mm: float
    high_mm: float
    chance_over: float | None = None


def next_setting(
    wanted_mm: float,
    learned: Bias,
    *,
    meter: str = BORE,
    bar_mm: float | None = None,
    limit_mm: float | None = None,
    cut_mm: float | None = None,
    usual_cut_mm: float | None = None,
    cold_mm: float | None = None,
) -> NextSetting:
    """The setting for a pass that should come out at ``wanted_mm``.

    setting = wanted − bias, given as the micrometer reads it. ``limit_mm`` is the largest
    size that may come out (what the hone still needs): the chance of passing it decides
    the verdict. ``cut_mm`` and ``usual_cut_mm`` (on diameter) let a pass much heavier or
    lighter than the logged ones be pointed out; ``cold_mm`` is the wanted size at 20 °C
    where the block is warm or cold and ``wanted_mm`` is as it measures now. Raises ValueError as :func:`reading_mm` does.
    """
    set_size = wanted_mm - learned.mean_mm
    reading = reading_mm(meter, set_size, bar_mm)
    low, high = wanted_mm - learned.half_mm, wanted_mm + learned.half_mm
    over = None
    verdict = Verdict.GO if learned.known else Verdict.MAYBE
    why = [
        L("It should come out between {low} and {high}, 19 times in 20.", low=Qty(low, "size"), high=Qty(high, "size"))
    ]
    if learned.known:
        why.append(L("The bar's bias of {bias} is taken off.", bias=Qty(learned.mean_mm, "deviation")))
    else:
        why.append(L("The bar's bias is not known yet, so none is taken off."))
    if cold_mm is not None and abs(cold_mm - wanted_mm) >= 0.0005:
        why.append(L("At the block's present temperature that stands for {cold} at 20 °C.", cold=Qty(cold_mm, "size")))
    if limit_mm is not None:
        over = learned.chance_above(limit_mm - wanted_mm)
        if over > 0.025:
            verdict = Verdict.MAYBE
            why.append(
                L(
                    "The chance of coming out above {limit} is {chance}. Take a pass to {safe} first and measure.",
                    limit=Qty(limit_mm, "size"),
                    chance=Qty(over, "percent"),
                    safe=Qty(limit_mm - learned.half_mm, "size"),
                )
            )
    if cut_mm is not None and usual_cut_mm and learned.known and not 0.4 <= cut_mm / usual_cut_mm <= 2.5:
        why.append(
            L(
                "The logged cuts took {usual}, this one takes {cut}: a tip under another load springs another way. Measure early.",
                usual=Qty(usual_cut_mm, "diff"),
                cut=Qty(cut_mm, "diff"),
            )
        )
    formula = L("M = (D − bias + bar) / 2") if meter == BAR_TIP else ""
    return NextSetting(
        key="cut.setting",
        line=L(
            "Set the micrometer to {reading} to bore {wanted}.",
            reading=Qty(reading, "size"),
            wanted=Qty(wanted_mm, "size"),
        ),
        value=Qty(reading, "size"),
        verdict=verdict,
        confidence=None if over is None else 1.0 - over,
        why=tuple(why),
        figures=(
            Figure("reading", L("Micrometer reading"), Qty(reading, "size"), formula=formula),
            Figure("wanted", L("Size wanted"), Qty(wanted_mm, "size", learned.u_next_mm)),
        ),
        assumptions=learned.assumptions,
        influences=learned.influences,
        wanted_mm=wanted_mm,
        reading_mm=reading,
        set_mm=set_size,
        low_mm=low,
        high_mm=high,
        chance_over=over,
    )


def trial(
    wanted_mm: float,
    present_mm: float,
    *,
    meter: str = BORE,
    bar_mm: float | None = None,
    small_mm: float = 0.13,
    depth_mm: float = 5.0,
    least_cut_mm: float = 0.10,
) -> Result:
    """A short trial cut before any bias is known: set small, bore a little way, measure.

    It is set ``small_mm`` (on diameter) under the pass's size, but no less than
    ``least_cut_mm`` above the bore's present size so that the tip cuts and does not rub;
    ``depth_mm`` is how far to bore. All three are common practice, no source. When the
    pass leaves no room for both, the verdict is to stop and split the pass anew.
    """
    size = max(wanted_mm - small_mm, present_mm + least_cut_mm)
    assumptions = (
        Assumption(
            L(
                "The trial cut stays {small} under the size and cuts at least {least}.",
                small=Qty(small_mm, "diff"),
                least=Qty(least_cut_mm, "diff"),
            )
        ),
    )
    if size >= wanted_mm:
        return Result(
            key="cut.trial",
            line=L(
                "There is no room for a trial cut: this pass takes only {cut}. Measure the last cut well instead.",
                cut=Qty(wanted_mm - present_mm, "diff"),
            ),
            verdict=Verdict.MAYBE,
            assumptions=assumptions,
        )
    reading = reading_mm(meter, size, bar_mm)
    formula = L("M = (max(D − margin, size now + least cut) + bar) / 2") if meter == BAR_TIP else ""
    return Result(
        key="cut.trial",
        line=L(
            "Trial cut: set {reading}, bore only {depth} deep, stop, measure, and log both figures.",
            reading=Qty(reading, "size"),
            depth=Qty(depth_mm, "place"),
        ),
        value=Qty(reading, "size"),
        verdict=Verdict.GO,
        why=(
            L(
                "That is {small} under the size of the pass, so a bar that cuts large does no harm.",
                small=Qty(wanted_mm - size, "diff"),
            ),
            L("Wipe the trial cut clean, let it cool, and measure across it in two directions."),
            L("The difference is the bar's bias; from then on the setting takes it into account."),
        ),
        figures=(
            Figure("reading", L("Micrometer reading"), Qty(reading, "size"), formula=formula),
            Figure("depth", L("Depth of the trial cut"), Qty(depth_mm, "place")),
        ),
        assumptions=assumptions,
    )
