"""One invented job from an empty log to the last check, typed as a person would, figures worked out again beside it.

A two-cylinder engine, 3.000 in bore. Everything goes in through the number pad's parser
and the store; every answer is compared with plain arithmetic here, or with SciPy, never
with another run of the project's own formulas.
"""

import math

import pytest
from scipy import stats
from scipy.integrate import quad

from logic.constants import constant
from logic.flow import State
from logic.oversize import Outcome
from logic.result import Verdict
from logic.say import Style, say
from logic.units import Entered, parse
from store import draft
from store.documents import Reading
from store.flow import effect_of, flow, skip_key
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.sheets import (
    bores,
    chamfer,
    clamp,
    clean,
    compression,
    cut,
    face,
    final,
    fitting,
    hone,
    oversize,
    rings,
    sheet,
    sizes,
)
from store.view import View

from .support import Time, inches, run

IN, THOU = 25.4, 0.0254
IRON, STEEL = 11.0e-6, 11.5e-6  # per kelvin, from memory: the defaults for block and gauge
THRUST, CRANK = "thrust", "crank"


class Bench:
    """The person at the vehicle: types, and looks at what a step says."""

    def __init__(self, jobs, id):
        self.jobs, self.id = jobs, id

    async def types(self, field, text, unit="in", **at):
        await self.jobs.append(self.id, draft.reading(field, at, parse(text, field, length_unit=unit)))

    async def chooses(self, field, value, **at):
        await self.jobs.append(self.id, draft.chosen(field, value, at))

    async def view(self):
        return View(await self.jobs.load(self.id))

    async def work(self, name):
        return sheet(name).work(await self.view())

    async def answers(self, name):
        return {r.key: r for r in (await self.work(name)).results}


@pytest.fixture(scope="module")
def job():
    """The job at each stage: a mapping from stage to (view, works by step)."""
    return run(whole_job())


