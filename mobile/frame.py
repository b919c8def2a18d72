"""The frame round every screen: the bar, the content, what stays in the thumb's reach, and messages.

Where the screen is low (a phone on its side) or wide (a tablet, a shop computer) the
foot stands beside the content, at the thumb, and leaves the content its height.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import cast

import flet as ft

from logic.say import L, Line

from . import measure, parts
from . import theme as th
from .shell import Body, Screen, Shell

#: Below this height a foot stands beside the content.
LOW = 520
#: From this width on, a pad stands beside the content, and a screen of two halves shows them side by side.
WIDE = 840
#: A foot need not be wider than this; it stands at the right, at the thumb.
FOOT = 600.0
#: Lines of text longer than this are hard to read.
LINE = 720
#: Height in logical pixels of the ruler's one line of text at the plain text size.
_RULE = 18.75


class Frame:
    """What is the same on every screen. ``switch``, ``more`` and ``back`` are the handlers of the bar."""

    def __init__(self, app: Shell, *, switch: parts.Handler, more: parts.Handler, back: parts.Handler) -> None:
        self.app = app
        self.scale = 1.0  # the device's own text scale
        self.low = False  # a phone on its side
        self.foot_width = 0.0
        self.room = 0.0  # width inside the column in which the content is laid out
        self.beside_wanted = False  # a foot, where there is one, stands beside the content
        self.beside = False  # it does
        self.keys_beside = False  # the keys of the bar stand above it
        self.halved = False  # two halves stand side by side
        self._hide: asyncio.Task[None] | None = None
        self._worded = ""
        self._serial = 0  # of the screen that is on show
        self._handlers = {"switch": switch, "more": more, "back": back}
        self.bar = ft.Container(bgcolor="surface", padding=ft.Padding.only(right=4, top=2, bottom=2))
        self.middle = ft.Column()
        self.columns: tuple[ft.Column, ...] = (self.middle,)  # what scrolls: the middle, or each of its two halves
        self.place = ft.Container(expand=True)
        self.side = ft.Container(visible=False)
        self.bottom = ft.Container()
        self.note = ft.Container(visible=False, top=th.TOUCH + 8, left=8, right=8)
        self.control = ft.SafeArea(
            expand=True,
            content=ft.Stack(
                [
                    ft.Row(
                        [
                            ft.Column(
                                [self.bar, self.place, self.bottom],
                                expand=True,
                                spacing=0,
                                horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
                            ),
                            self.side,
                        ],
                        expand=True,
                        spacing=0,
                        vertical_alignment=ft.CrossAxisAlignment.STRETCH,
                    ),
                    self.note,
                ],
                expand=True,
                fit=ft.StackFit.EXPAND,
            ),
        )

    @property
    def large(self) -> bool:
        """Whether the device asks for much larger text than usual."""
        return self.scale > 1.3

    # -- a screen ---------------------------------------------------------------------
    def open(self, serial: int) -> None:
        """A new column for each screen, so that it opens at its top and not where the last one was left."""
        self._serial = serial
        self.middle = ft.Column(
            expand=True, spacing=th.GAP, horizontal_alignment=ft.CrossAxisAlignment.STRETCH, key=f"screen-{serial}"
        )
        self.columns = (self.middle,)
        self.place.content = self.middle

    def fill(self, screen: Screen) -> None:
        """Lay out ``screen``. The page is not yet told."""
        foot = self._measure(screen)
        self._bar(screen)
        # while a number is typed the room belongs to what it is about, and in large letters to a question as well
        bare = screen.typing or (screen.asking and self.large)
        top = [self._title(screen)] if not (self._in_bar(screen) or bare) else []
        body, end = screen.body(), 0 if screen.typing else th.GAP
        if self.halved:
            left, right = cast("tuple[Sequence[ft.Control], Sequence[ft.Control]]", body)
            self.middle.controls = [*top, self._two(left, right, end)]
        else:
            self.middle.controls = [*top, *_one(screen, body), ft.Container(height=end)]
            self.columns = (self.middle,)
        self.middle.scroll = None if self.halved else ft.ScrollMode.AUTO
        self._put_foot(foot)

    def _measure(self, screen: Screen) -> ft.Control | None:
        """Share the room out between content and foot; gives the foot, which is made for its width."""
        app = self.app
        self.low = app.height < LOW and app.width > app.height
        beside = self._beside(screen)
        self.beside_wanted = bool(beside)
        self.foot_width = beside or min(app.width, FOOT)
        th.held.scale, th.held.foot = self.scale, self.foot_width
        foot = screen.foot()
        self.beside = bool(beside) and foot is not None
        # on a phone on its side a pad has the whole height, and so has a question
        self.keys_beside = self.beside and not ((screen.typing or screen.asking) and self.low)
        self.side.width = beside if self.beside else 0.0
        self.note.right = 8 + self._side_width()
        width = app.width - self._side_width()
        self.halved = screen.halves and width >= WIDE
        widest = 2 * LINE if self.halved else LINE
        edge = max(float(th.EDGE), (width - widest) / 2)
        self.room = (width - 2 * edge - 2 * th.EDGE) / 2 if self.halved else width - 2 * edge
        th.held.room = self.room
        self.place.padding = ft.Padding.only(left=edge, right=edge, top=2)
        return foot

    def _side_width(self) -> float:
        return float(self.side.width or 0.0)

    def _beside(self, screen: Screen) -> float:
        """Width of a foot that stands beside the content; 0 where it stands beneath."""
        if not self.low and not (screen.typing and self.app.width >= WIDE):
            return 0.0
        wide = screen.typing or screen.asking
        return min(430.0, self.app.width * 0.48) if wide else 230.0 * min(1.4, self.scale)

    def _two(self, left: Sequence[ft.Control], right: Sequence[ft.Control], end: float) -> ft.Control:
        """The two halves of a body side by side. Each scrolls by itself, so that neither leaves the other's side blank."""
        if len(self.columns) < 2:
            self.columns = tuple(_half(f"{self._serial}-{side}") for side in ("left", "right"))
        for column, controls in zip(self.columns, (left, right), strict=True):
            column.controls = [*controls, ft.Container(height=end)]
        return ft.Row(
            [*self.columns],
            expand=True,
            spacing=2 * th.EDGE,
            vertical_alignment=ft.CrossAxisAlignment.STRETCH,
        )

    def _put_foot(self, foot: ft.Control | None) -> None:
        self.side.visible, self.bottom.visible = self.beside, not self.beside
        self.side.content, self.bottom.content = None, None
        if foot is not None and self.beside:
            low = ft.Column(
                [foot],
                alignment=ft.MainAxisAlignment.END,
                horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
                scroll=ft.ScrollMode.AUTO,
                expand=True,
            )
            keys = ft.Row(self._keys(), spacing=4, alignment=ft.MainAxisAlignment.END)
            head = [ft.Container(keys, padding=ft.Padding.only(right=4, top=2, bottom=2))] if self.keys_beside else []
            self.side.content = ft.Column([*head, low], spacing=0, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)
        elif not self.beside:
            self.bottom.content = foot
            self.bottom.padding = ft.Padding.only(left=self.app.width - self.foot_width)

    # -- the bar ------------------------------------------------------------------------
    def _switch_width(self) -> float:
        return max(52.0, 36 * self.scale)

    def _bar_room(self, screen: Screen) -> float:
        """Width that the bar leaves to a title."""
        left = th.EDGE if screen.up is None else th.TOUCH
        right = 0.0 if self.keys_beside else 2 * self._switch_width() + 2 + th.TOUCH + 8
        return self.app.width - self._side_width() - left - right - 8

    def _title_size(self, screen: Screen) -> float:
        """The largest size at which the title stands in the bar on one line, or two smaller ones; 0 where it does not."""
        said, room = self.app.t(screen.title), self._bar_room(screen)
        for size, rows in ((th.TITLE, 1), (th.BODY, 1 if self.large else 2)):
            if measure.stands(said, th.eased(size) * self.scale, room, rows=rows):
                return float(size)
        return 0.0

    def _in_bar(self, screen: Screen) -> bool:
        """Whether the title stands in the bar. One that would be cut off there stands whole beneath it."""
        return self._title_size(screen) > 0

    def _title(self, screen: Screen) -> ft.Control:
        size = self._title_size(screen) or th.TITLE
        return ft.Semantics(header=True, heading_level=1, content=parts.text(self.app.t(screen.title), size, bold=True))

    def _unseen(self, screen: Screen) -> ft.Control | None:
        """While a number is typed, or a question asked, a screen reader still hears where it is."""
        if not (screen.typing or screen.asking):
            return None
        return ft.Semantics(
            header=True, heading_level=1, label=self.app.t(screen.title), content=ft.Container(height=th.TOUCH)
        )

    def _bar(self, screen: Screen) -> None:
        """The bar, made anew only if something on it changed."""
        app, t = self.app, self.app.t
        in_bar = self._in_bar(screen)
        worded = repr(
            (
                t(screen.title),
                screen.up is None,
                app.style,
                self.scale,
                self._bar_room(screen),
                in_bar,
                self.keys_beside,
                screen.typing,
                screen.asking,
                th.Drawn.edged,
            )
        )
        if worded == self._worded:
            return
        self._worded = worded
        left = (
            ft.Container(width=th.EDGE)
            if screen.up is None
            else parts.icon_button(ft.Icons.ARROW_BACK, t(L("Back")), self._handlers["back"])
        )
        self.bar.content = ft.Row(
            [
                left,
                ft.Container(expand=True, content=self._title(screen) if in_bar else self._unseen(screen)),
                *([] if self.keys_beside else self._keys()),
            ],
            spacing=4,
        )

    def _keys(self) -> list[ft.Control]:
        """The unit switch, and the way to everything else."""
        more = parts.icon_button(ft.Icons.TUNE, self.app.t(L("Settings, files and help")), self._handlers["more"])
        return [self._units(), more]

    def _units(self) -> ft.Control:
        """The unit switch: both systems named, the one in use filled in."""
        t = self.app.t

        def half(unit: str, spoken: str, *, ruler: bool = False) -> ft.Control:
            on = self.app.style.length == unit
            word = ft.Text(unit, size=th.BODY, weight=ft.FontWeight.W_700, semantics_label=spoken, no_wrap=True)
            if ruler:
                word.on_size_change = self._measured
            return ft.Semantics(
                selected=on,
                content=ft.Button(
                    content=word,
                    on_click=self._handlers["switch"],
                    data=unit,
                    width=self._switch_width(),
                    height=max(float(th.TOUCH), 26 * self.scale),
                    style=parts.style(
                        "primary" if on else "surfacecontainerhigh", "onprimary" if on else "onsurface", pad=0
                    ),
                ),
            )

        return ft.Row([half("in", t(L("Show inches")), ruler=True), half("mm", t(L("Show millimetres")))], spacing=2)

    async def _measured(self, e: ft.LayoutSizeChangeEvent[ft.LayoutControl]) -> None:
        """The size of one known line of text tells the text size the person has set on the device."""
        scale = round(e.height / _RULE, 2)
        if abs(scale - self.scale) > 0.02:
            self.scale, self._worded = scale, ""
            if self.app.screen:
                self.app.screen.redraw()

    # -- messages -------------------------------------------------------------------------
    def say(self, line: Line | str, *, bad: bool = False) -> None:
        """A short message under the bar. It goes by itself, or when pressed; it never covers the foot."""
        ground, ink = ("errorcontainer", "onerrorcontainer") if bad else ("inversesurface", "oninversesurface")
        self.note.content = ft.Semantics(
            container=True,
            live_region=True,
            content=ft.Container(
                parts.text(self.app.t(line), th.BODY, color=ink),
                bgcolor=ground,
                border_radius=th.ROUND,
                padding=ft.Padding.symmetric(horizontal=14, vertical=14),
                on_click=self._unsay,
            ),
        )
        self.note.visible = True
        self.app.update(self.note)
        if self._hide is not None:
            self._hide.cancel()
        self._hide = asyncio.create_task(self._fade(th.FAULT_S if bad else th.SAID_S))

    async def _fade(self, seconds: float) -> None:
        await asyncio.sleep(seconds)
        await self._unsay()

    async def _unsay(self) -> None:
        self.note.visible = False
        self.app.update(self.note)


def _one(screen: Screen, body: Body) -> Sequence[ft.Control]:
    """A body in one column: its two halves one after the other, where it has them."""
    if not screen.halves:
        return cast("Sequence[ft.Control]", body)
    left, right = cast("tuple[Sequence[ft.Control], Sequence[ft.Control]]", body)
    return [*left, *right]


def _half(key: str) -> ft.Column:
    return ft.Column(
        expand=True,
        spacing=th.GAP,
        scroll=ft.ScrollMode.AUTO,
        horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
        key=f"screen-{key}",
    )
