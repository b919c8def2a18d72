"""A machine's card as it goes to somebody else: with what the jobs taught that do not go along.

For each such job the card in the file gets entries with the job's record (its sums, nothing of the customer),
made from the record alone: the same on every device that has the job in the same state, so that
they merge into one, and a job is counted once. The later state of a job wins by its stamp.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from logic.job_record import JobRecord, written

from .documents import Chosen, Document
from .errors import Refused
from .facts.record import NAME, ROW, rows_of_text
from .form import checksum
from .merge import add_entries
from .remembered import Remembered, Store
from .shelf import Revision
from .view import View

__all__ = ["carrier"]


async def carrier(jobs: Store, wanted: Sequence[str], *, names: bool = False) -> Callable[[Document], Document]:
    """What puts into a machine's card, on its way into a file of the documents ``wanted``, the records of its jobs that
    are not in that file. ``names`` puts the jobs' titles in as well."""
    now, along = await jobs.revisions(), set(wanted)
    if set(now) <= along or not along & set(await jobs.revisions("card")):
        return lambda document: document
    remembered = Remembered(jobs)
    await remembered.look(await _cards(jobs))

    def carry(document: Document) -> Document:
        if document.type != "card":
            return document
        there = {e.id for e in document.entries}
        new = [
            entry
            for r in remembered.by_card.get(document.id, ())
            if r.job not in along
            for entry in _entries(document.id, r, now[r.job], names=names)
            if entry.id not in there
        ]
        return add_entries(document, new) if new else document

    return carry


async def _cards(jobs: Store) -> dict[str, View]:
    found = {}
    for id in await jobs.revisions("card"):
        try:
            document = await jobs.read(id)
        except Refused:
            continue
        if document is not None:
            found[id] = View(document)
    return found


def _entries(card: str, record: JobRecord, job: Revision, *, names: bool) -> Iterator[Chosen]:
    """The entries that carry one job's record on a card."""
    text = written(replace(record, bar="", hone=""))
    rows = [(ROW, {"part": n}, v) for n, v in enumerate(rows_of_text(checksum(text)[:6], text), start=1)]
    if names and job.title:
        rows.append((NAME, {}, job.title[:200]))
    for what, at, value in rows:
        yield Chosen(
            id=checksum(f"{card} {record.job} {job.changed} {what} {at} {value}")[:20],
            stamp=job.changed,
            device=job.changed.split("-")[2],
            what=what,
            at={"job": record.job, **at},
            value=value,
        )
