"""For who cannot see, hear, hold or press as others do: what the app does, and what it cannot do where it is drawn."""

from __future__ import annotations

import flet as ft

from logic.say import L

from .. import parts
from .. import theme as th
from ..shell import Screen

__all__ = ["CAN", "CANNOT", "Access"]

CAN = (
    L("A screen reader is given the name, kind and order of all there is, with headings to jump by."),
    L("A new verdict, a message and a refused entry are announced without being looked for."),
    L("A keyboard, or a switch that sends Tab and Enter, reaches everything. The pad takes typed numbers as well."),
    L("Text follows the size set on the device. The screens were tried at up to twice the usual size."),
    L("More contrast follows the device, or is chosen in the settings. Colours that the device forces are taken over."),
    L("Nothing has to be done in a given time. Only short messages go by themselves."),
    L("No colour says anything alone: a word and a sign stand beside it."),
    L("Numbers can be read back aloud, and an entry is felt or heard, where the device can do it."),
)
CANNOT = (
    L(
        "The screen is a picture with names beside it. The browser's search finds none of its words, or some while a screen reader is on."
    ),
    L("Words on it cannot be marked or copied. Save the report or the table of readings for that."),
    L("The browser's own settings for fonts, spacing of letters and lines do not reach it."),
    L(
        "Large type grows less than small type. At 200 % text, a verdict grows by two thirds only, running text to twice."
    ),
    L(
        "A short message goes by itself after {n} s, or {m} s where something went wrong. Pressing it is not needed.",
        n=str(th.SAID_S),
        m=str(th.FAULT_S),
    ),
    L("A table is read as a row of buttons, each named by its place."),
    L("Of what is announced, a text is said only where it changed as a whole."),
    L("The text that shows while the app starts is an ordinary page, and has none of these limits."),
)


class Access(Screen):
    title = L("Accessibility")
    up = "/more"

    def body(self) -> list[ft.Control]:
        t = self.t
        return [
            parts.heading(t(L("What the app does"))),
            *(parts.text(t(line), th.BODY) for line in CAN),
            parts.heading(t(L("What it cannot do here"))),
            *(parts.text(t(line), th.BODY) for line in CANNOT),
        ]
