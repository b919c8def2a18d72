"""Files that are written with care, and the files of one document.

A file is written beside the old one, synced, and renamed into its place, so that at every
moment the old or the new content is there whole; its first line holds a checksum of the
rest. A log is only ever added to, and synced before a save is called saved.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from tinydb import Storage

from logic.say import L

from .errors import NotSaved, Refused
from .form import canonical, checksum
from .journal import Journal, Saved, adds, read_journal, read_line, rows_of
from .shelf import Tables

__all__ = [
    "CarefulFile",
    "JobFiles",
    "Loaded",
    "make_folder",
    "not_read",
    "not_saved",
    "parse",
    "read_all",
    "sync_folder",
    "write_all",
]

_TAIL = 16_384


def not_saved(problem: OSError) -> NotSaved:
    """What to say about a failed write."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return NotSaved(L("Not saved: the disk is full. Make room, then try again."), "full")
    if problem.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        return NotSaved(L("Not saved: this folder may not be written to."), "io")
    return NotSaved(L("Not saved: the disk reported “{why}”. Try again.", why=os.strerror(problem.errno or 0)), "io")


def not_read(problem: OSError) -> Refused:
    return Refused(
        L("The disk reported “{why}” when this was read. Try again.", why=os.strerror(problem.errno or 0)), "io"
    )


def _put(handle: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(handle, view) :]


def write_all(path: str, data: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o600)
    try:
        _put(handle, data)
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: str) -> None:
    if os.name == "nt":  # a folder cannot be opened there; the rename is journalled
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: str) -> None:
    if not os.path.isdir(folder):
        parent = os.path.dirname(folder)
        make_folder(parent)
        os.makedirs(folder, mode=0o700, exist_ok=True)
        sync_folder(parent)


def read_all(path: str) -> bytes | None:
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        return None
    try:
        parts = []
        while part := os.read(handle, 1 << 20):
            parts.append(part)
        return b"".join(parts)
    finally:
        os.close(handle)


def parse(data: bytes) -> Tables | None:
    """The tables in a file's bytes, or None if the file is not whole."""
    first, _, rest = data.partition(b"\n")
    try:
        if json.loads(first)["sha256"] != checksum(rest):
            return None
        tables = json.loads(rest)
    except (ValueError, LookupError, TypeError, RecursionError):
        return None
    return tables if isinstance(tables, dict) else None


def with_checksum(data: Any, record: Mapping[str, Any] | None = None) -> bytes:
    """The bytes of a file: a first line with the checksum of the rest, and the rest."""
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
    head: dict[str, Any] = {"sha256": checksum(body)}
    if record is not None:
        head.update(record=dict(record), digits=checksum(canonical(record))[:16])
    return json.dumps(head, ensure_ascii=False).encode() + b"\n" + body


