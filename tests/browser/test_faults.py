"""Breaking things on purpose under the running app: tabs, room, storage, updates, crashes, clocks, files.

Every test drives the built app by its screens and then looks at what lies in the
browser's storage. After each fault no stored entry may be gone, the screen must say
plainly what happened, and work must go on. Numbers and names are invented.
"""

from __future__ import annotations

import contextlib
import copy
import json
import os
import random
import re
import shutil
import signal
import struct
import threading
import time
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from store.documents import Document
from store.merge import set_value
from store.transfer import write

from .conftest import copied
from .harness import Phone, Site, _uses
from .test_job import cell, documents, enter, keys, new_job

#: Everything stored, as it lies there. Looks, and never makes a database where there is none.
DUMP = """() => new Promise((resolve, reject) => {
  const request = indexedDB.open("boreside");
  request.onupgradeneeded = () => request.transaction.abort();
  request.onerror = () => resolve(null);
  request.onsuccess = () => {
    const db = request.result, out = {documents: {}, log: {}, copies: {}, index: {}};
    const transaction = db.transaction(Object.keys(out));
    for (const name in out) {
      transaction.objectStore(name).openCursor().onsuccess = (event) => {
        const at = event.target.result;
        if (at) { out[name][at.key] = at.value; at.continue(); }
      };
    }
    transaction.oncomplete = () => { db.close(); resolve(out); };
  };
})"""
#: Change the text of one stored document, written whole.
PUT = """([id, text]) => new Promise((resolve) => {
  const request = indexedDB.open("boreside");
  request.onsuccess = () => {
    const transaction = request.result.transaction(["documents", "log", "copies"], "readwrite");
    for (const name of ["log", "copies"]) transaction.objectStore(name).delete(IDBKeyRange.bound(id + ".", id + "/"));
    transaction.objectStore("documents").put(text, id);
    transaction.oncomplete = () => { request.result.close(); resolve(); };
  };
})"""
PHOTO_SIZES = """() => new Promise((resolve) => {
  const request = indexedDB.open("boreside");
  request.onsuccess = () => {
    request.result.transaction(["photos"]).objectStore("photos").getAll().onsuccess = async (event) => {
      request.result.close();
      const sizes = [];
      for (const {media, data} of event.target.result) {
        const picture = await createImageBitmap(new Blob([data], {type: media}));
        sizes.push([media, picture.width, picture.height, data.byteLength]);
      }
      resolve(sizes);
    };
  };
})"""


def dump(phone: Phone) -> dict[str, dict[str, str]]:
    return phone.page.evaluate(DUMP)


def kept_rows(phone: Phone) -> dict[str, str]:
    """Every row of every document, as it is stored."""
    stored = dump(phone)
    return {**stored["documents"], **stored["log"]}


def entries(phone: Phone, id: str) -> list[dict[str, Any]]:
    """The log of a job as it is stored: in the row written whole, and in the lines since."""
    stored = dump(phone)
    found = {e["id"]: e for e in json.loads(stored["documents"][id]).get("entries", {}).values()}
    for key, line in stored["log"].items():
        if key.startswith(f"{id}."):
            found.update((e["id"], e) for e in json.loads(line.partition(" ")[2]).get("entries", ()))
    return list(found.values())


def typed(phone: Phone, id: str) -> list[tuple[int, int, str, str]]:
    """(cylinder, depth, axis, what was typed) of every bore reading stored, oldest first."""
    found = sorted((e for e in entries(phone, id) if e["kind"] == "reading"), key=lambda e: e["stamp"])
    return [(e["at"]["cylinder"], e["at"]["depth"], e["at"]["axis"], e["typed"]["text"]) for e in found]


def go(phone: Phone, route: str, there: str | re.Pattern[str]) -> None:
    """Open a screen by its address, as a bookmark would, and wait for something on it."""
    phone.page.evaluate("route => { location.hash = '#' + route; }", route)
    phone.wait(there)


def fill(phone: Phone, label: str | re.Pattern[str], text: str) -> None:
    """Type into a field until it says so: on a busy machine the keyboard can be there before the field is."""
    for _ in range(4):
        phone.type(label, text)
        end = time.monotonic() + 2
        while time.monotonic() < end:
            if any(node["value"] == text for node in phone.read()):
                return
            time.sleep(0.05)
    raise AssertionError(f"{text!r} could not be typed")


def job_at(phone: Phone) -> str:
    """The id of the job on the screen."""
    return re.search(r"#/job/([0-9a-z]+)", phone.page.url)[1]


