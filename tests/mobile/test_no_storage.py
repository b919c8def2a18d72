"""A browser that gives no storage, or does not answer: said in words within three seconds, and the quick check works."""

from __future__ import annotations

import asyncio
import time

import pytest

from logic.say import L
from mobile import app as application
from mobile.app import App
from store.errors import NotSaved, Refused
from store.jobs import Jobs
from store.memory import MemoryBackend
from tests.store.fake_browser import Factory, JsException, browser

from .stub import Page, Phone, drive


def _phone(factory: Factory, *, named: bool = True) -> Phone:
    """A phone whose store is the browser's, on this storage; not ``named``: one that is refused by its name."""
    module = browser(factory)
    if not named:
        module.js = Unnamed()  # type: ignore[attr-defined]

    async def opener() -> Jobs:
        return await Jobs.open(module.BrowserBackend())

    page = Page()
    return Phone(page, App(page, opener), MemoryBackend())  # type: ignore[arg-type]


async def _quick_check_works(phone: Phone) -> None:
    await phone.tap("Nominal bore")
    await phone.enter("3.0", word="Next")
    await phone.enter("3.0145", word="Done")
    phone.see("Chance that each step cleans up", "Finished size")
    phone.gone("Start a job with these")


class Unnamed:
    """A worker's globals where the storage is refused before anything is opened: to name it throws."""

    @property
    def indexedDB(self) -> object:  # noqa: N802  (its name in the browser)
        raise JsException("SecurityError")


def test_a_browser_in_which_the_storage_cannot_even_be_named_says_so() -> None:
    """HTML, "opaque origin"; Indexed Database API 3.0, "indexedDB": a SecurityError comes from one or the other."""

    async def work() -> None:
        phone = _phone(Factory(), named=False)
        await phone.app.start()
        phone.see("The jobs cannot be reached", "does not let Boreside store anything (“SecurityError”)")
        await _quick_check_works(phone)

    drive(work)


@pytest.mark.parametrize("name", ["SecurityError", "InvalidStateError"])
def test_a_browser_that_allows_no_storage_says_so_and_the_quick_check_works(name: str) -> None:
    async def work() -> None:
        factory = Factory()
        factory.forbidden = name
        phone = _phone(factory)
        begun = time.process_time()
        await phone.app.start()
        assert time.process_time() - begun < 3
        phone.see("The jobs cannot be reached", f"does not let Boreside store anything (“{name}”)")
        phone.see("The quick check works all the same.")
        phone.gone("New job", "No jobs yet", "Load the demo job")
        await _quick_check_works(phone)
        for route in ("/new", "/files", "/kit", "/job/demojob00001"):
            await phone.app.go(route)
            phone.see("The jobs cannot be reached", "Load the app again")
        await phone.app.go("/terms")
        phone.gone("The jobs cannot be reached")

    drive(work)


def test_storage_that_does_not_answer_is_said_in_time_and_taken_up_when_it_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert application.SILENT_S < 3
    monkeypatch.setattr(application, "SILENT_S", 0.05)

    async def work() -> None:
        answers = asyncio.Event()
        backend = MemoryBackend()
        kept = await Jobs.open(backend)
        await kept.create(title="Kept job")
        await kept.set_setting("by", "Ada")

        async def opener() -> Jobs:
            await answers.wait()
            return await Jobs.open(backend)

        page = Page()
        phone = Phone(page, App(page, opener), backend)  # type: ignore[arg-type]
        await phone.app.start()
        phone.see("The browser's storage does not answer. Until it does, nothing can be kept here.")
        phone.gone("Kept job", "New job")
        await _quick_check_works(phone)
        answers.set()
        await phone.rest()
        phone.see("Kept job", "New job")
        phone.gone("does not answer")
        assert phone.app.by == "Ada"

    drive(work)


def test_storage_that_was_given_up_is_asked_again_until_it_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy device may answer later than one question waits: then no reload is needed."""
    for name, seconds in (("SILENT_S", 0.02), ("ASK_S", 0.01), ("MOST_ASK_S", 0.02)):
        monkeypatch.setattr(application, name, seconds)

    async def work() -> None:
        backend = MemoryBackend()
        await (await Jobs.open(backend)).create(title="Kept job")
        asked, given_up, enough, there = 0, asyncio.Event(), asyncio.Event(), asyncio.Event()

        async def opener() -> Jobs:
            nonlocal asked
            asked += 1
            await asyncio.sleep(0.03)
            if asked == 4:
                given_up.set()
            if not enough.is_set():
                raise NotSaved(L("Not saved: the browser's storage does not answer. Reload this page."), "busy")
            there.set()
            return await Jobs.open(backend)

        page = Page()
        phone = Phone(page, App(page, opener), backend)  # type: ignore[arg-type]
        await phone.app.start()
        await asyncio.wait_for(given_up.wait(), 5)
        phone.see("does not answer. Reload this page.")
        phone.gone("Kept job")
        enough.set()
        await asyncio.wait_for(there.wait(), 5)
        await phone.rest()
        phone.see("Kept job", "New job")
        phone.gone("does not answer")

    drive(work)


def test_a_list_that_is_long_in_the_making_is_not_called_a_storage_that_does_not_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The index of thousands of jobs was lost, on a slow device: said as it is, and the jobs come by themselves."""
    monkeypatch.setattr(application, "SILENT_S", 0.05)

    async def work() -> None:
        factory, listed = Factory(), asyncio.Event()
        module = browser(factory)
        kept = await Jobs.open(module.BrowserBackend())
        await kept.create(title="Kept job")
        factory.databases["boreside"].stores["index"].clear()
        again = module.BrowserBackend._index_again

        async def slowly(self: object, *given: object) -> None:
            await listed.wait()
            await again(self, *given)

        monkeypatch.setattr(module.BrowserBackend, "_index_again", slowly)

        async def opener() -> Jobs:
            return await Jobs.open(module.BrowserBackend(), answered=phone.app.storage_answers)

        page = Page()
        phone = Phone(page, App(page, opener), MemoryBackend())  # type: ignore[arg-type]
        await phone.app.start()
        phone.see("The list of jobs is being made again.")
        phone.gone("does not answer", "Kept job")
        await _quick_check_works(phone)
        listed.set()
        await phone.rest()
        phone.see("Kept job", "New job")

    drive(work)


def test_storage_that_never_answers_is_said_in_the_end_why(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(application, "SILENT_S", 0.05)

    async def work() -> None:
        factory = Factory()
        factory.silent = True
        module = browser(factory)
        monkeypatch.setattr(module, "_PATIENCE_S", (0.05, 0.05))

        async def opener() -> Jobs:
            return await Jobs.open(module.BrowserBackend())

        page = Page()
        phone = Phone(page, App(page, opener), MemoryBackend())  # type: ignore[arg-type]
        await phone.app.start()
        phone.see("The browser's storage does not answer.")
        await phone.rest()
        phone.see("Not saved: the browser's storage does not answer. Reload this page.")
        await _quick_check_works(phone)

    drive(work)


def test_jobs_of_a_newer_version_still_stop_the_start() -> None:
    async def work() -> None:
        async def opener() -> Jobs:
            raise Refused(application._NO_ANSWER, "newer")

        page = Page()
        with pytest.raises(Refused):
            await Phone(page, App(page, opener), MemoryBackend()).app.start()  # type: ignore[arg-type]

    drive(work)
