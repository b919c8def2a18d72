"""A phone without a browser: the real app on a page that draws nothing, over a store in memory.

:class:`Phone` finds what is on the screen as a screen reader names it: the spoken label
where there is one, else the words that are drawn. What is hidden is not found.
"""

from __future__ import annotations

import asyncio
import functools
import inspect
import re
from collections.abc import Callable, Coroutine, Iterator
from types import SimpleNamespace
from typing import Any

import flet as ft

from mobile.app import App
from store.jobs import Jobs
from store.memory import MemoryBackend
from tests import sample

__all__ = ["DEMO", "KEY", "Page", "Phone", "Picker", "drive", "driven"]

DEMO = "/job/demojob00001"
#: The pad's keys that are not named by their own sign.
KEY = {".": "decimal point", "-": "Change sign", "/": "fraction"}
Wanted = str | re.Pattern[str]


class Page:
    """What the app uses of Flet's page."""

    def __init__(self, width: float = 390, height: float = 844) -> None:
        self.width, self.height, self.route = width, height, "/"
        self.theme_mode: ft.ThemeMode | None = None
        self.views = [SimpleNamespace(padding=0, spacing=0, controls=[])]
        self.session = SimpleNamespace(error=None)
        self.sent: list[tuple[ft.Control, ...]] = []  # what each update sent; () is the whole page
        self.tasks: list[asyncio.Task[Any]] = []
        self.history = ["/"]  # the browser's, up to the entry that is on show

    def update(self, *controls: ft.Control) -> None:
        self.sent.append(controls)

    def run_task(self, handler: Callable[..., Coroutine[Any, Any, Any]], *args: Any) -> asyncio.Task[Any]:
        task = asyncio.get_running_loop().create_task(handler(*args))
        self.tasks.append(task)
        return task

    async def push_route(self, route: str) -> None:
        self.history.append(route)
        await self._routed(route)

    async def go_back(self, entries: int = 1) -> bool:
        """As the phone's key does, or the page where the app asks for it. False where that leaves the app."""
        if entries >= len(self.history):
            return False
        del self.history[len(self.history) - entries :]
        await self._routed(self.history[-1])
        return True

    async def put_instead(self, route: str) -> bool:
        self.history[-1] = route
        await self._routed(route)
        return True

    async def _routed(self, route: str) -> None:
        self.route = route
        await self.on_route_change(SimpleNamespace(route=route))  # type: ignore[attr-defined]


class Picker:
    """Hands over the files it was given, and keeps what is saved."""

    def __init__(self) -> None:
        self.chosen: bytes | None = None
        self.saved: dict[str, bytes] = {}
        self.cancelled = False  # whether the person closes the dialogue in which a file would be saved

    async def pick_files(self, **_: Any) -> list[SimpleNamespace]:
        return [] if self.chosen is None else [SimpleNamespace(bytes=self.chosen)]

    async def save_file(self, *, file_name: str, src_bytes: bytes) -> str | None:
        if self.cancelled:
            return None
        self.saved[file_name] = src_bytes
        return file_name


def inside(control: Any) -> Iterator[Any]:
    """What a control holds and shows, in the order of the layout."""
    for name in ("label", "content", "controls", "icon", "suffix_icon"):
        held = getattr(control, name, None)
        for one in held if isinstance(held, list) else [held]:
            if isinstance(one, ft.BaseControl):
                yield one


def walk(control: Any) -> Iterator[Any]:
    """A control and all that is shown in it."""
    if control is None or getattr(control, "visible", True) is False:
        return
    yield control
    if isinstance(control, ft.Semantics) and control.exclude_semantics:
        return
    for one in inside(control):
        yield from walk(one)


def words(control: Any) -> list[str]:
    """What a screen reader says of one control, and a field's error beside it."""
    if isinstance(control, ft.Semantics):
        return [control.label] if control.label else []
    if isinstance(control, (ft.Icon, ft.Image, ft.ProgressBar)):
        return [control.semantics_label] if getattr(control, "semantics_label", None) else []
    if isinstance(control, ft.Text):
        said = control.value if control.semantics_label is None else control.semantics_label
        return [said] if said else []
    if isinstance(control, ft.TextField):
        return [str(w) for w in (control.label, control.value, control.error) if w]
    return []


def label(control: Any) -> str:
    """The name of something that is pressed: all that is said in it, line by line."""
    return "\n".join(word for one in walk(control) for word in words(one))


def fits(said: str, wanted: Wanted) -> bool:
    if isinstance(wanted, re.Pattern):
        return wanted.search(said) is not None
    return said == wanted or said.split("\n", maxsplit=1)[0] == wanted


