"""When the first oil change falls due after a rebore, when it is run in, and when a head is retightened.

By what the engine does, as running hours or as a distance, and about how many days that takes
(common practice, no source; the makers of engine, rings and gasket come first).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .say import LN, L, Line
from .sizing import DUTIES

__all__ = ["FIRST_OIL", "NEXT_DAY", "RUN_IN", "Due", "due"]


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
#: The first change of oil and filter, by duty.
FIRST_OIL: Mapping[str, Due] = {
    "gentle": Due(28, hours=20),
    "road": Due(21, km=800, miles=500),
    "hard": Due(14, hours=20),
    "diesel": Due(14, hours=25),
    "boosted": Due(21, km=800, miles=500),
    "race": Due(7, hours=2),
}
#: The end of the running-in, by duty.
RUN_IN: Mapping[str, Due] = {
    "gentle": Due(70, hours=50),
    "road": Due(42, km=1600, miles=1000),
    "hard": Due(35, hours=50),
    "diesel": Due(28, hours=50),
    "boosted": Due(42, km=1600, miles=1000),
    "race": Due(14, hours=5),
}


def due(what: Mapping[str, Due], duty: str) -> Due:
    """What is due for a duty. Raises ValueError for a duty that is not in :data:`logic.sizing.DUTIES`."""
    if duty not in DUTIES:
        raise ValueError(f"no such duty: {duty!r}")
    return what[duty]
