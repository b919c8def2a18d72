"""What was measured after boring and honing, against what must hold between the stages.

A bore only ever grows; the gauge that brought a bore to size and the one that checks it must
agree; a piston goes into its bore with about its clearance. How far two good readings of the
same bore by two gauges may lie apart is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = [
    "AGREE_MM",
    "Stage",
    "check_clearance",
    "check_final",
    "check_grows",
    "check_ring_bore",
    "check_stale",
]

#: Two gauges on one bore agree within this, mm, beside four times their uncertainties.
AGREE_MM = 0.010
#: A bore may read so much smaller than before by the gauge alone, mm, beside four times the uncertainty.
SMALLER_MM = 0.008
#: The bore a ring was tried in may be so much over the finished one, and so much under it before the last honing, mm.
RING_OVER_MM, RING_UNDER_MM = 0.03, 0.25
#: A clearance as measured lies within this of the one wanted, mm.
CLEARANCE_MM = 0.05


class Stage(NamedTuple):
    """One stage of a bore: its name, mean size in mm at 20 °C, the uncertainty of that, and the values it rests on."""

    name: Line
    size_mm: float
    u_mm: float
    about: tuple[Place, ...]


def _apart_mm(a: Stage, b: Stage, slack_mm: float) -> bool:
    return abs(a.size_mm - b.size_mm) > slack_mm + 4.0 * max(a.u_mm, b.u_mm)


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
    """The final readings against the hone's last check, which brought the bore to size."""
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


def check_clearance(cylinder: int, final: Stage, piston_mm: float, wanted_mm: float, piston: Place) -> Iterator[Doubt]:
    """The final size less the measured piston, against the clearance wanted."""
    got = final.size_mm - piston_mm
    if abs(got - wanted_mm) <= CLEARANCE_MM + 4.0 * final.u_mm:
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
