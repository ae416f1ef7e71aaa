"""What a pane shows: one stage of one take on one grid, as seen from the front, in 8 bits."""

import math
from functools import cache, lru_cache
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, burnt, drive, glass, measure, proof, screens, tone
from engine.colour import (
    lightness_from_luminance,
    look_up,
    luminance_from_lightness,
    srgb_encode,
)
from engine.flow import Flow
from engine.grid import Grid, overview, whole_plate
from shared.recipe import Recipe

STAGES = ("photo", "look", "plate", "proof", "risk")
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
    tones: NDArray[np.float32]
    """What the histogram counts, on this grid: for photo the grey before tone, else the look."""
    histogram: NDArray[np.int64]
    """Of the whole picture inside its cover."""
    shares: measure.Shares
    """Of the whole picture, at the two ends of the look."""
    looks: NDArray[np.int64]
    """Histogram of the whole picture's look."""
    greys: NDArray[np.int64]
    """Histogram of the whole picture's grey before tone, which the curve takes in."""
    beyond: measure.Shares
    """Of that grey, beyond the bare-glass point and the full-frost point."""
    exact: bool
    """Whether these are the very pixels of the plate bitmap, or tones."""
    tint: NDArray[np.uint8] | None = None
    """The colours, sRGB, 256 x 3, in which grey pixels are shown; None for greys."""


def show(
    flow: Flow, recipe: Recipe, stage: str, grid: Grid, dots: NDArray[np.uint8] | None = None
) -> Picture:
    """A stage on a grid.

    At the etch pitch, plate and proof are made of the screen's pixels: those of `dots` (the whole
    plate's, as `burn` made them) or, without, of a screen that starts at the window's corner.
    """
    pixels, exact = _stage_pixels(flow, recipe, stage, grid, dots)
    look = flow.look(recipe, grid)
    tones = flow.grey(recipe, grid) if stage == "photo" else look
    greys, beyond, looks, shares = _measured(flow, recipe, grid)
    histogram = greys if stage == "photo" else looks
    tint = proof.tint(recipe) if stage == "proof" else None
    return Picture(grid, pixels, look, tones, histogram, shares, looks, greys, beyond, exact, tint)


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
        flow.cover(recipe, grid).clear_rest(shown, 0)
        return shown, False
    if stage == "look":
        key = ("shown", *flow.look_key(recipe), grid)
        return flow.kept(key, lambda: lightness_codes(flow.look(recipe, grid))), False
    at_pitch = grid.pitch_mm == recipe.plate.pitch_mm
    if stage == "risk":
        return _at_risk(flow, recipe, grid), False
    if stage == "plate":
        if not at_pitch:
            burnt = cv2.convertScaleAbs(flow.drive(recipe, grid), alpha=255.0)
            return 255 - np.asarray(burnt, np.uint8), False
        codes, exact = _codes(flow, recipe, grid, dots)
        return 255 - codes, exact
    if not at_pitch:
        key = ("proof", *flow.look_key(recipe), flow.aim(recipe), recipe.glass, grid)
        return flow.kept(key, lambda: _toned_proof(flow, recipe, grid)), False
    return _dotted_proof(flow, recipe, grid, dots)


def _at_risk(flow: Flow, recipe: Recipe, grid: Grid) -> NDArray[np.uint8]:
    """The look in grey, with a colour where the glass will not show it."""
    look = flow.look(recipe, grid)
    aim = flow.aim(recipe)
    marked = proof.at_risk(drive.frost_wanted(look, aim), flow.frost_left(recipe, grid), aim.ends)
    shown = np.repeat(lightness_codes(look)[:, :, None], 3, axis=2)
    shown[marked] = proof.RISK_COLOUR
    return shown


def _toned_proof(flow: Flow, recipe: Recipe, grid: Grid) -> NDArray[np.uint8]:
    aim = flow.aim(recipe)
    if recipe.glass.view == "dark" and drive.seen_as_wanted(aim, grid.pitch_mm):
        codes = np.asarray(look_up(flow.look(recipe, grid), _seen_table(aim)), np.uint8)
        return proof.backed(codes, aim.ends, grid)
    return proof.seen(flow, recipe, grid, flow.frost_left(recipe, grid))


@lru_cache(maxsize=8)
def _seen_table(aim: drive.Aim) -> NDArray[np.uint8]:
    """What is seen for 65536 even looks from 0 to 1: all steps of the proof in one table."""
    looks = np.linspace(0.0, 1.0, 65536, dtype=np.float32)
    return np.asarray(glass.shown_mark(drive.frost_wanted(looks[None, :], aim), aim.ends)[0])


