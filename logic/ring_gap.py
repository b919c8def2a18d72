"""Ring gaps in numbers: what is wanted in a bore, and what a feeler reading comes to. No sentence but names.

A closed ring is a strip of fixed length bent into the bore, so its gap follows the
circumference (geometry). Lengths in mm, diameters for bores; :mod:`logic.rings` puts the
figures into words.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .constants import constant
from .say import L, Line
from .uncertainty import Budget, Component, chance_between, combine, from_resolution, normal_quantile

__all__ = [
    "BORE_DIFFERENCE_U_MM",
    "DUTIES",
    "Duty",
    "GapFound",
    "Heat",
    "Limits",
    "closing_mm",
    "duty",
    "feeler_u_mm",
    "gap_at_mm",
    "gap_found",
    "limits",
    "role_of",
    "tilt_error_mm",
]


@dataclass(frozen=True, slots=True)
class Duty:
    """What an engine asks of its rings, water-cooled unless it came from :func:`duty`.

    ``top`` and ``second`` are least gaps per unit of bore (common practice, no source).
    ``ring_c`` and ``wall_c`` are a top ring's and its wall's temperature at full work,
    from memory: they only serve to show how far a gap closes.
    """

    key: str
    label: Line
    top: float
    second: float
    ring_c: float
    wall_c: float


DUTIES: Mapping[str, Duty] = {
    d.key: d
    for d in (
        Duty("gentle", L("Slow or lightly loaded"), 0.0035, 0.0035, 180, 110),
        Duty("road", L("Ordinary road use"), 0.0040, 0.0045, 200, 130),
        Duty("hard", L("Hard or long full-throttle use"), 0.0045, 0.0050, 220, 140),
        Duty("diesel", L("Diesel"), 0.0045, 0.0045, 220, 140),
        Duty("boosted", L("Turbocharged or supercharged"), 0.0055, 0.0055, 250, 150),
        Duty("race", L("Racing"), 0.0065, 0.0065, 300, 160),
    )
}
#: Air cooling: gap added per unit of bore (common practice, no source), and how much hotter ring and wall are (from memory).
AIR_MORE, AIR_RING_K, AIR_WALL_K = 0.0005, 30.0, 50.0

#: The widest gap taken for a new ring, per unit of bore (common practice, no source).
WIDEST_PER_BORE = 0.008
#: Least and widest gap of a steel oil rail, whatever the bore: 0.015 and 0.055 in (common practice, no source).
RAIL_LEAST_MM, RAIL_WIDEST_MM = 0.381, 1.397
#: In a bore below three inches the least gap of a rail shrinks with it: so much per unit of bore (common practice, no source).
RAIL_LEAST_PER_BORE = 0.005
#: Standard uncertainty of the difference between two bores measured with one gauge (common practice, no source).
BORE_DIFFERENCE_U_MM = 0.005
#: Linear expansion of a ring of iron or steel, and of the block, per kelvin.
RING_PER_K, IRON_PER_K = constant("expansion.steel").value, constant("expansion.grey_iron").value

_ROLES = ("top", "second", "cast_oil", "rail")


def duty(key: str, cooling: str = "water") -> Duty:
    """The duty called ``key``, with ``cooling`` "water" or "air". Raises ValueError for another of either."""
    if key not in DUTIES or cooling not in ("water", "air"):
        raise ValueError(f"no such duty and cooling: {key!r}, {cooling!r}")
    d = DUTIES[key]
    if cooling == "water":
        return d
    return Duty(d.key, d.label, d.top + AIR_MORE, d.second + AIR_MORE, d.ring_c + AIR_RING_K, d.wall_c + AIR_WALL_K)


def role_of(ring: int, compression: int, *, rails: bool, oil_rings: int = 1) -> str:
    """What ring number ``ring`` (from 1 at the crown) is: "top", "second", "cast_oil" or "rail".

    ``compression`` is how many compression rings a piston has; below them come two
    steel rails (``rails``) or one cast ring, and so for each of ``oil_rings``. Raises ValueError for a ring that is not there.
    """
    if not 1 <= ring <= compression + (2 if rails else 1) * oil_rings:
        raise ValueError(f"there is no ring {ring} on this piston")
    if ring > compression:
        return "rail" if rails else "cast_oil"
    return "top" if ring == 1 else "second"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The least and widest gap of one ring, mm, and who says so of each."""

    least_mm: float
    widest_mm: float
    source: str = "common practice"
    widest_source: str = "common practice"

    def __post_init__(self) -> None:
        if not 0 < self.least_mm <= self.widest_mm:
            raise ValueError(f"a ring gap from {self.least_mm} to {self.widest_mm} mm makes no sense")


