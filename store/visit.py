"""The temperatures of a visit: the form in which they are asked, and whether they are still fresh."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone

from logic.say import L, Qty

from .clock import ms_of
from .facts.visit import FIELDS, latest
from .fields import visit
from .sheets.base import Group, Sheet, Work
from .view import View

__all__ = ["KEEP", "TITLE", "USED_IN", "Warmth", "sheet", "warmth"]

TITLE = L("Temperatures")
#: ``what`` of the decision by which somebody says that older temperatures still hold.
KEEP = "visit.keep"
#: The steps that reckon with them.
USED_IN = frozenset(("bores", "sweep", "sizes", "cut", "hone", "final"))
#: After so many hours, or on another day, they are asked about (common practice, no source).
FRESH_HOURS = 4


@dataclass(frozen=True, kw_only=True)
class Warmth:
    """What is known of the temperatures now: ``number`` of the visit, the block's, since when, and whether that is old."""

    number: int
    block: Qty
    since_ms: int
    old: bool


def sheet(number: int) -> Sheet:
    """The form for visit ``number``."""
    return Sheet(
        key="visit",
        order=0,
        title=TITLE,
        purpose=L("Asked once a visit. Every step takes them from here."),
        groups=(
            Group(
                key="visit",
                title=L("Measured at this visit"),
                fields=FIELDS,
                places=lambda _: [{"visit": number}],
                name=lambda at: L("visit {n}", n=str(at["visit"])),
                help=L("What is left out is taken to be as warm as the block."),
            ),
        ),
        work=lambda view: _work(view, number),
    )


def _work(view: View, number: int) -> Work:
    taken = view.number(visit.BLOCK, visit=number) is not None
    return Work(missing=() if taken else ((visit.BLOCK.key, {"visit": number}),), done=taken)


def warmth(view: View, now_ms: int, *, offset_minutes: int = 0) -> Warmth | None:
    """The temperatures of the latest visit; None before the first. ``offset_minutes`` is the reader's clock ahead of UTC."""
    number = latest(view)
    if number is None:
        return None
    block = view.get(visit.BLOCK, visit=number)
    if block is None:
        return None
    since = ms_of(block.stamp)
    kept = view.decision(KEEP)
    sure = since if kept is None or kept.stamp < block.stamp else ms_of(kept.stamp)
    zone = timezone(timedelta(minutes=offset_minutes))
    other_day = datetime.fromtimestamp(sure / 1000, zone).date() != datetime.fromtimestamp(now_ms / 1000, zone).date()
    old = other_day or now_ms - sure > FRESH_HOURS * 3_600_000
    return Warmth(number=number, block=Qty(block.value, "temperature"), since_ms=since, old=old)
