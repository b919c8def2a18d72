"""The keys of the number pad, for a thumb and for a keyboard or a switch.

Whatever can hold the keyboard's focus is drawn twice more at each press: the browser moves the focus
to what is tapped. On a phone that doubles the time until the number stands there. So a thumb
gets keys that hold no focus; the first Tab puts buttons in their place, which do.
"""

from __future__ import annotations

import flet as ft

from . import parts
from . import theme as th

__all__ = ["Key", "key"]

#: What has a height and a face to be fitted.
Key = ft.Button | ft.Container


def key(
    face: ft.Text | ft.Icon, press: parts.Handler, name: str, *, strong: bool, focus: bool
) -> tuple[ft.Control, Key]:
    """A key, and what of it is given its height. ``focus``: whether the keyboard's focus can go to it."""
    ground, ink = ("primary", "onprimary") if strong else ("surfacecontainerhigh", "onsurface")
    if focus:
        button = ft.Button(
            content=face, on_click=press, data=name, expand=True, height=th.TOUCH, style=parts.style(ground, ink, pad=0)
        )
        return button, button
    face.color = ink
    drawn = ft.Container(
        face,
        bgcolor=ground,
        border_radius=th.ROUND,
        border=ft.Border.all(1.5, "outline") if th.Drawn.edged else None,
        alignment=ft.Alignment.CENTER,
        height=th.TOUCH,
        on_click=press,
        data=name,
    )
    return ft.Semantics(button=True, container=True, expand=True, content=drawn), drawn
