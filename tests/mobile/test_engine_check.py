"""A browser engine that cannot be driven is said by name, and fails the run that must have all of them."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from tests.browser import engine_check

RUN = Path(__file__).parents[2] / ".ci" / "run"


@pytest.mark.parametrize("name", sorted(engine_check.PACKAGES))
def test_a_missing_engine_is_said_and_fails_the_whole_run(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _command: None)
    why = engine_check.lacking(name)
    assert why.endswith(f"(Debian: apt-get install {' '.join(engine_check.PACKAGES[name])})")
    (looked_for,) = re.findall(r"grep -qE '(\^SKIPPED[^']*)'", RUN.read_text("utf-8"))
    line = f"SKIPPED [7] tests/browser/test_engines.py:53: {why}"  # as pytest -rs prints it
    assert re.search(looked_for, line) and not re.search(looked_for, "SKIPPED [1] tests/x.py:1: another reason")


def test_all_that_was_installed_is_driven(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda command: f"/usr/bin/{command}")
    monkeypatch.setattr(engine_check, "mini_browser", lambda: Path("/usr/lib/MiniBrowser"))
    assert [engine_check.lacking(name) for name in engine_check.PACKAGES] == ["", ""]
