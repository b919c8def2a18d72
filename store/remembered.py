"""What every job taught about its machines, kept beside the index, so that opening a job reads no other.

For each job one line of text (:mod:`logic.job_record`) and the revision of the job it was made
from. The index tells the present revision: where it is another, the line is made anew from
that one job, when somebody next asks. So a save costs nothing more, an import, another tab or another
program on the same store is noticed by itself, and a line that is lost is made again.

Lines lie under a few keys, so that noting one writes a part of them only.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Literal, Protocol

from logic.job_record import JobRecord, read_record, written

from .documents import Document
from .errors import NotSaved, Refused
from .facts.taught import taught
from .form import checksum
from .shelf import Revision
from .view import View

__all__ = ["Remembered", "Store"]

#: Changes where a record comes to hold something else, so that every line is made anew.
_FORM = 2
_PARTS = 8
#: Ids of invented jobs begin like this: they teach nobody's machine but their own cards.
_INVENTED = "demo"


def _key(part: int) -> str:
    return f"taught{_FORM}.{part}"


def _part(id: str) -> int:
    return int(checksum(id)[:4], 16) % _PARTS


class Store(Protocol):
    """What is asked of the jobs on this device (:class:`store.jobs.Jobs`)."""

    async def revisions(self, kind: Literal["job", "card"] = "job") -> dict[str, Revision]: ...
    async def read(self, id: str) -> Document | None: ...
    async def noted(self, key: str) -> dict[str, Any]: ...
    async def note(self, key: str, change: Callable[[dict[str, Any]], dict[str, Any]]) -> None: ...


class Remembered:
    """The records of the jobs of one store."""

    def __init__(self, jobs: Store) -> None:
        self._jobs = jobs
        self._lines: dict[str, tuple[str, JobRecord | None]] = {}
        self._there = False
        self._by_card: dict[str, tuple[JobRecord, ...]] = {}

    def _gone(self, now: Mapping[str, Revision]) -> list[str]:
        return [id for id in self._lines if id not in now or now[id].deleted]

    def _out_of_date(self, id: str, there: Revision) -> bool:
        return not there.deleted and self._lines.get(id, ("",))[0] != there.mark

    async def look(self, cards: Mapping[str, View], most: int | None = None, but: str = "") -> int:
        """Bring the records up to date, reading ``most`` changed jobs at most (None: all); how many are left to read.

        ``cards`` are the kit cards by id, which jobs take constants from; the job ``but`` is in hand
        and waits until it is left.
        """
        if not self._there:
            await self._fetch()
        now = await self._jobs.revisions()
        gone = self._gone(now)
        stale = [id for id, there in now.items() if id != but and self._out_of_date(id, there)]
        fresh = {id: (now[id].mark, await self._made(id, cards)) for id in stale[:most]}
        for id in gone:
            del self._lines[id]
        self._lines.update(fresh)
        if fresh or gone or not self._by_card:
            self._sort()
        await self._write(fresh, gone)
        return len(stale) - len(fresh)

    @property
    def by_card(self) -> Mapping[str, tuple[JobRecord, ...]]:
        """The records by the id of the card of bar or hone, oldest first; under "" those of every job that is no invented one."""
        return self._by_card

    async def _fetch(self) -> None:
        for part in range(_PARTS):
            for id, row in (await self._jobs.noted(_key(part))).items():
                if isinstance(row, list) and len(row) == 2 and all(isinstance(v, str) for v in row):
                    self._lines[id] = row[0], read_record(id, row[1])
        self._there = True

    async def _made(self, id: str, cards: Mapping[str, View]) -> JobRecord | None:
        try:
            document = await self._jobs.read(id)
            return None if document is None else taught(View(document, cards))
        except Refused:
            return None  # damaged, or made by a newer version: the others go on without it

    def _sort(self) -> None:
        found: dict[str, list[JobRecord]] = {"": []}
        for id, (_, record) in self._lines.items():
            if record is None:
                continue
            if not id.startswith(_INVENTED):
                found[""].append(record)
            for card in {record.bar, record.hone} - {""}:
                found.setdefault(card, []).append(record)
        self._by_card = {card: tuple(sorted(rows, key=lambda r: (r.day, r.job))) for card, rows in found.items()}

    async def _write(self, fresh: Mapping[str, tuple[str, JobRecord | None]], gone: list[str]) -> None:
        """Note what is new. Where there is no room it is made anew another time."""
        for part in sorted({_part(id) for id in (*fresh, *gone)}):
            rows = {
                id: [revision, "" if record is None else written(record)]
                for id, (revision, record) in fresh.items()
                if _part(id) == part
            }

            def change(old: dict[str, Any], rows: dict[str, list[str]] = rows) -> dict[str, Any]:
                return {**{id: row for id, row in old.items() if id not in gone}, **rows}

            try:
                await self._jobs.note(_key(part), change)
            except NotSaved:
                return
