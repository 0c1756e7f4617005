"""Small matrices as rows of floats: a jaw has at most 48 quantities, which need no library.

Sums are exactly rounded, so that every Python gives the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt
from operator import mul, sub

Vector = Sequence[float]
Matrix = Sequence[Sequence[float]]


def dot(first: Vector, other: Vector) -> float:
    """The sum of the products of their numbers."""
    return fsum(map(mul, first, other))


def times(matrix: Matrix, vector: Vector) -> list[float]:
    """The matrix by a column."""
    return [dot(row, vector) for row in matrix]


def product(first: Matrix, other: Matrix) -> list[list[float]]:
    """The matrix by another."""
    columns = transposed(other)
    return [times(columns, row) for row in first]


def transposed(matrix: Matrix) -> list[list[float]]:
    """Its columns as rows."""
    return [list(column) for column in zip(*matrix, strict=True)]


def less(first: Matrix, other: Matrix) -> list[list[float]]:
    """The first less the other, number by number."""
    return [list(map(sub, row, away)) for row, away in zip(first, other, strict=True)]


def block(matrix: Matrix, rows: Sequence[int], columns: Sequence[int]) -> list[list[float]]:
    """The numbers where these rows and columns cross."""
    return [[matrix[row][column] for column in columns] for row in rows]


def solved(matrix: Matrix, right: Matrix) -> list[list[float]]:
    """What the square matrix has to be multiplied by to give `right`.

    Raises ZeroDivisionError for a matrix that has no inverse.
    """
    rows = [[*left, *given] for left, given in zip(matrix, right, strict=True)]
    size = len(rows)
    for at in range(size):
        pivot = max(range(at, size), key=lambda number: abs(rows[number][at]))
        rows[at], rows[pivot] = rows[pivot], rows[at]
        top = rows[at]
        for number in range(at + 1, size):
            if factor := rows[number][at] / top[at]:
                below = zip(rows[number], top, strict=True)
                rows[number] = [value - factor * less for value, less in below]
    # From the last row back: eliminating upwards too would lose digits.
    found: list[list[float]] = []
    for at in reversed(range(size)):
        row = rows[at]
        done = transposed(found)
        known = [dot(row[at + 1 : size], column) for column in done] or [0.0] * len(right[0])
        found.insert(
            0, [(value - less) / row[at] for value, less in zip(row[size:], known, strict=True)]
        )
    return found


def solution(matrix: Matrix, right: Vector) -> list[float]:
    """The same for one column."""
    return [row[0] for row in solved(matrix, [[value] for value in right])]


def inverse(matrix: Matrix) -> list[list[float]]:
    """The inverse of a square matrix. Raises ZeroDivisionError where there is none."""
    size = len(matrix)
    return solved(matrix, [[float(row == at) for at in range(size)] for row in range(size)])


def cholesky(matrix: Matrix) -> list[list[float]]:
    """The lower triangle that gives the symmetric, positive matrix when it is multiplied by its
    own transpose. Raises ValueError for a matrix that is not positive."""
    rows: list[list[float]] = []
    for number, given in enumerate(matrix):
        row: list[float] = []
        for at in range(number):
            row.append((given[at] - dot(row, rows[at][:at])) / rows[at][at])
        row.append(sqrt(given[number] - dot(row, row)))
        rows.append(row)
    size = len(rows)
    return [[*row, *([0.0] * (size - len(row)))] for row in rows]
