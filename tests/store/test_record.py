"""What the records of the machines do to a job: forecasts, what does not fit, and how it is switched off."""

from __future__ import annotations

import math
import random

import pytest

from logic.bore_prior import FINISHING
from logic.job_record import JobRecord
from logic.pooling import sums
from logic.result import Verdict
from logic.say import Style, say
from store.estimate import estimate, own_times, times
from store.facts.bias import record_used, slipped, stands_out
from store.facts.evidence import doubts, stands_key
from store.facts.final import capability
from store.facts.oversize import choice
from store.facts.record import bored_u_mm, job_minutes, made_like, minutes_per_bore
from store.facts.taught import taught
from store.fields.oversize import BORED_U
from store.fields.record import BAR_FIT, HONE_FIT, USE
from store.flow import work_of
from store.sheets import cut, final, hone, sheet, sizes

from .making import Making

METRIC = Style(length="mm")
CARDS = {"bar00001": Making(card="bar").view(), "hone0001": Making(card="hone").view()}


def records(count, *, bias=0.012, taper=None, rate=None, seed=1, **more):
    """Invented earlier jobs of four bores each, all alike but for chance."""
    rng = random.Random(seed)
    out = []
    for n in range(count):
        own = rng.gauss(0.0, 0.003)
        series = {}
        if taper is not None:
            series["bored.taper"] = sums([taper + rng.gauss(0.0, 0.001) for _ in range(4)])
        if rate is not None:
            series["rate.220"] = sums([math.log(rate) + rng.gauss(0.0, 0.08) for _ in range(4)])
            series["strokes.220"] = sums([30.0] * 4)
        series |= {k: sums([v + rng.gauss(0.0, 1e-4) for _ in range(4)]) for k, v in more.items()}
        out.append(
            JobRecord(
                job=f"before{n:03d}",
                day=20_000.0 + n,
                iron="grey_iron",
                size_mm=76.2,
                cylinders=4,
                bar="bar00001",
                hone="hone0001",
                bias=sums([bias + own + rng.gauss(0.0, 0.003) for _ in range(4)], [(0.4, float(k)) for k in range(4)]),
                series=series,
            )
        )
    return tuple(out)


def job(**more):
    made = Making(nominal=76.2, cylinders=2, bar="bar00001", hone="hone0001", cards=CARDS, **more)
    made.decide("oversize", "+0.50", number=0.508)
    made.put(cut.PRESENT, 76.25, cylinder=1)
    made.put(cut.PRESENT, 76.25, cylinder=2)
    return made


def view_of(made, earlier):
    view = made.view()
    view.remember({"bar00001": earlier, "hone0001": earlier, "": earlier})
    return view


def bored(made, pairs, cylinder=1):
    for n, (was_set, measured) in enumerate(pairs, start=1):
        made.put(cut.SETTING, was_set, cylinder=cylinder, **{"pass": n})
        made.put(cut.MEASURED, measured, cylinder=cylinder, **{"pass": n})


def text(line):
    return say(line, METRIC).replace("\u202f", " ")


def test_the_bias_comes_from_the_record_and_says_so():
    got = cut.bias(view_of(job(), records(20)))
    assert got.known and got.pairs == 0
    assert got.mean_mm == pytest.approx(0.012, abs=0.002)
    assert got.half_mm < 0.012
    assert "From 80 bores of this machine since 2024-10-04." in map(text, got.why)
    assert got.past_jobs == 20


def test_it_is_switched_off_by_one_field():
    made = job()
    made.put(USE, "off")
    view = view_of(made, records(20, taper=0.01, rate=0.001))
    assert not cut.bias(view).known
    assert bored_u_mm(view) == BORED_U.default
    assert made_like(view) is FINISHING
    assert minutes_per_bore(view, "cut") is None


def test_a_job_that_does_not_fit_raises_a_doubt_and_is_not_averaged_in():
    made = job()
    bored(made, [(76.50, 76.56), (76.55, 76.612)])
    view = view_of(made, records(12))
    assert stands_out(view) > 3.0
    assert record_used(view) is None
    assert cut.bias(view).mean_mm == pytest.approx(0.061, abs=0.002)  # this job's own cuts alone
    (doubt,) = [d for d in doubts(view) if d.key == "record.bar"]
    assert "48 bores" in text(doubt.line)
    assert all(r.verdict != Verdict.GO for r in work_of(view, sheet("cut")).results)
    for answer, averaged in (("restart", False), ("aside", False), ("counts", True)):
        made.put(BAR_FIT, answer)
        view = view_of(made, records(12))
        assert not [d for d in doubts(view) if d.key == "record.bar"]
        assert (record_used(view) is not None) == averaged
        assert taught(view).bar_fit == answer


def test_checked_still_right_counts():
    made = job()
    bored(made, [(76.50, 76.56), (76.55, 76.612)])
    made.decide(stands_key("record.bar"), "checked")
    view = view_of(made, records(12))
    assert not [d for d in doubts(view) if d.key == "record.bar"]
    assert taught(view).bar_fit == "counts"


def test_two_jobs_are_no_record_to_doubt_by():
    made = job()
    bored(made, [(76.50, 76.56)])
    assert stands_out(view_of(made, records(2))) == 0.0


def test_the_record_says_how_well_a_bore_comes_out_at_its_size():
    usual, known = bored_u_mm(job().view()), bored_u_mm(view_of(job(), records(20)))
    assert usual == BORED_U.default
    assert 0.002 < known < usual
    stated = job()
    stated.put(BORED_U, 0.02)
    assert bored_u_mm(view_of(stated, records(20))) == 0.02
    assert choice(job().view()) is None  # nothing measured yet: the oversize asks the same fact


