"""Human slips after the oversize is decided: pistons, settings of the cutter, hone checks, final check, rings.

As in :mod:`tests.bench.slips`, with which this is run: jobs with a hidden truth, a person who
does what the app says and types what is read, and one slip, or none. The bar has a bias of its own,
the stones bite as they like, bores come out as they were truly cut. A slip is a *wrong go* where
following a yes would scrap the bore, the piston or the fit.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from logic import sizing
from logic.result import Result, Verdict
from logic.setting import NextSetting
from store.facts.final import base_mm
from store.flow import work_of
from store.sheets import sheet
from tests.bench.slips import FIELDS, STOCK, AskedError, Person, World, plain, wilson, world
from tests.store.making import Making

__all__ = ["CLEAN", "SLIPS", "Kind", "campaign", "clean", "outcome", "table", "tried"]

#: Limits of a finished bore, mm: those of the fields. Wrong by less than this beyond them is nobody's slip.
LIMIT, GRACE = 0.0127, 0.006
#: What the hone needs at least, mm on diameter.
LEAST_HONE = 0.02
#: Steps that pistons come in, mm.
STEPS_IN, STEPS_MM = (0.254, 0.508, 0.762, 1.016, 1.524), (0.25, 0.5, 0.75, 1.0, 1.5)

#: How kinds of values are typed that few jobs need, of inches and of millimetres: factor and form. All read °C.
SHOWN: Mapping[str, tuple[tuple[float, str], tuple[float, str]]] = {
    "feed": ((1 / 0.0254, "{:.1f}"), (1.0, "{:.2f}")),
    "expansion": ((1e6, "{:.1f}"), (1e6, "{:.1f}")),
}

Where = tuple[tuple[str, Any], ...]
#: Changes a text that is about to be typed; gets the hand, the field's key, its place and the text.
Change = Callable[["Hand", str, dict[str, Any], str], str]


class Kept(Making):
    """A job whose view follows its entries, as that of an open job does."""

    _view: Any = None
    _known = 0

    def view(self) -> Any:
        if self._view is None:
            self._view = super().view()
        for entry in self.entries[self._known :]:
            self._view.add(entry)
        self._known = len(self.entries)
        return self._view


class HeldError(Exception):
    """The app held its yes, or warned where it was needed."""


class WrongGoError(Exception):
    """The yes that was followed scraps something."""


@dataclass
class Hand(Person):
    """Types as a :class:`Person` does; ``slip`` may change a text."""

    slip: Change | None = None
    typed: list[tuple[str, dict[str, Any], str]] = field(default_factory=list)

    def enter(self, key: str, value: float, **at: Any) -> None:
        text = self.text(FIELDS[key], value)
        if self.slip is not None:
            text = self.slip(self, key, at, text)
        self.typed.append((key, at, text))
        self.type(key, text, **at)

    def text(self, f: Any, value: float) -> str:
        if f.key == "sizes.clearance":  # as makers print it
            return f"{value / 0.0254:.1f}" if self.w.inch else f"{value * 1000:.0f}"
        if f.kind in SHOWN:
            factor, form = SHOWN[f.kind][0 if self.w.inch else 1]
            return form.format(value * factor)
        return super().text(f, value)

    def plainly(self, key: str, value: float, **at: Any) -> None:
        """Enter a value that was typed well, in the person's own unit."""
        f = FIELDS[key]
        self.job.typed(f, plain(self.text(f, value), f, None, self.style()), **at)

    def base_mm(self, key: str) -> float | None:
        return base_mm(self.job.view()) if key.startswith("final.") else super().base_mm(key)

    def number(self, text: str, mm: bool = True) -> float:
        return float(text) * (25.4 if self.w.inch and mm else 1.0)

    def times(self, key: str, **at: Any) -> int:
        """How often a field was typed so far, at places that agree."""
        return sum(k == key and all(a.get(n) == v for n, v in at.items()) for k, a, _ in self.typed)


@dataclass
class Shop:
    """A job decided on: the truth at 20 °C in mm, and the hand that works it."""

    w: World
    hand: Hand
    step: float
    clearance: float
    pistons: dict[int, float]
    rng: random.Random

    @property
    def job(self) -> Making:
        return self.hand.job

    def finished(self, cylinder: int) -> float:
        return self.pistons[cylinder] + self.clearance

    def results(self, key: str) -> tuple[Result, ...]:
        """The answers of a step; held where the step is blocked or doubts stand before it."""
        work = work_of(self.job.view(), sheet(key))
        if work.blocked is not None:
            raise HeldError(str(work.blocked))
        if work.doubts:
            raise HeldError(str(work.doubts[0].line))
        return work.results


