"""Clamping and handover from the log."""

import pytest

from logic.constants import constant
from logic.result import Verdict
from logic.say import say
from store.sheets import bores, clamp, clean, cut, sizes

from .making import Making


def job(**fields):
    made = Making(nominal=76.2, cylinders=1)
    made.put(sizes.CLEARANCE, 0.06)
    made.put(sizes.PISTON, 76.902, cylinder=1)
    made.put(cut.PRESENT, 76.2, cylinder=1)
    made.put(bores.LENGTH, 120.0)
    for name, value in fields.items():
        made.put(getattr(clamp, name), value)
    return made


def work(made):
    return clamp.SHEET.work(made.view())


def named(answer, key):
    return next(r for r in answer.results if r.key == key)


def test_thread_and_torque_are_asked_for():
    assert {key for key, _ in work(job()).missing} == {"clamp.thread", "clamp.torque"}


def test_preload_and_hold_by_hand():
    answer = work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0))
    assert named(answer, "clamp.stud").value.value == pytest.approx(40_000 / (0.2 * 12))
    hold = named(answer, "clamp.hold.centred")
    bored = sizes.bored_mm(job().view(), 1)
    grip = 0.15 * 2 * 40_000 / 2.4
    assert hold.figure("sliding").value == pytest.approx(1 / (80 / grip + 80 * bored / 2 / (grip * 50)))
    assert hold.figure("tipping").value == pytest.approx(2 * 40_000 / 2.4 * 60 / (80 * 120 + 40 * bored / 2))
    assert hold.verdict == Verdict.GO and answer.done


def test_the_cutting_force_comes_from_the_cut_planned():
    made = job(THREAD="M12", GRADE="8.8", TORQUE=40.0)
    force = cut.cutting_force_n(made.view())
    assert force > 0
    hold = named(work(made), "clamp.hold.centred")
    bored = sizes.bored_mm(made.view(), 1)
    assert hold.figure("twist").value == pytest.approx(force * bored / 2 / 1000)


def test_an_offset_cut_is_judged_beside_the_centred_one():
    answer = work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0, OFFSET=90.0))
    assert named(answer, "clamp.hold.offset").value.value < named(answer, "clamp.hold.centred").value.value


def test_a_stud_without_a_mark_counts_as_weak():
    plain = named(work(job(THREAD="M12", TORQUE=40.0, FORCE=80.0)), "clamp.stud")
    assert plain.figure("proof").value == pytest.approx(380 * 84.27, rel=1e-3)
    inch = named(work(job(THREAD="1/2-13 UNC", TORQUE=40.0, FORCE=80.0)), "clamp.stud")
    assert inch.figure("proof").value == pytest.approx(constant("proof.grade2").value * 0.1419 * 25.4**2, rel=2e-3)


def test_thread_and_strength_of_two_systems_are_refused_in_words():
    answer = work(job(THREAD="M12", GRADE="grade 5", TORQUE=40.0))
    assert "does not belong" in say(answer.blocked) and not answer.done


def test_oil_and_a_measured_factor_change_the_preload():
    dry = named(work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0)), "clamp.stud")
    oiled = named(work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0, THREAD_STATE="oiled")), "clamp.stud")
    measured = named(work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0, NUT_FACTOR=0.15)), "clamp.stud")
    assert dry.value.value < oiled.value.value < measured.value.value
    assert measured.value.u / measured.value.value == pytest.approx(0.1)
    assert dry.value.u / dry.value.value == pytest.approx(constant("nut_factor.dry").relative_u)


def test_engagement_in_the_block():
    unknown = named(work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0)), "clamp.thread")
    assert unknown.verdict == Verdict.INFO
    short = work(job(THREAD="M12", GRADE="8.8", TORQUE=40.0, FORCE=80.0, ENGAGEMENT=6.0))
    assert named(short, "clamp.thread").verdict != Verdict.GO and not short.done
    assert short.results[0].key == "clamp.thread"  # doubts first


def test_without_sizes_it_waits():
    made = Making(nominal=76.2, cylinders=1)
    for field, value in ((clamp.THREAD, "M12"), (clamp.GRADE, "8.8"), (clamp.TORQUE, 40.0), (clamp.FORCE, 80.0)):
        made.put(field, value)
    answer = work(made)
    assert answer.blocked is not None and named(answer, "clamp.stud").verdict == Verdict.GO


# -- cleaning and handover -------------------------------------------------------------------------
def test_the_handover_waits_for_every_check():
    made = Making(nominal=76.2, cylinders=1)
    first = clean.SHEET.work(made.view())
    assert len(first.missing) == len(clean.CHECKS) and not first.done
    assert {c.key for c in first.cautions} >= {"white_cloth", "solvents", "eyes"}
    for field in clean.CHECKS[:-1]:
        made.put(field, "yes")
    assert not clean.SHEET.work(made.view()).done
    made.put(clean.CHECKS[-1], "none")
    done = clean.SHEET.work(made.view())
    assert done.done and done.results[0].verdict == Verdict.GO


def test_one_failed_check_stops_the_handover():
    made = Making(nominal=76.2, cylinders=1)
    for field in clean.CHECKS:
        made.put(field, "yes" if field.key != "clean.oilways" else "no")
    answer = clean.SHEET.work(made.view())
    assert answer.results[0].verdict == Verdict.STOP and not answer.done
    assert "oilways" in say(answer.results[0].line)


def test_what_the_trade_checks_is_on_the_list():
    text = " ".join(say(f.label) + " " + say(f.help) for f in clean.CHECKS).lower()
    for topic in ("white cloth", "oilways", "core plugs", "rust", "cover", "crankcase", "chamfer"):
        assert topic in text
