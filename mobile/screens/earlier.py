"""Figures of an earlier job of the same engine, to be taken over with one press."""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from logic.places import place_name
from logic.say import LN, L, Qty
from store import earlier
from store.facts.taken import NOMINAL

from .. import parts
from .. import theme as th
from ..shell import Pressed, Screen

if TYPE_CHECKING:
    from store.view import View

#: At most so many earlier jobs are opened and shown: the latest.
MOST = 3


class Earlier(Screen):
    title = L("From an earlier job")

    async def load(self) -> None:
        self.id = self.found["id"]
        self.up = f"/job/{self.id}"
        self.view = await self.app.view(self.id)
        self.found_in: list[tuple[str, View, tuple[earlier.Figure, ...]]] = []
        engine = self.view.word("engine")
        for summary in await self.app.jobs.list("job"):
            if summary.id == self.id or summary.trouble is not None or not earlier.same_engine(engine, summary.engine):
                continue
            other = await self.app.view(summary.id)
            figures = earlier.takeable(self.view, other)
            if figures or earlier.nominal(self.view, other) is not None:
                self.found_in.append((summary.title, other, figures))
            if len(self.found_in) == MOST:
                break

    def body(self) -> list[ft.Control]:
        if not self.found_in:
            told = (
                L("No earlier job of this engine has figures that are missing here.")
                if self.view.word("engine")
                else L("Name the engine in the job's details: jobs of the same engine are found by it.")
            )
            return [parts.text(self.t(told), th.BODY)]
        out: list[ft.Control] = [
            parts.text(
                self.t(L("Figures taken over are marked, and count as not confirmed until you say so.")), th.BODY
            )
        ]
        for n, (title, other, figures) in enumerate(self.found_in):
            out.append(parts.heading(title))
            nominal = earlier.nominal(self.view, other)
            if nominal is not None:
                size = " = ".join(self.app.two(Qty(nominal.value, "size")))
                out.append(parts.text(self.t(L("Nominal bore: {bore}", bore=size)), th.BODY))
            out += [parts.text(self._line(f), th.BODY) for f in figures]
            label = LN("Take over {n} figure", "Take over {n} figures", len(figures) + (nominal is not None))
            out.append(
                parts.button(self.t(label), self._take, data=n, icon=ft.Icons.CONTENT_COPY, primary=n == 0, height=56)
            )
        return out

    def foot(self) -> ft.Control | None:
        if self.found_in:
            return None
        return parts.foot_button(self.t(L("Back to the job")), self.follow, ft.Icons.ARROW_BACK, data=self.up)

    def _line(self, figure: earlier.Figure) -> str:
        where = dict(figure.at)
        shown = figure.shown
        value = " = ".join(dict.fromkeys(self.app.two(shown))) if isinstance(shown, Qty) else self.t(shown)
        name = self.t(figure.field.label)
        return f"{name} ({self.t(place_name(where))}): {value}" if where else f"{name}: {value}"

    async def _take(self, e: Pressed) -> None:
        title, other, figures = self.found_in[e.control.data]
        nominal = earlier.nominal(self.view, other)
        if nominal is not None:
            await self.app.jobs.set_header(self.id, by=self.app.by, nominal=nominal)
            self.view = await self.app.view(self.id)
        also = () if nominal is None else (NOMINAL,)
        await self.app.add(self.view, *earlier.drafts(self.view, figures, title=title, also=also))
        await self.app.go(f"/job/{self.id}")
