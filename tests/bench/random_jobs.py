"""Makes believable jobs at random, as export files: ``python -m tests.bench.random_jobs FOLDER --jobs 300 --seed 1``.

Each job is one invented engine told from the worn bores to the handover, in inches or in
millimetres, cut off at some step, with fields left at their defaults or filled in,
corrections, withdrawals, two entries in one place, steps left out, decisions, notes, kit
cards, sleeves, sweeps and honing checks. One in six is wild instead: anything that the
number pad would take. The same seed gives the same files. Everything in them is invented.

It uses only the store's own forms (fields, documents, the export), so that a file made
by one version of the project can be read by another of the same export format.
"""

from __future__ import annotations

import argparse
import json
import math
import random
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Literal

from logic import units
from logic.fields import Field
from logic.say import KINDS
from store import cards
from store.clock import join
from store.documents import CautionSeen, Chosen, Decision, Document, Note, Reading, Skipped, Stamped, Typed, Withdrawn
from store.sheets import all_sheets
from store.transfer import write

DEVICE, OTHER = "comparedev01", "comparedev02"
#: When the first entry of a job is made: 2025-03-03 07:00 UTC.
BEGIN_MS = 1_740_985_200_000
INCH_STEPS = (0.254, 0.508, 0.762, 1.016, 1.524)
METRIC_STEPS = (0.25, 0.5, 0.75, 1.0, 1.5)
ANGLES = (0, 90, 180, 270)


class Log:
    """One document in the making. Numbers are typed as a person would, in ``length`` "in" or "mm"."""

    def __init__(
        self, rng: random.Random, name: str, fields: dict[str, Field], length: str, kind: Literal["job", "card"] = "job"
    ) -> None:
        self.rng, self.id, self.fields, self.length = rng, name, fields, length
        self.type: Literal["job", "card"] = kind
        self.ms = BEGIN_MS + rng.randrange(10**9)
        self.header: dict[str, Stamped] = {}
        self.earlier: dict[str, tuple[Stamped, ...]] = {}
        self.entries: list[Any] = []

    def _stamp(self) -> str:
        self.ms += self.rng.randrange(2_000, 240_000)
        return join(self.ms, 0, DEVICE)

    def _head(self) -> dict[str, Any]:
        return {"id": f"{self.id}e{len(self.entries):05d}", "stamp": self._stamp(), "device": DEVICE}

    def set(self, key: str, value: Any) -> None:
        """A header field; what was there before is kept among the earlier ones."""
        was = self.header.get(key)
        over = () if was is None else (was.stamp,)
        self.header[key] = Stamped(value=value, stamp=self._stamp(), over=over)
        if was is not None:
            self.earlier[key] = (*self.earlier.get(key, ()), was)

    def size(self, mm: float) -> Typed:
        """A length in mm as it is typed for the job's head."""
        if self.length == "in":
            return Typed(
                text=f"{mm / 25.4:.4f}", typed_unit="in", value=round(round(mm / 25.4, 4) * 25.4, 9), unit="mm"
            )
        return Typed(text=f"{mm:.2f}", typed_unit="mm", value=round(mm, 2), unit="mm")

    def typed(self, field: Field, value: float) -> Typed:
        """``value`` (the field's logic unit) rounded to what a person types, within the field's range."""
        kind = KINDS[field.kind]
        shown = (
            kind.inch
            if self.length == "in" and not field.kind.startswith(("temperature", "expansion"))
            else kind.metric
        )
        low = -math.inf if field.low is None else field.low
        high = math.inf if field.high is None else field.high
        value = min(max(value, low), high)
        text = f"{value * shown.scale + shown.offset:.{shown.digits}f}"
        try:
            got = units.parse(text, field, length_unit=self.length, temperature_unit="C")
        except units.EntryError:  # rounded over a limit, say
            return Typed(text=repr(value), typed_unit=kind.unit, value=value, unit=kind.unit)
        return Typed(text=got.text, typed_unit=got.typed_unit or "1", value=got.value, unit=got.unit or "1")

    def put(self, key: str, value: Any, /, replaces: str | None = None, **at: Any) -> Any:
        """A value at a place; None puts nothing, and neither does a field that no step has."""
        field = self.fields.get(key)
        if field is None or value is None:
            return None
        if field.kind in ("choice", "text"):
            entry: Any = Chosen(**self._head(), what=key, at=at, value=str(value), replaces=replaces)
        else:
            entry = Reading(**self._head(), what=key, at=at, typed=self.typed(field, float(value)), replaces=replaces)
        self.entries.append(entry)
        return entry

    def raw(self, key: str, mm: float, /, **at: Any) -> None:
        """A size under a key that no step asks."""
        self.entries.append(Reading(**self._head(), what=key, at=at, typed=self.size(mm)))

    def decide(self, what: str, mm: float | None, words: str) -> None:
        typed = None if mm is None else Typed(text=f"{mm:.3f}", typed_unit="mm", value=mm, unit="mm")
        self.entries.append(
            Decision(**self._head(), what=what, value=words, typed=typed, advised="as advised", reason="")
        )

    def add(self, kind: Callable[..., Any], **more: Any) -> Any:
        self.entries.append(kind(**self._head(), **more))
        return self.entries[-1]

    def document(self) -> Document:
        return Document(
            id=self.id, type=self.type, header=self.header, earlier=self.earlier, entries=tuple(self.entries)
        )


