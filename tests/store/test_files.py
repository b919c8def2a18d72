"""The store in files when things go wrong: nothing that was called saved is ever lost."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

import pytest
from filelock import FileLock

from store import draft, merge, shelf
from store.documents import value_of
from store.errors import NotSaved, Refused
from store.files import FilesBackend
from store.form import checksum, entry_data
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.merge import normal

from .faults import Disk, Killed, copy_store, put_in
from .support import Time, reading, run, texts

PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


class Story:
    """A small piece of work, with a record of what was called saved."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.saved: dict[str, list[str]] = {}
        self.titles: dict[str, str] = {}
        self.photos: list[str] = []
        self.setting: Any = None
        self.refused: list[Refused] = []

    async def _try(self, act: Any) -> Any:
        """Do something; after a refusal do it again, as a person would. ``act`` makes the coroutine."""
        for _ in range(3):
            try:
                return await act()
            except Refused as refused:
                self.refused.append(refused)
                if self.on_refusal:
                    self.on_refusal()
        raise AssertionError(f"work could not go on: {self.refused}")

    on_refusal: Any = None

    async def tell(self) -> None:
        jobs = await self._try(lambda: Jobs.open(FilesBackend(self.root), now_ms=Time()))
        for number in range(2):
            made = await self._try(lambda: jobs.create(title=f"Job {number}"))
            self.saved[made.id], self.titles[made.id] = [], f"Job {number}"
            for depth in (1, 2):
                one = reading(f"3.0{number}{depth}", depth=depth)
                await self._try(lambda: jobs.append(made.id, one))
                self.saved[made.id].append(one.typed.text)
            await self._try(lambda: jobs.set_header(made.id, title=f"Renamed {number}"))
            self.titles[made.id] = f"Renamed {number}"
            await self._try(jobs.list)
        await self._try(lambda: jobs.set_setting("place", [1, 2]))
        self.setting = [1, 2]
        self.photos.append(await self._try(lambda: jobs.put_photo(PNG, "image/png")))
        await jobs.close()

    async def check(self) -> None:
        """Everything that was called saved is there, whole, and work can go on."""
        jobs = await Jobs.open(FilesBackend(self.root), now_ms=Time())
        listed = {s.id: s for s in await jobs.list()}
        assert not any(s.trouble for s in listed.values())
        for id, saved in self.saved.items():
            found = await jobs.load(id)
            kept = texts(found)
            assert kept[: len(saved)] == saved and len(kept) == len(set(kept))
            titles = [v.value for v in (*found.earlier.get("title", ()), found.header["title"])]
            assert self.titles[id] in titles
            assert listed[id].entries == len(found.entries) and listed[id].title == value_of(found, "title")
            await jobs.append(id, draft.note("still works"))
        if self.setting is not None:
            assert await jobs.setting("place") == self.setting
        for digest in self.photos:
            assert await jobs.get_photo(digest) == ("image/png", PNG)
        again = await Jobs.open(FilesBackend(self.root))
        for id, saved in self.saved.items():
            found = await again.load(id)
            assert texts(found)[: len(saved)] == saved and found.entries[-1].kind == "note"


@pytest.fixture
def disk() -> Iterator[Any]:
    def make(mode: str, at: int) -> Disk:
        made = Disk(mode, at)
        put_in(made)
        return made

    yield make
    put_in(os)


def calls_of_the_story(tmp_path: Path, disk: Any) -> list[str]:
    counting = disk("", -1)
    story = Story(tmp_path / "count")
    run(story.tell())
    assert not story.refused
    assert {"open", "write", "fsync", "replace", "close", "stat"} <= set(counting.names)
    return counting.names


def test_every_call_to_the_disk_fails_once_in_turn(tmp_path: Path, disk: Any) -> None:
    names = calls_of_the_story(tmp_path, disk)
    reported = 0
    for at in range(len(names)):
        disk("error", at)
        story = Story(tmp_path / f"error{at}")
        run(story.tell())
        for refused in story.refused:
            assert isinstance(refused, NotSaved) or refused.code == "io", names[at]
            assert refused.line.template.startswith(("Not saved", "The disk reported"))
        reported += bool(story.refused)
        put_in(os)
        run(story.check())
    assert reported > len(names) / 3


def _dies(story: Story) -> bool:
    try:
        run(story.tell())
    except Killed:
        return True
    return False


