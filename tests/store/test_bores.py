"""From typed readings to worn bores, the oversize and the sizes.

Outside checks: ISO 1 (the handbook's worked line: a 90 mm grey-iron bore at 35 °C reads
14.9 µm large), NIST SP 811 (1 in = 25.4 mm), the ``uncertainties`` package for the
budget of a reading.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from logic import units
from logic.oversize import Outcome
from logic.result import Verdict
from logic.say import say
from store.facts.gates import CLEARANCE_RISK, PISTON_RISK
from store.facts.gauging import advised_first_mm, likely_zero_mm
from store.facts.side import sides_open
from store.sheets import bores, final, oversize, sizes, sweep

from .making import Making, square_face

#: Wear in thou at three depths on the thrust axis and the crank line: an invented engine.
ROWS = {
    1: ((9.4, 4.7), (5.1, 2.8), (0.4, 0.0)),
    2: ((11.8, 4.3), (5.9, 2.4), (0.5, 0.2)),
    3: ((13.0, 5.9), (6.7, 3.1), (0.5, 0.2)),
    4: ((9.1, 5.1), (4.7, 2.4), (0.3, 0.1)),
}


def job(rows=ROWS, *, nominal=76.2, sides=(), cylinders=4):
    making = Making(nominal=nominal, cylinders=cylinders)
    making.put(bores.RING_TOP, 10.0)
    for cylinder, grid in rows.items():
        for depth, row in enumerate(grid, 1):
            for axis, thou in zip(("thrust", "crank"), row, strict=False):
                making.put(bores.READING, thou * 0.0254, cylinder=cylinder, depth=depth, axis=axis)
    for cylinder, side in enumerate(sides, 1):
        making.put(bores.SIDE, side, cylinder=cylinder)
    return making


# -- places -----------------------------------------------------------------------------
def test_cells_come_in_the_order_of_entry():
    view = Making(nominal=76.2, cylinders=4).view()
    cells = bores.cells(view)
    assert len(cells) == 24
    assert cells[0] == {"cylinder": 1, "depth": 1, "axis": "thrust"}
    assert cells[1] == {"cylinder": 1, "depth": 1, "axis": "crank"}
    assert cells[2] == {"cylinder": 1, "depth": 2, "axis": "thrust"}
    assert cells[-1] == {"cylinder": 4, "depth": 3, "axis": "crank"}
    assert say(bores.place_name(cells[3])) == "Cylinder 1, depth 2, crank line"


def test_more_depths_and_axes_give_more_cells():
    making = Making(nominal=76.2, cylinders=2)
    making.put(bores.DEPTHS, 5)
    making.put(bores.AXES, "four")
    cells = bores.cells(making.view())
    assert len(cells) == 40 and {c["axis"] for c in cells} == {"thrust", "crank", "diag_a", "diag_b"}


def test_depths_are_spread_unless_entered():
    making = Making(nominal=76.2, cylinders=1)
    making.put(bores.LENGTH, 120.0)
    view = making.view()
    assert [bores.depth_mm(view, d) for d in (1, 2, 3)] == pytest.approx([12.0, (12 + 110.4) / 2, 110.4])
    making.put(bores.DEPTH, 70.0, depth=2)
    assert bores.depth_mm(making.view(), 2) == 70.0


def test_the_first_depth_advised_follows_the_top_of_ring_travel():
    making = Making(nominal=76.2, cylinders=1)
    making.put(bores.LENGTH, 120.0)
    assert advised_first_mm(making.view()) is None  # nothing is known of the travel
    making.put(bores.RING_TOP, 20.0)
    assert advised_first_mm(making.view()) == pytest.approx(23.0)
    assert bores.depth_mm(making.view(), 1) == 12.0  # advice: no default moves
    making.put(bores.DEPTH, 23.0, depth=1)
    assert advised_first_mm(making.view()) is None


@pytest.mark.parametrize(("top", "advised"), [(4.0, 7.0), (8.5, None), (9.5, None), (70.0, None)])
def test_a_first_depth_that_does_or_cannot_lie_below_the_top_is_not_advised_against(top, advised):
    making = Making(nominal=76.2, cylinders=1)
    making.put(bores.LENGTH, 120.0)
    making.put(bores.RING_TOP, top)
    assert advised_first_mm(making.view()) == advised


@pytest.mark.parametrize(
    ("field", "at"),
    [
        (bores.READING, {"cylinder": 1, "depth": 1, "axis": "thrust"}),
        (sweep.READING, {"cylinder": 1, "depth": 1, "angle": 0}),
        (final.READING, {"cylinder": 1, "depth": 1, "axis": "thrust"}),
    ],
)
def test_what_was_read_keeps_the_depth_it_was_read_at(field, at):
    making = Making(nominal=76.2, cylinders=1)
    making.put(field, 0.1, **at)
    before = [bores.depth_mm(making.view(), d) for d in (1, 2, 3)]
    making.put(bores.RING_TOP, 20.0)
    assert advised_first_mm(making.view()) is None
    assert [bores.depth_mm(making.view(), d) for d in (1, 2, 3)] == before


def test_the_likely_zero_is_the_nominal_bore_until_it_is_entered_or_read_from():
    making = Making(nominal=76.2, cylinders=1)
    assert likely_zero_mm(making.view()) == pytest.approx(76.2)
    assert likely_zero_mm(Making(cylinders=1).view()) is None
    assert likely_zero_mm(job().view()) is None
    making.put(bores.ZERO, 76.25)
    assert likely_zero_mm(making.view()) is None


def test_base_is_the_gauge_zero_or_the_nominal_bore():
    making = Making(nominal=76.2, cylinders=1)
    assert bores.base_mm(making.view()) == 76.2
    making.put(bores.ZERO, 76.5)
    assert bores.base_mm(making.view()) == 76.5
    assert bores.base_mm(Making(cylinders=1).view()) is None
    assert "nominal" in say(bores.work(Making(cylinders=1).view()).blocked)


# -- readings ---------------------------------------------------------------------------
def test_readings_become_diameters():
    worn = bores.worn_bores(job().view())
    assert sorted(worn) == [1, 2, 3, 4]
    assert worn[3].worst.d_mm == pytest.approx(76.2 + 13.0 * 0.0254, abs=1e-9)
    assert worn[3].worst.axis == "thrust" and worn[3].worst.depth == 1


def test_a_warm_block_reads_large():
    """90 mm grey iron at 35 °C: 14.9 µm (ISO 1, expansion 11 millionths)."""
    making = Making(nominal=90.0, cylinders=1)
    making.put(bores.READING, 0.0, cylinder=1, depth=1, axis="thrust")
    making.put(bores.BLOCK_C, 35.0)
    at_20 = bores.worn_bores(making.view())[1].worst.d_mm
    assert (90.0 - at_20) * 1000 == pytest.approx(14.85, abs=0.01)


def test_a_gauge_zeroed_warm_carries_its_masters_size():
    making = Making(nominal=90.0, cylinders=1)
    making.put(bores.READING, 0.1, cylinder=1, depth=1, axis="thrust")
    making.put(bores.BLOCK_C, 30.0)
    making.put(bores.ZERO_C, 30.0)
    expected = (90.0 * (1 + 11.5e-6 * 10) + 0.1) / (1 + 11e-6 * 10)
    assert bores.worn_bores(making.view())[1].worst.d_mm == pytest.approx(expected, abs=1e-9)


def test_budget_of_a_reading_against_the_uncertainties_package():
    making = Making(nominal=90.0, cylinders=1)
    for field, value in (
        (bores.BLOCK_C, 32.0),
        (bores.BLOCK_U, 1.5),
        (bores.ZERO_C, 26.0),
        (bores.DIVISION, 0.01),
        (bores.REPEAT, 0.005),
        (bores.MASTER_U, 0.002),
    ):
        making.put(field, value)
    step = 0.01 / math.sqrt(12)
    zero = ufloat(90, 0.002) * (1 + ufloat(11.5e-6, 0.6e-6) * (ufloat(26, 1.5) - 20)) + ufloat(0, step)
    reading = ufloat(0, step) + ufloat(0, 0.005)
    d20 = (zero + reading) / (1 + ufloat(11e-6, 1e-6 / math.sqrt(3)) * (ufloat(32, 1.5) - 20))
    assert bores.budget(making.view()).u == pytest.approx(d20.std_dev, rel=2e-3)


def test_a_corrected_zero_moves_every_size_and_no_wear():
    making = job()
    before = bores.worn_bores(making.view())
    making.put(bores.ZERO, 76.25)
    after = bores.worn_bores(making.view())
    for c in before:
        assert after[c].worst.d_mm - before[c].worst.d_mm == pytest.approx(0.05, abs=1e-9)
        assert after[c].wear_mm == pytest.approx(before[c].wear_mm, abs=1e-9)


def test_two_numbers_for_one_depth_count_as_one():
    making = Making(nominal=76.2, cylinders=1)
    making.put(bores.DEPTH, 50.0, depth=1)
    making.put(bores.DEPTH, 50.0, depth=2)
    making.put(bores.READING, 0.2, cylinder=1, depth=2, axis="thrust")
    worn = bores.worn_bores(making.view())[1]
    assert worn.depths_mm[0] == 50.0 and len(worn.depths_mm) == 2
    assert worn.worst.d_mm == pytest.approx(76.4)


def test_work_names_what_is_missing_and_draws_what_is_there():
    making = job({1: ROWS[1], 2: ((11.8, 4.3),)})
    work = bores.work(making.view())
    assert [r.key for r in work.results] == ["bore.1", "bore.2"]
    assert len(work.missing) == 24 - 8 and not work.done
    assert work.missing[0] == ("bore.reading", {"cylinder": 2, "depth": 2, "axis": "thrust"})
    assert len(work.pictures) == 2
    assert bores.work(job().view()).done
    assert any("gauge division" in say(i.name) for i in work.results[0].influences)


def test_unworn_size_and_ring_travel_reach_the_study():
    making = job()
    making.put(bores.UNWORN, 76.19, cylinder=3)
    making.put(bores.RING_BOTTOM, 100.0)
    worn = bores.worn_bores(making.view())
    assert worn[3].unworn.source == "stated" and worn[3].unworn.mm == 76.19
    assert worn[1].unworn.source == "below rings"


def test_swept_without_an_offset_stays_unknown():
    making = job(sides=("swept", "one side"))
    assert bores.wear_side(making.view(), 1).known == "unknown"
    making.put(bores.OFFSET, 0.05, cylinder=1)
    assert bores.wear_side(making.view(), 1).known == "swept"
    assert bores.wear_side(making.view(), 2).known == "one side"


# -- oversize ------------------------------------------------------------------------------
def test_verdict_of_the_job():
    """Cylinder 2's wear, all on one side, stands 11.8 thou out: +0.020 in, bored at +17, does not reach 23.4."""
    made = square_face(job(sides=("even", "one side", "even", "even")))
    work = oversize.work(made.view())
    verdict = work.results[0]
    assert verdict.key == "oversize" and verdict.outcome == Outcome.STEP
    assert not work.done  # advice is no decision
    made.decide("oversize", "+0.020 in", number=0.508)
    assert not oversize.work(made.view()).done  # and one that does not clean up is none to be green about
    made.decide("oversize", "+0.030 in", number=0.762)
    assert oversize.work(made.view()).done
    assert verdict.step_mm == pytest.approx(0.762) and verdict.governing == 2
    assert verdict.naive.fails and verdict.naive.cylinders == (2,) and verdict.naive.step_mm == pytest.approx(0.508)
    assert say(verdict.line).startswith("Bores at +0.030\u202fin clean up all four. Cylinder 2 governs, ")
    assert [r.key for r in work.results[1:]] == [f"oversize.{c}" for c in (1, 2, 3, 4)]
    assert work.pictures[1].cut_mm == pytest.approx((76.8858 - bores.worn_bores(job().view())[2].unworn.mm) / 2)


