"""Taking a job in, and changing what was taken in."""

from __future__ import annotations

import asyncio
from typing import Any

import flet as ft

from logic.fields import Number
from logic.places import MOST_CYLINDERS, banks_of, banks_written, vees
from logic.say import Day, L, Line, Qty
from logic.units import Entered
from store import draft
from store.documents import Document, Stamped, Typed, value_of
from store.draft import UNSTAMPED, typed
from store.earlier import same_engine
from store.facts.taken import NOMINAL as NOMINAL_KEY
from store.facts.taken import TAKEN
from store.flow import route
from store.kit import AT_HAND, TIMES, USUAL, duration, lacking
from store.roles import CHOSEN
from store.roles import ROLES as NAMES
from store.view import View

from .. import parts
from .. import theme as th
from ..pad import Pad
from ..quick import NOMINAL as QUICK_NOMINAL
from ..quick import WORST
from ..shell import Pressed, Screen, TypedIn, now_ms
from .words import when

NOMINAL = Number(
    key="job.nominal",
    label=L("Nominal bore"),
    kind="size",
    low=20,
    high=500,
    help=L("The bore size the engine was made with, from its data sheet or plate. Every oversize is counted from it."),
)
TEXTS = (
    ("title", L("Job name")),
    ("customer", L("Customer")),
    ("engine", L("Engine")),
    ("number", L("Engine number")),
)
ROLES = tuple((role, NAMES[role]) for role in CHOSEN)


