"""What one figure alone decides: another measurement, the engine's papers or plain geometry finds the slip in it.

The sizes are made up. How far two measurements of one thing lie apart is common practice, no source; the ratios
are worked out by hand from π/4 D² S.
"""

import math
from dataclasses import replace

import pytest

from logic.block_check import check_walls_alike
from logic.clamp_check import check_engagement, check_torque
from logic.clamping_force import Stud, grade, stud_load, thread
from logic.compression import Space
from logic.numerals import typed_number
from logic.once_check import check_deck_once, check_deck_side, check_same_weight, check_sleeves_once, check_total
from logic.readings_check import Typing, check_alike, spot
from logic.say import L, say
from logic.space_check import check_book, check_crown, check_highest, check_ratio
from logic.usual_check import check_band, check_gasket, check_largest, check_thrust, check_usual

M12 = Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=70.0)
HERE = (("clamp.torque", ()),)
TOTAL = spot("fitting.total")


def keys(doubts):
    return [d.key for d in doubts]


@pytest.mark.parametrize(("torque", "asks"), [(84.0, False), (40.0, False), (8.4, True), (2.0, True)])
def test_a_torque_with_its_point_one_place_off(torque, asks):
    """An M12 8.8 stud bears about 88 N·m: 75 % of a proof load of 84.3 mm² × 580 MPa (ISO 898-1), times 0.2 × 12 mm."""
    stud = replace(M12, torque_nm=torque)
    assert stud_load(stud, 0.75).proof_n * 0.75 * 0.2 * 0.012 == pytest.approx(88, abs=1)
    found = list(check_torque(stud, about=HERE))
    assert bool(found) == asks
    assert all("M12" in say(d.line) for d in found)


@pytest.mark.parametrize(("depth", "asks"), [(18.0, False), (24.0, False), (36.0, True), (56.0, True)])
def test_a_thread_deeper_than_blocks_are_tapped(depth, asks):
    assert bool(list(check_engagement(M12, depth, about=HERE))) == asks


def sleeves(first, again=None):
    about = {n: (spot("sleeve.outside", cylinder=n),) for n in first}
    return keys(check_sleeves_once(first, again or {}, about=about))


def test_a_single_sleeve_is_measured_twice():
    assert sleeves({2: 85.725}) == ["sleeve.once.2"]
    assert sleeves({2: 85.725}, {2: 85.731}) == []
    assert sleeves({2: 85.275}, {2: 85.725}) == ["sleeve.again.2"]  # 3.3573 for 3.3750 in: two digits swapped
    assert sleeves({2: 85.725, 3: 85.728}) == []  # two of one box confirm each other
    assert sleeves({2: 85.725, 3: 89.408}) == ["sleeve.once.2", "sleeve.once.3"]  # 3.520 for 3.375 in, or two sizes


def test_a_deck_clearance_is_measured_at_both_ends():
    about = (spot("compression.deck"),)
    assert keys(check_deck_once(0.3, None, without_mm=0.1, side="below", about=about)) == []  # the gasket is enough
    assert keys(check_deck_once(0.3, None, without_mm=0.1, side=None, about=about)) == ["deck.once"]
    assert keys(check_deck_once(-0.07, None, without_mm=0.1, side="above", about=about)) == ["deck.once"]
    assert keys(check_deck_once(-0.07, -0.69, without_mm=0.1, side="above", about=about)) == ["deck.again"]
    assert keys(check_deck_once(-0.65, -0.69, without_mm=0.1, side="above", about=about)) == []


@pytest.mark.parametrize(
    ("deck", "side", "flipped", "asks"),
    [
        (0.6, None, -0.7, True),  # the answer hangs on the sign, and nobody looked
        (0.6, None, 0.2, False),
        (-0.6, None, 1.0, False),
        (0.6, "below", -0.7, False),
        (0.6, "above", -0.7, True),
        (-0.6, "below", 1.0, True),
        (0.6, "level", -0.7, True),
        (0.03, "level", 0.1, False),
    ],
)
def test_the_sign_of_a_deck_clearance(deck, side, flipped, asks):
    assert bool(list(check_deck_side(deck, side, flipped_mm=flipped, about=HERE))) == asks


def test_the_weights_add_up():
    about = (spot("fitting.total"),)
    weights = {1: 555.9, 2: 556.4, 3: 555.2, 4: 545.2}
    assert keys(check_total(weights, 2212.7, u_g=0.3, about=about)) == []
    assert keys(check_total({**weights, 4: 555.2}, 2212.7, u_g=0.3, about=about)) == [
        "weights.total"
    ]  # of the line above


def test_a_weight_of_the_line_above():
    about = {n: spot("fitting.weight", cylinder=n) for n in (1, 2, 3)}
    assert keys(check_same_weight({1: 555.9, 2: 555.2, 3: 555.2}, u_g=0.3, about=about, total=TOTAL)) == [
        "weights.same.3"
    ]
    assert keys(check_same_weight({1: 555.9, 2: 555.2, 3: 555.9}, u_g=0.3, about=about, total=TOTAL)) == []
    assert (
        keys(check_same_weight({1: 555.0, 2: 555.0}, u_g=0.3, about=about, total=TOTAL)) == []
    )  # a scale of whole grams


def test_walls_of_one_block():
    walls = {1: {0: 7.4, 90: 1.6, 180: 8.1, 270: 7.7}, 2: {0: 7.2, 90: 7.0}}
    assert keys(check_walls_alike(walls, key="wall.reading")) == []  # thin ones stop the work by themselves
    walls[1][90] = 16.3
    (found,) = check_walls_alike(walls, key="wall.reading")
    assert found.about == (spot("wall.reading", cylinder=1, angle=90),)


