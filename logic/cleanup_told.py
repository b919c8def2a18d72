"""The clean-up diameter of one cylinder in words: what :mod:`logic.cleanup` found, assumed and doubts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .bore import axis_name
from .cleanup import CleanUp
from .cleanup_chance import RANGE, UNMEASURED_SLOPE
from .result import Assumption, Caution, Figure, Influence, Result
from .say import L, Line, Qty

__all__ = ["CleanUpResult", "assumptions_of", "cautions_of", "describe"]


@dataclass(frozen=True, kw_only=True)
class CleanUpResult(Result):
    """A cylinder's clean-up diameter in words; ``cleanup`` is the distribution behind it."""

    cleanup: CleanUp


def assumptions_of(c: CleanUp) -> Iterator[Assumption]:
    """What one cylinder's clean-up diameter takes as true."""
    if c.source == "swept":
        yield Assumption(
            L(
                "Clean-up diameter of cylinder {n} as swept, with the spindle set to the centre that the sweep gives.",
                n=c.cylinder,
            ),
            "entered",
        )
        return
    side = c.side
    yield Assumption(L("The bar stands on the axis of the unworn bore."), "common practice")
    if side.known == "even":
        yield Assumption(L("Wear of cylinder {n} is the same on both sides, as stated.", n=c.cylinder), "entered")
    elif side.known == "one side":
        yield Assumption(L("Thrust-axis wear of cylinder {n} is all on one side, as stated.", n=c.cylinder), "entered")
    elif side.known == "swept":
        yield Assumption(
            L(
                "The worn bore of cylinder {n} is {offset} off centre, as swept.",
                n=c.cylinder,
                offset=Qty(side.offset_mm, "diff", side.u_offset_mm),
            ),
            "entered",
        )
    else:
        yield Assumption(
            L(
                "Nothing is known about which side of cylinder {n} wore: any share from even to all on one side is as likely.",
                n=c.cylinder,
            ),
            "JCGM 101:2008, 6.4.2",
        )
    if c.lean is not None and not c.lean.measured:
        yield Assumption(
            L(
                "The deck was not measured: it is taken as square to the bores, give or take {rise} in {run}, two times in three.",
                rise=Qty(UNMEASURED_SLOPE * 100, "diff"),
                run=Qty(100, "place"),
            ),
            "common practice",
        )
    if side.bar_shift_mm:
        yield Assumption(
            L(
                "The bar is set over {shift} toward the worn side in cylinder {n}.",
                n=c.cylinder,
                shift=Qty(side.bar_shift_mm, "diff"),
            ),
            "entered",
        )


def cautions_of(c: CleanUp) -> Iterator[Caution]:
    """What to look at again in one cylinder before trusting its clean-up diameter."""
    side, n = c.side, c.cylinder
    wear = c.worst_mm - c.unworn_mm
    if side.known == "swept" and side.offset_mm > wear / 2 + 2 * math.hypot(side.u_offset_mm, c.u_wear_mm / 2):
        yield Caution(
            f"cleanup.offset.{n}",
            L(
                "Cylinder {n}: an offset of {offset} is more than {wear} of wear can give. Check the unworn size and that the indicator was zeroed on unworn metal.",
                n=n,
                offset=Qty(side.offset_mm, "diff"),
                wear=Qty(wear, "diff"),
            ),
        )
    if side.bar_shift_mm:
        yield Caution(
            f"cleanup.shift.{n}",
            L(
                "Cylinder {n}: setting the bar over moves the bore's axis by {shift}. Check the wall on the worn side, and the maker's limit for the bore's position.",
                n=n,
                shift=Qty(side.bar_shift_mm, "diff"),
            ),
        )


def describe(c: CleanUp, confidence: float = 0.95, u_bored_mm: float = 0.0, *, alone: bool = False) -> CleanUpResult:
    """One cylinder's clean-up diameter in words and figures; a bore that is ``alone`` needs no number."""
    needed = Qty(c.needed_mm(confidence, u_bored_mm), "size")
    least, most = c.range_mm()
    said: dict[str, Any] = {
        "low": Qty(least, "size"),
        "high": Qty(most, "size"),
        "level": Qty(RANGE, "percent"),
        "needed": needed,
        "confidence": Qty(confidence, "percent"),
    }
    line = (
        L(
            "It cleans up somewhere from {low} to {high} ({level} sure). Bored to {needed} it does, {confidence} sure.",
            **said,
        )
        if alone
        else L(
            "Cylinder {n} cleans up somewhere from {low} to {high} ({level} sure). Bored to {needed} it does, {confidence} sure.",
            n=c.cylinder,
            **said,
        )
    )
    why: list[Line] = []
    if c.cell is not None:
        why.append(
            L(
                "What decides is {depth} down on the {axis}.",
                depth=Qty(c.cell[0], "place"),
                axis=axis_name(c.cell[1]),
            )
        )
    if c.worth_sweeping:
        why.append(
            L("A sweep with an indicator would narrow this by up to {gap}.", gap=Qty(c.high_mm - c.low_mm, "diff"))
        )
    return CleanUpResult(
        key=f"cleanup.{c.cylinder}",
        line=line,
        value=Qty(c.mean_mm, "size", c.u_mm),
        confidence=confidence,
        why=tuple(why),
        figures=(
            Figure("low", L("Clean-up diameter, wear in the best case"), Qty(c.low_mm, "size")),
            Figure("high", L("Clean-up diameter, wear in the worst case"), Qty(c.high_mm, "size")),
            Figure("needed", L("Bored size that cleans up with the wanted confidence"), needed),
            Figure("worst", L("Largest reading"), Qty(c.worst_mm, "size")),
            Figure("unworn", L("Unworn bore"), Qty(c.unworn_mm, "size")),
        ),
        assumptions=tuple(assumptions_of(c)),
        influences=_influences(c),
        cautions=tuple(cautions_of(c)),
        cleanup=c,
    )


def _influences(c: CleanUp) -> tuple[Influence, ...]:
    total = c.u_mm**2
    if total <= 0:
        return ()
    known = sum(p.weight * (p.u_mm**2 + p.common_mm**2) for p in c.pieces)
    shared = sum(p.weight * p.common_mm**2 for p in c.pieces)
    # where nothing is left open about the side, what is spread is only where the bar may stand
    spread = L("a bar off centre") if c.low_mm == c.high_mm else L("not knowing which side wore, and the lean")
    shares = (
        Influence(spread, max(0.0, total - known) / total),
        Influence(L("readings and centring"), (known - shared) / total),
        Influence(L("gauge setting and temperatures"), shared / total),
    )
    return tuple(i for i in sorted(shares, key=lambda i: -i.share) if i.share > 0)
