"""How the strip lies in a photograph: from mm on the glass to pixels and back.

mm -> homography -> where a lens without distortion would show it -> the lens -> pixels

Pixel coordinates count from the photo's top left corner, so that the centre of the first pixel is
at 0.5, 0.5. The homography is the normalised direct linear transform (Hartley & Zisserman, chapter
4); the lens is the first radial term of Brown, Photogrammetric Engineering 37(8), 1971.
"""

import math
from collections.abc import Callable

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.find_corners import Points
from shared.strip import Box

Matrix = NDArray[np.float64]
_TURNS = 8


@attrs.frozen
class Lens:
    """Radial distortion: p = centre + (q - centre) (1 + k1 |q - centre|^2 / radius^2), where q is
    where a lens without distortion would show the point. Barrel is negative, pincushion positive.
    """

    k1: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)
    """Pixels."""
    radius: float = 1.0
    """Half the picture's diagonal, in pixels: `k1` is the share by which its corners move."""

    def bent(self, x: Points, y: Points) -> tuple[Points, Points]:
        """Where the lens shows points that a straight one would show at x, y."""
        if not self.k1:
            return x, y
        u, v = (x - self.centre[0]) / self.radius, (y - self.centre[1]) / self.radius
        out = self.radius * (1.0 + self.k1 * (u * u + v * v))
        return self.centre[0] + u * out, self.centre[1] + v * out

    def straight(self, x: Points, y: Points) -> tuple[Points, Points]:
        """The inverse, by Newton's method on the radius; strong barrel shows nothing beyond some
        radius, and what lies farther out in the photo is taken to lie there."""
        if not self.k1:
            return x, y
        u, v = (x - self.centre[0]) / self.radius, (y - self.centre[1]) / self.radius
        seen = np.hypot(u, v)
        most = math.sqrt(-1.0 / (3.0 * self.k1)) if self.k1 < 0.0 else math.inf
        true = seen
        for _ in range(_TURNS):
            slope = np.maximum(1.0 + 3.0 * self.k1 * true**2, 0.1)
            true = true - (true * (1.0 + self.k1 * true**2) - seen) / slope
            true = np.clip(true, 0.0, most)
        share = self.radius * true / np.maximum(seen, 1e-12)
        return self.centre[0] + u * share, self.centre[1] + v * share


@attrs.frozen(eq=False)
class View:
    """How the strip lies in the photo."""

    to_photo: Matrix
    """3 x 3, from mm (x, y from the strip's top left corner, front) to pixels without the lens."""
    lens: Lens
    residual_px: float
    """Root mean square distance of known corners from where the view puts them."""
    px_per_mm: float
    """The least over the strip."""
    tilt_deg: float
    turn_deg: float

    def pixels(self, x_mm: Points, y_mm: Points) -> tuple[Points, Points]:
        """Photo pixels (x, y) of points on the strip."""
        return self.lens.bent(*mapped(self.to_photo, x_mm, y_mm))

    def mm(self, x: Points, y: Points) -> tuple[Points, Points]:
        """Points on the strip in mm of photo pixels."""
        back = np.asarray(np.linalg.inv(self.to_photo), np.float64)
        return mapped(back, *self.lens.straight(x, y))

    def px_per_mm_at(self, box: Box) -> float:
        """The mean scale in the middle of a box."""
        x, y = box.left_mm + box.width_mm / 2.0, box.top_mm + box.height_mm / 2.0
        larger, smaller, _ = _local(self.pixels, x, y)
        return math.sqrt(larger * smaller)


def view_of(
    on_strip: Points, in_photo: Points, size_mm: tuple[float, float], lens: Lens | None = None
) -> View:
    """The view that lays points (n x 2, mm) onto places in the photo (n x 2, pixels), by least
    squares, through a lens that is known."""
    lens = lens or Lens()
    straight = np.stack(lens.straight(in_photo[:, 0], in_photo[:, 1]), axis=-1)
    to_photo = np.asarray(cv2.findHomography(on_strip, straight, 0)[0], np.float64)

    def pixels(x: Points, y: Points) -> tuple[Points, Points]:
        return lens.bent(*mapped(to_photo, x, y))

    x, y = pixels(on_strip[:, 0], on_strip[:, 1])
    residual = float(np.sqrt(np.mean((x - in_photo[:, 0]) ** 2 + (y - in_photo[:, 1]) ** 2)))
    width, height = size_mm
    least = min(_local(pixels, x, y)[1] for x in (0.0, width) for y in (0.0, height))
    larger, smaller, turn = _local(lambda x, y: mapped(to_photo, x, y), width / 2.0, height / 2.0)
    tilt = math.degrees(math.acos(min(1.0, smaller / larger)))
    return View(to_photo, lens, residual, least, tilt, turn)


def corners_mm(box: Box) -> Points:
    """4 x 2, clockwise from the top left."""
    right, bottom = box.left_mm + box.width_mm, box.top_mm + box.height_mm
    return np.array(
        [[box.left_mm, box.top_mm], [right, box.top_mm], [right, bottom], [box.left_mm, bottom]]
    )


def mapped(matrix: Matrix, x: Points, y: Points) -> tuple[Points, Points]:
    """Points through a homography."""
    w = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2]
    u = (matrix[0, 0] * x + matrix[0, 1] * y + matrix[0, 2]) / w
    v = (matrix[1, 0] * x + matrix[1, 1] * y + matrix[1, 2]) / w
    return u, v


def _local(
    pixels: Callable[[Points, Points], tuple[Points, Points]], x: float, y: float
) -> tuple[float, float, float]:
    """The greatest and the least pixels per mm at a point, and the turn in degrees there."""
    step = 0.5
    u, v = pixels(np.array([x - step, x + step, x, x]), np.array([y, y, y - step, y + step]))
    slopes = np.array([[u[1] - u[0], u[3] - u[2]], [v[1] - v[0], v[3] - v[2]]]) / (2.0 * step)
    larger, smaller = np.linalg.svd(slopes, compute_uv=False)
    return float(larger), float(smaller), math.degrees(math.atan2(slopes[1, 0], slopes[0, 0]))
