"""A figure against the one beside it. How far the two may lie apart is common practice, no source; the figures are made up."""

import pytest

from logic.beside_check import (
    CUT_K,
    check_axes,
    check_cold,
    check_grades,
    check_offset,
    check_present,
    check_skim,
    check_sleeved,
    check_stiffness,
    check_trace,
    check_warm,
)
from logic.readings_check import check_temperatures, spot
from logic.say import L, say
from logic.usual_check import check_usual

HERE = (spot("a"), spot("b"))


@pytest.mark.parametrize(
    ("found", "asks"),
    [
        (check_axes(1, 2, 86.512, 86.505, about=HERE), False),
        (check_axes(1, 2, 86.512, 86.215, about=HERE), True),  # two digits swapped
        (check_warm(1, L("pass 1"), 27.0, 21.0, CUT_K, about=HERE), False),
        (check_warm(1, L("pass 1"), 81.0, 21.0, CUT_K, about=HERE), True),  # 27 °C typed as 81 °F
        (check_warm(1, L("pass 1"), 2.7, 21.0, CUT_K, about=HERE), True),
        (check_present(1, 86.01, 86.0, about=HERE), False),
        (check_present(1, 86.1, 86.0, about=HERE), True),
        (check_offset(1, 0.1, 0.2, about=HERE), False),  # all of the wear on one side: half of it, by geometry
        (check_offset(1, 0.2, 0.2, about=HERE), True),  # the whole difference from side to side
        (check_cold(-18.0, about=HERE), False),
        (check_cold(-72.0, about=HERE), False),
        (check_cold(-81.0, about=HERE), True),  # colder than dry ice, warmer than nitrogen
        (check_cold(-180.0, about=HERE), True),  # -18 one place off
        (check_cold(-195.0, about=HERE), False),
        (check_stiffness(L("Iron"), 115e3, 105e3, about=HERE), False),
        (check_stiffness(L("Iron"), 205e3, 105e3, about=HERE), True),
        (check_stiffness(L("Sleeve"), 207e3, None, about=HERE), False),
        (check_stiffness(L("Sleeve"), 70e3, None, about=HERE), True),  # a sleeve of aluminium
        (check_sleeved([3], (3,), about=HERE), False),
        (check_sleeved([2, 3], (3,), about=HERE), False),  # the second is cracked
        (check_sleeved([2], (3,), about=HERE), True),  # the wrong one, or one forgotten
        (check_sleeved([], (3,), about=HERE), False),  # the step itself says so
        (check_trace(1, 0.5, 0.2, 0.9, 1.6, about=HERE), False),
        (check_trace(1, 1.05, 0.5, 1.8, 3.3, about=HERE), False),  # too rough as a whole
        (check_trace(1, 0.14, 0.2, 0.9, 1.6, about=HERE), True),
        (check_trace(1, 1.2, 0.2, 0.9, 1.6, about=HERE), True),
        (check_skim(0.12, 0.1, about=HERE), False),
        (check_skim(1.2, 0.1, about=HERE), True),
    ],
)
def test_a_figure_and_the_one_beside_it(found, asks):
    assert bool(list(found)) == asks


ABOUT = {n: (spot("fitting.grade_low", grade=n), spot("fitting.grade_high", grade=n)) for n in (1, 2, 3)}


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        (((85.94, 85.95), (85.95, 85.96), (85.96, 85.97)), ""),
        (((85.94, 85.95), (85.951, 85.96), (85.961, 85.97)), ""),  # one figure's step between them
        (((85.94, 85.95), (85.59, 85.96), (85.96, 85.97)), "begins at"),
        (((85.94, 85.95), (85.95, 85.98), (85.96, 85.97)), "begins at"),
        (((85.94, 85.95), (85.95, 85.96), (85.96, 85.99)), "wide"),
        (((85.94, 85.95),), ""),
    ],
)
def test_the_grades_of_one_list_adjoin_and_are_alike(limits, says):
    rows = [(n, "ABC"[n - 1], low, high) for n, (low, high) in enumerate(limits, 1)]
    found = list(check_grades(rows, about=ABOUT))
    assert len(found) == bool(says)
    assert all(says in say(d.line) for d in found)


@pytest.mark.parametrize(
    ("key", "kind", "usual", "odd"),
    [
        ("sizes.hone_stock", "diff", 0.05, 0.005),
        ("sizes.hone_stock", "diff", 0.1, 0.5),
        ("sleeve.clearance", "diff", 0.06, 0.006),
        (
            "sleeve.block_limit",
            "pressure",
            80.0,
            120.0,
        ),  # a quarter of EN-GJL-350's 350 MPa is 88 (EN 1561, from memory)
        ("sleeve.least_stock", "diff", 0.4, 0.04),
        ("sleeve.room", "temperature", 12.0, 41.0),
        ("sleeve.hottest", "temperature", 140.0, 248.0),
        ("cut.feed", "feed", 0.1, 0.01),
        ("cut.wear", "ratio", 1.4, 1.0),
        ("cut.largest", "diff", 0.762, 7.62),
        ("cut.least_hone", "diff", 0.025, 0.0025),
        ("face.skim", "diff", 0.15, 0.015),
    ],
)
def test_what_is_usual_and_what_is_asked_about(key, kind, usual, odd):
    asked = [bool(list(check_usual(key, L("What"), v, kind, about=spot(key)))) for v in (usual, odd)]
    assert asked == [False, True]


def test_the_temperatures_of_two_steps_are_two_doubts():
    both = [
        list(check_temperatures(68.0, 20.0, block=spot("x"), master=spot("y"), name=step)) for step in ("cut", "hone")
    ]
    assert [d.key for found in both for d in found if d.key.endswith("block")] == [
        "temperature.cut.block",
        "temperature.hone.block",
    ]
