"""What Python may ask of the browser: offline state, updates, installing, kept storage.

In the browser the answers come from ``web/boot.js`` (and, through it, the service
worker). On a computer, where there is no browser round the app, every function
answers plainly that there is nothing to do. All functions are coroutines and none
raises for a missing browser feature.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from logic.say import L
from store.errors import Refused

__all__ = [
    "IN_BROWSER",
    "Install",
    "Offline",
    "PageFile",
    "PageSave",
    "Update",
    "alive",
    "apply_update",
    "ask",
    "choose_file",
    "failed",
    "history_back",
    "history_instead",
    "install_prompt_available",
    "listen",
    "marks",
    "offline_ready",
    "persist_storage",
    "plain_of",
    "prompt_install",
    "reload",
    "shown",
    "together",
    "told",
    "update_waiting",
]

#: True where Python itself runs in a browser.
IN_BROWSER = sys.platform == "emscripten"


@dataclass(frozen=True, slots=True)
class Offline:
    """Whether the app would start with no network. ``kept`` of ``total`` files are on the device.

    ``why`` is "" where ready, else one of: "not yet" (still being fetched), "missing"
    (a file is gone), "insecure" (the page did not come over https or localhost),
    "browser" (no service worker here), "computer" (not in a browser: nothing is needed).
    ``version`` and ``built`` (ISO date) say which build is kept.
    """

    ready: bool
    why: str = ""
    kept: int = 0
    total: int = 0
    version: str = ""
    built: str = ""


@dataclass(frozen=True, slots=True)
class Update:
    """A newer build that is fetched, checked and waiting for a yes."""

    waiting: bool
    version: str = ""
    built: str = ""


@dataclass(frozen=True, slots=True)
class Install:
    """``prompt``: the browser can ask now. ``installed``: running as an installed app. ``by_hand``: "ios" where it goes by the share menu."""

    prompt: bool
    installed: bool
    by_hand: str = ""


async def ask(name: str, *args: Any) -> Any:
    """Put a question to the page (the names are in ``web/boot.js`` and ``web/manners.js``). Only in a browser."""
    import boreside_js  # registered by web/worker.js
    from js import Object
    from pyodide.ffi import to_js

    plain = [to_js(a, dict_converter=Object.fromEntries) if isinstance(a, (dict, list, bytes)) else a for a in args]
    answer = await boreside_js.ask(name, *plain)
    return plain_of(answer.to_py() if hasattr(answer, "to_py") else answer)


async def alive() -> None:
    """Tell the page, which asked, that Python still answers."""
    await ask("alive")


def told(name: str) -> Any:
    """What the page has said at the start, before it was asked; None where it said nothing of the kind. Only in a browser."""
    import boreside_js

    answer: Any = getattr(boreside_js, name, None)
    return plain_of(answer.to_py()) if hasattr(answer, "to_py") else answer


def plain_of(answer: Any) -> Any:
    """An answer of the page with None for each of its nulls, which Pyodide keeps apart from undefined."""
    if type(answer).__name__ == "JsNull":
        return None
    if isinstance(answer, dict):
        return {key: plain_of(value) for key, value in answer.items()}
    return [plain_of(value) for value in answer] if isinstance(answer, list) else answer


@contextmanager
def together() -> Iterator[None]:
    """What is sent to the screen meanwhile reaches it in one piece, and is drawn once."""
    if not IN_BROWSER:
        yield
        return
    import boreside_js

    boreside_js.gather()
    try:
        yield
    finally:
        boreside_js.handOver()


class PageFile:
    """A file that the person chose: read in pieces from where it lies, so that it need not fit into memory."""

    def __init__(self, file: Any) -> None:
        self._file = file
        self.size = int(file.size)

    def read(self, start: int, end: int) -> bytes:
        """Bytes ``start`` up to ``end``. Raises Refused ("io") where the file is not there any more, or was changed."""
        from js import FileReaderSync
        from pyodide.ffi import JsException

        try:
            return bytes(FileReaderSync.new().readAsArrayBuffer(self._file.slice(start, end)).to_bytes())
        except JsException as problem:
            raise Refused(L("The file cannot be read any more. Choose it again."), "io") from problem


class PageSave:
    """A file for the browser to save: its pieces are handed to the browser as they come, which keeps them
    outside Python's memory."""

    def __init__(self) -> None:
        from js import Array

        self._parts = Array.new()

    def add(self, piece: bytes) -> None:
        """The next bytes of the file."""
        from js import Array, Blob
        from pyodide.ffi import to_js

        self._parts.push(Blob.new(Array.of(to_js(piece))))

    def blob(self) -> Any:
        """What came so far, as the page can be handed it."""
        from js import Blob

        return Blob.new(self._parts)


