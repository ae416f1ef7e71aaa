"""The camera's tones from two photos of a finished piece, by its own even places."""

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.colour import srgb_decode, srgb_encode
from engine.filters import Floats
from engine.progress import Progress
from engine.strip.check_register import encoded_grey, laid, register
from engine.strip.even import Values
from engine.strip.exposures import CameraTones, Darker, check_share, tones_from
from engine.strip.refuse import Refusal

SOFT_PX = 3.0
"""Of the plate's pixels; photos are never laid on one another more exactly."""
MOST_STEP = 0.02
"""Of the encoded tone from one pixel to the next, where a place is even."""
PLACES = 3000
LEAST_PLACES = 200


def tones_of_piece(
    taken: Floats, second: Darker, shown: Floats, progress: Progress | None = None
) -> CameraTones:
    """The curve of the camera that took both photos.

    taken: the first one laid on the plate, encoded, rows x columns; shown: the plate as it should
    look, encoded, the same pixels; progress: as for `register`. Raises PhotoError where the second
    photo does not show the piece, or not as the same camera would.
    """
    check_share(second.share)
    grey = encoded_grey(second.pixels)
    other = laid(grey, register(grey, shown, progress), (shown.shape[0], shown.shape[1]))
    both = np.stack([_soft(taken), _soft(other)])
    even = _even(both[0]) & np.isfinite(both).all(axis=0)
    rows, columns = np.nonzero(even & (both > 0.02).all(axis=0))
    if rows.size < LEAST_PLACES:
        raise Refusal("unlike")
    some = np.linspace(0, rows.size - 1, min(PLACES, rows.size)).astype(np.intp)
    y, x = rows[some], columns[some]
    return tones_from(both[:, y, x], x.astype(np.float64), y.astype(np.float64), second.share)


def _soft(encoded: Floats) -> Values:
    """Averaged in light, encoded again."""
    light = np.asarray(srgb_decode(encoded), np.float64)
    return np.asarray(srgb_encode(cv2.GaussianBlur(light, (0, 0), SOFT_PX)), np.float64)


def _even(encoded: Values) -> NDArray[np.bool_]:
    down, across = np.gradient(encoded)
    return np.asarray(np.hypot(down, across) < MOST_STEP, bool)
