"""Measured pistons and measured bores: which goes where, to what size, in what grade and weight.

Sizes are diameters in millimetres at 20 degrees Celsius (ISO 1), a piston's at its
gauge point (:func:`logic.sizing.measured_piston` brings a reading there). Clearance is bore less piston. The best set of pairs is the one whose
worst deviation from the wanted clearance is least and, among those, whose squares add
up to the least (see :mod:`logic.assign`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .piston_fit import (
    Grade,
    Graded,
    Pair,
    Paired,
    Piston,
    Sized,
    WeightSpread,
    graded,
    limits_mm,
    paired,
    shaking_force_n,
    sized,
    weight_spread,
)
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import LN, L, Line, Qty
from .uncertainty import Component, combine

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


# -- pairing finished bores --------------------------------------------------------------
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
    found = paired(
        pistons,
        bores_mm,
        clearance_mm=clearance_mm,
        low_mm=low_mm,
        high_mm=high_mm,
        u_bore_mm=u_bore_mm,
        wanted=wanted,
        fitted=fitted,
    )
    gaps = {
        "worst": Qty(found.worst_mm, "fine"),
        "clearance": Qty(clearance_mm, "fine"),
        "cylinder": found.doubtful.cylinder,
        "piston": found.doubtful.piston,
        "got": Qty(found.doubtful.clearance_mm, "fine", found.doubtful.u_mm),
        "low": Qty(low_mm, "fine"),
        "high": Qty(high_mm, "fine"),
    }
    risk, is_tight = 1 - found.doubtful.within, found.doubtful.clearance_mm < clearance_mm
    if found.doubtful.within >= wanted:
        verdict, sure = Verdict.GO, found.doubtful.within
        line = L("No measured clearance is more than {worst} off {clearance}, paired as listed.", **gaps)
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
        verdict, sure = Verdict.MAYBE, found.doubtful.within
        line = L(
            "Cylinder {cylinder} with piston {piston} is too close to call at {got}. Measure both again.",
            **gaps,
        )
    return Fitting(
        key="fitting.pairs",
        line=line,
        value=Qty(found.worst_mm, "fine"),
        verdict=verdict,
        confidence=sure,
        why=_pairs_said(found),
        figures=tuple(
            Figure(
                f"clearance.{p.cylinder}",
                L("Cylinder {cylinder}, piston {piston}", cylinder=p.cylinder, piston=p.piston),
                Qty(p.clearance_mm, "fine", p.u_mm),
            )
            for p in found.pairs
        ),
        assumptions=(_SAME_TEMPERATURE, _GAUGE_POINT),
        influences=combine(
            (
                Component(L("Measuring the bores"), u_bore_mm),
                Component(L("Measuring the pistons"), max(p.u_mm for p in pistons)),
            )
        ).shares,
        cautions=(MARK,),
        pairs=found.pairs,
        spare=found.spare,
        worst_mm=found.worst_mm,
        best_mm=found.best_mm,
        as_numbered_mm=found.numbered_mm,
    )


def _pairs_said(found: Paired) -> tuple[Line, ...]:
    """The pairs one by one, how they compare with other ways of pairing, and what is left over."""
    why = [
        L(
            "Cylinder {cylinder} takes piston {piston}: clearance {clearance}.",
            cylinder=p.cylinder,
            piston=p.piston,
            clearance=Qty(p.clearance_mm, "fine", p.u_mm),
        )
        for p in found.pairs
    ]
    other = _other_ways_said(found)
    if other is not None:
        why.append(other)
    if found.spare:
        why.append(L("Left over: piston {spare}.", spare=found.spare))
    return tuple(why)


def _other_ways_said(found: Paired) -> Line | None:
    if found.worst_mm - found.best_mm > 5e-7:
        return L("The best pairing would still be {best} off.", best=Qty(found.best_mm, "fine"))
    if found.numbered_mm is None:
        return None
    if found.numbered_mm - found.worst_mm > 5e-7:
        return L("As they are numbered, the worst would be {worst} off.", worst=Qty(found.numbered_mm, "fine"))
    if all(p.cylinder == p.piston for p in found.pairs):
        return L("They fit best as they are numbered.")
    return None


# -- sizing bores to pistons ---------------------------------------------------------------
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
    sizes, spare = sized(pistons, bores_mm, clearance_mm=clearance_mm, stock_mm=stock_mm, least_stock_mm=least_stock_mm)
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
            "Cylinder {cylinder} is already larger than piston {piston} wants. No other pairing helps.",
            **gaps,
        )
    elif least.stock_mm < least_stock_mm:
        verdict = Verdict.STOP
        line = L("Cylinder {cylinder} has only {stock} left for the hone; at least {least} is wanted.", **gaps)
    else:
        verdict = Verdict.GO
        line = L("Finish each bore for its own piston; the sizes differ by {spread}.", **gaps)
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
    chosen = graded(bores_mm, grades, clearance_mm=clearance_mm, low_mm=low_mm, high_mm=high_mm)
    names = [found.grade.name for found in chosen.values()]
    order = {g.name: names.count(g.name) for g in grades if g.name in names}
    verdict, line = _grades_said(chosen, order)
    return Grading(
        key="fitting.grades",
        line=line,
        verdict=verdict,
        why=tuple(
            L(
                "Cylinder {cylinder} takes grade {grade}: clearance {tightest} to {loosest}.",
                cylinder=cylinder,
                grade=found.grade.name,
                tightest=Qty(found.tightest_mm, "fine"),
                loosest=Qty(found.loosest_mm, "fine"),
            )
            for cylinder, found in chosen.items()
        ),
        assumptions=(
            _SAME_TEMPERATURE,
            Assumption(L("Pistons lie anywhere within the limits of the grade marked on them."), "entered"),
        ),
        cautions=(MARK,),
        grades={c: found.grade.name for c, found in chosen.items()},
        order=order,
    )


def _grades_said(chosen: Mapping[int, Graded], order: Mapping[str, int]) -> tuple[str, Line]:
    """The verdict on the grades chosen, and what to order."""
    some, none = (tuple(c for c, found in chosen.items() if found.fits == fits) for fits in ("some", "none"))
    wanted = tuple(L("{count} of grade {grade}", count=n, grade=name) for name, n in order.items())
    if none:
        return Verdict.STOP, LN(
            "No grade fits cylinder {cylinders} within the limits.",
            "No grade fits cylinders {cylinders} within the limits.",
            len(none),
            cylinders=none,
        )
    if some:
        return Verdict.MAYBE, LN(
            "Order {order}. Measure the piston for cylinder {cylinders}: not all of that grade fit.",
            "Order {order}. Measure the pistons for cylinders {cylinders}: not all of those grades fit.",
            len(some),
            order=wanted,
            cylinders=some,
        )
    return Verdict.GO, L("Order {order}.", order=wanted)


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
    found = weight_spread(weights_g, allowed_g=allowed_g, u_g=u_g)
    force = shaking_force_n(found.spread_g, stroke_mm, spin_rpm)
    spread, allowed = Qty(found.spread_g, "mass", found.u_g), Qty(allowed_g, "mass")
    verdict, sure, line = _weights_said(found, spread, allowed)
    figures = [
        Figure("spread", L("Heaviest less lightest"), spread),
        Figure("allowed", L("Weight spread allowed"), allowed),
    ]
    why = []
    if force is not None and spin_rpm is not None:
        shaken = Qty(force, "force")
        why.append(L("At {spin} the difference shakes with {force}.", spin=Qty(spin_rpm, "spin"), force=shaken))
        figures.append(Figure("force", L("Shaking force of the difference"), shaken))
    if mixed_sizes:
        why.append(L("The set holds more than one oversize, and those weigh differently."))
    return Weights(
        key="fitting.weights",
        line=line,
        value=spread,
        verdict=verdict,
        confidence=sure,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=(
            Assumption(L("Every piston was weighed the same way: with its pin, or all without."), "common practice"),
            Assumption(L("A spread of up to {allowed} is allowed.", allowed=Qty(allowed_g, "mass")), "common practice"),
        ),
        cautions=(BALANCE,) if verdict != Verdict.GO or mixed_sizes else (),
        spread_g=found.spread_g,
        off_g={n: w - weights_g[found.light] for n, w in weights_g.items()},
        force_n=force,
    )


def _weights_said(found: WeightSpread, spread: Qty, allowed: Qty) -> tuple[str, float, Line]:
    """The verdict on a set's weights, how sure it is, and the sentence."""
    gaps = {"spread": spread, "heavy": found.heavy, "light": found.light, "allowed": allowed}
    if found.over <= 0.05:
        line = L("The pistons weigh within {spread} of each other; up to {allowed} is allowed.", **gaps)
        return Verdict.GO, 1 - found.over, line
    if found.over >= 0.95:
        line = L(
            "Piston {heavy} weighs {spread} more than piston {light}; up to {allowed} is allowed. Match them first.",
            **gaps,
        )
        return Verdict.STOP, found.over, line
    line = L("The pistons differ by {spread}, too close to {allowed} to call. Weigh {heavy} and {light} again.", **gaps)
    return Verdict.MAYBE, 1 - found.over, line
