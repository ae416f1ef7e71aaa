"""Makes the blue-noise mask that lies beside this script.

    python resources/bluenoise/make_mask.py

Method: R. Ulichney, "The void-and-cluster method for dither array generation", Proc. SPIE 1913
(1993) 332-343. All arithmetic is in whole numbers, so every machine makes the same mask.
"""

import random
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

SIDE = 256
SIGMA = 1.5
"""Standard deviation, in pixels, of the Gaussian that says how crowded a place is."""
SEED = 1993
START_SHARE = 0.1
"""Share of dots in the first pattern."""

_ONE = 1 << 24
_NEVER = 1 << 30
_REACH = 8


class _Pattern:
    """A periodic pattern of dots and how crowded every place in it is."""

    def __init__(self, side: int) -> None:
        offsets = np.arange(-_REACH, _REACH + 1)
        line = np.exp(-(offsets**2) / (2.0 * SIGMA**2))
        self._gaussian = np.rint(_ONE * np.outer(line, line)).astype(np.int32)
        self._offsets = offsets
        self._side = side
        self.dots: NDArray[np.bool_] = np.zeros((side, side), np.bool_)
        self._crowding: NDArray[np.int32] = np.zeros((side, side), np.int32)

    def copy(self) -> "_Pattern":
        twin = _Pattern(self._side)
        twin.dots[:] = self.dots
        twin._crowding[:] = self._crowding
        return twin

    def flip(self, place: int) -> None:
        """Sets or removes the dot at a place, counted row by row."""
        row, column = divmod(place, self._side)
        around = np.ix_((row + self._offsets) % self._side, (column + self._offsets) % self._side)
        if self.dots[row, column]:
            self._crowding[around] -= self._gaussian
        else:
            self._crowding[around] += self._gaussian
        self.dots[row, column] = not self.dots[row, column]

    def tightest_cluster(self) -> int:
        """The dot with the most crowded surroundings."""
        return int(np.argmax(np.where(self.dots, self._crowding, -_NEVER)))

    def largest_void(self) -> int:
        """The empty place with the least crowded surroundings."""
        return int(np.argmin(np.where(self.dots, _NEVER, self._crowding)))


def _first_pattern(side: int) -> _Pattern:
    """Scattered dots, each moved from the tightest cluster to the largest void until none gains."""
    source = random.Random(SEED)
    order = np.argsort([source.random() for _ in range(side * side)])
    pattern = _Pattern(side)
    for place in order[: max(1, round(START_SHARE * side * side))]:
        pattern.flip(int(place))
    while True:
        cluster = pattern.tightest_cluster()
        pattern.flip(cluster)
        void = pattern.largest_void()
        pattern.flip(void)
        if void == cluster:
            return pattern


def make_ranks(side: int) -> NDArray[np.uint16]:
    """Order in which the places of a tile get their dots, 0 to side * side - 1.

    `side` is 32 to 256 pixels. The third phase of the paper, which looks for the tightest cluster
    of empty places, picks the same places as the second one does: with a Gaussian of fixed sum,
    the empty place most crowded by empty ones is the one least crowded by dots.
    """
    ranks = np.zeros(side * side, np.uint16)
    first = _first_pattern(side)
    count = int(first.dots.sum())
    pattern = first.copy()
    for rank in range(count - 1, -1, -1):
        cluster = pattern.tightest_cluster()
        pattern.flip(cluster)
        ranks[cluster] = rank
    pattern = first
    for rank in range(count, side * side):
        void = pattern.largest_void()
        pattern.flip(void)
        ranks[void] = rank
    return ranks.reshape(side, side)


if __name__ == "__main__":
    path = Path(__file__).with_name(f"mask_{SIDE}.png")
    Image.fromarray(make_ranks(SIDE)).save(path, optimize=True)
    print(f"{path.name}: {SIDE} x {SIDE} ranks")
