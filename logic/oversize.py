"""Which oversize: the advice in words.

:mod:`logic.steps` chooses, with the model and what is common practice in it; here its
choice becomes sentences, figures and cautions, for the whole engine and for each
cylinder. :func:`quick` does it from one reading alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from .bore import WornBore
from .cleanup import BoreLean, CleanUp, WearSide, clean_up, together
from .cleanup_told import CleanUpResult, assumptions_of, cautions_of, describe
from .doubt import held
from .oversize_told import Asked, count_word, naive_lines, tell
from .readings_check import check_quick
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import LN, L, Line, Qty
from .steps import (
    CONFIDENCE,
    HONE_ALLOW_MM,
    HONE_RENEW_MM,
    HONE_STOCK_MM,
    INCH_STEPS_MM,
    METRIC_STEPS_MM,
    NOTHING_SPARE_MM,
    U_BORED_MM,
    Choice,
    Naive,
    Outcome,
    Step,
    choose_step,
    hone_chance,
    series_for,
    steps_mm,
)

__all__ = [
    "CONFIDENCE",
    "HONE_ALLOW_MM",
    "HONE_RENEW_MM",
    "HONE_STOCK_MM",
    "INCH_STEPS_MM",
    "METRIC_STEPS_MM",
    "U_BORED_MM",
    "Naive",
    "Outcome",
    "Oversize",
    "Step",
    "beyond_wear",
    "choose",
    "count_word",
    "cylinder_result",
    "decision_line",
    "quick",
    "series_for",
    "steps_mm",
]

#: No bore wears further than this from its nominal size and is bored again (common practice).
FARTHEST_MM = 5.0

#: How long a bore is, in bores, where nobody said (common practice, no source).
LENGTHS = 1.5

#: What the finished size means where the hone alone does the work.
_HONED: dict[str, Any] = {
    "help": L(
        "The size the hone takes the bores to: the largest reading and a little more, to renew the surface. "
        "The present pistons stay, so go by their maker's clearance limit."
    ),
    "formula": L("largest reading + a light honing"),
    "source": "common practice",
}


@dataclass(frozen=True, kw_only=True)
class Oversize(Result):
    """The verdict. ``outcome`` is one of :class:`Outcome`.

    ``step_mm`` is the step advised (0 for hone only, None where none is); ``needed_mm``
    the smallest bored size that cleans up every cylinder with the confidence asked
    for; ``spare_mm`` what the advised bored size has beyond what the cylinders bored need; ``without`` is
    (cylinder, step_mm) where one cylinder alone forces a larger step than the rest;
    ``sleeve`` the cylinders to be sleeved; ``own_steps`` each cylinder's own step.
    """

    outcome: str
    step_mm: float | None
    finished_mm: float | None
    bored_mm: float | None
    needed_mm: float
    spare_mm: float | None
    governing: int
    steps: tuple[Step, ...]
    cleanups: tuple[CleanUp, ...]
    naive: Naive
    without: tuple[int, float] | None = None
    sleeve: tuple[int, ...] = ()
    own_steps: tuple[tuple[int, float | None], ...] = ()
    nominal_mm: float
    hone_stock_mm: float
    u_bored_mm: float
    wanted: float

    def step(self, step_mm: float) -> Step | None:
        """The row of a step, or None if it is not among :attr:`steps`."""
        return next((s for s in self.steps if abs(s.step_mm - step_mm) < 1e-6), None)


# -- choosing -------------------------------------------------------------------------------
def choose(
    cleanups: Sequence[CleanUp],
    *,
    nominal_mm: float,
    steps: Sequence[float],
    hone_stock_mm: float = HONE_STOCK_MM,
    u_bored_mm: float = U_BORED_MM,
    confidence: float = CONFIDENCE,
    largest_mm: Mapping[int, float] | None = None,
    hone_allow_mm: float = HONE_ALLOW_MM,
    waiting: Sequence[int] = (),
    mixed: bool = False,
    key: str = "oversize",
) -> Oversize:
    """Choose the oversize for all ``cleanups``.

    ``steps`` on diameter, in mm; ``largest_mm`` the largest finished size each
    cylinder's wall allows; ``hone_allow_mm`` how much larger than unworn a bore may be
    honed for its present pistons; ``waiting`` the cylinders not measured yet; ``mixed``
    lets each cylinder have its own step. Raises ValueError for no cylinder, no step, or
    numbers out of reason.
    """
    found = choose_step(
        cleanups,
        nominal_mm=nominal_mm,
        steps=steps,
        hone_stock_mm=hone_stock_mm,
        u_bored_mm=u_bored_mm,
        confidence=confidence,
        largest_mm=largest_mm or {},
        hone_allow_mm=hone_allow_mm,
        mixed=mixed,
    )
    asked = Asked(nominal_mm, hone_stock_mm, u_bored_mm, confidence, hone_allow_mm, largest_mm or {})
    about = describe(found.governing, confidence, u_bored_mm, alone=len(found.cleanups) == 1)
    told = tell(found, asked)
    line, verdict = told.line, told.verdict
    if waiting:
        line = L("So far: {line} Still to be measured: cylinder {waiting}.", line=line, waiting=tuple(waiting))
        verdict = Verdict.INFO
    return Oversize(
        key=key,
        line=line,
        value=None if found.step_mm is None else Qty(found.step_mm, "step"),
        verdict=verdict,
        confidence=found.confidence,
        why=(*told.why, *naive_lines(found), about.line),
        figures=_figures(found, asked, about),
        assumptions=_assumptions(found, asked),
        influences=about.influences,
        cautions=(*told.cautions, *_unique(x for c in found.cleanups for x in cautions_of(c))),
        outcome=found.outcome,
        step_mm=found.step_mm,
        finished_mm=found.finished_mm,
        bored_mm=found.bored_mm,
        needed_mm=found.needed_mm,
        spare_mm=found.spare_mm,
        governing=found.governing.cylinder,
        steps=found.steps,
        cleanups=found.cleanups,
        naive=found.naive,
        without=found.without,
        sleeve=found.sleeve,
        own_steps=found.own_steps,
        nominal_mm=nominal_mm,
        hone_stock_mm=hone_stock_mm,
        u_bored_mm=u_bored_mm,
        wanted=confidence,
    )


def _figures(found: Choice, asked: Asked, about: CleanUpResult) -> tuple[Figure, ...]:
    out = []
    if found.honed_mm is not None:
        out.append(Figure("finished", L("Finished size"), Qty(found.honed_mm, "size"), **_HONED))
    if found.row is not None:
        out.append(Figure("finished", L("Finished size"), Qty(found.row.finished_mm, "size")))
        out.append(Figure("bored", L("Bored size"), Qty(found.row.bored_mm, "size", asked.u_bored_mm)))
    out += [
        Figure(
            "needed",
            L("Bored size that cleans up every cylinder with the wanted confidence"),
            Qty(found.needed_mm, "size"),
        ),
        _relabelled(about, "low", L("Clean-up diameter of the governing cylinder, wear in the best case")),
        _relabelled(about, "high", L("Clean-up diameter of the governing cylinder, wear in the worst case")),
        Figure("worst", L("Largest reading of all"), Qty(max(c.worst_mm for c in found.cleanups), "size")),
    ]
    if found.spare_mm is not None:
        out.append(Figure("spare", L("To spare, on diameter"), Qty(found.spare_mm, "deviation")))
    out += [
        Figure(
            f"chance.{round(s.step_mm * 1000)}",
            L("Chance that {step} cleans up every cylinder", step=Qty(s.step_mm, "step")),
            Qty(s.probability, "chance"),
        )
        for s in found.steps
    ]
    return tuple(out)


def _assumptions(found: Choice, asked: Asked) -> tuple[Assumption, ...]:
    return (
        Assumption(
            L("Finished size is the nominal bore, {nominal}, plus the step.", nominal=Qty(asked.nominal_mm, "size"))
        ),
        Assumption(L("The bar leaves {stock} for the hone, on diameter.", stock=Qty(asked.stock_mm, "diff"))),
        Assumption(L("A step is advised from {wanted} confidence on.", wanted=Qty(asked.wanted, "percent"))),
        *_unique(a for c in found.cleanups for a in assumptions_of(c)),
    )


def _relabelled(about: CleanUpResult, key: str, label: Line) -> Figure:
    """A figure of a cylinder's clean-up under another label."""
    f = next(x for x in about.figures if x.key == key)
    return Figure(f"clean_up_{key}", label, f.qty)


