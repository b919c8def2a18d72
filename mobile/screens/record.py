"""A machine's record: what its jobs have shown, as control charts; and its straightness check."""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from logic.result import Verdict
from logic.say import LN, L
from store import straight
from store.machine_page import charts, names_carried, page, rows_of

from .. import parts
from .. import theme as th
from ..pictures import painted
from ..shell import Screen, Ticked
from .exchange import hand_over, save_export
from .kit import Card

if TYPE_CHECKING:
    from store.view import View

_MACHINES = ("bar", "hone")
_WORDS = {Verdict.GO: L("As usual"), Verdict.MAYBE: L("Look at it"), Verdict.INFO: L("So far")}


class Record(Screen):
    async def load(self) -> None:
        self.id = self.found["id"]
        self.up = f"/kit/{self.id}"
        self.view = await self.app.view(self.id)
        if self.view.document.type != "card":
            raise KeyError(self.id)
        self.title = L("{name}: record", name=self.view.word("title"))
        self.here = await self.app.records(self.id)
        self.charts = charts(self.view, self.here)
        self.names: list[str] | None = None
        self.sends_names = False

    @property
    def document_shown(self) -> View:
        return self.view

    def body(self) -> list[ft.Control]:
        t = self.t
        out: list[ft.Control] = []
        if not self.charts:
            out.append(parts.text(t(L("Nothing yet: the record grows with every job that has this card chosen."))))
        for one in self.charts:
            if one.result.verdict == Verdict.INFO:  # no verdict yet: what there is so far
                out.append(parts.text(t(one.result.line), th.BODY, bold=True))
            else:
                said = t(_WORDS[one.result.verdict])
                out.append(parts.strip(one.result.verdict, said, t(one.result.line), size=th.LARGE))
            if one.picture is not None:
                out.append(painted(self.app, one.picture, titled=False))
            out += [parts.muted(t(w)) for w in one.result.why]
        if self.charts:
            out.append(parts.button(t(L("Web page to print")), self._print, icon=ft.Icons.PRINT))
        if self.view.word("card") in _MACHINES:
            out += self._machine()
        return out

    def _machine(self) -> list[ft.Control]:
        t = self.t
        out: list[ft.Control] = []
        if self.view.word("card") == "bar":
            route = f"/kit/{self.id}/straight"
            out.append(parts.button(t(straight.SHEET.title), self.follow, data=route, icon=ft.Icons.STRAIGHTEN))
        if self.names is not None:
            out += [parts.heading(t(L("The jobs it rests on"))), *(parts.text(name) for name in self.names)]
        elif self.charts:
            out.append(parts.button(t(L("Show whose jobs it rests on")), self._whose, icon=ft.Icons.LIST))
        out.append(parts.heading(t(L("For another device"))))
        out.append(
            parts.text(t(L("The card goes into a file with its record: sums of the jobs, nothing of the customers.")))
        )
        wide = self.app.frame.room
        out.append(
            parts.tick(t(L("Name the jobs it rests on in the file")), self._tick, value=self.sends_names, width=wide)
        )
        out.append(parts.button(t(L("Save this card to a file")), self._save, icon=ft.Icons.SAVE_ALT))
        return out

    def foot(self) -> ft.Control:
        said = self.t(L("Back to the card"))
        return parts.foot_button(said, self.follow, ft.Icons.ARROW_BACK, data=self.up)

    async def _tick(self, e: Ticked) -> None:
        self.sends_names = bool(e.control.value)

    async def _whose(self) -> None:
        """The names of the jobs, those of other devices only where they were sent along."""
        carried = names_carried(self.view)
        listed = {s.id: s.title for s in await self.app.jobs.list("job")}
        rows = rows_of(self.view, self.here)
        named = [listed.get(r.job) or carried.get(r.job, "") for r in rows]
        unnamed = sum(not name for name in named)
        self.names = [name for name in named if name]
        if unnamed:
            self.names.append(
                self.t(LN("One job more, of another device.", "{n} jobs more, of other devices.", unnamed))
            )
        self.redraw()

    async def _print(self) -> None:
        text = page(self.view, self.charts, self.app.style, self.names or ())
        await hand_over(self.app, self.view.word("title"), "html", text.encode())

    async def _save(self) -> None:
        await save_export(self.app, [self.id], self.view.word("title"), names=self.sends_names)


class Straight(Card):
    """The straightness check of a machine: the same layout as a step of a job, on the machine's card."""

    leave = L("Back to the card")

    async def load(self) -> None:
        self.id = self.found["id"]
        view = await self.app.view(self.id)
        if view.document.type != "card" or view.word("card") != "bar":
            raise KeyError(self.id)
        self.name = "straight"
        self.up = f"/kit/{self.id}/record"
        self._open(view, straight.SHEET)

    def _skip(self) -> list[ft.Control]:
        """There is nothing to leave out."""
        return []
