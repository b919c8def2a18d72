"""Nothing is called done that is not: the gates, the board of cylinders and the handover.

What counts as settled is common practice, no source.
"""

from dataclasses import replace

import pytest

from logic.flow import State
from logic.result import Verdict
from logic.say import L, say
from store import flow
from store.at_bore import at_bore, in_doubt
from store.board import BoreState, board
from store.documents import Chosen, Decision, Reading
from store.facts.gates import PISTON_RISK
from store.fields import clamp, cut, hone, sizes
from store.sheets import bores, sheet
from store.view import View
from tests import sample

from .making import Making
from .test_contradictions import WITHOUT, without
from .test_every_field_counts import NOT_CUT, whole


def measured():
    """Four bores, twelve places each read, and nothing else entered."""
    made = Making(nominal=76.2, cylinders=4)
    for c in range(1, 5):
        for depth in (1, 2, 3):
            for axis, worn in (("thrust", 0.15), ("crank", 0.1)):
                made.put(bores.READING, worn if depth < 3 else 0.01, cylinder=c, depth=depth, axis=axis)
    return made


def work(view, name):
    return flow.work_of(view, sheet(name))


def finished(leave_out=lambda entry: False):
    """The demo, finished, without some of its entries."""
    documents = sample.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    (job,) = (d for d in documents if d.type == "job")
    return View(job.model_copy(update={"entries": tuple(e for e in job.entries if not leave_out(e))}), kit)


def test_after_the_readings_alone_only_the_readings_are_done():
    view = measured().view()
    done = [s.key for s in flow.flow(view).statuses if s.state == State.DONE]
    assert done == ["bores"]
    assert flow.flow(view).next.key == "oversize"
    for name in ("cut", "chamfer", "hone"):
        assert say(work(view, name).blocked) == "Decide on the oversize first. Until then there is no size to cut to."
        assert not work(view, name).results
    assert {b.state for b in board(view)} == {BoreState.DECIDE}


def test_a_decision_opens_nothing_until_the_pistons_are_measured_or_the_risk_is_taken():
    made = measured()
    made.decide("oversize", "+0.030 in", number=0.762)
    assert say(work(made.view(), "cut").blocked) == "Measure the pistons first: each bore is made to fit its piston."
    assert {(b.step, say(b.needs)) for b in board(made.view())} == {("sizes", "Measure its piston")}
    assert Verdict.GO not in {r.verdict for r in work(made.view(), "sizes").results}  # no yes to what is assumed
    made.decide(PISTON_RISK, "bored without")
    view = made.view()
    assert work(view, "cut").results and {b.step for b in board(view)} == {"cut"}
    assert flow.flow(view).state("sizes").state != State.DONE  # the clearance is still assumed


def test_no_verdict_on_a_bore_that_is_not_washed_and_cold():
    view = finished(lambda e: e.what == "final.washed" if isinstance(e, Chosen) else False)
    assert work(view, "final").missing == (("final.washed", {}),) and not work(view, "final").results
    assert not work(view, "clean").done
    assert {b.state for b in board(view)} == {BoreState.CHECK}


def test_the_finished_job_is_in_order_on_the_board():
    view = finished()
    assert work(view, "clean").done and work(view, "clean").results[0].verdict == Verdict.GO
    assert {b.state for b in board(view)} == {BoreState.DONE}


def test_the_handover_follows_every_cylinder():
    """All 13 checks answered, and one bore not measured, one ring gap not tried, one bore not honed."""
    for key, cylinder, state in (
        ("final.reading", 2, BoreState.CHECK),
        ("rings.gap", 3, BoreState.FIT),
        ("hone.size", 1, BoreState.HONE),
    ):
        view = finished(
            lambda e, key=key, c=cylinder: isinstance(e, Reading) and e.what == key and e.at.get("cylinder") == c
        )
        told = work(view, "clean")
        assert not told.done and told.results[0].verdict != Verdict.GO, key
        assert say(told.results[0].line).startswith("Not fit to hand over yet. "), key
        assert board(view)[cylinder - 1].state == state, key
        assert flow.flow(view).state("clean").state != State.DONE


def test_an_undecided_job_is_not_handed_over():
    view = finished(lambda e: isinstance(e, Decision))
    assert not work(view, "clean").done and work(view, "cut").blocked is not None


