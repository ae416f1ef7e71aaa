"""Why no marker can be seen, told from the picture alone."""

import cv2
import numpy as np
from numpy.typing import NDArray

WHITE = 250
_LONGEST = 2000
_LEAST_RANGE = 25
_BLURRED = 9.0
"""Pixels over which a sharp photo's strongest edges would have to be spread out to look so weak."""
_ONE_WAY = 2.2
"""How much steeper the edges in one direction are when the camera moved along the other."""
_ECHO = 0.15
"""Correlation of a double image's finest detail with itself, at the distance of the two."""
_NEAREST_ECHO, _ECHO_SIDE = 3, 1024
"""Pixels; the echo is looked for in the middle of the picture."""


def why_nothing(grey: NDArray[np.uint8]) -> str:
    """The reason's code; grey: rows x columns, encoded."""
    white = np.mean(grey >= WHITE)
    grey = _reduced(grey)
    calm = cv2.GaussianBlur(grey.astype(np.float32), (0, 0), 1.5)
    low, high = np.percentile(calm, (5.0, 99.5))
    if high < 60:
        return "dark"
    if white > 0.1:
        return "clipped"
    if high - low < _LEAST_RANGE:
        return "no_strip"
    if echo(grey) > _ECHO:
        return "moved"
    steepest = [float(np.percentile(np.abs(np.diff(calm, axis=axis)), 99.95)) for axis in (0, 1)]
    if max(steepest) < (high - low) / _BLURRED:
        return "blurred"
    if max(steepest) > _ONE_WAY * min(steepest):
        return "moved"
    return "no_strip"


def _reduced(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    step = -(-max(grey.shape) // _LONGEST)
    if step < 2:
        return grey
    way = cv2.INTER_AREA
    return np.asarray(cv2.resize(grey, None, fx=1 / step, fy=1 / step, interpolation=way), np.uint8)


def is_white(part: NDArray[np.uint8]) -> bool:
    """Whether a lamp's reflection lies on this part of the picture."""
    return bool(part.size and np.mean(part > WHITE) > 0.15)


def echo(grey: NDArray[np.uint8]) -> float:
    """The greatest correlation of the picture with itself, shifted, in detail made equally strong
    at all frequencies (phase correlation); near 0 but for a double image."""
    down, across = (max(0, side - _ECHO_SIDE) // 2 for side in grey.shape)
    part = grey[down : down + _ECHO_SIDE, across : across + _ECHO_SIDE].astype(np.float32)
    part = part - cv2.GaussianBlur(part, (0, 0), 4.0)
    window = np.hanning(part.shape[0])[:, None] * np.hanning(part.shape[1])
    power = np.abs(np.fft.rfft2(part * window)) ** 2
    smooth = cv2.GaussianBlur(power, (0, 0), 0.02 * part.shape[1])
    alike = np.fft.irfft2(power / np.maximum(smooth, 1e-6 * smooth.max()), s=part.shape)
    alike = np.fft.fftshift(alike / alike[0, 0])
    row, column = part.shape[0] // 2, part.shape[1] // 2
    near = _NEAREST_ECHO
    alike[row - near : row + near + 1, column - near : column + near + 1] = 0.0
    reach = min(120, row, column)
    return float(alike[row - reach : row + reach + 1, column - reach : column + reach + 1].max())