def test_the_process_dies_before_every_call_in_turn(tmp_path: Path, disk: Any) -> None:
    names = calls_of_the_story(tmp_path, disk)
    for at in range(len(names)):
        disk("kill", at)
        story = Story(tmp_path / f"kill{at}")
        if not _dies(story):
            assert at > len(names) * 0.8  # how often folders are looked at depends on the time
            break
        put_in(os)
        run(story.check())


def test_the_power_fails_before_every_call_in_turn(tmp_path: Path, disk: Any) -> None:
    names = calls_of_the_story(tmp_path, disk)
    for at in range(len(names)):
        failing = disk("kill", at)
        story = Story(tmp_path / f"power{at}")
        if not _dies(story):
            assert at > len(names) * 0.8
            break
        put_in(os)
        failing.lose_power()
        run(story.check())


def test_the_power_failure_would_notice_a_missing_sync(tmp_path: Path, disk: Any) -> None:
    """The check above can fail: without syncing, entries called saved are gone."""
    failing = disk("", -1)
    failing.fsync = lambda handle: None
    story = Story(tmp_path / "unsynced")
    run(story.tell())
    put_in(os)
    failing.lose_power()
    with pytest.raises((AssertionError, Refused)):
        run(story.check())


@pytest.mark.parametrize("mode", ["full", "half"])
def test_the_disk_fills_up_at_every_call_in_turn(mode: str, tmp_path: Path, disk: Any) -> None:
    names = calls_of_the_story(tmp_path, disk)
    told = 0
    for at in range(0, len(names), 2):
        full = disk(mode, at)
        story = Story(tmp_path / f"full{at}")
        story.on_refusal = full.mend
        run(story.tell())
        told += bool(story.refused)
        for refused in story.refused:
            assert refused.code == "full" and "disk is full" in str(refused)
        put_in(os)
        run(story.check())
    assert told > 5


def test_a_disk_that_takes_a_few_bytes_at_a_time(tmp_path: Path, disk: Any) -> None:
    disk("short", -1)
    story = Story(tmp_path / "short")
    run(story.tell())
    assert not story.refused
    run(story.check())


# -- damage on the disk ------------------------------------------------------------------


async def _two_entries(root: Path) -> tuple[str, Path]:
    jobs = await Jobs.open(FilesBackend(root))
    made = await jobs.create(title="Damaged later")
    await jobs.append(made.id, reading("3.001"))
    await jobs.append(made.id, reading("3.002"))
    await jobs.close()
    return made.id, root / "documents" / made.id[:2] / f"{made.id}.json"


def _spoilt(whole: bytes, damage: str) -> bytes | None:
    """A file's bytes after damage; None where the file is gone."""
    half = len(whole) // 2
    return {
        "cut": whole[: len(whole) * 2 // 3],
        "cut at a line": whole[: whole.rfind(b"\n", 0, -1) + 1],
        "empty": b"",
        "flipped": whole[:half] + bytes([whole[half] ^ 1]) + whole[half + 1 :],
        "zeros": bytes(len(whole)),
        "other": b'{"sha256": 5}\n[[',
        "gone": None,
    }[damage]


def _put(path: Path, data: bytes | None) -> None:
    if data is None:
        path.unlink()
    else:
        path.write_bytes(data)


DAMAGES = ["cut", "cut at a line", "empty", "flipped", "zeros", "other", "gone"]


@pytest.mark.parametrize("damage", DAMAGES)
@pytest.mark.parametrize("which", ["documents/json", "documents/log", "copies/json", "copies/log"])
def test_any_one_file_of_a_job_may_be_damaged_and_nothing_is_lost(which: str, damage: str, tmp_path: Path) -> None:
    async def work() -> None:
        id, _ = await _two_entries(tmp_path)
        folder, ending = which.split("/")
        path = tmp_path / folder / id[:2] / f"{id}.{ending}"
        whole = path.read_bytes()
        bad = _spoilt(whole, damage)
        _put(path, bad)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await jobs.load(id)) == ["3.001", "3.002"]
        assert [(s.title, s.entries, s.trouble) for s in await jobs.list()] == [("Damaged later", 2, None)]
        if folder == "documents" and bad != b"" and bad != whole[: whole.find(b"\n") + 1]:
            assert [str(t) for t in jobs.troubles] == [
                f"The file of job {id} was damaged. It was put right from its copy."
            ]
        await jobs.append(id, reading("3.004"))
        again = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await again.load(id)) == ["3.001", "3.002", "3.004"] and again.troubles == ()
        assert [s.entries for s in await again.list()] == [3]
        if folder == "documents" and bad and damage in ("flipped", "other"):
            assert path.with_name(f"{id}.damaged.{ending}").read_bytes() == bad

    run(work())


