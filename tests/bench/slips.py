"""Human slips in believable jobs with a hidden truth: what becomes of each.

Every job has bores whose true wear, side of wear and sizes are known here and nowhere
else. A person measures them with a gauge that has noise, types what was read as text,
and makes one slip, or none. The app's own code then answers, and each slipped job is

* *caught*: a question is asked when the value is typed, or the verdict is not "go";
* *harmless*: "go", and the bore, the piston and the fit come out right all the same;
* a *wrong go*: "go", and following it scraps the bore, the piston or the fit.

In clean jobs every question is needless. Run from the top folder:
``python -m tests.bench.slips [jobs per kind]``. Prints a table by kind, and in the last
lines the two figures that matter, with 95 % intervals (Wilson's score interval).
"""

from __future__ import annotations

import argparse
import itertools
import math
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from logic import units
from logic.fields import Field
from logic.result import Result, Verdict
from store.sheets import all_sheets, sheet
from tests.store.making import Making, as_typed

try:  # the same words mean what the job makes likely, where the app looks at the job
    from store.meaning import understand
except ImportError:
    understand = None

from store.flow import work_of

FIELDS: dict[str, Field] = {k: f for s in all_sheets() for k, f in s.fields.items()}

#: Invented engines: nominal bore, mm; whether its people think in inches.
NOMINALS = ((76.2, True), (82.55, True), (88.9, True), (65.0, False), (84.0, False), (92.0, False), (101.6, True))
TURNS_MM = (0.5, 1.0, 2.54, 1.27)  # what one turn of a dial is
STOCK = 0.06


@dataclass
class Bore:
    """One cylinder's truth, at 20 °C in mm: unworn size, wear at its worst, share on one side, and how it fades."""

    unworn: float
    wear: float
    share: float
    fade: float
    crank: float
    top: float

    def d(self, depth: float, axis: str) -> float:
        if depth < self.top or depth > 110.0:
            return self.unworn
        part = {"thrust": 1.0, "crank": self.crank}[axis]
        return self.unworn + self.wear * part * math.exp(-(depth - self.top) / self.fade)

    @property
    def clean(self) -> float:
        """The cut that cleans it up, about the axis of the unworn bore."""
        return self.unworn + 2 * max(self.share, 0.5) * self.wear


@dataclass
class World:
    rng: random.Random
    nominal: float
    inch: bool
    bores: list[Bore]
    depths: tuple[float, ...]
    zero: float
    block_c: float
    step: float = 0.0
    noise: float = 0.003
    before: float = 0.0  # an earlier rebore
    pistons: list[float] = field(default_factory=list)
    clearance: float = 0.06
    alpha: float = 11.0e-6

    def read(self, cylinder: int, depth: int, axis: str) -> float:
        d = self.bores[cylinder - 1].d(self.depths[depth - 1], axis)
        warm = d * (1 + self.alpha * (self.block_c - 20)) - self.zero * (11.5e-6 * (self.block_c - 20))
        return warm - self.zero + self.rng.gauss(0, self.noise)


def world(rng: random.Random) -> World:
    nominal, inch = rng.choice(NOMINALS)
    top = rng.uniform(8.0, 14.0)
    before = rng.choice((0.508, 0.762) if inch else (0.5, 0.75)) if rng.random() < 0.15 else 0.0
    worst = rng.choice((0.05, 0.12, 0.2, 0.3)) * rng.uniform(0.6, 1.4)
    crank = rng.uniform(0.3, 0.7)
    fade = rng.uniform(35.0, 60.0)
    bores = [
        Bore(
            unworn=nominal + before + rng.gauss(0.008, 0.004),
            wear=worst * rng.uniform(0.6, 1.0),
            share=rng.choice((0.5, 0.5, rng.uniform(0.5, 1.0), 1.0)),
            fade=fade * rng.uniform(0.9, 1.1),
            crank=min(0.9, crank * rng.uniform(0.8, 1.2)),
            top=top,
        )
        for _ in range(rng.choice((1, 2, 3, 4, 4, 6)))
    ]
    return World(
        rng=rng,
        nominal=nominal,
        inch=inch,
        bores=bores,
        depths=(round(top + rng.uniform(0.5, 2.5), 1), 55.0, 115.0),
        zero=nominal + before,
        block_c=round(rng.uniform(4, 34)),
        before=before,
    )


