"""Honing as it goes: from logged gauge checks to strokes left, shape, dwell and heat.

A check is a set of sizes down the bore, already at 20 °C, and the double strokes made
since the check before. Sizes are diameters.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .constants import constant
from .pictures import HoneProgress
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .temperature import REFERENCE_C, as_shown_mm, warm_bore, warm_target_mm
from .uncertainty import chance_between

__all__ = ["Check", "Heat", "Progress", "ShapeFound", "heat", "progress", "shape"]

#: The gauge's repeatability counts as eight degrees of freedom: known to about a quarter (JCGM 100:2008, G.4.2).
GAUGE_DOF = 8.0
#: Warmth over the block at rest from which honing to size is put off, K.
WARM_K = constant("hone.warm").value
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


@dataclass(frozen=True, kw_only=True)
class Progress(Result):
    """Where a bore stands. Sizes in mm, removal in mm on diameter per double stroke.

    ``left_mm`` is what this grit still has to take, ``per_stroke_mm`` and ``u_per_stroke_mm``
    the removal (None while unknown), ``strokes`` (low, likely, high) still to go at 95 %
    or None, ``next_strokes`` how many to make before the next check (0: stop). ``stop_mm``
    is where this grit stops.
    """

    size_mm: float | None
    left_mm: float | None
    stop_mm: float
    per_stroke_mm: float | None
    u_per_stroke_mm: float | None
    strokes: tuple[float, float, float] | None
    next_strokes: int
    picture: HoneProgress | None


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


def progress(
    checks: Sequence[Check],
    finished_mm: float,
    *,
    band_mm: float,
    keep_mm: float = 0.0,
    u_mm: float = 0.0015,
    u_shared_mm: float = 0.0,
    first_strokes: int = 10,
    cylinder: int | None = None,
) -> Progress:
    """What the checks so far say, and what to do next.

    ``finished_mm`` ± ``band_mm`` is what the bore must come to; ``keep_mm`` the stock kept
    back for finer grits, so that the grit in use stops at finished − keep. ``u_mm`` is the
    repeatability of one gauge reading (standard deviation) and ``u_shared_mm`` what all
    readings have in common (master, temperature); ``first_strokes`` how many to make
    before anything is known of the removal (common practice).

    Method: least-squares line of mean size against strokes over the checks of the grit in
    use. The spread about it is pooled with the gauge's repeatability (taken as known to a
    quarter, eight degrees of freedom). Strokes left: all numbers of strokes at which a
    further check could well read the stop size (95 %, Fieller's interval). Where the last
    stretch removes clearly less per stroke than before, only that stretch is used. The
    next stretch is kept below the fast end of the interval, four fifths of the likely
    number and twice the strokes made so far, since stones do not cut evenly (common
    practice).
    """
    if not band_mm > 0.0 or keep_mm < 0.0 or u_mm < 0.0 or u_shared_mm < 0.0:
        raise ValueError("a band above zero is needed; stock kept and uncertainties are not negative")
    low, high = finished_mm - band_mm, finished_mm + band_mm
    stop = finished_mm - keep_mm
    assumptions = (
        Assumption(
            L(
                "The finished size may lie {band} either side of {size}.",
                band=Qty(band_mm, "fine"),
                size=Qty(finished_mm, "size"),
            )
        ),
        Assumption(L("One gauge reading repeats within about {u}.", u=Qty(2 * u_mm, "fine"))),
        Assumption(L("The next strokes are made with the same stones, pressure, speed and oil.")),
    )
    common = dict(key="hone.progress", assumptions=assumptions, stop_mm=stop)
    if not checks:
        return Progress(
            line=L("No gauge check yet: measure the bored size down the bore before the first stroke."),
            verdict=Verdict.INFO,
            size_mm=None,
            left_mm=None,
            per_stroke_mm=None,
            u_per_stroke_mm=None,
            strokes=None,
            next_strokes=0,
            picture=None,
            **common,
        )
    last = checks[-1]
    places = len(last.sizes)
    run = _run(checks)
    x, y = [p for p, _ in run], [c.mean_mm for _, c in run]
    u_check = u_mm / math.sqrt(places)
    u_size = math.hypot(u_check, u_shared_mm)
    left = stop - last.mean_mm

    why: list[Line] = []
    rate = u_rate = None
    strokes: tuple[float, float, float] | None = None
    if x[-1] > x[0]:
        line = student.trend(x, y)
        if len(x) > 2 and x[-1] > x[-2] > x[0]:
            before = student.trend(x[:-1], y[:-1]).slope
            lately = (y[-1] - y[-2]) / (x[-1] - x[-2])
            noise = u_check * math.sqrt(2.0 + 2.0 * ((x[-1] - x[-2]) / (x[-2] - x[0])) ** 2)
            stretch = x[-1] - x[-2]
            # only a stretch long enough to be told from the gauge's noise can show a change
            if lately < 0.6 * before and before * stretch > 4.0 * noise and (before - lately) * stretch > 2.0 * noise:
                why.append(
                    L(
                        "Ten strokes now take off {now}; before it was {before}. The stones may be loaded or glazed: dress or clean them.",
                        now=Qty(10 * lately, "fine"),
                        before=Qty(10 * before, "fine"),
                    )
                )
                x, y = x[-2:], y[-2:]
                line = student.trend(x, y)
        spread, dof = _pooled(line.spread, line.dof, u_check)
        k = student.two_sided(_CONFIDENCE, dof)
        rate, u_rate = line.slope, line.u_slope(spread)
        if rate > 0.0:
            reach = line.reach(stop, k, spread)
            likely = max(0.0, (stop - line.at_zero) / rate - x[-1])
            if reach is not None:
                strokes = (max(0.0, reach[0] - x[-1]), likely, max(0.0, reach[1] - x[-1]))
            why.append(
                L(
                    "Ten double strokes take off {rate} on diameter, known within {u}.",
                    rate=Qty(10 * rate, "fine"),
                    u=Qty(10 * k * u_rate, "fine"),
                )
            )

    # -- what to do next
    cautions: tuple[Caution, ...] = ()
    confidence = None
    inside = chance_between(last.mean_mm, u_size, low, high)
    next_strokes = 0
    if last.largest_mm > high:
        verdict = Verdict.STOP if last.largest_mm - 2.0 * u_size > high else Verdict.MAYBE
        said = dict(size=Qty(last.largest_mm, "size"), over=Qty(last.largest_mm - high, "fine"))
        text = (
            L("Stop: the bore reaches {size}, {over} over the largest size allowed.", **said)
            if verdict == Verdict.STOP
            else L(
                "Stop: the bore reaches {size}, {over} over by the gauge, within its doubt. Let it cool and measure again.",
                **said,
            )
        )
    elif keep_mm == 0.0 and last.mean_mm >= stop - band_mm and last.smallest_mm >= low:
        confidence = inside
        verdict = Verdict.GO if inside >= 0.95 else Verdict.MAYBE
        text = (
            L("At size: {size}. Stop here.", size=Qty(last.mean_mm, "size", u_size))
            if verdict == Verdict.GO
            else L(
                "About at size: {size}. Let it cool and measure again before any further stroke.",
                size=Qty(last.mean_mm, "size", u_size),
            )
        )
    elif keep_mm > 0.0 and left <= max(u_check, 0.0005):
        verdict = Verdict.GO
        text = L(
            "Stop with this grit: {kept} is left for the finer stones.", kept=Qty(finished_mm - last.mean_mm, "fine")
        )
    else:
        verdict = Verdict.INFO
        todo = max(left, stop - band_mm - last.smallest_mm, 0.0)
        if rate is None:
            next_strokes = first_strokes
            text = L("{left} to take off. Make {n} strokes, then measure.", left=Qty(todo, "fine"), n=next_strokes)
        elif rate <= 0.0:
            verdict = Verdict.MAYBE
            next_strokes = first_strokes if todo > 3.0 * band_mm else min(first_strokes, 3)
            text = L(
                "The stones take nothing off. Check their pressure, dress them, then make {n} strokes and measure.",
                n=next_strokes,
            )
        elif strokes is None:
            next_strokes = max(1, min(first_strokes, math.floor(todo / rate / 2.0)))
            text = L(
                "{left} to go. The removal per stroke is not sure yet: make {n} strokes and measure.",
                left=Qty(todo, "fine"),
                n=next_strokes,
            )
        else:
            # never past the fast end of the forecast, never far beyond what the removal was learned
            # from; close to size, half of what is likely left
            far = max(strokes[1] / 2.0, min(strokes[0], 0.8 * strokes[1]))
            next_strokes = max(1, math.floor(min(far, 2.0 * (x[-1] - x[0]))))
            text = L(
                "{left} to go: about {likely} strokes, {low} to {high}. Make {n}, then measure.",
                left=Qty(todo, "fine"),
                likely=Qty(strokes[1], "count"),
                low=Qty(math.floor(strokes[0]), "count"),
                high=Qty(math.ceil(strokes[2]), "count"),
                n=next_strokes,
            )
        if left <= 0.0 and last.smallest_mm < stop - band_mm:
            text = L(
                "The mean is at size, but the narrowest place is {short} short. Hone there only, with short strokes.",
                short=Qty(finished_mm - band_mm - last.smallest_mm, "fine"),
            )
            next_strokes = max(1, min(next_strokes, 3))
        if keep_mm > 0.0:
            why.append(
                L(
                    "This grit stops at {stop}: {keep} is kept for the finer stones.",
                    stop=Qty(stop, "size"),
                    keep=Qty(keep_mm, "fine"),
                )
            )
        cautions = (
            Caution(
                "hone_count",
                L("The forecast is no licence to stroke without measuring: check more often the nearer you get."),
            ),
        )

    total = 0.0
    points = []
    for c in checks:
        total += c.strokes
        points.append((total, c.mean_mm))
    picture = HoneProgress(
        title=L("Hone, cylinder {c}", c=cylinder) if cylinder is not None else L("Hone progress"),
        text=L(
            "After {n} strokes the bore measures {size}; the target is {target}, allowed {low} to {high}.",
            n=Qty(total, "count"),
            size=Qty(last.mean_mm, "size"),
            target=Qty(finished_mm, "size"),
            low=Qty(low, "size"),
            high=Qty(high, "size"),
        ),
        checks=tuple(points),
        target_mm=finished_mm,
        band_mm=(low, high),
        forecast=strokes if verdict == Verdict.INFO else None,
    )
    figures = [
        Figure("size", L("Mean size at the last check"), Qty(last.mean_mm, "size", u_size)),
        Figure("left", L("Left for this grit"), Qty(left, "fine", u_size)),
    ]
    if rate is not None:
        figures.append(Figure("per_ten", L("Removal in ten double strokes"), Qty(10 * rate, "fine", 10 * u_rate)))
    variance = u_size**2
    return Progress(
        line=text,
        value=Qty(last.mean_mm, "size", u_size),
        verdict=verdict,
        confidence=confidence,
        why=tuple(why),
        figures=tuple(figures),
        influences=(
            Influence(L("The gauge's repeatability"), u_check**2 / variance),
            Influence(L("The master and the temperatures"), u_shared_mm**2 / variance),
        )
        if variance > 0
        else (),
        cautions=cautions,
        size_mm=last.mean_mm,
        left_mm=left,
        per_stroke_mm=rate,
        u_per_stroke_mm=u_rate,
        strokes=strokes,
        next_strokes=next_strokes,
        picture=picture,
        **common,
    )


# -- shape and dwell -------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class ShapeFound(Result):
    """The bore's shape down its length, mm on diameter.

    ``taper_mm`` is top less bottom of the fitted straight line over the measured length;
    ``bulge_mm`` the middle against the line through the two ends (plus: barrel, minus:
    waist; 0 with two depths). ``shape`` is "straight", "taper", "waist" or "barrel";
    ``dwell`` where the stones should dwell: "top", "bottom", "middle", "ends" or None.
    """

    taper_mm: float
    bulge_mm: float
    shape: str
    dwell: str | None
    dwell_strokes: int | None


def shape(
    check: Check,
    *,
    tolerance_mm: float = 0.005,
    u_mm: float = 0.0015,
    per_stroke_mm: float | None = None,
    sweep_gain: float = 2.5,
    left_mm: float | None = None,
) -> ShapeFound | None:
    """Name the shape at a check and say where to dwell. None with sizes at fewer than two depths.

    The taper is that of the least-squares line; the bulge is the mean of the sizes between
    the ends less the line through the two end sizes. A shape is named when it is larger than
    ``tolerance_mm``, for certain when by twice its uncertainty.
    Dwell: in full strokes a place feels the stones for stone / (stroke + stone) of the time;
    when the stones stay there, all of it, so each short stroke takes ``sweep_gain`` =
    (stroke + stone) / stone times as much. The number of short strokes that takes out the
    shape is halved, to measure in between (common practice). ``left_mm`` is the stock
    left: a dwell is not advised for more than there is.
    """
    if len(check.sizes) < 2:
        return None
    sizes = sorted(check.sizes)
    z, d = [s[0] for s in sizes], [s[1] for s in sizes]
    if not z[-1] > z[0]:
        return None
    fit = student.trend(z, d)
    length = z[-1] - z[0]
    taper = -fit.slope * length
    u_taper = fit.u_slope(u_mm) * length
    bulge, u_bulge = 0.0, 0.0
    if len(d) > 2:
        inner = [(zi, di) for zi, di in zip(z[1:-1], d[1:-1])]
        gaps = [di - (d[0] + (d[-1] - d[0]) * (zi - z[0]) / length) for zi, di in inner]
        bulge = math.fsum(gaps) / len(gaps)
        part = math.fsum((zi - z[0]) / length for zi, _ in inner) / len(inner)
        u_bulge = u_mm * math.sqrt(1.0 / len(inner) + (1.0 - part) ** 2 + part**2)
    if abs(bulge) >= abs(taper):
        size, u, name = abs(bulge), u_bulge, "barrel" if bulge > 0 else "waist"
        place = "ends" if bulge > 0 else "middle"
    else:
        size, u, name = abs(taper), u_taper, "taper"
        place = "bottom" if taper > 0 else "top"
    if size <= tolerance_mm:
        sure = size + 2.0 * u <= tolerance_mm
        return ShapeFound(
            key="hone.shape",
            line=L("Straight within {t}.", t=Qty(tolerance_mm, "fine"))
            if sure
            else L("Straight within {t} as far as the gauge can tell.", t=Qty(tolerance_mm, "fine")),
            value=Qty(taper, "fine", u_taper),
            verdict=Verdict.GO if sure else Verdict.MAYBE,
            figures=_shape_figures(taper, u_taper, bulge, u_bulge),
            assumptions=(Assumption(L("Straight means within {t}.", t=Qty(tolerance_mm, "fine"))),),
            taper_mm=taper,
            bulge_mm=bulge,
            shape="straight",
            dwell=None,
            dwell_strokes=None,
        )
    strokes = None
    if per_stroke_mm is not None and per_stroke_mm > 0.0:
        strokes = max(1, round(size / (per_stroke_mm * max(1.0, sweep_gain)) / 2.0))
    tight = Qty(size, "fine", u)
    line = {
        "top": L("Taper: {size} tight at the top. Dwell there.", size=tight),
        "bottom": L("Taper: {size} tight at the bottom. Dwell there.", size=tight),
        "middle": L("Waist: {size} tight in the middle. Dwell there.", size=tight),
        "ends": L(
            "Barrel: {size} wide in the middle. Let the stones run out further and dwell at both ends.", size=tight
        ),
    }[place]
    why: list[Line] = []
    if strokes is not None:
        why.append(
            L(
                "Short strokes to make there: about {n}, then measure. That is half of what the removal so far would need.",
                n=strokes,
            )
        )
    if left_mm is not None and left_mm < size:
        why.append(
            L(
                "Only {left} is left to take: the shape cannot come out fully before size.",
                left=Qty(max(left_mm, 0.0), "fine"),
            )
        )
    if size < tolerance_mm + 2.0 * u:
        why.append(L("The gauge is in doubt about a shape this small: measure again before you dwell."))
    return ShapeFound(
        key="hone.shape",
        line=line,
        value=Qty(taper if name == "taper" else bulge, "fine", u),
        verdict=Verdict.MAYBE,
        why=tuple(why),
        figures=_shape_figures(taper, u_taper, bulge, u_bulge),
        assumptions=(
            Assumption(
                L(
                    "Short strokes take {gain} times as much as full ones where they dwell.",
                    gain=Qty(sweep_gain, "ratio"),
                )
            ),
            Assumption(L("Straight means within {t}.", t=Qty(tolerance_mm, "fine"))),
        ),
        taper_mm=taper,
        bulge_mm=bulge,
        shape=name,
        dwell=place,
        dwell_strokes=strokes,
    )


def _shape_figures(taper: float, u_taper: float, bulge: float, u_bulge: float) -> tuple[Figure, ...]:
    return (
        Figure("taper", L("Taper, top less bottom"), Qty(taper, "fine", u_taper)),
        Figure("bulge", L("Middle against the ends"), Qty(bulge, "fine", u_bulge)),
    )


# -- heat --------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Heat(Result):
    """What warmth does to the size. ``shrink_mm`` on cooling to 20 °C; ``stop_early_mm`` how much to leave."""

    shrink_mm: float
    stop_early_mm: float
    shown_stop_mm: float
    early_strokes: int | None


def heat(
    stop_mm: float,
    bore_c: float,
    alpha_per_k: float,
    *,
    settled_c: float,
    master_c: float = REFERENCE_C,
    band_mm: float,
    u_temp_c: float = 1.0,
    alpha_u_per_k: float = 0.6e-6,
    per_stroke_mm: float | None = None,
    largest_k: float = WARM_K,
) -> Heat:
    """Whether the bore is too warm to hone to size, and where to stop until it has cooled.

    ``stop_mm`` is the size at 20 °C at which the grit in use stops, ``bore_c`` the wall's
    temperature now, ``settled_c`` the block's before honing. A gauge zeroed on a steel master
    at ``master_c`` shows ``shown_stop_mm`` at the stop; how far the bore then shrinks is known only as well as
    its temperature: ``u_temp_c``, and a quarter of what honing has added, since the wall is
    not warmed evenly (common practice, no source). Twice that is left as
    ``stop_early_mm``. More than ``largest_k`` above the settled block, or a doubt above half
    of ``band_mm``, means: stop early and let it cool.
    """
    if not band_mm > 0.0:
        raise ValueError("a band above zero is needed")
    added = max(0.0, bore_c - settled_c)
    u_c = math.hypot(u_temp_c, added / 4.0)
    warm_stop = warm_target_mm(stop_mm, bore_c, alpha_per_k)
    base = warm_bore(warm_stop, bore_c, alpha_per_k, block_u_c=u_c, alpha_u_per_k=alpha_u_per_k)
    shrink = warm_stop - stop_mm
    shown = as_shown_mm(stop_mm, block_c=bore_c, alpha_block_per_k=alpha_per_k, master_c=master_c)
    early = 2.0 * base.figure("change").u
    strokes = math.ceil(early / per_stroke_mm) if per_stroke_mm and per_stroke_mm > 0.0 else None
    warm = added > largest_k or (added > 1.0 and early > band_mm / 2.0)
    if not warm:
        text = L("At {t} the bore is cool enough to hone to size.", t=Qty(bore_c, "temperature"))
    elif strokes is not None:
        text = L(
            "At {t} the bore will shrink {shrink} by 20 °C. Stop {early} early, about {n} strokes, let it cool, then finish.",
            t=Qty(bore_c, "temperature"),
            shrink=Qty(shrink, "fine"),
            early=Qty(early, "fine"),
            n=strokes,
        )
    else:
        text = L(
            "At {t} the bore will shrink {shrink} by 20 °C. Stop {early} early, let it cool, then finish.",
            t=Qty(bore_c, "temperature"),
            shrink=Qty(shrink, "fine"),
            early=Qty(early, "fine"),
        )
    return Heat(
        key="hone.heat",
        line=text,
        value=Qty(shrink, "fine", early / 2.0),
        verdict=Verdict.MAYBE if warm else Verdict.GO,
        why=(
            L(
                "Honed until the gauge shows {shown}, it will be {stop} at 20 °C.",
                shown=Qty(shown, "size"),
                stop=Qty(stop_mm, "size"),
            ),
        ),
        figures=(
            Figure("shrink", L("Shrinks on cooling to 20 °C"), Qty(shrink, "fine", early / 2.0)),
            Figure("early", L("Stop early by"), Qty(early, "fine")),
            Figure("shown_stop", L("What the gauge shows at the stop"), Qty(shown, "size")),
        ),
        assumptions=base.assumptions
        + (Assumption(L("The wall's temperature is known to about {u}.", u=Qty(2 * u_c, "temperature_difference"))),),
        influences=base.influences,
        cautions=base.cautions,
        shrink_mm=shrink,
        stop_early_mm=early,
        shown_stop_mm=shown,
        early_strokes=strokes,
    )
