"""Documents as files on a computer.

::

    boreside.json            the form of this folder
    documents/ab/ID.json     one TinyDB database for each job or card
    documents/ab/ID.before.json   the copy before the last write
    index/ab.json            records of the documents in that folder (made anew if lost)
    settings/KEY.json        this device's settings
    photos/ab/DIGEST.jpg     photos

A file is written beside the old one, synced, and renamed into its place, so that at
every moment the old or the new content is there whole. Its first line holds a
checksum of the rest; where that is wrong the copy before it is used, and said so.
A lock keeps processes apart. The index is only a convenience: a record counts while
its file is the very one it was made from, otherwise the file is read again.
"""

from __future__ import annotations

import errno
import json
import os
import stat
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout
from tinydb import Storage, TinyDB
from tinydb.middlewares import CachingMiddleware

from logic.say import L

from .backend import Backend
from .documents import Document
from .errors import NotSaved, Refused
from .form import checksum
from .shelf import Change, Record, Shelf, Tables

__all__ = ["CarefulFile", "FilesBackend"]

FORMAT = 1
_KEPT_OPEN = 8
_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
#: A folder changed less than this before it was looked at may change again unseen (clock ticks are coarse).
_SETTLED_NS = 100_000_000

Token = tuple[int, int, int]


def not_saved(problem: OSError) -> NotSaved:
    """What to say about a failed write."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return NotSaved(L("Not saved: the disk is full. Make room, then try again."), "full")
    if problem.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        return NotSaved(L("Not saved: this folder may not be written to."), "io")
    return NotSaved(L("Not saved: the disk reported “{why}”. Try again.", why=os.strerror(problem.errno or 0)), "io")


def _not_read(problem: OSError) -> Refused:
    return Refused(
        L("The disk reported “{why}” when this was read. Try again.", why=os.strerror(problem.errno or 0)), "io"
    )


def _write_all(path: str, data: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o600)
    try:
        view = memoryview(data)
        while view:
            view = view[os.write(handle, view) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder(folder: str) -> None:
    if os.name == "nt":  # a folder cannot be opened there; the rename is journalled
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _make_folder(folder: str) -> None:
    if not os.path.isdir(folder):
        parent = os.path.dirname(folder)
        _make_folder(parent)
        os.makedirs(folder, mode=0o700, exist_ok=True)
        _sync_folder(parent)


def _read_all(path: str) -> bytes | None:
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


def _parse(data: bytes) -> Tables | None:
    """The tables in a file's bytes, or None if the file is not whole."""
    first, _, rest = data.partition(b"\n")
    try:
        if json.loads(first)["sha256"] != checksum(rest):
            return None
        tables = json.loads(rest)
    except (ValueError, LookupError, TypeError, RecursionError):
        return None
    return tables if isinstance(tables, dict) else None


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
        self._main_good = False

    def read(self) -> Tables | None:
        """The tables, or None. Raises OSError if the disk does."""
        data = _read_all(self.path)
        tables = None if data is None else _parse(data)
        if tables is not None:
            self.state, self._main_good = "good", True
            return tables
        self._main_good = False
        earlier = _read_all(self.before)
        tables = None if earlier is None else _parse(earlier)
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
        body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
        text = json.dumps({"sha256": checksum(body)}).encode() + b"\n" + body
        folder = os.path.dirname(self.path)
        moved = False
        try:
            _make_folder(folder)
            _write_all(self._new, text)
            if self._main_good:
                os.replace(self.path, self.before)
                moved = True
            elif self.state in ("before", "broken") and os.path.exists(self.path):
                os.replace(self.path, self.damaged)
            os.replace(self._new, self.path)
            moved = False
            self.state, self._main_good = "good", True
            _sync_folder(folder)
        except OSError as problem:
            try:
                if moved:
                    os.replace(self.before, self.path)
                os.unlink(self._new)
            except OSError:
                pass  # what is left over does no harm: the next write goes over it
            raise not_saved(problem) from problem


