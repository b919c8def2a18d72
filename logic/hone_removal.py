"""What the hone takes off, from logged gauge checks: numbers only, no sentence.

Removal per double stroke and the strokes still to go, and the shape down the bore.
Sizes are diameters in mm at 20 °C; :mod:`logic.hone_progress` puts the figures into words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .bore_prior import FINISHING
from .uncertainty import chance_between

__all__ = [
    "GAUGE_DOF",
    "Check",
    "Removal",
    "Shape",
    "Standing",
    "removal",
    "shape_of",
    "standing",
]

#: The gauge's repeatability counts as eight degrees of freedom: known to about a quarter (JCGM 100:2008, G.4.2).
GAUGE_DOF = 8.0
#: Within what factor of the rate learned the stones go on cutting, 19 times in 20: they load, glaze, or are
#: dressed and bite again (common practice, no source).
RATE_KEEPS = 1.4
#: Of the band above the size, so much may be used up by stones that bite hard (common practice).
_OF_BAND = 0.8
#: The confidence of every interval given here.
_CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Check:
    """One gauge check: ``strokes`` made since the one before, ``sizes`` as (depth_mm, size_mm at 20 °C) from the top.

    ``grit`` is what those strokes were made with. Raises ValueError without a size or
    for strokes below zero.
    """

    number: int
    strokes: float
    sizes: tuple[tuple[float, float], ...]
    grit: str = ""

    def __post_init__(self) -> None:
        if not self.sizes:
            raise ValueError("a check needs a size")
        if not (math.isfinite(self.strokes) and self.strokes >= 0):
            raise ValueError("strokes are counted from zero")
        if any(not (math.isfinite(d) and d > 0) for _, d in self.sizes):
            raise ValueError("a size must be above zero")

    @property
    def mean_mm(self) -> float:
        return math.fsum(d for _, d in self.sizes) / len(self.sizes)

    @property
    def largest_mm(self) -> float:
        return max(d for _, d in self.sizes)

    @property
    def smallest_mm(self) -> float:
        return min(d for _, d in self.sizes)


# -- removal per stroke ------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """What the grit in use takes off the diameter, mm per double stroke, learned over ``learned_strokes``.

    ``coverage`` times ``u_per_stroke_mm`` is half its 95 % interval. ``strokes`` are those still
    to go to the grit's stop (low, likely, high, at 95 %), None while not sure.
    ``slowed_mm`` is (now, before), per stroke, where the stones have clearly lost their bite.
    """

    per_stroke_mm: float
    u_per_stroke_mm: float
    coverage: float
    learned_strokes: float
    strokes: tuple[float, float, float] | None
    slowed_mm: tuple[float, float] | None


def _run(checks: Sequence[Check]) -> list[tuple[float, Check]]:
    """The latest grit's checks with strokes counted from the start, and the check they started from."""
    total, path = 0.0, []
    for c in checks:
        total += c.strokes
        path.append((total, c))
    start = len(path) - 1
    while start > 0 and checks[start].grit == checks[-1].grit:
        start -= 1
    return path[start:]


def _pooled(own: float, own_dof: float, gauge: float) -> tuple[float, float]:
    """Residual spread and the gauge's repeatability as one, with degrees of freedom."""
    gauge_dof = GAUGE_DOF if gauge > 0.0 else 0.0
    dof = own_dof + gauge_dof
    if dof == 0.0:
        return 0.0, math.inf
    return math.sqrt((own_dof * own**2 + gauge_dof * gauge**2) / dof), dof


def _slowed_mm(x: Sequence[float], y: Sequence[float], u_check_mm: float) -> tuple[float, float] | None:
    """Removal per stroke (now, before) where the last stretch takes clearly less than those before it."""
    if not (len(x) > 2 and x[-1] > x[-2] > x[0]):
        return None
    before = student.trend(x[:-1], y[:-1]).slope
    lately = (y[-1] - y[-2]) / (x[-1] - x[-2])
    noise = u_check_mm * math.sqrt(2.0 + 2.0 * ((x[-1] - x[-2]) / (x[-2] - x[0])) ** 2)
    stretch = x[-1] - x[-2]
    # only a stretch long enough to be told from the gauge's noise can show a change
    if lately < 0.6 * before and before * stretch > 4.0 * noise and (before - lately) * stretch > 2.0 * noise:
        return lately, before
    return None


