"""Least-squares lines and planes with their standard errors.

Columns are centred on their means and made orthogonal one after the other, twice
(modified Gram-Schmidt), so that positions of hundreds of millimetres and slopes of
hundred-thousandths keep their digits. Checked against certified values of the NIST
Statistical Reference Datasets.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Fit", "fit", "line", "plane"]


@dataclass(frozen=True, slots=True)
class Fit:
    """height = ``middle`` + Σ ``slopes[k]`` · (column k − ``means[k]``).

    ``residuals`` follow the points. ``spread`` is the residual standard deviation, None
    where as many figures are fitted as there are points. ``shape[k][l]`` times a
    variance of one height is the covariance of the slopes.
    """

    middle: float
    slopes: tuple[float, ...]
    means: tuple[float, ...]
    residuals: tuple[float, ...]
    shape: tuple[tuple[float, ...], ...]

    @property
    def n(self) -> int:
        return len(self.residuals)

    @property
    def dof(self) -> int:
        """Points less fitted figures."""
        return self.n - len(self.slopes) - 1

    @property
    def spread(self) -> float | None:
        return math.sqrt(math.fsum(r * r for r in self.residuals) / self.dof) if self.dof else None

    def at(self, *columns: float) -> float:
        """The fitted height at a place."""
        return self.middle + math.fsum(s * (c - m) for s, c, m in zip(self.slopes, columns, self.means, strict=True))

    def lever(self, *columns: float) -> float:
        """Variance of the fitted height at a place, per variance of one height."""
        arm = [c - m for c, m in zip(columns, self.means, strict=True)]
        return 1 / self.n + self.combined(arm)

    def combined(self, weights: Sequence[float]) -> float:
        """Variance of Σ weights[k] · slopes[k], per variance of one height."""
        return math.fsum(
            a * b * v for a, row in zip(weights, self.shape, strict=True) for b, v in zip(weights, row, strict=True)
        )

    @property
    def intercept(self) -> float:
        """The fitted height where every column is zero."""
        return self.at(*(0.0 for _ in self.slopes))


def fit(columns: Sequence[Sequence[float]], heights: Sequence[float]) -> Fit:
    """Fit heights by a constant and a slope for each column (all of one length).

    Raises ValueError if lengths differ, a figure is not finite, there are too few
    points, or a column adds nothing to those before it (points on one line).
    """
    n = _checked(columns, heights)
    means = tuple(math.fsum(c) / n for c in columns)
    middle = math.fsum(heights) / n
    y = [h - middle for h in heights]
    basis, triangle = _orthogonal(columns, means)
    inverse = _inverse(triangle)
    along, rest = _along(basis, y)
    k = range(len(columns))
    slopes = tuple(math.fsum(inverse[i][j] * along[j] for j in k) for i in k)
    shape = tuple(tuple(math.fsum(inverse[i][m] * inverse[j][m] for m in k) for j in k) for i in k)
    return Fit(middle, slopes, means, tuple(rest), shape)


def _along(basis: Sequence[Sequence[float]], y: list[float]) -> tuple[list[float], list[float]]:
    """The parts of y along orthogonal unit vectors, and what is left of it."""
    along, rest = [], y
    for q in basis:
        a = math.fsum(u * v for u, v in zip(q, rest, strict=True))
        along.append(a)
        rest = [v - a * u for u, v in zip(q, rest, strict=True)]
    return along, rest


def _checked(columns: Sequence[Sequence[float]], heights: Sequence[float]) -> int:
    """The number of points, all of them sound."""
    n = len(heights)
    if any(len(c) != n for c in columns):
        raise ValueError("every column must be as long as the heights")
    if not all(math.isfinite(v) for c in (*columns, heights) for v in c):
        raise ValueError("positions and heights must be finite numbers")
    if n < len(columns) + 1:
        raise ValueError("too few points for the fit")
    return n


def _rid_of(v: list[float], basis: Sequence[Sequence[float]]) -> tuple[list[float], list[float]]:
    """A vector's parts along each of the unit vectors, and what is left of it; gone over twice, against rounding."""
    parts = [0.0] * len(basis)
    for _ in range(2):
        for k, q in enumerate(basis):
            along = math.fsum(a * b for a, b in zip(q, v, strict=True))
            parts[k] += along
            v = [a - along * b for a, b in zip(v, q, strict=True)]
    return parts, v


def _orthogonal(
    columns: Sequence[Sequence[float]], means: Sequence[float]
) -> tuple[list[list[float]], list[list[float]]]:
    """Orthogonal unit vectors, and each column's parts along them (row k: parts of column k along basis 0..k)."""
    basis: list[list[float]] = []
    triangle: list[list[float]] = []
    for column, mean in zip(columns, means, strict=True):
        v = [c - mean for c in column]
        whole = math.sqrt(math.fsum(a * a for a in v))
        parts, v = _rid_of(v, basis)
        left = math.sqrt(math.fsum(a * a for a in v))
        if left <= 1e-9 * max(whole, abs(mean)) or left == 0:
            raise ValueError("the points lie in one line: they do not tell the slopes apart")
        basis.append([a / left for a in v])
        triangle.append([*parts, left])
    return basis, triangle


def _inverse(triangle: Sequence[Sequence[float]]) -> list[list[float]]:
    """The inverse of the triangle by back-substitution: row i, column j is the part of slope i from basis j."""
    k = len(triangle)
    inverse = [[0.0] * k for _ in range(k)]
    for j in range(k):
        inverse[j][j] = 1 / triangle[j][j]
        for i in range(j - 1, -1, -1):
            inverse[i][j] = -math.fsum(triangle[m][i] * inverse[m][j] for m in range(i + 1, j + 1)) / triangle[i][i]
    return inverse


def line(x: Sequence[float], heights: Sequence[float]) -> Fit:
    """The least-squares line through (x, height), two or more points at different x."""
    return fit([x], heights)


def plane(x: Sequence[float], y: Sequence[float], heights: Sequence[float]) -> Fit:
    """The least-squares plane through (x, y, height), three or more points not in one line."""
    return fit([x, y], heights)