# -- a person with a pad ------------------------------------------------------------------------
class AskedError(Exception):
    """The pad asked about what was typed."""


@dataclass
class Person:
    """Types values as text, in the units of the world; ``slip`` may change one text or one value."""

    w: World
    job: Making
    asked: bool = False

    def style(self) -> dict[str, Any]:
        return {"length_unit": "in" if self.w.inch else "mm", "temperature_unit": "C"}

    def text(self, f: Field, value: float) -> str:
        return as_typed(f.kind, value, inch=self.w.inch)

    def base_mm(self, key: str) -> float | None:
        """What a dial counts from."""
        return self.w.zero if FIELDS[key].kind == "deviation" and "reading" in key else None

    def put(self, key: str, value: float | str, **at: Any) -> None:
        f = FIELDS[key]
        if f.kind == "choice":
            self.job.put(f, value, **at)
        else:
            self.type(key, self.text(f, float(value)), **at)

    def type(self, key: str, text: str, **at: Any) -> None:
        """Enter a text as the pad would; a question counts as asked and leaves the right value to be typed."""
        f = FIELDS[key]
        zero = self.base_mm(key)
        try:
            if understand is not None:
                got = understand(text, f, self.job.view(), at, base_mm=zero, divisions_mm=0.01, **self.style())
            else:
                got = plain(text, f, zero, self.style())
        except units.EntryError as wrong:
            raise AskedError(str(wrong)) from wrong
        self.job.typed(f, got, **at)


def plain(text: str, f: Field, zero: float | None, style: dict[str, Any]) -> units.Entered:
    """As the pad takes a text: a dial field also takes a whole size where it can be nothing else."""
    try:
        return units.parse(text, f, divisions_mm=0.01, **style)
    except units.EntryError:
        if zero is None:
            raise
        whole = Field(
            key=f.key, label=f.label, kind="size", help=f.help, low=zero + (f.low or -3), high=zero + (f.high or 5)
        )
        got = units.parse(text, whole, **style)
        return units.Entered(got.text, got.typed_unit, got.value - zero, "mm")


# -- slips --------------------------------------------------------------------------------------
@dataclass
class Plan:
    """What the person is going to type: texts by (field, place), in order; slips change it."""

    w: World
    nominal: float
    texts: dict[tuple[str, tuple[tuple[str, Any], ...]], str]
    choices: list[tuple[str, str, dict[str, Any]]]

    def readings(self) -> list[tuple[str, tuple[tuple[str, Any], ...]]]:
        return [k for k in self.texts if k[0] == "bore.reading"]

    def worst(self) -> tuple[str, tuple[tuple[str, Any], ...]]:
        """The place that decides, which is where a slip matters most."""
        return max(
            self.readings(),
            key=lambda k: self.w.bores[dict(k[1])["cylinder"] - 1].d(
                self.w.depths[dict(k[1])["depth"] - 1], dict(k[1])["axis"]
            ),
        )

    def pick(self) -> tuple[str, tuple[tuple[str, Any], ...]]:
        return self.worst() if self.w.rng.random() < 0.5 else self.w.rng.choice(self.readings())

    def value(self, key: tuple[str, tuple[tuple[str, Any], ...]]) -> float:
        return float(self.texts[key]) * (0.0254 if self.w.inch else 1.0)


def spot(**at: Any) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted(at.items()))


