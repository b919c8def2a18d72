"""The temperatures of a visit: one place for all steps, and when they are old.

The sums are D20 = D (1 + αs (Tm − 20)) / (1 + α (T − 20)) with the expansions of the table (from memory).
"""

import pytest

from logic.constants import constant
from logic.say import say
from store import flow
from store import visit as warm
from store.facts.bias import as_the_block_stands
from store.facts.passes import pass_mm
from store.facts.pistons import measured_piston
from store.facts.visit import begun, block_c, master_c, rests_on
from store.facts.worn import worn_bore
from store.fields import bores, cut, sizes, visit
from store.sheets import sheet

from .making import Making

IRON, STEEL = constant("expansion.grey_iron").value, constant("expansion.steel").value
DAY = 86_400_000
START = 1_760_000_000_000


def read(made, cylinder=1):
    for depth in (1, 2, 3):
        for axis in ("thrust", "crank"):
            made.put(bores.READING, 0.1, cylinder=cylinder, depth=depth, axis=axis)


def at_20(shown, block, master):
    return shown * (1 + STEEL * (master - 20)) / (1 + IRON * (block - 20))


def gauged(block, master):
    """A gauge zeroed at 76.2 that shows 0.1 over: the master grows, the 0.1 of the dial does not."""
    return (76.2 * (1 + STEEL * (master - 20)) + 0.1) / (1 + IRON * (block - 20))


def largest(view, cylinder=1):
    return max(d for row in worn_bore(view, cylinder).d_mm for d in row if d is not None)


def test_one_temperature_holds_for_everything_that_lies_together():
    made = Making(nominal=76.2, cylinders=1)
    made.put(visit.BLOCK, 30.0, visit=1)
    read(made)
    made.put(sizes.PISTON, 76.9, cylinder=1)
    view = made.view()
    assert (block_c(view, "bore"), master_c(view, "final"), block_c(view, "hone", 1, check=2)) == (30.0, 30.0, 30.0)
    assert largest(view) == pytest.approx(gauged(30.0, 30.0), abs=1e-9)
    alloy = 76.9 * (1 + STEEL * 10) / measured_piston(view, 1)[0] - 1  # a piston and a steel micrometer at 30 °C
    assert 15e-5 < alloy < 25e-5  # aluminium, 15 to 25 millionths a degree
    told = [say(a.text) for r in flow.work_of(view, sheet("bores")).results for a in r.assumptions]
    assert "The gauge and its master are as warm as the block, 30.0 °C." in [t.replace("\u202f", " ") for t in told]


def test_a_later_visit_changes_nothing_that_was_measured_before():
    made = Making(nominal=76.2, cylinders=2)
    made.put(visit.BLOCK, 10.0, visit=1)
    made.put(visit.GAUGE, 20.0, visit=1)
    read(made)
    made.put(cut.MEASURED, 76.9, cylinder=1, **{"pass": 1})
    before = made.view()
    made.put(visit.BLOCK, 35.0, visit=2)
    read(made, cylinder=2)
    view = made.view()
    assert [n for n, _ in begun(view)] == [1, 2]
    assert worn_bore(view, 1).d_mm == worn_bore(before, 1).d_mm
    assert largest(view, 1) == pytest.approx(gauged(10.0, 20.0), abs=1e-9)
    assert largest(view, 2) == pytest.approx(gauged(35.0, 35.0), abs=1e-9)
    assert pass_mm(view, 1, 1) == pytest.approx(at_20(76.9, 10.0, 20.0), abs=1e-9)
    assert as_the_block_stands(view)["block_c"] == 35.0  # what is cut next is cut today


def test_what_was_read_before_the_first_temperature_belongs_to_that_visit():
    made = Making(nominal=76.2, cylinders=1)
    read(made)
    made.put(visit.BLOCK, 28.0, visit=1)
    assert largest(made.view()) == pytest.approx(gauged(28.0, 28.0), abs=1e-9)


def test_a_job_with_a_temperature_in_its_step_keeps_it():
    made = Making(nominal=76.2, cylinders=1)
    made.put(bores.BLOCK_C, 5.0)
    read(made)
    old = largest(made.view())
    assert old == pytest.approx(gauged(5.0, 20.0), abs=1e-9)
    assert rests_on(made.view(), "bore") == ((bores.BLOCK_C.key, ()), (bores.ZERO_C.key, ()))
    made.put(visit.BLOCK, 30.0, visit=1)
    assert block_c(made.view(), "bore") == 5.0 and block_c(made.view(), "cut", 1, **{"pass": 1}) == 30.0


def test_temperatures_grow_old_with_hours_and_overnight_and_may_be_kept():
    made = Making(nominal=76.2, cylinders=1)
    assert warm.warmth(made.view(), START) is None
    made.put(visit.BLOCK, 18.0, visit=1)
    noon = START  # 2025-10-09 08:53 UTC
    view = made.view()
    assert not warm.warmth(view, noon + 2 * 3_600_000).old
    assert warm.warmth(view, noon + 5 * 3_600_000).old
    assert warm.warmth(view, noon + DAY).old
    # within the four hours, but past midnight where the reader is, 15 hours ahead
    assert warm.warmth(view, noon + 3_600_000, offset_minutes=15 * 60).old
    made.decide(warm.KEEP, "kept")
    assert not warm.warmth(made.view(), noon + 3_600_000).old


def test_a_corrected_temperature_of_a_visit_is_seen_by_the_steps_that_rest_on_it():
    made = Making(nominal=76.2, cylinders=1)
    first = made.put(visit.BLOCK, 20.0, visit=1)
    read(made)
    made.decide("oversize", "+0.030 in", number=0.762)
    wrong = made.put(visit.BLOCK, 38.0, visit=1)
    made.entries[-1] = wrong.model_copy(update={"replaces": first.id})
    changed = flow.effect_of(made.view(), made.entries[-1])
    assert {c.sheet for c in changed} >= {"oversize", "sizes"}
