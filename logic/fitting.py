"""Measured pistons and measured bores: which goes where, to what size, in what grade and weight.

Sizes are diameters in millimetres at 20 degrees Celsius (ISO 1), a piston's at its
gauge point (:func:`logic.sizing.measured_piston` brings a reading there). Clearance is bore less piston. The best set of pairs is the one whose
worst deviation from the wanted clearance is least and, among those, whose squares add
up to the least (see :mod:`logic.assign`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .assign import even
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Qty
from .uncertainty import Component, chance_between, combine

__all__ = [
    "Fitting",
    "Grade",
    "Grading",
    "OwnSizes",
    "Pair",
    "Piston",
    "Sized",
    "Weights",
    "check_grade",
    "choose_grades",
    "limits_mm",
    "pair_up",
    "size_to_pistons",
    "weigh",
]

MARK = Caution(
    "fitting_mark",
    L("Mark each piston for its cylinder as soon as they are paired, and keep its rings and pin with it."),
)
BALANCE = Caution(
    "fitting_balance",
    L(
        "Take weight off only where the piston's maker allows it, never from the skirt, the ring grooves or the crown. "
        "An engine whose crankshaft is balanced with its pistons needs it balanced again."
    ),
)

_SAME_TEMPERATURE = Assumption(
    L("Pistons and bores are compared at 20 °C, each corrected from the temperature it was measured at."), "ISO 1"
)
_GAUGE_POINT = Assumption(L("Each piston was measured at its maker's gauge point, square to the pin."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Piston:
    """One measured piston: ``number`` is what is marked on it, ``size_mm`` its gauge-point diameter at 20 °C."""

    number: int
    size_mm: float
    u_mm: float = 0.0

    def __post_init__(self) -> None:
        _check_size(self.size_mm, f"piston {self.number}")
        if not self.u_mm >= 0:
            raise ValueError("an uncertainty cannot be below zero")


def _check_size(value_mm: float, what: str) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0):
        raise ValueError(f"{what} needs a size above zero, not {value_mm}")


def _check_set(pistons: Sequence[Piston], bores_mm: Mapping[int, float]) -> list[int]:
    """The cylinders in order, once the set is known to make sense."""
    if len({p.number for p in pistons}) != len(pistons):
        raise ValueError("two pistons carry the same number")
    if not bores_mm:
        raise ValueError("there is no bore to fit a piston to")
    if len(pistons) < len(bores_mm):
        raise ValueError(f"{len(pistons)} pistons are too few for {len(bores_mm)} bores")
    for cylinder, size in bores_mm.items():
        _check_size(size, f"bore {cylinder}")
    return sorted(bores_mm)


def _check_confidence(wanted: float) -> None:
    if not 0.5 <= wanted < 1:
        raise ValueError(f"confidence must be from 0.5 up to below 1, not {wanted}")


def limits_mm(clearance_mm: float, band_mm: float) -> tuple[float, float]:
    """The least and greatest clearance allowed: ``band_mm`` either way, never below nothing."""
    return max(0.0, clearance_mm - band_mm), clearance_mm + band_mm


# -- pairing finished bores --------------------------------------------------------------
class Pair(NamedTuple):
    """One piston in one bore. ``off_mm`` is clearance less the one wanted; ``within`` the chance that it is in limits."""

    cylinder: int
    piston: int
    clearance_mm: float
    u_mm: float
    off_mm: float
    within: float


@dataclass(frozen=True, kw_only=True)
class Fitting(Result):
    """A set, paired: at best, or as somebody has fitted it. ``spare`` are the pistons left over.

    ``worst_mm`` is the largest deviation of these pairs, ``best_mm`` that of the best ones,
    and ``as_numbered_mm`` what it would be with piston n in cylinder n (None if there is
    no such set).
    """

    pairs: tuple[Pair, ...]
    spare: tuple[int, ...]
    worst_mm: float
    best_mm: float
    as_numbered_mm: float | None

    def piston_for(self, cylinder: int) -> int:
        """The number of the piston for a cylinder. Raises KeyError if it has none."""
        return {p.cylinder: p.piston for p in self.pairs}[cylinder]


def pair_up(
    pistons: Sequence[Piston],
    bores_mm: Mapping[int, float],
    *,
    clearance_mm: float,
    low_mm: float,
    high_mm: float,
    u_bore_mm: float = 0.0,
    wanted: float = 0.95,
    fitted: Mapping[int, int] | None = None,
) -> Fitting:
    """Pair pistons with finished bores, at most 64 of them.

    ``fitted`` (cylinder to piston number) judges those pairs instead of the best ones.

    ``bores_mm`` maps cylinder to diameter at 20 °C; there may be more pistons than bores.
    ``clearance_mm`` is the clearance wanted, ``low_mm`` and ``high_mm`` its limits.
    Each pair is judged by itself: go when every one is within limits with a chance of at
    least ``wanted``, stop when one is outside with that chance, else measure again.
    Raises ValueError for too few pistons, doubled numbers, limits out of order, or a
    ``fitted`` that leaves a bore out or uses a piston twice.
    """
    cylinders = _check_set(pistons, bores_mm)
    _check_confidence(wanted)
    if not low_mm <= clearance_mm <= high_mm:
        raise ValueError("the wanted clearance must lie within its limits")
    off = [[bores_mm[c] - p.size_mm - clearance_mm for p in pistons] for c in cylinders]
    chosen = even(off)
    best = max(abs(off[row][column]) for row, column in enumerate(chosen))
    if fitted is not None:
        chosen = _columns(pistons, cylinders, fitted)
    pairs = []
    for row, (cylinder, column) in enumerate(zip(cylinders, chosen)):
        piston = pistons[column]
        clearance, u = bores_mm[cylinder] - piston.size_mm, math.hypot(u_bore_mm, piston.u_mm)
        within = chance_between(clearance, u, low_mm, high_mm)
        pairs.append(Pair(cylinder, piston.number, clearance, u, off[row][column], within))
    worst = max(abs(p.off_mm) for p in pairs)
    doubtful = min(pairs, key=lambda p: p.within)
    risk, is_tight = 1 - doubtful.within, doubtful.clearance_mm < clearance_mm
    numbered = _as_numbered(pistons, bores_mm, clearance_mm)

    gaps = {
        "worst": Qty(worst, "fine"),
        "clearance": Qty(clearance_mm, "fine"),
        "cylinder": doubtful.cylinder,
        "piston": doubtful.piston,
        "got": Qty(doubtful.clearance_mm, "fine", doubtful.u_mm),
        "low": Qty(low_mm, "fine"),
        "high": Qty(high_mm, "fine"),
    }
    if doubtful.within >= wanted:
        verdict, sure = Verdict.GO, doubtful.within
        line = L("Paired as listed, every clearance is within {worst} of {clearance}.", **gaps)
    elif risk >= wanted and is_tight:
        verdict, sure = Verdict.STOP, risk
        line = L(
            "Cylinder {cylinder} with piston {piston} has only {got}; at least {low} is wanted. Hone that bore further.",
            **gaps,
        )
    elif risk >= wanted:
        verdict, sure = Verdict.STOP, risk
        line = L(
            "Cylinder {cylinder} with piston {piston} has {got}; no more than {high} is wanted. Find a larger piston.",
            **gaps,
        )
    else:
        verdict, sure = Verdict.MAYBE, doubtful.within
        line = L(
            "Paired as listed, cylinder {cylinder} with piston {piston} is too close to call at {got}. Measure both again.",
            **gaps,
        )

    why = [
        L(
            "Cylinder {cylinder} takes piston {piston}: clearance {clearance}.",
            cylinder=p.cylinder,
            piston=p.piston,
            clearance=Qty(p.clearance_mm, "fine", p.u_mm),
        )
        for p in pairs
    ]
    if worst - best > 5e-7:
        why.append(L("Paired at best, the worst would be {best} off.", best=Qty(best, "fine")))
    elif numbered is not None:
        if numbered - worst > 5e-7:
            why.append(L("Put in as they are numbered, the worst would be {worst} off.", worst=Qty(numbered, "fine")))
        elif all(p.cylinder == p.piston for p in pairs):
            why.append(L("Put in as they are numbered they already fit as well as they can."))
    spare = tuple(sorted({p.number for p in pistons} - {p.piston for p in pairs}))
    if spare:
        why.append(L("Left over: piston {spare}.", spare=spare))
    return Fitting(
        key="fitting.pairs",
        line=line,
        value=Qty(worst, "fine"),
        verdict=verdict,
        confidence=sure,
        why=tuple(why),
        figures=tuple(
            Figure(
                f"clearance.{p.cylinder}",
                L("Cylinder {cylinder}, piston {piston}", cylinder=p.cylinder, piston=p.piston),
                Qty(p.clearance_mm, "fine", p.u_mm),
            )
            for p in pairs
        ),
        assumptions=(_SAME_TEMPERATURE, _GAUGE_POINT),
        influences=combine(
            (
                Component(L("Measuring the bores"), u_bore_mm),
                Component(L("Measuring the pistons"), max(p.u_mm for p in pistons)),
            )
        ).shares,
        cautions=(MARK,),
        pairs=tuple(pairs),
        spare=spare,
        worst_mm=worst,
        best_mm=best,
        as_numbered_mm=numbered,
    )


def _columns(pistons: Sequence[Piston], cylinders: Sequence[int], fitted: Mapping[int, int]) -> tuple[int, ...]:
    """Which piston of the list each cylinder has, as stated."""
    where = {p.number: k for k, p in enumerate(pistons)}
    if any(fitted.get(c) not in where for c in cylinders) or len({fitted[c] for c in cylinders}) != len(cylinders):
        raise ValueError("each bore needs a piston of the set, and none twice")
    return tuple(where[fitted[c]] for c in cylinders)


def _as_numbered(pistons: Sequence[Piston], bores_mm: Mapping[int, float], clearance_mm: float) -> float | None:
    sizes = {p.number: p.size_mm for p in pistons}
    if not set(bores_mm) <= set(sizes):
        return None
    return max(abs(bore - sizes[c] - clearance_mm) for c, bore in bores_mm.items())


# -- sizing bores to pistons ---------------------------------------------------------------
class Sized(NamedTuple):
    """One bore to be finished for its own piston; ``stock_mm`` is what is left to take out, on diameter."""

    cylinder: int
    piston: int
    finished_mm: float
    stock_mm: float


@dataclass(frozen=True, kw_only=True)
class OwnSizes(Result):
    """Finished sizes when each bore is made for its own piston. ``spare`` are the pistons left over."""

    sizes: tuple[Sized, ...]
    spare: tuple[int, ...]

    def finished_mm(self, cylinder: int) -> float:
        """The finished size of one cylinder. Raises KeyError if it is not in the set."""
        return {s.cylinder: s.finished_mm for s in self.sizes}[cylinder]


def size_to_pistons(
    pistons: Sequence[Piston],
    bores_mm: Mapping[int, float],
    *,
    clearance_mm: float,
    stock_mm: float,
    least_stock_mm: float = 0.0,
) -> OwnSizes:
    """Choose a piston for each bore as it stands now and the size to finish it to.

    Pistons are dealt out so that what the hone must take from each bore is as near as can
    be to ``stock_mm``. Stop where a bore is left with less than ``least_stock_mm``.
    Raises ValueError as :func:`pair_up` does, or for a least stock above the wanted one.
    """
    cylinders = _check_set(pistons, bores_mm)
    if not 0 <= least_stock_mm <= stock_mm:
        raise ValueError("the least stock must lie between zero and the stock wanted")
    chosen = even([[p.size_mm + clearance_mm - bores_mm[c] - stock_mm for p in pistons] for c in cylinders])
    sizes = tuple(
        Sized(c, pistons[k].number, pistons[k].size_mm + clearance_mm, pistons[k].size_mm + clearance_mm - bores_mm[c])
        for c, k in zip(cylinders, chosen)
    )
    least = min(sizes, key=lambda s: s.stock_mm)
    spread = max(s.finished_mm for s in sizes) - min(s.finished_mm for s in sizes)
    gaps = {
        "cylinder": least.cylinder,
        "piston": least.piston,
        "stock": Qty(least.stock_mm, "diff"),
        "least": Qty(least_stock_mm, "diff"),
        "spread": Qty(spread, "fine"),
    }
    if least.stock_mm < 0:
        verdict = Verdict.STOP
        line = L(
            "Cylinder {cylinder} is already larger than piston {piston} wants. No way of dealing them out helps.",
            **gaps,
        )
    elif least.stock_mm < least_stock_mm:
        verdict = Verdict.STOP
        line = L("Cylinder {cylinder} has only {stock} left for the hone; at least {least} is wanted.", **gaps)
    else:
        verdict = Verdict.GO
        line = L("Finish each bore for its own piston; the sizes differ by {spread}.", **gaps)
    spare = tuple(sorted({p.number for p in pistons} - {s.piston for s in sizes}))
    return OwnSizes(
        key="fitting.own",
        line=line,
        value=Qty(spread, "fine"),
        verdict=verdict,
        why=tuple(
            L(
                "Cylinder {cylinder} takes piston {piston}: finish to {finished}, {stock} from now.",
                cylinder=s.cylinder,
                piston=s.piston,
                finished=Qty(s.finished_mm, "size"),
                stock=Qty(s.stock_mm, "diff"),
            )
            for s in sizes
        )
        + ((L("Left over: piston {spare}.", spare=spare),) if spare else ()),
        figures=tuple(
            Figure(
                f"finished.{s.cylinder}",
                L("Finish cylinder {cylinder} to", cylinder=s.cylinder),
                Qty(s.finished_mm, "size"),
            )
            for s in sizes
        ),
        assumptions=(
            _SAME_TEMPERATURE,
            _GAUGE_POINT,
            Assumption(
                L("The clearance wanted is {clearance} in every bore.", clearance=Qty(clearance_mm, "fine")),
                "entered or common practice",
            ),
        ),
        cautions=(MARK,),
        sizes=sizes,
        spare=spare,
    )


# -- graded pistons ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One of a maker's size groups: pistons marked ``name`` measure from ``low_mm`` to ``high_mm``."""

    name: str
    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.high_mm) and 0 < self.low_mm <= self.high_mm):
            raise ValueError(f"grade {self.name!r} cannot run from {self.low_mm} to {self.high_mm} mm")

    @property
    def middle_mm(self) -> float:
        return (self.low_mm + self.high_mm) / 2


