"""Human slips in the fields that no other bench tries: the worn side, sleeves, the last cut, the hone's second axis, grades.

As in :mod:`tests.bench.slips_more`, with which this is run: a yes to what was typed is wrong where the truth, its margins
taken out, gets a no; where metal is cut by what the app says, where following it scraps the bore. All figures are made up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from logic.result import Verdict
from tests.bench.slips import FIELDS, STOCK
from tests.bench.slips_after import (
    GRACE,
    LEAST_HONE,
    LIMIT,
    Hand,
    HeldError,
    Kind,
    Maker,
    Shop,
    WrongGoError,
    bored,
    campaign,
    one_digit,
    only,
    other_fine,
    other_unit,
    scale,
    settled,
    swapped,
    ten_times,
)
from tests.bench.slips_more import STUDS, judged, other, true

__all__ = ["CLEAN", "SLIPS"]


# -- the oversize ---------------------------------------------------------------------------------
def worn_side(s: Shop) -> None:
    """Which side each bore wore is seen or swept; at times the bar is set over, and the machine centred at the top."""
    rng, w = s.rng, s.w
    s.job.entries = [e for e in s.job.entries if getattr(e, "what", "") not in ("oversize", "bore.side")]
    _choose(s, "bore.material", "grey_iron")
    if rng.random() < 0.5:
        s.hand.enter("bore.expansion", 11.0e-6)
    centred, shift = rng.choice(("bottom", "bottom", "top")), rng.random() < 0.3
    _choose(s, "bore.centred", centred)
    needed = dict[int, float]()
    for c, b in enumerate(w.bores, 1):
        side = {0.5: "even", 1.0: "one side"}.get(b.share, "swept")
        _choose(s, "bore.side", side, cylinder=c)
        if side == "swept":
            s.hand.enter("bore.offset", (b.share - 0.5) * b.wear, cylinder=c)
        over = (b.share - 0.5) * b.wear * rng.uniform(0.5, 1.0) if shift and b.share > 0.5 else 0.0
        if over > 0.01:
            s.hand.enter("bore.bar_shift", over, cylinder=c)
        else:
            over = 0.0
        needed[c] = b.unworn + 2 * max(b.share * b.wear - over, (1 - b.share) * b.wear + over)
    found: Any = s.results("oversize")[0]
    if found.verdict != Verdict.GO or not found.step_mm:
        return
    if any(mm > w.nominal + found.step_mm - STOCK + 0.02 for mm in needed.values()):
        raise WrongGoError


def _choose(s: Shop, key: str, said: str, **at: Any) -> None:
    s.job.put(FIELDS[key], said if s.hand.slip is None else s.hand.slip(s.hand, key, at, said), **at)


# -- sizes ----------------------------------------------------------------------------------------
def stocked(s: Shop) -> None:
    """Metal is left for the hone, and the clearance wanted when hot is stated; the maker's clearance is there."""
    s.hand.enter("sizes.hone_stock", s.rng.choice((0.05, 0.06, 0.075)))
    s.hand.enter("sizes.least_running", s.rng.choice((0.005, 0.01, 0.015)))
    for key, said in (("sizes.alloy", "cast"), ("sizes.duty", "road"), ("sizes.cooling", "water")):
        _choose(s, key, said)
    _choose(s, "sizes.fuel", "spark")
    settled(s)
    truly = {c: p + s.clearance for c, p in s.pistons.items()}
    for r in s.results("sizes"):
        c = getattr(r, "cylinder", 0)
        if r.verdict != Verdict.GO or c not in truly:
            continue
        left = truly[c] - r.bored_mm  # type: ignore[attr-defined]
        if left < LEAST_HONE or left > 0.15:  # the bar's marks stay, or the hone has a morning's work
            raise WrongGoError


