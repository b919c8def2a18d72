"""The top face against the main-bearing axis: lean of the bores, skim, shims, dirt.

A bar stands square to what its base stands on. If the top face is not parallel to the
main-bearing axis, or a chip lies under the base, every bore it cuts leans by the slope
times the bore's length.

Frame: x runs along the block from the front to the rear, y across it, positive to the
left seen from the rear (:mod:`logic.directions`), heights are above the main-bearing
axis or above a bar laid in the mains. Only differences of height matter here. A face
that rises toward the rear makes the lower end of a bore come out toward the rear.

Model: heights = plane, plus a bow along the block where the points can show one (at
least three stations, one of them in the middle, and a point to spare). With points on
one line only, the slope square to it is unknown and is taken as level with a standard
uncertainty of its own. The uncertainty of one height is the larger of what the person
states and the scatter about the fit. Least-squares reference plane and peak-to-valley
flatness as in ISO 12781-1; the verdict keeps a guard band as ISO 14253-1 asks, with
probabilities after JCGM 106:2012.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

from .constants import constant
from .directions import compass, toward
from .pictures import TiltedFace
from .plane import Fit, fit
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "Dirt",
    "Face",
    "Lean",
    "Ready",
    "ShimPlan",
    "SkimPlan",
    "Spot",
    "after_remedy",
    "bore_places_mm",
    "corners_mm",
    "dirt",
    "lean",
    "picture",
    "ready",
    "shims",
    "skim",
    "survey",
]

#: Slope (mm per mm) that a face not measured in a direction may have, standard
#: uncertainty: a face out by several thou over a block is ordinary (common practice).
UNMEASURED_SLOPE = constant("face.unmeasured_slope").value
LEAN_LIMIT_MM = constant("face.lean_limit").value
#: Probability asked for before the answer is "go" or "stop" (ISO 14253-1:2017 default).
CONFIDENCE = 0.95

_NORMAL = NormalDist()


class Spot(NamedTuple):
    """One measured point of the top face."""

    x_mm: float
    y_mm: float
    height_mm: float


def _positive(name: str, value: float) -> None:
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
        """Standard uncertainty of one height: stated, or the scatter about the fit if that is larger."""
        return max(self.u_mm, self.model.spread or 0.0)

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
        slope_t = math.fsum(a * b for a, b in zip(down, self.model.slopes))
        var_t, cov = s2 * self.model.combined(down), 0.0
        if self.across_known:
            slope_p, var_p = self.model.slopes[1], s2 * self.model.combined(side)
            both = self.model.combined([a + b for a, b in zip(down, side)])
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

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What these points cannot show."""
        out = []
        if len(self.spots) == 2:
            out.append(
                Caution(
                    "face.two_points",
                    L(
                        "Two heights show no mistake: neither a misread figure nor a hollow face. Measure at least one more, off their line."
                    ),
                )
            )
        if not self.across_known:
            out.append(
                Caution(
                    "face.one_line",
                    L(
                        "All heights lie on one line, so the slope square to it is a guess. Measure a point on the other side of the bores."
                    ),
                )
            )
        if not self.bowed:
            out.append(
                Caution(
                    "face.bow_unseen",
                    L(
                        "These heights cannot show a hollow or humped face. Lay a straightedge along it, or measure in the middle as well."
                    ),
                )
            )
        return tuple(out)

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        out = [
            Assumption(
                L("One height is known to {u} (one standard deviation).", u=Qty(self.spread_mm, "fine")),
                "entered" if self.u_mm >= (self.model.spread or 0.0) else "scatter of the heights",
            ),
            Assumption(
                L("The bar stands square to the face under its base, and the base is clean."), "common practice"
            ),
        ]
        if not self.across_known:
            out.append(
                Assumption(
                    L(
                        "In the direction not measured the face is taken as level, give or take {rise} in {run}.",
                        rise=Qty(self.unmeasured_slope * 100, "diff"),
                        run=Qty(100, "place"),
                    ),
                    "common practice",
                )
            )
        return tuple(out)


