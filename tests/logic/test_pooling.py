"""Partial pooling against NumPy's algebra and SciPy's multivariate t, and against the truth in simulated machines."""

import random

import numpy as np
import pytest
from scipy import linalg, optimize, stats

from logic import pooling as p

PRIOR = p.Prior(level=0.004, u_level=0.05, spread=0.006, between=0.010, drift=0.003, slopes=(0.02, 0.001))
SLOPES = (0.012, 0.0004)


def made_job(rng, level, n, *, between=0.010, spread=0.006):
    own = rng.gauss(0.0, between)
    x = [(rng.gauss(0.0, 0.2), float(k)) for k in range(n)]
    y = [level + own + SLOPES[0] * a + SLOPES[1] * b + rng.gauss(0.0, spread) for a, b in x]
    return y, x


def dense(jobs, prior, between, drift, *, own=None, new=None):
    """The same model written out: design, and covariance over σ² of every value, with the state's prior in it.

    ``between`` and ``drift`` are variances over σ². Rows: every value of every job, then those of the present job,
    then the value to predict.
    """
    rows, job_of, t = [], [], []
    everything = [*jobs, *([own] if own else []), *([([0.0], [new])] if new is not None else [])]
    for j, (_, x) in enumerate(everything):
        present = own and new is not None and j == len(everything) - 1
        for a in x:
            rows.append([1.0, *a])
            job_of.append(j - 1 if present else j)
            t.append(j - 1 if present else j)
    x = np.array(rows)
    y = np.array([v for ys, _ in everything for v in ys])
    scale = prior.spread**2
    c0 = np.diag([prior.u_level**2, *(s * s for s in prior.slopes)]) / scale
    same = np.equal.outer(job_of, job_of).astype(float)
    walked = drift * (1.0 + np.minimum.outer(t, t))
    cov = x @ c0 @ x.T + between * same + walked + np.eye(len(y))
    mean = x @ np.array([prior.level, 0.0, 0.0])
    return y, mean, cov, scale


def one_pair(monkeypatch, b, d):
    monkeypatch.setattr(p, "_BETWEEN", ((b, 1.0),))
    monkeypatch.setattr(p, "_DRIFT", ((d, 1.0),))


@pytest.mark.parametrize("with_own", [True, False])
@pytest.mark.parametrize(("b", "d"), [(1.0, 1.0), (0.0, 0.0), (2.0, 0.5)])
def test_prediction_for_given_ratios_is_the_conditional_t(monkeypatch, b, d, with_own):
    one_pair(monkeypatch, b, d)
    rng = random.Random(5)
    jobs = [made_job(rng, 0.01, n) for n in (3, 1, 6, 2)]
    own = made_job(rng, 0.01, 2) if with_own else None
    new = (0.1, 2.0)
    got = p.predict(p.learn([p.sums(y, x) for y, x in jobs], PRIOR), new, list(zip(*own, strict=True)) if own else ())
    between, drift = (b * PRIOR.between / PRIOR.spread) ** 2, (d * PRIOR.drift / PRIOR.spread) ** 2
    y, mean, cov, scale = dense(jobs, PRIOR, between, drift, own=own, new=new)
    n = len(y) - 1
    solved = np.linalg.solve(cov[:n, :n], np.column_stack([y[:n] - mean[:n], cov[:n, n]]))
    expected = mean[n] + cov[n, :n] @ solved[:, 0]
    variance = cov[n, n] - cov[n, :n] @ solved[:, 1]
    dof = PRIOR.spread_dof + n
    s2 = (PRIOR.spread_dof * scale + (y[:n] - mean[:n]) @ solved[:, 0]) / dof
    assert got.dof == pytest.approx(dof)
    assert got.mean == pytest.approx(expected, rel=1e-9)
    assert got.half == pytest.approx(stats.t.ppf(0.975, dof) * np.sqrt(variance * s2), rel=1e-5)
    assert got.u_mean == pytest.approx(np.sqrt((variance - 1.0) * s2), rel=1e-9)