def test_the_order_of_the_work():
    assert [s.key for s in flow.flow(finished()).statuses] == [
        "strip",
        "bores",
        "walls",
        "sweep",
        "oversize",
        "sleeve",
        "compression",
        "parts",
        "sizes",
        "face",
        "clamp",
        "cut",
        "chamfer",
        "hone",
        "final",
        "fitting",
        "rings",
        "clean",
    ]


def now(made):
    """The steps that can be done now, and why the next ones wait."""
    found = flow.flow(made.view())
    on = [s.key for s in found.statuses if s.state in (State.NEXT, State.OPEN, State.LOOK)]
    return on, {s.key: say(s.reason) for s in found.statuses if s.state == State.BLOCKED}


def test_now_lists_only_what_can_be_done_now():
    """Common practice, no source: decide, pistons, clamp, bore, hone, wash and measure cold, rings, handover."""
    made = measured()
    assert now(made)[0] == ["oversize"]
    made.decide("oversize", "+0.030 in", number=0.762)
    assert now(made)[0] == ["parts", "sizes"]
    made.put(sizes.CLEARANCE, 0.07)
    for c in range(1, 5):
        made.put(sizes.PISTON, 76.2 + 0.762 - 0.07, cylinder=c)
    on, later = now(made)
    assert on == ["clamp"] and later["cut"] == "Clamp the machine first."
    assert later["hone"] == "Bore cylinders 1, 2, 3, 4 first."
    made.put(clamp.THREAD, "M12")
    made.put(clamp.TORQUE, 60.0)
    on, later = now(made)
    assert "cut" in on and not {"hone", "chamfer", "final", "rings", "clean"} & set(on)
    for c in range(1, 5):
        made.put(cut.SETTING, 76.886, cylinder=c, **{"pass": 1})
        made.put(cut.MEASURED, 76.886, cylinder=c, **{"pass": 1})
    on, later = now(made)
    assert {"chamfer", "hone"} <= set(on) and not {"final", "rings", "clean"} & set(on)
    assert later["final"] == later["rings"] == "Hone cylinders 1, 2, 3, 4 first."
    for c in range(1, 5):
        for d in (1, 2, 3):
            made.put(hone.SIZE, 76.886, cylinder=c, check=1, depth=d)
            made.put(hone.SIZE, 76.962, cylinder=c, check=2, depth=d)
        made.put(hone.STROKES, 40, cylinder=c, check=2)
    on, later = now(made)
    assert "final" in on and later["rings"] == "Wash, let it go cold and measure first." == later["clean"]


def test_a_job_that_is_only_honed_has_nothing_to_bore():
    """A tenth of the usual wear: the hone alone takes it out, and the bar, its clamps and the chamfer stay off the path."""
    made = Making(nominal=76.2, cylinders=2)
    for c in (1, 2):
        for depth in (1, 2, 3):
            for axis in ("thrust", "crank"):
                made.put(bores.READING, 0.002 * c if depth < 3 else 0.0, cylinder=c, depth=depth, axis=axis)
    made.put(bores.DIVISION, 0.001)
    made.decide("oversize", "Hone only", number=0.0)
    found = flow.flow(made.view())
    off = {s.key: say(s.reason) for s in found.statuses if s.state == State.OFF}
    assert off["cut"] == off["clamp"] == off["chamfer"] == "The bores are only honed"
    assert {b.step for b in board(made.view())} <= {"hone", "sizes"}


# -- what one step forbids no other allows ----------------------------------------------------------
#: A step's own no, by what is entered otherwise in a job that is clean and not yet cut: wall too thin (mm), largest bore,
#: a deck that leans 0.06 mm from point to point, studs overdone, a cracked block, a bar that ends above the bore's end.
FORBIDDEN = {
    "walls": {"wall.reading": 3.5},
    "largest bore": {"oversize.largest": 76.9},
    "deck": {"face.height": lambda at: 200.0 + 0.06 * at["point"]},
    "studs": {"clamp.thread": "M8"},
    "crack": {"strip.cracks": "cracked"},
    "reach": {"strip.reach": 120.0},
}


