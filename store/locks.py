"""Keeping processes apart: by a lock of the system, or by a file where the system has none.

Some network and memory-card file systems know no locks. There a file that only one process
can make stands for the lock. It says which process made it, so that one left behind by a
process that was ended is told from one whose process still runs.
"""

from __future__ import annotations

import errno
import json
import os
import socket
import time
from typing import Any, Protocol

from filelock import FileLock, Timeout

try:
    import fcntl
except ImportError:  # Windows has locks of its own
    fcntl = None  # type: ignore[assignment]

import contextlib

from .clock import new_id

__all__ = ["Busy", "Lock", "LockFile", "lock_for"]

_NONE = (errno.ENOSYS, errno.ENOLCK, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EINVAL)
#: A lock file of another computer, or one that says nothing, counts as left behind after so long: no save takes a tenth.
_ELSEWHERE_S = 120.0
_UNSAID_S = 10.0
_POLL_S = 0.005


class Busy(Exception):
    """Another process holds the lock."""


class Lock(Protocol):
    """A lock between processes."""

    def acquire(self, wait_s: float) -> None:
        """Take it. Raises Busy after ``wait_s`` seconds, OSError where the disk does not let us."""

    def release(self) -> None:
        """Give it back."""


class SystemLock:
    """The operating system's own lock: it ends with the process, however that ends."""

    def __init__(self, path: str) -> None:
        self._lock = FileLock(path)

    def acquire(self, wait_s: float) -> None:
        try:
            self._lock.acquire(timeout=wait_s, poll_interval=_POLL_S)
        except Timeout as problem:
            raise Busy from problem

    def release(self) -> None:
        self._lock.release()


class LockFile:
    """A file that stands for the lock. ``left_behind`` counts those of processes that had ended."""

    left_behind = 0

    def __init__(self, path: str) -> None:
        self._path = path

    def acquire(self, wait_s: float) -> None:
        end = time.monotonic() + wait_s
        while not self._make():
            if not self._clear() and time.monotonic() >= end:
                raise Busy
            time.sleep(_POLL_S)

    def _make(self) -> bool:
        try:
            handle = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            return False
        try:
            os.write(handle, json.dumps(_myself()).encode())
        finally:
            os.close(handle)
        return True

    def _clear(self) -> bool:
        """Put away a lock that was left behind. True if there is none any more."""
        try:
            with open(self._path, "rb") as handle:
                said = handle.read()
            age_s = time.time() - os.stat(self._path).st_mtime
        except FileNotFoundError:
            return True
        if not _left_behind(said, age_s):
            return False
        aside = f"{self._path}.{new_id(8)}"
        try:
            os.rename(self._path, aside)
            with open(aside, "rb") as handle:
                mine = handle.read() == said
            if not mine:  # somebody was faster, and this is the lock they have made since
                os.link(aside, self._path)
            os.unlink(aside)
        except OSError:
            return False
        if mine:
            LockFile.left_behind += 1
        return mine

    def release(self) -> None:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(self._path)


def lock_for(path: str) -> Lock:
    """The lock that this place can have; ``path`` is a file beside what it guards."""
    if fcntl is None:
        return SystemLock(path)
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
        fcntl.flock(handle, fcntl.LOCK_UN)
    except BlockingIOError:
        pass  # held: so there are locks
    except OSError as problem:
        if problem.errno in _NONE:
            return LockFile(f"{path}.held")
        raise
    finally:
        os.close(handle)
    return SystemLock(path)


def _started(pid: int) -> str:
    """When a process was started, as the system counts it; empty where it does not say."""
    try:
        with open(f"/proc/{pid}/stat", encoding="ascii", errors="replace") as handle:
            return handle.read().rpartition(")")[2].split()[19]
    except (OSError, IndexError):
        return ""


def _myself() -> dict[str, Any]:
    return {"pid": os.getpid(), "host": socket.gethostname(), "started": _started(os.getpid())}


def _left_behind(said: bytes, age_s: float) -> bool:
    try:
        owner = json.loads(said)
        pid, host, started = int(owner["pid"]), str(owner["host"]), str(owner["started"])
    except (ValueError, LookupError, TypeError):
        return age_s > _UNSAID_S  # cut short as it was made
    if host != socket.gethostname():
        return age_s > _ELSEWHERE_S
    return not _runs(pid) or (bool(started) and _started(pid) != started)


def _runs(pid: int) -> bool:
    if os.name == "nt":  # there a signal would end it; such a lock is only ever asked for on a POSIX system
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return pid > 0
