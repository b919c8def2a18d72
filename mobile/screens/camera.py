"""Photos by the device's camera, straight into the log of a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

import flet as ft

from logic.say import L
from store import draft
from store.errors import Refused

from .. import manners, parts
from ..photos import shrink
from ..shell import Shell

if TYPE_CHECKING:
    from store.view import View

__all__ = ["keep_photo", "shoot_into", "shoot_key"]


def shoot_key(app: Shell, on_click: parts.Handler) -> list[ft.Control]:
    """The key that opens the camera, where the device has one for it."""
    if not app.hands.able.camera:
        return []
    return [parts.button(app.t(L("Take a photo into the log")), on_click, icon=ft.Icons.PHOTO_CAMERA_OUTLINED)]


async def shoot_into(app: Shell, view: View, caption: str = "") -> tuple[str, str, bytes] | None:
    """Photograph and keep it: (digest, media type, bytes); None where no photo was taken or it could not be kept, which is said."""
    data = await manners.shoot()
    return await keep_photo(app, view, data, caption) if data else None


async def keep_photo(app: Shell, view: View, picture: bytes, caption: str = "") -> tuple[str, str, bytes] | None:
    """Make a picture small and keep it in the log: (digest, media type, bytes); None where that cannot be, which is said."""
    try:
        data, media = await shrink(picture)
        digest = await app.jobs.put_photo(data, media)
        await app.add(view, draft.photo(digest, media, len(data), caption=caption.strip()[:200]))
    except Refused as no:
        app.toast(no.line, bad=True)
        return None
    return digest, media, data
