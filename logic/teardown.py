"""What has to be so before a block is measured and bored where it stands, and in which order its bores are cut.

Limits here are common practice without a source unless somebody states them; a maker's
figure comes first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from .checklist import counted
from .result import Assumption, Figure, Result, Verdict
from .say import L, Line, Qty

__all__ = ["NEIGHBOURS_MM", "OVERRUN_MM", "boring_order", "flanges", "liners", "order_said", "reach", "ready"]

#: How far the tip goes on below the bore so that its lower edge is cut clean (common practice, no source).
OVERRUN_MM = 3.0
#: How much liners side by side under one gasket may differ in height: 2 thou (common practice, no source).
NEIGHBOURS_MM = 0.05


def ready(items: Sequence[tuple[Line, str | None]]) -> Result:
    """Sum up the strip-down from (what was checked, answer), answers as in :data:`logic.checklist.ANSWERS`.

    Raises ValueError for an unknown answer or an empty list.
    """
    found = counted([answer for _, answer in items])
    failed, waiting = ([items[n][0] for n in places] for places in (found.failed, found.waiting))
    if failed:
        verdict, line = Verdict.STOP, L("Not ready to bore: {what}", what=failed[0])
    elif waiting:
        verdict, line = Verdict.INFO, L("Strip-down: {done} of {all} settled.", done=found.settled, all=len(items))
    else:
        verdict, line = Verdict.GO, L("Stripped down and covered: ready to measure.")
    return Result(
        key="strip.ready",
        line=line,
        value=Qty(found.settled, "count"),
        verdict=verdict,
        why=tuple(L("To put right: {what}", what=what) for what in failed[1:]),
        assumptions=(Assumption(L("Each answer was given after looking, not from memory."), "entered"),),
    )


def reach(
    reach_mm: float, bore_mm: float, *, room_mm: float | None = None, step: bool = False, overrun_mm: float = OVERRUN_MM
) -> Result:
    """Whether the bar reaches through a bore ``bore_mm`` long and clears what is below it.

    ``reach_mm`` is how far below the deck the tip comes, ``room_mm`` what is free under the
    bore (None: nothing in the way is known); with a ``step`` at the bottom the bar stops
    above it. Raises ValueError for lengths not above zero.
    """
    if not (reach_mm > 0 and bore_mm > 0 and overrun_mm >= 0):
        raise ValueError("lengths are above zero")
    wanted = bore_mm if step else bore_mm + overrun_mm
    said = {
        "short": Qty(wanted - reach_mm, "place"),
        "over": Qty(reach_mm - bore_mm, "place"),
        "bore": Qty(bore_mm, "place"),
        "room": Qty(0.0 if room_mm is None else room_mm, "place"),
    }
    if reach_mm < wanted:
        verdict, line = Verdict.STOP, L("The bar ends {short} too high: it would leave a step in the bore.", **said)
    elif step:
        verdict, line = Verdict.MAYBE, L("Stop the bar at {bore}, above the step. Try it by hand first.", **said)
    elif room_mm is not None and room_mm < overrun_mm:
        verdict, line = (
            Verdict.MAYBE,
            L("Only {room} is free under the bore: set a stop, and try it by hand first.", **said),
        )
    else:
        verdict, line = Verdict.GO, L("The bar reaches {over} below the bore.", **said)
    return Result(
        key="strip.reach",
        line=line,
        value=Qty(reach_mm, "place"),
        verdict=verdict,
        figures=(
            Figure("reach", L("Tip reaches, below the deck"), Qty(reach_mm, "place")),
            Figure("bore", L("Length of the bore"), Qty(bore_mm, "place")),
        ),
        assumptions=(
            Assumption(L("The tip runs out {over} below the bore.", over=Qty(overrun_mm, "place"))),
            Assumption(L("Turn the spindle by hand through the whole travel before the motor runs.")),
        ),
    )


def liners(
    heights_mm: Mapping[int, float],
    *,
    low_mm: float | None,
    high_mm: float | None,
    skims_mm: Mapping[int, float] | None = None,
    banks: Sequence[Sequence[int]] = (),
) -> Result:
    """Whether wet liners stand as they should above the deck (below it: minus), mm, by cylinder.

    ``low_mm`` and ``high_mm`` are the maker's limits (None: not known); ``skims_mm`` is what comes
    off the deck at each cylinder, which raises its liner by as much; ``banks`` says which liners
    stand side by side (none: all in one row). Raises ValueError without heights.
    """
    if not heights_mm:
        raise ValueError("no height to judge")
    skims = skims_mm or {}
    after = {c: h + skims.get(c, 0.0) for c, h in sorted(heights_mm.items())}
    out = [c for c, h in after.items() if _outside(h, low_mm, high_mm)]
    apart = max(_neighbours_apart_mm(after, bank) for bank in banks or (range(min(after), max(after) + 1),))
    verdict, line = _liners_judged(after, out, apart, limits_known=low_mm is not None and high_mm is not None)
    return Result(
        key="strip.liners",
        line=line,
        value=Qty(apart, "fine"),
        verdict=verdict,
        why=(
            *(L("Liner {c}: outside its limits.", c=c) for c in out[1:]),
            *(
                L("A skim of {skim} raises the liners in that deck by as much.", skim=Qty(skim, "diff"))
                for skim in dict.fromkeys(skims.values())
                if skim
            ),
        ),
        figures=(
            *(
                Figure(f"height{c}", L("Liner {c} above the deck", c=c), Qty(h, "deviation"), formula=L("as entered"))
                for c, h in after.items()
            ),
            *_limit_figures(low_mm, high_mm),
        ),
        assumptions=(
            Assumption(L("Liners side by side may differ by {most}.", most=Qty(NEIGHBOURS_MM, "fine"))),
            Assumption(L("The liner is clamped down and its seat clean; the maker's way to measure comes first.")),
        ),
    )


def flanges(
    out_mm: Mapping[int, float],
    *,
    low_mm: float | None,
    high_mm: float | None,
    skims_mm: Mapping[int, float] | None = None,
) -> Result:
    """What the flange recess of each wet liner needs, from how far the flange stands out of it (mm, by cylinder).

    That is the flange's thickness less the recess's depth, before the head presses it down.
    Below ``low_mm`` a shim goes under the flange, above ``high_mm`` the recess is cut deeper;
    ``skims_mm`` as for :func:`liners`. Raises ValueError without a flange.
    """
    if not out_mm:
        raise ValueError("no flange to judge")
    skims = skims_mm or {}
    after = {c: h + skims.get(c, 0.0) for c, h in sorted(out_mm.items())}
    short = {c: low_mm - h for c, h in after.items() if low_mm is not None and h < low_mm}
    proud = {c: h - high_mm for c, h in after.items() if high_mm is not None and h > high_mm}
    wanted = (
        *(
            L("Liner {c}: lay at least {shim} of shim under its flange.", c=c, shim=Qty(x, "fine"))
            for c, x in short.items()
        ),
        *(L("Liner {c}: cut its recess at least {cut} deeper.", c=c, cut=Qty(x, "fine")) for c, x in proud.items()),
    )
    if wanted:
        verdict, line = Verdict.STOP, wanted[0]
    elif low_mm is None or high_mm is None:
        verdict, line = Verdict.INFO, L("Flange less recess is known. Enter the maker's limits for the liner.")
    else:
        verdict, line = Verdict.GO, L("Every flange suits its recess.")
    return Result(
        key="strip.flange",
        line=line,
        verdict=verdict,
        why=wanted[1:],
        figures=tuple(
            Figure(
                f"flange{c}",
                L("Flange of liner {c} above the deck", c=c),
                Qty(h, "deviation"),
                formula=L("flange − recess + skim of the deck"),
            )
            for c, h in after.items()
        ),
        assumptions=(
            Assumption(L("Flange and recess are clean and without burrs.")),
            Assumption(L("The engine maker says whether shims may go under a flange.")),
        ),
    )


def _neighbours_apart_mm(after: Mapping[int, float], bank: Sequence[int]) -> float:
    """The most that liners side by side differ by, of those measured."""
    return max((abs(after[a] - after[b]) for a, b in pairwise(bank) if a in after and b in after), default=0.0)


def _outside(height_mm: float, low_mm: float | None, high_mm: float | None) -> bool:
    return (low_mm is not None and height_mm < low_mm) or (high_mm is not None and height_mm > high_mm)


def _liners_judged(
    after: Mapping[int, float], out: Sequence[int], apart_mm: float, *, limits_known: bool
) -> tuple[str, Line]:
    """The verdict on liners that stand at the heights ``after``, those of ``out`` outside their limits."""
    apart = Qty(apart_mm, "fine")
    if out:
        first = Qty(after[out[0]], "deviation")
        line = L("Liner {c} stands {height} to the deck: outside its limits.", c=out[0], height=first)
        return Verdict.STOP, line
    if apart_mm > NEIGHBOURS_MM:
        return Verdict.STOP, L("Liners side by side differ by {apart}: the gasket will leak.", apart=apart)
    if not limits_known:
        return Verdict.INFO, L("Liner heights differ by {apart} at most. Enter the maker's limits.", apart=apart)
    return Verdict.GO, L("Every liner stands within limits.")


def _limit_figures(low_mm: float | None, high_mm: float | None) -> tuple[Figure, ...]:
    """The maker's limits, those that are known."""
    limits = (("lowest", L("Lowest the maker allows"), low_mm), ("highest", L("Highest the maker allows"), high_mm))
    return tuple(
        Figure(key, label, Qty(limit, "deviation"), formula=L("as entered"))
        for key, label, limit in limits
        if limit is not None
    )


