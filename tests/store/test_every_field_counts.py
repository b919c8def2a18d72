"""What is entered is used, or said not to be: every field of every step and kit card, whatever there is of them.

Whole invented jobs are made in which every field is filled in. Each field in turn is changed over its range until some
figure, verdict, reason, caution or doubt of some step is another; one that changes nothing anywhere says so in its own help.
The same is asked of each field that may be left out, entered alone, and of limits entered the wrong way round.
"""

import math

import pytest

from logic.say import KINDS
from store import cards
from store.documents import Stamped
from store.estimate import estimate
from store.facts.evidence import raised
from store.fields import declared
from store.flow import work_of
from store.sheets import all_sheets, bores
from store.view import View
from tests.store.making import Making

NOMINAL, STEP, CLEARANCE = 76.2, 0.762, 0.06
FINISHED = NOMINAL + STEP
#: Believable values where neither a default nor a scene says one: of the whole job, or at every place.
USUAL = {
    "strip.block": "wet",
    "strip.reach": 160.0,
    "strip.height": 0.05,
    "strip.lowest": 0.03,
    "strip.recess": 8.0,
    "strip.flange": 8.05,
    "strip.highest": 0.1,
    "parts.make": "A 12",
    "parts.per_hour": 60.0,
    "parts.per_bore": 20.0,
    "parts.per_edge": 4.0,
    "parts.per_set": 40.0,
    "parts.price": 500.0,
    "parts.travel": 30.0,
    "parts.margin": 0.1,
    "clean.retorque": "cold",
    "bore.division": 0.001,
    "bore.zero": NOMINAL,
    "bore.expansion": 11e-6,
    "bore.spacing": 90.0,
    "bore.ring_top": 9.0,
    "bore.ring_bottom": 105.0,
    "bore.unworn": NOMINAL + 0.004,
    "bore.last_size": NOMINAL,
    "bore.crown": 0.0,
    "bore.bar_shift": 0.02,
    "bore.offset": 0.04,
    "wall.set_speed": 5920.0,
    "wall.thrust": "left",
    "wall.minimum_thrust": 3.2,
    "face.first_bore": 45.0,
    "face.first_bore2": 45.0,
    "face.skim": 0.1,
    "face.skim2": 0.1,
    "sweep.zero": NOMINAL,
    "sweep.gap": 13.105,
    "sweep.spindle_diameter": 50.0,
    "sweep.set_over": 0.03,
    "oversize.largest": 77.4,
    "oversize.listed": 0.6,
    "sleeve.outside": 80.2,
    "sleeve.outside_again": 80.205,
    "sleeve.inside": 75.8,
    "sleeve.length": 130.0,
    "sleeve.bored": 80.14,
    "sleeve.fit_least": 0.04,
    "sleeve.fit_most": 0.09,
    "sleeve.cold": -60.0,
    "sizes.clearance": CLEARANCE,
    "sizes.fuel": "spark",
    "sizes.piston": FINISHED - CLEARANCE,
    "sizes.wall_temperature": 120.0,
    "sizes.skirt_temperature": 130.0,
    "clamp.thread": "M12",
    "clamp.torque": 40.0,
    "clamp.nut_factor": 0.2,
    "clamp.engagement": 20.0,
    "clamp.force": 300.0,
    "cut.bar": 50.0,
    "cut.setup": 0.6,
    "cut.centre": 0.0,
    "cut.present": NOMINAL + 0.004,
    "cut.temperature": 20.0,
    "chamfer.touch": 2.5,
    "chamfer.stopped": 3.25,
    "chamfer.measured": 0.75,
    "hone.grit1": 150,
    "hone.grit2": 220,
    "hone.grit3": 280,
    "hone.grit": 280,
    "hone.clear": 25.0,
    "hone.temperature": 20.0,
    "hone.ra": 0.45,
    "hone.rpk": 0.25,
    "hone.rk": 0.9,
    "hone.rvk": 1.4,
    "hone.ra_low": 0.3,
    "hone.ra_high": 0.6,
    "hone.rpk_low": 0.1,
    "hone.rpk_high": 0.35,
    "hone.rk_low": 0.6,
    "hone.rk_high": 1.2,
    "hone.rvk_low": 1.0,
    "hone.rvk_high": 2.0,
    "final.washed": "yes",
    "final.zero": FINISHED,
    "final.reading": 0.001,
    "final.again": 0.001,
    "final.over": 0.0127,
    "final.under": 0.0127,
    "final.round": 0.0127,
    "final.taper": 0.0127,
    "final.division": 0.0025,
    "final.repeat": 0.0015,
    "final.master_u": 0.001,
    "rings.top_share": 0.004,
    "rings.second_share": 0.0045,
    "rings.ring_temperature": 200.0,
    "rings.wall_temperature": 120.0,
    "rings.least": 0.28,
    "rings.widest": 0.6,
    "rings.gap": 0.36,
    "rings.bore": FINISHED,
    "fitting.mark": "A",
    "fitting.grade": "A",
    "fitting.grade_low": FINISHED - CLEARANCE - 0.005,
    "fitting.grade_high": FINISHED - CLEARANCE + 0.005,
    "fitting.weight": 402.0,
    "fitting.spin": 4500.0,
    "fitting.total": 805.5,
    "compression.stroke": 90.0,
    "compression.chamber": 48.0,
    "compression.gasket_bore": 78.0,
    "compression.deck": 0.3,
    "compression.deck_again": 0.32,
    "compression.stands": "below",
    "compression.book": 8.4,
    "compression.crown_new": 1.0,
    "compression.chamber_new": 47.0,
    "compression.gasket_new": 1.3,
    "compression.gasket_bore_new": 78.5,
    "compression.least_gap": 1.0,
    "compression.highest": 10.0,
    "card.error": 0.001,
    "card.size": 75.0,
}
#: What one place has that the others of its field have not.
POINTS = ((0, -50), (0, 50), (90, -50), (90, 50), (180, -50), (180, 50))
FEET = ((-100, -60), (-100, 60), (100, 0))
WORN = {1: (0.26, 0.12, 0.004), 2: (0.2, 0.1, 0.004)}
AXIS = {"thrust": 1.0, "crank": 0.5}
PASSES = (NOMINAL + 0.4, FINISHED - 0.0762)


