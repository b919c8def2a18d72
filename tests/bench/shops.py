"""Simulated shops: how well the machines' records foretell, and how soon they notice. Prints figures.

python -m tests.bench.shops [--shops 200]

Each shop has several bars with a bias, a spread and a drift of their own; jobs have bores, cuts, edges and irons that
change the bias. The truth is drawn wider and narrower than the model's priors: nothing is
drawn from the model itself. What is counted:

- how often the 95 % prediction interval of the next bore's bias holds it, for the first bore of a job and for one
  after two of its own, with 1, 5, 20 and 200 jobs in the record;
- its half-width with 20 jobs against no record, at the job's first and third bore;
- jobs until a change is noticed: a drop on the floor at job 60, a wrong insert, other stones, a slow creep;
- false alarms in 100 jobs of machines that do not change.
"""

from __future__ import annotations

import argparse
import math
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from logic import machine_record as m
from logic import setting
from logic.job_record import JobRecord
from logic.pooling import APART_Z, Predicted, predict, sums

LOOKED_AT = (1, 5, 20, 200)
#: So many jobs are tried as the next one of each record.
_NEXT = 8
IRONS = ("grey_iron", "grey_iron", "grey_iron", "compacted_iron")


@dataclass
class Bar:
    """One boring bar as it really is, mm."""

    rng: random.Random
    level: float = 0.0
    spread: float = 0.0
    between: float = 0.0
    drift: float = 0.0
    by_size: float = 0.0
    by_cut: float = 0.0
    by_age: float = 0.0
    by_iron: float = 0.0
    age: int = field(default=0)

    @classmethod
    def drawn(cls, rng: random.Random) -> Bar:
        return cls(
            rng,
            level=rng.gauss(0.0, 0.03),
            spread=0.006 * math.exp(rng.gauss(0.0, 0.35)),
            between=0.009 * math.exp(rng.gauss(0.0, 0.4)),
            drift=0.0015 * math.exp(rng.gauss(-0.5, 0.7)) * (rng.random() < 0.6),
            by_size=rng.gauss(0.0, 0.002),
            by_cut=rng.gauss(0.0, 0.015),
            by_age=rng.gauss(-0.0004, 0.0005),
            by_iron=rng.gauss(0.0, 0.004),
        )

    def job(self, number: int) -> tuple[JobRecord, list[tuple[float, float, float]]]:
        """One job: its record, and its cuts as (bias, cut on diameter, passes of the edge)."""
        rng = self.rng
        self.level += rng.gauss(0.0, self.drift)
        own, iron, size = rng.gauss(0.0, self.between), rng.choice(IRONS), rng.uniform(65.0, 105.0)
        rows = []
        self.age = 0
        for _ in range(rng.choice((4, 4, 6, 8))):
            if self.age >= rng.randint(5, 9):
                self.age = 0
            cut = max(0.1, rng.gauss(0.4, 0.12))
            bias = self.level + own + self.by_size * (size - 80.0) / 10.0 + self.by_cut * (cut - 0.4)
            bias += self.by_age * self.age + self.by_iron * (iron != "grey_iron") + rng.gauss(0.0, self.spread)
            rows.append((bias, cut, float(self.age)))
            self.age += 1
        record = JobRecord(
            job=f"job{number:05d}",
            day=float(number),
            iron=iron,
            size_mm=size,
            cylinders=4,
            bias=sums([b for b, _, _ in rows], [x for _, *x in rows]),
        )
        return record, rows


def expected(model: m.BarModel, record: JobRecord, rows: list[tuple[float, float, float]], own: int) -> Predicted:
    """The prediction of a job's bore after ``own`` of its own."""
    x = [model.x(size_mm=record.size_mm, cut_mm=cut, age=age, iron=record.iron) for _, cut, age in rows]
    return model.next_mm(x[own], [(rows[i][0], x[i]) for i in range(own)])


def shop(rng: random.Random, jobs: int) -> Iterator[tuple[int, int, bool, float]]:
    """One shop: (jobs in the record, own bores, whether the interval held, half-width) for each bore foretold."""
    bars = [Bar.drawn(rng) for _ in range(3)]
    others = [[bar.job(n)[0] for n in range(rng.choice((0, 8, 15)))] for bar in bars[1:]]
    records: list[JobRecord] = []
    for n in range(jobs + 1):
        if n in LOOKED_AT:
            model = m.bar_model(records, [o for o in others if o])
            for _ in range(_NEXT):
                record, rows = replace(bars[0]).job(n)  # one of the jobs that might come next
                for own in (0, 2):
                    found = expected(model, record, rows, own)
                    yield n, own, abs(rows[own][0] - found.mean) <= found.half, found.half
        records.append(bars[0].job(n)[0])


def without(rng: random.Random) -> tuple[float, float]:
    """Half-widths with no record: before any cut, and after two."""
    _, rows = Bar.drawn(rng).job(0)
    pairs = [setting.Pair(80.0, 80.0 + b) for b, _, _ in rows]
    return setting.bias(()).half_mm, setting.bias(pairs[:2]).half_mm


