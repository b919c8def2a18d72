"""Instrument checks: biases and drifts of invented checks, slopes and t values compared with SciPy."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic.cards import Check, due, health
from logic.result import Verdict
from logic.say import L, Style, say

HOW = {"division_mm": 0.001, "limit_mm": 0.004, "master_u_mm": 0.0005, "interval_days": 30.0}


def checks(*errors_um, every=30.0):
    return [Check(i * every, e / 1000) for i, e in enumerate(errors_um)]


def judged(*errors_um, **how):
    return health("gauge.health", L("The bore gauge"), checks(*errors_um), **{**HOW, **how})


def text(line):
    return say(line, Style("mm")).replace("\u202f", " ")


def test_never_checked():
    r = judged()
    assert r.verdict == Verdict.MAYBE and r.u_mm is None and "never been checked" in text(r.line)


def test_a_steady_gauge():
    r = judged(0.5, -0.4, 0.3, -0.5, 0.2)
    assert r.verdict == Verdict.GO and r.drift_mm_per_day is None
    assert r.bias_mm == pytest.approx(0.00002)
    # spread 0.4438 µm between checks; the division's own 1/√12 = 0.289 µm is less
    assert r.figure("spread").value == pytest.approx(stats.tstd([0.0005, -0.0004, 0.0003, -0.0005, 0.0002]), rel=1e-9)
    assert r.u_mm == pytest.approx(math.sqrt(0.000443847**2 + 0.0005**2 + 0.00002**2), rel=1e-4)
    assert r.budget.dof > 4
    assert "No error or drift" in text(r.why[1])
    assert sum(i.share for i in r.influences) == pytest.approx(1)


def test_a_bias_that_is_real():
    r = judged(2.0, 2.2, 1.9, 2.1, 2.0)
    assert r.verdict == Verdict.GO and r.bias_mm == pytest.approx(0.00204)
    assert "+0.002 mm wrong each time" in text(r.why[1])
    assert r.u_mm > 0.002  # not corrected, so it stays in every reading


def test_out_and_too_close():
    assert judged(6.0, 6.1, 6.2).verdict == Verdict.STOP
    assert "Set it or mend it" in text(judged(6.0, 6.1, 6.0).line)
    r = judged(4.0, 4.1, 3.9)
    assert r.verdict == Verdict.MAYBE and "too close to the 4.0 µm allowed" in text(r.line)
    assert r.confidence is None


def test_a_drift_is_found_and_forecast():
    errors = [0.0, 0.6, 1.1, 1.7, 2.3, 2.8]
    r = judged(*errors)
    fit = stats.linregress([0, 30, 60, 90, 120, 150], [e / 1000 for e in errors])
    assert r.drift_mm_per_day == pytest.approx(fit.slope, rel=1e-9)
    # from 2.8 µm at 0.019 µm a day, 1.2 µm are left: about 63 days, past the next check
    assert r.verdict == Verdict.GO and "drifting slowly" in text(r.line)
    sooner = judged(*errors, interval_days=90.0)
    assert sooner.verdict == Verdict.MAYBE and "past 4.0 µm before the next check is due" in text(sooner.line)
    # counted from where the line has come to, not from the last reading's own error
    assert f"{round((0.004 - fit.intercept - 150 * fit.slope) / fit.slope)} days until" in text(r.why[1])
    assert r.figure("drift").u == pytest.approx(
        max(fit.stderr, 0.001 / math.sqrt(12) / math.sqrt(15750)) * 365.25, rel=1e-6
    )


def test_a_perfect_line_of_rounded_readings_proves_little():
    assert judged(0.0, 0.1, 0.2).drift_mm_per_day is None


def test_a_jump_is_cautioned():
    r = judged(0.0, 0.1, -4.5)
    assert r.cautions[0].key == "gauge.health.jumped"
    assert not judged(0.0, 0.1, 0.2).cautions


def test_one_check():
    r = judged(1.0)
    assert r.verdict == Verdict.GO and r.bias_mm == 0.001
    assert r.figure("spread").value == pytest.approx(0.001 / math.sqrt(12))
    assert "One check only" in text(r.why[0])


def test_order_of_entry_does_not_matter():
    a = health("k", "G", checks(0.0, 0.6, 1.1, 1.7), **HOW)
    b = health("k", "G", list(reversed(checks(0.0, 0.6, 1.1, 1.7))), **HOW)
    assert a == b


@settings(max_examples=80, deadline=None)
@given(errors=st.lists(st.floats(-10, 10), min_size=1, max_size=8), shift=st.floats(-3, 3))
def test_adding_the_same_error_to_all_moves_the_bias_only(errors, shift):
    a = judged(*errors)
    b = judged(*(e + shift for e in errors))
    assert b.bias_mm - a.bias_mm == pytest.approx(shift / 1000, abs=1e-12)
    assert b.figure("spread").value == pytest.approx(a.figure("spread").value, abs=1e-12)
    assert text(a.line) and all(text(w) for w in a.why)


def test_due():
    assert due("k", "Gauge", None, 30).verdict == Verdict.MAYBE
    late = due("k", "Gauge", 45.2, 30)
    assert (
        late.verdict == Verdict.MAYBE and text(late.line) == "Gauge is due: last checked 45 days ago, every 30 wanted."
    )
    fine = due("k", "Gauge", 10.0, 30)
    assert fine.verdict == Verdict.GO and text(fine.line) == "Gauge was checked 10 days ago; due in 20."
    assert due("k", "Gauge", -0.5, 30).verdict == Verdict.GO  # a check stamped a little ahead of this device


def test_nonsense_is_refused():
    for bad in ({"division_mm": 0.0}, {"limit_mm": -1.0}, {"interval_days": 0.0}, {"master_u_mm": -1.0}):
        with pytest.raises(ValueError):
            judged(0.0, **bad)
    with pytest.raises(ValueError):
        Check(math.nan, 0.0)
    with pytest.raises(ValueError):
        due("k", "Gauge", 1.0, 0.0)
