"""A browser's storage for tests outside a browser: IndexedDB in memory, and what else the store asks of a page.

:func:`browser` gives the store's own browser module, run against it. Transactions, requests
and their events follow the standard (Indexed Database API 3.0) as far as the store uses it:
requests are answered in order, a transaction is complete when none is left, an aborted one
leaves nothing behind.
"""

from __future__ import annotations

import asyncio
import importlib
import sys
from collections.abc import Callable
from types import ModuleType, SimpleNamespace
from typing import Any


class JsException(Exception):
    """An error of the browser, with its name."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


class Values(list):
    """An array of the browser."""

    def to_py(self) -> list[Any]:
        return list(self)


class Range:
    def __init__(self, low: str, high: str) -> None:
        self.low, self.high = low, high

    def __contains__(self, key: Any) -> bool:
        return isinstance(key, str) and self.low <= key <= self.high


class Request:
    def __init__(self) -> None:
        self.result: Any = None
        self.error: Any = None
        self.onsuccess = self.onerror = self.onupgradeneeded = self.onblocked = None


class Store:
    def __init__(self, transaction: Transaction, name: str) -> None:
        self._transaction, self._name = transaction, name

    @property
    def _rows(self) -> dict[Any, Any]:
        return self._transaction.rows[self._name]

    def _sorted(self, span: Range | None = None) -> list[Any]:
        return sorted((k for k in self._rows if span is None or k in span), key=str)

    def get(self, key: Any) -> Request:
        return self._transaction.ask(lambda: self._rows.get(key))

    def getAll(self, span: Range | None = None) -> Request:  # noqa: N802 - the browser's name
        return self._transaction.ask(lambda: Values(self._rows[k] for k in self._sorted(span)))

    def getAllKeys(self, span: Range | None = None) -> Request:  # noqa: N802
        return self._transaction.ask(lambda: Values(self._sorted(span)))

    def put(self, value: Any, key: Any) -> Request:
        return self._transaction.ask(lambda: self._rows.__setitem__(key, value), write=True)

    def delete(self, key: Any) -> Request:
        def drop() -> None:
            for k in self._sorted(key) if isinstance(key, Range) else [key]:
                self._rows.pop(k, None)

        return self._transaction.ask(drop, write=True)


class Transaction:
    def __init__(self, db: Database, names: list[str], mode: str) -> None:
        missing = [n for n in names if n not in db.shared.stores]
        if missing:
            raise JsException("NotFoundError")
        self._db, self._mode, self._names = db, mode, names
        self._waiting: list[tuple[Request, Callable[[], Any]]] = []
        self.oncomplete = self.onabort = None
        self.error: Any = None
        self._state = "active"
        self.rows = {n: dict(db.shared.stores[n]) for n in names}
        asyncio.get_running_loop().call_soon(self._next)

    def objectStore(self, name: str) -> Store:  # noqa: N802
        if name not in self._names:
            raise JsException("NotFoundError")
        return Store(self, name)

    def ask(self, work: Callable[[], Any], write: bool = False) -> Request:
        if self._state != "active":
            raise JsException("TransactionInactiveError")
        if write and self._mode != "readwrite":
            raise JsException("ReadOnlyError")
        request = Request()
        self._waiting.append((request, work))
        return request

    def _next(self) -> None:
        if self._state != "active":
            return
        fault = self._db.shared.fault
        if fault:
            self._db.shared.fault = ""
            self._fail(fault)
        elif self._waiting:
            request, work = self._waiting.pop(0)
            request.result = work()
            if request.onsuccess:
                request.onsuccess(SimpleNamespace(target=request))
            asyncio.get_running_loop().call_soon(self._next)
        else:
            self._state = "done"
            if self._mode == "readwrite":
                self._db.shared.stores.update(self.rows)
            if self.oncomplete:
                self.oncomplete(None)

    def _fail(self, name: str) -> None:
        self._state, self.error = "done", SimpleNamespace(name=name)
        if self.onabort:
            self.onabort(None)

    def abort(self) -> None:
        if self._state != "active":
            raise JsException("InvalidStateError")
        asyncio.get_running_loop().call_soon(self._fail, "AbortError")
        self._state = "aborting"


class Shared:
    """What is stored under one name. ``fault`` names an error that the next transaction fails with."""

    def __init__(self) -> None:
        self.version = 0
        self.stores: dict[str, dict[Any, Any]] = {}
        self.fault = ""


class Database:
    def __init__(self, shared: Shared) -> None:
        self.shared = shared
        self.version = shared.version
        self.onversionchange = self.onclose = None
        self.closed = False
        self.objectStoreNames = SimpleNamespace(contains=lambda name: name in shared.stores)

    def createObjectStore(self, name: str) -> None:  # noqa: N802
        self.shared.stores[name] = {}

    def transaction(self, names: list[str], mode: str, _options: Any) -> Transaction:
        if self.closed:
            raise JsException("InvalidStateError")
        return Transaction(self, list(names), mode)

    def close(self) -> None:
        self.closed = True


class Factory:
    """``indexedDB``. ``silent``: never answers; ``forbidden``: the error's name that opening raises."""

    def __init__(self) -> None:
        self.databases: dict[str, Shared] = {}
        self.silent = False
        self.forbidden = ""

    def open(self, name: str, version: int | None = None) -> Request:
        if self.forbidden:
            raise JsException(self.forbidden)
        request = Request()
        if not self.silent:
            asyncio.get_running_loop().call_soon(self._answer, request, name, version)
        return request

    def _answer(self, request: Request, name: str, version: int | None) -> None:
        shared = self.databases.setdefault(name, Shared())
        wanted = max(1, shared.version) if version is None else version
        if wanted < shared.version:
            request.error = SimpleNamespace(name="VersionError")
            if request.onerror:
                request.onerror(None)
            return
        upgrade = wanted > shared.version
        shared.version = wanted
        request.result = Database(shared)
        if upgrade and request.onupgradeneeded:
            request.onupgradeneeded(None)
        if request.onsuccess:
            request.onsuccess(None)


