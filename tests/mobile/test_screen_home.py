"""The first screen: the quick check, the list of jobs, what is worth knowing between jobs."""

from __future__ import annotations

import asyncio
import re

import pytest

from demo.scenario import JOB
from logic.say import L
from mobile import bridge
from mobile.screens.terms import Terms
from mobile.screens.tour import Tour
from store.errors import Refused
from store.jobs import Jobs, Summary

from .stub import DEMO, Phone, driven

NB = "\u202f"  # between a figure and its unit


@driven
async def test_two_numbers_give_one_answer():
    phone = await Phone.start()
    phone.see("Two numbers give the smallest oversize likely to clean up this bore.", "nothing entered")
    await phone.tap("Nominal bore")
    phone.gone("New job")  # the pad stands where the button was
    await phone.enter("3.0", word="Next")
    await phone.keys("3.0145")
    # worn 14.5 thou: if all on one side the cut must reach 29 thou; +0.030 less 3 thou of
    # hone stock is 27, +0.040 is 37, so only +0.040 is sure
    phone.see(re.compile(r"\+0\.040\sin cleans up"), "Chance that each step cleans up")
    phone.gone("What this assumes")
    await phone.tap("Done")
    phone.see("New job", "What this assumes")
    await phone.tap("What this assumes")
    phone.see(re.compile("Source: "))
    await phone.tap("What this assumes")
    phone.gone(re.compile("^Source: ", re.MULTILINE))


@driven
async def test_a_unit_slip_is_asked_about_beside_the_field():
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    await phone.enter("76.2", word="Next")
    phone.see("76.2 in is not likely here. What did you read?", f"76.2 mm = 3.0000{NB}in", f"76.2{NB}in")
    assert "quick.nominal" not in phone.app.quick


@driven
async def test_what_is_half_typed_is_dropped_and_what_stood_stands():
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    await phone.enter("3.0", word="Next")
    await phone.key("Escape")
    await phone.tap("Nominal bore")
    await phone.keys("9")  # 9 in is more than any bore here: no value at all
    await phone.keys("9")
    assert "quick.nominal" not in phone.app.quick
    await phone.key("Escape")
    assert phone.app.quick["quick.nominal"].value == pytest.approx(76.2)
    await phone.tap("Nominal bore")
    await phone.keys("4")
    await phone.tap("Delete digit")  # nothing is typed any more
    assert phone.app.quick["quick.nominal"].value == pytest.approx(76.2)


@driven
async def test_the_keyboard_enters_too():
    phone = await Phone.start()
    await phone.key("3")  # no field is aimed at
    await phone.tap("Nominal bore")
    await phone.key(*"3.5", "Enter", *"3.5052")
    # 5.2 thou, at worst all on one side: 10.4; +0.020 less 3 thou for the hone is 17
    phone.see(re.compile(r"A bore at \+0\.020\sin cleans up"))


@driven
async def test_inch_and_millimetre_change_what_is_shown_only():
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    await phone.enter("3.0", word="Next")
    await phone.tap("Show millimetres")
    assert phone.says("Nominal bore") == f"Nominal bore\n76.200{NB}mm\n3.0000{NB}in"
    await phone.tap("Show millimetres")  # a second press changes nothing
    await phone.tap("Show inches")
    assert phone.says("Nominal bore") == f"Nominal bore\n3.0000{NB}in\n76.200{NB}mm"
    assert await phone.jobs.setting("length") == "in"


@driven
async def test_the_demo_is_loaded_once_and_opens():
    phone = await Phone.start()
    phone.see("No jobs yet. Start one, or load the invented demo job to look around.", "0 on this device")
    await phone.tap("Load the demo job")
    phone.see("Demo loaded: invented engine, customer and machines", "1 on this device")
    await phone.tap(re.compile("^Demo: tractor engine"))
    await phone.rest()
    assert phone.page.route == f"/job/{JOB}" and phone.heading.startswith("Demo: tractor engine")


@driven
async def test_a_new_person_is_offered_the_tour_until_it_is_taken():
    phone = await Phone.start()
    await phone.tap("New here? Take the short tour")
    assert phone.heading == "A short tour"
    phone.see("Two numbers, one answer", "1 of 5")
    for n in (2, 3, 4, 5):
        await phone.tap("Go on")
        phone.see(f"{n} of 5")
    phone.gone("Skip")
    await phone.tap("Start")
    phone.gone("New here? Take the short tour")
    assert await phone.jobs.setting("toured") is True


@driven
async def test_many_jobs_are_found_by_name():
    phone = await Phone.start()
    for n in range(70):
        await phone.jobs.create("job", title=f"Block {n:02}", customer="Mill Lane" if n == 41 else "")
    await phone.go("/more")
    await phone.go("/")
    phone.see("More jobs match: type more of the name.", "70 on this device")
    await phone.write("Find a job", "mill", by="on_change")
    phone.see("Block 41", "Mill Lane")
    phone.gone("Block 40", "More jobs match")
    await phone.write("Find a job", "no such", by="on_change")
    phone.gone("Block 41")


@driven
async def test_what_another_tab_stores_comes_into_the_list():
    phone = await Phone.start()
    other = await Jobs.open(phone.backend)
    made = await other.create("job", title="From the other tab")
    phone.app._changed_elsewhere(made.id)
    await phone.rest()
    phone.see("From the other tab")


