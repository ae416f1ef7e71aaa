"""A virtual sheet of glass and the laser that etches it, for tests only.

It stands for the world outside: it imports nothing of this project, and it is another model than
the engine's on purpose. Energy is laid down line by line on a grid finer than the etch pitch by a
lagging, jittering tube; each grain of the glass gives way at a threshold of its own; cracks run on
beyond the beam; too much energy breaks out chips.

    watts = tube(bitmap), lagging along each scan line, alternately left and right
    fluence = lines of watts / speed, spread by a beam with a core and a skirt
    excess = fluence x (1 + heat left by the lines before) / threshold of the grain - 1
    share = 1 - exp(-(excess / ease) ^ slope), then cracks with an exponential tail round it
    luminance = bare + (frost - bare) x share x sparkle x (1 - loss in chips)

Arrays are rows by columns. A sheet burnt twice shows the same grain twice; for another piece of the
same glass use `another_piece`. These are the sensible settings of SETTINGS,
all for 80 W tubes at 350 mm/s and 0.1 mm, with the share of full frost on a solid (a test holds
the table true to 1.5 points):

    sheet      at_threshold     above            greatest power
    fine       11.0 %:  0.4     17.0 %: 31.3     55 %: 97.9
    coarse     12.5 %:  0.4     19.0 %: 29.7     50 %: 97.1
    weak       10.5 %:  0.8     17.0 %: 26.0     70 %: 97.2
    lagging    10.0 %:  0.6     15.0 %: 28.2     52 %: 98.3
    calm       13.0 %:  0.4     18.0 %: 26.0     58 %: 97.9

The grain alone makes a mean error of 0.3 to 0.5 L* on fine, calm and weak, and up to 1.1 on coarse
and lagging, which are harder than glass need be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

Array = NDArray[np.float32]

BAND_ROWS = 64
TILE_SIZES = (1021, 887)  # two primes: their sum does not repeat within any plate
USUAL_SPEED_MM_S = 350.0


@dataclass(frozen=True)
class Sheet:
    """One make of glass under one laser. Shares and spreads are without unit, 0 to 1."""

    seed: int
    rated_w: float = 80.0
    firing_floor_pct: float = 8.0
    tube_lag_ms: float = 0.1
    pulse_jitter: float = 0.02
    line_jitter: float = 0.006
    line_jitter_mm: float = 0.008
    beam_mm: float = 0.14  # core, diameter at 1/e2
    beam_aspect: float = 1.1  # across the lines over along them
    skirt_share: float = 0.12
    skirt_ratio: float = 2.2  # diameter of the skirt over that of the core
    threshold_j_mm2: float = 0.31
    threshold_spread: float = 0.11  # of its natural logarithm, from grain to grain
    ease: float = 0.95  # excess at which 63 % is frosted
    slope: float = 1.05
    reciprocity: float = 0.05  # a line twice as fast counts as 2 ^ this more per joule
    heat: float = 0.04  # the most that warm glass adds to the fluence
    heat_mm: float = 0.6
    grain_mm: float = 0.045
    crack_mm: float = 0.035  # decay length of the cracks
    crack_share: float = 0.35
    flaking_j_mm2: float = 2.2
    chip_mm: float = 0.25
    chip_loss: float = 0.6
    sparkle: float = 0.03
    bare_y: float = 0.015
    frost_y: float = 0.33
    etched_back: bool = True


@dataclass(frozen=True)
class Setting:
    """What the operator sets: percent of the rated power, mm/s, mm between lines and pixels."""

    power_max_pct: float
    power_min_pct: float
    speed_mm_s: float = USUAL_SPEED_MM_S
    pitch_mm: float = 0.1
    both_directions: bool = True


@dataclass(frozen=True, eq=False)
class Burnt:
    """An etched piece as seen from the front: luminance as a share of a white's, `sub` rows and
    columns to each of the bitmap's."""

    luminance: Array
    sub: int
    pitch_mm: float

    @property
    def pixel_mm(self) -> float:
        return self.pitch_mm / self.sub

    def at_pitch(self) -> Array:
        """The mean luminance of each etch pixel; the bitmap's rows and columns."""
        rows, columns = (n // self.sub for n in self.luminance.shape)
        cells = self.luminance.reshape(rows, self.sub, columns, self.sub)
        return cells.mean(axis=(1, 3), dtype=np.float32)


def another_piece(sheet: Sheet, number: int) -> Sheet:
    """Another piece cut from the same glass: all alike but for the grain and the jitter."""
    return replace(sheet, seed=sheet.seed + 1000 * number)


def burn(
    sheet: Sheet,
    bitmap: NDArray[np.uint8],
    *,
    power_max_pct: float,
    power_min_pct: float,
    speed_mm_s: float,
    pitch_mm: float,
    both_directions: bool = True,
    sub: int = 4,
) -> Burnt:
    """Etch a plate bitmap as its file has it: uint8, 0 = full power, 255 = not fired.

    The power of a grey runs in a straight line from the least (254) to the greatest (0). The
    bitmap's first row is the first line, scanned from left to right as the machine sees it.
    """
    if bitmap.dtype != np.uint8 or bitmap.ndim != 2:
        raise ValueError("the bitmap must be uint8, rows by columns")
    watts = _asked_watts(sheet, bitmap, power_max_pct, power_min_pct)
    per_watt = 1.0 / (speed_mm_s * pitch_mm)
    per_watt *= (speed_mm_s / USUAL_SPEED_MM_S) ** sheet.reciprocity
    warmth = _warmth(sheet, watts * np.float32(per_watt), pitch_mm)
    broad = _blur(watts * np.float32(per_watt), sheet.chip_mm / 2.0 / pitch_mm)
    watts *= _jitter(sheet, watts.shape)
    lag_mm = sheet.tube_lag_ms * 1e-3 * speed_mm_s
    lines = _fired(sheet, watts, pitch_mm, lag_mm, both_directions, sub)
    lines *= np.float32(per_watt * sub)

    rows, columns = bitmap.shape
    pixel_mm = pitch_mm / sub
    glass = _Glass(sheet, columns * sub, pixel_mm)
    margin = math.ceil((1.2 * sheet.beam_mm * sheet.skirt_ratio + 7.0 * sheet.crack_mm) / pitch_mm)
    luminance = np.empty((rows * sub, columns * sub), np.float32)
    for top in range(0, rows, BAND_ROWS):
        bottom = min(top + BAND_ROWS, rows)
        first, last = top - margin, bottom + margin
        fluence = _spread_lines(sheet, _rows(lines, first, last), sub, pixel_mm)
        fluence *= _enlarged(1.0 + _rows(warmth, first, last), sub)
        share = glass.cracked(glass.frosted(fluence, first * sub))
        kept = slice(margin * sub, (margin + bottom - top) * sub)
        chips = glass.chipped(_enlarged(_rows(broad, first, last), sub)[kept], top * sub)
        lit = glass.lit(share[kept], chips, top * sub)
        luminance[top * sub : bottom * sub] = lit[:, ::-1] if sheet.etched_back else lit
    luminance.setflags(write=False)
    return Burnt(luminance, sub, pitch_mm)


def burn_at(sheet: Sheet, bitmap: NDArray[np.uint8], setting: Setting) -> Burnt:
    """`burn` with a Setting."""
    return burn(sheet, bitmap, **vars(setting))


def assemble(
    sheet: Sheet, size_mm: tuple[float, float], pieces: list[tuple[Burnt, tuple[float, float]]]
) -> Burnt:
    """Runs burnt one after another on one piece of glass, width by height in mm.

    Each run comes with the x and y, in mm, of its bitmap's top left corner as the machine sees it.
    All have one pitch; where runs overlap, the lighter counts.
    """
    pitch_mm, sub = pieces[0][0].pitch_mm, pieces[0][0].sub
    columns, rows = (round(mm / pitch_mm) * sub for mm in size_mm)
    luminance = np.full((rows, columns), sheet.bare_y, np.float32)
    for burnt, origin_mm in pieces:
        if (burnt.pitch_mm, burnt.sub) != (pitch_mm, sub):
            raise ValueError("all runs must have the same pitch")
        height, width = burnt.luminance.shape
        x, y = (round(mm / burnt.pixel_mm) for mm in origin_mm)
        left = columns - x - width if sheet.etched_back else x
        if min(left, x, y) < 0 or y + height > rows or x + width > columns:
            raise ValueError("a run lies beyond the edge of the glass")
        part = luminance[y : y + height, left : left + width]
        np.maximum(part, burnt.luminance, out=part)
    luminance.setflags(write=False)
    return Burnt(luminance, sub, pitch_mm)


def seen(
    luminance: Array, pixel_mm: float, distance_mm: float = 450.0, arcmin: float = 1.2
) -> Array:
    """The luminance after the eye's blur: a Gaussian whose standard deviation is `arcmin` minutes
    of arc at that distance (0.157 mm at 450 mm). Beyond the border the edge goes on."""
    sigma = distance_mm * math.tan(math.radians(arcmin / 60.0)) / pixel_mm
    return _blur(luminance, sigma, cv2.BORDER_REPLICATE)


def lightness(luminance: Array) -> Array:
    """CIE 1976 L*, 0 to 100, of a luminance as a share of a white's."""
    y = np.asarray(luminance, np.float32)
    return np.where(y > 216 / 24389, 116.0 * np.cbrt(y) - 16.0, y * (24389 / 27)).astype(np.float32)


def _asked_watts(
    sheet: Sheet, bitmap: NDArray[np.uint8], most_pct: float, least_pct: float
) -> Array:
    pct = least_pct + (most_pct - least_pct) * (255.0 - np.arange(256)) / 255.0
    pct[255] = 0.0
    pct[pct < sheet.firing_floor_pct] = 0.0
    return (pct * sheet.rated_w / 100.0).astype(np.float32)[bitmap]


def _jitter(sheet: Sheet, shape: tuple[int, int]) -> Array:
    rng = np.random.default_rng([sheet.seed, 1])
    pulses = sheet.pulse_jitter * rng.standard_normal(shape, np.float32)
    lines = sheet.line_jitter * rng.standard_normal((shape[0], 1), np.float32)
    return np.maximum(1.0 + pulses + lines, 0.0).astype(np.float32)


def _fired(
    sheet: Sheet, watts: Array, pitch_mm: float, lag_mm: float, both_directions: bool, sub: int
) -> Array:
    """Watts along each line, `sub` samples to the pixel, after line jitter and the tube's lag."""
    rows, columns = watts.shape
    rng = np.random.default_rng([sheet.seed, 2])
    shift = sheet.line_jitter_mm / pitch_mm * rng.standard_normal((rows, 1), np.float32)
    place = np.floor((np.arange(columns * sub) + 0.5) / sub - shift).astype(np.intp)
    lines = np.take_along_axis(watts, np.clip(place, 0, columns - 1), axis=1)
    if lag_mm > 0.0:
        keep = math.exp(-pitch_mm / sub / lag_mm)
        numerator, denominator = np.float32([1.0 - keep]), np.float32([1.0, -keep])
        step = 2 if both_directions else 1
        lines[::step] = signal.lfilter(numerator, denominator, lines[::step], axis=1)
        if both_directions:
            back = signal.lfilter(numerator, denominator, lines[1::2, ::-1], axis=1)
            lines[1::2] = back[:, ::-1]
    return lines


def _warmth(sheet: Sheet, fluence: Array, pitch_mm: float) -> Array:
    """What the lines already burnt add to the fluence, as a share; one number an etch pixel."""
    keep = math.exp(-pitch_mm / sheet.heat_mm)
    numerator, denominator = np.float32([0.0, 1.0 - keep]), np.float32([1.0, -keep])
    left = signal.lfilter(numerator, denominator, fluence, axis=0)
    left = ndimage.gaussian_filter1d(left, sheet.heat_mm / pitch_mm, axis=1, mode="constant")
    return (sheet.heat * -np.expm1(-left / sheet.threshold_j_mm2)).astype(np.float32)


def _spread_lines(sheet: Sheet, lines: Array, sub: int, pixel_mm: float) -> Array:
    rows, columns = lines.shape
    fluence = np.zeros((rows * sub, columns), np.float32)
    if sub % 2:
        fluence[sub // 2 :: sub] = lines
    else:
        fluence[sub // 2 :: sub] = 0.5 * lines
        fluence[sub // 2 - 1 :: sub] = 0.5 * lines
    along = sheet.beam_mm / 4.0 / pixel_mm
    across = along * sheet.beam_aspect
    core = _blur(fluence, along, across=across)
    skirt = _blur(fluence, along * sheet.skirt_ratio, across=across * sheet.skirt_ratio)
    return cv2.addWeighted(core, 1.0 - sheet.skirt_share, skirt, sheet.skirt_share, 0.0)


class _Glass:
    """The grain of one sheet at one pixel size, and what it does under a given fluence."""

    def __init__(self, sheet: Sheet, columns: int, pixel_mm: float) -> None:
        self.sheet = sheet
        self.columns = np.arange(columns)
        self.halo = _crack_kernel(sheet.crack_mm / pixel_mm)
        # A correlation whose full width at half height is the grain's diameter.
        grain, chip = (mm / 3.33 / pixel_mm for mm in (sheet.grain_mm, sheet.chip_mm))
        self.strong = [
            np.exp(sheet.threshold_spread / math.sqrt(2.0) * self._wide(k, grain)) for k in (0, 1)
        ]
        self.facets = 1.0 + sheet.sparkle * self._wide(2, grain)
        self.tough = np.exp(0.18 * self._wide(3, chip))

    def _wide(self, number: int, sigma: float) -> Array:
        tile = _noise(self.sheet.seed, number, round(sigma, 6))
        return tile[:, self.columns % tile.shape[1]]

    def frosted(self, fluence: Array, row: int) -> Array:
        """Share of each pixel that gives way; rows counted from `row` of the whole sheet."""
        fluence *= np.float32(1.0 / self.sheet.threshold_j_mm2)
        for tile in self.strong:
            fluence /= _wrapped(tile, row, len(fluence))
        excess = np.maximum(fluence - 1.0, 1e-9, out=fluence)
        depth = cv2.exp(cv2.log(excess * np.float32(1.0 / self.sheet.ease)) * self.sheet.slope)
        return 1.0 - cv2.exp(-depth)

    def cracked(self, share: Array) -> Array:
        reach = cv2.filter2D(share, -1, self.halo, borderType=cv2.BORDER_CONSTANT)
        sound = (1.0 - share) * (1.0 - np.float32(self.sheet.crack_share) * reach)
        return np.clip(1.0 - sound, 0.0, 1.0)

    def chipped(self, fluence: Array, row: int) -> Array | None:
        """Where chips broke out, 0 to 1, or None where the glass is far from it."""
        if fluence.max() < 0.4 * self.sheet.flaking_j_mm2:
            return None
        over = fluence / _wrapped(self.tough, row, len(fluence)) / self.sheet.flaking_j_mm2
        return np.clip(0.5 + 6.0 * (over - 1.0), 0.0, 1.0)

    def lit(self, share: Array, chips: Array | None, row: int) -> Array:
        light = share * _wrapped(self.facets, row, len(share))
        if chips is not None:
            light *= 1.0 - self.sheet.chip_loss * chips
        return self.sheet.bare_y + (self.sheet.frost_y - self.sheet.bare_y) * light


@lru_cache(maxsize=32)
def _noise(seed: int, number: int, sigma: float) -> Array:
    """A tile of correlated normal noise, mean 0 and standard deviation 1, that wraps around."""
    size = TILE_SIZES[number % 2]
    rng = np.random.default_rng([seed, 10 + number])
    tile = rng.standard_normal((size, size), np.float32)
    tile = ndimage.gaussian_filter(tile, sigma, mode="wrap")
    return (tile - tile.mean()) / tile.std()


def _wrapped(tile: Array, row: int, count: int) -> Array:
    return tile[np.arange(row, row + count) % len(tile)]


def _crack_kernel(length: float) -> Array:
    """An isotropic exponential tail, sum 1; `length` in pixels."""
    reach = max(1, math.ceil(4.0 * length))
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    kernel = np.exp(-np.hypot(x, y) / length)
    return (kernel / kernel.sum()).astype(np.float32)


def _blur(
    image: Array, sigma: float, border: int = cv2.BORDER_CONSTANT, across: float | None = None
) -> Array:
    """A Gaussian blur, `sigma` in pixels along the rows and `across` them if that is another."""
    down = across or sigma
    size = (2 * math.ceil(4.0 * sigma) + 1, 2 * math.ceil(4.0 * down) + 1)
    return cv2.GaussianBlur(image, size, sigma, sigmaY=down, borderType=border)


def _rows(image: Array, first: int, last: int) -> Array:
    """Rows first to last, those beyond the image being 0."""
    inside = image[max(first, 0) : min(last, len(image))]
    return np.pad(inside, ((max(-first, 0), max(last - len(image), 0)), (0, 0)))


def _enlarged(image: Array, sub: int) -> Array:
    return cv2.resize(image, None, fx=sub, fy=sub, interpolation=cv2.INTER_LINEAR)


SHEETS: dict[str, Sheet] = {
    "fine": Sheet(seed=11),
    "coarse": Sheet(
        seed=12,
        tube_lag_ms=0.06,
        beam_mm=0.17,
        threshold_j_mm2=0.36,
        threshold_spread=0.13,
        ease=0.85,
        slope=1.15,
        reciprocity=0.08,
        grain_mm=0.08,
        crack_mm=0.06,
        crack_share=0.5,
        flaking_j_mm2=1.9,
        chip_mm=0.35,
        bare_y=0.02,
        frost_y=0.38,
    ),
    "weak": Sheet(
        seed=13,
        firing_floor_pct=10.0,
        beam_mm=0.13,
        beam_aspect=1.0,
        threshold_j_mm2=0.32,
        threshold_spread=0.15,
        ease=1.1,
        slope=0.95,
        heat=0.06,
        grain_mm=0.05,
        crack_share=0.2,
        flaking_j_mm2=2.7,
        bare_y=0.035,
        frost_y=0.17,
    ),
    "lagging": Sheet(
        seed=14,
        firing_floor_pct=9.0,
        tube_lag_ms=0.2,
        pulse_jitter=0.05,
        line_jitter=0.012,
        line_jitter_mm=0.02,
        threshold_j_mm2=0.29,
        threshold_spread=0.13,
        ease=0.85,
        slope=1.0,
        reciprocity=0.03,
        grain_mm=0.065,
        crack_mm=0.045,
        sparkle=0.06,
        bare_y=0.012,
        frost_y=0.28,
    ),
    "calm": Sheet(
        seed=15,
        tube_lag_ms=0.05,
        pulse_jitter=0.015,
        line_jitter=0.004,
        line_jitter_mm=0.005,
        beam_mm=0.15,
        threshold_j_mm2=0.34,
        threshold_spread=0.08,
        ease=1.0,
        slope=1.1,
        reciprocity=0.06,
        grain_mm=0.055,
        crack_mm=0.05,
        crack_share=0.45,
        flaking_j_mm2=2.4,
        bare_y=0.025,
        frost_y=0.25,
    ),
}

# For each sheet, the least power where its frost begins, and one well above that.
SETTINGS: dict[str, dict[str, Setting]] = {
    name: {"at_threshold": Setting(most, threshold), "above": Setting(most, above)}
    for name, threshold, above, most in (
        ("fine", 11.0, 17.0, 55.0),
        ("coarse", 12.5, 19.0, 50.0),
        ("weak", 10.5, 17.0, 70.0),
        ("lagging", 10.0, 15.0, 52.0),
        ("calm", 13.0, 18.0, 58.0),
    )
}
