"""The same walk in Firefox and in WebKit: kept and started with no server, the quick check, a gauge that types,
a browser that ends in the middle, and files handed out and taken in. (Chromium has all of it in the other files.)
"""

from __future__ import annotations

import asyncio
import base64
import re
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

import demo
from store.jobs import Jobs
from store.memory import MemoryBackend

from .engine_check import lacking
from .engines import ENGINES, ENTER, Engine, LastingWebKit, running
from .harness import Site

NB = "\u202f"
#: What the page hands to the browser to be saved, kept in sight of the test.
WATCH_SAVING = """
window.handed = [];
const plain = URL.createObjectURL;
URL.createObjectURL = (what) => { handed.push(what); return plain.call(URL, what); };
"""
SAVED = """
if (!handed.length) return null;
const bytes = new Uint8Array(await handed[handed.length - 1].arrayBuffer());
let text = '';
for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
return btoa(text);
"""


#: Answers the dialogue in which a file is chosen, which no driver can press.
CHOOSING = """
const bytes = Uint8Array.from(atob('FILE'), c => c.charCodeAt(0));
HTMLInputElement.prototype.click = function () {
  const carried = new DataTransfer();
  carried.items.add(new File([bytes], 'demo.json', {type: 'application/json'}));
  this.files = carried.files;
  setTimeout(() => this.dispatchEvent(new Event('change')), 0);
};
"""


@pytest.fixture(scope="module", params=ENGINES, ids=lambda engine: engine.name)
def engine(request: pytest.FixtureRequest, address: Site, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """One engine, opened on the app and keeping it. The tests go on from each other, in their order."""
    if why := lacking(request.param.name):
        pytest.skip(why)
    address.start()
    with running(request.param, tmp_path_factory.mktemp(request.param.name) / "profile") as one:
        one.goto(address.url)
        one.started()
        yield one
    address.start()


def shown(engine: Engine, wanted: str | re.Pattern[str]) -> dict[str, Any]:
    return engine.wait(wanted, timeout=60)


def test_it_keeps_every_file_and_says_so(engine: Engine) -> None:
    told = engine.kept()
    assert told["kept"] == told["total"] > 30
    shown(engine, "Ready to work offline")


def test_the_quick_check(engine: Engine) -> None:
    engine.tap_to(re.compile("^Nominal bore"), "Next")
    engine.type("3.5" + ENTER)
    shown(engine, "Done")
    engine.type("3.5052" + ENTER)
    # 5.2 thou, at worst all on one side: 10.4; +0.020 less 3 thou for the hone is 17
    shown(engine, re.compile(rf"A bore at \+0\.020{NB}in cleans up"))


def job_of(engine: Engine) -> str:
    return str(engine.ask("return location.hash")).split("/")[2]


def reading(engine: Engine, depth: int, axis: str, value: str) -> None:
    shown(engine, re.compile(rf"^Cylinder 1, depth {depth}, {axis}: {re.escape(value)}"))


def test_a_job_with_readings_by_hand_and_from_a_gauge(engine: Engine) -> None:
    engine.go("/new")  # the key for it may stand below an answer
    shown(engine, "At hand today")
    engine.tap_to(re.compile("^Nominal bore"), "Delete digit")
    engine.type("3.0" + ENTER)
    engine.gone("Delete digit")
    engine.tap_to("Start measuring", "I have read this")
    engine.tap_to("I have read this", re.compile(r"^Cylinder 1, depth 1, thrust axis: \?"))
    engine.type("4.5" + ENTER)
    reading(engine, 1, "thrust axis", f"+4.5{NB}thou")
    engine.gauge("+0.0125in")
    reading(engine, 1, "crank line", f"+12.5{NB}thou")
    shown(engine, "Saved")


def ends_and_starts_again(engine: Engine, address: Site) -> None:
    """The last answer is there as text before the engines are, and the job with its readings after."""
    id = job_of(engine)
    engine.go(f"/job/{id}")
    shown(engine, re.compile("^Next: "))
    end = time.monotonic() + 30
    while not engine.ask("return localStorage.getItem(boreside.glimpse)?.includes('Cylinder 1') ?? false"):
        assert time.monotonic() < end, "no picture of the last screen was kept"
        time.sleep(0.3)
    address.stop()
    time.sleep(6)  # what a page keeps as text comes to the disk some seconds later
    engine.kill()
    engine.start()
    engine.goto(address.url, wait=False)
    engine.started()
    marks = dict(engine.ask("return boreside.marks"))
    assert marks["last answer"] < marks["shown"]
    engine.go(f"/job/{id}/bores")
    reading(engine, 1, "thrust axis", f"+4.5{NB}thou")
    reading(engine, 1, "crank line", f"+12.5{NB}thou")
    shown(engine, "Cylinder 1, depth 2, thrust axis")  # the place that was asked for


def test_it_ends_in_the_middle_and_starts_with_no_server(engine: Engine, address: Site, tmp_path: Path) -> None:
    if engine.lasting:
        ends_and_starts_again(engine, address)
        return
    with running(LastingWebKit, tmp_path / "profile") as one:
        one.goto(address.url)
        one.started()
        assert one.kept()["ready"]
        test_a_job_with_readings_by_hand_and_from_a_gauge(one)
        ends_and_starts_again(one, address)


def held(data: bytes) -> Any:
    """The documents in a file."""

    async def go() -> Any:
        jobs = await Jobs.open(MemoryBackend())
        return list((await jobs.examine(data)).documents())

    with ThreadPoolExecutor(1) as pool:  # this one may have the loop of another browser's driver
        return pool.submit(asyncio.run, go()).result()


def test_files_are_handed_out_and_taken_in(engine: Engine) -> None:
    engine.ask(WATCH_SAVING)
    engine.go("/files")
    engine.tap_to("Save all jobs to a file", re.compile(r"^boreside-all-.*\.json handed over$"))
    told = engine.ask(SAVED)
    (job,) = [d for d in held(base64.b64decode(told)) if d.type == "job"]
    by_hand, by_gauge = [e.typed for e in job.entries if e.kind == "reading"]
    assert by_hand.text == "4.5" and by_gauge.value == pytest.approx(0.0125 * 25.4)
    assert by_gauge.text == "+0.0125in" and by_gauge.typed_unit == "in"
    file = base64.b64encode(demo.export()).decode()
    engine.ask(CHOOSING.replace("FILE", file))
    engine.tap_to("Choose a file", re.compile(r"^\d+ entries were new, \d+ here already\."))
    engine.go("/")
    shown(engine, re.compile("^Demo: "))


def test_how_safe_the_storage_is_is_said(engine: Engine) -> None:
    engine.go("/more")
    expected = "Stored in a browser tab" if engine.name == "webkit" else "Stored, but not to last"
    shown(engine, re.compile(re.escape(expected)))
