"""The tones of the look by which a setting is judged."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

EVEN_TONES = 32


def tone_weights(tones: Sequence[float]) -> Doubles:
    """How often each of even tones of the look comes; sum 1. All tones alike where none is known.

    tones: of the whole picture, as in a strip's description.
    """
    weight = np.asarray(tones if sum(tones) > 0.0 else np.ones(EVEN_TONES), np.float64)
    return np.asarray(weight / weight.sum())


def middles(count: int) -> Doubles:
    """The look in the middle of each of so many even tones, 0 to 1."""
    return (np.arange(count) + 0.5) / count


def nearness(looks: Doubles, others: Doubles, deviation: float) -> Doubles:
    """How much others tell of looks, 1 where they are the same: a Gaussian; looks x others."""
    return np.asarray(np.exp(-0.5 * np.square(np.subtract.outer(looks, others) / deviation)))