_Thing = TypeVar("_Thing")


def _unique(things: Iterable[_Thing]) -> list[_Thing]:
    seen: list[_Thing] = []
    for thing in things:
        if thing not in seen:
            seen.append(thing)
    return seen


def _fares(chance: float, wanted: float, spare_mm: float, said: Mapping[str, Any]) -> tuple[str, Line]:
    """How a cylinder fares at a step that cleans it up with this chance and leaves so much to spare."""
    if chance >= wanted and spare_mm >= NOTHING_SPARE_MM:
        return Verdict.GO, L("Cylinder {n} cleans up at {step}, {spare} to spare.", **said)
    if chance >= wanted:
        return Verdict.MAYBE, L("Cylinder {n} would just clean up at {step}, with nothing to spare.", **said)
    if chance > 1 - wanted:
        line = L("Cylinder {n} may clean up at {step}: a chance of {chance}. It lacks {spare} to be sure.", **said)
        return Verdict.MAYBE, line
    return Verdict.STOP, L("Cylinder {n} does not clean up at {step}: it lacks {spare}.", **said)


def cylinder_result(choice: Oversize, cylinder: int, step_mm: float | None = None) -> Result:
    """One cylinder's part in the choice: how it fares at ``step_mm`` (the advised step if None).

    Raises KeyError for a cylinder that was not measured.
    """
    cleanup = next((c for c in choice.cleanups if c.cylinder == cylinder), None)
    if cleanup is None:
        raise KeyError(cylinder)
    about = describe(cleanup, choice.wanted, choice.u_bored_mm)
    step = choice.step_mm if step_mm is None else step_mm
    if not step:
        return about
    bored = choice.nominal_mm + step - choice.hone_stock_mm
    chance = cleanup.probability(bored, choice.u_bored_mm)
    spare = bored - about.figure("needed").value
    said = {
        "n": cylinder,
        "step": Qty(step, "step"),
        "spare": Qty(abs(spare), "diff"),
        "chance": Qty(chance, "chance"),
    }
    verdict, line = _fares(chance, choice.wanted, spare, said)
    return CleanUpResult(
        key=f"oversize.{cylinder}",
        line=line,
        value=about.value,
        verdict=verdict,
        confidence=max(chance, 1 - chance) if verdict != Verdict.MAYBE else chance,
        why=(about.line, *about.why),
        figures=(
            *about.figures,
            Figure("bored", L("Bored size"), Qty(bored, "size", choice.u_bored_mm)),
            Figure("spare", L("To spare, on diameter"), Qty(spare, "deviation")),
            Figure("chance", L("Chance that it cleans up"), Qty(chance, "chance")),
        ),
        assumptions=about.assumptions,
        influences=about.influences,
        cautions=about.cautions,
        cleanup=cleanup,
    )


