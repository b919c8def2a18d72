"""What is settled before the first reading of the worn bores, in one press each: the gauge's zero and the first depth."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

import flet as ft

from logic.fields import Number
from logic.say import L, Line, Qty
from logic.units import Entered
from store import draft
from store.facts.gauging import advised_first_mm, likely_zero_mm
from store.fields.bores import DEPTH, ZERO
from store.view import View

from .. import parts
from .. import theme as th
from ..shell import Pressed, Shell
from .doubted import wanted

__all__ = ["SetUp"]

#: What a press enters: the field, its place, and the value in mm.
Offer = tuple[Number, dict[str, int], float]


class SetUp:
    """Keys that enter what is likely. ``entered`` is told when one was stored."""

    def __init__(self, app: Shell, entered: Callable[[], Awaitable[None]]) -> None:
        self.app, self._entered = app, entered
        self.view: View | None = None

    def keys(self, view: View) -> list[ft.Control]:
        """A row for each thing to settle, none once the first reading is in."""
        self.view = view
        rows: list[ft.Control] = []
        zero, first = likely_zero_mm(view), advised_first_mm(view)
        if zero is not None:
            yes = self._key(L("Gauge zeroed at {size}", size=Qty(zero, ZERO.kind)), (ZERO, {}, zero), expand=3)
            other = parts.button(self.app.t(L("Another size")), self._other, expand=2, height=th.TOUCH)
            rows.append(parts.beside(yes, other, room=self.app.frame.room))
        if first is not None:
            said = L("First depth {depth}: just below the top of ring travel", depth=Qty(first, DEPTH.kind))
            rows.append(self._key(said, (DEPTH, {"depth": 1}, first)))
        return rows

    def _key(self, said: Line, offer: Offer, *, expand: int | None = None) -> ft.Button:
        return parts.button(self.app.t(said), self._take, data=offer, expand=expand, height=th.TOUCH)

    async def _take(self, e: Pressed) -> None:
        field, at, mm = e.control.data
        if self.view is not None:
            entered = Entered(text=f"{mm:g}", typed_unit="mm", value=mm, unit="mm")
            await self.app.add(self.view, draft.reading(field, at, entered))
        await self._entered()

    async def _other(self) -> None:
        """To where the zero is typed; that screen comes up asking for it."""
        if self.view is not None:
            wanted[self.view.id] = (ZERO.key, ())
            await self.app.go(f"/job/{self.view.id}/gauge")
