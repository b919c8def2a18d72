"""A new job and its worn-bore readings, cell by cell."""

from __future__ import annotations

import asyncio
import re

import flet as ft
import pytest

from logic.say import L
from mobile.pad import LOST
from store import draft
from store.errors import NotSaved
from store.flow import work_of
from store.jobs import Jobs
from store.sheets import bores, sheet

from .stub import DEMO, Phone, driven, label, walk

NB = "\u202f"
#: Thou over nominal, cylinder by cylinder; the third is worn most, 12 thou on the thrust axis at the top.
WORN = (
    ("4", "2", "2", "1", "0", "0"),
    ("5", "2", "2", "1", "0", "0"),
    ("12", "6", "5", "3", "0", "0"),
    ("4", "3", "2", "1", "0", "0"),
)


async def new_job(phone: Phone, nominal: str = "3.0") -> str:
    """A job with a nominal bore, at its first cell; its id."""
    await phone.tap("New job", "Nominal bore")
    await phone.enter(nominal, word="Done")
    await phone.tap("Start measuring", "I have read this")
    await phone.rest()
    (summary,) = [s for s in await phone.jobs.list("job") if not s.id.startswith("demo")]
    return summary.id


def cell(phone: Phone, cylinder: int, depth: int, axis: str) -> str:
    return phone.says(re.compile(rf"^Cylinder {cylinder}, depth {depth}, {axis}: ")).split("\n")[0].split(": ")[1]


@driven
async def test_a_whole_grid_to_its_verdict():
    phone = await Phone.start()
    id = await new_job(phone)
    assert phone.heading == "Worn bores"
    phone.see("Readings in: 0 of 24. The verdict comes as the bores fill.", "Cylinder 1, depth 1, thrust axis")
    for readings in WORN:
        await phone.enter(*readings)
    await phone.rest()
    # cylinder 3: 12 thou all on one side would need 24; +0.030 leaves 27 before honing, +0.020 only 17
    phone.see(re.compile(r"Bores at \+0\.030\sin clean up all four\. Cylinder 3 governs"), "Saved", "all entered")
    stored = await phone.entries(id, "reading")
    assert [e.typed.text for e in stored] == [value for row in WORN for value in row]
    assert stored[12].typed.value == pytest.approx(12 * 0.0254) and stored[12].typed.typed_unit == "thou"
    assert stored[12].at == {"cylinder": 3, "depth": 1, "axis": "thrust"}
    assert cell(phone, 4, 3, "crank line") == f"0.0{NB}thou"
    await phone.tap("All readings are in: go on", "Cannot tell")  # the side decides the oversize: asked on the way
    await phone.rest()
    phone.see(re.compile(r"Bores at \+0\.030\sin clean up all four"), "Done or left out: 1")


@driven
async def test_a_nominal_bore_is_asked_for_before_a_job_begins():
    phone = await Phone.start()
    await phone.tap("New job")
    phone.gone("Start measuring")
    await phone.tap("Enter: Nominal bore")
    await phone.enter("3.0", word="Done")
    phone.see("Start measuring")
    assert await phone.jobs.list("job") == []


@driven
async def test_the_unit_switch_and_the_other_system_beneath():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this")
    await phone.rest()
    before = phone.backend.texts["demojob00001"]
    assert cell(phone, 1, 1, "thrust axis") == f"+9.0{NB}thou"
    await phone.tap("Show millimetres")
    assert cell(phone, 1, 1, "thrust axis") == f"+0.229{NB}mm"  # 9 thou is 0.2286 mm
    phone.see(re.compile(r"Bores at \+0\.762\smm clean up all four"))
    assert phone.backend.texts["demojob00001"] == before


