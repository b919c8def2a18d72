"""What the page for every eye, ear and hand says is so: held against the app, driven without a browser.

What only a browser shows (the tree of names, forced colours, the keyboard's focus, nothing that moves) is in
``tests/browser/test_walk.py``; the contrast of every pair of colours in ``test_theme.py``; sizes in ``test_looks.py``.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator

import flet as ft
import pytest

from logic.say import Style, say
from mobile import theme as th
from mobile.screens.access import CAN, CANNOT

from .stub import DEMO, Phone, driven, walk
from .test_screen_grid import new_job

ENGLISH = Style()


def announced(phone: Phone) -> str:
    """What stands in live regions now: a screen reader says it when it changes."""

    def words() -> Iterator[str]:
        for control in phone.controls():
            if isinstance(control, ft.Semantics) and control.live_region:
                yield from (str(one.value) for one in walk(control) if isinstance(one, ft.Text) and one.value)

    return "\n".join(words())


def test_the_page_says_all_of_it() -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        await phone.go("/access")
        phone.see(*(say(line, ENGLISH) for line in (*CAN, *CANNOT)))

    go()


def test_a_refused_entry_is_announced_and_what_is_being_typed_is_not() -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        await new_job(phone)
        await phone.key("9", "9", "9", "9")
        assert "9999" not in announced(phone) and "Expected" not in announced(phone)
        await phone.key("Enter")
        assert "Expected" in announced(phone)
        await phone.key("Backspace")  # typed on: it is no refusal any more
        assert "Expected" not in announced(phone)

    go()


def test_a_new_verdict_and_a_message_are_announced() -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        await phone.go(DEMO)
        (verdict, *_) = [said for said in announced(phone).splitlines() if "+0.030" in said]
        assert verdict
        phone.app.toast("The file is here", bad=True)
        assert "The file is here" in announced(phone)

    go()


@pytest.mark.parametrize(("bad", "seconds"), [(False, th.SAID_S), (True, th.FAULT_S)])
def test_a_message_stays_as_long_as_the_page_says(monkeypatch: pytest.MonkeyPatch, bad: bool, seconds: int) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        stays: list[float] = []

        async def fade(for_s: float) -> None:
            stays.append(for_s)

        monkeypatch.setattr(phone.app.frame, "_fade", fade)
        phone.app.toast("x", bad=bad)
        await asyncio.sleep(0)
        assert stays == [seconds]

    go()
    (said,) = [text for line in CANNOT if "short message" in (text := say(line, ENGLISH))]
    assert re.findall(r"(\d+) s\b", said) == [str(th.SAID_S), str(th.FAULT_S)]


def test_large_type_grows_by_two_thirds_where_running_text_grows_to_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(th.held, "scale", 2.0)
    drawn = {size: th.eased(size) * th.held.scale for size in (th.SMALL, th.BODY, th.VERDICT)}
    assert (drawn[th.SMALL], drawn[th.BODY]) == (2 * th.SMALL, 2 * th.BODY)
    assert drawn[th.VERDICT] / th.VERDICT == pytest.approx(1 + 2 / 3)
    assert any("by two thirds" in say(line, ENGLISH) for line in CANNOT)
