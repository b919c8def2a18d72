"""Builds the offline web folder: everything the app needs, on one origin, nothing else.

The client and the Python runtime come from the installed ``flet_web`` package; the
libraries for the browser come as wheels through pip, once, and are kept in the build
cache. What the person's device gets is listed, hashed and kept by ``web/sw.js``.

A second build needs no network. The result is the same for the same inputs.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import importlib.util
import json
import mimetypes
import os
import re
import shutil
import time
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from logic.words.po import compiled

from . import icon

__all__ = ["LIBRARIES", "POLICY", "BuildError", "Built", "build", "mime", "security_headers", "sources"]

from .bundle import LIBRARIES, BuildError, Say, bytecode, digest, packed, tree, wheels, write, zipped

NAME = "Boreside"
DESCRIPTION = "Work out a rebore where the engine stands: readings in, the oversize, the settings and the checks out. Works with no signal."

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent
TEMPLATES = HERE / "web"

#: Our own packages that go into the browser.
PACKAGES = ("logic", "store", "mobile", "demo")
#: Parts of ``mobile`` that only a computer uses.
SHOP_ONLY = {
    "build.py",
    "app.lock",
    "test.lock",
    "locking.py",
    "packing.py",
    "certificate.py",
    "watching.py",
    "bundle.py",
    "serving.py",
    "ratefile.py",
    "terminal.py",
    "glyphs.py",
    "icon.py",
    "server.py",
    "command.py",
    "start.py",
    "web",
}

#: Colours of the loading screen and the manifest.
COLOURS = {
    "paper": "#fffdf7",
    "ink": "#14181d",
    "steel": "#5c6b78",
    "cut": "#b5430c",
    "night": "#101418",
    "snow": "#f4f1e8",
    "pewter": "#9aa8b4",
    "glow": "#ff9a52",
}

#: Parts of the standard library with no use on a phone's browser.
NO_USE = re.compile(
    r"^(idlelib|tkinter|turtledemo|ensurepip|venv|lib2to3|pydoc_data|xmlrpc|wsgiref|curses|dbm|sqlite3|test|distutils|_pyrepl"
    r"|unittest|multiprocessing|xml/dom|xml/etree)/"
    r"|^encodings/(big5|euc_|gb|hz|iso2022|johab|shift_|koi8|mac_|kz|ptcp|tis|palmos|hp_roman|cp(?!437|1252)|iso8859_(?!1\.|15))"
    r"|^(turtle|pydoc|doctest|pdb|bdb|cProfile|profile|pstats|trace|ftplib|imaplib|poplib|smtplib|nntplib|telnetlib"
    r"|mailbox|mailcap|webbrowser|wave|antigravity|this|tabnanny|pyclbr|rlcompleter|netrc|zipapp|pickletools|cgi|cgitb|optparse|modulefinder|_pyio)\.py$"
)

#: What may run and load: this origin only. Styles inside the page are made by the drawing engine.
POLICY = "; ".join(  # noqa: FLY002  (a rule a line)
    (
        "default-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "worker-src 'self'",
        "connect-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "manifest-src 'self'",
        "base-uri 'self'",
        "form-action 'none'",
        "object-src 'none'",
    )
)


def security_headers() -> dict[str, str]:
    """Headers for every answer; ``serve`` and the service worker both send them."""
    return {
        "Content-Security-Policy": POLICY + "; frame-ancestors 'none'",
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "no-referrer",
        "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
    }


@dataclass(frozen=True)
class Built:
    """``folder`` holds the app; ``version`` is the digest of its files; ``sizes`` are bytes by path as sent."""

    folder: Path
    version: str
    built: str
    files: int
    raw_bytes: int
    sent_bytes: int
    fresh: bool


def _client() -> Path:
    spec = importlib.util.find_spec("flet_web")
    if spec is None or spec.origin is None:
        raise BuildError("The package flet-web is not installed here. Install the project with its 'build' extra.")
    folder = Path(spec.origin).parent / "web"
    if not (folder / "main.dart.js").exists():
        raise BuildError("The installed flet-web package carries no web client.")
    return folder


def _catalogues(files: dict[str, bytes]) -> dict[str, bytes]:
    """The same files with every ``.po`` compiled, and without what only a ``.po`` needs."""
    made = {p.removesuffix(".po") + ".mo": compiled(b.decode()) for p, b in files.items() if p.endswith(".po")}
    return {p: b for p, b in files.items() if not p.endswith(".po") and p != "logic/words/po.py"} | made


def sources(packages: Iterable[str] = PACKAGES) -> dict[str, bytes]:
    """Our own files for the browser, by their path in the archive, with the entry ``main.py``."""
    found: dict[str, bytes] = {"main.py": (TEMPLATES / "main.py").read_bytes()}
    for package in (ROOT / name for name in packages):
        for path, body in tree(package).items():
            first = path.split("/")[0]
            if "__pycache__" in path or (package.name == "mobile" and first in SHOP_ONLY):
                continue
            found[f"{package.name}/{path}"] = body
    return _catalogues(found)


# ---- fonts ------------------------------------------------------------------------
def _fonts(client: Path, cache: Path, code: bytes) -> dict[str, bytes]:
    from . import glyphs

    roboto = (client / "assets/fonts/roboto.woff2").read_bytes()
    icons = (client / "assets/fonts/MaterialIcons-Regular.otf").read_bytes()
    place = cache / ("fonts-" + digest([roboto, icons, glyphs.recipe(code)])[:16] + ".zip")
    if not place.exists():
        write(
            place,
            zipped(
                {
                    "assets/fonts/text.woff2": glyphs.text_font(roboto),
                    "assets/fonts/MaterialIcons-Regular.otf": glyphs.icon_font(icons, code),
                }
            ),
        )
    with zipfile.ZipFile(place) as stored:
        return {name: stored.read(name) for name in stored.namelist()}


# ---- the page ---------------------------------------------------------------------
def _fill(name: str, /, **gaps: str) -> bytes:
    text = (TEMPLATES / name).read_text("utf-8")
    for gap, value in gaps.items():
        text = text.replace("{{" + gap + "}}", value)
    left = re.search(r"\{\{\w+\}\}", text)
    if left:
        raise BuildError(f"{name} has a gap that nothing fills: {left.group()}")
    return text.encode()


_ICON = {"src": "icons/icon-192.png", "sizes": "192x192", "type": "image/png"}
#: Pictures of the app for the browser's own question whether to install it, drawn by tests/bench/shots.py.
#: They lie in the folder and are fetched for that question only: no first visit waits for them, nothing keeps them.
SHOTS = {
    "shots/board.png": ("narrow", "A job: its verdict, the bores and what is next"),
    "shots/bores.png": ("narrow", "Worn-bore readings from the number pad"),
    "shots/oversize.png": ("wide", "The oversize that cleans up, and why"),
}


def _screenshots() -> list[dict[str, str]]:
    out = []
    for path, (form, label) in SHOTS.items():
        body = (TEMPLATES / path).read_bytes()
        width, height = (int.from_bytes(body[at : at + 4], "big") for at in (16, 20))  # PNG, IHDR
        about = {"sizes": f"{width}x{height}", "type": "image/png", "form_factor": form, "label": label}
        out.append({"src": path, **about})
    return out


def _manifest() -> bytes:
    return json.dumps(
        {
            "id": "./",
            "name": NAME,
            "short_name": NAME,
            "description": DESCRIPTION,
            "lang": "en",
            "dir": "ltr",
            "start_url": "./",
            "scope": "./",
            "display": "standalone",
            "orientation": "any",
            "background_color": COLOURS["paper"],
            "theme_color": COLOURS["paper"],
            "categories": ["utilities", "productivity"],
            "shortcuts": [
                {"name": "Quick check", "url": "./#/quick", "icons": [_ICON]},
                {"name": "Last job", "url": "./#/last", "icons": [_ICON]},
            ],
            "file_handlers": [{"action": "./#/files", "accept": {"application/json": [".json"]}}],
            "launch_handler": {"client_mode": "navigate-existing"},
            "screenshots": _screenshots(),
            "icons": [
                {**_ICON, "purpose": "any"},
                {"src": "icons/icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "any"},
                {"src": "icons/maskable-192.png", "sizes": "192x192", "type": "image/png", "purpose": "maskable"},
                {"src": "icons/maskable-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
            ],
        },
        indent=2,
    ).encode()


def _icons(cache: Path) -> dict[str, bytes]:
    place = cache / ("icons-" + digest([Path(icon.__file__).read_bytes()])[:16] + ".zip")
    if not place.exists():
        write(
            place,
            zipped(
                {
                    "icons/icon-192.png": icon.icon(192),
                    "icons/icon-512.png": icon.icon(512),
                    "icons/maskable-192.png": icon.icon(192, maskable=True),
                    "icons/maskable-512.png": icon.icon(512, maskable=True),
                    "icons/touch-180.png": icon.icon(180),
                }
            ),
        )
    with zipfile.ZipFile(place) as stored:
        return {name: stored.read(name) for name in stored.namelist()}


#: Addresses on other hosts that the client's script would ask for, and what stands in their place.
ELSEWHERE = {
    "https://cdn.jsdelivr.net/npm/@rive-app/flutter-native-wasm@44.0.0/": "assets/not-shipped/",
    "https://fonts.gstatic.com/s/": "assets/fonts/",
}


def _drawing(client: Path) -> bytes:
    """The client's script without the requests it would make to other hosts."""
    code = (client / "main.dart.js").read_text("utf-8")
    for there, here in ELSEWHERE.items():
        if there not in code:
            raise BuildError(
                f"The client no longer names {there}: the list of foreign addresses must be looked at again."
            )
        code = code.replace(there, here)
    return re.sub(r"//# sourceMappingURL=\S+", "", code).encode()


