"""A standard deviation and least squares that outliers do not carry off."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

TURNS = 12
"""Rounds in which weights settle."""


def spread(apart: Any) -> float:
    """Of distances from the middle, a non-empty array: their median amount, times what makes it the
    standard deviation of normal ones (the median absolute deviation, Hampel 1974)."""
    return 1.4826 * float(np.median(np.abs(apart)))


def solve(
    terms: Values, wanted: Values, weight: Values, ridge: Values | None = None
) -> tuple[Values, Values]:
    """Weighted least squares; the answer and what is left of each sample.

    ridge: one over the variance that each term is expected to have.
    """
    squares = terms.T @ (terms * weight[:, None])
    squares += np.diag(np.full(len(squares), 1e-9) if ridge is None else ridge + 1e-9)
    solved = np.asarray(np.linalg.solve(squares, terms.T @ (weight * wanted)), np.float64)
    return solved, wanted - terms @ solved


def solve_robustly(
    terms: Values, wanted: Values, error: Values, ridge: Values
) -> tuple[Values, Values]:
    """The same for samples of a known standard deviation, of which some may be far off."""
    weight = 1.0 / error**2
    for _ in range(TURNS):
        solved, off = solve(terms, wanted, weight, ridge)
        width = max(spread(off / error), 0.5)
        weight = 1.0 / (error**2 * (1.0 + (off / (3.0 * width * error)) ** 2))
    return solved, off


def medians(values: Values, group: NDArray[np.intp]) -> Values:
    """For each value the median of its group."""
    number, place = np.unique(group, return_inverse=True)
    return np.array([np.nanmedian(values[group == n]) for n in number], np.float64)[place]
