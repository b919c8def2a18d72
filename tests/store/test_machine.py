"""Three devices live through a random life, and a plain model says what they must still have.

Two keep their jobs in files, one in a browser's store. Edits, exports, imports, old exports
restored, restarts, a second window on the same store, disk errors, crashes and power failures;
files that cannot be read for a while, strays and second copies among the jobs, a torn tail,
a damaged index, a damaged row of settings, device or count of changes, in any order. After every
step each device has every entry that it called saved; at the end they exchange files and
are equal.
"""

from __future__ import annotations

import asyncio
import os
import random
import secrets
import shutil
import tempfile
from collections.abc import Coroutine
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, invariant, multiple, precondition, rule

import store.clock
from store import draft
from store.backend import Backend
from store.documents import Document, value_of
from store.errors import Refused
from store.files import FilesBackend
from store.form import canonical, data_of
from store.jobs import Jobs
from store.transfer import examine, write

from .fake_browser import Factory, browser
from .faults import Disk, Killed, Unreadable, put_in
from .support import NOW, Time, reading

who = st.integers(0, 2)
which = st.integers(0, 2)


class Device:
    """A device, what it must have (``saved``), and what it may have besides (``maybe``)."""

    def __init__(self, root: Path, number: int) -> None:
        self.root = root / f"device{number}"
        self.factory = Factory() if number == 2 else None
        self._module = browser(self.factory) if self.factory else None
        #: Something was damaged: the store may say so.
        self.damaged = False
        self.time = Time(NOW + number * 3_600_000)
        self.jobs: Jobs | None = None
        self.saved: dict[str, set[str]] = {}
        self.maybe: dict[str, set[str]] = {}
        self.titles: dict[str, set[str]] = {}

    def backend(self) -> Backend:
        if self._module is None:
            return FilesBackend(self.root)
        made: Backend = self._module.BrowserBackend()
        return made

    @property
    def shared(self) -> Any:
        """What is stored in the browser."""
        assert self.factory is not None
        return self.factory.databases["boreside"]

    def must_have(self, id: str, entries: set[str], titles: set[str]) -> None:
        self.saved.setdefault(id, set()).update(entries)
        self.maybe.setdefault(id, set()).difference_update(entries)
        self.titles.setdefault(id, set()).update(titles)


def titles_of(document: Document) -> set[str]:
    values = (*document.earlier.get("title", ()), *filter(None, (document.header.get("title"),)))
    return {v.value for v in values}  # type: ignore[misc]


