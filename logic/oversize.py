"""Which oversize: the smallest step at which every cylinder cleans up.

A step's finished size is the nominal bore plus the step; the bar cuts to the bored
size, which is the finished size less the stock left for the hone. A cylinder cleans up
if its bored size is at least its clean-up diameter (:mod:`logic.cleanup`). The
probability of that is a conformance probability (JCGM 106:2012, 7); the step advised is
the smallest at which the probability that *all* cylinders clean up reaches the
confidence asked for.

Common practice, no source: the lists of steps, the stock left for the hone, 95 %
confidence, how much wear may be honed out with the present pistons, and that all
cylinders get one oversize.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .bore import WornBore
from .cleanup import (
    CleanUp,
    CleanUpResult,
    WearSide,
    assumptions_of,
    cautions_of,
    clean_up,
    describe,
    needed_together,
    together,
)
from .constants import constant
from .result import Assumption, Caution, Figure, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import normal_cdf

__all__ = [
    "CONFIDENCE",
    "HONE_STOCK_MM",
    "INCH_STEPS_MM",
    "METRIC_STEPS_MM",
    "Naive",
    "Outcome",
    "Oversize",
    "Step",
    "choose",
    "count_word",
    "cylinder_result",
    "decision_line",
    "quick",
    "series_for",
    "steps_mm",
]

#: 0.010 0.020 0.030 0.040 0.060 in (common practice).
INCH_STEPS_MM = (0.254, 0.508, 0.762, 1.016, 1.524)
#: 0.25 0.50 0.75 1.00 1.50 mm (common practice).
METRIC_STEPS_MM = (0.25, 0.50, 0.75, 1.00, 1.50)
CONFIDENCE = 0.95
HONE_STOCK_MM = constant("hone.stock").value
#: Standard uncertainty of the size the bar cuts (common practice).
U_BORED_MM = 0.005
#: How much larger than unworn a bore may be honed for the pistons it had (common practice: 2 thou).
HONE_ALLOW_MM = 0.0508
#: What the hone takes beyond the worst reading to renew the surface, on diameter (common practice).
HONE_RENEW_MM = 0.008
#: No bore wears further than this from its nominal size and is bored again (common practice).
FARTHEST_MM = 5.0

#: What the finished size means where the hone alone does the work.
_HONED: dict[str, Any] = {
    "help": L(
        "The size the hone takes the bores to: the largest reading and a little more, to renew the surface. "
        "The present pistons stay, so go by their maker's clearance limit."
    ),
    "formula": L("largest reading + a light honing"),
    "source": "common practice",
}

_COUNTS = {
    2: L("two"),
    3: L("three"),
    4: L("four"),
    5: L("five"),
    6: L("six"),
    8: L("eight"),
    10: L("ten"),
    12: L("twelve"),
}


class Outcome:
    """What is advised."""

    HONE = "hone only"
    STEP = "step"
    MIXED = "mixed steps"
    MEASURE = "measure again"
    BEYOND = "beyond what exists"
    SLEEVE = "sleeve"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Step:
    """One step: ``probability`` that all cylinders clean up, ``chances`` for each (cylinder, probability).

    ``limited`` are the cylinders whose wall does not allow it.
    """

    step_mm: float
    finished_mm: float
    bored_mm: float
    probability: float
    chances: tuple[tuple[int, float], ...]
    limited: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Naive:
    """What going by the largest diameter alone would say: its step (None: none in the list) and its chance.

    ``fails`` is True where that step is smaller than needed; ``cylinders`` are those it would leave in doubt.
    """

    step_mm: float | None
    probability: float
    fails: bool
    cylinders: tuple[int, ...]


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


def series_for(nominal_mm: float) -> str:
    """ "mm" for a nominal size that is a whole number of tenths of a millimetre and not of an inch, else "inch".

    Depends on the size alone, not on the unit it was typed in.
    """

    def whole(x: float) -> bool:
        return abs(x - round(x)) * 25.4 < 0.01

    tenths = abs(nominal_mm * 10 - round(nominal_mm * 10)) < 0.005
    return "mm" if tenths and not whole(nominal_mm / 2.54) and not whole(nominal_mm / 25.4 * 16) else "inch"


def steps_mm(series: str, listed_mm: Iterable[float] = ()) -> tuple[float, ...]:
    """The steps offered: ``series`` "inch", "mm", "both" or "listed" (only what the person lists), smallest first.

    ``listed_mm`` are added to it; steps within 1 µm of each other count once. Raises
    ValueError for another series, for a step not above zero, and for an empty list.
    """
    lists = {"inch": INCH_STEPS_MM, "mm": METRIC_STEPS_MM, "both": INCH_STEPS_MM + METRIC_STEPS_MM, "listed": ()}
    if series not in lists:
        raise ValueError(f"no such series of steps: {series!r}")
    out: list[float] = []
    for s in sorted((*lists[series], *listed_mm)):
        if not (math.isfinite(s) and s > 0):
            raise ValueError("a step must be finite and above zero")
        if not out or s - out[-1] > 0.001:
            out.append(s)
    if not out:
        raise ValueError("no step to choose from")
    return tuple(out)


def count_word(n: int) -> Line:
    """A small number in words."""
    return _COUNTS.get(n, L("{n}", n=n))


# -- choosing -------------------------------------------------------------------------------
def _rows(
    cleanups: Sequence[CleanUp],
    nominal_mm: float,
    steps: Sequence[float],
    stock: float,
    u: float,
    limits: Mapping[int, float],
) -> tuple[Step, ...]:
    rows = []
    for s in steps:
        finished = nominal_mm + s
        bored = finished - stock
        chances = tuple((c.cylinder, c.probability(bored, u)) for c in cleanups)
        limited = tuple(c.cylinder for c in cleanups if finished > limits.get(c.cylinder, math.inf))
        rows.append(Step(s, finished, bored, together(cleanups, bored, u), chances, limited))
    return tuple(rows)


def _first(rows: Sequence[Step], wanted: float, cylinders: Sequence[CleanUp], u: float) -> Step | None:
    """The smallest step at which these cylinders clean up and their walls allow it."""
    names = {c.cylinder for c in cylinders}
    for row in rows:
        if not names.isdisjoint(row.limited) or min(p for n, p in row.chances if n in names) < wanted:
            continue  # all of them together are no likelier than the least likely
        if (
            len(names) == 1
            or (row.probability if len(names) == len(row.chances) else together(cylinders, row.bored_mm, u)) >= wanted
        ):
            return row
    return None


def _naive(cleanups: Sequence[CleanUp], rows: Sequence[Step], wanted: float) -> Naive:
    largest = max(c.worst_mm for c in cleanups)
    row = next((r for r in rows if r.bored_mm >= largest), None)
    if row is None:
        return Naive(None, 0.0, False, ())
    fails = row.probability < wanted
    return Naive(row.step_mm, row.probability, fails, tuple(n for n, p in row.chances if p < wanted) if fails else ())


def _hone_chance(cleanups: Sequence[CleanUp], allow_mm: float) -> float:
    """The probability that the wear of every bore can be honed out for the pistons it had."""
    p = 1.0
    for c in cleanups:
        room = allow_mm - HONE_RENEW_MM - (c.worst_mm - c.unworn_mm)
        p *= normal_cdf(room / c.u_wear_mm) if c.u_wear_mm > 0 else float(room >= 0)
    return p


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
    if not cleanups:
        raise ValueError("no cylinder to choose for")
    if not steps:
        raise ValueError("no step to choose from")
    if not (
        math.isfinite(nominal_mm)
        and nominal_mm > 0
        and math.isfinite(hone_stock_mm)
        and 0 <= hone_stock_mm < nominal_mm
    ):
        raise ValueError("the nominal bore and the hone stock must be finite and not below zero")
    if not 0.5 <= confidence < 1:
        raise ValueError("confidence must be from 0.5 up to below 1")
    return _Choice(
        tuple(cleanups),
        nominal_mm,
        tuple(sorted(steps)),
        hone_stock_mm,
        u_bored_mm,
        confidence,
        dict(largest_mm or {}),
        hone_allow_mm,
        tuple(waiting),
        mixed,
        key,
    ).result()


@dataclass(frozen=True, slots=True)
class _Choice:
    """One choice in the making: everything given, and the words for each outcome."""

    cleanups: tuple[CleanUp, ...]
    nominal_mm: float
    steps: tuple[float, ...]
    stock: float
    u: float
    wanted: float
    limits: dict[int, float]
    allow: float
    waiting: tuple[int, ...]
    mixed: bool
    key: str

    def result(self) -> Oversize:
        cs, wanted, u = self.cleanups, self.wanted, self.u
        rows = _rows(cs, self.nominal_mm, self.steps, self.stock, u, self.limits)
        needs = {c.cylinder: c.needed_mm(wanted, u) for c in cs}
        governing = max(cs, key=lambda c: (needs[c.cylinder], -c.cylinder))
        needed = needed_together(cs, wanted, u)
        naive = _naive(cs, rows, wanted)
        own = tuple((c.cylinder, r.step_mm if (r := _first(rows, wanted, (c,), u)) else None) for c in cs)
        parts = dict(
            needed_mm=needed,
            governing=governing.cylinder,
            steps=rows,
            cleanups=cs,
            naive=naive,
            own_steps=own,
            nominal_mm=self.nominal_mm,
            hone_stock_mm=self.stock,
            u_bored_mm=u,
            wanted=wanted,
        )
        hone = _hone_chance(cs, self.allow)
        best = _first(rows, wanted, cs, u)
        if hone >= wanted:
            return self._hone(parts, hone)
        if self.mixed and len(cs) > 1 and all(s is not None for _, s in own) and len({s for _, s in own}) > 1:
            return self._mixed(parts)
        if best is not None:
            return self._step(parts, best)
        return self._none(parts)

    # -- outcomes -----------------------------------------------------------------------
    def _said(self, parts: dict) -> dict:
        return {
            "n": parts["governing"],
            "count": count_word(len(self.cleanups)),
            "needed": Qty(parts["needed_mm"], "size"),
            "wanted": Qty(self.wanted, "percent"),
        }

    def _step(self, parts: dict, row: Step) -> Oversize:
        spare = row.bored_mm - parts["needed_mm"]
        said = {**self._said(parts), "step": Qty(row.step_mm, "step"), "spare": Qty(max(0.0, spare), "diff")}
        if len(self.cleanups) == 1:
            line = L("A bore at {step} cleans up, {spare} to spare.", **said)
        else:
            line = L("Bores at {step} clean up all {count}. Cylinder {n} governs, {spare} to spare.", **said)
        without = self._without(parts, row)
        why = []
        if without is not None:
            why.append(
                L(
                    "Without cylinder {n} a step of {step} would do: sleeving that one keeps the others smaller.",
                    n=without[0],
                    step=Qty(without[1], "step"),
                )
            )
        why += self._smaller(parts, row)
        return self._made(
            parts,
            outcome=Outcome.STEP,
            line=line,
            verdict=Verdict.GO,
            confidence=row.probability,
            row=row,
            spare_mm=spare,
            why=why,
            without=without,
        )

    def _without(self, parts: dict, row: Step) -> tuple[int, float] | None:
        """The step that would do if the governing cylinder were out of it, where that is a smaller one."""
        rest = [c for c in self.cleanups if c.cylinder != parts["governing"]]
        if not rest:
            return None
        other = _first(parts["steps"], self.wanted, rest, self.u)
        return (parts["governing"], other.step_mm) if other is not None and other.step_mm < row.step_mm else None

    def _smaller(self, parts: dict, row: Step) -> list[Line]:
        """What could bring a smaller step within reach."""
        below = [r for r in parts["steps"] if r.step_mm < row.step_mm and r.probability > 0.02]
        doubtful = [
            c
            for c in self.cleanups
            if c.source != "swept" and c.side.known == "unknown" and c.high_mm - c.low_mm > 0.02
        ]
        if not below or not doubtful:
            return []
        nearest = below[-1]
        weak = [n for n, p in nearest.chances if p < self.wanted]
        names = tuple(c.cylinder for c in doubtful if c.cylinder in weak)
        if not names:
            return []
        said = dict(step=Qty(nearest.step_mm, "step"), chance=Qty(nearest.probability, "percent"))
        if len(self.cleanups) == 1:
            return [L("{step} has a chance of {chance}. Sweep the bore with an indicator to find out.", **said)]
        return [
            L(
                "{step} has a chance of {chance}. Sweep cylinder {names} with an indicator to find out.",
                names=names,
                **said,
            )
        ]

    def _hone(self, parts: dict, chance: float) -> Oversize:
        finished = max(c.worst_mm for c in self.cleanups) + HONE_RENEW_MM
        said = {**self._said(parts), "size": Qty(finished, "size"), "chance": Qty(chance, "percent")}
        if len(self.cleanups) == 1:
            line = L("Hone only: {size} takes out the wear, and the present piston can stay.", **said)
        else:
            line = L("Hone only: {size} takes out the wear in all {count}, and the present pistons can stay.", **said)
        return self._made(
            parts,
            outcome=Outcome.HONE,
            line=line,
            verdict=Verdict.GO,
            confidence=chance,
            row=None,
            spare_mm=None,
            why=[
                L("The wear is within {allow}, which the present pistons may run with.", allow=Qty(self.allow, "diff"))
            ],
            step_mm=0.0,
            finished_mm=finished,
        )

    def _mixed(self, parts: dict) -> Oversize:
        own = parts["own_steps"]
        bored = [self.nominal_mm + s - self.stock for _, s in own]
        chance = together(self.cleanups, bored, self.u)
        largest = max(s for _, s in own)
        row = next(r for r in parts["steps"] if r.step_mm == largest)
        return self._made(
            parts,
            outcome=Outcome.MIXED,
            line=L(
                "Each bore to its own step: {steps}.",
                steps=tuple(L("cylinder {n} at {step}", n=n, step=Qty(s, "step")) for n, s in own),
            ),
            verdict=Verdict.GO if chance >= self.wanted else Verdict.MAYBE,
            confidence=chance,
            row=row,
            spare_mm=row.bored_mm - parts["needed_mm"],
            why=[L("One step for all would be {step}.", step=Qty(largest, "step"))],
            cautions=[
                Caution(
                    "oversize.mixed",
                    L(
                        "Mixed oversizes weigh differently and upset the balance: match the piston weights, and ask the engine's maker whether mixing is allowed."
                    ),
                )
            ],
        )

    def _none(self, parts: dict) -> Oversize:
        rows, cs = parts["steps"], self.cleanups
        said = {**self._said(parts), "over": Qty(parts["needed_mm"] + self.stock - self.nominal_mm, "step")}
        clean = next((r for r in rows if r.probability >= self.wanted), None)
        last = rows[-1]
        if clean is not None:  # it would clean up, but a wall forbids
            culprits = clean.limited
            if len(culprits) == 1 and len(cs) > 1:
                return self._sleeve(
                    parts,
                    culprits,
                    L("its wall is too thin for {step}", step=Qty(clean.step_mm, "step")),
                )
            return self._made(
                parts,
                outcome=Outcome.STOP,
                line=L(
                    "Stop: cleaning up takes {step}, and the wall of cylinder {names} is too thin for it.",
                    names=culprits,
                    step=Qty(clean.step_mm, "step"),
                ),
                verdict=Verdict.STOP,
                confidence=clean.probability,
                row=None,
                spare_mm=None,
                why=[self._limit_line(n) for n in culprits] + [L("Sleeving, or another block, is what is left.")],
            )
        narrowable = [
            c
            for c in cs
            if c.source != "swept" and c.side.known == "unknown" and c.probability(last.bored_mm, self.u) < self.wanted
        ]
        if last.probability > 1 - self.wanted and narrowable and not last.limited:
            close = dict(step=Qty(last.step_mm, "step"), chance=Qty(last.probability, "percent"))
            if len(cs) == 1:
                line = L(
                    "Too close to call: {step}, the largest step, has a chance of {chance}. Sweep the bore before deciding.",
                    **close,
                )
            else:
                names = tuple(c.cylinder for c in narrowable)
                line = L(
                    "Too close to call: {step}, the largest step, has a chance of {chance}. Sweep cylinder {names} before deciding.",
                    names=names,
                    **close,
                )
            return self._made(
                parts,
                outcome=Outcome.MEASURE,
                line=line,
                verdict=Verdict.MAYBE,
                confidence=last.probability,
                row=None,
                spare_mm=last.bored_mm - parts["needed_mm"],
                why=[L("{needed} bored, {over} finished, would be sure enough.", **said)],
            )
        culprits = tuple(c.cylinder for c in cs if c.probability(last.bored_mm, self.u) < self.wanted)
        if len(culprits) == 1 and len(cs) > 1:
            return self._sleeve(parts, culprits, L("it needs {over}, more than any step in the list", **said))
        return self._made(
            parts,
            outcome=Outcome.BEYOND,
            line=L(
                "No step in the list cleans up every bore: {over} would. Look for larger pistons, or sleeve.", **said
            )
            if len(cs) > 1
            else L(
                "No step in the list cleans up this bore: {over} would. Look for a larger piston, or sleeve.", **said
            ),
            verdict=Verdict.STOP,
            confidence=1 - last.probability,
            row=None,
            spare_mm=last.bored_mm - parts["needed_mm"],
            why=[L("Short of it: cylinder {names}.", names=culprits)] if culprits and len(cs) > 1 else [],
        )

    def _sleeve(self, parts: dict, culprits: tuple[int, ...], because: Line) -> Oversize:
        rest = [c for c in self.cleanups if c.cylinder not in culprits]
        row = _first(parts["steps"], self.wanted, rest, self.u)
        why = [self._limit_line(n) for n in culprits if n in self.limits]
        if row is None:
            line = L(
                "Sleeve cylinder {names}: {because}. The others clean up at no listed step either.",
                names=culprits,
                because=because,
            )
            return self._made(
                parts,
                outcome=Outcome.STOP,
                line=line,
                verdict=Verdict.STOP,
                confidence=None,
                row=None,
                spare_mm=None,
                why=why,
                sleeve=culprits,
            )
        line = L(
            "Sleeve cylinder {names}: {because}. The others clean up at {step}.",
            names=culprits,
            because=because,
            step=Qty(row.step_mm, "step"),
        )
        return self._made(
            parts,
            outcome=Outcome.SLEEVE,
            line=line,
            verdict=Verdict.STOP,
            confidence=together(rest, row.bored_mm, self.u),
            row=row,
            spare_mm=row.bored_mm - needed_together(rest, self.wanted, self.u),
            why=why,
            sleeve=culprits,
            without=(culprits[0], row.step_mm),
        )

    def _limit_line(self, cylinder: int) -> Line:
        return L(
            "The wall of cylinder {n} allows {limit} at most.", n=cylinder, limit=Qty(self.limits[cylinder], "size")
        )

    # -- putting it together ---------------------------------------------------------------
    def _naive_line(self, parts: dict, step_mm: float | None) -> list[Line]:
        naive: Naive = parts["naive"]
        if not naive.fails or naive.step_mm is None or (step_mm is not None and naive.step_mm >= step_mm):
            return []
        said = {
            "step": Qty(naive.step_mm, "step"),
            "chance": Qty(naive.probability, "percent"),
            "names": naive.cylinders,
        }
        if len(self.cleanups) == 1:
            return [
                L(
                    "Going by the largest diameter alone would say {step}: the chance that it cleans up is {chance}.",
                    **said,
                )
            ]
        return [
            L(
                "Going by the largest diameter alone would say {step}: the chance that it cleans up every bore is {chance}. In doubt: cylinder {names}.",
                **said,
            )
        ]

    def _made(
        self,
        parts: dict,
        *,
        outcome: str,
        line: Line,
        verdict: str,
        confidence: float | None,
        row: Step | None,
        spare_mm: float | None,
        why: list[Line],
        step_mm: float | None = None,
        finished_mm: float | None = None,
        cautions: Sequence[Caution] = (),
        without: tuple[int, float] | None = None,
        sleeve: tuple[int, ...] = (),
    ) -> Oversize:
        step = row.step_mm if row is not None else step_mm
        finished = row.finished_mm if row is not None else finished_mm
        bored = row.bored_mm if row is not None else None
        governing = next(c for c in self.cleanups if c.cylinder == parts["governing"])
        about = describe(governing, self.wanted, self.u)
        if self.waiting:
            line = L("So far: {line} Still to be measured: cylinder {waiting}.", line=line, waiting=self.waiting)
            verdict = Verdict.INFO
        reasons = [*why, *self._naive_line(parts, step)]
        reasons.append(about.line)
        return Oversize(
            key=self.key,
            line=line,
            value=None if step is None else Qty(step, "step"),
            verdict=verdict,
            confidence=confidence,
            why=tuple(reasons),
            figures=self._figures(parts, finished, bored, spare_mm, governing, about),
            assumptions=self._assumptions(),
            influences=about.influences,
            cautions=(*self._always(outcome), *cautions, *_unique(x for c in self.cleanups for x in cautions_of(c))),
            outcome=outcome,
            step_mm=step,
            finished_mm=finished,
            bored_mm=bored,
            spare_mm=spare_mm,
            without=without,
            sleeve=sleeve,
            **parts,
        )

    def _figures(
        self,
        parts: dict,
        finished: float | None,
        bored: float | None,
        spare: float | None,
        governing: CleanUp,
        about: CleanUpResult,
    ) -> tuple[Figure, ...]:
        out = []
        if finished is not None:
            out.append(
                Figure("finished", L("Finished size"), Qty(finished, "size"), **(_HONED if bored is None else {}))
            )
        if bored is not None:
            out.append(Figure("bored", L("Bored size"), Qty(bored, "size", self.u)))
        out += [
            Figure(
                "needed",
                L("Bored size that cleans up every cylinder with the wanted confidence"),
                Qty(parts["needed_mm"], "size"),
            ),
            _relabelled(about, "low", L("Clean-up diameter of the governing cylinder, least")),
            _relabelled(about, "high", L("Clean-up diameter of the governing cylinder, most")),
            Figure("worst", L("Largest reading of all"), Qty(max(c.worst_mm for c in self.cleanups), "size")),
        ]
        if spare is not None:
            out.append(Figure("spare", L("To spare, on diameter"), Qty(spare, "deviation")))
        out += [
            Figure(
                f"chance.{round(s.step_mm * 1000)}",
                L("Chance that {step} cleans up every cylinder", step=Qty(s.step_mm, "step")),
                Qty(s.probability, "percent"),
            )
            for s in parts["steps"]
        ]
        return tuple(out)

    def _assumptions(self) -> tuple[Assumption, ...]:
        own = (
            Assumption(
                L("Finished size is the nominal bore, {nominal}, plus the step.", nominal=Qty(self.nominal_mm, "size"))
            ),
            Assumption(L("The bar leaves {stock} for the hone, on diameter.", stock=Qty(self.stock, "diff"))),
            Assumption(L("A step is advised from {wanted} confidence on.", wanted=Qty(self.wanted, "percent"))),
        )
        return own + tuple(_unique(a for c in self.cleanups for a in assumptions_of(c)))

    def _always(self, outcome: str) -> tuple[Caution, ...]:
        if outcome in (Outcome.STEP, Outcome.MIXED, Outcome.SLEEVE):
            return (
                Caution(
                    "oversize.pistons",
                    L(
                        "Have the pistons in hand and measured before any metal is cut, and go by their maker's clearance."
                    ),
                ),
            )
        if outcome == Outcome.HONE:
            return (
                Caution(
                    "oversize.keep_pistons",
                    L(
                        "Before you keep the pistons, measure them, check their ring grooves, and go by the maker's clearance limit."
                    ),
                ),
            )
        return ()


def _relabelled(about: CleanUpResult, key: str, label: Line) -> Figure:
    """A figure of a cylinder's clean-up under another label."""
    f = next(x for x in about.figures if x.key == key)
    return Figure(f"clean_up_{key}", label, f.qty)


