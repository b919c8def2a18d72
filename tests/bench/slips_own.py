"""Human slips in limits, factors and choices of one's own, and in figures that few jobs need.

As in :mod:`tests.bench.slips_more`, with which this is run: half of the jobs are such that a careful answer is no, and a
yes to what was typed is wrong where the truth, its margins taken out, gets a no.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.bench.slips import FIELDS
from tests.bench.slips_after import (
    Kind,
    Shop,
    campaign,
    one_digit,
    only,
    other_dial,
    other_fine,
    other_unit,
    settled,
    sign,
    swapped,
    ten_times,
)
from tests.bench.slips_more import STUDS, judged, other, true

__all__ = ["CLEAN", "SLIPS"]


def liners(s: Shop) -> None:
    """Wet liners stand above the deck within the maker's limits; one at times does not."""
    rng = s.rng
    low, high = rng.choice(((0.03, 0.08), (0.05, 0.12), (0.02, 0.1)))
    out = rng.choice(sorted(s.pistons)) if rng.random() < 0.6 else 0
    values = [true("strip.block", "wet"), true("strip.lowest", low), true("strip.highest", high)]
    for c in s.pistons:
        mm = rng.uniform(low + 0.012, high - 0.012)
        if c == out:
            mm = rng.choice((low - rng.uniform(0.03, 0.06), high + rng.uniform(0.03, 0.1)))
        values.append(true("strip.height", mm, cylinder=c))
    eased = [true("strip.lowest", low - 0.012), true("strip.highest", high + 0.012)]
    judged(s, "strip", values, eased, known=lambda r: r.key == "strip.liners")


def flanges(s: Shop) -> None:
    """The liners' flanges and their recesses are measured: what stands out follows; one at times stands too far out."""
    rng = s.rng
    low, high, deep = 0.04, 0.12, rng.uniform(7.0, 9.0)
    out = rng.choice(sorted(s.pistons)) if rng.random() < 0.6 else 0
    values = [true("strip.block", "wet"), true("strip.lowest", low), true("strip.highest", high)]
    for c in s.pistons:
        stands = rng.uniform(0.055, 0.105) if c != out else rng.choice((-0.02, 0.2))
        values += [true("strip.recess", deep, cylinder=c), true("strip.flange", deep + stands, cylinder=c)]
    eased = [true("strip.lowest", low - 0.012), true("strip.highest", high + 0.012)]
    judged(s, "strip", values, eased, known=lambda r: r.key == "strip.flange")


def least_walls(s: Shop) -> None:
    """The walls against the least that the owner wants to be left; one at times is thinner."""
    settled(s)
    rng = s.rng
    least, speed = rng.choice((3.0, 3.5, 4.0)), rng.uniform(1.15, 1.4)
    thin = rng.choice(sorted(s.pistons)) if rng.random() < 0.6 else 0
    known = (5.0, 9.0)
    values = [true("wall.minimum", least)]
    if rng.random() < 0.5:
        values += [true("wall.thrust", "left"), true("wall.minimum_thrust", least + 0.5)]
    values += [true("wall.known", k, piece=n) for n, k in enumerate(known, 1)]
    values += [true("wall.shown", k * speed + rng.gauss(0, 0.02), piece=n) for n, k in enumerate(known, 1)]
    for c in s.pistons:
        for angle in (0, 90, 180, 270):
            wall = least + s.step / 2 + rng.uniform(1.5, 2.5)
            if c == thin and angle == 90:
                wall = s.step / 2 + least - rng.uniform(0.6, 1.2)
            values.append(true("wall.reading", wall * speed + rng.gauss(0, 0.02), cylinder=c, angle=angle))
    judged(s, "walls", values, [true("wall.minimum", least - 0.3), true("wall.minimum_thrust", least - 0.3)])


def held_down(s: Shop) -> None:
    """The clamps against the force of the cut; at times a heavy cut, far from the clamps, or a base that slides."""
    settled(s)
    rng = s.rng
    thread, grade, usual, d = rng.choice(STUDS[s.w.inch])
    whole = 1.3558 if s.w.inch else 1.0  # a wrench is set to whole lbf·ft or N·m
    weak = rng.randrange(4)
    force = rng.uniform(60, 200) if weak else 4800.0
    values = [
        true("clamp.thread", thread),
        true("clamp.grade", grade),
        true("clamp.torque", whole * round(usual * (rng.uniform(0.6, 0.9) if weak else 0.4) / whole)),
        true("clamp.state", "dry"),
        true("clamp.studs", rng.choice((2, 3, 4)) if weak else 1),
        true("clamp.engagement", d * rng.uniform(1.7, 2.2)),
        true("clamp.half_base", rng.uniform(50, 80)),
        true("clamp.grip_radius", rng.uniform(45, 70)),
        true("clamp.force", force),
        true("clamp.offset", rng.uniform(0, 20)),
        true("clamp.friction", rng.uniform(0.13, 0.16)),
        true("clamp.safety", 2.0),
        true("clamp.nut_factor", rng.uniform(0.19, 0.22)),
    ]
    judged(s, "clamp", values, [true("clamp.safety", 1.2)])


