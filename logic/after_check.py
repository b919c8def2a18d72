"""What was measured after boring and honing, against what must hold between the stages.

A bore only ever grows; the gauge that brought a bore to size and the one that checks it must
agree; a piston goes into its bore with about its clearance. How far two good readings of the
same bore by two gauges may lie apart is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from .doubt import Doubt, Place, beyond
from .say import L, Line, Qty

__all__ = [
    "AGREE_MM",
    "Stage",
    "check_bite",
    "check_bored",
    "check_clearance",
    "check_exchanged",
    "check_final",
    "check_first_cut",
    "check_grows",
    "check_ring_bore",
    "check_stale",
    "check_strokes",
    "check_unstroked",
]

#: Two gauges on one bore agree within this, mm, beside four times their uncertainties.
AGREE_MM = 0.010
#: A bore may read so much smaller than before by the gauge alone, mm, beside four times the uncertainty.
SMALLER_MM = 0.008
#: The bore a ring was tried in may be so much over the finished one, and so much under it before the last honing, mm.
RING_OVER_MM, RING_UNDER_MM = 0.03, 0.25
#: A bar cuts within this of its setting before anything is known of it, mm, twice the standard deviation assumed.
FIRST_BIAS_MM = 0.1
#: Strokes counted against strokes told: from this ratio and this many more on, they are counted another way.
STROKES_RATIO, STROKES_MORE = 4.0, 10.0
#: Stones of one grit take off at least this part of what they did before, and at most that many times as much.
BITE_LEAST, BITE_MOST = 0.25, 3.0
#: A bore's mean size at one depth, by two gauges, agrees within this beside what moves all depths alike, mm, one standard deviation.
DEPTH_U_MM = 0.0025
#: The logarithm of the likelihoods' ratio from which two bores are taken to be exchanged: one in a hundred are, and twenty to one is asked.
EXCHANGED = math.log(100.0 * 20.0)
#: A clearance as measured lies within this of the one wanted, mm.
CLEARANCE_MM = 0.05


class Stage(NamedTuple):
    """One stage of a bore: its name, mean size in mm at 20 °C, the uncertainty of that, and the values it rests on."""

    name: Line
    size_mm: float
    u_mm: float
    about: tuple[Place, ...]


def _apart_mm(a: Stage, b: Stage, slack_mm: float) -> bool:
    return beyond(a.size_mm - b.size_mm, slack_mm, max(a.u_mm, b.u_mm), 4.0)


def check_grows(cylinder: int, stages: Sequence[Stage]) -> Iterator[Doubt]:
    """The stages in the order they were made: none smaller than the one before it."""
    for before, now in pairwise(stages):
        if now.size_mm >= before.size_mm or not _apart_mm(before, now, SMALLER_MM):
            continue
        yield Doubt(
            key=f"grows.{cylinder}",
            line=L(
                "Cylinder {n}: {now} {size} is {less} smaller than {before}.",
                n=cylinder,
                now=now.name,
                before=before.name,
                size=Qty(now.size_mm, "size"),
                less=Qty(before.size_mm - now.size_mm, "diff"),
            ),
            settle=L("A bore only grows: measure it again, and check zero and temperature of both."),
            about=(*before.about, *now.about),
        )
        return


def check_final(cylinder: int, honed: Stage, final: Stage) -> Iterator[Doubt]:
    """The final readings against the hone's last check: one bore measured twice, unless it was honed on and not logged."""
    if not _apart_mm(honed, final, AGREE_MM):
        return
    yield Doubt(
        key=f"final.hone.{cylinder}",
        line=L(
            "Cylinder {n}: the final readings say {final}, the last hone check {honed}.",
            n=cylinder,
            final=Qty(final.size_mm, "size"),
            honed=Qty(honed.size_mm, "size"),
        ),
        settle=L("Zero the gauge again on a ring whose size you read off, and measure once more."),
        about=(*honed.about, *final.about),
    )