@dataclass(frozen=True, kw_only=True)
class Grading(Result):
    """The grade for each cylinder, and how many of each to order."""

    grades: Mapping[int, str]
    order: Mapping[str, int]


def choose_grades(
    bores_mm: Mapping[int, float], grades: Sequence[Grade], *, clearance_mm: float, low_mm: float, high_mm: float
) -> Grading:
    """For each finished bore the grade whose middle gives the clearance nearest to the one wanted.

    Stop where no piston of the chosen grade can be within limits; measure again (each
    piston, when it comes) where only some can. Raises ValueError without bores or
    grades, for doubled names, or limits out of order.
    """
    if not bores_mm or not grades:
        raise ValueError("grades are chosen from at least one bore and one grade")
    if len({g.name for g in grades}) != len(grades):
        raise ValueError("two grades carry the same name")
    if not low_mm <= clearance_mm <= high_mm:
        raise ValueError("the wanted clearance must lie within its limits")
    chosen = {c: min(grades, key=lambda g: abs(b - g.middle_mm - clearance_mm)) for c, b in sorted(bores_mm.items())}
    some, none = [], []
    why = []
    for cylinder, grade in chosen.items():
        tightest, loosest = bores_mm[cylinder] - grade.high_mm, bores_mm[cylinder] - grade.low_mm
        why.append(
            L(
                "Cylinder {cylinder} takes grade {grade}: clearance {tightest} to {loosest}.",
                cylinder=cylinder,
                grade=grade.name,
                tightest=Qty(tightest, "fine"),
                loosest=Qty(loosest, "fine"),
            )
        )
        if loosest < low_mm or tightest > high_mm:
            none.append(cylinder)
        elif tightest < low_mm or loosest > high_mm:
            some.append(cylinder)
    order = {g.name: sum(c.name == g.name for c in chosen.values()) for g in grades}
    order = {name: n for name, n in order.items() if n}
    wanted = tuple(L("{count} of grade {grade}", count=n, grade=name) for name, n in order.items())
    if none:
        verdict, line = Verdict.STOP, L("No grade fits cylinder {cylinders} within the limits.", cylinders=tuple(none))
    elif some:
        verdict = Verdict.MAYBE
        line = L(
            "Order {order}. Measure the pistons for cylinder {cylinders}: not all of that grade fit.",
            order=wanted,
            cylinders=tuple(some),
        )
    else:
        verdict, line = Verdict.GO, L("Order {order}.", order=wanted)
    return Grading(
        key="fitting.grades",
        line=line,
        verdict=verdict,
        why=tuple(why),
        assumptions=(
            _SAME_TEMPERATURE,
            Assumption(L("Pistons lie anywhere within the limits of the grade marked on them."), "entered"),
        ),
        cautions=(MARK,),
        grades={c: g.name for c, g in chosen.items()},
        order=order,
    )