def start_job(phone: Phone, *readings: str) -> str:
    """A new job with some readings, left on the screen that takes them."""
    go(phone, "/", "New job")
    new_job(phone)
    if readings:
        store(phone, *readings)
    return job_at(phone)


def stored_by(phone: Phone, id: str, count: int) -> None:
    """Wait until so many readings of a job are stored."""
    end = time.monotonic() + 60
    while len(typed(phone, id)) < count:
        assert time.monotonic() < end, typed(phone, id)
        time.sleep(0.05)


def store(phone: Phone, *readings: str) -> None:
    """Enter some readings and wait until they are stored: "Saved" alone may still speak of an earlier one."""
    id = job_at(phone)
    count = len(typed(phone, id))
    enter(phone, readings)
    stored_by(phone, id, count + len(readings))
    phone.wait("Saved")


def bores(phone: Phone, id: str) -> None:
    go(phone, f"/job/{id}/bores", re.compile("^Cylinder 1, depth 1, thrust axis: "))


def type_fast(phone: Phone, *values: str) -> None:
    """Enter values on a keyboard, one after the other, without waiting for anything."""
    for value in values:
        for key in (*value, "Enter"):
            phone.page.keyboard.press(key)


def export_all(phone: Phone) -> Path:
    go(phone, "/files", "Save all jobs to a file")
    with phone.download() as files:
        phone.tap("Save all jobs to a file")
    path = files[0].with_name(f"{phone.profile.name}-{time.monotonic_ns()}.json")
    files[0].rename(path)
    return path


def of(path: Path) -> dict[str, Any]:
    """The jobs in a file, by id."""
    return documents(json.loads(path.read_text("utf-8")))


def take_in(
    phone: Phone, path: Path, said: str | re.Pattern[str] = re.compile(r"^\d+ entr(y was|ies were) new")
) -> str:
    """Choose a file on the files screen and wait for what the screen says of it."""
    go(phone, "/", "New job")
    go(phone, "/files", "Choose a file")
    with phone.choosing(path):
        phone.tap("Choose a file")
    return phone.wait(said, timeout=60)["label"]


def room(phone: Phone, size: int | None) -> None:
    """Let the browser have so many bytes for this site (None: as many as it likes)."""
    session = phone.context.new_cdp_session(phone.page)
    limit = {} if size is None else {"quotaSize": size}
    session.send("Storage.overrideQuotaForOrigin", {"origin": phone.url.rstrip("/"), **limit})


@pytest.fixture(scope="module")
def shop(playwright_now: object, address: Site, warm: Path, room: Callable[[str], Path]) -> Iterator[Phone]:
    """The second device: another browser with the same app, started once for this file."""
    phone = Phone(playwright_now, address, copied(warm, room("shop") / "shop"), quick=True)
    phone.open()
    yield phone
    phone.close()
    shutil.rmtree(phone.profile, ignore_errors=True)


@pytest.fixture(autouse=True)
def private(request: pytest.FixtureRequest) -> Iterator[None]:
    """After each test: no request went anywhere but to the app's own address, and no script failed."""
    phones = [request.getfixturevalue(name) for name in ("kept_phone", "shop", "phone") if name in request.fixturenames]
    yield
    for phone in phones:
        phone.assert_private()
        assert phone.requests and phone.errors == []


# -- two tabs ------------------------------------------------------------------------------


@pytest.fixture
def other_tab(kept_phone: Phone) -> Iterator[Phone]:
    """The same phone, looked at through a second tab."""
    other = copy.copy(kept_phone)
    other.page = kept_phone.second_tab()
    yield other
    other.page.close()
    kept_phone.page.bring_to_front()