def survey(
    spots: Sequence[Spot], *, u_mm: float = constant("face.height_u").value, unmeasured_slope: float = UNMEASURED_SLOPE
) -> Face:
    """Fit the face through two or more heights at different places.

    ``u_mm`` is the standard uncertainty of one height. Raises ValueError for fewer than
    two places or a figure that is not finite.
    """
    spots = tuple(Spot(*(float(v) for v in s)) for s in spots)
    _positive("uncertainty of a height", u_mm)
    _positive("unmeasured slope", unmeasured_slope)
    if not all(math.isfinite(v) for s in spots for v in s):
        raise ValueError("positions and heights must be finite numbers")
    if len({s[:2] for s in spots}) < 2:
        raise ValueError("heights at two different places are needed at least")
    heights = [s.height_mm for s in spots]

    def lay(direction: tuple[float, float], across: bool) -> tuple[Fit, Fit, bool, float]:
        dx, dy = direction
        t = [s.x_mm * dx + s.y_mm * dy for s in spots]
        p = [s.y_mm * dx - s.x_mm * dy for s in spots]
        base = [t, p] if across else [t]
        flat = fit(base, heights)
        low, high = min(t), max(t)
        middle = (low + high) / 2
        if len(spots) > len(base) + 2 and any(0.2 < (v - low) / (high - low) < 0.8 for v in t):
            try:
                return fit([*base, [(v - middle) ** 2 for v in t]], heights), flat, True, middle
            except ValueError:  # the bow cannot be told from the slopes
                pass
        return flat, flat, False, middle

    direction, across = (1.0, 0.0), True
    try:
        model, flat, bowed, middle = lay(direction, True)
    except ValueError:
        direction, across = _along(spots), False
        model, flat, bowed, middle = lay(direction, False)
    return Face(
        spots=spots,
        u_mm=u_mm,
        direction=direction,
        across_known=across,
        bowed=bowed,
        model=model,
        flat=flat,
        middle_mm=middle,
        unmeasured_slope=unmeasured_slope,
    )


def _along(spots: Sequence[Spot]) -> tuple[float, float]:
    """The direction of points on one line, toward the rear (or the left)."""
    ax, ay, _ = min(spots)
    bx, by, _ = max(spots)
    run = math.hypot(bx - ax, by - ay)
    return (bx - ax) / run, (by - ay) / run


def bore_places_mm(
    face: Face, cylinders: Sequence[int], spacing_mm: float | None, first_mm: float | None = None
) -> dict[int, float]:
    """Where along the face each bore lies (x), cylinder 1 to the front.

    ``first_mm`` is the first bore's x; left out, the row is centred on the heights
    measured. Without a spacing the bores are spread evenly over them.
    """
    xs = [s.x_mm for s in face.spots]
    n = len(cylinders)
    spacing = spacing_mm if spacing_mm is not None else (max(xs) - min(xs)) / n
    first = first_mm if first_mm is not None else (max(xs) + min(xs) - (n - 1) * spacing) / 2
    return {c: first + k * spacing for k, c in enumerate(sorted(cylinders))}


# -- lean of one bore ------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Lean(Result):
    """How a bore cut square to the face leans over ``length_mm``.

    ``along_mm``: its lower end comes out that far toward the rear of where it should;
    ``across_mm``: toward the left. ``total_mm`` is the two together, ``u_mm`` the
    largest standard uncertainty of the lower end in any direction, ``u_along_mm`` and
    ``u_across_mm`` those along and across. ``chance`` is the probability that the lean
    is within ``limit_mm``.
    """

    cylinder: int
    along_mm: float
    across_mm: float
    total_mm: float
    u_mm: float
    u_along_mm: float
    u_across_mm: float
    length_mm: float
    limit_mm: float
    chance: float


