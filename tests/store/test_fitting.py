"""Pistons to bores as a step of the job: measured pistons, logged passes and final readings."""

import pytest

from logic.constants import constant
from logic.result import Verdict
from logic.say import say
from store.sheets import compression, cut, final, fitting, sizes
from store.sheets.bores import READING

from .making import Making

IN = 25.4
THOU = 0.0254
TENTH = 0.00254
#: Invented pistons, marked 1 to 4, by what they measure at 20 °C.
SIZES = {1: 3.0279, 2: 3.0275, 3: 3.0281, 4: 3.0277}


def job():
    made = Making(nominal=3.0 * IN, cylinders=4)
    for c in range(1, 5):
        made.put(READING, 10 * THOU, cylinder=c, depth=1, axis="thrust")
    made.decide("oversize", "step", number=0.030 * IN)
    made.put(sizes.CLEARANCE, 2.5 * THOU)
    return made


def with_pistons(made):
    for c, size in SIZES.items():
        made.put(sizes.PISTON, size * IN, cylinder=c)
    return made


def finished(made, sizes_in):
    """Final readings: every place of a cylinder at one size."""
    made.put(final.ZERO, 3.030 * IN)
    for c, size in sizes_in.items():
        for depth in (1, 2, 3):
            for axis in ("thrust", "crank"):
                made.put(final.READING, (size - 3.030) * IN, cylinder=c, depth=depth, axis=axis)
    return made


def keyed(work):
    return {r.key: r for r in work.results}


def test_pistons_must_be_measured_first():
    work = fitting.work(job().view())
    assert "Measure every piston" in say(work.blocked)


def test_before_boring_there_is_nothing_to_pair():
    work = fitting.work(with_pistons(job()).view())
    assert "Bore the cylinders first" in say(work.blocked) and not work.done


def test_bored_cylinders_get_the_pistons_that_leave_even_stock():
    made = with_pistons(job())
    now = {1: 3.0272, 2: 3.0276, 3: 3.0274, 4: 3.0278}
    for c, size in now.items():
        made.put(cut.MEASURED, size * IN, cylinder=c, **{"pass": 1})
    found = keyed(fitting.work(made.view()))["fitting.own"]
    # in order of size: bores 1, 3, 2, 4 take pistons 2, 4, 1, 3
    assert {s.cylinder: s.piston for s in found.sizes} == {1: 2, 3: 4, 2: 1, 4: 3}
    assert found.finished_mm(2) == pytest.approx((3.0279 + 0.0025) * IN)
    assert [s.stock_mm / THOU for s in found.sizes] == pytest.approx([2.8] * 4)


def test_finished_bores_are_paired_and_the_pairs_may_be_settled():
    made = finished(with_pistons(job()), {1: 3.0300, 2: 3.0304, 3: 3.0306, 4: 3.0302})
    made.put(sizes.PISTON_C_U, 1.0)
    work = fitting.work(made.view())
    found = keyed(work)["fitting.pairs"]
    assert {p.cylinder: p.piston for p in found.pairs} == {1: 2, 2: 1, 3: 3, 4: 4}
    assert found.worst_mm == pytest.approx(0, abs=2e-6)
    assert found.as_numbered_mm / TENTH == pytest.approx(4, abs=1e-3)
    assert found.verdict == Verdict.GO and work.done
    # the exchange is entered: now the sizes follow the pistons
    made.put(sizes.FITTED, 2, cylinder=1)
    made.put(sizes.FITTED, 1, cylinder=2)
    view = made.view()
    assert sizes.piston_mm(view, 1) == pytest.approx(SIZES[2] * IN) and sizes.piston_mm(view, 2) == pytest.approx(
        SIZES[1] * IN
    )
    assert sizes.finished_mm(view, 1) == pytest.approx(3.0300 * IN)
    assert keyed(fitting.work(view))["fitting.pairs"].worst_mm == pytest.approx(0, abs=2e-6)


def test_a_piston_cannot_be_in_two_bores():
    made = finished(with_pistons(job()), dict.fromkeys(range(1, 5), 3.0302))
    made.put(sizes.FITTED, 2, cylinder=1)
    work = fitting.work(made.view())
    assert "Piston 2 is put in two bores" in say(work.blocked)
    made.put(sizes.FITTED, 9, cylinder=2)
    made.put(sizes.FITTED, 1, cylinder=1)
    assert "not measured" in say(fitting.work(made.view()).blocked)


def test_cold_pistons_are_brought_to_20_degrees_before_they_are_paired():
    made = finished(with_pistons(job()), dict.fromkeys(range(1, 5), 3.0302))

    def mean(view):
        pairs = keyed(fitting.work(view))["fitting.pairs"].pairs
        return sum(p.clearance_mm for p in pairs) / len(pairs)

    warm = mean(made.view())
    made.put(sizes.PISTON_C, 5.0)
    # 15 degrees too cold, each grows by D alpha 15 on the way to 20 °C (alpha from the table, from memory)
    alpha = constant("expansion.piston.cast").value
    assert warm - mean(made.view()) == pytest.approx(3.0278 * IN * alpha * 15, rel=2e-3)


def test_grades_and_marks():
    made = finished(with_pistons(job()), {1: 3.0300, 2: 3.0304, 3: 3.0306, 4: 3.0302})
    for n, (name, low, high) in enumerate((("A", 3.0274, 3.0277), ("B", 3.0277, 3.0280), ("C", 3.0280, 3.0283)), 1):
        made.put(fitting.GRADE, name, grade=n)
        made.put(fitting.GRADE_LOW, low * IN, grade=n)
        made.put(fitting.GRADE_HIGH, high * IN, grade=n)
    made.put(fitting.MARK, "B", cylinder=1)
    made.put(fitting.MARK, "A", cylinder=3)
    found = keyed(fitting.work(made.view()))
    # middles 3.02755, 3.02785, 3.02815 plus 0.0025: nearest to each bore
    assert found["fitting.grades"].grades == {1: "A", 2: "B", 3: "C", 4: "A"}
    assert found["fitting.grades"].order == {"A": 2, "B": 1, "C": 1}
    assert found["fitting.grade.1"].verdict == Verdict.GO
    assert found["fitting.grade.3"].verdict == Verdict.STOP and "as grade C should" in say(
        found["fitting.grade.3"].line
    )


def test_weights():
    made = job()
    for c, w in {1: 412.0, 2: 409.5, 3: 418.2, 4: 411.0}.items():
        made.put(fitting.WEIGHT, w, cylinder=c)
    made.put(fitting.SPIN, 5000.0)
    found = keyed(fitting.work(made.view()))["fitting.weights"]
    assert found.spread_g == pytest.approx(8.7) and found.verdict == Verdict.STOP and found.force_n is None
    made.put(compression.STROKE, 88.9)
    # m r w² = 0.0087 kg x 0.04445 m x (523.6 /s)² = 106 N
    assert keyed(fitting.work(made.view()))["fitting.weights"].force_n == pytest.approx(106.0, abs=0.1)
