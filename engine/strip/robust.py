"""A standard deviation that outliers do not carry off."""

from typing import Any

import numpy as np


def spread(apart: Any) -> float:
    """Of distances from the middle, a non-empty array: their median amount, times what makes it the
    standard deviation of normal ones (the median absolute deviation, Hampel 1974)."""
    return 1.4826 * float(np.median(np.abs(apart)))
