"""Human slips in everything else that is typed: clamping, sleeves, pairing, walls, the space over the piston, limits, the gauge.

As in :mod:`tests.bench.slips_after`, with which this is run. What a step would say of the true values, with its
margins taken out, is the truth here: a slip is a *wrong go* where the step says yes to what was typed and no to that.
Half of the jobs are such that a careful answer is no.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from logic.result import Verdict
from store.flow import step_work
from store.sheets import sheet
from tests.bench.slips import FIELDS
from tests.bench.slips_after import (
    Kept,
    Kind,
    Maker,
    Shop,
    WrongGoError,
    before,
    campaign,
    every,
    one_digit,
    only,
    other_fine,
    other_unit,
    repeated,
    settled,
    sign,
    swapped,
    ten_times,
)

__all__ = ["CLEAN", "SLIPS"]


class Truth(NamedTuple):
    """A value as it truly is: a field's key, the value in its logic unit or a choice, and its place."""

    key: str
    value: float | str
    at: dict[str, Any]


def true(key: str, value: float | str, **at: Any) -> Truth:
    return Truth(key, value, at)


def judged(
    s: Shop,
    step: str,
    values: list[Truth],
    eased: list[Truth],
    *,
    known: Callable[[Any], bool] | None = None,
    then: Callable[[Any], list[Truth]] | None = None,
) -> None:
    """Type ``values`` with the hand that slips; then see what the step says of them, and of the truth with ``eased``.

    ``eased`` are the limits and margins as far as nobody is hurt; ``known`` picks the results that are meant (all);
    ``then`` gives what is measured of work that was done by what was typed.
    """
    bare = list(s.job.entries)
    _type(s, values)
    made = [] if then is None else then(s.job.view())
    _type(s, made)
    values = [*values, *made]

    def says_yes(results: Any) -> bool:
        meant = [r for r in results if known is None or known(r)]
        return bool(meant) and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in meant)

    if not says_yes(s.results(step)):
        return
    twin = Kept(nominal=s.job.header["nominal"].value.value, cylinders=s.job.header["cylinders"].value)
    twin.entries = bare
    twin._next = s.job._next  # stamps go on
    own_limits = {t.key for t in eased}
    for t in (*(v for v in values if v.key not in own_limits), *eased):
        twin.put(FIELDS[t.key], t.value, **t.at)
    truly = sheet(step)  # without its doubts: margins taken out are unusual
    if not says_yes(step_work(twin.view(), truly.work, truly.gate).results):
        raise WrongGoError


def _type(s: Shop, values: list[Truth]) -> None:
    for t in values:
        if FIELDS[t.key].kind == "choice":
            said = str(t.value)
            s.job.put(FIELDS[t.key], said if s.hand.slip is None else s.hand.slip(s.hand, t.key, t.at, said), **t.at)
        else:
            s.hand.enter(t.key, float(t.value), **t.at)


# -- clamping -------------------------------------------------------------------------------------
#: Thread, class, usual torque in N·m (dry, from memory of common tables), diameter, mm.
STUDS = {
    True: (("3/8-16 UNC", "grade 5", 45.0, 9.5), ("1/2-13 UNC", "grade 5", 105.0, 12.7)),
    False: (("M10", "8.8", 48.0, 10.0), ("M12", "8.8", 84.0, 12.0), ("M14", "8.8", 133.0, 14.0)),
}


def clamped(s: Shop) -> None:
    """The machine is held down by studs; at times their torque, or the thread they have in the block, is too little."""
    settled(s)
    rng = s.rng
    thread, grade, usual, d = rng.choice(STUDS[s.w.inch])
    torque, depth = usual * rng.uniform(0.6, 1.0), d * rng.uniform(1.6, 2.2)
    weak, studs, half_base = rng.randrange(4), rng.choice((2, 2, 3, 4)), rng.uniform(50, 80)
    if weak == 0:  # hand-tight, and on a small base
        torque, studs, half_base = usual * rng.uniform(0.45, 0.6), 1, rng.uniform(15, 25)
    if weak == 1:
        depth = d * rng.uniform(0.25, 0.5)
    if weak == 2:  # more than the stud bears
        torque = usual * rng.uniform(1.6, 2.2)
    values = [
        true("clamp.thread", thread),
        true("clamp.grade", grade),
        true("clamp.torque", torque),
        true("clamp.state", rng.choice(("dry", "dry", "oiled"))),
        true("clamp.studs", studs),
        true("clamp.engagement", depth),
        true("clamp.half_base", half_base),
        true("clamp.grip_radius", rng.uniform(45, 70)),
    ]
    # the nut factor's doubt taken out: of a stud's own preload, not of the hold's
    oiled = values[3].value == "oiled"
    judged(s, "clamp", values, [true("clamp.safety", 1.2), true("clamp.nut_factor", 0.22 if oiled else 0.24)])


