"""Pairing things one to one at the least cost: pistons to bores, and nothing but the pairing.

Pure Python, meant for the sizes an engine has (16 rows or so). A cost matrix is a
sequence of rows; there are at least as many columns as rows, and each row gets a
column of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

__all__ = ["MOST", "even", "least_sum", "least_worst"]

#: The most rows or columns taken: far above any engine, far below a wait on a phone.
MOST = 64

Matrix = Sequence[Sequence[float]]


def _checked(cost: Matrix) -> tuple[int, int]:
    rows = len(cost)
    columns = len(cost[0]) if rows else 0
    if any(len(row) != columns for row in cost):
        raise ValueError("every row of a cost matrix needs the same number of columns")
    if rows > columns:
        raise ValueError(f"{rows} rows cannot each have a column of their own among {columns}")
    if columns > MOST:
        raise ValueError(f"{columns} columns is more than the {MOST} taken here")
    if not all(math.isfinite(c) for row in cost for c in row):
        raise ValueError("costs must be finite numbers")
    return rows, columns


def least_sum(cost: Matrix) -> tuple[int, ...]:
    """The column for each row that makes the total cost least.

    ``cost`` is rows x columns, rows <= columns, finite. Shortest augmenting paths with
    potentials (Kuhn 1955, Munkres 1957; in the form of Jonker and Volgenant 1987), from
    memory; the work grows as rows² x columns. Raises ValueError on a ragged, too tall or
    non-finite matrix.
    """
    rows, columns = _checked(cost)
    # Row and column 0 are a sentinel: row_at[0] is the row being placed.
    row_potential = [0.0] * (rows + 1)
    column_potential = [0.0] * (columns + 1)
    row_at = [0] * (columns + 1)
    for row in range(1, rows + 1):
        row_at[0] = row
        here, came_from = _shortest_path(cost, row_at, row_potential, column_potential)
        while here:
            row_at[here] = row_at[came_from[here]]
            here = came_from[here]
    placed = {row_at[c]: c - 1 for c in range(1, columns + 1) if row_at[c]}
    return tuple(placed[r] for r in range(1, rows + 1))


def _shortest_path(
    cost: Matrix, row_at: Sequence[int], row_potential: list[float], column_potential: list[float]
) -> tuple[int, list[int]]:
    """The free column that the row in ``row_at[0]`` reaches at least cost, and the column before each on the way.

    Raises and lowers the potentials as it goes, so that no reduced cost falls below zero.
    """
    columns = len(row_at)
    here = 0
    least = [math.inf] * columns
    came_from = [0] * columns
    seen = [False] * columns
    while row_at[here]:
        seen[here] = True
        r = row_at[here]
        for c in range(1, columns):
            slack = cost[r - 1][c - 1] - row_potential[r] - column_potential[c]
            if not seen[c] and slack < least[c]:
                least[c], came_from[c] = slack, here
        following = min((c for c in range(1, columns) if not seen[c]), key=least.__getitem__)
        step = least[following]
        for c in range(columns):
            if seen[c]:
                row_potential[row_at[c]] += step
                column_potential[c] -= step
            else:
                least[c] -= step
        here = following
    return here, came_from


def _can_all_be_placed(cost: Matrix, rows: int, columns: int, limit: float) -> bool:
    """Whether every row finds a column of its own at a cost of ``limit`` or less."""
    taken_by = [-1] * columns

    def place(row: int, tried: set[int]) -> bool:
        for column in range(columns):
            if cost[row][column] <= limit and column not in tried:
                tried.add(column)
                if taken_by[column] < 0 or place(taken_by[column], tried):
                    taken_by[column] = row
                    return True
        return False

    return all(place(row, set()) for row in range(rows))


def least_worst(cost: Matrix) -> float:
    """The smallest possible value of the largest cost in a one-to-one pairing (the bottleneck).

    Same shapes and errors as :func:`least_sum`; 0.0 for no rows.
    """
    rows, columns = _checked(cost)
    steps = sorted({c for row in cost for c in row})
    low, high = 0, len(steps) - 1
    while low < high:
        middle = (low + high) // 2
        if _can_all_be_placed(cost, rows, columns, steps[middle]):
            high = middle
        else:
            low = middle + 1
    return steps[low] if steps else 0.0


def even(deviation: Matrix) -> tuple[int, ...]:
    """The column for each row: first the worst |deviation| is made least, then the sum of squares.

    A billionth of the largest deviation makes no difference, so that the last digits of
    a subtraction do not choose. Same shapes and errors as :func:`least_sum`.
    """
    size = [[abs(d) for d in row] for row in deviation]
    limit = least_worst(size) + 1e-9 * max((s for row in size for s in row), default=0.0)
    # One pair beyond the limit must cost more than any full set within it.
    barred = (len(size) + 1) * limit * limit or 1.0

    def cost(d: float) -> float:
        return d * d if d <= limit else barred + d * d

    return least_sum([[cost(d) for d in row] for row in size])
