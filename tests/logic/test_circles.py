"""The reference circles of ISO 12181-1, against SciPy optimisers, exact fractions and closed forms."""

from __future__ import annotations

import math
from decimal import Decimal, getcontext
from fractions import Fraction
from itertools import combinations
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from logic.circles import Circle, Profile, least_squares, minimum_circumscribed, minimum_zone

ALL = (least_squares, minimum_circumscribed, minimum_zone)
R = 40.0


def even(n: int) -> list[float]:
    return [360.0 * k / n for k in range(n)]


def lobed(n: int, seed: int, noise: float = 0.004) -> Profile:
    """An invented worn bore: eccentric, two- and three-lobed, with a scuffed patch and noise."""
    rng = Random(seed)
    angles = [a + rng.uniform(-0.3, 0.3) * 360 / n for a in even(n)]
    phase = [rng.uniform(0, 360) for _ in range(3)]
    deviations = []
    for a in angles:
        turn = [math.radians(a - p) for p in phase]
        d = 0.08 * math.cos(turn[0]) + 0.05 * math.cos(2 * turn[1]) + 0.02 * math.cos(3 * turn[2])
        deviations.append(d + 0.06 * math.exp(-(((a - 95) / 20) ** 2)) + rng.gauss(0, noise))
    return Profile.around(angles, deviations, R)


def rms_mm(circle: Circle) -> float:
    """Root mean square roundness deviation from a circle (RONq of ISO 12181-1)."""
    return math.sqrt(math.fsum(d * d for d in circle.local_mm) / len(circle.local_mm))


# -- against SciPy ------------------------------------------------------------------------


def by_linear_programmes(p: Profile, figure: str, start: tuple[float, float]) -> tuple[float, float, float]:
    """Best centre and figure (mm) by repeated linear programmes (scipy.optimize.linprog, HiGHS).

    Round the current centre the distance falls by e·step, exactly enough to converge
    quadratically when the steps are small beside the radius.
    """
    points = np.array(p.points)
    c = np.array(start)
    for _ in range(12):
        v = points - c
        r = np.hypot(v[:, 0], v[:, 1])
        e = v / r[:, None]
        d = (r - p.radius_mm) * 1e3  # micrometres, so that the solver's tolerances are small
        n = len(d)
        one, nought = np.ones((n, 1)), np.zeros((n, 1))
        # unknowns: step (µm), outer, inner;  d - e·s <= outer,  inner <= d - e·s
        outer = np.hstack([-e, -one, nought])
        inner = np.hstack([e, nought, one])
        cost = {"circumscribed": [0, 0, 1, 0], "zone": [0, 0, 1, -1]}[figure]
        rows = {
            "circumscribed": (outer, -d),
            "zone": (np.vstack([outer, inner]), np.hstack([-d, d])),
        }
        a, b = rows[figure]
        found = optimize.linprog(cost, A_ub=a, b_ub=b, bounds=[(-500, 500)] * 2 + [(None, None)] * 2, method="highs")
        assert found.status == 0
        c = c + found.x[:2] / 1e3
        if np.abs(found.x[:2]).max() < 1e-6:
            break
    r = np.hypot(*(points - c).T) - p.radius_mm
    return c[0], c[1], {"circumscribed": r.max(), "zone": r.max() - r.min()}[figure]


@pytest.mark.parametrize(("n", "seed"), [(5, 2), (8, 1), (12, 3), (24, 4), (72, 5), (150, 6)])
def test_generated_profiles_agree_with_scipy(n: int, seed: int) -> None:
    p = lobed(n, seed)
    xy = np.array(p.points)

    ours = least_squares(p)
    theirs = optimize.least_squares(
        lambda v: np.hypot(xy[:, 0] - v[0], xy[:, 1] - v[1]) - R - v[2],
        [0, 0, 0],
        jac=lambda v: np.column_stack([(v[:2] - xy) / np.hypot(*(xy - v[:2]).T)[:, None], -np.ones(n)]),
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
    )
    assert (ours.x_mm, ours.y_mm, ours.deviation_mm) == pytest.approx(tuple(theirs.x), abs=1e-9)

    start = (ours.x_mm, ours.y_mm)
    circumscribed = minimum_circumscribed(p)
    x, y, figure = by_linear_programmes(p, "circumscribed", start)
    assert (circumscribed.x_mm, circumscribed.y_mm, circumscribed.deviation_mm) == pytest.approx(
        (x, y, figure), abs=1e-9
    )

    # The zone can have several local optima; SciPy starts from ours and from others.
    zone = minimum_zone(p)
    rng = Random(seed)
    starts = [start] + [(start[0] + rng.uniform(-0.1, 0.1), start[1] + rng.uniform(-0.1, 0.1)) for _ in range(6)]
    best_zone = min(by_linear_programmes(p, "zone", s)[2] for s in [*starts, (zone.x_mm, zone.y_mm)])
    assert zone.zone_mm == pytest.approx(best_zone, abs=1e-9)


