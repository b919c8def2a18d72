"""Planning the hone: stock over the grits, crosshatch, stroke and overrun.

Stock is on diameter. Strokes are double strokes: down and up again. Angles of the
crosshatch are included angles, between the two sets of grooves, opened toward the
bore's circumference: 2 atan(v_axial / v_tangential).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .constants import constant
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "GRITS",
    "Crosshatch",
    "GritStep",
    "Split",
    "Stroke",
    "check_depth_mm",
    "crosshatch",
    "crosshatch_deg",
    "grit_steps",
    "ra_of_um",
    "rate_for",
    "spin_for",
    "split",
    "stroke",
    "with_coarser",
]

#: Mean roughness Ra in µm that a silicon-carbide stone of a grit leaves in grey iron. From memory; stones differ.
GRITS = {80: 1.8, 120: 1.2, 150: 0.9, 180: 0.7, 220: 0.5, 280: 0.4, 320: 0.3, 400: 0.2, 500: 0.15, 600: 0.1}
#: Depth of the grooves against Ra in a honed bore.
RZ_OVER_RA = constant("hone.rz_over_ra").value
#: Depth of the grooves and torn iron the bar leaves, µm.
BORED_RZ_UM = constant("hone.bored_grooves").value
#: Share of the stone that runs out at each end.
OVERRUN = constant("hone.overrun").value
#: Included angle of the crosshatch: wanted, least and most.
CROSSHATCH = constant("hone.crosshatch")


def ra_of_um(grit: float) -> float:
    """Ra in µm to expect of a grit: from GRITS, and between its rows in proportion on logarithmic scales."""
    if not grit > 0:
        raise ValueError("a grit is a number above zero")
    known = sorted(GRITS)
    low = max((g for g in known if g <= grit), default=known[0])
    high = min((g for g in known if g >= grit), default=known[-1])
    if low == high:
        return GRITS[low]
    if grit < known[0] or grit > known[-1]:
        return GRITS[known[0] if grit < known[0] else known[-1]]
    part = math.log(grit / low) / math.log(high / low)
    return float(GRITS[low] * (GRITS[high] / GRITS[low]) ** part)


@dataclass(frozen=True, slots=True)
class GritStep:
    """One grit's share: it takes ``take_mm`` off the diameter and stops at ``until_mm``."""

    grit: int
    take_mm: float
    until_mm: float
    least_mm: float


@dataclass(frozen=True, kw_only=True)
class Split(Result):
    """The hone's stock over the grits, coarsest first. ``enough`` is False where it does not suffice."""

    steps: tuple[GritStep, ...]
    enough: bool

    def keep_for_finer_mm(self, grit: float) -> float:
        """Stock, on diameter, that belongs to the grits finer than ``grit``."""
        return math.fsum(s.take_mm for s in self.steps if s.grit > grit)


def _check_grits(order: Sequence[int], times: float) -> None:
    if not order or len(set(order)) != len(order) or order[0] <= 0:
        raise ValueError("name each grit once, as a number above zero")
    if not times > 0.0:
        raise ValueError("a grit must go below the grooves before it")


def grit_steps(
    bored_mm: float, finished_mm: float, grits: Sequence[int], *, times: float, bored_rz_um: float
) -> tuple[GritStep, ...]:
    """Each grit's share of the stock, coarsest first; see :func:`split` for the rule and the errors.

    Where the stock does not reach for all, the finer ones share it in proportion to what they need.
    """
    order = sorted(int(g) for g in grits)
    _check_grits(order, times)
    stock = finished_mm - bored_mm
    depth = [bored_rz_um] + [RZ_OVER_RA * ra_of_um(g) for g in order[:-1]]
    least = [2.0 * times * d / 1000.0 for d in depth]
    later = math.fsum(least[1:])
    first = stock - later
    takes = [max(0.0, first), *least[1:]]
    if first < 0.0 and later > 0.0:
        takes = [0.0] + [max(0.0, stock) * t / later for t in least[1:]]
    steps, size = [], bored_mm
    for g, take, needed in zip(order, takes, least, strict=True):
        size += take
        steps.append(GritStep(g, take, size, needed))
    return tuple(steps)


#: From this stock on, on diameter, a coarser grit goes first: about 2 1/2 thou (common practice, no source).
COARSE_FROM_MM = 0.06
#: The coarser grits to try, and the share of the stock that a plan may need (common practice, no source).
_COARSE, _NEEDED_SHARE = (80, 120, 150), 0.9