def _library(client: Path) -> dict[str, bytes]:
    """The part of Python's standard library that is of use in a browser."""
    with zipfile.ZipFile(client / "pyodide/python_stdlib.zip") as z:
        return {n: z.read(n) for n in z.namelist() if not n.endswith("/") and not NO_USE.search(n)}


def _own_icons(app: dict[str, bytes]) -> bytes:
    """The code in which the app names its icons."""
    return b"\n".join(body for path, body in app.items() if path.endswith(".py") and path.startswith("mobile/"))


def _page(
    client: Path, cache: Path, app: dict[str, bytes], names: Iterable[str], say: Say
) -> tuple[dict[str, bytes], str]:
    """Every file of the folder but sw.js, and the digest of what a started memory depends on."""

    def read(name: str) -> bytes:
        return (client / name).read_bytes()

    engine = re.search(r'"engineRevision":"([0-9a-f]+)"', (client / "flutter_bootstrap.js").read_text("utf-8"))
    if engine is None:
        raise BuildError("The client's bootstrap names no engine revision.")
    lock = json.loads(read("pyodide/pyodide-lock.json"))
    lock["packages"] = {}
    files = {
        "index.html": _fill("index.html", csp=POLICY, name=NAME, description=DESCRIPTION, **_some("paper", "night")),
        "boot.css": _fill("boot.css", **COLOURS),
        "boot.js": _fill("boot.js"),
        "manners.js": _fill("manners.js"),
        "start.js": _fill("start.js", engine=engine.group(1)),
        "manifest.webmanifest": _manifest(),
        **_icons(cache),
        "flutter.js": re.sub(rb"//# sourceMappingURL=\S+", b"", read("flutter.js")),
        "main.dart.js": _drawing(client),
        "canvaskit/canvaskit.js": read("canvaskit/canvaskit.js"),
        "canvaskit/canvaskit.wasm": read("canvaskit/canvaskit.wasm"),
        "canvaskit/chromium/canvaskit.js": read("canvaskit/chromium/canvaskit.js"),
        "canvaskit/chromium/canvaskit.wasm": read("canvaskit/chromium/canvaskit.wasm"),
        "pyodide/pyodide.mjs": re.sub(rb"//# sourceMappingURL=\S+", b"", read("pyodide/pyodide.mjs")),
        "pyodide/pyodide.asm.mjs": read("pyodide/pyodide.asm.mjs"),
        "pyodide/pyodide.asm.wasm": read("pyodide/pyodide.asm.wasm"),
        "pyodide/python_stdlib.zip": zipped(bytecode(_library(client), client, cache, say, "the standard library")),
        "version.json": read("version.json"),
        "assets/AssetManifest.bin": read("assets/AssetManifest.bin"),
        "assets/AssetManifest.bin.json": read("assets/AssetManifest.bin.json"),
        "assets/FontManifest.json": json.dumps(
            [
                {"family": "MaterialIcons", "fonts": [{"asset": "fonts/MaterialIcons-Regular.otf"}]},
                {"family": "Roboto", "fonts": [{"asset": "fonts/text.woff2"}]},
            ]
        ).encode(),
        "assets/shaders/ink_sparkle.frag": read("assets/shaders/ink_sparkle.frag"),
        "assets/shaders/stretch_effect.frag": read("assets/shaders/stretch_effect.frag"),
        # The client waits for this script when it starts and uses it for animations the app does not have.
        "assets/not-shipped/wasm/rive_native.js": b"globalThis.RiveNative = () => new Promise(() => {});\n",
        "assets/packages/wakelock_plus/assets/no_sleep.js": read("assets/packages/wakelock_plus/assets/no_sleep.js"),
        "NOTICES.txt": read("assets/NOTICES"),
        **_fonts(client, cache, _own_icons(app)),
    }
    libraries = {"__pypackages__/" + path: body for path, body in wheels(names, cache, say).items()}
    own = bytecode(app, client, cache, say, "the app")
    archive = {**bytecode(libraries, client, cache, say, "the libraries"), **own}
    # compiled libraries lie beside the archive, so that the browser can keep them compiled
    libs = {
        path: "libs/" + path.rsplit("/", 1)[1].split(".")[0] + ".wasm"
        for path in sorted(archive)
        if path.endswith(".so")
    }
    files.update({name: archive.pop(path) for path, name in libs.items()})
    files["app.zip"] = zipped(archive)
    start = digest(
        [
            json.dumps(libs),
            (TEMPLATES / "worker.js").read_bytes(),
            *(files[n] for n in sorted(files) if n.startswith(("pyodide/", "libs/", "app.zip"))),
        ]
    )[:16]
    files["worker.js"] = _fill("worker.js", lock=json.dumps(lock), libs=json.dumps(libs), start=start)
    return files, start


