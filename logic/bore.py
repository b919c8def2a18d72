"""A worn bore from two-point readings on a grid of depths and axes.

Everything here is plain geometry on diameters that are already at 20 degrees
Celsius (ISO 1): out-of-round at each depth, taper along each axis, where the wear is
greatest, what the bore measured before it wore, and the name of its shape. Two-point
diameters do not say on which side the metal went: that is :mod:`logic.cleanup`.

Wear is greatest near the top of ring travel and on the thrust axis, and the bore is
as good as unworn below ring travel and above it (common practice, no source).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from .pictures import BoreSection
from .result import Assumption, Caution, Figure, Result
from .say import L, Line, Qty

__all__ = [
    "AXES",
    "BoreStudy",
    "Cell",
    "Shape",
    "Unworn",
    "WornBore",
    "axis_name",
    "section",
    "shape_of",
    "study",
]

#: Axis names, in the order they are measured, and how they are said.
AXES: Mapping[str, Line] = {
    "thrust": L("thrust axis"),
    "crank": L("crank line"),
    "diag_a": L("first diagonal"),
    "diag_b": L("second diagonal"),
}

#: A reading this far beyond, or this far short of, all its neighbours is measured again (common practice).
ODD_MM = 0.15
#: Wear may rise by this many times what its neighbours have before it is taken for a slip (common practice).
ODD_RISE = 1.5
#: Standard uncertainty added where the smallest reading stands in for the unworn bore (common practice).
SMALLEST_U_MM = 0.005
#: Standard uncertainty of an unworn bore that is only known as nominal (common practice).
NOMINAL_U_MM = 0.008
#: A bore whose mean diameters agree within this is called straight, if its readings are no worse (common practice).
STRAIGHT_MM = 0.010


def axis_name(axis: str) -> Line:
    """An axis in words. Raises ValueError for a name that is not in :data:`AXES`."""
    if axis not in AXES:
        raise ValueError(f"no such axis: {axis!r}")
    return AXES[axis]


class Cell(NamedTuple):
    """One reading: ``depth`` counts from 1, ``depth_mm`` is measured from the top face, ``d_mm`` at 20 °C."""

    depth: int
    axis: str
    depth_mm: float
    d_mm: float


@dataclass(frozen=True, slots=True)
class Unworn:
    """The bore before it wore: ``source`` is "stated", "below rings", "smallest reading" or "nominal"."""

    mm: float
    u_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class Shape:
    """The name of a bore's shape along its length and the rule that gave it. ``key`` is stable."""

    key: str
    name: Line
    rule: Line


