"""The record of a machine as charts: what is said, and that the picture shows it."""

import math
import random

import pytest

from logic.cards import Check
from logic.drawing import draw
from logic.job_record import Edges, JobRecord, Stones
from logic.machine_charts import bar_charts, gauge_chart, hone_charts
from logic.machine_record import bar_model, by_machine, date_of, edge_lives, minutes_model, process_of
from logic.pooling import sums
from logic.result import Verdict
from logic.say import Style, say
from logic.shapes import Circle, Polyline, Text


def jobs(biases, *, rate=None, edges=(4,), fresh=True):
    rng = random.Random(3)
    out = []
    for n, bias in enumerate(biases):
        series = {} if rate is None else {"rate.220": sums([math.log(rate[n]) + rng.gauss(0, 0.05) for _ in range(4)])}
        out.append(
            JobRecord(
                job=f"job{n:05d}",
                day=20_000.0 + 7 * n,
                iron="grey_iron",
                size_mm=80.0,
                cylinders=4,
                bar="bar00001",
                bias=sums([bias + rng.gauss(0, 0.002) for _ in range(4)], [(0.4, 0.0)] * 4),
                edges=Edges(edges, fresh),
                series=series,
            )
        )
    return out


def steady(n, level=0.01, seed=1):
    rng = random.Random(seed)
    return [level + rng.gauss(0, 0.003) for _ in range(n)]


def of(key, charted):
    return next(c for c in charted if c.result.key == key)


def texts(drawing):
    return " | ".join(s.text for s in drawing.shapes if isinstance(s, Text))


def test_a_steady_bar_is_as_usual():
    found = of("record.bias", bar_charts(jobs(steady(24))))
    assert found.result.verdict == Verdict.GO
    assert found.result.value.value == pytest.approx(0.01, abs=0.002)
    assert "From 96 bores of this machine since 2024-10-04." in [say(w) for w in found.result.why]
    assert len(found.jobs) == 24


def test_a_creep_is_dated_and_drawn():
    creeping = [*steady(24), *(0.01 + 0.0025 * k for k in range(1, 11))]
    found = of("record.bias", bar_charts(jobs(creeping)))
    assert found.result.verdict == Verdict.MAYBE
    assert "has crept" in say(found.result.line)
    day = say(found.result.line).rsplit("since ", 1)[1].rstrip(".")
    assert date_of(20_000 + 7 * 20) <= day <= date_of(20_000 + 7 * 30)
    drawing = draw(found.picture, 360, 280, Style(length="mm"))
    assert f"since {day}" in texts(drawing)
    assert sum(isinstance(s, Circle) and s.role == "point" for s in drawing.shapes) == 34
    assert any(isinstance(s, Polyline) and s.role == "governing" for s in drawing.shapes)


def test_a_drop_on_the_floor_is_one_jump():
    found = of("record.bias", bar_charts(jobs([*steady(24), 0.06])))
    assert found.result.verdict == Verdict.MAYBE
    assert "out of the ordinary" in say(found.result.line)
    assert found.picture.beyond == (24,)


def test_few_jobs_make_no_chart():
    (found, *_) = bar_charts(jobs(steady(3)))
    assert found.picture is None
    assert "from 3 jobs" in say(found.result.line)


def test_removal_by_grit():
    found = of("record.rate.220", hone_charts(jobs(steady(12), rate=[0.001] * 12)))
    assert found.result.value.value == pytest.approx(0.01, rel=0.05)  # ten strokes
    assert found.picture.points[0][1] > 0.0


def test_edges_go_on_from_job_to_job():
    rows = [*jobs([0.01], edges=(5,), fresh=False), *jobs([0.01] * 3, edges=(3, 4), fresh=True)]
    # the first began before the record; then 3, 4 | 3, 4 | 3, and 4 still in use
    assert [n for _, n in edge_lives(rows)] == [3, 4, 3, 4, 3]
    on = [*jobs([0.01], edges=(3,), fresh=True), *jobs([0.01], edges=(2, 6), fresh=False)]
    assert [n for _, n in edge_lives(on)] == [5]


