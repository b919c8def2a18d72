"""What to measure next: the check whose answer is worth most for each minute it takes.

A decision for a step a costs its place in the list (each larger step is a rebore less for
the engine) and, with the probability that it does not clean up, a scrapped set of bores:

    L(a) = a + S (1 − P_a)

S = 1 / (1 − wanted) makes the smallest expected loss ask for the same confidence as the
advice does. Before a further reading the least expected loss is R0 = min_a L(a); for each
thing the reading may say, R(m) = min_a L(a | m). The reading is worth R0 − E[R(m)], the
expected value of sample information of one look ahead (H. Raiffa and R. Schlaifer,
Applied Statistical Decision Theory, 1961), and is ranked by that for each minute.

What a reading may say is laid out in equal shares of what is believed now, not drawn at
random, so that the same job gets the same advice. Minutes are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import NormalDist
from typing import NamedTuple

from .bore import WornBore
from .cleanup import CleanUp, WearSide, clean_up
from .cleanup_chance import BoreLean
from .result import Result
from .say import L, Line, Qty
from .unread import BELOW_TOP_MM, UnreadPlace, unread

__all__ = [
    "MINUTES",
    "Advice",
    "IfSquare",
    "Measured",
    "Option",
    "advise",
    "if_square",
    "least_loss",
    "options_of",
    "told",
]

#: Minutes that each check takes on one bore (common practice, no source).
MINUTES: Mapping[str, float] = {"sweep": 4.0, "top": 1.5, "repeat": 1.0, "face": 15.0}
#: Standard uncertainty of a slope of the top face that was measured, mm per mm (common practice: six heights over a block).
U_SLOPE = 5e-5
#: Standard uncertainty of a clean-up diameter that was swept, mm (common practice: a tenth indicator, well centred).
U_SWEPT_MM = 0.008
#: No more than so many checks are advised at once.
MOST = 3
#: A check that saves less than this part of a step is not worth a minute.
_LEAST_WORTH = 0.01
#: A chance that a square deck would raise by less than this is not worth telling.
_LEAST_RISE = 0.05
_GRID = 50
#: What is less likely than this is left out.
_LEAST_WEIGHT = 1e-4


def _shares(n: int) -> tuple[float, ...]:
    """Standard normal quantiles at the middles of ``n`` equal shares."""
    return tuple(NormalDist().inv_cdf((i + 0.5) / n) for i in range(n))


_FEW, _MANY = _shares(3), _shares(12)
#: Sizes of a lean, whichever way it goes, at the middles of equal shares.
_SIZES = tuple(NormalDist().inv_cdf(0.5 + (i + 0.5) / 8) for i in range(4))


class Measured(NamedTuple):
    """What is known of one cylinder: its clean-up, and what that rests on where it was read with a two-point gauge."""

    cleanup: CleanUp
    worn: WornBore | None = None
    side: WearSide | None = None
    lean: BoreLean | None = None


class Option(NamedTuple):
    """A check that could be made, and what it may say: for each outcome a weight and each step's chance in this cylinder.

    Cylinder 0 stands for all of them: the top face is measured once.
    """

    kind: str
    cylinder: int
    minutes: float
    outcomes: tuple[tuple[float, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """A check worth making: ``saved`` is the expected loss it saves, in steps; ``settles`` the chance that it settles the choice."""

    kind: str
    cylinder: int
    minutes: float
    saved: float
    settles: float


@dataclass(frozen=True, slots=True)
class IfSquare:
    """What a deck that nobody measured costs: the step that would do if it turns out square (its place in the list), its
    chance as things are, and its chance then."""

    place: int
    now: float
    square: float


def if_square(
    measured: Sequence[Measured], bored_mm: Sequence[float], *, u_bored_mm: float, wanted: float
) -> IfSquare | None:
    """What the choice would be on a deck measured and found square; None where that changes no chance that counts."""
    if not any(_deck_open(m) for m in measured):
        return None
    now = _all_clean((_chances(m.cleanup, bored_mm, u_bored_mm) for m in measured), len(bored_mm))
    square = _all_clean((_on_deck(m, 0.0, bored_mm, u_bored_mm) for m in measured), len(bored_mm))
    place = least_loss(square, wanted)[1]
    if place == len(square) or square[place] - now[place] < _LEAST_RISE:
        return None
    return IfSquare(place, now[place], square[place])


def _deck_open(m: Measured) -> bool:
    """Whether a cylinder's clean-up hangs on a deck that nobody measured."""
    return m.worn is not None and m.lean is not None and not m.lean.measured


