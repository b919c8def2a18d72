"""Sets up everything and serves the app: ``python3 mobile/start.py``.

Needs nothing but Python 3.11 or newer. It makes its own environment in ``.venv``,
installs the project into it, builds the offline web folder, serves it on this computer
and prints the address with a QR code. What follows on the command line goes to
``boreside serve`` (``--host``, ``--port``, ``--tls`` …); a first word such as ``quick``
or ``work`` runs that command instead.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PLACE = ROOT / ".venv"
VERBS = ("serve", "build", "quick", "work", "parts", "merge", "watch", "report", "demo")


def say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


def stop(words: str) -> None:
    say(words)
    sys.exit(2)


def apt(*packages: str) -> bool:
    """Install Debian packages where we may; False where we may not or it fails."""
    tool = shutil.which("apt-get")
    if tool is None:
        return False
    run = [tool] if os.geteuid() == 0 else ["sudo", "-n", tool] if shutil.which("sudo") else None
    if run is None:
        return False
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for step in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *packages]):
        if subprocess.run(
            [*run, *step], env=quiet, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, check=False
        ).returncode:
            return False
    return True


def _make(python: Path) -> None:
    say("Making an environment in .venv (once)")
    made = subprocess.run([sys.executable, "-m", "venv", str(PLACE)], capture_output=True, text=True, check=False)
    if made.returncode == 0 and python.exists():
        return
    shutil.rmtree(PLACE, ignore_errors=True)
    version = f"python{sys.version_info.major}.{sys.version_info.minor}"
    say("Python's venv module is not complete here; asking for Debian's package")
    for package in (f"{version}-venv", "python3-venv"):
        if apt(package) and subprocess.run([sys.executable, "-m", "venv", str(PLACE)], check=False).returncode == 0:
            return
        shutil.rmtree(PLACE, ignore_errors=True)
    stop(f"No environment could be made. Install Debian's package first: sudo apt-get install {version}-venv")


def environment(*extras: str) -> Path:
    """The Python of our own environment, made and filled if need be. ``extras`` as in pyproject.toml."""
    if sys.version_info < (3, 11):
        stop(f"Boreside needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    python = PLACE / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        _make(python)
    lock = ROOT / "mobile" / ("test.lock" if "test" in extras else "app.lock")
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + lock.read_bytes()).hexdigest()
    marks = {extra: PLACE / f"installed-{extra}" for extra in extras}
    if all(mark.exists() and mark.read_text() == wanted for mark in marks.values()):
        return python
    say("Installing what the project needs (once)")
    # compiled is what is imported, when it is: the rest of the packages never is
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-compile"]
    # nothing is taken but what the lock names, and the project itself is built with what is there
    _patiently([*pip, "--require-hashes", "--requirement", str(lock)])
    _patiently([*pip, "--no-deps", "--no-build-isolation", "--editable", str(ROOT)])
    for mark in marks.values():
        mark.write_text(wanted)
    return python


def _patiently(command: list[str]) -> None:
    """Run what needs the internet, three times if need be; stop with a sentence where it cannot be done."""
    for left in (2, 1, 0):
        if subprocess.run(command, stdin=subprocess.DEVNULL, check=False).returncode == 0:
            break
        if left == 0:
            stop(
                "The packages could not be installed. This step needs the internet; run the command again when there is some."
            )
        time.sleep(5)


def main() -> int:
    given = sys.argv[1:]
    if not given or given[0] not in VERBS:
        given = ["serve", *given]
    python = environment("build")
    try:
        return subprocess.run(
            [str(python), "-m", "mobile.command", *given],
            cwd=ROOT if given[0] == "serve" else None,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            check=False,
        ).returncode
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
