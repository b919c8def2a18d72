"""Stated chances and ranges against a hidden truth: the estimate of a job, walls about a swept centre, a gauge's ±.

Worlds for time and price, the walls that a swept cut leaves, how good one reading is said to be, and the strokes
told after a single stretch under the hone. Run with those of :mod:`tests.bench.calibration`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from logic import capability, cards, estimate, hone_progress, material, setting, walls
from logic import machine_record as record
from logic.centring import WallRoom, centring
from logic.conformance import BoreLimits, Spot
from logic.job_record import JobRecord
from logic.pooling import sums
from logic.sweep_readings import Reading
from logic.wall_gauge import Piece, calibration
from tests.bench.calibrated import Held, Trial

__all__ = ["INTERVALS", "WORLDS"]

#: The minutes that the steps of a job of four bores are said to take, and which of them a shop's record tells of.
_STEPS = (("strip", 90.0), ("bores", 16.0), ("face", 20.0), ("sweep", 25.0), ("cut", 180.0), ("hone", 60.0))
_TOLD, _BORES = ("bores", "cut", "hone"), 4


# -- time and price ---------------------------------------------------------------------------------
def _people(rng: random.Random) -> dict[str, float]:
    """How long one person takes for a bore in each step that is timed, as a logarithm of minutes."""
    return {s: math.log(record._STEPS_MIN[s]) + rng.gauss(0, 0.5) for s in _TOLD}


def _worked(rng: random.Random, usual: dict[str, float], spread: float, between: float) -> dict[str, list[float]]:
    """The logarithms of the minutes of each bore in one job: what the job shares, its steps', its bores' own."""
    shared = rng.gauss(0, 0.12)
    return {
        s: [mean + rng.gauss(0, spread) for _ in range(_BORES)]
        for s, level in usual.items()
        for mean in (level + shared + rng.gauss(0, between),)
    }


def _job(rng: random.Random, jobs: int) -> tuple[list[estimate.Time], float]:
    """The times told of one job after so many others, and the minutes that it truly takes.

    A step that nobody timed takes about what is usual, skewed to more; what all steps share is drawn once.
    """
    usual, spread = _people(rng), 0.3 * rng.lognormvariate(0, 0.3)
    between = 0.2 * rng.lognormvariate(0, 0.3)
    made = []
    for n in range(jobs):
        series = {f"minutes.{s}": sums(rows) for s, rows in _worked(rng, usual, spread, between).items()}
        made.append(JobRecord(job=f"j{n}", day=float(n), cylinders=_BORES, series=series))
    now = _worked(rng, usual, spread, between)
    told, true = [], 0.0
    common = 1.0 + rng.gauss(0, 0.15)
    for step, minutes in _STEPS:
        if jobs and step in _TOLD:
            mean, sd = record.minutes_of_job(made, step, _BORES)
            told.append(estimate.Time(step, mean, sd, known=True))
            true += math.fsum(math.exp(v) for v in now[step])
        else:
            told.append(estimate.stated(step, minutes))
            true += common * minutes * 1.15 * rng.lognormvariate(-0.03, 0.25)
    return told, true


def hours(trials: int, seed: int, jobs: int) -> Iterator[Held]:
    """The range of a job's time (90 %)."""
    for i in range(trials):
        told, true = _job(random.Random(f"{seed}/hours/{i}"), jobs)
        found = estimate.total(told)
        yield Held(found.low <= true <= found.high, (found.high - found.low) / 2.0)


