"""The app: one page, one screen at a time, and the log behind it.

``main(page)`` is handed to Flet. :class:`App` owns what all screens share: the
store, the person's style, the way from a route to a screen, and the one place
where entries are appended, so that "saved" always means durable.
"""

from __future__ import annotations

import asyncio
import re
import sys
import time
import traceback
from importlib import import_module
from typing import Any

import flet as ft

from logic.say import L, Line, Qty, Style, pair, say
from store.errors import Refused

from . import parts
from . import theme as th
from .frame import Frame

ft.context.disable_auto_update()

#: route pattern -> "module:Class" in mobile.screens, imported when first shown
ROUTES = (
    (r"/", "home:Home"),
    (r"/new", "intake:Intake"),
    (r"/more", "more:More"),
    (r"/terms", "terms:Terms"),
    (r"/tour", "tour:Tour"),
    (r"/files", "files:Files"),
    (r"/kit", "kit:Kit"),
    (r"/kit/(?P<id>[0-9a-z]+)", "kit:Card"),
    (r"/job/(?P<id>[0-9a-z]+)", "job:Job"),
    (r"/job/(?P<id>[0-9a-z]+)/details", "intake:Intake"),
    (r"/job/(?P<id>[0-9a-z]+)/log", "log:Log"),
    (r"/job/(?P<id>[0-9a-z]+)/report", "report:Report"),
    (r"/job/(?P<id>[0-9a-z]+)/bores", "grid:Grid"),
    (r"/job/(?P<id>[0-9a-z]+)/(?P<step>[a-z]+)", "step:Step"),
)


class Screen:
    """One screen. Subclasses set ``title`` and ``up`` in :meth:`load` and give :meth:`body`.

    Where ``halves`` is set, the body is two lists of controls; they stand side by side
    where there is room. ``typing`` says that the foot is the pad.
    """

    title: Line = L("Boreside")
    up: str | None = None
    halves = False
    typing = False

    def __init__(self, app: App, **found: str) -> None:
        self.app = app
        self.found = found

    async def load(self) -> None:
        """Fetch what the screen shows. Raises KeyError where the route names nothing stored."""

    def body(self) -> Any:
        raise NotImplementedError

    def foot(self) -> ft.Control | None:
        """What stays at the bottom, in reach of the thumb."""
        return None

    async def shown(self) -> None:
        """Called once the screen is on the page."""

    async def renewed(self) -> None:
        """What is stored changed under this screen: another tab was at work. A ``view`` it has is up to date already."""

    def news(self) -> None:
        """Something about the app itself changed. Only what shows it may be drawn again: a finger may be on the rest."""

    async def key(self, key: str) -> None:
        """A key of a real keyboard."""

    def t(self, line: Line | str) -> str:
        return self.app.t(line)

    def redraw(self) -> None:
        """Build body and foot again and send the difference."""
        self.app.fill(self)


class Trouble(Screen):
    """Stands in for a screen that could not be made, or whose log the store will not give out."""

    title = L("Trouble")
    up = "/"

    def __init__(self, app: App, problem: Exception) -> None:
        super().__init__(app)
        self.problem = problem

    def body(self) -> list[ft.Control]:
        if isinstance(self.problem, Refused):
            return [
                parts.strip("stop", self.t(L("The jobs cannot be reached")), self.t(self.problem.line), size=th.LARGE),
                parts.button(self.t(L("Load the app again")), self._again, primary=True, height=56),
            ]
        return [
            parts.strip(
                "stop",
                self.t(L("This screen failed")),
                self.t(
                    L("Everything shown as saved is still here. Save all jobs to a file, then go back and try again.")
                ),
                size=th.LARGE,
            ),
            parts.button(self.t(L("Files")), self._files, primary=True, height=56),
            parts.muted(f"{type(self.problem).__name__}: {self.problem}"),
        ]

    async def _files(self, e: Any) -> None:
        await self.app.go("/files")

    async def _again(self, e: Any) -> None:
        from . import bridge

        await bridge.reload()


