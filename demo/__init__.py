"""One invented job, from the worn bores to the final check, and what loads it.

Everything in it is invented: the engine, the customer, the machines, the readings.
Loading it twice changes nothing, since its ids and times are always the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from store.documents import Document
    from store.jobs import Jobs

__all__ = ["documents", "export", "load"]


def documents() -> list[Document]:
    """The demo's job and kit cards, as documents."""
    from .scenario import documents as made

    return made()


def export() -> bytes:
    """The demo as an export file."""
    from store.transfer import write

    from .notebook import DEVICE
    from .scenario import MADE_MS

    return write(documents(), device=DEVICE, made_ms=MADE_MS)


async def load(jobs: Jobs) -> int:
    """Merge the demo into what is on a device (a :class:`store.jobs.Jobs`); how many entries were new."""
    report = await jobs.take_in(await jobs.examine(export()))
    return report.added