async def whole_job():  # noqa: C901  one job told in one go
    jobs = await Jobs.open(MemoryBackend(), now_ms=Time())
    made = await jobs.create(title="Invented twin", nominal=inches("3.000"), cylinders=2)
    b = Bench(jobs, made.id)
    stages = {}

    async def stage(name):
        stages[name] = await b.view()

    await stage("empty")

    # the worn bores: block at 26 °C, gauge zeroed on a 3.000 in ring at 20 °C
    await b.types(bores.BLOCK_C, "26 C")
    await b.types(bores.BLOCK_U, "1")
    await b.types(bores.DIVISION, "0.1 thou")
    await b.types(bores.REPEAT, "0.1 thou")
    await b.types(bores.LENGTH, "130 mm")
    await b.types(bores.RING_TOP, "10 mm")
    await b.types(bores.RING_BOTTOM, "110 mm")
    for c, rows in {
        1: (("6.2", "3.9"), ("4.0", "2.9"), ("0.6", "0.6")),
        2: (("9.5", "5.0"), ("5.6", "3.4"), ("0.8", "0.7")),
    }.items():
        for depth, (thrust, crank) in enumerate(rows, 1):
            await b.types(bores.READING, f"+{thrust}", cylinder=c, depth=depth, axis=THRUST)
            await b.types(bores.READING, f"{crank} thou", "mm", cylinder=c, depth=depth, axis=CRANK)
    await stage("measured")

    # an indicator on the spindle then shows the worn bore's centre 2 thou off in cylinder 2
    await b.chooses(bores.SIDE, "swept", cylinder=2)
    await b.types(bores.OFFSET, "2.0", cylinder=2)
    await stage("swept")

    # decided on as advised: nothing is bored before
    await b.jobs.append(
        b.id,
        draft.decision("oversize", "+0.020 in", entered=Entered(text="0.508", typed_unit="mm", value=0.508, unit="mm")),
    )

    # pistons for +0.020, measured at 15 °C; the maker wants 2.5 thou
    await b.types(sizes.CLEARANCE, "2.5")
    await b.types(sizes.PISTON_C, "15 C")
    await b.types(sizes.PISTON_C_U, "1")
    await b.types(sizes.PISTON, "3.0178", cylinder=1)
    await b.types(sizes.PISTON, "3.0172", cylinder=2)
    await stage("sized")

    # the top face, above a bar in the mains: 0.06 mm in 200 mm along, level across
    for n, (x, y, h) in enumerate(
        ((0, -50, "200.000"), (0, 50, "200.000"), (200, -50, "200.060"), (200, 50, "200.060")), 1
    ):
        await b.types(face.X, f"{x} mm", point=n)
        await b.types(face.Y, f"{y} mm", point=n)
        await b.types(face.HEIGHT, f"{h} mm", point=n)
    await stage("faced")

    # clamps: M12 studs of class 8.8 at 40 N·m
    await b.chooses(clamp.THREAD, "M12")
    await b.chooses(clamp.GRADE, "8.8")
    await b.types(clamp.TORQUE, "40 N·m")
    await b.types(clamp.ENGAGEMENT, "20 mm")
    await stage("clamped")

    # boring: a micrometer over bar and tip, bar 50.000 mm; the bar cuts about half a thou large
    await b.chooses(cut.METER, "bar_tip")
    await b.types(cut.BAR, "50.000 mm")
    for c, passes in PASSES.items():
        for n, (setting, measured) in enumerate(passes, 1):
            await b.types(cut.SETTING, f"{setting:.4f} mm", cylinder=c, **{"pass": n})
            await b.types(cut.MEASURED, f"{measured:.4f} mm", cylinder=c, **{"pass": n})
            if (c, n) == (1, 2):
                await stage("half bored")
    await stage("bored")
    for c in (1, 2):
        await b.types(chamfer.MEASURED, "0.75 mm", cylinder=c)

    # honing: three checks of each bore, 150 grit to within the last grit's stock, then 220
    for c, checks in HONED.items():
        for n, (strokes, grit, size) in enumerate(checks, 1):
            for depth in (1, 2, 3):
                await b.types(hone.SIZE, f"{size:.4f} mm", cylinder=c, check=n, depth=depth)
            if strokes:
                await b.types(hone.STROKES, str(strokes), cylinder=c, check=n)
                await b.types(hone.GRIT, str(grit), cylinder=c, check=n)
            if (c, n) == (1, 2):
                await stage("half honed")
    await stage("honed")

    # final check on a ring of 3.0200 in, all at 20 °C
    await b.chooses(final.WASHED, "yes")
    await b.types(final.ZERO, "3.0200 in")
    for c, rows in FINAL.items():
        for depth, (thrust, crank) in enumerate(rows, 1):
            await b.types(final.READING, thrust, cylinder=c, depth=depth, axis=THRUST)
            await b.types(final.READING, crank, cylinder=c, depth=depth, axis=CRANK)
    await stage("checked")

    # rings, weights, compression
    for c in (1, 2):
        await b.types(rings.GAP, "15", cylinder=c, ring=1)
        await b.types(rings.GAP, "16", cylinder=c, ring=2)
        await b.types(fitting.WEIGHT, f"{404 + c} g", cylinder=c)
    for field, text in (
        (compression.STROKE, "3.500"),
        (compression.CHAMBER, "38 cc"),
        (compression.GASKET_BORE, "78.5 mm"),
        (compression.DECK, "0.5 mm"),
        (compression.CROWN, "4 cc"),
    ):
        await b.types(field, text)
    await b.chooses(compression.STANDS, "below")
    for check in clean.CHECKS:
        await b.chooses(check, "yes")
    for name, why in (
        ("walls", "Thick casting, known"),
        ("sweep", "Offset read on the spindle"),
        ("sleeve", "Not needed"),
        ("face", "Lean is small"),
    ):
        await b.jobs.append(b.id, draft.skipped(skip_key(name), why))
    await stage("done")
    return stages


#: Micrometer over bar and tip, and what the bore measured at 20 °C, mm.
PASSES = {1: ((63.1950, 76.4025), (63.3175, 76.6470)), 2: ((63.1900, 76.3922), (63.3098, 76.6318))}
#: Double strokes since the check before, grit, size, mm.
HONED = {
    1: ((0, 0, 76.6470), (30, 150, 76.7000), (20, 220, 76.7232)),
    2: ((0, 0, 76.6318), (30, 150, 76.6850), (20, 220, 76.7080)),
}
#: Thou over 3.0200 in, three depths, thrust and crank.
FINAL = {1: (("0.6", "0.6"), ("0.6", "0.5"), ("0.6", "0.6")), 2: (("0.1", "0.0"), ("0.0", "0.0"), ("0.0", "0.1"))}


