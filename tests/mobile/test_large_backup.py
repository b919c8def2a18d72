"""A backup with many photos through the browser's own dialogues: out and in photo by photo, whatever its size."""

from __future__ import annotations

import hashlib
import re
import sys
import tracemalloc
from pathlib import Path
from typing import Any

import pytest

from store import draft, seal
from store.memory import MemoryBackend

from .page import browser
from .stub import Phone, drive

#: 40 photos of a megabyte come to 53 MB in an export, for base64 takes four characters for three bytes.
COUNT, LENGTH = 40, 1_000_000


def photo(number: int) -> bytes:
    """An invented picture: a JPEG's first marker, then what no other photo has."""
    seed = hashlib.sha256(str(number).encode()).digest()
    return (b"\xff\xd8\xff" + seed * (LENGTH // 32 + 1))[:LENGTH]


class Camera(MemoryBackend):
    """Keeps no photo: makes each when it is asked for, and only looks whether what comes in is the right one."""

    def __init__(self) -> None:
        super().__init__()
        self.numbers: dict[str, int] = {}
        self.came: set[str] = set()

    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        assert hashlib.sha256(data).hexdigest() == digest and media == "image/jpeg" and len(data) == LENGTH
        self.came.add(digest)

    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        return "image/jpeg", photo(self.numbers[digest])


async def phone_with(backend: MemoryBackend, monkeypatch: pytest.MonkeyPatch) -> Phone:
    monkeypatch.setattr("tests.mobile.stub.MemoryBackend", lambda: backend)
    return await Phone.start()


@pytest.mark.parametrize("passphrase", ["", "four words of iron"])
def test_a_photo_backup_of_53_mb_goes_out_and_in_photo_by_photo(
    passphrase: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seal, "ITERATIONS", 1000)

    async def work() -> None:
        camera, empty = Camera(), Camera()
        phone = await phone_with(camera, monkeypatch)
        made = await phone.jobs.create(title="Many photos")
        for number in range(COUNT):
            digest = hashlib.sha256(photo(number)).hexdigest()
            camera.numbers[digest] = number
            (entry,) = await phone.jobs.append(made.id, draft.photo(digest, "image/jpeg", LENGTH, caption=str(number)))
        other = await phone_with(empty, monkeypatch)
        with browser(tmp_path) as page:
            await phone.go("/files")
            await phone.tick("Put the photos in as well", on=True)
            if passphrase:
                await phone.write("Passphrase (may be empty)", passphrase, by="on_change")
            peak = await _peak(phone.tap("Save all jobs to a file"))
            (saved,) = page.saved.values()
            size = saved.stat().st_size
            assert size > COUNT * LENGTH * 4 / 3 * (4 / 3 if passphrase else 1) and size > 53_000_000
            assert peak < 14_000_000, f"{peak / 1e6:.0f} MB on the way out"

            await other.go("/files")
            await other.tap("Choose a file")
            other.gone(re.compile("entries were new"))  # nothing was chosen
            page.picks = saved
            if passphrase:
                await other.tap("Choose a file")
                await other.write("Passphrase of the file", passphrase, by="on_change")
            peak = await _peak(other.tap("Open the file" if passphrase else "Choose a file"))
            other.see(f"{COUNT} entries were new, 0 here already.")
            assert peak < 14_000_000, f"{peak / 1e6:.0f} MB on the way in"
            assert empty.came == set(camera.numbers)
            assert [e.id for e in await other.entries(made.id, "photo")][-1] == entry.id

    drive(work)


async def _peak(work: Any) -> int:
    """The most memory in use at once while something is done, beyond what was in use before."""
    tracemalloc.start()
    try:
        await work
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_a_file_that_has_gone_since_it_was_chosen_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def work() -> None:
        phone = await Phone.start(with_demo=True)
        with browser(tmp_path) as page:
            await phone.go("/files")
            await phone.tap("Save all jobs to a file")
            (page.picks,) = page.saved.values()
            whole = page.ask

            async def gone(what: str, *given: Any) -> Any:
                answer = await whole(what, *given)
                if what == "choose":
                    answer.path.unlink()
                return answer

            monkeypatch.setattr(sys.modules["boreside_js"], "ask", gone)
            await phone.tap("Choose a file")
            phone.see("The file cannot be read any more. Choose it again.")

    drive(work)
