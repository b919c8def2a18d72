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
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from . import student
from .bar_bias import (
    ASSUMED_BETWEEN_MM,
    ASSUMED_DOF,
    ASSUMED_DRIFT,
    ASSUMED_SPREAD_MM,
    BAR_TIP,
    BORE,
    CONFIDENCE,
    SLIP_CONFIDENCE,
    Estimate,
    Pair,
    Slip,
    bar_fits,
    diameter_mm,
    estimate,
    half_interval_mm,
    reading_mm,
    slip,
)
from .machine_record import Basis
from .pooling import Predicted
from .record_told import from_record
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = [
    "ASSUMED_BETWEEN_MM",
    "ASSUMED_DRIFT",
    "ASSUMED_SPREAD_MM",
    "BAR_TIP",
    "BORE",
    "Bias",
    "NextSetting",
    "Pair",
    "bar_fits",
    "bias",
    "bias_by_record",
    "diameter_mm",
    "impossible",
    "misset",
    "next_setting",
    "reading_mm",
    "slipped",
    "trial",
    "wearing",
]

#: A cut so much over the bored size is left to the hone, mm (half a thou, common practice).
OVER_BORED_MM = 0.0127


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
            "{name}: set for {size}, measured {measured}. That is too far apart to be the bar's error; check both figures and the kind of micrometer.",
            name=name,
            size=Qty(size, "size"),
            measured=Qty(measured_mm, "size"),
        ),
        verdict=Verdict.MAYBE,
        assumptions=assumptions,
    )


@dataclass(frozen=True, kw_only=True)
class Bias(Result):
    """What the bar adds to its setting.

    ``mean_mm`` is the best estimate for the next cut and ``u_mean_mm`` its standard
    uncertainty; ``spread_mm`` the standard deviation from cut to cut; ``u_next_mm`` the
    standard uncertainty of one further cut; ``half_mm`` half the 95 % prediction
    interval, from Student's t with ``dof`` degrees of freedom (None where the spread is
    taken as known, which is the normal distribution). ``pairs`` of this job,
    ``past_pairs`` from ``past_jobs`` earlier ones. ``weight`` (0..1) is how far the job's
    own pairs decide. ``known`` is False before any pair exists: then a trial cut is due.
    """

    mean_mm: float
    u_mean_mm: float
    spread_mm: float
    u_next_mm: float
    half_mm: float
    dof: float | None
    pairs: int
    past_pairs: int
    past_jobs: int
    weight: float
    known: bool

    def chance_above(self, excess_mm: float) -> float:
        """Probability that the next cut comes out more than ``excess_mm`` above what was aimed at."""
        return 1.0 - student.cdf(excess_mm / self.u_next_mm, math.inf if self.dof is None else self.dof)


def bias_by_record(pairs: Sequence[Pair], found: Predicted, rests_on: Basis) -> Bias:
    """The bias by the machine's record (:func:`logic.machine_record.bar_model`) and this job's ``pairs``.

    ``found`` is the prediction for the next cut, ``rests_on`` the jobs it rests on.
    """
    own = _biases(pairs)
    variance = found.u_next**2
    return Bias(
        key="cut.bias",
        line=L(
            "The bar cuts {bias} against its setting; the next cut falls within {half} of that, 19 times in 20.",
            bias=Qty(found.mean, "deviation"),
            half=Qty(found.half, "diff"),
        ),
        value=Qty(found.mean, "deviation", found.half / 2.0),
        confidence=CONFIDENCE,
        why=(*_own_said(own), *_record_said(rests_on, found.weight if own else None)),
        figures=(
            Figure(
                "mean", L("The bar's error"), Qty(found.mean, "deviation", student.half_of_95(found.u_mean, found.dof))
            ),
            Figure("spread", L("Spread from cut to cut"), Qty(found.spread, "fine")),
            Figure("half", L("Next cut within, 95 %"), Qty(found.half, "diff")),
        ),
        assumptions=(
            Assumption(L("The next cut is taken like the logged ones: same feed, like depth, same edge.")),
            Assumption(L("The bar is as it was: no other insert grade, no knock, the same base."), "own history"),
        ),
        influences=(
            Influence(L("Spread from cut to cut"), min(1.0, found.spread**2 / variance)),
            Influence(L("The average ±"), max(0.0, 1.0 - found.spread**2 / variance)),
        ),
        mean_mm=found.mean,
        u_mean_mm=found.u_mean,
        spread_mm=found.spread,
        u_next_mm=found.u_next,
        half_mm=found.half,
        dof=found.dof,
        pairs=len(own),
        past_pairs=rests_on.values,
        past_jobs=rests_on.jobs,
        weight=found.weight,
        known=True,
    )


