"""How results are laid out, the same on every screen."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterable, Sequence

import flet as ft

from logic.doubt import held_by
from logic.explain import explained
from logic.oversize import Oversize, Step
from logic.result import Caution, Figure, Result, Verdict, source_said
from logic.say import LN, Day, L, Line, Qty, figure
from store.view import View

from .. import measure, parts
from .. import theme as th
from ..shell import Shell

#: Figures of an answer that stand open; the rest are folded.
FIGURES = 4

WORD = {
    Verdict.GO: L("Yes"),
    Verdict.MAYBE: L("Not sure yet"),
    Verdict.STOP: L("No"),
    Verdict.INFO: L("For your information"),
}


def when(ms: int) -> Day:
    """A moment on this device's clock, as day and time."""
    return Day(time.strftime("%Y-%m-%d %H:%M", time.localtime(ms / 1000)))


def stamp_ms(stamp: str) -> int:
    """The milliseconds in an entry's stamp."""
    return int(stamp.split("-", maxsplit=1)[0])


class Answer:
    """A result's verdict as a strip that can show another result without being built again."""

    def __init__(self, app: Shell, *, size: int = th.VERDICT) -> None:
        self.app, self.size = app, size
        self.strip = parts.Strip()

    def show(self, result: Result) -> ft.Control:
        app = self.app
        sure = figure(Qty(result.confidence, "chance"), app.style) if result.confidence is not None else ""
        line = app.t(held_by(result) or result.line)  # its head says already that it is not sure
        return self.strip.show(
            result.verdict, app.t(WORD[result.verdict]), line, size=th.TITLE if len(line) > 90 else self.size, sure=sure
        )


def answer_strip(app: Shell, result: Result, *, size: int = th.VERDICT) -> ft.Control:
    return Answer(app, size=size).show(result)


def unseen(view: View, *groups: Iterable[Caution]) -> list[Caution]:
    """The cautions of these groups that nobody has acknowledged on this job, each once."""
    every = {c.key: c for group in groups for c in group}
    return [c for c in every.values() if c.key not in view.cautions_seen]


def odd_notice(app: Shell, view: View) -> list[ft.Control]:
    """That entries of the log are not used, where there are any."""
    if not view.odd:
        return []
    line = LN(
        "One entry is kept in the log but not used: its value or place does not fit.",
        "{n} entries are kept in the log but not used: their value or place does not fit.",
        len(view.odd),
    )
    return [parts.notice(app.t(line))]


def cautions(app: Shell, found: Iterable[Caution], on_seen: parts.Handler | None = None) -> ft.Control:
    """Cautions as a card, with the button that acknowledges them where ``on_seen`` is given."""
    ink = "onsecondarycontainer"
    rows = [
        ft.Row(
            [
                parts.sign(ft.Icons.WARNING_AMBER, ink),
                parts.text(app.t(L("Before you start")), th.LARGE, bold=True, color=ink, expand=True),
            ]
        ),
        *[parts.text(app.t(c.text), th.BODY, color=ink) for c in found],
    ]
    if on_seen:
        rows.append(parts.button(app.t(L("I have read this")), on_seen, icon=ft.Icons.CHECK))
    return parts.card(*rows, bg="secondarycontainer")


class AnswerLine:
    """A verdict where there is little room: icon and sentence, two lines at most. Shows another without being built again."""

    def __init__(self, app: Shell) -> None:
        self.app = app
        self.icon = parts.sign(ft.Icons.INFO, size=20)
        self.line = parts.text("", th.SMALL, bold=True, expand=True, max_lines=2, overflow=ft.TextOverflow.ELLIPSIS)
        self.ground = ft.Container(
            border_radius=th.ROUND,
            padding=ft.Padding.symmetric(horizontal=8, vertical=4),
            content=ft.Row([self.icon, self.line], spacing=6),
        )
        self.control = ft.Semantics(container=True, live_region=True, content=self.ground)

    def show(self, result: Result) -> ft.Control:
        self.icon.icon, self.ground.bgcolor, ink = parts.LOOK[result.verdict]
        self.icon.color = self.line.color = ink
        self.icon.semantics_label = self.app.t(WORD[result.verdict])
        # what is in doubt stands in a card of its own, with the keys that settle it
        said = self.app.t(result.line if held_by(result) is None else WORD[result.verdict])
        self.line.value, self.line.semantics_label = self._shortened(said), said
        return self.control

    def _shortened(self, said: str) -> str:
        """The whole of it, or its first sentence where only that stands on two lines; a screen reader hears it all."""
        size, room = th.SMALL * self.app.frame.scale, self.app.frame.room - 16 - 6 - th.icon(20)
        first = said[: said.find(". ") + 1]
        short = not measure.stands(said, size, room, rows=2) and measure.stands(first, size, room, rows=2)
        return first if first and short else said