# -- sleeves --------------------------------------------------------------------------------------
def sleeve_in(s: Shop) -> None:
    """A sleeve in a block whose walls are known: its grip, its way in, and what is left of it; one of them at times bad."""
    settled(s)
    rng, w = s.rng, s.w
    c, bad = rng.choice(sorted(s.pistons)), rng.choice(("", "", "grip", "thin", "stock", "heat"))
    grip = rng.uniform(0.042, 0.05)
    outside = w.nominal + s.step + rng.uniform(5.0, 6.0)
    finished = s.finished(c)
    inside = finished - rng.uniform(0.9, 1.3)
    least_wall, least_stock = 1.5, 0.4
    if bad == "thin":
        outside = finished + rng.uniform(1.6, 2.0)
    if bad == "stock":
        inside = finished - rng.uniform(0.2, 0.28)
    hottest = 140.0 if bad != "heat" else 60.0
    values = [
        true("sleeve.fit_least", grip - 0.03),
        true("sleeve.fit_most", grip + 0.03),
        true("sleeve.wanted", "yes", cylinder=c),
        true("sleeve.outside", outside, cylinder=c),
        true("sleeve.outside_again", outside, cylinder=c),
        true("sleeve.inside", inside, cylinder=c),
        true("sleeve.length", 130.0, cylinder=c),
        true("sleeve.bored", outside - grip, cylinder=c),
        true("sleeve.block_limit", 60.0),
        true("sleeve.friction", rng.uniform(0.1, 0.15)),
        true("sleeve.block_modulus", rng.choice((100e3, 105e3, 110e3, 115e3))),
        true("sleeve.modulus", rng.choice((100e3, 110e3, 120e3))),
        true("sleeve.least_stock", least_stock),
        true("sleeve.least_wall", least_wall),
        true("sleeve.clearance", rng.choice((0.05, 0.06, 0.07))),
        true("sleeve.room", float(rng.randint(12, 26))),
        true("sleeve.hottest", hottest),
    ]
    if bad != "heat":
        values.append(true("sleeve.cold", rng.choice((-18.0, -20.0, -25.0, -72.0))))
    values += [
        true(
            "wall.reading",
            (outside - w.nominal) / 2 + (rng.uniform(5.0, 7.0) if bad != "grip" else 1.2),
            cylinder=c,
            angle=a,
        )
        for a in (0, 90, 180, 270)
    ]
    eased = [
        true("sleeve.block_limit", 75.0),
        true("sleeve.least_stock", 0.3),
        true("sleeve.least_wall", 1.2),
        true("sleeve.hottest", hottest + 20.0),
        true("sleeve.clearance", 0.02),
    ]
    meant = ("sleeve.grip", "sleeve.finish", "sleeve.fitting")
    judged(s, "sleeve", values, eased, known=lambda r: r.key.startswith(meant))
    _way_in(s, c, {t.key: t.value for t in values}, outside, grip)


def _way_in(s: Shop, c: int, truth: dict[str, Any], outside: float, grip: float) -> None:
    """Whether a sleeve that is let in at the block's temperature as told falls in: nothing lost is 0.02 mm of clearance."""
    told = next((r for r in s.results("sleeve") if r.key == f"sleeve.fitting.{c}"), None)
    if told is None or told.verdict != Verdict.GO or told.value is None:
        return
    view, room = s.job.view(), float(truth["sleeve.room"])
    cold = truth.get("sleeve.cold")
    # what is typed as cold is also how cold it is made, so far as there are means for it: ice, dry ice
    made = room if cold is None else float(cold)
    typed_c = view.number(FIELDS["sleeve.cold"])
    if typed_c is None:
        made = room
    opens = 10.5e-6 * outside * (told.value.value - room) + 8.5e-6 * outside * (room - made)
    if opens < grip:
        raise WrongGoError


