"""When the first oil change falls due after a rebore, when it is run in, and when a head is retightened.

By what the engine does, as running hours or as a distance, and about how many days that takes
(common practice, no source; the makers of engine, rings and gasket come first).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from .say import LN, L, Line
from .sizing import DUTIES

__all__ = ["NEXT_DAY", "After", "Due", "after"]


@dataclass(frozen=True, slots=True)
class Due:
    """What comes first counts: ``hours`` of running, or ``km`` on the road (``miles`` for who thinks in those; 0:
    hours count), and the ``days`` in which a machine so used gets there."""

    days: int
    hours: int = 0
    km: int = 0
    miles: int = 0

    def said(self, *, metric: bool) -> Line:
        """The hours or the distance in words."""
        if self.km:
            return L("{km} km", km=self.km) if metric else LN("{n} mile", "{n} miles", self.miles)
        return LN("{n} hour of running", "{n} hours of running", self.hours)


#: After the first warm run the head is retightened cold: the next day.
NEXT_DAY = Due(1)


class After(NamedTuple):
    """The first change of oil and filter, and the end of the running-in."""

    first_oil: Due
    run_in: Due


_FIELD = After(Due(28, hours=20), Due(70, hours=50))
_ROAD = After(Due(21, km=800, miles=500), Due(42, km=1600, miles=1000))
_BY_DUTY: Mapping[str, After] = {
    "gentle": _FIELD,
    "road": _ROAD,
    "hard": After(Due(14, hours=20), Due(35, hours=50)),
    "diesel": After(Due(14, hours=25), Due(28, hours=50)),
    "boosted": _ROAD,
    "race": After(Due(7, hours=2), Due(14, hours=5)),
}


def after(duty: str) -> After:
    """What falls due after a rebore, for a duty. Raises ValueError for one that is not in :data:`logic.sizing.DUTIES`."""
    if duty not in DUTIES:
        raise ValueError(f"no such duty: {duty!r}")
    return _BY_DUTY[duty]
