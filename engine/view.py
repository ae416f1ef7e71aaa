"""What a pane shows: one stage of one take on one grid, as seen from the front, in 8 bits."""

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import glass, measure, screens
from engine.colour import luminance_from_lightness, srgb_encode
from engine.flow import Flow
from engine.grid import Grid, overview, whole_plate
from shared.recipe import Recipe

STAGES = ("photo", "look", "plate", "proof")
_OVERVIEW_SIDE = 600
_BINS = 256
_DIFFERENCE_GAIN = 2.0


@attrs.frozen(eq=False)
class Picture:
    """A pane's picture and what is read from it."""

    grid: Grid
    pixels: NDArray[np.uint8]
    """Rows x columns (grey) or rows x columns x 3 (sRGB)."""
    look: NDArray[np.float32]
    """The look on the same grid, for the readout."""
    histogram: NDArray[np.int64]
    """Of the whole picture inside its cover: the grey before tone for photo, else the look."""
    shares: measure.Shares
    """Of the whole picture, at the two ends of what the histogram shows."""
    exact: bool
    """Whether these are the very pixels of the plate bitmap, or tones."""


def show(
    flow: Flow, recipe: Recipe, stage: str, grid: Grid, dots: NDArray[np.uint8] | None = None
) -> Picture:
    """A stage on a grid.

    At the etch pitch, plate and proof are made of the screen's pixels: those of `dots` (the whole
    plate's, as `burn` made them) or, without, of a screen that starts at the window's corner.
    """
    look = flow.look(recipe, grid)
    pixels, exact = _stage_pixels(flow, recipe, stage, grid, dots)
    histogram, shares = _measured(flow, recipe, stage, grid)
    return Picture(grid, pixels, look, histogram, shares, exact)


def difference(first: NDArray[np.float32], second: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Two looks on the same grid held against each other: mid grey where they agree.

    Lighter where `first` is lighter; a difference of half the range is white or black.
    """
    shift = cv2.subtract(first, second)
    return np.asarray(np.clip(127.5 * (1.0 + _DIFFERENCE_GAIN * shift), 0, 255), np.uint8)


def _stage_pixels(
    flow: Flow, recipe: Recipe, stage: str, grid: Grid, dots: NDArray[np.uint8] | None
) -> tuple[NDArray[np.uint8], bool]:
    if stage == "photo":
        shown = np.asarray(cv2.convertScaleAbs(flow.placed(recipe, grid), alpha=255.0), np.uint8)
        return np.where(flow.cover(recipe, grid)[:, :, None], shown, np.uint8(0)), False
    if stage == "look":
        return lightness_codes(flow.look(recipe, grid)), False
    if grid.pitch_mm != recipe.plate.pitch_mm:
        return _toned(flow, recipe, stage, grid), False
    marks, exact = _marks(flow, recipe, grid, dots)
    if stage == "plate":
        return 255 - marks, exact
    ends = flow.ends(recipe)
    marked = glass.spread(marks * np.float32(1.0 / 255.0), flow.profile.spread_mm, grid.pitch_mm)
    return glass.shown_mark(marked, ends), exact


def _toned(flow: Flow, recipe: Recipe, stage: str, grid: Grid) -> NDArray[np.uint8]:
    if stage == "plate":
        return 255 - np.asarray(cv2.convertScaleAbs(flow.mark(recipe, grid), alpha=255.0))
    return glass.shown_look(flow.look(recipe, grid), flow.ends(recipe))


def _marks(
    flow: Flow, recipe: Recipe, grid: Grid, dots: NDArray[np.uint8] | None
) -> tuple[NDArray[np.uint8], bool]:
    if dots is not None:
        return dots[grid.inside(whole_plate(recipe.plate))], True
    drive = flow.mark(recipe, grid)
    marks = screens.screen(drive, recipe.screen, top=grid.top, left=grid.left)
    return marks, recipe.screen.kind != "diffusion"


def _measured(
    flow: Flow, recipe: Recipe, stage: str, grid: Grid
) -> tuple[NDArray[np.int64], measure.Shares]:
    whole = whole_plate(recipe.plate, grid.pitch_mm)
    sample = (
        grid
        if (grid.rows, grid.columns) == (whole.rows, whole.columns)
        else overview(recipe.plate, _OVERVIEW_SIDE)
    )
    values = flow.grey(recipe, sample) if stage == "photo" else flow.look(recipe, sample)
    inside = values[flow.cover(recipe, sample)][None, :]
    return measure.histogram(inside, _BINS), measure.end_shares_of_look(inside)


_LIGHTNESS_CODES = np.round(
    255.0 * srgb_encode(luminance_from_lightness(np.arange(65536) / 655.35))
).astype(np.uint8)


def lightness_codes(values: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Tones from 0 to 1, as CIE L* / 100, in sRGB grey codes (uint8)."""
    codes = (values * np.float32(65535.0) + np.float32(0.5)).astype(np.uint16)
    return np.asarray(cv2.LUT(codes, _LIGHTNESS_CODES))