def _unique(things: Iterable) -> Iterable:
    seen: list = []
    for thing in things:
        if thing not in seen:
            seen.append(thing)
            yield thing


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
        "chance": Qty(chance, "percent"),
    }
    if chance >= choice.wanted:
        verdict, line = Verdict.GO, L("Cylinder {n} cleans up at {step}, {spare} to spare.", **said)
    elif chance > 1 - choice.wanted:
        verdict, line = (
            Verdict.MAYBE,
            L("Cylinder {n} may clean up at {step}: a chance of {chance}. It lacks {spare} to be sure.", **said),
        )
    else:
        verdict, line = Verdict.STOP, L("Cylinder {n} does not clean up at {step}: it lacks {spare}.", **said)
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
            Figure("chance", L("Chance that it cleans up"), Qty(chance, "percent")),
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
    said = {"step": Qty(step_mm, "step"), "chance": Qty(chance, "percent")}
    if choice.step_mm is None:
        return L("You decided on {step}: the chance that every bore cleans up is {chance}.", **said)
    return L(
        "You decided on {step}, the advice is {advised}: the chance that every bore cleans up is {chance}.",
        **said,
        advised=Qty(choice.step_mm, "step"),
    )


# -- the quick check ------------------------------------------------------------------------
def quick(
    nominal_mm: float,
    worst_mm: float,
    *,
    unworn_mm: float | None = None,
    side: WearSide = WearSide(),
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
        (clean_up(worn, side),),
        nominal_mm=nominal_mm,
        steps=steps_mm(series or series_for(nominal_mm), listed_mm),
        hone_stock_mm=hone_stock_mm,
        confidence=confidence,
        key="quick",
    )
    return _with_quick_cautions(found, unworn_mm)


def _implausible(nominal_mm: float, worst_mm: float, unworn_mm: float) -> Line | None:
    said = {"worst": Qty(worst_mm, "size"), "nominal": Qty(nominal_mm, "size"), "unworn": Qty(unworn_mm, "size")}
    if worst_mm < unworn_mm - 0.05:
        return L(
            "{worst} is smaller than the unworn bore, {unworn}. Check the reading, the gauge zero and the nominal size.",
            **said,
        )
    if worst_mm - nominal_mm > FARTHEST_MM:
        return L("{worst} is too far over {nominal} to be wear. Check both sizes and their units.", **said)
    return None


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
