"""Jobs whose entries contradict each other, or say too little, each in its own way: none of them gets a yes where it matters.

Whole invented jobs that are in order, with one thing wrong. What must be noticed follows from geometry (two bores
cannot overlap, wear is where rings run, a bore only grows) or is common practice, no source, where a bound is one
of usage. The same jobs without it raise nothing.
"""

import pytest

from logic.after_check import check_exchanged
from logic.block_check import check_still
from logic.plan_check import check_sleeves_alike
from logic.readings_check import Typing, check_nominal
from logic.result import Verdict
from store.facts.evidence import raised
from store.flow import work_of
from store.sheets import sheet
from tests.store.making import Making
from tests.store.test_every_field_counts import (
    AXIS,
    CLEARANCE,
    FINISHED,
    NOMINAL,
    PASSES,
    STEP,
    WORN,
    fields,
    usual,
    whole,
)

#: What the jobs do without: a second way to the same thing, and what is about wet liners and grades.
WITHOUT = (
    "sweep.",
    "sleeve.",
    "face.squared",
    "face.squared2",
    "bore.offset",
    "bore.unworn",
    "bore.last_size",
    "bore.crown",
    "rings.least",
    "rings.widest",
    "strip.",
    "fitting.",
    "compression.",
)


def worn(change):
    """The readings of the worn bores, changed: by place and what was read there."""
    return {"bore.reading": lambda at: change(at, usual(fields()["bore.reading"], at))}


def by(name, *values):
    """One value for each number of a place's part."""
    return lambda at: values[at[name] - 1]


