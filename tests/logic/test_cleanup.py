"""The clean-up diameter against generated bores, SciPy and Monte Carlo.

Outside checks: wall outlines made of true circles, whose enclosing circle is found by
SciPy's optimiser; ``scipy.stats`` for the conformance probability of JCGM 106:2012,
clause 7; a Monte Carlo propagation as in JCGM 101:2008 for the distribution; Clark's
moments (Operations Research 9, 1961) against simulated greatest values.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from logic.bore import WornBore
from logic.cleanup import (
    BoreLean,
    CleanUp,
    Piece,
    WearSide,
    clean_up,
    from_sweep,
    needed_together,
    together,
)
from logic.cleanup_told import describe
from logic.placing import Wall, _at, _at_one, _lines, greatest, placed, standard_misses
from logic.say import say

D0 = 76.20
DEPTHS = (15.0, 60.0, 120.0)


def bore(rows=((76.45, 76.34), (76.33, 76.28), (76.20, 76.20)), **more):
    kept = {
        "cylinder": 1,
        "depths_mm": DEPTHS,
        "ring_top_mm": DEPTHS[0],  # the first reading stands where travel starts
        "axes": ("thrust", "crank"),
        "u_mm": 0.002,
        "u_common_mm": 0.002,
        "stated_unworn_mm": D0,
        "stated_u_mm": 0.003,
    }
    return WornBore(**{**kept, "d_mm": tuple(tuple(r) for r in rows), **more})


# -- geometry ------------------------------------------------------------------------
def outline(angle, share, wear):
    """Distance from the unworn axis to a wall worn as two displaced circles, one on each thrust side."""
    r0 = D0 / 2

    def circle(shift):
        return shift * np.cos(angle) + np.sqrt(r0**2 - (shift * np.sin(angle)) ** 2)

    return np.maximum(r0, np.maximum(circle(share * wear), circle(-(1 - share) * wear)))


def brute_force_mm(share, wear, bar_shift):
    """D_clean by search: the farthest wall point from the bar's axis, found by SciPy."""

    def away(angle):
        r = outline(angle, share, wear)
        return -np.hypot(r * np.cos(angle) - bar_shift, r * np.sin(angle))

    grid = np.linspace(0, 2 * np.pi, 721)
    best = grid[np.argmin(away(grid))]
    found = optimize.minimize_scalar(
        away, bounds=(best - 0.01, best + 0.01), method="bounded", options={"xatol": 1e-10}
    )
    return -2 * found.fun


@pytest.mark.parametrize("share", [0.5, 0.62, 0.8, 1.0])
@pytest.mark.parametrize("bar_shift", [0.0, 0.06, 0.125, 0.20])
def test_formula_against_a_generated_wall(share, bar_shift):
    wear = 0.25
    diameter = float(outline(0.0, share, wear) + outline(np.pi, share, wear))
    assert diameter == pytest.approx(D0 + wear, abs=1e-12)  # what a two-point gauge reads
    worn = bore(((diameter, D0),), depths_mm=(15.0,))
    side = WearSide(known="swept", offset_mm=(share - 0.5) * wear, bar_shift_mm=bar_shift)
    got = clean_up(worn, side)
    # across the thrust axis the wall is 0.2 µm nearer than flat geometry says
    assert got.low_mm == got.high_mm == pytest.approx(brute_force_mm(share, wear, bar_shift), abs=5e-4)


def test_lean_against_points_on_a_tilted_cylinder():
    """An unworn bore leaning 0.10 mm over its length, the bar centred at the bottom."""
    length, lean = 130.0, 0.10
    z, angle = np.meshgrid(np.linspace(0, length, 27), np.linspace(0, 2 * np.pi, 361))
    centre = lean * (z - length) / length
    x, y = centre + D0 / 2 * np.cos(angle), D0 / 2 * np.sin(angle)
    points = 2 * np.max(np.hypot(x, y))
    worn = bore(((D0, D0),) * 3)
    got = clean_up(worn, WearSide(known="even"), BoreLean(lean, 0.0, 0.0, length, centred_mm=length))
    assert got.low_mm == got.high_mm == pytest.approx(points, abs=1e-6) == pytest.approx(D0 + 2 * lean)


def test_lean_helps_or_hurts_where_the_side_is_not_known():
    lean = BoreLean(0.05, 0.0, 0.0, 120.0, centred_mm=120.0)
    plain, leaning = clean_up(bore(), WearSide(known="one side")), clean_up(bore(), WearSide(known="one side"), lean)
    felt = 2 * 0.05 * (120 - 15) / 120
    assert leaning.high_mm == pytest.approx(plain.high_mm + felt)
    assert leaning.low_mm == pytest.approx(plain.high_mm - felt)


