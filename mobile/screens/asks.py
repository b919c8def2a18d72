"""The lower half of a step: what it asks for, group by group, as rows, cells and choices."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

import flet as ft

from logic.fields import Field
from logic.result import source_said
from logic.say import LN, L, Qty
from store.sheets import Group

from .. import measure, parts
from .. import theme as th
from ..shell import Shell
from .desk import Desk, Slot, begun, common, fields_at, yes_no

__all__ = ["Asks"]


class Asks:
    """Paints ``control`` from a desk. The handlers are the screen's; ``data`` says what was pressed.

    ``aim`` gets a :class:`Slot`, ``chose`` a Slot and a choice's value, ``fold`` a group's
    key and whether it is open, ``write`` (from a text field) a Slot.
    """

    def __init__(
        self,
        app: Shell,
        desk: Desk,
        *,
        aim: parts.Handler,
        chose: parts.Handler,
        fold: parts.Handler,
        write: parts.Handler,
        elsewhere: parts.Handler,
        all_yes: parts.Handler,
    ) -> None:
        self.app, self.desk = app, desk
        self._aim, self._chose, self._fold, self._write, self._elsewhere = aim, chose, fold, write, elsewhere
        self._all_yes = all_yes
        self.control = parts.column()

    def paint(self, after: Sequence[ft.Control]) -> None:
        """Lay out every group, and ``after`` beneath them."""
        out: list[ft.Control] = []
        for group in self.desk.sheet.groups:
            if any(f.key in self.desk.apart for f in group.fields):
                out.append(
                    parts.button(
                        self.app.t(L("Enter readings")),
                        self._elsewhere,
                        icon=ft.Icons.GRID_ON,
                    )
                )
                continue
            shown = [at for at in group.places(self.desk.view) if self.desk.mine(at)]
            if shown:
                out += self._folding(group, shown)
        self.control.controls = [*out, *after]

    def _folding(self, group: Group, shown: list[dict[str, Any]]) -> list[ft.Control]:
        """A group under its heading, which folds it."""
        t, desk = self.app.t, self.desk
        entered, wanted = desk.tally(group, shown)
        if desk.left_out is not None:  # nothing is asked of a step that is left out
            wanted = 0
        opened = desk.opened.get(group.key, bool(wanted) or group.grows)
        if desk.aimed and desk.aimed.field.key in {f.key for f in group.fields}:
            opened = True
        count = (
            LN("{n} value entered", "{n} values entered", entered)
            if not wanted
            else LN("{n} value entered, {m} to go", "{n} values entered, {m} to go", entered, m=str(wanted))
        )
        heading = ft.Row(
            [
                ft.Column(
                    [parts.text(t(group.title), th.LARGE, bold=True), parts.muted(t(count))],
                    spacing=0,
                    expand=True,
                    tight=True,
                ),
                parts.sign(ft.Icons.EXPAND_LESS if opened else ft.Icons.EXPAND_MORE, "onsurface"),
            ]
        )
        head = parts.row_button(heading, self._fold, bg="surfacecontainerhigh", data=(group.key, opened))
        return [head, *(self._group(group, shown) if opened else [])]

    def _group(self, group: Group, shown: list[dict[str, Any]]) -> list[ft.Control]:
        out: list[ft.Control] = []
        if group.help and not self.desk.aimed:
            out.append(parts.muted(self.app.t(group.help)))
        if len(shown) > 1 and len(group.fields) == 1 and shown[0]:
            return [*out, self._cells(group, shown)]
        if not self.desk.aimed and len(group.fields) > 1 and all(yes_no(f) for f in group.fields):
            return [*out, *self._checklist(group, shown)]
        for at in shown:
            if at and group.name:
                name = self.app.t(group.name(at))
                out.append(parts.text(name[:1].upper() + name[1:], th.BODY, bold=True))
            out += [self._row(Slot(f, at)) for f in fields_at(group, at, self.desk.view)]
        return out

    def _checklist(self, group: Group, shown: list[dict[str, Any]]) -> list[ft.Control]:
        """Lines to check off, each by one tap; those not answered yet all at once."""
        slots = [Slot(f, at) for at in shown for f in group.fields]
        open_ = [s for s in slots if self.desk.view.get(s.field, **s.at) is None]
        out: list[ft.Control] = [self._line(s) for s in slots]
        if len(open_) > 1:
            said = LN("Yes to the one left", "Yes to all {n} left", len(open_))
            out.append(
                parts.button(self.app.t(said), self._all_yes, data=open_, icon=ft.Icons.DONE_ALL, height=th.TOUCH)
            )
        return out

    def _line(self, slot: Slot) -> ft.Control:
        got = self.desk.view.get(slot.field, **slot.at)
        label = self.app.t(slot.field.label)
        keys: list[ft.Control] = [
            parts.choice(
                self.app.t(c.label),
                self._chose,
                on=got is not None and got.value == c.value,
                data=(slot, c.value),
                height=th.TOUCH,
            )
            for c in slot.field.choices
        ]
        return ft.Container(
            bgcolor="surfacecontainer",
            border_radius=th.ROUND,
            padding=ft.Padding.symmetric(horizontal=10, vertical=6),
            content=parts.column(
                parts.text(label, th.BODY, bold=got is None),
                ft.Row(keys, wrap=True, spacing=6, run_spacing=6),
                spacing=4,
            ),
        )

    def face(self, slot: Slot) -> tuple[str, str, bool]:
        """(large, small, entered) for a field at a place."""
        t, field = self.app.t, slot.field
        got = self.desk.view.get(field, **slot.at)
        if got is None:
            needed = not field.optional and (not self.desk.work.results or self.desk.waited_for(slot))
            return "–", t(L("to enter") if needed else L("optional")), False
        large, small = self._value(field, got.value)
        if not got.entered:
            source = t(source_said(got.source))
            small = source if not small or small == large else f"{small} · {source}"
        return large, small, got.entered

    def _value(self, field: Field, value: Any) -> tuple[str, str]:
        if field.kind == "choice":
            return next((self.app.t(c.label) for c in field.choices if c.value == value), str(value)), ""
        if field.kind == "text":
            return str(value), ""
        return self.app.two(Qty(value, field.kind))

    def _row(self, slot: Slot) -> ft.Control:
        if slot.field.kind == "text":
            return self._words(slot)
        large, small, entered = self.face(slot)
        more = small if small != large else ""
        ink = "onsurface" if entered else "onsurfacevariant"
        room = self.app.frame.room - 24
        # as wide as it needs, but where its name has place beside it
        needs = max(parts.wide(large, th.LARGE), parts.wide(more, th.SMALL)) + 1
        most = max(room * 0.48, parts.wide(max(f"{large} {more}".split(" "), key=parts.wide), th.LARGE))
        value = ft.Column(
            [
                parts.text(large, th.LARGE, bold=entered, color=ink, text_align=ft.TextAlign.END),
                *([parts.muted(more, text_align=ft.TextAlign.END)] if more else []),
            ],
            spacing=0,
            tight=True,
            horizontal_alignment=ft.CrossAxisAlignment.END,
        )
        width = min(needs, most)
        row = parts.row_button(
            parts.told(self.app.t(slot.field.label), ft.Container(value, width=width), width, room),
            self._aim,
            bg=self._ground(slot),
            data=slot,
            key=slot.key,
            lines=2 if more else 1,
        )
        return parts.column(row, self._choices(slot), spacing=4) if slot.same(self.desk.asking) else row

    def _words(self, slot: Slot) -> ft.Control:
        got = self.desk.view.get(slot.field, **slot.at)
        own = "" if got else self.suggested(slot)
        return ft.TextField(
            label=self.app.t(slot.field.label),
            value=str(got.value) if got else own,
            helper=self.app.t(L("assumed; write over it")) if own else None,
            data=slot,
            on_blur=self._write,
            on_submit=self._write,
            text_size=th.BODY,
            border_color="outline",
        )

    def suggested(self, slot: Slot) -> str:
        """What stands in a text field while nobody wrote anything there."""
        gives = self.desk.sheet.suggests
        if gives is None:
            return ""
        offset_minutes = (time.localtime().tm_gmtoff or 0) // 60
        return gives(self.desk.view, self.app.style, offset_minutes).get(slot.field.key, "")

    def _ground(self, slot: Slot) -> str:
        return "primarycontainer" if slot.same(self.desk.aimed) else "surfacecontainer"

    def _cells(self, group: Group, places: list[dict[str, Any]]) -> ft.Control:
        """One field at many places, as many side by side as there is room for."""
        names = [self.app.t(group.name(at)) if group.name else self.desk.where(at, self.app.t) for at in places]
        words = {word for name in names for word in measure.words(name)}  # a place's words stand in many names
        longest = max((parts.wide(word, th.SMALL) for word in words), default=0.0)
        across = max(1, int(self.app.frame.room // max(110 * self.app.frame.scale, longest + 24)))
        said_once = len(common(names))  # the cylinder is on its tab already
        cells = [self._cell(Slot(group.fields[0], at), name, said_once) for at, name in zip(places, names, strict=True)]
        cells += [ft.Container(expand=True) for _ in range(-len(cells) % across)]
        rows = [ft.Row(cells[i : i + across], spacing=6) for i in range(0, len(cells), across)]
        return ft.Column([*rows], spacing=6)

    def _cell(self, slot: Slot, name: str, said_once: int) -> ft.Control:
        large, small, entered = self.face(slot)
        return parts.row_button(
            ft.Column(
                [
                    parts.muted(begun(name[said_once:]), max_lines=4, semantics_label=name),
                    parts.text(large, th.BODY, bold=entered, no_wrap=True),
                    *([parts.muted(small, max_lines=1)] if small and entered else []),
                ],
                spacing=0,
                tight=True,
            ),
            self._aim,
            bg=self._ground(slot),
            data=slot,
            key=slot.key,
            expand=True,
            pad=ft.Padding.symmetric(horizontal=8, vertical=7),
        )

    def _choices(self, slot: Slot) -> ft.Control:
        got = self.desk.view.get(slot.field, **slot.at)
        return ft.Container(
            padding=ft.Padding.only(left=12),
            content=parts.column(
                parts.muted(self.app.t(slot.field.help)),
                *[
                    parts.choice(
                        self.app.t(c.label),
                        self._chose,
                        on=got is not None and got.value == c.value,
                        data=(slot, c.value),
                    )
                    for c in slot.field.choices
                ],
                spacing=6,
            ),
        )