def _own_said(own: Sequence[float]) -> tuple[Line, ...]:
    if not own:
        return ()
    return (
        L(
            "Measured cuts of this job: {n}; the bar's error on average {bias}.",
            n=len(own),
            bias=Qty(student.sample(own).mean, "deviation"),
        ),
    )


def _record_said(rests_on: Basis, weight: float | None) -> tuple[Line, ...]:
    said = from_record(rests_on)
    if weight is None:
        return (said,)
    return said, L("This job's own cuts decide {weight} of the figure.", weight=Qty(weight, "percent"))


def bias(pairs: Sequence[Pair], past: Sequence[Sequence[Pair]] = (), *, resolution_mm: float = 0.0) -> Bias:
    """Learn the bar's bias from this job's ``pairs`` and the machine's ``past`` jobs.

    Method. The spread from cut to cut is pooled over all jobs and with ASSUMED_SPREAD_MM, which
    counts as ASSUMED_DOF degrees of freedom (the conjugate prior of a variance): two cuts that
    agree by luck promise nothing, many decide alone. The edge wears and the level with it: the
    straight line through this job's cuts is carried on to the next one, its slope held to
    ASSUMED_DRIFT times the spread as far as the cuts do not say otherwise (:func:`logic.bar_bias.estimate`).
    With this job's pairs alone one further cut lies within t · s · √(1 + share) of that, t at
    the pooled degrees of freedom. With history
    each job is taken to have its own level, normal about the machine's level; the spread from
    job to job comes from a one-way analysis of variance, pooled with ASSUMED_BETWEEN_MM in
    the same way; this job's level is the mean of its own pairs drawn toward the machine's
    level, the more so the fewer pairs it has (weights by inverse variance). ``resolution_mm``
    is the step of the gauge: the spread is never taken to be smaller than that step allows
    (step / √12), nor below a tenth of a micrometre. Where nothing but an assumed spread
    stands behind it, the result says so.
    """
    own, before = _biases(pairs), [job for job in map(_biases, past) if job]
    if not own and not before:
        return _unknown_bar()
    e = estimate(own, before, least_spread_mm=max(resolution_mm / math.sqrt(12.0), 1e-4))
    half = half_interval_mm(e.u_next_mm, e.dof)
    variance = e.u_next_mm**2
    return Bias(
        key="cut.bias",
        line=L(
            "The bar cuts {bias} against its setting; the next cut falls within {half} of that, 19 times in 20.",
            bias=Qty(e.mean_mm, "deviation"),
            half=Qty(half, "diff"),
        ),
        value=Qty(e.mean_mm, "deviation", half / 2.0),
        confidence=CONFIDENCE,
        why=_learned_said(own, before, e),
        figures=(
            Figure("mean", L("The bar's error"), Qty(e.mean_mm, "deviation", student.half_of_95(e.u_mean_mm, e.dof))),
            Figure("spread", L("Spread from cut to cut"), Qty(e.spread_mm, "fine")),
            Figure("half", L("Next cut within, 95 %"), Qty(half, "diff")),
        ),
        assumptions=_stand_ins_said(e, has_past=bool(before)),
        influences=(
            Influence(L("Spread from cut to cut"), e.spread_mm**2 / variance),
            Influence(L("The average ±"), 1.0 - e.spread_mm**2 / variance),
        ),
        mean_mm=e.mean_mm,
        u_mean_mm=e.u_mean_mm,
        spread_mm=e.spread_mm,
        u_next_mm=e.u_next_mm,
        half_mm=half,
        dof=e.dof if math.isfinite(e.dof) else None,
        pairs=len(own),
        past_pairs=sum(len(job) for job in before),
        past_jobs=len(before),
        weight=e.weight,
        known=True,
    )


def _biases(pairs: Sequence[Pair]) -> list[float]:
    return [p.bias_mm for p in pairs if p.kept]


def _unknown_bar() -> Bias:
    """What is known of a bar that no cut has been logged with."""
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
        half_mm=half_interval_mm(u_next, math.inf),
        dof=None,
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