def test_range_of_the_handbook():
    """Even: D_worn,max. One side: D_unworn + 2 (D_worn,max − D_unworn)."""
    assert clean_up(bore(), WearSide(known="even")).low_mm == pytest.approx(76.45)
    assert clean_up(bore(), WearSide(known="one side")).high_mm == pytest.approx(76.70)
    unknown = clean_up(bore())
    assert (unknown.low_mm, unknown.high_mm) == (pytest.approx(76.45), pytest.approx(76.70))
    assert unknown.cell == (15.0, "thrust")
    swept = clean_up(bore(), WearSide(known="swept", offset_mm=0.05))
    assert swept.low_mm == swept.high_mm == pytest.approx(76.55)
    # set over by half the wear, a one-sided bore needs no more than its diameter
    thrust_only = bore(((76.45, D0), (76.33, D0), (D0, D0)))
    assert clean_up(thrust_only, WearSide(known="one side", bar_shift_mm=0.125)).high_mm == pytest.approx(76.45)


def test_one_sided_thrust_leaves_the_crank_line_unknown():
    worn = bore(((76.30, 76.45), (76.25, 76.30), (76.20, 76.20)))
    got = clean_up(worn, WearSide(known="one side"))
    assert (got.low_mm, got.high_mm) == (pytest.approx(76.45), pytest.approx(76.70))
    assert got.cell == (15.0, "crank")


def test_unworn_bore_needs_its_own_size():
    got = clean_up(bore(((D0, D0), (D0, D0), (D0, D0))))
    assert got.low_mm == got.high_mm == pytest.approx(D0)


# -- probability ---------------------------------------------------------------------
def test_fixed_share_is_the_normal_conformance_probability():
    """JCGM 106:2012, 7.2: P = Φ((limit − value)/u), from scipy.stats."""
    swept = from_sweep(1, 76.60, 0.006, worst_mm=76.45, unworn_mm=D0, u_common_mm=0.003)
    for bored, u in ((76.60, 0.0), (76.61, 0.004), (76.585, 0.004), (76.64, 0.01)):
        expected = stats.norm.cdf(bored, 76.60, math.sqrt(0.006**2 + 0.003**2 + u**2))
        assert swept.probability(bored, u) == pytest.approx(expected, abs=1e-9)
    assert swept.needed_mm(0.95) == pytest.approx(stats.norm.ppf(0.95, 76.60, math.hypot(0.006, 0.003)), abs=1e-4)


def test_a_piece_is_a_rectangle_blurred_by_a_normal():
    def chance(piece: Piece, x: float) -> float:
        return CleanUp(
            cylinder=1, low_mm=piece.low_mm, high_mm=piece.high_mm, pieces=(piece,), worst_mm=76.4, unworn_mm=76.2
        ).probability(x)

    piece = Piece(1.0, 76.45, 76.70, 0.007, 0.0)
    for x in (76.43, 76.46, 76.60, 76.69, 76.72):
        expected, _ = integrate.quad(
            lambda a: stats.norm.cdf((x - a) / 0.007) / 0.25, 76.45, 76.70, points=[min(max(x, 76.45), 76.70)]
        )
        assert chance(piece, x) == pytest.approx(expected, abs=1e-8)
    assert chance(Piece(1.0, 76.4, 76.4, 0.0, 0.0), 76.4) == pytest.approx(1.0, abs=1e-8)
    assert chance(Piece(1.0, 76.4, 76.6, 0.0, 0.0), 76.45) == pytest.approx(0.25)


def test_greatest_of_uncertain_readings():
    """Clark's moments against a simulated greatest value (exact for two, close for four)."""
    rng = np.random.default_rng(7)
    for means, sds in (([0.0, 0.001], [0.004, 0.003]), ([0.0, 0.002, -0.003, 0.001], [0.004] * 4)):
        draws = rng.normal(means, sds, size=(400_000, len(means))).max(axis=1)
        mean, sd = greatest(list(zip(means, sds, strict=False)))
        assert mean == pytest.approx(draws.mean(), abs=1.5e-5 if len(means) == 2 else 6e-5)
        assert sd == pytest.approx(draws.std(), abs=1.5e-5 if len(means) == 2 else 6e-5)