# -- the cut --------------------------------------------------------------------------------------
def warm_cut(s: Shop) -> None:
    """One bore is bored as the app says; its size before, the limits of the tool and the bore's warmth are typed too."""
    settled(s)
    rng, w = s.rng, s.w
    c, block, bias = min(s.pistons), w.block_c, rng.gauss(0.0, 0.02)
    s.hand.plainly("cut.block", block)
    s.hand.plainly("cut.zero_temperature", block)
    s.hand.enter("cut.feed", 0.1)
    s.hand.enter("cut.largest", rng.choice((0.6, 0.7, 0.762)))
    s.hand.enter("cut.least_hone", rng.choice((0.025, 0.03)))

    def grown(size: float, warm: float) -> float:
        return size * (1 + 11.0e-6 * (warm - 20)) - size * 11.5e-6 * (block - 20)

    size = w.bores[c - 1].unworn
    s.hand.enter("cut.present", grown(size, block), cylinder=c)
    for n in range(1, 8):
        found = s.results("cut")
        if any(r.verdict == Verdict.STOP or r.key.startswith(("cut.over", "cut.nothing", "cut.slip")) for r in found):
            raise HeldError(str(found[0].line))
        told: Any = next((r for r in found if r.key in (f"cut.setting.{c}", f"cut.trial.{c}")), None)
        if told is None:
            break
        advised = getattr(told, "reading_mm", None) or (told.value and told.value.value)
        if advised is None:
            raise HeldError(str(told.line))
        made = advised + bias + rng.gauss(0, 0.004)
        if made / (1 + (11.0e-6 - 11.5e-6) * (block - 20)) - size > 1.6:  # the tool does not bear it
            raise WrongGoError
        s.hand.plainly("cut.setting", advised, cylinder=c, **{"pass": n})
        size = max(size, made / (1 + (11.0e-6 - 11.5e-6) * (block - 20)))
        if size > s.finished(c) - LEAST_HONE * 0.75:
            raise WrongGoError
        warm = float(round(block + rng.uniform(1, 8)))
        s.hand.enter("cut.temperature", warm, cylinder=c, **{"pass": n})
        s.hand.plainly("cut.measured", grown(size, warm) + rng.gauss(0, 0.0015), cylinder=c, **{"pass": n})
    if size < s.finished(c) - 0.25:  # taken for bored, with the wear still in it
        raise WrongGoError


def cut_force(s: Shop) -> None:
    """The clamps against the force that feed, edge and cut make; at times a base that slides."""
    settled(s)
    rng = s.rng
    thread, grade, usual, d = rng.choice(STUDS[s.w.inch])
    weak = rng.randrange(3) == 0
    values = [
        true("cut.feed", 0.3 if weak else rng.choice((0.1, 0.12, 0.15))),
        true("cut.wear", 2.0 if weak else rng.choice((1.4, 1.5, 1.6))),
        true("cut.largest", rng.choice((0.6, 0.7, 0.762))),
        true("clamp.thread", thread),
        true("clamp.grade", grade),
        true("clamp.torque", usual * (0.42 if weak else rng.uniform(0.6, 0.9))),
        true("clamp.state", "dry"),
        true("clamp.studs", 1 if weak else rng.choice((2, 3))),
        true("clamp.engagement", d * 2.0),
        true("clamp.half_base", 15.0 if weak else rng.uniform(50, 80)),
        true("clamp.safety", 4.0),
        true("clamp.grip_radius", 20.0 if weak else rng.uniform(45, 70)),
    ]
    judged(s, "clamp", values, [true("clamp.safety", 2.5)], known=lambda r: r.key.startswith("clamp.hold"))


# -- honing ---------------------------------------------------------------------------------------
def two_axes(s: Shop) -> None:
    """The first bore is honed until the app says stop: both axes read, the block and the ring at a temperature of theirs."""
    settled(s)
    rng = s.rng
    block = float(rng.randint(8, 30))
    s.hand.enter("hone.block", block)
    s.hand.enter("hone.zero_temperature", block)
    s.hand.enter("hone.grit1", 280)
    s.hand.enter("hone.band", 0.0065)
    c = 1
    size = bored(s, c)
    rate, strokes = rng.uniform(0.0006, 0.002), 0
    shape, oval = [rng.gauss(0, 0.0015) for _ in range(3)], rng.gauss(0, 0.0015)
    for n in range(1, 16):
        if n > 1:
            s.hand.plainly("hone.strokes", strokes, cylinder=c, check=n)
        for d in (1, 2, 3):
            shown = (size + shape[d - 1]) * (1 + (11e-6 - 11.5e-6) * (block - 20)) + rng.gauss(0, 0.001)
            s.hand.plainly("hone.size", shown + oval, cylinder=c, check=n, depth=d)
            s.hand.enter("hone.across", shown - oval, cylinder=c, check=n, depth=d)
        found = s.results("hone")
        oval_said = next((r for r in found if r.key == f"hone.round.{c}" and r.verdict != Verdict.INFO), None)
        if oval_said is not None:
            raise HeldError(str(oval_said.line))
        now: Any = next(r for r in found if r.key == f"hone.progress.{c}")
        if now.verdict == Verdict.STOP:
            raise HeldError(str(now.line))
        strokes = now.next_strokes
        if strokes == 0:
            break
        size += rate * strokes * rng.lognormvariate(0, 0.12)
        if size > s.finished(c) + LIMIT + GRACE:
            raise WrongGoError


