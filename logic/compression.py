"""Capacity and compression ratio, before and after the bore is cut and the face skimmed.

Swept volume of one cylinder V = π/4 D² S. Left above the piston at the top of its
stroke: the chamber, the gasket's hole, the room below the face, and the crown's dish
(a dome counts against it). The ratio is (swept + left) / left. Plain geometry; volumes
in cubic centimetres, lengths in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import Budget, Component, chance_between, combine

__all__ = [
    "LEAST_GAPS_MM",
    "LEAST_GAP_MM",
    "Compression",
    "Doubt",
    "Space",
    "capacity",
    "capacity_cm3",
    "compression",
    "gasket_cover",
    "left_cm3",
    "piston_gap",
    "ratio",
    "ratio_budget",
    "worked",
]

#: Least distance from the piston's flat to the head with a steel rod: 0.040 in (common practice, no source).
LEAST_GAP_MM = 1.016
#: The same by what the engine does, keys as in :data:`logic.sizing.DUTIES`: a diesel is built closer and
#: turns slowly, speed stretches rod and bearings (common practice, no source).
LEAST_GAPS_MM: Mapping[str, float] = {
    "gentle": 0.889,
    "road": LEAST_GAP_MM,
    "hard": 1.143,
    "diesel": 0.762,
    "boosted": 1.143,
    "race": 1.27,
}
#: How much larger than the bore a gasket's hole should be, all round: 0.5 mm (common practice, no source).
GASKET_COVER_MM = 0.5


def _disc_cm3(diameter_mm: float, height_mm: float) -> float:
    return math.pi / 4 * diameter_mm * diameter_mm * height_mm / 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """What one cylinder's ratio is made of.

    ``deck_mm`` is how far the crown's flat lies below the block's face at top dead centre
    (below zero if it stands proud); ``crown_cm3`` a dish (a dome is below zero).
    ``gasket_mm`` is the gasket's thickness once clamped. Raises ValueError for a size
    that cannot be.
    """

    bore_mm: float
    stroke_mm: float
    chamber_cm3: float
    gasket_bore_mm: float
    gasket_mm: float
    deck_mm: float = 0.0
    crown_cm3: float = 0.0

    def __post_init__(self) -> None:
        for name in ("bore_mm", "stroke_mm", "gasket_bore_mm"):
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) > 0):
                raise ValueError(f"{name} must be finite and above zero")
        for name in ("chamber_cm3", "gasket_mm"):
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) >= 0):
                raise ValueError(f"{name} must be finite and not below zero")
        for name in ("deck_mm", "crown_cm3"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"{name} must be finite")


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Standard uncertainties of the parts of a :class:`Space` (common practice with burette, depth gauge, rule)."""

    bore_mm: float = 0.005
    stroke_mm: float = 0.03
    chamber_cm3: float = 0.2
    gasket_bore_mm: float = 0.2
    gasket_mm: float = 0.03
    deck_mm: float = 0.02
    crown_cm3: float = 0.2


def worked(
    before: Space,
    *,
    bore_mm: float,
    skim_mm: float = 0.0,
    taller_mm: float = 0.0,
    chamber_cm3: float | None = None,
    gasket_bore_mm: float | None = None,
    gasket_mm: float | None = None,
    crown_cm3: float | None = None,
) -> Space:
    """The space after the work: bored to ``bore_mm``, the block's face skimmed by ``skim_mm``.

    ``taller_mm`` is how much more compression height the new pistons have (below zero:
    less). What is None stays as it was. Raises ValueError as :class:`Space` does, and for
    a skim below zero.
    """
    if not skim_mm >= 0:
        raise ValueError("a skim takes metal off: it cannot be below zero")
    return replace(
        before,
        bore_mm=bore_mm,
        deck_mm=before.deck_mm - skim_mm - taller_mm,
        chamber_cm3=before.chamber_cm3 if chamber_cm3 is None else chamber_cm3,
        gasket_bore_mm=before.gasket_bore_mm if gasket_bore_mm is None else gasket_bore_mm,
        gasket_mm=before.gasket_mm if gasket_mm is None else gasket_mm,
        crown_cm3=before.crown_cm3 if crown_cm3 is None else crown_cm3,
    )


def capacity_cm3(bore_mm: float, stroke_mm: float, cylinders: int = 1) -> float:
    """Swept volume π/4 D² S n. Raises ValueError for sizes or a count not above zero."""
    if not (bore_mm > 0 and stroke_mm > 0 and cylinders > 0):
        raise ValueError("bore, stroke and cylinders must be above zero")
    return _disc_cm3(bore_mm, stroke_mm) * cylinders


