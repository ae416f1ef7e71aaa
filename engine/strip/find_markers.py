"""Markers in a photograph, OpenCV's ArUco (Garrido-Jurado et al. 2014), at several sizes.

A reduced picture comes first: it is quick, and noise and frost's grain are calmer in it. Finer ones
follow only while markers are missing, the finest only when some marker was seen at all.
"""

from collections.abc import Iterator, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.find_corners import Points

Found = dict[int, list[Points]]
"""Markers by number, the largest first: 4 x 2 corners (x, y) each, clockwise from their top left,
in pixels from the photo's top left corner."""

SAME_SIZE = 1.5
"""Perimeters of markers of one strip differ by less than this factor in any photo that is read."""
_SIDES = (1600, 800, 2600)
"""Longer side, in pixels, of the pictures in which markers are looked for."""
_LONGEST_ENLARGED = 4000


def detect(grey: NDArray[np.uint8], wanted: Sequence[int]) -> Found:
    """All markers; grey: rows x columns, as encoded. Ends as soon as the wanted ones are found."""
    best: Found = {}
    stretched = _stretched(grey)
    for scale, for_more in _scales(max(grey.shape)):
        if for_more and not best:
            break
        found = _detect_at(stretched, scale)
        if _score(found, wanted) > _score(best, wanted):
            best = found
        if all(number in best for number in wanted):
            break
    return best


def detect_mirrored(grey: NDArray[np.uint8], wanted: Sequence[int]) -> Found:
    """The same in the mirrored picture, whose corners count from its own top left corner."""
    return detect(np.ascontiguousarray(grey[:, ::-1]), wanted)


def perimeter(corners: Points) -> float:
    """In pixels."""
    return float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).sum())


def is_double(several: list[Points]) -> bool:
    """Whether one marker was seen twice, a little apart, as the camera or the black moved."""
    if len(several) < 2:
        return False
    first, second = several[:2]
    apart = float(np.linalg.norm(first.mean(axis=0) - second.mean(axis=0)))
    alike = perimeter(first) < SAME_SIZE * perimeter(second)
    return alike and 0.08 * perimeter(first) < apart < perimeter(first)


def is_family(squares: list[Points]) -> bool:
    """Whether at least three markers of about one size were found: some strip, but another one."""
    sizes = sorted(perimeter(square) for square in squares)
    return any(sizes[i + 2] < SAME_SIZE * sizes[i] for i in range(len(sizes) - 2))


def _scales(longer: int) -> Iterator[tuple[float, bool]]:
    """Scales in the order of trying, and whether one is worth its time only for more markers."""
    if longer <= _SIDES[0]:
        yield from ((scale, False) for scale in (1.0, 0.5, 0.25))
    else:
        yield from ((side / longer, False) for side in _SIDES if side < longer)
        yield 1.0, True
    yield from ((scale, False) for scale in (2.0, 4.0) if longer * scale <= _LONGEST_ENLARGED)


def _score(found: Found, wanted: Sequence[int]) -> tuple[int, int]:
    return sum(number in found for number in wanted), len(found)


def _stretched(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    low, high = np.percentile(grey[::4, ::4], (0.5, 99.9))
    gain = 255.0 / max(high - low, 8.0)
    levels = (np.arange(256) - low) * gain
    return np.asarray(cv2.LUT(grey, np.clip(levels, 0, 255).astype(np.uint8)), np.uint8)


def _detect_at(grey: NDArray[np.uint8], scale: float) -> Found:
    if scale != 1.0:
        way = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_CUBIC
        grey = np.asarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=way), np.uint8)
    wish = cv2.aruco.DetectorParameters()
    wish.detectInvertedMarker = True
    wish.minMarkerPerimeterRate = 0.015
    wish.adaptiveThreshWinSizeMax = 63
    wish.adaptiveThreshWinSizeStep = 12
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, wish).detectMarkers(grey)
    found: Found = {}
    numbers = np.asarray(ids).ravel() if len(corners) else np.zeros(0)
    for number, four in zip(map(int, numbers), corners, strict=True):
        points = (np.asarray(four, np.float64).reshape(4, 2) + 0.5) / scale
        found.setdefault(number, []).append(points)
    for several in found.values():
        several.sort(key=perimeter, reverse=True)
    return found
