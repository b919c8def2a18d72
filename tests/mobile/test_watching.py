"""A shared folder: what two phones save there is merged and answered, whatever is killed or half written meanwhile."""

from __future__ import annotations

import asyncio
import errno
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest

from mobile import watching
from mobile.command import main
from mobile.watching import ANSWER, Watch
from store import draft
from store.documents import Document
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.pieces import FileSource

ROOT = Path(__file__).parents[2]


async def watched(folder: Path, **how: object) -> Watch:
    return Watch(folder, await Jobs.open(MemoryBackend()), **how)


async def phone(*notes: str, like: bytes = b"") -> tuple[Jobs, str]:
    """A phone with one job, or with what another handed over."""
    jobs = await Jobs.open(MemoryBackend())
    if like:
        await jobs.take_in(await jobs.examine(like))
        (job,) = await jobs.list()
        id = job.id
    else:
        id = (await jobs.create(title="Invented four", cylinders=4)).id
    for words in notes:
        await jobs.append(id, draft.note(words))
    return jobs, id


def notes(document: Document) -> set[str]:
    return {e.text for e in document.entries if e.kind == "note"}


async def answer(folder: Path) -> Document:
    """The job as a third phone has it that takes the answer in."""
    jobs = await Jobs.open(MemoryBackend())
    await jobs.take_in(await jobs.examine((folder / ANSWER).read_bytes()))
    (job,) = await jobs.list()
    return await jobs.load(job.id)


def test_two_phones_meet_in_a_folder(tmp_path: Path) -> None:
    async def go() -> None:
        first, id = await phone("from the first")
        start = await first.export()
        second, _ = await phone("from the second", like=start)
        await first.append(id, draft.note("later, from the first"))
        (tmp_path / "first.json").write_bytes(await first.export())
        (tmp_path / "second.json").write_bytes(await second.export())
        watch = await watched(tmp_path)
        assert await watch.look() == 0, "a file seen for the first time may still be growing"
        assert await watch.look() == 2
        assert notes(await answer(tmp_path)) == {"from the first", "from the second", "later, from the first"}
        made = (tmp_path / ANSWER).stat().st_mtime_ns
        assert await watch.look() == 0 and (tmp_path / ANSWER).stat().st_mtime_ns == made, (
            "nothing new, nothing written"
        )
        # the second phone takes the answer in, goes on, and saves under the same name
        await second.take_in(await second.examine((tmp_path / ANSWER).read_bytes()))
        await second.append(id, draft.note("with both"))
        (tmp_path / "second.json").write_bytes(await second.export())
        assert [await watch.look(), await watch.look()] == [0, 1]
        assert len(notes(await answer(tmp_path))) == 4
        # an older file that comes late takes nothing back
        (tmp_path / "late.json").write_bytes(start)
        assert [await watch.look(), await watch.look()] == [0, 1]
        assert len(notes(await answer(tmp_path))) == 4

    asyncio.run(go())


