"""Which part of the photo the cells show: the face, or where most middle tones are."""

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import colour, grey_skin
from shared.errors import InputError
from shared.fields import Region
from shared.plate import Placement, Plate
from shared.recipe import Recipe

Floats = NDArray[np.float32]

ASPECT = 0.8
"""Width over height of a crop that nobody chose."""
_LEAST_SHARE = 0.05
"""Of the photo's sides: the placement enlarges it 20 times at most."""
_FACE_HEIGHT = 1.35
"""A head is this much taller than the skin of a face is wide (common practice in portraiture)."""
_MIDDLE = (0.2, 0.8)
_CROP_SHARE = 0.5
_WIDEST, _NARROWEST = 2.0, 0.5


def default_crop(sample: Floats) -> Region:
    """Left, top, right, bottom as shares of the photo.

    sample: the whole photo, small; float32, rows x columns x 3, encoded sRGB 0 to 1.
    """
    skin = grey_skin.skin_mask(sample).astype(np.uint8)
    size = max(3, min(skin.shape) // 40)
    opened = cv2.morphologyEx(skin, cv2.MORPH_OPEN, np.ones((size, size), np.uint8))
    count, _, stats, _ = cv2.connectedComponentsWithStats(np.asarray(opened, np.uint8))
    areas = stats[1:, cv2.CC_STAT_AREA]
    if count > 1 and areas.max() >= grey_skin.LEAST_SKIN * skin.size:
        left, top, width, height = stats[1 + int(areas.argmax()), :4].tolist()
        tall = min(height, _FACE_HEIGHT * width)
        return _window(sample, left + width / 2.0, top + 0.45 * tall, 1.15 * tall)
    return _most_middle_tones(sample)


def checked_crop(crop: Region) -> Region:
    """The crop, if it lies in the photo and is no sliver; InputError otherwise."""
    left, top, right, bottom = crop
    if not (0.0 <= left < right <= 1.0 and 0.0 <= top < bottom <= 1.0):
        raise InputError(
            "The crop's left, top, right and bottom are shares of the photo that rise from 0 to 1, "
            "such as 0.3,0.1,0.7,0.6."
        )
    if min(right - left, bottom - top) < _LEAST_SHARE:
        raise InputError("The crop is too small; take at least a twentieth of each side.")
    return crop


def crop_aspect(crop: Region, rows: int, columns: int) -> float:
    """Width over height of the cells for a crop of a photo of that size."""
    left, top, right, bottom = crop
    aspect = (right - left) * columns / ((bottom - top) * rows)
    return min(max(aspect, _NARROWEST), _WIDEST)


def cell_recipe(
    recipe: Recipe,
    crop: Region,
    rows: int,
    columns: int,
    cell_mm: tuple[float, float],
    pitch_mm: float,
) -> Recipe:
    """The recipe for a plate that is one cell, filled by the crop, whose mark comes out light: a
    strip is judged on black.

    rows, columns: of the photo. A cell of another shape than the crop shows less of it.
    """
    left, top, right, bottom = crop
    width, height = cell_mm
    plate = Plate(
        width_mm=width,
        height_mm=height,
        thickness_mm=recipe.plate.thickness_mm,
        margin_mm=0.0,
        pitch_mm=pitch_mm,
        etched=recipe.plate.etched,
        mark="light",
    )
    filled = max(width / columns, height / rows)
    wanted = max(width / ((right - left) * columns), height / ((bottom - top) * rows))
    placement = Placement(
        fit="fill",
        scale=min(max(wanted / filled, 1.0), 20.0),
        centre_x=(left + right) / 2.0,
        centre_y=(top + bottom) / 2.0,
    )
    return attrs.evolve(recipe, plate=plate, placement=placement)


def _most_middle_tones(sample: Floats) -> Region:
    """The window with the most middle tones, and those the most various."""
    luma = np.array([colour.LUMA_601], np.float32)
    tone = np.asarray(cv2.transform(sample, luma), np.float32)
    rows, columns = tone.shape[:2]
    height = min(_CROP_SHARE * max(rows, columns), rows, columns / ASPECT)
    size = max(1, int(height * ASPECT)), max(1, int(height))
    low, high = _MIDDLE
    share = cv2.blur(((tone >= low) & (tone <= high)).astype(np.float32), size)
    spread = cv2.blur(tone * tone, size) - cv2.blur(tone, size) ** 2
    worth = share * np.sqrt(np.maximum(spread, 0.0)) + 1e-3 * share
    # A window that lies wholly in the photo has its middle at least half its size from the edges.
    inside = np.zeros(worth.shape, bool)
    down, across = size[1] // 2, size[0] // 2
    inside[down : rows - down, across : columns - across] = True
    y, x = np.unravel_index(int(np.where(inside, worth, -1.0).argmax()), worth.shape)
    return _window(sample, float(x), float(y), height)


def _window(sample: Floats, x: float, y: float, height: float) -> Region:
    """A crop of the usual shape about a place, in pixels of the sample, moved into the photo."""
    rows, columns = sample.shape[:2]
    height = min(max(height, 0.1 * max(rows, columns)), rows, columns / ASPECT)
    width = max(min(height * ASPECT, columns), 1.01 * _LEAST_SHARE * columns)
    height = max(height, 1.01 * _LEAST_SHARE * rows)
    left = min(max(x - width / 2.0, 0.0), columns - width)
    top = min(max(y - height / 2.0, 0.0), rows - height)
    right, bottom = (left + width) / columns, (top + height) / rows
    return left / columns, top / rows, min(right, 1.0), min(bottom, 1.0)
