"""First screen: the quick oversize check, and the open jobs."""

from __future__ import annotations

import asyncio

import flet as ft

from logic.fields import Field
from logic.oversize import quick
from logic.result import Result
from logic.say import LN, L, Line, Qty
from logic.units import Entered

from .. import bridge, parts
from .. import theme as th
from ..pad import Pad
from ..quick import NOMINAL, WORST, read_size
from ..shell import Pressed, Screen, TypedIn
from .exchange import due, load_demo, overdue
from .keeping import arrival, first_to_home
from .words import Answer, StepBars, details, when

#: The key of the quick check's answer, by which it is scrolled to.
ANSWER = "the quick answer"


class Home(Screen):
    title = L("Boreside")
    halves = True

    async def load(self) -> None:
        self.list, self.due = await asyncio.gather(self.app.jobs.list("job"), due(self.app))
        self.values: dict[str, Entered] = self.app.quick
        self.aimed: Field | None = None
        self.built: tuple[str, float] | None = None  # what the quick check's card was built for
        self.before: Entered | None = None  # the aimed value as it stood before typing
        self.find = ""
        self.toured = await self.app.jobs.setting("toured", False)
        self.pad = Pad(self.app, entered=self._entered, changed=self._changed, close=self._shut, next_word=L("Next"))
        if self.found.get("aim"):  # opened for the quick check
            self._take(NOMINAL)

    # -- quick check -------------------------------------------------------------------
    def _answer(self) -> Result | None:
        n, w = self.values.get("quick.nominal"), self.values.get("quick.worst")
        if n is None or w is None:
            return None
        return quick(nominal_mm=n.value, worst_mm=w.value)

    async def _aim(self, e: Pressed) -> None:
        self._drop()
        self._take(NOMINAL if e.control.data == NOMINAL.key else WORST)
        self.redraw()
        self.pad.take_focus()
        await self.in_view()

    def _drop(self) -> None:
        """What was half typed is dropped, what stood stands."""
        if self.aimed and self.aimed.key not in self.values and self.before is not None:
            self.values[self.aimed.key] = self.before

    def _take(self, field: Field) -> None:
        self.aimed, self.before = field, self.values.get(field.key)
        nominal = self.values.get(NOMINAL.key)
        base = nominal.value if nominal and field is WORST else None
        self.pad.aim(field, field.label, base_mm=base, meant=read_size)
        self.pad.name_next(L("Next") if field is NOMINAL else L("Done"))

    async def _changed(self, got: Entered | None) -> tuple[ft.Control, ...]:
        key = self.pad.aimed.key
        if got is not None:
            self.values[key] = got
        elif self.before is not None and not self.pad.text:
            self.values[key] = self.before
        else:
            self.values.pop(key, None)
        self._paint()
        return (self.quick_card,)

    async def _entered(self, got: Entered) -> None:
        self.values[self.pad.aimed.key] = got
        if self.aimed is NOMINAL:
            self._take(WORST)
        else:
            self.aimed = None
        self.redraw()
        await self.in_view()

    async def in_view(self) -> None:
        """What is asked for, or the answer, where there is too little room to see all of the card."""
        if not (self.app.frame.large or self.app.height < 600):
            return
        shown = self.aimed.key if self.aimed is not None else ANSWER if self._answered() else None
        if shown is not None:
            await asyncio.sleep(0.05)
            await self.scroll_to(shown)

    async def _shut(self) -> None:
        self._drop()
        self.aimed = None
        self.redraw()

    async def key(self, key: str) -> None:
        if self.aimed and key == "Escape":
            await self._shut()
        elif self.aimed:
            await self.pad.key(key)

    def _build(self) -> None:
        """The quick check's card, built once for a language and text size; after that only what it says is changed."""
        self.faces: dict[str, tuple[ft.Text, ft.Text]] = {}
        self.buttons: dict[str, ft.Button] = {}
        self.marked: dict[str, str] = {}
        self.hint = parts.muted(self.t(L("Two numbers give the smallest oversize likely to clean up this bore.")))
        self.wrong = ft.Container()
        self.answer, self.bars = Answer(self.app), StepBars(self.app)
        self.more = parts.column()
        self.quick_card = parts.card(
            parts.heading(self.t(L("Quick oversize check"))),
            ft.Column(
                [self._cell(NOMINAL), self._cell(WORST)],
                spacing=th.GAP,
                horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
            )
            if self.app.frame.large
            else ft.Row(
                [self._cell(NOMINAL), self._cell(WORST)], spacing=th.GAP, vertical_alignment=ft.CrossAxisAlignment.START
            ),
            self.hint,
            self.wrong,
            ft.Container(self.answer.strip.control, key=parts.scroll_key(ANSWER)),
            self.bars.control,
            self.more,
        )

    def _cell(self, field: Field) -> ft.Control:
        large = parts.text("", th.VERDICT, bold=True, no_wrap=True)
        small = parts.muted("", no_wrap=True)
        button = parts.row_button(
            ft.Column([parts.muted(self.t(field.label)), large, small], spacing=1, tight=True),
            self._aim,
            data=field.key,
            key=field.key,
            lines=3,
        )
        self.faces[field.key] = large, small
        self.buttons[field.key] = button
        return ft.Container(expand=None if self.app.frame.large else True, content=button)

    def _mark(self) -> None:
        """The field that is typed into is marked, once its mark changes."""
        for key, button in self.buttons.items():
            bg = "primarycontainer" if self.aimed is not None and self.aimed.key == key else "surfacecontainerhigh"
            if self.marked.get(key) != bg:
                self.marked[key] = bg
                button.style = parts.style(
                    bg,
                    "onsurface",
                    side="primary" if bg == "primarycontainer" else None,
                    align=ft.Alignment.CENTER_LEFT,
                )

    def _paint(self) -> None:
        self._mark()
        for key, (large, small) in self.faces.items():
            got = self.values.get(key)
            large.value, small.value = self.app.two(Qty(got.value, "size")) if got else ("…", " ")
            large.semantics_label = None if got else self.t(L("nothing entered"))
        result, wrong = None, ""
        try:
            result = self._answer()
        except ValueError as problem:
            wrong = str(problem)
        self.hint.visible = result is None and not wrong
        self.wrong.visible = bool(wrong)
        self.wrong.content = parts.notice(wrong, bad=True) if wrong else None
        self.answer.strip.control.visible = result is not None
        if result is not None:
            self.answer.show(result)
        self.bars.show(result)
        self.more.controls = self._more(result) if result is not None and self.aimed is None else []
        self.more.visible = bool(self.more.controls)

    def _more(self, result: Result) -> list[ft.Control]:
        """What the quick check leads to, and the numbers behind it."""
        other = parts.button(self.t(L("New job")), self.follow, data="/new", icon=ft.Icons.ADD)
        return [*([other] if self.app.unstored is None else []), *details(self.app, result)]

    # -- screen ------------------------------------------------------------------------
    def body(self) -> tuple[list[ft.Control], list[ft.Control]]:
        made_for = (self.app.style.language, self.app.frame.scale)
        if made_for != self.built:
            self.built = made_for
            self._build()
        self._paint()
        if self.aimed:
            return [self.quick_card], []
        self.notices = parts.column(*self._notices())
        self.sign = ft.Container(self._sign())
        if self.app.unstored is not None:
            return [self.quick_card, self.notices], [*self._without(self.app.unstored), self.sign]
        out: list[ft.Control] = [
            ft.Row(
                [
                    parts.heading(self.t(L("Jobs"))),
                    parts.muted(
                        self.t(L("{n} on this device", n=str(len(self.list)))), expand=True, text_align=ft.TextAlign.END
                    ),
                ]
            )
        ]
        if len(self.list) > 6:
            out.append(
                ft.TextField(
                    label=self.t(L("Find a job")),
                    value=self.find,
                    on_change=self._find,
                    prefix_icon=ft.Icons.SEARCH,
                    text_size=th.BODY,
                    border_color="outline",
                )
            )
        if not self.toured and not self.list:
            out.append(
                parts.button(
                    self.t(L("New here? Take the short tour")),
                    self.follow,
                    data="/tour",
                    icon=ft.Icons.SIGNPOST_OUTLINED,
                )
            )
        self.rows = parts.column(*self._rows())
        out.append(self.rows)
        out.append(self.sign)
        return [self.quick_card, self.notices], out

    def _without(self, why: Line) -> list[ft.Control]:
        """In the place of the jobs, where none can be stored."""
        t = self.t
        return [
            parts.strip(
                "stop",
                t(L("The jobs cannot be reached")),
                f"{t(why)} {t(L('The quick check works all the same.'))}",
                size=th.LARGE,
            ),
            parts.button(t(L("Load the app again")), bridge.reload, height=56),
        ]

    async def renewed(self) -> None:
        listed = await self.app.jobs.list("job")
        if listed != self.list:
            self.list = listed
            if not self.aimed:
                self.redraw()

    def news(self) -> None:
        if self.aimed:
            return
        self.notices.controls, self.sign.content = self._notices(), self._sign()
        self.app.update(self.notices, self.sign)

    def _notices(self) -> list[ft.Control]:
        """What is worth knowing between jobs: a newer version, a backup that is due, damage that was mended."""
        t, out = self.t, []
        if self.app.update_waiting:
            out.append(
                parts.card(
                    parts.text(t(L("A new version is ready. Your jobs stay as they are.")), color="onprimarycontainer"),
                    parts.button(t(L("Change over now")), bridge.apply_update, icon=ft.Icons.UPDATE),
                    bg="primarycontainer",
                )
            )
        out += [parts.notice(t(line), bad=True) for line in self.app.jobs.troubles]
        if self.app.keeping is not None and all(s.id.startswith("demo") for s in self.list):  # no job of one's own yet
            out += first_to_home(self.app, self.app.keeping)
            out += arrival(self.app, self.app.keeping, self.follow)
        if self.due:
            out.append(
                parts.card(
                    parts.text(t(overdue(len(self.due))), color="onsecondarycontainer"),
                    parts.button(t(L("Save to a file")), self.follow, data="/files", icon=ft.Icons.SAVE_ALT),
                    bg="secondarycontainer",
                )
            )
        return out

    def _sign(self) -> ft.Control:
        """Whether the app would start here without a signal: asked of the cache, not assumed."""
        offline = self.app.offline
        if offline is None or offline.why == "computer":
            return ft.Container()
        ready = offline.ready
        return ft.Row(
            [
                parts.sign(
                    ft.Icons.CLOUD_DONE_OUTLINED if ready else ft.Icons.CLOUD_DOWNLOAD_OUTLINED, "onsurfacevariant", 20
                ),
                parts.muted(
                    self.t(L("Ready to work offline") if ready else L("Not ready to work offline")), expand=True
                ),
            ],
            spacing=6,
        )

    def _rows(self) -> list[ft.Control]:
        rows: list[ft.Control] = []
        wanted = self.find.casefold()
        for s in self.list:
            about = " · ".join(x for x in (s.customer, s.engine) if x)
            if wanted and wanted not in f"{s.title} {about}".casefold():
                continue
            if len(rows) == 60:
                rows.append(parts.muted(self.t(L("More jobs match: type more of the name."))))
                break
            rows.append(
                parts.row_button(
                    ft.Row(
                        [
                            ft.Column(
                                [
                                    parts.text(s.title or self.t(L("Job without a name")), th.LARGE, bold=True),
                                    *([parts.muted(about)] if about else []),
                                    parts.muted(
                                        self.t(
                                            LN(
                                                "{n} entry, last on {when}",
                                                "{n} entries, last on {when}",
                                                s.entries,
                                                when=when(s.changed_ms),
                                            )
                                        )
                                    ),
                                ],
                                spacing=1,
                                expand=True,
                                tight=True,
                            ),
                            parts.sign(ft.Icons.CHEVRON_RIGHT, "onsurfacevariant"),
                        ]
                    ),
                    self._open,
                    data=s.id,
                    lines=2,
                )
            )
        if not self.list:
            rows.append(
                parts.muted(self.t(L("No jobs yet. Start one, or load the invented demo job to look around.")), th.BODY)
            )
            rows.append(parts.button(self.t(L("Load the demo job")), self._demo, icon=ft.Icons.SCIENCE_OUTLINED))
        return rows

    async def _find(self, e: TypedIn) -> None:
        self.find = e.control.value or ""
        self.rows.controls = self._rows()
        self.app.update(self.rows)

    @property
    def typing(self) -> bool:
        return self.aimed is not None

    def foot(self) -> ft.Control | None:
        if self.aimed:
            return self.pad.fit()
        if self.app.unstored is not None:
            return None
        said, icon, route = L("New job"), ft.Icons.ADD, "/new"
        if self._answered():
            said, icon, route = L("Start a job with these numbers"), ft.Icons.ARROW_FORWARD, "/new/quick"
        return ft.Container(parts.foot_button(self.t(said), self.follow, icon, data=route), bgcolor="surface")

    def _answered(self) -> bool:
        """Whether the two numbers give an answer, with which a job can begin."""
        try:
            return self._answer() is not None
        except ValueError:
            return False

    async def _open(self, e: Pressed) -> None:
        s = next(s for s in self.list if s.id == e.control.data)
        if s.trouble is not None:
            self.app.toast(s.trouble, bad=True)
            return
        await self.app.go(f"/job/{s.id}")

    async def _demo(self) -> None:
        await load_demo(self.app)
        await self.load()
        self.redraw()
