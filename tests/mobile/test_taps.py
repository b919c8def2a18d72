"""How many taps and keys a whole job takes: three cylinders, with bar, hone, bore gauge and micrometer only.

The engine is invented. A bar that cuts 0.4 thou over its setting and stones that take 0.08 thou a
stroke stand in for the iron. Taps are all that is pressed but the pad's keys, keys are those of the
pad. What the readings themselves take is counted apart: nothing can make them fewer.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import flet as ft

from logic.result import Verdict
from logic.say import say
from store.board import BoreState, board
from store.fields import bores
from store.flow import work_of
from store.sheets import sheet

from .stub import KEY, Phone, Wanted, driven, label, walk

FINISHED_IN = 3.0300
#: Outside the readings themselves, all stages together.
TAPS, KEYS = 80, 20


class Counted(Phone):
    """A phone that counts what is pressed, by stage of the work."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.counts: Counter[tuple[str, str]] = Counter()
        self.stage = "intake"

    async def tap(self, *wanted: Wanted, nth: int = 0) -> None:
        for one in wanted:
            self.counts[self.stage, "taps"] += 1
            await super().tap(one, nth=nth)
            await self.rest()

    async def number(self, text: str, *, reading: bool = False, word: str = "Enter") -> None:
        """A number on the pad, and the key that enters it."""
        self.counts[self.stage, "readings" if reading else "keys"] += len(text) + 1
        for character in text:
            await Phone.tap_alone(self, KEY.get(character, character))
        await Phone.tap_alone(self, word)
        await self.rest()

    def foot(self) -> str:
        """The one thing to do next: the only key of its colour, and it stands in the foot."""
        keys = [c for c in self.controls() if getattr(c, "on_click", None) is not None]
        loud = [c for c in keys if ground(c) == "primary"]
        here = [c for c in walk(self.app.frame.bottom) if any(c is one for one in loud)]
        assert len(here) <= 1
        return label(here[0]) if here else ""

    @property
    def aimed(self) -> Any:
        return self.app.screen.desk.aimed  # type: ignore[union-attr]

    def of(self, name: str) -> int:
        return sum(n for (_, what), n in self.counts.items() if what == name)


def ground(control: Any) -> Any:
    """The colour of a key."""
    style = getattr(control, "style", None)
    return getattr(control, "bgcolor", None) if style is None else style.bgcolor[ft.ControlState.DEFAULT]


async def answer(phone: Counted, key: str, value: str, *, reading: bool = False) -> None:
    """Type ``value`` for the field ``key``, which the foot asks for or the pad is at already."""
    if phone.aimed is None:
        assert phone.foot().startswith("Enter: "), phone.text()
        await phone.tap(phone.foot())
    assert phone.aimed.field.key == key, phone.aimed
    await phone.number(value, reading=reading)


async def onward(phone: Counted, title: str) -> None:
    """To the next step, which the foot names."""
    if phone.app.screen.typing:  # type: ignore[union-attr]
        await phone.tap("Close the pad")
    if phone.foot() == "Back to the job":
        await phone.tap("Back to the job")
    assert phone.foot() == f"Next: {title}", (phone.foot(), phone.text())
    phone.stage = title
    await phone.tap(f"Next: {title}")
    assert phone.heading == title
    if phone.foot() == "I have read this":
        await phone.tap("I have read this")


async def bore_all(phone: Counted, id: str) -> None:
    for cylinder in (1, 2, 3):
        for _ in range(9):
            foot = phone.foot()
            if foot.startswith("It is set to "):
                await phone.tap(foot)
            elif foot.startswith("Enter: Bore measured"):
                last = [e for e in await phone.entries(id, "reading") if e.what == "cut.setting"][-1]
                await answer(phone, "cut.measured", f"{last.typed.value / 25.4 + 0.0004:.4f}", reading=True)
            else:
                break
        if cylinder < 3:
            await next_bore(phone, cylinder + 1)


async def next_bore(phone: Counted, cylinder: int) -> None:
    phone.gone("pass 3")
    (onward_,) = [label(c) for c in phone.pressable() if label(c).startswith("Next: cylinder ")]
    assert onward_ == f"Next: cylinder {cylinder}"
    await phone.tap(onward_)