HAND = {  # hand-made, far from round: SciPy's general search is the judge
    "egg": [(40, 0), (30, 22), (5, 35), (-20, 31), (-38, 5), (-30, -25), (-4, -36), (24, -28)],
    "uneven": [(1, 0), (0.2, 1.1), (-0.9, 0.4), (-0.7, -0.8), (0.3, -1.2)],
    "near square": [(10, 10), (10.2, -9.7), (-9.9, -10.1), (-10.1, 9.8), (0, 10.1), (0.2, -10)],
}


@pytest.mark.parametrize("name", HAND)
def test_hand_made_profiles_agree_with_scipy(name: str) -> None:
    points = HAND[name]
    xy = np.array(points, float)
    p = Profile.through(points)
    scale = p.radius_mm

    def r(c: np.ndarray) -> np.ndarray:
        return np.hypot(xy[:, 0] - c[0], xy[:, 1] - c[1])

    def search(figure) -> float:
        rng = Random(11)
        found = []
        for _ in range(25):
            s = [rng.uniform(-0.35, 0.35) * scale, rng.uniform(-0.35, 0.35) * scale]
            got = optimize.minimize(
                figure, s, method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-13, "maxiter": 4000}
            )
            if np.hypot(*got.x) < 0.6 * scale:  # far off the middle is another, worse valley
                found.append(got.fun)
        return min(found)

    assert rms_mm(least_squares(p)) ** 2 == pytest.approx(search(lambda c: np.var(r(c))), rel=1e-8)
    assert minimum_circumscribed(p).radius_mm == pytest.approx(search(lambda c: r(c).max()), rel=1e-8)
    assert minimum_zone(p).zone_mm == pytest.approx(search(lambda c: np.ptp(r(c))), abs=1e-8 * scale)


# -- against exact arithmetic ----------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_circumscribed_equals_exact_search_over_pairs_and_triples(seed: int) -> None:
    rng = Random(seed)
    points = []
    for k in range(14):
        a, r = math.radians(k * 360 / 14 + rng.uniform(-5, 5)), 40_000 + rng.randint(-90, 90)
        points.append((round(r * math.cos(a)), round(r * math.sin(a))))
    exact = None
    for i, j in combinations(range(14), 2):
        c = (Fraction(points[i][0] + points[j][0], 2), Fraction(points[i][1] + points[j][1], 2))
        exact = _smaller(exact, c, points)
    for i, j, k in combinations(range(14), 3):
        (ax, ay), (bx, by), (cx, cy) = points[i], points[j], points[k]
        det = 2 * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
        if det:
            b, c = bx * bx + by * by - ax * ax - ay * ay, cx * cx + cy * cy - ax * ax - ay * ay
            x = Fraction(b * (cy - ay) - c * (by - ay), det)
            y = Fraction(c * (bx - ax) - b * (cx - ax), det)
            exact = _smaller(exact, (x, y), points)
    square, (x, y) = exact
    fit = minimum_circumscribed(Profile.through(points))
    assert fit.radius_mm == pytest.approx(math.sqrt(square), rel=1e-14)
    assert (fit.x_mm, fit.y_mm) == pytest.approx((float(x), float(y)), abs=1e-9)


def _smaller(best, c, points):
    square = max((x - c[0]) ** 2 + (y - c[1]) ** 2 for x, y in points)
    return (square, c) if best is None or square < best[0] else best


def test_small_deviations_keep_their_digits() -> None:
    """A round bore 0.1 µm off the spindle: fifty-digit decimal arithmetic is the judge."""
    getcontext().prec = 50
    off, radius = Decimal("0.0001"), Decimal(40)
    angles, deviations = even(16), []
    for a in angles:
        c = Decimal(math.cos(math.radians(a)))
        s = Decimal(math.sin(math.radians(a)))
        norm = (c * c + s * s).sqrt()
        c, s = c / norm, s / norm
        deviations.append(float(off * c + (radius**2 - (off * s) ** 2).sqrt() - radius))
    for fit in ALL:
        got = fit(Profile.around(angles, deviations, 40.0))
        assert got.x_mm == pytest.approx(1e-4, rel=1e-11)
        assert abs(got.y_mm) < 1e-14
        assert abs(got.deviation_mm) < 1e-14
        assert got.zone_mm < 2e-14


