"""The small pieces screens are made of. They take words already said, and handlers."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

import flet as ft

from logic.result import Verdict

from . import measure
from . import theme as th

Handler = Callable[..., Any]

#: verdict -> (icon, ground, ink); the word beside it comes from the catalogue.
LOOK: dict[str, tuple[ft.IconData, str, str]] = {
    Verdict.GO: (ft.Icons.CHECK_CIRCLE, "tertiarycontainer", "ontertiarycontainer"),
    Verdict.MAYBE: (ft.Icons.HELP, "secondarycontainer", "onsecondarycontainer"),
    Verdict.STOP: (ft.Icons.DO_NOT_DISTURB_ON, "errorcontainer", "onerrorcontainer"),
    Verdict.INFO: (ft.Icons.INFO, "primarycontainer", "onprimarycontainer"),
}


#: What the edges of a card and of a key in it take of the column's width, in pixels.
_INSET = 52.0
#: Words of so many letters stand on any line.
_LONG = 9
#: A number and its degrees or percent stay on one line.
_APART = re.compile(r"(?<=\d) (?=[°%])")


def text(value: str, size: float = th.BODY, *, bold: bool = False, color: str = "onsurface", **more: Any) -> ft.Text:
    said = _APART.sub("\u202f", value)
    if said != value:
        more.setdefault("semantics_label", value)
    return ft.Text(said, size=unbroken(said, size), weight=ft.FontWeight.W_600 if bold else None, color=color, **more)


def unbroken(said: str, size: float, *, beside: float = 0.0) -> float:
    """The size to give a text in the column: large letters are set smaller where a word of it would be broken.

    ``beside`` is what of the line it does not have, in pixels.
    """
    eased = th.eased(size)
    room = th.held.room - _INSET - beside
    if th.held.scale <= 1.0 or not any(len(word) > _LONG for word in said.split()):
        return eased
    widest = max(measure.width(word, eased * th.held.scale) for word in measure.words(said))
    return eased if widest <= room else max(th.SMALL / th.held.scale, eased * room / widest)


def muted(value: str, size: float = th.SMALL, **more: Any) -> ft.Text:
    return text(value, size, color="onsurfacevariant", **more)


def upright(size: float, height: float = th.TOUCH) -> float:
    """Padding above and below one line of text that makes the key it stands on ``height`` high, and never less than 3."""
    return max(3.0, (height - 1.17 * th.eased(size) * th.held.scale) / 2)


def sign(name: ft.IconData, color: str | None = None, size: float = 24, *, spoken: str | None = None) -> ft.Icon:
    """An icon that grows with the text beside it."""
    return ft.Icon(name, color=color, size=th.icon(size), semantics_label=spoken)


def wide(value: str, size: float = th.BODY) -> float:
    """Width in pixels of one line of a text of this size, as the device draws it."""
    return measure.width(value, th.eased(size) * th.held.scale)


def apart(content: ft.Control) -> ft.Control:
    """What is drawn by itself, so that a change beside it does not draw it again: the toolkit has a repaint boundary
    only in its control for screenshots."""
    return ft.Screenshot(content)


def heading(value: str, level: int = 2) -> ft.Control:
    return ft.Semantics(content=text(value, th.LARGE, bold=True), header=True, heading_level=level)


#: ground -> ground while pressed
_PRESSED = {"primary": "onprimarycontainer", None: "surfacecontainerhighest"}


def style(bg: str | None, ink: str, *, side: str | None = None, pad: Any = None, align: Any = None) -> ft.ButtonStyle:
    """The look of one button. What all share is in the theme; here is what tells them apart, pressed and focused."""
    focus = ft.BorderSide(3, "secondary")
    edge = side or ("outline" if th.Drawn.edged else None)
    return ft.ButtonStyle(
        bgcolor={
            ft.ControlState.PRESSED: _PRESSED.get(bg, _PRESSED[None]),
            ft.ControlState.DEFAULT: bg or ft.Colors.TRANSPARENT,
        },
        color=ink,
        side={ft.ControlState.FOCUSED: focus, **({ft.ControlState.DEFAULT: ft.BorderSide(1.5, edge)} if edge else {})},
        padding=pad if pad is not None else ft.Padding.symmetric(horizontal=12, vertical=8),
        alignment=align,
        icon_size=th.icon(18),
    )


def scroll_key(key: str | None) -> ft.ScrollKey | None:
    """A key by which a control can be scrolled to. (Flet's dataclass takes its value from a base that hides it.)"""
    made: Callable[..., ft.ScrollKey] = ft.ScrollKey
    return made(key) if key else None


def button(
    label: str | ft.Control,
    on_click: Handler,
    *,
    icon: ft.IconData | None = None,
    primary: bool = False,
    spoken: str | None = None,
    expand: Any = None,
    height: int | None = None,
    disabled: bool = False,
    bg: str | None = None,
    ink: str | None = None,
    size: int = th.BODY,
    align: Any = None,
    pad: Any = None,
    data: Any = None,
    key: str | None = None,
) -> ft.Button:
    """A thing to press, at least 48 px high. ``spoken`` is what a screen reader says instead of the label."""
    if pad is None:
        # height comes from padding, so that larger text grows the button instead of being cut
        pad = ft.Padding.symmetric(horizontal=10, vertical=max(8.0, upright(size, height or th.TOUCH)))
    ground = bg or ("primary" if primary else "surfacecontainerhigh")
    colour = ink or ("onprimary" if primary else "onsurface")
    content: str | ft.Control = label
    if isinstance(label, str):
        content = ft.Text(
            _APART.sub("\u202f", label),
            size=unbroken(label, size, beside=0.0 if icon is None else th.icon(18) + 8),
            weight=ft.FontWeight.W_600,
            color=colour,
            semantics_label=spoken or (label if _APART.search(label) else None),
            # beside an icon a second line begins under the first
            text_align=ft.TextAlign.CENTER if icon is None else ft.TextAlign.START,
        )
    return ft.Button(
        content=content,
        icon=icon,
        on_click=on_click,
        expand=expand,
        disabled=disabled,
        data=data,
        key=scroll_key(key),
        style=style(ground, colour, align=align, pad=pad),
    )


def _icon(
    icon: ft.IconData, spoken: str, on_click: Handler, bg: str | None, width: int, data: Any = None
) -> ft.Control:
    kind = ft.Button if bg else ft.TextButton
    return kind(
        content=sign(icon, "onprimary" if bg == "primary" else "onsurface", 26, spoken=spoken),
        tooltip=ft.Tooltip(message=spoken, exclude_from_semantics=True, wait_duration=900),
        on_click=on_click,
        data=data,
        width=width,
        height=th.TOUCH,
        style=style(bg, "onsurface", pad=0),
    )


def icon_button(icon: ft.IconData, spoken: str, on_click: Handler, *, data: Any = None) -> ft.Control:
    """A bare icon to press, 48 px square, with its name for a screen reader and as a tooltip."""
    return _icon(icon, spoken, on_click, None, th.TOUCH, data)


def square(
    icon: ft.IconData,
    spoken: str,
    on_click: Handler,
    *,
    data: Any = None,
    width: int = 60,
    bg: str = "surfacecontainerhigh",
) -> ft.Control:
    """An icon to press with a ground of its own, in the shape of the other buttons."""
    return _icon(icon, spoken, on_click, bg, width, data)


def row_button(
    content: ft.Control,
    on_click: Handler,
    *,
    bg: str = "surfacecontainer",
    data: Any = None,
    key: str | None = None,
    lines: int = 1,
    expand: bool | None = None,
    pad: ft.Padding | None = None,
) -> ft.Button:
    """A whole row or cell that is pressed, at least 48 px high. ``lines`` of text it has at the least."""
    return ft.Button(
        content=content,
        on_click=on_click,
        data=data,
        expand=expand,
        key=scroll_key(key),
        style=style(
            bg,
            "onsurface",
            pad=pad or ft.Padding.symmetric(horizontal=12, vertical=max(8.0, upright(th.BODY)) if lines == 1 else 8),
            align=ft.Alignment.CENTER_LEFT,
        ),
    )


def choice(
    label: str, on_click: Handler, *, on: bool, data: Any, expand: bool | None = None, height: int | None = None
) -> ft.Button:
    """One of several things to choose from; the chosen one has a tick and a ground of its own."""
    return button(
        label,
        on_click,
        data=data,
        expand=expand,
        height=height,
        icon=ft.Icons.CHECK if on else None,
        bg="primarycontainer" if on else None,
        ink="onprimarycontainer" if on else None,
    )


def _said(one: ft.Button) -> tuple[str, float]:
    """The label of a button, and the size at which it is drawn."""
    label = one.content
    return (label.value, (label.size or th.BODY) * th.held.scale) if isinstance(label, ft.Text) else ("", 0.0)


def _margin(one: ft.Button) -> float:
    """What of a button's width its label cannot have."""
    return 20.0 + (th.icon(18) + 8 if one.icon is not None else 0)


def _shares(buttons: Sequence[ft.Button]) -> list[list[int]]:
    """Ways to share a row out: as the buttons ask for it, all alike, and by what each label needs."""
    needs = [round(measure.width(*_said(b)) + _margin(b)) for b in buttons]
    return [[int(b.expand or 1) for b in buttons], [1] * len(buttons), needs]


def beside(*buttons: ft.Button, room: float, rows: int = 2, gap: float = th.GAP) -> ft.Control:
    """Buttons side by side in ``room`` pixels where each label stands there whole, at best on one line; else stacked.

    A button's ``expand`` is the share of the row it asks for.
    """
    free = room - gap * (len(buttons) - 1)
    for most in (1, rows):
        for shares in _shares(buttons):
            rooms = [free * share / sum(shares) - _margin(b) for b, share in zip(buttons, shares, strict=True)]
            if all(measure.stands(*_said(b), have, rows=most) for b, have in zip(buttons, rooms, strict=True)):
                for b, share in zip(buttons, shares, strict=True):
                    b.expand = share
                return ft.Row(
                    list(buttons),
                    spacing=gap,
                    intrinsic_height=True,
                    vertical_alignment=ft.CrossAxisAlignment.STRETCH,
                )
    for b in buttons:
        b.expand = None
    return column(*buttons, spacing=gap)


def foot(*buttons: ft.Button, stacked: bool = False) -> ft.Control:
    """What stands at the bottom, in reach of the thumb: side by side, or ``stacked``, as where there is no room for that.

    Large letters are set smaller there rather than take the screen from what the foot is about.
    """
    room = th.held.foot - 2 * th.EDGE
    if th.held.scale > 1.0 and not stacked:
        for b in buttons:
            shrink(b, room)
    if stacked:
        alike(*buttons, room=room)
        content: ft.Control = column(*buttons)
    elif len(buttons) == 1:
        buttons[0].expand = True
        content = ft.Row(list(buttons))
    else:
        content = beside(*buttons, room=room)
    return ft.Container(padding=ft.Padding.symmetric(horizontal=th.EDGE, vertical=8), content=content)


def alike(*buttons: ft.Button, room: float) -> None:
    """Keys that answer one question, each on a line ``room`` pixels wide where it can be: their labels are set in one size."""
    for b in buttons:
        shrink(b, room, one_line=True)
    labels = [b.content for b in buttons if isinstance(b.content, ft.Text)]
    least = min((float(one.size or th.BODY) for one in labels), default=0.0)
    for one in labels:
        one.size = least
    for b in buttons:
        _keep_high(b)


#: How high a key stays whose label was set smaller, in pixels.
_STAYS = 52.0


def _keep_high(one: ft.Button) -> None:
    """See that a key is no lower for its label's being smaller."""
    label, style = one.content, one.style
    pad = style.padding if style is not None else None
    if style is None or not isinstance(pad, ft.Padding) or not isinstance(label, ft.Text):
        return
    above = max(pad.top, (_STAYS - 1.17 * float(label.size or th.BODY) * th.held.scale) / 2)
    style.padding = ft.Padding(left=pad.left, right=pad.right, top=above, bottom=above)


def shrink(one: ft.Button, room: float, *, one_line: bool = False) -> None:
    """Set a key's label smaller in large letters, so that it takes two lines at most; ``one_line``: one, where it can.

    The key stays as high as one with a label that was not set smaller.
    """
    label = one.content
    if not isinstance(label, ft.Text):
        return
    most, free, scale = float(label.size or th.BODY), room - _margin(one), th.held.scale
    for rows in (1, 2) if one_line else (2,):
        label.size = measure.fitted(label.value, free, most=most, least=most / scale**0.6, scale=scale, rows=rows)
        if measure.stands(label.value, label.size * scale, free, rows=rows):
            break
    _keep_high(one)


def foot_button(label: str, on_click: Handler, icon: ft.IconData, *, data: Any = None) -> ft.Control:
    """A foot that is the one thing to do next."""
    return foot(
        button(label, on_click, data=data, icon=icon, primary=True, expand=True, height=56, size=th.LARGE),
    )


def column(*controls: ft.Control, spacing: float = th.GAP) -> ft.Column:
    """Controls one under the other, each as wide as there is room."""
    return ft.Column(list(controls), spacing=spacing, horizontal_alignment=ft.CrossAxisAlignment.STRETCH)


def tick(label: str, on_change: Handler, *, value: bool, width: float) -> ft.Control:
    """A thing that is on or off, ``width`` wide. The label's padding makes it as high as everything else that is pressed."""
    words = ft.Container(text(label, th.BODY), width=width - 48, padding=ft.Padding.only(left=4, top=15, bottom=15))
    return ft.Checkbox(label=words, value=value, on_change=on_change)


def card(*controls: ft.Control, bg: str = "surfacecontainer", spacing: int = th.GAP) -> ft.Control:
    return ft.Container(
        content=ft.Column(list(controls), spacing=spacing, horizontal_alignment=ft.CrossAxisAlignment.STRETCH),
        bgcolor=bg,
        border=edge(),
        border_radius=th.ROUND,
        padding=th.EDGE,
    )


def edge() -> ft.Border | None:
    """The line round what stands apart, where more contrast is asked for."""
    return ft.Border.all(1.5, "outline") if th.Drawn.edged else None


class Strip:
    """A verdict: icon, word, and the one sentence in the largest type. :meth:`show` changes what differs and no more.

    What is no verdict has its icon beside the sentence, and the word only for a screen reader.
    """

    def __init__(self) -> None:
        self.icon = sign(ft.Icons.INFO, size=28)
        self.word = text("", th.BODY, bold=True, expand=True)
        self.sure = text("", th.BODY, bold=True)
        self.line = text("", bold=True, expand=True)
        self.beside = sign(ft.Icons.INFO, size=28)
        self.head = ft.Row([self.icon, self.word, self.sure], spacing=8)
        row = ft.Row([self.beside, self.line], spacing=8, vertical_alignment=ft.CrossAxisAlignment.START)
        self.ground = ft.Container(
            border=edge(),
            border_radius=th.ROUND,
            padding=ft.Padding.symmetric(horizontal=14, vertical=10),
            content=ft.Column([self.head, row], spacing=4),
        )
        self.control = ft.Semantics(container=True, live_region=True, content=self.ground)

    def show(self, verdict: str, word: str, line: str, *, size: int = th.VERDICT, sure: str = "") -> ft.Control:
        self.icon.icon, self.ground.bgcolor, ink = LOOK[verdict]
        self.icon.color = self.word.color = self.sure.color = self.line.color = self.beside.color = ink
        plain = verdict == Verdict.INFO and not sure
        self.head.visible, self.beside.visible = not plain, plain
        self.beside.icon, self.beside.semantics_label = self.icon.icon, word
        self.word.value, self.sure.value, self.sure.visible = word, sure, bool(sure)
        self.line.value, self.line.size = line, unbroken(line, size)
        return self.control


def strip(verdict: str, word: str, line: str, *, size: int = th.VERDICT, sure: str = "") -> ft.Control:
    """A verdict that stands as long as its screen does."""
    return Strip().show(verdict, word, line, size=size, sure=sure)


def notice(value: str, *, bad: bool = False) -> ft.Control:
    """A sentence beside a field: what was expected. A ``bad`` one is announced."""
    if not value:
        return ft.Container(height=0)
    row = ft.Row(
        [
            sign(ft.Icons.ERROR if bad else ft.Icons.INFO_OUTLINE, "error" if bad else "onsurfacevariant", 20),
            text(value, th.SMALL, bold=bad, color="error" if bad else "onsurfacevariant", expand=True),
        ],
        spacing=6,
        vertical_alignment=ft.CrossAxisAlignment.START,
    )
    return ft.Semantics(container=True, live_region=True, content=row) if bad else row


def told(
    label: str,
    value: ft.Control,
    needs: float,
    room: float,
    *,
    size: float = th.BODY,
    bold: bool = False,
    after: ft.Control | None = None,
) -> ft.Control:
    """A name and what it is, side by side in ``room`` pixels; where the name finds no place there, it stands above.

    ``needs`` is the width of the value, ``after`` a sign at the end of the row.
    """
    end = th.icon(20) + 8 if after is not None else 0.0
    free = room - needs - 8 - end
    drawn = th.eased(size) * th.held.scale
    signs = [after] if after is not None else []
    name = text(label, size, bold=bold)
    if measure.stands(label, drawn, free, rows=3):
        name.expand = True
        return ft.Row([name, value, *signs], spacing=8)
    above = ft.Column([name, ft.Row([value], alignment=ft.MainAxisAlignment.END)], spacing=2, tight=True, expand=True)
    return ft.Row([above, *signs], spacing=8)


def two(large: str, small: str, *, size: int = th.TITLE, color: str = "onsurface", end: bool = False) -> ft.Control:
    """A figure in the person's units with the other system small beneath."""
    across = ft.CrossAxisAlignment.END if end else ft.CrossAxisAlignment.START
    return ft.Column(
        [
            text(large, size, bold=True, color=color, no_wrap=True),
            *(
                [text(small, th.SMALL, color=color if color != "onsurface" else "onsurfacevariant", no_wrap=True)]
                if small and small != large
                else []
            ),
        ],
        spacing=0,
        horizontal_alignment=across,
        tight=True,
    )