#: What is wrong: what is changed, the doubt that names it (the start of its key), and a step that must not say yes.
WRONG = {
    "every reading the same": ({"bore.reading": 0.02}, "still", "oversize"),
    "every reading the same, and nothing worn": ({"bore.reading": 0.0}, "still", "oversize"),
    "one depth entered three times": ({"bore.depth": 60.0}, "depths.same", "oversize"),
    "two depths are one": ({"bore.depth": by("depth", 13.0, 55.0, 55.0)}, "depths.same", "oversize"),
    "block hotter than blocks are": (
        {"bore.block_temperature": 65.0, "bore.zero_temperature": 62.0},
        "temp",
        "oversize",
    ),
    "block colder than blocks are": (
        {"bore.block_temperature": -25.0, "bore.zero_temperature": -25.0},
        "temp",
        "oversize",
    ),
    "ring travel longer than the bore": ({"bore.ring_bottom": 200.0}, "depths.bottom", "oversize"),
    "wear above ring travel": ({"bore.ring_top": 50.0}, "outside", "oversize"),
    "wear below ring travel": (
        {"bore.ring_bottom": 40.0, **worn(lambda at, v: v + (0.2 if at["depth"] == 2 else 0.0))},
        "outside",
        "oversize",
    ),
    "widest at the bottom": (
        worn(lambda at, v: WORN[at["cylinder"]][3 - at["depth"]] * AXIS[at["axis"]]),
        "",
        "oversize",
    ),
    "narrowest in the middle": (worn(lambda at, v: v if at["depth"] != 2 else -0.06), "reading", "oversize"),
    "gauge zeroed anew for cylinder 2": (
        worn(lambda at, v: v + (0.09 if at["cylinder"] == 2 else 0.0)),
        "",
        "oversize",
    ),
    "gauge zeroed anew, the other way": (
        worn(lambda at, v: v - (0.05 if at["cylinder"] == 2 else 0.0)),
        "level",
        "oversize",
    ),
    "worn readings after the cut": (worn(lambda at, v: STEP + 0.001 * at["depth"]), "reference", "oversize"),
    "a page read from another engine": (worn(lambda at, v: v + 0.5), "reference", "oversize"),
    "bores closer than they are wide": ({"bore.spacing": 60.0}, "spacing", "walls"),
    "walls thicker than the room between bores": ({"bore.spacing": 78.5}, "web", "walls"),
    "walls as no block has": ({"wall.reading": 30.0}, "wall", "walls"),
    "walls in the other unit": ({"wall.reading": lambda at: 0.22 * 25.4 * 25.4 / 4}, "wall", "walls"),
    "a limit for walls ten times too small": ({"wall.minimum": 0.5}, "usual.wall", "walls"),
    "the bore before boring below any reading": ({"cut.present": NOMINAL - 0.4}, "present", "cut"),
    "the bore before boring above every reading": ({"cut.present": NOMINAL + 0.36}, "present", "cut"),
    "cut back to where it was": ({"cut.measured": NOMINAL + 0.004}, "hone.bored", "hone"),
    "passes in each other's row": ({"cut.measured": by("pass", *reversed(PASSES))}, "grows", "cut"),
    "hot as an oven while it was measured": ({"cut.temperature": 100.0}, "hone.bored", "hone"),
    "honed smaller": (
        {"hone.size": by("check", FINISHED - 0.07, FINISHED - 0.02, FINISHED, FINISHED - 0.05)},
        "",
        "hone",
    ),
    "one depth a tenth larger": (
        {"hone.size": lambda at: usual(fields()["hone.size"], at) + (0.1 if at["depth"] == 2 else 0.0)},
        "",
        "hone",
    ),
    "grown without a stroke": ({"hone.strokes": 0}, "hone.still", "hone"),
    "strokes that took nothing off": ({"hone.size": FINISHED - 0.001}, "", "hone"),
    "mean roughness of another surface": ({"hone.ra": 1.4}, "trace.1", "hone"),
    "final check far colder than its ring": (
        {"final.block_temperature": 2.0, "final.zero_temperature": 35.0},
        "final.hone",
        "final",
    ),
    "final gauge zeroed on the old ring": ({"final.zero": NOMINAL}, "final", "final"),
    "limits no bore can miss": ({"final.over": 0.2, "final.under": 0.2}, "usual.final", "final"),
    "rings tried in the worn bore": ({"rings.bore": NOMINAL + 0.26}, "ring.bore", "rings"),
    "rings tried in another engine's bore": ({"rings.bore": NOMINAL + 3.0}, "ring.bore", "rings"),
    "a piston larger than its bore": ({"sizes.piston": FINISHED + 0.05}, "piston", "sizes"),
    "a piston as large as its bore": ({"sizes.piston": FINISHED}, "piston", "sizes"),
    "standard pistons for a bored engine": ({"sizes.piston": NOMINAL - CLEARANCE}, "piston", "sizes"),
    "no clearance": ({"sizes.clearance": 0.0}, "clearance", "sizes"),
    "a clearance of a worn engine": ({"sizes.clearance": 0.3}, "clearance", "sizes"),
    "iron that expands like aluminium": ({"bore.expansion": 24e-6}, "expansion", "oversize"),
    "wear to be honed out as if it were none": ({"oversize.hone_allow": 0.3}, "usual.oversize", "oversize"),
    "content with an even chance": ({"oversize.confidence": 0.59}, "usual.oversize", "oversize"),
    "hardly a margin in the clamps": ({"clamp.safety": 1.0}, "usual.clamp", "clamp"),
    "friction as nothing has": ({"clamp.friction": 0.4}, "usual.clamp", "clamp"),
    "a deck allowed to lean as it likes": ({"face.limit": 0.5}, "usual.face", "face"),
    "a gasket that hangs over the chamfers": ({"compression.gasket_bore_new": 78.2}, "chamfer.gasket", "chamfer"),
    "a gasket without land between the bores": ({"compression.gasket_bore_new": 89.5}, "gasket.land", "compression"),
    "a stroke longer than the rings travel": ({"compression.stroke": 102.0}, "stroke.travel", "compression"),
    "known and shown thicknesses exchanged": (
        {"wall.known": by("piece", 7.6, 11.4), "wall.shown": by("piece", 6.0, 9.0)},
        "wall.pieces",
        "walls",
    ),
    "one known thickness a digit off": ({"wall.known": by("piece", 6.9, 9.0)}, "wall.pieces", "walls"),
    "clean bores that do not apply": ({"clean.bores": "none"}, "applies.clean.bores", "clean"),
    "an open crankcase under a crank that stays": (
        {"strip.crank": "in", "strip.covered": "none"},
        "applies.strip.covered",
        "strip",
    ),
    "swept, and no offset": ({"bore.side": "swept", "bore.offset": None}, "bore.swept", "oversize"),
    "last bored to the nominal bore": ({"bore.last_size": NOMINAL}, "nominal", "oversize"),
    "old pistons of another step": ({"bore.last_size": NOMINAL, "bore.crown": 0.254}, "nominal", "oversize"),
    "old pistons say it was bored before": ({"bore.crown": 0.508}, "reference", "oversize"),
}


