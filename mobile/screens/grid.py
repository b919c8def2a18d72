"""The worn-bore readings: one cell after another, from the pad, without scrolling."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from time import perf_counter
from typing import TYPE_CHECKING, Any

import flet as ft

from logic import bore
from logic.places import place_name
from logic.say import L, Line, Qty, figure, shown
from store import draft
from store.errors import Refused
from store.facts.side import sides_open
from store.flow import work_of
from store.meaning import Meant
from store.sheets import bores, headline

from .. import measure, parts
from .. import theme as th
from ..pad import Pad
from ..shell import Pressed, Screen
from .doubted import Doubted, wanted
from .effect import Effect
from .set_up import SetUp
from .warmth import keep, temperatures
from .words import Answer, AnswerLine, CylinderTabs, cautions, odd_notice, unseen
from .worn_side import WornSide

if TYPE_CHECKING:
    from logic.result import Caution, Result
    from logic.units import Entered
    from store.documents import Entry
    from store.view import Value, View
#: Up to so many seconds the verdict is waited for before anything is drawn: a drawing takes as long.
AT_ONCE_S = 0.015


def _edge(said: str, room: float, *, rows: int) -> float:
    """The largest size at which what stands at an edge of the table is whole there."""
    scale = th.held.scale
    return measure.fitted(said, room, most=th.SMALL, least=min(th.SMALL, 11 / scale), scale=scale, rows=rows)


#: What the readings count from: a doubt about it, or about a reading, is said on the pad.
_ABOUT = (bores.READING.key, bores.ZERO.key, "nominal")


class Grid(Screen):
    """A cylinder at a time: its cells as a small table, the cell asked for, and the pad."""

    async def load(self) -> None:
        self.id = self.found["id"]
        self.view = await self.app.view(self.id)
        self.title = L("Worn bores")
        self.up = f"/job/{self.id}"
        asked = wanted.pop(self.id, None)
        self.cells = bores.cells(self.view)
        self.waiting: set[int] = set()
        self.storing: set[asyncio.Future[Any]] = set()  # what is on its way to the store
        self.unsaved: dict[
            int, tuple[str, Entry]
        ] = {}  # cell -> what was typed for it, and the entry that is not stored
        self.why: Line | str = ""  # why it is not
        self.status = ""
        kept = await self.app.jobs.setting(f"cell.{self.id}", None)
        self.at = kept if isinstance(kept, int) and 0 <= kept < len(self.cells) else self._first_empty()
        if asked is None:
            self.at = self._doubted(self.at)
        self.pad = Pad(self.app, entered=self._entered, undo=self._undo, next_word=L("Enter"))
        self.effect = Effect(self)
        self.doubted = Doubted(self.app, self._settled)
        self.side = WornSide(self.app, self._side_said, self._settings)
        self.set_up = SetUp(self.app, self._set)
        self.took_s = 0.0  # how long the last verdict was worked out
        self.going = False  # on to the job; the worn side is asked on the way
        self.verdict = ft.Container()
        self.table = ft.Column(spacing=4)
        self.tabs = CylinderTabs(self.app, self._cylinder)
        self.saying = parts.muted("", max_lines=1)
        self.onward = ft.Container(visible=False)
        self.sure = True  # nothing of the readings is in doubt
        self.unsure: set[int] = set()  # the cylinders of which something is
        self.faces: dict[int, tuple[ft.Button, ft.Text, ft.Text]] = {}
        self.built: Any = None  # what the table was built for
        self.builds = 0
        self.lit: dict[int, tuple[str, ...]] = {}  # cell -> what it says and how it is marked
        self.touched: list[ft.Control] = []  # what of the table changed since it was last sent
        self.answer: Answer | AnswerLine | None = None
        self._aim()

    # -- the cell asked for ------------------------------------------------------------
    def _first_empty(self) -> int:
        for i, cell in enumerate(self.cells):
            if not self.view.rivals(bores.READING, **cell):
                return i
        return 0

    def _doubted(self, at: int) -> int:
        """Once all is read, the cell of the first reading in doubt; else ``at``."""
        doubts = (
            work_of(self.view, headline()).doubts if self._value(self.cells[self._first_empty()]) is not None else ()
        )
        about = [dict(at) for doubt in doubts for key, at in doubt.about if key == bores.READING.key]
        return next((i for cell in about for i, c in enumerate(self.cells) if c == cell), at)

    def _value(self, cell: dict[str, Any]) -> Value[float] | None:
        return self.view.get(bores.READING, **cell)

    def _aim(self) -> None:
        cell = self.cells[self.at]
        self.pad.aim(
            bores.READING,
            place_name(cell),
            text=self.unsaved[self.at][0] if self.at in self.unsaved else "",
            base_mm=bores.base_mm(self.view),
            division_mm=bores.division_mm(self.view),
            stands=got.value if (got := self._value(cell)) is not None else None,
            meant=Meant(self.view, cell),
        )

    async def _jump(self, e: Pressed) -> None:
        self.at = e.control.data
        self._aim()
        self._paint()
        self._tell(self.pad)
        self.pad.take_focus()
        await self._keep_place()
        await self.in_view()

    async def in_view(self) -> None:
        """Scroll to the row asked for, where the table is longer than the room it has."""
        if self._short and len(bores.depths(self.view)) > 3:
            await self.scroll_to(self._row(self.cells[self.at]["depth"]))

    def _row(self, depth: int) -> str:
        """The key of a depth's row in the table as it was built last: one used again would stand for the row it was given to first."""
        return f"depth {depth} of {self.builds}"

    async def _keep_place(self) -> None:
        """Remember the cell asked for. That is a convenience: no message if there is no room for it."""
        with suppress(Refused):
            await self.app.jobs.set_setting(f"cell.{self.id}", self.at)

    async def _cylinder(self, e: Pressed) -> None:
        wanted = e.control.data
        first = [i for i, c in enumerate(self.cells) if c["cylinder"] == wanted]
        empty = [i for i in first if self._value(self.cells[i]) is None]
        self.at = (empty or first)[0]
        self._aim()
        self._paint()
        self._tell(self.pad)

    # -- entering ------------------------------------------------------------------------
    async def _entered(self, got: Entered) -> bool:
        """Take a reading down: it shows at once, with what it comes to, and counts as entered once it is stored."""
        key, typed = self.at, self.pad.text
        if key in self.waiting:
            await self._quiet()  # what this one corrects has to be stored first
        cell = self.cells[key]
        before = self._value(cell)
        entry = draft.reading(bores.READING, cell, got, replaces=before.entry.id if before and before.entry else None)
        self.unsaved.pop(key, None)
        if self.at + 1 < len(self.cells):
            self.at += 1
        self._aim()
        self.touched += self.effect.forget(tell=False)
        if not await self._store(key, typed, entry):
            return False
        if before is not None and before.entry is not None:
            self.effect.work_out(self.view, before.entry)
        await self._keep_place()
        await self.in_view()
        return True

    async def _quiet(self) -> None:
        """Until nothing is on its way to the store."""
        if self.storing:
            await asyncio.wait(self.storing)

    async def _store(self, key: int, typed: str, entry: Entry) -> bool:
        """Store the reading of a cell, which shows meanwhile. What cannot be stored is taken back, kept for its own
        cell, and said; entry goes on."""
        self.waiting.add(key)
        self.status = self.t(L("Saving…"))
        (entry,) = self.app.ahead(self.view, entry)
        calm = not self.unsaved
        storing = asyncio.ensure_future(self.app.add(self.view, entry))  # it begins once the verdict has been sent
        self.storing.add(storing)
        try:
            self._think()
        finally:  # an answer that cannot be worked out keeps no reading from being stored
            try:
                await storing
            except Exception as problem:  # noqa: BLE001  whatever it is, what was typed is kept and it is said
                self.view.drop(entry.id)
                self.unsaved[key] = typed, entry
                self.why = getattr(problem, "line", None) or L("Not saved: {why}", why=str(problem))
            else:
                self.unsaved.pop(key, None)
            self.waiting.discard(key)
            self.storing.discard(storing)
        self._stored(calm=calm and not self.unsaved)
        return key not in self.unsaved

    def _stored(self, *, calm: bool) -> None:
        """Say what has become of what was stored; where all is well one word does."""
        if not self.waiting:
            self.status = "" if self.unsaved else self.t(L("Saved"))
        if self.app.screen is not self:
            if self.unsaved:
                self.app.toast(self.why, bad=True)
        elif not calm:
            self._think()
        else:
            self._paint()
            self.saying.value = self.status
            self.app.update(self.saying, *self._taken())

    async def _again(self) -> None:
        """Store what could not be stored before, the same entries in the same order."""
        for key, (typed, entry) in sorted(self.unsaved.items()):
            if not await self._store(key, typed, entry):
                return
            if key == self.at and self.pad.text == typed:
                self._aim()
                self.app.update(self.pad.control)

    @property
    def document_shown(self) -> View:
        return self.view

    async def renewed(self) -> None:
        was, cells = self.going, bores.cells(self.view)
        self.going = was and bool(sides_open(self.view))
        if cells != self.cells:  # another number of cylinders or depths: the places are counted anew
            self.cells, self.unsaved, self.waiting = cells, {}, set()
            self.at = self._first_empty()
            was = True
        if was:
            self.redraw()
            return
        self._think()

    async def _undo(self) -> None:
        """Take back the last reading entered on this screen's grid."""
        await self._quiet()
        last = None
        for entry in self.view.live():
            if entry.kind == "reading" and entry.what == bores.READING.key and entry.device == self.app.jobs.device:
                last = entry
        if last is None:
            self.app.toast(L("There is no reading to undo"))
            return
        self.effect.forget()
        told = figure(Qty(last.typed.value, bores.READING.kind), self.app.style)
        await self.app.add(self.view, draft.withdrawn(last.id))
        self.app.toast(L("Undone: {what}", what=f"{self.t(place_name(last.at))}, {told}"))
        for i, cell in enumerate(self.cells):
            if cell == last.at:
                self.at = i
        self._aim()
        self._think()

    def _think(self) -> None:
        """Show all that has changed, and what it comes to. Where that takes long the rest is drawn meanwhile; else all
        goes at once, for one drawing is quicker than two."""
        self._paint()
        apart = self.took_s > AT_ONCE_S
        if apart or self.going:
            self._tell(self.pad)
        if self.going:
            return
        begun = perf_counter()
        try:
            self._verdict()
        finally:
            self.took_s = perf_counter() - begun
            answer = (self.verdict, self.doubted.control)
            if apart and self.app.screen is self:
                self.app.update(*answer)
            elif not apart:
                self._tell(self.pad, *answer)

    def _verdict(self) -> None:
        """The job's verdict, in one line, as far as the readings go."""
        if self.unsaved:
            ink = "onerrorcontainer"
            self.verdict.content = ft.Semantics(
                container=True,
                live_region=True,
                content=parts.card(
                    ft.Row(
                        [
                            parts.sign(ft.Icons.ERROR, ink),
                            parts.text(self.t(self.why), th.BODY, bold=True, color=ink, expand=True),
                        ]
                    ),
                    parts.button(
                        self.t(L("Save again what was not saved: {n}", n=str(len(self.unsaved)))),
                        self._again,
                        icon=ft.Icons.REFRESH,
                    ),
                    bg="errorcontainer",
                ),
            )
            return
        work = work_of(self.view, headline())
        self.doubted.show(self.view, work.doubts)
        self.unsure = {c for d in work.doubts for c in d.cylinders}
        self.pad.warn(work.doubts, _ABOUT)
        if self.sure == bool(work.doubts):  # what is in doubt is settled before it goes on
            self.sure = not work.doubts
            self.onward.content = self._go_on()
        self.verdict.content = self._answered(work.results[0]) if work.results else self._so_far()

    def _answered(self, result: Result) -> ft.Control:
        if self.answer is None:
            self.answer = Answer(self.app, size=th.LARGE) if self._tall() else AnswerLine(self.app)
        return self.answer.show(result)

    def _so_far(self) -> ft.Control:
        """How far the readings go, while they give no verdict yet; before the first, what there is to settle."""
        done, every = sum(1 for c in self.cells if self._value(c) is not None), len(self.cells)
        said = L("Readings in: {done} of {all}. The verdict comes as the bores fill.", done=str(done), all=str(every))
        return parts.column(parts.muted(self.t(said), th.BODY), *self.set_up.keys(self.view))

    # -- painting ---------------------------------------------------------------------
    def _paint(self) -> None:
        """Bring tabs and table up to date. Only other places or other units build the table anew."""
        cylinder = self.cells[self.at]["cylinder"]
        full = {c for c in self.view.cylinders if self._full(c)}
        self.tabs.show(self.view.cylinders, cylinder, full - self.unsure)
        self.saying.value = self.status
        self.onward.visible = len(full) == len(self.view.cylinders)
        mine = [(i, c) for i, c in enumerate(self.cells) if c["cylinder"] == cylinder]
        depths = {d: bores.depth_mm(self.view, d) for d in dict.fromkeys(c["depth"] for _, c in mine)}
        made_for = (
            tuple((c["depth"], c["axis"]) for _, c in mine),
            tuple(depths.items()),
            self.app.style,
            self.app.frame.scale,
            self.app.frame.room,
        )
        if made_for != self.built:
            self.built, self.builds = made_for, self.builds + 1
            self._build(mine, depths)
        elif tuple(self.faces) != tuple(i for i, _ in mine):  # another bore, read at the same places
            self._hand_over([i for i, _ in mine])
        for i in self.faces:
            self._face(i)

    def _build(self, mine: list[tuple[int, dict[str, Any]]], depths: dict[int, float]) -> None:
        app = self.app
        axes = list(dict.fromkeys(c["axis"] for _, c in mine))
        by = {(c["depth"], c["axis"]): i for i, c in mine}
        self.faces, self.lit = {}, {}
        self.touched = [c for c in self.touched if not isinstance(c, ft.Button)] + [self.table]
        unit = self.t(shown(bores.READING.kind, app.style).label)
        other = self.t(shown(bores.READING.kind, app.style.other()).label)
        beside = [unit, *(figure(Qty(depth, "place"), app.style) for depth in depths.values())]
        margin = min(max(parts.wide(b, th.SMALL) for b in beside) + 8, app.frame.room / 4)
        across = (app.frame.room - margin - 4 * len(axes)) / max(1, len(axes))
        names = [self.t(bore.axis_name(a)) for a in axes]
        # one size for what stands at an edge of the table: that at which all of it stands whole
        small = min(_edge(b, margin - 4, rows=1) for b in beside)
        above = min(_edge(n, across, rows=2) for n in names)

        def label(value: str, *beneath: ft.Control) -> ft.Control:
            name = parts.text(value, small, bold=True, no_wrap=True)
            return ft.Container(parts.column(name, *beneath, spacing=0) if beneath else name, width=margin)

        head = [ft.Container(parts.muted(n, above, text_align=ft.TextAlign.CENTER), expand=True) for n in names]
        # the unit of the cells, and beneath it that of their second figure
        corner = label(unit, *([] if app.frame.large else [parts.muted(other, th.SMALL - 1)]))
        self.table.controls = [
            ft.Row([corner, *head], spacing=4),
            *[
                ft.Row(
                    [
                        label(figure(Qty(depth, "place"), app.style)),
                        *[self._cell(by[d, a]) for a in axes if (d, a) in by],
                    ],
                    spacing=4,
                    key=parts.scroll_key(self._row(d)),
                )
                for d, depth in depths.items()
            ],
        ]

    def _hand_over(self, cells: list[int]) -> None:
        """The cells on show are those of another bore from now on."""
        before = dict(zip(cells, self.faces, strict=True))
        self.lit = {now: self.lit[was] for now, was in before.items() if was in self.lit}
        self.faces = {now: self.faces[was] for now, was in before.items()}
        for i, (button, _, _) in self.faces.items():
            button.data = i

    def _tall(self) -> bool:
        """Whether there is room for the verdict in large type above the table."""
        if self.app.frame.large:
            return False
        rows = len(bores.depths(self.view))
        return self.app.height >= (560 + th.TOUCH * (rows + 1) + (th.TOUCH + 6 if self.pad.roomy else 0))

    def _full(self, cylinder: int) -> bool:
        return all(self._value(c) is not None for c in self.cells if c["cylinder"] == cylinder)

    def _cell(self, i: int) -> ft.Control:
        # in large letters one line fills the cell; the other system then stands in the pad
        high = th.TOUCH if not self.app.frame.large else max(th.TOUCH, 22 * self.app.frame.scale)
        large = ft.Text("", size=th.BODY, weight=ft.FontWeight.W_700, no_wrap=True)
        small = ft.Text("", size=th.SMALL - 1, no_wrap=True, weight=ft.FontWeight.W_400)
        button = ft.Button(
            content=ft.Column([large, small], spacing=0, tight=True, horizontal_alignment=ft.CrossAxisAlignment.CENTER),
            on_click=self._jump,
            data=i,
            expand=True,
            height=high,
        )
        self.faces[i] = button, large, small
        return button

    def _face(self, i: int) -> None:
        """What a cell says: the value and, small beneath, the same in the other system; both units stand in the table's corner."""
        button, large, small = self.faces[i]
        here = i == self.at
        face, other, said = self._said(i)
        mark = self._mark(i)
        named = f"{self.t(place_name(self.cells[i]))}: {said}"
        before, now = self.lit.get(i), (mark, str(here), face, other, named)
        if before == now:
            return
        self.lit[i] = now
        large.value, large.semantics_label = face, named
        small.value, small.visible = other, bool(other) and not self.app.frame.large
        small.semantics_label = ""
        if before is None or before[:2] != now[:2]:
            button.style = parts.style(
                "primarycontainer" if here else "surfacecontainer",
                "onprimarycontainer" if here else "onsurface",
                side=mark or None,
                pad=0,
            )
        if not any(one is self.table for one in self.touched):
            self.touched.append(button)

    def _mark(self, i: int) -> str:
        """The colour of a cell's edge: of one that is not stored, and of the one asked for."""
        if i in self.unsaved:
            return "error"
        return "primary" if i == self.at else ""

    def _said(self, i: int) -> tuple[str, str, str]:
        """A cell's value, the same in the other system, and the value as a screen reader says it."""
        style = self.app.style
        if i in self.unsaved and i not in self.waiting:
            face = self.t(L("{value} not saved", value=self.unsaved[i][0]))
            return face, "", face
        got = self._value(self.cells[i])
        if got is None:
            face = "…" if i in self.waiting else "?" if i == self.at else "–"
            return face, "", face
        q = Qty(got.value, bores.READING.kind)
        face, other, said = figure(q, style, unit=False), figure(q, style.other(), unit=False), figure(q, style)
        if i in self.waiting:  # nothing stands as stored before it is
            return face, "…", self.t(L("{value}, being saved", value=said))
        return face, other, said

    def _tell(self, pad: Pad, *more: ft.Control) -> None:
        """Send what changed of the tabs, the table and the pad, and ``more``."""
        if self.going or self.app.screen is not self:  # none of it is on show
            return
        pad.tell(*self._taken(), self.tabs.control, self.saying, self.onward, *more)

    def _taken(self) -> list[ft.Control]:
        """What of the table changed since it was last sent."""
        touched, self.touched = self.touched, []
        return touched

    def body(self) -> list[ft.Control]:
        if to_read := self._to_read():
            return [cautions(self.app, to_read)]
        if self.going:
            return [self.side.question(self.view)]
        self.answer = None
        self._verdict()
        self._paint()
        self.touched = []  # all of it is sent
        self._aim_keep()
        self.onward.content = self._go_on()
        row = ft.Row([ft.Container(self.tabs.control, expand=True), self.saying], spacing=8)
        if self._short:  # what to do next stays in sight, whatever has to scroll
            row.controls.append(self.onward)
        about = parts.button(self.t(L("Wear side, gauge, depths, pictures")), self._settings, icon=ft.Icons.STRAIGHTEN)
        table: list[ft.Control] = [row, self.table]
        table.insert(0 if self._tall() else 2, self.verdict)
        warm, asks = temperatures(self.app, self.view, bores.SHEET.key, go=self.follow, kept=self._keep_warmth)
        if asks:
            table, warm = [*warm, *table], []
        return [
            *table,
            self.effect.control,
            *odd_notice(self.app, self.view),
            self.doubted.control,
            parts.column(*([] if self._short else [self.onward]), *warm, about),
        ]

    @property
    def _short(self) -> bool:
        """Whether the table alone fills the screen beside or above the pad."""
        return self.app.frame.low or self.app.frame.large or self.app.height < 740

    def _go_on(self) -> ft.Control:
        said = self.t(L("All readings are in: go on"))
        sure = self.sure
        if not self._short:
            return parts.button(said, self._on, icon=ft.Icons.ARROW_FORWARD, primary=sure)
        word = self.t(L("Go on"))
        keys = len(self.view.cylinders) * (parts.wide("1", th.LARGE) + 24 + th.icon(16) + 6)
        if keys + parts.wide(word) + 36 + th.icon(18) > self.app.frame.room:  # the arrow alone says it as well
            return parts.square(
                ft.Icons.ARROW_FORWARD, said, self._on, bg="primary" if sure else "surfacecontainerhigh"
            )
        return parts.button(word, self._on, icon=ft.Icons.ARROW_FORWARD, primary=sure, spoken=said)

    async def _keep_warmth(self) -> None:
        await keep(self.app, self.view)
        self.redraw()

    async def _set(self) -> None:
        """What comes before the first reading was entered; what is typed of the reading stays."""
        self._aim_keep()
        await self.renewed()
        self.pad.take_focus()

    async def _settled(self) -> None:
        """A doubt was answered: show what holds now."""
        self._aim()
        await self.renewed()

    def _aim_keep(self) -> None:
        """Aim again for a new style without losing what is typed."""
        text, error = self.pad.text, self.pad.error
        self._aim()
        self.pad.put(text, error)

    async def _on(self) -> None:
        """On to the job, with the question that comes after the last reading on the way, if it is not answered."""
        if sides_open(self.view) and not self.going:
            self.going = True
            self.effect.forget(tell=False)
            self.redraw()
            return
        await self.app.go(f"/job/{self.id}")

    async def _side_said(self) -> None:
        """The worn side was answered on the way to the job: go on."""
        await self._on()

    async def _settings(self) -> None:
        await self.app.go(f"/job/{self.id}/gauge")

    @property
    def asking(self) -> bool:
        return self.going

    @property
    def typing(self) -> bool:
        return not self._to_read() and not self.going

    def _to_read(self) -> list[Caution]:
        return unseen(self.view, bores.CAUTIONS)

    def foot(self) -> ft.Control | None:
        if self.going:
            return self.side.foot(self.view)
        if not self.typing:
            return parts.foot_button(self.t(L("I have read this")), self._seen, ft.Icons.CHECK)
        return self.pad.fit()

    async def shown(self) -> None:
        if self.typing:
            self.pad.take_focus()

    async def _seen(self) -> None:
        await self.app.add(self.view, *[draft.caution(c.key) for c in self._to_read()])
        self.redraw()
        await self.shown()

    async def key(self, key: str) -> None:
        if not self.going:
            await self.pad.key(key)
