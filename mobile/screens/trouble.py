"""Stands in for a screen that could not be made, or whose log the store will not give out."""

from __future__ import annotations

import flet as ft

from logic.say import L
from store.errors import Refused

from .. import bridge, parts
from .. import theme as th
from ..shell import Screen, Shell


class Trouble(Screen):
    title = L("Trouble")
    up = "/"

    def __init__(self, app: Shell, problem: Exception) -> None:
        super().__init__(app)
        self.problem = problem

    def body(self) -> list[ft.Control]:
        if isinstance(self.problem, Refused):
            return [
                parts.strip("stop", self.t(L("The jobs cannot be reached")), self.t(self.problem.line), size=th.LARGE),
                parts.button(self.t(L("Load the app again")), bridge.reload, primary=True, height=56),
            ]
        return [
            parts.strip(
                "stop",
                self.t(L("This screen failed")),
                self.t(
                    L("Everything shown as saved is still here. Save all jobs to a file, then go back and try again.")
                ),
                size=th.LARGE,
            ),
            parts.button(self.t(L("Files")), self.follow, data="/files", primary=True, height=56),
            parts.muted(f"{type(self.problem).__name__}: {self.problem}"),
        ]
