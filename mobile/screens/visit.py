"""The temperatures of a visit: one form for all steps."""

from __future__ import annotations

import flet as ft

from logic.say import L, Line
from store import visit as warm
from store.facts.visit import latest

from .desk import Slot
from .doubted import wanted
from .step import Step


class Visit(Step):
    """What is asked once a visit. Back leads to the step one came from."""

    leave = L("Done")
    leaves = ft.Icons.CHECK
    tells_undo = False

    async def load(self) -> None:
        self.id, self.name = self.found["id"], "visit"
        view = await self.app.view(self.id)
        number = (latest(view) or 0) + (1 if self.renews or latest(view) is None else 0)
        key, at = wanted.get(self.id, ("", ()))
        if key.startswith("visit."):
            number = int(dict(at)["visit"])
        self._open(view, warm.sheet(number))
        back = self.found.get("back")
        self.up = f"/job/{self.id}/{back}" if back else f"/job/{self.id}"

    renews = False

    def _asks(self, slot: Slot) -> Line:
        """The heading may lie above the pad's edge: what is asked for is said in full."""
        return L("Temperature: {what}", what=slot.field.label)

    async def shown(self) -> None:
        await super().shown()
        ask = self.desk.next_ask()
        if ask is not None and not self.desk.aimed:  # nothing else is there to do: the pad is open
            self._take(ask)
            self.redraw()
            self.pad.take_focus()
            await self._reveal(ask)
            self.app.page.run_task(self._reveal_late, ask)

    async def _look_round(self) -> None:
        """Temperatures are no step: nothing comes before or after them."""

    def _skip(self) -> list[ft.Control]:
        return []


class Renewed(Visit):
    """A new visit: the temperatures are taken afresh."""

    renews = True
