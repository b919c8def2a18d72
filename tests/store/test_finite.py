"""No answer carries a figure that JSON cannot hold: neither infinite nor "not a number"."""

import json

import pytest

from logic.result import as_data
from store.flow import work_of
from store.sheets import all_sheets
from store.transfer import examine
from store.view import View
from tests.bench.random_jobs import BEGIN_MS, export


def strictly(view):
    """Everything the steps answer, as JSON without the figures it has no way to write."""
    return {s.key: json.dumps(as_data(work_of(view, s).results), allow_nan=False) for s in all_sheets()}


#: Among them jobs with a bar whose cuts all read alike, and every sixth is a wild one.
@pytest.mark.parametrize("number", [*range(12), 27, 48])
def test_random_jobs_have_finite_answers(number):
    coming = examine(export(1, number)[0], now_ms=BEGIN_MS + 10**10)
    views = {c.id: View(c) for c in coming.documents()}
    for view in views.values():
        view.cards = {id: v for id, v in views.items() if v is not view}
        if view.document.type == "job":
            assert strictly(view)
