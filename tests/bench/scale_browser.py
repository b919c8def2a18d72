"""5,000 jobs in a real Chromium: ``python -m tests.bench.scale_browser [--jobs 5000] [--profile FOLDER]``.

The browser's store is filled by the store itself, from exported files (each job a bar's passes, as
:mod:`store.facts.taught` reads them), and a second store beside it with ten jobs. Printed, all in
Chromium's own Python: opening, listing, searching, opening one job; the same with the index lost; one
saved reading with 5,000 jobs against ten, in turns, with the machine's record kept for both (target at most
1.1); making that record from all jobs for the first time, and one job of it. Then in the app itself, kept
offline: the time from the start until the first screen is shown, and until the list of jobs can be used
(target 3 s), then one job opened; and the same with the index lost. With ``--profile`` the filled browser is kept for another run.
"""

from __future__ import annotations

import argparse
import asyncio
import base64
import json
import re
import statistics
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from textwrap import dedent
from typing import Any

from playwright.sync_api import sync_playwright

from mobile.build import build
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.sheets import bores, cut, final
from tests.browser.harness import Phone, Site
from tests.browser.test_storage import BEGIN, worker_site
from tests.store.making import Making

ROOT = Path(__file__).parents[2]
EACH = 250
PARTS = ("fill", "store", "record", "saves", "app")
TARGETS = {"list_s": 3.0, "save_ratio": 1.1}


def job(number: int) -> Any:
    """An invented job of one day: two bores read, bored in three passes each and checked."""
    made = Making(
        nominal=76.2, cylinders=2, bar=f"bar{number % 3:05d}", title=f"Invented job {number}",
        customer=f"Customer {number % 700}", engine=f"Invented engine {number % 40}",
    )  # fmt: skip
    for c in (1, 2):
        for depth, worn in ((1, 76.36), (2, 76.31)):
            made.put(bores.READING, worn + (number % 7) * 0.002, cylinder=c, depth=depth, axis="thrust")
        for n, size in enumerate((76.4, 76.6, 76.68), start=1):
            off = 0.008 + (number * 7 + n * 3 + c) % 9 * 0.001
            made.put(cut.SETTING, size, cylinder=c, **{"pass": n})
            made.put(cut.MEASURED, round(size + off, 4), cylinder=c, **{"pass": n})
        made.put(final.READING, 76.71, cylinder=c, depth=1, axis="thrust")
    document = made.document(id=f"job{number:06d}")
    header = {k: v.model_copy(update={"stamp": _later(v.stamp, number)}) for k, v in document.header.items()}
    entries = tuple(e.model_copy(update={"stamp": _later(e.stamp, number)}) for e in document.entries)
    return document.model_copy(update={"header": header, "entries": entries})


def _later(stamp: str, number: int) -> str:
    return f"{int(stamp[:13]) + number * 60_000:013d}{stamp[13:]}"


async def exported(first: int, count: int) -> bytes:
    """A file with so many jobs."""
    jobs = await Jobs.open(MemoryBackend())
    for number in range(first, first + count):
        document = job(number)
        await jobs._backend.change(document.id, lambda _, d=document: d, lambda: "")
    return await jobs.export()


#: Opens both stores: the large one under the app's own name, and one with ten jobs.
OPENED = (
    BEGIN
    + """
import time
from store.remembered import Remembered
few = await Jobs.open(BrowserBackend("ten"))

async def took(work):
    begun = time.perf_counter()
    found = await work
    return time.perf_counter() - begun, found

async def clear(*stores):
    def start(transaction, ask):
        for name in stores:
            transaction.objectStore(name).clear()
    await jobs._backend._run(stores, start, write=True)
"""
)
TAKE_IN = """
import base64
await STORE.take_in(await STORE.examine(base64.b64decode("DATA")))
""
"""
LOOKS = """
out = {}
fresh = BrowserBackend()
out["open"], again = await took(Jobs.open(fresh))
out["list"], listed = await took(again.list())
out["jobs"] = len(listed)
out["search for two words"], _ = await took(again.list(search="invented 39"))
out["open one job"], _ = await took(again.load("job000007"))
out["save one reading"], _ = await took(again.append("job000007", reading("3.0150", depth=3)))
out["list again"], _ = await took(again.list())
json.dumps(out)
"""
LOST = """
out = {}
await clear("index")
out["open"], again = await took(Jobs.open(BrowserBackend()))
out["list"], listed = await took(again.list())
out["jobs"] = len(listed)
out["said"] = [str(t) for t in again.troubles]
json.dumps(out)
"""
RECORD = """
out, begun = {}, time.perf_counter()
anew = Remembered(jobs)
out["one job, nothing fetched yet"], left = await took(anew.look({}, most=1))
out["jobs to look through"] = left
if left > 1:
    out["one job more"], left = await took(anew.look({}, most=1))
while left and time.perf_counter() - begun < %d:
    out["a hundred at once"], left = await took(anew.look({}, most=100))
out["left"] = left
out["all together"] = time.perf_counter() - begun
out["a new start, all kept"], _ = await took(Remembered(jobs).look({}, most=3))
out["ten jobs"], _ = await took(Remembered(few).look({}))
json.dumps(out)
"""
SAVES = """
import statistics
taken = {"many": [], "ten": []}
for turn in range(%d):
    for name, store in (("many", jobs), ("ten", few))[:: 1 if turn %% 2 else -1]:
        one = reading("3.0150", depth=4)
        spent, _ = await took(store.append("job000005", one))
        taken[name].append(spent)
json.dumps({k: [statistics.median(v) * 1000, statistics.quantiles(v, n=10)[-1] * 1000] for k, v in taken.items()})
"""
#: For the app's own page: the index goes, as a browser may lose it.
LOSE = """() => new Promise((done, fail) => {
  const asked = indexedDB.open("boreside");
  asked.onsuccess = () => {
    const change = asked.result.transaction("index", "readwrite");
    change.objectStore("index").clear();
    change.oncomplete = () => { asked.result.close(); done(true); };
  };
  asked.onerror = fail;
})"""