def _on_deck(m: Measured, slopes: float, bored_mm: Sequence[float], u_bored_mm: float) -> tuple[float, ...]:
    """The chances at each step if the deck is measured and leans by so many times what decks usually do."""
    if m.worn is None or m.lean is None or m.lean.measured:
        return _chances(m.cleanup, bored_mm, u_bored_mm)
    lean = replace(m.lean, across_mm=slopes * m.lean.u_mm, u_mm=U_SLOPE * m.lean.length_mm, measured=True)
    return _chances(clean_up(m.worn, m.side or WearSide(), lean), bored_mm, u_bored_mm)


def least_loss(chances: Sequence[float], wanted: float) -> tuple[float, int]:
    """The least expected loss in steps and the place of the step that has it; past the last step lies the scrap alone."""
    scrap = 1 / (1 - wanted)
    losses = [a + scrap * (1 - p) for a, p in enumerate(chances)]
    losses.append(len(chances) + scrap)
    best = min(range(len(losses)), key=losses.__getitem__)
    return losses[best], best


def _settled(chances: Sequence[float], wanted: float) -> bool:
    """Whether the best step is sure enough and the one before it as good as ruled out."""
    _, best = least_loss(chances, wanted)
    sure = best < len(chances) and chances[best] >= wanted
    return sure and (best == 0 or chances[best - 1] <= 1 - wanted)


def advise(
    measured: Sequence[Measured], bored_mm: Sequence[float], *, u_bored_mm: float, wanted: float
) -> tuple[Advice, ...]:
    """The checks worth making, best first, at most :data:`MOST`; empty where nothing is left to settle.

    ``bored_mm`` are the bored sizes of the steps, smallest first.
    """
    each = {m.cleanup.cylinder: _chances(m.cleanup, bored_mm, u_bored_mm) for m in measured}
    now = _all_clean(each.values(), len(bored_mm))
    if not each or _settled(now, wanted):
        return ()
    before, _ = least_loss(now, wanted)
    options = [o for m in measured for o in options_of(m, bored_mm, u_bored_mm=u_bored_mm)]
    options.append(_face(measured, each, bored_mm, u_bored_mm))
    found = [
        _worth(option, _all_clean(_others(each, option.cylinder), len(bored_mm)), before, wanted)
        for option in options
        if option.outcomes
    ]
    ranked = sorted(found, key=lambda a: (-a.saved / a.minutes, a.cylinder, a.kind))
    return tuple(a for a in ranked if a.saved > _LEAST_WORTH)[:MOST]


def _others(each: Mapping[int, Sequence[float]], cylinder: int) -> list[Sequence[float]]:
    """The chances of the cylinders that a check says nothing of."""
    return [c for n, c in each.items() if cylinder not in (0, n)]


def _all_clean(each: Iterable[Sequence[float]], steps: int) -> list[float]:
    """The chance at each step that all of some cylinders clean up, each of them apart from the others."""
    chances = list(each)
    return [math.prod(c[a] for c in chances) for a in range(steps)]


def _worth(option: Option, others: Sequence[float], before: float, wanted: float) -> Advice:
    total = math.fsum(w for w, _ in option.outcomes)
    after = settles = 0.0
    for weight, mine in option.outcomes:
        chances = [p * q for p, q in zip(mine, others, strict=True)]
        after += weight * least_loss(chances, wanted)[0]
        settles += weight * _settled(chances, wanted)
    return Advice(option.kind, option.cylinder, option.minutes, before - after / total, settles / total)


