"""Finished size, bored size and piston clearance.

    finished bore = piston (at its gauge point, at 20 °C) + clearance
    bored size    = finished bore − what is left for the hone

Clearance comes from the piston's maker. Where there is none at hand, a default per
unit of bore stands in, by the piston's alloy, the duty and the cooling (common
practice, no source: :mod:`logic.constants`, group "clearance"). Running clearance uses
a temperature for the wall and one for the skirt at the gauge point, both from memory
and both to be replaced by better ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

from .constants import constant
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty
from .temperature import REFERENCE_C, size_at, size_at_20
from .uncertainty import Budget, Component, chance_between, combine, from_limits

__all__ = [
    "ALLOYS",
    "DUTIES",
    "Alloy",
    "Clearance",
    "Duty",
    "Finished",
    "default_clearance",
    "finished",
    "measured_piston",
    "running",
    "running_clearance_mm",
    "running_temperatures_c",
]


@dataclass(frozen=True, slots=True)
class Alloy:
    """What a piston is made of; its clearance and expansion are rows of the table of constants."""

    key: str
    label: Line

    @property
    def per_bore(self) -> float:
        """Cold clearance per unit of bore for ordinary duty, water-cooled."""
        return constant(f"clearance.{self.key}").value

    @property
    def expansion_per_k(self) -> float:
        return constant(f"expansion.piston.{self.key}").value

    @property
    def expansion_u_per_k(self) -> float:
        return constant(f"expansion.piston.{self.key}").u


ALLOYS: Mapping[str, Alloy] = {
    a.key: a
    for a in (
        Alloy("controlled", L("Cast aluminium, slotted skirt or steel inserts")),
        Alloy("cast", L("Cast aluminium, plain skirt")),
        Alloy("hyper", L("Cast aluminium, high silicon (hypereutectic)")),
        Alloy("forged_silicon", L("Forged aluminium with silicon")),
        Alloy("forged", L("Forged aluminium, low silicon")),
        Alloy("iron", L("Cast iron")),
    )
}


@dataclass(frozen=True, slots=True)
class Duty:
    """How hard the engine works: clearance added per unit of bore, and temperatures when water-cooled.

    ``skirt_c`` at the piston's gauge point, ``wall_c`` the wall beside it, at full work
    (from memory); ``more`` is common practice.
    """

    key: str
    label: Line
    more: float
    skirt_c: float
    wall_c: float


DUTIES: Mapping[str, Duty] = {
    d.key: d
    for d in (
        Duty("gentle", L("Slow or lightly loaded"), 0.0, 85, 80),
        Duty("road", L("Ordinary road use"), 0.0, 95, 90),
        Duty("hard", L("Hard or long full-throttle use"), 0.0002, 105, 95),
        Duty("diesel", L("Diesel"), 0.0003, 110, 95),
        Duty("boosted", L("Turbocharged or supercharged"), 0.0004, 115, 100),
        Duty("race", L("Racing"), 0.0005, 120, 100),
    )
}

#: Air cooling: clearance added per unit of bore (common practice), and how much hotter it runs (from memory).
AIR_MORE, AIR_HOTTER_K = 0.0004, 45.0
#: How far a clearance from the table may be off, as a part of it (common practice).
CLEARANCE_SPREAD = 0.2
#: More clearance than this, per unit of bore, is most likely a slip (common practice).
LARGE_CLEARANCE = 0.004
#: A finished size this far from what its step stands for belongs to another step (common practice).
ANOTHER_STEP_MM = 0.1
#: A running temperature from the table is known to within this, rectangular (from memory).
RUNNING_SPREAD_K = 15.0


class Clearance(NamedTuple):
    """Cold clearance on diameter, with the limits taken as usual."""

    mm: float
    low_mm: float
    high_mm: float


_Row = TypeVar("_Row")


def _choice(table: Mapping[str, _Row], key: str, what: str) -> _Row:
    if key not in table:
        raise ValueError(f"no such {what}: {key!r}")
    return table[key]


def default_clearance(bore_mm: float, alloy: str = "cast", duty: str = "road", cooling: str = "water") -> Clearance:
    """The clearance taken where no maker's figure is at hand (common practice, no source).

    ``cooling`` is "water" or "air". Raises ValueError for a bore not above zero or a key
    that is in no table.
    """
    _above_zero(bore_mm, "the bore")
    if cooling not in ("water", "air"):
        raise ValueError(f"no such cooling: {cooling!r}")
    per_bore = (
        _choice(ALLOYS, alloy, "alloy").per_bore
        + _choice(DUTIES, duty, "duty").more
        + (AIR_MORE if cooling == "air" else 0.0)
    )
    mm = per_bore * bore_mm
    return Clearance(mm, mm * (1 - CLEARANCE_SPREAD), mm * (1 + CLEARANCE_SPREAD))


def _above_zero(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{what} must be finite and above zero")


# -- piston ------------------------------------------------------------------------------
def measured_piston(
    reading_mm: float,
    *,
    u_reading_mm: float,
    piston_c: float,
    u_piston_c: float,
    alpha_per_k: float,
    alpha_u_per_k: float,
) -> tuple[float, Budget]:
    """A piston's size at 20 °C and its uncertainty, from what it measures at ``piston_c``.

    ``reading_mm`` is its true size at that temperature, as read with a micrometer that
    was zeroed at the same temperature as its standard's stated size, or corrected.
    """
    _above_zero(reading_mm, "the piston")
    size = size_at_20(reading_mm, piston_c, alpha_per_k)
    stretch = reading_mm / size
    budget = combine(
        (
            Component(L("micrometer"), u_reading_mm, sensitivity=1 / stretch),
            Component(L("piston temperature"), u_piston_c, sensitivity=-size * alpha_per_k / stretch),
            Component(L("piston expansion"), alpha_u_per_k, sensitivity=-size * (piston_c - REFERENCE_C) / stretch),
        )
    )
    return size, budget


# -- finished and bored --------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Finished(Result):
    """One cylinder's sizes. ``u_mm`` is the standard uncertainty of the finished size aimed at."""

    cylinder: int
    piston_mm: float
    clearance_mm: float
    finished_mm: float
    bored_mm: float
    u_mm: float