def left_cm3(space: Space) -> float:
    """What is left above the piston at top dead centre; may come out at or below zero for sizes that cannot be."""
    return (
        space.chamber_cm3
        + _disc_cm3(space.gasket_bore_mm, space.gasket_mm)
        + _disc_cm3(space.bore_mm, space.deck_mm)
        + space.crown_cm3
    )


def ratio(space: Space) -> float:
    """The compression ratio. Raises ValueError where nothing is left above the piston."""
    left = left_cm3(space)
    if left <= 0:
        raise ValueError("these sizes leave no room above the piston")
    return 1 + capacity_cm3(space.bore_mm, space.stroke_mm) / left


def ratio_budget(space: Space, doubt: Doubt) -> Budget:
    """The standard uncertainty of :func:`ratio` from those of its parts (JCGM 100:2008, 5.1.2). Same errors."""
    left, swept = left_cm3(space), capacity_cm3(space.bore_mm, space.stroke_mm)
    if left <= 0:
        raise ValueError("these sizes leave no room above the piston")
    per_left = -swept / left**2  # change of the ratio for one cubic centimetre more left
    area = math.pi / 4 * space.bore_mm**2 / 1000
    gasket_area = math.pi / 4 * space.gasket_bore_mm**2 / 1000
    by_bore = 2 * swept / space.bore_mm / left + per_left * 2 * area * space.deck_mm / space.bore_mm
    return combine(
        (
            Component(L("Bore"), doubt.bore_mm, sensitivity=by_bore),
            Component(L("Stroke"), doubt.stroke_mm, sensitivity=area / left),
            Component(L("Chamber volume"), doubt.chamber_cm3, sensitivity=per_left),
            Component(
                L("Gasket bore"),
                doubt.gasket_bore_mm,
                sensitivity=per_left * 2 * gasket_area * space.gasket_mm / space.gasket_bore_mm,
            ),
            Component(L("Gasket thickness"), doubt.gasket_mm, sensitivity=per_left * gasket_area),
            Component(L("Deck clearance"), doubt.deck_mm, sensitivity=per_left * area),
            Component(L("Crown volume"), doubt.crown_cm3, sensitivity=per_left),
        )
    )


# -- results ------------------------------------------------------------------------------
def capacity(before_mm: float, after_mm: Sequence[float], stroke_mm: float) -> Result:
    """The engine's capacity before (every bore ``before_mm``) and after (one size per cylinder).

    Errors as :func:`capacity_cm3`; ValueError without cylinders.
    """
    before = capacity_cm3(before_mm, stroke_mm, len(after_mm))
    after = math.fsum(capacity_cm3(d, stroke_mm) for d in after_mm)
    gaps = {
        "before": Qty(before, "capacity"),
        "after": Qty(after, "capacity"),
        "change": Qty(after - before, "capacity"),
        "percent": Qty(after / before - 1, "percent"),
    }
    return Result(
        key="compression.capacity",
        line=L("Capacity goes from {before} to {after}.", **gaps)
        if abs(after - before) >= 0.05
        else L("Capacity is {after}.", **gaps),
        value=Qty(after, "capacity"),
        figures=(
            Figure("before", L("Capacity before"), Qty(before, "capacity")),
            Figure("after", L("Capacity after"), Qty(after, "capacity")),
            Figure("change", L("Gain"), Qty(after - before, "capacity")),
        ),
        assumptions=(
            Assumption(L("Before, every bore was nominal. A maker's stated capacity may be rounded."), "geometry"),
        ),
    )


@dataclass(frozen=True, kw_only=True)
class Compression(Result):
    """The ratio before and after. ``restore_cm3`` is the volume to add to get the old ratio back
    (below zero: to take away), ``restore_gasket_mm`` the same as gasket thickness; None where a ratio is impossible."""

    before: float | None
    after: float | None
    restore_cm3: float | None = None
    restore_gasket_mm: float | None = None


