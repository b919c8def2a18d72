"""Documents in the browser: IndexedDB, used from the worker that Python runs in.

A change is one read-write transaction that looks at what is stored, makes the change on
top of it and adds what is new, so that of two tabs neither loses an entry. A method returns
after the transaction's ``complete`` event, asked for with strict durability. Other tabs
are then told which document changed, over a broadcast channel of the database's name.

Object stores: ``documents`` (id: the TinyDB tables as JSON text, written whole, and seldom),
``log`` (id and number: one line of the journal for each save since), ``copies`` (a second
copy of both, the tables under number 0), ``index`` (id: the record as JSON text), ``settings``
and ``photos`` by key. ``settings["changes"]`` counts the changes, so that a list need not
be read again while nothing happened. A row that is damaged is made good from the copies, or
made anew, and said so: no row alone keeps the store from starting.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import re
from collections import OrderedDict
from collections.abc import Callable, Coroutine, Iterable, Mapping
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import js
from js import BroadcastChannel, IDBKeyRange, Object, navigator
from pyodide.ffi import JsException, create_proxy, to_js
from tinydb import TinyDB

from logic.say import L, Line

from .backend import Backend
from .documents import Document
from .errors import NotSaved, Refused
from .form import checksum
from .journal import read_line
from .rows import (
    DAMAGED,
    Stored,
    count_of,
    is_record,
    key_of,
    last_lines,
    record_in,
    sealed_row,
    sealed_tables,
    texts,
    whole_row,
)
from .shelf import Carried, Change, Record, Shelf, Turn

__all__ = ["BrowserBackend"]

#: Tens tell the form: below 20 each document in one row; from 20 a row and a journal, and copies of both.
#: Ones count how often stores that were missing had to be made.
FORMAT = 20
_NEXT = 30
_SILENT = L("Not saved: the browser's storage does not answer. Reload this page.")
_STORES = ("documents", "log", "copies", "index", "settings", "photos")
#: So many documents not in the index at once: it was lost, and is made anew from what the last saves wrote down.
_MANY = 64
#: So many of them in one transaction: on a slow phone that is a second or two.
_AT_ONCE = 500
_REMADE = L("Parts of the browser's storage were missing. They were made again; what was stored in them is gone.")
_LIST = L("The list of jobs was damaged. It was made again from the jobs themselves.")
_KEPT_OPEN = 8
_BLOCKED_S = 10.0
_PATIENCE_S = (1.5, 3.0, 5.5)
#: How long a transaction may take, and how long after its connection was closed from outside.
_LONGEST_S = 15.0
_GRACE_S = 1.0


def _trouble(name: str) -> Refused:
    """What to say about an IndexedDB error, by its name."""
    if name == "QuotaExceededError":
        return NotSaved(
            L("Not saved: the browser has no room left. Free some space on this device, then try again."), "full"
        )
    if name in ("InvalidStateError", "TransactionInactiveError"):
        return NotSaved(
            L("Not saved: Boreside was updated or its data cleared in another tab. Reload this page."), "closed"
        )
    return NotSaved(L("Not saved: the browser reported “{why}”. Try again.", why=name or "AbortError"), "io")


def _closed(name: str) -> Line:
    return L(
        "The browser does not let Boreside store anything (“{why}”). A private window may be why.",
        why=name or "indexedDB",
    )


#: How Pyodide quotes an error of the browser that came without a call stack.
_QUOTED = re.compile(r'gives """(\w+):')


def _give_up(done: asyncio.Future[Any]) -> None:
    if not done.done():
        done.set_exception(NotSaved(_SILENT, "io"))


def _name_of(error: Any) -> str:
    name = str(getattr(error, "name", "") or "")
    quoted = _QUOTED.search(str(error)) if name == "Error" else None
    return quoted[1] if quoted else name


