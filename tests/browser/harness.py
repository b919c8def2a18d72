"""Driving the built app in a real Chromium, at the size of a phone.

The app draws on a canvas, so a test sees what a screen reader sees: the semantics
tree. :class:`Phone` opens the app in a browser whose profile lives on disk (storage
and service worker survive a restart), finds and taps things by their label, and keeps
a record of every request that was made.
"""

from __future__ import annotations

import os
import re
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from mobile.server import Server

from .driver import chromium

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--force-color-profile=srgb",
]
#: Compiles the engines once at each start, not twice: a test does not run long enough to gain by the second.
ONCE = "--js-flags=--liftoff-only"
#: What the app's address is called inside every Chromium, whichever port its server has: what a browser keeps is kept by address.
ADDRESS = "localhost:8000"


class Site:
    """The built folder on a local server that can be stopped and started again on the same port."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.server: Server | None = None
        self.port = 0
        self.start()

    def start(self) -> None:
        if self.server is None:
            self.server = Server(self.folder, port=self.port).__enter__()
            self.port = self.server.port

    def stop(self) -> None:
        if self.server is not None:
            self.server.__exit__()
            self.server = None

    def serve(self, folder: Path) -> None:
        """Put another build at the same address, as an upload of a new version would."""
        self.folder = folder
        if self.server is not None:
            self.server.folder = folder.resolve()

    @property
    def url(self) -> str:
        """The address as any browser on this machine finds it."""
        return f"http://localhost:{self.port}/"


# Counts the presses that the drawing engine tells Python of, so that a tap which the engine dropped is known from one
# that changed nothing. It tells other things meanwhile: a size, a focus that was taken.
_COUNT = """
Object.defineProperty(window, 'jsSend', {
  configurable: true,
  get() { return this.sending; },
  set(send) {
    const words = new TextDecoder('latin1');
    this.told = 0;
    this.sending = (...all) => {
      if (all.some(one => one?.byteLength && /click|tap|press|dismiss|(?<!_)change/.test(words.decode(one)))) this.told += 1;
      return send(...all);
    };
  },
});
"""

# One script does the looking: it walks the semantics tree and returns what a screen
# reader would say, with the box to tap. Flutter puts a label in aria-label, in the text
# of a leaf, or (for fields) on the input inside.
_READ = r"""
() => {
  const host = document.querySelector('flt-semantics-host');
  const out = [];
  if (!host) return out;
  for (const e of host.querySelectorAll('flt-semantics, flt-semantics input, flt-semantics textarea')) {
    const field = e.tagName === 'INPUT' || e.tagName === 'TEXTAREA';
    const inner = [...e.childNodes].filter(n => n.nodeType === 3 || (n.nodeType === 1 && n.tagName === 'SPAN'))
      .map(n => n.textContent).join('');
    const label = e.getAttribute('aria-label') || (field ? e.value : inner) || '';
    const box = e.getBoundingClientRect();
    if (!label.trim() && !field) continue;
    out.push({
      id: e.id || (e.closest('flt-semantics') || {}).id || '', label: label.trim(), role: e.getAttribute('role') || (field ? 'textbox' : ''),
      value: field ? e.value : (e.getAttribute('aria-valuetext') || ''),
      tappable: e.hasAttribute('flt-tappable') || field || e.getAttribute('role') === 'button',
      disabled: e.getAttribute('aria-disabled') === 'true',
      checked: e.getAttribute('aria-checked'), selected: e.getAttribute('aria-selected') || e.getAttribute('aria-current'),
      x: box.x, y: box.y, w: box.width, h: box.height,
    });
  }
  return out;
}
"""


class Seen:
    """What is on the screen, as a screen reader reads it, and how to wait for it. ``read`` is the browser's own."""

    def read(self) -> list[dict[str, Any]]:
        """Everything the semantics tree says now, in order: label, role, value, box, state."""
        raise NotImplementedError

    def labels(self) -> list[str]:
        return [node["label"] for node in self.read() if node["label"]]

    def text(self) -> str:
        """All labels, one a line."""
        return "\n".join(self.labels())

    def find(
        self, label: str | re.Pattern[str], *, timeout: float = 60, tappable: bool | None = None, nth: int = 0
    ) -> dict[str, Any]:
        """The node whose label matches: a pattern is searched, a string must be the whole label or, failing that, part of it.

        Where several match, tappable ones and then smaller ones come first; ``nth`` picks another.
        """
        end = time.monotonic() + timeout
        while True:
            nodes = [n for n in self.read() if tappable is None or n["tappable"] == tappable]
            if isinstance(label, str):
                found = [n for n in nodes if n["label"] == label] or [n for n in nodes if label in n["label"]]
            else:
                found = [n for n in nodes if label.search(n["label"])]
            found.sort(key=lambda n: (not n["tappable"], n["w"] * n["h"]))
            if len(found) > nth:
                return found[nth]
            if time.monotonic() > end:
                raise AssertionError(f"nothing labelled {label!r} on the screen, which says:\n{self.text()}")
            time.sleep(0.05)

    def has(self, label: str | re.Pattern[str]) -> bool:
        try:
            self.find(label, timeout=0)
        except AssertionError:
            return False
        return True

    def wait(self, label: str | re.Pattern[str], *, timeout: float = 60) -> dict[str, Any]:
        """Wait until something so labelled is there."""
        return self.find(label, timeout=timeout)

    def gone(self, label: str | re.Pattern[str], *, timeout: float = 60) -> None:
        end = time.monotonic() + timeout
        while self.has(label):
            if time.monotonic() > end:
                raise AssertionError(f"{label!r} is still on the screen")
            time.sleep(0.05)