def test_two_tabs_on_one_job_lose_nothing_and_see_each_other(kept_phone: Phone, other_tab: Phone) -> None:
    one, two = kept_phone, other_tab
    one.page.bring_to_front()
    id = start_job(one, "4")
    two.open(f"#/job/{id}/bores")
    two.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+4\.0"))

    # one after the other: the other tab follows by itself, and keeps what is half typed in it
    one.page.bring_to_front()
    store(one, "2")
    two.page.bring_to_front()
    two.wait(re.compile(r"^Cylinder 1, depth 1, crank line: \+2\.0"))
    two.tap(re.compile("^Cylinder 1, depth 3, thrust axis: "))
    keys(two, "1")
    one.page.bring_to_front()
    store(one, "3")
    two.page.bring_to_front()
    two.wait(re.compile(r"^Cylinder 1, depth 2, thrust axis: \+3\.0"))
    two.wait("1\u202fthou")
    two.tap("Enter")
    stored_by(two, id, 4)

    # at the same moment: different cells, and then the very same cell
    for tab, cylinder, _values in ((one, 2, "5678"), (two, 3, "4567")):
        tab.page.bring_to_front()
        tab.tap_to(f"Cylinder {cylinder}", f"Cylinder {cylinder}, depth 1, thrust axis")
    for first, second in zip("5678", "4567", strict=False):
        for tab, value in ((one, first), (two, second)):
            tab.page.keyboard.press(value)
            tab.page.keyboard.press("Enter")
    for tab, last in ((one, "2, depth 2, crank line: +8.0"), (two, "3, depth 2, crank line: +7.0")):
        tab.page.bring_to_front()
        tab.wait(f"Cylinder {last}")
        tab.tap_to("Cylinder 4", "Cylinder 4, depth 1, thrust axis")
    for tab, value in ((one, "8"), (two, "9")):
        tab.page.keyboard.press(value)
    for tab in (one, two):
        tab.page.keyboard.press("Enter")
    for tab in (one, two):
        tab.page.bring_to_front()
        tab.wait(re.compile(r"^Cylinder 4, depth 1, thrust axis: \+[89]"))
    expected = [
        *((1, 1, "thrust", "4"), (1, 1, "crank", "2"), (1, 2, "thrust", "3"), (1, 3, "thrust", "1")),
        *((2, 1, "thrust", "5"), (2, 1, "crank", "6"), (2, 2, "thrust", "7"), (2, 2, "crank", "8")),
        *((3, 1, "thrust", "4"), (3, 1, "crank", "5"), (3, 2, "thrust", "6"), (3, 2, "crank", "7")),
        *((4, 1, "thrust", "8"), (4, 1, "thrust", "9")),
    ]
    assert sorted(typed(one, id)) == sorted(expected)
    last = typed(one, id)[-1]
    assert last[:3] == (4, 1, "thrust")

    # both tabs show the later of the two, at once and after a return to the job
    for tab in (one, two):
        tab.page.bring_to_front()
        tab.wait(re.compile(rf"^Cylinder 4, depth 1, thrust axis: \+{last[3]}\.0"))
    two.tap("Back")
    two.wait("Job details")
    one.page.bring_to_front()
    one.tap_to("Cylinder 1", "Cylinder 1, depth 2, crank line")
    enter(one, ("2",))
    one.wait(re.compile(r"^Cylinder 1, depth 2, crank line: \+2\.0"))
    two.page.bring_to_front()
    two.tap_to(re.compile("^Worn bores"), "Cylinder 1")
    two.tap_to("Cylinder 1", re.compile(r"^Cylinder 1, depth 2, crank line: \+2\.0"))


# -- no room ---------------------------------------------------------------------------------


def test_no_room_left_is_said_the_values_stay_and_go_in_later(kept_phone: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "4", "2")
    before = kept_rows(phone)
    # the browser remembers for half a minute how much room there was, while a page has the store open, and keeps
    # the store open for two seconds more
    phone.page.goto("about:blank")
    phone.page.wait_for_timeout(5000)
    room(phone, 1000)
    phone.open(f"#/job/{id}/bores")
    phone.wait("Cylinder 1, depth 2, thrust axis")
    keys(phone, "7")
    phone.tap("Enter")
    phone.wait("Not saved: the browser has no room left. Free some space on this device, then try again.")
    assert cell(phone, 1, 2, "thrust axis").endswith(": 7 not saved") and not phone.has("Saved")
    assert kept_rows(phone) == before
    # the value is in the pad again when its cell is tapped, and still cannot be stored
    phone.tap_to(re.compile("^Cylinder 1, depth 2, thrust axis: "), "7\u202fthou")
    phone.tap("Enter")
    phone.wait("Cylinder 1, depth 2, crank line")
    phone.wait("Save again what was not saved: 1")
    # a change of another kind is refused in the same words
    go(phone, f"/job/{id}/details", "Customer")
    fill(phone, "Customer", "A. Person")
    phone.page.keyboard.press("Enter")
    phone.wait(re.compile("^Not saved: the browser has no room left"))
    assert kept_rows(phone) == before
    # three typed fast without looking: each stays with its own cell, none gets into another's
    bores(phone, id)
    phone.wait("Cylinder 1, depth 2, thrust axis")
    type_fast(phone, "6", "5", "3")
    for place, value in (("2, thrust axis", 6), ("2, crank line", 5), ("3, thrust axis", 3)):
        phone.wait(f"Cylinder 1, depth {place}: {value} not saved")
    phone.wait("Save again what was not saved: 3")
    assert kept_rows(phone) == before
    # when there is room again: one by hand, corrected, and the rest at one tap
    room(phone, None)
    phone.tap_to(re.compile("^Cylinder 1, depth 2, crank line: "), "5\u202fthou")
    phone.tap("Rub out last digit")
    keys(phone, "4")
    phone.tap("Enter")
    phone.wait(re.compile(r"^Cylinder 1, depth 2, crank line: \+4\.0"))
    phone.tap_to("Save again what was not saved: 2", "Saved")
    assert typed(phone, id) == [
        (1, 1, "thrust", "4"),
        (1, 1, "crank", "2"),
        (1, 2, "crank", "4"),
        (1, 2, "thrust", "6"),
        (1, 3, "thrust", "3"),
    ]
    phone.reload()
    phone.wait(re.compile(r"^Cylinder 1, depth 3, thrust axis: \+3\.0"))