def test_tiny_lobes_keep_their_digits() -> None:
    angles = even(24)
    p = Profile.around(angles, [1e-4 * math.cos(math.radians(3 * a)) for a in angles], 40.0)
    assert minimum_circumscribed(p).deviation_mm == pytest.approx(1e-4, rel=1e-11)
    assert minimum_zone(p).zone_mm == pytest.approx(2e-4, rel=1e-11)
    assert rms_mm(least_squares(p)) == pytest.approx(1e-4 / math.sqrt(2), rel=1e-11)


# -- closed forms ---------------------------------------------------------------------------


@pytest.mark.parametrize("lobes", [3, 4, 5])
def test_lobed_figure(lobes: int) -> None:
    """r = R + a cos(nθ), peaks and valleys sampled: R + a, R - a, 2a and R follow from symmetry."""
    a, angles = 0.03, even(12 * lobes)
    p = Profile.around(angles, [a * math.cos(math.radians(lobes * t)) for t in angles], R)
    lsc, mcc, mzc = (f(p) for f in ALL)
    for fit in (lsc, mcc, mzc):
        assert (fit.x_mm, fit.y_mm) == pytest.approx((0, 0), abs=1e-12)
    assert lsc.deviation_mm == pytest.approx(0, abs=1e-13)
    assert rms_mm(lsc) == pytest.approx(a / math.sqrt(2), rel=1e-12)
    assert mcc.deviation_mm == pytest.approx(a, rel=1e-11)
    assert mzc.zone_mm == pytest.approx(2 * a, rel=1e-11)
    assert (mzc.inner_mm, mzc.outer_mm) == pytest.approx((-a, a), rel=1e-10)


def test_ellipse() -> None:
    """Semi-axes 40.05 and 39.95: circumscribed = major, zone = difference, both about the middle."""
    major, minor, n = 40.05, 39.95, 180
    points = [(major * math.cos(2 * math.pi * k / n), minor * math.sin(2 * math.pi * k / n)) for k in range(n)]
    p = Profile.through(points)
    mcc, mzc = minimum_circumscribed(p), minimum_zone(p)
    assert mcc.radius_mm == pytest.approx(major, abs=1e-12)
    assert mzc.zone_mm == pytest.approx(major - minor, abs=1e-12)
    assert (mzc.x_mm, mzc.y_mm) == pytest.approx((0, 0), abs=1e-10)
    assert len(mzc.touching) == 4


def test_square_corners_and_middles() -> None:
    a = 10.0
    p = Profile.through([(a, a), (0, a), (-a, a), (-a, 0), (-a, -a), (0, -a), (a, -a), (a, 0)])
    lsc, mcc, mzc = (f(p) for f in ALL)
    assert lsc.radius_mm == pytest.approx(a * (1 + math.sqrt(2)) / 2, rel=1e-14)
    assert mcc.radius_mm == pytest.approx(a * math.sqrt(2), rel=1e-14)
    assert mzc.zone_mm == pytest.approx(a * (math.sqrt(2) - 1), rel=1e-13)


def test_four_corners_make_one_circle() -> None:
    p = Profile.through([(3, 3), (-3, 3), (-3, -3), (3, -3)])
    for fit in ALL:
        assert fit(p).radius_mm == pytest.approx(3 * math.sqrt(2), rel=1e-14)
        assert fit(p).zone_mm == pytest.approx(0, abs=1e-14)


def test_acute_triangle_is_its_circumcircle_obtuse_rests_on_its_long_side() -> None:
    acute = Profile.through([(0, 0), (4, 0), (2, 3)])
    radius = (4 * 13) / (4 * 6)  # abc / 4·area
    for fit in ALL:
        assert fit(acute).radius_mm == pytest.approx(radius, rel=1e-13)
    obtuse = Profile.through([(0, 0), (10, 0), (4, 1)])
    assert minimum_circumscribed(obtuse).radius_mm == pytest.approx(5, rel=1e-14)
    assert minimum_circumscribed(obtuse).touching == (0, 1)
    assert least_squares(obtuse).zone_mm == pytest.approx(0, abs=1e-9)
    with pytest.raises(ValueError, match="round the bore"):
        minimum_zone(obtuse)