def without(change):
    return tuple(key for key in WITHOUT if not any(k.startswith(key) for k in change))


def test_the_same_jobs_with_nothing_wrong_raise_nothing():
    assert raised(whole({}, WITHOUT).view()) == ()


@pytest.mark.parametrize("name", WRONG)
def test_what_contradicts_itself_gets_no_yes(name):
    change, key, step = WRONG[name]
    view = whole(change, without(change)).view()
    found = raised(view)
    assert any(d.key.startswith(key) for d in found), [d.key for d in found]
    results = work_of(view, sheet(step)).results
    assert results and not all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results)


# -- the sweep ------------------------------------------------------------------------------------------
SWEPT = tuple(key for key in WITHOUT if key != "sweep.")


def swept(change):
    return whole({"sweep.spindle_diameter": 50.0, "sweep.gap": (NOMINAL - 50.0) / 2, **change}, SWEPT).view()


def test_a_sweep_that_agrees_with_gauge_and_gap_raises_nothing_and_says_which_zero_counts():
    view = swept({})
    assert [d.key for d in raised(view) if d.key.startswith("sweep")] == []
    why = [str(w) for r in work_of(view, sheet("sweep")).results for w in r.why]
    assert any("the zero entered counts" in w for w in why)


@pytest.mark.parametrize(
    "change",
    [
        {"sweep.gap": 13.5},  # 0.8 mm on diameter
        {"sweep.spindle_diameter": 50.5},
        {"sweep.zero": NOMINAL + 0.3},
        {"sweep.zero": NOMINAL - 0.3},
        {"sweep.reading": lambda at: usual(fields()["sweep.reading"], at) + 0.2},  # another cylinder, worn 0.4 mm more
    ],
    ids=["gap", "spindle", "zero too large", "zero too small", "another cylinder"],
)
def test_a_sweep_that_another_source_contradicts_is_named(change):
    view = swept(change)
    assert any(d.key.startswith("sweep.zero") for d in raised(view))
    assert not any(r.verdict == Verdict.GO for r in work_of(view, sheet("oversize")).results)


def test_a_gap_without_the_spindles_diameter_is_said_not_to_count():
    view = whole({"sweep.gap": 13.1}, (*SWEPT, "sweep.spindle_diameter", "sweep.zero")).view()
    why = [str(w) for r in work_of(view, sheet("sweep")).results for w in r.why]
    assert any("only with the spindle" in w for w in why)


# -- one check at a time --------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("nominal", "last", "crown", "asks"),
    [
        (76.2, 76.962, 0.762, False),  # 3.000 in, bored to +0.030, and stamped so
        (76.2, 76.962, None, False),  # the stamp cannot be read: 3.000 in is as round as sizes are
        (76.2, 76.962, 0.508, True),
        (75.946, 76.962, None, True),  # 2.990 in beside 3.000 in
        (75.946, 76.962, 0.762, True),
        (76.962, 76.962, None, True),
        (76.962, 76.962, 0.0, False),  # bored to standard pistons, in sleeves
        (84.25, 84.75, None, True),  # beside 84 mm
        (65.0, 65.75, None, False),
        (101.6, 101.6 + 1.016, None, False),
        (76.2, None, None, False),
    ],
)
def test_the_nominal_bore_of_an_engine_bored_before(nominal, last, crown, asks):
    assert bool(list(check_nominal(nominal, last, crown, about=()))) == asks


