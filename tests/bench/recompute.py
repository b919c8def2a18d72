"""How many times a step is worked out anew, and how long it takes, for one entry into a finished job.

For each kind of entry: the job is filled and shown once; the entry is taken in; then the
flow is asked for and what the entry changed, as the app does. Counted are the runs of the
steps' work, and the facts worked out below them. Prints one line for each kind of entry.

    python -m tests.bench.recompute
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import replace

from store import flow
from store.documents import Note, Reading
from store.sheets import all_sheets
from store.view import View
from tests import sample


def counted(runs: Counter[str]) -> tuple:
    """Every step, its work counted."""

    def one(sheet):
        def work(view):
            runs[sheet.key] += 1
            return sheet.work(view)

        return replace(sheet, work=work)

    return tuple(one(s) for s in all_sheets())


def job() -> View:
    """The demo job with its kit."""
    documents = sample.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    return View(next(d for d in documents if d.type == "job"), kit)


def stamp_after(view: View) -> str:
    last = max(e.stamp for e in view.entries.values())
    return f"{int(last[:13]) + 60_000:013d}{last[13:]}"


def reading(view: View, what: str) -> Reading:
    return next(e for e in view.live() if isinstance(e, Reading) and e.what == what)


def corrected(view: View, what: str, by: float) -> Reading:
    """A reading of the job, corrected by ``by``."""
    old = reading(view, what)
    typed = old.typed.model_copy(update={"value": old.typed.value + by, "text": "corrected"})
    return old.model_copy(update={"id": "corrected0", "stamp": stamp_after(view), "replaces": old.id, "typed": typed})


def note(view: View) -> Note:
    return Note(id="anote00000", stamp=stamp_after(view), device="aaaaaaaa", text="free words")


ENTRIES = {
    "a note": note,
    "a bore reading corrected by 0.02 mm": lambda v: corrected(v, "bore.reading", 0.02),
    "a bore reading corrected to the same": lambda v: corrected(v, "bore.reading", 0.0),
    "a wall reading corrected by 0.05 mm": lambda v: corrected(v, "wall.reading", -0.05),
    "a clamp's torque corrected by 1 N·m": lambda v: corrected(v, "clamp.torque", 1.0),
}


def main() -> None:
    """Print the figures."""
    for name, make in ENTRIES.items():
        view, runs = job(), Counter()
        sheets = counted(runs)
        flow.flow(view, sheets)
        try:
            entry = make(view)
        except StopIteration:
            print(f"{name:45} the demo job has none")
            continue
        runs.clear()
        begun = time.process_time()
        view.add(entry)
        flow.flow(view, sheets)
        flowed = sum(runs.values())
        mid = time.process_time()
        flow.ripple(flow.without(view, [entry.id]), view, sheets)
        ended = time.process_time()
        most = max(runs.values(), default=0)
        print(
            f"{name:45} {sum(runs.values()):3d} runs of a step's work ({flowed} for the flow, at most {most} of one step), "
            f"{(mid - begun) * 1000:6.0f} ms for the flow, {(ended - mid) * 1000:6.0f} ms for what it changed"
        )
    sys.stdout.flush()


if __name__ == "__main__":
    main()