def check_grade(piston: Piston, marked: Grade, grades: Sequence[Grade] = ()) -> Result:
    """Whether a measured piston agrees with the grade marked on it (within two standard uncertainties).

    ``grades`` are the others it might be, named in the answer if one fits better.
    """
    slack = 2 * piston.u_mm
    gaps = {"piston": piston.number, "size": Qty(piston.size_mm, "size", piston.u_mm), "grade": marked.name}
    if marked.low_mm - slack <= piston.size_mm <= marked.high_mm + slack:
        verdict, line = Verdict.GO, L("Piston {piston} measures {size}, as grade {grade} should.", **gaps)
    else:
        verdict = Verdict.STOP
        fits = [g.name for g in grades if g.low_mm <= piston.size_mm <= g.high_mm]
        line = (
            L("Piston {piston} is marked {grade} but measures {size}, as grade {other} should.", other=fits[0], **gaps)
            if fits
            else L(
                "Piston {piston} is marked {grade} but measures {size}. Measure it again at the gauge point.", **gaps
            )
        )
    return Result(
        key=f"fitting.grade.{piston.number}",
        line=line,
        value=Qty(piston.size_mm, "size", piston.u_mm),
        verdict=verdict,
        assumptions=(_GAUGE_POINT,),
    )


# -- weights --------------------------------------------------------------------------------
#: Spread of weight in a set that is left alone in a road engine (common practice, no source).
SPREAD_G = 5.0


