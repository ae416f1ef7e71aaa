"""Measures of a picture: its histogram and the shares at both ends."""

import attrs
import cv2
import numpy as np
import numpy.typing as npt

from engine.filters import Floats, to_codes

BARE_END = 0.5 / 255.0
FULL_END = 254.5 / 255.0

_MOST_EXACT = 2**24  # OpenCV counts in float32, which is exact up to here
_MOST_BINS = 65536


@attrs.frozen
class Shares:
    """Shares of a look that are bare glass and that are the fullest frost, 0 to 1."""

    bare: float
    full: float


def histogram(values: Floats, bins: int = 256) -> npt.NDArray[np.int64]:
    """How many values lie nearest to each of `bins` even steps from 0 to 1.

    `values` float32 rows x columns; what lies beyond 0 to 1 counts at the end. int64 counts,
    bin i for round(value x (bins - 1)) = i; every value is counted, none when there are none.
    2 to 65536 bins.
    """
    if not 2 <= bins <= _MOST_BINS:
        raise ValueError(f"bins must lie between 2 and {_MOST_BINS}")
    kind = np.uint8 if bins == 256 else np.uint16
    counts = np.zeros(bins, dtype=np.int64)
    if values.size == 0:
        return counts
    rows = max(1, _MOST_EXACT // values.shape[1])
    for top in range(0, values.shape[0], rows):
        some = values[top : top + rows]
        codes = np.empty(some.shape, dtype=kind)
        to_codes(some, bins - 1.0, codes)
        if bins - 1 < np.iinfo(kind).max:
            np.minimum(codes, bins - 1, out=codes)
        part = cv2.calcHist([codes], [0], None, [bins], [0, bins])
        counts += part.ravel().astype(np.int64)
    return counts


def end_shares_of_look(look: Floats) -> Shares:
    """Shares within half an 8-bit step of bare glass (0) and of the fullest frost (1).

    Of no pixels at all they are 0.
    """
    bare = np.count_nonzero(look <= np.float32(BARE_END))
    full = np.count_nonzero(look >= np.float32(FULL_END))
    return Shares(bare / max(1, look.size), full / max(1, look.size))