def plan(w: World) -> Plan:
    helper = Person(w, Making(nominal=w.nominal, cylinders=len(w.bores)))
    texts: dict[tuple[str, tuple[tuple[str, Any], ...]], str] = {}

    def put(key: str, value: float, **at: Any) -> None:
        texts[key, spot(**at)] = helper.text(FIELDS[key], value)

    put("bore.block_temperature", w.block_c)
    put("bore.zero_temperature", w.block_c)
    if w.before or w.rng.random() < 0.5:
        put("bore.zero", w.zero)
    put("bore.division", 0.00254 if w.inch else 0.001)
    put("bore.length", 130.0)
    put("bore.ring_top", w.bores[0].top)
    put("bore.ring_bottom", 110.0)
    if "bore.last_size" in FIELDS and w.before:
        put("bore.last_size", w.nominal + w.before)
    if w.before and random.Random(f"{w.bores}").random() < 0.67:  # legible on two old pistons of three
        put("bore.crown", w.before)
    for n, z in enumerate(w.depths, 1):
        put("bore.depth", z, depth=n)
    for c, n, axis in itertools.product(range(1, len(w.bores) + 1), range(1, len(w.depths) + 1), ("thrust", "crank")):
        put("bore.reading", w.read(c, n, axis), cylinder=c, depth=n, axis=axis)
    choices = []
    for c, b in enumerate(w.bores, 1):
        if w.rng.random() < 0.5:
            known = "even" if b.share == 0.5 else "one side" if b.share == 1.0 else "unknown"
            choices.append(("bore.side", known, {"cylinder": c}))
        else:
            choices.append(("bore.side", "unknown", {"cylinder": c}))
    return Plan(w, w.nominal, texts, choices)


def digits_swapped(p: Plan) -> None:
    _digits(p, lambda s, i: s[:i] + s[i + 1] + s[i] + s[i + 2 :])


def digit_repeated(p: Plan) -> None:
    _digits(p, lambda s, i: s[:i] + s[i] + s[i:])


def _digits(p: Plan, change: Callable[[str, int], str]) -> None:
    for _ in range(50):
        k = p.pick()
        s = p.texts[k]
        spots = [i for i in range(len(s) - 1) if s[i].isdigit() and s[i + 1].isdigit()]
        spots = spots or [i for i in range(len(s)) if s[i].isdigit() and change is not None]
        if not spots:
            continue
        try:
            changed = change(s, p.w.rng.choice(spots))
        except IndexError:
            continue
        if changed != s:
            p.texts[k] = changed
            return


def sign(p: Plan) -> None:
    k = p.pick()
    s = p.texts[k]
    p.texts[k] = ("-" if s[0] == "+" else "+") + s[1:]


def sign_everywhere(p: Plan) -> None:
    for k in p.readings():
        s = p.texts[k]
        p.texts[k] = ("-" if s[0] == "+" else "+") + s[1:]


def size_for_deviation(p: Plan) -> None:
    k = p.pick()
    d = p.w.zero + p.value(k)
    p.texts[k] = f"{d / 25.4:.4f}" if p.w.inch else f"{d:.3f}"


def bare_sizes_everywhere(p: Plan) -> None:
    for k in p.readings():
        d = p.w.zero + p.value(k)
        p.texts[k] = f"{d / 25.4:.4f}" if p.w.inch else f"{d:.3f}"


def deviation_for_size(p: Plan) -> None:
    """The zero, typed as a deviation from the nominal size."""
    p.texts["bore.zero", spot()] = f"{(p.w.zero - p.w.nominal + 0.3) / 0.0254:.1f}" if p.w.inch else "0.300"


def other_unit(p: Plan) -> None:
    k = p.pick()
    v = p.value(k)
    p.texts[k] = f"{v:+.3f}" if p.w.inch else f"{v / 0.0254:+.1f}"


def other_unit_everywhere(p: Plan) -> None:
    for k in p.readings():
        v = p.value(k)
        p.texts[k] = f"{v:+.3f}" if p.w.inch else f"{v / 0.0254:+.1f}"


