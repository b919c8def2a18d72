"""How often a bore cleans up against how often it was said to: in worlds with a hidden truth.

Each job is one worn bore made up here, its wall known point by point. It is measured with a
gauge (and in some worlds an indicator on the spindle) whose errors have the spreads that are
entered, the app's own code answers, and at each stated chance the size it names is held
against the cut that really cleans the bore about the axis on which the bar really stands.

    python -m tests.bench.calibration_cleanup [jobs per world]

A line per world: how often the bore is clean at the sizes said to do it with 5, 35, 65 and
95 %. More often than said is the safe side. Where the top face was not measured it leans as
faces do, unless a world says that it is square.
"""

from __future__ import annotations

import argparse
import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from logic.cleanup_chance import UNMEASURED_SLOPE, CleanUp
from store.sheets import bores, oversize
from store.sheets import sweep as sweep_sheet
from tests.bench.calibrated import Held, Trial
from tests.store.making import Making

LENGTH, TOP, BOTTOM = 130.0, 10.0, 110.0
ALPHA, ALPHA_GAUGE = 11e-6, 11.5e-6
CHANCES = (0.05, 0.35, 0.65, 0.95)
#: Standard uncertainties entered, and true, mm and °C.
REPEAT, MASTER, DIVISION, BLOCK_U, CENTRING = 0.004, 0.003, 0.005, 1.0, 0.01
SWEEP_U, SWEEP_ZERO_U, HEIGHT_U = 0.005, 0.006, 0.01
#: How far the wear strays from its law, as a natural logarithm, and over what length, mm.
STRAY, KNOT_MM = 0.1, 20.0


@dataclass
class Truth:
    """One bore at 20 °C, and how the bar stands in it. Angles run from the front, 90° is the thrust axis."""

    rng: random.Random
    wear: float = 0.2
    crank: float = 0.5
    share: float = 0.5
    crank_share: float = 0.5
    fade: float = 45.0
    unworn: float = 76.2
    lean: tuple[float, float] = (0.0, 0.0)  # (to the front, to the left) over the length
    block_c: float = 20.0
    miss: tuple[float, float] = (0.0, 0.0)
    side: str = "unknown"
    depths: tuple[float, ...] = (12.0, 55.0, 118.0)
    face: bool = False
    swept: tuple[float, ...] = ()
    centre: tuple[float, float] = field(default=(0.0, 0.0))
    # so far below the start of travel it wears alike
    flat_mm: float = 2.0
    # by how much the wear strays from its law every KNOT_MM down the bore, as a logarithm
    strays: tuple[float, ...] = ()

    def worn_mm(self, depth: float) -> float:
        if not TOP <= depth <= BOTTOM:
            return 0.0
        return self.wear * math.exp(self.stray(depth) - max(0.0, depth - TOP - self.flat_mm) / self.fade)

    def stray(self, depth: float) -> float:
        if not self.strays:
            return 0.0
        n, part = divmod((depth - TOP) / KNOT_MM, 1.0)
        return self.strays[int(n)] * (1.0 - part) + self.strays[int(n) + 1] * part

    def d(self, depth: float, axis: str) -> float:
        return self.unworn + self.worn_mm(depth) * (1.0 if axis == "thrust" else self.crank)

    def wall(self, depth: float, angle: Any) -> Any:
        """Distance from the unworn bore's axis to the wall, an oval between the four sides."""
        x, y, w = np.cos(angle), np.sin(angle), self.worn_mm(depth)
        left = np.where(y > 0, self.share, 1 - self.share) * w
        front = np.where(x > 0, self.crank_share, 1 - self.crank_share) * w * self.crank
        return self.unworn / 2 + y * y * left + x * x * front

    def clean_mm(self, centred_mm: float = LENGTH) -> float:
        """The cut that cleans the bore about the bar as it stands."""
        angle = np.radians(np.arange(0, 360, 3))
        most = 0.0
        for depth in (0.0, TOP - 0.1, TOP, 12.0, 20.0, 30.0, 40.0, 55.0, 70.0, 90.0, BOTTOM, LENGTH):
            lever = (depth - centred_mm) / LENGTH
            x = self.centre[0] + self.miss[0] + self.lean[0] * lever
            y = self.centre[1] + self.miss[1] + self.lean[1] * lever
            r = self.wall(depth, angle)
            most = max(most, float(np.hypot(r * np.cos(angle) - x, r * np.sin(angle) - y).max()))
        return 2 * most


