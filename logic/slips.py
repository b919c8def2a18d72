"""Is a reading what the gauge showed, or a slip of the hand?

One or two readings in a hundred are not what the gauge showed: two digits swapped or one
repeated, a sign, another unit, thou for tenths, a turn of the dial lost. Each such kind
is a hypothesis about one reading, with the small chance :data:`CHANCE` shared between the
kinds that apply. How likely a value is, is judged by the other readings of the job: by a
model of wear fitted to them, in which the logarithm of the wear is the sum of a part of
the cylinder, a part of the depth and a part of the axis,

    ln(w + s) = a_cylinder + b_depth + g_axis + e

a ridge regression (A. E. Hoerl and R. W. Kennard, Technometrics 12 (1970) 55) with stated
priors, whose residuals at each reading are those of a fit made without it (the leverage
formula, e / (1 − h)). A reading is asked about only where a slip explains it better than
its face value does, with the chances of both weighed in. The wear's scatter (s, and the
priors) is common practice, no source: wear fades down the bore and differs with the axis
by up to a factor of three or so.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .numerals import typed_number

__all__ = ["CHANCE", "EASE_MM", "Cell", "Meaning", "Suspect", "expected", "meanings", "suspects"]

#: How likely any one reading is a slip, of whatever kind (common practice, no source: one in a hundred).
CHANCE = 0.01
#: Odds from which a slip is asked about. Asking too often is a fault as well.
ODDS = 3.0
#: Without a slip that explains it, a reading so many standard deviations off is asked about all the same.
FAR = 5.0
#: Wear below this is as good as none: what the logarithm is eased by, mm.
EASE_MM = 0.012
#: Prior spreads of the three parts and of a reading about their sum, as natural logarithms.
_SPREAD_CYLINDER, _SPREAD_DEPTH, _SPREAD_AXIS, _SPREAD = 1.0, 1.2, 0.7, 0.22
#: How many readings' worth the prior of the scatter counts.
_SPREAD_WEIGHT = 8.0
#: Degrees of freedom of the tails.
_DOF = 6.0
#: What one turn of a dial indicator is, mm: 0.5, 1, 0.050 in, 0.100 in (common practice).
TURNS_MM = (0.5, 1.0, 1.27, 2.54)


class Cell(NamedTuple):
    """One reading: where, the diameter over the unworn bore in mm, and the text that was typed with its unit's size in mm."""

    cylinder: int
    depth: int
    axis: str
    wear_mm: float
    text: str = ""
    unit_mm: float = 0.0


