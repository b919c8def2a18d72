"""Sets up everything and passes the tests: ``python3 tests/run.py``.

Makes the project's environment, installs Chromium where it is missing and we may, and
runs pytest. What follows on the command line goes to pytest. Where no Chromium can be
had the browser tests are skipped, each with the reason.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "mobile"))

import start  # noqa: E402  (the set-up is shared with the main command)


def browser() -> bool:
    """Whether a Chromium is there, after trying to install Debian's."""
    import shutil

    names = ("chromium", "chromium-browser", "google-chrome")
    if any(map(shutil.which, names)):
        return True
    start.say("Installing Chromium (Debian's package)")
    return start.apt("chromium") and any(map(shutil.which, names))


def main() -> int:
    python = start.environment("build", "test")
    if not browser():
        start.say("No Chromium could be had: the browser tests will be skipped.")
    return subprocess.run(
        [str(python), "-m", "pytest", *sys.argv[1:]], cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}
    ).returncode


if __name__ == "__main__":
    sys.exit(main())