def weighed(result: Result | None) -> tuple[Step, ...]:
    """The oversizes that a result weighs, with their chances; none where it weighs none."""
    return result.steps if isinstance(result, Oversize) else ()


#: A bar shorter than this, in pixels, shows nothing.
LEAST_BAR = 48


class StepBars:
    """The chance that each step cleans up: figure and bar, side by side."""

    def __init__(self, app: Shell) -> None:
        self.app = app
        self.rows: list[tuple[ft.Text, ft.ProgressBar, ft.Text]] = []  # name, bar, chance
        self.places: list[tuple[ft.Container, ft.Container]] = []  # what holds name and chance to their widths
        self.heading = parts.muted(app.t(L("Chance that each step cleans up")))
        self.control = ft.Column([self.heading], spacing=2)

    def show(self, result: Result | None) -> ft.Control:
        steps = weighed(result)[:7]
        named = [figure(Qty(s.step_mm, "step"), self.app.style) for s in steps]
        chances = [min(1.0, max(0.0, s.probability)) for s in steps]
        said = [figure(Qty(p, "chance"), self.app.style) for p in chances]
        name_wide, chance_wide = (max((parts.wide(one) + 4 for one in column), default=0.0) for column in (named, said))
        shown = self.app.room - name_wide - chance_wide - 16 >= LEAST_BAR
        while len(self.rows) < len(steps):
            self._grow()
        for i, (name, bar, chance) in enumerate(self.rows):
            self.control.controls[i + 1].visible = i < len(steps)
            if i < len(steps):
                name.value, bar.value, chance.value = named[i], chances[i], said[i]
                first, last = self.places[i]
                first.width, last.width = name_wide, chance_wide if shown else None
                # where the figures leave it no room, the bar has nothing to add to them
                bar.visible = shown
        self.control.visible = bool(steps)
        return self.control

    def _grow(self) -> None:
        name = parts.text("", th.BODY, bold=True, no_wrap=True)
        bar = ft.ProgressBar(value=0, height=12, color="primary", bgcolor="surfacecontainerhigh", border_radius=3)
        chance = parts.text("", th.BODY, bold=True, text_align=ft.TextAlign.END, no_wrap=True)
        places = ft.Container(name), ft.Container(chance)
        self.rows.append((name, bar, chance))
        self.places.append(places)
        middle = ft.Semantics(exclude_semantics=True, content=ft.Container(bar), expand=True)
        self.control.controls.append(ft.Row([places[0], middle, places[1]], spacing=8))


def step_bars(app: Shell, result: Result) -> list[ft.Control]:
    """The chance of each step of a result, where it has such steps."""
    bars = StepBars(app).show(result)
    return [bars] if bars.visible else []