def finished(
    cylinder: int,
    *,
    piston_mm: float,
    clearance_mm: float,
    hone_stock_mm: float,
    piston: Budget | None = None,
    u_clearance_mm: float = 0.0,
    u_stock_mm: float = 0.0,
    maker: bool = False,
    measured: bool = True,
    chance: float | None = None,
    wanted: float = 0.95,
    step_finished_mm: float | None = None,
) -> Finished:
    """One cylinder's finished and bored size.

    ``piston_mm`` at its gauge point at 20 °C with its budget ``piston``; ``maker`` is
    True where the clearance is the maker's; ``measured`` False where the piston's size
    is only what the step implies; ``chance`` the probability that the bored size cleans
    this cylinder up, if known, judged against ``wanted``; ``step_finished_mm`` the
    finished size that the chosen step stands for, to notice a piston of another step.
    Raises ValueError for sizes that make no sense.
    """
    _above_zero(piston_mm, "the piston")
    if not (math.isfinite(clearance_mm) and 0 <= clearance_mm < 1):
        raise ValueError("that is no piston clearance")
    if not (math.isfinite(hone_stock_mm) and hone_stock_mm >= 0):
        raise ValueError("the hone stock must be finite and not below zero")
    size = piston_mm + clearance_mm
    bored = size - hone_stock_mm
    budget = combine((*_own(piston), Component(L("clearance"), u_clearance_mm)))
    said = {
        "n": cylinder,
        "finished": Qty(size, "size", budget.u),
        "bored": Qty(bored, "size"),
        "piston": Qty(piston_mm, "size"),
        "clearance": Qty(clearance_mm, "fine"),
    }
    verdict, line = _finished_said(said, chance, wanted)
    shown_piston = Figure(
        "piston", L("Piston at its gauge point, at 20 °C"), Qty(piston_mm, "size", piston.u if piston else None)
    )
    shown_clearance = Figure("clearance", L("Cold clearance on diameter"), Qty(clearance_mm, "fine"))
    return Finished(
        key=f"sizes.{cylinder}",
        line=line,
        value=Qty(size, "size", budget.u),
        verdict=verdict,
        confidence=chance,
        why=(L("Piston {piston} and {clearance} of clearance make {finished}.", **said),),
        figures=(
            shown_piston if measured else replace(shown_piston, **_IMPLIED),
            shown_clearance if maker else replace(shown_clearance, formula=L("share × bore"), source="common practice"),
            Figure("finished", L("Finished size"), Qty(size, "size", budget.u)),
            Figure("bored", L("Bored size"), Qty(bored, "size", math.hypot(budget.u, u_stock_mm))),
            Figure("stock", L("Left for the hone, on diameter"), Qty(hone_stock_mm, "diff")),
        ),
        assumptions=_finished_assumptions(said, maker=maker, measured=measured),
        influences=budget.shares,
        cautions=tuple(_finished_cautions(said, size, piston_mm, clearance_mm, step_finished_mm, measured=measured)),
        cylinder=cylinder,
        piston_mm=piston_mm,
        clearance_mm=clearance_mm,
        finished_mm=size,
        bored_mm=bored,
        u_mm=budget.u,
    )