@driven
async def test_a_correction_says_what_it_changed_and_can_be_taken_back():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap(
        "I have read this", re.compile(r"^Cylinder 3(\n|$)"), re.compile("^Cylinder 3, depth 1, thrust axis: ")
    )
    phone.see(re.compile("^Now .* A new entry takes its place", re.MULTILINE))
    await phone.enter("30")
    await phone.rest()
    # 30 thou of wear: the pistons bought for +0.030 no longer do
    phone.see(
        "This correction changed:",
        re.compile(r"Oversize: .*(does not clean up|\+0\.0[46]0)"),
        re.compile("^Before: ", re.MULTILINE),
    )
    last = (await phone.entries("demojob00001", "reading"))[-1]
    assert last.typed.text == "30" and last.replaces is not None
    await phone.tap("Undo the last entry")
    await phone.rest()
    phone.see(re.compile(r"Bores at \+0\.030\sin clean up all four"))
    phone.gone("This correction changed:")
    assert [e.replaces for e in await phone.entries("demojob00001", "withdrawn")][-1] == last.id


@driven
async def test_nothing_to_take_back_is_said():
    phone = await Phone.start()
    await new_job(phone)
    await phone.tap("Undo the last entry")
    phone.see("There is no reading to undo")


@pytest.mark.parametrize(("typed", "said"), [("", "Expected a"), ("200000", "larger")])
@driven
async def test_a_bad_reading_is_refused_and_stays_to_be_mended(typed, said):
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.enter("4")
    await phone.enter(typed)
    phone.see(re.compile(said))
    assert len(await phone.entries(id, "reading")) == 1
    assert cell(phone, 1, 1, "crank line") == "?" and cell(phone, 1, 1, "thrust axis") == f"+4.0{NB}thou"


@driven
async def test_a_reading_far_below_the_unworn_bore_is_taken_down_as_read():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.enter("4")
    await phone.enter("-9")
    await phone.rest()
    phone.see("Saved")
    assert [e.typed.text for e in await phone.entries(id, "reading")] == ["4", "-9"]
    assert (
        cell(phone, 1, 1, "crank line") == f"\u22129.0{NB}thou" and cell(phone, 1, 1, "thrust axis") == f"+4.0{NB}thou"
    )


@driven
async def test_a_cylinder_is_gone_to_by_its_tab_and_the_place_is_kept():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.tap(re.compile(r"^Cylinder 3(\n|$)"))
    phone.see("Cylinder 3, depth 1, thrust axis")
    await phone.enter("7")
    await phone.rest()
    await phone.go("/")
    await phone.go(f"/job/{id}/bores")
    phone.see("Cylinder 3, depth 1, crank line")
    await phone.key("5", "Enter")
    assert cell(phone, 3, 1, "crank line") == f"+5.0{NB}thou"


@driven
async def test_rows_built_anew_are_new_rows():
    """Flet takes a new control with the key of an old one for the old one, and from then on lets nobody change the new."""
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this")
    used: list[str] = []
    for step in ("Cylinder 2", "Show millimetres", "Show inches"):
        await phone.tap(re.compile(rf"^{step}(\n|$)"))
        rows = [str(row.key.value) for row in phone.app.screen.table.controls if row.key]
        assert len(rows) >= 3 and not set(rows) & set(used), step
        used += rows


@driven
async def test_another_bore_is_shown_in_the_same_cells_and_what_is_typed_goes_to_it():
    """Only what the cells say is sent then: the way on to the next bore is no slower than to the next cell."""
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this")
    screen = phone.app.screen

    def shown() -> list[str]:
        return [large.semantics_label for _, large, _ in screen.faces.values()]

    await phone.tap(re.compile(r"^Cylinder 1(\n|$)"))
    one, buttons = shown(), [button for button, _, _ in screen.faces.values()]
    assert all(said.startswith("Cylinder 1, ") for said in one)
    await phone.tap(re.compile(r"^Cylinder 2(\n|$)"))
    two = shown()
    assert all(said.startswith("Cylinder 2, ") for said in two)
    assert [button for button, _, _ in screen.faces.values()] == buttons
    assert [button.data for button in buttons] == list(screen.faces)
    await phone.tap(re.compile(r"^Cylinder 2, depth 2, thrust axis"))  # a cell's own key leads to this bore's
    await phone.enter("9.1")
    await phone.rest()
    assert [a for a, b in zip(two, shown(), strict=True) if a.split(":")[1] != b.split(":")[1]] != []
    phone.see(re.compile(r"Cylinder 2, depth 2, thrust axis: \+9\.1"))
    await phone.tap(re.compile(r"^Cylinder 1(\n|$)"))
    assert [said.split(": ")[1] for said in shown()][1:] == [said.split(": ")[1] for said in one][1:]


