"""How results are laid out, the same on every screen."""

from __future__ import annotations

import time
from typing import Any

import flet as ft

from logic.result import Result, Verdict, source_said
from logic.say import L, Qty, figure

from .. import parts, theme as th

WORD = {
    Verdict.GO: L("Yes"),
    Verdict.MAYBE: L("Not sure yet"),
    Verdict.STOP: L("No"),
    Verdict.INFO: L("For your information"),
}


def when(ms: int) -> str:
    """A moment on this device's clock, as day and time."""
    return time.strftime("%Y-%m-%d %H:%M", time.localtime(ms / 1000))


def stamp_ms(stamp: str) -> int:
    """The milliseconds in an entry's stamp."""
    return int(stamp.split("-")[0])


def answer_strip(app: Any, result: Result, *, size: int = th.VERDICT) -> ft.Control:
    sure = figure(Qty(result.confidence, "percent"), app.style) if result.confidence is not None else ""
    long = len(app.t(result.line)) > 90
    return parts.strip(result.verdict, app.t(WORD[result.verdict]), app.t(result.line), size=th.TITLE if long else size, sure=sure)


def unseen(view: Any, *groups: Any) -> list[Any]:
    """The cautions of these groups that nobody has acknowledged on this job, each once."""
    every = {c.key: c for group in groups for c in group}
    return [c for c in every.values() if c.key not in view.cautions_seen]


def cautions(app: Any, found: Any, on_seen: Any = None) -> ft.Control:
    """Cautions as a card, with the button that acknowledges them where ``on_seen`` is given."""
    ink = "onsecondarycontainer"
    rows = [
        ft.Row([ft.Icon(ft.Icons.WARNING_AMBER, color=ink), parts.text(app.t(L("Before you start")), th.LARGE, bold=True, color=ink)]),
        *[parts.text(app.t(c.text), th.BODY, color=ink) for c in found],
    ]
    if on_seen:
        rows.append(parts.button(app.t(L("I have read this")), on_seen, icon=ft.Icons.CHECK))
    return parts.card(*rows, bg="secondarycontainer")


def answer_line(app: Any, result: Result) -> ft.Control:
    """A verdict where there is little room: icon and sentence, two lines at most."""
    icon, ground, ink = parts.LOOK[result.verdict]
    return ft.Semantics(
        container=True,
        live_region=True,
        content=ft.Container(
            bgcolor=ground,
            border_radius=th.ROUND,
            padding=ft.Padding.symmetric(horizontal=8, vertical=4),
            content=ft.Row(
                [
                    ft.Icon(icon, color=ink, size=20, semantics_label=app.t(WORD[result.verdict])),
                    parts.text(app.t(result.line), th.SMALL, bold=True, color=ink, expand=True, max_lines=2, overflow=ft.TextOverflow.ELLIPSIS),
                ],
                spacing=6,
            ),
        ),
    )


def step_bars(app: Any, result: Result) -> list[ft.Control]:
    """The chance that each step cleans up: figure and bar, side by side."""
    rows = []
    for step in getattr(result, "steps", ())[:7]:
        p = min(1.0, max(0.0, step.probability))
        rows.append(
            ft.Row(
                [
                    ft.Container(parts.text(figure(Qty(step.step_mm, "step"), app.style), th.BODY, bold=True, no_wrap=True), width=100),
                    ft.ProgressBar(value=p, height=12, expand=True, color="primary", bgcolor="surfacecontainerhigh", border_radius=3),
                    ft.Container(parts.text(figure(Qty(p, "percent"), app.style), th.BODY, bold=True, text_align=ft.TextAlign.END), width=64),
                ],
                spacing=8,
            )
        )
    if rows:
        rows.insert(0, parts.muted(app.t(L("Chance that each step cleans up"))))
    return [ft.Column(rows, spacing=2)] if rows else []


