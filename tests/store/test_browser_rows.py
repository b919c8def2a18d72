"""The browser's store against a storage in memory: any one row may be damaged, and it starts and loses nothing."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import Any

import pytest

from store import draft
from store.documents import value_of
from store.errors import NotSaved, Refused
from store.form import entry_data, stamped_data
from store.jobs import Jobs
from store.rows import record_in, sealed_row, sealed_tables

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


@pytest.mark.parametrize(("count", "at_once"), [(3, 500), (80, 500), (80, 33)])
def test_a_lost_list_is_made_anew_and_said(count: int, at_once: int) -> None:
    async def work() -> None:
        factory = Factory()
        jobs = await _opened(factory)
        for n in range(count):
            made = await jobs.create(title=f"Job {n}")
            if n % 2:
                await jobs.append(made.id, reading("3.0"))
        expected = await jobs.list()
        factory.databases["boreside"].stores["index"].clear()
        module: Any = browser(factory)
        module._AT_ONCE = at_once
        again = await Jobs.open(module.BrowserBackend())
        assert await again.list() == expected
        assert any("list of jobs was damaged" in str(t) for t in again.troubles)
        assert (await _opened(factory)).troubles == ()

    run(work())


@pytest.mark.parametrize("row", ["", "x", 5, {"media": "image/png"}, {"media": "image/png", "data": b"other"}])
def test_a_damaged_photo_is_said_and_nothing_breaks_off(row: Any) -> None:
    async def work() -> None:
        factory = Factory()
        jobs = await _opened(factory)
        digest = await jobs.put_photo(b"\xff\xd8\xff" + bytes(50), "image/jpeg")
        photos = factory.databases["boreside"].stores["photos"]
        kept = photos[digest]
        photos[digest] = type(kept)(row) if isinstance(row, dict) else row
        assert await jobs.get_photo(digest) is None and await jobs.export(photos=True)
        assert [str(t) for t in jobs.troubles] == ["A photo is damaged and cannot be shown."]

    run(work())


def test_a_full_browser_still_makes_a_file() -> None:
    async def work() -> None:
        factory = Factory()
        ids = await _two(factory)
        jobs = await _opened(factory)
        pieces = jobs.export_pieces()
        made = [await anext(pieces)]
        async for piece in pieces:
            made.append(piece)
            factory.databases["boreside"].fault = "QuotaExceededError"
        assert ids[0].encode() in b"".join(made)

    run(work())


def test_no_transaction_goes_through_more_than_a_few_hundred_jobs() -> None:
    """One that takes longer than a storage may be silent would be given up, and the store never start on a slow phone."""

    async def work() -> None:
        factory = Factory()
        jobs = await _opened(factory)
        for n in range(70):
            await jobs.create(title=f"Job {n}")
        factory.databases["boreside"].stores["index"].clear()
        module: Any = browser(factory)
        asked: list[int] = []

        class Counted(module._Asking):  # type: ignore[misc]
            def many(self, requests: Any, then: Any) -> None:
                found = list(requests)
                asked.append(len(found))
                super().many(found, then)

        module._Asking, module._AT_ONCE = Counted, 30
        assert len(await (await Jobs.open(module.BrowserBackend())).list()) == 70
        assert asked == [30, 30, 10]

    run(work())


#: A row's tables, and a record with a title that looks like one.
OLD: dict[str, Any] = {"meta": {"1": {"id": "a"}}, "entries": {"1": {"text": 'Uncle "record":{"1":{}}'}}}
RECORD: dict[str, Any] = {"id": "a", "revision": "r", "entries": 3, "title": '"record":{"1":{"title":"x"}}'}


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (lambda text: text, True),
        (lambda text: text.replace("Uncle", "Uncl3"), True),  # elsewhere in the row: the record is whole
        (lambda text: text.replace('"entries":3', '"entries":4'), False),
        (lambda text: text[:-40], False),
        (lambda text: "", False),
        (lambda text: None, False),
        (lambda text: sealed_row({**OLD, "record": {"1": RECORD}}), True),  # as an earlier version wrote it
        (lambda text: sealed_row({**OLD, "record": {"1": RECORD}}).replace("Uncle", "Uncl3"), False),
    ],
)
def test_a_record_is_read_out_of_a_row_without_the_rest(change: Callable[[str], Any], found: bool) -> None:
    assert (record_in(change(sealed_tables(OLD, RECORD))) == RECORD) is found


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
