"""Clustered dot: round dots on a turned square grid; they grow with the drive until they join.

All in whole numbers: a place in the grid is a phase of 16 bits that wraps by itself. So a window
has the very pixels of the whole plate, however far from its corner.
"""

import functools
import math

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.screens import bluenoise
from engine.screens.bluenoise import SIDE

_PHASES = 1 << 16
_CREST = 4095
"""Highest value of one wave of the spot function, of which two are added."""
_APART = (97, 151)
"""Rows and columns from one blue-noise mask to the other, far enough for them to be strangers."""


def cluster(
    drive: NDArray[np.float32],
    ruling_per_cm: float,
    angle_deg: float,
    *,
    pitch_mm: float,
    top: int = 0,
    left: int = 0,
) -> NDArray[np.uint8]:
    """Dots, 0 or 255, for a drive of 0 to 1, rows x columns.

    ruling_per_cm: lines of dots per cm; angle_deg: how far they are turned, clockwise.
    top, left: place of the drive's first pixel on the plate, in pixels; may be negative.

    A pixel burns where the drive reaches the share of the grid that has a higher spot function
    cos(2 pi u) + cos(2 pi v), u and v being the place in lines. The pixel is looked at not in its
    middle but somewhere in its square, as two blue-noise masks say. So each part of the grid
    is met equally often whatever ruling, angle and pitch, and the tone is true everywhere, without
    moire; what it costs is that the rim of a dot is rough by a pixel.
    """
    rows, columns = drive.shape
    drive = np.asarray(drive, np.float32)
    per_pixel = _lines_per_pixel(ruling_per_cm, angle_deg, pitch_mm)
    aside, below = _places_in_pixel(min(rows, SIDE), columns, top=top, left=left)
    strips, starts = [], []
    for right, down in per_pixel:
        place = (left + np.arange(columns)) * right + (aside * right + below * down)
        strips.append(_phase(place))
        starts.append(_phase((top + np.arange(rows)) * down)[:, None])

    dots = np.empty((rows, columns), np.uint8)
    for first in range(0, rows, SIDE):
        band = slice(first, first + SIDE)
        height = min(SIDE, rows - first)
        spot = np.zeros((height, columns), np.uint16)
        for strip, start in zip(strips, starts, strict=True):
            spot += cv2.LUT(strip[:height] + start[band], _wave())
        cv2.compare(drive[band], cv2.LUT(spot, _thresholds()), cv2.CMP_GE, dots[band])
    return dots


def _lines_per_pixel(
    ruling_per_cm: float, angle_deg: float, pitch_mm: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """By how much u, and then v, grow from pixel to pixel to the right and down."""
    step, turn = ruling_per_cm / 10.0 * pitch_mm, math.radians(angle_deg)
    along, athwart = step * math.cos(turn), step * math.sin(turn)
    return (along, athwart), (-athwart, along)


def _places_in_pixel(
    rows: int, columns: int, *, top: int, left: int
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Where each pixel is looked at, to the right of and below its middle, in pixels."""
    aside = bluenoise.window(rows, columns, top=top, left=left)
    below = bluenoise.window(rows, columns, top=top + _APART[0], left=left + _APART[1])
    return aside - np.float32(0.5), below - np.float32(0.5)


def _phase(lines: NDArray[np.floating]) -> NDArray[np.uint16]:
    """A place in lines as a 16-bit part of one line."""
    return np.asarray(np.rint(lines * _PHASES).astype(np.int64) % _PHASES, np.uint16)


@functools.cache
def _wave() -> NDArray[np.uint16]:
    """One wave of the spot function for every phase: 0 to _CREST."""
    phases = np.arange(_PHASES) * (2.0 * np.pi / _PHASES)
    return np.asarray(np.rint(_CREST / 2.0 * (1.0 + np.cos(phases))), np.uint16)


@functools.cache
def _thresholds() -> NDArray[np.float32]:
    """For each value of the spot function the share of the grid where it is higher.

    The share that has the value itself counts by half. Exact, since both phases take each value
    equally often and independently.
    """
    counts = np.bincount(_wave(), minlength=_CREST + 1)
    both = np.convolve(counts, counts)
    higher = both.sum() - np.cumsum(both)
    table = np.zeros(_PHASES, np.float32)
    table[: both.size] = (higher + both / 2.0) / both.sum()
    return table