def test_a_gauge_that_drifts():
    checks = [Check(20_000.0 + 30 * n, 0.0 if n < 8 else 0.0008 * (n - 7)) for n in range(18)]
    found = gauge_chart(checks, 0.0007)
    assert "has crept" in say(found.result.line)
    assert gauge_chart([], None) is None
    assert gauge_chart(checks[:2], 0.0007).picture is None


def test_irons_and_sizes_are_told_apart():
    """Two irons 0.02 mm apart: each is foretold at its own level, against the means that were put in."""
    rng = random.Random(5)
    rows = []
    for n in range(40):
        iron = "grey_iron" if n % 3 else "compacted_iron"
        level = 0.01 + (0.02 if iron == "compacted_iron" else 0.0)
        values = [level + rng.gauss(0, 0.004) for _ in range(4)]
        rows.append(
            JobRecord(
                job=f"j{n}", day=float(n), iron=iron, size_mm=80.0, cylinders=4, bias=sums(values, [(0.4, 0.0)] * 4)
            )
        )
    model = bar_model(rows)
    for iron, level in (("grey_iron", 0.01), ("compacted_iron", 0.03)):
        found = model.next_mm(model.x(size_mm=80.0, cut_mm=0.4, age=0.0, iron=iron))
        assert found.mean == pytest.approx(level, abs=0.003)


def test_other_machines_are_told_apart():
    rows = [*jobs(steady(3)), *(JobRecord(job=f"x{n}", day=1.0, bar="bar00002") for n in range(2))]
    assert [len(r) for r in by_machine(rows, "bar", "bar00001")] == [2]
    assert by_machine(rows, "hone", "") == ()


def test_minutes_of_the_person():
    rows = [
        JobRecord(job=f"j{n}", day=float(n), cylinders=4, series={"minutes.cut": sums([math.log(30.0)] * 4)})
        for n in range(30)
    ]
    series = minutes_model(rows, "cut")
    assert math.exp(series.learned.level) == pytest.approx(30.0, rel=0.03)
    assert series.basis.bores == 120


def test_the_process_is_learned_without_the_gauge_s_noise():
    noise = 0.003**2
    rng = random.Random(2)
    rows = [
        JobRecord(
            job=f"j{n}",
            day=float(n),
            series={
                "made.taper": sums([rng.gauss(0, math.hypot(0.002, 0.003)) for _ in range(4)]),
                "made.taper.noise": sums([noise] * 4),
                "made.level": sums([0.0] * 4),
            },
        )
        for n in range(100)
    ]
    assert process_of(rows).taper_mm == pytest.approx(0.002, rel=0.15)


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (0.0, "1970-01-01"),
        (19_782.5, "2024-02-29"),
        (20_000.0, "2024-10-04"),
        (47_540.9, "2100-02-28"),
        (47_541.0, "2100-03-01"),
    ],
)
def test_dates(day, said):
    assert date_of(day) == said


def with_series(count, seed=6, **series):
    """Invented jobs of four bores; each series is (level, spread from bore to bore)."""
    rng = random.Random(seed)
    return [
        JobRecord(
            job=f"j{n}",
            day=20_000.0 + n,
            size_mm=80.0,
            cylinders=4,
            series={k.replace("_", "."): sums([rng.gauss(*v) for _ in range(4)]) for k, v in series.items()},
        )
        for n in range(count)
    ]


def test_the_signature_is_drawn_top_to_bottom_on_either_axis():
    rows = with_series(
        30,
        bored_taper=(0.006, 0.001),
        bored_barrel=(0.004, 0.001),
        bored_oval=(0.010, 0.001),
        bored_taper_thrust=(0.008, 0.001),
        bored_taper_crank=(0.004, 0.001),
    )
    found = of("record.signature", bar_charts(rows))
    assert "From 120 bores of this machine since 2024-10-04." in [say(w) for w in found.result.why]
    places = {(axis, round(depth)): 2.0 * off for depth, axis, off in found.picture.rows}
    # top less bottom is the taper of its axis; thrust less crank in the middle is the out-of-round
    for axis, taper in (("thrust", 0.008), ("crank", 0.004)):
        assert places[axis, 12] - places[axis, 108] == pytest.approx(taper, abs=6e-4)
        barrel = places[axis, 60] - (places[axis, 12] + places[axis, 108]) / 2.0
        assert barrel == pytest.approx(0.004, abs=6e-4)
    assert places["thrust", 60] - places["crank", 60] == pytest.approx(0.010, abs=8e-4)
    assert say(found.picture.text) == "A bore 4.72\u202fin long, as this bar leaves it."
    assert any(isinstance(s, Polyline) for s in draw(found.picture, 360, 300, Style()).shapes)
    assert {c.result.key for c in bar_charts(rows)} >= {"record.taper", "record.barrel", "record.oval"}
    alone = of("record.signature", bar_charts(with_series(9, bored_taper=(0.006, 0.001))))
    assert "Read on one axis so far" in say(alone.result.why[0])


