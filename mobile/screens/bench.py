"""At the bore: while boring and honing, the few figures that count, large enough to read at arm's length.

One number in, one answer out, then the next cylinder. Everything else the step has is folded beneath.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from logic import units
from logic.result import Verdict
from logic.say import L, Line, Qty, Style, figure
from store import draft
from store.at_bore import AtBore, Offer, at_bore, in_doubt
from store.facts.honing import checks_logged
from store.facts.passes import passes_logged
from store.facts.strip import order_of_boring
from store.fields.cut import SETTING
from store.fields.hone import SIZE, STROKES
from store.sheets import sheet

from .. import measure, parts
from .. import theme as th
from ..shell import Pressed
from .desk import Slot
from .step import Step
from .words import WORD, CylinderTabs, cautions

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Size of the figure that counts most, and of the others.
FIRST, OTHER = 54, 28


class Bench(Step):
    """The screen of a step that goes bore by bore."""

    tells_undo = False

    async def load(self) -> None:
        await super().load()
        self.more = False  # whether everything else is unfolded by hand
        self.tabs = CylinderTabs(self.app, self._show_cylinder)

    def _now(self) -> AtBore | None:
        if self.desk.work.blocked is not None:
            return None
        now, doubts = at_bore(self.view, self.name, self.desk.cylinder), self.desk.work.doubts
        return in_doubt(now, doubts[0].line) if now is not None and doubts else now

    # -- layout -----------------------------------------------------------------------
    def body(self) -> tuple[list[ft.Control], list[ft.Control]]:
        if to_read := self.desk.unseen():
            return [cautions(self.app, to_read)], []
        now = self._now()
        if now is None:
            return super().body()
        top: list[ft.Control] = []
        if self.desk.by_cylinder and not (self.typing and self._short):
            top.append(self.tabs.show(self.view.cylinders, self.desk.cylinder, self._finished()))
        first, then = self.warmth()
        top += [*first, self._panel(now), self.effect.control, *self.answers.held_back(), *self.taken_back(), *then]
        return top, self._rest(now)

    @property
    def _short(self) -> bool:
        """Whether the pad leaves no room for the row of cylinders: the figures come first, and name theirs."""
        return self.app.frame.low or self.app.frame.large or self.app.height < 900

    def _finished(self) -> set[int]:
        done = self.sheet.finished
        return set() if done is None else {c for c in self.view.cylinders if done(self.view, c)}

    def _rest(self, now: AtBore) -> list[ft.Control]:
        """Everything else, folded but where it has half the screen to itself; a field in it that is typed into stays in sight."""
        beside = self.app.frame.halved
        row = ft.Row(
            [
                parts.text(self.t(L("Everything else")), th.BODY, bold=True, expand=True),
                parts.sign(ft.Icons.EXPAND_LESS if self.more else ft.Icons.EXPAND_MORE, "onsurface"),
            ]
        )
        out: list[ft.Control] = [] if beside else [parts.row_button(row, self._unfold, bg="surfacecontainerhigh")]
        if self.more or beside:
            self.answers.paint(tabs=False, said=self._said(now))
            self.asks.paint(self._skip())
            out += [self.answers.control, self.asks.control]
        return out

    async def _unfold(self) -> None:
        self.more = not self.more
        self.redraw()

    def _panel(self, now: AtBore) -> ft.Control:
        """The figures, the one that counts most in the largest type, and the answer in one sentence."""
        t = self.t
        # what is still to be done is told, and not ticked off
        verdict = Verdict.INFO if now.verdict == Verdict.GO and not now.done else now.verdict
        icon, ground, ink = parts.LOOK[verdict]
        head = (
            L("Cylinder {n}", n=str(now.cylinder))
            if now.turn is None
            else L("Cylinder {n} · {turn}", n=str(now.cylinder), turn=now.turn)
        )
        said = ft.Semantics(
            container=True,
            live_region=True,
            content=ft.Container(
                bgcolor=ground,
                border_radius=th.ROUND,
                padding=ft.Padding.symmetric(horizontal=10, vertical=6),
                content=ft.Row(
                    [
                        parts.sign(icon, ink, 22, spoken=t(WORD[verdict])),
                        parts.text(
                            self._said(now),
                            th.BODY,
                            bold=True,
                            color=ink,
                            expand=True,
                        ),
                    ],
                    spacing=8,
                ),
            ),
        )
        order = self._figures(now)
        first = now.alarm or now.done or (self.typing and self._short and not self.app.frame.large)
        order.insert(0 if first else len(order), said)
        order += [parts.muted(t(line)) for line in (now.warm, now.cold) if line is not None and not self.typing]
        # while a number is typed the pad names the cylinder as well
        name = [] if self.typing and self.app.frame.large else [parts.text(t(head), th.LARGE, bold=True)]
        return parts.card(*name, *order)

    def _said(self, now: AtBore) -> str:
        return self.t(L("Cylinder {c}: {answer}", c=now.cylinder, answer=now.line))

    def _figures(self, now: AtBore) -> list[ft.Control]:
        first, *others = now.figures
        room = self.app.room
        if self.typing and (self.app.frame.large or self.app.height < 740):
            others = []  # the first is what is set or measured now
        if not self.app.frame.low or self.app.frame.large or self.typing or now.alarm:
            top = [] if now.alarm else [self._figure(*first, FIRST, room)]
            return [*top, *self._pairs(others, room)]
        half = (room - 12) / 2  # a phone on its side: beside each other, so that nothing has to scroll
        two = [[self._figure(*first, FIRST, half)], self._pairs(others, half)]
        return [
            ft.Row(
                [ft.Container(parts.column(*side), expand=True) for side in two],
                spacing=12,
                vertical_alignment=ft.CrossAxisAlignment.START,
            )
        ]

    def _pairs(self, figures: Sequence[tuple[Line, Qty | Line]], room: float) -> list[ft.Control]:
        """The other figures, two side by side where both stand there large, else one to a row."""
        half = (room - 8) / 2
        rows: list[list[ft.Control]] = []
        free = False  # whether the last row has a place left
        for name, value in figures:
            said = self.app.two(value)[0] if isinstance(value, Qty) else self.t(value)
            fits = parts.wide(said, OTHER) <= half and parts.wide(self.t(name), th.BODY) <= half
            cell = ft.Container(self._figure(name, value, OTHER, half if fits else room), expand=True)
            if fits and free:
                rows[-1][1] = cell
            else:
                rows.append([cell, ft.Container(expand=True)] if fits else [cell])
            free = fits and not free
        return [ft.Row(row, spacing=8, vertical_alignment=ft.CrossAxisAlignment.START) for row in rows]

    def _figure(self, name: Line, value: Qty | Line, size: int, room: float) -> ft.Control:
        if isinstance(value, Qty):
            large, small = self.app.two(value)
        else:
            large, small = self.t(value), ""
        shown = parts.text(large, size, bold=True, no_wrap=True, semantics_label=f"{self.t(name)}: {large}")
        scale = self.app.frame.scale
        least = 18.0 / scale  # smaller it is not read at arm's length: it takes two lines
        shown.size = measure.fitted(large, room, most=th.eased(size), least=least, scale=scale)
        if not measure.stands(large, shown.size * scale, room, rows=1):
            shown.no_wrap = False
            shown.size = measure.fitted(large, room, most=th.eased(size), least=least, scale=scale, rows=2)
        face = [parts.muted(self.t(name), th.BODY), shown]
        if small and small != large and not self.typing:
            face.append(parts.muted(small, no_wrap=True))
        return ft.Column([*face], spacing=0, tight=True)

    # -- what is logged by one tap ---------------------------------------------------------
    async def _accept(self, e: Pressed) -> None:
        """Log what is advised, as it is shown."""
        offer: Offer = e.control.data
        slot = Slot(self.sheet.fields[offer.key], dict(offer.at))
        style = Style(length=self.app.style.length, temperature=self.app.style.temperature)
        got = units.parse(
            figure(offer.qty, style, unit=False),
            slot.field,
            length_unit=style.length,
            temperature_unit=style.temperature,
        )
        self.effect.forget()
        if await self._append(draft.reading(slot.field, slot.at, got), quiet=True):
            ask = self.desk.next_ask()
            if ask is not None and ask.field.key == SIZE.key:  # strokes are made: the gauge is in the bore
                self._take(ask)
        self.redraw()
        if self.desk.aimed:
            self.pad.take_focus()

    # -- foot --------------------------------------------------------------------------
    def _next(self) -> list[ft.Button]:
        now, desk = self._now(), self.desk
        if now is not None and now.before is not None and not desk.unseen():
            return self._first(now.before)
        if now is None or desk.unseen() or now.alarm:
            return super()._next()
        if now.done:
            return [*self._one_more(), self._onward()]
        ask = desk.next_ask()
        if now.offer is None:
            return super()._next()
        row = [
            parts.button(
                self.t(now.offer.line),
                self._accept,
                data=now.offer,
                icon=ft.Icons.CHECK,
                primary=True,
                expand=2,
                height=56,
            )
        ]
        if ask is not None and ask.field.key == now.offer.key:
            other = self.t(L("Enter: {what}", what=self._named(ask)))
            row.append(
                parts.button(
                    self.t(L("Other")), self._aim, data=ask, icon=ft.Icons.EDIT, spoken=other, expand=1, height=56
                )
            )
        return row

    def _first(self, step: str) -> list[ft.Button]:
        """To the step that comes first at this bore; who did it without logging it goes on here."""
        word = self.t(L("Next: {step}", step=sheet(step).title))
        route = f"/job/{self.id}/{step}/{self.desk.cylinder}"
        ask = self.desk.next_ask()
        more = parts.button(self.t(L("Enter more")), self._aim, data=ask, icon=ft.Icons.EDIT, expand=1, height=56)
        to = parts.button(word, self.follow, data=route, icon=ft.Icons.ARROW_FORWARD, primary=True, expand=2, height=56)
        return [*([] if ask is None else [more]), to]

    def _one_more(self) -> list[ft.Button]:
        """A bore that is done is asked for nothing; somebody who wants another pass or check says so."""
        fields, at = self.sheet.fields, {"cylinder": self.desk.cylinder}
        if self.name == "cut":
            counter, logged, field = "pass", passes_logged(self.view, self.desk.cylinder), fields[SETTING.key]
        else:
            counter, logged, field = "check", checks_logged(self.view, self.desk.cylinder), fields[STROKES.key]
        slot = Slot(field, {**at, counter: max(logged, default=0) + 1})
        word = self.t(L("One more pass") if counter == "pass" else L("One more check"))
        return [parts.button(word, self._aim, data=slot, icon=ft.Icons.ADD, expand=1, height=56)]

    def _onward(self) -> ft.Button:
        """To the next bore, and after the last to the next step."""
        t, desk = self.t, self.desk
        there = order_of_boring(self.view)  # the hone follows the bar
        here = there.index(desk.cylinder)
        done = self._finished()
        ahead = next((c for c in (*there[here:], *there[:here]) if c not in done and c != desk.cylinder), None)
        if ahead is not None:
            said = t(L("Next: cylinder {n}", n=str(ahead)))
            return parts.button(
                said,
                self._show_cylinder,
                data=ahead,
                icon=ft.Icons.ARROW_FORWARD,
                primary=True,
                expand=2,
                height=56,
            )
        word, route, icon = self.leave, self.up or "/", self.leaves
        if desk.upcoming is not None:
            word, route = L("Next: {step}", step=desk.upcoming.title), f"/job/{self.id}/{desk.upcoming.key}"
            icon = ft.Icons.ARROW_FORWARD
        return parts.button(t(word), self.follow, data=route, icon=icon, primary=True, expand=2, height=56)