@pytest.mark.parametrize("damage", ["cut", "empty", "flipped", "zeros", "other"])
def test_without_a_copy_the_database_before_it_is_used_and_said(damage: str, tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)
        shutil.rmtree(tmp_path / "copies")
        # what a whole write leaves beside the document: the one before it
        path.with_name(f"{id}.before.json").write_bytes(path.read_bytes())
        bad = _spoilt(path.read_bytes(), damage)
        _put(path, bad)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert value_of(await jobs.load(id), "title") == "Damaged later"
        (trouble,) = jobs.troubles
        assert "the last entry may be missing" in str(trouble)
        await jobs.append(id, reading("3.004"))
        again = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await again.load(id))[-1] == "3.004" and again.troubles == ()
        assert path.with_name(f"{id}.damaged.json").read_bytes() == bad

    run(work())


def test_a_line_that_was_cut_short_is_left_out_and_the_next_save_is_whole(tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)
        log = path.with_suffix(".log")
        whole = log.read_bytes()
        for tail in (whole[: len(whole) // 3], b"\0" * 300, b"x", b"0123456789abcdef {"):
            log.write_bytes(whole + tail)
            jobs = await Jobs.open(FilesBackend(tmp_path))
            assert texts(await jobs.load(id)) == ["3.001", "3.002"] and jobs.troubles == ()
        await jobs.append(id, reading("3.003"))
        again = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await again.load(id)) == ["3.001", "3.002", "3.003"] and again.troubles == ()

    run(work())


def test_a_save_writes_as_much_in_a_long_job_as_in_a_short_one(tmp_path: Path, disk: Any) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        written = {}
        for count in (50, 5000):
            made = await jobs.create(title="Long")
            await jobs.append(made.id, *(reading("3.001", depth=n) for n in range(1, count + 1)))
            await jobs.append(made.id, reading("3.002"))
            counting = disk("", -1)
            sizes: list[int] = []
            counting.write = lambda handle, data: (sizes.append(len(data)), os.write(handle, data))[1]
            await jobs.append(made.id, reading("3.003"))
            written[count] = sum(sizes), sorted(counting.names)
            put_in(os)
        assert written[5000][0] <= written[50][0] + 16 and written[5000][1] == written[50][1]
        assert written[50][0] < 2000

    run(work())


def test_a_changed_header_costs_the_same_in_a_long_job_and_after_many_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the entries nor the values that the header held before are looked through for one more."""

    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        looked: list[int] = []

        def counted(module: ModuleType) -> None:
            real: Any = module.canonical  # type: ignore[attr-defined]
            monkeypatch.setattr(module, "canonical", lambda data: (looked.append(1), real(data))[1])

        made = await jobs.create(title="Long")
        await jobs.set_header(made.id, title="Renamed")
        for module in (merge, shelf):
            counted(module)
        monkeypatch.setattr(shelf, "entry_data", refuse_to_look)
        await jobs.set_header(made.id, title="Once more")
        short = len(looked)
        monkeypatch.setattr(shelf, "entry_data", entry_data)
        await jobs.append(made.id, *(reading("3.001", depth=n) for n in range(1, 501)))
        for n in range(60):
            await jobs.set_header(made.id, title=f"Title {n}", customer=f"Customer {n % 7}")
        looked.clear()
        monkeypatch.setattr(shelf, "entry_data", refuse_to_look)
        await jobs.set_header(made.id, title="The last")
        assert len(looked) == short
        (listed,) = await jobs.list()
        assert (listed.title, listed.customer, listed.entries) == ("The last", "Customer 3", 500)
        again = await Jobs.open(FilesBackend(tmp_path))
        assert await again.list() == [listed]
        assert await again.load(made.id) == await jobs.load(made.id) == normal(await jobs.load(made.id))

    run(work())


def refuse_to_look(entry: object) -> NoReturn:
    raise AssertionError(f"an entry was looked at for a change of the header: {entry}")


def test_a_long_journal_goes_into_the_database_after_a_restart(tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        for n in range(220):
            await jobs.append(id, reading("3.1", depth=n + 1))
        jobs = await Jobs.open(FilesBackend(tmp_path))
        await jobs.append(id, reading("3.2"))
        assert not path.with_suffix(".log").exists()
        rows = json.loads(path.read_bytes().partition(b"\n")[2])
        assert len(rows["entries"]) == 223
        assert len(texts(await (await Jobs.open(FilesBackend(tmp_path))).load(id))) == 223

    run(work())


def test_an_open_job_puts_back_what_the_damage_took(tmp_path: Path) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        made = await jobs.create(title="Open")
        await jobs.append(made.id, reading("3.001"))
        await jobs.append(made.id, reading("3.002"))
        path = tmp_path / "documents" / made.id[:2] / f"{made.id}.json"
        path.write_bytes(b"")
        await jobs.append(made.id, reading("3.003"))
        assert texts(await (await Jobs.open(FilesBackend(tmp_path))).load(made.id)) == ["3.001", "3.002", "3.003"]

    run(work())


def test_both_copies_damaged_is_said_and_an_export_mends_it(tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        other = await jobs.create(title="Untouched")
        data = await jobs.export()
        await jobs.close()
        path.write_bytes(b"x")
        path.with_suffix(".log").write_bytes(b"y\n")
        for copy in (tmp_path / "copies").rglob(f"{id}*"):
            copy.write_bytes(b"z\n")
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert {s.id: bool(s.trouble) for s in await jobs.list()} == {id: True, other.id: False}
        for act in (jobs.load(id), jobs.append(id, reading("3.5"))):
            with pytest.raises(Refused) as refused:
                await act
            assert refused.value.code == "broken"
        assert path.read_bytes() == b"x", "left as it is until something takes its place"
        assert len(json.loads(await jobs.export())["documents"]) == 1, "the rest can still be exported"
        await jobs.take_in(await jobs.examine(data))
        again = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await again.load(id)) == ["3.001", "3.002"]
        assert not any(s.trouble for s in await again.list())
        assert path.with_name(f"{id}.damaged.json").read_bytes() == b"x"

    run(work())


def _rewritten(path: Path, change: Any) -> bytes:
    tables = json.loads(path.read_bytes().partition(b"\n")[2])
    change(tables)
    body = json.dumps(tables).encode()
    path.write_bytes(json.dumps({"sha256": checksum(body)}).encode() + b"\n" + body)
    return path.read_bytes()


def test_a_whole_file_that_makes_no_sense_is_not_taken_for_a_log(tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)
        _rewritten(path, lambda tables: tables["header"]["1"].update(stamp="nonsense"))
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert texts(await jobs.load(id)) == ["3.001", "3.002"], "from the copy"
        shutil.rmtree(tmp_path / "copies")
        jobs = await Jobs.open(FilesBackend(tmp_path))
        with pytest.raises(Refused) as refused:
            await jobs.load(id)
        assert refused.value.code == "broken"
        assert [bool(s.trouble) for s in await jobs.list()] == [True]

    run(work())


def test_an_older_app_leaves_newer_data_alone(tmp_path: Path) -> None:
    async def work() -> None:
        id, path = await _two_entries(tmp_path)

        def newer(tables: Any) -> None:
            tables["meta"]["1"]["schema_version"] = 99
            tables["something"] = {"1": {"new": True}}

        content = _rewritten(path, newer)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        (summary,) = await jobs.list()
        assert "newer Boreside" in str(summary.trouble)
        for act in (jobs.load(id), jobs.append(id, reading("3.5")), jobs.set_header(id, title="x"), jobs.delete(id)):
            with pytest.raises(Refused) as refused:
                await act
            assert refused.value.code == "newer"
        made = await jobs.create(title="Own")
        assert len(json.loads(await jobs.export())["documents"]) == 1
        assert (await jobs.load(made.id)).id == made.id
        assert path.read_bytes() == content

    run(work())


def test_a_store_of_a_newer_form_is_not_opened(tmp_path: Path) -> None:
    async def work() -> None:
        await _two_entries(tmp_path)
        content = _rewritten(tmp_path / "boreside.json", lambda tables: tables["store"]["1"].update(format=3))
        with pytest.raises(Refused) as refused:
            await Jobs.open(FilesBackend(tmp_path))
        assert refused.value.code == "newer"
        assert (tmp_path / "boreside.json").read_bytes() == content

    run(work())


def test_the_index_is_made_anew_when_lost_damaged_or_out_of_date(tmp_path: Path) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path / "a"))
        for number in range(20):
            made = await jobs.create(title=f"Job {number}")
            await jobs.append(made.id, reading("3.0"))
        expected = await jobs.list()
        await jobs.close()
        for damage in ("lost", "garbled", "moved"):
            root = copy_store(tmp_path / "a", tmp_path / damage)
            for path in (root / "index").iterdir():
                if damage == "lost":
                    path.unlink()
                elif damage == "garbled":
                    path.write_bytes(path.read_bytes()[:-9])
            assert await (await Jobs.open(FilesBackend(root))).list() == expected, damage
        # a file put back from a backup is noticed while the program runs
        watching = await Jobs.open(FilesBackend(tmp_path / "a"))
        other = await Jobs.open(FilesBackend(tmp_path / "a"))
        await other.set_header(made.id, title="Changed elsewhere")
        assert "Changed elsewhere" in {s.title for s in await watching.list()}

    run(work())


def test_photo_damaged_on_disk_is_not_shown(tmp_path: Path) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        digest = await jobs.put_photo(PNG, "image/png")
        (path,) = (tmp_path / "photos").rglob("*.png")
        path.write_bytes(PNG[:-1])
        assert await jobs.get_photo(digest) is None
        assert [str(t) for t in jobs.troubles] == ["A photo is damaged and cannot be shown."]

    run(work())


# -- more than one process ----------------------------------------------------------------


def _append_many(root: str, id: str, mark: str, count: int) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(root))
        for number in range(count):
            await jobs.append(id, draft.note(f"{mark}{number}"))
        await jobs.create(title=f"By {mark}")

    run(work())


def test_two_processes_at_once_lose_nothing(tmp_path: Path) -> None:
    made = run(_made(tmp_path))
    context = multiprocessing.get_context("spawn")
    workers = [context.Process(target=_append_many, args=(str(tmp_path), made, mark, 40)) for mark in "ab"]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
        assert worker.exitcode == 0

    async def check() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        found = await jobs.load(made)
        assert sorted(e.text for e in found.entries) == sorted(f"{m}{n}" for m in "ab" for n in range(40))
        assert len({e.id for e in found.entries}) == 80
        assert {s.title for s in await jobs.list()} == {"Shared", "By a", "By b"}

    run(check())


async def _made(root: Path) -> str:
    jobs = await Jobs.open(FilesBackend(root))
    made = await jobs.create(title="Shared")
    await jobs.close()
    return made.id


_CHILD = """
import asyncio, sys
from store import draft, merge, shelf
from store.files import FilesBackend
from store.jobs import Jobs
async def work():
    jobs = await Jobs.open(FilesBackend(sys.argv[1]))
    number = 0
    while True:
        await jobs.append(sys.argv[2], draft.note(f"n{number}"))
        print(number, flush=True)
        number += 1
asyncio.run(work())
"""


@pytest.mark.skipif(os.name == "nt", reason="needs a kill signal")
def test_killed_outright_while_saving_loses_nothing_called_saved(tmp_path: Path) -> None:
    made = run(_made(tmp_path))
    total = 0
    for lines in (1, 7, 20):
        child = subprocess.Popen(
            [sys.executable, "-c", _CHILD, str(tmp_path), made], stdout=subprocess.PIPE, text=True,
            cwd=Path(__file__).parents[2],
        )  # fmt: skip
        assert child.stdout
        for _ in range(lines):
            child.stdout.readline()
        child.send_signal(signal.SIGKILL)
        rest = child.stdout.read().split()
        child.wait()
        total += lines + len(rest)

        async def check() -> None:
            jobs = await Jobs.open(FilesBackend(tmp_path))
            found = await jobs.load(made)
            assert total <= len(found.entries) <= total + 3
            assert jobs.troubles == ()

        run(check())


def test_a_store_held_by_another_process_is_waited_for_then_said(tmp_path: Path) -> None:
    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path, wait_s=0.05))
        made = await jobs.create(title="Held")
        one = reading("3.0")
        with FileLock(tmp_path / "lock"):
            with pytest.raises(NotSaved) as refused:
                await jobs.append(made.id, one)
            assert refused.value.code == "busy"
        await jobs.append(made.id, one)
        assert texts(await jobs.load(made.id)) == ["3.0"]

    run(work())


def test_memory_and_files_store_the_same_rows(tmp_path: Path) -> None:
    async def work() -> None:
        memory = MemoryBackend()
        first = await Jobs.open(memory, now_ms=Time())
        made = await first.create(title="Same")
        await first.append(made.id, reading("3.0"))
        first = await Jobs.open(MemoryBackend(), now_ms=Time())
        await first.take_in(await first.examine(await (await Jobs.open(memory)).export()))
        memory = first._backend
        second = await Jobs.open(FilesBackend(tmp_path))
        await second.take_in(await second.examine(await first.export()))
        path = tmp_path / "documents" / made.id[:2] / f"{made.id}.json"
        rows = json.loads(path.read_bytes().partition(b"\n")[2])
        stored = json.loads(memory.texts[made.id])
        assert rows["entries"] == stored["entries"] and rows["header"] == stored["header"]

    run(work())
