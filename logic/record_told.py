"""The machines' records in words: what they rest on, what they say of the next bore, and what does not fit."""

from __future__ import annotations

import math

from .doubt import Doubt, Place
from .machine_record import Basis, Range
from .pooling import Predicted
from .result import Assumption, Caution, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = [
    "bar_doubt",
    "from_jobs",
    "from_record",
    "hone_doubt",
    "strokes",
    "strokes_left",
    "taper_doubt",
    "taper_left",
]

#: What is left more for the hone is rounded up to this, mm on diameter: half a thou (common practice).
_STEP_MM = 0.0127
#: A taper under this is not worth a word, mm (common practice).
_LEAST_TAPER_MM = 0.0025
#: Within what factor the stones go on cutting, 19 times in 20 (common practice, see :mod:`logic.hone_removal`).
_RATE_KEEPS = 1.4


def from_record(rests_on: Basis) -> Line:
    """What a figure rests on."""
    return LN(
        "From one bore of this machine since {since}.",
        "From {n} bores of this machine since {since}.",
        rests_on.bores,
        since=rests_on.since,
    )


def from_jobs(rests_on: Basis) -> Line:
    """The same of what goes by the person and not by a machine."""
    return LN(
        "From one bore of yours since {since}.",
        "From {n} bores of yours since {since}.",
        rests_on.bores,
        since=rests_on.since,
    )


def _switched() -> Line:
    return L("To go by this job alone, switch off “Earlier jobs of these machines” under Boring.")


# -- what does not fit -----------------------------------------------------------------------
def bar_doubt(key: str, off_mm: float, rests_on: Basis, about: tuple[Place, ...]) -> Doubt:
    """This job's cuts lie too far from what the bar did before."""
    return Doubt(
        key=key,
        line=LN(
            "The bar cuts {off} away from what it did in one bore since {since}.",
            "The bar cuts {off} away from what it did in {n} bores since {since}.",
            rests_on.bores,
            off=Qty(off_mm, "deviation"),
            since=rests_on.since,
        ),
        settle=L(
            "A new insert grade, a knock, dirt under the micrometer, a dressed base? Say what changed under Boring."
        ),
        about=about,
    )


def taper_doubt(key: str, now_mm: float, usual_mm: float, rests_on: Basis, about: tuple[Place, ...]) -> Doubt:
    """This job's bores are tapered otherwise than the bar left them before."""
    return Doubt(
        key=key,
        line=LN(
            "The bar leaves {now} taper, {usual} in one bore since {since}: top less bottom.",
            "The bar leaves {now} taper, {usual} in {n} bores since {since}: top less bottom.",
            rests_on.bores,
            now=Qty(now_mm, "deviation"),
            usual=Qty(usual_mm, "deviation"),
            since=rests_on.since,
        ),
        settle=L(
            "Dirt or a burr under the base, a knock, a blunt edge? Look under the base, then say what changed under Boring."
        ),
        about=about,
    )


def hone_doubt(key: str, times: float, grit: str, rests_on: Basis, about: tuple[Place, ...]) -> Doubt:
    """This job's removal lies too far from what the hone took off before."""
    return Doubt(
        key=key,
        line=LN(
            "The {grit} stones take off {times} times what they did in one bore since {since}.",
            "The {grit} stones take off {times} times what they did in {n} bores since {since}.",
            rests_on.bores,
            grit=grit,
            times=Qty(times, "times"),
            since=rests_on.since,
        ),
        settle=L("Other stones, another oil, another pressure? Say what changed under Honing."),
        about=about,
    )


# -- taper ---------------------------------------------------------------------------------------
def taper_left(found: Predicted, rests_on: Basis) -> Result | None:
    """What taper the bar leaves, and how much more to leave for the hone; None where it leaves none to speak of.

    ``found`` is the prediction of the next bore's taper (top less bottom), mm on diameter. The tight end decides:
    the hone has to open it by the whole taper before it cuts all over.
    """
    size = abs(found.mean)
    if size < max(_LEAST_TAPER_MM, 2.0 * found.u_mean):
        return None
    more = math.ceil(size / _STEP_MM - 1e-9) * _STEP_MM
    said = {"taper": Qty(size, "diff"), "more": Qty(more, "diff")}
    line = (
        L("This bar leaves {taper} taper, wider at the top: leave {more} more for the hone.", **said)
        if found.mean > 0.0
        else L("This bar leaves {taper} taper, wider at the bottom: leave {more} more for the hone.", **said)
    )
    return Result(
        key="record.taper",
        line=line,
        value=Qty(found.mean, "deviation", found.half / 2.0),
        why=(
            from_record(rests_on),
            L("The next bore's taper falls within {half} of that, 19 times in 20.", half=Qty(found.half, "diff")),
            _switched(),
        ),
        assumptions=(
            Assumption(L("The bar is as it was: no other insert grade, no knock, the same base."), "own history"),
        ),
    )


# -- strokes ---------------------------------------------------------------------------------------
def strokes_left(left_mm: float, record: Predicted, own: tuple[float, float] | None = None) -> Range:
    """Double strokes still to go for ``left_mm`` on diameter.

    ``record`` is the logarithm of the removal of one stroke by the hone's record, ``own`` what this bore's checks show:
    removal (mm) and its standard uncertainty. Both are weighed by inverse variance, the own one with
    what the stones may do from here on. Raises ValueError where there is nothing left.
    """
    if not left_mm > 0.0:
        raise ValueError("nothing is left to take off")
    mean, u = record.mean, record.u_next
    if own is not None and own[0] > 0.0:
        log_own, u_own = math.log(own[0]), math.hypot(own[1] / own[0], math.log(_RATE_KEEPS) / 2.0)
        weight = u**2 / (u**2 + u_own**2)
        mean, u = weight * log_own + (1.0 - weight) * mean, u * u_own / math.hypot(u, u_own)
    k = record.half / record.u_next
    return Range(*(left_mm / math.exp(mean + side * k * u) for side in (1.0, 0.0, -1.0)))


def strokes(left_mm: float, grit: str, found: Range, rests_on: Basis, *, per_minute: float, checked: bool) -> Result:
    """How many strokes, and how long, by the hone's record (and this bore's checks, where ``checked``)."""
    whole = [max(1, round(v)) for v in (found.low, found.likely, found.high)]
    time = [Qty(60.0 * v / per_minute, "duration") for v in (found.low, found.high)]
    return Result(
        key="record.strokes",
        line=L(
            "About {likely} double strokes with the {grit} stones, {low} to {high}: {short} to {long}.",
            likely=whole[1],
            low=whole[0],
            high=whole[2],
            grit=grit,
            short=time[0],
            long=time[1],
        ),
        value=Qty(whole[1], "count"),
        confidence=0.95,
        why=(
            from_record(rests_on),
            *((L("This bore's own checks are in it."),) if checked else ()),
            L("To take off: {left}.", left=Qty(left_mm, "fine")),
            _switched(),
        ),
        assumptions=(Assumption(L("The next strokes are made with the same stones, pressure, speed and oil.")),),
        cautions=(
            Caution(
                "hone_count",
                L("Measure as you hone, the more often the nearer to size."),
            ),
        ),
        verdict=Verdict.INFO,
    )