def lean(
    face: Face,
    *,
    cylinder: int,
    x_mm: float,
    length_mm: float,
    y_mm: float = 0.0,
    limit_mm: float = LEAN_LIMIT_MM,
    confidence: float = CONFIDENCE,
    remedied: bool = False,
) -> Lean:
    """The lean of the bore at (``x_mm``, ``y_mm``), ``length_mm`` long, judged against ``limit_mm``.

    ``remedied``: the face is skimmed or the base shimmed as planned from these heights,
    which takes the slope away and leaves its doubt.
    """
    _positive("bore length", length_mm)
    _positive("lean limit", limit_mm)
    along, across, (vaa, vab, vbb) = face.slopes(x_mm, y_mm)
    if remedied:
        along = across = 0.0
    a, b = along * length_mm, across * length_mm
    covariance = tuple(v * length_mm**2 for v in (vaa, vab, vbb))
    total = math.hypot(a, b)
    u = math.sqrt(_largest(*covariance))
    chance = _chance_within(limit_mm, a, b, *covariance)
    verdict = Verdict.GO if chance >= confidence else Verdict.STOP if chance <= 1 - confidence else Verdict.MAYBE
    gaps = dict(
        n=cylinder,
        total=Qty(total, "diff", u),
        length=Qty(length_mm, "place"),
        limit=Qty(limit_mm, "diff"),
        where=toward(-a, b),
    )
    if verdict == Verdict.MAYBE:
        line = L(
            "Cylinder {n}: too close to call. It would lean about {total} over {length}; the limit is {limit}.", **gaps
        )
    else:
        line = L("Cylinder {n} would lean {total} over {length}; the limit is {limit}.", **gaps)
    shares = covariance[0] + covariance[2]
    return Lean(
        key=f"lean.{cylinder}",
        line=line,
        value=Qty(total, "diff", u),
        verdict=verdict,
        confidence=chance
        if verdict == Verdict.GO
        else 1 - chance
        if verdict == Verdict.STOP
        else max(chance, 1 - chance),
        why=(
            L(
                "The skim or the shims take the slope away; what is left is the doubt of the heights they were planned from."
            )
            if remedied
            else L("Its lower end would come out {where}.", **gaps),
        ),
        figures=(
            Figure("total", L("Lean over the bore's length"), Qty(total, "diff", u)),
            Figure("along", L("Lower end toward the rear"), Qty(a, "deviation", math.sqrt(covariance[0]))),
            Figure("across", L("Lower end toward the left"), Qty(b, "deviation", math.sqrt(covariance[2]))),
            Figure("limit", L("Most lean allowed"), Qty(limit_mm, "diff")),
            Figure("chance", L("Chance that the lean is within the limit"), Qty(chance, "percent")),
        ),
        assumptions=face.assumptions,
        influences=(
            Influence(L("Slope along the block"), covariance[0] / shares),
            Influence(L("Slope across the block"), covariance[2] / shares),
        ),
        cautions=face.cautions,
        cylinder=cylinder,
        along_mm=a,
        across_mm=b,
        total_mm=total,
        u_mm=u,
        u_along_mm=math.sqrt(covariance[0]),
        u_across_mm=math.sqrt(covariance[2]),
        length_mm=length_mm,
        limit_mm=limit_mm,
        chance=chance,
    )


def _largest(vaa: float, vab: float, vbb: float) -> float:
    """The larger eigenvalue of a symmetric 2 × 2 matrix."""
    return (vaa + vbb) / 2 + math.hypot((vaa - vbb) / 2, vab)


def _chance_within(limit: float, a: float, b: float, vaa: float, vab: float, vbb: float) -> float:
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


# -- go or no go --------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Ready(Result):
    """Whether the bar may be clamped on the face as it is. ``worst`` is the bore that decides."""

    worst: Lean
    leans: tuple[Lean, ...]


