"""Measures what ``logic/checked.py`` speaks of, and writes ``logic/checked_figures.py``.

Run from the top folder: ``python -m tests.bench.checked`` (ten minutes), with ``--quick`` to
work out again only what takes no simulation, or with the keys of what has changed ("slips",
"slips_after", "slips_more", "slips_rest", "slips_own", "slips_last", "clean" and "remembered" are measured
each as one). Each comparison gives the project's figure and the reference's; what is kept is the largest difference, as a part of
the reference. Chances are kept as (said, came true, jobs).
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy import integrate, optimize, stats
from uncertainties import ufloat

from logic import checked_figures, material
from logic.bore import WornBore
from logic.checked import CHANCES, CHECKS, NOT_YET, came_true, how_far_apart
from logic.clamping_force import preload_n
from logic.cleanup import WearSide, clean_up
from logic.compression import capacity_cm3
from logic.control_chart import ewma_limits
from logic.cutting_force import force_n
from logic.hone_plan import crosshatch_deg
from logic.pooling import _half
from logic.press_fit import Iron, contact_pressure_mpa, push_force_n
from logic.risks import global_risks
from logic.say import say
from logic.student import quantile, trend
from logic.temperature import bore_at_20, size_at
from logic.uncertainty import Component, chance_between, combine
from logic.unread import _above
from tests.bench import (
    calibration,
    calibration_estimate,
    calibration_more,
    calibration_rest,
    shops,
    slips_after,
    slips_last,
    slips_more,
    slips_own,
    slips_rest,
)
from tests.bench.calibrated import Held, Trial
from tests.bench.slips import campaign
from tests.logic.test_plane import NORRIS_X, NORRIS_Y

TOP = Path(__file__).resolve().parent.parent.parent
PLACE = TOP / "logic" / "checked_figures.py"
PAGE = TOP / "tests" / "CHECKED.md"
Pairs = Iterable[tuple[float, float]]


def gauge_block() -> Pairs:
    steel = 11.5e-6
    found = bore_at_20(
        zero_mm=50.000623,
        deviation_mm=0.000215,
        block_c=19.9,
        alpha_block_per_k=steel,
        master_c=19.9,
        alpha_master_per_k=steel,
    )
    yield found, 50.000838


def budget() -> Pairs:
    parts = [ufloat(0, u) for u in (0.0032, 0.0051, 0.0007, 0.0113)]
    yield combine([Component(str(i), p.s) for i, p in enumerate(parts)]).u, sum(parts).s


def student() -> Pairs:
    for p in (0.6, 0.9, 0.975, 0.999):
        for dof in (1, 2.5, 7, 40):
            yield quantile(p, dof), stats.t.ppf(p, dof)


def line() -> Pairs:
    yield trend(NORRIS_X, NORRIS_Y).slope, 1.00211681802045


def expansion() -> Pairs:
    yield size_at(90.0, 35.0, 11e-6) - 90.0, 90.0 * 11e-6 * 15


def clean() -> Pairs:
    """A bore of unknown side: the share of the wear rectangular from 1/2 to 1, readings and centring normal."""
    d0, wear, u = 76.2, 0.25, 0.004
    worn = WornBore(
        cylinder=1,
        depths_mm=(15.0, 120.0),
        axes=("thrust",),
        d_mm=((d0 + wear,), (d0,)),
        u_mm=u,
        ring_top_mm=15.0,
        stated_unworn_mm=d0,
        stated_u_mm=0.0,
    )
    found = clean_up(worn, WearSide(u_centring_mm=0.0))
    rng = np.random.default_rng(1)
    share = rng.uniform(0.5, 1.0, 400_000)
    truth = d0 + 2 * share * (wear + rng.normal(0, u, share.size))
    for x in (d0 + 0.3, d0 + 0.35, d0 + 0.45):
        yield found.probability(x), float(np.mean(truth <= x))


def unread() -> Pairs:
    for gap, u in ((2.0, 3.5), (18.0, 1.0)):
        yield _above(gap, u)[0], stats.norm(gap, u).expect(lambda v: max(0.0, v), lb=0)


def force() -> Pairs:
    yield force_n(depth_mm=0.381, feed_mm=0.1), 2111.0 * 0.1 * 0.381


def preload() -> Pairs:
    yield preload_n(40, 12, 0.2), 40 / (0.2 * 0.012)


STEEL = Iron(200_000.0, 0.29, 11.5e-6)


def press_fit() -> Pairs:
    ri, r, ro, delta = 20.0, 30.0, 50.0, 0.02
    told = 200_000 * delta / (2 * r**3) * ((ro**2 - r**2) * (r**2 - ri**2) / (ro**2 - ri**2))
    yield contact_pressure_mpa(2 * delta, 2 * r, 2 * ri, 2 * ro, STEEL, STEEL), told


def push() -> Pairs:
    p = contact_pressure_mpa(0.04, 50, 1e-6, 80, STEEL, STEEL)
    yield push_force_n(p, 50, 40, 0.15), 45_946.0


def capacity() -> Pairs:
    yield capacity_cm3(76.2, 88.9, 4), 1621.7


def crosshatch() -> Pairs:
    yield crosshatch_deg(76.2, 200, 100, 60), math.degrees(2 * math.atan(12000 / (math.pi * 76.2 * 200)))


def conformance() -> Pairs:
    """JCGM 106:2012, 7.4: y 13.6, u 1.8, limits 12.5 and 16.3."""
    yield chance_between(13.6, 1.8, 12.5, 16.3), stats.norm.cdf(1.5) - stats.norm.cdf(-1.1 / 1.8)


def risks() -> Pairs:
    """Limits at two standard deviations of the process, the gauge's a quarter of one: what is taken in though out."""
    found = global_risks(stats.norm.pdf, (-9.0, 9.0), 0.25, (-2.0, 2.0), (-2.0, 2.0))

    def taken(x: float) -> float:
        return float(stats.norm.pdf(x) * (stats.norm.cdf((2 - x) / 0.25) - stats.norm.cdf((-2 - x) / 0.25)))

    yield found.consumer, 2 * integrate.quad(taken, 2, 9)[0]


