"""The photo's light and the strip seen straight on: linear luminance, samples and pictures."""

from collections.abc import Callable
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.colour import LUMINANCE, curve_table, eight_bit, srgb_decode
from engine.strip.find_corners import Points
from engine.strip.find_view import View
from shared.strip import Box

Grey = NDArray[np.float32]

_TO_NUMBERS = np.array([[1.0, 0.0, -0.5], [0.0, 1.0, -0.5], [0.0, 0.0, 1.0]])
"""From places in the photo to pixel numbers."""


@attrs.frozen(eq=False)
class Samples:
    """Photo pixels whose centres lie in a box, with the places of their centres on the strip."""

    x_mm: Points
    y_mm: Points
    level: Points
    """Linear light as the photo has it, 0 to 1."""
    brightest: Points
    """The pixel's largest channel, encoded, 0 to 1."""


@attrs.frozen(eq=False)
class Shot:
    """The photo in linear light and how the strip lies in it."""

    level: Grey
    """Rows x columns, linear luminance 0 to 1."""
    brightest: Grey
    """Rows x columns, the largest channel as encoded, 0 to 1."""
    view: View

    def samples(self, box: Box, rim_mm: float) -> Samples:
        """The photo's own pixels, not resampled, at least `rim_mm` inside the box's border
        (outside it, if negative)."""
        left, top = box.left_mm + rim_mm, box.top_mm + rim_mm
        right = box.left_mm + box.width_mm - rim_mm
        bottom = box.top_mm + box.height_mm - rim_mm
        xs, ys = np.array([left, right, right, left]), np.array([top, top, bottom, bottom])
        u, v = self.view.pixels(xs, ys)
        rows, columns = self.level.shape
        c0, c1 = max(0, int(u.min())), min(columns, int(u.max()) + 1)
        r0, r1 = max(0, int(v.min())), min(rows, int(v.max()) + 1)
        centre_y, centre_x = np.mgrid[r0 : max(r0, r1), c0 : max(c0, c1)] + 0.5
        x, y = self.view.mm(centre_x, centre_y)
        inside = (x >= left) & (x <= right) & (y >= top) & (y <= bottom)
        part = np.s_[r0 : max(r0, r1), c0 : max(c0, c1)]
        return Samples(
            x[inside],
            y[inside],
            self.level[part][inside].astype(np.float64),
            self.brightest[part][inside].astype(np.float64),
        )

    def straight(self, box: Box, pitch_mm: float) -> Grey:
        """The box seen straight on: rows x columns at `pitch_mm`, linear light, averaged over each
        pixel where the photo is finer."""
        shape = (round(box.height_mm / pitch_mm), round(box.width_mm / pitch_mm))
        finer = max(1, int(np.ceil(pitch_mm * self.view.px_per_mm)))
        size = (shape[1] * finer, shape[0] * finer)
        seen = _seen_straight(self.level, self.view, box, size, pitch_mm / finer)
        if finer > 1:
            seen = cv2.resize(seen, shape[::-1], interpolation=cv2.INTER_AREA)
        return np.asarray(seen, np.float32)


def shot(
    pixels: NDArray[Any], view: View, light: Callable[[Any], NDArray[Any]] = srgb_decode
) -> Shot:
    """Linear light of a photo: rows x columns x 3, uint8 or uint16.

    light: that of encoded tones, 0 to 1 both; plain sRGB, if nothing else is known of the camera.
    """
    top = np.iinfo(pixels.dtype).max
    table = curve_table(light)
    steps = np.rint(np.arange(top + 1) * (65535 / top)).astype(np.intp)
    linear = table[steps]
    level = np.zeros(pixels.shape[:2], np.float32)
    for channel, weight in enumerate(LUMINANCE):
        level += np.float32(weight) * linear[pixels[:, :, channel]]
    brightest = pixels.max(axis=2).astype(np.float32) / np.float32(top)
    return Shot(level, brightest, view)


def encoded_grey(pixels: NDArray[Any]) -> NDArray[np.uint8]:
    """Rows x columns, uint8, the mean of the channels as encoded: here markers are looked for."""
    mean = cv2.transform(np.ascontiguousarray(pixels), np.full((1, 3), 1.0 / 3.0))
    share = 255.0 / np.iinfo(pixels.dtype).max
    return np.asarray(cv2.convertScaleAbs(mean, alpha=share), np.uint8)


def straight_pixels(
    pixels: NDArray[Any], view: View, box: Box, pitch_mm: float
) -> NDArray[np.uint8]:
    """A box of the photo as it is, seen straight on: rows x columns x 3, uint8, sRGB encoded."""
    size = (round(box.width_mm / pitch_mm), round(box.height_mm / pitch_mm))
    return eight_bit(_seen_straight(pixels, view, box, size, pitch_mm))


def _seen_straight(
    picture: NDArray[Any], view: View, box: Box, size: tuple[int, int], pitch_mm: float
) -> NDArray[Any]:
    """A box of one of the photo's arrays; size: columns and rows."""
    x = box.left_mm + (np.arange(size[0]) + 0.5) * pitch_mm
    y = box.top_mm + (np.arange(size[1]) + 0.5) * pitch_mm
    if view.lens.k1:
        u, v = (np.asarray(p - 0.5, np.float32) for p in view.pixels(*np.meshgrid(x, y)))
        return np.asarray(cv2.remap(picture, u, v, cv2.INTER_LINEAR))
    from_pixels = np.array([[pitch_mm, 0.0, x[0]], [0.0, pitch_mm, y[0]], [0.0, 0.0, 1.0]])
    warp = _TO_NUMBERS @ view.to_photo @ from_pixels
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpPerspective(picture, warp, size, flags=flags))
