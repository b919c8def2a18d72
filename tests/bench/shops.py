"""Simulated shops: how well the machines' records foretell, and how soon they notice. Prints figures.

python -m tests.bench.shops [--shops 420] [--only bias,hone,final,changes,used] [--processes 4]

Each shop has several bars with a bias, a spread and a drift of their own; jobs have bores, cuts, edges and irons that
change the bias. There are two worlds (:mod:`tests.bench.shop_worlds`): one spread about as the priors say, and one that
differs from all that the priors were chosen by. What is counted, with 1, 5, 20 and 200 jobs in the record:

- how often the 95 % prediction interval of the next bore's bias holds it, for the first bore of a job and for one
  after two of its own; its half-width with 20 jobs against no record, for the very same bores;
- the same of the removal of one double stroke, and of what the final check takes a finished bore to be beforehand;
- how often the 90 % ranges of edges and stones used up hold what a job truly uses up;
- jobs until a change is noticed: a drop on the floor at job 60, a wrong insert, other stones, a slow creep;
- false alarms in 100 jobs of machines that do not change.
"""

from __future__ import annotations

import argparse
import math
import random
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from copy import deepcopy
from dataclasses import replace
from functools import partial
from itertools import chain
from statistics import NormalDist
from typing import NamedTuple, TypeVar

from logic import machine_record as m
from logic import material, setting
from logic.bore_prior import Process, kinds
from logic.constants import constant
from logic.job_record import JobRecord
from logic.pooling import APART_Z, Predicted, predict
from tests.bench.shop_worlds import OTHER, USUAL, Bar, Finisher, Hone, ToolShop, World

_T, _R = TypeVar("_T"), TypeVar("_R")

LOOKED_AT = (1, 5, 20, 200)
#: After so many jobs the record is held against none, for the same bores; what these cases are called.
_COMPARED, _ALONE = 20, ", no record"


class Case(NamedTuple):
    """One value foretold: what kind, after how many jobs, whether its 95 % interval held it, half its width."""

    kind: str
    jobs: int
    held: bool
    half: float


def _after(s: int) -> tuple[tuple[int, ...], int]:
    """How many jobs a shop's records are looked at after, and how many jobs are tried as the next one there: the long
    record in a third of the shops, since it takes as long as all the others."""
    return (LOOKED_AT, 4) if s % 3 == 0 else (LOOKED_AT[:-1], 2)


# -- the bar ---------------------------------------------------------------------------------------
def expected(model: m.BarModel, record: JobRecord, rows: list[tuple[float, float, float]], own: int) -> Predicted:
    """The prediction of a job's bore after ``own`` of its own."""
    x = [model.x(size_mm=record.size_mm, cut_mm=cut, age=age, iron=record.iron) for _, cut, age in rows]
    return model.next_mm(x[own], [(rows[i][0], x[i]) for i in range(own)])


def bias(shops: Iterable[int], world: World, seed: int = 1) -> Iterator[Case]:
    for s in shops:
        rng = random.Random(f"{seed}/{world.name}/bias/{s}")
        bars = [Bar.drawn(rng, world) for _ in range(3)]
        others = [[bar.job(n)[0] for n in range(rng.choice((0, 8, 15)))] for bar in bars[1:]]
        looked, following = _after(s)
        records: list[JobRecord] = []
        for n in range(looked[-1] + 1):
            if n in looked:
                model = m.bar_model(records, [o for o in others if o])
                for _ in range(following):
                    record, rows = replace(bars[0]).job(n)  # one of the jobs that might come next
                    for own in (0, 2):
                        found = expected(model, record, rows, own)
                        yield Case(f"{own} own bores", n, abs(rows[own][0] - found.mean) <= found.half, found.half)
                        if n == _COMPARED:
                            alone = setting.bias([setting.Pair(80.0, 80.0 + b) for b, _, _ in rows[:own]])
                            held = abs(rows[own][0] - alone.mean_mm) <= alone.half_mm
                            yield Case(f"{own} own bores{_ALONE}", n, held, alone.half_mm)
            records.append(replace(bars[0].job(n)[0], bar_fit="counts"))  # what stood out was asked about, and is right


