"""The step for the top face: from heights in the log to lean, skim and shims. Invented figures."""

from __future__ import annotations

import math

import pytest

from logic.face import Spot, survey
from logic.pictures import TiltedFace
from logic.result import Verdict
from logic.say import Style, say
from store.fields.face import SQUARED
from store.sheets import bores, face, oversize
from store.sheets.face import HEIGHT, REMEDY, SKIM, X, Y

from .making import Making

MM = Style(length="mm")
SLOPE = 0.0009  # 0.9 mm per metre along the block


def job(slope=SLOPE, points=((0, 70), (0, -70), (200, 70), (200, -70), (400, 70), (400, -70)), **header):
    made = Making(nominal=86.0, cylinders=4, **header)
    made.put(bores.LENGTH, 150.0)
    made.put(bores.SPACING, 95.0)
    made.put(face.HEIGHT_U, 0.004)
    for n, (x, y) in enumerate(points, 1):
        made.put(X, x, point=n)
        made.put(Y, y, point=n)
        made.put(HEIGHT, 230 + slope * x, point=n)
    return made


def test_a_bad_face_stops_and_says_what_to_do():
    work = face.SHEET.work(job().view())
    ready = work.results[0]
    assert ready.key == "face.ready" and ready.verdict == Verdict.STOP
    assert not work.done and not work.missing
    keys = [r.key for r in work.results]
    assert keys == [
        "face.ready",
        "face.skim",
        "face.shims.1",
        "face.shims.2",
        "face.shims.3",
        "face.shims.4",
        "face.dirt",
    ]
    # 250 mm from foot to foot, 0.9 in 1000: 0.225 under the front feet, none under the rear ones
    feet = [work.results[2].figure(f"foot.{n}").value for n in (1, 2, 3, 4)]
    assert feet == pytest.approx([0.225, 0.225, 0, 0], abs=1e-9)
    assert isinstance(work.pictures[0], TiltedFace)
    assert [b[1] for b in work.pictures[0].bores] == [57.5, 152.5, 247.5, 342.5]


def test_lean_for_the_other_steps():
    view = job().view()
    one = face.lean(view, 2)
    assert one.along_mm == pytest.approx(SLOPE * 150) and one.across_mm == pytest.approx(0, abs=1e-12)
    assert one.length_mm == 150.0
    handed = bores.bore_lean(view, 2)
    # weighed against what decks do: slopes of 2e-4 times the bore's length, one standard deviation (the constant's own source)
    usual, u = (2e-4 * 150.0) ** 2, one.u_along_mm
    assert handed.along_mm == pytest.approx(one.along_mm * usual / (usual + u**2), rel=1e-3)
    assert handed.u_along_mm == pytest.approx(u * math.sqrt(usual / (usual + u**2)), rel=1e-3)
    assert handed.across_mm == pytest.approx(0, abs=1e-12) and handed.u_mm < one.u_across_mm
    assert face.lean(Making(nominal=86.0, cylinders=4).view(), 1) is None


def test_lean_raises_what_it_takes_to_clean_up():
    def worst(made):
        for c in (1, 2, 3, 4):
            for d, w in ((1, 0.2), (2, 0.1), (3, 0.0)):
                for axis in ("thrust", "crank"):
                    made.put(bores.READING, w, cylinder=c, depth=d, axis=axis)
        return oversize.cleanups(made.view())[1]

    level, leaning = worst(job(slope=0.0)), worst(job())
    assert leaning.high_mm > level.high_mm + 0.05


@pytest.mark.parametrize("remedy", ["skim", "shim"])
def test_a_remedy_takes_the_slope_away(remedy):
    made = job()
    before = face.lean(made.view(), 1)
    made.put(REMEDY, remedy)
    told, value = {"skim": (SKIM, 0.1), "shim": (SQUARED, "yes")}[remedy]
    chosen = face.SHEET.work(made.view())  # chosen alone it has changed nothing
    assert face.lean(made.view(), 1) == before and not chosen.done and chosen.missing == ((told.key, {}),)
    if remedy == "shim":
        made.put(SQUARED, "no")
        assert face.lean(made.view(), 1) == before and not face.SHEET.work(made.view()).done
    made.put(told, value)
    view = made.view()
    after = face.lean(view, 1)
    assert (after.along_mm, after.across_mm) == (0, 0) and after.u_mm == before.u_mm
    work = face.SHEET.work(view)
    assert work.done and work.results[0].verdict == Verdict.STOP
    assert work.results[1].key == "face.after" and work.results[1].verdict == Verdict.GO
    assert ("once skimmed" if remedy == "skim" else "once shimmed") in say(work.results[1].line)