class CarefulFile(Storage):
    """A TinyDB storage in one file that is replaced whole, with the copy before it kept.

    ``state`` after reading: "new" (no file), "good", "cut short" (a write was interrupted
    before it was called saved; the copy before it is used), "before" (damaged; the copy
    before it is used) or "broken" (both are damaged; read as empty). A damaged file is kept beside it as ``NAME.damaged.json``.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        stem = path.removesuffix(".json")
        self.before, self.damaged, self._new = (f"{stem}.{x}" for x in ("before.json", "damaged.json", "new"))
        self.state = "new"
        #: The document's record in the index, kept in the first line so that a lost index is soon made anew.
        self.record: Mapping[str, Any] | None = None
        #: Bytes of the file when it was last read (0: there is none).
        self.size = 0
        self._main_good = False

    def read(self) -> Tables | None:
        """The tables, or None. Raises OSError if the disk does."""
        data = read_all(self.path)
        self.size = 0 if data is None else len(data)
        tables = None if data is None else parse(data)
        if tables is not None:
            self.state, self._main_good = "good", True
            return tables
        self._main_good = False
        earlier = read_all(self.before)
        tables = None if earlier is None else parse(earlier)
        if tables is not None:
            self.state = "cut short" if data is None else "before"
        else:
            self.state = "new" if data is None and earlier is None else "broken"
        return tables

    def set_aside(self) -> None:
        """The content makes no sense: keep the file as damaged when the next write comes."""
        self.state, self._main_good = "broken", False

    def write(self, data: Tables) -> None:
        """Replace the file. Raises NotSaved; the old content is then still there."""
        text = with_checksum(data, self.record)
        folder = os.path.dirname(self.path)
        moved = False
        try:
            make_folder(folder)
            write_all(self._new, text)
            if self._main_good:
                os.replace(self.path, self.before)
                moved = True
            elif self.state in ("before", "broken") and os.path.exists(self.path):
                os.replace(self.path, self.damaged)
            os.replace(self._new, self.path)
            moved = False
            self.state, self._main_good = "good", True
            sync_folder(folder)
        except OSError as problem:
            try:
                if moved:
                    os.replace(self.before, self.path)
                os.unlink(self._new)
            except OSError:
                pass  # what is left over does no harm: the next write goes over it
            raise not_saved(problem) from problem


@dataclass
class Loaded:
    """What was found of a document. ``state``: "new" (nothing), "good", "mended" (damaged, and made
    whole from the copy), "before" (damaged; what could be saved is here) or "broken" (nothing could
    be). ``mend`` asks for everything to be written anew at the next change, ``copy`` for the copies
    to be made anew once it is seen that what was found makes sense."""

    state: str
    tables: Tables | None = None
    saved: list[Saved] = field(default_factory=list)
    mend: bool = False
    copy: bool = False


def _empty_state(file: str, *, log: bool) -> str:
    """The state of a document of which nothing can be read: there never was one, or it is broken."""
    return "new" if file == "new" and not log else "broken"


class JobFiles:
    """The files of one document: its database and the journal of what came since, and a copy of both.

    The copies lie in a folder of their own. They are not waited for: a save is saved when
    it is in the journal and that is synced. They are looked at where the first two are not
    whole, or not as long as the copies.
    """

    def __init__(self, folder: str, copies: str, id: str) -> None:
        self.base, self.log = os.path.join(folder, f"{id}.json"), os.path.join(folder, f"{id}.log")
        self.copied_base, self.copied_log = os.path.join(copies, f"{id}.json"), os.path.join(copies, f"{id}.log")
        self._file = CarefulFile(self.base)
        self._damaged_log = False

    # -- reading -------------------------------------------------------------------------
    def load(self) -> Loaded:
        """Everything that is there of the document. Raises OSError if the disk does."""
        tables = self._file.read()
        log = read_all(self.log) or b""
        journal = read_journal(log)
        self._damaged_log = bool(journal.damaged)
        alike = (_size(self.copied_base), _size(self.copied_log)) == (self._file.size, len(log))
        if self._file.state == "good" and journal.whole and alike:
            return Loaded("good", tables, journal.saved)
        return self._pieced(tables, journal, log=bool(log))

    def _pieced(self, tables: Tables | None, journal: Journal, *, log: bool) -> Loaded:
        """What the files, the copies and the copy before add up to."""
        file = self._file.state
        more = self._copied_besides(journal)
        pieces = [] if tables is None else [rows_of(tables)]
        spare, state = self._spare_base()
        pieces += spare
        pieces += journal.saved
        if state == "good" and adds(more, pieces):
            state = "mended"
        elif journal.damaged and not more:
            state = "before"
        pieces += more
        if state == file == "good" and journal.whole:
            return Loaded("good", None, pieces, copy=True)
        return Loaded(state if pieces else _empty_state(file, log=log), None, pieces, mend=True)

    def _copied_besides(self, journal: Journal) -> list[Saved]:
        """What the copy of the journal holds that the journal itself does not."""
        copied, known = read_journal(_quietly(self.copied_log) or b""), set(journal.texts)
        return [saved for saved, text in zip(copied.saved, copied.texts, strict=False) if text not in known]

    def _spare_base(self) -> tuple[list[Saved], str]:
        """Where the database is not good: what its copy holds; and the state that this leaves it in."""
        file = self._file.state
        if file == "good":
            return [], "good"
        spare = parse(_quietly(self.copied_base) or b"")
        if spare is None:
            return [], "good" if file == "cut short" else "before"
        return [rows_of(spare)], "good" if file == "cut short" else "mended"

    def copy(self) -> bool:
        """Make the copies anew from files that are whole, and make sense. False where that cannot be done now."""
        try:
            _replace_quickly(self.copied_base, read_all(self.base) or b"")
            log = read_all(self.log)
            if log is not None:
                _replace_quickly(self.copied_log, log)
            elif os.path.exists(self.copied_log):
                os.unlink(self.copied_log)
        except OSError:
            return False
        return True

    def copies(self) -> list[Saved]:
        """What the copies alone hold."""
        base = parse(_quietly(self.copied_base) or b"")
        lines = read_journal(_quietly(self.copied_log) or b"").saved
        return lines if base is None else [rows_of(base), *lines]

    # -- writing -------------------------------------------------------------------------
    def append(self, line: str) -> None:
        """Add a line to the journal. Raises NotSaved; the journal is then as it was, as far as the disk lets us."""
        data = line.encode("utf-8", "surrogatepass") + b"\n"
        size = -1
        try:
            handle = os.open(self.log, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o600)
            try:
                size = os.lseek(handle, 0, os.SEEK_END)
                _put(handle, data)
                os.fsync(handle)
            finally:
                os.close(handle)
            if size == 0:
                sync_folder(os.path.dirname(self.log))
        except OSError as problem:
            if size >= 0:
                with suppress(OSError):  # the line is still there then; it will be taken for what it is
                    os.truncate(self.log, size)
            raise not_saved(problem) from problem
        with suppress(OSError):  # they see it when they start, then
            os.utime(os.path.dirname(self.log))  # tells other processes that something in there has changed
        _append_quietly(self.copied_log, data)

    def rewrite(self, record: Mapping[str, Any], tables: Tables) -> None:
        """Write everything anew. Raises NotSaved; what was there is then still there."""
        self._file.record = record
        self._file.write(tables)
        aside = self.log.removesuffix(".log") + ".damaged.log" if self._damaged_log else ""
        try:
            if aside:
                os.replace(self.log, aside)
            else:
                os.unlink(self.log)
        except OSError:
            pass  # its lines say nothing that is not in the file already
        try:
            _replace_quickly(self.copied_base, with_checksum(tables, record))
            os.unlink(self.copied_log)
        except OSError:
            pass  # the copies are then not alike, which is noticed and mended
        self._damaged_log = False

    def make_sure(self) -> None:
        """What is there may be left from a save whose last step failed: see that it is on the disk. Raises OSError."""
        if os.path.exists(self.log):
            handle = os.open(self.log, os.O_WRONLY | getattr(os, "O_BINARY", 0))
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
        sync_folder(os.path.dirname(self.base))

    def set_aside(self) -> None:
        """The content makes no sense: keep it as damaged when the next write comes."""
        self._file.set_aside()
        self._damaged_log = os.path.exists(self.log)


def quick_record(base: str, log: str) -> dict[str, Any] | None:
    """A document's record as its last save wrote it down, read without reading the document; None where
    that cannot be trusted. ``base`` and ``log`` are paths."""
    try:
        tail = _end(log)
        if tail is None:
            return _head_record(base)
        if not tail.endswith(b"\n"):
            return None
        saved = read_line(tail[:-1].rpartition(b"\n")[2])
        return None if saved is None else dict(saved["record"])
    except OSError:
        return None


def _head_record(base: str) -> dict[str, Any] | None:
    handle = os.open(base, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    try:
        first = os.read(handle, _TAIL).partition(b"\n")[0]
    finally:
        os.close(handle)
    try:
        head = json.loads(first)
        record = head["record"]
        return dict(record) if checksum(canonical(record))[:16] == head["digits"] else None
    except (ValueError, LookupError, TypeError, RecursionError):
        return None


def _end(path: str) -> bytes | None:
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        return None
    try:
        os.lseek(handle, max(0, os.lseek(handle, 0, os.SEEK_END) - _TAIL), os.SEEK_SET)
        return os.read(handle, _TAIL)
    finally:
        os.close(handle)


def _size(path: str) -> int:
    try:
        return os.stat(path).st_size
    except OSError:
        return 0


def _quietly(path: str) -> bytes | None:
    try:
        return read_all(path)
    except OSError:
        return None


def _append_quietly(path: str, data: bytes) -> None:
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o600)
        try:
            _put(handle, data)
        finally:
            os.close(handle)
    except OSError:
        pass  # the copy is then shorter than the log, which is noticed and mended


def _replace_quickly(path: str, data: bytes) -> None:
    os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)
    handle = os.open(f"{path}.new", os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o600)
    try:
        _put(handle, data)
    finally:
        os.close(handle)
    os.replace(f"{path}.new", path)
