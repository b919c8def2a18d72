"""The boring step on invented jobs: passes, pairs, bias, history and force, from the log."""

import math

import numpy as np
import pytest
from scipy import stats

from logic import cutting, setting
from logic.result import Verdict
from logic.say import say
from store.fields.record import USE
from store.sheets import cut, sizes
from store.view import View

from .making import Making


def job(cylinders=2, pistons=76.94, clearance=0.06, start=76.20, **more):
    """A job whose finished size is 77.00 and whose bored size is 77.00 less the hone's 0.0762."""
    made = Making(nominal=76.2, cylinders=cylinders, **more)
    made.put(sizes.CLEARANCE, clearance)
    for c in range(1, cylinders + 1):
        made.put(sizes.PISTON, pistons, cylinder=c)
        if start is not None:
            made.put(cut.PRESENT, start, cylinder=c)
    return made


def bored(made, cylinder, number, set_mm, measured, **at):
    place = {"cylinder": cylinder, "pass": number}
    made.put(cut.SETTING, set_mm, **place)
    made.put(cut.MEASURED, measured, **place)


def work(made):
    return cut.SHEET.work(made.view())


def named(answer, key):
    return next(r for r in answer.results if r.key == key)


def test_nothing_to_bore_to():
    assert "oversize" in say(cut.SHEET.work(Making(nominal=76.2, cylinders=2).view()).blocked)
    assert "Measure the worn bores" in say(work(job(start=None)).blocked)


def test_before_any_pair_a_trial_cut_comes_first():
    answer = work(job())
    first = answer.results[0]
    assert first.key == "cut.trial.1" and "Trial cut" in say(first.line)
    # the first of two passes goes to 76.9238 − 0.25 = 76.6738; the trial is 0.13 under it
    assert first.figure("reading").value == pytest.approx(77.0 - 0.0762 - 0.25 - 0.13, abs=1e-6)
    assert [p.to_mm for p in named(answer, "cut.passes.1").passes] == pytest.approx([76.6738, 76.9238], abs=1e-6)
    assert not answer.done


def test_a_pair_makes_the_next_setting():
    made = job()
    bored(made, 1, 1, 76.55, 76.562)
    answer = work(made)
    first = answer.results[0]
    assert first.key == "cut.setting.1"
    assert first.set_mm == pytest.approx(
        76.9238 - 0.012 - (0.0 if len(named(answer, "cut.passes.1").passes) == 1 else 0.25), abs=1e-6
    )
    assert cut.bored_now_mm(made.view(), 1) == pytest.approx(76.562)
    assert cut.bored_now_mm(made.view(), 2) is None and cut.size_now_mm(made.view(), 2) == pytest.approx(76.20)


def test_bias_agrees_with_scipy_over_all_cylinders():
    made = job(cylinders=3)
    for c, (s, m) in enumerate([(76.55, 76.562), (76.55, 76.559), (76.60, 76.611)], 1):
        bored(made, c, 1, s, m)
    got = cut.bias(made.view())
    d = np.array([0.012, 0.009, 0.011])
    # the line through them carried on to the fourth, its slope held by a row of its own (least squares by NumPy), and
    # the assumed spread as four further degrees of freedom: the conjugate priors of a slope and of a variance
    x = np.array([[1, -3], [1, -2], [1, -1], [0, 1 / setting.ASSUMED_DRIFT]])
    (level, _), squares, *_ = np.linalg.lstsq(x, np.append(d, 0.0), rcond=None)
    spread = math.sqrt((squares[0] + 4 * setting.ASSUMED_SPREAD_MM**2) / 6)
    half = stats.t.ppf(0.975, 6) * spread * math.sqrt(1 + np.linalg.inv(x.T @ x)[0, 0])
    assert got.mean_mm == pytest.approx(level, abs=1e-9) and got.half_mm == pytest.approx(half, rel=1e-6)


def test_a_bar_and_tip_micrometer_is_read_as_a_diameter():
    made = job()
    made.put(cut.METER, setting.BAR_TIP)
    assert "bar's diameter" in say(work(made).blocked)
    made.put(cut.BAR, 50.0)
    bored(made, 1, 1, (76.55 + 50.0) / 2, 76.562)
    assert cut.bias(made.view()).mean_mm == pytest.approx(0.012, abs=1e-9)
    wanted = work(made).results[0]
    assert wanted.reading_mm == pytest.approx((wanted.set_mm + 50.0) / 2)


