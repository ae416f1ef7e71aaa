"""Where the strip lies in a photograph: markers, the view from mm to pixels, and its plausibility.

Pixel coordinates count from the photo's top left corner, so that the centre of the first pixel is
at 0.5, 0.5. Markers are OpenCV's ArUco (Garrido-Jurado et al. 2014); the view is a homography by
normalised direct linear transform from all their corners (Hartley & Zisserman, chapter 4).
"""

import math
from collections.abc import Sequence

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.find_corners import Points, refined
from engine.strip.refuse import Refusal
from engine.strip.refuse_photo import is_white, why_nothing
from shared.strip import Box, Strip

Matrix = NDArray[np.float64]

LEAST_PX_PER_MM = 4.0
MOST_TILT_DEG = 32.0
MOST_RESIDUAL_MM = 0.25
_SCALES = (1.0, 0.5, 0.25, 2.0, 4.0)
_LONGEST_ENLARGED = 4000
_SAME_SIZE = 1.5
"""Perimeters of markers of one strip differ by less than this factor in any photo that is read."""


@attrs.frozen(eq=False)
class View:
    """How the strip lies in the photo."""

    to_photo: Matrix
    """3 x 3, from mm (x, y from the strip's top left corner, front) to pixels."""
    residual_px: float
    px_per_mm: float
    """The least over the strip."""
    tilt_deg: float
    turn_deg: float

    def pixels(self, x_mm: Points, y_mm: Points) -> tuple[Points, Points]:
        """Photo pixels (x, y) of points on the strip."""
        return _mapped(self.to_photo, x_mm, y_mm)

    def px_per_mm_at(self, box: Box) -> float:
        """The mean scale in the middle of a box."""
        x, y = box.left_mm + box.width_mm / 2.0, box.top_mm + box.height_mm / 2.0
        larger, smaller, _ = _local(self.to_photo, x, y)
        return math.sqrt(larger * smaller)

    def mm(self, x: Points, y: Points) -> tuple[Points, Points]:
        """Points on the strip in mm of photo pixels."""
        return _mapped(np.asarray(np.linalg.inv(self.to_photo), np.float64), x, y)


def find_strip(grey: NDArray[np.uint8], strip: Strip) -> View:
    """Where the strip lies; grey: rows x columns, as encoded. Raises Refusal."""
    wanted = [marker.id for marker in strip.markers]
    scale = max(grey.shape) / max(strip.size_mm)
    if scale < LEAST_PX_PER_MM:
        raise Refusal("small", found=scale, needed=LEAST_PX_PER_MM)
    found = detect(grey, wanted)
    ours = {number: found[number] for number in wanted if number in found}
    if len(ours) < len(wanted):
        _refuse_incomplete(grey, strip, found, ours)
    for corners in ours.values():
        if len(corners) > 1 and _is_double(corners[0], corners[1]):
            raise Refusal("moved")
    view = _view(
        {number: refined(grey, number, corners[0]) for number, corners in ours.items()}, strip
    )
    _check_view(view, strip, grey.shape)
    return view


def detect(grey: NDArray[np.uint8], wanted: Sequence[int]) -> dict[int, list[Points]]:
    """Markers by number, the largest first: 4 x 2 corners (x, y) each, clockwise from their top
    left. Looked for at several sizes until all the wanted ones are found."""
    best: dict[int, list[Points]] = {}
    stretched = _stretched(grey)
    for scale in _SCALES:
        if scale > 1.0 and max(grey.shape) * scale > _LONGEST_ENLARGED:
            continue
        found = _detect_at(stretched, scale)
        if _score(found, wanted) > _score(best, wanted):
            best = found
        if all(number in best for number in wanted):
            break
    return best


def _score(found: dict[int, list[Points]], wanted: Sequence[int]) -> tuple[int, int]:
    return sum(number in found for number in wanted), len(found)


def _stretched(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    low, high = np.percentile(grey[::4, ::4], (0.5, 99.9))
    gain = 255.0 / max(high - low, 8.0)
    scaled = (grey.astype(np.float32) - np.float32(low)) * np.float32(gain)
    return np.asarray(np.clip(scaled, 0, 255), np.uint8)


def _detect_at(grey: NDArray[np.uint8], scale: float) -> dict[int, list[Points]]:
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
    found: dict[int, list[Points]] = {}
    numbers = np.asarray(ids).ravel() if len(corners) else np.zeros(0)
    for number, four in zip(map(int, numbers), corners, strict=True):
        points = (np.asarray(four, np.float64).reshape(4, 2) + 0.5) / scale
        found.setdefault(number, []).append(points)
    for several in found.values():
        several.sort(key=_perimeter, reverse=True)
    return found


def _perimeter(corners: Points) -> float:
    return float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).sum())


def _is_double(first: Points, second: Points) -> bool:
    apart = float(np.linalg.norm(first.mean(axis=0) - second.mean(axis=0)))
    alike = _perimeter(first) < _SAME_SIZE * _perimeter(second)
    return alike and 0.08 * _perimeter(first) < apart < _perimeter(first)


def _corners_mm(box: Box) -> Points:
    right, bottom = box.left_mm + box.width_mm, box.top_mm + box.height_mm
    return np.array(
        [[box.left_mm, box.top_mm], [right, box.top_mm], [right, bottom], [box.left_mm, bottom]]
    )


