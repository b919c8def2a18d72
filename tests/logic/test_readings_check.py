"""Readings against each other and against the sizes they count from."""

import pytest

from logic import readings_check as check
from logic.bore import WornBore
from logic.readings_check import Typing, spot

NOMINAL = 76.2
WEAR = ((0.30, 0.15), (0.12, 0.06), (0.0, 0.0))


def bore(cylinder=1, shift=0.0, wear=WEAR, **more):
    d = tuple(tuple(NOMINAL + shift + w for w in row) for row in wear)
    given = {"u_mm": 0.005, "u_common_mm": 0.003, "nominal_mm": NOMINAL, "ring_bottom_mm": 110.0, **more}
    return WornBore(cylinder=cylinder, depths_mm=(14.0, 55.0, 115.0), axes=("thrust", "crank"), d_mm=d, **given)


def reference(shift=0.0, nominal=NOMINAL, last=None):
    worn = {c: bore(c, shift) for c in (1, 2, 3)}
    return list(
        check.check_reference(worn, nominal_mm=nominal, last_mm=last, u_common_mm=0.003, about=(spot("bore.zero"),))
    )


def test_unworn_bores_at_nominal_are_not_asked_about():
    assert reference() == reference(shift=0.012) == []


@pytest.mark.parametrize("shift", [0.5, -0.5, 1.0, 2.54, -2.0, 0.254, -0.1, 30.0])
def test_readings_all_shifted_alike_disagree_with_the_nominal_bore(shift):
    """Another ring, a turn of the dial, a millimetre under nominal, a zero 30 mm off."""
    (doubt,) = reference(shift)
    assert "apart" in str(doubt.line)
    assert doubt.about == (spot("bore.zero"),)


def test_an_earlier_rebore_that_was_entered_explains_the_size():
    assert reference(shift=0.508, last=NOMINAL + 0.508) == []
    assert reference(shift=0.0, last=NOMINAL + 0.508) != []
    (doubt,) = reference(shift=0.9, last=NOMINAL + 0.9)
    assert "no oversize" in str(doubt.line)


def test_a_bore_is_never_smaller_than_before_it_wore():
    assert [d.key for d in check.check_unworn(bore(stated_unworn_mm=NOMINAL + 0.06), key="u", reading="r")] == [
        "unworn.1"
    ]
    assert list(check.check_unworn(bore(stated_unworn_mm=NOMINAL + 0.004), key="u", reading="r")) == []
    assert [d.key for d in check.check_unworn(bore(stated_unworn_mm=NOMINAL - 0.2), key="u", reading="r")] == [
        "unworn.1"
    ]


def test_a_slip_at_one_place_names_the_place_and_what_was_likely_meant():
    wear = ((0.03, 0.15), (0.12, 0.06), (0.0, 0.0))  # 11.8 thou typed as 1.18
    worn = {c: bore(c) for c in (1, 2, 4)} | {3: bore(3, wear=wear)}
    typed = {(3, 1, "thrust"): Typing("1.18", 0.0254)}
    (doubt,) = check.check_readings(worn, typed, key="bore.reading")
    assert doubt.about == (spot("bore.reading", cylinder=3, depth=1, axis="thrust"),)
    assert doubt.likely is not None
    assert doubt.likely.value == pytest.approx(NOMINAL + 0.30, abs=0.01)


def test_wear_beyond_what_engines_have():
    worn = {1: bore(1, wear=((1.3, 0.9), (0.6, 0.4), (0.0, 0.0)))}
    assert "wear.1" in [d.key for d in check.check_readings(worn, {}, key="r")]


def test_a_page_copied_from_another_bore():
    texts = (("+11.8", "+5.9"), ("+4.7", "+2.4"), ("+0.1", "0"))
    typed = {
        (c, d, axis): Typing(texts[d - 1][a], 0.0254)
        for c in (1, 2)
        for d in (1, 2, 3)
        for a, axis in enumerate(("thrust", "crank"))
    }
    worn = {c: bore(c) for c in (1, 2)}
    assert [d.key for d in check.check_copies(worn, typed, key="r")] == ["copy.1.2"]
    typed[2, 1, "thrust"] = Typing("+11.9", 0.0254)
    assert list(check.check_copies(worn, typed, key="r")) == []


def test_readings_finer_than_the_gauge_shows():
    one = {(1, 1, "thrust"): Typing("1.55", 0.0254)}
    about = spot("bore.division")
    assert [d.key for d in check.check_division(one, division_mm=0.0127, key="r", about=about)] == ["division"]
    half = {(1, 1, "thrust"): Typing("+15.5", 0.0254)}
    assert list(check.check_division(half, division_mm=0.0127, key="r", about=about)) == []


@pytest.mark.parametrize(
    ("block", "master", "keys"),
    [
        (24.0, 24.0, []),
        (36.0, 30.0, []),
        (2.0, 5.0, []),
        (68.0, 20.0, ["temperature.block", "temperature.apart"]),
        (68.0, 68.0, ["temperature.block", "temperature.master"]),
        (-6.7, 20.0, ["temperature.apart"]),
        (38.0, 12.0, ["temperature.apart"]),
    ],
)
def test_temperature_in_the_other_scale(block, master, keys):
    """68 °F is 20 °C, and 20 read as °F is −6.7 °C (by definition)."""
    found = check.check_temperatures(block, master, block=spot("b"), master=spot("m"))
    assert [d.key for d in found] == keys
