"""Ring gaps: what is wanted, what the bore change does to them, and what a feeler reading says.

A closed ring is a strip of fixed length bent into the bore, so its gap follows the
circumference: a bore larger by D opens it by π D (geometry; 1 thou on the bore is 3.14
thou at the gap). In use the ring grows more than the wall it runs on, and the gap must
never close. The maker's figure comes first; the defaults below are common practice
without a source and may all be changed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .result import Assumption, Caution, Figure, Result, Verdict
from .ring_gap import (
    BORE_DIFFERENCE_U_MM,
    DUTIES,
    WIDEST_PER_BORE,
    Duty,
    GapFound,
    Heat,
    Limits,
    closing_mm,
    duty,
    feeler_u_mm,
    gap_at_mm,
    gap_found,
    limits,
    role_of,
    tilt_error_mm,
)
from .say import LN, L, Line, Qty

__all__ = [
    "DUTIES",
    "FILE_CAUTIONS",
    "WIDEST_PER_BORE",
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


def ring_name(ring: int, compression: int, *, rails: bool, oil_rings: int = 1) -> Line:
    """Ring number ``ring`` in words. Raises ValueError as :func:`role_of` does."""
    role = role_of(ring, compression, rails=rails, oil_rings=oil_rings)
    if role == "top":
        return L("top ring")
    below = ring - compression
    if role == "cast_oil":
        return L("oil ring") if oil_rings == 1 else L("oil ring {n}", n=below)
    if role == "rail":
        if oil_rings == 1:
            return L("upper oil rail") if below == 1 else L("lower oil rail")
        which, n = below % 2, (below + 1) // 2
        return L("upper rail of oil ring {n}", n=n) if which else L("lower rail of oil ring {n}", n=n)
    return L("second ring") if ring == 2 else L("ring {ring} from the top", ring=ring)


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
    found = gap_found(
        measured_mm=measured_mm,
        u_mm=u_mm,
        limits=limits,
        bore_mm=bore_mm,
        measured_bore_mm=measured_bore_mm,
        u_bore_mm=u_bore_mm,
        narrowest_mm=narrowest_mm,
        widest_bore_mm=widest_bore_mm,
        wanted=wanted,
        heat=heat,
    )
    gap = Qty(found.narrow_gap_mm, "diff", found.u_mm)
    figures = [
        Figure("gap", L("Gap where the bore is narrowest"), gap),
        Figure("least", L("Least gap"), Qty(limits.least_mm, "diff"), source=limits.source),
        Figure("widest", L("Widest gap"), Qty(limits.widest_mm, "diff"), source=limits.widest_source),
    ]
    if found.running_mm is not None:
        figures.append(Figure("running", L("Gap left when hot"), Qty(found.running_mm, "diff")))
    state, verdict = _STATES[found.state]
    return RingGap(
        key=f"ring.{cylinder}.{ring}",
        line=_gap_said(found, cylinder, name, limits),
        value=gap,
        verdict=verdict,
        confidence=found.sure,
        why=_gap_reasons(found, measured_mm, measured_bore_mm, bore_mm),
        figures=tuple(figures),
        assumptions=_gap_assumptions(limits, bore_mm, heat),
        influences=tuple(i for i in found.budget.shares if i.share > 0),
        cautions=FILE_CAUTIONS,
        cylinder=cylinder,
        ring=ring,
        state=state,
        gap_mm=found.narrow_gap_mm,
        u_mm=found.u_mm,
        file_mm=found.file_mm,
        running_mm=found.running_mm,
    )


#: What is shown of each state of :class:`~logic.ring_gap.GapFound`: the word and the verdict.
_STATES = {
    "right": ("right", Verdict.GO),
    "tight": ("tight", Verdict.STOP),
    "wide": ("wide", Verdict.STOP),
    "near tight": ("close", Verdict.MAYBE),
    "near wide": ("close", Verdict.MAYBE),
    "closes": ("tight", Verdict.STOP),
}


def _gap_said(found: GapFound, cylinder: int, name: Line, limits: Limits) -> Line:
    """The gap's state and what to do about it."""
    gaps = {
        "cylinder": cylinder,
        "ring": name,
        "gap": Qty(found.narrow_gap_mm, "diff", found.u_mm),
        "wide": Qty(found.wide_gap_mm, "diff", found.u_mm),
        "least": Qty(limits.least_mm, "diff"),
        "widest": Qty(limits.widest_mm, "diff"),
        "file": Qty(found.short_mm, "diff"),
        "target": Qty(found.target_mm, "diff"),
    }
    said = {
        "right": L("Cylinder {cylinder}, {ring}: a gap of {gap} is right. At least {least} is wanted.", **gaps),
        "tight": L(
            "Cylinder {cylinder}, {ring}: {gap} is too tight. File off {file} to reach {target}, measuring as you go.",
            **gaps,
        ),
        "wide": L(
            "Cylinder {cylinder}, {ring}: {wide} is too wide, more than {widest}. "
            "Check that the ring is the one for this bore.",
            **gaps,
        ),
        "near tight": L(
            "Cylinder {cylinder}, {ring}: {gap} is too close to the least of {least} to call. "
            "Measure again, or file off {file} to be sure.",
            **gaps,
        ),
        "near wide": L(
            "Cylinder {cylinder}, {ring}: {wide} is too close to the widest of {widest} to call. Measure again.", **gaps
        ),
        "closes": L(
            "Cylinder {cylinder}, {ring}: {gap} would close when hot. Check the temperatures and the maker's figure before use.",
            **gaps,
        ),
    }
    return said[found.state]


