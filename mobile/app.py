"""The app: one page, one screen at a time, and the log behind it.

``main(page)`` is handed to Flet. :class:`App` owns what all screens share: the
store, the person's style, the way from a route to a screen, and the one place
where entries are appended, so that "saved" always means durable. Screens know it as
a :class:`~mobile.shell.Shell`.
"""

from __future__ import annotations

import asyncio
import sys
import traceback
from collections.abc import Awaitable, Callable
from dataclasses import replace
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, Any

import flet as ft

from logic.say import L, Line, Qty, Style, pair, say
from store.errors import Refused

from . import bridge, hearing, leaner, manners, routes
from . import theme as th
from .dress import dress
from .frame import Frame
from .screens.trouble import Trouble
from .shell import Pressed, Screen, now_ms
from .way import Way

if TYPE_CHECKING:
    from logic.job_record import JobRecord
    from store.documents import Entry
    from store.jobs import Jobs
    from store.remembered import Remembered
    from store.view import View

#: How long the start waits for the store before the app goes on without, seconds.
SILENT_S = 2.5
_NO_ANSWER = L("The browser's storage does not answer. Until it does, nothing can be kept here.")
_LISTING = L("The list of jobs is being made again. They are all there, and come by themselves in a moment.")

_by_hand: Callable[[], None] = ft.context.disable_auto_update
_by_hand()  # screens say themselves what is to be sent

#: So many changed jobs are gone through when a job is opened; the rest in the background.
_LOOK = 3
#: So many of them at once in the background, between two pauses: each is waited for, so that a tap gets in between.
_LOOK_BACK = 8
#: So long after it was not all kept for work without a signal another look is taken, in seconds.
AGAIN_S = 5.0
#: Seconds until a storage that did not answer is asked again: at first, and at most.
ASK_S, MOST_ASK_S = 3.0, 60.0
#: So long nothing changes before the picture of the last screen is made, in seconds.
QUIET_S = 2.0


