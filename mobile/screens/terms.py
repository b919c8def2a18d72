"""The words of the trade used in the app."""

from __future__ import annotations

import flet as ft

from logic.result import source_said
from logic.say import L

from .. import parts, theme as th
from ..app import Screen


class Terms(Screen):
    title = L("Words of the trade")
    up = "/more"

    async def load(self) -> None:
        from logic.glossary import TERMS

        self.terms = sorted(TERMS, key=lambda term: self.t(term.term).casefold())

    def body(self) -> list[ft.Control]:
        return [
            ft.Column(
                [parts.text(self.t(term.term), th.LARGE, bold=True), parts.text(self.t(term.meaning)), parts.muted(self.t(L("Source: {source}", source=source_said(term.source))))],
                spacing=2,
            )
            for term in self.terms
        ]