def test_skim_planned_then_taken():
    made = job()
    assert face.skim_mm(made.view()) == 0.0
    made.put(REMEDY, "skim")
    # lowest at the front edge; the bores' mean lies 200 mm behind it
    assert face.skim_mm(made.view()) == pytest.approx(SLOPE * 200)
    made.put(SKIM, 0.25)
    assert face.skim_mm(made.view()) == 0.25


def test_two_points_are_enough_for_a_cautious_answer():
    made = Making(nominal=86.0, cylinders=4)
    for n, x in ((1, 0.0), (2, 400.0)):
        made.put(X, x, point=n)
        made.put(HEIGHT, 230 + 0.0002 * x, point=n)
    work = face.SHEET.work(made.view())
    assert {c.key for c in work.results[0].cautions} == {"face.two_points", "face.one_line", "face.bow_unseen"}
    assert face.lean(made.view(), 1).across_mm == 0
    assert any(
        say(a.text) == "Most a bore may lean over its length: 2.0\u202fthou" for a in work.results[0].assumptions
    )


def test_what_is_missing():
    made = Making(nominal=86.0, cylinders=4)
    work = face.SHEET.work(made.view())
    assert work.missing == (
        ("face.x", {"point": 1}),
        ("face.height", {"point": 1}),
        ("face.x", {"point": 2}),
        ("face.height", {"point": 2}),
    )
    assert [r.key for r in work.results] == ["face.dirt"]
    made.put(X, 0.0, point=1)
    made.put(HEIGHT, 230.0, point=1)
    made.put(X, 400.0, point=2)
    assert face.SHEET.work(made.view()).missing == (("face.height", {"point": 2}),)
    # a third point begun while two answer already
    made.put(HEIGHT, 230.0, point=2)
    made.put(HEIGHT, 230.0, point=3)
    work = face.SHEET.work(made.view())
    assert work.missing == (("face.x", {"point": 3}),) and not work.done
    assert work.results[0].verdict == Verdict.MAYBE  # across is only a guess


def test_all_at_one_place_is_said():
    made = Making(nominal=86.0, cylinders=4)
    for n in (1, 2):
        made.put(X, 100.0, point=n)
        made.put(HEIGHT, 230.0, point=n)
    work = face.SHEET.work(made.view())
    assert "one place" in say(work.blocked)


def test_places_grow():
    def points(view):
        return [p["point"] for p in face.SHEET.groups[0].places(view)]

    made = Making(nominal=86.0, cylinders=4)
    assert points(made.view()) == [1, 2, 3, 4]
    made.put(X, 0.0, point=6)
    assert points(made.view()) == [1, 2, 3, 4, 5, 6, 7]


def test_feet_given_one_by_one():
    made = job()
    for n, (x, y) in enumerate(((-100.0, 0.0), (100.0, 60.0), (100.0, -60.0)), 1):
        made.put(face.FOOT_X, x, foot=n)
        made.put(face.FOOT_Y, y, foot=n)
    plan = next(r for r in face.SHEET.work(made.view()).results if r.key == "face.shims.1")
    assert [plan.figure(f"foot.{n}").value for n in (1, 2, 3)] == pytest.approx([SLOPE * 200, 0, 0], abs=1e-9)


def test_a_correction_is_followed():
    made = job(slope=0.0)
    assert face.SHEET.work(made.view()).results[0].verdict == Verdict.GO
    spoiled = next(e for e in made.entries if e.what == HEIGHT.key and e.at == {"point": 5})
    made.put(HEIGHT, 230.4, point=5)
    view = made.view()
    spots = [s for s in face.fitted(view).spots if s[:2] == (400.0, 70.0)]
    assert spots == [Spot(400.0, 70.0, 230.4)] and spoiled.typed.value == 230.0
    assert face.fitted(view).model.slopes == survey(face.fitted(view).spots, u_mm=0.004).model.slopes
    assert face.SHEET.work(view).results[0].verdict != Verdict.GO
