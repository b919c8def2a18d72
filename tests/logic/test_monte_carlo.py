"""From raw readings to verdict by Monte Carlo (JCGM 101:2008), beside the closed forms the phone works with.

Each module's own tests check its own formula. Here the whole way is simulated: gauge
divisions, repeatability, master, temperatures and expansions are drawn from their own
distributions (rectangular where they are rectangular), put through the geometry written
out again in NumPy, and the answer is counted. What is compared is what a person reads:
a probability, or a standard uncertainty. Tolerances: 0.015 on a probability (0.004 of it
is the draws themselves, three standard deviations at 2e5 draws; the rest is that rectangular errors are taken as normal
and that the greatest of several readings is taken as normal), 2 % on a standard
uncertainty, and 0.3 µm on a mean.
"""

import math

import numpy as np
import pytest
from scipy import stats

from logic.bore import WornBore
from logic.cleanup import BoreLean, WearSide, clean_up
from logic.compression import Doubt, Space, piston_gap, ratio, ratio_budget
from logic.face import Spot as Height
from logic.face import lean, survey
from logic.fitting import Piston, pair_up
from logic.oversize import choose
from logic.rings import Limits, check, feeler_u_mm, ring_name
from logic.sizing import finished, measured_piston
from logic.temperature import bore_at_20
from logic.uncertainty import reading_budget
from logic.verify import Spot, finished_bore
from logic.walls import Boring, WallPlace, wall_after

from .bores_made import priors

N = 200_000
P = 0.015  # on a probability
THOU = 0.0254

# One gauge on one day (invented): a two-thou-per-turn dial read to 0.0001 in, zeroed indoors, block in the sun.
DAY = {
    "division_mm": 0.00254,
    "repeatability_mm": 0.003,
    "master_u_mm": 0.0015,
    "block_c": 33.0,
    "block_u_c": 2.0,
    "gauge_c": 24.0,
    "gauge_u_c": 1.0,
    "alpha_block_per_k": 11e-6,
    "alpha_u_per_k": 0.6e-6,
    "alpha_gauge_per_k": 11.5e-6,
    "alpha_gauge_u_per_k": 0.6e-6,
}
ZERO = 76.2


class Day:
    """The errors that all readings of one session share, drawn once for each trial."""

    def __init__(self, rng, **day):
        self.rng, self.d = rng, DAY | day
        d = self.d
        self.block = rng.normal(d["block_c"], d["block_u_c"], N)
        self.gauge = rng.normal(d["gauge_c"], d["gauge_u_c"], N)
        self.alpha = rng.normal(d["alpha_block_per_k"], d["alpha_u_per_k"], N)
        self.alpha_gauge = rng.normal(d["alpha_gauge_per_k"], d["alpha_gauge_u_per_k"], N)
        self.zero = rng.normal(ZERO, d["master_u_mm"], N) + self._rounding()

    def _rounding(self):
        half = self.d["division_mm"] / 2
        return self.rng.uniform(-half, half, N)

    def diameter(self, shown_mm):
        """What a reading of ``shown_mm`` over the zero may truly be, at 20 °C."""
        reading = shown_mm + self._rounding() + self.rng.normal(0, self.d["repeatability_mm"], N)
        warm = self.zero * (1 + self.alpha_gauge * (self.gauge - 20)) + reading
        return warm / (1 + self.alpha * (self.block - 20))


def at_20(shown_mm):
    return bore_at_20(
        zero_mm=ZERO,
        deviation_mm=shown_mm,
        block_c=33.0,
        alpha_block_per_k=11e-6,
        master_c=24.0,
        alpha_master_per_k=11.5e-6,
    )


def budget(size_mm=76.6):
    return reading_budget(size_mm=size_mm, **DAY)


# Dial readings over 76.2 mm in thou, depths 12, 50, 90, 125 mm (the last below ring travel), thrust then crank.
GRIDS = {
    1: ((6.1, 4.0), (3.9, 2.8), (2.6, 2.0), (0.6, 0.5)),
    2: ((7.2, 4.9), (4.1, 3.2), (2.5, 2.2), (0.5, 0.7)),
    3: ((14.6, 6.2), (7.9, 4.0), (4.0, 2.7), (0.6, 0.6)),
    4: ((6.6, 4.4), (4.2, 3.0), (2.7, 2.3), (0.7, 0.5)),
}
DEPTHS = (12.0, 50.0, 90.0, 125.0)
AXES = ("thrust", "crank")