def test_blocked_until_there_is_something_to_go_by():
    assert "nominal" in say(oversize.work(Making(cylinders=4).view()).blocked)
    assert "Measure" in say(oversize.work(Making(nominal=76.2, cylinders=4).view()).blocked)
    assert oversize.choice(Making(nominal=76.2).view()) is None


def test_part_of_the_readings_give_a_verdict_so_far():
    work = oversize.work(job({1: ROWS[1]}).view())
    assert work.results[0].verdict == Verdict.INFO and not work.done
    assert "Still to be measured: cylinder 2, 3, 4." in say(work.results[0].line)


def test_the_first_reading_alone_already_counts_from_nominal():
    making = Making(nominal=76.2, cylinders=1)
    making.put(bores.RING_TOP, 10.0)
    making.put(bores.READING, 9.0 * 0.0254, cylinder=1, depth=1, axis="thrust")
    found = oversize.choice(making.view())
    assert found.outcome == Outcome.STEP
    assert found.cleanups[0].high_mm == pytest.approx(76.2 + 18.0 * 0.0254)


def test_a_decision_wins_and_is_weighed():
    making = job(sides=("even", "one side", "even", "even"))
    making.decide("oversize", "+0.020 in", number=0.508)
    view = making.view()
    assert oversize.chosen_step_mm(view) == 0.508
    work = oversize.work(view)
    assert say(work.results[0].line).startswith("You decided on +0.020\u202fin, the advice is +0.030")
    assert work.results[2].verdict == Verdict.STOP
    assert sizes.finished_mm(view, 1) == pytest.approx(76.708)
    assert any(r.verdict == Verdict.STOP for r in sizes.work(view).results)