def decision_line(choice: Oversize, step_mm: float) -> Line:
    """What a decision for ``step_mm`` means where it differs from the advice."""
    row = choice.step(step_mm)
    bored = choice.nominal_mm + step_mm - choice.hone_stock_mm
    chance = row.probability if row is not None else together(choice.cleanups, bored, choice.u_bored_mm)
    said = {"step": Qty(step_mm, "step"), "chance": Qty(chance, "chance")}
    if choice.step_mm is None:
        return L("You decided on {step}: the chance that every bore cleans up is {chance}.", **said)
    return L(
        "You decided on {step}, the advice is {advised}: the chance that every bore cleans up is {chance}.",
        **said,
        advised=Qty(choice.step_mm, "step"),
    )


def _too_large(step_mm: float, cylinders: Sequence[int]) -> Line:
    """That a wall, or the largest bore allowed, forbids the step decided on."""
    return LN(
        "You decided on {step}: too large for cylinder {c}, by its wall or the largest bore allowed.",
        "You decided on {step}: too large for cylinders {c}, by their walls or the largest bore allowed.",
        len(cylinders),
        step=Qty(step_mm, "step"),
        c=tuple(map(str, cylinders)),
    )


def decided_on(choice: Oversize, step_mm: float) -> Oversize:
    """The verdict about the step decided on, where it is not the one advised: its own chance, and the advice among the reasons."""
    bored = choice.nominal_mm + step_mm - choice.hone_stock_mm
    row = choice.step(step_mm)
    chance = row.probability if row is not None else together(choice.cleanups, bored, choice.u_bored_mm)
    limited = row is not None and bool(row.limited)
    sure = chance >= choice.wanted and bored - choice.needed_mm >= NOTHING_SPARE_MM and not limited
    unlikely = chance < 0.5 or limited
    yes = Verdict.INFO if choice.verdict == Verdict.INFO else Verdict.GO  # not before every bore was measured
    verdict = yes if sure else Verdict.STOP if unlikely else Verdict.MAYBE
    return replace(
        choice,
        line=_too_large(step_mm, row.limited) if row is not None and limited else decision_line(choice, step_mm),
        verdict=verdict,
        confidence=chance if sure else None,
        why=(*((decision_line(choice, step_mm),) if limited else ()), choice.line, *choice.why),
    )


_SIDE_UNKNOWN = WearSide()


