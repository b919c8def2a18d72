"""The store in a real browser: Python in a worker, IndexedDB, and what can go wrong there.

The pages here have no screens: each starts the app's own Python in a worker and runs
small programs in it, so that faults can be set up exactly.
"""

from __future__ import annotations

import asyncio
import json
import re
import shutil
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from textwrap import dedent
from typing import Any, TypeVar

import pytest
from flet_web import get_package_web_dir

from store import seal
from store.jobs import Jobs
from store.memory import MemoryBackend

from ..store.support import reading
from .harness import Phone, Site

T = TypeVar("T")

WORKER = """
import { loadPyodide } from "./pyodide/pyodide.mjs";
const begun = (async () => {
  const python = await loadPyodide({ indexURL: new URL("./pyodide/", import.meta.url).href });
  python.unpackArchive(await (await fetch("app.zip")).arrayBuffer(), "zip", { extractDir: "/app" });
  for (const [path, file] of Object.entries(LIBS)) python.FS.writeFile("/app/" + path, new Uint8Array(await (await fetch(file)).arrayBuffer()));
  python.runPython("import sys; sys.path[:0] = ['/app', '/app/__pypackages__']");
  return python;
})();
self.onmessage = async ({ data: [id, code] }) => {
  try {
    const value = await (await begun).runPythonAsync(code);
    self.postMessage([id, typeof value === "string" ? value : null, null]);
  } catch (error) {
    self.postMessage([id, null, String(error)]);
  }
};
"""

PAGE = """
const worker = new Worker("store-worker.js", { type: "module" });
const waiting = new Map();
let count = 0;
worker.onmessage = ({ data: [id, value, error] }) => {
  const [resolve, reject] = waiting.get(id);
  error ? reject(new Error(error)) : resolve(value);
};
window.run = (code) => new Promise((resolve, reject) => {
  waiting.set(++count, [resolve, reject]);
  worker.postMessage([count, code]);
});
"""

BEGIN = """
import json
from types import SimpleNamespace
from store import draft
from store.browser import BrowserBackend
from store.documents import value_of
from store.errors import NotSaved, Refused
from store.jobs import Jobs

def reading(text, depth=1, **more):
    entered = SimpleNamespace(text=text, typed_unit="in", value=float(text) * 25.4, unit="mm")
    return draft.reading("trial.reading", {"cylinder": 1, "depth": depth, "axis": "thrust"}, entered, **more)

def typed(document):
    return [e.typed.text for e in document.entries if e.kind == "reading"]

async def refusal(work):
    try:
        await work
    except Refused as refused:
        return [type(refused).__name__, refused.code, str(refused)]
    return None

jobs = await Jobs.open(BrowserBackend())
"""


def worker_site(folder: Path, built: Path) -> Path:
    """Make ``folder``: the Python of the built app with a page that only runs it."""
    shutil.copytree(built / "pyodide", folder / "pyodide")
    shutil.copytree(built / "libs", folder / "libs")
    shutil.copy(built / "app.zip", folder)
    lock = json.loads((Path(get_package_web_dir()) / "pyodide" / "pyodide-lock.json").read_text())
    (folder / "pyodide" / "pyodide-lock.json").write_text(json.dumps({**lock, "packages": {}}))
    (folder / "index.html").write_text('<!doctype html><title>store</title><script src="store.js"></script>')
    (folder / "store.js").write_text(PAGE)
    libs = re.search(r"^const LIBS = .*$", (built / "worker.js").read_text(), re.MULTILINE)
    assert libs is not None
    (folder / "store-worker.js").write_text(libs[0] + WORKER)
    return folder