def _learned_said(own: Sequence[float], before: Sequence[Sequence[float]], e: Estimate) -> tuple[Line, ...]:
    """What the bias was learned from."""
    why: list[Line] = []
    if own:
        why.append(
            L(
                "Measured cuts of this job: {n}; the bar's error on average {bias}.",
                n=len(own),
                bias=Qty(student.sample(own).mean, "deviation"),
            )
        )
    if before:
        why.append(
            L(
                "Measured cuts of this bar before: {n}, in earlier jobs: {jobs}. This job's own cuts decide {weight} of the figure.",
                n=sum(len(job) for job in before),
                jobs=len(before),
                weight=Qty(e.weight, "percent"),
            )
        )
    return tuple(why)


def _stand_ins_said(e: Estimate, *, has_past: bool) -> tuple[Assumption, ...]:
    """What is taken for granted, and which spread stands in from common practice."""
    assumptions = [
        Assumption(L("The next cut is taken like the logged ones: same feed, like depth, same edge.")),
        Assumption(
            L(
                "As the edge wears, a cut may come out {d} off the one before it.",
                d=Qty(ASSUMED_DRIFT * e.spread_mm, "fine"),
            )
        ),
    ]
    if e.assumed_spread:
        assumptions.append(
            Assumption(
                L(
                    "Spread from cut to cut taken as {s}, until two cuts of one job are logged.",
                    s=Qty(ASSUMED_SPREAD_MM, "diff"),
                )
            )
        )
    if has_past and e.assumed_between:
        assumptions.append(
            Assumption(
                L(
                    "Spread from job to job taken as {s}, until two earlier jobs are logged.",
                    s=Qty(ASSUMED_BETWEEN_MM, "diff"),
                )
            )
        )
    return tuple(assumptions)


#: What is expected of a kept pair, by its number, from those before it and the machine's record.
Expected = Callable[[int], Predicted]


def slipped(
    pairs: Sequence[Pair], past: Sequence[Sequence[Pair]] = (), expected: Expected | None = None
) -> Result | None:
    """Whether a kept pair lies so far from the ones before it that the tip may have slipped.

    It stays said, however many good cuts follow, until the pair is struck out or somebody says that it
    counts. A bias is compared with the 99 % prediction interval from the pairs before it
    (and the machine's history, or its record where ``expected`` is given). None when there is nothing before it, or
    no reason for doubt.
    """
    before = [job for job in map(_biases, past) if job]
    flagged = _first_apart([p for p in pairs if p.kept], before, expected)
    if flagged is None:
        return None
    pair, found = flagged
    return Result(
        key="cut.slip",
        line=L(
            "{name} came out {off} away from what the earlier cuts led to expect. The tip may have slipped: "
            "check its clamp, set it again and measure again.",
            name=pair.name,
            off=Qty(found.off_mm, "deviation"),
        ),
        value=Qty(found.off_mm, "deviation"),
        verdict=Verdict.MAYBE,
        confidence=SLIP_CONFIDENCE,
        why=(
            L("Up to {limit} either way would have been ordinary.", limit=Qty(found.limit_mm, "diff")),
            L("A misread gauge, a warm bore, swarf under the micrometer or a chipped edge do the same."),
        ),
        assumptions=(
            Assumption(
                LN(
                    "Cuts of one bar spread by {s}; that counts as much as one further cut.",
                    "Cuts of one bar spread by {s}; that counts as much as {n} further cuts.",
                    ASSUMED_DOF,
                    s=Qty(ASSUMED_SPREAD_MM, "diff"),
                )
            ),
        ),
        cautions=(
            Caution(
                "cut_slip",
                L("Do not take the next pass until the reason is found. Leave the pair out if the cut was at fault."),
            ),
        ),
    )


def _first_apart(
    kept: Sequence[Pair], past: Sequence[Sequence[float]], expected: Expected | None
) -> tuple[Pair, Slip] | None:
    """The first pair that nobody has settled and that is apart from the pairs before it."""
    for i, pair in enumerate(kept):
        earlier = [p.bias_mm for p in kept[:i]]
        if pair.settled or not (earlier or past or expected):
            continue
        found = slip(pair.bias_mm, earlier, past) if expected is None else _slip(pair.bias_mm, expected(i))
        if found.is_doubtful:
            return pair, found
    return None


def _slip(bias_mm: float, found: Predicted) -> Slip:
    """The last bias against what was expected of it, with its 99 % interval."""
    return Slip(off_mm=bias_mm - found.mean, limit_mm=student.two_sided(SLIP_CONFIDENCE, found.dof) * found.u_next)


