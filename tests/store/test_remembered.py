"""What jobs taught is kept beside the index: made from the job that changed and no other, and made anew when lost."""

from __future__ import annotations

import asyncio

import pytest

import demo
from demo import scenario
from logic.fields import Text
from logic.job_record import read_record, written
from store import draft
from store.facts.record import earlier, told
from store.facts.taught import taught
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.remembered import Remembered
from store.sheets import cut
from store.view import View

from .making import Making
from .support import reading


def bored_job(bar="bar00001", *, pairs=((76.50, 76.512), (76.55, 76.561), (76.60, 76.609)), **header):
    made = Making(nominal=76.2, cylinders=1, bar=bar, **header)
    for n, (was_set, measured) in enumerate(pairs, start=1):
        made.put(cut.SETTING, was_set, cylinder=1, **{"pass": n})
        made.put(cut.MEASURED, measured, cylinder=1, **{"pass": n})
    return made


async def filled(backend, count):
    jobs = await Jobs.open(backend)
    for n in range(count):
        document = bored_job().document(id=f"job0000{n}")
        await backend.change(document.id, lambda _, d=document: d, lambda: "")
    return jobs


class Counting(MemoryBackend):
    def __init__(self):
        super().__init__()
        self.read_ids = []

    async def read(self, id):
        self.read_ids.append(id)
        return await super().read(id)


def test_a_record_is_the_sums_of_the_job():
    found = taught(bored_job().view())
    assert found.bias.n == 3
    assert found.bias.mean == pytest.approx((0.012 + 0.011 + 0.009) / 3)
    assert found.bias.squares == pytest.approx(4.6667e-6, rel=1e-3)
    assert found.bias.x[1] == 1.0  # passes the edge had made: 0, 1, 2
    assert (found.bar, found.edges.passes, found.edges.fresh) == ("bar00001", (3,), False)
    assert taught(Making(nominal=76.2, cylinders=4).view()) is None


def test_a_record_as_text_and_back():
    for document in demo.documents():
        cards = {d.id: View(d) for d in demo.documents() if d.type == "card"}
        found = taught(View(document, cards)) if document.type == "job" else None
        if found is not None:
            again = read_record(document.id, written(found))
            assert written(again) == written(found)
            assert again.of("rate.220").mean == pytest.approx(found.of("rate.220").mean, rel=1e-5)
            assert "demo" not in written(found).replace(scenario.KIT.bar, "").replace(scenario.KIT.hone, "")


@pytest.mark.parametrize("text", ["", "day=x;size=1;cylinders=2", "day=nan;size=1;cylinders=2", "day=1;size=2"])
def test_nonsense_is_no_record(text):
    assert read_record("job00001", text) is None


@pytest.mark.parametrize("sums", ["1,2", "0,1,1", "1,inf,1", "2,1,-1", "1.5,1,1", "2,1,1,3", "2,1,1,1,-1,0"])
def test_a_series_that_makes_no_sense_is_left_out(sums):
    found = read_record("job00001", f"day=1;size=76;cylinders=4;rate.220=3,-7,0.1;made.taper={sums}")
    assert list(found.series) == ["rate.220"]


def test_only_the_job_that_changed_is_read():
    async def go():
        backend = Counting()
        jobs = await filled(backend, 5)
        first = Remembered(jobs)
        assert await first.look({}) == 0
        assert len(first.by_card["bar00001"]) == 5
        backend.read_ids.clear()
        anew = Remembered(await Jobs.open(backend))
        assert await anew.look({}) == 0
        assert backend.read_ids == []  # all from what was noted
        await jobs.append("job00002", reading("3.0", depth=1))
        await anew.look({})
        assert backend.read_ids == ["job00002"]
        assert [written(r) for r in anew.by_card["bar00001"]] == [written(r) for r in first.by_card["bar00001"]]

    asyncio.run(go())


def test_a_save_writes_nothing_more():
    async def go():
        backend = MemoryBackend()
        jobs = await filled(backend, 2)
        await Remembered(jobs).look({})
        before = dict(backend.settings)
        await jobs.append("job00001", reading("3.0", depth=1))
        assert backend.settings == before

    asyncio.run(go())


def test_what_is_lost_is_made_anew_a_few_at_a_time():
    async def go():
        backend = Counting()
        jobs = await filled(backend, 5)
        await Remembered(jobs).look({})
        for key in [k for k in backend.settings if k.startswith("taught")]:
            backend.settings[key] = '{"job00001": 5, "job00002": ["x"]}'  # damaged
        anew = Remembered(jobs)
        assert await anew.look({}, most=2) == 3
        assert await anew.look({}, most=2) == 1
        assert await anew.look({}) == 0
        assert len(anew.by_card["bar00001"]) == 5

    asyncio.run(go())