def run(phone: Phone, code: str) -> Any:
    return phone.page.evaluate("code => window.run(code)", dedent(code))


def show(what: str, found: dict[str, Any]) -> None:
    print(f"{what}:", flush=True)
    for name, value in found.items():
        said = f"{value:9.3f} s" if isinstance(value, float) else f"{value!s:>9}"
        print(f"  {name:<34} {said}", flush=True)


def fill(phone: Phone, count: int) -> None:
    """Bring so many jobs into the browser, from files, and the first ten into the second store as well; goes on where it was stopped."""
    with ThreadPoolExecutor(1) as beside:  # the driver of the browser has this thread's event loop

        def take_in(store: str, first: int, last: int) -> None:
            data = base64.b64encode(beside.submit(asyncio.run, exported(first, last - first)).result()).decode()
            run(phone, TAKE_IN.replace("STORE", store).replace("DATA", data))

        begun, there = time.perf_counter(), int(run(phone, "str(len(await jobs.list()))"))
        take_in("few", 0, 10)
        for first in range(there, count, EACH):
            take_in("jobs", first, min(first + EACH, count))
            print(f"  {min(first + EACH, count)} jobs, {time.perf_counter() - begun:.0f} s", flush=True)


def started(phone: Phone, *, wait: float = 120) -> dict[str, Any]:
    """One start of the app on what is kept: until the first screen, until a job of the list can be pressed, until it is open."""
    phone.restart()
    begun = time.perf_counter()
    phone.open(timeout=wait)
    found: dict[str, Any] = {"first screen": dict(phone.page.evaluate("boreside.marks"))["shown"] / 1000}
    begun = time.perf_counter() - found["first screen"]
    row = phone.find(re.compile(r"^Invented job \d+"), timeout=wait, tappable=True)
    found["list usable"] = time.perf_counter() - begun
    begun = time.perf_counter()
    phone.page.mouse.click(row["x"] + row["w"] / 2, row["y"] + row["h"] / 2)
    phone.wait(re.compile("Customer"), timeout=wait)
    phone.gone(re.compile("on this device"), timeout=wait)
    found["one job opened"] = time.perf_counter() - begun
    return found


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--jobs", type=int, default=5000)
    given.add_argument("--saves", type=int, default=100)
    given.add_argument(
        "--seconds", type=int, default=3600, help="at most so long for the record; it goes on where it was stopped"
    )
    given.add_argument("--profile", type=Path, help="a folder that keeps the filled browser")
    given.add_argument("--only", nargs="+", choices=PARTS, default=PARTS, help="parts, on a profile that is filled")
    asked = given.parse_args()
    built = build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False).folder
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        site = Site(worker_site(Path(place) / "worker", built))
        phone = Phone(playwright, site, (asked.profile or Path(place)) / "phone")
        try:
            measure(phone, site, built, asked)
        finally:
            phone.close()
            site.stop()


def measure(phone: Phone, site: Site, built: Path, asked: argparse.Namespace) -> None:
    parts = set(asked.only)
    if parts - {"app"}:
        phone.page.goto(phone.url)
        run(phone, OPENED)
    if "fill" in parts:
        fill(phone, asked.jobs)
    if "store" in parts:
        show("the store", json.loads(run(phone, LOOKS)))
        show("the store, its index lost", json.loads(run(phone, LOST)))
    if "record" in parts:
        show("the machine's record", json.loads(run(phone, RECORD % asked.seconds)))
    if "saves" in parts:
        saves = json.loads(run(phone, SAVES % asked.saves))
        for name, (middle, tenth) in saves.items():
            print(f"  save with {name:<6} {middle:8.2f} ms (one in ten over {tenth:.2f})")
        print(f"  ratio {saves['many'][0] / saves['ten'][0]:.2f} (target at most {TARGETS['save_ratio']})", flush=True)
    if "app" in parts:
        site.serve(built)
        phone.restart()
        phone.open(timeout=240)
        phone.offline_kept()
        if not phone.page.evaluate("caches.keys().then(all => all.some(name => name.startsWith('boreside-start')))"):
            phone.remembered()
        found = [started(phone) for _ in range(3)]
        show("the app", {k: statistics.median(f[k] for f in found) for k in found[0]})
        phone.page.evaluate(LOSE)
        show("the app, its index lost", started(phone, wait=240))
        print(f"target: list usable in {TARGETS['list_s']} s", flush=True)


if __name__ == "__main__":
    main()
