"""A job: its verdict, what is next, and every step with its state."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import flet as ft

from logic.flow import State, Status
from logic.say import L, Line, Qty
from store import draft, flow
from store.board import Bore, BoreState, board
from store.facts.banks import banks
from store.facts.evidence import doubts
from store.kit import duration
from store.sheets import all_sheets, headline, sheet

from .. import measure, parts
from .. import theme as th
from ..shell import Pressed, Screen, now_ms
from .camera import shoot_into, shoot_key
from .doubted import Doubted
from .exchange import save_export
from .keeping import tab_notice
from .words import Folded, answer_strip, odd_notice, stamp_ms, when

if TYPE_CHECKING:
    from store.merge import HeaderConflict
    from store.view import View

STATE: dict[str | None, tuple[ft.IconData, str, Line]] = {
    State.DONE: (ft.Icons.CHECK_CIRCLE, "tertiary", L("done")),
    State.NEXT: (ft.Icons.ARROW_CIRCLE_RIGHT, "primary", L("next")),
    State.OPEN: (ft.Icons.RADIO_BUTTON_UNCHECKED, "onsurfacevariant", L("open")),
    State.BLOCKED: (ft.Icons.PAUSE_CIRCLE_OUTLINE, "onsurfacevariant", L("waits")),
    State.SKIPPED: (ft.Icons.REDO, "onsurfacevariant", L("left out")),
    State.LOOK: (ft.Icons.HELP, "secondary", L("look again")),
    State.OFF: (ft.Icons.ADD_CIRCLE_OUTLINE, "onsurfacevariant", L("off the path")),
}
#: How a bore's state looks on the board, and in a word.
BORE: dict[BoreState, tuple[ft.IconData, str, Line]] = {
    BoreState.MEASURE: (ft.Icons.STRAIGHTEN, "primary", L("to measure")),
    BoreState.DECIDE: (ft.Icons.HELP, "secondary", L("undecided")),
    BoreState.BORE: (ft.Icons.ARROW_CIRCLE_RIGHT, "primary", L("to bore")),
    BoreState.HONE: (ft.Icons.ARROW_CIRCLE_RIGHT, "primary", L("to hone")),
    BoreState.CHECK: (ft.Icons.STRAIGHTEN, "primary", L("to check")),
    BoreState.FIT: (ft.Icons.STRAIGHTEN, "primary", L("rings to fit")),
    BoreState.OUT: (ft.Icons.CANCEL, "error", L("not in order")),
    BoreState.DONE: (ft.Icons.CHECK_CIRCLE, "tertiary", L("in order")),
}
#: What is to do now stands on the path; the rest is folded.
NOW = (State.NEXT, State.OPEN, State.LOOK)


DETAIL = {
    "title": L("job name"),
    "customer": L("customer"),
    "engine": L("engine"),
    "number": L("engine number"),
    "banks": L("banks"),
    "nominal": L("nominal bore"),
    "cylinders": L("number of cylinders"),
    "bar": L("boring bar"),
    "hone": L("hone"),
    "gauge": L("bore gauge"),
    "micrometer": L("micrometer"),
    "kit": L("what is at hand"),
    "hours": L("hours of work"),
    "deleted": L("bin"),
}


class Job(Screen):
    halves = True

    async def load(self) -> None:
        self.id = self.found["id"]
        self.view = await self.app.view(self.id)
        self.title = L("{name}", name=self.view.word("title"))
        self.up = "/"
        self.doubted = Doubted(self.app, self.renewed)
        self.flow = flow.known(self.view)
        self.conflicts = await self.app.jobs.conflicts(self.id)
        await self._look_at_copies()

    def _copies(self) -> list[ft.Control]:
        return tab_notice(self.app, self.app.keeping, self.summary, now_ms(), self._export)

    def news(self) -> None:
        self.app.page.run_task(self._copies_again)

    async def _copies_again(self) -> None:
        await self._look_at_copies()
        self.copies.controls = self._copies()
        self.app.update(self.copies)

    async def _look_at_copies(self) -> None:
        """Whether the job is in a file as it stands; asked only where the browser may clear it."""
        in_tab = self.app.keeping is not None and self.app.keeping.in_tab
        listed = await self.app.jobs.list("job") if in_tab else []
        self.summary = next((s for s in listed if s.id == self.id), None)

    def body(self) -> tuple[list[ft.Control], list[ft.Control]]:
        head, work = [*self._head(), *self._board()], self._work()
        rest = [] if self.flow is None else self._rest()  # nothing is pressed that would move away
        return ([*head, *rest], work) if self.app.frame.halved else ([*head, *work, *rest], [])

    def _head(self) -> list[ft.Control]:
        out: list[ft.Control] = []
        nominal = self.view.nominal_mm
        size = " = ".join(self.app.two(Qty(nominal, "size"))) if nominal else ""
        known = (*(self.view.word(key) for key in ("customer", "engine", "number")), size)
        about = " · ".join(x for x in known if x)
        if about:
            out.append(parts.muted(about, th.BODY))
        self.copies = parts.column(*self._copies())
        out.append(self.copies)
        out += [self._conflict(c) for c in self.conflicts]
        work = flow.work_of(self.view, headline())
        above = work.results[0] if work.results else None
        if above is not None:
            out.append(answer_strip(self.app, above))
        out += odd_notice(self.app, self.view)
        out.append(self.doubted.show(self.view, doubts(self.view), above))
        return out

    def _work(self) -> list[ft.Control]:
        out = [parts.heading(self.t(L("The work")))]
        if self.flow is None:
            return [*out, parts.muted(self.t(L("Working out where the job stands")))]
        now = [s for s in self.flow.statuses if s.state in NOW]
        ahead = sum(s.minutes for s in self.flow.statuses if s.state in (*NOW, State.BLOCKED))
        if ahead:
            out.append(parts.muted(self.t(L("About {time} still to do", time=duration(ahead)))))
        out += [self._row(s.key, s.state, s.reason) for s in now]
        out += self._off([s for s in self.flow.statuses if s.state == State.OFF])
        for states, title in (
            ((State.BLOCKED,), L("Later")),
            ((State.DONE, State.SKIPPED), L("Done or left out")),
        ):
            rest = [s for s in self.flow.statuses if s.state in states]
            if rest:
                out.append(
                    Folded(
                        self.app,
                        self.t(L("{what}: {n}", what=title, n=str(len(rest)))),
                        partial(self._rows, rest),
                        unfolded=not now,
                    )
                )
        return out

    def _rows(self, statuses: Sequence[Status]) -> list[ft.Control]:
        return [self._row(s.key, s.state, s.reason) for s in statuses]

    def _off(self, statuses: Sequence[Status]) -> list[ft.Control]:
        """The steps off the path, in one line; a tap puts one on."""
        if not statuses:
            return []
        put_on: list[ft.Control] = [
            parts.button(
                self.t(s.title),
                self._put_on,
                data=s.key,
                icon=ft.Icons.ADD,
                spoken=self.t(L("Put on the path: {step}. {why}.", step=s.title, why=s.reason or "")),
            )
            for s in statuses
        ]
        said = self.t(L("Off the path: no gauge for it, or not needed. Tap to add:"))
        return [parts.muted(said), ft.Row(put_on, wrap=True, spacing=6, run_spacing=6)]

    async def _put_on(self, e: Pressed) -> None:
        """A step that was off the path is wanted: that is a decision, and stays in the log."""
        await self.app.add(self.view, draft.decision(flow.path_key(e.control.data), "on"))
        self.flow = flow.flow(self.view)
        self.redraw()

    def _board(self) -> list[ft.Control]:
        """The engine as a row of bores; a tap goes to what the bore needs."""
        if self.flow is None:
            return []
        bores, standing = {b.cylinder: b for b in board(self.view)}, banks(self.view)
        out: list[ft.Control] = [parts.heading(self.t(L("The bores")))]
        for n, bank in enumerate(standing, 1):
            if len(standing) > 1:
                out.append(parts.muted(self.t(L("Bank {bank}, from the front", bank=n))))
            out += self._bank([bores[c] for c in bank])
        return out

    def _bank(self, bores: Sequence[Bore]) -> list[ft.Control]:
        across = 4 if self.app.frame.room >= 340 * self.app.frame.scale else 2
        cells: list[ft.Control] = [self._bore(b) for b in bores]
        if len(cells) > across:
            cells += [ft.Container(expand=True) for _ in range(-len(cells) % across)]
        return [ft.Row(cells[i : i + across], spacing=6) for i in range(0, len(cells), across)]

    def _bore(self, bore: Bore) -> ft.Control:
        t = self.t
        icon, ink, word = BORE[bore.state]
        size = self.app.two(bore.now)[0] if bore.now is not None else "–"
        spoken = t(
            L(
                "Cylinder {n}, {state}. Now {size}. {needs}.",
                n=str(bore.cylinder),
                state=word,
                size=size,
                needs=bore.needs,
            )
        )
        face = ft.Column(
            [
                ft.Row(
                    [
                        parts.text(str(bore.cylinder), th.LARGE, bold=True, semantics_label=spoken),
                        parts.sign(icon, ink, 22),
                    ],
                    spacing=4,
                    tight=True,
                ),
                _unsaid(parts.text(size, th.SMALL, no_wrap=True)),  # the number says all of it to a screen reader
                _unsaid(parts.text(t(bore.needs), th.SMALL, bold=True, max_lines=4)),
            ],
            spacing=2,
            tight=True,
        )
        return parts.row_button(
            face,
            self.follow,
            data=self._route(bore),
            expand=True,
            bg="surfacecontainer",
            pad=ft.Padding.symmetric(horizontal=8, vertical=8),
        )

    def _route(self, bore: Bore) -> str:
        return f"/job/{self.id}/{bore.step}/{bore.cylinder}"

    def _rest(self) -> list[ft.Control]:
        t = self.t
        out = [parts.heading(t(L("This job")))]
        for label, icon, route in (
            (L("Job details"), ft.Icons.EDIT_OUTLINED, f"/job/{self.id}/details"),
            (L("Figures from an earlier job"), ft.Icons.CONTENT_COPY, f"/job/{self.id}/earlier"),
            (L("Log, notes and photos"), ft.Icons.HISTORY, f"/job/{self.id}/log"),
            (L("Report for the customer"), ft.Icons.DESCRIPTION_OUTLINED, f"/job/{self.id}/report"),
        ):
            out.append(parts.button(t(label), self.follow, data=route, icon=icon))
        out += shoot_key(self.app, self._shoot)
        out.append(parts.button(t(L("Save this job to a file")), self._export, icon=ft.Icons.SAVE_ALT))
        out.append(parts.button(t(L("Put this job in the bin")), self._bin, icon=ft.Icons.DELETE_OUTLINE))
        return out

    def _conflict(self, c: HeaderConflict) -> ft.Control:
        """Two copies set one detail differently: both are shown, pressing one settles it."""
        rows = []
        for v in c.values:
            said = self._said(c.key, v.value)
            rows.append(
                parts.button(
                    self.t(
                        L(
                            "{value} – {who}, {when}",
                            value=said,
                            who=v.by or self.t(L("no name given")),
                            when=when(stamp_ms(v.stamp)),
                        )
                    ),
                    self._settle,
                    data=(c.key, v.value),
                )
            )
        return parts.card(
            ft.Row(
                [
                    parts.sign(ft.Icons.CALL_SPLIT, "onsecondarycontainer"),
                    parts.text(
                        self.t(
                            L(
                                "Set differently in two copies: {detail}. Press the right one.",
                                detail=DETAIL.get(c.key, c.key),
                            )
                        ),
                        bold=True,
                        color="onsecondarycontainer",
                        expand=True,
                    ),
                ]
            ),
            *rows,
            bg="secondarycontainer",
        )

    def _said(self, key: str, value: Any) -> str:
        if hasattr(value, "unit"):
            return self.app.two(Qty(value.value, "size"))[0]
        if key == "deleted":
            return self.t(L("in the bin") if value else L("kept"))
        return str(value)

    async def _settle(self, e: Pressed) -> None:
        key, value = e.control.data
        await self.app.jobs.set_header(self.id, by=self.app.by, **{key: value})
        self.app.forget(self.id)
        await self.load()
        self.redraw()

    @property
    def document_shown(self) -> View:
        return self.view

    async def shown(self) -> None:
        """Where the job stands is worked out step by step; then all is there at once, and keeps still."""
        if self.flow is not None:
            return
        for s in all_sheets():
            flow.work_of(self.view, s)
            await asyncio.sleep(0)
        self.flow = flow.flow(self.view)
        self.redraw()

    async def renewed(self) -> None:
        self.conflicts = await self.app.jobs.conflicts(self.id)
        self.title = L("{name}", name=self.view.word("title"))
        self.flow = flow.flow(self.view)
        self.redraw()

    def _row(self, name: str, state: str | None, reason: Line | None) -> ft.Control:
        if state == State.NEXT and self.flow is not None and self.flow.next is not None and self.flow.next.key != name:
            state = State.OPEN  # something else is to be looked at first
        icon, ink, word = STATE.get(state, (ft.Icons.MORE_HORIZ, "onsurfacevariant", L("…")))
        forward = state in (State.NEXT, State.LOOK)
        title, said = self.t(sheet(name).title), parts.text(self.t(word), th.SMALL, color=ink, bold=True)
        lines: list[ft.Control] = [parts.text(title, th.LARGE, bold=forward)]
        if reason is not None:
            lines.append(parts.muted(self.t(reason)))
        column = ft.Column(lines, spacing=0, expand=True, tight=True)
        row: list[ft.Control] = [parts.sign(icon, ink, 26), column]
        # the state in a word stands beside the step where that leaves the step its room, else beneath it
        free = self.app.frame.room - 24 - th.icon(26) - 20 - parts.wide(self.t(word), th.SMALL)
        beside = measure.stands(title, th.eased(th.LARGE) * th.held.scale, free, rows=1)
        if state != State.SKIPPED or reason is None:  # a reason says that it is left out
            (row if beside else lines).append(said)
        return parts.row_button(
            ft.Row(row, spacing=10),
            self.follow,
            data=f"/job/{self.id}/{name}",
            bg="primarycontainer" if state == State.NEXT else "surfacecontainer",
        )

    async def _export(self) -> None:
        await save_export(self.app, [self.id], self.view.word("title") or "job")
        await self._copies_again()

    async def _shoot(self) -> None:
        if await shoot_into(self.app, self.view):
            self.app.toast(L("The photo is in the log"))

    async def _bin(self) -> None:
        await self.app.jobs.delete(self.id)
        self.app.forget(self.id)
        self.app.toast(L("In the bin. Files can bring it back."))
        await self.app.go("/")

    def foot(self) -> ft.Control | None:
        if self.flow is None:
            return None
        upcoming = self.flow.next
        if upcoming is None:  # the work is done: what is left is to tell the customer
            said = self.t(L("Report for the customer"))
            return parts.foot_button(said, self.follow, ft.Icons.DESCRIPTION_OUTLINED, data=f"/job/{self.id}/report")
        label = self.t(L("Next: {step}", step=upcoming.title))
        return parts.foot_button(label, self.follow, ft.Icons.ARROW_FORWARD, data=f"/job/{self.id}/{upcoming.key}")


def _unsaid(control: ft.Control) -> ft.Control:
    """Shown, and passed over by a screen reader."""
    return ft.Semantics(exclude_semantics=True, content=control)
