"""The page of checks is true: its figures are worked out again here, its chances lie where they should."""

import pytest

from logic.checked import CHANCES, CHECKS
from logic.checked_figures import APART, CAME_TRUE
from tests.bench import checked


def test_every_check_has_its_figure_and_nothing_else_has():
    assert set(APART) == {c.key for c in CHECKS} == set(checked.MEASURES)
    assert set(CAME_TRUE) == {c.key for c in CHANCES}


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.key)
def test_the_figure_is_the_one_measured(check):
    worst = max(abs(a - b) / abs(b) for a, b in checked.MEASURES[check.key]())
    assert worst <= 3 * APART[check.key] + 1e-12
    assert worst < 0.01


@pytest.mark.parametrize("key", [k for k in CAME_TRUE if not k.startswith(("slips", "needless", "noticed"))])
def test_stated_chances_come_true_or_err_on_the_safe_side(key):
    said, came, jobs = CAME_TRUE[key]
    assert jobs >= 100
    assert said - 0.02 <= came <= said + 0.05


def test_a_change_is_noticed():
    assert CAME_TRUE["noticed"][1] >= 0.95 and CAME_TRUE["noticed_creep"][1] >= 0.9


def test_slips_and_needless_questions_stay_within_their_goals():
    assert CAME_TRUE["slips"][1] <= 0.005 and CAME_TRUE["slips_after"][1] <= 0.005
    assert CAME_TRUE["slips_more"][1] <= 0.005 and CAME_TRUE["needless_more"][1] <= 0.01
    assert CAME_TRUE["slips_rest"][1] <= 0.005 and CAME_TRUE["needless_rest"][1] <= 0.01
    assert CAME_TRUE["slips_own"][1] <= 0.005 and CAME_TRUE["needless_own"][1] <= 0.01
    assert CAME_TRUE["slips_last"][1] <= 0.005 and CAME_TRUE["needless_last"][1] <= 0.01
    assert CAME_TRUE["needless"][1] <= 0.01 and CAME_TRUE["needless_after"][1] <= 0.01
    assert CAME_TRUE["needless_record"][1] <= 0.01


def test_the_page_of_the_repository_is_the_app_s():
    assert checked.PAGE.read_text(encoding="utf-8") == checked.page()