def _some(*names: str) -> dict[str, str]:
    return {name: COLOURS[name] for name in names}


MIME = {
    ".js": "text/javascript",
    ".mjs": "text/javascript",
    ".wasm": "application/wasm",
    ".json": "application/json",
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".webmanifest": "application/manifest+json",
    ".png": "image/png",
    ".zip": "application/zip",
    ".woff2": "font/woff2",
    ".otf": "font/otf",
    ".txt": "text/plain; charset=utf-8",
}


def mime(path: str) -> str:
    """The media type a file is sent with."""
    return MIME.get(Path(path).suffix) or mimetypes.guess_type(path)[0] or "application/octet-stream"


def _listing(files: dict[str, bytes]) -> dict[str, dict[str, object]]:
    listing: dict[str, dict[str, object]] = {}
    for path in sorted(files):
        row: dict[str, object] = {
            "hash": hashlib.sha256(files[path]).hexdigest(),
            "size": len(files[path]),
            "type": mime(path),
        }
        if path.startswith("canvaskit/"):
            row["canvas"] = "chromium" if "/chromium/" in path else "full"
        if path.endswith((".js", ".mjs")) and path != "worker.js":  # a worker's own script needs the headers
            row["script"] = True
        listing[path] = row
    return listing


def _need_packages() -> None:
    for need, package in (("fontTools", "fonttools"), ("brotli", "brotli")):
        if importlib.util.find_spec(need) is None:
            raise BuildError(
                f"The package {package} is not installed here. Install the project with its 'build' extra."
            )


