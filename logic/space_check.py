"""The space over the piston against what engines have, and against the ratio that the engine's papers give.

The papers' ratio is another source of everything that was measured of the space: it finds a dome entered as a
dish, a chamber ten times too large, another engine's stroke. How far a measured ratio may lie from the papers'
is common practice, no source: castings and worn or skimmed faces move it by a few tenths.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .compression import Space, left_cm3, ratio
from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = ["check_book", "check_crown", "check_highest", "check_ratio"]

#: Ratios of engines: from the oldest side valves to diesels.
LOWEST, LOWEST_DIESEL, HIGHEST, HIGHEST_SPARK = 4.0, 12.0, 26.0, 15.0
#: A measured ratio lies within this of the papers', and within so large a part of it.
BOOK_WITHIN, BOOK_PART = 0.45, 0.05
#: Nobody wants a ratio so far above the papers', nor with a spark above this.
ABOVE_BOOK, WANTED_SPARK = 2.2, 14.0


def check_ratio(before: Space, *, diesel: bool, about: Sequence[Place]) -> Iterator[Doubt]:
    """The ratio before the work against those of engines."""
    if left_cm3(before) <= 0:  # said where the ratio is
        return
    found, (least, most) = ratio(before), (LOWEST_DIESEL, HIGHEST) if diesel else (LOWEST, HIGHEST_SPARK)
    if least <= found <= most:
        return
    gaps = {"ratio": Qty(found, "ratio"), "low": Qty(least, "ratio"), "high": Qty(most, "ratio")}
    yield Doubt(
        key="ratio.range",
        line=L("By these figures the ratio was {ratio}: diesels have {low} to {high}.", **gaps)
        if diesel
        else L("By these figures the ratio was {ratio}: spark-ignition engines have {low} to {high}.", **gaps),
        settle=L("Check stroke, chamber and crown: their units, and the point in each."),
        about=tuple(about),
    )


def check_book(before: Space, book: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The ratio before the work, as measured, against the papers'."""
    if left_cm3(before) <= 0:
        return
    found = ratio(before)
    if abs(found - book) <= max(BOOK_WITHIN, BOOK_PART * book):
        return
    yield Doubt(
        key="ratio.book",
        line=L(
            "By these figures the ratio was {ratio}, by the papers {book}.",
            ratio=Qty(found, "ratio"),
            book=Qty(book, "ratio"),
        ),
        settle=L("Check stroke, chamber, crown and deck clearance, each with its sign."),
        about=tuple(about),
    )


def check_crown(crown_cm3: float, book: float | None, *, decides: bool, about: Sequence[Place]) -> Iterator[Doubt]:
    """A dish or a dome whose sign nothing confirms; ``decides`` where the ratio would be too high with the other sign."""
    if book is not None or not decides:
        return
    said = Qty(abs(crown_cm3), "volume")
    yield Doubt(
        key="ratio.crown",
        line=L("Entered as a dish of {volume}: or is it a dome?", volume=said)
        if crown_cm3 > 0
        else L("Entered as a dome of {volume}: or is it a dish?", volume=said),
        settle=L("Look at the crown, or enter the ratio that the engine's papers give."),
        about=tuple(about),
    )


def check_highest(highest: float, book: float | None, *, diesel: bool, about: Sequence[Place]) -> Iterator[Doubt]:
    """The highest ratio wanted against the papers', and against what engines of its kind run on."""
    unsaid = HIGHEST if diesel else WANTED_SPARK
    if highest <= (unsaid if book is None else book + ABOVE_BOOK):
        return
    yield Doubt(
        key="ratio.highest",
        line=_too_high(Qty(highest, "ratio"), book, diesel=diesel),
        settle=L("Check that figure, and the fuel it is meant for."),
        about=tuple(about),
    )


def _too_high(highest: Qty, book: float | None, *, diesel: bool) -> Line:
    if book is not None:
        return L(
            "A ratio of up to {highest} is wanted; by the papers it was {book}.",
            highest=highest,
            book=Qty(book, "ratio"),
        )
    if diesel:
        return L("A ratio of up to {highest} is wanted: that is high even for a diesel.", highest=highest)
    return L("A ratio of up to {highest} is wanted: that is high for a spark-ignition engine.", highest=highest)