class Life(RuleBasedStateMachine):
    files = Bundle("files")

    def __init__(self) -> None:
        super().__init__()
        self.root = Path(tempfile.mkdtemp(prefix="boreside-life-"))
        self.loop = asyncio.new_event_loop()
        self.devices = [Device(self.root, n) for n in range(3)]
        self.disk = Disk()
        put_in(self.disk)
        # ids by chance would make another life of the same drawing: which job is meant hangs on the order of their ids
        store.clock.secrets = random.Random(7)  # type: ignore[attr-defined, assignment]
        self.count = 0

    def run(self, work: Coroutine[Any, Any, Any]) -> Any:
        return self.loop.run_until_complete(work)

    def jobs(self, device: Device) -> Jobs:
        if device.jobs is None:
            device.jobs = self.run(Jobs.open(device.backend(), now_ms=device.time))
        return device.jobs

    def held(self, number: int, which: int) -> tuple[Device, str]:
        """A device and one of its jobs."""
        device = self.devices[number]
        ids = sorted(device.saved)
        if not ids:
            self.create(number)
            ids = sorted(device.saved)
        return device, ids[which % len(ids)]

    def fresh(self) -> str:
        self.count += 1
        return f"n{self.count}"

    # -- ordinary work -----------------------------------------------------------------
    @precondition(lambda self: len(set().union(*(d.saved for d in self.devices))) < 3)
    @rule(number=who)
    def create(self, number: int) -> None:
        device, title = self.devices[number], self.fresh()
        made = self.run(self.jobs(device).create(title=title))
        device.must_have(made.id, set(), {title})

    @rule(number=who, which=which, count=st.integers(1, 3))
    def append(self, number: int, which: int, count: int) -> None:
        device, id = self.held(number, which)
        before = self.run(self.jobs(device).load(id)).entries
        stored = self.run(self.jobs(device).append(id, *(reading("3.0", depth=n + 1) for n in range(count))))
        # each is later than whatever stands in its place, however far ahead that was dated
        for one in stored:
            there = [e.stamp for e in before if getattr(e, "what", "") == one.what and e.at == one.at]  # type: ignore[union-attr]
            assert one.stamp > max(there, default="")
        device.must_have(id, {e.id for e in stored}, set())

    @rule(number=who, which=which)
    def correct_the_last(self, number: int, which: int) -> None:
        device, id = self.held(number, which)
        document = self.run(self.jobs(device).load(id))
        if document.entries:
            last = document.entries[-1]
            (one,) = self.run(self.jobs(device).append(id, draft.withdrawn(last.id)))
            assert one.stamp > last.stamp
            device.must_have(id, {one.id}, set())

    @rule(number=who, which=which)
    def rename(self, number: int, which: int) -> None:
        (device, id), title = self.held(number, which), self.fresh()
        document = self.run(self.jobs(device).set_header(id, title=title))
        assert value_of(document, "title") == title
        device.must_have(id, set(), {title})

    @rule(number=who, which=which, gone=st.booleans())
    def delete_or_restore(self, number: int, which: int, gone: bool) -> None:
        device, id = self.held(number, which)
        jobs = self.jobs(device)
        self.run(jobs.delete(id) if gone else jobs.restore(id))
        assert id in {s.id for s in self.run(jobs.list(deleted=gone))}

    @rule(number=who, hours=st.integers(-30, 30))
    def set_the_clock(self, number: int, hours: int) -> None:
        self.devices[number].time.ms += hours * 3_600_000

    # -- files ----------------------------------------------------------------------------
    @rule(target=files, number=who)
    def export(self, number: int) -> Any:
        device = self.devices[number]
        if not device.saved:
            return multiple()
        entries = {id: set(saved) for id, saved in device.saved.items()}
        return self.run(self.jobs(device).export()), entries, {k: set(v) for k, v in device.titles.items()}

    @rule(number=who, file=files)
    def take_in(self, number: int, file: Any) -> None:
        self._take_in(self.devices[number], file)

    @rule(number=who, file=consumes(files), cut=st.floats(0, 0.99))
    def refuse_what_is_cut_off(self, number: int, file: Any, cut: float) -> None:
        jobs = self.jobs(self.devices[number])
        try:
            self.run(jobs.examine(file[0][: int(len(file[0]) * cut)]))
        except Refused:
            return
        raise AssertionError("took a file that is cut off")

    def _take_in(self, device: Device, file: Any) -> None:
        data, entries, titles = file
        coming = examine(data, now_ms=device.time.ms, fields={})
        report = self.run(self.jobs(device).take_in(coming))
        for id, saved in entries.items():
            device.must_have(id, saved, titles[id])
        for document in coming.documents():
            device.maybe.setdefault(document.id, set()).update(e.id for e in document.entries)
            device.saved.setdefault(document.id, set())
            device.titles.setdefault(document.id, set())
        again = self.run(self.jobs(device).take_in(coming))
        assert again.added == 0 and again.new_documents == ()
        assert again.unchanged == report.added + report.unchanged

    # -- trouble ------------------------------------------------------------------------------
    @rule(number=who)
    def restart(self, number: int) -> None:
        self.devices[number].jobs = None

    @rule(number=who, which=which)
    def another_window_writes(self, number: int, which: int) -> None:
        device, id = self.held(number, which)
        other = self.run(Jobs.open(device.backend(), now_ms=device.time))
        (one,) = self.run(other.append(id, draft.note("elsewhere")))
        device.must_have(id, {one.id}, set())

    @rule(number=who, which=which, at=st.integers(0, 14), mode=st.sampled_from(("error", "half", "full")))
    def the_disk_fails_once(self, number: int, which: int, at: int, mode: str) -> None:
        device, id = self.held(number, which)
        jobs, one = self.jobs(device), reading("3.1")
        self.disk.mode, self.disk.at = mode, self.disk.count + at
        if device.factory:
            device.shared.fault = {"error": "UnknownError", "half": "AbortError", "full": "QuotaExceededError"}[mode]
        try:
            self.run(jobs.append(id, one))
        except Refused:
            device.maybe.setdefault(id, set()).add(one.id)
        else:
            device.must_have(id, {one.id}, set())
        self.disk.mend()
        self.run(jobs.append(id, one))
        device.must_have(id, {one.id}, set())

    @rule(number=who, which=which, at=st.integers(0, 14), power=st.booleans())
    def it_dies(self, number: int, which: int, at: int, power: bool) -> None:
        device, id = self.held(number, which)
        jobs, one = self.jobs(device), reading("3.2")
        dying = Disk("kill", at)
        put_in(dying)
        try:
            self.run(jobs.append(id, one))
        except Killed:
            device.maybe.setdefault(id, set()).add(one.id)
            if power:
                dying.lose_power()
                self.disk.lose_power()
                self.disk = Disk()
        else:
            device.must_have(id, {one.id}, set())
        put_in(self.disk)
        device.jobs = None

    def _closed(self, number: int, which: int) -> tuple[Device, str]:
        """A device whose store is there and not open, and one of its jobs."""
        device, id = self.held(number, which)
        self.jobs(device)
        device.jobs = None
        return device, id

    @rule(
        number=st.integers(0, 1), which=which, what=st.sampled_from(("document", "shard", "copies", "index", "foreign"))
    )
    def something_cannot_be_read_for_a_while(self, number: int, which: int, what: str) -> None:
        """A file, a shard of our own or of another owner: the store starts all the same, and lists each job once."""
        device, id = self._closed(number, which)
        if what == "foreign":
            (device.root / "documents" / "zz").mkdir(exist_ok=True)
        shards = {"shard": id[:2], "document": f"{id[:2]}/{id}", "foreign": "zz"}
        put_in(Unreadable(f"documents/{shards[what]}" if what in shards else f"{what}/"))
        try:
            jobs = self.run(Jobs.open(device.backend(), now_ms=device.time))
            listed = [s.id for gone in (False, True) for s in self.run(jobs.list(deleted=gone))]
            assert len(listed) == len(set(listed)) and set(listed) <= set(device.saved)
            if what not in ("document", "shard"):
                assert set(listed) == set(device.saved)
        finally:
            put_in(self.disk)
        device.damaged = True

    @rule(number=st.integers(0, 1), which=which, how=st.sampled_from(("copy", "link", "folder", "rubbish", "before")))
    def something_strange_lies_among_the_jobs(self, number: int, which: int, how: str) -> None:
        device, id = self._closed(number, which)
        folder = device.root / "documents" / id[:2]
        second = folder / f"{id} (second).json"
        if how == "copy" and (folder / f"{id}.json").exists() and not second.is_dir():
            shutil.copy(folder / f"{id}.json", second)
        elif how == "link" and not (folder / f"{id[:2]}dangling.json").is_symlink():
            (folder / f"{id[:2]}dangling.json").symlink_to(device.root / "nowhere")
        elif how == "folder" and not second.exists():
            second.mkdir()
        elif how == "before":
            (folder / f"{id}.before.json").write_bytes(b"rubbish")
        else:
            (folder / "rubbish.tmp").write_bytes(b"\x00rubbish")
        device.damaged = True

    @rule(number=st.integers(0, 1), which=which)
    def second_copies_are_merged(self, number: int, which: int) -> None:
        device, _ = self.held(number, which)
        jobs = self.jobs(device)
        for name in self.run(jobs.second_copies()):
            assert self.run(jobs.merge_copy(name)) == 0
        assert self.run(jobs.second_copies()) == ()

    @rule(number=st.integers(0, 1), which=which)
    def the_tail_of_a_journal_is_torn(self, number: int, which: int) -> None:
        device, id = self._closed(number, which)
        with (device.root / "documents" / id[:2] / f"{id}.log").open("ab") as log:
            log.write(b'0123456789abcdef {"record": {')
        device.damaged = True

    @rule(
        number=who,
        which=which,
        what=st.sampled_from(("index", "settings", "device", "changes", "log")),
        how=st.integers(0, 2),
    )
    def a_row_is_damaged(self, number: int, which: int, what: str, how: int) -> None:
        """A row of the browser's store, or the file that holds the same on a computer."""
        device, id = self._closed(number, which)
        device.damaged = True
        if device.factory:
            rows = device.shared.stores[what if what in ("index", "log") else "settings"]
            key: Any = id if what == "index" else what
            if what == "log":
                key = max((k for k in rows if str(k).startswith(id)), default="")
            if key in rows:
                rows[key] = ("", "[]", str(rows[key])[: len(str(rows[key])) // 2])[how]
            return
        if what in ("changes", "log"):
            return  # files have no such row; the journal's tail is torn by a rule of its own
        path = device.root / (f"index/{id[:2]}.json" if what == "index" else f"settings/{what}.json")
        if path.exists():
            path.write_bytes((b"", b"[]", path.read_bytes()[: path.stat().st_size // 2])[how])

    # -- what must hold -------------------------------------------------------------------------
    @invariant()
    def nothing_called_saved_is_lost(self) -> None:
        for device in self.devices:
            if device.jobs is None:
                continue
            jobs = device.jobs
            listed = [*self.run(jobs.list()), *self.run(jobs.list(deleted=True))]
            assert {s.id for s in listed} == set(device.saved) and len(listed) == len(device.saved)
            for summary in listed:
                assert summary.trouble is None
                document = self.run(jobs.load(summary.id))
                there = {e.id for e in document.entries}
                assert device.saved[summary.id] <= there
                assert there <= device.saved[summary.id] | device.maybe.get(summary.id, set())
                assert summary.entries == len(there)
                assert device.titles[summary.id] <= titles_of(document)
            assert device.damaged or jobs.troubles == ()
            assert all(str(line) for line in jobs.troubles)

    def teardown(self) -> None:
        try:
            self._meet()
        finally:
            put_in(os)
            store.clock.secrets = secrets  # type: ignore[attr-defined]
            self.loop.close()
            shutil.rmtree(self.root, ignore_errors=True)

    def _meet(self) -> None:
        """They exchange files, in different orders, and are equal."""
        made = [self._everything(device) for device in self.devices]
        for number, device in enumerate(self.devices):
            for other in made[number:] + made[:number]:
                self.run(self.jobs(device).take_in(examine(other, now_ms=device.time.ms, fields={})))
        ends = [self._everything(device) for device in self.devices]
        assert ends[0] == ends[1] == ends[2]

    def _everything(self, device: Device) -> bytes:
        jobs = self.jobs(device)
        listed = [*self.run(jobs.list()), *self.run(jobs.list(deleted=True))]
        documents = [self.run(jobs.load(s.id)) for s in listed]
        assert all(canonical(data_of(d)) for d in documents)
        return write(documents, device="devicea0", made_ms=NOW)


Life.TestCase.settings = settings(
    max_examples=50, stateful_step_count=50, deadline=None, suppress_health_check=list(HealthCheck)
)
TestLife = Life.TestCase