# -- sleeves ----------------------------------------------------------------------------------------
def sleeves(s: Shop) -> None:
    """One or two cylinders get a sleeve from one box; the bores for them are measured, at times bored too large or too small."""
    settled(s)
    rng, w = s.rng, s.w
    outside = w.nominal + rng.choice((3.175, 6.35) if w.inch else (3.0, 5.0))
    wanted = sorted(s.pistons)[: rng.choice((1, 2))]
    least, most = 0.0004 * outside, 0.0011 * outside  # the maker's
    bad = rng.choice(wanted) if rng.random() < 0.3 else 0
    values, grips = [true("sleeve.fit_least", least), true("sleeve.fit_most", most)], dict[int, float]()
    for c in wanted:
        grips[c] = (least + most) / 2 * rng.uniform(0.95, 1.05)
        if c == bad:
            grips[c] = rng.choice((-0.5 * least, 0.2 * least, 1.7 * most, 2.5 * most))
        values += [
            true("sleeve.wanted", "yes", cylinder=c),
            true("sleeve.outside", outside + rng.gauss(0.0, 0.004), cylinder=c),
            true("sleeve.inside", w.nominal - rng.uniform(0.6, 1.2), cylinder=c),
            true("sleeve.length", 130.0, cylinder=c),
        ]
        if len(wanted) == 1:  # nothing else confirms it: measured anew
            values.append(true("sleeve.outside_again", outside + rng.gauss(0.0, 0.004), cylinder=c))

    def bored_for_it(view: Any) -> list[Truth]:
        """Each bore is cut by the size that was typed for its sleeve."""
        typed = {c: view.number(FIELDS["sleeve.outside"], cylinder=c) for c in wanted}
        return [true("sleeve.bored", typed[c] - grips[c], cylinder=c) for c in wanted]

    eased = [true("sleeve.fit_least", 0.7 * least), true("sleeve.fit_most", 1.3 * most)]
    judged(s, "sleeve", values, eased, known=lambda r: r.key.startswith("sleeve.bore"), then=bored_for_it)


# -- which piston goes where ----------------------------------------------------------------------
def pairing(s: Shop) -> None:
    """Every bore is finished to its own piston; the numbers on the crowns are typed for the bores they lie in."""
    settled(s)
    order = sorted(s.pistons)
    s.rng.shuffle(order)
    values = [true("fitting.piston", n, cylinder=c) for c, n in zip(sorted(s.pistons), order, strict=True)]
    s.job.put(FIELDS["final.washed"], "yes")
    s.hand.plainly("final.zero", round(s.finished(1), 2))
    s.hand.plainly("final.division", 0.001)
    for c, n in zip(sorted(s.pistons), order, strict=True):
        off = s.rng.choice((0.0, 0.0, 0.03)) if c == order[0] else 0.0
        for d in (1, 2, 3):
            for axis in ("thrust", "crank"):
                size = s.finished(n) + off + s.rng.gauss(0, 0.0015)
                s.hand.plainly("final.reading", size - round(s.finished(1), 2), cylinder=c, depth=d, axis=axis)
    judged(s, "fitting", values, [true("fitting.band", 0.02)])