def paid(trials: int, seed: int, jobs: int) -> Iterator[Held]:
    """The range of a job's price (90 %): hours, bores, parts, edges and stones."""
    for i in range(trials):
        rng = random.Random(f"{seed}/paid/{i}")
        told, true = _job(rng, jobs)
        life = material.Life(math.log(6.0), 0.2, 0.3)
        used = material.edges(material.asked(14.0, 0.2), life)
        level = life.mean_log + rng.gauss(0, life.u_log)
        passes, edges = 14.0 * math.exp(rng.gauss(0, 0.2)), 0.0
        first = True
        while passes > 0.0:  # the edge in use lasts longer than most, and a part of it is gone
            lasts = math.exp(level + (0.3**2 if first else 0.0) + rng.gauss(0, 0.3))
            step = min(passes, lasts * (rng.random() if first else 1.0))
            edges, passes, first = edges + step / lasts, passes - step, False
        price = estimate.Price(per_hour=60.0, per_bore=20.0, parts=400.0, per_edge=6.0)
        found = estimate.estimate(told, price, _BORES, [used])
        low, high = (found.figure(k).value for k in ("price_low", "price_high"))
        cost = true + 20.0 * _BORES + 400.0 * (1.0 + rng.gauss(0, 0.1)) + 6.0 * edges
        yield Held(low <= cost <= high, (high - low) / 2.0)


# -- walls about a swept centre ---------------------------------------------------------------------
LEVELS = (0.05, 0.35, 0.65, 0.95)


def _kept_with(w: WallRoom, chance: float) -> float:
    """The minimum that a wall is said to keep with a chance, mm."""
    low, high = w.left_mm - 8 * w.u_mm, w.left_mm + 8 * w.u_mm
    for _ in range(40):
        middle = (low + high) / 2
        found = walls.chance_kept(w.left_mm, w.u_mm, replace(w.place, minimum_mm=middle))
        low, high = (middle, high) if found > chance else (low, middle)
    return low


def swept_walls(trials: int, seed: int, u_centring: float, *, thinnest: bool = False) -> Iterator[Trial]:
    """Whether a wall (any of them, or the thinnest said) keeps its minimum when the bore is cut about the swept centre
    to the size that cleans it up. The bore is worn to one side at the top, the bar is set as well as it can be. One wall
    of each job is looked at, since those of one job share the gauge's error: at the minima that are said to be kept with
    5, 35, 65 and 95 %.
    """
    d, depths, around = 76.2, (14.0, 60.0, 115.0), tuple(45.0 * k for k in range(8))
    for i in range(trials):
        rng = random.Random(f"{seed}/swept/{i}")
        wear, share, fade = rng.uniform(0.1, 0.35), rng.uniform(0.5, 1.0), (1.0, 0.45, 0.0)
        off = (rng.gauss(0, 0.05), rng.gauss(0, 0.05))  # where the bore stands from the spindle

        def wall_at(angle: float, k: float, off=off, wear=wear, share=share) -> float:
            a = math.radians(angle)
            c, s = math.cos(a), math.sin(a)
            out = wear * k * s * s * (share if s > 0 else 1.0 - share) + 0.3 * wear * k * c * c * 0.5
            return d / 2 + out + off[0] * c + off[1] * s

        zero = d + rng.gauss(0, 0.006)
        read = [
            Reading(z, a, wall_at(a, k) - zero / 2 + rng.gauss(0, 0.005))
            for z, k in zip(depths, fade, strict=True)
            for a in around
        ]
        shown_by = 1.0 / rng.uniform(0.62, 0.95)
        gauge = calibration([Piece(k + rng.gauss(0, 0.01), k * shown_by + rng.gauss(0, 0.05)) for k in (5.0, 8.0)])
        places, outside = [], []
        for angle in (0.0, 90.0, 180.0, 270.0):
            thick = rng.uniform(2.75, 3.75)
            shown = thick * shown_by + rng.gauss(0, 0.05)
            got = gauge.correct(shown, 0.05)
            places.append(
                walls.WallPlace(
                    name=f"{angle:.0f}",
                    angle_deg=angle,
                    wall_mm=got.value,
                    u_mm=got.u or 0.0,
                    bore_mm=d,
                    states=gauge.states(shown),
                )
            )
            outside.append(
                thick + wall_at(angle, rng.uniform(0.0, 1.0))
            )  # the height of the wall's reading is not known
        found = centring(read, zero_mm=d, u_zero_mm=0.006, u_reading_mm=0.005, u_centring_mm=u_centring, walls=places)
        x, y = (c + rng.gauss(0, u_centring) for c in found.centre_mm)
        cut = found.clean_mm + rng.gauss(0, 0.005)
        kept = []
        for w, out in zip(found.walls, outside, strict=True):
            a = math.radians(w.place.angle_deg)
            kept.append(out - x * math.cos(a) - y * math.sin(a) - cut / 2.0)
        n = min(range(4), key=lambda n: found.walls[n].chance) if thinnest else i % 4
        for p in LEVELS:
            yield Trial(p, kept[n] >= _kept_with(found.walls[n], p))


