"""What the block's geometry demands of what was entered: see :mod:`logic.block_check`."""

from __future__ import annotations

from logic import block_check
from logic.doubt import Doubt
from logic.readings_check import spot

from ..fields.bores import DEPTH, READING, RING_BOTTOM, RING_TOP, SPACING, ZERO
from ..fields.cut import PRESENT
from ..fields.walls import READING as WALL
from ..graph import fact
from ..view import View
from .gauging import depths
from .passes import start_mm
from .thickness import walls_read
from .worn import worn_bore, worn_bores

__all__ = ["block_doubts"]

#: The directions along the crank, toward the bores before and behind: front and rear.
_FRONT, _REAR = 0, 180


@fact
def wear_doubts(view: View) -> tuple[Doubt, ...]:
    """Where wear was read, and whether the bores of the block read alike where no ring runs."""
    worn = worn_bores(view)
    travel = (spot(RING_TOP.key), spot(RING_BOTTOM.key))
    out = [d for b in worn.values() for d in block_check.check_outside(b, reading=READING.key, travel=travel)]
    out += block_check.check_level(worn, reading=READING.key, zero=spot(ZERO.key))
    stated = [(mm, spot(DEPTH.key, depth=d)) for d in depths(view) if (mm := view.number(DEPTH, depth=d)) is not None]
    out += block_check.check_depths_apart(stated)
    return tuple(out)


@fact
def present_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """The size measured before boring against the readings of the worn bore."""
    worn, about = worn_bore(view, cylinder), spot(PRESENT.key, cylinder=cylinder)
    present = start_mm(view, cylinder) if view.number(PRESENT, cylinder=cylinder) is not None else None
    if worn is None or not worn.measured or present is None:
        return ()
    return tuple(block_check.check_present(worn, present, about=about, reading=READING.key))


def _largest_mm(view: View) -> float | None:
    """The largest bore that is there now, as read; else the nominal one."""
    read = [b.worst.d_mm for b in worn_bores(view).values() if b.measured]
    return max(read, default=view.nominal_mm)


@fact
def spacing_doubts(view: View) -> tuple[Doubt, ...]:
    """The distance between bore centres against the bores."""
    spacing, bore = view.number(SPACING), _largest_mm(view)
    if spacing is None or bore is None or len(view.cylinders) < 2:
        return ()
    return tuple(block_check.check_spacing(spacing, bore, about=(spot(SPACING.key), spot(READING.key))))


@fact
def wall_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """The walls of a cylinder against what walls are, and those toward its neighbours against the room between them."""
    bore, spacing = _largest_mm(view), view.number(SPACING)
    # as the known pieces correct the gauge, and less than that by its error: never thicker than they surely are
    read = {w.angle_deg: w.wall_mm - 2.0 * w.u_mm for w in walls_read(view, cylinder)}
    if bore is None or not read:
        return ()
    thickest = max(read, key=lambda a: read[a])
    about = spot(WALL.key, cylinder=cylinder, angle=int(thickest))
    out = list(block_check.check_wall(cylinder, read[thickest], bore, about=(about,)))
    inner = [a for a, end in ((_FRONT, view.cylinders[0]), (_REAR, view.cylinders[-1])) if cylinder != end]
    for angle in inner if spacing is not None and not out else ():
        if angle in read:
            here = (spot(WALL.key, cylinder=cylinder, angle=angle), spot(SPACING.key))
            out += block_check.check_web(cylinder, read[angle], spacing or 0.0, bore, about=here)
    return tuple(out)


@fact
def alike_doubts(view: View) -> tuple[Doubt, ...]:
    """The walls of the block, as the gauge shows them, against each other."""
    read: dict[int, dict[int, float]] = {}
    for where, value in view.all(WALL).items():
        at = dict(where)
        read.setdefault(int(at["cylinder"]), {})[int(at["angle"])] = value.value
    return tuple(block_check.check_walls_alike(read, key=WALL.key))


@fact
def block_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about what the block's geometry forbids."""
    out = [*wear_doubts(view), *spacing_doubts(view)]
    out += alike_doubts(view)
    for c in view.cylinders:
        out += [*present_doubts(view, c), *wall_doubts(view, c)]
    return tuple(out)