def weighing(s: Shop) -> None:
    """The pistons are weighed; at times one is out of the set."""
    settled(s)
    mean = s.rng.uniform(300, 700)
    out = s.rng.choice(sorted(s.pistons)) if s.rng.random() < 0.5 else 0
    weights = {c: round(mean + s.rng.uniform(-1.2, 1.2), 1) for c in s.pistons}
    if out:
        weights[out] = round(mean + s.rng.choice((-1, 1)) * s.rng.uniform(9, 20), 1)
    values = [true("fitting.weight", g, cylinder=c) for c, g in weights.items()]
    values.append(true("fitting.total", round(sum(weights.values()) + s.rng.gauss(0, 0.4), 1)))
    if len(weights) > 1:
        judged(s, "fitting", values, [true("fitting.spread", 6.5)], known=lambda r: r.key.startswith("fitting.weigh"))


# -- walls ------------------------------------------------------------------------------------------
def walls(s: Shop) -> None:
    """The walls are measured at four places of each bore, the gauge tried on two known pieces; at times one is thin."""
    settled(s)
    rng = s.rng
    thin = rng.choice(sorted(s.pistons)) if rng.random() < 0.5 else 0
    speed = rng.uniform(1.15, 1.4)  # a gauge set for steel on grey iron
    known = (rng.uniform(4.5, 6.0), rng.uniform(8.0, 10.0))
    values = [true("wall.known", k, piece=n) for n, k in enumerate(known, 1)]
    values += [true("wall.shown", k * speed + rng.gauss(0, 0.02), piece=n) for n, k in enumerate(known, 1)]
    for c in s.pistons:
        for angle in (0, 90, 180, 270):
            wall = rng.uniform(5.5, 7.0)
            if c == thin and angle == 90:
                wall = s.step / 2 + rng.uniform(0.8, 1.8)
            values.append(true("wall.reading", wall * speed + rng.gauss(0, 0.02), cylinder=c, angle=angle))
    judged(s, "walls", values, [true("wall.minimum", 2.6)])


# -- over the piston --------------------------------------------------------------------------------
def over_piston(s: Shop) -> None:
    """The chamber is measured out and the deck read at both ends; at times a piston comes too near the head."""
    settled(s)
    rng, w = s.rng, s.w
    deck = rng.uniform(-0.9, -0.5) if rng.random() < 0.5 else rng.uniform(0.1, 0.6)
    values = [
        true("compression.stroke", rng.uniform(80.0, 96.0)),
        true("compression.chamber", w.nominal**2 * 0.0075 * rng.uniform(0.85, 1.2)),
        true("compression.gasket_bore", w.nominal + s.step + rng.uniform(1.5, 3.0)),
        true("compression.gasket", rng.uniform(1.0, 1.4)),
        true("compression.deck", deck),
        true("compression.stands", "below" if deck > 0 else "above"),
        true("compression.deck_again", deck + rng.gauss(0.0, 0.04)),
    ]
    if rng.random() < 0.5:
        values.append(true("compression.taller", rng.choice((-1, 1)) * rng.uniform(0.15, 0.4)))
    judged(
        s,
        "compression",
        values,
        [true("compression.least_gap", 0.7)],
        known=lambda r: r.key.startswith("compression.gap"),
    )


def _ratio_before(bore: float, stroke: float, chamber: float, gasket: float, deck: float, dish: float) -> float:
    """The compression ratio; ``gasket`` is its hole's diameter squared times its thickness, mm³."""
    area = 0.7854 * bore**2 / 1000
    return 1 + area * stroke / (chamber + 0.7854 * gasket / 1000 + area * deck + dish)


def squeezed(s: Shop) -> None:
    """The ratio after the work against the highest that the fuel allows; at times it is over it."""
    settled(s)
    rng, w = s.rng, s.w
    bore, stroke = w.nominal + s.step, rng.uniform(80.0, 96.0)
    gasket, gasket_bore = rng.uniform(1.0, 1.4), bore + rng.uniform(1.5, 3.0)
    highest = rng.choice((8.5, 9.0, 9.5, 10.0))
    ratio = highest + (rng.uniform(1.2, 2.0) if rng.random() < 0.5 else -rng.uniform(0.8, 1.8))
    deck, dish = rng.uniform(0.1, 0.6), rng.choice((0.0, 4.0, -4.0))
    area = 0.7854 * bore**2 / 1000
    left = area * stroke / (ratio - 1)
    chamber = left - 0.7854 * gasket_bore**2 / 1000 * gasket - area * deck - dish
    values = [
        true("compression.stroke", stroke),
        true("compression.chamber", chamber),
        true("compression.gasket_bore", gasket_bore),
        true("compression.gasket", gasket),
        true("compression.deck", deck),
        true("compression.stands", "below"),
        true("compression.deck_again", deck + rng.gauss(0.0, 0.04)),
        true("compression.crown", dish),
        true("compression.highest", highest),
        true(
            "compression.book",
            round(
                _ratio_before(w.nominal, stroke, chamber, gasket_bore * gasket_bore * gasket, deck, dish)
                + rng.gauss(0.0, 0.1),
                1,
            ),
        ),
    ]
    judged(
        s,
        "compression",
        values,
        [true("compression.highest", highest + 0.6)],
        known=lambda r: r.key.startswith("compression.ratio"),
    )


