"""The person's own machines and gauges: a card for each, with its constants and its checks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from logic.say import L
from store import cards
from store.roles import ROLES

from .. import parts
from .. import theme as th
from ..shell import Pressed, Screen
from .step import Step

if TYPE_CHECKING:
    from store.documents import Entry
    from store.jobs import Summary
    from store.sheets import Work
    from store.view import Value


class Kit(Screen):
    title = L("My kit")
    up = "/more"

    async def load(self) -> None:
        self.list = await self.app.jobs.list("card")
        self.choosing = not self.list  # what the new card is for
        self.role: str | None = None
        self.name: ft.TextField | None = None

    def body(self) -> list[ft.Control]:
        about = L("A card keeps what is always the same about one machine or gauge, and what its checks have shown.")
        return [
            *([parts.text(self.t(about))] if self.role is None else []),
            *(self._new() if self.choosing else [self._row(s) for s in self.list]),
        ]

    def _new(self) -> list[ft.Control]:
        """What a new card is for, one key each; then its name."""
        t = self.t
        out: list[ft.Control] = [parts.heading(t(L("New card")))]
        if self.role is None:
            out += [
                parts.button(t(ROLES[role]), self._pick, data=role, icon=ft.Icons.ADD, height=56)
                for role in cards.ROLES
            ]
        else:
            self.name = ft.TextField(
                label=t(L("What you call it")),
                autofocus=True,
                on_submit=self._make,
                text_size=th.LARGE,
                border_color="outline",
            )
            out += [parts.text(t(ROLES[self.role]), th.BODY, bold=True), self.name]
        return out

    def foot(self) -> ft.Control | None:
        if not self.choosing:
            return parts.foot_button(self.t(L("New card")), self._begin, ft.Icons.ADD)
        row: list[ft.Button] = []
        if self.list or self.role is not None:
            row.append(parts.button(self.t(Card.leave), self._end, expand=1, height=56))
        if self.role is not None:
            row.append(parts.button(self.t(L("Make the card")), self._make, primary=True, expand=2, height=56))
        return parts.foot(*row) if row else None

    async def _begin(self) -> None:
        self.choosing = True
        self.redraw()

    async def _end(self) -> None:
        self.choosing, self.role = not self.list, None
        self.redraw()

    def _row(self, s: Summary) -> ft.Control:
        words = [parts.text(s.title or "–", th.LARGE, bold=True), parts.muted(self.t(ROLES.get(s.card, s.card)))]
        return parts.row_button(
            ft.Row(
                [
                    ft.Column([*words], spacing=0, expand=True, tight=True),
                    parts.sign(ft.Icons.CHEVRON_RIGHT, "onsurfacevariant"),
                ]
            ),
            self.follow,
            data=f"/kit/{s.id}",
        )

    async def _pick(self, e: Pressed) -> None:
        self.role = e.control.data
        self.redraw()

    async def _make(self) -> None:
        field = self.name
        if field is None:
            return
        name = (field.value or "").strip()[:200]
        if not name:
            field.error = self.t(L("Give it a name you will know it by."))
            self.app.update(field)
            return
        document = await self.app.jobs.create("card", by=self.app.by, card=self.role, title=name)
        self.app.forget()
        await self.app.go(f"/kit/{document.id}")


class Card(Step):
    """One card: the same layout as a step of a job, on the card's own sheet."""

    leave = L("Back to the cards")

    async def load(self) -> None:
        self.id = self.found["id"]
        view = await self.app.view(self.id)
        if view.document.type != "card":
            raise KeyError(self.id)
        self.name = view.word("card")
        self.up = "/kit"
        self._open(view, cards.sheet(self.name))
        self.title = L("{name}", name=view.word("title"))

    def _worked(self) -> Work:
        return self.sheet.work(self.view)

    async def _look_round(self) -> None:
        """Nothing upstream of a card, and no step after it."""

    def _corrected(self, before: Value[float | str] | None) -> None:
        """A card's own answer is on the screen; what jobs make of it is worked out there."""

    def _skip(self) -> list[ft.Control]:
        """A card has nothing to leave out; it has a record, and can go to the bin."""
        t, record = self.t, f"/kit/{self.id}/record"
        shown = self.name in ("bar", "hone") or cards.ROLES[self.name].checked
        return [
            *([parts.button(t(L("Its record")), self.follow, data=record, icon=ft.Icons.SHOW_CHART)] if shown else []),
            parts.button(t(L("Put this card in the bin")), self._bin, icon=ft.Icons.DELETE_OUTLINE),
        ]

    async def _append(self, *entries: Entry, quiet: bool = False) -> bool:
        done = await super()._append(*entries, quiet=True)
        self.app.cards = {}  # jobs that use this card read it afresh
        for id in [i for i, v in self.app.views.items() if v is not self.view]:
            self.app.forget(id)
        if not quiet:
            self.redraw()
        return done

    async def _bin(self) -> None:
        await self.app.jobs.delete(self.id, by=self.app.by)
        self.app.forget()
        await self.app.go("/kit")
