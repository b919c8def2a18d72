"""What to measure next where walls, top face, cutter or finished bore are too close to call. Asked for between entries."""

from __future__ import annotations

import math
from collections.abc import Iterator

from logic import face, setting, settle, verify, wall_gauge, walls
from logic.conformance import Spot
from logic.result import Result, Verdict
from logic.say import LN, L
from logic.uncertainty import Budget, normal_cdf, normal_quantile

from ..fields.final import AGAIN
from ..fields.walls import REPEAT
from ..graph import fact
from ..view import View
from .banks import bank_of
from .bias import bias
from .block import bore_length_mm
from .face import bore_places_mm, fitted, lean_as_found
from .final import budget, checked
from .load import largest_pass_mm, passes_left
from .sizes import least_wall
from .sweep import swept
from .thickness import gauge

__all__ = ["next_cut", "next_final", "next_height", "next_wall"]

#: Minutes of each check (common practice, no source).
_PIECE, _SWEEP, _CENTRE, _HEIGHT, _CUT, _PLACE, _MASTER, _COOL = 5.0, 4.0, 3.0, 1.0, 6.0, 0.5, 8.0, 45.0
#: A bar that is dialled in stands on the unworn bore's centre to this, mm; a known piece is known and read to these.
_DIALLED_MM, _PIECE_U_MM = 0.010, 0.01
#: Half a 95 % interval in standard uncertainties.
_TWO_SIDED = 1.959964
#: A block left to cool is known to this part of the temperature's error before; a better master to half.
_COOLED, _FINER = 0.3, 0.5


# -- walls --------------------------------------------------------------------------------------------
def _without(u: float, part: float, left: float = 0.0) -> float:
    return math.sqrt(max(0.0, u**2 - part**2 + left**2))


def _wall_checks(view: View, cylinder: int, least: walls.PlaceAfter) -> Iterator[settle.Check]:
    parts, u = dict(least.parts), least.after.u or 0.0
    tried = gauge(view)
    if not tried.pieces:
        shown = (least.before.value - tried.zero_mm) / tried.scale
        repeat = view.number(REPEAT)
        piece = wall_gauge.Piece(least.before.value, max(shown, 0.1), _PIECE_U_MM, repeat)
        own = wall_gauge.calibration([piece]).correct(max(shown, 0.1), repeat).u or 0.0
        yield settle.Check(
            L("Try the thickness gauge on a known piece of this metal"), _PIECE, _without(u, parts["wall"], own)
        )
    if parts["wear"] and swept(view, cylinder) is None:
        what = L("Sweep cylinder {n}, to see which side wore", n=cylinder)
        yield settle.Check(what, _SWEEP, _without(u, parts["wear"]))
    if parts["centre"] > _DIALLED_MM:
        what = L("Dial the bar in on cylinder {n} and enter how well it is centred", n=cylinder)
        yield settle.Check(what, _CENTRE, _without(u, parts["centre"], _DIALLED_MM))


@fact
def next_wall(view: View) -> Result | None:
    """What settles the walls of the cylinder nearest its minimum; None where none is too close to call."""
    close = {
        c: found
        for c in view.cylinders
        if (found := least_wall(view, c)) is not None and found.verdict == Verdict.MAYBE
    }
    if not close:
        return None
    c = min(close, key=lambda n: abs(close[n].least.after.value - close[n].least.minimum.value))
    least = close[c].least
    spare, u = least.after.value - least.minimum.value, least.after.u or 0.0
    return settle.told(settle.ranked(spare, u, _wall_checks(view, c, least)))


# -- the top face -------------------------------------------------------------------------------------
def _height_checks(view: View, found: face.Face, worst: face.Lean) -> Iterator[settle.Check]:
    x = bore_places_mm(view, bank_of(view, worst.cylinder))[worst.cylinder]

    def left(more: list[face.Spot]) -> float:
        surveyed = face.survey([*found.spots, *more], u_mm=found.u_mm)
        return face.lean(
            surveyed, cylinder=worst.cylinder, x_mm=x, length_mm=bore_length_mm(view), limit_mm=worst.limit_mm
        ).u_mm

    again = [s._replace(height_mm=found.height_mm(s.x_mm, s.y_mm)) for s in found.spots]
    yield settle.Check(L("Take every height once more, as further points"), _HEIGHT * len(again), left(again))
    far = max(found.spots, key=lambda s: abs(s.x_mm - x))
    off = max((abs(s.y_mm) for s in found.spots), default=0.0) or 50.0
    beside = [face.Spot(far.x_mm, y, found.height_mm(far.x_mm, y)) for y in (-off, off)]
    what = L("Take two heights more, left and right at the far end")
    yield settle.Check(what, 2 * _HEIGHT, left(beside))


@fact
def next_height(view: View) -> Result | None:
    """What settles the lean of the bore nearest the limit; None where none is too close to call."""
    leans = [one for c in view.cylinders if (one := lean_as_found(view, c)) is not None]
    close = [one for one in leans if one.verdict == Verdict.MAYBE]
    if not close:
        return None
    worst = min(close, key=lambda one: abs(one.limit_mm - one.total_mm))
    found = fitted(view, bank_of(view, worst.cylinder))
    if found is None:
        return None
    checks = _height_checks(view, found, worst)
    return settle.told(settle.ranked(worst.limit_mm - worst.total_mm, worst.u_mm, checks))


