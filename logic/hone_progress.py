"""Honing as it goes: from logged gauge checks to strokes left, shape, dwell and heat.

A check is a set of sizes down the bore, already at 20 °C, and the double strokes made
since the check before. Sizes are diameters.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import student
from .hone_heat import Heat, heat
from .hone_removal import GAUGE_DOF, Check, Removal, Shape, Standing, shape_of, standing
from .pictures import HoneProgress
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = ["GAUGE_DOF", "Check", "Heat", "Progress", "ShapeFound", "heat", "progress", "shape"]

#: The chance from which on a bore is called straight.
_CONFIDENCE = 0.95

#: The verdict that goes with each state of :class:`~logic.hone_removal.Standing`; anything else is still under way.
_VERDICTS = {
    "over": Verdict.STOP,
    "maybe over": Verdict.MAYBE,
    "at size": Verdict.GO,
    "maybe at size": Verdict.MAYBE,
    "kept": Verdict.GO,
    "no bite": Verdict.MAYBE,
}
_COUNT = Caution(
    "hone_count",
    L("Measure as you hone, the more often the nearer to size."),
)


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
    further check could well read the stop size (95 %, Fieller's interval), widened by what the
    stones' bite may do from here on (a factor of 1.4 either way). Where the last
    stretch removes clearly less per stroke than before, only that stretch is used. The
    next stretch is kept below the fast end of the interval, four fifths of the likely
    number and twice the strokes made so far, since stones do not cut evenly (common
    practice).
    """
    _check_terms(band_mm, keep_mm, u_mm, u_shared_mm)
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
    if not checks:
        return _before_the_first(stop, assumptions)
    s = standing(
        checks,
        finished_mm,
        band_mm=band_mm,
        keep_mm=keep_mm,
        u_mm=u_mm,
        u_shared_mm=u_shared_mm,
        first_strokes=first_strokes,
    )
    verdict = _VERDICTS.get(s.state, Verdict.INFO)
    rate = s.removal
    u_shown = student.half_of_95(s.u_size_mm, s.dof)
    size = Qty(s.size_mm, "size", u_shown)
    why = _removal_said(rate)
    if s.under_way and keep_mm > 0.0:
        why.append(
            L(
                "This grit stops at {stop}: {keep} is kept for the finer stones.",
                stop=Qty(stop, "size"),
                keep=Qty(keep_mm, "fine"),
            )
        )
    figures = [
        Figure("size", L("Mean size at the last check"), size),
        Figure("left", L("Still to hone, this grit"), Qty(s.left_mm, "fine", u_shown)),
    ]
    per_stroke = u_per_stroke = strokes = None
    if rate is not None:
        per_stroke, u_per_stroke, strokes = rate.per_stroke_mm, rate.u_per_stroke_mm, rate.strokes
        per_ten = Qty(10 * per_stroke, "fine", 10 * rate.coverage * u_per_stroke / 2.0)
        figures.append(Figure("per_ten", L("Removal in ten double strokes"), per_ten))
    return Progress(
        key="hone.progress",
        line=_progress_said(s, finished_mm),
        value=size,
        verdict=verdict,
        confidence=s.inside if s.state in ("at size", "maybe at size") else None,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=assumptions,
        influences=_progress_influences(s, u_shared_mm),
        cautions=(_COUNT,) if s.under_way else (),
        size_mm=s.size_mm,
        left_mm=s.left_mm,
        stop_mm=stop,
        per_stroke_mm=per_stroke,
        u_per_stroke_mm=u_per_stroke,
        strokes=strokes,
        next_strokes=s.next_strokes,
        picture=_progress_picture(checks, s, finished_mm, strokes if verdict == Verdict.INFO else None, cylinder),
    )


def _check_terms(band_mm: float, keep_mm: float, u_mm: float, u_shared_mm: float) -> None:
    if not band_mm > 0.0 or keep_mm < 0.0 or u_mm < 0.0 or u_shared_mm < 0.0:
        raise ValueError("a band above zero is needed; stock kept and uncertainties are not negative")


def _before_the_first(stop_mm: float, assumptions: tuple[Assumption, ...]) -> Progress:
    return Progress(
        key="hone.progress",
        line=L("No gauge check yet: measure the bored size down the bore before the first stroke."),
        verdict=Verdict.INFO,
        assumptions=assumptions,
        size_mm=None,
        left_mm=None,
        stop_mm=stop_mm,
        per_stroke_mm=None,
        u_per_stroke_mm=None,
        strokes=None,
        next_strokes=0,
        picture=None,
    )