@dataclass(frozen=True, kw_only=True)
class Weights(Result):
    """The spread of a set's weights; ``off_g`` is what to take off each piston to match the lightest.

    ``force_n`` is the first-order shaking force of the spread, where stroke and speed are known.
    """

    spread_g: float
    off_g: Mapping[int, float]
    force_n: float | None = None


def weigh(
    weights_g: Mapping[int, float],
    *,
    allowed_g: float = SPREAD_G,
    u_g: float = 0.0,
    stroke_mm: float | None = None,
    spin_rpm: float | None = None,
    mixed_sizes: bool = False,
) -> Weights:
    """Judge a set of piston weights (g, by piston number).

    ``u_g`` is the standard uncertainty of one weighing. The shaking force of the spread is
    m r ω², its first-order part (an endless rod). ``mixed_sizes`` says that the set holds
    more than one oversize. Raises ValueError for fewer than two pistons or a weight not above zero.
    """
    if len(weights_g) < 2:
        raise ValueError("a spread needs at least two weights")
    if any(not (math.isfinite(w) and w > 0) for w in weights_g.values()):
        raise ValueError("weights must be above zero")
    if allowed_g < 0 or u_g < 0:
        raise ValueError("an allowed spread and an uncertainty cannot be below zero")
    heavy, light = max(weights_g, key=lambda n: weights_g[n]), min(weights_g, key=lambda n: weights_g[n])
    spread = weights_g[heavy] - weights_g[light]
    u = u_g * math.sqrt(2)
    force = None
    if stroke_mm is not None and spin_rpm is not None:
        force = spread / 1000 * stroke_mm / 2000 * (2 * math.pi * spin_rpm / 60) ** 2
    gaps = {"spread": Qty(spread, "mass", u), "heavy": heavy, "light": light, "allowed": Qty(allowed_g, "mass")}
    over = 1 - chance_between(spread, u, upper=allowed_g)
    if over <= 0.05:
        verdict, sure = Verdict.GO, 1 - over
        line = L("The pistons weigh within {spread} of each other; up to {allowed} is left alone.", **gaps)
    elif over >= 0.95:
        verdict, sure = Verdict.STOP, over
        line = L(
            "Piston {heavy} weighs {spread} more than piston {light}; up to {allowed} is left alone. Match them first.",
            **gaps,
        )
    else:
        verdict, sure = Verdict.MAYBE, 1 - over
        line = L(
            "The pistons differ by {spread}, too close to {allowed} to call. Weigh {heavy} and {light} again.", **gaps
        )
    why = []
    if force is not None and spin_rpm is not None:
        why.append(
            L("At {spin} the difference shakes with {force}.", spin=Qty(spin_rpm, "spin"), force=Qty(force, "force"))
        )
    if mixed_sizes:
        why.append(L("The set holds more than one oversize, and those weigh differently."))
    return Weights(
        key="fitting.weights",
        line=line,
        value=Qty(spread, "mass", u),
        verdict=verdict,
        confidence=sure,
        why=tuple(why),
        figures=(
            Figure("spread", L("Heaviest less lightest"), Qty(spread, "mass", u)),
            Figure("allowed", L("Spread left alone"), Qty(allowed_g, "mass")),
        )
        + ((Figure("force", L("Shaking force of the difference"), Qty(force, "force")),) if force is not None else ()),
        assumptions=(
            Assumption(L("Every piston was weighed the same way: with its pin, or all without."), "common practice"),
            Assumption(
                L("A spread of up to {allowed} is left alone.", allowed=Qty(allowed_g, "mass")), "common practice"
            ),
        ),
        cautions=(BALANCE,) if verdict != Verdict.GO or mixed_sizes else (),
        spread_g=spread,
        off_g={n: w - weights_g[light] for n, w in weights_g.items()},
        force_n=force,
    )