def test_the_wrong_micrometer_is_noticed_and_not_learned_from():
    made = job()
    bored(made, 1, 1, 63.3, 76.562)
    answer = work(made)
    assert answer.results[0].key == "cut.impossible.1.1"
    assert not cut.bias(made.view()).known


def test_a_struck_out_pair_is_left_out_but_logged():
    made = job(cylinders=1)
    bored(made, 1, 1, 76.40, 76.41)
    bored(made, 1, 2, 76.55, 76.50)
    assert cut.bias(made.view()).pairs == 2
    assert any(r.key == "cut.slip" for r in work(made).results)
    made.put(cut.USE, "strike", cylinder=1, **{"pass": 2})
    assert cut.bias(made.view()).pairs == 1
    assert not any(r.key == "cut.slip" for r in work(made).results)
    assert len(cut.pairs(made.view())) == 2


def test_a_warm_block_is_bored_larger_and_measured_back():
    made = job(cylinders=1)
    bored(made, 1, 1, 76.55, 76.562)
    cold = work(made).results[0]
    made.put(cut.BLOCK_C, 35.0)
    # α 11e-6: the same reading of 76.562 mm at 35 °C is 12.6 µm smaller at 20 °C
    assert cut.bored_now_mm(made.view(), 1) == pytest.approx(76.562 / (1 + 11e-6 * 15), abs=1e-6)
    warm = work(made).results[0]
    assert warm.wanted_mm == pytest.approx(cold.wanted_mm * (1 + 11e-6 * 15), abs=1e-6)
    assert any("20 °C" in say(w) for w in warm.why)
    made.put(cut.WARM, 20.0, cylinder=1, **{"pass": 1})
    assert cut.bored_now_mm(made.view(), 1) == pytest.approx(76.562)


def test_a_cold_shop_where_block_and_master_are_cold_together():
    made = job(cylinders=1)
    bored(made, 1, 1, 76.55, 76.562)
    mild = work(made).results[0]
    made.put(cut.BLOCK_C, 5.0)
    alone = cut.bored_now_mm(made.view(), 1)
    made.put(cut.ZERO_C, 5.0)
    # the steel master shrank as well: 76.562 × (11.5 − 11) × 10⁻⁶ × 15 = 0.6 µm is left of 12.6 µm (ISO 1; hand calculation)
    assert alone - 76.562 == pytest.approx(0.01263, abs=1e-5)
    assert cut.bored_now_mm(made.view(), 1) - 76.562 == pytest.approx(-0.00057, abs=2e-5)
    # and the setting micrometer is as cold as the master was: the setting is the usual one but for that little
    assert work(made).results[0].wanted_mm == pytest.approx(mild.wanted_mm + 0.00057, abs=2e-5)


def test_done_when_every_bore_is_at_its_size():
    made = job()
    bored(made, 1, 1, 76.915, 76.925)
    assert not work(made).done
    bored(made, 2, 1, 76.913, 76.922)
    answer = work(made)
    assert answer.done and "nothing left" in say(named(answer, "cut.passes.2").line)


def test_bored_too_large_stops():
    made = job(cylinders=1)
    bored(made, 1, 1, 76.98, 76.985)
    answer = work(made)
    assert not answer.done and named(answer, "cut.passes.1").verdict == Verdict.STOP


def test_the_edge_counter_counts_passes_in_the_order_they_were_made():
    made = job(cylinders=3)
    for c in (1, 2, 3):
        bored(made, c, 1, 76.55, 76.56)
    made.put(cut.INDEXED, "fresh", cylinder=3, **{"pass": 1})
    assert named(work(made), "cut.edge").passes == 1
    made.put(cut.EDGE_LIFE, 1)
    assert "Index" in say(named(work(made), "cut.edge").line)


def test_force_is_that_of_the_heaviest_pass_with_a_worn_edge():
    made = job(cylinders=1)
    made.put(cut.NOSE, 0.4)
    load = cut.heaviest(made.view())

    assert load.depth_mm == pytest.approx((76.6738 - 76.2) / 2, abs=1e-6)
    assert cut.cutting_force_n(made.view()) == pytest.approx(1.4 * cutting.force_n(load.depth_mm, 0.1, nose_mm=0.4))
    assert cut.cutting_force_n(Making(cylinders=1).view()) is None
    # with nothing planned, the largest cut the tool allows
    assert cut.heaviest(Making(nominal=76.2, cylinders=1).view()).depth_mm == pytest.approx(0.381)