def _there(folder: Path, version: str, *, compress: bool) -> Built | None:
    """What was built before, where it is the same."""
    mark = folder / "build.json"
    held = json.loads(mark.read_text("utf-8")) if mark.exists() else {}
    if held.get("version") != version or held.get("compressed") != compress:
        return None
    return Built(folder, version, held["built"], held["files"], held["raw"], held["sent"], fresh=False)


def _sent(every: dict[str, bytes], listing: dict[str, dict[str, object]]) -> int:
    """Bytes that a first visit fetches, each file packed as small as it is sent."""
    fetched = [path for path, row in listing.items() if row.get("canvas") != "full"]
    return sum(
        min(len(every[name]) for name in (path, path + ".gz", path + ".br") if name in every)
        for path in ("sw.js", *fetched)
    )


def _change_over(part: Path, folder: Path) -> None:
    """Put the finished folder ``part`` in the place of ``folder``."""
    old = folder.with_name(f".{folder.name}.old{os.getpid()}")
    if folder.exists():
        folder.rename(old)
    part.rename(folder)
    shutil.rmtree(old, ignore_errors=True)


def _say_nothing(words: str) -> None:
    pass


def build(
    folder: Path | str | None = None,
    *,
    cache: Path | str | None = None,
    say: Say = _say_nothing,
    app: dict[str, bytes] | None = None,
    libraries: Iterable[str] = LIBRARIES,
    compress: bool = True,
) -> Built:
    """Build the offline web folder and return what was built.

    ``app`` replaces our own packages (paths in the archive to bodies, with its own
    ``main.py``) and ``libraries`` the third-party ones: the bench uses both for an empty
    app built the same way. ``compress`` writes ``.gz`` and ``.br`` beside each file. Raises :class:`BuildError`.
    """
    folder = Path(folder or ROOT / "build" / "web")
    cache = Path(cache or ROOT / "build" / "cache")
    cache.mkdir(parents=True, exist_ok=True)
    client = _client()
    _need_packages()
    files, start = _page(client, cache, sources() if app is None else app, libraries, say)
    listing = _listing(files)
    parts = [x for path, row in listing.items() for x in (path, str(row["hash"]))]
    version = digest([*parts, (TEMPLATES / "sw.js").read_bytes(), json.dumps(security_headers())])[:12]
    if there := _there(folder, version, compress=compress):
        return there
    built = time.strftime("%Y-%m-%dT%H:%MZ", time.gmtime())
    files["sw.js"] = _fill(
        "sw.js",
        version=version,
        start=start,
        built=built,
        files=json.dumps(listing, indent=0),
        headers=json.dumps(security_headers()),
    )
    say("Writing and compressing the folder")
    part = folder.with_name(f".{folder.name}.{os.getpid()}")
    shutil.rmtree(part, ignore_errors=True)
    smaller = packed(files, cache) if compress else {}
    every = {**files, **smaller, **{path: (TEMPLATES / path).read_bytes() for path in SHOTS}}
    for path, body in every.items():
        write(part / path, body)
    sent = _sent(every, listing)
    raw = sum(len(files[p]) for p in listing)
    about = {
        "version": version,
        "built": built,
        "files": len(listing),
        "raw": raw,
        "sent": sent,
        "compressed": compress,
    }
    write(part / "build.json", json.dumps(about, indent=2).encode())
    _change_over(part, folder)
    return Built(folder, version, built, len(listing), raw, sent, fresh=True)