def decided(rng: random.Random, slip: Change | None) -> Shop:
    """A job whose worn bores were read well and whose oversize is decided on."""
    while True:
        w = world(rng)
        w.bores = w.bores[:4]
        steps = STEPS_IN if w.inch else STEPS_MM
        most = max(b.clean for b in w.bores)
        fitting = [s for s in steps if w.nominal + s - STOCK >= most + 0.01]
        if fitting:
            break
    job = Kept(nominal=w.nominal, cylinders=len(w.bores))
    hand = Hand(w, job, slip=slip)
    hand.plainly("bore.block_temperature", w.block_c)
    hand.plainly("bore.zero_temperature", w.block_c)
    hand.plainly("bore.zero", w.zero)
    hand.plainly("bore.division", 0.00254 if w.inch else 0.001)
    if w.before:
        hand.plainly("bore.last_size", w.nominal + w.before)
    for key, mm in (("bore.length", 130.0), ("bore.ring_top", w.bores[0].top), ("bore.ring_bottom", 110.0)):
        hand.plainly(key, mm)
    for n, z in enumerate(w.depths, 1):
        hand.plainly("bore.depth", z, depth=n)
    for c, b in enumerate(w.bores, 1):
        for n in range(1, 4):
            for axis in ("thrust", "crank"):
                hand.plainly("bore.reading", w.read(c, n, axis), cylinder=c, depth=n, axis=axis)
        known = "even" if b.share == 0.5 else "one side" if b.share == 1.0 else "unknown"
        job.put(FIELDS["bore.side"], known, cylinder=c)
    job.decide("oversize", "step", number=fitting[0])
    clearance = sizing.default_clearance(w.nominal).mm * rng.uniform(0.75, 1.35)
    clearance = round(clearance / 25.4, 4) * 25.4 if w.inch else round(clearance, 3)
    lot = rng.gauss(0.0, 0.004)
    pistons = {c: w.nominal + fitting[0] - clearance + lot + rng.gauss(0, 0.003) for c in range(1, len(w.bores) + 1)}
    return Shop(w, hand, fitting[0], clearance, pistons, rng)


def settled(s: Shop) -> None:
    """Clearance and pistons, as they were measured: without a slip."""
    s.hand.plainly("sizes.clearance", s.clearance)
    for c, p in s.pistons.items():
        s.hand.plainly("sizes.piston", p + s.rng.gauss(0, 0.001), cylinder=c)


# -- sizes ----------------------------------------------------------------------------------------
def sizes(s: Shop) -> None:
    """The pistons and their clearance are typed; each bore is to be finished to its own."""
    room = round(s.rng.uniform(8, 30))
    s.hand.enter("sizes.clearance", s.clearance)
    s.hand.enter("sizes.piston_temperature", room)
    for c, p in s.pistons.items():
        shown = p * (1 + 21.0e-6 * (room - 20)) + s.rng.gauss(0, 0.002)
        s.hand.enter("sizes.piston", shown, cylinder=c)
    for r in s.results("sizes"):
        if (
            isinstance(r, sizing.Finished)
            and r.verdict == Verdict.GO
            and abs(r.finished_mm - s.finished(r.cylinder)) > LIMIT + GRACE
        ):
            raise WrongGoError


# -- boring ---------------------------------------------------------------------------------------
def _advised(s: Shop, cylinder: int) -> Result | None:
    """What the app says to set for the bore in hand; None where the bar is done with it."""
    found = s.results("cut")
    alarm = next(
        (r for r in found if r.key.startswith(("cut.over", "cut.impossible", "cut.slip", "cut.nothing"))), None
    )
    if alarm is not None or any(r.verdict == Verdict.STOP for r in found):
        raise HeldError(str(alarm.line if alarm is not None else found[0].line))
    return next((r for r in found if r.key in (f"cut.setting.{cylinder}", f"cut.trial.{cylinder}")), None)


class Bar(NamedTuple):
    """The truth of a bar: what it adds to its setting, and how its cuts spread, mm."""

    bias: float
    spread: float
    misset: Callable[[Hand, int, float], float] | None = None