class App:
    def __init__(self, page: ft.Page) -> None:
        self.page = page
        self.jobs: Any = None
        self.style = Style()
        self.by = ""
        self.screen: Screen | None = None
        self.offline: Any = None  # what the bridge says of offline use, once asked
        self.update_waiting = False
        self.kept = ""
        self.quick: dict[str, Any] = {}  # the quick check keeps its numbers while the app is open
        self.views: dict[str, Any] = {}
        self.cards: dict[str, Any] = {}
        self.frame = Frame(self, switch=self._switch, more=self._more, back=self._back)
        self._serial = 0
        self._width = 0.0
        self._elsewhere: set[str] = set()  # what other tabs have changed since this one last looked
        self._picker: ft.FilePicker | None = None

    # -- words --------------------------------------------------------------------
    def t(self, line: Line | str) -> str:
        return say(line, self.style)

    def two(self, q: Qty) -> tuple[str, str]:
        return pair(q, self.style)

    # -- start ----------------------------------------------------------------------
    async def start(self) -> None:
        page = self.page
        page.title = "Boreside"
        page.theme, page.dark_theme = th.light(), th.dark()
        page.padding = 0
        page.spacing = 0
        view = page.views[0]
        view.padding, view.spacing = 0, 0
        view.controls = [self.frame.control]
        page.on_route_change = self._routed
        page.on_keyboard_event = self._key
        page.on_resize = self._resized
        page.session.error = self._stumbled  # an error in one handler must not end the app
        await self._settle()
        await self.show(page.route or "/")
        from . import bridge

        await bridge.shown()
        page.run_task(self._background)

    async def _settle(self) -> None:
        """Open the store and read this device's settings."""
        self.jobs = await _open_jobs()
        get = self.jobs.setting
        self.style = Style(
            length=await get("length", "in"),
            temperature=await get("temperature", "C"),
            language=await get("language", "en"),
        )
        self.by = await get("by", "")
        self.page.theme_mode = ft.ThemeMode(await get("theme", "system"))

    async def _background(self) -> None:
        """After the first paint: the imports the next screen needs, and lasting storage."""
        await asyncio.sleep(0.05)
        from . import bridge

        self.kept = await bridge.persist_storage()
        bridge.listen(self._heard)
        self.jobs.listen(self._changed_elsewhere)
        self.update_waiting = (await bridge.update_waiting()).waiting
        self.offline = await bridge.offline_ready()
        if self.screen:
            self.screen.news()
        from logic import units

        units.convert(1.0, "in", "mm")  # builds the unit registry now, not under the first key
        for name in ("store.sheets.oversize", "mobile.screens.grid", "mobile.screens.step"):
            import_module(name)
            await asyncio.sleep(0)

    def _heard(self, what: str, value: Any) -> None:
        """News from the page: a newer build waits, the app is now kept for offline use, …"""
        if what == "visible" and value:
            self._changed_elsewhere("")
        else:
            self.page.run_task(self._news, what)

    def _changed_elsewhere(self, id: str) -> None:
        """Another tab changed a job or card ("": it may have, while this one was out of sight)."""
        self._elsewhere.add(id)
        if len(self._elsewhere) == 1:
            self.page.run_task(self._follow)

    async def _follow(self) -> None:
        """Show what other tabs have stored, several changes at a time."""
        await asyncio.sleep(0.2)
        ids, self._elsewhere = self._elsewhere, set()
        if any(id not in self.views for id in ids):
            self.cards = {}
        screen, view = self.screen, getattr(self.screen, "view", None)
        if screen is None:
            return
        try:
            if view is not None:
                id = view.document.id
                if (id in ids or "" in ids) and view.take(await self.jobs.load(id)):
                    await screen.renewed()
            else:
                await screen.renewed()
        except Refused as refused:
            self.toast(refused.line, bad=True)

    async def _news(self, what: str) -> None:
        from . import bridge

        if what == "update":
            self.update_waiting = True
        if what in ("offline", "update", "installable"):
            self.offline = await bridge.offline_ready()
            if self.screen:
                self.screen.news()

    # -- going about ------------------------------------------------------------------
    async def go(self, route: str) -> None:
        await self.page.push_route(route)

    async def _routed(self, e: ft.RouteChangeEvent) -> None:
        await self.show(e.route)

    async def show(self, route: str) -> None:
        route = "/" + route.strip("/").split("?")[0]
        for pattern, name in ROUTES:
            match = re.fullmatch(pattern, route)
            if match:
                break
        else:
            match, name = re.fullmatch("/", "/"), "home:Home"
        module, _, cls = name.partition(":")
        self._serial += 1
        serial = self._serial
        screen = getattr(import_module(f"mobile.screens.{module}"), cls)(self, **match.groupdict())
        try:
            try:
                await screen.load()
            except (KeyError, Refused) as problem:
                screen = import_module("mobile.screens.home").Home(self)
                await screen.load()
                if isinstance(problem, Refused):
                    self.toast(problem.line, bad=True)
        except Refused as problem:
            screen = Trouble(self, problem)
        except Exception as problem:
            traceback.print_exc()
            screen = Trouble(self, problem)
        if serial != self._serial:
            return  # another screen was asked for meanwhile
        self.screen = screen
        self.frame.open(serial)
        try:
            self.fill(screen)
            await screen.shown()
        except Exception as problem:
            traceback.print_exc()
            self.screen = Trouble(self, problem)
            self.fill(self.screen)

    def fill(self, screen: Screen) -> None:
        if screen is not self.screen:
            return
        self.frame.fill(screen)
        self.page.update()

    async def _switch(self, e: Any) -> None:
        if e.control.data != self.style.length:
            self.style = Style(length=e.control.data, temperature=self.style.temperature, language=self.style.language)
            await self.jobs.set_setting("length", self.style.length)
            self.screen.redraw()

    def _stumbled(self, message: str) -> None:
        """A handler failed: say so, keep the app. What was stored stays stored."""
        problem = sys.exception()
        if isinstance(problem, Refused):
            self.toast(problem.line, bad=True)
            return
        print(message, file=sys.stderr)
        self.toast(L("That did not work, and it is our fault. Everything shown as saved is still here."), bad=True)

    async def _back(self, e: Any) -> None:
        await self.go(self.screen.up or "/")

    async def _more(self, e: Any) -> None:
        await self.go("/more")

    async def _key(self, e: ft.KeyboardEvent) -> None:
        if self.screen and not (e.ctrl or e.alt or e.meta):
            await self.screen.key(e.key)

    async def _resized(self, e: Any) -> None:
        """Lay out anew for another width. A keyboard of the device that comes up takes height only: no field may lose its focus."""
        turned, self._width = self.width != self._width, self.width
        if self.screen and (turned or self.screen.typing):
            self.screen.redraw()

    @property
    def middle(self) -> ft.Column:
        """The column that scrolls."""
        return self.frame.middle

    @property
    def room(self) -> float:
        """Width there is for the content of a screen, inside a card."""
        return self.frame.room - 2 * th.EDGE

    @property
    def width(self) -> float:
        return self.page.width or 390

    @property
    def height(self) -> float:
        return self.page.height or 800

    # -- documents ----------------------------------------------------------------------
    async def view(self, id: str) -> Any:
        """The job or card ``id`` as a View, kept so that a key press costs one entry. Refused if it cannot be had.

        It has everything that is stored now, also by other tabs.
        """
        from store.view import View

        document = await self.jobs.load(id)
        if id in self.views:
            self.views[id].take(document)
        else:
            self.views[id] = View(document)
        if document.type == "job":
            if not self.cards:
                await self._know_cards()
            self.views[id].cards = self.cards
        return self.views[id]

    async def _know_cards(self) -> None:
        from store.view import View

        self.cards = {}
        for s in await self.jobs.list("card"):
            try:
                self.cards[s.id] = View(await self.jobs.load(s.id))
            except Refused:
                continue  # damaged, or made by a newer version: jobs go on without it

    def forget(self, id: str | None = None) -> None:
        """Drop kept views, after an import or a change of header."""
        if id is None or id in self.cards:
            self.views.clear()
            self.cards = {}
        else:
            self.views.pop(id, None)

    async def add(self, view: Any, *drafts: Any) -> tuple[Any, ...]:
        """Append entries and wait until they are durable; the view then shows them."""
        entries = await self.jobs.append(view.document.id, *drafts, by=self.by)
        for entry in entries:
            view.add(entry)
        return entries

    def picker(self) -> ft.FilePicker:
        """The one file picker, made when first needed."""
        if self._picker is None:
            self._picker = ft.FilePicker()
        return self._picker

    def update(self, *controls: ft.Control) -> None:
        self.page.update(*controls)

    def toast(self, line: Line | str, *, bad: bool = False) -> None:
        """A short message; it goes by itself."""
        self.frame.say(line, bad=bad)


def now_ms() -> int:
    return int(time.time() * 1000)


async def _open_jobs() -> Any:
    from store.jobs import Jobs

    if sys.platform == "emscripten":
        from store.browser import BrowserBackend

        return await Jobs.open(BrowserBackend(), now_ms=now_ms)
    import os
    from pathlib import Path

    from store.files import FilesBackend

    folder = os.environ.get("BORESIDE_DATA") or Path.home() / ".boreside"
    return await Jobs.open(FilesBackend(Path(folder)), now_ms=now_ms)


async def main(page: ft.Page) -> None:
    """Entry point for ``ft.run``."""
    await App(page).start()
