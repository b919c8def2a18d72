"""What the browser runs first. Python is ready well before the drawing engine asks for
the first screen, so the waiting time is used for what that screen will need."""

import asyncio
import importlib
import inspect
import sys

import flet as ft

from mobile import app, bridge

#: Imported while the drawing engine still starts, in this order; the engine's call comes first.
AHEAD = (
    "mobile.theme",
    "store.jobs",
    "store.browser",
    "flet.components.component",
    "flet.controls.material.textfield",
    "flet.controls.material.button",
    "flet.controls.material.text_button",
    "flet.controls.core.autofill_group",
    "flet.controls.core.semantics",
    "flet.controls.core.safe_area",
    "flet.controls.core.stack",
    "flet.controls.core.icon",
    "flet.controls.core.row",
    "flet.controls.core.column",
    "flet.controls.material.container",
    "flet.controls.events",
    "mobile.pad",
    "mobile.screens.home",
    "mobile.screens.words",
    "logic.oversize",
    "boreside_js",
)
#: What the screens after the first need.
NEXT = (
    "flet.app",
    "store.flow",
    "store.sheets.oversize",
    "mobile.pictures",
    "mobile.screens.job",
    "mobile.screens.grid",
    "mobile.screens.step",
    "mobile.screens.intake",
    "mobile.screens.files",
    "mobile.screens.more",
    "mobile.glimpse",
)


def bring(name: str) -> None:
    module = importlib.import_module(name)
    if name == "mobile.theme":
        module.light(), module.dark()  # brings in the parts of Flet that a theme is made of


async def get_ready() -> str:
    """Import everything the first screens need, for the memory that is kept for the next start; the files that are in it."""
    importlib.import_module("flet.messaging.pyodide_connection")
    for name in (*AHEAD, *NEXT):
        bring(name)
    importlib.import_module("logic.units").convert(1.0, "in", "mm")  # builds the registry of units
    words = importlib.import_module("logic.words")
    for code in words.LANGUAGES:
        words.catalogue(code)  # a start in another language then reads no catalogue
    await importlib.import_module("mobile.rehearsal").rehearse()
    # this module is run anew at each start, from its file
    named = (str(getattr(module, "__file__", None)) for name, module in list(sys.modules.items()) if name != __name__)
    return "\n".join(sorted({path for path in named if path.startswith("/app/") and path.endswith(".pyc")}))


async def ahead() -> None:
    for name in AHEAD:
        bring(name)
        await asyncio.sleep(0)
        if name == "store.browser":
            app.open_ahead()


async def start(page: ft.Page) -> None:
    try:
        done = app.main(page)
        if inspect.isawaitable(done):
            await done
    except Exception as error:
        # what the store says is a sentence for the person; anything else is named
        await bridge.failed(str(error) if hasattr(error, "line") else f"{type(error).__name__}: {error}")
        raise
    await bridge.shown()


if __name__ == "__main__":
    ft.run(start)
    warming = asyncio.get_event_loop().create_task(ahead())