def warm(thou):
    """What a reading over 3.000 in, in a bore at 26 °C, is at 20 °C."""
    return (3.0 * IN + thou * THOU) / (1 + IRON * 6)


def piston(size_in):
    """A piston of cast aluminium measured at 15 °C, at 20 °C (20e-6 per kelvin, from memory)."""
    return size_in * IN / (1 - 20e-6 * 5)


FINISHED = {1: piston(3.0178) + 2.5 * THOU, 2: piston(3.0172) + 2.5 * THOU}
BORED = {c: f - 0.0762 for c, f in FINISHED.items()}


def keyed(view, name):
    return {r.key: r for r in sheet(name).work(view).results}


def test_an_empty_log_starts_at_the_strip_down_and_goes_on_to_the_bores(job):
    now = flow(job["empty"])
    assert now.next.key == "strip" and now.state("bores").state == State.OPEN
    assert now.state("oversize").state == State.BLOCKED


def test_worn_bores_at_20_degrees(job):
    worn = bores.worn_bores(job["measured"])
    assert worn[2].worst.d_mm == pytest.approx(warm(9.5), abs=1e-9)
    assert worn[2].unworn.mm == pytest.approx((warm(0.8) + warm(0.7)) / 2, abs=1e-9)
    assert worn[1].wear_mm == pytest.approx(warm(6.2) - warm(0.6), abs=1e-9)
    # ISO 1: a 76.4 mm bore 6 K too warm reads 5 µm large
    assert 3.0 * IN + 9.5 * THOU - worn[2].worst.d_mm == pytest.approx(76.4 * 11e-6 * 6, rel=1e-3)


def test_before_the_sweep_the_side_is_not_known_and_a_step_more_is_advised(job):
    choice = oversize.choice(job["measured"])
    two = choice.cleanups[1]
    d0, worst = (warm(0.8) + warm(0.7)) / 2, warm(9.5)
    assert (two.low_mm, two.high_mm) == pytest.approx((worst, d0 + 2 * (worst - d0)), abs=1e-6)
    assert choice.governing == 2 and choice.outcome == Outcome.STEP
    assert choice.step_mm == pytest.approx(0.030 * IN)
    # chance of +0.020: the share of wear on one side is even between a half and all of it (JCGM 101, 6.4.2),
    # blurred by what the gauge, the centring, a top face that nobody measured (0.2 mm in a metre, common practice, the
    # bar centred in the lower end) and the bar leave in doubt; integrated by SciPy. Where the wear is near even a bar
    # off its place only harms, which the normal here leaves out.
    half = 0.5 * 2.54e-3 / math.sqrt(3)
    own = math.hypot(half, 2.54e-3)
    shared = math.sqrt(
        half**2 + 0.003**2 + (76.2 * IRON * 1) ** 2 + (76.2 * 6 * (2e-6 / math.sqrt(12))) ** 2 + (76.2 * STEEL * 1) ** 2
    )
    unworn = math.hypot(own / math.sqrt(2), (warm(0.8) - warm(0.7)) / math.sqrt(12))
    bored, lean = 3.020 * IN - 0.0762, 2e-4 * (130.0 - two.cell[0])

    def clean(s):
        off = (2 * 0.010) ** 2 + (2 * lean) ** 2
        u = math.sqrt((2 * s * own) ** 2 + ((1 - 2 * s) * unworn) ** 2 + shared**2 + off + 0.005**2)
        return stats.norm.cdf((bored - d0 - 2 * s * (worst - d0)) / u)

    chance = 2 * quad(clean, 0.5, 1.0)[0]
    assert choice.step(0.020 * IN).probability == pytest.approx(chance, abs=0.02)
    assert 0.7 < chance < 0.95


def test_the_sweep_saves_a_step(job):
    choice = oversize.choice(job["swept"])
    two = next(c for c in choice.cleanups if c.cylinder == 2)
    # the worn bore's centre 2 thou off: D_clean = D_worn + 2 x offset
    assert (two.low_mm + two.high_mm) / 2 == pytest.approx(warm(9.5) + 2 * 2.0 * THOU, abs=1e-6)
    assert choice.step_mm == pytest.approx(0.020 * IN) and choice.verdict == Verdict.GO
    assert choice.confidence > 0.95
    assert "+0.020" in say(choice.line)