class _Asking:
    """Puts requests to the transaction under way, and hands on what they are answered."""

    def __init__(
        self, handler: Callable[[Callable[[Any], None]], Any], guarded: Callable[[Callable[[], None]], None]
    ) -> None:
        self._handler, self._guarded = handler, guarded

    def __call__(self, request: Any, then: Callable[[Any], None]) -> None:
        """Call ``then`` with the request's answer."""
        request.onsuccess = self._handler(lambda _event: self._guarded(lambda: then(request.result)))

    def many(self, requests: Iterable[Any], then: Callable[[list[Any]], None]) -> None:
        """Call ``then`` with the answers of all, in order, as requests of one transaction are answered. One handler serves all."""
        asked = list(requests)
        got: list[Any] = []

        def answered(event: Any) -> None:
            got.append(event.target.result)
            if len(got) == len(asked):
                then(got)

        heard = self._handler(lambda event: self._guarded(lambda: answered(event)))
        for request in asked:
            request.onsuccess = heard
        if not asked:
            then([])


Given = ParamSpec("Given")
Made = TypeVar("Made")


def _twice(
    work: Callable[Concatenate[BrowserBackend, Given], Coroutine[Any, Any, Made]],
) -> Callable[Concatenate[BrowserBackend, Given], Coroutine[Any, Any, Made]]:
    """Try once more on a new connection where the old one broke, as it does when the storage is cleared."""

    @wraps(work)
    async def tried(self: BrowserBackend, /, *given: Given.args, **named: Given.kwargs) -> Made:
        try:
            return await work(self, *given, **named)
        except NotSaved as refused:
            if refused.code not in ("io", "closed"):
                raise
            self._let_go(None)
            return await work(self, *given, **named)

    return tried


