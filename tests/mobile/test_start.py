"""The script that starts the drawing engine, in Node on a made-up page: how it draws where no graphics processor is."""

from __future__ import annotations

from typing import Any

import pytest

from . import in_node


@pytest.fixture(scope="module")
def starts() -> dict[str, Any]:
    return in_node.run("start.mjs", "start.js")


@pytest.mark.parametrize(
    ("case", "drawn"),
    [
        ("imitated", [(True, 1), (True, 0)]),  # the second start takes the first one's answer
        ("masked", [(True, 1)]),
        ("real", [(False, 1), (False, 0)]),
        ("none", [(False, 1)]),
        ("later", [(True, 1), (False, 1)]),
        ("other", [(True, 1), (False, 1)]),
        ("blocked", [(True, 1), (True, 1)]),
    ],
)
def test_the_processor_draws_where_it_would_only_imitate_graphics(
    starts: dict[str, Any], case: str, drawn: list[tuple[bool, int]]
) -> None:
    assert [(one["byProcessor"], one["asked"]) for one in starts[case]] == drawn