# -- degenerate input ----------------------------------------------------------------------


def test_points_on_a_line() -> None:
    p = Profile.through([(0, 0), (1, 1), (2, 2), (5, 5)])
    for fit in (least_squares, minimum_zone):
        with pytest.raises(ValueError, match="one line"):
            fit(p)
    fit = minimum_circumscribed(p)
    assert (fit.x_mm, fit.y_mm, fit.radius_mm) == pytest.approx((2.5, 2.5, math.hypot(2.5, 2.5)))


def test_too_few() -> None:
    pair = Profile.through([(0, 0), (0, 8)])
    assert minimum_circumscribed(pair).radius_mm == pytest.approx(4)
    for fit in (least_squares, minimum_zone):
        with pytest.raises(ValueError):
            fit(pair)
    for bad in ([], [(1, 2)], [(1, 2), (1, 2)], [(math.nan, 0), (1, 1), (2, 0)]):
        with pytest.raises(ValueError):
            Profile.through(bad)
    for angles, deviations, radius in (
        ([0, 90], [0], 40),
        ([0, 90], [0, -41], 40),
        ([0, 90], [0, 0], 0),
        ([0, math.inf], [0, 0], 40),
    ):
        with pytest.raises(ValueError):
            Profile.around(angles, deviations, radius)


def test_doubled_readings_change_nothing_but_the_mean() -> None:
    p = lobed(9, 8)
    doubled = Profile(p.points + p.points, p.w + p.w, p.radius_mm)
    for fit in ALL:
        one, two = fit(p), fit(doubled)
        assert (two.x_mm, two.y_mm, two.deviation_mm) == pytest.approx(
            (one.x_mm, one.y_mm, one.deviation_mm), abs=1e-12
        )


# -- properties -----------------------------------------------------------------------------

profiles = st.integers(4, 24).flatmap(
    lambda n: st.tuples(
        st.just(n),
        st.lists(st.floats(-0.2, 0.2), min_size=n, max_size=n),
        st.lists(st.floats(-0.2, 0.2), min_size=n, max_size=n),
    )
)


@settings(max_examples=60, deadline=None)
@given(profiles)
def test_order_of_the_three(drawn) -> None:
    n, deviations, jitter = drawn
    p = Profile.around([a + j * 360 / n for a, j in zip(even(n), jitter, strict=False)], deviations, R)
    lsc, mcc, mzc = (f(p) for f in ALL)
    tiny = 1e-10
    for other in (lsc, mcc):
        assert mzc.zone_mm <= other.zone_mm + tiny
    for other in (mcc, mzc):
        middle = sum(other.local_mm) / n
        assert rms_mm(lsc) ** 2 <= sum((d - middle) ** 2 for d in other.local_mm) / n + tiny
    assert max(mcc.local_mm) <= tiny
    assert mcc.deviation_mm <= lsc.outer_mm + tiny and mcc.deviation_mm <= mzc.outer_mm + tiny
    assert lsc.deviation_mm <= mcc.deviation_mm + tiny
    assert len(mcc.touching) in (2, 3)
    assert all(abs(mcc.local_mm[i]) < 1e-9 for i in mcc.touching)


@settings(max_examples=40, deadline=None)
@given(profiles, st.floats(-180, 180), st.floats(-30, 30), st.floats(-30, 30))
def test_turning_and_shifting_turns_and_shifts_the_circles(drawn, turn, dx, dy) -> None:
    n, deviations, jitter = drawn
    p = Profile.around([a + j * 360 / n for a, j in zip(even(n), jitter, strict=False)], deviations, R)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    q = Profile.through([(c * x - s * y + dx, s * x + c * y + dy) for x, y in p.points])
    for fit in ALL:
        one, two = fit(p), fit(q)
        assert two.radius_mm == pytest.approx(one.radius_mm, abs=1e-9)
        assert two.zone_mm == pytest.approx(one.zone_mm, abs=1e-7)
    for fit in (least_squares, minimum_circumscribed):  # the others may have equals elsewhere
        one, two = fit(p), fit(q)
        assert two.x_mm == pytest.approx(c * one.x_mm - s * one.y_mm + dx, abs=1e-6)
        assert two.y_mm == pytest.approx(s * one.x_mm + c * one.y_mm + dy, abs=1e-6)