def _chances(c: CleanUp, bored_mm: Sequence[float], u_bored_mm: float) -> tuple[float, ...]:
    return tuple(c.probability(b, u_bored_mm) for b in bored_mm)


# -- what each check may say ---------------------------------------------------------------------------
def options_of(m: Measured, bored_mm: Sequence[float], *, u_bored_mm: float) -> Iterator[Option]:
    """The checks that one cylinder offers: a sweep, a reading where travel starts, the deciding reading again."""
    if m.cleanup.source == "swept":
        return
    yield Option("sweep", m.cleanup.cylinder, MINUTES["sweep"], tuple(_swept(m.cleanup, bored_mm, u_bored_mm)))
    if m.worn is None or m.side is None:
        return
    places = unread(m.worn)
    if places:
        yield Option("top", m.cleanup.cylinder, MINUTES["top"], tuple(_read_top(m, places, bored_mm, u_bored_mm)))
    yield Option("repeat", m.cleanup.cylinder, MINUTES["repeat"], tuple(_repeated(m, bored_mm, u_bored_mm)))


def _grid(c: CleanUp, low: float, width: float) -> tuple[list[float], list[float]]:
    """The chance that the clean-up diameter lies in each cell of the grid, and the middles of the cells."""
    edges = [low + i * width for i in range(_GRID + 1)]
    weights = [max(0.0, b - a) for a, b in pairwise(c.probability(x) for x in edges)]
    return weights, [x + width / 2 for x in edges[:-1]]


def _weighed_after(read_mm: float, weights: Sequence[float], middles: Sequence[float]) -> list[float]:
    """The grid's weights, not made to add up to one, after a sweep that read ``read_mm``."""
    return [w * math.exp(-0.5 * ((read_mm - y) / U_SWEPT_MM) ** 2) for w, y in zip(weights, middles, strict=True)]


def _swept(c: CleanUp, bored_mm: Sequence[float], u_bored_mm: float) -> Iterator[tuple[float, tuple[float, ...]]]:
    """A sweep reads the clean-up diameter itself: Bayes' rule on a grid for what it may read."""
    low, high = c.bounds_mm
    width = (high - low) / _GRID
    if width <= 0:
        return
    weights, middles = _grid(c, low, width)
    for true, weight in zip(middles, weights, strict=True):
        if weight < _LEAST_WEIGHT:
            continue
        for z in _FEW:
            after = _weighed_after(true + z * U_SWEPT_MM, weights, middles)
            total = math.fsum(after)
            if total > 0:
                yield weight / len(_FEW), tuple(_below(middles, after, total, b, u_bored_mm) for b in bored_mm)


def _below(middles: Sequence[float], weights: Sequence[float], total: float, bored: float, u: float) -> float:
    scale = max(u, 1e-6) * math.sqrt(2)
    return (
        math.fsum(w * 0.5 * math.erfc((y - bored) / scale) for y, w in zip(middles, weights, strict=True) if w) / total
    )


def _read_top(
    m: Measured, places: Sequence[UnreadPlace], bored_mm: Sequence[float], u_bored_mm: float
) -> Iterator[tuple[float, tuple[float, ...]]]:
    """A reading just below the start of travel, as likely as it is expected now; both axes wore by one law."""
    assert m.worn is not None  # only asked for where there are readings

    depth = min(p.depth_mm for p in places) + BELOW_TOP_MM
    if depth >= m.worn.depths_mm[0]:
        return
    by_axis = {p.axis: p for p in places}
    for z in _MANY:
        row = tuple(
            max(m.worn.unworn.mm, by_axis[a].d_mm + z * by_axis[a].u_mm) if a in by_axis else None for a in m.worn.axes
        )
        worn = replace(
            m.worn,
            depths_mm=(depth, *m.worn.depths_mm),
            d_mm=(row, *m.worn.d_mm),
            ring_top_mm=depth - BELOW_TOP_MM,
        )
        yield 1.0, _chances(clean_up(worn, m.side or WearSide(), m.lean), bored_mm, u_bored_mm)