def worn(cylinder, grid=None):
    grid = grid or GRIDS[cylinder]
    b = budget()
    return WornBore(
        cylinder=cylinder,
        depths_mm=DEPTHS,
        axes=AXES,
        d_mm=tuple(tuple(at_20(t * THOU) for t in row) for row in grid),
        u_mm=b.u_own,
        u_common_mm=b.u_shared,
        ring_top_mm=10.0,
        ring_bottom_mm=110.0,
        length_mm=140.0,
        nominal_mm=76.2,
    )


def drawn_clean_up(rng, day, grid, lean_draw=None, u_centring=0.005):
    """D_clean for each trial: the wall worked out point by point from the definition in logic/cleanup."""
    cells = {
        (z, a): day.diameter(t * THOU)
        for z, row in zip(DEPTHS, grid, strict=False)
        for a, t in zip(AXES, row, strict=False)
    }
    below = [cells[125.0, a] for a in AXES]
    # two readings below the rings may differ by more than chance: half their spread counts too
    spread = abs(grid[-1][0] - grid[-1][1]) * THOU / math.sqrt(12)
    unworn = (below[0] + below[1]) / 2 + rng.normal(0, spread, N)
    share = rng.uniform(0.5, 1.0, N)
    tx, ty = rng.normal(0, u_centring, N), rng.normal(0, u_centring, N)
    most = np.full(N, -np.inf)
    for (z, a), d in cells.items():
        wear = d - unworn
        t = tx if a == "thrust" else ty
        if lean_draw is not None:
            t = t + lean_draw[a] * z / 140.0
        most = np.maximum(most, np.maximum(share * wear - t, (1 - share) * wear + t))
    return unworn + 2 * most


# -- clean-up and oversize -------------------------------------------------------------------
def test_probability_of_each_step_from_dial_readings_to_verdict():
    rng = np.random.default_rng(101)
    steps = (0.254, 0.508, 0.762)
    got = choose([clean_up(worn(c), WearSide()) for c in GRIDS], nominal_mm=76.2, steps=steps, hone_stock_mm=0.0762)
    day = Day(rng)
    drawn = {c: drawn_clean_up(rng, day, g) for c, g in GRIDS.items()}
    assert got.governing == 3
    for step in steps:
        row = got.step(step)
        bored = 76.2 + step - 0.0762
        clean = {c: rng.normal(bored, got.u_bored_mm, N) >= d for c, d in drawn.items()}
        for cylinder, chance in row.chances:
            assert chance == pytest.approx(clean[cylinder].mean(), abs=P), (step, cylinder)
        assert row.probability == pytest.approx(np.logical_and.reduce(list(clean.values())).mean(), abs=P), step
    # the smallest bored size that is 95 % sure
    worst = np.maximum.reduce(list(drawn.values())) + rng.normal(0, got.u_bored_mm, N)
    assert got.needed_mm == pytest.approx(np.quantile(worst, 0.95), abs=0.003)


def test_clean_up_of_a_bore_on_a_face_out_of_square():
    rng = np.random.default_rng(102)
    heights = [
        Height(x, y, 205.0 + 0.0003 * x - 0.0002 * y + e)
        for x, y, e in (
            (20, -60, 0.002),
            (20, 60, -0.003),
            (200, -60, 0.001),
            (200, 60, 0.002),
            (380, -60, -0.002),
            (380, 60, 0.001),
        )
    ]
    face = survey(heights, u_mm=0.008)
    tilt = lean(face, cylinder=3, x_mm=260, length_mm=140)
    got = clean_up(
        worn(3), WearSide(), BoreLean(tilt.across_mm, tilt.along_mm, max(tilt.u_along_mm, tilt.u_across_mm), 140.0)
    )
    # the face fitted again for each trial by NumPy's least squares
    xs, ys = np.array([h.x_mm for h in heights]), np.array([h.y_mm for h in heights])
    columns = np.column_stack([np.ones(6), xs, ys] + ([(xs - 200.0) ** 2] if face.bowed else []))
    z = np.array([h.height_mm for h in heights])[:, None] + rng.normal(0, face.spread_mm, (6, N))
    fit = np.linalg.lstsq(columns, z, rcond=None)[0]
    along = fit[1] + (2 * (260 - 200.0) * fit[3] if face.bowed else 0)
    assert tilt.along_mm == pytest.approx(140 * along.mean(), abs=3e-4)
    assert tilt.u_along_mm == pytest.approx(140 * along.std(), rel=0.02)
    assert tilt.u_across_mm == pytest.approx(140 * fit[2].std(), rel=0.02)
    sign = rng.choice([-1, 1], N)
    day = Day(rng)
    drawn = drawn_clean_up(rng, day, GRIDS[3], {"thrust": sign * 140 * fit[2], "crank": sign * 140 * along})
    for p in (0.25, 0.5, 0.75, 0.95):
        size = float(np.quantile(drawn, p))
        assert got.probability(size) == pytest.approx(p, abs=0.02)


