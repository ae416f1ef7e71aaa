"""Smoothing windows of finite support, the guided filter, and a limiter that never clips flatly.

Every window is described by its variance, in squared pixels. Variances of smoothing steps add
up, and one given in mm and divided by the pitch means the same smoothing at every pitch, also
where the window is narrower than a pixel: there it fades away without a jump.

Nothing here depends on the place of a pixel or on the rest of the picture, so that a padded part
of a picture gives the same values as the whole. All pictures are float32, rows x columns; the
results are written to `out`, which may not be one of the inputs.
"""

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from engine.scratch import borrowed

Floats = npt.NDArray[np.float32]

# OpenCV takes a number wherever it takes a picture, but its types do not say so.
ZERO: Any = 0.0
ONE: Any = 1.0

# A window may reach this many pixels beyond its width in mm, because it ends on whole pixels.
SPARE_PX = 1

_BORDER = cv2.BORDER_REFLECT
_WIDEST_TAPS = 13  # beyond this a running sum is quicker than a sum of taps
_LAST_CODE = 65535.0
_MOST_CODES = 2**31 / _LAST_CODE  # pixels under a window whose 16-bit codes still fit a 32-bit sum
_TINY = 1e-12
_BAND = 65536  # pixels


def box_taps(variance: float) -> Floats:
    """Weights of a box of any width, as a row of odd length that adds up to 1.

    All weights are equal but the two outermost, which are smaller, so that the weights have
    exactly the wanted variance in squared pixels. A box over n pixels has (n^2 - 1) / 12, and a
    continuous box of width w has w^2 / 12. Variance 0 gives the single weight 1.
    """
    inner = int((_width(variance) - 1.0) / 2.0)
    squares = inner * (inner + 1) * (2 * inner + 1) / 3.0
    end = (variance * (2 * inner + 1) - squares) / (2.0 * ((inner + 1) ** 2 - variance))
    taps = np.ones(2 * inner + 3)
    taps[0] = taps[-1] = max(end, 0.0)
    if end <= 0.0:
        taps = taps[1:-1]
    return np.asarray(taps / taps.sum(), dtype=np.float32)


def bell_taps(variance: float) -> Floats:
    """Weights of two boxes in a row: nearly a triangle, without the hard rim of a box."""
    half = box_taps(variance / 2.0)
    return np.asarray(np.convolve(half, half), dtype=np.float32)


def to_codes(values: Floats, last: float, out: npt.NDArray[Any]) -> None:
    """round(values x last), kept within the range of `out`, uint8 or uint16."""
    factor: Any = last
    depth = cv2.CV_8U if out.dtype == np.uint8 else cv2.CV_16U
    cv2.multiply(values, factor, dst=out, dtype=depth)


def weigh(values: Floats, taps: Floats, out: Floats) -> Floats:
    """Weighted mean over rows and columns; the picture is mirrored at its edges."""
    cv2.sepFilter2D(values, cv2.CV_32F, taps, taps, dst=out, borderType=_BORDER)
    return out


def reduced(values: Floats, cell: int) -> Floats:
    """Means of `cell` x `cell` pixels; the picture is mirrored to fill the last cells."""
    rows, cols = values.shape
    bottom, right = -rows % cell, -cols % cell
    if bottom or right:
        values = cv2.copyMakeBorder(values, 0, bottom, 0, right, _BORDER)  # type: ignore[assignment]
    size = values.shape[1] // cell, values.shape[0] // cell
    return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA), np.float32)


def enlarged(values: Floats, cell: int, out: Floats) -> Floats:
    """Back from cells to the pixels of `out`, interpolated between the middles of the cells."""
    rows, cols = out.shape
    whole = values.shape[1] * cell, values.shape[0] * cell
    if whole == (cols, rows):
        cv2.resize(values, whole, dst=out, interpolation=cv2.INTER_LINEAR)
    else:
        out[...] = cv2.resize(values, whole, interpolation=cv2.INTER_LINEAR)[:rows, :cols]
    return out


def box_mean(values: Floats, variance: float, out: Floats) -> Floats:
    """Mean over a square window, of values from 0 to 1.

    Small windows have the variance exactly, large ones that of the nearest odd width. Large
    windows are summed in 16-bit codes where the sum fits: at most 8e-6 off, and twice as fast.
    """
    taps = box_taps(variance)
    if taps.size <= _WIDEST_TAPS:
        return weigh(values, taps, out)
    side = 2 * round((_width(variance) - 1.0) / 2.0) + 1
    if side * side > _MOST_CODES:
        cv2.boxFilter(values, cv2.CV_32F, (side, side), dst=out, borderType=_BORDER)
        return out
    with borrowed(values.shape, 1) as (room,):
        codes = room.reshape(-1).view(np.uint16)[: values.size].reshape(values.shape)
        to_codes(values, _LAST_CODE, codes)
        cv2.boxFilter(codes, cv2.CV_32F, (side, side), dst=out, borderType=_BORDER)
    out *= np.float32(1.0 / _LAST_CODE)
    return out


