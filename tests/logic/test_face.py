"""Top face and lean: geometry worked by hand, SciPy and NumPy as judges, JCGM 101 Monte Carlo.

All figures are invented. Fit of lines and planes: see test_plane (NIST StRD).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from logic.directions import compass, toward
from logic.face import Spot, bore_places_mm, dirt, lean, picture, ready, shims, skim, survey
from logic.face_doubt import cautions_of
from logic.face_plane import USUAL_SLOPE, chance_within
from logic.result import Verdict
from logic.say import Style, say

MM = Style(length="mm")
BORES = {1: 60.0, 2: 155.0, 3: 250.0, 4: 345.0}


def tilted(sx: float, sy: float, bow: float = 0.0, xs=(0, 200, 400), ys=(-70, 70)) -> list[Spot]:
    """Heights of a face with these slopes whose middle stands ``bow`` above its ends."""
    mid, half = (xs[0] + xs[-1]) / 2, (xs[-1] - xs[0]) / 2
    return [Spot(x, y, 230 + sx * x + sy * y + bow * (1 - ((x - mid) / half) ** 2)) for x in xs for y in ys]


def test_lean_is_slope_times_length() -> None:
    face = survey(tilted(0.0003, -0.0002), u_mm=0.003)
    one = lean(face, cylinder=2, x_mm=155, length_mm=150)
    assert one.along_mm == pytest.approx(0.045, abs=1e-12)
    assert one.across_mm == pytest.approx(-0.030, abs=1e-12)
    assert one.total_mm == pytest.approx(math.hypot(0.045, 0.030), abs=1e-12)
    assert (
        say(one.why[0], MM)
        == "Its lower end would come out 0.045\u202fmm toward the rear and 0.030\u202fmm toward the right."
    )


def test_the_lower_end_moves_as_the_geometry_says() -> None:
    """A spindle square to the face, followed down one bore length by vector algebra."""
    sx, sy, length = 0.004, 0.007, 140.0
    normal = np.cross([1, 0, sx], [0, 1, sy])  # points up, out of the face
    down = -normal / normal[2] * length
    one = lean(survey(tilted(sx, sy)), cylinder=1, x_mm=60, length_mm=length)
    assert (one.along_mm, one.across_mm) == pytest.approx((down[0], down[1]), rel=1e-9)


def test_bow_leans_the_end_bores_opposite_ways() -> None:
    """Parabola h = b (1 − (2x/L)²): slope at the bore is −8 b x / L² from the middle."""
    face = survey(tilted(0, 0, bow=0.06), u_mm=0.004)
    assert face.bowed
    leans = [lean(face, cylinder=n, x_mm=x, length_mm=150) for n, x in BORES.items()]
    for one in leans:
        from_middle = BORES[one.cylinder] - 200
        assert one.along_mm == pytest.approx(-8 * 0.06 * from_middle / 400**2 * 150, abs=1e-9)
    outcome = ready(face, leans)
    assert outcome.figure("bow").value == pytest.approx(0.06, abs=1e-9)
    assert "humped" in say(outcome.why[1], MM)
    assert outcome.figure("flatness").value == pytest.approx(0.06, abs=1e-9)


def test_flat_level_face_goes_bad_face_stops_doubtful_face_asks() -> None:
    def verdict(sx: float, u: float):
        face = survey(tilted(sx, 0), u_mm=u)
        return ready(face, [lean(face, cylinder=n, x_mm=x, length_mm=150) for n, x in BORES.items()])

    good = verdict(0.0, 0.003)
    assert good.verdict == Verdict.GO and good.confidence > 0.999
    assert say(good.line, MM).startswith("Go: on this deck no bore leans more than 0.050")
    bad = verdict(0.0009, 0.003)
    assert bad.verdict == Verdict.STOP and bad.worst.total_mm == pytest.approx(0.135)
    assert "Skim the deck or shim the base" in say(bad.line, MM)
    close = verdict(0.05 / 150, 0.003)  # exactly at the limit
    assert close.verdict == Verdict.MAYBE
    assert 0.3 < close.worst.chance < 0.6


def test_two_points_only() -> None:
    face = survey([Spot(0, 0, 230.0), Spot(400, 0, 230.1)], u_mm=0.01)
    one = lean(face, cylinder=1, x_mm=60, length_mm=160)
    assert one.along_mm == pytest.approx(0.1 / 400 * 160)
    assert one.across_mm == 0
    assert one.u_along_mm == pytest.approx(math.sqrt(2) * 0.01 / 400 * 160)
    assert one.u_across_mm == pytest.approx(2e-4 * 160)
    assert one.u_mm == pytest.approx(2e-4 * 160)
    assert {c.key for c in one.cautions} == {"face.two_points", "face.one_line", "face.bow_unseen"}
    assert face.flatness_mm is None


def test_points_on_a_slanting_line_share_the_doubt() -> None:
    """Two points on a diagonal: the slope along the line is known, square to it only assumed."""
    face = survey([Spot(0, -60, 230.0), Spot(300, 60, 230.06)], u_mm=0.002)
    run = math.hypot(300, 120)
    along, across, (vaa, vab, vbb) = face.slopes(150, 0)
    assert (along, across) == pytest.approx((0.06 / run * 300 / run, 0.06 / run * 120 / run))
    unit, normal = np.array([300, 120]) / run, np.array([-120, 300]) / run
    expected = (math.sqrt(2) * 0.002 / run) ** 2 * np.outer(unit, unit) + 2e-4**2 * np.outer(normal, normal)
    assert [vaa, vab, vbb] == pytest.approx([expected[0, 0], expected[0, 1], expected[1, 1]])


def test_three_in_line_show_flatness_but_not_across() -> None:
    face = survey([Spot(0, 0, 230.0), Spot(200, 0, 230.03), Spot(400, 0, 230.0)], u_mm=0.005)
    assert not face.across_known and not face.bowed
    assert face.flatness_mm == pytest.approx(0.03)
    assert face.spread_mm == pytest.approx(math.sqrt(0.01**2 * 2 + 0.02**2))  # scatter beats the stated figure
    assert [c.key for c in cautions_of(face)] == ["face.one_line", "face.bow_unseen"]


def test_four_in_line_show_a_bow() -> None:
    face = survey([Spot(x, 0, 230 + 0.04 * (1 - ((x - 200) / 200) ** 2)) for x in (0, 130, 270, 400)])
    assert face.bowed and not face.across_known
    assert face.slopes(0, 0)[0] == pytest.approx(2 * 0.04 / 200)


def test_bad_input() -> None:
    with pytest.raises(ValueError, match="two different places"):
        survey([Spot(0, 0, 230), Spot(0, 0, 231)])
    with pytest.raises(ValueError, match="finite"):
        survey([Spot(0, 0, 230), Spot(1, 0, math.nan)])
    with pytest.raises(ValueError, match="uncertainty"):
        survey(tilted(0, 0), u_mm=0)
    face = survey(tilted(0, 0))
    for bad in ({"length_mm": 0}, {"length_mm": 150, "limit_mm": -1}):
        with pytest.raises(ValueError):
            lean(face, cylinder=1, x_mm=60, **bad)
    with pytest.raises(ValueError, match="three feet"):
        shims(face, [(0, 0), (100, 0)], cylinder=1, x_mm=60)
    with pytest.raises(ValueError, match="no bore"):
        ready(face, [])
    with pytest.raises(ValueError, match="no bore"):
        skim(face, {})
    with pytest.raises(ValueError, match="outline"):
        skim(face, BORES, outline_mm=(400, 0, -70, 70))
    with pytest.raises(ValueError):
        dirt(-0.01, base_mm=200, length_mm=150)


# -- probability of keeping the limit ------------------------------------------------------


def test_chance_against_noncentral_chi_squared() -> None:
    """With equal spread both ways, (length/u)² is noncentral chi-squared: scipy.stats.ncx2 is the judge."""
    for a, b, u in [(0.03, 0.02, 0.01), (0.0, 0.0, 0.02), (0.08, 0.0, 0.02), (0.049, 0.0, 0.0005), (0.0, 0.06, 0.004)]:
        expected = stats.ncx2.cdf((0.05 / u) ** 2, 2, (a * a + b * b) / u**2)
        assert chance_within(0.05, a, b, u * u, 0.0, u * u) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(
    ("a", "b", "sa", "sb", "r"),
    [
        (0.03, 0.01, 0.004, 0.03, 0.0),
        (0.02, -0.03, 0.02, 0.01, 0.6),
        (0.0, 0.05, 0.001, 0.05, -0.3),
        (0.06, 0.0, 0.03, 0.002, 0.9),
    ],
)
def test_chance_by_monte_carlo(a, b, sa, sb, r) -> None:
    """JCGM 101:2008, 400 000 draws."""
    cov = [[sa * sa, r * sa * sb], [r * sa * sb, sb * sb]]
    draws = np.random.default_rng(5).multivariate_normal([a, b], cov, 400_000)
    expected = np.mean(np.hypot(*draws.T) <= 0.05)
    assert chance_within(0.05, a, b, cov[0][0], cov[0][1], cov[1][1]) == pytest.approx(expected, abs=0.003)


def test_chance_without_doubt() -> None:
    assert chance_within(0.05, 0.03, 0.03, 0, 0, 0) == 1
    assert chance_within(0.05, 0.04, 0.04, 0, 0, 0) == 0
    # one direction known exactly: a plain interval (scipy.stats.norm)
    half = math.sqrt(0.05**2 - 0.03**2)
    expected = stats.norm.cdf(half, 0.01, 0.02) - stats.norm.cdf(-half, 0.01, 0.02)
    assert chance_within(0.05, 0.03, 0.01, 0.0, 0.0, 0.02**2) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("bow", "xs"), [(0.0, (0, 400)), (0.05, (0, 200, 400))])
def test_lean_uncertainty_by_monte_carlo(bow, xs) -> None:
    """JCGM 101:2008: heights drawn about the truth, the whole calculation repeated 20 000 times by NumPy."""
    u, length = 0.008, 150.0
    spots = tilted(0.0002, 0.0003, bow, xs=xs)
    face = survey(spots, u_mm=u)
    one = lean(face, cylinder=1, x_mm=60, length_mm=length)
    x, y, h = (np.array(c) for c in zip(*spots, strict=False))
    columns = [np.ones_like(x), x - 200, y] + ([(x - 200) ** 2] if bow else [])
    design = np.column_stack(columns)
    rng = np.random.default_rng(2)
    heights = h[:, None] + rng.normal(0, u, (len(h), 20_000))
    found = np.linalg.lstsq(design, heights, rcond=None)[0]
    along = (found[1] + (2 * found[3] * (60 - 200) if bow else 0)) * length
    across = found[2] * length
    assert one.u_along_mm == pytest.approx(along.std(), rel=0.03)
    assert one.u_across_mm == pytest.approx(across.std(), rel=0.03)
    assert one.along_mm == pytest.approx(along.mean(), abs=4 * along.std() / 141)
    # each draw weighed by how usual such a face is: the product of what was read and what faces are like
    usual = np.exp(-0.5 * (np.hypot(along, across) / (USUAL_SLOPE * length)) ** 2)
    assert one.chance == pytest.approx(np.average(np.hypot(along, across) <= 0.05, weights=usual), abs=0.015)
    assert np.hypot(along, across).std() <= one.u_mm * 1.03


# -- skim, shims, dirt --------------------------------------------------------------------


def test_skim_plan_leaves_a_parallel_face() -> None:
    face = survey(tilted(0.0003, -0.0002))
    plan = skim(face, BORES, bore_mm=86.0)
    stock = {say(name): t for name, _, _, t in plan.corners}
    # lowest corner: front left (x 0, y +70); rise 0.12 along, 0.028 across
    assert stock["the front left"] == pytest.approx(0, abs=1e-12)
    assert stock["the front right"] == pytest.approx(0.028)
    assert stock["the rear left"] == pytest.approx(0.12)
    assert stock["the rear right"] == pytest.approx(0.148)
    assert plan.most_mm == pytest.approx(0.148)
    assert plan.removed_mm[1] == pytest.approx(0.014 + 0.0003 * 60)
    assert plan.mean_mm == pytest.approx(0.014 + 0.0003 * 202.5)
    assert plan.figure("volume.4").value == pytest.approx(math.pi / 4 * 8.6**2 * (0.014 + 0.0003 * 345) / 10)
    # what is left after the cut is parallel: every height less its stock is one height
    assert {round(face.height_mm(x, y) - t, 9) for _, x, y, t in plan.corners} == {round(230 - 0.014, 9)}


def test_skim_goes_down_to_a_low_spot_and_to_the_outline() -> None:
    spots = tilted(0, 0, xs=(0, 100, 200, 300, 400))
    low = [s._replace(height_mm=s.height_mm - 0.05) if s[:2] == (200, 70) else s for s in spots]
    plan = skim(survey(low), BORES)
    assert plan.most_mm == pytest.approx(max(s.height_mm for s in low) - (230 - 0.05), abs=0.03)
    assert min(t for *_, t in plan.corners) > 0.02
    wide = skim(survey(tilted(0.0003, 0)), BORES, outline_mm=(-20, 420, -80, 80))
    assert wide.most_mm == pytest.approx(0.0003 * 440)


def test_shims_make_the_base_parallel() -> None:
    face = survey(tilted(0.0004, 0.0003))
    feet = [(-110, 60), (-110, -60), (110, 60), (110, -60)]
    plan = shims(face, feet, cylinder=3, x_mm=250)
    tops = [face.height_mm(250 + x, y) + t for _, x, y, t in plan.feet]
    assert tops == pytest.approx([tops[0]] * 4)
    assert [t for *_, t in plan.feet] == pytest.approx([0.088, 0.124, 0.0, 0.036])
    assert "0.124\u202fmm under the foot at the front right, none under the foot at the rear left" in say(plan.line, MM)
    assert "no shims" in say(shims(survey(tilted(0, 0)), feet, cylinder=1, x_mm=60).line, MM)


def test_remedied_face_keeps_its_doubt() -> None:
    face = survey(tilted(0.0009, 0.0002), u_mm=0.006)
    before = lean(face, cylinder=1, x_mm=60, length_mm=150)
    after = lean(face, cylinder=1, x_mm=60, length_mm=150, remedied=True)
    assert (after.along_mm, after.across_mm, after.total_mm) == (0, 0, 0)
    assert (after.u_mm, after.u_along_mm, after.u_across_mm) == (before.u_mm, before.u_along_mm, before.u_across_mm)
    assert before.verdict == Verdict.STOP and after.verdict == Verdict.GO
    assert "error of the heights" in say(after.why[0])


def test_where_the_bores_lie() -> None:
    face = survey(tilted(0, 0))  # heights from 0 to 400
    assert bore_places_mm(face, [1, 2, 3, 4], 95.0) == {1: 57.5, 2: 152.5, 3: 247.5, 4: 342.5}
    assert bore_places_mm(face, [1, 2, 3, 4], 95.0, 60.0) == {1: 60.0, 2: 155.0, 3: 250.0, 4: 345.0}
    # from the front to the rear in the order given: the banks of a vee number their bores as they like
    assert bore_places_mm(face, [2, 1], None) == {2: 100.0, 1: 300.0}


def test_shim_uncertainty_by_monte_carlo() -> None:
    """JCGM 101:2008, 20 000 draws of the heights, NumPy fit."""
    u = 0.008
    spots = tilted(0.0004, 0.0003, xs=(0, 400))
    plan = shims(survey(spots, u_mm=u), [(-110, 60), (-110, -60), (110, 60), (110, -60)], cylinder=3, x_mm=250)
    x, y, h = (np.array(c) for c in zip(*spots, strict=False))
    design = np.column_stack([np.ones_like(x), x, y])
    found = np.linalg.lstsq(design, h[:, None] + np.random.default_rng(3).normal(0, u, (len(h), 20_000)), rcond=None)[0]
    thickness = found[1] * 220 + found[2] * 120
    assert plan.value.u == pytest.approx(thickness.std(), rel=0.03)


def test_dirt_worked_by_hand() -> None:
    """0.05 mm under one side of a 200 mm base tips it 1 in 4000: 0.04 mm over a 160 mm bore."""
    found = dirt(0.05, base_mm=200, length_mm=160, limit_mm=0.05)
    assert found.lean_mm == pytest.approx(0.04)
    assert found.most_mm == pytest.approx(0.0625)
    assert dirt(found.most_mm, base_mm=200, length_mm=160).lean_mm == pytest.approx(0.05)
    assert dirt(0, base_mm=200, length_mm=160).lean_mm == 0


# -- words and picture ----------------------------------------------------------------------


def test_directions_in_words() -> None:
    assert [say(compass(a)) for a in (0, 44, 91, 180, -90, 359)] == [
        "the front", "the front left", "the left", "the rear", "the right", "the front"
    ]  # fmt: skip
    assert say(toward(0.1, -0.2), MM) == "0.100\u202fmm toward the front and 0.200\u202fmm toward the right"
    assert say(toward(-0.1, 0.0), MM) == "0.100\u202fmm toward the rear"
    assert say(toward(0.0005, 0.0)) == "by no measurable amount"
    with pytest.raises(ValueError):
        toward(math.nan, 0)


def test_picture() -> None:
    face = survey(tilted(0.0003, 0.0002))
    leans = [lean(face, cylinder=n, x_mm=x, length_mm=150) for n, x in BORES.items()]
    shown = picture(face, leans, BORES)
    assert len(shown.points) == 6
    (x0, h0), (x1, h1) = shown.ends
    assert (x0, x1) == (0, 400) and h1 - h0 == pytest.approx(0.12)
    assert [b[0] for b in shown.bores] == ["1", "2", "3", "4"]
    assert shown.bores[0][2] == pytest.approx(0.045)
    assert "rises 0.120" in say(shown.text, MM)
    assert "falls" in say(picture(survey(tilted(-0.0003, 0)), leans, BORES).text)
    assert "level" in say(picture(survey(tilted(0, 0)), leans, BORES).text)


# -- properties ----------------------------------------------------------------------------------

slopes = st.floats(-1e-3, 1e-3)


@settings(max_examples=60, deadline=None)
@given(slopes, slopes, st.floats(-0.05, 0.05), st.floats(-500, 500))
def test_a_datum_elsewhere_changes_nothing(sx, sy, bow, datum) -> None:
    one = lean(survey(tilted(sx, sy, bow)), cylinder=1, x_mm=60, length_mm=150)
    moved = [s._replace(height_mm=s.height_mm + datum) for s in tilted(sx, sy, bow)]
    two = lean(survey(moved), cylinder=1, x_mm=60, length_mm=150)
    assert (two.along_mm, two.across_mm) == pytest.approx((one.along_mm, one.across_mm), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(slopes, slopes, st.floats(0.002, 0.02), st.floats(-1e-7, 1e-7))
def test_small_changes_stay_small_and_less_doubt_never_hurts_a_good_face(sx, sy, u, nudge) -> None:
    spots = tilted(sx, sy)
    one = lean(survey(spots, u_mm=u), cylinder=1, x_mm=60, length_mm=150)
    two = lean(
        survey([spots[0]._replace(height_mm=spots[0].height_mm + nudge), *spots[1:]], u_mm=u),
        cylinder=1,
        x_mm=60,
        length_mm=150,
    )
    assert abs(two.total_mm - one.total_mm) <= abs(nudge) * 3 + 1e-12
    assert two.chance == pytest.approx(one.chance, abs=1e-4)
    if one.total_mm < one.limit_mm:
        sharper = lean(survey(spots, u_mm=u / 2), cylinder=1, x_mm=60, length_mm=150)
        # JCGM 106: inside the limit less doubt raises the chance, save where the mean sits
        # so near the circle's edge that its curvature counts
        if one.limit_mm - one.total_mm > 0.1 * one.u_mm:
            assert sharper.chance >= one.chance - 1e-9
