"""Error diffusion: what a pixel could not show is handed to its neighbours to come.

R. W. Floyd and L. Steinberg, "An adaptive algorithm for spatial greyscale", SID Int. Symp. Digest
(1975) 36-37; Proc. SID 17(2) (1976) 75-77. Rows from the top, each from left to right:

          *  7
       3  5  1     over 16
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

_BELOW_RIGHT, _BELOW, _BELOW_LEFT, _RIGHT = (np.float32(n / 16.0) for n in (1, 5, 3, 7))
_HALF = np.float32(0.5)
_REPORTS = 100


def diffuse(
    drive: NDArray[np.float32], progress: Callable[[float], None] | None = None
) -> NDArray[np.uint8]:
    """Floyd-Steinberg dots, 0 or 255, for a drive of 0 to 1, rows x columns.

    A pixel burns when drive plus error is at least 1/2. Error that would leave the picture is
    dropped. Arithmetic is float32; each pixel takes its errors in the order in which the raster
    would hand them over: from above left, above, above right, left.

    A pixel needs only pixels with a smaller column + 2 x row. So all pixels with the same sum, a
    wavefront with one pixel in each row it crosses, are worked on together, and three wavefronts
    of errors are all that is remembered.

    progress: called about a hundred times with the share that is done; what it raises ends the
        work.
    """
    rows, columns = drive.shape
    stored = _at_least_three_columns(drive)
    width = stored.shape[1]
    values, burns = stored.reshape(-1), np.zeros(stored.size, np.bool_)
    # Errors of the last three wavefronts, newest first: one cell a row, after one for "above".
    errors = [np.zeros(rows + 1, np.float32) for _ in range(3)]
    sums, shares = np.empty(rows, np.float32), np.empty(rows, np.float32)
    marks = np.empty(rows, np.bool_)
    fronts = columns + 2 * (rows - 1)
    report_every = max(1, fronts // _REPORTS)

    for front in range(fronts):
        first = max(0, (front - columns + 2) // 2)
        count = min(rows - 1, front // 2) - first + 1
        above, here = slice(first, first + count), slice(first + 1, first + 1 + count)
        start = first * width + front - 2 * first
        places = slice(start, start + max(0, count - 1) * (width - 2) + min(count, 1), width - 2)
        newest, second, oldest = errors
        total, share, mark = sums[:count], shares[:count], marks[:count]

        np.multiply(oldest[above], _BELOW_RIGHT, out=share)
        np.add(values[places], share, out=total)
        np.multiply(second[above], _BELOW, out=share)
        np.add(total, share, out=total)
        np.multiply(newest[above], _BELOW_LEFT, out=share)
        np.add(total, share, out=total)
        np.multiply(newest[here], _RIGHT, out=share)
        np.add(total, share, out=total)

        np.greater_equal(total, _HALF, out=mark)
        burns[places] = mark
        share[:] = mark
        np.subtract(total, share, out=oldest[here])
        oldest[first] = 0.0  # the row above has ended: beyond its last pixel there is no error
        errors = [oldest, newest, second]
        if progress is not None and front % report_every == 0:
            progress(front / fronts)

    pixels = burns.view(np.uint8)
    np.negative(pixels, out=pixels)  # 1 becomes 255
    if progress is not None:
        progress(1.0)
    return pixels.reshape(rows, width)[:, :columns]


def _at_least_three_columns(drive: NDArray[np.float32]) -> NDArray[np.float32]:
    """The drive in one piece of memory, rows wide enough for a wavefront to step down by them."""
    missing = max(0, 3 - drive.shape[1])
    if missing:
        drive = np.pad(drive, ((0, 0), (0, missing)))
    return np.ascontiguousarray(drive, np.float32)
