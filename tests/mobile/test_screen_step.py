"""The steps of a job: asked, answered, corrected, left out; and a job's own screens."""

from __future__ import annotations

import re
from typing import Any

import flet as ft
import pytest

from logic.flow import State
from logic.result import Verdict
from logic.say import L, Style, say
from mobile.routes import screen_class
from mobile.screens.desk import Slot
from mobile.screens.home import ANSWER
from mobile.screens.words import Folded
from store import draft
from store.errors import NotSaved
from store.jobs import Jobs
from store.sheets import NAMES, sheet

from .stub import DEMO, Phone, driven, label, walk
from .test_screen_grid import WORN, new_job

NB = "\u202f"
JOB = "demojob00001"


async def measured(phone: Phone) -> str:
    """A job whose worn bores are all read."""
    id = await new_job(phone)
    for readings in WORN:
        await phone.enter(*readings)
    await phone.rest()
    return id


@pytest.mark.parametrize("language", ["en", "de"])
@driven
async def test_every_step_shows_its_answers_in_both_languages(language):
    phone = await Phone.start(with_demo=True, language=language)
    style = Style(language=language)
    for name in [n for n in NAMES if n != "bores"]:  # its readings have a screen of their own
        await phone.go(f"{DEMO}/{name}")
        assert phone.heading == say(sheet(name).title, style)
        results = phone.app.screen.desk.work.results
        assert results, name
        if phone.app.screen.desk.unseen():  # cautions come first
            await phone.tap(say(L("I have read this"), style))
        phone.see(say(results[0].line, style))


@driven
async def test_a_step_that_is_not_there_is_the_first_screen():
    phone = await Phone.start(with_demo=True)
    no_page, no_job = "There is no such page here.", "There is no such job on this device."
    for route, said in (
        ("/job/demojob00001/nosuch", no_page),
        ("/job/nosuchjob/walls", no_job),
        ("/kit/demojob00001", no_page),
        ("/nowhere/at/all", None),
    ):
        await phone.go(route)
        assert phone.heading == "Boreside", route
        if said is not None:
            phone.see(said)


@driven
async def test_advice_that_takes_a_while_is_there_at_once_for_who_comes_back():
    phone = await Phone.start(with_demo=True)

    async def opened():
        """The step as it is before its advice is worked out."""
        screen = screen_class("step:Step")(phone.app, id=JOB, step="parts")
        await screen.load()
        return screen.desk.later

    assert await opened() is None
    await phone.go(f"{DEMO}/parts")
    await phone.rest()
    advised = phone.app.screen.desk.later
    assert advised is not None and await opened() == advised
    await phone.app.add(phone.app.views[JOB], draft.note("something new"))
    assert await opened() is None


@driven
async def test_cautions_are_read_once_and_kept_in_the_log():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/cut")
    phone.see("Before you start")
    unread = {c.key for c in phone.app.screen.desk.unseen()}
    await phone.tap("I have read this")
    await phone.rest()
    phone.gone("Before you start")
    assert {e.what for e in await phone.entries(JOB, "caution")} >= unread and unread
    await phone.go(DEMO + "/log")
    phone.see("Caution read")


@driven
async def test_an_oversize_is_decided_on_and_the_mind_is_changed():
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}/oversize")
    phone.see("Press the step you will bore to. Measure the pistons you have before you cut.")
    advised = phone.app.screen.desk.work.results[0]
    await phone.tap(re.compile(r"^\+0\.030\sin$"))
    await phone.rest()
    phone.see(f"You decided on +0.030{NB}in. Press another to change your mind.")
    (one,) = await phone.entries(id, "decision")
    # 0.030 in is 0.762 mm
    assert one.what == "oversize" and one.typed.value == pytest.approx(0.762)
    assert one.advised == say(advised.line, Style())
    await phone.tap(re.compile(r"^\+0\.040\sin$"))
    await phone.rest()
    phone.see(f"You decided on +0.040{NB}in. Press another to change your mind.")
    assert len(await phone.entries(id, "decision")) == 2


@driven
async def test_a_figure_explains_itself_and_closes_again():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/oversize")
    await phone.tap(re.compile("^Bored size\n"))
    phone.see(
        "The size the bar cuts to, which leaves the rest to the hone. It has to be at least the clean-up diameter, or worn metal stays in the bore.",
        "finished \u2212 hone stock",
        "Source: by definition",
    )
    await phone.tap(re.compile("^Bored size\n"))
    phone.gone("Source: by definition")
    await phone.tap(re.compile("more figures$"))
    await phone.tap("What mattered most")
    phone.see(re.compile(r"^\d+(\.\d)? ?\u202f?%", re.MULTILINE))