def check_exchanged(
    final: Mapping[int, Sequence[float]], honed: Mapping[int, Sequence[float]], *, about: Mapping[int, Place]
) -> Iterator[Doubt]:
    """Two finished bores whose final readings fit the other one's last hone check far better than their own.

    ``final`` and ``honed`` are mean sizes by depth, mm, of each cylinder. The two are compared by their
    likelihoods, each depth's mean known to :data:`DEPTH_U_MM` and all of one gauge's moved alike.
    """
    for a, b in combinations(sorted(final.keys() & honed.keys()), 2):
        if not len(final[a]) == len(final[b]) == len(honed[a]) == len(honed[b]):
            continue
        own = [f - h for n in (a, b) for f, h in zip(final[n], honed[n], strict=True)]
        other = [f - h for n, m in ((a, b), (b, a)) for f, h in zip(final[n], honed[m], strict=True)]
        if (_scatter(own) - _scatter(other)) / (2.0 * DEPTH_U_MM**2) <= EXCHANGED:
            continue
        yield Doubt(
            key=f"exchanged.{a}.{b}",
            line=L(
                "The final readings of cylinders {a} and {b} fit each other's hone checks, not their own.", a=a, b=b
            ),
            settle=L("Read one place of cylinder {b} again.", b=b),
            about=(about[a], about[b]),
        )


def _scatter(values: Sequence[float]) -> float:
    """The sum of squares about the mean."""
    middle = math.fsum(values) / len(values)
    return math.fsum((v - middle) ** 2 for v in values)


def check_clearance(cylinder: int, final: Stage, piston_mm: float, wanted_mm: float, piston: Place) -> Iterator[Doubt]:
    """The final size less the measured piston, against the clearance wanted."""
    got = final.size_mm - piston_mm
    if not beyond(got - wanted_mm, CLEARANCE_MM, final.u_mm, 4.0):
        return
    yield Doubt(
        key=f"final.piston.{cylinder}",
        line=L(
            "Cylinder {n}: bore less piston is {got}, wanted is {wanted}.",
            n=cylinder,
            got=Qty(got, "diff"),
            wanted=Qty(wanted_mm, "fine"),
        ),
        settle=L("Measure piston and bore again, and check the gauge's zero."),
        about=(piston, *final.about),
    )