def test_listed_pistons_and_series():
    making = job()
    making.put(oversize.LISTED, 0.635, item=1)
    assert oversize.steps_mm(making.view()) == pytest.approx((0.254, 0.508, 0.635, 0.762, 1.016, 1.524))
    making.put(oversize.SERIES, "listed")
    assert oversize.steps_mm(making.view()) == (0.635,)
    assert oversize.steps_mm(job(nominal=77.0).view())[0] == 0.25


def test_the_makers_largest_bore_stops_the_job():
    making = job(sides=("even", "one side", "even", "even"))
    making.put(oversize.LARGEST, 76.8)
    verdict = oversize.work(making.view()).results[0]
    assert verdict.outcome == Outcome.STOP and verdict.verdict == Verdict.STOP


def test_mixed_steps_give_each_cylinder_its_own_size():
    making = square_face(job(sides=("even", "one side", "even", "even")))
    making.put(oversize.MIXED, "yes")
    view = making.view()
    assert oversize.choice(view).outcome == Outcome.MIXED
    assert [oversize.step_of_mm(view, c) for c in (1, 2, 3, 4)] == pytest.approx([0.508, 0.762, 0.508, 0.508])
    assert sizes.finished_mm(view, 1) == pytest.approx(76.708) and sizes.finished_mm(view, 2) == pytest.approx(76.962)