# -- storage that goes away ---------------------------------------------------------------------


def test_storage_cleared_while_entering_loses_nothing_of_the_open_job(kept_phone: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "4", "2")
    phone.clear()
    enter(phone, ("3",))
    phone.wait(re.compile(r"^Cylinder 1, depth 2, thrust axis: \+3\.0"))
    phone.wait("Saved")
    assert [t[3] for t in typed(phone, id)] == ["4", "2", "3"]
    # and again while writes are on their way: each value gets stored, or is said not to be and goes in later
    session = phone.context.new_cdp_session(phone.page)
    for value in "51":
        type_fast(phone, value)
        session.send("Storage.clearDataForOrigin", {"origin": phone.url.rstrip("/"), "storageTypes": "indexeddb"})
    type_fast(phone, "2")
    phone.wait("Cylinder 2, depth 1, thrust axis")
    end = time.monotonic() + 60
    while not phone.has("Saved"):
        assert time.monotonic() < end, phone.text()
        again = [node for node in phone.read() if node["label"].startswith("Save again")]
        if again and "Saving…" not in phone.text():
            phone.page.mouse.click(again[0]["x"] + 40, again[0]["y"] + 20)
        time.sleep(0.5)
    places = [(d, a) for d in (1, 2, 3) for a in ("thrust", "crank")]
    expected = sorted((1, d, a, text) for (d, a), text in zip(places, "423512", strict=False))
    assert sorted(typed(phone, id)) == expected
    phone.reload()
    phone.tap_to("Cylinder 1", re.compile(r"^Cylinder 1, depth 3, crank line: \+2\.0"))
    assert sorted(typed(phone, id)) == expected


def test_database_deleted_under_the_app_is_said_and_what_was_used_lately_comes_back(kept_phone: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "4", "2")
    assert (
        phone.page.evaluate(
            """() => new Promise((resolve) => {
          const request = indexedDB.deleteDatabase("boreside");
          request.onsuccess = () => resolve("deleted");
          request.onblocked = () => resolve("held");
        })"""
        )
        == "deleted"
    )
    assert dump(phone) is None
    phone.tap("Back")
    phone.wait("Job details")
    phone.tap("Back")
    phone.wait(re.compile("^The storage was cleared while Boreside was open"))
    phone.tap(re.compile("^Job of"))
    phone.tap(re.compile("^Worn bores"))
    phone.wait(re.compile(r"^Cylinder 1, depth 1, crank line: \+2\.0"))
    store(phone, "3")
    assert [t[3] for t in typed(phone, id)] == ["4", "2", "3"]
    phone.reload()
    go(phone, "/", "New job")
    assert not phone.has(re.compile("storage was cleared"))


# -- an older app and newer data -------------------------------------------------------------------


def test_a_job_and_a_card_of_a_newer_version_are_left_alone_and_the_rest_is_usable(kept_phone: Phone) -> None:
    phone = kept_phone
    newer = start_job(phone, "4")
    go(phone, f"/job/{newer}/details", "Job name")
    fill(phone, "Job name", "From a newer app")
    phone.page.keyboard.press("Enter")
    good = start_job(phone, "5")
    go(phone, "/kit", "Bore gauge")
    phone.tap("Bore gauge")
    fill(phone, "What you call it", "Newer gauge")
    phone.tap("Make the card")
    phone.wait("Put this card in the bin")
    card = re.search(r"#/kit/([0-9a-z]+)", phone.page.url)[1]
    made = {}
    for id in (newer, card):
        newer = dump(phone)["documents"][id].replace('"schema_version":1', '"schema_version":99')
        made[id] = re.sub(r',"digits":"[0-9a-f]{16}"', "", newer)
        assert '"schema_version":99' in made[id]
        phone.page.evaluate(PUT, [id, made[id]])
    phone.page.goto("about:blank")
    phone.open()
    phone.tap("From a newer app")
    phone.wait(re.compile("newer (version of )?Boreside"))
    phone.wait("New job")  # still on the list
    bores(phone, good)
    phone.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+5\.0"))
    store(phone, "6")
    go(phone, "/new", "Start measuring")
    exported = of(export_all(phone))
    assert good in exported and newer not in exported
    said = phone.wait(re.compile("^Not in the file, because this copy"))["label"]
    assert "From a newer app" in said and "Newer gauge" in said
    left = dump(phone)["documents"]
    assert {id: left[id] for id in made} == made
    assert [t[3] for t in typed(phone, good)] == ["5", "6"]


