"""What the browser runs: nothing but the hand-over, so that the first screen comes soon."""

import inspect

import flet as ft

from mobile import app, bridge


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


ft.run(start)