@pytest.fixture(scope="module")
def folder(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of the built app with a page that only runs it."""
    return worker_site(tmp_path_factory.mktemp("store") / "web", built)


@pytest.fixture
def site(folder: Path) -> Iterator[Site]:
    site = Site(folder)
    yield site
    site.stop()


@pytest.fixture
def phone(first_phone: Phone) -> Phone:
    """A browser with nothing in it: the app itself is not kept here."""
    return first_phone


class Tab:
    """One page, with the store open in it as ``jobs``."""

    def __init__(self, phone: Phone, page: Any = None) -> None:
        self.page = page or phone.page
        self.page.goto(phone.url)
        self.run(BEGIN)

    def run(self, code: str) -> Any:
        """Run Python in the tab's worker; gives the value of its last line if that is text."""
        return self.page.evaluate("code => window.run(code)", dedent(code))

    def say(self, expression: str) -> Any:
        """The value of a Python expression, by way of JSON."""
        return json.loads(self.run(f"json.dumps({expression})"))


@pytest.fixture
def tab(phone: Phone) -> Tab:
    return Tab(phone)


@pytest.fixture(scope="module")
def kept_tab(playwright_now: object, folder: Path, room: Callable[[str], Path]) -> Iterator[Tab]:
    """One tab for the tests that set up no fault."""
    site = Site(folder)
    phone = Phone(playwright_now, site, room("kept") / "phone", quick=True, whole=False)
    yield Tab(phone)
    phone.close()
    site.stop()


def test_what_was_saved_is_there_after_a_reload_and_after_the_browser_was_killed(phone: Phone) -> None:
    tab = Tab(phone)
    id = tab.run(
        """
        made = await jobs.create(title="In the browser", cylinders=4, nominal=reading("3.000").typed)
        await jobs.append(made.id, reading("3.0145"), draft.note("Grüße, 你好"))
        await jobs.set_setting("place", [made.id, 2])
        made.id
        """
    )
    device = tab.run("jobs.device")
    tab = Tab(phone)
    assert tab.run("jobs.device") == device
    assert tab.say("typed(await jobs.load((await jobs.list())[0].id))") == ["3.0145"]
    tab.run(f"await jobs.append({id!r}, reading('3.0150'))")
    phone.kill()
    phone.launch()
    tab = Tab(phone)
    assert tab.say(f"typed(await jobs.load({id!r}))") == ["3.0145", "3.0150"]
    assert tab.say("[(s.title, s.cylinders, s.entries) for s in await jobs.list()]") == [["In the browser", 4, 3]]
    assert tab.say("await jobs.setting('place')") == [id, 2]
    assert tab.say(f"(await jobs.load({id!r})).entries[1].text") == "Grüße, 你好"
    assert tab.say("jobs._backend.persistent") in (True, False)


def test_two_tabs_at_once_lose_nothing(phone: Phone) -> None:
    one = Tab(phone)
    id = one.run("made = await jobs.create(title='Shared')\nmade.id")
    two = Tab(phone, phone.second_tab())
    for tab, mark in ((one, "1"), (two, "2")):
        tab.page.evaluate(
            "code => { window.work = window.run(code); }",
            dedent(
                f"""
                for n in range(25):
                    await jobs.append({id!r}, reading(f"3.{mark}{{n:02d}}"))
                await jobs.set_header({id!r}, by="tab {mark}", **{{"extra{mark}": "{mark}"}})
                """
            ),
        )
    for tab in (one, two):
        tab.page.evaluate("() => window.work")
    expected = sorted(f"3.{mark}{n:02d}" for mark in "12" for n in range(25))
    for tab in (one, two):
        assert sorted(tab.say(f"typed(await jobs.load({id!r}))")) == expected
        assert tab.say("[s.entries for s in await jobs.list()]") == [50]
        assert tab.say(f"sorted((await jobs.load({id!r})).header)") == ["extra1", "extra2", "title"]
        assert tab.say(f"len(set(e.id for e in (await jobs.load({id!r})).entries))") == 50


def test_storage_cleared_under_the_app_loses_nothing_that_is_open(phone: Phone, tab: Tab) -> None:
    id = tab.run("made = await jobs.create(title='Open')\nawait jobs.append(made.id, reading('3.1'))\nmade.id")
    session = phone.context.new_cdp_session(tab.page)
    session.send("Storage.clearDataForOrigin", {"origin": phone.url.rstrip("/"), "storageTypes": "indexeddb"})
    tab.run(f"await jobs.append({id!r}, reading('3.2'))")
    tab = Tab(phone)
    assert tab.say(f"typed(await jobs.load({id!r}))") == ["3.1", "3.2"]
    assert tab.say("[s.title for s in await jobs.list()]") == ["Open"]


def test_no_room_left_is_said_and_work_goes_on_when_there_is(phone: Phone) -> None:
    # set before anything is stored: the browser remembers for a while how much room there was
    phone.page.goto(phone.url)
    session = phone.context.new_cdp_session(phone.page)
    origin = phone.url.rstrip("/")
    session.send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 400_000})
    tab = Tab(phone)
    id = tab.run("made = await jobs.create(title='Full')\nawait jobs.append(made.id, reading('3.1'))\nmade.id")
    # random bytes: the browser counts what it writes after compressing it
    tab.run("import os\nphoto = b'\\xff\\xd8\\xff' + os.urandom(3_000_000)")
    tab.run("one, big = reading('3.2'), [draft.note(os.urandom(2000).hex()) for _ in range(800)]")
    for act in ("jobs.put_photo(photo, 'image/jpeg')", f"jobs.append({id!r}, one, *big)"):
        refused = tab.say(f"await refusal({act})")
        assert refused[:2] == ["NotSaved", "full"] and "no room" in refused[2]
    assert tab.say(f"typed(await jobs.load({id!r}))") == ["3.1"], "what is not saved is not shown as if it were"
    session.send("Storage.overrideQuotaForOrigin", {"origin": origin})
    tab.run(f"await jobs.append({id!r}, one, *big)")
    assert Tab(phone).say(f"typed(await jobs.load({id!r}))") == ["3.1", "3.2"]


