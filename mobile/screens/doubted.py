"""Doubts about what was entered, where the person is: what they are, and large buttons that settle them."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence

import flet as ft

from logic.doubt import Doubt, Place, held_by
from logic.result import Result
from logic.say import L, Qty
from store.doubting import Way, checked, corrected, likely_value, ways
from store.facts import gauging
from store.fields.bores import READING
from store.view import View

from .. import parts
from .. import theme as th
from ..shell import Pressed, Shell

__all__ = ["Doubted", "wanted"]

#: The value somebody went to correct, by job: the screen that comes up asks for it.
wanted: dict[str, Place] = {}
#: So many doubts are shown; the next come when these are settled.
MOST = 2
INK = "onsecondarycontainer"


class Doubted:
    """A card for each doubt. ``settled`` is told when one was answered, so that the screen shows what holds now."""

    def __init__(self, app: Shell, settled: Callable[[], Awaitable[None]]) -> None:
        self.app, self._settled = app, settled
        self.control = parts.column()
        self.control.visible = False
        self.view: View | None = None
        self._shown: object = None  # what the cards were built for: built anew, they would lose a tap

    def show(self, view: View, doubts: Sequence[Doubt], above: Result | None = None) -> ft.Control:
        """Show the first of ``doubts`` about ``view``. ``above`` is the result right above them: what its sentence says is
        not said again."""
        said = None if above is None else held_by(above)
        made_of = (view, tuple(doubts[:MOST]), said, self.app.style)
        if (self.view, self._shown) != (view, made_of):
            self.view, self._shown = view, made_of
            self.control.controls = [self._card(view, d, named=d.line != said) for d in doubts[:MOST]]
            self.control.visible = bool(doubts)
        return self.control

    def _card(self, view: View, doubt: Doubt, *, named: bool) -> ft.Control:
        t = self.app.t
        words = parts.text(t(doubt.line), th.BODY, bold=True, color=INK, expand=True)
        buttons = [*self._likely(view, doubt), *self._ways(view, doubt)]
        stands = parts.button(
            t(L("Checked, still right")), self._checked, data=doubt, icon=ft.Icons.CHECK, height=th.TOUCH
        )
        return parts.card(
            *([ft.Row([parts.sign(ft.Icons.HELP, INK), words])] if named else []),
            parts.text(t(doubt.settle), th.BODY, color=INK),
            *buttons,
            stands,
            bg="secondarycontainer",
        )

    def _likely(self, view: View, doubt: Doubt) -> list[ft.Control]:
        found = likely_value(view, doubt)
        if found is None:
            return []
        field, _, value = found
        label = self.app.t(L("It is {likely}", likely=Qty(value, field.kind)))
        return [parts.button(label, self._take, data=doubt, icon=ft.Icons.AUTO_FIX_HIGH, height=th.TOUCH)]

    def _ways(self, view: View, doubt: Doubt) -> list[ft.Control]:
        return [
            parts.button(
                self.app.t(L("Correct: {what}", what=way.name)),
                self.go,
                data=way,
                icon=ft.Icons.EDIT,
                height=th.TOUCH,
            )
            for way in ways(view, doubt)[:3]
        ]

    def first_way(self, view: View, doubts: Sequence[Doubt]) -> Way | None:
        """What to correct first; None where nothing is in doubt."""
        self.view = view
        return next((way for doubt in doubts[:1] for way in ways(view, doubt)), None)

    async def go(self, e: Pressed) -> None:
        """To where the value that was pressed is corrected."""
        way: Way = e.control.data
        if self.view is None:
            return
        wanted[self.view.id] = way.about
        if way.about[0] == READING.key:
            at = dict(way.about[1])
            places = gauging.cells(self.view)
            cell = next((i for i, c in enumerate(places) if all(c[k] == v for k, v in at.items())), 0)
            await self.app.jobs.set_setting(f"cell.{self.view.id}", cell)
        await self.app.go(f"/job/{self.view.id}/{way.part}")

    async def _take(self, e: Pressed) -> None:
        doubt: Doubt = e.control.data
        if self.view is None:
            return
        entry = corrected(self.view, doubt, self.app.style)
        if entry is not None:
            await self.app.add(self.view, entry)
        await self._settled()

    async def _checked(self, e: Pressed) -> None:
        doubt: Doubt = e.control.data
        if self.view is not None:
            await self.app.add(self.view, checked(doubt))
        await self._settled()
