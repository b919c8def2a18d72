"""The colours on show: the app's own, stronger ones, or those that the device forces.

A browser's forced colours do not reach a canvas, so the page reads them and the app takes them over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from . import manners
from . import theme as th

if TYPE_CHECKING:
    from store.jobs import Jobs

__all__ = ["dress"]


async def dress(page: ft.Page, jobs: Jobs, *, anew: bool = False) -> None:
    """Take what is set here (settings "theme" and "contrast") and on the device; ``anew`` where the device has changed."""
    asked = await manners.contrast(anew=anew)
    more = asked.more or await jobs.setting("contrast", "device") == "more"
    page.theme, page.dark_theme = th.themes(more=more, forced=asked.colours)
    page.theme_mode = ft.ThemeMode(await jobs.setting("theme", "system"))
