"""Is it in? Guard-banded verdicts on what was measured, and on a finished bore.

A size near a limit may be in or out: the gauge cannot tell. So a thing is called in
only if it conforms with the wanted probability (95 % unless told otherwise), out only
if it fails with that probability, and "too close to call" in between (ISO 14253-1:2017,
whose guard bands these are; JCGM 106:2012, conformance probability).

For a whole bore every two-point diameter must lie within the limits (ISO 14405-1:
two-point size is what a diameter means unless something else is said), the spread at
each depth within the roundness limit, and the spread down each axis within the taper
limit. Errors that all readings share (master, temperature) move every diameter alike and
drop out of the spreads; that is taken into account exactly, by integrating over them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from .bore import axis_name
from .pictures import BoreSection
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .student import quantile
from .uncertainty import chance_between, normal_cdf, normal_quantile

__all__ = [
    "CONFIDENCE",
    "SUREST",
    "Aspect",
    "FinishedBore",
    "Judgement",
    "Spot",
    "decide",
    "depth_means_mm",
    "finished_bore",
    "guard_band",
    "judge",
    "repeats_to_settle",
    "section",
    "spread_chance",
    "with_piston",
    "within_chance",
]

#: Conformance probability asked for, ISO 14253-1:2017.
CONFIDENCE = 0.95
#: No measurement is called surer than this: nobody knows the bell curve's shape so far out.
SUREST = 0.999
#: More repeats than this at one place are not worth asking for (common practice).
_MOST_REPEATS = 12
#: So many places are named in the first sentence; the rest are counted.
_NAMED = 3
_FAR = 8.0  # standard uncertainties beyond which nothing more happens


def guard_band(u: float, confidence: float = CONFIDENCE, dof: float = math.inf) -> float:
    """How far inside a limit a value must read to be called in (ISO 14253-1:2017): one-sided quantile × u."""
    _check(confidence)
    return (normal_quantile(confidence) if math.isinf(dof) else quantile(confidence, dof)) * u


def decide(chance: float, confidence: float = CONFIDENCE) -> str:
    """The verdict on something that is in with probability ``chance``."""
    _check(confidence)
    if chance >= confidence:
        return Verdict.GO
    if chance <= 1.0 - confidence:
        return Verdict.STOP
    return Verdict.MAYBE


def _check(confidence: float) -> None:
    if not 0.5 < confidence < 1.0:
        raise ValueError("confidence lies between 0.5 and 1")


@dataclass(frozen=True, kw_only=True)
class Judgement(Result):
    """A verdict on one figure; ``chance`` is the probability that it is within its limits."""

    chance: float


def judge(
    key: str,
    name: Line,
    measured: Qty,
    *,
    lower: float | None = None,
    upper: float | None = None,
    dof: float = math.inf,
    confidence: float = CONFIDENCE,
) -> Judgement:
    """Judge ``measured`` (its ``u`` is needed, 0 if exact) against limits in the same unit.

    The result's key is "judge." and ``key``. Raises ValueError where no limit is given or the limits are crossed.
    """
    if lower is None and upper is None:
        raise ValueError("a verdict needs a limit")
    if measured.u is None:
        raise ValueError("a verdict needs the uncertainty")
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    chance = chance_between(measured.value, measured.u, low, high, dof)
    verdict = decide(chance, confidence)
    sure = _sure(chance if verdict == Verdict.GO else 1.0 - chance, measured.u)
    said = {"name": name, "value": measured, "sure": Qty(sure, "percent"), "chance": Qty(chance, "percent")}
    if verdict == Verdict.GO:
        line = L("{name} {value}: in, with {sure} confidence.", **said)
    elif verdict == Verdict.STOP:
        line = L("{name} {value}: out, with {sure} confidence.", **said)
    else:
        line = L("{name} {value}: too close to call, {chance} likely to be in. Measure it again.", **said)
    limits = []
    if lower is not None:
        limits.append(Figure("lower", L("Lower limit"), Qty(lower, measured.kind)))
    if upper is not None:
        limits.append(Figure("upper", L("Upper limit"), Qty(upper, measured.kind)))
    return Judgement(
        key=f"judge.{key}",
        line=line,
        value=measured,
        verdict=verdict,
        confidence=None if verdict == Verdict.MAYBE else sure,
        figures=(*limits, Figure("guard", L("Guard band"), Qty(guard_band(measured.u, confidence, dof), "fine"))),
        assumptions=(_asked(confidence),),
        chance=chance,
    )


def _sure(p: float, u: float) -> float:
    """The confidence that is claimed for a probability ``p``."""
    return min(p, SUREST) if u > 0 else p


def _asked(confidence: float) -> Assumption:
    return Assumption(L("In or out is said only when it is {p} sure.", p=Qty(confidence, "percent")), "ISO 14253-1")


# -- a finished bore -----------------------------------------------------------------------
class Spot(NamedTuple):
    """One place measured: ``d_mm`` is the mean of ``n`` readings there, a diameter at 20 °C."""

    depth: int
    axis: str
    depth_mm: float
    d_mm: float
    n: int = 1

    @classmethod
    def of(cls, depth: int, axis: str, depth_mm: float, sizes_mm: Sequence[float]) -> Spot:
        """A place with all the readings taken there."""
        return cls(depth, axis, depth_mm, math.fsum(sizes_mm) / len(sizes_mm), len(sizes_mm))


class Aspect(NamedTuple):
    """One thing judged about a bore: its figure, limits, chance of being in, verdict, and where to measure again."""

    key: str
    name: Line
    value: Qty
    lower_mm: float | None
    upper_mm: float
    chance: float
    verdict: str
    again: tuple[Spot, ...]


@dataclass(frozen=True, kw_only=True)
class FinishedBore(Result):
    """The verdict on one bore. ``aspects`` are size, roundness and taper (as far as measured);
    ``again`` the places to measure again, most doubtful first; ``repeats`` how many more
    readings at each would settle it (None: no number would)."""

    cylinder: int
    aspects: tuple[Aspect, ...]
    again: tuple[Spot, ...] = ()
    repeats: int | None = None


def _integrate(f: Callable[[float], float], low: float, high: float, step: float) -> float:
    """Trapezoidal rule with steps of at most ``step``; very good for smooth bell-shaped functions."""
    n = max(2, math.ceil((high - low) / step))
    h = (high - low) / n
    return h * math.fsum([0.5 * (f(low) + f(high)), *(f(low + i * h) for i in range(1, n))])


def _bell(z: float) -> float:
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def _between(mean: float, u: float, low: float, high: float) -> float:
    if u == 0.0:
        return 1.0 if low <= mean <= high else 0.0
    a, b = (low - mean) / u, (high - mean) / u
    return normal_cdf(-a) - normal_cdf(-b) if a > 0 else normal_cdf(b) - normal_cdf(a)


def within_chance(values: Sequence[float], us: Sequence[float], u_shared: float, lower: float, upper: float) -> float:
    """Probability that every value lies from ``lower`` to ``upper``.

    Each value has its own error of standard uncertainty ``us[i]``, independent of the
    others, and one error of ``u_shared`` that all have in common. Normal.
    """
    if len(values) != len(us) or not values:
        raise ValueError("as many uncertainties as values are needed")
    # what is far inside both limits can only be in
    near = [(v, u) for v, u in zip(values, us) if min(v - lower, upper - v) < _FAR * (u + u_shared)]
    if not near:
        return 1.0

    def all_in(shift: float) -> float:
        p = 1.0
        for v, u in near:
            p *= _between(v + shift, u, lower, upper)
            if p == 0.0:
                return 0.0
        return p

    if u_shared == 0.0:
        return all_in(0.0)
    own = min(u for _, u in near)
    if own == 0.0:  # sharp edges: the shared error alone decides
        return (
            chance_between(0.0, u_shared, lower - min(v for v, _ in near), upper - max(v for v, _ in near))
            if upper - lower >= max(v for v, _ in near) - min(v for v, _ in near)
            else 0.0
        )
    step = max(0.01, min(0.1, 0.4 * own / u_shared))
    return min(1.0, _integrate(lambda z: _bell(z) * all_in(z * u_shared), -_FAR, _FAR, step))


def spread_chance(values: Sequence[float], us: Sequence[float], limit: float) -> float:
    """Probability that the true largest less smallest is at most ``limit``.

    Each value has an independent normal error of ``us[i]``; what all share drops out.
    Exact: the sum, over which value is truly smallest, of the chance that all others lie
    within ``limit`` above it.
    """
    if len(values) != len(us) or not values:
        raise ValueError("as many uncertainties as values are needed")
    spread, most = max(values) - min(values), max(us)
    if most == 0.0:
        return 1.0 if spread <= limit else 0.0
    if limit - spread > 2 * _FAR * most:
        return 1.0
    floor = 1e-6 * most  # an exact value among inexact ones
    points = [(v, max(u, floor)) for v, u in zip(values, us)]
    total = 0.0
    for i, (v, u) in enumerate(points):
        others = points[:i] + points[i + 1 :]

        def smallest_here(
            z: float, v: float = v, u: float = u, others: Sequence[tuple[float, float]] = others
        ) -> float:
            x = v + z * u
            p = _bell(z)
            for w, uw in others:
                p *= _between(w, uw, x, x + limit)
                if p == 0.0:
                    return 0.0
            return p

        total += _integrate(
            smallest_here, -_FAR, _FAR, 0.15 * max(0.1, min(1.0, min((uw for _, uw in others), default=u) / u))
        )
    return min(1.0, total)


def repeats_to_settle(margin: float, u_own: float, u_shared: float, confidence: float = CONFIDENCE) -> int | None:
    """Readings needed in all at one place so that ``margin`` to the limit exceeds the guard band.

    None where no number does (what all readings share is too large), or where more than a
    dozen would be needed.
    """
    room = (margin / guard_band(1.0, confidence)) ** 2 - u_shared**2
    if room <= 0.0:
        return None
    n = max(1, math.ceil(u_own**2 / room))
    return n if n <= _MOST_REPEATS else None


def _place(spot: Spot) -> Line:
    return L("{depth} down on the {axis}", depth=Qty(spot.depth_mm, "place"), axis=axis_name(spot.axis))


def _places(spots: Sequence[Spot]) -> tuple[Line, ...]:
    return tuple(_place(s) for s in spots)


def _size(
    spots: Sequence[Spot], us: Sequence[float], u_shared: float, lower: float, upper: float, confidence: float
) -> Aspect:
    chance = within_chance([s.d_mm for s in spots], us, u_shared, lower, upper)
    worst = min(spots, key=lambda s: min(s.d_mm - lower, upper - s.d_mm))
    verdict = decide(chance, confidence)
    i = spots.index(worst)
    again: tuple[Spot, ...] = ()
    if verdict == Verdict.MAYBE:
        # every place that on its own could not be called in
        doubtful = [
            s for s, u in zip(spots, us) if _between(s.d_mm, math.hypot(u, u_shared), lower, upper) < confidence
        ]
        again = tuple(sorted(doubtful or [worst], key=lambda s: min(s.d_mm - lower, upper - s.d_mm)))
    return Aspect(
        "size", L("Size"), Qty(worst.d_mm, "size", math.hypot(us[i], u_shared)), lower, upper, chance, verdict, again
    )


def _spread(
    key: str, name: Line, lines: Sequence[Sequence[Spot]], u: Callable[[Spot], float], limit: float, confidence: float
) -> Aspect | None:
    """Judge the spread of each line of spots (a depth, or an axis) against one limit."""
    lines = [line for line in lines if len(line) > 1]
    if not lines:
        return None
    chances = [spread_chance([s.d_mm for s in line], [u(s) for s in line], limit) for line in lines]
    i = max(range(len(lines)), key=lambda k: (-chances[k], _range(lines[k])))
    low, high = min(lines[i], key=lambda s: s.d_mm), max(lines[i], key=lambda s: s.d_mm)
    chance = math.prod(chances)  # different lines of one kind have no reading in common
    verdict = decide(chance, confidence)
    value = Qty(high.d_mm - low.d_mm, "fine", math.hypot(u(low), u(high)))
    return Aspect(key, name, value, None, limit, chance, verdict, (high, low) if verdict == Verdict.MAYBE else ())


def _range(line: Sequence[Spot]) -> float:
    return max(s.d_mm for s in line) - min(s.d_mm for s in line)


def _lines(spots: Sequence[Spot]) -> tuple[list[list[Spot]], list[list[Spot]]]:
    """Spots by depth and spots by axis, in the order given."""
    depths: dict[int, list[Spot]] = {}
    axes: dict[str, list[Spot]] = {}
    for s in spots:
        depths.setdefault(s.depth, []).append(s)
        axes.setdefault(s.axis, []).append(s)
    return list(depths.values()), list(axes.values())


def depth_means_mm(spots: Sequence[Spot]) -> tuple[float, ...]:
    """The mean diameter at each depth, uppermost first: what a ring, which follows the girth, meets on its way."""
    by_depth: dict[float, list[float]] = {}
    for s in spots:
        by_depth.setdefault(s.depth_mm, []).append(s.d_mm)
    return tuple(math.fsum(by_depth[z]) / len(by_depth[z]) for z in sorted(by_depth))


def section(found: FinishedBore, spots: Sequence[Spot], *, length_mm: float, at_least_mm: float = 0.0) -> BoreSection:
    """The finished bore cut lengthwise, against the size wanted; ``at_least_mm`` as in the picture."""
    target = found.figure("target").value
    return BoreSection(
        title=L("Cylinder {n}, finished", n=found.cylinder),
        text=found.line,
        length_mm=max([length_mm, *(s.depth_mm for s in spots)]),
        unworn_mm=target,
        rows=tuple((s.depth_mm, s.axis, (s.d_mm - target) / 2) for s in spots),
        finished=True,
        at_least_mm=at_least_mm,
    )


def finished_bore(
    *,
    cylinder: int,
    spots: Sequence[Spot],
    target_mm: float,
    lower_mm: float,
    upper_mm: float,
    round_limit_mm: float,
    taper_limit_mm: float,
    u_own_mm: float,
    u_shared_mm: float,
    confidence: float = CONFIDENCE,
    limit_source: str = "common practice",
    sources: Sequence[Influence] = (),
) -> FinishedBore:
    """Judge one finished bore from its final readings.

    ``spots`` are diameters at 20 °C; ``u_own_mm`` is the standard uncertainty of one
    reading from what varies between readings (a mean of n has 1/√n of it), ``u_shared_mm``
    from what all share. ``lower_mm`` to ``upper_mm`` are the limits of size,
    ``round_limit_mm`` that of largest less smallest at one depth, ``taper_limit_mm`` that
    of largest less smallest down one axis. ``sources`` are the shares of a reading's
    budget, to be shown (else just own and shared). Raises ValueError where there is no reading or
    a limit makes no sense.
    """
    _check(confidence)
    if not spots:
        raise ValueError("no reading yet")
    if not (
        0 < lower_mm < upper_mm and lower_mm <= target_mm <= upper_mm and round_limit_mm > 0 and taper_limit_mm > 0
    ):
        raise ValueError("the limits must be above zero, in order, and hold the target")
    if not all(math.isfinite(s.d_mm) and s.n >= 1 for s in spots):
        raise ValueError("a reading must be a finite size")

    def u(s: Spot) -> float:
        return u_own_mm / math.sqrt(s.n)

    us = [u(s) for s in spots]
    by_depth, by_axis = _lines(spots)
    size = _size(spots, us, u_shared_mm, lower_mm, upper_mm, confidence)
    roundness = _spread("round", L("Out of round"), by_depth, u, round_limit_mm, confidence)
    taper = _spread("taper", L("Taper"), by_axis, u, taper_limit_mm, confidence)
    aspects = tuple(a for a in (size, roundness, taper) if a is not None)

    mean = math.fsum(s.d_mm for s in spots) / len(spots)
    u_mean = math.hypot(math.sqrt(math.fsum(x * x for x in us)) / len(us), u_shared_mm)
    verdicts = [a.verdict for a in aspects]
    if Verdict.STOP in verdicts:
        verdict = Verdict.STOP
        confidence_said: float | None = _sure(1.0 - min(a.chance for a in aspects), u_mean)
    elif Verdict.MAYBE in verdicts or decide(math.prod(a.chance for a in aspects), confidence) != Verdict.GO:
        verdict, confidence_said = Verdict.MAYBE, None
    else:
        # size, roundness and taper share readings; treating them as independent errs low
        verdict, confidence_said = Verdict.GO, _sure(math.prod(a.chance for a in aspects), u_mean)
    again = tuple(dict.fromkeys(s for a in aspects for s in a.again))
    if verdict == Verdict.MAYBE and not again:
        weakest = min(aspects, key=lambda a: a.chance)
        again = _doubt(weakest, spots, by_depth, by_axis)
    repeats = _repeats(aspects, size, again, u_own_mm, u_shared_mm, confidence) if again else None

    return FinishedBore(
        key=f"final.{cylinder}",
        line=_line(cylinder, verdict, confidence_said, aspects, again, mean, u_mean),
        value=Qty(mean, "size", u_mean),
        verdict=verdict,
        confidence=confidence_said,
        why=_why(aspects, size, again, repeats, verdict, lower_mm, upper_mm, target_mm),
        figures=_figures(aspects, mean, u_mean, lower_mm, upper_mm, target_mm, round_limit_mm, taper_limit_mm),
        assumptions=(
            _asked(confidence),
            Assumption(L("A diameter is in if every two-point reading of it is in."), "ISO 14405-1"),
            Assumption(
                L(
                    "Limits: {lower} to {upper}; {oor} out of round; {taper} of taper.",
                    lower=Qty(lower_mm, "size"),
                    upper=Qty(upper_mm, "size"),
                    oor=Qty(round_limit_mm, "fine"),
                    taper=Qty(taper_limit_mm, "fine"),
                ),
                limit_source,
            ),
        ),
        influences=tuple(sources) or _influences(us, u_shared_mm),
        cautions=_cautions(cylinder, by_depth, by_axis),
        cylinder=cylinder,
        aspects=aspects,
        again=again,
        repeats=repeats,
    )


def _doubt(
    aspect: Aspect, spots: Sequence[Spot], by_depth: Sequence[Sequence[Spot]], by_axis: Sequence[Sequence[Spot]]
) -> tuple[Spot, ...]:
    """Where to measure again for an aspect that is only just in by itself."""
    if aspect.key == "size":
        assert aspect.lower_mm is not None
        low, high = aspect.lower_mm, aspect.upper_mm
        return (min(spots, key=lambda s: min(s.d_mm - low, high - s.d_mm)),)
    line = max(by_depth if aspect.key == "round" else by_axis, key=_range)
    return (max(line, key=lambda s: s.d_mm), min(line, key=lambda s: s.d_mm))


def _repeats(
    aspects: Sequence[Aspect], size: Aspect, again: Sequence[Spot], u_own: float, u_shared: float, confidence: float
) -> int | None:
    """The most readings any doubtful aspect needs at its places, or None if one cannot be settled."""
    needs: list[int | None] = []
    for a in aspects:
        if a.verdict == Verdict.MAYBE or len(aspects) == 1:
            if a is size:
                assert a.lower_mm is not None
                margin = abs(min(a.value.value - a.lower_mm, a.upper_mm - a.value.value))
                needs.append(repeats_to_settle(margin, u_own, u_shared, confidence))
            else:
                margin = abs(a.upper_mm - a.value.value)
                needs.append(repeats_to_settle(margin, math.sqrt(2.0) * u_own, 0.0, confidence))
    if not needs:  # each is in by itself, only together they are not
        return 2
    return None if None in needs else max(n for n in needs if n is not None)


def _line(
    n: int,
    verdict: str,
    confidence: float | None,
    aspects: Sequence[Aspect],
    again: Sequence[Spot],
    mean: float,
    u_mean: float,
) -> Line:
    said = {"n": n, "mean": Qty(mean, "size", u_mean)}
    if verdict == Verdict.GO:
        names = tuple(a.name for a in aspects)
        return L(
            "Cylinder {n} is in, with {p} confidence: {mean}. Checked: {names}.",
            **said,
            p=Qty(confidence or 0.0, "percent"),
            names=names,
        )
    if verdict == Verdict.STOP:
        names = tuple(a.name for a in aspects if a.verdict == Verdict.STOP)
        return L(
            "Cylinder {n} is out, with {p} confidence: {names}.",
            **said,
            p=Qty(confidence or 0.0, "percent"),
            names=names,
        )
    named = _places(again[:_NAMED])
    if len(again) > _NAMED:
        return L(
            "Cylinder {n} is too close to call: measure again {places}, and {more} more places.",
            **said,
            places=named,
            more=len(again) - _NAMED,
        )
    return L("Cylinder {n} is too close to call: measure again {places}.", **said, places=named)


def _why(
    aspects: Sequence[Aspect],
    size: Aspect,
    again: Sequence[Spot],
    repeats: int | None,
    verdict: str,
    lower: float,
    upper: float,
    target: float,
) -> tuple[Line, ...]:
    lines = []
    for a in aspects:
        said = {
            "name": a.name,
            "value": a.value,
            "limit": Qty(a.upper_mm, "fine"),
            "p": Qty(a.chance, "percent"),
            "q": Qty(1.0 - a.chance, "percent"),
        }
        if a.key == "size":
            said |= {"lower": Qty(lower, "size"), "upper": Qty(upper, "size")}
            templates = {
                Verdict.GO: L("{name}: nearest to a limit {value}, within {lower} to {upper}, {p} sure.", **said),
                Verdict.STOP: L("{name}: {value} is outside {lower} to {upper}, {q} sure.", **said),
                Verdict.MAYBE: L(
                    "{name}: {value} is too near a limit ({lower} to {upper}); {p} likely to be in.", **said
                ),
            }
        else:
            templates = {
                Verdict.GO: L("{name}: {value}, limit {limit}, {p} sure to be in.", **said),
                Verdict.STOP: L("{name}: {value} is more than {limit}, {q} sure.", **said),
                Verdict.MAYBE: L("{name}: {value} is too near the limit {limit}; {p} likely to be in.", **said),
            }
        lines.append(templates[a.verdict])
    if size.verdict == Verdict.STOP:
        if size.value.value < lower:
            lines.append(
                L("There is still {stock} to hone at the tightest place.", stock=Qty(target - size.value.value, "fine"))
            )
        else:
            lines.append(
                L(
                    "It is {over} over the largest size allowed: fit a larger piston, or go to the next step.",
                    over=Qty(size.value.value - upper, "fine"),
                )
            )
    if verdict == Verdict.MAYBE:
        if repeats is None:
            lines.append(
                L(
                    "Repeating will not settle it with this gauge: bring gauge, master and block to one temperature, or use a better master."
                )
            )
        elif repeats > 1:
            lines.append(L("About {count} readings in all at each place named would settle it.", count=repeats))
    return tuple(lines)


def _figures(
    aspects: Sequence[Aspect],
    mean: float,
    u_mean: float,
    lower: float,
    upper: float,
    target: float,
    round_limit: float,
    taper_limit: float,
) -> tuple[Figure, ...]:
    found = {a.key: a for a in aspects}
    figures = [
        Figure("mean", L("Mean diameter at 20 °C"), Qty(mean, "size", u_mean)),
        Figure("target", L("Finished size wanted"), Qty(target, "size")),
        Figure("lower", L("Smallest size allowed"), Qty(lower, "size")),
        Figure("upper", L("Largest size allowed"), Qty(upper, "size")),
        Figure("nearest", L("Reading nearest to a limit"), found["size"].value),
        Figure("size_chance", L("Chance that size is in"), Qty(found["size"].chance, "percent")),
    ]
    if "round" in found:
        figures += [
            Figure("round", L("Out of round, worst depth"), found["round"].value),
            Figure("round_limit", L("Out of round allowed"), Qty(round_limit, "fine")),
            Figure("round_chance", L("Chance that roundness is in"), Qty(found["round"].chance, "percent")),
        ]
    if "taper" in found:
        figures += [
            Figure("taper", L("Taper, worst axis"), found["taper"].value),
            Figure("taper_limit", L("Taper allowed"), Qty(taper_limit, "fine")),
            Figure("taper_chance", L("Chance that taper is in"), Qty(found["taper"].chance, "percent")),
        ]
    return tuple(figures)


def _influences(us: Sequence[float], u_shared: float) -> tuple[Influence, ...]:
    own, shared = max(us) ** 2, u_shared**2
    if own + shared == 0.0:
        return ()
    parts = (
        Influence(L("each reading (repeatability, division)"), own / (own + shared)),
        Influence(L("what all readings share (master, zero, temperatures)"), shared / (own + shared)),
    )
    return tuple(sorted(parts, key=lambda i: -i.share))


def with_piston(found: FinishedBore, piston_mm: float, u_piston_mm: float = 0.0) -> FinishedBore:
    """The same verdict with the clearance to this bore's piston beside it.

    ``piston_mm`` is its gauging-point size at 20 °C, ``u_piston_mm`` the standard
    uncertainty of that; bore and piston were measured with different instruments.
    """
    mean = found.figure("mean")
    clearance = Qty(mean.value - piston_mm, "fine", math.hypot(mean.u or 0.0, u_piston_mm) or None)
    line = L(
        "With its piston of {piston} the mean clearance is {clearance}.",
        piston=Qty(piston_mm, "size"),
        clearance=clearance,
    )
    figures = (*found.figures, Figure("clearance", L("Mean clearance to its piston"), clearance))
    return replace(found, why=(*found.why, line), figures=figures)


def _cautions(
    cylinder: int, by_depth: Sequence[Sequence[Spot]], by_axis: Sequence[Sequence[Spot]]
) -> tuple[Caution, ...]:
    if max(len(line) for line in by_depth) > 1 and max(len(line) for line in by_axis) > 2:
        return ()
    return (
        Caution(
            f"final.few.{cylinder}",
            L(
                "Cylinder {n}: read at three depths or more and on two axes or more before the bore is called finished.",
                n=cylinder,
            ),
        ),
    )
