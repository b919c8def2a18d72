"""Renews the locks: ``python -m mobile.locking`` (needs the ``lock`` extra: ``pip install uv``).

``app.lock`` holds what the command and the build take in, ``test.lock`` that and what the
tests do: one version each, for Python 3.11 and newer on any platform, with the SHA-256 of
every file of that version. The browser's wheels are files of the same versions. What is
installed and what is built from is checked against them; nothing else is taken.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOCKS = {"app.lock": ("build",), "test.lock": ("build", "test")}


def main() -> int:
    """Write both locks anew; the exit code of what resolves them."""
    for name, extras in LOCKS.items():
        command = [sys.executable, "-m", "uv", "pip", "compile", "pyproject.toml", "--universal", "--generate-hashes"]
        command += ["--python-version", "3.11", "--no-header", "--no-annotate", "--upgrade", "--quiet"]
        command += [part for extra in extras for part in ("--extra", extra)]
        if name != "app.lock":
            command += ["--constraint", "mobile/app.lock"]
        done = subprocess.run([*command, "--output-file", f"mobile/{name}"], cwd=ROOT, check=False)  # noqa: S603  our own words
        if done.returncode:
            return done.returncode
    return 0


if __name__ == "__main__":
    sys.exit(main())
