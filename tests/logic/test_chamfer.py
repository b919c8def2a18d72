"""Equal chamfers, checked by plane geometry: the tool is drawn as a line and met with the bore's rim."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic import chamfer
from logic.result import Verdict

SIZES = {1: 76.90, 2: 76.90, 3: 77.15, 4: 76.90}


@given(st.floats(70, 90), st.floats(-0.5, 0.5), st.floats(0.1, 1.5), st.floats(20, 70))
@settings(max_examples=50, deadline=None)
def test_stops_give_the_same_width_on_every_size(size, more, width, angle):
    """Draw the tool: edge radius r(z) = r0 + (z_tip − z) tan(angle), z counted down. The rim is at z = 0."""
    got = chamfer.chamfers(width, angle, {1: size, 2: size + more}, touch_mm={1: 5.0})
    t = math.tan(math.radians(angle))
    r0 = size / 2 - 5.0 * t  # the edge meets the rim of bore 1 when the dial reads 5
    for row, d in zip(got.bores, (size, size + more), strict=False):
        outer = r0 + row.stop_mm * t  # the edge's radius level with the face at the stop
        assert outer - d / 2 == pytest.approx(width, abs=1e-9)


def test_forty_five_degrees_is_as_wide_as_deep():
    assert chamfer.width_mm(0.8, 45) == pytest.approx(0.8)
    assert chamfer.width_mm(0.8, 60) == pytest.approx(0.8 * 1.7320508, rel=1e-7)
    assert chamfer.depth_mm(chamfer.width_mm(0.7, 33), 33) == pytest.approx(0.7)


def test_a_larger_bore_touches_later():
    assert chamfer.touch_shift_mm(77.15, 76.90, 45) == pytest.approx(0.125)
    got = chamfer.chamfers(0.8, 45, SIZES, touch_mm={1: 2.0})
    assert [r.stop_mm for r in got.bores] == pytest.approx([2.8, 2.8, 2.925, 2.8])
    assert got.verdict == Verdict.INFO
    assert got.figure("stop3").value == pytest.approx(2.925)


def test_a_higher_face_touches_sooner():
    got = chamfer.chamfers(0.8, 45, {1: 76.9, 2: 76.9}, touch_mm={1: 2.0}, height_mm={2: 0.05})
    assert got.bores[1].touch_mm == pytest.approx(1.95)


def test_one_dial_stop_for_all_leaves_the_larger_bore_narrow():
    got = chamfer.chamfers(0.8, 45, SIZES, touch_mm={1: 2.0}, stopped_mm=dict.fromkeys(SIZES, 2.8))
    assert got.differ == (3,)
    assert got.bores[2].made_width_mm == pytest.approx(0.675)
    assert got.verdict == Verdict.MAYBE and "too narrow" in str(got.line)


def test_too_wide_is_called_as_final():
    got = chamfer.chamfers(
        0.8, 45, SIZES, touch_mm=dict.fromkeys(SIZES, 2.0), stopped_mm={1: 2.8, 2: 2.8, 3: 2.8, 4: 3.1}
    )
    assert got.differ == (4,) and got.verdict == Verdict.STOP
    assert "cannot be undone" in str(got.line)


def test_all_alike():
    got = chamfer.chamfers(0.8, 45, SIZES, touch_mm=dict.fromkeys(SIZES, 2.0), stopped_mm=dict.fromkeys(SIZES, 2.8))
    assert got.differ == () and got.verdict == Verdict.GO


def test_close_to_the_limit_asks_for_a_measured_width():
    args = {"touch_mm": dict.fromkeys(SIZES, 2.0), "stopped_mm": {1: 2.8, 2: 2.8, 3: 2.8, 4: 2.88}}
    assert chamfer.chamfers(0.8, 45, SIZES, **args).verdict == Verdict.MAYBE
    assert chamfer.chamfers(0.8, 45, SIZES, width_measured_mm={4: 0.86}, **args).verdict == Verdict.GO


def test_uncertainty_of_a_width_by_simulation():
    """JCGM 101: a touch drawn from a normal distribution of 0.02 mm, carried through to the width."""
    rng = np.random.default_rng(4)
    widths = [
        chamfer.chamfers(0.8, 60, {1: 76.9}, touch_mm={1: 2.0 + e}, stopped_mm={1: 2.4}).bores[0].made_width_mm
        for e in rng.normal(0, 0.02, 3000)
    ]
    got = chamfer.chamfers(0.8, 60, {1: 76.9}, touch_mm={1: 2.0}, stopped_mm={1: 2.4})
    assert got.figure("width1").u == pytest.approx(np.std(widths), rel=0.05)


@pytest.mark.parametrize("args", [(0.8, 45, {}), (0, 45, {1: 76}), (0.8, 90, {1: 76}), (0.8, 2, {1: 76})])
def test_impossible_input_is_refused(args):
    with pytest.raises(ValueError):
        chamfer.chamfers(*args)
