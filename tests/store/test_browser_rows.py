"""The browser's store against a storage in memory: any one row may be damaged, and it starts and loses nothing."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest

from store import draft
from store.documents import value_of
from store.errors import NotSaved, Refused
from store.form import entry_data, stamped_data
from store.jobs import Jobs

from .fake_browser import Factory, browser
from .support import reading, run, texts


async def _opened(factory: Factory) -> Jobs:
    return await Jobs.open(browser(factory).BrowserBackend())


async def _two(factory: Factory) -> tuple[str, str]:
    """Two jobs with two entries each, and a setting."""
    jobs = await _opened(factory)
    ids = []
    for title in ("One", "Two"):
        made = await jobs.create(title=title)
        await jobs.append(made.id, reading("3.001"))
        await jobs.append(made.id, reading("3.002"))
        ids.append(made.id)
    await jobs.set_header(ids[0], customer="A. Person")
    await jobs.set_setting("name", "Ada")
    await jobs.export()
    return ids[0], ids[1]


async def _all_there(factory: Factory, ids: tuple[str, str]) -> Jobs:
    jobs = await _opened(factory)
    assert sorted((s.title, s.entries, s.trouble) for s in await jobs.list()) == [("One", 2, None), ("Two", 2, None)]
    for id in ids:
        assert texts(await jobs.load(id)) == ["3.001", "3.002"]
    assert value_of(await jobs.load(ids[0]), "customer") == "A. Person"
    return jobs


def test_what_is_saved_is_there_after_a_restart() -> None:
    async def work() -> None:
        factory = Factory()
        ids = await _two(factory)
        jobs = await _all_there(factory, ids)
        assert jobs.troubles == () and await jobs.setting("name") == "Ada"

    run(work())


def _damages() -> list[tuple[str, str]]:
    return [(store, how) for store in ("documents", "log", "copies", "index", "settings") for how in DAMAGE]


DAMAGE = {
    "gone": None,
    "empty": "",
    "cut": lambda text: text[: len(text) // 2],
    "not text": lambda text: 5,
    "a list": lambda text: "[]",
    "a number": lambda text: "7",
    "flipped": lambda text: text.replace("3.00", "4.00", 1).replace("One", "Öne", 1).replace('"', "'", 1),
}


@pytest.mark.parametrize(("store", "how"), _damages())
def test_any_one_row_may_be_damaged(store: str, how: str) -> None:
    async def work() -> None:
        count = 1
        number = 0
        while number < count:
            factory = Factory()
            ids = await _two(factory)
            rows = factory.databases["boreside"].stores[store]
            count = len(rows)
            key = sorted(rows)[number]
            change: Any = DAMAGE[how]
            if change is None:
                del rows[key]
            else:
                rows[key] = change(rows[key]) if callable(change) else change
            jobs = await _all_there(factory, ids)
            await jobs.append(ids[0], draft.note("goes on"))
            again = await _opened(factory)
            assert (await again.load(ids[0])).entries[-1].kind == "note"
            assert all(str(t) for t in jobs.troubles)
            number += 1

    run(work())


@pytest.mark.parametrize("count", [3, 80])
def test_a_lost_list_is_made_anew_and_said(count: int) -> None:
    async def work() -> None:
        factory = Factory()
        jobs = await _opened(factory)
        for n in range(count):
            made = await jobs.create(title=f"Job {n}")
            if n % 2:
                await jobs.append(made.id, reading("3.0"))
        expected = await jobs.list()
        factory.databases["boreside"].stores["index"].clear()
        again = await _opened(factory)
        assert await again.list() == expected
        assert any("list of jobs was damaged" in str(t) for t in again.troubles)
        assert (await _opened(factory)).troubles == ()

    run(work())


@pytest.mark.parametrize("version", [1, 20, 23])
def test_an_empty_database_is_filled(version: int) -> None:
    async def work() -> None:
        factory = Factory()
        request = factory.open("boreside", version)
        while request.result is None:
            await __import__("asyncio").sleep(0)
        ids = await _two(factory)
        await _all_there(factory, ids)

    run(work())


def test_a_newer_database_is_refused_and_left_alone() -> None:
    async def work() -> None:
        factory = Factory()
        request = factory.open("boreside", 30)
        while request.result is None:
            await __import__("asyncio").sleep(0)
        with pytest.raises(Refused) as refused:
            await _opened(factory)
        assert refused.value.code == "newer"
        assert factory.databases["boreside"].stores == {} and factory.databases["boreside"].version == 30

    run(work())


def test_a_store_of_the_first_form_is_taken_over_with_all_it_has() -> None:
    """One row for each document, written whole, as it was before there was a journal."""

    async def work() -> None:
        factory = Factory()
        ids = await _two(factory)
        shared = factory.databases["boreside"]
        tables = {}
        for id in ids:
            jobs = await _opened(factory)
            document = await jobs.load(id)
            tables[id] = _old_form(document)
        shared.stores.pop("log"), shared.stores.pop("copies")
        shared.version = 1
        shared.stores["documents"] = {id: json.dumps(t) for id, t in tables.items()}
        jobs = await _all_there(factory, ids)
        assert jobs.troubles == ()
        await jobs.append(ids[0], reading("3.003"))
        again = await _opened(factory)
        assert texts(await again.load(ids[0])) == ["3.001", "3.002", "3.003"]

    run(work())


def _old_form(document: Any) -> dict[str, Any]:
    header = [{"key": k, **stamped_data(v)} for k, v in document.header.items()]
    return {
        "meta": {"1": {"schema_version": 1, "id": document.id, "type": document.type, "revision": "r", "clock": ""}},
        "header": {str(n): row for n, row in enumerate(header, start=1)},
        "entries": {str(n): entry_data(e) for n, e in enumerate(document.entries, start=1)},
    }


@pytest.mark.parametrize("name", ["QuotaExceededError", "UnknownError", "DataError"])
def test_a_transaction_that_fails_changes_nothing_and_is_said(name: str) -> None:
    async def work() -> None:
        factory = Factory()
        ids = await _two(factory)
        jobs = await _opened(factory)
        one = reading("3.003")
        await jobs.load(ids[0])
        factory.databases["boreside"].fault = name
        try:
            await jobs.append(ids[0], one)
        except NotSaved:
            assert texts(await (await _opened(factory)).load(ids[0])) == ["3.001", "3.002"]
            await jobs.append(ids[0], one)
        assert texts(await (await _opened(factory)).load(ids[0])) == ["3.001", "3.002", "3.003"]

    run(work())


def test_a_save_puts_as_much_in_a_long_job_as_in_a_short_one() -> None:
    async def work() -> None:
        factory = Factory()
        jobs = await _opened(factory)
        grown = {}
        for count in (50, 3000):
            made = await jobs.create(title="Long")
            await jobs.append(made.id, *(reading("3.0", depth=n) for n in range(1, count + 1)))
            await jobs.append(made.id, reading("3.1"))
            before = {s: dict(r) for s, r in factory.databases["boreside"].stores.items()}
            await jobs.append(made.id, reading("3.2"))
            after = factory.databases["boreside"].stores
            changed = {s: [k for k in after[s] if before[s].get(k) != after[s][k]] for s in after}
            assert {s: len(k) for s, k in changed.items() if k} == {"log": 1, "copies": 1, "index": 1, "settings": 1}
            grown[count] = sum(len(after[s][k]) for s, keys in changed.items() for k in keys)
        assert grown[3000] <= grown[50] + 8

    run(work())


@pytest.mark.parametrize("name", ["SecurityError", "InvalidStateError"])
def test_no_storage_at_all_is_said_at_once(name: str) -> None:
    async def work() -> None:
        factory = Factory()
        factory.forbidden = name
        begun = time.monotonic()
        with pytest.raises(Refused) as refused:
            await _opened(factory)
        assert refused.value.code == "closed" and "does not let Boreside store anything" in str(refused.value)
        assert time.monotonic() - begun < 3

    run(work())
