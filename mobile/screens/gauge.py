"""What the readings of the worn bores rest on: wear side, gauge, depths, pictures. The readings have a screen of their own."""

from __future__ import annotations

from logic.say import L
from store.sheets import bores

from .step import Step


class Gauge(Step):
    apart = frozenset((bores.READING.key,))

    async def load(self) -> None:
        self.found["step"] = bores.SHEET.key
        await super().load()
        self.up = f"/job/{self.id}/bores"
        self.title = L("About the bores")