async def choose_file() -> PageFile | None:
    """A file by the browser's own dialogue; None where none is chosen. Only in a browser."""
    file = await ask("choose")
    return None if file is None else PageFile(file)


async def offline_ready(*, deep: bool = False) -> Offline:
    """Ask the service worker to look at every file it keeps; ``deep`` also checks each file's SHA-256."""
    if not IN_BROWSER:
        return Offline(True, "computer")
    try:
        got = await ask("offline", deep)
    except Exception:  # noqa: BLE001  a service worker that does not answer is not one to rely on
        return Offline(False, "not yet")
    ready = bool(got.get("ready"))
    return Offline(
        ready,
        "" if ready else got.get("why") or "missing",
        int(got.get("kept", 0)),
        int(got.get("total", 0)),
        got.get("version", ""),
        got.get("built", ""),
    )


async def update_waiting() -> Update:
    """Whether a newer build waits to be taken."""
    if not IN_BROWSER:
        return Update(False)
    try:
        got = await ask("update")
    except Exception:  # noqa: BLE001  as above
        return Update(False)
    return Update(bool(got.get("waiting")), got.get("version", ""), got.get("built", ""))


async def apply_update() -> bool:
    """Take the waiting build: the page reloads. Only call this when the person said yes. False if none waits."""
    return bool(await ask("apply")) if IN_BROWSER else False


async def install_prompt_available() -> Install:
    """Whether and how the app can be put on the home screen."""
    if not IN_BROWSER:
        return Install(False, False)
    got = await ask("installable")
    return Install(bool(got.get("prompt")), bool(got.get("installed")), got.get("hand", ""))


async def prompt_install() -> str:
    """Show the browser's own question: "accepted", "dismissed" or "unavailable"."""
    return str(await ask("install")) if IN_BROWSER else "unavailable"


async def persist_storage() -> str:
    """Ask the browser to keep the jobs for good: "kept", "may be cleared" or "unknown" ("kept" on a computer)."""
    return str(await ask("persist")) if IN_BROWSER else "kept"


def listen(heard: Callable[[str, Any], None]) -> None:
    """Call ``heard(what, value)`` when the page tells something.

    ``what``: "offline" (value: now ready), "update" (a newer build waits),
    "installable", "installed", "online" (value: connected), "visible", "fetched"
    (value: ``{"version", "done", "total"}`` bytes while files are kept).
    """
    if not IN_BROWSER:
        return
    import boreside_js
    from pyodide.ffi import create_proxy

    def hear(what: str, value: Any) -> None:
        heard(what, value.to_py() if hasattr(value, "to_py") else value)

    boreside_js.listen(create_proxy(hear))


async def history_back(entries: int) -> bool:
    """Go back so many entries of the browser's history; the page then tells of the route. False where that cannot be."""
    return bool(await ask("back", entries)) if IN_BROWSER else False


async def history_instead(route: str) -> bool:
    """Put a route in the place of the one on show, with nothing more in the history. False where that cannot be."""
    return bool(await ask("instead", route)) if IN_BROWSER else False


async def shown() -> None:
    """Say that the first screen is there: the loading screen goes."""
    if IN_BROWSER:
        await ask("shown")


async def failed(words: str) -> None:
    """Say on the loading screen that the start failed, and why. Does nothing once a screen is shown."""
    if IN_BROWSER:
        await ask("failed", words)


async def marks() -> list[tuple[str, int]]:
    """The start-up's milestones, each in milliseconds since the page began."""
    return [(str(n), int(t)) for n, t in await ask("marks")] if IN_BROWSER else []


async def reload() -> None:
    """Load the page again."""
    if IN_BROWSER:
        await ask("reload")
