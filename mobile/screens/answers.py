"""The upper half of a step: what stands in its way, its answers, its pictures, and what is decided on it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from typing import Any

import flet as ft

from logic.oversize import Outcome, Step
from logic.result import Result, Verdict
from logic.say import L, Line, Qty, figure

from .. import parts
from .. import theme as th
from ..pictures import painted
from ..shell import Pressed, Shell
from .desk import WEIGHT, Desk, cylinder_of
from .doubted import Doubted
from .words import CylinderTabs, Folded, answer_strip, cautions, details, odd_notice, step_bars, weighed

__all__ = ["Answers"]

INK = "onsecondarycontainer"


class Answers:
    """Paints ``control`` from a desk. The handlers are the screen's: a doubt settled, a tab, a decision."""

    def __init__(
        self,
        app: Shell,
        desk: Desk,
        *,
        effect: ft.Control,
        stands: parts.Handler,
        tab: Callable[[Pressed], Any],
        decide: Callable[[Pressed], Any],
        risk: Callable[[Pressed], Any],
        settled: Callable[[], Awaitable[None]],
    ) -> None:
        self.app, self.desk, self.effect = app, desk, effect
        self._stands, self._tab, self._decide, self._risk = stands, tab, decide, risk
        self.doubted = Doubted(app, settled)
        self.said = ""
        self.control = parts.column()

    def paint(self, *, tabs: bool = True, said: str = "") -> None:
        """Build it anew. ``said`` is an answer that stands beside it: the same is not told again."""
        desk, self.said = self.desk, said
        out = [*self._standing_in_the_way(), *self._nothing_yet()]
        if desk.by_cylinder and tabs:
            out.append(CylinderTabs(self.app, self._tab).show(desk.view.cylinders, desk.cylinder, desk.settled()))
        out += [self.effect, *self._results()]
        if not desk.work.results and not desk.aimed:
            out += self._pictures(None)
        self.control.controls = out

    # -- before the answer ---------------------------------------------------------------
    def _standing_in_the_way(self) -> list[ft.Control]:
        """What upstream blocks the step, what was corrected since, and cautions not read yet."""
        desk, out = self.desk, list[ft.Control]()
        if desk.work.blocked:
            out.append(self._card(ft.Icons.PAUSE_CIRCLE_OUTLINE, desk.work.blocked, size=th.LARGE))
        if desk.aimed:
            return out
        if desk.doubt is not None:
            stands = parts.button(self.app.t(L("Checked, still right")), self._stands, icon=ft.Icons.CHECK)
            out.append(self._card(ft.Icons.HELP, desk.doubt, stands))
        if to_read := desk.unseen():
            out.append(cautions(self.app, to_read))
        return out

    def _card(self, icon: ft.IconData, line: Line, *more: ft.Control, size: int = th.BODY) -> ft.Control:
        words = parts.text(self.app.t(line), size, bold=True, color=INK, expand=True)
        return parts.card(ft.Row([parts.sign(icon, INK), words]), *more, bg="secondarycontainer")

    def _nothing_yet(self) -> list[ft.Control]:
        """What the step is for and what it waits for, while it has no answer."""
        t, desk = self.app.t, self.desk
        if desk.work.results or desk.work.blocked or desk.left_out is not None:
            return []
        out: list[ft.Control] = [parts.muted(t(desk.sheet.purpose), th.BODY)]
        if desk.work.missing:
            fields = desk.sheet.fields
            names = dict.fromkeys(fields[k].label if k in fields else k for k, _ in desk.work.missing)
            out.append(parts.text(t(L("Still to enter: {what}", what=tuple(names)[:4])), th.BODY, bold=True))
        return out

    def _in_doubt(self, above: Result | None = None) -> list[ft.Control]:
        """What is in doubt beneath the verdict that it holds back, and what was dropped; not while a number is typed."""
        desk = self.desk
        if desk.aimed:
            return []
        return [*odd_notice(self.app, desk.view), self.doubted.show(desk.view, desk.work.doubts, above)]

    def held_back(self) -> list[ft.Control]:
        """What was corrected upstream and what is in doubt, where the answer itself stands elsewhere."""
        desk, out = self.desk, list[ft.Control]()
        if desk.doubt is not None and not desk.aimed:
            stands = parts.button(self.app.t(L("Checked, still right")), self._stands, icon=ft.Icons.CHECK)
            out.append(self._card(ft.Icons.HELP, desk.doubt, stands))
        return [*out, *self._in_doubt()]

    # -- the answer ------------------------------------------------------------------------
    def _results(self) -> list[ft.Control]:
        t, desk, out = self.app.t, self.desk, list[ft.Control]()
        answers, others = desk.answers()
        if others and not any(cylinder_of(r) == desk.cylinder for r in answers):
            out.append(parts.muted(t(L("There is no answer for cylinder {n} yet.", n=str(desk.cylinder))), th.BODY))
        if answers:
            if t(answers[0].line) != self.said:
                out.append(answer_strip(self.app, answers[0]))
            out += self._in_doubt(answers[0])
            out += self._measure_next()
        if desk.aimed:
            return out  # while a number is typed, only the verdict stays in sight
        if answers:
            first = answers[0]
            out += [
                *self._risks(),
                *step_bars(self.app, first),
                *self._choose(first),
                *self._pictures(first),
                *self._inside(first),
                *self._reckoned(),
                *map(self._folded, answers[1:]),
            ]
        if others:
            worst = max((r.verdict for r in others), key=WEIGHT.index)
            worst = Verdict.INFO if worst == Verdict.GO else worst  # folded away, a yes of theirs is not this bore's
            out.append(
                Folded(self.app, t(L("The other cylinders")), lambda: [self._folded(r) for r in others], verdict=worst)
            )
        return out

    def _measure_next(self) -> list[ft.Control]:
        """What to measure next, best first; while a number is typed there is no room for it."""
        later = self.desk.later
        if later is None or later.figures or self.desk.aimed:
            return []
        t = self.app.t
        lines = [parts.text(t(line), th.BODY, color=INK) for line in (later.line, *later.why)]
        head = parts.text(t(self.desk.sheet.later_title), th.BODY, bold=True, color=INK)
        return [parts.card(head, *lines, bg="secondarycontainer")]

    def _reckoned(self) -> list[ft.Control]:
        """Advice with figures of its own, folded beneath the answer it stands beside: its range says most of it."""
        later, t = self.desk.later, self.app.t
        if later is None or not later.figures:
            return []
        said = t(L("{what}: {answer}", what=self.desk.sheet.later_title, answer=later.line))
        return [Folded(self.app, said, lambda: self._inside(later))]

    def _folded(self, result: Result) -> ft.Control:
        return Folded(self.app, self.app.t(result.line), lambda: self._inside(result), verdict=result.verdict)

    def _inside(self, result: Result) -> Sequence[ft.Control]:
        return [*details(self.app, result), *self._warnings(result)]

    def _warnings(self, result: Result) -> list[ft.Control]:
        return [
            parts.card(
                ft.Row(
                    [
                        parts.sign(ft.Icons.WARNING_AMBER, INK),
                        parts.text(self.app.t(c.text), th.BODY, color=INK, expand=True),
                    ],
                    vertical_alignment=ft.CrossAxisAlignment.START,
                ),
                bg="secondarycontainer",
            )
            for c in self.desk.own_cautions(result)
        ]

    def _pictures(self, result: Result | None) -> list[ft.Control]:
        """The pictures: one alone is shown; of several, the one that decides is open."""
        desk, pictures = self.desk, self.desk.work.pictures
        cylinders = desk.view.cylinders
        each = len(pictures) == len(cylinders)  # one for each cylinder
        if desk.by_cylinder and each:
            pictures = (pictures[cylinders.index(desk.cylinder)],)
        if len(pictures) == 1:
            return [painted(self.app, pictures[0])]
        governs = getattr(result, "governing", None)
        first = cylinders.index(governs) if each and governs in cylinders else 0
        return [
            Folded(self.app, self.app.t(p.title), partial(self._untitled, p), unfolded=i == first)
            for i, p in enumerate(pictures)
        ]

    def _untitled(self, picture: Any) -> list[ft.Control]:
        return [painted(self.app, picture, titled=False)]

    def _choose(self, result: Result) -> list[ft.Control]:
        """Where a step is decided on: the decision, with the advice kept beside it."""
        desk = self.desk
        steps = weighed(result) if desk.sheet.decides else ()
        if not steps:
            return []
        decision = desk.view.decisions.get((desk.sheet.key, ()))
        decided = float(decision.typed.value) if decision and decision.typed else None
        said = (
            L("You decided on {step}. Press another to change your mind.", step=Qty(decided, "step"))
            if decided is not None
            else L("Press the step you will bore to. Measure the pistons you have before you cut.")
        )
        return [
            parts.card(
                parts.heading(self.app.t(L("Your decision"))),
                parts.text(self.app.t(said)),
                ft.Row(
                    [*self._hone_only(result, decided), *(self._step(s, decided) for s in steps)],
                    wrap=True,
                    spacing=6,
                    run_spacing=6,
                ),
            )
        ]

    def _step(self, s: Step, decided: float | None) -> ft.Control:
        on = decided is not None and abs(decided - s.step_mm) < 1e-6
        face = figure(Qty(s.step_mm, "step"), self.app.style)
        return parts.choice(face, self._decide, on=on, data=s.step_mm, height=th.TOUCH)

    def _hone_only(self, result: Result, decided: float | None) -> list[ft.Control]:
        """To keep the pistons and only hone, where that takes out the wear."""
        if getattr(result, "outcome", None) != Outcome.HONE:
            return []
        return [parts.choice(self.app.t(L("Hone only")), self._decide, on=decided == 0.0, data=0.0, height=th.TOUCH)]

    def _risks(self) -> list[ft.Control]:
        """What is assumed because nothing was entered, each to be taken on knowingly."""
        return [
            self._card(
                ft.Icons.WARNING_AMBER,
                risk.line,
                parts.button(self.app.t(risk.take), self._risk, data=risk, icon=ft.Icons.GAVEL),
            )
            for risk in self.desk.work.risks
        ]
