"""How many sweeps a choice takes: following the advice, against going through the bores in turn.

Random jobs whose wear is on an unknown side, with a hidden truth; a sweep reads the clean-up
diameter with its own error. Prints the mean number of sweeps until nothing is left to settle,
and how often the step then chosen cleans up; then the same of answers in general that are too
close to call (:mod:`logic.settle`), in minutes. Run: ``python -m tests.bench.measure_next [jobs]``.
"""

from __future__ import annotations

import math
import random
import sys

from logic import settle
from logic.bore import WornBore
from logic.cleanup import WearSide, clean_up, from_sweep
from logic.measure_next import U_SWEPT_MM, Measured, advise, least_loss
from logic.say import L
from logic.uncertainty import normal_cdf

D = 76.2
STEPS = [D + s - 0.0762 for s in (0.254, 0.508, 0.762, 1.016, 1.524)]


def bore(cylinder: int, wear: float) -> Measured:
    worn = WornBore(
        cylinder=cylinder,
        depths_mm=(14.0, 55.0, 115.0),
        axes=("thrust", "crank"),
        d_mm=((D + wear, D + wear * 0.5), (D + wear * 0.4, D + wear * 0.2), (D, D)),
        u_mm=0.004,
        u_common_mm=0.003,
        nominal_mm=D,
        ring_top_mm=12.0,
        ring_bottom_mm=110.0,
    )
    side = WearSide()
    return Measured(clean_up(worn, side), worn, side)


def sweeps(wears: list[float], truth: dict[int, float], rng: random.Random, *, follow: bool) -> tuple[int, bool]:
    """How many sweeps it took, and whether the step then chosen cleans up."""
    jobs = {c: bore(c, w) for c, w in enumerate(wears, 1)}
    for done in range(len(jobs) + 1):
        advice = advise(list(jobs.values()), STEPS, u_bored_mm=0.005, wanted=0.95)
        left = [c for c, m in jobs.items() if m.cleanup.source != "swept"]
        if not advice or not left:
            chances = [1.0] * len(STEPS)
            for m in jobs.values():
                chances = [p * m.cleanup.probability(b, 0.005) for p, b in zip(chances, STEPS, strict=True)]
            best = least_loss(chances, 0.95)[1]
            return done, STEPS[best] + 0.012 >= max(truth.values())
        c = advice[0].cylinder if follow and advice[0].cylinder in left else left[0]
        read = truth[c] + rng.gauss(0, U_SWEPT_MM)
        jobs[c] = Measured(from_sweep(c, read, U_SWEPT_MM, worst_mm=D + wears[c - 1], unworn_mm=D))
    raise AssertionError("a bore was swept twice")


def settled_after(rng: random.Random, *, follow: bool) -> tuple[float, bool]:
    """Minutes until a quantity near its limit is called in or out, and whether rightly.

    It is known through three independent errors, each of which one check brings down; the checks are made as
    :mod:`logic.settle` ranks them, or in a fixed order.
    """
    parts = {"gauge": rng.uniform(0.05, 0.4), "side": rng.uniform(0.02, 0.2), "centre": rng.uniform(0.01, 0.05)}
    minutes = {"centre": 3.0, "side": 4.0, "gauge": 5.0}
    u = math.hypot(*parts.values())
    mean = rng.gauss(0.0, 1.2 * u)
    true = {k: rng.gauss(0.0, v) for k, v in parts.items()}
    spent, left = 0.0, dict(parts)
    truly_in = mean + sum(true.values()) > 0
    while True:
        p = normal_cdf(mean / u)
        if min(p, 1 - p) <= 0.05 or not left:
            return spent, (p > 0.5) == truly_in
        checks = {
            k: settle.Check(L("{k}", k=k), minutes[k], math.sqrt(max(1e-9, u * u - v * v + (0.2 * v) ** 2)))
            for k, v in left.items()
        }
        ranked = settle.ranked(mean, u, checks.values())
        if follow and not ranked:  # nothing is worth a minute: left open
            return spent, True
        key = next(k for k in checks if not follow or checks[k] is ranked[0].check)
        key = key if follow else next(k for k in minutes if k in left)
        seen = true[key] + rng.gauss(0.0, 0.2 * left[key])
        mean += seen / (1 + 0.2**2)
        u = math.sqrt(max(1e-9, u * u - left[key] ** 2 * (1 - 0.2**2 / (1 + 0.2**2))))
        spent += minutes[key]
        del left[key]


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    for name, follow in (("in turn", False), ("as advised", True)):
        rng = random.Random(11)
        taken, clean = [], 0
        for _ in range(count):
            wears = [rng.uniform(0.1, 0.38) for _ in range(4)]
            truth = {c: D + 2 * rng.uniform(0.5, 1.0) * w for c, w in enumerate(wears, 1)}
            n, ok = sweeps(wears, truth, random.Random(rng.random()), follow=follow)
            taken.append(n)
            clean += ok
        print(f"{name:12} {sum(taken) / count:5.2f} sweeps of 4 bores, {100 * clean / count:.0f} % clean up as chosen")
    for name, follow in (("fixed order", False), ("as advised", True)):
        done = [settled_after(random.Random(f"settle/{i}"), follow=follow) for i in range(20 * count)]
        taken, right = sum(m for m, _ in done) / len(done), sum(ok for _, ok in done) / len(done)
        print(f"{name:12} {taken:5.2f} minutes until called or left open, {100 * right:.0f} % rightly")


if __name__ == "__main__":
    main()