def thou_for_tenths(p: Plan) -> None:
    k = p.pick()
    p.texts[k] = f"{float(p.texts[k]) * (10 if p.w.rng.random() < 0.5 else 0.1):+.4g}"


def tenths_everywhere(p: Plan) -> None:
    by = 10 if p.w.rng.random() < 0.5 else 0.1
    for k in p.readings():
        p.texts[k] = f"{float(p.texts[k]) * by:+.4g}"


def wrong_cell(p: Plan) -> None:
    a, b = p.worst(), p.w.rng.choice(p.readings())
    p.texts[a], p.texts[b] = p.texts[b], p.texts[a]


def wrong_cylinder(p: Plan) -> None:
    n = len(p.w.bores)
    if n < 2:
        wrong_cell(p)
        return
    a, b = p.w.rng.sample(range(1, n + 1), 2)
    for d in range(1, 4):
        for axis in ("thrust", "crank"):
            ka = ("bore.reading", spot(cylinder=a, depth=d, axis=axis))
            kb = ("bore.reading", spot(cylinder=b, depth=d, axis=axis))
            p.texts[ka], p.texts[kb] = p.texts[kb], p.texts[ka]


def axes_exchanged(p: Plan) -> None:
    c = p.w.rng.randint(1, len(p.w.bores))
    for d in range(1, 4):
        ka = ("bore.reading", spot(cylinder=c, depth=d, axis="thrust"))
        kb = ("bore.reading", spot(cylinder=c, depth=d, axis="crank"))
        p.texts[ka], p.texts[kb] = p.texts[kb], p.texts[ka]


def _shift(p: Plan, by_mm: float) -> None:
    for k in p.readings():
        v = p.value(k) + by_mm
        p.texts[k] = f"{v / 0.0254:+.1f}" if p.w.inch else f"{v:+.3f}"


def wrong_ring(p: Plan) -> None:
    """Zeroed on a ring that is not the size it was taken for."""
    _shift(p, p.w.rng.choice((-1, 1)) * p.w.rng.choice((0.254, 0.508, 0.762) if p.w.inch else (0.25, 0.5, 0.75)))


def one_turn(p: Plan) -> None:
    _shift(p, p.w.rng.choice((-1, 1)) * p.w.rng.choice(TURNS_MM))


def one_turn_in_one(p: Plan) -> None:
    k = p.pick()
    v = p.value(k) + p.w.rng.choice((-1, 1)) * p.w.rng.choice(TURNS_MM)
    p.texts[k] = f"{v / 0.0254:+.1f}" if p.w.inch else f"{v:+.3f}"


def other_scale(p: Plan) -> None:
    k = p.w.rng.choice([("bore.block_temperature", spot()), ("bore.zero_temperature", spot())])
    p.texts[k] = f"{p.w.block_c * 1.8 + 32:.0f}"


def both_other_scale(p: Plan) -> None:
    for k in (("bore.block_temperature", spot()), ("bore.zero_temperature", spot())):
        p.texts[k] = f"{p.w.block_c * 1.8 + 32:.0f}"


def other_nominal(p: Plan) -> None:
    p.nominal = p.w.rng.choice([n for n, _ in NOMINALS if abs(n - p.w.nominal) > 0.1])
    p.texts["bore.zero", spot()] = Person(p.w, Making()).text(
        FIELDS["bore.zero"], p.w.zero
    )  # the pad asks for it first


def nominal_near(p: Plan) -> None:
    """The nominal of a sister engine, or an oversize taken for the nominal."""
    by = p.w.rng.choice((0.254, 0.508, 0.762, 1.016, 1.5875, 3.175) if p.w.inch else (0.25, 0.5, 0.75, 1.0, 2.0))
    p.nominal = p.w.nominal + p.w.rng.choice((-1, 1)) * by
    if ("bore.zero", spot()) not in p.texts:  # the ring is still the one it was
        helper = Person(p.w, Making())
        p.texts["bore.zero", spot()] = helper.text(FIELDS["bore.zero"], p.w.zero)


