"""What to do next is the largest thing on every screen of the work: walked through on the stub phone.

No outside source: the rule is the project's own (one hand, one thumb, bright sun).
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import flet as ft
import pytest

from demo import documents
from demo.scenario import JOB, KIT
from logic.say import KINDS
from mobile.screens.desk import Slot
from store.documents import Document
from store.sheets import NAMES
from store.transfer import write

from .stub import Phone, driven, label, walk
from .test_screen_grid import with_a_slip

#: How far the demo's job has got: nothing, decided on, one bore being cut, all but the end, all.
STATES = (0.0, 0.35, 0.5, 0.95, 1.0)


def so_far(share: float) -> bytes:
    """The demo and its kit as a file, with the first part of the job's entries."""
    found: list[Document] = documents()
    kept = [
        d.model_copy(update={"entries": d.entries[: round(share * len(d.entries))]}) if d.id == JOB else d
        for d in found
    ]
    return write(kept, device="nextdevice01", made_ms=1_760_000_000_000)


async def opened(share: float) -> Phone:
    phone = await Phone.start()
    await phone.jobs.take_in(await phone.jobs.examine(so_far(share)))
    return phone


def ground(key: Any) -> str:
    if isinstance(key, ft.Container):  # a key of the pad
        return str(key.bgcolor)
    return "" if key.style is None else str(key.style.bgcolor[ft.ControlState.DEFAULT])


def height(key: Any) -> float:
    """How high a key with words on it is: what it is given, or its words and the room above and below them."""
    if key.height is not None:
        return float(key.height)
    return 1.17 * float(key.content.size) + float(key.style.padding.top + key.style.padding.bottom)


def next_thing(phone: Phone) -> str:
    """What the one key says that is in the colour of what to do next, at the thumb; none on the screen may be larger.

    Where the pad is open its Enter has that colour, small among the digits; what leads on from there stands above it,
    as wide as the screen, and is the larger of the two.
    """
    foot = list(walk(phone.app.frame.bottom))
    keys = [c for c in phone.pressable() if isinstance(c, (ft.Button, ft.Container)) and isinstance(c.content, ft.Text)]
    loud = [c for c in keys if ground(c) == "primary" and c.content.value not in ("in", "mm")]
    onward = [c for c in loud if not any(c is one for one in foot)]
    where = f"{phone.page.route}: {[label(c) for c in loud]}\n{phone.text()}"
    if any(c.data == "next" for c in loud):  # the pad
        assert len(loud) - len(onward) == 1 and len(onward) <= 1, where
        (key,) = onward or [c for c in loud if c.data == "next"]
        return label(key)
    assert len(loud) == 1 and not onward, where
    (key,) = loud
    for other in keys:
        assert height(other) <= height(key), f"{label(other)!r} is larger than {label(key)!r} at {where}"
    beside = [c for c in keys if c is not key and any(c is one for one in foot)]
    assert all((c.expand or 0) <= (key.expand or 0) for c in beside), f"{label(key)!r} is not the widest at {where}"
    return label(key)


@pytest.mark.parametrize("share", STATES)
@driven
async def test_each_step_says_what_is_next_and_says_it_loudest(share: float) -> None:
    """Every step of the job, its board, and the first screen, as far as the job has got: with the cautions and after them."""
    phone = await opened(share)
    await phone.go("/")
    assert next_thing(phone) == "New job"
    await phone.go(f"/job/{JOB}")
    said = next_thing(phone)
    assert said == "Report for the customer" if share == 1.0 else said.startswith("Next: ")
    for name in (*NAMES, "gauge"):
        await phone.go(f"/job/{JOB}/{name}")
        if phone.has("I have read this"):
            assert next_thing(phone) == "I have read this"
            await phone.tap("I have read this")
            await phone.rest()
        said = next_thing(phone)
        assert said, phone.text()
        if share == 1.0 and name == NAMES[-1]:
            assert said == "Report for the customer"


@driven
async def test_a_step_left_out_says_so_first_and_asks_for_nothing() -> None:
    phone = await opened(0.35)
    await phone.go(f"/job/{JOB}/clamp")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    await phone.tap("Leave this step out…", "Later")
    await phone.rest()
    lines = phone.text().split("\n")
    assert lines.index("Left out: Later") < 8, lines
    phone.gone("Still to enter")
    assert next_thing(phone).startswith(("Next: ", "Back to the job"))


