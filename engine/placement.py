"""The photo laid on the plate: sampled onto a grid, with the part of the plate that it covers."""

import math
from collections.abc import Sequence
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.grid import Grid
from shared.fields import Region, infos
from shared.plate import Placement, Plate

_LONGEST_SIDE = 30_000
"""OpenCV's warps address pixels with 16 bits."""
_ABOUT_ONE = 1.25
"""Photo pixels per grid pixel up to which the photo counts as no finer than the grid."""
_FROM_BYTES = (np.arange(256) / 255.0).astype(np.float32)


def levels(pixels: NDArray[Any]) -> tuple[NDArray[Any], ...]:
    """The photo and its halves, quarters, ... down to about 32 pixels, for fast reduction.

    `pixels` is rows x columns x 3, uint8 or uint16; so is each level, by area averaging.
    """
    result = [pixels]
    while min(result[-1].shape[:2]) >= 64:
        rows, columns = result[-1].shape[:2]
        half = ((columns + 1) // 2, (rows + 1) // 2)
        result.append(cv2.resize(result[-1], half, interpolation=cv2.INTER_AREA))
    return tuple(result)


def photo_from_plate(
    plate: Plate, placement: Placement, photo_rows: int, photo_columns: int
) -> NDArray[np.float64]:
    """The 2 x 3 matrix from plate coordinates (x, y in mm) to photo coordinates (x, y in pixels).

    Photo coordinate 0 is the outer edge of the first pixel. The photo is turned clockwise about
    the plate's centre by `placement.turn_deg`.
    """
    mm = placement.mm_per_photo_pixel(plate, photo_columns, photo_rows)
    angle = math.radians(placement.turn_deg)
    turn_back = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    linear = turn_back / mm
    plate_centre = np.array([plate.width_mm / 2.0, plate.height_mm / 2.0])
    photo_centre = np.array([placement.centre_x * photo_columns, placement.centre_y * photo_rows])
    return np.column_stack([linear, photo_centre - linear @ plate_centre])


def moved(
    plate: Plate,
    placement: Placement,
    photo_rows: int,
    photo_columns: int,
    dx_mm: float,
    dy_mm: float,
) -> Placement:
    """The placement with the photo shifted on the plate, as far as its centre fields allow."""
    linear = photo_from_plate(plate, placement, photo_rows, photo_columns)[:, :2]
    across, down = linear @ np.array([dx_mm, dy_mm])
    low, high = infos(Placement)["centre_x"].low, infos(Placement)["centre_x"].high
    return attrs.evolve(
        placement,
        centre_x=min(max(placement.centre_x - across / photo_columns, low), high),
        centre_y=min(max(placement.centre_y - down / photo_rows, low), high),
    )


def area_on_photo(
    plate: Plate,
    placement: Placement,
    photo_rows: int,
    photo_columns: int,
    area_mm: tuple[float, float, float, float],
) -> Region | None:
    """A rectangle on the plate (left, top, right, bottom in mm) as shares of the photo.

    A turned photo gives the rectangle that holds it; None when it misses the photo.
    """
    left, top, right, bottom = area_mm
    corners = np.array(
        [[left, top, 1.0], [right, top, 1.0], [left, bottom, 1.0], [right, bottom, 1.0]]
    )
    matrix = photo_from_plate(plate, placement, photo_rows, photo_columns)
    shares = np.clip(corners @ matrix.T / np.array([photo_columns, photo_rows]), 0.0, 1.0)
    low, high = shares.min(axis=0), shares.max(axis=0)
    if np.any(low >= high):
        return None
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def place(
    photo_levels: Sequence[NDArray[Any]], plate: Plate, placement: Placement, grid: Grid
) -> NDArray[np.float32]:
    """The photo's colours on a grid: float32, rows x columns x 3, encoded sRGB from 0 to 1.

    Each pixel is the mean of several samples a way (one for a draft), which are interpolated
    between the pixels of the nearest level: bicubic where the photo is no finer than the grid (the
    averaging of a finer photo leaves nothing of the difference, and bicubic takes four times as
    long).
    Beyond the photo its border colours go on, so that no operator sees a false edge; see `cover`
    for what is really photo.
    """
    rows, columns = photo_levels[0].shape[:2]
    matrix = photo_from_plate(plate, placement, rows, columns)
    photo_pixels_per_pixel = grid.pitch_mm * math.hypot(matrix[0, 0], matrix[0, 1])
    fine = 1 if grid.draft else _samples(photo_pixels_per_pixel)
    photo_pixels_per_sample = photo_pixels_per_pixel / fine
    level = min(len(photo_levels) - 1, max(0, int(math.log2(max(photo_pixels_per_sample, 1.0)))))
    sharp = photo_pixels_per_sample < 1.0 and photo_pixels_per_pixel <= _ABOUT_ONE
    interpolation = cv2.INTER_CUBIC if sharp else cv2.INTER_LINEAR
    sampled = _sample(photo_levels, level, matrix, grid, fine, interpolation)
    if fine > 1:
        size = (grid.columns, grid.rows)
        sampled = cv2.resize(sampled, size, interpolation=cv2.INTER_AREA)
    if sampled.dtype == np.uint8:
        return np.asarray(cv2.LUT(sampled, _FROM_BYTES))
    return sampled.astype(np.float32) * np.float32(1.0 / 65535.0)


@attrs.frozen(eq=False)
class Cover:
    """Which pixels of a grid show photo: those of a rectangle, or some of them."""

    rows: slice
    columns: slice
    mask: NDArray[np.bool_] | None
    """Which pixels of the rectangle; None for all of them."""

    @property
    def empty(self) -> bool:
        """Whether no photo shows at all."""
        return bool(self.rows.stop == self.rows.start or self.columns.stop == self.columns.start)

    def of(self, picture: NDArray[Any]) -> NDArray[Any]:
        """The values of a picture, rows x columns, that show photo: as many, in two dimensions."""
        inside = picture[self.rows, self.columns]
        return inside if self.mask is None else inside[self.mask][None, :]

    def clear_rest(self, picture: NDArray[Any], rest: float) -> None:
        """Write `rest` over a picture, rows x columns (x 3), wherever no photo shows."""
        picture[: self.rows.start] = rest
        picture[self.rows.stop :] = rest
        picture[self.rows, : self.columns.start] = rest
        picture[self.rows, self.columns.stop :] = rest
        if self.mask is not None:
            picture[self.rows, self.columns][~self.mask] = rest


def cover(
    photo_rows: int, photo_columns: int, plate: Plate, placement: Placement, grid: Grid
) -> Cover:
    """Which pixels of a grid show photo: inside the margins and inside the photo."""
    x_mm = (grid.left + np.arange(grid.columns) + 0.5) * grid.pitch_mm
    y_mm = (grid.top + np.arange(grid.rows) + 0.5) * grid.pitch_mm
    margin = plate.margin_mm
    columns = _run((x_mm >= margin) & (x_mm <= plate.width_mm - margin))
    rows = _run((y_mm >= margin) & (y_mm <= plate.height_mm - margin))
    matrix = photo_from_plate(plate, placement, photo_rows, photo_columns)
    if _covers_picture_area(matrix, plate, photo_rows, photo_columns):
        return Cover(rows, columns, None)
    x_mm, y_mm = x_mm[columns], y_mm[rows]
    inside = np.ones((y_mm.size, x_mm.size), np.bool_)
    for row, size in zip(matrix, (photo_columns, photo_rows), strict=True):
        position = (row[0] * x_mm + row[2])[None, :] + (row[1] * y_mm)[:, None]
        inside &= (position >= 0.0) & (position <= size)
    return _tight(rows, columns, inside)


def _tight(rows: slice, columns: slice, inside: NDArray[np.bool_]) -> Cover:
    """The cover with no row and no column around it that shows nothing."""
    down, across = (_run(np.asarray(inside.any(axis=axis))) for axis in (1, 0))
    mask = inside[down, across]
    return Cover(
        slice(rows.start + down.start, rows.start + down.stop),
        slice(columns.start + across.start, columns.start + across.stop),
        None if mask.all() else mask,
    )


def _run(wanted: NDArray[np.bool_]) -> slice:
    """From the first to the last that is wanted; an empty slice at 0 when none is."""
    found = np.flatnonzero(wanted)
    return slice(int(found[0]), int(found[-1]) + 1) if found.size else slice(0, 0)


def _covers_picture_area(
    matrix: NDArray[np.float64], plate: Plate, photo_rows: int, photo_columns: int
) -> bool:
    left, top = plate.margin_mm, plate.margin_mm
    right, bottom = plate.width_mm - left, plate.height_mm - top
    corners = np.array(
        [[left, top, 1.0], [right, top, 1.0], [left, bottom, 1.0], [right, bottom, 1.0]]
    )
    photo = corners @ matrix.T
    size = np.array([photo_columns, photo_rows])
    return bool(np.all((photo >= -1e-6) & (photo <= size + 1e-6)))


def _samples(photo_pixels_per_pixel: float) -> int:
    """How many samples a way make up a pixel, so that none of the photo is passed over."""
    if photo_pixels_per_pixel <= 0.5:
        return 1
    return 2 if photo_pixels_per_pixel <= _ABOUT_ONE else 3


def _sample(
    photo_levels: Sequence[NDArray[Any]],
    level: int,
    matrix: NDArray[np.float64],
    grid: Grid,
    fine: int,
    interpolation: int,
) -> NDArray[Any]:
    """The photo at `fine` samples per grid pixel each way, read from one level."""
    rows, columns = photo_levels[0].shape[:2]
    source = photo_levels[level]
    scale = np.array([[source.shape[1] / columns], [source.shape[0] / rows]])
    step = grid.pitch_mm / fine
    size = (grid.columns * fine, grid.rows * fine)
    to_level = matrix * scale
    offset = to_level[:, :2] @ np.array([grid.left_mm + 0.5 * step, grid.top_mm + 0.5 * step])
    sample_matrix = np.column_stack([to_level[:, :2] * step, to_level[:, 2] + offset - 0.5])
    source, sample_matrix = _cropped(source, sample_matrix, size)
    if max(source.shape[:2]) > _LONGEST_SIDE:
        return _sample(photo_levels, level + 1, matrix, grid, fine, interpolation)
    return _warped(source, sample_matrix, size, interpolation)


def _warped(
    source: NDArray[Any], matrix: NDArray[np.float64], size: tuple[int, int], interpolation: int
) -> NDArray[Any]:
    """The same by four records as by three; OpenCV is twice as fast with four where it is linear,
    and slower where it is cubic."""
    linear = interpolation == cv2.INTER_LINEAR
    warped = cv2.warpAffine(
        cv2.cvtColor(source, cv2.COLOR_RGB2RGBA) if linear else np.ascontiguousarray(source),
        matrix,
        size,
        flags=interpolation | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.cvtColor(warped, cv2.COLOR_RGBA2RGB) if linear else warped)


def _cropped(
    source: NDArray[Any], sample_matrix: NDArray[np.float64], size: tuple[int, int]
) -> tuple[NDArray[Any], NDArray[np.float64]]:
    """The part of a level that the samples read, and the matrix into that part."""
    columns, rows = size
    corners = np.array([[0, 0, 1], [columns, 0, 1], [0, rows, 1], [columns, rows, 1]], float)
    reached = corners @ sample_matrix.T
    low = np.floor(reached.min(axis=0)).astype(int) - 3
    high = np.ceil(reached.max(axis=0)).astype(int) + 4
    limits = np.array([source.shape[1], source.shape[0]])
    low = np.clip(low, 0, limits - 1)
    high = np.clip(high, low + 1, limits)
    moved = sample_matrix.copy()
    moved[:, 2] -= low
    return source[low[1] : high[1], low[0] : high[0]], moved
