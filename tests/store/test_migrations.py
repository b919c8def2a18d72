"""Older versions of the log are opened; newer ones are refused and left alone."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

import store.shelf
from store import draft
from store.documents import SCHEMA, Document, value_of
from store.errors import Refused
from store.files import FilesBackend
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.migrations import MIGRATIONS, upgrade
from store.transfer import examine

from .support import NOW, reading, run, texts

SAMPLES = Path(__file__).with_name("samples")
STORED = sorted(SAMPLES.glob("schema-*-stored.json"))
EXPORTED = sorted(SAMPLES.glob("schema-*-export.json"))


def check(document: Document) -> None:
    """What every sample says, whichever version wrote it."""
    assert document.schema_version == SCHEMA
    assert value_of(document, "title") == "Sample, renamed" and value_of(document, "cylinders") == 2
    assert [v.value for v in document.earlier["title"]] == ["Sample"]
    assert value_of(document, "nominal").value == pytest.approx(76.2, abs=1e-12)
    assert texts(document) == ["3.0145", "3.0146"]
    assert [e.kind for e in document.entries] == [
        *("reading", "reading", "chosen", "decision", "note", "caution", "skipped", "photo", "withdrawn")
    ]
    assert {e.by for e in document.entries} == {"Ada"}
    assert document.entries[1].replaces == document.entries[0].id


def test_there_is_a_sample_and_a_step_for_every_version() -> None:
    for kind, found in (("stored", STORED), ("export", EXPORTED)):
        assert {p.name for p in found} >= {f"schema-{n}-{kind}.json" for n in range(1, SCHEMA + 1)}
    assert set(MIGRATIONS) == set(range(1, SCHEMA))


@pytest.mark.parametrize("sample", STORED, ids=lambda p: p.stem)
def test_a_stored_sample_is_opened_and_can_be_worked_on(sample: Path, tmp_path: Path) -> None:
    async def work() -> None:
        id = json.loads(sample.read_bytes().partition(b"\n")[2])["meta"]["1"]["id"]
        folder = tmp_path / "documents" / id[:2]
        folder.mkdir(parents=True)
        (folder / f"{id}.json").write_bytes(sample.read_bytes())
        jobs = await Jobs.open(FilesBackend(tmp_path))
        assert [s.title for s in await jobs.list()] == ["Sample, renamed"]
        check(await jobs.load(id))
        await jobs.append(id, draft.note("later"))
        again = await (await Jobs.open(FilesBackend(tmp_path))).load(id)
        check(again.model_copy(update={"entries": again.entries[:-1]}))

    run(work())


@pytest.mark.parametrize("sample", EXPORTED, ids=lambda p: p.stem)
def test_an_exported_sample_is_taken_in(sample: Path) -> None:
    coming = examine(sample.read_bytes(), now_ms=NOW + 10**6, fields={})
    (document,) = coming.documents()
    check(document)


def _two(data: dict[str, Any]) -> dict[str, Any]:
    """A made-up step: version 2 keeps notes in capitals."""
    entries = [{**e, "text": e["text"].upper()} if e["kind"] == "note" else e for e in data["entries"]]
    return {**data, "entries": entries}


def test_steps_are_taken_in_order() -> None:
    steps = {1: lambda d: {**d, "path": [*d.get("path", []), 1]}, 2: lambda d: {**d, "path": [*d.get("path", []), 2]}}
    assert upgrade({"schema_version": 1}, to=3, steps=steps) == {"schema_version": 3, "path": [1, 2]}
    assert upgrade({"schema_version": 2}, to=3, steps=steps) == {"schema_version": 3, "path": [2]}
    assert upgrade({"schema_version": 3}, to=3, steps={}) == {"schema_version": 3}


@pytest.mark.parametrize("version", [None, "1", True, 0, -1, 1.0])
def test_something_that_is_no_version_is_refused(version: Any) -> None:
    with pytest.raises(Refused) as refused:
        upgrade({"schema_version": version})
    assert refused.value.code == "version"


def test_a_newer_version_is_refused() -> None:
    with pytest.raises(Refused) as refused:
        upgrade({"schema_version": SCHEMA + 1})
    assert refused.value.code == "newer" and "Update" in str(refused.value)


def test_a_job_of_an_older_form_is_written_anew_by_the_next_change(monkeypatch: pytest.MonkeyPatch) -> None:
    async def work() -> None:
        memory = MemoryBackend()
        jobs = await Jobs.open(memory)
        made = await jobs.create(title="Old")
        await jobs.append(made.id, draft.note("quiet"))
        before = memory.texts[made.id]

        monkeypatch.setattr(store.shelf, "SCHEMA", 2)
        monkeypatch.setattr(store.shelf, "upgrade", partial(upgrade, to=2, steps={1: _two}))
        jobs = await Jobs.open(memory)
        assert [e.text for e in (await jobs.load(made.id)).entries] == ["QUIET"]
        assert memory.texts[made.id] == before, "looking changes nothing"
        await jobs.append(made.id, reading("3.0"))
        tables = json.loads(memory.texts[made.id])
        assert tables["meta"]["1"]["schema_version"] == 2
        assert [e.get("text") for e in tables["entries"].values()] == ["QUIET", None]
        # and the older app now leaves it alone
        monkeypatch.undo()
        with pytest.raises(Refused) as refused:
            await (await Jobs.open(memory)).load(made.id)
        assert refused.value.code == "newer"

    run(work())