class Meaning(NamedTuple):
    """What a reading may have been meant as: the change it makes, in mm, and the kind of slip."""

    shift_mm: float
    kind: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading that is likelier a slip: ``likely_mm`` the change that mends it (None: no slip explains it)."""

    cell: Cell
    expected_mm: float
    off: float
    likely_mm: float | None
    kind: str
    odds: float


def _swaps(digits: str) -> Iterator[tuple[str, str]]:
    """The texts that come out as ``digits`` when two neighbours are swapped or one is struck twice."""
    for i in range(len(digits) - 1):
        a, b = digits[i], digits[i + 1]
        if not (a.isdigit() and b.isdigit()):
            continue
        if a != b:
            yield digits[:i] + b + a + digits[i + 2 :], "digits swapped"
        else:
            yield digits[:i] + digits[i + 1 :], "digit repeated"
    for i in range(len(digits) - 2):
        if digits[i].isdigit() and digits[i + 1] == "." and digits[i + 2].isdigit() and digits[i] != digits[i + 2]:
            yield digits[:i] + digits[i + 2] + "." + digits[i] + digits[i + 3 :], "digits swapped"


def meanings(text: str, unit_mm: float) -> tuple[Meaning, ...]:
    """Every slip that could stand behind a number typed as ``text`` in a unit of ``unit_mm`` millimetres.

    The shift is what was meant less what was typed. Empty where the text is no plain
    decimal number.
    """
    got = typed_number(text)
    if got is None or unit_mm <= 0:
        return ()
    digits, typed = got.digits, got.value * unit_mm
    sign = math.copysign(1.0, got.value)
    found: dict[float, str] = {}

    def add(meant_mm: float, kind: str) -> None:
        shift = round(meant_mm - typed, 9)
        if shift != 0.0:
            found.setdefault(shift, kind)

    add(-typed, "sign")
    for other, kind in _swaps(digits):
        add(sign * float(other) * unit_mm, kind)
    add(typed * 10, "decimal point")
    add(typed / 10, "decimal point")
    tenths = unit_mm / 0.00254
    if abs(tenths - round(tenths)) < 1e-6:  # typed in thou, read in millimetres or micrometres
        add(sign * float(digits), "other unit")
        add(sign * float(digits) * 0.001, "other unit")
    else:  # typed in millimetres, read in thou
        add(sign * float(digits) * 0.0254, "other unit")
        add(sign * float(digits) * 0.00254, "other unit")
    for turn in TURNS_MM:
        add(typed + turn, "turn of the dial")
        add(typed - turn, "turn of the dial")
    return tuple(Meaning(shift, kind) for shift, kind in found.items())


# -- the model of the wear ------------------------------------------------------------------------
def _solve(matrix: list[list[float]]) -> list[list[float]]:
    """The inverse of a symmetric positive matrix, by Gauss and Jordan without pivoting."""
    n = len(matrix)
    a = [[*row, *(float(i == j) for j in range(n))] for i, row in enumerate(matrix)]
    for i in range(n):
        pivot = a[i] = [x / a[i][i] for x in a[i]]
        for j, row in enumerate(a):
            if j != i and row[i]:
                a[j] = [x - row[i] * y for x, y in zip(row, pivot, strict=True)]
    return [row[n:] for row in a]


def _log(wear_mm: float) -> float:
    return math.log(max(wear_mm, 0.0) + EASE_MM)


class _Fit(NamedTuple):
    """For each cell: the logarithm expected from all others, and the standard deviation of a reading about it."""

    expected: tuple[float, ...]
    spread: tuple[float, ...]


#: A part of the model: of a cylinder, a depth or an axis, by the first letter, and which one.
_Part = tuple[str, int | str]
_PRIORS = {"c": _SPREAD_CYLINDER, "d": _SPREAD_DEPTH, "a": _SPREAD_AXIS}


def _parts(c: Cell) -> tuple[_Part, ...]:
    return ("c", c.cylinder), ("d", c.depth), ("a", c.axis)


def _normal_equations(cells: Sequence[Cell], index: Mapping[_Part, int]) -> list[list[float]]:
    """The normal equations with the priors' weights; the first unknown is the common level, which is left free."""
    size = len(index) + 1
    normal = [[0.0] * size for _ in range(size)]
    normal[0][0] = 1e-6
    for part, i in index.items():
        normal[i][i] = (_SPREAD / _PRIORS[part[0]]) ** 2
    for c in cells:
        row = _row(c, index)
        for i, j in itertools.product(row, row):
            normal[i][j] += 1.0
    return normal


def _row(c: Cell, index: Mapping[_Part, int]) -> tuple[int, ...]:
    return (0, *(index[part] for part in _parts(c)))


def _spread(squares: Sequence[float], k: int, size: int) -> float:
    """The scatter as the other readings show it; their largest residual is left out, it may be a slip as well."""
    others = sorted(square for i, square in enumerate(squares) if i != k)[:-1]
    free = max(0.0, len(others) - 0.5 * size)
    seen = min(free / max(1, len(others)), 1.0) * math.fsum(others)
    return math.sqrt((_SPREAD_WEIGHT * _SPREAD**2 + seen) / (_SPREAD_WEIGHT + free))


class _Level(NamedTuple):
    """The fitted sum of parts at each cell and its leverage there."""

    values: list[float]
    leverage: list[float]
    unknowns: int


def _index_of(cells: Iterable[Cell]) -> dict[_Part, int]:
    """The number of each part's unknown, from 1 on."""
    found = dict.fromkeys(part for c in cells for part in _parts(c))
    return {part: i for i, part in enumerate(found, 1)}


def _right_side(rows: Sequence[tuple[int, ...]], y: Sequence[float], size: int) -> list[float]:
    """The right side of the normal equations: for each unknown the sum of the values it stands in."""
    return [math.fsum(v for row, v in zip(rows, y, strict=True) if i in row) for i in range(size)]


def _leverage(inverse: Sequence[Sequence[float]], row: tuple[int, ...]) -> float:
    return math.fsum(inverse[i][j] for i, j in itertools.product(row, row))


