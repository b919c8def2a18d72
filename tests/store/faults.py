"""A disk that fails on purpose.

:class:`Disk` stands in for the ``os`` module inside ``store.files`` and ``store.disk``. It counts every
call that touches the disk and can let one of them fail, fail from one on as a full
disk does, or stop the program dead there, with or without the power going off too.
"""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path
from typing import Any

import store.disk
import store.files

CALLS = (
    *("open", "read", "write", "fsync", "close", "replace", "unlink", "stat", "scandir", "listdir", "makedirs"),
    *("lseek", "truncate", "utime"),
)
WRITES = ("write", "makedirs")


class Killed(BaseException):
    """The process ends here: nothing it would still have done happens."""


class Disk:
    """``os`` with faults. ``mode``: "error" (call number ``at`` fails), "half" (a write stops
    half-way, then fails), "full" (no room from call ``at`` until ``mend()``), "kill" (the
    process dies before call ``at``), "short" (every write takes only a few bytes)."""

    def __init__(self, mode: str = "", at: int = -1) -> None:
        self.mode, self.at, self.count = mode, at, 0
        self.names: list[str] = []
        self.dead = False
        # for the power failure: what is not synced yet
        self._paths: dict[int, str] = {}
        self._dirty: set[str] = set()
        self._renames: list[tuple[str, str, bytes | None, bytes | None]] = []
        self._grown: dict[str, int] = {}
        self._unlinked: list[tuple[str, bytes | None]] = []

    def mend(self) -> None:
        self.mode = ""

    def __getattr__(self, name: str) -> Any:
        real = getattr(os, name)
        if name not in CALLS:
            return real

        def call(*args: Any, **more: Any) -> Any:
            if self.dead:
                raise Killed
            here, self.count = self.count, self.count + 1
            self.names.append(name)
            if self.mode == "kill" and here == self.at:
                self.dead = True
                raise Killed
            if self.mode == "error" and here == self.at:
                if name == "close":
                    real(*args, **more)
                raise OSError(errno.EIO, "made to fail")
            if (
                self.mode == "full"
                and here >= self.at
                and (name in WRITES or (name == "open" and args[1] & os.O_CREAT))
            ):
                raise OSError(errno.ENOSPC, "made to fail")
            if self.mode == "half" and name == "write" and here >= self.at:
                self.mode = ""
                real(args[0], bytes(args[1])[: len(args[1]) // 2])
                raise OSError(errno.ENOSPC, "made to fail")
            if self.mode == "short" and name == "write":
                return real(args[0], bytes(args[1])[:7])
            return self._noted(name, real, args, more)

        return call

    def _noted(self, name: str, real: Any, args: tuple[Any, ...], more: dict[str, Any]) -> Any:
        if name == "replace":
            source, target = map(str, args)
            self._renames.append((source, target, _content(source), _content(target)))
            result = real(*args, **more)
            if source in self._dirty:
                self._dirty.discard(source)
                self._dirty.add(target)
            return result
        if name == "unlink":
            self._unlinked.append((str(args[0]), _content(str(args[0]))))
            self._grown.pop(str(args[0]), None)
        elif name == "open" and args[1] & os.O_APPEND:
            self._grown.setdefault(str(args[0]), _length(str(args[0])))
        result = real(*args, **more)
        if name == "open":
            self._paths[result] = str(args[0])
            if args[1] & os.O_TRUNC:
                self._dirty.add(str(args[0]))
        elif name == "fsync":
            path = self._paths[args[0]]
            if os.path.isdir(path):
                self._renames = [r for r in self._renames if os.path.dirname(r[1]) != path]
                self._unlinked = [u for u in self._unlinked if os.path.dirname(u[0]) != path]
            else:
                self._dirty.discard(path)
                self._grown.pop(path, None)
        return result

    def lose_power(self) -> None:  # noqa: C901
        """What was not synced is gone: file contents, what was added to a file, and renames and removals
        in folders that were not synced. Of what was added, half a write may have reached the disk."""
        for path, size in self._grown.items():
            if os.path.exists(path):
                left = Path(path).read_bytes()
                Path(path).write_bytes(left[: size + (len(left) - size) // 2])
        for path, gone in self._unlinked:
            if gone is not None and not os.path.exists(path):
                Path(path).write_bytes(gone)
        for path in self._dirty:
            if os.path.exists(path):
                Path(path).write_bytes(b"")
        for source, target, moved, replaced in reversed(self._renames):
            if moved is not None:
                Path(source).write_bytes(b"" if source in self._dirty else moved)
            if replaced is not None:
                Path(target).write_bytes(replaced)
            elif os.path.exists(target):
                os.unlink(target)


class Unreadable(Disk):
    """One path cannot be read, as long as this is put in."""

    def __init__(self, part: str) -> None:
        super().__init__()
        self.part = part

    def _noted(self, name: str, real: Any, args: tuple[Any, ...], more: dict[str, Any]) -> Any:
        if name in ("open", "scandir", "listdir") and self.part in str(args[0]):
            raise PermissionError(13, "made to fail")
        return super()._noted(name, real, args, more)


def _content(path: str) -> bytes | None:
    return Path(path).read_bytes() if os.path.isfile(path) else None


def _length(path: str) -> int:
    return os.path.getsize(path) if os.path.isfile(path) else 0


def put_in(disk: Any) -> None:
    """Let the store in files use this disk; ``os`` is the real one."""
    store.disk.os = store.files.os = disk  # type: ignore[attr-defined]


def copy_store(source: Path, target: Path) -> Path:
    """A copy of a store, as a backup program would make it."""
    shutil.copytree(source, target)
    return target
