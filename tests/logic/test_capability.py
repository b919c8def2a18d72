"""Whether a gauge can decide: against simulated good bores read with it, and the ratio of JCGM 106:2012."""

import math
import random

import pytest

from logic import verify
from logic.capability import Gauging, capability
from logic.conformance import BoreLimits
from logic.result import Verdict
from logic.say import Style, say
from tests.bench.calibration import DEPTHS, TARGET, Gauge, read

PLACES = [verify.Spot(d, axis, DEPTHS[d - 1], TARGET) for d in (1, 2, 3) for axis in ("thrust", "crank")]


def limits(size, shape=None):
    return BoreLimits(lower_mm=TARGET - size, upper_mm=TARGET + size, round_mm=shape or size, taper_mm=shape or size)


def told(division, repeat, shared, size, shape=None):
    return capability(
        PLACES,
        limits(size, shape),
        target_mm=TARGET,
        gauging=Gauging(division_mm=division, repeat_mm=repeat, shared_mm=shared),
    )


def called_in(division, repeat, shared, size, n, trials=60):
    """The share of typical good bores (a third of the limit off, round and straight) that n readings a place call in."""
    rng, found = random.Random(4), 0
    for _ in range(trials):
        off = 0.3 * size * rng.choice((-1, 1))
        true = {(s.depth, s.axis): TARGET + off for s in PLACES}
        r = verify.finished_bore(
            cylinder=1,
            spots=read(rng, true, Gauge(division, repeat, shared), n),
            target_mm=TARGET,
            lower_mm=TARGET - size,
            upper_mm=TARGET + size,
            round_limit_mm=size,
            taper_limit_mm=size,
            u_own_mm=repeat,
            u_fixed_mm=division / math.sqrt(12),
            u_shared_mm=math.hypot(shared, division / math.sqrt(12)),
        )
        assert r.verdict != Verdict.STOP  # a good bore is hardly ever called out
        found += r.verdict == Verdict.GO
    return found / trials


def test_a_fine_gauge_decides_at_once():
    r = told(0.00254, 0.0015, 0.001, 0.0127)
    assert r.readings == 1 and r.verdict == Verdict.GO
    assert called_in(0.00254, 0.0015, 0.001, 0.0127, 1) > 0.9
    # 2 √(d²/12 + s² + s₀² + d²/12)
    assert r.value.value == pytest.approx(2 * math.sqrt(2 * 0.00254**2 / 12 + 0.0015**2 + 0.001**2))
    assert 0 < r.figure("consumer").value < r.figure("producer").value < 0.5


def test_a_coarse_gauge_is_sent_back_before_measuring():
    r = told(0.0127, 0.003, 0.001, 0.006)
    assert r.readings is None and r.division_mm in (0.00254, 0.002, 0.001, 0.0005)
    assert called_in(0.0127, 0.003, 0.001, 0.006, 6) < 0.2  # as often as you like: it does not help
    assert called_in(r.division_mm, r.division_mm, 0.001, 0.006, 2) > 0.7
    assert (
        say(r.line, Style("mm")).replace("\u202f", " ").startswith("This gauge cannot decide these limits; one read to")
    )


def test_repeating_helps_where_the_spread_is_the_gauges_own():
    r = told(0.001, 0.005, 0.0005, 0.010)
    assert r.readings is not None and r.readings > 1 and r.verdict == Verdict.MAYBE
    assert called_in(0.001, 0.005, 0.0005, 0.010, r.readings) > called_in(0.001, 0.005, 0.0005, 0.010, 1)


def test_when_no_dial_will_do():
    r = told(0.00254, 0.0015, 0.006, 0.006)
    assert r.readings is None and r.division_mm is None
    assert "master and temperatures" in say(r.line)
    with pytest.raises(ValueError):
        capability([], limits(0.01), target_mm=TARGET, gauging=Gauging(division_mm=0.001, repeat_mm=0.001, shared_mm=0))