# -- crashes -----------------------------------------------------------------------------------------


def shown(phone: Phone) -> dict[str, str]:
    """Every bore reading the screen shows as stored: the cell's name and its figure."""
    found = {}
    for label in phone.labels():
        match = re.match(r"(Cylinder \d, depth \d, [a-z ]+): ([+\u22120][\d.]+)\u202fthou$", label)
        if match:
            found[match[1]] = match[2]
    return found


def test_killed_six_times_while_entering_fast_and_all_that_was_shown_is_there(phone: Phone) -> None:
    chance = random.Random(20)
    phone.open()
    new_job(phone)
    id = job_at(phone)
    promised: list[tuple[str, str]] = []
    counts = []
    for _ in range(6):
        pids = [int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit() and _uses(p, phone.profile)]
        assert pids

        def strike() -> None:
            for pid in pids:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)

        blow = threading.Timer(chance.uniform(0.15, 1.5), strike)
        seen: dict[str, str] = {}
        blow.start()
        try:
            while True:
                type_fast(phone, str(chance.randint(1, 9)))
                for name, figure in shown(phone).items():
                    seen[name] = figure
                    if (name, figure) not in promised:
                        promised.append((name, figure))
        except Exception as error:  # noqa: BLE001  whatever the driver says when its browser dies
            assert "closed" in str(error) or "crash" in str(error).lower() or "Connection" in str(error), error
        blow.join()
        phone.kill()
        phone.launch()
        phone.open(f"#/job/{id}/bores")
        phone.wait(re.compile(r"^Cylinder \d, depth 1, thrust axis: "))
        kept = {
            (f"Cylinder {c}, depth {d}, {'thrust axis' if a == 'thrust' else 'crank line'}", f"+{float(text):.1f}")
            for c, d, a, text in typed(phone, id)
        }
        assert set(promised) <= kept, "shown as stored before the browser was killed, and gone after"
        counts.append(len(typed(phone, id)))
        now = shown(phone)
        assert all(name in now for name in seen if name.split(",")[0] == next(iter(now), "").split(",")[0])
    assert len(promised) >= 6 and counts == sorted(counts)
    # every id once, every stamp later than the one before it
    log = entries(phone, id)
    assert len({e["id"] for e in log}) == len({e["stamp"] for e in log}) == len(log)
    tap_on = phone.find(re.compile(r"^Cylinder \d, depth 3, crank line: "))
    phone.tap(tap_on["label"])
    store(phone, "3")


# -- the clock ----------------------------------------------------------------------------------------


def test_clock_moved_back_the_later_entry_stays_the_later_one(kept_phone: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "4")
    (worker,) = phone.page.workers
    shift = "hours => { self.trueNow = self.trueNow || Date.now; Date.now = () => self.trueNow.call(Date) + hours * 3600e3; }"
    started = time.time() * 1000
    worker.evaluate(shift, 2)
    store(phone, "5")
    worker.evaluate(shift, -24 * 30)
    phone.tap(re.compile("^Cylinder 1, depth 1, crank line: "))
    enter(phone, ("6",))
    phone.wait(re.compile(r"^Cylinder 1, depth 1, crank line: \+6\.0"))
    store(phone, "3")
    log = [e for e in entries(phone, id) if e["kind"] == "reading"]
    assert [e["typed"]["text"] for e in sorted(log, key=lambda e: e["stamp"])] == ["4", "5", "6", "3"]
    ahead = [int(e["stamp"][:13]) - started for e in log]
    assert ahead[0] < 3600e3 < 7100e3 < ahead[1], "the shifted clock reached the app"
    assert ahead[2] >= ahead[1], "no stamp goes back with the clock"
    phone.reload()
    phone.wait(re.compile(r"^Cylinder 1, depth 1, crank line: \+6\.0"))
    phone.tap(re.compile("^Cylinder 1, depth 1, crank line: "))
    enter(phone, ("7",))
    phone.wait(re.compile(r"^Cylinder 1, depth 1, crank line: \+7\.0"))


