"""The first screen drawn once for nobody, where the memory is made that later starts begin with.

What Python works out on the way (how each kind of control is sent, which instructions
suit it, how wide each letter is) is then in that memory. Nothing that belongs to one
start stays in it: the store is in memory and is dropped with the page, and neither the
browser nor the page round Python is asked for anything.
"""

from __future__ import annotations

import asyncio
from typing import Any

import msgpack
from flet.controls.base_control import BaseControl
from flet.messaging.connection import Connection
from flet.messaging.protocol import (
    Message,
    MessageAction,
    RegisterClientResponseBody,
    configure_encode_object_for_msgpack,
)
from flet.messaging.session import Session
from flet.pubsub.pubsub_hub import PubSubHub

from store.jobs import Jobs
from store.memory import MemoryBackend

from .app import App

__all__ = ["rehearse"]

#: How often it is drawn: Python settles on how to run a function after a few of its calls.
_TIMES = 4


class Nobody(Connection):
    """Takes what is sent as the browser's page would, packed, and drops it. ``sent`` is how many bytes that was."""

    def __init__(self) -> None:
        made: Any = super()  # the library leaves some of it without types
        made.__init__()
        self.loop = asyncio.get_running_loop()
        self.pubsubhub = PubSubHub()
        self.sent = 0

    def send_message(self, message: Message) -> None:
        packer: Any = configure_encode_object_for_msgpack
        self.sent += len(msgpack.packb([message.action, message.body], default=packer(BaseControl)))


async def _store() -> Jobs:
    return await Jobs.open(MemoryBackend())


async def rehearse() -> int:
    """Draw the first screen of a phone that has no jobs; how many bytes its page was sent, over all."""
    sent = 0
    for _ in range(_TIMES):
        nobody = Nobody()
        session: Any = Session(nobody)
        session.apply_page_patch({"route": "/", "width": 390.0, "height": 844.0})
        hello = RegisterClientResponseBody(session_id=session.id, page_patch=session.get_page_patch(), error="")
        nobody.send_message(Message(MessageAction.REGISTER_CLIENT, hello))
        await App(session.page, _store).rehearse()
        sent += nobody.sent
    return sent