@driven
async def test_what_cannot_be_stored_is_kept_said_and_stored_later(monkeypatch):
    phone = await Phone.start()
    id = await new_job(phone)
    add, full = phone.app.add, True

    async def filled(view, *drafts):
        if full:
            await asyncio.sleep(0.03)  # so long that the wait is shown
            raise NotSaved(L("There is no room left on this device."), "full")
        return await add(view, *drafts)

    monkeypatch.setattr(phone.app, "add", filled)
    await phone.enter("4")
    await phone.rest()
    phone.see(
        "There is no room left on this device.",
        "Save again what was not saved: 1",
        "Cylinder 1, depth 1, thrust axis: 4 not saved",
    )
    await phone.tap(re.compile("^Cylinder 1, depth 1, thrust axis: "))
    phone.see(re.compile(r"^4\sthou", re.MULTILINE))  # what was typed is in the pad again
    await phone.tap("Save again what was not saved: 1")
    assert await phone.entries(id, "reading") == []
    full = False
    await phone.tap("Save again what was not saved: 1")
    await phone.rest()
    assert [e.typed.text for e in await phone.entries(id, "reading")] == ["4"]
    phone.gone("Save again")
    phone.see("Saved")


def held_up(phone: Phone, monkeypatch, refusal: NotSaved | None = None) -> asyncio.Event:
    """The store waits for the event that is given back, then stores or refuses."""
    go, change = asyncio.Event(), phone.backend.change

    async def slow(*given):
        await go.wait()
        if refusal is not None:
            raise refusal
        return await change(*given)

    monkeypatch.setattr(phone.app.jobs._backend, "change", slow)
    return go


async def almost(phone: Phone) -> str:
    """A job with every reading but the last; its id."""
    id = await new_job(phone)
    await phone.enter(*[value for row in WORN for value in row][:-1])
    await phone.rest()
    return id


@driven
async def test_a_reading_shows_with_its_verdict_before_it_is_saved(monkeypatch):
    phone = await Phone.start()
    id = await almost(phone)
    phone.gone("All readings are in: go on")
    go = held_up(phone, monkeypatch)
    typing = asyncio.create_task(phone.enter("9"))
    for _ in range(5):
        await asyncio.sleep(0)
    assert cell(phone, 4, 3, "crank line") == f"+9.0{NB}thou, being saved"
    phone.see("Saving…", "All readings are in: go on", re.compile("clean up all four"))
    phone.gone("Saved")
    assert len(await phone.entries(id, "reading")) == 23  # it is not said to be stored, nor is it
    go.set()
    await typing
    await phone.rest()
    phone.see("Saved")
    phone.gone("Saving…")
    assert cell(phone, 4, 3, "crank line") == f"+9.0{NB}thou"
    *_, last = await phone.entries(id, "reading")
    assert last.typed.text == "9" and phone.app.views[id].entries[last.id] == last


@driven
async def test_a_save_that_fails_takes_back_what_was_shown(monkeypatch):
    phone = await Phone.start()
    id = await almost(phone)
    told = []
    monkeypatch.setattr(phone.app.hands, "refused", lambda line, *_, **__: told.append(line) or asyncio.sleep(0))
    monkeypatch.setattr(phone.app.hands, "taken", lambda *_, **__: told.append("taken") or asyncio.sleep(0))
    go = held_up(phone, monkeypatch, NotSaved(L("There is no room left on this device."), "full"))
    typing = asyncio.create_task(phone.enter("0"))
    for _ in range(5):
        await asyncio.sleep(0)
    phone.see("Saving…", "All readings are in: go on")
    go.set()
    await typing
    await phone.rest()
    phone.see("0 not saved", "There is no room left on this device.", "Save again what was not saved: 1")
    phone.gone("Saving…", "Saved", "All readings are in: go on")
    view = phone.app.views[id]
    assert len(view.numbers(bores.READING)) == len(await phone.entries(id, "reading")) == 23
    assert [str(line) for line in told] == [str(LOST)]