async def hone_all(phone: Counted, id: str) -> list[int]:
    """Hone every bore as the screen says; gives the entries each took."""
    took = []
    for cylinder in (1, 2, 3):
        before, size = len(await phone.entries(id, "reading")), 3.0270
        for _ in range(30):
            foot = phone.foot()
            if phone.aimed is not None and phone.aimed.field.key == "hone.size":
                await phone.number(f"{size:.4f}", reading=True)
            elif foot == "No stroke: measure again":  # two more will do
                await phone.tap(re.compile("^Enter: Double strokes"))
                size = FINISHED_IN
                await phone.number("2")
            elif re.match(r"\d+ double strokes? made$", foot):
                size = min(FINISHED_IN, size + 0.00008 * int(foot.split()[0]))
                await phone.tap(foot)
            elif foot.startswith(("Stones of grit ", "Enter: ")):
                await phone.tap(foot)
            else:
                break
        took.append(len(await phone.entries(id, "reading")) - before)
        if cylinder < 3:
            await next_bore(phone, cylinder + 1)
    return took


async def whole_job() -> tuple[Counted, list[int]]:
    """The whole walk, from the first screen to the handover; gives the phone and the entries that honing each bore took."""
    phone = await Counted.start()
    assert isinstance(phone, Counted)
    await phone.tap("New job", "Nominal bore")
    await phone.number("3", word="Done")
    await phone.tap("One cylinder fewer", "Start measuring")
    (job,) = await phone.jobs.list("job")
    id = job.id
    phone.stage = "Worn bores"
    await phone.tap("I have read this", re.compile("^Temperatures: not measured"))
    await phone.number("20", reading=True)
    await phone.tap("Done")
    for worn in "985500", "874401", "765310":
        for thou in worn:
            await phone.number(thou, reading=True)
    # the gauge is read to a tenth of a thou, and repeats as well: its card or this says so
    await phone.tap(re.compile("^Wear side, gauge"), re.compile("^Gauge and temperatures"))
    for field, value in ((bores.DIVISION, "0.1"), (bores.REPEAT, "0.06")):
        await phone.tap(re.compile("^" + re.escape(say(field.label))))
        await phone.number(value)
        if phone.app.screen.typing:  # type: ignore[union-attr]
            await phone.tap("Close the pad")
    await phone.tap("Back", "Back")

    await onward(phone, "Oversize")
    assert phone.foot().startswith("Decide on +0.030")
    await phone.tap(phone.foot())
    await onward(phone, "Parts and price")
    await phone.tap("Leave this step out…", "Later")
    await onward(phone, "Sizes")
    await answer(phone, "sizes.clearance", "3", reading=True)
    for _ in range(3):
        await answer(phone, "sizes.piston", "3.0270", reading=True)
    await onward(phone, "Clamping")
    await phone.tap(phone.foot(), "M12")
    await answer(phone, "clamp.torque", "29.5")
    await onward(phone, "Boring")
    await bore_all(phone, id)
    await onward(phone, "Chamfers")
    await phone.tap("Leave this step out…", "Later")
    await onward(phone, "Honing")
    took = await hone_all(phone, id)
    await onward(phone, "Final check")
    await phone.tap("Yes, washed, dry and cold")
    await answer(phone, "final.zero", "3.03", reading=True)
    for _ in range(18):
        await answer(phone, "final.reading", "0", reading=True)
    await onward(phone, "Ring gaps")
    while phone.foot().startswith("Enter: ") or phone.aimed is not None:
        await answer(phone, "rings.gap", "16", reading=True)
    await onward(phone, "Cleaning and handover")
    await phone.tap(re.compile("^Yes to all"), re.compile("^Yes to all"))

    view = await phone.app.view(id)
    assert {b.state for b in board(view)} == {BoreState.DONE}
    told = work_of(view, sheet("clean"))
    assert told.done and told.results[0].verdict == Verdict.GO, told
    return phone, took


@driven
async def test_a_whole_job_in_taps_and_keys() -> None:
    phone, took = await whole_job()
    assert max(took) <= 15  # entries to hone one bore
    assert phone.of("taps") <= TAPS and phone.of("keys") <= KEYS, dict(phone.counts)
