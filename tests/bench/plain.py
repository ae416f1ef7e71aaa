"""The yardstick: the studio's arithmetic written as bare OpenCV and numpy calls.

The same operators on the same numbers of pixels, each in the most direct call there is, on whole
pictures, without bands, borrowed memory, kept results, checks or progress. What a result is kept
for, when a slider moves, is left to who calls these.
"""

import math
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, colour, compensate, linearise, placement, sparkle
from engine.drive import Aim
from engine.filters import bell_taps
from engine.grid import Grid
from engine.screens import bluenoise
from shared.operators import Detail, Tone
from shared.recipe import Recipe

Floats = NDArray[np.float32]

_TOP = 65535.0
_BYTES = (np.arange(256) / 255.0).astype(np.float32)
_STEPS = np.arange(65536) / _TOP
_DECODE = colour.srgb_decode(_STEPS).astype(np.float32)
_LIGHTNESS = (colour.lightness_from_luminance(_STEPS) / 100.0).astype(np.float32)
_SCREEN = np.round(
    255.0 * colour.srgb_encode(colour.luminance_from_lightness(100.0 * _STEPS))
).astype(np.uint8)


def placed(photo_levels: Any, recipe: Recipe, grid: Grid, samples: int) -> Floats:
    """The photo on the grid: one affine warp, reduced when there are several samples a pixel."""
    rows, columns = photo_levels[0].shape[:2]
    to_photo = placement.photo_from_plate(recipe.plate, recipe.placement, rows, columns)
    step = grid.pitch_mm / samples
    per_sample = step * math.hypot(to_photo[0, 0], to_photo[0, 1])
    level = max(0, int(math.log2(max(per_sample, 1.0))))
    source = photo_levels[level]
    to_level = to_photo * np.array([[source.shape[1] / columns], [source.shape[0] / rows]])
    corner = np.array([grid.left_mm + step / 2, grid.top_mm + step / 2])
    matrix = np.column_stack(
        [to_level[:, :2] * step, to_level[:, 2] + to_level[:, :2] @ corner - 0.5]
    )
    sharp = per_sample < 1.0 and per_sample * samples <= 1.25
    kind = cv2.INTER_CUBIC if sharp else cv2.INTER_LINEAR
    size = (grid.columns * samples, grid.rows * samples)
    sampled = cv2.warpAffine(
        source, matrix, size, flags=kind | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE
    )
    if samples > 1:
        sampled = cv2.resize(sampled, (grid.columns, grid.rows), interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.LUT(sampled, _BYTES))


def grey(rgb: Floats, recipe: Recipe) -> Floats:
    """CIE lightness by two tables, a mix of the records, or a record laid over itself."""
    wish = recipe.grey
    if wish.method == "lightness":
        linear = cv2.LUT(_codes(rgb), _DECODE)
        luminance = cv2.transform(linear, np.array([colour.LUMINANCE], np.float32))
        return np.asarray(cv2.LUT(_codes(luminance), _LIGHTNESS))
    if wish.method == "mix":
        weights = np.array([[wish.red, wish.green, wish.blue]], np.float32)
        mixed = cv2.transform(rgb, weights / weights.sum())
        return np.clip(mixed, 0.0, 1.0)
    record = cv2.extractChannel(rgb, ("red", "green", "blue").index(wish.record))
    overlay = np.where(_STEPS <= 0.5, 2.0 * _STEPS**2, 1.0 - 2.0 * (1.0 - _STEPS) ** 2)
    table = (_STEPS + wish.strength * (overlay - _STEPS)).astype(np.float32)
    return np.asarray(cv2.LUT(_codes(record), table))


def toned(picture: Floats, wish: Tone) -> Floats:
    """The point operations of tone as one table."""
    table = (_STEPS - wish.bare_point) / (wish.full_point - wish.bare_point)
    table = np.clip(table, 0.0, 1.0)
    table = _bend(table, wish.lift, wish.lift_reach)
    table = 1.0 - _bend(1.0 - table, wish.hold, 0.4)
    table = table ** (math.log(wish.middle) / math.log(0.5))
    return np.asarray(cv2.LUT(_codes(picture), table.astype(np.float32)))