def boring(s: Shop, bar: Bar | None = None, stray: Callable[[Shop, int], float] | None = None) -> None:
    """The first two bores are bored as the app says. ``stray`` is what a measured size is off by, by pass."""
    settled(s)
    bar = Bar(s.rng.gauss(0.0, 0.02), 0.004) if bar is None else bar
    s.hand.enter("cut.block", s.w.block_c)
    s.hand.enter("cut.zero_temperature", s.w.block_c)
    grown = 1 + (s.w.alpha - 11.5e-6) * (s.w.block_c - 20)
    for c in sorted(s.pistons)[:2]:
        size = s.w.bores[c - 1].unworn
        for n in range(1, 8):
            told = _advised(s, c)
            if told is None:
                break
            advised = told.reading_mm if isinstance(told, NextSetting) else told.value.value
            made = advised if bar.misset is None else bar.misset(s.hand, n, advised)
            s.hand.enter("cut.setting", made, cylinder=c, **{"pass": n})
            if bar.misset is None and s.hand.slip is not None and getattr(s.hand.slip, "so_set", False):
                made = s.hand.number(s.hand.typed[-1][2])
            _advised_or_alarm(s)
            size = max(size, (made + bar.bias + s.rng.gauss(0, bar.spread)) / grown)
            if size > s.finished(c) - LEAST_HONE:
                raise WrongGoError
            shown = size * grown + s.rng.gauss(0, 0.0015) + (stray(s, n) if stray is not None else 0.0)
            s.hand.enter("cut.measured", shown, cylinder=c, **{"pass": n})


def _advised_or_alarm(s: Shop) -> None:
    for r in s.results("cut"):
        if r.key.startswith(("cut.over", "cut.nothing", "cut.impossible")):
            raise HeldError(str(r.line))


# -- honing ---------------------------------------------------------------------------------------
def bored(s: Shop, cylinder: int) -> float:
    """Log a well-made last pass; gives the size the bar left."""
    size = s.finished(cylinder) - STOCK + s.rng.gauss(0, 0.006)
    s.hand.plainly("cut.setting", size - 0.01, cylinder=cylinder, **{"pass": 1})
    s.hand.plainly("cut.measured", size + s.rng.gauss(0, 0.002), cylinder=cylinder, **{"pass": 1})
    return size


def honing(s: Shop, stray: Callable[[Shop, int], float] | None = None, warm: bool = True, made: float = 1.0) -> None:
    """The first bore is honed with one grit until the app says stop.

    ``stray`` is what all sizes of a check are off by, ``made`` how many double strokes each counted one is.
    """
    settled(s)
    s.hand.plainly("hone.grit1", 280)
    sizes_bored = {c: bored(s, c) for c in s.pistons}
    c = 1
    size, rate = sizes_bored[c], s.rng.uniform(0.0006, 0.002)
    shape = [s.rng.gauss(0, 0.0015) for _ in range(3)]
    strokes = 0
    for n in range(1, 16):
        hot = s.rng.uniform(1, 6) if n > 1 else 0.0
        off = stray(s, n) if stray is not None else 0.0
        if n > 1:
            s.hand.enter("hone.strokes", strokes, cylinder=c, check=n)
        if hot and warm:
            s.hand.enter("hone.temperature", 20.0 + round(hot), cylinder=c, check=n)
        for d in range(1, 4):
            shown = (size + shape[d - 1]) * (1 + 11e-6 * hot) + s.rng.gauss(0, 0.0015) + off
            s.hand.enter("hone.size", shown, cylinder=c, check=n, depth=d)
        found = s.results("hone")
        now = next(r for r in found if r.key == f"hone.progress.{c}")
        if now.verdict == Verdict.STOP:
            raise HeldError(str(now.line))
        strokes = now.next_strokes
        if strokes == 0:
            break
        size += rate * made * strokes * s.rng.lognormvariate(0, 0.12)
        if size > s.finished(c) + LIMIT + GRACE:
            raise WrongGoError
    # a bore that is stopped too small is honed on after the final check: nothing is lost


# -- the final check ------------------------------------------------------------------------------
def _made(s: Shop, cylinder: int, bad: bool) -> dict[tuple[int, str], float]:
    """A finished bore's truth by depth and axis; a bad one is out in size, roundness or taper."""
    rng = s.rng
    level, oval, taper = rng.gauss(0, 0.003), rng.gauss(0, 0.0015), rng.gauss(0, 0.002)
    if bad:
        which = rng.randrange(4)
        level += (0.0, 0.0, rng.uniform(0.022, 0.05), -rng.uniform(0.022, 0.05))[which]
        oval, taper = (
            (rng.uniform(0.025, 0.04) if which == 0 else oval),
            (rng.uniform(0.025, 0.04) if which == 1 else taper),
        )
    return {
        (d, axis): s.finished(cylinder) + level + (d - 2) * taper / 2 + (oval / 2 if axis == "thrust" else -oval / 2)
        for d in (1, 2, 3)
        for axis in ("thrust", "crank")
    }


