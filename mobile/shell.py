"""What a screen is, and what it is given: the app as screens see it.

Screens import this module and never the app, which finds them by name in
:mod:`mobile.routes`. So no screen can reach what the app keeps to itself, and a test
can put another shell round a screen.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Coroutine, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Protocol

import flet as ft

from logic.say import L, Line, Qty, Style

if TYPE_CHECKING:
    from logic.job_record import JobRecord
    from store.documents import Entry
    from store.jobs import Jobs
    from store.view import View

    from .bridge import Offline
    from .manners import Hands, Keeping

__all__ = ["Body", "Page", "Pressed", "Screen", "Shell", "Sizes", "Ticked", "TypedIn", "now_ms"]

#: Something was pressed; its ``data`` says what.
Pressed = ft.Event[ft.Button]
#: Something was typed into a field.
TypedIn = ft.Event[ft.TextField]
#: Something was turned on or off.
Ticked = ft.Event[ft.Checkbox]
#: A screen's content: one list of controls, or two halves.
Body = Sequence[ft.Control] | tuple[Sequence[ft.Control], Sequence[ft.Control]]


class Page(Protocol):
    """What is used of Flet's page."""

    theme_mode: ft.ThemeMode | None

    def run_task(self, handler: Callable[..., Coroutine[Any, Any, Any]], *args: Any) -> Any: ...


class Sizes(Protocol):
    """How much room there is, and how large the device's text is."""

    scale: float  #: the device's own text scale
    low: bool  #: a phone on its side
    room: float  #: width of the column in which the content is laid out, in logical pixels
    foot_width: float  #: width of the foot, in logical pixels
    beside_wanted: bool  #: a foot, where there is one, stands beside the content
    halved: bool  #: two halves stand side by side

    @property
    def large(self) -> bool: ...


class TakesReadings(Protocol):
    """The number pad, as far as a gauge that types needs it."""

    async def gauge(self, text: str = "", unit: str = "") -> None: ...


class Shell(Protocol):
    """The app, as far as screens and what they are made of may use it."""

    style: Style
    by: str
    quick: dict[str, Any]
    offline: Offline | None
    hands: Hands
    keeping: Keeping | None
    update_waiting: bool
    unstored: Line | None
    by_keys: bool
    cards: dict[str, View]
    views: dict[str, View]

    @property
    def page(self) -> Page: ...
    @property
    def jobs(self) -> Jobs: ...
    @property
    def frame(self) -> Sizes: ...
    @property
    def screen(self) -> Screen | None: ...
    @property
    def middle(self) -> ft.Column: ...
    @property
    def width(self) -> float: ...
    @property
    def height(self) -> float: ...
    @property
    def room(self) -> float: ...

    def t(self, line: Line | str) -> str: ...
    def two(self, q: Qty) -> tuple[str, str]: ...
    def fill(self, screen: Screen) -> None: ...
    def update(self, *controls: ft.Control) -> None: ...
    def toast(self, line: Line | str, *, bad: bool = False) -> None: ...
    def picker(self) -> ft.FilePicker: ...
    def forget(self, id: str | None = None) -> None: ...
    async def go(self, route: str) -> None: ...
    async def dress(self, *, anew: bool = False) -> None: ...
    async def view(self, id: str) -> View: ...
    async def records(self, card: str) -> tuple[JobRecord, ...]: ...
    def ahead(self, view: View, *drafts: Entry) -> tuple[Entry, ...]: ...
    async def add(self, view: View, *drafts: Entry) -> tuple[Entry, ...]: ...


class Screen:
    """One screen. Subclasses set ``title`` and ``up`` in :meth:`load` and give :meth:`body`.

    Where ``halves`` is set, the body is two lists of controls; they stand side by side
    where there is room. ``typing`` says that the foot is the pad.
    """

    title: Line = L("Boreside")
    up: str | None = None
    halves = False

    def __init__(self, app: Shell, **found: str) -> None:
        self.app = app
        self.found = found

    @property
    def asking(self) -> bool:
        """Whether the foot holds a question with several answers: on its side a phone gives it more width."""
        return False

    @property
    def typing(self) -> bool:
        return False

    @property
    def pad_open(self) -> TakesReadings | None:
        """The number pad, while it asks for something."""
        pad: TakesReadings | None = getattr(self, "pad", None)
        return pad if self.typing else None

    @property
    def document_shown(self) -> View | None:
        """The job or card on show, which follows what other tabs store; None where there is no one such."""
        return None

    async def load(self) -> None:
        """Fetch what the screen shows. Raises KeyError where the route names nothing stored."""

    def body(self) -> Body:
        raise NotImplementedError

    def foot(self) -> ft.Control | None:
        """What stays at the bottom, in reach of the thumb."""
        return None

    async def shown(self) -> None:
        """Called once the screen is on the page."""

    async def in_view(self) -> None:
        """Called once the device was turned: scroll to what matters now."""

    async def scroll_to(self, key: str) -> None:
        """Bring what has this key into view. That is a convenience: it may be gone again."""
        with suppress(Exception):
            await self.app.middle.scroll_to(scroll_key=key, duration=0)

    async def renewed(self) -> None:
        """What is stored changed under this screen: another tab was at work. The document shown is up to date already."""

    def news(self) -> None:
        """Something about the app itself changed. Only what shows it may be drawn again: a finger may be on the rest."""

    async def key(self, key: str) -> None:
        """A key of a real keyboard."""

    def t(self, line: Line | str) -> str:
        return self.app.t(line)

    def redraw(self) -> None:
        """Build body and foot again and send the difference."""
        self.app.fill(self)

    async def follow(self, e: Pressed) -> None:
        """Go to the route that what was pressed carries."""
        await self.app.go(str(e.control.data))


def now_ms() -> int:
    """The device's clock, in milliseconds."""
    return int(time.time() * 1000)