def forecast() -> Pairs:
    """A mixture of Student's t with four degrees of freedom: its range that holds 95 %."""
    spots = [(0.5, 0.2, 1.0), (0.3, -0.4, 2.5), (0.2, 0.1, 0.4)]

    def lacking(half: float) -> float:
        inside = sum(w * (stats.t.cdf((half - m) / s, 4) - stats.t.cdf((-half - m) / s, 4)) for w, m, s in spots)
        return float(inside) - 0.95

    yield _half(spots, 4.0), optimize.brentq(lacking, 0.0, 100.0)


def chart() -> Pairs:
    """Target 50, s = 2.0539, λ = 0.3."""
    limits = ewma_limits(50.0, 2.0539, 0.3)
    yield from zip((limits.low, limits.high), (47.4115, 52.5884), strict=True)


def used_up() -> Pairs:
    found = material.edges(material.Asked(600.0, 0.0), material.Life(math.log(6.0), 0.0, 0.3))
    life = stats.lognorm(0.3, scale=6.0)
    yield found.mean, 600.0 / life.mean()


MEASURES: dict[str, Callable[[], Pairs]] = {
    "gauge_block": gauge_block,
    "budget": budget,
    "student": student,
    "line": line,
    "expansion": expansion,
    "clean_up": clean,
    "unread": unread,
    "force": force,
    "preload": preload,
    "press_fit": press_fit,
    "push": push,
    "capacity": capacity,
    "crosshatch": crosshatch,
    "conformance": conformance,
    "risks": risks,
    "forecast": forecast,
    "chart": chart,
    "used_up": used_up,
}


def apart() -> dict[str, float]:
    """For each check the largest difference from the reference, as a part of it; rounded up to one figure."""
    out = {}
    for check in CHECKS:
        worst = max(abs(a - b) / abs(b) for a, b in MEASURES[check.key]())
        out[check.key] = 0.0 if worst < 1e-15 else float(f"{worst:.0e}")
    return out


Came = tuple[float, float, int]


def chances(only: Sequence[str] = ()) -> dict[str, Came]:
    """How often what was said came true: said, came true, of how many. ``only`` these groups or keys, or all."""
    found: dict[str, Came] = {}
    for name, measure in GROUPS.items():
        if not only or name in only:
            found.update(measure())
    for key, (world, jobs) in CALLED.items():
        if not only or key in only:
            found[key] = _called(world, jobs)
    for key, (intervals, jobs) in HELD.items():
        if not only or key in only:
            held = list(intervals(jobs))
            found[key] = (HELD_WITH.get(key, 0.95), sum(h.held for h in held) / len(held), len(held))
    return found


