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
        await bridge.failed(f"{type(error).__name__}: {error}")
        raise
    await bridge.shown()


ft.run(start)