def ready(face: Face, leans: Sequence[Lean]) -> Ready:
    """Go or no go for the whole block, before the bar is clamped. Raises ValueError without leans."""
    if not leans:
        raise ValueError("no bore to judge")
    worst = min(leans, key=lambda one: (one.chance, -one.total_mm))
    gaps = dict(
        n=worst.cylinder, total=worst.value, length=Qty(worst.length_mm, "place"), limit=Qty(worst.limit_mm, "diff")
    )
    if worst.verdict == Verdict.GO:
        line = L(
            "Go: on this face no bore leans more than {limit}. Cylinder {n} leans most, {total} over {length}.", **gaps
        )
    elif worst.verdict == Verdict.STOP:
        line = L(
            "Do not clamp on this face as it is: cylinder {n} would lean {total} over {length}, and the limit is {limit}. "
            "Skim the face or shim the base.",
            **gaps,
        )
    else:
        line = L(
            "Too close to call: cylinder {n} would lean about {total} over {length}, and the limit is {limit}. "
            "Measure the heights again, at more places.",
            **gaps,
        )
    xs, ys = [s.x_mm for s in face.spots], [s.y_mm for s in face.spots]
    run, width = max(xs) - min(xs), max(ys) - min(ys)
    middle = (max(xs) + min(xs)) / 2
    along, across, (vaa, _, vbb) = face.slopes(middle, (max(ys) + min(ys)) / 2)
    figures = [
        Figure(
            "rise_along",
            L("Face rises toward the rear, over what was measured"),
            Qty(along * run, "deviation", math.sqrt(vaa) * run),
        ),
        Figure(
            "rise_across",
            L("Face rises toward the left, over what was measured"),
            Qty(across * width, "deviation", math.sqrt(vbb) * width),
        ),
    ]
    why: list[Line] = [
        L(
            "Slope along the block {along}, across it {across}, per {run}.",
            along=Qty(along * 100, "deviation"),
            across=Qty(across * 100, "deviation"),
            run=Qty(100, "place"),
        )
    ]
    flatness = face.flatness_mm
    if flatness is not None:
        figures.append(Figure("flatness", L("Flatness of the measured points"), Qty(flatness, "diff")))
    if face.bowed:
        bow = _bow(face)
        figures.append(Figure("bow", L("Middle of the face above its ends"), bow))
        if abs(bow.value) > 2 * (bow.u or 0.0):
            why.append(
                L("The face is humped along the block by {bow}.", bow=Qty(bow.value, "diff"))
                if bow.value > 0
                else L("The face is hollow along the block by {bow}.", bow=Qty(-bow.value, "diff"))
            )
    why += [one.line for one in leans]
    return Ready(
        key="face.ready",
        line=line,
        value=worst.value,
        verdict=worst.verdict,
        confidence=worst.confidence,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=face.assumptions
        + (
            Assumption(
                L("A bore may lean up to {limit} over its length.", limit=Qty(worst.limit_mm, "diff")),
                "entered or common practice",
            ),
        ),
        influences=worst.influences,
        cautions=face.cautions,
        worst=worst,
        leans=tuple(leans),
    )


def after_remedy(leans: Sequence[Lean], *, skimmed: bool) -> Result:
    """What the bores will lean once the face is skimmed (or the base shimmed) as planned: nothing, give or take."""
    if not leans:
        raise ValueError("no bore to judge")
    worst = min(leans, key=lambda one: (one.chance, -one.u_mm))
    gaps = dict(n=worst.cylinder, u=Qty(2 * worst.u_mm, "diff"), limit=Qty(worst.limit_mm, "diff"))
    if worst.verdict == Verdict.GO:
        line = (
            L("Skimmed as planned, cylinder {n} leans no more than about {u}; the limit is {limit}.", **gaps)
            if skimmed
            else L("Shimmed as planned, cylinder {n} leans no more than about {u}; the limit is {limit}.", **gaps)
        )
    else:
        line = L(
            "These heights are not sure enough to plan from: cylinder {n} could still lean {u}, and the limit is {limit}. Measure more of them.",
            **gaps,
        )
    return Result(
        key="face.after",
        line=line,
        value=worst.value,
        verdict=worst.verdict,
        confidence=worst.confidence,
        why=worst.why,
        assumptions=worst.assumptions
        + (Assumption(L("The skim or the shims come out as planned; check by measuring again.")),),
        cautions=worst.cautions,
    )