#: Verdicts of which those called with 95 % and more are counted.
CALLED: dict[str, tuple[Callable[[int], Iterator[Trial]], int]] = {
    "four_clean": (lambda n: calibration_rest.several(n, 30, 4, (0.95,)), 600),
    "deck_square": (calibration_rest.WORLDS["deck not measured: if it turns out square"], 1600),
    "quick_clean": (calibration_rest.WORLDS["quick check"], 600),
    "walls_kept": (calibration_more.WORLDS["wall, gauge tried on one piece"], 4000),
    "walls_untried": (calibration_more.WORLDS["walls all round, gauge not tried"], 1500),
    "lean_in": (calibration_more.WORLDS["lean, four heights"], 4000),
    "clamps_hold": (calibration_more.WORLDS["clamps hold"], 4000),
    "chamfers_in": (calibration_rest.WORLDS["chamfers within tolerance, one touched"], 4000),
    "straight_in": (calibration_rest.WORLDS["honed bore straight"], 4000),
    "final_in": (calibration.WORLDS["final check, half-thou gauge, 4 times"], 16_000),
    "fits_in": (calibration_rest.WORLDS["piston and bore within clearance"], 4000),
    "weights_in": (calibration_rest.WORLDS["pistons within the spread of weight"], 500),
    "gap_in": (calibration_more.WORLDS["ring gap"], 4000),
    "card_in": (calibration_more.WORLDS["instrument within its limit, two checks"], 4000),
    "squeezed_in": (calibration_more.WORLDS["compression below the highest"], 4000),
    "finish_in": (calibration_more.WORLDS["finish within its limits"], 4000),
    "swept_walls": (calibration_estimate.WORLDS["walls about a swept centre"], 700),
}
#: Intervals, stated with 95 % unless :data:`HELD_WITH` says otherwise, and how often they held.
HELD: dict[str, tuple[Callable[[int], Iterator[Held]], int]] = {
    "walls_largest": (calibration_rest.INTERVALS["largest bore the walls allow, gauge not tried"], 1500),
    "bias_edge": (calibration.INTERVALS["bias after five pairs, edge wearing 3 µm a cut, mm"], 4000),
    "bias_record": (
        calibration_rest.INTERVALS["bias by the record of 5 jobs, three cuts, edges unlike by 3 µm a cut"],
        2400,
    ),
    "bias_record_odd": (
        calibration_rest.INTERVALS_OTHERWISE["bias by the record of 5 jobs, three cuts, this edge wearing 3 µm a cut"],
        2400,
    ),
    "hone_bite": (calibration.INTERVALS["hone, bite changing by up to 40 %, strokes"], 4000),
    "first_strokes": (
        calibration_estimate.INTERVALS["hone, one stretch, bite changing by up to 40 %, strokes"],
        2000,
    ),
    "one_reading": (calibration_estimate.INTERVALS["one reading, half-thou gauge"], 4000),
    "hours_in": (calibration_estimate.INTERVALS["time of a job, 3 jobs timed (90 %)"], 4000),
    "price_in": (calibration_estimate.INTERVALS["price of a job, 20 jobs timed (90 %)"], 4000),
}
#: Of those stated with another chance: which.
HELD_WITH = {"hours_in": 0.9, "price_in": 0.9}


def _called(world: Callable[[int], Iterator[Trial]], jobs: int) -> Came:
    """What was called with 95 % and more: how sure it was in the mean, and how often it was so."""
    called = [t for t in world(jobs) if t.stated >= 0.95]
    stated, true = sum(t.stated for t in called), sum(t.true for t in called)
    return round(stated / len(called), 4), true / len(called), len(called)


def _slips() -> dict[str, Came]:
    per_kind = 60
    table, clean_jobs, said = campaign(per_kind)
    for kind, counts in table.items():
        print(f"{kind:40}", dict(counts))
    print("\n".join(said), flush=True)
    slipped = per_kind * len(table)
    return {
        "slips": (0.005, sum(c["wrong go"] for c in table.values()) / slipped, slipped),
        "needless": (0.01, clean_jobs["asked"] / (8 * per_kind), 8 * per_kind),
    }


def _campaign(name: str, kinds: Mapping[str, slips_after.Kind], stages: Mapping[str, Any], few: int) -> dict[str, Came]:
    """A campaign of slips and its clean jobs; its table by kind is printed."""
    slipped, wrong = slips_after.table(kinds, few)
    asked, said = slips_after.clean(4 * few, stages=stages)
    print("\n".join(wrong + said), flush=True)
    return {
        f"slips_{name}": (0.005, slipped["wrong go"] / slipped.total(), slipped.total()),
        f"needless_{name}": (0.01, asked["asked"] / asked.total(), asked.total()),
    }


#: From how many jobs on a record tells of a tool: before, hardly one was used up. What both cost is told by each.
_FROM = {"edges": 5, "stones": 20, "cost": 1000}


def remembered(count: int = 168, processes: int = 4) -> dict[str, Came]:
    """What the machines' records lead to expect, in both worlds of simulated shops, after 1, 5, 20 and 200 jobs. What
    each comes to is printed as it is measured, and how much narrower the ranges are than without a record."""
    out, changed = dict[str, Came](), count // 4
    for key, name, said in (
        ("bias", "bias", 0.95),
        ("rate", "hone", 0.95),
        ("made", "final", 0.95),
        ("used", "used", 0.9),
    ):
        for world, end in ((shops.USUAL, ""), (shops.OTHER, "_other")):
            cases = [c for c in shops.coverage(name, count, world, processes) if c.jobs >= _FROM.get(c.kind, 1)]
            out[f"record_{key}{end}"] = (said, sum(c.held for c in cases) / len(cases), len(cases))
    seen = shops.changes(changed, shops.USUAL, processes=processes)
    for key, kind in (
        ("noticed", "dropped at job 60 (0.04 mm)"),
        ("noticed_creep", "slow creep from job 40 (0.002 mm a job)"),
    ):
        out[key] = (1.0, 1.0 - seen[kind][1], changed)
    share, jobs = seen["false"]
    out["needless_record"] = (0.01, share / 100.0, round(jobs))
    return out