@dataclass(frozen=True, kw_only=True)
class WornBore:
    """One cylinder's readings.

    ``d_mm`` is depths × axes (rows follow ``depths_mm``, from the top face down;
    columns follow ``axes``); a cell that was not measured is None. ``u_mm`` is the
    standard uncertainty of one reading from what varies between readings
    (repeatability, resolution); ``u_common_mm`` from what all readings share (master,
    temperatures, expansion). ``ring_top_mm`` and ``ring_bottom_mm`` are the depths
    between which the top ring travels, where known. ``stated_unworn_mm`` is the unworn
    size where somebody knows it.

    Raises ValueError for a ragged grid, an unknown axis, depths not increasing, or a
    number that is not finite and positive.
    """

    cylinder: int
    depths_mm: tuple[float, ...]
    axes: tuple[str, ...]
    d_mm: tuple[tuple[float | None, ...], ...]
    u_mm: float
    u_common_mm: float = 0.0
    ring_top_mm: float | None = None
    ring_bottom_mm: float | None = None
    stated_unworn_mm: float | None = None
    stated_u_mm: float = 0.005
    length_mm: float | None = None
    nominal_mm: float | None = None

    def __post_init__(self) -> None:
        self._check_places()
        self._check_figures()

    def _check_places(self) -> None:
        if len(self.d_mm) != len(self.depths_mm) or any(len(r) != len(self.axes) for r in self.d_mm):
            raise ValueError("the grid of diameters must be depths × axes")
        if len(set(self.axes)) != len(self.axes):
            raise ValueError("an axis is named twice")
        for axis in self.axes:
            axis_name(axis)
        if any(b <= a for a, b in zip(self.depths_mm, self.depths_mm[1:], strict=False)):
            raise ValueError("depths must increase downwards")

    def _check_figures(self) -> None:
        sizes = (*itertools.chain(*self.d_mm), self.stated_unworn_mm, self.length_mm, self.nominal_mm)
        if any(x is not None and not (math.isfinite(x) and x > 0) for x in sizes):
            raise ValueError("diameters and lengths must be finite and above zero")
        for u in (self.u_mm, self.u_common_mm, self.stated_u_mm):
            if not (math.isfinite(u) and u >= 0):
                raise ValueError("a standard uncertainty must be finite and not below zero")

    # -- readings ------------------------------------------------------------------
    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        """Every reading taken, depth by depth."""
        return tuple(
            Cell(i + 1, axis, z, d)
            for i, (z, row) in enumerate(zip(self.depths_mm, self.d_mm, strict=False))
            for axis, d in zip(self.axes, row, strict=False)
            if d is not None
        )

    @property
    def measured(self) -> bool:
        return bool(self.cells)

    def in_travel(self, depth_mm: float) -> bool:
        """Whether a depth lies in ring travel, as far as its limits are known."""
        above = self.ring_top_mm is not None and depth_mm < self.ring_top_mm
        below = self.ring_bottom_mm is not None and depth_mm > self.ring_bottom_mm
        return not above and not below

    @cached_property
    def worst(self) -> Cell:
        """The largest reading (the uppermost of equals). Raises ValueError where nothing was measured."""
        if not self.cells:
            raise ValueError("no reading yet")
        return max(self.cells, key=lambda c: (c.d_mm, -c.depth))

    @cached_property
    def smallest(self) -> Cell:
        """The smallest reading. Raises ValueError where nothing was measured."""
        if not self.cells:
            raise ValueError("no reading yet")
        return min(self.cells, key=lambda c: c.d_mm)

    @cached_property
    def unworn(self) -> Unworn:
        """The unworn bore: stated; else the mean of the readings below ring travel; else the smallest reading.

        The smallest reading carries :data:`SMALLEST_U_MM` more uncertainty, since some
        wear may be in it. It counts only once the lowest depth of several has been read;
        before that the nominal bore stands in, where it is known and smaller.
        """
        if self.stated_unworn_mm is not None:
            return Unworn(self.stated_unworn_mm, self.stated_u_mm, "stated")
        below = self._below_rings()
        if below is not None:
            return below
        if self.nominal_mm is not None and self.nominal_mm < self.smallest.d_mm:
            read = {c.depth for c in self.cells}
            if len(read) < 2 or len(self.depths_mm) not in read:
                return Unworn(self.nominal_mm, NOMINAL_U_MM, "nominal")
        return Unworn(self.smallest.d_mm, math.hypot(self.u_mm, SMALLEST_U_MM), "smallest reading")

    def _below_rings(self) -> Unworn | None:
        """What the readings below ring travel say of the unworn bore; None where there are none."""
        if self.ring_bottom_mm is None:
            return None
        below = [c.d_mm for c in self.cells if c.depth_mm > self.ring_bottom_mm]
        if not below:
            return None
        spread = (max(below) - min(below)) / math.sqrt(12)
        return Unworn(sum(below) / len(below), math.hypot(self.u_mm / math.sqrt(len(below)), spread), "below rings")

    @property
    def u_wear_mm(self) -> float:
        """Standard uncertainty of the wear: one reading's own and the unworn bore's."""
        return math.hypot(self.u_mm, self.unworn.u_mm)

    # -- what the readings say --------------------------------------------------------
    @property
    def wear_mm(self) -> float:
        """Greatest wear on diameter: worst reading less the unworn bore."""
        return self.worst.d_mm - self.unworn.mm

    def row(self, depth: int) -> Mapping[str, float]:
        """The readings at one depth (counted from 1), by axis."""
        return {a: d for a, d in zip(self.axes, self.d_mm[depth - 1], strict=False) if d is not None}

    def column(self, axis: str) -> tuple[tuple[float, float], ...]:
        """(depth_mm, d_mm) down one axis."""
        return tuple((c.depth_mm, c.d_mm) for c in self.cells if c.axis == axis)

    @cached_property
    def out_of_round_mm(self) -> Mapping[int, float]:
        """Largest less smallest diameter at each depth measured on two axes or more."""
        rows = {i: self.row(i) for i in range(1, len(self.depths_mm) + 1)}
        return {i: max(r.values()) - min(r.values()) for i, r in rows.items() if len(r) > 1}

    @cached_property
    def taper_mm(self) -> Mapping[str, float]:
        """Diameter at the top of ring travel less the lowest one, down each axis; above zero is wide at the top."""
        out = {}
        for axis in self.axes:
            line = [(z, d) for z, d in self.column(axis) if self.ring_top_mm is None or z >= self.ring_top_mm]
            if len(line) > 1:
                out[axis] = line[0][1] - line[-1][1]
        return out

    @cached_property
    def ridge_mm(self) -> float | None:
        """Height of the step at the top of ring travel, on diameter: None unless one can be told.

        The uppermost reading in ring travel less the reading above it, or less the
        unworn bore where nothing was read above. Uses the axis on which it is largest.
        """
        if self.ring_top_mm is None:
            return None
        steps = []
        for axis in self.axes:
            line = self.column(axis)
            inside = [d for z, d in line if z >= self.ring_top_mm]
            above = [d for z, d in line if z < self.ring_top_mm]
            if inside:
                steps.append(inside[0] - (above[-1] if above else self.unworn.mm))
        return max(0.0, *steps) if steps else None

    @cached_property
    def profile(self) -> tuple[tuple[float, float], ...]:
        """(depth_mm, mean diameter_mm) down the bore; readings above ring travel are left out."""
        out = []
        for i, z in enumerate(self.depths_mm, 1):
            r = self.row(i)
            if r and (self.ring_top_mm is None or z >= self.ring_top_mm):
                out.append((z, sum(r.values()) / len(r)))
        return tuple(out)

    @property
    def shape(self) -> Shape | None:
        """The shape's name, or None where fewer than two depths were measured."""
        return shape_of(self.profile, 2 * self.u_mm)

    def neighbours(self, cell: Cell) -> tuple[Cell, ...]:
        """The other axes at the same depth, and the same axis one depth up and one down."""
        return tuple(
            c
            for c in self.cells
            if (c.depth == cell.depth and c.axis != cell.axis)
            or (c.axis == cell.axis and abs(c.depth - cell.depth) == 1)
        )

    @cached_property
    def odd(self) -> tuple[Cell, ...]:
        """Readings far from every neighbour (two or more of them).

        Short of all by more than :data:`ODD_MM`, or beyond all by more than that and by more
        than :data:`ODD_RISE` times the wear of the most worn neighbour: wear rises steeply
        toward the top, but not out of nothing.
        """
        out = []
        for cell in self.cells:
            near = [c.d_mm for c in self.neighbours(cell)]
            if len(near) < 2:
                continue
            rise = max(ODD_MM, ODD_RISE * (max(near) - self.unworn.mm))
            if cell.d_mm - max(near) > rise or min(near) - cell.d_mm > ODD_MM:
                out.append(cell)
        return tuple(out)

    @cached_property
    def undersize(self) -> tuple[Cell, ...]:
        """Readings smaller than the unworn bore by more than their uncertainty (k = 3) and 0.01 mm."""
        limit = self.unworn.mm - 0.01 - 3 * math.hypot(self.u_mm, self.unworn.u_mm)
        return tuple(c for c in self.cells if c.d_mm < limit)


