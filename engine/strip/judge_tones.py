"""The tones of the look by which a setting is judged."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

EVEN_TONES = 32


def tone_weights(tones: Sequence[float]) -> Doubles:
    """How often each of even tones of the look comes; sum 1 or, where bare glass is left as it is,
    less. All tones alike where none is known.

    tones: of the whole picture, as in a strip's description.
    """
    known = sum(tones) > 0.0
    return np.asarray(tones if known else np.full(EVEN_TONES, 1.0 / EVEN_TONES), np.float64)


def middles(count: int) -> Doubles:
    """The look in the middle of each of so many even tones, 0 to 1."""
    return (np.arange(count) + 0.5) / count


def nearness(looks: Doubles, others: Doubles, deviation: float) -> Doubles:
    """How much others tell of looks, 1 where they are the same: a Gaussian; looks x others."""
    return np.asarray(np.exp(-0.5 * np.square(np.subtract.outer(looks, others) / deviation)))