def straight(s: Shop) -> None:
    """A bore at its size, checked at three depths, against how straight it is to be; at times it has a taper."""
    settled(s)
    rng, c = s.rng, 1
    size = bored(s, c)
    for d in (1, 2, 3):
        s.hand.plainly("hone.size", size, cylinder=c, check=1, depth=d)
    told: Any = next(r for r in s.results("hone") if r.key == f"hone.progress.{c}")
    s.hand.plainly("hone.strokes", told.next_strokes, cylinder=c, check=2)
    limit, taper = rng.choice((0.0065, 0.008, 0.01)), rng.choice((0.0, 0.0, 0.03))
    values = [true("hone.straight", limit), true("hone.repeat", 0.001)]
    for d in (1, 2, 3):
        mm = s.finished(c) - 0.001 + (d - 2) * taper / 2 + rng.gauss(0, 0.0005)
        values.append(true("hone.size", mm, cylinder=c, check=2, depth=d))
    judged(s, "hone", values, [true("hone.straight", 0.02)], known=lambda r: r.key.startswith("hone.shape"))


# -- the face -------------------------------------------------------------------------------------
def face_limits(s: Shop) -> None:
    """The deck's heights with where the bores lie and how far a bore may lean; at times it is out of square."""
    rng = s.rng
    lean = rng.uniform(0.0009, 0.0014) * rng.choice((-1, 1)) if rng.random() < 0.5 else 0.0
    spacing = s.w.nominal * rng.uniform(1.12, 1.25)
    long = spacing * (len(s.pistons) - 1) + s.w.nominal * 1.3
    values = [
        true("bore.spacing", spacing),
        true("face.first_bore", s.w.nominal * 0.65),
        true("face.limit", rng.choice((0.05, 0.06))),
        true("face.taken", rng.choice(("bar", "journals"))),
    ]
    places = ((0.05, -60), (0.05, 60), (0.5, -60), (0.5, 60), (0.95, -60), (0.95, 60))
    for n, (x, y) in enumerate(((round(part * long), y) for part, y in places), 1):
        values += [true("face.x", x, point=n), true("face.y", y, point=n)]
        values.append(true("face.height", 210.0 + lean * y + rng.gauss(0, 0.004), point=n))
    judged(s, "face", values, [true("face.limit", 0.085)], known=lambda r: r.key.startswith("face.ready"))


def skimmed(s: Shop) -> None:
    """The deck is skimmed, and the crown comes nearer to the head by as much; at times too near."""
    settled(s)
    rng, w = s.rng, s.w
    skim, gasket = rng.choice((0.25, 0.3, 0.35, 0.4)), rng.uniform(1.2, 1.4)
    near = rng.random() < 0.5
    deck = 1.0 - gasket + skim + (-rng.uniform(0.21, 0.24) if near else rng.uniform(0.15, 0.5))
    values = [
        true("compression.stroke", 88.0),  # the rings travel 100 mm, their own height with it
        true("compression.chamber", w.nominal**2 * 0.0075),
        true("compression.gasket_bore", w.nominal + s.step + 2.0),
        true("compression.gasket", gasket),
        true("compression.least_gap", 1.0),
        true("compression.deck", deck),
        true("compression.stands", "below" if deck > 0.1 else "above" if deck < -0.1 else "level"),
        true("compression.deck_again", deck + rng.gauss(0.0, 0.03)),
        true("face.skim", skim),
    ]
    eased = [true("compression.least_gap", 0.82)]
    judged(s, "compression", values, eased, known=lambda r: r.key.startswith("compression.gap"))