class BrowserBackend(Backend):
    """Documents in this browser. ``persistent`` tells whether the browser has promised to keep
    them when space runs short (None: it would not say)."""

    def __init__(self, name: str = "boreside") -> None:
        super().__init__()
        self._name = name
        self._db: Any = None
        self._connecting: asyncio.Task[None] | None = None
        self._running: set[asyncio.Future[None]] = set()
        self._channel: Any = None
        self._kept: list[Any] = []
        self._shelves: OrderedDict[str, Shelf] = OrderedDict()
        self._records: dict[str, Record] = {}
        self._changes: int = -1
        self.persistent: bool | None = None

    # -- the connection ----------------------------------------------------------------
    async def open(self) -> None:
        await self._connected()
        self._listen()
        self.persistent = await self._ask_to_stay()

    def _listen(self) -> None:
        self._channel = BroadcastChannel.new(self._name)
        self._hearing = create_proxy(lambda event: self.heard(str(event.data)))
        self._channel.onmessage = self._hearing

    async def _connected(self) -> None:
        """Connect where there is no connection. However many ask at once, one is made."""
        while self._db is None:
            if self._connecting is None:
                self._connecting = asyncio.ensure_future(self._connect())
            try:
                await asyncio.shield(self._connecting)
            finally:
                if self._connecting is not None and self._connecting.done():
                    self._connecting = None

    async def _connect(self) -> None:
        # An open request made while the storage is being cleared may never be answered: then another is made.
        for wait_s in _PATIENCE_S:
            try:
                self._db = await self._opened(wait_s)
                break
            except NotSaved as refused:
                if wait_s == _PATIENCE_S[-1] or refused.code == "blocked":
                    raise
        self._release()
        for event, handler in (("onversionchange", self._let_go), ("onclose", self._cut_off)):
            self._kept.append(create_proxy(handler))
            setattr(self._db, event, self._kept[-1])

    async def _opened(self, wait_s: float) -> Any:
        """A connection to a database that has every store."""
        try:
            db = await self._asked(wait_s, FORMAT)
        except Refused as refused:
            if refused.code != "newer":
                raise
            db = await self._asked(wait_s, None)
            if int(db.version) >= _NEXT:
                db.close()
                raise
        missing = [name for name in _STORES if not db.objectStoreNames.contains(name)]
        if missing:
            version = int(db.version) + 1
            db.close()
            db = await self._asked(wait_s, version)
            self._say(_REMADE)
        return db

    def _say(self, line: Line) -> None:
        if line not in self.troubles:
            self.troubles.append(line)

    async def _asked(self, wait_s: float, version: int | None) -> Any:  # noqa: C901  # one search over many cases, told in one piece
        """A connection, within ``wait_s``; within ten seconds where another tab is asked to let go first."""
        done: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        try:
            storage = js.indexedDB  # merely to name it is refused by some browsers
            request = storage.open(self._name) if version is None else storage.open(self._name, version)
        except (JsException, AttributeError) as problem:  # there is none, or this page may not use it
            raise Refused(_closed(_name_of(problem)), "closed") from problem
        blocked = asyncio.Event()
        proxies = []

        def on(event: str, handler: Callable[[Any], None]) -> None:
            proxies.append(create_proxy(handler))
            setattr(request, event, proxies[-1])

        def upgrade(_event: Any) -> None:
            for name in _STORES:
                if not request.result.objectStoreNames.contains(name):
                    request.result.createObjectStore(name)

        def opened(_event: Any) -> None:
            if done.done():
                request.result.close()  # too late: nobody waits for it any more
            else:
                done.set_result(request.result)

        def failed(_event: Any) -> None:
            name = _name_of(request.error)
            if done.done():
                return
            if name == "VersionError":
                done.set_exception(
                    Refused(L("These jobs were stored by a newer Boreside. Update this copy first."), "newer")
                )
            elif name in ("AbortError", "UnknownError"):
                done.set_exception(_trouble(name))
            else:
                done.set_exception(Refused(_closed(name), "closed"))

        on("onupgradeneeded", upgrade)
        on("onblocked", lambda _event: blocked.set())
        on("onerror", failed)
        on("onsuccess", opened)
        await asyncio.wait((done,), timeout=wait_s)
        if blocked.is_set():
            await asyncio.wait((done,), timeout=_BLOCKED_S - wait_s)
        if not done.done():
            done.cancel()  # the handlers stay, for an answer may still come
            if blocked.is_set():
                raise NotSaved(
                    L("An older Boreside is open in another tab. Close it, then reload this page."), "blocked"
                )
            raise NotSaved(_SILENT, "busy")
        for event in ("onupgradeneeded", "onblocked", "onerror", "onsuccess"):
            setattr(request, event, None)
        for proxy in proxies:
            proxy.destroy()
        return done.result()

    def _cut_off(self, event: Any) -> None:
        """The browser closed the connection: the data was cleared. What was on its way may never be answered."""
        self._let_go(event)
        for done in self._running:
            asyncio.get_running_loop().call_later(_GRACE_S, _give_up, done)

    def _let_go(self, _event: Any) -> None:
        """Make way: another tab brings a newer form, or the connection is of no use any more."""
        if self._db is not None:
            self._db.onversionchange = self._db.onclose = None
            self._db.close()
            self._db = None
        self._shelves.clear()
        self._changes = -1

    def _release(self) -> None:
        for proxy in self._kept:
            proxy.destroy()
        self._kept = []

    async def close(self) -> None:
        if self._db is not None:
            self._db.onversionchange = self._db.onclose = None
            self._db.close()
            self._db = None
        self._release()
        if self._channel is not None:
            self._channel.onmessage = None
            self._channel.close()
            self._channel = None
            self._hearing.destroy()

    async def _ask_to_stay(self) -> bool | None:
        storage = getattr(navigator, "storage", None)
        for question in ("persist", "persisted"):  # a worker may only be allowed the second
            if storage is not None and hasattr(storage, question):
                try:
                    return bool(await getattr(storage, question)())
                except JsException:
                    continue
        return None

    async def room(self) -> tuple[int, int] | None:
        """Bytes used and bytes allowed, as the browser estimates them; None if it does not say."""
        try:
            estimate = await navigator.storage.estimate()
            return int(estimate.usage), int(estimate.quota)
        except (JsException, AttributeError, TypeError):
            return None

    # -- transactions --------------------------------------------------------------------
    async def _run(self, stores: tuple[str, ...], start: Callable[[Any, Any], None], write: bool = False) -> None:
        """Run one transaction to its end. ``start(transaction, ask)`` begins it; ``ask(request, then)``
        calls ``then(result)`` inside it. Whatever they raise aborts it and is raised here."""
        await self._connected()
        done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        failure: list[BaseException] = []
        proxies: list[Any] = []
        options = to_js({"durability": "strict" if write else "default"}, dict_converter=Object.fromEntries)
        try:
            transaction = self._db.transaction(to_js(list(stores)), "readwrite" if write else "readonly", options)
        except JsException as problem:
            self._let_go(None)
            raise _trouble(_name_of(problem)) from problem

        def handler(function: Callable[[Any], None]) -> Any:
            proxies.append(create_proxy(function))
            return proxies[-1]

        def guarded(step: Callable[[], None]) -> None:
            try:
                step()
            except BaseException as problem:  # noqa: BLE001 - nothing may escape into the event loop of the browser
                failure.append(_trouble(_name_of(problem)) if isinstance(problem, JsException) else problem)
                with contextlib.suppress(JsException):
                    transaction.abort()

        ask = _Asking(handler, guarded)

        def aborted(_event: Any) -> None:
            if not done.done():
                done.set_exception(failure[0] if failure else _trouble(_name_of(transaction.error)))

        transaction.oncomplete = handler(lambda _event: None if done.done() else done.set_result(None))
        transaction.onabort = handler(aborted)
        guarded(lambda: start(transaction, ask))
        self._running.add(done)
        watch = asyncio.get_running_loop().call_later(_LONGEST_S, _give_up, done)
        try:
            await done
        finally:
            watch.cancel()
            self._running.discard(done)
            transaction.oncomplete = transaction.onabort = None
            try:  # noqa: SIM105  # await-free, and tried on each key press
                transaction.abort()  # one that never answered must not write later on
            except JsException:
                pass  # it has come to its end, as it should
            for proxy in proxies:
                proxy.destroy()

    # -- documents ---------------------------------------------------------------------------
    def _hold(self, id: str, shelf: Shelf) -> None:
        self._shelves[id] = shelf
        self._shelves.move_to_end(id)
        while len(self._shelves) > _KEPT_OPEN:
            self._shelves.popitem(last=False)

    def _with_shelf(self, transaction: Any, ask: Any, id: str, then: Callable[[Shelf], None]) -> None:
        """Call ``then`` with what is stored of a document, read only if it changed since it was last held."""
        store = transaction.objectStore
        log, copies = _range(id, 1), _range(id, 0)

        def checked(record: Any) -> None:
            held = self._shelves.pop(id, None)
            if held is not None and whole_row(record).get("revision") == held.revision:
                then(held)
            else:
                got: list[Any] = []
                ask(store("documents").get(id), got.append)
                ask(store("log").getAll(log), got.append)
                ask(store("log").getAllKeys(log), got.append)
                ask(store("copies").getAllKeys(copies), lambda keys: looked(Stored(id, got[0], got[1], got[2], keys)))

        def looked(stored: Stored) -> None:
            if stored.calm:
                then(stored.shelf())
            else:
                ask(store("copies").getAll(copies), lambda rows: then(self._pieced(stored, rows)))

        ask(store("index").get(id), checked)

    def _pieced(self, stored: Stored, copies: Any) -> Shelf:
        shelf, mended = stored.pieced(texts(copies))
        if mended:
            self._say(L("Job {id} was damaged in the browser's storage. It was put right from its copy.", id=stored.id))
        return shelf

    @_twice
    async def read(self, id: str) -> Document | None:
        found: list[Shelf] = []
        await self._run(
            ("index", "documents", "log", "copies"),
            lambda transaction, ask: self._with_shelf(transaction, ask, id, found.append),
        )
        if found[0].document is not None:
            self._hold(id, found[0])
        return found[0].whole()

    @_twice
    async def change(self, id: str, do: Change, mark: Callable[[], str]) -> Document:
        found: list[Shelf] = []
        told: list[Record] = []

        def start(transaction: Any, ask: Any) -> None:
            settings = transaction.objectStore("settings")

            def turned(shelf: Shelf) -> None:
                found.append(shelf)
                turn = shelf.turn(do, mark)
                if turn is None:
                    return
                told.append(shelf.record)
                _store(transaction, id, shelf, turn)
                transaction.objectStore("index").put(sealed_row(shelf.record), id)
                ask(settings.get("changes"), count)

            def count(value: Any) -> None:
                counted.append((count_of(value) or 0) + 1)
                settings.put(str(counted[0]), "changes")

            self._with_shelf(transaction, ask, id, turned)

        counted: list[int] = []
        await self._run(("index", "documents", "log", "copies", "settings"), start, write=True)
        if told and counted:
            # the index in memory stays good only if nobody else has written in between
            self._records[id] = told[0]
            self._changes = counted[0] if self._changes == counted[0] - 1 else -1
            if self._channel is not None:
                self._channel.postMessage(id)
        self._hold(id, found[0])
        assert found[0].document is not None
        return found[0].document

    @_twice
    async def records(self) -> Mapping[str, Record]:
        got: list[Any] = []
        counted: list[int | None] = []

        def start(transaction: Any, ask: Any) -> None:
            def checked(value: Any) -> None:
                counted.append(count_of(value))
                if counted[0] is None or counted[0] != self._changes:
                    for store, how in (("index", "getAllKeys"), ("index", "getAll"), ("documents", "getAllKeys")):
                        ask(getattr(transaction.objectStore(store), how)(), got.append)

            ask(transaction.objectStore("settings").get("changes"), checked)

        await self._run(("index", "settings", "documents"), start)
        if got:
            keys, rows, stored = (texts(values) for values in got)
            found = {id: whole_row(text) for id, text in zip(keys, rows, strict=False)}
            self._records = {id: row for id, row in found.items() if is_record(id, row)}  # type: ignore[misc]
            ids = {id for id in (*stored, *found) if isinstance(id, str) and not id.endswith(DAMAGED)}
            await self._index_again(sorted(ids - set(self._records)), len(found) != len(self._records))
            self._changes = -1 if counted[0] is None else counted[0]
        return self._records

    async def _record_of(self, id: str) -> Record | None:
        """The record of a document, read for it; None where there is no such document."""
        try:
            await self.read(id)
        except Refused as refused:
            if refused.code not in ("broken", "newer"):
                raise
            return Record(id=id, type="job", trouble=refused.code)
        return self._shelves[id].record if id in self._shelves else None

    async def _index_again(self, ids: list[str], damaged: bool) -> None:
        """Make records anew for documents that have none, so many at a time that no transaction takes long."""
        made: dict[str, Record] = {}
        for first in range(0, len(ids), _AT_ONCE):
            some = ids[first : first + _AT_ONCE]
            found = await self._noted(some) if len(ids) > _MANY else {}
            for id in some:
                if id not in found and (record := await self._record_of(id)) is not None:
                    found[id] = record
            await self._write_records(found)
            made.update(found)
        self._records.update(made)
        if ids and (damaged or any(not record.get("trouble") for record in made.values())):
            self._say(_LIST)

    async def _write_records(self, made: Mapping[str, Record]) -> None:
        def write(transaction: Any, _ask: Any) -> None:
            index = transaction.objectStore("index")
            for id, record in made.items():
                if not record.get("trouble"):
                    index.put(sealed_row(record), id)

        await self._run(("index",), write, write=True)

    async def _noted(self, ids: list[str]) -> dict[str, Record]:
        """The records as the last save of each document wrote them down, where that can be trusted. ``ids`` are sorted."""
        made: dict[str, Record] = {}

        def start(transaction: Any, ask: Any) -> None:
            documents, log = map(transaction.objectStore, ("documents", "log"))

            def look(keys: Any) -> None:
                last = last_lines(texts(keys))  # keys come sorted
                ask.many(
                    (log.get(last[id]) if id in last else documents.get(id) for id in ids), lambda got: keep(last, got)
                )

            def keep(last: Mapping[str, str], got: list[Any]) -> None:
                for id, text in zip(ids, got, strict=True):
                    record = (read_line(str(text)) or {}).get("record") if id in last else record_in(text)
                    if is_record(id, record):
                        made[id] = record  # type: ignore[assignment]  # as is_record has seen

            ask(log.getAllKeys(IDBKeyRange.bound(key_of(ids[0], 1), f"{ids[-1]}/")), look)

        await self._run(("documents", "log"), start)
        return made

    # -- settings and photos ----------------------------------------------------------------------
    @_twice
    async def get(self, key: str) -> Any:
        found: list[Any] = []
        await self._run(
            ("settings",), lambda transaction, ask: ask(transaction.objectStore("settings").get(key), found.append)
        )
        return self._value(key, found[0])

    def _value(self, key: str, text: Any) -> Any:
        if text is None:
            return None
        try:
            return json.loads(str(text))
        except ValueError:
            self._say(L("What this device had noted under “{key}” was damaged, and starts afresh.", key=key))
            return None

    @_twice
    async def put(self, key: str, change: Callable[[Any], Any]) -> Any:
        result: list[Any] = []

        def start(transaction: Any, ask: Any) -> None:
            store = transaction.objectStore("settings")

            def write(text: Any) -> None:
                old = self._value(key, text)
                result.append(change(old))
                if result[0] != old:
                    store.put(_text(result[0]), key)

            ask(store.get(key), write)

        await self._run(("settings",), start, write=True)
        return result[0]

    @_twice
    async def put_photo(self, digest: str, media: str, data: bytes) -> None:
        def start(transaction: Any, ask: Any) -> None:  # noqa: ARG001  # asked like its fellows
            value = to_js({"media": media, "data": to_js(data)}, dict_converter=Object.fromEntries)
            transaction.objectStore("photos").put(value, digest)

        await self._run(("photos",), start, write=True)

    @_twice
    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        found: list[Any] = []
        await self._run(
            ("photos",), lambda transaction, ask: ask(transaction.objectStore("photos").get(digest), found.append)
        )
        if found[0] is None:
            return None
        try:
            media, data = str(found[0].media), found[0].data.to_bytes()
        except (AttributeError, JsException):  # the row is no photo's
            media, data = "", b""
        if checksum(data) != digest:
            self._say(L("A photo is damaged and cannot be shown."))
            return None
        return media, data

    @_twice
    async def put_aside(self, text: str) -> None:
        def start(transaction: Any, _ask: Any) -> None:
            transaction.objectStore("settings").put(text, f"aside.{checksum(text)}")

        await self._run(("settings",), start, write=True)


def _range(id: str, first: int) -> Any:
    return IDBKeyRange.bound(key_of(id, first), f"{id}/")


def _store(transaction: Any, id: str, shelf: Shelf, turn: Turn) -> None:
    """Put what a change comes to into its rows."""
    documents, log, copies = map(transaction.objectStore, ("documents", "log", "copies"))
    if not turn.whole:
        for store in (log, copies):
            store.put(turn.line, key_of(id, shelf.next))
        shelf.next += 1
        return
    if shelf.damaged and shelf.aside is not None:
        documents.put(shelf.aside, f"{id}{DAMAGED}")
        shelf.damaged = False
    carried = Carried()
    shelf.fill(TinyDB(storage=lambda: carried))
    text = sealed_tables(carried.tables or {}, shelf.record)
    log.delete(_range(id, 1))
    copies.delete(_range(id, 0))
    documents.put(text, id)
    copies.put(text, key_of(id, 0))


def _text(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))