def truth(rng: random.Random, **more: Any) -> Truth:
    miss = (rng.gauss(0, CENTRING), rng.gauss(0, CENTRING))
    made = Truth(rng, wear=rng.uniform(0.08, 0.3), crank=rng.uniform(0.3, 0.9), miss=miss)
    made.unworn = 76.2 + rng.gauss(0.005, 0.003)
    made.fade = 45.0 * math.exp(rng.gauss(0, 0.3))
    made.lean = (rng.gauss(0, UNMEASURED_SLOPE * LENGTH), rng.gauss(0, UNMEASURED_SLOPE * LENGTH))
    for name, value in more.items():
        setattr(made, name, value)
    return made


# -- worlds -----------------------------------------------------------------------------------
def unknown(rng: random.Random) -> Truth:
    """The side of the wear anywhere between even and all on one side."""
    share = rng.uniform(0.5, 1.0)
    return truth(rng, share=share, crank_share=share)


def one_sided(rng: random.Random) -> Truth:
    return truth(rng, share=1.0, crank_share=rng.uniform(0.5, 1.0), side="one side")


def even(rng: random.Random) -> Truth:
    """Even wear: a bar off centre harms whichever way it stands off."""
    return truth(rng, side="even")


def even_all_round(rng: random.Random) -> Truth:
    return truth(rng, side="even", crank=1.0)


def leaning(rng: random.Random) -> Truth:
    """A face out of square, measured; the side of the wear unknown."""
    share = rng.uniform(0.5, 1.0)
    lean = (rng.gauss(0, 0.03), rng.gauss(0, 0.03))
    return truth(rng, share=share, crank_share=share, lean=lean, face=True)


def leaning_even(rng: random.Random) -> Truth:
    return truth(rng, side="even", lean=(rng.gauss(0, 0.03), rng.gauss(0, 0.03)), face=True)


def square_even(rng: random.Random) -> Truth:
    """A face that is square, though nobody measured it."""
    return truth(rng, side="even", lean=(0.0, 0.0))


def hot(rng: random.Random) -> Truth:
    share = rng.uniform(0.5, 1.0)
    return truth(rng, share=share, crank_share=share, block_c=60.0)


def strays(rng: random.Random) -> tuple[float, ...]:
    """No bore wears by one law all the way down: within ten per cent or so of it."""
    return tuple(rng.gauss(0, STRAY) for _ in range(int((BOTTOM - TOP) / KNOT_MM) + 2))


def missed(rng: random.Random) -> Truth:
    """The first reading well below the start of ring travel; above it the wear keeps its law, and grows no more at the top."""
    return truth(rng, side="even", depths=(round(rng.uniform(22, 32), 1), 60.0, 118.0))


def missed_straying(rng: random.Random) -> Truth:
    """The same, the wear growing up to the start of travel and straying from its law, as it is said to."""
    t = missed(rng)
    t.strays, t.flat_mm = strays(rng), 0.0
    return t


def swept(rng: random.Random) -> Truth:
    """Swept at the top, the middle and below travel, cut at the centre advised."""
    share = rng.uniform(0.5, 1.0)
    return truth(rng, share=share, crank_share=rng.uniform(0.3, 0.7), swept=(12.0, 55.0, 118.0))


def swept_middle(rng: random.Random) -> Truth:
    """Swept in the middle and below only; the gauge read more at the top."""
    share = rng.uniform(0.5, 1.0)
    return truth(rng, share=share, crank_share=0.5, swept=(55.0, 118.0))