# -- pistons to bores -----------------------------------------------------------------------------
def graded(s: Shop) -> None:
    """The finished bores get pistons by the maker's list of three grades; one bore at times suits none."""
    settled(s)
    rng = s.rng
    middle, width = s.pistons[1], rng.choice((0.008, 0.01, 0.012))
    values = [true("fitting.band", rng.choice((0.0127, 0.012)))]
    for n, name in enumerate(("A", "B", "C"), 1):
        s.job.put(FIELDS["fitting.grade"], name, grade=n)
        low = middle + (n - 2.5) * width
        values += [true("fitting.grade_low", low, grade=n), true("fitting.grade_high", low + width, grade=n)]
    off = rng.choice((0.0, 0.0, 0.05, -0.05))
    _finished(s, off, middle)
    judged(s, "fitting", values, [true("fitting.band", 0.02)], known=lambda r: r.key.startswith("fitting.grades"))


def _finished(s: Shop, off: float, middle: float | None = None) -> None:
    """Read every bore as finished, the first ``off`` from its size; by its own piston or a middle one."""
    s.job.put(FIELDS["final.washed"], "yes")
    zero = round(s.finished(1), 2)
    s.hand.plainly("final.zero", zero)
    s.hand.plainly("final.division", 0.001)
    for c in s.pistons:
        aim = s.finished(c) if middle is None else middle + s.clearance
        for d in (1, 2, 3):
            for axis in ("thrust", "crank"):
                mm = aim + (off if c == 1 else 0.0) + s.rng.gauss(0, 0.002)
                s.hand.plainly("final.reading", mm - zero, cylinder=c, depth=d, axis=axis)


def banded(s: Shop) -> None:
    """Each finished bore with its own piston, within a band of one's own; one at times too wide or too tight."""
    settled(s)
    _finished(s, s.rng.choice((0.0, 0.04, -0.04)))
    values = [true("fitting.band", s.rng.choice((0.01, 0.0127, 0.015)))]
    judged(s, "fitting", values, [true("fitting.band", 0.022)], known=lambda r: r.key.startswith("fitting.pairs"))


# -- rings ------------------------------------------------------------------------------------------
def _of_a_ring(r: Any) -> bool:
    return bool(r.key.startswith("ring.") and r.key[5:6].isdigit())


def tried_before(s: Shop) -> None:
    """The rings were tried before the last honing, in a bore that was measured then; one at times is too tight."""
    settled(s)
    rng = s.rng
    least = {1: 0.0040 * s.w.nominal, 2: 0.0045 * s.w.nominal}
    odd = rng.choice([(c, n) for c in s.pistons for n in (1, 2)]) if rng.random() < 0.5 else None
    _finished(s, 0.0)
    values = []
    for c in s.pistons:
        under = rng.uniform(0.01, 0.05)
        values.append(true("rings.bore", s.finished(c) - under, cylinder=c))
        for n in (1, 2):
            gap = least[n] + rng.uniform(0.06, 0.12) - under * 3.1416
            if (c, n) == odd:
                gap -= rng.uniform(0.16, 0.2)
            values.append(true("rings.gap", max(0.06, gap), cylinder=c, ring=n))
    eased = [true("rings.top_share", 0.0036), true("rings.second_share", 0.0041)]
    judged(s, "rings", values, eased, known=_of_a_ring)


def duties(s: Shop) -> None:
    """The gaps wanted go by what the engine does, its fuel and its cooling; one ring at times is too tight for them.

    Fuel and duty tell on each other for a diesel alone: that an engine is boosted or raced, only who knows it can say.
    """
    settled(s)
    rng = s.rng
    fuel, duty = rng.choice((("spark", "road"), ("spark", "boosted"), ("diesel", "diesel")))
    cooling = rng.choice(("water", "air"))
    share = {"road": 0.0045, "diesel": 0.0045, "boosted": 0.0055}[duty] + (0.0005 if cooling == "air" else 0.0)
    values = [true("sizes.fuel", fuel), true("sizes.duty", duty), true("sizes.cooling", cooling)]
    tight = rng.random() < 0.5
    for c in s.pistons:
        for n in (1, 2):
            gap = (share + 0.0008) * s.w.nominal if not (tight and c == 1) else (share - 0.0012) * s.w.nominal
            values.append(true("rings.gap", gap, cylinder=c, ring=n))
    eased = [true("rings.top_share", share - 0.0006), true("rings.second_share", share - 0.0006)]
    judged(s, "rings", values, eased, known=_of_a_ring)