def _widened(low: float, likely: float, high: float) -> tuple[float, float, float]:
    """Strokes left with what the rate may do from here on: both independent, so their half-widths add in quadrature."""
    fast, slow = likely * (1.0 - 1.0 / RATE_KEEPS), likely * (RATE_KEEPS - 1.0)
    return max(0.0, likely - math.hypot(likely - low, fast)), likely, likely + math.hypot(high - likely, slow)


def removal(checks: Sequence[Check], stop_mm: float, u_check_mm: float) -> Removal | None:
    """The removal of the grit in use and the strokes to ``stop_mm``; None before any stroke with it was measured.

    Least-squares line of mean size against strokes over the checks of that grit. The
    spread about it is pooled with the gauge's repeatability (``u_check_mm``, of the mean of
    one check). Strokes left: all numbers of strokes at which a further check could well
    read the stop size (95 %, Fieller's interval), widened by how the stones' bite may change from
    here on (:data:`RATE_KEEPS`).
    """
    run = _run(checks)
    x, y = [p for p, _ in run], [c.mean_mm for _, c in run]
    if not x[-1] > x[0]:
        return None
    slowed = _slowed_mm(x, y, u_check_mm)
    if slowed is not None:
        x, y = x[-2:], y[-2:]
    line = student.trend(x, y)
    spread, dof = _pooled(line.spread, line.dof, u_check_mm)
    k = student.two_sided(_CONFIDENCE, dof)
    rate, u_rate = line.slope, line.u_slope(spread)
    strokes = None
    reach = line.reach(stop_mm, k, spread) if rate > 0.0 else None
    if reach is not None:
        likely = max(0.0, (stop_mm - line.at_zero) / rate - x[-1])
        strokes = _widened(max(0.0, reach[0] - x[-1]), likely, max(0.0, reach[1] - x[-1]))
    return Removal(
        per_stroke_mm=rate,
        u_per_stroke_mm=u_rate,
        coverage=k,
        learned_strokes=x[-1] - x[0],
        strokes=strokes,
        slowed_mm=slowed,
    )


