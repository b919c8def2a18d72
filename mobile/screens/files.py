"""Files: export, import as a merge, the bin, and the demo."""

from __future__ import annotations

import re
from typing import Any

import flet as ft

from logic.say import L

from .. import parts, theme as th
from ..app import Screen, now_ms
from .words import when


async def save_export(app: Any, ids: list[str] | None, name: str) -> None:
    """Hand one export file to the browser (or, on a computer, to a save dialogue)."""
    data = await app.jobs.export(ids)
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "jobs"
    file = f"boreside-{stem}-{when(now_ms())[:10]}.json"
    await ft.FilePicker().save_file(file_name=file, src_bytes=data)
    app.toast(L("{file} handed over", file=file))


async def load_demo(app: Any) -> None:
    """Merge the invented demo job and kit into this device."""
    import demo

    added = await demo.load(app.jobs)
    app.forget()
    app.toast(L("Demo loaded: invented engine, customer and machines") if added else L("The demo is already here"))


class Files(Screen):
    title = L("Files")
    up = "/more"

    async def load(self) -> None:
        self.list = await self.app.jobs.list("job")
        self.bin = await self.app.jobs.list("job", deleted=True)
        self.found_file: Any = None
        self.problem: Any = None
        self.report: Any = None

    def body(self) -> list[ft.Control]:
        t = self.t
        latest = max((s.last_export_ms or 0 for s in self.list), default=0)
        out = [
            parts.heading(t(L("Keep a copy"))),
            parts.text(t(L("Everything is stored on this device only. A file is your backup and the way to the shop computer."))),
            parts.muted(t(L("Last saved to a file: {when}", when=when(latest))) if latest else t(L("Never saved to a file yet."))),
            parts.button(t(L("Save all jobs to a file")), self._all, icon=ft.Icons.SAVE_ALT, primary=True, height=56),
            parts.heading(t(L("Take in a file"))),
            parts.text(t(L("Jobs from the file are merged with those here. Nothing is overwritten."))),
            parts.button(t(L("Choose a file")), self._pick, icon=ft.Icons.FILE_OPEN, height=56),
        ]
        if self.problem is not None:
            out.append(parts.notice(t(self.problem), bad=True))
        if self.report is not None:
            out.append(self._reported())
        out.append(parts.heading(t(L("Demo"))))
        out.append(parts.button(t(L("Load the demo job")), self._demo, icon=ft.Icons.SCIENCE_OUTLINED, height=th.TOUCH))
        if self.bin:
            out.append(parts.heading(t(L("Bin"))))
            for s in self.bin:
                out.append(
                    ft.Row(
                        [parts.text(s.title or t(L("Job without a name")), th.BODY, expand=True), parts.button(t(L("Bring back")), self._restore, data=s.id, height=th.TOUCH)]
                    )
                )
        return out

    def _reported(self) -> ft.Control:
        r = self.report
        lines = [
            parts.text(self.t(L("{n} entries were new, {m} were here already.", n=str(r.added), m=str(r.unchanged))), th.LARGE, bold=True),
        ]
        return parts.card(*lines, bg="tertiarycontainer")

    async def _all(self, e: Any) -> None:
        await save_export(self.app, None, "all")
        await self.load()
        self.redraw()

    async def _pick(self, e: Any) -> None:
        files = await ft.FilePicker().pick_files(with_data=True, allow_multiple=False)
        if not files:
            return
        await self._take(bytes(files[0].bytes or b""))

    async def _take(self, data: bytes) -> None:
        from store.errors import Refused

        self.problem = self.report = None
        try:
            incoming = await self.app.jobs.examine(data)
            self.report = await self.app.jobs.take_in(incoming)
            self.app.forget()
        except Refused as no:
            self.problem = no.line
        self.list = await self.app.jobs.list("job")
        self.redraw()

    async def _demo(self, e: Any) -> None:
        await load_demo(self.app)
        await self.load()
        self.redraw()

    async def _restore(self, e: Any) -> None:
        await self.app.jobs.restore(e.control.data)
        await self.load()
        self.redraw()