# -- the hone ----------------------------------------------------------------------------------------
def hone(shops: Iterable[int], world: World, seed: int = 3) -> Iterator[Case]:
    """The removal of one double stroke in the next job's first bore."""
    for s in shops:
        rng = random.Random(f"{seed}/{world.name}/hone/{s}")
        mine, records = Hone.drawn(rng, world), list[JobRecord]()
        looked, following = _after(s)
        for n in range(looked[-1] + 1):
            if n in looked:
                for _ in range(following):
                    record, rows = replace(mine).job(n)
                    fresh = record.stones["220"].fresh
                    series, x = m.hone_model(records, "220", iron=record.iron, fresh=fresh)
                    found = predict(series.learned, x)
                    yield Case("first bore", n, abs(rows[0] - found.mean) <= found.half, found.half)
            records.append(replace(mine.job(n)[0], hone_fit="counts"))


# -- the final check -----------------------------------------------------------------------------------
_NORMAL = NormalDist()


def half_of(made: Process, what: str) -> float:
    """Half of the interval that holds 95 % of the level, taper, barrel or out-of-round, mm, before a bore is read."""
    own = {"level": made.level_mm, "taper": made.taper_mm, "barrel": made.barrel_mm, "oval": made.oval_mm}[what]
    parts = [(share, level if what == "level" else quality * own) for quality, level, share in kinds(made)]
    low, high = 0.0, 8.0 * max(sd for _, sd in parts)
    for _ in range(50):
        middle = (low + high) / 2.0
        inside = math.fsum(w * (2.0 * _NORMAL.cdf(middle / sd) - 1.0) for w, sd in parts)
        low, high = (middle, high) if inside < 0.95 else (low, middle)
    return high


def final(shops: Iterable[int], world: World, seed: int = 4) -> Iterator[Case]:
    """What the final check takes a bore to be before it is read."""
    for s in shops:
        rng = random.Random(f"{seed}/{world.name}/final/{s}")
        mine, records = Finisher.drawn(rng, world), list[JobRecord]()
        looked, following = _after(s)
        for n in range(looked[-1] + 1):
            if n in looked:
                made = m.process_of(records)
                for _ in range(following):
                    true = mine.bore()
                    for what in ("level", "taper", "barrel", "oval"):
                        half = half_of(made, what)
                        yield Case(what, n, abs(getattr(true, what)) <= half, half)
            records.append(mine.job(n)[0])


# -- what the tools use up -------------------------------------------------------------------------------
def used_up(shops: Iterable[int], world: World, seed: int = 5) -> Iterator[Case]:
    """Edges and sets of stones that a job uses up, and what both cost, against the 90 % ranges of the estimate."""
    share = constant("record.stones_share").value
    for s in shops:
        rng = random.Random(f"{seed}/{world.name}/used/{s}")
        mine, records = ToolShop.drawn(rng, world), list[JobRecord]()
        looked, following = _after(s)
        for n in range(looked[-1] + 1):
            if n in (0, *looked):
                over = m.passes_model(records)
                lives = material.life_of(m.edge_model(records)), material.life_of(m.stone_model(records, "220"))
                for _ in range(following):
                    _, (bores, passes, iron), (edges, sets) = deepcopy(mine).job(n)
                    mine.rng.random()  # the next try is another
                    mean, u = m.of_job(over, bores)
                    found = (
                        material.edges(material.asked(passes * math.exp(mean), u), lives[0]),
                        material.stones("220", material.asked(iron, share / math.sqrt(bores)), lives[1]),
                    )
                    for one, true, kind in zip(found, (edges, sets), ("edges", "stones"), strict=True):
                        yield Case(kind, n, one.low <= true <= one.high, math.log(one.high / one.low) / 2.0)
                    middle, sd = material.cost(found, 5.0, 60.0) or (0.0, 0.0)
                    held = abs(5.0 * edges + 60.0 * sets - middle) <= 1.6449 * sd
                    yield Case("cost", n, held, 1.6449 * sd)
            records.append(mine.job(n)[0])