def roughness(s: Shop) -> None:
    """The finish of a bore is measured against limits of one's own; at times it is far too rough or too smooth.

    A surface is so as a whole, mean, core and all; its peaks and its valleys may also be off by themselves.
    """
    settled(s)
    rng = s.rng
    low, high = {"ra": 0.3, "rpk": 0.1, "rk": 0.6, "rvk": 1.0}, {"ra": 0.7, "rpk": 0.35, "rk": 1.2, "rvk": 2.2}
    off = rng.choice(("all", "rpk", "rvk")) if rng.random() < 0.6 else ""
    rough = rng.random() < 0.5
    values = [true(f"hone.{k}_low", v) for k, v in low.items()] + [true(f"hone.{k}_high", v) for k, v in high.items()]
    for k, least in low.items():
        um = (least + high[k]) / 2 * rng.uniform(0.97, 1.03)
        if off in ("all", k):
            um = 1.5 * high[k] if rough else 0.6 * least
        values.append(true(f"hone.{k}", um, cylinder=1))
    eased = [true(f"hone.{k}_low", 0.8 * v) for k, v in low.items()]
    eased += [true(f"hone.{k}_high", 1.2 * v) for k, v in high.items()]
    judged(s, "hone", values, eased, known=lambda r: r.key.startswith("finish.accept"))


def near_head(s: Shop) -> None:
    """A new gasket, and a least distance of one's own from piston to head; at times the crown comes too near."""
    settled(s)
    rng, w = s.rng, s.w
    deck, gasket, least = rng.uniform(-0.06, 0.2), rng.uniform(1.2, 1.5), rng.choice((0.9, 1.0, 1.1))
    new = gasket if rng.random() < 0.5 else max(0.3, least - deck - rng.uniform(0.35, 0.5))
    values = [
        true("compression.stroke", 88.0),  # the rings travel 100 mm, their own height with it
        true("compression.chamber", w.nominal**2 * 0.0075),
        true("compression.gasket_bore", w.nominal + s.step + 2.0),
        true("compression.gasket", gasket),
        true("compression.deck", deck),
        true("compression.stands", "below" if deck > -0.05 else "level"),  # so near the deck a finger feels no step
        true("compression.deck_again", deck + rng.gauss(0.0, 0.03)),
        true("compression.gasket_new", new),
        true("compression.least_gap", least),
    ]
    eased = [true("compression.least_gap", least - 0.25)]
    judged(s, "compression", values, eased, known=lambda r: r.key.startswith("compression.gap"))


def read_again(s: Shop) -> None:
    """The finished bores are read with a warm gauge and a second time where it was close; one bore is out."""
    settled(s)
    rng = s.rng
    out = rng.choice(sorted(s.pistons)) if rng.random() < 0.7 else 0
    s.job.put(FIELDS["final.washed"], "yes")
    s.hand.plainly("final.zero", s.finished(1))
    s.hand.plainly("final.division", 0.001)
    values = [
        true("final.zero_temperature", 20.0),
        true("final.block_temperature", 20.0),
        true("final.confidence", 0.95),
    ]
    values.append(true("final.gauge_warmed", rng.choice((0.0, 1.0, 2.0))))
    for c in s.pistons:
        off = rng.choice((-0.035, 0.035)) if c == out else 0.0
        for d in (1, 2, 3):
            for axis in ("thrust", "crank"):
                mm = s.finished(c) + off + rng.gauss(0, 0.0015) - s.finished(1)
                values.append(true("final.reading", mm, cylinder=c, depth=d, axis=axis))
                if d == 1:
                    values.append(
                        true("final.again", mm + rng.gauss(0, 0.001), cylinder=c, depth=d, axis=axis, check=1)
                    )
    eased = [true(k, 0.0127 + 0.008) for k in ("final.over", "final.under", "final.round", "final.taper")]
    judged(s, "final", values, eased, known=lambda r: getattr(r, "cylinder", None) in s.pistons)


