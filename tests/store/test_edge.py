"""At the edge of time, and bad parts beside good ones: what is written can be read back everywhere, and what is set last stands."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store import draft
from store.backend import Backend
from store.clock import AHEAD_MS, FILE_MS, LATEST_MS, Clock, join, ms_of
from store.documents import Document, Stamped, value_of
from store.errors import Refused
from store.files import FilesBackend
from store.form import canonical, checksum
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.merge import heads, normal, set_value
from store.transfer import write

from .fake_browser import Factory, browser
from .support import NOW, Time, reading, run, texts

ID = "edgejob0"
YEAR_2286 = 9_999_999_999_999


def dated(*titles: str) -> Document:
    """A job whose titles were set at these stamps, one after the other."""
    values = [Stamped(value=f"Title {n}", stamp=stamp, by="Mallory") for n, stamp in enumerate(titles)]
    header, earlier = {"title": values[-1]}, {"title": tuple(values[:-1])}
    return normal(Document(id=ID, header=header, earlier=earlier))


def file_with(*titles: str) -> bytes:
    return write([dated(*titles)], device="mallory0", made_ms=NOW)


# -- stamps -------------------------------------------------------------------------------


@pytest.mark.parametrize("counter", [0, 99_999])
def test_the_latest_stamp_a_file_may_bring_can_still_be_superseded_again_and_again(counter: int) -> None:
    async def work() -> None:
        jobs = await Jobs.open(MemoryBackend(), now_ms=Time())
        await jobs.take_in(await jobs.examine(file_with(join(FILE_MS, counter, "mallory0"))))
        for turn in range(300):
            document = await jobs.set_header(ID, title=f"Mine {turn}")
            assert value_of(document, "title") == f"Mine {turn}"
            if turn % 100 == 99:
                await jobs.delete(ID)
                assert [s.id for s in await jobs.list(deleted=True)] == [ID]
                await jobs.restore(ID)
                assert [s.id for s in await jobs.list()] == [ID]
        # and every other device can read what came of it
        other = await Jobs.open(MemoryBackend(), now_ms=Time())
        await other.take_in(await other.examine(await jobs.export()))
        assert value_of(await other.load(ID), "title") == "Mine 299"
        assert value_of(await other.set_header(ID, title="Theirs"), "title") == "Theirs"

    run(work())


@pytest.mark.parametrize("ms", [FILE_MS + 2, LATEST_MS, LATEST_MS + 1, YEAR_2286])
def test_a_stamp_that_leaves_no_room_is_refused(ms: int) -> None:
    async def work() -> None:
        jobs = await Jobs.open(MemoryBackend(), now_ms=Time())
        with pytest.raises(Refused) as refused:
            await jobs.examine(file_with(join(ms, 0, "mallory0")))
        assert refused.value.code in ("stamp", "entry")

    run(work())


@settings(max_examples=200, deadline=None)
@given(
    st.integers(0, 10**16) | st.integers(FILE_MS - 3 * AHEAD_MS, LATEST_MS),
    st.lists(st.integers(0, LATEST_MS) | st.integers(FILE_MS - 3 * AHEAD_MS, FILE_MS), max_size=20),
)
def test_an_own_clock_never_passes_what_a_file_may_hold(now: int, seen: list[int]) -> None:
    clock = Clock("devicea0", lambda: now)
    for ms in seen:
        clock.see(join(ms, 99_999, "deviceb0"))
        assert ms_of(clock.tick()) < FILE_MS
    again = Clock("devicea0", lambda: now, clock.last)
    assert ms_of(again.tick()) < FILE_MS


moments = st.integers(0, 6).map(lambda n: join(NOW + n, 0, "devicea0"))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(moments, st.lists(moments, max_size=4)), min_size=1, max_size=6), moments)
def test_no_value_is_ever_set_over_one_of_its_own_time_or_later(
    history: list[tuple[str, list[str]]], stamp: str
) -> None:
    values = [Stamped(value=f"v{n}", stamp=s, over=tuple(over)) for n, (s, over) in enumerate(history)]
    document = normal(Document(id=ID, header={"title": values[0]}, earlier={"title": tuple(values[1:])}))
    standing = heads(document, "title")
    latest = max(v.stamp for v in values)
    # whatever a file claims, the latest value is never covered
    assert standing and standing[0].stamp == latest
    after = set_value(document, "title", "new", stamp, "")
    (new,) = [v for v in (*after.earlier["title"], after.header["title"]) if v.value == "new"]
    assert all(over < new.stamp for over in new.over)
    assert {v.value for v in values} <= {v.value for v in (*after.earlier["title"], after.header["title"])}


def test_a_file_that_names_later_values_as_covered_hides_none() -> None:
    late = Stamped(value="late", stamp=join(NOW + 5, 0, "devicea0"))
    liar = Stamped(value="liar", stamp=join(NOW, 0, "deviceb0"), over=(late.stamp, join(NOW, 0, "deviceb0")))
    document = normal(Document(id=ID, header={"title": liar}, earlier={"title": (late,)}))
    assert value_of(document, "title") == "late"
    assert {v.value for v in heads(document, "title")} == {"late", "liar"}


# -- good parts come in, bad ones are named and kept aside --------------------------------------


def _files(tmp_path: Path) -> tuple[Backend, Callable[[], list[str]]]:
    return FilesBackend(tmp_path), lambda: [p.read_text("utf-8") for p in sorted((tmp_path / "aside").iterdir())]


def _browser(_tmp_path: Path) -> tuple[Backend, Callable[[], list[str]]]:
    factory = Factory()
    backend = browser(factory).BrowserBackend()
    return backend, lambda: [
        v for k, v in factory.databases["boreside"].stores["settings"].items() if k[:6] == "aside."
    ]


def _memory(_tmp_path: Path) -> tuple[Backend, Callable[[], list[str]]]:
    backend = MemoryBackend()
    return backend, lambda: list(backend.aside.values())


def _bad(part: dict[str, Any], how: str) -> None:
    """Spoil one part of an export as a fault, or somebody, might."""
    document = part["document"]
    if how == "checksum":
        document["entries"][0]["by"] = "changed"
        return
    if how == "header":
        document["header"]["cylinders"] = {"value": 10**6, "stamp": document["header"]["title"]["stamp"]}
    elif how == "stamp":
        document["entries"][0]["stamp"] = join(YEAR_2286, 0, "mallory0")
    else:
        document["entries"][0]["kind"] = "spell"
    part["sha256"] = checksum(canonical(document))


@pytest.fixture(params=[_files, _browser, _memory], ids=["files", "browser", "memory"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Backend, Callable[[], list[str]]]:
    made: tuple[Backend, Callable[[], list[str]]] = request.param(tmp_path)
    return made


@pytest.mark.parametrize("how", ["checksum", "header", "stamp", "kind"])
def test_one_bad_part_keeps_none_of_the_others_out(how: str, place: tuple[Backend, Callable[[], list[str]]]) -> None:
    async def work() -> None:
        away = await Jobs.open(MemoryBackend(), now_ms=Time())
        ids = []
        for number in range(3):
            made = await away.create(title=f"Job {number}")
            await away.append(made.id, reading(f"3.00{number}"), draft.note("noted"))
            ids.append(made.id)
        data = json.loads(await away.export())
        part = data["documents"][1]
        _bad(part, how)
        bad = part["document"]["id"]
        backend, aside = place
        jobs = await Jobs.open(backend, now_ms=Time())
        coming = await jobs.examine(json.dumps(data).encode())
        assert len([n for n in coming.notices if str(n).startswith("Left out and kept aside: ")]) == 1
        await jobs.take_in(coming)
        assert {s.id for s in await jobs.list()} == set(ids) - {bad}
        for number, id in enumerate(ids):
            if id != bad:
                assert texts(await jobs.load(id)) == [f"3.00{number}"]
        (kept,) = aside()
        assert json.loads(kept) == part, "as it came, to be looked at"
        await jobs.take_in(await jobs.examine(json.dumps(data).encode()))
        assert len(aside()) == 1, "the same part once"

    run(work())