@driven
async def test_a_correction_waits_until_what_it_corrects_is_stored(monkeypatch):
    phone = await Phone.start()
    id = await new_job(phone)
    go = held_up(phone, monkeypatch)
    first = asyncio.create_task(phone.enter("4"))
    await asyncio.sleep(0.01)
    await phone.tap(re.compile("^Cylinder 1, depth 1, thrust axis: "))
    second = asyncio.create_task(phone.enter("5"))
    await asyncio.sleep(0.01)
    go.set()
    await asyncio.gather(first, second)
    await phone.rest()
    one, two = await phone.entries(id, "reading")
    assert (one.typed.text, two.typed.text, two.replaces) == ("4", "5", one.id) and one.stamp < two.stamp


@driven
async def test_readings_of_another_tab_appear():
    phone = await Phone.start()
    id = await new_job(phone)
    other = await Jobs.open(phone.backend)
    got = type("Typed", (), {"text": "3", "typed_unit": "thou", "value": 0.0762, "unit": "mm"})
    await other.append(id, draft.reading(bores.READING, {"cylinder": 1, "depth": 1, "axis": "thrust"}, got))
    phone.app._changed_elsewhere(id)
    await phone.rest()
    assert cell(phone, 1, 1, "thrust axis") == f"+3.0{NB}thou"
    await other.set_header(id, cylinders=2)
    phone.app._changed_elsewhere(id)
    await phone.rest()
    assert not [c for c in phone.pressable() if re.match("Cylinder 3", str(c))]
    phone.see("Cylinder 1, depth 1, crank line")


