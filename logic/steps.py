"""Which oversize, in figures: the smallest step at which every cylinder cleans up.

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
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from .cleanup import CleanUp, needed_together, together
from .constants import constant
from .factors import MM_PER_INCH
from .uncertainty import normal_cdf

__all__ = [
    "CONFIDENCE",
    "HONE_ALLOW_MM",
    "HONE_RENEW_MM",
    "HONE_STOCK_MM",
    "INCH_STEPS_MM",
    "METRIC_STEPS_MM",
    "NOTHING_SPARE_MM",
    "U_BORED_MM",
    "Choice",
    "Naive",
    "Outcome",
    "Step",
    "choose_step",
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


#: Less to spare than this is shown as nothing, in thou or in hundredths of a millimetre: no yes hangs on it, mm.
NOTHING_SPARE_MM = 0.00127


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What was chosen, and why: the figures behind :class:`logic.oversize.Oversize`, whose fields have its names.

    ``row`` is the step advised, or the largest of the cylinders' own steps; ``honed_mm`` the finished size where the
    hone alone does it. ``forbidden`` is the step that would clean up but that the walls
    of ``culprits`` forbid; else ``culprits`` are the cylinders that no step cleans up,
    or whose doubt a sweep would narrow. ``nearest`` is the next smaller step with a
    chance, and ``doubtful`` the cylinders to sweep for it.
    """

    outcome: str
    confidence: float | None
    needed_mm: float
    governing: CleanUp
    steps: tuple[Step, ...]
    cleanups: tuple[CleanUp, ...]
    naive: Naive
    own_steps: tuple[tuple[int, float | None], ...]
    row: Step | None = None
    honed_mm: float | None = None
    spare_mm: float | None = None
    without: tuple[int, float] | None = None
    sleeve: tuple[int, ...] = ()
    culprits: tuple[int, ...] = ()
    forbidden: Step | None = None
    nearest: Step | None = None
    doubtful: tuple[int, ...] = ()

    @property
    def step_mm(self) -> float | None:
        """The step advised: 0 for hone only, None where there is none."""
        if self.row is not None:
            return self.row.step_mm
        return None if self.honed_mm is None else 0.0

    @property
    def finished_mm(self) -> float | None:
        return self.honed_mm if self.row is None else self.row.finished_mm

    @property
    def bored_mm(self) -> float | None:
        return None if self.row is None else self.row.bored_mm


def series_for(nominal_mm: float) -> str:
    """ "mm" for a nominal size that is a whole number of tenths of a millimetre and not of an inch, else "inch".

    Depends on the size alone, not on the unit it was typed in.
    """

    def whole(x: float) -> bool:
        return abs(x - round(x)) * MM_PER_INCH < 0.01

    tenths = abs(nominal_mm * 10 - round(nominal_mm * 10)) < 0.005
    tenths_of_inch, sixteenths = nominal_mm / MM_PER_INCH * 10, nominal_mm / MM_PER_INCH * 16
    return "mm" if tenths and not whole(tenths_of_inch) and not whole(sixteenths) else "inch"


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


def hone_chance(cleanups: Sequence[CleanUp], allow_mm: float) -> float:
    """The probability that the wear of every bore can be honed out for the pistons it had."""
    p = 1.0
    for c in cleanups:
        room = allow_mm - HONE_RENEW_MM - (c.worst_mm - c.unworn_mm)
        p *= normal_cdf(room / c.u_wear_mm) if c.u_wear_mm > 0 else float(room >= 0)
    return p