def fields():
    """What the steps ask. What is about a machine's record needs the jobs before this one, and is tried with it."""
    asked = {key for s in all_sheets() for key in s.fields}
    return {key: f for key, f in declared().items() if key in asked and not key.startswith("record.")}


def usual(f, at):
    """A believable value of a field at a place, as if the work went well."""
    c = at.get("cylinder", 1)
    placed = {
        "bore.reading": lambda: round(WORN[c][at["depth"] - 1] * AXIS[at["axis"]], 3),
        "bore.depth": lambda: (13.0, 55.0, 115.0)[at["depth"] - 1],
        "sweep.reading": lambda: (
            WORN[c][at["depth"] - 1]
            * (0.5 if at["angle"] % 180 == 0 else 1.0)
            * (0.5 + 0.25 * math.sin(math.radians(at["angle"])))
        ),
        "wall.reading": lambda: 5.5 + 0.1 * math.cos(math.radians(at["angle"])) + 0.05 * c,
        "wall.known": lambda: (6.0, 9.0)[at["piece"] - 1],
        "wall.shown": lambda: (7.6, 11.4)[at["piece"] - 1],
        "face.x": lambda: POINTS[at["point"] - 1][0],
        "face.y": lambda: POINTS[at["point"] - 1][1],
        "face.height": lambda: 200.0 + 0.004 * (at["point"] - 3) + (0.002 if at["point"] == 4 else 0.0),
        "face.x2": lambda: POINTS[at["point"] - 1][0],
        "face.y2": lambda: POINTS[at["point"] - 1][1],
        "face.height2": lambda: 200.0 + 0.003 * (at["point"] - 3) + (0.002 if at["point"] == 4 else 0.0),
        "face.foot_x": lambda: FEET[at["foot"] - 1][0],
        "face.foot_y": lambda: FEET[at["foot"] - 1][1],
        "cut.setting": lambda: PASSES[at["pass"] - 1] - 0.002 + 0.0004 * c,
        "cut.measured": lambda: PASSES[at["pass"] - 1] + 0.0003 * at["pass"],
        "hone.size": lambda: FINISHED - 0.0762 * (1 - (at["check"] - 1) / 3) ** 1.2 + 0.0003 * at["depth"],
        "hone.across": lambda: FINISHED - 0.0762 * (1 - (at["check"] - 1) / 3) ** 1.2 + 0.0005 * at["depth"],
        "hone.strokes": lambda: (0, 20, 20, 14)[at["check"] - 1],
        "hone.grit": lambda: (None, 150, 220, 280)[at["check"] - 1],
        "fitting.piston": lambda: c,
        "fitting.weight": lambda: 402.0 + 0.5 * c,
    }
    if f.key in placed:
        return placed[f.key]()
    if f.key.startswith("clean.") and f.key not in USUAL:
        return "yes"
    if f.key == "clamp.grade":
        return "8.8"
    return USUAL.get(f.key, somewhere(f) if f.default is None else f.default)