def _out(true: dict[tuple[int, str], float], target: float) -> bool:
    rounds = [abs(true[d, "thrust"] - true[d, "crank"]) for d in (1, 2, 3)]
    tapers = [abs(true[3, a] - true[1, a]) for a in ("thrust", "crank")]
    worst = max(abs(x - target) for x in true.values())
    return worst > LIMIT + GRACE or max(rounds + tapers) > LIMIT + GRACE


class Finals(NamedTuple):
    """What goes on beside the typing: how much warmer the block is than said, the ring's true size less the one typed,
    a change of all texts before they are typed, and whether the bores were honed after they were read."""

    hotter: float = 0.0
    ring: Callable[[Shop], float] | None = None
    pages: Callable[[dict[tuple[int, int, str], float], Shop], None] | None = None
    honed_after: bool = False


_PLAIN = Finals()


def _honed(s: Shop, true: dict[int, dict[tuple[int, str], float]]) -> None:
    """Log the hone's checks that brought the bores to what they are."""
    for c, bore in true.items():
        start = bored(s, c)
        for n, strokes in ((1, 0), (2, 20), (3, 20)):
            mean = start + (sum(bore.values()) / 6 - start) * (n - 1) / 2
            if strokes:
                s.hand.plainly("hone.strokes", strokes, cylinder=c, check=n)
            for d in (1, 2, 3):
                here = mean if n < 3 else (bore[d, "thrust"] + bore[d, "crank"]) / 2
                s.hand.plainly("hone.size", here + s.rng.gauss(0, 0.0015), cylinder=c, check=n, depth=d)


def final(s: Shop, about: Finals = _PLAIN, bad: bool = True) -> None:
    """Every bore is read at three depths and on two axes, one of them truly out if ``bad``; then judged.

    A yes is that of the step: of every bore.
    """
    settled(s)
    w, job = s.w, s.job
    out = s.rng.choice(sorted(s.pistons)) if bad else 0
    true = {c: _made(s, c, c == out) for c in s.pistons}
    s.hand.plainly("hone.grit1", 280)
    if s.rng.random() < 0.8:
        _honed(s, true)
    job.put(FIELDS["final.washed"], "yes")
    ring = round(s.finished(1), 2) if not w.inch else round(s.finished(1) / 25.4, 3) * 25.4
    off = about.ring(s) if about.ring is not None else 0.0
    block = round(s.rng.uniform(10, 28))
    s.hand.enter("final.zero", ring)
    s.hand.enter("final.block_temperature", block)
    s.hand.enter("final.zero_temperature", block)
    s.hand.plainly("final.division", 0.00254 if w.inch else 0.001)
    texts: dict[tuple[int, int, str], float] = {}
    for c, bore in true.items():
        for (d, axis), x in bore.items():
            shrunk = x - (STOCK * 0.5 if about.honed_after else 0.0)
            warm = shrunk * (1 + 11e-6 * (block + about.hotter - 20)) - (ring + off) * (1 + 11.5e-6 * (block - 20))
            texts[c, d, axis] = warm + s.rng.gauss(0, 0.002)
    if about.pages is not None:
        about.pages(texts, s)
    for (c, d, axis), value in texts.items():
        s.hand.enter("final.reading", value, cylinder=c, depth=d, axis=axis)
    judged = [r for r in s.results("final") if getattr(r, "cylinder", None) in true]
    if all(r.verdict == Verdict.GO for r in judged) and any(_out(true[c], s.finished(c)) for c in true):
        raise WrongGoError


# -- rings ----------------------------------------------------------------------------------------
def ringing(s: Shop) -> None:
    """Every ring is tried in its bore; one may be truly too tight."""
    settled(s)
    least = {1: 0.0040 * s.w.nominal, 2: 0.0045 * s.w.nominal}
    made = {n: least[n] + s.rng.uniform(0.06, 0.12) for n in (1, 2)}
    tight = s.rng.choice([(c, n) for c in s.pistons for n in (1, 2)]) if s.rng.random() < 0.5 else None
    true = {(c, n): made[n] + s.rng.gauss(0, 0.015) for c in s.pistons for n in (1, 2)}
    if tight is not None:
        true[tight] = least[tight[1]] - s.rng.uniform(0.07, 0.2)
    for (c, n), gap in true.items():
        s.hand.enter("rings.gap", round(gap / 0.0254) * 0.0254, cylinder=c, ring=n)
    for r in s.results("rings"):
        at = getattr(r, "cylinder", None), getattr(r, "ring", None)
        if r.verdict == Verdict.GO and at in true and true[at] < least[at[1]] - 0.035:
            raise WrongGoError