class Channel:
    def __init__(self) -> None:
        self.onmessage = None

    @classmethod
    def new(cls, _name: str) -> Channel:
        return cls()

    def postMessage(self, _data: Any) -> None:  # noqa: N802
        pass

    def close(self) -> None:
        pass


class _Proxy:
    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function

    def __call__(self, *given: Any) -> Any:
        return self._function(*given)

    def destroy(self) -> None:
        pass


def browser(factory: Factory) -> ModuleType:
    """The module ``store.browser`` with this storage."""
    js = ModuleType("js")
    js.indexedDB, js.BroadcastChannel, js.navigator = factory, Channel, SimpleNamespace()  # type: ignore[attr-defined]
    js.IDBKeyRange = SimpleNamespace(bound=Range)  # type: ignore[attr-defined]
    js.Object = SimpleNamespace(fromEntries=None)  # type: ignore[attr-defined]
    ffi = ModuleType("pyodide.ffi")
    ffi.JsException, ffi.create_proxy = JsException, _Proxy  # type: ignore[attr-defined]
    ffi.to_js = lambda value, **_more: _JsData(value) if isinstance(value, dict) else value  # type: ignore[attr-defined]
    put = {"js": js, "pyodide": ModuleType("pyodide"), "pyodide.ffi": ffi}
    before = {name: sys.modules.get(name) for name in put}
    sys.modules.update(put)
    sys.modules.pop("store.browser", None)
    try:
        return importlib.import_module("store.browser")
    finally:
        sys.modules.pop("store.browser", None)
        for name, module in before.items():
            if module is None:
                del sys.modules[name]
            else:
                sys.modules[name] = module


class _JsData:
    def __init__(self, value: dict[str, Any]) -> None:
        self.__dict__.update({k: _Bytes(v) if isinstance(v, bytes) else v for k, v in value.items()})


class _Bytes(bytes):
    def to_bytes(self) -> bytes:  # type: ignore[override]
        return bytes(self)