def _levels(cells: Sequence[Cell], y: Sequence[float]) -> _Level:
    index = _index_of(cells)
    inverse = _solve(_normal_equations(cells, index))
    rows = [_row(c, index) for c in cells]
    right = _right_side(rows, y, len(inverse))
    level = [_dot(line, right) for line in inverse]
    leverage = [min(0.99, _leverage(inverse, row)) for row in rows]
    return _Level([math.fsum(level[i] for i in row) for row in rows], leverage, len(inverse))


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return math.fsum(x * y for x, y in zip(a, b, strict=True))


def _fit(cells: Sequence[Cell]) -> _Fit:
    y = [_log(c.wear_mm) for c in cells]
    fitted = _levels(cells, y)
    left = [(v - f, 1 - h) for v, f, h in zip(y, fitted.values, fitted.leverage, strict=True)]
    expected = tuple(v - e / free for v, (e, free) in zip(y, left, strict=True))
    squares = [e * e / free for e, free in left]
    spread = tuple(_spread(squares, k, fitted.unknowns) / math.sqrt(free) for k, (_, free) in enumerate(left))
    return _Fit(expected, spread)


def expected(cells: Sequence[Cell], at: Cell) -> tuple[float, float]:
    """The natural logarithm of the eased wear to be expected at the place of ``at``, and its standard deviation.

    From all ``cells`` but those at that place; raises ValueError where there are none.
    """
    others = [c for c in cells if _parts(c) != _parts(at)]
    if not others:
        raise ValueError("no other reading says anything")
    y = [_log(c.wear_mm) for c in others]
    index = _index_of((*others, at))
    inverse = _solve(_normal_equations(others, index))
    right = _right_side([_row(c, index) for c in others], y, len(inverse))
    row = _row(at, index)
    level = math.fsum(_dot(inverse[i], right) for i in row)
    return level, _SPREAD * math.sqrt(1 + _leverage(inverse, row))


def _unlikely(wear_mm: float, expected: float, spread: float, u_mm: float) -> float:
    """Minus the log likelihood of a reading against what is expected of it, but for a constant.

    On the logarithm's scale, widened by the reading's own error where there is little wear.
    The tails are those of Student's t with 6 degrees of freedom, since wear is no more
    normal than that. A reading below the unworn bore is further off by as much as it lies below.
    """
    z = (_log(wear_mm) - expected) / math.hypot(spread, u_mm / math.exp(expected))
    if wear_mm < 0:
        z = math.hypot(z, wear_mm / math.hypot(u_mm, 0.004))
    return 0.5 * (_DOF + 1) * math.log1p(z * z / _DOF)


def suspects(cells: Sequence[Cell], u_mm: float, *, odds: float = ODDS) -> tuple[Suspect, ...]:
    """The readings that are likelier a slip than what the gauge showed, the most suspect first.

    ``cells`` are all readings of a job (or of one bore), ``u_mm`` the standard uncertainty of
    one. Fewer than five readings say too little of each other, and nothing is suspected.
    """
    if len(cells) < 5:
        return ()
    fit = _fit(cells)
    found = [
        s
        for c, expected, spread in zip(cells, fit.expected, fit.spread, strict=True)
        if (s := _suspect(c, expected, spread, u_mm, odds)) is not None
    ]
    return tuple(sorted(found, key=lambda s: -s.off))


def _suspect(c: Cell, expected: float, spread: float, u_mm: float, odds: float) -> Suspect | None:
    """The case against one reading, given the logarithm expected of it and the spread about that; None if it stands."""
    face = _unlikely(c.wear_mm, expected, spread, u_mm)
    off = math.sqrt(_DOF * math.expm1(2 * face / (_DOF + 1)))
    if off < 2.0:
        return None
    kinds = meanings(c.text, c.unit_mm)
    costs = [(_unlikely(c.wear_mm + m.shift_mm, expected, spread, u_mm), m) for m in kinds]
    least, best = min(costs, default=(math.inf, None), key=lambda cost: cost[0])
    chance = CHANCE / max(1, len(kinds)) * 3  # a few kinds are far commoner than the rest
    ratio = 0.0 if best is None else math.exp(min(50.0, face - least)) * chance / (1 - CHANCE)
    if ratio < odds and off <= FAR:
        return None
    wear = math.exp(expected) - EASE_MM
    if best is None or (ratio < odds and least >= 1.0):
        return Suspect(c, wear, off, None, "", ratio)
    return Suspect(c, wear, off, best.shift_mm, best.kind, ratio)
