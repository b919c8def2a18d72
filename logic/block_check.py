"""What the block's own geometry demands of the readings: where wear can be, how bores lie beside each other, how thick walls are.

Wear is made by rings, so it lies in ring travel; the bores of one block were made alike;
two bores cannot overlap, and a wall between them is no thicker than the room there. How
much each may miss that is common practice, no source.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Mapping, Sequence

from .bore import WornBore, axis_name
from .doubt import APART, Doubt, Place, beyond, ends
from .readings_check import Typing, spot
from .say import AsTyped, L, Qty

__all__ = [
    "check_depths_apart",
    "check_level",
    "check_outside",
    "check_present",
    "check_spacing",
    "check_still",
    "check_wall",
    "check_walls_alike",
    "check_web",
]

#: A reading counts as outside ring travel from so far beyond its ends, mm: above its top, and below its bottom.
ABOVE_MM, BELOW_MM = 3.0, 8.0
#: So much may be worn outside ring travel, above it and below it (by the skirt), mm on diameter.
WORN_ABOVE_MM, WORN_BELOW_MM = 0.05, 0.12
#: The unworn ends of the bores of one block are alike within this, mm on diameter.
ALIKE_MM = 0.035
#: The least metal between two bores, mm.
WEB_MM = 1.5
#: A cylinder's wall is at most this part of its bore.
WALL_PART = 0.25
#: A wall is at most so many times as thick as the middle one of a block (common practice, no source).
ALIKE_TIMES = 1.8
#: The size before boring lies within this of the readings, mm.
PRESENT_MM = 0.04
#: Below this chance that a moving gauge shows one value at every place, it is taken to stand still.
STILL = 1e-4


def check_outside(b: WornBore, *, reading: str, travel: Sequence[Place]) -> Iterator[Doubt]:
    """Wear where no ring runs: ring travel, or the depths, are not what was entered."""
    top, bottom = b.ring_top_mm, b.ring_bottom_mm
    u = 4.0 * b.u_mm
    for c in b.cells:
        wear = c.d_mm - min(b.unworn.mm, b.smallest.d_mm)  # what was read below may be worn itself
        above = top is not None and c.depth_mm < top - ABOVE_MM and wear > WORN_ABOVE_MM + u
        below = bottom is not None and c.depth_mm > bottom + BELOW_MM and wear > WORN_BELOW_MM + u
        if not (above or below):
            continue
        said = {
            "n": b.cylinder,
            "wear": Qty(wear, "diff"),
            "depth": Qty(c.depth_mm, "place"),
            "top": Qty(top or 0.0, "place"),
            "bottom": Qty(bottom or 0.0, "place"),
        }
        line = (
            L("Cylinder {n}: {wear} of wear {depth} down, but ring travel starts at {top}.", **said)
            if above
            else L("Cylinder {n}: {wear} of wear {depth} down, but ring travel ends at {bottom}.", **said)
        )
        about = (spot(reading, cylinder=b.cylinder, depth=c.depth, axis=c.axis), *travel)
        yield Doubt(
            key=f"outside.{b.cylinder}",
            line=line,
            settle=L("Measure from the deck where the rings run, and check the depths read."),
            about=about,
        )
        return


def check_level(worn: Mapping[int, WornBore], *, reading: str, zero: Place) -> Iterator[Doubt]:
    """Each bore below ring travel against the others: a gauge zeroed anew half-way moves some bores and not the rest."""
    read = {n: b.unworn.mm for n, b in worn.items() if b.measured and b.unworn.source == "below rings"}
    if len(read) < 2:
        return
    low, high, spread = ends(read)
    if not beyond(spread, ALIKE_MM, math.hypot(worn[low].unworn.u_mm, worn[high].unworn.u_mm), APART):
        return
    middle = statistics.median(read.values())
    odd = high if read[high] - middle >= middle - read[low] else low
    yield Doubt(
        key="level",
        line=L(
            "Below ring travel cylinder {a} reads {low} and cylinder {b} {high}: bores of one block are closer.",
            a=low,
            b=high,
            low=Qty(read[low], "size"),
            high=Qty(read[high], "size"),
        ),
        settle=L("Check the gauge on its ring, and read cylinder {n} below ring travel again.", n=odd),
        about=(zero, *(spot(reading, cylinder=n) for n in read)),
    )


def check_still(
    typed: Mapping[tuple[int, int, str], Typing], *, u_mm: float, division_mm: float, key: str
) -> Iterator[Doubt]:
    """The same reading at every place: a gauge whose hand stands still, or cells that were filled in and not read.

    ``u_mm`` is how a reading scatters; the chance that all of them fall on one division follows from it.
    """
    texts = {t.text.strip() for t in typed.values()}
    if len(typed) < 6 or len(texts) != 1 or u_mm <= 0:
        return
    one = math.erf(division_mm / 2.0 / (u_mm * math.sqrt(2.0)))
    if one ** (len(typed) - 1) > STILL:
        return
    places = tuple(spot(key, cylinder=c, depth=d, axis=a) for c, d, a in typed)
    yield Doubt(
        key="still",
        line=L("Every reading is “{text}”: a gauge that moves never reads so alike.", text=AsTyped(min(texts))),
        settle=L("Check that the gauge's needle moves, and read one place again."),
        about=places,
    )


def check_depths_apart(depths_mm: Sequence[tuple[float, Place]]) -> Iterator[Doubt]:
    """Two depths that are one: what was read at the second would count for nothing."""
    seen: dict[float, Place] = {}
    for mm, where in sorted(depths_mm):
        if mm in seen:
            yield Doubt(
                key="depths.same",
                line=L("{depth} down is entered for two depths: only one of them counts.", depth=Qty(mm, "place")),
                settle=L("Correct the depth of one of them."),
                about=(seen[mm], where),
            )
            return
        seen[mm] = where


def check_spacing(spacing_mm: float, bore_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The distance between bore centres against the largest bore: two bores cannot overlap."""
    if spacing_mm >= bore_mm + WEB_MM:
        return
    yield Doubt(
        key="spacing",
        line=L(
            "Bores of {bore} do not fit {spacing} apart.",
            bore=Qty(bore_mm, "size"),
            spacing=Qty(spacing_mm, "place"),
        ),
        settle=L("Measure the distance from centre to centre again."),
        about=tuple(about),
    )