def _own(piston: Budget | None) -> list[Component]:
    """A piston's own components: each piston was measured by itself, so none is shared."""
    return [Component(c.name, c.u, c.dof, c.sensitivity) for c in (piston.components if piston else ())]


#: Where nobody measured or stated the piston, its size comes about in another way than the usual one.
_IMPLIED: dict[str, Any] = {
    "help": L(
        "What a piston of this step should measure at its gauge point, since none was measured for this bore. Measure it before the last cut, and enter it."
    ),
    "formula": L("nominal + step − clearance"),
    "source": "common practice",
}


def _finished_said(said: Mapping[str, Any], chance: float | None, wanted: float) -> tuple[str, Line]:
    if chance is not None and chance < wanted:
        line = L(
            "Cylinder {n}: {bored} bored, {finished} finished, but the chance that this cleans up is {chance}.",
            **said,
            chance=Qty(chance, "chance"),
        )
        return (Verdict.STOP if chance < 1 - wanted else Verdict.MAYBE), line
    line = L("Cylinder {n}: bore to {bored}, hone to {finished}.", **said)
    return (Verdict.INFO if chance is None else Verdict.GO), line


def _finished_cautions(
    said: Mapping[str, Any],
    size_mm: float,
    piston_mm: float,
    clearance_mm: float,
    step_finished_mm: float | None,
    *,
    measured: bool,
) -> Iterator[Caution]:
    if not measured:
        yield Caution(
            "sizes.measure_pistons",
            L(
                "The piston sizes are taken from the step, not measured. Measure every piston at its gauge point before the last cut."
            ),
        )
    if clearance_mm > LARGE_CLEARANCE * piston_mm:
        yield Caution(
            "sizes.clearance_large",
            L(
                "A clearance of {clearance} is more than pistons of this size get. Check the figure and its unit.",
                **said,
            ),
        )
    if step_finished_mm is not None and abs(size_mm - step_finished_mm) > ANOTHER_STEP_MM:
        yield Caution(
            f"sizes.other_step.{said['n']}",
            L(
                "Cylinder {n}: this piston makes the bore {finished}, and the step chosen means {step}. Is it a piston of another oversize?",
                **said,
                step=Qty(step_finished_mm, "size"),
            ),
        )


def _finished_assumptions(said: Mapping[str, Any], *, maker: bool, measured: bool) -> tuple[Assumption, ...]:
    return (
        Assumption(L("Sizes are stated at 20 °C."), "ISO 1"),
        Assumption(L("A clearance of {clearance}, as the piston's maker gives it.", **said), "entered")
        if maker
        else Assumption(
            L("A clearance of {clearance}, by alloy, duty and cooling. The maker's figure comes before it.", **said),
            "common practice",
        ),
        Assumption(L("Piston size as measured, brought to 20 °C."), "entered")
        if measured
        else Assumption(
            L("Piston size taken as the nominal bore plus the step, less the clearance."), "common practice"
        ),
    )


# -- cold to running ---------------------------------------------------------------------
def running_clearance_mm(
    bore_mm: float, piston_mm: float, wall_c: float, skirt_c: float, alpha_block_per_k: float, alpha_piston_per_k: float
) -> float:
    """Clearance on diameter with the wall at ``wall_c`` and the skirt at ``skirt_c`` (sizes at 20 °C)."""
    return size_at(bore_mm, wall_c, alpha_block_per_k) - size_at(piston_mm, skirt_c, alpha_piston_per_k)


