"""Simulated shops with a hidden truth, in two worlds. Nothing in them is drawn from the app's own model.

``USUAL``: bars, hones and stones spread about as the priors say, wider and narrower, with normal chance; of half
the bars one edge wears unlike the next.
``OTHER``: made to differ from what the priors were chosen by. Other spreads; errors with heavy tails (Student's t with 4
degrees of freedom); bars that wander in a slow wave, or stay put for long and then shift, in place of a random walk; stones
that lose their bite as they wear; finishing that leaves the same taper again and again; edges and stones
of very unequal life.

Lengths in mm; all figures are invented.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from typing import NamedTuple

from logic.job_record import Edges, JobRecord, Stones
from logic.pooling import sums

__all__ = ["OTHER", "USUAL", "Bar", "Finisher", "Hone", "ToolShop", "World", "Worn"]

IRONS = ("grey_iron", "grey_iron", "grey_iron", "compacted_iron")
BORES = (4, 4, 6, 8)


class World(NamedTuple):
    """One world: its name, and how its machines are drawn."""

    name: str
    heavy: bool

    def chance(self, rng: random.Random, sd: float) -> float:
        """One error: normal, or Student's t of the same standard deviation with heavy tails."""
        if not self.heavy:
            return rng.gauss(0.0, sd)
        return sd * rng.gauss(0.0, 1.0) / math.sqrt(rng.gammavariate(2.0, 2.0) / 4.0) / math.sqrt(2.0)


USUAL, OTHER = World("usual", False), World("other", True)


@dataclass
class Bar:
    """One boring bar as it really is, mm. ``path`` gives its level at each job."""

    rng: random.Random
    world: World = USUAL
    level: float = 0.0
    spread: float = 0.0
    between: float = 0.0
    drift: float = 0.0
    by_size: float = 0.0
    by_cut: float = 0.0
    by_age: float = 0.0
    by_iron: float = 0.0
    unlike: float = 0.0  # how differently its edges wear, mm a pass
    wave: tuple[float, float, float] = (0.0, 50.0, 0.0)
    shifts: float = 0.0
    age: int = field(default=0)

    @classmethod
    def drawn(cls, rng: random.Random, world: World = USUAL) -> Bar:
        return cls._other(rng) if world.heavy else cls._usual(rng)

    @classmethod
    def _usual(cls, rng: random.Random) -> Bar:
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
            unlike=0.0015 * math.exp(rng.gauss(0.0, 0.5)) * (rng.random() < 0.5),
        )

    @classmethod
    def _other(cls, rng: random.Random) -> Bar:
        wanders = rng.random() < 0.5
        return cls(
            rng,
            OTHER,
            level=rng.uniform(-0.07, 0.07),
            spread=0.0045 * math.exp(rng.gauss(0.0, 0.6)),
            between=0.0065 * math.exp(rng.gauss(0.0, 0.6)),
            by_size=rng.gauss(0.0, 0.004),
            by_cut=rng.gauss(0.0, 0.03),
            by_age=rng.gauss(-0.001, 0.0008),
            by_iron=rng.gauss(0.0, 0.008),
            unlike=0.002 * math.exp(rng.gauss(0.0, 0.6)) * (rng.random() < 0.5),
            wave=(rng.uniform(0.003, 0.012) if wanders else 0.0, rng.uniform(30.0, 80.0), rng.uniform(0.0, 6.28)),
            shifts=0.0 if wanders else 0.006,
        )

    def _moved(self, number: int) -> float:
        """Where the bar has come to by a job: a walk, a wave, or a shift now and then."""
        self.level += self.rng.gauss(0.0, self.drift)
        if self.shifts and self.rng.random() < 0.04:
            self.level += self.rng.gauss(0.0, self.shifts)
        high, long, phase = self.wave
        return self.level + high * math.sin(2.0 * math.pi * number / long + phase)

    def job(self, number: int) -> tuple[JobRecord, list[tuple[float, float, float]]]:
        """One job: its record, and its cuts as (bias, cut on diameter, passes of the edge)."""
        rng = self.rng
        level = self._moved(number)
        own, iron, size = self.world.chance(rng, self.between), rng.choice(IRONS), rng.uniform(65.0, 105.0)
        rows = []
        self.age, wears = 0, self.by_age + self.world.chance(rng, self.unlike)
        for _ in range(rng.choice(BORES)):
            if self.age >= rng.randint(5, 9):
                self.age, wears = 0, self.by_age + self.world.chance(rng, self.unlike)
            cut = max(0.1, rng.gauss(0.4, 0.12))
            bias = level + own + self.by_size * (size - 80.0) / 10.0 + self.by_cut * (cut - 0.4)
            bias += wears * self.age + self.by_iron * (iron != "grey_iron")
            bias += self.world.chance(rng, self.spread)
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


