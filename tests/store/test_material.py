"""What a job uses up of edges and stones, by the record of its machines, in the list and in the estimate."""

from __future__ import annotations

import math

import pytest

from logic.job_record import Edges, JobRecord, Stones
from logic.pooling import sums
from logic.say import Style, say
from store.estimate import estimate
from store.facts.material import edge_life, known_edge_life, material_used
from store.facts.record import hone_fit
from store.facts.record_doubts import record_doubts
from store.facts.stones import hone_rate, stones_used
from store.facts.taught import taught
from store.fields import parts
from store.fields.hone import SET
from store.fields.record import BAR_FIT, USE
from store.order import at_hand, estimate_text, order_text
from store.sheets import cut, hone, sheet

from .making import Making

MM = Style(length="mm")
CARDS = {"bar00001": Making(card="bar").view(), "hone0001": Making(card="hone").view()}


def before(count=20, edge=4, **more):
    """Invented earlier jobs of four bores: an edge for each bore, a set of stones every fourth job."""
    return tuple(
        JobRecord(
            job=f"before{n:03d}",
            day=20_000.0 + n,
            iron="grey_iron",
            size_mm=76.2,
            cylinders=4,
            bar="bar00001",
            hone="hone0001",
            tip="carbide",
            edges=Edges((edge,) * 4, True),
            stones={g: Stones((6.0,), (120.0,), n % 4 == 0) for g in ("120", "220")},
            series={"passes.over": sums([math.log(1.2)] * 4)},
            **more,
        )
        for n in range(count)
    )


def job(cylinders=4):
    made = Making(nominal=76.2, cylinders=cylinders, bar="bar00001", hone="hone0001", cards=CARDS)
    made.decide("oversize", "+0.50", number=0.508)
    for c in range(1, cylinders + 1):
        made.put(cut.PRESENT, 76.25, cylinder=c)
    return made


def view_of(made, earlier=()):
    view = made.view()
    view.remember({"bar00001": earlier, "hone0001": earlier, "": earlier})
    return view


def span(result, key):
    return result.figure(f"{key}_low").value, result.figure(f"{key}_high").value


def test_without_history_it_is_common_practice_and_says_so():
    view = view_of(job())
    found = {u.key: u for u in material_used(view)}
    assert found["edges"].rests_on is None and any(key.startswith("stones.") for key in found)
    assert sum("common practice" in say(w, MM) for w in estimate(view).why) == len(found)


def test_the_record_makes_it_narrower_and_says_what_it_rests_on():
    bare, known = estimate(view_of(job())), estimate(view_of(job(), before()))
    for key in ("edges", "stones"):
        low, high = span(known, key)
        assert high / max(low, 1e-9) < span(bare, key)[1] / max(span(bare, key)[0], 1e-9)
    # two passes planned in each of four bores, 1.2 cut for each planned, four for each edge
    assert edge_life(view_of(job(), before())).life.mean_log == pytest.approx(math.log(4.0), abs=0.02)
    low, high = span(known, "edges")
    assert low < 4 * 2 * 1.2 / 4 < high
    said = " ".join(say(w, MM) for w in known.why)
    assert "going by 79 edges before. From 80 bores of this machine since 2024-10-04." in said.replace("\u202f", " ")
    assert "going by 4 sets before" in said


def test_it_is_switched_off_by_the_one_field():
    made = job()
    made.put(USE, "off")
    view = view_of(made, before())
    assert all(u.rests_on is None for u in material_used(view)) and known_edge_life(view) is None


def test_an_edge_of_another_material_and_a_stated_life():
    made = job()
    made.put(cut.EDGE, "cbn")
    assert edge_life(view_of(made, before())).rests_on is None
    made.put(cut.EDGE_LIFE, 40)
    view = view_of(made)
    assert math.exp(edge_life(view).life.mean_log) == pytest.approx(40.0)
    assert next(u for u in material_used(view) if u.key == "edges").high < 1.0


def test_the_edge_in_use_is_held_against_the_record():
    found = {r.key: r for r in sheet("cut").work(view_of(job(), before())).results}
    assert "From 80 bores" in " ".join(say(w, MM) for w in found["cut.edge"].why)
    assert say(found["cut.edge"].assumptions[0].text, MM).endswith(": 4.")


def test_the_prices_come_into_the_estimate_and_the_customer_s_text():
    made = job()
    for field, price in (
        (parts.PER_HOUR, 60.0),
        (parts.PER_EDGE, 5.0),
        (parts.PER_SET, 50.0),
        (parts.PARTS_PRICE, 400.0),
    ):
        made.put(field, price)
    view = view_of(made, before())
    found = estimate(view)
    used = {u.key: u for u in material_used(view)}
    wanted = 5.0 * used["edges"].mean + 50.0 * sum(u.mean for u in used.values() if u.grit)
    assert found.figure("material").value == pytest.approx(wanted)
    hours = found.figure("time").value / 3600
    assert found.figure("price").value == pytest.approx(60.0 * hours + 400.0 + wanted)
    text = estimate_text(view, MM)
    assert "4 cylinders rebored and honed, +0.508" in text and "Parts: about 400." in text
    assert "Edges and stones: " in text and "In all: " in text and " h " in text
    german = estimate_text(view, Style(length="mm", language="de"))
    assert "Kostenvoranschlag" in german and "Zusammen: " in german and "stones" not in german