def somewhere(f):
    """A value of a field of which nothing is known here: its first choice, a word, or well within its range."""
    if f.choices:
        return f.choices[0].value
    if f.kind == "text":
        return "A"
    if f.kind == "size" and f.low <= FINISHED <= f.high:
        return FINISHED
    value = math.sqrt(f.low * f.high) if f.low > 0 else f.low + 0.1 * (f.high - f.low)
    return round(value) if f.kind == "count" else value


#: How many of each there are in a whole job.
SPANS = {
    "depth": (1, 2, 3),
    "axis": ("thrust", "crank"),
    "angle": (0, 90, 180, 270),
    "pass": (1, 2),
    "check": (1, 2, 3, 4),
    "point": (1, 2, 3, 4, 5, 6),
    "foot": (1, 2, 3),
    "piece": (1, 2),
    "ring": (1, 2, 3),
    "item": (1,),
    "grade": (1, 2),
}


def spots(f, cylinders):
    """Every place a field is asked at in a whole job."""
    out = [{}]
    for name in f.at:
        span = range(1, cylinders + 1) if name == "cylinder" else SPANS.get(name, (1, 2))
        out = [{**at, name: n} for at in out for n in span]
    if f.key == "final.again":
        out = [at for at in out if at["check"] == 1]
    return out


#: What is asked of wet liners only.
WET = ("strip.height", "strip.lowest", "strip.highest", "strip.recess", "strip.flange")


def left_out(f, without):
    """Whether a scene does without a field."""
    return any(f.key == w or (w[-1] == "." and f.key.startswith(w)) for w in without)


def whole(change=(), without=(), cylinders=2):
    """A whole job; ``change`` sets fields to other values, ``without`` leaves out those whose keys begin so.

    "job.banks" in ``change`` says how the cylinders stand.
    """
    change = dict(change)
    standing = {"banks": change.pop("job.banks")} if "job.banks" in change else {}
    made = Making(nominal=NOMINAL, cylinders=cylinders, **standing)
    for f in fields().values():
        if f.key == "final.reading":
            made.put(fields()["final.washed"], "yes")
        if f.key == "sizes.alloy":
            made.decide("oversize", "step", number=STEP)
        dry = f.key in WET and (change.get("strip.block", "wet") != "wet" or "strip.block" in without)
        if left_out(f, without) or dry or f.key == "final.washed":
            continue
        for at in spots(f, cylinders):
            value = change.get(f.key, usual(f, at))
            if callable(value):
                value = value(at)
            if value is not None:
                made.put(f, value, **at)
    return made


