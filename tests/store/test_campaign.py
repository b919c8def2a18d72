"""A small share of the campaign of faults (tests/bench/faults.py): nothing stored is lost, no start refused."""

from __future__ import annotations

import pytest

from tests.bench import faults

from .support import run


@pytest.mark.parametrize("seed", [11, 12])
def test_no_fault_loses_an_entry_or_keeps_the_store_from_starting(
    seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(faults.campaign(60, seed)) == 0
    assert capsys.readouterr().out.count("lost   0") > 10
