"""How long a verdict takes: the quick check, and a job of 4 cylinders, 3 depths and 2 axes.

Prints milliseconds of processor time (median and best of many runs). Run from the top folder:
``python -m tests.bench.verdict``.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from logic.oversize import quick
from store.sheets import bores, oversize
from store.view import View
from tests.store.test_bores import job

RUNS = 60


def milliseconds(work: Callable[[], object]) -> tuple[float, float]:
    """(median, best) of :data:`RUNS` runs after one that does not count."""
    work()
    taken = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        taken.append((time.process_time() - start) * 1e3)
    return statistics.median(taken), min(taken)


def main() -> None:
    unknown, known = job().document(), job(sides=("even", "one side", "even", "even")).document()
    cases = {
        "quick check": lambda: quick(76.2, 76.5683),
        "worn bores of a job, from its log": lambda: bores.worn_bores(View(unknown)),
        "verdict of a job, nothing known of the sides": lambda: oversize.choice(View(unknown)),
        "verdict of a job, all sides known": lambda: oversize.choice(View(known)),
        "the whole step, as shown": lambda: oversize.work(View(unknown)),
    }
    for name, work in cases.items():
        median, best = milliseconds(work)
        print(f"{name:45} {median:8.2f} ms median {best:8.2f} ms best")


if __name__ == "__main__":
    main()
