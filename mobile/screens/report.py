"""Handing over: the customer's report, and the readings for a spreadsheet."""

from __future__ import annotations

import asyncio
import time
from typing import TYPE_CHECKING

import flet as ft

from logic.say import L
from store.sheets import all_sheets
from store.table import table

from .. import parts
from ..shell import Pressed, Screen, Ticked
from .exchange import hand_over

if TYPE_CHECKING:
    from store.view import View


class Report(Screen):
    title = L("Report")

    async def load(self) -> None:
        self.id = self.found["id"]
        self.up = f"/job/{self.id}"
        self.view = await self.app.view(self.id)
        self.photos, self.annex = True, False
        self.busy = ft.Container()

    @property
    def document_shown(self) -> View:
        return self.view

    def body(self) -> list[ft.Control]:
        t = self.t
        return [
            parts.text(
                t(L("Two pages for the customer: before and after, what was decided and why, parts, lines to sign."))
            ),
            parts.tick(
                t(L("With the annex: every step and every reading")),
                self._with_annex,
                value=self.annex,
                width=self.app.frame.room,
            ),
            parts.tick(t(L("With the photos")), self._with_photos, value=self.photos, width=self.app.frame.room),
            self.busy,
            parts.button(t(L("PDF, A4")), self._make, data="A4", icon=ft.Icons.PICTURE_AS_PDF, primary=True, height=56),
            parts.button(t(L("PDF, Letter")), self._make, data="Letter", icon=ft.Icons.PICTURE_AS_PDF, height=56),
            parts.button(t(L("Web page, one file")), self._make, data="html", icon=ft.Icons.WEB, height=56),
            parts.heading(t(L("For a spreadsheet"))),
            parts.text(t(L("Every standing reading, choice and decision as a table, with the units in its heading."))),
            parts.button(
                t(L("Table of readings (CSV)")), self._make, data="csv", icon=ft.Icons.TABLE_CHART_OUTLINED, height=56
            ),
        ]

    async def _with_annex(self, e: Ticked) -> None:
        self.annex = bool(e.control.value)

    async def _with_photos(self, e: Ticked) -> None:
        self.photos = bool(e.control.value)

    async def _make(self, e: Pressed) -> None:
        kind = str(e.control.data)
        self.busy.content = ft.ProgressBar(semantics_label=self.t(L("Writing the report")))
        self.app.update(self.busy)
        await asyncio.sleep(0.05)  # let the bar be seen before the work
        try:
            data, ending = await self._bytes(kind)
            await hand_over(self.app, self.view.word("title") or "job", ending, data)
        finally:
            self.busy.content = None
            self.app.update(self.busy)

    async def _bytes(self, kind: str) -> tuple[bytes, str]:
        if kind == "csv":
            fields = {key: f for s in all_sheets() for key, f in s.fields.items()}
            return table(
                [self.view.document.model_copy(update={"entries": tuple(self.view.entries.values())})],
                fields,
                self.app.style,
            ), "csv"
        from store import report

        pictures = {}
        if self.photos:
            for p in self.view.photos:
                kept = await self.app.jobs.get_photo(p.digest)
                if kept:
                    pictures[p.digest] = kept[1]
        shop = str(await self.app.jobs.setting("shop", "") or "").splitlines()
        view, style, offset = self.view, self.app.style, time.localtime().tm_gmtoff // 60
        if kind == "html":
            page = report.html_report(view, style, offset_minutes=offset, photos=pictures, annex=self.annex, shop=shop)
            return page.encode(), "html"
        paper = report.pdf_report(
            view, style, paper=kind, offset_minutes=offset, photos=pictures, annex=self.annex, shop=shop
        )
        return paper, "pdf"