def test_a_taper_in_the_record_leaves_more_for_the_hone():
    found = [r for r in sheet("cut").work(view_of(job(), records(12, taper=0.01))).results if r.key == "record.taper"]
    assert [text(r.line) for r in found] == [
        "This bar leaves 0.010 mm taper, wider at the top: leave 0.013 mm more for the hone."
    ]
    straight = sheet("cut").work(view_of(job(), records(12, taper=0.0005))).results
    assert not [r for r in straight if r.key == "record.taper"]


def honing(made, *checks):
    """Checks of cylinder 1: strokes before, and the size at three depths."""
    for n, (strokes, size) in enumerate(checks, start=1):
        for d in (1, 2, 3):
            made.put(hone.SIZE, size, cylinder=1, check=n, depth=d)
        if strokes:
            made.put(hone.STROKES, strokes, cylinder=1, check=n)
            made.put(hone.GRIT, 220, cylinder=1, check=n)


def strokes_of(view):
    target = sizes.finished_mm(view, 1)
    found = [r for r in sheet("hone").work(view).results if r.key.startswith("record.strokes")]
    return target, found


def test_strokes_are_foretold_before_the_first_and_surer_after():
    made = job()
    made.put(hone.GRITS[0], 220)
    target = sizes.finished_mm(made.view(), 1)
    honing(made, (0, target - 0.06))
    view = view_of(made, records(15, rate=0.001))
    _, (first,) = strokes_of(view)
    assert first.value.value == pytest.approx(60, abs=8)
    assert "From 60 bores of this machine since 2024-10-04." in map(text, first.why)
    honing(made, (0, target - 0.06), (25, target - 0.035))
    _, (second,) = strokes_of(view_of(made, records(15, rate=0.001)))
    assert second.value.value == pytest.approx(35, abs=6)
    _, nothing = strokes_of(made.view())
    assert nothing == []


def test_other_stones_are_asked_about():
    made = job()
    target = sizes.finished_mm(made.view(), 1)
    honing(made, (0, target - 0.08), (10, target - 0.03))  # five times the removal of before
    view = view_of(made, records(15, rate=0.001))
    (doubt,) = [d for d in doubts(view) if d.key == "record.hone.220"]
    assert "5.0 times" in text(doubt.line)
    assert strokes_of(view)[1] == []
    made.put(HONE_FIT, "counts")
    view = view_of(made, records(15, rate=0.001))
    assert not [d for d in doubts(view) if d.key.startswith("record.hone")]


def test_the_final_check_goes_by_what_these_machines_make():
    level = {"made.level": 0.001, "made.taper": 0.001, "made.barrel": 0.0005, "made.oval": 0.0008}
    view = view_of(job(), records(30, **level))
    like = made_like(view)
    assert like.source == "own history"
    assert like.taper_mm < FINISHING.taper_mm / 2 and like.level_mm < FINISHING.level_mm / 2
    made = job()
    target = sizes.finished_mm(made.view(), 1)
    made.put(final.ZERO, target)
    for d in (1, 2, 3):
        for axis in ("thrust", "crank"):
            made.put(final.READING, 0.004, cylinder=1, depth=d, axis=axis)
    sure = final.checked(view_of(made, records(30, **level)))[1]
    plain = final.checked(made.view())[1]
    assert sure.chance > plain.chance
    assert any("this machine since" in text(w) for w in sure.why)


def test_minutes_for_one_bore_from_the_persons_own_jobs():
    view = view_of(job(), records(20, **{"minutes.cut": math.log(38.0)}))
    found, resting = minutes_per_bore(view, "cut")
    assert found.likely == pytest.approx(38.0, rel=0.05)
    assert found.low < found.likely < found.high
    assert (resting.bores, resting.jobs) == (80, 20)
    assert minutes_per_bore(view, "hone") is None


def test_the_estimate_takes_the_times_of_the_persons_own_jobs():
    view = view_of(job(), records(30, **{"minutes.cut": math.log(38.0)}))
    mean, sd, rests_on = job_minutes(view, "cut")
    assert rests_on.bores == 120
    assert mean == pytest.approx(2 * 38.0, rel=0.05)  # two bores
    assert 0.0 < sd < 0.5 * mean
    own = own_times(view)
    assert list(own) == ["cut"] and own["cut"].known
    assert estimate(view).value.value != estimate(job().view()).value.value
    assert any(t.known and t.mean_min == mean for t in times(view, own))


def test_what_the_gauge_can_decide_says_what_it_rests_on():
    view = view_of(job(), records(12, **{"made.level": 0.001, "made.taper": 0.001}))
    able = capability(view)
    assert "From 48 bores of this machine since 2024-10-04." in map(text, able.why)
    off = job()
    off.put(USE, "off")
    assert not any("this machine" in text(w) for w in capability(view_of(off, records(12))).why)


def test_a_tip_that_slipped_by_the_record_says_what_it_rests_on():
    made = job()
    bored(made, [(76.40, 76.412), (76.45, 76.462), (76.50, 76.512), (76.55, 76.612)])
    made.put(BAR_FIT, "counts")
    found = slipped(view_of(made, records(12)))
    assert found is not None and "From 48 bores of this machine since 2024-10-04." in map(text, found.why)