def coverage(shops: int, seed: int = 1) -> None:
    held: dict[tuple[int, int], list[bool]] = defaultdict(list)
    wide: dict[tuple[int, int], list[float]] = defaultdict(list)
    rng = random.Random(seed)
    alone = [without(rng) for _ in range(shops)]
    for s in range(shops):
        # the long record only now and then: it takes as long as all the others
        for n, own, ok, half in shop(rng, 200 if s % 6 == 0 else 20):
            held[n, own].append(ok)
            wide[n, own].append(half)
    print("95 % prediction interval of the next bore's bias")
    for (n, own), oks in sorted(held.items()):
        share = sum(oks) / len(oks)
        u = math.sqrt(share * (1.0 - share) / len(oks))
        print(
            f"  {n:>3} jobs, {own} own bores: held {share:.1%} ± {2 * u:.1%} of {len(oks)}; half {mid(wide[n, own]) * 1000:.1f} µm"
        )
    for own in (0, 2):
        none = mid([a[own // 2] for a in alone])
        print(f"  half-width with 20 jobs against no record, {own} own bores: {mid(wide[20, own]) / none:.2f}")


def mid(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


# -- what changes --------------------------------------------------------------------------------
def noticed(records: list[JobRecord], others: list[list[JobRecord]], after: int) -> tuple[int | None, int]:
    """(jobs from the change until an alarm, alarms before it): a job that stands out, or a drift on the chart.

    Every alarm before the change is answered as the person would: it counts.
    """
    false = 0
    known: list[JobRecord] = []
    for n, record in enumerate(records):
        model = m.bar_model(known, others)
        g = model.sums(record)
        alarm = g is not None and bool(m.standing_out(model.series, g))
        chart = None
        if not alarm and n >= 8 and (n % 2 == 0 or n >= after):
            chart = m.chart_of(m.bar_model([*known, record], others).series)
            alarm = chart is not None and chart.drift_from is not None and chart.first_out == n
        if alarm and n >= after:
            return n - after + 1, false
        false += alarm
        known.append(
            JobRecord(
                **{k: getattr(record, k) for k in ("job", "day", "iron", "size_mm", "bias")},
                bar_fit="counts" if alarm else "",
            )
        )
    return None, false


def changes(shops: int, seed: int = 2) -> None:
    kinds = {
        "dropped at job 60 (0.04 mm)": (60, 0.04, 0.0),
        "wrong insert at job 40 (0.03 mm)": (40, 0.03, 0.0),
        "a knock at job 60 (0.02 mm)": (60, 0.02, 0.0),
        "slow creep from job 40 (0.002 mm a job)": (40, 0.0, 0.002),
    }
    print("jobs until a change is noticed")
    false = jobs = 0
    for name, (after, jump, creep) in kinds.items():
        rng = random.Random(seed)
        taken, missed = [], 0
        for _ in range(shops):
            bar = Bar.drawn(rng)
            bar.drift = 0.0
            records = []
            for n in range(after + 30):
                if n == after:
                    bar.level += jump * rng.choice((-1.0, 1.0))
                bar.level += creep if n >= after else 0.0
                records.append(bar.job(n)[0])
            found, before = noticed(records, [], after)
            false, jobs = false + before, jobs + after
            taken += [found] if found is not None else []
            missed += found is None
        print(
            f"  {name}: {mid([float(t) for t in taken]) if taken else float('nan'):.0f} in the middle, {missed} of {shops} not within 30"
        )
    print(f"  false alarms in 100 jobs: {100.0 * false / jobs:.2f}")


def stones(shops: int, seed: int = 3) -> None:
    """Other stones: their removal half as fast again."""
    rng = random.Random(seed)
    jobs_till, false, inside, seen = [], 0, 0, 0
    for _ in range(shops):
        level, between, spread = math.log(0.0012) + rng.gauss(0.0, 0.4), 0.15, 0.12
        records: list[JobRecord] = []
        for n in range(60):
            now = level + rng.gauss(0.0, between) + (0.6 if n >= 40 else 0.0)
            values = [now + rng.gauss(0.0, spread) for _ in range(4)]
            job = JobRecord(
                job=f"j{n}",
                day=float(n),
                iron="grey_iron",
                series={"rate.220": sums(values), "strokes.220": sums([25.0] * 4)},
            )
            series, x = m.hone_model(records, "220", iron="grey_iron")
            if n in (5, 20):
                found = predict(series.learned, x)
                seen, inside = seen + 1, inside + (abs(values[0] - found.mean) <= found.half)
            g = job.series["rate.220"]
            out = m.standing_out(series, type(g)(g.n, g.mean, g.squares, x))
            if out and n >= 40:
                jobs_till.append(n - 39)
                break
            false += bool(out)
            records.append(
                JobRecord(job=job.job, day=job.day, iron=job.iron, series=job.series, hone_fit="counts" if out else "")
            )
    print(
        f"  other stones at job 40 (1.8 times the removal): {mid([float(t) for t in jobs_till]):.0f} in the middle; false {100.0 * false / (40 * shops):.2f} in 100"
    )
    print(f"  95 % interval of the next bore's removal held {inside / seen:.1%} of {seen}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shops", type=int, default=240)
    asked = parser.parse_args()
    print(f"a job stands out beyond {APART_Z} standard deviations")
    coverage(asked.shops)
    changes(max(10, asked.shops // 10))
    stones(max(10, asked.shops // 5))


if __name__ == "__main__":
    main()