# -- what comes of it ---------------------------------------------------------------------------------
FORETOLD: dict[str, Callable[[Iterable[int], World], Iterator[Case]]] = {
    "bias": bias,
    "hone": hone,
    "final": final,
    "used": used_up,
}
NAMES = {
    "bias": "95 % interval of the next bore's bias, mm",
    "hone": "95 % interval of the logarithm of what a double stroke takes off",
    "final": "95 % interval of what a finished bore is taken to be, mm",
    "used": "90 % range of what a job uses up of its tools (half: of its logarithm; of the cost, money)",
}


def _cases(name: str, world: World, part: Sequence[int]) -> list[Case]:
    return list(FORETOLD[name](part, world))


def coverage(name: str, shops: int, world: World, processes: int = 1) -> list[Case]:
    """What was foretold in so many shops by the record; how often the intervals held is printed by kind and jobs, and for
    the bias how wide they are against those without a record."""
    parts = [range(i, min(i + 6, shops)) for i in range(0, shops, 6)]
    found = list(chain.from_iterable(_spread(partial(_cases, name, world), parts, processes)))
    held: dict[tuple[str, int], list[Case]] = defaultdict(list)
    for case in found:
        held[case.kind, case.jobs].append(case)
    print(f"{NAMES[name]}, {world.name} world")
    for (kind, n), cases in sorted(held.items()):
        share = sum(c.held for c in cases) / len(cases)
        u = math.sqrt(share * (1.0 - share) / len(cases))
        half = mid([c.half for c in cases])
        print(f"  {n:>3} jobs, {kind:22}: {share:.1%} ± {2 * u:.1%} of {len(cases)}; half {half:.4f}", flush=True)
    for (kind, n), cases in held.items():
        if alone := held.get((kind + _ALONE, n)):
            share = mid([c.half for c in cases]) / mid([c.half for c in alone])
            print(f"  half-width with {n} jobs against no record, {kind}: {share:.2f}", flush=True)
    return [c for c in found if not c.kind.endswith(_ALONE)]


def _spread(work: Callable[[_T], _R], parts: Sequence[_T], processes: int) -> list[_R]:
    """The work of every part, in order, in so many processes."""
    if processes < 2:
        return [work(part) for part in parts]
    with ProcessPoolExecutor(processes) as pool:
        return list(pool.map(work, parts))