def _at(profile: tuple[tuple[float, float], ...], z: float) -> float:
    """The profile at depth z, straight between readings."""
    for (z0, d0), (z1, d1) in itertools.pairwise(profile):
        if z <= z1:
            return d0 + (d1 - d0) * (z - z0) / (z1 - z0)
    return profile[-1][1]


def shape_of(profile: tuple[tuple[float, float], ...], tolerance_mm: float = 0.0) -> Shape | None:
    """Name the shape of a bore from (depth_mm, mean diameter_mm) pairs, top first.

    With t = max(``tolerance_mm``, 0.010 mm), in this order: *straight*: all within t;
    *barrel*: some depth larger than both ends by more than t; *waist*: some depth
    smaller than both ends by more than t; *bell mouth*: an end larger, and more than
    four fifths of the change lies in that half of the length; *taper*: one end larger
    and the rest in between. Common practice, no source. Returns None for fewer than two
    depths.
    """
    if len(profile) < 2:
        return None
    t = max(tolerance_mm, STRAIGHT_MM)
    sizes = [d for _, d in profile]
    top, bottom = sizes[0], sizes[-1]
    if max(sizes) - min(sizes) <= t:
        return Shape("straight", L("straight"), L("Mean diameters agree within {t}.", t=Qty(t, "diff")))
    if max(sizes) - max(top, bottom) > t:
        return Shape(
            "barrel", L("barrel"), L("Wider in the middle than at both ends by more than {t}.", t=Qty(t, "diff"))
        )
    if min(top, bottom) - min(sizes) > t:
        return Shape(
            "waist", L("waist"), L("Narrower in the middle than at both ends by more than {t}.", t=Qty(t, "diff"))
        )
    middle = _at(profile, (profile[0][0] + profile[-1][0]) / 2)
    wide, narrow = max(top, bottom), min(top, bottom)
    end = L("top") if top > bottom else L("bottom")
    if len(profile) > 2 and wide - middle > 0.8 * (wide - narrow):
        return Shape(
            "bell mouth",
            L("bell-mouth, wide at the {end}", end=end),
            L("More than four fifths of the change in diameter lies in the half of the bore at the {end}.", end=end),
        )
    return Shape(
        "taper",
        L("taper, wide at the {end}", end=end),
        L("The {end} is widest and the sizes fall away steadily from it.", end=end),
    )