def test_what_moves_the_bar_s_error_is_said_where_it_is_clear():
    rng = random.Random(8)
    rows = []
    for n in range(40):
        ages, iron = [float(k) for k in range(6)], "steel" if n % 3 == 0 else "grey_iron"
        own = 0.01 + rng.gauss(0, 0.002) + (0.008 if iron == "steel" else 0.0)
        values = [own - 0.002 * age + rng.gauss(0, 0.001) for age in ages]
        rows.append(
            JobRecord(
                job=f"j{n}", day=float(n), iron=iron, size_mm=80.0, bias=sums(values, [(0.4, age) for age in ages])
            )
        )
    model = bar_model(rows)
    # ordinary least squares within the jobs: the slope, and its standard error s / √Σ(x − x̄)²
    within = sum(r.bias.xy[1] for r in rows) / sum(r.bias.xx[1][1] for r in rows)
    assert model.series.learned.slopes[2] == pytest.approx(within, rel=0.08)  # the prior draws it in a little
    usual = model.series.learned.spread / math.sqrt(sum(r.bias.xx[1][1] for r in rows))
    assert model.series.learned.u_slopes[2] == pytest.approx(usual, rel=0.1)
    metric = Style(length="mm")
    said = [say(w, metric).replace("\u202f", " ") for w in of("record.bias", bar_charts(rows)).result.why]
    assert "Five passes of an edge move it by −0.010 mm." in said
    assert any(s.startswith("Steel: it differs by +0.00") for s in said)
    assert not any("10 mm larger" in s or "heavier" in s for s in said)


def test_time_for_one_bore_and_what_stones_take_off():
    rows = [
        JobRecord(
            job=f"j{n}",
            day=20_000.0 + n,
            cylinders=4,
            series={
                "minutes.cut": sums([math.log(40.0)] * 4),
                "minutes.hone": sums([math.log(15.0)] * 4),
                "rate.220": sums([math.log(0.001)] * 4),
                "strokes.220": sums([30.0] * 4),
            },
            stones={"220": Stones((15.0,), (120.0,), n % 2 == 0)},
        )
        for n in range(20)
    ]
    assert of("record.minutes.cut", bar_charts(rows)).result.value.value == pytest.approx(2400.0, rel=0.05)
    assert of("record.minutes.hone", hone_charts(rows)).result.value.value == pytest.approx(900.0, rel=0.05)
    lives = of("record.stones.220", hone_charts(rows))
    assert lives.result.value.value == pytest.approx(30.0) and lives.picture is not None
    assert "From 80 bores of this machine since 2024-10-04." in [say(w) for w in lives.result.why]


def test_a_gauge_says_when_its_next_check_is_due():
    checks = [Check(20_000.0 + 30 * n, 0.001) for n in range(3)]
    few = gauge_chart(checks, 0.0007, 90.0)
    assert say(few.result.line) == "Shown minus true: 0.0\u202fthou so far, from 3 checks. A chart needs 6."
    assert few.result.value.value == pytest.approx(0.001)
    assert say(few.result.why[-1]) == "Next check due on 2025-03-03."  # 90 days from 2024-12-03, by the calendar
    many = gauge_chart([Check(20_000.0 + 30 * n, 0.001) for n in range(9)], 0.0007, 90.0)
    assert say(many.result.why[-1]).startswith("Next check due on 2025-0")
