"""Firefox and WebKit, driven by what Debian packages bring and nothing else.

Firefox speaks WebDriver BiDi (W3C) over a websocket of its own; WebKit is driven by its
WebDriver (W3C) over http, in a browser that needs a screen (Xvfb). Both take the same
actions and are asked by scripts, so :class:`Engine` is thin: start, open, ask, act, end.
Under its driver WebKit keeps what is stored for one session only; :class:`LastingWebKit` is
the same browser without one, so that it can be ended and started again.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from .engine_check import firefox, mini_browser
from .harness import _READ, Seen

ENTER = "\ue007"
#: Seconds from one look at the screen to the next.
LOOK_S = 0.15


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


#: Nothing but the app is fetched and nothing is asked of the person.
PREFS = {
    "app.update.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "browser.aboutwelcome.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "toolkit.telemetry.enabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "browser.safebrowsing.downloads.remote.enabled": False,
    "extensions.update.enabled": False,
    "services.settings.server": "http://127.0.0.1:1",
}


_GAUGE = """
for (const key of [...TEXT, "Enter"]) {
  const about = {key, code: key === "Enter" ? key : "Key" + key, bubbles: true, cancelable: true, composed: true};
  const target = document.activeElement || document.body;
  for (const type of ["keydown", "keyup"]) target.dispatchEvent(new KeyboardEvent(type, about));
}
"""


def used_s(roots: Iterable[int]) -> float:
    """Seconds of processor time that these processes and all that came of them have taken (Linux; of what has ended,
    if its parent is there still)."""
    tick = os.sysconf("SC_CLK_TCK")
    above, spent = {}, {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            parts = stat.read_text().rpartition(")")[2].split()
            above[int(stat.parent.name)] = int(parts[1])
            spent[int(stat.parent.name)] = sum(map(int, parts[11:15])) / tick
    ours = set(roots)
    while more := {pid for pid, parent in above.items() if parent in ours} - ours:
        ours |= more
    return sum(spent.get(pid, 0.0) for pid in ours)


class Engine(Seen):
    """One browser on a profile of its own. Sizes are CSS pixels."""

    name = ""
    #: Whether what is stored outlives the browser's process when it is driven.
    lasting = True

    def __init__(self, profile: Path) -> None:
        self.profile = profile
        profile.mkdir(parents=True, exist_ok=True)
        self.processes: list[subprocess.Popen[bytes]] = []
        self.looked = 0.0
        self.spent_s = 0.0

    # -- what each engine does in its own way
    def start(self) -> None:
        raise NotImplementedError

    def goto(self, url: str, *, wait: bool = True) -> None:
        raise NotImplementedError

    def ask(self, script: str) -> Any:
        """The JSON value of the body of an async function, run in the page."""
        raise NotImplementedError

    def act(self, *actions: dict[str, Any]) -> None:
        """W3C actions: one source of input each."""
        raise NotImplementedError

    # -- the process
    def spawn(self, *command: str, **env: str) -> None:
        # where the tests end without a word, so does what they started
        bound = ("setpriv", "--pdeathsig", "KILL") if shutil.which("setpriv") else ()
        self.processes.append(
            subprocess.Popen(
                (*bound, *command),
                env={**os.environ, **env},
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        )

    def kill(self) -> None:
        """End the browser at once, as a crash or a flat battery would."""
        self.spent_s += used_s(process.pid for process in self.processes)
        for process in reversed(self.processes):
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        self.processes = []

    # -- the app
    def read(self) -> list[dict[str, Any]]:
        # not too often: looking costs the page as much as drawing
        time.sleep(max(0.0, self.looked + LOOK_S - time.monotonic()))
        got: list[dict[str, Any]] = self.ask(f"return ({_READ.strip()})()")
        self.looked = time.monotonic()
        return got

    def started(self, *, timeout: float = 240) -> None:
        """Wait until the first screen is shown, and switch the semantics tree on."""
        end = time.monotonic() + timeout
        while (state := self.state()) != "shown":
            assert state != "failed" and time.monotonic() < end, self.ask("return document.body.innerText")
            time.sleep(0.2)
        while not self.ask("return !!document.querySelector('flt-semantics-host flt-semantics')"):
            assert time.monotonic() < end, "no semantics tree"
            self.ask("document.querySelector('flt-semantics-placeholder')?.click()")
            time.sleep(0.2)

    def state(self) -> str:
        """How far the start is; "" while one page goes and the next comes, when a driver has none to ask."""
        with contextlib.suppress(AssertionError):
            return str(self.ask("return document.documentElement.dataset.boreside || ''"))
        return ""

    def kept(self, *, timeout: float = 100) -> dict[str, Any]:
        """Wait until the service worker keeps every file, each looked at by its digest; what it says."""
        end = time.monotonic() + timeout
        while True:
            got: dict[str, Any] = {}
            with contextlib.suppress(AssertionError):  # on a busy machine the worker answers later than the page waits
                got = self.ask("return await boreside.answers.offline(true)")
            if got.get("ready") and got["controlled"]:
                return got
            assert time.monotonic() < end, got
            time.sleep(0.5)

    def go(self, route: str) -> None:
        self.ask(f"location.hash = {json.dumps('#' + route)}")

    def tap(self, label: Any, *, timeout: float = 60) -> None:
        """Press what is so labelled, once it keeps its place."""
        node = self.find(label, timeout=timeout)
        while (again := self.find(label, timeout=timeout)) != node:
            node = again
        height = self.ask("return innerHeight")
        assert 0 <= node["y"] + node["h"] / 2 <= height, f"out of sight: {node}"
        at = {"x": int(node["x"] + node["w"] / 2), "y": int(node["y"] + node["h"] / 2)}
        self.act(
            {
                "type": "pointer",
                "id": "finger",
                "parameters": {"pointerType": "mouse"},
                "actions": [
                    {"type": "pointerMove", **at, "duration": 0},
                    {"type": "pointerDown", "button": 0},
                    {"type": "pause", "duration": 60},
                    {"type": "pointerUp", "button": 0},
                ],
            }
        )

    def tap_to(self, label: Any, there: Any) -> None:
        """Press until something is there: a press that meets a screen being drawn is lost. What is pressed may go
        meanwhile, for the screen that was asked for may come late."""
        end = time.monotonic() + 90
        while not self.has(there):
            with contextlib.suppress(AssertionError):
                self.tap(label, timeout=0)
            with contextlib.suppress(AssertionError):
                self.wait(there, timeout=10)
            assert time.monotonic() < end, f"{there!r} does not come of {label!r}; the screen says:\n{self.text()}"

    def gauge(self, text: str) -> None:
        """What a gauge types, Enter with it: keys that follow each other faster than any driver on a busy machine
        presses them, so the page itself makes them."""
        self.ask(_GAUGE.replace("TEXT", json.dumps(text)))

    def type(self, text: str) -> None:
        """Keys of a keyboard, as a hand presses them."""
        keys = [
            act
            for key in text
            for act in (
                {"type": "keyDown", "value": key},
                {"type": "keyUp", "value": key},
                {"type": "pause", "duration": 90},
            )
        ]
        self.act({"type": "key", "id": "keys", "actions": keys})


class Firefox(Engine):
    name = "firefox"

    def start(self) -> None:
        from websockets.sync.client import connect  # noqa: PLC0415  (only where there is such a browser)

        prefs = "".join(f"user_pref({json.dumps(k)}, {json.dumps(v)});\n" for k, v in PREFS.items())
        (self.profile / "user.js").write_text(prefs)
        for mark in (".parentlock", "lock"):
            (self.profile / mark).unlink(missing_ok=True)
        port = free_port()
        self.held = contextlib.ExitStack()
        self.spawn(
            str(firefox()), "--headless", "--no-remote", "--profile", str(self.profile),
            "--remote-debugging-port", str(port), HOME=str(self.profile), MOZ_HEADLESS_WIDTH="390",
        )  # fmt: skip
        end = time.monotonic() + 90
        while True:
            try:
                self.socket = self.held.enter_context(
                    connect(f"ws://127.0.0.1:{port}/session", max_size=None, origin=None, open_timeout=30)
                )
                break
            except (OSError, TimeoutError):
                assert time.monotonic() < end, "Firefox does not answer"
                time.sleep(0.2)
        self.count = 0
        self.tell("session.new", capabilities={})
        self.page = self.tell("browsingContext.getTree")["contexts"][0]["context"]
        self.tell("browsingContext.setViewport", context=self.page, viewport={"width": 390, "height": 844})

    def tell(self, method: str, **params: Any) -> dict[str, Any]:
        self.count += 1
        self.socket.send(json.dumps({"id": self.count, "method": method, "params": params}))
        while True:
            got = json.loads(self.socket.recv(timeout=180))
            if got.get("id") == self.count:
                assert got["type"] == "success", got
                result: dict[str, Any] = got["result"]
                return result

    def goto(self, url: str, *, wait: bool = True) -> None:
        self.tell("browsingContext.navigate", context=self.page, url=url, wait="complete" if wait else "none")

    def ask(self, script: str) -> Any:
        whole = f"(async () => {{ {script} }})().then(x => JSON.stringify(x ?? null))"
        got = self.tell("script.evaluate", expression=whole, target={"context": self.page}, awaitPromise=True)
        assert got["type"] == "success", got
        return json.loads(got["result"]["value"])

    def act(self, *actions: dict[str, Any]) -> None:
        self.tell("input.performActions", context=self.page, actions=list(actions))

    def kill(self) -> None:
        super().kill()
        with contextlib.suppress(Exception):
            self.held.close()


NO_WEBGL = "--features=!WebGL"


class WebKit(Engine):
    name = "webkit"
    lasting = False  # a browser under automation keeps its storage for the session only

    def start(self) -> None:
        self.port = free_port()
        screen = self.screen()
        self.spawn("WebKitWebDriver", f"--port={self.port}", **self.surroundings(screen))
        self.answering()
        # without a graphics card WebGL is far slower here than what the drawing engine does instead
        options = {"binary": str(mini_browser()), "args": ["--automation", NO_WEBGL]}
        made = self.send("POST", "", {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}})
        self.session = "/" + made["sessionId"]
        self.send("POST", "/window/rect", {"width": 500, "height": 900})
        self.send("POST", "/timeouts", {"script": 120_000, "pageLoad": 120_000})

    def screen(self) -> str:
        """A screen of its own, as X names it."""
        number = next(n for n in range(90, 200) if not Path(f"/tmp/.X11-unix/X{n}").exists())
        self.spawn("Xvfb", f":{number}", "-screen", "0", "800x1000x24", "-nolisten", "tcp")
        end = time.monotonic() + 30
        while not Path(f"/tmp/.X11-unix/X{number}").exists():
            assert time.monotonic() < end, "no screen"
            time.sleep(0.05)
        return f":{number}"

    def surroundings(self, screen: str) -> dict[str, str]:
        run = self.profile / "run"
        run.mkdir(mode=0o700, exist_ok=True)
        return {
            "DISPLAY": screen,
            "HOME": str(self.profile),
            # a locale that names no language: the app has to start all the same
            "LANG": "C.UTF-8",
            "LC_ALL": "C.UTF-8",
            "XDG_RUNTIME_DIR": str(run),
            "LIBGL_ALWAYS_SOFTWARE": "1",
            "WEBKIT_DISABLE_DMABUF_RENDERER": "1",
            # compiled once and not for the best: a test does not run long enough to gain by it, and the better compilers
            # take most of two processors for it while the app waits
            "JSC_useOMGJIT": "0",
            "JSC_useFTLJIT": "0",
        }

    def answering(self) -> None:
        """Wait until something listens at the port."""
        end = time.monotonic() + 60
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                break
            except OSError:
                assert time.monotonic() < end, "nothing answers"
                time.sleep(0.05)

    session = ""

    def send(self, method: str, path: str, body: dict[str, Any] | None = None) -> Any:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=180)
        with contextlib.closing(connection):
            headers = {"Content-Type": "application/json"}
            connection.request(method, f"/session{self.session}{path}", json.dumps(body), headers)
            answer = connection.getresponse()
            value = json.loads(answer.read())["value"]
        assert answer.status == http.client.OK, value
        return value

    def goto(self, url: str, *, wait: bool = True) -> None:
        if wait:
            self.send("POST", "/url", {"url": url})
        else:
            self.ask(f"setTimeout(() => location.assign({json.dumps(url)}), 0)")

    def ask(self, script: str) -> Any:
        whole = (
            f"const done = arguments[arguments.length - 1]; (async () => {{ {script} }})()"
            ".then(x => done(JSON.stringify(x ?? null)), e => done(JSON.stringify({failed: String(e)})))"
        )
        got = json.loads(self.send("POST", "/execute/async", {"script": whole, "args": []}))
        assert not (isinstance(got, dict) and "failed" in got), got
        return got

    def act(self, *actions: dict[str, Any]) -> None:
        self.send("POST", "/actions", {"actions": list(actions)})


#: Presses and keys made by the page itself, from the W3C actions that a driver would be given.
_BY_ITSELF = """
const pause = ms => new Promise(done => setTimeout(done, ms));
for (const {actions} of ACTIONS) {
  let at = {};
  for (const act of actions) {
    if (act.type === "pause") await pause(act.duration);
    else if (act.type === "pointerMove") at = {clientX: act.x, clientY: act.y};
    else if (act.type.startsWith("pointer")) {
      const down = act.type === "pointerDown";
      const about = {...at, bubbles: true, cancelable: true, composed: true, pointerId: 1, pointerType: "mouse", isPrimary: true, button: 0};
      const there = document.elementFromPoint(at.clientX, at.clientY);
      there.dispatchEvent(new PointerEvent(act.type.toLowerCase(), {...about, buttons: down ? 1 : 0, pressure: down ? 0.5 : 0}));
      if (!down) there.dispatchEvent(new PointerEvent("click", about));
    } else {
      const key = act.value === "ENTER" ? "Enter" : act.value;
      const about = {key, code: key === "Enter" ? key : "Key" + key, bubbles: true, cancelable: true, composed: true};
      (document.activeElement || document.body).dispatchEvent(new KeyboardEvent(act.type.toLowerCase(), about));
    }
  }
}
""".replace("ENTER", ENTER)


class LastingWebKit(WebKit):
    """WebKit as a person runs it, with a storage that outlives it. No driver reaches it then, so it is asked by the
    inspector's protocol, and what is pressed is made by the page itself."""

    lasting = True

    def start(self) -> None:
        from websockets.sync.client import connect  # noqa: PLC0415  (only where there is such a browser)

        self.port = free_port()
        inspector = {"WEBKIT_INSPECTOR_HTTP_SERVER": f"127.0.0.1:{self.port}"}
        self.spawn(
            str(mini_browser()),
            NO_WEBGL,
            "--enable-developer-extras=true",
            "about:blank",
            **self.surroundings(self.screen()),
            **inspector,
        )
        self.answering()
        self.held, self.count, self.target = contextlib.ExitStack(), 0, ""
        end = time.monotonic() + 60
        while not (place := self.inspected()):
            assert time.monotonic() < end, "nothing to inspect"
            time.sleep(0.1)
        self.socket = self.held.enter_context(
            connect(f"ws://127.0.0.1:{self.port}{place}", max_size=None, origin=None, open_timeout=30)
        )
        while not self.target:
            created = json.loads(self.socket.recv(timeout=30))
            self.target = created.get("params", {}).get("targetInfo", {}).get("targetId", "")

    def inspected(self) -> str:
        """The address of what the inspector can look at."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        with contextlib.closing(connection):
            connection.request("GET", "/")
            found = re.search(r"/socket/[0-9]+/[0-9]+/WebPage", connection.getresponse().read().decode())
        return found[0] if found else ""

    def heard(self) -> dict[str, Any]:
        """The next that the page answers; on the way it is learnt by which name the page is asked, which each has anew."""
        while True:
            said = json.loads(self.socket.recv(timeout=180))
            about = said.get("params", {})
            if said.get("method") == "Target.targetCreated" and not about["targetInfo"].get("isProvisional"):
                self.target = about["targetInfo"]["targetId"]
            elif said.get("method") == "Target.didCommitProvisionalTarget":
                self.target = about["newTargetId"]
            elif said.get("method") == "Target.dispatchMessageFromTarget":
                answer: dict[str, Any] = json.loads(about["message"])
                return answer
            assert said.get("method") != "Target.targetDestroyed" or about["targetId"] != self.target, (
                "the page is gone"
            )
            assert "error" not in said, said

    def tell(self, method: str, **params: Any) -> dict[str, Any]:
        """Put a question of the inspector's protocol to the page."""
        self.count += 1
        whole = json.dumps({"id": self.count, "method": method, "params": params})
        about = {"targetId": self.target, "message": whole}
        self.socket.send(json.dumps({"id": self.count, "method": "Target.sendMessageToTarget", "params": about}))
        while (got := self.heard()).get("id") != self.count:
            pass
        assert "error" not in got, got
        result: dict[str, Any] = got["result"]
        return result

    def goto(self, url: str, *, wait: bool = True) -> None:
        self.tell("Page.navigate", url=url)

    def ask(self, script: str) -> Any:
        whole = f"(async () => {{ {script} }})().then(x => JSON.stringify(x ?? null))"
        made = self.tell("Runtime.evaluate", expression=whole)["result"]
        got = self.tell("Runtime.awaitPromise", promiseObjectId=made["objectId"], returnByValue=True)
        assert not got.get("wasThrown"), got
        return json.loads(got["result"]["value"])

    def act(self, *actions: dict[str, Any]) -> None:
        self.ask(_BY_ITSELF.replace("ACTIONS", json.dumps(actions)))

    def kill(self) -> None:
        super().kill()
        with contextlib.suppress(Exception):
            self.held.close()


ENGINES: Sequence[type[Engine]] = (Firefox, WebKit)


@contextlib.contextmanager
def running(engine: type[Engine], profile: Path) -> Iterator[Engine]:
    """The engine on a profile, ended afterwards whatever happens."""
    one = engine(profile)
    try:
        one.start()
        yield one
    finally:
        one.kill()
        print(f"{one.name}: {one.spent_s:.0f} s of processor time")
        shutil.rmtree(profile, ignore_errors=True)
