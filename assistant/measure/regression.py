"""Straight lines through noisy days: generalised least squares with a known prior on some terms.

Noise follows its own past (each day's noise keeps a share of the day before). Gaps are allowed:
over a gap the share shrinks with every day. Written out for a handful of terms, so that the same
numbers come out on every machine.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

Matrix = list[list[float]]


@dataclass(frozen=True)
class Fit:
    """Coefficients with their covariance and the noise they were found in.

    noise: standard deviation of one day's noise, in the unit of the values.
    """

    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    noise: float

    def error(self, term: int) -> float:
        """Return the standard error of a coefficient."""
        return math.sqrt(max(self.covariance[term][term], 0.0))


def fit(
    days: Sequence[int],
    terms: Sequence[Sequence[float]],
    values: Sequence[float],
    autocorrelation: float,
    noise_prior: tuple[float, float],
    term_spread: Sequence[float],
) -> Fit:
    """Return the fit of `values` on `terms` (one row a day, days in rising order).

    noise_prior: assumed noise and how many days it weighs. term_spread: standard deviation of
    each term's coefficient around 0 before any data; infinity where nothing is known.
    Raises ValueError if the rows cannot tell the terms apart.
    """
    rows, whitened = _whiten(days, terms, values, autocorrelation)
    assumed, weight = noise_prior
    noise = assumed
    for _ in range(2):
        penalty = [0.0 if math.isinf(s) else (noise / s) ** 2 for s in term_spread]
        normal, right = _normal_equations(rows, whitened, penalty)
        inverse = _inverse(normal)
        found = [math.fsum(a * b for a, b in zip(line, right, strict=True)) for line in inverse]
        residuals = [
            y - math.fsum(c * x for c, x in zip(found, row, strict=True))
            for row, y in zip(rows, whitened, strict=True)
        ]
        free = max(len(rows) - sum(1 for s in term_spread if math.isinf(s)), 0)
        squares = math.fsum(r * r for r in residuals)
        noise = math.sqrt((weight * assumed**2 + squares) / (weight + free))
    covariance = tuple(tuple(noise**2 * cell for cell in line) for line in inverse)
    return Fit(tuple(found), covariance, noise)


def _whiten(
    days: Sequence[int],
    terms: Sequence[Sequence[float]],
    values: Sequence[float],
    autocorrelation: float,
) -> tuple[Matrix, list[float]]:
    """Take from each row what the one before it says about it, and scale to equal noise."""
    rows: Matrix = [list(terms[0])]
    whitened = [values[0]]
    for at in range(1, len(days)):
        kept = autocorrelation ** (days[at] - days[at - 1])
        scale = 1.0 / math.sqrt(1.0 - kept * kept)
        rows.append(
            [(now - kept * was) * scale for now, was in zip(terms[at], terms[at - 1], strict=True)]
        )
        whitened.append((values[at] - kept * values[at - 1]) * scale)
    return rows, whitened


def _normal_equations(
    rows: Matrix, values: list[float], penalty: list[float]
) -> tuple[Matrix, list[float]]:
    size = len(penalty)
    normal = [
        [math.fsum(row[i] * row[j] for row in rows) for j in range(size)] for i in range(size)
    ]
    for term in range(size):
        normal[term][term] += penalty[term]
    right = [
        math.fsum(row[i] * y for row, y in zip(rows, values, strict=True)) for i in range(size)
    ]
    return normal, right


def _inverse(matrix: Matrix) -> Matrix:
    """Return the inverse of a small symmetric matrix. Raises ValueError if it has none."""
    size = len(matrix)
    work = [
        [*line, *(1.0 if i == j else 0.0 for j in range(size))] for i, line in enumerate(matrix)
    ]
    for column in range(size):
        pivot = max(range(column, size), key=lambda line: abs(work[line][column]))
        if abs(work[pivot][column]) < 1e-12 * max(abs(matrix[i][i]) for i in range(size)):
            raise ValueError("the days cannot tell the terms apart; give more days")
        work[column], work[pivot] = work[pivot], work[column]
        lead = work[column][column]
        work[column] = [cell / lead for cell in work[column]]
        for line in range(size):
            if line != column and work[line][column] != 0.0:
                factor = work[line][column]
                work[line] = [a - factor * b for a, b in zip(work[line], work[column], strict=True)]
    return [line[size:] for line in work]