def _dotted_proof(
    flow: Flow, recipe: Recipe, grid: Grid, dots: NDArray[np.uint8] | None
) -> tuple[NDArray[np.uint8], bool]:
    """The proof of the dots themselves; those around the window reach into it."""
    reach = burnt.reach_mm(flow.profile, recipe.screen, grid.pitch_mm)
    wide = grid.padded(reach, recipe.plate)
    codes, exact = _codes(flow, recipe, wide, dots)
    sub = burning.SUB if dots is not None or exact else 1
    found = burnt.frost_of_dots(
        codes, flow.profile, recipe.screen, grid.pitch_mm, sub, mirrored=recipe.plate.mirrored
    )
    frost = found[grid.inside(wide)]
    return proof.seen(flow, recipe, grid, np.ascontiguousarray(frost)), exact


def _codes(
    flow: Flow, recipe: Recipe, grid: Grid, dots: NDArray[np.uint8] | None
) -> tuple[NDArray[np.uint8], bool]:
    if dots is not None:
        return _part(dots, grid), True
    asked = flow.drive(recipe, grid)
    codes = screens.screen(
        asked, recipe.screen, top=grid.top, left=grid.left, pitch_mm=recipe.plate.pitch_mm
    )
    return codes, screens.fits_windows(recipe.screen)


def _part(dots: NDArray[np.uint8], grid: Grid) -> NDArray[np.uint8]:
    """The dots of a window; none where it reaches beyond the plate, as another take's may."""
    found = dots[grid.top : grid.top + grid.rows, grid.left : grid.left + grid.columns]
    if found.shape == (grid.rows, grid.columns):
        return found
    part = np.zeros((grid.rows, grid.columns), np.uint8)
    part[: found.shape[0], : found.shape[1]] = found
    return part


def _measured(flow: Flow, recipe: Recipe, grid: Grid) -> tuple[Any, ...]:
    """Of the whole picture: histogram and shares of the grey before tone, and of the look."""
    whole = whole_plate(recipe.plate, grid.pitch_mm)
    sample = (
        grid
        if (grid.rows, grid.columns) == (whole.rows, whole.columns)
        else overview(recipe.plate, _OVERVIEW_SIDE)
    )
    points = recipe.tone.bare_point, recipe.tone.full_point
    grey_key = ("greys measured", *flow.grey_key(recipe), points, sample)
    look_key = ("look measured", *flow.look_key(recipe), sample)
    return (
        *flow.kept(grey_key, lambda: _measured_greys(flow, recipe, sample)),
        *flow.kept(look_key, lambda: _measured_look(flow, recipe, sample)),
    )


def _measured_greys(
    flow: Flow, recipe: Recipe, grid: Grid
) -> tuple[NDArray[np.int64], measure.Shares]:
    greys = flow.cover(recipe, grid).of(flow.grey(recipe, grid))
    if greys.size == 0:
        return measure.histogram(greys, _BINS), measure.Shares(0.0, 0.0)
    beyond = tone.end_shares(greys, recipe.tone)
    return measure.histogram(greys, _BINS), measure.Shares(beyond.bare, beyond.full)


def _measured_look(
    flow: Flow, recipe: Recipe, grid: Grid
) -> tuple[NDArray[np.int64], measure.Shares]:
    looks = flow.cover(recipe, grid).of(flow.look(recipe, grid))
    counts = measure.histogram(looks, _BINS)
    pixels = max(1, looks.size)
    return counts, measure.Shares(int(counts[0]) / pixels, int(counts[-1]) / pixels)


@attrs.frozen
class Reading:
    """What is under the pointer."""

    tone: float
    """As the histogram counts it, 0 to 1."""
    look: float
    lightness: float
    """CIE L* on the glass."""
    mark: float
    """Share of the surface that is marked, 0 to 1."""
    colour: tuple[int, int, int] | None
    """Of the photo, where that is what the picture shows."""


def read(picture: Picture, x_mm: float, y_mm: float, ends: glass.Ends) -> Reading | None:
    """The tones of a picture at a place of the plate; None where the picture does not reach."""
    grid = picture.grid
    row = math.floor(y_mm / grid.pitch_mm) - grid.top
    column = math.floor(x_mm / grid.pitch_mm) - grid.left
    if not (0 <= row < grid.rows and 0 <= column < grid.columns):
        return None
    look = picture.look[row : row + 1, column : column + 1]
    shown = picture.pixels[row, column]
    low, high = lightness_from_luminance(np.array([ends.low, ends.high]))
    return Reading(
        tone=float(picture.tones[row, column]),
        look=float(look[0, 0]),
        lightness=float(low + (high - low) * look[0, 0]),
        mark=float(glass.mark_from_look(look, ends)[0, 0]),
        colour=(int(shown[0]), int(shown[1]), int(shown[2])) if shown.ndim else None,
    )


def lightness_codes(values: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Tones from 0 to 1, as CIE L* / 100, in sRGB grey codes (uint8)."""
    return look_up(values, _lightness_table())


@cache
def _lightness_table() -> NDArray[np.uint8]:
    encoded = srgb_encode(luminance_from_lightness(np.arange(65536) / 655.35))
    return np.round(255.0 * encoded).astype(np.uint8)
