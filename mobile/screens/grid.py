"""The worn-bore readings: one cell after another, from the pad, without scrolling."""

from __future__ import annotations

import asyncio
from typing import Any

import flet as ft

from logic import bore
from logic.say import L, Line, Qty, figure
from store import draft
from store.errors import Refused
from store.flow import work_of
from store.sheets import bores, sheet

from .. import parts, theme as th
from ..app import Screen
from ..pad import Pad
from .words import answer_line, answer_strip, cautions, unseen

class Grid(Screen):
    """A cylinder at a time: its cells as a small table, the cell asked for, and the pad."""

    scrolls = True

    async def load(self) -> None:
        self.id = self.found["id"]
        self.view = await self.app.view(self.id)
        self.title = L("Worn bores")
        self.up = f"/job/{self.id}"
        self.cells = bores.cells(self.view)
        self.waiting: set[Any] = set()
        self.unsaved: dict[int, tuple[str, Any]] = {}  # cell -> what was typed for it, and the entry that is not stored
        self.why: Line | str = ""  # why it is not
        self.status = ""
        kept = await self.app.jobs.setting(f"cell.{self.id}", None)
        self.at = kept if isinstance(kept, int) and 0 <= kept < len(self.cells) else self._first_empty()
        self.pad = Pad(self.app, entered=self._entered, changed=self._typed, undo=self._undo, next_word=L("Enter"))
        self._verdict_task: asyncio.Task | None = None
        self.verdict = ft.Container()
        self.table = ft.Column(spacing=4)
        self.tabs = ft.Row(spacing=6, scroll=ft.ScrollMode.AUTO)
        self._aim()

    # -- the cell asked for ------------------------------------------------------------
    def _first_empty(self) -> int:
        for i, cell in enumerate(self.cells):
            if not self.view.rivals(bores.READING.key, **cell):
                return i
        return 0

    def _value(self, cell: dict[str, Any]) -> Any:
        return self.view.get(bores.READING, **cell)

    def _aim(self) -> None:
        cell = self.cells[self.at]
        self.pad.aim(
            bores.READING,
            bores.cell_name(cell),
            text=self.unsaved[self.at][0] if self.at in self.unsaved else "",
            base_mm=bores.base_mm(self.view),
            division_mm=bores.division_mm(self.view),
        )

    async def _jump(self, e: Any) -> None:
        self.at = e.control.data
        self._aim()
        self._paint()
        self.app.update(self.tabs, self.table, self.pad.control)
        await self._keep_place()

    async def _keep_place(self) -> None:
        """Remember the cell asked for. That is a convenience: no message if there is no room for it."""
        try:
            await self.app.jobs.set_setting(f"cell.{self.id}", self.at)
        except Refused:
            pass

    async def _cylinder(self, e: Any) -> None:
        wanted = e.control.data
        first = [i for i, c in enumerate(self.cells) if c["cylinder"] == wanted]
        empty = [i for i in first if self._value(self.cells[i]) is None]
        self.at = (empty or first)[0]
        self._aim()
        self._paint()
        self.app.update(self.tabs, self.table, self.pad.control)

    # -- entering ------------------------------------------------------------------------
    async def _typed(self, got: Any) -> None:
        """A key was pressed: nothing is stored yet."""

    async def _entered(self, got: Any) -> None:
        cell = self.cells[self.at]
        key, typed = self.at, self.pad.text
        before = self._value(cell)
        entry = draft.reading(bores.READING, cell, got, replaces=before.entry.id if before else None)
        self.unsaved.pop(key, None)
        if self.at + 1 < len(self.cells):
            self.at += 1
        self._aim()
        if await self._store(key, typed, entry):
            await self._keep_place()

    async def _store(self, key: int, typed: str, entry: Any) -> bool:
        """Store the reading of a cell. What cannot be stored is kept for its own cell and said; entry goes on meanwhile."""
        self.waiting.add(key)
        self.status = self.t(L("Saving…"))
        self._paint()
        self.app.update(self.tabs, self.table, self.pad.control)
        try:
            await self.app.add(self.view, entry)
        except Exception as problem:
            self.unsaved[key] = typed, entry
            self.why = getattr(problem, "line", None) or L("Not saved: {why}", why=str(problem))
        else:
            self.unsaved.pop(key, None)
        self.waiting.discard(key)
        if not self.waiting:
            self.status = "" if self.unsaved else self.t(L("Saved"))
        self._paint()
        self.app.update(self.tabs, self.table)
        self._later()
        return key not in self.unsaved

    async def _again(self, e: Any) -> None:
        """Store what could not be stored before, the same entries in the same order."""
        for key, (typed, entry) in sorted(self.unsaved.items()):
            if not await self._store(key, typed, entry):
                return
            if key == self.at and self.pad.text == typed:
                self._aim()
                self.app.update(self.pad.control)

    async def renewed(self) -> None:
        cells = bores.cells(self.view)
        if cells != self.cells:  # another number of cylinders or depths: the places are counted anew
            self.cells, self.unsaved, self.waiting = cells, {}, set()
            self.at = self._first_empty()
            self.redraw()
            return
        self._paint()
        self.app.update(self.tabs, self.table)
        self._later()

    async def _undo(self) -> None:
        """Take back the last reading entered on this screen's grid."""
        last = None
        for entry in self.view.live():
            if entry.kind == "reading" and entry.what == bores.READING.key and entry.device == self.app.jobs.device:
                last = entry
        if last is None:
            self.app.toast(L("There is no reading to take back"))
            return
        await self.app.add(self.view, draft.withdrawn(last.id))
        for i, cell in enumerate(self.cells):
            if cell == last.at:
                self.at = i
        self._aim()
        self._paint()
        self.app.update(self.tabs, self.table, self.pad.control)
        self._later()

    def _later(self) -> None:
        """Work the verdict out once the keys rest."""
        if self._verdict_task and not self._verdict_task.done():
            self._verdict_task.cancel()
        self._verdict_task = asyncio.create_task(self._think())

    async def _think(self) -> None:
        await asyncio.sleep(0.01)
        self._verdict()
        if self.app.screen is self:
            self.app.update(self.verdict)

    def _verdict(self) -> None:
        """The job's verdict, in one line, as far as the readings go."""
        if self.unsaved:
            ink = "onerrorcontainer"
            self.verdict.content = ft.Semantics(
                container=True,
                live_region=True,
                content=parts.card(
                    ft.Row([ft.Icon(ft.Icons.ERROR, color=ink), parts.text(self.t(self.why), th.BODY, bold=True, color=ink, expand=True)]),
                    parts.button(self.t(L("Save again what was not saved: {n}", n=str(len(self.unsaved)))), self._again, icon=ft.Icons.REFRESH),
                    bg="errorcontainer",
                ),
            )
            return
        work = work_of(self.view, sheet("oversize"))
        if work.results:
            self.verdict.content = answer_strip(self.app, work.results[0], size=th.LARGE) if self._tall() else answer_line(self.app, work.results[0])
        else:
            done = sum(1 for c in self.cells if self._value(c) is not None)
            self.verdict.content = parts.muted(
                self.t(L("{done} of {all} readings in. The verdict comes as the bores fill.", done=str(done), all=str(len(self.cells)))), th.BODY
            )

    # -- painting ---------------------------------------------------------------------
    def _paint(self) -> None:
        now = self.cells[self.at]
        self.tabs.controls = [
            ft.Button(
                content=ft.Row(
                    [
                        ft.Text(str(c), size=th.LARGE, weight=ft.FontWeight.W_700, semantics_label=self.t(L("Cylinder {n}", n=str(c)))),
                        *([ft.Icon(ft.Icons.CHECK, size=16, semantics_label=self.t(L("all entered")))] if self._full(c) else []),
                    ],
                    spacing=2,
                    alignment=ft.MainAxisAlignment.CENTER,
                    tight=True,
                ),
                on_click=self._cylinder,
                data=c,
                height=th.TOUCH,
                style=parts.style(
                    "primary" if c == now["cylinder"] else "surfacecontainerhigh",
                    "onprimary" if c == now["cylinder"] else "onsurface",
                    pad=ft.Padding.symmetric(horizontal=10),
                ),
            )
            for c in self.view.cylinders
        ]
        mine = [(i, c) for i, c in enumerate(self.cells) if c["cylinder"] == now["cylinder"]]
        axes = list(dict.fromkeys(c["axis"] for _, c in mine))
        depths = list(dict.fromkeys(c["depth"] for _, c in mine))
        by = {(c["depth"], c["axis"]): i for i, c in mine}
        label = 74
        rows = [
            ft.Row(
                [ft.Container(parts.muted(self.status, max_lines=1), width=label)]
                + [ft.Container(parts.muted(self.t(bore.axis_name(a)), text_align=ft.TextAlign.CENTER, max_lines=1), expand=True) for a in axes],
                spacing=4,
            )
        ]
        for d in depths:
            depth = bores.depth_mm(self.view, d)
            rows.append(
                ft.Row(
                    [ft.Container(parts.text(figure(Qty(depth, "place"), self.app.style), th.SMALL, bold=True), width=label)]
                    + [self._cell(by[d, a]) for a in axes if (d, a) in by],
                    spacing=4,
                )
            )
        self.table.controls = rows

    def _tall(self) -> bool:
        """Whether there is room for the verdict in large type above the table."""
        rows = len(bores.depths(self.view))
        return self.app.height >= 560 + th.TOUCH * (rows + 1)

    def _full(self, cylinder: int) -> bool:
        return all(self._value(c) is not None for c in self.cells if c["cylinder"] == cylinder)

    def _cell(self, i: int) -> ft.Control:
        cell = self.cells[i]
        got = self._value(cell)
        here = i == self.at
        if i in self.unsaved and i not in self.waiting:
            face = self.t(L("{value} not saved", value=self.unsaved[i][0]))
        elif got is None:
            face = "…" if i in self.waiting else "?" if here else "–"
        else:
            face = figure(Qty(got.value, bores.READING.kind), self.app.style)
        spoken = f"{self.t(bores.cell_name(cell))}: {face}"
        return ft.Button(
            content=ft.Text(face, size=th.BODY, weight=ft.FontWeight.W_700, semantics_label=spoken, no_wrap=True),
            on_click=self._jump,
            data=i,
            expand=True,
            height=th.TOUCH,
            style=parts.style(
                "primarycontainer" if here else "surfacecontainer",
                "onprimarycontainer" if here else "onsurface",
                side="error" if i in self.unsaved else "primary" if here else None,
                pad=0,
            ),
        )

    def body(self) -> list[ft.Control]:
        self.to_read = unseen(self.view, bores.CAUTIONS)
        if self.to_read:
            return [cautions(self.app, self.to_read)]
        self._verdict()
        self._paint()
        self._aim_keep()
        out = [self.tabs, self.table]
        out.insert(0 if self._tall() else 2, self.verdict)
        out.append(
            parts.button(self.t(L("Wear side, gauge, depths, pictures")), self._settings, icon=ft.Icons.STRAIGHTEN)
        )
        return out

    def _aim_keep(self) -> None:
        """Aim again for a new style without losing what is typed."""
        text, error = self.pad.text, self.pad.error
        self._aim()
        self.pad.text, self.pad.error = text, error
        self.pad._paint()

    async def _settings(self, e: Any) -> None:
        await self.app.go(f"/job/{self.id}/gauge")

    def foot(self) -> ft.Control | None:
        if self.to_read:
            return ft.Container(
                padding=ft.Padding.symmetric(horizontal=th.EDGE, vertical=8),
                content=ft.Row([parts.button(self.t(L("I have read this")), self._seen, icon=ft.Icons.CHECK, primary=True, expand=True, height=56, size=th.LARGE)]),
            )
        return self.pad.control

    async def _seen(self, e: Any) -> None:
        await self.app.add(self.view, *[draft.caution(c.key) for c in self.to_read])
        self.redraw()

    async def key(self, key: str) -> None:
        await self.pad.key(key)
