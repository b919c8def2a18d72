"""Stated chances and 95 % intervals against a hidden truth, for every other verdict that has one.

Worlds for walls, the top face, pistons and clearance, ring gaps, compression, clamps, a pressed-in
sleeve, an instrument's checks and the finish. Run with those of :mod:`tests.bench.calibration`.
Where a calculation states a bound, the truth may lie on the safe side of it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

from logic import cards, clamping, compression, face, face_plane, finish, press_fit, ring_gap, rings, sizing, walls
from logic.clamping_force import Stud, grade, thread
from logic.constants import constant
from logic.say import L
from logic.uncertainty import normal_cdf
from logic.wall_gauge import Piece, calibration
from tests.bench.calibrated import Held, Trial

__all__ = ["INTERVALS", "OTHERWISE", "WORLDS"]


# -- walls ----------------------------------------------------------------------------------------
def wall(
    trials: int, seed: int, pieces: int, places: int, set_speed: float | None = None, *, steel: bool = True
) -> Iterator[Trial]:
    """Whether every wall keeps its minimum, of iron whose sound speed is anything its kind has.

    Where nobody says what the gauge is set to it is for ``steel``, else anything from there down to the iron's own speed.
    """
    reach = 0.5 if pieces else 1.8
    sound, for_steel = constant("sound.grey_iron"), constant("sound.steel").value
    for i in range(trials):
        rng = random.Random(f"{seed}/wall/{i}")
        speed = rng.uniform(sound.low, sound.high)
        shown_by = (set_speed or for_steel) / speed
        if set_speed is None and not steel:
            shown_by = 1 / rng.uniform(sound.low / for_steel, 1.0)
        zero = rng.gauss(0, 0.05) if pieces else 0.0
        known = [k * rng.uniform(0.9, 1.1) for k in (5.0, 8.0)[:pieces]]
        tried = [Piece(k + rng.gauss(0, 0.01), k * shown_by + zero + rng.gauss(0, 0.05)) for k in known]
        gauge = calibration(tried, set_speed_m_s=set_speed)
        new = 76.2 + rng.choice((0.508, 0.762, 1.016, 1.524))
        true, put = [], []
        casting = 3.0 + (new - 76.2) / 2 + rng.uniform(-reach, 1.5 * reach)
        for n in range(places):
            t = casting + (rng.gauss(0, 0.3) if places > 1 else 0.0)  # cores lie off by some tenths
            shown = t * shown_by + zero + rng.gauss(0, 0.05)
            read = gauge.correct(shown, 0.05)
            true.append(t)
            put.append(
                walls.WallPlace(
                    name=str(n),
                    angle_deg=90.0 * n,
                    wall_mm=read.value,
                    u_mm=read.u or 0.0,
                    bore_mm=76.2,
                    u_bore_mm=0.005,
                    states=gauge.states(shown),
                )
            )
        boring = walls.Boring(new_mm=new, u_new_mm=0.005, u_shift_mm=0.025)
        found = walls.check(1, put, boring)
        x, y = rng.gauss(0, 0.025), rng.gauss(0, 0.025)
        left = [
            t
            - (new - 76.2 + rng.gauss(0, 0.007)) / 2
            - x * math.cos(math.radians(p.angle_deg))
            - y * math.sin(math.radians(p.angle_deg))
            for t, p in zip(true, put, strict=True)
        ]
        yield Trial(walls.chance_of_all(found.places), all(a >= 3.0 for a in left))


# -- the top face -----------------------------------------------------------------------------------
def lean(trials: int, seed: int, points: int, spread: float = 0.0) -> Iterator[Trial]:
    """Whether a bore leans within its limit; heights known to what is entered, or (``spread``) only about so."""
    corners = [(0.0, -60.0), (0.0, 60.0), (400.0, -60.0), (400.0, 60.0), (200.0, -60.0), (200.0, 60.0)][:points]
    for i in range(trials):
        rng = random.Random(f"{seed}/lean/{i}")
        along, across = (rng.gauss(0, face_plane.USUAL_SLOPE * rng.lognormvariate(0, 0.3)) for _ in "ac")
        u = 0.01 * rng.lognormvariate(0, spread)
        spots = [face_plane.Spot(x, y, 200.0 + along * x + across * y + rng.gauss(0, u)) for x, y in corners]
        found = face.lean(face_plane.survey(spots, u_mm=0.01), cylinder=1, x_mm=100.0, length_mm=130.0, limit_mm=0.03)
        yield Trial(found.chance, math.hypot(along, across) * 130.0 <= 0.03)


# -- pistons and clearance ------------------------------------------------------------------------
def piston(trials: int, seed: int) -> Iterator[Held]:
    """A cold piston's size at 20 °C: its 95 % interval against what it is."""
    for i in range(trials):
        rng = random.Random(f"{seed}/piston/{i}")
        row = sizing.ALLOYS["cast"]
        true, there = 76.9, rng.uniform(0, 12)
        alpha = rng.gauss(row.expansion_per_k, row.expansion_u_per_k)
        shown = true * (1 + alpha * (there - 20)) + rng.gauss(0, 0.003)
        size, budget = sizing.measured_piston(
            shown,
            u_reading_mm=0.003,
            piston_c=there + rng.gauss(0, 2.0),
            u_piston_c=2.0,
            alpha_per_k=row.expansion_per_k,
            alpha_u_per_k=row.expansion_u_per_k,
        )
        half = budget.coverage(0.95) * budget.u
        yield Held(abs(size - true) <= half, half)