# -- slips ------------------------------------------------------------------------------------------
def minus(hand: Hand, text: str) -> str:
    """A minus lost or put before a number."""
    return text[1:] if text.startswith("-") else f"-{text}"


def kinds() -> dict[str, Kind]:
    """Every field of these stages with every way it is commonly typed wrong."""
    out: dict[str, Kind] = {}
    ways: dict[str, Callable[[Any, str], str]] = {
        "digits swapped": swapped,
        "one digit misread": one_digit,
        "ten times": ten_times,
    }

    def add(
        stage: Callable[..., None], more: dict[str, Callable[[Any, str], str]], *keys: str, nth: int | None = 1
    ) -> None:
        for key in keys:
            for name, change in {**ways, **more}.items():
                out[f"{stage.__name__}: {key.replace('.', ' ')}, {name}"] = Kind(stage, only(key, change, nth))

    def choices(stage: Callable[..., None], key: str, *among: str) -> None:
        out[f"{stage.__name__}: {key.replace('.', ' ')}, another"] = Kind(stage, other(key, among))

    add(worn_side, {"other unit": other_unit}, "bore.offset", "bore.bar_shift", nth=None)
    add(worn_side, {}, "bore.expansion")
    choices(worn_side, "bore.material", "grey_iron", "aluminium_block", "steel")
    choices(worn_side, "bore.centred", "bottom", "top")
    add(stocked, {"other unit": other_fine}, "sizes.hone_stock", "sizes.least_running")
    choices(stocked, "sizes.alloy", "controlled", "cast", "hyper", "forged", "iron")
    add(
        sleeve_in,
        {},
        "sleeve.block_limit",
        "sleeve.friction",
        "sleeve.block_modulus",
        "sleeve.modulus",
    )
    add(sleeve_in, {"other unit": other_fine}, "sleeve.clearance", "sleeve.least_stock", "sleeve.least_wall")
    add(sleeve_in, {"other scale": scale, "sign": minus}, "sleeve.room", "sleeve.cold", "sleeve.hottest")
    add(warm_cut, {"other unit": other_unit}, "cut.present")
    add(warm_cut, {"other scale": scale}, "cut.temperature", nth=None)
    add(warm_cut, {"other unit": other_fine}, "cut.largest", "cut.least_hone")
    add(cut_force, {}, "cut.feed", "cut.wear", "cut.largest")
    add(two_axes, {"other unit": other_unit}, "hone.across", nth=None)
    add(two_axes, {"other scale": scale}, "hone.block", "hone.zero_temperature")
    both = ("hone.block", "hone.zero_temperature")
    out["two_axes: hone, both temperatures, other scale"] = Kind(
        two_axes, Maker(both, lambda rng: lambda hand, now, at, text: scale(hand, text) if now in both else text)
    )
    add(two_axes, {"other unit": other_fine}, "hone.band")
    add(two_axes, {}, "hone.grit1")
    add(straight, {"other unit": other_fine}, "hone.straight")
    add(face_limits, {"other unit": other_unit}, "bore.spacing", "face.first_bore")
    add(face_limits, {"other unit": other_fine}, "face.limit")
    choices(face_limits, "face.taken", "bar", "journals", "rail")
    add(skimmed, {"other unit": other_fine}, "face.skim")
    add(graded, {"other unit": other_unit}, "fitting.grade_low", "fitting.grade_high", nth=None)
    add(banded, {"other unit": other_fine}, "fitting.band")
    add(tried_before, {"other unit": other_unit}, "rings.bore", nth=None)
    choices(duties, "sizes.fuel", "spark", "diesel")
    choices(duties, "sizes.duty", "road", "diesel")
    choices(duties, "sizes.cooling", "water", "air")
    return out


SLIPS: dict[str, Kind] = kinds()
#: The same work without a slip, by name.
CLEAN: dict[str, Callable[..., None]] = {
    f.__name__: f
    for f in (
        worn_side,
        stocked,
        sleeve_in,
        warm_cut,
        cut_force,
        two_axes,
        straight,
        face_limits,
        skimmed,
        graded,
        banded,
        tried_before,
        duties,
    )
}


def main() -> None:
    campaign(SLIPS, CLEAN, __doc__ or "")


if __name__ == "__main__":
    main()