@driven
async def test_a_backup_that_is_due_is_said(monkeypatch):
    phone = await Phone.start()
    made = await phone.jobs.create("job", title="Changed long ago")
    (row,) = await phone.jobs.list("job")

    async def due(days: float) -> list[Summary]:
        return [row]

    monkeypatch.setattr(phone.jobs, "backup_due", due)
    await phone.go("/more")
    await phone.go("/")
    said = re.compile("been in no file for 7 days or more")
    phone.see(said)
    await phone.tap("Save to a file")
    assert phone.heading == "Files"
    phone.see(said)
    assert made.id == row.id


@driven
async def test_it_is_looked_again_whether_all_is_kept_until_it_is(monkeypatch):
    """Nobody tells a second time: a service worker that was busy when it was asked must not be taken at its word for good."""
    phone = await Phone.start()
    answers = [bridge.Offline(False, "not yet"), bridge.Offline(False, "not yet"), bridge.Offline(True, total=10)]

    async def offline() -> bridge.Offline:
        return answers.pop(0)

    monkeypatch.setattr(bridge, "offline_ready", offline)
    monkeypatch.setattr("mobile.app.AGAIN_S", 0.01)
    phone.app._heard("offline", True)
    await phone.rest()
    phone.see("Not ready to work offline")
    await asyncio.sleep(0.05)
    await phone.rest()
    phone.see(re.compile("^Ready to work offline", re.MULTILINE))
    assert answers == []


@driven
async def test_news_of_the_app_itself(monkeypatch):
    phone = await Phone.start()
    phone.gone("Ready to work offline")  # on a computer there is nothing to be said

    async def offline() -> bridge.Offline:
        return bridge.Offline(True, kept=10, total=10, version="7", built="2026-01-02T03:04")

    monkeypatch.setattr(bridge, "offline_ready", offline)
    phone.app._heard("update", True)
    await phone.rest()
    phone.see("A new version is ready. Your jobs stay as they are.", "Ready to work offline")
    await phone.tap("Change over now")  # without a browser there is nothing to change over to
    phone.app._heard("visible", True)
    await phone.rest()
    await phone.tap("Nominal bore")
    sent = len(phone.page.sent)
    phone.app._heard("offline", True)
    await phone.rest()
    assert len(phone.page.sent) == sent  # nothing is drawn under a finger


@driven
async def test_a_job_that_cannot_be_read_says_why_and_the_list_is_there(monkeypatch):
    phone = await Phone.start(with_demo=True)

    async def damaged(id: str) -> None:
        raise Refused(L("This job is damaged."), "broken")

    monkeypatch.setattr(phone.jobs, "load", damaged)
    await phone.go(DEMO)
    assert phone.heading == "Boreside"
    phone.see("This job is damaged.", re.compile("^Demo: tractor engine", re.MULTILINE))


@driven
async def test_a_store_that_cannot_be_reached_says_so(monkeypatch):
    phone = await Phone.start()

    async def shut(*_: object, **__: object) -> None:
        raise Refused(L("Another tab holds the jobs."), "busy")

    monkeypatch.setattr(phone.jobs, "list", shut)
    await phone.go("/files")
    assert phone.heading == "Trouble"
    phone.see("The jobs cannot be reached", "Another tab holds the jobs.")
    await phone.tap("Load the app again")  # without a browser nothing is loaded


@driven
async def test_a_screen_that_fails_leaves_the_way_to_the_files(monkeypatch, capsys):
    phone = await Phone.start()

    def fails(self: object) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr(Terms, "body", fails)
    await phone.go("/terms")
    phone.see("This screen failed", "ZeroDivisionError: on purpose")
    monkeypatch.setattr(Tour, "load", fails)
    await phone.go("/tour")
    phone.see("This screen failed")
    await phone.tap("Files")
    assert phone.heading == "Files" and "on purpose" in capsys.readouterr().err


@driven
async def test_a_handler_that_fails_does_not_end_the_app(monkeypatch, capsys):
    phone = await Phone.start()

    async def fails(route: str) -> None:
        raise ZeroDivisionError("on purpose")

    async def refuses(route: str) -> None:
        raise Refused(L("No room is left."), "full")

    monkeypatch.setattr(phone.app, "go", fails)
    await phone.tap("New job")
    phone.see("That did not work, and it is our fault. Everything shown as saved is still here.", "New job")
    monkeypatch.setattr(phone.app, "go", refuses)
    await phone.tap("New job")
    phone.see("No room is left.")
    await phone.tap("No room is left.")  # pressed away
    phone.gone("No room is left.")
    assert "on purpose" in capsys.readouterr().err


@driven
async def test_large_type_takes_lines_of_its_own():
    phone = await Phone.start()
    ruler = next(c for c in phone.controls() if getattr(c, "on_size_change", None))
    await phone.send(ruler.on_size_change, ruler, height=37.5)  # twice the plain line
    assert phone.app.frame.scale == 2.0 and phone.app.frame.large
    await phone.go("/new")
    await phone.tap("Nominal bore")
    for size in ((390, 844), (844, 390), (1024, 768)):
        await phone.size(*size)
        phone.see("Delete digit", "Nominal bore")