# -- files from elsewhere ------------------------------------------------------------------------------


def made_file(title: str) -> bytes:
    """A good file with one job, made elsewhere."""
    document = Document(id="j0b0frommelsewhere")
    for n, (key, value) in enumerate({"title": title, "customer": title, "cylinders": 4}.items()):
        document = set_value(document, key, value, f"1700000000000-{n:05d}-d3v1ceelsewhere", title[:50])
    return write([document], device="d3v1ceelsewhere", made_ms=1_700_000_000_000)


SCRIPT = "<script>window.ran = 1</script><img src=x onerror='window.ran = 2'>{0}%s"


def test_a_hostile_file_and_a_hostile_name_run_nothing_and_change_nothing(kept_phone: Phone, tmp_path: Path) -> None:
    """By the real file dialogue, where room and depth are those of a phone; the other kinds are tested without a browser."""
    phone = kept_phone
    start_job(phone, "4", "2")
    before, exported = dump(phone), of(export_all(phone))
    deep = made_file("Honest").replace(b'"documents": [', b'"documents": [' + b"[" * 5000 + b"]" * 5000 + b",", 1)
    huge = b'{"boreside": "export", "documents": [' + b" " * 49_000_000
    for data, words in ((deep, "nested too deeply"), (huge, "breaks off or is damaged at line 1")):
        path = tmp_path / "hostile.json"
        path.write_bytes(data)
        take_in(phone, path, re.compile(words))
        assert dump(phone) == before, words
    # a name with a script in it is a name
    path = tmp_path / "script.json"
    path.write_bytes(made_file(SCRIPT))
    take_in(phone, path)
    go(phone, "/", re.compile(re.escape(SCRIPT)))
    phone.tap(re.compile("^" + re.escape(SCRIPT)))
    phone.wait("Job details")
    assert SCRIPT in phone.text()
    assert phone.page.evaluate("() => [window.ran === undefined, document.querySelectorAll('img[src=x]').length]") == [
        True,
        0,
    ]
    after = of(export_all(phone))
    assert {k: v for k, v in after.items() if k in exported} == exported and len(after) == len(exported) + 1
    phone.tap("Back")


# -- two devices meet by files ---------------------------------------------------------------------------


def name_person(phone: Phone, name: str) -> None:
    go(phone, "/more", "Name written into the log")
    fill(phone, "Name written into the log", name)
    phone.page.keyboard.press("Enter")
    go(phone, "/", "New job")


def set_engine(phone: Phone, id: str, engine: str) -> None:
    go(phone, f"/job/{id}/details", "Engine")
    fill(phone, "Engine", engine)
    phone.page.keyboard.press("Enter")
    end = time.monotonic() + 60
    while not any(engine in line for line in kept_rows(phone).values()):
        assert time.monotonic() < end, "the engine was not stored"
        time.sleep(0.1)


def wipe(phone: Phone) -> None:
    """Clear what the browser keeps of the site. A page that is still on its way out may put back what it had open: again then."""
    for _ in range(3):
        phone.page.goto("about:blank")
        time.sleep(0.5)
        phone.clear()
        phone.open()
        phone.wait(re.compile("^[0-9]+ on this device$"))
        if phone.has("0 on this device"):
            return
    raise AssertionError("the browser's storage cannot be cleared:\n" + phone.text())