@driven
async def test_a_number_is_entered_and_the_next_one_is_asked_for():
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}/walls")
    phone.see(say(sheet("walls").purpose, Style()))
    await phone.tap("I have read this")  # first things first: that is the one thing to press
    phone.gone("I have read this")
    before = len(await phone.entries(id))
    await phone.tap(re.compile("^Enter: "))
    first = phone.app.screen.desk.aimed
    assert first is not None and phone.app.screen.typing
    phone.see("Delete digit", "Close the pad")
    await phone.tap("Enter")  # nothing typed
    phone.see(re.compile("Expected a"))
    await phone.enter("0.2")
    await phone.rest()
    entry = (await phone.entries(id))[before]
    assert entry.what == first.field.key and entry.typed.value == pytest.approx(5.08)  # 0.2 in
    following = phone.app.screen.desk.aimed
    assert following is not None and following.key != first.key
    await phone.tap("Undo the last entry")
    await phone.rest()
    assert (await phone.entries(id))[-1].replaces == entry.id
    await phone.tap("Undo the last entry")
    phone.see("Nothing entered here to undo")
    await phone.tap("Close the pad")
    phone.gone("Delete digit")
    await phone.tap(re.compile("^Enter: "))
    await phone.key("Escape")
    phone.gone("Delete digit")
    await phone.key("5")  # nothing listens


@driven
async def test_a_corrected_number_says_what_it_changed():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/clamp")
    screen = phone.app.screen
    slot = next(s for s in screen.desk.order() if (got := screen.view.get(s.field, **s.at)) and got.entered)
    group = next(g for g in screen.sheet.groups if slot.field in g.fields)
    if not any(getattr(c, "data", None) == slot for c in phone.pressable()):
        await phone.tap(say(group.title, Style()))
    row = next(c for c in phone.pressable() if getattr(c, "data", None) == slot)
    old = screen.view.get(slot.field, **slot.at)
    await phone.send(row.on_click, row)
    phone.see(re.compile("A new entry takes its place"))
    low = slot.field.low if slot.field.low is not None else 0.0
    await phone.key(*f"{max(low, 1):.0f}", "Enter")
    await phone.rest()
    last = (await phone.entries(JOB, "reading"))[-1]
    assert last.replaces == old.entry.id
    phone.see(re.compile("This correction changed"))


@driven
async def test_a_choice_is_made_beside_its_field():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/oversize")
    await phone.tap("How it is chosen", re.compile("^Oversizes may differ"))
    phone.see("Usually all bores get the same. Different pistons weigh differently and upset the balance.")
    phone.gone("Back to the job")  # the answers to choose from are on the screen
    await phone.tap(re.compile("^Oversizes may differ"))
    phone.gone("Usually all bores get the same")
    await phone.tap(re.compile("^Oversizes may differ"), "Yes, each its own")
    await phone.rest()
    entry = (await phone.entries(JOB, "chosen"))[-1]
    assert (entry.what, entry.value) == ("oversize.mixed", "yes")
    assert (
        phone.says(re.compile("^Oversizes may differ")) == "Oversizes may differ from bore to bore\nYes, each its own"
    )
    await phone.tap(re.compile("^Oversizes may differ"), "No, one for all")
    await phone.rest()
    assert (await phone.entries(JOB, "chosen"))[-1].replaces == entry.id
    await phone.tap("How it is chosen")  # folded again
    assert not any(label(c).startswith("Oversizes may differ") for c in phone.pressable())


@driven
async def test_words_are_written_into_a_step():
    phone = await Phone.start(with_demo=True)
    name, field = next((n, f) for n in NAMES for f in sheet(n).fields.values() if f.kind == "text")
    await phone.go(f"{DEMO}/{name}")
    group = next(g for g in sheet(name).groups if field in g.fields)
    if not phone.has(say(field.label, Style())):
        await phone.tap(say(group.title, Style()))
    await phone.write(say(field.label, Style()), "  plateau stones, fresh  ")
    assert (await phone.entries(JOB, "chosen"))[-1].value == "plateau stones, fresh"
    count = len(await phone.entries(JOB))
    await phone.write(say(field.label, Style()), "plateau stones, fresh", by="on_blur")
    assert len(await phone.entries(JOB)) == count  # the same again is no entry


@driven
async def test_a_cylinder_has_its_tab():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/hone")
    await phone.tap("I have read this")
    for n in (2, 3, 4, 1):
        await phone.tap(re.compile(rf"^Cylinder {n}(\n|$)"))
        phone.see(re.compile(rf"^Cylinder {n}: At size: ", re.MULTILINE))
    phone.gone("Enter more", "The other cylinders")  # the bore is finished: nothing more is asked of it
    await phone.tap("Everything else", re.compile("The other cylinders$"))
    phone.see(re.compile("^Cylinder 2: ", re.MULTILINE))
    # theirs are all at size; folded away, that is no green answer for this bore
    (others,) = [c for c in walk(phone.app.frame.middle) if isinstance(c, Folded) and c.title == "The other cylinders"]
    assert others.verdict == Verdict.INFO
    phone.gone("check 5, depth")
    await phone.tap("One more check")
    phone.gone("The other cylinders")  # only the verdict stays in sight
    assert phone.app.screen.desk.aimed is not None