@pytest.mark.parametrize(("end", "u_mm"), [(0.01, (0.02, 0.01)), (0.05, (0.1, 0.1)), (0.0, (0.0, 0.03))])
def test_one_reading_is_weighed_as_one_of_many_is(end, u_mm):
    """The quicker way for one reading, and the way for any number of them, to the last bit."""
    ends = (end, 0.0)
    (line,) = _lines([Wall(0.6, 0.8, 76.27, 76.25, 0.004)])
    any_number = [_at([line], [], D0, ends, x * u_mm[0], y * u_mm[1]) for x, y in standard_misses()]
    assert _at_one(line, D0, ends, u_mm) == any_number


@pytest.mark.parametrize("u_mm", [(0.02, 0.01), (0.1, 0.1), (0.0, 0.03)])
@pytest.mark.parametrize(("need", "across"), [(76.30, 76.28), (76.25, 76.31), (76.21, 76.21)])
def test_one_reading_alone_needs_what_many_simulated_bars_need(u_mm, need, across):
    """The mean cut over 40,000 simulated misses of the bar and errors of the reading: the greatest of what the worn
    wall, the wall across from it and the bore's ends need."""
    u_read, end = 0.004, 0.01
    found = placed([Wall(1.0, 0.0, need, across, u_read)], D0, u_mm, (0.0, end))
    chance = np.random.default_rng(7)
    ex, ey = chance.normal(0.0, u_mm[0], 40_000), chance.normal(0.0, u_mm[1], 40_000)
    wall = np.maximum(need - 2 * ex, across + 2 * ex) + chance.normal(0.0, u_read, 40_000)
    cut = np.maximum(wall, D0 + 2 * np.hypot(ex, end + ey))
    parts = sum(p.share * (p.low_mm + p.high_mm) / 2 for p in found.parts)
    mean = found.plain * found.mean_mm + (1 - found.plain) * parts
    assert mean == pytest.approx(cut.mean(), abs=0.02 * max(u_mm) + 4 * cut.std() / 200)


def monte_carlo(worn, side, lean, n=200_000, seed=11, common=None):
    """JCGM 101: draw every input, work D_clean out from the definition for each draw."""
    rng = np.random.default_rng(seed)
    shared = rng.normal(0, worn.u_common_mm, n) if common is None else common * worn.u_common_mm
    d0 = rng.normal(worn.unworn.mm, worn.unworn.u_mm, n)
    if worn.unworn.source != "stated":
        d0 = d0 + shared
    v = rng.random(n)
    sign = rng.choice([-1, 1], n)
    unit = (0.5, 1.0)
    u = np.hypot(side.u_centring_mm, 0.0 if lean is None else lean.u_mm * lean.lever(worn.worst.depth_mm))
    miss = rng.normal(0, u, (n, 2))  # where the spindle stands, from where it is meant to
    if side.known == "swept":
        miss[:, 0] += rng.normal(0, side.u_offset_mm, n)
    farthest = np.hypot(*(_moved(side, lean, sign, _worst_end(lean)) + miss).T)
    need = {}  # by depth: radius beyond the unworn one in each of the four directions
    for c in worn.cells:
        d = rng.normal(c.d_mm, worn.u_mm, n) + shared
        w = d - d0
        if side.known == "even":
            share = 0.5
        elif side.known == "swept":
            share = 0.5 + side.offset_mm / worn.wear_mm
        elif side.known == "one side" and c.axis != "crank":
            share = 1.0
        else:
            share = unit[0] + v * (unit[1] - unit[0])
        k = ("thrust", "crank").index(c.axis)
        need.setdefault(c.depth_mm, {}).update({(k, 1): share * w, (k, -1): (1 - share) * w})
    for depth, walls in need.items():
        stands = _moved(side, lean, sign, 0.0 if lean is None else lean.lever(depth)) + miss
        farthest = np.maximum(farthest, _farthest(walls, stands))
    return d0 + 2 * farthest


def _moved(side, lean, sign, lever):
    """How far the bar is meant to stand from the unworn bore's axis, where the lean has this lever."""
    moved = np.zeros((len(sign), 2))
    moved[:, 0] = side.bar_shift_mm
    if lean is not None:
        moved += sign[:, None] * lever * np.array([lean.across_mm, lean.along_mm])
    return moved


def _worst_end(lean):
    """The lever of the lean at the end of the bore where it is most."""
    return 0.0 if lean is None else max((lean.lever(0.0), lean.lever(lean.length_mm)), key=abs)


