"""Documents as files on a computer.

::

    boreside.json            the form of this folder
    documents/ab/ID.json     one TinyDB database for each job or card
    documents/ab/ID.log      the journal of what came since: one line for each save
    documents/ab/ID.before.json   the database before it was last written
    copies/ab/               a second copy of each of the first two
    index/ab.json            records of the documents in that folder (made anew if lost)
    settings/KEY.json        this device's settings
    photos/ab/DIGEST.jpg     photos
    aside/                   parts of files that could not be taken in

A save adds one line to the journal and syncs it, so it costs the same at any length. The
database is written anew when a job is next changed after a restart and its journal has
grown long, or when something about it had to be mended. What was damaged is made whole from
the copy, and said so. A lock keeps processes apart. The index is only a convenience: a
record counts while its files are the very ones it was made from, otherwise they are read again.
"""

from __future__ import annotations

import os
import re
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

from tinydb import TinyDB
from tinydb.middlewares import CachingMiddleware
from tinydb.storages import MemoryStorage

from logic.say import L, Line

from .backend import Backend
from .disk import (
    CarefulFile,
    JobFiles,
    make_folder,
    not_read,
    not_saved,
    parse,
    quick_record,
    read_all,
    sync_folder,
    with_checksum,
    write_all,
)
from .documents import Document
from .errors import NotSaved, Refused
from .form import checksum
from .journal import Saved, read_journal, rows_of
from .locks import Busy, Lock, lock_for
from .shelf import Carried, Change, Record, Shelf, Turn, fetch

__all__ = ["CarefulFile", "FilesBackend", "home"]

#: 1: each document in one file, written whole at every save. 2: a file and a journal, and a copy of both.
FORMAT = 2
_KEPT_OPEN = 8
#: A journal longer than this goes into the database at the first change after a restart.
_LONG = 200
_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
#: A folder changed less than this before it was looked at may change again unseen (clock ticks are coarse).
_SETTLED_NS = 100_000_000

_NAMED = re.compile(r"([0-9a-z]{8,40})\.(json|log)")
_SHARD = re.compile(r"[0-9a-z]{2}")
#: What else the store itself puts among the documents.
_OURS = re.compile(r"^[0-9a-z]{8,40}\.(before\.json|damaged\.json|damaged\.log|new)$")
#: So many documents not in the index at once: it was lost, and is made anew from what the last saves wrote down.
_MANY = 64

Token = tuple[int, ...]


#: TinyDB does not type its middlewares.
_CACHED: Any = CachingMiddleware


def _of_copies(files: JobFiles) -> Shelf | None:
    """What the copies alone add up to; None where that is no document."""
    spare = Shelf(TinyDB(storage=MemoryStorage), files.copies(), mend=True)
    spare.damaged = True
    return None if spare.document is None else spare


def _document_of(entry: os.DirEntry[str], shard: str) -> str | None:
    """The id of the document that a file belongs to; None where it is no document's of this shard."""
    named = _NAMED.fullmatch(entry.name.replace(".before.json", ".json"))
    return named[1] if named and named[1][:2] == shard and entry.is_file() else None


