"""A photo of any size for the bench: a real portrait, enlarged, with the grain of a sensor."""

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

_GRAIN = 4.0  # standard deviation in 8-bit codes, as at a middling ISO setting
_TILE = 256


def portrait(rows: int, columns: int) -> NDArray[np.uint8]:
    """Upright, rows x columns x 3, sRGB."""
    whole = data.astronaut()
    across = min(whole.shape[1], round(whole.shape[0] * columns / rows))
    left = (whole.shape[1] - across) // 2
    enlarged = cv2.resize(
        whole[:, left : left + across], (columns, rows), interpolation=cv2.INTER_CUBIC
    )
    grain = np.random.default_rng(24).normal(0.0, _GRAIN, (_TILE, _TILE, 3)).astype(np.float32)
    over = np.tile(grain, (-(-rows // _TILE), -(-columns // _TILE), 1))[:rows, :columns]
    return np.asarray(cv2.add(enlarged, over, dtype=cv2.CV_8U), np.uint8)
