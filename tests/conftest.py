"""How the tests are dealt out where several workers run them: one file is one group, the longest first."""

from __future__ import annotations

from pathlib import PurePath

import pytest

#: Files that take longest, begun first.
_LONG = ("test_build.py", "test_machine.py", "test_files.py", "test_transfer.py", "test_demo.py", "test_report.py")


def _file(item: pytest.Item) -> str:
    return item.nodeid.split("::")[0]


def _rank(item: pytest.Item) -> int:
    name = PurePath(_file(item)).name
    return _LONG.index(name) if name in _LONG else len(_LONG)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=_rank)
    for item in items:
        # what a file makes once for all its tests is made once, in one worker
        item.add_marker(pytest.mark.xdist_group(_file(item)))