def check_wall(cylinder: int, wall_mm: float, bore_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """A wall's reading against what walls are: another unit, or an echo counted twice."""
    if wall_mm <= WALL_PART * bore_mm:
        return
    yield Doubt(
        key=f"wall.{cylinder}",
        line=L("Cylinder {n}: a wall of {wall} is thicker than walls are.", n=cylinder, wall=Qty(wall_mm, "wall")),
        settle=L("Check the reading's unit, and try the thickness gauge on a known piece."),
        about=tuple(about),
    )


def check_walls_alike(walls_mm: Mapping[int, Mapping[int, float]], *, key: str) -> Iterator[Doubt]:
    """The walls of a block as the gauge shows them, by cylinder and angle: one cast has walls of about one thickness.

    Only one that reads too thick is asked about: one that reads thin stops the work by itself.
    """
    read = sorted(mm for of in walls_mm.values() for mm in of.values())
    if len(read) < 3:
        return
    usual = statistics.median(read)
    for n, of in sorted(walls_mm.items()):
        angle = max(of, key=lambda a: of[a])
        if of[angle] > ALIKE_TIMES * usual:
            yield Doubt(
                key=f"wall.alike.{n}",
                line=L(
                    "Cylinder {n}: one wall reads {wall}, the others about {usual}.",
                    n=n,
                    wall=Qty(of[angle], "wall"),
                    usual=Qty(usual, "wall"),
                ),
                settle=L("Read that wall again, and check the point in the figure."),
                about=(spot(key, cylinder=n, angle=angle),),
            )


def check_web(
    cylinder: int, wall_mm: float, spacing_mm: float, bore_mm: float, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """A wall toward the next bore against the room between the two."""
    room = spacing_mm - bore_mm
    if wall_mm <= room or room < WEB_MM:  # a spacing that cannot be is a doubt of its own
        return
    yield Doubt(
        key=f"web.{cylinder}",
        line=L(
            "Cylinder {n}: a wall of {wall}, but only {room} lies between two bores.",
            n=cylinder,
            wall=Qty(wall_mm, "wall"),
            room=Qty(room, "wall"),
        ),
        settle=L("Check the thickness gauge on a known piece, and the distance between bore centres."),
        about=tuple(about),
    )


def check_present(b: WornBore, present_mm: float, *, about: Place, reading: str) -> Iterator[Doubt]:
    """The smallest size before boring against the readings of that bore."""
    slack = PRESENT_MM + 3.5 * math.hypot(b.u_mm, b.u_common_mm)
    low, high = min(b.unworn.mm, b.smallest.d_mm), b.worst.d_mm
    if low - slack <= present_mm <= high + slack:
        return
    near = b.smallest if present_mm < low else b.worst
    yield Doubt(
        key=f"present.{b.cylinder}",
        line=L(
            "Cylinder {n}: {present} before boring, but the readings go from {low} to {high}.",
            n=b.cylinder,
            present=Qty(present_mm, "size"),
            low=Qty(low, "size"),
            high=Qty(high, "size"),
        ),
        settle=L("Measure it again, {axis} at {depth}.", axis=axis_name(near.axis), depth=Qty(near.depth_mm, "place")),
        about=(about, spot(reading, cylinder=b.cylinder)),
    )