def test_sizes_follow_the_pistons(job):
    view = job["sized"]
    for c in (1, 2):
        assert sizes.finished_mm(view, c) == pytest.approx(FINISHED[c], abs=1e-9)
        assert sizes.bored_mm(view, c) == pytest.approx(BORED[c], abs=1e-9)
    # running: wall 90 °C, skirt 95 °C (from memory); what is left of 2.5 thou
    left = [FINISHED[c] * (1 + IRON * 70) - (FINISHED[c] - 2.5 * THOU) * (1 + 20e-6 * 75) for c in (1, 2)]
    assert min(left) - 1e-9 <= keyed(view, "sizes")["sizes.running"].value.value <= max(left) + 1e-9


def test_the_face_leans_by_slope_times_length(job):
    lean = face.lean(job["faced"], 1)
    assert lean.along_mm == pytest.approx(0.060 / 200 * 130, abs=1e-6)
    assert lean.across_mm == pytest.approx(0.0, abs=1e-6)


def test_the_studs_hold(job):
    stud = keyed(job["clamped"], "clamp")["clamp.stud"]
    # F = T/(K d) = 40 / (0.2 x 0.012) = 16.7 kN; proof 48.9 kN for M12 class 8.8 (ISO 898-1)
    assert stud.value.value == pytest.approx(16_667, rel=1e-3)
    assert stud.verdict == Verdict.GO


def test_the_next_setting_takes_the_learned_bias_off(job):
    view = job["half bored"]
    biases = [measured - (2 * m - 50.0) for m, measured in PASSES[1]]
    # the line through both carried on to the third; ridge regression by hand, its weight 1 / 0.4² (a drift of 0.4 spreads)
    third = sum(biases) / 2 + 1.5 * (biases[1] - biases[0]) / 2 / (0.5 + 1 / 0.4**2)
    assert cut.bias(view).mean_mm == pytest.approx(third, abs=1e-9)
    plan = cut.passes_left(view, 2)
    start = (warm(0.8) + warm(0.7)) / 2
    assert math.fsum(p.cut_mm for p in plan.passes) == pytest.approx(BORED[2] - start, abs=1e-6)
    assert all(p.cut_mm <= 0.762 + 1e-9 for p in plan.passes)
    setting = keyed(view, "cut")["cut.setting.2"]
    assert setting.value.value == pytest.approx((plan.passes[0].to_mm - third + 50.0) / 2, abs=1e-6)


def test_boring_is_done_within_a_tenth(job):
    view = job["bored"]
    for c in (1, 2):
        assert cut.bored_now_mm(view, c) == pytest.approx(BORED[c], abs=0.0025)
    assert sheet("cut").work(view).done
    # and before honing the two pistons are where they belong: even stock, each to its own
    own = keyed(view, "fitting")["fitting.own"]
    assert {s.cylinder: s.piston for s in own.sizes} == {1: 1, 2: 2}
    assert [s.stock_mm for s in own.sizes] == pytest.approx([FINISHED[c] - PASSES[c][1][1] for c in (1, 2)], abs=1e-6)


def test_the_hone_is_followed(job):
    now = hone.progress(job["half honed"], 1)
    rate = (76.7000 - 76.6470) / 30
    assert now.per_stroke_mm == pytest.approx(rate, rel=1e-6)
    # what is left to the end, less what the 220 stones must take, at that rate
    keep = hone.split(job["half honed"], 1).keep_for_finer_mm(150)
    assert now.strokes[1] == pytest.approx((FINISHED[1] - keep - 76.7000) / rate, rel=0.02) or now.verdict == Verdict.GO
    # included angle = 2 atan(v_axial / v_tangential), v_axial = 2 x stroke x rate
    run_mm = hone.stroke(job["half honed"]).stroke_mm
    angle = 2 * math.degrees(math.atan(2 * run_mm * 60 / (math.pi * FINISHED[1] * 200)))
    assert keyed(job["half honed"], "hone")["hone.crosshatch"].value.value == pytest.approx(angle, abs=1e-6)
    assert sheet("hone").work(job["honed"]).done