# -- slips of the hand ----------------------------------------------------------------------------
class Maker(NamedTuple):
    """Makes a slip at random; ``keys`` are the fields whose texts it changes."""

    keys: tuple[str, ...]
    make: Callable[[random.Random], Change]

    def __call__(self, rng: random.Random) -> Change:
        return self.make(rng)


def only(key: str, change: Callable[[Hand, str], str], nth: int | None = None, so_set: bool = False) -> Maker:
    """Changes one typing of a field: the ``nth`` (from 1), or one of the first six."""

    def chosen(rng: random.Random) -> Change:
        which = rng.randint(1, 6) if nth is None else nth
        done: list[bool] = []

        def slip(hand: Hand, now: str, at: dict[str, Any], text: str) -> str:
            if now != key or done or hand.times(key) + 1 < which:
                return text
            changed = change(hand, text)
            if changed != text:
                done.append(True)
            return changed

        slip.so_set = so_set  # type: ignore[attr-defined]
        return slip

    return Maker((key,), chosen)


def every(key: str, change: Callable[[Hand, str], str]) -> Maker:
    """Changes each typing of a field."""
    return Maker((key,), lambda rng: lambda hand, now, at, text: change(hand, text) if now == key else text)


def swapped(hand: Hand, text: str) -> str:
    spots = [i for i in range(len(text) - 1) if text[i].isdigit() and text[i + 1].isdigit() and text[i] != text[i + 1]]
    if not spots:
        return text
    i = hand.w.rng.choice(spots)
    return text[:i] + text[i + 1] + text[i] + text[i + 2 :]


def repeated(hand: Hand, text: str) -> str:
    spots = [i for i in range(len(text)) if text[i].isdigit()]
    i = hand.w.rng.choice(spots)
    return text[: i + 1] + text[i] + text[i + 1 :]


def one_digit(hand: Hand, text: str) -> str:
    """One digit misread by one or two."""
    spots = [i for i in range(len(text)) if text[i].isdigit()][-3:]
    i = hand.w.rng.choice(spots)
    return text[:i] + str((int(text[i]) + hand.w.rng.choice((1, 2, 8, 9))) % 10) + text[i + 1 :]


def ten_times(hand: Hand, text: str) -> str:
    number, *unit = text.split()
    return " ".join((f"{float(number) * (10 if hand.w.rng.random() < 0.5 else 0.1):.5g}", *unit))


def other_unit(hand: Hand, text: str) -> str:
    return f"{float(text) * 25.4:.3f}" if hand.w.inch else f"{float(text) / 25.4:.4f}"


def other_dial(hand: Hand, text: str) -> str:
    """Deviations: millimetres among thou, and the reverse."""
    return f"{float(text) * 0.0254:+.3f}" if hand.w.inch else f"{float(text) / 0.0254:+.1f}"


def other_fine(hand: Hand, text: str) -> str:
    return f"{float(text) * 0.0254:.3f}" if hand.w.inch else f"{float(text) / 25.4:.2f}"


def scale(hand: Hand, text: str) -> str:
    return f"{float(text) * 1.8 + 32:.0f}"


def sign(hand: Hand, text: str) -> str:
    return ("-" if text[0] == "+" else "+") + text.lstrip("+-")


def before(key: str) -> Maker:
    """One typing repeats the one before it of the same field: a value left standing, or read off the line above."""

    def change(hand: Hand, text: str) -> str:
        old = [t for k, _, t in hand.typed if k == key]
        return old[-1] if old else text

    return only(key, change)


def whole_check_before(rng: random.Random) -> Change:
    """The sizes of the check before are entered once more: the bore was not measured."""
    which = rng.randint(2, 4)

    def slip(hand: Hand, now: str, at: dict[str, Any], text: str) -> str:
        if now != "hone.size" or at["check"] != which:
            return text
        return next(t for k, a, t in hand.typed if k == now and a["check"] == which - 1 and a["depth"] == at["depth"])

    return slip


def measured_is_set(rng: random.Random) -> Change:
    """The setting is entered again as the measured size."""
    return only("cut.measured", lambda hand, text: next(t for k, _, t in reversed(hand.typed) if k == "cut.setting"))(
        rng
    )


def wrong_ring(s: Shop) -> float:
    return s.rng.choice((-1, 1)) * s.rng.choice((0.0254, 0.127, 0.254, 0.508) if s.w.inch else (0.02, 0.1, 0.25, 0.5))


