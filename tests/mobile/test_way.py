"""The way through the screens and the browser's history: nothing piles up, and the phone's key goes back a screen at a time."""

from __future__ import annotations

import re
from typing import Any

import pytest

from mobile import bridge

from .stub import DEMO, Page, Phone, driven


def in_browser(phone: Phone, monkeypatch: pytest.MonkeyPatch) -> Page:
    """A phone whose page can go back in its history, as a browser's can."""
    monkeypatch.setattr(bridge, "history_back", phone.page.go_back)
    monkeypatch.setattr(bridge, "history_instead", phone.page.put_instead)
    return phone.page


async def key_back(phone: Phone) -> bool:
    """The phone's own key; False where it leaves the app."""
    stayed = await phone.page.go_back()
    await phone.rest()
    return stayed


@driven
async def test_back_in_the_app_leaves_nothing_in_the_history(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = await Phone.start(with_demo=True)
    page = in_browser(phone, monkeypatch)
    for _ in range(5):
        await phone.go(DEMO)
        await phone.go(DEMO + "/clamp")
        await phone.tap("Back")
        await phone.rest()
        assert page.history == ["/", DEMO]
        await phone.tap("Settings, files and help")
        await phone.tap("Back")
        await phone.rest()
        assert page.history == ["/"] and page.route == "/"
    assert not await key_back(phone)  # the app is left


@driven
async def test_the_phones_key_goes_back_a_screen_at_a_time_and_leaves_in_the_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    phone = await Phone.start(with_demo=True)
    page = in_browser(phone, monkeypatch)
    seen = ["/"]
    for route in (DEMO, DEMO + "/sizes", DEMO + "/clamp", DEMO + "/rings"):  # from step to step by the foot
        await phone.go(route)
        seen.append(route)
    for route in reversed(seen[:-1]):
        assert await key_back(phone) and page.route == route
    assert not await key_back(phone)


@driven
async def test_a_screen_stands_in_the_history_once(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = await Phone.start(with_demo=True)
    page = in_browser(phone, monkeypatch)
    for step in ("sizes", "clamp", "sizes", "clamp", "sizes"):
        await phone.go(DEMO)
        await phone.go(f"{DEMO}/{step}")
    assert page.history == ["/", DEMO, DEMO + "/sizes"]
    await phone.go(DEMO + "/sizes")  # there already
    assert page.history == ["/", DEMO, DEMO + "/sizes"]


@driven
async def test_up_from_a_screen_that_was_opened_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shortcut or a reload opens a screen of which nothing is behind: up takes its place."""
    phone = await Phone.start(with_demo=True)
    page = in_browser(phone, monkeypatch)
    page.history, phone.app.way.trail = [DEMO + "/clamp"], [DEMO + "/clamp"]
    await phone.app.show(DEMO + "/clamp")
    await phone.tap("Back")
    await phone.rest()
    assert page.history == [DEMO] and phone.has(re.compile("The bores"))
    assert phone.app.way.trail == [DEMO]  # though the page told of the route before it answered
    await phone.tap("Back")
    await phone.rest()
    assert page.history == ["/"] and not await key_back(phone)


@driven
async def test_a_page_that_does_not_tell_is_not_waited_for_long(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = await Phone.start(with_demo=True)

    async def silent(_: str) -> bool:
        return True

    monkeypatch.setattr(bridge, "history_instead", silent)
    monkeypatch.setattr("mobile.way.PATIENCE", 1)
    phone.app.way.trail = [DEMO + "/clamp"]
    await phone.app.show(DEMO + "/clamp")
    await phone.tap("Back")
    await phone.rest()
    assert phone.page.route == DEMO


@driven
async def test_without_a_browser_the_screens_are_shown_all_the_same() -> None:
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO)
    await phone.go(DEMO + "/clamp")
    await phone.tap("Back")
    await phone.rest()
    assert phone.page.route == DEMO and phone.app.way.trail == ["/", DEMO]


@driven
async def test_forward_after_back_is_a_step_on(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = await Phone.start(with_demo=True)
    page: Any = in_browser(phone, monkeypatch)
    await phone.go(DEMO)
    await key_back(phone)
    page.history.append(DEMO)  # the browser's key forward
    await page._routed(DEMO)
    await phone.rest()
    assert phone.app.way.trail == ["/", DEMO]
    await phone.tap("Back")
    await phone.rest()
    assert page.history == ["/"]