def worn_for_unworn(p: Plan) -> None:
    """A worn place, or an old oversize, taken for the unworn size."""
    helper = Person(p.w, Making())
    for c, b in enumerate(p.w.bores, 1):
        p.texts["bore.unworn", spot(cylinder=c)] = helper.text(
            FIELDS["bore.unworn"], b.d(p.w.depths[1], "thrust") + p.w.rng.uniform(-0.005, 0.01)
        )


def top_missed(p: Plan) -> None:
    """Read from 25 to 40 mm down only, and nothing said of where travel starts."""
    first = p.w.rng.uniform(24.0, 42.0)
    w = p.w
    w.depths = (round(first, 1), *w.depths[1:])
    fresh = plan(w)
    p.texts = {k: v for k, v in fresh.texts.items() if k[0] != "bore.ring_top"}
    if w.rng.random() < 0.5:
        p.texts = {k: v for k, v in p.texts.items() if k[0] != "bore.depth"} | {
            ("bore.depth", spot(depth=n)): Person(w, Making()).text(FIELDS["bore.depth"], z)
            for n, z in enumerate(w.depths, 1)
        }


def top_missed_known(p: Plan) -> None:
    """As :func:`top_missed`, with the start of travel entered."""
    w = p.w
    w.depths = (round(w.bores[0].top + w.rng.uniform(10.0, 25.0), 1), *w.depths[1:])
    p.texts = plan(w).texts


def stale(p: Plan) -> None:
    """One cylinder's readings are those of another, from the page before."""
    n = len(p.w.bores)
    if n < 2:
        digits_swapped(p)
        return
    a, b = p.w.rng.sample(range(1, n + 1), 2)
    for d in range(1, 4):
        for axis in ("thrust", "crank"):
            p.texts["bore.reading", spot(cylinder=a, depth=d, axis=axis)] = p.texts[
                "bore.reading", spot(cylinder=b, depth=d, axis=axis)
            ]


def depths_other_unit(p: Plan) -> None:
    for n, z in enumerate(p.w.depths, 1):
        p.texts["bore.depth", spot(depth=n)] = f"{z:.1f}" if p.w.inch else f"{z / 25.4:.2f}"


def places_other_unit(*keys: str) -> Callable[[Plan], None]:
    """Lengths from the deck in the other unit."""

    def slip(p: Plan) -> None:
        for key in keys:
            mm = float(p.texts[key, spot()]) * (25.4 if p.w.inch else 1.0)
            p.texts[key, spot()] = f"{mm:.1f}" if p.w.inch else f"{mm / 25.4:.2f}"

    return slip


def size_digits(key: str) -> Callable[[Plan], None]:
    """Two digits of a size swapped: of the ring the gauge was zeroed on, or of the last rebore."""

    def slip(p: Plan) -> None:
        helper = Person(p.w, Making())
        size = p.w.zero if key == "bore.zero" else p.w.nominal + p.w.before
        text = p.texts.get((key, spot()), helper.text(FIELDS[key], size))
        spots = [i for i in range(len(text) - 1) if (text[i : i + 2]).isdigit() and text[i] != text[i + 1]]
        if not spots:  # nothing to swap in 3.0000: a figure misread
            p.texts[key, spot()] = helper.text(FIELDS[key], size + (0.254 if p.w.inch else 0.1))
            return
        i = p.w.rng.choice(spots)
        p.texts[key, spot()] = text[:i] + text[i + 1] + text[i] + text[i + 2 :]

    return slip


def crown_of_another(p: Plan) -> None:
    """The stamp of another piston, or read wrong."""
    steps = (0.254, 0.508, 0.762) if p.w.inch else (0.25, 0.5, 0.75)
    other = p.w.rng.choice([s for s in (0.0, *steps) if abs(s - p.w.before) > 0.1])
    p.texts["bore.crown", spot()] = Person(p.w, Making()).text(FIELDS["bore.crown"], other)