def swept_low_leaning(rng: random.Random) -> Truth:
    """Swept below the worst only, on a face out of square that was measured."""
    t = swept_middle(rng)
    t.lean, t.face = (rng.gauss(0, 0.03), rng.gauss(0, 0.03)), True
    return t


def swept_low_one_side(rng: random.Random) -> Truth:
    """Swept below the worst only, all the wear on one side."""
    t = swept_middle(rng)
    t.share = 1.0
    return t


def swept_low_even(rng: random.Random) -> Truth:
    """Swept below the worst only, the wear even."""
    t = swept_middle(rng)
    t.share = 0.5
    return t


def swept_missed(rng: random.Random) -> Truth:
    """Swept wherever the gauge read, but neither went up to the start of ring travel."""
    depths = (round(rng.uniform(22, 32), 1), 60.0, 118.0)
    return truth(rng, share=rng.uniform(0.5, 1.0), crank_share=0.5, depths=depths, swept=depths)


def swept_missed_straying(rng: random.Random) -> Truth:
    """The same, the wear as in :func:`missed_straying`."""
    t = swept_missed(rng)
    t.strays, t.flat_mm = strays(rng), 0.0
    return t


def swept_twice(rng: random.Random) -> Truth:
    """Swept at two depths below the worst and below travel: the side of the wear shows twice."""
    share = rng.uniform(0.5, 1.0)
    return truth(rng, share=share, crank_share=0.5, depths=(12.0, 40.0, 65.0, 118.0), swept=(40.0, 65.0, 118.0))


WORLDS: dict[str, Callable[[random.Random], Truth]] = {
    "side unknown": unknown,
    "one side": one_sided,
    "even, bar off centre": even,
    "even all round, bar off centre": even_all_round,
    "leaning face, side unknown": leaning,
    "leaning face, even": leaning_even,
    "hot block": hot,
    "top of travel not read": missed_straying,
    "swept": swept,
    "swept below the worst only": swept_middle,
    "swept below the worst only, leaning face measured": swept_low_leaning,
    "swept below the worst only, at two depths": swept_twice,
    "swept, top of travel not seen": swept_missed_straying,
}
#: Worlds that are not the one a chance is stated for: what is so where the truth lies at one end of what may be.
OTHERWISE: dict[str, Callable[[random.Random], Truth]] = {
    "square face, not measured, even": square_even,
    "top of travel not read, wear alike at the top and smooth below": missed,
    "swept, top of travel not seen, wear alike at the top and smooth below": swept_missed,
    "swept below the worst only, all on one side": swept_low_one_side,
    "swept below the worst only, even": swept_low_even,
}


# -- measuring ----------------------------------------------------------------------------------
def measured(t: Truth) -> Making:
    """The job as somebody enters it."""
    rng, job = t.rng, Making(nominal=76.2, cylinders=1)
    for f, value in (
        (bores.REPEAT, REPEAT),
        (bores.MASTER_U, MASTER),
        (bores.DIVISION, DIVISION),
        (bores.BLOCK_U, BLOCK_U),
        (bores.CENTRING, CENTRING),
        (bores.LENGTH, LENGTH),
        (bores.RING_TOP, TOP),
        (bores.RING_BOTTOM, BOTTOM),
        (bores.BLOCK_C, t.block_c),
        (bores.ZERO_C, t.block_c),
    ):
        job.put(f, value)
    if t.side != "unknown":
        job.put(bores.SIDE, t.side, cylinder=1)
    block = t.block_c + rng.gauss(0, BLOCK_U) - 20.0
    alpha = ALPHA + rng.uniform(-1e-6, 1e-6)
    master = 76.2 + rng.gauss(0, MASTER)
    for n, z in enumerate(t.depths, 1):
        job.put(bores.DEPTH, z, depth=n)
        for axis in ("thrust", "crank"):
            warm = t.d(z, axis) * (1 + alpha * block) - master * (1 + ALPHA_GAUGE * (t.block_c - 20.0))
            shown = round((warm + rng.gauss(0, REPEAT)) / DIVISION) * DIVISION
            job.put(bores.READING, shown, cylinder=1, depth=n, axis=axis)
    if t.face:
        measure_face(t, job)
    if t.swept:
        measure_sweep(t, job)
    return job


