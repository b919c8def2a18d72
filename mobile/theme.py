"""Colours, sizes and shapes, in one place.

The light theme is for the sun: black on white, marking-blue for what can be
pressed. Every text colour reaches 7:1 on the ground it is used on (WCAG 2.2,
level AAA); a test computes it from these tables.
"""

from __future__ import annotations

from collections.abc import Mapping

import flet as ft

LIGHT = {
    "surface": "#FFFFFF",
    "on_surface": "#0E1216",
    "on_surface_variant": "#39424B",
    "surface_container": "#EEF1F4",
    "surface_container_high": "#E1E6EB",
    "surface_container_highest": "#D8DFE6",
    "primary": "#0A3D7A",
    "on_primary": "#FFFFFF",
    "primary_container": "#D9E6F7",
    "on_primary_container": "#062B57",
    "tertiary": "#0B4F2A",
    "on_tertiary": "#FFFFFF",
    "tertiary_container": "#DAF0E1",
    "on_tertiary_container": "#083D20",
    "secondary": "#623900",
    "on_secondary": "#FFFFFF",
    "secondary_container": "#FBE7C6",
    "on_secondary_container": "#472900",
    "error": "#8C1013",
    "on_error": "#FFFFFF",
    "error_container": "#FBDEDC",
    "on_error_container": "#670A0D",
    "outline": "#5A646E",
    "outline_variant": "#B7C0C9",
    "inverse_surface": "#20272E",
    "on_inverse_surface": "#FFFFFF",
}

DARK = {
    "surface": "#0F1317",
    "on_surface": "#F3F5F7",
    "on_surface_variant": "#C6CED6",
    "surface_container": "#1A2026",
    "surface_container_high": "#262E36",
    "surface_container_highest": "#2A333B",
    "primary": "#A8CBFF",
    "on_primary": "#06264D",
    "primary_container": "#15345D",
    "on_primary_container": "#DEEBFF",
    "tertiary": "#9BE0B4",
    "on_tertiary": "#06361B",
    "tertiary_container": "#11381E",
    "on_tertiary_container": "#D0F4DC",
    "secondary": "#FFCF87",
    "on_secondary": "#3A2600",
    "secondary_container": "#40300F",
    "on_secondary_container": "#FFE7C2",
    "error": "#FFB3AE",
    "on_error": "#56090D",
    "error_container": "#501416",
    "on_error_container": "#FFDCD9",
    "outline": "#98A3AE",
    "outline_variant": "#46515C",
    "inverse_surface": "#E6EAEE",
    "on_inverse_surface": "#14191E",
}

#: For who asks for more contrast: text at 12:1 and more, edges round whatever is pressed or stands apart (``Drawn.edged``).
MORE_LIGHT = {
    **dict.fromkeys(LIGHT, "#FFFFFF"),
    "on_surface": "#000000",
    "on_surface_variant": "#141414",
    "surface_container_high": "#F4F4F4",
    "surface_container_highest": "#DADADA",
    "primary": "#00204A",
    "primary_container": "#E3ECFF",
    "on_primary_container": "#001533",
    "tertiary": "#00290F",
    "tertiary_container": "#E2F6E8",
    "on_tertiary_container": "#002009",
    "secondary": "#301A00",
    "secondary_container": "#FFF0D6",
    "on_secondary_container": "#2A1600",
    "error": "#4A0004",
    "error_container": "#FFE4E2",
    "on_error_container": "#3D0003",
    "outline": "#000000",
    "outline_variant": "#C8C8C8",
    "inverse_surface": "#000000",
}

MORE_DARK = {
    **dict.fromkeys(DARK, "#000000"),
    "on_surface": "#FFFFFF",
    "on_surface_variant": "#F2F2F2",
    "surface_container_high": "#141414",
    "surface_container_highest": "#262626",
    "primary": "#D6E6FF",
    "primary_container": "#001B3F",
    "on_primary_container": "#EEF5FF",
    "tertiary": "#C4F5D3",
    "tertiary_container": "#00230D",
    "on_tertiary_container": "#E6FBEC",
    "secondary": "#FFE3B8",
    "secondary_container": "#2A1800",
    "on_secondary_container": "#FFF3DF",
    "error": "#FFD9D6",
    "error_container": "#350003",
    "on_error_container": "#FFEDEB",
    "outline": "#FFFFFF",
    "outline_variant": "#303030",
    "inverse_surface": "#FFFFFF",
}


class Drawn:
    """What else than colours is drawn now. ``edged``: a line round what is pressed and what stands apart."""

    edged = False


