"""A short tour for the first time. It can be left at any card and taken again from the settings."""

from __future__ import annotations

import flet as ft

from logic.say import L

from .. import parts
from .. import theme as th
from ..shell import Screen

CARDS = (
    (
        ft.Icons.SPEED,
        L("Two numbers, one answer"),
        L(
            "On the first screen, enter the nominal bore and the worst reading. You see the smallest oversize that is likely to clean up, and how sure that is."
        ),
    ),
    (
        ft.Icons.GRID_ON,
        L("Measure bore by bore"),
        L(
            "In a job the pad asks for one place after another: cylinder, depth, direction. Each reading is kept the moment it says saved, also without a signal and if the phone dies."
        ),
    ),
    (
        ft.Icons.FACT_CHECK,
        L("The whole job, step by step"),
        L(
            "Walls, deck, clamping, boring, honing, final check. Each step says what it needs, what comes out and why. You may leave one out, with a reason that stays in the log."
        ),
    ),
    (
        ft.Icons.STRAIGHTEN,
        L("Inch and millimetre"),
        L(
            "The switch at the top changes what is shown, never what is stored. Any unit may be typed: the unit key goes round, and a slip is asked about."
        ),
    ),
    (
        ft.Icons.SAVE_ALT,
        L("Your data is yours"),
        L(
            "Nothing leaves this device unless you save a file. Save one often: it is your backup and the way to the shop computer."
        ),
    ),
)


class Tour(Screen):
    title = L("A short tour")
    up = "/"

    async def load(self) -> None:
        self.at = 0

    def body(self) -> list[ft.Control]:
        icon, head, words = CARDS[self.at]
        return [
            ft.Container(height=24),
            parts.sign(icon, "primary", 72),
            parts.text(self.t(head), th.VERDICT, bold=True, text_align=ft.TextAlign.CENTER),
            parts.text(self.t(words), th.LARGE),
            parts.muted(
                self.t(L("{n} of {all}", n=str(self.at + 1), all=str(len(CARDS)))), text_align=ft.TextAlign.CENTER
            ),
        ]

    def foot(self) -> ft.Control:
        last = self.at == len(CARDS) - 1
        skip = [] if last else [parts.button(self.t(L("Skip")), self._done, expand=1, height=56)]
        on = parts.button(
            self.t(L("Start") if last else L("Go on")),
            self._done if last else self._on,
            primary=True,
            expand=2,
            height=56,
        )
        return parts.foot(*skip, on)

    async def _on(self) -> None:
        self.at += 1
        self.redraw()

    async def _done(self) -> None:
        await self.app.jobs.set_setting("toured", True)
        await self.app.go("/")