def measure_face(t: Truth, job: Making) -> None:
    from store.sheets import face

    job.put(face.HEIGHT_U, HEIGHT_U)
    n = 0
    for x in (0.0, 150.0, 300.0):
        for y in (-60.0, 60.0):
            n += 1
            height = 200.0 + (t.lean[0] * x + t.lean[1] * y) / LENGTH + t.rng.gauss(0, HEIGHT_U)
            job.put(face.X, x, point=n)
            job.put(face.Y, y, point=n)
            job.put(face.HEIGHT, height, point=n)


def measure_sweep(t: Truth, job: Making) -> None:
    from store.sheets import sweep

    number = {z: n for n, z in enumerate(t.depths, 1)}
    stands = (t.rng.gauss(0, 0.03), t.rng.gauss(0, 0.03))
    zero = 76.3
    job.put(sweep.ZERO, zero + t.rng.gauss(0, SWEEP_ZERO_U), cylinder=1)
    job.put(sweep.ZERO_U, SWEEP_ZERO_U)
    job.put(sweep.READING_U, SWEEP_U)
    for z in t.swept:
        for angle in range(0, 360, 45):
            a = math.radians(angle)
            lever = (z - LENGTH) / LENGTH
            x, y = stands[0] + t.lean[0] * lever, stands[1] + t.lean[1] * lever
            out = float(t.wall(z, a)) - x * math.cos(a) - y * math.sin(a)
            job.put(sweep.READING, out - zero / 2 + t.rng.gauss(0, SWEEP_U), cylinder=1, depth=number[z], angle=angle)
    found = sweep_sheet.swept(job.view(), 1)
    t.centre = (stands[0] + found.centre_mm[0], stands[1] + found.centre_mm[1])


def _jobs(world: str, jobs: int, seed: int) -> Iterator[tuple[CleanUp, float]]:
    """What is said of each bore, and the cut that truly cleans it."""
    make = (WORLDS | OTHERWISE)[world]
    for i in range(jobs):
        t = make(random.Random(f"{seed}/{world}/{i}"))
        found = oversize.choice(measured(t).view())
        assert found is not None
        yield found.cleanups[0], t.clean_mm()


def cleaned(world: str, jobs: int, seed: int = 1) -> Iterator[Trial]:
    """Whether the bore is clean at the size said to clean it with each of :data:`CHANCES`."""
    for said, clean in _jobs(world, jobs, seed):
        for p in CHANCES:
            yield Trial(p, said.needed_mm(p) >= clean)


def ranges(world: str, jobs: int, seed: int = 1) -> Iterator[Held]:
    """Whether the range told for the clean-up diameter holds."""
    for said, clean in _jobs(world, jobs, seed):
        low, high = said.range_mm()
        yield Held(low <= clean <= high, (high - low) / 2)


def clean_at(world: str, jobs: int, seed: int = 1) -> list[float]:
    """How often the bore is clean at the size said to clean it with each of :data:`CHANCES`, then how often the told range holds."""
    good = [0] * (len(CHANCES) + 1)
    for said, clean in _jobs(world, jobs, seed):
        for k, p in enumerate(CHANCES):
            good[k] += said.needed_mm(p) >= clean
        low, high = said.range_mm()
        good[-1] += low <= clean <= high
    return [g / jobs for g in good]


def main() -> None:
    reader = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    reader.add_argument("jobs", nargs="?", type=int, default=400, help="jobs in each world")
    jobs = reader.parse_args().jobs
    print(f"{'said':50}" + "".join(f"{100 * p:7.0f} %" for p in CHANCES) + "  range of 95 %")
    for world in WORLDS | OTHERWISE:
        print(f"{world:50}" + "".join(f"{100 * p:7.1f} %" for p in clean_at(world, jobs)), flush=True)
    print(f"each figure is known to about {100 * math.sqrt(0.25 / jobs):.1f} points (one standard deviation)")


if __name__ == "__main__":
    main()
