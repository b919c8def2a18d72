"""A worn bore's readings: geometry worked by hand.

No published source gives a worked bore; the figures are plain arithmetic on the
definitions in the docstrings (out-of-round, taper, wear), and the shape names are
common practice, no source.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.bore import ODD_MM, ODD_RISE, WornBore, section, shape_of, study
from logic.say import say

DEPTHS = (15.0, 60.0, 120.0)
AXES = ("thrust", "crank")


def bore(rows, **more):
    kept = {"cylinder": 2, "depths_mm": DEPTHS, "axes": AXES, "u_mm": 0.002}
    return WornBore(**{**kept, "d_mm": tuple(tuple(r) for r in rows), **more})


WORN = ((76.45, 76.34), (76.33, 76.28), (76.21, 76.20))


def test_figures_of_a_hand_worked_bore():
    b = bore(WORN)
    assert b.worst.d_mm == 76.45 and (b.worst.depth, b.worst.axis) == (1, "thrust")
    assert b.out_of_round_mm == {1: pytest.approx(0.11), 2: pytest.approx(0.05), 3: pytest.approx(0.01)}
    assert b.taper_mm == {"thrust": pytest.approx(0.24), "crank": pytest.approx(0.14)}
    assert b.unworn.source == "smallest reading" and b.unworn.mm == 76.20
    assert b.wear_mm == pytest.approx(0.25)
    assert b.shape.key == "taper"
    assert [d for _, d in b.profile] == pytest.approx([76.395, 76.305, 76.205])


def test_unworn_size_is_taken_from_the_surest_source():
    assert bore(WORN, stated_unworn_mm=76.19, ring_bottom_mm=100).unworn.source == "stated"
    below = bore(WORN, ring_bottom_mm=100.0).unworn
    assert below.source == "below rings" and below.mm == pytest.approx(76.205)
    assert below.u_mm == pytest.approx(math.hypot(0.002 / math.sqrt(2), 0.01 / math.sqrt(12)))
    assert bore(WORN, ring_bottom_mm=130.0).unworn.source == "smallest reading"


def test_nominal_stands_in_until_the_lowest_depth_is_read():
    first = bore(((76.45, None), (None, None), (None, None)), nominal_mm=76.19)
    assert first.unworn.source == "nominal" and first.wear_mm == pytest.approx(0.26)
    assert "until the lowest depth is read" in say(study(first).assumptions[0].text)
    assert bore(((76.45, 76.3), (76.3, 76.2), (None, None)), nominal_mm=76.19).unworn.source == "nominal"
    assert bore(WORN, nominal_mm=76.19).unworn.source == "smallest reading"
    assert bore(((76.15, None), (None, None), (None, None)), nominal_mm=76.19).unworn.source == "smallest reading"
    alone = WornBore(
        cylinder=1, depths_mm=(20.0,), axes=("thrust", "crank"), d_mm=((76.4, 76.3),), u_mm=0.002, nominal_mm=76.2
    )
    assert alone.unworn.mm == 76.2


def test_missing_cells_are_allowed_anywhere():
    b = bore(((76.45, None), (None, 76.28), (76.21, None)))
    assert b.out_of_round_mm == {}
    assert b.taper_mm == {"thrust": pytest.approx(0.24)}
    assert b.wear_mm == pytest.approx(0.24)
    assert [c.d_mm for c in b.cells] == [76.45, 76.28, 76.21]
    with pytest.raises(ValueError):
        study(bore(((None, None),) * 3))


def test_ridge_against_the_reading_above_it_and_against_the_unworn_bore():
    rows = ((76.21, 76.21), (76.45, 76.34), (76.20, 76.20))
    assert bore(rows, ring_top_mm=20.0).ridge_mm == pytest.approx(0.24)
    assert bore(WORN, ring_top_mm=10.0).ridge_mm == pytest.approx(0.25)
    assert bore(WORN).ridge_mm is None
    # readings above ring travel say nothing about shape or taper
    assert bore(rows, ring_top_mm=20.0).shape.key == "taper"
    assert bore(rows).shape.key == "barrel"


@pytest.mark.parametrize(
    ("sizes", "key"),
    [
        ((76.200, 76.205, 76.202), "straight"),
        ((76.30, 76.25, 76.20), "taper"),
        ((76.20, 76.25, 76.30), "taper"),
        ((76.20, 76.28, 76.21), "barrel"),
        ((76.28, 76.20, 76.27), "waist"),
        ((76.30, 76.21, 76.20), "bell mouth"),
        ((76.20, 76.21, 76.30), "bell mouth"),
        ((76.30, 76.20), "taper"),
    ],
)
def test_shape_names(sizes, key):
    profile = tuple(zip((10.0, 60.0, 110.0), sizes, strict=False))
    assert shape_of(profile).key == key
    assert shape_of(profile[:1]) is None


def test_a_reading_far_from_its_neighbours_is_named():
    rows = [list(r) for r in WORN]
    rows[1][0] = 76.45 + ODD_RISE * 0.25 + 0.01
    odd = bore(rows)
    assert [(c.depth, c.axis) for c in odd.odd] == [(2, "thrust")]
    assert "Measure it again" in say(study(odd).cautions[0].text)
    assert bore(WORN).odd == () and study(bore(WORN)).cautions == ()
    # wear that rises steeply to the top is no slip; a dip between its neighbours is one
    assert bore(((76.60, 76.38), (76.40, 76.29), (76.21, 76.20))).odd == ()
    dip = bore(((76.45, 76.44), (76.44 - ODD_MM - 0.01, 76.45), (76.46, 76.44)), stated_unworn_mm=76.2)
    assert [(c.depth, c.axis) for c in dip.odd] == [(2, "thrust")]


def test_a_reading_below_the_unworn_bore_is_named():
    b = bore(((76.45, 76.34), (76.33, 76.15), (76.21, 76.20)), stated_unworn_mm=76.20)
    assert [(c.depth, c.axis) for c in b.undersize] == [(2, "crank")]
    assert [c.key for c in study(b).cautions] == ["bore.undersize.2.2.crank"]


def test_unworn_warning_when_the_smallest_reading_is_not_the_lowest():
    keys = [c.key for c in study(bore(((76.20, 76.21), (76.30, 76.31), (76.28, 76.29)))).cautions]
    assert keys == ["bore.unworn.2"]


def test_words_and_picture():
    r = study(bore(WORN))
    assert (
        say(r.line)
        == "Cylinder 2: 9.8\u202fthou of wear, most at 0.59\u202fin down on the thrust axis. Shape: taper, wide at the top."
    )
    assert r.figure("out_of_round").value == pytest.approx(0.11)
    picture = section(bore(WORN), cut_diameter_mm=76.70)
    assert picture.cut_mm == pytest.approx(0.25)
    assert picture.rows[0] == (15.0, "thrust", pytest.approx(0.125))
    assert picture.governing == (15.0, "thrust")
    assert picture.length_mm == pytest.approx(132.0)


@pytest.mark.parametrize(
    "wrong",
    [
        {"axes": ("thrust", "sideways")},
        {"axes": ("thrust", "thrust")},
        {"depths_mm": (15.0, 15.0, 120.0)},
        {"u_mm": float("nan")},
        {"u_mm": -0.001},
        {"nominal_mm": 0.0},
        {"d_mm": ((76.2, 76.2),)},
        {"d_mm": ((76.2, float("inf")), (76.2, 76.2), (76.2, 76.2))},
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError):
        bore(WORN, **wrong)


@settings(max_examples=60)
@given(st.lists(st.floats(70, 80), min_size=6, max_size=6), st.floats(-2, 2))
def test_moving_the_gauge_zero_moves_sizes_and_leaves_wear(sizes, shift):
    rows = [sizes[0:2], sizes[2:4], sizes[4:6]]
    a, b = bore(rows), bore([[d + shift for d in r] for r in rows])
    assert b.wear_mm == pytest.approx(a.wear_mm, abs=1e-9)
    assert b.unworn.mm - a.unworn.mm == pytest.approx(shift, abs=1e-9)
    assert list(b.out_of_round_mm.values()) == pytest.approx(list(a.out_of_round_mm.values()), abs=1e-9)