def stray_in(first: int, last: int, by: Callable[[Shop], float]) -> Callable[[Shop, int], float]:
    """All sizes from pass or check ``first`` to ``last`` are off by one amount."""
    kept: list[float] = []

    def stray(s: Shop, n: int) -> float:
        if not kept:
            kept.append(by(s))
        return kept[0] if first <= n <= last else 0.0

    return stray


def bias_again(hand: Hand, n: int, advised: float) -> float:
    """The bias is taken off once more by hand, or with the wrong sign."""
    return advised + hand.w.rng.choice((-1, 1)) * 0.03


def exchanged(texts: dict[tuple[int, int, str], float], s: Shop) -> None:
    """Two cylinders' readings under each other's number."""
    if len(s.pistons) < 2:
        return
    a, b = s.rng.sample(sorted(s.pistons), 2)
    for c, d, axis in list(texts):
        if c == a:
            texts[a, d, axis], texts[b, d, axis] = texts[b, d, axis], texts[a, d, axis]


def copied(texts: dict[tuple[int, int, str], float], s: Shop) -> None:
    """One cylinder's readings entered for another."""
    if len(s.pistons) < 2:
        return
    a, b = s.rng.sample(sorted(s.pistons), 2)
    for c, d, axis in list(texts):
        if c == a:
            texts[a, d, axis] = texts[b, d, axis]


def one_cell(texts: dict[tuple[int, int, str], float], s: Shop) -> None:
    """Two readings in each other's cell."""
    a, b = s.rng.sample(sorted(texts), 2)
    texts[a], texts[b] = texts[b], texts[a]


class Kind(NamedTuple):
    """A stage, what slips there, and what else goes wrong beside the typing."""

    stage: Callable[..., None]
    slip: Maker | None = None
    more: Callable[[], dict[str, Any]] = dict
    wrong: tuple[str, ...] = ()

    @property
    def keys(self) -> tuple[str, ...]:
        """The fields that are typed wrong: by the slip, or by what else goes wrong (``wrong``)."""
        return (() if self.slip is None else self.slip.keys) + self.wrong


