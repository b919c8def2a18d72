"""Studs as they are as a rule: how tight, and how deep in the block. A figure in another unit, or with its point one place off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .clamping_force import Stud, stud_load
from .doubt import Doubt, Place
from .say import L, Qty

__all__ = ["check_engagement", "check_torque"]

#: A stud that holds a machine is tightened to at least this part of the torque that it bears (common practice, no
#: source: half to nine tenths of it; a stud far looser than that shakes loose).
LEAST_PART = 0.33
#: No block is tapped deeper than so many diameters (common practice, no source: one and a half to two in iron).
DEEPEST = 2.5
#: The part of its proof load that a stud used again may carry (Shigley's Mechanical Engineering Design).
SHARE = 0.75


def check_torque(s: Stud, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The torque entered against the most that this stud bears."""
    load = stud_load(s, SHARE)
    usual = s.torque_nm * SHARE * load.proof_n / s.preload_n
    if s.torque_nm >= LEAST_PART * usual:
        return
    yield Doubt(
        key="clamp.torque",
        line=L(
            "{torque} is little for a {thread} stud: it bears about {usual}.",
            torque=Qty(s.torque_nm, "torque"),
            thread=s.thread.key,
            usual=Qty(usual, "torque"),
        ),
        settle=L("Check the wrench's scale and the figure's digits, or say that it is right."),
        about=tuple(about),
    )


def check_engagement(s: Stud, engagement_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """How deep a stud is said to go into the block: one that is short holds little, and a slip may make it long."""
    if engagement_mm <= DEEPEST * s.thread.diameter_mm:
        return
    yield Doubt(
        key="clamp.engagement",
        line=L(
            "The stud's thread {depth} deep in the block: with a {thread} about {usual} is usual.",
            depth=Qty(engagement_mm, "place"),
            thread=s.thread.key,
            usual=Qty(1.5 * s.thread.diameter_mm, "place"),
        ),
        settle=L("Measure the stud, and what of it stands out of the block."),
        about=tuple(about),
    )