def limits(
    bore_mm: float,
    role: str,
    duty: Duty,
    *,
    top_per_bore: float | None = None,
    second_per_bore: float | None = None,
    widest_per_bore: float = WIDEST_PER_BORE,
    least_mm: float | None = None,
    widest_mm: float | None = None,
) -> Limits:
    """The gap wanted in a bore: the stated one, else the duty's (or the stated) share of the bore.

    A share below zero or a bore of nothing raises ValueError. Where the least asked for
    is above the widest, the widest gives way to it.
    """
    _above_zero(bore_mm, "bore")
    if role not in _ROLES:
        raise ValueError(f"no such ring: {role!r}")
    if role == "rail":
        least, widest = min(RAIL_LEAST_MM, RAIL_LEAST_PER_BORE * bore_mm), RAIL_WIDEST_MM
    else:
        share = duty.top if top_per_bore is None else top_per_bore
        if role != "top":
            share = duty.second if second_per_bore is None else second_per_bore
        least, widest = share * bore_mm, widest_per_bore * bore_mm
    said = ["common practice" if given is None else "entered" for given in (least_mm, widest_mm)]
    least = least if least_mm is None else least_mm
    widest = widest if widest_mm is None else widest_mm
    return Limits(least_mm=least, widest_mm=max(least, widest), source=said[0], widest_source=said[1])


def gap_at_mm(gap_mm: float, measured_bore_mm: float, bore_mm: float) -> float:
    """The gap a ring has in ``bore_mm`` if it has ``gap_mm`` in ``measured_bore_mm``: π times the difference more."""
    _above_zero(measured_bore_mm, "bore")
    _above_zero(bore_mm, "bore")
    return gap_mm + math.pi * (bore_mm - measured_bore_mm)


def closing_mm(
    bore_mm: float,
    ring_c: float,
    wall_c: float,
    *,
    ring_per_k: float = RING_PER_K,
    wall_per_k: float = IRON_PER_K,
    cold_c: float = 20.0,
) -> float:
    """How far a gap closes from ``cold_c`` to running: π D (α_ring ΔT_ring − α_wall ΔT_wall). Geometry."""
    _above_zero(bore_mm, "bore")
    return math.pi * bore_mm * (ring_per_k * (ring_c - cold_c) - wall_per_k * (wall_c - cold_c))


def tilt_error_mm(bore_mm: float, tilt_mm: float) -> float:
    """How much too wide a gap reads if the ring lies ``tilt_mm`` lower at one side of the bore.

    The tilted ring follows an ellipse; for small tilts its length exceeds the circle's by
    π t² / (4 D). Good to one part in a hundred while t is under a tenth of the bore.
    """
    _above_zero(bore_mm, "bore")
    return math.pi * tilt_mm * tilt_mm / (4 * bore_mm)


