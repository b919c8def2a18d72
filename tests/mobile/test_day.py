"""A day at the engine: the board of cylinders, the path, leaving out, and the pad at the bore."""

from __future__ import annotations

import re

import pytest

from mobile.shell import now_ms
from store.facts.gates import PISTON_RISK

from .stub import DEMO, Phone, driven, label
from .test_screen_step import measured


@driven
async def test_the_job_shows_a_board_and_a_tap_goes_to_what_a_bore_needs() -> None:
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}")
    phone.see("The bores", re.compile(r"Cylinder 3, undecided. Now .*in. Decide on the oversize."))
    phone.gone("things are still to be entered")
    await phone.tap(re.compile("^Cylinder 3, undecided"))
    await phone.rest()
    assert phone.heading == "Oversize" and phone.app.screen.desk.cylinder == 3
    await phone.tap(re.compile(r"^\+0\.030\sin$"))
    await phone.rest()
    await phone.go(f"/job/{id}")
    await phone.tap(re.compile("^Cylinder 2, undecided.*Measure its piston"))
    await phone.rest()
    assert phone.heading == "Sizes"
    await phone.tap("I take the risk: bore without")
    await phone.rest()
    assert PISTON_RISK in {e.what for e in await phone.entries(id, "decision")}
    await phone.go(f"/job/{id}")
    phone.see(re.compile("Cylinder 1, to bore.*Bore to "))


@driven
async def test_a_step_off_the_path_is_put_on_with_one_tap() -> None:
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}")
    assert not any(row.startswith("Walls\n") for row in _rows(phone))
    await phone.tap(re.compile("^Put on the path: Walls. Needs a thickness gauge."))
    await phone.rest()
    assert any(row.startswith("Walls\n") for row in _rows(phone))


def _rows(phone: Phone) -> list[str]:
    return [label(c) for c in phone.pressable()]


@driven
async def test_a_step_is_left_out_in_two_taps() -> None:
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/chamfer")
    await phone.tap("Leave this step out…", "Not needed on this engine")
    await phone.rest()
    phone.see("Left out: Not needed on this engine")


@driven
async def test_while_honing_the_pad_stays_with_the_bore() -> None:
    """After the first check of a bore the strokes of its next one are asked, not the next bore."""
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}/oversize")
    await phone.tap(re.compile(r"^\+0\.030\sin$"))
    await phone.go(f"/job/{id}/sizes")
    await phone.tap("I take the risk: bore without")
    await phone.rest()
    await phone.go(f"/job/{id}/hone/2")
    await phone.tap("I have read this")
    desk = phone.app.screen.desk
    await phone.tap("Enter more")  # the passes were not logged
    await phone.enter("3.0270", "3.0270", "3.0270")
    await phone.rest()
    assert desk.aimed is None and desk.cylinder == 2  # the answer is seen
    ask = desk.next_ask()
    assert (ask.field.key, ask.at) == ("hone.strokes", {"cylinder": 2, "check": 2})
    # 1.5 thou still to come off: the middle is enough
    phone.see(
        re.compile("Grit [0-9]+, finer stones follow$", re.MULTILINE),
        "Double strokes now",
        re.compile("^Stop at: 3.02", re.MULTILINE),
    )
    await phone.tap(re.compile(r"^\d+ double strokes made$"))
    await phone.enter("3.0279")
    await phone.rest()
    assert desk.aimed is None and desk.next_ask().at == {"cylinder": 2, "check": 3}
    phone.see("Size now: 3.0279", "Double strokes left", "Take off now")
    assert {e.what for e in await phone.entries(id, "reading") if e.at.get("cylinder") == 2} >= {"hone.strokes"}


@driven
async def test_the_quick_checks_numbers_go_into_a_new_job_and_its_pad_can_be_closed() -> None:
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    await phone.enter("3.0", word="Next")
    await phone.enter("3.0145", word="Done")
    await phone.tap("Worst reading")
    phone.see("Delete digit")
    await phone.tap("Close the pad")
    phone.gone("Delete digit")
    await phone.tap("Start a job with these numbers")
    await phone.rest()
    phone.see("3.0000\u202fin", "At hand today")
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    assert (await phone.jobs.load(job.id)).header["nominal"].value.value == 76.2
    assert [e.text for e in await phone.entries(job.id, "note")] == ["Quick check: worst reading 3.0145\u202fin."]


@driven
async def test_a_job_begins_with_what_is_at_hand_and_the_time_there_is() -> None:
    phone = await Phone.start()
    await phone.go("/new")
    phone.see(
        re.compile("^The route: Strip down and cover, Worn bores, Oversize, ", re.MULTILINE),
        re.compile("^About .* of work.$", re.MULTILINE),
    )
    phone.gone(re.compile("The route: .*Walls"))
    await phone.tap("Thickness gauge")  # one tap puts its step on the path
    phone.see(re.compile("The route: Strip down and cover, Worn bores, Walls, Oversize"))
    await phone.tap("Half a day")
    phone.see(re.compile("of work: today as far as "))
    await phone.tap("Hone")
    phone.see("Not at hand: Hone. The job stops there.")
    await phone.tap("Hone", "Nominal bore")
    await phone.enter("3.0", word="Done")
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    header = (await phone.jobs.load(job.id)).header
    assert header["kit"].value == "bar,hone,gauge,micrometer,thickness" and header["hours"].value == 4
    await phone.go(f"/job/{job.id}")
    phone.see("Walls", re.compile("^About .* still to do$", re.MULTILINE))
    phone.gone("Put on the path: Walls")