# -- sizes ------------------------------------------------------------------------------------
def test_sizes_follow_the_step_until_pistons_are_measured():
    making = job()
    view = making.view()
    assert sizes.finished_mm(view, 1) == pytest.approx(76.962)
    assert sizes.bored_mm(view, 1) == pytest.approx(76.962 - 0.0762)
    assert sizes.piston_mm(view, 1) == pytest.approx(76.962 - sizes.clearance_mm(view))
    making.put(sizes.CLEARANCE, 0.060)
    making.put(sizes.PISTON, 76.895, cylinder=2)
    view = making.view()
    assert sizes.finished_mm(view, 2) == pytest.approx(76.955)
    assert sizes.finished_mm(view, 1) == pytest.approx(76.962)
    assert sizes.clearance_mm(view) == 0.060


def test_a_cold_piston_is_brought_to_20_degrees():
    """A 90 mm aluminium piston at 5 °C reads 1.06 thou small (ISO 1, 20 millionths)."""
    making = Making(nominal=90.0, cylinders=1)
    making.put(sizes.PISTON, 90.0, cylinder=1)
    making.put(sizes.PISTON_C, 5.0)
    assert (sizes.piston_mm(making.view(), 1) - 90.0) / 0.0254 == pytest.approx(1.063, abs=0.002)


def test_a_piston_of_another_step_is_noticed():
    making = job()
    making.put(sizes.PISTON, 76.64, cylinder=1)
    result = next(r for r in sizes.work(making.view()).results if r.key == "sizes.1")
    assert "sizes.other_step.1" in [c.key for c in result.cautions]


def test_sizes_work_gives_running_clearance_and_ring_gap_change():
    """A bore larger by ΔD opens the gap by π ΔD: 1 thou gives 3.14."""
    work = sizes.work(job().view())
    by = {r.key: r for r in work.results}
    assert set(by) == {"sizes.1", "sizes.2", "sizes.3", "sizes.4", "sizes.running", "ring.opened"}
    # the bore that grows most opens its rings' gaps most
    grown = max(by[f"sizes.{c}"].finished_mm - w.unworn.mm for c, w in bores.worn_bores(job().view()).items())
    assert by["ring.opened"].value.value == pytest.approx(math.pi * grown)
    assert not work.done  # nothing is decided, no piston measured, the clearance assumed


def test_sizes_are_settled_by_a_decision_the_pistons_and_the_clearance():
    made = job()
    made.decide("oversize", "+0.030 in", number=0.762)
    assert {key for key, _ in sizes.work(made.view()).missing} == {"sizes.piston", "sizes.clearance"}
    assert {r.what for r in sizes.work(made.view()).risks} == {PISTON_RISK, CLEARANCE_RISK}
    risked = job()
    risked.decide("oversize", "+0.030 in", number=0.762)
    risked.decide(PISTON_RISK, "without")
    assert not sizes.work(risked.view()).done
    risked.decide(CLEARANCE_RISK, "the usual one")
    assert sizes.work(risked.view()).done and not sizes.work(risked.view()).risks
    for c in (1, 2, 3, 4):
        assert not sizes.work(made.view()).done
        made.put(sizes.PISTON, 76.9, cylinder=c)
    made.put(sizes.CLEARANCE, 0.06)
    assert sizes.work(made.view()).done