# -- walls ---------------------------------------------------------------------------------
def test_wall_after_boring_from_distances_in_the_plane():
    """The wall at a place is the distance from the new circle to the water side, worked out in x and y."""
    rng = np.random.default_rng(103)
    wall, old, new, minimum, at = 3.9, 76.38, 76.962, 3.45, math.radians(70)
    place = WallPlace(
        name="thrust side",
        angle_deg=70,
        wall_mm=wall,
        u_mm=0.06,
        bore_mm=old,
        u_bore_mm=0.005,
        wear_mm=0.18,
        minimum_mm=minimum,
    )
    boring = Boring(
        new_mm=new, u_new_mm=0.006, shift_mm=0.05, shift_deg=120, u_shift_mm=0.025, lean_mm=0.06, lean_deg=70
    )
    got = wall_after(place, boring)
    direction = np.array([math.cos(at), math.sin(at)])
    # the old wall stands off-centre by up to half the wear either way; the water side lies a wall beyond it
    side = rng.uniform(-0.18 / 2, 0.18 / 2, N)
    old_radius = rng.normal(old, 0.005, N) / 2 + side
    water = (old_radius + rng.normal(wall, 0.06, N))[:, None] * direction
    centre = rng.normal(0, 0.025, (N, 2)) + 0.05 * np.array([math.cos(math.radians(120)), math.sin(math.radians(120))])
    centre += (
        rng.uniform(0, 0.06, N)[:, None] * direction
    )  # where along the leaning bore the reading was taken is not known
    left = np.linalg.norm(water - centre, axis=1) - rng.normal(new, 0.006, N) / 2
    assert got.after.value == pytest.approx(left.mean(), abs=5e-4)
    assert got.after.u == pytest.approx(left.std(), rel=0.02)
    assert got.chance == pytest.approx((left >= minimum).mean(), abs=P)


# -- final size ---------------------------------------------------------------------------
def test_finished_bore_from_dial_readings_to_verdict():
    rng = np.random.default_rng(104)
    # readings over a zero set at 76.95 mm, in mm; the limits of the finished size
    shown = {
        (d, a): v
        for d, row in enumerate(((0.021, 0.024), (0.020, 0.022), (0.017, 0.021)), 1)
        for a, v in zip(AXES, row, strict=False)
    }
    target, tolerance, round_limit, taper_limit = 76.962, 0.009, 0.0075, 0.0080
    b = reading_budget(size_mm=target, **DAY)
    zero = 76.95

    def closed(deviation):
        return bore_at_20(
            zero_mm=zero,
            deviation_mm=deviation,
            block_c=33.0,
            alpha_block_per_k=11e-6,
            master_c=24.0,
            alpha_master_per_k=11.5e-6,
        )

    spots = [Spot(d, a, depth_mm=30.0 * d, d_mm=closed(v)) for (d, a), v in shown.items()]
    got = finished_bore(
        cylinder=1,
        spots=spots,
        target_mm=target,
        lower_mm=target - tolerance,
        upper_mm=target + tolerance,
        round_limit_mm=round_limit,
        taper_limit_mm=taper_limit,
        u_own_mm=b.u_repeat,
        u_fixed_mm=b.u_fixed,
        u_shared_mm=b.u_shared,
    )
    day = Day(rng)
    day.zero = day.zero - ZERO + zero
    drawn = {k: day.diameter(v) for k, v in shown.items()}
    every = np.array(list(drawn.values()))
    assert got.value.value == pytest.approx(every.mean(), abs=3e-4)
    assert got.value.u == pytest.approx(every.mean(axis=0).std(), rel=0.02)
    # the bores that the day allows, weighted by how likely such bores are made (JCGM 106:2012, 6)
    places = list(drawn)
    likely = sum(
        chance * stats.multivariate_normal.pdf(every.T - target, np.zeros(6), covariance)
        for chance, covariance in priors([d - 2 for d, _ in places], [a for _, a in places])
    )
    size = np.average((np.abs(every - target) <= tolerance).all(axis=0), weights=likely)
    roundness = np.average(
        np.all([np.abs(drawn[d, "thrust"] - drawn[d, "crank"]) <= round_limit for d in (1, 2, 3)], axis=0),
        weights=likely,
    )
    by_axis = [np.array([drawn[d, a] for d in (1, 2, 3)]) for a in AXES]
    taper = np.average(np.all([np.ptp(x, axis=0) <= taper_limit for x in by_axis], axis=0), weights=likely)
    chances = {a.key: a.chance for a in got.aspects}
    assert 0.05 < size < 0.995 and 0.05 < roundness < 0.995 and 0.05 < taper < 0.995  # a test that decides something
    assert chances["size"] == pytest.approx(size, abs=P)
    assert chances["round"] == pytest.approx(roundness, abs=P)
    assert chances["taper"] == pytest.approx(taper, abs=P)