# -- the cutter ---------------------------------------------------------------------------------------
def _after_mm(known: setting.Bias, more: int) -> float:
    """The uncertainty of a further cut, as that of a normal with the same interval, after ``more`` cuts measured."""
    mean = 1.0 / (1.0 / max(known.u_mean_mm, 1e-6) ** 2 + more / max(known.spread_mm, 1e-6) ** 2)
    share = math.sqrt((known.spread_mm**2 + mean) / known.u_next_mm**2) if more else 1.0
    return known.half_mm * share / _TWO_SIDED


@fact
def next_cut(view: View) -> Result | None:
    """What makes the next cut sure to stay below what the hone needs; None where it is, or no cut was logged."""
    known = bias(view)
    if not known.known:
        return None
    for c in view.cylinders:
        plan, limit = passes_left(view, c), largest_pass_mm(view, c)
        if plan is None or not plan.passes or limit is None:
            continue
        spare, u = limit - plan.passes[0].to_mm, _after_mm(known, 0)
        if spare > _TWO_SIDED * u:
            continue
        checks = [
            settle.Check(L("Take one short cut more on cylinder {n} and measure it", n=c), _CUT, _after_mm(known, 1)),
            settle.Check(L("Take two short cuts more on cylinder {n}", n=c), 2 * _CUT, _after_mm(known, 2)),
        ]
        return settle.told(_surer(spare, u, checks))
    return None


def _surer(spare_mm: float, u_mm: float, checks: list[settle.Check]) -> tuple[settle.Worth, ...]:
    """A further cut moves the setting with the bias, so the size aimed at stays: it settles where it is sure enough."""
    out = []
    for check in checks:
        before, after = (1 - normal_cdf(spare_mm / u) for u in (u_mm, check.u_after_mm))
        if after <= 0.025 < before:
            out.append(settle.Worth(check, before - after, 1.0))
    return tuple(sorted(out, key=lambda w: -w.saved / w.check.minutes))


# -- the finished bore ----------------------------------------------------------------------------------
def _parts(sure: Budget) -> dict[str, float]:
    return {str(c.name): abs(c.u * c.sensitivity) for c in sure.components}


def _spare_mm(aspect: verify.Aspect) -> float:
    likely = aspect.likely.value
    above = aspect.upper_mm - likely
    return above if aspect.lower_mm is None else min(above, likely - aspect.lower_mm)


def _now_mm(aspect: verify.Aspect) -> float:
    """The uncertainty that gives the aspect its chance, what such bores are like being counted in."""
    z, spare = normal_quantile(min(max(aspect.chance, 1e-6), 1 - 1e-6)), _spare_mm(aspect)
    u = aspect.value.u or 0.0
    return min(u, spare / z) if spare * z > 0 else u


def _believed_mm(aspect: verify.Aspect, u_mm: float, after_mm: float) -> float:
    """The same after a check that brings the reading's own uncertainty from ``u_mm`` to ``after_mm``: weights add."""
    now = 1.0 / max(_now_mm(aspect), 1e-6) ** 2
    usual = max(0.0, now - 1.0 / max(u_mm, 1e-6) ** 2)
    return 1.0 / math.sqrt(usual + 1.0 / max(after_mm, 1e-6) ** 2)


def _final_checks(view: View, found: verify.FinishedBore, aspect: verify.Aspect) -> Iterator[settle.Check]:
    u, sure = aspect.value.u or 0.0, budget(view)
    size = aspect.key == "size"

    def leaves(measured_mm: float) -> float:
        """With what such bores are like, which the verdict counts in beside the reading."""
        return _believed_mm(aspect, u, measured_mm)

    places: tuple[Spot, ...] = found.again
    n, more = 1 + len(view.all(AGAIN, cylinder=found.cylinder)), found.repeats
    if places and more:  # where no number of readings settles it, the verdict says so
        by = 1.0 if size else math.sqrt(2.0)  # a difference of two places has both errors
        part = by * sure.u_repeat
        what = LN(
            "Read the places asked for once more, cylinder {c}",
            "Read the places asked for {n} times more, cylinder {c}",
            more,
            c=found.cylinder,
        )
        left = _without(u, part * math.sqrt(1.0 / n - 1.0 / (n + more)))
        yield settle.Check(what, _PLACE * len(places) * more, leaves(left))
    if not size:
        return
    parts = _parts(sure)
    master = parts.get("master", 0.0)
    if master:
        what = L("Zero the gauge on a ring known twice as well, and read again")
        yield settle.Check(what, _MASTER, leaves(_without(u, master, _FINER * master)))
    warm = math.hypot(*(v for k, v in parts.items() if "temperature" in k or "expansion" in k))
    if warm:
        what = L("Let block, gauge and ring come to one temperature, and read again")
        yield settle.Check(what, _COOL, leaves(_without(u, warm, _COOLED * warm)))


@fact
def next_final(view: View) -> Result | None:
    """What settles the finished bore that is nearest being called; None where none is too close to call."""
    close = [b for b in checked(view).values() if b.verdict == Verdict.MAYBE and b.aspects]
    if not close:
        return None
    found = max(close, key=lambda b: b.chance)
    aspect = min(found.aspects, key=lambda a: a.chance)
    ranked = settle.ranked(_spare_mm(aspect), _now_mm(aspect), _final_checks(view, found, aspect))
    return settle.told(ranked)