def check_ring_bore(
    cylinder: int, stated_mm: float, finished_mm: float, u_mm: float, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The bore that rings were tried in, which may be before the last honing, against the bore as finished."""
    off = stated_mm - finished_mm
    if -RING_UNDER_MM <= off <= RING_OVER_MM + 4.0 * u_mm:
        return
    yield Doubt(
        key=f"ring.bore.{cylinder}",
        line=L(
            "Cylinder {n}: rings were tried in {ring}, but the bore measures {bore}.",
            n=cylinder,
            ring=Qty(stated_mm, "size"),
            bore=Qty(finished_mm, "size"),
        ),
        settle=L("Measure the bore that the rings were tried in."),
        about=tuple(about),
    )


def check_stale(cylinder: int, measured: str, cut: str, what: Line, about: Sequence[Place]) -> Iterator[Doubt]:
    """Readings entered before the bore was last cut or honed; ``measured`` and ``cut`` are stamps ("" where none)."""
    if not measured or not cut or measured >= cut:
        return
    yield Doubt(
        key=f"stale.{cylinder}",
        line=L("Cylinder {n}: {what} are older than the last cut.", n=cylinder, what=what),
        settle=L("Measure it again after the last cut."),
        about=tuple(about),
    )


def check_first_cut(
    bias_mm: float, name: Line | str, *, set_mm: float, measured_mm: float, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The first cut of a bar that nothing is known of, against its setting: a gauge on the wrong ring is learned as bias."""
    if abs(bias_mm) <= FIRST_BIAS_MM:
        return
    yield Doubt(
        key="cut.first",
        line=L(
            "{name}: set to {set}, measured {measured}. That is much for a first cut.",
            name=name,
            set=Qty(set_mm, "size"),
            measured=Qty(measured_mm, "size"),
        ),
        settle=L("Check the micrometer on its standard and the gauge on its ring, and measure the cut again."),
        about=tuple(about),
    )


def check_bored(cylinder: int, bored: Stage, honed: Stage) -> Iterator[Doubt]:
    """The hone's check before any stroke, against the last pass: the same bore measured twice."""
    if not beyond(honed.size_mm - bored.size_mm, SMALLER_MM, math.hypot(bored.u_mm, honed.u_mm), 2.0):
        return
    yield Doubt(
        key=f"hone.bored.{cylinder}",
        line=L(
            "Cylinder {n}: before honing it measures {honed}, after boring {bored}.",
            n=cylinder,
            honed=Qty(honed.size_mm, "size"),
            bored=Qty(bored.size_mm, "size"),
        ),
        settle=L("No stroke lies between: check the gauge's ring and the bore's temperature, and measure again."),
        about=(*bored.about, *honed.about),
    )


def check_strokes(cylinder: int, check: int, counted: float, told: int, about: Place) -> Iterator[Doubt]:
    """The strokes entered against those that were to be made: a figure too many makes the stones look slow."""
    if counted < STROKES_RATIO * told or counted - told < STROKES_MORE:
        return
    yield Doubt(
        key=f"hone.strokes.{cylinder}.{check}",
        line=L(
            "Cylinder {n}, check {k}: {counted} double strokes entered, {told} asked for.",
            n=cylinder,
            k=check,
            counted=Qty(counted, "count"),
            told=Qty(float(told), "count"),
        ),
        settle=L("Correct the number of strokes, or say that it is right."),
        about=(about,),
    )


def check_unstroked(cylinder: int, before: Stage, now: Stage, about: Place) -> Iterator[Doubt]:
    """A bore that grew between two checks although no stroke was made: the strokes, or one of the checks, are wrong."""
    if now.size_mm <= before.size_mm or not _apart_mm(before, now, AGREE_MM):
        return
    yield Doubt(
        key=f"hone.still.{cylinder}",
        line=L(
            "Cylinder {n}: {now} is {more} larger than {before}, and no stroke was made.",
            n=cylinder,
            now=now.name,
            before=before.name,
            more=Qty(now.size_mm - before.size_mm, "fine"),
        ),
        settle=L("Enter the strokes made, or check the gauge on its ring and measure again."),
        about=(about, *before.about, *now.about),
    )


def _bites_as_usual(off_mm: float, usual_mm: float, noise_mm: float) -> bool:
    if usual_mm <= 0:
        return off_mm <= noise_mm
    return BITE_LEAST * usual_mm - noise_mm <= off_mm <= BITE_MOST * usual_mm + noise_mm


def check_bite(cylinder: int, stretches: Sequence[tuple[Line, float, float, Place]], u_mm: float) -> Iterator[Doubt]:
    """Each stretch of one grit against the others: its name, strokes, what it took off in mm, and the value it rests on.

    ``u_mm`` is the uncertainty of a check's mean. A gauge zeroed anew on another ring shows as
    one stretch that takes far more or less than the rest.
    """
    for i, (name, strokes, off_mm, about) in enumerate(stretches):
        others = [s for k, s in enumerate(stretches) if k != i]
        counted = math.fsum(s[1] for s in others)
        if not others or not counted:
            continue
        usual = math.fsum(s[2] for s in others) / counted * strokes
        noise = 4.0 * u_mm * math.sqrt(2.0 + 2.0 * (strokes / counted) ** 2)
        if _bites_as_usual(off_mm, usual, noise):
            continue
        yield Doubt(
            key=f"hone.bite.{cylinder}",
            line=L(
                "Cylinder {n}, {name}: {off} taken off; by the other checks it would be about {usual}.",
                n=cylinder,
                name=name,
                off=Qty(off_mm, "fine"),
                usual=Qty(usual, "fine"),
            ),
            settle=L("Check the gauge on its ring and the strokes counted, and measure again."),
            about=(about, *(s[3] for s in others)),
        )
        return
