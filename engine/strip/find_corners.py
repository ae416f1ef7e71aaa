"""Corners of markers and patches to a fraction of a pixel: lines through four sides, intersected.

A detected square may be off by half a module where frost or blur joins the marker to what lies
around it, so each side is looked for across its own rough place, by the sign that its edge has.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.colour import srgb_decode

Points = NDArray[np.float64]

MODULES = 6
_REACHES = (0.8, 0.5)
"""How far to each side of the rough edge it is looked for, in modules; one pass each."""
_PLACES = np.linspace(0.08, 0.92, 41)
_STEPS = 65
_COARSEST = 32


def refined(grey: NDArray[np.uint8], number: int, corners: Points) -> Points:
    """4 x 2 corners (x, y) of marker `number`, from rough ones in the same order.

    grey: rows x columns; coordinates count from the photo's top left corner.
    """
    module = _side_length(corners) / MODULES
    part, offset = _around(grey, corners, module)
    lighter_outside = _lighter_outside(part, number, corners - offset)
    reaches = [reach * module for reach in _REACHES]
    return _followed(part, corners - offset, reaches, lighter_outside) + offset


def middle_of_patch(grey: NDArray[np.uint8], corners: Points, reach: float) -> Points:
    """The middle (x, y) of a patch that is lighter than what lies around it, from rough corners
    that may be off by `reach` pixels. Frost that reaches farther than it was burnt does not move
    it."""
    part, offset = _around(grey, corners, 0.5 * reach)
    found = _followed(part, corners - offset, [reach, 0.5 * reach], lighter_outside=False)
    return np.asarray(found.mean(axis=0) + offset, np.float64)


def _side_length(corners: Points) -> float:
    return float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).mean())


def _around(
    grey: NDArray[np.uint8], corners: Points, module: float
) -> tuple[NDArray[np.float32], Points]:
    """The part of the photo about a square, in linear light and calmed, and where it begins."""
    left, top = np.floor(corners.min(axis=0) - 2.0 * module - 2.0).astype(int)
    right, bottom = np.ceil(corners.max(axis=0) + 2.0 * module + 2.0).astype(int)
    left, top = max(left, 0), max(top, 0)
    part = srgb_decode(grey[top:bottom, left:right].astype(np.float32) / np.float32(255.0))
    calm = cv2.GaussianBlur(part, (0, 0), max(0.7, module / 12.0))
    return np.asarray(calm, np.float32), np.array([left, top], np.float64)


def _followed(
    part: NDArray[np.float32], start: Points, reaches: list[float], lighter_outside: bool
) -> Points:
    for reach in reaches:
        lines = [_side(part, start, i, reach, lighter_outside) for i in range(4)]
        start = np.array([_meeting(lines[i - 1], lines[i]) for i in range(4)])
    return np.asarray(start, np.float64)


def _lighter_outside(part: NDArray[np.float32], number: int, corners: Points) -> bool:
    """Whether the marker's border is darker than its white, by its own code."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    code = np.asarray(cv2.aruco.generateImageMarker(dictionary, number, MODULES), np.float64)
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32) * _COARSEST
    warp = cv2.getPerspectiveTransform(corners.astype(np.float32), square)
    seen = cv2.warpPerspective(part, warp, (_COARSEST, _COARSEST))
    cells = np.asarray(cv2.resize(seen, (MODULES, MODULES), interpolation=cv2.INTER_AREA))
    return bool(np.sum((code - code.mean()) * (cells - cells.mean())) > 0.0)


def _side(
    part: NDArray[np.float32], corners: Points, first: int, reach: float, lighter_outside: bool
) -> tuple[Points, Points]:
    """A point on one side and its direction; the side goes from corner `first` to the next. Where
    nothing rises, as under a finger, the rough side."""
    begin, end = corners[first], corners[(first + 1) % 4]
    along = (end - begin) / np.linalg.norm(end - begin)
    outward = np.array([along[1], -along[0]])
    offsets = np.linspace(-reach, reach, _STEPS)
    places = begin + _PLACES[:, None] * (end - begin)
    grid = places[:, None, :] + offsets[None, :, None] * outward - 0.5
    x, y = grid[..., 0].astype(np.float32), grid[..., 1].astype(np.float32)
    values = cv2.remap(part, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    rise = np.gradient(np.asarray(values, np.float64), axis=1)
    rise = np.maximum(rise if lighter_outside else -rise, 0.0)
    peak = rise.argmax(axis=1)
    near = np.abs(np.arange(_STEPS) - peak[:, None]) <= _STEPS // 8
    weight = rise * near
    strength = weight.sum(axis=1)
    found = (weight * offsets).sum(axis=1) / np.maximum(strength, 1e-9)
    clear = strength > 0.3 * np.median(strength)
    if clear.sum() < 2:
        return begin, along
    edge = places[clear] + found[clear][:, None] * outward
    line = cv2.fitLine(edge.astype(np.float32), cv2.DIST_HUBER, 0, 0.001, 0.001)
    direction_x, direction_y, point_x, point_y = np.asarray(line, np.float64).ravel()
    return np.array([point_x, point_y]), np.array([direction_x, direction_y])


def _meeting(first: tuple[Points, Points], second: tuple[Points, Points]) -> Points:
    """Where two lines, each a point and a direction, meet."""
    across = np.stack([first[1], -second[1]], axis=1)
    steps = np.linalg.lstsq(across, second[0] - first[0], rcond=None)[0]
    return np.asarray(first[0] + steps[0] * first[1], np.float64)
