"""Human slips in what is swept, chamfered and gapped: the centring, the dial of the chamfer tool, the ring maker's limits.

As in :mod:`tests.bench.slips_after`, with which this is run. A bore's wall is known here all round, and where the
spindle truly stands in it: a yes is a *wrong go* where boring there, to the size decided on, would leave worn metal.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import Any, NamedTuple

from logic.result import Verdict
from store.documents import Decision
from tests.bench.slips import FIELDS, STOCK, TURNS_MM, Bore
from tests.bench.slips_after import (
    Change,
    Hand,
    HeldError,
    Kind,
    Maker,
    Shop,
    WrongGoError,
    before,
    campaign,
    every,
    one_digit,
    only,
    other_dial,
    other_fine,
    other_unit,
    repeated,
    settled,
    sign,
    swapped,
    ten_times,
)
from tests.bench.slips_more import other

__all__ = ["CLEAN", "SLIPS"]

Pair = tuple[float, float]
#: Readings of one round of sweeping, mm over the indicator's zero, by cylinder, depth and angle.
Swept = dict[tuple[int, int, int], float]


def said(s: Shop, key: str, value: str, **at: Any) -> None:
    """A choice, tapped by the hand that slips."""
    s.job.put(FIELDS[key], value if s.hand.slip is None else s.hand.slip(s.hand, key, at, value), **at)


# -- the sweep --------------------------------------------------------------------------------------
class Wall(NamedTuple):
    """A worn bore all round, mm: its truth, and the side that wore more (90 the left, 270 the right)."""

    bore: Bore
    side: int

    def out(self, depth_mm: float, angle: float) -> float:
        """How far the wall stands from the unworn axis."""
        worn = self.bore.d(depth_mm, "thrust") - self.bore.unworn
        one = math.radians(angle - self.side)
        level, oval = worn / 4 * (1 + self.bore.crank), worn / 4 * (1 - self.bore.crank)
        return self.bore.unworn / 2 + level + (self.bore.share - 0.5) * worn * math.cos(one) + oval * math.cos(2 * one)

    def reads(self, depth_mm: float, angle: int, spindle: Pair) -> float:
        """How far the wall stands from the spindle's axis."""
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        along, beside = spindle[0] * c + spindle[1] * s, spindle[1] * c - spindle[0] * s
        return self.out(depth_mm, angle) - along - beside * beside / self.bore.unworn

    def needs(self, spindle: Pair) -> float:
        """The diameter that cleans it up about an axis."""
        worst = self.bore.top + 0.01
        points = ((self.out(worst, a), math.radians(a)) for a in range(0, 360, 5))
        return 2 * max(math.hypot(r * math.cos(t) - spindle[0], r * math.sin(t) - spindle[1]) for r, t in points)

    def least(self) -> float:
        """The smallest diameter that cleans it up, about whatever axis."""
        return min(self.needs((0.0, y * 0.005 * (1 if self.side == 90 else -1))) for y in range(80))


class Sweeps(NamedTuple):
    """What goes on beside the typing: how a round's values are changed before they are typed, and how far the spindle
    is knocked between two depths."""

    pages: Callable[[Swept, Shop], None] | None = None
    knocked: float = 0.0


_PLAIN = Sweeps()


def sweeping(s: Shop, about: Sweeps = _PLAIN) -> None:
    """One or two bores are swept, once or until the spindle stands right, moved as told; then the oversize is asked for."""
    rng, w = s.rng, s.w
    s.job.entries = [e for e in s.job.entries if not isinstance(e, Decision)]
    walls = {c: Wall(b, rng.choice((90, 270))) for c, b in enumerate(w.bores[:2], 1)}
    spindle = {c: (rng.gauss(0, 0.08), rng.gauss(0, 0.08)) for c in walls}
    dial = Dial(1.0 if rng.random() < 0.7 else -1.0, rng.choice((4, 8, 8, 8, 12)), about.knocked)
    said(s, "sweep.round", str(dial.places))
    said(s, "sweep.sign", "up" if dial.counts > 0 else "down")
    zeros = {c: b.bore.unworn + rng.uniform(0.0, 0.3) for c, b in walls.items()}
    _zeros(s, zeros)
    left = set(walls)
    for _ in range(rng.choice((1, 3))):  # half of them sweep once, for the oversize
        values: Swept = {}
        for c in sorted(left):
            spindle[c] = _read(s, (c, walls[c], zeros[c]), spindle[c], dial, values)
        if about.pages is not None:
            about.pages(values, s)
        for (c, d, a), value in values.items():
            s.hand.enter("sweep.reading", value, cylinder=c, depth=d, angle=a)
        left = _moved(s, left, spindle)
        if not left:
            break
    _stepped(s, walls, {c: at for c, at in spindle.items() if c not in left})


