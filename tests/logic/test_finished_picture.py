"""The picture of a finished bore: its errors from the size wanted, at the scale of the worn one."""

import re

import pytest

from logic.bore import WornBore
from logic.bore import section as worn_section
from logic.drawing import draw
from logic.shapes import Text
from logic.verify import Spot, finished_bore, section

SPOTS = [Spot(1, "thrust", 10.0, 76.966), Spot(1, "crank", 10.0, 76.960), Spot(2, "thrust", 90.0, 76.962)]
FOUND = finished_bore(
    cylinder=2,
    spots=SPOTS,
    target_mm=76.962,
    lower_mm=76.952,
    upper_mm=76.972,
    round_limit_mm=0.01,
    taper_limit_mm=0.01,
    u_own_mm=0.001,
    u_shared_mm=0.001,
)


def texts(drawing):
    return " | ".join(s.text for s in drawing.shapes if isinstance(s, Text))


def factor(drawing):
    return float(re.search(r"enlarged ([\d.]+) times", texts(drawing))[1])


def test_errors_are_measured_from_the_size_wanted():
    p = section(FOUND, SPOTS, length_mm=120.0, at_least_mm=0.15)
    assert (p.finished, p.unworn_mm, p.length_mm, p.at_least_mm) == (True, 76.962, 120.0, 0.15)
    assert [w for _, _, w in p.rows] == pytest.approx([0.002, -0.001, 0.0])
    assert section(FOUND, SPOTS, length_mm=50.0).length_mm == 90.0


def test_two_pictures_can_share_a_scale():
    worn = WornBore(
        cylinder=2,
        depths_mm=(10.0, 90.0),
        axes=("thrust", "crank"),
        d_mm=((76.50, 76.35), (76.22, 76.20)),
        u_mm=0.003,
        length_mm=120.0,
    )
    before = worn_section(worn)
    most = max(abs(w) for _, _, w in before.rows)
    alone = draw(section(FOUND, SPOTS, length_mm=120.0), 300, 340)
    beside = draw(section(FOUND, SPOTS, length_mm=120.0, at_least_mm=most), 300, 340)
    # the depth scale may differ by the height of the foot; the exaggeration is the same
    assert factor(beside) == factor(draw(before, 300, 340)) < factor(alone)


def test_a_finished_bore_is_labelled_by_what_was_wanted():
    words = texts(draw(section(FOUND, SPOTS, length_mm=120.0), 400, 400))
    assert "wanted" in words and "unworn" not in words and "Errors enlarged" in words
