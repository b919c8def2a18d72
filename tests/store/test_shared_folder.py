"""A folder that others put things into: stray files, second copies, what cannot be read, and no locks."""

from __future__ import annotations

import errno
import json
import os
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import store.locks
from store import draft
from store.errors import NotSaved, Refused
from store.files import FilesBackend
from store.jobs import Jobs
from store.locks import Busy, LockFile

from .faults import Disk, put_in
from .faults import Unreadable as Shut
from .support import reading, run, texts


async def _job(root: Path, title: str = "Kept") -> str:
    jobs = await Jobs.open(FilesBackend(root))
    made = await jobs.create(title=title)
    await jobs.append(made.id, reading("3.001"))
    await jobs.close()
    return made.id


class Unreadable(Disk):
    """A disk on which one name cannot be read."""

    def __init__(self, part: str, call: str = "open") -> None:
        super().__init__()
        self._part, self._call = part, call

    def __getattr__(self, name: str) -> Any:
        real = super().__getattr__(name)
        if name != self._call:
            return real

        def call(path: Any, *args: Any, **more: Any) -> Any:
            if self._part in str(path):
                raise OSError(errno.EIO, "made to fail")
            return real(path, *args, **more)

        return call


@pytest.mark.parametrize(
    "part", ["boreside.json", "settings/device", "settings/settings", "settings/exports", "settings"]
)
def test_a_file_of_the_device_unreadable_once_keeps_no_job_from_being_used(part: str, tmp_path: Path) -> None:
    """Its own id, what was noted or the form of the folder: the jobs open, are saved and exported; what it was stays."""

    async def work() -> None:
        id = await _job(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        await jobs.set_setting("name", "Ada")
        device = jobs.device
        put_in(Unreadable(part))
        try:
            shut = await Jobs.open(FilesBackend(tmp_path))
            assert [s.title for s in await shut.list()] == ["Kept"]
            await shut.append(id, reading("3.002"))
            assert b"3.002" in await shut.export()
            assert any("could not be read" in str(t) and part in str(t) for t in shut.troubles)
            if part in ("settings/settings", "settings"):
                with pytest.raises(NotSaved):
                    await shut.set_setting("name", "Bob")
            assert (shut.device == device) == (part not in ("settings/device", "settings"))
        finally:
            put_in(os)
        again = await Jobs.open(FilesBackend(tmp_path))
        assert again.device == device and await again.setting("name") == "Ada" and again.troubles == ()
        assert texts(await again.load(id)) == ["3.001", "3.002"]

    run(work())


def test_a_photo_that_cannot_be_read_just_now_keeps_no_file_from_being_made(tmp_path: Path) -> None:
    async def work() -> None:
        await _job(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        digest = await jobs.put_photo(b"\xff\xd8\xff" + bytes(50), "image/jpeg")
        put_in(Unreadable("photos"))
        try:
            assert await jobs.get_photo(digest) is None
            assert b"3.001" in await jobs.export(photos=True)
        finally:
            put_in(os)
        assert [str(t) for t in jobs.troubles] == ["A photo could not be read just now."]
        assert await jobs.get_photo(digest) is not None

    run(work())


def test_a_file_is_made_where_there_is_no_room_to_note_that_it_was(tmp_path: Path) -> None:
    """A full disk is when a backup onto another one is wanted most. It then counts as not made."""

    async def work() -> None:
        id = await _job(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        put_in(Disk("full", 0))
        try:
            assert b"3.001" in await jobs.export()
            (listed,) = await jobs.list()
            assert listed.id == id and listed.unsaved
        finally:
            put_in(os)

    run(work())


@pytest.mark.parametrize("index", ["kept", "lost"])
def test_a_file_unreadable_once_keeps_its_name_and_is_read_again(index: str, tmp_path: Path) -> None:
    async def work() -> None:
        id = await _job(tmp_path)
        other = await _job(tmp_path, "Other")
        path = tmp_path / "documents" / id[:2] / f"{id}.json"
        os.utime(path, (1, 1))  # what the index says of it no longer counts
        if index == "lost":
            for file in (tmp_path / "index").iterdir():
                file.unlink()
        put_in(Unreadable(path.name))
        try:
            jobs = await Jobs.open(FilesBackend(tmp_path))
            listed = {s.id: s for s in await jobs.list()}
            assert listed[other].trouble is None
            assert "could not be read just now" in str(listed[id].trouble)
            assert listed[id].title == ("Kept" if index == "kept" else "")
            assert any(id in str(t) for t in jobs.troubles)
            await jobs.close()
        finally:
            put_in(os)
        for again in (jobs, await Jobs.open(FilesBackend(tmp_path))):
            assert {(s.title, s.trouble) for s in await again.list()} == {("Kept", None), ("Other", None)}

    run(work())


def test_one_shard_that_may_not_be_read_does_not_stop_the_rest(tmp_path: Path) -> None:
    async def work() -> None:
        id = await _job(tmp_path)
        other = await _job(tmp_path, "Other")
        while other[:2] == id[:2]:
            other = await _job(tmp_path, "Other")
        put_in(Unreadable(os.path.join("documents", id[:2]), "scandir"))  # noqa: PTH118  as text, as it is handed over
        try:
            jobs = await Jobs.open(FilesBackend(tmp_path))
            assert {"Kept", "Other"} <= {s.title for s in await jobs.list()}
            await jobs.append(other, reading("3.002"))
            assert any("could not be read" in str(t) for t in jobs.troubles)
        finally:
            put_in(os)
        assert (await jobs.load(id)).id == id

    run(work())


def _strays(folder: Path, id: str) -> dict[str, Any]:
    whole = (folder / f"{id}.json").read_bytes()
    return {
        "notes.txt": b"hello",
        ".hidden": b"",
        "Thumbs.db": b"\0" * 100,
        "other.json": b"{}",
        f"{id}.json.tmp": whole[:50],
        f"{'z' * 16 if id[0] != 'z' else 'y' * 16}.json": whole,
        f"{id} (second copy 2026-03-01).json": whole,
        f"{id}.sync-conflict-20260301.json": whole,
    }


def test_strays_are_named_and_nothing_is_listed_twice(tmp_path: Path) -> None:
    async def work() -> None:
        id = await _job(tmp_path)
        folder = tmp_path / "documents" / id[:2]
        strays = _strays(folder, id)
        for name, data in strays.items():
            (folder / name).write_bytes(data)
        (folder / "a folder.json").mkdir()
        (folder / f"{id[:2]}dangling0.json").symlink_to(tmp_path / "nowhere")
        (tmp_path / "documents" / "stray").write_bytes(b"x")
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert [(s.id, s.title, s.trouble) for s in await jobs.list()] == [(id, "Kept", None)]
        said = "\n".join(map(str, jobs.troubles))
        for name in (*strays, "a folder.json", "dangling0.json"):
            assert name in said
        assert said.count("It can be merged") == 3
        await jobs.append(id, reading("3.002"))
        assert all((folder / name).read_bytes() == data for name, data in strays.items()), "left alone"

    run(work())


def test_a_second_copy_is_offered_as_a_merge(tmp_path: Path) -> None:
    async def work() -> None:
        id = await _job(tmp_path / "here")
        await _copied(tmp_path / "here", tmp_path / "there")
        for root, text in (("here", "3.1"), ("there", "3.2")):
            jobs = await Jobs.open(FilesBackend(tmp_path / root))
            await jobs.append(id, reading(text))
            await jobs.close()
        folder = Path("documents") / id[:2]
        for ending in ("json", "log"):
            data = (tmp_path / "there" / folder / f"{id}.{ending}").read_bytes()
            (tmp_path / "here" / folder / f"{id} (from there).{ending}").write_bytes(data)
        jobs = await Jobs.open(FilesBackend(tmp_path / "here"))
        names = await jobs.second_copies()
        assert len(names) == 2
        assert sum([await jobs.merge_copy(name) for name in names]) == 1
        assert sorted(texts(await jobs.load(id))) == ["3.001", "3.1", "3.2"]
        assert await jobs.second_copies() == () and len(list((tmp_path / "here" / "aside").iterdir())) == 2
        again = await Jobs.open(FilesBackend(tmp_path / "here"))
        assert again.troubles == () and len(await again.list()) == 1
        with pytest.raises(Refused):
            await jobs.merge_copy(names[0])

    run(work())


async def _copied(source: Path, target: Path) -> None:
    shutil.copytree(source, target)


# -- locks ---------------------------------------------------------------------------------


@pytest.fixture
def no_locks(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: Any) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(store.locks.fcntl, "flock", none)


def test_work_goes_on_where_the_file_system_has_no_locks(no_locks: None, tmp_path: Path) -> None:
    async def work() -> None:
        id = await _job(tmp_path)
        jobs = await Jobs.open(FilesBackend(tmp_path))
        await jobs.append(id, reading("3.002"))
        assert texts(await jobs.load(id)) == ["3.001", "3.002"]
        assert not (tmp_path / "lock.held").exists()

    run(work())


def _owner(pid: int, host: str, started: str) -> bytes:
    return json.dumps({"pid": pid, "host": host, "started": started}).encode()


def test_a_lock_file_left_by_a_kill_is_told_from_one_whose_process_runs(no_locks: None, tmp_path: Path) -> None:
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    try:
        running = store.locks._started(child.pid)
        held = tmp_path / "lock.held"

        async def work() -> None:
            id = await _job(tmp_path)
            jobs = await Jobs.open(FilesBackend(tmp_path, wait_s=0.1))
            held.write_bytes(_owner(child.pid, socket.gethostname(), running))
            with pytest.raises(NotSaved) as refused:
                await jobs.append(id, draft.note("held"))
            assert refused.value.code == "busy"
            for said in (_owner(child.pid, socket.gethostname(), "1"), _owner(2**22 + 1, socket.gethostname(), "1")):
                held.write_bytes(said)
                await jobs.append(id, draft.note("left behind"))
                assert not held.exists()
            held.write_bytes(_owner(1, "another-computer", "1"))
            with pytest.raises(NotSaved):
                await jobs.append(id, draft.note("elsewhere"))
            os.utime(held, (time.time() - 200,) * 2)
            await jobs.append(id, draft.note("elsewhere, long ago"))
            assert len((await jobs.load(id)).entries) == 4

        run(work())
    finally:
        child.kill()
        child.wait()
    assert store.locks._left_behind(_owner(child.pid, socket.gethostname(), running), 0)


def test_two_processes_keep_apart_by_a_lock_file(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom store.locks import LockFile\nlock = LockFile(sys.argv[1] + '/lock.held')\n"
        "for _ in range(150):\n    lock.acquire(20)\n    path = sys.argv[1] + '/count'\n"
        "    number = int(open(path).read())\n    open(path, 'w').write(str(number + 1))\n    lock.release()\n"
    )
    (tmp_path / "count").write_text("0")
    children = [
        subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], cwd=Path(__file__).parents[2]) for _ in range(2)
    ]
    assert [child.wait(60) for child in children] == [0, 0]
    assert (tmp_path / "count").read_text() == "300"


def test_a_lock_that_is_held_is_waited_for_no_longer_than_asked(tmp_path: Path) -> None:
    one, two = LockFile(str(tmp_path / "held")), LockFile(str(tmp_path / "held"))
    one.acquire(0)
    with pytest.raises(Busy):
        two.acquire(0.05)
    one.release()
    two.acquire(0.05)
    two.release()


def test_copies_that_cannot_be_read_keep_no_job_off_a_list_made_anew(tmp_path: Path) -> None:
    """Found by the random life: the index was lost, and the copies could not be looked at for a while."""

    async def work() -> None:
        jobs = await Jobs.open(FilesBackend(tmp_path))
        made = await jobs.create(title="Readable")
        await jobs.close()
        shutil.rmtree(tmp_path / "index")
        put_in(Shut("copies/"))
        try:
            again = await Jobs.open(FilesBackend(tmp_path))
            assert [(s.id, s.title) for s in await again.list()] == [(made.id, "Readable")]
            assert any("could not be read" in str(t) for t in again.troubles)
        finally:
            put_in(os)
        assert [s.id for s in await again.list()] == [made.id]

    run(work())