@dataclass(frozen=True)
class _Chooser:
    """One choice in the making: everything given, and what every outcome needs of it."""

    cleanups: tuple[CleanUp, ...]
    rows: tuple[Step, ...]
    nominal_mm: float
    stock_mm: float
    u_bored_mm: float
    wanted: float
    hone_allow_mm: float
    mixed: bool

    def choice(self) -> Choice:
        hone = hone_chance(self.cleanups, self.hone_allow_mm)
        if hone >= self.wanted:
            finished = max(c.worst_mm for c in self.cleanups) + HONE_RENEW_MM
            return self._found(Outcome.HONE, hone, honed_mm=finished)
        own = self._own
        best = self._first(self.cleanups)
        if self.mixed and len(set(own)) > 1 and None not in own:
            return self._own_steps([step for step in own if step is not None])
        if best is not None:
            return self._one_step(best)
        return self._no_step()

    def _first(self, cylinders: Sequence[CleanUp]) -> Step | None:
        return _first(self.rows, self.wanted, cylinders, self.u_bored_mm)

    @cached_property
    def _own(self) -> list[float | None]:
        """The step that each cylinder would need by itself."""
        return [row.step_mm if (row := self._first((c,))) else None for c in self.cleanups]

    @cached_property
    def _governing(self) -> CleanUp:
        needs_mm = {c.cylinder: c.needed_mm(self.wanted, self.u_bored_mm) for c in self.cleanups}
        return max(self.cleanups, key=lambda c: (needs_mm[c.cylinder], -c.cylinder))

    @cached_property
    def _needed_mm(self) -> float:
        return needed_together(self.cleanups, self.wanted, self.u_bored_mm)

    def _found(self, outcome: str, confidence: float | None, **more: Any) -> Choice:
        return Choice(
            outcome=outcome,
            confidence=confidence,
            needed_mm=self._needed_mm,
            governing=self._governing,
            steps=self.rows,
            cleanups=self.cleanups,
            naive=_naive(self.cleanups, self.rows, self.wanted),
            own_steps=tuple((c.cylinder, step) for c, step in zip(self.cleanups, self._own, strict=True)),
            **more,
        )

    # -- outcomes -----------------------------------------------------------------------
    def _own_steps(self, own: Sequence[float]) -> Choice:
        bored = [self.nominal_mm + step - self.stock_mm for step in own]
        largest = max(own)
        row = next(r for r in self.rows if r.step_mm == largest)
        chance = together(self.cleanups, bored, self.u_bored_mm)
        spare = min(b - c.needed_mm(self.wanted, self.u_bored_mm) for b, c in zip(bored, self.cleanups, strict=True))
        return self._found(Outcome.MIXED, chance, row=row, spare_mm=spare)

    def _one_step(self, row: Step) -> Choice:
        nearest, doubtful = self._smaller(row)
        return self._found(
            Outcome.STEP,
            row.probability,
            row=row,
            spare_mm=row.bored_mm - self._needed_mm,
            without=self._without(row),
            nearest=nearest,
            doubtful=doubtful,
        )

    def _without(self, row: Step) -> tuple[int, float] | None:
        """The step that would do if the governing cylinder were out of it, where that is a smaller one."""
        governing = self._governing.cylinder
        rest = [c for c in self.cleanups if c.cylinder != governing]
        if not rest:
            return None
        other = self._first(rest)
        return (governing, other.step_mm) if other is not None and other.step_mm < row.step_mm else None

    def _smaller(self, row: Step) -> tuple[Step | None, tuple[int, ...]]:
        """The next smaller step that has a chance, and the cylinders whose sweep could bring it within reach."""
        nearest = self._next_below(row)
        if nearest is None:
            return None, ()
        weak = {n for n, p in nearest.chances if p < self.wanted}
        names = tuple(c.cylinder for c in self.cleanups if c.worth_sweeping and c.cylinder in weak)
        return (nearest, names) if names else (None, ())

    def _next_below(self, row: Step) -> Step | None:
        below = [r for r in self.rows if r.step_mm < row.step_mm and r.probability > 0.02]
        return below[-1] if below else None

    def _no_step(self) -> Choice:
        for row in self.rows:
            if row.probability >= self.wanted:  # it would clean up, but a wall forbids
                return self._forbidden(row)
        last = self.rows[-1]
        short = self._short_of(last)
        narrowable = tuple(c.cylinder for c in short if c.narrowable)
        spare = last.bored_mm - self._needed_mm
        if last.probability > 1 - self.wanted and narrowable and not last.limited:
            return self._found(Outcome.MEASURE, last.probability, spare_mm=spare, culprits=narrowable)
        culprits = tuple(c.cylinder for c in short)
        if self._one_of_several(culprits):
            return self._sleeve(culprits)
        return self._found(Outcome.BEYOND, 1 - last.probability, spare_mm=spare, culprits=culprits)

    def _short_of(self, row: Step) -> list[CleanUp]:
        """The cylinders that a step is not sure enough to clean up."""
        return [c for c in self.cleanups if c.probability(row.bored_mm, self.u_bored_mm) < self.wanted]

    def _forbidden(self, clean: Step) -> Choice:
        if self._one_of_several(clean.limited):
            return self._sleeve(clean.limited, forbidden=clean)
        return self._found(Outcome.STOP, clean.probability, culprits=clean.limited, forbidden=clean)

    def _one_of_several(self, cylinders: Sequence[int]) -> bool:
        return len(cylinders) == 1 and len(self.cleanups) > 1

    def _sleeve(self, culprits: tuple[int, ...], forbidden: Step | None = None) -> Choice:
        rest = [c for c in self.cleanups if c.cylinder not in culprits]
        row = self._first(rest)
        if row is None:
            return self._found(Outcome.STOP, None, sleeve=culprits, culprits=culprits, forbidden=forbidden)
        return self._found(
            Outcome.SLEEVE,
            together(rest, row.bored_mm, self.u_bored_mm),
            row=row,
            spare_mm=row.bored_mm - needed_together(rest, self.wanted, self.u_bored_mm),
            sleeve=culprits,
            culprits=culprits,
            forbidden=forbidden,
            without=(culprits[0], row.step_mm),
        )


def choose_step(
    cleanups: Sequence[CleanUp],
    *,
    nominal_mm: float,
    steps: Sequence[float],
    hone_stock_mm: float,
    u_bored_mm: float,
    confidence: float,
    largest_mm: Mapping[int, float],
    hone_allow_mm: float,
    mixed: bool,
) -> Choice:
    """The choice in figures; :func:`logic.oversize.choose` tells what is asked for and raised."""
    if not cleanups:
        raise ValueError("no cylinder to choose for")
    if not steps:
        raise ValueError("no step to choose from")
    sizes_sound = math.isfinite(nominal_mm) and nominal_mm > 0 and math.isfinite(hone_stock_mm)
    if not (sizes_sound and 0 <= hone_stock_mm < nominal_mm):
        raise ValueError("the nominal bore and the hone stock must be finite and not below zero")
    if not 0.5 <= confidence < 1:
        raise ValueError("confidence must be from 0.5 up to below 1")
    rows = _rows(cleanups, nominal_mm, tuple(sorted(steps)), hone_stock_mm, u_bored_mm, largest_mm)
    return _Chooser(
        tuple(cleanups), rows, nominal_mm, hone_stock_mm, u_bored_mm, confidence, hone_allow_mm, mixed
    ).choice()
