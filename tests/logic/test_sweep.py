"""Sweep of a bore from the spindle: closed forms, SciPy as judge, Monte Carlo after JCGM 101.

All bores are invented. The circles themselves: see test_circles.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from logic.circles import Profile, minimum_circumscribed
from logic.result import Verdict
from logic.say import Style, say
from logic.sweep import Reading, SweepLean, goes_round, picture, sweep, zero_from_diameters, zero_from_gap
from logic.walls import WallPlace

MM = Style(length="mm")
D0 = 86.0
R0 = D0 / 2


def even(n: int) -> list[float]:
    return [360.0 * k / n for k in range(n)]


def distance(circles: list[tuple[float, float, float]], angle_deg: float) -> float:
    """How far a wall made of overlapping round cuts (x, y, r) lies from the spindle at an angle."""
    a = math.radians(angle_deg)
    out = []
    for x, y, r in circles:
        along, beside = x * math.cos(a) + y * math.sin(a), y * math.cos(a) - x * math.sin(a)
        out.append(along + math.sqrt(r * r - beside * beside))
    return max(out)


def rings(by_depth: dict[float, list[tuple[float, float, float]]], n: int = 24) -> list[Reading]:
    return [Reading(z, a, distance(circles, a) - R0) for z, circles in by_depth.items() for a in even(n)]


def done(readings, **more):
    return sweep(readings, **{"cylinder": 2, "zero_mm": D0, "u_zero_mm": 0.004, "u_reading_mm": 0.003, **more})


# -- closed forms ----------------------------------------------------------------------------


def test_round_bore_off_the_spindle() -> None:
    out = done(rings({70.0: [(0.06, -0.025, R0)]}))
    assert out.centre_mm == pytest.approx((0.06, -0.025), abs=1e-9)
    assert out.read_mm == pytest.approx(D0, abs=1e-9)
    assert out.clean_mm == pytest.approx(D0, abs=1e-6)
    assert out.here_mm == pytest.approx(D0 + 2 * math.hypot(0.06, 0.025), abs=2e-3)
    assert "moves 0.060\u202fmm toward the front and 0.025\u202fmm toward the right" in say(out.line, MM)
    centred = done(rings({70.0: [(0, 0, R0)]}))
    assert centred.verdict == Verdict.GO and "stands right" in say(centred.line)


def test_even_and_one_sided_wear() -> None:
    """Handbook: centred on the unworn bore, even wear cleans at the worn diameter, one-sided wear takes it twice over.

    About the best centre a one-sided bore (an unworn circle and one moved by w) needs
    only half of that: the smallest circle round two equal ones is w larger.
    """
    w = 0.10
    even_wear = done(rings({30.0: [(0, 0, R0 + w / 2)], 140.0: [(0, 0, R0)]}))
    assert even_wear.clean_mm == pytest.approx(D0 + w, abs=1e-6)
    assert even_wear.unworn_mm == pytest.approx(D0 + w, abs=1e-6)
    one_side = done(rings({30.0: [(0, 0, R0), (0, w, R0)], 140.0: [(0, 0, R0)]}))
    assert one_side.unworn_mm == pytest.approx(D0 + 2 * w, abs=2e-3)
    assert one_side.read_mm == pytest.approx(D0 + w, abs=1e-4)
    assert one_side.centre_mm == pytest.approx((0, w / 2), abs=1e-4)
    assert one_side.governing.angle_deg in (90.0, 270.0)
    assert say(one_side.why[0], MM).startswith(
        "The cut is held by the wall at these places: 30.0\u202fmm down at the left"
    )


def test_deliberate_offset_is_checked() -> None:
    """A spindle meant 0.05 to the left of the unworn centre that really stands 0.05 left and 0.02 to the front."""
    out = done(rings({30.0: [(-0.02, -0.05, R0)], 140.0: [(-0.02, -0.05, R0)]}), set_over=(0.0, 0.05))
    assert out.unworn_centre_mm == pytest.approx((-0.02, -0.05), abs=1e-9)
    said = [say(w, MM) for w in out.why]
    assert any(
        "set over 0.020\u202fmm toward the front and 0.050\u202fmm toward the left, and misses by 0.020" in s
        for s in said
    )


def test_indicator_that_counts_down() -> None:
    up = done(rings({30.0: [(0.03, 0.01, R0 + 0.02)]}))
    down = done(
        [r._replace(deviation_mm=-r.deviation_mm) for r in rings({30.0: [(0.03, 0.01, R0 + 0.02)]})], outward=False
    )
    assert (down.clean_mm, down.centre_mm) == (up.clean_mm, up.centre_mm)


def test_lean_beyond_one_swept_depth() -> None:
    """A round bore swept at one depth, leaning by a over its length: circles spread over a, so D grows by a."""
    flat = SweepLean(0.0, 0.0, 0.0, 0.0)
    lean = SweepLean(0.03, -0.04, 0.0, 0.0)
    one = rings({50.0: [(0, 0, R0)]}, n=36)
    assert done(one, lean=flat, length_mm=150.0).clean_mm == pytest.approx(D0, abs=1e-6)
    out = done(one, lean=lean, length_mm=150.0)
    assert out.read_mm == pytest.approx(D0 + 0.05, abs=3e-4)
    # the bore, seen from a cut whose lower end goes to the rear, lies to the front down there, and to the left
    assert out.centre_mm == pytest.approx((0.03 * (0.5 - 1 / 3), 0.04 * (0.5 - 1 / 3)), abs=3e-4)
    smaller = done(one, lean=lean, length_mm=150.0, unworn_mm=D0 - 0.06)
    # the unworn lower end, 0.03 less in radius, stands out by what it is shifted more than that
    assert smaller.read_mm == pytest.approx(D0 + 0.05 * 2 / 3 - 0.03, abs=3e-4)
    hidden = done(one, lean=lean, length_mm=150.0, unworn_mm=D0 - 0.08)
    assert hidden.read_mm == pytest.approx(D0, abs=1e-6)


def test_a_leaning_spindle_reads_the_lean_itself() -> None:
    """Rings at both ends read from a spindle that leans: nothing is left to add."""
    length = 150.0
    readings = []
    for z in (0.0, 75.0, 150.0):
        readings += rings({z: [(0.04 * (z / length - 0.5), 0, R0)]}, n=36)
    with_lean = done(readings, lean=SweepLean(0.04, 0, 0.0, 0.0), length_mm=length)
    assert with_lean.clean_mm == done(readings).clean_mm
    assert with_lean.read_mm == pytest.approx(D0 + 0.04, abs=3e-4)
    assert any("drifts 0.040\u202fmm toward the front" in say(w, MM) for w in with_lean.why)


# -- zero -------------------------------------------------------------------------------------


def test_zero_from_two_point_diameters() -> None:
    """An oval bore 86.10 × 86.04 swept off centre; two diameters give the zero back, chord put right."""
    true_zero = 86.0

    def wall(a: float) -> float:
        # solve |s·u − (x, y)| = r(direction) for an ellipse by bisection
        lo, hi = 40.0, 46.0
        for _ in range(80):
            s = (lo + hi) / 2
            x, y = s * math.cos(math.radians(a)) - 0.3, s * math.sin(math.radians(a)) + 0.2
            lo, hi = (s, hi) if (x / 43.02) ** 2 + (y / 43.05) ** 2 < 1 else (lo, s)
        return lo

    readings = [Reading(30.0, a, wall(a) - true_zero / 2) for a in even(8)]
    found = zero_from_diameters(
        readings,
        [(31.0, 90.0, 86.10), (31.0, 0.0, 86.04), (90.0, 0.0, 86.0)],
        u_diameter_mm=0.002,
        u_reading_mm=0.003,
        u_common_mm=0.001,
    )
    assert found.n == 2
    assert found.diameter_mm == pytest.approx(true_zero, abs=2e-5)
    assert found.u_mm == pytest.approx(math.sqrt((0.002**2 + 2 * 0.003**2) / 2 + 0.001**2))
    assert zero_from_diameters(readings, [(90.0, 0.0, 86.0)], u_diameter_mm=0.002, u_reading_mm=0.003) is None
    assert zero_from_diameters(readings, [(30.0, 10.0, 86.0)], u_diameter_mm=0.002, u_reading_mm=0.003) is None


# -- walls --------------------------------------------------------------------------------------


def wall(name: str, angle: float, thick: float, minimum: float = 3.0) -> WallPlace:
    return WallPlace(name=name, angle_deg=angle, wall_mm=thick, u_mm=0.05, bore_mm=D0, minimum_mm=minimum)


def test_wall_left_by_hand() -> None:
    """Wall − growth of the radius − shift toward it; a bore 0.1 to the left of the spindle, 0.2 larger than the zero."""
    out = done(
        rings({30.0: [(0, 0.1, R0 + 0.1)], 140.0: [(0, 0.02, R0)]}),
        walls=[wall("exhaust side", 90, 3.5), wall("front", 0, 4.0)],
    )
    left, front = out.walls
    # best cut: about (0, 0.1), diameter 86.2; surface at 90 deg is midway between 43.2 and 43.02
    assert out.clean_mm == pytest.approx(86.2, abs=1e-4)
    assert left.left.value == pytest.approx(3.5 + 43.11 - 43.2, abs=1e-4)
    assert left.most_mm == pytest.approx(86.2 + 2 * (3.41 - 3.0), abs=2e-4)
    assert left.offset_mm == pytest.approx(0.41, abs=1e-4)
    assert left.left.u == pytest.approx(math.sqrt(0.05**2 + (0.18**2 / 12) + (out.u_mm / 2) ** 2), rel=1e-3)
    assert front.left.value == pytest.approx(4.0 + 43.05 - 43.1, abs=2e-3)
    # a spindle that misses its place by 0.04 mm moves the whole cut toward the wall: in full, beside the rest
    hard = done(
        rings({30.0: [(0, 0.1, R0 + 0.1)], 140.0: [(0, 0.02, R0)]}),
        walls=[wall("exhaust side", 90, 3.5)],
        u_centring_mm=0.04,
    ).walls[0]
    assert hard.left.u == pytest.approx(math.hypot(left.left.u, 0.04), rel=2e-3)
    assert out.verdict == Verdict.INFO and left.chance > 0.999


def test_walls_force_another_centre_as_scipy_finds_it() -> None:
    """The best centre would thin the front wall; the constrained optimum is checked with scipy SLSQP."""
    readings = rings({30.0: [(0, 0, R0), (0.02, 0.12, R0)], 140.0: [(0, 0, R0)]}, n=36)
    walls = [wall("front", 0, 3.05), wall("rear", 180, 3.40), wall("left", 90, 3.40)]
    out = done(readings, walls=walls)
    assert out.verdict == Verdict.MAYBE
    more = (out.clean_mm - out.read_mm) / 2
    points = np.array(
        [
            (
                (R0 + r.deviation_mm) * math.cos(math.radians(r.angle_deg)),
                (R0 + r.deviation_mm) * math.sin(math.radians(r.angle_deg)),
            )
            for r in readings
        ]
    )
    surface = {a: sum(r.deviation_mm for r in readings if r.angle_deg == a) / 2 for a in (0, 90, 180)}
    room = {w.angle_deg: surface[w.angle_deg] + w.wall_mm - w.minimum_mm - more for w in walls}
    constraints = [
        {"type": "ineq", "fun": lambda v, q=q: v[2] - (np.hypot(*(points - v[:2] / 1e3).T) - R0)[q] * 1e3}
        for q in range(len(points))
    ]
    constraints += [
        {
            "type": "ineq",
            "fun": lambda v, a=a, b=b: (
                b * 1e3 - v[2] - v[0] * math.cos(math.radians(a)) - v[1] * math.sin(math.radians(a))
            ),
        }
        for a, b in room.items()
    ]
    found = optimize.minimize(
        lambda v: v[2], [0, -50, 200], constraints=constraints, method="SLSQP", options={"ftol": 1e-12, "maxiter": 500}
    )
    assert found.success
    assert (out.safe_mm - D0) / 2 - more == pytest.approx(found.x[2] / 1e3, abs=1e-6)
    assert out.safe_centre_mm == pytest.approx(tuple(found.x[:2] / 1e3), abs=1e-5)
    assert out.safe_mm > out.clean_mm
    assert say(out.why[-1], MM).startswith("To spare the walls, move the spindle")


def test_no_centre_spares_the_walls() -> None:
    out = done(
        rings({30.0: [(0, 0, R0 + 0.2)], 140.0: [(0, 0, R0)]}), walls=[wall("left", 90, 2.9), wall("right", 270, 2.9)]
    )
    assert out.verdict == Verdict.STOP and out.safe_mm is None
    assert "no centre was found" in say(out.line, MM)
    assert "sweep.wall.2" in {c.key for c in out.cautions}


# -- uncertainty --------------------------------------------------------------------------------


def worn(n: int, phase: float = 0.0, amplitudes=(0.04, 0.03, 0.015), z: float = 30.0) -> list[Reading]:
    out = []
    for a in even(n):
        t = math.radians(a + phase)
        d = amplitudes[0] * math.cos(t) + amplitudes[1] * math.cos(2 * t - 1) + amplitudes[2] * math.cos(3 * t + 0.5)
        out.append(Reading(z, a, d))
    return out


def test_reading_uncertainty_by_monte_carlo() -> None:
    """JCGM 101:2008: readings drawn 4000 times; three readings stand clear of the rest, so first order holds."""
    # 12 readings of a round bore of which three, at 0, 120 and 240 degrees, stand out
    readings = [Reading(30.0, a, 0.08 if a in (0.0, 120.0, 240.0) else 0.0) for a in even(12)]
    u_r, u_z = 0.004, 0.006
    out = done(readings, u_reading_mm=u_r, u_zero_mm=u_z)
    by_hand = math.sqrt(u_z**2 + 4 * u_r**2 / 3)  # three readings, a third each
    rng = np.random.default_rng(8)
    drawn = []
    for _ in range(4000):
        noisy = [
            r._replace(deviation_mm=r.deviation_mm + e) for r, e in zip(readings, rng.normal(0, u_r, 12), strict=False)
        ]
        _x, _y, best = _linear_circle([n for n in noisy if n.deviation_mm > 0.04])
        drawn.append(D0 + rng.normal(0, u_z) + 2 * best)
    assert np.std(drawn) == pytest.approx(by_hand, rel=0.03)
    parts = {say(i.name): i.share * out.u_mm**2 for i in out.influences}
    assert math.sqrt(parts["Sweep readings"] + parts["Diameter at the indicator's zero"]) == pytest.approx(
        np.std(drawn), rel=0.03
    )
    assert out.read_mm == pytest.approx(np.mean(drawn), abs=4 * by_hand / math.sqrt(4000) + 1e-4)


def _linear_circle(three):
    m = np.array([[math.cos(math.radians(r.angle_deg)), math.sin(math.radians(r.angle_deg)), 1.0] for r in three])
    return np.linalg.solve(m, [r.deviation_mm for r in three])


@pytest.mark.parametrize("n", [5, 8, 12])
def test_the_whole_uncertainty_covers_the_truth(n: int) -> None:
    """JCGM 101:2008: invented smooth bores at random phases, noisy readings and zero; the truth is a dense sweep.

    The bound clean + 1.645 u must hold the true clean-up diameter in at least 95 % of
    draws (one-sided normal), and must not be idle: the mean excess stays below 3 u.
    """
    rng = np.random.default_rng(n)
    held, slack, doubt = 0, [], []
    draws = 250
    for _ in range(draws):
        phase = rng.uniform(0, 360)
        amplitudes = (0.04, rng.uniform(0, 0.04), rng.uniform(0, 0.015) if n > 6 else 0.0)
        dense = worn(120, phase, amplitudes)
        true = (
            D0
            + 2
            * minimum_circumscribed(
                Profile.around([r.angle_deg for r in dense], [r.deviation_mm for r in dense], R0)
            ).deviation_mm
        )
        zero = D0 + float(rng.normal(0, 0.006))
        noisy = [
            r._replace(deviation_mm=r.deviation_mm + float(rng.normal(0, 0.003))) for r in worn(n, phase, amplitudes)
        ]
        out = done(noisy, zero_mm=zero, u_zero_mm=0.006, u_reading_mm=0.003)
        held += true <= out.clean_mm + 1.645 * out.u_mm
        slack.append(out.clean_mm - true)
        doubt.append(out.u_mm)
    assert held / draws >= 0.95 - 2 * math.sqrt(0.95 * 0.05 / draws)
    assert np.mean(slack) < 3 * np.mean(doubt)
    assert np.std(slack) < 2 * np.mean(doubt)


def test_lean_uncertainty_by_monte_carlo() -> None:
    """JCGM 101:2008: one depth swept, the lean drawn 300 times. Linear where the lean is large beside its doubt."""
    readings = rings({50.0: [(0, 0, R0)]}, n=24)
    lean = SweepLean(0.06, 0.0, 0.008, 0.0)
    out = done(readings, lean=lean, length_mm=150.0, u_zero_mm=0.0)
    rng = np.random.default_rng(1)
    drawn = [
        done(readings, lean=SweepLean(0.06 + e, 0.0, 0.0, 0.0), length_mm=150.0, u_zero_mm=0.0).read_mm
        for e in rng.normal(0, 0.008, 300).tolist()
    ]
    share = next(i.share for i in out.influences if "Lean" in say(i.name))
    assert math.sqrt(share) * out.u_mm == pytest.approx(np.std(drawn), rel=0.12)
    # where the lean is nothing but doubt, the growth it may bring is neither lost nor hidden
    level = done(readings, lean=SweepLean(0.0, 0.0, 0.008, 0.02), length_mm=150.0, u_zero_mm=0.0)
    drawn = [
        done(readings, lean=SweepLean(a, b, 0.0, 0.0), length_mm=150.0, u_zero_mm=0.0).read_mm
        for a, b in zip(rng.normal(0, 0.008, 300).tolist(), rng.normal(0, 0.02, 300).tolist(), strict=False)
    ]
    assert level.clean_mm >= np.mean(drawn) - 0.002
    assert level.clean_mm + 1.645 * level.u_mm >= np.quantile(drawn, 0.95)


def test_centring_by_monte_carlo() -> None:
    """JCGM 101:2008: the spindle misses the best centre at random, held by two readings and by three."""
    rng = np.random.default_rng(4)
    two = rings({30.0: [(0, -0.05, R0), (0, 0.05, R0)]}, n=36)
    three = [Reading(30.0, a, 0.08 if a in (0.0, 120.0, 240.0) else 0.0) for a in even(12)]
    for readings in (two, three):
        out = done(readings, u_centring_mm=0.01)
        plain = done(readings)
        points = np.array(
            [
                (
                    (R0 + r.deviation_mm)
                    * np.array([math.cos(math.radians(r.angle_deg)), math.sin(math.radians(r.angle_deg))])
                )
                for r in readings
            ]
        )
        missed = np.array(plain.centre_mm) + rng.normal(0, 0.01, (4000, 2))
        grown = 2 * np.hypot(points[:, 0] - missed[:, :1], points[:, 1] - missed[:, 1:]).max(axis=1) - plain.read_mm
        assert out.clean_mm - plain.clean_mm == pytest.approx(grown.mean(), rel=0.12)
        assert math.sqrt(out.u_mm**2 - plain.u_mm**2) == pytest.approx(grown.std(), rel=0.12)
        assert out.here_mm == plain.here_mm


def test_few_readings_say_so() -> None:
    four = done(worn(4))
    twelve = done(worn(12))
    assert four.allowance_mm >= 0.06 and four.u_mm > twelve.u_mm
    assert {c.key for c in four.cautions} >= {"sweep.few.2", "sweep.one_depth.2"}
    assert "sweep.few.2" not in {c.key for c in twelve.cautions}
    assert [r.waves for r in (four.rings[0], done(worn(8)).rings[0], twelve.rings[0], done(worn(36)).rings[0])] == [
        1,
        3,
        5,
        6,
    ]


def test_a_ring_that_touches_all_round_hangs_on_no_three_of_its_points() -> None:
    rng = np.random.default_rng(3)
    first = done([Reading(70.0, a, 0.05) for a in even(24)])
    # least squares over n points: the radius by 1/n of each, the centre by sqrt(4/n) in both directions together
    # (but for the curvature of the wall, a part in ten thousand)
    assert first.u_centre_mm == pytest.approx(0.003 * math.sqrt(4 / 24), rel=2e-4)
    for _ in range(5):
        again = done([Reading(70.0, a, 0.05 + 1e-12 * rng.standard_normal()) for a in even(24)])
        assert (again.u_centre_mm, again.u_mm, again.clean_mm) == pytest.approx(
            (first.u_centre_mm, first.u_mm, first.clean_mm), abs=1e-9
        )


def test_readings_between_the_high_places_are_allowed_for() -> None:
    """An oval bore whose long axis falls midway between eight readings: the curve finds the 0.0088 that no reading saw."""
    a = 0.03
    readings = [Reading(30.0, t, a * math.cos(math.radians(2 * (t - 22.5)))) for t in even(8)]
    out = done(readings)
    assert out.read_mm == pytest.approx(D0 + 2 * a * math.cos(math.radians(45)), abs=1e-4)
    assert out.read_mm + out.allowance_mm == pytest.approx(D0 + 2 * a, abs=1e-4)
    assert out.clean_mm == pytest.approx(D0 + a * (1 + math.cos(math.radians(45))), abs=1e-4)


# -- bad input ------------------------------------------------------------------------------------


def test_bad_input() -> None:
    good = worn(8)
    for readings in ([], good[:2], good[:4], [Reading(30.0, a, 0.0) for a in (0, 40, 80, 120)]):
        with pytest.raises(ValueError, match="all round"):
            done(readings)
    with pytest.raises(ValueError, match="finite"):
        done([*good, Reading(30.0, 5.0, math.nan)])
    with pytest.raises(ValueError, match="larger than the bore"):
        done([*good, Reading(30.0, 5.0, -50.0)])
    for bad in (
        {"zero_mm": 0.0},
        {"u_reading_mm": 0.0},
        {"u_zero_mm": -1.0},
        {"zero_mm": math.inf},
        {"length_mm": -1.0, "lean": SweepLean(0, 0, 0, 0)},
    ):
        with pytest.raises(ValueError):
            done(good, **bad)
    with pytest.raises(ValueError, match="above zero"):
        zero_from_diameters(good, [(30.0, 0.0, -1.0)], u_diameter_mm=0.002, u_reading_mm=0.003)


def test_what_goes_round() -> None:
    assert goes_round(worn(8)) and goes_round(worn(4)[:3] + worn(8, z=60.0))
    assert not goes_round(worn(8)[:4]) and not goes_round([])
    assert goes_round(worn(8), D0)
    # deep readings on one side of a small bore: round the spindle they go, round the bore's own middle they do not
    lopsided = [Reading(70.0, a, d) for a, d in ((0, 3.0), (90, -9.0), (180, 0.0), (270, -8.0))]
    assert goes_round(lopsided) and not goes_round(lopsided, 20.0)
    with pytest.raises(ValueError, match="all round"):
        sweep(lopsided, cylinder=1, zero_mm=20.0, u_zero_mm=0.0, u_reading_mm=0.003)
    assert not goes_round([Reading(70.0, a, -11.0) for a in even(8)], 20.0)


def test_zero_from_the_gap() -> None:
    """Spindle 38 mm, wall 24.5 mm away from it: the wall there lies on a circle of 87 mm about the axis."""
    found = zero_from_gap(38.0, 24.5, u_spindle_mm=0.003, u_gap_mm=0.005)
    assert found.diameter_mm == pytest.approx(87.0)
    assert found.u_mm == pytest.approx(math.hypot(0.003, 0.01))
    with pytest.raises(ValueError):
        zero_from_gap(0.0, 24.5, u_gap_mm=0.005)


def test_repeats_are_averaged_and_a_partial_ring_still_counts() -> None:
    once = done(worn(8))
    twice = done(worn(8) + worn(8))
    assert twice.clean_mm == once.clean_mm
    spot = done([*worn(8), Reading(90.0, 45.0, 0.2)])  # one reading only at that depth
    assert spot.read_mm > once.read_mm + 0.1
    assert len(spot.rings) == 1


# -- picture ------------------------------------------------------------------------------------


def test_picture() -> None:
    out = done(worn(12) + worn(12, amplitudes=(0.04, 0.0, 0.0), z=140.0), walls=[wall("left", 90, 3.5)])
    shown = picture(out)
    assert len(shown.points) == 12
    assert 2 * (shown.mean_radius_mm + shown.cut_radius_mm) == pytest.approx(out.clean_mm)
    assert shown.cut_centre_mm == out.centre_mm
    mean = sum(d for _, d in shown.points) / 12
    assert mean == pytest.approx(0, abs=1e-3)
    assert shown.walls == ((90, out.walls[0].left.value),)
    assert "30.0" in say(shown.title, MM)


# -- properties -----------------------------------------------------------------------------------

deviations = st.lists(st.floats(-0.15, 0.15), min_size=8, max_size=8)


@settings(max_examples=40, deadline=None)
@given(deviations, deviations, st.integers(1, 7))
def test_turning_the_engine_turns_the_answer(top, bottom, turn) -> None:
    def build(shift: int):
        return [
            Reading(z, (a + 45 * shift) % 360, d)
            for z, ring in ((30.0, top), (140.0, bottom))
            for a, d in zip(even(8), ring, strict=False)
        ]

    one, two = done(build(0)), done(build(turn))
    assert two.read_mm == pytest.approx(one.read_mm, abs=1e-9)
    assert two.clean_mm == pytest.approx(one.clean_mm, abs=1e-6)
    a = math.radians(45 * turn)
    x, y = one.centre_mm
    assert two.centre_mm == pytest.approx(
        (x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)), abs=1e-7
    )


@settings(max_examples=40, deadline=None)
@given(deviations, deviations, st.floats(-0.2, 0.2), st.floats(-1e-6, 1e-6))
def test_order_zero_and_smoothness(top, bottom, zero, nudge) -> None:
    readings = [
        Reading(z, a, d) for z, ring in ((30.0, top), (140.0, bottom)) for a, d in zip(even(8), ring, strict=False)
    ]
    out = done(readings)
    assert out.clean_mm <= out.here_mm + 1e-9 and out.clean_mm <= out.unworn_mm + 1e-9
    assert out.read_mm <= done([*readings, Reading(90.0, 10.0, 0.1)]).read_mm + 1e-9
    # the same walls against another zero
    moved = done([r._replace(deviation_mm=r.deviation_mm - zero / 2) for r in readings], zero_mm=D0 + zero)
    assert moved.read_mm == pytest.approx(out.read_mm, abs=1e-9)
    assert moved.clean_mm == pytest.approx(out.clean_mm, abs=1e-6)
    nudged = done([readings[0]._replace(deviation_mm=readings[0].deviation_mm + nudge), *readings[1:]])
    assert abs(nudged.read_mm - out.read_mm) <= 4 * abs(nudge) + 1e-9
    sharper = done(readings, u_zero_mm=0.001)
    assert sharper.u_mm < out.u_mm and sharper.clean_mm == out.clean_mm


def test_a_reading_that_comes_to_hold_the_cut_does_so_without_a_step() -> None:
    """A fourth reading is moved out to the cut and beyond in steps of 0.1 µm: the answer follows, and never jumps."""
    held = {0.0: 0.08, 120.0: 0.08, 240.0: 0.08}
    found = []
    for k in range(-6, 7):
        read = held | {180.0: 0.08 + k * 1e-4}
        out = done([Reading(30.0, a, read.get(a, 0.0)) for a in even(12)], u_centring_mm=0.01)
        found.append((out.clean_mm, out.u_mm))
    for (one, u_one), (two, u_two) in pairwise(found):
        assert -1e-9 <= two - one < 3e-4
        assert abs(u_two - u_one) < 1e-4