def _farthest(walls, stands):
    """How far from the bar the wall stands at most beyond the unworn radius, all round one depth."""
    biggest = np.full(len(stands), -np.inf)
    for a in np.radians(np.arange(0, 360, 5)):  # an oval wall: cos² and sin² between neighbours a quarter apart
        x, y = np.cos(a), np.sin(a)
        r = x * x * walls[0, 1 if x > 0 else -1] + y * y * walls[1, 1 if y > 0 else -1]
        biggest = np.maximum(biggest, r - stands[:, 0] * x - stands[:, 1] * y)
    return biggest


CASES = {
    "unknown": (bore(), WearSide(), None),
    "unknown, smallest reading": (bore(stated_unworn_mm=None), WearSide(), None),
    "even": (bore(), WearSide(known="even"), None),
    "one side": (bore(), WearSide(known="one side"), None),
    "swept": (bore(), WearSide(known="swept", offset_mm=0.06, u_offset_mm=0.006), None),
    "set over": (bore(), WearSide(bar_shift_mm=0.05), None),
    "leaning": (bore(), WearSide(), BoreLean(0.04, 0.01, 0.004, 130.0, 130.0)),
    "leaning, even": (bore(), WearSide(known="even"), BoreLean(0.02, 0.03, 0.004, 130.0, 130.0)),
    "leaning, worn alike all round": (
        bore(((76.45, 76.44), (76.3, 76.3), (76.2, 76.2))),
        WearSide(known="even", u_centring_mm=0.01),
        BoreLean(0.02, 0.02, 0.004, 130.0, 130.0),
    ),
    "leaning, hardly worn": (
        bore(((76.25, 76.24), (76.22, 76.21), (76.2, 76.2))),
        WearSide(known="even", u_centring_mm=0.01),
        BoreLean(0.02, 0.02, 0.004, 130.0, 130.0),
    ),
    "two alike": (bore(((76.449, 76.45), (76.45, 76.448), (76.20, 76.20)), u_mm=0.004), WearSide(), None),
}


@pytest.mark.parametrize("name", CASES)
def test_distribution_against_monte_carlo(name):
    worn, side, lean = CASES[name]
    got, drawn = clean_up(worn, side, lean), monte_carlo(worn, side, lean)
    assert got.mean_mm == pytest.approx(drawn.mean(), abs=6e-4)
    assert got.u_mm == pytest.approx(drawn.std(), rel=0.03)
    for p in (0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99):
        x = float(np.quantile(drawn, p))
        assert got.probability(x) == pytest.approx(p, abs=0.015)  # a half-normal kept as eight rectangles
    assert got.needed_mm(0.95) == pytest.approx(np.quantile(drawn, 0.95), abs=0.0015)


def test_together_against_monte_carlo_with_a_shared_error():
    pairs = [
        CASES["even"][:2],
        (bore(((76.445, 76.33), (76.3, 76.3), (76.2, 76.2)), cylinder=2), WearSide(known="even")),
    ]
    worn = [(w if i else bore(u_common_mm=0.008), s) for i, (w, s) in enumerate(pairs)]
    worn[1] = (bore(((76.445, 76.33), (76.3, 76.3), (76.2, 76.2)), cylinder=2, u_common_mm=0.008), worn[1][1])
    cleanups = [clean_up(w, s) for w, s in worn]
    z = np.random.default_rng(3).normal(0, 1, 200_000)
    draws = [monte_carlo(w, s, None, seed=20 + i, common=z) for i, (w, s) in enumerate(worn)]
    for bored in (76.44, 76.455, 76.47):
        expected = np.mean((draws[0] <= bored) & (draws[1] <= bored))
        assert together(cleanups, bored) == pytest.approx(expected, abs=0.006)
        alone = [c.probability(bored) for c in cleanups]
        assert alone[0] * alone[1] - 1e-9 <= together(cleanups, bored) <= min(alone) + 1e-9
    size = needed_together(cleanups, 0.95)
    assert together(cleanups, size) == pytest.approx(0.95, abs=0.002)
    assert together(cleanups, [76.9, 70.0]) == 0.0 and together(cleanups, 77.0) == pytest.approx(1.0, abs=2e-9)


# -- properties ------------------------------------------------------------------------
sizes = st.floats(76.20, 76.55)
rows = st.tuples(*[st.tuples(sizes, sizes)] * 3)
sides = st.sampled_from(
    [WearSide(), WearSide(known="even"), WearSide(known="one side"), WearSide(known="swept", offset_mm=0.03)]
)


