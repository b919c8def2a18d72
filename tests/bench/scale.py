"""How the store grows: 5,000 jobs, and one job of 10,000 entries. Prints figures; nothing here can fail.

    python -m tests.bench.scale [--jobs 5000] [--entries 200] [--only files|browser|length]

``files`` and ``browser`` fill a store with jobs (the browser's on a storage in memory, see
tests/store/fake_browser.py: what is measured is our own work, not the browser's) and open, list,
search, save, and open with the index lost. ``length`` saves into a short and a long job in turns.
"""

from __future__ import annotations

import argparse
import asyncio
import shutil
import statistics
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path
from time import perf_counter, process_time
from typing import Any, NamedTuple

from store.clock import join, new_id
from store.documents import Document, Reading, Stamped, Typed
from store.files import FilesBackend
from store.jobs import Jobs
from store.transfer import examine
from tests.store.fake_browser import Factory, browser
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


class Taken(NamedTuple):
    """Milliseconds by the clock, and of the processor's time: on a busy machine only the second says much."""

    clock: float
    processor: float


async def timed(work: Callable[[], Awaitable[Any]], times: int) -> list[Taken]:
    """How long each of several runs took."""
    taken = []
    for _ in range(times):
        begun, used = perf_counter(), process_time()
        await work()
        taken.append(Taken((perf_counter() - begun) * 1000, (process_time() - used) * 1000))
    return taken


def show(what: str, taken: list[Taken]) -> float:
    middle, worst = statistics.median(t.clock for t in taken), max(t.clock for t in taken)
    used = statistics.median(t.processor for t in taken)
    print(f"  {what:<42} {middle:9.2f} ms (worst {worst:.2f}; of the processor {used:.2f})", flush=True)
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
    saves: dict[int, list[Taken]] = {size: [] for size in sizes}
    for _ in range(100):
        for size in sizes:
            saves[size] += await timed(lambda: stores[size].append(targets[size], reading("3.0150")), 1)
    for size in sizes:
        show(f"save one reading with {size} jobs", saves[size])
    for size in sizes[1:]:
        ratio = statistics.median(t.clock for t in saves[size]) / statistics.median(t.clock for t in saves[sizes[0]])
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


async def browser_measure(count: int, entries: int) -> None:
    """The browser's store with many jobs."""
    factory = Factory()
    module = browser(factory)
    filling = module.BrowserBackend()
    await filling.open()
    ids = []
    for number in range(count):
        document = invented(number, entries)
        await filling.change(document.id, lambda present, document=document: document, lambda: "")
        ids.append(document.id)
    print(f"browser: {count} jobs of {entries} entries")
    opened: list[Jobs] = []

    async def open_anew() -> None:
        opened.append(await Jobs.open(module.BrowserBackend()))

    show("open", await timed(open_anew, 3))
    jobs = opened[-1]
    show("list", await timed(jobs.list, 5))
    show("search for two words", await timed(lambda: jobs.list(search="invented 39"), 5))
    await jobs.load(ids[count // 3])
    show("save one reading", await timed(lambda: jobs.append(ids[count // 3], reading("3.0150")), 50))
    factory.databases["boreside"].stores["index"].clear()
    show("open with the index lost", await timed(open_anew, 1))


async def length_measure(root: Path) -> None:
    """Saving into a job of 50 entries and one of 10,000, in turns."""
    factory = Factory()
    files = await Jobs.open(FilesBackend(root / "length"))
    pages = await Jobs.open(browser(factory).BrowserBackend())
    for place, jobs in (("files", files), ("browser", pages)):
        ids: dict[int, str] = {}
        for count in (50, 10_000):
            made = await jobs.create(title=f"{count} entries")
            ids[count] = made.id
            for begin in range(0, count, 500):
                await jobs.append(
                    made.id, *(reading("3.0", depth=n + 1) for n in range(begin, min(begin + 500, count)))
                )
        taken: dict[int, list[Taken]] = {50: [], 10_000: []}
        for turn in range(200):
            for count in (50, 10_000) if turn % 2 else (10_000, 50):
                one = reading("3.1")
                taken[count] += await timed(lambda: jobs.append(ids[count], one), 1)
        middles = {count: show(f"{place}: save into {count} entries", times) for count, times in taken.items()}
        print(f"{place}: 10,000 entries against 50: {middles[10_000] / middles[50]:.2f} times")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=5000)
    parser.add_argument("--entries", type=int, default=200)
    parser.add_argument("--only", choices=("files", "browser", "length"))
    asked = parser.parse_args()
    sizes = sorted({n for n in (10, 1000, asked.jobs) if n <= asked.jobs})
    root = Path(tempfile.mkdtemp(prefix="boreside-scale-"))
    try:
        if asked.only in (None, "length"):
            asyncio.run(length_measure(root))
        if asked.only in (None, "browser"):
            asyncio.run(browser_measure(asked.jobs, asked.entries))
        if asked.only in (None, "files"):
            asyncio.run(measure(sizes, asked.entries, root))
    finally:
        shutil.rmtree(root, ignore_errors=True)


if __name__ == "__main__":
    main()
