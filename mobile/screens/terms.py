"""The words of the trade used in the app."""

from __future__ import annotations

import flet as ft

from logic.glossary import TERMS, TRADE
from logic.result import source_said
from logic.say import L

from .. import parts
from .. import theme as th
from ..shell import Screen, TypedIn


class Terms(Screen):
    title = L("Words of the trade")
    up = "/more"

    async def load(self) -> None:
        self.terms = sorted(TERMS, key=lambda term: self.t(term.name).casefold())
        self.find = ""

    def body(self) -> list[ft.Control]:
        self.rows = ft.Column(self._rows(), spacing=2 * th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        return [
            ft.TextField(
                label=self.t(L("Find a word")),
                value=self.find,
                on_change=self._find,
                prefix_icon=ft.Icons.SEARCH,
                text_size=th.BODY,
                border_color="outline",
            ),
            parts.muted(self.t(L("Where no source is named, it is how the trade speaks."))),
            self.rows,
        ]

    def _rows(self) -> list[ft.Control]:
        wanted = self.find.casefold()
        found = [term for term in self.terms if wanted in f"{self.t(term.name)} {self.t(term.meaning)}".casefold()]
        if not found:
            return [parts.muted(self.t(L("No word like this is explained here.")), th.BODY)]
        return [
            ft.Column(
                [
                    parts.heading(self.t(term.name)),
                    parts.text(self.t(term.meaning)),
                    *(
                        [parts.muted(self.t(L("Source: {source}", source=source_said(term.source))))]
                        if term.source != TRADE
                        else []
                    ),
                ],
                spacing=2,
            )
            for term in found
        ]

    async def _find(self, e: TypedIn) -> None:
        self.find = e.control.value or ""
        self.rows.controls = self._rows()
        self.app.update(self.rows)