# -- where the bore stands ---------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a bore stands under the grit in use.

    ``state`` is "over" (too large, with 95 % at least), "maybe over", "at size", "maybe at size",
    "kept" (this grit is done, stock is kept for finer ones), or, while there is metal to
    take, "unknown" (no stroke measured yet), "no bite" (nothing comes off), "unsure" (no
    forecast yet) or "to go". ``narrow_mm`` is how far the tightest place falls short where
    the mean is already at size, else None. ``todo_mm`` is what is still to come off,
    ``inside`` the chance that the mean lies within its limits ``low_mm`` to ``high_mm``;
    ``dof`` the degrees of freedom of ``u_size_mm``.
    ``next_strokes`` is how many to make before the next check (0: stop).
    """

    state: str
    size_mm: float
    largest_mm: float
    low_mm: float
    high_mm: float
    u_check_mm: float
    u_size_mm: float
    dof: float
    left_mm: float
    todo_mm: float
    inside: float
    removal: Removal | None
    next_strokes: int
    narrow_mm: float | None

    @property
    def under_way(self) -> bool:
        """Whether this grit has metal to take yet."""
        return self.state in ("unknown", "no bite", "unsure", "to go")


def standing(
    checks: Sequence[Check],
    finished_mm: float,
    *,
    band_mm: float,
    keep_mm: float,
    u_mm: float,
    u_shared_mm: float,
    first_strokes: int,
) -> Standing:
    """Work out where a bore stands from at least one check; see :func:`logic.hone_progress.progress` for the terms."""
    low, high, stop = finished_mm - band_mm, finished_mm + band_mm, finished_mm - keep_mm
    last = checks[-1]
    u_check = u_mm / math.sqrt(len(last.sizes))
    u_size = math.hypot(u_check, u_shared_mm)
    dof = _of_gauge(u_check, u_size)
    left = stop - last.mean_mm
    todo = max(left, stop - band_mm - last.smallest_mm, 0.0)
    rate = removal(checks, stop, u_check)
    inside = chance_between(last.mean_mm, u_size, low, high, dof)
    state = _finished_state(last, low, stop - band_mm, inside) if keep_mm == 0.0 else None
    if last.largest_mm > high:
        state = "over" if _is_over(last, high, u_mm, u_shared_mm) else "maybe over"
    elif keep_mm > 0.0 and left <= max(u_check, 0.0005):
        state = "kept"
    strokes, narrow = 0, None
    if state is None:
        state, strokes = _next_stretch(rate, todo, band_mm, first_strokes)
        if left <= 0.0 and last.smallest_mm < stop - band_mm:
            narrow, strokes = finished_mm - band_mm - last.smallest_mm, max(1, min(strokes, 3))
    return Standing(
        state=state,
        size_mm=last.mean_mm,
        largest_mm=last.largest_mm,
        low_mm=low,
        high_mm=high,
        u_check_mm=u_check,
        u_size_mm=u_size,
        dof=dof,
        left_mm=left,
        todo_mm=todo,
        inside=inside,
        removal=rate,
        next_strokes=strokes,
        narrow_mm=narrow,
    )


def _of_gauge(u_gauge_mm: float, u_all_mm: float) -> float:
    """Degrees of freedom of an uncertainty of which ``u_gauge_mm`` is the gauge's repeatability (Welch and Satterthwaite)."""
    return GAUGE_DOF * (u_all_mm / u_gauge_mm) ** 4 if u_gauge_mm > 0.0 else math.inf


def _is_over(check: Check, high_mm: float, u_mm: float, u_shared_mm: float) -> bool:
    """Whether the largest place is too large for certain: the largest of many readings is high by chance (Bonferroni)."""
    u = math.hypot(u_mm, u_shared_mm)
    k = student.quantile(1.0 - (1.0 - _CONFIDENCE) / len(check.sizes), _of_gauge(u_mm, u))
    return check.largest_mm - k * u > high_mm


def _finished_state(last: Check, low: float, enough: float, inside: float) -> str | None:
    """The state of a bore that nothing is kept back for, once it has reached ``enough`` all over; else None."""
    if last.mean_mm >= enough and last.smallest_mm >= low:
        return "at size" if inside >= _CONFIDENCE else "maybe at size"
    return None


def _bite_mm(rate: Removal) -> float:
    """The most a stroke takes off by what was seen: a sudden slowing may be the gauge's noise."""
    return rate.per_stroke_mm if rate.slowed_mm is None else max(rate.per_stroke_mm, rate.slowed_mm[1])


def _next_stretch(rate: Removal | None, todo_mm: float, band_mm: float, first_strokes: int) -> tuple[str, int]:
    """The state while there is metal to take, and how many strokes to make before the next check.

    Never past the fast end of the forecast, never far beyond what the removal was learned
    from; close to size, half of what is likely left (common practice), or all of it where the bore
    would stay within its band even if the stones bit as hard as they may. Stones that seem to
    have lost their bite may find it again: the rate they had before still bounds the stretch.
    """
    if rate is None:
        return "unknown", first_strokes
    if rate.per_stroke_mm <= 0.0:
        return "no bite", first_strokes if todo_mm > 3.0 * band_mm else min(first_strokes, 3)
    if rate.strokes is None:
        return "unsure", max(1, min(first_strokes, math.floor(todo_mm / _bite_mm(rate) / 2.0)))
    fast, likely, _ = rate.strokes
    hard = rate.per_stroke_mm + math.hypot(
        (RATE_KEEPS - 1.0) * rate.per_stroke_mm, rate.coverage * rate.u_per_stroke_mm
    )
    within = min(likely, (todo_mm + _OF_BAND * band_mm) / hard)
    far = min(
        max(likely / 2.0, min(fast, 0.8 * likely), within), todo_mm / _bite_mm(rate) if rate.slowed_mm else math.inf
    )
    return "to go", max(1, math.floor(min(far, 2.0 * rate.learned_strokes)))