class Dial(NamedTuple):
    """An indicator: which way it counts, how many places are read round the bore, and how far its spindle is knocked
    between two depths, mm."""

    counts: float
    places: int
    knocked: float


def _read(s: Shop, bore: tuple[int, Wall, float], at: Pair, dial: Dial, values: Swept) -> Pair:
    """Read one bore, (number, wall, diameter at the zero), at two depths into ``values``; gives where the spindle stands then."""
    c, wall, zero = bore
    for d in (1, 3):
        if d == 3 and dial.knocked:
            turn = s.rng.uniform(0, 2 * math.pi)
            at = (at[0] + dial.knocked * math.cos(turn), at[1] + dial.knocked * math.sin(turn))
        for a in range(0, 360, 360 // dial.places):
            far = wall.reads(s.w.depths[d - 1], a, at) + s.rng.gauss(0, s.w.noise)
            values[c, d, a] = dial.counts * (far - zero / 2)
    return at


def _moved(s: Shop, left: set[int], spindle: dict[int, Pair]) -> set[int]:
    """Move the spindle as the sweep says of each bore where it does not stand right; gives those."""
    still = set(left)
    for r in s.results("sweep"):
        c = r.cylinder  # type: ignore[attr-defined]
        if r.verdict in (Verdict.STOP, Verdict.MAYBE):
            raise HeldError(str(r.line))
        if r.verdict == Verdict.GO:
            still.discard(c)
        elif c in still:
            x, y = r.centre_mm  # type: ignore[attr-defined]
            spindle[c] = (spindle[c][0] + x + s.rng.gauss(0, 0.001), spindle[c][1] + y + s.rng.gauss(0, 0.001))
    return still


def _stepped(s: Shop, walls: dict[int, Wall], stands: dict[int, Pair]) -> None:
    """The oversize advised against what each bore needs where its spindle stands, if it stands right; else at the least:
    there it is to be swept again before it is bored."""
    found: Any = s.results("oversize")[0]
    if found.verdict != Verdict.GO or found.step_mm is None:
        return
    if found.step_mm == 0.0:  # honed only: the present pistons must still fit
        if any(wall.bore.wear > 0.0508 + 0.02 for wall in walls.values()):
            raise WrongGoError
        return
    cut = s.w.nominal + found.step_mm - STOCK + 0.012
    if any((wall.needs(stands[c]) if c in stands else wall.least()) > cut for c, wall in walls.items()):
        raise WrongGoError


def _zeros(s: Shop, zeros: dict[int, float]) -> None:
    """The diameter at the indicator's zero: typed, from the gap beside the spindle, or left to the bore gauge."""
    rng, w = s.rng, s.w
    warm = (1 + w.alpha * (w.block_c - 20)) / (1 + 11.5e-6 * (w.block_c - 20))
    way = rng.random()
    if way < 0.5:
        for c, zero in zeros.items():
            s.hand.enter("sweep.zero", zero * warm + rng.gauss(0, 0.006), cylinder=c)
    elif way < 0.8:
        thick = 50.8 if w.inch else 50.0
        s.hand.enter("sweep.spindle_diameter", thick)
        for c, zero in zeros.items():
            s.hand.enter("sweep.gap", (zero * warm - thick) / 2 + rng.gauss(0, 0.003), cylinder=c)


def turn(hand: Hand, text: str) -> str:
    """One turn of the dial."""
    v = float(text) * (0.0254 if hand.w.inch else 1.0) + hand.w.rng.choice((-1, 1)) * hand.w.rng.choice(TURNS_MM)
    return f"{v / 0.0254:+.1f}" if hand.w.inch else f"{v:+.3f}"


def full(hand: Hand, text: str) -> str:
    """The whole diameter there, where the indicator's deviation is wanted."""
    d = hand.w.zero + 2 * float(text) * (0.0254 if hand.w.inch else 1.0)
    return f"{d / 25.4:.4f}" if hand.w.inch else f"{d:.3f}"


def doubled(hand: Hand, text: str) -> str:
    """A diameter for a radius."""
    return f"{2 * float(text):.5g}"


def halved(hand: Hand, text: str) -> str:
    """A radius for a diameter."""
    return f"{float(text) / 2:.5g}"


def one_of(key: str, change: Callable[[Hand, str], str], among: int = 32) -> Maker:
    """Changes one typing among the first so many of a field."""
    return Maker((key,), lambda rng: only(key, change, rng.randint(1, among))(rng))


def _ring(values: Swept, s: Shop) -> tuple[int, int]:
    return s.rng.choice(sorted({(c, d) for c, d, _ in values}))


def _turned(values: Swept, c: int, d: int, back: bool, by: int) -> None:
    angles = sorted(a for k, n, a in values if (k, n) == (c, d))
    old = [values[c, d, a] for a in angles]
    order = [(-i if back else i) - by for i in range(len(angles))]
    for a, i in zip(angles, order, strict=True):
        values[c, d, a] = old[i % len(angles)]


def ring_order(back: bool = False, by: float = 0.0, whole: bool = True) -> Callable[[Swept, Shop], None]:
    """The order round the bore reversed, or begun ``by`` of a turn (0: one place) from where it should; in every ring, or
    in one."""

    def pages(values: Swept, s: Shop) -> None:
        rings = sorted({(c, d) for c, d, _ in values})
        for c, d in rings if whole else [s.rng.choice(rings)]:
            n = sum((k, m) == (c, d) for k, m, _ in values)
            _turned(values, c, d, back, 0 if back else round(by * n) or 1)

    return pages


def depth_copied(values: Swept, s: Shop) -> None:
    """The values of one depth entered for the other."""
    c, d = _ring(values, s)
    for k, m, a in list(values):
        if (k, m) == (c, d):
            values[c, d, a] = values[c, 4 - d, a]


def depths_exchanged(values: Swept, s: Shop) -> None:
    """The two depths under each other's heading."""
    c, _ = _ring(values, s)
    for k, m, a in list(values):
        if k == c and m == 1:
            values[c, 1, a], values[c, 3, a] = values[c, 3, a], values[c, 1, a]


def cylinders_exchanged(values: Swept, s: Shop) -> None:
    """Two cylinders' values under each other's number."""
    if {c for c, _, _ in values} == {1, 2}:
        for c, d, a in list(values):
            if c == 1:
                values[1, d, a], values[2, d, a] = values[2, d, a], values[1, d, a]


def cylinder_copied(values: Swept, s: Shop) -> None:
    """One cylinder's values entered for the other."""
    if {c for c, _, _ in values} == {1, 2}:
        for c, d, a in list(values):
            if c == 2:
                values[c, d, a] = values[1, d, a]


def turn_on_the_way(values: Swept, s: Shop) -> None:
    """The needle goes round once unseen, from one place of a ring on."""
    c, d = _ring(values, s)
    angles = sorted(a for k, m, a in values if (k, m) == (c, d))
    first, by = s.rng.randrange(1, len(angles)), s.rng.choice((-1, 1)) * s.rng.choice(TURNS_MM)
    for a in angles[first:]:
        values[c, d, a] += by


def turn_in_a_ring(values: Swept, s: Shop) -> None:
    """A whole depth is read a turn out."""
    c, d = _ring(values, s)
    by = s.rng.choice((-1, 1)) * s.rng.choice(TURNS_MM)
    for k, m, a in list(values):
        if (k, m) == (c, d):
            values[c, d, a] += by


def zero_moved(values: Swept, s: Shop) -> None:
    """The dial was zeroed anew between two depths."""
    c, d = _ring(values, s)
    by = -values[c, d, 0]
    for k, m, a in list(values):
        if (k, m) == (c, d):
            values[c, d, a] += by


def turn_in_all(values: Swept, s: Shop) -> None:
    """Everything is read a turn out."""
    by = s.rng.choice((-1, 1)) * s.rng.choice(TURNS_MM)
    for k in values:
        values[k] += by


def wrong_way(values: Swept, s: Shop) -> None:
    """One ring's signs are taken the other way."""
    c, d = _ring(values, s)
    for k, m, a in list(values):
        if (k, m) == (c, d):
            values[c, d, a] *= -1


# -- chamfers -----------------------------------------------------------------------------------------
def chamfered(s: Shop) -> None:
    """Every bore is chamfered from one dial datum, at times a width is measured; one may be cut too wide by the hand."""
    settled(s)
    rng, w = s.rng, s.w
    for c in s.pistons:
        size = s.finished(c) - STOCK
        s.hand.plainly("cut.setting", size - 0.01, cylinder=c, **{"pass": 1})
        s.hand.plainly("cut.measured", size + rng.gauss(0, 0.002), cylinder=c, **{"pass": 1})
    wanted = round(rng.uniform(0.5, 1.0), 2) if not w.inch else round(rng.uniform(0.5, 1.0) / 25.4, 3) * 25.4
    angle, tolerance = rng.choice((45.0, 45.0, 30.0)), 0.10
    tan = math.tan(math.radians(angle))
    s.hand.enter("chamfer.width", wanted)
    s.hand.enter("chamfer.angle", angle)
    if rng.random() < 0.4:
        s.hand.enter("chamfer.tolerance", tolerance)
    made, start = {}, rng.uniform(1.0, 6.0)
    bad = rng.choice(sorted(s.pistons)) if rng.random() < 0.4 else 0
    looks = rng.choice((1, 1, 9))  # how many of them are measured across
    for n, c in enumerate(sorted(s.pistons)):
        touch = start + (s.finished(c) - s.finished(1)) / 2 / tan + rng.gauss(0, 0.02)
        s.hand.enter("chamfer.touch", touch + rng.gauss(0, 0.01), cylinder=c)
        told = next(b for r in s.results("chamfer") for b in r.bores if b.cylinder == c).stop_mm
        off = rng.uniform(0.25, 0.5) if c == bad else 0.0
        stopped = told + rng.gauss(0, 0.01) + off
        made[c] = (stopped - touch) * tan
        s.hand.enter("chamfer.stopped", stopped, cylinder=c)
        if n < looks:
            s.hand.enter("chamfer.measured", max(0.05, made[c] + rng.gauss(0, 0.02)), cylinder=c)
    found = s.results("chamfer")[0]
    # too wide takes the gasket's land; too narrow is cut on, but for one that leads no ring in
    if found.verdict == Verdict.GO and any(m > wanted + tolerance + 0.06 or m < 0.3 for m in made.values()):
        raise WrongGoError


# -- the ring maker's limits ----------------------------------------------------------------------------
def gapped(s: Shop) -> None:
    """Every ring is tried in its bore against the maker's figures, as gaps or as shares of the bore; one may be wrong."""
    settled(s)
    rng, w = s.rng, s.w
    share = {1: rng.uniform(0.0035, 0.0055), 2: rng.uniform(0.0035, 0.0065)}
    bore = w.nominal + s.step
    least = {n: round(of * bore / 0.0254) * 0.0254 if w.inch else round(of * bore, 2) for n, of in share.items()}
    most = {n: mm + rng.choice((0.2, 0.25)) for n, mm in least.items()}
    if rng.random() < 0.6:
        for n in (1, 2):
            s.hand.enter("rings.least", least[n], ring=n)
            s.hand.enter("rings.widest", most[n], ring=n)
    else:
        s.hand.enter("rings.top_share", share[1])
        s.hand.enter("rings.second_share", share[2])
        if rng.random() < 0.5:
            s.hand.enter("rings.widest_share", 0.008)
        most = {1: 0.008 * bore, 2: 0.008 * bore}
    s.hand.enter("rings.feeler", 0.0254 if w.inch else 0.05)
    odd = rng.choice([(c, n) for c in s.pistons for n in (1, 2)]) if rng.random() < 0.6 else None
    step = 0.0254 if w.inch else 0.05
    true = {(c, n): least[n] + rng.uniform(0.05, 0.12) for c in s.pistons for n in (1, 2)}
    if odd is not None:
        true[odd] = least[odd[1]] - rng.uniform(0.07, 0.2) if rng.random() < 0.7 else most[odd[1]] + 0.15
    for (c, n), gap in true.items():
        s.hand.enter("rings.gap", max(step, math.floor(gap / step) * step), cylinder=c, ring=n)
    for r in s.results("rings"):
        at = getattr(r, "cylinder", None), getattr(r, "ring", None)
        if r.verdict != Verdict.GO or at not in true:
            continue
        if true[at] < least[at[1]] - 0.035 or true[at] > most[at[1]] + 0.06:
            raise WrongGoError


def top_and_second(key: str) -> Maker:
    """The second ring's figure entered for the top ring, and the reverse: the page's two lines taken for each other."""

    def made(rng: random.Random) -> Change:
        first: list[str] = []

        def slip(hand: Hand, now: str, at: dict[str, Any], text: str) -> str:
            if now != key:
                return text
            first.append(text)
            return text if len(first) == 1 else first[0]

        return slip

    return Maker((key,), made)


def per_hundred(hand: Hand, text: str) -> str:
    """A percentage where so many thousandths are asked."""
    return f"{float(text) / 10:.2g}"


def as_share(hand: Hand, text: str) -> str:
    """A share as a plain fraction."""
    return f"{float(text) / 1000:.4g}"


# -- slips ------------------------------------------------------------------------------------------
#: The slips of a hand that copies digits.
DIGITS: dict[str, Callable[[Hand, str], str]] = {
    "digits swapped": swapped,
    "one digit misread": one_digit,
    "digit repeated": repeated,
    "ten times": ten_times,
}


def sweep_kinds() -> dict[str, Kind]:
    """What is swept and the sweep's zero, with every way it is commonly typed wrong."""
    out: dict[str, Kind] = {}
    swept = "sweep.reading"
    for name, change in {**DIGITS, "sign": sign, "other unit": other_dial, "one turn": turn, "full size": full}.items():
        out[f"sweep, {name}"] = Kind(sweeping, one_of(swept, change))
    for name, change in {"sign": sign, "other unit": other_dial}.items():
        out[f"sweep, {name}, all"] = Kind(sweeping, every(swept, change))
    out["sweep, diameters for radii, all"] = Kind(sweeping, every(swept, doubled))
    out["sweep, tenths for thou, all"] = Kind(sweeping, every(swept, lambda h, t: f"{float(t) / 10:+.4g}"))
    out["sweep, value of the place before"] = Kind(sweeping, one_before(swept))
    out["sweep, needle's way"] = Kind(sweeping, other("sweep.sign", ("up", "down")))
    pages: dict[str, Callable[[Swept, Shop], None]] = {
        "sweep, order reversed": ring_order(back=True),
        "sweep, order reversed in a ring": ring_order(back=True, whole=False),
        "sweep, begun one place on": ring_order(),
        "sweep, begun one place on, one ring": ring_order(whole=False),
        "sweep, begun a quarter turn on": ring_order(by=0.25),
        "sweep, begun half a turn on": ring_order(by=0.5),
        "sweep, begun half a turn on, a ring": ring_order(by=0.5, whole=False),
        "sweep, depth copied": depth_copied,
        "sweep, depths exchanged": depths_exchanged,
        "sweep, cylinders exchanged": cylinders_exchanged,
        "sweep, cylinder copied": cylinder_copied,
        "sweep, a turn on the way": turn_on_the_way,
        "sweep, a turn in a ring": turn_in_a_ring,
        "sweep, a turn in all": turn_in_all,
        "sweep, zeroed anew between depths": zero_moved,
        "sweep, signs of a ring": wrong_way,
    }
    for name, change_of in pages.items():
        out[name] = Kind(sweeping, more=lambda change_of=change_of: {"about": Sweeps(pages=change_of)}, wrong=(swept,))
    out["sweep, spindle knocked between depths"] = Kind(
        sweeping, more=lambda: {"about": Sweeps(knocked=0.2)}, wrong=(swept,)
    )
    size = {"digits swapped": swapped, "one digit misread": one_digit, "other unit": other_unit}
    for key in ("sweep.zero", "sweep.gap", "sweep.spindle_diameter"):
        for name, change in {**size, "radius for diameter": halved, "diameter for radius": doubled}.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(sweeping, only(key, change, 1))
    return out


def chamfer_kinds() -> dict[str, Kind]:
    """The chamfers' fields, likewise."""
    out: dict[str, Kind] = {}
    for key in ("chamfer.width", "chamfer.measured"):
        for name, change in {**DIGITS, "other unit": other_unit, "diameter": doubled, "radius": halved}.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(chamfered, only(key, change))
    out["chamfer angle, included for half"] = Kind(chamfered, only("chamfer.angle", doubled, 1))
    out["chamfer angle, to the deck"] = Kind(
        chamfered, only("chamfer.angle", lambda h, t: f"{90 - float(t):g}" if float(t) != 45 else "30", 1)
    )
    for name, change in {"digits swapped": swapped, "ten times": ten_times}.items():
        out[f"chamfer angle, {name}"] = Kind(chamfered, only("chamfer.angle", change, 1))
        out[f"chamfer tolerance, {name}"] = Kind(chamfered, only("chamfer.tolerance", change, 1))
    out["chamfer tolerance, other unit"] = Kind(chamfered, only("chamfer.tolerance", other_fine, 1))
    for key in ("chamfer.touch", "chamfer.stopped"):
        for name, change in {**DIGITS, "other unit": other_unit, "sign": sign, "one turn": size_turn}.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(chamfered, only(key, change))
        out[f"{key.replace('.', ' ')} of the line above"] = Kind(chamfered, before(key))
    out["chamfer width of the line above"] = Kind(chamfered, before("chamfer.measured"))
    return out


def ring_kinds() -> dict[str, Kind]:
    """The ring maker's figures, likewise."""
    out: dict[str, Kind] = {}
    for key in ("rings.least", "rings.widest"):
        for name, change in {**DIGITS, "other unit": other_fine}.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(gapped, only(key, change))
        out[f"{key.replace('.', ' ')}, the other ring's"] = Kind(gapped, top_and_second(key))
    for key in ("rings.top_share", "rings.second_share", "rings.widest_share"):
        ways = {**DIGITS, "per cent": per_hundred, "plain share": as_share}
        for name, change in ways.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(gapped, only(key, change, 1))
    out["rings top_share and the second's"] = Kind(gapped, Maker(("rings.second_share",), both_shares))
    for name, change in {"ten times": ten_times, "other unit": other_fine}.items():
        out[f"rings feeler, {name}"] = Kind(gapped, only("rings.feeler", change, 1))
    return out


def size_turn(hand: Hand, text: str) -> str:
    """One turn of a feed dial, on a size."""
    v = float(text) * (25.4 if hand.w.inch else 1.0) + hand.w.rng.choice((-1, 1)) * hand.w.rng.choice(TURNS_MM)
    return f"{v / 25.4:.4f}" if hand.w.inch else f"{v:.3f}"


def one_before(key: str) -> Maker:
    """One typing repeats the one before it, anywhere among many."""

    def change(hand: Hand, text: str) -> str:
        old = [t for k, _, t in hand.typed if k == key]
        return old[-1] if old else text

    return one_of(key, change)


def both_shares(rng: random.Random) -> Change:
    """The second ring's share is the top ring's once more."""

    def slip(hand: Hand, now: str, at: dict[str, Any], text: str) -> str:
        if now != "rings.second_share":
            return text
        return next((t for k, _, t in reversed(hand.typed) if k == "rings.top_share"), text)

    return slip


SLIPS: dict[str, Kind] = {**sweep_kinds(), **chamfer_kinds(), **ring_kinds()}
#: The same work without a slip, by name.
CLEAN: dict[str, Callable[..., None]] = {f.__name__: f for f in (sweeping, chamfered, gapped)}


def main() -> None:
    campaign(SLIPS, CLEAN, __doc__ or "")


if __name__ == "__main__":
    main()
