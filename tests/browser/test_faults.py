"""Breaking things on purpose under the running app: tabs, room, storage, clocks, files.

Every test drives the built app by its screens and then looks at what lies in the
browser's storage. After each fault no stored entry may be gone, the screen must say
plainly what happened, and work must go on. Numbers and names are invented.
"""

from __future__ import annotations

import copy
import re
import time
from collections.abc import Iterator
from pathlib import Path

import msgpack
import pytest
from flet.messaging.protocol import MessageAction

from store.documents import Document
from store.merge import set_value
from store.transfer import write

from .harness import Phone
from .stored import (
    PUT,
    bores,
    dump,
    entries,
    export_all,
    fill,
    go,
    kept_rows,
    of,
    room,
    start_job,
    store,
    stored_by,
    take_in,
    type_fast,
    typed,
)
from .test_job import cell, enter, keys

pytestmark = pytest.mark.usefixtures("private")
PRIVATE = ("kept_phone",)


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
    phone.tap("Delete digit")
    keys(phone, "4")
    phone.tap("Enter")
    phone.wait(re.compile(r"^Cylinder 1, depth 2, crank line: \+4\.0"))
    phone.tap_to("Save again what was not saved: 2", "Saved")
    assert typed(phone, id) == [
        (1, 1, "thrust", "4"),
        (1, 1, "crank", "2"),
        (1, 2, "thrust", "6"),
        (1, 3, "thrust", "3"),
        (1, 2, "crank", "4"),
    ]  # in the order in which they were entered
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


# -- a Python that hangs ---------------------------------------------------------------------------


def busy_for(phone: Phone, seconds: float) -> None:
    """Keep the app's Python from answering for so long, from a moment on."""
    phone.page.workers[0].evaluate(
        "ms => setTimeout(() => { const end = Date.now() + ms; while (Date.now() < end); }, 50)", seconds * 1000
    )
    time.sleep(0.1)


def test_an_answer_for_what_has_left_the_screen_does_not_deafen_the_app(kept_phone: Phone) -> None:
    """A scroll or a focus that the page answers once its screen is gone: the next press is heard all the same."""
    phone = kept_phone
    id = start_job(phone, "2")
    late = {"control_id": 999_999, "call_id": "late", "result": None, "error": None}
    packet = b"\x00" + msgpack.packb([MessageAction.INVOKE_METHOD.value, late])
    phone.page.evaluate("bytes => jsSend('', new Uint8Array(bytes))", list(packet))
    store(phone, "3")
    assert [t[3] for t in typed(phone, id)] == ["2", "3"]


def test_a_python_that_hangs_is_told_and_can_be_started_again(kept_phone: Phone) -> None:
    phone = kept_phone
    id = start_job(phone, "2")
    phone.page.evaluate("Object.assign(boreside.patient, {quiet: 300, stopped: 700})")
    told = phone.page.locator("#stopped")
    busy_for(phone, 3.0)
    phone.page.keyboard.press("3")
    told.wait_for(state="visible")
    assert "does not answer any more. What was shown as saved is kept." in told.inner_text()
    told.wait_for(state="detached")  # it was only slow, and took the digit
    phone.wait(re.compile("^3"))
    busy_for(phone, 120.0)
    phone.page.keyboard.press("Enter")
    told.get_by_role("button", name="Wait").click()
    told.wait_for(state="detached")
    told.get_by_role("button", name="Start it again").click()  # it is told again
    phone.started()
    assert [t[3] for t in typed(phone, id)] == ["2"]


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
    go(phone, "/new", "At hand today")
    exported = of(export_all(phone))
    assert good in exported and newer not in exported
    said = phone.wait(re.compile("^Not in the file, because this copy"))["label"]
    assert "From a newer app" in said and "Newer gauge" in said
    left = dump(phone)["documents"]
    assert {id: left[id] for id in made} == made
    assert [t[3] for t in typed(phone, good)] == ["5", "6"]


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
    phone.wait("Words of the trade")  # it is under way: what goes elsewhere meanwhile would be gone back from


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