def _cleaned(jobs: int = 4000) -> dict[str, Came]:
    """Bores of unknown side: at the size said to clean up with a chance, how often the hidden truth does."""
    rng = random.Random(5)
    hits = dict.fromkeys((0.05, 0.35, 0.65, 0.95), 0)
    d0 = 76.2
    for _ in range(jobs):
        wear, share, crank = rng.uniform(0.1, 0.4), rng.uniform(0.5, 1.0), rng.uniform(0.3, 0.7)
        read = tuple(
            tuple(d0 + wear * k * part + rng.gauss(0, 0.004) for part in (1.0, crank)) for k in (1.0, 0.4, 0.0)
        )
        worn = WornBore(
            cylinder=1,
            depths_mm=(14.0, 60.0, 120.0),
            axes=("thrust", "crank"),
            d_mm=read,
            u_mm=0.004,
            ring_top_mm=12.0,
            ring_bottom_mm=110.0,
        )
        found = clean_up(worn, WearSide(u_centring_mm=0.0))
        for said in hits:
            hits[said] += found.needed_mm(said) >= d0 + 2 * share * wear
    return {f"clean_{round(100 * said)}": (said, n / jobs, jobs) for said, n in hits.items()}


#: What is measured together.
GROUPS: dict[str, Callable[[], dict[str, Came]]] = {
    "clean": _cleaned,
    "slips": _slips,
    "slips_after": lambda: _campaign("after", slips_after.SLIPS, slips_after.CLEAN, 15),
    "slips_more": lambda: _campaign("more", slips_more.SLIPS, slips_more.CLEAN, 11),
    "slips_rest": lambda: _campaign("rest", slips_rest.SLIPS, slips_rest.CLEAN, 12),
    "slips_own": lambda: _campaign("own", slips_own.SLIPS, slips_own.CLEAN, 20),
    "slips_last": lambda: _campaign("last", slips_last.SLIPS, slips_last.CLEAN, 12),
    "remembered": remembered,
}


def page() -> str:
    """The same as the app's page, for who reads the repository."""
    out = ["# What this has been checked against", "", "Written by `python -m tests.bench.checked`.", ""]
    out += ["| What | Against | Found |", "| --- | --- | --- |"]
    out += [f"| {say(c.what)} | {c.against} | {say(how_far_apart(c))} |" for c in CHECKS]
    out += ["", "Counted in simulated jobs whose truth is known:", "", "| What | Came true |", "| --- | --- |"]
    out += [f"| {say(c.what)} | {say(came_true(c))} |" for c in CHANCES]
    out += ["", "Not checked yet:", "", *(f"- {say(line)}" for line in NOT_YET), ""]
    return "\n".join(out)


def main() -> None:
    figures = apart()
    only = [a for a in sys.argv[1:] if not a.startswith("-")]
    true = dict(checked_figures.CAME_TRUE)
    if "--quick" not in sys.argv:
        true |= {k: (said, round(came, 4), n) for k, (said, came, n) in chances(only).items()}
    true = {c.key: true[c.key] for c in CHANCES if c.key in true}
    missing = {c.key for c in CHANCES} - set(true)
    if missing:
        raise SystemExit(f"not measured: {sorted(missing)}")
    rows = "\n".join(f'    "{k}": {v!r},' for k, v in figures.items())
    came = "\n".join(f'    "{k}": {v!r},' for k, v in true.items())
    PLACE.write_text(
        '"""Measured by ``python -m tests.bench.checked``: not written by hand."""\n\n'
        "from __future__ import annotations\n\n"
        "#: The largest difference from the reference, as a part of it.\n"
        f"APART: dict[str, float] = {{\n{rows}\n}}\n\n"
        "#: What was said, how often it came true, in how many simulated jobs.\n"
        f"CAME_TRUE: dict[str, tuple[float, float, int]] = {{\n{came}\n}}\n",
        encoding="utf-8",
    )
    checked_figures.APART.update(figures)
    checked_figures.CAME_TRUE.update(true)
    PAGE.write_text(page(), encoding="utf-8")
    for key, value in {**figures, **true}.items():
        print(f"{key:14} {value}")


if __name__ == "__main__":
    main()
