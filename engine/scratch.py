"""Arrays for intermediate results, lent again and again.

Fresh memory has to be fetched from the system page by page, which at the size of a pane takes
longer than the arithmetic done in it. So operators borrow their intermediate arrays here. What
they return is always new.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

import numpy as np
import numpy.typing as npt

_MOST_KEPT_BYTES = 64_000_000  # in all; the oldest go first, so those of a former size do not stay
_MOST_BYTES = 2**24  # larger ones go back to the system

_kept: list[npt.NDArray[np.float32]] = []
_lock = Lock()


@contextmanager
def borrowed(shape: tuple[int, ...], count: int) -> Iterator[list[npt.NDArray[np.float32]]]:
    """`count` float32 arrays of a shape, filled with anything, for the time of a `with` block.

    Nothing that leaves the block may refer to them. Blocks may be nested, also in threads.
    """
    arrays = [_take(shape) for _ in range(count)]
    try:
        yield arrays
    finally:
        with _lock:
            _kept.extend(a for a in arrays if a.nbytes <= _MOST_BYTES)
            _forget_oldest()


def give_back() -> None:
    """Give what is not lent to the system, when other large arrays are about to be made."""
    with _lock:
        _kept.clear()


def _forget_oldest() -> None:
    held = sum(array.nbytes for array in _kept)
    while held > _MOST_KEPT_BYTES:
        held -= _kept.pop(0).nbytes


def _take(shape: tuple[int, ...]) -> npt.NDArray[np.float32]:
    with _lock:
        for place in range(len(_kept) - 1, -1, -1):
            if _kept[place].shape == shape:
                return _kept.pop(place)
    return np.empty(shape, dtype=np.float32)