@dataclass
class Hone:
    """One hone with one grit: logarithm of what a double stroke takes off, mm on diameter."""

    rng: random.Random
    world: World
    level: float
    spread: float
    between: float
    by_wear: float
    by_iron: float
    strokes: float = 0.0

    @classmethod
    def drawn(cls, rng: random.Random, world: World) -> Hone:
        if world.heavy:
            return cls(
                rng,
                world,
                level=math.log(0.0012) + rng.uniform(-1.2, 1.2),
                spread=0.18 * math.exp(rng.gauss(0.0, 0.4)),
                between=0.14 * math.exp(rng.gauss(0.0, 0.5)),
                by_wear=-abs(rng.gauss(0.0, 0.3)),
                by_iron=rng.gauss(0.0, 0.4),
            )
        return cls(
            rng,
            world,
            level=math.log(0.0012) + rng.gauss(0.0, 0.5),
            spread=0.13 * math.exp(rng.gauss(0.0, 0.3)),
            between=0.17 * math.exp(rng.gauss(0.0, 0.35)),
            by_wear=rng.gauss(-0.08, 0.08),
            by_iron=rng.gauss(0.0, 0.2),
        )

    def job(self, number: int) -> tuple[JobRecord, list[float]]:
        """One job: its record, and the logarithm of the removal in each bore. The stones are changed after 4,000
        strokes, and somebody says so."""
        rng = self.rng
        fresh = self.strokes > 4000.0
        if fresh:
            self.strokes = 0.0
        own, iron = self.world.chance(rng, self.between), rng.choice(IRONS)
        rows, made = [], []
        for _ in range(rng.choice(BORES)):
            count = float(rng.randint(15, 45))
            mean = self.level + own + self.by_iron * (iron != "grey_iron")
            mean += self.by_wear * (self.strokes + count / 2.0) / 1000.0
            rows.append(mean + self.world.chance(rng, self.spread))
            made.append(count)
            self.strokes += count
        record = JobRecord(
            job=f"job{number:05d}",
            day=float(number),
            iron=iron,
            cylinders=len(rows),
            series={"rate.220": sums(rows), "strokes.220": sums(made)},
            stones={"220": Stones((0.04 * math.fsum(made),), (math.fsum(made),), fresh)},
        )
        return record, rows


class Shape(NamedTuple):
    """A finished bore as it truly is, mm: mean less the size wanted, taper, barrel, out-of-round."""

    level: float
    taper: float
    barrel: float
    oval: float


@dataclass
class Finisher:
    """What one machine makes of a bore in the end; ``usual`` is what it leaves every time."""

    rng: random.Random
    world: World
    level: float
    shape: Shape
    usual: Shape
    quality: float
    wild: float
    gauge: float = 0.0015

    @classmethod
    def drawn(cls, rng: random.Random, world: World) -> Finisher:
        good = math.exp(rng.gauss(0.0, 0.4))
        own = (0.005 * good, 0.003 * good, 0.0035 * good)
        if world.heavy:
            return cls(
                rng,
                world,
                level=0.006 * math.exp(rng.gauss(0.0, 0.6)),
                shape=Shape(0.0, *(0.8 * s for s in own)),
                usual=Shape(rng.gauss(0.0, 0.004), *(rng.gauss(0.0, 1.2 * s) for s in own)),
                quality=0.25,
                wild=0.02,
            )
        return cls(
            rng,
            world,
            level=0.009 * math.exp(rng.gauss(0.0, 0.35)),
            shape=Shape(0.0, *own),
            usual=Shape(0.0, 0.0, 0.0, 0.0),
            quality=0.5,
            wild=0.08,
        )

    def bore(self) -> Shape:
        """One finished bore."""
        rng, w, u = self.rng, self.world, self.usual
        quality = rng.lognormvariate(0.0, self.quality)
        level = w.chance(rng, self.level) if rng.random() >= self.wild else rng.gauss(0.0, 0.04)
        made = (quality * w.chance(rng, s) for s in self.shape[1:])
        return Shape(u.level + level, *(a + b for a, b in zip(u[1:], made, strict=True)))

    def job(self, number: int) -> tuple[JobRecord, list[Shape]]:
        """One job: its record, as the gauge shows the bores, and the bores as they are."""
        made = [self.bore() for _ in range(self.rng.choice(BORES))]
        series = {}
        for name, i in (("level", 0), ("taper", 1), ("barrel", 2), ("oval", 3)):
            u = self.gauge * (0.4 if name == "level" else 1.0)
            series[f"made.{name}"] = sums([b[i] + self.rng.gauss(0.0, u) for b in made])
            series[f"made.{name}.noise"] = sums([u * u] * len(made))
        return JobRecord(job=f"job{number:05d}", day=float(number), cylinders=len(made), series=series), made