@settings(max_examples=40)
@given(rows, sides, st.floats(0.001, 0.006), st.floats(0.1, 0.99), st.floats(0.0, 0.3))
def test_smaller_uncertainty_never_lowers_confidence_in_a_true_clean_up(grid, side, u, factor, beyond):
    wide, tight = clean_up(bore(grid, u_mm=u), side), clean_up(bore(grid, u_mm=u * factor), side)
    bored = wide.high_mm + 4 * side.u_centring_mm + beyond  # a bar off centre needs more than the readings show
    assert tight.probability(bored) >= wide.probability(bored) - 1e-4


@settings(max_examples=40)
@given(rows, sides, st.integers(0, 2), st.integers(0, 1), st.floats(0.0005, 0.2))
def test_more_wear_never_needs_less(grid, side, i, j, more):
    side = side if side.known != "swept" else WearSide()  # a fixed offset with more wear is another bore
    worn = [list(r) for r in grid]
    worn[i][j] += more
    before, after = clean_up(bore(grid), side), clean_up(bore(worn), side)
    assert after.high_mm >= before.high_mm - 1e-9 and after.low_mm >= before.low_mm - 1e-9
    assert after.needed_mm(0.95) >= before.needed_mm(0.95) - 2e-4


@settings(max_examples=40)
@given(rows, sides, st.integers(0, 2), st.integers(0, 1))
def test_small_change_in_a_reading_changes_the_need_a_little(grid, side, i, j):
    nudged = [list(r) for r in grid]
    nudged[i][j] += 1e-4
    before, after = clean_up(bore(grid), side).needed_mm(0.95), clean_up(bore(nudged), side).needed_mm(0.95)
    assert abs(after - before) < 6e-4


@settings(max_examples=40)
@given(rows, sides, st.floats(76.1, 77.2))
def test_probability_rises_with_the_bored_size_and_stays_in_range(grid, side, bored):
    c = clean_up(bore(grid), side)
    p, q = c.probability(bored), c.probability(bored + 0.01)
    assert 0.0 <= p <= q <= 1.0
    assert c.low_mm <= c.high_mm
    assert min(x.low_mm for x in c.pieces) - 1e-9 <= c.mean_mm <= max(x.high_mm for x in c.pieces) + 1e-9


# -- words -----------------------------------------------------------------------------
def test_words_of_a_range_and_of_a_sweep():
    c = clean_up(bore())
    r = describe(c)
    low, high = c.range_mm()
    assert c.probability(high) - c.probability(low) == pytest.approx(0.95, abs=1e-3)
    assert low < c.low_mm + 0.01
    assert high > c.high_mm - 0.01  # between even wear and wear on one side, and the readings' doubt at both ends
    told = f"somewhere from {low / 25.4:.4f}\u202fin to {high / 25.4:.4f}\u202fin (95\u202f% sure). "
    assert say(r.line).startswith("Cylinder 1 cleans up " + told)
    assert (r.figure("low").value, r.figure("high").value) == (c.low_mm, c.high_mm)
    assert say(r.line).endswith("it does, 95\u202f% sure.")
    assert sum(i.share for i in r.influences) == pytest.approx(1.0, abs=0.01)
    assert r.influences[0].name.template == "not knowing which side wore, and the lean"
    assert any("sweep" in say(w) for w in r.why)
    swept = describe(from_sweep(3, 76.55, 0.004, worst_mm=76.45, unworn_mm=D0))
    # 76.55 mm, give or take 1.96 times 4 µm
    assert say(swept.line).startswith("Cylinder 3 cleans up somewhere from 3.0135\u202fin to 3.0141\u202fin (95")


def test_cautions_of_an_impossible_offset_and_of_setting_over():
    r = describe(clean_up(bore(), WearSide(known="swept", offset_mm=0.20)))
    assert [c.key for c in r.cautions] == ["cleanup.offset.1"]
    r = describe(clean_up(bore(), WearSide(known="one side", bar_shift_mm=0.1)))
    assert [c.key for c in r.cautions] == ["cleanup.shift.1"]


@pytest.mark.parametrize("wrong", [{"known": "maybe"}, {"offset_mm": -0.1}, {"bar_shift_mm": float("nan")}])
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError):
        WearSide(**wrong)
    with pytest.raises(ValueError):
        clean_up(bore(((None, None),) * 3))
    with pytest.raises(ValueError):
        clean_up(bore()).needed_mm(1.0)
