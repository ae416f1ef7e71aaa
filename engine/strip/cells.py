"""The cells of a strip as pictures, before and after."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.colour import srgb_encode
from engine.flow import Prepared


def cell_picture(frost: NDArray[np.float32], bare_over_solid: float) -> NDArray[np.uint8]:
    """A cell as a camera shows it: rows x columns, sRGB encoded, solid frost nearly white.

    frost: rows x columns, luminance from 0 at bare glass to 1 at solid patches; clipped to that.
    """
    share: NDArray[Any] = np.clip(np.nan_to_num(frost), 0.0, 1.0)
    light = bare_over_solid + (1.0 - bare_over_solid) * share
    return np.asarray(np.rint(240.0 * srgb_encode(light)), np.uint8)


def small_photo(prepared: Prepared) -> NDArray[np.uint8]:
    """The whole photo, small: rows x columns x 3, sRGB."""
    return np.asarray(np.rint(255.0 * np.clip(prepared.sample, 0.0, 1.0)), np.uint8)
