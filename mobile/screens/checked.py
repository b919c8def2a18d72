"""What the calculations have been checked against, how often stated chances came true, and what is not checked yet."""

from __future__ import annotations

import flet as ft

from logic.checked import CHANCES, CHECKS, NOT_YET, came_true, how_far_apart
from logic.result import source_said
from logic.say import L, Line

from .. import parts
from .. import theme as th
from ..shell import Screen


class Checked(Screen):
    title = L("What this has been checked against")
    up = "/more"

    def body(self) -> list[ft.Control]:
        t = self.t
        return [
            parts.heading(t(L("Compared with"))),
            *(
                self._row(c.what, how_far_apart(c), L("Source: {source}", source=source_said(c.against)))
                for c in CHECKS
            ),
            parts.heading(t(L("How often it came true"))),
            parts.text(t(L("Counted in simulated jobs whose truth is known.")), th.BODY),
            *(self._row(c.what, came_true(c)) for c in CHANCES),
            parts.heading(t(L("Not checked yet"))),
            *(parts.text(t(line), th.BODY) for line in NOT_YET),
        ]

    def _row(self, what: Line, found: Line, *more: Line) -> ft.Control:
        lines = [parts.text(self.t(what), th.BODY, bold=True), parts.text(self.t(found), th.BODY)]
        return ft.Column([*lines, *(parts.muted(self.t(line)) for line in more)], spacing=2)