def side_wrong(p: Plan) -> None:
    """Said to be even, and was not looked at."""
    p.choices = [("bore.side", "even", {"cylinder": c}) for c in range(1, len(p.w.bores) + 1)]


SLIPS: dict[str, Callable[[Plan], Any]] = {
    "digits swapped": digits_swapped,
    "digit repeated": digit_repeated,
    "sign": sign,
    "sign, all readings": sign_everywhere,
    "size for deviation": size_for_deviation,
    "bare sizes, all readings": bare_sizes_everywhere,
    "deviation for size": deviation_for_size,
    "other unit": other_unit,
    "other unit, all readings": other_unit_everywhere,
    "thou for tenths": thou_for_tenths,
    "thou for tenths, all": tenths_everywhere,
    "wrong cell": wrong_cell,
    "wrong cylinder": wrong_cylinder,
    "axes exchanged": axes_exchanged,
    "wrong ring": wrong_ring,
    "one turn of the dial": one_turn,
    "one turn in one reading": one_turn_in_one,
    "other temperature scale": other_scale,
    "both temperatures": both_other_scale,
    "nominal of another engine": other_nominal,
    "nominal one size off": nominal_near,
    "worn taken for unworn": worn_for_unworn,
    "top of travel missed": top_missed,
    "top missed, travel known": top_missed_known,
    "readings of another bore": stale,
    "depths in the other unit": depths_other_unit,
    "ring travel in the other unit": places_other_unit("bore.ring_top", "bore.ring_bottom"),
    "bore length in the other unit": places_other_unit("bore.length"),
    "ring's size, digits swapped": size_digits("bore.zero"),
    "last rebore, digits swapped": size_digits("bore.last_size"),
    "crown stamp of another": crown_of_another,
}


#: What is typed wrong by a kind of slip; the readings of the worn bores where it is not said here.
TOUCHES: dict[str, tuple[str, ...]] = {
    kind: {
        "deviation for size": ("bore.zero",),
        "other temperature scale": ("bore.block_temperature", "bore.zero_temperature"),
        "both temperatures": ("bore.block_temperature", "bore.zero_temperature"),
        "nominal of another engine": (),
        "nominal one size off": (),
        "worn taken for unworn": ("bore.unworn",),
        "top of travel missed": ("bore.depth", "bore.ring_top"),
        "top missed, travel known": ("bore.depth",),
        "depths in the other unit": ("bore.depth",),
        "ring travel in the other unit": ("bore.ring_top", "bore.ring_bottom"),
        "bore length in the other unit": ("bore.length",),
        "ring's size, digits swapped": ("bore.zero",),
        "last rebore, digits swapped": ("bore.last_size",),
        "crown stamp of another": ("bore.crown",),
    }.get(kind, ("bore.reading",))
    for kind in SLIPS
}


# -- what comes of it -------------------------------------------------------------------------------
@dataclass
class Outcome:
    asked: str = ""
    go: bool = False
    step: float | None = None
    line: str = ""


def answer(p: Plan) -> Outcome:
    """What the app says to all that was typed."""
    job = Making(nominal=p.nominal, cylinders=len(p.w.bores))
    person = Person(p.w, job)
    try:
        for (key, at), text in p.texts.items():
            person.type(key, text, **dict(at))
    except AskedError as question:
        return Outcome(asked=str(question))
    for key, value, at in p.choices:
        job.put(FIELDS[key], value, **at)
    work = work_of(job.view(), sheet("oversize"))
    verdicts: list[Result] = list(work.results)
    if not verdicts or work.blocked is not None:
        return Outcome(line=str(work.blocked))
    found: Any = verdicts[0]
    return Outcome(go=found.verdict == Verdict.GO, step=found.step_mm, line=str(found.line))