def with_coarser(grits: Sequence[int], stock_mm: float, *, times: float = 2.0) -> tuple[int, ...]:
    """The usual grits with a coarser one first where there is much to take off.

    It goes before the first grit where the stock suffices for one more, else it takes the
    first one's place; where neither leaves room to clear its marks the grits stay as they
    are. ``stock_mm`` is on diameter. Errors as :func:`split`.
    """
    order = tuple(sorted(int(g) for g in grits))
    _check_grits(order, times)
    if stock_mm < COARSE_FROM_MM:
        return order
    tries = [(c, *rest) for rest in (order, order[1:]) for c in _COARSE if 1.2 * c <= order[0]]
    for tried in tries:
        depths = [BORED_RZ_UM, *(RZ_OVER_RA * ra_of_um(g) for g in tried[:-1])]
        if math.fsum(2.0 * times * d / 1000.0 for d in depths) <= _NEEDED_SHARE * stock_mm:
            return tried
    return order


def split(
    bored_mm: float, finished_mm: float, grits: Sequence[int], *, times: float = 2.0, bored_rz_um: float = BORED_RZ_UM
) -> Split:
    """Share the stock between the bored and the finished size over ``grits``.

    Each grit must go below the grooves left before it: on diameter it takes at least
    2 · ``times`` · (their depth), the depth being RZ_OVER_RA · Ra of the grit before, or
    ``bored_rz_um`` for the first. The first grit takes whatever is left over. Common
    practice, no source. Raises ValueError without grits or for one named twice.
    """
    steps = grit_steps(bored_mm, finished_mm, grits, times=times, bored_rz_um=bored_rz_um)
    stock = finished_mm - bored_mm
    enough = stock - math.fsum(s.least_mm for s in steps[1:]) >= steps[0].least_mm
    verdict, line = _split_said(steps, stock, enough=enough)
    return Split(
        key="hone.split",
        line=line,
        value=Qty(stock, "diff"),
        verdict=verdict,
        why=tuple(
            L(
                "Grit {g}: stop at {until}, after {take}; it needs at least {least} to clear the marks before it.",
                g=s.grit,
                until=Qty(s.until_mm, "size"),
                take=Qty(s.take_mm, "fine"),
                least=Qty(s.least_mm, "fine"),
            )
            for s in steps
        ),
        figures=tuple(
            Figure(f"grit{s.grit}", L("Grit {g}: stop at", g=s.grit), Qty(s.until_mm, "size")) for s in steps
        ),
        assumptions=(
            Assumption(L("Each grit goes {times} times as deep as the grooves before it.", times=Qty(times, "ratio"))),
            Assumption(L("The bar leaves marks {rz} deep.", rz=Qty(bored_rz_um, "rough"))),
            Assumption(
                L(
                    "Depth of the marks is {k} times Ra, and Ra by grit is that of silicon-carbide stones.",
                    k=Qty(RZ_OVER_RA, "ratio"),
                ),
                "from memory",
            ),
        ),
        steps=steps,
        enough=enough,
    )


def _split_said(steps: Sequence[GritStep], stock_mm: float, *, enough: bool) -> tuple[str, Line]:
    """The verdict on the stock, and what to hone."""
    stock, last = Qty(stock_mm, "diff"), steps[-1]
    if stock_mm <= 0.0:
        return Verdict.STOP, L("No stock is left for the hone: the bore is at or over its finished size.")
    if not enough:
        return Verdict.MAYBE, L(
            "{stock} is too little for all these grits: the marks of one would show through the next. Leave one out, or bore less.",
            stock=stock,
        )
    if len(steps) == 1:
        return Verdict.GO, L("Hone {stock} with grit {g}.", stock=stock, g=last.grit)
    return Verdict.GO, L(
        "Hone {stock}: keep the last {keep} for grit {g}.",
        stock=stock,
        keep=Qty(last.take_mm, "fine"),
        g=last.grit,
    )


# -- crosshatch ------------------------------------------------------------------------


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above zero")


def crosshatch_deg(diameter_mm: float, spin_rpm: float, stroke_mm: float, rate_per_min: float) -> float:
    """Included angle 2 atan(v_axial / v_tangential) in degrees; v_axial = 2 · stroke · rate, v_tangential = π D n."""
    _above_zero(diameter_mm=diameter_mm, spin_rpm=spin_rpm, stroke_mm=stroke_mm, rate_per_min=rate_per_min)
    return 2.0 * math.degrees(math.atan2(2.0 * stroke_mm * rate_per_min, math.pi * diameter_mm * spin_rpm))


def _slope(angle_deg: float) -> float:
    if not 0.0 < angle_deg < 180.0:
        raise ValueError("a crosshatch angle lies between 0 and 180 degrees")
    return math.tan(math.radians(angle_deg) / 2.0)