SLIPS: dict[str, Kind] = {
    "piston, digits swapped": Kind(sizes, only("sizes.piston", swapped)),
    "piston, one digit misread": Kind(sizes, only("sizes.piston", one_digit)),
    "piston, other unit": Kind(sizes, only("sizes.piston", other_unit)),
    "piston of the line above": Kind(sizes, before("sizes.piston")),
    "all pistons of another step": Kind(
        sizes,
        every("sizes.piston", lambda h, t: h.text(FIELDS["sizes.piston"], h.number(t) + (0.254 if h.w.inch else 0.25))),
    ),
    "clearance, digits swapped": Kind(sizes, only("sizes.clearance", swapped, 1)),
    "clearance, ten times": Kind(sizes, only("sizes.clearance", ten_times, 1)),
    "clearance, other unit": Kind(sizes, only("sizes.clearance", other_fine, 1)),
    "clearance, one digit misread": Kind(sizes, only("sizes.clearance", one_digit, 1)),
    "piston temperature, other scale": Kind(sizes, only("sizes.piston_temperature", scale, 1)),
    "setting typed wrong, digits swapped": Kind(boring, only("cut.setting", swapped)),
    "setting typed wrong, one digit": Kind(boring, only("cut.setting", one_digit)),
    "set wrong, digits swapped": Kind(boring, only("cut.setting", swapped, so_set=True)),
    "set wrong, one digit": Kind(boring, only("cut.setting", one_digit, so_set=True)),
    "setting of the pass before": Kind(boring, before("cut.setting")),
    "setting, other unit": Kind(boring, only("cut.setting", other_unit)),
    "bored size, digits swapped": Kind(boring, only("cut.measured", swapped)),
    "bored size, one digit misread": Kind(boring, only("cut.measured", one_digit)),
    "bored size of the pass before": Kind(boring, before("cut.measured")),
    "bored size, other unit": Kind(boring, only("cut.measured", other_unit)),
    "setting entered as bored size": Kind(boring, Maker(("cut.measured",), measured_is_set)),
    "bored size, gauge on a wrong ring": Kind(
        boring, more=lambda: {"stray": stray_in(1, 9, wrong_ring)}, wrong=("cut.measured",)
    ),
    "bored size, wrong ring from pass 2": Kind(
        boring, more=lambda: {"stray": stray_in(2, 9, wrong_ring)}, wrong=("cut.measured",)
    ),
    "bias taken off twice or added": Kind(
        boring, more=lambda: {"bar": Bar(0.015, 0.004, bias_again)}, wrong=("cut.measured",)
    ),
    "cut, block's temperature, other scale": Kind(boring, only("cut.block", scale, 1)),
    "cut, ring's temperature, other scale": Kind(boring, only("cut.zero_temperature", scale, 1)),
    "hone size, digits swapped": Kind(honing, only("hone.size", swapped)),
    "hone size, one digit misread": Kind(honing, only("hone.size", one_digit)),
    "hone size, other unit": Kind(honing, only("hone.size", other_unit)),
    "hone check of before again": Kind(honing, Maker(("hone.size",), whole_check_before)),
    "hone gauge on a wrong ring": Kind(
        honing, more=lambda: {"stray": stray_in(1, 99, wrong_ring)}, wrong=("hone.size",)
    ),
    "hone, wrong ring from check 2": Kind(
        honing, more=lambda: {"stray": stray_in(2, 99, wrong_ring)}, wrong=("hone.size",)
    ),
    "hone strokes ten times": Kind(honing, only("hone.strokes", ten_times)),
    "hone strokes, digit repeated": Kind(honing, only("hone.strokes", repeated)),
    "hone strokes, digits swapped": Kind(honing, only("hone.strokes", swapped)),
    "hone strokes, down and up as two": Kind(honing, more=lambda: {"made": 0.5}, wrong=("hone.size",)),
    "hone, bore warm and not said": Kind(honing, more=lambda: {"warm": False}, wrong=("hone.size",)),
    "hone temperature, other scale": Kind(honing, only("hone.temperature", scale)),
    "final, digits swapped": Kind(final, only("final.reading", swapped)),
    "final, digit repeated": Kind(final, only("final.reading", repeated)),
    "final, sign": Kind(final, only("final.reading", sign)),
    "final, sign, all readings": Kind(final, every("final.reading", sign)),
    "final, ten times": Kind(final, only("final.reading", ten_times)),
    "final, tenths for thou, all": Kind(final, every("final.reading", lambda h, t: f"{float(t) / 10:+.3f}")),
    "final, other unit": Kind(final, only("final.reading", other_dial)),
    "final, other unit, all": Kind(final, every("final.reading", other_dial)),
    "final, wrong ring": Kind(final, more=lambda: {"about": Finals(ring=wrong_ring)}, wrong=("final.reading",)),
    "final, zero's digits swapped": Kind(final, only("final.zero", swapped, 1)),
    "final, zero one digit misread": Kind(final, only("final.zero", one_digit, 1)),
    "final, block warm and not said": Kind(
        final, more=lambda: {"about": Finals(hotter=15.0)}, wrong=("final.reading",)
    ),
    "final, temperature, other scale": Kind(final, only("final.block_temperature", scale, 1)),
    "final, two cylinders exchanged": Kind(
        final, more=lambda: {"about": Finals(pages=exchanged)}, wrong=("final.reading",)
    ),
    "final, one cylinder copied": Kind(final, more=lambda: {"about": Finals(pages=copied)}, wrong=("final.reading",)),
    "final, wrong cell": Kind(final, more=lambda: {"about": Finals(pages=one_cell)}, wrong=("final.reading",)),
    "final, read before the last honing": Kind(
        final, more=lambda: {"about": Finals(honed_after=True)}, wrong=("final.reading",)
    ),
    "ring gap, digits swapped": Kind(ringing, only("rings.gap", swapped)),
    "ring gap, one digit misread": Kind(ringing, only("rings.gap", one_digit)),
    "ring gap, ten times": Kind(ringing, only("rings.gap", ten_times)),
    "ring gap of the line above": Kind(ringing, before("rings.gap")),
}
#: The same work without a slip, by name.
CLEAN: dict[str, Callable[..., None]] = {
    "sizes": sizes,
    "boring": boring,
    "honing": honing,
    "final": lambda s: final(s, bad=False),
    "final, one bore out": final,
    "rings": ringing,
}


class Outcome(NamedTuple):
    """ "asked", "held", "harmless" or "wrong go", and what was said."""

    what: str
    said: str = ""


def outcome(stage: Callable[..., None], rng: random.Random, slip: Change | None = None, **more: Any) -> Outcome:
    """One job worked through one stage."""
    shop = decided(rng, slip)
    try:
        stage(shop, **more)
    except AskedError as question:
        return Outcome("asked", str(question))
    except HeldError as held:
        return Outcome("held", str(held))
    except WrongGoError:
        return Outcome("wrong go")
    return Outcome("harmless")


