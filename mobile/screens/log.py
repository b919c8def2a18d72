"""The job's log: every entry as it was made, corrections and all, and notes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import flet as ft

from logic.say import LN, AsTyped, L, Line
from logic.unit_table import UNITS
from store import draft
from store.documents import CautionSeen, Chosen, Decision, Entry, Note, PhotoRef, Reading, Skipped, Withdrawn
from store.flow import timeline
from store.reasons import told
from store.sheets import Group, Sheet, all_sheets

from .. import manners, parts
from .. import theme as th
from ..pictures import painted
from ..shell import Screen
from .camera import keep_photo, shoot_key
from .words import stamp_ms, when

if TYPE_CHECKING:
    from store.view import View

KIND = {
    "reading": L("Reading"),
    "chosen": L("Choice"),
    "decision": L("Decision"),
    "note": L("Note"),
    "caution": L("Caution read"),
    "skipped": L("Step left out"),
    "photo": L("Photo"),
    "withdrawn": L("Undone"),
}


class Log(Screen):
    halves = True
    title = L("Log")

    async def load(self) -> None:
        self.id = self.found["id"]
        self.up = f"/job/{self.id}"
        self.view = await self.app.view(self.id)
        sheets = all_sheets()
        fields = {key: f for s in sheets for key, f in s.fields.items()}
        self.labels = {key: f.label for key, f in fields.items()}
        self.choices = {(key, c.value): c.label for key, f in fields.items() for c in f.choices}
        self.groups = _groups(sheets)
        self.steps = {s.key: s.title for s in sheets}
        self.cautions = {c.key: c.text for s in sheets for c in s.cautions}
        self.many = 60
        self.note = ft.TextField()

        self.pictures: dict[str, tuple[str, bytes] | None] = {}
        await self._fetch()

    async def _fetch(self) -> None:
        """Take the photos out of the store that are not at hand yet."""
        for p in self.view.photos:
            self.pictures[p.digest] = self.pictures.get(p.digest) or await self.app.jobs.get_photo(p.digest)

    def _photos(self) -> list[ft.Control]:
        out: list[ft.Control] = [
            *shoot_key(self.app, self._shoot),
            parts.button(self.t(L("Add a photo")), self._choose, icon=ft.Icons.ADD_A_PHOTO_OUTLINED),
        ]
        for p in self.view.photos:
            kept = self.pictures.get(p.digest)
            words = " · ".join(x for x in (p.caption, when(stamp_ms(p.stamp)).said(self.app.style), p.by) if x)
            out.append(
                ft.Column(
                    [
                        ft.Image(
                            src=kept[1],
                            border_radius=th.ROUND,
                            fit=ft.BoxFit.CONTAIN,
                            semantics_label=self.t(L("Photo: {caption}", caption=words)),
                        )
                        if kept
                        else parts.notice(
                            self.t(
                                L(
                                    "This photo is on another device. Save the job there with its photos, and import the file here."
                                )
                            )
                        ),
                        parts.muted(words),
                    ],
                    spacing=2,
                )
            )
        return out

    async def _choose(self) -> None:
        files = await self.app.picker().pick_files(with_data=True, file_type=ft.FilePickerFileType.IMAGE)
        if files:
            await self._keep_picture(bytes(files[0].bytes or b""))

    async def _shoot(self) -> None:
        picture = await manners.shoot()
        if picture:
            await self._keep_picture(picture)

    async def _keep_picture(self, picture: bytes) -> None:
        kept = await keep_photo(self.app, self.view, picture, self.note.value or "")
        if kept is None:
            return
        digest, media, data = kept
        self.pictures[digest] = (media, data)
        self.note.value = ""
        self.redraw()

    @property
    def document_shown(self) -> View:
        return self.view

    async def renewed(self) -> None:
        await self._fetch()
        self.redraw()

    def body(self) -> tuple[list[ft.Control], list[ft.Control]]:
        self.note = ft.TextField(
            value=self.note.value or "",
            label=self.t(L("Note, or words under a photo")),
            multiline=True,
            min_lines=1,
            max_lines=5,
            text_size=th.BODY,
            border_color="outline",
        )
        entries = sorted(self.view.entries.values(), key=lambda e: (e.stamp, e.id), reverse=True)
        live = {e.id for e in self.view.live()}
        notes = parts.card(self.note, *self._photos())
        drawn = (
            [painted(self.app, timeline(self.view, offset_minutes=time.localtime().tm_gmtoff // 60))] if entries else []
        )
        out = [
            parts.muted(
                self.t(
                    LN(
                        "{n} entry. Nothing in the log is ever changed; a correction is a new entry.",
                        "{n} entries. Nothing in the log is ever changed; a correction is a new entry.",
                        len(entries),
                    )
                )
            ),
            *[self._row(e, live=e.id in live) for e in entries[: self.many]],
        ]
        if len(entries) > self.many:
            out.append(parts.button(self.t(L("Show more")), self._further))
        return [notes, *drawn], out

    def foot(self) -> ft.Control:
        """A log is there to be written into."""
        return parts.foot_button(self.t(L("Keep this note")), self._keep, ft.Icons.NOTE_ADD_OUTLINED)

    def _where(self, e: Entry) -> str:
        """The place of an entry in words, as its step names it."""
        at = getattr(e, "at", None)
        if not at:
            return ""
        group = self.groups.get(getattr(e, "what", ""))
        if group is not None and group.name is not None:
            try:
                return self.t(group.name(at))
            except KeyError:
                pass  # the place is one of an earlier version of the step
        return ", ".join(str(v) for v in at.values())

    def _said(self, e: Entry) -> str:
        """An entry in words."""
        said: dict[type, Callable[[Any], str]] = {
            Reading: self._said_reading,
            Chosen: self._said_choice,
            Decision: self._said_decision,
            Note: lambda e: str(e.text),
            Skipped: lambda e: f"{self.t(self._step(e.what))}: {self.t(told(e.reason))}",
            CautionSeen: lambda e: self.t(self.cautions.get(e.what, e.what)),
            PhotoRef: lambda e: str(e.caption or e.media),
            Withdrawn: self._said_target,
        }
        return said[type(e)](e)

    def _labelled(self, e: Reading | Chosen, value: str) -> str:
        label, where = self.t(self.labels.get(e.what, e.what)), self._where(e)
        return f"{label} ({where}): {value}" if where else f"{label}: {value}"

    def _said_reading(self, e: Reading) -> str:
        text, known = AsTyped(e.typed.text).said(self.app.style), UNITS.get(e.typed.typed_unit)
        unit = e.typed.typed_unit if known is None else known.label
        bare = unit and not any(c.isalpha() or c in "°%" for c in text)
        return self._labelled(e, f"{text} {unit}" if bare else text)

    def _said_choice(self, e: Chosen) -> str:
        return self._labelled(e, self.t(self.choices.get((e.what, e.value), e.value)))

    def _said_decision(self, e: Decision) -> str:
        if e.what.startswith("sheet."):
            return self.t(L("{step}: checked, still right", step=self._step(e.what)))
        said = f"{self.t(self._step(e.what))}: {e.value}"
        return f"{said} – {e.reason}" if e.reason else said

    def _said_target(self, e: Withdrawn) -> str:
        """What was taken back."""
        target = self.view.entries.get(e.replaces or "")
        return self._said(target) if target is not None and target.kind != "withdrawn" else ""

    def _step(self, what: str) -> Line | str:
        """The title of the step that ``what`` of a decision or a step left out names, or the label of the field."""
        return self.steps.get(what.removeprefix("sheet.").split(".")[0], self.labels.get(what, what))

    def _row(self, e: Entry, *, live: bool) -> ft.Control:
        strike = None if live else ft.TextStyle(decoration=ft.TextDecoration.LINE_THROUGH, font_family=th.FONT)
        word = self.t(KIND[e.kind])
        if not live:
            word = self.t(L("{kind}, replaced or undone", kind=word))
        elif any(e is one for one in self.view.odd):
            word = self.t(L("{kind}, kept but not used: its value or place does not fit", kind=word))
        return ft.Container(
            border=ft.Border(bottom=ft.BorderSide(1, "outlinevariant")),
            padding=ft.Padding.symmetric(vertical=6),
            content=ft.Column(
                [
                    ft.Row([parts.muted(word, expand=True), parts.muted(when(stamp_ms(e.stamp)).said(self.app.style))]),
                    parts.text(self._said(e), th.BODY, style=strike),
                    *([parts.muted(e.by)] if e.by else []),
                ],
                spacing=1,
            ),
        )

    async def _keep(self) -> None:
        value = (self.note.value or "").strip()[:4000]
        if not value:
            self.note.error = self.t(L("The note is empty."))
            self.app.update(self.note)
            return
        await self.app.add(self.view, draft.note(value))
        self.note.value = ""
        self.redraw()

    async def _further(self) -> None:
        self.many += 120
        self.redraw()


def _groups(sheets: Iterable[Sheet]) -> dict[str, Group]:
    """The group that asks for each field, by the field's key."""
    return {f.key: group for s in sheets for group in s.groups for f in group.fields}
