"""What the screens rely on: jobs on this device, in memory and in files."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

from store import draft
from store.backend import Backend
from store.clock import ms_of
from store.documents import Typed, value_of
from store.errors import Refused
from store.files import FilesBackend
from store.jobs import DAY_MS, Jobs
from store.memory import MemoryBackend
from store.view import View

from .support import NOW, Time, inches, reading, run, texts

Open = Callable[[], Backend]


@pytest.fixture(params=["memory", "files"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Open:
    """Opens the same store again each time it is called, as a restart does."""
    if request.param == "files":
        return lambda: FilesBackend(tmp_path / "store")
    memory = MemoryBackend()
    return lambda: memory


def test_a_job_is_there_after_a_restart(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place(), now_ms=Time())
        made = await jobs.create(
            title="Invented four", customer="A. Person", nominal=inches("3.000"), cylinders=4, by="Ada"
        )
        (one,) = await jobs.append(made.id, reading("3.0145"), by="Ada")
        (two,) = await jobs.append(made.id, reading("3.0146", replaces=one.id), by="Bo")
        await jobs.append(made.id, draft.note("Ridge felt"), draft.caution("battery"), draft.withdrawn(two.id))
        again = await Jobs.open(place(), now_ms=Time(NOW + 1000))
        found = await again.load(made.id)
        assert again.device == jobs.device
        assert texts(found) == ["3.0145", "3.0146"]
        assert [e.by for e in found.entries[:2]] == ["Ada", "Bo"]
        assert [e.kind for e in found.entries] == ["reading", "reading", "note", "caution", "withdrawn"]
        assert value_of(found, "nominal") == Typed(text="3.000", typed_unit="in", value=76.2, unit="mm")
        assert all(e.device == jobs.device for e in found.entries)
        (summary,) = await again.list()
        assert (summary.title, summary.customer, summary.cylinders, summary.entries) == (
            "Invented four",
            "A. Person",
            4,
            5,
        )
        assert summary.changed_ms == ms_of(found.entries[-1].stamp)
        assert summary.trouble is None and summary.last_export_ms is None

    run(work())


def test_handing_the_same_drafts_over_again_stores_them_once(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create()
        drafts = (reading("3.01"), draft.note("x"))
        first = await jobs.append(made.id, *drafts)
        assert await jobs.append(made.id, *drafts) == first
        assert len((await jobs.load(made.id)).entries) == 2

    run(work())


def test_entries_shown_ahead_are_stored_as_they_were_shown(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create()
        view = View(await jobs.load(made.id))
        (shown,) = jobs.stamped(made.id, reading("3.01"), by="Ada")
        view.add(shown)
        (later,) = await jobs.append(made.id, draft.note("x"))
        (stored,) = await jobs.append(made.id, shown)
        assert stored == shown and stored.by == "Ada" and stored.stamp < later.stamp
        view.add(stored)
        view.add(later)
        assert [e.id for e in view.live()] == [shown.id, later.id]
        view.drop(later.id, "neverthere00001")
        assert [e.id for e in view.live()] == [shown.id] and view.notes == ()

    run(work())


def test_what_was_stored_meanwhile_in_its_place_puts_a_stamp_given_ahead_later(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create()
        view = View(await jobs.load(made.id))
        (shown,) = jobs.stamped(made.id, reading("3.01"))
        view.add(shown)
        (other,) = await jobs.append(made.id, reading("3.02"))
        (stored,) = await jobs.append(made.id, shown)
        assert stored.stamp > other.stamp > shown.stamp
        view.add(other)
        view.add(stored)
        assert view.entries[shown.id] == stored and [e.id for e in view.live()] == [other.id, shown.id]

    run(work())


def test_deleting_hides_and_restoring_brings_back(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create(title="Gone")
        await jobs.append(made.id, reading("3.01"))
        await jobs.delete(made.id)
        assert await jobs.list() == []
        assert [s.id for s in await jobs.list(deleted=True)] == [made.id]
        await jobs.restore(made.id)
        assert [s.entries for s in await jobs.list()] == [1]

    run(work())


def test_cards_are_listed_apart_and_search_finds_words_anywhere(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        await jobs.create("card", card="bar", title="Small bar")
        await jobs.create(title="Grey van", customer="Müller")
        await jobs.create(title="Pump", engine="invented twin")
        assert [(s.title, s.card) for s in await jobs.list("card")] == [("Small bar", "bar")]
        assert {s.title for s in await jobs.list()} == {"Grey van", "Pump"}
        assert [s.title for s in await jobs.list(search="MÜLL van")] == ["Grey van"]
        assert [s.title for s in await jobs.list(search="twin")] == ["Pump"]
        assert await jobs.list(search="twin van") == []

    run(work())


def test_two_tabs_neither_loses_an_entry(place: Open) -> None:
    async def work() -> None:
        one = await Jobs.open(place())
        made = await one.create(title="Shared")
        two = await Jobs.open(place())
        for n in range(5):
            await one.append(made.id, reading(f"3.01{n}"))
            await two.append(made.id, reading(f"3.02{n}"))
        await one.set_header(made.id, customer="From one")
        await two.set_header(made.id, engine="From two")
        for jobs in (one, two):
            found = await jobs.load(made.id)
            assert sorted(texts(found)) == sorted([f"3.01{n}" for n in range(5)] + [f"3.02{n}" for n in range(5)])
            assert value_of(found, "customer") == "From one" and value_of(found, "engine") == "From two"
            assert [s.entries for s in await jobs.list()] == [10]

    run(work())


def test_setting_a_header_field_to_what_it_is_writes_nothing(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create(title="Same", cylinders=4)
        assert (await jobs.set_header(made.id, title="Same", cylinders=4)).earlier == {}
        changed = await jobs.set_header(made.id, title=None)
        assert value_of(changed, "title", "none") == "none"
        assert [v.value for v in changed.earlier["title"]] == ["Same"]

    run(work())


def test_the_persons_name_signs_what_is_not_signed(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        await jobs.set_setting("name", "Ada")
        made = await jobs.create(title="Signed")
        (entry,) = await jobs.append(made.id, reading("3.01"))
        assert entry.by == "Ada" and made.header["title"].by == "Ada"
        again = await Jobs.open(place())
        assert await again.setting("name") == "Ada" and await again.setting("units", "in") == "in"

    run(work())


def test_clock_moved_back_the_correction_is_still_the_later_entry(place: Open) -> None:
    async def work() -> None:
        time = Time()
        jobs = await Jobs.open(place(), now_ms=time)
        made = await jobs.create(title="First")
        (old,) = await jobs.append(made.id, reading("3.0145"))
        for moved in (NOW - DAY_MS, 0):
            jobs = await Jobs.open(place(), now_ms=Time(moved))
            (new,) = await jobs.append(made.id, reading("3.0150", replaces=old.id))
            assert new.stamp > old.stamp
            old = new
            await jobs.set_header(made.id, title=f"At {moved}")
            assert value_of(await jobs.load(made.id), "title") == f"At {moved}"

    run(work())


def test_an_absurd_stamp_from_a_file_does_not_pull_this_device_along(place: Open) -> None:
    async def work() -> None:
        far = await Jobs.open(MemoryBackend(), now_ms=Time(NOW + 40 * 365 * DAY_MS))
        made = await far.create(title="From 2063")
        (wrong,) = await far.append(made.id, reading("3.0"))
        data = await far.export()

        jobs = await Jobs.open(place(), now_ms=Time())
        other = await jobs.create(title="Local")
        coming = await jobs.examine(data)
        assert [str(n) for n in coming.notices] == [
            "Some entries are dated 14600 days ahead of this device. Check the date on both devices; the order of such entries may be wrong."
        ]
        await jobs.take_in(coming)
        (entry,) = await jobs.append(other.id, reading("3.1"))
        assert ms_of(entry.stamp) < NOW + 1000
        assert (await jobs.list())[0].changed_ms < NOW + 1000
        # yet what came from there can be corrected and settled
        (right,) = await jobs.append(made.id, reading("3.01", replaces=wrong.id))
        assert right.stamp > wrong.stamp
        assert value_of(await jobs.set_header(made.id, title="Mended"), "title") == "Mended"
        assert ms_of((await jobs.append(other.id, reading("3.2")))[0].stamp) < NOW + 1000

    run(work())


def test_three_devices_meet_by_files_and_end_equal(place: Open) -> None:
    async def work() -> None:
        shop = await Jobs.open(place(), now_ms=Time())
        phones = [await Jobs.open(MemoryBackend(), now_ms=Time(NOW + 10 * n)) for n in (1, 2)]
        made = await shop.create(title="At the shop")
        start = await shop.export()
        for phone in phones:
            await phone.take_in(await phone.examine(start))
        for n, phone in enumerate(phones):
            await phone.set_header(made.id, title=f"Phone {n}", by=f"P{n}")
            await phone.append(made.id, reading(f"3.00{n}"), by=f"P{n}")
        files = [await phone.export() for phone in phones]
        reports = [await shop.take_in(await shop.examine(data)) for data in files]
        assert [(r.added, r.unchanged, r.new_documents) for r in reports] == [(1, 0, ()), (1, 0, ())]
        assert reports[0].header_conflicts == ()
        (conflict,) = reports[1].header_conflicts
        assert {(v.value, v.by) for v in conflict.values} == {("Phone 0", "P0"), ("Phone 1", "P1")}
        assert await shop.conflicts(made.id) == (conflict,)
        again = await shop.take_in(await shop.examine(files[0]))
        assert (again.added, again.unchanged) == (0, 1)
        await shop.set_header(made.id, title="Phone 0", by="Shop")
        back = await shop.export()
        for phone in phones:
            await phone.take_in(await phone.examine(back))
        whole = await shop.load(made.id)
        assert await phones[0].load(made.id) == whole == await phones[1].load(made.id)
        assert value_of(whole, "title") == "Phone 0" and await phones[1].conflicts(made.id) == ()
        assert sorted(texts(whole)) == ["3.000", "3.001"]

    run(work())


def test_export_is_remembered_and_backup_comes_due(place: Open) -> None:
    async def work() -> None:
        time = Time()
        jobs = await Jobs.open(place(), now_ms=time)
        made = await jobs.create(title="Kept")
        assert await jobs.backup_due(7) == []
        time.ms += 8 * DAY_MS
        assert [s.id for s in await jobs.backup_due(7)] == [made.id]
        await jobs.export()
        (summary,) = await jobs.list()
        assert summary.last_export_ms == pytest.approx(time.ms, abs=50) and not summary.unsaved
        time.ms += 30 * DAY_MS
        assert await jobs.backup_due(7) == [], "nothing changed since the file was made"
        await jobs.append(made.id, reading("3.01"))
        assert (await jobs.list())[0].unsaved
        assert [s.id for s in await jobs.backup_due(7)] == [made.id]
        # a device that only took the file in has not saved it itself
        other = await Jobs.open(MemoryBackend())
        await other.take_in(await other.examine(await jobs.export()))
        assert (await other.list())[0].last_export_ms is None

    run(work())


def test_restore_from_an_export_into_an_empty_store_gives_equal_documents(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(MemoryBackend())
        for n in range(3):
            made = await jobs.create(title=f"Job {n}", nominal=inches("3.0"), cylinders=2)
            await jobs.append(made.id, *(reading(f"3.0{k}", depth=k + 1) for k in range(4)))
            await jobs.set_header(made.id, title=f"Renamed {n}")
        await jobs.delete(made.id)
        data = await jobs.export()
        restored = await Jobs.open(place())
        report = await restored.take_in(await restored.examine(data))
        assert report.added == 12 and len(report.new_documents) == 3
        for summary in [*await jobs.list(), *await jobs.list(deleted=True)]:
            assert await restored.load(summary.id) == await jobs.load(summary.id)
        assert len(await restored.list()) == 2

    run(work())


PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(200))


def test_photos_are_kept_apart_and_exported_only_when_asked(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        made = await jobs.create(title="With photo")
        digest = await jobs.put_photo(PNG, "image/png")
        assert digest == hashlib.sha256(PNG).hexdigest()
        await jobs.append(made.id, draft.photo(digest, "image/png", len(PNG), {"cylinder": 1}, "tag"))
        assert await (await Jobs.open(place())).get_photo(digest) == ("image/png", PNG)
        assert await jobs.get_photo("0" * 64) is None
        plain, full = await jobs.export(), await jobs.export(photos=True)
        assert len(full) > len(plain) + len(PNG)
        for data, there in ((plain, None), (full, ("image/png", PNG))):
            other = await Jobs.open(MemoryBackend())
            await other.take_in(await other.examine(data))
            assert await other.get_photo(digest) == there
        with pytest.raises(Refused) as refused:
            await jobs.put_photo(b"<svg onload=alert(1)>", "image/svg+xml")
        assert refused.value.code == "media"
        with pytest.raises(Refused):
            await jobs.put_photo(b"not a picture", "image/png")

    run(work())


def test_unknown_ids_and_unstorable_input_are_refused_in_words(place: Open) -> None:
    async def work() -> None:
        jobs = await Jobs.open(place())
        for act in (
            jobs.load("missing0"),
            jobs.append("missing0", reading("3.0")),
            jobs.set_header("missing0", title="x"),
        ):
            with pytest.raises(Refused) as refused:
                await act
            assert refused.value.code == "none"
        made = await jobs.create(title="Kept")
        with pytest.raises(Refused) as refused:
            await jobs.set_header(made.id, title="x" * 300)
        assert refused.value.code == "long" and "200" in str(refused.value)
        # nothing may be stored that an import of the export would refuse
        for field, value in (("cylinders", 10**9), ("cylinders", True), ("title", 5), ("nominal", inches("-3"))):
            with pytest.raises(Refused) as refused:
                await jobs.set_header(made.id, **{field: value})
            assert refused.value.code == "header"
        assert value_of(await jobs.load(made.id), "title") == "Kept"

    run(work())


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: draft.note("x" * 4001), "long"),
        (lambda: draft.note("\ud800"), "characters"),
        (lambda: draft.reading("a.b", {}, inches("1e12")), "number"),
        (lambda: draft.reading("a.b", {}, inches("nan")), "number"),
        (lambda: draft.reading("Not a key!", {}, inches("1")), "entry"),
    ],
)
def test_a_draft_that_cannot_be_stored_says_so(make: Callable[[], object], code: str) -> None:
    with pytest.raises(Refused) as refused:
        make()
    assert refused.value.code == code


def test_storage_cleared_under_the_app_loses_nothing_that_is_open() -> None:
    async def work() -> None:
        memory = MemoryBackend()
        jobs = await Jobs.open(memory)
        made = await jobs.create(title="Open")
        await jobs.append(made.id, reading("3.01"))
        for kept in (memory.texts, memory.lines, memory.index, memory._held):
            kept.clear()
        await jobs.append(made.id, reading("3.02"))
        (told,) = jobs.troubles  # whichever way it comes back, it is said
        assert "cleared" in str(told)
        found = await (await Jobs.open(memory)).load(made.id)
        assert texts(found) == ["3.01", "3.02"] and value_of(found, "title") == "Open"

    run(work())


def test_storage_cleared_and_the_list_opened_puts_back_what_was_used_lately() -> None:
    async def work() -> None:
        place = MemoryBackend()
        jobs = await Jobs.open(place)
        made = await jobs.create(title="Open")
        await jobs.append(made.id, reading("3.1"))
        await jobs.set_setting("length", "mm")
        assert jobs.troubles == ()
        for kept in (place.texts, place.index, place.settings):
            kept.clear()
        assert [s.title for s in await jobs.list()] == ["Open"]
        (told,) = jobs.troubles
        assert "cleared" in str(told) and "is back" in str(told)
        again = await Jobs.open(place)
        assert texts(await again.load(made.id)) == ["3.1"]
        assert again.device == jobs.device and await again.setting("length") == "mm"

    run(work())


def test_storage_cleared_and_an_older_file_taken_in_keeps_what_came_after_the_file() -> None:
    async def work() -> None:
        place = MemoryBackend()
        jobs = await Jobs.open(place)
        made = await jobs.create(title="Open")
        await jobs.append(made.id, reading("3.1"))
        file = await jobs.export()
        await jobs.append(made.id, reading("3.2"))
        for kept in (place.texts, place.index):
            kept.clear()
        await jobs.take_in(await jobs.examine(file))
        assert texts(await (await Jobs.open(place)).load(made.id)) == ["3.1", "3.2"]

    run(work())


def test_what_cannot_be_read_does_not_keep_the_rest_out_of_a_file_and_is_named() -> None:
    async def work() -> None:
        place = MemoryBackend()
        jobs = await Jobs.open(place)
        good, newer = [await jobs.create(title=t) for t in ("Good", "Newer")]
        place.texts[newer.id] = place.texts[newer.id].replace('"schema_version": 1', '"schema_version": 99')
        jobs = await Jobs.open(place)
        assert [c.id for c in (await jobs.examine(await jobs.export())).coming] == [good.id]
        assert jobs.left_out == ("Newer",)
        with pytest.raises(Refused) as refused:
            await jobs.export([newer.id])
        assert refused.value.code == "newer"
        await jobs.export([good.id])
        assert jobs.left_out == ()

    run(work())


def test_a_view_follows_what_was_stored_beside_it(place: Open) -> None:
    async def work() -> None:
        one, two = await Jobs.open(place()), await Jobs.open(place())
        made = await one.create(title="Shared", cylinders=4)
        (first,) = await one.append(made.id, reading("3.1"))
        view = View(await one.load(made.id))
        assert not view.take(await one.load(made.id))
        await two.append(made.id, reading("3.2", replaces=first.id), reading("3.3", depth=2))
        await two.set_header(made.id, cylinders=6)
        assert view.take(await one.load(made.id))
        assert [e.typed.text for e in view.live()] == ["3.2", "3.3"]
        assert view.cylinders == [1, 2, 3, 4, 5, 6]
        fresh = View(await one.load(made.id))
        assert list(fresh.live()) == list(view.live()) and fresh.document == view.document

    run(work())