def _bow(face: Face) -> Qty:
    """How far the fitted middle stands above the line through its ends."""
    dx, dy = face.direction
    t = [s.x_mm * dx + s.y_mm * dy for s in face.spots]
    half = (max(t) - min(t)) / 2
    k = len(face.model.slopes) - 1
    return Qty(
        -face.model.slopes[k] * half**2, "deviation", face.spread_mm * math.sqrt(face.model.shape[k][k]) * half**2
    )


# -- skim ------------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class SkimPlan(Result):
    """The least stock that cleans the whole face parallel to the axis.

    ``corners`` are (name, x, y, stock); ``removed_mm`` what each cylinder's face loses;
    ``most_mm`` the deepest cut; ``mean_mm`` the mean over the bores.
    """

    corners: tuple[tuple[Line, float, float, float], ...]
    removed_mm: Mapping[int, float]
    most_mm: float
    mean_mm: float


def skim(
    face: Face,
    bores_mm: Mapping[int, float],
    *,
    outline_mm: tuple[float, float, float, float] | None = None,
    bore_mm: float | None = None,
) -> SkimPlan:
    """Plan a skim parallel to the main-bearing axis and level across.

    ``bores_mm`` maps cylinder to its x; ``outline_mm`` is (x front, x rear, y right, y
    left) of the face, by default the extent of the points. ``bore_mm``, where given,
    turns the loss of height into volume per cylinder. The cut goes down to the lowest
    of the measured points and the fitted corners.
    """
    if not bores_mm:
        raise ValueError("no bore to plan for")
    xs, ys = [s.x_mm for s in face.spots], [s.y_mm for s in face.spots]
    x0, x1, y0, y1 = outline_mm or (min(xs), max(xs), min(ys), max(ys))
    if x1 < x0 or y1 < y0:
        raise ValueError("the outline must run from front to rear and from right to left")
    places = {}
    for x, y in ((x0, y1), (x0, y0), (x1, y1), (x1, y0)):
        name = compass(math.degrees(math.atan2((y > y0) - (y < y1), (x < x1) - (x > x0))))
        places[x, y] = name
    # A bowed face is lowest or highest somewhere between its corners.
    fitted = [face.height_mm(x0 + (x1 - x0) * k / 8, y) for k in range(9) for y in (y0, y1)]
    surface = fitted + [s.height_mm for s in face.spots]
    lowest = min(surface)
    corners = tuple((name, *where, face.height_mm(*where) - lowest) for where, name in places.items())
    middle_y = (y0 + y1) / 2
    removed = {n: face.height_mm(x, middle_y) - lowest for n, x in sorted(bores_mm.items())}
    most = max(surface) - lowest
    mean = sum(removed.values()) / len(removed)
    high = max(corners, key=lambda c: c[3])
    low = min(corners, key=lambda c: c[3])
    u = math.hypot(face.u_height_mm(high[1], high[2]), face.u_height_mm(low[1], low[2]))
    line = L(
        "Skimming {most} at {high}, and just touching at {low}, brings the face parallel to the main-bearing axis.",
        most=Qty(most, "diff", u),
        high=high[0],
        low=low[0],
    )
    figures = [
        Figure(f"corner.{i}", L("Stock at {corner}", corner=c[0]), Qty(c[3], "diff")) for i, c in enumerate(corners, 1)
    ]
    for n, taken in removed.items():
        figures.append(
            Figure(
                f"removed.{n}",
                L("Face lowered at cylinder {n}", n=n),
                Qty(taken, "diff", face.u_height_mm(bores_mm[n], middle_y)),
            )
        )
        if bore_mm is not None:
            _positive("bore", bore_mm)
            figures.append(
                Figure(
                    f"volume.{n}",
                    L("Volume lost above the piston, cylinder {n}", n=n),
                    Qty(math.pi / 4 * bore_mm**2 * taken / 1000, "volume"),
                )
            )
    return SkimPlan(
        key="face.skim",
        line=line,
        value=Qty(most, "diff", u),
        why=(
            L("On average the bores lose {mean} of height, which raises the compression.", mean=Qty(mean, "diff")),
            L("Measure again after the cut: the plan rests on the fitted face."),
        ),
        figures=tuple(figures),
        assumptions=face.assumptions
        + (Assumption(L("The cut is parallel to the main-bearing axis and level across."), "common practice"),),
        cautions=face.cautions
        + (
            Caution(
                "face.skim_limits",
                L(
                    "Before any skim, check the maker's least height of the block, the clearance from piston to head, "
                    "and what it does to compression and timing drive."
                ),
            ),
        ),
        corners=corners,
        removed_mm=removed,
        most_mm=most,
        mean_mm=mean,
    )