class Watched:
    """A slip of the hand that knows whether it changed anything: in a job of one cylinder nothing is exchanged."""

    def __init__(self, slip: Change) -> None:
        self._slip, self.so_set = slip, getattr(slip, "so_set", False)
        self.made: list[str] = []

    def __call__(self, hand: Hand, key: str, at: dict[str, Any], text: str) -> str:
        changed = self._slip(hand, key, at, text)
        if changed != text:
            self.made.append(f"{key} {at}: {text!r} became {changed!r}")
        return changed


def one(kind: Kind, name: str, i: int, seed: int) -> tuple[Outcome, str] | None:
    """The ``i``-th job with one kind of slip, and what slipped; None where the slip changed nothing there."""
    rng = random.Random(f"{seed}/{name}/{i}")
    slip = None if kind.slip is None else Watched(kind.slip(rng))
    found = outcome(kind.stage, rng, slip, **kind.more())
    if slip is not None and not slip.made:
        return None
    return found, "; ".join(slip.made if slip is not None else ())


def tried(
    name: str, per_kind: int, seed: int = 1, kinds: Mapping[str, Kind] | None = None, wrong: list[str] | None = None
) -> Counter[str]:
    """What became of so many jobs with one kind of slip, those in which it changed something; ``wrong`` gathers what
    slipped where a yes stood all the same."""
    kind, counts = (SLIPS if kinds is None else kinds)[name], Counter[str]()
    for i in range(8 * per_kind):
        found = one(kind, name, i, seed)
        if found is None:
            continue
        counts[found[0].what] += 1
        if wrong is not None and found[0].what == "wrong go":
            wrong.append(f"{name}: {found[1]}")
        if counts.total() == per_kind:
            break
    return counts


def clean(
    per_stage: int, seed: int = 1, stages: Mapping[str, Callable[..., None]] | None = None
) -> tuple[Counter[str], list[str]]:
    """What became of jobs without a slip, and what was asked in them."""
    counts, said = Counter[str](), []
    for name, stage in (CLEAN if stages is None else stages).items():
        for i in range(per_stage):
            found = outcome(stage, random.Random(f"{seed}/clean/{name}/{i}"))
            needless = found.what in ("asked", "held")
            counts["asked" if needless else found.what] += 1
            if needless:
                said.append(f"{name}: {found.said}")
    return counts, said


def table(kinds: Mapping[str, Kind], per_kind: int, seed: int = 1) -> tuple[Counter[str], list[str]]:
    """Print what became of each kind of slip; gives the sums, and what slipped where a yes stood all the same."""
    names, total, wrong = ("asked", "held", "harmless", "wrong go"), Counter[str](), list[str]()
    print(f"{'slip':40}" + "".join(f"{n:>10}" for n in names))
    for name in kinds:
        counts = tried(name, per_kind, seed, kinds, wrong)
        total.update(counts)
        shares = (100 * counts[n] / max(1, counts.total()) for n in names)
        print(f"{name:40}" + "".join(f"{share:9.1f}%" for share in shares), flush=True)
    return total, wrong


def campaign(kinds: Mapping[str, Kind], stages: Mapping[str, Callable[..., None]], doc: str) -> None:
    """The command line of a campaign: its table by kind, what slipped through, and the clean jobs."""
    reader = argparse.ArgumentParser(description=doc.splitlines()[0])
    reader.add_argument("jobs", nargs="?", type=int, default=20, help="jobs for each kind of slip")
    reader.add_argument("only", nargs="?", default="", help="kinds whose name holds this")
    reader.add_argument("--seed", type=int, default=1, help="another seed gives other jobs")
    given = reader.parse_args()
    total, wrong = table({n: k for n, k in kinds.items() if given.only in n}, given.jobs, given.seed)
    n = total.total()
    low, high = wilson(total["wrong go"], n)
    share = 100 * total["wrong go"] / max(1, n)
    print(f"\nwrong go: {share:.2f} % of {n} slipped jobs ({100 * low:.2f} to {100 * high:.2f})")
    for line in wrong[:20]:
        print("  ", line)
    counts, said = clean(4 * given.jobs, given.seed, stages)
    n = counts.total()
    low, high = wilson(counts["asked"], n)
    print(
        f"needless questions: {100 * counts['asked'] / n:.2f} % of {n} clean jobs ({100 * low:.2f} to {100 * high:.2f});"
        f" wrong go in {100 * counts['wrong go'] / n:.2f} %"
    )
    for line in said[:20]:
        print("  ", line)


def main() -> None:
    campaign(SLIPS, CLEAN, __doc__ or "")


if __name__ == "__main__":
    main()