@dataclass(frozen=True, kw_only=True)
class BoreStudy(Result):
    """What one bore's readings say. ``worn`` are the readings it came from."""

    worn: WornBore


def _unworn_assumption(worn: WornBore) -> Assumption:
    size, source = worn.unworn.mm, worn.unworn.source
    q = Qty(size, "size", worn.unworn.u_mm)
    if source == "stated":
        return Assumption(L("Unworn bore {size}, as stated.", size=q), "entered")
    if source == "below rings":
        return Assumption(L("Unworn bore {size}: mean of the readings below ring travel.", size=q))
    if source == "nominal":
        return Assumption(L("Unworn bore taken as nominal, {size}, until the lowest depth is read.", size=q))
    return Assumption(
        L("Unworn bore taken as the smallest reading, {size}. A reading below ring travel is surer.", size=q)
    )


def _cautions(worn: WornBore) -> Iterator[Caution]:
    n = worn.cylinder
    for c in worn.undersize:
        yield Caution(
            f"bore.undersize.{n}.{c.depth}.{c.axis}",
            L(
                "Cylinder {n}, {depth} down, {axis}: {size} is smaller than the unworn bore. Measure it again, or check the gauge zero.",
                n=n,
                depth=Qty(c.depth_mm, "place"),
                axis=axis_name(c.axis),
                size=Qty(c.d_mm, "size"),
            ),
        )
    for c in worn.odd:
        yield Caution(
            f"bore.odd.{n}.{c.depth}.{c.axis}",
            L(
                "Cylinder {n}, {depth} down, {axis}: {size} is far from the readings around it. Measure it again.",
                n=n,
                depth=Qty(c.depth_mm, "place"),
                axis=axis_name(c.axis),
                size=Qty(c.d_mm, "size"),
            ),
        )
    if (
        worn.ring_bottom_mm is None
        and worn.unworn.source == "smallest reading"
        and len(worn.cells) > 1
        and worn.wear_mm > 0.03
    ):
        span = worn.depths_mm[-1]
        if worn.smallest.depth != max(c.depth for c in worn.cells):
            yield Caution(
                f"bore.unworn.{n}",
                L(
                    "Cylinder {n}: the smallest reading is not the lowest one. Read once more below ring travel, deeper than {depth}, to be sure of the unworn size.",
                    n=n,
                    depth=Qty(span, "place"),
                ),
            )