class Intake(Screen):
    async def load(self) -> None:
        self.id = self.found.get("id")
        self.up = f"/job/{self.id}" if self.id else "/"
        self.title = L("Job details") if self.id else L("New job")
        self.before: tuple[str, Typed] | None = None  # an earlier job of this engine, and its nominal bore
        self.taken = ""  # the job that the nominal bore was taken over from
        self.way: int | None = None  # which usual way a vee is numbered, kept while its count is odd
        self.cards = await self.app.jobs.list("card")
        self.kinds = {s.id: s.card for s in self.cards}
        self.values: dict[str, Any] = {}
        if self.id:
            view = await self.app.view(self.id)
            for key in (*(k for k, _ in TEXTS), "cylinders", "banks", "kit", "hours", *(r for r, _ in ROLES)):
                self.values[key] = value_of(view.document, key)
            self.nominal = value_of(view.document, "nominal")
        else:
            kept = await self.app.jobs.setting("intake", {}) or {}
            self.values = dict(kept.get("values", {}))
            self.nominal = None
            if kept.get("nominal"):
                self.nominal = Typed.model_validate(kept["nominal"])
                self.taken = str(kept.get("taken") or "")
        self.values.setdefault("cylinders", None)
        self.values["cylinders"] = self.values["cylinders"] or 4
        self.values["kit"] = self.values.get("kit") or ",".join(USUAL)
        self._from_quick()
        self.by = self.app.by
        await self._look_before()
        self.aimed = False
        self.text_fields: dict[str, ft.TextField] = {}
        self._rest: dict[str, asyncio.Task[None]] = {}  # what each field still waits to keep
        self.pad = Pad(self.app, entered=self._entered, close=self._shut, next_word=L("Done"))

    def _from_quick(self) -> None:
        """The numbers of the quick check, where the job is started from there."""
        got = self.app.quick.get(QUICK_NOMINAL.key) if self.found.get("quick") else None
        if got is not None:
            self.nominal = typed(got)
        self.worst = self.app.quick.get(WORST.key) if got is not None else None

    async def _keep(self) -> None:
        """Store at once what was entered: in the job, or as the unfinished intake."""
        if self.id:
            return
        await self.app.jobs.set_setting(
            "intake",
            {
                "values": self.values,
                "nominal": self.nominal.model_dump() if self.nominal else None,
                "taken": self.taken,
            },
        )

    async def _set(self, key: str, value: Any) -> None:
        self.values[key] = value
        if self.id:
            await self.app.jobs.set_header(self.id, by=self.app.by, **{key: value})
            self.app.forget(self.id)
        else:
            await self._keep()

    async def _text(self, e: TypedIn) -> None:
        key, value = e.control.data, (e.control.value or "").strip()[:200]
        if key == "by":
            self.app.by = value
            await self.app.jobs.set_setting("by", value)
        elif value != (self.values.get(key) or ""):
            await self._set(key, value)
            if key == "banks":
                self.redraw()
            if key == "engine":
                had = self.before
                await self._look_before()
                if self.before != had:
                    self.redraw()

    async def _typing(self, e: TypedIn) -> None:
        """Keep what is typed once the keys rest for a moment, so that nothing waits for the field to be left."""
        key = e.control.data
        if key in self._rest:
            self._rest[key].cancel()
        self._rest[key] = asyncio.create_task(self._rested(e))

    async def _rested(self, e: TypedIn) -> None:
        await asyncio.sleep(0.4)
        await self._text(e)

    async def _aim(self) -> None:
        self.aimed = True
        self.pad.aim(NOMINAL, NOMINAL.label)
        self.redraw()
        self.pad.take_focus()

    async def _entered(self, got: Entered) -> None:
        self.nominal, self.taken = typed(got), ""
        self.aimed = False
        await self._set("nominal", self.nominal) if self.id else await self._keep()
        self.redraw()

    async def _shut(self) -> None:
        self.aimed = False
        self.redraw()

    async def key(self, key: str) -> None:
        if self.aimed and key == "Escape":
            await self._shut()
        elif self.aimed:
            await self.pad.key(key)

    async def _count(self, e: Pressed) -> None:
        if self._vee() is not None:
            self.way = self._vee()
        await self._set("cylinders", max(1, min(MOST_CYLINDERS, int(self.values["cylinders"]) + e.control.data)))
        if self.values.get("banks") or self.way is not None:  # numbered the same way, where the new count can be
            ways = vees(int(self.values["cylinders"]))
            kept = ways[self.way] if self.way is not None and self.way < len(ways) else ()
            await self._set("banks", banks_written(kept))
            self.text_fields.pop("banks", None)
        self.redraw()

    async def _card(self, e: Pressed) -> None:
        role, id = e.control.data
        await self._set(role, None if self.values.get(role) == id else id)
        self.redraw()

    def body(self) -> list[ft.Control]:
        t = self.t
        if self.aimed:
            return [self._nominal_row()]
        return [
            self._nominal_row(),
            *self._cylinders(),
            *self._standing(),
            *self._at_hand(),
            *self._time(),
            *self._route(),
            *[c for key, label in TEXTS for c in self._named(key, t(label))],
            self._field("by", t(L("Who is measuring")), self.app.by),
            *[c for role, label in ROLES for c in self._machines(role, label)],
        ]

    def _named(self, key: str, label: str) -> list[ft.Control]:
        """A text field; under the engine's, the nominal bore that an earlier job of it has, to be taken over by a tap."""
        out = [self._field(key, label, self.values.get(key) or "")]
        if key == "engine" and self.nominal is None and self.before is not None:
            title, nominal = self.before
            said = L("Nominal bore {bore}, as in {job}", bore=Qty(nominal.value, "size"), job=title)
            out.append(parts.button(self.t(said), self._take_nominal, icon=ft.Icons.CONTENT_COPY))
        return out

    async def _look_before(self) -> None:
        """Look for another job of the same engine that has a nominal bore: the latest."""
        engine, self.before = str(self.values.get("engine") or ""), None
        if self.id or self.nominal is not None or not engine:
            return
        for summary in await self.app.jobs.list("job"):
            if summary.trouble is None and same_engine(engine, summary.engine):
                nominal = value_of(await self.app.jobs.load(summary.id), "nominal")
                if isinstance(nominal, Typed):
                    self.before = summary.title, nominal
                    break

    async def _take_nominal(self) -> None:
        if self.before is not None:
            self.taken, self.nominal = self.before
            await self._keep()
            self.redraw()

    def _cylinders(self) -> list[ft.Control]:
        """How many cylinders, with a key for one fewer and one more. In large type the word has a line of its own."""
        t, large = self.t, self.app.frame.large
        word = parts.text(t(L("Cylinders")), th.BODY, bold=True, expand=None if large else True)
        count = parts.text(str(self.values["cylinders"]), th.VERDICT, bold=True, text_align=ft.TextAlign.CENTER)
        row = ft.Row(
            [
                ft.Container(expand=True) if large else word,
                self._stepper(-1, ft.Icons.REMOVE, t(L("One cylinder fewer"))),
                ft.Container(count, width=56),
                self._stepper(1, ft.Icons.ADD, t(L("One cylinder more"))),
            ]
        )
        return [word, row] if large else [row]

    # -- a row, or the banks of a vee ---------------------------------------------------------
    def _vee(self) -> int | None:
        """Which of the usual ways to number a vee was chosen; None where it is a row, or numbered otherwise."""
        count = int(self.values["cylinders"])
        here = banks_of(str(self.values.get("banks") or ""), range(1, count + 1))
        return next((n for n, way in enumerate(vees(count)) if way == here), None)

    def _standing(self) -> list[ft.Control]:
        """How the cylinders stand, for an engine that may be a vee; its numbering is the person's."""
        ways = vees(int(self.values["cylinders"]))
        if not ways:
            return []
        written, on = str(self.values.get("banks") or ""), self._vee()
        faces = [("", self.t(L("In one row")), not written)]
        faces += [
            (banks_written(way), self.t(L("Two banks: {banks}", banks=banks_written(way))), n == on)
            for n, way in enumerate(ways)
        ]
        keys: list[ft.Control] = [
            parts.choice(face, self._stand, on=chosen, data=value, height=th.TOUCH) for value, face, chosen in faces
        ]
        out: list[ft.Control] = [ft.Row(keys, wrap=True, spacing=6, run_spacing=6)]
        if written:
            out.append(self._field("banks", self.t(L("Each bank from the front")), written))
        if written and banks_of(written, range(1, int(self.values["cylinders"]) + 1)) is None:
            out.append(parts.notice(self.t(L("Name each cylinder once, with a / between the banks.")), bad=True))
        return out

    async def _stand(self, e: Pressed) -> None:
        await self._set("banks", e.control.data)
        self.way = self._vee()
        self.text_fields.pop("banks", None)
        self.redraw()

    # -- what is at hand, and the route it implies ------------------------------------------
    def _kit(self) -> list[str]:
        return [k for k in str(self.values.get("kit") or "").split(",") if k in AT_HAND]

    def _at_hand(self) -> list[ft.Control]:
        on = self._kit()
        keys: list[ft.Control] = [
            parts.choice(self.t(name), self._tick_kit, on=key in on, data=key, height=th.TOUCH)
            for key, name in AT_HAND.items()
        ]
        return [
            parts.text(self.t(L("At hand today")), th.BODY, bold=True),
            ft.Row(keys, wrap=True, spacing=6, run_spacing=6),
        ]

    async def _tick_kit(self, e: Pressed) -> None:
        on = self._kit()
        now = [k for k in AT_HAND if (k in on) != (k == e.control.data)]
        await self._set("kit", ",".join(now) or "none")
        self.redraw()

    def _time(self) -> list[ft.Control]:
        hours = self.values.get("hours") or 0
        keys: list[ft.Control] = [
            parts.choice(self.t(name), self._set_time, on=n == hours, data=n, height=th.TOUCH)
            for n, name in TIMES.items()
        ]
        return [parts.text(self.t(L("Time")), th.BODY, bold=True), ft.Row(keys, wrap=True, spacing=6, run_spacing=6)]

    async def _set_time(self, e: Pressed) -> None:
        await self._set("hours", e.control.data)
        self.redraw()

    def _route(self) -> list[ft.Control]:
        """What is to be done with what is at hand, and about how long it takes."""
        header = {
            key: Stamped(value=self.values[key], stamp=UNSTAMPED, by="")
            for key in ("cylinders", "kit")
            if self.values.get(key)
        }
        found = route(View(Document(id="intake000000", header=header)))
        hours = int(self.values.get("hours") or 0)
        lines = [
            L("The route: {steps}.", steps=tuple(title for title, _ in found.on)),
            L("About {time} of work.", time=duration(found.minutes)),
        ]
        last = found.as_far_as(hours) if hours else None
        if last is not None:
            lines[1] = L("About {time} of work: today as far as {step}.", time=duration(found.minutes), step=last)
        short = lacking(self._kit())
        return [
            parts.card(
                *[parts.text(self.t(line), th.BODY) for line in lines],
                *([parts.notice(self.t(short), bad=True)] if short is not None else []),
            )
        ]

    def _machines(self, role: str, label: Line) -> list[ft.Control]:
        """The kit cards there are for a role, to choose one from."""
        mine = [s for s in self.cards if self.kinds[s.id] == role]
        if not mine:
            return []
        chosen = self.values.get(role)
        return [
            parts.muted(self.t(label)),
            ft.Row(
                spacing=6,
                run_spacing=6,
                controls=[
                    parts.choice(
                        s.title or self.t(label), self._card, on=chosen == s.id, data=(role, s.id), height=th.TOUCH
                    )
                    for s in mine
                ],
                wrap=True,
            ),
        ]

    def _stepper(self, by: int, icon: ft.IconData, spoken: str) -> ft.Control:
        return parts.square(icon, spoken, self._count, data=by)

    def _field(self, key: str, label: str, value: str) -> ft.Control:
        # one field for as long as the screen lives: a field drawn afresh forgets what is being typed in it
        if key in self.text_fields:
            return self.text_fields[key]
        self.text_fields[key] = ft.TextField(
            label=label,
            value=value,
            data=key,
            on_blur=self._text,
            on_change=self._typing,
            on_submit=self._text,
            text_size=th.LARGE,
            border_color="outline",
        )
        return self.text_fields[key]

    def _nominal_row(self) -> ft.Control:
        large, small = self.app.two(Qty(self.nominal.value, "size")) if self.nominal else ("…", "")
        return parts.row_button(
            parts.told(
                self.t(NOMINAL.label),
                parts.two(large, small, size=th.VERDICT, end=True),
                max(parts.wide(large, th.VERDICT), parts.wide(small, th.SMALL)),
                self.app.frame.room - 24,
                bold=True,
            ),
            self._aim,
            bg="primarycontainer" if self.aimed else "surfacecontainerhigh",
        )

    @property
    def typing(self) -> bool:
        return self.aimed

    def foot(self) -> ft.Control | None:
        if self.aimed:
            return self.pad.fit()
        if self.id:
            back = L("Back to the job")
            return parts.foot_button(self.t(back), self.follow, ft.Icons.ARROW_BACK, data=self.up)
        if self.nominal is None:  # every oversize counts from it
            return parts.foot_button(self.t(L("Enter: {what}", what=NOMINAL.label)), self._aim, ft.Icons.EDIT)
        return parts.foot_button(self.t(L("Start measuring")), self._start, ft.Icons.ARROW_FORWARD)

    async def _start(self) -> None:
        header = {k: v for k, v in self.values.items() if v not in (None, "")}
        header.setdefault("title", header.get("engine") or self.t(L("Job of {day}", day=Day(when(now_ms())[:10]))))
        document = await self.app.jobs.create("job", by=self.app.by, nominal=self.nominal, **header)
        if self.worst is not None:  # where in the bore it was read is not known: it is kept as a note
            said = L("Quick check: worst reading {size}.", size=Qty(self.worst.value, "size"))
            await self.app.jobs.append(document.id, draft.note(self.t(said)), by=self.app.by)
            self.app.quick.clear()
        if self.taken:
            await self.app.jobs.append(
                document.id, draft.decision(TAKEN, self.taken[:200], advised=NOMINAL_KEY), by=self.app.by
            )
        await self.app.jobs.set_setting("intake", None)
        await self.app.go(f"/job/{document.id}/bores")