# -- shims ----------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class ShimPlan(Result):
    """Shims under the base for one bore. ``feet`` are (number, x, y, thickness), x and y from the bore's centre."""

    cylinder: int
    feet: tuple[tuple[int, float, float, float], ...]


def corners_mm(base_length_mm: float, base_width_mm: float) -> list[tuple[float, float]]:
    """The four corners of a base, (x, y) from its middle: front left and right, rear left and right."""
    _positive("base length", base_length_mm)
    _positive("base width", base_width_mm)
    x, y = base_length_mm / 2, base_width_mm / 2
    return [(-x, y), (-x, -y), (x, y), (x, -y)]


def shims(
    face: Face, feet_mm: Sequence[tuple[float, float]], *, cylinder: int, x_mm: float, y_mm: float = 0.0
) -> ShimPlan:
    """Shim thickness under each foot so that the bar stands square to the axis at this bore.

    ``feet_mm`` are (x, y) of three or more feet from the bore's centre, x to the rear
    and y to the left. The highest foot gets none. Raises ValueError for fewer feet.
    """
    if len(feet_mm) < 3:
        raise ValueError("a base stands on three feet at least")
    heights = [face.height_mm(x_mm + x, y_mm + y) for x, y in feet_mm]
    top = max(heights)
    feet = tuple((i, x, y, top - h) for i, ((x, y), h) in enumerate(zip(feet_mm, heights), 1))
    most = max(feet, key=lambda f: f[3])
    high = min(feet, key=lambda f: f[3])
    # doubt of a difference of two fitted heights: slopes times the distance between the feet
    _, _, (vaa, vab, vbb) = face.slopes(x_mm, y_mm)

    def u(foot: tuple[int, float, float, float]) -> float:
        dx, dy = foot[1] - high[1], foot[2] - high[2]
        return math.sqrt(max(0.0, vaa * dx * dx + 2 * vab * dx * dy + vbb * dy * dy))

    places = [compass(math.degrees(math.atan2(y, -x))) for _, x, y, _ in feet]
    line = L(
        "Cylinder {n}: shim {most} under the foot at {place}, none under the foot at {high}.",
        n=cylinder,
        most=Qty(most[3], "diff", u(most)),
        place=places[most[0] - 1],
        high=places[high[0] - 1],
    )
    if most[3] < 0.0025:
        line = L("Cylinder {n}: no shims needed under the base.", n=cylinder)
    return ShimPlan(
        key=f"face.shims.{cylinder}",
        line=line,
        value=Qty(most[3], "diff", u(most)),
        why=(
            L(
                "Use the nearest shims you have, under clean feet, and check the bar against a square or by sweeping the bore before you cut."
            ),
        ),
        figures=tuple(
            Figure(f"foot.{i}", L("Shim under foot {i}, at {place}", i=i, place=place), Qty(t, "diff", u((i, x, y, t))))
            for (i, x, y, t), place in zip(feet, places)
        ),
        assumptions=face.assumptions,
        cautions=face.cautions
        + (
            Caution(
                "face.shim_support",
                L(
                    "A shimmed base touches only at its feet. Put each shim under a clamp's line of force, and see that the base neither rocks nor bends."
                ),
            ),
        ),
        cylinder=cylinder,
        feet=feet,
    )