def test_a_newer_app_in_another_tab_makes_this_one_step_aside(phone: Phone, tab: Tab) -> None:
    id = tab.run("made = await jobs.create(title='Old tab')\nmade.id")
    opened = tab.page.evaluate(
        """() => new Promise((resolve, reject) => {
          const request = indexedDB.open("boreside", 1000);
          request.onsuccess = () => { request.result.close(); resolve("opened"); };
          request.onblocked = () => reject(new Error("the older tab holds on"));
          request.onerror = () => reject(request.error);
        })"""
    )
    assert opened == "opened"
    for act in (f"jobs.append({id!r}, reading('3.1'))", f"jobs.load({id!r})", "jobs.list()"):
        refused = tab.say(f"await refusal({act})")
        assert refused[1] == "newer" and "Update this copy" in refused[2]


def test_a_newer_log_and_a_damaged_one_are_left_alone_and_said(phone: Phone, tab: Tab) -> None:
    newer, broken = tab.say("[(await jobs.create(title=t)).id for t in ('Newer', 'Broken')]")
    data = tab.run("(await jobs.export()).decode()")
    put = """([id, how]) => new Promise((resolve, reject) => {
      const request = indexedDB.open("boreside");
      request.onsuccess = () => {
        const transaction = request.result.transaction(["documents", "copies", "index"], "readwrite");
        if (how === "broken") transaction.objectStore("copies").delete(IDBKeyRange.bound(id + ".", id + "/"));
        const store = transaction.objectStore("documents");
        store.get(id).onsuccess = (event) => {
          const text = event.target.result;
          const newer = text.replace('"schema_version":1', '"schema_version":99').replace(/,"digits":"[0-9a-f]{16}"/g, "");
          const made = how === "newer" ? newer : text.slice(0, 40);
          store.put(made, id);
          transaction.objectStore("index").delete(id);
          transaction.oncomplete = () => { request.result.close(); resolve(made); };
        };
      };
    })"""
    made = tab.page.evaluate(put, [newer, "newer"])
    tab.page.evaluate(put, [broken, "broken"])
    tab = Tab(phone)
    assert tab.say(f"(await refusal(jobs.append({newer!r}, reading('3.1'))))[1]") == "newer"
    assert tab.say(f"(await refusal(jobs.load({broken!r})))[1]") == "broken"
    assert tab.say(f"(await refusal(jobs.append({broken!r}, reading('3.1'))))[1]") == "broken"
    # the export made before mends the damaged one and cannot touch the newer one
    tab.page.evaluate("data => { window.data = data; }", data)
    only = json.loads(data)
    assert len(only["documents"]) == 2
    tab.run(f"data = {data!r}.encode()\nincoming = await jobs.examine(data)")
    assert tab.say("(await refusal(jobs.take_in(incoming)))[1]") == "newer"
    kept = tab.page.evaluate(
        """(id) => new Promise((resolve) => {
          const request = indexedDB.open("boreside");
          request.onsuccess = () => {
            request.result.transaction("documents").objectStore("documents").get(id).onsuccess = (event) => {
              request.result.close();
              resolve(event.target.result);
            };
          };
        })""",
        newer,
    )
    assert kept == made