def mid(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


# -- what changes --------------------------------------------------------------------------------------
#: How often somebody looks at the chart while nothing seems wrong, in jobs.
_LOOKS = 5


def _answered(records: list[JobRecord], counted: set[int]) -> list[JobRecord]:
    return [replace(r, bar_fit="counts") if i in counted else r for i, r in enumerate(records)]


def _first_jump(records: list[JobRecord], after: int) -> tuple[int | None, set[int]]:
    """The first job from the change on that stands out, and those before it that did; each is answered: it counts."""
    counted: set[int] = set()
    while True:
        z = m.bar_model(_answered(records, counted)).series.learned.z
        out = next((i for i, v in enumerate(z) if i >= 3 and abs(v) > APART_Z and i not in counted), None)
        if out is None or out >= after:
            return out, counted
        counted.add(out)


def noticed(records: list[JobRecord], after: int) -> tuple[int | None, int]:
    """(jobs from the change until an alarm, alarms before it): a job that stands out, or a drift on the chart.

    The chart is looked at every fifth job before the change, and at each job after it.
    """
    jump, counted = _first_jump(records, after)
    last, false = len(records) if jump is None else jump, len(counted)
    for n in (*range(8, after, _LOOKS), *range(after, last)):
        chart = m.chart_of(m.bar_model(_answered(records[: n + 1], counted)).series)
        if chart is None or chart.drift_from is None or chart.first_out is None:
            continue
        if n >= after:
            return n - after + 1, false
        false += chart.first_out > n - _LOOKS
    return None if jump is None else jump - after + 1, false


#: A change: its job, the jump and the creep in a job, mm.
KINDS = {
    "dropped at job 60 (0.04 mm)": (60, 0.04, 0.0),
    "wrong insert at job 40 (0.03 mm)": (40, 0.03, 0.0),
    "a knock at job 60 (0.02 mm)": (60, 0.02, 0.0),
    "slow creep from job 40 (0.002 mm a job)": (40, 0.0, 0.002),
}


def _changed(bar: Bar, after: int, jump: float, creep: float) -> list[JobRecord]:
    records = []
    for n in range(after + 30):
        if n == after:
            bar.level += jump * bar.rng.choice((-1.0, 1.0))
        bar.level += creep if n >= after else 0.0
        records.append(bar.job(n)[0])
    return records


def _tried(name: str, world: World, seed: int, s: int) -> tuple[int | None, int]:
    """One bar that changes: when it was noticed, and the false alarms before. Bars here stay put until they change."""
    after, jump, creep = KINDS[name]
    bar = Bar.drawn(random.Random(f"{seed}/{world.name}/{name}/{s}"), world)
    bar.drift, bar.wave, bar.shifts = 0.0, (0.0, 50.0, 0.0), 0.0
    return noticed(_changed(bar, after, jump, creep), after)


def changes(shops: int, world: World, seed: int = 2, processes: int = 1) -> dict[str, tuple[float, float]]:
    """By kind: the middle of the jobs until it was noticed, and the share not noticed within 30; "false" the false
    alarms in 100 jobs."""
    out, false, jobs = dict[str, tuple[float, float]](), 0, 0
    print(f"jobs until a change is noticed, {world.name} world")
    for name, (after, _, _) in KINDS.items():
        found = _spread(partial(_tried, name, world, seed), range(shops), processes)
        taken = [float(n) for n, _ in found if n is not None]
        missed, false, jobs = shops - len(taken), false + sum(f for _, f in found), jobs + after * shops
        out[name] = (mid(taken) if taken else math.inf, missed / shops)
        print(f"  {name}: {out[name][0]:.0f} in the middle, {missed} of {shops} not within 30")
    out["false"] = (100.0 * false / jobs, float(jobs))
    print(f"  false alarms in 100 jobs: {100.0 * false / jobs:.2f} ({jobs} jobs)")
    return out


def stones(shops: int, world: World, seed: int = 3) -> tuple[float, float]:
    """Other stones at job 40, 1.8 times the removal: jobs until noticed in the middle, and false alarms in 100 jobs of
    jobs that stand out (the chart is looked at from job 40 on)."""
    taken, false, jobs = [], 0, 0
    for s in range(shops):
        mine, records = Hone.drawn(random.Random(f"{seed}/{world.name}/stones/{s}"), world), list[JobRecord]()
        for n in range(70):
            mine.level += 0.6 if n == 40 else 0.0
            job, _ = mine.job(n)
            series, x = m.hone_model(records, "220", iron=job.iron, fresh=job.stones["220"].fresh)
            out = bool(m.standing_out(series, replace(job.series["rate.220"], x=x)))
            if n >= 40 and not out:  # nothing odd in the job: the chart, with it
                drawn = m.chart_of(m.hone_model([*records, job], "220")[0])
                out = drawn is not None and drawn.drift_from is not None
            if out and n >= 40:
                taken.append(float(n - 39))
                break
            false, jobs = false + (out and n < 40), jobs + (n < 40)
            records.append(replace(job, hone_fit="counts" if out else ""))
    middle = mid(taken) if taken else math.inf
    print(
        f"  other stones at job 40 (1.8 times the removal), {world.name} world: {middle:.0f} in the middle, "
        f"{shops - len(taken)} of {shops} not within 30; false {100.0 * false / jobs:.2f} in 100 jobs"
    )
    return middle, 100.0 * false / jobs


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shops", type=int, default=420)
    parser.add_argument("--only", default="bias,hone,final,used,changes")
    parser.add_argument("--processes", type=int, default=1)
    asked = parser.parse_args()
    only = asked.only.split(",")
    for name in FORETOLD:
        if name in only:
            for world in (USUAL, OTHER):
                coverage(name, asked.shops, world, asked.processes)
    if "changes" in only:
        print(f"a job stands out beyond {APART_Z} standard deviations")
        for world in (USUAL, OTHER):
            changes(max(10, asked.shops // 10), world, processes=asked.processes)
            stones(max(10, asked.shops // 4), world)


if __name__ == "__main__":
    main()