class Explained(ft.Column):
    """A figure of a result that explains itself when pressed."""

    def __init__(self, app: Shell, result: Result, f: Figure) -> None:
        super().__init__(spacing=2, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.app, self.result, self.f, self.open = app, result, f, False
        self._fill()

    def _fill(self) -> None:
        app, f = self.app, self.f
        large, small = app.two(f.qty)
        if f.qty.u:
            large = figure(f.qty, app.style, spread=True)
        needs = max(parts.wide(large, th.LARGE), parts.wide(small, th.SMALL))
        fold = parts.sign(ft.Icons.EXPAND_LESS if self.open else ft.Icons.EXPAND_MORE, "onsurfacevariant", 20)
        face = parts.told(
            app.t(f.label), parts.two(large, small, size=th.LARGE, end=True), needs, app.room - 24, after=fold
        )
        self.controls = [
            parts.row_button(face, self._flip, bg="surfacecontainerhigh", lines=2 if small and small != large else 1)
        ]
        if self.open:
            self.controls.append(
                ft.Container(
                    ft.Column(self._said(), spacing=4), padding=ft.Padding.symmetric(horizontal=12, vertical=4)
                )
            )

    def _said(self) -> list[ft.Control]:
        app, f = self.app, explained(self.result, self.f)
        said: list[ft.Control] = [parts.text(app.t(f.help), th.BODY)] if f.help else []
        if f.formula:
            said.append(parts.text(app.t(f.formula), th.BODY, bold=True))
        if f.source:
            said.append(parts.muted(app.t(L("Source: {source}", source=source_said(f.source)))))
        return said

    async def _flip(self) -> None:
        self.open = not self.open
        self._fill()
        self.app.update(self)


class Folded(ft.Column):
    """A heading that opens to show what is under it."""

    def __init__(
        self,
        app: Shell,
        title: str,
        make: Callable[[], Sequence[ft.Control]],
        *,
        unfolded: bool = False,
        verdict: str | None = None,
    ) -> None:
        super().__init__(spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.app, self.title, self.make, self.open = app, title, make, unfolded
        self.verdict = verdict
        self._fill()

    def _fill(self) -> None:
        ground, ink, sign = "surfacecontainerhigh", "onsurface", list[ft.Control]()
        if self.verdict is not None:
            icon, ground, ink = parts.LOOK[self.verdict]
            sign = [parts.sign(icon, ink, spoken=self.app.t(WORD[self.verdict]))]
        self.controls = [
            parts.row_button(
                ft.Row(
                    [
                        *sign,
                        parts.text(self.title, th.BODY, bold=True, color=ink, expand=True),
                        parts.sign(ft.Icons.EXPAND_LESS if self.open else ft.Icons.EXPAND_MORE, ink),
                    ],
                    spacing=8,
                ),
                self._flip,
                bg=ground,
            )
        ]
        if self.open:
            self.controls += self.make()

    async def _flip(self) -> None:
        self.open = not self.open
        self._fill()
        self.app.update(self)


def _bullets(app: Shell, lines: Iterable[Line | str]) -> list[ft.Control]:
    return [
        ft.Row(
            [parts.text("•", th.BODY), parts.text(app.t(line), th.BODY, expand=True)],
            spacing=8,
            vertical_alignment=ft.CrossAxisAlignment.START,
        )
        for line in lines
    ]


def details(app: Shell, result: Result) -> list[ft.Control]:
    """Why, then the numbers, then what mattered, then the assumptions."""
    out: list[ft.Control] = []
    if result.why:
        out.append(ft.Column(_bullets(app, result.why), spacing=4))
    few = len(result.figures) if len(result.figures) <= FIGURES + 1 else FIGURES
    out += [Explained(app, result, f) for f in result.figures[:few]]
    if rest := result.figures[few:]:
        out.append(
            Folded(
                app,
                app.t(LN("One more figure", "{n} more figures", len(rest))),
                lambda: [Explained(app, result, f) for f in rest],
            )
        )
    if result.influences:

        def shares() -> list[ft.Control]:
            return [
                ft.Row(
                    [
                        parts.text(app.t(i.name), th.BODY, expand=True),
                        parts.text(figure(Qty(i.share, "percent"), app.style), th.BODY, bold=True),
                    ]
                )
                for i in sorted(result.influences, key=lambda i: -i.share)[:6]
            ]

        out.append(Folded(app, app.t(L("What mattered most")), shares))
    if result.assumptions:

        def assumed() -> list[ft.Control]:
            return [
                ft.Column(
                    [*_bullets(app, [a.text]), parts.muted(app.t(L("Source: {source}", source=source_said(a.source))))],
                    spacing=0,
                )
                for a in result.assumptions
            ]

        out.append(Folded(app, app.t(L("What this assumes")), assumed))
    return out


class CylinderTabs:
    """A row of keys, one for each cylinder. The one on show has a line beneath as well as its fill; a full one has a tick."""

    def __init__(self, app: Shell, on_click: parts.Handler) -> None:
        self.app, self.on_click = app, on_click
        self.control = ft.Row(spacing=6, scroll=ft.ScrollMode.AUTO)
        self.made: dict[int, tuple[tuple[bool, bool, str, float], ft.Control]] = {}

    def show(self, cylinders: Sequence[int], now: int, full: Collection[int] = ()) -> ft.Control:
        for c in cylinders:
            state = (c == now, c in full, self.app.style.language, th.held.scale)
            if c not in self.made or self.made[c][0] != state:
                self.made[c] = state, self._tab(c, on=state[0], full=state[1])
        self.control.controls = [self.made[c][1] for c in cylinders]
        return self.control

    def _tab(self, c: int, *, on: bool, full: bool) -> ft.Control:
        t = self.app.t
        ink = "onprimary" if on else "onsurface"
        return ft.Semantics(
            selected=on,
            content=ft.Button(
                content=ft.Row(
                    [
                        ft.Container(
                            ft.Text(
                                str(c),
                                size=th.eased(th.LARGE),
                                weight=ft.FontWeight.W_700,
                                semantics_label=t(L("Cylinder {n}", n=str(c))),
                                style=ft.TextStyle(color=ink, font_family=th.FONT),
                            ),
                            border=ft.Border.only(bottom=ft.BorderSide(3, ink if on else ft.Colors.TRANSPARENT)),
                        ),
                        *([parts.sign(ft.Icons.CHECK, size=16, spoken=t(L("all entered")))] if full else []),
                    ],
                    spacing=2,
                    alignment=ft.MainAxisAlignment.CENTER,
                    tight=True,
                ),
                on_click=self.on_click,
                data=c,
                style=parts.style(
                    "primary" if on else "surfacecontainerhigh",
                    ink,
                    pad=ft.Padding.symmetric(horizontal=10, vertical=parts.upright(th.LARGE)),
                ),
            ),
        )
