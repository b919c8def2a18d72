"""Ring gaps: what is wanted, what the bore change does to them, and what a feeler reading says.

A closed ring is a strip of fixed length bent into the bore, so its gap follows the
circumference: a bore larger by D opens it by π D (geometry; 1 thou on the bore is 3.14
thou at the gap). In use the ring grows more than the wall it runs on, and the gap must
never close. The maker's figure comes first; the defaults below are common practice
without a source and may all be changed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .constants import constant
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import Component, chance_between, combine, from_resolution, normal_quantile

__all__ = [
    "DUTIES",
    "Duty",
    "Heat",
    "Limits",
    "RingGap",
    "check",
    "closing_mm",
    "duty",
    "feeler_u_mm",
    "gap_at_mm",
    "limits",
    "opened",
    "ring_name",
    "role_of",
    "summary",
    "tilt_error_mm",
    "wanted_gaps",
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


def role_of(ring: int, compression: int, rails: bool) -> str:
    """What ring number ``ring`` (from 1 at the crown) is: "top", "second", "cast_oil" or "rail".

    ``compression`` is how many compression rings a piston has; below them come two
    steel rails (``rails``) or one cast ring. Raises ValueError for a ring that is not there.
    """
    if not 1 <= ring <= compression + (2 if rails else 1):
        raise ValueError(f"there is no ring {ring} on this piston")
    if ring > compression:
        return "rail" if rails else "cast_oil"
    return "top" if ring == 1 else "second"


def ring_name(ring: int, compression: int, rails: bool) -> Line:
    """Ring number ``ring`` in words. Raises ValueError as :func:`role_of` does."""
    role = role_of(ring, compression, rails)
    if role == "top":
        return L("top ring")
    if role == "cast_oil":
        return L("oil ring")
    if role == "rail":
        return L("upper oil rail") if ring == compression + 1 else L("lower oil rail")
    return L("second ring") if ring == 2 else L("ring {ring} from the top", ring=ring)


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
        least, widest = RAIL_LEAST_MM, RAIL_WIDEST_MM
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


@dataclass(frozen=True, kw_only=True)
class RingGap(Result):
    """One ring's gap in its finished bore.

    ``state`` is "right", "tight", "wide" or "close"; ``gap_mm`` is the gap where the bore
    is narrowest, ``file_mm`` what to file off the ends (0.0 if nothing), and ``running_mm`` the gap left
    hot (None if no temperatures were given).
    """

    cylinder: int
    ring: int
    state: str
    gap_mm: float
    u_mm: float
    file_mm: float
    running_mm: float | None = None


FILE_CAUTIONS = (
    Caution(
        "ring_square",
        L("Push the ring down square with a bare piston crown to the top of its travel before you put the feeler in."),
    ),
    Caution(
        "ring_filing",
        L(
            "File one end only, square, from the outer face inward so that a coating does not chip; take the burr off. "
            "Take off a little, then measure: metal cannot be put back."
        ),
    ),
)


def check(
    cylinder: int,
    ring: int,
    name: Line,
    *,
    measured_mm: float,
    u_mm: float,
    limits: Limits,
    bore_mm: float,
    measured_bore_mm: float | None = None,
    u_bore_mm: float = BORE_DIFFERENCE_U_MM,
    narrowest_mm: float | None = None,
    widest_bore_mm: float | None = None,
    wanted: float = 0.95,
    heat: Heat | None = None,
) -> RingGap:
    """Judge one measured gap.

    ``measured_mm`` with standard uncertainty ``u_mm`` was read in ``measured_bore_mm``
    (``bore_mm``, the finished bore, unless another); ``u_bore_mm`` is the standard
    uncertainty of the difference between those two bores. ``narrowest_mm`` and
    ``widest_bore_mm`` are the bore's least and greatest diameter in ring travel, where
    known: the least gap must hold at the narrowest place, the widest at the widest.
    ``wanted`` (0.5 to below 1) is the confidence that makes a verdict. Raises ValueError
    for bores or confidence out of range, or a gap below zero.
    """
    if not 0.5 <= wanted < 1:
        raise ValueError(f"confidence must be from 0.5 up to below 1, not {wanted}")
    if measured_mm < 0 or u_mm < 0 or u_bore_mm < 0:
        raise ValueError("a gap and its uncertainty cannot be below zero")
    read_in = bore_mm if measured_bore_mm is None else measured_bore_mm
    budget = combine(
        (
            Component(L("The feeler reading"), u_mm),
            Component(
                L("The difference between the two bores"),
                0.0 if measured_bore_mm is None else u_bore_mm,
                sensitivity=math.pi,
            ),
        )
    )
    u = budget.u
    narrow = min(bore_mm, narrowest_mm or bore_mm)
    wide = max(bore_mm, widest_bore_mm or bore_mm)
    gap = gap_at_mm(measured_mm, read_in, bore_mm)
    gap_narrow, gap_wide = (gap_at_mm(gap, bore_mm, b) for b in (narrow, wide))

    tight_chance = 1 - chance_between(gap_narrow, u, lower=limits.least_mm)
    wide_chance = 1 - chance_between(gap_wide, u, upper=limits.widest_mm)
    right_chance = max(0.0, 1 - tight_chance - wide_chance)
    target = limits.least_mm + normal_quantile(wanted) * u
    if target > limits.widest_mm:
        target = (limits.least_mm + limits.widest_mm) / 2
    to_file = max(0.0, target - gap_narrow)

    running = (
        None
        if heat is None
        else gap_narrow
        - closing_mm(narrow, heat.ring_c, heat.wall_c, ring_per_k=heat.ring_per_k, wall_per_k=heat.wall_per_k)
    )
    gaps = dict(
        cylinder=cylinder,
        ring=name,
        gap=Qty(gap_narrow, "diff", u),
        wide=Qty(gap_wide, "diff", u),
        least=Qty(limits.least_mm, "diff"),
        widest=Qty(limits.widest_mm, "diff"),
        file=Qty(to_file, "diff"),
        target=Qty(target, "diff"),
    )
    if right_chance >= wanted:
        state, verdict, sure, to_file = "right", Verdict.GO, right_chance, 0.0
        line = L("Cylinder {cylinder}, {ring}: a gap of {gap} is right. At least {least} is wanted.", **gaps)
    elif tight_chance >= wanted:
        state, verdict, sure = "tight", Verdict.STOP, tight_chance
        line = L(
            "Cylinder {cylinder}, {ring}: {gap} is too tight. File off {file} to reach {target}, measuring as you go.",
            **gaps,
        )
    elif wide_chance >= wanted:
        state, verdict, sure, to_file = "wide", Verdict.STOP, wide_chance, 0.0
        line = L(
            "Cylinder {cylinder}, {ring}: {wide} is too wide, more than {widest}. "
            "Check that the ring is the one for this bore.",
            **gaps,
        )
    elif tight_chance >= wide_chance:
        state, verdict, sure = "close", Verdict.MAYBE, right_chance
        line = L(
            "Cylinder {cylinder}, {ring}: {gap} is too close to the least of {least} to call. "
            "Measure again, or file off {file} to be sure.",
            **gaps,
        )
    else:
        state, verdict, sure, to_file = "close", Verdict.MAYBE, right_chance, 0.0
        line = L(
            "Cylinder {cylinder}, {ring}: {wide} is too close to the widest of {widest} to call. Measure again.", **gaps
        )

    why: list[Line] = []
    if measured_bore_mm is not None and measured_bore_mm != bore_mm:
        why.append(
            L(
                "Read as {read} in a bore of {there}; in the finished bore of {bore} it is {gap}.",
                read=Qty(measured_mm, "diff"),
                there=Qty(read_in, "size"),
                bore=Qty(bore_mm, "size"),
                gap=Qty(gap, "diff"),
            )
        )
    if wide > narrow:
        why.append(
            L(
                "The bore varies by {taper} along ring travel, so the gap opens and closes by {swing} at every stroke.",
                taper=Qty(wide - narrow, "diff"),
                swing=Qty(math.pi * (wide - narrow), "diff"),
            )
        )
    figures = [
        Figure("gap", L("Gap where the bore is narrowest"), Qty(gap_narrow, "diff", u)),
        Figure("least", L("Least gap"), Qty(limits.least_mm, "diff"), source=limits.source),
        Figure("widest", L("Widest gap"), Qty(limits.widest_mm, "diff"), source=limits.widest_source),
    ]
    assumptions = [
        Assumption(
            L(
                "The gap wanted is from {least} to {widest}.",
                least=Qty(limits.least_mm, "diff"),
                widest=Qty(limits.widest_mm, "diff"),
            ),
            limits.source,
        ),
        Assumption(
            L(
                "The ring lay square: {tilt} lower at one side would read {error} too wide.",
                tilt=Qty(1.0, "place"),
                error=Qty(tilt_error_mm(bore_mm, 1.0), "fine"),
            ),
            "geometry",
        ),
    ]
    if heat is not None and running is not None:
        figures.append(Figure("running", L("Gap left when hot"), Qty(running, "diff")))
        assumptions.append(
            Assumption(
                L(
                    "Hot, the ring is at {ring} and the wall at {wall}.",
                    ring=Qty(heat.ring_c, "temperature"),
                    wall=Qty(heat.wall_c, "temperature"),
                ),
                "from memory",
            )
        )
        if running <= 0:
            why.append(L("At these temperatures the gap would close altogether and the ends would meet."))
            if state == "right":
                state, verdict, sure = "tight", Verdict.STOP, None
                to_file = -running
                line = L(
                    "Cylinder {cylinder}, {ring}: {gap} would close when hot. Check the temperatures and the maker's figure before use.",
                    **gaps,
                )
    return RingGap(
        key=f"ring.{cylinder}.{ring}",
        line=line,
        value=Qty(gap_narrow, "diff", u),
        verdict=verdict,
        confidence=sure,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=tuple(assumptions),
        influences=tuple(i for i in budget.shares if i.share > 0),
        cautions=FILE_CAUTIONS,
        cylinder=cylinder,
        ring=ring,
        state=state,
        gap_mm=gap_narrow,
        u_mm=u,
        file_mm=to_file,
        running_mm=running,
    )


def opened(step_mm: float) -> Result:
    """What an oversize (or any bore change, on diameter) does to the gap of a ring that stays: π times it."""
    change = math.pi * step_mm
    gaps = dict(step=Qty(step_mm, "step"), change=Qty(abs(change), "diff"))
    if step_mm >= 0:
        line = L("A bore larger by {step} opens every ring's gap by {change}. Use rings made for the new size.", **gaps)
    else:
        line = L(
            "A bore smaller by {step} closes every ring's gap by {change}. Measure the rings before they go in.", **gaps
        )
    return Result(
        key="ring.opened",
        line=line,
        value=Qty(change, "deviation"),
        figures=(Figure("change", L("Change of the gap"), Qty(change, "deviation")),),
        assumptions=(Assumption(L("A ring is a strip of fixed length that follows the wall."), "geometry"),),
    )


def wanted_gaps(bore_mm: float, duty: Duty, rings: Sequence[tuple[Line, Limits]]) -> Result:
    """The gaps to aim for in a bore, ring by ring, as one result. Raises ValueError without rings."""
    if not rings:
        raise ValueError("a piston has at least one ring")
    first_name, first = rings[0]
    return Result(
        key="ring.wanted",
        line=L(
            "In a bore of {bore} the {ring} wants a gap of at least {least}.",
            bore=Qty(bore_mm, "size"),
            ring=first_name,
            least=Qty(first.least_mm, "diff"),
        ),
        value=Qty(first.least_mm, "diff"),
        why=(L("{duty}. The ring maker's own figure comes before this one.", duty=duty.label),),
        figures=tuple(
            Figure(f"least.{n}", L("Least gap, {ring}", ring=name), Qty(limit.least_mm, "diff"), source=limit.source)
            for n, (name, limit) in enumerate(rings, 1)
        ),
        assumptions=(Assumption(L("The least gap is taken as a share of the bore, chosen by duty."), first.source),),
    )


def summary(checks: Sequence[RingGap]) -> Result:
    """All the gaps in one sentence, worst first. Raises ValueError without any."""
    if not checks:
        raise ValueError("no gap has been measured")
    wrong = [c for c in checks if c.verdict == Verdict.STOP]
    close = [c for c in checks if c.verdict == Verdict.MAYBE]
    if wrong:
        line, verdict = L("{bad} of {all} measured gaps are wrong.", bad=len(wrong), all=len(checks)), Verdict.STOP
    elif close:
        line, verdict = (
            L("{bad} of {all} measured gaps are too close to call.", bad=len(close), all=len(checks)),
            Verdict.MAYBE,
        )
    else:
        line, verdict = L("Every gap measured so far is right: {all} of them.", all=len(checks)), Verdict.GO
    sure = [c.confidence for c in checks if c.confidence is not None]
    return Result(
        key="rings",
        line=line,
        value=Qty(float(len(wrong)), "count"),
        verdict=verdict,
        confidence=min(sure) if verdict == Verdict.GO and sure else None,
        why=tuple(c.line for c in wrong + close),
        assumptions=(
            Assumption(L("Each gap is judged by itself, against the limits of its own ring."), "common practice"),
        ),
    )


def _above_zero(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"a {what} must be finite and above zero, not {value}")
