"""How the store grows: 5,000 jobs of 200 entries each, in files. Prints figures; nothing here can fail.

python -m tests.bench.scale [--jobs 5000] [--entries 200]
"""

from __future__ import annotations

import argparse
import asyncio
import shutil
import statistics
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path
from time import perf_counter
from typing import Any

from store.clock import join, new_id
from store.documents import Document, Reading, Stamped, Typed
from store.files import FilesBackend
from store.jobs import Jobs
from store.transfer import examine
from tests.store.support import NOW, reading


def invented(number: int, entries: int) -> Document:
    """A job as a long piece of work leaves it."""
    device = "benchdevice"
    stamps = (join(NOW + number * 1000 + n, 0, device) for n in range(entries + 4))
    header = {
        "title": Stamped(value=f"Invented job {number}", stamp=next(stamps)),
        "customer": Stamped(value=f"Customer {number % 700}", stamp=next(stamps)),
        "engine": Stamped(value=f"Invented engine {number % 40}", stamp=next(stamps)),
        "cylinders": Stamped(value=4, stamp=next(stamps)),
    }
    log = tuple(
        Reading(
            id=new_id(), stamp=stamp, device=device, by="Somebody", what="trial.reading",
            at={"cylinder": n % 4 + 1, "depth": n % 3 + 1, "axis": "thrust"},
            typed=Typed(text="3.0145", typed_unit="in", value=76.5683, unit="mm"),
        )
        for n, stamp in enumerate(stamps)
    )  # fmt: skip
    return Document(id=new_id(), header=header, entries=log)


async def timed(work: Callable[[], Awaitable[Any]], times: int) -> list[float]:
    """Milliseconds for each of several runs."""
    taken = []
    for _ in range(times):
        begun = perf_counter()
        await work()
        taken.append((perf_counter() - begun) * 1000)
    return taken


def show(what: str, taken: list[float]) -> float:
    middle = statistics.median(taken)
    print(f"  {what:<42} {middle:9.2f} ms (worst {max(taken):.2f})", flush=True)
    return middle


async def measure(sizes: list[int], entries: int, root: Path) -> None:
    stores: dict[int, Jobs] = {}
    targets: dict[int, str] = {}
    for size in sizes:
        place = root / str(size)
        filling = FilesBackend(place)
        await filling.open()
        begun, ids = perf_counter(), []
        for number in range(size):
            document = invented(number, entries)
            await filling.change(document.id, lambda present: document, lambda: "")
            ids.append(document.id)
        await filling.close()
        print(f"{size} jobs of {entries} entries (written in {perf_counter() - begun:.1f} s)")

        async def open_anew() -> None:
            stores[size] = await Jobs.open(FilesBackend(place))

        show("open", await timed(open_anew, 3))
        jobs = stores[size]
        show("list", await timed(jobs.list, 5))
        show("search for two words", await timed(lambda: jobs.list(search="invented 39"), 5))
        show("load one job, nothing held", await timed(lambda: FilesBackend(place).read(ids[size // 2]), 10))
        targets[size] = ids[size // 3]
        await jobs.load(targets[size])

    # in turns, so that whatever else the machine does falls on all alike
    saves: dict[int, list[float]] = {size: [] for size in sizes}
    for _ in range(100):
        for size in sizes:
            saves[size] += await timed(lambda: stores[size].append(targets[size], reading("3.0150")), 1)
    for size in sizes:
        show(f"save one reading with {size} jobs", saves[size])
    for size in sizes[1:]:
        ratio = statistics.median(saves[size]) / statistics.median(saves[sizes[0]])
        print(f"saving with {size} jobs against {sizes[0]}: {ratio:.2f} times")

    jobs, place = stores[sizes[-1]], root / str(sizes[-1])
    show("list after saves", await timed(jobs.list, 5))
    some = [s.id for s in await jobs.list()][:500]
    begun = perf_counter()
    data = await jobs.export(some)
    print(f"  export of {len(some)} jobs: {perf_counter() - begun:.1f} s, {len(data) / 1e6:.1f} MB")
    begun = perf_counter()
    coming = examine(data, now_ms=NOW + 10**9, fields={})
    print(f"  examining that file: {perf_counter() - begun:.1f} s")
    empty = await Jobs.open(FilesBackend(root / "empty"))
    begun = perf_counter()
    await empty.take_in(coming)
    print(f"  taking it into an empty store: {perf_counter() - begun:.1f} s")
    await jobs.close()
    shutil.rmtree(place / "index")
    show("open with the index lost", await timed(lambda: Jobs.open(FilesBackend(place)), 1))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=5000)
    parser.add_argument("--entries", type=int, default=200)
    asked = parser.parse_args()
    sizes = sorted({n for n in (10, 1000, asked.jobs) if n <= asked.jobs})
    root = Path(tempfile.mkdtemp(prefix="boreside-scale-"))
    try:
        asyncio.run(measure(sizes, asked.entries, root))
    finally:
        shutil.rmtree(root, ignore_errors=True)


if __name__ == "__main__":
    main()