def test_a_correction_changes_the_record_and_a_deleted_job_leaves_it():
    async def go():
        backend = MemoryBackend()
        jobs = await filled(backend, 2)
        remembered = Remembered(jobs)
        await remembered.look({})
        document = await jobs.load("job00000")
        last = [e for e in document.entries if e.what == cut.MEASURED.key][-1]
        await jobs.append("job00000", draft.withdrawn(last.id))
        await remembered.look({})
        by_job = {r.job: r for r in remembered.by_card["bar00001"]}
        assert (by_job["job00000"].bias.n, by_job["job00001"].bias.n) == (2, 3)
        await jobs.delete("job00001")
        await remembered.look({})
        assert [r.job for r in remembered.by_card["bar00001"]] == ["job00000"]
        await jobs.restore("job00001")
        await remembered.look({})
        assert len(remembered.by_card["bar00001"]) == 2

    asyncio.run(go())


def test_the_invented_job_teaches_its_own_cards_alone():
    async def go():
        jobs = await Jobs.open(MemoryBackend())
        await demo.load(jobs)
        cards = {s.id: View(await jobs.load(s.id)) for s in await jobs.list("card")}
        remembered = Remembered(jobs)
        await remembered.look(cards)
        assert remembered.by_card[""] == ()
        assert {scenario.KIT.bar, scenario.KIT.hone} <= set(remembered.by_card)

    asyncio.run(go())


def test_the_view_records_what_it_was_told():
    view = bored_job().view()
    assert view.record("bar") == ()
    one = taught(bored_job().view())
    view.remember({"bar00001": (one,), "": (one, one)})
    assert view.record("bar") == (one,)
    assert len(view.record()) == 2
    assert view.record("hone") == ()  # none chosen
    assert view.fork(()).record("bar") == (one,)


# -- between people ---------------------------------------------------------------------------
async def with_card(count=3):
    """A store with a bar's card and jobs bored with it."""
    backend = MemoryBackend()
    jobs = await Jobs.open(backend)
    card = await jobs.create("card", card="bar", title="Invented bar")
    for n in range(count):
        document = bored_job(card.id, title=f"Customer {n}").document(id=f"job0000{n}")
        await backend.change(document.id, lambda _, d=document: d, lambda: "")
    return jobs, card.id


async def taken(*files):
    jobs = await Jobs.open(MemoryBackend())
    for data in files:
        await jobs.take_in(await jobs.examine(data))
    return jobs


def test_a_record_travels_with_the_card_and_counts_each_job_once():
    async def go():
        here, card = await with_card()
        alone = await here.export([card])
        there = await taken(alone, alone)
        found = told(View(await there.load(card)))
        assert [(r.job, r.bias.n) for r in found] == [("job00000", 3), ("job00001", 3), ("job00002", 3)]
        # one of the jobs comes itself: it speaks for itself
        both = await taken(alone, await here.export(["job00001"]))
        cards = {card: View(await both.load(card))}
        remembered = Remembered(both)
        await remembered.look(cards)
        view = View(bored_job(card).document(id="job00009"), cards)
        view.remember(remembered.by_card)
        assert [r.job for r in earlier(view, "bar")] == ["job00000", "job00001", "job00002"]
        # and what is merged back changes nothing here
        await here.take_in(await here.examine(await there.export([card])))
        assert len(told(View(await here.load(card)))) == 3

    asyncio.run(go())


def test_a_later_state_of_a_job_takes_the_place_of_the_earlier():
    async def go():
        here, card = await with_card(1)
        before = await here.export([card])
        last = [e for e in (await here.load("job00000")).entries if e.what == cut.MEASURED.key][-1]
        await here.append("job00000", draft.withdrawn(last.id))
        after = await here.export([card])
        for files in ((before, after), (after, before)):
            there = await taken(*files)
            assert [r.bias.n for r in told(View(await there.load(card)))] == [2]

    asyncio.run(go())


def test_the_names_of_jobs_go_along_only_if_asked():
    async def go():
        here, card = await with_card()
        assert b"Customer" not in await here.export([card])
        assert b"Customer 2" in await here.export([card], names=True)
        # with the jobs in the file the card carries nothing twice
        assert b"record.row" not in await here.export()

    asyncio.run(go())


def test_a_damaged_piece_is_no_record():
    made = Making(card="bar")
    field = Text(key="record.row", label=cut.FEED.label, help=cut.FEED.help)
    made.put(field, "abc 1/2 day=1;size=76.2;cyl", job="joba0001", part=1)
    made.put(field, "abc 2/2 inders=4;iron=grey_iron", job="joba0001", part=2)
    made.put(field, "abc 1/2 day=1;size=76.2;cyl", job="jobb0001", part=1)
    made.put(field, "nonsense", job="jobc0001", part=1)
    assert [r.job for r in told(made.view())] == ["joba0001"]