def space(**more):
    """80 mm bore and stroke: 402.1 cm³ swept; with 7.04 cm³ in the gasket and 1.51 below the deck."""
    return Space(
        **{
            "bore_mm": 80.0,
            "stroke_mm": 80.0,
            "chamber_cm3": 44.0,
            "gasket_bore_mm": 82.0,
            "gasket_mm": 1.333,
            "deck_mm": 0.3,
            **more,
        }
    )


def test_the_ratio_is_that_of_engines_and_of_the_papers():
    by_hand = 1 + math.pi / 4 * 80**3 / 1000 / (44 + 7.04 + 1.51)
    assert by_hand == pytest.approx(8.65, abs=0.01)
    assert keys(check_ratio(space(), diesel=False, about=HERE)) == []
    assert keys(check_ratio(space(chamber_cm3=440.0), diesel=False, about=HERE)) == ["ratio.range"]
    assert keys(check_ratio(space(chamber_cm3=4.4), diesel=True, about=HERE)) == ["ratio.range"]
    assert keys(check_book(space(), 8.5, about=HERE)) == []
    assert keys(check_book(space(crown_cm3=4.0), 9.35, about=HERE)) == [
        "ratio.book"
    ]  # a dome of 4 cm³ entered as a dish
    assert keys(check_book(space(crown_cm3=-4.0), 9.35, about=HERE)) == []


def test_a_crown_whose_sign_decides():
    assert keys(check_crown(4.0, None, decides=True, about=HERE)) == ["ratio.crown"]
    assert keys(check_crown(4.0, 8.1, decides=True, about=HERE)) == []
    assert keys(check_crown(4.0, None, decides=False, about=HERE)) == []


@pytest.mark.parametrize(
    ("highest", "book", "diesel", "asks"),
    [
        (9.5, 8.5, False, False),
        (11.0, 8.5, False, True),
        (20.0, None, False, True),
        (20.0, None, True, False),
        (10.0, None, False, False),
        (10.0, 8.2, False, False),
    ],
)
def test_the_highest_ratio_wanted(highest, book, diesel, asks):
    assert bool(list(check_highest(highest, book, diesel=diesel, about=HERE))) == asks


def read(*texts, unit=1.0, cylinder=1):
    return {(cylinder, n, "thrust"): Typing(t, unit) for n, t in enumerate(texts)}


def alike(typed, division=0.001):
    return keys(check_alike(typed, division_mm=division, key="final.reading", about=("final.division", ())))


def test_bores_read_alike_by_chance_and_not_by_chance():
    """Six readings of a gauge that repeats within 1.5 µm fall on two neighbouring thousandths in one bore of fifty or so."""
    close = ("+0.002", "+0.003", "+0.002", "+0.003", "+0.003", "+0.002")
    far = ("+0.001", "-0.004", "+0.002", "+0.003", "+0.000", "-0.002")
    assert alike({**read(*close), **read(*far, cylinder=2)}) == []
    assert alike({**read(*close), **read(*close, cylinder=2), **read(*far, cylinder=3)}) == [
        "final.alike.1",
        "final.alike.2",
    ]
    assert alike(read(*close)) == ["final.alike.1"]  # no other bore says what this gauge does
    assert alike(read(*("+0.003",) * 6)) == ["final.alike.1"]
    # typed to a tenth of a thou: that shows no thousandths of a millimetre
    assert alike(read(*("+0.1",) * 6, unit=0.0254)) == []


@pytest.mark.parametrize(
    ("key", "value", "asks"),
    [
        ("compression.gasket", 1.24, False),
        ("compression.gasket", 2.39, True),  # 94 thou for 49: two digits swapped and one more
        ("compression.gasket_new", 0.12, True),
        ("compression.taller", -0.4, False),
        ("compression.taller", -4.19, True),  # millimetres among thou
    ],
)
def test_gaskets_and_pistons_as_they_are_made(key, value, asks):
    """Common practice, no source."""
    assert bool(list(check_usual(key, L("What"), value, "diff", about=spot(key)))) == asks


def test_a_number_typed_with_its_unit_or_not():
    assert typed_number("+3.0 thou") == (3.0, "3.0", 1)
    assert typed_number("\u22120,125") == (-0.125, "0.125", 3)
    assert typed_number(".060") == (0.06, ".060", 3)
    assert typed_number("3/8") is None and typed_number("1.2.3") is None and typed_number("thou") is None


@pytest.mark.parametrize(
    ("found", "asks"),
    [
        (check_band(L("Rpk"), 0.1, 0.35, "rough", about=(spot("a"),)), False),
        (check_band(L("Rpk"), 0.01, 0.35, "rough", about=(spot("a"),)), True),  # digits swapped: 0.10
        (check_band(L("Rpk"), 0.0, 0.35, "rough", about=(spot("a"),)), False),  # no lower limit
        (check_largest(101.6 + 1.5, 101.6, about=(spot("a"),)), False),  # sixty thou over
        (check_largest(106.77, 101.6, about=(spot("a"),)), True),  # 4.2036 for 4.0236 in
        (check_largest(153.0, 150.0, about=(spot("a"),)), False),  # a large diesel's
        (check_thrust(3.0, 3.5, about=(spot("a"),)), False),
        (check_thrust(3.0, 1.5, about=(spot("a"),)), True),
        (check_gasket(1.3, 0.45, about=(spot("a"),)), False),
        (check_gasket(1.3, 1.3, about=(spot("a"),)), False),
        (check_gasket(1.3, 1.57, about=(spot("a"),)), True),  # 61.6 for 16.6 thou
    ],
)
def test_limits_and_sizes_that_are_unusual_beside_each_other(found, asks):
    """Common practice, no source."""
    assert bool(list(found)) == asks