def _removal_said(rate: Removal | None) -> list[Line]:
    """What is known of the removal, in words."""
    said: list[Line] = []
    if rate is None:
        return said
    if rate.slowed_mm is not None:
        now, before = rate.slowed_mm
        said.append(
            L(
                "Ten strokes now take off {now}; before it was {before}. The stones may be loaded or glazed: dress or clean them.",
                now=Qty(10 * now, "fine"),
                before=Qty(10 * before, "fine"),
            )
        )
    if rate.per_stroke_mm > 0.0:
        said.append(
            L(
                "Ten double strokes take off {rate} on diameter, known within {u}.",
                rate=Qty(10 * rate.per_stroke_mm, "fine"),
                u=Qty(10 * rate.coverage * rate.u_per_stroke_mm, "fine"),
            )
        )
    return said


def _progress_said(s: Standing, finished_mm: float) -> Line:
    """Where the bore stands and what to do next, in one sentence."""
    if s.state in ("over", "maybe over"):
        return _over_said(s)
    if s.state == "kept":
        return L("Stop with this grit: {kept} is left for the finer stones.", kept=Qty(finished_mm - s.size_mm, "fine"))
    size = Qty(s.size_mm, "size", student.half_of_95(s.u_size_mm, s.dof))
    if s.state == "at size":
        return L("At size: {size}. Stop here.", size=size)
    if s.state == "maybe at size":
        return L("About at size: {size}. Let it cool and measure again before any further stroke.", size=size)
    return _to_go_said(s)


def _over_said(s: Standing) -> Line:
    gaps = {"size": Qty(s.largest_mm, "size"), "over": Qty(s.largest_mm - s.high_mm, "fine")}
    if s.state == "over":
        return L("Stop: the bore reaches {size}, {over} over the largest size allowed.", **gaps)
    return L(
        "Stop: the bore reaches {size}, {over} over, within the gauge's error. Let it cool and measure again.",
        **gaps,
    )


def _to_go_said(s: Standing) -> Line:
    """What is left to take off and how many strokes to make before measuring again."""
    if s.narrow_mm is not None:
        return L(
            "The mean is at size, but the narrowest place is {short} short. Hone there only, with short strokes.",
            short=Qty(s.narrow_mm, "fine"),
        )
    todo, n = Qty(s.todo_mm, "fine"), s.next_strokes
    if s.state == "unknown":
        return LN(
            "{left} to take off. Make one double stroke, then measure.",
            "{left} to take off. Make {n} double strokes, then measure.",
            n,
            left=todo,
        )
    if s.state == "no bite":
        return LN(
            "The stones take nothing off. Check their pressure, dress them, then make one double stroke and measure.",
            "The stones take nothing off. Check their pressure, dress them, then make {n} double strokes and measure.",
            n,
        )
    if s.removal is None or s.removal.strokes is None:
        return LN(
            "{left} to go. The removal per stroke is not sure yet: make one double stroke and measure.",
            "{left} to go. The removal per stroke is not sure yet: make {n} double strokes and measure.",
            n,
            left=todo,
        )
    low, likely, high = s.removal.strokes
    return LN(
        "{left} to go: about one double stroke, {low} to {high}. Make {n}, then measure.",
        "{left} to go: about {likely} double strokes, {low} to {high}. Make {n}, then measure.",
        round(likely),
        left=todo,
        likely=Qty(likely, "count"),
        low=Qty(math.floor(low), "count"),
        high=Qty(math.ceil(high), "count"),
        n=n,
    )


def _progress_influences(s: Standing, u_shared_mm: float) -> tuple[Influence, ...]:
    variance = s.u_size_mm**2
    if not variance > 0:
        return ()
    return (
        Influence(L("The gauge's repeatability"), s.u_check_mm**2 / variance),
        Influence(L("The master and the temperatures"), u_shared_mm**2 / variance),
    )