def formed(tone: Floats, wish: Tone, pitch_mm: float) -> Floats:
    """Local contrast: a guided filter's base on cells of pixels, subtracted, weighted, added within
    soft limits."""
    radius = wish.local_radius_mm / pitch_mm
    cell = 2 ** min(3, max(0, int(math.log2(radius / 8.0))))
    radius /= cell
    bottom, right = -tone.shape[0] % cell, -tone.shape[1] % cell
    whole = cv2.copyMakeBorder(tone, 0, bottom, 0, right, cv2.BORDER_REFLECT)
    size = whole.shape[1] // cell, whole.shape[0] // cell
    small = cv2.resize(whole, size, interpolation=cv2.INTER_AREA)
    taps = bell_taps(max(0.0, (radius * 0.125) ** 2 - 1.0 / 12.0))
    form = cv2.sepFilter2D(small, cv2.CV_32F, taps, taps, borderType=cv2.BORDER_REFLECT)
    mean = _box(form, radius)
    variance = np.maximum(_box(form * form, radius) - mean * mean, 0.0)
    slope = variance / (variance + np.float32(0.01))
    offset = mean - slope * mean
    base = _box(slope, radius) * form + _box(offset, radius)
    change = cv2.resize((form - base) * np.float32(wish.local), whole.shape[::-1])
    change = np.asarray(change[: tone.shape[0], : tone.shape[1]], np.float32)
    return _limited(tone, change, np.float32(0.0), np.float32(1.0))


def sharpened(tone: Floats, wish: Detail, pitch_mm: float) -> Floats:
    """Detail: unsharp masking, weighted by the local variance, limited by the extremes around."""
    radius = wish.radius_mm / pitch_mm
    taps = bell_taps(radius * radius / 6.0)
    mean = cv2.sepFilter2D(tone, cv2.CV_32F, taps, taps, borderType=cv2.BORDER_REFLECT)
    squares = cv2.sepFilter2D(tone * tone, cv2.CV_32F, taps, taps, borderType=cv2.BORDER_REFLECT)
    variance = np.maximum(squares - mean * mean, 0.0)
    first, last = (1.4 * wish.threshold) ** 2, (2.4 * wish.threshold) ** 2
    gain = np.clip((variance - np.float32(first)) * np.float32(1.0 / (last - first)), 0.0, 1.0)
    gain *= np.float32(wish.amount * 0.04) / (variance + np.float32(0.04))
    around = np.ones((2 * round(radius) + 1,) * 2, np.uint8)
    low = np.maximum(cv2.erode(tone, around) - np.float32(wish.halo), 0.0)
    high = np.minimum(cv2.dilate(tone, around) + np.float32(wish.halo), 1.0)
    return _limited(tone, (tone - mean) * gain, low, high)


def look(sharp: Floats, recipe: Recipe, grid: Grid) -> Floats:
    """The least frost, and bare glass in the margin."""
    least = recipe.tone.least_frost
    inside = within_margin(recipe, grid)
    result = np.full_like(sharp, recipe.plate.unmarked_look)
    result[inside] = sharp[inside] * np.float32(1.0 - least) + np.float32(least)
    return result


def within_margin(recipe: Recipe, grid: Grid) -> tuple[slice, slice]:
    """The rows and columns of a grid of the whole plate that a photo which fills it shows in."""
    edge = round(recipe.plate.margin_mm / grid.pitch_mm)
    return slice(edge, grid.rows - edge), slice(edge, grid.columns - edge)


def look_codes(values: Floats) -> NDArray[np.uint8]:
    """The look as the screen shows it."""
    return np.asarray(cv2.LUT(_codes(values), _SCREEN))