#: Without an indicator on the spindle, a sleeve, an offset that was swept, or shims under the base.
PLAIN = ("sweep.", "sleeve.", "bore.offset", "face.squared", "face.squared2")
NOT_CUT = ("cut.setting", "cut.measured", "cut.temperature", "cut.edge", "cut.use")
NO_END = ("hone.", "final.", "rings.", "compression.")
#: Jobs that differ in how they were gone about: what they set, and what they leave out (a key, or the start of several).
SCENES = {
    "by the gauge": ({}, (*PLAIN, "rings.least", "rings.widest", "hone.ra_low", "hone.ra_high")),
    "by the makers' limits": ({}, (*PLAIN, "rings.widest_share")),
    "nothing stated by a maker": (
        {"bore.side": "swept", "cut.meter": "bar_tip", "face.remedy": "shim", "rings.gap": None},
        (
            "sweep.",
            "sleeve.",
            *NOT_CUT,
            "clamp.nut_factor",
            "clamp.force",
            "sizes.clearance",
            "sizes.wall_temperature",
            "sizes.skirt_temperature",
            "face.foot_x",
            "face.foot_y",
            "face.skim",
            "hone.temperature",
            "final.",
            "chamfer.measured",
            "rings.wall_temperature",
            "rings.ring_temperature",
            "rings.top_share",
            "rings.second_share",
        ),
    ),
    "a bore near its limit": ({"final.reading": 0.011}, (*PLAIN, "sizes.duty")),
    "before the first cut": ({}, (*PLAIN, *NOT_CUT, *NO_END, "chamfer.")),
    "swept, with feet under the base": (
        {"face.remedy": "shim", "face.remedy2": "shim", "job.banks": "1 / 2"},
        ("sleeve.", "bore.bar_shift", "bore.offset", "sweep.gap", "sweep.spindle_diameter", *NO_END),
    ),
    "swept from a gap": ({}, ("sleeve.", "bore.offset", "sweep.zero", "wall.", *NO_END)),
    "a sleeve to fit": (
        {"sleeve.wanted": lambda at: "yes" if at["cylinder"] == 1 else "no"},
        ("sweep.", "bore.offset", "sleeve.bored", *NOT_CUT, *NO_END),
    ),
    "a sleeve's seat, bored": (
        {"sleeve.wanted": lambda at: "yes" if at["cylinder"] == 1 else "no"},
        ("sweep.", "bore.offset", *NOT_CUT, *NO_END),
    ),
}


# -- what is compared -----------------------------------------------------------------------------------
def said_of(r):
    """What a person would see of an answer, without the list of what was assumed."""
    return (r.key, r.line, r.value, r.verdict, r.confidence, r.figures, r.why, r.cautions)


def said(work):
    """What a person would see of a step's answers."""
    return (
        [said_of(r) for r in work.results],
        *(work.missing, work.blocked, work.doubts, work.risks, work.cautions, work.done),
    )


def others(f, now):
    """Other values of a field: near, then far, then over its whole range."""
    if f.kind == "choice":
        return [c.value for c in f.choices if c.value != now]
    if f.kind == "text":
        return ["another"]
    low, high = f.low, f.high
    signed = KINDS[f.kind].signed or low < 0
    near = [now * k for k in (0.6, 1.6)] if now and not signed else []
    near += [now + d for d in ((0.03, -0.03) if f.kind in ("size", "deviation") else (0.1 * (high - low),))]
    out = [*near, low + 0.02 * (high - low), low, high, (low + high) / 2]
    if f.kind == "count":
        out = [round(v) for v in out]
    return [v for v in dict.fromkeys(out) if low <= v <= high and v != now]


def changed(entry, f, value):
    if f.kind in ("choice", "text"):
        return entry.model_copy(update={"value": value})
    return entry.model_copy(
        update={"typed": entry.typed.model_copy(update={"value": float(value), "text": repr(value)})}
    )


#: Steps whose advice between two entries rests on fields of their own.
BESIDES = ("parts",)