def rate_for(angle_deg: float, diameter_mm: float, spin_rpm: float, stroke_mm: float) -> float:
    """Double strokes per minute that give the included angle at this spindle speed."""
    _above_zero(diameter_mm=diameter_mm, spin_rpm=spin_rpm, stroke_mm=stroke_mm)
    return _slope(angle_deg) * math.pi * diameter_mm * spin_rpm / (2.0 * stroke_mm)


def spin_for(angle_deg: float, diameter_mm: float, stroke_mm: float, rate_per_min: float) -> float:
    """Spindle speed in rev/min that gives the included angle at this stroke rate."""
    _above_zero(diameter_mm=diameter_mm, stroke_mm=stroke_mm, rate_per_min=rate_per_min)
    return 2.0 * stroke_mm * rate_per_min / (math.pi * diameter_mm * _slope(angle_deg))


@dataclass(frozen=True, kw_only=True)
class Crosshatch(Result):
    """The angle as it is (``angle_deg``) and what would give the wanted one."""

    angle_deg: float
    u_deg: float
    rate_wanted: float
    spin_wanted: float


def crosshatch(
    diameter_mm: float,
    spin_rpm: float,
    stroke_mm: float,
    rate_per_min: float,
    *,
    wanted_deg: float = CROSSHATCH.value,
    low_deg: float = CROSSHATCH.low,
    high_deg: float = CROSSHATCH.high,
    u_relative: float = 0.08,
) -> Crosshatch:
    """Judge the crosshatch and say what rate, or what speed, would give the wanted angle.

    ``u_relative`` is the standard uncertainty of the ratio of the two speeds: strokes are
    made by hand or counted, and the spindle slows under load.
    """
    if not low_deg < wanted_deg < high_deg:
        raise ValueError("the wanted angle lies inside its range")
    angle = crosshatch_deg(diameter_mm, spin_rpm, stroke_mm, rate_per_min)
    x = _slope(angle)
    u = math.degrees(2.0 * x / (1.0 + x * x) * u_relative)
    rate = rate_for(wanted_deg, diameter_mm, spin_rpm, stroke_mm)
    spin = spin_for(wanted_deg, diameter_mm, stroke_mm, rate_per_min)
    inside = low_deg <= angle <= high_deg
    if inside:
        line = L(
            "Crosshatch {a} included, within {low} to {high}.",
            a=Qty(angle, "angle"),
            low=Qty(low_deg, "angle"),
            high=Qty(high_deg, "angle"),
        )
    elif angle < low_deg:
        line = L(
            "Crosshatch only {a}: too flat, oil stays up. Stroke at {rate}, or slow the spindle to {spin}.",
            a=Qty(angle, "angle"),
            rate=Qty(rate, "rate"),
            spin=Qty(spin, "spin"),
        )
    else:
        line = L(
            "Crosshatch {a}: too steep, oil drains away. Stroke at {rate}, or run the spindle at {spin}.",
            a=Qty(angle, "angle"),
            rate=Qty(rate, "rate"),
            spin=Qty(spin, "spin"),
        )
    return Crosshatch(
        key="hone.crosshatch",
        line=line,
        value=Qty(angle, "angle", u),
        verdict=Verdict.GO if inside else Verdict.MAYBE,
        why=(
            L(
                "For {wanted}: stroke at {rate} with this speed, or run at {spin} with this rate.",
                wanted=Qty(wanted_deg, "angle"),
                rate=Qty(rate, "rate"),
                spin=Qty(spin, "spin"),
            ),
            L(
                "Near the ends of the stroke the hone turns back and the grooves run flatter; judge the middle of the bore."
            ),
        ),
        figures=(
            Figure("angle", L("Included angle"), Qty(angle, "angle", u)),
            Figure("rate", L("Rate for the wanted angle"), Qty(rate, "rate")),
            Figure("spin", L("Spindle speed for the wanted angle"), Qty(spin, "spin")),
        ),
        assumptions=(
            Assumption(
                L(
                    "Wanted {wanted}, allowed {low} to {high} included; the ring maker's figure comes first.",
                    wanted=Qty(wanted_deg, "angle"),
                    low=Qty(low_deg, "angle"),
                    high=Qty(high_deg, "angle"),
                )
            ),
            Assumption(L("The ratio of the two speeds is known to about {u}.", u=Qty(2 * u_relative, "percent"))),
        ),
        influences=(Influence(L("The stroke rate"), 0.5), Influence(L("The spindle speed under load"), 0.5)),
        angle_deg=angle,
        u_deg=u,
        rate_wanted=rate,
        spin_wanted=spin,
    )


