"""A hybrid logical clock: time stamps that never run backwards on one device.

A stamp is 13 digits of milliseconds since 1970, 5 digits of counter and the
device's id, so that comparing stamps as text compares them in time. The device's
clock is followed while it moves forward. When it stands still or is moved back
the counter goes up instead, so a later entry always has a later stamp. Stamps
seen in other copies advance the clock too, but only up to :data:`AHEAD_MS` past
the device's own time: one phone set to the wrong year must not drag every other
copy along with it.

The scheme is that of Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical
Physical Clocks", OPODIS 2014, with the bound on drift they describe.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable, Iterable

__all__ = ["AHEAD_MS", "FILE_MS", "LATEST_MS", "Clock", "join", "ms_of", "new_id", "reachable", "system_ms"]

#: How far past this device's own time a stamp from elsewhere may pull the clock: one day.
AHEAD_MS = 24 * 3600 * 1000
#: No stamp in a file may lie beyond this (the year 2100), but for those made to supersede one that lies there.
FILE_MS = 4_102_444_800_000
#: No stamp at all may lie beyond this: the year that is left is the room for superseding.
LATEST_MS = FILE_MS + 365 * 24 * 3600 * 1000
#: This device's own clock never passes this, so that what it writes can be read everywhere.
_OWN_MS = FILE_MS - 2 * AHEAD_MS
_COUNTER = 100_000
_LETTERS = "0123456789abcdefghijklmnopqrstuvwxyz"


def system_ms() -> int:
    """The device's own time, in milliseconds since 1970."""
    return time.time_ns() // 1_000_000


def new_id(length: int = 16) -> str:
    """A fresh random id of digits and small letters; 16 of them hold 82 random bits."""
    return "".join(secrets.choice(_LETTERS) for _ in range(length))


def ms_of(stamp: str) -> int:
    """The milliseconds in a stamp (0 for an empty one)."""
    return int(stamp[:13]) if stamp else 0


def join(ms: int, counter: int, device: str) -> str:
    """A stamp from its parts; a full counter carries into the milliseconds."""
    carry, counter = divmod(counter, _COUNTER)
    return f"{ms + carry:013d}-{counter:05d}-{device}"


def reachable(stamps: Iterable[str]) -> bool:
    """Whether clocks can have given the stamps of one document.

    Beyond :data:`FILE_MS` a stamp can only have come about by superseding one that lay there, one
    step at a time, so there are no more milliseconds gone than there are such stamps. What
    supersedes the last of them can be reached again: what is written here can always be read.
    """
    beyond = [ms for ms in map(ms_of, stamps) if ms > FILE_MS]
    return max(beyond, default=0) <= min(FILE_MS + len(beyond), LATEST_MS)


class Clock:
    """The clock of one device. ``last`` is the latest stamp it is known to have given out."""

    def __init__(self, device: str, now_ms: Callable[[], int] = system_ms, last: str = "") -> None:
        self.device = device
        self._now_ms = now_ms
        self._ms, self._counter = -1, 0
        if last and ms_of(last) <= _OWN_MS + AHEAD_MS:
            self._ms, self._counter = ms_of(last), int(last[14:19])

    @property
    def now_ms(self) -> int:
        """The device's own time, kept within what a stamp can hold."""
        return min(max(int(self._now_ms()), 0), _OWN_MS)

    @property
    def last(self) -> str:
        """The latest stamp given out or taken note of; empty if there is none."""
        return "" if self._ms < 0 else join(self._ms, self._counter, self.device)

    def tick(self, after: str = "") -> str:
        """A new stamp, later than every stamp given out before and later than ``after``.

        ``after`` is the stamp of what is being superseded. If it lies further ahead
        than the clock may be pulled, this one stamp goes past it and the clock itself
        stays where it is.
        """
        if after:
            self.see(after)
        now = self.now_ms
        if now > self._ms:
            self._ms, self._counter = now, 0
        else:
            self._ms, self._counter = self._carried(self._counter + 1)
        stamp = join(self._ms, self._counter, self.device)
        if after and stamp <= after:
            stamp = join(ms_of(after), int(after[14:19]) + 1, self.device)
        return stamp

    def see(self, stamp: str) -> bool:
        """Take note of a stamp from elsewhere. False if it is too far ahead to be followed."""
        ms, counter = ms_of(stamp), int(stamp[14:19])
        if ms > self.now_ms + AHEAD_MS:
            return False
        self._ms, self._counter = max((self._ms, self._counter), (ms, counter))
        return True

    def _carried(self, counter: int) -> tuple[int, int]:
        carry, counter = divmod(counter, _COUNTER)
        return self._ms + carry, counter
