"""What a sweep, a chamfer and a ring maker's gap say against what else is known (geometry; bounds common practice)."""

import math

import pytest

from logic.chamfer_check import check_across as check_width
from logic.chamfer_check import check_none_across, check_touches
from logic.compression import Space
from logic.gap_check import check_least, check_widest
from logic.say import L, Style, say
from logic.space_check import check_highest, check_ratio
from logic.sweep_check import Across, SweptRing, check_across, check_inside, check_rings_copied, check_smooth

MM = Style(length="mm")


def told(line):
    """In words, with plain spaces."""
    return say(line, MM).replace("\u202f", " ")


ROUND = range(0, 360, 45)


def ring(depth=1, mm=12.0, wear=0.12, front=0.03, left=-0.02, **odd):
    """A bore off the spindle, worn to the left by half a sine, which has waves of every number."""
    out = {
        a: front * math.cos(math.radians(a))
        + left * math.sin(math.radians(a))
        + wear * max(0.0, math.sin(math.radians(a)))
        for a in ROUND
    }
    return SweptRing(depth, mm, out | {int(k[1:]): v for k, v in odd.items()})


def smooth(*rings):
    return list(check_smooth(1, rings, u_mm=0.005, key="sweep.reading"))


def test_a_worn_wall_is_smooth_and_a_misread_place_is_not():
    assert not smooth(ring(), ring(wear=0.3))
    found = smooth(ring(), ring(depth=3, mm=115.0, wear=0.0, a135=0.25))
    assert [d.key for d in found] == ["sweep.smooth.1"]
    assert "the rear left" in told(found[0].line)
    assert found[0].about == (("sweep.reading", (("angle", 135), ("cylinder", 1), ("depth", 3))),)
    assert "115.0 mm" in told(found[0].line)
    # at a place where 0.12 is worn the sign turned round makes 0.24
    assert smooth(ring(a90=-0.10))
    # a turn of the dial that goes unseen from one place on is a step in the curve
    assert smooth(ring(a225=1.0, a270=1.0, a315=1.0))


def test_gauge_and_sweep_give_one_zero():
    def across(*zeros):
        found = [Across(12.0 + n, 90, z, ((f"place{n}", ()),)) for n, z in enumerate(zeros)]
        return list(check_across(2, found, u_mm=0.006))

    assert not across(86.0) and not across(86.0, 86.02, 85.99, 86.01)
    (less,) = across(86.0, 86.01, 86.10, 85.99)  # the wall is 0.1 further out than the two readings say
    assert "less of the bore" in told(less.line) and "the left" in told(less.line)
    assert less.about[0] == ("place2", ()) and "0.095 mm" in told(less.line)
    assert "more of the bore" in told(across(86.0, 85.9, 86.0)[0].line)


def test_wear_takes_metal_away():
    worn, below = ring(), ring(depth=3, mm=115.0, wear=0.0)

    def inside(one, other):
        return list(check_inside(1, [one], other, lean_mm_per_mm=0.0003, u_mm=0.005, key="k"))

    assert not inside(worn, below)
    # lean of 0.0003 over 103 mm, 0.02 of roundness, 3.5 of 0.007: 0.075 may be explained
    assert not inside(ring(wear=0.0, left=-0.09), below)
    (found,) = inside(ring(wear=0.0, left=-0.12), below)  # the spindle was knocked by 0.1
    assert found.key == "sweep.inside.1" and "the left" in told(found.line)
    assert found.about == (("k", (("cylinder", 1), ("depth", 1))), ("k", (("cylinder", 1), ("depth", 3))))


def test_one_round_is_not_another():
    rings = [(1, ring()), (1, ring(depth=3, wear=0.0)), (2, ring(left=0.05))]
    assert not list(check_rings_copied(rings, key="k"))
    (found,) = check_rings_copied([*rings, (2, ring(depth=2))], key="k")
    assert told(found.line).startswith("The sweep reads the same all round in cylinder 1")
    flat = [(1, ring(wear=0.0, front=0.0, left=0.0)), (2, ring(wear=0.0, front=0.0, left=0.0))]
    assert not list(check_rings_copied(flat, key="k"))  # a bore that stands right reads nought all round


def test_the_dial_of_a_chamfer_tool():
    sizes, about = {1: 76.90, 2: 77.10, 3: 76.90}, {c: (f"t{c}", ()) for c in (1, 2, 3)}

    def touches(touch):
        return list(check_touches(touch, sizes, angle_deg=45.0, u_mm=0.02, about=about))

    # at 45° a bore 0.2 larger is touched 0.1 further down
    assert not touches({1: 2.0, 2: 2.1, 3: 2.0}) and not touches({1: 2.0, 2: 2.35}) and not touches({1: 2.0})
    (found,) = touches({1: 2.0, 2: 3.37, 3: 2.0})  # a turn of 1.27
    assert found.key == "chamfer.touch.2" and "2.100 mm" in told(found.line)
    assert found.about[0] == ("t2", ())


def test_a_width_by_the_dial_and_across():
    assert not list(check_width(1, 0.75, 0.85, u_mm=0.02, about=()))
    (found,) = check_width(1, 0.75, 1.30, u_mm=0.02, about=(("a", ()),))  # cut with 30° for 45°: 0.75 · tan 60°
    assert found.key == "chamfer.across.1" and "1.300 mm" in told(found.line)
    cut = {1: ("c", ())}
    assert not list(check_none_across(cut, measured=True, angle=("a", ())))
    assert not list(check_none_across({}, measured=False, angle=("a", ())))
    (found,) = check_none_across(cut, measured=False, angle=("a", ()))
    assert found.about == (("a", ()), ("c", ()))


@pytest.mark.parametrize(("gap", "right"), [(0.35, True), (0.18, True), (0.7, True), (0.035, False), (3.5, False)])
def test_the_makers_least_gap(gap, right):
    """In 80 mm makers give about 0.3 to 0.6 (common practice, no source)."""
    found = list(check_least(1, L("top ring"), gap, 80.0, role="top", about=("g", ())))
    assert bool(found) is not right


def test_the_makers_widest_gap():
    def keys(gap, role="second"):
        return [d.key for d in check_widest(2, L("top ring"), gap, 80.0, role=role, about=("g", ()))]

    assert not keys(0.6) and not keys(1.0) and keys(6.0) == ["ring.widest.2"] and keys(0.06)
    assert not keys(1.4, "rail") and not keys(3.0, "rail") and keys(14.0, "rail")


def test_each_kind_of_engine_is_named_as_what_it_is():
    def said(highest, book, **kind):
        return [told(d.line) for d in check_highest(highest, book, about=(), **kind)]

    assert said(27.0, None, diesel=True) == ["A ratio of up to 27.00 is wanted: that is high even for a diesel."]
    assert "spark-ignition" in said(15.0, None, diesel=False)[0]
    assert not said(15.0, None, diesel=True)
    assert said(27.0, 22.0, diesel=True) == ["A ratio of up to 27.00 is wanted; by the papers it was 22.00."]
    flat = Space(
        bore_mm=100.0,
        stroke_mm=100.0,
        chamber_cm3=20.0,
        gasket_bore_mm=101.0,
        gasket_mm=1.0,
        deck_mm=0.0,
        crown_cm3=0.0,
    )
    # 785.4 / (20 + 8.0) + 1 = 29.0
    assert "diesels have 12.00 to 26.00" in told(next(check_ratio(flat, diesel=True, about=())).line)
    assert "spark-ignition engines have 4.00 to 15.00" in told(next(check_ratio(flat, diesel=False, about=())).line)
