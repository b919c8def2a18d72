"""The page round the app, as far as handing files over goes: what ``mobile/bridge.py`` asks of a browser.

A file that is chosen, and one that is saved, lie on the disk; the blobs that are handed to the
page write what they are given there at once, as a browser keeps them outside the app's memory.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any
from unittest.mock import patch

from mobile import bridge

__all__ = ["Browser", "browser"]


class _JsError(Exception):
    pass


class _Buffer:
    def __init__(self, data: bytes) -> None:
        self._data = data

    def to_bytes(self) -> bytes:
        return self._data


class _File:
    """A chosen file: whoever reads it reads a slice."""

    def __init__(self, path: Path, start: int = 0, end: int | None = None) -> None:
        self.path, self.start = path, start
        self.size = (path.stat().st_size if end is None else end) - start

    def slice(self, start: int, end: int) -> _File:
        return _File(self.path, self.start + start, self.start + min(end, self.size))


class _Reader:
    @classmethod
    def new(cls) -> _Reader:
        return cls()

    def readAsArrayBuffer(self, file: _File) -> _Buffer:  # noqa: N802 - the browser's name
        try:
            with file.path.open("rb") as handle:
                handle.seek(file.start)
                return _Buffer(handle.read(file.size))
        except OSError as problem:
            raise _JsError("NotFoundError") from problem


class Browser:
    """``picks`` is the file that the dialogue will give (None: it is cancelled); ``saved`` are the files saved, by name."""

    def __init__(self, folder: Path) -> None:
        self.picks: Path | None = None
        self.saved: dict[str, Path] = {}
        self._folder = folder
        self._blobs = 0

    async def ask(self, what: str, *given: Any) -> Any:
        if what == "choose":
            return None if self.picks is None else _File(self.picks)
        if what == "hand":
            return "save"  # there is no share sheet
        if what == "save":
            name, parts = given
            self.saved[name] = self._folder / name
            with self.saved[name].open("wb") as out:
                for part in parts:
                    out.write(part.read_bytes())
                    part.unlink()
            return True
        return SimpleNamespace(to_py=dict)

    def blob(self, parts: list[Any]) -> Any:
        if all(isinstance(p, Path) for p in parts):
            return list(parts)
        self._blobs += 1
        path = self._folder / f"blob{self._blobs}"
        path.write_bytes(b"".join(parts))
        return path


class _Array(list):  # type: ignore[type-arg]
    @classmethod
    def new(cls) -> _Array:
        return cls()

    @classmethod
    def of(cls, *parts: Any) -> _Array:
        return cls(parts)

    def push(self, part: Any) -> None:
        self.append(part)


@contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """The app's bridge finds this browser round it while the context lasts."""
    page = Browser(folder)
    js, ffi, asked = ModuleType("js"), ModuleType("pyodide.ffi"), ModuleType("boreside_js")
    js.Array, js.FileReaderSync = _Array, _Reader  # type: ignore[attr-defined]
    js.Blob, js.Object = SimpleNamespace(new=page.blob), SimpleNamespace(fromEntries=None)  # type: ignore[attr-defined]
    ffi.JsException, ffi.to_js = _JsError, lambda value, **_more: value  # type: ignore[attr-defined]
    asked.ask, asked.listen = page.ask, lambda _callback: None  # type: ignore[attr-defined]
    asked.gather = asked.handOver = lambda: None  # type: ignore[attr-defined]
    modules = {"js": js, "pyodide": ModuleType("pyodide"), "pyodide.ffi": ffi, "boreside_js": asked}
    before = {name: sys.modules.get(name) for name in modules}
    sys.modules.update(modules)
    try:
        with patch.object(bridge, "IN_BROWSER", True):
            yield page
    finally:
        for name, module in before.items():
            if module is None:
                del sys.modules[name]
            else:
                sys.modules[name] = module