def study(worn: WornBore) -> BoreStudy:
    """Put one bore's readings into words and figures. Raises ValueError where nothing was measured."""
    worst, unworn = worn.worst, worn.unworn
    u_wear = math.hypot(worn.u_mm, unworn.u_mm)
    wear = Qty(worn.wear_mm, "diff", u_wear)
    oor = max(worn.out_of_round_mm.values(), default=None)
    taper = max(worn.taper_mm.values(), key=abs, default=None)
    shape = worn.shape
    said = {
        "n": worn.cylinder,
        "wear": wear,
        "depth": Qty(worst.depth_mm, "place"),
        "axis": axis_name(worst.axis),
    }
    if shape is not None:
        line = L(
            "Cylinder {n}: {wear} of wear, most at {depth} down on the {axis}. Shape: {shape}.",
            **said,
            shape=shape.name,
        )
    else:
        line = L("Cylinder {n}: {wear} of wear, most at {depth} down on the {axis}.", **said)
    figures = [
        Figure("worst", L("Largest reading"), Qty(worst.d_mm, "size", math.hypot(worn.u_mm, worn.u_common_mm))),
        Figure("unworn", L("Unworn bore"), Qty(unworn.mm, "size", math.hypot(unworn.u_mm, worn.u_common_mm))),
        Figure("wear", L("Greatest wear on diameter"), wear),
    ]
    if oor is not None:
        figures.append(
            Figure("out_of_round", L("Out of round, worst depth"), Qty(oor, "diff", worn.u_mm * math.sqrt(2)))
        )
    if taper is not None:
        figures.append(Figure("taper", L("Taper, worst axis"), Qty(taper, "deviation", worn.u_mm * math.sqrt(2))))
    if worn.ridge_mm is not None:
        figures.append(Figure("ridge", L("Ridge at the top of ring travel, on diameter"), Qty(worn.ridge_mm, "diff")))
    why = [] if shape is None else [shape.rule]
    why += [
        L(
            "At {depth} down the bore is {oor} out of round.",
            depth=Qty(worn.depths_mm[i - 1], "place"),
            oor=Qty(value, "diff"),
        )
        for i, value in worn.out_of_round_mm.items()
    ]
    return BoreStudy(
        key=f"bore.{worn.cylinder}",
        line=line,
        value=wear,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=(
            _unworn_assumption(worn),
            Assumption(L("Every size is as it would be at 20 °C."), "ISO 1"),
        ),
        cautions=tuple(_cautions(worn)),
        worn=worn,
    )


def section(
    worn: WornBore,
    *,
    cut_diameter_mm: float | None = None,
    governing: tuple[float, str] | None = None,
) -> BoreSection:
    """The bore cut lengthwise, for the picture. ``cut_diameter_mm`` is the proposed bored size, if any."""
    unworn = worn.unworn.mm
    rows = tuple((c.depth_mm, c.axis, (c.d_mm - unworn) / 2) for c in worn.cells)
    lowest = max(worn.depths_mm) if worn.depths_mm else 0.0
    length = worn.length_mm if worn.length_mm is not None and worn.length_mm >= lowest else lowest * 1.1
    worst = worn.worst
    said = {
        "n": worn.cylinder,
        "unworn": Qty(unworn, "size"),
        "worst": Qty(worst.d_mm, "size"),
        "depth": Qty(worst.depth_mm, "place"),
        "axis": axis_name(worst.axis),
    }
    if cut_diameter_mm is None:
        text = L("Cylinder {n}, unworn {unworn}. Largest {worst}, {depth} down on the {axis}.", **said)
    else:
        text = L(
            "Cylinder {n}, unworn {unworn}. Largest {worst}, {depth} down on the {axis}. Proposed bored size {cut}.",
            **said,
            cut=Qty(cut_diameter_mm, "size"),
        )
    return BoreSection(
        title=L("Cylinder {n}, wear drawn larger than life", n=worn.cylinder),
        text=text,
        length_mm=length,
        unworn_mm=unworn,
        rows=rows,
        cut_mm=None if cut_diameter_mm is None else (cut_diameter_mm - unworn) / 2,
        governing=governing or (worst.depth_mm, worst.axis),
    )