def test_the_ratios_are_weighed_by_the_evidence():
    """Each pair's share against the density of a multivariate t at what was measured."""
    rng = random.Random(6)
    jobs = [made_job(rng, 0.01, n) for n in (4, 2, 5, 3, 4)]
    got = p.learn([p.sums(y, x) for y, x in jobs], PRIOR)
    logs = []
    for part in got.parts:
        y, mean, cov, _ = dense(jobs, PRIOR, part.between, part.drift)
        logs.append(
            stats.multivariate_t.logpdf(y, loc=mean, shape=cov * PRIOR.spread**2, df=PRIOR.spread_dof)
            + np.log(beforehand(part))
        )
    share = np.exp(np.array(logs) - max(logs))
    assert got.weights == pytest.approx((share / share.sum()).tolist(), rel=1e-6)


def beforehand(part):
    b = next(c for k, c in p._BETWEEN if abs((k * PRIOR.between / PRIOR.spread) ** 2 - part.between) < 1e-12)
    return b * next(c for k, c in p._DRIFT if abs((k * PRIOR.drift / PRIOR.spread) ** 2 - part.drift) < 1e-12)


def test_many_jobs_agree_with_restricted_maximum_likelihood():
    """The spreads of two hundred jobs against REML by SciPy's optimiser on the dense likelihood, in a still machine."""
    rng = random.Random(7)
    jobs = [made_job(rng, 0.01, 4, between=0.008, spread=0.005) for _ in range(120)]
    got = p.learn([p.sums(y, x) for y, x in jobs], PRIOR)
    x = np.array([[1.0, *a] for _, xs in jobs for a in xs])
    y = np.array([v for ys, _ in jobs for v in ys])

    def reml(logs):
        tau2, s2 = np.exp(logs)
        block = np.linalg.inv(s2 * np.eye(4) + tau2)
        w = np.kron(np.eye(len(jobs)), block)
        xtwx = x.T @ w @ x
        beta = np.linalg.solve(xtwx, x.T @ w @ y)
        r = y - x @ beta
        log_det = len(jobs) * (np.log(s2 + 4 * tau2) + 3 * np.log(s2))
        return log_det + np.linalg.slogdet(xtwx)[1] + r @ w @ r

    best = optimize.minimize(reml, np.log([1e-4, 3e-5]), method="Nelder-Mead").x
    tau, s = np.exp(best / 2)
    assert got.spread == pytest.approx(s, rel=0.03)
    assert got.between == pytest.approx(tau, rel=0.2)
    assert got.slopes[0] == pytest.approx(SLOPES[0], abs=0.003)


def test_no_job_is_the_prior():
    got = p.predict(p.learn([], PRIOR), (0.0, 0.0))
    assert (got.mean, got.weight) == pytest.approx((PRIOR.level, 0.0))
    assert got.spread == pytest.approx(PRIOR.spread)
    assert got.half > 1.96 * PRIOR.u_level


def test_a_job_that_does_not_fit_is_set_aside_until_somebody_answers():
    rng = random.Random(9)
    before = [p.sums(*made_job(rng, 0.01, 6)) for _ in range(15)]
    odd = p.sums(*made_job(rng, 0.16, 6))
    waiting = p.learn([*before, odd], PRIOR)
    assert waiting.aside == (15,)
    assert waiting.unsettled > p.APART_Z
    still, unsure = p.predict(p.learn(before, PRIOR)), p.predict(waiting)
    assert unsure.mean == pytest.approx(still.mean, abs=0.003)
    assert unsure.half > 3.0 * still.half  # it may be where the last job was
    changed = p.learn([*before, p.Sums(**{**vars_of(odd), "fit": "restart"})], PRIOR)
    assert changed.start == 15
    assert p.predict(changed).mean == pytest.approx(0.16, abs=0.02)
    dropped = p.learn([*before, p.Sums(**{**vars_of(odd), "fit": "aside"})], PRIOR)
    assert (dropped.aside, dropped.unsettled) == ((15,), 0.0)
    assert p.predict(dropped).half == pytest.approx(still.half, rel=0.05)
    counts = p.learn([*before, p.Sums(**{**vars_of(odd), "fit": "counts"})], PRIOR)
    assert counts.aside == ()


def vars_of(g):
    return {"n": g.n, "mean": g.mean, "squares": g.squares, "x": g.x, "xx": g.xx, "xy": g.xy}