# -- a gauge before the first reading ------------------------------------------------------------------
def one_reading(trials: int, seed: int, gauge: capability.Gauging) -> Iterator[Held]:
    """How good one reading is said to be (95 %), before anything is read: zeroed and read to the dial's division."""
    target, limits = 77.0, BoreLimits(lower_mm=76.987, upper_mm=77.013, round_mm=0.013, taper_mm=0.013)
    places = [Spot(d, axis, z, target, 1) for d, z in enumerate((12.0, 60.0, 110.0), 1) for axis in ("thrust", "crank")]
    told = capability.capability(places, limits, target_mm=target, gauging=gauge).figure("expanded").value
    step = gauge.division_mm
    for i in range(trials):
        rng = random.Random(f"{seed}/one/{i}")
        true, ring = target + rng.gauss(0, 0.01), target + rng.uniform(-0.05, 0.05)
        at_zero = rng.gauss(0, gauge.shared_mm) + rng.uniform(-0.5, 0.5) * step
        shown = ring + round((true - ring + at_zero + rng.gauss(0, gauge.repeat_mm)) / step) * step
        yield Held(abs(shown - true) <= told, told)


# -- the hone after one stretch -------------------------------------------------------------------------
def first_forecast(trials: int, seed: int, change: float) -> Iterator[Held]:
    """The strokes left after a single stretch of ten, of stones that then bite otherwise by ``change`` (log)."""
    for i in range(trials):
        rng = random.Random(f"{seed}/first/{i}")
        takes = rng.uniform(0.0007, 0.002)
        checks = [
            hone_progress.Check(
                k,
                strokes,
                tuple((z, 76.94 + takes * strokes + rng.gauss(0, 0.0015)) for z in (12.0, 60.0, 110.0)),
                "280" if k > 1 else "",
            )
            for k, strokes in ((1, 0), (2, 10))
        ]
        found = hone_progress.progress(checks, 77.0, band_mm=0.006, u_mm=0.0015)
        if found.strokes is not None:
            left = (77.0 - 76.94 - 10 * takes) / (takes * math.exp(rng.gauss(0.0, change)))
            low, _, high = found.strokes
            yield Held(low <= left <= high, (high - low) / 2.0)


# -- the ± beside what was found -----------------------------------------------------------------------
def shown_error(trials: int, seed: int, checks: int, drift: bool = False) -> Iterator[Held]:
    """The ± of an instrument's present error (or of its ``drift``), after so many checks against one master."""
    for i in range(trials):
        rng = random.Random(f"{seed}/shown/{i}")
        error, spread = rng.gauss(0, 0.004), 0.00075 * rng.lognormvariate(0, 0.5)
        moves, master = rng.gauss(0, 5e-5) if drift else 0.0, rng.gauss(0, 0.001)
        made = [
            cards.Check(30.0 * k, round((error + moves * 30.0 * k - master + rng.gauss(0, spread)) / 0.001) * 0.001)
            for k in range(checks)
        ]
        found = cards.errors(made, division_mm=0.001, limit_mm=0.005, master_u_mm=0.001)
        if not drift:
            off, half = error + moves * 30.0 * (checks - 1) - found.present_mm, 2 * found.u_mm
            yield Held(abs(off) <= half, half)
        elif found.drift_mm_per_day is not None and found.u_drift_mm_per_day is not None:
            half = 2 * found.u_drift_mm_per_day
            yield Held(abs(found.drift_mm_per_day - moves) <= half, half)