#: From this difference on a gap is shown otherwise than it was typed: a tenth of a thou.
_SHOWN_OTHERWISE_MM = 0.00254 / 2


def _gap_reasons(
    found: GapFound, measured_mm: float, measured_bore_mm: float | None, bore_mm: float
) -> tuple[Line, ...]:
    """How the gap follows from the reading, and what makes it open and close."""
    why: list[Line] = []
    if measured_bore_mm is not None and measured_bore_mm != bore_mm:
        why.append(
            L(
                "Read as {read} in a bore of {there}; in the finished bore of {bore} it is {gap}.",
                read=Qty(measured_mm, "diff"),
                there=Qty(measured_bore_mm, "size"),
                bore=Qty(bore_mm, "size"),
                gap=Qty(found.gap_mm, "diff"),
            )
        )
    if found.gap_mm - found.narrow_gap_mm > _SHOWN_OTHERWISE_MM:
        why.append(
            L(
                "You read {read}. Further down the bore is {less} smaller, and there the gap is {gap}.",
                read=Qty(measured_mm, "diff"),
                less=Qty(bore_mm - found.narrow_mm, "fine"),
                gap=Qty(found.narrow_gap_mm, "diff"),
            )
        )
    if found.wide_mm > found.narrow_mm:
        why.append(
            L(
                "The bore varies by {taper} along ring travel, so the gap opens and closes by {swing} at every stroke.",
                taper=Qty(found.wide_mm - found.narrow_mm, "diff"),
                swing=Qty(math.pi * (found.wide_mm - found.narrow_mm), "diff"),
            )
        )
    if found.running_mm is not None and found.running_mm <= 0:
        why.append(L("At these temperatures the gap would close altogether and the ends would meet."))
    return tuple(why)


def _gap_assumptions(limits: Limits, bore_mm: float, heat: Heat | None) -> tuple[Assumption, ...]:
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
    if heat is not None:
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
    return tuple(assumptions)


def opened(step_mm: float) -> Result:
    """What an oversize (or any bore change, on diameter) does to the gap of a ring that stays: π times it."""
    change = math.pi * step_mm
    gaps = {"step": Qty(step_mm, "step"), "change": Qty(abs(change), "diff")}
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
            "In a bore of {bore}, the {ring} wants a gap of at least {least}.",
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
        line, verdict = L("Wrong gaps: {bad} of {all} measured.", bad=len(wrong), all=len(checks)), Verdict.STOP
    elif close:
        line = L("Gaps too close to call: {bad} of {all} measured.", bad=len(close), all=len(checks))
        verdict = Verdict.MAYBE
    else:
        line = LN("The one gap measured is right.", "All {n} gaps measured are right.", len(checks))
        verdict = Verdict.GO
    return Result(
        key="rings",
        line=line,
        value=Qty(float(len(wrong)), "count"),
        verdict=verdict,
        confidence=_least_sure(checks) if verdict == Verdict.GO else None,
        why=tuple(c.line for c in wrong + close),
        assumptions=(
            Assumption(L("Each gap is judged by itself, against the limits of its own ring."), "common practice"),
        ),
    )


def _least_sure(checks: Sequence[RingGap]) -> float | None:
    return min((c.confidence for c in checks if c.confidence is not None), default=None)
