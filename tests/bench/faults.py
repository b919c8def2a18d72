"""A campaign of faults against the store: ``python -m tests.bench.faults [--count 1000] [--seed 1]``.

Each life works with two jobs, meets one fault drawn at random, starts again and goes on. Half
of them live in files, half in the browser's store (on a storage in memory, see
``tests/store/fake_browser.py``). Printed by kind: how many, how many entries that had been called
saved are gone, and how often the store would not start. Exits with 1 unless both are none.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from store import draft
from store.backend import Backend
from store.documents import value_of
from store.errors import Refused
from store.files import FilesBackend
from store.jobs import Jobs
from tests.store.fake_browser import Factory, browser
from tests.store.faults import Disk, Killed, Unreadable, put_in
from tests.store.support import reading

Opened = Callable[[], Backend]


class Life:
    """What was called saved: entries by job, and titles."""

    def __init__(self, chance: random.Random, opened: Opened) -> None:
        self.chance, self.opened = chance, opened
        self.saved: dict[str, set[str]] = {}
        self.titles: dict[str, str] = {}

    async def work(self, jobs: Jobs, saves: int) -> None:
        while len(self.saved) < 2:
            made = await jobs.create(title=f"Job {len(self.saved)}")
            self.saved[made.id], self.titles[made.id] = set(), f"Job {len(self.saved)}"
            self.titles[made.id] = str(value_of(made, "title"))
        for _ in range(saves):
            id = self.chance.choice(sorted(self.saved))
            if self.chance.random() < 0.15:
                title = f"Renamed {self.chance.randrange(10**6)}"
                await jobs.set_header(id, title=title)
                self.titles[id] = title
            else:
                entries = await jobs.append(id, reading(f"3.{self.chance.randrange(100, 999)}"))
                self.saved[id] |= {e.id for e in entries}

    async def lost(self) -> int:
        """Start again, and count what is gone of what was called saved. Raises whatever the start raises."""
        jobs = await Jobs.open(self.opened())
        listed = [*await jobs.list(), *await jobs.list(deleted=True)]
        gone = sum(len(self.saved[id]) + 1 for id in self.saved if id not in {s.id for s in listed})
        gone += len(listed) - len({s.id for s in listed})
        for id in self.saved:
            try:
                document = await jobs.load(id)
            except Refused:
                gone += len(self.saved[id]) + 1
                continue
            gone += len(self.saved[id] - {e.id for e in document.entries})
            titles = [document.header.get("title"), *document.earlier.get("title", ())]
            gone += self.titles[id] not in {t.value for t in titles if t}
            (note,) = await jobs.append(id, draft.note("goes on"))
            self.saved[id].add(note.id)
        return gone


# -- faults in files ---------------------------------------------------------------------


def spoilt(chance: random.Random, data: bytes) -> bytes | None:
    at = chance.randrange(len(data) + 1)
    how = chance.randrange(6)
    if how == 0:
        return data[:at]
    if how == 1 and data:
        at = min(at, len(data) - 1)
        return data[:at] + bytes([data[at] ^ (1 << chance.randrange(8))]) + data[at + 1 :]
    if how == 2:
        return bytes(len(data))
    if how == 3:
        return None
    if how == 4:
        return data + chance.randbytes(chance.randrange(1, 200))
    return data[:at] + chance.randbytes(20) + data[at:]


async def a_disk_call(life: Life, root: Path) -> str:
    """A call to the disk fails, stops half-way, finds no room, or is the last one before death."""
    mode = life.chance.choice(["error", "half", "full", "kill", "power"])
    disk = Disk("kill" if mode == "power" else mode, life.chance.randrange(120))
    put_in(disk)
    try:
        await life.work(await Jobs.open(life.opened()), 6)
    except (Refused, Killed):
        pass
    finally:
        put_in(os)
    if mode == "power" and disk.dead:
        disk.lose_power()
    return f"disk: {mode}"


async def a_file(life: Life, root: Path) -> str:
    """Any one file is damaged or gone."""
    place = life.chance.choice(["documents", "documents", "copies", "index", "settings", ""])
    files = sorted(p for p in (root / place).rglob("*") if p.is_file() and (place or p.parent == root))
    if files:
        path = life.chance.choice(files)
        data = spoilt(life.chance, path.read_bytes())
        if data is None:
            path.unlink()
        else:
            path.write_bytes(data)
    return f"damaged: {place or 'the head file'}"


async def a_folder(life: Life, root: Path) -> str:
    place = life.chance.choice(["index", "copies", "settings"])
    shutil.rmtree(root / place, ignore_errors=True)
    return f"gone: {place}"


async def a_stray(life: Life, root: Path) -> str:
    folder = life.chance.choice(sorted((root / "documents").iterdir()))
    path = life.chance.choice(sorted(folder.iterdir()))
    how = life.chance.choice(["copy", "link", "folder", "rubbish", "before"])
    name = folder / f"{path.stem} (second).json"
    if how == "copy":
        shutil.copy(path, name)
    elif how == "link":
        (folder / f"{folder.name}dangling0.json").symlink_to(root / "nowhere")
    elif how == "folder":
        name.mkdir(exist_ok=True)
    elif how == "rubbish":
        (folder / "rubbish.tmp").write_bytes(life.chance.randbytes(100))
    else:
        (folder / f"{path.stem}.before.json").write_bytes(life.chance.randbytes(100))
    return f"stray: {how}"


async def unreadable(life: Life, root: Path) -> str:
    id = life.chance.choice(sorted(life.saved))
    of_a_job = (f"documents/{id[:2]}/{id}", f"documents/{id[:2]}", f"copies/{id[:2]}")
    of_the_device = ("index", "boreside.json", "settings/device", "settings/exports", "settings")
    part = life.chance.choice([*of_a_job, *of_the_device])
    put_in(Unreadable(part))
    try:
        jobs = await Jobs.open(life.opened())  # must start all the same
        await jobs.list()
        if part in of_the_device:
            await life.work(jobs, 2)
    finally:
        put_in(os)
    return f"unreadable for a while: {'of the device' if part in of_the_device else 'of a job'}"


IN_FILES = (a_disk_call, a_disk_call, a_disk_call, a_file, a_file, a_file, a_folder, a_stray, unreadable)


async def in_files(chance: random.Random, _number: int) -> tuple[str, int]:
    root = Path(tempfile.mkdtemp(prefix="boreside-faults-"))
    try:
        life = Life(chance, lambda: FilesBackend(root))
        jobs = await Jobs.open(life.opened())
        await life.work(jobs, chance.randrange(2, 12))
        await jobs.close()
        if chance.random() < 0.3:  # started before, so that what was written whole lies there too
            for folder in ("index", "copies"):
                shutil.rmtree(root / folder, ignore_errors=True)
            await life.work(await Jobs.open(life.opened()), 3)
        kind = await chance.choice(IN_FILES)(life, root)
        return kind, await life.lost() + await life.lost()
    finally:
        put_in(os)
        shutil.rmtree(root, ignore_errors=True)


# -- faults in the browser -----------------------------------------------------------------


def bad_row(chance: random.Random, value: Any) -> Any:
    how = chance.randrange(6)
    if how == 0 or not isinstance(value, str):
        return None
    if how == 1:
        return value[: chance.randrange(len(value) + 1)]
    if how == 2:
        return chance.choice([5, "", "null", "[]", "7", "{}", "undefined"])
    at = chance.randrange(len(value) + 1)
    return value[:at] + chr(chance.randrange(32, 1000)) + value[at + (how > 3) :]


async def in_the_browser(chance: random.Random, _number: int) -> tuple[str, int]:
    factory = Factory()
    module = browser(factory)
    life = Life(chance, module.BrowserBackend)
    await life.work(await Jobs.open(life.opened()), chance.randrange(2, 12))
    shared = factory.databases["boreside"]
    how = chance.choice(["row", "row", "row", "row", "transaction", "store", "list"])
    if how == "row":
        store = chance.choice(["documents", "log", "copies", "index", "settings", "photos"])
        rows = shared.stores[store]
        if rows:
            key = chance.choice(sorted(rows))
            bad = bad_row(chance, rows[key])
            if bad is None:
                del rows[key]
            else:
                rows[key] = bad
        kind = f"row: {store}"
    elif how == "transaction":
        name = chance.choice(["QuotaExceededError", "UnknownError", "AbortError", "DataError"])
        jobs = await Jobs.open(life.opened())
        for _ in range(4):
            shared.fault = name if chance.random() < 0.6 else ""
            with contextlib.suppress(Refused):
                await life.work(jobs, 1)
        shared.fault = ""
        kind = f"transaction: {name}"
    elif how == "store":
        store = chance.choice(["copies", "index", "settings", "photos"])
        del shared.stores[store]
        kind = f"store gone: {store}"
    else:
        shared.stores[chance.choice(["index", "settings"])].clear()
        kind = "list or settings emptied"
    return kind, await life.lost() + await life.lost()


async def campaign(count: int, seed: int) -> int:
    """Run the lives and print what came of them; gives how many entries were lost and starts refused."""
    done: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    first: dict[str, str] = {}
    places: tuple[tuple[str, Callable[[random.Random, int], Awaitable[tuple[str, int]]]], ...]
    places = (("files", in_files), ("browser", in_the_browser))
    for number in range(count):
        place, live = places[number % 2]
        kind, gone = "start refused", 0
        try:
            kind, gone = await live(random.Random(f"{seed}/{number}"), number)
        except Exception as problem:  # noqa: BLE001 - whatever it is, the store did not start or go on
            refused[place] += 1
            first.setdefault(f"{place}: refused", f"life {number}: {type(problem).__name__}: {problem}")
        done[f"{place}: {kind}"] += 1
        if gone:
            lost[f"{place}: {kind}"] += gone
            first.setdefault(f"{place}: {kind}", f"life {number}")
    for kind, times in sorted(done.items()):
        print(f"  {kind:<40} {times:5d}   lost {lost[kind]:3d}   {first.get(kind, '')}")
    print(f"{count} faults: {sum(lost.values())} stored entries lost, {sum(refused.values())} starts refused")
    for kind, text in first.items():
        if kind.endswith("refused"):
            print(f"  {kind}: {text}")
    return sum(lost.values()) + sum(refused.values())


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    return 1 if asyncio.run(campaign(given.count, given.seed)) else 0


if __name__ == "__main__":
    sys.exit(main())
