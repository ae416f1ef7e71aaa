"""How much of a finished piece's error goes with the place and not with the tone."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.burning import blur_mm
from engine.filters import Floats

PARTS = 12
"""A place is a Gaussian whose standard deviation is this part of the shorter side."""


def error_by_place(
    difference: Floats,
    wanted: NDArray[Any],
    tones: tuple[NDArray[np.float64], NDArray[np.float64]],
    pitch_mm: float,
) -> float:
    """Root mean square, in L*, of what is left about each place once the tones' error is taken off.

    difference: rows x columns at `pitch_mm`, L*, not a number where nothing is known; wanted: L*,
    the same pixels; tones: L* of some tones as wanted, and by how much they came out wrong.
    """
    known = np.isfinite(difference)
    if not tones[0].size or not known.any():
        return 0.0
    order = np.argsort(tones[0])
    of_tone = np.interp(wanted, tones[0][order], tones[1][order])
    left = np.where(known, difference - of_tone, 0.0)
    sigma = min(difference.shape) * pitch_mm / PARTS
    share = np.maximum(blur_mm(known, sigma, pitch_mm), 1e-3)
    about = blur_mm(left, sigma, pitch_mm) / share
    return float(np.sqrt(np.mean(np.square(about[known]))))
