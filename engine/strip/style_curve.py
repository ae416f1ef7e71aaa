"""The curve that stands for a camera's picture style: an S over the encoded tones.

seen = plain - strength x sin(2 pi plain) / (2 pi), both encoded, 0 to 1
"""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

_KNOTS = np.linspace(0.0, 1.0, 2049)


def plain(encoded: Any, strength: float) -> NDArray[np.float64]:
    """Encoded values (0 to 1) as they were before a style of that strength; 0 changes nothing."""
    if not strength:
        return np.asarray(encoded, np.float64)
    seen = _KNOTS - strength * np.sin(2.0 * math.pi * _KNOTS) / (2.0 * math.pi)
    return np.asarray(np.interp(encoded, np.maximum.accumulate(seen), _KNOTS))