def _progress_picture(
    checks: Sequence[Check],
    s: Standing,
    finished_mm: float,
    forecast: tuple[float, float, float] | None,
    cylinder: int | None,
) -> HoneProgress:
    total = 0.0
    points = []
    for c in checks:
        total += c.strokes
        points.append((total, c.mean_mm))
    return HoneProgress(
        title=L("Hone, cylinder {c}", c=cylinder) if cylinder is not None else L("Hone progress"),
        text=LN(
            "After one double stroke the bore measures {size}; the target is {target}, allowed {low} to {high}.",
            "After {n} double strokes the bore measures {size}; the target is {target}, allowed {low} to {high}.",
            round(total),
            size=Qty(s.size_mm, "size"),
            target=Qty(finished_mm, "size"),
            low=Qty(s.low_mm, "size"),
            high=Qty(s.high_mm, "size"),
        ),
        checks=tuple(points),
        target_mm=finished_mm,
        band_mm=(s.low_mm, s.high_mm),
        forecast=forecast,
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
    ``tolerance_mm``, for certain when by more than its 95 % interval (Student's t).
    Dwell: in full strokes a place feels the stones for stone / (stroke + stone) of the time;
    when the stones stay there, all of it, so each short stroke takes ``sweep_gain`` =
    (stroke + stone) / stone times as much. The number of short strokes that takes out the
    shape is halved, to measure in between (common practice). ``left_mm`` is the stock
    left: a dwell is not advised for more than there is.
    """
    found = shape_of(check, u_mm)
    if found is None:
        return None
    straight = Assumption(L("Straight means within {t}.", t=Qty(tolerance_mm, "fine")))
    if found.size_mm <= tolerance_mm:
        inside = found.inside(tolerance_mm)
        sure = inside >= _CONFIDENCE
        return ShapeFound(
            key="hone.shape",
            line=L("Straight within {t}.", t=Qty(tolerance_mm, "fine"))
            if sure
            else L("Straight within {t} as far as the gauge can tell.", t=Qty(tolerance_mm, "fine")),
            value=Qty(found.taper_mm, "fine", _shown(found.u_taper_mm)),
            verdict=Verdict.GO if sure else Verdict.MAYBE,
            confidence=inside,
            figures=_shape_figures(found),
            assumptions=(straight,),
            taper_mm=found.taper_mm,
            bulge_mm=found.bulge_mm,
            shape="straight",
            dwell=None,
            dwell_strokes=None,
        )
    strokes = None
    if per_stroke_mm is not None and per_stroke_mm > 0.0:
        strokes = max(1, round(found.size_mm / (per_stroke_mm * max(1.0, sweep_gain)) / 2.0))
    return ShapeFound(
        key="hone.shape",
        line=_shape_said(found),
        value=Qty(found.taper_mm if found.name == "taper" else found.bulge_mm, "fine", _shown(found.u_mm)),
        verdict=Verdict.MAYBE,
        why=_dwell_said(found, strokes, left_mm, tolerance_mm),
        figures=_shape_figures(found),
        assumptions=(
            Assumption(
                L(
                    "Short strokes take {gain} times as much as full ones where they dwell.",
                    gain=Qty(sweep_gain, "ratio"),
                )
            ),
            straight,
        ),
        taper_mm=found.taper_mm,
        bulge_mm=found.bulge_mm,
        shape=found.name,
        dwell=found.dwell,
        dwell_strokes=strokes,
    )


def _shown(u_mm: float) -> float:
    """An uncertainty of the gauge's repeatability alone, as it is shown."""
    return student.half_of_95(u_mm, GAUGE_DOF)


def _shape_said(found: Shape) -> Line:
    tight = Qty(found.size_mm, "fine", _shown(found.u_mm))
    match found.dwell:
        case "top":
            return L("Taper: {size} tight at the top. Dwell there.", size=tight)
        case "bottom":
            return L("Taper: {size} tight at the bottom. Dwell there.", size=tight)
        case "middle":
            return L("Waist: {size} tight in the middle. Dwell there.", size=tight)
    return L("Barrel: {size} wide in the middle. Let the stones run out further and dwell at both ends.", size=tight)


def _dwell_said(found: Shape, strokes: int | None, left_mm: float | None, tolerance_mm: float) -> tuple[Line, ...]:
    """How long to dwell, and what speaks against it."""
    why: list[Line] = []
    if strokes is not None:
        why.append(
            L(
                "Short strokes to make there: about {n}, then measure. That is half of what the removal so far would need.",
                n=strokes,
            )
        )
    if left_mm is not None and left_mm < found.size_mm:
        why.append(
            L(
                "Only {left} is left to take: the shape cannot come out fully before size.",
                left=Qty(max(left_mm, 0.0), "fine"),
            )
        )
    if found.size_mm < tolerance_mm + student.two_sided(_CONFIDENCE, GAUGE_DOF) * found.u_mm:
        why.append(L("The gauge cannot tell a shape this small: measure again before you dwell."))
    return tuple(why)


def _shape_figures(found: Shape) -> tuple[Figure, ...]:
    return (
        Figure("taper", L("Taper, top less bottom"), Qty(found.taper_mm, "fine", _shown(found.u_taper_mm))),
        Figure("bulge", L("Middle against the ends"), Qty(found.bulge_mm, "fine", _shown(found.u_bulge_mm))),
    )
