"""The finish of a honed bore: what the rings want, and whether a measured finish will do.

Ra is the mean roughness; Rpk, Rk and Rvk describe a plateau finish: the peaks that wear
off first, the core that carries, and the valleys that hold oil (ISO 13565-2:1996,
carried into ISO 21920-2:2021). All in micrometres. The ring maker's figures come first;
the ones here are defaults from common practice, written down from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .result import Assumption, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import chance_between

__all__ = ["PARAMETERS", "RINGS", "Finish", "Limits", "Ring", "accept", "implied_ra_um", "limits_for", "target"]

#: Where the peaks end and where the valleys begin in the profile of a honed bore, as shares of its length, least and most.
PEAKS, VALLEYS_FROM = (0.04, 0.15), (0.70, 0.92)


@dataclass(frozen=True, slots=True)
class Limits:
    """From ``low_um`` to ``high_um``; infinite where a side is open."""

    low_um: float
    high_um: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low_um < self.high_um:
            raise ValueError("limits of a roughness rise from zero or more")


#: What may be measured, and how it is said.
PARAMETERS: Mapping[str, Line] = {
    "ra": L("Mean roughness, Ra"),
    "rpk": L("Peaks, Rpk"),
    "rk": L("Core, Rk"),
    "rvk": L("Valleys, Rvk"),
}


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring's running face: its name, the finish it wants and the grits that usually lead there."""

    name: Line
    limits: Mapping[str, Limits]
    grits: tuple[int, ...]


#: By ring face. From memory, common practice: a table to start from, not a specification.
RINGS: Mapping[str, Ring] = {
    "iron": Ring(
        L("plain cast iron"),
        {"ra": Limits(0.40, 0.90), "rpk": Limits(0.0, 0.50), "rk": Limits(0.8, 1.8), "rvk": Limits(0.8, 2.5)},
        (150, 220),
    ),
    "chrome": Ring(
        L("chromium plated"),
        {"ra": Limits(0.35, 0.80), "rpk": Limits(0.0, 0.45), "rk": Limits(0.8, 1.6), "rvk": Limits(0.8, 2.4)},
        (150, 220),
    ),
    "moly": Ring(
        L("molybdenum faced"),
        {"ra": Limits(0.25, 0.55), "rpk": Limits(0.0, 0.35), "rk": Limits(0.5, 1.2), "rvk": Limits(0.7, 2.0)},
        (220, 280),
    ),
    "nitrided": Ring(
        L("nitrided steel"),
        {"ra": Limits(0.15, 0.45), "rpk": Limits(0.0, 0.30), "rk": Limits(0.4, 1.0), "rvk": Limits(0.7, 1.8)},
        (220, 280, 400),
    ),
}


def target(face: str) -> Result:
    """What finish rings of a face (a key of RINGS) want. Raises KeyError for another."""
    ring = RINGS[face]
    figures = []
    for key, limits in ring.limits.items():
        if limits.low_um > 0.0:
            figures.append(
                Figure(f"{key}_low", L("{what}, at least", what=PARAMETERS[key]), Qty(limits.low_um, "rough"))
            )
        figures.append(Figure(f"{key}_high", L("{what}, at most", what=PARAMETERS[key]), Qty(limits.high_um, "rough")))
    ra = ring.limits["ra"]
    return Result(
        key="finish.target",
        line=L(
            "Rings with a face of this kind ({face}): finish Ra {low} to {high}, usually grits {grits}.",
            face=ring.name,
            low=Qty(ra.low_um, "rough"),
            high=Qty(ra.high_um, "rough"),
            grits=ring.grits,
        ),
        why=(L("The ring maker's figures come first; enter them if you have them."),),
        figures=tuple(figures),
        assumptions=(Assumption(L("Finish by ring face as commonly asked for."), "from memory"),),
    )


def limits_for(face: str, stated_um: Mapping[str, tuple[float | None, float | None]]) -> dict[str, Limits]:
    """The limits in force: the ring maker's ``stated_um`` (low, high; None where not given), else those of the face.

    A stated pair that does not rise gives way to the face's.
    """
    out = {}
    for key, usual in RINGS[face].limits.items():
        low, high = stated_um.get(key, (None, None))
        if low is None:
            low = 0.0 if high is not None and high <= usual.low_um else usual.low_um
        if high is None:
            high = usual.high_um if usual.high_um > low else math.inf
        out[key] = Limits(low, high) if low < high else usual
    return out


@dataclass(frozen=True, kw_only=True)
class Finish(Result):
    """Acceptance of a finish: the probability, by parameter, that it lies inside its limits."""

    chances: Mapping[str, float]
    worst: str


def _missing(parameter: str, value: Qty, limit: Qty, *, high: bool) -> Line:
    """How a parameter misses its limits, and what to do about it."""
    v = {"value": value, "limit": limit}
    if high:
        return {
            "ra": L(
                "Too rough: {value} against at most {limit}. Go on with a finer grit, if there is stock for it.", **v
            ),
            "rpk": L(
                "Peaks too high: {value} against at most {limit}. A few strokes with a finer stone or a plateau brush take them off.",
                **v,
            ),
            "rk": L(
                "Core too rough: {value} against at most {limit}. Go on with a finer grit, if there is stock for it.",
                **v,
            ),
            "rvk": L(
                "Valleys too deep: {value} against at most {limit}. Go on with a finer grit, if there is stock for it.",
                **v,
            ),
        }[parameter]
    return {
        "ra": L(
            "Too smooth: {value} against at least {limit}. The stones may be glazed; dress them or use a coarser grit.",
            **v,
        ),
        "rpk": L(
            "Peaks too low: {value} against at least {limit}. Nothing needs doing for most rings; ask the ring maker.",
            **v,
        ),
        "rk": L(
            "Core too smooth: {value} against at least {limit}. The stones may be glazed; dress them or use a coarser grit.",
            **v,
        ),
        "rvk": L(
            "Valleys too shallow to hold oil: {value} against at least {limit}. The grit before must cut deeper.", **v
        ),
    }[parameter]


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishJudged:
    """A measured finish in numbers: ``chances`` by parameter to lie inside its limits, and the ``worst`` parameter.

    ``near_um`` is that parameter's nearer limit, ``high`` whether that is the upper one.
    """

    chances: Mapping[str, float]
    worst: str
    near_um: float
    high: bool

    @property
    def chance(self) -> float:
        """The chance of the worst parameter."""
        return self.chances[self.worst]


