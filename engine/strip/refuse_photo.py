"""Why no marker can be seen, told from the picture alone."""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

WHITE = 250
_LONGEST = 2000
_LEAST_RANGE = 25
_LEAST_CONTRAST = 1.6
"""Of the encoded picture, light to dark: a strip that lies on black has 2 even in haze; with less
there is no black, and no edge is strong."""
_BLURRED = 9.0
"""Pixels over which a sharp photo's strongest edges would have to be spread out to look so weak."""
_ONE_WAY, _ONE_WAY_STRIP = 1.6, 1.25
"""How much more a picture changes across the camera's movement than along it: any picture, and a
strip's, which changes alike in both."""
_SHARP = 3
"""Markers that a camera which moved would not have left; then scratches or tape go one way."""
_STEP_PX = 2.0
_ECHO = 0.15
"""Correlation of a double image's finest detail with itself, at the distance of the two."""
_BLOCKY = 1.9
"""Steps at the borders of blocks over those inside them, in JPEGs of quality 15 or less."""
_NEAREST_ECHO, _ECHO_SIDE = 3, 1024
"""Pixels; the echo is looked for in the middle of the picture."""


def why_nothing(grey: NDArray[np.uint8], seen: int = 0) -> str:
    """The reason's code; grey: rows x columns, encoded. seen: how many markers were, of four."""
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
    if one_way(grey) > (_ONE_WAY_STRIP if 0 < seen < _SHARP else _ONE_WAY):
        return "moved"
    if high < _LEAST_CONTRAST * low:
        return "light_backing" if seen else "no_strip"
    steepest = max(float(np.percentile(np.abs(np.diff(calm, axis=a)), 99.95)) for a in (0, 1))
    return "blurred" if steepest < (high - low) / _BLURRED else "no_strip"


def one_way(grey: NDArray[np.uint8]) -> float:
    """How many times more the picture changes in one direction than in the one across it (mean
    squared difference over two pixels; the direction in which this is most)."""
    calm = np.asarray(cv2.GaussianBlur(grey.astype(np.float32), (0, 0), 1.0), np.float32)
    changes = [_change(calm, angle) for angle in np.radians(np.arange(0.0, 180.0, 22.5))]
    half = len(changes) // 2
    return max(
        change / max(across, 1e-9)
        for change, across in zip(changes, changes[half:] + changes[:half], strict=True)
    )


def _change(picture: NDArray[np.float32], angle: float) -> float:
    across, down = _STEP_PX * math.cos(angle), _STEP_PX * math.sin(angle)
    shift = np.array([[1.0, 0.0, across], [0.0, 1.0, down]])
    moved = cv2.warpAffine(picture, shift, picture.shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    return float(np.mean(np.square(moved - picture)))


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


def is_squeezed(grey: NDArray[np.uint8]) -> bool:
    """Whether the picture falls into the blocks of eight pixels of a JPEG that kept too little."""
    return max(_blocks(grey), _blocks(grey.T)) > _BLOCKY


def _blocks(grey: NDArray[np.uint8]) -> float:
    """How much larger steps between rows are at the borders of blocks than inside them."""
    steps = np.abs(np.diff(grey.astype(np.int16), axis=0)).mean(axis=1)
    whole = steps[: steps.size // 8 * 8].reshape(-1, 8).mean(axis=0)
    return float(whole.max() / max(float(np.median(whole)), 1e-6))