def test_a_weak_set_up_makes_more_passes():
    made = job(cylinders=1)
    made.put(cut.SETUP_LIMIT, 0.15)
    plan = cut.passes_left(made.view(), 1)
    assert plan.limit == "set-up" and len(plan.passes) == 5 and max(p.cut_mm for p in plan.passes) <= 0.15 + 1e-9


# -- the machine's history -----------------------------------------------------------------


def bar_card(*jobs):
    made = Making()
    for j, found in enumerate(jobs):
        for n, (s, m) in enumerate(found, 1):
            for key, mm in ((cut.HISTORY_SET, s), (cut.HISTORY_MEASURED, m)):
                made.typed(
                    type("F", (), {"key": key}),
                    type("E", (), {"text": str(mm), "typed_unit": "mm", "value": mm, "unit": "mm"}),
                    job=f"oldjob{j:02d}",
                    cylinder=1,
                    **{"pass": n},
                )
    return made


def test_history_comes_from_the_bars_card():
    old = [[(80.0, 80.010), (80.5, 80.512)], [(70.0, 70.007), (70.4, 70.409)]]
    card = bar_card(*old).view()
    made = job(cylinders=1, cards={"thebar01": card}, bar="thebar01")
    got = cut.bias(made.view())
    assert cut.bar_bias(card).mean_mm == got.mean_mm
    assert got.known and got.pairs == 0 and (got.past_pairs, got.past_jobs) == (4, 2)
    assert got.mean_mm == pytest.approx(0.0095, abs=0.0005)
    bored(made, 1, 1, 76.55, 76.562)
    with_own = cut.bias(made.view())
    assert with_own.pairs == 1 and with_own.half_mm < got.half_mm
    assert got.mean_mm < with_own.mean_mm < 0.012


def test_a_job_is_no_history_to_itself_and_can_do_without():
    card = bar_card([(80.0, 80.010), (80.5, 80.512)]).view()
    made = job(cylinders=1, cards={"thebar01": card}, bar="thebar01")
    assert [r.job for r in cut.history(View(made.document(id="oldjob00"), made.cards))] == []
    assert [r.job for r in cut.history(made.view())] == ["oldjob00"]
    made.put(USE, "off")
    assert cut.history(made.view()) == ()
    assert not cut.bias(made.view()).known


def test_without_a_card_there_is_no_history():
    assert cut.history(job().view()) == ()


def test_the_cards_constants_stand_in():
    card = Making()
    card.put(cut.SPIN, 420.0)
    made = job(cards={"thebar01": card.view()}, bar="thebar01")
    assert cut.heaviest(made.view()).speed_m_min == pytest.approx(math.pi * 76.6738 * 420 / 1000, rel=1e-6)


def test_a_setting_over_the_bored_size_stops_before_the_cut():
    made = job()
    bored(made, 1, 1, 76.55, 76.562)
    made.put(cut.SETTING, 77.55, cylinder=1, **{"pass": 2})  # 76.755 with its digits mixed up
    answer = work(made)
    assert answer.results[0].key == "cut.over.1.2" and answer.results[0].verdict == Verdict.STOP
    # and no setting for a next pass beside it
    assert not [r for r in answer.results if r.key.startswith(("cut.setting", "cut.trial"))]


def test_after_a_slip_no_next_setting_is_shown_until_it_is_settled():
    made = job(cylinders=3)
    for c, (s, m) in enumerate([(76.55, 76.562), (76.55, 76.559), (76.60, 76.53)], 1):
        bored(made, c, 1, s, m)
    keys = [r.key for r in work(made).results]
    assert keys[0] == "cut.slip" and not any(k.startswith("cut.setting") for k in keys)
    made.put(cut.USE, "strike", cylinder=3, **{"pass": 1})
    assert any(r.key.startswith("cut.setting") for r in work(made).results)
    again = job(cylinders=3)
    for c, (s, m) in enumerate([(76.55, 76.562), (76.55, 76.559), (76.60, 76.53)], 1):
        bored(again, c, 1, s, m)
    again.put(cut.USE, "keep", cylinder=3, **{"pass": 1})  # looked at, and it counts
    assert "cut.slip" not in [r.key for r in work(again).results]