def test_what_to_have_at_hand_is_in_the_list():
    view = view_of(job(), before())
    listed = {p.key: p for p in at_hand(view)}
    high = next(u.high for u in material_used(view) if u.key == "edges")
    assert listed["edges"].count == math.ceil(high)
    assert "fresh edge for the boring bar" in order_text(view, MM) and "set of 220 stones" in order_text(view, MM)
    bare = Making(nominal=76.2, cylinders=2).view()
    assert at_hand(bare) == () and order_text(bare, MM) == "" == estimate_text(bare, MM)


def honed(made, checks, cylinder=1):
    for n, (strokes, size, fresh) in enumerate(checks, start=1):
        at = {"cylinder": cylinder, "check": n}
        if strokes:
            made.put(hone.STROKES, strokes, **at)
            made.put(hone.GRIT, 220, **at)
        if fresh:
            made.put(SET, "fresh", **at)
        for d in (1, 2, 3):
            made.put(hone.SIZE, size, **at, depth=d)


def test_a_fresh_set_of_stones_is_counted_anew():
    made = job(cylinders=1)
    honed(made, [(0, 76.60, False), (40, 76.64, False), (20, 76.66, True), (10, 76.67, False)])
    view = view_of(made)
    used = stones_used(view)["220"]
    # iron as a thin ring: π D L Δ / 2, in a bore as long as is usual
    ring = math.pi / 2 * 76.64 * 130.0 / 1000.0
    assert used.strokes == (40.0, 30.0) and not used.fresh
    assert used.taken_cm3 == pytest.approx((0.04 * ring, 0.03 * ring), rel=0.002)
    assert taught(view).stones == {"220": used}
    (told,) = [r for r in sheet("hone").work(view).results if r.key == "hone.set.220"]
    assert "0.47 cm³ of iron in this job" in say(told.line, MM).replace("\u202f", " ")  # 0.03 mm of the ring
    rated = before(6)
    series = {"rate.220": sums([math.log(0.001)] * 4), "strokes.220": sums([30.0] * 4)}
    rows = tuple(
        JobRecord(job=r.job, day=r.day, iron=r.iron, hone="hone0001", series=series, stones=r.stones) for r in rated
    )
    fresh = job(cylinders=1)
    honed(fresh, [(0, 76.60, False), (40, 76.64, True)])
    assert hone_rate(view_of(fresh, rows), "220")[1][0] == 0.0
    assert hone_rate(view_of(job(1), rows), "220")[1][0] == pytest.approx(0.24)  # two jobs since the latest fresh set


def test_passes_against_the_plan_are_remembered():
    made = job(cylinders=1)
    made.put(cut.SETTING, 76.5, cylinder=1, **{"pass": 1})
    made.put(cut.MEASURED, 76.5, cylinder=1, **{"pass": 1})
    assert taught(view_of(made)).of("passes.over") is None  # not at its size yet
    for n, size in ((2, 76.6), (3, 76.64), (4, 76.658)):
        made.put(cut.SETTING, size, cylinder=1, **{"pass": n})
        made.put(cut.MEASURED, size, cylinder=1, **{"pass": n})
    found = taught(view_of(made)).of("passes.over")
    assert found is not None and math.exp(found.mean) == pytest.approx(4 / 2)


def test_what_the_bar_leaves_on_either_axis():
    made = job(cylinders=1)
    for d, (across, along) in enumerate(((76.610, 76.600), (76.604, 76.598), (76.600, 76.596)), start=1):
        made.put(hone.SIZE, across, cylinder=1, check=1, depth=d)
        made.put(hone.ACROSS, along, cylinder=1, check=1, depth=d)
    found = taught(view_of(made))
    assert found.of("bored.taper.thrust").mean == pytest.approx(0.010, abs=5e-4)
    assert found.of("bored.taper.crank").mean == pytest.approx(0.004, abs=5e-4)
    assert found.of("bored.oval").mean == pytest.approx((0.010 + 0.006 + 0.004) / 3)


def test_a_taper_the_bar_never_left_is_asked_about():
    rows = before(12)
    rows = tuple(
        JobRecord(
            job=r.job,
            day=r.day,
            bar="bar00001",
            cylinders=4,
            series={"bored.taper": sums([0.002, 0.003, 0.001, 0.002])},
        )
        for r in rows
    )
    made = job(cylinders=1)
    for d, size in enumerate((76.64, 76.62, 76.60), start=1):
        made.put(hone.SIZE, size, cylinder=1, check=1, depth=d)
    view = view_of(made, rows)
    (doubt,) = record_doubts(view)
    assert doubt.key == "record.bar.taper" and "48 bores" in say(doubt.line, MM)
    assert "under the base" in say(doubt.settle, MM)
    made.put(BAR_FIT, "restart")
    assert record_doubts(view_of(made, rows)) == ()
    assert taught(view_of(made, rows)).bar_fit == "restart"


def test_checked_and_right_counts_for_the_hone_as_well():
    made = job(cylinders=1)
    made.decide("doubt.record.hone.220", "stands")
    assert hone_fit(made.view()) == "counts"