class Phone(Seen):
    """A browser with the app in it. Sizes are CSS pixels; ``scale`` is how many dots one has.

    A ``quick`` one draws fewer dots and compiles each engine once, and one that is not
    ``whole`` has no windows of its own: for tests of what the app does, not of how fast it
    is or how it looks.
    """

    def __init__(
        self,
        playwright: Any,
        site: Site,
        profile: Path,
        *,
        width: int = 390,
        height: int = 844,
        dark: bool = False,
        scale: float | None = None,
        quick: bool = False,
        whole: bool = True,
        **more: Any,
    ) -> None:
        self.site = site
        self.url = f"http://{ADDRESS}/"
        self.scale = scale or (0.5 if quick else 1.0)
        self.profile = profile
        self.requests: list[str] = []
        self.console: list[str] = []
        self.errors: list[str] = []
        self._playwright = playwright
        self._options = dict(
            executable_path=chromium(quick=not whole),
            headless=True,
            args=[*FLAGS, *([ONCE] if quick else []), f"--host-resolver-rules=MAP {ADDRESS} 127.0.0.1:{site.port}"],
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            device_scale_factor=self.scale,
            has_touch=True,
            accept_downloads=True,
            **more,
        )
        self.context: Any = None
        self.page: Any = None
        self.launch()

    # -- the browser ----------------------------------------------------------------
    def launch(self) -> None:
        """Start the browser on its profile (again)."""
        self.context = self._playwright.chromium.launch_persistent_context(str(self.profile), **self._options)
        self.context.set_default_timeout(60_000)
        self.context.add_init_script(_COUNT)
        self.context.on("request", lambda request: self.requests.append(request.url))
        self.page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self._watch(self.page)

    def _watch(self, page: Any) -> None:
        page.on("console", lambda message: self.console.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.errors.append(str(error)))

    def second_tab(self) -> Any:
        """Another page of the same browser (same storage), not yet opened on the app."""
        page = self.context.new_page()
        self._watch(page)
        return page

    def close(self) -> None:
        if self.context is not None:
            with suppress(Exception):  # it was killed on purpose
                self.context.close()
            self.context = None

    def kill(self) -> None:
        """End the browser's process at once, as a crash or a flat battery would."""
        pids = [int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit() and _uses(p, self.profile)]
        for pid in pids:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.close()
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):
            (self.profile / name).unlink(missing_ok=True)

    def restart(self) -> None:
        """Close the browser and start it on the same profile."""
        self.close()
        self.launch()

    # -- the app ----------------------------------------------------------------------
    def open(self, path: str = "", *, timeout: float = 120) -> Phone:
        """Open the app and wait for its first screen."""
        self.page.goto(self.url + path)
        return self.started(timeout=timeout)

    def reload(self, *, timeout: float = 120) -> Phone:
        self.page.reload()
        return self.started(timeout=timeout)

    def started(self, *, timeout: float = 120) -> Phone:
        """Wait until the app says its first screen is shown, and switch the semantics tree on."""
        end = time.monotonic() + timeout
        # asked again and again from outside: the page's own policy forbids a waiting script
        while not (state := self.stage()):
            if time.monotonic() > end:
                raise AssertionError(
                    f"not started in {timeout} s: {self.page.inner_text('#loading')}; {self.console[-20:]}"
                )
            time.sleep(0.05)
        if state != "shown":
            raise AssertionError(
                "the app did not start: " + self.page.inner_text("#loading") + "\n" + "\n".join(self.console[-20:])
            )
        self.semantics()
        return self

    def stage(self) -> str:
        """How far the app has come: "shown", "failed", or nothing while it starts or the page is being loaded."""
        try:
            return str(self.page.evaluate("document.documentElement.dataset.boreside || ''"))
        except Exception as error:
            if "navigation" not in str(error):
                raise
            return ""

    def semantics(self) -> None:
        self.page.wait_for_selector("flt-semantics-placeholder, flt-semantics", state="attached")
        self.page.evaluate("document.querySelector('flt-semantics-placeholder')?.click()")
        self.page.wait_for_selector("flt-semantics-host flt-semantics", state="attached")

    def offline_kept(self, *, timeout: float = 120) -> dict[str, Any]:
        """Wait until the service worker keeps every file, and return what it says."""
        end = time.monotonic() + timeout
        while True:
            got = self.page.evaluate(
                """async () => {
                  const found = await navigator.serviceWorker.getRegistration();
                  if (!found || !found.active) return null;
                  const channel = new MessageChannel();
                  return await new Promise(done => {
                    channel.port1.onmessage = e => done({...e.data, controlled: !!navigator.serviceWorker.controller});
                    found.active.postMessage({type: 'status', deep: true}, [channel.port2]);
                  });
                }"""
            )
            if got and got["ready"] and got["controlled"]:
                return got
            if time.monotonic() > end:
                raise AssertionError(f"not kept for offline use in {timeout} s: {got}; {self.console[-5:]}")
            time.sleep(0.3)

    def remembered(self, *, timeout: float = 180) -> str:
        """Wait until the started memory is kept for the next start; the name of its store."""
        end = time.monotonic() + timeout
        while not self.page.evaluate("boreside.prepared"):
            assert time.monotonic() < end, self.console[-5:]
            time.sleep(0.3)
        (name,) = [n for n in self.page.evaluate("caches.keys()") if n.startswith("boreside-start")]
        return name

    def clear(self) -> None:
        """Clear the jobs and settings the site has stored, as the browser's own settings would; the app stays kept."""
        session = self.context.new_cdp_session(self.page)
        session.send("Storage.clearDataForOrigin", {"origin": self.url.rstrip("/"), "storageTypes": "indexeddb"})

    def airplane(self, on: bool = True) -> None:
        """Take the network away: the browser is set offline and the server is stopped."""
        self.context.set_offline(on)
        if on:
            self.site.stop()
        else:
            self.site.start()

    # -- seeing -----------------------------------------------------------------------
    def read(self) -> list[dict[str, Any]]:
        """Everything the semantics tree says now, in order: label, role, value, box, state."""
        return self.page.evaluate(_READ)

    # -- doing --------------------------------------------------------------------------
    def tap_to(self, label: str | re.Pattern[str], there: str | re.Pattern[str]) -> None:
        """Tap until something is there: what is above moves when the verdict or the board grows by a line."""
        for _ in range(4):
            if self.has(label):
                self.tap(label)
            try:
                self.wait(there, timeout=4)
            except AssertionError:
                continue
            return
        self.wait(there, timeout=0)

    def tap(self, label: str | re.Pattern[str], *, timeout: float = 60, nth: int = 0) -> dict[str, Any]:
        """Tap what is so labelled, scrolling it into view if it lies outside."""
        node = self._settled(label, timeout, nth)
        size = self.page.viewport_size
        for _ in range(12):
            middle = node["y"] + node["h"] / 2
            if 0 <= middle <= size["height"] and not self._covered(node):
                break
            self.scroll(middle - size["height"] / 2)
            node = self._settled(label, timeout, nth)
        told = self._told()
        self._press(node)
        if node["role"] == "button" and not node["disabled"] and not self._taken(told) and self.has(label):
            self._press(self._settled(label, timeout, nth))  # it may have moved meanwhile
        return node

    def _press(self, node: dict[str, Any]) -> None:
        self.page.mouse.click(node["x"] + node["w"] / 2, node["y"] + node["h"] / 2)

    def _told(self) -> int:
        return int(self.page.evaluate("window.told || 0"))

    def _taken(self, told: int, *, timeout: float = 3) -> bool:
        """Whether the engine passed a tap on: one that meets a redrawing is dropped, and a person taps again."""
        end = time.monotonic() + timeout
        try:
            while self._told() <= told:
                if time.monotonic() > end:
                    return False
                time.sleep(0.03)
        except Exception as error:
            if "navigation" not in str(error) and "closed" not in str(error):
                raise
        return True

    def _covered(self, node: dict[str, Any]) -> bool:
        """Whether something else (the bar, the foot) lies over the middle of a node that scrolls."""
        return self.page.evaluate(
            """([id, x, y]) => {
              const own = document.getElementById(id), top = document.elementFromPoint(x, y);
              const over = top && top.closest('flt-semantics');
              return !!own && !!over && over !== own && !own.contains(over) && !over.contains(own);
            }""",
            [node["id"], node["x"] + node["w"] / 2, node["y"] + node["h"] / 2],
        )

    def _settled(self, label: str | re.Pattern[str], timeout: float, nth: int) -> dict[str, Any]:
        """The node once it has kept its place for a moment: Flutter drops a click that meets a changing tree."""
        node = self.find(label, timeout=timeout, nth=nth)
        while True:
            time.sleep(0.06)
            again = self.find(label, timeout=timeout, nth=nth)
            if all(again[k] == node[k] for k in ("id", "x", "y", "w", "h")):
                return again
            node = again

    def taps(self, *labels: str) -> None:
        for label in labels:
            self.tap(label)

    def type(self, label: str | re.Pattern[str], text: str) -> None:
        """Tap a text field and type into it, replacing what was there."""
        for _ in range(4):  # with the semantics tree on, the first tap after a button may only take the focus off it
            self.tap(label)
            time.sleep(0.3)
            if self.page.evaluate("['INPUT', 'TEXTAREA'].includes(document.activeElement.tagName)"):
                break
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text, delay=80)  # a quick typist; much faster and a busy engine loses letters

    def scroll(self, pixels: float) -> None:
        size = self.page.viewport_size
        self.page.mouse.move(size["width"] * 0.3, size["height"] * 0.35)  # a pad lies beneath, or at the right
        self.page.mouse.wheel(0, pixels * self.scale**2)  # the engine makes more of it where a pixel has fewer dots
        time.sleep(0.25)

    @contextmanager
    def download(self) -> Iterator[list[Path]]:
        """Collect the file that what happens inside makes the browser save: ``with phone.download() as files: ...``."""
        files: list[Path] = []
        with self.page.expect_download() as waiting:
            yield files
        got = waiting.value
        target = self.profile.parent / got.suggested_filename
        got.save_as(target)
        files.append(target)

    @contextmanager
    def choosing(self, path: Path) -> Iterator[None]:
        """Answer the file picker that what happens inside opens."""
        with self.page.expect_file_chooser() as waiting:
            yield
        waiting.value.set_files(str(path))

    # -- privacy --------------------------------------------------------------------------
    def foreign(self) -> list[str]:
        """Requests that went, or tried to go, to any other host than the app's own."""
        own = urlsplit(self.url).netloc
        return [
            u
            for u in self.requests
            if urlsplit(u).scheme in ("http", "https", "ws", "wss") and urlsplit(u).netloc != own
        ]

    def assert_private(self) -> None:
        assert not self.foreign(), f"requests to other hosts: {self.foreign()}"


def _uses(process: Path, profile: Path) -> bool:
    try:
        return f"--user-data-dir={profile}".encode() in (process / "cmdline").read_bytes()
    except OSError:
        return False
