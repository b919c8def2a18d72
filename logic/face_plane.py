"""The top face against the main-bearing axis, in figures: its fit, and what leans and must be cut or shimmed.

A bar stands square to what its base stands on. If the top face is not parallel to the
main-bearing axis, every bore it cuts leans by the slope times the bore's length.

Frame: x runs along the block from the front to the rear, y across it, positive to the
left seen from the rear (:mod:`logic.directions`), heights are above the main-bearing
axis or above a bar laid in the mains. Only differences of height matter here. A face
that rises toward the rear makes the lower end of a bore come out toward the rear.

Model: heights = plane, plus a bow along the block where the points can show one (at
least three stations, one of them in the middle, and a point to spare). With points on
one line only, the slope square to it is unknown and is taken as level with a standard
uncertainty of its own. The uncertainty of one height is what the person states, or more
where the heights scatter more about the fit: the two pooled, each by how well it is
known; far beyond it the scatter alone. Least-squares reference plane and peak-to-valley
flatness as in ISO 12781-1; the chances are after JCGM 106:2012.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

from .constants import constant
from .plane import Fit, fit

__all__ = [
    "Believed",
    "Face",
    "Leaning",
    "Shimming",
    "Skimming",
    "Spot",
    "above_zero",
    "bore_places_mm",
    "chance_within",
    "corners_mm",
    "leaning",
    "shimming",
    "skimming",
    "survey",
]

#: Slopes (mm per mm) that faces have, one standard deviation: what stands for a face, or a direction of it, that
#: nobody measured, and what few heights are weighed against.
USUAL_SLOPE = constant("face.slope").value


#: How well the stated uncertainty of a height is known: to about a quarter (JCGM 100:2008, G.4.2).
STATED_DOF = 8
#: So many times the stated uncertainty is no scatter of readings any more.
BEYOND = 3.0


class Spot(NamedTuple):
    """One measured point of the top face."""

    x_mm: float
    y_mm: float
    height_mm: float


def above_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


# -- the fitted face -------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Face:
    """The fitted top face. Make one with :func:`survey`.

    ``direction`` is the unit vector (x, y) along which slopes are known; ``across_known``
    says whether the slope square to it is known too; ``bowed`` whether a bow along it is
    part of ``model``. ``flat`` is the fit without bow, whose residuals are the flatness.
    """

    spots: tuple[Spot, ...]
    u_mm: float
    direction: tuple[float, float]
    across_known: bool
    bowed: bool
    model: Fit
    flat: Fit
    middle_mm: float
    unmeasured_slope: float

    @property
    def spread_mm(self) -> float:
        """Standard uncertainty of one height: as stated, or more where the heights scatter more about the fit.

        The two are pooled, what is stated as if found from :data:`STATED_DOF` heights to spare. A scatter of more than
        :data:`BEYOND` times the stated is the deck's own shape or a misread height: it counts whole.
        """
        dof = self.model.dof
        seen = self.model.spread or 0.0
        if seen > BEYOND * self.u_mm:
            return seen
        return max(self.u_mm, math.sqrt((STATED_DOF * self.u_mm**2 + dof * seen**2) / (STATED_DOF + dof)))

    @property
    def flatness_mm(self) -> float | None:
        """Peak-to-valley departure from the least-squares plane (or line); None with no point to spare."""
        return max(self.flat.residuals) - min(self.flat.residuals) if self.flat.dof else None

    def _columns(self, x: float, y: float) -> list[float]:
        dx, dy = self.direction
        t = x * dx + y * dy
        columns = [t]
        if self.across_known:
            columns.append(y * dx - x * dy)
        if self.bowed:
            columns.append((t - self.middle_mm) ** 2)
        return columns

    def height_mm(self, x: float, y: float) -> float:
        """Fitted height at a place."""
        return self.model.at(*self._columns(x, y))

    def u_height_mm(self, x: float, y: float) -> float:
        """Standard uncertainty of :meth:`height_mm`, with the unmeasured slope where there is one."""
        var = self.spread_mm**2 * self.model.lever(*self._columns(x, y))
        if not self.across_known:
            dx, dy = self.direction
            mx, my = (sum(s[k] for s in self.spots) / len(self.spots) for k in (0, 1))
            var += (self.unmeasured_slope * ((y - my) * dx - (x - mx) * dy)) ** 2
        return math.sqrt(var)

    def slopes(self, x: float, y: float) -> tuple[float, float, tuple[float, float, float]]:
        """Slope along and across at a place, and their covariance (along², product, across²)."""
        dx, dy = self.direction
        t = x * dx + y * dy
        down = [1.0] + [0.0] * self.across_known + [2 * (t - self.middle_mm)] * self.bowed
        side = [0.0, 1.0] + [0.0] * self.bowed
        s2 = self.spread_mm**2
        slope_t = math.fsum(a * b for a, b in zip(down, self.model.slopes, strict=True))
        var_t, cov = s2 * self.model.combined(down), 0.0
        if self.across_known:
            slope_p, var_p = self.model.slopes[1], s2 * self.model.combined(side)
            both = self.model.combined([a + b for a, b in zip(down, side, strict=True)])
            cov = (s2 * both - var_t - var_p) / 2
        else:
            slope_p, var_p = 0.0, self.unmeasured_slope**2
        return (
            slope_t * dx - slope_p * dy,
            slope_t * dy + slope_p * dx,
            (
                var_t * dx * dx - 2 * cov * dx * dy + var_p * dy * dy,
                (var_t - var_p) * dx * dy + cov * (dx * dx - dy * dy),
                var_t * dy * dy + 2 * cov * dx * dy + var_p * dx * dx,
            ),
        )

    def bow_mm(self) -> tuple[float, float] | None:
        """How far the fitted middle stands above the line through its ends, and its standard uncertainty."""
        if not self.bowed:
            return None
        dx, dy = self.direction
        t = [s.x_mm * dx + s.y_mm * dy for s in self.spots]
        half = (max(t) - min(t)) / 2
        k = len(self.model.slopes) - 1
        return -self.model.slopes[k] * half**2, self.spread_mm * math.sqrt(self.model.shape[k][k]) * half**2


def survey(
    spots: Sequence[Spot], *, u_mm: float = constant("face.height_u").value, unmeasured_slope: float = USUAL_SLOPE
) -> Face:
    """Fit the face through two or more heights at different places.

    ``u_mm`` is the standard uncertainty of one height. Raises ValueError for fewer than
    two places or a figure that is not finite.
    """
    spots = tuple(Spot(*(float(v) for v in s)) for s in spots)
    above_zero("uncertainty of a height", u_mm)
    above_zero("unmeasured slope", unmeasured_slope)
    if not all(math.isfinite(v) for s in spots for v in s):
        raise ValueError("positions and heights must be finite numbers")
    if len({s[:2] for s in spots}) < 2:
        raise ValueError("heights at two different places are needed at least")
    direction, across = (1.0, 0.0), True
    try:
        laid = _lay(spots, direction, across=True)
    except ValueError:
        direction, across = _along(spots), False
        laid = _lay(spots, direction, across=False)
    return Face(
        spots=spots,
        u_mm=u_mm,
        direction=direction,
        across_known=across,
        bowed=laid.bowed,
        model=laid.model,
        flat=laid.flat,
        middle_mm=laid.middle_mm,
        unmeasured_slope=unmeasured_slope,
    )


class _Laid(NamedTuple):
    """A face laid through the heights: the model, the fit without bow, and whether there is a bow in the model."""

    model: Fit
    flat: Fit
    bowed: bool
    middle_mm: float


def _lay(spots: Sequence[Spot], direction: tuple[float, float], *, across: bool) -> _Laid:
    """Fit slopes along a direction (and across it), and a bow where the heights can show one."""
    heights = [s.height_mm for s in spots]
    dx, dy = direction
    t = [s.x_mm * dx + s.y_mm * dy for s in spots]
    p = [s.y_mm * dx - s.x_mm * dy for s in spots]
    base = [t, p] if across else [t]
    flat = fit(base, heights)
    low, high = min(t), max(t)
    middle = (low + high) / 2
    if len(spots) > len(base) + 2 and any(0.2 < (v - low) / (high - low) < 0.8 for v in t):
        try:
            return _Laid(fit([*base, [(v - middle) ** 2 for v in t]], heights), flat, True, middle)
        except ValueError:  # the bow cannot be told from the slopes
            pass
    return _Laid(flat, flat, False, middle)


def _along(spots: Sequence[Spot]) -> tuple[float, float]:
    """The direction of points on one line, toward the rear (or the left)."""
    ax, ay, _ = min(spots)
    bx, by, _ = max(spots)
    run = math.hypot(bx - ax, by - ay)
    return (bx - ax) / run, (by - ay) / run


def bore_places_mm(
    face: Face, cylinders: Sequence[int], spacing_mm: float | None, first_mm: float | None = None
) -> dict[int, float]:
    """Where along the face each bore lies (x); ``cylinders`` stand from the front to the rear.

    ``first_mm`` is the first bore's x; left out, the row is centred on the heights
    measured. Without a spacing the bores are spread evenly over them.
    """
    xs = [s.x_mm for s in face.spots]
    n = len(cylinders)
    spacing = spacing_mm if spacing_mm is not None else (max(xs) - min(xs)) / n
    first = first_mm if first_mm is not None else (max(xs) + min(xs) - (n - 1) * spacing) / 2
    return {c: first + k * spacing for k, c in enumerate(cylinders)}


# -- lean of one bore ------------------------------------------------------------------
class Believed(NamedTuple):
    """A lean toward the rear and the left, with the variances (mm²): along², their product, across²."""

    along_mm: float
    across_mm: float
    along_mm2: float
    product_mm2: float
    across_mm2: float


@dataclass(frozen=True, slots=True)
class Leaning:
    """How the lower end of a bore comes out: toward the rear and the left, with the variances (mm²) of both.

    ``chance`` is the probability that the lean is within the limit, ``believed`` what it rests on: the heights weighed
    against what decks do.
    """

    along_mm: float
    across_mm: float
    total_mm: float
    u_mm: float
    variance_mm2: tuple[float, float, float]  # along², their product, across²
    chance: float
    believed: Believed

    @property
    def u_along_mm(self) -> float:
        return math.sqrt(self.variance_mm2[0])

    @property
    def u_across_mm(self) -> float:
        return math.sqrt(self.variance_mm2[2])


def leaning(face: Face, *, x_mm: float, y_mm: float, length_mm: float, limit_mm: float, remedied: bool) -> Leaning:
    """The lean of the bore at a place in figures; :func:`logic.face.lean` tells what is asked for."""
    above_zero("bore length", length_mm)
    above_zero("lean limit", limit_mm)
    along, across, (vaa, vab, vbb) = face.slopes(x_mm, y_mm)
    if remedied:
        along = across = 0.0
    a, b = along * length_mm, across * length_mm
    variance = (vaa * length_mm**2, vab * length_mm**2, vbb * length_mm**2)
    u = math.sqrt(_largest(*variance))
    believed = Believed(a, b, *variance)
    if face.across_known and not remedied:
        believed = _believed(a, b, *variance, (USUAL_SLOPE * length_mm) ** 2)
    return Leaning(a, b, math.hypot(a, b), u, variance, chance_within(limit_mm, *believed), believed)


def _believed(a: float, b: float, vaa: float, vab: float, vbb: float, usual: float) -> Believed:
    """A displacement read as (a, b) with its variances, weighed against the ``usual`` variance about nought.

    Both normal: the product of the two (JCGM 106:2012, 7.2.2), so that errors of few heights do not pass for lean.
    """
    saa, sbb = vaa + usual, vbb + usual
    det = saa * sbb - vab**2
    kaa, kab, kbb = usual * sbb / det, -usual * vab / det, usual * saa / det
    return Believed(kaa * a + kab * b, kab * a + kbb * b, usual * (1 - kaa), -usual * kab, usual * (1 - kbb))


def _largest(vaa: float, vab: float, vbb: float) -> float:
    """The larger eigenvalue of a symmetric 2 × 2 matrix."""
    return (vaa + vbb) / 2 + math.hypot((vaa - vbb) / 2, vab)


def chance_within(limit: float, a: float, b: float, vaa: float, vab: float, vbb: float) -> float:
    """Probability that a normal displacement about (a, b) is no longer than ``limit``.

    Turned to its principal axes, one of which is integrated by Simpson's rule (as
    limit·sin θ, which keeps the integrand smooth at the ends), the other in closed form.
    """
    big = _largest(vaa, vab, vbb)
    small = max(0.0, vaa + vbb - big)
    turn = 0.5 * math.atan2(2 * vab, vaa - vbb)  # direction of the larger variance
    c, s = math.cos(turn), math.sin(turn)
    m, k = c * b - s * a, c * a + s * b  # along the smaller and the larger variance
    sm, sk = math.sqrt(small), math.sqrt(big)
    if sk == 0:
        return 1.0 if math.hypot(a, b) <= limit else 0.0
    law = NormalDist(k, sk)
    if sm <= 1e-9 * sk:
        half = math.sqrt(max(0.0, limit * limit - m * m))
        return law.cdf(half) - law.cdf(-half) if abs(m) <= limit else 0.0
    low, high = max(-limit, m - 8 * sm), min(limit, m + 8 * sm)
    if low >= high:
        return 0.0
    first, last = math.asin(low / limit), math.asin(high / limit)
    density = NormalDist(m, sm).pdf
    panels = 200
    total = 0.0
    for i in range(panels + 1):
        theta = first + (last - first) * i / panels
        half = limit * math.cos(theta)
        value = density(limit * math.sin(theta)) * half * (law.cdf(half) - law.cdf(-half))
        total += value * (1 if i in (0, panels) else 4 if i % 2 else 2)
    return min(1.0, max(0.0, total * (last - first) / panels / 3))


# -- skim ------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Skimming:
    """A skim parallel to the axis: stock at each corner (x, y, mm), and what each bore's face loses (mm, u).

    ``most_mm`` is the deepest cut, ``u_mm`` the standard uncertainty of the highest corner above the lowest.
    """

    corners: tuple[tuple[float, float, float], ...]
    removed_mm: Mapping[int, float]
    u_removed_mm: Mapping[int, float]
    most_mm: float
    u_mm: float
    mean_mm: float


def skimming(
    face: Face, bores_mm: Mapping[int, float], outline_mm: tuple[float, float, float, float] | None
) -> Skimming:
    """Down to the lowest of the measured points and the fitted edges, parallel to the axis and level across."""
    if not bores_mm:
        raise ValueError("no bore to plan for")
    x0, x1, y0, y1 = outline_mm or _extent(face.spots)
    if x1 < x0 or y1 < y0:
        raise ValueError("the outline must run from front to rear and from right to left")
    surface = _surface_mm(face, x0, x1, (y0, y1))
    lowest = min(surface)
    places = dict.fromkeys(((x0, y1), (x0, y0), (x1, y1), (x1, y0)))  # a point or a line has fewer than four
    corners = tuple((x, y, face.height_mm(x, y) - lowest) for x, y in places)
    high, low = max(corners, key=lambda c: c[2]), min(corners, key=lambda c: c[2])
    middle_y = (y0 + y1) / 2
    removed = {n: face.height_mm(x, middle_y) - lowest for n, x in sorted(bores_mm.items())}
    return Skimming(
        corners=corners,
        removed_mm=removed,
        u_removed_mm={n: face.u_height_mm(bores_mm[n], middle_y) for n in removed},
        most_mm=max(surface) - lowest,
        u_mm=math.hypot(face.u_height_mm(high[0], high[1]), face.u_height_mm(low[0], low[1])),
        mean_mm=sum(removed.values()) / len(removed),
    )


def _surface_mm(face: Face, x0: float, x1: float, edges: tuple[float, float]) -> list[float]:
    """Heights along both edges as fitted (a bowed face turns between its corners), and those measured."""
    fitted = [face.height_mm(x0 + (x1 - x0) * k / 8, y) for k in range(9) for y in edges]
    return fitted + [s.height_mm for s in face.spots]


def _extent(spots: Sequence[Spot]) -> tuple[float, float, float, float]:
    """The outline of the measured points: x front, x rear, y right, y left."""
    xs, ys = [s.x_mm for s in spots], [s.y_mm for s in spots]
    return min(xs), max(xs), min(ys), max(ys)


# -- shims ----------------------------------------------------------------------------------
def corners_mm(base_length_mm: float, base_width_mm: float) -> list[tuple[float, float]]:
    """The four corners of a base, (x, y) from its middle: front left and right, rear left and right."""
    above_zero("base length", base_length_mm)
    above_zero("base width", base_width_mm)
    x, y = base_length_mm / 2, base_width_mm / 2
    return [(-x, y), (-x, -y), (x, y), (x, -y)]


@dataclass(frozen=True, slots=True)
class Shimming:
    """Shims under the feet of a base: (number, x, y, thickness), and the standard uncertainty of each thickness."""

    feet: tuple[tuple[int, float, float, float], ...]
    u_mm: tuple[float, ...]

    @property
    def most(self) -> tuple[int, float, float, float]:
        """The foot that takes most."""
        return max(self.feet, key=lambda f: f[3])

    @property
    def high(self) -> tuple[int, float, float, float]:
        """The highest foot, which takes none."""
        return min(self.feet, key=lambda f: f[3])


def shimming(face: Face, feet_mm: Sequence[tuple[float, float]], *, x_mm: float, y_mm: float) -> Shimming:
    """Shims that set the bar square to the axis at a bore; :func:`logic.face.shims` tells what is asked for."""
    if len(feet_mm) < 3:
        raise ValueError("a base stands on three feet at least")
    heights = [face.height_mm(x_mm + x, y_mm + y) for x, y in feet_mm]
    top = max(heights)
    feet = tuple((i, x, y, top - h) for i, ((x, y), h) in enumerate(zip(feet_mm, heights, strict=True), 1))
    high = min(feet, key=lambda f: f[3])
    # doubt of a difference of two fitted heights: slopes times the distance between the feet
    _, _, (vaa, vab, vbb) = face.slopes(x_mm, y_mm)
    apart = [(x - high[1], y - high[2]) for _, x, y, _ in feet]
    u = tuple(math.sqrt(max(0.0, vaa * dx * dx + 2 * vab * dx * dy + vbb * dy * dy)) for dx, dy in apart)
    return Shimming(feet, u)
