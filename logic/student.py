"""Student's t, and the straight line through points with its intervals.

Plain Python, no NumPy. ``dof`` may be any positive number, or ``math.inf`` for the
normal distribution. Relations: the regularised incomplete beta function by its
continued fraction; intervals as in any text on linear regression.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

__all__ = ["Sample", "Trend", "cdf", "half_of_95", "quantile", "sample", "trend", "two_sided"]

_NORMAL = NormalDist()


def _beta_fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function (Lentz's way of summing it)."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    h = d
    for m in range(1, 500):
        for top in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 + top * d
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = 1.0 + top / (c if abs(c) > tiny else tiny)
            h *= c * d
        if abs(c * d - 1.0) < 4e-16 * m:  # rounding alone leaves about this much
            break
    return h


def _beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b), 0 <= x <= 1."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(a, b, x) / a
    return 1.0 - front * _beta_fraction(b, a, 1.0 - x) / b


def cdf(t: float, dof: float) -> float:
    """Probability that a Student-t variable with ``dof`` degrees of freedom is below ``t``."""
    if not dof > 0:
        raise ValueError("degrees of freedom must be above zero")
    if dof > 1e7:
        return _NORMAL.cdf(t)
    if t * t < dof:  # near the middle, where the tail's complement would lose its digits
        half = 0.5 * _beta(0.5, dof / 2.0, t * t / (dof + t * t))
        return 0.5 + math.copysign(half, t)
    tail = 0.5 * _beta(dof / 2.0, 0.5, dof / (dof + t * t))
    return tail if t < 0 else 1.0 - tail


@lru_cache(maxsize=512)
def quantile(p: float, dof: float) -> float:
    """The ``t`` below which a Student-t variable lies with probability ``p`` (0 < p < 1)."""
    if not 0.0 < p < 1.0:
        raise ValueError("a probability lies between 0 and 1")
    if not dof > 0:
        raise ValueError("degrees of freedom must be above zero")
    if dof > 1e7:
        return _NORMAL.inv_cdf(p)
    if p == 0.5:
        return 0.0
    if p < 0.5:
        return -quantile(1.0 - p, dof)
    return _upper_quantile(1.0 - p, dof, max(_NORMAL.inv_cdf(p), 1e-3))


def _upper_quantile(tail: float, dof: float, start: float) -> float:
    """The ``t`` above which there is ``tail`` (below one half).

    The upper tail is what keeps its digits far out, so it is what is solved for:
    Newton's steps on its logarithm from ``start``, held inside a bracket.
    """
    log_front = math.lgamma((dof + 1.0) / 2.0) - math.lgamma(dof / 2.0) - 0.5 * math.log(dof * math.pi)
    low, high = 0.0, math.inf
    t = start
    for _ in range(200):
        above = 1.0 - cdf(t, dof) if t * t < dof else 0.5 * _beta(dof / 2.0, 0.5, dof / (dof + t * t))
        if above > tail:
            low = t
        else:
            high = t
        density = math.exp(log_front - (dof + 1.0) / 2.0 * math.log1p(t * t / dof))
        step = t + above * math.log(above / tail) / density if above > 0.0 else math.inf
        if not low < step < high:
            step = 0.5 * (low + high) if math.isfinite(high) else 2.0 * t
        if abs(step - t) <= 1e-12 * t:  # a Newton step this short leaves far less
            return step
        t = step
    return t


def two_sided(confidence: float, dof: float) -> float:
    """The factor k for which a t variable lies within ±k with probability ``confidence``."""
    return quantile(0.5 + confidence / 2.0, dof)


def half_of_95(u: float, dof: float) -> float:
    """Half the 95 % interval halved again: what is shown as ± twice this then holds 19 times in 20 at few degrees of freedom too."""
    return u * max(1.0, two_sided(0.95, dof) / 2.0)


@dataclass(frozen=True, slots=True)
class Sample:
    """Mean and spread of repeated values; ``spread`` is the sample standard deviation (0 for one value)."""

    n: int
    mean: float
    spread: float

    @property
    def dof(self) -> int:
        return self.n - 1


def sample(values: Sequence[float]) -> Sample:
    """Mean and sample standard deviation. Raises ValueError when there is no value."""
    if not values:
        raise ValueError("no values")
    n = len(values)
    mean = math.fsum(values) / n
    spread = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1)) if n > 1 else 0.0
    return Sample(n, mean, spread)


@dataclass(frozen=True, slots=True)
class Trend:
    """A least-squares straight line y = ``at_zero`` + ``slope`` x through ``n`` points.

    ``spread`` is the residual standard deviation (0 when only two points define the
    line); ``dof`` is n − 2; ``sxx`` the sum of squares of x about ``x_mean``.
    """

    n: int
    slope: float
    at_zero: float
    spread: float
    x_mean: float
    sxx: float

    @property
    def dof(self) -> int:
        return self.n - 2

    def at(self, x: float) -> float:
        """The line's height at ``x``."""
        return self.at_zero + self.slope * x

    def u_slope(self, spread: float | None = None) -> float:
        """Standard error of the slope (with another ``spread`` where the points' own says too little)."""
        return (self.spread if spread is None else spread) / math.sqrt(self.sxx)

    def u_new(self, x: float, spread: float | None = None) -> float:
        """Standard error of one further point at ``x``."""
        s = self.spread if spread is None else spread
        return s * math.sqrt(1.0 + 1.0 / self.n + (x - self.x_mean) ** 2 / self.sxx)

    def reach(self, y: float, k: float, spread: float | None = None) -> tuple[float, float] | None:
        """Every ``x`` at which a further point could well read ``y`` (Fieller's interval).

        Those x for which |y − line(x)| <= k · u_new(x). None when the slope is not sure
        enough for the interval to have two ends.
        """
        s = self.spread if spread is None else spread
        # with X = x − x_mean and c = y − line(x_mean):  (c − slope X)² <= k² s² (1 + 1/n + X²/sxx)
        g = (k * s) ** 2
        a = self.slope**2 - g / self.sxx
        c = y - self.at(self.x_mean)
        if a <= 0.0:
            return None
        half = math.sqrt(max(0.0, (self.slope * c) ** 2 - a * (c * c - g * (1.0 + 1.0 / self.n))))
        middle = self.slope * c
        return self.x_mean + (middle - half) / a, self.x_mean + (middle + half) / a


def trend(x: Sequence[float], y: Sequence[float]) -> Trend:
    """Least-squares line through (x, y), same length, at least two different x. Raises ValueError otherwise."""
    if len(x) != len(y):
        raise ValueError("as many x as y are needed")
    n = len(x)
    if n < 2:
        raise ValueError("a line needs two points")
    x_mean, y_mean = math.fsum(x) / n, math.fsum(y) / n
    sxx = math.fsum((a - x_mean) ** 2 for a in x)
    if not sxx > 0.0:
        raise ValueError("a line needs two different x")
    slope = math.fsum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True)) / sxx
    at_zero = y_mean - slope * x_mean
    if n > 2:
        spread = math.sqrt(math.fsum((b - at_zero - slope * a) ** 2 for a, b in zip(x, y, strict=True)) / (n - 2))
    else:
        spread = 0.0
    return Trend(n, slope, at_zero, spread, x_mean, sxx)
