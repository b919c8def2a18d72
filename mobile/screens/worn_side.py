"""Which side of the bores wore: asked once, after the last reading, while the answer still decides the oversize."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

import flet as ft

from logic.say import LN, L
from store import draft
from store.facts.side import sides_open
from store.fields.bores import SIDE
from store.view import View

from .. import parts
from .. import theme as th
from ..shell import Pressed, Shell

__all__ = ["WornSide"]

INK = "onsecondarycontainer"
#: How high an answer's key is.
HIGH = 56
#: What is answered for all bores in one press; an offset swept is entered bore by bore.
_FOR_ALL = ("even", "one side")


class WornSide:
    """The question and its answers. ``answered`` is told when one was stored, ``each`` goes to where every bore has its own."""

    def __init__(
        self, app: Shell, answered: Callable[[], Awaitable[None]], each: Callable[[], Awaitable[None]]
    ) -> None:
        self.app, self._answered, self._each = app, answered, each
        self.view: View | None = None

    def question(self, view: View) -> ft.Control:
        """What is asked, alone on the screen: its answers stand in the foot, at the thumb."""
        self.view = view
        return parts.card(*self._asked(sides_open(view)), bg="secondarycontainer")

    def foot(self, view: View) -> ft.Control:
        """The answers, as large as what is to be done next anywhere else."""
        self.view = view
        return parts.foot(*self._answers(sides_open(view)), stacked=True)

    def _asked(self, asked: tuple[int, ...]) -> list[ft.Control]:
        """The question, and why it is asked."""
        t = self.app.t
        question = LN(
            "Cylinder {c}: which side wore?", "Cylinders {c}: which side wore?", len(asked), c=tuple(map(str, asked))
        )
        return [
            ft.Row(
                [
                    parts.sign(ft.Icons.HELP, INK),
                    parts.text(t(question), th.LARGE, bold=True, color=INK, expand=True),
                ]
            ),
            parts.text(t(L("A bore worn on one side needs a larger cut than its diameter shows.")), th.BODY, color=INK),
        ]

    def _answers(self, asked: tuple[int, ...]) -> list[ft.Button]:
        """A key for each answer, all alike: none is more right than the others."""
        t = self.app.t
        answers = [
            parts.button(t(c.label), self._say, data=c.value, height=HIGH, primary=True)
            for c in SIDE.choices
            if c.value in _FOR_ALL
        ]
        if len(asked) > 1:
            each = t(L("They differ: answer for each bore"))
            answers.append(parts.button(each, self._each, height=HIGH, primary=True))
        return [*answers, parts.button(t(L("Cannot tell")), self._unknown, height=HIGH, primary=True)]

    async def _say(self, e: Pressed) -> None:
        side: str = e.control.data
        if self.view is not None:
            cylinders = sides_open(self.view)
            await self.app.add(self.view, *[draft.chosen(SIDE, side, {"cylinder": c}) for c in cylinders])
        await self._answered()

    async def _unknown(self) -> None:
        """An answer like any other: what is reckoned stays as it is, and it is not asked again."""
        if self.view is not None:
            await self.app.add(self.view, draft.decision(SIDE, self.app.t(L("Cannot tell"))))
        await self._answered()