def test_the_finished_bores_are_in(job):
    found = final.checked(job["checked"])
    for c, rows in FINAL.items():
        read = [3.0200 * IN + float(x) * THOU for row in rows for x in row]
        assert found[c].value.value == pytest.approx(sum(read) / 6, abs=1e-9)
        assert found[c].verdict == Verdict.GO and found[c].confidence >= 0.95
        # chance that one reading lies within 12.7 µm of the size wanted, from its uncertainty alone
        half = 0.5 * 2.54e-3 / math.sqrt(3)
        u = math.sqrt(2 * half**2 + 2.54e-3**2 + 0.003**2 + (76.7 * IRON) ** 2 + (76.7 * STEEL) ** 2)
        off = max(abs(r - FINISHED[c]) for r in read)
        least = stats.norm.cdf((0.0127 - off) / u) - stats.norm.cdf((-0.0127 - off) / u)
        size = next(a for a in found[c].aspects if a.key == "size")
        # and at most what is left if only the error that all readings share were unknown, with the spread of finished
        # sizes (common practice) as its normal prior: JCGM 106:2012, annex C
        shared = math.sqrt(half**2 + 0.003**2 + (76.7 * IRON) ** 2 + (76.7 * STEEL) ** 2)
        level, drawn = constant("finish.level").value, sum(read) / 6 - FINISHED[c]
        mean, spread = drawn / (1 + (shared / level) ** 2), shared / math.sqrt(1 + (shared / level) ** 2)
        most = stats.norm.cdf((0.0127 - mean) / spread) - stats.norm.cdf((-0.0127 - mean) / spread)
        assert 6 * least - 5 <= size.chance <= most + 1e-3
    clearance = found[2].figure("clearance").value
    assert clearance == pytest.approx(3.0200 * IN + 0.2 / 6 * THOU - piston(3.0172), abs=1e-9)


def test_rings_pistons_and_compression(job):
    view = job["done"]
    gaps = keyed(view, "rings")
    # read at the top, where the bore is at its widest or as wide as anywhere: nothing to take off in cylinder 1
    assert gaps["ring.1.1"].gap_mm == pytest.approx(15 * THOU - math.pi * 0.05 * THOU, abs=1e-6)
    assert gaps["rings"].verdict == Verdict.GO
    pairs = keyed(view, "fitting")["fitting.pairs"]
    assert {p.cylinder: p.piston for p in pairs.pairs} == {1: 1, 2: 2} and pairs.worst_mm < 0.002
    found = keyed(view, "compression")
    swept = math.pi / 4 * 88.9 / 1000
    assert found["compression.capacity"].value.value == pytest.approx(
        swept * (FINISHED[1] ** 2 + FINISHED[2] ** 2), rel=1e-9
    )
    gasket = math.pi / 4 * 78.5**2 * 1.2 / 1000
    before = 1 + swept * 76.2**2 / (38 + gasket + math.pi / 4 * 76.2**2 * 0.5 / 1000 + 4)
    assert found["compression.ratio"].before == pytest.approx(before, rel=1e-9)
    assert found["compression.gap"].value.value == pytest.approx(1.2 + 0.5 - face.skim_mm(view), abs=1e-9)


def test_the_job_is_done_and_says_so(job):
    now = flow(job["done"])
    left = [(s.key, s.state) for s in now.statuses if s.state not in (State.DONE, State.SKIPPED)]
    # nobody went through the strip-down or the order in the app, and both lie behind: they are off the path
    assert left == [("strip", State.OFF), ("parts", State.OFF)] and now.next is None


def test_a_corrected_reading_shows_further_down(job):
    """The worst reading was misread, 9.5 for 16.5 thou: a step more is needed, and the finished job wants another look."""
    view = job["done"]
    worst = next(
        e
        for e in view.live()
        if isinstance(e, Reading) and e.what == bores.READING.key and e.at["cylinder"] == 2 and e.typed.text == "+9.5"
    )
    fixed = draft.reading(bores.READING, worst.at, parse("+16.5", bores.READING), replaces=worst.id)
    fixed = fixed.model_copy(
        update={"stamp": max(e.stamp for e in view.live())[:13] + "-99999-" + worst.device, "device": worst.device}
    )
    changed = {(c.sheet, c.key): c for c in effect_of(view, fixed)}
    advice = changed["oversize", "oversize"]
    assert "+0.020" in say(advice.before, Style("in")) and "+0.030" in say(advice.after, Style("in"))
    size = changed["sizes", "sizes.2"]
    assert size.flipped and size.verdict_before == Verdict.GO and size.verdict_after == Verdict.STOP
    after = View(view.document)
    after.add(fixed)
    now = flow(after).state("sizes")
    assert now.state == State.LOOK and now.stopped
