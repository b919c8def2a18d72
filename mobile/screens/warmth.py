"""How warm things are, as every step that reckons with it shows it: in one row, or as a question once it is old."""

from __future__ import annotations

import time

import flet as ft

from logic.say import L
from store import draft
from store import visit as warm
from store.sheets import sheet
from store.view import View

from .. import parts
from .. import theme as th
from ..shell import Shell, now_ms
from .words import when

INK = "onsecondarycontainer"


def _offset_minutes(ms: int) -> int:
    """This device's clock ahead of UTC."""
    return int(time.localtime(ms / 1000).tm_gmtoff // 60)


def temperatures(
    app: Shell, view: View, step: str, *, go: parts.Handler, kept: parts.Handler
) -> tuple[list[ft.Control], bool]:
    """How warm it is, in one row; where that is old, a card that asks: renew or keep.

    ``go`` gets a route in ``data``. Also gives whether it asks.
    """
    if step not in warm.USED_IN:
        return [], False
    t, route = app.t, f"/job/{view.id}/visit/{step}"
    now = now_ms()
    found = warm.warmth(view, now, offset_minutes=_offset_minutes(now))
    if found is None:
        said = t(L("Temperatures: not measured, 20 °C is assumed"))
        if any(view.all(f.key) for f in sheet(step).fields.values() if f.kind == "temperature"):
            said = t(L("Temperatures: as entered in this step"))
        return [parts.button(said, go, data=route, icon=ft.Icons.THERMOSTAT)], False
    if not found.old:
        said = t(L("Block {temperature}, measured {when}", temperature=found.block, when=when(found.since_ms)))
        return [parts.button(said, go, data=route, icon=ft.Icons.THERMOSTAT)], False
    asked = t(
        L("Block {temperature} was measured {when}. Still so?", temperature=found.block, when=when(found.since_ms))
    )
    return [
        parts.card(
            ft.Row(
                [parts.sign(ft.Icons.THERMOSTAT, INK), parts.text(asked, th.BODY, bold=True, color=INK, expand=True)]
            ),
            parts.beside(
                parts.button(t(L("Renew")), go, data=f"/job/{view.id}/renew/{step}", primary=True, height=56),
                parts.button(t(L("Keep")), kept, height=56),
                room=app.room,
            ),
            bg="secondarycontainer",
        )
    ], True


async def keep(app: Shell, view: View) -> None:
    """Older temperatures still hold: that is a decision, and stays in the log."""
    await app.add(view, draft.decision(warm.KEEP, app.t(L("Temperatures kept"))))