# -- the face -----------------------------------------------------------------------------------------
def face(s: Shop) -> None:
    """Six heights of the deck over the mains; at times it is out of square."""
    rng = s.rng
    lean = rng.uniform(0.0006, 0.0012) * rng.choice((-1, 1)) if rng.random() < 0.5 else 0.0
    values = []
    long = s.w.nominal * (1.25 * len(s.pistons) + 0.5)
    places = ((0.05, -60), (0.05, 60), (0.5, -60), (0.5, 60), (0.95, -60), (0.95, 60))
    for n, (x, y) in enumerate(((round(part * long), y) for part, y in places), 1):
        values += [true("face.x", x, point=n), true("face.y", y, point=n)]
        values.append(true("face.height", 210.0 + lean * y + rng.gauss(0, 0.004), point=n))
    judged(s, "face", values, [true("face.limit", 0.065)], known=lambda r: r.key.startswith("face.ready"))


# -- limits of one's own ------------------------------------------------------------------------------
def limits(s: Shop) -> None:
    """The finished bores are judged by limits of one's own; one bore is out."""
    settled(s)
    rng = s.rng
    out = rng.choice(sorted(s.pistons)) if rng.random() < 0.7 else 0
    s.job.put(FIELDS["final.washed"], "yes")
    s.hand.plainly("final.zero", s.finished(1))
    s.hand.plainly("final.division", 0.001)
    for c in s.pistons:
        off = rng.choice((-0.035, 0.035)) if c == out else 0.0
        for d in (1, 2, 3):
            for axis in ("thrust", "crank"):
                value = s.finished(c) + off + rng.gauss(0, 0.0015) - s.finished(1)
                s.hand.plainly("final.reading", value, cylinder=c, depth=d, axis=axis)
    limit = rng.choice((0.0127, 0.01, 0.015))
    values = [true(k, limit) for k in ("final.over", "final.under", "final.round", "final.taper")]
    eased = [true(k, limit + 0.008) for k in ("final.over", "final.under", "final.round", "final.taper")]
    judged(s, "final", values, eased, known=lambda r: getattr(r, "cylinder", None) in s.pistons)


# -- slips ------------------------------------------------------------------------------------------
def other_torque(hand: Any, text: str) -> str:
    """Newton metres for pound-force feet, and the reverse (1 lbf·ft = 1.3558 N·m, NIST SP 811)."""
    return f"{float(text) * (1.3558 if hand.w.inch else 1 / 1.3558):.1f}"


def exchanged(key: str) -> Maker:
    """The number of another cylinder: the one before, or the one after."""

    def change(hand: Any, text: str) -> str:
        return str(max(1, int(float(text)) + hand.w.rng.choice((-1, 1))))

    return only(key, change)


def other(key: str, among: tuple[str, ...]) -> Maker:
    """Another choice than the true one."""
    return only(key, lambda hand, said: hand.w.rng.choice([a for a in among if a != said]))


def both(change: Callable[[Any, str], str], *keys: str) -> Maker:
    """The same slip in each of some fields: a sign or a unit taken wrong from the start."""
    return Maker(keys, lambda rng: lambda hand, now, at, text: change(hand, text) if now in keys else text)


