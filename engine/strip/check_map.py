"""The lightness error of a finished piece as a picture."""

import numpy as np
from numpy.typing import NDArray

from engine.strip.check import Check

REACH_L = 10.0
"""Difference in L* that is shown in full colour; larger ones look the same."""
SAME, LIGHTER, DARKER, UNKNOWN = (70, 70, 70), (240, 200, 120), (70, 130, 220), (31, 31, 31)
"""sRGB. Lighter than wanted is also lighter in the map, so that it can be read without colour."""


def difference_picture(check: Check) -> NDArray[np.uint8]:
    """Rows x columns x 3, sRGB: grey where the piece is as wanted, see LIGHTER and DARKER."""
    unknown = ~np.isfinite(check.difference)
    share = np.clip(np.nan_to_num(check.difference) / REACH_L, -1.0, 1.0)[:, :, None]
    same, lighter, darker = (np.array(c, np.float32) for c in (SAME, LIGHTER, DARKER))
    colour = same + np.where(share > 0.0, lighter - same, darker - same) * np.abs(share)
    colour[unknown] = UNKNOWN
    return np.asarray(np.rint(colour), np.uint8)