class App:
    """The shell round every screen. ``opener`` opens the store of jobs, once, at the start."""

    jobs: Jobs

    def __init__(self, page: ft.Page, opener: Callable[[], Awaitable[Jobs]] | None = None) -> None:
        self.page = page
        self._answers = False  # whether the storage has answered
        self._opener = opener or self._open
        self.style = Style()
        self.by = ""
        self.screen: Screen | None = None
        self.offline: bridge.Offline | None = None  # what the bridge says of offline use, once asked
        self.update_waiting = False
        self.hands = manners.Hands()
        self.by_keys = False  # whether the person goes from key to key by Tab
        self.unstored: Line | None = None  # why nothing can be stored here, where that is so
        self.keeping: manners.Keeping | None = None  # how safe the storage is, once asked
        self.quick: dict[str, Any] = {}  # the quick check keeps its numbers while the app is open
        self.views: dict[str, View] = {}
        self.cards: dict[str, View] = {}
        self.frame = Frame(self, switch=self._switch, more=self._more, back=self._back)
        self.way = Way(self.page.push_route, self.show)
        self._serial = 0
        self._width = 0.0
        self._job_open = False
        self.last_job = ""  # id of the job that was on show last
        self._glimpsed: tuple[Any, ...] = ()  # what the kept picture was made of
        self._quiet: asyncio.TimerHandle | None = None
        self._again: asyncio.TimerHandle | None = None  # the next look whether all is kept
        self._elsewhere: set[str] = set()  # what other tabs have changed since this one last looked
        self._picker: ft.FilePicker | None = None
        self._remembered: Remembered | None = None  # what every job taught, once a job is opened
        self._visited = ""  # the job it was last brought up to date for

    # -- words --------------------------------------------------------------------
    def t(self, line: Line | str) -> str:
        return say(line, self.style)

    def two(self, q: Qty) -> tuple[str, str]:
        return pair(q, self.style)

    # -- start ----------------------------------------------------------------------
    async def start(self) -> None:
        page = self.page
        self._furnish()
        page.on_route_change = self._routed
        page.on_keyboard_event = self._key
        page.on_resize = self._resized
        page.session.error = self._stumbled  # type: ignore[method-assign]  # an error in one handler must not end the app
        await self._settle()
        self.way.came(page.route or "/")
        await self.show(page.route or "/")
        await bridge.shown()
        page.run_task(self._background)

    def _furnish(self) -> None:
        """The page round every screen."""
        hearing.use()
        leaner.use()
        page = self.page
        page.title = "Boreside"
        page.theme, page.dark_theme = th.themes()
        page.padding = 0
        page.spacing = 0
        view = page.views[0]
        view.padding, view.spacing = 0, 0
        view.controls = [self.frame.control]

    async def rehearse(self) -> None:
        """Draw the first screen where nobody sees it (:mod:`mobile.rehearsal`); nothing goes on after that."""
        self._furnish()
        self.jobs = await self._opener()
        await self._read_settings()
        self.screen = await self._loaded(routes.HOME, {})
        self.frame.open(0)
        self.frame.fill(self.screen)
        self.page.update()

    async def _settle(self) -> None:
        """Open the store and read this device's settings. Where there is none to be had, the app goes on without."""
        opening = asyncio.ensure_future(self._opener())
        await asyncio.wait((opening,), timeout=SILENT_S)
        try:
            if opening.done():
                self.jobs = opening.result()
            else:
                await self._go_without(_LISTING if self._answers else _NO_ANSWER)
                self._late = self.page.run_task(self._arrived, opening)
        except Refused as refused:
            if refused.code == "newer":
                raise
            await self._go_without(refused.line)
        await self._read_settings()

    async def _open(self) -> Jobs:
        opening = _begun.pop() if _begun else Opening()
        opening.tell(self.storage_answers)
        return await opening.jobs

    def storage_answers(self) -> None:
        """The storage answers: what is still waited for is the list of jobs."""
        self._answers = True

    async def _go_without(self, why: Line) -> None:
        """Nothing can be stored, at least for now: ``why`` says so, and what needs no store goes on."""
        from store.jobs import Jobs
        from store.memory import MemoryBackend

        self.jobs, self.unstored = await Jobs.open(MemoryBackend()), why

    async def _arrived(self, opening: asyncio.Future[Jobs], pause: float = 0.0) -> None:
        """The store has answered after all, or has said why there is none. One that said nothing is asked again, ever
        more seldom: a busy device may answer late."""
        said = self.unstored
        try:
            self.jobs, self.unstored = await opening, None
            self.jobs.listen(self._changed_elsewhere)
            await self._read_settings()
        except Refused as refused:
            self.unstored = refused.line
            if refused.code == "busy":
                pause = min(2 * pause, MOST_ASK_S) or ASK_S
                ask = partial(self.page.run_task, self._ask_again, pause)
                asyncio.get_running_loop().call_later(pause, ask)
        if said != self.unstored and (self.screen is None or not self.screen.typing):
            await self.show(self.page.route or "/")

    async def _ask_again(self, pause: float) -> None:
        await self._arrived(asyncio.ensure_future(self._opener()), pause)

    async def _read_settings(self) -> None:
        get = self.jobs.setting
        self.style = Style(
            length=await get("length", "in"),
            temperature=await get("temperature", "C"),
            language=await get("language", "en"),
        )
        self.by = await get("by", "")
        await self.hands.load(self.jobs)
        self.last_job = str(await get("last", ""))
        await self.dress()

    async def dress(self, *, anew: bool = False) -> None:
        """Take the colours that are set, here and on the device."""
        await dress(self.page, self.jobs, anew=anew)

    async def _background(self) -> None:
        """After the first paint: lasting storage, news from the page, and the imports the next screen needs."""
        await asyncio.sleep(0.05)
        bridge.listen(self._heard)
        self.page.run_task(bridge.persist_storage)  # a browser may ask the person first: nothing waits for that
        self.jobs.listen(self._changed_elsewhere)
        self.update_waiting = (await bridge.update_waiting()).waiting
        self.keeping = await manners.keeping()
        self.hands.able = await manners.able()
        await self._look_offline()
        from logic import units

        units.convert(1.0, "in", "mm")  # builds the unit registry now, not under the first key
        for name in ("store.sheets.oversize", "mobile.screens.grid", "mobile.screens.step"):
            import_module(name)
            await asyncio.sleep(0)

    def _heard(self, what: str, value: Any) -> None:
        """News from the page: a newer build waits, the app is now kept for offline use, …"""
        if what == "visible":
            if value:
                self._changed_elsewhere("")
            else:
                self.page.run_task(self.keep_glimpse)
        elif what == "alive":
            self.page.run_task(bridge.alive)
        elif what in ("gauge", "keys"):
            self.page.run_task(self._gauge if what == "gauge" else self._keys, value)
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
        screen = self.screen
        if screen is None:
            return
        view = screen.document_shown
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
        if what == "file":
            await self.show("/files")  # which asks for the file
        if what == "contrast":
            await self.dress(anew=True)
            await self.show(self.page.route or "/")
        if what == "update":
            self.update_waiting = True
        if what in ("offline", "update", "installable"):
            await self._look_offline()

    async def _look_offline(self) -> None:
        """Whether all is kept for work without a signal: asked again while it is not, for a busy device answers late."""
        self.offline = await bridge.offline_ready()
        if self.screen:
            self.screen.news()
        if self._again is not None:
            self._again.cancel()
        if self.offline.why == "not yet":
            look = partial(self.page.run_task, self._look_offline)
            self._again = asyncio.get_running_loop().call_later(AGAIN_S, look)

    async def _gauge(self, told: dict[str, str]) -> None:
        """A gauge that types like a keyboard sent a whole reading, or a unit was typed behind a number."""
        pad = self.screen.pad_open if self.screen else None
        if pad is not None:
            await pad.gauge(**told)
        elif "text" in told:
            line = L("The gauge sent {text}, but no value is asked for. Tap the one it belongs to.", text=told["text"])
            self.toast(line, bad=True)
            await self.hands.refused(line, self.style, by_gauge=True)

    async def _keys(self, keys: list[str]) -> None:
        """Keys that came almost as fast as a gauge's, and were a hand's."""
        for key in keys:
            if self.screen:
                await self.screen.key(key)

    async def _stay_awake(self, route: str) -> None:
        """The screen stays on while a job is open."""
        now = route.strip("/").startswith("job/")
        if now != self._job_open:
            self._job_open = now
            await self.hands.job_open(on=now)

    # -- going about ------------------------------------------------------------------
    async def go(self, route: str) -> None:
        await self.way.go(route)

    async def _routed(self, e: ft.RouteChangeEvent) -> None:
        self.way.came(e.route)
        await self.show(e.route)

    async def show(self, route: str) -> None:
        if route.strip("/") == "last":
            route = f"/job/{self.last_job}"  # where there is none, the first screen shows
        name, named = routes.found(route)
        self._serial += 1
        serial = self._serial
        screen = await self._loaded(name, named)
        if serial != self._serial:
            return  # another screen was asked for meanwhile
        self.screen = screen
        self.frame.open(serial)
        try:
            self.fill(screen)
            self.page.run_task(self._stay_awake, route)
            await screen.shown()
        except Exception as problem:  # noqa: BLE001  whatever it is, the way to the files stays
            traceback.print_exc()
            self.screen = Trouble(self, problem)
            self.fill(self.screen)

    async def _loaded(self, name: str, named: dict[str, str]) -> Screen:
        """The screen, with what it shows. The first screen where there is nothing such; one that says so where it fails."""
        if self.unstored is not None and name not in routes.WITHOUT_STORE:
            return Trouble(self, Refused(self.unstored, "closed"))
        try:
            screen = routes.screen_class(name)(self, **named)
            try:
                await screen.load()
            except (KeyError, Refused) as problem:
                screen = routes.screen_class(routes.HOME)(self)
                await screen.load()
                self.toast(problem.line if isinstance(problem, Refused) else L("There is no such page here."), bad=True)
        except Refused as problem:
            return Trouble(self, problem)
        except Exception as problem:  # noqa: BLE001  whatever it is, the way to the files stays
            traceback.print_exc()
            return Trouble(self, problem)
        return screen

    def fill(self, screen: Screen) -> None:
        if screen is not self.screen:
            return
        self.frame.fill(screen)
        self.page.update()
        self._stir()

    async def _switch(self, e: Pressed) -> None:
        if e.control.data != self.style.length:
            self.style = replace(self.style, length=e.control.data)
            await self.jobs.set_setting("length", self.style.length)
            if self.screen:
                self.screen.redraw()

    def _stumbled(self, message: str) -> None:
        """A handler failed: say so, keep the app. What was stored stays stored."""
        problem = sys.exception()
        if isinstance(problem, Refused):
            self.toast(problem.line, bad=True)
            return
        sys.stderr.write(f"{message}\n")
        self.toast(L("That did not work, and it is our fault. Everything shown as saved is still here."), bad=True)

    async def _back(self) -> None:
        await self.way.back((self.screen and self.screen.up) or "/")

    async def _more(self) -> None:
        await self.go("/more")

    async def _key(self, e: ft.KeyboardEvent) -> None:
        if self.screen and not (e.ctrl or e.alt or e.meta):
            await self.screen.key(e.key)

    async def _resized(self) -> None:
        """Lay out anew for another width. A keyboard of the device that comes up takes height only: no field may lose its focus."""
        turned, self._width = self.width != self._width, self.width
        if self.screen and (turned or self.screen.typing):
            self.screen.redraw()
            await self.screen.in_view()

    @property
    def middle(self) -> ft.Column:
        """A column that scrolls; asked to show what has a key, it finds that in the other half as well."""
        return self.frame.columns[0]

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

    # -- the picture for the next start -----------------------------------------------------
    def _stir(self) -> None:
        """Something changed: once nothing has for a while, the picture is made anew."""
        if self._quiet is not None:
            self._quiet.cancel()
        self._quiet = asyncio.get_running_loop().call_later(QUIET_S, self._rests)

    def _rests(self) -> None:
        if bridge.IN_BROWSER:
            self.page.run_task(self.keep_glimpse)

    async def keep_glimpse(self) -> None:
        """Keep the last screen as text, to be read while the next start is under way."""
        view = self.screen.document_shown if self.screen else None
        if view is not None and view.document.type == "job" and view.document.id != self.last_job:
            self.last_job = view.document.id
            await self.jobs.set_setting("last", self.last_job)
        try:
            view = await self.view(self.last_job) if self.last_job else None
        except (KeyError, Refused):
            view = None  # it is gone, or cannot be read here
        entries = len(view.entries) if view is not None else 0
        made_of = (self.last_job, entries, view and view.document.header, dict(self.quick), self.style)
        if made_of == self._glimpsed:
            return
        self._glimpsed = made_of
        from .glimpse import picture

        theme = str(await self.jobs.setting("theme", "system"))
        await manners.glimpse(picture(view, self.quick, self.style, theme, now_ms()))

    # -- documents ----------------------------------------------------------------------
    async def view(self, id: str) -> View:
        """The job or card ``id`` as a View, kept so that a key press costs one entry. Refused if it cannot be had.

        It has everything that is stored now, also by other tabs.
        """
        from store import rates
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
        rates.know(self.views[id], rates.read(await self.jobs.setting(rates.SETTING)))
        await self._remember(id)
        return self.views[id]

    async def _remember(self, id: str) -> None:
        """Make known to a job what earlier ones taught; a few changed jobs are read for it at most, once for each visit."""
        if self._remembered is None:
            from store.remembered import Remembered

            self._remembered = Remembered(self.jobs)
        if self._visited != id:
            if not self.cards:
                await self._know_cards()
            left = await self._remembered.look(self.cards, most=_LOOK, but=id)
            self._visited = id
            if left:
                self.page.run_task(self._look_back)
        self.views[id].remember(self._remembered.by_card)

    async def records(self, card: str) -> tuple[JobRecord, ...]:
        """What the jobs here with a machine's card taught, oldest first."""
        await self._remember(card)
        return self.views[card].records.get(card, ())

    async def _look_back(self) -> None:
        """After a start or an import, a few jobs at a time: what the jobs teach that were never looked through."""
        if self._remembered is None:
            return
        left = await self._remembered.look(self.cards, most=_LOOK_BACK, but=self._visited)
        if self._visited in self.views:
            self.views[self._visited].remember(self._remembered.by_card)
        if left:
            await asyncio.sleep(0.2)
            self.page.run_task(self._look_back)

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
        self._visited = ""
        if id is None or id in self.cards:
            self.views.clear()
            self.cards = {}
        else:
            self.views.pop(id, None)

    def ahead(self, view: View, *drafts: Entry) -> tuple[Entry, ...]:
        """Let the view show entries that :meth:`add` is to store next, so that their answer need not wait for it.

        Where they cannot be stored, whoever showed them has the view drop them again.
        """
        entries = self.jobs.stamped(view.document.id, *drafts, by=self.by)
        for entry in entries:
            view.add(entry)
        return entries

    async def add(self, view: View, *drafts: Entry) -> tuple[Entry, ...]:
        """Append entries and wait until they are durable; the view then shows them."""
        entries: tuple[Entry, ...] = await self.jobs.append(view.document.id, *drafts, by=self.by)
        for entry in entries:
            view.add(entry)
        return entries

    def picker(self) -> ft.FilePicker:
        """The one file picker, made when first needed."""
        if self._picker is None:
            self._picker = ft.FilePicker()
        return self._picker

    def update(self, *controls: ft.Control) -> None:
        with bridge.together():
            self.page.update(*controls)
        self._stir()

    def toast(self, line: Line | str, *, bad: bool = False) -> None:
        """A short message; it goes by itself."""
        self.frame.say(line, bad=bad)


class Opening:
    """The store of jobs on its way: ``jobs`` is awaited for it."""

    def __init__(self) -> None:
        self._answered = False
        self._heard: Callable[[], None] | None = None
        self.jobs = asyncio.ensure_future(_open_jobs(self._answers))

    def _answers(self) -> None:
        self._answered = True
        if self._heard is not None:
            self._heard()

    def tell(self, heard: Callable[[], None]) -> None:
        """Call ``heard`` once the storage answers, or at once where it has."""
        self._heard = heard
        if self._answered:
            heard()


#: What was begun ahead, for the first app that asks.
_begun: list[Opening] = []


def open_ahead() -> None:
    """Begin to open the store while the drawing engine starts, before there is a page."""
    _begun.append(Opening())


async def _open_jobs(answered: Callable[[], None]) -> Jobs:
    from store.jobs import Jobs

    if sys.platform == "emscripten":
        from store.browser import BrowserBackend

        return await Jobs.open(BrowserBackend(), now_ms=now_ms, answered=answered)
    from store.files import FilesBackend, home

    return await Jobs.open(FilesBackend(home()), now_ms=now_ms, answered=answered)


async def main(page: ft.Page) -> None:
    """Entry point for ``ft.run``."""
    await App(page).start()
