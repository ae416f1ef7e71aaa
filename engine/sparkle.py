"""The fine sparkle of frosted glass in a proof: facets of fracture that catch the light or not.

A proof without it looks like a grey print. Only the kind of thing is shown, not this piece's own
grain, which nobody knows before it is burnt: common practice in simulating matt surfaces, with a
strength by eye. The pattern is blue noise, so that no tone changes, not even over a millimetre,
and a viewer at reading distance sees none of it; bare glass stays as it is.
"""

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.grid import Grid
from engine.screens import bluenoise
from engine.screens.bluenoise import SIDE

MOST = 0.075
"""By which a facet is lighter or darker than the mean, as a share of the code's way from bare
glass."""
FINE_MM = 0.2
"""Pixels larger than this hold several grains each, and sparkle less."""
_UNIT = 200.0


def sparkling(
    codes: NDArray[np.uint8], bare: int, grid: Grid, *, lighter: bool = True
) -> NDArray[np.uint8]:
    """A proof, sRGB codes of rows x columns or x 3, with sparkle where it differs from `bare`.

    `lighter` says on which side of it the marks are. The pattern lies on the plate, so windows of
    one pitch agree.
    """
    rows, columns = codes.shape[:2]
    height = min(rows, SIDE)
    strip = _strip(grid.pitch_mm, height, columns, grid.top % SIDE, grid.left % SIDE)
    if codes.ndim == 3:
        strip = np.repeat(strip[:, :, None], 3, axis=2)
    level = np.full_like(strip, bare)
    shown = np.empty_like(codes)
    for first in range(0, rows, SIDE):
        band, way = codes[first : first + SIDE], shown[first : first + SIDE]
        facets, glass = strip[: len(band)], level[: len(band)]
        if lighter:
            cv2.multiply(cv2.subtract(band, glass, way), facets, way, scale=1.0 / _UNIT)
            cv2.add(way, glass, way)
        else:
            cv2.multiply(cv2.subtract(glass, band, way), facets, way, scale=1.0 / _UNIT)
            cv2.subtract(glass, way, way)
    return shown


@lru_cache(maxsize=8)
def _strip(pitch_mm: float, rows: int, columns: int, top: int, left: int) -> NDArray[np.uint8]:
    """How bright each facet is against the mean, in parts of _UNIT: rows x columns."""
    amount = MOST * min(1.0, FINE_MM / pitch_mm)
    wave = 2.0 * bluenoise.window(rows, columns, top=top, left=left) - 1.0
    return np.round(_UNIT * (1.0 + amount * wave)).astype(np.uint8)