def job_fields() -> dict[str, Field]:
    return {key: f for s in all_sheets() for key, f in s.fields.items()}


# -- values of no story ------------------------------------------------------------------------
def near_default(rng: random.Random, field: Field) -> Any:
    """A believable value for a field that the story says nothing of, or None where there is no telling."""
    if field.kind == "choice":
        return rng.choice(field.choices).value
    if field.kind == "text":
        return rng.choice(("A", "B2", "red mark"))
    if isinstance(field.default, (int, float)):
        value = field.default * rng.uniform(0.85, 1.15) + (rng.uniform(-3, 8) if field.kind == "temperature" else 0.0)
        return round(value) if field.kind == "count" else value
    return None


def anything(rng: random.Random, field: Field, nominal: float) -> Any:
    """Anything that the number pad would take."""
    if field.kind in ("choice", "text"):
        return near_default(rng, field)
    low, high = float(field.low or 0.0), float(field.high if field.high is not None else 1e4)
    way = rng.random()
    if way < 0.06:
        return rng.choice((low, high))
    if way < 0.6 and field.kind == "size":
        return nominal + rng.uniform(-0.3, 1.5)
    if way < 0.8 and isinstance(field.default, (int, float)):
        return (
            round(field.default * rng.uniform(0.6, 1.5))
            if field.kind == "count"
            else field.default * rng.uniform(0.6, 1.5)
        )
    value = rng.uniform(low, high) if way > 0.9 else low + (high - low) * rng.random() ** 4
    return round(value) if field.kind == "count" else value


#: How far each numbering goes where a wild job fills a field.
_SPANS: dict[str, tuple[Any, ...]] = {
    "depth": (1, 2, 3),
    "axis": ("thrust", "crank"),
    "angle": (0, 45, 90, 135, 180, 225, 270, 315),
    "pass": (1, 2, 3),
    "check": (1, 2, 3),
    "point": (1, 2, 3, 4),
    "foot": (1, 2, 3),
    "piece": (1, 2),
    "ring": (1, 2, 3),
    "item": (1, 2),
    "grade": (1, 2),
}


def places(field: Field, cylinders: int) -> list[dict[str, Any]]:
    """Every place a field is asked at, in a job of so many cylinders."""
    out: list[dict[str, Any]] = [{}]
    for name in field.at:
        span: Iterable[Any] = range(1, cylinders + 1) if name == "cylinder" else _SPANS[name]
        out = [{**place, name: n} for place in out for n in span]
    return out


