"""Can this gauge decide these limits? Asked before the first reading.

A typical good bore is put before the gauge: straight and round, its size off by a part of
what is allowed. If even that bore would not be called in, measuring is work for nothing. More
readings at a place shrink what varies from reading to reading, not the dial's division and
not what all readings share (JCGM 106:2012, 8.2: the ratio of tolerance to uncertainty; the
risks over all bores 9.5). How well a finer gauge repeats is common practice: within its
own division.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from .bore_prior import FINISHING, Process
from .conformance import CONFIDENCE, BoreLimits, Errors, Spot, chance_in, guard_band
from .result import Assumption, Figure, Result, Verdict
from .risks import Risks, global_risks
from .say import LN, L, Line, Qty

__all__ = ["USUAL_LIMIT_MM", "Capability", "Gauging", "capability", "usual_limit_mm"]

#: Readings at a place that are worth asking for (common practice).
_READINGS = (1, 2, 3, 4, 6)
#: Divisions of bore gauges in use, mm: half a thou, 0.01 mm, a tenth of a thou, 2 µm, 1 µm, half a micrometre.
_DIVISIONS_MM = (0.0127, 0.01, 0.00254, 0.002, 0.001, 0.0005)
#: How far a typical good bore is off, as a part of what is allowed (common practice).
_TYPICAL = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauging:
    """A gauge on one day, mm: its division, how a reading repeats (one standard deviation), and the standard
    uncertainty of what all readings share besides the division at the zero (master, temperatures)."""

    division_mm: float
    repeat_mm: float
    shared_mm: float

    @property
    def errors(self) -> Errors:
        step = self.division_mm / math.sqrt(12.0)
        return Errors(repeat_mm=self.repeat_mm, fixed_mm=step, shared_mm=math.hypot(self.shared_mm, step))

    def finer(self, division_mm: float) -> Gauging:
        """The same day with a gauge of a smaller division."""
        return Gauging(division_mm=division_mm, repeat_mm=min(self.repeat_mm, division_mm), shared_mm=self.shared_mm)


@dataclass(frozen=True, kw_only=True)
class Capability(Result):
    """Whether the gauge decides: ``readings`` needed at each place (None: no number does) and, where it cannot,
    ``division_mm`` of a gauge that could (None: no finer dial would do either)."""

    readings: int | None
    division_mm: float | None


def _needed(
    places: Sequence[Spot], limits: BoreLimits, target_mm: float, day: Gauging, confidence: float, made: Process
) -> int | None:
    """How many readings a place it takes until a typical good bore is called in."""
    over = _TYPICAL * min(limits.upper_mm - target_mm, made.level_mm)
    under = _TYPICAL * min(target_mm - limits.lower_mm, made.level_mm)
    off = over if limits.upper_mm - target_mm <= target_mm - limits.lower_mm else -under
    for n in _READINGS:
        spots = [s._replace(d_mm=target_mm + off, n=n) for s in places]
        if chance_in(spots, limits, target_mm=target_mm, errors=day.errors, process=made) >= confidence:
            return n
    return None


@lru_cache(maxsize=64)  # the same for every cylinder, and again in another state of the job
def _over_all(limits: BoreLimits, target_mm: float, errors: Errors, confidence: float, made: Process) -> Risks | None:
    """The risks over all bores of accepting a size by one reading inside the guard band; None where nothing is left."""
    u = math.hypot(errors.place_mm(1), errors.shared_mm)
    low, high = limits.lower_mm - target_mm, limits.upper_mm - target_mm
    g = guard_band(u, confidence)
    if not low + g < high - g:
        return None
    levels = ((made.level_mm, 1.0 - made.wild_share), (made.wild_mm, made.wild_share))

    def density(x: float) -> float:
        return math.fsum(w * math.exp(-0.5 * (x / s) ** 2) / (s * math.sqrt(2.0 * math.pi)) for s, w in levels)

    reach = 5.0 * made.wild_mm
    return global_risks(density, (-reach, reach), u, (low, high), (low + g, high - g))


#: What a finished bore may be off its size, out of round or tapered where no maker's limit is known: half a thou
#: with a gauge that can tell, and never more than a thou (common practice, no source).
USUAL_LIMIT_MM, WIDEST_USUAL_MM = 0.0127, 0.0254
#: A limit is worth asking for from this many standard uncertainties on: three, a guard band at each end
#: (ISO 14253-1 takes two from each side). Rounded up to a tenth of a thou.
_LIMIT_OVER_U, _LIMIT_STEP_MM = 3.0, 0.00254


def usual_limit_mm(u_mm: float) -> float:
    """The limit to take where none is stated, for a gauge whose reading has the standard uncertainty ``u_mm``.

    Half a thou where the gauge can decide that, else the least that it can, up to a thou:
    a limit finer than the gauge can only end in "too close to call". Raises ValueError for
    an uncertainty below zero.
    """
    if not u_mm >= 0:
        raise ValueError("an uncertainty is not below zero")
    able = math.ceil(_LIMIT_OVER_U * u_mm / _LIMIT_STEP_MM - 1e-9) * _LIMIT_STEP_MM
    return min(WIDEST_USUAL_MM, max(USUAL_LIMIT_MM, able))


def capability(
    places: Sequence[Spot],
    limits: BoreLimits,
    *,
    target_mm: float,
    gauging: Gauging,
    confidence: float = CONFIDENCE,
    process: Process = FINISHING,
) -> Capability:
    """Whether a gauge can decide limits, how many readings that takes, or which gauge would do.

    ``places`` are the places that will be read (their diameters do not matter); at least one.
    """
    if not places:
        raise ValueError("no place to read")
    needed = _needed(places, limits, target_mm, gauging, confidence, process)
    other = None
    if needed is None:
        finer = (d for d in _DIVISIONS_MM if d < 0.99 * gauging.division_mm)
        days = ((d, gauging.finer(d)) for d in finer)
        other = next(
            (d for d, day in days if (_needed(places, limits, target_mm, day, confidence, process) or 9) <= 2), None
        )
    u = math.hypot(gauging.errors.place_mm(1), gauging.errors.shared_mm)
    allowed = limits.upper_mm - limits.lower_mm
    return Capability(
        key="final.capability",
        line=_line(needed, other),
        value=Qty(2.0 * u, "fine"),
        verdict=Verdict.GO if needed == 1 else Verdict.MAYBE,
        why=_why(needed, 2.0 * u, allowed),
        figures=(
            Figure("expanded", L("One reading is good to ±, 95 %"), Qty(2.0 * u, "fine")),
            Figure("allowed", L("Allowed from smallest to largest"), Qty(allowed, "fine")),
            *_risk_figures(_over_all(limits, target_mm, gauging.errors, confidence, process)),
        ),
        assumptions=(
            Assumption(L("A finer gauge repeats within its own division.")),
            Assumption(
                L(
                    "Judged on a good bore {off} off the size wanted.",
                    off=Qty(_TYPICAL * min(0.5 * allowed, process.level_mm), "fine"),
                )
            ),
        ),
        readings=needed,
        division_mm=other,
    )


def _line(needed: int | None, other: float | None) -> Line:
    if needed == 1:
        return L("This gauge can decide these limits with one reading a place.")
    if needed is not None:
        return LN(
            "Read every place {n} time: then this gauge can decide these limits.",
            "Read every place {n} times: then this gauge can decide these limits.",
            needed,
        )
    if other is not None:
        return L("This gauge cannot decide these limits; one read to {step} can.", step=Qty(other, "fine"))
    return L("No dial decides these limits today: master and temperatures are too uncertain.")


def _why(needed: int | None, expanded_mm: float, allowed_mm: float) -> tuple[Line, ...]:
    why = [
        L(
            "One reading is good to ±{u} (95 %); allowed are {allowed} in all.",
            u=Qty(expanded_mm, "fine"),
            allowed=Qty(allowed_mm, "fine"),
        )
    ]
    if needed != 1:
        why.append(L("Reading again at one place does not shrink the dial's step, nor the error of master and zero."))
    return tuple(why)


def _risk_figures(risks: Risks | None) -> tuple[Figure, ...]:
    if risks is None:
        return ()
    return (
        Figure("consumer", L("Bores passed that are out of limits, one reading"), Qty(risks.consumer, "chance")),
        Figure("producer", L("Good bores not passed, one reading"), Qty(risks.producer, "chance")),
    )