@pytest.mark.parametrize(
    ("division", "count", "asks"),
    [(0.001, 12, True), (0.0127, 6, False), (0.01, 5, False), (0.002, 24, True), (0.0127, 12, False)],
)
def test_a_gauge_that_stands_still(division, count, asks):
    """A reading that scatters by 4 µm: chance of all on one division, by the normal distribution."""
    typed = {(1, d, "thrust"): Typing("+0.02", 1.0) for d in range(count)}
    assert bool(list(check_still(typed, u_mm=0.004, division_mm=division, key="bore.reading"))) == asks


def test_finished_bores_under_each_others_number():
    """Two gauges on one bore agree within a few thousandths of a millimetre (common practice, no source)."""
    honed = {1: (76.962, 76.961, 76.964), 2: (76.969, 76.972, 76.968)}
    good = {c: tuple(x + 0.006 for x in sizes) for c, sizes in honed.items()}  # the gauge stands 6 µm off for all
    about = {c: ("final.reading", (("cylinder", c),)) for c in honed}
    assert list(check_exchanged(good, honed, about=about)) == []
    (doubt,) = check_exchanged({1: good[2], 2: good[1]}, honed, about=about)
    assert doubt.key == "exchanged.1.2" and doubt.about == (about[1], about[2])
    alike = {
        1: (76.962, 76.961, 76.964),
        2: (76.963, 76.961, 76.963),
    }  # nothing tells them apart, and nothing hangs on it
    assert list(check_exchanged({1: alike[2], 2: alike[1]}, alike, about=about)) == []


@pytest.mark.parametrize(
    ("outside", "asks"),
    [
        ((80.12, 80.125), False),
        ((80.12, 80.21), True),
        ((80.12, 81.12), False),
        ((80.12,), False),
        ((80.1, 80.11, 80.2), True),
    ],
)
def test_sleeves_of_one_size_are_alike(outside, asks):
    """Sleeves from one box lie within a hundredth or two (common practice, no source); a misread figure does not."""
    known = {n: (mm, ("sleeve.outside", (("cylinder", n),))) for n, mm in enumerate(outside, 1)}
    assert bool(list(check_sleeves_alike(known))) == asks


def test_every_value_that_gives_way_to_another_is_named():
    """The whole job with both of everything: what counts nowhere is said beside the answer of its step."""
    view = whole({"bore.side": "swept", "face.remedy": "skim"}, ()).view()
    told = {
        step: " ".join(str(w) for r in work_of(view, sheet(step)).results for w in r.why)
        for step in ("bores", "sweep", "sleeve", "sizes", "face", "clamp", "cut", "chamfer", "rings")
    }
    assert "the sweep counts" in told["bores"]
    assert "gets no sleeve" in told["sleeve"] and "is not used" in told["sleeve"]
    assert "cooling" in told["sizes"] and "shims only" in told["face"] and "dry or oiled" in told["clamp"]
    assert "bar's diameter" in told["cut"] and "not the dial" in told["chamfer"] and "the maker gives" in told["rings"]


def test_a_job_without_them_says_nothing_of_it():
    made = Making(nominal=76.2, cylinders=1)
    for d, wear in ((1, 0.2), (2, 0.08), (3, 0.004)):
        for axis in ("thrust", "crank"):
            made.put(fields()["bore.reading"], wear * AXIS[axis], cylinder=1, depth=d, axis=axis)
    (found,) = work_of(made.view(), sheet("bores")).results
    assert not any("counts" in str(w) for w in found.why)