# -- shape -------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A bore's shape, mm on diameter: ``taper_mm`` top less bottom, ``bulge_mm`` the middle against the ends.

    ``name`` is "taper", "waist" or "barrel", whichever is larger, ``size_mm`` with ``u_mm``
    how large it is, and ``dwell`` the tight place: "top", "bottom", "middle" or "ends".
    """

    taper_mm: float
    u_taper_mm: float
    bulge_mm: float
    u_bulge_mm: float
    name: str
    dwell: str
    size_mm: float
    u_mm: float

    def inside(self, tolerance_mm: float) -> float:
        """The chance that taper and bulge are both within a tolerance, the gauge's repeatability being known to a quarter.

        What was read is weighed against what boring and honing leave (JCGM 106:2012, 7.2.2), so that
        a gauge's noise does not pass for shape.
        """
        parts = (
            (self.taper_mm, self.u_taper_mm, FINISHING.taper_mm),
            (self.bulge_mm, self.u_bulge_mm, FINISHING.barrel_mm),
        )
        return math.prod(_drawn_inside(size, u, usual, tolerance_mm) for size, u, usual in parts)


def _drawn_inside(size_mm: float, u_mm: float, usual_mm: float, tolerance_mm: float) -> float:
    """The chance that a part of the shape is within a tolerance, drawn toward nought as far as it is usually that small."""
    part = usual_mm**2 / (usual_mm**2 + u_mm**2)
    return chance_between(part * size_mm, math.sqrt(part) * u_mm, -tolerance_mm, tolerance_mm, GAUGE_DOF)


def _bulge_mm(z: Sequence[float], d: Sequence[float], u_mm: float) -> tuple[float, float]:
    """The mean of the sizes between the ends less the line through the two end sizes, and its uncertainty."""
    if len(d) <= 2:
        return 0.0, 0.0
    length = z[-1] - z[0]
    inner = list(zip(z[1:-1], d[1:-1], strict=True))
    gaps = [di - (d[0] + (d[-1] - d[0]) * (zi - z[0]) / length) for zi, di in inner]
    part = math.fsum((zi - z[0]) / length for zi, _ in inner) / len(inner)
    return math.fsum(gaps) / len(gaps), u_mm * math.sqrt(1.0 / len(inner) + (1.0 - part) ** 2 + part**2)


def shape_of(check: Check, u_mm: float) -> Shape | None:
    """The shape at a check, one reading being good to ``u_mm``. None with sizes at fewer than two depths.

    The taper is that of the least-squares line; the bulge is the mean of the sizes between
    the ends less the line through the two end sizes.
    """
    sizes = sorted(check.sizes)
    z, d = [s[0] for s in sizes], [s[1] for s in sizes]
    if not z[-1] > z[0]:
        return None
    fit = student.trend(z, d)
    length = z[-1] - z[0]
    taper, u_taper = -fit.slope * length, fit.u_slope(u_mm) * length
    bulge, u_bulge = _bulge_mm(z, d, u_mm)
    if abs(bulge) >= abs(taper):
        name, dwell = ("barrel", "ends") if bulge > 0 else ("waist", "middle")
        size, u = abs(bulge), u_bulge
    else:
        name, dwell = "taper", "bottom" if taper > 0 else "top"
        size, u = abs(taper), u_taper
    return Shape(
        taper_mm=taper,
        u_taper_mm=u_taper,
        bulge_mm=bulge,
        u_bulge_mm=u_bulge,
        name=name,
        dwell=dwell,
        size_mm=size,
        u_mm=u,
    )
