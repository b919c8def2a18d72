"""How long a verdict takes: the quick check, and a job of 4 cylinders, 3 depths and 2 axes.

Prints milliseconds of processor time (median and best of many runs). Run from the top folder:
``python -m tests.bench.verdict``.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from logic.oversize import quick
from store.documents import Reading
from store.flow import work_of
from store.sheets import all_sheets, bores, oversize
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


def keys() -> tuple[float, float]:
    """(median, 95th percentile) of the verdict after each of a job's readings, entered one after the other."""
    whole = job().document()
    step = next(s for s in all_sheets() if s.key == "oversize")
    readings = [e for e in whole.entries if isinstance(e, Reading) and e.what == bores.READING.key]
    rest = [e for e in whole.entries if e not in readings]
    taken = []
    for count in (False, True):  # the first round does not count
        view = View(whole.model_copy(update={"entries": tuple(rest)}))
        work_of(view, step)
        for n in range(1, len(readings) + 1):
            document = whole.model_copy(update={"entries": (*rest, *readings[:n])})
            start = time.process_time()
            view.take(document)
            work_of(view, step)
            if count:
                taken.append((time.process_time() - start) * 1e3)
    return statistics.median(taken), statistics.quantiles(taken, n=20)[-1]


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
    median, most = keys()
    print(f"{'the step held against its doubts, a reading':45} {median:8.2f} ms median {most:8.2f} ms 95th percentile")


if __name__ == "__main__":
    main()