# -- what tools use up ---------------------------------------------------------------------------------
@dataclass
class Worn:
    """One kind of tool: how long each lasts, how much the present one has done, and what a job truly uses up of them."""

    rng: random.Random
    world: World
    life_log: float
    spread: float
    drift: float = 0.0
    life: float = 0.0
    done: float = 0.0

    def _next(self) -> None:
        self.life_log += self.rng.gauss(0.0, self.drift)
        self.life, self.done = math.exp(self.life_log + self.world.chance(self.rng, self.spread)), 0.0

    def work(self, amount: float, whole: bool) -> tuple[list[float], bool, float]:
        """Do so much: what each tool did, whether the first was fresh, and the tools used up (whole ones and parts).
        ``whole``: in steps of one, and a tool that is due is changed before the step."""
        did, fresh, used, left = list[float](), False, 0.0, amount
        while left > 1e-12:
            if self.life <= 0.0 or self.done >= self.life - 1e-9:
                self._next()
                if whole:
                    self.life = float(max(1, round(self.life)))
                fresh = fresh or not did
                did.append(0.0)
            elif not did:
                did.append(0.0)
            step = min(left, self.life - self.done)
            self.done += step
            did[-1] += step
            used += step / self.life
            left -= step
        return did, fresh, used


@dataclass
class ToolShop:
    """Edges and stones of one shop, and how many passes it cuts against its plans."""

    rng: random.Random
    world: World
    edge: Worn
    set_of_stones: Worn
    over_log: float
    over_spread: float

    @classmethod
    def drawn(cls, rng: random.Random, world: World) -> ToolShop:
        wide = 1.4 if world.heavy else 1.0
        edge = Worn(rng, world, math.log(6.0) + rng.gauss(0.0, 0.45 * wide), 0.3 * wide, 0.05 if world.heavy else 0.0)
        stones = Worn(rng, world, math.log(40.0) + rng.gauss(0.0, 0.6 * wide), 0.3 * wide)
        return cls(rng, world, edge, stones, rng.gauss(0.12, 0.15 * wide), 0.2 * wide)

    def job(self, number: int) -> tuple[JobRecord, tuple[int, int, float], tuple[float, float]]:
        """One job: its record; (bores, passes planned, cm³ planned); and what it truly used up of edges and of stones."""
        rng = self.rng
        bores = rng.choice(BORES)
        each = rng.choice((2, 3, 3, 4))
        own = self.world.chance(rng, self.over_spread)
        made = [
            max(1, round(each * math.exp(self.over_log + own + self.world.chance(rng, self.over_spread / 2.0))))
            for _ in range(bores)
        ]
        edges, fresh, used = self.edge.work(float(sum(made)), whole=True)
        planned = bores * rng.uniform(0.6, 1.6)
        taken, new, sets = self.set_of_stones.work(planned * math.exp(self.world.chance(rng, 0.1)), whole=False)
        record = JobRecord(
            job=f"job{number:05d}",
            day=float(number),
            cylinders=bores,
            edges=Edges(tuple(round(n) for n in edges), fresh),
            stones={"220": Stones(tuple(taken), tuple(100.0 * t for t in taken), new)},
            series={"passes.over": sums([math.log(n / each) for n in made])},
        )
        return record, (bores, bores * each, planned), (used, sets)
