"""The verb that watches a shared folder: what arrives is merged, and one merged file answers.

A phone saves its export into the folder (by a synced drive, a network share or a cable).
When a file has stopped growing it is read whole, checked, and merged into the jobs kept
on this computer; then the merged file in the folder is made anew, for the phones to take
in. Merging is a union, so a file taken in twice, or again after a kill, changes nothing.
A file that is still being written is not half read: it is looked at only when two looks
found it the same, it must be the same after the reading as before, and an export that
breaks off fails its own check and is waited for.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import signal
import stat
import sys
from dataclasses import dataclass, field
from pathlib import Path

from logic.say import LN, L, Line, Style, say
from store.errors import NotSaved, Refused
from store.files import FilesBackend, home
from store.jobs import Exported, Jobs
from store.pieces import FileSource

from .terminal import BAD_INPUT, DONE, InputError, passphrase, print_out, put_pieces, tell, to_lock_with

__all__ = ["Watch", "run_watch"]

#: The merged file that answers, where no other name is given.
ANSWER = "boreside-merged.json"
#: Size, time of the last change and number of a file: what tells it from the same one written further.
_Mark = tuple[int, int, int]


def _mark(path: Path) -> _Mark | None:
    try:
        about = path.stat()
    except OSError:
        return None  # gone again, or not to be looked at now
    return (about.st_size, about.st_mtime_ns, about.st_ino) if stat.S_ISREG(about.st_mode) else None


@dataclass
class Watch:
    """A folder under watch. ``style`` says how results are told, ``words`` is the passphrase of locked files."""

    folder: Path
    jobs: Jobs
    answer: str = ANSWER
    words: str = ""
    locked: bool = False
    style: Style = field(default_factory=Style)
    as_json: bool = False
    #: What each file looked like at the last look, and when it was dealt with.
    seen: dict[str, _Mark] = field(default_factory=dict)
    dealt: dict[str, _Mark] = field(default_factory=dict)
    #: What the merged file held when it was last made.
    held: Exported = field(default_factory=Exported)
    refused: int = 0
    #: Whether something was taken in that the merged file does not hold yet.
    owed: bool = False
    #: What was last said of each file: what goes on from look to look is said once.
    told: dict[str, str] = field(default_factory=dict)

    def arrived(self) -> list[tuple[Path, _Mark]]:
        """The files that were the same at the last look and were not dealt with as they are."""
        ready, now = [], {}
        for path in sorted(self.folder.iterdir()):
            if (
                path.name == self.answer
                or path.name.startswith(".")
                or not path.name.lower().endswith((".json", ".json.txt"))
            ):
                continue
            mark = _mark(path)
            if mark is None:
                continue
            now[path.name] = mark
            if self.seen.get(path.name) == mark != self.dealt.get(path.name):
                ready.append((path, mark))
        self.seen = now
        return ready

    async def look(self) -> int:
        """One look at the folder; how many files were taken in."""
        taken = 0
        for path, mark in self.arrived():
            taken += await self._take(path, mark)
        self.owed = self.owed or taken > 0
        if self.owed or not (self.folder / self.answer).exists():
            await self._reply()
            self.owed = False
        return taken

    def _say(self, path: Path, line: Line) -> None:
        said = self.told[path.name] = say(line, self.style)
        print_out(json.dumps({"file": path.name, "said": said}) if self.as_json else f"{path.name}: {said}")
        sys.stdout.flush()

    def _say_once(self, path: Path, line: Line) -> None:
        """Say what may last: that a file cannot be read or stored just now."""
        if self.told.get(path.name) != say(line, self.style):
            self._say(path, line)

    async def keep_looking(self) -> None:
        """One look. What the folder, the disk or the store does not allow just now is said once; the next look tries again."""
        try:
            await self.look()
        except (OSError, InputError, Refused) as failed:
            why = f"{failed.strerror or failed}." if isinstance(failed, OSError) else str(failed)
            if self.told.get("") != why:
                self.told[""] = why
                tell(f"{self.folder}: {why} It is tried again.")
        else:
            self.told.pop("", None)

    async def _take(self, path: Path, mark: _Mark) -> bool:
        try:
            incoming = await self.jobs.examine(FileSource(path), passphrase=self.words)
            if _mark(path) != mark:
                return False  # somebody wrote to it meanwhile: the next look tries again
            report = await self.jobs.take_in(incoming)
        except NotSaved as failed:  # no room, say: it may be better at the next look
            self._say_once(path, failed.line)
            return False
        except Refused as refused:
            if _mark(path) != mark:
                return False
            self.dealt[path.name] = mark
            self.refused += 1
            self._say(path, refused.line)
            return False
        except OSError as error:  # not ours to read yet, or gone
            self._say_once(path, L("It cannot be read now: {why}.", why=error.strerror or str(error)))
            return False
        self.dealt[path.name] = mark
        for notice in incoming.notices:
            self._say(path, notice)
        self._say(path, LN("One entry was new.", "{n} entries were new.", report.added))
        return True

    async def _reply(self) -> None:
        """Make the merged file anew, whole or not at all, where it would hold something else."""
        target = self.folder / self.answer
        part = target.with_name(f".{target.name}.{os.getpid()}.part")
        try:
            words = self.words if self.locked else ""
            await put_pieces(str(part), self.jobs.export_pieces(photos=True, passphrase=words))
            holds = self.jobs.exported
            if not holds.documents or (holds == self.held and target.exists()):
                return
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
        self.held = holds
        self._say(target, LN("It holds one job or card.", "It holds {n} jobs and cards.", holds.documents))


def _tidy(folder: Path, answer: str) -> None:
    """Clear away what a kill left of an unfinished answer."""
    for left in folder.glob(f".*{answer}.*"):
        left.unlink(missing_ok=True)


def _on_interrupt() -> asyncio.Event:
    """Set by Ctrl+C, or by the system asking it to end: a look under way is finished, not broken off.

    Asked for before the store is opened: where this was started in the background of a shell script, Ctrl+C
    is ignored until somebody listens to it, and one that came before would be lost.
    """
    stop = asyncio.Event()
    for asked in (signal.SIGINT, signal.SIGTERM):
        with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):  # not the main thread, or none such
            asyncio.get_running_loop().add_signal_handler(asked, stop.set)
    return stop


async def _within(stop: asyncio.Event, seconds: float) -> bool:
    """Whether it is set within so many seconds."""
    with contextlib.suppress(TimeoutError):
        await asyncio.wait_for(stop.wait(), seconds)
    return stop.is_set()


async def _watch(given: argparse.Namespace, folder: Path, data: Path) -> int:
    words = to_lock_with(given) if given.seal else passphrase(given)
    stop = _on_interrupt()
    try:
        jobs = await Jobs.open(FilesBackend(data))
    except OSError as error:
        raise InputError(f"{data} cannot be used: {error.strerror or error}.") from None
    watch = Watch(folder, jobs, given.answer, words, given.seal, Style(language=given.language), given.json)
    try:
        _tidy(folder, given.answer)
        if given.once:
            await watch.look()
            if not await _within(stop, given.every):
                await watch.look()
        else:
            tell(f"Watching {folder}; merged into {data}. Stop with Ctrl+C.")
            while not await _within(stop, given.every):
                await watch.keep_looking()
            return DONE
    except OSError as error:
        raise InputError(f"{folder} cannot be watched: {error.strerror or error}.") from None
    finally:
        await jobs.close()
    return BAD_INPUT if watch.refused else DONE


def run_watch(given: argparse.Namespace) -> int:
    folder = Path(given.folder)
    data = home(given.data)
    if not folder.is_dir():
        raise InputError(f"{folder} is no folder.")
    if Path(given.answer).name != given.answer or not given.answer.endswith(".json"):
        raise InputError("--answer is the name of a file in the folder, ending in .json.")
    if data.resolve() == folder.resolve():
        raise InputError("--data must be another folder than the one watched.")
    if not given.every > 0:
        raise InputError("--every is a number of seconds above 0.")
    try:
        return asyncio.run(_watch(given, folder, data))
    except KeyboardInterrupt:
        return DONE