@driven
async def test_what_is_taken_back_is_said() -> None:
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/clamp")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    await phone.tap(re.compile("^The studs"), re.compile("^Torque"))
    await phone.enter("44")
    await phone.rest()
    if phone.has("Close the pad"):
        await phone.tap("Close the pad")
    await phone.tap(re.compile("^Undo: Torque on each stud, 44"))
    await phone.rest()
    phone.see(re.compile("^Undone: Torque on each stud, 44", re.MULTILINE))


@driven
async def test_temperatures_are_asked_once_a_visit(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = await Phone.start()
    id = await measured(phone)
    await phone.tap(re.compile("^Temperatures: not measured"))
    await phone.rest()
    assert phone.heading == "Temperatures" and phone.app.screen.typing  # the pad is open: one number, and back
    phone.see("Temperature: Block")
    await phone.enter("18")
    await phone.rest()
    await phone.tap("Done")
    await phone.rest()
    assert phone.heading == "Worn bores"
    phone.see(re.compile("^Block 18.0.°C, measured ", re.MULTILINE))
    await phone.go(f"/job/{id}/sizes")
    phone.gone("Piston temperature when measured", "Still so?")
    monkeypatch.setattr("mobile.screens.warmth.now_ms", lambda: now_ms() + 5 * 3_600_000)
    await phone.go(f"/job/{id}/sizes")
    phone.see(re.compile("^Block 18.0.°C was measured .* Still so.$", re.MULTILINE))
    await phone.tap("Renew")
    await phone.enter("24")
    await phone.rest()
    taken = [(e.what, e.at) for e in await phone.entries(id, "reading") if e.what.startswith("visit.")]
    assert taken == [("visit.block", {"visit": 1}), ("visit.block", {"visit": 2})]
    await phone.go(f"/job/{id}/sizes")
    await phone.tap("Keep")
    assert (await phone.entries(id, "decision"))[-1].what == "visit.keep"


@driven
async def test_the_jobs_screen_keeps_still_under_the_finger() -> None:
    """What is pressed is there once, in its place: nothing moves away while the job is worked out."""
    phone = await Phone.start(with_demo=True)
    drawn: list[list[str]] = []
    phone.page.update = lambda *_: drawn.append([label(c) for c in phone.pressable()])  # type: ignore[method-assign]
    await phone.go(DEMO)
    first, there = drawn[0], drawn[-1]
    assert not any("Job details" in name or name.startswith("Cylinder ") for name in first)
    assert any(name.startswith("Cylinder 1, ") for name in there) and "Job details" in there
    await phone.go(DEMO + "/log")
    drawn.clear()
    await phone.go(DEMO)  # nothing was entered: all is there at once
    assert all(one == there for one in drawn)


@driven
async def test_strokes_in_doubt_are_asked_about_before_anything_is_said_of_the_next() -> None:
    """One bore, bored to 3.0270 in by two passes; forty strokes where ten were told took the whole stock."""
    phone = await Phone.start()
    await phone.tap("New job", "Nominal bore")
    await phone.enter("3.0", word="Done")
    await phone.tap(
        "One cylinder fewer", "One cylinder fewer", "One cylinder fewer", "Start measuring", "I have read this"
    )
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    await phone.enter("9", "5", "5", "2", "0", "0")
    await phone.rest()

    async def at(step: str, *taps: str | re.Pattern[str]) -> None:
        await phone.go(f"/job/{job.id}/{step}")
        if phone.has("I have read this"):
            await phone.tap("I have read this")
        for wanted in taps:
            await phone.tap(wanted)
            await phone.rest()

    async def enter(*values: str) -> None:
        for value in values:
            if not phone.app.screen.typing:
                await phone.tap(re.compile("^Other$|^Enter: "))
            await phone.enter(value)
            await phone.rest()
        await phone.key("Escape")

    await at("oversize", "+0.030\u202fin")
    await at("sizes", "I take the risk: bore without", "Plain cast: take the usual clearance")
    await at("clamp", "Enter: Stud thread", "M12")
    await enter("29.5")
    await at("cut")
    await enter("3.0145", "3.0149", "3.0266", "3.0270")
    await at("hone")
    phone.see("Double strokes now")
    await enter("40", "3.0300", "3.0300", "3.0300")
    phone.see(re.compile("Not yet: .*40 double strokes entered, 10 asked for"))
    phone.gone("Double strokes now", re.compile("our fault"))
    await phone.tap("Checked, still right")
    await phone.rest()
    phone.see(re.compile("Stop with this grit"))
    phone.gone(re.compile("Not yet: |our fault"))