def feeler_u_mm(step_mm: float, feel_mm: float = 0.01) -> float:
    """Standard uncertainty of a gap taken with feelers in steps of ``step_mm``.

    The step is a rectangular distribution one step wide (JCGM 100:2008, F.2.2.1);
    ``feel_mm`` is the standard uncertainty of the drag that is called a fit (common practice).
    """
    if step_mm < 0 or feel_mm < 0:
        raise ValueError("a feeler's step and feel cannot be below zero")
    return math.hypot(from_resolution(step_mm), feel_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """How a gap closes in use: ring and wall temperatures and expansions."""

    ring_c: float
    wall_c: float
    ring_per_k: float = RING_PER_K
    wall_per_k: float = IRON_PER_K

    def closing_mm(self, bore_mm: float) -> float:
        """How far a gap closes in a bore, from 20 °C to running."""
        return closing_mm(bore_mm, self.ring_c, self.wall_c, ring_per_k=self.ring_per_k, wall_per_k=self.wall_per_k)


@dataclass(frozen=True, slots=True, kw_only=True)
class GapFound:
    """One measured gap, carried over to the finished bore, against its limits.

    ``gap_mm`` is the gap at the bore's stated size, ``narrow_gap_mm`` and ``wide_gap_mm``
    those where the bore is narrowest (``narrow_mm``) and widest (``wide_mm``), all with the
    standard uncertainty ``u_mm`` from ``budget``. ``state`` is "right", "tight", "wide",
    "near tight" or "near wide" (too close to a limit to call), or "closes" where a gap that
    is right cold shuts when hot; ``sure`` the chance that this is so, None where none is
    claimed. ``target_mm`` is the gap to file to and ``short_mm`` what is missing to it;
    ``file_mm`` is what is to be filed off, zero where nothing is. ``running_mm`` is the gap
    left hot, None without temperatures.
    """

    gap_mm: float
    narrow_mm: float
    wide_mm: float
    narrow_gap_mm: float
    wide_gap_mm: float
    u_mm: float
    budget: Budget
    state: str
    sure: float | None
    target_mm: float
    short_mm: float
    file_mm: float
    running_mm: float | None


def gap_found(
    *,
    measured_mm: float,
    u_mm: float,
    limits: Limits,
    bore_mm: float,
    measured_bore_mm: float | None,
    u_bore_mm: float,
    narrowest_mm: float | None,
    widest_bore_mm: float | None,
    wanted: float,
    heat: Heat | None,
) -> GapFound:
    """Carry a reading over to the finished bore and judge it; see :func:`logic.rings.check` for the terms and errors."""
    _check_reading(measured_mm, u_mm, u_bore_mm, wanted)
    read_in = bore_mm if measured_bore_mm is None else measured_bore_mm
    budget = _gap_budget(u_mm, None if measured_bore_mm is None else u_bore_mm)
    u = budget.u
    narrow = min(bore_mm, narrowest_mm or bore_mm)
    wide = max(bore_mm, widest_bore_mm or bore_mm)
    gap = gap_at_mm(measured_mm, read_in, bore_mm)
    gap_narrow, gap_wide = (gap_at_mm(gap, bore_mm, b) for b in (narrow, wide))
    target = _target_mm(limits, u, wanted)
    short = max(0.0, target - gap_narrow)
    running = None if heat is None else gap_narrow - heat.closing_mm(narrow)
    state, sure = _judged(gap_narrow, gap_wide, u, limits, wanted)
    if state == "right" and running is not None and running <= 0:
        state, sure = "closes", None
    return GapFound(
        gap_mm=gap,
        narrow_mm=narrow,
        wide_mm=wide,
        narrow_gap_mm=gap_narrow,
        wide_gap_mm=gap_wide,
        u_mm=u,
        budget=budget,
        state=state,
        sure=sure,
        target_mm=target,
        short_mm=short,
        file_mm=_to_file_mm(state, short, running),
        running_mm=running,
    )


def _check_reading(measured_mm: float, u_mm: float, u_bore_mm: float, wanted: float) -> None:
    if not 0.5 <= wanted < 1:
        raise ValueError(f"confidence must be from 0.5 up to below 1, not {wanted}")
    if measured_mm < 0 or u_mm < 0 or u_bore_mm < 0:
        raise ValueError("a gap and its uncertainty cannot be below zero")


def _gap_budget(u_mm: float, u_bore_mm: float | None) -> Budget:
    """The doubt of a gap: the feeler's, and that of the difference to another bore if it was read there."""
    return combine(
        (
            Component(L("The feeler reading"), u_mm),
            Component(L("The difference between the two bores"), u_bore_mm or 0.0, sensitivity=math.pi),
        )
    )


def _target_mm(limits: Limits, u: float, wanted: float) -> float:
    """The gap to file to: far enough above the least to be sure of it, else midway between the limits."""
    target = limits.least_mm + normal_quantile(wanted) * u
    return (limits.least_mm + limits.widest_mm) / 2 if target > limits.widest_mm else target


def _to_file_mm(state: str, short_mm: float, running_mm: float | None) -> float:
    if state == "closes" and running_mm is not None:
        return -running_mm
    return short_mm if state in ("tight", "near tight") else 0.0


def _judged(gap_narrow: float, gap_wide: float, u: float, limits: Limits, wanted: float) -> tuple[str, float | None]:
    """The state of a gap and the chance claimed for it: the least must hold where narrowest, the widest where widest."""
    tight = 1 - chance_between(gap_narrow, u, lower=limits.least_mm)
    wide = 1 - chance_between(gap_wide, u, upper=limits.widest_mm)
    right = max(0.0, 1 - tight - wide)
    if right >= wanted:
        return "right", right
    if tight >= wanted:
        return "tight", tight
    if wide >= wanted:
        return "wide", wide
    return "near tight" if tight >= wide else "near wide", right


def _above_zero(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"a {what} must be finite and above zero, not {value}")