@driven
async def test_a_step_is_left_out_with_a_reason_and_taken_up_again():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/chamfer")
    await phone.tap("Leave this step out…", "Keep the step", "Leave this step out…", "Another reason…")
    await phone.tap("Leave this step out")
    phone.see("Write a reason: it stays in the log.")
    await phone.write("Another reason", "the sleeves come chamfered")
    await phone.rest()
    phone.see("Left out: the sleeves come chamfered")
    await phone.go(DEMO)
    phone.see("left out")
    await phone.go(DEMO + "/log")
    phone.see("Step left out", "Chamfers: the sleeves come chamfered")
    await phone.go(DEMO + "/chamfer")
    await phone.tap("Do this step after all")
    await phone.rest()
    phone.see("Leave this step out…")
    assert [e.kind for e in (await phone.entries(JOB))[-2:]] == ["skipped", "withdrawn"]


@driven
async def test_a_step_looks_again_after_a_correction_upstream_until_somebody_says_it_stands():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap(
        "I have read this", re.compile(r"^Cylinder 3(\n|$)"), re.compile("^Cylinder 3, depth 1, thrust axis: ")
    )
    await phone.enter("30")
    await phone.rest()
    await phone.go(DEMO)
    phone.see("look again")
    doubtful = next(s for s in phone.app.screen.flow.statuses if s.state == State.LOOK)
    await phone.go(f"{DEMO}/{doubtful.key}")
    phone.see(say(doubtful.reason, Style()))
    await phone.tap("Checked, still right")
    await phone.rest()
    phone.gone("Checked, still right")
    assert (await phone.entries(JOB, "decision"))[-1].what == f"sheet.{doubtful.key}.stands"
    await phone.go(DEMO + "/log")
    phone.see(re.compile("checked, still right"))


@driven
async def test_what_cannot_be_stored_is_said_where_it_was_typed(monkeypatch):
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/hone")

    async def full(view, *drafts):
        raise NotSaved(L("There is no room left on this device."), "full")

    monkeypatch.setattr(phone.app, "add", full)
    await phone.tap("I have read this")
    phone.see("There is no room left on this device.")  # a message: nothing was typed
    monkeypatch.undo()
    await phone.tap("I have read this")
    monkeypatch.setattr(phone.app, "add", full)
    await phone.tap("One more check")
    await phone.enter("31")
    phone.see("There is no room left on this device.", "31")  # what was typed stays


@driven
async def test_what_the_bar_cut_goes_into_its_card():
    phone = await Phone.start(with_demo=True)
    bar = (await phone.jobs.load(JOB)).header["bar"].value
    before = await phone.entries(bar)
    await phone.go(DEMO + "/cut")
    await phone.tap("I have read this")
    await phone.rest()
    gained = (await phone.entries(bar))[len(before) :]
    assert all(e.at["job"] == JOB for e in gained)
    assert {e.what.split(".")[-1] for e in gained} <= {"history_set", "history_measured", "set", "measured"}


@driven
async def test_another_tab_enters_into_the_step_on_show():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/oversize")
    other = await Jobs.open(phone.backend)
    await other.append(JOB, draft.chosen("oversize.mixed", "yes"))
    phone.app._changed_elsewhere(JOB)
    await phone.rest()
    await phone.tap("How it is chosen")
    phone.see("Yes, each its own")


@driven
async def test_from_step_to_step_by_the_foot():
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}")
    await phone.tap(re.compile("^Next: "))
    await phone.rest()
    assert phone.heading == "Oversize"  # walls and sweep want instruments: off the path until put on
    await phone.tap("Back")
    await phone.rest()
    assert phone.page.route == f"/job/{id}"
    await phone.go(f"/job/{id}/gauge")
    assert phone.heading == "About the bores"
    await phone.tap(re.compile("^Next: "))
    await phone.rest()
    assert phone.heading == "Oversize"  # walls and sweep want instruments: off the path until put on


@driven
async def test_a_job_on_a_wide_screen_shows_two_halves():
    phone = await Phone.start(width=1024, height=768, with_demo=True)
    for route in ("", "/log", "/oversize", "/bores"):
        await phone.go(DEMO + route)
        assert phone.app.frame.halved == (route != "/bores")
    await phone.go("/")
    assert phone.app.frame.halved