@driven
async def test_on_a_low_and_on_a_wide_screen():
    phone = await Phone.start(width=844, height=390, with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this")
    await phone.rest()
    phone.see("Yes", re.compile(r"Bores at \+0\.030\sin clean up all four"))
    assert phone.app.frame.beside
    await phone.size(1024, 768)
    assert phone.app.frame.beside
    phone.see(re.compile("^Cylinder 1, depth 1, thrust axis: ", re.MULTILINE))
    await phone.size(390, 844)
    assert not phone.app.frame.beside


@driven
async def test_from_the_grid_to_what_the_readings_rest_on():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this", "Wear side, gauge, depths, pictures")
    await phone.rest()
    assert phone.heading == "About the bores"
    await phone.tap("Enter readings")
    assert phone.heading == "Worn bores"


@driven
async def test_a_whole_size_in_a_deviation_cell_is_asked_about_and_then_known():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.enter("3.0145")
    phone.see("3.0145 can be read in more than one way here. What did you read?", "Type it again")
    assert await phone.entries(id, "reading") == []
    await phone.tap(f"3.0145 in, the whole size: +14.5{NB}thou")
    await phone.rest()
    (first,) = await phone.entries(id, "reading")
    assert first.typed.value == pytest.approx(0.0145 * 25.4) and first.typed.text == "3.0145"
    await phone.enter("3.0071")  # the person's way is known now
    await phone.rest()
    assert [e.typed.value for e in await phone.entries(id, "reading")] == pytest.approx([0.3683, 0.18034])


@driven
async def test_what_is_typed_blind_does_not_join_a_number_in_question():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.enter("3.0145")
    await phone.key("2", "Enter", "0", "Enter")
    assert await phone.entries(id, "reading") == []
    phone.see("3.0145 can be read in more than one way here. What did you read?")
    await phone.key(*["Backspace"] * 6, "2", "Enter")  # taken back by hand, another can be typed
    await phone.rest()
    assert [e.typed.text for e in await phone.entries(id, "reading")] == ["2"]


@driven
async def test_what_was_typed_can_be_typed_again():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.enter("3.0145")
    await phone.tap("Type it again")
    await phone.enter("14.5")
    await phone.rest()
    (only,) = await phone.entries(id, "reading")
    assert only.typed.value == pytest.approx(0.3683)


async def with_a_slip(phone: Phone, typed: str = "-12") -> str:
    """A grid in which one reading was typed otherwise than read."""
    id = await new_job(phone)
    for n, readings in enumerate(WORN):
        if n == 2:
            await phone.enter(typed, *readings[1:])
        else:
            await phone.enter(*readings)
    await phone.rest()
    return id


@driven
async def test_a_doubt_stands_beneath_the_verdict_and_one_tap_takes_the_likely_value():
    phone = await Phone.start()
    id = await with_a_slip(phone, "51")
    phone.see("Checked, still right", "Correct: Bore reading")
    await phone.tap(re.compile(r"^It is \+5\.1"))
    await phone.rest()
    phone.gone("Checked, still right")
    mended = (await phone.entries(id, "reading"))[-1]
    assert mended.typed.value == pytest.approx(5.1 * 0.0254) and mended.replaces
    phone.see(re.compile(r"Bores at .* clean up all four"))


@driven
async def test_the_readings_open_on_the_one_in_doubt():
    phone = await Phone.start()
    id = await with_a_slip(phone)
    await phone.go("/")
    await phone.jobs.set_setting(f"cell.{id}", 0)
    await phone.go(f"/job/{id}/bores")
    assert phone.app.screen.pad.ask.value == "Cylinder 3, depth 1, thrust axis"
    await phone.go(f"/job/{id}")
    path = [label(c).split("\n") for c in phone.pressable()]
    (bores_row,) = [p for p in path if p[0] == "Worn bores"]
    (oversize_row,) = [p for p in path if p[0] == "Oversize"]
    assert "next" not in oversize_row and "look again" in bores_row


@driven
async def test_what_was_checked_and_is_right_is_asked_no_more():
    phone = await Phone.start()
    id = await with_a_slip(phone)
    await phone.tap("Checked, still right")
    await phone.rest()
    phone.gone("Checked, still right")
    (decision,) = await phone.entries(id, "decision")
    assert decision.what == "doubt.reading.3.1.thrust" and len(await phone.entries(id, "reading")) == 24


@driven
async def test_from_a_doubt_on_the_job_to_the_value():
    phone = await Phone.start()
    id = await with_a_slip(phone)
    await phone.app.go(f"/job/{id}")
    await phone.rest()
    phone.see("Not sure yet", re.compile(r"2\.9880.*3\.0077"), "Checked, still right")
    await phone.tap("Correct: Bore reading")
    await phone.rest()
    phone.see("Cylinder 3, depth 1, thrust axis")
    await phone.enter("12")
    await phone.rest()
    phone.gone("Checked, still right")


# -- which side wore ----------------------------------------------------------------------
ALL_FOUR = "Cylinders 1, 2, 3, 4: which side wore?"


async def read_through(phone: Phone) -> str:
    """A job with every reading in. Between them nothing is asked."""
    id = await new_job(phone)
    for readings in WORN:
        phone.gone("which side wore")
        await phone.enter(*readings)
    await phone.rest()
    return id


@driven
async def test_the_side_is_asked_once_after_the_last_reading_and_not_knowing_changes_nothing():
    phone = await Phone.start()
    id = await read_through(phone)
    phone.gone("which side wore")  # the pad is open: it is asked on the way from here
    await phone.tap("All readings are in: go on")
    phone.see(ALL_FOUR, "Both sides alike", "One side, on the thrust axis", "Cannot tell")
    before = work_of(await phone.app.view(id), sheet("oversize"))
    await phone.tap("Cannot tell")
    await phone.rest()
    phone.gone("which side wore")
    view = await phone.app.view(id)
    assert work_of(view, sheet("oversize")) == before and not await phone.entries(id, "chosen")
    assert phone.heading != "Worn bores"
    await phone.go(f"/job/{id}/bores")
    await phone.tap("All readings are in: go on")
    assert phone.heading != "Worn bores"  # not asked again on the way
    await phone.go(f"/job/{id}/log")
    phone.see("Which side wore: Cannot tell")


@driven
async def test_the_side_answered_for_all_decides_the_oversize():
    phone = await Phone.start()
    id = await read_through(phone)
    await phone.tap("All readings are in: go on")
    phone.see(ALL_FOUR)
    assert phone.heading == "Worn bores"
    await phone.key("7", "Enter")  # the pad is away: nothing is typed blind
    await phone.tap("Both sides alike")
    await phone.rest()
    # 12 thou of even wear: +0.020 less 3 thou for the hone is 17, and cleans up
    phone.see(re.compile(r"Bores at \+0\.020\sin clean up all four"))
    said = {e.at["cylinder"]: e.value for e in await phone.entries(id, "chosen")}
    assert said == dict.fromkeys((1, 2, 3, 4), "even") and len(await phone.entries(id, "reading")) == 24


@pytest.mark.parametrize("scale", [1.0, 2.0])
@driven
async def test_the_answers_stand_at_the_thumb_and_none_is_lost_in_large_letters(scale):
    phone = await Phone.start(width=360, height=640)
    await read_through(phone)
    phone.app.frame.scale = scale
    await phone.tap("All readings are in: go on")
    foot = [label(c) for c in walk(phone.app.frame.bottom) if isinstance(c, ft.Button)]
    assert foot == [
        "Both sides alike",
        "One side, on the thrust axis",
        "They differ: answer for each bore",
        "Cannot tell",
    ]
    phone.see(ALL_FOUR, *foot)
    assert phone.heading == "Worn bores"


@driven
async def test_bores_that_are_not_alike_are_said_one_by_one():
    phone = await Phone.start()
    id = await read_through(phone)
    await phone.tap("All readings are in: go on", "They differ: answer for each bore")
    await phone.rest()
    assert phone.heading == "About the bores"
    view = await phone.app.view(id)
    await phone.app.add(view, draft.chosen(bores.SIDE, "one side", {"cylinder": 3}))
    await phone.go(f"/job/{id}/bores")
    await phone.tap("All readings are in: go on")
    phone.see("Cylinders 1, 2, 4: which side wore?")


@driven
async def test_a_job_that_is_decided_is_not_asked_about_its_side():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this")
    await phone.rest()
    phone.see("All readings are in: go on")
    phone.gone("which side wore")


# -- before the first reading --------------------------------------------------------------
@driven
async def test_the_gauges_zero_is_asked_before_the_first_reading_and_one_tap_takes_the_likely_one():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.keys("4")
    await phone.tap(f"Gauge zeroed at 3.0000{NB}in")
    await phone.rest()
    phone.gone("Gauge zeroed at", "Another size")
    (zero,) = await phone.entries(id, "reading")
    assert zero.what == "bore.zero" and zero.typed.value == pytest.approx(76.2)
    await phone.tap("Enter")  # what was typed meanwhile is still there
    await phone.rest()
    assert [e.typed.text for e in await phone.entries(id, "reading")] == ["76.2", "4"]


@driven
async def test_the_zero_is_left_alone_once_a_reading_counts_from_nominal():
    phone = await Phone.start()
    await new_job(phone)
    phone.see("Gauge zeroed at")
    await phone.enter("4")
    await phone.rest()
    phone.gone("Gauge zeroed at")


@driven
async def test_another_zero_is_typed_where_the_gauge_is():
    phone = await Phone.start()
    id = await new_job(phone)
    await phone.tap("Another size")
    await phone.rest()
    assert phone.heading == "About the bores"
    phone.see("Size the gauge is zeroed at")
    await phone.enter("3.01")
    await phone.rest()
    (zero,) = await phone.entries(id, "reading")
    assert zero.what == "bore.zero" and zero.typed.value == pytest.approx(3.01 * 25.4)
    await phone.go(f"/job/{id}/bores")
    phone.gone("Gauge zeroed at")


@driven
async def test_the_first_depth_below_the_top_of_ring_travel_is_entered_by_one_tap():
    phone = await Phone.start()
    id = await new_job(phone)
    got = type("Typed", (), {"text": "20", "typed_unit": "mm", "value": 20.0, "unit": "mm"})
    await phone.app.add(await phone.app.view(id), draft.reading(bores.RING_TOP, {}, got))
    await phone.go("/")
    await phone.go(f"/job/{id}/bores")
    await phone.tap(f"First depth 0.91{NB}in: just below the top of ring travel")  # 23 mm, 3 below the top
    await phone.rest()
    phone.gone("First depth")
    depth = (await phone.entries(id, "reading"))[-1]
    assert (depth.what, depth.at, depth.typed.value) == ("bore.depth", {"depth": 1}, 23.0)
    phone.see(f"0.91{NB}in")