# -- the quick check ------------------------------------------------------------------------
def quick(
    nominal_mm: float,
    worst_mm: float,
    *,
    unworn_mm: float | None = None,
    side: WearSide = _SIDE_UNKNOWN,
    series: str | None = None,
    listed_mm: Sequence[float] = (),
    hone_stock_mm: float = HONE_STOCK_MM,
    confidence: float = CONFIDENCE,
    u_mm: float = 0.005,
    u_unworn_mm: float = 0.008,
) -> Result:
    """The quick check: one bore, from its nominal size and its worst reading alone (both at 20 °C).

    ``unworn_mm`` is what the bore measures where it is not worn (the nominal size where
    None, known to ``u_unworn_mm``); ``u_mm`` the standard uncertainty of the reading
    (both common practice); ``series`` as in :func:`steps_mm` (by :func:`series_for`
    where None). Returns an :class:`Oversize`, or a plain :class:`Result` asking for
    another look where the two sizes cannot belong together. Raises ValueError for
    numbers that are not finite and above zero.
    """
    unworn = nominal_mm if unworn_mm is None else unworn_mm
    if any(not (math.isfinite(x) and x > 0) for x in (nominal_mm, worst_mm, unworn)):
        raise ValueError("sizes must be finite and above zero")
    odd = _implausible(nominal_mm, worst_mm, unworn)
    if odd is not None:
        return Result(key="quick", line=odd, verdict=Verdict.MAYBE)
    worn = WornBore(
        cylinder=1,
        depths_mm=(0.0,),
        axes=("thrust",),
        d_mm=((worst_mm,),),
        u_mm=u_mm,
        stated_unworn_mm=unworn,
        stated_u_mm=u_unworn_mm,
        nominal_mm=nominal_mm,
    )
    found = choose(
        (clean_up(worn, side, BoreLean.unmeasured(LENGTHS * nominal_mm, LENGTHS * nominal_mm)),),
        nominal_mm=nominal_mm,
        steps=steps_mm(series or series_for(nominal_mm), listed_mm),
        hone_stock_mm=hone_stock_mm,
        confidence=confidence,
        key="quick",
    )
    found = _with_quick_cautions(_little_worn(found, worst_mm - unworn, confidence), unworn_mm)
    return held(found, tuple(check_quick(nominal_mm, worst_mm, unworn_mm)))


def _little_worn(found: Oversize, wear_mm: float, confidence: float) -> Oversize:
    """The same where so little is worn that one reading cannot tell rings alone from boring."""
    chance, wear = hone_chance(found.cleanups, HONE_ALLOW_MM), Qty(max(0.0, wear_mm), "diff")
    if found.outcome == Outcome.HONE:
        line = L("{wear} of wear: hone lightly and fit new rings. No boring by this reading.", wear=wear)
        return replace(found, line=line, why=(found.line, *found.why))
    if chance <= 1 - confidence:
        return found
    line = L("{wear} of wear: new rings may do. Measure better before you bore.", wear=wear)
    told = L(
        "The chance that honing and new rings do is {chance}. A bore gauge on a setting ring settles it.",
        chance=Qty(chance, "percent"),
    )
    return replace(found, line=line, verdict=Verdict.MAYBE, confidence=None, why=(told, *found.why))


def _implausible(nominal_mm: float, worst_mm: float, unworn_mm: float) -> Line | None:
    said = {"worst": Qty(worst_mm, "size"), "nominal": Qty(nominal_mm, "size"), "unworn": Qty(unworn_mm, "size")}
    if worst_mm < unworn_mm - 0.05:
        return L(
            "{worst} is smaller than the unworn bore, {unworn}. Check the reading, the gauge zero and the nominal size.",
            **said,
        )
    if worst_mm - nominal_mm > FARTHEST_MM:
        return L("{worst} is too far over {nominal} to be wear. Check both sizes and their units.", **said)
    if beyond_wear(nominal_mm, worst_mm, unworn_mm):
        return L("{unworn} is too far from {nominal} to be the same bore. Check both sizes and their units.", **said)
    return None


def beyond_wear(nominal_mm: float, worst_mm: float, unworn_mm: float | None = None) -> bool:
    """Whether two of the sizes lie further apart than any wear or rebore: then one of them is wrong (common practice)."""
    return any(abs(size - nominal_mm) > FARTHEST_MM for size in (worst_mm, unworn_mm) if size is not None)


def _with_quick_cautions(found: Oversize, unworn_mm: float | None) -> Oversize:
    extra = [
        Caution(
            "quick.one_reading",
            L(
                "One reading of one bore is a first look. Measure every bore at several depths on two axes before you order pistons or cut."
            ),
        )
    ]
    if unworn_mm is None and found.cleanups[0].worst_mm - found.nominal_mm > 0.2:
        extra.append(
            Caution(
                "quick.bored_before",
                L(
                    "This takes the unworn bore as nominal. If it has been bored before, measure it below ring travel and enter that."
                ),
            )
        )
    return replace(found, cautions=(*extra, *found.cautions))
