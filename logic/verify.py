"""Is it in? Verdicts on a finished bore, from what was measured and what such bores are like.

A size near a limit may be in or out: the gauge cannot tell. So a thing is called in
only if it conforms with the wanted probability (95 % unless told otherwise), out only
if it fails with that probability, and "too close to call" in between (ISO 14253-1:2017;
conformance probability with a stated prior, JCGM 106:2012: :mod:`logic.conformance`).

For a whole bore every two-point diameter must lie within the limits (ISO 14405-1:
two-point size is what a diameter means unless something else is said), the spread at
each depth within the roundness limit, and the spread down each axis within the taper
limit. Errors that all readings share (master, temperature) move every diameter alike and
drop out of the spreads; a dial's division comes back at the same place however often it is
read. The verdict integrates over the true diameters: the readings' own largest less smallest
is too large on average.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from .bore import axis_name
from .bore_prior import FINISHING, Process
from .conformance import (
    CONFIDENCE,
    SUREST,
    BoreJudged,
    BoreLimits,
    Errors,
    Judged,
    Spot,
    bore_judged,
    decide,
    depth_means_mm,
    guard_band,
)
from .pictures import BoreSection
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = [
    "CONFIDENCE",
    "SUREST",
    "Aspect",
    "FinishedBore",
    "Spot",
    "decide",
    "depth_means_mm",
    "finished_bore",
    "guard_band",
    "section",
    "with_piston",
]

#: So many places are named in the first sentence; the rest are counted.
_NAMED = 3
#: What is judged, as it is called and in which kind of figure it is shown.
_ASPECTS: Mapping[str, tuple[Line, str]] = {
    "size": (L("Size"), "size"),
    "round": (L("Out of round"), "fine"),
    "taper": (L("Taper"), "fine"),
}


def _asked(confidence: float) -> Assumption:
    return Assumption(L("Pass or fail is said only when it is {p} sure.", p=Qty(confidence, "percent")), "ISO 14253-1")


class Aspect(NamedTuple):
    """One thing judged about a bore: its figure as read, what it likely is, limits, chance of being in, verdict,
    and where to measure again."""

    key: str
    name: Line
    value: Qty
    likely: Qty
    lower_mm: float | None
    upper_mm: float
    chance: float
    verdict: str
    again: tuple[Spot, ...]


@dataclass(frozen=True, kw_only=True)
class FinishedBore(Result):
    """The verdict on one bore. ``aspects`` are size, roundness and taper (as far as measured), ``chance``
    that all of them are in; ``again`` the places to measure again, most doubtful first; ``repeats`` how many more
    readings at each would settle it (None: no number would)."""

    cylinder: int
    aspects: tuple[Aspect, ...]
    chance: float
    again: tuple[Spot, ...] = ()
    repeats: int | None = None


def _place(spot: Spot) -> Line:
    return L("{depth} down on the {axis}", depth=Qty(spot.depth_mm, "place"), axis=axis_name(spot.axis))


def _places(spots: Sequence[Spot]) -> tuple[Line, ...]:
    return tuple(_place(s) for s in spots)


def section(found: FinishedBore, spots: Sequence[Spot], *, length_mm: float, at_least_mm: float = 0.0) -> BoreSection:
    """The finished bore cut lengthwise, against the size wanted; ``at_least_mm`` as in the picture."""
    target = found.figure("target").value
    return BoreSection(
        title=L("Cylinder {n}, finished", n=found.cylinder),
        text=L(
            "Largest {high}, smallest {low}; {target} wanted.",
            high=Qty(max(s.d_mm for s in spots), "size"),
            low=Qty(min(s.d_mm for s in spots), "size"),
            target=Qty(target, "size"),
        ),
        length_mm=max([length_mm, *(s.depth_mm for s in spots)]),
        unworn_mm=target,
        rows=tuple((s.depth_mm, s.axis, (s.d_mm - target) / 2) for s in spots),
        finished=True,
        at_least_mm=at_least_mm,
    )


def finished_bore(
    *,
    cylinder: int,
    spots: Sequence[Spot],
    target_mm: float,
    lower_mm: float,
    upper_mm: float,
    round_limit_mm: float,
    taper_limit_mm: float,
    u_own_mm: float,
    u_shared_mm: float,
    u_fixed_mm: float = 0.0,
    confidence: float = CONFIDENCE,
    limit_source: str = "common practice",
    sources: Sequence[Influence] = (),
    process: Process = FINISHING,
) -> FinishedBore:
    """Judge one finished bore from its final readings.

    ``spots`` are diameters at 20 °C; ``u_own_mm`` is the standard uncertainty of one
    reading from what varies when it is repeated (a mean of n has 1/√n of it), ``u_fixed_mm``
    from what comes back at the same place (a dial's division), ``u_shared_mm`` from what all
    share. ``process`` says what such bores are like. ``lower_mm`` to ``upper_mm`` are the limits of size,
    ``round_limit_mm`` that of largest less smallest at one depth, ``taper_limit_mm`` that
    of largest less smallest down one axis. ``sources`` are the shares of a reading's
    budget, to be shown (else just own and shared). Raises ValueError where there is no reading or
    a limit makes no sense.
    """
    limits = BoreLimits(lower_mm=lower_mm, upper_mm=upper_mm, round_mm=round_limit_mm, taper_mm=taper_limit_mm)
    _check_bore(spots, limits, target_mm, confidence)
    errors = Errors(repeat_mm=u_own_mm, fixed_mm=u_fixed_mm, shared_mm=u_shared_mm)
    found = bore_judged(spots, limits, target_mm=target_mm, errors=errors, confidence=confidence, process=process)
    mean = Qty(found.mean_mm, "size", found.u_mean_mm)
    aspects = tuple(_aspect(a) for a in found.aspects)
    return FinishedBore(
        key=f"final.{cylinder}",
        line=_line(cylinder, found, aspects, mean),
        value=mean,
        verdict=found.verdict,
        confidence=found.sure,
        why=_why(found, aspects, limits, target_mm),
        figures=_figures(aspects, mean, limits, target_mm),
        assumptions=(
            _asked(confidence),
            Assumption(L("A diameter is within limits if every two-point reading of it is."), "ISO 14405-1"),
            Assumption(
                L(
                    "Limits: {lower} to {upper}; {oor} out of round; {taper} of taper.",
                    lower=Qty(lower_mm, "size"),
                    upper=Qty(upper_mm, "size"),
                    oor=Qty(round_limit_mm, "fine"),
                    taper=Qty(taper_limit_mm, "fine"),
                ),
                limit_source,
            ),
            _likeness_said(process),
        ),
        influences=tuple(sources) or _influences(found.us_mm, u_shared_mm),
        cautions=_cautions(cylinder, found.by_depth, found.by_axis),
        cylinder=cylinder,
        aspects=aspects,
        chance=found.chance,
        again=found.again,
        repeats=found.repeats,
    )


def _likeness_said(process: Process) -> Assumption:
    """What finished bores are taken to be like before this one was read."""
    return Assumption(
        L(
            "Two in three finished bores come within {level} of the size wanted, {oval} of round and {taper} of taper.",
            level=Qty(process.level_mm, "fine"),
            oval=Qty(process.oval_mm, "fine"),
            taper=Qty(process.taper_mm, "fine"),
        ),
        process.source,
    )


def _check_bore(spots: Sequence[Spot], limits: BoreLimits, target_mm: float, confidence: float) -> None:
    if not 0.5 < confidence < 1.0:
        raise ValueError("confidence lies between 0.5 and 1")
    if not spots:
        raise ValueError("no reading yet")
    in_order = 0 < limits.lower_mm < limits.upper_mm and limits.lower_mm <= target_mm <= limits.upper_mm
    if not (in_order and limits.round_mm > 0 and limits.taper_mm > 0):
        raise ValueError("the limits must be above zero, in order, and hold the target")
    if not all(math.isfinite(s.d_mm) and s.n >= 1 for s in spots):
        raise ValueError("a reading must be a finite size")


def _aspect(a: Judged) -> Aspect:
    name, kind = _ASPECTS[a.key]
    return Aspect(
        key=a.key,
        name=name,
        value=Qty(a.value_mm, kind, a.u_mm),
        likely=Qty(a.likely_mm, kind),
        lower_mm=a.lower_mm,
        upper_mm=a.upper_mm,
        chance=a.chance,
        verdict=a.verdict,
        again=a.again,
    )


def _line(n: int, found: BoreJudged, aspects: Sequence[Aspect], mean: Qty) -> Line:
    said = {"n": n, "mean": mean}
    if found.verdict == Verdict.GO:
        names = tuple(a.name for a in aspects)
        return L(
            "Cylinder {n} is within limits, {p} sure: {mean}. Checked: {names}.",
            **said,
            p=Qty(found.sure or 0.0, "chance"),
            names=names,
        )
    if found.verdict == Verdict.STOP:
        names = tuple(a.name for a in aspects if a.verdict == Verdict.STOP)
        return L(
            "Cylinder {n} is out of limits, {p} sure: {names}.",
            **said,
            p=Qty(found.sure or 0.0, "chance"),
            names=names,
        )
    named = _places(found.again[:_NAMED])
    if len(found.again) > _NAMED:
        return LN(
            "Cylinder {n} is too close to call: measure again {places}, and {more} more place.",
            "Cylinder {n} is too close to call: measure again {places}, and {more} more places.",
            len(found.again) - _NAMED,
            **said,
            places=named,
            more=len(found.again) - _NAMED,
        )
    return L("Cylinder {n} is too close to call: measure again {places}.", **said, places=named)


def _why(found: BoreJudged, aspects: Sequence[Aspect], limits: BoreLimits, target_mm: float) -> tuple[Line, ...]:
    size = found.aspects[0]
    lines = [_aspect_said(a, limits) for a in aspects]
    if size.verdict == Verdict.STOP:
        lines.append(_size_missed_said(size.value_mm, limits, target_mm))
    if found.verdict == Verdict.MAYBE and found.repeats is None:
        lines.append(
            L(
                "Repeating will not settle it with this gauge: bring gauge, master and block to one temperature, or use a better master."
            )
        )
    elif found.verdict == Verdict.MAYBE and found.repeats is not None and found.repeats > 1:
        lines.append(
            LN(
                "About {n} reading in all at each place named would settle it.",
                "About {n} readings in all at each place named would settle it.",
                found.repeats,
            )
        )
    return tuple(lines)


def _aspect_said(a: Aspect, limits: BoreLimits) -> Line:
    """How one thing judged stands against its limit."""
    said: dict[str, Line | Qty] = {
        "name": a.name,
        "value": a.value,
        "likely": a.likely,
        "limit": Qty(a.upper_mm, "fine"),
        "p": Qty(a.chance, "chance"),
        "q": Qty(1.0 - a.chance, "chance"),
    }
    if a.key == "size":
        said |= {"lower": Qty(limits.lower_mm, "size"), "upper": Qty(limits.upper_mm, "size")}
        templates = {
            Verdict.GO: L("{name}: nearest to a limit {value}, within {lower} to {upper}, {p} sure.", **said),
            Verdict.STOP: L("{name}: {value} is outside {lower} to {upper}, {q} sure.", **said),
            Verdict.MAYBE: L(
                "{name}: {value} is too near a limit ({lower} to {upper}); {p} likely to be within.", **said
            ),
        }
    else:
        templates = {
            Verdict.GO: L("{name}: {value} read, {likely} likely, within {limit}, {p} sure.", **said),
            Verdict.STOP: L("{name}: {value} read, {likely} likely, more than {limit}, {q} sure.", **said),
            Verdict.MAYBE: L(
                "{name}: {value} read, {likely} likely, too near the limit {limit}; {p} likely to be within.", **said
            ),
        }
    return templates[a.verdict]


def _size_missed_said(size_mm: float, limits: BoreLimits, target_mm: float) -> Line:
    """What to do about a size that is out."""
    if size_mm < limits.lower_mm:
        return L("There is still {stock} to hone at the tightest place.", stock=Qty(target_mm - size_mm, "fine"))
    return L(
        "It is {over} over the largest size allowed: fit a larger piston, or go to the next step.",
        over=Qty(size_mm - limits.upper_mm, "fine"),
    )


def _figures(aspects: Sequence[Aspect], mean: Qty, limits: BoreLimits, target_mm: float) -> tuple[Figure, ...]:
    by_key = {a.key: a for a in aspects}
    figures = [
        Figure("mean", L("Mean diameter at 20 °C"), mean),
        Figure("target", L("Finished size wanted"), Qty(target_mm, "size")),
        Figure("lower", L("Smallest size allowed"), Qty(limits.lower_mm, "size")),
        Figure("upper", L("Largest size allowed"), Qty(limits.upper_mm, "size")),
        Figure("nearest", L("Reading nearest to a limit"), by_key["size"].value),
        Figure("size_chance", L("Chance that size is within limits"), Qty(by_key["size"].chance, "chance")),
    ]
    if "round" in by_key:
        figures += [
            Figure("round", L("Out of round, worst depth"), by_key["round"].value),
            Figure("round_limit", L("Out of round allowed"), Qty(limits.round_mm, "fine")),
            Figure("round_chance", L("Chance that roundness is within limits"), Qty(by_key["round"].chance, "chance")),
        ]
    if "taper" in by_key:
        figures += [
            Figure("taper", L("Taper, worst axis"), by_key["taper"].value),
            Figure("taper_limit", L("Taper allowed"), Qty(limits.taper_mm, "fine")),
            Figure("taper_chance", L("Chance that taper is within limits"), Qty(by_key["taper"].chance, "chance")),
        ]
    return tuple(figures)


def _influences(us: Sequence[float], u_shared: float) -> tuple[Influence, ...]:
    own, shared = max(us) ** 2, u_shared**2
    if own + shared == 0.0:
        return ()
    parts = (
        Influence(L("each reading (repeatability, division)"), own / (own + shared)),
        Influence(L("what all readings share (master, zero, temperatures)"), shared / (own + shared)),
    )
    return tuple(sorted(parts, key=lambda i: -i.share))


def with_piston(found: FinishedBore, piston_mm: float, u_piston_mm: float = 0.0) -> FinishedBore:
    """The same verdict with the clearance to this bore's piston beside it.

    ``piston_mm`` is its gauging-point size at 20 °C, ``u_piston_mm`` the standard
    uncertainty of that; bore and piston were measured with different instruments.
    """
    mean = found.figure("mean")
    clearance = Qty(mean.value - piston_mm, "fine", math.hypot(mean.u or 0.0, u_piston_mm) or None)
    line = L(
        "With its piston of {piston}, the mean clearance is {clearance}.",
        piston=Qty(piston_mm, "size"),
        clearance=clearance,
    )
    figures = (*found.figures, Figure("clearance", L("Mean clearance to its piston"), clearance))
    return replace(found, why=(*found.why, line), figures=figures)


def _cautions(
    cylinder: int, by_depth: Sequence[Sequence[Spot]], by_axis: Sequence[Sequence[Spot]]
) -> tuple[Caution, ...]:
    if max(len(line) for line in by_depth) > 1 and max(len(line) for line in by_axis) > 2:
        return ()
    return (
        Caution(
            f"final.few.{cylinder}",
            L(
                "Cylinder {n}: read at three depths or more and on two axes or more before the bore is called finished.",
                n=cylinder,
            ),
        ),
    )