def test_two_devices_meet_by_files_after_one_was_wiped_and_settle_a_conflict(kept_phone: Phone, shop: Phone) -> None:
    phone = kept_phone
    name_person(phone, "Ada")
    name_person(shop, "Bo")
    id = start_job(phone, "4", "2")
    assert re.match(r"^\d+ entr(y was|ies were) new", take_in(shop, export_all(phone)))
    # apart: both go on, and both rename the engine
    bores(shop, id)
    shop.tap("Cylinder 2")
    store(shop, "5", "3")
    set_engine(shop, id, "Invented four, late")
    bores(phone, id)
    phone.tap(re.compile("^Cylinder 1, depth 2, thrust axis: "))
    store(phone, "3", "1")
    set_engine(phone, id, "Invented four, early")
    backup = export_all(phone)
    # the phone is wiped, and takes in the shop's file and its own backup
    wipe(phone)
    from_shop = export_all(shop)
    take_in(phone, from_shop)
    said = take_in(phone, backup)
    assert re.search(r"^(One|1) job details? (was|were) set differently in the two copies", said, re.MULTILINE)
    take_in(shop, export_all(phone))
    mine, theirs = of(export_all(phone)), of(export_all(shop))
    assert mine[id] == theirs[id]
    readings = [e["typed"]["text"] for e in mine[id]["entries"] if e["kind"] == "reading"]
    assert sorted(readings) == sorted(["4", "2", "5", "3", "3", "1"])
    # both values are shown on both devices, with who and when, and one tap settles it
    for device in (phone, shop):
        go(device, f"/job/{id}", re.compile("^Set differently in two copies: engine"))
        device.wait(re.compile(r"^Invented four, late – Bo, \d{4}-\d\d-\d\d \d\d:\d\d$"))
        device.wait(re.compile(r"^Invented four, early – Ada, \d{4}-\d\d-\d\d \d\d:\d\d$"))
    phone.tap(re.compile("^Invented four, late – Bo"))
    phone.gone(re.compile("^Set differently in two copies"))
    take_in(shop, export_all(phone))
    assert of(export_all(shop))[id] == of(export_all(phone))[id]
    go(shop, f"/job/{id}", "Job details")
    assert not shop.has(re.compile("^Set differently")) and shop.has(re.compile("Invented four, late"))
    # taking the same file in again changes nothing
    again = dump(shop)
    assert take_in(shop, backup).startswith("0 entries were new")
    assert dump(shop) == again


# -- photos --------------------------------------------------------------------------------------------