def proof_table(aim: Aim) -> NDArray[np.uint8]:
    """From codes of the look to codes of the proof, where the spread is finer than a pixel."""
    ends = aim.ends
    seen = (ends.unmarked + (ends.marked - ends.unmarked) * frost_table(aim)) / ends.high * 0.9
    return np.round(255.0 * colour.srgb_encode(seen)).astype(np.uint8)


def frost_table(aim: Aim) -> Floats:
    """From codes of the look to frost; made anew, not taken from those that are kept."""
    make = linearise.frost_of_look_table.__wrapped__
    return np.asarray(make(aim.profile, aim.screen, aim.pitch_mm, aim.ends, aim.unreachable))


def facets(grid: Grid) -> NDArray[np.uint8]:
    """How bright the sparkle of frost is at each pixel, in parts of 200; made once, and kept."""
    amount = sparkle.MOST * min(1.0, sparkle.FINE_MM / grid.pitch_mm)
    wave = bluenoise.window(grid.rows, grid.columns, top=grid.top, left=grid.left)
    return np.round(200.0 * (1.0 + amount * (2.0 * wave - 1.0))).astype(np.uint8)


def proof_codes(
    values: Floats, table: NDArray[np.uint8], sparkling: NDArray[np.uint8]
) -> NDArray[np.uint8]:
    """The proof by tone, with the `facets` of frost."""
    bare = float(table[0])
    lit = cv2.subtract(cv2.LUT(_codes(values), table), bare)
    return np.asarray(cv2.add(cv2.multiply(lit, sparkling, scale=1.0 / 200.0), bare))


def counts(values: Floats) -> NDArray[np.float32]:
    """The histogram, whose first and last count are the shares at the two ends."""
    codes = cv2.convertScaleAbs(values, alpha=255.0)
    return np.asarray(cv2.calcHist([codes], [0], None, [256], [0, 256]))


def drive(values: Floats, aim: Aim) -> Floats:
    """What is asked of the laser for a look at the etch pitch, for dots: the screen's curve
    inverted and the spread made up for."""
    frost = np.asarray(cv2.LUT(_codes(values), frost_table(aim)))
    axes = burning.all_softness(aim.profile)
    least = np.maximum(frost - np.float32(aim.halo), np.float32(aim.curve.least))
    most = np.minimum(frost + np.float32(aim.halo), np.float32(aim.curve.most))
    taps = [compensate.sharpening_taps(axis, aim.pitch_mm) for axis in axes]
    asked = cv2.sepFilter2D(frost, cv2.CV_32F, *taps, borderType=cv2.BORDER_REPLICATE)
    asked = np.clip(asked, least, most)
    for step in compensate.STEPS:
        left = burning.soften(asked, axes, aim.pitch_mm)
        asked = np.clip(asked + np.float32(step) * (frost - left), least, most)
    asked = frost + np.float32(aim.compensate) * (asked - frost)
    asked[frost <= 0.0] = 0.0
    table = linearise.drive_of_frost_table(aim.profile, aim.screen, aim.pitch_mm)
    return np.asarray(cv2.LUT(_codes(asked), table))


def _codes(values: Floats) -> NDArray[np.uint16]:
    factor: Any = _TOP
    return np.asarray(cv2.multiply(values, factor, dtype=cv2.CV_16U), np.uint16)


def _box(values: Floats, radius: float) -> Floats:
    side = 2 * round((math.sqrt(1.0 + 4.0 * radius * radius) - 1.0) / 2.0) + 1
    return np.asarray(
        cv2.boxFilter(values, cv2.CV_32F, (side, side), borderType=cv2.BORDER_REFLECT)
    )


def _bend(tones: NDArray[np.float64], amount: float, reach: float) -> NDArray[np.float64]:
    x = np.minimum(tones / reach, 1.0)
    return tones + reach * amount * 3.0 * x * (1.0 - x) ** 3


def _limited(values: Floats, change: Floats, low: Any, high: Any) -> Floats:
    room = np.where(change < 0.0, values - low, high - values)
    room = np.maximum(room, 0.0)
    length = np.sqrt(change * change + room * room) + np.float32(1e-12)
    return np.asarray(values + change * room / length, np.float32)