def running(
    *,
    bore_mm: float,
    piston_mm: float,
    wall_c: float,
    skirt_c: float,
    alpha_block_per_k: float,
    alpha_piston_per_k: float,
    u_wall_c: float | None = None,
    u_skirt_c: float | None = None,
    alpha_block_u_per_k: float = 0.0,
    alpha_piston_u_per_k: float = 0.0,
    u_cold_mm: float = 0.003,
    least_mm: float = 0.0,
    wanted: float = 0.95,
    maker: bool = False,
) -> Result:
    """From cold to running clearance, and the margin over ``least_mm``.

    The temperatures' standard uncertainty is that of ± 15 K, rectangular, where None.
    ``maker`` is True where the cold clearance is the piston maker's own: who made the skirt
    knows its shape, and this reckoning does not, so it says nothing against that figure.
    """
    _above_zero(bore_mm, "the bore")
    _above_zero(piston_mm, "the piston")
    spread = from_limits(RUNNING_SPREAD_K)
    wall_u, skirt_u = (spread if u is None else u for u in (u_wall_c, u_skirt_c))
    cold = bore_mm - piston_mm
    warm = running_clearance_mm(bore_mm, piston_mm, wall_c, skirt_c, alpha_block_per_k, alpha_piston_per_k)
    budget = combine(
        (
            Component(L("wall temperature"), wall_u, sensitivity=bore_mm * alpha_block_per_k),
            Component(L("skirt temperature"), skirt_u, sensitivity=-piston_mm * alpha_piston_per_k),
            Component(L("block expansion"), alpha_block_u_per_k, sensitivity=bore_mm * (wall_c - REFERENCE_C)),
            Component(L("piston expansion"), alpha_piston_u_per_k, sensitivity=-piston_mm * (skirt_c - REFERENCE_C)),
            Component(L("finished size and piston"), u_cold_mm),
        )
    )
    margin = warm - least_mm
    chance = chance_between(warm, budget.u, lower=least_mm)
    said = {
        "cold": Qty(cold, "fine"),
        "warm": Qty(warm, "fine", budget.u),
        "margin": Qty(margin, "fine"),
        "chance": Qty(chance, "chance"),
    }
    cautions: tuple[Caution, ...] = ()
    if chance >= wanted:
        verdict, line = Verdict.GO, L("{cold} cold becomes {warm} running: the margin is {margin}.", **said)
    elif maker:
        verdict, line = (
            Verdict.INFO,
            L("{cold} cold is the piston maker's own: it stands. A plain ring would run with {warm}.", **said),
        )
    elif chance >= 0.5:
        verdict, line = (
            Verdict.INFO,
            L(
                "{cold} cold becomes about {warm} running, a thin margin: the chance that it stays clear is {chance}.",
                **said,
            ),
        )
    else:
        verdict = Verdict.MAYBE if chance > 1 - wanted else Verdict.STOP
        line = L("{cold} cold would run tight: {warm} at these temperatures.", **said)
    if verdict != Verdict.GO:
        cautions = (
            Caution(
                "sizes.running_clearance",
                L(
                    "This treats the skirt as a plain ring. A real skirt is oval, tapered and springs; ask the piston's maker before you go by it."
                ),
            ),
        )
    return Result(
        key="sizes.running",
        line=line,
        value=Qty(warm, "fine", budget.u),
        verdict=verdict,
        confidence=None if maker and verdict == Verdict.INFO else chance,
        why=(
            L(
                "The wall grows by {bore} and the skirt by {piston}.",
                bore=Qty(size_at(bore_mm, wall_c, alpha_block_per_k) - bore_mm, "fine"),
                piston=Qty(size_at(piston_mm, skirt_c, alpha_piston_per_k) - piston_mm, "fine"),
            ),
        ),
        figures=(
            Figure("cold", L("Cold clearance on diameter"), Qty(cold, "fine")),
            Figure("running", L("Running clearance on diameter"), Qty(warm, "fine", budget.u)),
            Figure("margin", L("Margin over the least running clearance"), Qty(margin, "fine", budget.u)),
            Figure("wall", L("Wall temperature"), Qty(wall_c, "temperature", wall_u)),
            Figure("skirt", L("Skirt temperature at the gauge point"), Qty(skirt_c, "temperature", skirt_u)),
        ),
        assumptions=(
            Assumption(
                L(
                    "The wall is at {wall} and the skirt at {skirt} when working hard.",
                    wall=Qty(wall_c, "temperature"),
                    skirt=Qty(skirt_c, "temperature"),
                ),
                "from memory",
            ),
            Assumption(
                L(
                    "The block expands by {block}, the piston by {piston}.",
                    block=Qty(alpha_block_per_k, "expansion"),
                    piston=Qty(alpha_piston_per_k, "expansion"),
                ),
                "from memory",
            ),
        ),
        influences=budget.shares,
        cautions=cautions,
    )


def running_temperatures_c(duty: str, cooling: str = "water") -> tuple[float, float]:
    """(wall, skirt) temperatures taken at full work, from memory. Raises ValueError for an unknown key."""
    d = _choice(DUTIES, duty, "duty")
    hotter = AIR_HOTTER_K if cooling == "air" else 0.0
    return d.wall_c + hotter, d.skirt_c + hotter
