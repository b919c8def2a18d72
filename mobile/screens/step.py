"""Any step of the job: its cautions, its answer, its pictures, and what it asks for.

The step's :class:`~store.sheets.base.Sheet` says what to ask and how the answer is
worked out; this screen only lays it out and appends what is entered.
"""

from __future__ import annotations

import asyncio
import os.path
from typing import Any

import flet as ft

from logic import units
from logic.fields import Field
from logic.flow import State
from logic.result import Caution, Verdict, source_said
from logic.say import KINDS, L, Qty, figure
from store import draft
from store.flow import flow, skip_key, stands_key, work_of
from store.sheets import NAMES, all_sheets, sheet

from .. import parts
from .. import theme as th
from ..app import Screen
from ..pad import Pad
from .effect import Effect
from .words import CylinderTabs, Folded, answer_strip, cautions, details, step_bars, unseen

#: Places that number what is done again and again; the earliest unfinished one is asked for first.
COUNTERS = ("pass", "check", "point", "item", "piece", "grade", "foot")


def _exactly(step_mm: float) -> units.Entered:
    """A step that was pressed, not typed, as an entered number."""
    return units.Entered(text=f"{step_mm:g}", typed_unit="mm", value=step_mm, unit="mm")


#: Verdicts, the one to look at first last.
WEIGHT = (Verdict.INFO, Verdict.GO, Verdict.MAYBE, Verdict.STOP)


def _cylinder_of(result: Any) -> int | None:
    """The cylinder a result is about: the first number in its key, as in ``hone.shape.3``."""
    return next((int(part) for part in result.key.split(".") if part.isdigit()), None)


def _common(names: list[str]) -> str:
    """What all names begin with, up to a comma."""
    shared = os.path.commonprefix(names) if len(names) > 1 else ""
    return shared[: shared.rfind(", ") + 2] if ", " in shared else ""