@pytest.mark.parametrize("name", FORBIDDEN)
def test_a_no_elsewhere_lets_nothing_be_cut(name):
    clean = whole({}, (*WITHOUT, *NOT_CUT)).view()
    before = work(clean, "cut").results
    assert any(r.verdict == Verdict.GO for r in before) and at_bore(clean, "cut", 1).figures
    view = whole(FORBIDDEN[name], (*without(FORBIDDEN[name]), *NOT_CUT)).view()
    assert not any(r.verdict == Verdict.GO and r.key.split(".")[-1].isdigit() for r in work(view, "cut").results)
    assert any(say(r.line).startswith("Do not cut: ") for r in work(view, "cut").results)
    now = at_bore(view, "cut", 1)
    assert now.alarm and now.offer is None and not any(say(what) == "Set to" for what, _ in now.figures)
    if name in ("walls", "largest bore"):
        sized = work(view, "sizes")
        assert not sized.done and all(r.verdict != Verdict.GO for r in sized.results if r.key.startswith("sizes."))
        (decided,) = [r for r in work(view, "oversize").results if r.key == "oversize"]
        assert "too large for cylinder" in say(decided.line)


def test_with_a_doubt_open_the_bore_shows_neither_setting_nor_strokes():
    now = at_bore(whole({}, (*WITHOUT, *NOT_CUT)).view(), "cut", 1)
    assert now.verdict == Verdict.GO and say(now.figures[0][0]) == "Set to" and now.offer is not None
    held = in_doubt(now, L("these two disagree"))
    assert say(held.line) == "Not yet: these two disagree" and held.verdict == Verdict.MAYBE
    assert held.alarm and held.offer is None and [say(what) for what, _ in held.figures] == ["Stop at"]
    stopped = replace(now, verdict=Verdict.STOP)
    assert in_doubt(stopped, L("these two disagree")) is stopped


def test_a_wall_that_was_not_read_is_asked_for_and_the_others_are_no_yes():
    def walls_but(angle):
        return {"wall.reading": lambda at: None if at["angle"] == angle else 6.5}

    every = work(whole({"wall.reading": 6.5}, WITHOUT).view(), "walls")
    assert every.done
    for angle in (0, 90, 180, 270):
        some = work(whole(walls_but(angle), WITHOUT).view(), "walls")
        assert ("wall.reading", {"cylinder": 1, "angle": angle}) in some.missing and not some.done
        assert all(r.verdict != Verdict.GO for r in some.results if r.key.startswith("wall.") and r.key != "wall.gauge")


def test_a_size_that_the_wall_forbids_is_neither_honed_to_nor_chamfered():
    not_honed = (*WITHOUT, "hone.size", "hone.across", "hone.strokes", "chamfer.stopped")
    clean = whole({"hone.size": None}, not_honed).view()
    assert at_bore(clean, "hone", 1).offer is not None
    assert not any(r.verdict == Verdict.STOP for name in ("hone", "chamfer") for r in work(clean, name).results)
    view = whole({"wall.reading": 3.5}, (*(w for w in not_honed if not w.startswith("wall")),)).view()
    now = at_bore(view, "hone", 1)
    assert now.alarm and now.verdict == Verdict.STOP and now.offer is None
    assert [say(what) for what, _ in now.figures] == ["Stop at"] and say(now.line).startswith("Do not hone on: ")
    for name, words in (("hone", "Do not hone on: "), ("chamfer", "Do not chamfer: ")):
        step = work(view, name)
        assert say(step.results[0].line).startswith(words) and step.results[0].verdict == Verdict.STOP and not step.done
        assert not any(r.key.startswith(("hone.progress.1", "hone.split.1")) for r in step.results)


def test_before_a_bore_is_bored_the_hone_is_told_no_strokes():
    view = whole({}, (*WITHOUT, *NOT_CUT, "hone.size", "hone.across", "hone.strokes")).view()
    now = at_bore(view, "hone", 1)
    assert say(now.line) == "Not bored to size yet." and now.before == "cut" and now.verdict == Verdict.MAYBE
    assert now.offer is None and [say(what) for what, _ in now.figures] == ["Stop at"]
    told = work(view, "hone")
    assert say(told.results[0].line) == "Cylinder 1: Not bored to size yet." and not told.done
    assert not any(r.key.startswith(("hone.progress.1", "hone.split.1")) for r in told.results)
    begun = whole({}, (*WITHOUT, *NOT_CUT)).view()  # it is being honed: the bar's passes were never logged
    assert "not bored" not in say(at_bore(begun, "hone", 1).line)