def test_hone_only_keeps_the_pistons():
    making = job(dict.fromkeys((1, 2, 3, 4), ((0.3, 0.2), (0.2, 0.1), (0.1, 0.0))))
    view = making.view()
    assert oversize.choice(view).outcome == Outcome.HONE and oversize.chosen_step_mm(view) == 0.0
    assert sizes.bored_mm(view, 1) is None
    assert sizes.finished_mm(view, 1) == pytest.approx(76.2 + 0.3 * 0.0254 + 0.008)
    assert not sizes.work(view).done  # the pistons that are kept are measured too
    making.decide("oversize", "hone only", number=0.0)
    making.put(sizes.CLEARANCE, 0.06)
    assert not sizes.work(making.view()).done
    making.decide(PISTON_RISK, "they stay in")
    assert sizes.work(making.view()).done


# -- which side wore is asked once ------------------------------------------------------------
def test_the_side_is_asked_of_every_bore_once_the_last_reading_is_in():
    short = job()
    last = short.entries.pop()
    assert sides_open(short.view()) == ()
    short.entries.append(last)
    assert sides_open(short.view()) == (1, 2, 3, 4)
    assert sides_open(Making(nominal=76.2, cylinders=4).view()) == ()


def test_an_answer_settles_its_bore_and_cannot_tell_settles_all_and_changes_nothing():
    one = job()
    one.put(bores.SIDE, "unknown", cylinder=2)
    assert sides_open(one.view()) == (1, 3, 4)
    told = job()
    before = oversize.work(told.view()), bores.work(told.view())
    told.decide(bores.SIDE.key, "Cannot tell")
    assert sides_open(told.view()) == ()
    assert (oversize.work(told.view()), bores.work(told.view())) == before


def test_the_side_is_not_asked_where_it_decides_nothing():
    decided = job()
    decided.decide("oversize", "+0.030 in", number=0.762)
    assert sides_open(decided.view()) == ()
    unworn = job(dict.fromkeys((1, 2, 3, 4), ((0.3, 0.2), (0.2, 0.1), (0.1, 0.0))))
    assert oversize.choice(unworn.view()).outcome == Outcome.HONE and sides_open(unworn.view()) == ()


def test_a_bore_that_was_swept_is_not_asked_about():
    making = job()
    for cylinder in (1, 2, 3, 4):
        making.put(sweep.ZERO, 76.5, cylinder=cylinder)
        for depth in (1, 2, 3):
            for angle in range(0, 360, 45):
                making.put(sweep.READING, 0.0, cylinder=cylinder, depth=depth, angle=angle)
        assert sides_open(making.view()) == tuple(range(cylinder + 1, 5))


# -- the unit typed changes nothing -----------------------------------------------------------
@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(0, 240), min_size=8, max_size=8))
def test_results_do_not_change_with_the_unit_typed(tenths):
    """The same readings typed as thou, as tenths, in millimetres and as divisions of the gauge."""
    ways = []
    for write, how in (
        (lambda t: f"{t / 10:.1f}", {"length_unit": "in"}),
        (lambda t: f"{t} tenths", {"length_unit": "in"}),
        (lambda t: f"{t * 0.00254:.5f}", {"length_unit": "mm"}),
        (lambda t: f"{t} div", {"length_unit": "mm", "divisions_mm": 0.00254}),
    ):
        making = Making(nominal=76.2, cylinders=2)
        places = [c for c in bores.cells(making.view()) if c["depth"] < 3]
        for place, t in zip(places, tenths, strict=False):
            making.typed(bores.READING, units.parse(write(t), bores.READING, **how), **place)
        ways.append(oversize.choice(making.view()))
    first = ways[0]
    for other in ways[1:]:
        assert other.step_mm == first.step_mm and other.outcome == first.outcome
        assert other.needed_mm == pytest.approx(first.needed_mm, abs=1e-6)
        assert [s.probability for s in other.steps] == pytest.approx([s.probability for s in first.steps], abs=1e-6)
        assert say(other.line) == say(first.line)


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [("3.2 in", "in", "too_large"), ("nothing", "in", "letters"), ("", "mm", "empty"), ("400 mm", "mm", "too_large")],
)
def test_a_reading_that_cannot_be_right_is_refused_with_a_sentence(text, unit, code):
    with pytest.raises(units.EntryError) as refused:
        units.parse(text, bores.READING, length_unit=unit)
    assert refused.value.code == code and say(refused.value.line)


def test_a_block_at_200_degrees_is_refused():
    with pytest.raises(units.EntryError) as refused:
        units.parse("200", bores.BLOCK_C)
    assert refused.value.code == "too_large" and "70" in say(refused.value.line)
