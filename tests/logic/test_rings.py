"""Ring gaps: geometry against SciPy's elliptic integral and plain circles; verdicts against the normal law."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import ellipe
from scipy.stats import norm

from logic.result import Verdict
from logic.rings import (
    DUTIES,
    Heat,
    Limits,
    check,
    closing_mm,
    duty,
    feeler_u_mm,
    gap_at_mm,
    limits,
    opened,
    ring_name,
    role_of,
    summary,
    tilt_error_mm,
    wanted_gaps,
)
from logic.say import Style, say

IN = 25.4
THOU = 0.0254
TOP = ring_name(1, 2, rails=True)
WANTED = Limits(least_mm=12 * THOU, widest_mm=24 * THOU)


def judged(measured_thou, u_thou=0.5, **more):
    return check(
        1, 1, TOP, measured_mm=measured_thou * THOU, u_mm=u_thou * THOU, limits=WANTED, bore_mm=3.030 * IN, **more
    )


# -- geometry ----------------------------------------------------------------------------
def test_one_thou_of_bore_opens_the_gap_by_pi_thou():
    # A closed ring is a strip of fixed length: 1 thou -> 3.14 thou.
    assert opened(THOU).value.value / THOU == pytest.approx(math.pi, rel=1e-12)
    # +0.030 in on 3.000 in opens a standard ring by 94 thou
    assert opened(0.030 * IN).value.value / IN == pytest.approx(0.0942, abs=5e-5)
    assert "94.2" in say(opened(0.030 * IN).line)
    assert "closes" in say(opened(-0.010 * IN).line)
    # against the circumferences themselves
    length = math.pi * 76.2 - 0.3  # arc length of the ring with a 0.3 mm gap in 76.2 mm
    assert gap_at_mm(0.3, 76.2, 76.962) == pytest.approx(math.pi * 76.962 - length, rel=1e-12)


@settings(max_examples=60)
@given(st.floats(40, 160), st.floats(0.0, 4.0))
def test_a_tilted_ring_reads_wide_by_what_the_ellipse_is_longer(bore, tilt):
    # The section of a cylinder by a plane tilted t over the bore D is an ellipse with
    # semi-axes D/2 and sqrt(D² + t²)/2; its length is 4 a E(e²) (SciPy's ellipe).
    a = math.hypot(bore, tilt) / 2
    exact = 4 * a * ellipe(1 - (bore / 2 / a) ** 2) - math.pi * bore
    assert tilt_error_mm(bore, tilt) == pytest.approx(exact, rel=0.01, abs=1e-9)


def test_closing_by_heat_is_the_difference_of_two_circumferences():
    bore, ring_c, wall_c = 76.962, 200.0, 130.0
    ring, wall = math.pi * bore, math.pi * bore
    hot = wall * (1 + 11.0e-6 * (wall_c - 20)) - ring * (1 + 11.5e-6 * (ring_c - 20))
    assert closing_mm(bore, ring_c, wall_c, ring_per_k=11.5e-6, wall_per_k=11.0e-6) == pytest.approx(-hot, rel=1e-9)
    assert closing_mm(bore, 20, 20) == 0


def test_every_dutys_own_gap_stays_open_hot():
    # If a default gap closed at the temperatures listed beside it, one of them would be wrong.
    for d in (duty(key, cooling) for key in DUTIES for cooling in ("water", "air")):
        for bore in (50.0, 76.2, 120.0):
            least = limits(bore, "top", d).least_mm
            left = least - closing_mm(bore, d.ring_c, d.wall_c)
            assert 0 < left < least


# -- what is wanted ----------------------------------------------------------------------
def test_defaults_are_a_share_of_the_bore_and_any_may_be_changed():
    road = DUTIES["road"]
    # common practice, no source: 0.004 per unit of bore; a 3.030 in bore wants 12.1 thou
    assert limits(3.030 * IN, "top", road).least_mm / THOU == pytest.approx(12.12, abs=1e-9)
    assert limits(3.030 * IN, "second", road).least_mm / THOU == pytest.approx(13.635, abs=1e-9)
    assert limits(3.030 * IN, "rail", road).least_mm / IN == pytest.approx(0.015)
    assert limits(3.030 * IN, "cast_oil", road).least_mm == limits(3.030 * IN, "second", road).least_mm
    assert limits(100, "top", road, top_per_bore=0.005).least_mm == pytest.approx(0.5)
    assert limits(100, "second", road, second_per_bore=0.0055).least_mm == pytest.approx(0.55)
    stated = limits(100, "top", road, least_mm=0.33)
    assert stated.least_mm == 0.33 and stated.source == "entered"
    assert limits(100, "top", road, least_mm=1.2).widest_mm == 1.2  # the widest gives way
    assert limits(100, "top", road).source == "common practice"


def test_harder_duty_never_asks_for_less():
    order = ["gentle", "road", "hard", "boosted", "race"]
    tops = [DUTIES[k].top for k in order]
    seconds = [DUTIES[k].second for k in order]
    assert tops == sorted(tops) and seconds == sorted(seconds)
    assert all(duty(k, "air").top > duty(k).top and duty(k, "air").second > duty(k).second for k in DUTIES)


def test_rings_are_named_from_the_crown_down():
    assert [role_of(r, 2, rails=True) for r in (1, 2, 3, 4)] == ["top", "second", "rail", "rail"]
    assert [role_of(r, 3, rails=False) for r in (1, 2, 3, 4)] == ["top", "second", "second", "cast_oil"]
    assert [say(ring_name(r, 3, rails=False)) for r in (1, 2, 3, 4)] == [
        "top ring",
        "second ring",
        "ring 3 from the top",
        "oil ring",
    ]
    assert [say(ring_name(r, 2, rails=True)) for r in (3, 4)] == ["upper oil rail", "lower oil rail"]
    for bad in (0, 5):
        with pytest.raises(ValueError, match="no ring"):
            role_of(bad, 2, rails=True)


def test_wanted_gaps_lists_every_ring():
    rings = [
        (ring_name(r, 2, rails=True), limits(76.962, role_of(r, 2, rails=True), DUTIES["road"])) for r in (1, 2, 3, 4)
    ]
    result = wanted_gaps(76.962, DUTIES["road"], rings)
    assert result.value.value == pytest.approx(0.0040 * 76.962)
    assert result.figure("least.2").value == pytest.approx(0.0045 * 76.962)
    assert result.figure("least.4").value == pytest.approx(0.381)
    assert "12.1" in say(result.line)


# -- the verdict ---------------------------------------------------------------------------
def test_right_tight_wide_and_close():
    right = judged(16)
    assert (right.state, right.verdict, right.file_mm) == ("right", Verdict.GO, 0.0)
    tight = judged(9)
    assert (tight.state, tight.verdict) == ("tight", Verdict.STOP)
    wide = judged(27)
    assert (wide.state, wide.verdict, wide.file_mm) == ("wide", Verdict.STOP, 0.0)
    low = judged(12.3)
    assert (low.state, low.verdict) == ("close", Verdict.MAYBE) and low.file_mm > 0
    high = judged(23.8)
    assert (high.state, high.verdict, high.file_mm) == ("close", Verdict.MAYBE, 0.0)


def test_confidences_are_the_normal_laws():
    # P(gap >= least) etc. from SciPy's normal distribution
    low = judged(12.3)
    assert low.confidence == pytest.approx(norm.cdf((12.3 - 12) / 0.5), abs=1e-9)
    tight = judged(9)
    assert tight.confidence == pytest.approx(norm.cdf((12 - 9) / 0.5), abs=1e-12)
    wide = judged(24.9)
    assert wide.confidence == pytest.approx(norm.sf((24 - 24.9) / 0.5), abs=1e-12)


def test_filing_what_is_said_brings_the_gap_to_just_right():
    tight = judged(9)
    # filed by file_mm, the probability of holding the least gap is the wanted 95 %
    assert norm.cdf((9 * THOU + tight.file_mm - 12 * THOU) / (0.5 * THOU)) == pytest.approx(0.95, abs=1e-9)
    after = judged(9 + tight.file_mm / THOU + 1e-6)
    assert after.state == "right"
    assert f"{tight.file_mm / THOU:.1f}" in say(tight.line, Style("in"))


def test_filing_never_aims_beyond_the_widest():
    narrow = Limits(least_mm=0.30, widest_mm=0.32)
    r = check(1, 1, TOP, measured_mm=0.2, u_mm=0.02, limits=narrow, bore_mm=76.2)
    assert r.gap_mm + r.file_mm == pytest.approx(0.31)


def test_a_gap_read_in_the_old_bore_is_carried_to_the_finished_one():
    r = judged(6, measured_bore_mm=3.0270 * IN, u_bore_mm=0.0)
    assert r.gap_mm / THOU == pytest.approx(6 + math.pi * 3, rel=1e-12)
    wider = judged(6, measured_bore_mm=3.0270 * IN, u_bore_mm=0.2 * THOU)
    assert wider.u_mm / THOU == pytest.approx(math.hypot(0.5, math.pi * 0.2), rel=1e-12)
    shares = {say(i.name): i.share for i in wider.influences}
    assert sum(shares.values()) == pytest.approx(1)
    assert shares["The difference between the two bores"] == pytest.approx(
        (0.2 * math.pi) ** 2 / (0.25 + (0.2 * math.pi) ** 2)
    )


def test_taper_moves_the_gap_along_the_stroke_by_pi_times_it():
    straight = judged(13.5)
    tapered = judged(13.5, narrowest_mm=3.0294 * IN, widest_bore_mm=3.0304 * IN)
    assert (straight.gap_mm - tapered.gap_mm) / THOU == pytest.approx(0.6 * math.pi)
    assert straight.state == "right" and tapered.state == "close"
    assert f"{math.pi:.1f}" in say(tapered.why[-1])  # swings 3.1 thou over 1 thou of taper


def test_heat_that_closes_the_gap_stops_even_a_listed_one():
    heat = Heat(ring_c=350, wall_c=100)
    r = judged(14, heat=heat)
    assert r.running_mm == pytest.approx(14 * THOU - closing_mm(3.030 * IN, 350, 100))
    assert r.running_mm < 0 and r.verdict == Verdict.STOP and r.state == "tight"
    opens = brentq(lambda c: closing_mm(3.030 * IN, c, 100) - 14 * THOU, 20, 350)  # just shut
    assert judged(14, heat=Heat(ring_c=opens - 1, wall_c=100)).verdict == Verdict.GO


def test_feelers_are_rectangular_over_one_step():
    # JCGM 100:2008, 4.3.7: half-width a gives a/sqrt(3)
    assert feeler_u_mm(THOU, 0) == pytest.approx(THOU / 2 / math.sqrt(3))
    assert feeler_u_mm(THOU, 0.01) == pytest.approx(math.hypot(THOU / math.sqrt(12), 0.01))


@settings(max_examples=80)
@given(st.floats(12.001, 23.999), st.floats(0.05, 3), st.floats(0.05, 0.95))
def test_a_surer_reading_never_lowers_confidence_in_a_gap_that_is_right(gap, u, share):
    loose, firm = judged(gap, u), judged(gap, u * share)
    order = {Verdict.STOP: 0, Verdict.MAYBE: 1, Verdict.GO: 2}
    assert order[firm.verdict] >= order[loose.verdict]


def test_summary_counts_what_is_wrong():
    assert summary([judged(16), judged(17)]).verdict == Verdict.GO
    assert summary([judged(16), judged(12.3)]).verdict == Verdict.MAYBE
    bad = summary([judged(16), judged(9), judged(12.3)])
    assert bad.verdict == Verdict.STOP and say(bad.line) == "Wrong gaps: 1 of 3 measured." and len(bad.why) == 2


@pytest.mark.parametrize(
    "call",
    [
        lambda: gap_at_mm(0.3, 0, 76),
        lambda: limits(-1, "top", DUTIES["road"]),
        lambda: limits(76, "middle", DUTIES["road"]),
        lambda: duty("idle"),
        lambda: duty("road", "oil"),
        lambda: Limits(least_mm=0.4, widest_mm=0.3),
        lambda: judged(-1),
        lambda: judged(10, wanted=1.0),
        lambda: feeler_u_mm(-1),
        lambda: tilt_error_mm(math.nan, 1),
        lambda: summary([]),
        lambda: wanted_gaps(76, DUTIES["road"], []),
    ],
)
def test_nonsense_is_refused(call):
    with pytest.raises(ValueError):
        call()


@pytest.mark.parametrize(("bore_in", "least_in"), [(4.0, 0.015), (3.0, 0.015), (1.5, 0.0075)])
def test_a_rail_needs_fifteen_thou_but_less_in_a_bore_below_three_inches(bore_in, least_in):
    """Common practice, no source."""
    found = limits(bore_in * 25.4, "rail", DUTIES["road"])
    assert found.least_mm == pytest.approx(least_in * 25.4) and found.widest_mm == pytest.approx(0.055 * 25.4)