# -- stroke and overrun -------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Stroke(Result):
    """How far the stones travel, mm. ``lowest_mm`` is the lowest reach of the stones' end below the face."""

    stroke_mm: float
    top_mm: float
    bottom_mm: float
    lowest_mm: float
    sweep_gain: float


def stroke(
    bore_mm: float,
    stone_mm: float,
    *,
    share: float = OVERRUN,
    clear_below_mm: float | None = None,
    below_stones_mm: float = 0.0,
    gap_mm: float = 3.0,
) -> Stroke:
    """Stroke and overrun for a bore ``bore_mm`` long and stones ``stone_mm`` long.

    At each end ``share`` of the stone runs out of the bore (a third: common practice, no
    source). Below, the hone must stay ``gap_mm`` clear of the crankcase web or whatever
    stands ``clear_below_mm`` under the bore's end (None: nothing in the way), and
    ``below_stones_mm`` of its body hangs below the stones. stroke = bore + both overruns
    − stone. Raises ValueError for lengths that are not above zero.
    """
    _above_zero(bore_mm=bore_mm, stone_mm=stone_mm)
    if not 0.0 < share < 1.0 or below_stones_mm < 0.0 or gap_mm < 0.0:
        raise ValueError("overrun is a share of the stone; gaps are not negative")
    wanted = share * stone_mm
    room = math.inf if clear_below_mm is None else clear_below_mm - below_stones_mm - gap_mm
    bottom = min(wanted, room)
    travel = bore_mm + wanted + bottom - stone_mm
    lowest = bore_mm + bottom
    verdict, why = Verdict.GO, []
    if travel <= 0.0:
        verdict = Verdict.STOP
        line = L("These stones are too long for this bore: they would hardly move. Use shorter stones.")
    elif bottom < 0.0:
        verdict = Verdict.STOP
        line = L(
            "The web stops the stones {short} short of the bore's end. Use shorter stones or a hone that ends flush.",
            short=Qty(-bottom, "place"),
        )
    elif bottom < wanted - 1e-9:
        verdict = Verdict.MAYBE
        line = L(
            "Stroke {s}: {top} out at the top, but only {bottom} at the bottom before the web.",
            s=Qty(travel, "place"),
            top=Qty(wanted, "place"),
            bottom=Qty(bottom, "place"),
        )
        why.append(
            L(
                "The bottom will come out tight. Dwell there with short strokes, or use shorter stones, and measure the bottom at every check."
            )
        )
    else:
        line = L(
            "Stroke {s}: let the stones run out {out} at each end.", s=Qty(travel, "place"), out=Qty(wanted, "place")
        )
    if verdict == Verdict.GO and stone_mm > bore_mm:  # longer than the bore they follow no wall
        verdict = Verdict.MAYBE
    if travel > 0.0 and not 0.4 <= stone_mm / bore_mm <= 0.85:
        why.append(
            L(
                "Stones are best half to three quarters as long as the bore: short ones follow its waves, long ones hardly move."
            )
        )
    return Stroke(
        key="hone.stroke",
        line=line,
        value=Qty(travel, "place"),
        verdict=verdict,
        why=tuple(why),
        figures=(
            Figure("stroke", L("Stroke"), Qty(travel, "place")),
            Figure("top", L("Overrun at the top"), Qty(wanted, "place")),
            Figure("bottom", L("Overrun at the bottom"), Qty(bottom, "place")),
            Figure("lowest", L("Lowest reach of the stones below the deck"), Qty(lowest, "place")),
        ),
        assumptions=(
            Assumption(L("{share} of the stone runs out at each end.", share=Qty(share, "percent"))),
            Assumption(L("{gap} kept clear of the web.", gap=Qty(gap_mm, "place"))),
        ),
        cautions=(
            Caution(
                "hone_web",
                L(
                    "Set the stop by hand with the spindle off: run the hone down and see that nothing touches the web, a bearing cap or the crank."
                ),
            ),
        ),
        stroke_mm=travel,
        top_mm=wanted,
        bottom_mm=bottom,
        lowest_mm=lowest,
        sweep_gain=max(1.0, (max(travel, 0.0) + stone_mm) / stone_mm),
    )


def check_depth_mm(depth: int, depths: int, bore_mm: float) -> float:
    """Where the gauge stands for check depth 1 … ``depths``: evenly spread, clear of both ends by a seventh of the bore.

    A place to measure by common practice: nearer the ends the overrun makes the bore
    wide, and it says little of the rest.
    """
    _above_zero(bore_mm=bore_mm)
    if not 1 <= depth <= depths:
        raise ValueError("depths are counted from 1")
    if depths == 1:
        return bore_mm / 2.0
    return bore_mm * (1.0 / 7.0 + 5.0 / 7.0 * (depth - 1) / (depths - 1))