def test_a_file_goes_from_the_phone_to_the_shop_and_back(kept_tab: Tab) -> None:
    id = kept_tab.run("made = await jobs.create(title='Travels')\nawait jobs.append(made.id, reading('3.1'))\nmade.id")

    async def shop(data: str) -> str:
        jobs = await Jobs.open(MemoryBackend())
        await jobs.take_in(await jobs.examine(data.encode()))
        await jobs.append(id, reading("3.2"))
        return (await jobs.export()).decode()

    back = apart(shop(kept_tab.run("(await jobs.export()).decode()")))
    kept_tab.run(f"report = await jobs.take_in(await jobs.examine({back!r}.encode()))")
    assert kept_tab.say("[report.added, report.unchanged]") == [1, 1]
    assert kept_tab.say(f"typed(await jobs.load({id!r}))") == ["3.1", "3.2"]
    refused = kept_tab.say(f"await refusal(jobs.examine({back[: len(back) // 2]!r}.encode()))")
    assert refused[:2] == ["Refused", "truncated"]


def apart(work: Coroutine[Any, Any, T]) -> T:
    """Run a coroutine in a thread of its own: Playwright keeps this thread's event loop for itself."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def test_a_locked_file_is_opened_on_the_other_kind_of_device(kept_tab: Tab) -> None:
    kept_tab.run("made = await jobs.create(title='Private')\nawait jobs.append(made.id, reading('3.1'))")
    sealed = kept_tab.run("(await jobs.export([made.id], passphrase='blué iron')).decode()").encode()
    assert seal.sealed(sealed) and b"Private" not in sealed
    plain = apart(seal.unseal(sealed, "blué iron"))
    assert json.loads(plain)["count"] == 1
    again = apart(seal.seal(plain, "other words")).decode()
    assert kept_tab.say(f"(await refusal(jobs.examine({again!r}.encode(), passphrase='wrong')))[1]") == "passphrase"
    assert kept_tab.say(f"(await jobs.examine({again!r}.encode(), passphrase='other words')).count") == 1


def test_photos_stay_in_the_browser(kept_tab: Tab) -> None:
    digest = kept_tab.run("await jobs.put_photo(b'\\xff\\xd8\\xff' + bytes(range(256)) * 100, 'image/jpeg')")
    kept_tab.run("jobs = await Jobs.open(BrowserBackend())")
    assert kept_tab.say(f"(lambda p: [p[0], len(p[1]), p[1][:4].hex()])(await jobs.get_photo({digest!r}))") == [
        *("image/jpeg", 25603, "ffd8ff00")
    ]
    assert kept_tab.say("await jobs.get_photo('0' * 64)") is None