def _log(limit_um: float) -> float:
    return math.log(limit_um) if limit_um > 0 else -math.inf


def judged(measured_um: Mapping[str, float], limits: Mapping[str, Limits], u_relative: float) -> FinishJudged | None:
    """The chance of each parameter to lie inside its limits; see :func:`accept` for the terms and errors."""
    known = [k for k in PARAMETERS if k in measured_um and k in limits]
    if not known:
        return None
    if not all(math.isfinite(measured_um[k]) and measured_um[k] > 0.0 for k in known):
        raise ValueError("a roughness is above zero")
    # a share of what is measured is what is uncertain: normal in the logarithm
    chances = {
        k: chance_between(math.log(measured_um[k]), u_relative, _log(limits[k].low_um), _log(limits[k].high_um))
        for k in known
    }
    worst = min(known, key=lambda k: chances[k])
    value, band = measured_um[worst], limits[worst]
    # how the finish misses, where it does: by the nearer of the two limits
    high = band.high_um - value < value - band.low_um
    return FinishJudged(chances=chances, worst=worst, near_um=band.high_um if high else band.low_um, high=high)


def _wanted(parameter: str, value: Qty, band: Limits) -> Line:
    """One parameter against its limits, the open one left out."""
    said = {"what": PARAMETERS[parameter], "value": value, "low": Qty(band.low_um, "rough")}
    if math.isinf(band.high_um):
        return L("{what}: {value}, from {low} up is wanted.", **said)
    return L("{what}: {value}, from {low} to {high} is wanted.", **said, high=Qty(band.high_um, "rough"))


def implied_ra_um(rpk_um: float, rk_um: float, rvk_um: float, *, mr1: float, mr2: float) -> float:
    """The mean roughness of a profile that has these peaks, core and valleys, in micrometres.

    ``mr1`` and ``mr2`` are the shares of the length at which the peaks end and the valleys begin. By the straight lines
    that define the three (ISO 13565-2:1996, 3 and 4): in each part the heights are spread evenly over it.
    """
    half = rk_um / 2.0
    parts = ((mr1, half, half + rpk_um), (mr2 - mr1, -half, half), (1.0 - mr2, -half - rvk_um, -half))
    mean = math.fsum(share * (low + high) / 2.0 for share, low, high in parts)
    return math.fsum(share * _mean_distance(low, high, mean) for share, low, high in parts)


def _mean_distance(low: float, high: float, x: float) -> float:
    """How far from ``x`` heights lie in the mean that are spread evenly from ``low`` to ``high``."""
    if low < x < high:
        return ((x - low) ** 2 + (high - x) ** 2) / (2.0 * (high - low))
    return abs((low + high) / 2.0 - x)


def accept(
    measured_um: Mapping[str, float],
    limits: Mapping[str, Limits],
    *,
    u_relative: float = 0.06,
    confidence: float = 0.95,
) -> Finish | None:
    """Judge a measured finish. None when nothing was measured that has limits.

    ``measured_um`` by parameter ("ra", "rpk", "rk", "rvk"), each with a relative standard
    uncertainty ``u_relative`` (instrument, stylus and the spread over the bore; common
    practice). Guard-banded as in ISO 14253-1 and JCGM 106: accepted where every
    parameter lies inside with the wanted ``confidence``, refused where one lies outside
    with it, else "measure again". Raises ValueError for a roughness that is not above zero.
    """
    found = judged(measured_um, limits, u_relative)
    if found is None:
        return None
    roughness = {k: Qty(measured_um[k], "rough", u_relative * measured_um[k]) for k in found.chances}
    value = roughness[found.worst]
    if found.chance >= confidence:
        verdict, sure = Verdict.GO, found.chance
        line = L("The finish will do.")
    elif found.chance <= 1.0 - confidence:
        verdict, sure = Verdict.STOP, 1.0 - found.chance
        line = _missing(found.worst, value, Qty(found.near_um, "rough"), high=found.high)
    else:
        verdict, sure = Verdict.MAYBE, max(found.chance, 1.0 - found.chance)
        line = L("Too close to call: measure {what} again at three more places.", what=PARAMETERS[found.worst])
    return Finish(
        key="finish.accept",
        line=line,
        value=value,
        verdict=verdict,
        confidence=sure,
        why=tuple(_wanted(k, q, limits[k]) for k, q in roughness.items()),
        figures=tuple(Figure(k, PARAMETERS[k], q) for k, q in roughness.items()),
        assumptions=(Assumption(L("A measured roughness is good to about {u}.", u=Qty(2 * u_relative, "percent"))),),
        influences=(Influence(L("The spread of the finish over the bore"), 1.0),),
        chances=found.chances,
        worst=found.worst,
    )
