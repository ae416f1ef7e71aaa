"""Work on a picture in horizontal strips, one for each core."""

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np

from engine.filters import Floats
from engine.grid import CELL

_MOST_STRIPS = 4
_LEAST_ROWS = 64
"""Thinner strips cost more in starting and in overlap than they save."""


def in_strips(work: Callable[[Floats], Floats], picture: Floats, reach: float) -> Floats:
    """The same as `work(picture)`, in as many threads as there are cores, up to four.

    `picture` float32 rows x columns (x 3); the work gives rows x columns, float32, in which no row
    depends on any that is more than `reach` rows away. Strips begin on a multiple of `CELL` rows.
    The work has to spend its time outside of Python.
    """
    rows, overlap = picture.shape[0], math.ceil(reach)
    count = min(_MOST_STRIPS, os.cpu_count() or 1, rows // max(_LEAST_ROWS, 2 * overlap))
    if count < 2:
        return work(picture)
    result = np.empty(picture.shape[:2], np.float32)

    def one(strip: int) -> None:
        top, bottom = rows * strip // count, rows * (strip + 1) // count
        first, last = max(0, top - overlap) // CELL * CELL, min(rows, bottom + overlap)
        result[top:bottom] = work(picture[first:last])[top - first : bottom - first]

    list(_threads().map(one, range(count)))
    return result


@cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(_MOST_STRIPS, thread_name_prefix="strips")