@driven
async def test_a_detail_set_in_two_copies_is_settled_by_pressing_the_right_one():
    phone = await Phone.start()
    made = await phone.jobs.create("job", by="Ada", title="One", customer="Mill Lane")
    copy = await phone.jobs.export([made.id])
    await phone.jobs.set_header(made.id, by="Ada", customer="Weir Farm")
    other = await Phone.start()
    await other.jobs.take_in(await other.jobs.examine(copy))
    await other.jobs.set_header(made.id, by="Bo", customer="North Quay", deleted=True)
    await other.jobs.set_header(made.id, by="Bo", deleted=False)
    await phone.jobs.take_in(await phone.jobs.examine(await other.jobs.export([made.id])))
    await phone.go(f"/job/{made.id}")
    phone.see("Set differently in two copies: customer. Press the right one.")
    await phone.tap(re.compile("^Weir Farm – Ada, "))
    await phone.rest()
    phone.gone("Set differently in two copies")
    assert (await phone.jobs.load(made.id)).header["customer"].value == "Weir Farm"


@driven
async def test_a_job_goes_to_the_bin_and_comes_back():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO)
    await phone.tap("Put this job in the bin")
    await phone.rest()
    assert phone.heading == "Boreside"
    phone.see("In the bin. Files can bring it back.", "0 on this device")
    await phone.go("/files")
    await phone.tap("Bring back")
    await phone.go("/")
    phone.see("1 on this device")


@driven
async def test_with_large_letters_the_place_comes_first_on_the_pad():
    phone = await Phone.start(with_demo=True)
    ruler = next(c for c in phone.controls() if getattr(c, "on_size_change", None))
    await phone.send(ruler.on_size_change, ruler, height=37.5)  # twice the plain line
    await phone.go(DEMO + "/cut")
    screen = phone.app.screen
    slot = next(s for s in screen.desk.order() if "pass" in s.at)
    screen._take(slot)
    assert re.match(r"Cylinder \d, pass \d: ", screen.pad.ask.value), screen.pad.ask.value


@driven
async def test_a_price_is_asked_for_with_large_letters_too():
    """Money has no limits worth telling, and in large letters there is no room for what the field is about."""
    phone = await Phone.start(with_demo=True)
    ruler = next(c for c in phone.controls() if getattr(c, "on_size_change", None))
    await phone.send(ruler.on_size_change, ruler, height=37.5)
    await phone.go(DEMO + "/parts")
    await phone.tap(re.compile("^The price"), re.compile("^Price of the parts"))
    await phone.enter("400")
    assert (await phone.entries(JOB, "reading"))[-1].typed.value == 400.0


@driven
async def test_what_is_asked_for_stays_in_view_when_the_device_is_turned(monkeypatch):
    phone = await Phone.start(with_demo=True)
    to: list[str] = []

    async def scrolled(_column: Any, *, scroll_key: Any, duration: int) -> None:
        to.append(scroll_key)

    monkeypatch.setattr(ft.Column, "scroll_to", scrolled)
    await phone.go(DEMO + "/face")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    await phone.size(844, 390)
    assert to == []  # nothing is asked for
    row = next(c for c in phone.pressable() if isinstance(c.data, Slot))
    await phone.send(row.on_click, row)
    await phone.rest()
    assert phone.app.screen.typing
    to.clear()
    await phone.size(390, 844)
    await phone.rest()
    assert to == [phone.app.screen.desk.aimed.key]


@driven
async def test_the_answer_of_the_quick_check_is_scrolled_to_where_there_is_little_room(monkeypatch):
    phone = await Phone.start()
    to: list[str] = []

    async def scrolled(_column: Any, *, scroll_key: Any, duration: int) -> None:
        to.append(scroll_key)

    monkeypatch.setattr(ft.Column, "scroll_to", scrolled)
    await phone.tap("Nominal bore")
    await phone.enter("3.5", word="Next")
    await phone.enter("3.5052", word="Done")
    assert to == []  # it stands there
    await phone.size(844, 390)
    await phone.rest()
    assert to == [ANSWER]


@driven
async def test_temperatures_entered_in_the_step_itself_are_not_said_to_be_missing():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/final")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    phone.see("Temperatures: as entered in this step")
    assert not phone.has("Temperatures: not measured, 20 °C is assumed")


@driven
async def test_a_tab_has_its_tick_only_where_its_own_bore_has_its_yes():
    phone = await Phone.start(with_demo=True)
    await phone.go(f"{DEMO}/sweep")
    desk = phone.app.screen.desk
    assert desk.work.done and desk.settled() == {4}  # the one that was swept
    for name in ("chamfer", "final"):
        await phone.go(f"{DEMO}/{name}")
        desk = phone.app.screen.desk
        assert desk.settled() == set(desk.view.cylinders), name