class Scene:
    """A whole job, worked once, against which changed ones are held."""

    def __init__(self, made):
        self.made, self.view = made, made.view()
        self.sheets = all_sheets()
        self.owner = {key: s for s in self.sheets for key in s.fields}
        self.works = {s.key: work_of(self.view, s) for s in self.sheets}
        self.price = said_of(estimate(self.view))

    def differs(self, entries, f):
        """Whether some step says something else of these entries; the field's own step is looked at first."""
        fork = self.view.fork(entries)
        own = self.owner[f.key]
        for s in sorted(self.sheets, key=lambda s: (s is not own, s.order < own.order, s.order)):
            work, before = work_of(fork, s), self.works[s.key]
            if work is not before and said(work) != said(before):
                return True
        # what a step gives besides its verdict, where that is quickly worked out
        beside = own.key in BESIDES and own.later(fork) != own.later(self.view)
        return beside or said_of(estimate(fork)) != self.price

    def counts(self, f):
        """Whether the field, changed somewhere over its range, changes anything that is said."""
        entries = self.made.entries
        at = [i for i, e in enumerate(entries) if getattr(e, "what", "") == f.key]
        for i in at[:2] + at[-1:]:
            entry = entries[i]
            now = entry.typed.value if hasattr(entry, "typed") else entry.value
            for value in others(f, now):
                if self.differs([*entries[:i], changed(entry, f, value), *entries[i + 1 :]], f):
                    return True
        return False


def silent(scenes, counts, wanted):
    """The fields of ``wanted`` that count in none of the scenes."""
    left = list(wanted)
    for scene in scenes:
        left = [f for f in left if not counts(scene, f)]
    return [f.key for f in left]


def test_every_field_changes_something_that_is_said():
    scenes = [Scene(whole(*scene)) for scene in SCENES.values()]
    assert scenes[0].works["oversize"].done and scenes[0].works["final"].done  # the job goes all the way
    assert silent(scenes, Scene.counts, fields().values()) == []


# -- alone, and the wrong way round ---------------------------------------------------------------------
def may_be_left_out():
    """The fields that stand alone if nothing else of their kind is entered."""
    return [f for f in fields().values() if f.default is None and f.optional]


def alone(change, without):
    """A whole job without anything that may be left out."""
    return whole(change, (*without, *(f.key for f in may_be_left_out())))


#: Ways to go about a job with nothing that may be left out.
BARE = {
    "as it comes": alone({"job.banks": "1 / 2"}, PLAIN),
    "before the first cut": alone({"bore.side": "swept"}, (*PLAIN, *NOT_CUT, *NO_END, "chamfer.stopped")),
    "swept": alone({"face.remedy": "shim", "job.banks": "1 / 2"}, ("sleeve.", *NO_END)),
    "a sleeve to fit": alone({"sleeve.wanted": "yes"}, ("sweep.", "bore.offset", "sleeve.bored", *NOT_CUT, *NO_END)),
}


def counts_alone(scene, f):
    """Whether the field says anything when it is the only one of its kind that was entered."""
    entries = scene.made.entries
    return any(scene.differs([*entries, extra], f) for extra in _alone(scene, f))


def _alone(scene, f):
    at = next(at for at in spots(f, 2) if usual(f, at) is not None)
    for value in (usual(f, at), *others(f, usual(f, at))[:3]):
        made = Making()
        made.entries = list(scene.made.entries)
        made._next = iter(range(100_000, 200_000))
        yield made.put(f, value, **at)


def pairs():
    """Fields that are the lower and the upper limit of one thing."""
    known = fields()
    words = (("low", "high"), ("least", "most"), ("least", "widest"), ("ring_top", "ring_bottom"))
    for key, f in known.items():
        for low, high in words:
            other = known.get(key.replace(low, high)) if low in key else None
            if other is not None and (other.kind, other.at) == (f.kind, f.at):
                yield f, other


#: What a field says of itself that stands alone in vain: its help holds these words.
SAYS_WHY = {
    "cut.bar": "For a micrometer over bar and tip",
    "parts.margin": "On top of what the supplier asks",
    **{
        f"hone.{key}_{side}": "against what you measured"
        for key in ("ra", "rpk", "rk", "rvk")
        for side in ("low", "high")
    },
}


def test_a_field_entered_alone_changes_something_or_says_why_not():
    found = silent([Scene(made) for made in BARE.values()], counts_alone, may_be_left_out())
    assert {key for key in found if SAYS_WHY.get(key, "\0") not in fields()[key].help.template} == set()