class FilesBackend(Backend):
    """Documents in a folder. ``wait_s`` is how long to wait for another process."""

    def __init__(self, root: str | Path, *, wait_s: float = 10) -> None:
        super().__init__()
        self.root = str(root)
        self._wait_s = wait_s
        self._open: OrderedDict[str, tuple[Token | None, Shelf]] = OrderedDict()
        self._records: dict[str, Record] = {}
        self._tokens: dict[str, Token] = {}
        self._folders: dict[str, int] = {}
        self._unwritten: set[str] = set()
        self._told: set[tuple[str, str]] = set()

    # -- opening -----------------------------------------------------------------------
    async def open(self) -> None:
        with self._locked():
            file = CarefulFile(self._at("boreside.json"))
            tables = file.read()
            if tables is None:
                file.write({"store": {"1": {"format": FORMAT}}})
            elif tables["store"]["1"]["format"] > FORMAT:
                raise Refused(L("These jobs were stored by a newer Boreside. Update this copy first."), "newer")
        self._read_index()
        await self.records()

    async def close(self) -> None:
        self._write_index()
        self._open.clear()

    def _at(self, *parts: str) -> str:
        return os.path.join(self.root, *parts)

    def _path(self, id: str) -> str:
        return self._at("documents", id[:2], f"{id}.json")

    @contextmanager
    def _locked(self) -> Iterator[None]:
        try:
            _make_folder(os.path.abspath(self.root))
            lock = FileLock(self._at("lock"))
            lock.acquire(timeout=self._wait_s, poll_interval=0.005)
        except Timeout as problem:
            raise NotSaved(L("Another Boreside is busy with these files. Try again in a moment."), "busy") from problem
        except OSError as problem:
            raise not_saved(problem) from problem
        try:
            yield
        except OSError as problem:
            raise _not_read(problem) from problem
        finally:
            lock.release()

    # -- documents -----------------------------------------------------------------------
    def _token(self, id: str) -> Token | None:
        try:
            found = os.stat(self._path(id))
        except OSError:
            return None
        return found.st_ino, found.st_size, found.st_mtime_ns

    def _tell(self, id: str, state: str) -> None:
        if (id, state) in self._told:
            return
        self._told.add((id, state))
        if state == "before":
            self.troubles.append(
                L("The file of job {id} was damaged. The copy before it is used: the last entry may be missing.", id=id)
            )
        elif state == "broken":
            self.troubles.append(
                L(
                    "The file of job {id} is damaged and so is the copy before it. Both are kept; import an export.",
                    id=id,
                )
            )

    def _shelf(self, id: str) -> Shelf:
        """The database of a document, read again only if its file is another than the one held."""
        token = self._token(id)
        held = self._open.get(id)
        if held and token is not None and held[0] == token:
            self._open.move_to_end(id)
            return held[1]
        self._open.pop(id, None)
        file = CarefulFile(self._path(id))
        db = TinyDB(storage=CachingMiddleware(lambda: file))
        len(db)  # reads the file, which tells its state
        shelf = Shelf(db, broken=file.state == "broken")
        if shelf.broken:
            file.set_aside()
        self._tell(id, file.state)
        self._hold(id, shelf, token)
        return shelf

    def _hold(self, id: str, shelf: Shelf, token: Token | None) -> None:
        self._open[id] = (token, shelf)
        self._open.move_to_end(id)
        while len(self._open) > _KEPT_OPEN:
            self._open.popitem(last=False)

    async def read(self, id: str) -> Document | None:
        with self._locked():
            return self._shelf(id).whole()

    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        with self._locked():
            shelf = self._shelf(id)
            if shelf.turn(do, mark):
                self._open.pop(id)
                shelf.db.storage.flush()
                token = self._token(id)
                self._hold(id, shelf, token)
                if token is not None:
                    self._keep(id, shelf.record, token)
            elif shelf.document is not None:
                # what is there may be left from a write whose last step failed: make sure of it
                # before it is called saved
                try:
                    _sync_folder(os.path.dirname(self._path(id)))
                except OSError as problem:
                    raise not_saved(problem) from problem
        assert shelf.document is not None
        return shelf.document

    # -- index -----------------------------------------------------------------------------
    def _keep(self, id: str, record: Record, token: Token) -> None:
        self._records[id], self._tokens[id] = record, token
        self._unwritten.add(id[:2])

    async def records(self) -> Mapping[str, Record]:
        try:
            self._refresh()
        except OSError as problem:
            raise _not_read(problem) from problem
        self._write_index()
        return self._records

    def _refresh(self) -> None:
        folder = self._at("documents")
        shards = [e.name for e in os.scandir(folder)] if os.path.isdir(folder) else []
        for shard in {*shards, *self._folders}:
            try:
                changed = os.stat(self._at("documents", shard)).st_mtime_ns
            except FileNotFoundError:
                changed = -1
            if self._folders.get(shard) != changed:
                looked = time.time_ns()
                self._refresh_shard(shard)
                if looked - changed > _SETTLED_NS:
                    self._folders[shard] = changed
                else:
                    self._folders.pop(shard, None)

    def _refresh_shard(self, shard: str) -> None:
        found: dict[str, Token] = {}
        folder = self._at("documents", shard)
        for entry in os.scandir(folder) if os.path.isdir(folder) else ():
            id = entry.name.removesuffix(".json").removesuffix(".before")
            if not entry.name.endswith(".json") or "." in id:
                continue
            whole = not entry.name.endswith(".before.json")
            if whole or id not in found:
                info = os.stat(entry.path)
                if stat.S_ISREG(info.st_mode) and (whole or id not in found):
                    found[id] = (info.st_ino, info.st_size, info.st_mtime_ns)
        for id in [i for i in self._records if i[:2] == shard and i not in found]:
            del self._records[id], self._tokens[id]
            self._unwritten.add(shard)
        for id, token in found.items():
            if self._tokens.get(id) != token:
                self._keep(id, self._read_record(id), token)

    def _read_record(self, id: str) -> Record:
        try:
            with self._locked():
                shelf = self._shelf(id)
            shelf.whole()
            return shelf.record
        except NotSaved:
            raise
        except Refused as refused:
            return Record(id=id, type="job", trouble=refused.code)

    def _read_index(self) -> None:
        folder = self._at("index")
        for name in os.listdir(folder) if os.path.isdir(folder) else ():
            data = _read_all(os.path.join(folder, name)) if name.endswith(".json") else None
            for id, (record, token) in ((data and _parse(data)) or {}).items():
                self._records[id], self._tokens[id] = record, tuple(token)

    def _write_index(self) -> None:
        """Write the shards that changed. No sync and no complaint: what is lost is made anew."""
        shards, self._unwritten = self._unwritten, set()
        if not shards:
            return
        rows: dict[str, dict[str, Any]] = {shard: {} for shard in shards}
        for id, record in self._records.items():
            if id[:2] in rows:
                rows[id[:2]][id] = (record, self._tokens[id])
        try:
            os.makedirs(self._at("index"), mode=0o700, exist_ok=True)
            for shard, records in rows.items():
                body = json.dumps(records, ensure_ascii=False, separators=(",", ":")).encode()
                path = self._at("index", f"{shard}.json")
                with open(f"{path}.{os.getpid()}", "wb") as handle:
                    handle.write(json.dumps({"sha256": checksum(body)}).encode() + b"\n" + body)
                os.replace(f"{path}.{os.getpid()}", path)
        except OSError:
            pass

    # -- settings and photos -----------------------------------------------------------------
    def _setting(self, key: str) -> tuple[TinyDB, Any]:
        db = TinyDB(self._at("settings", f"{key}.json"), storage=CachingMiddleware(CarefulFile))
        rows = db.table("setting").all()
        return db, rows[0]["value"] if rows else None

    async def get(self, key: str) -> Any:
        with self._locked():
            return self._setting(key)[1]

    async def put(self, key: str, change: Callable[[Any], Any]) -> Any:
        with self._locked():
            db, old = self._setting(key)
            value = change(old)
            if value != old:
                table = db.table("setting")
                table.truncate()
                table.insert({"value": value})
                db.storage.flush()
            return value

    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        folder = self._at("photos", digest[:2])
        path = os.path.join(folder, f"{digest}.{_ENDINGS[media]}")
        with self._locked():
            if os.path.exists(path):
                return
            try:
                _make_folder(folder)
                _write_all(f"{path}.new", data)
                os.replace(f"{path}.new", path)
                _sync_folder(folder)
            except OSError as problem:
                raise not_saved(problem) from problem

    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        for media, ending in _ENDINGS.items():
            data = _read_all(self._at("photos", digest[:2], f"{digest}.{ending}"))
            if data is not None:
                if checksum(data) == digest:
                    return media, data
                self.troubles.append(L("A photo is damaged and cannot be shown."))
        return None
