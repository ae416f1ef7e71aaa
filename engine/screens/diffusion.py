"""Error diffusion: what a pixel could not show is handed to its neighbours to come."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from engine.screens import bluenoise
from engine.screens.kernels import KERNELS
from engine.screens.scan import BAND_ROWS, Scan

_HALF = np.float32(0.5)


def diffuse(
    drive: NDArray[np.float32],
    kernel: str = "floyd",
    *,
    serpentine: bool = True,
    top: int = 0,
    left: int = 0,
    progress: Callable[[float], None] | None = None,
) -> NDArray[np.uint8]:
    """Dots, 0 or 255, for a drive of 0 to 1, rows x columns.

    kernel: a name of KERNELS. Error that would leave the picture is dropped. A pixel without
        drive never burns, one with full drive always does.
    serpentine: the first line runs from left to right, the second from right to left with the
        kernel mirrored, and so on; the threshold follows the blue-noise mask around 1/2.
        Without the second, worms and stripes remain (both ideas: Ulichney, Proc. IEEE 76(1)
        56-79, 1988, who perturbs with white noise). False gives the plain scheme: every
        line from left to right and a threshold of 1/2.
    top, left: place of the drive's first pixel on the plate, in pixels; it places the mask.
    progress: called with the share that is done; what it raises ends the work.
    """
    rows, columns = drive.shape
    dots = np.empty((rows, columns), np.uint8)
    if dots.size:
        scan = to_and_fro(kernel, columns, top, left) if serpentine else _plain(kernel, columns)
        for first in range(0, rows, BAND_ROWS):
            band = slice(first, first + BAND_ROWS)
            dots[band] = scan.band(first, drive[band])
            if progress is not None:
                progress(min(first + BAND_ROWS, rows) / rows)
    return dots


def to_and_fro(kernel: str, columns: int, top: int, left: int) -> Scan:
    """The loop with every second line turned and with stirred thresholds, ready to work."""
    scan = Scan(kernel, True, columns, bluenoise.SIDE)
    mask = bluenoise.window(bluenoise.SIDE, columns, top=top, left=left)
    stir = np.float32(KERNELS[kernel].stir)
    np.multiply(mask, stir, out=scan.thresholds)
    scan.thresholds += _HALF * (np.float32(1.0) - stir)
    return scan


def _plain(kernel: str, columns: int) -> Scan:
    scan = Scan(kernel, False, columns)
    scan.thresholds[:] = _HALF
    return scan