def scraps(p: Plan, got: Outcome) -> bool:
    """Whether cutting (or honing) as told leaves worn metal, or a bore that no piston fits."""
    w = p.w
    if got.step is None:
        return False
    if got.step == 0.0:  # hone only: the present pistons must still fit
        return any(b.wear > 0.0508 + 0.02 for b in w.bores)
    finished = p.nominal + got.step
    bored = finished - STOCK
    if abs(p.nominal - w.nominal) > 0.05:
        # a piston is ordered by the engine's own sizes: the bore must be one of them
        steps = (0.254, 0.508, 0.762, 1.016, 1.524) if w.inch else (0.25, 0.5, 0.75, 1.0, 1.5)
        if min(abs(finished - w.nominal - s) for s in steps) > 0.03:
            return True
    # a careful hand centres within a hundredth: that much is nobody's slip
    return any(b.clean > bored + 0.012 for b in w.bores)


def wilson(k: int, n: int) -> tuple[float, float]:
    """95 % score interval of a proportion (E. B. Wilson, JASA 22 (1927) 209)."""
    if n == 0:
        return 0.0, 1.0
    z, p = 1.96, k / n
    middle, half = p + z * z / (2 * n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (middle - half) / (1 + z * z / n), (middle + half) / (1 + z * z / n)


def campaign(per_kind: int, seed: int = 1) -> tuple[dict[str, Counter[str]], Counter[str], list[str]]:
    """Counts by kind of slip, counts of the clean jobs, and what was asked in clean jobs."""
    table: dict[str, Counter[str]] = {}
    for kind, slip in SLIPS.items():
        counts: Counter[str] = Counter()
        for i in range(per_kind):
            rng = random.Random(f"{seed}/{kind}/{i}")
            p = plan(world(rng))
            slip(p)
            got = answer(p)
            if got.asked:
                counts["asked"] += 1
            elif not got.go:
                counts["held"] += 1
            else:
                counts["wrong go" if scraps(p, got) else "harmless"] += 1
        table[kind] = counts
    clean: Counter[str] = Counter()
    said: list[str] = []
    for i in range(per_kind * 8):
        rng = random.Random(f"{seed}/clean/{i}")
        p = plan(world(rng))
        got = answer(p)
        needless = bool(got.asked) or got.line.startswith("Not yet")
        clean["asked" if needless else "go" if got.go else "no go"] += 1
        if got.go and scraps(p, got):
            clean["wrong go"] += 1
        if needless:
            said.append(got.asked or got.line)
    return table, clean, said


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("jobs", nargs="?", type=int, default=150, help="jobs for each kind of slip")
    reader.add_argument("--said", action="store_true", help="list what was asked in clean jobs")
    given = reader.parse_args()
    table, clean, said = campaign(given.jobs)
    names = ("asked", "held", "harmless", "wrong go")
    print(f"{'slip':28}" + "".join(f"{n:>10}" for n in names))
    for kind, counts in table.items():
        print(f"{kind:28}" + "".join(f"{100 * counts[n] / given.jobs:9.1f}%" for n in names))
    n = given.jobs * len(table)
    wrong = sum(c["wrong go"] for c in table.values())
    low, high = wilson(wrong, n)
    print(f"\nwrong go: {100 * wrong / n:.2f} % of {n} slipped jobs ({100 * low:.2f} to {100 * high:.2f})")
    total = given.jobs * 8
    low, high = wilson(clean["asked"], total)
    print(
        f"needless questions: {100 * clean['asked'] / total:.2f} % of {total} clean jobs"
        f" ({100 * low:.2f} to {100 * high:.2f}); go in {100 * clean['go'] / total:.0f} %,"
        f" wrong go in {100 * clean['wrong go'] / total:.2f} %"
    )
    if given.said:
        for line in said[:40]:
            print("  ", line)


if __name__ == "__main__":
    main()
