"""What tools use up: against NumPy's draws of the same lives, and the renewal theorem."""

import math

import numpy as np
import pytest
from scipy import stats

from logic.job_record import Edges, JobRecord, Stones, read_record, written
from logic.machine_record import edge_lives, edge_model, hone_model, of_job, passes_model, stone_lives, stone_model
from logic.material import Asked, Life, asked, cost, edges, life_of, part, stones, told
from logic.pooling import predict, sums
from logic.say import Style, say

MM = Style(length="mm")


def drawn(want, life, n, seed):
    """Tools used up by a job, drawn: the mean life is unknown, every tool has its own, and the first is somewhere in it."""
    rng = np.random.default_rng(seed)
    out = np.empty(n)
    for k in range(n):
        amount = want.amount * math.exp(rng.normal(0, want.u_log))
        mean = rng.normal(life.mean_log, life.u_log)
        lives = np.exp(rng.normal(mean, life.spread_log, 400))
        # in the middle of a long row of tools: the one in use is more likely a long-lived one
        begin = rng.uniform(0.3, 0.6) * lives.sum()
        ends = np.cumsum(lives)
        starts = ends - lives
        done = np.clip(np.minimum(ends, begin + amount) - np.maximum(starts, begin), 0, None)
        out[k] = (done / lives).sum()
    return out


@pytest.mark.parametrize("amount", [1.2, 24.0])
def test_the_range_holds_nine_times_in_ten(amount):
    want, life = Asked(amount, 0.15), Life(math.log(6.0), 0.2, 0.3)
    found, true = edges(want, life), drawn(want, life, 1500, 7)
    held = np.mean((true >= found.low) & (true <= found.high))
    assert 0.87 <= held <= 0.95
    assert found.mean == pytest.approx(
        true.mean(), rel=0.05
    )  # a part of one tool as well: the one in use is a long-lived one


def test_many_tools_are_used_up_as_the_renewal_theorem_says():
    # Cox, Renewal Theory: E(N) → P / E(L), the relative variance of N → cv² E(L) / P
    found = edges(Asked(600.0, 0.0), Life(math.log(6.0), 0.0, 0.3))
    life = stats.lognorm(0.3, scale=6.0)
    assert found.mean == pytest.approx(600.0 / life.mean(), rel=0.01)
    assert found.sd / found.mean == pytest.approx(life.std() / life.mean() * (life.mean() / 600.0) ** 0.5, rel=0.05)


def test_a_prior_is_the_stated_one():
    life = life_of(edge_model([]))
    assert math.exp(life.mean_log) == pytest.approx(6.0)
    # Student's t with four degrees of freedom: its 90 % range as that of a normal distribution
    scale = stats.t.ppf(0.95, 4) / stats.norm.ppf(0.95)
    # the mixture of what differs from job to job is a little wider than its middle
    assert scale * math.hypot(0.35, 0.175) <= life.spread_log <= 1.05 * scale * math.hypot(0.35, 0.175)
    stated = life_of(edge_model([], stated=10.0))
    assert math.exp(stated.mean_log) == pytest.approx(10.0) and stated.u_log < life.u_log


def test_edges_and_stones_go_on_from_job_to_job():
    rows = [
        JobRecord(
            job="a", day=1.0, edges=Edges((3, 6), True), tip="carbide", stones={"220": Stones((30.0,), (900.0,), True)}
        ),
        JobRecord(
            job="b", day=2.0, edges=Edges((2, 4), False), tip="cbn", stones={"220": Stones((12.0, 3.0), (300.0, 90.0))}
        ),
        JobRecord(job="c", day=3.0, edges=Edges((1, 5), False), tip="carbide"),
    ]
    assert edge_lives(rows) == ((1.0, 3), (2.0, 8), (3.0, 5))
    assert edge_lives(rows, "carbide") == ((1.0, 3), (3.0, 7))  # a boron nitride edge lasts by another clock
    assert stone_lives(rows, "220") == ((2.0, 42.0),)
    assert stone_lives(rows, "400") == ()
    assert math.exp(predict(stone_model(rows, "220").learned).mean) == pytest.approx(42.0, rel=0.05)
    for row in rows:
        assert read_record(row.job, written(row)) == row


@pytest.mark.parametrize("text", ["2,3:4", "1,x:2", "1,3", "1,-3:2", "1,inf:2"])
def test_stones_that_make_no_sense_are_left_out(text):
    found = read_record("a", f"day=1.0;size=80;cylinders=4;stones.220={text};edges=1,3")
    assert found.stones == {} and found.edges == Edges((3,), True)


def test_a_fresh_set_of_stones_is_not_worn():
    def row(n, made, fresh=False):
        series = {"rate.220": sums([math.log(0.001) - 0.2 * made / 1000.0] * 4), "strokes.220": sums([250.0] * 4)}
        return JobRecord(job=f"j{n}", day=float(n), series=series, stones={"220": Stones((9.0,), (1000.0,), fresh)})

    rows = [row(0, 500.0, True), row(1, 1500.0), row(2, 2500.0), row(3, 500.0, True), row(4, 1500.0)]
    series, x = hone_model(rows, "220")
    assert x[0] == pytest.approx(2.0)  # 2,000 strokes since the fourth job's fresh set
    assert hone_model(rows, "220", fresh=True)[1][0] == 0.0
    assert series.learned.slopes[0] == pytest.approx(-0.2, abs=0.05)
    # changed within a job: what each set had made, weighed by its strokes
    twice = [
        row(0, 500.0, True),
        JobRecord(job="j1", day=1.0, series=rows[1].series, stones={"220": Stones((5.0, 4.0), (400.0, 600.0))}),
    ]
    series, x = hone_model(twice, "220")
    assert series.learned.groups[1].x[0] == pytest.approx((0.4 * 1200.0 + 0.6 * 300.0) / 1000.0)
    assert x[0] == pytest.approx(0.6)


def test_passes_against_the_plan():
    rows = [JobRecord(job=f"j{n}", day=float(n), series={"passes.over": sums([math.log(1.5)] * 4)}) for n in range(20)]
    mean, u = of_job(passes_model(rows), 4)
    assert math.exp(mean) == pytest.approx(1.5, rel=0.03) and u < of_job(passes_model([]), 4)[1]
    assert math.exp(of_job(passes_model([]), 4)[0]) == pytest.approx(1.15)


def test_what_it_costs_and_how_it_is_said():
    life = Life(math.log(6.0), 0.1, 0.2)
    cut, set_ = edges(Asked(18.0, 0.1), life), stones("220", Asked(10.0, 0.1), Life(math.log(40.0), 0.3, 0.3))
    mean, sd = cost([cut, set_], 5.0, 60.0)
    assert mean == pytest.approx(5.0 * cut.mean + 60.0 * set_.mean)
    assert sd == pytest.approx(math.hypot(5.0 * cut.sd, 60.0 * set_.sd))
    assert cost([cut, set_], None, None) is None
    assert cost([cut, set_], 5.0, None)[0] == pytest.approx(5.0 * cut.mean)
    assert part(cut).count == math.ceil(cut.high) and part(set_).count == 1
    assert say(part(set_).line, MM).startswith("set of 220 stones for the hone: 0.")
    assert "common practice" in say(told(cut), MM)
    with pytest.raises(ValueError):
        asked(0.0, 0.1)