def home(folder: str | None = None) -> Path:
    """Where a computer keeps its jobs: ``folder``, else what BORESIDE_DATA names, else ``~/.boreside``."""
    return Path(folder or os.environ.get("BORESIDE_DATA") or Path.home() / ".boreside")


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
        self._lock: Lock | None = None
        self._strays: dict[str, str] = {}
        self._partly: set[str] = set()  # shards of which only the documents could be looked at

    # -- opening -----------------------------------------------------------------------
    async def open(self) -> None:
        with self._locked():
            file = CarefulFile(self._at("boreside.json"))
            try:
                form = self._form(file)
            except OSError as problem:  # each document tells its own form
                self._unreadable("boreside.json", problem)
                form = FORMAT
            if form < FORMAT:
                file.write({"store": {"1": {"format": FORMAT}}})  # each document follows at its next change
        self._read_index()
        await self.records()

    @staticmethod
    def _form(file: CarefulFile) -> int:
        """The form of what is stored here; 0 for a new folder. Raises Refused ("newer"), and OSError if the disk does."""
        tables = file.read()
        form = 0 if tables is None else int(tables["store"]["1"]["format"])
        if form > FORMAT:
            raise Refused(L("These jobs were stored by a newer Boreside. Update this copy first."), "newer")
        return form

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
            make_folder(str(Path(self.root).absolute()))
            lock = self._lock = self._lock or lock_for(self._at("lock"))
            lock.acquire(self._wait_s)
        except Busy as problem:
            raise NotSaved(L("Another Boreside is busy with these files. Try again in a moment."), "busy") from problem
        except OSError as problem:
            raise not_saved(problem) from problem
        try:
            yield
        except OSError as problem:
            raise not_read(problem) from problem
        finally:
            lock.release()

    # -- documents -----------------------------------------------------------------------
    def _files(self, id: str) -> JobFiles:
        return JobFiles(self._at("documents", id[:2]), self._at("copies", id[:2]), id)

    def _token(self, id: str) -> Token | None:
        """What tells whether a document's files are still the ones that were read; None if there are none."""
        token: Token = ()
        for ending in ("json", "log"):
            try:
                found = os.stat(self._at("documents", id[:2], f"{id}.{ending}"))
            except OSError:
                continue
            token += (found.st_ino, found.st_size, found.st_mtime_ns)
        return token or None

    def _tell(self, id: str, state: str) -> None:
        if (id, state) in self._told:
            return
        self._told.add((id, state))
        if state == "mended":
            self.troubles.append(L("The file of job {id} was damaged. It was put right from its copy.", id=id))
        elif state == "before":
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
        """What is stored of a document, read again only if its files are others than the ones held."""
        token = self._token(id)
        held = self._open.get(id)
        if held and token is not None and held[0] == token:
            self._open.move_to_end(id)
            return held[1]
        self._open.pop(id, None)
        files = self._files(id)
        found = files.load()
        carried = Carried(found.tables)
        broken, long = found.state == "broken", len(found.saved) > _LONG
        shelf = Shelf(TinyDB(storage=lambda: carried), found.saved, broken=broken, mend=found.mend or long)
        if found.copy and not (shelf.broken or files.copy()):
            carried = Carried(found.tables)
            shelf = Shelf(TinyDB(storage=lambda: carried), found.saved, mend=True)
        state = found.state
        if shelf.broken and (spare := _of_copies(files)) is not None:
            shelf, state = spare, "mended"
        self._tell(id, "broken" if shelf.broken else state)
        self._hold(id, shelf, token)
        return shelf

    def _hold(self, id: str, shelf: Shelf, token: Token | None) -> None:
        self._open[id] = (token, shelf)
        self._open.move_to_end(id)
        while len(self._open) > _KEPT_OPEN:
            self._open.popitem(last=False)

    async def read(self, id: str) -> Document | None:
        with self._locked():
            shelf = self._shelf(id)
        if shelf.broken and id in self._records:
            self._records[id] = self._troubled(id, "broken")
            self._unwritten.add(id[:2])
        return shelf.whole()

    def _troubled(self, id: str, trouble: str) -> Record:
        """The record of a document that cannot be opened: what was known of it, and why."""
        known = self._records.get(id, Record(id=id, type="job"))
        return {**known, "trouble": trouble}

    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        with self._locked():
            shelf = self._shelf(id)
            turn = shelf.turn(do, mark)
            if turn:
                self._open.pop(id)
                self._store(id, shelf, turn)
                token = self._token(id)
                self._hold(id, shelf, token)
                if token is not None:
                    self._keep(id, shelf.record, token)
            elif shelf.document is not None:
                # what is there may be left from a write whose last step failed: make sure of it
                # before it is called saved
                try:
                    self._files(id).make_sure()
                except OSError as problem:
                    raise not_saved(problem) from problem
        assert shelf.document is not None
        return shelf.document

    def _store(self, id: str, shelf: Shelf, turn: Turn) -> None:
        files = self._files(id)
        if not turn.whole:
            files.append(turn.line)
            return
        files.load()  # what is damaged is set aside
        if shelf.damaged:
            files.set_aside()
            shelf.damaged = False
        carried = Carried()
        shelf.fill(TinyDB(storage=lambda: carried))
        assert carried.tables is not None
        files.rewrite(shelf.record, carried.tables)

    # -- index -----------------------------------------------------------------------------
    def _keep(self, id: str, record: Record, token: Token) -> None:
        self._records[id], self._tokens[id] = record, token
        self._unwritten.add(id[:2])

    async def records(self) -> Mapping[str, Record]:
        self._refresh()
        self._write_index()
        return self._records

    def _refresh(self) -> None:
        """Follow what has changed in the folders since they were last looked at."""
        changed = [
            shard for shard in {*self._shards(), *self._folders} if self._folders.get(shard) != self._time(shard)
        ]
        found = self._looked_at(changed)
        for shard, tokens in found.items():
            self._forget_all_but(tokens, shard)
        new = [(i, token) for tokens in found.values() for i, token in tokens.items() if self._tokens.get(i) != token]
        many = len(new) > _MANY
        for id, token in new:
            self._take_record(id, token, many)

    def _looked_at(self, shards: list[str]) -> dict[str, dict[str, Token]]:
        """The documents of the shards that can be read, and when that was is noted."""
        found: dict[str, dict[str, Token]] = {}
        for shard in shards:
            looked, time_ns = time.time_ns(), self._time(shard)
            try:
                found[shard] = self._look(shard)
            except OSError as problem:
                self._unreadable(shard, problem)
                continue
            if looked - time_ns > _SETTLED_NS and shard not in self._partly:
                self._folders[shard] = time_ns
            else:
                self._folders.pop(shard, None)
        return found

    def _forget_all_but(self, there: Mapping[str, Token], shard: str) -> None:
        for id in self._known_in(shard) - there.keys():
            del self._records[id]
            self._tokens.pop(id, None)
            self._unwritten.add(shard)

    def _shards(self) -> set[str]:
        found = set()
        for place in ("documents", "copies"):
            try:
                found |= {e.name for e in os.scandir(self._at(place)) if _SHARD.fullmatch(e.name)}
            except FileNotFoundError:
                continue
            except OSError as problem:
                self._unreadable(place, problem)
        return found

    def _time(self, shard: str) -> int:
        try:
            return os.stat(self._at("documents", shard)).st_mtime_ns
        except OSError:
            return -1

    def _unreadable(self, what: str, problem: OSError) -> None:
        """Something could not be read: say so once, and look again the next time."""
        self._folders.pop(what, None)
        if what.startswith("settings/") or what == "boreside.json":
            line = L(
                "A file of this device could not be read ({what}): the disk reported “{why}”. The jobs are there all the same.",
                what=what,
                why=os.strerror(problem.errno or 0),
            )
            self._once("unreadable", what, line)
            return
        self._once(
            "unreadable", what,
            L(
                "Part of the jobs could not be read ({what}): the disk reported “{why}”. What is listed of them may be out of date.",
                what=what,
                why=os.strerror(problem.errno or 0),
            ),
        )  # fmt: skip

    def _once(self, state: str, what: str, line: Line) -> None:
        if (what, state) not in self._told:
            self._told.add((what, state))
            self.troubles.append(line)

    def _known_in(self, shard: str) -> set[str]:
        return {id for id in self._records if id[:2] == shard}

    def _look(self, shard: str) -> dict[str, Token]:
        """The documents in a shard, and what tells whether their files have changed."""
        found: set[str] = set()
        self._partly.discard(shard)
        for place in ("documents", "copies"):
            try:
                there = list(os.scandir(self._at(place, shard)))
            except FileNotFoundError:
                continue
            except OSError as problem:
                if place == "documents":
                    raise
                # what lies in the documents is listed all the same, and what was known stays
                self._unreadable(f"{place}/{shard}", problem)
                self._partly.add(shard)
                found |= self._known_in(shard)
                continue
            for entry in there:
                id = _document_of(entry, shard)
                if id:
                    found.add(id)
                elif place == "documents":
                    self._stray(shard, entry)
        return {id: self._token(id) or (0,) for id in found}

    def _stray(self, shard: str, entry: os.DirEntry[str]) -> None:
        """A file among the jobs that is not one of ours: left alone and named; a second copy of a job can be merged."""
        if _OURS.search(entry.name):
            return
        name = f"documents/{shard}/{entry.name}"
        saved = self._second(entry.path) if entry.is_file() else []
        if saved:
            self._strays[name] = str(saved[0]["record"].get("id", ""))
            self._once(
                "stray", name, L("There is a second copy of a job: {name}. It can be merged into the job.", name=name)
            )
        else:
            self._once(
                "stray",
                name,
                L("Something that is not a job lies among the jobs: {name}. It is left alone.", name=name),
            )

    def _second(self, path: str) -> list[Saved]:
        try:
            data = read_all(path) or b""
        except OSError:
            return []
        tables = parse(data)
        saved = read_journal(data).saved if tables is None else [rows_of(tables)]
        return saved if saved and _NAMED.fullmatch(f"{saved[0]['record'].get('id')}.json") else []

    async def second_copies(self) -> Mapping[str, Document]:
        found = {}
        for name in self._strays:
            try:
                found[name] = fetch(self._second(self._at(*name.split("/"))))
            except Refused:
                continue  # of a newer version, or nonsense: it stays where it is
        return found

    async def settle_copy(self, name: str) -> None:
        with self._locked():
            try:
                make_folder(self._at("aside"))
                os.replace(self._at(*name.split("/")), self._at("aside", name.rpartition("/")[2]))
            except OSError as problem:
                raise not_saved(problem) from problem
        self._strays.pop(name, None)

    def _take_record(self, id: str, token: Token, many: bool) -> None:
        """Read a document's record anew. One that cannot be read just now keeps what was known of it."""
        if many:
            noted = quick_record(
                self._at("documents", id[:2], f"{id}.json"), self._at("documents", id[:2], f"{id}.log")
            )
            if noted is not None and noted.get("id") == id:
                self._keep(id, cast(Record, noted), token)
                return
        record = self._read_record(id)
        if record.get("trouble") != "io":
            self._keep(id, record, token)
            return
        self._records[id] = record
        self._tokens.pop(id, None)
        self._folders.pop(id[:2], None)
        self._once("io", id, L("The file of job {id} could not be read just now. It is tried again.", id=id))

    def _read_record(self, id: str) -> Record:
        try:
            with self._locked():
                shelf = self._shelf(id)
            shelf.whole()
            return shelf.record
        except NotSaved:
            raise
        except Refused as refused:
            return self._troubled(id, refused.code)

    def _read_index(self) -> None:
        folder = self._at("index")
        try:
            names = [name for name in os.listdir(folder) if name.endswith(".json")]
        except OSError:
            return  # there is none: it is made anew
        for name in names:
            try:
                rows: Any = parse(read_all(os.path.join(folder, name)) or b"")
                for id, (record, token) in (rows or {}).items():
                    if record["id"] == id:
                        self._records[id], self._tokens[id] = record, tuple(token)
            except (OSError, ValueError, LookupError, TypeError, AttributeError):
                continue  # what this shard held is made anew

    def _write_index(self) -> None:
        """Write the shards that changed. No sync and no complaint: what is lost is made anew."""
        shards, self._unwritten = self._unwritten, set()
        if not shards:
            return
        rows: dict[str, dict[str, Any]] = {shard: {} for shard in shards}
        for id, token in self._tokens.items():
            if id[:2] in rows:
                rows[id[:2]][id] = (self._records[id], token)
        try:
            os.makedirs(self._at("index"), mode=0o700, exist_ok=True)
            for shard, records in rows.items():
                path = self._at("index", f"{shard}.json")
                with open(f"{path}.{os.getpid()}", "wb") as handle:
                    handle.write(with_checksum(records))
                os.replace(f"{path}.{os.getpid()}", path)
        except OSError:
            pass

    # -- settings and photos -----------------------------------------------------------------
    def _setting(self, key: str) -> tuple[TinyDB, Any]:
        db = TinyDB(self._at("settings", f"{key}.json"), storage=_CACHED(CarefulFile))
        rows = db.table("setting").all()
        return db, rows[0]["value"] if rows else None

    async def get(self, key: str) -> Any:
        with self._locked():
            try:
                return self._setting(key)[1]
            except OSError as problem:
                self._unreadable(f"settings/{key}", problem)
                return None

    async def put(self, key: str, change: Callable[[Any], Any]) -> Any:
        with self._locked():
            try:
                db, old = self._setting(key)
            except OSError as problem:
                self._unreadable(f"settings/{key}", problem)
                raise NotSaved(not_read(problem).line, "unread") from problem
            value = change(old)
            if value != old:
                table = db.table("setting")
                table.truncate()
                table.insert({"value": value})
                storage: Any = db.storage
                storage.flush()
            return value

    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        folder = self._at("photos", digest[:2])
        path = os.path.join(folder, f"{digest}.{_ENDINGS[media]}")
        with self._locked():
            if os.path.exists(path):
                return
            try:
                make_folder(folder)
                write_all(f"{path}.new", data)
                os.replace(f"{path}.new", path)
                sync_folder(folder)
            except OSError as problem:
                raise not_saved(problem) from problem

    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        for media, ending in _ENDINGS.items():
            try:
                data = read_all(self._at("photos", digest[:2], f"{digest}.{ending}"))
            except OSError:
                self._once("photo", digest, L("A photo could not be read just now."))
                continue
            if data is not None:
                if checksum(data) == digest:
                    return media, data
                self.troubles.append(L("A photo is damaged and cannot be shown."))
        return None

    async def put_aside(self, text: str) -> None:
        path = self._at("aside", f"{checksum(text)}.json")
        with self._locked():
            try:
                make_folder(os.path.dirname(path))
                write_all(path, text.encode("utf-8", "surrogatepass"))
            except OSError as problem:
                raise not_saved(problem) from problem