def spreads(s: Shop) -> None:
    """How far weights may lie apart, as the owner wants it; one piston at times is out of that."""
    settled(s)
    rng = s.rng
    mean, spread = rng.uniform(300, 700), rng.choice((3.0, 4.0, 5.0))
    out = rng.choice(sorted(s.pistons)) if rng.random() < 0.5 else 0
    weights = {c: round(mean + rng.uniform(-0.8, 0.8), 1) for c in s.pistons}
    if out:
        weights[out] = round(mean + rng.choice((-1, 1)) * rng.uniform(9, 16), 1)
    values = [true("fitting.spread", spread)]
    values += [true("fitting.weight", g, cylinder=c) for c, g in weights.items()]
    values.append(true("fitting.total", round(sum(weights.values()), 1)))
    if len(weights) > 1:
        judged(s, "fitting", values, [true("fitting.spread", 6.5)], known=lambda r: r.key.startswith("fitting.weigh"))


def largest(s: Shop) -> None:
    """The oversize with a largest bore that the block bears, wear that may stay, and the pistons to be had."""
    rng, w = s.rng, s.w
    s.job.entries = [e for e in s.job.entries if getattr(e, "what", "") != "oversize"]
    steps = (0.508, 0.762, 1.016) if w.inch else (0.5, 0.75, 1.0)
    limit = w.nominal + (rng.choice((0.3, 0.6)) if rng.random() < 0.5 else 1.3)
    values = [true("oversize.largest", limit), true("oversize.hone_allow", 0.0508), true("oversize.confidence", 0.95)]
    if rng.random() < 0.5:
        values += [
            true("oversize.series", "listed"),
            *(true("oversize.listed", m, item=n) for n, m in enumerate(steps, 1)),
        ]
    eased = [
        true("oversize.largest", limit + 0.02),
        true("oversize.hone_allow", 0.07),
        true("oversize.confidence", 0.8),
    ]
    judged(s, "oversize", values, eased, known=lambda r: r.key.startswith("oversize"))


def kinds() -> dict[str, Kind]:
    """Every field of these stages with every way it is commonly typed wrong."""
    out: dict[str, Kind] = {}

    def add(
        stage: Callable[..., None], unit: Callable[[Any, str], str] | None, *keys: str, nth: int | None = 1
    ) -> None:
        ways = {"digits swapped": swapped, "one digit misread": one_digit, "ten times": ten_times}
        for key in keys:
            for name, change in {**ways, **({} if unit is None else {"other unit": unit})}.items():
                out[f"{key.replace('.', ' ')}, {name}"] = Kind(stage, only(key, change, nth))

    add(liners, other_dial, "strip.height", nth=None)
    add(liners, other_dial, "strip.lowest", "strip.highest")
    out["strip height, sign"] = Kind(liners, only("strip.height", sign))
    out["strip block, another"] = Kind(liners, other("strip.block", ("parent", "dry", "wet")))
    add(flanges, other_unit, "strip.recess", "strip.flange", nth=None)
    add(least_walls, other_unit, "wall.minimum", "wall.minimum_thrust")
    out["wall thrust, the other side"] = Kind(least_walls, other("wall.thrust", ("left", "right")))
    add(held_down, None, "clamp.force", "clamp.offset", "clamp.friction", "clamp.safety", "clamp.nut_factor")
    for key in ("ra", "rpk", "rk", "rvk"):
        add(roughness, None, f"hone.{key}", f"hone.{key}_low", f"hone.{key}_high")
    add(near_head, other_fine, "compression.least_gap", "compression.gasket_new")
    add(read_again, other_dial, "final.again", nth=None)
    add(read_again, None, "final.gauge_warmed", "final.zero_temperature", "final.confidence")
    add(spreads, None, "fitting.spread")
    add(largest, other_unit, "oversize.largest")
    add(largest, other_fine, "oversize.hone_allow")
    add(largest, None, "oversize.confidence", "oversize.listed")
    return out


SLIPS: dict[str, Kind] = kinds()
#: The same work without a slip, by name.
CLEAN: dict[str, Callable[..., None]] = {
    f.__name__: f for f in (liners, flanges, least_walls, held_down, roughness, near_head, read_again, spreads, largest)
}


def main() -> None:
    campaign(SLIPS, CLEAN, __doc__ or "")


if __name__ == "__main__":
    main()
