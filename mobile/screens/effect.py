"""What a correction changed further down the job, worked out while nobody waits for it."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

import flet as ft

from logic.flow import Change
from logic.say import LN, L
from store import flow
from store.sheets import all_sheets

from .. import parts
from .. import theme as th
from ..shell import Screen

if TYPE_CHECKING:
    from store.documents import Entry
    from store.view import View

#: Seconds without another entry before the work begins.
REST = 0.4
#: Seconds left for key presses between one step and the next.
PAUSE = 0.02
#: Answers shown; the rest is counted.
MOST = 4


class Effect:
    """The card that says what a correction changed. Step by step, with room for key presses between."""

    def __init__(self, screen: Screen) -> None:
        self.screen, self.app = screen, screen.app
        self.control = parts.column()
        self.control.visible = False
        self._task: asyncio.Task[None] | None = None

    def forget(self, *, tell: bool = True) -> tuple[ft.Control, ...]:
        """Another entry is made: what is on show no longer holds. Gives what is left to send where not told to send it."""
        if self._task is not None and not self._task.done():
            self._task.cancel()
        if not self.control.visible:
            return ()
        self.control.visible = False
        if not tell:
            return (self.control,)
        self.app.update(self.control)
        return ()

    def work_out(self, view: View, replaced: Entry) -> None:
        """Begin to find what changed with the entry that now stands in ``view`` for the entry ``replaced``."""
        self.forget()
        made = [e.id for e in view.entries.values() if e.replaces == replaced.id]
        self._task = asyncio.create_task(self._find(view, made))

    async def _find(self, view: View, made: list[str]) -> None:
        await asyncio.sleep(REST)
        before = flow.without(view, made)
        found: list[Change] = []
        for sheet in all_sheets():
            found += flow.ripple(before, view, [sheet])
            await asyncio.sleep(PAUSE)
        if self.app.screen is not self.screen:
            return
        self.control.controls = self._said(sorted(found, key=lambda c: not c.flipped))
        self.control.visible = True
        self.app.update(self.control)

    def _said(self, found: list[Change]) -> list[ft.Control]:
        t = self.app.t
        if not found:
            return [parts.muted(t(L("This correction changed no answer.")), th.BODY)]
        ink = "onprimarycontainer"
        rows: list[ft.Control] = [parts.text(t(L("This correction changed:")), th.BODY, bold=True, color=ink)]
        for change in found[:MOST]:
            line = change.after or L("{line} This answer is gone.", line=change.before)
            was = change.before if change.flipped and change.before is not None and change.after is not None else None
            rows.append(
                ft.Column(
                    [
                        parts.text(
                            t(L("{step}: {line}", step=change.title, line=line)),
                            th.BODY,
                            bold=change.flipped,
                            color=ink,
                        ),
                        *(
                            [parts.text(t(L("Before: {line}", line=was)), th.SMALL, color=ink)]
                            if was is not None
                            else []
                        ),
                    ],
                    spacing=0,
                )
            )
        if len(found) > MOST:
            rows.append(
                parts.text(t(LN("and {n} more answer", "and {n} more answers", len(found) - MOST)), th.SMALL, color=ink)
            )
        return [ft.Semantics(container=True, live_region=True, content=parts.card(*rows, bg="primarycontainer"))]