# -- the story of one engine ---------------------------------------------------------------------
class Story:
    """One engine: what is true of it, told step by step into a :class:`Log`."""

    def __init__(self, rng: random.Random, log: Log) -> None:
        self.rng, self.log = rng, log
        self.tidy = rng.random() < 0.6  # nothing forgotten, and the work comes out as it should
        inch = log.length == "in"
        nominal = (
            rng.choice((2.5, 2.6875, 2.875, 3.0, 3.1875, 3.4375, 3.625, 4.0, 4.375)) * 25.4
            if inch
            else rng.choice((62.0, 68.0, 70.6, 76.0, 80.0, 83.5, 90.0, 95.5, 102.0, 115.0))
        )
        self.nominal = round(nominal, 4)
        self.cylinders = rng.choice((1, 2, 2, 3, 4, 4, 6))
        self.step = rng.choice(INCH_STEPS if inch else METRIC_STEPS)
        self.wear = self.step * rng.uniform(0.2, 0.85)
        self.depths = rng.choice((3, 3, 3, 2, 4))
        self.axes: tuple[str, ...] = ("thrust", "crank")
        self.clearance = rng.uniform(0.03, 0.09)
        self.stock = rng.uniform(0.05, 0.1)
        self.bias = rng.uniform(-0.01, 0.015)
        self.length = self.nominal * rng.uniform(1.3, 1.9)
        self.warm = rng.choice((20.0, 20.0, rng.uniform(5, 35)))
        self.sleeved = {c for c in self.all if rng.random() < 0.5} if rng.random() < 0.18 else set()
        self.pistons = {c: self.nominal + self.step - self.clearance + rng.gauss(0, 0.004) for c in self.all}
        self.finished = {c: self.pistons[c] + self.clearance for c in self.all}

    @property
    def all(self) -> range:
        return range(1, self.cylinders + 1)

    def maybe(self, key: str, value: Any, chance: float = 0.5, /, **at: Any) -> None:
        if self.rng.random() < chance or (self.tidy and chance >= 0.7):
            self.log.put(key, value, **at)

    def begin(self) -> None:
        log, rng = self.log, self.rng
        log.set("title", f"Invented job {log.id[-4:]}")
        if rng.random() < 0.95:
            log.set("nominal", log.size(self.nominal))
        if rng.random() < 0.97:
            log.set("cylinders", self.cylinders)
        log.set("length_unit", log.length)

    def bores(self) -> None:
        log, rng = self.log, self.rng
        self.maybe("bore.block_temperature", self.warm, 0.7)
        self.maybe("bore.zero_temperature", rng.uniform(15, 28), 0.4)
        self.maybe("bore.length", self.length, 0.7)
        self.maybe("bore.spacing", self.nominal * rng.uniform(1.1, 1.3), 0.4)
        self.maybe("bore.ring_top", rng.uniform(5, 15), 0.3)
        self.maybe("bore.ring_bottom", self.length * 0.8, 0.5)
        if self.depths != 3:
            log.put("bore.depths", self.depths)
        way = rng.random()
        if way < 0.12:
            log.put("bore.axes", "one")
            self.axes = ("thrust",)
        elif way < 0.2:
            log.put("bore.axes", "four")
            self.axes = ("thrust", "crank", "diag_a", "diag_b")
        zero = self.nominal
        if rng.random() < 0.3:
            zero = self.nominal + rng.uniform(-0.2, 0.3)
            log.put("bore.zero", zero)
        if rng.random() < 0.4:
            for depth in range(1, self.depths + 1):
                log.put("bore.depth", 12 + (self.length - 24) * (depth - 1) / max(self.depths - 1, 1), depth=depth)
        self._worn(zero)

    def _worn(self, zero: float) -> None:
        log, rng = self.log, self.rng
        for c in self.all:
            own = self.wear * rng.uniform(0.4, 1.0)
            oval = rng.uniform(0.3, 0.9)
            for depth in range(1, self.depths + 1):
                down = math.exp(-1.6 * (depth - 1)) * own
                for axis in self.axes:
                    share = 1.0 if axis == "thrust" else oval
                    if self.tidy or rng.random() < 0.99:
                        reading = self.nominal - zero + down * share + rng.gauss(0, 0.004)
                        log.put("bore.reading", reading, cylinder=c, depth=depth, axis=axis)
            side = rng.choice(("unknown", "unknown", "even", "one side", "swept", None))
            log.put("bore.side", side, cylinder=c)
            if side == "swept":
                self.maybe("bore.offset", own * rng.uniform(0.1, 0.5), 0.9, cylinder=c)
            self.maybe("bore.bar_shift", rng.uniform(0, 0.05), 0.1, cylinder=c)
            self.maybe("bore.unworn", self.nominal + rng.gauss(0.005, 0.005), 0.1, cylinder=c)

    def walls(self) -> None:
        log, rng = self.log, self.rng
        if rng.random() < 0.6:
            for piece in range(1, rng.choice((1, 2)) + 1):
                log.put("wall.known", 6.0 + 2 * piece, piece=piece)
                log.put("wall.shown", (6.0 + 2 * piece) * rng.uniform(1.1, 1.4), piece=piece)
        self.maybe("wall.thrust", rng.choice(("left", "right")), 0.6)
        self.maybe("wall.minimum", rng.uniform(2.2, 4.0), 0.6)
        self.maybe("wall.minimum_thrust", rng.uniform(3.0, 4.5), 0.3)
        thick = rng.uniform(4.0, 8.0)
        for c in self.all:
            for angle in ANGLES:
                if rng.random() < 0.95:
                    log.put("wall.reading", thick + rng.gauss(0, 0.4), cylinder=c, angle=angle)

    def face(self) -> None:
        log, rng = self.log, self.rng
        along, across, high = rng.gauss(0, 2e-4), rng.gauss(0, 2e-4), rng.uniform(150, 260)
        span = self.nominal * 1.2 * self.cylinders
        for point in range(1, rng.choice((3, 4, 6, 6, 8)) + 1):
            x, y = span * ((point - 1) // 2) / 3, self.nominal * (0.6 if point % 2 else -0.6)
            log.put("face.x", x, point=point)
            log.put("face.y", y, point=point)
            log.put("face.height", high + along * x + across * y + rng.gauss(0, 0.003), point=point)
        self.maybe("face.first_bore", self.nominal * 0.6, 0.4)
        remedy = rng.choice(("none", "none", "skim", "shim", None))
        log.put("face.remedy", remedy)
        if remedy == "skim":
            self.maybe("face.skim", rng.uniform(0.03, 0.25), 0.6)
        if remedy == "shim":
            log.put("face.squared", "yes" if point > 3 else "no")
        if rng.random() < 0.3:
            for foot, (x, y) in enumerate(((0, 0), (120, 0), (60, 90)), 1):
                log.put("face.foot_x", x, foot=foot)
                log.put("face.foot_y", y, foot=foot)

    def sweep(self) -> None:
        log, rng = self.log, self.rng
        for c in self.all:
            if rng.random() < 0.45:
                continue
            log.put("sweep.zero", self.nominal + rng.uniform(-0.01, 0.02), cylinder=c)
            if rng.random() < 0.25:
                log.put("sweep.set_over", rng.uniform(0.02, 0.2), cylinder=c)
                log.put("sweep.set_toward", rng.choice(("front", "left", "rear", "right")), cylinder=c)
            worn, turn = self.wear * rng.uniform(0.2, 0.6), rng.uniform(0, 360)
            for depth in (1, self.depths) if rng.random() < 0.8 else range(1, self.depths + 1):
                share = 1.0 if depth == 1 else 0.1
                for angle in range(0, 360, 45):
                    push = worn * share * (0.5 + 0.5 * math.cos(math.radians(angle - turn)))
                    if rng.random() < 0.98:
                        log.put("sweep.reading", push + rng.gauss(0, 0.003), cylinder=c, depth=depth, angle=angle)

    def oversize(self) -> None:
        log, rng = self.log, self.rng
        self.maybe("oversize.series", rng.choice(("auto", "inch", "mm", "both", "listed")), 0.4)
        self.maybe("oversize.mixed", "yes", 0.2)
        self.maybe("oversize.largest", self.nominal + rng.uniform(0.5, 2.5), 0.2)
        self.maybe("oversize.confidence", rng.choice((0.9, 0.99)), 0.2)
        if rng.random() < 0.2:
            for item, step in enumerate(sorted(rng.sample(METRIC_STEPS + INCH_STEPS, 3)), 1):
                log.put("oversize.listed", step, item=item)
        way = rng.random()
        if way < (0.7 if self.tidy else 0.4):
            log.decide("oversize", self.step, f"+{self.step:.3f} mm")
        elif way > 0.93:
            log.decide("oversize", 0.0, "hone only")

    def sleeve(self) -> None:
        log, rng = self.log, self.rng
        for c in self.sleeved:
            log.put("sleeve.wanted", "yes", cylinder=c)
            outside = self.nominal + rng.uniform(3.5, 6.0)
            grip = rng.uniform(0.03, 0.08)
            self.maybe("sleeve.outside", outside, 0.93, cylinder=c)
            self.maybe("sleeve.inside", self.nominal - rng.uniform(0.2, 0.8), 0.93, cylinder=c)
            self.maybe("sleeve.length", self.length, 0.5, cylinder=c)
            self.maybe("sleeve.bored", outside - grip, 0.6, cylinder=c)
        if self.sleeved:
            self.maybe("sleeve.fit_least", 0.03, 0.3)
            self.maybe("sleeve.fit_most", 0.09, 0.3)
            self.maybe("sleeve.cold", rng.choice((-78.0, -20.0, 5.0)), 0.3)

    def sizes(self) -> None:
        rng = self.rng
        self.maybe("sizes.clearance", self.clearance, 0.7)
        self.maybe("sizes.alloy", rng.choice(("controlled", "cast", "hyper", "forged", "iron")), 0.5)
        self.maybe("sizes.duty", rng.choice(("gentle", "road", "hard", "diesel")), 0.4)
        self.maybe("sizes.piston_temperature", self.warm, 0.5)
        self.maybe("sizes.hone_stock", self.stock, 0.7)
        for c in self.all:
            self.maybe("sizes.piston", self.pistons[c], 0.93, cylinder=c)
        self.maybe("sizes.wall_temperature", rng.uniform(90, 150), 0.2)
        self.maybe("sizes.skirt_temperature", rng.uniform(90, 170), 0.2)

    def clamp(self) -> None:
        log, rng = self.log, self.rng
        log.put("clamp.thread", rng.choice(("M10", "M12", "M14", "7/16-14 UNC", "1/2-13 UNC")))
        self.maybe("clamp.grade", rng.choice(("8.8", "10.9", "grade 5", "4.8", "unmarked")), 0.7)
        log.put("clamp.torque", rng.uniform(15, 80))
        self.maybe("clamp.studs", rng.choice((1, 2, 4)), 0.6)
        self.maybe("clamp.engagement", rng.uniform(10, 30), 0.6)
        self.maybe("clamp.state", "oiled", 0.3)
        self.maybe("clamp.offset", rng.uniform(0, 60), 0.4)

    def cut(self) -> None:
        log, rng = self.log, self.rng
        bar = 50.0 if rng.random() < 0.35 else None
        if bar:
            log.put("cut.meter", "bar_tip")
            log.put("cut.bar", bar)
        self.maybe("cut.block", self.warm, 0.5)
        self.maybe("cut.lead", rng.choice((45.0, 75.0, 90.0)), 0.4)
        self.maybe("cut.last", rng.uniform(0.1, 0.3), 0.3)
        for c in self.all:
            if not self.tidy and rng.random() < 0.1:
                continue
            self.maybe("cut.present", self.nominal + rng.uniform(0, 0.1), 0.1, cylinder=c)
            target = self.finished[c] - self.stock
            count = rng.choice((1, 2, 2, 3))
            for n in range(1, count + 1):
                aim = target if n == count else self.nominal + (target - self.nominal) * n / count
                at: dict[str, Any] = {"cylinder": c, "pass": n}
                measured = aim + rng.gauss(0, 0.001 if self.tidy else 0.003)
                setting = measured - self.bias + rng.gauss(0, 0.003)
                self.maybe("cut.edge", "fresh", 0.15, **at)
                log.put("cut.setting", (setting + bar) / 2 if bar else setting, **at)
                if n == count and not self.tidy and rng.random() < 0.1:
                    continue
                log.put("cut.measured", measured, **at)
                self.maybe("cut.temperature", self.warm + rng.uniform(0, 8), 0.25, **at)
                self.maybe("cut.use", "strike", 0.05, **at)

    def chamfer(self) -> None:
        rng = self.rng
        for c in self.all:
            if rng.random() < 0.5:
                self.log.put("chamfer.touch", 2.5, cylinder=c)
                self.log.put("chamfer.stopped", 2.5 + rng.uniform(0.6, 0.9), cylinder=c)
            self.maybe("chamfer.measured", rng.uniform(0.6, 0.9), 0.7, cylinder=c)

    def hone(self) -> None:
        rng = self.rng
        self.maybe("hone.face", rng.choice(("iron", "chrome", "moly", "nitrided")), 0.6)
        self.maybe("hone.block", self.warm, 0.4)
        self.maybe("hone.clear", rng.uniform(30, 90), 0.4)
        for c in self.all:
            count = 4 if self.tidy else rng.choice((0, 1, 2, 3, 4, 4))
            for n in range(1, count + 1):
                at = {"cylinder": c, "check": n}
                size = self.finished[c] - self.stock * (1 - (n - 1) / 3) ** 1.2 if n < 4 else self.finished[c]
                if n > 1:
                    self.maybe("hone.strokes", rng.randrange(8, 40), 0.95, **at)
                    self.maybe("hone.grit", (150, 220, 280)[min(n - 2, 2)], 0.9, **at)
                self.maybe("hone.temperature", self.warm + rng.uniform(0, 9), 0.4, **at)
                for depth in (1, 2, 3):
                    self.maybe("hone.size", size + rng.gauss(0, 0.001 if self.tidy else 0.003), 0.98, depth=depth, **at)
            if count == 4:
                for what, um in (("ra", 0.45), ("rpk", 0.3), ("rk", 1.1), ("rvk", 1.4)):
                    self.maybe(f"hone.{what}", um * rng.uniform(0.7, 1.4), 0.4, cylinder=c)

    def final(self) -> None:
        log, rng = self.log, self.rng
        zero = self.nominal + self.step
        log.put("final.zero", zero)
        self.maybe("final.zero_temperature", rng.uniform(17, 25), 0.5)
        self.maybe("final.block_temperature", rng.uniform(17, 25), 0.5)
        if self.tidy:
            log.put("final.division", 0.0025)
            log.put("final.repeat", 0.0015)
            log.put("final.master_u", 0.001)
        self.maybe("final.gauge_warmed", rng.uniform(0, 2), 0.2)
        spread = 0.001 if self.tidy else rng.choice((0.001, 0.003, 0.008))
        for c in self.all:
            for depth in range(1, self.depths + 1):
                for axis in self.axes:
                    reading = self.finished[c] - zero + rng.gauss(0, spread)
                    self.maybe("final.reading", reading, 0.995, cylinder=c, depth=depth, axis=axis)
                    self.maybe(
                        "final.again", reading + rng.gauss(0, 0.002), 0.06, cylinder=c, depth=depth, axis=axis, check=1
                    )

    def rings(self) -> None:
        rng = self.rng
        self.maybe("rings.oil", rng.choice(("rails", "cast")), 0.4)
        self.maybe("rings.compression", rng.choice((2, 3)), 0.3)
        self.maybe("rings.ring_temperature", rng.uniform(150, 260), 0.2)
        for ring in (1, 2):
            self.maybe("rings.least", self.nominal * rng.uniform(0.003, 0.005), 0.3, ring=ring)
        for c in self.all:
            self.maybe("rings.bore", self.finished[c], 0.2, cylinder=c)
            for ring in (1, 2, 3, 4):
                self.maybe("rings.gap", self.nominal * rng.uniform(0.0032, 0.0075), 0.93, cylinder=c, ring=ring)

    def fitting(self) -> None:
        grams = self.rng.uniform(250, 900)
        numbers = list(self.all)
        self.rng.shuffle(numbers)
        own = self.rng.random() < 0.3
        for c in self.all:
            self.maybe("fitting.weight", grams + self.rng.gauss(0, 1.5), 0.9, cylinder=c)
            if own:
                self.log.put("fitting.piston", numbers[c - 1], cylinder=c)
        self.maybe("fitting.spin", self.rng.uniform(1500, 6000), 0.3)
        if self.rng.random() < 0.15:
            for grade, name in enumerate(("A", "B"), 1):
                low = self.nominal + self.step - self.clearance - 0.01 + 0.01 * (grade - 1)
                self.log.put("fitting.grade", name, grade=grade)
                self.log.put("fitting.grade_low", low, grade=grade)
                self.log.put("fitting.grade_high", low + 0.01, grade=grade)

    def compression(self) -> None:
        rng = self.rng
        stroke = self.nominal * rng.uniform(0.9, 1.4)
        volume = math.pi / 4 * self.nominal**2 * stroke / 1000
        self.maybe("compression.stroke", stroke, 0.97)
        self.maybe("compression.chamber", volume / rng.uniform(7, 18), 0.97)
        self.maybe("compression.gasket_bore", self.nominal + rng.uniform(0.5, 4), 0.97)
        self.maybe("compression.gasket", rng.uniform(0.8, 1.6), 0.6)
        self.maybe("compression.deck", rng.uniform(-0.2, 1.0), 0.97)
        self.maybe("compression.crown", rng.uniform(-5, 12), 0.5)
        self.maybe("compression.crown_new", rng.uniform(-5, 12), 0.3)
        self.maybe("compression.highest", rng.uniform(8, 12), 0.3)
        self.maybe("compression.gasket_new", rng.uniform(0.8, 1.6), 0.3)

    def clean(self) -> None:
        for key in sorted(k for k in self.log.fields if k.startswith("clean.")):
            self.maybe(key, "yes" if self.tidy else self.rng.choice(("yes", "yes", "yes", "none", "no")), 0.95)


STEPS = (
    "bores",
    "walls",
    "face",
    "sweep",
    "oversize",
    "sleeve",
    "sizes",
    "clamp",
    "cut",
    "chamfer",
    "hone",
    "final",
    "rings",
    "fitting",
    "compression",
    "clean",
)


def tell(rng: random.Random, log: Log) -> Story:
    """A job told up to some step; now and then a step is left out, skipped, or filled in out of turn."""
    story = Story(rng, log)
    story.begin()
    upto = len(STEPS) if rng.random() < 0.55 else rng.randrange(1, len(STEPS))
    richness = rng.choice((0.0, 0.04, 0.25))
    for name in STEPS[:upto]:
        rare = name in ("walls", "face", "sweep", "sleeve", "clamp", "fitting")
        if rng.random() < (0.35 if rare else 0.03):
            if rng.random() < 0.6:
                log.add(Skipped, what=f"sheet.{name}", reason="not needed here")
            continue
        getattr(story, name)()
        for key, field in log.fields.items():
            plain = field.at in ((), ("cylinder",)) and field.default is not None
            if (
                plain
                and _step_of(key) == name
                and key not in ("bore.axes", "bore.depths", "sleeve.wanted", "cut.meter")
            ):
                for place in places(field, story.cylinders):
                    if rng.random() < richness and not any(
                        getattr(e, "what", "") == key and e.at == place for e in log.entries
                    ):
                        log.put(key, near_default(rng, field), **place)
    return story


_OWNERS: dict[str, str] = {}


def _step_of(key: str) -> str:
    if not _OWNERS:
        _OWNERS.update({f: s.key for s in all_sheets() for f in s.fields})
    return _OWNERS.get(key, "")


def wild(rng: random.Random, log: Log) -> Story:
    """A job whose fields hold anything the number pad takes, each with some probability."""
    story = Story(rng, log)
    story.begin()
    density = rng.choice((0.3, 0.7, 0.97))
    for key, field in log.fields.items():
        for place in places(field, story.cylinders):
            if rng.random() < density:
                log.put(key, anything(rng, field, story.nominal), **place)
    if rng.random() < 0.5:
        log.decide("oversize", rng.choice((*INCH_STEPS, *METRIC_STEPS)), "step")
    return story


def _corrections(rng: random.Random, log: Log) -> None:
    """Numbers and choices put right or taken back, and two entries in one place."""
    made = [e for e in log.entries if isinstance(e, Reading) and e.what in log.fields]
    for entry in rng.sample(made, min(len(made), rng.choice((0, 0, 1, 1, 2, 5)))):
        nudged = entry.typed.value + rng.choice((0.002, -0.01, 0.05, 0.3))
        log.put(entry.what, nudged, replaces=entry.id, **entry.at)
    chosen = [e for e in log.entries if isinstance(e, Chosen)]
    if chosen and rng.random() < 0.2:
        picked = rng.choice(chosen)
        log.put(picked.what, near_default(rng, log.fields[picked.what]), replaces=picked.id, **picked.at)
    if made and rng.random() < 0.3:
        gone = log.add(Withdrawn, replaces=rng.choice(made).id)
        if rng.random() < 0.5:
            log.add(Withdrawn, replaces=gone.id)
    if made and rng.random() < 0.15:  # somebody else entered the same thing
        entry = rng.choice(made)
        log.put(entry.what, entry.typed.value * 1.0001, replaces=None, **entry.at)


def second_thoughts(rng: random.Random, log: Log, story: Story) -> None:
    """Corrections, withdrawals, rivals, notes, cautions, steps looked at again, a nominal bore put right."""
    _corrections(rng, log)
    if rng.random() < 0.3:
        log.add(Note, text="A note that changes no figure.")
    if rng.random() < 0.3:
        log.add(CautionSeen, what="clamp.drop")
    for name in STEPS:
        if rng.random() < 0.04:
            log.decide(f"sheet.{name}.stands", None, "stands")
    if rng.random() < 0.06:
        log.set("nominal", log.size(story.nominal + rng.choice((0.05, -0.2))))
    skips = [e for e in log.entries if isinstance(e, Skipped)]
    if skips and rng.random() < 0.2:
        log.add(Withdrawn, replaces=rng.choice(skips).id)


# -- kit ---------------------------------------------------------------------------------------------
def kit(rng: random.Random, log: Log, story: Story) -> list[Document]:
    """Kit cards for some of the roles, named in the job's head."""
    out = []
    for role in ("bar", "hone", "gauge", "micrometer"):
        if rng.random() < 0.6:
            continue
        sheet = cards.sheet(role)
        card = Log(rng, f"card{role[:3]}{log.id[-9:]}", dict(sheet.fields), log.length, "card")
        card.ms = log.ms - rng.randrange(5, 90) * 86_400_000
        card.set("card", role)
        card.set("title", f"Invented {role}")
        for key, field in sheet.fields.items():
            if not field.at and field.default is not None and key != "cut.meter" and rng.random() < 0.5:
                card.put(key, near_default(rng, field))
        for n in range(1, rng.choice((1, 2, 4, 5)) + 1):
            card.put("card.error", rng.gauss(0.001, 0.002), check=n)
            card.ms += rng.randrange(7, 40) * 86_400_000
        if role == "bar" and rng.random() < 0.7:
            for n in range(rng.choice((2, 4, 6))):
                at = {"job": "earlierjob01", "cylinder": n % 2 + 1, "pass": n // 2 + 1}
                aim = story.nominal + rng.uniform(0.3, 0.9)
                card.raw("bias.set", aim, **at)
                card.raw("bias.measured", aim + story.bias + rng.gauss(0, 0.003), **at)
        log.set(role, card.id)
        out.append(card.document())
    return out


def export(seed: int, number: int) -> tuple[bytes, dict[str, Any]]:
    """The export file of job ``number``, and what is to be known of it (units, whether it is a wild one)."""
    rng = random.Random(f"{seed}/{number}")
    log = Log(rng, f"randomjob{number:05d}", job_fields(), rng.choice(("in", "mm")))
    is_wild = number % 6 == 5
    story = (wild if is_wild else tell)(rng, log)
    second_thoughts(rng, log, story)
    documents = [log.document(), *kit(rng, log, story)]
    data = write(documents, device=DEVICE, made_ms=log.ms + 86_400_000)
    return data, {"job": log.id, "units": log.length, "wild": is_wild, "entries": len(log.entries)}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("folder", type=Path)
    asked.add_argument("--jobs", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    listed = []
    for number in range(given.jobs):
        data, about = export(given.seed, number)
        (given.folder / f"{about['job']}.json").write_bytes(data)
        listed.append(about)
    (given.folder / "list.json").write_text(json.dumps(listed, indent=1))


if __name__ == "__main__":
    main()