def _repeated(m: Measured, bored_mm: Sequence[float], u_bored_mm: float) -> Iterator[tuple[float, tuple[float, ...]]]:
    """The deciding place read once more: its own error falls by the square root of two, about a new mean."""
    assert m.worn is not None  # only asked for where there are readings
    part = 1.5 * m.worn.u_mm  # of the clean-up diameter: between even wear and wear on one side
    for z in _MANY:
        shift = z * part / math.sqrt(2)
        pieces = tuple(
            replace(
                p,
                low_mm=p.low_mm + shift,
                high_mm=p.high_mm + shift,
                u_mm=math.sqrt(max(p.u_mm**2 - part**2 / 2, (0.3 * p.u_mm) ** 2)),
            )
            for p in m.cleanup.pieces
        )
        yield 1.0, _chances(replace(m.cleanup, pieces=pieces), bored_mm, u_bored_mm)


def _face(
    measured: Sequence[Measured], each: Mapping[int, Sequence[float]], bored_mm: Sequence[float], u_bored_mm: float
) -> Option:
    """The top face measured: how far it leans toward the thrust, in every cylinder alike; no outcome where it is known."""
    open_to_it = [m for m in measured if _deck_open(m)]
    closed = [c for n, c in each.items() if all(m.cleanup.cylinder != n for m in open_to_it)]
    outcomes = []
    for z in _SIZES if open_to_it else ():
        found = [_on_deck(m, z, bored_mm, u_bored_mm) for m in open_to_it]
        outcomes.append((1.0, tuple(_all_clean([*closed, *found], len(bored_mm)))))
    return Option("face", 0, MINUTES["face"], tuple(outcomes))


# -- in words --------------------------------------------------------------------------------------------
def told(
    advice: Sequence[Advice], *, top_mm: float | None, square: IfSquare | None = None, steps_mm: Sequence[float] = ()
) -> Result | None:
    """The checks in words, best first; None where there is none. ``top_mm`` is where the first reading belongs.

    ``square`` is what a square deck would change among ``steps_mm``.
    """
    lines = [_line(a, top_mm) for a in advice if _tenths(a)]  # what settles it in no case of ten is not worth a walk
    if square is not None:
        lines.append(
            L(
                "If the deck turns out square, {step} has a chance of {square}; not measured, it has {now}.",
                step=Qty(steps_mm[square.place], "step"),
                square=Qty(square.square, "chance"),
                now=Qty(square.now, "chance"),
            )
        )
    return Result(key="next", line=lines[0], why=tuple(lines[1:])) if lines else None


def _tenths(a: Advice) -> int:
    """In how many cases of ten a check settles the question."""
    return min(9, round(10 * a.settles))


def _line(a: Advice, top_mm: float | None) -> Line:
    said = {"n": a.cylinder, "minutes": Qty(60 * a.minutes, "duration")}
    tenths = Qty(_tenths(a), "count")
    if a.kind == "top":
        depth = Qty(top_mm if top_mm is not None else 0.0, "place")
        return L(
            "Read cylinder {n} at {depth} down: settles it in {k} of 10 cases, {minutes}.",
            **said,
            depth=depth,
            k=tenths,
        )
    if a.kind == "face":
        return L("Measure the deck: settles it in {k} of 10 cases, {minutes}.", **said, k=tenths)
    if a.kind == "sweep":
        return L("Sweep cylinder {n}: settles it in {k} of 10 cases, {minutes}.", **said, k=tenths)
    return L("Read the worst place of cylinder {n} again: settles it in {k} of 10 cases, {minutes}.", **said, k=tenths)
