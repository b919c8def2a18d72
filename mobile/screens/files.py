"""Files: export, import as a merge, the bin, and the demo."""

from __future__ import annotations

import asyncio
from typing import Any

import flet as ft

from logic.say import LN, L, Line
from store.errors import Refused
from store.jobs import MergeReport
from store.pieces import Held, Source
from store.seal import checked, strength

from .. import manners, parts
from .. import theme as th
from ..shell import Pressed, Screen, Ticked, TypedIn
from .exchange import choose, due, load_demo, overdue, save_export
from .words import when

#: By this it is scrolled to.
TAKEN = "what became of the file"
_ANEW = L("Nothing was imported. Save the file again on the device it comes from, and import that one.")
#: What to do about a file that was refused, by the refusal's code.
REMEDIES = {
    "damaged": _ANEW,
    "changed": _ANEW,
    "version": _ANEW,
    "truncated": L(
        "Nothing was imported. Save the file again on the device it comes from, or import the parts that are whole."
    ),
    "format": L("Nothing was imported. Choose a file that was saved on this screen, here or on another device."),
}


class Files(Screen):
    title = L("Files")
    up = "/more"

    async def load(self) -> None:
        await self._look()
        self.photos = False
        self.passphrase = ""
        self.problem: Line | None = None
        self.remedy: Line | None = None
        self.torn: tuple[Source, str] | None = None  # a file that breaks off, and its passphrase
        self.report: MergeReport | None = None
        self.sealed: Source | None = None
        self.key_field = ft.TextField()
        self.strength = parts.muted("")

    async def shown(self) -> None:
        """Where the system opened the app with a file, it is taken in."""
        data = await manners.opened()
        if data:
            await self._take(Held(data))

    async def _look(self) -> None:
        self.list = await self.app.jobs.list("job")
        self.bin = await self.app.jobs.list("job", deleted=True)
        self.due = await due(self.app)
        self.copies = await self.app.jobs.second_copies()

    def body(self) -> list[ft.Control]:
        t = self.t
        return [
            *self._keeping(),
            *self._second_copies(),
            parts.heading(t(L("Import a file"))),
            parts.text(t(L("Jobs from the file are merged with those here. Nothing is overwritten."))),
            parts.button(t(L("Choose a file")), self._pick, icon=ft.Icons.FILE_OPEN, height=56),
            ft.Container(parts.column(*self._taken()), key=parts.scroll_key(TAKEN)),
            parts.heading(t(L("Demo"))),
            parts.button(t(L("Load the demo job")), self._demo, icon=ft.Icons.SCIENCE_OUTLINED),
            *([parts.heading(t(L("Bin")))] if self.bin else []),
            *[
                parts.told(
                    s.title or t(L("Job without a name")),
                    parts.button(t(L("Bring back")), self._restore, data=s.id),
                    parts.wide(t(L("Bring back"))) + 20,
                    self.app.frame.room,
                )
                for s in self.bin
            ],
        ]

    def _keeping(self) -> list[ft.Control]:
        """Saving everything to a file, and whether that is due."""
        t = self.t
        latest = max((s.last_export_ms or 0 for s in self.list), default=0)
        last = (
            L("Last handed over as a file: {when}. Look whether it is there.", when=when(latest))
            if latest
            else L("Never saved to a file yet.")
        )
        self.words = self._secret(t(L("Passphrase (may be empty)")), value=self.passphrase, on_change=self._phrase)
        self.strength = parts.muted(self._strength())
        return [
            parts.heading(t(L("Keep a copy"))),
            parts.text(
                t(
                    L(
                        "Everything is stored on this device only. A file is your backup and the way to the shop computer."
                    )
                )
            ),
            parts.muted(t(last)),
            *([parts.notice(t(overdue(len(self.due))), bad=True)] if self.due else []),
            parts.muted(
                t(L("With a passphrase the file is locked: without it nobody can open the file, not even you."))
            ),
            parts.tick(t(L("Put the photos in as well")), self._photos, value=self.photos, width=self.app.frame.room),
            self.words,
            ft.Semantics(container=True, live_region=True, content=self.strength),
            parts.button(t(L("Save all jobs to a file")), self._all, icon=ft.Icons.SAVE_ALT, primary=True, height=56),
        ]

    def _strength(self) -> str:
        """A word on how well the passphrase keeps, as it is typed; nothing where there is none."""
        if not self.passphrase:
            return ""
        try:
            return self.t(strength(checked(self.passphrase)))
        except Refused as short:
            return self.t(short.line)

    def _second_copies(self) -> list[ft.Control]:
        """Copies of jobs that lie beside them, each to be merged by a press."""
        t = self.t
        if not self.copies:
            return []
        return [
            parts.heading(t(L("Second copies"))),
            parts.text(
                t(L("A shared folder has made a copy of a job, as where two were at work. Merging loses nothing."))
            ),
            *[
                parts.button(t(L("Merge {name} into its job", name=name)), self._merge_copy, data=name, height=th.TOUCH)
                for name in self.copies
            ],
        ]

    def _taken(self) -> list[ft.Control]:
        """What became of the file that was chosen: it asks for a passphrase, is refused, or was taken in."""
        out: list[ft.Control] = []
        if self.sealed is not None:
            self.key_field = self._secret(self.t(L("Passphrase of the file")), on_submit=self._unseal, autofocus=True)
            out += [self.key_field, parts.button(self.t(L("Open the file")), self._unseal, height=th.TOUCH)]
        if self.problem is not None:
            out.append(parts.notice(self.t(self.problem), bad=True))
        if self.remedy is not None:
            out.append(parts.text(self.t(self.remedy), th.BODY))
        if self.torn is not None:
            out.append(parts.button(self.t(L("Import what is undamaged")), self._take_whole, height=th.TOUCH))
        if self.report is not None:
            out.append(self._reported(self.report))
        return out

    def _secret(self, label: str, **more: Any) -> ft.TextField:
        """A field for a passphrase, with a named button that shows it."""
        field = ft.TextField(label=label, password=True, text_size=th.BODY, border_color="outline", **more)

        async def reveal() -> None:
            field.password = not field.password
            self.app.update(field)

        field.suffix_icon = parts.icon_button(ft.Icons.VISIBILITY, self.t(L("Show or hide the passphrase")), reveal)
        return field

    def _reported(self, r: MergeReport) -> ft.Control:
        # green is what leaves nothing to settle
        settled = not r.header_conflicts
        ground = "tertiarycontainer" if settled else "secondarycontainer"
        ink = "ontertiarycontainer" if settled else "onsecondarycontainer"
        lines: list[ft.Control] = [
            parts.text(
                self.t(
                    LN(
                        "{n} entry was new, {m} here already.",
                        "{n} entries were new, {m} here already.",
                        r.added,
                        m=r.unchanged,
                    )
                ),
                th.LARGE,
                bold=True,
                color=ink,
            ),
        ]
        if r.header_conflicts:
            lines.append(
                parts.text(
                    self.t(
                        LN(
                            "One job detail was set differently in the two copies. Both are kept; the later counts until you settle it in the job.",
                            "{n} job details were set differently in the two copies. All are kept; the later ones count until you settle them in the job.",
                            len(r.header_conflicts),
                        )
                    ),
                    color=ink,
                )
            )
        return ft.Semantics(container=True, live_region=True, content=parts.card(*lines, bg=ground))

    async def _photos(self, e: Ticked) -> None:
        self.photos = bool(e.control.value)

    async def _phrase(self, e: TypedIn) -> None:
        self.passphrase = e.control.value or ""
        self.strength.value = self._strength()
        self.app.update(self.strength)

    async def _merge_copy(self, e: Pressed) -> None:
        self._said_no()
        try:
            added = await self.app.jobs.merge_copy(e.control.data)
            self.app.forget()
            self.app.toast(LN("One entry was new.", "{n} entries were new.", added))
        except Refused as no:
            self._said_no(no)
        await self._look()
        self.redraw()

    async def _all(self) -> None:
        self._said_no()
        await save_export(self.app, None, "all", photos=self.photos, passphrase=self.passphrase)
        if self.app.jobs.left_out:
            self.problem = L(
                "Not in the file, because this copy of Boreside cannot read it: {what}",
                what=", ".join(self.app.jobs.left_out),
            )
        await self._look()
        self.redraw()

    async def _pick(self) -> None:
        file = await choose(self.app)
        if file is not None:
            await self._take(file)

    async def _unseal(self) -> None:
        if self.sealed is not None:
            await self._take(self.sealed, self.key_field.value or "")

    async def _take_whole(self) -> None:
        if self.torn is not None:
            await self._take(*self.torn, whole_parts=True)

    def _said_no(self, no: Refused | None = None) -> None:
        """Say what was refused and what to do about it; nothing where nothing was."""
        self.problem, self.remedy = (None, None) if no is None else (no.line, REMEDIES.get(no.code))
        self.torn = None

    async def _take(self, data: Source, passphrase: str = "", *, whole_parts: bool = False) -> None:
        self._said_no()
        self.report = None
        try:
            incoming = await self.app.jobs.examine(data, passphrase=passphrase, whole_parts=whole_parts)
            self.sealed = None
            self.report = await self.app.jobs.take_in(incoming)
            self.app.forget()
        except Refused as no:
            self._said_no(no)
            self.torn = (data, passphrase) if no.code == "truncated" else None
            self.sealed = data if no.code in ("sealed", "passphrase") else None
        await self._look()
        self.redraw()
        await self.in_view()

    async def in_view(self) -> None:
        """What became of the file, which may lie below the edge."""
        if self.problem is not None or self.report is not None or self.sealed is not None:
            await asyncio.sleep(0.05)
            await self.scroll_to(TAKEN)

    async def _demo(self) -> None:
        await load_demo(self.app)
        await self._look()
        self.redraw()

    async def _restore(self, e: Pressed) -> None:
        await self.app.jobs.restore(e.control.data, by=self.app.by)
        await self._look()
        self.redraw()