def kinds() -> dict[str, Kind]:
    """Every field of these steps with every way it is commonly typed wrong."""
    out: dict[str, Kind] = {}

    def add(
        stage: Callable[..., None], key: str, ways: dict[str, Callable[[Any, str], str]], nth: int | None = None
    ) -> None:
        for name, change in ways.items():
            out[f"{key.replace('.', ' ')}, {name}"] = Kind(stage, only(key, change, nth))

    digits = {"digits swapped": swapped, "one digit misread": one_digit, "ten times": ten_times}
    length = {**digits, "other unit": other_unit}
    add(clamped, "clamp.torque", {**digits, "other unit": other_torque}, 1)
    for key in ("clamp.engagement", "clamp.grip_radius", "clamp.half_base"):
        add(clamped, key, length, 1)
    add(clamped, "clamp.studs", {"one digit misread": one_digit, "digit repeated": repeated}, 1)
    out["clamp thread, another"] = Kind(
        clamped, other("clamp.thread", tuple(t for of in STUDS.values() for t, *_ in of))
    )
    out["clamp grade, another"] = Kind(clamped, other("clamp.grade", ("unmarked", "5.8", "8.8", "10.9", "grade 8")))
    out["clamp thread, dry for oiled"] = Kind(clamped, other("clamp.state", ("dry", "oiled")))
    add(sleeves, "sleeve.outside", {**length, "digit repeated": repeated}, 1)
    add(sleeves, "sleeve.outside_again", length, 1)
    add(sleeves, "sleeve.bored", {**length, "digit repeated": repeated}, 1)
    add(sleeves, "sleeve.inside", length, 1)
    add(sleeves, "sleeve.length", length, 1)
    for key in ("sleeve.fit_least", "sleeve.fit_most"):
        add(sleeves, key, {**digits, "other unit": other_fine}, 1)
    out["sleeve outside of the line above"] = Kind(sleeves, before("sleeve.outside"))
    out["pairing, number of a neighbour"] = Kind(pairing, exchanged("fitting.piston"))
    out["pairing, number of the line above"] = Kind(pairing, before("fitting.piston"))
    add(weighing, "fitting.weight", {**digits, "digit repeated": repeated})
    add(weighing, "fitting.total", digits, 1)
    out["weight of the line above"] = Kind(weighing, before("fitting.weight"))
    add(walls, "wall.reading", {**length, "digit repeated": repeated})
    out["wall reading, ten times, all"] = Kind(walls, every("wall.reading", lambda h, t: f"{float(t) * 10:g}"))
    add(walls, "wall.known", length)
    add(walls, "wall.shown", length)
    out["wall of the line above"] = Kind(walls, before("wall.reading"))
    for key in ("compression.deck", "compression.deck_again"):
        add(over_piston, key, {**length, "sign": sign}, 1)
    decks = ("compression.deck", "compression.deck_again")
    out["both decks, sign"] = Kind(over_piston, both(sign, *decks))
    out["both decks, other unit"] = Kind(over_piston, both(other_unit, *decks))
    out["crown, another side"] = Kind(over_piston, other("compression.stands", ("below", "level", "above")))
    add(over_piston, "compression.gasket", {**digits, "other unit": other_fine}, 1)
    add(over_piston, "compression.taller", {**length, "sign": sign}, 1)
    for key in ("compression.stroke", "compression.gasket_bore"):
        add(squeezed, key, length, 1)
    add(squeezed, "compression.chamber", digits, 1)
    add(squeezed, "compression.crown", {"ten times": ten_times, "sign": sign}, 1)
    add(squeezed, "compression.book", {"ten times": ten_times, "digits swapped": swapped}, 1)
    add(squeezed, "compression.highest", {"ten times": ten_times, "one digit misread": one_digit}, 1)
    add(face, "face.height", length)
    add(face, "face.x", length)
    add(face, "face.y", {"sign": sign, "other unit": other_unit})
    out["face height of the line above"] = Kind(face, before("face.height"))
    for key in ("final.over", "final.under", "final.round", "final.taper"):
        add(limits, key, {**digits, "other unit": other_fine}, 1)
    return out


SLIPS: dict[str, Kind] = kinds()
#: The same work without a slip, by name.
CLEAN: dict[str, Callable[..., None]] = {
    f.__name__: f for f in (clamped, sleeves, pairing, weighing, walls, over_piston, squeezed, face, limits)
}


def main() -> None:
    campaign(SLIPS, CLEAN, __doc__ or "")


if __name__ == "__main__":
    main()
