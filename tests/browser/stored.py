"""What tests of the running app share that look at what lies in the browser's storage, and what they do again and again."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path
from typing import Any

from .harness import Phone
from .test_job import documents, enter, new_job

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
