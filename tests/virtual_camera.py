"""A phone's photograph of an etched piece, for tests only. Like the virtual sheet, it imports
nothing of this project."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tests.virtual_sheet import Burnt

Matrix = NDArray[np.float64]

FULL_WELL = 6000.0  # electrons at the brightest level, for the shot noise
READ_NOISE = 0.002  # of that level
WHITE_BALANCE = np.float32([0.97, 1.0, 0.95])


def photograph(
    burnt: Burnt,
    *,
    px_per_mm: float = 8.0,
    tilt_deg: tuple[float, float] = (7.0, -6.0),
    turn_deg: float = 2.0,
    distance_mm: float = 350.0,
    falloff: float = 0.4,
    light_from_deg: float = 30.0,
    saturation_y: float | None = None,
    exposure: float = 1.0,
    blur_px: float = 0.6,
    noise: float = 1.0,
    quality: int = 85,
    surround_mm: float = 10.0,
    surround_y: float = 0.006,
    etched_side: bool = False,
    k1: float = 0.0,
    seed: int = 0,
) -> NDArray[np.uint8]:
    """A photograph on a black surround: rows by columns by 3, sRGB.

    The sheet is tilted about its horizontal and its vertical axis and turned in its plane; in its
    middle there are `px_per_mm` pixels to the mm. The light falls from 1 to 1 - `falloff` across
    the frame, coming from `light_from_deg` (0 = right, 90 = top). `saturation_y` is the luminance
    that just saturates in full light, by default a quarter above the lightest part; `exposure` is
    the share of the light that the camera gathers. `noise` scales the sensor's noise.
    `etched_side` takes it from the wrong side. `k1` bends the picture: what a straight lens would
    show at a distance r from the middle lies at r (1 + k1 r^2), r in half diagonals.
    """
    luminance = burnt.luminance[:, ::-1] if etched_side else burnt.luminance
    reduction = 1.0 / (px_per_mm * burnt.pixel_mm)
    soft = cv2.GaussianBlur(luminance, (0, 0), blur_px * reduction)
    if saturation_y is None:
        saturation_y = 1.25 * float(np.percentile(soft[:: burnt.sub, :: burnt.sub], 99.8))
    to_photo, size = placement(
        burnt, px_per_mm, tilt_deg, turn_deg, distance_mm, surround_mm * px_per_mm
    )
    centres = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    from_pixels = np.diag([burnt.pixel_mm, burnt.pixel_mm, 1.0]) @ centres
    warp = np.linalg.inv(centres) @ to_photo @ from_pixels
    if k1:
        straight = cv2.perspectiveTransform(_straightened(size, k1), np.linalg.inv(warp))
        x, y = np.moveaxis(straight, 2, 0).astype(np.float32)
        scene = cv2.remap(soft, x, y, cv2.INTER_LINEAR, borderValue=surround_y)
    else:
        scene = cv2.warpPerspective(
            soft, warp, size, flags=cv2.INTER_LINEAR, borderValue=surround_y
        )
    scene = scene * _light(size, falloff, light_from_deg)
    rng = np.random.default_rng([seed, 77])
    signal = np.clip(scene * (exposure / saturation_y), 0.0, 1.0)[:, :, None] * WHITE_BALANCE
    deviation = noise * np.sqrt(signal / FULL_WELL + READ_NOISE**2)
    signal += deviation * rng.standard_normal(signal.shape, np.float32)
    encoded = np.rint(255.0 * _srgb(np.clip(signal, 0.0, 1.0))).astype(np.uint8)
    _, jpeg = cv2.imencode(".jpg", encoded[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[:, :, ::-1])


def placement(
    burnt: Burnt,
    px_per_mm: float,
    tilt_deg: tuple[float, float],
    turn_deg: float,
    distance_mm: float,
    border_px: float,
) -> tuple[Matrix, tuple[int, int]]:
    """A pinhole camera's homography from mm on the sheet (x, y from its top left corner as it is
    seen) to photo pixels (x, y from the photo's top left corner), and the photo's (width, height).
    """
    rows, columns = burnt.luminance.shape
    width_mm, height_mm = columns * burnt.pixel_mm, rows * burnt.pixel_mm
    about_x, about_y, turn = np.radians([*tilt_deg, turn_deg])
    rotation = _rotation(turn, 0, 1) @ _rotation(about_x, 1, 2) @ _rotation(about_y, 0, 2)
    focal_px = px_per_mm * distance_mm
    view = np.column_stack([rotation[:, 0], rotation[:, 1], [0.0, 0.0, distance_mm]])
    to_middle = np.array([[1.0, 0.0, -width_mm / 2], [0.0, 1.0, -height_mm / 2], [0.0, 0.0, 1.0]])
    homography = np.diag([focal_px, focal_px, 1.0]) @ view @ to_middle
    corners = np.array(
        [[0.0, width_mm, width_mm, 0.0], [0.0, 0.0, height_mm, height_mm], [1.0] * 4]
    )
    x, y, w = homography @ corners
    left, top = (x / w).min() - border_px, (y / w).min() - border_px
    right, bottom = (x / w).max() + border_px, (y / w).max() + border_px
    shift = np.array([[1.0, 0.0, -left], [0.0, 1.0, -top], [0.0, 0.0, 1.0]])
    return shift @ homography, (math.ceil(right - left), math.ceil(bottom - top))


def _rotation(angle: float, first: int, second: int) -> Matrix:
    matrix = np.eye(3)
    matrix[[first, second], [first, second]] = math.cos(angle)
    matrix[first, second], matrix[second, first] = -math.sin(angle), math.sin(angle)
    return matrix


def _straightened(size: tuple[int, int], k1: float) -> NDArray[np.float64]:
    """For each pixel of a photo through a lens, the pixel (x, y) of one through a straight lens."""
    middle = (np.array(size) - 1.0) / 2.0
    radius = math.hypot(*size) / 2.0
    x, y = np.meshgrid(np.arange(size[0]), np.arange(size[1]))
    seen = (np.stack([x, y], axis=-1) - middle) / radius
    straight = seen
    for _ in range(12):
        straight = seen / (1.0 + k1 * np.sum(straight**2, axis=-1, keepdims=True))
    return middle + radius * straight


def _light(size: tuple[int, int], falloff: float, from_deg: float) -> NDArray[np.float32]:
    """1 at the corner nearest the light, 1 - `falloff` at the opposite one."""
    width, height = size
    toward_x, toward_y = math.cos(math.radians(from_deg)), -math.sin(math.radians(from_deg))
    x = toward_x * np.linspace(-width / 2, width / 2, width)[None, :]
    y = toward_y * np.linspace(-height / 2, height / 2, height)[:, None]
    reach = abs(toward_x) * width / 2 + abs(toward_y) * height / 2
    away = (0.5 - 0.5 * (x + y) / reach).astype(np.float32)
    return np.power(np.float32(1.0 - falloff), away)


def _srgb(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """The transfer curve of IEC 61966-2-1."""
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