def window_variance(squares_mean: Floats, mean: Floats, out: Floats) -> Floats:
    """Variance under a window from its two means, mean(x^2) - mean(x)^2, never below 0."""
    np.multiply(mean, mean, out=out)
    np.subtract(squares_mean, out, out=out)
    cv2.max(out, ZERO, dst=out)
    return out


def guided_base(values: Floats, variance: float, edge: float, out: Floats) -> Floats:
    """The large forms of a picture: smooth where it is calm, faithful where it has strong edges.

    He, Sun and Tang, "Guided image filtering", IEEE TPAMI 35(6), 2013, with the picture as its
    own guide: a = v / (v + edge^2) and b = (1 - a) m over each window with mean m and variance
    v; a and b are averaged over the same window, and the result is a x values + b.

    `values` from 0 to 1; `variance` of the window in squared pixels; `edge` the standard
    deviation within a window from which on a form counts as an edge.
    """
    with borrowed(values.shape, 3) as (mean, slope, other):
        box_mean(values, variance, mean)
        np.multiply(values, values, out=other)
        box_mean(other, variance, slope)
        in_bands(partial(_slope_and_offset, edge), slope, mean, spare=1)
        box_mean(slope, variance, other)
        np.multiply(other, values, out=out)
        out += box_mean(mean, variance, other)
    return out


def soften(
    values: Floats, change: Floats, low: Floats | float, high: Floats | float, out: Floats
) -> Floats:
    """`values` + `change`, bent so that it nears `low` or `high` but never reaches beyond.

    With r the room that is left on the side of the change, the change c becomes
    c r / sqrt(c^2 + r^2): small changes pass as they are, large ones end at r, and different
    changes stay different. The bounds are pictures or numbers.
    """
    low = np.broadcast_to(np.asarray(low, dtype=np.float32), values.shape)
    high = np.broadcast_to(np.asarray(high, dtype=np.float32), values.shape)
    in_bands(_soften, values, change, low, high, out, spare=2)
    return out


def in_bands(work: Callable[..., None], *pictures: Floats, spare: int) -> None:
    """Calls `work` with some rows of each picture after others, and `spare` arrays of that size.

    For work that treats each pixel for itself in many steps: a few rows stay in the processor's
    cache from step to step, whole pictures do not.
    """
    rows, cols = pictures[0].shape
    height = min(rows, max(1, _BAND // cols))
    with borrowed((height, cols), spare) as spares:
        for top in range(0, rows, height):
            parts = [picture[top : top + height] for picture in pictures]
            work(*parts, *(array[: parts[0].shape[0]] for array in spares))


def _slope_and_offset(edge: float, squares_mean: Floats, mean: Floats, spare: Floats) -> None:
    """The guided filter's a and b, written over the two means."""
    slope = window_variance(squares_mean, mean, spare)
    np.add(slope, np.float32(edge * edge), out=squares_mean)
    np.divide(slope, squares_mean, out=squares_mean)
    np.multiply(squares_mean, mean, out=spare)
    np.subtract(mean, spare, out=mean)


def _soften(
    values: Floats,
    change: Floats,
    low: Floats,
    high: Floats,
    out: Floats,
    length: Floats,
    room: Floats,
) -> None:
    below = length.reshape(-1).view(np.uint8)[: values.size].reshape(values.shape)
    cv2.compare(change, ZERO, cv2.CMP_LT, dst=below)
    np.subtract(high, values, out=room)
    np.subtract(values, low, out=out)
    cv2.copyTo(out, below, room)
    cv2.max(room, ZERO, dst=room)
    # Not OpenCV's magnitude: its last bit depends on where the arrays lie in memory.
    np.multiply(change, change, out=length)
    np.multiply(room, room, out=out)
    np.add(length, out, out=length)
    np.sqrt(length, out=length)
    np.add(length, np.float32(_TINY), out=length)
    np.divide(room, length, out=room)
    np.multiply(room, change, out=out)
    np.add(out, values, out=out)


def _width(variance: float) -> float:
    """Pixels, not always whole, under a box of a variance."""
    return math.sqrt(1.0 + 12.0 * variance)