def _view(found: dict[int, Points], strip: Strip) -> View:
    seen = {marker.id: marker for marker in strip.markers if marker.id in found}
    on_strip = np.concatenate([_corners_mm(seen[number].box) for number in seen])
    in_photo = np.concatenate([found[number] for number in seen])
    solved = cv2.findHomography(on_strip, in_photo, 0)[0]
    to_photo = np.asarray(solved, np.float64)
    x, y = _mapped(to_photo, on_strip[:, 0], on_strip[:, 1])
    residual = float(np.sqrt(np.mean((x - in_photo[:, 0]) ** 2 + (y - in_photo[:, 1]) ** 2)))
    width, height = strip.size_mm
    places = [(x, y) for x in (0.0, width) for y in (0.0, height)]
    least = min(_local(to_photo, x, y)[1] for x, y in places)
    larger, smaller, turn = _local(to_photo, width / 2.0, height / 2.0)
    tilt = math.degrees(math.acos(min(1.0, smaller / larger)))
    return View(to_photo, residual, least, tilt, turn)


def _local(to_photo: Matrix, x: float, y: float) -> tuple[float, float, float]:
    """The greatest and the least pixels per mm at a point, and the turn in degrees there."""
    step = 0.5
    xs, ys = np.array([x - step, x + step, x, x]), np.array([y, y, y - step, y + step])
    u, v = _mapped(to_photo, xs, ys)
    slopes = np.array([[u[1] - u[0], u[3] - u[2]], [v[1] - v[0], v[3] - v[2]]]) / (2.0 * step)
    larger, smaller = np.linalg.svd(slopes, compute_uv=False)
    return float(larger), float(smaller), math.degrees(math.atan2(slopes[1, 0], slopes[0, 0]))


def _mapped(matrix: Matrix, x: Points, y: Points) -> tuple[Points, Points]:
    w = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2]
    u = (matrix[0, 0] * x + matrix[0, 1] * y + matrix[0, 2]) / w
    v = (matrix[1, 0] * x + matrix[1, 1] * y + matrix[1, 2]) / w
    return u, v


def _check_view(view: View, strip: Strip, shape: tuple[int, ...]) -> None:
    if np.linalg.det(view.to_photo[:2, :2]) <= 0.0:
        raise Refusal("wrong_strip")
    if view.tilt_deg > MOST_TILT_DEG:
        raise Refusal("tilted", found=view.tilt_deg)
    if view.px_per_mm < LEAST_PX_PER_MM:
        raise Refusal("small", found=view.px_per_mm, needed=LEAST_PX_PER_MM)
    misfit_mm = view.residual_px / view.px_per_mm
    if misfit_mm > 4.0 * MOST_RESIDUAL_MM:
        raise Refusal("wrong_strip")
    if misfit_mm > MOST_RESIDUAL_MM:
        raise Refusal("distorted")
    for box in [patch.box for patch in strip.patches] + [cell.box for cell in strip.cells]:
        corners = _corners_mm(box)
        x, y = view.pixels(corners[:, 0], corners[:, 1])
        if x.min() < 0 or y.min() < 0 or x.max() > shape[1] or y.max() > shape[0]:
            raise Refusal("cropped", where=_where(corners.mean(axis=0), strip))


def _where(point: Points, strip: Strip) -> str:
    """The corner of the strip, as it is seen upright, that is nearest to a point."""
    width, height = strip.size_mm
    return f"{'top' if point[1] < height / 2 else 'bottom'} " + (
        "left" if point[0] < width / 2 else "right"
    )


def _refuse_incomplete(
    grey: NDArray[np.uint8],
    strip: Strip,
    found: dict[int, list[Points]],
    ours: dict[int, list[Points]],
) -> None:
    """Raises the Refusal that fits best when markers are missing."""
    wanted = [marker.id for marker in strip.markers]
    mirrored = detect(np.ascontiguousarray(grey[:, ::-1]), wanted)
    if sum(number in mirrored for number in wanted) > len(ours):
        front = "unetched face" if strip.etched == "back" else "etched face"
        raise Refusal("wrong_side", front=front)
    if len(ours) < 2 and _is_family([c[0] for n, c in found.items() if n not in ours]):
        raise Refusal("wrong_strip")
    reason = why_nothing(grey)
    if not ours or reason in ("blurred", "moved", "dark"):
        raise Refusal(reason)
    lost = next(marker for marker in strip.markers if marker.id not in ours)
    centre = _corners_mm(lost.box).mean(axis=0)
    view = _view({number: corners[0] for number, corners in ours.items()}, strip)
    x, y = view.pixels(centre[:1], centre[1:])
    where = _where(centre, strip)
    reach = 0.75 * lost.box.width_mm * max(view.px_per_mm, 1.0)
    rows, columns = grey.shape
    if not (reach < x[0] < columns - reach and reach < y[0] < rows - reach):
        raise Refusal("cropped", where=where)
    left, top = max(0, round(float(x[0]) - reach)), max(0, round(float(y[0]) - reach))
    if is_white(grey[top : top + round(2 * reach), left : left + round(2 * reach)]):
        raise Refusal("glare")
    raise Refusal("missing", where=where) if reason == "no_strip" else Refusal(reason)


def _is_family(squares: list[Points]) -> bool:
    """Whether at least three markers of about one size were found: some strip, but another one."""
    sizes = sorted(_perimeter(square) for square in squares)
    return any(sizes[i + 2] < _SAME_SIZE * sizes[i] for i in range(len(sizes) - 2))
