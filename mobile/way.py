"""The way through the screens, kept in step with the browser's history.

Each screen stands in the history once: going to one that is behind goes back to it, and
leaves nothing of the way in between. So the phone's back key goes back a screen at a time
and in the end leaves the app, however often somebody went up and down in it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

from . import bridge

__all__ = ["Way"]

#: So many tenths of a second the page has for telling of a route that took the place of another.
PATIENCE = 10


def _plain(route: str) -> str:
    return "/" + route.split("?", maxsplit=1)[0].strip("/")


class Way:
    """``push`` adds a route to the history and shows it; ``show`` only shows one."""

    def __init__(self, push: Callable[[str], Awaitable[None]], show: Callable[[str], Awaitable[None]]) -> None:
        self._push, self._show = push, show
        self._heard = 0  # how often a route was told
        #: The screens behind and, last, the one that is on show.
        self.trail: list[str] = []

    def came(self, route: str) -> None:
        """A route is on show now: gone to, or gone back to by the browser's or the phone's own key."""
        here = _plain(route)
        self._heard += 1
        if here in self.trail:
            del self.trail[self.trail.index(here) + 1 :]
        else:
            self.trail.append(here)

    async def go(self, route: str) -> None:
        """Go to a screen: back to it where it is behind."""
        there = _plain(route)
        if self.trail and there == self.trail[-1]:
            await self._show(there)
        elif not await self._returned(there):
            await self._push(route)

    async def back(self, up: str) -> None:
        """Go up from the screen on show: back where ``up`` is behind, else ``up`` takes the place of this screen."""
        there = _plain(up)
        if await self._returned(there):
            return
        before, here = self._heard, self.trail[-1:]
        if here:
            self.trail[-1] = there  # before the page is asked: it may tell of the route before it answers
            if await bridge.history_instead(there):
                for _ in range(PATIENCE):  # the page tells of it, if its history is as this code knows it
                    if self._heard != before:
                        return
                    await asyncio.sleep(0.1)
            elif self._heard == before:
                self.trail[-1] = here[0]
        await self._push(there)

    async def _returned(self, there: str) -> bool:
        """Whether the browser goes back to a screen that is behind."""
        if there not in self.trail[:-1]:
            return False
        return await bridge.history_back(len(self.trail) - 1 - self.trail.index(there))
