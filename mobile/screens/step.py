"""Any step of the job: its cautions, its answer, its pictures, and what it asks for.

The step's :class:`~store.sheets.base.Sheet` says what to ask and how the answer is
worked out; this screen only lays it out (:mod:`.answers` above, :mod:`.asks` beneath)
and appends what is entered.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import flet as ft

from logic import units
from logic.flow import State
from logic.result import Result, Verdict
from logic.say import KINDS, L, Line, Qty, figure
from store import draft
from store.facts import gauging
from store.flow import flow, skip_key, stands_key, work_of
from store.meaning import Meant
from store.reasons import REASONS, told
from store.sheets import NAMES, Sheet, all_sheets, sheet

from .. import measure, parts
from .. import theme as th
from ..pad import Pad
from ..shell import Pressed, Screen, TypedIn
from .answers import Answers
from .asks import Asks
from .desk import Desk, Slot, begun, yes_no
from .doubted import wanted
from .effect import Effect
from .exchange import hand_over
from .warmth import keep, temperatures

if TYPE_CHECKING:
    from store.documents import Entry
    from store.sheets import Risk, Work
    from store.view import Value, View


def _exactly(step_mm: float) -> units.Entered:
    """A step that was pressed, not typed, as an entered number."""
    return units.Entered(text=f"{step_mm:g}", typed_unit="mm", value=step_mm, unit="mm")


def _replaced(before: Value[float | str] | None) -> str | None:
    """The id of the entry that a new one at the same place replaces."""
    return before.entry.id if before is not None and before.entry is not None else None


#: What a step advised last, and the state of the job then: who comes back to it sees that at once.
_ADVISED: WeakKeyDictionary[View, dict[str, tuple[object, Result | None]]] = WeakKeyDictionary()


class Step(Screen):
    halves = True
    leave = L("Back to the job")
    leaves = ft.Icons.ARROW_BACK
    #: Whether the key that takes back stands beneath what is asked.
    tells_undo = True
    #: Fields that are entered on another screen.
    apart: frozenset[str] = frozenset()

    async def load(self) -> None:
        self.id = self.found["id"]
        self.name = self.found["step"]
        if self.name not in NAMES:
            raise KeyError(self.name)
        self.up = f"/job/{self.id}"
        self._open(await self.app.view(self.id), sheet(self.name))
        wanted = int(self.found.get("cylinder") or 0)
        if wanted in self.view.cylinders:
            self.desk.cylinder = wanted

    def _open(self, view: View, its_sheet: Sheet) -> None:
        self.view, self.sheet = view, its_sheet
        self.title = its_sheet.title
        self.desk = Desk(view, its_sheet, self._worked, self.apart)
        state, advised = _ADVISED.get(view, {}).get(its_sheet.key, (None, None))
        self.desk.later = advised if state == view.state() else None
        self.skipping = False
        self.made: list[Entry] = []
        self.reason: ft.TextField | None = None
        self.typing_why = False  # the reason to leave the step out is none of the usual ones
        self.effect = Effect(self)
        self.answers = Answers(
            self.app,
            self.desk,
            effect=self.effect.control,
            stands=self._stands,
            tab=self._show_cylinder,
            decide=self._decide,
            risk=self._take_risk,
            settled=self._settled,
        )
        self.asks = Asks(
            self.app,
            self.desk,
            aim=self._aim,
            chose=self._chose,
            fold=self._fold,
            write=self._write,
            elsewhere=self._elsewhere,
            all_yes=self._all_yes,
        )
        self.pad = Pad(self.app, entered=self._entered, undo=self._undo, close=self._shut, next_word=L("Enter"))

    def _worked(self) -> Work:
        return work_of(self.view, self.sheet)

    @property
    def document_shown(self) -> View:
        return self.view

    async def shown(self) -> None:
        await self._look_round()
        await self._to_correct()

    async def _to_correct(self) -> None:
        """Ask for the value that somebody came to correct, if it is one of this step's."""
        key, at = wanted.pop(self.id, ("", ()))
        field = self.sheet.fields.get(key)
        if field is not None and key not in self.apart and field.kind in KINDS and {k for k, _ in at} == set(field.at):
            self._take(Slot(field, dict(at)))
            self.redraw()
            self.pad.take_focus()

    async def _settled(self) -> None:
        """A doubt was answered: show what holds now."""
        self.desk.again()
        self.redraw()
        self.app.page.run_task(self._look_round)

    async def _look_round(self) -> None:
        """Where the job stands: whether something upstream was corrected since, and which step is next. Found between key presses."""
        await asyncio.sleep(0.05)
        entries = len(self.view.entries)
        for s in all_sheets():
            work_of(self.view, s)
            await asyncio.sleep(0)
            if len(self.view.entries) != entries or self.app.screen is not self:
                return  # something was entered meanwhile: another look follows
        found, desk = flow(self.view), self.desk
        status = found.state(self.name)
        doubt = status.reason if status.state == State.LOOK else None
        upcoming = found.next if found.next is not None and found.next.key != self.name else None
        later = None if self.sheet.later is None else self.sheet.later(self.view)
        _ADVISED.setdefault(self.view, {})[self.sheet.key] = self.view.state(), later
        complete = found.next is None
        if (doubt, upcoming, later, complete) != (desk.doubt, desk.upcoming, desk.later, desk.complete):
            desk.doubt, desk.upcoming, desk.later, desk.complete = doubt, upcoming, later, complete
            if not desk.aimed:
                self.redraw()

    async def renewed(self) -> None:
        self.desk.again()
        self.redraw()

    # -- layout -----------------------------------------------------------------------
    def body(self) -> tuple[list[ft.Control], list[ft.Control]]:
        self.answers.paint()
        self.asks.paint([*self._send(), *self._skip()])
        first, then = self.warmth()
        return [*self._left_out(), *first, self.answers.control], [*then, self.asks.control]

    def warmth(self) -> tuple[list[ft.Control], list[ft.Control]]:
        """The temperatures of the visit: before the answer where they are asked about, else after it."""
        if self.desk.aimed or self.desk.unseen():
            return [], []
        shown, asks = temperatures(self.app, self.view, self.name, go=self.follow, kept=self._keep_warmth)
        return (shown, []) if asks else ([], shown)

    async def _keep_warmth(self) -> None:
        await keep(self.app, self.view)
        self.redraw()

    async def _fold(self, e: Pressed) -> None:
        key, opened = e.control.data
        self.desk.opened[key] = not opened
        self.redraw()

    async def _show_cylinder(self, e: Pressed) -> None:
        self.desk.cylinder = e.control.data
        self.desk.aimed = self.desk.asking = None
        self.redraw()

    async def _elsewhere(self) -> None:
        """To the screen on which the fields apart are entered."""
        await self.app.go(self.up or "/")

    # -- entering ------------------------------------------------------------------------
    async def _aim(self, e: Pressed) -> None:
        slot: Slot = e.control.data
        desk = self.desk
        if slot.field.key in self.apart:
            await self._elsewhere()
            return
        desk.cylinder = slot.at.get("cylinder", desk.cylinder)
        if slot.field.kind == "choice":
            desk.asking, desk.aimed = (None if slot.same(desk.asking) else slot), None
            self.redraw()
            return
        desk.asking = None
        self._take(slot)
        self.redraw()
        self.pad.take_focus()
        await self._reveal(slot)
        self.app.page.run_task(self._reveal_late, slot)

    async def _reveal_late(self, slot: Slot) -> None:
        """Once more, for a device that was still making room for the pad."""
        await asyncio.sleep(0.4)
        if self.app.screen is self and self.desk.aimed is slot:
            await self.scroll_to(slot.key)

    def _take(self, slot: Slot) -> None:
        self.desk.aimed = slot
        self.desk.cylinder = slot.at.get("cylinder", self.desk.cylinder)
        label = self._asks(slot)
        got = self.view.get(slot.field, **slot.at)
        self.pad.aim(
            slot.field,
            label,
            base_mm=(self.sheet.base_mm or gauging.base_mm)(self.view) if slot.field.over else None,
            stands=float(got.value) if got is not None and got.entered else None,
            meant=Meant(self.view, slot.at),
        )

    def _asks(self, slot: Slot) -> Line:
        """What the pad asks for, in words."""
        where = self.desk.where(slot.at, self.t) if slot.at else ""
        if not where:
            return slot.field.label
        if self.app.frame.large:  # with large letters the end is cut off: which pass it is comes first
            return L("{where}: {what}", what=slot.field.label, where=begun(where))
        return L("{what}, {where}", what=slot.field.label, where=where)

    async def in_view(self) -> None:
        if self.desk.aimed:
            await self._reveal(self.desk.aimed)

    async def _reveal(self, slot: Slot) -> None:
        await asyncio.sleep(0.05)
        await self.scroll_to(slot.key)

    async def _entered(self, got: units.Entered) -> bool:
        desk, slot = self.desk, self.desk.aimed
        if slot is None:
            return True
        before = self.view.get(slot.field, **slot.at)
        entry = draft.reading(slot.field, slot.at, got, replaces=_replaced(before))
        order, waited_for = desk.order(), desk.waited_for(slot)
        typed, self.pad.text = self.pad.text, ""  # keys pressed while it is stored belong to the next field
        self.effect.forget()
        if not await self._append(entry, quiet=True):
            self.pad.put(typed, self.pad.error)
            self.app.update(self.pad.control)
            return False
        following = desk.following(slot, order, waited_for=waited_for)
        if following is None:
            desk.aimed = None
            self.app.page.run_task(self._look_round)
        else:
            begun = self.pad.text
            self._take(following)
            self.pad.warn(desk.work.doubts, (slot.field.key,))
            self.pad.put(begun)
        self._corrected(before)
        self.redraw()
        if desk.aimed:
            await self._reveal(desk.aimed)
        return True

    def _corrected(self, before: Value[float | str] | None) -> None:
        """Where an entry took the place of another: find out, in the background, what that changed."""
        if before is not None and before.entry is not None:
            self.effect.work_out(self.view, before.entry)

    async def _chose(self, e: Pressed) -> None:
        slot, value = e.control.data
        self.desk.asking = None
        await self._choose(slot, value)

    async def _all_yes(self, e: Pressed) -> None:
        """Every line of a list that is not answered yet: yes."""
        slots: list[Slot] = e.control.data
        await self._append(*[draft.chosen(s.field, "yes", s.at) for s in slots])

    async def _write(self, e: TypedIn) -> None:
        slot: Slot = e.control.data
        before = self.view.get(slot.field, **slot.at)
        value = (e.control.value or "").strip()[:200]
        if value and value != (before.value if before else self.asks.suggested(slot)):
            await self._choose(slot, value, tell=False)

    async def _choose(self, slot: Slot, value: str, *, tell: bool = True) -> None:
        before = self.view.get(slot.field, **slot.at)
        if await self._append(draft.chosen(slot.field, value, slot.at, replaces=_replaced(before))) and tell:
            self._corrected(before)

    async def _decide(self, e: Pressed) -> None:
        step_mm: float = e.control.data
        results = self.desk.work.results
        await self._append(
            draft.decision(
                self.sheet.key,
                figure(Qty(step_mm, "step"), self.app.style) if step_mm else self.t(L("Hone only")),
                entered=_exactly(step_mm),
                advised=self.t(results[0].line) if results else "",
            )
        )

    async def _take_risk(self, e: Pressed) -> None:
        """Somebody goes on without a measurement: that is a decision, and stays in the log."""
        risk: Risk = e.control.data
        await self._append(draft.decision(risk.what, self.t(risk.decided), advised=self.t(risk.line)))

    async def _append(self, *entries: Entry, quiet: bool = False) -> bool:
        """Store entries; False, with the reason said, where that is not to be had."""
        try:
            made = await self.app.add(self.view, *entries)
            self.made += [e for e in made if e.kind != "caution"]  # what was read is not taken back
        except Exception as problem:  # noqa: BLE001  whatever it is, what was typed is kept and it is said
            self._not_saved(getattr(problem, "line", None) or L("Not saved: {why}", why=str(problem)))
            return False
        self.desk.again()
        if not quiet:
            self.redraw()
        if not self.desk.aimed:
            self.app.page.run_task(self._look_round)
        return True

    def _not_saved(self, why: Line) -> None:
        if self.desk.aimed:  # beside what was typed, which stays in the pad
            self.pad.put(self.pad.text, why)
            self.app.update(self.pad.control)
        else:
            self.app.toast(why, bad=True)

    async def _undo(self) -> None:
        if not self.made:
            self.app.toast(L("Nothing entered here to undo"))
            return
        self.effect.forget()
        last = self.made.pop()
        if await self._append(draft.withdrawn(last.id), quiet=True):
            self.made.pop()
            self.app.toast(L("Undone: {what}", what=self.desk.told(last, self.app.style)))
        self.redraw()

    def taken_back(self) -> list[ft.Control]:
        """One large key that takes back what was entered last on this screen, and says what that is."""
        if not self.made or self.desk.aimed or self.skipping:
            return []
        what = self.desk.told(self.made[-1], self.app.style)
        return [parts.button(self.t(L("Undo: {what}", what=what)), self._undo, icon=ft.Icons.UNDO)]

    async def _stands(self) -> None:
        self.desk.doubt = None
        await self._append(draft.decision(stands_key(self.name), "stands"))

    async def _seen(self) -> None:
        await self._append(*[draft.caution(c.key) for c in self.desk.unseen()])

    # -- a text for somebody else ------------------------------------------------------
    def _text(self) -> str:
        return "" if self.sheet.sends is None else self.sheet.sends(self.view, self.app.style)

    def _send(self) -> list[ft.Control]:
        if self.desk.aimed or not self._text():
            return []
        out: list[ft.Control] = [parts.button(self.t(L("Send this list")), self._hand_over, icon=ft.Icons.SHARE)]
        if self.sheet.quotes is not None:
            out.append(parts.button(self.t(L("Send the estimate")), self._quote, icon=ft.Icons.SHARE))
        return out

    async def _hand_over(self) -> None:
        await self._hand(self.sheet.title, self._text())

    async def _quote(self) -> None:
        if self.sheet.quotes is not None:
            await self._hand(L("Estimate"), self.sheet.quotes(self.view, self.app.style))

    async def _hand(self, what: Line, text: str) -> None:
        name = f"{self.view.word('title') or 'job'} {self.t(what)}"
        await hand_over(self.app, name, "txt", text.encode("utf-8"))

    # -- leaving a step out ------------------------------------------------------------
    def _skip(self) -> list[ft.Control]:
        if self.desk.left_out is not None or self.desk.aimed or self.skipping:
            return []
        out = parts.button(self.t(L("Leave this step out…")), self._ask_skip, icon=ft.Icons.REDO)
        return [*self.taken_back(), out] if self.tells_undo else [out]

    def _left_out(self) -> list[ft.Control]:
        """That a step is left out comes before all it would ask for."""
        reason = self.desk.left_out
        if reason is None or self.desk.aimed:
            return []
        return [
            parts.card(
                parts.text(self.t(L("Left out: {reason}", reason=told(reason))), th.LARGE, bold=True),
                parts.button(self.t(L("Do this step after all")), self._unskip),
            )
        ]

    def _ask_why(self) -> ft.Control:
        high = th.TOUCH if self.app.frame.low else 56
        keep = parts.button(self.t(L("Keep the step")), self._keep_step, height=th.TOUCH)
        room = th.held.foot - 2 * th.EDGE
        asked = parts.text(self.t(L("Why is it left out?")), th.BODY, bold=True)
        if not self.typing_why:
            # one tap on one of these is what is most often wanted: they are the largest keys
            stated = [parts.button(self.t(why), self._skip_for, data=why, height=high) for why in REASONS]
            rows = [parts.beside(*stated[n : n + 2], room=room) for n in range(0, len(stated), 2)]
            other = parts.button(self.t(L("Another reason…")), self._type_why, height=th.TOUCH)
            if self.app.frame.low:  # so that all of them are in sight
                asked.size = measure.fitted(asked.value, room, most=th.BODY, least=11, scale=self.app.frame.scale)
                parts.alike(*stated, room=room)
                parts.alike(keep, other, room=(room - th.GAP) / 2)
            return self._why_panel(asked, *rows, parts.beside(keep, other, room=room))
        self.reason = ft.TextField(
            label=self.t(L("Another reason")),
            text_size=th.BODY,
            border_color="outline",
            on_submit=self._do_skip,
            autofocus=True,
        )
        out = parts.button(self.t(L("Leave this step out")), self._do_skip, height=high, primary=True)
        return self._why_panel(asked, self.reason, parts.beside(keep, out, room=room))

    @staticmethod
    def _why_panel(*rows: ft.Control) -> ft.Control:
        return ft.Container(bgcolor="surfacecontainer", padding=ft.Padding.all(th.EDGE), content=parts.column(*rows))

    async def _type_why(self) -> None:
        """None of the usual reasons: it is typed."""
        self.typing_why = True
        self.redraw()

    async def _skip_for(self, e: Pressed) -> None:
        """Left out for one of the usual reasons: nothing to type."""
        self.skipping = False
        await self._append(draft.skipped(skip_key(self.name), self.t(e.control.data)))

    async def _keep_step(self) -> None:
        self.skipping = False
        self.redraw()

    async def _ask_skip(self) -> None:
        self.skipping, self.typing_why = True, False
        self.redraw()

    async def _do_skip(self) -> None:
        field = self.reason
        if field is None:
            return
        reason = (field.value or "").strip()
        if not reason:
            field.error = self.t(L("Write a reason: it stays in the log."))
            self.app.update(field)
            return
        self.skipping = False
        await self._append(draft.skipped(skip_key(self.name), reason))

    async def _unskip(self) -> None:
        await self._append(draft.withdrawn(self.view.skipped[skip_key(self.name)].id))

    # -- foot --------------------------------------------------------------------------
    @property
    def asking(self) -> bool:
        return self.skipping

    @property
    def typing(self) -> bool:
        return self.desk.aimed is not None

    def foot(self) -> ft.Control | None:
        if self.desk.aimed:
            return self.pad.fit()
        if self.skipping:
            return self._ask_why()
        if self.desk.asking:
            return ft.Container()  # the answers to choose from are on the screen
        return parts.foot(*self._next())

    def _next(self) -> list[ft.Button]:
        """The one thing to do next, in the thumb's arc; where the step is done, also more of what it logs."""
        t, desk = self.t, self.desk
        if desk.unseen():
            seen = t(L("I have read this"))
            return [parts.button(seen, self._seen, icon=ft.Icons.CHECK, primary=True, expand=1, height=56)]
        ask, done = desk.next_ask(), desk.work.done
        if desk.left_out is not None:  # nothing more is asked of it: on to the next
            ask, done = None, True
        if ask is not None and not done:
            if yes_no(ask.field):
                return self._yes(ask)
            label = spoken = t(L("Enter: {what}", what=self._named(ask)))
            if self.app.frame.large:  # the place stands on the pad; here the words stay large
                label = t(L("Enter: {what}", what=ask.field.label))
            return [
                parts.button(
                    label,
                    self._aim,
                    data=ask,
                    icon=ft.Icons.EDIT,
                    primary=True,
                    expand=1,
                    height=56,
                    spoken=spoken,
                )
            ]
        row = [] if done else self._in_doubt() or self._advised()
        if ask is not None:
            row.append(parts.button(t(L("Enter more")), self._aim, data=ask, icon=ft.Icons.EDIT, expand=1, height=56))
        word, route, icon = self.leave, self.up or "/", self.leaves
        if done and desk.upcoming is not None:
            word, icon = L("Next: {step}", step=desk.upcoming.title), ft.Icons.ARROW_FORWARD
            route = f"/job/{self.id}/{desk.upcoming.key}"
        elif done and desk.complete and self.name == NAMES[-1]:
            word, route, icon = L("Report for the customer"), f"/job/{self.id}/report", ft.Icons.DESCRIPTION_OUTLINED
        row.append(
            parts.button(t(word), self.follow, data=route, icon=icon, primary=done or not row, expand=1, height=56)
        )
        return row

    def _in_doubt(self) -> list[ft.Button]:
        """To the value that is in doubt, since nothing is sure before it."""
        way = self.answers.doubted.first_way(self.view, self.desk.work.doubts)
        if way is None:
            return []
        label = self.t(L("Correct: {what}", what=way.name))
        go = self.answers.doubted.go
        return [parts.button(label, go, data=way, icon=ft.Icons.EDIT, primary=True, expand=2, height=56)]

    def _advised(self) -> list[ft.Button]:
        """The step that is advised with a yes and not decided on yet, by one tap."""
        results = self.desk.work.results
        first = results[0] if results and self.desk.sheet.decides else None
        step_mm = getattr(first, "step_mm", None)
        if first is None or not step_mm or first.verdict != Verdict.GO or self.view.decision(self.sheet.key):
            return []
        label = self.t(L("Decide on {step}", step=Qty(step_mm, "step")))
        return [
            parts.button(
                label,
                self._decide,
                data=step_mm,
                icon=ft.Icons.GAVEL,
                primary=True,
                expand=2,
                height=56,
            )
        ]

    def _yes(self, ask: Slot) -> list[ft.Button]:
        """A line to check off, by one tap; another answer to it is on the screen."""
        first = ask.field.choices[0].label
        said = L("Yes: {what}", what=self._named(ask)) if self.t(first) == self.t(L("Yes")) else first
        return [
            parts.button(
                self.t(said),
                self._chose,
                data=(ask, "yes"),
                icon=ft.Icons.CHECK,
                primary=True,
                expand=1,
                height=56,
            )
        ]

    def _named(self, slot: Slot) -> str:
        name, where = self.t(slot.field.label), self.desk.where(slot.at, self.t)
        return f"{name} ({where})" if where else name

    async def _shut(self) -> None:
        self.desk.aimed = None
        self.redraw()

    async def key(self, key: str) -> None:
        if key == "Escape" and self.desk.aimed:
            await self._shut()
        elif self.desk.aimed:
            await self.pad.key(key)