def png(path: Path, width: int, height: int) -> Path:
    """A picture with enough going on in it: coloured bands (PNG, W3C Recommendation, third edition)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    row = b"".join(bytes((x * 255 // width, (x // 40 % 2) * 200, 90)) for x in range(width))
    body = zlib.compress(b"".join(b"\x00" + (row if y // 50 % 2 else row[::-1]) for y in range(height)), 1)
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b""))
    return path


def test_a_photo_is_made_small_kept_and_goes_along_only_when_asked(
    kept_phone: Phone, shop: Phone, tmp_path: Path
) -> None:
    phone = kept_phone
    id = start_job(phone, "4")
    held = len(phone.page.evaluate(PHOTO_SIZES))
    go(phone, f"/job/{id}/log", "Add a photo")
    fill(phone, re.compile("(?i)note.*photo"), "Ridge in bore 1")
    with phone.choosing(png(tmp_path / "bore.png", 3000, 2000)):
        phone.tap("Add a photo")
    phone.wait(re.compile("^Photo: Ridge in bore 1"), timeout=60)
    sizes = phone.page.evaluate(PHOTO_SIZES)
    assert len(sizes) == held + 1
    (media, width, height, size) = sizes[-1] if held == 0 else next(s for s in sizes if s[1] == 1600)
    assert (media, width, height) == ("image/jpeg", 1600, 1067) and size < 1_000_000
    # what is no picture is refused in words, and nothing is added
    broken = tmp_path / "broken.png"
    broken.write_bytes((tmp_path / "bore.png").read_bytes()[:200])
    with phone.choosing(broken):
        phone.tap("Add a photo")
    phone.wait("That file is no picture this device can read.")
    assert len(phone.page.evaluate(PHOTO_SIZES)) == held + 1
    # not in a plain file, and in one that was asked for with photos
    plain = export_all(phone)
    assert "photos" not in json.loads(plain.read_text())
    take_in(shop, plain)
    go(shop, f"/job/{id}/log", "Add a photo")
    shop.wait(re.compile("^This photo is on another device"))
    phone.tap("Put the photos in as well")
    with phone.download() as files:
        phone.tap("Save all jobs to a file")
    (picture,) = list(json.loads(files[0].read_text())["photos"])
    assert picture["media"] == "image/jpeg" and files[0].stat().st_size > plain.stat().st_size + size
    take_in(shop, files[0])
    go(shop, f"/job/{id}/log", re.compile("^Photo: Ridge in bore 1"))
    assert not shop.has(re.compile("^This photo is on another device"))
    assert shop.page.evaluate(PHOTO_SIZES) == [[media, width, height, size]]


# -- locked files ----------------------------------------------------------------------------------------


def test_a_locked_file_goes_through_the_screens(kept_phone: Phone, shop: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "4", "2")
    set_engine(phone, id, "Private engine")
    go(phone, "/files", "Save all jobs to a file")
    fill(phone, re.compile("^Passphrase"), "blue iron, 7 mm")
    with phone.download() as files:
        phone.tap("Save all jobs to a file")
    sealed = files[0].read_bytes()
    assert b"Private engine" not in sealed and id.encode() not in sealed and json.loads(sealed)["boreside"] == "sealed"
    before = dump(shop)
    take_in(shop, files[0], "This file is locked with a passphrase. Type it to go on.")
    fill(shop, "Passphrase of the file", "blue iron")
    shop.tap("Open the file")
    shop.wait("The passphrase does not fit this file, or the file is damaged.", timeout=60)
    assert dump(shop) == before
    fill(shop, "Passphrase of the file", "blue iron, 7 mm")
    shop.tap("Open the file")
    shop.wait(re.compile(r"^\d+ entr(y was|ies were) new"), timeout=60)
    go(phone, "/", "New job")  # the passphrase does not outlive the screen
    assert of(export_all(shop))[id] == of(export_all(phone))[id]


# -- a new version of the app ------------------------------------------------------------------------------


def test_a_new_version_is_offered_not_forced_and_the_job_is_there_after_the_yes(
    phone: Phone, site: Site, built_next: Path
) -> None:
    phone.open()
    phone.offline_kept()
    version = "() => boreside.answers.offline(false).then(a => a.version)"
    old = phone.page.evaluate(version)
    new = json.loads((built_next / "build.json").read_text())["version"]
    new_job(phone)
    id = job_at(phone)
    store(phone, "4")
    site.serve(built_next)
    phone.page.evaluate("() => boreside.answers.look()")
    enter(phone, ("2",))
    end = time.monotonic() + 60
    while not phone.page.evaluate("() => boreside.answers.update().then(u => u.waiting)"):
        assert time.monotonic() < end, "no new version was found"
        time.sleep(0.2)
    # it waits: the screen stays, entry goes on
    store(phone, "3")
    phone.wait(re.compile(r"^Cylinder 1, depth 2, thrust axis: \+3\.0"))
    assert phone.page.evaluate("() => navigator.serviceWorker.getRegistration().then(r => !!r.waiting)")
    phone.tap("Back")
    phone.tap("Back")
    phone.wait("A new version is ready. Your jobs stay as they are.")
    assert phone.page.evaluate("() => performance.getEntriesByType('navigation').length") == 1
    phone.page.evaluate("() => { window.before = true; }")
    phone.tap("Change over now")
    end = time.monotonic() + 60
    while True:
        try:
            if not phone.page.evaluate("() => window.before === true") and phone.page.evaluate(
                "document.documentElement.dataset.boreside"
            ):
                break
        except Exception as error:
            if "navigation" not in str(error):
                raise
        assert time.monotonic() < end, "the page was not loaded again"
        time.sleep(0.2)
    phone.started()
    assert old != new == phone.page.evaluate(version)
    bores(phone, id)
    for place, figure in (("1, thrust axis", "4"), ("1, crank line", "2"), ("2, thrust axis", "3")):
        phone.wait(re.compile(rf"^Cylinder 1, depth {place}: \+{figure}\.0"))
    store(phone, "1")
    assert [t[3] for t in typed(phone, id)] == ["4", "2", "3", "1"]


# -- a newer app's database: last, for the phone is of no use after it ----------------------------------------


def test_a_newer_database_is_left_untouched_and_said(kept_phone: Phone) -> None:
    phone = kept_phone
    start_job(phone, "4", "2")
    policy = phone.page.evaluate("async () => (await fetch('.')).headers.get('Content-Security-Policy')")
    assert "default-src 'none'" in policy and "connect-src 'self'" in policy
    before = dump(phone)
    # a newer app in another tab raises the database's version: this one lets go of it at once
    assert (
        phone.page.evaluate(
            """() => new Promise((resolve) => {
          const request = indexedDB.open("boreside", 1000);
          request.onsuccess = () => { request.result.close(); resolve("raised"); };
          request.onblocked = () => resolve("held");
        })"""
        )
        == "raised"
    )
    keys(phone, "7")
    phone.tap("Enter")
    phone.wait("These jobs were stored by a newer Boreside. Update this copy first.")
    phone.wait("Cylinder 1, depth 2, thrust axis: 7 not saved")
    assert dump(phone) == before
    phone.tap("Back")
    phone.wait("These jobs were stored by a newer Boreside. Update this copy first.")
    phone.tap("Load the app again")
    end = time.monotonic() + 60
    while phone.stage() != "failed":
        assert time.monotonic() < end
        time.sleep(0.2)
    words = phone.page.inner_text("#loading")
    assert "Your jobs are untouched." in words
    assert "These jobs were stored by a newer Boreside. Update this copy first." in words and "Refused" not in words
    assert dump(phone) == before
