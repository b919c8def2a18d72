"""What is drawn for nobody, for the memory that later starts begin with: the first screen whole, and nothing of it stays."""

from __future__ import annotations

import asyncio
import gc
from typing import Any

import pytest
from flet.messaging.protocol import Message, MessageAction
from flet.messaging.session import Session

from mobile import app, rehearsal
from store.memory import MemoryBackend

from .stub import Phone


def test_the_first_screen_is_packed_whole_and_nothing_of_it_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    took: list[Message] = []
    send = rehearsal.Nobody.send_message

    def taken(self: rehearsal.Nobody, message: Message) -> None:
        took.append(message)
        send(self, message)

    monkeypatch.setattr(rehearsal.Nobody, "send_message", taken)
    sent = asyncio.run(rehearsal.rehearse())
    screens = [str(m.body) for m in took if m.action == MessageAction.PATCH_CONTROL]
    assert len(screens) == len(took) / 2 > 1 and sent > 5000 * len(screens)

    async def shown() -> str:
        return (await Phone.start()).text()

    # every line of the first screen as a person gets it
    for line in asyncio.run(shown()).splitlines():
        assert line in screens[0], line
    took.clear()
    gc.collect()

    def left(*kinds: type[Any]) -> list[str]:
        return [type(o).__name__ for o in gc.get_objects() if isinstance(o, kinds)]

    assert left(Session, app.App, rehearsal.Nobody, MemoryBackend) == []
    assert app._begun == []


def test_the_storage_that_answered_before_anybody_asked_is_told_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    jobs = object()

    async def answers(answered: Any) -> object:
        answered()
        return jobs

    async def go() -> None:
        monkeypatch.setattr(app, "_open_jobs", answers)
        app.open_ahead()
        (opening,) = app._begun
        await asyncio.sleep(0)
        heard: list[str] = []
        opening.tell(lambda: heard.append("answers"))
        assert heard == ["answers"]
        # who asks first takes it; who asks later opens a store of its own
        first = app.App.__new__(app.App)
        first._answers = False
        assert await first._open() is jobs and first._answers and app._begun == []
        assert await first._open() is jobs

    asyncio.run(go())