def boring_order(cylinders: Sequence[int], *, spread: bool) -> tuple[int, ...]:
    """The order in which to bore one bank: as its bores stand, or so that none follows its neighbour where that can be had.

    Every second bore first, then those between (common practice, no source): from four
    bores on no two neighbours follow each other. ``cylinders`` stand as along the block.
    """
    order = tuple(cylinders)
    return (
        (*order[1::2], *order[::2]) if spread and len(order) > 3 else (*order[::2], *order[1::2]) if spread else order
    )


def order_said(orders: Sequence[Sequence[int]]) -> Result:
    """The boring order in words, a bank at a time: the machine is moved over once."""
    first = orders[0]
    if len(orders) == 1:
        line = L("Bore in this order: {order}.", order=tuple(first))
    else:
        line = L("Bore bank by bank: {banks}.", banks=" / ".join(", ".join(map(str, bank)) for bank in orders))
    why = [L("A bore cools while one further off is cut. Measure it only when it is as cold as the block.")]
    if len(orders) > 1:
        why.append(L("Each bank has a deck of its own: measure, clamp and square the machine on each."))
    return Result(
        key="cut.order",
        line=line,
        why=tuple(why),
        assumptions=(
            Assumption(L("The cylinders of a bank stand as numbered along the block."))
            if len(orders) == 1
            else Assumption(L("The banks as given with the job."), "entered"),
        ),
    )
