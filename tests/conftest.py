"""In which order the test files come. Where several workers run them, each takes a whole file at a time.

What a file makes once for all its tests is then made once. The longest come first, so
that no worker is left with a long one at the end. The browser tests come last of all:
while the browser's driver runs in a worker, its event loop stands in the way of tests
that start their own.
"""

from __future__ import annotations

import gc
from pathlib import Path

import hypothesis
import pytest
from filelock import FileLock

# On a busy machine an example may take long, and drawing it too: neither says anything of the code.
hypothesis.settings.register_profile(
    "here",
    hypothesis.settings(),
    deadline=None,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("here")

#: The files that take longest, in the order they are begun; browser tests have a row of their own.
_LONG = (
    "test_build.py",
    "test_graph.py",
    "test_sheets.py",
    "test_files.py",
    "test_every_field_counts.py",
    "test_transfer.py",
    "test_verify.py",
    "test_isolation.py",
    "test_machine.py",
    "test_merge.py",
    "test_drawn_graph.py",
    "test_watching.py",
    "test_taps.py",
    "test_plausible.py",
    "test_boundaries.py",
    "test_report.py",
)
_BROWSER = (
    "test_walk.py",
    "test_faults.py",
    "test_memory.py",
    "test_devices.py",
    "test_offline.py",
    "test_engines.py",
    "test_whole_job.py",
    "test_storage.py",
    "test_job.py",
)


def _turn(item: pytest.Item) -> tuple[bool, int]:
    """Where a test's file comes in the order of all."""
    browser = item.path.parent.name == "browser"
    row = _BROWSER if browser else _LONG
    return browser, row.index(item.path.name) if item.path.name in row else len(row)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=_turn)


def pytest_collection_finish() -> None:
    """What stands at the start is never garbage: it is not looked through again, and the rest is not so often."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session")
def one_build() -> FileLock:
    """Held while the app is built: all workers build into the same folder, from the same cache."""
    folder = Path(__file__).parents[1] / "build"
    folder.mkdir(exist_ok=True)
    return FileLock(folder / "test-web.lock")
