"""How much of a finished piece's error goes with the place and not with the tone."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.filters import Floats

PARTS = 12
"""A place is a Gaussian whose standard deviation is this part of the shorter side (starting
guess)."""
CELLS = 4
"""In which it is computed, to the standard deviation."""


def error_by_place(
    difference: Floats,
    wanted: NDArray[Any],
    tones: NDArray[np.float64],
    off: NDArray[np.float64],
) -> float:
    """Root mean square, in L*, of what is left about each place once the tones' error is taken off.

    difference: rows x columns, L*, not a number where nothing is known; wanted: L*,
    the same pixels; tones: L* of some tones as wanted; off: by how much each came out wrong.
    """
    known = np.isfinite(difference)
    if not tones.size or not known.any():
        return 0.0
    order = np.argsort(tones)
    of_tone = np.interp(wanted, tones[order], off[order])
    left = np.where(known, difference - of_tone, 0.0)
    fine = min(difference.shape)
    size = [max(1, round(side * CELLS * PARTS / fine)) for side in difference.shape[::-1]]
    cells, share = (
        np.asarray(cv2.resize(p.astype(np.float32), size, interpolation=cv2.INTER_AREA), np.float32)
        for p in (left, known)
    )
    about = _wide(cells) / np.maximum(_wide(share), 1e-3)
    return float(np.sqrt(np.average(np.square(about), weights=share)))


def _wide(cells: Floats) -> Floats:
    softened = cv2.GaussianBlur(cells, (0, 0), CELLS, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(softened, np.float32)
