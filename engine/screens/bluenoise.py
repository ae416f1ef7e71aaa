"""Blue noise: each pixel is compared with a periodic mask of evenly scattered thresholds.

The mask is made by resources/bluenoise/make_mask.py (void and cluster, Ulichney 1993).
"""

import functools

import cv2
import numpy as np
from numpy.typing import NDArray

from shared.paths import RESOURCES

MASK = RESOURCES / "bluenoise" / "mask_256.png"
SIDE = 256
"""Rows and columns of the mask."""


@functools.cache
def thresholds() -> NDArray[np.float32]:
    """The square mask as thresholds between 0 and 1, in float32; not to be written to.

    Threshold number k of N is (k + 1/2) / N: an even drive of k / N gives exactly k dots a tile.
    """
    from PIL import Image  # the window is there before the first plate

    with Image.open(MASK) as image:
        ranks = np.asarray(image, np.float32)
    shares = (ranks + np.float32(0.5)) / np.float32(ranks.size)
    shares.flags.writeable = False
    return shares


def window(rows: int, columns: int, *, top: int = 0, left: int = 0) -> NDArray[np.float32]:
    """The thresholds of a window of the plate, rows x columns; places as in `scatter`."""
    return thresholds()[np.ix_((top + np.arange(rows)) % SIDE, (left + np.arange(columns)) % SIDE)]


def scatter(drive: NDArray[np.float32], *, top: int = 0, left: int = 0) -> NDArray[np.uint8]:
    """Dots, 0 or 255, for a drive of 0 to 1, rows x columns.

    top, left: place of the drive's first pixel on the plate, in pixels; may be negative.
    """
    rows, columns = drive.shape
    drive = np.asarray(drive, np.float32)
    strip = window(min(rows, SIDE), columns, top=top, left=left)
    pixels = np.empty((rows, columns), np.uint8)
    for first in range(0, rows, SIDE):
        band = slice(first, first + SIDE)
        cv2.compare(drive[band], strip[: rows - first], cv2.CMP_GE, pixels[band])
    return pixels