@driven
async def test_an_answer_of_the_quick_check_leads_on_with_its_numbers() -> None:
    phone = await opened(0.0)
    await phone.tap("Nominal bore")
    await phone.enter("3.5", word="Next")
    await phone.enter("3.5052", word="Done")
    await phone.rest()
    assert next_thing(phone) == "Start a job with these numbers"
    await phone.tap("New job")  # one without them stays to be had
    assert phone.page.route == "/new"


@driven
async def test_beside_the_bore_a_wide_screen_shows_everything_else() -> None:
    phone = await opened(0.5)
    await phone.go(f"/job/{JOB}/cut")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    phone.see("Everything else")
    phone.gone("What this assumes")
    await phone.size(1024, 768)
    await phone.rest()
    phone.gone("Everything else")
    phone.see("What this assumes")


@driven
async def test_a_usual_reason_to_leave_a_step_out_is_told_in_german() -> None:
    phone = await opened(1.0)
    view = await phone.app.view(JOB)
    assert {e.reason for e in view.skipped.values()} & {"Customer declined"}  # as it was stored
    phone.app.style = replace(phone.app.style, language="de")
    for route in (f"/job/{JOB}", f"/job/{JOB}/log"):
        await phone.go(route)
        for _ in range(6):
            more = next((c for c in ("Mehr zeigen", re.compile("Erledigt oder ausgelassen")) if phone.has(c)), None)
            if more is None or phone.has(re.compile("Kunde wollte es nicht")):
                break
            await phone.tap(more)
        phone.see(re.compile("Kunde wollte es nicht"))
        phone.gone(re.compile("Customer declined"))
    phone.see(re.compile(r"(?m): 3,1002\sin$"), re.compile(r"(?m): 19\s°C$"), re.compile(r"(?m)Doppelhübe .*: 14$"))


@driven
async def test_with_a_doubt_open_the_way_to_it_is_the_next_thing() -> None:
    phone = await Phone.start()
    id = await with_a_slip(phone, "51")
    assert next_thing(phone) == "Enter"  # the pad is open on the reading in doubt
    await phone.go(f"/job/{id}")
    assert next_thing(phone) == "Next: Worn bores"
    await phone.go(f"/job/{id}/oversize")
    phone.see(re.compile(r"^It is \+5\.1", re.MULTILINE))
    assert next_thing(phone) == "Correct: Bore reading"
    await phone.tap("Correct: Bore reading")
    assert phone.heading == "Worn bores"


@driven
async def test_screens_beside_the_work_say_what_is_next_as_well() -> None:
    phone = await opened(1.0)
    for route, said in (
        ("/kit", "New card"),
        (f"/kit/{KIT.bar}/record", "Back to the card"),
        (f"/kit/{KIT.gauge}/record", "Back to the card"),
        (f"/job/{JOB}/log", "Keep this note"),
        (f"/job/{JOB}/details", "Back to the job"),
        (f"/job/{JOB}/earlier", "Back to the job"),
        ("/new", "Enter: Nominal bore"),
    ):
        await phone.go(route)
        assert next_thing(phone) == said
    await phone.go("/kit")
    await phone.tap("New card", "Boring bar")
    assert next_thing(phone) == "Make the card"
    await phone.tap("Back to the cards")
    assert next_thing(phone) == "New card"
    await phone.go("/new")
    await phone.tap("Enter: Nominal bore")
    await phone.enter("3.0", word="Done")
    assert next_thing(phone) == "Start measuring"


@pytest.mark.parametrize("language", ["en", "de"])
@driven
async def test_every_group_of_every_sheet_opens(language: str) -> None:
    """The straightness check, the cards and the steps: each group unfolded, and the pad opened on the first number in it."""
    phone = await opened(0.0)
    phone.app.style = replace(phone.app.style, language=language)
    for route in (f"/kit/{KIT.bar}/straight", *(f"/kit/{card}" for card in (KIT.bar, KIT.gauge))):
        await phone.go(route)
        titles = [c for c in phone.pressable() if isinstance(c.data, tuple) and len(c.data) == 2 and c.data[1] is False]
        for title in titles:
            await phone.send(title.on_click, title)
        numbers = [c for c in phone.pressable() if isinstance(c.data, Slot) and c.data.field.kind in KINDS]
        assert numbers, phone.text()
        await phone.send(numbers[-1].on_click, numbers[-1])
        assert phone.app.screen.typing
        phone.gone(re.compile("our fault|liegt an uns"))
        await phone.key("Escape")