def running(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the clearance is still above nought when hot, walls and skirts being as warm as they are."""
    for i in range(trials):
        rng = random.Random(f"{seed}/running/{i}")
        bore_mm, piston_mm = 76.962, 76.962 - rng.uniform(0.01, 0.11)
        wall_c, skirt_c = sizing.running_temperatures_c("road")
        found = sizing.running(
            bore_mm=bore_mm,
            piston_mm=piston_mm,
            wall_c=wall_c,
            skirt_c=skirt_c,
            alpha_block_per_k=11e-6,
            alpha_piston_per_k=21e-6,
            alpha_piston_u_per_k=1e-6,
        )
        hot = sizing.running_clearance_mm(
            bore_mm + rng.gauss(0, 0.003),
            piston_mm,
            wall_c + rng.uniform(-15, 15),
            skirt_c + rng.uniform(-15, 15),
            11e-6,
            21e-6 + rng.gauss(0, 1e-6),
        )
        value = found.value
        assert value is not None and value.u is not None
        yield Trial(normal_cdf(value.value / value.u), hot > 0)


# -- rings, compression ------------------------------------------------------------------------------
def gap(trials: int, seed: int) -> Iterator[Trial]:
    """Whether a ring's gap is within its limits, read with feelers in steps of a thou."""
    limits = ring_gap.Limits(least_mm=0.305, widest_mm=0.61)
    for i in range(trials):
        rng = random.Random(f"{seed}/gap/{i}")
        true = rng.uniform(0.2, 0.7)
        read = max(0.0, math.floor((true + rng.gauss(0, 0.01)) / 0.0254 + 0.5) * 0.0254)
        found = rings.check(
            1, 1, L("Top ring"), measured_mm=read, u_mm=ring_gap.feeler_u_mm(0.0254), limits=limits, bore_mm=76.962
        )
        u = ring_gap.feeler_u_mm(0.0254)
        stated = max(0.0, normal_cdf((0.61 - read) / u) - normal_cdf((0.305 - read) / u))
        assert found.value is not None
        yield Trial(stated, 0.305 <= true <= 0.61)


SPACE = compression.Space(
    bore_mm=76.962, stroke_mm=88.9, chamber_cm3=38.0, gasket_bore_mm=79.0, gasket_mm=1.2, deck_mm=0.1, crown_cm3=4.0
)


def _space(rng: random.Random, about: compression.Space) -> compression.Space:
    """A space as it may truly be where ``about`` was measured."""
    d = compression.Doubt()
    off = {name: getattr(about, name) + rng.gauss(0, getattr(d, name)) for name in d.__dataclass_fields__}
    return replace(about, **off)


def squeezed(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the ratio stays below the highest wanted."""
    for i in range(trials):
        rng = random.Random(f"{seed}/ratio/{i}")
        about = replace(SPACE, chamber_cm3=rng.uniform(36.0, 42.0))
        found = compression.compression(SPACE, about, highest=9.2)
        assert found.value is not None and found.value.u is not None
        yield Trial(normal_cdf((9.2 - found.value.value) / found.value.u), compression.ratio(_space(rng, about)) <= 9.2)


def squeezed_within(trials: int, seed: int) -> Iterator[Held]:
    """The 95 % interval of the compression ratio."""
    for i in range(trials):
        rng = random.Random(f"{seed}/within/{i}")
        half = 1.96 * compression.ratio_budget(SPACE, compression.Doubt()).u
        yield Held(abs(compression.ratio(_space(rng, SPACE)) - compression.ratio(SPACE)) <= half, half)


# -- clamps ------------------------------------------------------------------------------------------
def holding(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the clamps hold with the wanted safety, nut factor, friction and force being what they are."""
    for i in range(trials):
        rng = random.Random(f"{seed}/hold/{i}")
        s = Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=rng.uniform(8, 60))
        force, offset = rng.uniform(300, 900), rng.choice((0.0, 90.0))
        found = clamping.holding(
            s,
            force_n=force,
            bore_mm=76.2,
            depth_mm=130.0,
            studs=2,
            offset_mm=offset,
            half_base_mm=60.0,
            grip_radius_mm=50.0,
            friction=0.15,
            friction_u=0.2,
            force_u=0.2,
            axial_share=0.5,
            safety=2.0,
        )
        down = found.down_n * rng.lognormvariate(0, 0.15)
        grip = down * 0.15 * rng.lognormvariate(0, 0.2)
        made = force * rng.lognormvariate(0, 0.2)
        twist = made * (38.1 + offset)
        sliding = 1 / (made / grip + twist / (grip * 50.0))
        tipping = down * 60.0 / (made * 130.0 + 0.5 * made * (38.1 + offset))
        yield Trial(found.chance, min(sliding, tipping) >= 2.0)


def pushed(trials: int, seed: int) -> Iterator[Held]:
    """The force to press a sleeve in against the largest stated, over irons, walls and friction."""
    friction, iron = constant("friction.press_fit"), constant("modulus.grey_iron")
    for i in range(trials):
        rng = random.Random(f"{seed}/push/{i}")
        outside = rng.uniform(70, 100)
        sleeve = press_fit.Sleeve(outside_mm=outside, inside_mm=outside - 2 * rng.uniform(1.5, 3.0), length_mm=130.0)
        found = press_fit.grip_of(
            sleeve,
            wall_mm=5.0,
            u_wall_mm=0.3,
            finished_mm=outside - 4.0,
            interference_mm=None,
            friction=friction.value,
            block=press_fit.GREY_IRON,
        )
        low, high = sleeve.interference_mm
        made = rng.uniform(low, high) + rng.gauss(0, 0.004)
        block = replace(press_fit.GREY_IRON, modulus_mpa=rng.uniform(iron.low, iron.high))
        mine = replace(press_fit.GREY_IRON, modulus_mpa=iron.value * rng.gauss(1, 0.05))
        p = press_fit.contact_pressure_mpa(
            made, outside - made, sleeve.inside_mm, outside + 2 * rng.uniform(4, 12), mine, block
        )
        force = press_fit.push_force_n(p, outside, 130.0, rng.uniform(friction.low, friction.high))
        yield Held(force <= found.push_high_n, found.push_high_n)


# -- instruments and finish -----------------------------------------------------------------------------
def instrument(trials: int, seed: int, checks: int) -> Iterator[Trial]:
    """Whether an instrument's error is within its limit, by so many checks; how well they repeat is not known beforehand."""
    for i in range(trials):
        rng = random.Random(f"{seed}/card/{i}")
        error, spread = rng.gauss(0, 0.004), 0.00075 * rng.lognormvariate(0, 0.5)
        master = rng.gauss(0, 0.001)
        made = [
            cards.Check(30.0 * k, round((error - master + rng.gauss(0, spread)) / 0.001) * 0.001) for k in range(checks)
        ]
        found = cards.errors(made, division_mm=0.001, limit_mm=0.005, master_u_mm=0.001)
        yield Trial(found.chance, abs(error) <= 0.005)


def rough(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the finish is within its limits."""
    limits = {"ra": finish.Limits(0.4, 0.8)}
    for i in range(trials):
        rng = random.Random(f"{seed}/rough/{i}")
        true = rng.uniform(0.25, 1.1)
        found = finish.judged({"ra": true * rng.lognormvariate(0, 0.06)}, limits, 0.06)
        assert found is not None
        yield Trial(found.chances["ra"], 0.4 <= true <= 0.8)


WORLDS: dict[str, Callable[[int], Iterator[Trial]]] = {
    "wall, gauge tried on one piece": lambda n: wall(n, 1, 1, 1),
    "wall, gauge tried on two pieces": lambda n: wall(n, 2, 2, 1),
    "walls all round, gauge tried on one piece": lambda n: wall(n, 3, 1, 4),
    "wall, gauge not tried, speed set known": lambda n: wall(n, 4, 0, 1, 4600.0),
    "wall, gauge not tried": lambda n: wall(n, 5, 0, 1, steel=False),
    "walls all round, gauge not tried": lambda n: wall(n, 5, 0, 4, steel=False),
    "lean, four heights": lambda n: lean(n, 6, 4),
    "lean, three heights": lambda n: lean(n, 7, 3),
    "lean, four heights, their error only about known": lambda n: lean(n, 8, 4, 0.4),
    "running clearance": lambda n: running(n, 9),
    "ring gap": lambda n: gap(n, 10),
    "compression below the highest": lambda n: squeezed(n, 11),
    "clamps hold": lambda n: holding(n, 12),
    "instrument within its limit, one check": lambda n: instrument(n, 13, 1),
    "instrument within its limit, two checks": lambda n: instrument(n, 14, 2),
    "instrument within its limit, five checks": lambda n: instrument(n, 15, 5),
    "finish within its limits": lambda n: rough(n, 16),
}
INTERVALS: dict[str, Callable[[int], Iterator[Held]]] = {
    "cold piston's size at 20 °C, mm": lambda n: piston(n, 20),
    "compression ratio": lambda n: squeezed_within(n, 21),
    "force to press a sleeve in, upper bound, N": lambda n: pushed(n, 22),
}
#: Worlds other than the one a chance is stated for: what it is worth to find out.
OTHERWISE: dict[str, Callable[[int], Iterator[Trial]]] = {
    "wall, gauge not tried, set for steel after all": lambda n: wall(n, 5, 0, 1),
}