class Explained(ft.Column):
    """A figure that explains itself when pressed."""

    def __init__(self, app: Any, f: Any) -> None:
        super().__init__(spacing=2, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.app, self.f, self.open = app, f, False
        self._fill()

    def _fill(self) -> None:
        app, f = self.app, self.f
        large, small = app.two(f.qty)
        if f.qty.u:
            large = figure(f.qty, app.style, spread=True)
        explains = bool(f.help or f.formula or f.source)
        face = ft.Row(
            [
                parts.text(app.t(f.label), th.BODY, expand=True),
                parts.two(large, small, size=th.LARGE, end=True),
                *([ft.Icon(ft.Icons.EXPAND_LESS if self.open else ft.Icons.EXPAND_MORE, size=20, color="onsurfacevariant")] if explains else []),
            ],
            spacing=8,
        )
        if explains:
            self.controls = [parts.row_button(face, self._flip, bg="surfacecontainerhigh")]
        else:
            self.controls = [ft.Container(face, padding=ft.Padding.symmetric(horizontal=12, vertical=6))]
        if self.open:
            more = [parts.text(app.t(f.help), th.BODY)] if f.help else []
            if f.formula:
                more.append(parts.text(f.formula, th.BODY))
            if f.source:
                more.append(parts.muted(app.t(L("Source: {source}", source=source_said(f.source)))))
            self.controls.append(ft.Container(ft.Column(more, spacing=4), padding=ft.Padding.symmetric(horizontal=12, vertical=4)))

    async def _flip(self, e: Any) -> None:
        self.open = not self.open
        self._fill()
        self.app.update(self)


class Folded(ft.Column):
    """A heading that opens to show what is under it."""

    def __init__(self, app: Any, title: str, make: Any, *, open: bool = False, verdict: str | None = None) -> None:
        super().__init__(spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        self.app, self.title, self.make, self.open = app, title, make, open
        self.icon, self.ground, self.ink = (None, "surfacecontainerhigh", "onsurface") if verdict is None else parts.LOOK[verdict]
        self.word = WORD[verdict] if verdict is not None else None
        self._fill()

    def _fill(self) -> None:
        sign = [ft.Icon(self.icon, color=self.ink, size=24, semantics_label=self.app.t(self.word))] if self.icon else []
        self.controls = [
            parts.row_button(
                ft.Row(
                    [
                        *sign,
                        parts.text(self.title, th.BODY, bold=True, color=self.ink, expand=True),
                        ft.Icon(ft.Icons.EXPAND_LESS if self.open else ft.Icons.EXPAND_MORE, color=self.ink),
                    ],
                    spacing=8,
                ),
                self._flip,
                bg=self.ground,
            )
        ]
        if self.open:
            self.controls += self.make()

    async def _flip(self, e: Any) -> None:
        self.open = not self.open
        self._fill()
        self.app.update(self)


def _bullets(app: Any, lines: Any) -> list[ft.Control]:
    return [
        ft.Row([parts.text("•", th.BODY), parts.text(app.t(line), th.BODY, expand=True)], spacing=8, vertical_alignment=ft.CrossAxisAlignment.START)
        for line in lines
    ]


def details(app: Any, result: Result, *, picture: bool = True) -> list[ft.Control]:
    """Why, then the numbers, then what mattered, then the assumptions."""
    out: list[ft.Control] = []
    if result.why:
        out.append(ft.Column(_bullets(app, result.why), spacing=4))
    for f in result.figures:
        out.append(Explained(app, f))
    if result.influences:

        def shares() -> list[ft.Control]:
            return [
                ft.Row([parts.text(app.t(i.name), th.BODY, expand=True), parts.text(figure(Qty(i.share, "percent"), app.style), th.BODY, bold=True)])
                for i in sorted(result.influences, key=lambda i: -i.share)[:6]
            ]

        out.append(Folded(app, app.t(L("What mattered most")), shares))
    if result.assumptions:

        def assumed() -> list[ft.Control]:
            return [
                ft.Column(_bullets(app, [a.text]) + [parts.muted(app.t(L("Source: {source}", source=source_said(a.source))))], spacing=0)
                for a in result.assumptions
            ]

        out.append(Folded(app, app.t(L("What this assumes")), assumed))
    return out