# -- clearance, rings, compression ------------------------------------------------------------
def test_finished_size_and_clearance_of_a_piston_measured_cold_in_a_bore_measured_warm():
    rng = np.random.default_rng(105)
    size, doubt = measured_piston(
        76.88, u_reading_mm=0.0025, piston_c=9.0, u_piston_c=1.5, alpha_per_k=20e-6, alpha_u_per_k=1.2e-6
    )
    piston = Piston(number=1, size_mm=size, u_mm=doubt.u)
    b = budget(76.95)
    bore = at_20(0.7650)
    low, high = 0.038, 0.064
    got = pair_up([piston], {1: bore}, clearance_mm=0.0508, low_mm=low, high_mm=high, u_bore_mm=b.u)
    cold = rng.normal(76.88, 0.0025, N) / (1 + rng.normal(20e-6, 1.2e-6, N) * (rng.normal(9.0, 1.5, N) - 20))
    clearance = Day(rng).diameter(0.7650) - cold
    aimed = finished(1, piston_mm=size, clearance_mm=0.0508, hone_stock_mm=0.0762, piston=doubt, u_clearance_mm=0.003)
    wanted = cold + rng.normal(0.0508, 0.003, N)
    assert aimed.finished_mm == pytest.approx(wanted.mean(), abs=3e-4)
    assert aimed.u_mm == pytest.approx(wanted.std(), rel=0.02)
    pair = got.pairs[0]
    assert pair.clearance_mm == pytest.approx(clearance.mean(), abs=3e-4)
    assert pair.u_mm == pytest.approx(clearance.std(), rel=0.02)
    # each clearance that the readings allow, weighed by how often honing comes out there
    made = 0.9 * stats.norm.pdf(clearance, 0.0508, 0.01) + 0.1 * stats.norm.pdf(clearance, 0.0508, 0.05)
    inside = np.average((clearance >= low) & (clearance <= high), weights=made)
    assert 0.1 < inside < 0.99
    assert pair.within == pytest.approx(inside, abs=P)


def test_a_ring_gap_read_with_feelers_in_another_bore():
    rng = np.random.default_rng(106)
    limits = Limits(least_mm=0.3084, widest_mm=0.62)
    got = check(
        1,
        1,
        ring_name(1, 2, rails=True),
        measured_mm=0.24,
        u_mm=feeler_u_mm(0.0254, 0.01),
        limits=limits,
        bore_mm=76.962,
        measured_bore_mm=76.936,
        u_bore_mm=0.005,
    )
    gap = (
        0.24
        + rng.uniform(-0.0127, 0.0127, N)
        + rng.normal(0, 0.01, N)
        + math.pi * rng.normal(76.962 - 76.936, 0.005, N)
    )
    assert got.u_mm == pytest.approx(gap.std(), rel=0.02)
    assert got.confidence == pytest.approx((gap >= limits.least_mm).mean(), abs=P)


def test_compression_ratio_and_piston_to_head():
    rng = np.random.default_rng(107)
    space = Space(
        bore_mm=76.962,
        stroke_mm=88.9,
        chamber_cm3=36.0,
        gasket_bore_mm=78.5,
        gasket_mm=0.95,
        deck_mm=0.12,
        crown_cm3=-1.5,
    )
    doubt = Doubt()
    draw = {k: rng.normal(getattr(space, k), getattr(doubt, k), N) for k in Space.__slots__}
    disc = lambda d, h: np.pi / 4 * d**2 * h / 1000  # noqa: E731
    left = (
        draw["chamber_cm3"]
        + disc(draw["gasket_bore_mm"], draw["gasket_mm"])
        + disc(draw["bore_mm"], draw["deck_mm"])
        + draw["crown_cm3"]
    )
    ratios = 1 + disc(draw["bore_mm"], draw["stroke_mm"]) / left
    assert ratio(space) == pytest.approx(ratios.mean(), abs=0.002)
    assert ratio_budget(space, doubt).u == pytest.approx(ratios.std(), rel=0.02)
    gap = piston_gap(space)
    assert gap.value.u == pytest.approx((draw["gasket_mm"] + draw["deck_mm"]).std(), rel=0.02)
    held = (draw["gasket_mm"] + draw["deck_mm"] >= 1.016).mean()
    assert gap.verdict == "measure again" and gap.confidence == pytest.approx(held, abs=P)