def test_limits_the_wrong_way_round_are_named():
    scenes = [Scene(whole(*SCENES[name])) for name in ("by the makers' limits", "a sleeve to fit")]
    for low, high in pairs():
        assert any(_swapped(scene, low, high) for scene in scenes), low.key


def _swapped(scene, low, high):
    """Whether a doubt or a value that is dropped names limits that were exchanged."""
    entries = scene.made.entries
    by_place = {(e.what, str(e.at)): e for e in entries if getattr(e, "what", "") in (low.key, high.key)}
    turned = {low.key: high.key, high.key: low.key}
    out = [
        e.model_copy(update={"typed": by_place[turned[e.what], str(e.at)].typed})
        if getattr(e, "what", "") in turned
        else e
        for e in entries
    ]
    fork = scene.view.fork(out)
    return bool(by_place) and (bool(fork.odd) or any(d.about[0][0] == low.key for d in raised(fork)))


# -- kit cards --------------------------------------------------------------------------------------------
def a_card(role, change=()):
    """A card on which every field is filled in, checked three times."""
    change, made = dict(change), Making(card=role)
    for key, f in cards.sheet(role).fields.items():
        spots_here = [{"check": n} for n in (1, 2, 3)] if f.at else [{}]
        for at in spots_here:
            value = 0.0 if key == "cut.centre" else usual(f, at)
            made.put(f, change.get(key, value) if at in ({}, {"check": 3}) else value, **at)
    return made.view()


def on_card_alone(role):
    """The fields that only the card itself asks."""
    return [f for key, f in cards.sheet(role).fields.items() if f.card != role]


@pytest.mark.parametrize("role", cards.ROLES)
def test_every_field_of_a_kit_card_changes_what_the_card_or_a_job_says(role):
    shared = [f for f in cards.sheet(role).fields.values() if f.card == role]
    left_out = (*PLAIN, *NO_END, *NOT_CUT, *(f.key for f in shared))
    jobs = [
        whole({"face.remedy": "shim"}, (*left_out, "face.foot_x", "face.foot_y")),
        whole({"cut.meter": "bar_tip"}, (*PLAIN, *(f.key for f in shared if f.key != "cut.meter"))),
        whole({}, ("sleeve.", "bore.offset", "sweep.zero", *NO_END, *(f.key for f in shared))),
    ]
    before = a_card(role)
    told = said(cards.sheet(role).work(before))
    views = [View(job.document(), {"thecard": before}).fork(job.entries, _with_card(job, role)) for job in jobs]
    works = [{s.key: said(work_of(view, s)) for s in all_sheets()} for view in views]
    due = [cards.due_for(view, role) for view in views]

    def counts(f):
        for value in others(f, usual(f, {"check": 1})):
            after = a_card(role, {f.key: value})
            if said(cards.sheet(role).work(after)) != told and f in on_card_alone(role):
                return True
            for view, before_works, was_due in zip(views, works, due, strict=True):
                fork = view.fork(view.document.entries)
                fork.cards = {"thecard": after}
                if cards.due_for(fork, role) != was_due:
                    return True
                if any(said(work_of(fork, s)) != before_works[s.key] for s in all_sheets()):
                    return True
        return False

    assert [f.key for f in cards.sheet(role).fields.values() if not counts(f)] == []


def _with_card(job, role):
    return {**job.header, role: Stamped(value="thecard", stamp=job._stamp(0))}


def test_what_the_checks_of_a_gauge_found_goes_into_every_reading():
    """A gauge 8 µm off its ring that nobody corrects: 3 µm for the ring and 8 µm make 8.5 µm that all readings share."""
    job, found = whole({}, PLAIN), []
    for error in (0.0, 0.008):
        card = Making(card="gauge")
        card.put(cards.CHECK_ERROR, error, check=1)
        view = View(job.document(), {"thecard": card.view()}).fork(job.entries, _with_card(job, "gauge"))
        found.append(next(c.u for c in bores.budget(view).components if c.name.template == "master"))
    assert found == pytest.approx([0.003, math.hypot(0.003, 0.008)])
