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
    upper: list[list[float]] = []
    while rows:
        pivot = max(range(len(rows)), key=lambda number: abs(rows[number][0]))
        rows[0], rows[pivot] = rows[pivot], rows[0]
        top = rows.pop(0)
        upper.append(top)
        for number, row in enumerate(rows):
            # What an elimination makes zero is left out: each row is shorter by its first number.
            if factor := row[0] / top[0]:
                rows[number] = [value - factor * less for value, less in zip(row, top, strict=True)]
            del rows[number][0]
    # From the last row back: eliminating upwards too would lose digits.
    columns: list[list[float]] = [[] for _ in right[0]]
    for known, row in enumerate(reversed(upper)):
        behind, values = row[known:0:-1], row[known + 1 :]
        for column, value in zip(columns, values, strict=True):
            column.append((value - dot(behind, column)) / row[0])
    return transposed(columns)[::-1]


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
