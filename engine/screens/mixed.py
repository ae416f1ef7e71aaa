"""Mixed screen: power follows the drive, and below the least power dots take over."""

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.screens import diffusion, settling
from engine.screens.scan import BAND_ROWS

LEAST, FULL = 1, 255
"""The pixel values that stand for the least and for full power."""
COVERING = 0.5
"""The drive at which dots cover all; above it power follows the drive."""


def mix(
    drive: NDArray[np.float32],
    *,
    top: int = 0,
    left: int = 0,
    progress: Callable[[float], None] | None = None,
) -> NDArray[np.uint8]:
    """Powers for a drive of 0 to 1, rows x columns: 0 not fired, 1 least to 255 full power.

    Below `COVERING`, 1/2, dots at the least power cover twice the drive; they are those of error
    diffusion to and fro, settled. From there on every pixel fires, and its power rises with the
    drive from the least to full. The other parameters are those of `diffusion.diffuse`.
    """
    rows, columns = drive.shape
    pixels = np.empty((rows, columns), np.uint8)
    if pixels.size:
        scan = diffusion.to_and_fro("floyd", columns, top, left)
        for first in range(0, rows, BAND_ROWS):
            band = slice(first, first + BAND_ROWS)
            asked = np.asarray(drive[band], np.float32)
            coverage = np.minimum(asked / np.float32(COVERING), np.float32(1.0))
            pixels[band] = scan.band(first, coverage)
            if progress is not None:
                progress(min(first + BAND_ROWS, rows) / rows)
        settling.settle(pixels, drive, 1.0 / COVERING)
        for first in range(0, rows, BAND_ROWS):
            band = slice(first, first + BAND_ROWS)
            pixels[band] &= _powers(drive[band])  # a dot, 255, is all bits
    return pixels


def _powers(drive: NDArray[np.float32]) -> NDArray[np.uint8]:
    above_least = np.maximum(drive, np.float32(COVERING))
    rise = FULL / (1.0 - COVERING)
    powers = cv2.convertScaleAbs(above_least, alpha=rise, beta=-COVERING * rise)
    return np.maximum(np.asarray(powers, np.uint8), np.uint8(LEAST))