class Step(Screen):
    halves = True
    leave = L("Back to the job")

    async def load(self) -> None:
        self.id = self.found["id"]
        step = self.found["step"]
        self.gauge = step == "gauge"  # the bores' own step, beside the screen that takes the readings
        self.name = "bores" if self.gauge else step
        if self.name not in NAMES:
            raise KeyError(step)
        view = await self.app.view(self.id)
        self.up = f"/job/{self.id}/bores" if self.gauge else f"/job/{self.id}"
        self._open(view, sheet(self.name))
        if self.gauge:
            self.title = L("About the bores")

    def _open(self, view: Any, its_sheet: Any) -> None:
        self.view, self.sheet = view, its_sheet
        self.title = its_sheet.title
        self.aimed: tuple[Field, dict[str, Any]] | None = None
        self.asking: tuple[Field, dict[str, Any]] | None = None
        self.skipping = False
        self.answer = ft.Column(spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.asks = ft.Column(spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.pad = Pad(self.app, entered=self._entered, undo=self._undo, close=self._shut, next_word=L("Enter"))
        self.work = self._worked()
        self.doubt: Any = None
        self.upcoming: Any = None  # the step to go to when this one is done
        self.effect = Effect(self)
        self.made: list[Any] = []
        self.opened: dict[str, bool] = {}  # groups opened or folded by hand
        self.cylinder: int = self._first_cylinder()

    def _worked(self) -> Any:
        return work_of(self.view, self.sheet)

    def _first_cylinder(self) -> int:
        """The cylinder to show first: where something is missing, else where the answer is not yes, else the first with an answer."""
        missing = (dict(at).get("cylinder") for _, at in self.work.missing)
        doubtful = (_cylinder_of(r) for r in self.work.results if r.verdict in (Verdict.STOP, Verdict.MAYBE))
        any_at_all = (_cylinder_of(r) for r in self.work.results)
        return next((c for c in (*missing, *doubtful, *any_at_all) if c in self.view.cylinders), 1)

    def _by_cylinder(self) -> bool:
        """Whether the step is laid out cylinder by cylinder, with a tab for each."""
        return len(self.view.cylinders) > 1 and any(
            "cylinder" in at for g in self.sheet.groups for at in g.places(self.view)
        )

    def _answers(self) -> tuple[list[Any], list[Any]]:
        """The step's results: those of the cylinder on show and of the whole job; and the other cylinders'."""
        results = list(self.work.results)
        if not self._by_cylinder() or not results:
            return results, []
        mine = [r for r in results if _cylinder_of(r) == self.cylinder]
        general = [r for r in results if _cylinder_of(r) is None]
        headline = [results[0]] if results[0] in general else []
        shown = [*headline, *mine, *(r for r in general if r not in headline)]
        return shown, [r for r in results if r not in shown]

    async def shown(self) -> None:
        await self._look_round()

    async def _look_round(self) -> None:
        """Where the job stands: whether something upstream was corrected since, and which step is next. Found between key presses."""
        await asyncio.sleep(0.05)
        entries = len(self.view.entries)
        for s in all_sheets():
            work_of(self.view, s)
            await asyncio.sleep(0)
            if len(self.view.entries) != entries or self.app.screen is not self:
                return  # something was entered meanwhile: another look follows
        found = flow(self.view)
        status = found.state(self.name)
        doubt = status.reason if status.state == State.LOOK else None
        upcoming = found.next if found.next is not None and found.next.key != self.name else None
        if (doubt, upcoming) != (self.doubt, self.upcoming):
            self.doubt, self.upcoming = doubt, upcoming
            if not self.aimed:
                self.redraw()

    async def renewed(self) -> None:
        self.work = self._worked()
        self.redraw()

    # -- layout -----------------------------------------------------------------------
    def body(self) -> list[ft.Control]:
        self._paint_answer()
        self._paint_asks()
        return [self.answer], [self.asks]

    def _unseen(self) -> list[Caution]:
        return unseen(self.view, self.sheet.cautions, self.work.cautions)

    def _paint_answer(self) -> None:
        t, out = self.t, []
        if self.work.blocked:
            out.append(
                parts.card(
                    ft.Row(
                        [
                            ft.Icon(ft.Icons.PAUSE_CIRCLE_OUTLINE, color="onsecondarycontainer"),
                            parts.text(
                                t(self.work.blocked), th.LARGE, bold=True, color="onsecondarycontainer", expand=True
                            ),
                        ]
                    ),
                    bg="secondarycontainer",
                )
            )
        if self.doubt is not None and not self.aimed:
            out.append(
                parts.card(
                    ft.Row(
                        [
                            ft.Icon(ft.Icons.HELP, color="onsecondarycontainer"),
                            parts.text(t(self.doubt), th.BODY, bold=True, color="onsecondarycontainer", expand=True),
                        ]
                    ),
                    parts.button(t(L("I looked: it stands")), self._stands, icon=ft.Icons.CHECK),
                    bg="secondarycontainer",
                )
            )
        to_read = self._unseen()
        if to_read and not self.aimed:
            out.append(cautions(self.app, to_read, self._seen))
        if not self.work.results and not self.work.blocked:
            out.append(parts.muted(t(self.sheet.purpose), th.BODY))
            if self.work.missing:
                names = dict.fromkeys(
                    self.sheet.fields[k].label if k in self.sheet.fields else k for k, _ in self.work.missing
                )
                out.append(parts.text(t(L("Still to enter: {what}", what=tuple(names)[:4])), th.BODY, bold=True))
        if self._by_cylinder():
            out.append(CylinderTabs(self.app, self._show_cylinder).show(self.view.cylinders, self.cylinder))
        out.append(self.effect.control)
        answers, others = self._answers()
        if others and not any(_cylinder_of(r) == self.cylinder for r in answers):
            out.append(parts.muted(t(L("There is no answer for cylinder {n} yet.", n=str(self.cylinder))), th.BODY))
        for i, result in enumerate(answers):
            if i and self.aimed:
                break  # while a number is typed, only the verdict stays in sight
            if i == 0:
                out.append(answer_strip(self.app, result))
                if not self.aimed:
                    out += step_bars(self.app, result)
                    out += self._choose(result)
                    out += self._pictures(result)
                    out += self._inside(result)
            else:
                out.append(self._folded(result))
        if others and not self.aimed:
            worst = max((r.verdict for r in others), key=WEIGHT.index)
            out.append(
                Folded(self.app, t(L("The other cylinders")), lambda: [self._folded(r) for r in others], verdict=worst)
            )
        if not self.work.results and not self.aimed:
            out += self._pictures(None)
        self.answer.controls = out

    def _folded(self, result: Any) -> ft.Control:
        return Folded(self.app, self.t(result.line), lambda: self._inside(result), verdict=result.verdict)

    def _inside(self, result: Any) -> list[ft.Control]:
        return [*details(self.app, result), *self._warnings(result)]

    def _pictures(self, result: Any) -> list[ft.Control]:
        """The pictures: one alone is shown; of several, the one that decides is open."""
        from ..pictures import painted

        pictures = self.work.pictures
        if self._by_cylinder() and len(pictures) == len(self.view.cylinders):
            pictures = (pictures[self.view.cylinders.index(self.cylinder)],)
        if len(pictures) == 1:
            return [painted(self.app, pictures[0])]
        first = 0
        governs = getattr(result, "governing", None)
        if governs is not None and governs in self.view.cylinders and len(pictures) == len(self.view.cylinders):
            first = self.view.cylinders.index(governs)
        return [
            Folded(self.app, self.t(p.title), lambda p=p: [painted(self.app, p, titled=False)], open=i == first)
            for i, p in enumerate(pictures)
        ]

    def _warnings(self, result: Any) -> list[ft.Control]:
        """The cautions of one answer; those of the whole step are shown once, before it."""
        standing = {c.key for c in (*self.sheet.cautions, *self.work.cautions)}
        return [
            parts.card(
                ft.Row(
                    [
                        ft.Icon(ft.Icons.WARNING_AMBER, color="onsecondarycontainer"),
                        parts.text(self.t(c.text), th.BODY, color="onsecondarycontainer", expand=True),
                    ],
                    vertical_alignment=ft.CrossAxisAlignment.START,
                ),
                bg="secondarycontainer",
            )
            for c in result.cautions
            if c.key not in standing
        ]

    def _choose(self, result: Any) -> list[ft.Control]:
        """On the oversize step: decide, with the advice kept beside the decision."""
        steps = getattr(result, "steps", ()) if self.name == "oversize" else ()
        if not steps:
            return []
        decision = self.view.decisions.get(("oversize", ()))
        decided = float(decision.typed.value) if decision and decision.typed else None
        rows = [
            parts.button(
                figure(Qty(s.step_mm, "step"), self.app.style),
                self._decide,
                data=s,
                height=th.TOUCH,
                icon=ft.Icons.CHECK if decided is not None and abs(decided - s.step_mm) < 1e-6 else None,
                bg="primarycontainer" if decided is not None and abs(decided - s.step_mm) < 1e-6 else None,
                ink="onprimarycontainer" if decided is not None and abs(decided - s.step_mm) < 1e-6 else None,
            )
            for s in steps
        ]
        said = (
            L("You decided on {step}. Press another to change your mind.", step=Qty(decided, "step"))
            if decided is not None
            else L("Press the step you will bore to. Measure the pistons you have before you cut.")
        )
        return [
            parts.card(
                parts.heading(self.t(L("Your decision"))),
                parts.text(self.t(said)),
                ft.Row(rows, wrap=True, spacing=6, run_spacing=6),
            )
        ]

    async def _decide(self, e: Any) -> None:
        step = e.control.data
        advised = self.t(self.work.results[0].line) if self.work.results else ""
        q = Qty(step.step_mm, "step")
        await self._append(
            draft.decision("oversize", figure(q, self.app.style), entered=_exactly(step.step_mm), advised=advised)
        )

    def _named(self, key: str, at: Any) -> str:
        field = self.sheet.fields.get(key)
        name = self.t(field.label) if field else key
        where = self._where(at)
        return f"{name} ({where})" if where else name

    def _where(self, at: Any) -> str:
        for g in self.sheet.groups:
            if g.name and at and any(set(f.at) == set(at) for f in g.fields):
                return self.t(g.name(at))
        return ", ".join(str(v) for v in dict(at).values())

    # -- what is asked -------------------------------------------------------------------
    def _mine(self, at: dict[str, Any]) -> bool:
        """Whether a place is on show: those of other cylinders wait behind their tab."""
        return at.get("cylinder", self.cylinder) == self.cylinder

    def _fields_at(self, group: Any, at: dict[str, Any]) -> list[Field]:
        return [f for f in group.fields if set(f.at) == set(at)] or list(group.fields)

    def _paint_asks(self) -> None:
        t, out = self.t, []
        places = {g.key: g.places(self.view) for g in self.sheet.groups}
        for group in self.sheet.groups:
            if any(f.key == "bore.reading" for f in group.fields):
                out.append(
                    parts.button(t(L("Enter readings")), self._grid, icon=ft.Icons.GRID_ON, primary=True, height=56)
                )
                continue
            shown = [at for at in places[group.key] if self._mine(at)]
            if not shown:
                continue
            entered, wanted = self._tally(group, shown)
            opened = self.opened.get(group.key, bool(wanted) or group.grows)
            if self.aimed and self.aimed[0].key in {f.key for f in group.fields}:
                opened = True
            count = (
                L("{n} entered", n=str(entered))
                if not wanted
                else L("{n} entered, {m} to go", n=str(entered), m=str(wanted))
            )
            out.append(
                parts.row_button(
                    ft.Row(
                        [
                            ft.Column(
                                [parts.text(t(group.title), th.LARGE, bold=True), parts.muted(t(count))],
                                spacing=0,
                                expand=True,
                                tight=True,
                            ),
                            ft.Icon(ft.Icons.EXPAND_LESS if opened else ft.Icons.EXPAND_MORE, color="onsurface"),
                        ]
                    ),
                    self._fold,
                    bg="surfacecontainerhigh",
                    data=(group.key, opened),
                )
            )
            if opened:
                out += self._group(group, shown)
        out += self._skip()
        self.asks.controls = out

    def _tally(self, group: Any, shown: list[dict[str, Any]]) -> tuple[int, int]:
        """(how many are entered, how many the step still waits for) in a group, for the cylinder on show."""
        missing = {(k, tuple(sorted(at.items()))) for k, at in self.work.missing}
        entered = wanted = 0
        for at in shown:
            for f in self._fields_at(group, at):
                got = self.view.get(f, **at)
                entered += bool(got and got.entered)
                wanted += (f.key, tuple(sorted(at.items()))) in missing
        return entered, wanted

    def _group(self, group: Any, shown: list[dict[str, Any]]) -> list[ft.Control]:
        out: list[ft.Control] = []
        if group.help and not self.aimed:
            out.append(parts.muted(self.t(group.help)))
        if len(shown) > 1 and len(group.fields) == 1 and shown[0]:
            return [*out, self._cells(group, shown)]
        for at in shown:
            if at and group.name:
                out.append(parts.text(self.t(group.name(at)), th.BODY, bold=True))
            out += [self._row(f, at) for f in self._fields_at(group, at)]
        return out

    async def _fold(self, e: Any) -> None:
        key, opened = e.control.data
        self.opened[key] = not opened
        self.redraw()

    async def _show_cylinder(self, e: Any) -> None:
        self.cylinder = e.control.data
        self.aimed = self.asking = None
        self.redraw()

    def _next_ask(self) -> tuple[Field, dict[str, Any]] | None:
        """What the log waits for: the first thing missing, else the next of what is logged again and again."""
        for key, at in self.work.missing:
            if key in self.sheet.fields:
                return self.sheet.fields[key], dict(at)
        waiting: list[tuple[int, int, Field, dict[str, Any]]] = []
        for order, group in enumerate(self.sheet.groups):
            if not group.grows:
                continue
            for at in group.places(self.view):
                if not self._mine(at):
                    continue
                turn = max((n for k, n in at.items() if k in COUNTERS), default=0)
                for f in self._fields_at(group, at):
                    got = self.view.get(f, **at)
                    stands = got is not None and (got.entered or turn <= 1)  # a default will do the first time
                    if f.kind in KINDS and not f.optional and not stands:
                        waiting.append((turn, order, f, at))
        if waiting:
            _, _, field, at = min(waiting, key=lambda w: w[:2])
            return field, at
        return None

    def _face(self, field: Field, at: dict[str, Any]) -> tuple[str, str, bool]:
        """(large, small, entered) for a field at a place."""
        got = self.view.get(field, **at)
        if got is None:
            return "–", self.t(L("not needed") if field.optional else L("to enter")), False
        if field.kind == "choice":
            label = next((self.t(c.label) for c in field.choices if c.value == got.value), str(got.value))
            large, small = label, ""
        elif field.kind == "text":
            large, small = str(got.value), ""
        else:
            large, small = self.app.two(Qty(got.value, field.kind))
        if not got.entered:
            source = self.t(source_said(got.source))
            small = source if not small or small == large else f"{small} · {source}"
        return large, small, got.entered

    def _row(self, field: Field, at: dict[str, Any]) -> ft.Control:
        if field.kind == "text":
            got = self.view.get(field, **at)
            return ft.TextField(
                label=self.t(field.label),
                value=got.value if got else "",
                data=(field, at),
                on_blur=self._text,
                on_submit=self._text,
                text_size=th.BODY,
                border_color="outline",
            )
        large, small, entered = self._face(field, at)
        here = self.aimed is not None and self.aimed[0].key == field.key and self.aimed[1] == at
        ink = "onsurface" if entered else "onsurfacevariant"
        face = ft.Row(
            [
                ft.Container(parts.text(self.t(field.label), th.BODY), expand=3),
                ft.Container(
                    ft.Column(
                        [
                            parts.text(large, th.LARGE, bold=entered, color=ink, text_align=ft.TextAlign.END),
                            *([parts.muted(small, text_align=ft.TextAlign.END)] if small and small != large else []),
                        ],
                        spacing=0,
                        tight=True,
                        horizontal_alignment=ft.CrossAxisAlignment.END,
                    ),
                    expand=2,
                ),
            ],
            spacing=8,
        )
        row = parts.row_button(
            face,
            self._aim,
            bg="primarycontainer" if here else "surfacecontainer",
            data=(field, at),
            key=self._slot(field, at),
            lines=2 if small and small != large else 1,
        )
        if self.asking and self.asking[0].key == field.key and self.asking[1] == at:
            return ft.Column(
                [row, self._choices(field, at)], spacing=4, horizontal_alignment=ft.CrossAxisAlignment.STRETCH
            )
        return row

    def _slot(self, field: Field, at: dict[str, Any]) -> str:
        return field.key + "|" + "|".join(f"{k}={v}" for k, v in sorted(at.items()))

    def _cells(self, group: Any, places: list[dict[str, Any]]) -> ft.Control:
        field = group.fields[0]
        across = max(1, int(self.app.frame.room // (110 * self.app.frame.scale)))
        names = [self.t(group.name(at)) if group.name else self._where(at) for at in places]
        said_once = len(_common(names))  # the cylinder is on its tab already
        rows, line = [], []
        for at, name in zip(places, names):
            large, small, entered = self._face(field, at)
            here = self.aimed is not None and self.aimed[0].key == field.key and self.aimed[1] == at
            cell = parts.row_button(
                ft.Column(
                    [
                        parts.muted(name[said_once:], max_lines=4, semantics_label=name),
                        parts.text(large, th.BODY, bold=entered, no_wrap=True),
                        *([parts.muted(small, max_lines=1)] if small and entered else []),
                    ],
                    spacing=0,
                    tight=True,
                ),
                self._aim,
                bg="primarycontainer" if here else "surfacecontainer",
                data=(field, at),
                key=self._slot(field, at),
            )
            cell.expand = True
            cell.style.padding = ft.Padding.symmetric(horizontal=8, vertical=6)
            line.append(cell)
            if len(line) == across:
                rows.append(ft.Row(line, spacing=6))
                line = []
        if line:
            line += [ft.Container(expand=True) for _ in range(across - len(line))]
            rows.append(ft.Row(line, spacing=6))
        return ft.Column(rows, spacing=6)

    def _choices(self, field: Field, at: dict[str, Any]) -> ft.Control:
        got = self.view.get(field, **at)
        return ft.Container(
            padding=ft.Padding.only(left=12),
            content=ft.Column(
                [
                    parts.muted(self.t(field.help)),
                    *[
                        parts.button(
                            self.t(c.label),
                            self._chose,
                            data=(field, at, c.value),
                            icon=ft.Icons.CHECK if got and got.value == c.value else None,
                            height=None,
                            bg="primarycontainer" if got and got.value == c.value else None,
                            ink="onprimarycontainer" if got and got.value == c.value else None,
                        )
                        for c in field.choices
                    ],
                ],
                spacing=6,
                horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
            ),
        )

    # -- entering ------------------------------------------------------------------------
    async def _aim(self, e: Any) -> None:
        field, at = e.control.data
        if field.key == "bore.reading":
            await self._grid(e)
            return
        self.cylinder = at.get("cylinder", self.cylinder)
        if field.kind == "choice":
            same = self.asking and self.asking[0].key == field.key and self.asking[1] == at
            self.asking, self.aimed = (None if same else (field, at)), None
            self.redraw()
            return
        self.asking = None
        self._take(field, at)
        self.redraw()
        self.pad.take_focus()
        await self._reveal(field, at)

    def _take(self, field: Field, at: dict[str, Any]) -> None:
        self.aimed = (field, at)
        self.cylinder = at.get("cylinder", self.cylinder)
        where = self._where(at) if at else ""
        label = L("{what}, {where}", what=field.label, where=where) if where else field.label
        got = self.view.get(field, **at)
        self.pad.aim(
            field, label, base_mm=self._base(field), stands=got.value if got is not None and got.entered else None
        )

    def _base(self, field: Field) -> float | None:
        if not field.over:
            return None
        if self.sheet.base_mm is not None:
            return self.sheet.base_mm(self.view)
        from store.sheets import bores

        return bores.base_mm(self.view)

    async def _reveal(self, field: Field, at: dict[str, Any]) -> None:
        await asyncio.sleep(0.05)
        try:
            await self.app.middle.scroll_to(scroll_key=self._slot(field, at), duration=0)
        except Exception:
            pass  # the row may be gone again; scrolling is a convenience

    def _order(self) -> list[tuple[Field, dict[str, Any]]]:
        out = []
        for group in self.sheet.groups:
            for at in group.places(self.view):
                for f in group.fields:
                    if f.kind in KINDS and f.key != "bore.reading" and set(f.at) == set(at):
                        out.append((f, at))
        return out

    async def _entered(self, got: Any) -> None:
        field, at = self.aimed
        before = self.view.get(field, **at)
        entry = draft.reading(field, at, got, replaces=before.entry.id if before and before.entered else None)
        order = self._order()
        keys = [self._slot(*x) for x in order]
        here = keys.index(self._slot(field, at)) if self._slot(field, at) in keys else -1
        typed, self.pad.text = self.pad.text, ""  # keys pressed while it is stored belong to the next field
        self.effect.forget()
        if not await self._append(entry, quiet=True):
            self.pad.text = typed
            self.pad._paint()
            self.app.update(self.pad.control)
            return
        begun, order = self.pad.text, self._order()
        following = order[here + 1] if 0 <= here < len(order) - 1 else None
        if (following and following[0].at == field.at) or (following and at):
            self._take(*following)
            self.pad.text = begun
            self.pad._paint()
        else:
            self.aimed = None
        self._corrected(before)
        self.redraw()
        if self.aimed:
            await self._reveal(*self.aimed)

    def _corrected(self, before: Any) -> None:
        """Where an entry took the place of another: find out, in the background, what that changed."""
        if before is not None and before.entered:
            self.effect.work_out(self.view, before.entry)

    async def _chose(self, e: Any) -> None:
        field, at, value = e.control.data
        before = self.view.get(field, **at)
        self.asking = None
        if await self._append(
            draft.chosen(field, value, at, replaces=before.entry.id if before and before.entered else None)
        ):
            self._corrected(before)

    async def _text(self, e: Any) -> None:
        field, at = e.control.data
        before = self.view.get(field, **at)
        value = e.control.value.strip()[:200]
        if value and value != (before.value if before else ""):
            await self._append(
                draft.chosen(field, value, at, replaces=before.entry.id if before and before.entered else None)
            )

    async def _append(self, *entries: Any, quiet: bool = False) -> bool:
        try:
            self.made += await self.app.add(self.view, *entries)
            if self.name == "cut":
                await self._remember_cuts()
        except Exception as problem:
            why = getattr(problem, "line", None) or L("Not saved: {why}", why=str(problem))
            if self.aimed:  # beside what was typed, which stays in the pad
                self.pad.error = why
                self.pad._paint()
                self.app.update(self.pad.control)
            else:
                self.app.toast(why, bad=True)
            return False
        self.work = self._worked()
        if not quiet:
            self.redraw()
        if not self.aimed:
            self.app.page.run_task(self._look_round)
        return True

    async def _remember_cuts(self) -> None:
        """What the bar cut against its setting goes into its card, for the jobs to come."""
        from store.sheets.cut import history_drafts

        card = self.view.card("bar")
        drafts = history_drafts(self.view)
        if card is not None and drafts:
            await self.app.add(card, *drafts)

    async def _undo(self) -> None:
        if not self.made:
            self.app.toast(L("Nothing entered here to take back"))
            return
        self.effect.forget()
        last = self.made.pop()
        await self._append(draft.withdrawn(last.id), quiet=True)
        self.made.pop()
        self.redraw()

    async def _stands(self, e: Any) -> None:
        self.doubt = None
        await self._append(draft.decision(stands_key(self.name), "stands"))

    async def _seen(self, e: Any) -> None:
        await self._append(*[draft.caution(c.key) for c in self._unseen()])

    # -- leaving a step out ------------------------------------------------------------
    def _skip(self) -> list[ft.Control]:
        what = skip_key(self.name)
        skipped = self.view.skipped.get(what)
        if skipped:
            return [
                parts.card(
                    parts.text(self.t(L("Left out: {reason}", reason=skipped.reason))),
                    parts.button(self.t(L("Take the step up again")), self._unskip),
                )
            ]
        if self.aimed or self.skipping:
            return []
        return [parts.button(self.t(L("Leave this step out …")), self._ask_skip, icon=ft.Icons.REDO)]

    def _ask_why(self) -> ft.Control:
        self.reason = ft.TextField(
            label=self.t(L("Why is it left out?")),
            text_size=th.BODY,
            border_color="outline",
            autofocus=True,
            on_submit=self._do_skip,
        )
        return ft.Container(
            bgcolor="surfacecontainer",
            padding=ft.Padding.all(th.EDGE),
            content=ft.Column(
                [
                    self.reason,
                    ft.Row(
                        [
                            parts.button(self.t(L("Keep the step")), self._keep_step, expand=1, height=56),
                            parts.button(
                                self.t(L("Leave this step out")), self._do_skip, primary=True, expand=1, height=56
                            ),
                        ],
                        spacing=th.GAP,
                    ),
                ],
                spacing=th.GAP,
            ),
        )

    async def _keep_step(self, e: Any) -> None:
        self.skipping = False
        self.redraw()

    async def _ask_skip(self, e: Any) -> None:
        self.skipping = True
        self.redraw()

    async def _do_skip(self, e: Any) -> None:
        reason = (self.reason.value or "").strip()
        if not reason:
            self.reason.error = self.t(L("Write a reason: it stays in the log."))
            self.app.update(self.reason)
            return
        self.skipping = False
        await self._append(draft.skipped(skip_key(self.name), reason))

    async def _unskip(self, e: Any) -> None:
        await self._append(draft.withdrawn(self.view.skipped[skip_key(self.name)].id))

    async def _grid(self, e: Any) -> None:
        await self.app.go(f"/job/{self.id}/bores")

    # -- pad -------------------------------------------------------------------------
    @property
    def typing(self) -> bool:
        return self.aimed is not None

    def foot(self) -> ft.Control | None:
        if not self.aimed:
            return self._foot_action()
        return self.pad.fit()

    def _foot_action(self) -> ft.Control:
        """The one thing to do next, in the thumb's arc."""
        if self.skipping:
            return self._ask_why()
        if self.asking:
            return ft.Container()  # the answers to choose from are on the screen
        ask = self._next_ask()
        row: list[ft.Control] = []
        stack = self.app.frame.beside_wanted or self.app.frame.large
        expand = None if stack else 1
        if ask is not None and not self.work.done:
            field, at = ask
            label = L("Enter: {what}", what=self._named(field.key, at))
            row.append(
                parts.button(
                    self.t(label), self._aim, data=ask, icon=ft.Icons.EDIT, primary=True, expand=expand, height=56
                )
            )
        else:
            if ask is not None:
                row.append(
                    parts.button(
                        self.t(L("Enter more")), self._aim, data=ask, icon=ft.Icons.EDIT, expand=expand, height=56
                    )
                )
            if self.work.done and self.upcoming is not None:
                label = L("Next: {step}", step=self.upcoming.title)
                row.append(
                    parts.button(
                        self.t(label),
                        self._go,
                        data=f"/job/{self.id}/{self.upcoming.key}",
                        icon=ft.Icons.ARROW_FORWARD,
                        primary=True,
                        expand=expand,
                        height=56,
                    )
                )
            else:
                row.append(
                    parts.button(
                        self.t(self.leave),
                        self._leave,
                        icon=ft.Icons.CHECK,
                        primary=self.work.done,
                        expand=expand,
                        height=56,
                    )
                )
        content = (
            ft.Column(row, spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
            if stack
            else ft.Row(row, spacing=th.GAP)
        )
        return ft.Container(padding=ft.Padding.symmetric(horizontal=th.EDGE, vertical=8), content=content)

    async def _go(self, e: Any) -> None:
        await self.app.go(e.control.data)

    async def _leave(self, e: Any) -> None:
        await self.app.go(self.up or "/")

    async def _shut(self, e: Any) -> None:
        self.aimed = None
        self.redraw()

    async def key(self, key: str) -> None:
        if key == "Escape" and self.aimed:
            await self._shut(None)
        elif self.aimed:
            await self.pad.key(key)