def test_other_machines_draw_the_prior_toward_them():
    rng = random.Random(10)
    others = [p.learn([p.sums(*made_job(rng, lvl, 5)) for _ in range(20)], PRIOR) for lvl in (0.02, 0.024, 0.018)]
    drawn = p.pooled_prior(PRIOR, others)
    assert PRIOR.level < drawn.level < 0.022
    assert drawn.u_level < PRIOR.u_level
    assert drawn.spread == pytest.approx(0.006, rel=0.1)
    assert drawn.spread_dof == 8.0
    assert p.pooled_prior(PRIOR, [p.learn([], PRIOR)]) == PRIOR


WANDERING = p.Prior(
    level=0.004, u_level=0.05, spread=0.006, between=0.010, drift=0.003, slopes=(0.02, 0.001), wander=0.4, wander_by=1
)


def wandering(rng, share, n=5):
    """A job whose edge wears by a slope of its own, ``share`` of the spread one standard deviation."""
    y, x = made_job(rng, 0.01, n)
    own = rng.gauss(0.0, share * 0.006)
    return [v + own * a for v, (_, a) in zip(y, x, strict=True)], x


def test_how_far_jobs_wander_is_weighed_by_the_evidence_within_them():
    """Each wander's share against the density of a multivariate t at the contrasts within the jobs."""
    rng = random.Random(12)
    jobs = [wandering(rng, 0.3, n) for n in (4, 2, 6, 5, 1)]
    got = dict(p.learn([p.sums(y, x) for y, x in jobs], WANDERING).wanders)
    x = np.array([a for _, xs in jobs for a in xs])
    y = np.array([v for ys, _ in jobs for v in ys])
    contrasts = linalg.block_diag(*(linalg.helmert(len(ys)) for ys, _ in jobs if len(ys) > 1))
    contrasts = np.pad(contrasts, ((0, 0), (0, len(y) - contrasts.shape[1])))  # the job of one value comes last
    same = np.equal.outer(*[[j for j, (ys, _) in enumerate(jobs) for _ in ys]] * 2)
    logs = {}
    for w, beforehand in p._WANDER:
        size = w * WANDERING.wander
        cov = x @ np.diag([s * s for s in WANDERING.slopes]) @ x.T / WANDERING.spread**2
        cov = contrasts @ (cov + np.eye(len(y)) + size**2 * same * np.outer(x[:, 1], x[:, 1])) @ contrasts.T
        density = stats.multivariate_t.logpdf(contrasts @ y, shape=cov * WANDERING.spread**2, df=WANDERING.spread_dof)
        logs[size] = density + np.log(beforehand)
    share = {w: np.exp(v - max(logs.values())) for w, v in logs.items()}
    assert got == pytest.approx({w: v / sum(share.values()) for w, v in share.items()}, rel=1e-6)


def test_edges_that_wear_alike_make_the_next_bore_surer_and_unlike_ones_less():
    def half(share):
        rng = random.Random(13)
        made = p.learn([p.sums(*wandering(rng, share)) for _ in range(40)], WANDERING)
        return p.predict(made, (0.0, 2.0), [(0.01, (0.0, 0.0)), (0.012, (0.0, 1.0))]).half / made.spread

    alike, unlike = half(0.0), half(0.6)
    # with slope and level known but for the job's own: two values and a spread between jobs of 10 µm, normal
    least = 1.96 * np.sqrt(1.0 + 1.0 / (2.0 + (0.006 / 0.010) ** 2))
    assert least < alike < 1.12 * least  # a little is left for an edge unlike all before it
    assert unlike > 1.1 * alike


def test_sums_of_nothing_are_refused():
    with pytest.raises(ValueError, match="no values"):
        p.sums([])


@pytest.mark.parametrize("dof", [4.0, 8.0, 30.0, 300.0])
def test_the_interval_of_a_mixture_against_scipy(dof):
    rng = random.Random(1)
    spots = [(rng.random(), rng.gauss(0.0, 0.5), np.exp(rng.gauss(0.0, 0.4))) for _ in range(8)]
    total = sum(w for w, _, _ in spots)

    def lacking(half):
        return (
            sum(w * (stats.t.cdf((half - m) / s, dof) - stats.t.cdf((-half - m) / s, dof)) for w, m, s in spots) / total
            - 0.95
        )

    assert p._half(spots, dof) == pytest.approx(optimize.brentq(lacking, 0.0, 100.0), rel=2e-3)