# -- dirt under the base ---------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Dirt(Result):
    """What a chip under one side of the base does. ``lean_mm`` over the bore, ``most_mm`` the chip that just meets the limit."""

    lean_mm: float
    most_mm: float


def dirt(thickness_mm: float, *, base_mm: float, length_mm: float, limit_mm: float = LEAN_LIMIT_MM) -> Dirt:
    """Lean from ``thickness_mm`` under one side of a base ``base_mm`` long: t / base × bore length."""
    if not (math.isfinite(thickness_mm) and thickness_mm >= 0):
        raise ValueError(f"thickness must be zero or more, not {thickness_mm}")
    _positive("base length", base_mm)
    _positive("bore length", length_mm)
    _positive("lean limit", limit_mm)
    leaning, most = thickness_mm / base_mm * length_mm, limit_mm * base_mm / length_mm
    return Dirt(
        key="face.dirt",
        line=L(
            "A chip or burr of {t} under one side of the base leans the bore {lean} over {length}.",
            t=Qty(thickness_mm, "diff"),
            lean=Qty(leaning, "diff"),
            length=Qty(length_mm, "place"),
        ),
        value=Qty(leaning, "diff"),
        why=(
            L(
                "As little as {most} of dirt uses up the whole limit of {limit}.",
                most=Qty(most, "diff"),
                limit=Qty(limit_mm, "diff"),
            ),
            L("Stone the face, wipe face and base dry, and feel for burrs before you set the machine down."),
        ),
        figures=(
            Figure("lean", L("Lean over the bore's length"), Qty(leaning, "diff")),
            Figure("most", L("Dirt that uses up the limit"), Qty(most, "diff")),
        ),
        assumptions=(
            Assumption(
                L("The base is {base} long in the direction that tips.", base=Qty(base_mm, "place")),
                "entered or common practice",
            ),
        ),
        lean_mm=leaning,
        most_mm=most,
    )


# -- picture ------------------------------------------------------------------------------------
def picture(face: Face, leans: Sequence[Lean], bores_mm: Mapping[int, float]) -> TiltedFace:
    """The top face seen from the side, with each bore's lean along the block."""
    mean = sum(s.height_mm for s in face.spots) / len(face.spots)
    xs = [s.x_mm for s in face.spots] + list(bores_mm.values())
    y = sum(s.y_mm for s in face.spots) / len(face.spots)
    middle = (min(xs) + max(xs)) / 2
    slope, _, _ = face.slopes(middle, y)
    level = face.height_mm(middle, y) - mean
    ends = tuple((x, level + slope * (x - middle)) for x in (min(xs), max(xs)))
    run = max(xs) - min(xs)
    rise = Qty(abs(slope * run), "diff")
    if rise.value < 0.0005:
        text = L("The top face is level along the block as far as the heights tell.")
    elif slope > 0:
        text = L("The top face rises {rise} from the front to the rear over {run}.", rise=rise, run=Qty(run, "place"))
    else:
        text = L("The top face falls {rise} from the front to the rear over {run}.", rise=rise, run=Qty(run, "place"))
    return TiltedFace(
        title=L("Top face from the side, tilt drawn larger than life"),
        text=text,
        points=tuple((s.x_mm, s.height_mm - mean) for s in face.spots),
        ends=ends,
        bores=tuple((str(one.cylinder), bores_mm[one.cylinder], one.along_mm) for one in leans),
    )