#: (text role, ground role): every pair in which text is drawn.
TEXT_ON = (
    ("on_surface", "surface"),
    ("on_surface_variant", "surface"),
    ("on_surface", "surface_container"),
    ("on_surface_variant", "surface_container"),
    ("on_surface", "surface_container_high"),
    ("on_surface_variant", "surface_container_high"),
    # a pressed button, whatever its own ground
    ("on_surface", "surface_container_highest"),
    ("on_surface_variant", "surface_container_highest"),
    ("on_primary_container", "surface_container_highest"),
    ("on_tertiary_container", "surface_container_highest"),
    ("on_secondary_container", "surface_container_highest"),
    ("on_error_container", "surface_container_highest"),
    ("on_primary", "on_primary_container"),
    # the row that is next, the field that is typed into
    ("on_surface", "primary_container"),
    ("on_surface_variant", "primary_container"),
    ("primary", "primary_container"),
    # words of a step's state
    ("tertiary", "surface_container"),
    ("secondary", "surface_container"),
    ("secondary", "primary_container"),
    # labels in pictures, over the band and over the metal
    ("on_surface", "tertiary_container"),
    ("on_surface_variant", "tertiary_container"),
    ("on_surface", "outline_variant"),
    ("primary", "surface"),
    ("primary", "surface_container"),
    ("on_primary", "primary"),
    ("on_primary_container", "primary_container"),
    ("tertiary", "surface"),
    ("on_tertiary_container", "tertiary_container"),
    ("secondary", "surface"),
    ("on_secondary_container", "secondary_container"),
    ("error", "surface"),
    ("error", "surface_container"),
    ("on_error_container", "error_container"),
    ("on_inverse_surface", "inverse_surface"),
)

#: The one text font. A text style that does not name it makes the browser look for others.
FONT = "Roboto"
#: Text sizes in logical pixels; the device's own text scale multiplies them.
SMALL, BODY, LARGE, TITLE, VERDICT, KEY = 14, 16, 18, 20, 24, 24
#: Least height of anything that is pressed.
TOUCH = 48
#: Seconds that a short message stays, and one that something went wrong.
SAID_S, FAULT_S = 3, 6
GAP = 8
EDGE = 12
ROUND = 6


class Held:
    """How the device is held and set. The frame brings it up to date before a screen is laid out."""

    scale = 1.0  #: the device's own text scale
    foot = 390.0  #: width of the foot, in logical pixels
    room = 366.0  #: width of the column in which the content is laid out, in logical pixels


held = Held()


def eased(size: float) -> float:
    """The size to give a text so that large type grows less than running text with the device's text scale.

    Running text grows in full. What is larger than that keeps its lead in pixels, so that at
    200 % a verdict still fits the screen (24 is drawn 40 high, not 48).
    """
    if size <= BODY or held.scale <= 1.0:
        return size
    return (BODY * held.scale + size - BODY) / held.scale


def icon(size: float) -> float:
    """How large an icon is drawn beside text of the device's scale."""
    return round(size * min(1.4, max(1.0, held.scale)))


def _theme(colours: dict[str, str]) -> ft.Theme:
    return ft.Theme(
        font_family=FONT,
        color_scheme=ft.ColorScheme(**colours, surface_tint=colours["surface"]),
        scaffold_bgcolor=colours["surface"],
        visual_density=ft.VisualDensity.STANDARD,
        button_theme=ft.ButtonTheme(style=button_style()),
        text_button_theme=ft.TextButtonTheme(style=button_style()),
    )


def button_style() -> ft.ButtonStyle:
    """What all buttons share. Nothing moves: a pressed button takes another ground at once (see ``parts.style``)."""
    return ft.ButtonStyle(
        elevation=0,
        shadow_color=ft.Colors.TRANSPARENT,
        overlay_color=ft.Colors.TRANSPARENT,
        shape=ft.RoundedRectangleBorder(radius=ROUND),
        text_style=ft.TextStyle(size=BODY, weight=ft.FontWeight.W_600, font_family=FONT),
        animation_duration=0,
        visual_density=ft.VisualDensity.STANDARD,
    )


def in_forced(colours: Mapping[str, str]) -> dict[str, str]:
    """The roles in the colours that a device forces: its "ground" and "ink", and those of what is "chosen"."""
    ground, ink = colours["ground"], colours["ink"]
    chosen, on_chosen = colours.get("chosen", ink), colours.get("on_chosen", ground)
    roles = {role: ink if role.startswith("on_") else ground for role in LIGHT}
    marks = dict.fromkeys(("tertiary", "secondary", "error", "outline", "inverse_surface"), ink)
    on_marks = dict.fromkeys(("on_tertiary", "on_secondary", "on_error", "on_inverse_surface"), ground)
    return {**roles, **marks, **on_marks, "primary": chosen, "on_primary": on_chosen}


def themes(*, more: bool = False, forced: Mapping[str, str] | None = None) -> tuple[ft.Theme, ft.Theme]:
    """The light and the dark theme: the app's own, with ``more`` contrast, or in the colours a device has ``forced``."""
    Drawn.edged = more or bool(forced)
    if forced:
        one = _theme(in_forced(forced))
        return one, one
    return (_theme(MORE_LIGHT), _theme(MORE_DARK)) if more else (light(), dark())


def light() -> ft.Theme:
    return _theme(LIGHT)


def dark() -> ft.Theme:
    return _theme(DARK)