def misset(
    set_mm: float, learned: Bias, *, bored_mm: float, present_mm: float | None, name: Line | str
) -> Result | None:
    """Whether a setting logged before its cut would cut over the bored size, or nothing at all; None where neither.

    ``set_mm`` is the setting as a diameter, ``bored_mm`` the size the bar may bore to and ``present_mm`` the bore as
    it is, all as the gauge shows them now. Half a thou over the bored size is left to the hone.
    """
    comes = set_mm + learned.mean_mm
    said = {"name": name, "set": Qty(set_mm, "size"), "comes": Qty(comes, "size"), "bored": Qty(bored_mm, "size")}
    if comes > bored_mm + OVER_BORED_MM:
        return Result(
            key="cut.over",
            line=L(
                "Stop. {name}: set to {set} this cuts {over} too large.", over=Qty(comes - bored_mm, "diff"), **said
            ),
            value=Qty(comes - bored_mm, "diff"),
            verdict=Verdict.STOP,
            why=(
                L("It would come out at {comes}; bored is {bored}.", **said),
                L("Read the micrometer again and correct the entry, or set the tip again, before you cut."),
            ),
            assumptions=learned.assumptions,
            cautions=(Caution("cut_over", L("Do not start this pass.")),),
        )
    if present_mm is not None and comes <= present_mm - OVER_BORED_MM:
        return Result(
            key="cut.nothing",
            line=L(
                "{name}: set to {set} this cuts nothing; the bore is {present}.",
                present=Qty(present_mm, "size"),
                **said,
            ),
            value=Qty(comes - present_mm, "deviation"),
            verdict=Verdict.MAYBE,
            why=(L("Read the micrometer again, and check which kind of micrometer it is."),),
            assumptions=learned.assumptions,
        )
    return None


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
        value=Qty(line.slope, "deviation", student.half_of_95(line.u_slope(), line.dof)),
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
    over = None if limit_mm is None else learned.chance_above(limit_mm - wanted_mm)
    why = _comes_out_said(learned, wanted_mm, cold_mm)
    verdict = Verdict.GO if learned.known else Verdict.MAYBE
    if limit_mm is not None and over is not None and over > 0.025:
        verdict = Verdict.MAYBE
        why.append(
            L(
                "The chance of coming out above {limit} is {chance}. Take a pass to {safe} first and measure.",
                limit=Qty(limit_mm, "size"),
                chance=Qty(over, "chance"),
                safe=Qty(limit_mm - learned.half_mm, "size"),
            )
        )
    unlike = _unlike_said(learned, cut_mm, usual_cut_mm)
    if unlike is not None:
        why.append(unlike)
    formula = L("M = (D − error + bar) / 2") if meter == BAR_TIP else ""
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
            Figure("wanted", L("Size wanted"), Qty(wanted_mm, "size", learned.half_mm / 2.0)),
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


def _comes_out_said(learned: Bias, wanted_mm: float, cold_mm: float | None) -> list[Line]:
    """Between what sizes the cut should come out, and what has been taken off for the bias."""
    low, high = wanted_mm - learned.half_mm, wanted_mm + learned.half_mm
    why = [
        L("It should come out between {low} and {high}, 19 times in 20.", low=Qty(low, "size"), high=Qty(high, "size"))
    ]
    if learned.known:
        why.append(L("The bar's error of {bias} is taken off.", bias=Qty(learned.mean_mm, "deviation")))
    else:
        why.append(L("The bar's error is not known yet, so none is taken off."))
    if cold_mm is not None and abs(cold_mm - wanted_mm) >= 0.0005:
        why.append(L("At the block's present temperature that stands for {cold} at 20 °C.", cold=Qty(cold_mm, "size")))
    return why


def _unlike_said(learned: Bias, cut_mm: float | None, usual_cut_mm: float | None) -> Line | None:
    """A warning of a pass much heavier or lighter than those the bias was learned from."""
    if cut_mm is None or not usual_cut_mm or not learned.known or 0.4 <= cut_mm / usual_cut_mm <= 2.5:
        return None
    return L(
        "The logged cuts took {usual}, this one takes {cut}: a tip under another load springs another way. Measure early.",
        usual=Qty(usual_cut_mm, "diff"),
        cut=Qty(cut_mm, "diff"),
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
            L("The difference is the bar's error; from then on the setting takes it into account."),
        ),
        figures=(
            Figure("reading", L("Micrometer reading"), Qty(reading, "size"), formula=formula),
            Figure("depth", L("Depth of the trial cut"), Qty(depth_mm, "place")),
        ),
        assumptions=assumptions,
    )