class Phone:
    """The app, driven as a thumb does it."""

    def __init__(self, page: Page, app: App, backend: MemoryBackend) -> None:
        self.page, self.app, self.backend = page, app, backend
        self.picker = Picker()
        app._picker = self.picker  # type: ignore[assignment]

    @classmethod
    async def start(
        cls,
        *,
        width: float = 390,
        height: float = 844,
        with_demo: bool = False,
        page: Page | None = None,
        **settings: Any,
    ) -> Phone:
        """A phone with the app on its first screen. ``settings`` of the device: length, language, …"""
        page, backend = page or Page(width, height), MemoryBackend()
        jobs = await Jobs.open(backend)
        for key, value in settings.items():
            await jobs.set_setting(key, value)
        if with_demo:
            await sample.load(jobs)

        async def opener() -> Jobs:
            return await Jobs.open(backend)

        app = App(page, opener)  # type: ignore[arg-type]
        phone = cls(page, app, backend)
        await app.start()
        await phone.rest()
        return phone

    @property
    def jobs(self) -> Jobs:
        return self.app.jobs

    # -- what is shown -----------------------------------------------------------------
    def controls(self) -> Iterator[Any]:
        yield from walk(self.app.frame.control)

    def text(self) -> str:
        """All that is said on the screen, line by line."""
        return "\n".join(word for c in self.controls() for word in words(c))

    def has(self, wanted: Wanted) -> bool:
        text = self.text()
        return wanted.search(text) is not None if isinstance(wanted, re.Pattern) else wanted in text

    def see(self, *wanted: Wanted) -> None:
        for one in wanted:
            assert self.has(one), f"{one!r} is not on the screen:\n{self.text()}"

    def gone(self, *wanted: Wanted) -> None:
        for one in wanted:
            assert not self.has(one), f"{one!r} is still on the screen:\n{self.text()}"

    @property
    def heading(self) -> str:
        return next(
            label(c) for c in self.controls() if isinstance(c, ft.Semantics) and c.header and c.heading_level == 1
        )

    def pressable(self) -> list[Any]:
        return [
            c for c in self.controls() if getattr(c, "on_click", None) is not None and not getattr(c, "disabled", False)
        ]

    def find(self, wanted: Wanted, nth: int = 0) -> Any:
        found = [c for c in self.pressable() if fits(label(c), wanted)]
        assert len(found) > nth, (
            f"nothing to press is called {wanted!r}; there are {[label(c) for c in self.pressable()]}"
        )
        return found[nth]

    def says(self, wanted: Wanted) -> str:
        """The whole name of what is pressed under this name."""
        return label(self.find(wanted))

    def field(self, wanted: Wanted) -> ft.TextField:
        found = [c for c in self.controls() if isinstance(c, ft.TextField) and fits(str(c.label), wanted)]
        assert found, f"no text field is called {wanted!r}:\n{self.text()}"
        return found[0]

    # -- what is done --------------------------------------------------------------------
    async def send(self, handler: Any, control: Any, **more: Any) -> None:
        """Call a handler as Flet does: with the event, if it takes one. An error goes where Flet sends it."""
        event = SimpleNamespace(control=control, **more)
        takes = len(inspect.signature(handler).parameters)
        try:
            done = handler(event) if takes else handler()
            if inspect.isawaitable(done):
                await done
        except Exception as problem:  # noqa: BLE001  (as Flet takes them)
            self.page.session.error(f"{type(problem).__name__}: {problem}")

    async def tap(self, *wanted: Wanted, nth: int = 0) -> None:
        for one in wanted:
            await self.tap_alone(one, nth=nth)

    async def tap_alone(self, wanted: Wanted, *, nth: int = 0) -> None:
        control = self.find(wanted, nth)
        await self.send(control.on_click, control)

    async def keys(self, text: str) -> None:
        """Press a number on the pad."""
        for character in text:
            await self.tap(KEY.get(character, character))

    async def enter(self, *numbers: str, word: str = "Enter") -> None:
        for number in numbers:
            await self.keys(number)
            await self.tap(word)

    async def write(self, wanted: Wanted, value: str, *, by: str = "on_submit") -> None:
        """Write into a text field, and finish by ``on_submit``, ``on_blur`` or ``on_change``."""
        field = self.field(wanted)
        field.value = value
        if getattr(field, by) is not None:
            await self.send(getattr(field, by), field)

    async def tick(self, wanted: Wanted, *, on: bool) -> None:
        box = next(c for c in self.controls() if isinstance(c, ft.Checkbox) and fits(label(c), wanted))
        box.value = on
        await self.send(box.on_change, box)

    async def key(self, *names: str) -> None:
        """Keys of a real keyboard."""
        for name in names:
            await self.page.on_keyboard_event(SimpleNamespace(key=name, ctrl=False, alt=False, meta=False))  # type: ignore[attr-defined]

    async def size(self, width: float, height: float) -> None:
        self.page.width, self.page.height = width, height
        await self.send(self.page.on_resize, self.page)  # type: ignore[attr-defined]

    async def go(self, route: str) -> None:
        await self.app.go(route)
        await self.rest()

    async def rest(self) -> None:
        """Wait until nothing works in the background but what a message needs to fade."""
        while True:
            busy = {t for t in asyncio.all_tasks() if t is not asyncio.current_task() and t is not self.app.frame._hide}
            if not busy:
                return
            await asyncio.wait(busy)

    # -- what is stored ------------------------------------------------------------------
    async def entries(self, id: str, kind: str = "") -> list[Any]:
        """The entries that are stored of a job, oldest first."""
        return [e for e in (await self.jobs.load(id)).entries if kind in ("", e.kind)]


def drive(work: Callable[[], Coroutine[Any, Any, None]]) -> None:
    """Run one test's drive to its end, and nothing beyond it."""

    async def whole() -> None:
        try:
            await work()
        finally:
            left = asyncio.all_tasks() - {asyncio.current_task()}
            for task in left:
                task.cancel()
            await asyncio.gather(*left, return_exceptions=True)

    asyncio.run(whole())


def driven(work: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., None]:
    """Make a test of a coroutine function."""

    @functools.wraps(work)
    def test(*args: Any, **more: Any) -> None:
        drive(lambda: work(*args, **more))

    return test