def shown_size(trials: int, seed: int) -> Iterator[Held]:
    """The ± of a bore's size under the hone, the gauge's repeatability known to about a quarter."""
    for i in range(trials):
        rng = random.Random(f"{seed}/shown_size/{i}")
        u, true, shared = 0.0015 * math.sqrt(8.0 / rng.gammavariate(4.0, 2.0)), 76.97, rng.gauss(0, 0.001)
        sizes = tuple((z, true + shared + rng.gauss(0, u)) for z in (12.0, 60.0, 110.0))
        found = hone_progress.progress(
            [hone_progress.Check(1, 0, sizes)], 77.0, band_mm=0.006, u_mm=0.0015, u_shared_mm=0.001
        ).value
        assert found is not None and found.u is not None
        yield Held(abs(found.value - true) <= 2 * found.u, 2 * found.u)


def not_worn(trials: int, seed: int, cuts: int) -> Iterator[Held]:
    """Bars whose edge does not wear that are not called wearing (said with 97.5 %)."""
    for i in range(trials):
        rng = random.Random(f"{seed}/not_worn/{i}")
        spread = 0.006 * rng.lognormvariate(0, 0.4)
        made = [setting.Pair(76.5, 76.51 + rng.gauss(0, spread)) for _ in range(cuts)]
        yield Held(setting.wearing(made) is None, 0.0)


def _gauges() -> Sequence[capability.Gauging]:
    return (
        capability.Gauging(division_mm=0.0127, repeat_mm=0.003, shared_mm=0.003),
        capability.Gauging(division_mm=0.00254, repeat_mm=0.0015, shared_mm=0.002),
    )


WORLDS: dict[str, Callable[[int], Iterator[Trial]]] = {
    "walls about a swept centre": lambda n: swept_walls(n, 80, 0.01),
    "walls about a swept centre, the thinnest": lambda n: swept_walls(n, 81, 0.01, thinnest=True),
    "walls about a swept centre, the bar hard to set": lambda n: swept_walls(n, 82, 0.04),
}
INTERVALS: dict[str, Callable[[int], Iterator[Held]]] = {
    "time of a job, nothing timed yet (90 %)": lambda n: hours(n, 90, 0),
    "time of a job, 3 jobs timed (90 %)": lambda n: hours(n // 4, 91, 3),
    "time of a job, 20 jobs timed (90 %)": lambda n: hours(n // 4, 92, 20),
    "price of a job, nothing timed yet (90 %)": lambda n: paid(n, 93, 0),
    "price of a job, 20 jobs timed (90 %)": lambda n: paid(n // 4, 94, 20),
    "one reading, half-thou gauge": lambda n: one_reading(n, 95, _gauges()[0]),
    "one reading, tenth gauge": lambda n: one_reading(n, 96, _gauges()[1]),
    "instrument's error, ± after two checks": lambda n: shown_error(n, 99, 2),
    "instrument's error, ± after five checks": lambda n: shown_error(n, 100, 5),
    "instrument's drift, ± after five checks": lambda n: shown_error(n, 101, 5, drift=True),
    "size under the hone, ±": lambda n: shown_size(n, 102),
    "edge not wearing, not called so (97 %)": lambda n: not_worn(n, 103, 5),
    "hone, one stretch, steady stones, strokes": lambda n: first_forecast(n, 97, 0.0),
    "hone, one stretch, bite changing by up to 40 %, strokes": lambda n: first_forecast(n, 98, 0.17),
}
