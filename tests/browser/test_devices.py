"""More than one device, more than one version, and one killed at work: nothing stored is gone after it.

Numbers and names are invented.
"""

from __future__ import annotations

import contextlib
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

import pytest

from .conftest import copied
from .harness import Phone, Site, _uses
from .stored import (
    PHOTO_SIZES,
    bores,
    dump,
    entries,
    export_all,
    fill,
    go,
    job_at,
    kept_rows,
    of,
    start_job,
    store,
    take_in,
    type_fast,
    typed,
)
from .test_job import enter, new_job

pytestmark = pytest.mark.usefixtures("private")
PRIVATE = ("kept_phone", "shop", "phone")


@pytest.fixture(scope="module")
def shop(playwright_now: object, address: Site, warm: Path, room: Callable[[str], Path]) -> Iterator[Phone]:
    """The second device: another browser with the same app, started once for this file."""
    phone = Phone(playwright_now, address, copied(warm, room("shop") / "shop"), quick=True, whole=False)
    phone.open()
    yield phone
    phone.close()
    shutil.rmtree(phone.profile, ignore_errors=True)


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
    while len(counts) < 6 or (len(promised) < 6 and len(counts) < 12):  # a slow machine gets less done between two
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