_NO_CREVICE = Assumption(
    L(
        "The thin space round the piston above the top ring, and the plug and valve recesses not in the chamber reading, are left out."
    )
)
_FUEL = Caution(
    "compression_fuel",
    L("A higher ratio may call for better fuel, later ignition or both. Ask the engine's maker or whoever sets it up."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioChange:
    """The ratio before and after, with ``budget`` for the latter.

    ``restore_cm3`` is the volume that brings the old ratio back, ``restore_gasket_mm`` the
    same as gasket thickness. ``bore_ratio`` and ``skim_ratio`` are what the bore, or the
    skim, alone would make of the old ratio (None where it took no part).
    """

    before: float
    after: float
    budget: Budget
    swept_cm3: float
    left_cm3: float
    restore_cm3: float
    restore_gasket_mm: float
    bore_ratio: float | None
    skim_ratio: float | None

    @property
    def shows(self) -> bool:
        """Whether the change is large enough to be said."""
        return abs(self.after - self.before) >= 0.005


def ratio_change(before: Space, after: Space, doubt: Doubt, skim_mm: float) -> RatioChange:
    """Work out the change of ratio. Raises ValueError where either leaves no room above the piston."""
    old, new = ratio(before), ratio(after)
    swept = capacity_cm3(after.bore_mm, after.stroke_mm)
    restore = swept / (old - 1) - left_cm3(after)
    bore_alone = replace(before, bore_mm=after.bore_mm) if after.bore_mm != before.bore_mm else None
    skim_alone = replace(before, deck_mm=before.deck_mm - skim_mm) if skim_mm > 0 else None
    return RatioChange(
        before=old,
        after=new,
        budget=ratio_budget(after, doubt),
        swept_cm3=swept,
        left_cm3=left_cm3(after),
        restore_cm3=restore,
        restore_gasket_mm=restore / _disc_cm3(after.gasket_bore_mm, 1.0),
        bore_ratio=_ratio_or_none(bore_alone),
        skim_ratio=_ratio_or_none(skim_alone),
    )


def _ratio_or_none(space: Space | None) -> float | None:
    return None if space is None or left_cm3(space) <= 0 else ratio(space)


def compression(
    before: Space, after: Space, *, doubt: Doubt = Doubt(), highest: float | None = None, skim_mm: float = 0.0
) -> Compression:
    """The ratio of ``after`` against that of ``before``.

    ``highest`` is the highest ratio wanted, if one is stated: then go when ``after`` is at
    or below it with 95 % confidence, stop when above with as much, else measure again.
    ``skim_mm`` is the part of the change in face clearance that the skim made; it only
    serves to say which part of the change came from where.
    """
    if left_cm3(before) <= 0 or left_cm3(after) <= 0:
        return Compression(
            key="compression.ratio",
            line=L("These sizes leave no room above the piston. Check the dome, the deck clearance and the chamber."),
            verdict=Verdict.STOP,
            assumptions=(_NO_CREVICE,),
            before=None if left_cm3(before) <= 0 else ratio(before),
            after=None,
        )
    found = ratio_change(before, after, doubt, skim_mm)
    value = Qty(found.after, "ratio", found.budget.u)
    verdict, sure, line = _ratio_said(found, highest)
    return Compression(
        key="compression.ratio",
        line=line,
        value=value,
        verdict=verdict,
        confidence=sure,
        why=_ratio_reasons(found, skim_mm),
        figures=(
            Figure("before", L("Ratio before"), Qty(found.before, "ratio")),
            Figure("after", L("Ratio after"), value),
            Figure("swept", L("Swept by one piston"), Qty(found.swept_cm3, "capacity")),
            Figure("left", L("Left above the piston"), Qty(found.left_cm3, "volume")),
            Figure("restore", L("Volume that brings the old ratio back"), Qty(found.restore_cm3, "volume")),
        ),
        assumptions=(
            _NO_CREVICE,
            Assumption(L("The chamber was measured by filling it, with plug and valves in."), "common practice"),
        ),
        influences=found.budget.shares,
        cautions=(_FUEL,) if found.after - found.before > 0.1 else (),
        before=found.before,
        after=found.after,
        restore_cm3=found.restore_cm3,
        restore_gasket_mm=found.restore_gasket_mm,
    )


def _ratio_said(found: RatioChange, highest: float | None) -> tuple[str, float | None, Line]:
    """The verdict on the new ratio, how sure it is, and the sentence."""
    gaps = {"before": Qty(found.before, "ratio"), "after": Qty(found.after, "ratio", found.budget.u)}
    if highest is None:
        if found.shows:
            return Verdict.INFO, None, L("Compression goes from {before} to {after} to 1.", **gaps)
        return Verdict.INFO, None, L("Compression stays at {after} to 1.", **gaps)
    gaps["highest"] = Qty(highest, "ratio")
    inside = chance_between(found.after, found.budget.u, upper=highest)
    if inside >= 0.95:
        line = L("Compression goes from {before} to {after} to 1, within the {highest} wanted.", **gaps)
        return Verdict.GO, inside, line
    if inside <= 0.05:
        line = L("Compression goes from {before} to {after} to 1, above the {highest} wanted.", **gaps)
        return Verdict.STOP, 1 - inside, line
    line = L(
        "Compression goes from {before} to {after} to 1, too close to the {highest} wanted to call. Measure the volumes again.",
        **gaps,
    )
    return Verdict.MAYBE, inside, line


def _ratio_reasons(found: RatioChange, skim_mm: float) -> tuple[Line, ...]:
    """Which part of the change came from where, and what would bring the old ratio back."""
    why = []
    if found.bore_ratio is not None:
        why.append(L("The larger bore alone would make it {part}.", part=Qty(found.bore_ratio, "ratio")))
    if found.skim_ratio is not None:
        skim, part = Qty(skim_mm, "diff"), Qty(found.skim_ratio, "ratio")
        why.append(L("The skim of {skim} alone would make it {part}.", skim=skim, part=part))
    if found.shows and found.restore_cm3 > 0:
        why.append(
            L(
                "Adding {volume} to each chamber or crown would bring the old ratio back; so would a gasket thicker by {gasket}.",
                volume=Qty(found.restore_cm3, "volume"),
                gasket=Qty(found.restore_gasket_mm, "diff"),
            )
        )
    elif found.shows:
        volume = Qty(-found.restore_cm3, "volume")
        why.append(L("Taking {volume} from each chamber would bring the old ratio back.", volume=volume))
    return tuple(why)


_STRIKE = Caution(
    "compression_strike",
    L(
        "Before the head goes on for good, turn the engine over by hand with modelling clay on the crown and measure what is left."
    ),
)


def piston_gap(space: Space, *, least_mm: float = LEAST_GAP_MM, doubt: Doubt = Doubt(), wanted: float = 0.95) -> Result:
    """The distance from the crown's flat to the head at top dead centre, gasket included, against the least.

    Raises ValueError for a confidence outside 0.5 to 1 or a least below zero.
    """
    if not 0.5 <= wanted < 1 or least_mm < 0:
        raise ValueError("a confidence from 0.5 to below 1 and a least of zero or more are needed")
    gap = space.gasket_mm + space.deck_mm
    budget = combine((Component(L("Gasket thickness"), doubt.gasket_mm), Component(L("Deck clearance"), doubt.deck_mm)))
    held = chance_between(gap, budget.u, lower=least_mm)
    gaps = {
        "gap": Qty(gap, "diff", budget.u),
        "least": Qty(least_mm, "diff"),
        "short": Qty(max(0.0, least_mm - gap), "diff"),
    }
    if gap <= 0:
        verdict, sure = Verdict.STOP, 1 - held
        line = L("The piston would strike the head: nothing is left between them.")
    elif held >= wanted:
        verdict, sure = Verdict.GO, held
        line = L("At the top the piston's flat stays {gap} from the head; at least {least} is wanted.", **gaps)
    elif held <= 1 - wanted:
        verdict, sure = Verdict.STOP, 1 - held
        line = L(
            "At the top only {gap} is left between the piston's flat and the head, {short} less than wanted.", **gaps
        )
    else:
        verdict, sure = Verdict.MAYBE, held
        line = L(
            "The {gap} left between the piston's flat and the head is too close to {least} to call. Measure the deck clearance again.",
            **gaps,
        )
    return Result(
        key="compression.gap",
        line=line,
        value=Qty(gap, "diff", budget.u),
        verdict=verdict,
        confidence=sure,
        figures=(
            Figure("gap", L("Piston to head"), Qty(gap, "diff", budget.u)),
            Figure("least", L("Least wanted"), Qty(least_mm, "diff")),
        ),
        assumptions=(
            Assumption(L("The head is flat over the piston's rim and the rod is steel; a light-alloy rod wants more.")),
            Assumption(L("The gasket is at its clamped thickness."), "entered"),
        ),
        influences=budget.shares,
        cautions=(_STRIKE,),
    )


def gasket_cover(bore_mm: float, gasket_bore_mm: float, *, wanted_mm: float = GASKET_COVER_MM) -> Result:
    """Whether the gasket's hole clears the finished bore all round. Errors as :class:`Space`."""
    if not (bore_mm > 0 and gasket_bore_mm > 0 and wanted_mm >= 0):
        raise ValueError("bore and gasket hole must be above zero")
    all_round = (gasket_bore_mm - bore_mm) / 2
    gaps = {
        "bore": Qty(bore_mm, "size"),
        "hole": Qty(gasket_bore_mm, "place"),
        "cover": Qty(all_round, "diff"),
        "wanted": Qty(wanted_mm, "diff"),
    }
    if all_round < 0:
        verdict, line = (
            Verdict.STOP,
            L(
                "The gasket bore of {hole} is smaller than the cylinder's {bore} and would hang into it. Find a gasket for the new size.",
                **gaps,
            ),
        )
    elif all_round < wanted_mm:
        verdict, line = (
            Verdict.MAYBE,
            L("The gasket clears the bore by only {cover} all round, less than {wanted}. Lay it on and look.", **gaps),
        )
    else:
        verdict, line = Verdict.GO, L("The gasket clears the bore by {cover} all round.", **gaps)
    return Result(
        key="compression.gasket",
        line=line,
        value=Qty(all_round, "diff"),
        verdict=verdict,
        assumptions=(Assumption(L("The gasket lies centred on the bore; its maker's limits come first.")),),
    )