def test_a_file_is_never_half_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Written in pieces, with a look after each, and with one that stops for a while in the middle."""

    async def go() -> None:
        jobs, _ = await phone("one", "two")
        data = await jobs.export()
        watch = await watched(tmp_path)
        await watch.look()
        with (tmp_path / "slow.json").open("wb") as file:
            for at in range(0, len(data), len(data) // 7):
                file.write(data[at : at + len(data) // 7])
                file.flush()
                assert await watch.look() == 0
            assert await watch.look() == 1  # whole at last
        assert notes(await answer(tmp_path)) == {"one", "two"}
        # one that stands still in the middle is refused by its own check, and taken when it goes on
        half = tmp_path / "half.json"
        jobs, _ = await phone("three")
        data = await jobs.export()
        half.write_bytes(data[: len(data) // 2])
        assert [await watch.look(), await watch.look()] == [0, 0] and watch.refused == 1
        half.write_bytes(data)
        assert [await watch.look(), await watch.look()] == [0, 1]
        # written to while it is read
        racing = tmp_path / "racing.json"
        racing.write_bytes(data)
        await watch.look()
        ((path, mark),) = watch.arrived()
        racing.write_bytes(data + b" ")
        assert not await watch._take(path, mark) and "racing.json" not in watch.dealt

    asyncio.run(go())
    assert "half.json: " in capsys.readouterr().out


def test_what_is_no_export_is_named_and_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "odd\x1b[31m.json").write_bytes(b"{}")
    (tmp_path / "notes.txt").write_bytes(b"x")
    (tmp_path / ".hidden.json").write_bytes(b"x")
    (tmp_path / "folder.json").mkdir()
    (tmp_path / "gone.json").symlink_to(tmp_path / "nowhere")
    assert main(["watch", str(tmp_path), "--data", str(tmp_path / "store"), "--once", "--every", "0.01"]) == 2
    out = capsys.readouterr().out
    assert out.startswith("odd\\u001b[31m.json: ") and "\x1b" not in out and "notes.txt" not in out
    assert (tmp_path / "odd\x1b[31m.json").read_bytes() == b"{}"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--seal"], "--seal needs a passphrase"),
        (["--answer", "../x.json"], "--answer"),
        (["--every", "0"], "--every"),
        (["--data", "{}"], "--data"),
    ],
)
def test_bad_input_gets_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], said: str
) -> None:
    try:
        code = main(["watch", str(tmp_path), "--once", *(m.format(tmp_path) for m in more)])
    except SystemExit as stop:  # what the reading of arguments refuses
        code = stop.code
    assert code == 2
    assert said in capsys.readouterr().err
    assert main(["watch", str(tmp_path / "none"), "--once"]) == 2


def test_locked_files_are_opened_and_the_answer_is_locked(tmp_path: Path) -> None:
    folder = tmp_path / "shared"
    folder.mkdir()
    (tmp_path / "words").write_text("several invented words here")
    jobs, _ = asyncio.run(phone("kept close"))
    (folder / "a.json").write_bytes(asyncio.run(jobs.export(passphrase="several invented words here")))
    how = ["--passphrase-file", str(tmp_path / "words"), "--seal", "--data", str(tmp_path / "store")]
    assert main(["watch", str(folder), "--once", "--every", "0.01", *how]) == 0
    assert b"kept close" not in (folder / ANSWER).read_bytes() and b"AES-256-GCM" in (folder / ANSWER).read_bytes()


@pytest.mark.parametrize("asked", [signal.SIGINT, signal.SIGTERM])
def test_asked_to_end_as_soon_as_it_watches(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: signal.Signals
) -> None:
    """Also where it was started by a shell script in the background, which leaves Ctrl+C ignored."""
    (tmp_path / "shared").mkdir()
    late: list[str] = []

    def told(_words: str) -> None:
        """The very moment somebody reads that it watches, they ask it to end; and once more if it does not."""
        again.start()
        os.kill(os.getpid(), asked)

    def unheard(*_: object) -> None:
        late.append("not listened to")
        os.kill(os.getpid(), signal.SIGINT)

    again = threading.Timer(2, unheard)
    monkeypatch.setattr(watching, "tell", told)
    before = signal.signal(signal.SIGINT, signal.SIG_IGN), signal.signal(signal.SIGTERM, unheard)
    try:
        how = ["--data", str(tmp_path / "store"), "--every", "0.01"]
        assert main(["watch", str(tmp_path / "shared"), *how]) == 0 and not late
    finally:
        again.cancel()
        signal.signal(signal.SIGINT, before[0])
        signal.signal(signal.SIGTERM, before[1])


def test_a_folder_or_disk_that_fails_for_a_while_is_said_once_and_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A share that is off the net, no room for the answer, a file of somebody else: the watch goes on, and owes nothing in the end."""

    async def go() -> None:
        jobs, _ = await phone("kept")
        (tmp_path / "first.json").write_bytes(await jobs.export())
        watch = await watched(tmp_path)
        with monkeypatch.context() as away:
            away.setattr(Path, "iterdir", failing(errno.EHOSTDOWN))
            await watch.keep_looking()
            await watch.keep_looking()
        assert capsys.readouterr().err.count("Host is down. It is tried again.") == 1
        with monkeypatch.context() as shut:
            shut.setattr(FileSource, "read", failing(errno.EACCES))
            for _ in range(3):
                await watch.keep_looking()
        assert capsys.readouterr().out.count("It cannot be read now: Permission denied.") == 1
        with monkeypatch.context() as full:
            full.setattr(os, "fsync", failing(errno.ENOSPC))
            await watch.keep_looking()
        assert "No space left on device. It is tried again." in capsys.readouterr().err
        assert not (tmp_path / ANSWER).exists() and not list(tmp_path.glob(".*"))
        await watch.keep_looking()
        assert notes(await answer(tmp_path)) == {"kept"}
        # with an answer of before there: what could not be put into it is owed
        await jobs.append((await jobs.list())[0].id, draft.note("and this"))
        (tmp_path / "first.json").write_bytes(await jobs.export())
        await watch.keep_looking()
        with monkeypatch.context() as full:
            full.setattr(os, "fsync", failing(errno.ENOSPC))
            await watch.keep_looking()
        assert notes(await answer(tmp_path)) == {"kept"}
        await watch.keep_looking()
        assert notes(await answer(tmp_path)) == {"kept", "and this"}

    asyncio.run(go())


def failing(number: int) -> Callable[..., NoReturn]:
    def fail(*_: object) -> NoReturn:
        raise OSError(number, os.strerror(number))

    return fail


def test_killed_again_and_again_while_two_phones_save(tmp_path: Path) -> None:
    """Six kills at any moment; whatever stood in a whole file is in the answer, which is whole at every moment."""
    folder = tmp_path / "shared"
    folder.mkdir()
    command = [
        sys.executable,
        "-m",
        "mobile.command",
        "watch",
        str(folder),
        "--data",
        str(tmp_path / "store"),
        "--every",
        "0.05",
    ]
    rng = random.Random(4)

    async def go() -> None:
        first, id = await phone("start")
        second, _ = await phone(like=await first.export())
        wrote = {"start"}
        for turn in range(6):
            for name, jobs in (("first", first), ("second", second)):
                await jobs.append(id, draft.note(f"{name} {turn}"))
                wrote.add(f"{name} {turn}")
                (folder / f"{name}.json").write_bytes(await jobs.export())
            running = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: ASYNC220  # the process under test
            await asyncio.sleep(rng.uniform(0.8, 3.0))
            running.send_signal(signal.SIGKILL)
            running.wait()
            if (folder / ANSWER).exists():
                assert notes(await answer(folder)) <= wrote
        running = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)  # noqa: ASYNC220  # the process under test
        try:
            assert running.stderr is not None and running.stderr.readline().startswith("Watching ")
            threading.Thread(target=running.stderr.read, daemon=True).start()  # a full pipe would hold it up
            end = time.monotonic() + 60
            while not (folder / ANSWER).exists() or notes(await answer(folder)) != wrote:
                assert time.monotonic() < end and running.poll() is None
                await asyncio.sleep(0.2)
        finally:
            running.send_signal(signal.SIGINT)
            assert running.wait(20) == 0
        assert not [p.name for p in folder.iterdir() if p.name.startswith(".")], "nothing half written is left"
        assert json.loads((folder / ANSWER).read_bytes())["documents"]

    asyncio.run(go())
